"""Marks on paper, in points. A drawing is arranged as such marks, which the PDF and SVG pens draw.

Marks are drawn in order. A mark filled with paper covers the marks below it.
"""

from dataclasses import KW_ONLY, dataclass
from functools import cached_property

from woodshop.drawing.values.style import CAP_HEIGHT, DESCENT, REGULAR, STRONG, width

Spot = tuple[float, float]
Segment = tuple[Spot, Spot]


@dataclass(frozen=True, slots=True)
class Box:
    """An axis-parallel rectangle on paper."""

    left: float
    bottom: float
    right: float
    top: float

    def grown(self, by: float) -> "Box":
        """The box with a border of this width."""
        return Box(self.left - by, self.bottom - by, self.right + by, self.top + by)

    def meets(self, other: "Box") -> bool:
        """Whether two boxes overlap."""
        return (
            self.left < other.right and other.left < self.right and self.bottom < other.top and other.bottom < self.top
        )

    def joined(self, other: "Box") -> "Box":
        """The bounding box of two boxes."""
        return Box(
            min(self.left, other.left),
            min(self.bottom, other.bottom),
            max(self.right, other.right),
            max(self.top, other.top),
        )

    def crossed_by(self, a: Spot, b: Spot) -> bool:
        """Whether the line from `a` to `b` passes through the inside of the box."""
        near, far = 0.0, 1.0
        for low, high, start, step in (
            (self.left, self.right, a[0], b[0] - a[0]),
            (self.bottom, self.top, a[1], b[1] - a[1]),
        ):
            if abs(step) < 1e-9:
                if not low < start < high:
                    return False
                continue
            first, last = sorted(((low - start) / step, (high - start) / step))
            near, far = max(near, first), min(far, last)
        return near < far


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points. If it is closed, it can be filled with one of `style.TONES` or `style.TINTS`."""

    points: tuple[Spot, ...]
    weight: float
    dash: tuple[float, ...] = ()
    closed: bool = False
    fill: str = ""

    def moved(self, x: float, y: float) -> "Stroke":
        """A copy of the mark at a new position."""
        points = tuple([(a + x, b + y) for a, b in self.points])
        return Stroke(points, self.weight, self.dash, self.closed, self.fill)


@dataclass(frozen=True, slots=True)
class Ring:
    """A circle."""

    x: float
    y: float
    radius: float
    _: KW_ONLY
    weight: float
    dash: tuple[float, ...] = ()
    fill: str = ""

    def moved(self, x: float, y: float) -> "Ring":
        """A copy of the mark at a new position."""
        return Ring(self.x + x, self.y + y, self.radius, weight=self.weight, dash=self.dash, fill=self.fill)


@dataclass(frozen=True)
class Word:
    """One line of text. Its baseline starts at (x, y). The text is rotated 90° to the left if `turn` is true."""

    text: str
    x: float
    y: float
    _: KW_ONLY
    size: float
    strong: bool = False
    turn: bool = False

    @property
    def font(self) -> str:
        """The name of the font."""
        return STRONG if self.strong else REGULAR

    @cached_property
    def width(self) -> float:
        """The length of the text along its baseline."""
        return width(self.text, self.size, self.font)

    @property
    def box(self) -> Box:
        """The box around the glyphs."""
        up, down = self.size * (CAP_HEIGHT + 0.1), self.size * DESCENT
        if self.turn:
            return Box(self.x - up, self.y, self.x + down, self.y + self.width)
        return Box(self.x, self.y - down, self.x + self.width, self.y + up)

    def moved(self, x: float, y: float) -> "Word":
        """A copy of the mark at a new position."""
        return Word(self.text, self.x + x, self.y + y, size=self.size, strong=self.strong, turn=self.turn)


Mark = Stroke | Ring | Word


def centred(text: str, x: float, y: float, size: float, strong: bool = False, turn: bool = False) -> Word:
    """A line of text of this `size`, its box centered on (x, y). `strong` makes it bold; `turn` rotates it."""
    word = Word(text, 0.0, 0.0, size=size, strong=strong, turn=turn)
    box = word.box
    return word.moved(x - (box.left + box.right) / 2, y - (box.bottom + box.top) / 2)


def mark_box(mark: Mark) -> Box:
    """The bounding box of a mark."""
    if isinstance(mark, Word):
        return mark.box
    if isinstance(mark, Ring):
        r = mark.radius + mark.weight / 2
        return Box(mark.x - r, mark.y - r, mark.x + r, mark.y + r)
    xs, ys, more = [p[0] for p in mark.points], [p[1] for p in mark.points], mark.weight / 2
    return Box(min(xs) - more, min(ys) - more, max(xs) + more, max(ys) + more)


@dataclass(frozen=True, slots=True)
class Sheet:
    """Arranged marks and their bounding box. `crowded` is true if no free place was found for some mark."""

    marks: tuple[Mark, ...]
    box: Box
    crowded: bool = False

    @property
    def size(self) -> Spot:
        """The width and height of the sheet."""
        return self.box.right - self.box.left, self.box.top - self.box.bottom

    def moved(self, x: float, y: float) -> "Sheet":
        """A copy of the sheet at a new position."""
        b = self.box
        box = Box(b.left + x, b.bottom + y, b.right + x, b.top + y)
        return Sheet(tuple(mark.moved(x, y) for mark in self.marks), box, self.crowded)


def sheet_of(marks: list[Mark]) -> Sheet:
    """A sheet just large enough for the marks."""
    boxes = [mark_box(mark) for mark in marks]
    if not boxes:
        return Sheet((), Box(0.0, 0.0, 0.0, 0.0))
    whole = Box(
        min([box.left for box in boxes]),
        min([box.bottom for box in boxes]),
        max([box.right for box in boxes]),
        max([box.top for box in boxes]),
    )
    return Sheet(tuple(marks), whole)
