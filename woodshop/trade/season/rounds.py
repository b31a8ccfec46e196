"""Winter rounds: the hives of each apiary, and how many cakes fit in them when the sugar is nearly gone."""

from dataclasses import KW_ONLY, dataclass
from fractions import Fraction

from woodshop.design.batch import Hives, Unit, in_tier, of_board
from woodshop.design.make_units import stacks_of
from woodshop.hardware.registry import BoardPart
from woodshop.hive.creatures import PartName
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.stacking.stack import Stack, Tier
from woodshop.reference.facts import fact
from woodshop.shape.part import Cuboid, Placed, gap
from woodshop.trade.season.packing import by_hives
from woodshop.units.lengths import ZERO, Length, Mass

_ABOVE = (TierKind.TOP_BOX, TierKind.FEEDER, TierKind.INNER_COVER, TierKind.COVER)
Spot = tuple[Length, Length, Length, Length]


@dataclass(frozen=True, slots=True)
class TopUp:
    """The space for cakes over the bees, measured in the assembled hive.

    `lies_on` is the mesh or the top bars. `left` is the space over the packed sugar, or None if no sugar is packed.
    `bare` is the space over the mesh or bars when the sugar is gone. `spots` are the positions of cakes (low x, low y,
    high x, high y); there are none if no cake fits. `thick` is the thickness of a cake, `each` the sugar in it.
    """

    lies_on: str
    left: Length | None
    bare: Length
    _: KW_ONLY
    thick: Length
    each: Mass
    spots: tuple[Spot, ...]

    @property
    def cakes(self) -> int:
        """The number of cakes that fit side by side."""
        return len(self.spots)

    @property
    def sugar(self) -> Mass:
        """The total sugar in the cakes."""
        return self.each * self.cakes


@dataclass(frozen=True, slots=True)
class Round:
    """A group of hives on a sheet: its space for cakes (None if there is none), and whether a mouse guard is made."""

    hives: Hives
    topup: TopUp | None
    has_guard: bool

    @property
    def name(self) -> str:
        """The name of the hives."""
        return self.hives.name or self.hives.format


@dataclass(frozen=True, slots=True)
class Apiary:
    """One sheet: the hives of a customer, or a group without a customer."""

    name: str
    rounds: tuple[Round, ...]

    @property
    def hives(self) -> int:
        """The number of hives in the apiary."""
        return sum(each.hives.count for each in self.rounds)


def apiaries(units: tuple[Unit, ...]) -> tuple[Apiary, ...]:
    """The sheets, in the order of the design."""
    sheets: dict[tuple[str, str], list[Round]] = {}
    for hives, group in by_hives(units):
        each = _round(hives, group)
        key = ("customer", hives.customer) if hives.customer else ("hives", each.name)
        sheets.setdefault(key, []).append(each)
    return tuple(Apiary(name, tuple(rounds)) for (_, name), rounds in sheets.items())


def _round(hives: Hives, group: dict[str, Unit]) -> Round:
    has_board = any(of_board(group, part) for part in (BoardPart.RIM, BoardPart.FLOOR))
    topup = None
    if has_board or in_tier(group, TierKind.SHIM):
        unit = next(iter(group.values()))
        for stack in stacks_of(group):
            kind = TierKind.BOARD if has_board else TierKind.SHIM
            tiers = stack.of(kind)
            if tiers:
                topup = topup_of(stack, tiers[0], hives.board_form == "packed" and has_board, unit.line.setting.mark)
                break
    return Round(hives, topup, in_tier(group, TierKind.ENTRANCE) is not None)


def topup_of(stack: Stack, rim: Tier, is_packed: bool, mark: Length) -> TopUp | None:
    """The cakes that fit in a rim in the assembled hive, or None if no part is above the rim.

    A cake has the size of the published block, but is thinner if the height up to the part above, minus headroom for
    bees, is less than the block's thickness. The channel and vents of the packed sugar stay open. `is_packed` says
    whether there is sugar. `mark` is the mark of the tape.
    """
    above = [placed for tier in stack.of(*_ABOVE) for placed in tier.placed]
    floor = [*rim.named("mesh")] or [*stack.top_box.named(PartName.TOP_BAR)]
    bare = gap(floor, above)
    if bare is None:
        return None
    sugar = rim.named(PartName.SUGAR)
    left = gap(sugar, above) if sugar and is_packed else None
    room = bare - fact("rim.head_room").length
    full = fact("sugar.block_thickness").length
    thick = min(full, max(room, ZERO).down_to(mark))
    each = fact("sugar.block").mass * (thick / full if thick > ZERO else Fraction(0))
    inside, closed = _floor_plan(rim, sugar)
    spots = () if thick <= ZERO else cakes_in(inside, closed)
    return TopUp("the mesh" if rim.named("mesh") else "the top bars", left, bare, thick=thick, each=each, spots=spots)


def _floor_plan(rim: Tier, sugar: tuple[Placed, ...]) -> tuple[Spot, tuple[Spot, ...]]:
    """The area inside the walls, and the areas in it that must stay open: the channel and vents in packed sugar."""
    if sugar:
        return _spot(sugar[0].box), tuple(_spot(hollow) for hollow in sugar[0].hollows)
    sides = sorted((p.box for p in rim.named("side")), key=lambda box: box.low[1])
    ends = sorted((p.box for p in rim.placed if p.part.name.endswith("end")), key=lambda box: box.low[0])
    return (ends[0].high[0], sides[0].high[1], ends[-1].low[0], sides[-1].low[1]), ()


def cakes_in(inside: Spot, closed: tuple[Spot, ...]) -> tuple[Spot, ...]:
    """The positions of cakes of the published size on a floor, in the better of two orientations.

    Cakes do not overlap closed areas or each other. Each cake goes in the lowest free corner, so another arrangement
    might fit more. At least the listed number fits.
    """
    long, wide = fact("sugar.block_length").length, fact("sugar.block_width").length
    ways = [_laid(inside, closed, one, other) for one, other in ((long, wide), (wide, long))]
    return max(ways, key=len)


def _laid(inside: Spot, closed: tuple[Spot, ...], long: Length, wide: Length) -> tuple[Spot, ...]:
    laid: list[Spot] = []
    while True:
        taken = [*closed, *laid]
        xs = sorted({inside[0], *(spot[2] for spot in taken)})
        ys = sorted({inside[1], *(spot[3] for spot in taken)})
        spots = ((x, y, x + long, y + wide) for x in xs for y in ys)
        free = (s for s in spots if s[2] <= inside[2] and s[3] <= inside[3] and not any(_meet(s, t) for t in taken))
        found = next(free, None)
        if found is None:
            return tuple(laid)
        laid.append(found)


def _meet(one: Spot, other: Spot) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _spot(box: Cuboid) -> Spot:
    return box.low[0], box.low[1], box.high[0], box.high[1]
