"""The buy list, a list for each yard with its bill, and what other choices of yards would come to."""

from collections.abc import Callable, Iterator

from woodshop.checks.for_sale import days_seen
from woodshop.design.lumberyard.lumberyard_file import Yard
from woodshop.design.lumberyard.lumberyard_tables import Bill, Terms
from woodshop.documents.days import in_words
from woodshop.drawing.values.model import Align, Block, Bullets, Column, Heading, KeepTogether, Paragraph, Table
from woodshop.plan.values import Choice, PlannedBatch, Purchase
from woodshop.units.lengths import Money, decimals

_COLUMNS = (
    Column("", weight=1),
    Column("count", Align.RIGHT, weight=1),
    Column("what", weight=7),
    Column("each", Align.RIGHT, weight=2),
    Column("in all", Align.RIGHT, weight=2),
    Column("why", weight=6),
)
_MOST_SHOWN = 12

Links = Callable[[tuple[Purchase, ...]], tuple[tuple[int, int, str], ...]]


def bill_blocks(planned: PlannedBatch, links: Links) -> list[Block]:
    """One table where one yard sells and nothing is added to its goods, else one for each yard with its bill."""
    terms = {each.yard: each for each in planned.batch.yard.terms}
    bills = planned.bills
    if len(bills) < 2 and all(not (bill.fee.minor or bill.tax.minor) for bill in bills):
        after = "before tax" if all(not each.tax for each in terms.values()) else ""
        rows = [*map(_row, planned.purchases), ("", "", "Total", "", str(planned.total), after)]
        return [Table(_COLUMNS, tuple(rows), (len(rows) - 1,), links=links(planned.purchases))]
    blocks: list[Block] = []
    for bill in bills:
        own = tuple(purchase for purchase in planned.purchases if purchase.yard == bill.yard)
        rows = [*(_row(purchase, bare=True) for purchase in own), *_bill_rows(bill, terms[bill.yard])]
        strong = tuple(range(len(own), len(rows)))
        blocks.append(Heading(f"{bill.yard}, prices seen {_days_words(planned.batch.yard, terms[bill.yard])}", 2))
        blocks.append(Table(_COLUMNS, tuple(rows), strong, links=links(own)))
    if len(bills) > 1:
        blocks.append(Paragraph(f"{planned.to_pay} at {len(bills)} yards.", lead="To pay in all:"))
    return blocks


def seen_words(yard: Yard) -> str:
    """At which lumberyards, and on what day each one's prices were seen."""
    seen = [f"{each.yard}, prices seen {_days_words(yard, each)}" for each in yard.terms]
    return f"{'; '.join(seen) or f'{yard.name}, prices seen on {in_words(yard.seen)}'}."


def _days_words(yard: Yard, terms: Terms) -> str:
    """The day on which one lumberyard's prices were seen; from the first day to the last where they differ."""
    first, last = days_seen(yard, terms.yard) or (terms.seen, terms.seen)
    return f"on {in_words(first)}" if first == last else f"from {in_words(first)} to {in_words(last)}"


def _row(purchase: Purchase, *, bare: bool = False) -> tuple[str, ...]:
    return (
        "[ ]",
        str(purchase.count),
        purchase.what.removesuffix(f" ({purchase.yard})") if bare else purchase.what,
        str(purchase.price),
        str(purchase.total),
        purchase.why,
    )


def _bill_rows(bill: Bill, terms: Terms) -> Iterator[tuple[str, ...]]:
    if not (bill.fee.minor or bill.tax.minor or terms.fee or terms.tax):
        yield ("", "", "Total", "", str(bill.total), "before tax")
        return
    yield ("", "", "Goods", "", str(bill.goods), "")
    if terms.fee:
        yield ("", "", "Delivery", "", str(bill.fee), delivery_words(terms, bill))
    if terms.tax:
        yield ("", "", "Tax", "", str(bill.tax), tax_words(terms))
    yield ("", "", "To pay", "", str(bill.total), "")


def delivery_words(terms: Terms, bill: Bill) -> str:
    """Why delivery costs what it costs."""
    if terms.free_from is None:
        return "once an order"
    free = Money(terms.free_from, bill.goods.currency)
    return f"free from {free}" if not bill.fee.minor else f"free only from {free}"


def tax_words(terms: Terms) -> str:
    """The rate and what it is charged on."""
    on = "goods and delivery" if terms.tax_on_delivery else "the goods"
    return f"{decimals(terms.tax * 100, 4)} % of {on}"


def choice_blocks(planned: PlannedBatch) -> list[Block]:
    """What every choice of yards comes to or cannot come below; nothing where there was nothing to choose."""
    choices = planned.choices
    if choices is None or len(choices.looked_at) < 3:
        return []
    shown = sorted((each for each in choices.looked_at if each.least is not None), key=_order)
    rows = [
        (
            name_of(each),
            "" if each.pays is None else str(each.pays),
            str(each.least),
            each.why or ("taken" if n == 0 else ""),
        )
        for n, each in enumerate(shown[:_MOST_SHOWN])
    ]
    columns = (
        Column("bought at", weight=8),
        Column("comes to", Align.RIGHT, weight=2),
        Column("not below", Align.RIGHT, weight=2),
        Column("", weight=4),
    )
    cannot = [each for each in choices.looked_at if each.least is None and each.yards]
    notes = tuple(dict.fromkeys(f"{name_of(each)}: {each.why}" for each in cannot))
    blocks: list[Block] = [Heading("Where to buy", 2), Paragraph(choice_words(planned)), Table(columns, tuple(rows))]
    if len(shown) > _MOST_SHOWN:
        blocks.append(Paragraph(f"{len(shown) - _MOST_SHOWN} dearer choices are in plan.json.", small=True))
    if notes:
        blocks.append(Bullets(notes[:_MOST_SHOWN]))
    return [KeepTogether(tuple(blocks))]


def choice_words(planned: PlannedBatch) -> str:
    """In one or two sentences, how good the choice of yards is."""
    choices = planned.choices
    if choices is None:
        return ""
    pays = planned.to_pay + choices.rack
    among = "no one yard" if choices.one_yard_only else "no choice among these yards"
    rack = f", with {choices.rack} for wood from the rack" if choices.rack.minor else ""
    solver = " This rests on a solver's search where no prices prove it." if choices.by_solver else ""
    if pays.minor <= choices.least.minor:
        return f"This comes to {pays}{rack}; {among} can cost less.{solver}"
    return f"This comes to {pays}{rack}; {among} can cost less than {choices.least}.{solver}"


def name_of(choice: Choice) -> str:
    """The yards of a choice, and what is bought ready-made."""
    yards = " and ".join(choice.yards) or "the rack alone"
    return f"{yards}; {', '.join(choice.ready)}" if choice.ready else yards


def _order(choice: Choice) -> tuple[bool, int]:
    least = 0 if choice.least is None else choice.least.minor
    return (choice.pays is None, least if choice.pays is None else choice.pays.minor)
