"""A corner of four walls in detail: from above, and from the outside of the wall that its screws go through."""

from collections.abc import Sequence
from itertools import pairwise

from woodshop.drawing.values.model import Circle, Dimension, Kind, Label, Line, Point, Side, View
from woodshop.shape.part import Cuboid, Placed, RoundOutline
from woodshop.units.lengths import ZERO, Length, inch

_SHOWN = inch(2)  # of each wall, from the corner


def corner_views(
    side: Placed,
    end: Placed,
    *,
    through_end: bool,
    heights: Sequence[Length],
    from_corner: Length,
    length: Length,
    names: tuple[str, str],
) -> tuple[View, View]:
    """The front left corner of a side and a front end, with its screws: from above, and from outside.

    The screws, `length` long, go through the end where `through_end`, else through the side, at these heights,
    `from_corner` from the outer edge of the corner. `names` are those of side and end.
    """
    corner = (min(side.box.low[0], end.box.low[0]), min(side.box.low[1], end.box.low[1]))
    lines: list[Line] = []
    for wall in (side, end):
        lines += _outline(wall, corner)
    along, across = (1, 0) if through_end else (0, 1)  # of the wall with the heads, and of the screws
    start, stop = [ZERO, ZERO], [ZERO, ZERO]
    start[along] = stop[along] = from_corner
    stop[across] = length
    lines.append(Line(((start[0], start[1]), (stop[0], stop[1])), Kind.CENTRE))
    place = Side.LEFT if through_end else Side.BELOW
    dimensions = (Dimension((ZERO, ZERO), (start[0], start[1]), place),)
    shown = _SHOWN
    wood = side.part.thickness
    labels = (
        Label(names[0], (shown, ZERO - wood), (shown * 3 / 4, wood / 2)),
        Label(names[1], (shown, shown), (wood / 2, shown * 3 / 4)),
    )
    above = View("From above", tuple(lines), dimensions=dimensions, labels=labels)
    return above, _outside(end if through_end else side, heights, from_corner)


def _outside(wall: Placed, heights: Sequence[Length], from_corner: Length) -> View:
    """The show face of the wall at its corner, with the heads of the screws."""
    high, size = wall.part.width, inch("1/4")
    lines = (Line(((_SHOWN, ZERO), (ZERO, ZERO), (ZERO, high), (_SHOWN, high))),)
    circles = tuple(Circle((from_corner, at), size) for at in heights)
    dimensions = [Dimension((ZERO, heights[0]), (from_corner, heights[0]), Side.BELOW)]
    dimensions += [Dimension((ZERO, a), (ZERO, b), Side.LEFT) for a, b in pairwise((ZERO, *heights))]
    return View(f"{wall.part.name.capitalize()}, show face", lines, circles, dimensions=tuple(dimensions), cell=(1, 0))


def _outline(wall: Placed, corner: tuple[Length, Length]) -> list[Line]:
    """What is seen from above of a wall near the corner, its far end left open; a corner rabbet is cut out of it."""
    box = wall.box
    high = [min(box.high[i] - corner[i], _SHOWN) for i in (0, 1)]
    low = [box.low[i] - corner[i] for i in (0, 1)]
    points: list[Point] = [(low[0], low[1]), (high[0], low[1]), (high[0], high[1]), (low[0], high[1])]
    for cut, hollow in zip(wall.part.cuts, wall.hollows, strict=True):
        if cut.name == "corner rabbet" and not isinstance(cut.outline, RoundOutline) and _is_near(hollow, corner):
            a = [hollow.low[i] - corner[i] for i in (0, 1)]
            b = [hollow.high[i] - corner[i] for i in (0, 1)]
            points = _less(points, a, b)
    run = 0 if high[0] - low[0] > high[1] - low[1] else 1  # along which the wall is left open
    edges = list(zip(points, (*points[1:], points[0]), strict=True))
    return [Line(edge) for edge in edges if not all(point[run] == _SHOWN for point in edge)]


def _is_near(hollow: Cuboid, corner: tuple[Length, Length]) -> bool:
    return all(hollow.low[i] - corner[i] < _SHOWN for i in (0, 1))


def _less(points: list[Point], low: Sequence[Length], high: Sequence[Length]) -> list[Point]:
    """A rectangle less another at one of its corners, as six points."""
    found: list[Point] = []
    for n, (x, y) in enumerate(points):
        if low[0] <= x <= high[0] and low[1] <= y <= high[1]:
            inner_x = high[0] if x == low[0] else low[0]
            inner_y = high[1] if y == low[1] else low[1]
            steps = [(inner_x, y), (inner_x, inner_y), (x, inner_y)]
            before = points[n - 1]
            found += steps if before[1] == y else steps[::-1]
        else:
            found.append((x, y))
    return found
