"""The [trial] table of a design file: damp sugar packed into a box of known size and weighed.

With it density and water are the user's own: the height of the rim, what the mesh carries and the mix follow.
"""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated

from pydantic import Field

from woodshop.design.schema import Percent, Size, SomeMass, Table, design_key, outside
from woodshop.engineering.sugar import Calibration, Packing, calibrate, recipe_water
from woodshop.errors import InputError, Problem
from woodshop.hardware.board import LIMITS
from woodshop.reference.facts import Fact, fact
from woodshop.units.lengths import Length, Mass, decimals

List = Callable[[str, str, str, str], None]
"""Lists a value that was not given: where, name, value, source."""

_WATER_LEAST, _WATER_MOST = Fraction(3, 100), Fraction(20, 100)


class TrialTable(Table):
    """[trial]: `mass` is net, damp as packed, once for each time the box was packed; `box` is measured inside.

    `water` alone is the user's own mix, at the density of the table.
    """

    mass: SomeMass | Annotated[tuple[SomeMass, ...], Field(min_length=1, max_length=50)] | None = design_key(
        "Weight of the sugar that filled the box, struck off level, damp as packed, without the box: the water "
        "is subtracted. Several in a list, one for each packing.",
        otherwise="the density under [board]",
        example='"..."',
    )
    box: tuple[Size, ...] | None = design_key(
        "Inside of that box: length, width, depth.", otherwise="none", example='["...", "...", "..."]'
    )
    water: Percent | None = design_key(
        "Water in that mix, by weight of the dry sugar, in percent; boards are mixed so too.",
        otherwise="the recipe's",
        example='"..."',
    )
    mass_within: SomeMass | None = design_key("How well the scale weighs, either way.", row="trial.mass_within")
    length_within: Size | None = design_key("How well the box was measured, either way.", row="trial.length_within")


@dataclass(frozen=True, slots=True)
class Trial:
    """The settled table: the density found, None where none was weighed; water over dry sugar of the mix, by mass."""

    found: Calibration | None
    water: Fraction


def density_words(found: Calibration) -> str:
    """A density and its doubt."""
    off = decimals(found.most.kg_per_litre - found.density.kg_per_litre, 2)
    return f"{found.density}, give or take {off}"


def trial_faults(table: TrialTable, has_density: bool, where: str) -> list[Problem]:
    """What it lacks, what contradicts the rest of the design, and a mix that no recipe comes near."""
    found = []
    if (table.mass is None) is not (table.box is None):
        lacking = "box" if table.box is None else "mass"
        do = "Add the line: what was weighed, and the inside of the box it filled."
        found.append(Problem(f"{where}, trial, {lacking}", "nothing", "mass and box, both", do))
    elif table.box is not None and len(table.box) != 3:
        given = f"{len(table.box)} sizes"
        found.append(Problem(f"{where}, trial, box", given, "three: length, width, depth inside", "Measure it again."))
    if has_density and table.mass is not None:
        do = "Remove density: the trial gives it."
        found.append(Problem(f"{where}, density", "a density and a [trial]", "one of the two", do))
    if table.water is not None and not _WATER_LEAST <= table.water <= _WATER_MOST:
        low, high = fact("mix.water_share.sagadahoc"), fact("mix.water_share.block")
        given = f"{decimals(table.water * 100, 2)} %"
        wanted = f"3 to 20 % of the dry sugar's weight; published mixes have {low.value} to {high.value}"
        found.append(Problem(f"{where}, trial, water", given, wanted, "Weigh the water too; wetter, it slumps."))
    return found


def settled_trial(table: TrialTable, listed: List) -> Trial | None:
    """The trial worked out; what it was not told, and what comes of it, is listed. Raises InputError for no density."""
    if table.mass is None or table.box is None:
        return None if table.water is None else Trial(None, table.water)
    water = table.water
    if water is None:
        water = recipe_water()
        listed("trial", "water", f"{decimals(water * 100, 1)} %", fact("mix.water").cite)
    mass_within: Mass = table.mass_within or _good_to("mass_within", listed).mass
    length_within: Length = table.length_within or _good_to("length_within", listed).length
    masses = table.mass if isinstance(table.mass, tuple) else (table.mass,)
    long, wide, deep = table.box
    found = calibrate([Packing(mass, long, wide, deep, water) for mass in masses], mass_within, length_within)
    limits = LIMITS["density"]
    wanted = outside(found.density, limits.what, limits.least, limits.most)
    if wanted:
        do = "Weigh the sugar without its box, and measure the box inside."
        raise InputError(Problem("design, trial", f"a density of {found.density}", wanted, do))
    times = f"{len(masses)} trials" if len(masses) > 1 else "your trial"
    source = f"worked out from {times}; the rim is made for the loosest, {found.least}"
    listed("board", "density", density_words(found), source)
    return Trial(found, water)


def _good_to(name: str, listed: List) -> Fact:
    row = fact(f"trial.{name}")
    listed("trial", name, row.value, row.cite)
    return row
