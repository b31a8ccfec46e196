"""Due dates: each day with hives due, and when their boards must be packed."""

from datetime import timedelta

from woodshop.design.batch import Batch, DueDate, Unit, due_dates, packed_boards
from woodshop.documents.lists import plain
from woodshop.drawing.values.model import Align, Block, Column, Heading, KeepTogether, Paragraph, Table
from woodshop.reference.facts import fact
from woodshop.units.wording import date_text, in_short

_MOST_DAYS = 10  # rows of the table; further days are counted
_MOST_ORDERS = 4  # orders named for one day; further orders are counted


def due_blocks(batch: Batch, units: tuple[Unit, ...]) -> list[Block]:
    """When hives are due and when to pack, earliest first. The result is empty if no day is given."""
    days = due_dates(batch.hives)
    if not days:
        return []
    packed = {name for name, _, _ in packed_boards(batch, units)}
    row = fact("mix.drying_days")
    first = next(((day, count) for day in days if (count := _packed(day, packed))), None)
    blocks: list[Block] = []
    if len(days) > 1:
        blocks += [Heading("Due dates", 2), _table(days, packed, int(row.number))]
    if len(days) > _MOST_DAYS:
        blocks.append(
            Paragraph(
                f"{len(days) - _MOST_DAYS} later days are in report.pdf, Number and cost of each item.", small=True
            )
        )
    if first is not None:
        day, count = first
        by = date_text(day.day - timedelta(days=int(row.number)))
        whose = "" if len(days) == 1 else f" {count} fondant {'board' if count == 1 else 'boards'}"
        due = f"They are due on {date_text(day.day)}" + (f" ({_whose(day, packed)})." if len(days) > 1 else ".")
        text = (
            f"Packed sugar dries for {row.number} days. "
            f"Pack the {'first' + whose if whose else 'fondant boards'} by {by}. {due} Cut and build before that."
        )
        blocks.append(Paragraph(text, lead="Work back from the date."))
    return [KeepTogether(tuple(blocks))] if blocks else []


def _packed(day: DueDate, packed: set[str]) -> int:
    """The number of boards to pack for this day."""
    return sum(each.to_pack for each in day.hives if (each.name or each.format) in packed)


def _whose(day: DueDate, packed: set[str] | None = None) -> str:
    """The orders due on this day, or only the orders with boards to pack if `packed` is given."""
    hives = tuple(each for each in day.hives if packed is None or _packed(DueDate(day.day, (each,)), packed))
    orders = [plain(words) for words in DueDate(day.day, hives).orders]
    more = len(orders) - _MOST_ORDERS
    return "; ".join(orders[:_MOST_ORDERS]) + (f"; and {more} more" if more > 0 else "")


def _table(days: tuple[DueDate, ...], packed: set[str], drying: int) -> Table:
    columns = (
        Column("due", weight=4),
        Column("for", weight=10),
        Column("hives", Align.RIGHT, weight=2),
        Column("to pack", Align.RIGHT, weight=2),
        Column("pack by", weight=4),
    )
    rows = []
    for day in days[:_MOST_DAYS]:
        count = _packed(day, packed)
        by = in_short(day.day - timedelta(days=drying)) if count else ""
        rows.append((in_short(day.day), _whose(day), str(day.count), str(count or ""), by))
    return Table(columns, tuple(rows))
