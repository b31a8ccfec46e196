"""Lengths: every notation reads exactly, every mark of a tape prints and reads back, nonsense is refused."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodshop.units.lengths import ZERO, Area, Length, Volume, exact, inch, litres, millimetre, read_length

SIXTY_FOURTHS = 16 * 12 * 64  # in sixteen feet


@pytest.mark.invariant
def test_every_sixty_fourth_up_to_sixteen_feet_prints_and_reads_back() -> None:
    for n in range(SIXTY_FOURTHS + 1):
        length = inch(Fraction(n, 64))
        assert read_length(length.text()) == length
        assert read_length(length.number()) == length
        assert read_length(length.number().replace(" ", "-") + '"') == length


@pytest.mark.invariant
def test_every_sixty_fourth_prints_differently_and_with_the_lowest_fraction() -> None:
    texts = [inch(Fraction(n, 64)).number() for n in range(SIXTY_FOURTHS + 1)]
    assert len(set(texts)) == len(texts)
    assert inch("8/64").number() == "1/8"
    assert inch("16 32/64").number() == "16 1/2"


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("16 1/4", "65/4"),
        ("16-1/4", "65/4"),
        ('16 1/4"', "65/4"),
        ("16 1/4 in", "65/4"),
        ("16 1/4in", "65/4"),
        ("16 1/4 in.", "65/4"),
        ("16 1/4 inches", "65/4"),
        ("16.25", "65/4"),
        ("16.25 IN", "65/4"),
        ("16¼", "65/4"),
        ("16 ¼", "65/4"),
        ("16-¼ in", "65/4"),
        ("16 1⁄4", "65/4"),
        ("65/4", "65/4"),
        ("¼", "1/4"),
        ("⅞ in", "7/8"),
        (".5", "1/2"),
        ("0.041", "41/1000"),
        ("0", "0"),
        ("00", "0"),
        ("  3  ", "3"),
        ("1 ft", "12"),
        ("1'", "12"),
        ("1 foot", "12"),
        ("2 feet", "24"),
        ("2½ ft", "30"),
        ("1 ft 4 1/4 in", "65/4"),
        ("1 ft ¼ in", "49/4"),
        ("1' 4 1/4\"", "65/4"),
        ("1'4-1/4\"", "65/4"),
        ("1′ 4¼″", "65/4"),
        ("1’ 4¼”", "65/4"),
        ("1 ft 4", "16"),
        ("1 ft - 4 in", "16"),
        ("3''", "3"),
        ("25.4 mm", "1"),
        ("2.54 cm", "1"),
        ("254 mm", "10"),
        ("0.0254 m", "1"),
        ("1/3", "1/3"),
    ],
)
def test_notations_read_exactly(text: str, inches: str) -> None:
    assert read_length(text).inches == Fraction(inches)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "   ",
        "in",
        "abc",
        "-5",
        "--5",
        "16-",
        "16 1/4 1/4",
        "16 - 1/4",
        "1/2/3",
        "1/0",
        "3 5/4",
        "3 4/4",
        "1.2.3",
        "1,5",
        "1e3",
        "0x10",
        "nan",
        "inf",
        "12 furlongs",
        "1 in 2 ft",
        "1 ft 2 ft",
        "1 ft 12 in",
        "1 ft 13",
        "5 mm 3 in",
        "5 5",
        "½½",
        "1 ft 2 in 3 in",
        "101 m",
        "16 1/4 in in",
        "9" * 5000,
    ],
)
def test_malformed_lengths_are_refused_with_a_sentence(text: str) -> None:
    with pytest.raises(ValueError, match=r".+"):
        read_length(text)


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("161/4", "16 1/4"),
        ("17/16 in", "1 7/16"),
        ("1 ft 41/4", "4 1/4"),
        ("1111/16", "11 11/16"),
        ("1013/4", "101 3/4"),
    ],
)
def test_a_fraction_that_may_lack_a_space_is_refused_with_what_may_be_meant(text: str, meant: str) -> None:
    """161/4 is 40 1/4 by arithmetic, and 16 1/4 by what people type; neither is guessed."""
    with pytest.raises(ValueError, match=rf"Did you mean .*\b{meant}\b.*\?"):
        read_length(text)


@pytest.mark.parametrize("text", ["65/4", "5/4", "12/12", "100/5"])
def test_a_fraction_of_more_than_one_that_lacks_no_space_is_read(text: str) -> None:
    assert read_length(text).inches == Fraction(text)


@pytest.mark.invariant
@given(st.text(max_size=30))
def test_any_text_is_a_length_or_a_value_error(text: str) -> None:
    try:
        length = read_length(text)
    except ValueError:
        return
    assert length >= ZERO


@pytest.mark.invariant
@given(st.integers(0, 3900), st.integers(1, 64), st.integers(0, 63))
def test_mixed_numbers_are_the_sum_of_their_parts(whole: int, bottom: int, top: int) -> None:
    top %= bottom
    wanted = inch(Fraction(whole) + Fraction(top, bottom))
    assert read_length(f"{whole} {top}/{bottom}") == wanted
    assert read_length(f"{whole}-{top}/{bottom} in") == wanted


@pytest.mark.invariant
@given(st.integers(0, 10**6))
def test_tenths_of_a_millimetre_print_and_read_back(tenths: int) -> None:
    length = millimetre(Fraction(tenths, 10))
    assert read_length(length.text("mm")) == length
    assert read_length(length.number("mm"), "mm") == length


@pytest.mark.invariant
@given(st.fractions(0, 1000), st.fractions(Fraction(1, 1000), 10))
def test_rounding_down_and_up_brackets_a_length(value: Fraction, mark: Fraction) -> None:
    length, step = inch(value), inch(mark)
    low, high = length.down_to(step), length.up_to(step)
    assert low <= length <= high
    assert (low / step).denominator == (high / step).denominator == 1
    assert high - low in (ZERO, step)


@pytest.mark.invariant
@given(st.fractions(-1000, 1000), st.fractions(-1000, 1000), st.fractions(-1000, 1000))
def test_arithmetic_is_exact(a: Fraction, b: Fraction, c: Fraction) -> None:
    assert inch(a) + inch(b) - inch(b) == inch(a)
    assert (inch(a) + inch(b)) * c == inch(a) * c + inch(b) * c
    assert (inch(a) < inch(b)) == (a < b)
    assert -inch(a) == inch(-a)
    assert abs(inch(a)) == inch(abs(a))


@pytest.mark.outside("International lumberyard and pound agreement, 1959: 1 yd = 0.9144 m exactly")
def test_a_lumberyard_is_0_9144_m() -> None:
    assert inch(36) == millimetre("914.4")
    assert read_length("3 ft") == read_length("0.9144 m")


def test_a_third_of_an_inch_and_back_is_the_same() -> None:
    assert inch("1/3") * 3 == inch(1)
    assert inch("1/3").mm == Fraction(127, 15)


def test_what_is_no_mark_on_a_tape_prints_as_decimals() -> None:
    assert inch("0.041").number() == "0.041"
    assert millimetre(10).number() == "0.394"  # 10 / 25.4 = 0.39370
    assert inch("1/128").number() == "0.008"
    assert inch("5/64").number(finest=32) == "0.078"


def test_negative_lengths_print_with_one_sign() -> None:
    assert str(inch(0) - inch("1/4")) == "-1/4 in"
    assert str(inch(0) - inch("16 1/4")) == "-16 1/4 in"
    assert (inch(0) - inch("0.041")).text() == "-0.041 in"


def test_floats_are_refused() -> None:
    with pytest.raises(TypeError, match="float"):
        inch(0.1)  # type: ignore[arg-type]
    with pytest.raises(TypeError, match="Fraction"):
        Length(1)  # type: ignore[arg-type]
    with pytest.raises(TypeError, match="float"):
        inch(1) * 0.5  # type: ignore[operator]
    with pytest.raises(ValueError, match="unit"):
        inch(1).text("cm")
    assert exact("16.25") == Fraction(65, 4)


def test_areas_and_volumes_are_products() -> None:
    area = inch("14 3/4") * inch("18 3/8")  # 14.75 x 18.375 = 271.03125
    assert isinstance(area, Area)
    assert area.square_inches == Fraction("271.03125")
    assert str(area) == "271.03 sq in"
    volume = area * inch(2)
    assert isinstance(volume, Volume)
    assert volume.cubic_inches == Fraction("542.0625")
    assert volume / area == inch(2)
    assert area / inch("14 3/4") == inch("18 3/8")
    assert (area - area).mm2 == 0
    assert litres(1).litres == 1


@pytest.mark.outside("NIST Handbook 44, Appendix C: 1 gallon = 231 cubic inches; 16 cups to the gallon")
def test_a_gallon_is_231_cubic_inches_and_sixteen_cups() -> None:
    gallon = Volume(Fraction(231) * Fraction(127, 5) ** 3)
    assert gallon.us_cups == 16
    assert round(float(gallon.litres), 6) == 3.785412
