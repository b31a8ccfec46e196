"""Any box: nucleus, British pattern, from its sizes alone, and from its owner's measured file."""

from typing import Any

import pytest

from woodshop.checks.check_batch import check_hives
from woodshop.design.make_units import make_units
from woodshop.errors import InputError
from woodshop.hive.woodenware.box import stand
from woodshop.shape.part import gap, overlaps
from woodshop.units.lengths import ZERO, inch

MEASURED = """format = "woodshop-measured/1"
owner = "Ingrid Halvorsen"
[[box]]
name = "tens"
frames = 10
[[box.hive]]
length = "19 7/8"
width = "16 1/4"
gap = "1/4"
[[box.hive]]
length = "19 7/8"
width = "16 5/16"
gap = "9/32"
[[box.hive]]
length = "19 13/16"
width = "16 1/4"
gap = "1/4"
"""
USE = 'measured = "boxes.toml"\nbox = "tens"\n'


def hives(shop: Any, old: str, new: str) -> str:
    text: str = shop.design_text
    return text.replace(old, new)


def with_file(shop: Any, measured: str, more: str = USE) -> str:
    shop._write("boxes.toml", measured)
    return hives(shop, 'gap = "1/4"\n', more)


def test_a_five_frame_nucleus_has_a_width_of_its_own(shop: Any) -> None:
    """Outside 9 (from memory): inside 7 1/2; the sugar by area: 16 lb x 7.5 / 14.75 = 8.14 lb, two bags of 4 lb."""
    batch = shop.batch(hives(shop, "frames = 10", "frames = 5"))
    setting = batch.lines[0].setting
    assert setting.box.width == inch(9)
    assert setting.box.inside_width == inch("7 1/2")
    assert setting.sugar.pounds == 8
    assert make_units(batch)[0].assembly.named("front end")[0].part.length == inch("7 1/2")


@pytest.mark.outside("Wikibooks, British National: 18-1/8 in square, brood 8-7/8, inside 16-5/8 by 14-5/8, top bar 17")
def test_the_british_pattern_has_its_published_sizes(shop: Any) -> None:
    text = hives(shop, "frames = 10", 'pattern = "British National"\nframes = 11')
    text += '[board]\nmounting = "flush rabbet"\nrabbet_height = "3/8"\n'
    batch = shop.batch(text.replace('gap = "1/4"\n', ""))
    box = batch.lines[0].setting.box
    assert (box.length, box.width, box.height) == (inch("18 1/8"), inch("18 1/8"), inch("8 7/8"))
    assert (box.inside_width, box.inside_length) == (inch("16 5/8"), inch("14 5/8"))
    assert (box.gap, box.bar.length) == (ZERO, inch(17))
    standing = stand(box)
    assert overlaps(standing.placed) == ()
    walls = [p for p in standing.placed if p.part.name != "top bar"]
    assert gap(walls, standing.named("top bar")) == ZERO
    codes = {f.code for f in check_hives(make_units(batch))[0] if f.severity != "note"}
    assert codes <= {"gap-not-measured"}


def test_bottom_bee_space_is_refused_unless_the_mesh_is_raised(shop: Any) -> None:
    text = hives(shop, "frames = 10", 'pattern = "British National"\nframes = 11').replace('"1/4"', '"0"')
    with pytest.raises(InputError, match="Raise the mesh"):
        make_units(shop.batch(text))


def test_a_box_of_its_own_needs_its_width(shop: Any) -> None:
    with pytest.raises(InputError, match=r"6 frames.*Measure the box"):
        shop.batch(hives(shop, "frames = 10", "frames = 6"))
    batch = shop.batch(hives(shop, "frames = 10", 'frames = 6\nwidth = "10 1/2"'))
    assert batch.lines[0].setting.box.name == "6-frame 10 1/2 measured"


def test_measured_boxes_are_averaged_and_their_spread_is_kept(shop: Any) -> None:
    """Width (16 1/4 + 16 5/16 + 16 1/4) / 3 = 16.271, nearest mark 16 1/4; length 19.854, 19 7/8; spread 1/16."""
    batch = shop.batch(with_file(shop, MEASURED))
    box, group = batch.lines[0].setting.box, batch.hives[0]
    assert (box.width, box.length) == (inch("16 1/4"), inch("19 7/8"))
    assert group.spread == inch("1/16")
    assert group.gaps == (inch("1/4"), inch("9/32"), inch("1/4"))
    ours = {default.name for default in batch.defaults if default.where == "10-frame hives"}
    assert not ours & {"width", "length", "gap over the top bars"}


def test_what_is_given_in_the_design_must_be_among_what_was_measured(shop: Any) -> None:
    batch = shop.batch(with_file(shop, MEASURED, USE + 'width = "16 5/16"\n'))
    assert batch.lines[0].setting.box.width == inch("16 5/16")
    with pytest.raises(InputError, match=r"width: given 16 in; wanted 16 1/4 in, as measured for 'tens'"):
        shop.batch(with_file(shop, MEASURED, USE + 'width = "16"\n'))


def test_boxes_that_differ_too_much_are_found(shop: Any) -> None:
    apart = MEASURED.replace("16 5/16", "16 1/2")
    units = make_units(shop.batch(with_file(shop, apart)))
    found = {f.code: f for f in check_hives(units)[0]}
    assert "boxes-differ" in found
    assert "1/4 in" in found["boxes-differ"].value
    assert "boxes-differ" not in {f.code for f in check_hives(make_units(shop.batch(with_file(shop, MEASURED))))[0]}


SLIPS = {
    "no file": (None, "no such file"),
    "empty": ("", "no format line"),
    "no TOML": ("[[box", "not TOML"),
    "another format": (MEASURED.replace("measured/1", "measured/2"), "woodshop-measured/1"),
    "no owner": (MEASURED.replace('owner = "Ingrid Halvorsen"\n', ""), "a value for 'owner'"),
    "two hives only": (MEASURED.rsplit("[[box.hive]]", 1)[0], "at least 3 hives"),
    "no gap": (MEASURED.replace('gap = "9/32"\n', ""), "a value for 'gap'"),
    "a gap of words": (MEASURED.replace("9/32", "a bit"), "a length such as"),
    "a width of nothing": (MEASURED.replace("16 5/16", "0"), "more than 0"),
    "a misspelt key": (MEASURED.replace("width", "widht", 1), "Did you mean 'width'"),
    "other frames": (MEASURED.replace("frames = 10", "frames = 8"), "the same count in both"),
    "another name": (MEASURED.replace('name = "tens"', 'name = "tans"'), "Did you mean 'tans'"),
    "a name twice": (MEASURED + MEASURED.split("\n", 2)[2], "each name once"),
    "a wall that is a list": (MEASURED.replace('gap = "9/32"', 'gap = "9/32"\nwall = ["3/4"]'), "a length"),
    "no hives": (MEASURED.split("[[box.hive]]")[0] + "hive = []\n", "at least 1"),
}


@pytest.mark.parametrize(("text", "said"), SLIPS.values(), ids=SLIPS.keys())
def test_a_malformed_measured_file_is_one_clear_error(shop: Any, text: str | None, said: str) -> None:
    missing = hives(shop, 'gap = "1/4"\n', USE.replace("boxes", "nowhere"))
    design = missing if text is None else with_file(shop, text)
    with pytest.raises(InputError) as refused:
        shop.batch(design)
    assert said in str(refused.value)
    assert all(problem.where and problem.given and problem.wanted and problem.do for problem in refused.value.problems)


def test_a_box_named_without_a_file_is_refused(shop: Any) -> None:
    with pytest.raises(InputError, match="Add a measured line"):
        shop.batch(hives(shop, 'gap = "1/4"\n', 'box = "tens"\n'))
