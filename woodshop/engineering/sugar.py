"""Sugar, water and vinegar for a fondant board: the depth of the packed layer, and the mix."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from woodshop.errors import InputError, Problem
from woodshop.reference.facts import fact
from woodshop.units.lengths import Area, Density, Length, Mass, Volume, pound

_WATER = Fraction("0.99823") * 1000  # g in a liter at 20 °C, from memory


def sugar_depth(dry: Mass, density: Density, area: Area) -> Length:
    """The depth of damp packed sugar. `density` is dry sugar per volume of packed sugar.

    Example (arithmetic, no source): 16 lb at 0.85 kg/L is 521.0 cu in, which is 2.04 in deep on 255.28 sq in.
    """
    return density.volume_of(dry) / area


def density_at_depth(dry: Mass, depth: Length, area: Area) -> Density:
    """The density that gives this much sugar this depth."""
    return Density(dry.grams / 1000 / (area * depth).litres)


def share_by_area(whole: Mass, area: Area, whole_area: Area) -> Mass:
    """The mass of sugar that fills a smaller floor to the depth of the whole floor. Voids are not yet subtracted."""
    return Mass(whole.grams * area.mm2 / whole_area.mm2)


def whole_bags(mass: Mass, bag: Mass) -> Mass:
    """The largest number of full bags that does not exceed `mass` (at least one), as a mass."""
    return bag * max(1, int(mass / bag))


@dataclass(frozen=True, slots=True)
class Mix:
    """Damp sugar for one or more boards: the total amounts, and the number of bowls."""

    sugar: Mass
    water: Volume
    vinegar_tablespoons: Fraction
    bowls: int

    @property
    def water_share(self) -> Fraction:
        """The mass of water divided by the mass of dry sugar; water has 0.99823 kg/L at 20 °C (no source checked)."""
        return self.water.litres * _WATER / self.sugar.grams

    @property
    def water_per_bowl(self) -> Volume:
        """The water for one bowl, if all bowls hold the same amount, as they do for one board."""
        return self.water * Fraction(1, self.bowls)


def bowls_for(board: Mass, most: Mass) -> int:
    """The smallest number of equally filled bowls for one board, with at most `most` sugar in each bowl.

    A bowl is never shared by two boards, so that each board gets exactly its weighed sugar.

    >>> bowls_for(pound(16), pound(8)), bowls_for(pound(12), pound(8)), bowls_for(pound(8), pound(8))
    (2, 2, 1)
    """
    return max(1, -int(-board.grams // most.grams))


def mix_for(sugar: Mass, cups_per_16_lb: Fraction, tablespoons_per_16_lb: Fraction, bowls: int) -> Mix:
    """Water and vinegar in the proportions of the recipe for 16 lb, mixed in `bowls` bowls.

    Piney Woods Beekeepers, Candy Board Feeder and Recipe: 16 lb sugar, 3 US cups of water, 1 tablespoon of vinegar.
    """
    share = sugar / pound(16)
    cup = Volume(Fraction(473176473, 2000))
    return Mix(sugar, cup * (cups_per_16_lb * share), tablespoons_per_16_lb * share, bowls)


def recipe_water() -> Fraction:
    """The mass of water divided by the mass of dry sugar in the recipe (the facts mix.water and mix.sugar).

    >>> float(round(recipe_water(), 4))
    0.0976
    """
    return fact("mix.water").volume.litres * _WATER / fact("mix.sugar").mass.grams


_COVERAGE = 2  # standard uncertainties on either side: about 95 % (GUM 6.3.3)


@dataclass(frozen=True, slots=True)
class Packing:
    """One trial: `net` is the mass of damp packed sugar without its box; `water` is the ratio of water to dry sugar."""

    net: Mass
    length: Length
    width: Length
    depth: Length
    water: Fraction = Fraction(0)

    @property
    def density(self) -> Density:
        """Dry sugar per volume of packed sugar."""
        dry = self.net / (1 + self.water)
        return Density(dry.grams / 1000 / (self.length * self.width * self.depth).litres)


@dataclass(frozen=True, slots=True)
class Calibration:
    """The result of packing trials: their exact mean `density`, and `standard`, its standard uncertainty.

    `standard` is in kg/L, a float and an estimate.
    """

    density: Density
    standard: float
    trials: int

    @property
    def least(self) -> Density:
        """The density minus two standard uncertainties, used for a rim that must be tall enough for the sugar."""
        return self._off(-1)

    @property
    def most(self) -> Density:
        """The density plus two standard uncertainties."""
        return self._off(1)

    def depths(self, dry: Mass, area: Area) -> tuple[Length, Length]:
        """The minimum and maximum depth of this much dry sugar on `area`; round up before cutting."""
        return sugar_depth(dry, self.most, area), sugar_depth(dry, self.least, area)

    def _off(self, sign: int) -> Density:
        # six decimals: far finer than a kitchen scale, and the same on every machine
        off = Fraction(round(self.standard * _COVERAGE * 10**6), 10**6)
        return Density(self.density.kg_per_litre + sign * off)


def calibrate(trials: Sequence[Packing], mass_within: Mass, length_within: Length) -> Calibration:
    """The density from the trials; the scale is accurate to ±`mass_within`, the ruler to ±`length_within`.

    Raises one InputError with every problem: no trials; sizes, masses or accuracies that are not positive; or a result
    that could be zero.

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
    # the same scale and ruler measure every trial, so their errors do not average out
    reading = float(mean) ** 2 * max(relative)
    scatter = 0.0
    if len(trials) > 1:
        squares = sum((each - mean) ** 2 for each in densities) / (len(trials) - 1)
        scatter = float(squares) / len(trials)
    found = Calibration(Density(mean), math.sqrt(reading + scatter), len(trials))
    if found.least.kg_per_litre <= 0:
        given = f"{found.density} give or take {found.standard * _COVERAGE:.2f}"
        raise InputError(
            Problem("density measured", given, "a smaller uncertainty", "Use a larger box or a finer scale.")
        )
    return found


def _problems(trials: Sequence[Packing], mass_within: Mass, length_within: Length) -> list[Problem]:
    do = "Give what was weighed or measured."
    problems = [] if trials else [Problem("trials of packed sugar", "none", "one or more", do)]
    for number, trial in enumerate(trials, 1):
        if trial.net.grams <= 0:
            problems.append(Problem(f"trial {number}, net weight", str(trial.net), "more than 0", do))
        if min(side.mm for side in _sides(trial)) <= 0:
            given = " x ".join(str(side) for side in _sides(trial))
            problems.append(Problem(f"trial {number}, box inside", given, "three sizes over 0", do))
        if not 0 <= trial.water < 1:
            problems.append(Problem(f"trial {number}, share of water", str(trial.water), "from 0 to less than 1", do))
    if mass_within.grams <= 0 or length_within.mm <= 0:
        given = f"{mass_within} and {length_within}"
        problems.append(Problem("scale and rule good to", given, "more than 0", "Give half a mark of each."))
    return problems


def _sides(trial: Packing) -> tuple[Length, Length, Length]:
    return trial.length, trial.width, trial.depth
