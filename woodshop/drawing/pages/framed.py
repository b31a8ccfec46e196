"""Tables, cautions and key figures: blocks in ruled frames, made of wrapped text."""

from collections.abc import Sequence
from typing import Any

from reportlab.lib import colors
from reportlab.platypus import Flowable, Table

from woodshop.drawing.pages.flow import PictureFlow, TextFlow, TickBox, Triangle
from woodshop.drawing.values import model
from woodshop.drawing.values.fonts import REGULAR, STRONG, clean, width, wrapped
from woodshop.drawing.values.style import STYLE

_PAD = 5.0
_UNDIVIDED = 90.0  # points: a table no higher than this stays on one page
_LONGEST_CELL = 30  # lines; a longer cell is split over rows so that any page can hold it


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
    return box


_PADDING = [
    ("FONT", (0, 0), (-1, -1), REGULAR, STYLE.body),
    ("LEFTPADDING", (0, 0), (-1, -1), _PAD),
    ("RIGHTPADDING", (0, 0), (-1, -1), _PAD),
    ("TOPPADDING", (0, 0), (-1, -1), 1.0),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
]


def table_flow(block: model.Table, room: float) -> Flowable:
    """A table as wide as the column; short ones stay whole, long ones repeat their headings."""
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
    links = {(row, column): anchor for row, column, anchor in block.links}
    anchors = dict(block.anchors)
    for i, row in enumerate(block.shown_rows):
        own = _row(row, columns, sizes, widths, STRONG if i in block.strong else None)
        flows = [(j, cell) for each in own for j, cell in enumerate(each) if isinstance(cell, TextFlow)]
        for j, cell in flows:
            cell.link = links.get((i, j), "")
        if flows:
            flows[0][1].anchor = anchors.get(i, "")
        rows += own
        style.append(("LINEBELOW", (0, len(rows) - 1), (-1, len(rows) - 1), STYLE.thin, colors.black))
    if len(rows) > 4 and all(len(cell.fixed or ()) <= 6 for row in rows for cell in row if isinstance(cell, TextFlow)):
        style += [("NOSPLIT", (0, 0), (-1, 2)), ("NOSPLIT", (0, -2), (-1, -1))]
    table = Table(rows, colWidths=widths, repeatRows=1, style=style)
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
    """One row of cells, or several when a cell is too long for one."""
    cells: list[list[Any]] = []
    for cell, column, size, wide in zip(row, columns, sizes, widths, strict=True):
        face = font or (STRONG if column.cut_size else REGULAR)
        if isinstance(cell, model.Picture):
            cells.append([PictureFlow(cell.sheet)])
            continue
        text = model.cell_text(cell)
        if text == "[ ]":
            cells.append([TickBox(size, column.align.value)])
            continue
        lines = [line for part in text.split("\n") for line in wrapped(part, size, wide - 2 * _PAD, face)]
        parts = [lines[i : i + _LONGEST_CELL] for i in range(0, len(lines), _LONGEST_CELL)]
        cells.append([TextFlow("", size, face, align=column.align.value, lines=part, after=0) for part in parts])
    deep = max((len(cell) for cell in cells), default=1)
    return [[cell[i] if i < len(cell) else "" for cell in cells] for i in range(deep)]


def _widths(block: model.Table, sizes: Sequence[float], room: float) -> list[float]:
    """Column widths by weight, but none narrower than its longest word while there is room."""
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
    """Important numbers side by side, each over its meaning."""
    count = max(len(block.figures), 1)
    wide = room / count
    top: list[Any] = []
    bottom: list[Any] = []
    for what, value in block.figures:
        size = (wide - 2 * _PAD - 0.5) / max(width(clean(value), 1.0, STRONG), 0.1)
        size = max(min(size, STYLE.figure_value), STYLE.headings[2])
        top.append(TextFlow(value, size, STRONG, align="centre", after=0))
        bottom.append(TextFlow(what, STYLE.small + 1, align="centre", after=0))
    style = [*_PADDING, ("BOX", (0, 0), (-1, -1), STYLE.outline, colors.black), ("VALIGN", (0, 0), (-1, 0), "BOTTOM")]
    style += [("LINEAFTER", (i, 0), (i, -1), STYLE.thin, colors.black) for i in range(count - 1)]
    table = Table([top, bottom], colWidths=[wide] * count, style=style)
    table.spaceBefore, table.spaceAfter = 4, 9
    return table
