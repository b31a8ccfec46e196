"""Continuous beams, the mesh and the slack wire agree with printed tables and with another library."""

from fractions import Fraction
from itertools import pairwise

import pytest
from sympy import Rational, Symbol, integrate, symbols
from sympy.physics.continuum_mechanics.beam import Beam as SymbolicBeam

from woodshop.engineering.mesh_beam import continuous_beam, fresh_mesh, slack_wire, steel_wire
from woodshop.reference.facts import fact
from woodshop.units.lengths import inch

TABLE_2_1 = "Civil Engineering Formulas, Table 2.1, Uniformly Loaded Continuous Beams over Equal Spans, p. 50"
AISC_THREE = "Three spans, uniform load, as AISC's Steel Construction Manual has it, read on a piping designer's page"
AISC_UNEQUAL = (
    "Two unequal spans, uniform load, after AISC, read on a piping designer's page: w (a^3 + b^3) / 8 (a + b)"
)
LINDEBURG = "Lindeburg, Civil Engineering Reference Manual, 15th ed., two equal spans, read on a calculator's page"

# By number of spans: moments over the inner supports of the left half, over w L^2; greatest moment of each span
# of the left half; reactions of the left half, over w L.
MOMENTS = {2: ["1/8"], 3: ["1/10"], 4: ["3/28", "2/28"], 5: ["4/38", "3/38"], 6: ["11/104", "8/104", "9/104"],
           7: ["15/142", "11/142", "12/142"]}  # fmt: skip
SPAN_MOMENTS = {1: ["0.125"], 2: ["0.0703"], 3: ["0.080", "0.025"], 4: ["0.0772", "0.0364"],
                5: ["0.0779", "0.0332", "0.0461"], 6: ["0.0777", "0.0340", "0.0433"],
                7: ["0.0778", "0.0338", "0.0440", "0.0405"]}  # fmt: skip
REACTIONS = {2: ["3/8", "10/8"], 3: ["4/10", "11/10"], 4: ["11/28", "32/28", "26/28"], 5: ["15/38", "43/38", "37/38"],
             6: ["41/104", "118/104", "100/104", "106/104"]}  # fmt: skip


@pytest.mark.outside(TABLE_2_1)
@pytest.mark.parametrize("spans", MOMENTS)
def test_moments_over_supports_agree_with_the_table(spans: int) -> None:
    """To the last digit: the table's are fractions."""
    beam = continuous_beam([1.0] * spans, 1.0, 1.0)
    for ours, printed in zip(beam.moments[1:], MOMENTS[spans], strict=False):
        assert -ours == pytest.approx(float(Fraction(printed)), rel=1e-12)
    assert beam.moments == pytest.approx(beam.moments[::-1], abs=1e-15)


@pytest.mark.outside(TABLE_2_1)
@pytest.mark.parametrize("spans", SPAN_MOMENTS)
def test_moments_within_spans_agree_with_the_table(spans: int) -> None:
    """To the digits printed, or one of the last of them."""
    beam = continuous_beam([1.0] * spans, 1.0, 1.0)
    for ours, printed in zip(beam.span_moments, SPAN_MOMENTS[spans], strict=False):
        assert abs(ours - float(printed)) < 0.000101


@pytest.mark.outside(f"{TABLE_2_1}: shears on either side of a support, added up")
@pytest.mark.parametrize("spans", REACTIONS)
def test_reactions_agree_with_the_table(spans: int) -> None:
    """To the last digit."""
    beam = continuous_beam([1.0] * spans, 1.0, 1.0)
    for ours, printed in zip(beam.reactions, REACTIONS[spans], strict=False):
        assert ours == pytest.approx(float(Fraction(printed)), rel=1e-12)


@pytest.mark.outside(AISC_THREE)
def test_three_spans_agree_with_the_manual() -> None:
    """Reactions 0.400 and 1.100 w L, moments 0.080, 0.100 and 0.025 w L^2, deflection 0.0069 w L^4 / (E I)."""
    beam = continuous_beam([1.0] * 3, 1.0, 1.0)
    assert [round(x, 3) for x in beam.reactions[:2]] == [0.4, 1.1]
    assert [round(x, 3) for x in (beam.span_moments[0], -beam.moments[1], beam.span_moments[1])] == [0.08, 0.1, 0.025]
    assert round(beam.sag, 4) == 0.0069
    assert beam.sags.index(beam.sag) == 0


@pytest.mark.outside(LINDEBURG)
def test_two_spans_agree_with_the_manual() -> None:
    """Moment 1/8 w L^2 over the middle, 9/128 within; deflection 0.00541 w L^4 / (E I), at 0.4215 L."""
    beam = continuous_beam([1.0] * 2, 1.0, 1.0)
    assert -beam.moments[1] == pytest.approx(1 / 8)
    assert beam.span_moments[0] == pytest.approx(9 / 128)
    # the formula printed with it, (L^3 x - 3 L x^3 + 2 x^4) / 48, has 0.005416 there: printed cut off, not rounded
    assert beam.sag == pytest.approx((0.4215 - 3 * 0.4215**3 + 2 * 0.4215**4) / 48, rel=1e-6)
    assert int(beam.sag * 100_000) == 541


@pytest.mark.outside(AISC_UNEQUAL)
@pytest.mark.parametrize(("a", "b"), [(3.0, 5.0), (2.0, 7.5), (6.125, 4.0)])
def test_two_unequal_spans_agree_with_the_manual(a: float, b: float) -> None:
    """The moment over the middle support, for any two spans."""
    w = 0.0325
    assert -continuous_beam([a, b], w, 4.0).moments[1] == pytest.approx(w * (a**3 + b**3) / (8 * (a + b)))


@pytest.mark.outside("SymPy, physics.continuum_mechanics.Beam: singularity functions, solved in fractions")
@pytest.mark.parametrize("spans", [(3,), (2, 3), (4, 1), (3, 2, 4), (1, 5, 2), (2, 1, 3, 2)])
def test_beam_agrees_with_another_library(spans: tuple[int, ...]) -> None:
    """Reactions, moments and deflections of unequal spans, against a solver that knows nothing of three moments."""
    ours = continuous_beam([float(span) for span in spans], 2.0, 3.0)
    places = [0]
    for span in spans:
        places.append(places[-1] + span)
    names = symbols(f"r:{len(places)}")
    theirs = SymbolicBeam(places[-1], 3, 1)
    theirs.apply_load(-2, 0, 0, end=places[-1])
    for place, name in zip(places, names, strict=True):
        theirs.apply_load(name, place, -1)
        theirs.bc_deflection.append((place, 0))
    theirs.solve_for_reaction_loads(*names)
    assert ours.reactions == pytest.approx([float(theirs.reaction_loads[name]) for name in names], rel=1e-12)
    x = Symbol("x")
    bending = -theirs.bending_moment()  # there a load upward bends positive
    for place, moment in zip(places[1:-1], ours.moments[1:-1], strict=True):
        assert moment == pytest.approx(float(bending.subs(x, place)), rel=1e-9)
    deflection = theirs.deflection()
    for number, (left, right) in enumerate(pairwise(places)):
        downs = [-float(deflection.subs(x, left + Rational(right - left) * n / 64).evalf()) for n in range(65)]
        assert max(*downs, 0.0) <= ours.sags[number] + 1e-12
        assert max(*downs, 0.0) == pytest.approx(ours.sags[number], rel=2e-3, abs=1e-9)


# ---- the mesh ---------------------------------------------------------------------------------------

AREA = inch("14 3/4") * inch("18 3/8")
HALF = steel_wire(inch("0.041"), inch("1/2"))
PRESSURE = 17.6 / float(AREA.square_inches)


@pytest.mark.outside("hand figures: 17.6 lb on 271 sq in, 0.041 in wire at 1/2 in: 0.005, 0.02 and 0.08 in")
@pytest.mark.parametrize(("strips", "rounded", "exact"), [(5, 0.005, 0.0046), (3, 0.02, 0.0232), (2, 0.08, 0.0782)])
def test_mesh_on_strips_as_worked_by_hand(strips: int, rounded: float, exact: float) -> None:
    """w = 17.6 / 271.03 / 2 = 0.03247 lb/in; E I = 29e6 x pi 0.041^4 / 64 = 4.0226 lb in2; L = 18.375 / (n + 1).

    Five strips: 0.00654 x 0.03247 x 3.0625^4 / 4.0226 = 0.0046; three: 0.00646 x ... 4.5938^4 = 0.0232; two: 0.00688
    x ... 6.125^4 = 0.0782. The hand figures hold to the digit they are given with.
    """
    mesh = fresh_mesh(HALF, PRESSURE, [18.375 / (strips + 1)] * (strips + 1))
    assert mesh.invalid == ()
    assert round(mesh.sag, 4) == exact
    assert abs(mesh.sag - rounded) <= 0.5 * 10 ** -len(f"{rounded:g}".split(".")[1])


@pytest.mark.outside("hand figures: without strips beam theory gives 4 to 5 in, at several times yield")
def test_mesh_without_strips_is_no_beam() -> None:
    """14 3/4 in: 5/384 x 0.03247 x 14.75^4 / 4.0226 = 4.97 in; w L^2 / 8 / (pi 0.041^3 / 32) = 130 500 psi."""
    mesh = fresh_mesh(HALF, PRESSURE, [14.75])
    assert round(mesh.beam.sag, 2) == 4.97
    assert round(mesh.stress / 1000, 1) == 130.5
    assert mesh.of_yield > 3
    assert len(mesh.invalid) == 2
    assert mesh.sag == mesh.slack_wire.sag


@pytest.mark.outside("a cable calculator's page: S = L (1 + 8/3 (d/L)^2), H = w L^2 / 8 d")
@pytest.mark.parametrize("slack", [0.001, 0.005, 0.02])
def test_slack_wire_obeys_the_parabola(slack: float) -> None:
    """The sag found is that at which the parabola's length is span, slack and stretch, the stretch that of its pull."""
    hung = slack_wire(HALF, 0.0325, 14.75, slack)
    pull = 0.0325 * 14.75**2 / (8 * hung.sag)
    longer = 8 / 3 * (hung.sag / 14.75) ** 2
    assert longer == pytest.approx(slack + pull / (HALF.area * HALF.modulus), rel=1e-9)
    assert hung.tension == pytest.approx((pull**2 + (0.0325 * 14.75 / 2) ** 2) ** 0.5)


@pytest.mark.outside("textbook statics: a taut wire stretched by its own pull sags (3/64 w L^4 / (E A))^(1/3)")
def test_taut_wire_agrees_with_the_closed_form() -> None:
    """Without slack the cubic has one term: 8/3 s^3 / L^2 = w L^2 / (8 E A)."""
    hung = slack_wire(HALF, 0.0325, 14.75, 0.0)
    assert hung.sag == pytest.approx((3 / 64 * 0.0325 * 14.75**4 / (HALF.area * HALF.modulus)) ** (1 / 3), rel=1e-9)


def test_the_true_curve_of_a_wire_is_within_one_percent_of_the_parabola() -> None:
    """At a sag of an eighth of the span the arc length by calculus is within 1 % of span (1 + 8/3 (s/L)^2)."""
    x = Symbol("x")
    exact = float(integrate((1 + x**2) ** Rational(1, 2), (x, 0, Rational(1, 2))) * 2)  # slope 4 s / L at the ends
    assert exact == pytest.approx(1 + 8 / 3 / 64, rel=0.01)


def test_the_rows_and_the_older_figure_use_the_same_steel() -> None:
    """One modulus of elasticity in the house."""
    assert fact("mesh.wire_modulus").measure("psi") == 29.0e6
