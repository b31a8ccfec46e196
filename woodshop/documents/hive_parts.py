"""Every part of each assembled hive, for a picture that can be turned: its solid, name, letter, size and drawing."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from woodshop.design.batch import Batch, Unit
from woodshop.design.make_units import stacks_of, units_by_hives
from woodshop.drawing.values.model import Block, Figure, KeyValues, Section
from woodshop.drawing.views.part import part_drawing
from woodshop.errors import NothingToCutError
from woodshop.hive.stacking.stack import Stack
from woodshop.plan.parts_needed import parts_needed
from woodshop.shape.part import Part, Placed, Role
from woodshop.shape.scene import pieces_of
from woodshop.units.wording import LengthUnit, wording_of

ROLES = {
    Role.MADE: "to make",
    Role.BOUGHT: "to buy",
    Role.FILLING: "filling",
    Role.EXISTING: "you have it",
}
MESH = 0.6  # how much a sheet of mesh hides of what is behind it


@dataclass(frozen=True, slots=True)
class SolidBlock:
    """An upright block in a picture: its middle and its extents along x, y and z, in millimeters."""

    middle: tuple[float, float, float]
    size: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class HivePart:
    """All like parts of one tier of a hive. `mark` is the letter on the pieces, or "" if they are not cut here.

    `tier` is the number of the tier from the bottom, and `blocks` are the solid blocks of each piece.
    """

    part: Part
    mark: str
    tier: int
    tier_name: str
    role: Role
    blocks: tuple[tuple[SolidBlock, ...], ...]

    @property
    def count(self) -> int:
        """The number of like pieces in this tier of one hive."""
        return len(self.blocks)

    @property
    def name(self) -> str:
        """The letter, name and count of the part, in one line."""
        letter = f"{self.mark}: " if self.mark else ""
        times = f", {self.count} pieces" if self.count > 1 else ""
        return f"{letter}{self.part.name}{times}"


@dataclass(frozen=True, slots=True)
class HiveParts:
    """The parts of one assembled hive, from bottom to top, and the names of its tiers."""

    name: str
    group: str
    tiers: tuple[str, ...]
    parts: tuple[HivePart, ...]

    @property
    def low(self) -> tuple[float, float, float]:
        """The least x, y and z of all parts, in millimeters."""
        return self._end(-0.5, min)

    @property
    def high(self) -> tuple[float, float, float]:
        """The greatest x, y and z of all parts, in millimeters."""
        return self._end(0.5, max)

    def _end(self, half: float, pick: Callable[[Iterable[float]], float]) -> tuple[float, float, float]:
        every = [block for part in self.parts for piece in part.blocks for block in piece]
        x, y, z = (pick(each.middle[i] + half * each.size[i] for each in every) for i in range(3))
        return x, y, z


def hive_parts(batch: Batch, units: tuple[Unit, ...]) -> tuple[HiveParts, ...]:
    """The parts of every kind of hive of a batch, each at its mean gap over the top bars.

    Letters are those of the packet; there are none if a material cannot be had. Raises InputError for parts that cannot
    be assembled.
    """
    marks = _marks(batch, units)
    return tuple(
        _parts_of(stack, name, marks) for name, group in units_by_hives(units).items() for stack in stacks_of(group)
    )


def _marks(batch: Batch, units: tuple[Unit, ...]) -> dict[Part, str]:
    try:
        jobs = parts_needed(batch, units)
    except NothingToCutError:
        return {}
    return {need.part: need.mark for job in jobs for need in job.needs}


def _parts_of(stack: Stack, group: str, marks: dict[Part, str]) -> HiveParts:
    found: dict[tuple[int, Part, Role], list[Placed]] = {}
    for n, tier in enumerate(stack.tiers):
        for placed in tier.placed:
            found.setdefault((n, placed.part, placed.role), []).append(placed)
    parts = tuple(
        HivePart(
            part,
            marks.get(part, "") if role is Role.MADE else "",
            n,
            stack.tiers[n].name,
            role,
            tuple(_blocks(each) for each in every),
        )
        for (n, part, role), every in found.items()
    )
    return HiveParts(stack.name, group, tuple(tier.name for tier in stack.tiers), parts)


def _blocks(placed: Placed) -> tuple[SolidBlock, ...]:
    found = []
    for box in pieces_of(placed):
        low, high = ([float(m.mm) for m in end] for end in (box.low, box.high))
        x, y, z = ((a + b) / 2 for a, b in zip(low, high, strict=True))
        wide, deep, tall = (b - a for a, b in zip(low, high, strict=True))
        found.append(SolidBlock((x, y, z), (wide, deep, tall)))
    return tuple(found)


def part_section(part: HivePart, unit: LengthUnit) -> Section:
    """One part of a hive: where it is, its size and material, and its drawing with every cut; lengths are in `unit`."""
    sizes = " x ".join(size.number(unit) for size in part.part.size)
    pairs = [
        *([("Letter", part.mark)] if part.mark else []),
        ("Part of", part.tier_name),
        ("Pieces in a hive", str(part.count)),
        ("Size", f"{sizes} {unit}"),
        ("Material", part.part.material.name),
        ("In this batch", ROLES[part.role]),
    ]
    drawing = part_drawing(
        part.part,
        address=part.tier_name,
        count=part.count,
        wording=wording_of(unit),
        grain=part.part.material.is_lumber,
    )
    blocks: Sequence[Block] = [KeyValues(tuple(pairs)), Figure(drawing)]
    return Section(part.name, tuple(blocks))
