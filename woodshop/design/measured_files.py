"""Reads owners' measurements: the measured-box file, and the unit file of one hive's hardware."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from woodshop.design.schema import (
    AnyLength,
    BoxHeight,
    BoxLength,
    BoxWall,
    BoxWidth,
    Gap,
    SettingTable,
    Words,
    design_key,
    load,
    outside,
    validate,
)
from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.hardware.board import LIMITS
from woodshop.hive.variation.sizes import HiveSize, Work
from woodshop.units.lengths import ZERO, Length
from woodshop.units.wording import LengthUnit, Wording

LEAST_HIVES = 3


class HiveRow(SettingTable):
    """The [[box.hive]] table."""

    length: BoxLength = design_key("Outside length of this box.", ..., example='"19 7/8"')
    width: BoxWidth = design_key("Outside width of this box.", ..., example='"16 1/4"')
    wall: BoxWall | None = design_key("Thickness of its walls.", otherwise="that of the pattern", example='"3/4"')
    height: BoxHeight | None = design_key("Height of this box.", otherwise="that of the pattern", example='"9 5/8"')
    gap: Gap = design_key("From its top edge down to the top bars.", ..., example='"1/4"')


class BoxTable(SettingTable):
    """The [[box]] table."""

    name: Words = design_key("Its name, as box = in a design.", ..., example='"old tens"', min_length=1, max_length=60)
    frames: Annotated[int, Field(ge=1, le=20)] = design_key("Frames that it holds.", ..., example="10")
    hive: tuple[HiveRow, ...] = design_key("The sizes of one box. Measure three or more.", ..., min_length=1)


class MeasuredTable(SettingTable):
    """The tables of a measured-box file."""

    format: str = design_key("Format of this file. Always the first line.", ..., example='"woodshop-measured/1"')
    owner: Words = design_key("Whose boxes these are.", ..., example='"Ada Marsh"', min_length=1, max_length=100)
    unit: Literal["in", "mm"] = design_key("Unit of lengths without a unit of their own.", "in")
    box: tuple[BoxTable, ...] = design_key("A kind of box.", ..., min_length=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredBox:
    """A kind of box as measured by its owner: averages, the range of the outside sizes, and every gap."""

    owner: str
    name: str
    frames: int
    hives: int
    length: Length
    width: Length
    wall: Length | None
    height: Length | None
    spread: Length
    gaps: tuple[Length, ...]


def read_measured(path: Path) -> dict[str, MeasuredBox]:
    """Reads the measured boxes, keyed by name. Raises InputError with every problem in the file."""
    raw = load(path, "measured")
    unit = raw.get("unit", "in")
    table = validate(MeasuredTable, raw, path.name, unit if unit in ("in", "mm") else "in")
    found: list[Problem] = []
    boxes: dict[str, MeasuredBox] = {}
    for n, box in enumerate(table.box, 1):
        place = f"{path.name}, box number {n}"
        if box.name in boxes:
            found.append(Problem(f"{place}, name", repr(box.name), "each name once", "Choose another name."))
        if len(box.hive) < LEAST_HIVES:
            found.append(
                Problem(
                    f"{place}, hive",
                    f"{len(box.hive)} measured",
                    f"at least {LEAST_HIVES} hives: one box says little about the rest",
                    "Measure more.",
                )
            )
        boxes[box.name] = _averaged(table.owner, box)
    if found:
        raise InputError(*found)
    return boxes


def _averaged(owner: str, box: BoxTable) -> MeasuredBox:
    lengths, widths = [hive.length for hive in box.hive], [hive.width for hive in box.hive]
    walls = [hive.wall for hive in box.hive if hive.wall is not None]
    heights = [hive.height for hive in box.hive if hive.height is not None]
    spread = max(max(lengths) - min(lengths), max(widths) - min(widths))
    return MeasuredBox(
        owner=owner,
        name=box.name,
        frames=box.frames,
        hives=len(box.hive),
        length=average(lengths),
        width=average(widths),
        wall=average(walls) if walls else None,
        height=average(heights) if heights else None,
        spread=spread,
        gaps=tuple(hive.gap for hive in box.hive),
    )


def average(lengths: list[Length]) -> Length:
    """The exact mean of some lengths.

    >>> from woodshop.units.lengths import inch
    >>> print(average([inch("16 1/4"), inch("16 3/16"), inch("16 5/16")]))
    16 1/4 in
    """
    return Length(sum((length.mm for length in lengths), Fraction(0)) / len(lengths))


_TIMES = 2


class UnitTable(SettingTable):
    """The tables of a unit file."""

    format: str = design_key("Format of this file. Always the first line.", ..., example='"woodshop-unit/1"')
    hives: Words | None = design_key("Name of the hives whose unit was measured.", example='"home yard"')
    unit: Literal["in", "mm"] | None = design_key("Unit of the lengths.", otherwise="that of the design")
    measured: dict[str, dict[str, AnyLength]] = design_key(
        "The measured sizes: a table for each item, with the name of each size.", ...
    )


@dataclass(frozen=True, slots=True)
class UnitFile:
    """A measured unit: its hives, and its sizes, keyed by item and name. `where` is the name of the file."""

    where: str
    hives: str | None
    measured: Mapping[str, Mapping[str, Length]]


def read_unit_file(path: Path, unit: LengthUnit) -> UnitFile:
    """Reads a unit file as checked values. Lengths given without a unit are in `unit`.

    Raises InputError with every problem in the file.
    """
    raw = load(path, "unit")
    given = raw.get("unit", unit)
    table = validate(UnitTable, raw, path.name, given if given in ("in", "mm") else unit)
    if not any(table.measured.values()):
        raise InputError(
            Problem(
                f"{path.name}, measured",
                "no size",
                "one size measured, or more",
                "Remove the # from the lines of the sizes that you measured.",
            )
        )
    return UnitFile(path.name, table.hives, table.measured)


def sizes_given(
    file: UnitFile, known: Mapping[str, Mapping[str, HiveSize]], wording: Wording
) -> tuple[tuple[HiveSize, Length], ...]:
    """Each measured size. `known` holds the sizes of that hive, keyed by item and name.

    Raises InputError for an unknown name or an impossible length.
    """
    found: list[tuple[HiveSize, Length]] = []
    problems: list[Problem] = []
    for item, sizes in file.measured.items():
        place = f"{file.where}, measured, {item}"
        if item not in known:
            problems.append(Problem(place, repr(item), "an item of these hives", _nearest_size(item, known)))
            continue
        for name, length in sizes.items():
            size = known[item].get(name)
            if size is None:
                problems.append(Problem(place, f"the size {name!r}", "a size by its name", _named(name, item, known)))
            elif wanted := _no_sense(size, length, wording):
                given = wording.length(length)
                problems.append(Problem(f"{place}, {name}", given, wanted, "Measure it again, and correct it here."))
            else:
                found.append((size, length))
    if problems:
        raise InputError(*problems)
    return tuple(found)


def _no_sense(size: HiveSize, length: Length, wording: Wording) -> str:
    """The plausible range for a size, if `length` is outside it; otherwise ""."""
    if size.work is Work.GAP:
        gap = LIMITS["gap"]
        return outside(length, gap.what, gap.least, gap.most, wording.unit)
    if ZERO < length <= size.nominal * _TIMES:
        return ""
    return f"more than 0, and at most twice the design size of {wording.length(size.nominal)}"


def _named(name: str, item: str, known: Mapping[str, Mapping[str, HiveSize]]) -> str:
    for other, sizes in known.items():
        if name in sizes:
            return f'It is a size of {other!r}: write it under [measured."{other}"].'
    return _nearest_size(name, known[item])


def _nearest_size(name: str, known: Iterable[str]) -> str:
    names = list(known)
    return did_you_mean(name, names, f"Known here: {'; '.join(names)}.")
