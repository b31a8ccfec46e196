"""Measures the layers over the bees, in places with sugar and without sugar, and finds the places where air leaves.

The space over the top box is sampled along a grid of vertical lines. The slabs of a line are the parts on it and the
air between these parts. Each line starts with the air over the top bars.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from woodshop.hive.creatures import OpeningName, PartName
from woodshop.hive.gaps.seating import vent_holes
from woodshop.hive.passages.inside import around
from woodshop.hive.stacking.place import STANDING, TierKind
from woodshop.hive.stacking.stack import Stack
from woodshop.shape.part import Cuboid, Placed
from woodshop.units.lengths import ZERO, Length, inch

Stuff = Literal["air", "sugar", "shavings", "wood", "cloth", "mesh", "plastic"]
X, Y, Z = 0, 1, 2
_STEP = inch("1/2")
_OVER = (*(kind for kind in STANDING if kind is not TierKind.BOX), TierKind.COVER)


@dataclass(frozen=True, slots=True)
class Slab:
    """One layer on a vertical line: the material, name and tier of its part, its lower face and its thickness."""

    stuff: Stuff
    name: str
    tier: str
    low: Length
    thick: Length

    @property
    def high(self) -> Length:
        """The height of the upper face."""
        return self.low + self.thick


@dataclass(frozen=True, slots=True)
class HeatColumn:
    """The layers over a fraction (`share`) of the bees' space, upward from the top bars.

    `vents` is the opening that lets air out over the bees, or "" if there is none. `vented` is the number of the air
    slab from which the air leaves.
    """

    slabs: tuple[Slab, ...]
    share: float
    vents: str = ""
    vented: int | None = None

    def thick(self, stuff: Stuff) -> Length:
        """The total thickness of one material."""
        return sum((slab.thick for slab in self.slabs if slab.stuff == stuff), ZERO)


def columns_over(stack: Stack) -> tuple[HeatColumn, ...]:
    """The most common column with sugar over a hive's combs, then the most common column without sugar.

    If no sugar is over the combs, there is only the column without sugar.

    The result is empty if nothing is over the top box.
    """
    over = [(tier.name, part) for tier in stack.of(*_OVER) for part in tier.placed]
    if not over:
        return ()
    room = around(part.box for part in stack.top_box.named("comb"))
    blocks = [(tier, part, (part.box, *part.hollows)) for tier, part in over]
    boxes = [box for _, _, own in blocks for box in own]
    across = _holders(boxes, _marks(room, Y), Y)
    lines = Counter(along & held for along in _holders(boxes, _marks(room, X), X) for held in across)
    found = Counter[tuple[Slab, ...]]()
    for held, count in lines.items():
        found[_sounded(blocks, held)] += count
    bars = max(part.box.high[Z] for part in stack.top_box.named(PartName.TOP_BAR))
    kinds = [[each for each in found if _has_sugar(each)], [each for each in found if each and not _has_sugar(each)]]
    most = [max(kind, key=lambda slabs: (found[slabs], len(slabs))) for kind in kinds if kind]
    if not kinds[0]:
        most = most[:1]
    made, open_at = [], _open_at(stack)
    for slabs in most:
        whole, share = _from(bars, slabs), found[slabs] / sum(found.values())
        made.append(HeatColumn(whole, share, *_vented(open_at, whole)))
    return tuple(made)


def _from(bars: Length, slabs: tuple[Slab, ...]) -> tuple[Slab, ...]:
    """The slabs from the bottom up, with the air over the top bars added if there is any."""
    first = slabs[0]
    if first.low <= bars:
        return slabs
    return (Slab("air", "air", first.tier, bars, first.low - bars), *slabs)


def _has_sugar(slabs: tuple[Slab, ...]) -> bool:
    return any(slab.stuff == "sugar" for slab in slabs)


def _marks(room: Cuboid, axis: int) -> list[Length]:
    """Sample positions in a space: one step apart, and half a step from its edges."""
    count = int(room.size(axis) // _STEP)
    return [room.low[axis] + _STEP * n + _STEP / 2 for n in range(count)]


def _holders(boxes: Sequence[Cuboid], marks: Sequence[Length], axis: int) -> list[int]:
    """For each of these ascending positions on an axis, a bit mask of the boxes that contain it: bit n for the nth."""
    ends = [(at, 1 << n) for n, box in enumerate(boxes) for at in (box.low[axis], box.high[axis])]
    ends.sort(key=lambda end: end[0], reverse=True)
    held, found = 0, []
    for mark in marks:
        while ends and ends[-1][0] <= mark:
            held ^= ends.pop()[1]
        found.append(held)
    return found


def _sounded(blocks: Sequence[tuple[str, Placed, tuple[Cuboid, ...]]], held: int) -> tuple[Slab, ...]:
    """The slabs on a vertical line, with air between them.

    `held` has one bit for the box of each part and one for each of its hollows. A bit is 1 if the line passes through.
    """
    solid: list[Slab] = []
    for tier, placed, (box, *hollows) in blocks:
        if held & 1:
            low, high = box.low[Z], box.high[Z]
            cut = [hollow for n, hollow in enumerate(hollows, 1) if held >> n & 1]
            for hollow in sorted(cut, key=lambda h: h.low[Z]):
                solid += _slab(tier, placed, low, hollow.low[Z])
                low = max(low, hollow.high[Z])
            solid += _slab(tier, placed, low, high)
        held >>= 1 + len(hollows)
    solid.sort(key=lambda slab: (slab.low, slab.high))
    slabs: list[Slab] = []
    for slab in solid:
        if slabs and slab.low > slabs[-1].high:
            slabs.append(Slab("air", "air", slab.tier, slabs[-1].high, slab.low - slabs[-1].high))
        slabs.append(slab)
    return tuple(slabs)


def _slab(tier: str, placed: Placed, low: Length, high: Length) -> list[Slab]:
    if low >= high:
        return []
    return [Slab(placed.part.material.kind.layer, placed.part.name, tier, low, high - low)]


def _open_at(stack: Stack) -> list[tuple[str, Length]]:
    """The openings to the outside over the bees, each with the height of its middle."""
    open_at: list[tuple[str, Length]] = []
    if any(hole.breathing > 0 for hole in vent_holes(stack)):
        for tier in stack.of(TierKind.TOP_BOX):
            for wall in tier.placed:
                cuts = zip(wall.part.cuts, wall.hollows, strict=True)
                open_at += [
                    ("vent holes", (h.low[Z] + h.high[Z]) / 2) for cut, h in cuts if cut.name == OpeningName.VENT_HOLE
                ]
    squares = [part.box for tier in stack.of(TierKind.UNDER_COVER) for part in tier.placed]
    return [*open_at, *((OpeningName.SLIT, (box.low[Z] + box.high[Z]) / 2) for box in squares)]


def _vented(open_at: list[tuple[str, Length]], slabs: tuple[Slab, ...]) -> tuple[str, int | None]:
    """The opening from the column to the outside, and the number of the lowest air slab from which air leaves."""
    opened = {
        n: name
        for n, slab in enumerate(slabs)
        if slab.stuff == "air"
        for name, at in open_at
        if slab.low <= at <= slab.high
    }
    if not opened:
        return "", None
    names = dict.fromkeys(name for name, at in open_at if any(slabs[n].low <= at <= slabs[n].high for n in opened))
    return " and ".join(names), min(opened)
