"""What to measure and inspect before a board is cut, and the planned kerf."""

from collections.abc import Sequence

from woodshop.cutting.order.job_sequence import STOP
from woodshop.cutting.order.sequence import SawCut, saw_cuts
from woodshop.design.batch import Batch
from woodshop.design.lumber import edge_off
from woodshop.documents.packet.layouts import LaidPiece, NumberedLayout, bad_stretches, numbered_layouts, trims
from woodshop.drawing.values.model import Block, Bullets, Heading
from woodshop.hive.variation.sizes import Work
from woodshop.plan.lumber_at_home import bought_as, is_whole
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.cut_tools import how_to_true, tool_for_edges
from woodshop.reference.facts import fact
from woodshop.units.lengths import ZERO, Length, millimetre
from woodshop.units.wording import LengthUnit

_FINEST = millimetre("1/10")  # of what is set or measured in millimeters
_SPARE = 3  # cells: if fewer are left over, a roll that was cut slightly short is not enough


def kerf_text(layout: NumberedLayout, unit: str) -> str:
    """The kerf in the layout's job: one figure, or one for rips and one for crosscuts."""
    job = layout.plan.job
    rip, crosscut = (nearest(job.grid * kerf, unit) for kerf in (job.job.kerf.rip, job.job.kerf.crosscut))
    if rip == crosscut:
        return f"{rip.text(unit)} for every cut"
    return f"{rip.text(unit)} for a rip, {crosscut.text(unit)} for a crosscut"


def said_of(layout: NumberedLayout, cuts: Sequence[SawCut], batch: Batch) -> str:
    """The notes for one board: its required width and length, and what to check, or "" if there are none."""
    if not layout.is_sawn:
        return " ".join(filter(None, (_marked(layout), _count_first(layout))))
    unit = batch.unit
    wide, long = (
        at_least(each, unit) for each in (least_width_at_saw(layout, cuts, batch), least_size(layout, cuts)[1])
    )
    width = limits_of(layout.width, batch) if full_width(layout) else f"{wide.text(unit)} or more"
    words = [f"Width {width}, length {long.text(unit)} or more.", *_looked_over(layout, batch)]
    if any(cut.is_narrow for cut in cuts) and batch.saw.thin_rip != STOP:
        words.append(
            f"Narrow rips: the widths left are for a board {nearest(layout.width, unit).text(unit)} wide. If your "
            "board is wider or narrower, add or subtract the difference."
        )
    return " ".join(words)


def _looked_over(layout: NumberedLayout, batch: Batch) -> list[str]:
    """How to inspect and prepare a board that is not new and straight: nails, ends, edges, defects, twist."""
    offer = next(offer for offer in layout.plan.job.offers if offer.id == layout.layout.stock)
    saw, unit = batch.saw, batch.unit
    words = []
    if offer.chalked:
        words.append(f"{_marked(layout)} If one end is squared already, square that end again.")
    if bad_stretches(layout):
        words.append(
            f"Bad stretch: {_stretches(layout, ZERO, unit)} from the end you square first. Measure before you square "
            "that end. Cut the bad stretch off before any rip."
        )
    if offer.thickness is not None and not offer.straight_edges:
        off = edge_off(offer, saw).text(unit)
        words.append(
            f"Its edges may not be straight: {how_to_true(tool_for_edges(layout, saw.tools))}. Take {off} off each "
            "edge. Do not rip a board without a flat face."
        )
    if offer.twisted:
        words.append("Twisted: crosscut it only, held down flat. Never rip it.")
    return words


def _marked(layout: NumberedLayout) -> str:
    """Which piece of stock to take, if it is one that was set aside with a code; otherwise ""."""
    code = next(offer.chalked for offer in layout.plan.job.offers if offer.id == layout.layout.stock)
    return f"Take the {layout.raw} {layout.material.how_marked} {code}." if code else ""


def bad_when_squared(layout: NumberedLayout, batch: Batch) -> str:
    """The note on the bad stretches of a board once its end is squared, or "" if it has none."""
    if not layout.is_sawn or not bad_stretches(layout):
        return ""
    off = sum((long for x, _, long, wide in trims(layout) if x == ZERO and wide == layout.width), ZERO)
    return f"Bad stretch: {_stretches(layout, off, batch.unit)} from the squared end. Cut it off before any rip."


def _stretches(layout: NumberedLayout, off: Length, unit: LengthUnit) -> str:
    """The bad stretches of a board, measured from the end that is squared first, less what is cut off there."""
    ends = [(max(x - off, ZERO), x + long - off) for x, _, long, _ in bad_stretches(layout) if x + long > off]
    return " and ".join(f"{at_most(low, unit).number(unit)} to {at_least(high, unit).text(unit)}" for low, high in ends)


def _count_first(layout: NumberedLayout) -> str:
    """A note to count the cells first, if the layout uses almost the full width or length of the mesh."""
    if layout.material.mesh is None:
        return ""
    stock = next(each for each in layout.plan.job.job.stock if each.id == layout.layout.stock)
    pieces = layout.layout.pieces
    taken = (
        ("across", max((piece.y or 0) + (piece.width or 0) for piece in pieces), stock.width),
        ("along", max(piece.x + piece.length for piece in pieces), stock.length),
    )
    words = [
        f"{cells} whole cells {way}, {cells + 1} wires" for way, cells, there in taken if (there or 0) - cells < _SPARE
    ]
    if not words:
        return ""
    return f"Count first: {' and '.join(words)} or more. If there are fewer, use another {layout.raw}."


def limits_of(size: Length, batch: Batch) -> str:
    """The limits for the width or thickness of a board, as text."""
    off, unit = board_off(batch), batch.unit
    return f"{at_least(size - off, unit).number(unit)} to {at_most(size + off, unit).text(unit)}"


def thickness_of(layout: NumberedLayout) -> Length | None:
    """The thickness of a board, or None for ready-made strips and for stock that is not lumber."""
    if not layout.material.is_lumber or layout.material.is_ready_strip:
        return None
    return next(offer.thickness for offer in layout.plan.job.offers if offer.id == layout.layout.stock)


def widths_to_buy(planned: PlannedBatch) -> list[Block]:
    """What to measure at the lumberyard: required widths, minimum lengths, and whether edges must be straight."""
    batch, unit = planned.batch, planned.batch.unit
    kinds: dict[tuple[str, Length], list[NumberedLayout]] = {}
    for layout in numbered_layouts(planned):
        if layout.is_sawn and not layout.is_offcut and layout.material.is_lumber:
            kinds.setdefault((layout.what.partition(",")[0], layout.width), []).append(layout)
    bought = {offer.id: offer.thickness for each in planned.lumber for offer in each.job.offers}
    lines = []
    for (what, width), layouts in kinds.items():
        least = {lay.name: least_size(lay, saw_cuts(lay.plan.job.job, lay.layout)) for lay in layouts}
        others = [lay for lay in layouts if not full_width(lay)]
        wide = f"{limits_of(width, batch)} wide (the parts use the full width)" if len(others) < len(layouts) else ""
        if others:
            narrow = at_least(max(least[lay.name][0] for lay in others), unit).text(unit)
            wide += (
                f", or {narrow} or more for {', '.join(lay.name.lower() for lay in others)}"
                if wide
                else f"{narrow} wide or more"
            )
        longest: dict[str, Length] = {}
        for lay in layouts:
            if not is_whole(lay.layout.stock):  # its length is on the list of what to have cut
                continue
            size = lay.what.removesuffix(", bought").partition(", ")[2] or what
            longest[size] = max(longest.get(size, ZERO), least[lay.name][1])
        long = ", ".join(
            f"{at_least(least_long, unit).text(unit)} for {size}"
            for size, least_long in sorted(longest.items(), key=lambda each: each[1])
        )
        offers = {offer.id: offer for lay in layouts for offer in lay.plan.job.offers}
        straight = all(offers[lay.layout.stock].straight_edges for lay in layouts)
        thick = bought.get(bought_as(layouts[0].layout.stock), thickness_of(layouts[0]))
        wide += "" if thick is None else f"; {limits_of(thick, batch)} thick"
        long = f"; length at least {long}" if long else ""
        lines.append(f"{what}: {wide}{long}{'; both edges straight' if straight else ''}.")
    if lines and any(offer.rounded_edges for each in planned.plans for offer in each.job.offers):
        lines.append(
            "Framing lumber: look at its stamp. KD or KD-HT was dried in a kiln, S-GRN is green, and so is wood "
            "without a stamp: leave it. Wood stamped as treated never goes into a hive. Choose dry, straight boards "
            "without twist or loose knots."
        )
    return [Heading("Take a tape and calipers along", 3), Bullets(tuple(lines))] if lines else []


def least_size(layout: NumberedLayout, cuts: Sequence[SawCut]) -> tuple[Length, Length]:
    """The smallest measured width and length of a board for this layout, with all its cuts and trims.

    This leaves a kerf and the required waste next to the last rip and beyond the last crosscut, and the required wood
    between blade and fence at the last narrow rip. A part that is ripped up to the far end is as long as the shortest
    piece to rip. `cuts` are the cuts of the layout.
    """
    job, stock = layout.plan.job.job, next(s for s in layout.plan.job.job.stock if s.id == layout.layout.stock)
    beside = job.rules.least_remainder or 0
    grid = layout.plan.job.grid
    pieces = layout.layout.pieces
    wide = max((piece.y or 0) + (piece.width or 0) for piece in pieces) + job.kerf.rip + beside + stock.edge_trim
    long = max(piece.x + piece.length for piece in pieces) + job.kerf.crosscut + beside
    shortest, far = job.rules.shortest_rip or 0, stock.length - stock.end_trim
    ripped = [place for cut in cuts if cut.along for place in cut.places if place[1] >= far]
    long = max([long, *(place[0] + shortest for place in ripped if far - place[0] >= shortest)])
    held = [cut.setting for cut in cuts if cut.is_narrow]
    if held:
        wide = max(wide, (stock.width or 0) - min(held) + (job.rules.parent_wood or 0))
    return min(grid * wide, layout.width), min(grid * long, layout.length)


def is_trued_for_roundings(layout: NumberedLayout, batch: Batch) -> bool:
    """Whether the edges of a board are cut off only because they are rounded, so that less may be cut off each."""
    offer = next(offer for offer in layout.plan.job.offers if offer.id == layout.layout.stock)
    least = fact("saw.least_truing").length
    otherwise = batch.saw.edge_off(is_straight=offer.straight_edges, is_rounded=False)
    return offer.rounded_edges and otherwise * 2 <= least < layout.width - trued_width(layout)


def least_width_at_saw(layout: NumberedLayout, cuts: Sequence[SawCut], batch: Batch) -> Length:
    """The smallest width of a board for this layout when it is sawn, after it has dried at home.

    It is that of `least_size`, but where edges are trued because they are rounded, only the least truing is counted.
    """
    wide = least_size(layout, cuts)[0]
    if not is_trued_for_roundings(layout, batch):
        return wide
    return wide - (layout.width - trued_width(layout)) + fact("saw.least_truing").length


def trued_width(layout: NumberedLayout) -> Length:
    """The width of a board of this layout once both its edges are trued as planned."""
    edge = next(s.edge_trim for s in layout.plan.job.job.stock if s.id == layout.layout.stock)
    return layout.width - layout.plan.job.grid * edge * 2


def full_width(layout: NumberedLayout) -> list[LaidPiece]:
    """The pieces that are as wide as their board and need no rip."""
    return [piece for piece in layout.pieces if piece.y == ZERO and piece.width == layout.width]


def board_off(batch: Batch) -> Length:
    """How far a board's width can be off before a full-width part must be ripped: the given value or the default."""
    off = (
        fact("tolerance.board").length
        if batch.conditions.tolerances is None
        else dict(batch.conditions.tolerances.reach)[Work.BOARD]
    )
    return off if batch.unit == "in" else off.down_to(millimetre("1/10"))


def nearest(length: Length, unit: str) -> Length:
    """A length to be set or measured: in millimeters the nearest tenth, because nobody can set a finer one."""
    return (length + _FINEST / 2).down_to(_FINEST) if unit == "mm" else length


def at_least(length: Length, unit: str) -> Length:
    """A lower limit: in millimeters the next tenth above it, so that what is measured is never under the limit."""
    return length.up_to(_FINEST) if unit == "mm" else length


def at_most(length: Length, unit: str) -> Length:
    """An upper limit: in millimeters the next tenth below it."""
    return length.down_to(_FINEST) if unit == "mm" else length


def at_mark(length: Length, mark: Length, unit: str) -> str:
    """A setting on the tape: in inches, the nearest mark and "a hair less" or "more"; in millimeters, as `nearest`.

    >>> from woodshop.units.lengths import inch
    >>> at_mark(inch("3 5/32"), inch("1/16"), "in"), at_mark(inch("3 1/8"), inch("1/16"), "in")
    ('3 3/16, a hair less', '3 1/8')
    >>> at_mark(inch("3 9/64"), inch("1/16"), "in"), at_mark(inch("3 9/64"), inch("1/16"), "mm")
    ('3 1/8, a hair more', '79.8')
    """
    above, below = length.up_to(mark), length.down_to(mark)
    if unit == "mm" or above == length:
        return nearest(length, unit).number(unit)
    if above - length <= length - below:
        return f"{above.number(unit)}, a hair less"
    return f"{below.number(unit)}, a hair more"
