"""Wood and moisture: the moisture content of wood in air, its change in size, and its heat conductivity.

Sources: Forest Products Laboratory, Wood Handbook, FPL-GTR-282 (2021), chapter 4, Equation 4-5; FPL-GTR-190 (2010),
Tables 4-3 and 13-5, Equation 13-2. Moisture content is a percentage of the oven-dry mass. All values are floats and
estimates: averages for a species, for wood left long enough in steady air. Movement along the grain is not calculated,
because it is small (0.1 to 0.2 % from green to oven-dry, same handbook).
"""

from dataclasses import dataclass
from enum import Enum

from woodshop.errors import InputError, Problem
from woodshop.reference.facts import fact, facts_in

_CONSTANTS = ("w", "k", "k1", "k2")
_TABLE = {"celsius": (-1.1, 132.2), "fahrenheit": (30.0, 270.0)}  # the range of the handbook's Table 4-2
_TABLE_HUMIDITY = (0.05, 0.95)


class Grain(Enum):
    """The ring direction for a size. Flat-sawn boards are tangential across their width."""

    RADIAL = "radial"
    TANGENTIAL = "tangential"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Estimate:
    """An estimated figure, and why it may be wrong; `beyond` is empty within the range of its source."""

    value: float
    beyond: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Species:
    """The handbook's data for one species. Changes in size are fractions for each 1 % of moisture content."""

    id: str
    name: str
    radial: float
    tangential: float
    starts: float

    def coefficient(self, grain: Grain) -> float:
        """The change in size for each 1 % of moisture content, or the larger one if the grain direction is unknown."""
        if grain is Grain.RADIAL:
            return self.radial
        return self.tangential if grain is Grain.TANGENTIAL else max(self.radial, self.tangential)


@dataclass(frozen=True, slots=True)
class Movement:
    """A size across the grain at another moisture content. `least` and `most` cover both grain directions.

    All sizes are in the unit of the given size; `change` is positive for swelling.
    """

    size: float
    change: float
    least: float
    most: float
    beyond: tuple[str, ...] = ()


def species_names() -> tuple[str, ...]:
    """The ids of the species, in the order of the table."""
    return tuple(row.key.removeprefix("wood.radial_") for row in facts_in("wood") if row.key.startswith("wood.radial_"))


def species(id: str) -> Species:
    """The species with this id. Raises InputError that lists the known ids.

    >>> species("western_redcedar").starts
    22.0
    """
    if id not in species_names():
        raise InputError(Problem("species of wood", id, f"one of {', '.join(species_names())}", "Name one of these."))
    row = fact(f"wood.radial_{id}")
    radial, tangential = (float(fact(f"wood.{way}_{id}").number) for way in ("radial", "tangential"))
    return Species(id, row.column("species"), radial, tangential, float(fact(f"wood.starts_{id}").number * 100))


def wood_moisture(temperature: float, humidity: float, unit: str = "celsius") -> Estimate:
    """The moisture content in percent of wood in air of this temperature and relative humidity (0 to 1).

    `unit` is "celsius" or "fahrenheit"; each has its own printed constants, which agree to about 0.05 %. Below -1.1 °C
    (30 °F), above 132 °C (270 °F) and outside 5 to 95 % humidity the result is marked as beyond the table. The handbook
    calls the tenths in its table illustrative. Raises InputError for another unit or a humidity outside 0 to 1.

    >>> round(wood_moisture(21.1, 0.5).value, 1), wood_moisture(-10, 0.8).beyond
    (9.2, ('colder or hotter than the -1.1 to 132.2 °C of the table',))
    """
    problems = []
    if unit not in _TABLE:
        problems.append(Problem("unit of temperature", unit, "celsius or fahrenheit", "Give one of these."))
    if not 0 <= humidity <= 1:
        problems.append(Problem("relative humidity", f"{humidity:g}", "a share from 0 to 1", "Give it as 0.75."))
    if problems:
        raise InputError(*problems)
    w, k, k1, k2 = (_constant(f"wood.{name}_{unit}", temperature) for name in _CONSTANTS)
    kh = k * humidity
    bound = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    beyond = []
    least, most = _TABLE[unit]
    if not least <= temperature <= most:
        degree = "°C" if unit == "celsius" else "°F"
        beyond.append(f"colder or hotter than the {least:g} to {most:g} {degree} of the table")
    if not _TABLE_HUMIDITY[0] <= humidity <= _TABLE_HUMIDITY[1]:
        beyond.append("drier or damper than the 5 to 95 % of the table")
    return Estimate(1800 / w * (kh / (1 - kh) + bound), tuple(beyond))


def change_of_size(size: float, coefficient: float, moisture: float, to: float) -> float:
    """The swelling of a size measured at `moisture` percent when the wood reaches `to` percent.

    Wood Handbook, Equation 13-2: size x coefficient x change in moisture content. The result is in the unit of `size`.

    >>> round(change_of_size(8, 0.0026, 8, 14), 4)
    0.1248
    """
    return size * coefficient * (to - moisture)


def movement(size: float, wood: Species, grain: Grain, moisture: float, to: float) -> Movement:
    """The new value of a size across the grain, measured at `moisture` percent, when the wood reaches `to` percent.

    If the grain direction is unknown, the larger coefficient is used, and `least` and `most` cover both directions.
    Above the moisture content at which wood starts to shrink, its size does not change. Results outside 6 to 14 % are
    marked. Always start from the moisture at which the size was measured; chained results are wrong by the square of
    the change. Raises InputError for a size or a moisture content that is not positive.

    >>> pine = species("eastern_white_pine")
    >>> round(movement(9.25, pine, Grain.TANGENTIAL, 8, 14).change, 3)
    0.118
    """
    given = (("size", size), ("moisture content at first", moisture), ("moisture content then", to))
    problems = [
        Problem(name, f"{value:g}", "more than 0", "Give what was measured.") for name, value in given if not value > 0
    ]
    if problems:
        raise InputError(*problems)
    low, high = (min(value, wood.starts) for value in (moisture, to))
    ways = (wood.radial, wood.tangential) if grain is Grain.UNKNOWN else (wood.coefficient(grain),)
    sizes = [size + change_of_size(size, way, low, high) for way in ways]
    change = change_of_size(size, wood.coefficient(grain), low, high)
    return Movement(size + change, change, min(sizes), max(sizes), _beyond(wood, moisture, to))


def _beyond(wood: Species, *moistures: float) -> tuple[str, ...]:
    least, most = (float(fact(f"wood.movement_{end}").number * 100) for end in ("least", "most"))
    found = []
    if min(moistures) < least or max(moistures) > most:
        found.append(f"moisture content outside the {least:g} to {most:g} % of the coefficients")
    if max(moistures) > wood.starts:
        found.append(f"{wood.name} does not swell any more above {wood.starts:g} %")
    return tuple(found)


def conductivity(gravity: float, moisture: float) -> float:
    """The conductivity of wood across the grain in W/m K: G (B + C M) + A, Wood Handbook, Equation 4-15.

    `gravity` (specific gravity) is over 0.3, `moisture` under 25 percent. Raises InputError outside these ranges.

    >>> round(conductivity(0.37, 12), 2)
    0.11
    """
    problems = []
    if not gravity > 0.3:
        problems.append(Problem("specific gravity of the wood", f"{gravity:g}", "more than 0.3", "Check the calendar."))
    if not 0 <= moisture < 25:
        problems.append(Problem("moisture content", f"{moisture:g} %", "0 to less than 25 %", "Give it in percent."))
    if problems:
        raise InputError(*problems)
    a, b, c = (float(fact(f"wood.conductivity_{name}").measure("W/m K")) for name in "abc")
    return gravity * (b + c * moisture) + a


def _constant(key: str, temperature: float) -> float:
    row = fact(key)
    return (
        float(row.number) + float(row.column("linear")) * temperature + float(row.column("quadratic")) * temperature**2
    )
