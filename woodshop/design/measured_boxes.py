"""The measured file: an owner's own boxes, three hives of each kind or more, measured with a tape."""

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from woodshop.design.schema import BoxHeight, BoxLength, BoxWall, BoxWidth, Gap, SettingTable, Words, load, validate
from woodshop.errors import InputError, Problem
from woodshop.units.lengths import Length

LEAST_HIVES = 3


class HiveRow(SettingTable):
    """[[box.hive]]"""

    length: BoxLength
    width: BoxWidth
    wall: BoxWall | None = None
    height: BoxHeight | None = None
    gap: Gap


class BoxTable(SettingTable):
    """[[box]]"""

    name: Words = Field(min_length=1, max_length=60)
    frames: Annotated[int, Field(ge=1, le=20)]
    hive: tuple[HiveRow, ...] = Field(min_length=1)


class MeasuredTable(SettingTable):
    """A measured file."""

    format: str
    owner: Words = Field(min_length=1, max_length=100)
    unit: Literal["in", "mm"] = "in"
    box: tuple[BoxTable, ...] = Field(min_length=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredBox:
    """A kind of box as its owner measured it: averages, the spread of the outside sizes, every gap."""

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
    """The measured boxes by name. Raises InputError with every problem in the file."""
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
    """The exact mean.

    >>> from woodshop.units.lengths import inch
    >>> print(average([inch("16 1/4"), inch("16 3/16"), inch("16 5/16")]))
    16 1/4 in
    """
    return Length(sum((length.mm for length in lengths), Fraction(0)) / len(lengths))
