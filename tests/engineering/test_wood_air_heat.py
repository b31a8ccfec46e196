"""Wood, moist air and the path of heat: what holds whatever the numbers, and what is refused."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodshop.engineering.heat import (
    Layer,
    film,
    foam,
    heat_path,
    shavings,
    shavings_wanted,
    sugar,
    water_given_off,
    wood,
)
from woodshop.engineering.moist_air import (
    dew_point,
    dew_point_of,
    saturation_pressure,
    vapour_pressure,
)
from woodshop.engineering.wood import Grain, conductivity, movement, species, species_names, wood_moisture
from woodshop.errors import InputError
from woodshop.units.lengths import inch, millimetre

woods = st.sampled_from(species_names()).map(species)
moistures = st.floats(1.0, 40.0)
celsius = st.floats(-20.0, 45.0)
shares = st.floats(0.2, 1.0)

# ---- wood -----------------------------------------------------------------------------------------------


@pytest.mark.invariant
@given(woods, st.sampled_from((Grain.RADIAL, Grain.TANGENTIAL)), st.floats(0.1, 20), moistures, moistures)
def test_there_and_back_returns(wood_: object, grain: Grain, size: float, first: float, then: float) -> None:
    """From one known state: exactly. Measured anew at the far end: to the square of the change."""
    there = movement(size, wood_, grain, first, then)  # type: ignore[arg-type]
    assert movement(size, wood_, grain, first, first).size == size  # type: ignore[arg-type]
    back = movement(there.size, wood_, grain, then, first)  # type: ignore[arg-type]
    assert abs(back.size - size) <= size * (there.change / size) ** 2 * 1.000001 + 1e-12


@pytest.mark.invariant
@given(woods, st.floats(0.1, 20), moistures, moistures, moistures)
def test_damper_wood_is_never_smaller(wood_: object, size: float, first: float, a: float, b: float) -> None:
    low, high = sorted((a, b))
    dry, damp = (movement(size, wood_, Grain.UNKNOWN, first, at) for at in (low, high))  # type: ignore[arg-type]
    assert dry.size <= damp.size
    assert dry.least <= dry.size <= dry.most
    assert damp.least <= damp.size <= damp.most


def test_unknown_grain_takes_the_worse_and_tells_both() -> None:
    pine = species("eastern_white_pine")
    unknown = movement(10, pine, Grain.UNKNOWN, 8, 12)
    assert unknown.change == movement(10, pine, Grain.TANGENTIAL, 8, 12).change
    assert unknown.least == movement(10, pine, Grain.RADIAL, 8, 12).size < unknown.most == unknown.size


def test_wood_stops_swelling_where_it_starts_to_shrink() -> None:
    """Cedar at 22 %, pine at 30 %; both are marked."""
    for id, stop in (("western_redcedar", 22), ("eastern_white_pine", 30)):
        at, over = (movement(10, species(id), Grain.RADIAL, 10, to) for to in (stop, stop + 9))
        assert at.size == over.size
        assert any("does not swell any more" in words for words in over.beyond)
        assert not any("does not swell any more" in words for words in at.beyond)


@pytest.mark.parametrize(("first", "then", "marked"), [(6, 14, 0), (5.9, 14, 1), (6, 14.1, 1), (10, 12, 0)])
def test_moisture_outside_six_to_fourteen_is_marked(first: float, then: float, marked: int) -> None:
    assert len(movement(10, species("sitka_spruce"), Grain.RADIAL, first, then).beyond) == marked


@pytest.mark.invariant
@given(st.floats(-1.0, 60.0), st.floats(0.05, 0.95), st.floats(0.05, 0.95))
def test_damper_air_makes_damper_wood(at: float, a: float, b: float) -> None:
    low, high = sorted((a, b))
    assert wood_moisture(at, low).value <= wood_moisture(at, high).value
    assert wood_moisture(at, low).beyond == ()


@pytest.mark.invariant
@given(st.floats(-1.0, 60.0), st.floats(0.05, 0.95))
def test_both_sets_of_constants_agree(at: float, humidity: float) -> None:
    """Within 0.06 % of moisture content from 5 to 95 % humidity."""
    ours, theirs = wood_moisture(at, humidity).value, wood_moisture(at * 1.8 + 32, humidity, "fahrenheit").value
    assert abs(ours - theirs) < 0.06


def test_air_off_the_table_is_marked() -> None:
    assert len(wood_moisture(-5, 0.97).beyond) == 2
    assert wood_moisture(20, 1.0).beyond == ("drier or damper than the 5 to 95 % of the table",)
    assert "°F" in wood_moisture(20, 0.5, "fahrenheit").beyond[0]


# ---- air ------------------------------------------------------------------------------------------------


@pytest.mark.invariant
@given(celsius, shares)
def test_dew_point_is_where_the_air_is_full(at: float, share: float) -> None:
    dew = dew_point(at, share)
    assert dew <= at + 0.002
    assert saturation_pressure(dew) == pytest.approx(vapour_pressure(at, share), rel=5e-4)


@pytest.mark.invariant
@given(st.floats(-40.0, 60.0), st.floats(-40.0, 60.0))
def test_warmer_air_holds_more(a: float, b: float) -> None:
    low, high = sorted((a, b))
    # at the triple point the formulas for ice and for water part by a few in a hundred thousand
    assert saturation_pressure(low) <= saturation_pressure(high) * 1.0001


@pytest.mark.invariant
@given(celsius, shares, shares)
def test_damper_air_has_a_higher_dew_point(at: float, a: float, b: float) -> None:
    low, high = sorted((a, b))
    assert dew_point(at, low) <= dew_point(at, high) + 0.002


# ---- heat -----------------------------------------------------------------------------------------------


def top(*between: Layer) -> list[Layer]:
    return [film("inside, heat up"), wood(inch("3/4"), 0.37), *between, film("outside")]


depths = st.integers(1, 200)


@pytest.mark.invariant
@given(depths, depths, st.floats(-30, 9))
def test_more_shavings_never_lower_the_underside(a: int, b: int, outside: float) -> None:
    thin, deep = (heat_path(top(shavings(millimetre(mm))), 10, outside, 0.75) for mm in sorted((a, b)))
    assert thin.underside <= deep.underside + 1e-12
    assert thin.u >= deep.u
    assert thin.is_dry <= deep.is_dry
    assert heat_path(top(), 10, outside, 0.75).underside <= thin.underside


@pytest.mark.invariant
@given(st.floats(2.0, 20.0), st.floats(-30.0, 1.0), st.floats(0.3, 0.97), st.floats(0.0, 0.5))
def test_the_shavings_wanted_just_keep_the_underside_dry(
    inside: float, outside: float, humidity: float, margin: float
) -> None:
    """The depth found leaves the underside at the dew point plus the margin, or none was needed."""
    layers = top(sugar(inch(2)))
    dew = dew_point(inside, humidity)
    depth = shavings_wanted(layers, inside, outside, humidity=humidity, margin=margin)
    if depth is None:
        assert inside - dew <= margin
        return
    if depth < 1e-5:
        assert heat_path(layers, inside, outside, humidity).underside >= dew + margin - 1e-3
        return
    more = Layer("shavings", shavings(millimetre(1)).resistance * depth * 1000)
    assert heat_path([*layers[:-1], more, layers[-1]], inside, outside, humidity).underside == pytest.approx(
        dew + margin
    )


@pytest.mark.invariant
@given(st.permutations([sugar(inch(2)), shavings(inch(3)), foam("eps_ii", inch(1))]))
def test_the_underside_does_not_care_how_the_layers_above_lie(between: list[Layer]) -> None:
    path = heat_path(top(*between), 10, -10, 0.75)
    plain = heat_path(top(sugar(inch(2)), shavings(inch(3)), foam("eps_ii", inch(1))), 10, -10, 0.75)
    assert path.underside == pytest.approx(plain.underside)
    assert path.u == pytest.approx(plain.u)


@pytest.mark.invariant
@given(st.floats(-30, 9.9), st.floats(-30, 9.9))
def test_colder_weather_never_warms_a_face(a: float, b: float) -> None:
    cold, mild = (heat_path(top(shavings(inch(2))), 10, out, 0.6) for out in sorted((a, b)))
    for colder, warmer in zip(cold.faces, mild.faces, strict=True):
        assert colder.celsius <= warmer.celsius + 1e-12
    for path in (cold, mild):
        temperatures = [10, *(face.celsius for face in path.faces)]
        assert all(low >= high for low, high in itertools.pairwise(temperatures))
        assert path.flux == pytest.approx(
            path.u * (10 - (a if path is cold and a < b else b if path is cold else max(a, b)))
        )


def test_the_first_wet_face_is_the_lowest() -> None:
    """Between bees at 15 °C and 75 %, and -15 °C: pine with 1 in of foam on it is dry beneath and wet on top."""
    path = heat_path(top(foam("eps_i", inch(1))), 15, -15, 0.75)
    assert path.is_dry
    assert path.wet_first is not None
    assert path.wet_first.below == "wood"
    assert heat_path(top(), 15, -15, 0.75).wet_first == heat_path(top(), 15, -15, 0.75).faces[0]
    assert heat_path(top(foam("xps", inch(2))), 15, 14, 0.3).wet_first is None


def test_assumptions_go_with_the_figures() -> None:
    """Steady state always; sugar and shavings by name, with what their figures rest on."""
    path = heat_path(top(sugar(inch(2)), shavings(inch(3))), 10, -10, 0.75)
    assert path.assumptions[0].startswith("steady state")
    assert any(words.startswith("sugar conducts 0.19 W/m K: common practice, no source") for words in path.assumptions)
    assert any(words.startswith("shavings resist 2.22") and "from memory" in words for words in path.assumptions)
    assert len(heat_path(top(), 10, -10, 0.75).assumptions) == 2


def test_foam_resists_more_the_thicker_it_is() -> None:
    one, two = foam("eps_i", inch(1)), foam("eps_i", inch(2))
    assert two.resistance == pytest.approx(one.resistance * 2)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: species("teak"), "species of wood: given teak"),
        (lambda: movement(0, species("sitka_spruce"), Grain.RADIAL, 8, 12), "size: given 0"),
        (lambda: movement(1, species("sitka_spruce"), Grain.RADIAL, -8, 12), "moisture content at first: given -8"),
        (lambda: wood_moisture(20, 0.5, "kelvin"), "unit of temperature: given kelvin"),
        (lambda: wood_moisture(20, 50), "relative humidity: given 50"),
        (lambda: conductivity(0.2, 12), "specific gravity of the wood"),
        (lambda: conductivity(0.4, 30), "moisture content: given 30 %"),
        (lambda: saturation_pressure(99), "temperature: given 99 °C; wanted -40 to 60 °C"),
        (lambda: dew_point(20, 0), "humidity: given 0 %; wanted more than 0 %"),
        (lambda: dew_point(20, 75), "relative humidity: given 75"),
        (lambda: dew_point(-30, 0.1), "vapor pressure"),
        (lambda: dew_point_of(1e6), "vapor pressure"),
        (lambda: film("under water"), "film of air: given under water"),
        (lambda: foam("straw", inch(1)), "foam: given straw"),
        (lambda: shavings(inch(1), "wool"), "shavings: given wool"),
        (lambda: sugar(inch(0)), "depth of the sugar"),
        (lambda: heat_path([film("outside")], 10, 0, 0.5), "layers of the top: given 1"),
        (lambda: heat_path(top(), 0, 10, 0.5), "given 0 °C inside, 10 °C outside; wanted warmer inside"),
        (lambda: heat_path([*top(), Layer("air", 0.0)], 10, 0, 0.5), "resistance of air"),
        (lambda: shavings_wanted(top(), 10, 0, humidity=0.5, margin=-1), "margin over the dew point"),
        (lambda: water_given_off(honey=-1), "stores eaten"),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(call: object, said: str) -> None:
    with pytest.raises(InputError, match=said):
        call()  # type: ignore[operator]


def test_all_faults_are_told_at_once() -> None:
    with pytest.raises(InputError) as told:
        dew_point(99, 2.0)
    assert len(told.value.problems) == 2
    with pytest.raises(InputError) as told:
        movement(-1, species("sitka_spruce"), Grain.RADIAL, 0, -3)
    assert len(told.value.problems) == 3
