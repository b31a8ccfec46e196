"""The hive ready for winter as an exploded view: made items above the existing parts, each with its number."""

from dataclasses import dataclass
from itertools import zip_longest

from woodshop.design.make_units import place_of, stacks_of, units_by_hives
from woodshop.drawing.values.model import (
    Beside,
    Block,
    Column,
    Drawing,
    Figure,
    Heading,
    KeepTogether,
    Paragraph,
    Table,
    View,
)
from woodshop.drawing.views.pictorial import picture
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.stacking.stack import Stack, Tier
from woodshop.plan.values import PlannedBatch
from woodshop.shape.part import Placed
from woodshop.units.lengths import ZERO, inch

_LIFT = inch(8)
GROUND = (TierKind.BOTTOM, TierKind.INSERT, TierKind.ENTRANCE, TierKind.BOX)


@dataclass(frozen=True, slots=True)
class Thing:
    """One numbered item in the exploded view: its name, its tier, and its pieces."""

    number: int
    name: str
    tier: Tier
    placed: tuple[Placed, ...]


def things_of(stack: Stack) -> tuple[Thing, ...]:
    """The numbered items of a hive, from top to bottom: each part of a made item, and each item that the user has."""
    found: list[Thing] = []
    boxes = 0
    for tier in reversed(stack.tiers):
        if tier.kind is TierKind.BOX:
            boxes += 1
            if boxes > 1:
                continue
        groups: dict[str, list[Placed]] = {}
        for each in tier.placed:
            groups.setdefault(each.part.name if tier.is_own else tier.place.name, []).append(each)
        for name, members in groups.items():
            pieces = tuple(members)
            if tier.kind is TierKind.BOX:
                name = "boxes with their frames"
                pieces = tuple(each for other in stack.of(TierKind.BOX) for each in other.placed)
            found.append(Thing(len(found) + 1, name, tier, pieces))
    return tuple(found)


def hive_view(stack: Stack) -> View:
    """The exploded view of a hive from its front left corner; the balloons show the numbers from `things_of`."""
    return picture(lifted(stack))


def lifted(stack: Stack) -> list[tuple[Placed, int]]:
    """The hive's parts, each with its item number. Everything above the boxes is raised tier by tier.

    Only the top bars of the top box are drawn, because the rest of the frames is hidden.
    """
    shown = {id(each) for each in stack.top_box.named("top bar")}
    hidden = {
        id(each) for box in stack.of(TierKind.BOX) for each in box.placed if not (_is_wall(each) or id(each) in shown)
    }
    numbers = {id(each): thing.number for thing in things_of(stack) for each in thing.placed}
    numbered: list[tuple[Placed, int]] = []
    lift = ZERO
    for tier in stack.tiers:
        if tier.kind not in GROUND:
            lift = lift + _LIFT
        above = lift + _LIFT if any(_lies_under(tier, each) for each in tier.placed) else lift
        for each in tier.placed:
            by = lift if _lies_under(tier, each) else above
            if id(each) not in hidden:
                numbered.append((each.moved((ZERO, ZERO, by)), numbers[id(each)]))
        lift = above
    return numbered


def _is_wall(each: Placed) -> bool:
    return each.part.name in ("box side", "box end")


def _lies_under(tier: Tier, each: Placed) -> bool:
    return each.part.name in tier.place.floors


def first_ready(planned: PlannedBatch) -> tuple[Block, Block] | None:
    """A picture of the batch's most common hive ready for winter, and its numbered list, or None if there is none."""
    dressed = ready_hives(planned)
    if not dressed:
        return None
    stack, places = dressed[0]
    things = things_of(stack)
    half = (len(things) + 1) // 2
    cells = [(str(t.number), _thing_text(t) if t.tier.is_own else f"{t.name} (yours)") for t in things]
    cells += [("", "")] * (half * 2 - len(cells))
    columns = (Column("", weight=1), Column("", weight=9), Column("", weight=1), Column("", weight=9))
    rows = tuple((*left, *right) for left, right in zip(cells[:half], cells[half:], strict=True))
    return _view(planned, stack, places, "3 7/8"), Table(columns, rows, small=True)


def other_ready(planned: PlannedBatch) -> list[Block]:
    """A picture of each other set of items that goes above the boxes in this batch; two pictures side by side."""
    ways: dict[tuple[str, ...], tuple[Stack, list[str]]] = {}
    for stack, places in ready_hives(planned):
        above = tuple(tier_text(tier) for tier in stack.tiers if tier.kind not in GROUND)
        ways.setdefault(above, (stack, []))[1].extend(places)
    views = []
    for stack, places in list(ways.values())[1:]:
        tiers: dict[str, list[str]] = {}
        for each in things_of(stack):
            tiers.setdefault(tier_text(each.tier) if each.tier.is_own else "yours", []).append(
                f"{each.number} {each.name}"
            )
        names = "; ".join(f"{tier}: {', '.join(numbered)}" for tier, numbered in tiers.items())
        views.append(
            (_view(planned, stack, places, "2 1/2"), Paragraph(f"{names[:1].upper()}{names[1:]}.", small=True))
        )
    pairs = zip_longest(views[::2], views[1::2])
    rows = [KeepTogether((Beside(left, right),) if right else left) for left, right in pairs]
    return [Heading("Hives set up another way", 2), *rows] if rows else []


def _view(planned: PlannedBatch, stack: Stack, places: list[str], height: str) -> Figure:
    """The exploded view of a hive, no higher than `height` in inches."""
    first, *others = dict.fromkeys(place.rpartition(", ")[0] or place for place in places)  # a name says enough
    alike = f"; {' and '.join(others)} look{'' if len(others) > 1 else 's'} the same" if others else ""
    drawing = Drawing("The hive dressed", stack.name, (hive_view(stack),), unit=planned.batch.unit)
    caption = f"Drawn for {first}{alike}."
    return Figure(drawing, caption, inch(height), say_scale=False, free_scale=True)


def ready_hives(planned: PlannedBatch) -> list[tuple[Stack, list[str]]]:
    """Each way to make a hive ready for winter: the first hive set up this way, and the names of all such hives.

    The most common way comes first.
    """
    groups = units_by_hives(planned.units)
    drawn: dict[tuple[str, ...], list[str]] = {}
    first: dict[tuple[str, ...], Stack] = {}
    for group in groups.values():
        if all(unit.line.item.place is None for unit in group.values()):
            continue
        for stack in stacks_of(group):
            if not any(tier.is_own for tier in stack.tiers):
                continue
            key = tuple(thing.name for thing in things_of(stack))
            first.setdefault(key, stack)
            drawn.setdefault(key, []).append(place_of(next(iter(group.values())).line.hives))
    found = [(stack, list(dict.fromkeys(drawn[key]))) for key, stack in first.items()]
    return sorted(found, key=lambda each: -len(each[1]))


def _thing_text(thing: Thing) -> str:
    """The item and its part, or only the item if both have the same name."""
    item = tier_text(thing.tier)
    return item if thing.name == item.removesuffix("s") else f"{item}: {thing.name}"


def tier_text(tier: Tier) -> str:
    """The everyday name of the item in this tier."""
    return "fondant board" if tier.kind is TierKind.BOARD else tier.name
