"""At the counter: which boards the lumberyard cuts across, where, and what to say."""

from collections.abc import Iterator
from itertools import groupby

from woodshop.cutting.model.lumber_plan import BoughtBoard
from woodshop.cutting.order.sequence import saw_cuts
from woodshop.documents.packet.layouts import numbered_layouts, ranges
from woodshop.documents.packet.measure_first import at_least, least_size
from woodshop.drawing.values.model import Align, Block, Column, Heading, Paragraph, Table
from woodshop.plan.lumber_at_home import cuts_of, places_at_home
from woodshop.plan.values import BoughtLumber, PlannedBatch
from woodshop.units.lengths import ZERO, Length, Money

_COLUMNS = (
    Column("", weight=1),
    Column("count", Align.RIGHT, weight=1),
    Column("board", weight=6),
    Column("cut into, in this order from one end", weight=12),
    Column("cuts in each", Align.RIGHT, weight=2),
)


def counter_blocks(planned: PlannedBatch) -> list[Block]:
    """What the lumberyard cuts, and for how much. The result is empty if it cuts nothing."""
    rows = [row for each in planned.lumber for row in _rows(planned, each)]
    if not rows:
        return []
    return [Heading("To have cut at the lumberyard", 2), Paragraph(_to_say(planned)), Table(_COLUMNS, tuple(rows))]


def _to_say(planned: PlannedBatch) -> str:
    unit = planned.batch.unit
    found = [offer.cuts for each in planned.lumber for offer, *_ in cuts_of(each) if offer.cuts is not None]
    rough = max(own.allowance for own in found).text(unit)
    longest = min((own.longest for own in found if own.longest is not None), default=None)
    text = (
        'Say: "Please cut these boards across, to these lengths." The cuts can be rough: '
        f"{rough} is planned for each end. At home you square one end, and the last cut frees the other. The plan "
        'assumes the first length. Each part must be as long as "at least" says. Every board is listed at its full '
        "length, so measure from a sound end, and let the last piece be as long as it comes"
    )
    text += "." if longest is None else f", up to {longest.text(unit)}: from a longer one, have the rest cut off."
    text += " Write the layout's number on each part."
    return f"{text} {_price(planned)}"


def _price(planned: PlannedBatch) -> str:
    """How many cuts there are, and what they cost: "14 cuts: 6 are free, and 8 cost $1.00 each, $8.00."."""
    cuts = paid = 0
    for each in planned.lumber:
        for _, board, count, charged in cuts_of(each):
            cuts += count * board.times
            paid += charged * board.times
    lines = [purchase for purchase in planned.purchases if purchase.is_cut]
    total = sum((line.total for line in lines), Money(0, planned.batch.lumberyard.currency))
    text = f"{cuts} cut{'s' if cuts != 1 else ''}"
    if not total.minor:
        return f"{text}, at no cost."
    free = f"{cuts - paid} free, " if cuts > paid else ""
    how = " and ".join(f"{line.count} at {line.price}" for line in lines)
    return f"{text}: {free}{how}, {total} in total."


def _rows(planned: PlannedBatch, bought: BoughtLumber) -> Iterator[tuple[str, ...]]:
    for offer, board, cuts, _ in cuts_of(bought):
        least = ZERO if offer.cuts is None else offer.cuts.shortest
        yield ("[ ]", str(board.times), offer.what, _parts(planned, bought, board, least), str(cuts))


def _parts(planned: PlannedBatch, bought: BoughtLumber, board: BoughtBoard, least_cut: Length) -> str:
    """The parts in order: "2 of 47 1/2 in, at least 46 15/16 in (layout 3), then 13 in (not needed)".

    `least_cut` is the shortest part that the lumberyard cuts.
    """
    unit, grid, numbers = planned.batch.unit, bought.job.grid, printed_numbers(planned, bought)
    words = []
    for (length, layouts, resaw), same in groupby(
        board.parts, key=lambda part: (part.length, part.layouts, part.resaw)
    ):
        count, size = len(list(same)), (grid * length).text(unit)
        own = sorted({numbers[n] for n in layouts})
        use = f"layout{'s' if len(own) > 1 else ''} {ranges(own)}" if own else "not needed"
        if own:
            least = max(least_cut, _least_length(planned, {str(n) for n in own}, is_resawn=resaw is not None))
            size += f", at least {at_least(min(least, grid * length), unit).text(unit)}"
        words.append((f"{count} of {size}" if count > 1 else size) + f" ({use})")
    return ", then ".join(words)


def _least_length(planned: PlannedBatch, numbers: set[str], *, is_resawn: bool) -> Length:
    """The shortest part that holds the pieces of all these layouts, with squaring and kerfs, and that can be planed."""
    layouts = [each for each in numbered_layouts(planned) if each.number in numbers]
    least = [least_size(each, saw_cuts(each.plan.job.job, each.layout))[1] for each in layouts]
    own = planned.batch.saw.tools.resawing
    return max(*least, *([own.shortest] if is_resawn and own is not None else []), ZERO)


def printed_numbers(planned: PlannedBatch, bought: BoughtLumber) -> tuple[int, ...]:
    """The printed number of each layout of the bought lumber's plan."""
    before, start = 0, {}
    for each in planned.plans:
        start[each.job.material.name] = before
        before += len(each.plan.layouts)
    return tuple(start[name] + place + 1 for name, place in places_at_home(bought))
