"""Rows of the heat table, and paths of heat worked out from them, agree with print."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from woodshop.engineering.heat import (
    SQUARE_METRE_KELVIN_PER_WATT,
    Layer,
    air_space,
    film,
    foam,
    heat_path,
    shavings,
    water_given_off,
    wood,
)
from woodshop.reference import facts
from woodshop.reference.facts import fact
from woodshop.units.lengths import inch, millimetre

ASHRAE = "ASHRAE Fundamentals 2021, ch. 26, Table 10, as public notes quote it: films, emittance 0.90; 15 mph wind"
WAC = "Washington Administrative Code 51-11-0526"
C578 = "ASTM C578-10, as a maker's bulletin tabulates it"
CHART = "a school's R-value and densities chart: molded polystyrene 3.6, extruded 5.0 an inch"
ISO = "ISO 6946:2017, annex D.2, as an open library of building physics has it"
NORTHWEST = "Northwest Foam, data after ASTM C578-92"
R, R_INCH = "h ft2 F/Btu", "h ft2 F/Btu in"

PRINTED = {
    f"{WAC}; the same in {ASHRAE}": {
        "heat.film_up": ("0.61", R),
        "heat.film_vertical": ("0.68", R),
        "heat.film_down": ("0.92", R),
        "heat.film_outside": ("0.17", R),
    },
    f"{C578}; {CHART}": {"heat.eps_i": ("3.6", R_INCH), "heat.xps": ("5.0", R_INCH)},
    C578: {
        "heat.eps_xi": ("3.1", R_INCH),
        "heat.eps_viii": ("3.8", R_INCH),
        "heat.eps_ii": ("4.0", R_INCH),
        "heat.eps_ix": ("4.2", R_INCH),
        "heat.perms_eps_i": ("5.0", "perm"),
        "heat.perms_eps_ii": ("3.5", "perm"),
        "heat.perms_xps_iv": ("1.1", "perm"),
    },
    f"{ISO}: 0.025/d or 1.95, and 4 x 5.67e-8 x 283.15^3 / (2 / 0.9 - 1)": {
        "heat.air_space_convection": ("1.95", "W/m2 K"),
        "heat.air_space_conduction": ("0.025", "W/m K"),
        "heat.air_space_emissivity": ("0.9", "of 1"),
    },
    "COLOSS BEEBOOK 6.3.1: 50 to 80 % among frames (Human and others), 75 % chosen (Ellis and others)": {
        "heat.hive_humidity": ("75", "%"),
        "heat.hive_humidity.least": ("50", "%"),
        "heat.hive_humidity.most": ("80", "%"),
    },
    "Seeley, The Lives of Bees, pp. 224-225: -1 °C at the top of the cavity, -21 °C outside": {
        "heat.hive_air.seeley": ("-1", "°C"),
    },
    NORTHWEST: {
        "heat.eps_i_at_75": ("3.85", R_INCH),
        "heat.eps_i_at_40": ("4.17", R_INCH),
        "heat.eps_i_at_25": ("4.35", R_INCH),
    },
}

Check = Callable[[], bool]


def _checks() -> dict[str, tuple[str, Check]]:
    checks: dict[str, tuple[str, Check]] = {}
    for printed_in, rows in PRINTED.items():
        for key, (number, unit) in rows.items():
            checks[key] = (
                f"{printed_in}: {number}",
                lambda key=key, number=number, unit=unit: fact(key).measure(unit) == Fraction(number),
            )
    checks["heat.honey_to_a_gallon"] = (
        "How to Succeed with Bees, s. 39: 12 lb of honey give a gallon of water",
        lambda: fact("heat.honey_to_a_gallon").mass.pounds == 12,
    )
    return checks


CHECKS = _checks()


@pytest.mark.parametrize(
    "key", [pytest.param(key, marks=pytest.mark.outside(printed_in)) for key, (printed_in, _) in CHECKS.items()]
)
def test_heat_row_agrees_with_print(key: str) -> None:
    """The row holds what its source prints."""
    assert CHECKS[key][1]()


@pytest.mark.parametrize("by", [Fraction(101, 100), Fraction(99, 100)], ids=["more", "less"])
@pytest.mark.parametrize("key", CHECKS)
def test_heat_check_fails_when_its_row_is_nudged(key: str, by: Fraction, monkeypatch: pytest.MonkeyPatch) -> None:
    """A row that is one part in a hundred off, either way, is caught."""
    rows = {row.key: row for row in facts.all_facts()}
    number, _, unit = rows[key].value.partition(" ")
    changed = replace(rows[key], value=f"{float(Fraction(number) * by)!r} {unit}")
    monkeypatch.setattr(facts, "_facts", lambda: {**rows, key: changed})
    assert not CHECKS[key][1]()


def test_every_published_number_of_the_heat_table_is_guarded() -> None:
    """No row of the table claims a source without a check against it; formulas are tried in test_contradictions.py."""
    rows = [row for row in facts.facts_in("heat") if not row.key.startswith("heat.saturation")]
    assert set(CHECKS) == {row.key for row in rows if row.origin == "published"}


# ---- units ------------------------------------------------------------------------------------------


@pytest.mark.outside("NIST Special Publication 811, Appendix B: R in h ft2 F/Btu x 0.1761102")
def test_conversions_agree_with_nist() -> None:
    """A resistance in the units of the trade becomes that of the SI."""
    assert pytest.approx(0.1761102, rel=1e-6) == SQUARE_METRE_KELVIN_PER_WATT
    assert pytest.approx(0.3048**2 * 3600 * (5 / 9) / 1055.05585262, rel=1e-7) == SQUARE_METRE_KELVIN_PER_WATT


@pytest.mark.outside("the films of ASHRAE in SI: 0.030, 0.107, 0.120, 0.162 m2 K/W")
@pytest.mark.parametrize(
    ("kind", "printed"),
    [("outside", 0.030), ("inside, heat up", 0.107), ("inside, upright", 0.120), ("inside, heat down", 0.162)],
)
def test_films_in_si(kind: str, printed: float) -> None:
    """To the millimetre of the print."""
    assert round(film(kind).resistance, 3) == printed


# upwards, both faces of high emissivity, m2 K/W by mm
AIR_SPACES = {5: "0.11", 7: "0.13", 10: "0.15", 15: "0.16", 25: "0.16", 50: "0.16", 100: "0.16", 300: "0.16"}


@pytest.mark.outside("ISO 6946:2007, table 2, unventilated air layers, heat upwards, as open libraries have it")
@pytest.mark.parametrize("thickness", AIR_SPACES)
def test_air_spaces_agree_with_the_older_table(thickness: int) -> None:
    """The formula of 2017 gives every value that the edition of 2007 tabulates."""
    assert f"{air_space(millimetre(thickness)).resistance:.2f}" == AIR_SPACES[thickness]


# ---- paths ------------------------------------------------------------------------------------------


@pytest.mark.outside("a wall maker's R-value page: 0.17 + 0.80 + 0.63 + 11.00 + 0.45 + 0.68 = 13.73")
def test_resistances_add_as_a_worked_wall() -> None:
    """Its six layers have a U of 1/13.73, and the temperature falls by 0.68/13.73 of it to the face of the drywall."""
    layers = [
        Layer(name, r * SQUARE_METRE_KELVIN_PER_WATT)
        for name, r in (("in", 0.68), ("drywall", 0.45), ("batt", 11.0), ("ply", 0.63), ("bevel", 0.80), ("out", 0.17))
    ]
    path = heat_path(layers, 20.0, 0.0, 0.5)
    assert 1 / path.u / SQUARE_METRE_KELVIN_PER_WATT == pytest.approx(13.73)
    assert path.underside == pytest.approx(20 * (1 - 0.68 / 13.73))


@pytest.mark.outside(f"{WAC}; {C578}; Wood Handbook, Equation 4-15: arithmetic shown")
def test_a_lid_with_foam_by_hand() -> None:
    """3/4 in pine and 1 in of type I foam between 10 °C at 75 % and -10 °C.

    Pine: 0.37 x (0.1941 + 0.004064 x 12) + 0.01864 = 0.1085 W/m K = 0.752 Btu in/h ft2 F. Resistances:
    0.61 + 0.75 / 0.752 + 3.6 + 0.17 = 5.377 h ft2 F/Btu. Underside: 10 - 20 x 0.61 / 5.377 = 7.73 °C, over the
    dew point of 5.78 °C. Vapour let through would come out on top of the pine: 10 - 20 x 1.607 / 5.377 = 4.02 °C.
    """
    path = heat_path([film("inside, heat up"), wood(inch("3/4"), 0.37), foam("eps_i", inch(1)), film("outside")],
                     10, -10, 0.75)  # fmt: skip
    assert 1 / path.u / SQUARE_METRE_KELVIN_PER_WATT == pytest.approx(5.377, abs=0.001)
    assert round(path.underside, 2) == 7.73
    assert round(path.dew_point, 2) == 5.78
    assert path.is_dry
    assert path.wet_first is not None
    assert (path.wet_first.below, path.wet_first.above) == ("wood", "foam, eps i")
    assert round(path.wet_first.celsius, 2) == 4.02


@pytest.mark.outside("Northwest Foam, data after ASTM C578-92: 3.85, 4.17 and 4.35 an inch at 75, 40 and 25 °F")
def test_the_least_of_the_standard_is_on_the_safe_side() -> None:
    """A maker's typical type I foam resists more than the standard's least, and more the colder it is."""
    typical = [fact(f"heat.eps_i_at_{f}").measure(R_INCH) for f in (75, 40, 25)]
    assert fact("heat.eps_i").measure(R_INCH) < typical[0] < typical[1] < typical[2]


@pytest.mark.outside(
    "Canadian Wood Council: SPF 0.13 W/m K; American Wood Council: structural softwoods 0.7 to 1.0 Btu in"
)
def test_wood_resists_about_one_to_the_inch() -> None:
    """An inch of pine resists 1 to 1.43 h ft2 F/Btu; an inch of loose shavings, from memory, about twice that."""
    pine = wood(inch(1), 0.37).resistance / SQUARE_METRE_KELVIN_PER_WATT
    assert 1.0 <= pine <= 1 / 0.7
    assert 1.5 < shavings(inch(1)).resistance / SQUARE_METRE_KELVIN_PER_WATT / pine < 2.0


# ---- water ------------------------------------------------------------------------------------------


@pytest.mark.outside("How to Succeed with Bees, s. 39: 12 lb of honey give 1 US gallon of water, 8.34 lb")
def test_water_from_honey_holds_the_rule_of_thumb() -> None:
    """8.337 / 12 = 0.695 kg for 1 kg lies between the least and the most."""
    least, most = water_given_off(honey=1.0)
    rule = 8.337 / float(fact("heat.honey_to_a_gallon").mass.pounds)
    assert least <= rule <= most
    assert most - rule < 0.006


@pytest.mark.outside("atomic weights, IUPAC: C 12.011, H 1.008, O 15.999; simple sugar + 6 O2 = 6 CO2 + 6 H2O")
@pytest.mark.parametrize(("water", "sugar"), [(0.17, 0.82), (0.18, 0.82), (0.20, 0.80)])
def test_water_from_honey_holds_the_chemistry(water: float, sugar: float) -> None:
    """A kilogram of simple sugar burns to 0.600 of water; honey of 17 to 20 % water gives 0.662 to 0.680 in all."""
    burnt = 6 * 18.015 / (6 * 12.011 + 12 * 1.008 + 6 * 15.999)
    assert round(burnt, 3) == 0.6
    least, most = water_given_off(honey=1.0)
    assert least <= water + sugar * burnt <= most


@pytest.mark.outside("atomic weights, IUPAC: sucrose C12H22O11 + 12 O2 = 12 CO2 + 11 H2O")
def test_water_from_table_sugar_is_chemistry() -> None:
    """A kilogram of dry table sugar burns to 0.579 of water."""
    sucrose = 12 * 12.011 + 22 * 1.008 + 11 * 15.999
    assert water_given_off(sugar=1.0)[0] == pytest.approx(11 * 18.015 / sucrose, abs=0.0005)
