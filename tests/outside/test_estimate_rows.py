"""Rows that the estimates of mesh, cold and trial stand on: each a figure by hand, which fails when the row is 1 % off.

Rows that print guards are in the other files here; these are remembered, practice or arithmetic, so what is held
against them is the arithmetic or the sentence that they came from.
"""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from woodshop.engineering.heat import shavings, sugar, water_given_off
from woodshop.engineering.mesh_beam import fresh_mesh, steel_wire, strip_stress
from woodshop.engineering.sugar import recipe_water
from woodshop.reference import facts
from woodshop.reference.facts import fact
from woodshop.units.lengths import inch

Check = Callable[[], bool]


def _near(ours: float, by_hand: float) -> bool:
    """To 3 in 1,000: a row 1 % off is seen even where it comes in by its square root."""
    return abs(ours / by_hand - 1) < 0.003


def _three() -> float:
    return fresh_mesh(steel_wire(inch("0.041"), inch("1/2")), 17.6 / 271.03125, [18.375 / 4] * 4).beam.sag


def _bare(of: str) -> float:
    bare = fresh_mesh(steel_wire(inch("0.041"), inch("1/2")), 17.6 / 271.03125, [14.75])
    return bare.of_yield if of == "yield" else bare.sag


def _strip(of: str) -> float:
    return float(getattr(strip_stress(0.3, 0.75, 0.25, 1.375, 1.0625), of))


CHECKS: dict[str, tuple[str, Check]] = {
    "mesh.wire_modulus": (
        "AISC Steel Construction Manual, 29,000 ksi: 0.00646 x 0.03247 x 4.5938^4 / (29e6 x pi 0.041^4 / 64) = 0.02322",
        lambda: _near(_three(), 0.02322),
    ),
    "mesh.wire_yield": (
        "drawn low-carbon wire softened by hot dipping, 40,000 psi: 130,500 / 40,000 = 3.263",
        lambda: _near(_bare("yield"), 3.263),
    ),
    "mesh.slack": (
        "a cable's parabola: 14 3/4 in, 0.5 % longer: near sqrt(3/8 x 0.005) x 14.75 = 0.6387, and stretch: 0.6415",
        lambda: _near(_bare("sag"), 0.6415),
    ),
    "wood.bearing_strength": (
        "Wood Handbook, eastern white pine, 440 psi: 0.3 x 1.375 / (0.75 x 1.0625) / 440 = 0.0011765",
        lambda: _near(_strip("of_bearing"), 0.0011765),
    ),
    "wood.bending_strength": (
        "Wood Handbook, eastern white pine, 8,600 psi: 0.3 x 1.375^2 / 8 / (0.75 x 0.25^2 / 6) / 8600 = 0.0010552",
        lambda: _near(_strip("of_bending"), 0.0010552),
    ),
    "wood.bending_modulus": (
        "Wood Handbook, eastern white pine: 5/384 x 0.3 x 1.375^4 / (1.24e6 x 0.75 x 0.25^3 / 12) = 1.1530e-5",
        lambda: _near(_strip("sag"), 1.1530e-5),
    ),
    "wood.gravity_eastern_white_pine": (
        "Wood Handbook, Equation 4-15: 0.37 x (0.1941 + 0.004064 x 12) + 0.01864 = 0.1085, printed 0.11",
        lambda: fact("wood.gravity_eastern_white_pine").number == Fraction(37, 100),
    ),
    "wood.weight_eastern_white_pine": (
        "a materials data sheet of American eastern white pine: 0.350 g/cc",
        lambda: fact("wood.weight_eastern_white_pine").number == Fraction(350, 1000),
    ),
    "heat.shavings": (
        "ASHRAE Fundamentals of the 1980s, loose shavings, 2.22 an inch = 0.065 W/m K: 1 in resists 0.0254 / 0.06497",
        lambda: _near(shavings(inch(1)).resistance, 0.0254 / 0.06497),
    ),
    "heat.sugar": (
        "0.58^0.535 x 0.025^0.465 = 0.134 W/m K, 40 % more: 0.188, told as 0.19; 1 in resists 0.0254 / 0.19 = 0.13368",
        lambda: _near(sugar(inch(1)).resistance, 0.13368),
    ),
    "heat.water_from_sugar": (
        "C12H22O11 gives 11 H2O: 11 x 18.015 / 342.30 = 0.5789",
        lambda: _near(water_given_off(sugar=1)[0], 0.5789),
    ),
    "heat.water_from_honey_least": (
        "17 % water and 0.6 of 82 % sugar: 0.17 + 0.492 = 0.66",
        lambda: _near(water_given_off(honey=1)[0], 0.66),
    ),
    "heat.water_from_honey_most": (
        "How to Succeed with Bees, s. 39, 8.34 lb of water for 12 lb of honey: 0.695, rounded up",
        lambda: _near(water_given_off(honey=1)[1], 0.70),
    ),
    "heat.hive_air": (
        "a judgement: the upper end of a winter cluster's mantle, 6 to 10 °C",
        lambda: fact("heat.hive_air").measure("°C") == 10,
    ),
    "heat.honey_a_month": (
        "a judgement: the upper end of 2 to 4 lb a month",
        lambda: fact("heat.honey_a_month").mass.pounds == 4,
    ),
    "mix.water": (
        "Piney Woods Beekeepers, 3 US cups to 16 lb: 3 x 0.236588 x 0.99823 / 7.257478 = 0.09763",
        lambda: _near(float(recipe_water()), 0.09763),
    ),
    "mix.sugar": (
        "Piney Woods Beekeepers, 3 US cups to 16 lb: 3 x 0.236588 x 0.99823 / 7.257478 = 0.09763",
        lambda: _near(float(recipe_water()), 0.09763),
    ),
    "sugar.density": (
        "a judgement: the low end of 53 to 62 lb/cu ft, 0.85 kg/L",
        lambda: fact("sugar.density").density.kg_per_litre == Fraction(85, 100),
    ),
    "trial.mass_within": (
        "half of the ounce that a kitchen scale shows: 14.17 g",
        lambda: _near(float(fact("trial.mass_within").mass.grams), 14.1748),
    ),
    "trial.length_within": (
        "a mark of the tape: 1/16 in = 1.5875 mm",
        lambda: fact("trial.length_within").length == inch("1/16"),
    ),
}  # fmt: skip


@pytest.mark.parametrize(
    "key", [pytest.param(key, marks=pytest.mark.outside(said)) for key, (said, _) in CHECKS.items()]
)
def test_row_gives_the_figure_by_hand(key: str) -> None:
    assert CHECKS[key][1]()


@pytest.mark.parametrize("by", [Fraction(101, 100), Fraction(99, 100)], ids=["more", "less"])
@pytest.mark.parametrize("key", CHECKS)
def test_check_fails_when_its_row_is_nudged(key: str, by: Fraction, monkeypatch: pytest.MonkeyPatch) -> None:
    """A row that is one part in a hundred off, either way, is caught."""
    rows = {row.key: row for row in facts.all_facts()}
    monkeypatch.setattr(facts, "_facts", lambda: {**rows, key: _nudged(rows[key], by)})
    assert not CHECKS[key][1]()


def _nudged(row: facts.Fact, by: Fraction) -> facts.Fact:
    number, space, unit = row.value.partition(" ")
    return replace(row, value=f"{float(Fraction(number) * by)!r}{space}{unit}")
