"""Draws the boards of a material: several to a page at one scale, and small pictures of boards at the saw."""

from collections.abc import Sequence
from dataclasses import KW_ONLY, dataclass, replace
from fractions import Fraction

from woodshop.drawing.arranging.arrange import lay_view
from woodshop.drawing.values.model import Picture, SetOut, View
from woodshop.drawing.values.paper import Box, Mark, Sheet, Stroke, Word, sheet_of
from woodshop.drawing.values.style import PAPERS, POINTS_PER_MM, STYLE, clean, register, wrapped
from woodshop.drawing.views.layout import Rect, stretch_at
from woodshop.units.lengths import ZERO, Length

ROOM = min(wide for wide, _ in PAPERS.values()) - 2 * STYLE.margin
_BESIDE = 30.0  # points left for leaders next to the longest board
_HIGHEST = 60  # points: the widest board or sheet of a material, drawn to scale
_LEAST_LONG, _SQUARE = 60, 90  # points: a board wider than long is drawn this long, but no higher than this
_LARGEST = Fraction(1, 6)  # no board is drawn larger than this
_SEEN = 3.2  # points: if a strip would be narrower than this at the common scale, its board is drawn larger
_ALONE = 0.6  # share of the width: nothing is put next to a board wider than this
_APART = 18.0  # points between boards side by side
_NAME, _SAID, _SAID_ROOM = STYLE.body, 10.0, 255.0
_TYPE, _SPACE = 10.0, 5.0  # points: the type of a small picture, and the space between the text and the picture
_NAMES, _WIDE, _GIVES = 38.0, 90.0, 58.0  # points: layout and boards, the longest board, and its yield
_HIGH, _MOST_HIGH, _OUTLINED = 10.0, 14.0, 2.5  # points: height of a picture, its maximum, smallest outlined piece


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardPicture:
    """A board or sheet to draw: its name, its view (`views.layout`), its notes and its anchor."""

    name: str
    view: View
    strips: tuple[Length, ...]
    said: str = ""
    anchor: str = ""


def board_rows(boards: Sequence[BoardPicture], unit: str) -> tuple[SetOut, ...]:
    """The boards at one scale, each below its name, with as many side by side as fit. Each row is one block."""
    if not boards:
        return ()
    register()
    sizes = [tuple((b - a).mm for a, b in zip(*board.view.bounds, strict=True)) for board in boards]
    longest, widest = (max(size[n] for size in sizes) * POINTS_PER_MM for n in (0, 1))
    highest = max(Fraction(_HIGHEST), min(_LEAST_LONG * widest / longest, Fraction(_SQUARE)))
    scale = min(Fraction(int(ROOM - _BESIDE)) / longest, highest / widest, _LARGEST)
    rows: list[list[tuple[BoardPicture, Sheet]]] = []
    free = 0.0
    for board in boards:
        sheet = _board(board, scale, unit)
        if rows and sheet.size[0] <= free:
            rows[-1].append((board, sheet))
            free -= sheet.size[0] + _APART
        else:
            rows.append([(board, sheet)])
            free = ROOM - sheet.size[0] - _APART
    return tuple(_side_by_side(row) for row in rows)


def _board(board: BoardPicture, scale: Fraction, unit: str) -> Sheet:
    """One board below its name, from (0, 0) down. The board is drawn smaller only if its leaders need the space."""
    least = min((strip.mm for strip in board.strips), default=board.view.bounds[1][1].mm) * scale * POINTS_PER_MM * 2
    if least < _SEEN:
        long, wide = (side.mm * POINTS_PER_MM for side in board.view.bounds[1])
        most = min(Fraction(int(ROOM - _BESIDE)) / long, Fraction(_HIGHEST) / wide / 2)
        scale = max(scale, min(most, scale * Fraction(_SEEN) / least))
    while True:
        stretch = stretch_at(scale, *board.view.bounds[1], board.strips)
        drawn = sheet_of(lay_view(replace(board.view, stretch=stretch), scale, unit).marks)
        if drawn.size[0] <= ROOM:
            break
        scale *= Fraction(9, 10)
    words = [Word(clean(board.name), 0.0, -_NAME, size=_NAME, strong=True)]
    if stretch != 1:
        words.append(Word(f"(width drawn {stretch} : 1)", words[0].box.right + 5.0, -_NAME, size=STYLE.small))
    said = Word(clean(board.said), words[-1].box.right + 10.0, -_NAME, size=_SAID)
    room = ROOM if drawn.size[0] > ROOM * _ALONE else max(drawn.size[0], words[-1].box.right, _SAID_ROOM)
    is_inline = said.box.right <= room
    low = -_NAME * 1.5
    marks: list[Mark] = [
        *words,
        *([said] if is_inline else []),
        *drawn.moved(-drawn.box.left, low - drawn.box.top).marks,
    ]
    low -= drawn.size[1] + _SAID * 0.3
    for line in () if is_inline else wrapped(board.said, _SAID, room):
        low -= _SAID * STYLE.leading
        marks.append(Word(line, 0.0, low, size=_SAID))
    held = sheet_of(marks).box
    return Sheet(tuple(marks), Box(0.0, held.bottom, held.right, 0.0))


def _side_by_side(row: Sequence[tuple[BoardPicture, Sheet]]) -> SetOut:
    marks: list[Mark] = []
    at = 0.0
    for _, sheet in row:
        marks += sheet.moved(at, 0.0).marks
        at += sheet.size[0] + _APART
    low = min(sheet.box.bottom for _, sheet in row)
    whole = Sheet(tuple(marks), Box(0.0, low - 2.0, ROOM, 0.0))
    return SetOut(whole, anchors=tuple(board.anchor for board, _ in row if board.anchor))


@dataclass(frozen=True, slots=True)
class Passing:
    """A board at the saw: its name, count and size, its pieces, the areas that this cut separates, and the yield."""

    name: str
    boards: int
    length: Length
    width: Length
    _: KW_ONLY
    pieces: tuple[Rect, ...]
    removed: tuple[Rect, ...]
    gives: str


def passing_picture(boards: Sequence[Passing], longest: Length, *, is_alone: bool) -> Picture:
    """Small pictures of boards, one below another, each with its name. What its current cut separates is dark gray.

    The yield of each board is next to it, unless it is the only board (`is_alone`).

    Boards are to scale only along their length, sheets in both directions. A board of length `longest` fills the width.
    """
    register()
    scale = float(_WIDE / (longest.mm * POINTS_PER_MM))
    marks: list[Mark] = []
    left, top = 20.0 if is_alone else _NAMES, 0.0
    room = left + _WIDE + (0.0 if is_alone else _GIVES)
    for n, each in enumerate(boards):
        top -= _SPACE * 0.8 if n else 0.0
        ratio_x = float(POINTS_PER_MM) * scale
        high = min(max(float(each.width.mm) * ratio_x, _HIGH), _MOST_HIGH)
        ratio = (ratio_x, high / float(each.width.mm))
        words = wrapped(each.gives, _TYPE, _GIVES - _SPACE) if not is_alone else ()
        tall = max(high, _TYPE * 1.1 * len(words))
        bottom, base = top - (tall + high) / 2, top - tall / 2 - _TYPE * 0.33
        for fill, rects in (("paper", each.pieces), ("dark", each.removed)):
            marks += [_shape(rect, ratio, (left, bottom), fill) for rect in rects]
        marks.append(replace(_shape(Rect(ZERO, ZERO, each.length, each.width), ratio, (left, bottom), ""), weight=0.8))
        marks.append(Word(clean(each.name), 0.0, base, size=_TYPE, strong=True))
        marks += [Word(f"x {each.boards}", 16.0, base, size=_TYPE)] if each.boards > 1 and not is_alone else []
        marks += [
            Word(line, left + _WIDE + _SPACE, base + (len(words) - 1 - 2 * n) * _TYPE * 0.55, size=_TYPE)
            for n, line in enumerate(words)
        ]
        top -= tall
    text = "; ".join(f"{each.name} x {each.boards}: {each.gives}".removesuffix(": ") for each in boards)
    return Picture(Sheet(tuple(marks), Box(0.0, top, room, 2.0)), text)


def _shape(rect: Rect, ratio: tuple[float, float], at: tuple[float, float], fill: str) -> Stroke:
    """A rectangle of a small picture. If it is too narrow for an outline, it is a bar."""
    x, y = (begin + float(each.mm) * own for begin, each, own in zip(at, (rect.x, rect.y), ratio, strict=True))
    long, high = (float(each.mm) * own for each, own in zip((rect.length, rect.width), ratio, strict=True))
    weight = 0.4
    if min(long, high) < _OUTLINED:
        weight, fill = 0.0, "ink" if fill == "dark" else "dark"
    return Stroke(((x, y), (x + long, y), (x + long, y + high), (x, y + high)), weight, closed=True, fill=fill)
