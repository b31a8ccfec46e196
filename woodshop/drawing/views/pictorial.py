"""Draws an isometric picture of an assembly (ISO 5456-3), assembled or exploded, with balloons for a parts list.

The faces of placed parts that face the viewer become polygons in an integer plane. The viewer is above the front left
corner and in front of it, and sees the front, left and top faces. A point (x, y, z) of the world maps to a = x - y, b =
x + y + 2z, which are integers if x, y and z are. In that plane all edges of upright blocks run vertically or at 45
degrees, so that polygon arithmetic is exact.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from woodshop.drawing.values.model import Balloon, Kind, Line, Point, View
from woodshop.shape.part import FACE_AXIS, Assembly, Cuboid, Part, Placed, Role, RoundOutline, counted
from woodshop.units.lengths import Length, inch

Whole = tuple[int, int, int]
FRONT, LEFT, TOP = 0, 1, 2  # the axis that the face closes: front and left at its low end, top at its high end
_MOST_GRID = 10_000  # steps per millimeter; finer sizes are rounded to it, only in the picture
_ROUND_GRID = 100  # minimum steps per millimeter if anything is round
_ROUND = 48  # corners in the outline of a round hole


@dataclass(frozen=True, slots=True)
class FlatFace:
    """The visible part of one plane of one part: `shape` is a shapely (multi)polygon in the (a, b) plane.

    `is_bore` marks the wall of a round hole as seen through its opening. It is drawn in the plane of the opening,
    because nothing can be between the opening and the wall.
    """

    owner: int
    axis: int
    at: int
    shape: Any
    is_bore: bool = False


def grid_of(placed: Sequence[Placed]) -> int:
    """The steps per millimeter that make every corner an integer, up to a limit and with a minimum for circles."""
    steps = 1
    for each in placed:
        for box in (each.box, *each.hollows):
            for value in (*box.low, *box.high):
                steps = math.lcm(steps, value.mm.denominator)
                if steps > _MOST_GRID:
                    return _MOST_GRID
    if any(isinstance(cut.outline, RoundOutline) for each in placed for cut in each.part.cuts):
        return steps * -(-_ROUND_GRID // steps)
    return steps


def plane_of(point: Sequence[int]) -> tuple[int, int]:
    """The position of a world point in the plane, doubled so that 45-degree lines also cross at integers."""
    x, y, z = point
    return 2 * (x - y), 2 * (x + y + 2 * z)


def faces(placed: Sequence[Placed], grid: int) -> list[FlatFace]:
    """Every face toward the viewer, part by part, before hidden faces are removed."""
    found: list[FlatFace] = []
    for i, each in enumerate(placed):
        hollows = [
            hollow
            for cut, hollow in zip(each.part.cuts, each.hollows, strict=True)
            if not isinstance(cut.outline, RoundOutline)
        ]
        block, holes = _whole(each.box, grid), [_whole(hollow, grid) for hollow in hollows]
        made = _faces_of(i, block, holes)
        for axis, bored in _bores(each, grid):
            made = _bored(made, axis, bored, block, holes)
        found += made
    return found


def _bores(each: Placed, grid: int) -> list[tuple[int, tuple[Whole, Whole]]]:
    """Every round cut, given by its world axis and its bounding block."""
    directions = (each.pose.along, each.pose.across, each.pose.through)
    return [
        ("xyz".index(directions[FACE_AXIS[cut.face][0]][1]), _whole(hollow, grid))
        for cut, hollow in zip(each.part.cuts, each.hollows, strict=True)
        if isinstance(cut.outline, RoundOutline)
    ]


def _bored(
    made: Sequence[FlatFace],
    axis: int,
    bored: tuple[Whole, Whole],
    block: tuple[Whole, Whole],
    holes: Sequence[tuple[Whole, Whole]],
) -> list[FlatFace]:
    """The faces with a round hole cut into them: its opening, its visible wall, and its floor if it is blind."""
    import shapely

    low, high = bored[0][axis], bored[1][axis]
    found: list[FlatFace] = []
    for face in made:
        if face.axis != axis or not low <= face.at <= high or face.at == (low if axis == TOP else high):
            found.append(face)
            continue
        rim = _ellipse(axis, face.at, bored)
        opening = _areas(face.shape.intersection(rim, grid_size=1.0))
        if opening.is_empty:
            found.append(face)
            continue
        found.append(replace(face, shape=_areas(face.shape.difference(rim, grid_size=1.0))))
        end = _far_end(axis, face.at, bored, holes)
        beyond = _ellipse(axis, end, bored)
        wall = _areas(opening.difference(beyond, grid_size=1.0))
        if not wall.is_empty:
            found.append(FlatFace(face.owner, axis, face.at, wall, is_bore=True))
        if end in (low, high) and end != block[0 if axis == TOP else 1][axis]:
            found.append(FlatFace(face.owner, axis, end, shapely.MultiPolygon([beyond])))
    return found


def _far_end(axis: int, at: int, bored: tuple[Whole, Whole], holes: Sequence[tuple[Whole, Whole]]) -> int:
    """The far end of a hole that opens at a plane: its own end, or the start of the first hollow behind its center."""
    low, high = bored
    others = [k for k in range(3) if k != axis]
    middle = [(low[k] + high[k]) / 2 for k in range(3)]
    hit = [h for h in holes if all(h[0][k] <= middle[k] < h[1][k] for k in others)]
    if axis == TOP:
        return max([low[axis], *(h[1][axis] for h in hit if h[1][axis] < at)])
    return min([high[axis], *(h[0][axis] for h in hit if h[0][axis] > at)])


def _ellipse(axis: int, at: int, bored: tuple[Whole, Whole]) -> Any:
    """The outline of a round hole in a plane perpendicular to its axis, as a polygon with many sides."""
    import shapely

    low, high = bored
    u, v = (k for k in range(3) if k != axis)
    outline = []
    for step in range(_ROUND):
        angle = 2 * math.pi * step / _ROUND
        point = [at] * 3
        for k, share in ((u, math.cos(angle)), (v, math.sin(angle))):
            point[k] = round((low[k] + high[k]) / 2 + share * (high[k] - low[k]) / 2)
        outline.append(plane_of(point))
    return shapely.Polygon(outline)


def _whole(box: Cuboid, grid: int) -> tuple[Whole, Whole]:
    low = [round(v.mm * grid) for v in box.low]
    high = [round(v.mm * grid) for v in box.high]
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def _faces_of(owner: int, block: tuple[Whole, Whole], holes: Sequence[tuple[Whole, Whole]]) -> list[FlatFace]:
    import shapely

    planes = [sorted({b[k][axis] for b in (block, *holes) for k in (0, 1)}) for axis in range(3)]
    counts = [len(p) - 1 for p in planes]

    def solid(cell: Sequence[int]) -> bool:
        if not all(0 <= cell[k] < counts[k] for k in range(3)):
            return False
        corner = [planes[k][cell[k]] for k in range(3)]
        return not any(all(low[k] <= corner[k] < high[k] for k in range(3)) for low, high in holes)

    patches: dict[tuple[int, int], list[Any]] = {}
    for i in range(counts[0]):
        for j in range(counts[1]):
            for k in range(counts[2]):
                if not solid((i, j, k)):
                    continue
                for axis in (FRONT, LEFT, TOP):
                    cell = [i, j, k]
                    cell[axis] += 1 if axis == TOP else -1
                    if not solid(cell):
                        at = planes[axis][(i, j, k)[axis] + (axis == TOP)]
                        patches.setdefault((axis, at), []).append(_patch(axis, at, (i, j, k), planes))
    return [
        FlatFace(owner, axis, at, shapely.union_all(shapes, grid_size=1.0))
        for (axis, at), shapes in sorted(patches.items())
    ]


def _patch(axis: int, at: int, cell: Whole, planes: Sequence[Sequence[int]]) -> Any:
    import shapely

    u, v = (k for k in range(3) if k != axis)
    corners = []
    for du, dv in ((0, 0), (1, 0), (1, 1), (0, 1)):
        point = [0, 0, 0]
        point[axis], point[u], point[v] = at, planes[u][cell[u] + du], planes[v][cell[v] + dv]
        corners.append(plane_of(point))
    return shapely.Polygon(corners)


def visible(all_faces: Sequence[FlatFace]) -> list[FlatFace]:
    """The visible part of each face, without the parts hidden by closer faces."""
    import shapely
    from shapely.strtree import STRtree

    if not all_faces:
        return []
    tree = STRtree([face.shape for face in all_faces])
    whole = shapely.box(*shapely.union_all([shapely.box(*face.shape.bounds) for face in all_faces]).bounds).buffer(
        8, join_style="mitre"
    )
    seen: list[FlatFace] = []
    for face in all_faces:
        hiding = []
        for index in sorted(int(i) for i in tree.query(face.shape, predicate="intersects")):
            other = all_faces[index]
            if other is face:
                continue
            nearer = _nearer(other, face, whole)
            if nearer is not None:
                hiding.append(
                    other.shape if nearer is whole else _areas(other.shape.intersection(nearer, grid_size=1.0))
                )
        left = face.shape
        if hiding:
            left = left.difference(shapely.union_all(hiding, grid_size=1.0), grid_size=1.0)
        left = _areas(left)
        if not left.is_empty:
            seen.append(replace(face, shape=left))
    return seen


def _areas(shape: Any) -> Any:
    """The areas of a shape, without the points and lines that result where shapes touch."""
    import shapely

    return shapely.MultiPolygon([p for p in shapely.get_parts(shape) if p.geom_type == "Polygon" and p.area > 0])


def _nearer(a: FlatFace, b: FlatFace, whole: Any) -> Any:
    """The part of the (doubled) plane where face `a` is closer than face `b`: all of it, half of it, or None.

    If the depth is t = x + y - z, the planes x = c, y = c and z = c are at t = 3c - 3a/2 - b/2, 3c + 3a/2 - b/2 and b -
    3c. A smaller t is closer. Only the part covered by both faces counts.
    """
    if a.axis == b.axis:
        closer = a.at > b.at if a.axis == TOP else a.at < b.at
        return whole if closer else None
    first, second = (a, b) if a.axis < b.axis else (b, a)
    low, high = _beyond(first, second, a.shape.bounds, b.shape.bounds)
    if low >= 0:
        return whole if first is a else None
    if high <= 0:
        return None if first is a else whole
    return _half(first, second, whole, first_is_nearer=first is a)


def _beyond(first: FlatFace, second: FlatFace, one: tuple[float, ...], other: tuple[float, ...]) -> tuple[float, float]:
    """The minimum and maximum of how far the box shared by both faces reaches into the side where `first` is closer."""
    x0, y0, x1, y1 = max(one[0], other[0]), max(one[1], other[1]), min(one[2], other[2]), min(one[3], other[3])
    if (first.axis, second.axis) == (FRONT, LEFT):  # a > c1 - c2
        edge = 2 * (first.at - second.at)
        return x0 - edge, x1 - edge
    level = 4 * (first.at + second.at)  # front and top: a + b > 2 (c1 + c2); left and top: b - a > 2 (c1 + c2)
    if first.axis == FRONT:
        return x0 + y0 - level, x1 + y1 - level
    return y0 - x1 - level, y1 - x0 - level


def _half(first: FlatFace, second: FlatFace, whole: Any, *, first_is_nearer: bool) -> Any:
    """The part of the plane where `first` is closer (or farther) than `second`; `first` has the lower axis."""
    import shapely

    x0, y0, x1, y1 = (round(v) for v in whole.bounds)
    far = 2 * (x1 - x0) + 2 * (y1 - y0)
    if (first.axis, second.axis) == (FRONT, LEFT):  # a > c1 - c2
        edge = 2 * (first.at - second.at)
        corners = [(edge, y0 - far), (edge, y1 + far), (edge + far * 3, y1 + far), (edge + far * 3, y0 - far)]
        other = [(edge, y0 - far), (edge, y1 + far), (edge - far * 3, y1 + far), (edge - far * 3, y0 - far)]
    else:  # front and top: a + b > 2 (c1 + c2); left and top: b - a > 2 (c1 + c2)
        level = 4 * (first.at + second.at)
        slope = -1 if first.axis == FRONT else 1
        left, right = x0 - far, x1 + far
        low, high = (left, level + slope * left), (right, level + slope * right)
        corners = [low, high, (high[0], high[1] + far * 6), (low[0], low[1] + far * 6)]
        other = [low, high, (high[0], high[1] - far * 6), (low[0], low[1] - far * 6)]
    return shapely.Polygon(corners if first_is_nearer else other)


_RULED = inch(1)
_WALL = 4  # a wall is thinner than this fraction of the whole
_COS_30 = Fraction(866025404, 1_000_000_000)


def pictorial(
    assembly: Assembly, *, exploded: Length | None = None, roles: Sequence[Role] = tuple(Role), name: str = ""
) -> View:
    """The assembly seen from in front of its front left corner and above, with hidden surfaces removed.

    Each level of parts (parts with undersides at one height) is lifted `exploded` more than the level below it, and the
    walls of an item with four walls are moved outward by the same distance. Only parts with one of the `roles` are
    drawn. `name` is the name of the view. Balloon numbers match `parts_list`; a hidden part has no balloon.
    """
    placed = _lifted(assembly.with_role(*roles), exploded)
    if not placed:
        raise ValueError(f"{assembly.title}: no part to draw")
    numbers = {part: number for number, part, _ in parts_list(assembly, roles)}
    return picture([(each, numbers[each.part]) for each in placed], name)


def picture(numbered: Sequence[tuple[Placed, int]], name: str = "") -> View:
    """The parts in place, with hidden surfaces removed. Each number has a balloon on its parts' largest visible area.

    Parts with number 0 have no balloon. Mesh is ruled in 1 in squares, to distinguish it from wood.
    """
    placed = [each for each, _ in numbered]
    grid = grid_of(placed)
    seen = visible(faces(placed, grid))
    lines = [Line(points) for points in _edges(seen, grid)]
    lines += [Line(points, Kind.THIN) for points in _ruled(placed, seen, grid)]
    return View(name=name, lines=tuple(lines), balloons=tuple(_balloons([n for _, n in numbered], seen, grid)))


def parts_list(assembly: Assembly, roles: Sequence[Role] = tuple(Role)) -> tuple[tuple[int, Part, int], ...]:
    """Each distinct part as (balloon number, part, count)."""
    return tuple((i, part, count) for i, (part, count) in enumerate(counted(assembly.with_role(*roles)), 1))


def _lifted(placed: tuple[Placed, ...], spread: Length | None) -> tuple[Placed, ...]:
    if spread is None:
        return placed
    levels = sorted({each.box.low[2] for each in placed})
    outward = _outward(placed)
    return tuple(
        each.moved((spread * x, spread * y, spread * levels.index(each.box.low[2])))
        for each, (x, y) in zip(placed, outward, strict=True)
    )


def _outward(placed: tuple[Placed, ...]) -> list[tuple[int, int]]:
    """The outward direction of each part along x and y. All are zero unless there are four walls at the edges."""
    ways: list[tuple[int, int]] = []
    ends = [(min(p.box.low[k] for p in placed), max(p.box.high[k] for p in placed)) for k in (0, 1)]
    for each in placed:
        way = []
        for k, (low, high) in enumerate(ends):
            is_thin = each.box.size(k) * _WALL < high - low and each.box.size(2) > each.box.size(k)
            way.append(int(is_thin and each.box.high[k] == high) - int(is_thin and each.box.low[k] == low))
        ways.append((way[0], way[1]))
    sides = {(1, 0), (-1, 0), (0, 1), (0, -1)}
    return ways if sides <= set(ways) else [(0, 0)] * len(placed)


def spot_of(x: Length, y: Length, z: Length) -> Point:
    """The position of a world point in the picture."""
    return (x - y) * _COS_30, (x + y) / 2 + z


def _point(a: float, b: float, grid: int) -> Point:
    """Converts from the doubled integer plane to the picture: a times cos 30, b times sin 30 degrees."""
    return Length(Fraction(round(a), 2 * grid) * _COS_30), Length(Fraction(round(b), 4 * grid))


def _edges(seen: Sequence[FlatFace], grid: int) -> list[tuple[Point, ...]]:
    """The boundaries of all visible faces, without duplicate lines."""
    import shapely

    borders = shapely.union_all([shapely.boundary(face.shape) for face in seen], grid_size=1.0)
    chains = shapely.get_parts(shapely.simplify(shapely.line_merge(borders), 0.0))
    return _as_points(chains, grid)


def _ruled(placed: Sequence[Placed], seen: Sequence[FlatFace], grid: int) -> list[tuple[Point, ...]]:
    """Lines over the visible areas of mesh."""
    import shapely

    apart = round(_RULED.mm * grid)
    found: list[tuple[Point, ...]] = []
    for face in seen:
        if placed[face.owner].part.material.mesh is None:
            continue
        low, high = (
            [round(v.mm * grid) for v in corner] for corner in (placed[face.owner].box.low, placed[face.owner].box.high)
        )
        u, v = (k for k in range(3) if k != face.axis)
        lines = []
        for along, across in ((u, v), (v, u)):
            for at in range(low[across] + apart, high[across], apart):
                ends = []
                for end in (low[along], high[along]):
                    point = [face.at] * 3
                    point[along], point[across] = end, at
                    ends.append(plane_of(point))
                lines.append(ends)
        if lines:
            cut = shapely.get_parts(shapely.intersection(shapely.MultiLineString(lines), face.shape))
            found += _as_points([line for line in cut if line.geom_type == "LineString" and not line.is_empty], grid)
    return found


def _as_points(chains: Any, grid: int) -> list[tuple[Point, ...]]:
    found: list[tuple[tuple[float, float], ...]] = []
    for chain in chains:
        points = tuple((float(x), float(y)) for x, y in chain.coords)
        found.append(min(points, points[::-1]))
    return [tuple(_point(a, b, grid) for a, b in points) for points in sorted(found)]


def _balloons(numbers: Sequence[int], seen: Sequence[FlatFace], grid: int) -> list[Balloon]:
    """A balloon for each number, on the largest visible area of its parts."""
    import shapely

    best: dict[int, tuple[float, Any]] = {}
    for face in seen:
        number = numbers[face.owner]
        for polygon in shapely.get_parts(face.shape):
            if number and (number not in best or polygon.area > best[number][0]):
                best[number] = (float(polygon.area), polygon)
    found = []
    for number, (_, polygon) in sorted(best.items()):
        spot = shapely.point_on_surface(polygon)
        found.append(Balloon(number, _point(spot.x, spot.y, grid)))
    return found
