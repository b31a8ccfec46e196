"""Divides a plane by clear width: the side of the largest cube in free space that covers a place.

The measure is a cube, not only a square in the plane. In a plane along a passage between two frames, the passage covers
a broad area, but it is no wider than the distance between the frames. (`flat=True` uses only the square in the plane.)
The part of free space that cubes of one size can cover is the morphological opening of free space by that cube. Among
upright blocks, the opening is a union of free blocks whose faces are faces of the solids, so it is found exactly, in
whole numbers. Free space is closed, so that a gap of exactly 1/4 in admits 1/4 in.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import lcm
from typing import TYPE_CHECKING

from woodshop.shape.part import Cuboid, Rectangle
from woodshop.shape.plane import Patch, in_slab, on_grid, patches, sides, slab
from woodshop.shape.rooms import Joined
from woodshop.shape.scene import Block, Grid, Scene, grid_of, lines_between, meet, painted
from woodshop.units.lengths import ZERO, Length

if TYPE_CHECKING:
    from numpy import bool_, int64
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class ClearPatch:
    """Free space in a plane, and the largest of the given sizes that fits there, or None if none fits."""

    clear: Length | None
    patch: Patch


def clear_classes(
    seen: Scene,
    axis: int,
    at: Length,
    *,
    window: Rectangle,
    sizes: Sequence[Length],
    closed: bool = False,
    flat: bool = False,
) -> tuple[ClearPatch, ...]:
    """Divides the free space of the plane `axis` = `at` inside a window by the largest of the `sizes` that fits there.

    The patches fill the free space without overlapping. The window's edge is not a wall: parts beyond it count, and
    empty space beyond it is free; if `closed` is true, the edge is a wall. Space beyond the scene along the axis is
    free. If `flat` is true, only the square in the plane must fit. Raises ValueError unless the sizes are positive and
    ascending.

    >>> from woodshop.shape.part import Cuboid
    >>> from woodshop.shape.scene import scene
    >>> from woodshop.units.lengths import inch
    >>> bar = Cuboid((ZERO, ZERO, ZERO), (inch(19), inch(8), inch(1)))
    >>> mesh = Cuboid((ZERO, ZERO, inch("1 1/4")), (inch(19), inch(8), inch("1 3/8")))
    >>> window = Rectangle(inch(1), inch(1), inch(7), inch("1 1/4"))
    >>> sizes = [inch("3/16"), inch("1/4"), inch("3/8")]
    >>> found = clear_classes(scene([bar, mesh]), 0, inch(9), window=window, sizes=sizes)
    >>> [(str(each.clear), str(each.patch.area)) for each in found]
    [('1/4 in', '1.5 sq in')]
    """
    if not sizes or sizes[0] <= ZERO or any(a >= b for a, b in pairwise(sizes)):
        raise ValueError(f"sizes rise from above nothing, not {[str(size) for size in sizes]}")
    on = on_grid(seen, at, window)
    thin = slab(on.grid, axis, at, window)
    # Gaps are full steps, so a width is at least a size if it is at least that size rounded up to full steps.
    needs = [-(-size.mm * on.grid.per_mm // 1) for size in sizes]
    reach = _reach(thin, axis, needs[-1], closed)
    blocks = [shared for solid in on.solids for piece in solid.pieces if (shared := meet(piece, reach))]
    shown = in_slab(on, axis, thin)
    lines = lines_between([*blocks, *shown, thin], *reach)
    u, v = sides(axis)
    free = ~painted(shown, lines).any(axis=axis)
    filled = painted(blocks, lines).transpose(axis, u, v)
    grade = _grades(filled, [lines[axis], lines[u], lines[v]], thin[0][axis], needs, flat)
    grade[~free] = -1
    inside_u = slice(*(int(n) for n in lines[u].searchsorted([thin[0][u], thin[1][u]])))
    inside_v = slice(*(int(n) for n in lines[v].searchsorted([thin[0][v], thin[1][v]])))
    grade = grade[inside_u, inside_v]
    along_u = [int(n) for n in lines[u][inside_u.start : inside_u.stop + 1]]
    along_v = [int(n) for n in lines[v][inside_v.start : inside_v.stop + 1]]
    found = []
    for n in range(len(sizes) + 1):
        clear = sizes[n - 1] if n else None
        found += [ClearPatch(clear, patch) for patch in patches(grade == n, along_u, along_v, on.grid)]
    return tuple(found)


def _reach(thin: Block, axis: int, far: int, closed: bool) -> Block:
    """The space that a cube of side `far` can reach if it touches the slab."""
    low, high = list(thin[0]), list(thin[1])
    for i in range(3):
        if i == axis or not closed:
            low[i], high[i] = low[i] - far, high[i] + far
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def _grades(
    filled: "NDArray[bool_]", lines: "list[NDArray[int64]]", at: int, needs: Sequence[int], flat: bool
) -> "NDArray[int64]":
    """How many of the ascending sizes fit in each cell of the plane. In filled[n, u, v], n is across the plane."""
    import numpy

    layer = int(lines[0].searchsorted(at, side="right")) - 1
    grade = numpy.zeros(filled.shape[1:], dtype=numpy.int64)
    for need in needs:
        if flat:
            layers = [(layer, layer + 1)]
        else:
            layers = _least([pair for pair in _runs(lines[0], need) if pair[0] <= layer < pair[1]])
        over_u, over_v = _runs(lines[1], need), _runs(lines[2], need)
        covered = numpy.zeros(grade.shape, dtype=bool)
        for low, high in layers:
            covered |= _covered(numpy.logical_or.reduce(filled[low:high], axis=0), over_u, over_v)
        if not covered.any():
            break
        grade += covered
    return grade


def _runs(lines: "NDArray[int64]", need: int) -> list[tuple[int, int]]:
    """The shortest runs of cells at least `need` long, from every line upward and from every line downward.

    Every cell of a longer run is in one of these runs, which is inside the longer one.
    """
    ups = lines.searchsorted(lines + need, side="left")
    downs = lines.searchsorted(lines - need, side="right") - 1
    found = {(i, int(j)) for i, j in enumerate(ups) if j < len(lines)}
    found |= {(int(i), j) for j, i in enumerate(downs) if i >= 0}
    return sorted(found)


def _least(pairs: list[tuple[int, int]]) -> list[tuple[int, int]]:
    return [a for a in pairs if not any(b != a and a[0] <= b[0] and b[1] <= a[1] for b in pairs)]


def _covered(
    filled: "NDArray[bool_]", over_u: list[tuple[int, int]], over_v: list[tuple[int, int]]
) -> "NDArray[bool_]":
    """The cells in a free rectangle made of one of the runs along u and one of the runs along v."""
    import numpy

    if not over_u or not over_v:
        return numpy.zeros_like(filled)
    sums = numpy.zeros((filled.shape[0] + 1, filled.shape[1] + 1), dtype=numpy.int32)
    sums[1:, 1:] = filled.cumsum(axis=0, dtype=numpy.int32).cumsum(axis=1, dtype=numpy.int32)
    u, v = numpy.array(over_u).T, numpy.array(over_v).T
    bands = sums[u[1]] - sums[u[0]]
    clear = bands[:, v[1]] == bands[:, v[0]]
    return _spread(_spread(clear, v, filled.shape[1]).T, u, filled.shape[0]).T


def _spread(marks: "NDArray[bool_]", runs: "NDArray[int64]", size: int) -> "NDArray[bool_]":
    """For each row, the cells of the runs that are marked in it. marks[row, run], runs[low or high, run]."""
    import numpy

    steps = numpy.zeros((len(marks), size + 1), dtype=numpy.int32)
    for ends, sign in zip(runs, (1, -1), strict=True):
        order = ends.argsort(kind="stable")
        cells, first = numpy.unique(ends[order], return_index=True)
        steps[:, cells] += sign * numpy.add.reduceat(marks[:, order].astype(numpy.int32), first, axis=1)
    covered: NDArray[bool_] = steps[:, :-1].cumsum(axis=1) > 0
    return covered


SLIVER = Length(Fraction(1, 160))  # two rounding errors of a round hole's chord; no two marks of a tape are this close
Walker = tuple[Joined, frozenset[int]]


@dataclass(frozen=True, slots=True)
class SplitPiece:
    """A connected piece of free space of one kind, and the number of sizes that fit at its widest place."""

    kind: int
    best: int
    patch: Patch


def split(
    seen: Scene,
    axis: int,
    at: Length,
    *,
    window: Rectangle,
    found: Sequence[ClearPatch],
    sizes: Sequence[Length],
    marked: Sequence[Cuboid],
    walkers: tuple[Walker, Walker],
    kind: Callable[[int, bool, bool], int],
) -> tuple[SplitPiece, ...]:
    """Splits the classes of a plane into pieces of one kind each, ordered by kind and then in a fixed order.

    `kind` numbers the kinds from 0 up. It is called with the number of sizes that fit, whether a marked block contains
    the place, and whether the place is reachable. A place is reachable if the first walker covers it from its rooms. A
    place too small for any size is reachable if the second walker covers it from its rooms, or if it connects to such a
    place in the plane.
    """
    import numpy

    u, v = sides(axis)
    shadows = [_Shadow(walked, *walked.shadow(axis, at, rooms)) for walked, rooms in walkers]
    grid = on_grid(seen, at, window).grid
    grid = Grid(lcm(grid.per_mm, *(each.walked.grid.per_mm for each in shadows)))
    through = [box for box in marked if box.low[axis] <= at < box.high[axis]]
    grid = grid.holding(m for box in through for i in (u, v) for m in (box.low[i], box.high[i]))
    rings = [ring for each in found for ring in (each.patch.outer, *each.patch.holes)]
    lines = []
    for n, i in enumerate((u, v)):
        marks = [grid.whole(spot[n]) for ring in rings for spot in ring]
        marks += [grid.whole(m) for box in through for m in (box.low[i], box.high[i])]
        drawn = [each.on(grid)[n] for each in shadows]
        lines.append(numpy.unique(numpy.concatenate([*drawn, numpy.array(marks, dtype=numpy.int64)])))
    shape = (len(lines[0]) - 1, len(lines[1]) - 1)
    classes = numpy.full(shape, -1, dtype=numpy.int64)
    for n in range(len(sizes) + 1):
        clear = sizes[n - 1] if n else None
        alike = [each.patch for each in found if each.clear == clear]
        if alike:
            classes[_filled(alike, lines, grid)] = n
    held = numpy.zeros(shape, dtype=bool)
    for box in through:
        held[_cells(lines[0], grid, box.low[u], box.high[u]), _cells(lines[1], grid, box.low[v], box.high[v])] = True
    reached, touched = (each.over(lines, grid) & (classes >= 0) for each in shadows)
    at_hand = _glued(classes, reached | (touched & (classes == 0)))
    table = numpy.array(
        [
            [[kind(n, inner, neighbors) for neighbors in (False, True)] for inner in (False, True)]
            for n in range(len(sizes) + 1)
        ]
    )
    kinds = numpy.where(classes >= 0, table[classes, held.astype(int), at_hand.astype(int)], -1)
    kept = _turning(kinds * (len(sizes) + 2) + classes)
    lines = [line[[*keep, len(line) - 1]] for line, keep in zip(lines, kept, strict=True)]
    cut = numpy.ix_(*kept)
    return _pieces(kinds[cut], classes[cut], lines, grid)


def _pieces(
    kinds: "NDArray[int64]", classes: "NDArray[int64]", lines: "list[NDArray[int64]]", grid: Grid
) -> tuple[SplitPiece, ...]:
    import numpy

    found = []
    along_u, along_v = ([int(m) for m in line] for line in lines)
    for n in (int(each) for each in numpy.unique(kinds) if each >= 0):
        for patch in patches(kinds == n, along_u, along_v, grid):
            best = int(classes[_filled([patch], lines, grid)].max())
            if best or not is_sliver(patch):
                found.append(SplitPiece(n, best, patch))
    return tuple(found)


@dataclass(frozen=True, eq=False, slots=True)
class _Shadow:
    """The cells of a plane that a walker covers, and the lines between them on its grid."""

    walked: Joined
    covered: "NDArray[bool_]"
    along_u: "NDArray[int64]"
    along_v: "NDArray[int64]"

    def on(self, grid: Grid) -> "tuple[NDArray[int64], NDArray[int64]]":
        """The lines where coverage changes, on a finer grid."""
        finer = grid.per_mm // self.walked.grid.per_mm
        return self.along_u * finer, self.along_v * finer

    def over(self, lines: "list[NDArray[int64]]", grid: Grid) -> "NDArray[bool_]":
        """The coverage in the cells between additional lines."""
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
    """The index of the first of each series of identical rows, and of each series of identical columns."""
    import numpy

    rows = numpy.flatnonzero((cells[1:] != cells[:-1]).any(axis=1)) + 1
    columns = numpy.flatnonzero((cells[:, 1:] != cells[:, :-1]).any(axis=0)) + 1
    return [[0, *rows.tolist()], [0, *columns.tolist()]]


def _cells(lines: "NDArray[int64]", grid: Grid, low: Length, high: Length) -> slice:
    return slice(int(lines.searchsorted(grid.whole(low))), int(lines.searchsorted(grid.whole(high))))


def _filled(alike: list[Patch], lines: "list[NDArray[int64]]", grid: Grid) -> "NDArray[bool_]":
    """The cells inside patches that do not overlap; each edge across u toggles the cells beyond it."""
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
    """The reachable cells, and the cells too small for any size that connect to them in the plane."""
    tight = (classes == 0) & ~reached
    known = reached.copy()
    while True:
        neighbors = known.copy()
        neighbors[1:] |= known[:-1]
        neighbors[:-1] |= known[1:]
        neighbors[:, 1:] |= known[:, :-1]
        neighbors[:, :-1] |= known[:, 1:]
        grown = known | (neighbors & tight)
        if (grown == known).all():
            return known
        known = grown


def is_sliver(patch: Patch) -> bool:
    """Whether a patch is narrower than SLIVER along u or v everywhere, like a patch left by the rounding of a hole.

    It is not a sliver if, at any spot, its runs along u and along v are both at least SLIVER long.
    """
    import numpy

    spots = [spot for ring in (patch.outer, *patch.holes) for spot in ring]
    grid = grid_of(m for spot in spots for m in spot)
    lines = [numpy.array(sorted({grid.whole(spot[n]) for spot in spots}), dtype=numpy.int64) for n in (0, 1)]
    cells = _filled([patch], lines, grid)
    least = -int(-SLIVER.mm * grid.per_mm // 1)
    along_u, along_v = _run_lengths(cells, lines[0]), _run_lengths(cells.T, lines[1]).T
    return not bool((cells & (along_u >= least) & (along_v >= least)).any())


def _run_lengths(cells: "NDArray[bool_]", line: "NDArray[int64]") -> "NDArray[int64]":
    """The length of each cell's run of cells along the first axis."""
    import numpy

    runs = numpy.zeros(cells.shape, dtype=numpy.int64)
    total = numpy.zeros(cells.shape[1], dtype=numpy.int64)
    for n, size in enumerate(numpy.diff(line).tolist()):
        total = numpy.where(cells[n], total + size, 0)
        runs[n] = total
    for n in range(len(runs) - 2, -1, -1):
        runs[n] = numpy.where(cells[n] & cells[n + 1], runs[n + 1], runs[n])
    return runs
