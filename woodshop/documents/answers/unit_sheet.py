"""A unit that was measured, told; and the unit file to fill in, with every size that can be measured."""

from collections.abc import Iterable, Iterator
from typing import Any

from woodshop.checks.measured.measured_unit import MeasuredUnit, groups_of, sizes_of
from woodshop.design.batch import Unit

_HEAD = ("size", "designed", "measured", "off")


def unit_lines(one: MeasuredUnit) -> Iterator[str]:
    """What is printed of the unit: whose it is, and every size measured beside the one designed."""
    unit = one.batch.unit
    yield f"One unit measured: {one.place}; what was not measured is taken as designed"
    rows = [_HEAD]
    for _, size, length in one.sizes:
        off = length - size.nominal
        sign = "+" if off.mm > 0 else ""
        rows.append((size.name, size.nominal.text(unit), length.text(unit), f"{sign}{off.text(unit)}" if off else "0"))
    widths = [max(len(row[n]) for row in rows) for n in range(len(_HEAD))]
    for row in rows:
        yield ("  " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True))).rstrip()


def unit_told(one: MeasuredUnit) -> dict[str, Any]:
    """The same as plain values; lengths as exact text in the design's unit."""
    unit = one.batch.unit
    return {
        "hives": one.place,
        "unit": unit,
        "sizes": [
            {
                "item": item,
                "name": size.name,
                "designed": size.nominal.number(unit),
                "measured": length.number(unit),
                "off": (length - size.nominal).number(unit),
            }
            for item, size, length in one.sizes
        ],
    }


def blank_file(units: Iterable[Unit], unit: str) -> str:
    """A unit file with every size of every group of hives, each in a comment with the size designed."""
    lines = [
        "# Sizes measured of one hive's hardware. Take the # off a line that you measured, and write what it is.",
        "# What stays behind a # is taken as designed. Keep one group of hives.",
        'format = "woodshop-unit/1"',
        f'unit = "{unit}"',
    ]
    for n, (name, group) in enumerate(groups_of(units).items()):
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
