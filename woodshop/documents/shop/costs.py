"""The shop's cost sheet of a run: the cost of each item and its reasons, its price, and each customer's share."""

from fractions import Fraction

from woodshop.design.schema import Default
from woodshop.documents.lists import csv_bytes, money_text, plain
from woodshop.drawing.values.model import (
    Align,
    Block,
    Bullets,
    Column,
    Data,
    Document,
    Heading,
    KeepTogether,
    KeyFigures,
    Paragraph,
    Section,
    Table,
)
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.shop_file import Shop
from woodshop.trade.costing import PARTS, RunCost
from woodshop.trade.quotes import Product, RunShare, margin_and_markup, named
from woodshop.units.lengths import Money, decimals

_MANY = 12  # lines; if there are more, they are in small type
COSTS_FORMAT = "woodshop-costs/1"


def costs_document(
    planned: PlannedBatch,
    run: RunCost,
    products: tuple[Product, ...],
    shares: tuple[RunShare, ...],
    shop: Shop,
    book: tuple[Section, ...] = (),
) -> Document:
    """The cost sheet as a document; `book` are sections from the shop's book."""
    blocks: list[Block] = [Heading("Cost of the run", 1), _figures(planned, run, products, shop)]
    if shop.is_bill:
        blocks.append(Paragraph("Only purchases are divided up: no labor, no margin, no sales tax."))
    if len(shares) > 1:
        blocks += _share_blocks(run, shares, shop)
    blocks += _product_blocks(run, products, shop)
    blocks += _part_blocks(run)
    blocks += _charge_blocks(run)
    blocks += _rule_blocks(run, shop)
    blocks += [block for section in book for block in section.blocks]
    if shop.defaults:
        blocks += _default_blocks(shop.defaults)
    title = f"Costs: {planned.batch.pages.title}"
    return Document(title, "Cost of the items in a run", (Section("", tuple(blocks)),), footer=planned.batch.name)


def _figures(planned: PlannedBatch, run: RunCost, products: tuple[Product, ...], shop: Shop) -> KeyFigures:
    sold = sum(product.total for product in products)
    figures = [("cost of the run", str(run.total)), ("to pay at the lumberyards", str(planned.to_pay))]
    if not shop.is_bill:
        margin, markup = margin_and_markup(run.total.minor, sold)
        figures += [
            ("hours of work", decimals(run.minutes / 60, 1)),
            ("sold for, before tax", _money(run, sold)),
            ("margin, of the price", f"{decimals(margin * 100, 1)} %"),
            ("markup, on the cost", f"{decimals(markup * 100, 1)} %"),
        ]
    return KeyFigures(tuple(figures))


def _share_blocks(run: RunCost, shares: tuple[RunShare, ...], shop: Shop) -> list[Block]:
    rows: list[tuple[str, ...]]
    if shop.is_bill:
        columns: tuple[Column, ...] = (Column("who", weight=6), Column("to pay", Align.RIGHT, weight=2))
        rows = [(share.name, _money(run, share.cost)) for share in shares]
        rows.append(("Total", _money(run, sum(share.cost for share in shares))))
    else:
        columns = (
            Column("who", weight=6),
            *(Column(word, Align.RIGHT, weight=2) for word in ("cost", "price", "tax", "to pay")),
        )
        rows = [
            (share.name, *(_money(run, cents) for cents in (share.cost, share.price, share.tax, share.total)))
            for share in shares
        ]
        sums = [sum(getattr(share, word) for share in shares) for word in ("cost", "price", "tax", "total")]
        rows.append(("Total", *(_money(run, cents) for cents in sums)))
    return [Heading("Share of each customer", 2), Table(columns, tuple(rows), (len(rows) - 1,))]


def _product_blocks(run: RunCost, products: tuple[Product, ...], shop: Shop) -> list[Block]:
    words = ("cost each",) if shop.is_bill else ("cost each", "price each", "price of all")
    columns = (
        Column("what", weight=8),
        Column("for", weight=9),
        Column("count", Align.RIGHT, weight=2),
        *(Column(word, Align.RIGHT, weight=2) for word in words),
    )
    rows = []
    for p in products:
        cells = [_money(run, _each(p.cost, p.count))]
        if not shop.is_bill:
            cells += [_money(run, p.each), _money(run, p.total)]
        rows.append((named(p), _whose(p), str(p.count), *cells))
    strong: tuple[int, ...] = ()
    if not shop.is_bill:
        rows.append(("Total", "", "", "", "", _money(run, sum(p.total for p in products))))
        strong = (len(rows) - 1,)
    return [Heading("Cost of one", 2), Table(columns, tuple(rows), strong, small=len(rows) > _MANY)]


def _whose(product: Product) -> str:
    hives = product.hives
    return ", ".join(dict.fromkeys(filter(None, (hives.customer, hives.name, product.fits))))


_WORDS = {"labour": "labor"}  # the key of a part, and the word on paper


def _part_blocks(run: RunCost) -> list[Block]:
    """A table with the parts of each row's cost, and totals. Columns and rows add up."""
    shown = [part for part in PARTS if any(row.parts[part] for row in (*run.rows, *run.tools))]
    columns = (
        Column("what", weight=14),
        Column("count", Align.RIGHT, weight=2),
        *(Column(_WORDS.get(part, part), Align.RIGHT, weight=3) for part in shown),
        Column("total", Align.RIGHT, weight=3),
    )
    rows = [
        (row.row.label, str(row.row.count), *(money_text(row.parts[part]) for part in shown), money_text(row.cents))
        for row in (*run.rows, *run.tools)
    ]
    sums = [run.part(part).minor for part in shown]
    rows.append(("Total", "", *(money_text(cents) for cents in sums), money_text(sum(sums))))
    return [
        Heading("Cost by kind", 2),
        Paragraph(f"In {run.currency}, for all of each line.{_tools_text(run)}", small=True),
        Table(columns, tuple(rows), (len(rows) - 1,), small=True),
    ]


def _tools_text(run: RunCost) -> str:
    return " Items made for the whole run are shared among the others, so their own total is zero." if run.tools else ""


def _charge_blocks(run: RunCost) -> list[Block]:
    columns = (
        Column("what", weight=5),
        Column("how it is calculated", weight=9),
        Column("shared by", weight=4),
        Column("sum", Align.RIGHT, weight=2),
    )
    rows: list[tuple[str, ...]] = []
    strong = []
    for part in PARTS:
        charges = [charge for charge in run.charges if charge.part == part]
        if not any(charge.cents for charge in charges):
            continue
        strong.append(len(rows))
        rows.append((_WORDS.get(part, part).capitalize(), "", "", money_text(run.part(part).minor)))
        rows += [(c.what, c.how, c.rule, money_text(c.cents)) for c in charges if c.cents]
    strong.append(len(rows))
    rows.append(("Total", "", "", money_text(sum(charge.cents for charge in run.charges))))
    return [Heading("How the costs are calculated", 2), Table(columns, tuple(rows), tuple(strong), small=True)]


def _rule_blocks(run: RunCost, shop: Shop) -> list[Block]:
    lines = [
        "Boards, sheets and mesh are paid for whole, and shared by the area of the pieces as cut, with waste, kerfs "
        "and offcuts in proportion.",
        "Each sum is divided in whole cents, the odd cents to the largest remainders. Prices are calculated from "
        "the shares before rounding, so that equal items have equal prices.",
    ]
    if run.kept.minor:
        lines.append(f"Goods left in packs and cans, worth {run.kept}, stay with the shop.")
    else:
        lines.append("Packs are charged whole: the run pays for what is left in them.")
    if shop.goods.offcuts == "free":
        lines.append("Your own offcuts are not charged.")
    for tool in run.tools:
        bears = _money(run, -tool.parts["shared tools"])
        lines.append(f"{tool.row.label}, {tool.row.count} for the whole run: {bears}, shared among the boards.")
    if shop.goods.paint is not None or shop.goods.consumables:
        lines.append("Paint and the consumables in the shop file are not on the packet's buy list.")
    if not shop.is_bill:
        lines.append(
            f"Time standards are minutes for one operation. Time your own shop, and write the results under [times] "
            f"and [setup]. "
            f"An hour costs {Money(shop.labour, run.currency)}."
        )
    return [KeepTogether((Heading("Rules", 2), Bullets(tuple(lines))))]


def _default_blocks(defaults: tuple[Default, ...]) -> list[Block]:
    columns = (
        Column("value", weight=3),
        Column("default", weight=5),
        Column("for", weight=2),
        Column("source", weight=6),
    )
    rows = tuple((d.name.replace("_", " "), d.value, d.where, d.source) for d in defaults)
    return [Heading("Values that the shop file does not set", 2), Table(columns, rows, small=True)]


def costs_csv(run: RunCost, products: tuple[Product, ...], shop: Shop) -> bytes:
    """A row for each line of the run with the parts of its cost, then one for each product. Money has two decimals."""
    head = ["kind", "what", "customer", "hives", "form", "count", *PARTS, "cost", "cost each", "price each", "price"]
    rows: list[list[object]] = [list(head)]
    for row in (*run.rows, *run.tools):
        hives = row.row.hives
        cells = [money_text(row.parts[part]) for part in PARTS]
        each = money_text(_each(row.cents, row.row.count))
        who = [plain(text) for text in (row.row.label, hives.customer, hives.name, hives.form)]
        rows.append(["line", *who, row.row.count, *cells, money_text(row.cents), each, "", ""])
    sums = [run.part(part).minor for part in PARTS]
    rows.append(["all lines", run.currency, "", "", "", "", *map(money_text, sums), money_text(sum(sums)), "", "", ""])
    for p in products if not shop.is_bill else ():
        who = [plain(text) for text in (f"{p.name}, {p.fits}", p.hives.customer, p.hives.name, p.form or p.hives.form)]
        cost = [money_text(p.cost), money_text(_each(p.cost, p.count))]
        blank = [""] * len(PARTS)
        rows.append(["sold", *who, p.count, *blank, *cost, money_text(p.each), money_text(p.total)])
    return csv_bytes(rows)


def costs_data(
    planned: PlannedBatch, run: RunCost, products: tuple[Product, ...], shares: tuple[RunShare, ...], shop: Shop
) -> Data:
    """The complete cost sheet as JSON values, under the keys of its file.

    Money is in minor units, minutes have two decimals.
    """
    return {
        "format": COSTS_FORMAT,
        "batch": planned.batch.name,
        "currency": run.currency,
        "total": run.total.minor,
        "bought": planned.to_pay.minor,
        "kept_in_packs": run.kept.minor,
        "minutes": decimals(run.minutes, 2),
        "parts": {part: run.part(part).minor for part in PARTS},
        "lines": [
            {
                "what": row.row.label,
                "customer": row.row.hives.customer,
                "hives": row.row.hives.name,
                "form": row.row.hives.form,
                "count": row.row.count,
                "minutes": decimals(row.minutes, 2),
                "parts": dict(row.parts),
                "cost": row.cents,
            }
            for row in run.rows
        ],
        "tools": [{"what": t.row.label, "count": t.row.count, "parts": dict(t.parts)} for t in run.tools],
        "charges": [
            {
                "part": c.part,
                "what": c.what,
                "how": c.how,
                "shared_by": c.rule,
                "sum": c.cents,
                "kept": c.kept,
                "count": None if c.count is None else decimals(c.count, 3),
                "minutes": None if c.minutes is None else decimals(c.minutes, 2),
                "source": c.source,
            }
            for c in run.charges
        ],
        "sold": [
            {
                "what": p.name,
                "form": p.form,
                "fits": p.fits,
                "customer": p.hives.customer,
                "count": p.count,
                "cost": p.cost,
                "price_each": p.each,
                "price": p.total,
            }
            for p in (() if shop.is_bill else products)
        ],
        "shares": [{"who": s.name, "cost": s.cost, "price": s.price, "tax": s.tax, "to_pay": s.total} for s in shares],
        "defaults": [{"where": d.where, "name": d.name, "value": d.value, "source": d.source} for d in shop.defaults],
    }


def _each(cents: int, count: int) -> int:
    """The cost of one unit, to the nearest cent."""
    return int(Fraction(cents, count) + Fraction(1, 2))


def _money(run: RunCost, cents: int) -> str:
    return str(Money(cents, run.currency))
