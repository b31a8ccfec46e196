"""A beam that sags down on supports below it agrees with the tables' two simple beams and with another library."""

from itertools import accumulate, pairwise

import pytest
from sympy import Rational, SingularityFunction, linsolve, symbols

from woodshop.engineering.mesh_beam import beam_at_rest, continuous_beam, fresh_mesh, steel_wire
from woodshop.units.lengths import inch

SIMPLE = (
    "Simple beam, 5 w l^4 / (384 E I) under an even load and P l^3 / (48 E I) under one in the middle, as beam tables "
    "have them (civilengcalculations.com, beam06; tquigley.com, T305), laid over each other"
)
TABLE_2_1 = "Civil Engineering Formulas, Table 2.1, Uniformly Loaded Continuous Beams over Equal Spans, p. 50"
LIBRARY = "Macaulay's method, singularity functions in SymPy: supports at their own depths, solved in fractions"
HALF = steel_wire(inch("0.041"), inch("1/2"))
PRESSURE = 17.6 / 271.03125


@pytest.mark.outside(SIMPLE)
@pytest.mark.parametrize("clear", [0.0, 0.01, 0.5, 1.5, 3.0])
def test_a_beam_comes_down_on_a_prop_in_the_middle(clear: float) -> None:
    """Until it touches it sags as a simple beam; then the prop carries R = 5/8 w l - 48 E I clear / l^3."""
    load, stiffness, length = 0.0325, 4.02, 14.75
    free = 5 * load * length**4 / (384 * stiffness)
    rest = beam_at_rest([length / 2, length / 2], load, stiffness, [clear])
    assert free > 3.0
    assert rest.carries == (True,)
    assert rest.reactions[1] == pytest.approx(5 / 8 * load * length - 48 * stiffness * clear / length**3, rel=1e-9)
    assert rest.reactions[0] == pytest.approx((load * length - rest.reactions[1]) / 2, rel=1e-9)


@pytest.mark.outside(SIMPLE)
def test_a_prop_below_the_free_sag_carries_nothing() -> None:
    """A hair less than 5 w l^4 / (384 E I) and it carries just the hair's share; a hair more, nothing."""
    load, stiffness, length = 0.001, 4.02, 10.0
    free = 5 * load * length**4 / (384 * stiffness)
    above, under = (beam_at_rest([5.0, 5.0], load, stiffness, [free * share]) for share in (0.999, 1.001))
    assert (above.carries, under.carries) == ((True,), (False,))
    assert above.reactions[1] == pytest.approx(48 * stiffness * free * 0.001 / length**3, rel=1e-6)
    assert under.reactions == (pytest.approx(load * length / 2), 0.0, pytest.approx(load * length / 2))
    assert under.beam.sag == pytest.approx(free, rel=1e-12)


@pytest.mark.outside(TABLE_2_1)
@pytest.mark.parametrize(("spans", "inner"), [(2, ["10/8"]), (3, ["11/10"]), (4, ["32/28", "26/28"])])
def test_a_beam_that_touches_its_supports_is_the_tables_continuous_beam(spans: int, inner: list[str]) -> None:
    rest = beam_at_rest([1.0] * spans, 1.0, 1.0, [0.0] * (spans - 1))
    for ours, printed in zip(rest.reactions[1:], inner, strict=False):
        assert ours == pytest.approx(float(Rational(printed)), rel=1e-9)
    assert all(rest.carries)


@pytest.mark.outside(LIBRARY)
@pytest.mark.parametrize(
    ("spans", "depths"),
    [((3, 3), (0, 1, 0)), ((2, 3, 2), (0, 1, 2, 0)), ((4, 1), (0, 3, 1)), ((3, 2, 4), (0, -1, 1, 0))],
)
def test_supports_at_their_own_depths_agree_with_another_library(
    spans: tuple[int, ...], depths: tuple[int, ...]
) -> None:
    """Reactions and deflections over supports that have settled, in tenths; SymPy solves for them at once."""
    ours = continuous_beam([float(s) for s in spans], 2.0, 3.0, [depth / 10 for depth in depths])
    places = list(accumulate(spans, initial=0))
    x, slope, *pushes = symbols(f"x slope r:{len(places)}")
    pushed = sum(push * SingularityFunction(x, place, 3) / 6 for push, place in zip(pushes, places, strict=True))
    down = slope * x + (Rational(2) * x**4 / 24 - pushed) / 3
    wanted = [down.subs(x, place) - Rational(depth, 10) for place, depth in zip(places, depths, strict=True)]
    wanted += [sum(pushes) - 2 * places[-1], sum(p * a for p, a in zip(pushes, places, strict=True)) - places[-1] ** 2]
    (found,) = linsolve(wanted, slope, *pushes)
    assert ours.reactions == pytest.approx([float(push) for push in found[1:]], rel=1e-9)
    curve = down.subs(dict(zip((slope, *pushes), found, strict=True)))
    for number, (left, right) in enumerate(pairwise(places)):
        at = [left + Rational(right - left) * n / 32 for n in range(33)]
        downs = [float(curve.subs(x, place)) for place in at]
        assert [ours.down_at(float(place)) for place in at] == pytest.approx(downs, rel=1e-9, abs=1e-9)
        assert max(*downs, 0.0) == pytest.approx(ours.sags[number], rel=3e-3, abs=1e-9)


@pytest.mark.outside(SIMPLE)
def test_one_strip_far_below_leaves_the_mesh_to_sag_to_it() -> None:
    """9.6 E I s / l^2 bends the wires on the way down: 1/2 in over 14.75 in is 8 600 psi with 0.041 in wire."""
    mesh = fresh_mesh(HALF, 0.006, [7.375, 7.375], slack=0.0, below=[0.45])
    share = 0.45 / (5 / 384 * 0.003 * 14.75**4 / HALF.stiffness)
    assert 0.9 < share < 1
    assert mesh.stress == pytest.approx(9.6 * HALF.stiffness * 0.45 / 14.75**2 / HALF.section_modulus, rel=1e-6)
