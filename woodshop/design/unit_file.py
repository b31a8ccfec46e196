"""The unit file: what was measured of one hive's hardware, made and put on the bench."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Literal

from woodshop.design.schema import AnyLength, Table, Words, load, outside, validate
from woodshop.errors import InputError, Problem
from woodshop.hardware.board import LIMITS
from woodshop.hive.variation.sizes import Dimension, Work
from woodshop.units.lengths import ZERO, Length
from woodshop.units.wording import LengthUnit

_TIMES = 2


class UnitTable(Table):
    """A unit file."""

    format: str
    hives: Words | None = None
    unit: Literal["in", "mm"] | None = None
    measured: dict[str, dict[str, AnyLength]]


@dataclass(frozen=True, slots=True)
class UnitFile:
    """What was measured: of which hives, and the sizes by item and name. `where` is the file's name."""

    where: str
    hives: str | None
    measured: Mapping[str, Mapping[str, Length]]


def read_unit_file(path: Path, unit: LengthUnit) -> UnitFile:
    """The file as checked values; `unit` is the design's, meant where neither file nor length names one.

    Raises InputError with every problem in it.
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
                "Take the # off the lines of the sizes that you measured.",
            )
        )
    return UnitFile(path.name, table.hives, table.measured)


def sizes_given(file: UnitFile, known: Mapping[str, Mapping[str, Dimension]]) -> tuple[tuple[Dimension, Length], ...]:
    """Each size measured, with what it is; `known` are the sizes of that hive by item and name.

    Raises InputError for a name that is none of them, and for a length that no such size can have.
    """
    found: list[tuple[Dimension, Length]] = []
    problems: list[Problem] = []
    for item, sizes in file.measured.items():
        place = f"{file.where}, measured, {item}"
        if item not in known:
            problems.append(Problem(place, repr(item), "something of these hives", _near(item, known)))
            continue
        for name, length in sizes.items():
            size = known[item].get(name)
            if size is None:
                problems.append(Problem(place, f"the size {name!r}", "a size by its name", _named(name, item, known)))
            elif wanted := _no_sense(size, length):
                problems.append(Problem(f"{place}, {name}", str(length), wanted, "Measure it again, and mend it here."))
            else:
                found.append((size, length))
    if problems:
        raise InputError(*problems)
    return tuple(found)


def _no_sense(size: Dimension, length: Length) -> str:
    """What would be a length of that size, where this is none; "" where it is."""
    if size.work is Work.GAP:
        gap = LIMITS["gap"]
        return outside(length, gap.what, gap.least, gap.most)
    if ZERO < length <= size.nominal * _TIMES:
        return ""
    return f"more than nothing, and at most twice the {size.nominal} that it is meant to be"


def _named(name: str, item: str, known: Mapping[str, Mapping[str, Dimension]]) -> str:
    for other, sizes in known.items():
        if name in sizes:
            return f'It is a size of {other!r}: write it under [measured."{other}"].'
    return _near(name, known[item])


def _near(name: str, known: Iterable[str]) -> str:
    names = list(known)
    near = get_close_matches(name, names, n=1)
    return f"Did you mean {near[0]!r}?" if near else f"Known here: {'; '.join(names)}."
