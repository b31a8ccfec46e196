"""The air path from the entrance to the slit under the cover: the clear area of each step, and where it ends.

Areas are measured on the placed parts, and nothing is said of how much air flows. Cloth and shavings breathe over
their area; mesh by its open share, (1 - wire / pitch) squared; wood, sugar and the floor of a feeder not at all.

    entrance - frames - channel and corner vents - over the sugar - floor above - under the cover - slit - skirt
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from woodshop.hive.passages.air_steps import (
    THIN,
    AirStep,
    ceiling_steps,
    entrance_steps,
    frame_steps,
    steps_beside,
    steps_out,
    sugar_steps,
    void_steps,
)
from woodshop.hive.passages.creatures import breathing
from woodshop.hive.passages.doors import Door, doors_of
from woodshop.hive.passages.inside import Inside, around, between_combs
from woodshop.hive.passages.planes import voids_of
from woodshop.hive.passages.ways import within_walls
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.stacking.stack import Stack, Tier
from woodshop.shape.part import Box, Placed
from woodshop.shape.through_sheets import Walk, walk

X, Y, Z = 0, 1, 2


@dataclass(frozen=True, slots=True)
class DeadEnd:
    """Where the path ends: the step that is shut, and the two parts between which it ends."""

    step: str
    between: tuple[str, str]


@dataclass(frozen=True, slots=True)
class AirPath:
    """The steps in order, the smallest on the roomiest way out, and the dead ends.

    `beside` are ways out that leave the path before its end: the upper entrance.
    """

    steps: tuple[AirStep, ...]
    smallest: AirStep
    dead_ends: tuple[DeadEnd, ...]
    beside: tuple[AirStep, ...] = ()


def air_path(stack: Stack, inside: Inside | None = None) -> AirPath:
    """The air path of a hive. `inside` is the same hive's, where it is at hand."""
    within = inside or Inside(stack)
    doors = doors_of(within)
    steps = [*entrance_steps(within, doors), *frame_steps(within), *void_steps(within), *sugar_steps(within)]
    steps += [*ceiling_steps(within, doors), *steps_out(within, doors)]
    return AirPath(tuple(steps), _smallest(steps), _dead_ends(within, doors), steps_beside(within, doors))


def _smallest(steps: Sequence[AirStep]) -> AirStep:
    """The least step that all air passes, or the least one of the roomiest way out where that is less."""
    routes = dict.fromkeys(step.route for step in steps if step.route)
    leasts = [min((s for s in steps if s.route == route), key=_size) for route in routes]
    common = [step for step in steps if not step.route]
    return min([*common, *([max(leasts, key=_size)] if leasts else [])], key=_size)


def _size(step: AirStep) -> Fraction:
    return step.clear.mm2


@dataclass(frozen=True, slots=True)
class _Stage:
    """Places of which air must come to one, and the parts under and over the way to them."""

    step: str
    between: tuple[str, str]
    boxes: tuple[Box, ...]


def _dead_ends(inside: Inside, doors: tuple[Door, ...]) -> tuple[DeadEnd, ...]:
    """Where a thin cube, to which mesh, cloth and shavings are open, comes no further: each void, then each stage."""
    stack, walls = inside.stack, inside.walls
    combs = around(placed.box for placed in stack.top_box.named("comb"))
    low = (combs.low[Z] + combs.high[Z]) / 2
    parts = (placed for placed in breathing(stack.placed) if inside.box(placed).high[Z] > low)
    filled = [thing for thing in inside.scene.things if isinstance(thing, Box)]
    seen = inside.some([*parts, *filled])
    walked = walk(Walk(seen, Box((walls.low[X], walls.low[Y], low), walls.high), THIN, False, ()))
    start = frozenset(room for lane in between_combs(stack.top_box) for room in walked.rooms_in(lane))
    stages = _stages(inside, doors)
    found = [
        DeadEnd(name, ("mesh", "packed sugar")) for name, void in voids_of(stack) if not start & walked.rooms_in(void)
    ]
    for stage in stages:
        if not any(start & walked.rooms_in(box) for box in stage.boxes):
            return (*found, DeadEnd(stage.step, stage.between))
    return tuple(found)


def _stages(inside: Inside, doors: tuple[Door, ...]) -> list[_Stage]:
    """The rooms that air must come to, one after the other."""
    stack, below, found = inside.stack, "top bar", []
    for tier in stack.of(TierKind.BOARD):
        if tier.named("packed sugar"):
            voids = tuple(box for _, box in voids_of(stack))
            found.append(_Stage("channel and corner vents", ("mesh", "packed sugar"), voids))
            below = "packed sugar"
    for tier in stack.tiers:
        sheets = tier.ceiling
        if sheets and tier.kind is not TierKind.COVER:
            name = sheets[0].part.name
            found.append(_Stage(f"through the {tier.name}", (below, name), _over(inside, tier, sheets)))
            below = name
    if stack.of(TierKind.COVER):
        outs = tuple(box for door in doors if door.name in _OUT for box, _, _ in door.boxes)
        found.append(_Stage("out of the hive", (below, "cover top"), outs))
    return found


_OUT = ("vent hole", "slit under the cover")


def _over(inside: Inside, tier: Tier, sheets: tuple[Placed, ...]) -> tuple[Box, ...]:
    """The room over a floor, a panel or a feeder; with none left, what is cut right through it."""
    if tier.kind is TierKind.TOP_BOX:
        return (within_walls(inside, tier, sheets[0].box.high[Z]),)
    whole, top = inside.walls, sheets[0].box.high[Z]
    end = next((each.box.high[Z] for each in inside.outlines if each.tier == tier.name), top)
    if top < end:
        return (Box((whole.low[X], whole.low[Y], top), (whole.high[X], whole.high[Y], end)),)
    return tuple(
        hollow
        for sheet in sheets
        for hollow in sheet.hollows
        if hollow.high[Z] == top and hollow.low[Z] == sheet.box.low[Z]
    )
