"""Sugar, water and vinegar of a fondant board: depth of the packed layer, share of a box, the mix."""

from dataclasses import dataclass
from fractions import Fraction

from woodshop.reference.facts import fact
from woodshop.units.lengths import Area, Density, Length, Mass, Volume, pound

_WATER = Fraction("0.99823") * 1000  # g in a litre at 20 °C, from memory


def sugar_depth(dry: Mass, density: Density, area: Area) -> Length:
    """Depth of damp packed sugar: volume over area. `density` is dry sugar per volume of the packed mass.

    By arithmetic, no source: 16 lb at 0.85 kg/L is 521.0 cu in; on 255.28 sq in it lies 2.04 in deep.
    """
    return density.volume_of(dry) / area


def density_at_depth(dry: Mass, depth: Length, area: Area) -> Density:
    """The density at which this much sugar lies just so deep."""
    return Density(dry.grams / 1000 / (area * depth).litres)


def share_by_area(whole: Mass, area: Area, whole_area: Area) -> Mass:
    """What gives a smaller floor the same depth before voids are taken off."""
    return Mass(whole.grams * area.mm2 / whole_area.mm2)


def whole_bags(wanted: Mass, bag: Mass) -> Mass:
    """The most whole bags that are not more than wanted, and at least one."""
    return bag * max(1, int(wanted / bag))


@dataclass(frozen=True, slots=True)
class Mix:
    """Damp sugar for one board or for many: total amounts, and the number of bowls it is mixed in."""

    sugar: Mass
    water: Volume
    vinegar_tablespoons: Fraction
    bowls: int

    @property
    def water_share(self) -> Fraction:
        """Water over dry sugar, by mass, water at 0.99823 kg/L (20 °C, from memory)."""
        return self.water.litres * _WATER / self.sugar.grams

    @property
    def water_per_bowl(self) -> Volume:
        """Water for one bowl, where all bowls are equal: those of one board are."""
        return self.water * Fraction(1, self.bowls)


def bowls_for(board: Mass, most: Mass) -> int:
    """The number of equal bowls for one board: the fewest that hold at most `most` sugar each.

    A bowl never serves two boards, so that each board gets its weighed sugar.

    >>> bowls_for(pound(16), pound(8)), bowls_for(pound(12), pound(8)), bowls_for(pound(8), pound(8))
    (2, 2, 1)
    """
    return max(1, -int(-board.grams // most.grams))


def mix_for(sugar: Mass, cups_per_16_lb: Fraction, tablespoons_per_16_lb: Fraction, bowls: int) -> Mix:
    """Water and vinegar in the proportion of the recipe for 16 lb, mixed in `bowls` bowls.

    Piney Woods Beekeepers, Candy Board Feeder and Recipe: 16 lb sugar, 3 US cups of water, 1 tablespoon of vinegar.
    """
    share = sugar / pound(16)
    cup = Volume(Fraction(473176473, 2000))
    return Mix(sugar, cup * (cups_per_16_lb * share), tablespoons_per_16_lb * share, bowls)


def recipe_water() -> Fraction:
    """Water over dry sugar, by mass, of the recipe in the rows mix.water and mix.sugar.

    >>> float(round(recipe_water(), 4))
    0.0976
    """
    return fact("mix.water").volume.litres * _WATER / fact("mix.sugar").mass.grams
