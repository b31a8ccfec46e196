"""The bee-space map: planes cut through a hive, and the free space in them graded as bees will take it.

Each plane shows what is solid, and the free space by the largest cube that finds room over a place: too tight, bee
space, too wide; in between, the margins that are a warning. What no worker gets to from between the frames is shut.
"""

from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from typing import TYPE_CHECKING, Literal

from woodshop.hive.inside import Inside
from woodshop.hive.planes import Plane, planes_of
from woodshop.hive.stack import Stack
from woodshop.hive.through_mesh import Joined
from woodshop.reference.limits import Band
from woodshop.shape.clear import ClearPatch, clear_classes
from woodshop.shape.grid import Grid, grid_of
from woodshop.shape.part import Placed, Rectangle, Role
from woodshop.shape.plane import Patch, patches, section, sides
from woodshop.units import Length

if TYPE_CHECKING:
    from numpy import bool_, int64
    from numpy.typing import NDArray

Grade = Literal["tight", "nearly tight", "bee space", "nearly wide", "wide", "meant wide", "shut"]
GRADES: tuple[Grade, ...] = ("tight", "nearly tight", "bee space", "nearly wide", "wide", "meant wide", "shut")
HAIR = Length(Fraction(1, 10**6))  # what is wider than a limit is at least so much wider: sizes lie on coarser grids
SLIVER = Length(Fraction(1, 160))  # two roundings of a round hole's chord; no two marks of a tape are so near


@dataclass(frozen=True, slots=True)
class MapSolid:
    """What a plane shows of one part: disjoint rectangles; `own` is True for what we make."""

    name: str
    tier: str
    role: Role
    material: str
    rectangles: tuple[Rectangle, ...]
    own: bool


@dataclass(frozen=True, slots=True)
class Region:
    """A connected piece of free space of one grade, and the largest of the map's limits that is clear in it."""

    grade: Grade
    patch: Patch
    clear: Length | None


@dataclass(frozen=True, slots=True)
class MapSection:
    """A plane `axis` = `at` through a hive: u and v of its window are the two other axes, in order.

    `band` names the published band of bee space that the regions are graded by.
    """

    name: str
    caption: str
    axis: int
    at: Length
    window: Rectangle
    solids: tuple[MapSolid, ...]
    regions: tuple[Region, ...]
    band: str


def bee_map(
    stack: Stack, band: Band, amber: tuple[Length, Length], inside: Inside | None = None
) -> tuple[MapSection, ...]:
    """The sections of a hive, graded by a band of bee space and the margins beside it that are a warning.

    `inside` is the same hive's, where it is at hand: what was walked in it is not walked again.
    """
    within = inside or Inside(stack)
    scale = _Scale.of(band, amber)
    return tuple(_section(within, plane, scale) for plane in planes_of(within.stack))


@dataclass(frozen=True, slots=True)
class _Scale:
    """The rising limits, the size that stands for each, and the grade from each on; `grades[0]` is below all."""

    band: str
    limits: tuple[Length, ...]
    sizes: tuple[Length, ...]
    grades: tuple[Grade, ...]

    @classmethod
    def of(cls, band: Band, amber: tuple[Length, Length]) -> "_Scale":
        """What is exactly a band's least or most lies in it; so with the margins."""
        steps: list[tuple[Length, Length, Grade]] = [(band.least, band.least, "bee space")]
        if amber[0] < band.least:
            steps.insert(0, (amber[0], amber[0], "nearly tight"))
        if amber[1] > band.most:
            steps.append((band.most, band.most + HAIR, "nearly wide"))
        top = max(amber[1], band.most)
        steps.append((top, top + HAIR, "wide"))
        limits, sizes, grades = zip(*steps, strict=True)
        return cls(band.name, limits, sizes, ("tight", *grades))


def _section(inside: Inside, plane: Plane, scale: _Scale) -> MapSection:
    stack, axis = inside.stack, plane.axis
    window = _window(inside, axis)
    found = clear_classes(inside.scene, axis, plane.at, window, scale.sizes)
    regions = _regions(inside, plane, window, scale, found)
    owners = {id(placed): tier for tier in stack.tiers for placed in tier.placed}
    solids = []
    for cross in section(inside.scene, axis, plane.at, window).solids:
        if isinstance(cross.thing, Placed):
            part, tier = cross.thing.part, owners[id(cross.thing)]
            solids.append(
                MapSolid(part.name, tier.name, cross.thing.role, part.material, cross.rectangles, tier.is_own)
            )
    return MapSection(plane.name, plane.caption, axis, plane.at, window, tuple(solids), regions, scale.band)


def _window(inside: Inside, axis: int) -> Rectangle:
    """All parts of the hive as the plane sees them."""
    u, v = sides(axis)
    low, high = inside.extent.low, inside.extent.high
    return Rectangle(low[u], low[v], high[u], high[v])


def _regions(
    inside: Inside, plane: Plane, window: Rectangle, scale: _Scale, found: tuple[ClearPatch, ...]
) -> tuple[Region, ...]:
    """The classes of free space, split where a meant space ends and where bees come no further."""
    import numpy

    axis = plane.axis
    u, v = sides(axis)
    shadows = [
        _Shadow(inside.walked, *inside.walked.shadow(axis, plane.at, inside.reached)),
        _Shadow(inside.probed, *inside.probed.shadow(axis, plane.at, inside.touched)),
    ]
    grid = inside.scene.holding((plane.at, window.u0, window.v0, window.u1, window.v1)).grid
    grid = Grid(lcm(grid.per_mm, *(each.walked.grid.per_mm for each in shadows)))
    spaces = [space.box for tier in inside.stack.tiers for space in tier.spaces]
    spaces = [box for box in spaces if box.low[axis] <= plane.at < box.high[axis]]
    rings = [ring for each in found for ring in (each.patch.outer, *each.patch.holes)]
    lines = []
    for n, i in enumerate((u, v)):
        marks = [grid.whole(spot[n]) for ring in rings for spot in ring]
        marks += [grid.whole(m) for box in spaces for m in (box.low[i], box.high[i])]
        drawn = [each.on(grid)[n] for each in shadows]
        lines.append(numpy.unique(numpy.concatenate([*drawn, numpy.array(marks, dtype=numpy.int64)])))
    shape = (len(lines[0]) - 1, len(lines[1]) - 1)
    classes = numpy.full(shape, -1, dtype=numpy.int64)
    for n in range(len(scale.grades)):
        clear = scale.sizes[n - 1] if n else None
        alike = [each.patch for each in found if each.clear == clear]
        if alike:
            classes[_filled(alike, lines, grid)] = n
    meant = numpy.zeros(shape, dtype=bool)
    for box in spaces:
        meant[_cells(lines[0], grid, box.low[u], box.high[u]), _cells(lines[1], grid, box.low[v], box.high[v])] = True
    reached, touched = (each.over(lines, grid) & (classes >= 0) for each in shadows)
    at_hand = _glued(classes, reached | (touched & (classes == 0)))
    grade = _graded(classes, meant, at_hand, scale)
    kept = _turning(grade * len(GRADES) + classes)
    lines = [line[[*keep, len(line) - 1]] for line, keep in zip(lines, kept, strict=True)]
    cut = numpy.ix_(*kept)
    return _pieces(grade[cut], classes[cut], lines, grid, scale)


@dataclass(frozen=True, eq=False, slots=True)
class _Shadow:
    """Which cells of a plane what walks covers, and the lines between them on the grid that it walked on."""

    walked: Joined
    covered: "NDArray[bool_]"
    along_u: "NDArray[int64]"
    along_v: "NDArray[int64]"

    def on(self, grid: Grid) -> "tuple[NDArray[int64], NDArray[int64]]":
        """The lines where what is covered changes, on a finer grid."""
        finer = grid.per_mm // self.walked.grid.per_mm
        return self.along_u * finer, self.along_v * finer

    def over(self, lines: "list[NDArray[int64]]", grid: Grid) -> "NDArray[bool_]":
        """The same in the cells between more lines."""
        import numpy

        if not self.covered.any():
            return numpy.zeros((len(lines[0]) - 1, len(lines[1]) - 1), dtype=bool)
        places = [
            each.searchsorted(line[:-1], side="right") - 1 for each, line in zip(self.on(grid), lines, strict=True)
        ]
        inner = [(at >= 0) & (at < size) for at, size in zip(places, self.covered.shape, strict=True)]
        at_u, at_v = (numpy.clip(at, 0, size - 1) for at, size in zip(places, self.covered.shape, strict=True))
        picked: NDArray[bool_] = self.covered[at_u][:, at_v] & inner[0][:, None] & inner[1][None, :]
        return picked


def _turning(cells: "NDArray[int64]") -> "list[list[int]]":
    """The first of the alike rows that follow each other, and of the columns."""
    import numpy

    rows = numpy.flatnonzero((cells[1:] != cells[:-1]).any(axis=1)) + 1
    columns = numpy.flatnonzero((cells[:, 1:] != cells[:, :-1]).any(axis=0)) + 1
    return [[0, *rows.tolist()], [0, *columns.tolist()]]


def _cells(lines: "NDArray[int64]", grid: Grid, low: Length, high: Length) -> slice:
    return slice(int(lines.searchsorted(grid.whole(low))), int(lines.searchsorted(grid.whole(high))))


def _filled(alike: list[Patch], lines: "list[NDArray[int64]]", grid: Grid) -> "NDArray[bool_]":
    """The cells inside patches that share no area: each edge across u turns what lies beyond it over."""
    import numpy

    turns = numpy.zeros((len(lines[0]), len(lines[1])), dtype=numpy.int8)
    for patch in alike:
        for ring in (patch.outer, *patch.holes):
            spots = [
                (int(lines[0].searchsorted(grid.whole(a))), int(lines[1].searchsorted(grid.whole(b)))) for a, b in ring
            ]
            for (a, b), (c, d) in zip(spots, (*spots[1:], spots[0]), strict=True):
                if a == c:
                    turns[a, min(b, d) : max(b, d)] ^= 1
    filled: NDArray[bool_] = numpy.bitwise_xor.accumulate(turns, axis=0)[:-1, :-1] == 1
    return filled


def _glued(classes: "NDArray[int64]", reached: "NDArray[bool_]") -> "NDArray[bool_]":
    """What bees get at, with what is too tight for them and opens on it in the plane: slits too thin to be probed."""
    tight = (classes == 0) & ~reached
    known = reached.copy()
    while True:
        near = known.copy()
        near[1:] |= known[:-1]
        near[:-1] |= known[1:]
        near[:, 1:] |= known[:, :-1]
        near[:, :-1] |= known[:, 1:]
        grown = known | (near & tight)
        if (grown == known).all():
            return known
        known = grown


def _graded(
    classes: "NDArray[int64]", meant: "NDArray[bool_]", at_hand: "NDArray[bool_]", scale: _Scale
) -> "NDArray[int64]":
    """For every cell its place in GRADES, -1 where it is solid."""
    import numpy

    table = numpy.array([GRADES.index(name) for name in scale.grades])
    grade = numpy.where(classes >= 0, table[classes], -1)
    too_wide = (grade == GRADES.index("nearly wide")) | (grade == GRADES.index("wide"))
    grade[too_wide & meant] = GRADES.index("meant wide")
    grade[(classes >= 0) & ~at_hand] = GRADES.index("shut")
    return grade


def _pieces(
    grade: "NDArray[int64]", classes: "NDArray[int64]", lines: "list[NDArray[int64]]", grid: Grid, scale: _Scale
) -> tuple[Region, ...]:
    found = []
    along_u, along_v = ([int(m) for m in line] for line in lines)
    for n, name in enumerate(GRADES):
        marked = grade == n
        if not marked.any():
            continue
        for patch in patches(marked, along_u, along_v, grid):
            best = int(classes[_filled([patch], lines, grid)].max())
            if best or not is_sliver(patch):
                found.append(Region(name, patch, scale.limits[best - 1] if best else None))
    return tuple(found)


def is_sliver(patch: Patch) -> bool:
    """Whether a piece is nowhere so wide both ways as SLIVER: what rounding of a round hole leaves, and nothing else.

    A piece is kept when any spot of it has runs of SLIVER within the piece along u and along v.
    """
    import numpy

    spots = [spot for ring in (patch.outer, *patch.holes) for spot in ring]
    grid = grid_of(m for spot in spots for m in spot)
    lines = [numpy.array(sorted({grid.whole(spot[n]) for spot in spots}), dtype=numpy.int64) for n in (0, 1)]
    cells = _filled([patch], lines, grid)
    least = -int(-SLIVER.mm * grid.per_mm // 1)
    along_u, along_v = _runs(cells, lines[0]), _runs(cells.T, lines[1]).T
    return not bool((cells & (along_u >= least) & (along_v >= least)).any())


def _runs(cells: "NDArray[bool_]", line: "NDArray[int64]") -> "NDArray[int64]":
    """For each cell how long the run of cells along the first axis is that it lies in."""
    import numpy

    runs = numpy.zeros(cells.shape, dtype=numpy.int64)
    total = numpy.zeros(cells.shape[1], dtype=numpy.int64)
    for n, size in enumerate(numpy.diff(line).tolist()):
        total = numpy.where(cells[n], total + size, 0)
        runs[n] = total
    for n in range(len(runs) - 2, -1, -1):
        runs[n] = numpy.where(cells[n] & cells[n + 1], runs[n + 1], runs[n])
    return runs
