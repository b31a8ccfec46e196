"""Cuts a full-size section out of a view, and cuts a view larger than the paper into tiles to be joined.

All lengths stay exact, so whatever is on two tiles has the same position on both.
"""

import math
from collections.abc import Iterator
from dataclasses import KW_ONLY, dataclass, replace
from fractions import Fraction
from itertools import pairwise

from woodshop.drawing.values.model import Arrow, Circle, Dimension, Kind, Label, Line, Point, Side, View
from woodshop.units.lengths import ZERO, Length, millimetre

OVERLAP = millimetre("12.7")
REGISTER = millimetre(6)  # diameter of a register mark
_ZIGZAG = millimetre(2)  # half the height and half the width of the zigzag of a break line (ISO 128)
_NUDGE = millimetre("0.5")  # the distance by which a joint is moved away from a hole
_CORNERS = 96  # corners of the polygon that stands for a circle cut by the edge of a window


@dataclass(frozen=True, slots=True)
class Tile:
    """One tile of a view: its column from the left and row from the top (from 1), and the numbers of columns and rows.

    `view` keeps the axes of the whole view; `left` is the position of the tile's left joint (or the view's left edge).
    """

    column: int
    row: int
    columns: int
    _: KW_ONLY
    rows: int
    view: View
    left: Length

    @property
    def neighbours(self) -> tuple[tuple[str, int, int], ...]:
        """The (side, column, row) of every adjacent tile."""
        beside = (
            ("left", self.column - 1, self.row),
            ("right", self.column + 1, self.row),
            ("above", self.column, self.row - 1),
            ("below", self.column, self.row + 1),
        )
        return tuple(each for each in beside if 1 <= each[1] <= self.columns and 1 <= each[2] <= self.rows)


def windowed(view: View, low: Point, high: Point, broken: tuple[Side, ...] = ()) -> View:
    """The part of the view inside an upright window, with a break line on each side where the part continues.

    A dimension remains if both ends are in the window, and a callout if its target is in the window. Areas are omitted.
    """
    lines: list[Line] = []
    for line in view.lines:
        lines += _clipped(line, low, high)
    circles = []
    for circle in view.circles:
        if _inside(_corners_of(circle), low, high):
            circles.append(circle)
        else:
            lines += _clipped(Line(_many_sided(circle), circle.kind, closed=True), low, high)
    lines += [_break(side, low, high) for side in broken]
    return replace(
        view,
        lines=tuple(lines),
        circles=tuple(circles),
        regions=(),
        dimensions=tuple(_kept_dimensions(view.dimensions, low, high)),
        labels=tuple(_kept_labels(view.labels, low, high)),
        arrows=tuple(Arrow(a.text, _clamped(a.start, low, high), _clamped(a.end, low, high)) for a in view.arrows),
    )


def tiles_of(view: View, wide: Length, high: Length, overlap: Length = OVERLAP) -> tuple[Tile, ...]:
    """The view in tiles of at most `wide` x `high`, row by row from the top, or one tile if it fits.

    Neighbors share a strip `overlap` wide. The joint runs along the middle of the strip on both tiles, with register
    marks where it meets the edges of the view. Raises ValueError if a tile is no larger than the overlap.
    """
    if wide <= overlap or high <= overlap:
        raise ValueError(f"tiles of {wide} x {high} with an overlap of {overlap}")
    (x0, y0), (x1, y1) = view.bounds
    columns = _stretches(x0, x1, wide, overlap, [_reach(circle, 0) for circle in view.circles])
    rows = _stretches(y0, y1, high, overlap, [_reach(circle, 1) for circle in view.circles])
    tiles = []
    for r, (bottom, top) in enumerate(reversed(rows), 1):
        for c, (left, right) in enumerate(columns, 1):
            part = windowed(view, (left, bottom), (right, top))
            joints = list(_joints((left, bottom), (right, top), (x0, y0), (x1, y1), overlap))
            circles = tuple(each for each in joints if isinstance(each, Circle))
            lines = tuple(each for each in joints if isinstance(each, Line))
            part = replace(part, lines=part.lines + lines, circles=part.circles + circles)
            tiles.append(
                Tile(c, r, len(columns), rows=len(rows), view=part, left=left if c == 1 else left + overlap / 2)
            )
    return tuple(tiles)


def _stretches(
    low: Length, high: Length, most: Length, overlap: Length, holes: list[tuple[Length, Length]]
) -> list[tuple[Length, Length]]:
    """Overlapping ranges of about equal length, at most `most` long, with joints that avoid holes if possible."""
    if high - low <= most:
        return [(low, high)]
    count = -int(-(high - low - overlap).mm // (most - overlap).mm)
    step = (high - low - overlap) / count
    tries = int((most - overlap - step) / 2 / _NUDGE)
    joints = [low]
    for n in range(1, count):
        even = low + step * n
        shifts = (_NUDGE * (k * sign) for k in range(tries + 1) for sign in (1, -1))
        free = (even + by for by in shifts if not any(a <= even + by + overlap / 2 <= b for a, b in holes))
        joints.append(next(free, even))
    ends = [each + overlap for each in joints[1:]] + [high]
    return list(zip(joints, ends, strict=True))


def _reach(circle: Circle, axis: int) -> tuple[Length, Length]:
    low, high = _corners_of(circle)
    return low[axis], high[axis]


def _joints(low: Point, high: Point, whole_low: Point, whole_high: Point, overlap: Length) -> Iterator[Line | Circle]:
    """The joints of a tile with its neighbors, and the register marks on them."""
    half, past = overlap / 2, REGISTER
    for at, is_joint in ((low[0] + half, low[0] > whole_low[0]), (high[0] - half, high[0] < whole_high[0])):
        if is_joint:
            yield Line(((at, low[1] - past), (at, high[1] + past)), Kind.CUT)
            yield from _registers([(at, y) for y in (low[1], high[1])])
    for at, is_joint in ((low[1] + half, low[1] > whole_low[1]), (high[1] - half, high[1] < whole_high[1])):
        if is_joint:
            yield Line(((low[0] - past, at), (high[0] + past, at)), Kind.CUT)
            yield from _registers([(x, at) for x in (low[0], high[0])])


def _registers(spots: list[Point]) -> Iterator[Line | Circle]:
    reach = REGISTER / 2
    for x, y in spots:
        yield Circle((x, y), REGISTER, Kind.THIN)
        yield Line(((x - reach, y), (x + reach, y)), Kind.THIN)
        yield Line(((x, y - reach), (x, y + reach)), Kind.THIN)


def _clipped(line: Line, low: Point, high: Point) -> Iterator[Line]:
    """The part of the line inside the window, in one or more pieces."""
    if _inside(line.points, low, high):
        yield line
        return
    ring = (*line.points, line.points[0]) if line.closed else line.points
    run: list[Point] = []
    for a, b in pairwise(ring):
        piece = _segment(a, b, low, high)
        if piece is not None and run and run[-1] == piece[0]:
            run.append(piece[1])
            continue
        if len(run) > 1:
            yield Line(tuple(run), line.kind)
        run = list(piece) if piece is not None else []
    if len(run) > 1:
        yield Line(tuple(run), line.kind)


def _segment(a: Point, b: Point, low: Point, high: Point) -> tuple[Point, Point] | None:
    """The part of a straight line within the window (after Liang and Barsky), or None if there is none."""
    near, far = Fraction(0), Fraction(1)
    for axis in (0, 1):
        start, step = a[axis].mm, (b[axis] - a[axis]).mm
        if not step:
            if not low[axis].mm <= start <= high[axis].mm:
                return None
            continue
        first, last = sorted(((low[axis].mm - start) / step, (high[axis].mm - start) / step))
        near, far = max(near, first), min(far, last)
    if near >= far:
        return None
    return _along(a, b, near), _along(a, b, far)


def _along(a: Point, b: Point, share: Fraction) -> Point:
    return a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share


def _inside(points: tuple[Point, ...], low: Point, high: Point) -> bool:
    return all(low[0] <= x <= high[0] and low[1] <= y <= high[1] for x, y in points)


def _corners_of(circle: Circle) -> tuple[Point, Point]:
    r, (x, y) = circle.diameter / 2, circle.centre
    return (x - r, y - r), (x + r, y + r)


def _many_sided(circle: Circle) -> tuple[Point, ...]:
    (x, y), r = circle.centre, circle.diameter / 2
    turns = [math.tau * n / _CORNERS for n in range(_CORNERS)]
    return tuple((x + r * _millionths(math.cos(t)), y + r * _millionths(math.sin(t))) for t in turns)


def _millionths(value: float) -> Fraction:
    return Fraction(round(value * 10**6), 10**6)


def _clamped(point: Point, low: Point, high: Point) -> Point:
    return min(max(point[0], low[0]), high[0]), min(max(point[1], low[1]), high[1])


def _kept_dimensions(dimensions: tuple[Dimension, ...], low: Point, high: Point) -> Iterator[Dimension]:
    for each in dimensions:
        a, b = each.start[each.axis], each.end[each.axis]
        if low[each.axis] <= min(a, b) and max(a, b) <= high[each.axis]:
            yield replace(each, start=_clamped(each.start, low, high), end=_clamped(each.end, low, high))


def _kept_labels(labels: tuple[Label, ...], low: Point, high: Point) -> Iterator[Label]:
    for each in labels:
        if _inside((each.target or each.at,), low, high):
            yield each


def _break(side: Side, low: Point, high: Point) -> Line:
    """A thin line with a zigzag, the ISO 128 break line."""
    z = _ZIGZAG
    along = 1 if side in (Side.LEFT, Side.RIGHT) else 0
    at = {Side.LEFT: low[0], Side.RIGHT: high[0], Side.BELOW: low[1], Side.ABOVE: high[1]}[side]
    middle = (low[along] + high[along]) / 2
    bends = ((middle - z, ZERO), (middle - z / 2, z), (middle + z / 2, ZERO - z), (middle + z, ZERO))
    course = ((low[along], ZERO), *bends, (high[along], ZERO))
    points = tuple((at + off, way) if along else (way, at + off) for way, off in course)
    return Line(points, Kind.THIN)
