"""What a cutting page says ahead of its cuts: the kerf it is planned with, and what to measure of each board."""

from collections.abc import Sequence

from woodshop.batch.values import Batch
from woodshop.cutting.job_sequence import STOP
from woodshop.cutting.sequence import SawCut
from woodshop.documents.layouts import LaidPiece, NumberedLayout
from woodshop.drawing.model import Block, Paragraph
from woodshop.hive.sizes import Work
from woodshop.reference.facts import fact
from woodshop.units import ZERO, Length, millimetre

_BLANK = "________"


def kerf_words(layout: NumberedLayout, unit: str) -> str:
    """The kerf of the layout's job: one figure, or one for rips and one for crosscuts."""
    job = layout.plan.job
    rip, crosscut = (job.grid * kerf for kerf in (job.job.kerf.rip, job.job.kerf.crosscut))
    if rip == crosscut:
        return f"{rip.text(unit)} for every cut"
    return f"{rip.text(unit)} for a rip, {crosscut.text(unit)} for a crosscut"


def measure_first(layout: NumberedLayout, cuts: Sequence[SawCut], batch: Batch) -> list[Block]:
    """Kerf, blanks for the sizes measured, and what to do with a board out of limits; nothing for what is snipped."""
    if not layout.is_sawn:
        return []
    unit = batch.unit
    kerf = Paragraph(f"{kerf_words(layout, unit)}. Another blade: measure its kerf and plan again.", lead="Kerf:")
    wide, long = least_size(layout, cuts)
    asked = [f"length {_BLANK} (this layout needs {long.text(unit)})"]
    full = full_width(layout)
    if full or any(cut.along for cut in cuts):
        asked.insert(0, f"width {_BLANK} (sold as {layout.width.text(unit)}, this layout needs {wide.text(unit)})")
    words = [f"{', '.join(asked)}. Too small: use another board."]
    if layout.times > 1:
        words[0] = f"the smallest of all {layout.times}: {words[0]}"
    if full:
        off = _limit(batch)
        marks = ", ".join(dict.fromkeys(piece.mark for piece in full))
        words.append(
            f"{marks}: as wide as the board, not ripped, {layout.width.text(unit)} within {off.text(unit)}. Wider: "
            f"rip to {layout.width.text(unit)}. Narrower: use another board."
        )
    if any(cut.is_narrow for cut in cuts) and batch.saw.thin_rip != STOP:
        words.append(
            f"Narrow rips: the widths left are for a board of {layout.width.text(unit)}. Add what yours is wider, take "
            "off what it is narrower."
        )
    return [kerf, Paragraph(" ".join(words), lead="Measure first:")]


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
    off = fact("tolerance.board").length if batch.strays is None else dict(batch.strays.reach)[Work.BOARD]
    return off if batch.unit == "in" else off.down_to(millimetre("1/10"))
