"""The [climate] and [trial] tables of a design file: outside temperatures, and a weighed box of damp sugar.

Without outside temperatures there is no cold-weather estimate, because there is no usual figure. With a trial, density
and water are the user's own, and they determine the rim height, the load on the mesh and the mix.
"""

import re
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field
from pydantic_core import PydanticCustomError

from woodshop.design.schema import Default, Percent, SettingTable, Size, SomeMass, ValueKind, design_key, outside
from woodshop.design.settings.tolerances import Tolerances, ToleranceTables
from woodshop.engineering.moist_air import COLDEST
from woodshop.engineering.sugar import Calibration, Packing, calibrate, recipe_water
from woodshop.errors import InputError, Problem
from woodshop.hardware.board import LIMITS
from woodshop.reference.facts import Fact, fact
from woodshop.reference.limits import DEFAULT_BAND
from woodshop.units.lengths import Length, Mass, decimals, exact
from woodshop.units.wording import LengthUnit

MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
          "December")  # fmt: skip
Foam = Literal["eps_xi", "eps_i", "eps_viii", "eps_ii", "eps_ix", "xps"]
_FOAM: Foam = "xps"
_HOTTEST = 45.0
_DEGREES = re.compile(r"(-?[0-9]+(?:\.[0-9]+)?) *°? *([CF])")


@dataclass(frozen=True, slots=True)
class Temperature:
    """A temperature as given, and in °C."""

    given: str
    celsius: float


def _temperature(value: Any) -> Any:
    if isinstance(value, Temperature):
        return value
    found = _DEGREES.fullmatch(value.strip()) if isinstance(value, str) else None
    if found is None:
        wanted = {
            "wanted": 'a temperature with its unit, such as "21 F" or "-6 C"',
            "do": "Write number and unit, in quotes.",
        }
        raise PydanticCustomError("woodshop", "{wanted}", wanted)
    degrees = float(exact(found[1]))
    return Temperature(f"{found[1]} °{found[2]}", degrees if found[2] == "C" else (degrees - 32) / 1.8)


ATemperature = Annotated[Temperature, BeforeValidator(_temperature), ValueKind("a temperature with its unit")]


class ClimateTable(SettingTable):
    """The [climate] table. `outside` and `honey` are one figure, or one figure for each month from January."""

    outside: ATemperature | tuple[ATemperature, ...] | None = design_key(
        "Outside temperature with its unit: one, or a list of twelve monthly means from January.",
        otherwise="no cold-weather page",
        example='"..."',
    )
    hive_air: ATemperature | None = design_key(
        "Temperature of the air over the bees.", example='"..."', row="heat.hive_air"
    )
    humidity: Percent | None = design_key("Its relative humidity.", example='"..."', row="heat.hive_humidity")
    honey: SomeMass | tuple[SomeMass, ...] | None = design_key(
        "Honey a colony eats in a month: one figure, or twelve from January.", example='"..."', row="heat.honey_a_month"
    )
    foam: Size | None = design_key("Thickness of foam under the top of the cover.", otherwise="none", example='"..."')
    foam_kind: Foam | None = design_key(
        "Which: xps, or expanded polystyrene of a type of ASTM C578, from light to dense eps_xi, eps_i, "
        "eps_viii, eps_ii, eps_ix.",
        usual='"xps"',
    )


@dataclass(frozen=True, slots=True)
class Cold:
    """One month, or "the cold" if months are not given: its outside temperature, and the honey eaten in it."""

    month: str
    outside: Temperature
    honey: Mass


@dataclass(frozen=True, slots=True)
class Climate:
    """The settled table. `foam` is the foam under the top of the cover, or None. Humidity is a fraction of 1."""

    cold: tuple[Cold, ...]
    hive_air: Temperature
    humidity: float
    foam: Length | None = None
    foam_kind: str = _FOAM

    @property
    def coldest(self) -> Cold:
        """The coldest month."""
        return min(self.cold, key=lambda each: each.outside.celsius)


def climate_faults(table: ClimateTable, where: str) -> list[Problem]:
    """Problems in the table."""
    found = []
    given = _each(table.outside)
    for name, values in (("outside", given), ("honey", _each(table.honey))):
        if len(values) not in (0, 1, 12):
            wanted = "one figure, or twelve from January to December"
            found.append(Problem(f"{where}, climate, {name}", f"{len(values)} values", wanted, "Give them all."))
    for name, values in (("outside", given), ("hive_air", _each(table.hive_air))):
        for each in values:
            if not COLDEST <= each.celsius <= _HOTTEST:
                wanted = f"{COLDEST:g} to {_HOTTEST:g} °C (-40 to 113 °F)"
                found.append(Problem(f"{where}, climate, {name}", each.given, wanted, "Give the month's mean."))
    if table.humidity is not None and not 0.2 <= table.humidity <= 1:
        shown = f"{float(table.humidity * 100):g} %"
        found.append(
            Problem(f"{where}, climate, humidity", shown, "20 to 100 %", "Give the humidity of the air over the bees.")
        )
    if table.outside is None and any(
        getattr(table, key) is not None for key in ("hive_air", "humidity", "honey", "foam")
    ):
        wanted = "outside temperatures, which the rest depends on"
        do = 'Add outside, such as "21 F" or "-6 C", or twelve from January.'
        found.append(Problem(f"{where}, climate, outside", "nothing", wanted, do))
    return found


def settled_climate(table: ClimateTable, unit: LengthUnit, defaults: list[Default]) -> Climate | None:
    """The settled climate, with its assumptions listed, or None without an outside temperature."""
    outside = _each(table.outside)
    if not outside:
        return None
    air, humidity, honey = table.hive_air, table.humidity, _each(table.honey)
    if air is None:
        row = fact("heat.hive_air")
        celsius = float(row.measure("°C"))
        air = Temperature(row.value if unit == "mm" else f"{celsius * 1.8 + 32:g} °F", celsius)
        defaults.append(Default("climate", "hive_air", air.given, row.cite))
    if humidity is None:
        row = fact("heat.hive_humidity")
        humidity = row.number
        defaults.append(Default("climate", "humidity", row.value, row.cite))
    if not honey:
        row = fact("heat.honey_a_month")
        honey = (row.mass,)
        defaults.append(Default("climate", "honey", f"{row.value} a month", row.cite))
    if table.foam is not None and table.foam_kind is None:
        defaults.append(Default("climate", "foam_kind", _FOAM, "common practice, no source"))
    names = MONTHS if len(outside) == 12 or len(honey) == 12 else ("the cold",)
    cold = tuple(Cold(name, outside[n % len(outside)], honey[n % len(honey)]) for n, name in enumerate(names))
    return Climate(cold, air, float(humidity), table.foam, table.foam_kind or _FOAM)


def _each(value: Any) -> tuple[Any, ...]:
    return () if value is None else value if isinstance(value, tuple) else (value,)


_WATER_LEAST, _WATER_MOST = Fraction(3, 100), Fraction(20, 100)


class TrialTable(SettingTable):
    """The [trial] table. `mass` lists the net mass of damp sugar in each packing; `box` is the inside size of the box.

    If only `water` is given, it is the user's own mix, at the default density.
    """

    mass: SomeMass | Annotated[tuple[SomeMass, ...], Field(min_length=1, max_length=50)] | None = design_key(
        "Weight of the damp sugar that fills the box level, without the box. The water is subtracted. Several in a "
        "list, one for each packing.",
        otherwise="the density under [board]",
        example='"..."',
    )
    box: tuple[Size, ...] | None = design_key(
        "Inside of that box: length, width, depth.", otherwise="none", example='["...", "...", "..."]'
    )
    water: Percent | None = design_key(
        "Water in that mix, in percent of the dry sugar's weight. The boards use the same mix.",
        otherwise="the recipe's",
        example='"..."',
    )
    mass_within: SomeMass | None = design_key("Accuracy of the scale, plus or minus.", row="trial.mass_within")
    length_within: Size | None = design_key("Accuracy of box measurements, plus or minus.", row="trial.length_within")


@dataclass(frozen=True, slots=True)
class Trial:
    """The settled table: the density (None if not weighed), and the ratio of water to dry sugar in the mix, by mass."""

    found: Calibration | None
    water: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class ConditionTables:
    """The tables of a design about bee space, sugar, climate and tolerances, as read."""

    band: str | None = None
    trial: TrialTable = field(default_factory=TrialTable)
    climate: ClimateTable = field(default_factory=ClimateTable)
    tolerances: ToleranceTables = field(default_factory=ToleranceTables)


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """The conditions for the checks: the name of the bee-space range, the user's density, the climate, the tolerances.

    A value is None if it is not given. Without `tolerances`, gaps do not vary.
    """

    band: str = DEFAULT_BAND
    trial: Trial | None = None
    climate: Climate | None = None
    tolerances: Tolerances | None = None


def density_text(found: Calibration) -> str:
    """A density and its uncertainty, as text."""
    off = decimals(found.most.kg_per_litre - found.density.kg_per_litre, 2)
    return f"{found.density}, give or take {off}"


def trial_faults(table: TrialTable, has_density: bool, where: str) -> list[Problem]:
    """Problems in the table of the file `where`, including a mix far from any recipe.

    If `has_density` is true, the design also gives a density, which conflicts with a trial.
    """
    found = []
    if (table.mass is None) is not (table.box is None):
        lacking = "box" if table.box is None else "mass"
        do = "Add the line. A trial needs the weight and the inside of the box."
        found.append(Problem(f"{where}, trial, {lacking}", "nothing", "mass and box, both", do))
    elif table.box is not None and len(table.box) != 3:
        given = f"{len(table.box)} sizes"
        found.append(Problem(f"{where}, trial, box", given, "three: length, width, depth inside", "Measure it again."))
    if has_density and table.mass is not None:
        do = "Remove density: the trial gives it."
        found.append(Problem(f"{where}, density", "a density and a [trial]", "one of the two", do))
    if table.water is not None and not _WATER_LEAST <= table.water <= _WATER_MOST:
        low, high = fact("mix.water_share.dry"), fact("mix.water_share.block")
        given = f"{decimals(table.water * 100, 2)} %"
        wanted = f"3 to 20 % of the dry sugar's weight; published mixes have {low.value} to {high.value}"
        found.append(
            Problem(
                f"{where}, trial, water", given, wanted, "Weigh the water too. Wetter sugar slumps through the mesh."
            )
        )
    return found


def settled_trial(table: TrialTable, defaults: list[Default]) -> Trial | None:
    """The settled trial, with defaults and results listed in `defaults`. Raises InputError if there is no density."""
    if table.mass is None or table.box is None:
        return None if table.water is None else Trial(None, table.water)
    water = table.water
    if water is None:
        water = recipe_water()
        defaults.append(Default("trial", "water", f"{decimals(water * 100, 1)} %", fact("mix.water").cite))
    mass_within: Mass = table.mass_within or _good_to("mass_within", defaults).mass
    length_within: Length = table.length_within or _good_to("length_within", defaults).length
    masses = table.mass if isinstance(table.mass, tuple) else (table.mass,)
    long, wide, deep = table.box
    found = calibrate([Packing(mass, long, wide, deep, water) for mass in masses], mass_within, length_within)
    limits = LIMITS["density"]
    wanted = outside(found.density, limits.what, limits.least, limits.most)
    if wanted:
        do = "Weigh the sugar without its box, and measure the box inside."
        raise InputError(Problem("design, trial", f"a density of {found.density}", wanted, do))
    times = f"{len(masses)} trials" if len(masses) > 1 else "your trial"
    source = f"calculated from {times}; the rim is sized for the loosest, {found.least}"
    defaults.append(Default("board", "density", density_text(found), source))
    return Trial(found, water)


def _good_to(name: str, defaults: list[Default]) -> Fact:
    row = fact(f"trial.{name}")
    defaults.append(Default("trial", name, row.value, row.cite))
    return row
