"""Rooms: where a cube of a size can go among solids, and which places it can pass between.

The cube is upright and slides without turning. Solids are open and its own ways are closed: a cube of 1/4 in passes
a gap of exactly 1/4 in. Worked on the places of the cube's low corner, with every solid grown by the cube:
only the faces of solids matter, so that the space has few cells however long it is.
"""

from collections.abc import Sequence
from dataclasses import KW_ONLY, dataclass, field
from typing import TYPE_CHECKING

from woodshop.shape.grid import Grid
from woodshop.shape.part import Box, Point
from woodshop.shape.scene import Block, Scene, corner, meet
from woodshop.units.lengths import ZERO, Length

if TYPE_CHECKING:
    from numpy import bool_, int32, int64
    from numpy.typing import NDArray


@dataclass(frozen=True, eq=False, slots=True)
class Rooms:
    """The connected rooms of a cube of side `size` that stays inside `window`; numbered from 1 in a fixed order."""

    window: Box
    size: Length
    count: int
    _: KW_ONLY
    _grid: Grid = field(repr=False)
    _need: int = field(repr=False)
    _lines: "tuple[NDArray[int64], ...]" = field(repr=False)
    _labels: "NDArray[int32]" = field(repr=False)

    def rooms_in(self, box: Box) -> tuple[int, ...]:
        """The rooms of every cube that shares volume with a box; empty when no cube gets into it."""
        lows = [_floor(self._grid, low) for low in box.low]
        highs = [-_floor(self._grid, -high) for high in box.high]
        return self._within([low - self._need for low in lows], highs)

    def rooms_at(self, point: Point) -> tuple[int, ...]:
        """The rooms of every cube over a point, which stands for the space just beyond it on the high side."""
        lows = [_floor(self._grid, each) for each in point]
        return self._within([low - self._need for low in lows], [low + 1 for low in lows])

    def reaches(self, start: Box, goal: Box) -> bool:
        """Whether some cube that stands in one box, if only in part, can slide into the other."""
        return bool(set(self.rooms_in(start)) & set(self.rooms_in(goal)))

    def joined(self, one: Point, other: Point) -> bool:
        """Whether some cube over one point can slide over the other."""
        return bool(set(self.rooms_at(one)) & set(self.rooms_at(other)))

    def _within(self, lows: Sequence[int], highs: Sequence[int]) -> tuple[int, ...]:
        """The rooms with a low corner strictly between two corners."""
        import numpy

        if not self._labels.size:
            return ()
        cells = []
        for lines, low, high in zip(self._lines, lows, highs, strict=True):
            first = 2 * int(lines.searchsorted(low, side="right")) - 1
            cells.append(slice(max(0, first), 2 * int(lines.searchsorted(high, side="left"))))
        found = numpy.unique(self._labels[tuple(cells)])
        return tuple(int(n) for n in found if n)


def rooms(seen: Scene, window: Box, size: Length) -> Rooms:
    """The rooms that a cube of side `size` finds inside a window, whose faces are walls to it.

    Raises ValueError when the size is not more than nothing.

    >>> from woodshop.shape.scene import scene
    >>> from woodshop.units.lengths import inch
    >>> wall = Box((inch(4), ZERO, inch("1/4")), (inch(5), inch(1), inch(1)))
    >>> window = Box((ZERO, ZERO, ZERO), (inch(9), inch(1), inch(1)))
    >>> left, right = (inch(1), ZERO, ZERO), (inch(8), ZERO, ZERO)
    >>> [rooms(scene([wall]), window, inch(side)).joined(left, right) for side in ("1/4", "5/16")]
    [True, False]
    """
    import numpy

    if size <= ZERO:
        raise ValueError(f"a cube of {size} has no size")
    on = seen.holding((*window.low, *window.high, size))
    grid, need = on.grid, on.grid.whole(size)
    space: Block = corner(grid, window.low), corner(grid, window.high)
    ends = [high - need for high in space[1]]
    if any(low > end for low, end in zip(space[0], ends, strict=True)):
        empty = tuple(numpy.zeros(0, dtype=numpy.int64) for _ in range(3))
        return Rooms(
            window, size, 0, _grid=grid, _need=need, _lines=empty, _labels=numpy.zeros((0, 0, 0), dtype=numpy.int32)
        )
    found = [shared for solid in on.solids for piece in solid.pieces if (shared := meet(piece, space))]
    blocks = numpy.array(found, dtype=numpy.int64).reshape(-1, 2, 3)
    grown = blocks.copy()
    grown[:, 0] -= need
    lines = []
    for axis in range(3):
        marks = grown[:, :, axis].ravel()
        marks = marks[(marks > space[0][axis]) & (marks < ends[axis])]
        lines.append(numpy.unique(numpy.concatenate([marks, [space[0][axis], ends[axis]]]).astype(numpy.int64)))
    clear = _clear(grown, lines)
    order = sorted(range(3), key=lambda axis: clear.shape[axis])
    labels, count = _labelled(numpy.ascontiguousarray(clear.transpose(order)))
    back = [order.index(axis) for axis in range(3)]
    return Rooms(window, size, count, _grid=grid, _need=need, _lines=tuple(lines), _labels=labels.transpose(back))


def _floor(grid: Grid, length: Length) -> int:
    return length.mm * grid.per_mm // 1


def _clear(grown: "NDArray[int64]", lines: "Sequence[NDArray[int64]]") -> "NDArray[bool_]":
    """Where the low corner may be: cell 2 i is on line i, cell 2 i + 1 between lines i and i + 1.

    A grown solid takes what lies strictly inside it.
    """
    import numpy

    clear = numpy.ones([2 * len(each) - 1 for each in lines], dtype=bool)
    firsts, lasts = [], []
    for axis, each in enumerate(lines):
        low, high = grown[:, 0, axis], grown[:, 1, axis]
        first = 2 * each.searchsorted(low, side="right") - 1
        firsts.append(numpy.maximum(first, 0).tolist())
        lasts.append((2 * each.searchsorted(high, side="left")).tolist())
    for (a, b, c), (d, e, f) in zip(zip(*firsts, strict=True), zip(*lasts, strict=True), strict=True):
        clear[a:d, b:e, c:f] = False
    return clear


def _labelled(clear: "NDArray[bool_]") -> "tuple[NDArray[int32], int]":
    """Each marked cell with the number of its connected piece (over faces), 0 elsewhere; and how many pieces.

    Worked on runs along the last axis: runs that lie side by side are one piece. The pieces are numbered
    in the order of their first cell.
    """
    import numpy

    wide, deep = clear.shape[1] + 1, clear.shape[2] + 1
    padded = numpy.zeros((clear.shape[0], wide, deep), dtype=bool)
    padded[:, :-1, :-1] = clear
    flat = padded.ravel()
    change = numpy.flatnonzero(flat[1:] != flat[:-1]) + 1
    if len(flat) and flat[0]:
        change = numpy.concatenate([[0], change])
    starts, ends = change[0::2], change[1::2]
    one, other = [], []
    for step in (deep, wide * deep):
        first = ends.searchsorted(starts + step, side="right")
        beyond = starts.searchsorted(ends + step, side="left")
        many = numpy.maximum(beyond - first, 0)
        origin = numpy.repeat(numpy.arange(len(starts)), many)
        nth = numpy.arange(int(many.sum())) - numpy.repeat(many.cumsum() - many, many)
        one.append(origin)
        other.append(first[origin] + nth)
    name = _least_names(len(starts), numpy.concatenate(one), numpy.concatenate(other))
    roots, number = numpy.unique(name, return_inverse=True)
    labels = numpy.zeros(len(flat), dtype=numpy.int32)
    labels[flat] = numpy.repeat(number.astype(numpy.int32) + 1, ends - starts)
    return labels.reshape(padded.shape)[:, :-1, :-1], len(roots)


def _least_names(size: int, one: "NDArray[int64]", other: "NDArray[int64]") -> "NDArray[int64]":
    """For each of `size` things, the least of all that the pairs join it with."""
    import numpy

    name = numpy.arange(size)
    while len(one):
        left, right = name[one], name[other]
        least = numpy.minimum(left, right)
        numpy.minimum.at(name, left, least)
        numpy.minimum.at(name, right, least)
        while not numpy.array_equal(name, further := name[name]):
            name = further
        apart = name[one] != name[other]
        one, other = one[apart], other[apart]
    return name
