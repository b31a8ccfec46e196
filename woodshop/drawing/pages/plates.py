"""Makes pages with a fixed position for every mark: full-size sheets with their scale bars, and labels on a grid.

The pen in `pdf` lets text flow from page to page; this one draws each mark at its own position. The same input gives
the same bytes. Fonts are embedded.
"""

from collections.abc import Iterator, Sequence
from dataclasses import KW_ONLY, dataclass, replace
from io import BytesIO

from woodshop.drawing.values.paper import Box, Mark, Sheet, Stroke, Word, centred, sheet_of
from woodshop.drawing.values.style import PAPERS, POINTS_PER_MM, REGULAR, STRONG, STYLE, clean, register, width, wrapped
from woodshop.units.lengths import ZERO, Length, inch, millimetre

BAR_INCHES, BAR_MM = inch(4), millimetre(100)
_FOOT = STYLE.small + STYLE.footer_gap  # the line with title and page number
_BARS = 62.0  # the two scale bars above that line
_HEAD = 26.0
_STEP, _GUTTER = 16.0, 24.0  # the distances between items, vertical and horizontal
MEASURE = (
    "Print at 100 % (actual size), with no scaling and no fit to page. Measure both bars before you use this sheet: "
    "if either is off, do not use it."
)
MEASURE_ONE = MEASURE.replace("both bars", "the bar").replace("if either", "if it")


@dataclass(frozen=True, slots=True)
class Plate:
    """One page: its size in points, its marks, and its entries in the outline of the PDF."""

    size: tuple[float, float]
    marks: tuple[Mark, ...]
    entries: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Room:
    """The layout of a full-size sheet, in points: the width and height between its margins, head and scale bars."""

    wide: float
    high: float


def page_size(paper: str, lying: bool = False) -> tuple[float, float]:
    """The width and height of "letter" or "a4" paper in points, landscape if `lying`."""
    wide, high = PAPERS[paper]
    return (high, wide) if lying else (wide, high)


def room_on(size: tuple[float, float], banner: bool) -> Room:
    """The layout of a page of full-size drawings, with a `banner` or without."""
    head = _HEAD + (STYLE.banner_height if banner else 0.0)
    return Room(size[0] - 2 * STYLE.margin, size[1] - 2 * STYLE.margin - _FOOT - _BARS - head)


def points(length: Length) -> float:
    """A length in points, the unit of paper."""
    return float(length.mm * POINTS_PER_MM)


def lines_of(text: str, wide: float, size: float = STYLE.small, strong: bool = False) -> list[Word]:
    """The text as lines no longer than `wide`, from y = 0 down. `size` is the type size; `strong` makes it bold."""
    words, pitch = wrapped(text, size, wide, STRONG if strong else REGULAR), size * STYLE.leading
    return [Word(line, 0.0, -pitch * n - size, size=size, strong=strong) for n, line in enumerate(words)]


def block(title: str, words: Sequence[str], drawn: Sheet, most: float) -> Sheet:
    """A drawing below its title and `words`, `most` points wide or half of that. Its lower left corner is at (0, 0)."""
    half = (most - _GUTTER) / 2
    wide = half if drawn.size[0] <= half else most
    marks: list[Mark] = []
    down = 0.0
    for text, size, strong in ((title, STYLE.headings[2], True), *((each, STYLE.small, False) for each in words)):
        lines = [word.moved(0.0, down) for word in lines_of(text, wide, size, strong)]
        marks += lines
        down = lines[-1].box.bottom - 2.0
    box = drawn.box
    marks += drawn.moved(-box.left, down - 6.0 - box.top).marks
    whole = sheet_of(marks)
    return whole.moved(-whole.box.left, -whole.box.bottom)


def stacked(
    blocks: Sequence[tuple[str, Sheet]], size: tuple[float, float], title: str, banner: str, *, with_inches: bool = True
) -> list[Plate]:
    """Places blocks (entry, sheet) in one of two columns or across both, each on the first page with enough space.

    `title` and `banner` are printed at the top of each page; `with_inches` prints a bar in inches too. Raises
    ValueError if a block is larger than a page.
    """
    room = room_on(size, bool(banner))
    half = (room.wide - _GUTTER) / 2
    top = size[1] - STYLE.margin - _HEAD - (STYLE.banner_height if banner else 0.0)
    pages: list[tuple[list[Mark], list[str], list[float]]] = []  # the last list: how far each column is filled
    for entry, sheet in blocks:
        wide, high = sheet.size
        if wide > room.wide + 0.01 or high > room.high + 0.01:
            raise ValueError(f"{entry}: {wide:.0f} x {high:.0f} points; the page has {room.wide:.0f} x {room.high:.0f}")
        ways = ((0, 1),) if wide > half + 0.01 else ((0,), (1,))
        free = (
            (page, columns, at)
            for page in pages
            for at, columns in sorted((max(page[2][each] for each in columns), columns) for columns in ways)
            if at + high <= room.high + 0.01
        )
        found = next(free, None)
        if found is None:
            pages.append(([], [], [0.0, 0.0]))
            found = (pages[-1], ways[0], 0.0)
        (marks, entries, down), columns, at = found
        left = STYLE.margin + columns[0] * (half + _GUTTER)
        marks.extend(sheet.moved(left - sheet.box.left, top - at - sheet.box.top).marks)
        entries.append(entry)
        for each in columns:
            down[each] = at + high + _STEP
    head = _headed(title, size, banner)
    return [Plate(size, (*head, *marks, *scale_bars(size, with_inches)), tuple(entries)) for marks, entries, _ in pages]


def _headed(title: str, size: tuple[float, float], banner: str) -> list[Mark]:
    top, left, right = size[1] - STYLE.margin, STYLE.margin, size[0] - STYLE.margin
    marks: list[Mark] = []
    if banner:
        bottom = top - STYLE.banner_height + 8
        corners = ((left, bottom), (right, bottom), (right, top), (left, top))
        marks.append(Stroke(corners, STYLE.heavy, closed=True))
        marks.append(centred(clean(banner), (left + right) / 2, (bottom + top) / 2, STYLE.banner, strong=True))
        top -= STYLE.banner_height
    text = wrapped(title, STYLE.headings[1], right - left, STRONG)
    marks.append(Word(text[0], left, top - STYLE.headings[1], size=STYLE.headings[1], strong=True))
    return marks


def scale_bars(size: tuple[float, float], with_inches: bool = True) -> list[Mark]:
    """Bars at the foot of a page, 4 in (if `with_inches`) and 100 mm long between their ticks, with instructions."""
    left, bottom = STYLE.margin, STYLE.margin + _FOOT
    marks: list[Mark] = []
    longest = 0.0
    bars = ((bottom + 30, BAR_INCHES, 4, "4 in"), (bottom + 8, BAR_MM, 10, "100 mm"))
    for low, bar, parts, name in bars if with_inches else bars[1:]:
        long = points(bar)
        marks.append(Stroke(((left, low), (left + long, low)), STYLE.thin))
        for n in range(parts + 1):
            x, tall = left + long * n / parts, 10.0 if n in (0, parts) else 5.0
            marks.append(Stroke(((x, low), (x, low + tall)), STYLE.thin))
        word = Word(name, left + long + 6, low, size=STYLE.small, strong=True)
        marks.append(word)
        longest = max(longest, word.box.right)
    wide = size[0] - STYLE.margin - longest - 12
    marks += [
        word.moved(longest + 12, bottom + 44)
        for word in lines_of(MEASURE if with_inches else MEASURE_ONE, wide, STYLE.small)
    ]
    return marks


def footed(plates: Sequence[Plate], title: str, note: str = "") -> list[Plate]:
    """The pages with a line at the foot of each: `title` and `note` on the left, page x of y on the right."""
    done = []
    for n, plate in enumerate(plates, 1):
        left, right = STYLE.margin, plate.size[0] - STYLE.margin
        place = f"page {n} of {len(plates)}"
        room = right - left - width(place, STYLE.small, STRONG) - 16
        words = wrapped(" · ".join(filter(None, (title, note))), STYLE.small, room)
        text = words[0] if len(words) == 1 else words[0] + " ..."
        rule = STYLE.margin + STYLE.small + 5
        foot: tuple[Mark, ...] = (
            Stroke(((left, rule), (right, rule)), STYLE.thin),
            Word(text, left, STYLE.margin, size=STYLE.small),
            Word(place, right - width(place, STYLE.small, STRONG), STYLE.margin, size=STYLE.small, strong=True),
        )
        done.append(replace(plate, marks=plate.marks + foot))
    return done


def to_scale(sheet: Sheet) -> Sheet:
    """The sheet with no line thicker than that of a hidden edge, because it is easier to cut along a thin line."""
    marks = [replace(m, weight=min(m.weight, STYLE.hidden)) if not isinstance(m, Word) else m for m in sheet.marks]
    return Sheet(tuple(marks), sheet.box, sheet.crowded)


def write_plates(plates: Sequence[Plate], *, title: str, subject: str, language: str = "en-US") -> bytes:
    """The pages as the bytes of a PDF file.

    `title`, `subject` and `language` become properties of the file.
    """
    from reportlab.pdfgen.canvas import Canvas

    from woodshop.drawing.pages.flow import put_sheet

    register()
    file = BytesIO()
    canvas = Canvas(file, invariant=1, initialFontName=REGULAR, lang=language)
    canvas.setTitle(clean(title))
    canvas.setAuthor("woodshop")
    canvas.setSubject(clean(subject))
    canvas.setCreator("woodshop")
    canvas.setProducer("woodshop")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    canvas.setViewerPreference("PrintScaling", "None")
    for n, plate in enumerate(plates):
        canvas.setPageSize(plate.size)
        canvas.bookmarkPage(f"page-{n}")
        for entry in plate.entries:
            canvas.addOutlineEntry(clean(entry), f"page-{n}", level=0)
        put_sheet(canvas, sheet_of(list(plate.marks)))
        canvas.showPage()
    canvas.save()
    return file.getvalue()


_SAFE = points(millimetre("6.5"))  # text is never closer than this to the edge of the paper
_PAD = 5.0
_SHRINK = 0.05  # each try makes all sizes smaller by this share
_LABEL_FOOT = STYLE.least + 7.0


@dataclass(frozen=True, slots=True)
class LabelGrid:
    """Labels of the same size in columns and rows. `left` and `top` are the page margins at the first label."""

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
        """The width and height of all labels together."""
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
    """A grid of `columns` and `rows` for "letter" or "a4" paper. Missing values come from a plain centered grid."""
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
    """A line on a label: its text and its preferred type size."""

    text: str
    size: float = 10.0
    strong: bool = False


def set_text(lines: Sequence[LabelLine], wide: float, high: float) -> list[Word] | None:
    """The lines in a rectangle `wide` x `high` below and right of (0, 0), or None if they do not fit.

    A line that is too long is set in smaller type, down to the minimum size, and then broken. If the lines together are
    too high, all of them are set in smaller type, down to the minimum size.
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
    """The space for text in a label: inside its border, and away from the edge of the paper."""
    wide, high = page_size(paper)
    inner = box.grown(-_PAD)
    return Box(
        max(inner.left, _SAFE), max(inner.bottom, _SAFE), min(inner.right, wide - _SAFE), min(inner.top, high - _SAFE)
    )


def label_plates(
    texts: Sequence[Sequence[LabelLine]], grid: LabelGrid, paper: str, *, frame: bool, entry: str
) -> tuple[list[Plate], list[int]]:
    """Pages of labels in order, and the indices (from 0) of texts that do not fit.

    If `frame` is true, the labels are outlined. `entry` is the entry in the outline of the PDF. `paper` is "letter" or
    "a4".
    """
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
    """The pages of `paper`, with a page number and a `note` if the margin below or above the labels is large enough."""
    (wide, high), boxes = page_size(paper), list(grid.boxes(paper))
    below, above = boxes[-1].bottom, high - boxes[0].top
    base = (
        _SAFE + 2.0
        if below >= _SAFE + _LABEL_FOOT
        else high - _SAFE - STYLE.least
        if above >= _SAFE + _LABEL_FOOT
        else None
    )
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
