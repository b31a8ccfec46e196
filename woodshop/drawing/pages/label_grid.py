"""Labels on a grid of a page: where each stands, and text set into it, never smaller than is fit to read."""

from collections.abc import Iterator, Sequence
from dataclasses import KW_ONLY, dataclass, replace

from woodshop.drawing.pages.plates import Plate, page_size, points
from woodshop.drawing.values.fonts import REGULAR, STRONG, width, wrapped
from woodshop.drawing.values.paper import Box, Mark, Stroke, Word
from woodshop.drawing.values.style import STYLE
from woodshop.units.lengths import ZERO, Length, inch, millimetre

_SAFE = points(millimetre("6.5"))  # no text stands nearer to the paper's edge
_PAD = 5.0
_SHRINK = 0.05  # by which all sizes are tried smaller
_FOOT = STYLE.least + 7.0


@dataclass(frozen=True, slots=True)
class LabelGrid:
    """Like labels in columns and rows; `left` and `top` are the margins of the page before the first of them."""

    width: Length
    height: Length
    _: KW_ONLY
    columns: int
    rows: int
    left: Length
    top: Length
    column_gap: Length = ZERO
    row_gap: Length = ZERO

    @property
    def size(self) -> tuple[Length, Length]:
        """Width and height of all labels together."""
        return (
            self.width * self.columns + self.column_gap * (self.columns - 1),
            self.height * self.rows + self.row_gap * (self.rows - 1),
        )

    def boxes(self, paper: str) -> Iterator[Box]:
        """The labels of one page, row by row from the top, in points."""
        _, page = page_size(paper)
        for row in range(self.rows):
            top = page - points(self.top + (self.height + self.row_gap) * row)
            for column in range(self.columns):
                left = points(self.left + (self.width + self.column_gap) * column)
                yield Box(left, top - points(self.height), left + points(self.width), top)


PAPER_SIZES: dict[str, tuple[Length, Length]] = {
    "letter": (inch("8 1/2"), inch(11)),
    "a4": (millimetre(210), millimetre(297)),
}
_LABEL: dict[str, tuple[Length, Length]] = {
    "letter": (inch("2 1/2"), inch("1 1/4")),
    "a4": (millimetre(62), millimetre(33)),
}
COLUMNS, ROWS = 3, 8


def label_grid(
    paper: str,
    *,
    width: Length | None = None,
    height: Length | None = None,
    columns: int | None = None,
    rows: int | None = None,
    left: Length | None = None,
    top: Length | None = None,
    column_gap: Length = ZERO,
    row_gap: Length = ZERO,
) -> LabelGrid:
    """A grid for "letter" or "a4" paper; what is not given is that of a plain grid of our own, centred on the page."""
    wide, high = width or _LABEL[paper][0], height or _LABEL[paper][1]
    grid = LabelGrid(
        wide,
        high,
        columns=columns or COLUMNS,
        rows=rows or ROWS,
        left=ZERO,
        top=ZERO,
        column_gap=column_gap,
        row_gap=row_gap,
    )
    margins = [(page - all_of) / 2 for page, all_of in zip(PAPER_SIZES[paper], grid.size, strict=True)]
    at = (left if left is not None else max(margins[0], ZERO), top if top is not None else max(margins[1], ZERO))
    return replace(grid, left=at[0], top=at[1])


@dataclass(frozen=True, slots=True)
class LabelLine:
    """A line of a label: its text and the size that it is set in where there is room."""

    text: str
    size: float = 10.0
    strong: bool = False


def set_text(lines: Sequence[LabelLine], wide: float, high: float) -> list[Word] | None:
    """Lines in a rectangle of that size, from its upper left corner (0, 0) downwards; None where they do not fit.

    A line that is too long is set smaller, down to the least size, then broken; if all together are too high, all are
    set smaller, down to the least size.
    """
    if wide <= 0 or high <= 0:
        return None
    scale = 1.0
    while True:
        placed: list[tuple[str, float, bool]] = []
        for line in lines:
            font = STRONG if line.strong else REGULAR
            size = max(STYLE.least, round(line.size * scale, 1))
            text = " ".join(wrapped(line.text, size, 1e9, font))
            while size > STYLE.least and width(text, size, font) > wide:
                size = max(STYLE.least, round(size - 0.5, 1))
            placed += [(part, size, line.strong) for part in wrapped(text, size, wide, font)]
        tall = sum(size * STYLE.leading for _, size, _ in placed)
        if tall <= high and all(
            Word(t, 0.0, 0.0, size=size, strong=strong).width <= wide + 0.01 for t, size, strong in placed
        ):
            break
        if all(line.size * scale <= STYLE.least for line in lines):
            return None
        scale -= _SHRINK
    words = []
    down = (high - tall) / 2
    for text, size, strong in placed:
        down += size * STYLE.leading
        words.append(Word(text, 0.0, size * (STYLE.leading - 0.95) - down, size=size, strong=strong))
    return words


def text_room(box: Box, paper: str) -> Box:
    """Where text may stand in a label: within its border, and off the edge of the paper."""
    wide, high = page_size(paper)
    inner = box.grown(-_PAD)
    return Box(
        max(inner.left, _SAFE), max(inner.bottom, _SAFE), min(inner.right, wide - _SAFE), min(inner.top, high - _SAFE)
    )


def label_plates(
    texts: Sequence[Sequence[LabelLine]], grid: LabelGrid, paper: str, *, frame: bool, entry: str
) -> tuple[list[Plate], list[int]]:
    """Pages of labels in their order, and which of them (from 0) do not fit; `frame` draws each label's outline."""
    boxes = list(grid.boxes(paper))
    plates: list[Plate] = []
    too_large: list[int] = []
    for first in range(0, len(texts), len(boxes)):
        marks: list[Mark] = []
        for n, box in enumerate(boxes[: len(texts) - first], first):
            room = text_room(box, paper)
            words = set_text(texts[n], room.right - room.left, room.top - room.bottom)
            if words is None:
                too_large.append(n)
                continue
            marks += [word.moved(room.left, room.top) for word in words]
            if frame:
                corners = ((box.left, box.bottom), (box.right, box.bottom), (box.right, box.top), (box.left, box.top))
                marks.append(Stroke(corners, STYLE.thin, closed=True))
        plates.append(Plate(page_size(paper), tuple(marks), () if first else (entry,)))
    return plates, too_large


def labels_footed(plates: Sequence[Plate], grid: LabelGrid, paper: str, note: str) -> list[Plate]:
    """Each page with its number and a note in the margin below the labels, or above them; without, where neither is."""
    (wide, high), boxes = page_size(paper), list(grid.boxes(paper))
    below, above = boxes[-1].bottom, high - boxes[0].top
    base = _SAFE + 2.0 if below >= _SAFE + _FOOT else high - _SAFE - STYLE.least if above >= _SAFE + _FOOT else None
    done = []
    for n, plate in enumerate(plates, 1):
        size, left, right = STYLE.least, max(_SAFE, boxes[0].left), min(wide - _SAFE, boxes[grid.columns - 1].right)
        place = f"page {n} of {len(plates)}"
        long = width(place, size, STRONG)
        if base is None or right - left < long:
            done.append(plate)
            continue
        marks: tuple[Mark, ...] = (Word(place, right - long, base, size=size, strong=True),)
        fits = [text for text in (note, note.split(";")[0]) if width(text, size) <= right - left - long - 12.0]
        if fits:
            marks += (Word(fits[0], left, base, size=size),)
        done.append(Plate(plate.size, plate.marks + marks, plate.entries))
    return done
