"""The HTML pen: a section as accessible HTML, with tables, headings, lists, and pictures as SVG inside the page.

Every text is escaped, and nothing else of it reaches the markup. There are no scripts, no inline styles and no
addresses except those within the section.
"""

import re
from collections.abc import Iterator, Sequence
from html import escape

from woodshop.drawing.arranging.figure import UNIT_WORDS, fitted_figure
from woodshop.drawing.pens.svg import svg_element
from woodshop.drawing.values import model
from woodshop.drawing.values.model import Align, Block, Cell, Section, cell_text, with_pages
from woodshop.drawing.values.paper import Sheet

TICK_BOX = "[ ]"
_ROOM = (540.0, 720.0)  # points: the text of a letter page, so that pictures have the text sizes of the packet
_LOWEST = 6  # HTML has six levels of headings
_WIDE, _SHARE = (
    4,
    5,
)  # a column of this weight or more, and of at least 1/5 of the table, holds sentences: they need room

STYLE_SHEET = """
.ws-section { overflow-wrap: anywhere; }
.ws-small { font-size: 0.9em; }
.ws-scroll { overflow-x: auto; max-width: 100%; margin: 0.75rem 0; }
.ws-scroll:focus-visible { outline: 3px solid; outline-offset: 2px; }
.ws-section table { border-collapse: collapse; font-variant-numeric: tabular-nums; overflow-wrap: normal; }
.ws-section caption { text-align: left; font-weight: 600; padding: 0.25rem 0; }
.ws-unseen { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }
.ws-section th, .ws-section td { padding: 0.3rem 0.75rem 0.3rem 0; text-align: left; vertical-align: top; }
.ws-section tbody th { font-weight: inherit; min-width: 6.5rem; }
.ws-section thead th, .ws-section thead td { border-bottom: 2px solid; font-weight: 600; vertical-align: bottom; }
.ws-section tbody tr > * { border-bottom: 1px solid; border-color: color-mix(in srgb, currentColor 25%, transparent); }
.ws-section tr.ws-strong > * { font-weight: 700; border-top: 2px solid; }
.ws-section .ws-right { text-align: right; white-space: nowrap; }
.ws-section .ws-centre { text-align: center; }
.ws-section .ws-cut-size { font-size: 1.25em; font-weight: 600; }
.ws-box { display: inline-block; width: 0.9em; height: 0.9em; border: 2px solid; vertical-align: -0.1em; }
.ws-section figure { margin: 0.75rem 0; }
.ws-section figcaption { font-size: 0.9em; margin-top: 0.25rem; }
.ws-section svg { background: #fff; display: block; }
.ws-section .ws-scroll svg { max-width: none; }
.ws-section .ws-wide { min-width: 11rem; }
.ws-section td svg { display: inline-block; vertical-align: middle; }
.ws-pairs { display: grid; grid-template-columns: minmax(6rem, max-content) 1fr; gap: 0.3rem 1rem; margin: 0.75rem 0; }
.ws-pairs dt { font-weight: 600; }
.ws-pairs dd { margin: 0; }
.ws-figures { display: flex; flex-wrap: wrap; gap: 0.75rem 2.5rem; margin: 0.75rem 0; }
.ws-figures div { display: flex; flex-direction: column-reverse; }
.ws-figures dd { margin: 0; font-size: 1.6em; font-weight: 700; }
.ws-caution, .ws-note { border: 2px solid; padding: 0.5rem 0.9rem; margin: 0.75rem 0; }
.ws-caution { border-width: 4px; }
.ws-note p, .ws-caution p { margin: 0.25rem 0; }
.ws-note-error { border-left-width: 12px; }
.ws-note-warning { border-left-width: 6px; }
.ws-beside { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(100%, 22rem), 1fr)); gap: 0 2rem; }
.ws-beside > div { min-width: 0; }
.ws-section pre { overflow-x: auto; }
@media (max-width: 30rem) { .ws-pairs { grid-template-columns: 1fr; gap: 0; } .ws-pairs dd { margin-bottom: 0.5rem; } }
@media print { .ws-scroll { overflow: visible; } .ws-section .ws-scroll svg { max-width: 100%; height: auto; } }
"""
"""The style sheet for what this pen writes. Colors are those of the page around it; pictures are on white paper."""


def section_html(section: Section, level: int = 2, prefix: str = "") -> str:
    """The section as HTML: its title as a heading of this level (1 to 6), its blocks below it.

    Headings never skip a level. `prefix` goes before every id, so that several sections can be on one page. Wide tables
    and pictures are in regions that can be scrolled with the keyboard. Raises ValueError if a figure cannot be fitted
    into the width of a page, or for another level.
    """
    if not 1 <= level <= _LOWEST:
        raise ValueError(f"heading level {level}; wanted 1 to {_LOWEST}")
    pen = _Pen(section, level, prefix)
    return f'<div class="ws-section">\n{"".join(pen.lines())}</div>\n'


def escaped(text: str) -> str:
    """The text for HTML: special characters escaped; control characters and half characters made harmless.

    >>> escaped('<b title="x">5 & 6</b>')
    '&lt;b title=&quot;x&quot;&gt;5 &amp; 6&lt;/b&gt;'
    """
    whole = text.encode("utf-8", "replace").decode("utf-8")
    return escape(re.sub(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ufffe\uffff]", " ", whole), quote=True)


def _broken(text: str) -> str:
    return escaped(text).replace("\n", "<br>")


def _whole(text: str) -> str:
    """The text of a cell, in which no line ends inside a number such as 19 7/8."""
    return re.sub(r"(?<=\d) (?=\d+/\d)", "\u00a0", text)


class _Pen:
    """Writes one section. Keeps the last heading, which names what follows it, and the names already given."""

    def __init__(self, section: Section, level: int, prefix: str) -> None:
        self.section, self.level, self.prefix = section, level, prefix
        self.last = level if section.title else level - 1
        used = sorted({each.level for each in model.flat_blocks(section.blocks) if isinstance(each, model.Heading)})
        self.levels = {each: self.last + 1 + n for n, each in enumerate(used)}
        self.heading = section.title
        self.named: dict[str, int] = {}
        self.given: set[str] = set()
        self.known = set(_anchors(section.blocks))

    def lines(self) -> Iterator[str]:
        if self.section.title and self.section.blocks:
            yield f"<h{self.level}{self.id_of(self.section.anchor)}>{escaped(self.section.title)}</h{self.level}>\n"
        yield from self.blocks(self.section.blocks)

    def blocks(self, blocks: Sequence[Block]) -> Iterator[str]:
        for block in with_pages(tuple(blocks), {}):
            yield from self.block(block)

    def block(self, block: Block) -> Iterator[str]:
        match block:
            case model.Heading():
                self.last = min(self.levels[block.level], self.last + 1, _LOWEST)
                self.heading = block.text
                yield f"<h{self.last}{self.id_of(block.anchor)}>{escaped(block.text)}</h{self.last}>\n"
            case model.Paragraph():
                lead = f"<strong>{escaped(block.lead)}</strong> " if block.lead else ""
                yield f"<p{self.id_of(block.anchor)}{_class('ws-small' if block.small else '')}>{lead}"
                yield f"{_broken(block.text)}</p>\n"
            case model.Bullets():
                yield f"<ul>{''.join(f'<li>{_broken(item)}</li>' for item in block.items)}</ul>\n"
            case model.Steps():
                yield f'<ol start="{block.first}">{"".join(f"<li>{_broken(item)}</li>" for item in block.items)}</ol>\n'
            case model.Caution():
                yield '<div class="ws-caution" role="note">'
                yield f"<p><strong>{escaped(block.title)}</strong></p><p>{_broken(block.text)}</p></div>\n"
            case model.Note():
                yield f'<div class="ws-note ws-note-{escaped(block.severity.value)}" role="note">'
                yield f"<p><strong>{escaped(block.severity.upper())}</strong> {escaped(block.heading)}</p>"
                yield "".join(f"<p>{_broken(line)}</p>" for line in block.lines) + "</div>\n"
            case model.Table():
                yield from self.table(block)
            case model.KeyValues():
                pairs = ((escaped(name), self.cell(value)) for name, value in block.pairs)
                yield f'<dl class="ws-pairs">{"".join(f"<dt>{n}</dt><dd>{v}</dd>" for n, v in pairs)}</dl>\n'
            case model.KeyFigures():
                pairs = ((escaped(name), escaped(value)) for name, value in block.figures)
                found = "".join(f"<div><dt>{n}</dt><dd>{v}</dd></div>" for n, v in pairs)
                yield f'<dl class="ws-figures">{found}</dl>\n'
            case model.Verbatim():
                yield f'<pre tabindex="0" role="group" aria-label="{self.name("text")}">{escaped(block.text)}</pre>\n'
            case model.Figure():
                drawn = fitted_figure(block, _ROOM)
                notes = [block.caption] if block.caption else []
                notes += [f"Sizes in {UNIT_WORDS[block.drawing.unit]}"] if block.say_scale else []
                notes += [f"Width drawn at {view.stretch} times" for view in drawn.drawing.views if view.stretch != 1]
                title = block.drawing.title or block.caption or self.heading
                yield from self.picture(drawn.sheet, title, ". ".join(block.drawing.notes), "; ".join(notes))
            case model.SetOut():
                yield "".join(f"<span{self.id_of(each)}></span>" for each in block.anchors)
                yield from self.picture(block.sheet, block.caption or self.heading, "", block.caption)
            case model.KeepTogether() | model.Columns():
                yield from self.blocks(block.blocks)
            case model.Beside():
                yield '<div class="ws-beside"><div>\n'
                yield from self.blocks(block.left)
                yield "</div><div>\n"
                yield from self.blocks(block.right)
                yield "</div></div>\n"

    def picture(self, sheet: Sheet, title: str, description: str, caption: str) -> Iterator[str]:
        yield f'<figure><div class="ws-scroll" tabindex="0" role="group" aria-label="{self.name("picture", title)}">'
        yield svg_element(sheet, title or "picture", description)
        yield f"</div>{f'<figcaption>{escaped(caption)}</figcaption>' if caption else ''}</figure>\n"

    def table(self, block: model.Table) -> Iterator[str]:
        columns, rows = block.shown_columns, block.shown_rows
        name = self.name("table", block.continued)
        links = {(row, column): anchor for row, column, anchor in block.links if anchor in self.known}
        anchors = dict(block.anchors)
        shown = [n for n, column in enumerate(block.columns) if column.shown]
        header = _row_header(columns, rows)
        small = " ws-small" if block.small else ""
        yield f'<div class="ws-scroll{small}" tabindex="0" role="group" aria-label="{name}">'
        yield f'<table><caption class="ws-unseen">{name}</caption>\n'
        if any(column.heading for column in columns):
            heads = (
                f'<th scope="col"{_class(_looks(column, columns))}>{escaped(column.heading)}</th>'
                if column.heading
                else "<td></td>"
                for column in columns
            )
            yield f"<thead><tr>{''.join(heads)}</tr></thead>\n"
        yield "<tbody>\n"
        for n, row in enumerate(rows):
            yield f"<tr{self.id_of(anchors.get(n, ''))}{_class('ws-strong' if n in block.strong else '')}>"
            for m, (column, cell) in enumerate(zip(columns, row, strict=True)):
                text, anchor = self.cell(cell), links.get((n, shown[m]))
                if anchor is not None and text:
                    text = f'<a href="#{escaped(self.prefix + anchor)}">{text}</a>'
                looks = _class(_looks(column, columns))
                yield f'<th scope="row"{looks}>{text}</th>' if m == header else f"<td{looks}>{text}</td>"
            yield "</tr>\n"
        yield "</tbody></table></div>\n"

    def cell(self, cell: Cell) -> str:
        if isinstance(cell, model.Picture):
            return svg_element(cell.sheet, cell.text or "picture")
        text = cell_text(cell)
        return (
            '<span class="ws-box" role="img" aria-label="tick box"></span>'
            if text == TICK_BOX
            else _whole(_broken(text))
        )

    def name(self, kind: str, own: str = "") -> str:
        """The name of a table or picture for those who cannot see it. No two in the section have the same."""
        words = own or self.heading or kind
        self.named[words] = count = self.named.get(words, 0) + 1
        return escaped(words if count == 1 else f"{words}, {kind} {count}")

    def id_of(self, anchor: str) -> str:
        if not anchor or anchor in self.given:
            return ""
        self.given.add(anchor)
        return f' id="{escaped(self.prefix + anchor)}"'


def _anchors(blocks: Sequence[Block]) -> Iterator[str]:
    for block in model.flat_blocks(blocks):
        match block:
            case model.Heading() | model.Paragraph():
                yield block.anchor
            case model.Table():
                yield from (anchor for _, anchor in block.anchors)
            case model.SetOut():
                yield from block.anchors


def _row_header(columns: Sequence[model.Column], rows: Sequence[tuple[Cell, ...]]) -> int | None:
    """The first column whose cells name their rows: it has a text in every row, no number, tick box or picture."""
    for n, column in enumerate(columns if rows else ()):
        cells = [row[n] for row in rows]
        if column.align is not Align.RIGHT and all(
            isinstance(cell, str) and cell.strip() and cell != TICK_BOX for cell in cells
        ):
            return n
    return None


def _looks(column: model.Column, columns: Sequence[model.Column]) -> str:
    words = {Align.RIGHT: "ws-right", Align.CENTRE: "ws-centre", Align.LEFT: ""}[column.align]
    is_wide = column.weight >= max(_WIDE, sum(each.weight for each in columns) / _SHARE)
    return f"{words}{' ws-cut-size' if column.cut_size else ''}{' ws-wide' if is_wide else ''}"


def _class(words: str) -> str:
    return f' class="{words.strip()}"' if words.strip() else ""
