"""The PDF pen: a document becomes pages that print well in black and white.

The same document gives the same bytes, because no times or random names are written. Fonts are embedded.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from io import BytesIO
from itertools import zip_longest
from typing import Any

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    KeepTogether,
    PageBreak,
    PageTemplate,
    Table,
)

from woodshop.drawing.arranging.figure import UNIT_WORDS, fitted_figure
from woodshop.drawing.pages.flow import (
    GUTTER,
    BesideFlow,
    ColumnsFlow,
    FigureFlow,
    ListFlow,
    SideBySide,
    TextFlow,
    caution_flow,
    height_of,
    is_heading,
    key_figures_flow,
    put_line,
    table_flow,
)
from woodshop.drawing.values import model
from woodshop.drawing.values.model import with_pages
from woodshop.drawing.values.style import (
    PAPERS,
    REGULAR,
    STRONG,
    STYLE,
    clean,
    register,
    scale_text,
    width,
    wrapped,
)

_MOST_ROUNDS = 5  # rounds of layout until every page reference names the page of its anchor
_ROWS = 3  # rows of a table that must be on the page of its heading
_BEGINNING = 40.0  # points of text or table that must be on the page of their heading


def write_pdf(document: model.Document, paper: str = "letter") -> bytes:
    """The document as the bytes of a PDF file, on "letter" or "a4" paper. Raises ValueError for another `paper`."""
    return pdf_and_pages(document, paper)[0]


def pdf_and_pages(document: model.Document, paper: str) -> tuple[bytes, dict[str, int]]:
    """The file of `write_pdf`, and the page of every anchor in it."""
    if paper not in PAPERS:
        raise ValueError(f"paper {paper!r}; wanted one of {', '.join(PAPERS)}")
    register()
    page = PAPERS[paper]
    head = STYLE.banner_height if document.banner else 0.0
    foot = STYLE.small + STYLE.footer_gap
    room = (page[0] - 2 * STYLE.margin, page[1] - 2 * STYLE.margin - head - foot)
    frame = Frame(
        STYLE.margin, STYLE.margin + foot, *room, leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0
    )
    made: _Made = {}
    own = document.blocks
    pages = dict.fromkeys(_anchors(own), 10)
    for again in reversed(range(_MOST_ROUNDS)):
        file = BytesIO()
        found: dict[str, int] = {}
        template = BaseDocTemplate(
            file,
            pagesize=page,
            title=clean(document.title),
            author=clean(document.author),
            subject=clean(document.subject),
            keywords=[clean(word) for word in document.keywords],
            creator="woodshop",
            producer="woodshop",
            lang=document.language,
            invariant=1,
        )
        template.addPageTemplates(PageTemplate("page", [frame], pagesize=page))
        blocks = with_pages(own, pages)
        story = _flowables(blocks, room, made)
        template.build(story or [TextFlow("")], canvasmaker=_canvas_for(document, page, found))
        if blocks is own or found == pages or not again:
            break
        pages = found
        for flow in (each for _, flows in made.values() for f in flows for each in (f, *getattr(f, "whole", ()))):
            flow.__dict__.pop("_postponed", None)  # the library's mark for a flowable that did not fit on a page
    return file.getvalue(), found


_Made = dict[tuple[int, tuple[float, float]], tuple[model.Block, list[Any]]]
"""The flowables of blocks at a given width, keyed by the identity of the block.

The second pass, for page numbers, reuses them.
"""


def _canvas_for(document: model.Document, page: tuple[float, float], found: dict[str, int]) -> type:
    """A canvas class for this document. The canvas records in `found` the page of every anchor."""
    anchors = frozenset(_anchors(document.blocks))

    class Pages(Canvas):  # type: ignore[misc]
        """Holds the pages until the page count is known, then adds headers and footers."""

        def __init__(self, *args: Any, **named: Any) -> None:
            super().__init__(*args, **named | {"initialFontName": REGULAR})
            self.held: list[dict[str, Any]] = []
            self.entries = 0  # outline entries so far
            self.anchors = anchors
            self.bookmarks: list[tuple[str, float, float]] = []  # of the current page: name, left, top
            self.level = -1  # of the last outline entry; PDF does not allow skipped levels

        def bookmarkHorizontal(self, key: str, relativeX: float, relativeY: float, **_named: Any) -> None:
            """Keeps the bookmark until its page is written; otherwise it would be assigned to the first page."""
            self.bookmarks.append((key, *self.absolutePosition(relativeX, relativeY)))

        def showPage(self) -> None:
            """Keeps the page for later."""
            self.held.append(dict(self.__dict__))
            self.bookmarks = []
            self._startPage()

        def save(self) -> None:
            """Numbers the pages and writes the file."""
            for i, state in enumerate(self.held):
                keep = {"held": self.held, "entries": self.entries}
                self.__dict__.update(state | keep)
                for key, left, top in self.bookmarks:
                    if key in anchors:
                        found[key] = i + 1
                    self.bookmarkHorizontalAbsolute(key, top, left)
                _edges(self, document, page, i + 1, len(self.held))
                super().showPage()
            self.setViewerPreference("DisplayDocTitle", "true")
            super().save()

    return Pages


def _anchors(blocks: Sequence[model.Block]) -> Iterator[str]:
    """Every anchor in the blocks to which a link can lead."""
    for block in blocks:
        match block:
            case model.Heading() | model.Paragraph() if block.anchor:
                yield block.anchor
            case model.Table():
                yield from (anchor for _, anchor in block.anchors)
            case model.SetOut():
                yield from block.anchors
            case model.KeepTogether() | model.Columns():
                yield from _anchors(block.blocks)
            case model.Beside():
                yield from _anchors((*block.left, *block.right))


def _edges(canvas: Any, document: model.Document, page: tuple[float, float], number: int, of: int) -> None:
    """Draws the banner and the footer of a page."""
    left, right = STYLE.margin, page[0] - STYLE.margin
    size = STYLE.small
    place = f"page {number} of {of}"
    words = " · ".join(clean(word) for word in (document.title, document.footer) if word)
    room = right - left - width(place, size, STRONG) - 16
    canvas.setFillGray(0)
    canvas.setDash()
    canvas.setLineWidth(STYLE.thin)
    canvas.line(left, STYLE.margin + size + 5, right, STYLE.margin + size + 5)
    lines = wrapped(words, size, room)
    put_line(canvas, left, STYLE.margin, text=lines[0] if len(lines) == 1 else lines[0] + " ...", size=size)
    put_line(canvas, right - width(place, size, STRONG), STYLE.margin, text=place, size=size, font=STRONG)
    if document.banner:
        text = clean(document.banner, STRONG)
        size = min(STYLE.banner, (right - left - 20) / max(width(text, 1.0, STRONG), 0.1))
        bottom = page[1] - STYLE.margin - STYLE.banner_height + 8
        canvas.setLineWidth(STYLE.heavy)
        canvas.rect(left + 1, bottom, right - left - 2, STYLE.banner_height - 8, stroke=1, fill=0)
        middle = bottom + (STYLE.banner_height - 8) / 2 - size * 0.33
        put_line(canvas, (left + right - width(text, size, STRONG)) / 2, middle, text=text, size=size, font=STRONG)


def _flowables(blocks: Sequence[model.Block], room: tuple[float, float], made: _Made) -> list[Any]:
    story: list[Any] = []
    for block in blocks:
        if isinstance(block, model.KeepTogether):
            inside = _flowables(block.blocks, (room[0], room[1] - 80), made)
            # Breaks would exclude the space before headings from the sum of heights.
            whole = [flow for flow in _unkept(inside) if not isinstance(flow, CondPageBreak)]
            story += [KeepTogether(whole)] if height_of(whole, room) <= room[1] else inside
        else:
            key = (id(block), room)
            if key not in made:
                made[key] = (block, _block(block, room))
            story += made[key][1]
    return _with_headings_kept(story, room)


def _with_headings_kept(story: list[Any], room: tuple[float, float]) -> list[Any]:
    """The story, with a page break before each heading that would be separated from the start of its text."""
    kept: list[Any] = []
    for i, each in enumerate(story):
        if is_heading(each) and not (i and is_heading(story[i - 1])):
            j = next((j for j in range(i, len(story)) if not is_heading(story[j])), len(story))
            follows = _beginning(story[j:], room)
            need = each.getSpaceBefore() + height_of([*story[i:j], *(flow for flow, _ in follows)], room)
            need -= sum(cut for _, cut in follows)
            kept.append(CondPageBreak(min(need, room[1])))
        kept.append(each)
    return kept


def _unkept(flows: list[Any]) -> Iterator[Any]:
    """All flowables, with groups that are kept together replaced by their contents."""
    for flow in flows:
        if isinstance(flow, KeepTogether):
            yield from _unkept(flow._content)
        else:
            yield flow


def _beginning(story: list[Any], room: tuple[float, float]) -> list[tuple[Any, float]]:
    """The items that must start on the page of a heading, each with the height that can go on the next page.

    That is the height of a paragraph or table without its start. A short paragraph stays with the start of the next
    item.
    """
    parts: list[tuple[Any, float]] = []
    stands = 0.0
    for each, after in zip_longest(story, story[1:]):
        if is_heading(each) or isinstance(each, PageBreak) or stands >= _BEGINNING:
            break
        if isinstance(each, KeepTogether):
            if parts and is_heading(each._content[0]):
                break
            return parts + [(flow, 0.0) for flow in each._content]
        whole = float(each.wrap(*room)[1])
        here = each.least if isinstance(each, BesideFlow) else whole if _stays_whole(each) else min(whole, _BEGINNING)
        if isinstance(each, ListFlow):
            here = max(here, float(sum(each._rowHeights[:_ROWS])))
        parts.append((each, whole - here))
        is_of_list = isinstance(each, FigureFlow) and isinstance(after, ListFlow) and after.continued
        stands += 0.0 if is_of_list else here  # the list begins on the page of its picture
    return parts


def _stays_whole(flow: Any) -> bool:
    if isinstance(flow, SideBySide):
        return not isinstance(flow, ColumnsFlow)
    return isinstance(flow, FigureFlow) or (isinstance(flow, Table) and not flow.splitByRow)


def _block(block: Any, room: tuple[float, float]) -> list[Any]:
    match block:
        case model.Heading():
            size, before = STYLE.headings[block.level - 1], (10.0, 7.0, 4.0)[block.level - 1]
            head = TextFlow(block.text, size, STRONG, before=before, after=size * 0.3, entry=block.level - 1)
            head.anchor = block.anchor
            return [head]
        case model.Paragraph():
            size = STYLE.small if block.small else STYLE.body
            text = TextFlow(block.text, size, lead=block.lead, after=4)
            text.anchor = block.anchor
            return [text]
        case model.Bullets():
            return [TextFlow(item, indent=13, marker="•", after=2) for item in block.items]
        case model.Steps():
            return [
                TextFlow(item, indent=36, marker=f"{i}.", tick=True, after=2)
                for i, item in enumerate(block.items, block.first)
            ]
        case model.Caution():
            return [caution_flow(block, room[0])]
        case model.Table():
            return [table_flow(block, room[0])]
        case model.KeyFigures():
            return [key_figures_flow(block, room[0])]
        case model.KeyValues():
            names = (model.Column("", weight=2), model.Column("", weight=5))
            return [table_flow(model.Table(names, block.pairs), room[0])]
        case model.Note():
            lead = f"{block.severity.upper()} {block.heading}."
            return [TextFlow("", lead=lead, after=0), *(TextFlow(line, after=2.5) for line in block.lines)]
        case model.Verbatim():
            return [TextFlow("", lines=[clean(line) for line in block.text.splitlines()])]
        case model.Figure():
            return [figure_flow(block, room)]
        case model.SetOut():
            return [FigureFlow(block.sheet, block.caption, block.anchors)]
        case model.PageBreak():
            return [PageBreak()]
        case model.Beside():
            return _beside(block, room)
        case model.Columns():
            half = (room[0] - GUTTER) / 2
            return [ColumnsFlow([flow for each in block.blocks for flow in _block(each, (half, room[1]))])]
    raise TypeError(f"not a block: {block!r}")


def _beside(block: model.Beside, room: tuple[float, float]) -> list[Flowable]:
    """Two blocks side by side, or one below the other if a drawing would shrink below half its full-page size.

    If the text is longer than the figure, it continues below both, to make the block as short as possible.
    """
    half = (room[0] - GUTTER) / 2
    sides = (block.left, block.right)
    figures = [each for side in sides for each in side if isinstance(each, model.Figure)]
    if any(_scale(each, (half, room[1])) * 2 < _scale(each, room) for each in figures):
        first, *others = [[f for each in side for f in _block(each, room)] for side in sides if side]
        if others and isinstance(others[0][0], Table):  # the sizes of the figure stay with it
            table, *rest = others[0]
            return [KeepTogether([*first, table]), *rest]
        return [KeepTogether(side) for side in (first, *others)]
    cells = [[f for each in side for f in _block(each, (half, room[1]))] for side in sides]
    drawn = [any(isinstance(flow, FigureFlow) for flow in cell) for cell in cells]
    if drawn[0] == drawn[1]:
        return [SideBySide(cells)]
    on = drawn.index(True)
    return [
        BesideFlow(cells[on], cells[1 - on], [f for each in sides[1 - on] for f in _block(each, room)], on, room[1])
    ]


def _scale(block: model.Figure, room: tuple[float, float]) -> Fraction:
    """The scale of a figure that fits in `room`, or None if the figure does not fit."""
    try:
        return fitted_figure(block, room).scale
    except ValueError:
        return Fraction(0)


def figure_flow(block: model.Figure, room: tuple[float, float]) -> FigureFlow:
    """A figure in a column `room` points wide and high, with its caption."""
    drawn = fitted_figure(block, room)
    words = [block.caption] if block.caption else []
    if block.say_scale:
        words.append(f"scale {scale_text(drawn.scale)}, sizes in {UNIT_WORDS[block.drawing.unit]}")
    words += [f"width drawn at {view.stretch} times" for view in drawn.drawing.views if view.stretch != 1]
    return FigureFlow(drawn.sheet, "; ".join(words))
