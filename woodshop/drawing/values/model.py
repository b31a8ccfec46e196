"""The frozen values for drawings and text, which do not depend on pens, paper or scale.

A view has real-size geometry in exact lengths, x to the right and y up. The pens decide every size on paper, such as
the size of text or the distance of a dimension from its outline.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, is_dataclass, replace
from datetime import date
from enum import StrEnum
from fractions import Fraction
from typing import Any

from woodshop.drawing.values.paper import Sheet
from woodshop.findings import Severity
from woodshop.units.lengths import ZERO, Length, Money

Point = tuple[Length, Length]


class Kind(StrEnum):
    """The meaning of a line. A POCKET line bounds a blind cut and appears only in the machine file.

    A REFERENCE line is the end or edge from which a part is marked out.
    """

    OUTLINE = "outline"
    HIDDEN = "hidden"
    CENTRE = "centre"
    CUT = "cut"
    THIN = "thin"
    POCKET = "pocket"
    FOLD = "fold"
    REFERENCE = "reference"


class Fill(StrEnum):
    """How an area is filled. Waste is hatched, identical pieces share a shade of gray, and PAPER hides marks below it.

    A BARE area has no fill, but text in it gets a white background, like text on hatching.
    """

    HATCH = "hatch"
    CROSS = "cross"
    PAPER = "paper"
    LIGHT = "light"
    MIDDLE = "middle"
    DARK = "dark"
    BARE = "bare"


class Side(StrEnum):
    """The side of the view on which a dimension is placed."""

    ABOVE = "above"
    BELOW = "below"
    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True, slots=True)
class Line:
    """A line through points, closed if it bounds an area. `depth` is the depth of the cut, for the machine file."""

    points: tuple[Point, ...]
    kind: Kind = Kind.OUTLINE
    closed: bool = False
    depth: Length | None = None


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle by its center and diameter. `through` marks a hole; `depth` belongs to a pocket."""

    centre: Point
    diameter: Length
    kind: Kind = Kind.OUTLINE
    depth: Length | None = None
    through: bool = False


@dataclass(frozen=True, slots=True)
class Region:
    """A filled area, bounded by a closed outline."""

    outline: tuple[Point, ...]
    fill: Fill = Fill.HATCH


@dataclass(frozen=True, slots=True)
class Dimension:
    """A distance between two points, along x (side above or below) or along y (side left or right).

    A `letter`, if given, is printed instead of the distance; a table next to the drawing lists the sizes.
    """

    start: Point
    end: Point
    side: Side
    prefix: str = ""
    note: str = ""
    letter: str = ""

    @property
    def axis(self) -> int:
        """0 if the dimension measures along x, 1 if along y."""
        return 0 if self.side in (Side.ABOVE, Side.BELOW) else 1

    @property
    def length(self) -> Length:
        """The distance between the two points."""
        return abs(self.end[self.axis] - self.start[self.axis])

    def text(self, unit: str = "in") -> str:
        """The text at the dimension line."""
        return self.letter or " ".join(word for word in (self.prefix, self.length.number(unit), self.note) if word)


@dataclass(frozen=True, slots=True)
class Label:
    """Text in the view or next to it.

    Without `target` it is centered at `at` (rotated to read from the right if `turn` is set); with `target` it is a
    callout with a leader, and the pens find a free place for it near `at`. If `within` is a rectangle, the first of
    `text` and `shorter` that fits is placed in it, horizontal or rotated; if none fits, the last one gets a leader.
    """

    text: str
    at: Point
    target: Point | None = None
    strong: bool = False
    turn: bool = False
    within: tuple[Point, Point] | None = None
    shorter: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Arrow:
    """The direction of the grain: a double arrow about as long as from `start` to `end`, where the view has space."""

    text: str
    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class Balloon:
    """A number in a circle, with a line to a part of a pictorial view."""

    number: int
    target: Point


@dataclass(frozen=True, slots=True)
class View:
    """One view, with its place and its distortion on paper.

    `cell` is its place (column, row from the bottom) among the views of a drawing: views in one column share x, views
    in one row share y. `stretch` multiplies only y on paper (for a long thin board), `enlarged` multiplies both x and y
    (for a small profile); dimensions still state the true length.
    """

    name: str
    lines: tuple[Line, ...] = ()
    circles: tuple[Circle, ...] = ()
    regions: tuple[Region, ...] = ()
    dimensions: tuple[Dimension, ...] = ()
    labels: tuple[Label, ...] = ()
    arrows: tuple[Arrow, ...] = ()
    balloons: tuple[Balloon, ...] = ()
    cell: tuple[int, int] = (0, 0)
    stretch: Fraction = Fraction(1)
    enlarged: int = 1  # up to 4

    @property
    def bounds(self) -> tuple[Point, Point]:
        """The lower left and the upper right corner of the view's geometry."""
        points = [p for line in self.lines for p in line.points]
        points += [p for region in self.regions for p in region.outline]
        for circle in self.circles:
            r, (x, y) = circle.diameter / 2, circle.centre
            points += [(x - r, y - r), (x + r, y + r)]
        if not points:
            return (ZERO, ZERO), (ZERO, ZERO)
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        return (min(xs), min(ys)), (max(xs), max(ys))


@dataclass(frozen=True, slots=True)
class Drawing:
    """Views of one object, with its address, its notes, and the fields of its title block as (name, value)."""

    title: str
    address: str
    views: tuple[View, ...]
    notes: tuple[str, ...] = ()
    fields: tuple[tuple[str, str], ...] = ()
    unit: str = "in"


class Align(StrEnum):
    """The alignment of a column: text on the left, numbers on the right."""

    LEFT = "left"
    RIGHT = "right"
    CENTRE = "centre"


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading of level 1 to 3, which becomes an entry in the PDF's outline. Links in tables can use `anchor`."""

    text: str
    level: int = 1
    anchor: str = ""

    def __post_init__(self) -> None:
        if self.level not in (1, 2, 3):
            raise ValueError(f"heading {self.text!r}: level {self.level}; wanted 1, 2 or 3")


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text. `lead` is printed first, in bold; `small` is for sources and notes; links can go to `anchor`."""

    text: str
    lead: str = ""
    small: bool = False
    anchor: str = ""


@dataclass(frozen=True, slots=True)
class Bullets:
    """An unordered list."""

    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Steps:
    """Numbered steps, each with a tick box."""

    items: tuple[str, ...]
    first: int = 1


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning of injury, in a heavy frame with a triangle."""

    text: str
    title: str = "Caution"


@dataclass(frozen=True, slots=True)
class Picture:
    """Marks already arranged on paper, for a table cell. `text` describes them."""

    sheet: Sheet
    text: str


Plain = str | int | Money | date | tuple[str, ...] | None
Cell = Plain | Picture
Data = Mapping[str, "Datum"]
Datum = str | int | float | Money | date | Sequence["Datum"] | Data | None


def cell_text(cell: Cell) -> str:
    """A cell as text. Several strings are joined by commas; None is a dash."""
    if isinstance(cell, tuple):
        return ", ".join(cell)
    if isinstance(cell, Picture):
        return cell.text
    return "-" if cell is None else str(cell)


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table. `weight` sets its share of the width; `cut_size` uses the large type for sizes to cut.

    `key` is its name in the table's records; a column that is not `shown` appears only in the records.
    """

    heading: str
    align: Align = Align.LEFT
    weight: int = 1
    cut_size: bool = False
    key: str = ""
    shown: bool = True


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of cells under columns. `strong` lists the rows (counted from 0) in bold.

    A table breaks across pages between rows and repeats its headings. A cell "[ ]" is a tick box; line breaks in a cell
    are kept. `small` uses the type for sources and notes. `links` are (row, column, anchor); the cell leads to the
    anchor if the document has it. `anchors` are (row, anchor). `continued` is the name of the list, which is repeated
    on the next page.
    """

    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    strong: tuple[int, ...] = ()
    small: bool = False
    links: tuple[tuple[int, int, str], ...] = ()
    anchors: tuple[tuple[int, str], ...] = ()
    continued: str = ""

    def __post_init__(self) -> None:
        for i, row in enumerate(self.rows):
            if len(row) != len(self.columns):
                raise ValueError(f"table row {i} has {len(row)} cells for {len(self.columns)} columns")

    @property
    def text_rows(self) -> tuple[tuple[str, ...], ...]:
        """The rows as text, without hidden columns."""
        return tuple(tuple(map(cell_text, row)) for row in self.shown_rows)

    @property
    def shown_rows(self) -> tuple[tuple[Cell, ...], ...]:
        """The rows without the cells of hidden columns."""
        return tuple(
            tuple(cell for cell, column in zip(row, self.columns, strict=True) if column.shown) for row in self.rows
        )

    @property
    def shown_columns(self) -> tuple[Column, ...]:
        """The columns that are shown, in the order of `text_rows`."""
        return tuple(column for column in self.columns if column.shown)

    @property
    def records(self) -> tuple[dict[str, Plain], ...]:
        """Each row as JSON: the cell of each column that has a key, under that key. A picture is given as its text."""
        return tuple(
            {
                column.key: cell.text if isinstance(cell, Picture) else cell
                for column, cell in zip(self.columns, row, strict=True)
                if column.key
            }
            for row in self.rows
        )


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing in the text, at the largest standard scale that fits in `most_height` (by default half a page).

    If `free_scale` is true, any scale is allowed, so that the drawing fills its space, because nobody measures from it.
    """

    drawing: Drawing
    caption: str = ""
    most_height: Length | None = None
    say_scale: bool = True
    free_scale: bool = False


@dataclass(frozen=True, slots=True)
class SetOut:
    """Marks already arranged on paper, no wider than a page between its margins. Links to `anchors` lead to them."""

    sheet: Sheet
    caption: str = ""
    anchors: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class KeyFigures:
    """A row of important numbers, as (meaning, value)."""

    figures: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class KeyValues:
    """Names with their values, one below another."""

    pairs: tuple[tuple[str, Cell], ...]


@dataclass(frozen=True, slots=True)
class Note:
    """A printed finding: its severity, its heading, and the lines of its text."""

    severity: Severity
    heading: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Verbatim:
    """Lines that are printed unchanged, such as a text picture or lines of a file."""

    text: str


@dataclass(frozen=True, slots=True)
class PageBreak:
    """A page break: the following blocks start a new page."""


@dataclass(frozen=True, slots=True)
class KeepTogether:
    """Blocks that stay on one page if they fit. If they do not fit, only the KeepTogether groups inside stay whole."""

    blocks: "tuple[Block, ...]"


@dataclass(frozen=True, slots=True)
class Beside:
    """Two columns side by side on one page. They cannot contain PageBreak or KeepTogether.

    Text that is longer than the figure next to it continues below the figure, at full width.
    """

    left: "tuple[Block, ...]"
    right: "tuple[Block, ...]"


@dataclass(frozen=True, slots=True)
class Columns:
    """Blocks in two columns of about equal length that can break over pages. They cannot contain KeepTogether."""

    blocks: "tuple[Block, ...]"


Block = (
    Heading
    | Paragraph
    | Bullets
    | Steps
    | Caution
    | Table
    | Figure
    | SetOut
    | KeyFigures
    | KeyValues
    | Note
    | Verbatim
    | PageBreak
    | KeepTogether
    | Beside
    | Columns
)


@dataclass(frozen=True, slots=True)
class Section:
    """One result: blocks below a title for people, and data for programs, both made from the same values."""

    title: str
    blocks: tuple[Block, ...]
    data: Data = field(default_factory=dict)

    @property
    def anchor(self) -> str:
        """The anchor of the section's title if the title is a heading in a document."""
        return re.sub(r"[^a-z0-9]+", "-", self.title.lower()).strip("-")

    @property
    def with_title(self) -> tuple[Block, ...]:
        """A heading and the blocks below it. The heading is omitted if there is no title or no block."""
        return (Heading(self.title, 2), *self.blocks) if self.title and self.blocks else self.blocks


def joined(sections: Iterable[Section]) -> Section:
    """Joins sections into one without a title: the blocks of each section below its title, in order, and all data."""
    parts = tuple(sections)
    data = {key: value for part in parts for key, value in part.data.items()}
    return Section("", tuple(block for part in parts for block in part.with_title), data)


@dataclass(frozen=True, slots=True)
class Document:
    """A complete printed document of continuous chapters.

    `banner`, such as DO NOT CUT, is printed large on every page.
    """

    title: str
    subject: str
    sections: tuple[Section, ...]
    footer: str = ""
    banner: str | None = None
    language: str = "en-US"
    author: str = "woodshop"
    keywords: tuple[str, ...] = ()

    @property
    def blocks(self) -> tuple[Block, ...]:
        """The blocks of all chapters in order. Each chapter that has a title begins with it as a heading."""
        return tuple(
            block
            for section in self.sections
            if section.blocks
            for block in ((Heading(section.title, 1, section.anchor),) if section.title else ()) + section.blocks
        )


_REFERENCE = re.compile("\ue000(.*?)\ue001(.*?)\ue001(.*?)\ue002")


def page_of(anchor: str, words: str = "page {}", otherwise: str = "in the packet") -> str:
    """The text `words` with a page reference. The PDF pen replaces the reference with the page number of the anchor.

    If there is no such anchor, the pen prints `otherwise`.
    """
    return f"\ue000{anchor}\ue001{words}\ue001{otherwise}\ue002"


def with_pages(value: Any, pages: Mapping[str, int]) -> Any:
    """A string, a block, or a tuple of these, with its page references filled in. A value without any is unchanged."""
    if isinstance(value, str):
        if "\ue000" not in value:
            return value
        return _REFERENCE.sub(lambda m: m[2].format(pages[m[1]]) if m[1] in pages else m[3], value)
    if isinstance(value, tuple):
        filled = tuple(with_pages(each, pages) for each in value)
        return value if all(a is b for a, b in zip(value, filled, strict=True)) else filled
    if not is_dataclass(value) or isinstance(value, type | Figure | SetOut):
        return value
    now = {each.name: getattr(value, each.name) for each in fields(value)}
    changed = {name: new for name, old in now.items() if (new := with_pages(old, pages)) is not old}
    return replace(value, **changed) if changed else value


def flat_blocks(blocks: Sequence[Block]) -> Iterator[Block]:
    """The blocks in reading order, without the groups that only place them."""
    for block in blocks:
        match block:
            case KeepTogether() | Columns():
                yield from flat_blocks(block.blocks)
            case Beside():
                yield from flat_blocks((*block.left, *block.right))
            case _:
                yield block
