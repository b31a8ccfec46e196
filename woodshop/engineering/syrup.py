"""Sugar syrup by weight: density, volume, feed for a light hive, and syrup from leftover sugar.

The arithmetic is exact and uses the facts of the table `syrup`. Volumes are at 20 °C. Density: CRC Handbook of
Chemistry and Physics, aqueous sucrose, 20 °C, 0 to 68 % by weight. Solubility: F. Mohos, Confectionery and Chocolate
Engineering, 2010, Appendix 2, Table A2.3, 0 to 30 °C. Values outside these ranges raise InputError. Sugar counts as dry
sucrose (it is sold with at most 0.075 % water).
"""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from woodshop.errors import InputError, Problem
from woodshop.reference.cautions import PublishedCaution, cautions
from woodshop.reference.facts import fact, facts_in
from woodshop.units.lengths import Density, Mass, Volume, decimals

_NOTHING = Mass(Fraction(0))
_NEAT = 20  # the largest number in any recipe; a greater one is probably a weight typed by mistake


@dataclass(frozen=True, slots=True)
class Strength:
    """Parts of sugar to parts of water, by weight, both above 0."""

    sugar: Fraction
    water: Fraction

    def __post_init__(self) -> None:
        if self.sugar <= 0 or self.water <= 0:
            raise ValueError(f"{self}: a syrup has some sugar and some water")

    @property
    def share(self) -> Fraction:
        """The fraction of sugar in the syrup by weight, 0 to 1."""
        return self.sugar / (self.sugar + self.water)

    def __str__(self) -> str:
        return f"{decimals(self.sugar, 2)}:{decimals(self.water, 2)}"


ONE_TO_ONE = Strength(Fraction(1), Fraction(1))
TWO_TO_ONE = Strength(Fraction(2), Fraction(1))


def read_strength(text: str) -> Strength:
    """The strength in text such as "2:1", sugar to water by weight. Raises ValueError.

    >>> print(read_strength("2:1"), read_strength("5:3").share)
    2:1 5/8
    """
    sugar, colon, water = text.partition(":")
    parts = sugar.strip(), water.strip()
    if not colon or not all(part.isascii() and part.isdecimal() and 0 < int(part) <= _NEAT for part in parts):
        raise ValueError(f"{text!r} is not sugar to water by weight, such as 2:1, in whole parts up to {_NEAT}")
    return Strength(Fraction(int(sugar)), Fraction(int(water)))


@dataclass(frozen=True, slots=True)
class Syrup:
    """Sugar and water stirred together until clear. `volume` is at 20 °C."""

    sugar: Mass
    water: Mass
    volume: Volume

    @property
    def mass(self) -> Mass:
        """The total mass of the syrup."""
        return self.sugar + self.water

    @property
    def share(self) -> Fraction:
        """The fraction of sugar by weight, 0 to 1."""
        return self.sugar / self.mass

    @property
    def water_volume(self) -> Volume:
        """The volume of the water before it is mixed with the sugar, at 20 °C."""
        return density_of(Fraction(0)).volume_of(self.water)

    @property
    def us_gallons(self) -> Fraction:
        """The volume in US gallons of 16 US cups, exactly."""
        return self.volume.us_cups / 16

    @property
    def crystals_below(self) -> Fraction | None:
        """The temperature in °C below which sugar crystallizes, or None if the syrup stays clear down to 0 °C."""
        return saturation_temperature(self.share)


def density_of(share: Fraction) -> Density:
    """The density at 20 °C of syrup with this fraction of sugar by weight. Raises InputError outside 0 to 0.68.

    Between two rows, the volume per kilogram is interpolated linearly; contraction on mixing is neglected. The result
    agrees to within 0.02 % with rows of the handbook that the table omits.

    >>> print(density_of(Fraction(1, 2)), density_of(Fraction(2, 3)))
    1.23 kg/L 1.327 kg/L
    """
    rows = tuple(
        (Fraction(row.column("percent")) / 100, 1 / row.density.kg_per_litre)
        for row in facts_in("syrup")
        if row.column("percent")
    )
    return Density(1 / _between(rows, share, "share of sugar", lambda at: f"{decimals(at * 100, 2)} % by weight"))


def solubility(celsius: Fraction) -> Fraction:
    """The fraction of sugar by weight in saturated syrup. Raises InputError outside 0 to 30 °C.

    Interpolates linearly between two rows.

    >>> print(solubility(Fraction(20)))
    6709/10000
    """
    return _between(_saturated(), celsius, "temperature", lambda at: f"{decimals(at, 2)} °C")


def saturation_temperature(share: Fraction) -> Fraction | None:
    """The temperature in °C at which syrup with this fraction of sugar is saturated; if colder, it crystallizes.

    Returns None if the syrup is not saturated even at 0 °C. Raises InputError above the solubility at 30 °C.

    >>> saturation_temperature(Fraction(1, 2)) is None, round(float(saturation_temperature(Fraction(2, 3))), 1)
    (True, 17.2)
    """
    rows = tuple((full, celsius) for celsius, full in _saturated())
    if share < rows[0][0]:
        return None
    return _between(rows, share, "share of sugar", lambda at: f"{decimals(at * 100, 2)} % by weight")


def syrup_of(sugar: Mass, water: Mass) -> Syrup:
    """The syrup from these amounts of sugar and water.

    Raises InputError if an amount is zero, or if not all of the sugar dissolves at 20 °C. Example (arithmetic): 10 + 10
    lb = 9.072 kg at 1.2295 kg/L = 7.379 L = 1.949 gal.

    >>> from woodshop.units.lengths import pound
    >>> [round(float(syrup_of(pound(10), pound(water)).us_gallons), 3) for water in (10, 5)]
    [1.949, 1.355]
    """
    _positive(("sugar", sugar), ("water", water))
    made = sugar + water
    _dissolves(sugar / made)
    return Syrup(sugar, water, density_of(sugar / made).volume_of(made))


def syrup_from_sugar(sugar: Mass, strength: Strength) -> Syrup:
    """The syrup of this strength from this much sugar. Raises InputError as `syrup_of` does."""
    return syrup_of(sugar, sugar * (strength.water / strength.sugar))


def syrup_for_volume(volume: Volume, strength: Strength) -> Syrup:
    """The sugar and water for this volume of syrup.

    Raises InputError if the volume is zero or the sugar would not dissolve.

    >>> from woodshop.units.lengths import litres
    >>> made = syrup_for_volume(litres("4.54609"), TWO_TO_ONE)  # an imperial gallon
    >>> print(made.sugar.text("kg"), made.water.text("kg"))
    4.02 kg 2.01 kg
    """
    if volume.mm3 <= 0:
        raise InputError(_none("volume of syrup", f"{decimals(volume.litres, 2)} L"))
    _dissolves(strength.share)
    made = density_of(strength.share).mass_of(volume)
    return syrup_of(made * strength.share, made * (1 - strength.share))


# ---- light hives ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class LightHive:
    """The stores that one hive lacks. `syrup` is the feed for the hive, or None if the hive lacks nothing."""

    wanted: Mass
    there: Mass
    stores_water: Fraction
    syrup: Syrup | None

    @property
    def short(self) -> Mass:
        """The shortage: target stores minus current stores, or zero if there is enough."""
        return max(self.wanted - self.there, _NOTHING)

    @property
    def sugar(self) -> Mass:
        """The sugar to feed."""
        return self.syrup.sugar if self.syrup else _NOTHING


def sugar_for_stores(stores: Mass, water_share: Fraction | None = None) -> Mass:
    """The sugar in this much stored, capped syrup: everything except its water.

    Assumes that bees dry syrup to the moisture in the fact syrup.stores_water (18 %, from a bee-supply company's page;
    honey in the United States averages 17.2 %), that they do not eat any of it, and that stores weigh as much as their
    sugar and water. Two opposite effects (no source checked) are ignored: splitting sucrose takes up water, which makes
    the stores about 5 % heavier, and the work of storing burns some sugar. Raises InputError for a fraction outside 0
    to 1.

    >>> from woodshop.units.lengths import pound
    >>> print(sugar_for_stores(pound(20)))
    16.4 lb
    """
    water = fact("syrup.stores_water").number if water_share is None else water_share
    if not 0 <= water < 1:
        given = f"{decimals(water * 100, 2)} %"
        do = "Give it by weight; honey has about 18 %."
        raise InputError(Problem("water in stores", given, "0 to less than 100 %", do))
    return stores * (1 - water)


def feed_light_hive(
    wanted: Mass, there: Mass, strength: Strength = TWO_TO_ONE, water_share: Fraction | None = None
) -> LightHive:
    """The feed that brings a hive's current stores, `there`, up to `wanted`.

    `water_share` is the water in stores by weight, by default the fact syrup.stores_water; see `sugar_for_stores`.
    Raises InputError for a target of zero, negative stores, or a syrup that does not dissolve.
    """
    problems = []
    if wanted.grams <= 0:
        problems.append(_none("stores wanted", str(wanted)))
    if there.grams < 0:
        do = "Weigh the hive again, and subtract the boxes and bees."
        problems.append(Problem("stores there", str(there), "0 lb or more", do))
    if problems:
        raise InputError(*problems)
    water = fact("syrup.stores_water").number if water_share is None else water_share
    short = wanted - there
    syrup = syrup_from_sugar(sugar_for_stores(short, water), strength) if short.grams > 0 else None
    return LightHive(wanted, there, water, syrup)


# ---- the season's end -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class SugarLeft:
    """The sugar left on a board: its dry mass, and the water still in it. Print `cautions` with the figures."""

    weight: Mass
    tare: Mass
    water_share: Fraction
    cautions: tuple[PublishedCaution, ...]

    @property
    def net(self) -> Mass:
        """The weight minus the tare: sugar and its water."""
        return self.weight - self.tare

    @property
    def water(self) -> Mass:
        """The water still in the sugar."""
        return self.net * self.water_share

    @property
    def sugar(self) -> Mass:
        """The dry sugar."""
        return self.net - self.water


@dataclass(frozen=True, slots=True)
class SyrupFromBoard:
    """Syrup from leftover sugar: `add` is the water to stir in; `syrup` includes the water already in the sugar."""

    left: SugarLeft
    add: Mass
    syrup: Syrup
    cautions: tuple[PublishedCaution, ...]

    @property
    def add_volume(self) -> Volume:
        """The volume of the water to stir in, at 20 °C."""
        return density_of(Fraction(0)).volume_of(self.add)


def sugar_left(weight: Mass, tare: Mass, water_share: Fraction | None = None) -> SugarLeft:
    """The sugar on a board that weighs `weight`, and weighed `tare` when empty.

    `water_share` is the fraction of water in the leftover sugar, by weight; by default the fact syrup.left_water (an
    estimate). Raises InputError if the board weighs no more than its tare, or the fraction is negative, or 1 or more.
    """
    problems = []
    if tare.grams <= 0:
        problems.append(_none("tare of the board", str(tare)))
    if weight.grams <= tare.grams:
        do = "Weigh the board with its sugar; there is none left, or the two are swapped."
        problems.append(Problem("weight of the board", str(weight), f"more than its tare of {tare}", do))
    share = fact("syrup.left_water").number if water_share is None else water_share
    if not 0 <= share < 1:
        given = f"{decimals(share * 100, 2)} %"
        problems.append(Problem("water left in the sugar", given, "0 to less than 100 %", "Give it by weight."))
    if problems:
        raise InputError(*problems)
    return SugarLeft(weight, tare, share, cautions("bee disease"))


def syrup_from_board(left: SugarLeft, strength: Strength = ONE_TO_ONE) -> SyrupFromBoard:
    """The water that turns the leftover sugar into syrup of this strength, and the syrup.

    Raises InputError if the sugar already contains more water than that strength has, or if the sugar would not
    dissolve.
    """
    made = syrup_from_sugar(left.sugar, strength)
    add = made.water - left.water
    if add.grams < 0:
        given = f"{decimals(left.water_share * 100, 2)} %"
        most = f"at most {decimals((1 - strength.share) * 100, 2)} % for {strength}"
        raise InputError(Problem("water left in the sugar", given, most, "Make a thinner syrup, such as 1:1."))
    return SyrupFromBoard(left, add, made, left.cautions + cautions("syrup"))


# ---- the rule between rows ---------------------------------------------------------------------------


def _saturated() -> tuple[tuple[Fraction, Fraction], ...]:
    return tuple((Fraction(row.column("celsius")), row.number) for row in facts_in("syrup") if row.column("celsius"))


def _between(
    rows: tuple[tuple[Fraction, Fraction], ...], at: Fraction, where: str, text: Callable[[Fraction], str]
) -> Fraction:
    """The linear interpolation at `at` between the neighboring rows. `text` formats a position.

    Raises InputError that names `where` if `at` is outside the rows.
    """
    for (low, below), (high, above) in pairwise(rows):
        if low <= at <= high:
            return below + (above - below) * (at - low) / (high - low)
    wanted = f"{text(rows[0][0])} to {text(rows[-1][0])}"
    raise InputError(Problem(where, text(at), wanted, "The published table ends there. Ask for less."))


def _dissolves(share: Fraction) -> None:
    most = solubility(Fraction(20))
    if share > most:
        given = f"{decimals(share * 100, 2)} % sugar by weight"
        wanted = f"at most {decimals(most * 100, 2)} %, the most that dissolves at 20 °C"
        raise InputError(Problem("strength of the syrup", given, wanted, "Use more water, such as 2:1 or 1:1."))


def _positive(*named: tuple[str, Mass]) -> None:
    problems = [_none(name, str(mass)) for name, mass in named if mass.grams <= 0]
    if problems:
        raise InputError(*problems)


def _none(where: str, given: str) -> Problem:
    return Problem(where, given, "more than 0", "Give what was weighed or measured.")
