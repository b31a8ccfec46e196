"""An integer grid that contains a set of lengths exactly, used to measure sections and rooms.

One grid step is 1 / `per_mm` of a millimeter. Integers up to 2**50 and their sums are exact in a double, so that a
geometry library that uses doubles still gives exact answers.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import isqrt, lcm
from typing import TYPE_CHECKING

from woodshop.errors import InputError, Problem
from woodshop.shape.part import FACE_AXIS, Cuboid, Placed, Point, RoundOutline
from woodshop.units.lengths import Length

if TYPE_CHECKING:
    from numpy import bool_, int64
    from numpy.typing import NDArray


LARGEST = 2**50


@dataclass(frozen=True, slots=True)
class Grid:
    """A grid of lines at a fixed fraction of a millimeter; lengths on it are whole numbers of steps."""

    per_mm: int

    def whole(self, length: Length) -> int:
        """A length in grid steps. Raises ValueError if it is not a whole number of steps."""
        top, bottom = length.mm.as_integer_ratio()
        if self.per_mm % bottom:
            raise ValueError(f"{length} ({length.mm} mm) is no whole number of 1/{self.per_mm} mm")
        return top * (self.per_mm // bottom)

    def length(self, whole: int) -> Length:
        """The exact length of a number of grid steps."""
        return Length(Fraction(whole, self.per_mm))

    def holding(self, lengths: Iterable[Length]) -> "Grid":
        """The coarsest grid that contains every line of this one and these lengths.

        Raises InputError if a length would exceed 2**50 steps.
        """
        given = tuple(lengths)
        per_mm = lcm(self.per_mm, *{length.mm.denominator for length in given})
        for length in given:
            if abs(length.mm.numerator) * (per_mm // length.mm.denominator) > LARGEST:
                raise InputError(
                    Problem(
                        "sizes of the parts",
                        f"{length} together with sizes that need steps of 1/{per_mm} mm",
                        f"at most {LARGEST} steps (2**50) for an exact measure",
                        "Round the sizes to 1/64 in or to a hundredth of a millimetre.",
                    )
                )
        return Grid(per_mm)


def grid_of(lengths: Iterable[Length], halves: bool = False) -> Grid:
    """The coarsest grid that contains these lengths and, if `halves` is true, their halves.

    Raises InputError if a length would exceed 2**50 steps.

    >>> from woodshop.units.lengths import inch, millimetre
    >>> grid_of([inch("1/4"), inch("3/8"), millimetre("0.5")])
    Grid(per_mm=40)
    """
    given = tuple(lengths)
    return Grid(1).holding((*given, *(length / 2 for length in given)) if halves else given)


Thing = Placed | Cuboid
Corner = tuple[int, int, int]
Block = tuple[Corner, Corner]  # low and high corner, on the grid

ROUND_STEP = 320  # steps per millimeter: includes 1/64 in and 1/10 mm, so round holes do not make any grid finer
STEPS = 7  # upright steps between the middle and the rim of a round hole
FINE_STEPS = 31  # the same if only an area is wanted


@dataclass(frozen=True, slots=True)
class RoundHole:
    """A round hole on the grid: its axis and its bounding block."""

    axis: int
    block: Block


@dataclass(frozen=True, slots=True)
class Solid:
    """One part on the grid: its bounding block, its rectangular and round hollows, and its solid blocks."""

    block: Block
    hollows: tuple[Block, ...]
    rounds: tuple[RoundHole, ...]
    pieces: tuple[Block, ...]

    def scaled(self, by: int) -> "Solid":
        """The solid on a grid with steps `by` times as fine."""
        return Solid(
            _scaled(self.block, by),
            tuple(_scaled(block, by) for block in self.hollows),
            tuple(RoundHole(hole.axis, _scaled(hole.block, by)) for hole in self.rounds),
            tuple(_scaled(block, by) for block in self.pieces),
        )


@dataclass(frozen=True)
class Scene:
    """Parts in place, each with its solid on the grid, in the same order."""

    things: tuple[Thing, ...]
    grid: Grid
    solids: tuple[Solid, ...]

    @cached_property
    def corners(self) -> "NDArray[int64]":
        """The low and the high corner of every block, as an array of blocks, two corners, and three axes."""
        import numpy

        pieces = [piece for solid in self.solids for piece in solid.pieces]
        return numpy.array(pieces, dtype=numpy.int64).reshape(-1, 2, 3)

    def holding(self, lengths: Iterable[Length]) -> "Scene":
        """The scene on a grid that also contains these lengths."""
        grid = self.grid.holding(lengths)
        by = grid.per_mm // self.grid.per_mm
        return self if by == 1 else Scene(self.things, grid, tuple(solid.scaled(by) for solid in self.solids))


def scene(things: Iterable[Thing]) -> Scene:
    """Placed parts, and blocks of space that count as solid, on one grid.

    Raises InputError if no exact grid fits their sizes.

    >>> from woodshop.units.lengths import ZERO, inch
    >>> block = Cuboid((ZERO, ZERO, ZERO), (inch(1), inch(2), inch("1/4")))
    >>> scene([block]).solids[0].pieces
    (((0, 0, 0), (508, 1016, 127)),)
    """
    given = tuple(things)
    drawn = [_drawn(thing) for thing in given]
    grid = grid_of(m for block, hollows, rounds in drawn for b in (block, *hollows) for m in (*b.low, *b.high))
    rounds = [(axis, box) for _, _, holes in drawn for axis, box in holes]
    if rounds:
        marks = (m for _, box in rounds for i in range(3) for m in (box.low[i], box.high[i], box.size(i) / 2))
        grid = grid.holding((Length(Fraction(1, ROUND_STEP)), *marks))
    alike: dict[tuple[Block, tuple[Block, ...]], tuple[Block, ...]] = {}  # a hive has ten like frames
    return Scene(given, grid, tuple(_solid(grid, *each, alike) for each in drawn))


def pieces_of(placed: Placed) -> tuple[Cuboid, ...]:
    """A part as disjoint upright blocks: exact for rectangular cuts, and with upright steps inside a round hole."""
    (solid,), grid = (seen := scene([placed])).solids, seen.grid
    return tuple(Cuboid(_point(grid, low), _point(grid, high)) for low, high in solid.pieces)


def _point(grid: Grid, at: Corner) -> Point:
    return grid.length(at[0]), grid.length(at[1]), grid.length(at[2])


def _drawn(thing: Thing) -> tuple[Cuboid, list[Cuboid], list[tuple[int, Cuboid]]]:
    """The block of a part, its rectangular hollows, and its round hollows with their axes."""
    if isinstance(thing, Cuboid):
        return thing, [], []
    hollows: list[Cuboid] = []
    rounds: list[tuple[int, Cuboid]] = []
    words = (thing.pose.along, thing.pose.across, thing.pose.through)
    for cut, box in zip(thing.part.cuts, thing.hollows, strict=True):
        if isinstance(cut.outline, RoundOutline):
            rounds.append(("xyz".index(words[FACE_AXIS[cut.face][0]][1]), box))
        else:
            hollows.append(box)
    return thing.box, hollows, rounds


def _solid(
    grid: Grid,
    box: Cuboid,
    hollows: list[Cuboid],
    rounds: list[tuple[int, Cuboid]],
    alike: dict[tuple[Block, tuple[Block, ...]], tuple[Block, ...]],
) -> Solid:
    """A part on the grid. `alike` keeps the pieces of parts, each as if its low corner were at 0."""
    block = _whole(grid, box)
    empty = tuple(_whole(grid, each) for each in hollows)
    holes = tuple(RoundHole(axis, _whole(grid, each)) for axis, each in rounds)
    inside = [step for hole in holes for step in round_steps(hole, grid, STEPS)]
    if not empty and not inside:
        return Solid(block, (), (), (block,))
    x, y, z = block[0]
    back = (-x, -y, -z)
    own = _shifted(block, back), tuple(_shifted(each, back) for each in (*empty, *inside))
    if own not in alike:
        alike[own] = less(*own)
    return Solid(block, empty, holes, tuple(_shifted(piece, block[0]) for piece in alike[own]))


def _shifted(block: Block, by: Corner) -> Block:
    (a, b, c), (d, e, f) = block
    x, y, z = by
    return (a + x, b + y, c + z), (d + x, e + y, f + z)


def _whole(grid: Grid, box: Cuboid) -> Block:
    return corner(grid, box.low), corner(grid, box.high)


def corner(grid: Grid, point: Point) -> Corner:
    """A point on the grid."""
    return grid.whole(point[0]), grid.whole(point[1]), grid.whole(point[2])


def _scaled(block: Block, by: int) -> Block:
    (a, b, c), (d, e, f) = block
    return (a * by, b * by, c * by), (d * by, e * by, f * by)


def round_steps(hole: RoundHole, grid: Grid, count: int) -> list[Block]:
    """Blocks inside the hole: `count` blocks with heights in equal steps, and the largest square."""
    u, v = (i for i in range(3) if i != hole.axis)
    low, high = hole.block
    centre_u, centre_v = (low[u] + high[u]) // 2, (low[v] + high[v]) // 2
    radius = (high[u] - low[u]) // 2
    step = grid.per_mm // ROUND_STEP
    heights = {radius * n // (count + 1) // step * step for n in range(1, count + 1)}
    heights.add(isqrt(radius * radius // 2) // step * step)
    found = []
    for height in sorted(heights):
        wide = isqrt(radius * radius - height * height) // step * step
        if height > 0 and wide > 0:
            a, b = list(low), list(high)
            a[u], b[u] = centre_u - wide, centre_u + wide
            a[v], b[v] = centre_v - height, centre_v + height
            found.append(((a[0], a[1], a[2]), (b[0], b[1], b[2])))
    return found


def chord(hole: RoundHole, grid: Grid, axis: int, at: int) -> Block | None:
    """The section of the hole in the plane `axis` = `at`, parallel to its center line, rounded inward to 1/320 mm."""
    (across,) = (i for i in range(3) if i not in (axis, hole.axis))
    low, high = list(hole.block[0]), list(hole.block[1])
    radius, away = (high[axis] - low[axis]) // 2, at - (low[axis] + high[axis]) // 2
    step = grid.per_mm // ROUND_STEP
    wide = isqrt(max(0, radius * radius - away * away)) // step * step
    if not wide:
        return None
    centre = (low[across] + high[across]) // 2
    low[across], high[across] = centre - wide, centre + wide
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def meet(one: Block, other: Block) -> Block | None:
    """The intersection of two blocks, or None if it has no volume."""
    (a, b, c), (d, e, f) = one
    (g, h, i), (j, k, m) = other
    low, high = (max(a, g), max(b, h), max(c, i)), (min(d, j), min(e, k), min(f, m))
    return None if low[0] >= high[0] or low[1] >= high[1] or low[2] >= high[2] else (low, high)


def less(block: Block, hollows: Sequence[Block]) -> tuple[Block, ...]:
    """A block minus its hollows, as disjoint blocks, always in the same order."""
    taken = [shared for hollow in hollows if (shared := meet(block, hollow))]
    if not taken:
        return (block,)
    lines = [sorted({m for b in (block, *taken) for m in (b[0][axis], b[1][axis])}) for axis in range(3)]
    solid = ~painted(taken, lines)
    found = []
    while solid.any():
        row, k = divmod(int(solid.argmax()), solid.shape[2])
        i, j = divmod(row, solid.shape[1])
        to_k = k + 1
        while to_k < solid.shape[2] and solid[i, j, to_k]:
            to_k += 1
        to_j = j + 1
        while to_j < solid.shape[1] and solid[i, to_j, k:to_k].all():
            to_j += 1
        to_i = i + 1
        while to_i < solid.shape[0] and solid[to_i, j:to_j, k:to_k].all():
            to_i += 1
        solid[i:to_i, j:to_j, k:to_k] = False
        low, high = (lines[0][i], lines[1][j], lines[2][k]), (lines[0][to_i], lines[1][to_j], lines[2][to_k])
        found.append((low, high))
    return tuple(found)


def painted(blocks: Sequence[Block], lines: "Sequence[Sequence[int] | NDArray[int64]]") -> "NDArray[bool_]":
    """Whether the blocks fill each cell between grid lines, as a Boolean array.

    Every face of a block between the first and last line of its axis must be one of the lines.
    """
    import numpy

    filled = numpy.zeros([len(each) - 1 for each in lines], dtype=bool)
    if blocks:
        corners = numpy.array(blocks, dtype=numpy.int64)
        index = [numpy.searchsorted(each, corners[:, :, axis]) for axis, each in enumerate(lines)]
        for (a, d), (b, e), (c, f) in zip(*(each.tolist() for each in index), strict=True):
            filled[a:d, b:e, c:f] = True
    return filled


def lines_between(blocks: Sequence[Block], low: Corner, high: Corner) -> "list[NDArray[int64]]":
    """The faces of blocks as grid lines along each axis, between two corners, inclusive."""
    import numpy

    marks = numpy.array(blocks, dtype=numpy.int64).reshape(-1, 3)
    found = []
    for axis in range(3):
        inside = marks[(marks[:, axis] > low[axis]) & (marks[:, axis] < high[axis]), axis]
        found.append(numpy.unique(numpy.concatenate([inside, [low[axis], high[axis]]]).astype(numpy.int64)))
    return found
