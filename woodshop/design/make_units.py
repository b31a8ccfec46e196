"""Makes the units of a batch, and assembles the hives with them on the user's woodenware."""

from collections.abc import Hashable, Iterable
from dataclasses import fields, replace
from itertools import product
from typing import Any

from woodshop.design.batch import Batch, BatchLine, Hives, Unit
from woodshop.errors import InputError, Problem
from woodshop.hardware.board import BoardSettings, Setting
from woodshop.hardware.catalogue import find_item
from woodshop.hardware.registry import default_of, fields_as_parameters
from woodshop.hive.passages.inside import on_marks
from woodshop.hive.stacking.place import Place, TierKind
from woodshop.hive.stacking.stack import BOX, Load, Stack, Tier, load
from woodshop.hive.variation.sizes import GAP_OVER, LUGS, HiveBuild, dimensions_of, remade
from woodshop.shape.part import Assembly, Role
from woodshop.units.lengths import ZERO, Length


def make_fault(line: BatchLine, why: ValueError) -> Problem:
    """The problem for an item that cannot be made: the reason `why`, and the keys of the settings to change."""
    keys = settings_at_fault(line)
    do = f"Change {' or '.join(keys)}." if keys else "Change the sizes given for it."
    return Problem(line.address, f"sizes that do not fit together ({why})", "an item that can be cut", do)


def settings_at_fault(line: BatchLine) -> tuple[str, ...]:
    """The key of each setting whose removal would make it possible to make this item."""
    given, setting = dict(line.given), line.setting
    found = []
    for parameter in line.item.parameters:
        default = default_of(parameter, setting.unit)
        if given.get(parameter.name) != default and _is_made(line, given | {parameter.name: default}, setting):
            found.append(f"make, {line.item.name}, {parameter.name}")
    known = {each.name: each for each in fields_as_parameters(BoardSettings)}
    for field in fields(BoardSettings):
        default = default_of(known[field.name], setting.unit)
        if getattr(setting.board, field.name) == default:
            continue
        board = replace(setting.board, **{field.name: default})
        if _is_made(line, given, replace(setting, board=board)):
            found.append(f"board, {field.name}")
    return tuple(found)


def _is_made(line: BatchLine, given: dict[str, Any], setting: Any) -> bool:
    try:
        line.item.make(setting, **given)
    except (InputError, ValueError):
        return False
    return True


def _not_of_wood(line: BatchLine) -> Problem:
    """The problem of an item whose own `wood` makes none of its parts."""
    size, given, do = line.setting.say(line.setting.wood), "for an item without such wood", "Remove the line."
    if line.setting.board.made_of == "plywood":
        given = 'for an item whose walls are made of plywood: made_of = "plywood" holds for all walls'
        do = 'Remove the line. Or set made_of = "boards" under [[make]] for this item.'
    return Problem(f"make, {line.item.name}, wood", f"{size} {given}", "an item with walls of boards", do)


def make_units(batch: Batch) -> tuple[Unit, ...]:
    """One unit for every line. Raises InputError if an item cannot be made as requested."""
    units: list[Unit] = []
    found: list[Problem] = []
    alike: dict[tuple[str, Setting, tuple[tuple[str, Any], ...]], Assembly] = {}  # lines for one box share these
    for line in batch.lines:
        kind = (line.item.name, line.setting, line.given)
        try:
            made = alike.get(kind) or alike.setdefault(kind, line.item.make(line.setting, **dict(line.given)))
            if line.has_own_wood and line.item.board_part is None and not _is_of_wood(made, line.setting.wood):
                raise InputError(_not_of_wood(line))
            units.append(Unit(line, made))
        except InputError as why:
            found += why.problems
        except ValueError as why:  # a part without size, or a cut outside its part
            found.append(make_fault(line, why))
    if found:
        raise InputError(*dict.fromkeys(found))
    return tuple(units)


def _is_of_wood(made: Assembly, wood: Length) -> bool:
    """Whether any part that is made comes from boards of this thickness."""
    return any(p.part.material.is_lumber and p.part.thickness == wood for p in made.with_role(Role.MADE))


_SIZED = (
    TierKind.ON_BARS,
    TierKind.TOP_BOX,
    TierKind.FEEDER,
    TierKind.UNDER_COVER,
    TierKind.ENTRANCE,
    TierKind.INSERT,
    TierKind.SHIM,
    TierKind.BOARD,
    TierKind.ADDED,
)
"""The order in which sizes are listed and simulated. A different order would simulate different hives."""


def place_of(hives: Hives) -> str:
    """The name of a group of hives in findings."""
    return f"{hives.name}, {hives.format}" if hives.name else hives.format


def units_by_hives(units: Iterable[Unit]) -> dict[str, dict[str, Unit]]:
    """The units for each group of hives, keyed by the name of the group, then by item."""
    groups: dict[str, dict[str, Unit]] = {}
    for unit in units:
        if unit.line.item.is_per_hive:
            groups.setdefault(unit.line.hives.name, {})[unit.line.item.name] = unit
    return groups


def build_key(group: dict[str, Unit]) -> Hashable:
    """A key built from everything that determines the stack of a group at a given gap: its units and its woodenware.

    Identical groups have the same key. Assemblies are compared by identity, because lines for one box share them.
    """
    hives = next(iter(group.values())).line.hives
    return (
        hives.woodenware,
        hives.measured,
        tuple((name, id(unit.assembly), unit.line.setting) for name, unit in group.items()),
    )


def stacks_of(group: dict[str, Unit], gap: Length | None = None) -> tuple[Stack, ...]:
    """The assembled hives of these units; see `builds_of`."""
    return tuple(each.stack for each in builds_of(group, gap))


def builds_of(group: dict[str, Unit], gap: Length | None = None) -> tuple[HiveBuild, ...]:
    """The hives with these units (keyed by item name), as parts to assemble.

    `gap` is the gap over the top bars of every box without a gap of its own. If items replace each other, as a
    shim replaces a board, there is one hive for each. If only some items of a board are made, the others are assumed to
    match. Sizes measured on one hive replace the designed ones. Raises InputError for parts that cannot be assembled,
    and ValueError if a measured size leaves no part.
    """
    hives = next(iter(group.values())).line.hives
    ware = hives.woodenware
    if gap is not None:
        ware = replace(
            ware, boxes=tuple((box if box.has_own_gap else box.with_gap(gap), frame) for box, frame in ware.boxes)
        )
    loads = _loads(group)
    slots: dict[str, list[Place]] = {}
    rivals = [each.place for each in loads if each.place.one_of]
    for each in sorted(rivals, key=lambda place: list(TierKind).index(place.kind)):
        slots.setdefault(each.one_of, []).append(each)
    ways = list(product(*slots.values()))
    ripped = _ripped(group)
    stood = tuple(
        HiveBuild(place_of(hives) + (_names(chosen) if len(ways) > 1 else ""), ware, _kept(loads, chosen), ripped)
        for chosen in ways
    )
    return tuple(_as_measured(each, dict(hives.measured)) for each in stood) if hives.measured else stood


def _as_measured(build: HiveBuild, measured: dict[str, Length]) -> HiveBuild:
    """The hive with its own measured sizes.

    The gap over the top bars was measured on the actual lugs, so a thicker lug does not reduce it again.
    """
    by = {each.name: measured[each.name] - each.nominal for each in dimensions_of(build) if each.name in measured}
    for gap in [name for name in by if name.startswith(GAP_OVER)]:
        by[gap] += by.get(gap.replace(GAP_OVER, LUGS), ZERO)
    return remade(build, by)


def _kept(loads: tuple[Load, ...], chosen: tuple[Place, ...]) -> tuple[Load, ...]:
    """The items that stay in a hive: all except those that other items replace or exclude."""
    out = {kind for place in chosen for kind in place.without}
    return tuple(each for each in loads if each.kind not in out and (not each.place.one_of or each.place in chosen))


def _ripped(group: dict[str, Unit]) -> frozenset[Place]:
    """The items whose walls are ripped to height, because no board has that width."""
    found = set()
    for unit in group.values():
        place = unit.line.item.place
        if place is None or not place.rim:
            continue
        sides = unit.as_designed.named(*place.walls[:1])
        if sides and max(each.box.size(2) for each in sides) not in unit.line.setting.widths:
            found.add(place)
    return frozenset(found)


def _names(places: tuple[Place, ...]) -> str:
    return ", with " + " and ".join(place.name for place in places)


def _loads(group: dict[str, Unit]) -> tuple[Load, ...]:
    """The assembly for each place. Items that share a place are combined."""
    places = dict.fromkeys(unit.line.item.place for unit in group.values() if unit.line.item.place is not None)
    loads = []
    for place in sorted(places, key=lambda each: _SIZED.index(each.kind)):
        names = place.made_of or tuple(name for name, unit in group.items() if unit.line.item.place == place)
        made = [_on_marks(_made(group, place, name)) for name in names]
        loads.append(load(place, *made) if len(made) > 1 else Load(place, made[0]))
    return tuple(loads)


def _on_marks(made: Assembly) -> Assembly:
    """The assembly with its fillings rounded to marks of a grid, so that parts can be placed on top."""
    (tier,) = on_marks(Stack("", (Tier("", BOX, made.placed, made.spaces),))).tiers
    return replace(made, placed=tier.placed, spaces=tier.spaces)


def _made(group: dict[str, Unit], place: Place, name: str) -> Assembly:
    """The item as made for these hives or, if only other items for its place are made, an item similar to them."""
    if name in group:
        return group[name].as_designed
    other = next(unit for unit in group.values() if unit.line.item.place == place)
    made: Assembly = find_item(name).make(other.line.setting)
    return made
