"""Changes of a design that touch several places, and what people type as values."""

import ast
import re
import tomllib
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from woodshop.design.design_file import read_design_text
from woodshop.design.keys import table_names
from woodshop.design.remedy import design_changes
from woodshop.design.schema import path_text
from woodshop.errors import Problem
from woodshop.page import fields, work_panel
from woodshop.page.frame import screen_with
from woodshop.page.opened import changes
from woodshop.page.screens import fit

PATH = Path(__file__).parents[2] / "designs" / "hobby-batch.toml"
ROOM = Path(fields.__file__).parents[1]
HOBBY = PATH.read_text(encoding="utf-8")
ONE = """format = "woodshop-design/2"
batch = "one"
unit = "in"
lumberyard = "creekside-lumberyard.toml"

[[hives]]
frames = 10
count = 6

[[make]]
item = ["board", "quilt box"]
spare = 1
"""


def read(text: str) -> dict[str, Any]:
    """The tables of a text that is also a design without errors."""
    read_design_text(text, PATH)
    return tomllib.loads(text)


def test_a_second_group_gives_all_a_name() -> None:
    names = [each["name"] for each in read(changes.add_group(ONE))["hives"]]
    assert names == ["10-frame hives", "10-frame hives 2"]
    assert [each["name"] for each in read(changes.copy_group(ONE, 0))["hives"]] == names


def test_a_new_name_reaches_the_shed_and_what_is_made() -> None:
    text = changes.make_for(HOBBY, 2, ["house tens"])
    raw = read(changes.rename_group(text, 0, "home"))
    assert [each["name"] for each in raw["hives"]] == ["home", "orchard tens", "orchard eights"]
    assert [each["hives"] for each in raw["shed"]] == ["home"] * 4 + ["orchard eights"]
    assert raw["make"][2]["hives"] == ["home"]


def test_a_group_goes_with_its_shed_and_what_is_made_for_it_alone() -> None:
    text = changes.make_for(changes.make_for(HOBBY, 2, ["house tens"]), 1, ["house tens", "orchard tens"])
    raw = read(changes.remove_group(text, 0))
    assert [each["name"] for each in raw["hives"]] == ["orchard tens", "orchard eights"]
    assert [each["hives"] for each in raw["shed"]] == ["orchard eights"]
    assert [each["item"] for each in raw["make"]] == [["fondant rim", "wire bottom", "spacer strips"], "packing blocks"]
    assert raw["make"][1]["hives"] == ["orchard tens"]


def test_an_item_is_made_and_left_out() -> None:
    made = changes.make_item(ONE, "mouse guard")
    assert [each["item"] for each in read(made)["make"]] == [["board", "quilt box"], "mouse guard"]
    assert changes.leave_out_item(made, "mouse guard") == ONE
    left = changes.leave_out_item(ONE, "wire bottom")
    assert set(read(left)["make"][0]["item"]) == {"fondant rim", "spacer strips", "quilt box"}


def test_an_item_is_set_apart_with_the_same_settings() -> None:
    make = read(changes.make_apart(ONE, "quilt box", 0))["make"]
    assert [set(changes.item_names(each)) for each in make] == [
        {"fondant rim", "wire bottom", "spacer strips"},
        {"quilt box"},
    ]
    assert [each["spare"] for each in make] == [1, 1]


def test_all_hives_are_no_line() -> None:
    some = changes.make_for(HOBBY, 0, ["house tens"])
    assert read(some)["make"][0]["hives"] == ["house tens"]
    assert changes.make_for(some, 0, ["orchard eights", "house tens", "orchard tens"]) == HOBBY
    assert changes.make_for(some, 0, []) == HOBBY


def test_the_shed_begins_with_none_on_hand() -> None:
    raw = read(changes.add_to_shed(ONE, "quilt box"))
    assert raw["shed"] == [{"item": "quilt box", "hives": "10-frame hives", "have": 0}]
    second = changes.add_to_shed(HOBBY, "quilt box")
    assert read(second)["shed"][-1] == {"item": "quilt box", "hives": "orchard tens", "have": 0}


@pytest.mark.parametrize(("names", "written"), [(["a.toml"], "a.toml"), (["a.toml", "b.toml"], ["a.toml", "b.toml"])])
def test_lumberyards_are_one_name_or_a_list(names: list[str], written: object) -> None:
    assert read(changes.buy_at(HOBBY, names))["lumberyard"] == written


@pytest.mark.parametrize(
    ("typed", "kind", "value"),
    [
        (" 16 1/4 ", "text", "16 1/4"),
        ("", "text", None),
        ("12", "whole number", 12),
        ("a dozen", "whole number", "a dozen"),
        ("²", "whole number", "²"),
        ("1/4, 9/32", "list", ["1/4", "9/32"]),
        ("1/4", "list", "1/4"),
        ("deep", "only list", ["deep"]),
        ("8, 10", "numbers", [8, 10]),
        ("8", "numbers", 8),
        ("2026-11-26", "date", date(2026, 11, 26)),
        ("11/26", "date", "11/26"),
        ("22 to 25 1/2, 40 to 41", "stretches", [["22", "25 1/2"], ["40", "41"]]),
        ("yes", "yes or no", True),
        ("Oct 31, 2026; Dec 20, 2026 to Jan 3, 2027", "days", [date(2026, 10, 31), "2026-12-20 to 2027-01-03"]),
        ("Nov 4, 2026 18:00-21:00", "days", ["2026-11-04 18:00-21:00"]),
        ("Halloween", "days", ["Halloween"]),
        ("Sat, Sun 9:00-12:00; Mon 18-20", "hours", ["Sat, Sun 9:00-12:00", "Mon 18-20"]),
    ],
)
def test_what_is_typed_becomes_a_value_and_is_shown_as_typed(typed: str, kind: str, value: object) -> None:
    assert fields.from_typed(typed, kind) == value
    assert fields.shown_as(value, kind) == typed.strip()


@pytest.mark.parametrize(
    "typed",
    [
        "2026-10-31, 2026-12-20 to 2027-01-03",
        "Oct 31, 2026, Dec 20, 2026 to Jan 3, 2027",
        "october 31 2026; 20 December 2026 to 3 Jan 2027",
    ],
)
def test_days_are_typed_year_first_or_with_the_name_of_the_month(typed: str) -> None:
    assert fields.from_typed(typed, "days") == [date(2026, 10, 31), "2026-12-20 to 2027-01-03"]


def test_every_array_of_tables_is_on_a_screen_and_every_field_has_words() -> None:
    """Only arrays that no person needs may be left to the screen of the file; a problem of a field is said in words."""
    arrays = [name for name, written in table_names().items() if written.startswith("[[")]
    assert {name for name in arrays if screen_with(name.partition(".")[0]).route == "file"} == set()
    tables = read(HOBBY)
    for place, words in (
        (("hives", 1, "gap"), "Orchard tens: gap over the top bars"),
        (("make", 2, "height"), "Quilt box: height"),
        (("board", "sugar"), "Fondant board: sugar"),
        (("crew", "person", 0, "off"), "Ingrid: days off"),
        (("shed", 1, "have"), "Wire bottom in the shed: how many you have"),
        (("saw", "mark"), "Mark"),
    ):
        problem = Problem(f"design.toml, {path_text(place)}", "x", "y", "Z.")
        assert fields.spoken_problem(problem, tables, "design.toml") == f"{words}: given x; wanted y. Z."


def test_a_remedy_says_what_it_sets_for_whom_and_what_the_shed_has() -> None:
    tables = tomllib.loads(HOBBY)
    change = design_changes((("board.mounting", '"flush rabbet"'), ("make.quilt box.height", '"5 1/2"')), tables)
    assert fit.change_lines(change, tables, "mm") == (
        "All fondant boards, Mounting: flush rabbet (now stapled under)",
        "Quilt box, Height: 139.7 mm (now left to woodshop)",
    )
    shared, shed, eights = fit.reach_lines(change, tables)
    assert shared == "This changes what is made for house tens, orchard tens, orchard eights."
    assert shed.startswith(
        "The shed has for house tens: fondant rim (5), wire bottom (5), spacer strips (5), quilt box"
    )
    assert eights.startswith("The shed has for orchard eights: quilt box (2). They stay as they are.")
    (one,) = design_changes((("hives.orchard tens.rim_width", ""),), tables)
    assert fit.reach_lines((one,), tables) == []


def test_no_finding_says_on_the_page_how_a_line_of_the_file_is_written() -> None:
    said = [text for file in (*ROOM.glob("checks/*.py"), *ROOM.glob("hardware/items/*.py")) for text in said_in(file)]
    assert len(said) > 60
    for text in said:
        spoken = work_panel.spoken_change(text)
        if "Developers" not in text:
            assert not re.search(r"\w_\w|\[\[|\w = |woodshop \w|--", spoken), (text, spoken)


def said_in(file: Path) -> Iterator[str]:
    """What the findings of a module say to do. A value that is put in is "3/8"."""
    for call in ast.walk(ast.parse(file.read_text("utf-8"))):
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id == "Finding":
            texts = list(ast.walk(call.args[6])) if len(call.args) > 6 else []
            joined = [each.values for each in texts if isinstance(each, ast.JoinedStr)]
            parts = [id(part) for values in joined for part in values]
            single: list[list[ast.expr]] = [
                [each] for each in texts if isinstance(each, ast.Constant) and id(each) not in parts
            ]
            for values in (*joined, *single):
                yield "".join(str(each.value) if isinstance(each, ast.Constant) else '"3/8"' for each in values)
