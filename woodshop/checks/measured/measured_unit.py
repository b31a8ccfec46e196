"""One hive's hardware with the sizes that were measured of it: put together again, and checked as any other.

What was measured is put on the placed parts, as sizes that stray are; makers decide nothing anew.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from woodshop.design.batch import Batch, Hives, Unit
from woodshop.design.hive_stacks import place_of, standings_of
from woodshop.design.measured_boxes import average
from woodshop.design.unit_file import UnitFile, sizes_given
from woodshop.errors import InputError, Problem
from woodshop.hardware.catalogue import items
from woodshop.hive.stacking.place import Place
from woodshop.hive.variation.sizes import GAP_OVER, Dimension, dimensions_of, warped
from woodshop.units.lengths import Length

HIVE = "hive"
"""The word of a unit file for what the user has: boxes, frames, covers."""


@dataclass(frozen=True, slots=True)
class MeasuredUnit:
    """The units of one group of hives as one of them was measured, and each size with what was measured of it."""

    batch: Batch
    units: tuple[Unit, ...]
    place: str
    sizes: tuple[tuple[str, Dimension, Length], ...]


def groups_of(units: Iterable[Unit]) -> dict[str, dict[str, Unit]]:
    """What stands in hives, by the name of their group, then by item."""
    groups: dict[str, dict[str, Unit]] = {}
    for unit in units:
        if unit.line.item.per == "hive":
            groups.setdefault(unit.line.hives.name, {})[unit.line.item.name] = unit
    return groups


def sizes_of(group: dict[str, Unit]) -> dict[str, dict[str, Dimension]]:
    """Every size of these hives by item and name, what is made first; the user's own under "hive".

    The gap over the top bars is the mean of those measured.
    """
    line = next(iter(group.values())).line
    found: dict[str, dict[str, Dimension]] = {}
    for standing in standings_of(group, average(list(line.hives.gaps or (line.setting.box.gap,)))):
        for size in dimensions_of(standing):
            found.setdefault(item_of(size), {}).setdefault(size.name, size)
    return dict(sorted(found.items(), key=lambda pair: pair[0] == HIVE))


def item_of(size: Dimension) -> str:
    """The item that a size is of; "hive" for the user's own."""
    return next((place.made_of[0] if place.made_of else _item_at(place) for place, _ in size.moves), HIVE)


def _item_at(place: Place) -> str:
    return next(item.name for item in items() if item.place == place)


def measured_unit(batch: Batch, units: Sequence[Unit], file: UnitFile) -> MeasuredUnit:
    """The hives of which one was measured, with those sizes; what was not measured is as designed.

    Raises InputError for names that are not known, lengths that make no sense, and sizes that leave a part with none.
    """
    groups = groups_of(units)
    name = _group_named(file, groups)
    group = groups[name]
    given = sizes_given(file, sizes_of(group))
    old = next(iter(group.values())).line.hives
    hives = _as_measured(old, given)
    try:
        made = tuple(_unit(unit, hives, given) for unit in units if unit.line.hives.name == name)
        stands = {unit.line.item.name: unit for unit in made if unit.line.item.per == "hive"}
        for gap in hives.gaps or (None,):
            for each in standings_of(stands, gap):
                _ = each.stack
    except InputError:
        raise
    except ValueError as why:  # a part of no size, or a cut that does not lie in its part
        given_words = f"sizes that leave a part with none ({why})"
        raise InputError(
            Problem(f"{file.where}, measured", given_words, "sizes of a real thing", "Measure them again.")
        ) from None
    lines = tuple(unit.line for unit in made)
    one = replace(batch, hives=(hives,), lines=lines)
    return MeasuredUnit(one, made, place_of(hives), tuple((item_of(size), size, length) for size, length in given))


def _group_named(file: UnitFile, groups: dict[str, dict[str, Unit]]) -> str:
    """The group that the file is of: by name, or the only one there is."""
    names = ", ".join(repr(name) for name in groups)
    if not groups:
        given, wanted, do = "a design that puts nothing on hives", "boards, strips or quilts", "Name another design."
    elif file.hives is None and len(groups) > 1:
        given, wanted, do = "no name", f"one of {names}", 'Add a line such as hives = "' + next(iter(groups)) + '".'
    elif file.hives is not None and file.hives not in groups:
        given, wanted, do = repr(file.hives), f"one of {names}", "Write the name as it stands in the design."
    else:
        return next(iter(groups)) if file.hives is None else file.hives
    raise InputError(Problem(f"{file.where}, hives", given, wanted, do))


def _as_measured(hives: Hives, given: tuple[tuple[Dimension, Length], ...]) -> Hives:
    """The group as that one hive; a gap measured over its top bars is the only one."""
    measured = tuple((size.name, length) for size, length in given)
    top = dict(measured).get(f"{GAP_OVER}, box {len(hives.woodenware.boxes)}")
    if top is not None:
        hives = replace(hives, gaps=(top,), is_gap_measured=True)
    return replace(hives, measured=measured)


def _unit(unit: Unit, hives: Hives, given: tuple[tuple[Dimension, Length], ...]) -> Unit:
    """The thing with its faces where they were measured; in a hive it is put together from the one designed."""
    place = unit.line.item.place
    moves = [(move, length - size.nominal) for size, length in given for of, move in size.moves if of == place]
    return Unit(replace(unit.line, hives=hives), warped(unit.assembly, moves), unit.assembly)
