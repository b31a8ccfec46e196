"""The weights of made parts: estimates from a density for each material."""

from collections.abc import Iterable
from fractions import Fraction
from math import pi

from woodshop.reference.facts import Fact, fact
from woodshop.reference.materials import Mesh
from woodshop.shape.part import Placed, part_volume
from woodshop.units.lengths import Area, Density, Length, Mass

_MOISTURE = Fraction(12, 100)  # moisture of the wood for which the table gives the specific gravity


def density_rows() -> tuple[Fact, ...]:
    """The facts with the densities that are used for weights."""
    return fact("wood.weight_eastern_white_pine"), fact("season.plywood"), fact("season.steel")


def weight_of(parts: Iterable[Placed]) -> tuple[Mass, tuple[str, ...]]:
    """The approximate weight of made parts, and the materials omitted because their density is unknown.

    Wood is assumed to have 12% moisture. The weight of mesh is calculated from its two sets of wires. Screws, staples,
    glue and paint are not included.
    """
    total, unknown = Mass(Fraction(0)), []
    for each in parts:
        mass = _weight(each)
        if mass is None:
            unknown.append(each.part.material.name)
        else:
            total = total + mass
    return total, tuple(dict.fromkeys(unknown))


def _weight(placed: Placed) -> Mass | None:
    material = placed.part.material
    if material.mesh is not None:
        return _wires(placed.part.length * placed.part.width, material.mesh)
    if not material.kind.weight:
        return None
    row = fact(material.kind.weight)
    density = Density(row.number * (1 + _MOISTURE)) if material.is_sawn else row.density
    return density.mass_of(part_volume(placed))


def _wires(area: Area, woven: Mesh) -> Mass:
    """The mass of two crossed sets of round wires, one wire per pitch, over an area."""
    section = Fraction(pi).limit_denominator(10_000) / 4 * woven.wire.mm**2
    thick = Length(2 * section / woven.pitch.mm)
    return fact("season.steel").density.mass_of(area * thick)
