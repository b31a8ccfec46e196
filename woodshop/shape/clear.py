"""Clear width: the largest cube that finds room in free space over a place, and the classes of a plane by it.

A cube, not only a square in the plane: a lane between two frames is a broad face in a plane that runs along
it, and is no wider than the frames are apart. (`flat=True` asks for the square in the plane alone.) The free space
that cubes of a size can cover is its opening by that size. On upright blocks it is a union of free blocks whose
faces are faces of the solids, so that it is found exactly, in whole numbers; free space is closed, so that
a gap of exactly 1/4 in admits 1/4 in.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from woodshop.shape.part import Rectangle
from woodshop.shape.plane import Patch, in_slab, on_grid, patches, sides, slab
from woodshop.shape.scene import Block, Scene, lines_between, meet, painted
from woodshop.units.lengths import ZERO, Length

if TYPE_CHECKING:
    from numpy import bool_, int64
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class ClearPatch:
    """Free space in a plane, and the largest of the sizes asked for that is clear there; None when none is."""

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
    """The free space of the plane `axis` = `at` inside a window, by the largest of the rising sizes clear there.

    The patches share no area and fill the free space. The window's edge is no wall: what stands beyond it
    counts, and empty space beyond it counts as free; with `closed` the edge is a wall. Beyond what the scene
    holds along the axis, space is free. Raises ValueError when the sizes do not rise from above nothing.

    >>> from woodshop.shape.part import Box
    >>> from woodshop.shape.scene import scene
    >>> from woodshop.units.lengths import inch
    >>> bar = Box((ZERO, ZERO, ZERO), (inch(19), inch(8), inch(1)))
    >>> mesh = Box((ZERO, ZERO, inch("1 1/4")), (inch(19), inch(8), inch("1 3/8")))
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
    # what is at least a size is at least that size rounded up to whole steps, for the gaps are whole steps
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
    """The space in which a cube of side `far` may stand that meets the slab."""
    low, high = list(thin[0]), list(thin[1])
    for i in range(3):
        if i == axis or not closed:
            low[i], high[i] = low[i] - far, high[i] + far
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def _grades(
    filled: "NDArray[bool_]", lines: "list[NDArray[int64]]", at: int, needs: Sequence[int], flat: bool
) -> "NDArray[int64]":
    """For every cell of the plane, how many of the rising sizes are clear there. filled[n, u, v]: n across it."""
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
    """The shortest runs of cells that are at least `need` long, from every line up and from every line down.

    Every cell of a longer run of cells lies in one of these inside that run.
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
    """The cells that lie in a free rectangle of one of the runs along u by one of the runs along v."""
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
    """For each row of marks, which cells lie in a run that it marks. marks[row, run], runs[low or high, run]."""
    import numpy

    steps = numpy.zeros((len(marks), size + 1), dtype=numpy.int32)
    for ends, sign in zip(runs, (1, -1), strict=True):
        order = ends.argsort(kind="stable")
        cells, first = numpy.unique(ends[order], return_index=True)
        steps[:, cells] += sign * numpy.add.reduceat(marks[:, order].astype(numpy.int32), first, axis=1)
    covered: NDArray[bool_] = steps[:, :-1].cumsum(axis=1) > 0
    return covered
