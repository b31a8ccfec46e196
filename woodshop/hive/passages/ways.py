"""What can walk where in a hive: the lanes over the bars, the places bees should reach, and those they must not.

Walked by a cube of the least width that a worker passes, from between the frames. Mesh is passed where sources say
that she passes it; sugar, cloth and shavings are solid to her.
"""

from dataclasses import dataclass

from woodshop.hive.passages.doors import DoorWays, try_doors
from woodshop.hive.passages.inside import Inside, around, between_combs
from woodshop.hive.passages.planes import ceiling_over, voids_of
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.stacking.stack import Stack, Tier
from woodshop.shape.part import Box
from woodshop.units.lengths import Length

X, Y, Z = 0, 1, 2


@dataclass(frozen=True, slots=True)
class Lane:
    """A lane over the bars, numbered from the front, from one strip to the next.

    `open`: a worker finds room in it. `down`: it opens between frames within its own length. `up`: the names of
    what is kept free of sugar over it that she gets up into from it, through the mesh.
    """

    number: int
    box: Box
    open: bool
    down: bool
    up: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Spot:
    """A place in the hive; `wanted`: bees should get there (True), must not (False), or may (None)."""

    name: str
    box: Box
    wanted: bool | None
    reached: bool

    @property
    def amiss(self) -> bool:
        """Whether bees do not get where they should, or get where they must not."""
        return self.wanted is not None and self.wanted != self.reached


@dataclass(frozen=True, slots=True)
class Ways:
    """Lanes, places and doors of a hive, each with who gets there."""

    lanes: tuple[Lane, ...]
    spots: tuple[Spot, ...]
    doors: tuple[DoorWays, ...]

    def door(self, name: str) -> tuple[DoorWays, ...]:
        """The doors of that name."""
        return tuple(each for each in self.doors if each.door.name == name)

    def passed_by(self, who: str) -> tuple[DoorWays, ...]:
        """The doors that a creature passes."""
        return tuple(each for each in self.doors if who in each.passed_by)


def ways_of(stack: Stack, inside: Inside | None = None) -> Ways:
    """What can walk where. `inside` is the same hive's, where it is at hand."""
    within = inside or Inside(stack)
    return Ways(_lanes(within), _spots(within), try_doors(within))


def _lanes(inside: Inside) -> tuple[Lane, ...]:
    stack = inside.stack
    sheets = [placed.box for tier in stack.of(TierKind.BOARD) for placed in tier.named("mesh")]
    bars = stack.top_box.named("top bar")
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


def _lane(inside: Inside, number: int, along: tuple[Length, Length], over: tuple[Length, Length], walls: Box) -> Lane:
    """A lane walked by itself: whoever walks it does not leave its length."""
    combs = around(placed.box for placed in inside.stack.top_box.named("comb"))
    low = (combs.low[Z] + combs.high[Z]) / 2
    voids = voids_of(inside.stack)
    top = max((void.high[Z] for _, void in voids), default=over[1])
    walked = inside.walk_in(Box((along[0], walls.low[Y], low), (along[1], walls.high[Y], top)))
    box = Box((along[0], walls.low[Y], over[0]), (along[1], walls.high[Y], over[1]))
    rooms = walked.stands_in(box)
    under = [
        Box((along[0], lane.low[Y], low), (along[1], lane.high[Y], combs.high[Z]))
        for lane in between_combs(inside.stack.top_box)
    ]
    down = any(rooms & walked.rooms_in(each) for each in under)
    up = tuple(
        name
        for name, void in voids
        if (shared := void.meet(Box((along[0], *void.low[1:]), (along[1], *void.high[1:]))))
        and rooms & walked.rooms_in(shared)
    )
    return Lane(number, box, bool(rooms), down, up)


def _spots(inside: Inside) -> tuple[Spot, ...]:
    stack, top = inside.stack, inside.stack.top_box
    home = frozenset(room for box in between_combs(top) for room in inside.walked.rooms_in(box))

    def spot(name: str, box: Box, wanted: bool | None) -> Spot:
        return Spot(name, box, wanted, bool(home & inside.walked.stands_in(box)))

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
        found.append(spot("over the quilt floor", within_walls(inside, tier, floor), False))
    for tier in stack.of(TierKind.FEEDER):
        for feeder in tier.named("top feeder"):
            wells = [h for cut, h in zip(feeder.part.cuts, feeder.hollows, strict=True) if cut.name == "well"]
            found += [spot(f"well {n}", box, False) for n, box in enumerate(wells, 1)]
    found += [spot("under the cover", box, None if kept is None else not kept) for box, kept in _under_cover(inside)]
    return tuple(found)


def over_sugar(stack: Stack, tier: Tier) -> list[tuple[str, Box]]:
    """The room over the sugar of a tier, up to what closes it; nothing where none is left."""
    above = ceiling_over(stack, tier)
    tops = [placed.box.low[Z] for placed in above.ceiling] if above else []
    walls = [placed.box.high[Z] for placed in tier.named("side", "end", "front end", "back end")]
    roof = min(tops) if tops else max(walls)
    found = []
    for sugar in tier.named("packed sugar", "sugar cake"):
        low, high = sugar.box.low, sugar.box.high
        if high[Z] < roof:
            name = "over the sugar" if sugar.part.name == "packed sugar" else "over the cake"
            found.append((name, Box((low[X], low[Y], high[Z]), (high[X], high[Y], roof))))
    return found


def within_walls(inside: Inside, tier: Tier, low: Length) -> Box:
    """The room within the walls of a tier from a height up to the end of its outline."""
    whole = next(each.box for each in inside.outlines if each.tier == tier.name)
    walls = [placed.box for placed in tier.named("side", "end", "front end", "back end")]
    x0 = min(box.high[X] for box in walls if box.size(X) < box.size(Y))
    x1 = max(box.low[X] for box in walls if box.size(X) < box.size(Y))
    y0 = min(box.high[Y] for box in walls if box.size(Y) < box.size(X))
    y1 = max(box.low[Y] for box in walls if box.size(Y) < box.size(X))
    return Box((x0, y0, low), (x1, y1, whole.high[Z]))


def _under_cover(inside: Inside) -> list[tuple[Box, bool | None]]:
    """The room under the cover's top over a feeder or an inner cover, and whether bees are kept out of it."""
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
    return [(Box((whole.low[X], whole.low[Y], low), (whole.high[X], whole.high[Y], roof)), kept)]
