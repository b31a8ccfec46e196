"""Syrup, light hives and left boards, worked by hand; and what holds whatever the numbers."""

import dataclasses
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodshop.engineering.syrup import (
    ONE_TO_ONE,
    TWO_TO_ONE,
    Strength,
    density_of,
    feed_light_hive,
    read_strength,
    saturation_temperature,
    solubility,
    sugar_for_stores,
    sugar_left,
    syrup_for_volume,
    syrup_from_board,
    syrup_from_sugar,
    syrup_of,
)
from woodshop.errors import InputError
from woodshop.reference.cautions import cautions
from woodshop.units.lengths import Mass, Volume, litres, pound

MASSES = st.integers(1, 10**7).map(lambda tenths: Mass(Fraction(tenths, 10)))
SHARES = st.fractions(Fraction(0), Fraction(68, 100), max_denominator=10_000)
STRENGTHS = st.tuples(st.integers(1, 20), st.integers(10, 20)).map(
    lambda parts: Strength(Fraction(parts[0]), Fraction(parts[1]))
)


# ---- density and what dissolves -------------------------------------------------------------------


def test_density_of_a_row_is_the_row() -> None:
    assert density_of(Fraction(1, 2)).kg_per_litre == Fraction("1.2295")
    assert density_of(Fraction(0)).kg_per_litre == Fraction("0.9982")
    assert density_of(Fraction(68, 100)).kg_per_litre == Fraction("1.3348")


def test_between_rows_the_volume_of_a_kilogram_is_on_the_straight_line() -> None:
    # 66 2/3 % is a third of the way from 66 to 68 %: 1/1.3224 = 0.7562008, 1/1.3348 = 0.7491759
    # 0.7562008 - 0.0070249 / 3 = 0.7538592 L/kg; 1/0.7538592 = 1.326508
    assert round(float(density_of(TWO_TO_ONE.share).kg_per_litre), 6) == 1.326508


@pytest.mark.invariant
@given(SHARES, SHARES)
def test_more_sugar_is_denser_and_lies_between_water_and_crystal(a: Fraction, b: Fraction) -> None:
    low, high = sorted((a, b))
    assert density_of(low) <= density_of(high)
    assert Fraction("0.998") < density_of(low).kg_per_litre < Fraction("1.587")


@pytest.mark.parametrize("share", [Fraction(-1, 100), Fraction("0.680001"), Fraction(1)])
def test_density_outside_the_table_is_refused(share: Fraction) -> None:
    with pytest.raises(InputError, match="wanted 0 % by weight to 68 % by weight"):
        density_of(share)


def test_two_to_one_crystallises_below_seventeen_degrees() -> None:
    # 10 °C: 65.58 %, 20 °C: 67.09 %; (66.667 - 65.58) / 1.51 x 10 = 7.196
    below = syrup_from_sugar(pound(1), TWO_TO_ONE).crystals_below
    assert below is not None
    assert round(float(below), 3) == 17.196
    assert syrup_from_sugar(pound(1), ONE_TO_ONE).crystals_below is None


@pytest.mark.invariant
@given(st.fractions(Fraction(0), Fraction(30), max_denominator=1000))
def test_saturation_temperature_undoes_solubility(celsius: Fraction) -> None:
    assert saturation_temperature(solubility(celsius)) == celsius


@pytest.mark.parametrize("celsius", [Fraction(-1, 10), Fraction("30.1")])
def test_solubility_outside_the_table_is_refused(celsius: Fraction) -> None:
    with pytest.raises(InputError, match=r"temperature: given .* wanted 0 °C to 30 °C"):
        solubility(celsius)


def test_saturation_above_the_table_is_refused() -> None:
    with pytest.raises(InputError, match=r"wanted 64\.18 % by weight to 68\.7 % by weight"):
        saturation_temperature(Fraction(69, 100))


# ---- syrup --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sugar", "water", "gallons"),
    [
        (10, 10, "1.9492"),  # 20 lb = 9071.85 g / 1.2295 = 7378.49 mL; / 3785.412
        (10, 5, "1.3550"),  # 15 lb = 6803.89 g x 0.7538592 = 5129.17 mL; / 3785.412
        (5, 3, "0.7367"),  # 62.5 %: 0.770238 less a quarter of 0.007054 = 0.768474 L/kg; x 3628.74 g = 2788.6 mL
    ],
)
def test_gallons_of_syrup_by_weight(sugar: int, water: int, gallons: str) -> None:
    made = syrup_of(pound(sugar), pound(water))
    assert abs(made.us_gallons - Fraction(gallons)) < Fraction(6, 100_000)
    assert made.mass == pound(sugar + water)


def test_water_is_measured_as_water() -> None:
    # 10 lb = 4535.92 g / 0.9982 = 4544.1 mL / 236.588 = 19.207 cups
    assert round(float(syrup_of(pound(10), pound(10)).water_volume.us_cups), 3) == 19.207


@pytest.mark.invariant
@given(MASSES, STRENGTHS)
def test_volume_and_sugar_undo_each_other(sugar: Mass, strength: Strength) -> None:
    made = syrup_from_sugar(sugar, strength)
    assert syrup_for_volume(made.volume, strength) == made
    assert made.share == strength.share
    assert made.sugar == sugar


@pytest.mark.invariant
@given(MASSES, STRENGTHS)
def test_stirring_shrinks_and_never_swells(sugar: Mass, strength: Strength) -> None:
    """The syrup takes up more than its water, and less than its water and crystals apart (1.587 kg/L)."""
    made = syrup_from_sugar(sugar, strength)
    assert made.water_volume < made.volume
    # the crystal's density is remembered to four figures, and thin syrup shrinks by less than those
    assert made.volume.litres < made.water_volume.litres + sugar.grams / Fraction("1587")


@pytest.mark.parametrize(("sugar", "water"), [(0, 1), (1, 0), (-1, 2), (0, 0)])
def test_nothing_makes_no_syrup(sugar: int, water: int) -> None:
    with pytest.raises(InputError, match="wanted more than 0"):
        syrup_of(pound(sugar), pound(water))


def test_all_that_is_wrong_is_said_at_once() -> None:
    with pytest.raises(InputError) as caught:
        syrup_of(pound(0), pound(-1))
    assert [problem.where for problem in caught.value.problems] == ["sugar", "water"]


def test_more_sugar_than_dissolves_is_refused() -> None:
    with pytest.raises(InputError, match=r"given 75 % sugar by weight; wanted at most 67\.09 %"):
        syrup_from_sugar(pound(3), read_strength("3:1"))
    with pytest.raises(InputError, match="the most that dissolves"):
        syrup_for_volume(litres(1), read_strength("3:1"))


def test_no_volume_is_refused() -> None:
    with pytest.raises(InputError, match="volume of syrup: given 0 L"):
        syrup_for_volume(Volume(Fraction(0)), ONE_TO_ONE)


@pytest.mark.parametrize("text", ["2", "2:", ":1", "2:0", "0:1", "a:b", "2:1:1", "1.5:1", "-2:1", "21:1", "²:1", ""])
def test_what_is_no_strength_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="is not sugar to water by weight"):
        read_strength(text)


def test_strength_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="some sugar and some water"):
        Strength(Fraction(0), Fraction(1))


def test_values_are_frozen() -> None:
    made = syrup_from_sugar(pound(1), ONE_TO_ONE)
    with pytest.raises(dataclasses.FrozenInstanceError):
        made.sugar = pound(2)  # type: ignore[misc]


# ---- light hives ----------------------------------------------------------------------------------


def test_a_colony_twenty_pounds_short_gets_sixteen_and_four_tenths() -> None:
    hive = feed_light_hive(pound(60), pound(40))
    assert hive.short == pound(20)
    assert hive.sugar == pound("16.4")  # 20 x (1 - 0.18)
    assert hive.syrup is not None
    assert hive.syrup.water == pound("8.2")
    # 24.6 lb = 11158.4 g x 0.7538592 = 8411.8 mL = 2.222 gal
    assert round(float(hive.syrup.us_gallons), 3) == 2.222


@pytest.mark.parametrize("there", [60, 61])
def test_a_hive_with_enough_gets_nothing(there: int) -> None:
    hive = feed_light_hive(pound(60), pound(there))
    assert (hive.short, hive.sugar, hive.syrup) == (pound(0), pound(0), None)


@pytest.mark.invariant
@given(MASSES, MASSES, st.fractions(Fraction(13, 100), Fraction(27, 100), max_denominator=1000))
def test_the_sugar_fed_is_the_sugar_of_the_stores_that_lack(wanted: Mass, there: Mass, water: Fraction) -> None:
    hive = feed_light_hive(wanted, there, ONE_TO_ONE, water)
    assert hive.sugar.grams == max(wanted.grams - there.grams, 0) * (1 - water)


def test_impossible_stores_are_refused_together() -> None:
    with pytest.raises(InputError) as caught:
        feed_light_hive(pound(0), pound(-1))
    assert [problem.where for problem in caught.value.problems] == ["stores wanted", "stores there"]


@pytest.mark.parametrize("share", [Fraction(1), Fraction(-1, 100)])
def test_impossible_moisture_of_stores_is_refused(share: Fraction) -> None:
    with pytest.raises(InputError, match="water in stores"):
        sugar_for_stores(pound(1), share)


# ---- the season's end -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("strength", "added", "gallons"),
    [
        (ONE_TO_ONE, "10.8", 2.222),  # 11.4 lb of water wanted, 0.6 there; 22.8 lb = 10341.9 g / 1.2295 = 8411.5 mL
        (TWO_TO_ONE, "5.1", 1.545),  # 5.7 wanted, 0.6 there; 17.1 lb = 7756.4 g x 0.7538592 = 5847.3 mL
    ],
)
def test_a_board_of_sixteen_pounds_with_tare_of_four(strength: Strength, added: str, gallons: float) -> None:
    left = sugar_left(pound(16), pound(4))  # 12 lb, 5 % of it water: 0.6 lb; sugar 11.4 lb
    assert (left.net, left.water, left.sugar) == (pound(12), pound("0.6"), pound("11.4"))
    made = syrup_from_board(left, strength)
    assert made.add == pound(added)
    assert round(float(made.syrup.us_gallons), 3) == gallons


@pytest.mark.invariant
@given(MASSES, MASSES, st.fractions(Fraction(0), Fraction(33, 100), max_denominator=1000), st.booleans())
def test_nothing_is_lost_from_board_to_syrup(net: Mass, tare: Mass, water: Fraction, thick: bool) -> None:
    strength = TWO_TO_ONE if thick else ONE_TO_ONE
    made = syrup_from_board(sugar_left(tare + net, tare, water), strength)
    assert made.syrup.mass == net + made.add
    assert made.syrup.share == strength.share
    assert made.add.grams >= 0


def test_left_sugar_carries_the_caution_against_disease() -> None:
    left = sugar_left(pound(16), pound(4))
    assert left.cautions == cautions("bee disease")
    assert left.cautions[0].text.startswith("Never make feed from the fondant board of a colony that is or was dis")
    assert set(left.cautions) < set(syrup_from_board(left).cautions)


def test_a_board_no_heavier_than_its_tare_is_refused() -> None:
    with pytest.raises(InputError, match="weight of the board: given 4 lb; wanted more than its tare of 4 lb"):
        sugar_left(pound(4), pound(4))


def test_all_faults_of_a_board_are_said_at_once() -> None:
    with pytest.raises(InputError) as caught:
        sugar_left(pound(-1), pound(0), Fraction(1))
    assert [problem.where for problem in caught.value.problems] == [
        "tare of the board",
        "weight of the board",
        "water left in the sugar",
    ]


def test_sugar_too_wet_for_thick_syrup_is_refused() -> None:
    wet = sugar_left(pound(14), pound(4), Fraction(2, 5))  # 6 lb sugar in 4 lb of water: thinner than 2:1
    assert syrup_from_board(wet, ONE_TO_ONE).add == pound(2)
    with pytest.raises(InputError, match=r"given 40 %; wanted at most 33\.33 % for 2:1"):
        syrup_from_board(wet, TWO_TO_ONE)
