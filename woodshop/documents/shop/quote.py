"""A customer's quote: products, counts, prices, validity and assumptions; and the files of costs and quotes."""

import re
import unicodedata
from datetime import date
from pathlib import Path

from woodshop.documents.lists import plain
from woodshop.documents.packet.shopping import seen_text
from woodshop.documents.shop.costs import costs_csv, costs_data, costs_document
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.pens.section_json import section_json
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
    KeyValues,
    Paragraph,
    Section,
    Table,
    joined,
)
from woodshop.files.one_file import json_bytes
from woodshop.hardware.catalogue import items
from woodshop.hardware.registry import BoardPart
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.shop_file import Shop
from woodshop.reference.facts import fact
from woodshop.trade.costing import RunCost
from woodshop.trade.quotes import Break, Product, Quote, is_exempt, named, price_changes, products_of, shares_of
from woodshop.units.lengths import Money, decimals
from woodshop.units.wording import in_short

QUOTE_FORMAT = "woodshop-quote/1"
_LONGEST_NAME = 40


def file_stem(number: int, customer: str, kind: str = "quote") -> str:
    """A file name from `kind`, `number` and any customer or order, in Latin letters, digits and dashes only.

    >>> file_stem(3, "../Åsa & Sønner/=1+1")
    'quote-03-asa-snner-1-1'
    """
    letters = unicodedata.normalize("NFKD", customer).encode("ascii", "ignore").decode("ascii").lower()
    slug = re.sub(r"[^a-z0-9]+", "-", letters).strip("-")[:_LONGEST_NAME].strip("-")
    return f"{kind}-{number:02d}-{slug or 'customer'}"


def quote_document(planned: PlannedBatch, quote: Quote, shop: Shop) -> Document:
    """One customer's quote as a document."""
    currency = planned.batch.lumberyard.currency
    due = _due(quote)
    figures = [("quote", quote.number), ("dated", in_short(quote.quoted_on))]
    orders = list(dict.fromkeys(p.hives.order for p in quote.products if p.hives.order))
    if len(orders) == 1:
        figures.append(("your order", plain(orders[0])))
    figures.append(("good until", in_short(quote.valid_until)))
    if len(due) == 1:
        figures.append(("ready by", in_short(due[0])))
    figures.append(("to pay", str(Money(quote.total, currency))))
    blocks: list[Block] = [
        Heading(shop.name, 1),
        *([Paragraph(" · ".join(shop.quote.lines))] if shop.quote.lines else []),
        Heading(f"Quote for {plain(quote.customer)}", 2),
        KeyFigures(tuple(figures)),
        _lines(quote, shop, currency, len(due) > 1, len(orders) > 1),
    ]
    if quote.breaks:
        blocks += _break_blocks(quote, currency)
    if quote.remarks:
        blocks.append(KeepTogether((Heading("Please note", 2), Bullets(quote.remarks))))
    blocks.append(KeepTogether((Heading("Basis of this quote", 2), Bullets(assumptions(planned, quote, shop)))))
    if shop.quote.terms:
        blocks.append(KeepTogether((Heading("Terms", 2), Bullets(shop.quote.terms))))
    title = f"Quote {quote.number}"
    return Document(title, "A quote for winter hive hardware", (Section("", tuple(blocks)),), footer=shop.name)


def _due(quote: Quote) -> list[date]:
    return sorted({p.hives.due for p in quote.products if p.hives.due is not None})


def _lines(quote: Quote, shop: Shop, currency: str, by_line: bool, by_order: bool) -> Table:
    columns = (
        Column("what", weight=9),
        Column("for", weight=9),
        *((Column("your order", weight=4),) if by_order else ()),
        *((Column("ready by", weight=4),) if by_line else ()),
        Column("count", Align.RIGHT, weight=2),
        Column("each", Align.RIGHT, weight=3),
        Column("total", Align.RIGHT, weight=3),
    )

    def row(what: str, whose: str, order: str, due: str, *cells: str) -> tuple[str, ...]:
        return (what, whose, *((order,) if by_order else ()), *((due,) if by_line else ()), *cells)

    rows = []
    for p in quote.products:
        due = "" if p.hives.due is None else in_short(p.hives.due)
        cells = (str(p.count), str(Money(p.each, currency)), str(Money(p.total, currency)))
        rows.append(row(_described(p), _fits(p), plain(p.hives.order), due, *cells))
    rate = f"{decimals(shop.pricing.tax * 100, 3)} %"
    words = "Sales tax: exempt" if is_exempt(shop, quote.customer) and shop.pricing.tax else f"Sales tax, {rate}"
    rows.append(row("Before tax", "", "", "", "", "", str(Money(quote.subtotal, currency))))
    if shop.pricing.tax:
        rows.append(row(words, "", "", "", "", "", str(Money(quote.tax, currency))))
    rows.append(row("To pay", "", "", "", "", "", str(Money(quote.total, currency))))
    return Table(columns, tuple(rows), (len(rows) - 1,))


def _described(product: Product) -> str:
    """The text of a product's line and, for a board, its components on the next line."""
    words = named(product)
    made = [name for name in product.parts if name not in ("sugar", "shavings")]
    return f"{words}\n{', '.join(made)}" if len(made) > 1 else words


def _fits(product: Product) -> str:
    name = product.hives.name
    return f"{product.fits} ({plain(name)})" if name else product.fits


def _break_blocks(quote: Quote, currency: str) -> list[Block]:
    """The price of each item at other quantities, one table for each group of hives."""
    blocks: list[Block] = [
        Heading("At other quantities", 2),
        Paragraph(
            "The price of one, before tax. Each quantity was planned and costed separately, with all-new hardware, as "
            "an order made by itself.",
            small=True,
        ),
    ]
    for name in dict.fromkeys(each.hives for each in quote.breaks):
        own = [each for each in quote.breaks if each.hives == name]
        blocks.append(KeepTogether((*_break_table(plain(name), own, currency),)))
    return blocks


def _break_table(name: str, own: list[Break], currency: str) -> list[Block]:
    planned = [each for each in own if not each.refused]
    blocks: list[Block] = [Heading(name, 3)] if name else []
    if planned:
        columns = (Column("hives", weight=6), *(Column(str(each.quantity), Align.RIGHT, weight=2) for each in planned))
        rows = [
            (price.name, *(str(Money(each.prices[n].each, currency)) for each in planned))
            for n, price in enumerate(planned[0].prices)
        ]
        rows.append(("Total", *(str(Money(each.total, currency)) for each in planned)))
        blocks.append(Table(columns, tuple(rows), (len(rows) - 1,)))
    changes = price_changes(own, currency)
    if changes:
        blocks.append(Bullets(changes))
    for each in own:
        if each.refused:
            blocks.append(Paragraph(f"{each.quantity} cannot be quoted: {each.refused}", small=True))
    return blocks


def assumptions(planned: PlannedBatch, quote: Quote, shop: Shop) -> tuple[str, ...]:
    """The assumptions of the quote, in sentences."""
    batch = planned.batch
    said = [f"Wood and goods: {seen_text(batch.lumberyard)}"]
    if len({hives.customer for hives in batch.hives}) > 1:
        said.append("Prices hold for all orders of this run made together, in these counts.")
    hives = list(dict.fromkeys(p.hives for p in quote.products))
    for each in hives:
        if not each.is_gap_measured:
            said.append(
                f"{plain(each.name or each.format)}: the gap over the top bars was not measured; a default from the "
                "table of box sizes was used."
            )
    counts = [
        f"{line.item.title} for {plain(line.hives.name or line.hives.format)}: {line.arithmetic}"
        for line in batch.lines
        if line.hives in hives and ("on hand" in line.arithmetic or "spare" in line.arithmetic)
    ]
    said += [f"{words}." for words in counts]
    forms = {each.form for each in hives}
    if "packed" in forms and any("sugar" in p.parts for p in quote.products):
        row = fact("mix.drying_days")
        said.append(f"Packed boards dry {row.number} days before they can be lifted ({row.cite}).")
    if "unassembled kit" in forms:
        said.append("Unassembled kits come with screws and staples; glue is not included.")
    if shop.goods.paint is not None and any(_walled() & set(p.parts) for p in quote.products):
        kits = "; unassembled kits come bare" if "unassembled kit" in forms else ""
        said.append(f"Painted outside only, {shop.goods.paint.coats} coats of {plain(shop.goods.paint.what)}{kits}.")
    return tuple(said)


def _walled() -> set[str]:
    """The items that have walls, which are painted."""
    return {
        item.name
        for item in items()
        if item.place is not None and item.place.rim and item.board_part is not BoardPart.FLOOR
    }


def quote_data(planned: PlannedBatch, quote: Quote, shop: Shop) -> Data:
    """The quote as JSON values, under the keys of its file. Money is in minor units."""
    currency = planned.batch.lumberyard.currency
    return {
        "format": QUOTE_FORMAT,
        "number": quote.number,
        "batch": planned.batch.name,
        "shop": shop.name,
        "customer": quote.customer,
        "currency": currency,
        "quoted_on": quote.quoted_on,
        "valid_until": quote.valid_until,
        "lines": [
            {
                "what": p.name,
                "form": p.form,
                "parts": list(p.parts),
                "fits": p.fits,
                "hives": p.hives.name,
                "order": p.hives.order,
                "due": p.hives.due,
                "count": p.count,
                "each": p.each,
                "total": p.total,
            }
            for p in quote.products
        ],
        "subtotal": quote.subtotal,
        "tax_rate": f"{decimals(shop.pricing.tax * 100, 6)} %",
        "tax_exempt": is_exempt(shop, quote.customer),
        "tax": quote.tax,
        "total": quote.total,
        "other_quantities": [
            {
                "hives": each.hives,
                "quantity": each.quantity,
                "prices": [{"what": p.name, "count": p.count, "each": p.each, "total": p.total} for p in each.prices],
                "total": None if each.refused else each.total,
                "refused": each.refused,
            }
            for each in quote.breaks
        ],
        "why_prices_change": [
            {"hives": name, "reasons": list(reasons)}
            for name in dict.fromkeys(each.hives for each in quote.breaks)
            if (reasons := price_changes([b for b in quote.breaks if b.hives == name], currency))
        ],
        "remarks": list(quote.remarks),
        "assumptions": list(assumptions(planned, quote, shop)),
        "terms": list(shop.quote.terms),
    }


def quote_files(
    planned: PlannedBatch, run: RunCost, quotes: tuple[Quote, ...], shop: Shop, book: tuple[Section, ...] = ()
) -> dict[str, bytes]:
    """`costs.pdf`, `costs.csv` and `costs.json`, and a PDF and a JSON file for every quote.

    `book` are sections from the shop's book, added to the costs.
    """
    paper = planned.batch.pages.paper
    products, shares = products_of(run, shop), shares_of(planned, run, shop)
    data = joined((Section("", (), costs_data(planned, run, products, shares, shop)), *book)).data
    files = {
        "costs.pdf": write_pdf(costs_document(planned, run, products, shares, shop, book), paper),
        "costs.csv": costs_csv(run, products, shop),
        "costs.json": _data_file(data),
    }
    for n, quote in enumerate(quotes, 1):
        stem = file_stem(n, quote.customer)
        files[f"{stem}.pdf"] = write_pdf(quote_document(planned, quote, shop), paper)
        files[f"{stem}.json"] = _data_file(quote_data(planned, quote, shop))
    return files


def _data_file(data: Data) -> bytes:
    return json_bytes(section_json(Section("", (), data)))


def quote_section(planned: PlannedBatch, run: RunCost, quotes: tuple[Quote, ...], shop: Shop, folder: Path) -> Section:
    """The message after the files are written."""
    shares = shares_of(planned, run, shop)
    summed: dict[str, str | int] = {"batch": planned.batch.name, "folder": str(folder), "cost": str(run.total)}
    if not shop.is_bill:
        summed["quotes"] = len(quotes)
        summed["sold"] = str(Money(sum(share.price for share in shares), run.currency))
    borne = {share.name: str(Money(share.total, run.currency)) for share in shares}
    remarks = [remark for quote in quotes for remark in quote.remarks]
    blocks = (
        KeyValues(tuple(summed.items())),
        Heading("Share of each customer", 3),
        KeyValues(tuple(borne.items())),
        Bullets(tuple(remarks)),
    )
    return Section("", blocks, {**summed, "shares": borne, "remarks": remarks})
