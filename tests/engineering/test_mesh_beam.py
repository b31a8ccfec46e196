"""Beams of any spans, and a mesh under sugar: what holds whatever the numbers, and what is refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodshop.engineering.mesh_beam import (
    SAG_OF_SPAN_MOST,
    beam_at_rest,
    continuous_beam,
    fresh_mesh,
    pressure_of,
    slack_wire,
    steel_wire,
    strip_stress,
)
from woodshop.errors import InputError
from woodshop.units.lengths import Mass, inch, pound

HALF = steel_wire(inch("0.041"), inch("1/2"))
RUN = 18.375

lengths = st.floats(0.5, 20.0)
many_spans = st.lists(lengths, min_size=1, max_size=9)
loads = st.floats(0.0, 1.0)


@pytest.mark.invariant
@given(many_spans, st.floats(0.001, 10.0), st.floats(0.1, 100.0))
def test_supports_carry_the_load_and_no_more(spans: list[float], load: float, stiffness: float) -> None:
    """Reactions add up to the load, and turn about the first support as the load does."""
    beam = continuous_beam(spans, load, stiffness)
    whole = sum(spans)
    places = [sum(spans[:n]) for n in range(len(spans) + 1)]
    assert sum(beam.reactions) == pytest.approx(load * whole)
    turning = sum(place * push for place, push in zip(places, beam.reactions, strict=True))
    assert turning == pytest.approx(load * whole**2 / 2)


@pytest.mark.invariant
@given(many_spans, st.floats(0.001, 10.0))
def test_a_beam_read_backwards_is_the_same_beam(spans: list[float], load: float) -> None:
    ours, turned = continuous_beam(spans, load, 2.0), continuous_beam(spans[::-1], load, 2.0)
    assert turned.sags[::-1] == pytest.approx(ours.sags, rel=1e-6, abs=1e-9)
    assert turned.moments[::-1] == pytest.approx(ours.moments, rel=1e-6, abs=1e-9)


@pytest.mark.invariant
@given(many_spans, st.floats(0.001, 1.0), st.floats(1.0, 5.0))
def test_beams_scale_as_theory_has_it(spans: list[float], load: float, larger: float) -> None:
    """Sag goes with the load, with the fourth power of the spans, and against the stiffness."""
    one = continuous_beam(spans, load, 1.0)
    assert continuous_beam(spans, load * larger, 1.0).sag == pytest.approx(one.sag * larger)
    assert continuous_beam([span * larger for span in spans], load, 1.0).sag == pytest.approx(one.sag * larger**4)
    assert continuous_beam(spans, load, larger).sag == pytest.approx(one.sag / larger)


@pytest.mark.invariant
@given(st.integers(1, 13), lengths)
def test_no_equal_span_sags_more_than_a_simple_one(count: int, length: float) -> None:
    """Neighbours as long and as loaded only lift: 5/384 w L^4 is the most."""
    beam = continuous_beam([length] * count, 1.0, 1.0)
    assert all(sag <= 5 / 384 * length**4 * (1 + 1e-9) for sag in beam.sags)
    assert all(moment <= 1e-9 for moment in beam.moments)


def test_a_long_span_bends_even_the_second_of_its_short_neighbours() -> None:
    """Beside 20 in two spans of 1 in: the moment carries over, and the far one sags more than a simple span would."""
    beam = continuous_beam([20.0, 1.0, 1.0], 1.0, 1.0)
    assert beam.moments[1] < 0 < beam.moments[2]
    assert beam.sags[1] == 0.0
    assert beam.sags[2] > 5 / 384


def test_a_span_between_long_neighbours_is_lifted_all_along() -> None:
    """With 9 in on either side, 1 in in the middle has no way down; the load pushes nothing below its chord."""
    assert continuous_beam([9.0, 1.0, 9.0], 1.0, 1.0).sags[1] == 0.0


@pytest.mark.parametrize(
    ("spans", "load", "stiffness"), [([], 1, 1), ([1, 0], 1, 1), ([1, -2], 1, 1), ([1], -1, 1), ([1], 1, 0)]
)
def test_no_beam_is_refused(spans: list[float], load: float, stiffness: float) -> None:
    with pytest.raises(ValueError, match="a beam has"):
        continuous_beam(spans, load, stiffness)


# ---- the mesh -----------------------------------------------------------------------------------------


def equal(strips: int) -> list[float]:
    return [RUN / (strips + 1)] * (strips + 1)


@pytest.mark.invariant
@given(many_spans, loads, loads, st.floats(0.0, 0.03))
def test_more_load_never_reduces_sag(spans: list[float], a: float, b: float, slack: float) -> None:
    """Nor does it when the answer goes over from a beam to a slack wire."""
    least, most = sorted((a, b))
    light, heavy = fresh_mesh(HALF, least, spans, slack=slack), fresh_mesh(HALF, most, spans, slack=slack)
    assert light.sag <= heavy.sag + 1e-9
    assert light.stress <= heavy.stress + 1e-6
    assert bool(light.invalid) <= bool(heavy.invalid)


@pytest.mark.invariant
@given(loads, st.integers(0, 11), st.floats(0.0, 0.03))
def test_more_strips_never_increase_sag(pressure: float, strips: int, slack: float) -> None:
    """Evenly spaced, from none up."""
    fewer, more = (fresh_mesh(HALF, pressure, equal(n), slack=slack) for n in (strips, strips + 1))
    assert more.sag <= fewer.sag + 1e-12
    assert more.stress <= fewer.stress + 1e-9


def test_one_strip_more_in_the_wrong_place_lets_its_neighbour_sag_more() -> None:
    """Halving the front span takes load from the far side of the second's support: it sags a third more."""
    two, three = continuous_beam([9, 9], 1, 1), continuous_beam([4.5, 4.5, 9], 1, 1)
    assert three.sags[2] > two.sags[1] * 1.3


def test_past_yield_or_a_twentieth_of_the_span_the_beam_is_invalid() -> None:
    """Each bound by itself: a short span yields first, a long one under little load sags too far first."""
    short, long = fresh_mesh(HALF, 0.33, [4.0]), fresh_mesh(HALF, 0.0028, [30.0])
    assert short.of_yield > 1 > short.beam.sag / 4.0 / SAG_OF_SPAN_MOST
    assert [words.startswith("beam invalid: the wire would bend past yield") for words in short.invalid] == [True]
    assert long.of_yield < 1 < long.beam.sag / 30.0 / SAG_OF_SPAN_MOST
    assert [words.startswith("beam invalid: it would sag") for words in long.invalid] == [True]
    assert short.sag == short.slack_wire.sag
    assert short.slack_wire.slack == 0.005


def test_the_pull_of_a_wire_with_held_ends_is_named_when_it_counts() -> None:
    """Beyond half a wire's thickness of sag stretch carries as much as bending."""
    assert fresh_mesh(HALF, 0.065, equal(3)).high
    assert not fresh_mesh(HALF, 0.065, equal(5)).high


def test_nothing_on_the_mesh_and_no_slack_is_no_sag() -> None:
    mesh = fresh_mesh(HALF, 0.0, equal(2), slack=0.0)
    assert (mesh.sag, mesh.stress, mesh.invalid) == (0.0, 0.0, ())
    assert slack_wire(HALF, 0.0, 10.0, 0.0).tension == 0.0


def test_water_presses_as_sugar_does() -> None:
    area = inch("14 3/4") * inch("18 3/8")
    assert pressure_of(pound(16), pound("1.6"), area) == pytest.approx(17.6 / 271.03125)
    assert pressure_of(pound(16), Mass(pound(0).grams), area) < pressure_of(pound(16), pound(1), area)


@pytest.mark.invariant
@given(st.floats(0.01, 5), st.floats(0.25, 2), st.floats(0.05, 0.5), st.floats(0.5, 3))
def test_a_strip_is_stressed_in_proportion(line: float, width: float, thickness: float, pitch: float) -> None:
    one = strip_stress(line, width, thickness, pitch, 1.0625)
    assert one.bearing * width * 1.0625 == pytest.approx(line * pitch)
    assert strip_stress(line * 2, width, thickness, pitch, 1.0625).bending == pytest.approx(one.bending * 2)
    assert strip_stress(line, width, thickness * 2, pitch, 1.0625).bending == pytest.approx(one.bending / 4)
    assert one.of_bending == pytest.approx(one.bending / 8600)
    assert one.of_bearing == pytest.approx(one.bearing / 440)


def test_a_strip_on_top_bars_is_hardly_stressed() -> None:
    """Three strips 3/4 x 1/4 under 16 lb of damp sugar: a thousandth of what pine stands, and no sag to speak of."""
    mesh = fresh_mesh(HALF, 0.065, equal(3))
    strip = strip_stress(max(mesh.line_loads), 0.75, 0.25, 1.375, 1.0625)
    assert max(strip.of_bearing, strip.of_bending) < 0.002
    assert strip.sag < 0.0001


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: fresh_mesh(HALF, 0.1, []), "spans of the mesh: given none"),
        (lambda: fresh_mesh(HALF, 0.1, [3, 0]), "given 3, 0; wanted one or more, each over 0"),
        (lambda: fresh_mesh(HALF, -0.1, [3]), "load and slack of the mesh"),
        (lambda: fresh_mesh(HALF, 0.1, [3], slack=-0.1), "load and slack of the mesh"),
        (lambda: strip_stress(1.0, 0.75, 0.0, 1.375, 1.0), "spacer strip"),
    ],
)
def test_what_is_no_mesh_is_refused_in_one_sentence(call: object, said: str) -> None:
    with pytest.raises(InputError, match=said):
        call()  # type: ignore[operator]


def test_both_faults_are_told_at_once() -> None:
    with pytest.raises(InputError) as told:
        fresh_mesh(HALF, -1.0, [-3.0])
    assert len(told.value.problems) == 2


# ---- strips below the mesh ------------------------------------------------------------------------------------------

clearances = st.lists(st.floats(0.0, 1.0), min_size=1, max_size=7)


@pytest.mark.invariant
@given(clearances, st.floats(0.001, 0.2), st.data())
def test_a_strip_carries_or_stands_clear_and_nothing_sinks_into_it(
    below: list[float], load: float, data: st.DataObject
) -> None:
    """The three conditions of contact, at every strip, whatever the spans; and the supports carry all of the load."""
    spans = data.draw(st.lists(st.floats(1.0, 8.0), min_size=len(below) + 1, max_size=len(below) + 1))
    rest = beam_at_rest(spans, load, 4.0, below)
    place = 0.0
    for span, clear, carried, push in zip(spans, below, rest.carries, rest.reactions[1:-1], strict=False):
        place += span
        down = rest.beam.down_at(place)
        assert down <= clear + 1e-7
        assert push >= -1e-7
        assert carried or push == 0.0
        assert not carried or down == pytest.approx(clear, abs=1e-7)
    assert sum(rest.reactions) == pytest.approx(load * sum(spans))


@pytest.mark.invariant
@given(clearances, st.floats(0.001, 0.2))
def test_strips_further_down_never_hold_the_mesh_higher(below: list[float], load: float) -> None:
    """At every place along it: a support let down is a load taken away, and the beam comes down everywhere."""
    spans = [18.375 / (len(below) + 1)] * (len(below) + 1)
    near, far = (beam_at_rest(spans, load, 4.0, [each + more for each in below]) for more in (0.0, 0.05))
    for n in range(1, 32):
        place = 18.375 * n / 32
        assert near.beam.down_at(place) <= far.beam.down_at(place) + 1e-7


def test_a_strip_far_below_supports_nothing_and_the_mesh_hangs_as_though_it_were_not_there() -> None:
    """The slack mesh hangs 0.64 in; a strip 3/4 in below it is never reached, one 1/2 in below is."""
    bare = fresh_mesh(HALF, 0.065, [14.75])
    far = fresh_mesh(HALF, 0.065, [RUN / 2] * 2, below=[0.75], free=14.75)
    near = fresh_mesh(HALF, 0.065, [RUN / 2] * 2, below=[0.5], free=14.75)
    assert (far.carries, far.sag) == ((False,), bare.sag)
    assert far.invalid
    assert near.carries == (True,)
    assert 0.5 < near.sag <= bare.sag


def test_strips_a_quarter_inch_down_let_the_mesh_sag_a_quarter_inch_more() -> None:
    touching, low = (fresh_mesh(HALF, 0.065, equal(3), below=[clear] * 3) for clear in (0.0, 0.25))
    assert low.carries == (True,) * 3
    assert low.sag == pytest.approx(0.25 + low.between)
    assert low.sag > touching.sag + 0.24


@pytest.mark.parametrize("below", [[0.1], [0.1, 0.1, 0.1], [0.1, -0.1]])
def test_clearances_that_are_none_are_refused(below: list[float]) -> None:
    with pytest.raises(InputError, match="strips below the mesh"):
        fresh_mesh(HALF, 0.065, equal(2), below=below)
