"""An isometric picture of an assembly (ISO 5456-3), put together or lifted apart, with balloons to a parts list."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from woodshop.drawing.values.model import Balloon, Kind, Line, Point, View
from woodshop.drawing.views.solid import FlatFace, faces, grid_of, plane_of, visible
from woodshop.shape.part import Assembly, Part, Placed, Role, counted
from woodshop.units.lengths import Length, inch

_RULED = inch(1)
_WALL = 4  # a wall is thinner than this share of the whole
_COS_30 = Fraction(866025404, 1_000_000_000)


def pictorial(
    assembly: Assembly, *, exploded: Length | None = None, roles: Sequence[Role] = tuple(Role), name: str = ""
) -> View:
    """The assembly seen from before its front left corner and above, hidden surfaces left out.

    `exploded` lifts each level of parts (parts whose undersides are at one height) by that much more than the
    level below it, and moves the walls of a thing that has them on all four sides as far outward. Only parts of
    these `roles` are drawn. Balloon numbers are those of `parts_list`; a part of which nothing can be seen has none.
    """
    placed = _lifted(assembly.with_role(*roles), exploded)
    if not placed:
        raise ValueError(f"{assembly.title}: no part to draw")
    numbers = {part: number for number, part, _ in parts_list(assembly, roles)}
    return picture([(each, numbers[each.part]) for each in placed], name)


def picture(numbered: Sequence[tuple[Placed, int]], name: str = "") -> View:
    """Parts as they stand, hidden surfaces left out; each number has its balloon on the largest piece of it seen.

    Parts of number 0 have no balloon. Mesh is ruled in squares of an inch, so that it is told from wood.
    """
    placed = [each for each, _ in numbered]
    grid = grid_of(placed)
    seen = visible(faces(placed, grid))
    lines = [Line(points) for points in _edges(seen, grid)]
    lines += [Line(points, Kind.THIN) for points in _ruled(placed, seen, grid)]
    return View(name=name, lines=tuple(lines), balloons=tuple(_balloons([n for _, n in numbered], seen, grid)))


def parts_list(assembly: Assembly, roles: Sequence[Role] = tuple(Role)) -> tuple[tuple[int, Part, int], ...]:
    """Each different part as (balloon number, part, how many of it)."""
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
    """For each part the way out, along x and y: that of a wall at its edge; nowhere unless there are four walls."""
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
    """Where a point of the world falls in the picture."""
    return (x - y) * _COS_30, (x + y) / 2 + z


def _point(a: float, b: float, grid: int) -> Point:
    """From the doubled whole-number plane to the picture: a times cos 30, b times sin 30 degrees."""
    return Length(Fraction(round(a), 2 * grid) * _COS_30), Length(Fraction(round(b), 4 * grid))


def _edges(seen: Sequence[FlatFace], grid: int) -> list[tuple[Point, ...]]:
    """The boundaries of all visible faces, each line once."""
    import shapely

    borders = shapely.union_all([shapely.boundary(face.shape) for face in seen], grid_size=1.0)
    chains = shapely.get_parts(shapely.simplify(shapely.line_merge(borders), 0.0))
    return _as_points(chains, grid)


def _ruled(placed: Sequence[Placed], seen: Sequence[FlatFace], grid: int) -> list[tuple[Point, ...]]:
    """Lines over what is seen of mesh."""
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
    """One for each number, on the largest piece of what bears it that can be seen."""
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
