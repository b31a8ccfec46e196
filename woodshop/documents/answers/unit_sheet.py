"""A unit that was measured; and the unit file to fill in, with every size that can be measured."""

from collections.abc import Iterable

from woodshop.checks.first_article import MeasuredUnit, sizes_of
from woodshop.design.batch import Unit
from woodshop.design.make_units import units_by_hives
from woodshop.drawing.values.model import Column, Section, Table
from woodshop.units.lengths import ZERO, Length


def unit_section(one: MeasuredUnit) -> Section:
    """Whose unit it is, and every size measured beside the one designed; lengths of the data in the design's unit."""
    unit = one.batch.unit
    columns = tuple(Column(head) for head in ("size", "designed", "measured", "off"))
    rows = tuple(
        (size.name, size.nominal.text(unit), length.text(unit), _off(length - size.nominal, unit))
        for _, size, length in one.sizes
    )
    sizes = [
        {
            "item": item,
            "name": size.name,
            "designed": size.nominal.number(unit),
            "measured": length.number(unit),
            "off": (length - size.nominal).number(unit),
        }
        for item, size, length in one.sizes
    ]
    return Section(
        f"One unit measured: {one.place}; what was not measured is taken as designed",
        (Table(columns, rows),),
        {"measured": {"hives": one.place, "unit": unit, "sizes": sizes}},
    )


def _off(off: Length, unit: str) -> str:
    return f"{'+' if off > ZERO else ''}{off.text(unit)}" if off else "0"


def blank_file(units: Iterable[Unit], unit: str) -> str:
    """A unit file with every size of every group of hives, each in a comment with the size designed."""
    lines = [
        "# Sizes measured of one hive's hardware. Take the # off a line that you measured, and write what it is.",
        "# What stays behind a # is taken as designed. Keep one group of hives.",
        'format = "woodshop-unit/1"',
        f'unit = "{unit}"',
    ]
    for n, (name, group) in enumerate(units_by_hives(units).items()):
        mark = "# " if n else ""
        if n:
            lines += ["", f"# ---- instead, for {name} ----"]
        if name:
            lines.append(f'{mark}hives = "{_quoted(name)}"')
        for item, sizes in sizes_of(group).items():
            lines += ["", f'{mark}[measured."{item}"]']
            lines += [f'# "{_quoted(size.name)}" = "{size.nominal.number(unit)}"' for size in sizes.values()]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    return text.replace("\\", "\\\\").replace('"', '\\"')
