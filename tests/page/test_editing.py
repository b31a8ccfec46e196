"""Editing the text of a TOML file: the change is made, and every other byte stays."""

import difflib
import tomllib
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from woodshop.errors import InputError
from woodshop.page.opened import editing

DESIGNS = Path(__file__).parents[2] / "designs"
HOBBY = (DESIGNS / "hobby-batch.toml").read_text(encoding="utf-8")
LUMBERYARD = (DESIGNS / "creekside-lumberyard.toml").read_text(encoding="utf-8")


def changes(old: str, new: str) -> list[str]:
    """The lines that were removed and added."""
    return [line for line in difflib.ndiff(old.splitlines(), new.splitlines()) if line[0] in "+-"]


def test_a_value_is_replaced_and_its_comment_stays() -> None:
    new = editing.set_value(HOBBY, ("hives", 0, "gap"), ["1/4", "5/16"])
    assert changes(HOBBY, new) == [
        '- gap = ["1/4", "1/4", "9/32"]     # straightedge over three hives',
        '+ gap = ["1/4", "5/16"]     # straightedge over three hives',
    ]


@pytest.mark.parametrize(
    ("place", "value", "added"),
    [
        (("hives", 1, "length"), "20", ['+ length = "20"']),
        (("paper",), "a4", ['+ paper = "a4"']),
        (("on_by",), date(2026, 11, 30), ["- on_by = 2026-11-26", "+ on_by = 2026-11-30"]),
        (("labels", "hives"), False, ["+ ", "+ [labels]", "+ hives = false"]),
        (("crew", "person", 0, "name"), "Ida", ['- name = "Ingrid"', '+ name = "Ida"']),
    ],
)
def test_only_its_line_changes(place: editing.Place, value: Any, added: list[str]) -> None:
    new = editing.set_value(HOBBY, place, value)
    assert [line.partition("  ")[0] for line in changes(HOBBY, new) if line[0] != "?"] == added
    assert editing.value_at(tomllib.loads(new), place) == value


def test_a_key_goes_below_the_comment_that_explains_it() -> None:
    text = '[board]\n# Dry sugar.\n# sugar = "16 lb"\n# Mounting.\nmounting = "proud"\n'
    assert editing.set_value(text, ("board", "sugar"), "8 lb") == text.replace("# M", 'sugar = "8 lb"\n# M')


def test_a_price_inside_a_list_changes_alone() -> None:
    new = editing.set_value(LUMBERYARD, ("board", 1, "sizes", 2, "price"), "7.05")
    assert changes(LUMBERYARD, new)[0] == '-     { length = "10 ft", price = "6.95" },'
    assert len(changes(LUMBERYARD, new)) <= 4


def test_sizes_are_added_to_and_removed_from_a_list() -> None:
    longer = editing.set_value(LUMBERYARD, ("board", 1, "sizes", 4), {"length": "16 ft", "price": "11.00"})
    assert changes(LUMBERYARD, longer) == ['+     {length = "16 ft", price = "11.00"},']
    assert editing.remove_value(longer, ("board", 1, "sizes", 4)) == LUMBERYARD


def test_the_comment_above_the_next_table_stays_when_a_table_goes() -> None:
    new = editing.remove_table(HOBBY, ("hives", 2))
    assert "# Five good boards hang in the shed" in new
    assert [each["name"] for each in tomllib.loads(new)["hives"]] == ["house tens", "orchard tens"]
    assert "\n\n\n" not in new


def test_a_table_is_copied_to_the_place_after_it() -> None:
    new = editing.copy_table(HOBBY, ("hives", 0))
    assert [each["name"] for each in tomllib.loads(new)["hives"]] == [
        "house tens",
        "house tens",
        "orchard tens",
        "orchard eights",
    ]
    assert editing.remove_table(new, ("hives", 1)) == HOBBY


def test_a_table_is_added_after_the_last_one_of_its_array() -> None:
    new = editing.add_table(HOBBY, ("hives",), {"name": "garden", "frames": 8, "count": 1})
    assert changes(HOBBY, new) == ["+ [[hives]]", '+ name = "garden"', "+ frames = 8", "+ count = 1", "+ "]
    assert editing.remove_table(new, ("hives", 3)) == HOBBY


def test_a_first_table_goes_to_the_end() -> None:
    text = 'format = "woodshop-design/2"'
    assert editing.add_table(text, ("shed",), {"have": 1}) == f"{text}\n\n[[shed]]\nhave = 1\n"


@pytest.mark.parametrize("text", ["hives = [{ frames = 10 }, { frames = 8 }]  # two\n", "hives = [\n {frames = 10},\n"
                                  " {frames = 8}, # eight\n]\n"])  # fmt: skip
def test_tables_written_in_one_list_are_edited_there(text: str) -> None:
    frames = [each["frames"] for each in tomllib.loads(editing.copy_table(text, ("hives", 0)))["hives"]]
    assert frames == [10, 10, 8]
    frames = [each["frames"] for each in tomllib.loads(editing.remove_table(text, ("hives", 0)))["hives"]]
    assert frames == [8]
    assert tomllib.loads(editing.add_table(text, ("hives",), {"frames": 5}))["hives"][2] == {"frames": 5}


def test_line_ends_of_the_file_are_kept() -> None:
    text = HOBBY.replace("\n", "\r\n")
    new = editing.add_table(editing.set_value(text, ("paper",), "a4"), ("hives",), {"frames": 8})
    assert "\n" not in new.replace("\r\n", "")
    back = editing.remove_value(editing.remove_table(new, ("hives", 3)), ("paper",))
    assert back == text


@pytest.mark.parametrize(
    "text",
    [
        'a = """\n[[hives]]\n"""\n[[hives]]\nframes = 1\n',
        "a = '''\n[[hives]] # '\n'''\n[[hives]]\nframes = 1\n",
        'a = [ # ]\n "[[hives]]",\n [1, 2],\n]\n[[hives]]\nframes = 1\n',
        'a = "#[[hives]]\\"" # "\n  [[ hives ]] # x = """\nframes = 1\n',
        'a = """x\\""""" # "\n[["hives"]]\nframes = 1\n',
    ],
)
def test_what_looks_like_a_header_inside_a_value_is_not_one(text: str) -> None:
    new = editing.set_value(text, ("hives", 0, "frames"), 2)
    assert new == text.replace("frames = 1", "frames = 2")


@pytest.mark.parametrize("bad", ["a = ", "[[hives]", "a = 1\na = 2\n", "a = [" * 5000, "a" + ".a" * 200 + " = 1"])
def test_a_text_that_is_not_toml_is_refused(bad: str) -> None:
    with pytest.raises(InputError):
        editing.set_value(bad, ("x",), 1)


@pytest.mark.parametrize("place", [("hives", 7, "gap"), ("batch", "x"), ("hives", "x")])
def test_a_place_that_is_not_there_is_refused(place: editing.Place) -> None:
    with pytest.raises(InputError, match="cannot be changed here"):
        editing.set_value(HOBBY, place, "1")


TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
VALUES = st.one_of(TEXTS, st.integers(-9999, 9999), st.booleans(), st.dates(), st.lists(TEXTS, max_size=3))


@pytest.mark.invariant
@settings(max_examples=tries(200), deadline=None)
@given(st.sampled_from(sorted(DESIGNS.glob("*.toml"))), st.data())
def test_any_value_can_be_set_and_all_comments_stay(path: Path, data: st.DataObject) -> None:
    text = path.read_text(encoding="utf-8")
    raw = tomllib.loads(text, parse_float=str)
    place: editing.Place = ()
    inner: Any = raw
    while isinstance(inner, dict | list) and inner:
        step = data.draw(st.sampled_from(range(len(inner)) if isinstance(inner, list) else sorted(inner)))
        place, inner = (*place, step), inner[step]
        if data.draw(st.booleans()) and not isinstance(inner, dict | list):
            break
    value = data.draw(VALUES)
    new = editing.set_value(text, place, value)
    assert editing.value_at(tomllib.loads(new, parse_float=str), place) == value
    missing = [line for line in text.splitlines() if line.startswith("#") and line not in new]
    assert missing == []
