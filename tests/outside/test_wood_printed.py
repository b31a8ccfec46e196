"""Rows of the wood table, and moisture and movement worked out from them, agree with print.

Two sets of constants are printed for the moisture of wood, one for each scale of temperature: each guards the other.
"""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from tests.outside.shrinkage import coefficient_from_shrinkage
from woodshop.engineering.wood import (
    Grain,
    change_of_size,
    conductivity,
    movement,
    species,
    species_names,
    wood_moisture,
)
from woodshop.reference import facts
from woodshop.reference.facts import fact

COEFFICIENTS = "Wood Handbook, FPL-GTR-190 (2010), Table 13-5, softwoods, read in a public transcription"
SHRINKAGE = "Wood Handbook, FPL-GTR-190 (2010), Table 4-3, read in a page copy"
MOISTURE = "Wood Handbook, FPL-GTR-282 (2021), ch. 4, Equation 4-5 and Table 4-2"
CONDUCTIVITY = "MatMake, thermal conductivity of wood at 12 % moisture content, after handbooks"

# radial, tangential
PRINTED = {
    "eastern_white_pine": ("0.00071", "0.00212"),
    "western_white_pine": ("0.00141", "0.00259"),
    "ponderosa_pine": ("0.00133", "0.00216"),
    "western_redcedar": ("0.00111", "0.00234"),
    "northern_white_cedar": ("0.00101", "0.00229"),
    "atlantic_white_cedar": ("0.00099", "0.00187"),
    "baldcypress": ("0.00130", "0.00216"),
    "engelmann_spruce": ("0.00130", "0.00248"),
    "red_spruce": ("0.00130", "0.00274"),
    "sitka_spruce": ("0.00148", "0.00263"),
}
# radial, tangential, percent: only where the table itself was read
SHRINKS = {
    "western_redcedar": ("2.4", "5.0"),
    "northern_white_cedar": ("2.2", "4.9"),
    "atlantic_white_cedar": ("2.9", "5.4"),
}
# W/m K
CONDUCTS = {
    "eastern_white_pine": "0.11",
    "western_white_pine": "0.12",
    "ponderosa_pine": "0.12",
    "western_redcedar": "0.10",
    "northern_white_cedar": "0.094",
    "baldcypress": "0.13",
}

Check = Callable[[], bool]


def _by_rule(id: str, way: str) -> bool:
    """The coefficient is what the rule makes of the shrinkage, to the five decimals of the print."""
    shrinkage = float(fact(f"wood.shrinkage_{way}_{id}").number * 100)
    ruled = coefficient_from_shrinkage(shrinkage, float(fact(f"wood.starts_{id}").number * 100))
    return abs(ruled - float(fact(f"wood.{way}_{id}").number)) < 0.000006


def _terms(row: facts.Fact) -> tuple[float, float, float]:
    return float(row.number), float(row.column("linear")), float(row.column("quadratic"))


def _moved(row: facts.Fact) -> tuple[float, float, float]:
    """The terms for the other scale of temperature: F = 1.8 C + 32."""
    a, b, c = _terms(row)
    scale, shift = (1.8, 32.0) if row.key.endswith("fahrenheit") else (1 / 1.8, -32 / 1.8)
    return a + b * shift + c * shift**2, (b + 2 * c * shift) * scale, c * scale**2


def _other_scale(name: str, unit: str) -> bool:
    other = "celsius" if unit == "fahrenheit" else "fahrenheit"
    ours, theirs = _terms(fact(f"wood.{name}_{unit}")), _moved(fact(f"wood.{name}_{other}"))
    return all(abs(a / b - 1) < 0.005 for a, b in zip(ours, theirs, strict=True))


def _checks() -> dict[str, tuple[str, Check]]:
    checks: dict[str, tuple[str, Check]] = {}
    for id, pair in PRINTED.items():
        for way, printed in zip(("radial", "tangential"), pair, strict=True):
            checks[f"wood.{way}_{id}"] = (
                f"{COEFFICIENTS}: {printed}",
                lambda id=id, way=way, printed=printed: (
                    fact(f"wood.{way}_{id}").number == Fraction(printed) and _by_rule(id, way)
                ),
            )
    for id, pair in SHRINKS.items():
        for way, printed in zip(("radial", "tangential"), pair, strict=True):
            key = f"wood.shrinkage_{way}_{id}"
            checks[key] = (
                f"{SHRINKAGE}: {printed}",
                lambda key=key, printed=printed: fact(key).number * 100 == Fraction(printed),
            )
    for unit in ("celsius", "fahrenheit"):
        for name in ("w", "k", "k1", "k2"):
            checks[f"wood.{name}_{unit}"] = (
                f"{MOISTURE}: the same constant for the other scale",
                lambda name=name, unit=unit: _other_scale(name, unit),
            )
    for end, printed in (("least", 6), ("most", 14)):
        checks[f"wood.movement_{end}"] = (
            f"{COEFFICIENTS}: within moisture content limits of 6 % to 14 %",
            lambda end=end, printed=printed: fact(f"wood.movement_{end}").number * 100 == printed,
        )
    for id, printed in CONDUCTS.items():
        key = f"wood.conductivity_{id}"
        checks[key] = (
            f"{CONDUCTIVITY}: {printed}",
            lambda key=key, printed=printed: fact(key).measure("W/m K") == Fraction(printed),
        )
    return checks


CHECKS = _checks()


def nudged(row: facts.Fact, column: str, by: Fraction) -> facts.Fact:
    """The row with its value, or one of its columns, so many times as large."""
    if column == "value":
        number, space, unit = row.value.partition(" ")
        return replace(row, value=f"{float(Fraction(number) * by)!r}{space}{unit}")
    more = tuple((name, repr(float(Fraction(text) * by)) if name == column else text) for name, text in row.more)
    return replace(row, more=more)


def _numbers_of(key: str) -> tuple[str, ...]:
    return ("value", "linear", "quadratic") if fact(key).column("linear") else ("value",)


@pytest.mark.parametrize(
    "key", [pytest.param(key, marks=pytest.mark.outside(printed_in)) for key, (printed_in, _) in CHECKS.items()]
)
def test_wood_row_agrees_with_print(key: str) -> None:
    """The row holds what its source prints, and agrees with what the same source prints beside it."""
    assert CHECKS[key][1]()


@pytest.mark.parametrize("by", [Fraction(101, 100), Fraction(99, 100)], ids=["more", "less"])
@pytest.mark.parametrize(("key", "column"), [(key, column) for key in CHECKS for column in _numbers_of(key)])
def test_wood_check_fails_when_its_row_is_nudged(
    key: str, column: str, by: Fraction, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A row that is one part in a hundred off, either way, in any of its numbers, is caught."""
    rows = {row.key: row for row in facts.all_facts()}
    monkeypatch.setattr(facts, "_facts", lambda: {**rows, key: nudged(rows[key], column, by)})
    assert not CHECKS[key][1]()


def test_every_published_number_of_the_wood_table_is_guarded() -> None:
    """No row of the table claims a source without a check against it."""
    assert set(CHECKS) == {row.key for row in facts.facts_in("wood") if row.origin == "published"}


# ---- moisture of wood in air ---------------------------------------------------------------------

TABLE_4_2 = [
    (21.1, 5, 1.3), (21.1, 30, 6.2), (21.1, 50, 9.2), (21.1, 75, 14.4), (21.1, 85, 17.9), (21.1, 95, 23.9),
    (-1.1, 75, 14.9), (-1.1, 95, 24.3), (37.8, 50, 8.7), (37.8, 90, 19.5),
]  # fmt: skip


@pytest.mark.outside(MOISTURE)
@pytest.mark.parametrize(("celsius", "percent", "printed"), TABLE_4_2)
def test_moisture_of_wood_agrees_with_the_table(celsius: float, percent: int, printed: float) -> None:
    """Either set of constants gives the table's figure to its tenth (half a tenth of rounding, and a hair more)."""
    for degrees, unit in ((celsius, "celsius"), (celsius * 1.8 + 32, "fahrenheit")):
        assert abs(wood_moisture(degrees, percent / 100, unit).value - printed) < 0.07


@pytest.mark.outside("a public article on equilibrium moisture content: 8.4 % by the equation at 140 °F and 55 %")
def test_moisture_of_wood_as_worked_elsewhere() -> None:
    """At 140 °F and 55 % the equation gives 8.4 %; the handbook's own table has 8.0 there, so says the article."""
    assert round(wood_moisture(140, 0.55, "fahrenheit").value, 1) == 8.4


# ---- movement --------------------------------------------------------------------------------------

# Species whose shrinkage and coefficients both stand in pages of the handbook that were read.
READ_IN_BOTH = {
    "alder, red": (4.4, 7.3, 0.00151, 0.00256),
    "ash, white": (4.9, 7.8, 0.00169, 0.00274),
    "basswood, American": (6.6, 9.3, 0.00230, 0.00330),
    "beech, American": (5.5, 11.9, 0.00190, 0.00431),
    "butternut": (3.4, 6.4, 0.00116, 0.00223),
    "cherry, black": (3.7, 7.1, 0.00126, 0.00248),
    "sycamore, American": (5.0, 8.4, 0.00172, 0.00296),
    "walnut, black": (5.5, 7.8, 0.00190, 0.00274),
}


@pytest.mark.outside("Wood Handbook, FPL-GTR-190 (2010), Tables 4-3 and 13-5, hardwoods, both read in page copies")
@pytest.mark.parametrize("name", READ_IN_BOTH)
def test_rule_joins_the_two_tables_of_the_handbook(name: str) -> None:
    """With f = 30 the rule turns printed shrinkage into the printed coefficients, within one of their last digit."""
    radial, tangential, by_radial, by_tangential = READ_IN_BOTH[name]
    assert abs(coefficient_from_shrinkage(radial, 30) - by_radial) < 0.00001
    assert abs(coefficient_from_shrinkage(tangential, 30) - by_tangential) < 0.00001


@pytest.mark.parametrize("id", species_names())
def test_each_species_agrees_with_the_rule_at_its_own_start(id: str) -> None:
    """Coefficients and shrinkage of a row belong together, with the moisture content its shrinking starts at."""
    assert _by_rule(id, "radial")
    assert _by_rule(id, "tangential")


@pytest.mark.outside(f"{SHRINKAGE}; {COEFFICIENTS}")
@pytest.mark.parametrize(("id", "at_thirty"), [("western_redcedar", 0.00172), ("northern_white_cedar", 0.00169)])
def test_two_cedars_start_to_shrink_at_22_percent(id: str, at_thirty: float) -> None:
    """With 30 % the rule would give a quarter less than the printed coefficient; with 22 % it gives it."""
    tangential = float(SHRINKS[id][1])
    printed = float(PRINTED[id][1])
    assert round(coefficient_from_shrinkage(tangential, 22), 5) == printed
    assert round(coefficient_from_shrinkage(tangential, 30), 5) == at_thirty < printed * 0.75
    assert species(id).starts == 22


@pytest.mark.outside(
    "Wood magazine, September 2021, Calculating Wood Movement: red alder 8 in, 6 %: 8 x .0026 x 6 = .1248"
)
def test_movement_as_a_magazine_works_it() -> None:
    """A flat-sawn red alder board 8 in wide moves 0.1248 in for 6 %; by the handbook's 0.00256 it is 0.1229."""
    assert round(change_of_size(8, 0.0026, 8, 14), 4) == 0.1248
    assert round(change_of_size(8, READ_IN_BOTH["alder, red"][3], 8, 14), 4) == 0.1229


@pytest.mark.outside(f"{COEFFICIENTS}; Equation 13-2")
def test_movement_of_a_rim_side() -> None:
    """2 1/2 in of flat-sawn eastern white pine from 8 to 14 %: 2.5 x 0.00212 x 6 = 0.0318 in."""
    moved = movement(2.5, species("eastern_white_pine"), Grain.TANGENTIAL, 8, 14)
    assert round(moved.change, 4) == 0.0318
    assert moved.beyond == ()


# ---- conductivity -----------------------------------------------------------------------------------


@pytest.mark.outside(CONDUCTIVITY)
@pytest.mark.parametrize("id", CONDUCTS)
def test_conductivity_by_specific_gravity_agrees_with_the_table(id: str) -> None:
    """The equation gives each printed conductivity within 0.005 W/m K, its rounding."""
    ours = conductivity(float(fact(f"wood.gravity_{id}").number), 12)
    assert abs(ours - float(CONDUCTS[id])) <= 0.0055
