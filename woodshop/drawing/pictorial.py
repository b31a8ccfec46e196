"""An isometric picture of an assembly (ISO 5456-3), put together or lifted apart, with balloons to a parts list."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from woodshop.drawing.model import Balloon, Kind, Line, Point, View
from woodshop.drawing.solid import FlatFace, faces, grid_of, round_rims, visible
from woodshop.shape.part import Assembly, Part, Placed, Role, counted
from woodshop.units import ZERO, Length

_COS_30 = Fraction(866025404, 1_000_000_000)


def pictorial(
    assembly: Assembly, *, exploded: Length | None = None, roles: Sequence[Role] = tuple(Role), name: str = ""
) -> View:
    """The assembly seen from before its front left corner and above, hidden surfaces left out.

    `exploded` lifts each level of parts (parts whose undersides are at one height) by that much more than the
    level below it. Only parts of these `roles` are drawn. Round cuts show as their rims; what might be seen
    through them is not drawn. Balloon numbers are those of `parts_list`; a part of which nothing can be seen has none.
    """
    placed = _lifted(assembly.with_role(*roles), exploded)
    if not placed:
        raise ValueError(f"{assembly.title}: no part to draw")
    grid = grid_of(placed)
    seen = visible(faces(placed, grid))
    rims = [rim for i, each in enumerate(placed) for rim in round_rims(i, each, grid)]
    lines = [Line(points) for points in _edges(seen, grid)]
    lines += [Line(points, Kind.THIN) for rim in rims for points in _rim(rim, seen, grid)]
    return View(name=name, lines=tuple(lines), balloons=tuple(_balloons(assembly, placed, seen, roles, grid)))


def parts_list(assembly: Assembly, roles: Sequence[Role] = tuple(Role)) -> tuple[tuple[int, Part, int], ...]:
    """Each different part as (balloon number, part, how many of it)."""
    return tuple((i, part, count) for i, (part, count) in enumerate(counted(assembly.with_role(*roles)), 1))


def _lifted(placed: tuple[Placed, ...], spread: Length | None) -> tuple[Placed, ...]:
    if spread is None:
        return placed
    levels = sorted({each.box.low[2] for each in placed})
    return tuple(each.moved((ZERO, ZERO, spread * levels.index(each.box.low[2]))) for each in placed)


def _point(a: float, b: float, grid: int) -> Point:
    """From the doubled whole-number plane to the picture: a times cos 30, b times sin 30 degrees."""
    return Length(Fraction(round(a), 2 * grid) * _COS_30), Length(Fraction(round(b), 4 * grid))


def _edges(seen: Sequence[FlatFace], grid: int) -> list[tuple[Point, ...]]:
    """The boundaries of all visible faces, each line once."""
    import shapely

    borders = shapely.union_all([shapely.boundary(face.shape) for face in seen], grid_size=1.0)
    chains = shapely.get_parts(shapely.simplify(shapely.line_merge(borders), 0.0))
    return _as_points(chains, grid)


def _rim(rim: FlatFace, seen: Sequence[FlatFace], grid: int) -> list[tuple[Point, ...]]:
    import shapely

    found: list[tuple[Point, ...]] = []
    for face in seen:
        if (face.owner, face.axis, face.at) == (rim.owner, rim.axis, rim.at):
            part = shapely.line_merge(shapely.intersection(rim.shape, face.shape))
            found += _as_points([p for p in shapely.get_parts(part) if p.geom_type == "LineString"], grid)
    return found


def _as_points(chains: Any, grid: int) -> list[tuple[Point, ...]]:
    found: list[tuple[tuple[float, float], ...]] = []
    for chain in chains:
        points = tuple((float(x), float(y)) for x, y in chain.coords)
        found.append(min(points, points[::-1]))
    return [tuple(_point(a, b, grid) for a, b in points) for points in sorted(found)]


def _balloons(
    assembly: Assembly, placed: Sequence[Placed], seen: Sequence[FlatFace], roles: Sequence[Role], grid: int
) -> list[Balloon]:
    """One for each different part, on the largest piece of it that can be seen."""
    import shapely

    best: dict[Part, tuple[float, int, Any]] = {}
    for i, face in enumerate(seen):
        for polygon in shapely.get_parts(face.shape):
            part = placed[face.owner].part
            if part not in best or polygon.area > best[part][0]:
                best[part] = (float(polygon.area), i, polygon)
    balloons: list[Balloon] = []
    for number, part, _ in parts_list(assembly, roles):
        if part in best:
            spot = shapely.point_on_surface(best[part][2])
            balloons.append(Balloon(number, _point(spot.x, spot.y, grid)))
    return balloons
