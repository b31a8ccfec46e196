"""Rooms: where a cube of a given size fits among solids, and between which places it can pass.

The cube is upright and moves without rotation. Solids are open and free space is closed, so a cube of 1/4 in passes
through a gap of exactly 1/4 in. The calculation uses the positions of the cube's low corner, and enlarges every solid
by the cube. Only the faces of solids matter, so there are few cells however large the space is.
"""

from collections.abc import Sequence
from dataclasses import KW_ONLY, dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from woodshop.shape.part import Cuboid, Placed, Point
from woodshop.shape.scene import Block, Grid, Scene, corner, meet
from woodshop.units.lengths import ZERO, Length

if TYPE_CHECKING:
    from numpy import bool_, int32, int64
    from numpy.typing import NDArray


@dataclass(frozen=True, eq=False, slots=True)
class Rooms:
    """The connected rooms of a cube of side `size` that stays inside `window`, numbered from 1 in a fixed order."""

    window: Cuboid
    size: Length
    count: int
    _: KW_ONLY
    _grid: Grid = field(repr=False)
    _need: int = field(repr=False)
    _lines: "tuple[NDArray[int64], ...]" = field(repr=False)
    _labels: "NDArray[int32]" = field(repr=False)

    def rooms_in(self, box: Cuboid) -> tuple[int, ...]:
        """The rooms of every cube that intersects a box. The result is empty if there is no such cube."""
        lows = [_floor(self._grid, low) for low in box.low]
        highs = [-_floor(self._grid, -high) for high in box.high]
        return self._within([low - self._need for low in lows], highs)

    def rooms_at(self, point: Point) -> tuple[int, ...]:
        """The rooms of every cube over a point. The point means the space just beyond it on the high side."""
        lows = [_floor(self._grid, each) for each in point]
        return self._within([low - self._need for low in lows], [low + 1 for low in lows])

    def joined(self, one: Point, other: Point) -> bool:
        """Whether a cube over one point can slide to the other."""
        return bool(set(self.rooms_at(one)) & set(self.rooms_at(other)))

    def _within(self, lows: Sequence[int], highs: Sequence[int]) -> tuple[int, ...]:
        """The rooms with a low corner strictly between two corners."""
        if not self._labels.size:
            return ()
        cells = []
        for lines, low, high in zip(self._lines, lows, highs, strict=True):
            first = 2 * int(lines.searchsorted(low, side="right")) - 1
            cells.append(slice(max(0, first), 2 * int(lines.searchsorted(high, side="left"))))
        return self._present(tuple(cells))

    def _present(self, cells: tuple[slice, ...]) -> tuple[int, ...]:
        """The rooms in a block of cells, in order."""
        import numpy

        present = numpy.zeros(self.count + 1, dtype=bool)
        present[self._labels[cells]] = True
        present[0] = False
        return tuple(numpy.flatnonzero(present).tolist())


def rooms(seen: Scene, window: Cuboid, size: Length) -> Rooms:
    """The rooms of a cube of side `size` inside a window, whose faces count as walls.

    Raises ValueError unless the size is positive.

    >>> from woodshop.shape.scene import scene
    >>> from woodshop.units.lengths import inch
    >>> wall = Cuboid((inch(4), ZERO, inch("1/4")), (inch(5), inch(1), inch(1)))
    >>> window = Cuboid((ZERO, ZERO, ZERO), (inch(9), inch(1), inch(1)))
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
    """The possible positions of the low corner: cell 2 i is on line i, cell 2 i + 1 between lines i and i + 1.

    The interior of each enlarged solid is excluded.
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
    """The piece number of each marked cell (0 for other cells), and the number of pieces, connected over faces.

    Works on runs along the last axis; adjacent runs are one piece. Pieces are numbered by their first cell.
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
    number = (name == numpy.arange(len(name))).cumsum()  # a piece is named by its first run
    labels = numpy.zeros(len(flat), dtype=numpy.int32)
    labels[flat] = numpy.repeat(number[name].astype(numpy.int32), ends - starts)
    return labels.reshape(padded.shape)[:, :-1, :-1], int(number[-1]) if len(number) else 0


def _least_names(size: int, one: "NDArray[int64]", other: "NDArray[int64]") -> "NDArray[int64]":
    """For each of `size` elements, the lowest element connected to it by the pairs."""
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


@dataclass(frozen=True, slots=True)
class Walk:
    """A walker: a cube of a size (if `strict`, the next larger on the grid), and the sheets that it can pass."""

    seen: Scene
    window: Cuboid
    size: Length
    strict: bool
    sheets: tuple[Placed, ...]


@dataclass(frozen=True, eq=False, slots=True)
class Joined:
    """The rooms of a cube; rooms connected through sheets of mesh have the same number."""

    rooms: Rooms
    names: tuple[int, ...]

    @property
    def grid(self) -> Grid:
        """The grid used for the walk."""
        return self.rooms._grid

    def rooms_in(self, box: Cuboid) -> frozenset[int]:
        """The rooms of every cube that intersects a box."""
        return frozenset(self.names[room] for room in self.rooms.rooms_in(box))

    def stands_in(self, box: Cuboid) -> frozenset[int]:
        """The rooms of every cube completely inside a box."""
        found, grid, need = self.rooms, self.rooms._grid, self.rooms._need
        if not found._labels.size:
            return frozenset()
        cells = []
        for lines, low, high in zip(found._lines, box.low, box.high, strict=True):
            first, last = -(-low.mm * grid.per_mm // 1), high.mm * grid.per_mm // 1 - need
            if first > last:
                return frozenset()
            cells.append(slice(*_closed(lines, first, last)))
        return frozenset(self.names[n] for n in found._present(tuple(cells)))

    def shadow(
        self, axis: int, at: Length, of: frozenset[int]
    ) -> "tuple[NDArray[bool_], NDArray[int64], NDArray[int64]]":
        """The cells of the plane `axis` = `at` that a cube in these rooms can cover, and the lines between them.

        Lines are on the grid of the scene. covered[i, j] is between lines i and i + 1 of the first other axis, and
        lines j and j + 1 of the second.
        """
        import numpy

        found, need = self.rooms, self.rooms._need
        if not found._labels.size:
            none = numpy.zeros(1, dtype=numpy.int64)
            return numpy.zeros((0, 0), dtype=bool), none, none
        u, v = (i for i in range(3) if i != axis)
        spot = at.mm * found._grid.per_mm // 1
        inside = numpy.array([name in of and n > 0 for n, name in enumerate(self.names)])
        lines = found._lines[axis]
        layers = slice(*_half_open(lines, spot - need, spot))
        labels = numpy.moveaxis(found._labels, axis, 0)[layers]
        stands = inside[labels].any(axis=0)
        marks = []
        for i in (u, v):
            each = found._lines[i]
            marks.append(numpy.unique(numpy.concatenate([each, each + need])))
        spans = []
        for i, mark in zip((u, v), marks, strict=True):
            each = found._lines[i]
            low = numpy.repeat(each, 2)[:-1]
            high = numpy.repeat(each, 2)[1:] + need
            spans.append((mark.searchsorted(low), mark.searchsorted(high)))
        steps = numpy.zeros((len(marks[0]), len(marks[1])), dtype=numpy.int32)
        where_u, where_v = numpy.nonzero(stands)
        for rows, sign in ((spans[0][0], 1), (spans[0][1], -1)):
            numpy.add.at(steps, (rows[where_u], spans[1][0][where_v]), sign)
            numpy.add.at(steps, (rows[where_u], spans[1][1][where_v]), -sign)
        covered = steps.cumsum(axis=0).cumsum(axis=1)[:-1, :-1] > 0
        rows = numpy.flatnonzero((covered[1:] != covered[:-1]).any(axis=1)) + 1
        columns = numpy.flatnonzero((covered[:, 1:] != covered[:, :-1]).any(axis=0)) + 1
        first_u, first_v = ([0, *turns.tolist()] for turns in (rows, columns))
        fewer = covered[first_u][:, first_v]
        return fewer, marks[0][[*first_u, -1]], marks[1][[*first_v, -1]]


def walk(given: Walk) -> Joined:
    """The rooms of a walker, connected through the sheets that it can pass."""
    grid = given.seen.grid
    steps = given.size.mm * grid.per_mm
    whole = steps // 1 + 1 if given.strict else -(-steps // 1)
    found = rooms(given.seen, given.window, grid.length(int(whole)))
    names = list(range(found.count + 1))
    for sheet in given.sheets:
        for one, other in _across(found, sheet.box):
            low, high = sorted((names[one], names[other]))
            names = [low if name == high else name for name in names]
    return Joined(found, tuple(names))


def _across(found: Rooms, sheet: Cuboid) -> list[tuple[int, int]]:
    """The pairs of rooms on the two sides of a sheet, from corresponding places."""
    import numpy

    axis = min(range(3), key=sheet.size)
    if not found._labels.size:
        return []
    per_mm = found._grid.per_mm
    below, above = (Fraction(m.mm * per_mm) for m in (sheet.low[axis], sheet.high[axis]))
    lines = found._lines[axis]
    i, j = (int(lines.searchsorted(int(mark))) for mark in (below - found._need, above))
    if i >= len(lines) or j >= len(lines) or lines[i] != below - found._need or lines[j] != above:
        return []
    labels = numpy.moveaxis(found._labels, axis, 0)
    u, v = (n for n in range(3) if n != axis)
    cells = [
        slice(*_closed(found._lines[n], sheet.low[n].mm * per_mm // 1, sheet.high[n].mm * per_mm // 1 - found._need))
        for n in (u, v)
    ]
    one, other = (labels[2 * n][tuple(cells)] for n in (i, j))
    both = (one > 0) & (other > 0)
    pairs = numpy.unique(numpy.stack([one[both], other[both]]), axis=1)
    return [(int(a), int(b)) for a, b in pairs.T]


def _closed(lines: "NDArray[int64]", low: int, high: int) -> tuple[int, int]:
    """The cells, on lines and between them, that contain a position from `low` to `high`, inclusive."""
    on_low = int(lines.searchsorted(low))
    first = 2 * on_low if on_low < len(lines) and lines[on_low] == low else 2 * on_low - 1
    on_high = int(lines.searchsorted(high, side="right"))
    last = 2 * on_high - 1 if on_high and lines[on_high - 1] == high else 2 * on_high
    return max(0, first), max(0, last)


def _half_open(lines: "NDArray[int64]", low: int, high: int) -> tuple[int, int]:
    """The cells that contain a position above `low` and up to `high`."""
    first = 2 * int(lines.searchsorted(low, side="right")) - 1
    return max(0, first), _closed(lines, high, high)[1]
