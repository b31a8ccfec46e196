"""Makes the exact view of a part from one of its six sides: outline, visible edges, hidden edges.

The part is divided into cells by the planes of its cuts. Behind each cell of the view is a column of solid and empty
cells. There is an edge between two neighboring cells if their columns differ. The edge is part of the outline if one
column has no solid cell, visible if the first solid cells differ, and hidden if only cells behind them differ. Round
cuts are drawn as circles or, from the side, as hidden lines with their axis.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from woodshop.drawing.values.model import Circle, Kind, Line, Point
from woodshop.shape import part as shape
from woodshop.shape.part import FACE_AXIS, Face, Part, cut_box
from woodshop.units.lengths import ZERO, Length

Solid = tuple[Length, Length, Length]
Edge = tuple[Point, Point]


@dataclass(frozen=True, slots=True)
class Sight:
    """The direction of a view: the block axes that point right and up on paper, and whether each one is reversed."""

    face: Face
    right: tuple[int, bool]
    up: tuple[int, bool]

    @property
    def depth(self) -> int:
        """The axis of the block along which the viewer looks."""
        return FACE_AXIS[self.face][0]


def sight(face: Face, front: Face) -> Sight:
    """The view of `face` next to the `front` face (show or back face) in third-angle projection (ISO 5456-2)."""
    back = front is Face.BACK
    return {
        Face.SHOW: Sight(face, (0, False), (1, False)),
        Face.BACK: Sight(face, (0, True), (1, False)),
        Face.RIGHT: Sight(face, (2, True), (1, False)),
        Face.LEFT: Sight(face, (2, False), (1, False)),
        Face.UPPER: Sight(face, (0, back), (2, not back)),
        Face.LOWER: Sight(face, (0, back), (2, back)),
    }[face]


def flat(part: Part, seen: Sight, at: Solid) -> Point:
    """The position of a block point in the view."""
    (i, mirror_i), (j, mirror_j) = seen.right, seen.up
    return (part.size[i] - at[i] if mirror_i else at[i], part.size[j] - at[j] if mirror_j else at[j])


def projected(part: Part, seen: Sight) -> tuple[tuple[Line, ...], tuple[Circle, ...]]:
    """The visible lines and circles of the part.

    Closed outlines are listed before everything else; any closed outline after the first may be a hole.
    """
    planes = planes_of(part)
    columns = _columns(part, seen, planes)
    us, vs = ([flat(part, seen, _at(axis, x))[i] for x in planes[axis]] for i, axis in enumerate(_axes(seen)))
    outline: list[Edge] = []
    visible: list[Edge] = []
    hidden: list[Edge] = []
    wide, high = len(us) - 1, len(vs) - 1
    empty = (False,) * (len(planes[seen.depth]) - 1)

    def column(i: int, j: int) -> tuple[bool, ...]:
        return columns[i, j] if 0 <= i < wide and 0 <= j < high else empty

    def sort(edge: Edge, a: tuple[bool, ...], b: tuple[bool, ...]) -> None:
        if a == b:
            return
        if not any(a) or not any(b):
            outline.append(edge)
        elif a.index(True) != b.index(True):
            visible.append(edge)
        else:
            hidden.append(edge)

    for i in range(wide + 1):
        for j in range(high):
            sort(((us[i], vs[j]), (us[i], vs[j + 1])), column(i - 1, j), column(i, j))
    for i in range(wide):
        for j in range(high + 1):
            sort(((us[i], vs[j]), (us[i + 1], vs[j])), column(i, j - 1), column(i, j))
    lines = [Line(loop, Kind.OUTLINE, closed=True) for loop in loops(outline)]
    lines += [Line(edge, Kind.OUTLINE) for edge in joined(visible)]
    lines += [Line(edge, Kind.HIDDEN) for edge in joined(hidden)]
    circles: list[Circle] = []
    for cut in part.cuts:
        if isinstance(cut.outline, shape.RoundOutline):
            _round(part, seen, cut, lines, circles)
    return tuple(lines), tuple(circles)


def pockets(part: Part, seen: Sight) -> tuple[tuple[Line, ...], tuple[Circle, ...]]:
    """The closed outlines of the blind cuts made from the visible face, each with its depth."""
    axis, far = FACE_AXIS[seen.face]
    lines: list[Line] = []
    circles: list[Circle] = []
    for cut in part.cuts:
        box = cut_box(part, cut)
        at_face = box.high[axis] == part.size[axis] if far else box.low[axis] == ZERO
        if not at_face or box.size(axis) == part.size[axis]:
            continue
        low, high = flat(part, seen, box.low), flat(part, seen, box.high)
        (x0, x1), (y0, y1) = sorted((low[0], high[0])), sorted((low[1], high[1]))
        if isinstance(cut.outline, shape.Rectangle):
            corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
            lines.append(Line(corners, Kind.POCKET, closed=True, depth=box.size(axis)))
        elif cut.face is seen.face:
            circles.append(Circle(((x0 + x1) / 2, (y0 + y1) / 2), x1 - x0, Kind.POCKET, cut.depth))
    return tuple(lines), tuple(circles)


def _axes(seen: Sight) -> tuple[int, int]:
    return seen.right[0], seen.up[0]


def _at(axis: int, x: Length) -> Solid:
    values = [ZERO, ZERO, ZERO]
    values[axis] = x
    return values[0], values[1], values[2]


def planes_of(part: Part) -> list[list[Length]]:
    """For each axis of a part, the positions of its two ends and of both ends of each rectangular cut."""
    found = [{ZERO, size} for size in part.size]
    for cut in part.cuts:
        if isinstance(cut.outline, shape.Rectangle):
            box = cut_box(part, cut)
            for axis in range(3):
                found[axis] |= {box.low[axis], box.high[axis]}
    return [sorted(axis) for axis in found]


def _columns(part: Part, seen: Sight, planes: list[list[Length]]) -> dict[tuple[int, int], tuple[bool, ...]]:
    """For each cell of the view, whether each cell of the block behind it is solid, in order away from the viewer."""
    boxes = [cut_box(part, cut) for cut in part.cuts if isinstance(cut.outline, shape.Rectangle)]
    right, up, depth = seen.right[0], seen.up[0], seen.depth
    order = list(range(len(planes[depth]) - 1))
    if FACE_AXIS[seen.face][1]:
        order.reverse()

    def solid(i: int, j: int, k: int) -> bool:
        corner = {right: planes[right][i], up: planes[up][j], depth: planes[depth][k]}
        return not any(all(b.low[a] <= corner[a] < b.high[a] for a in range(3)) for b in boxes)

    return {
        (i, j): tuple(solid(i, j, k) for k in order)
        for i in range(len(planes[right]) - 1)
        for j in range(len(planes[up]) - 1)
    }


def _round(part: Part, seen: Sight, cut: shape.Cut, lines: list[Line], circles: list[Circle]) -> None:
    box = cut_box(part, cut)
    low, high = flat(part, seen, box.low), flat(part, seen, box.high)
    (x0, x1), (y0, y1) = sorted((low[0], high[0])), sorted((low[1], high[1]))
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    axis, _ = FACE_AXIS[cut.face]
    if axis == seen.depth:
        through = cut.depth == part.size[axis]
        kind = Kind.OUTLINE if through or cut.face is seen.face else Kind.HIDDEN
        circles.append(Circle(middle, x1 - x0, kind, cut.depth, through))
        reach = (x1 - x0) * 5 / 8
        lines.append(Line(((middle[0] - reach, middle[1]), (middle[0] + reach, middle[1])), Kind.CENTRE))
        lines.append(Line(((middle[0], middle[1] - reach), (middle[0], middle[1] + reach)), Kind.CENTRE))
        return
    lines.append(Line(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), Kind.HIDDEN, closed=True))
    if axis == seen.right[0]:
        lines.append(Line(((x0, middle[1]), (x1, middle[1])), Kind.CENTRE))
    else:
        lines.append(Line(((middle[0], y0), (middle[0], y1)), Kind.CENTRE))


def joined(edges: Iterable[Edge]) -> list[Edge]:
    """Horizontal and vertical edges in a fixed order. Collinear edges that touch are joined."""
    rows: dict[tuple[int, Length], list[tuple[Length, Length]]] = {}
    for a, b in edges:
        axis = 0 if a[1] == b[1] else 1
        low, high = sorted((a[axis], b[axis]))
        rows.setdefault((axis, a[1 - axis]), []).append((low, high))
    found: list[Edge] = []
    for (axis, level), spans in sorted(rows.items()):
        merged: list[tuple[Length, Length]] = []
        for low, high in sorted(spans):
            if merged and low <= merged[-1][1]:
                merged[-1] = (merged[-1][0], max(high, merged[-1][1]))
            else:
                merged.append((low, high))
        for low, high in merged:
            found.append(((low, level), (high, level)) if axis == 0 else ((level, low), (level, high)))
    return found


def loops(edges: Iterable[Edge]) -> list[tuple[Point, ...]]:
    """Closed outlines from their edges, without points in the middle of a straight side, largest first."""
    beside: dict[Point, list[Point]] = {}
    for a, b in edges:
        beside.setdefault(a, []).append(b)
        beside.setdefault(b, []).append(a)
    found: list[tuple[Point, ...]] = []
    for start in sorted(beside):
        while beside[start]:
            path = [start]
            here = beside[start].pop(0)
            beside[here].remove(start)
            while here != start:
                last = path[-1]
                path.append(here)
                turns = [p for p in beside[here] if not _straight(last, here, p)] or beside[here]
                ahead = turns[0]
                beside[here].remove(ahead)
                beside[ahead].remove(here)
                here = ahead
            found.append(_corners(path))
    found.sort(key=lambda loop: (-abs(doubled_area(loop)), loop))
    return found


def _straight(a: Point, b: Point, c: Point) -> bool:
    return a[0] == b[0] == c[0] or a[1] == b[1] == c[1]


def _corners(path: list[Point]) -> tuple[Point, ...]:
    ring = [path[-1], *path, path[0]]
    return tuple(b for (a, b), (_, c) in pairwise(pairwise(ring)) if not _straight(a, b, c))


def doubled_area(loop: tuple[Point, ...]) -> Fraction:
    """Twice the signed area of a closed outline, in square millimeters."""
    return sum(((a[0].mm * b[1].mm - b[0].mm * a[1].mm) for a, b in pairwise((*loop, loop[0]))), Fraction(0))
