"""What a cutting page says ahead of its cuts: the kerf it is planned with, and what to measure of each board."""

from collections.abc import Sequence

from woodshop.cutting.order.job_sequence import STOP
from woodshop.cutting.order.sequence import SawCut, saw_cuts
from woodshop.design.batch import Batch
from woodshop.documents.packet.layouts import LaidPiece, NumberedLayout, numbered_layouts
from woodshop.drawing.values.model import Block, Paragraph
from woodshop.hive.variation.sizes import Work
from woodshop.plan.values import PlannedBatch
from woodshop.reference.facts import fact
from woodshop.units.lengths import ZERO, Length, millimetre

_BLANK = "________"
_SPARE = 3  # cells: with fewer beyond those that are taken, a roll cut a little short does not do


def kerf_words(layout: NumberedLayout, unit: str) -> str:
    """The kerf of the layout's job: one figure, or one for rips and one for crosscuts."""
    job = layout.plan.job
    rip, crosscut = (job.grid * kerf for kerf in (job.job.kerf.rip, job.job.kerf.crosscut))
    if rip == crosscut:
        return f"{rip.text(unit)} for every cut"
    return f"{rip.text(unit)} for a rip, {crosscut.text(unit)} for a crosscut"


def measure_first(layout: NumberedLayout, cuts: Sequence[SawCut], batch: Batch) -> list[Block]:
    """Kerf, blanks for the sizes measured, what to do with a board out of limits; of mesh, the cells to count."""
    if not layout.is_sawn:
        return _count_first(layout)
    unit = batch.unit
    blade = f"{kerf_words(layout, unit)}. A thinner blade is fine; a thicker one: measure its kerf and plan again."
    kerf = Paragraph(blade, lead="Kerf:")
    wide, long = least_size(layout, cuts)
    asked = []
    full = full_width(layout)
    if full:
        marks = ", ".join(dict.fromkeys(piece.mark for piece in full))
        asked.append(f"width {_BLANK} ({limits_of(layout.width, batch)}: {marks} as wide as the board)")
    elif any(cut.along for cut in cuts):
        asked.append(f"width {_BLANK} (sold as {layout.width.text(unit)}, {wide.text(unit)} or more)")
    thick = thickness_of(layout)
    if thick is not None:
        asked.append(f"thickness {_BLANK} ({limits_of(thick, batch)})")
    asked.append(f"length {_BLANK} ({long.text(unit)} or more)")
    words = [f"{', '.join(asked)}. Out of these limits: use another board."]
    if layout.times > 1:
        words[0] = f"the smallest of all {layout.times}: {words[0]}"
    if full:
        words.append(f"Wider than its limit: rip it to {layout.width.text(unit)}.")
    if any(cut.is_narrow for cut in cuts) and batch.saw.thin_rip != STOP:
        words.append(
            f"Narrow rips: the widths left are for a board of {layout.width.text(unit)}. Add what yours is wider, take "
            "off what it is narrower."
        )
    return [kerf, Paragraph(" ".join(words), lead="Measure first:")]


def _count_first(layout: NumberedLayout) -> list[Block]:
    """For mesh whose layout takes almost each cell of its width or length: count them before anything is snipped."""
    if layout.material.mesh is None:
        return []
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
        return []
    text = f"{' and '.join(words)} or more. The layout takes that many. Fewer: use another {layout.raw}."
    return [Paragraph(text, lead="Count first:")]


def limits_of(size: Length, batch: Batch) -> str:
    """From what to what width or thickness a board may be."""
    off = _limit(batch)
    return f"{(size - off).number(batch.unit)} to {(size + off).text(batch.unit)}"


def thickness_of(layout: NumberedLayout) -> Length | None:
    """How thick a board is; None for what has its name from it or none."""
    if not layout.material.is_lumber or layout.material.is_ready_strip:
        return None
    return next(offer.thickness for offer in layout.plan.job.offers if offer.id == layout.layout.stock)


def widths_to_buy(planned: PlannedBatch) -> list[Block]:
    """What to measure at the lumberyard: boards that must be just as wide as sold, and which may be narrower."""
    unit = planned.batch.unit
    kinds: dict[tuple[str, Length], list[NumberedLayout]] = {}
    for layout in numbered_layouts(planned):
        if layout.is_sawn and not layout.is_rack and layout.material.is_lumber:
            kinds.setdefault((layout.what.partition(",")[0], layout.width), []).append(layout)
    lines = []
    for (what, width), layouts in kinds.items():
        if not any(map(full_width, layouts)):
            continue
        line = f"{what} must be {limits_of(width, planned.batch)} wide"
        others = [layout for layout in layouts if not full_width(layout)]
        if others:
            least = {lay.name: least_size(lay, saw_cuts(lay.plan.job.job, lay.layout))[0] for lay in others}
            line += ", but for " + ", ".join(f"{name}, {wide.text(unit)} or more" for name, wide in least.items())
        lines.append(f"{line}: parts are as wide as the board.")
    if not lines:
        return []
    return [Paragraph(" ".join(lines), lead="Take a tape along:")]


def least_size(layout: NumberedLayout, cuts: Sequence[SawCut]) -> tuple[Length, Length]:
    """The least true width and length of a board that this layout can be cut from, with all its cuts and trims.

    Beside the last rip and past the last crosscut a kerf and what must fall away remain; beside the last narrow rip
    what is kept between blade and fence. `cuts` are those of the layout.
    """
    job, stock = layout.plan.job.job, next(s for s in layout.plan.job.job.stock if s.id == layout.layout.stock)
    beside = job.rules.least_remainder or 0
    grid = layout.plan.job.grid
    pieces = layout.layout.pieces
    wide = max((piece.y or 0) + (piece.width or 0) for piece in pieces) + job.kerf.rip + beside + stock.edge_trim
    long = max(piece.x + piece.length for piece in pieces) + job.kerf.crosscut + beside
    held = [cut.setting for cut in cuts if cut.is_narrow]
    if held:
        wide = max(wide, (stock.width or 0) - min(held) + (job.rules.parent_wood or 0))
    return min(grid * wide, layout.width), min(grid * long, layout.length)


def full_width(layout: NumberedLayout) -> list[LaidPiece]:
    """The pieces that are as wide as their board, so that no rip sets their width."""
    return [piece for piece in layout.pieces if piece.y == ZERO and piece.width == layout.width]


def _limit(batch: Batch) -> Length:
    """How far a board may be from its width before a part as wide as it is ripped: the design's, else the table's."""
    off = (
        fact("tolerance.board").length
        if batch.conditions.tolerances is None
        else dict(batch.conditions.tolerances.reach)[Work.BOARD]
    )
    return off if batch.unit == "in" else off.down_to(millimetre("1/10"))
