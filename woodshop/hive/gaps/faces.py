"""Measures every gap as the clearance between faces of placed parts along an axis.

Everything here uses the placed parts in the stack, never the settings that made them.
"""

from collections import Counter
from dataclasses import KW_ONLY, dataclass
from enum import StrEnum
from fractions import Fraction
from functools import cached_property, lru_cache
from itertools import pairwise
from typing import Literal

from woodshop.hive.stacking.place import TierKind
from woodshop.hive.stacking.stack import Block, Stack, Tier, blocks_of, marks_per_mm
from woodshop.shape.part import Placed
from woodshop.units.lengths import Length

GapKind = Literal["bees' way", "mesh over bars", "mesh on strip", "contact", "sealed", "declared"]


class GapName(StrEnum):
    """Names of gaps that checks and grades look for."""

    OVERHANG = "overhang"
    ENTRANCE_TO_SKIRT = "upper entrance to skirt"
    STRIP_TO_MESH = "strip to mesh"
    WALL_ON_WALL = "wall on wall"
    MESH_ON_WALL = "mesh on wall"
    COVER_ON_WALL = "cover on wall"
    SPACER_ON_WALL = "spacer on wall"


Side = Literal["front", "back", "left", "right"]
SIDES: tuple[Side, ...] = ("front", "back", "left", "right")
SIDE_AXIS: dict[Side, tuple[int, bool]] = {
    "front": (0, False),
    "back": (0, True),
    "left": (1, False),
    "right": (1, True),
}
X, Y, Z = 0, 1, 2

Window = tuple[int | None, int | None, int | None, int | None, int | None, int | None]
EVERYWHERE: Window = (None,) * 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """The clearance between two faces along an axis, from the first part of `between` to the second.

    The clearance is negative if the parts overlap, or if the upper part stops short of the edge below. `kind` is the
    purpose of the gap. A "bees' way" must be bee space. "mesh over bars" has its own rule. "mesh on strip" is the
    height at which a strip holds the mesh. A "contact" is zero by design, "sealed" is closed to bees, and "declared" is
    wide by design. `own` is true if one side of the gap is one of our parts or is lifted by our parts; `lifted_by`
    names the parts that lift it.
    """

    name: str
    place: str
    least: Length
    most: Length
    between: tuple[str, str]
    kind: GapKind
    own: bool
    axis: int = Z
    lifted_by: str = ""


@dataclass(frozen=True)
class StackPart:
    """A placed part with its place in the stack, its label, and its solid cells on the grid of the stack."""

    tier: int
    index: int
    label: str
    _: KW_ONLY
    placed: Placed
    cells: tuple[Block, ...]
    own: bool

    @property
    def name(self) -> str:
        """The name of the part."""
        return self.placed.part.name

    @cached_property
    def block(self) -> Block:
        """The bounding block of the part."""
        lows = [min(cell[i] for cell in self.cells) for i in range(3)]
        highs = [max(cell[i] for cell in self.cells) for i in range(3, 6)]
        return lows[0], lows[1], lows[2], highs[0], highs[1], highs[2]

    def is_over(self, lower: "StackPart") -> bool:
        """Whether the two parts overlap when seen from above."""
        return all(self.block[i] < lower.block[i + 3] and lower.block[i] < self.block[i + 3] for i in (X, Y))


def labels(tier: Tier) -> list[str]:
    """The label of each part in a tier: the name of the part, a number if several parts have it, and the tier."""
    names = [each.part.name for each in tier.placed]
    alike, found = Counter(names), Counter[str]()
    words = []
    for name in names:
        found[name] += 1
        words.append(f"{name} {found[name]}, {tier.name}" if alike[name] > 1 else f"{name}, {tier.name}")
    return words


class Faces:
    """The parts of a stack on one integer grid, labeled, and the clearances between them."""

    def __init__(self, stack: Stack) -> None:
        self.stack = stack
        self.marks = marks_per_mm(stack.placed)
        solid = iter(blocks_of(stack.placed, self.marks))
        self.pieces: tuple[tuple[StackPart, ...], ...] = tuple(
            tuple(
                StackPart(n, index, name, placed=placed, cells=next(solid), own=tier.is_own)
                for index, (placed, name) in enumerate(zip(tier.placed, labels(tier), strict=True))
            )
            for n, tier in enumerate(stack.tiers)
        )

    def whole(self, length: Length) -> Fraction:
        """A length in grid steps. The number can be fractional for a length that does not occur in the stack."""
        return length.mm * self.marks

    def length(self, steps: int) -> Length:
        """The length of a number of grid steps."""
        return Length(Fraction(steps, self.marks))

    def named(self, tier: int, *names: str) -> tuple[StackPart, ...]:
        """The parts with these names in a tier, in order."""
        return tuple(piece for piece in self.pieces[tier] if piece.name in names)

    def tiers(self, *kinds: TierKind) -> tuple[int, ...]:
        """The indexes, in the stack, of the tiers of these kinds, from bottom to top."""
        return tuple(n for n, tier in enumerate(self.stack.tiers) if tier.kind in kinds)

    def walls(self, tier: int) -> dict[Side, StackPart]:
        """The outer walls of a tier, keyed by side. A tier that is one block counts as its own four walls."""
        place = self.stack.tiers[tier].place
        pieces = self.named(tier, *place.walls) or self.named(tier, place.block)
        if len(pieces) == 1:
            return dict.fromkeys(SIDES, pieces[0])
        found: dict[Side, StackPart] = {}
        for side in SIDES:
            axis, far = SIDE_AXIS[side]
            across = [p for p in pieces if _size(p.block, axis) < _size(p.block, Y - axis)]
            if len(across) == 2:
                found[side] = (max if far else min)(across, key=lambda p: p.block[axis])
            elif far and across:
                found[side] = across[0]
        return found

    def steps(self, first: StackPart, second: StackPart, axis: int, window: Window = EVERYWHERE) -> tuple[int, ...]:
        """Every clearance along an axis from `first` to `second` where these parts face each other, in ascending order.

        `window` limits the search, as x0, y0, z0, x1, y1, z1.
        """
        u, v = (i for i in range(3) if i != axis)
        lows = [max(first.block[i], second.block[i], _or(window[i], first.block[i])) for i in (u, v)]
        highs = [min(first.block[i + 3], second.block[i + 3], _or(window[i + 3], first.block[i + 3])) for i in (u, v)]
        if lows[0] >= highs[0] or lows[1] >= highs[1]:
            return ()
        (u_low, v_low), (u_high, v_high), u_end, v_end = lows, highs, u + 3, v + 3
        below, above = (
            [c for c in piece.cells if c[u] < u_high and u_low < c[u_end] and c[v] < v_high and v_low < c[v_end]]
            for piece in (first, second)
        )
        marks = []
        for i, low, high in zip((u, v), lows, highs, strict=True):
            inner = {m for c in (*below, *above) for m in (c[i], c[i + 3]) if low < m < high}
            marks.append(sorted({low, high} | inner))
        found: set[int] = set()
        for u0, u1 in pairwise(marks[0]):
            down = [c for c in below if c[u] <= u0 and u1 <= c[u_end]]
            up = [c for c in above if c[u] <= u0 and u1 <= c[u_end]]
            for v0, v1 in pairwise(marks[1]):
                tops = [c[axis + 3] for c in down if c[v] <= v0 and v1 <= c[v_end]]
                undersides = [c[axis] for c in up if c[v] <= v0 and v1 <= c[v_end]]
                if tops and undersides:
                    found.add(min(undersides) - max(tops))
        return tuple(sorted(found))

    def least(
        self,
        name: str,
        place: str,
        kind: GapKind,
        first: StackPart,
        second: StackPart,
        axis: int,
        window: Window = EVERYWHERE,
    ) -> list[Gap]:
        """The gap between the nearest faces of two parts, in a list. Empty if the parts do not face each other.

        The gap has this `name`, `place` and `kind`.
        """
        steps = self.steps(first, second, axis, window)
        return [self.between(name, place, kind, (first, second), axis, steps[0])] if steps else []

    def between(
        self, name: str, place: str, kind: GapKind, pair: tuple[StackPart, StackPart], axis: int, by: int
    ) -> Gap:
        """A gap of `by` grid steps, with this `name`, `place` and `kind`. Its parts do not have to face each other."""
        size, labels, own = self.length(by), (pair[0].label, pair[1].label), pair[0].own or pair[1].own
        return Gap(name=name, place=place, least=size, most=size, between=labels, kind=kind, own=own, axis=axis)


@lru_cache(8)  # the measurements of a hive follow each other
def faces_of(stack: Stack) -> Faces:
    """The parts of a stack on one grid, and the clearances between them."""
    return Faces(stack)


def _size(block: Block, axis: int) -> int:
    return block[axis + 3] - block[axis]


def _or(mark: int | None, otherwise: int) -> int:
    return otherwise if mark is None else mark
