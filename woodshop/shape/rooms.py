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
from woodshop.shape.scene import Block, Grid, Scene, corner
from woodshop.units.lengths import ZERO, Length

if TYPE_CHECKING:
    from numpy import bool_, int64
    from numpy.typing import NDArray


@dataclass(frozen=True, eq=False, slots=True)
class _Runs:
    """The free cells of a grid as runs along one axis, each with its room. Runs are far fewer than cells.

    `order` are the axes from the slowest to the fastest, along which the runs lie. Cells are counted in this order. One
    more row of `wide` and one more cell of `deep` are never free, so that no run goes on in the next row.
    """

    order: tuple[int, ...]
    wide: int
    deep: int
    starts: "NDArray[int64]"
    ends: "NDArray[int64]"
    rooms: "NDArray[int64]"

    def present(self, block: Sequence[slice]) -> list[int]:
        """The rooms in a block of cells, in order."""
        import numpy

        _, which = self._met(*self._rows(block))
        return [int(room) for room in numpy.unique(self.rooms[which])]

    def cells(self, block: Sequence[slice]) -> "NDArray[int64]":
        """The room of each cell of a block, 0 where none is free. Its axes are in the usual order."""
        import numpy

        low, high = self._rows(block)
        row, which = self._met(low, high)
        size = [block[axis].stop - block[axis].start for axis in self.order]
        begins = numpy.maximum(self.starts[which], low[row]) - low[row] + row * size[2]
        stops = numpy.minimum(self.ends[which], high[row]) - low[row] + row * size[2]
        changes = numpy.zeros(len(low) * size[2] + 1, dtype=numpy.int64)
        numpy.add.at(changes, begins, self.rooms[which])
        numpy.subtract.at(changes, stops, self.rooms[which])
        back = [self.order.index(axis) for axis in range(3)]
        return changes[:-1].cumsum().reshape(size).transpose(back)

    def _rows(self, block: Sequence[slice]) -> "tuple[NDArray[int64], NDArray[int64]]":
        """The first cell of each row of a block, and the cell after its last."""
        import numpy

        slow, middle, fast = (block[axis] for axis in self.order)
        across = numpy.arange(middle.start, middle.stop)
        rows = (numpy.arange(slow.start, slow.stop)[:, None] * self.wide + across).ravel() * self.deep
        return rows + fast.start, rows + fast.stop

    def _met(self, low: "NDArray[int64]", high: "NDArray[int64]") -> "tuple[NDArray[int64], NDArray[int64]]":
        """For each run that has a cell in a row, the number of the row and of the run."""
        import numpy

        first = self.ends.searchsorted(low, side="right")
        many = numpy.maximum(self.starts.searchsorted(high, side="left") - first, 0)
        row = numpy.repeat(numpy.arange(len(low)), many)
        return row, numpy.arange(len(row)) + (first - many.cumsum() + many)[row]


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
    _runs: _Runs = field(repr=False)

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
        cells = []
        for lines, low, high in zip(self._lines, lows, highs, strict=True):
            first = 2 * int(lines.searchsorted(low, side="right")) - 1
            cells.append((first, 2 * int(lines.searchsorted(high, side="left"))))
        return self._present(cells)

    def _present(self, cells: Sequence[tuple[int, int]]) -> tuple[int, ...]:
        """The rooms in a block of cells, given as the first cell and the one after the last of each axis, in order."""
        return tuple(self._runs.present([self._slice(n, *each) for n, each in enumerate(cells)]))

    def _slice(self, axis: int, first: int, beyond: int) -> slice:
        """The cells of an axis from the first to the one before `beyond`, as far as they are there."""
        least = max(0, first)
        return slice(least, max(least, min(beyond, 2 * len(self._lines[axis]) - 1)))


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
    grid = seen.grid.holding((*window.low, *window.high, size))
    need = grid.whole(size)
    space: Block = corner(grid, window.low), corner(grid, window.high)
    ends = [high - need for high in space[1]]
    if any(low > end for low, end in zip(space[0], ends, strict=True)):
        none = numpy.zeros(0, dtype=numpy.int64)
        runs = _Runs((0, 1, 2), 1, 1, none, none, none)
        return Rooms(window, size, 0, _grid=grid, _need=need, _lines=(none, none, none), _runs=runs)
    grown = seen.corners * (grid.per_mm // seen.grid.per_mm)
    numpy.maximum(grown[:, 0], space[0], out=grown[:, 0])
    numpy.minimum(grown[:, 1], space[1], out=grown[:, 1])
    grown = grown[(grown[:, 0] < grown[:, 1]).all(axis=1)]
    grown[:, 0] -= need
    lines = []
    for axis in range(3):
        marks = grown[:, :, axis].ravel()
        marks = marks[(marks > space[0][axis]) & (marks < ends[axis])]
        lines.append(numpy.unique(numpy.concatenate([marks, [space[0][axis], ends[axis]]]).astype(numpy.int64)))
    order = sorted(range(3), key=lambda axis: len(lines[axis]))
    runs, count = _joined(_clear(grown, lines, order), order)
    return Rooms(window, size, count, _grid=grid, _need=need, _lines=tuple(lines), _runs=runs)


def _floor(grid: Grid, length: Length) -> int:
    return length.mm.numerator * grid.per_mm // length.mm.denominator


def _clear(grown: "NDArray[int64]", lines: "Sequence[NDArray[int64]]", order: Sequence[int]) -> "NDArray[bool_]":
    """The possible positions of the low corner: cell 2 i is on line i, cell 2 i + 1 between lines i and i + 1.

    The interior of each enlarged solid is excluded. The axes are in the given order, with one more cell that is not
    free at the ends of the second and of the third.
    """
    import numpy

    shape = [2 * len(lines[axis]) - 1 for axis in order]
    clear = numpy.ones((shape[0], shape[1] + 1, shape[2] + 1), dtype=bool)
    clear[:, -1] = False
    clear[:, :, -1] = False
    firsts, lasts = [], []
    for axis in order:
        low, high = grown[:, 0, axis], grown[:, 1, axis]
        first = 2 * lines[axis].searchsorted(low, side="right") - 1
        firsts.append(numpy.maximum(first, 0).tolist())
        lasts.append((2 * lines[axis].searchsorted(high, side="left")).tolist())
    for (a, b, c), (d, e, f) in zip(zip(*firsts, strict=True), zip(*lasts, strict=True), strict=True):
        clear[a:d, b:e, c:f] = False
    return clear


def _joined(clear: "NDArray[bool_]", order: Sequence[int]) -> tuple[_Runs, int]:
    """The runs of free cells along the last axis with their rooms, and the number of rooms, connected over faces.

    Adjacent runs are in one room. Rooms are numbered by their first cell.
    """
    import numpy

    wide, deep = clear.shape[1:]
    flat = clear.ravel()
    change = numpy.flatnonzero(flat[1:] != flat[:-1]) + 1
    if flat[0]:
        change = numpy.concatenate([[0], change])
    starts, ends = change[0::2].copy(), change[1::2].copy()
    one, other = [], []
    for step in (deep, wide * deep):
        first = ends.searchsorted(starts + step, side="right")
        beyond = starts.searchsorted(ends + step, side="left")
        many = numpy.maximum(beyond - first, 0)
        origin = numpy.repeat(numpy.arange(len(starts)), many)
        one.append(origin)
        other.append(numpy.arange(len(origin)) + (first - many.cumsum() + many)[origin])
    name = _least_names(len(starts), numpy.concatenate(one), numpy.concatenate(other))
    number = (name == numpy.arange(len(name))).cumsum()  # a room is named by its first run
    count = int(number[-1]) if len(number) else 0
    return _Runs(tuple(order), wide, deep, starts, ends, number[name]), count


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
        cells = []
        for lines, low, high in zip(found._lines, box.low, box.high, strict=True):
            first, last = -_floor(grid, -low), _floor(grid, high) - need
            if first > last:
                return frozenset()
            cells.append(_closed(lines, first, last))
        return frozenset(self.names[n] for n in found._present(cells))

    def shadow(
        self, axis: int, at: Length, of: frozenset[int]
    ) -> "tuple[NDArray[bool_], NDArray[int64], NDArray[int64]]":
        """The cells of the plane `axis` = `at` that a cube in these rooms can cover, and the lines between them.

        Lines are on the grid of the scene. covered[i, j] is between lines i and i + 1 of the first other axis, and
        lines j and j + 1 of the second.
        """
        import numpy

        found, need = self.rooms, self.rooms._need
        if not len(found._lines[0]):
            none = numpy.zeros(1, dtype=numpy.int64)
            return numpy.zeros((0, 0), dtype=bool), none, none
        u, v = (i for i in range(3) if i != axis)
        spot = _floor(found._grid, at)
        inside = numpy.array([name in of and n > 0 for n, name in enumerate(self.names)])
        block = [found._slice(n, 0, 2 * len(lines) - 1) for n, lines in enumerate(found._lines)]
        block[axis] = found._slice(axis, *_half_open(found._lines[axis], spot - need, spot))
        stands = inside[found._runs.cells(block)].any(axis=axis)
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
    per_mm = found._grid.per_mm
    below, above = (Fraction(m.mm * per_mm) for m in (sheet.low[axis], sheet.high[axis]))
    lines = found._lines[axis]
    i, j = (int(lines.searchsorted(int(mark))) for mark in (below - found._need, above))
    if i >= len(lines) or j >= len(lines) or lines[i] != below - found._need or lines[j] != above:
        return []
    lows = [_floor(found._grid, m) for m in sheet.low]
    highs = [_floor(found._grid, m) - found._need for m in sheet.high]
    block = [found._slice(n, *_closed(found._lines[n], lows[n], highs[n])) for n in range(3)]
    one, other = (
        found._runs.cells([*block[:axis], found._slice(axis, 2 * n, 2 * n + 1), *block[axis + 1 :]]) for n in (i, j)
    )
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
