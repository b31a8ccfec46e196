"""From design and lumberyard to a settled batch: counts, defaults with their sources, sugar by box."""

from dataclasses import fields
from typing import Any

import pytest

from woodshop.errors import InputError
from woodshop.hardware.board import BoardSettings
from woodshop.hardware.catalogue import find_item
from woodshop.units.lengths import inch, pound

BEGINNER = """format = "woodshop-design/2"
batch = "first-winter"
unit = "in"
lumberyard = "county-lumberyard.toml"
[[hives]]
frames = 10
count = 6
[[make]]
item = ["fondant rim", "wire bottom", "spacer strips", "packing blocks"]
"""
TWO = """format = "woodshop-design/2"
batch = "two"
unit = "in"
lumberyard = "lumberyard.toml"
[[hives]]
name = "tens"
frames = 10
count = 13
gap = ["1/4", "9/32"]
[[hives]]
name = "eights"
frames = 8
width = "13 3/4"
count = 6
gap = "1/4"
[[shed]]
item = "wire bottom"
hives = "tens"
have = 5
repair = 2
[[make]]
item = ["fondant rim", "wire bottom", "spacer strips"]
spare = 1
"""


def test_every_board_setting_a_beginner_leaves_out_is_listed_with_a_source(shop: Any) -> None:
    batch = shop.batch(BEGINNER)
    listed = {(d.where, d.name): d for d in batch.defaults}
    # stapled under, butt joints: what only rabbets and grooves are made by does not matter here
    unused = {"finger", "joint_depth", "rabbet_height", "rabbet_width", "groove_height", "groove_width", "groove_depth"}
    unused |= {"block_boards"}  # nor does gluing boards for a block
    assert {name for where, name in listed if where == "board"} == {f.name for f in fields(BoardSettings)} - unused
    for name in ("spacer strips", "packing blocks"):
        for parameter in find_item(name).parameters:
            assert (name, parameter.name) in listed
    for name in ("width", "length", "wall", "height, deep", "gap over the top bars"):
        assert ("10-frame hives", name) in listed
    assert ("design", "wood") in listed
    assert len(listed) == len(batch.defaults), "each once"
    for default in batch.defaults:
        assert default.value
        assert default.source
    assert "NOT MEASURED" in listed["10-frame hives", "gap over the top bars"].value


@pytest.mark.parametrize(
    ("given", "name"),
    [
        ('joint = "rabbet in the ends"', "joint_depth"),
        ('mounting = "flush rabbet"', "rabbet_height"),
        ('mounting = "saw groove"', "groove_depth"),
    ],
)
@pytest.mark.parametrize("place", ["[board]\n", ""])
def test_what_a_joint_or_mounting_needs_is_listed_with_it(shop: Any, given: str, name: str, place: str) -> None:
    assert ("board", name) in {(d.where, d.name) for d in shop.batch(BEGINNER + place + given + "\n").defaults}


def test_what_is_given_is_not_listed_as_a_default(shop: Any) -> None:
    text = (
        BEGINNER.replace("count = 6", 'count = 6\nwidth = "16"\ngap = "1/4"') + 'number = 4\n[board]\nsugar = "12 lb"\n'
    )
    listed = {(d.where, d.name) for d in shop.batch(text).defaults}
    given = {("10-frame hives", "width"), ("10-frame hives", "gap over the top bars"), ("spacer strips", "number"), ("board", "sugar")}  # fmt: skip  # fmt: skip  # noqa: E501
    assert not listed & given


def test_saw_settings_left_out_are_listed(shop: Any) -> None:
    bare = 'format = "woodshop-lumberyard/1"\nname = "Y"\nseen = 2026-09-12\n[[board]]\nnominal = "1x4"\nsizes = [{length = "8 ft", price = "7"}]\n'  # fmt: skip  # noqa: E501
    batch = shop.batch(BEGINNER, bare)
    saw = {d.name for d in batch.defaults if d.where == "saw"}
    assert {"rip_kerf", "crosscut_kerf", "mark", "end_trim", "wood_in_hand", "shortest_rip", "longest_rip"} <= saw
    assert batch.saw.rip_kerf == inch("1/8")
    given = shop.batch(BEGINNER + '[saw]\nrip_kerf = "3/32"\n')
    assert not [d for d in given.defaults if d.name == "rip_kerf"]


def test_counts_less_what_is_on_hand_plus_repairs_plus_spares(shop: Any) -> None:
    lines = {(line.item.name, line.hives.name): line for line in shop.batch(TWO).lines}
    floor = lines["wire bottom", "tens"]
    assert floor.count == 11  # 13 - 5 + 2 + 1
    assert floor.arithmetic == "13 hives - 5 on hand + 2 to repair + 1 spare = 11"
    assert lines["wire bottom", "eights"].count == 7  # 6 + 1
    assert lines["fondant rim", "tens"].count == 14  # nothing of it in the shed
    assert lines["fondant rim", "tens"].address == "fondant rim / 10-frame 16 1/4"


def test_nothing_is_made_where_everything_is_on_hand(shop: Any) -> None:
    text = TWO.replace("have = 5\nrepair = 2", "have = 13").replace("spare = 1\n", "")
    lines = {(line.item.name, line.hives.name): line for line in shop.batch(text).lines}
    assert lines["wire bottom", "tens"].count == 0


def test_an_item_for_some_hives_is_made_for_those_only(shop: Any) -> None:
    text = TWO + '[[make]]\nitem = "quilt box"\nhives = "eights"\n'
    assert [line.hives.name for line in shop.batch(text).lines if line.item.name == "quilt box"] == ["eights"]


def test_blocks_are_counted_for_people_and_fit_the_tallest_rim(shop: Any) -> None:
    text = TWO.replace('"13 3/4"\ncount = 6', '"13 3/4"\ncount = 6\nsugar = "16 lb"')
    text += '[[make]]\nitem = "packing blocks"\npeople = 3\nspare = 1\n'
    (line,) = [line for line in shop.batch(text).lines if line.item.name == "packing blocks"]
    assert (line.count, line.arithmetic) == (4, "people: 3 + 1 spare")
    assert line.setting.height == inch("3 1/2"), "16 lb in an 8-frame box needs a 1x4: 2.489 + 3/8"


@pytest.mark.parametrize(
    ("extra", "eights"),
    [
        ("", "12"),  # 16 x 12 1/4 / 14 3/4 = 13.29 lb: three bags of 4 lb
        ('bag = "5 lb"', "10"),
        ('sugar = "10 lb"', "8"),  # 8.3 lb: two bags
    ],
)
def test_another_box_gets_whole_bags_of_its_share(shop: Any, extra: str, eights: str) -> None:
    hives = {h.name: h for h in shop.batch(TWO + f"[board]\n{extra}\n").hives}
    assert hives["eights"].sugar == pound(eights)


def test_or_its_share_by_area_or_what_its_hives_are_given(shop: Any) -> None:
    hives = {h.name: h for h in shop.batch(TWO + '[board]\nother_sugar = "by area"\n').hives}
    assert round(float(hives["eights"].sugar.pounds), 2) == 13.29
    text = TWO.replace('width = "13 3/4"', 'width = "13 3/4"\nsugar = "9 lb"')
    assert {h.name: h.sugar for h in shop.batch(text).hives} == {"tens": pound(16), "eights": pound(9)}


def test_the_least_of_the_measured_gaps_decides_and_all_are_kept(shop: Any) -> None:
    batch = shop.batch(TWO)
    assert batch.hives[0].gaps == (inch("1/4"), inch("9/32"))
    assert batch.lines[0].setting.box.gap == inch("1/4")
    assert batch.hives[0].is_gap_measured


def test_an_unpublished_width_is_named_measured(shop: Any) -> None:
    text = TWO.replace('"13 3/4"', '"13 5/8"')
    assert {h.format for h in shop.batch(text).hives} == {"10-frame 16 1/4", "8-frame 13 5/8 measured"}


def test_settings_for_one_make_reach_all_items_of_that_board(shop: Any) -> None:
    text = TWO.replace("spare = 1\n", 'spare = 1\nmounting = "flush rabbet"\nhives = "eights"\n')
    text += '[[make]]\nitem = ["fondant rim", "wire bottom", "spacer strips"]\nhives = "tens"\n'
    mounted = {(line.hives.name, line.setting.board.mounting) for line in shop.batch(text).lines}
    assert mounted == {("eights", "flush rabbet"), ("tens", "stapled under")}


def test_the_same_files_settle_to_the_same_batch(shop: Any) -> None:
    assert shop.batch(TWO) == shop.batch(TWO)


def test_blocks_with_other_settings_than_their_rim_get_an_error_that_names_one_make(shop: Any) -> None:
    text = BEGINNER.replace('"spacer strips", "packing blocks"]', '"spacer strips"]\nmounting = "flush rabbet"')
    with pytest.raises(InputError) as refused:
        shop.batch(text + '[[make]]\nitem = "packing blocks"\n')
    (problem,) = refused.value.problems
    assert problem.where == "make, packing blocks, mounting"
    assert "for the same hives (" in problem.given
    assert 'Make both in one [[make]], item = ["fondant rim", "packing blocks"]' in problem.do
