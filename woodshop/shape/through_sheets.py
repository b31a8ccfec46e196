"""Walking through sheets: rooms on both sides of one are one room where a cube stands against it on either side.

A sheet is solid: nothing walks in it, and what is under it is no higher for its openings. It is passed straight, from
a place that touches it to the same place on its other side.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from woodshop.shape.grid import Grid
from woodshop.shape.part import Box, Placed
from woodshop.shape.rooms import Rooms, rooms
from woodshop.shape.scene import Scene
from woodshop.units.lengths import Length

if TYPE_CHECKING:
    from numpy import bool_, int64
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Walk:
    """What walks where: a cube of a size, or with `strict` the next larger on the grid, and the sheets it passes."""

    seen: Scene
    window: Box
    size: Length
    strict: bool
    sheets: tuple[Placed, ...]


@dataclass(frozen=True, eq=False, slots=True)
class Joined:
    """The rooms of a cube, those that it joins through sheets of mesh having one number."""

    rooms: Rooms
    names: tuple[int, ...]

    @property
    def grid(self) -> Grid:
        """The grid that it was walked on."""
        return self.rooms._grid

    def rooms_in(self, box: Box) -> frozenset[int]:
        """The rooms of every cube that shares volume with a box."""
        return frozenset(self.names[room] for room in self.rooms.rooms_in(box))

    def stands_in(self, box: Box) -> frozenset[int]:
        """The rooms of every cube that stands within a box as a whole."""
        import numpy

        found, grid, need = self.rooms, self.rooms._grid, self.rooms._need
        if not found._labels.size:
            return frozenset()
        cells = []
        for lines, low, high in zip(found._lines, box.low, box.high, strict=True):
            first, last = -(-low.mm * grid.per_mm // 1), high.mm * grid.per_mm // 1 - need
            if first > last:
                return frozenset()
            cells.append(slice(*_closed(lines, first, last)))
        return frozenset(self.names[int(n)] for n in numpy.unique(found._labels[tuple(cells)]) if n)

    def shadow(
        self, axis: int, at: Length, of: frozenset[int]
    ) -> "tuple[NDArray[bool_], NDArray[int64], NDArray[int64]]":
        """Which cells of the plane `axis` = `at` some cube of these rooms covers, and the lines between them.

        Lines are on the grid of the scene that was walked. covered[i, j] lies between lines i and i + 1 of the
        first other axis, and j and j + 1 of the second.
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
    """The rooms of what walks, joined through the sheets that it passes."""
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


def _across(found: Rooms, sheet: Box) -> list[tuple[int, int]]:
    """The rooms that face each other over a sheet, from like places on both of its sides."""
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
    """The cells, on lines and between them, that hold a place from `low` to `high`, both included."""
    on_low = int(lines.searchsorted(low))
    first = 2 * on_low if on_low < len(lines) and lines[on_low] == low else 2 * on_low - 1
    on_high = int(lines.searchsorted(high, side="right"))
    last = 2 * on_high - 1 if on_high and lines[on_high - 1] == high else 2 * on_high
    return max(0, first), max(0, last)


def _half_open(lines: "NDArray[int64]", low: int, high: int) -> tuple[int, int]:
    """The cells that hold a place above `low` and up to `high`."""
    first = 2 * int(lines.searchsorted(low, side="right")) - 1
    return max(0, first), _closed(lines, high, high)[1]
