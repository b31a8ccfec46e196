"""What the syrup command tells: plain values for what was asked, lines, and every problem at once."""

import json
from typing import Any

import pytest

from woodshop.documents.answers.season import read_volume, syrup_section
from woodshop.drawing.pens.section_json import section_json
from woodshop.drawing.pens.text import section_text
from woodshop.errors import InputError
from woodshop.units.lengths import litres


def told_of(*asked: Any, **named: Any) -> dict[str, Any]:
    """What the section has for machines."""
    return section_json(syrup_section(*asked, **named))


def test_sugar_is_made_into_two_to_one_unless_told() -> None:
    """10 lb make 10 + 5 lb, 1.35 gal; the strength given is the one used."""
    syrup = told_of(sugar="10 lb")["syrup"]
    assert (syrup["strength"], syrup["water"]) == ("2:1", "5 lb (2.27 kg)")
    assert syrup["volume"].startswith("1.35 US gal")
    assert syrup["crystals_below"] == "17 °C (63 °F)"
    thin = told_of("1:1", sugar="10 lb")["syrup"]
    assert thin["volume"].startswith("1.95 US gal")
    assert thin["crystals_below"] is None


def test_volume_wanted_tells_what_to_weigh() -> None:
    """Two gallons of 1:1 are 10.26 lb of each (7.5708 L x 1.2295 / 2 = 4.654 kg)."""
    syrup = told_of("1:1", volume="2 gal")["syrup"]
    assert (syrup["sugar"], syrup["water"]) == ("10.26 lb (4.65 kg)", "10.26 lb (4.65 kg)")


def test_light_hives_are_added_up() -> None:
    """Six hives 20 lb short want 16.4 lb each and 98.4 in all."""
    light = told_of(stores_wanted="60 lb", stores_there="40 lb", hives=6)["light_hives"]
    assert light["short_each"].startswith("20 lb")
    assert light["sugar_each"].startswith("16.4 lb")
    assert light["syrup"]["sugar"].startswith("98.4 lb")


def test_a_full_hive_is_fed_nothing() -> None:
    """No syrup, no caution about syrup, and a line that says so."""
    told = told_of(stores_wanted="60 lb", stores_there="60 lb")
    assert told["light_hives"]["syrup"] is None
    assert told["cautions"] == []
    section = syrup_section(stores_wanted="60 lb", stores_there="60 lb")
    assert "Nothing to feed." in section_text(section).split("\n")


def test_the_caution_against_disease_comes_before_any_figure_of_a_board() -> None:
    """Whoever reads the water to stir in has read first whose sugar it must not be."""
    lines = section_text(syrup_section(board_weight="16 lb", board_tare="4 lb", boards=20)).split("\n")
    assert lines[0].startswith("Caution: Never make feed from the fondant board of a colony")
    assert any(line.startswith("20 boards: 320 lb") for line in lines)
    assert any(line.startswith("Stir in 216 lb") for line in lines)  # 20 x 10.8
    assert len(lines) == len(set(lines))


def test_the_water_left_is_a_judgement_until_it_is_given() -> None:
    """Taken from the table it is marked and explained; given, it is used and not explained."""
    judged = told_of(board_weight="16 lb", board_tare="4 lb")
    weighed = told_of(board_weight="16 lb", board_tare="4 lb", board_water="0 %")
    assert judged["season_end"]["left_water_judged"]
    assert any("is an estimate (5 %)" in note for note in judged["notes"])
    assert weighed["season_end"]["sugar"].startswith("12 lb")
    assert not any("estimate" in note for note in weighed["notes"])


def test_known_contradictions_are_told() -> None:
    """A club's yields, a keeper's gain in weight and the spread of advice on stores stand beside the figures."""
    notes = " ".join(told_of(stores_wanted="60 lb", stores_there="40 lb")["notes"])
    assert "promise 7 to 11 % more" in notes
    assert "29 % more sugar is needed" in notes
    assert "from 25 lb" in notes
    assert "to 145 lb" in notes


def test_all_sections_in_one_asking_are_plain_values() -> None:
    """Everything goes through JSON unchanged."""
    told = told_of(volume="5 gal", stores_wanted="60 lb", stores_there="40 lb", board_weight="9 kg", board_tare="2 kg")
    again = json.loads(json.dumps(told))
    assert again == told
    assert {"syrup", "light_hives", "season_end", "notes", "cautions", "defer", "sources"} == set(told)


@pytest.mark.parametrize(
    ("asked", "where"),
    [
        ({}, ["syrup"]),
        ({"sugar": "10"}, ["sugar"]),
        ({"sugar": "0 lb"}, ["sugar"]),
        ({"sugar": "10 lb", "strength": "2"}, ["strength"]),
        ({"sugar": "10 lb", "strength": "3:1"}, ["strength of the syrup"]),
        ({"sugar": "10 lb", "volume": "1 gal"}, ["sugar and volume"]),
        ({"volume": "1/0 gal"}, ["volume"]),
        ({"volume": "1e9 gal"}, ["volume"]),
        ({"volume": "99999999 gal"}, ["volume"]),
        ({"volume": "9" * 5000 + " gal"}, ["volume"]),
        ({"sugar": "9" * 5000 + " lb"}, ["sugar"]),
        ({"stores_wanted": "60 lb"}, ["stores wanted"]),
        ({"stores_there": "60 lb"}, ["stores there"]),
        ({"board_weight": "60 lb"}, ["board weight"]),
        ({"board_tare": "4 lb"}, ["board tare"]),
        ({"board_weight": "4 lb", "board_tare": "16 lb"}, ["weight of the board"]),
        ({"board_weight": "16 lb", "board_tare": "4 lb", "board_water": "0.05"}, ["board water"]),
        ({"board_weight": "16 lb", "board_tare": "4 lb", "board_water": "100 %"}, ["water left in the sugar"]),
        ({"board_water": "5 %", "sugar": "10 lb"}, ["board water"]),
        ({"sugar": "10 lb", "hives": 0, "boards": -1}, ["hives", "boards"]),
        (
            {"sugar": "x", "strength": "9", "stores_wanted": "1 lb", "board_weight": "?"},
            ["strength", "sugar", "board weight", "stores wanted", "board weight"],
        ),
    ],
)
def test_bad_askings_are_refused_with_every_problem(asked: dict[str, Any], where: list[str]) -> None:
    """One error that names each place, what was given, what is wanted and what to do."""
    with pytest.raises(InputError) as caught:
        syrup_section(**asked)
    assert [problem.where for problem in caught.value.problems] == where
    assert all(problem.wanted and problem.do for problem in caught.value.problems)


@pytest.mark.parametrize(
    ("text", "in_litres"),
    [
        ("1 gal", "3.785411784"),
        ("4 qt", "3.785411784"),
        ("8 pt", "3.785411784"),
        ("16 cups", "3.785411784"),
        ("1 imp gal", "4.54609"),
        ("1 1/2 L", "1.5"),
        ("250 mL", "0.25"),
    ],
)
def test_volumes_read_exactly(text: str, in_litres: str) -> None:
    """US measures by the gallon of 231 cubic inches, the imperial gallon of 4.54609 L."""
    assert read_volume(text) == litres(in_litres)
