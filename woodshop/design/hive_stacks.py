"""The hives of a batch as they will stand: what the user has, and what is made for it, put together."""

from collections.abc import Hashable
from dataclasses import replace

from woodshop.design.batch import Hives, Unit
from woodshop.hardware.catalogue import find_item
from woodshop.hive.passages.inside import on_marks
from woodshop.hive.stacking.stack import Load, Stack, Tier, TierKind, load
from woodshop.hive.variation.dimensions import GAP_OVER, LUGS, Standing, dimensions_of, remade
from woodshop.shape.part import Assembly
from woodshop.units.lengths import ZERO, Length

_KINDS = {
    "spacer strips": TierKind.STRIPS,
    "quilt box": TierKind.QUILT,
    "feeder quilt": TierKind.FEEDER,
    "vent spacers": TierKind.SPACERS,
    "mouse guard": TierKind.GUARD,
    "bottom closure": TierKind.CLOSURE,
    "cake rim": TierKind.CAKE_RIM,
}
_BOARD = ("fondant rim", "mesh floor")
TIER_OF = _KINDS | dict.fromkeys(_BOARD, TierKind.BOARD)
"""What each item is in a hive; those that are not in it have no place here."""


def place_of(hives: Hives) -> str:
    """A group of hives as the checks name it."""
    return f"{hives.name}, {hives.format}" if hives.name else hives.format


def stands_as(group: dict[str, Unit]) -> Hashable:
    """What groups have in common that stand alike at equal gaps: the same things made, on the same woodenware.

    Things made are told apart as objects: lines of one box share theirs (`design.make_units`).
    """
    hives = next(iter(group.values())).line.hives
    return (
        hives.woodenware,
        hives.measured,
        tuple((name, id(unit.assembly), unit.line.setting) for name, unit in group.items()),
    )


def stacks_of(group: dict[str, Unit], gap: Length | None = None) -> tuple[Stack, ...]:
    """The hives for which these units are made, as they will stand; see `standings_of`."""
    return tuple(each.stack for each in standings_of(group, gap))


def standings_of(group: dict[str, Unit], gap: Length | None = None) -> tuple[Standing, ...]:
    """The hives for which these units are made, each by its item's name, as what they are put together of.

    `gap` is over the top bars of every box; left out, the boxes' own. A cake rim takes the place of a board, and a
    filled feeder that of a quilt box: where both are made there is one hive for each. Of a board of which only rim
    or mesh is made, the other is taken to be like it. Sizes measured of one hive take the place of those designed.
    Raises InputError for what cannot be put together, ValueError when a measured size leaves a part with none.
    """
    hives = next(iter(group.values())).line.hives
    ware = hives.woodenware
    if gap is not None:
        ware = replace(ware, boxes=tuple((box.with_gap(gap), frame) for box, frame in ware.boxes))
    loads = _loads(group)
    hive = []
    for below in _one_of(loads, TierKind.BOARD, TierKind.CAKE_RIM):
        for above in _one_of(loads, TierKind.QUILT, TierKind.FEEDER):
            left_out = {TierKind.BOARD, TierKind.CAKE_RIM, TierKind.QUILT, TierKind.FEEDER} - {below, above}
            if below is TierKind.CAKE_RIM:
                left_out.add(TierKind.STRIPS)
            chosen = tuple(each for each in loads if each.kind not in left_out)
            hive.append((below, above, chosen))
    several, ripped = len(hive) > 1, _ripped(group)
    stood = tuple(
        Standing(place_of(hives) + (_words(below, above) if several else ""), ware, chosen, ripped)
        for below, above, chosen in hive
    )
    return tuple(_as_measured(each, dict(hives.measured)) for each in stood) if hives.measured else stood


def _as_measured(standing: Standing, measured: dict[str, Length]) -> Standing:
    """The hive with the sizes that were measured, as far as they are its own.

    A gap over top bars was measured on the lugs as they are: a thicker lug does not take from it once more.
    """
    by = {each.name: measured[each.name] - each.nominal for each in dimensions_of(standing) if each.name in measured}
    for gap in [name for name in by if name.startswith(GAP_OVER)]:
        by[gap] += by.get(gap.replace(GAP_OVER, LUGS), ZERO)
    return remade(standing, by)


def _ripped(group: dict[str, Unit]) -> frozenset[TierKind]:
    """The things whose walls are ripped to their height: no board comes so wide."""
    kinds = {"fondant rim": TierKind.BOARD, "quilt box": TierKind.QUILT, "cake rim": TierKind.CAKE_RIM}
    found = set()
    for name, kind in kinds.items():
        if name in group:
            high = max(each.box.size(2) for each in group[name].as_designed.named("side"))
            if high not in group[name].line.setting.widths:
                found.add(kind)
    return frozenset(found)


def _words(*kinds: TierKind | None) -> str:
    return ", with " + " and ".join(kind.value for kind in kinds if kind is not None)


def _one_of(loads: tuple[Load, ...], *kinds: TierKind) -> tuple[TierKind | None, ...]:
    found = tuple(kind for kind in kinds if any(each.kind is kind for each in loads))
    return found or (None,)


def _loads(group: dict[str, Unit]) -> tuple[Load, ...]:
    loads = [Load(kind, _on_marks(group[name].as_designed)) for name, kind in _KINDS.items() if name in group]
    if any(name in group for name in _BOARD):
        loads.append(load(TierKind.BOARD, *(_on_marks(_part_of_board(group, name)) for name in _BOARD)))
    return tuple(loads)


def _on_marks(made: Assembly) -> Assembly:
    """The same with its fillings on marks that a grid holds: what comes to lie on them must be placed as well."""
    (tier,) = on_marks(Stack("", (Tier("", TierKind.BOARD, made.placed, made.spaces),))).tiers
    return replace(made, placed=tier.placed, spaces=tier.spaces)


def _part_of_board(group: dict[str, Unit], name: str) -> Assembly:
    if name in group:
        return group[name].as_designed
    other = next(group[each] for each in _BOARD if each in group)
    made: Assembly = find_item(name).make(other.line.setting)
    return made
