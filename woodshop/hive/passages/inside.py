"""Describes the inside of a hive for walks of bees, and the planes of the bee-space map."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from itertools import pairwise

from woodshop.hive.creatures import PartName, as_met, worker
from woodshop.hive.stacking.place import STANDING, TierKind
from woodshop.hive.stacking.stack import Stack, Tier
from woodshop.reference.materials import SHAVINGS
from woodshop.shape.part import Cuboid, Placed, Role, Space
from woodshop.shape.rooms import Joined, Walk, walk
from woodshop.shape.scene import ROUND_STEP, Scene, Thing, scene
from woodshop.units.lengths import Length, inch

FAR = inch(12)  # thickness of the filled outside: greater than any clear width that is measured
MARK = Length(Fraction(1, ROUND_STEP))
MANY = 10**6  # parts of a millimeter; a finer length comes from a calculation, not from a tape or a table
PROBE = inch("1/64")  # cracks of at least this width that open to the bees' space get glued; common practice, no source


@dataclass(frozen=True, slots=True)
class Outline:
    """The block around a tier's walls, from the tier's lower edge up to the lower edge of the next tier."""

    tier: str
    kind: TierKind
    box: Cuboid


class Inside:
    """The inside of a stack. Its properties are cached."""

    def __init__(self, stack: Stack) -> None:
        self.stack = on_marks(stack)

    @cached_property
    def outlines(self) -> tuple[Outline, ...]:
        """The outline of the hive, tier by tier, from bottom to top. It ends under the top of the cover."""
        return outlines(self.stack)

    @cached_property
    def outside(self) -> tuple[Cuboid, ...]:
        """Blocks that fill all space around, below and above the hive."""
        return _outside(self.outlines)

    @cached_property
    def scene(self) -> Scene:
        """All parts in place, with mesh as solid sheets and the outside filled."""
        return scene((*self.stack.placed, *self.outside))

    def some(self, parts: Iterable[Thing]) -> Scene:
        """A scene that has only these parts. Only parts that are not in the complete scene are converted."""
        chosen, whole = tuple(parts), self.scene
        places = [self._places.get(id(placed)) for placed in chosen]
        added = scene(placed for placed, n in zip(chosen, places, strict=True) if n is None)
        own = tuple(n for n in places if n is not None)
        known = Scene(tuple(whole.things[n] for n in own), whole.grid, tuple(whole.solids[n] for n in own))
        known, added = known.holding([added.grid.length(1)]), added.holding([whole.grid.length(1)])
        solids = (iter(known.solids), iter(added.solids))
        return Scene(chosen, known.grid, tuple(next(solids[n is None]) for n in places))

    @cached_property
    def _places(self) -> dict[int, int]:
        return {id(thing): n for n, thing in enumerate(self.scene.things)}

    @cached_property
    def walls(self) -> Cuboid:
        """The block around all outlines."""
        return around(each.box for each in self.outlines)

    @cached_property
    def extent(self) -> Cuboid:
        """The bounding block of all parts."""
        return around(placed.box for placed in self.stack.placed)

    @cached_property
    def starts(self) -> tuple[Cuboid, ...]:
        """Places between the combs of every box, or next to the comb if it has only one frame."""
        return tuple(box for tier in self.stack.of(TierKind.BOX) for box in between_combs(tier))

    @cached_property
    def top_lanes(self) -> tuple[Cuboid, ...]:
        """The places between the combs of the top box."""
        return between_combs(self.stack.top_box)

    @cached_property
    def walked(self) -> Joined:
        """The places that a worker can reach, including those behind mesh that she can pass."""
        return self.walk_in(self.walls)

    def walk_in(self, window: Cuboid) -> Joined:
        """The places that a worker can reach without leaving a window."""
        seen, sheets = self._met
        return walk(Walk(seen, window, worker().size, False, sheets))

    @cached_property
    def probed(self) -> Joined:
        """The places that a cube of size PROBE, for the antennae of a worker, can reach.

        This includes places behind mesh that a worker can pass.
        """
        seen, sheets = self._met
        return walk(Walk(seen, self.walls, PROBE, False, sheets))

    @cached_property
    def touched(self) -> frozenset[int]:
        """The rooms that a worker's antennae can reach from between the frames."""
        return frozenset(room for box in self.starts for room in self.probed.rooms_in(box))

    @cached_property
    def _met(self) -> tuple[Scene, tuple[Placed, ...]]:
        """The scene with the round holes that a worker cannot pass filled, and the sheets of mesh that she can pass.

        The shavings of a quilt box are left out: she can crawl in among them, so that only the floor keeps her out.
        """
        boxes = self.stack.of(TierKind.TOP_BOX)
        loose = {id(each) for tier in boxes for each in tier.placed if each.part.material == SHAVINGS}
        met, sheets = as_met(tuple(each for each in self.stack.placed if id(each) not in loose), worker())
        return self.some((*met, *self.outside)), sheets

    @cached_property
    def reached(self) -> frozenset[int]:
        """The rooms that a worker can reach from between the frames."""
        return frozenset(room for box in self.starts for room in self.walked.rooms_in(box))


def on_marks(stack: Stack) -> Stack:
    """The hive with the depths of calculated fillings rounded up to the next multiple of 1/320 mm.

    The depth of sugar is calculated from its weight, and would need too fine a grid. It is never rounded down, so that
    contacts remain contacts. Declared spaces are rounded outward to the same marks.
    """
    tiers = []
    for tier in stack.tiers:
        placed = tuple(_filling(each) if each.role is Role.FILLING else each for each in tier.placed)
        tiers.append(replace(tier, placed=placed, spaces=tuple(_outwards(space) for space in tier.spaces)))
    return replace(stack, tiers=tuple(tiers))


def _filling(placed: Placed) -> Placed:
    part = placed.part
    if part.thickness.mm.denominator <= MANY:
        return placed
    deep = part.thickness.up_to(MARK)
    cuts = tuple(replace(cut, depth=deep) if cut.depth == part.thickness else cut for cut in part.cuts)
    return replace(placed, part=replace(part, thickness=deep, cuts=cuts))


def _outwards(space: Space) -> Space:
    low = [m if m.mm.denominator <= MANY else m.down_to(MARK) for m in space.box.low]
    high = [m if m.mm.denominator <= MANY else m.up_to(MARK) for m in space.box.high]
    return replace(space, box=Cuboid((low[0], low[1], low[2]), (high[0], high[1], high[2])))


def outlines(stack: Stack) -> tuple[Outline, ...]:
    """The outlines of the standing tiers of a stack, each up to the lower edge of the next tier.

    The lowest outline begins at the floor or screen. The highest ends under the cover's top or, without a cover, at its
    own upper edge.
    """
    found = []
    for tier in stack.of(TierKind.BOTTOM, *STANDING):
        walls = [placed.box for placed in tier.walls]
        if not walls:
            continue
        floor = [p.box.low[2] for p in tier.named("floor", "screen")] if tier.kind is TierKind.BOTTOM else []
        low = floor[0] if floor else min(box.low[2] for box in walls)
        sides = [min(box.low[i] for box in walls) for i in (0, 1)] + [max(box.high[i] for box in walls) for i in (0, 1)]
        found.append((tier, low, max(box.high[2] for box in walls), sides))
    tops = [placed.box.low[2] for tier in stack.of(TierKind.COVER) for placed in tier.named(PartName.COVER_TOP)]
    ends = [low for _, low, _, _ in found[1:]] + [tops[0] if tops else found[-1][2]]
    return tuple(
        Outline(tier.name, tier.kind, Cuboid((x0, y0, low), (x1, y1, end)))
        for (tier, low, _, (x0, y0, x1, y1)), end in zip(found, ends, strict=True)
        if low < end
    )


def around(boxes: Iterable[Cuboid]) -> Cuboid:
    """The bounding block of these boxes."""
    given = tuple(boxes)
    lows = [min(box.low[i] for box in given) for i in range(3)]
    highs = [max(box.high[i] for box in given) for i in range(3)]
    return Cuboid((lows[0], lows[1], lows[2]), (highs[0], highs[1], highs[2]))


def _outside(found: tuple[Outline, ...]) -> tuple[Cuboid, ...]:
    x0, y0 = (min(each.box.low[i] for each in found) - FAR for i in (0, 1))
    x1, y1 = (max(each.box.high[i] for each in found) + FAR for i in (0, 1))
    low, high = found[0].box.low[2], found[-1].box.high[2]
    filled = [Cuboid((x0, y0, low - FAR), (x1, y1, low)), Cuboid((x0, y0, high), (x1, y1, high + FAR))]
    for each in found:
        (a, b, bottom), (c, d, top) = each.box.low, each.box.high
        filled += [
            Cuboid((x0, y0, bottom), (a, y1, top)),
            Cuboid((c, y0, bottom), (x1, y1, top)),
            Cuboid((a, y0, bottom), (c, b, top)),
            Cuboid((a, d, bottom), (c, y1, top)),
        ]
    return tuple(filled)


def between_combs(tier: Tier) -> tuple[Cuboid, ...]:
    """The free lanes between the combs of a box, in the middle third of their length and height."""
    combs = sorted((placed.box for placed in tier.named("comb")), key=lambda box: box.low[1])
    lanes = [(one, one.high[1], other.low[1]) for one, other in pairwise(combs)]
    if len(combs) == 1:
        lanes = [(combs[0], combs[0].high[1], combs[0].high[1] + inch("3/16"))]
    return tuple(
        Cuboid((_part(comb, 0, 1), low, _part(comb, 2, 1)), (_part(comb, 0, 2), high, _part(comb, 2, 2)))
        for comb, low, high in lanes
        if low < high
    )


def _part(box: Cuboid, axis: int, thirds: int) -> Length:
    return box.low[axis] + box.size(axis) * thirds / 3


X, Y, Z = 0, 1, 2
ABOVE_BARS = inch("1/8")  # maximum height of a plane over the bars, so that it shows the parts on them


@dataclass(frozen=True, slots=True)
class Plane:
    """A plane across an axis of the hive: its name, its position, and what to look for in it."""

    name: str
    caption: str
    axis: int
    at: Length


def planes_of(stack: Stack) -> tuple[Plane, ...]:
    """The planes of the hive, vertical ones first, then horizontal ones."""
    box = stack.top_box
    bars = sorted(box.named(PartName.TOP_BAR), key=lambda placed: placed.box.low[Y])
    middle = _middle(around(placed.box for placed in box.placed), Y)
    found = []
    if bars:
        bar = min(bars, key=lambda placed: (abs(_middle(placed.box, Y) - middle), placed.box.low[Y]))
        caption = "Bee space over and under the bar, and from the end bars to the walls."
        found.append(Plane("through a top bar", caption, Y, _middle(bar.box, Y)))
        found += _between_frames(box, bars)
    found += [*_strip(stack), *_voids(stack)]
    return (*found, *_over_bars(stack, bars), *_rim(stack))


def voids_of(stack: Stack) -> tuple[tuple[str, Cuboid], ...]:
    """The voids in the sugar, with their names: its hollows that contain no other part."""
    found = []
    for tier in stack.of(TierKind.BOARD):
        others = [placed.box for placed in tier.placed if placed.part.name != PartName.SUGAR]
        for sugar in tier.named(PartName.SUGAR):
            for cut, hollow in zip(sugar.part.cuts, sugar.hollows, strict=True):
                if not any(hollow.meet(other) for other in others):
                    found.append((cut.name, hollow))
    return tuple(found)


def notches_of(stack: Stack) -> tuple[tuple[Placed, Cuboid], ...]:
    """The upper entrances, each with the wall that has it."""
    return tuple(
        (wall, hollow)
        for tier in stack.tiers
        if tier.is_own
        for wall in tier.walls
        for cut, hollow in zip(wall.part.cuts, wall.hollows, strict=True)
        if cut.name in tier.place.passages
    )


def channel_of(stack: Stack) -> tuple[str, Cuboid] | None:
    """The void in the sugar into which an upper entrance opens, or None if there is none."""
    for _, notch in notches_of(stack):
        for name, void in voids_of(stack):
            if notch.high[X] == void.low[X] and _overlap(notch, void, Y) and _overlap(notch, void, Z):
                return name, void
    return None


def ceiling_over(stack: Stack, tier: Tier) -> Tier | None:
    """The first tier above the given one that closes the space over it."""
    above = stack.tiers[stack.tiers.index(tier) + 1 :]
    return next((each for each in above if each.ceiling), None)


def _between_frames(box: Tier, bars: list[Placed]) -> list[Plane]:
    """The plane midway between two neighboring bars, at about a quarter of the width, away from parts in the middle."""
    whole = around(placed.box for placed in box.placed)
    quarter = whole.low[Y] + whole.size(Y) / 4
    lanes = [(one.box.high[Y] + other.box.low[Y]) / 2 for one, other in pairwise(bars)]
    if not lanes:
        return []
    caption = "The broad way between two combs, from the floor up to how the hive is covered."
    return [Plane("between two frames", caption, Y, min(lanes, key=lambda at: (abs(at - quarter), at)))]


def _strip(stack: Stack) -> list[Plane]:
    strips = [placed for tier in stack.of(TierKind.ON_BARS) for placed in tier.named("strip")]
    if not strips:
        return []
    first = min(strips, key=lambda placed: placed.box.low[X])
    caption = "The strip lies on the bars and carries the mesh; the lane on each side of it is open down."
    return [Plane("through a strip", caption, X, _middle(first.box, X))]


def _voids(stack: Stack) -> list[Plane]:
    channel, found = channel_of(stack), []
    if channel is not None:
        caption = "From the upper entrance through the sugar down to the bars; no strip or block in the way."
        found.append(Plane("entrance channel", caption, Y, _middle(channel[1], Y)))
    rest = [(name, void) for name, void in voids_of(stack) if channel is None or void != channel[1]]
    if rest:
        void = max(rest, key=lambda each: each[1].low[X])[1]
        caption = "Air and bees rise at the back through the sugar, from the bars to the room over it."
        found.append(Plane("corner vent", caption, Y, _middle(void, Y)))
    return found


def _over_bars(stack: Stack, bars: list[Placed]) -> list[Plane]:
    if not bars:
        return []
    top = max(placed.box.high[Z] for placed in bars)
    inner = around(placed.box for placed in bars)
    boxes = [placed.box for placed in stack.placed]
    over = [b.low[Z] for b in boxes if b.low[Z] > top and _overlap(b, inner, X) and _overlap(b, inner, Y)]
    on = [b for b in boxes if b.low[Z] <= top < b.high[Z] and _covers(b, inner)]
    if on or not over:
        return []
    at = top + min((min(over) - top) / 2, ABOVE_BARS)
    strips = bool(stack.of(TierKind.ON_BARS))
    caption = "Strips and the lanes between them, seen from above." if strips else "The way over the bars, from above."
    return [Plane("over the top bars", caption, Z, at)]


def _rim(stack: Stack) -> list[Plane]:
    found = []
    for tier in stack.of(TierKind.BOARD, TierKind.SHIM):
        for sugar in tier.named(PartName.SUGAR, "sugar cake")[:1]:
            low, high = sugar.box.low[Z], sugar.box.high[Z]
            for _, notch in notches_of(stack):
                if max(low, notch.low[Z]) < min(high, notch.high[Z]):
                    low, high = max(low, notch.low[Z]), min(high, notch.high[Z])
            caption = "Upper entrance, channel, sugar and corner vents, seen from above."
            if tier.kind is TierKind.SHIM:
                caption = "The cake in its rim, seen from above."
            found.append(Plane("through the rim", caption, Z, (low + high) / 2))
    return found


def _middle(box: Cuboid, axis: int) -> Length:
    return (box.low[axis] + box.high[axis]) / 2


def _overlap(one: Cuboid, other: Cuboid, axis: int) -> bool:
    return one.low[axis] < other.high[axis] and other.low[axis] < one.high[axis]


def _covers(over: Cuboid, under: Cuboid) -> bool:
    return all(over.low[i] <= under.low[i] and under.high[i] <= over.high[i] for i in (X, Y))
