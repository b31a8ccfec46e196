"""How many of each thing are made, why so many, and what each line costs; by customer where they are named."""

from woodshop.design.batch import BatchLine, due_dates
from woodshop.documents.days import in_words
from woodshop.drawing.values.model import Align, Block, Column, Heading, Section, Table
from woodshop.plan.values import PlannedBatch

_COUNTS = (
    Column("what", weight=5),
    Column("for", weight=7),
    Column("how the number comes about", weight=7),
    Column("make", Align.RIGHT, weight=1),
)
_COSTS = (
    Column("what", weight=8),
    Column("how many", Align.RIGHT, weight=2),
    Column("each", Align.RIGHT, weight=2),
    Column("total", Align.RIGHT, weight=2),
)


def line_chapter(planned: PlannedBatch) -> Section:
    """Every line of the batch: for whom, how its number comes about, and what one costs in material."""
    batch = planned.batch
    customers = list(dict.fromkeys(h.customer for h in batch.hives if h.customer))
    blocks: list[Block] = []
    shared = [line for line in batch.lines if not line.item.is_per_hive or not line.hives.customer]
    if shared:
        blocks.append(_table(shared))
    for customer in customers:
        lines = [x for x in batch.lines if x.hives.customer == customer and x.item.is_per_hive]
        hives = sum(group.count for group in batch.hives if group.customer == customer)
        days = due_dates(x.hives for x in lines)
        due = ", due " + " and ".join(in_words(each.day) for each in days) if days else ""
        blocks += [Heading(f"{customer}, {hives} hives{due}", 2), _table(lines)]
    costs = tuple((c.address, str(c.count), c.each, str(c.total)) for c in planned.costs if c.count)
    total = ("Total", "", "", str(planned.total))
    blocks += [Heading("What each line costs", 2), Table(_COSTS, (*costs, total), (len(costs),), small=True)]
    return Section("How many of each, and what each costs", tuple(blocks))


def _table(lines: list[BatchLine]) -> Table:
    return Table(_COUNTS, tuple((x.item.title, _whose(x), x.arithmetic, str(x.count)) for x in lines), small=True)


def _whose(line: BatchLine) -> str:
    if not line.item.is_per_hive:
        return "the whole batch"
    form = "" if line.hives.is_packed or line.hives.form in line.hives.name else line.hives.form
    order = f"order {line.hives.order}" if line.hives.order and line.hives.order not in line.hives.name else ""
    fits = "" if line.hives.name.endswith(line.fits) else line.fits
    return ", ".join(filter(None, (order, line.hives.name, fits, form)))
