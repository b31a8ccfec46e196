"""Masses, densities and sums of money: exact, and refused where they mean nothing."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodshop.units.lengths import Density, Mass, Money, decimals, inch, litres, pound, read_mass, read_money


@pytest.mark.outside("International lumberyard and pound agreement, 1959: 1 lb = 0.45359237 kg exactly")
def test_a_pound_is_0_45359237_kg() -> None:
    assert pound(1).grams == Fraction("453.59237")
    assert read_mass("16 oz") == read_mass("1 lb") == read_mass("0.45359237 kg") == read_mass("453.59237 g")


@pytest.mark.parametrize(
    ("text", "pounds"),
    [
        ("16 lb", "16"),
        ("16lbs", "16"),
        ("1 1/2 lb", "3/2"),
        ("½ lb", "1/2"),
        ("2½ LB", "5/2"),
        ("8 oz", "1/2"),
        ("1 lb 13 oz", "29/16"),
        ("16 lb 4 oz", "65/4"),
        ("2lbs 1/2oz", "65/32"),
        ("0 lb 15.5 oz", "31/32"),
    ],
)
def test_masses_read_exactly(text: str, pounds: str) -> None:
    assert read_mass(text).pounds == Fraction(pounds)


@pytest.mark.parametrize("text", ["", "16", "lb", "-3 lb", "16 stone", "1/0 lb", "nan lb", "1e3 kg",
                                  "1 lb 16 oz", "1.5 lb 2 oz", "1 kg 3 oz", "1 lb 2 lb", "1 lb 2"])  # fmt: skip
def test_malformed_masses_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r".+"):
        read_mass(text)


def test_masses_add_scale_and_compare() -> None:
    assert pound(16) + pound(4) - pound(8) == pound(12)
    assert pound(16) / pound(4) == 4
    assert pound(16) / 4 * 3 == pound(12)
    assert str(pound(16)) == "16 lb"
    assert pound("17.6").text("kg") == "7.98 kg"  # 17.6 x 0.45359237 = 7.98323
    with pytest.raises(TypeError, match="nothing"):
        pound(1) * pound(1)
    with pytest.raises(ValueError, match="unit"):
        pound(1).text("stone")


def test_sixteen_pounds_at_0_85_fill_521_cubic_inches() -> None:
    # 16 lb = 7.25748 kg; / 0.85 kg/L = 8.53821 L; / 0.016387064 L per cu in = 521.03 cu in
    volume = Density(Fraction("0.85")).volume_of(pound(16))
    assert round(float(volume.cubic_inches), 2) == 521.03
    assert str(Density(Fraction("0.85"))) == "0.85 kg/L"


@pytest.mark.invariant
@given(st.fractions(Fraction(1, 100), 3), st.fractions(0, 1000))
def test_volume_and_mass_of_a_density_undo_each_other(density: Fraction, grams: Fraction) -> None:
    kind = Density(density)
    assert kind.mass_of(kind.volume_of(Mass(grams))) == Mass(grams)
    assert kind.mass_of(litres(1)) == Mass(density * 1000)


@pytest.mark.parametrize(
    ("text", "minor"),
    [("6.20", 620), ("$6.20", 620), ("6.2", 620), ("6", 600), ("1,250", 125_000), ("$ 1,250.05", 125_005), ("0", 0)],
)
def test_prices_read_in_cents(text: str, minor: int) -> None:
    assert read_money(text).minor == minor


@pytest.mark.parametrize("text", ["", "-1", "6.205", "1,25", "12,50.00", "six", "6.20 USD", "1e3", "nan", ".5", "6."])
def test_malformed_prices_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match="price"):
        read_money(text)


@pytest.mark.invariant
@given(st.integers(0, 10**9))
def test_money_prints_and_reads_back(minor: int) -> None:
    assert read_money(str(Money(minor))) == Money(minor)


def test_money_keeps_its_currency_and_its_cents() -> None:
    assert str(Money(-5)) == "-$0.05"
    assert str(Money(123_456, "EUR")) == "1,234.56 EUR"
    assert Money(620) * 3 - Money(60) == Money(1800)
    with pytest.raises(ValueError, match="mix"):
        Money(1) + Money(1, "EUR")
    with pytest.raises(TypeError, match="whole"):
        Money(1) * 1.5  # type: ignore[operator]


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [("1/8", 2, "0.12"), ("3/8", 2, "0.38"), ("1", 2, "1"), ("-1/2", 0, "0"), ("-1/3", 3, "-0.333"), ("10", 0, "10")],
)
def test_decimals_round_half_to_even_and_drop_zeros(value: str, places: int, text: str) -> None:
    assert decimals(Fraction(value), places) == text


def test_a_length_of_no_unit_is_not_a_mass() -> None:
    with pytest.raises(ValueError, match="mass"):
        read_mass(inch(3).text())
