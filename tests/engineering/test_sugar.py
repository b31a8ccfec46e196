"""Sugar depths and the mix, worked by hand."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodshop.engineering.sugar import bowls_for, density_at_depth, mix_for, share_by_area, sugar_depth, whole_bags
from woodshop.units.lengths import Area, Density, Mass, inch, pound

DENSITY = Density(Fraction("0.85"))
VOIDS = inch("3 1/2") * inch("1 1/2") * 3  # three packing blocks: 15.75 sq in
TEN = inch("14 3/4") * inch("18 3/8") - VOIDS  # 271.03 - 15.75 = 255.28 sq in
EIGHT = inch("12 1/4") * inch("18 3/8") - VOIDS  # 225.09 - 15.75 = 209.34 sq in


@pytest.mark.parametrize(
    ("pounds", "area", "deep"),
    [
        (16, TEN, 2.04),  # 521.03 cu in / 255.28 = 2.041
        (16, EIGHT, 2.49),  # 521.03 / 209.34 = 2.489
        (12, EIGHT, 1.87),  # 390.77 / 209.34 = 1.867
        (16, inch("14 1/2") * inch("18 3/8") - VOIDS, 2.08),  # box 16 wide: 521.03 / 250.69 = 2.078
    ],
)
def test_depth_of_the_packed_layer(pounds: int, area: Area, deep: float) -> None:
    assert round(float(sugar_depth(pound(pounds), DENSITY, area).inches), 2) == deep


def test_a_two_and_a_half_inch_rim_serves_ten_frames_and_not_eight_with_sixteen_pounds() -> None:
    room = inch("2 1/2") - inch("3/8")  # 2 1/8 for the sugar
    assert sugar_depth(pound(16), DENSITY, TEN) <= room
    assert sugar_depth(pound(16), DENSITY, EIGHT) > room
    assert sugar_depth(pound(12), DENSITY, EIGHT) <= room


def test_the_density_at_which_a_depth_is_met_is_that_of_the_depth() -> None:
    # 16 lb in 2 1/8 on 255.28 sq in: 7.25748 kg / (542.47 cu in = 8.8895 L) = 0.8164 kg/L
    flip = density_at_depth(pound(16), inch("2 1/8"), TEN)
    assert round(float(flip.kg_per_litre), 4) == 0.8164
    assert sugar_depth(pound(16), flip, TEN) == inch("2 1/8")


@pytest.mark.outside(
    "Piney Woods Beekeepers, Candy Board Feeder and Recipe: 16 lb make a 1 1/2 in layer on a full 10-frame board"
)
def test_the_published_layer_implies_68_pounds_to_the_cubic_foot() -> None:
    # 271 sq in x 1.5 = 406.5 cu in = 6.662 L; 7.257 / 6.662 = 1.089 kg/L = 68 lb/cu ft
    implied = density_at_depth(pound(16), inch("1 1/2"), inch("14 3/4") * inch("18 3/8"))
    assert round(float(implied.kg_per_litre), 2) == 1.09


def test_a_smaller_floor_gets_its_share_and_whole_bags_of_it() -> None:
    ten, eight = inch("14 3/4") * inch("18 3/8"), inch("12 1/4") * inch("18 3/8")
    share = share_by_area(pound(16), eight, ten)  # 16 x 12.25 / 14.75 = 13.288 lb
    assert share.pounds == Fraction(16) * Fraction("12.25") / Fraction("14.75")
    assert whole_bags(share, pound(4)) == pound(12)
    assert whole_bags(pound(16), pound(4)) == pound(16)
    assert whole_bags(pound(3), pound(4)) == pound(4), "at least one bag"


@pytest.mark.invariant
@given(st.integers(1, 4000), st.integers(1, 4000), st.fractions(Fraction(2, 5), Fraction(13, 10)))
def test_more_sugar_lies_deeper_and_denser_sugar_lower(a: int, b: int, density: Fraction) -> None:
    least, most = sorted((a, b))
    kind = Density(density)
    assert sugar_depth(Mass(Fraction(least)), kind, TEN) <= sugar_depth(Mass(Fraction(most)), kind, TEN)
    assert sugar_depth(Mass(Fraction(a)), Density(density * 2), TEN) * 2 == sugar_depth(Mass(Fraction(a)), kind, TEN)


# ---- the mix --------------------------------------------------------------------------------------


@pytest.mark.outside(
    "Piney Woods Beekeepers, Candy Board Feeder and Recipe: 16 lb, 3 US cups, 1 tablespoon; "
    "a honey farm page: 8 lb batch, 1 1/2 cups"
)
def test_sixteen_pounds_take_three_cups_and_a_tablespoon_in_two_bowls() -> None:
    mix = mix_for(pound(16), Fraction(3), Fraction(1), bowls_for(pound(16), pound(8)))
    assert mix.water.us_cups == 3
    assert mix.vinegar_tablespoons == 1
    assert mix.bowls == 2
    assert mix.water_per_bowl.us_cups == Fraction(3, 2)
    assert mix.vinegar_tablespoons / mix.bowls == Fraction(1, 2)
    # 3 x 236.588 mL x 0.99823 = 708.5 g on 7257.5 g: 9.76 %, published as 9.8 %
    assert round(float(mix.water_share) * 100, 1) == 9.8


def test_twenty_four_boards_take_four_and_a_half_gallons() -> None:
    mix = mix_for(pound(16) * 24, Fraction(3), Fraction(1), 24 * bowls_for(pound(16), pound(8)))
    assert mix.sugar == pound(384)
    assert mix.sugar / pound(4) == 96
    assert mix.water.us_cups == 72  # 72 / 16 = 4 1/2 gallons
    assert mix.water.cubic_inches == 231 * Fraction(9, 2)
    assert mix.vinegar_tablespoons == 24
    assert mix.bowls == 48


@pytest.mark.invariant
@given(st.integers(1, 10**7))
def test_the_share_of_water_is_the_same_at_any_scale(grams: int) -> None:
    one = mix_for(pound(16), Fraction(3), Fraction(1), 2)
    mix = mix_for(Mass(Fraction(grams)), Fraction(3), Fraction(1), bowls_for(Mass(Fraction(grams)), pound(8)))
    assert mix.water_share == one.water_share
    assert mix.vinegar_tablespoons / mix.sugar.grams == one.vinegar_tablespoons / one.sugar.grams
    assert Fraction(6, 100) < mix.water_share < Fraction(13, 100)  # never near twice, nor half
    assert mix.sugar / mix.bowls <= pound(8)
    assert mix.bowls == 1 or mix.sugar / (mix.bowls - 1) > pound(8)
