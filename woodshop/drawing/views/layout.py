"""Draws a board or sheet with its cuts: pieces with numbers and names, hatched waste, and marked offcuts to keep.

It takes plain lengths and does not depend on a plan or a job.
"""

from collections.abc import Sequence
from dataclasses import KW_ONLY, dataclass
from fractions import Fraction

from woodshop.drawing.values.model import Dimension, Drawing, Fill, Label, Line, Point, Region, Side, View
from woodshop.drawing.values.model import Kind as LineKind
from woodshop.drawing.values.style import POINTS_PER_MM, SCALES
from woodshop.units.lengths import ZERO, Length

_ROOM = 470.0  # points of paper width for the board, next to its dimension
_LEAST_STRIP = 16.0  # points: the height of a line of type in a piece
_MOST_HEIGHT = 150.0
_MOST_STRETCH = 2  # with more, the picture would no longer look like the board
_LONGEST_MARK = 4  # characters


@dataclass(frozen=True, slots=True)
class Rect:
    """An upright rectangle on a board: x along its length from the left end, y across it from the lower edge.

    If a piece lies across the board (`turned`), its label still gives its own length first. `fill` is the shade of gray
    for its kind of piece, or BARE.
    """

    x: Length
    y: Length
    length: Length
    width: Length
    label: str = ""
    _: KW_ONLY
    turned: bool = False
    fill: Fill = Fill.BARE

    @property
    def size(self) -> tuple[Length, Length]:
        """The piece's own length and width."""
        return (self.width, self.length) if self.turned else (self.length, self.width)

    @property
    def corners(self) -> tuple[Point, Point, Point, Point]:
        """The corners, counterclockwise from the lower left one."""
        x, y = self.x + self.length, self.y + self.width
        return (self.x, self.y), (x, self.y), (x, y), (self.x, y)


def layout_drawing(
    title: str,
    length: Length,
    width: Length,
    *,
    pieces: Sequence[Rect],
    waste: Sequence[Rect] = (),
    kept: Sequence[Rect] = (),
    bad: Sequence[Rect] = (),
    address: str = "",
    unit: str = "in",
    cell: Length | None = None,
) -> Drawing:
    """The drawing of one layout. Its notes list the label and size that each number in the view stands for.

    `bad` is crossed out. If `cell` is given, the pieces are mesh, and their sizes are in cells of this length. `title`,
    `address` and `unit` apply to the whole drawing.
    """
    view = layout_view(length, width, pieces, waste=waste, kept=kept, bad=bad, unit=unit, cell=cell)
    counts: dict[tuple[str, Length, Length], int] = {}
    for piece in pieces:
        key = (piece.label, *piece.size)
        counts[key] = counts.get(key, 0) + 1
    marks = _marks(pieces)
    notes = []
    for (label, long, wide), count in counts.items():
        mark = marks[label, long, wide]
        size = f"{long.number(unit)} x {wide.text(unit)}" if cell is None else _in_cells(long, wide, cell)
        names = (f"{mark}:", f"{label}," if label != mark else "", f"{size},")
        notes.append(" ".join((*filter(None, names), f"{count} of them")))
    for rest in dict.fromkeys((rest.label, rest.length, rest.width) for rest in kept):
        word = f"keep {rest[0]}".strip()
        notes.append(f"{word}: {rest[1].number(unit)} x {rest[2].text(unit)}")
    notes += [f"bad from {rect.x.number(unit)} to {(rect.x + rect.length).text(unit)}" for rect in bad]
    return Drawing(title, address, (view,), tuple(notes), unit=unit)


def layout_view(
    length: Length,
    width: Length,
    pieces: Sequence[Rect],
    *,
    waste: Sequence[Rect] = (),
    kept: Sequence[Rect] = (),
    bad: Sequence[Rect] = (),
    unit: str = "in",
    cell: Length | None = None,
) -> View:
    """One board or sheet with its pieces. Each distinct piece has one mark: its short label, or a number.

    A narrow board is drawn at twice its width to scale, and the view's `stretch` says so. The dimensions state the true
    length and width, in `unit`. Raises ValueError if a rectangle is not on the board.
    """
    for rect in (*pieces, *waste, *kept, *bad):
        inside = rect.x >= ZERO and rect.x + rect.length <= length and rect.y >= ZERO and rect.y + rect.width <= width
        if not inside or rect.length <= ZERO or rect.width <= ZERO:
            raise ValueError(f"{rect.label or 'a rectangle'} does not lie on the board {length} x {width}")
    marks = _marks(pieces)
    board = Rect(ZERO, ZERO, length, width)
    lines = [Line(board.corners, LineKind.OUTLINE, closed=True)]
    lines += [Line(rect.corners, LineKind.THIN, closed=True) for rect in (*pieces, *bad)]
    lines += [Line(rect.corners, LineKind.OUTLINE, closed=True) for rect in kept]
    lines += [Line(ends, LineKind.THIN) for rect in bad for ends in (rect.corners[::2], rect.corners[1::2])]
    regions = [Region(rect.corners, Fill.HATCH) for rect in waste]
    regions += [Region(piece.corners, piece.fill) for piece in pieces if piece.fill is not Fill.BARE]
    labels = [_label(piece, marks[piece.label, *piece.size], unit, cell) for piece in pieces]
    labels += [_kept_label(rect, unit) for rect in kept]
    labels += [Label("bad", _middle(rect), strong=True, within=(rect.corners[0], rect.corners[2])) for rect in bad]
    low, long, high = board.corners[0], board.corners[1], board.corners[3]
    dimensions = [Dimension(low, long, Side.BELOW), Dimension(low, high, Side.LEFT)]
    dimensions += [Dimension(low, (x, ZERO), Side.BELOW) for rect in bad for x, _ in rect.corners[:2] if x > ZERO]
    return View(
        name="",
        lines=tuple(lines),
        regions=(*regions, *(Region(rect.corners, Fill.BARE) for rect in (*kept, *bad))),
        dimensions=tuple(dimensions),
        labels=tuple(labels),
        stretch=_stretch(length, width, [rect.width for rect in (*pieces, *kept)], unit),
    )


def _marks(pieces: Sequence[Rect]) -> dict[tuple[str, Length, Length], str]:
    """The text in each piece: its label if all labels are short, otherwise a number, in order of first appearance."""
    kinds = tuple(dict.fromkeys((piece.label, *piece.size) for piece in pieces))
    parts = {(label, max(size), min(size)) for label, *size in kinds}  # in either orientation it is the same part
    labels = [label for label, _, _ in parts]
    if all(0 < len(label) <= _LONGEST_MARK for label in labels) and len(set(labels)) == len(labels):
        return {kind: kind[0] for kind in kinds}
    return {kind: str(i) for i, kind in enumerate(kinds, 1)}


def _kept_label(rect: Rect, unit: str) -> Label:
    """The label of a kept offcut: its number and size. A leader, if needed, avoids the leaders to the pieces."""
    size = f"{rect.length.number(unit)} x {rect.width.number(unit)}"
    word = f"keep {rect.label}".strip()
    spot = (rect.x + rect.length * Fraction(2, 3), rect.y + rect.width / 2)
    return Label(f"{word}: {size}", spot, strong=True, within=(rect.corners[0], rect.corners[2]), shorter=(word,))


def _in_cells(long: Length, wide: Length, cell: Length) -> str:
    return f"{long.mm / cell.mm} x {wide.mm / cell.mm} cells"


def _middle(rect: Rect) -> Point:
    return rect.x + rect.length / 2, rect.y + rect.width / 2


def _label(rect: Rect, mark: str, unit: str, cell: Length | None) -> Label:
    """The label of a piece: as much of its mark, name and size as its rectangle has space for."""
    low, high = rect.corners[0], rect.corners[2]
    long, wide = rect.size
    size = f"{long.number(unit)} x {wide.number(unit)}"
    if cell is not None:
        size = _in_cells(long, wide, cell)
    short = [f"{mark}: {long.number(unit)}"] if cell is None else [f"{mark}: {size.removesuffix(' cells')}"]
    words = [f"{mark}: {size}", *short, mark]
    if rect.label not in ("", mark):
        words[:0] = [f"{mark}: {rect.label}, {size}", f"{mark}: {rect.label}"]
    return Label(words[0], _middle(rect), within=(low, high), shorter=tuple(words[1:]))


def _stretch(length: Length, width: Length, strips: Sequence[Length], unit: str) -> Fraction:
    """The factor by which the width is stretched, at the largest standard scale that fits a page."""
    scale = next((s for s in SCALES[unit] if s <= 1 and length.mm * s * POINTS_PER_MM <= _ROOM), SCALES[unit][-1])
    return stretch_at(scale, length, width, strips)


def stretch_at(scale: Fraction, length: Length, width: Length, strips: Sequence[Length]) -> Fraction:
    """The factor that stretches the width at a scale: 2 for a long board if text does not fit in a strip, else 1."""
    points = [strip.mm * scale * POINTS_PER_MM for strip in strips]
    is_low = width * 4 <= length and width.mm * scale * POINTS_PER_MM * _MOST_STRETCH <= _MOST_HEIGHT
    return Fraction(_MOST_STRETCH if is_low and min(points, default=_LEAST_STRIP) < _LEAST_STRIP else 1)
