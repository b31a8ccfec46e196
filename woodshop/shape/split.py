"""Classes of free space in a plane, split by marked blocks and by where something walks, as connected pieces.

What rounding of a round hole leaves is left out: pieces nowhere so wide both ways as SLIVER, less than any mark.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from typing import TYPE_CHECKING

from woodshop.shape.clear import ClearPatch
from woodshop.shape.grid import Grid, grid_of
from woodshop.shape.part import Box, Rectangle
from woodshop.shape.plane import Patch, on_grid, patches, sides
from woodshop.shape.scene import Scene
from woodshop.shape.through_sheets import Joined
from woodshop.units.lengths import Length

if TYPE_CHECKING:
    from numpy import bool_, int64
    from numpy.typing import NDArray

SLIVER = Length(Fraction(1, 160))  # two roundings of a round hole's chord; no two marks of a tape are so near
Walker = tuple[Joined, frozenset[int]]


@dataclass(frozen=True, slots=True)
class SplitPiece:
    """A connected piece of free space of one kind, and the number of the sizes that are clear where it is widest."""

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
    marked: Sequence[Box],
    walkers: tuple[Walker, Walker],
    kind: Callable[[int, bool, bool], int],
) -> tuple[SplitPiece, ...]:
    """The classes of a plane split into pieces of one kind each, by kind and then in a fixed order.

    `kind` numbers them from 0 up, of how many of the sizes are clear, whether a marked block holds the place, and
    whether it is at hand: covered by what the first walker is in its rooms, or clear of no size and covered by the
    second in its, or open on such a place in the plane.
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
        [[[kind(n, inner, near) for near in (False, True)] for inner in (False, True)] for n in range(len(sizes) + 1)]
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
    """What is at hand, with what is clear of no size and opens on it in the plane."""
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
