"""Patterns and hatching that distinguish areas in black and white, and the edges of such areas.

An area is a list of upright rectangles that do not overlap. It ends at the window of the drawing. Sizes are in points.
"""

import math
from collections.abc import Sequence
from enum import StrEnum
from itertools import pairwise

from woodshop.drawing.values.paper import Box, Mark, Ring, Segment, Spot, Stroke

LEAST = 0.6  # points: an area narrower than this on paper gets no marks


class Pattern(StrEnum):
    """How an area is filled."""

    WHITE = "white"
    BLACK = "black"
    BARS = "bars"  # heavy upright bars
    GRID = "grid"  # thin crossed lines, wide apart
    NET = "net"  # crossed lines, close
    RINGS = "rings"  # small rings, far apart
    CROSSES = "crosses"  # small oblique crosses
    GRAIN = "grain"  # thin lines falling to the right, wide apart
    CLOSE_GRAIN = "close grain"  # lines rising to the right, close
    SPECKS = "specks"  # dots in staggered rows
    BRICKS = "bricks"  # short level dashes, staggered
    WIRES = "wires"  # upright ticks
    CURLS = "curls"  # small hooks, far apart


def filled(area: Sequence[Box], pattern: Pattern) -> list[Mark]:
    """The marks of a pattern in an area. Lines have the same positions in every area, so that neighbors match."""
    boxes = [box for box in area if min(box.right - box.left, box.top - box.bottom) >= LEAST]
    found: list[Mark] = []
    for box in boxes:
        found += _FILLS[pattern](box)
    return found


def cut_to(box: Box, window: Box) -> Box | None:
    """The intersection of a rectangle and a window, or None if it is empty."""
    cut = Box(
        max(box.left, window.left),
        max(box.bottom, window.bottom),
        min(box.right, window.right),
        min(box.top, window.top),
    )
    return cut if cut.left < cut.right and cut.bottom < cut.top else None


def slabs(rings: Sequence[Sequence[Spot]]) -> list[Box]:
    """An area with horizontal and vertical edges (even-odd rule) as rectangles, bottom to top, as tall as possible."""
    edges = [
        (a[0], min(a[1], b[1]), max(a[1], b[1]))
        for ring in rings
        for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)
        if a[0] == b[0]
    ]
    levels = sorted({y for _, low, high in edges for y in (low, high)})
    done: list[Box] = []
    standing: dict[tuple[float, float], float] = {}
    for low, high in pairwise(levels):
        xs = sorted(x for x, y0, y1 in edges if y0 <= low and high <= y1)
        row = list(zip(xs[::2], xs[1::2], strict=True))
        ended = [key for key in standing if key not in row]
        done += [Box(key[0], standing.pop(key), key[1], low) for key in ended]
        for key in row:
            standing.setdefault(key, low)
    done += [Box(key[0], y, key[1], levels[-1]) for key, y in standing.items()]
    return done


def borders(area: Sequence[Box], window: Box) -> list[Segment]:
    """The edges of an area, except those on the edge of the window. The rectangles of the area must not overlap."""
    found: list[Segment] = []
    for turned in (False, True):
        sides: dict[float, list[tuple[float, float, int]]] = {}
        for box in area:
            x0, y0, x1, y1 = (
                (box.bottom, box.left, box.top, box.right) if turned else (box.left, box.bottom, box.right, box.top)
            )
            sides.setdefault(x0, []).append((y0, y1, 1))
            sides.setdefault(x1, []).append((y0, y1, -1))
        ends = (window.bottom, window.top) if turned else (window.left, window.right)
        for x in sorted(sides):
            if x in ends:
                continue
            for low, high in _unpaired(sides[x]):
                found.append(((low, x), (high, x)) if turned else ((x, low), (x, high)))
    return found


def _unpaired(runs: list[tuple[float, float, int]]) -> list[tuple[float, float]]:
    """The runs along one line that no opposite run cancels. Runs in the same direction that touch are joined."""
    marks = sorted({m for low, high, _ in runs for m in (low, high)})
    found: list[tuple[float, float]] = []
    for low, high in pairwise(marks):
        if sum(sign for a, b, sign in runs if a <= low and high <= b):
            if found and found[-1][1] == low:
                found[-1] = (found[-1][0], high)
            else:
                found.append((low, high))
    return found


def _oblique(box: Box, pitch: float, sign: float, weight: float) -> list[Mark]:
    step = pitch * math.sqrt(2.0)
    keys = [y - sign * x for x in (box.left, box.right) for y in (box.bottom, box.top)]
    found: list[Mark] = []
    for n in range(math.ceil(min(keys) / step), math.floor(max(keys) / step) + 1):
        level = n * step
        ends = sorted((sign * (box.bottom - level), sign * (box.top - level)))
        a, b = max(box.left, ends[0]), min(box.right, ends[1])
        if b - a > 0.2:
            found.append(Stroke(((a, level + sign * a), (b, level + sign * b)), weight))
    return found


def _lines(box: Box, pitch: float, upright: bool, weight: float) -> list[Mark]:
    """Horizontal or vertical lines. An area narrower than the pitch gets one line in its middle."""
    low, high = (box.left, box.right) if upright else (box.bottom, box.top)
    places = [n * pitch for n in range(math.ceil(low / pitch), math.floor(high / pitch) + 1)]
    inner = [at for at in places if low + weight / 2 < at < high - weight / 2]
    if not inner and high - low >= 2 * LEAST:
        inner = [(low + high) / 2]
    if upright:
        return [Stroke(((x, box.bottom), (x, box.top)), weight) for x in inner]
    return [Stroke(((box.left, y), (box.right, y)), weight) for y in inner]


def _places(box: Box, pitch: float, size: float) -> list[Spot]:
    """Positions in centered rows for marks of this `size`. Every other row is shifted by half a pitch."""
    wide, high = box.right - box.left, box.top - box.bottom
    if wide < size or high < size:
        return []
    rows, columns = int((high - size) // pitch) + 1, int((wide - size) // pitch) + 1
    x0, y0 = (box.left + box.right - (columns - 1) * pitch) / 2, (box.bottom + box.top - (rows - 1) * pitch) / 2
    found = []
    for r in range(rows):
        shift = pitch / 2 if r % 2 and columns > 1 else 0.0
        found += [(x0 + c * pitch + shift, y0 + r * pitch) for c in range(columns - (1 if shift else 0))]
    return found


def _size(box: Box, wanted: float) -> float:
    return min(wanted, 0.8 * (box.right - box.left), 0.8 * (box.top - box.bottom))


def _rings(box: Box) -> list[Mark]:
    size = _size(box, 3.2)
    return [Ring(x, y, size / 2, weight=0.45) for x, y in _places(box, 12.0, size)]


def _crosses(box: Box) -> list[Mark]:
    r = _size(box, 2.8) / 2
    return [
        Stroke(((x - r, y - s * r), (x + r, y + s * r)), 0.45) for x, y in _places(box, 6.5, 2 * r) for s in (1, -1)
    ]


def _specks(box: Box) -> list[Mark]:
    return [Stroke(((x, y), (x + 0.01, y)), 1.1) for x, y in _places(box, 5.0, 1.1)]


def _bricks(box: Box) -> list[Mark]:
    return [Stroke(((x - 2.2, y), (x + 2.2, y)), 0.4) for x, y in _places(box, 6.5, 4.6)]


def _curls(box: Box) -> list[Mark]:
    return [Stroke(((x - 2, y), (x, y + 2), (x + 2, y), (x, y - 1)), 0.4) for x, y in _places(box, 10.0, 4.4)]


def _black(box: Box) -> list[Mark]:
    corners = ((box.left, box.bottom), (box.right, box.bottom), (box.right, box.top), (box.left, box.top))
    return [Stroke(corners, 0.0, closed=True, fill="ink")]


_FILLS = {
    Pattern.WHITE: lambda box: [],
    Pattern.BLACK: _black,
    Pattern.BARS: lambda box: _lines(box, 4.0, True, 1.6),
    Pattern.GRID: lambda box: [*_lines(box, 6.0, True, 0.45), *_lines(box, 6.0, False, 0.45)],
    Pattern.NET: lambda box: [*_lines(box, 2.4, True, 0.7), *_lines(box, 2.4, False, 0.7)],
    Pattern.RINGS: _rings,
    Pattern.CROSSES: _crosses,
    Pattern.GRAIN: lambda box: _oblique(box, 6.5, -1.0, 0.3),
    Pattern.CLOSE_GRAIN: lambda box: _oblique(box, 3.0, 1.0, 0.45),
    Pattern.SPECKS: _specks,
    Pattern.BRICKS: _bricks,
    Pattern.WIRES: lambda box: _lines(box, 4.5, True, 0.8),
    Pattern.CURLS: _curls,
}


def hatched(outline: Sequence[Spot], pitch: float, *, falling: bool = False) -> list[Segment]:
    """The parts of 45-degree lines, `pitch` apart, rising or `falling`, inside the outline (even-odd rule).

    Lines with the same pitch have the same positions in every outline, so that neighbors match.
    """
    sign = -1.0 if falling else 1.0
    step = pitch * math.sqrt(2.0)
    keys = [y - sign * x for x, y in outline]
    found: list[Segment] = []
    first, last = math.ceil(min(keys) / step), math.floor(max(keys) / step)
    for i in range(first, last + 1):
        level = i * step + 1e-7
        xs: list[float] = []
        for (x0, _), (x1, _), k0, k1 in zip(
            outline, [*outline[1:], outline[0]], keys, [*keys[1:], keys[0]], strict=True
        ):
            if (k0 < level) != (k1 < level):
                share = (level - k0) / (k1 - k0)
                xs.append(x0 + share * (x1 - x0))
        xs.sort()
        for a, b in zip(xs[::2], xs[1::2], strict=True):
            if b - a > 0.2:
                found.append(((a, level + sign * a), (b, level + sign * b)))
    return found
