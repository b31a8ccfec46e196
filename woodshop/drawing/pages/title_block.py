"""A drawing's title block: ruled cells with the fields of ISO 7200, and the symbol of the projection (ISO 5456-2).

Which fields a block has is the caller's; here they are set in as many rows as the width asks for.
"""

from collections.abc import Sequence

from woodshop.drawing.values.fonts import STRONG, clean, width, wrapped
from woodshop.drawing.values.paper import Mark, Ring, Sheet, Stroke, Word, sheet_of
from woodshop.drawing.values.style import STYLE

_PAD = 4.0
_SYMBOL = 54.0  # points wide
_LEAST = 34.0


def title_block(fields: Sequence[tuple[str, str]], room: float) -> Sheet:
    """The block `room` points wide, its lower left corner at (0, 0): each cell a small label over its value.

    The first cell holds the third-angle symbol; fields follow in their order, row by row.
    """
    rows = _rows([(clean(label), clean(value, STRONG)) for label, value in fields], room - _SYMBOL)
    pitch = STYLE.body * STYLE.leading
    heights = [STYLE.least + 3.0 + pitch * max(len(lines) for _, lines, _ in row) for row in rows]
    tall = sum(heights)
    marks: list[Mark] = [_frame(0.0, 0.0, room, tall), Stroke(((_SYMBOL, 0.0), (_SYMBOL, tall)), STYLE.thin)]
    marks += _third_angle(_SYMBOL / 2, tall / 2)
    top = tall
    for row, high in zip(rows, heights, strict=True):
        x = _SYMBOL
        if top < tall:
            marks.append(Stroke(((_SYMBOL, top), (room, top)), STYLE.thin))
        for n, (label, lines, wide) in enumerate(row):
            if n:
                marks.append(Stroke(((x, top), (x, top - high)), STYLE.thin))
            y = top - STYLE.least
            marks.append(Word(label, x + _PAD, y, size=STYLE.least))
            y += 1.0  # a value is nearer to its label than to the rule below
            for line in lines:
                y -= pitch
                marks.append(Word(line, x + _PAD, y, size=STYLE.body, strong=True))
            x += wide
        top -= high
    return sheet_of(marks)


def _rows(fields: Sequence[tuple[str, str]], room: float) -> list[list[tuple[str, tuple[str, ...], float]]]:
    """Label, lines and width of every cell: each in the first row with room for it, the spare width shared out."""
    rows: list[list[tuple[str, str, float]]] = []
    for label, value in fields:
        need = max(width(label, STYLE.least), width(value, STYLE.body, STRONG), _LEAST) + 2 * _PAD + 1.0
        need = min(need, room)
        row = next((row for row in rows if sum(wide for _, _, wide in row) + need <= room), None)
        if row is None:
            rows.append(row := [])
        row.append((label, value, need))
    found = []
    for row in rows:
        spare = (room - sum(wide for _, _, wide in row)) / max(len(row), 1)
        found.append(
            [
                (label, wrapped(value, STYLE.body, wide + spare - 2 * _PAD, STRONG), wide + spare)
                for label, value, wide in row
            ]
        )
    return found


def _frame(x: float, y: float, right: float, top: float) -> Stroke:
    return Stroke(((x, y), (right, y), (right, top), (x, top)), STYLE.outline, closed=True)


def _third_angle(x: float, y: float) -> list[Mark]:
    """Both circles of a truncated cone to the left of its side view: seen from the left, drawn at the left."""
    far, near, long = 9.0, 4.5, 16.0
    left, cone = x - 13.0, x + 2.0
    side = ((cone, y - near), (cone + long, y - far), (cone + long, y + far), (cone, y + near))
    axis = (((left - far - 3.0, y), (cone + long + 3.0, y)), ((left, y - far - 3.0), (left, y + far + 3.0)))
    marks: list[Mark] = [Ring(left, y, far, weight=STYLE.hidden), Ring(left, y, near, weight=STYLE.hidden)]
    marks.append(Stroke(side, STYLE.hidden, closed=True))
    return [*marks, *(Stroke(line, STYLE.thin, STYLE.centre_dash) for line in axis)]
