"""Tolerance chains agree with worked examples in print, with exact distributions, and the density with the GUM."""

import math
from fractions import Fraction

import pytest

from woodshop.engineering.sugar import Packing, calibrate
from woodshop.engineering.tolerance import Chain, Size, Spread, draw, stack
from woodshop.reference.facts import fact
from woodshop.units.lengths import Length, Mass, inch, millimetre

ZERO = inch(0)


def sized(name: str, nominal: Length, tolerance: Length, spread: Spread = Spread.NORMAL) -> Size:
    return Size(name, nominal, tolerance, tolerance, spread)


def chain(name: str, plus: str, minus: str, least: Length, most: Length) -> Chain:
    return Chain(name, tuple((part, Fraction(1)) for part in plus) + tuple((part, Fraction(-1)) for part in minus),
                 least, most=most)  # fmt: skip


@pytest.mark.outside(
    "an engineering firm's page, Tolerance Stack-Up Analysis: housing 4.020, parts 2.000, 1.500, 0.500"
)
def test_a_stack_of_three_parts_in_a_housing() -> None:
    """Gap 0.020 give or take 0.015 at worst, so 0.005 to 0.035; by root sum square 0.00794, so 0.012 to 0.028."""
    sizes = [
        sized("a", inch("2.000"), inch("0.005")),
        sized("b", inch("1.500"), inch("0.003")),
        sized("c", inch("0.500"), inch("0.002")),
        sized("h", inch("4.020"), inch("0.005")),
    ]
    gap = stack(chain("gap", "h", "abc", inch("0.005"), inch("0.035")), sizes)
    assert (gap.nominal, gap.least, gap.most) == (inch("0.020"), inch("0.005"), inch("0.035"))
    assert round(gap.root_sum_square / 25.4, 5) == 0.00794
    by_square = [float(gap.middle.inches) + sign * gap.root_sum_square / 25.4 for sign in (-1, 1)]
    assert [round(x, 3) for x in by_square] == [0.012, 0.028]
    assert {share.size for share in gap.matter_most[:2]} == {"a", "h"}
    assert gap.matter_most[2].size == "b"


@pytest.mark.outside(
    "a metrology page, Tolerance stack-up, a worked example: 40 +- 0.10, 25 +- 0.05, 2 +- 0.03, 10 +- 0.05"
)
def test_a_bore_a_spacer_and_a_ring() -> None:
    """40 - 25 - 2 - 10 = 3.00 mm; at worst 0.10 + 0.05 + 0.03 + 0.05 = 0.23; by squares sqrt(0.0159) = 0.126."""
    sizes = [
        sized("a", millimetre("40"), millimetre("0.10")),
        sized("b", millimetre("25"), millimetre("0.05")),
        sized("c", millimetre("2"), millimetre("0.03")),
        sized("d", millimetre("10"), millimetre("0.05")),
    ]
    gap = stack(chain("gap", "a", "bcd", ZERO, millimetre(4)), sizes)
    assert (gap.nominal, gap.least, gap.most) == (millimetre(3), millimetre("2.77"), millimetre("3.23"))
    assert gap.root_sum_square == pytest.approx(math.sqrt(0.0159))
    assert gap.deviation * 3 == pytest.approx(gap.root_sum_square)
    assert gap.matter_most[0].of_variance == pytest.approx(0.01 / 0.0159)


@pytest.mark.outside(
    "a page on root-sum-square tolerancing: ten parts of +- 0.1 give +- 1.0 at worst, +- 0.316 by squares"
)
def test_ten_like_parts() -> None:
    """Ten times the tolerance at worst, its root of ten by squares."""
    names = "abcdefghij"
    gap = stack(
        chain("gap", names, "", ZERO, millimetre(100)), [sized(n, millimetre(5), millimetre("0.1")) for n in names]
    )
    assert (gap.least, gap.most) == (millimetre(49), millimetre(51))
    assert round(gap.root_sum_square, 3) == 0.316


@pytest.mark.outside("any table of the normal distribution: 0.27 % beyond three standard deviations, 4.55 % beyond two")
@pytest.mark.parametrize(("sigmas", "share"), [(1, 0.317311), (2, 0.045500), (3, 0.002700)])
def test_drawn_share_of_a_normal_gap(sigmas: int, share: float) -> None:
    """A million draws of two normal sizes come within four standard errors of the table."""
    sizes = [sized("a", inch(3), millimetre(3)), sized("b", inch(1), millimetre(4))]  # together 5 / 3 mm
    edge = millimetre(Fraction(5 * sigmas, 3))
    (drawn,) = draw([chain("gap", "a", "b", inch(2) - edge, inch(2) + edge)], sizes)
    assert abs(drawn.outside - share) < 4 * (share * (1 - share) / drawn.count) ** 0.5
    assert drawn.mean == pytest.approx(50.8, abs=0.01)
    assert drawn.deviation == pytest.approx(5 / 3, rel=0.005)


@pytest.mark.outside("P. Hall, Biometrika 19, 240-245, 1927, and J. Irwin, same volume: the sum of uniform variables")
@pytest.mark.parametrize("edge", ["1/2", "1", "3/2", "2"])
def test_drawn_share_of_a_sum_of_three_uniforms(edge: str) -> None:
    """Above 3/2 + e the sum of three even ones on 0 to 1 has (3/2 - e)^3 / 6, from e = 1/2 on."""
    sizes = [sized(name, millimetre(10), millimetre(1), Spread.UNIFORM) for name in "abc"]
    off = millimetre(edge)  # each is 2 wide: e = off / 2
    (drawn,) = draw([chain("gap", "abc", "", millimetre(30) - off, millimetre(30) + off)], sizes)
    e = float(off.mm) / 2
    above = (1.5 - e) ** 3 / 6 if e >= 0.5 else (1.5 - e) ** 3 / 6 - (0.5 - e) ** 3 / 2
    assert abs(drawn.above - above) < 4 * math.sqrt(above / drawn.count)
    assert abs(drawn.below - above) < 4 * math.sqrt(above / drawn.count)
    assert drawn.most <= 33.0


@pytest.mark.outside("JCGM 100:2008 (GUM), 4.3.7 and 4.3.9: a / sqrt(3) even, a / sqrt(6) triangular")
@pytest.mark.parametrize(("spread", "root"), [(Spread.UNIFORM, 3), (Spread.TRIANGULAR, 6), (Spread.NORMAL, 9)])
def test_standard_deviations_as_the_guide_has_them(spread: Spread, root: int) -> None:
    """By formula, and as drawn."""
    size = sized("a", inch(1), millimetre(1), spread)
    assert size.deviation == pytest.approx(1 / math.sqrt(root))
    (drawn,) = draw([chain("gap", "a", "", ZERO, inch(2))], [size])
    assert drawn.deviation == pytest.approx(1 / math.sqrt(root), rel=0.005)


# ---- density by trial --------------------------------------------------------------------------------


@pytest.mark.outside("Piney Woods Beekeepers, Candy Board Feeder and Recipe: 4 lb in a block 7 x 11 x 2 in")
def test_density_of_a_published_block() -> None:
    """1814.4 g in 154 cu in = 2.5236 L: 0.719 kg/L, which the table of facts has as 0.72."""
    block = Packing(
        fact("sugar.block").mass,
        fact("sugar.block_length").length,
        fact("sugar.block_width").length,
        fact("sugar.block_thickness").length,
    )
    assert round(block.density.kg_per_litre, 2) == fact("sugar.density.block").density.kg_per_litre


@pytest.mark.outside("JCGM 100:2008 (GUM), 4.3.7 and 5.1.6: relative standard uncertainties of factors add as squares")
def test_uncertainty_of_a_density_by_hand() -> None:
    """1 kg within 10 g, 10 x 10 x 10 cm within 1 mm: sqrt(4 x 0.01^2 / 3) = 1.155 % of 1 kg/L."""
    cube = Packing(Mass(Fraction(1000)), *[millimetre(100)] * 3)
    found = calibrate([cube], Mass(Fraction(10)), millimetre(1))
    assert found.density.kg_per_litre == 1
    assert found.standard == pytest.approx(math.sqrt(4 / 3) * 0.01)
