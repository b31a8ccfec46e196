"""Patterns of hives: published, partly published, and measured; and that no box gets the frames of another one."""

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from woodshop.checks.hives import measure_hives
from woodshop.design.design_file import files_named, read_design_text
from woodshop.design.make_units import builds_of, make_units
from woodshop.errors import InputError
from woodshop.findings import Severity
from woodshop.reference.patterns import MEASURES, find_pattern, patterns
from woodshop.units.lengths import inch, millimetre

SIZES = {
    "inside_length": 450, "inside_width": 385, "wall": 25, "end_wall": 27, "rest": 15, "top_bar_length": 470,
    "top_bar_width": 25, "top_bar_thickness": 20, "lug_thickness": 10, "frame_length": 435, "end_bar_width": 28,
    "end_bar_thickness": 10, "bottom_bar_thickness": 9, "spacing": 37,
}  # fmt: skip
BODY = '[[pattern.body]]\nname = "{}"\nheight = "{} mm"\nframe_depth = "{} mm"\n'
BODIES = BODY.format("brood", 315, 300) + BODY.format("super", 170, 160)
USE = 'pattern = "home made"\n'


def lines(sizes: dict[str, int], more: str = "") -> str:
    return more + "".join(f'{name} = "{size} mm"\n' for name, size in sizes.items())


def own(sizes: dict[str, int] | None = None, more: str = "", bodies: str = BODIES) -> str:
    return '[[pattern]]\nname = "home made"\n' + lines(SIZES if sizes is None else sizes, more) + bodies


def design(shop: Any, hives: str, more: str = "") -> str:
    text: str = shop.design_text.replace('gap = "1/4"\n', 'gap = "8 mm"\n' + hives) + more
    return text


def refused(shop: Any, text: str) -> str:
    with pytest.raises(InputError) as why:
        shop.batch(text)
    assert len(why.value.problems) == 1
    return str(why.value)


@pytest.mark.parametrize(
    "hives",
    [
        'length = "500 mm"\nwidth = "435 mm"\nwall = "25 mm"\n',  # a Dadant-Blatt box
        'length = "520 mm"\nwidth = "420 mm"\nwall = "20 mm"\n',  # inside 480, longer than American top bars need
        'frame_depth = "220 mm"\n',  # a Zander frame
        'frame_depth = "223 mm"\n',
        'boxes = ["12", "12"]\nframe_depth = "300 mm"\n',
    ],
)
def test_boxes_and_frames_of_another_pattern_are_never_taken_to_be_american(shop: Any, hives: str) -> None:
    said = refused(shop, design(shop, hives))
    assert "given no pattern" in said
    assert "say which pattern your boxes have: woodshop patterns" in said


def test_what_is_said_to_be_american_is(shop: Any) -> None:
    batch = shop.batch(design(shop, 'pattern = "Langstroth"\nboxes = ["12", "12"]\nframe_depth = "11 1/4"\n'))
    assert batch.hives[0].woodenware.boxes[0][0].bar.length == find_pattern("Langstroth").size("top_bar_length").length


@pytest.mark.parametrize("name", [each.name for each in patterns() if each.missing])
def test_a_pattern_that_is_not_all_published_asks_for_the_rest_in_one_error(shop: Any, name: str) -> None:
    said = refused(shop, shop.design_text.replace('gap = "1/4"\n', f'pattern = "{name}"\n'))
    for size in (*find_pattern(name).missing, "gap", "height"):
        assert f"{size}: " in said
    assert "frame_length: " not in said


def test_a_measured_pattern_is_measured_on_its_parts(shop: Any) -> None:
    batch = shop.batch(design(shop, USE + 'boxes = ["brood", "super"]\n', own()))
    box, frame = batch.hives[0].woodenware.boxes[0]
    assert (box.length, box.width) == (millimetre(450 + 2 * 27), millimetre(385 + 2 * 25))
    assert (box.wall, box.end_wall, box.height, box.gap) == tuple(map(millimetre, (25, 27, 315, 8)))
    assert [each.depth for _, each in batch.hives[0].woodenware.boxes] == [millimetre(300), millimetre(160)]
    listed = {each.name.replace(" ", "_") for each in batch.defaults if "10-frame" in each.where}
    assert not listed & (MEASURES.keys() | {"height", "frame_depth", "width", "length"})
    assert frame.end_width == frame.end_below == millimetre(28)


@pytest.mark.parametrize("name", [*MEASURES, "gap"])
def test_each_size_left_out_of_a_pattern_is_asked_for(shop: Any, name: str) -> None:
    text = design(shop, USE, own({size: mm for size, mm in SIZES.items() if size != name}))
    said = refused(shop, text.replace('gap = "8 mm"\n', "") if name == "gap" else text)
    assert f"without {name};" in said


def test_a_pattern_like_a_published_one_has_its_other_sizes(shop: Any) -> None:
    few = {name: SIZES[name] for name in ("inside_length", "wall", "end_wall")}
    batch = shop.batch(design(shop, USE, own(few, 'like = "Dadant-Blatt"\n', bodies="")))
    (box, frame), *others = batch.hives[0].woodenware.boxes
    assert not others  # one brood body in winter
    assert (box.end_wall, box.height, frame.length) == tuple(map(millimetre, (27, 318, 435)))


SLIPS = {
    "a lug thicker than its bar": (own(SIZES | {"lug_thickness": 21}), "lug_thickness: given"),
    "frames wider than apart": (own(SIZES | {"end_bar_width": 38}), "end_bar_width: given"),
    "a frame as long as the box": (own(SIZES | {"frame_length": 450}), "frame_length: given"),
    "a box as long as the bar": (own(SIZES | {"inside_length": 470}), "inside_length: given"),
    "a rest through the wall": (own(SIZES | {"rest": 27}), "rest: given"),
    "narrow end bars without a shoulder": (own(SIZES | {"end_bar_below": 22}), "no end_bar_shoulder"),
    "a body twice": (own(bodies=BODIES + BODY.format("super", 90, 80)), "'super' twice"),
    "a name that is published": (own().replace("home made", "Zander"), "a name of its own"),
    "a name twice": (own() + own(), "a name of its own"),
    "like nothing": (own(more='like = "Zandre"\n'), "Did you mean 'Zander'?"),
    "no such key": (own().replace("rest =", "rset ="), "Did you mean 'rest'?"),
    "a short rest": (own(SIZES | {"rest": 5}), "too short for"),
}


@pytest.mark.parametrize(("text", "said"), SLIPS.values(), ids=SLIPS.keys())
def test_a_pattern_that_contradicts_itself_is_refused(shop: Any, text: str, said: str) -> None:
    with pytest.raises(InputError) as why:
        shop.batch(design(shop, USE, text))
    assert said in str(why.value)


@pytest.mark.parametrize(("name", "said"), [("Dadant", "Did you mean 'Dadant-Blatt'?"), ("skep", "woodshop patterns")])
def test_an_unknown_pattern_is_refused(shop: Any, name: str, said: str) -> None:
    assert said in refused(shop, design(shop, f'pattern = "{name}"\n'))


def test_a_body_that_a_pattern_does_not_have_is_refused(shop: Any) -> None:
    assert "brood, super" in refused(shop, design(shop, 'pattern = "Dadant-Blatt"\nheight = "deep"\n'))
    assert "brood, super" in refused(shop, design(shop, 'pattern = "Dadant-Blatt"\nboxes = ["deep", "super"]\n'))


def test_another_number_of_frames_needs_a_width(shop: Any) -> None:
    text = design(shop, 'pattern = "Dadant-Blatt"\n').replace("frames = 10", "frames = 6")
    assert "without width;" in refused(shop, text)
    assert shop.batch(text.replace("frames = 6", 'frames = 6\nwidth = "290 mm"')).lines


def test_a_cover_that_no_pattern_has_is_listed_as_not_measured(shop: Any) -> None:
    """Until the user says what covers are on these hives."""
    text = design(shop, 'pattern = "Dadant-Blatt"\n')
    (listed,) = [each for each in shop.batch(text).defaults if each.name == "cover"]
    assert "NOT MEASURED" in listed.value
    assert "Dadant-Blatt" in listed.source
    given = text.replace('pattern = "Dadant-Blatt"\n', 'pattern = "Dadant-Blatt"\ncover = "flat"\n')
    assert not [each for each in shop.batch(given).defaults if each.name == "cover"]


@pytest.mark.parametrize(
    ("given", "assumed", "size"),
    [
        (
            "",
            "skirt and the clearance of the cover not measured; an American cover is assumed: skirt 2 1/4 in deep, cl",
            "assumed cover",
        ),
        (
            'cover_skirt = "60 mm"\n',
            "the clearance of the cover not measured; an American cover is assumed: clearance 1/4 in at",
            "assumed cover",
        ),
        ('cover_skirt = "60 mm"\ncover_clearance = "5 mm"\n', "", "cover"),
        ('cover = "flat"\n', "", "cover"),
    ],
)
def test_a_cover_of_another_pattern_is_found_and_its_gaps_say_so(
    shop: Any, given: str, assumed: str, size: str
) -> None:
    note = shop.findings(design(shop, f'pattern = "Dadant-Blatt"\n{given}')).get("cover-not-measured")
    assert (note is not None) is bool(assumed)
    if note is not None:
        assert note.severity is Severity.NOTE
        assert assumed in note.value
        assert {"cover_skirt", "cover_clearance"} <= set(re.findall(r"\w+", note.change))
    batch = shop.batch(design(shop, f'pattern = "Dadant-Blatt"\n{given}'))
    (group,) = measure_hives(make_units(batch))
    at = {gap.place.partition(" o")[0] for _, hive in group.measured for gap in hive.gaps if "cover o" in gap.place}
    assert at == {size}


FILE = 'format = "woodshop-patterns/1"\nunit = "mm"\n'


def in_file(shop: Any, tmp_path: Path, pattern: str = "", name: str = "mine.toml") -> str:
    """A design that names a file of patterns, with this pattern in the file."""
    (tmp_path / name).write_text(FILE + (pattern or own().replace(" mm", "")), encoding="utf-8")
    text: str = design(shop, USE)
    return text.replace("[[hives]]", f'patterns = "{name}"\n[[hives]]', 1)


def test_a_pattern_can_be_in_a_file_of_its_own(shop: Any, tmp_path: Path) -> None:
    """Its lengths are in the unit of the file. It is the same as in the design."""
    text = in_file(shop, tmp_path)
    inline = design(shop, USE, own())
    found = read_design_text(text, tmp_path / "design.toml"), read_design_text(inline, tmp_path / "design.toml")
    assert found[0].patterns == found[1].patterns
    assert ("patterns", "mine.toml") in files_named(tomllib.loads(text))


FILE_SLIPS = {
    "no such file": ("", "none.toml", "no such file"),
    "twice": (own() + own(), "mine.toml", "mine.toml, pattern number 2, name"),
    "contradicts itself": (own(SIZES | {"rest": 27}), "mine.toml", "mine.toml, pattern number 1, rest"),
    "nothing in it": ("#", "mine.toml", "mine.toml, pattern: given"),
    "no such key": ('colour = "red"\n' + own(), "mine.toml", "colour"),
}


@pytest.mark.parametrize(("pattern", "name", "said"), FILE_SLIPS.values(), ids=FILE_SLIPS.keys())
def test_a_file_of_patterns_that_will_not_do_is_refused(
    shop: Any, tmp_path: Path, pattern: str, name: str, said: str
) -> None:
    text = in_file(shop, tmp_path, pattern).replace("mine.toml", name)
    with pytest.raises(InputError) as why:
        read_design_text(text, tmp_path / "design.toml")
    assert said in str(why.value)


def test_a_name_in_a_file_and_in_the_design_is_refused(shop: Any, tmp_path: Path) -> None:
    with pytest.raises(InputError) as why:
        read_design_text(in_file(shop, tmp_path) + own(), tmp_path / "design.toml")
    assert "a name of its own" in str(why.value)


ONE = '[[hives.body]]\nheight = "{}"\n'
BOTH = ONE.format("deep") + "{}" + ONE.format("medium")


def test_a_box_of_a_mixed_hive_keeps_the_gap_measured_on_it(shop: Any) -> None:
    """The gaps over the top box vary as measured; that of a box with its own gap does not."""
    text = design(shop, BOTH.format('gap = "5 mm"\n')).replace('gap = "8 mm"\n', 'gap = ["6 mm", "9 mm", "8 mm"]\n', 1)
    batch = shop.batch(text)
    units = make_units(batch)
    (build,) = builds_of({unit.line.item.name: unit for unit in units}, millimetre(9))
    assert [box.gap for box, _ in build.ware.boxes] == [millimetre(5), millimetre(9)]
    assert [box.height for box, _ in build.ware.boxes] == [inch("9 5/8"), inch("6 5/8")]
    assert [frame.depth for _, frame in build.ware.boxes] == [inch("9 1/8"), inch("6 1/4")]


MIXED_SLIPS = {
    "too many frames": ("frames = 12\n", "body number 1, frames: given 12 frames 1 3/8 in apart"),
    "frames in each other": ('spacing = "1 1/4"\n', "body number 1, spacing: given 1 1/4 in"),
    "boards too thick": ('followers = 2\nfollower = "1"\n', "and 2 follower boards"),
    "a board without a thickness": ("followers = 1\n", "without follower"),
    "frames too deep": ('frame_depth = "9 3/4"\n', "frames that fit in a box"),
    "frames of another pattern": ('frame_depth = "220 mm"\n', "given no pattern"),
    "no such pattern": ('pattern = "skep"\n', "woodshop patterns"),
    "a pattern that asks": ('pattern = "Zander"\n', "without inside_length"),
    "three boards": ('followers = 3\nfollower = "1"\n', "wanted 2 or less"),
    "boxes too": ('[[hives.body]]\nheight = "deep"\n', "boxes and [[hives.body]]"),
}


@pytest.mark.parametrize(("more", "said"), MIXED_SLIPS.values(), ids=MIXED_SLIPS.keys())
def test_a_mixed_hive_that_cannot_be_is_refused(shop: Any, more: str, said: str) -> None:
    before = 'boxes = ["deep", "medium"]\n' if said.startswith("boxes") else ""
    with pytest.raises(InputError) as why:
        shop.batch(design(shop, before + BOTH.format(more)))
    assert said in str(why.value)


OUR_OWN = {
    "rim_length",
    "rim_width",
    "boxes",
    "height of the entrance (set for the mouse guard)",
    "bee_space",
    "priority",
    "form",
}
AMERICAN_COVER = {"cover", "cover_skirt", "cover_clearance"}


@pytest.mark.invariant
@pytest.mark.parametrize("name", [each.name for each in patterns()[1:] if each.frames and not each.missing])
def test_nothing_of_another_pattern_is_used_without_being_listed(shop: Any, name: str) -> None:
    """Every size of a box and its frames is a default of its own pattern; only the cover is an American one's."""
    pattern = find_pattern(name)
    text = shop.design_text.replace("frames = 10", f'frames = {pattern.frames[0]}\npattern = "{name}"')
    batch = shop.batch(text.replace('gap = "1/4"', 'gap = "8 mm"'))
    listed = [each for each in batch.defaults if each.where == f"{pattern.frames[0]}-frame hives"]
    cites = {pattern.row(size, pattern.frames[0]).cite for size in pattern.facts if pattern.row(size) is not None}
    for each in listed:
        if each.name not in OUR_OWN | AMERICAN_COVER:
            assert each.source in cites, each
    assert {each.name for each in listed} >= AMERICAN_COVER
    ((box, frame), *_) = batch.hives[0].woodenware.boxes
    frames = {each.name for each in listed}
    for size in ("top bar length", "top bar width", "frame length", "end bar width", "bottom bar thickness", "spacing"):
        assert size in frames, size
    assert frame.length == pattern.size("frame_length").length
    assert box.bar.length == pattern.size("top_bar_length").length


def test_the_entrance_has_one_default_in_the_hive_and_in_its_guard(shop: Any) -> None:
    design = shop.design_text.replace('unit = "in"', 'unit = "mm"').replace('gap = "1/4"', 'gap = "6.4"')
    batch = shop.batch(design + '[[make]]\nitem = "mouse guard"\n')
    assert batch.hives[0].woodenware.bottom.entrance_height == millimetre(20)
    said = {each.name: each for each in batch.defaults if "entrance" in each.name and "height" in each.name}
    assert {each.value for each in said.values()} == {"20 mm"}
    assert len({each.source for each in said.values()}) == 1
    (guard,) = [line for line in batch.lines if line.item.name == "mouse guard"]
    assert dict(guard.given)["entrance_height"] == millimetre(20)


def test_a_quilt_box_too_high_for_every_board_says_what_its_height_is_for(shop: Any) -> None:
    """2 in of shavings, 1 in of hole and 9 in of skirt."""
    with pytest.raises(InputError) as refused:
        shop.findings(shop.design_text + '[[make]]\nitem = "quilt box"\nskirt = "4"\nshavings = "8"\n')
    (problem,) = refused.value.problems
    assert "8 in of shavings, a 1 in vent hole and 4 in under the cover's skirt" in problem.wanted
    assert 'made_of = "plywood" for this item, under [[make]]' in problem.do
    assert "set shavings to 6 1/4 in or less" in problem.do
