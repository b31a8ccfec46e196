"""The pieces of a page: text that wraps, boxes to tick, figures. They know their size and how to split."""

from collections.abc import Sequence
from typing import Any

from reportlab.platypus import Flowable

from woodshop.drawing.values.fonts import ASCENT, ITALIC, REGULAR, STRONG, clean, runs, width, wrapped
from woodshop.drawing.values.paper import Ring, Sheet, Stroke, Word
from woodshop.drawing.values.style import STYLE, TONES


def put_line(canvas: Any, x: float, y: float, *, text: str, size: float, font: str = REGULAR) -> None:
    """One line of text with built fractions, its base line starting at (x, y)."""
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
    """A box to tick, its lower left corner at (x, y)."""
    canvas.setLineWidth(1.0)
    canvas.setDash()
    canvas.rect(x, y, side, side, stroke=1, fill=0)


def put_sheet(canvas: Any, sheet: Sheet) -> None:
    """Every mark of an arranged drawing."""
    canvas.setLineCap(1)
    canvas.setLineJoin(1)
    look: tuple[object, ...] = ()  # weight, dash and fill as they are set
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
            canvas.setFillGray(TONES.get(mark.fill, 0.0))
        if isinstance(mark, Ring):
            canvas.circle(mark.x, mark.y, mark.radius, stroke=int(mark.weight > 0), fill=int(bool(mark.fill)))
        elif isinstance(mark, Stroke):
            canvas.addLiteral(_path(mark))
    canvas.setDash()
    canvas.setFillGray(0)


_PAINT = {(True, False): "S", (False, True): "f", (True, True): "B", (False, False): "n"}


def _path(mark: Stroke) -> str:
    """A line in the operators of PDF (ISO 32000-1, 8.5): a sheet has thousands, and the library takes its time."""
    operators = [f"{_number(x)} {_number(y)} l" for x, y in mark.points]
    operators[0] = operators[0][:-1] + "m"
    if mark.closed:
        operators.append("h")
    return " ".join((*operators, _PAINT[mark.weight > 0, bool(mark.fill)]))


def _number(value: float) -> str:
    """To a thousandth of a point, a third of a micrometre."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


class TextFlow(Flowable):  # type: ignore[misc]
    """Text wrapped to the room it gets.

    `lead` is set in strong type before the text. `marker` stands in the indent of the first line;
    `tick` puts a box to tick before the marker. `entry` is the level of the outline entry that it makes.
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
        """The distance of base lines."""
        return self.size * STYLE.leading

    def wrap(self, room: float, _height: float) -> tuple[float, float]:
        """Its size in a column `room` points wide."""
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
        """Its lines as two texts, with at least two lines on each page."""
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
        rest = TextFlow(
            "",
            self.size,
            self.font,
            align=self.align,
            indent=self.indent,
            after=self.spaceAfter,
            lines=self.lines[fit:],
        )
        return [first, rest]

    def draw(self) -> None:
        """Put it on the page."""
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
    """A box to tick, in a table's cell."""

    def __init__(self, side: float, align: str) -> None:
        super().__init__()
        self.side, self.align = side, align

    def wrap(self, room: float, _height: float) -> tuple[float, float]:
        """Its size."""
        self.spare = room - self.side - 2.0
        return room, self.side * STYLE.leading

    def draw(self) -> None:
        """Put it on the page."""
        x = {"left": 0.0, "right": self.spare, "centre": self.spare / 2}[self.align]
        put_box(self.canv, x + 1.0, self.side * 0.1, self.side)


class PictureFlow(Flowable):  # type: ignore[misc]
    """Arranged marks in a table's cell."""

    def __init__(self, sheet: Sheet) -> None:
        super().__init__()
        self.sheet = sheet

    def wrap(self, _room: float, _height: float) -> tuple[float, float]:
        """Its size."""
        return self.sheet.size

    def draw(self) -> None:
        """Put it on the page."""
        put_sheet(self.canv, self.sheet.moved(-self.sheet.box.left, -self.sheet.box.bottom))


class Triangle(Flowable):  # type: ignore[misc]
    """A warning triangle with its exclamation mark, as safety signs have it."""

    def __init__(self, side: float = 30.0) -> None:
        super().__init__()
        self.side = side

    def wrap(self, _room: float, _height: float) -> tuple[float, float]:
        """Its size."""
        return self.side, self.side * 0.9

    def draw(self) -> None:
        """Put it on the page."""
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
    """An arranged drawing, centred, with its caption below; `anchors` lead to it."""

    def __init__(self, sheet: Sheet, caption: str, anchors: Sequence[str] = ()) -> None:
        super().__init__()
        self.sheet, self.caption, self.anchors = sheet, caption, anchors
        self.spaceBefore, self.spaceAfter = 4.0, 5.0

    def wrap(self, room: float, _height: float) -> tuple[float, float]:
        """Its size in a column `room` points wide."""
        self.words = TextFlow(self.caption, STYLE.small, ITALIC, align="centre") if self.caption else None
        below = self.words.wrap(room, 0)[1] + 4 if self.words else 0.0
        self.below, self.width, self.height = below, room, self.sheet.size[1] + below
        return self.width, self.height

    def draw(self) -> None:
        """Put it on the page."""
        box = self.sheet.box
        for anchor in self.anchors:
            self.canv.bookmarkHorizontal(anchor, 0, self.height + 12)
        put_sheet(
            self.canv, self.sheet.moved((self.width - self.sheet.size[0]) / 2 - box.left, self.below - box.bottom)
        )
        if self.words:
            self.words.drawOn(self.canv, 0, 0)
