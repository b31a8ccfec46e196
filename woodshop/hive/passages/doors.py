"""Finds the doors between the inside of a hive and the outside, and the places that bees can reach inside."""

from dataclasses import dataclass
from itertools import pairwise

from woodshop.hive.creatures import Clear, Creature, OpeningName, PartName, as_met, creatures
from woodshop.hive.passages.inside import Inside, Outline, around, between_combs, ceiling_over, voids_of
from woodshop.hive.stacking.place import STANDING, TierKind
from woodshop.hive.stacking.stack import Stack, Tier
from woodshop.shape.part import Cuboid, Cut, Placed, Role
from woodshop.shape.rooms import Joined, Walk, walk
from woodshop.shape.scene import Scene
from woodshop.units.lengths import Length, inch

X, Y, Z = 0, 1, 2
_NO_WAY = ("fixing hole", "finger gap", "frame rest", "mesh rabbet", "mesh groove")
QUILT_FLOOR = "over the quilt floor"
THIN = inch("1/2")  # depth of the edge of a block that has no hollow
_MARGIN = inch(2)  # free space around the hive, wider than any creature here


@dataclass(frozen=True, slots=True)
class Door:
    """An opening to the outside.

    `boxes` are the blocks of space inside the door. Each has the axis of its direction, and is true if its outer end is
    the high end. `screens` are the sheets of mesh over the door. `for_bees` says whether the item declares it a
    passage.
    """

    name: str
    tier: str
    boxes: tuple[tuple[Cuboid, int, bool], ...]
    screens: tuple[Placed, ...] = ()
    for_bees: bool = False


@dataclass(frozen=True, slots=True)
class DoorWays:
    """A door, and the names of the creatures that can come in through it.

    `from_frames` says whether a worker can reach the door from the frames.
    """

    door: Door
    passed_by: tuple[str, ...]
    from_frames: bool

    @property
    def lets_out(self) -> bool:
        """Whether a worker can leave the hive through the door."""
        return self.from_frames and "worker" in self.passed_by


def doors_of(inside: Inside) -> tuple[Door, ...]:
    """The entrance, the cuts in walls, the gaps between tiers, and the slit of a hive; each kind from bottom to top."""
    stack, found = inside.stack, []
    for tier in stack.of(TierKind.BOTTOM):
        found += _entrance(tier, inside.outlines)
    for tier in stack.of(*STANDING):
        found += _cuts(tier)
    for lower, upper in pairwise(stack.of(TierKind.BOTTOM, *STANDING)):
        found += _joint(f"{upper.name} on {lower.name}", upper.name, _walls(lower), _walls(upper))
    for tier in stack.of(TierKind.COVER):
        last = stack.of(*STANDING)[-1]
        tops = tuple(placed.box for placed in tier.named(PartName.COVER_TOP))
        found += _joint(OpeningName.SLIT, tier.name, _walls(last) or _blocks(last), tops)
    return tuple(found)


def try_doors(inside: Inside) -> tuple[DoorWays, ...]:
    """Every door, with the creatures that can come in through it."""
    doors = doors_of(inside)
    passed: list[list[str]] = [[] for _ in doors]
    ways = _Ways(inside)
    for who in creatures():
        walked = ways.walked(who)
        start = walked.rooms_in(ways.outer)
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


def _layer(box: Cuboid, axis: int, far: bool, inner: bool) -> Cuboid:
    """A thin layer of a door's block, at its inner or outer end."""
    low, high = list(box.low), list(box.high)
    thin = box.size(axis) / 16
    if far != inner:
        low[axis] = high[axis] - thin
    else:
        high[axis] = low[axis] + thin
    return Cuboid((low[0], low[1], low[2]), (high[0], high[1], high[2]))


class _Ways:
    """The space around a hive and in its doors. The inside is filled.

    `outer` is a place in this space far from any door.
    """

    def __init__(self, inside: Inside) -> None:
        self.inside = inside
        self.shell = tuple(
            placed
            for tier in inside.stack.tiers
            for placed in (_wall_parts(tier) if tier.kind is TierKind.BOX else tier.placed)
            if placed.role is not Role.FILLING and tier.kind is not TierKind.ON_BARS
        )
        self.filled = [box for outline in inside.outlines if (box := _filling(inside, outline)) is not None]
        low, high = inside.extent.low, inside.extent.high
        m = _MARGIN
        self.window = Cuboid((low[X] - m, low[Y] - m, low[Z] - m), (high[X] + m, high[Y] + m, high[Z] + m))
        self.outer = Cuboid(self.window.low, (self.window.high[X], self.window.high[Y], low[Z]))
        self.scenes: dict[tuple[tuple[Cut, ...], ...], Scene] = {}

    def walked(self, who: Creature) -> Joined:
        """The places around the hive and in its doors that a creature can reach."""
        met, sheets = as_met(self.shell, who)
        # if the same round holes are solid for two creatures, they move among the same solids
        holes = tuple(one.part.cuts for one, other in zip(met, self.shell, strict=True) if one is not other)
        if holes not in self.scenes:
            self.scenes[holes] = self.inside.some((*met, *self.filled))
        return walk(Walk(self.scenes[holes], self.window, who.size, who.strict, sheets))


def _filling(inside: Inside, outline: Outline) -> Cuboid | None:
    """The space within the walls of a tier, or None if it has no walls of its own."""
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
    return Cuboid((low[0], low[1], low[2]), (high[0], high[1], high[2]))


def _wall_parts(tier: Tier) -> tuple[Placed, ...]:
    return tier.named(*tier.place.walls)


def _walls(tier: Tier) -> tuple[Cuboid, ...]:
    return tuple(placed.box for placed in _wall_parts(tier))


def _blocks(tier: Tier) -> tuple[Cuboid, ...]:
    """The four outer strips of a tier that is one block. Each extends inward to the nearest hollow in the block."""
    parts = tier.named(tier.place.block)
    if not parts:
        return ()
    (x0, y0, low), (x1, y1, high) = parts[0].box.low, parts[0].box.high
    hollows = parts[0].hollows or (Cuboid((x0 + THIN, y0 + THIN, low), (x1 - THIN, y1 - THIN, high)),)
    a, b = min(h.low[X] for h in hollows), max(h.high[X] for h in hollows)
    c, d = min(h.low[Y] for h in hollows), max(h.high[Y] for h in hollows)
    return (
        Cuboid((x0, y0, low), (a, y1, high)),
        Cuboid((b, y0, low), (x1, y1, high)),
        Cuboid((x0, y0, low), (x1, c, high)),
        Cuboid((x0, d, low), (x1, y1, high)),
    )


def _entrance(tier: Tier, outlines: tuple[Outline, ...]) -> list[Door]:
    """The entrance between the rails at the front, from the floor up to the box. It has the depth of one rail."""
    (outline,) = (each for each in outlines if each.kind is TierKind.BOTTOM)
    rails = [placed.box for placed in tier.named("bottom side")]
    floor = max(placed.box.high[Z] for placed in tier.named("floor", "screen"))
    thick = rails[0].size(Y)
    y0, y1 = min(box.high[Y] for box in rails), max(box.low[Y] for box in rails)
    x = outline.box.low[X]
    box = Cuboid((x, y0, floor), (x + thick, y1, outline.box.high[Z]))
    return [Door(OpeningName.ENTRANCE, tier.name, ((box, X, False),), for_bees=True)]


def _cuts(tier: Tier) -> list[Door]:
    """The cuts through the outer walls."""
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


def _screens(sheet: Cuboid, hollow: Cuboid, axis: int) -> bool:
    """Whether a sheet touches one end of a hollow (along the axis) and covers it completely."""
    others = [n for n in range(3) if n != axis]
    against = sheet.high[axis] == hollow.low[axis] or sheet.low[axis] == hollow.high[axis]
    return against and all(sheet.low[n] <= hollow.low[n] and hollow.high[n] <= sheet.high[n] for n in others)


def _joint(name: str, tier: str, lower: tuple[Cuboid, ...], upper: tuple[Cuboid, ...]) -> list[Door]:
    """The gaps between the walls of two tiers, along each of the lower walls."""
    if not lower or not upper:
        return []
    high = min(box.low[Z] for box in upper)
    whole, boxes = around(lower), []
    for box in lower:
        if box.high[Z] >= high:
            continue
        axis = X if box.size(X) < box.size(Y) else Y
        x0, y0, _ = box.low
        between = Cuboid((x0, y0, box.high[Z]), (box.high[X], box.high[Y], high))
        boxes.append((between, axis, box.high[axis] == whole.high[axis]))
    return [Door(name, tier, tuple(boxes))] if boxes else []


X, Y, Z = 0, 1, 2


@dataclass(frozen=True, slots=True)
class Lane:
    """A lane over the bars, between two strips. Lanes are numbered from the front.

    `open` is true if a worker fits in the lane, and `down` if she can go from it down between the frames. `up` names
    the voids over the lane that she can enter from it, through the mesh.
    """

    number: int
    box: Cuboid
    open: bool
    down: bool
    up: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Spot:
    """A place in the hive. `should_reach`: bees must get there (True), must not (False), or may (None)."""

    name: str
    box: Cuboid
    should_reach: bool | None
    reached: bool

    @property
    def amiss(self) -> bool:
        """Whether bees cannot reach a place that they must, or can reach one that they must not."""
        return self.should_reach is not None and self.should_reach != self.reached


@dataclass(frozen=True, slots=True)
class Ways:
    """The lanes, places and doors of a hive, and which of them workers or other creatures can reach."""

    lanes: tuple[Lane, ...]
    spots: tuple[Spot, ...]
    doors: tuple[DoorWays, ...]

    def door(self, name: str) -> tuple[DoorWays, ...]:
        """The doors with this name."""
        return tuple(each for each in self.doors if each.door.name == name)

    def passed_by(self, who: str) -> tuple[DoorWays, ...]:
        """The doors that a creature can come in through."""
        return tuple(each for each in self.doors if who in each.passed_by)


def ways_of(stack: Stack, inside: Inside | None = None) -> Ways:
    """The lanes and places that workers can reach, and the doors.

    `inside` is the `Inside` of the same hive, if it exists already.
    """
    within = inside or Inside(stack)
    return Ways(_lanes(within), _spots(within), try_doors(within))


def _lanes(inside: Inside) -> tuple[Lane, ...]:
    stack = inside.stack
    sheets = [placed.box for tier in stack.of(TierKind.BOARD) for placed in tier.named("mesh")]
    bars = stack.top_box.named(PartName.TOP_BAR)
    if not sheets or not bars:
        return ()
    floor = max(placed.box.high[Z] for placed in bars)
    roof = max(floor, min(box.low[Z] for box in sheets))
    within = around(placed.box for placed in stack.top_box.named("box side", "box end"))
    strips = sorted((p.box for tier in stack.of(TierKind.ON_BARS) for p in tier.named("strip")), key=lambda b: b.low[X])
    fronts = [within.low[X], *(box.high[X] for box in strips)]
    backs = [*(box.low[X] for box in strips), within.high[X]]
    return tuple(
        _lane(inside, n, (front, back), (floor, roof), within)
        for n, (front, back) in enumerate(zip(fronts, backs, strict=True), 1)
        if front < back
    )


def _lane(
    inside: Inside, number: int, along: tuple[Length, Length], over: tuple[Length, Length], walls: Cuboid
) -> Lane:
    """Makes a lane by a walk that stays between its two strips."""
    combs = around(placed.box for placed in inside.stack.top_box.named("comb"))
    low = (combs.low[Z] + combs.high[Z]) / 2
    voids = voids_of(inside.stack)
    top = max((void.high[Z] for _, void in voids), default=over[1])
    walked = inside.walk_in(Cuboid((along[0], walls.low[Y], low), (along[1], walls.high[Y], top)))
    box = Cuboid((along[0], walls.low[Y], over[0]), (along[1], walls.high[Y], over[1]))
    rooms = walked.stands_in(box)
    under = [Cuboid((along[0], lane.low[Y], low), (along[1], lane.high[Y], combs.high[Z])) for lane in inside.top_lanes]
    down = any(rooms & walked.rooms_in(each) for each in under)
    up = tuple(
        name
        for name, void in voids
        if (shared := void.meet(Cuboid((along[0], *void.low[1:]), (along[1], *void.high[1:]))))
        and rooms & walked.rooms_in(shared)
    )
    return Lane(number, box, bool(rooms), down, up)


def _spots(inside: Inside) -> tuple[Spot, ...]:
    stack = inside.stack
    home = frozenset(room for box in inside.top_lanes for room in inside.walked.rooms_in(box))

    def spot(name: str, box: Cuboid, should_reach: bool | None) -> Spot:
        return Spot(name, box, should_reach, bool(home & inside.walked.stands_in(box)))

    found = []
    for tier in stack.of(TierKind.BOX):
        lanes = between_combs(tier)
        if lanes:
            reached = all(home & inside.walked.rooms_in(lane) for lane in lanes)
            found.append(Spot(f"between the frames, {tier.name}", around(lanes), True, reached))
    found += [spot(name, void, True) for name, void in voids_of(stack)]
    for tier in stack.of(TierKind.BOARD, TierKind.SHIM):
        found += [spot(name, box, True) for name, box in over_sugar(stack, tier)]
    for tier in stack.of(TierKind.TOP_BOX):
        floor = max(p.box.high[Z] for p in tier.named("floor cloth", "floor mesh"))
        found.append(spot(QUILT_FLOOR, within_walls(inside, tier, floor), False))
    for tier in stack.of(TierKind.FEEDER):
        for feeder in tier.named("top feeder"):
            wells = [h for cut, h in zip(feeder.part.cuts, feeder.hollows, strict=True) if cut.name == "well"]
            found += [spot(f"well {n}", box, False) for n, box in enumerate(wells, 1)]
    found += [spot("under the cover", box, None if kept is None else not kept) for box, kept in _under_cover(inside)]
    return tuple(found)


def over_sugar(stack: Stack, tier: Tier) -> list[tuple[str, Cuboid]]:
    """The spaces over the sugar of a tier, with their names, up to the part that closes them.

    Empty if there are none.
    """
    above = ceiling_over(stack, tier)
    tops = [placed.box.low[Z] for placed in above.ceiling] if above else []
    walls = [placed.box.high[Z] for placed in tier.named("side", "end", "front end", "back end")]
    roof = min(tops) if tops else max(walls)
    found = []
    for sugar in tier.named(PartName.SUGAR, "sugar cake"):
        low, high = sugar.box.low, sugar.box.high
        if high[Z] < roof:
            name = "over the sugar" if sugar.part.name == PartName.SUGAR else "over the cake"
            found.append((name, Cuboid((low[X], low[Y], high[Z]), (high[X], high[Y], roof))))
    return found


def within_walls(inside: Inside, tier: Tier, low: Length) -> Cuboid:
    """The space within the walls of a tier, from the height `low` up to the upper end of the tier's outline."""
    whole = next(each.box for each in inside.outlines if each.tier == tier.name)
    walls = [placed.box for placed in tier.named("side", "end", "front end", "back end")]
    x0 = min(box.high[X] for box in walls if box.size(X) < box.size(Y))
    x1 = max(box.low[X] for box in walls if box.size(X) < box.size(Y))
    y0 = min(box.high[Y] for box in walls if box.size(Y) < box.size(X))
    y1 = max(box.low[Y] for box in walls if box.size(Y) < box.size(X))
    return Cuboid((x0, y0, low), (x1, y1, whole.high[Z]))


def _under_cover(inside: Inside) -> list[tuple[Cuboid, bool | None]]:
    """The space between a feeder or inner cover and the top of the cover, with a flag.

    The flag is True if the space must be closed to bees, and None if bees may enter it.
    """
    stack = inside.stack
    last = stack.tiers.index(stack.of(TierKind.COVER)[0]) if stack.of(TierKind.COVER) else 0
    closing = [tier for tier in stack.tiers[:last] if tier.kind in (TierKind.FEEDER, TierKind.INNER_COVER)]
    if not closing:
        return []
    panels = closing[-1].named("top feeder", "inner cover panel")
    low, roof = max(p.box.high[Z] for p in panels), inside.outlines[-1].box.high[Z]
    if low >= roof:
        return []
    whole = inside.outlines[-1].box
    kept = True if stack.of(TierKind.TOP_BOX, TierKind.FEEDER) else None
    return [(Cuboid((whole.low[X], whole.low[Y], low), (whole.high[X], whole.high[Y], roof)), kept)]
