"""Elements of a page: wrapped text, tick boxes, figures, framed tables. Each knows its size and how to split."""

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from reportlab.lib import colors
from reportlab.platypus import Flowable, PageBreak, Table

from woodshop.drawing.values import model
from woodshop.drawing.values.paper import Ring, Sheet, Stroke, Word
from woodshop.drawing.values.style import (
    ASCENT,
    ITALIC,
    REGULAR,
    STRONG,
    STYLE,
    TINTS,
    TONES,
    clean,
    runs,
    width,
    wrapped,
)


def put_line(canvas: Any, x: float, y: float, *, text: str, size: float, font: str = REGULAR) -> None:
    """Draws a line of text in `font` and `size`, with built fractions. Its baseline starts at (x, y)."""
    pieces = runs(text, size, font)
    if not pieces:
        return
    pen = canvas.beginText(x, y)
    for run in pieces:
        pen.setTextOrigin(x + run.x, y)
        pen.setFont(run.font, run.size)
        pen.setRise(run.rise)
        pen.textOut(run.text)
    pen.setRise(0)
    canvas.drawText(pen)


def put_box(canvas: Any, x: float, y: float, side: float) -> None:
    """Draws a tick box `side` points wide, with its lower left corner at (x, y)."""
    canvas.setLineWidth(1.0)
    canvas.setDash()
    canvas.rect(x, y, side, side, stroke=1, fill=0)


def put_sheet(canvas: Any, sheet: Sheet) -> None:
    """Draws every mark of an arranged drawing."""
    canvas.setLineCap(1)
    canvas.setLineJoin(1)
    look: tuple[object, ...] = ()  # the current weight, dash and fill
    for mark in sheet.marks:
        if isinstance(mark, Word):
            canvas.setFillGray(0)
            if mark.turn:
                canvas.saveState()
                canvas.translate(mark.x, mark.y)
                canvas.rotate(90)
                put_line(canvas, 0, 0, text=mark.text, size=mark.size, font=mark.font)
                canvas.restoreState()
            else:
                put_line(canvas, mark.x, mark.y, text=mark.text, size=mark.size, font=mark.font)
            look = ()
            continue
        if look != (mark.weight, mark.dash, mark.fill):
            look = (mark.weight, mark.dash, mark.fill)
            canvas.setLineWidth(mark.weight)
            canvas.setDash(list(mark.dash)) if mark.dash else canvas.setDash()
            tint = TINTS.get(mark.fill)
            canvas.setFillColorRGB(*tint) if tint else canvas.setFillGray(TONES.get(mark.fill, 0.0))
        if isinstance(mark, Ring):
            canvas.circle(mark.x, mark.y, mark.radius, stroke=int(mark.weight > 0), fill=int(bool(mark.fill)))
        elif isinstance(mark, Stroke):
            canvas.addLiteral(_path(mark))
    canvas.setDash()
    canvas.setFillGray(0)


_PAINT = {(True, False): "S", (False, True): "f", (True, True): "B", (False, False): "n"}


def _path(mark: Stroke) -> str:
    """A line as PDF operators (ISO 32000-1, 8.5). The library is too slow for the thousands of lines on a sheet."""
    operators = [f"{_number(x)} {_number(y)} l" for x, y in mark.points]
    operators[0] = operators[0][:-1] + "m"
    if mark.closed:
        operators.append("h")
    return " ".join((*operators, _PAINT[mark.weight > 0, bool(mark.fill)]))


def _number(value: float) -> str:
    """A number as text, to a thousandth of a point (a third of a micrometer)."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


class TextFlow(Flowable):  # type: ignore[misc]
    """Text wrapped to the available width.

    `lead` is printed in bold before the text. `marker` is printed in the indent of the first line, and `tick` puts a
    tick box there. `entry` is the level of the text in the outline.
    """

    def __init__(
        self,
        text: str,
        size: float = STYLE.body,
        font: str = REGULAR,
        *,
        lead: str = "",
        align: str = "left",
        indent: float = 0.0,
        marker: str = "",
        tick: bool = False,
        before: float = 0.0,
        after: float = 5.0,
        entry: int | None = None,
        lines: Sequence[str] | None = None,
    ) -> None:
        super().__init__()
        self.text, self.size, self.font, self.align = text, size, font, align
        self.lead = clean(lead, STRONG)
        self.indent, self.marker, self.tick = indent, marker, tick
        self.spaceBefore, self.spaceAfter, self.entry = before, after, entry
        self.fixed = lines
        self.lines: Sequence[str] = ()
        self.anchor = self.link = ""

    @property
    def pitch(self) -> float:
        """The distance between baselines."""
        return self.size * STYLE.leading

    def wrap(self, room: float, _height: float) -> tuple[float, float]:
        """The height and width of the text in a column `room` points wide."""
        self.room = room
        self.taken = width(self.lead + " ", self.size, STRONG) if self.lead else 0.0
        self.lead_alone = self.taken > (room - self.indent) * 0.7
        if self.fixed is None:
            first = 0.0 if self.lead_alone else self.taken
            self.lines = wrapped(self.text, self.size, room - self.indent, self.font, first)
            self.leads = wrapped(self.lead, self.size, room - self.indent, STRONG) if self.lead_alone else ()
        else:
            self.lines, self.leads = self.fixed, ()
        self.width, self.height = room, self.pitch * (len(self.lines) + len(self.leads))
        return self.width, self.height

    def split(self, room: float, height: float) -> list["TextFlow"]:
        """The text split into two, with at least two lines on each page."""
        self.wrap(room, height)
        if self.leads:
            return []
        fit = min(int((height + 1e-6) // self.pitch), len(self.lines) - 2)
        if fit < 2:
            return []
        first = TextFlow(
            "",
            self.size,
            self.font,
            lead=self.lead,
            align=self.align,
            indent=self.indent,
            marker=self.marker,
            tick=self.tick,
            entry=self.entry,
            lines=self.lines[:fit],
        )
        first.anchor = self.anchor
        below, after = self.lines[fit:], self.spaceAfter
        rest = TextFlow("", self.size, self.font, align=self.align, indent=self.indent, after=after, lines=below)
        return [first, rest]

    def draw(self) -> None:
        """Draws the text on the page."""
        canvas = self.canv
        if self.entry is not None:
            key = f"entry-{canvas.getPageNumber()}-{canvas.entries}"
            canvas.entries += 1
            canvas.bookmarkHorizontal(key, 0, self.height + 12)
            canvas.level = min(self.entry, canvas.level + 1)
            canvas.addOutlineEntry(clean(self.text), key, level=canvas.level, closed=False)
        if self.anchor:
            canvas.bookmarkHorizontal(self.anchor, 0, self.height + 12)
        if self.link and self.link in canvas.anchors:
            canvas.linkRect("", self.link, (0, 0, self.room, self.height), relative=1)
        y = self.height - (self.pitch - self.size) / 2 - self.size * ASCENT
        if self.tick:
            put_box(canvas, 1, y - 1.5, self.size)
        if self.marker:
            put_line(canvas, self.size + 8 if self.tick else 0, y, text=self.marker, size=self.size, font=STRONG)
        for line in self.leads:
            put_line(canvas, self.indent, y, text=line, size=self.size, font=STRONG)
            y -= self.pitch
        for i, line in enumerate(self.lines):
            x, room = self.indent, self.room - self.indent
            if i == 0 and self.lead and not self.lead_alone:
                put_line(canvas, x, y, text=self.lead + " ", size=self.size, font=STRONG)
                x += self.taken
            spare = room - width(line, self.size, self.font)
            x += {"left": 0.0, "right": spare, "centre": spare / 2}[self.align]
            put_line(canvas, x, y, text=line, size=self.size, font=self.font)
            y -= self.pitch


class TickBox(Flowable):  # type: ignore[misc]
    """A checkbox in a table cell."""

    def __init__(self, side: float, align: str) -> None:
        super().__init__()
        self.side, self.align = side, align

    def wrap(self, room: float, _height: float) -> tuple[float, float]:
        """The height and width of the box on the page."""
        self.spare = room - self.side - 2.0
        return room, self.side * STYLE.leading

    def draw(self) -> None:
        """Draws the box on the page."""
        x = {"left": 0.0, "right": self.spare, "centre": self.spare / 2}[self.align]
        put_box(self.canv, x + 1.0, self.side * 0.1, self.side)


class PictureFlow(Flowable):  # type: ignore[misc]
    """Arranged marks in a table cell."""

    def __init__(self, sheet: Sheet) -> None:
        super().__init__()
        self.sheet = sheet

    def wrap(self, _room: float, _height: float) -> tuple[float, float]:
        """The height and width of the marks on the page."""
        return self.sheet.size

    def draw(self) -> None:
        """Draws the marks on the page."""
        put_sheet(self.canv, self.sheet.moved(-self.sheet.box.left, -self.sheet.box.bottom))


class Triangle(Flowable):  # type: ignore[misc]
    """A warning triangle with an exclamation mark, as on safety signs."""

    def __init__(self, side: float = 30.0) -> None:
        super().__init__()
        self.side = side

    def wrap(self, _room: float, _height: float) -> tuple[float, float]:
        """The height and width of the triangle on the page."""
        return self.side, self.side * 0.9

    def draw(self) -> None:
        """Draws the triangle on the page."""
        canvas, side = self.canv, self.side
        canvas.setLineWidth(2.2)
        canvas.setLineJoin(1)
        path = canvas.beginPath()
        path.moveTo(1.5, 1.5)
        path.lineTo(side - 1.5, 1.5)
        path.lineTo(side / 2, side * 0.86)
        path.close()
        canvas.drawPath(path, stroke=1, fill=0)
        canvas.setLineWidth(2.6)
        canvas.setLineCap(0)
        canvas.line(side / 2, side * 0.30, side / 2, side * 0.60)
        canvas.circle(side / 2, side * 0.19, 1.7, stroke=0, fill=1)


class FigureFlow(Flowable):  # type: ignore[misc]
    """An arranged drawing, centered, with its caption below. Links to `anchors` lead to it."""

    def __init__(self, sheet: Sheet, caption: str, anchors: Sequence[str] = ()) -> None:
        super().__init__()
        self.sheet, self.caption, self.anchors = sheet, caption, anchors
        self.spaceBefore, self.spaceAfter = 4.0, 5.0

    def wrap(self, room: float, _height: float) -> tuple[float, float]:
        """The height and width of the figure in a column `room` points wide."""
        self.words = TextFlow(self.caption, STYLE.small, ITALIC, align="centre") if self.caption else None
        below = self.words.wrap(room, 0)[1] + 4 if self.words else 0.0
        self.below, self.width, self.height = below, room, self.sheet.size[1] + below
        return self.width, self.height

    def draw(self) -> None:
        """Draws the figure on the page."""
        box = self.sheet.box
        for anchor in self.anchors:
            self.canv.bookmarkHorizontal(anchor, 0, self.height + 12)
        put_sheet(
            self.canv, self.sheet.moved((self.width - self.sheet.size[0]) / 2 - box.left, self.below - box.bottom)
        )
        if self.words:
            self.words.drawOn(self.canv, 0, 0)


GUTTER = 18.0  # points between two columns


def is_heading(flow: Any) -> bool:
    """Whether a flowable is a heading, which stays with the text below it."""
    return getattr(flow, "entry", None) is not None


def height_of(flows: Sequence[Any], room: tuple[float, float]) -> float:
    """The total height of items placed one below another, including the space between them."""
    gaps = sum(max(a.getSpaceAfter(), b.getSpaceBefore()) for a, b in pairwise(flows))
    return float(sum(flow.wrap(*room)[1] for flow in flows) + gaps)


class SideBySide(Flowable):  # type: ignore[misc]
    """Two columns that stay on one page."""

    def __init__(self, sides: Sequence[Sequence[Any]]) -> None:
        super().__init__()
        self.sides = sides
        self.spaceAfter = 5.0

    def wrap(self, room: float, height: float) -> tuple[float, float]:
        """The height and width of both columns within `room` points."""
        self.half = (room - GUTTER) / 2
        self.width, self.height = room, max(height_of(side, (self.half, height)) for side in self.sides)
        return self.width, self.height

    def draw(self) -> None:
        """Draws both columns on the page."""
        for n, side in enumerate(self.sides):
            put_below(self.canv, side, (n * (self.half + GUTTER), self.height), self.half)


class ListFlow(Table):  # type: ignore[misc]
    """A table that repeats the name of its list where it continues on the next page."""

    continued = ""

    def split(self, room: float, height: float) -> list[Any]:
        """The rows that fit, then a break, the name of the list, and the remaining rows."""
        parts: list[Any] = super().split(room, height)
        if self.continued and len(parts) > 1:
            parts[1].continued = self.continued
            name = TextFlow(f"{self.continued}, continued", STYLE.body, STRONG, after=3)
            parts[1:1] = [PageBreak(), name]
        return parts


class BesideFlow(Flowable):  # type: ignore[misc]
    """Figures in column `on`, and text in the other column. The text continues below both to make the block short.

    Text begins on the page before its figures only if the block of both is too high for a page of height `page`.
    `half` and `whole` are the text at half and full width.
    """

    def __init__(self, figures: Sequence[Any], half: Sequence[Any], whole: Sequence[Any], on: int, page: float) -> None:
        super().__init__()
        self.figures, self.half, self.whole, self.on, self.page = figures, half, whole, on, page
        self.spaceAfter = 5.0

    def wrap(self, room: float, height: float) -> tuple[float, float]:
        """The height and width of the block in a column `room` points wide."""
        found: list[tuple[float, list[Any]]] = []
        for n in range(len(self.half), -1, -1):
            if not (n and is_heading(self.half[n - 1])):
                sides = (self.figures, self.half[:n])[:: -1 if self.on else 1]
                parts = [SideBySide(sides), *self.whole[n:]]
                found.append((height_of(parts, (room, height)), parts))
        least = min(high for high, _ in found)
        self.height, self.parts = next(each for each in found if each[0] <= least + 1.0)
        self.ways = [each for each in found if len(each[1]) <= len(self.whole)] or found  # some text beside the figures
        self.least = min(parts[0].height for _, parts in self.ways)
        if self.least > self.page and self.whole:
            self.least = self.whole[0].wrap(room, height)[1]
        self.width = room
        return self.width, self.height

    def split(self, room: float, height: float) -> list[Any]:
        """The figures with text next to them, then the remaining text; or, if there is no room, only text that fits."""
        self.wrap(room, height)
        if fit := [each for each in self.ways if each[1][0].height <= height]:
            return min(fit, key=lambda each: each[0])[1]
        if any(parts[0].height <= self.page for _, parts in self.ways):
            return []
        n = len(self.whole)
        while n and (height_of(self.whole[:n], (room, height)) > height or is_heading(self.whole[n - 1])):
            n -= 1
        rest = BesideFlow(self.figures, self.half[n:], self.whole[n:], self.on, self.page)
        return [*self.whole[:n], rest if n < len(self.whole) else SideBySide((self.figures, ()))] if n else []

    def draw(self) -> None:
        """Draws the block on the page."""
        put_below(self.canv, self.parts, (0.0, self.height), self.width)


def put_below(canvas: Any, flows: Sequence[Any], at: tuple[float, float], room: float) -> None:
    """Draws items one below another, downward from a position, in a column `room` points wide."""
    left, top = at
    for flow, before in zip(flows, (None, *flows), strict=False):
        top -= flow.wrap(room, top)[1]
        top -= 0.0 if before is None else max(before.getSpaceAfter(), flow.getSpaceBefore())
        flow.drawOn(canvas, left, top)


class ColumnsFlow(SideBySide):
    """Items in two balanced columns. Each page has two columns of its own."""

    def __init__(self, flows: Sequence[Any]) -> None:
        super().__init__(())
        self.flows = flows

    def wrap(self, room: float, height: float) -> tuple[float, float]:
        """The height and width of both columns together, in a column `room` points wide."""
        self.sides = self.sides or self._balanced((room - GUTTER) / 2)
        return super().wrap(room, height)

    def _balanced(self, half: float) -> tuple[list[Any], list[Any]]:
        high, rest = height_of(self.flows, (half, 0)) / 2, self.flows
        while rest:
            left, rest = _filled(self.flows, half, high)
            right, rest = _filled(rest, half, high)
            high += 3.0  # points
        return left, right

    def split(self, room: float, height: float) -> list[SideBySide]:
        """The items that fit in two columns of this height, and the remaining items."""
        half = (room - GUTTER) / 2
        left, rest = _filled(self.flows, half, height)
        right, rest = _filled(rest, half, height)
        return [SideBySide((left, right)), ColumnsFlow(rest)] if left and right and rest else []


def _filled(flows: Sequence[Any], room: float, height: float) -> tuple[list[Any], list[Any]]:
    """The items that fit in a column of this height, and the remaining items. A column never ends with a heading."""
    taken: list[Any] = []
    rest = list(flows)
    while rest and height_of([*taken, rest[0]], (room, height)) <= height:
        taken.append(rest.pop(0))
    if rest:
        gap = max(taken[-1].getSpaceAfter(), rest[0].getSpaceBefore()) if taken else 0.0
        parts = rest[0].split(room, height - height_of(taken, (room, height)) - gap)
        if len(parts) > 1:
            taken.append(parts[0])
            rest[:1] = parts[1:]
    while rest and taken and is_heading(taken[-1]):
        rest.insert(0, taken.pop())
    return taken, rest


_PAD = 5.0
_UNDIVIDED = 90.0  # points: a table no taller than this stays on one page
_LONGEST_CELL = 30  # lines; a longer cell is split over several rows so that it fits on any page


def caution_flow(block: model.Caution, room: float) -> Flowable:
    """A warning in its heavy frame, as wide as the column."""
    words: list[Any] = [TextFlow(block.title, STYLE.headings[2], STRONG, after=1)]
    inner = room - 46 - 2 * _PAD
    lines = wrapped(block.text, STYLE.body, inner)
    rows: list[list[Any]] = []
    for i in range(0, len(lines), _LONGEST_CELL):
        words.append(TextFlow("", lines=lines[i : i + _LONGEST_CELL], after=0))
        rows.append(["" if rows else Triangle(), words])
        words = []
    box = Table(
        rows, colWidths=[46, room - 46], style=[*_PADDING, ("BOX", (0, 0), (-1, -1), STYLE.heavy, colors.black)]
    )
    box.spaceBefore, box.spaceAfter = 4, 6
    box.splitByRow = int(len(rows) > 1)  # one row cannot be split, so a heading above waits for all of it
    return box


_PADDING = [
    ("FONT", (0, 0), (-1, -1), REGULAR, STYLE.body),
    ("LEFTPADDING", (0, 0), (-1, -1), _PAD),
    ("RIGHTPADDING", (0, 0), (-1, -1), _PAD),
    ("TOPPADDING", (0, 0), (-1, -1), 0.7),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 1.0),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
]


def table_flow(block: model.Table, room: float) -> Flowable:
    """A table as wide as the column. Short tables are not split; long ones repeat their headings."""
    body = STYLE.small if block.small else STYLE.body
    columns = block.shown_columns
    sizes = [STYLE.cut_size if column.cut_size else body for column in columns]
    widths = _widths(block, sizes, room)
    rows: list[list[Any]] = [
        [
            TextFlow(column.heading, min(body, STYLE.body), STRONG, align=column.align.value, after=0)
            for column in columns
        ]
    ]
    style: list[tuple[Any, ...]] = [
        *_PADDING,
        ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
        ("LINEBELOW", (0, 0), (-1, 0), STYLE.outline, colors.black),
    ]
    heads = int(any(column.heading for column in columns))
    if not heads:
        rows, style = [], [*_PADDING, ("LINEABOVE", (0, 0), (-1, 0), STYLE.outline, colors.black)]
    links = {(row, column): anchor for row, column, anchor in block.links}
    anchors = dict(block.anchors)
    for i, row in enumerate(block.shown_rows):
        filled = [j for j, cell in enumerate(row) if cell != ""]
        rooms = list(widths)
        if i in block.strong and len(filled) == 1:  # a heading inside the table
            rooms[filled[0]] = sum(widths[filled[0] :])
            style.append(("SPAN", (filled[0], len(rows)), (-1, len(rows))))
        own = _row(row, columns, sizes, rooms, STRONG if i in block.strong else None)
        flows = [(j, cell) for each in own for j, cell in enumerate(each) if isinstance(cell, TextFlow)]
        for j, cell in flows:
            cell.link = links.get((i, j), "")
        if flows:
            flows[0][1].anchor = anchors.get(i, "")
        rows += own
        style.append(("LINEBELOW", (0, len(rows) - 1), (-1, len(rows) - 1), STYLE.thin, colors.black))
    if len(rows) > 4 and all(len(cell.fixed or ()) <= 6 for row in rows for cell in row if isinstance(cell, TextFlow)):
        style += [("NOSPLIT", (0, 0), (-1, 2)), ("NOSPLIT", (0, -2), (-1, -1))]
    table = ListFlow(rows, colWidths=widths, repeatRows=heads, style=style)
    table.continued = block.continued
    table.spaceBefore, table.spaceAfter = 2, 5
    if table.wrap(room, 0)[1] <= _UNDIVIDED:
        table.splitByRow = 0
    return table


def _row(
    row: Sequence[model.Cell],
    columns: Sequence[model.Column],
    sizes: Sequence[float],
    widths: Sequence[float],
    font: str | None,
) -> list[list[Any]]:
    """One row of cells as a table row, or as several table rows if a cell is too long."""
    cells: list[list[Any]] = []
    for cell, column, size, wide in zip(row, columns, sizes, widths, strict=True):
        face = font or (STRONG if column.cut_size else REGULAR)
        if isinstance(cell, model.Picture):
            cells.append([PictureFlow(cell.sheet)])
            continue
        text = model.cell_text(cell)
        size = size if text else min(size, STYLE.body)
        if text == "[ ]":
            cells.append([TickBox(size, column.align.value)])
            continue
        lines = [line for part in text.split("\n") for line in wrapped(part, size, wide - 2 * _PAD, face)]
        parts = [lines[i : i + _LONGEST_CELL] for i in range(0, len(lines), _LONGEST_CELL)]
        cells.append([TextFlow("", size, face, align=column.align.value, lines=part, after=0) for part in parts])
    deep = max((len(cell) for cell in cells), default=1)
    return [[cell[i] if i < len(cell) else "" for cell in cells] for i in range(deep)]


def _widths(block: model.Table, sizes: Sequence[float], room: float) -> list[float]:
    """Column widths by weight. If there is enough space, no column is narrower than its longest word."""
    least: list[float] = []
    columns, rows = block.shown_columns, block.text_rows
    for i, (column, size) in enumerate(zip(columns, sizes, strict=True)):
        cells = [row[i] for row in block.shown_rows]
        pictures = [cell.sheet.size[0] for cell in cells if isinstance(cell, model.Picture)]
        if pictures:
            least.append(max(pictures) + 2 * _PAD + 0.5)
            continue
        face = STRONG if column.cut_size or block.strong else REGULAR
        words = {w for row in rows for w in wrapped(row[i], size, 0.5 * room, face) if " " not in w}
        words |= {part for row in rows for part in row[i].split()}
        longest = max((_word_width(w, size, face) for w in sorted(words)), default=0.0)
        heads = max((width(clean(w), STYLE.body, STRONG) for w in column.heading.split(" ")), default=0.0)
        least.append(min(max(longest, heads) + 2 * _PAD + 0.5, room / 2))
    if sum(least) >= room:
        return [wide * room / sum(least) for wide in least]
    weights = [float(max(column.weight, 1)) for column in columns]
    fixed: set[int] = set()
    while True:
        share = (room - sum(least[i] for i in fixed)) / (sum(w for i, w in enumerate(weights) if i not in fixed) or 1.0)
        short = {i for i, w in enumerate(weights) if i not in fixed and w * share < least[i]}
        if not short:
            return [least[i] if i in fixed else w * share for i, w in enumerate(weights)]
        fixed |= short


def _word_width(word: str, size: float, font: str) -> float:
    return width(clean(word, font), size, font)


def key_figures_flow(block: model.KeyFigures, room: float) -> Flowable:
    """Important numbers side by side, each below its caption."""
    count = max(len(block.figures), 1)
    wide = room / count
    top: list[Any] = []
    bottom: list[Any] = []
    for what, value in block.figures:
        size = (wide - 2 * _PAD - 0.5) / max(width(clean(value), 1.0, STRONG), 0.1)
        size = max(min(size, STYLE.figure_value), STYLE.headings[2])
        top.append(TextFlow(what, STYLE.small + 1, align="centre", after=0))
        bottom.append(TextFlow(value, size, STRONG, align="centre", after=0))
    style = [*_PADDING, ("BOX", (0, 0), (-1, -1), STYLE.outline, colors.black), ("VALIGN", (0, 0), (-1, 0), "BOTTOM")]
    style += [("LINEAFTER", (i, 0), (i, -1), STYLE.thin, colors.black) for i in range(count - 1)]
    table = Table([top, bottom], colWidths=[wide] * count, style=style)
    table.spaceBefore, table.spaceAfter = 4, 9
    return table
