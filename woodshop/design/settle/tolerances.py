"""How far sizes stray and how damp the wood is, settled: each value left out is listed, with its source."""

from woodshop.design.batch import Default
from woodshop.design.settings.tolerances import (
    KEYS,
    Damp,
    Moisture,
    MoistureTable,
    Tolerances,
    ToleranceTables,
    damp,
    plain,
)
from woodshop.engineering.wood import species
from woodshop.reference.facts import fact


def settled_tolerances(tables: ToleranceTables, defaults: list[Default]) -> Tolerances:
    """Every value decided; those left out are listed. The tables have been looked at by `stray_faults`."""
    reach = []
    for key, work in KEYS.items():
        given = getattr(tables.tolerance, key)
        row = fact(f"tolerance.{key}")
        if given is None:
            defaults.append(Default("tolerance", key, f"{row.value} either way", row.cite))
        reach.append((work, row.length if given is None else given))
    return Tolerances(tuple(reach), fact("tolerance.gap_not_measured").length, _moisture(tables.moisture, defaults))


def _moisture(table: MoistureTable, defaults: list[Default]) -> Moisture:
    row = fact("moisture.species")
    wood = row.value if table.species is None else plain(table.species)
    if table.species is None:
        defaults.append(Default("moisture", "species", species(wood).name, row.cite))
    boxes = wood if table.boxes_species is None else plain(table.boxes_species)
    if table.boxes_species is None:
        defaults.append(Default("moisture", "boxes_species", species(boxes).name, "as what is made"))
    found: dict[str, Damp] = {}
    for key in ("shop", "winter", "summer"):
        given, row = getattr(table, key), fact(f"moisture.{key}")
        found[key] = damp(row.value if given is None else given, key)
        if given is None:
            defaults.append(Default("moisture", key, found[key].words, row.cite))
    middle = (found["winter"].percent + found["summer"].percent) / 2
    measured = Damp(f"{middle:.1f} %", middle) if table.measured is None else damp(table.measured, "measured")
    if table.measured is None:
        defaults.append(Default("moisture", "measured", measured.words, "midway between summer and winter"))
    return Moisture(wood, boxes, found["shop"], measured=measured, winter=found["winter"], summer=found["summer"])
