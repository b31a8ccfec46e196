"""Doors: every way between the inside of a hive and the outside, and which creatures pass each.

An entrance, a hole or notch cut through a wall, the slit under a cover that stands off, a joint that stands open. A
door is tried from the outside, with guard, skirt and screens before or behind it, and with the hive's inside filled.
"""

from dataclasses import dataclass
from itertools import pairwise

from woodshop.hive.passages.creatures import Creature, as_met, creatures
from woodshop.hive.passages.inside import Inside, Outline, around
from woodshop.hive.passages.openings import Clear
from woodshop.hive.stacking.place import STANDING, TierKind
from woodshop.hive.stacking.stack import Tier
from woodshop.shape.part import Box, Cut, Placed, Role
from woodshop.shape.scene import Scene, scene
from woodshop.shape.through_sheets import Joined, Walk, walk
from woodshop.units.lengths import inch

X, Y, Z = 0, 1, 2
_NO_WAY = ("fixing hole", "finger gap", "frame rest", "mesh rabbet", "mesh groove")
THIN = inch("1/2")  # how deep the edge of a block is that has nothing cut out of it
_MARGIN = inch(2)  # of free space round the hive, more than any creature here is wide


@dataclass(frozen=True, slots=True)
class Door:
    """A way through: blocks that it leads through, each with the axis across it and whether it opens to its high side.

    `screens` are the sheets of mesh that lie against it; `for_bees` where what it is cut in declares it a passage.
    """

    name: str
    tier: str
    boxes: tuple[tuple[Box, int, bool], ...]
    screens: tuple[Placed, ...] = ()
    for_bees: bool = False


@dataclass(frozen=True, slots=True)
class DoorWays:
    """Who passes a door from the outside in, by name; `from_frames`: a worker gets to it from between the frames."""

    door: Door
    passed_by: tuple[str, ...]
    from_frames: bool

    @property
    def lets_out(self) -> bool:
        """Whether a worker gets out of the hive by it."""
        return self.from_frames and "worker" in self.passed_by


def doors_of(inside: Inside) -> tuple[Door, ...]:
    """The doors of a hive from the ground up: by place, the cuts in the order of the parts."""
    stack, found = inside.stack, []
    for tier in stack.of(TierKind.BOTTOM):
        found += _entrance(tier, inside.outlines)
    for tier in stack.of(*STANDING):
        found += _cuts(tier)
    for lower, upper in pairwise(stack.of(TierKind.BOTTOM, *STANDING)):
        found += _joint(f"{upper.name} on {lower.name}", upper.name, _walls(lower), _walls(upper))
    for tier in stack.of(TierKind.COVER):
        last = stack.of(*STANDING)[-1]
        tops = tuple(placed.box for placed in tier.named("cover top"))
        found += _joint("slit under the cover", tier.name, _walls(last) or _blocks(last), tops)
    return tuple(found)


def try_doors(inside: Inside) -> tuple[DoorWays, ...]:
    """Every door, with who passes it."""
    doors = doors_of(inside)
    passed: list[list[str]] = [[] for _ in doors]
    yard = _Yard(inside)
    for who in creatures():
        walked = yard.walked(who)
        start = walked.rooms_in(yard.outer)
        for n, door in enumerate(doors):
            held = any(not who.passes(_cell(screen)) for screen in door.screens)
            if not held and any(start & walked.rooms_in(_layer(*each, inner=True)) for each in door.boxes):
                passed[n].append(who.name)
    return tuple(
        DoorWays(
            door,
            tuple(names),
            any(inside.reached & inside.walked.rooms_in(_layer(*each, inner=False)) for each in door.boxes),
        )
        for door, names in zip(doors, passed, strict=True)
    )


def _cell(sheet: Placed) -> Clear:
    assert sheet.part.material.mesh is not None
    clear = sheet.part.material.mesh.clear_opening
    return Clear(clear, clear)


def _layer(box: Box, axis: int, far: bool, inner: bool) -> Box:
    """The thin layer of a door at its inner or its outer end."""
    low, high = list(box.low), list(box.high)
    thin = box.size(axis) / 16
    if far != inner:
        low[axis] = high[axis] - thin
    else:
        high[axis] = low[axis] + thin
    return Box((low[0], low[1], low[2]), (high[0], high[1], high[2]))


class _Yard:
    """The space round a hive and in its doors, its inside filled; `outer` is a place in it far from any door."""

    def __init__(self, inside: Inside) -> None:
        self.shell = tuple(
            placed
            for tier in inside.stack.tiers
            for placed in (_wall_parts(tier) if tier.kind is TierKind.BOX else tier.placed)
            if placed.role is not Role.FILLING and tier.kind is not TierKind.ON_BARS
        )
        self.filled = [box for outline in inside.outlines if (box := _filling(inside, outline)) is not None]
        low, high = inside.extent.low, inside.extent.high
        m = _MARGIN
        self.window = Box((low[X] - m, low[Y] - m, low[Z] - m), (high[X] + m, high[Y] + m, high[Z] + m))
        self.outer = Box(self.window.low, (self.window.high[X], self.window.high[Y], low[Z]))
        self.scenes: dict[tuple[tuple[Cut, ...], ...], Scene] = {}

    def walked(self, who: Creature) -> Joined:
        """Where a creature can walk round the hive and into its doors."""
        met, sheets = as_met(self.shell, who)
        # creatures that meet the same round holes walk among the same solids
        holes = tuple(one.part.cuts for one, other in zip(met, self.shell, strict=True) if one is not other)
        if holes not in self.scenes:
            self.scenes[holes] = scene((*met, *self.filled))
        return walk(Walk(self.scenes[holes], self.window, who.size, who.strict, sheets))


def _filling(inside: Inside, outline: Outline) -> Box | None:
    """What lies within the walls of a tier; None where it has no walls of its own."""
    tier = next(each for each in inside.stack.tiers if each.name == outline.tier and each.kind is outline.kind)
    low, high = list(outline.box.low), list(outline.box.high)
    walls = _walls(tier)
    if not walls:
        return None
    thick = next(iter(box.size(Y) for box in walls if box.size(Y) < box.size(X)))
    for box in walls:
        axis = X if box.size(X) < box.size(Y) else Y
        if box.low[axis] == outline.box.low[axis]:
            low[axis] = max(low[axis], box.high[axis])
        elif box.high[axis] == outline.box.high[axis]:
            high[axis] = min(high[axis], box.low[axis])
    if outline.kind is TierKind.BOTTOM:
        low[X] = max(low[X], outline.box.low[X] + thick)
    return Box((low[0], low[1], low[2]), (high[0], high[1], high[2]))


def _wall_parts(tier: Tier) -> tuple[Placed, ...]:
    return tier.named(*tier.place.walls)


def _walls(tier: Tier) -> tuple[Box, ...]:
    return tuple(placed.box for placed in _wall_parts(tier))


def _blocks(tier: Tier) -> tuple[Box, ...]:
    """The edges of a tier that is one block, each as deep as it is to the nearest hollow in it."""
    parts = tier.named(tier.place.block)
    if not parts:
        return ()
    (x0, y0, low), (x1, y1, high) = parts[0].box.low, parts[0].box.high
    hollows = parts[0].hollows or (Box((x0 + THIN, y0 + THIN, low), (x1 - THIN, y1 - THIN, high)),)
    a, b = min(h.low[X] for h in hollows), max(h.high[X] for h in hollows)
    c, d = min(h.low[Y] for h in hollows), max(h.high[Y] for h in hollows)
    return (
        Box((x0, y0, low), (a, y1, high)),
        Box((b, y0, low), (x1, y1, high)),
        Box((x0, y0, low), (x1, c, high)),
        Box((x0, d, low), (x1, y1, high)),
    )


def _entrance(tier: Tier, outlines: tuple[Outline, ...]) -> list[Door]:
    """Between the rails in front, from the floor up to the box, as deep as the rails are thick."""
    (outline,) = (each for each in outlines if each.kind is TierKind.BOTTOM)
    rails = [placed.box for placed in tier.named("bottom side")]
    floor = max(placed.box.high[Z] for placed in tier.named("floor", "screen"))
    thick = rails[0].size(Y)
    y0, y1 = min(box.high[Y] for box in rails), max(box.low[Y] for box in rails)
    x = outline.box.low[X]
    box = Box((x, y0, floor), (x + thick, y1, outline.box.high[Z]))
    return [Door("entrance", tier.name, ((box, X, False),), for_bees=True)]


def _cuts(tier: Tier) -> list[Door]:
    """What is cut right through the outer walls."""
    parts = _wall_parts(tier)
    if not parts:
        return []
    whole = around(placed.box for placed in parts)
    sheets = tuple(placed for placed in tier.placed if placed.part.material.mesh is not None)
    found = []
    for wall in parts:
        axis = X if wall.box.size(X) < wall.box.size(Y) else Y
        for cut, hollow in zip(wall.part.cuts, wall.hollows, strict=True):
            if cut.name in _NO_WAY or hollow.size(axis) < wall.box.size(axis):
                continue
            screens = tuple(sheet for sheet in sheets if _screens(sheet.box, hollow, axis))
            far = wall.box.high[axis] == whole.high[axis]
            for_bees = cut.name in tier.place.passages
            place = f"{tier.name}, {_side(axis, far)}"
            found.append(Door(cut.name, place, ((hollow, axis, far),), screens, for_bees))
    return found


def _side(axis: int, far: bool) -> str:
    return (("front", "back"), ("left", "right"))[axis][far]


def _screens(sheet: Box, hollow: Box, axis: int) -> bool:
    """Whether a sheet lies against a hollow across its axis, past it all round."""
    others = [n for n in range(3) if n != axis]
    against = sheet.high[axis] == hollow.low[axis] or sheet.low[axis] == hollow.high[axis]
    return against and all(sheet.low[n] <= hollow.low[n] and hollow.high[n] <= sheet.high[n] for n in others)


def _joint(name: str, tier: str, lower: tuple[Box, ...], upper: tuple[Box, ...]) -> list[Door]:
    """Where the walls above stand off those below: along each of the lower walls."""
    if not lower or not upper:
        return []
    high = min(box.low[Z] for box in upper)
    whole, boxes = around(lower), []
    for box in lower:
        if box.high[Z] >= high:
            continue
        axis = X if box.size(X) < box.size(Y) else Y
        x0, y0, _ = box.low
        between = Box((x0, y0, box.high[Z]), (box.high[X], box.high[Y], high))
        boxes.append((between, axis, box.high[axis] == whole.high[axis]))
    return [Door(name, tier, tuple(boxes))] if boxes else []
