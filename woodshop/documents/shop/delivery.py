"""The documents of a delivery: pick list, packing slips without prices, invoices, shortages, and the sales to enter."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from woodshop.documents.lists import csv_bytes, money_text, plain
from woodshop.documents.shop.quote import file_stem
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.pens.section_json import section_json
from woodshop.drawing.values.model import (
    Align,
    Block,
    Bullets,
    Cell,
    Column,
    Data,
    Datum,
    Document,
    Heading,
    KeepTogether,
    KeyFigures,
    KeyValues,
    Paragraph,
    Section,
    Table,
    joined,
)
from woodshop.files.one_file import json_bytes
from woodshop.plan.work.shop_file import Shop
from woodshop.records.events import canonical, content_digest
from woodshop.trade.delivery import Delivery, FinishedKind, Invoice, LineDelivery, OrderDelivery, Pick, ShortUnits
from woodshop.trade.quotes import is_exempt
from woodshop.units.lengths import Money, decimals
from woodshop.units.wording import in_short

DELIVERY_FORMAT = "woodshop-delivery/1"
RULE = (
    "Who gets what: orders go by promised date (undated orders last), then by priority (1 is highest; the default is "
    "5), then in the order entered. Orders that can be filled completely come first; the rest is allocated in the same "
    "order."
)
TAX_RULES = (
    "Sales tax is worked out as for quotes: on everything sold, at the rate in the shop file, except for customers it "
    "exempts. Local tax rules decide what is taxed, at what rate, and what an invoice must show. Follow those."
)
_TICK, _BLANK = "[ ]", "______________________"
SoldBefore = Mapping[tuple[str, FinishedKind], int]


def pick_section(delivery: Delivery, going: Sequence[OrderDelivery]) -> Section:
    """The pick list: the units to take from each place, and the order that each is for."""
    places: dict[str, list[tuple[OrderDelivery, LineDelivery, Pick]]] = {}
    for each in going:
        for line in each.lines:
            for pick in line.picked:
                places.setdefault(pick.place, []).append((each, line, pick))
    columns = (
        Column("", weight=1),
        Column("take", Align.RIGHT, weight=2, key="count"),
        Column("item", weight=6, key="item"),
        Column("for boxes", weight=6, key="box"),
        Column("form", weight=4, key="form"),
        Column("order", weight=4, key="order"),
        Column("customer", weight=7, key="customer"),
    )
    blocks: list[Block] = []
    data: list[Datum] = []
    for place, lines in sorted(places.items()):
        lines.sort(key=lambda each: (each[2].kind.item, each[2].kind.box, each[2].kind.form))
        rows: list[tuple[Cell, ...]] = [
            (_TICK, pick.count, _picked_item(pick, line), *map(plain, pick.kind[1:]), *_order_cells(each))
            for each, line, pick in lines
        ]
        table = Table(columns, tuple(rows))
        total = sum(pick.count for _, _, pick in lines)
        blocks.append(KeepTogether((Heading(f"{plain(place)}: take {total}", 3), table)))
        data.append({"place": place, "lines": list(table.records)})
    if not blocks:
        blocks = [Paragraph("No order waits for anything that is on hand.")]
    return Section("Pick list", tuple(blocks), {"pick_list": data})


def _picked_item(pick: Pick, line: LineDelivery) -> str:
    """The item as it is on hand and, if the order has another name for it, that name too."""
    item, ordered = plain(pick.kind.item), plain(line.line.item)
    return item if item == ordered else f"{item}, for {ordered}"


def _kind_cells(line: LineDelivery) -> tuple[str, str, str]:
    return plain(line.line.item), plain(line.line.box), plain(line.line.form)


def _counts(line: LineDelivery) -> tuple[int, int, int, int]:
    """The numbers ordered, delivered before, delivered now, and still to be delivered."""
    return line.ordered, line.line.sold, line.count, line.to_come


def _order_cells(each: OrderDelivery) -> tuple[str, str]:
    return plain(each.order.order), plain(each.order.customer)


def short_section(delivery: Delivery) -> Section:
    """The shortages after the delivery: for each order, and in total, with units on hand that could fill them."""
    columns = (
        Column("order", weight=4, key="order"),
        Column("customer", weight=7, key="customer"),
        Column("due", weight=5, key="due"),
        Column("item", weight=6, key="item"),
        Column("for boxes", weight=6, key="box"),
        Column("form", weight=4, key="form"),
        Column("ordered", Align.RIGHT, weight=3, key="ordered"),
        Column("short", Align.RIGHT, weight=3, key="short"),
    )
    rows: list[tuple[Cell, ...]] = [
        (
            *_order_cells(each),
            "" if line.line.due is None else in_short(line.line.due),
            *_kind_cells(line),
            line.ordered,
            line.to_come,
        )
        for each in delivery.orders
        for line in each.lines
        if line.to_come
    ]
    left = [f"{count} {_named(kind)}" for kind, count in delivery.left]
    stays: list[Block] = [Paragraph(f"{'; '.join(left)}.", lead="Left on hand, for no order.")] if left else []
    spare = [{**kind._asdict(), "count": count} for kind, count in delivery.left]
    if not rows:
        blocks = (Paragraph("None: every order is filled."), *stays)
        return Section("Shortages", blocks, {"short": [], "left": spare})
    table = Table(columns, tuple(rows))
    total = Table(
        (
            Column("item", weight=6),
            Column("for boxes", weight=6),
            Column("form", weight=4),
            Column("short", Align.RIGHT, weight=2),
            Column("also on hand", weight=10),
        ),
        tuple((*map(plain, each.kind), each.count, _could_help(each)) for each in delivery.short),
    )
    totals = [
        {
            **each.kind._asdict(),
            "short": each.count,
            "needs_repair": each.needs_repair,
            "other_forms": [{"form": form, "count": count} for form, count in each.other_forms],
            "parts": [{**kind._asdict(), "count": count} for kind, count in each.parts],
        }
        for each in delivery.short
    ]
    blocks = (table, KeepTogether((Heading("In total", 3), total)), *stays)
    data = {"short": list(table.records), "short_in_total": totals, "left": spare}
    return Section("Shortages", blocks, data)


def _named(kind: FinishedKind) -> str:
    return f"{plain(kind.item)} for {plain(kind.box)}" + (f", {plain(kind.form)}" if kind.form else "")


def _could_help(short: ShortUnits) -> str:
    words = [f"{short.needs_repair} that need repair"] if short.needs_repair else []
    words += [f"{count} {plain(form) or 'of no stated form'}" for form, count in short.other_forms]
    words += [f"{count} {_named(kind)}" for kind, count in short.parts]
    return ", ".join(words) or "none"


def slip_section(delivery: Delivery, each: OrderDelivery) -> Section:
    """The packing slip of one order, without prices.

    On every line, the units delivered before, delivered now and still to come add up to the number ordered.
    """
    columns = (
        Column("", weight=1),
        Column("item", weight=7, key="item"),
        Column("for boxes", weight=7, key="box"),
        Column("form", weight=4, key="form"),
        Column("ordered", Align.RIGHT, weight=3, key="ordered"),
        Column("delivered before", Align.RIGHT, weight=3, key="before"),
        Column("delivered now", Align.RIGHT, weight=3, key="now"),
        Column("still to come", Align.RIGHT, weight=3, key="to_come"),
    )
    lines = [line for line in each.lines if line.ordered]
    rows: list[tuple[Cell, ...]] = [
        (
            _TICK if line.count else "",
            plain(line.line.item) + (" (rest canceled)" if line.line.is_cancelled else ""),
            *_kind_cells(line)[1:],
            *_counts(line),
        )
        for line in lines
    ]
    totals = (sum(column) for column in zip(*map(_counts, lines), strict=True))
    table = Table(columns, (*rows, ("", "Total", "", "", *totals)), (len(rows),))
    hives = [
        f"{plain(line.line.item)} for {plain(line.line.box)}: hive {', '.join(map(plain, line.hives))}."
        for line in lines
        if line.hives
    ]
    blocks: list[Block] = [
        KeyFigures(
            (
                ("order", plain(each.order.order)),
                ("delivered", in_short(delivery.day)),
                ("units", str(each.count)),
                ("still to come", str(each.to_come) if each.to_come else "nothing"),
            )
        ),
        table,
    ]
    if hives:
        blocks.append(KeepTogether((Heading("For which hives", 3), Bullets(tuple(hives)))))
    blocks.append(Paragraph(f"Packed by {_BLANK}     Received by {_BLANK}"))
    data: Data = {
        "order": each.order.order,
        "customer": each.order.customer,
        "day": delivery.day,
        "lines": [record | {"hives": list(line.hives)} for record, line in zip(table.records[:-1], lines, strict=True)],
        "now": each.count,
        "to_come": each.to_come,
    }
    return Section(f"Packing slip for {plain(each.order.customer)}", tuple(blocks), data)


def invoice_section(invoice: Invoice, shop: Shop) -> Section:
    """The invoice for one delivery of an order, and the account of the order so far."""
    each, order = invoice.delivery, invoice.delivery.order

    def money(minor: int) -> str:
        return str(Money(minor, invoice.currency))

    columns = (
        Column("item", weight=8),
        Column("for boxes", weight=8),
        Column("form", weight=4),
        Column("count", Align.RIGHT, weight=2),
        Column("each", Align.RIGHT, weight=3),
        Column("total", Align.RIGHT, weight=3),
    )
    sold = [line for line in each.lines if line.count]
    rows: list[tuple[Cell, ...]] = [(*_kind_cells(line), line.count, line.line.price, line.price) for line in sold]
    rows.append(("Before tax", "", "", "", "", money(invoice.subtotal)))
    rate = f"{decimals(shop.pricing.tax * 100, 3)} %"
    exempt = is_exempt(shop, order.customer)
    if shop.pricing.tax:
        rows.append((f"Sales tax, {'exempt' if exempt else rate}", "", "", "", "", money(invoice.tax)))
    rows.append(("This delivery", "", "", "", "", money(invoice.total)))
    account = [("This delivery", money(invoice.total))]
    if invoice.earlier:
        account.append(("Delivered before, with tax", money(invoice.earlier)))
    for word, sum_of, sign in (
        ("Deposits paid", order.deposits, -1),
        ("Balances paid", order.balances, -1),
        ("Refunded", order.refunds, 1),
    ):
        if sum_of.minor:
            account.append((word, money(sign * sum_of.minor)))
    if invoice.credit:
        account.append(
            ("Credit kept for what is still to come" if each.to_come else "To refund", money(invoice.credit))
        )
    account.append(("Amount due", money(invoice.amount_due)))
    blocks: list[Block] = [
        KeyFigures(
            (
                ("invoice", plain(invoice.number)),
                ("dated", in_short(invoice.day)),
                ("order", plain(order.order)),
                ("amount due", money(invoice.amount_due)),
            )
        ),
        Table(columns, tuple(rows), (len(rows) - 1,)),
        KeepTogether(
            (
                Heading("Account of this order", 3),
                Table((Column("", weight=20), Column("", Align.RIGHT, weight=8)), tuple(account), (len(account) - 1,)),
            )
        ),
    ]
    if invoice.earlier and shop.pricing.tax and not exempt:
        blocks.append(
            Paragraph(
                f"Tax on earlier deliveries is at {rate} as well. If it was different, their invoices count.",
                small=True,
            )
        )
    if shop.quote.terms:
        blocks.append(KeepTogether((Heading("Terms", 3), Bullets(shop.quote.terms))))
    data: Data = {
        "number": invoice.number,
        "order": order.order,
        "customer": order.customer,
        "currency": invoice.currency,
        "day": invoice.day,
        "lines": [
            {
                **FinishedKind(line.line.item, line.line.box, line.line.form)._asdict(),
                "count": line.count,
                "each": None if line.line.price is None else line.line.price.minor,
                "total": None if line.price is None else line.price.minor,
            }
            for line in sold
        ],
        "subtotal": invoice.subtotal,
        "tax_rate": f"{decimals(shop.pricing.tax * 100, 6)} %",
        "tax_exempt": exempt,
        "tax": invoice.tax,
        "total": invoice.total,
        "delivered_before": invoice.earlier,
        "deposits": order.deposits.minor,
        "balances": order.balances.minor,
        "refunds": order.refunds.minor,
        "credit": invoice.credit,
        "amount_due": invoice.amount_due,
    }
    return Section(f"Invoice for {plain(order.customer)}", tuple(blocks), data)


def sales_csv(delivery: Delivery, going: Sequence[OrderDelivery], sold_before: SoldBefore) -> bytes:
    """The sales of the delivery as a sheet of events for the book: one row for each line and place.

    `sold_before` is the number of sales of each kind that the book lists for an order, including sales that were
    undone. The id of each row is made from this number, so a sheet imported twice counts only once.
    """
    heads = ("kind", "day", "id", "order", "item", "box", "form", "count", "place", "customer", "price", "currency")
    rows: list[tuple[object, ...]] = [(*heads, "line_item", "line_box", "line_form", "note")]
    for each in going:
        order, customer = each.order.order, each.order.customer
        for line in each.lines:
            kind = FinishedKind(line.line.item, line.line.box, line.line.form)
            price = "" if line.line.price is None else money_text(line.line.price.minor)
            n = sold_before.get((order, kind), 0)
            for k, pick in enumerate(line.picked):
                n += not pick.is_part
                fields: dict[str, object] = {"order": order, **kind._asdict(), "sale": n}
                fields |= {"part": f"{pick.kind.item}, {k}"} if pick.is_part else {}
                made = content_digest("units sold", "", canonical(fields))
                credit, named, note = order, ("", "", ""), ""
                if pick.is_part:
                    credit, note = "", f"part of {kind.item}, order {order}"[:200]
                elif pick.kind != kind:
                    named = kind.item, kind.box, kind.form
                sale = ("units sold", delivery.day.isoformat(), f"sale-{made}", credit, *pick.kind, pick.count)
                rows.append((*sale, pick.place, customer, price if credit else "", delivery.currency, *named, note))
    return csv_bytes(rows)


def delivery_files(
    delivery: Delivery,
    going: Sequence[OrderDelivery],
    *,
    invoices: Sequence[Invoice],
    shop: Shop | None,
    sold_before: SoldBefore,
    paper: str,
) -> dict[str, bytes]:
    """A delivery's files: pick list and shortages, slips and invoices (all on `paper`), sales to enter, JSON data."""
    pick, short = pick_section(delivery, going), short_section(delivery)
    head = KeyFigures(
        (
            ("day", in_short(delivery.day)),
            ("book up to event", str(delivery.number)),
            ("orders", str(len(going))),
            ("units", str(sum(each.count for each in going))),
        )
    )
    notes = Bullets((RULE,))
    front = Section("", (Heading("Pick list", 1), head, *pick.blocks))
    ends = (Section("Shortages", short.blocks), Section("", (notes,)))
    files = {
        "pick-list.pdf": _pdf("Pick list", (front, *ends), shop, paper),
        "sales.csv": sales_csv(delivery, going, sold_before),
    }
    slips = [slip_section(delivery, each) for each in going]
    bills = [(each, invoice_section(each, shop)) for each in invoices if shop is not None]
    for n, (each, slip) in enumerate(zip(going, slips, strict=True), 1):
        name = file_stem(n, each.order.order, "packing-slip")
        title = f"Packing slip, order {plain(each.order.order)}"
        files[f"{name}.pdf"] = _pdf(title, (_headed(slip, shop),), shop, paper)
        for invoice, bill in bills:
            if invoice.delivery is each and shop is not None:
                name = file_stem(n, each.order.order, "invoice")
                title = f"Invoice {plain(invoice.number)}"
                files[f"{name}.pdf"] = _pdf(title, (_headed(bill, shop),), shop, paper)
    data: Data = {
        "format": DELIVERY_FORMAT,
        "as_of": delivery.number,
        "day": delivery.day,
        "rule": RULE,
        **pick.data,
        **short.data,
        "packing_slips": [slip.data for slip in slips],
        "invoices": [bill.data for _, bill in bills],
    }
    files["delivery.json"] = json_bytes(section_json(Section("", (), data)))
    return files


def _headed(section: Section, shop: Shop | None) -> Section:
    """A document for a customer, below the shop's name and its lines of text."""
    blocks: list[Block] = []
    if shop is not None:
        blocks.append(Heading(shop.name, 1))
        blocks += [Paragraph(" · ".join(shop.quote.lines))] if shop.quote.lines else []
    return Section("", (*blocks, Heading(section.title, 2), *section.blocks))


def _pdf(title: str, sections: tuple[Section, ...], shop: Shop | None, paper: str) -> bytes:
    footer = "" if shop is None else shop.name
    return write_pdf(Document(title, "A delivery of winter hive hardware", sections, footer=footer), paper)


def delivery_section(
    delivery: Delivery,
    going: Sequence[OrderDelivery],
    *,
    invoices: Sequence[Invoice],
    shop: Shop | None,
    folder: Path,
    is_full: bool,
) -> Section:
    """The message after a delivery is written. If `is_full` is true, it includes every packing slip and invoice."""
    pairs: list[tuple[str, str | int]] = [
        ("folder", str(folder)),
        ("book up to event", delivery.number),
        ("orders", len(going)),
        ("units", sum(each.count for each in going)),
    ]
    due = [(plain(each.number), str(Money(each.amount_due, each.currency))) for each in invoices]
    blocks: list[Block] = [KeyValues(tuple(pairs))]
    if due:
        blocks += [Heading("Amounts due, by invoice", 3), KeyValues(tuple(due))]
    if going and shop is None:
        blocks.append(Paragraph("No invoices: they need the tax and the name in a shop file. Add --shop."))
    if going:
        blocks.append(Paragraph("After it is handed over: woodshop book import BOOK sales.csv, from this folder."))
    blocks.append(Bullets((RULE, *((TAX_RULES,) if invoices else ()))))
    summary = Section(
        "",
        tuple(blocks),
        {
            "format": DELIVERY_FORMAT,
            "folder": str(folder),
            "as_of": delivery.number,
            "orders": [each.order.order for each in going],
            "amounts_due": {each.number: each.amount_due for each in invoices},
        },
    )
    papers: list[Section] = []
    if is_full:
        papers = [slip_section(delivery, each) for each in going]
        papers += [invoice_section(each, shop) for each in invoices if shop is not None]
    whole = joined((summary, pick_section(delivery, going), *papers, short_section(delivery)))
    data = {**summary.data, **pick_section(delivery, going).data, **short_section(delivery).data}
    return Section("", whole.blocks, data)
