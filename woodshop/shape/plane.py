"""Planes through placed parts, and their exact solid and free areas.

A plane is `axis` = `at`; u and v are the two other axes, in order. A plane exactly in a face shows the parts just
beyond it, on the high side of its axis. An opening is never shown larger than it is. A round hole cut lengthwise shows
its true chord, rounded inward to 1/320 mm. A round hole cut across shows as upright steps inside its circle (90 % of
its area, or 98 % if only areas are wanted).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from woodshop.shape.part import Rectangle
from woodshop.shape.scene import (
    FINE_STEPS,
    STEPS,
    Block,
    Grid,
    Scene,
    Solid,
    Thing,
    chord,
    less,
    lines_between,
    meet,
    painted,
    round_steps,
)
from woodshop.units.lengths import Area, Length

if TYPE_CHECKING:
    from numpy import bool_, float64
    from numpy.typing import NDArray

Spot = tuple[Length, Length]


@dataclass(frozen=True, slots=True)
class Cross:
    """The section of one part: disjoint solid rectangles inside the window."""

    thing: Thing
    rectangles: tuple[Rectangle, ...]


@dataclass(frozen=True, slots=True)
class Patch:
    """A connected piece of a plane: its outer corners counterclockwise, and the corners of its holes clockwise.

    Each ring begins at its lowest corner and does not repeat it. Points within a straight edge are not listed.
    """

    outer: tuple[Spot, ...]
    holes: tuple[tuple[Spot, ...], ...] = ()

    @property
    def area(self) -> Area:
        """The exact area of the piece, without its holes."""
        rings = (self.outer, *self.holes)
        return Area(sum((_turned(ring) for ring in rings), start=Fraction(0)) / 2)


def _turned(ring: tuple[Spot, ...]) -> Fraction:
    return sum((a.mm * d.mm - c.mm * b.mm for (a, b), (c, d) in pairwise((*ring, ring[0]))), start=Fraction(0))


@dataclass(frozen=True, slots=True)
class PlaneSection:
    """A plane through a scene inside a window, with the parts it meets, in the order of the scene."""

    axis: int
    at: Length
    window: Rectangle
    solids: tuple[Cross, ...]


def section(seen: Scene, axis: int, at: Length, window: Rectangle) -> PlaneSection:
    """The section `axis` = `at` inside a window: the solid of each part it meets, as exact rectangles.

    >>> from woodshop.shape.part import Cuboid
    >>> from woodshop.shape.scene import scene
    >>> from woodshop.units.lengths import ZERO, inch
    >>> bar = Cuboid((ZERO, ZERO, ZERO), (inch(19), inch(1), inch("3/4")))
    >>> cut = section(scene([bar]), 0, inch(9), Rectangle(ZERO, ZERO, inch(2), inch(2)))
    >>> [(str(r.u1), str(r.v1)) for r in cut.solids[0].rectangles]
    [('1 in', '3/4 in')]
    """
    on = on_grid(seen, at, window)
    thin = slab(on.grid, axis, at, window)
    u, v = sides(axis)
    length = on.grid.length
    found = []
    for thing, solid in zip(on.things, on.solids, strict=True):
        blocks = _in_slab(on.grid, solid, axis, thin)
        if blocks:
            cells = [Rectangle(length(b[0][u]), length(b[0][v]), length(b[1][u]), length(b[1][v])) for b in blocks]
            found.append(Cross(thing, tuple(cells)))
    return PlaneSection(axis, at, window, tuple(found))


def open_area(seen: Scene, axis: int, at: Length, window: Rectangle) -> Area:
    """The free area of a window in a plane, exact except for round holes cut across, which count 98 %.

    >>> from woodshop.shape.part import Cuboid
    >>> from woodshop.shape.scene import scene
    >>> from woodshop.units.lengths import ZERO, inch
    >>> bar = Cuboid((ZERO, ZERO, ZERO), (inch(19), inch(1), inch("3/4")))
    >>> print(open_area(scene([bar]), 0, inch(9), Rectangle(ZERO, ZERO, inch(2), inch(2))))
    3.25 sq in
    """
    on = on_grid(seen, at, window)
    free, along_u, along_v = _free_cells(on, axis, slab(on.grid, axis, at, window), FINE_STEPS)
    across = [b - a for a, b in pairwise(along_u)]
    up = [b - a for a, b in pairwise(along_v)]
    rows = [sum(high for high, empty in zip(up, row, strict=True) if empty) for row in free.tolist()]
    step = on.grid.length(1)
    return (step * step) * sum(wide * high for wide, high in zip(across, rows, strict=True))


def sides(axis: int) -> tuple[int, int]:
    """The two axes of a plane across `axis`, in order."""
    u, v = (i for i in range(3) if i != axis)
    return u, v


def on_grid(seen: Scene, at: Length, window: Rectangle) -> Scene:
    """The scene on a grid that also contains the lines of the plane and the window."""
    return seen.holding((at, window.u0, window.v0, window.u1, window.v1))


def slab(grid: Grid, axis: int, at: Length, window: Rectangle) -> Block:
    """The window in its plane as a block one grid step thick, on the high side."""
    u, v = sides(axis)
    low, high = [0, 0, 0], [0, 0, 0]
    low[axis] = grid.whole(at)
    high[axis] = low[axis] + 1
    low[u], high[u] = grid.whole(window.u0), grid.whole(window.u1)
    low[v], high[v] = grid.whole(window.v0), grid.whole(window.v1)
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def in_slab(seen: Scene, axis: int, thin: Block) -> list[Block]:
    """The parts of a scene inside a slab one step thick, as blocks."""
    return [block for solid in seen.solids for block in _in_slab(seen.grid, solid, axis, thin)]


def _in_slab(grid: Grid, solid: Solid, axis: int, thin: Block) -> list[Block]:
    block = meet(solid.block, thin)
    if block is None:
        return []
    if not solid.rounds:
        return [shared for piece in solid.pieces if (shared := meet(piece, thin))]
    return list(less(block, _hollows(grid, solid, axis, thin, STEPS)))


def _hollows(grid: Grid, solid: Solid, axis: int, thin: Block, steps: int) -> list[Block]:
    """The hollows of a part where a slab one step thick meets it: round holes as steps, or as their chord."""
    hollows = list(solid.hollows)
    for hole in solid.rounds:
        if hole.axis == axis:
            hollows += round_steps(hole, grid, steps)
        elif wide := chord(hole, grid, axis, thin[0][axis]):
            hollows.append(wide)
    return hollows


def _free_cells(on: Scene, axis: int, thin: Block, steps: int = STEPS) -> "tuple[NDArray[bool_], list[int], list[int]]":
    """The free cells of the plane, and the grid lines along u and v between them."""
    import numpy

    plain = [block for solid in on.solids if not solid.rounds for block in _in_slab(on.grid, solid, axis, thin)]
    drilled = [
        (block, [shared for hollow in _hollows(on.grid, solid, axis, thin, steps) if (shared := meet(block, hollow))])
        for solid in on.solids
        if solid.rounds and (block := meet(solid.block, thin))
    ]
    lines = lines_between([*plain, *(each for block, hollows in drilled for each in (block, *hollows))], *thin)
    u, v = sides(axis)
    free = ~painted(plain, lines)
    for block, hollows in drilled:
        free &= ~painted([block], lines) | painted(hollows, lines)
    free = numpy.moveaxis(free, axis, 0)[0]
    return free, [int(n) for n in lines[u]], [int(n) for n in lines[v]]


def patches(cells: "NDArray[bool_]", along_u: Sequence[int], along_v: Sequence[int], grid: Grid) -> tuple[Patch, ...]:
    """The marked cells, joined along common edges into pieces, in a fixed order.

    cells[i, j] is between lines i and i + 1 of `along_u` and lines j and j + 1 of `along_v`. The pieces are joined by
    line number, a small integer, so that joining is exact for any lengths.
    """
    import numpy
    import shapely

    edges = numpy.diff(numpy.pad(cells, ((0, 0), (1, 1))).view(numpy.int8), axis=1)
    row, start = numpy.nonzero(edges == 1)
    _, end = numpy.nonzero(edges == -1)
    if not len(row):
        return ()
    joined = shapely.union_all(shapely.box(*(each.astype(float) for each in (row, start, row + 1, end))))
    if joined.area != int(cells.sum()):
        raise ArithmeticError("joining cells over their edges changed their area")

    def ring(found: "NDArray[float64]", left: bool) -> tuple[Spot, ...]:
        spots = [(int(x), int(y)) for x, y in found.tolist()[:-1]]
        corners = [
            spot
            for before, spot, after in zip((spots[-1], *spots[:-1]), spots, (*spots[1:], spots[0]), strict=True)
            if (before[0] == spot[0]) != (spot[0] == after[0])
        ]
        if (sum(a * d - c * b for (a, b), (c, d) in pairwise((*corners, corners[0]))) > 0) != left:
            corners.reverse()
        first = corners.index(min(corners))
        turned = (*corners[first:], *corners[:first])
        return tuple((grid.length(along_u[i]), grid.length(along_v[j])) for i, j in turned)

    found = []
    for piece in shapely.get_parts(joined):
        outer = ring(shapely.get_coordinates(piece.exterior), True)
        holes = sorted(ring(shapely.get_coordinates(hole), False) for hole in piece.interiors)
        found.append(Patch(outer, tuple(holes)))
    return tuple(sorted(found, key=lambda patch: (patch.outer, patch.holes)))
