"""The density of packed sugar, measured in the shop: what fills a box of known size, weighed.

Uncertainty as the Guide to the Expression of Uncertainty in Measurement (JCGM 100:2008) has it: a reading good to
`within` either way has the standard uncertainty within / sqrt(3) (4.3.7); relative ones of factors add as squares
(5.1.6); the scatter of repeated packings adds to them (4.2.3).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from woodshop.engineering.sugar import sugar_depth
from woodshop.errors import InputError, Problem
from woodshop.units.lengths import Area, Density, Length, Mass

_COVERAGE = 2  # standard uncertainties to either side: about 95 % (GUM 6.3.3)


@dataclass(frozen=True, slots=True)
class Packing:
    """One trial: `net` is the packed sugar without its box, damp as packed; `water` its share of the dry sugar."""

    net: Mass
    length: Length
    width: Length
    depth: Length
    water: Fraction = Fraction(0)

    @property
    def density(self) -> Density:
        """Dry sugar for each volume of the packed mass."""
        dry = self.net / (1 + self.water)
        return Density(dry.grams / 1000 / (self.length * self.width * self.depth).litres)


@dataclass(frozen=True, slots=True)
class Calibration:
    """`density` is the mean of the trials, exact; `standard` its standard uncertainty in kg/L, a float estimate."""

    density: Density
    standard: float
    trials: int

    @property
    def least(self) -> Density:
        """Two standard uncertainties less: the figure for the height of a rim that must hold the sugar."""
        return self._off(-1)

    @property
    def most(self) -> Density:
        """Two standard uncertainties more."""
        return self._off(1)

    def depths(self, dry: Mass, area: Area) -> tuple[Length, Length]:
        """The least and the greatest depth at which that much dry sugar may lie on `area`; round up before cutting."""
        return sugar_depth(dry, self.most, area), sugar_depth(dry, self.least, area)

    def _off(self, sign: int) -> Density:
        # six decimals: far below what a kitchen scale sees, and the same on every machine
        off = Fraction(round(self.standard * _COVERAGE * 10**6), 10**6)
        return Density(self.density.kg_per_litre + sign * off)


def calibrate(trials: Sequence[Packing], mass_within: Mass, length_within: Length) -> Calibration:
    """The density that the trials give, readings of the scale and the rule being good to `within` either way.

    Raises InputError, all problems at once, for no trial, sizes or masses that are not positive, readings not good to
    anything, or an answer that could be nothing at all.

    >>> from woodshop.units.lengths import inch, pound
    >>> one = Packing(pound("4.4"), inch(11), inch(7), inch(2), Fraction(1, 10))
    >>> found = calibrate([one], pound("1/16"), inch("1/16"))
    >>> print(found.density, round(found.standard, 3))
    0.719 kg/L 0.015
    """
    problems = _problems(trials, mass_within, length_within)
    if problems:
        raise InputError(*problems)
    densities = [trial.density.kg_per_litre for trial in trials]
    mean = sum(densities, Fraction(0)) / len(trials)
    relative = [
        (float(mass_within / trial.net) ** 2 + sum(float(length_within / side) ** 2 for side in _sides(trial))) / 3
        for trial in trials
    ]
    # the same scale and rule read every trial: their errors do not average out
    reading = float(mean) ** 2 * max(relative)
    scatter = 0.0
    if len(trials) > 1:
        squares = sum((each - mean) ** 2 for each in densities) / (len(trials) - 1)
        scatter = float(squares) / len(trials)
    found = Calibration(Density(mean), math.sqrt(reading + scatter), len(trials))
    if found.least.kg_per_litre <= 0:
        given = f"{found.density} give or take {found.standard * _COVERAGE:.2f}"
        raise InputError(
            Problem("density measured", given, "less doubt than that", "Use a larger box or a finer scale.")
        )
    return found


def _problems(trials: Sequence[Packing], mass_within: Mass, length_within: Length) -> list[Problem]:
    do = "Give what was weighed or measured."
    problems = [] if trials else [Problem("trials of packed sugar", "none", "one or more", do)]
    for number, trial in enumerate(trials, 1):
        if trial.net.grams <= 0:
            problems.append(Problem(f"trial {number}, net weight", str(trial.net), "more than nothing", do))
        if min(side.mm for side in _sides(trial)) <= 0:
            given = " x ".join(str(side) for side in _sides(trial))
            problems.append(Problem(f"trial {number}, box inside", given, "three sizes over nothing", do))
        if not 0 <= trial.water < 1:
            problems.append(Problem(f"trial {number}, share of water", str(trial.water), "from 0 to less than 1", do))
    if mass_within.grams <= 0 or length_within.mm <= 0:
        given = f"{mass_within} and {length_within}"
        problems.append(Problem("scale and rule good to", given, "more than nothing", "Give half a mark of each."))
    return problems


def _sides(trial: Packing) -> tuple[Length, Length, Length]:
    return trial.length, trial.width, trial.depth
