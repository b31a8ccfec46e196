"""Where a hive is cut through to show bee space: planes found from the parts as they stand.

Only planes that this hive has: no strips, no plane through a strip.
"""

from dataclasses import dataclass
from itertools import pairwise

from woodshop.hive.passages.inside import around
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.stacking.stack import Stack, Tier
from woodshop.shape.part import Box, Placed
from woodshop.units.lengths import Length, inch

X, Y, Z = 0, 1, 2
ABOVE_BARS = inch("1/8")  # a plane over the bars lies no higher above them, so that it shows what lies on them


@dataclass(frozen=True, slots=True)
class Plane:
    """A plane across an axis of the hive: its name, what to look for in it, and where it lies."""

    name: str
    caption: str
    axis: int
    at: Length


def planes_of(stack: Stack) -> tuple[Plane, ...]:
    """The planes of a hive, those that stand first, then those that lie."""
    box = stack.top_box
    bars = sorted(box.named("top bar"), key=lambda placed: placed.box.low[Y])
    middle = _middle(around(placed.box for placed in box.placed), Y)
    found = []
    if bars:
        bar = min(bars, key=lambda placed: (abs(_middle(placed.box, Y) - middle), placed.box.low[Y]))
        caption = "Bee space over and under the bar, and from the end bars to the walls."
        found.append(Plane("through a top bar", caption, Y, _middle(bar.box, Y)))
        found += _between_frames(box, bars)
    found += [*_strip(stack), *_voids(stack)]
    return (*found, *_over_bars(stack, bars), *_rim(stack))


def voids_of(stack: Stack) -> tuple[tuple[str, Box], ...]:
    """What is kept free of sugar, by its name: the hollows of the sugar that no other part stands in."""
    found = []
    for tier in stack.of(TierKind.BOARD):
        others = [placed.box for placed in tier.placed if placed.part.name != "packed sugar"]
        for sugar in tier.named("packed sugar"):
            for cut, hollow in zip(sugar.part.cuts, sugar.hollows, strict=True):
                if not any(hollow.meet(other) for other in others):
                    found.append((cut.name, hollow))
    return tuple(found)


def notches_of(stack: Stack) -> tuple[tuple[Placed, Box], ...]:
    """The upper entrances, each with the wall that it is cut in."""
    return tuple(
        (wall, hollow)
        for tier in stack.tiers
        if tier.is_own
        for wall in tier.walls
        for cut, hollow in zip(wall.part.cuts, wall.hollows, strict=True)
        if cut.name in tier.place.passages
    )


def channel_of(stack: Stack) -> tuple[str, Box] | None:
    """The void in the sugar that an upper entrance opens into; None where it opens into none."""
    for _, notch in notches_of(stack):
        for name, void in voids_of(stack):
            if notch.high[X] == void.low[X] and _overlap(notch, void, Y) and _overlap(notch, void, Z):
                return name, void
    return None


def ceiling_over(stack: Stack, tier: Tier) -> Tier | None:
    """The first tier above one that closes the room over it."""
    above = stack.tiers[stack.tiers.index(tier) + 1 :]
    return next((each for each in above if each.ceiling), None)


def _between_frames(box: Tier, bars: list[Placed]) -> list[Plane]:
    """Midway between the two bars nearest to a quarter of the way across: clear of what is in the middle."""
    whole = around(placed.box for placed in box.placed)
    quarter = whole.low[Y] + whole.size(Y) / 4
    lanes = [(one.box.high[Y] + other.box.low[Y]) / 2 for one, other in pairwise(bars)]
    if not lanes:
        return []
    caption = "The broad way between two combs, from the floor up to what closes the hive."
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
        for sugar in tier.named("packed sugar", "sugar cake")[:1]:
            low, high = sugar.box.low[Z], sugar.box.high[Z]
            for _, notch in notches_of(stack):
                if max(low, notch.low[Z]) < min(high, notch.high[Z]):
                    low, high = max(low, notch.low[Z]), min(high, notch.high[Z])
            caption = "Upper entrance, channel, sugar and corner vents, seen from above."
            if tier.kind is TierKind.SHIM:
                caption = "The cake in its rim, seen from above."
            found.append(Plane("through the rim", caption, Z, (low + high) / 2))
    return found


def _middle(box: Box, axis: int) -> Length:
    return (box.low[axis] + box.high[axis]) / 2


def _overlap(one: Box, other: Box, axis: int) -> bool:
    return one.low[axis] < other.high[axis] and other.low[axis] < one.high[axis]


def _covers(over: Box, under: Box) -> bool:
    return all(over.low[i] <= under.low[i] and under.high[i] <= over.high[i] for i in (X, Y))
