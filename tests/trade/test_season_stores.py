"""Stores for winter: what is lacking, the sugar for it, and the last day for syrup, against sums done by hand."""

import json
import tomllib
from fractions import Fraction
from pathlib import Path

import pytest
from click.testing import CliRunner

from woodshop.cli import main
from woodshop.design.settings.conditions import Temperature
from woodshop.documents.answers.season import stores_section
from woodshop.drawing.pens.section_json import section_json
from woodshop.drawing.pens.text import section_text
from woodshop.errors import InputError
from woodshop.trade.season.stores import Stores, last_day_above, published_stores, read_stores
from woodshop.units.lengths import pound

HEAD = 'format = "woodshop-stores/1"\n'
ORCHARD = (21, 23, 32, 43, 54, 63, 68, 66, 59, 48, 37, 26)


def stores(tmp_path: Path, text: str) -> Stores:
    (tmp_path / "stores.toml").write_text(HEAD + text)
    return read_stores(tmp_path / "stores.toml")


def fahrenheit(*degrees: float) -> tuple[Temperature, ...]:
    return tuple(Temperature(f"{each:g} °F", (each - 32) / 1.8) for each in degrees)


@pytest.mark.outside(
    "a fifth bee-supply house: stores of ripened syrup hold 18 % water; by hand: 20 lb x 0.82 = 16.4 lb"
)
def test_twenty_pounds_short_take_sixteen_and_four_tenths_of_sugar(tmp_path: Path) -> None:
    """By hand: 60 - 40 = 20 lb short; 20 x 0.82 = 16.4 lb sugar, half as much water, 5 bags of 4 lb."""
    found = stores(tmp_path, 'wanted = "60 lb"\n[[hive]]\nname = "a"\nweighed = "100 lb"\nwithout_stores = "60 lb"\n')
    (hive,) = found.hives
    assert hive.short.least == hive.short.most == pound(20)
    assert hive.sugar.least == hive.sugar.most == pound("16.4")
    assert hive.least.syrup is not None
    assert hive.least.syrup.water == pound("8.2")
    assert found.bags == (5, 5)
    told = section_text(stores_section(found))
    assert "20 lb (9.1 kg) short: 16.4 lb (7.4 kg) of sugar." in told
    assert "Your own targets are used instead." in told


@pytest.mark.outside("Vincent Aloyo: 60 to 80 lb in Pennsylvania, one full deep or 15 medium frames")
def test_a_place_keeps_its_spread_and_so_do_frames(tmp_path: Path) -> None:
    """By hand: 5 deep of 10 and 3 medium of 15 are 0.7 of 60 to 80 lb: 42 to 56 lb; 60 - 56 = 4, 80 - 42 = 38 lb."""
    text = 'place = "pennsylvania"\n[[hive]]\nname = "a"\ncount = 3\ndeep_frames = "5"\nmedium_frames = "3"\n'
    found = stores(tmp_path, text)
    (hive,) = found.hives
    assert (hive.there.least, hive.there.most) == (pound(42), pound(56))
    assert (hive.short.least, hive.short.most) == (pound(4), pound(38))
    assert found.sugar.most == pound(38) * Fraction(82, 100) * 3
    named = {default.name for default in found.defaults}
    assert {"strength", "bag", "water in stores", "honey in deep frames", "honey in medium frames"} == named


@pytest.mark.outside("How to Succeed with Bees: 25 lb at least; Linda's Bees on a talk by Flottum: 145 lb in Ohio")
def test_without_a_place_the_whole_spread_stands_and_nothing_is_chosen(tmp_path: Path) -> None:
    found = stores(tmp_path, '[[hive]]\nname = "a"\nstores = "45 lb"\n')
    assert found.used == published_stores()
    assert (found.hives[0].wanted.least, found.hives[0].wanted.most) == (pound(25), pound(145))
    assert (found.hives[0].short.least, found.hives[0].short.most) == (pound(0), pound(100))
    assert any(default.name == "wanted" for default in found.defaults)


def test_enough_everywhere_is_nothing_to_feed(tmp_path: Path) -> None:
    found = stores(tmp_path, 'place = "idaho"\n[[hive]]\nname = "a"\nstores = "50 lb"\n')
    assert "Nothing to feed." in section_text(stores_section(found)).split("\n")
    assert found.bags == (0, 0)


@pytest.mark.outside("a bee-supply house: syrup below 50 F is not readily taken; a blog: bees cluster below 57 F")
def test_last_days_of_the_orchard() -> None:
    """By hand: 59 on 15 September falls 11 in 30 days: 57 after 5.5 days, 50 after 24.5."""
    outside = fahrenheit(*ORCHARD)
    assert last_day_above(outside, (57 - 32) / 1.8) == (9, 20)
    assert last_day_above(outside, (50 - 32) / 1.8) == (10, 9)
    assert last_day_above(outside, (70 - 32) / 1.8) is None
    assert last_day_above(outside, (20 - 32) / 1.8) is None


def test_south_of_the_equator_the_last_day_is_in_autumn_too() -> None:
    """The same year turned half round: 15 March falls to 48 on 15 April, 31 days: 9/11 of them are 25.4."""
    outside = fahrenheit(*ORCHARD[6:], *ORCHARD[:6])
    assert last_day_above(outside, (50 - 32) / 1.8) == (4, 9)


def test_the_days_own_word_and_none(tmp_path: Path) -> None:
    hive = '[[hive]]\nname = "a"\nstores = "5 lb"\n'
    found = stores(tmp_path, "last_day = 2026-10-03\n" + hive)
    assert section_json(stores_section(found))["last_days"] == [{"day": "3 October", "why": "as you gave it"}]
    assert "Last day for syrup: not known." in section_text(stores_section(stores(tmp_path, hive)))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('place = "pensylvania"\n[[hive]]\nname = "a"\nstores = "1 lb"\n', "Did you mean 'pennsylvania'?"),
        ('place = "uk"\nwanted = "9 lb"\n[[hive]]\nname = "a"\nstores = "1 lb"\n', "wanted and place"),
        ('[[hive]]\nname = "a"\n', "no stores given"),
        ('[[hive]]\nname = "a"\nstores = "1 lb"\ndeep_frames = "2"\n', "in more than one way"),
        ('[[hive]]\nname = "a"\nweighed = "90 lb"\n', "no without_stores"),
        ('[[hive]]\nname = "a"\nweighed = "60 lb"\nwithout_stores = "90 lb"\n', "less than 90 lb without stores"),
        ('[[hive]]\nname = "a"\ndeep_frames = "600"\n', "at most 60"),
        ('[[hive]]\nname = "a"\nstores = "1 lb"\n[[hive]]\nname = "a"\nstores = "1 lb"\n', "a name of its own"),
        ('strength = "thick"\n[[hive]]\nname = "a"\nstores = "1 lb"\n', "sugar to water by weight"),
        ('strength = "3:1"\n[[hive]]\nname = "a"\nstores = "1 lb"\n', "dissolves at 20"),
        ('outside = ["21 F"]\n[[hive]]\nname = "a"\nstores = "1 lb"\n', "twelve from January"),
        ('[[hive]]\nname = "a"\nstore = "1 lb"\n', "Did you mean 'stores'?"),
        ('place = "uk"\n', "hive"),
    ],
)
def test_what_cannot_be_is_refused(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(InputError, match=r"stores\.toml|strength") as refused:
        stores(tmp_path, text)
    assert said in str(refused.value)


def test_command_prints_lines_and_json(tmp_path: Path) -> None:
    file = Path(__file__).resolve().parents[2] / "designs/orchard-stores.toml"
    assert tomllib.loads(file.read_text())["format"] == "woodshop-stores/1"
    said = CliRunner().invoke(main, ["stores", str(file)])
    assert said.exit_code == 0
    assert "Last day for syrup: 9 October." in said.output
    told = json.loads(CliRunner().invoke(main, ["stores", str(file), "--json"]).output)
    assert told["hives"][0]["short_lb"] == ["9", "29"]
    assert told["bags"] == [1, 5]
    assert CliRunner().invoke(main, ["stores", str(tmp_path / "none.toml")]).exit_code == 3
