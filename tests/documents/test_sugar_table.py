"""Sugar, rim, depth and mix of each kind of hive are part of what `check` prints, with where each value comes from."""

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from woodshop.cli import main

DESIGN = """format = "woodshop-design/2"
batch = "b"
unit = "{unit}"
lumberyard = "creekside-lumberyard.toml"
{more}
[[hives]]
name = "tens"
frames = 10
count = 2
gap = "{gap}"
[[hives]]
name = "eights"
frames = 8
count = 1
gap = "{gap}"
{eights}
[[make]]
item = {items}
"""
BOARDS = '["fondant rim", "wire bottom", "spacer strips"]'


@pytest.fixture
def check(tmp_path: Path, designs: Path) -> Any:
    def run(
        *options: str, more: str = "", eights: str = "", items: str = BOARDS, unit: str = "in", gap: str = "1/4"
    ) -> str:
        (tmp_path / "creekside-lumberyard.toml").write_bytes((designs / "creekside-lumberyard.toml").read_bytes())
        path = tmp_path / "d.toml"
        path.write_text(DESIGN.format(more=more, eights=eights, items=items, unit=unit, gap=gap), encoding="utf-8")
        done = CliRunner().invoke(main, ["check", str(path), *options])
        assert done.exit_code == 0, done.output
        return done.stdout

    return run


def rows(check: Any, **given: str) -> dict[str, dict[str, Any]]:
    return {each["hives"].split(",")[0]: each for each in json.loads(check("--json", **given))["sugar"]}


def test_every_kind_of_hive_has_its_sugar_and_whose_word_it_is(check: Any) -> None:
    """12 1/2 in of 8-frame box inside of the 14 3/4 in of ten frames: 13.56 lb of 16, three bags of 4 lb."""
    told = check("--gaps").partition("Sugar, rim and mix of one board")[2].partition("NOTE")[0]
    assert "tens, 10-frame 16 1/4\nsugar  16 lb dry, default: " in told
    assert "of the 16 lb of an American 10-frame board, 13.56 lb, down to whole bags: 3 of 4 lb" in told
    assert 'other_sugar = "whole bags", default: common practice, no source' in told
    assert "rim    2 1/2 in high, the next full board width" in told
    assert "depth  2.04 in at 0.85 kg/L, default: " in told
    assert "2 bowls, each 8 lb of sugar, 1 1/2 cups of water" in told


def test_a_value_that_was_given_says_so(check: Any) -> None:
    found = rows(
        check,
        more='[board]\nsugar = "12 lb"\ndensity = "0.9 kg/L"\nheight = "3 1/2"\n',
        eights='sugar = "9 lb"',
    )
    assert (found["tens"]["sugar"], found["tens"]["sugar_from"]) == ("12 lb", "set under [board]")
    assert (found["eights"]["sugar"], found["eights"]["sugar_from"]) == ("9 lb", "set under these hives")
    assert {each["density_from"] for each in found.values()} == {"set under [board]"}
    assert {(each["rim_height"], each["rim_height_from"]) for each in found.values()} == {
        ("3 1/2", "set under [board]")
    }
    assert found["eights"]["mix"]["bowls"] == 2
    by_area = rows(check, more='[board]\nother_sugar = "by area"\n')["eights"]
    assert by_area["sugar_from"].endswith('(other_sugar = "by area", set under [board])')


def test_a_board_sold_without_sugar_has_no_mix_and_no_board_no_table(check: Any) -> None:
    assert rows(check, eights='form = "with mesh"')["eights"]["mix"] is None
    assert "mix    none; the boards are sold as with mesh" in check("--gaps", eights='form = "with mesh"')
    assert "Sugar, rim and mix" not in check("--gaps", items='"quilt box"')


def test_a_metric_design_has_kilograms_and_millilitres(check: Any) -> None:
    text = check("--gaps", unit="mm", gap="6.5")
    assert "sugar  7 kg dry" in text
    assert "mL of water" in text
