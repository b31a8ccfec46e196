"""The text pen: a section as lines for a terminal.

Widths are in terminal cells. An East Asian wide character takes two cells, and a combining character takes none (UAX
11).
"""

from collections.abc import Iterator, Sequence
from io import StringIO
from itertools import zip_longest
from unicodedata import category, east_asian_width

from woodshop.drawing.values import model
from woodshop.drawing.values.model import Align, Block, Section, cell_text

LEAST_WIDTH = 20  # cells; text for a narrower terminal is laid out for this width
_GAP = "  "
_NARROW = 8  # cells; if a column would be narrower, rows are written as names with their values
_STRONG, _PLAIN = "\x1b[1m", "\x1b[0m"
_APART = (model.Table, model.KeyValues, model.Verbatim, model.KeyFigures)


def section_text(section: Section, width: int | None = None, styled: bool = False) -> str:
    """The section's title and blocks as text, wrapped to `width` cells (not wrapped if None).

    `styled` is for terminals with bold type. Only the captions of pictures are shown.
    """
    room = None if width is None else max(width, LEAST_WIDTH)
    lines: list[str] = []
    last: Block | None = None
    for block in model.flat_blocks(section.with_title):
        written = [line.rstrip() for line in _block(block, room, styled)]
        if written and last is not None and _is_apart(last, block):
            lines.append("")
        lines += written
        last = block if written else last
    return "\n".join(lines)


def markdown_text(markdown: str, width: int, styled: bool) -> str:
    """The `markdown` formatted for `width` terminal cells. `styled` is for terminals with bold type and colors."""
    from rich.console import Console
    from rich.markdown import Markdown
    from rich.theme import Theme

    out = StringIO()
    console = Console(
        file=out,
        width=max(width, LEAST_WIDTH),
        height=100,
        force_terminal=styled,
        color_system="standard" if styled else None,
        theme=Theme({"markdown.code": "bold cyan", "markdown.code_block": "cyan"}),
        _environ={},
    )
    console.print(Markdown(markdown, code_theme="ansi_dark", hyperlinks=False))
    return "\n".join(line.rstrip() for line in out.getvalue().splitlines())


def text_width(text: str) -> int:
    """The number of terminal cells of the text.

    >>> text_width("é"), text_width("e\\u0301"), text_width("蜂")
    (1, 1, 2)
    """
    return len(text) if text.isascii() else sum(map(_cells, text))


def wrapped_text(text: str, width: int | None) -> list[str]:
    """The text in lines of at most `width` cells. Lines break between words, and within words that are too long.

    >>> wrapped_text("keep dry and out of the wind", 12)
    ['keep dry and', 'out of the', 'wind']
    """
    return [line for part in text.split("\n") for line in _lines_of(part, width)]


def _cells(character: str) -> int:
    if category(character) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if east_asian_width(character) in "WF" else 1


def _lines_of(text: str, width: int | None) -> Iterator[str]:
    if width is None or text_width(text) <= width:
        yield text
        return
    line = ""
    for word in text.split():
        if line and text_width(line) + 1 + text_width(word) <= width:
            line += f" {word}"
            continue
        if line:
            yield line
        line = ""
        for character in word:
            if line and text_width(line) + _cells(character) > width:
                yield line
                line = ""
            line += character
    yield line


def _is_apart(last: Block, block: Block) -> bool:
    """Whether there is an empty line between two blocks."""
    if isinstance(last, model.Heading):
        return False
    return isinstance(block, model.Heading) or isinstance(last, _APART) or isinstance(block, _APART)


def _block(block: Block, room: int | None, styled: bool) -> Iterator[str]:
    match block:
        case model.Heading():
            yield from (_strong(line, styled) for line in wrapped_text(block.text, room))
        case model.Paragraph():
            yield from _led(block.lead, block.text, room, styled)
        case model.Caution():
            yield from _led(f"{block.title}:", block.text, room, styled)
        case model.Note():
            word = block.severity.upper()
            yield from _led(word, f"{'':{8 - len(word)}}{block.heading}", room, styled)
            yield from (line for text in block.lines for line in _hanging("    ", text, room))
        case model.Bullets():
            yield from (line for item in block.items for line in _hanging("- ", item, room))
        case model.Steps():
            for n, item in enumerate(block.items, block.first):
                yield from _hanging(f"{n}. [ ] ", item, room)
        case model.KeyValues():
            yield from _pairs(block.pairs, room)
        case model.KeyFigures():
            yield from _pairs(block.figures, room)
        case model.Verbatim():
            yield from block.text.splitlines()
        case model.Table():
            yield from _table(block, room, styled)
        case model.Figure() | model.SetOut() if block.caption:
            yield from _hanging("Picture: ", block.caption, room)


def _strong(text: str, styled: bool) -> str:
    return f"{_STRONG}{text}{_PLAIN}" if styled and text else text


def _led(lead: str, text: str, room: int | None, styled: bool) -> Iterator[str]:
    """The lines of a paragraph, with its lead in bold if the lead fits on the first line."""
    first, *rest = wrapped_text(f"{lead} {text}" if lead else text, room)
    has_lead = first.startswith(lead)
    yield _strong(lead, styled) + first[len(lead) :] if has_lead else first
    yield from rest


def _hanging(mark: str, text: str, room: int | None) -> Iterator[str]:
    """The lines of a paragraph after a mark; later lines are aligned with the first line's text."""
    for n, line in enumerate(wrapped_text(text, None if room is None else room - len(mark))):
        yield f"{mark if n == 0 else ' ' * len(mark)}{line}"


def _pairs(pairs: Sequence[tuple[str, model.Cell]], room: int | None) -> Iterator[str]:
    if not pairs:
        return
    wide = max(text_width(name) for name, _ in pairs)
    if room is not None and wide + len(_GAP) > room // 2:
        for name, value in pairs:
            yield from _hanging("", f"{name}: {cell_text(value)}", room)
        return
    columns = (model.Column(""), model.Column(""))
    yield from _table(model.Table(columns, tuple(pairs)), room, False)


def _table(block: model.Table, room: int | None, styled: bool) -> Iterator[str]:
    columns, rows = block.shown_columns, block.text_rows
    heads = tuple(column.heading for column in columns)
    most = [max(text_width(part) for row in (heads, *rows) for part in row[n].split("\n")) for n in range(len(columns))]
    widths = most if room is None else _shared(most, room)
    if any(wide < min(_NARROW, own) for wide, own in zip(widths, most, strict=True)):
        for n, row in enumerate(rows):
            yield from [""] if n else []
            for head, cell in zip(heads, row, strict=True):
                yield from _hanging("", f"{head}: {cell}" if head else cell, room)
        return
    if any(heads):
        yield from (_strong(line, styled) for line in _row(heads, columns, widths))
    for n, row in enumerate(rows):
        yield from (_strong(line, styled and n in block.strong) for line in _row(row, columns, widths))


def _shared(most: Sequence[int], room: int) -> list[int]:
    """The width of each column: the width it needs or, for the widest columns, an equal share of what remains."""
    left, widths = room - len(_GAP) * (len(most) - 1), list(most)
    for done, n in enumerate(sorted(range(len(most)), key=lambda n: most[n])):
        widths[n] = min(most[n], left // (len(most) - done))
        left -= widths[n]
    return widths


def _row(row: Sequence[str], columns: Sequence[model.Column], widths: Sequence[int]) -> Iterator[str]:
    cells = [wrapped_text(cell, wide) for cell, wide in zip(row, widths, strict=True)]
    for line in zip_longest(*cells, fillvalue=""):
        yield _GAP.join(
            _padded(text, column.align, wide) for text, column, wide in zip(line, columns, widths, strict=True)
        ).rstrip()


def _padded(text: str, align: Align, wide: int) -> str:
    spare = wide - text_width(text)
    before = {Align.LEFT: 0, Align.RIGHT: spare, Align.CENTRE: spare // 2}[align]
    return " " * before + text + " " * (spare - before)
