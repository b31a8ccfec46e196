"""What the user has round the hardware, settled from the keys under [[hives]], each default listed with its source."""

from typing import Any

import pytest

from woodshop.checks.check_batch import measured_batch
from woodshop.errors import InputError
from woodshop.findings import Severity
from woodshop.hive.gaps.grading import Grade, bee_space, grade_gap
from woodshop.units.lengths import ZERO, inch

PLAIN = 'gap = "1/4"\n'


def design(hives: str, make: str = '[[make]]\nitem = ["quilt box", "mouse guard"]\n', frames: int = 10) -> str:
    return (
        'format = "woodshop-design/2"\nbatch = "b"\nunit = "in"\nlumberyard = "lumberyard.toml"\n'
        f"[[hives]]\nframes = {frames}\ncount = 3\n{hives}\n{make}"
    )


def ware(shop: Any, *args: Any, **kwargs: Any) -> Any:
    return shop.batch(design(*args, **kwargs)).hives[0].woodenware


def listed(shop: Any, *args: Any, **kwargs: Any) -> dict[str, Any]:
    return {d.name: d for d in shop.batch(design(*args, **kwargs)).defaults}


def test_left_out_two_boxes_of_the_one_height_and_their_rows_are_listed(shop: Any) -> None:
    stands = ware(shop, PLAIN)
    assert [box.height for box, _ in stands.boxes] == [inch("9 5/8")] * 2
    assert {frame.depth for _, frame in stands.boxes} == {inch("9 1/8")}
    assert (stands.inner, stands.cover.skirt, stands.cover.width) == (None, inch("2 1/4"), inch("16 3/4"))
    assert (stands.bottom.entrance_height, stands.bottom.entrance_width) == (inch("3/4"), inch("14 3/4"))
    rows = listed(shop, PLAIN)
    for name in ("boxes", "frame_depth in a box 9 5/8 in high", "bee_space", "cover", "cover_skirt", "cover_clearance"):
        assert rows[name].source, name
    assert rows["boxes"].source == "common practice, no source"


def test_a_nucleus_has_one_box(shop: Any) -> None:
    assert len(ware(shop, PLAIN, frames=5).boxes) == 1
    assert len(ware(shop, PLAIN, frames=8).boxes) == 2


def test_boxes_from_the_ground_up_the_board_stands_on_the_last(shop: Any) -> None:
    stands = ware(shop, PLAIN + 'boxes = ["deep", "9 1/2", "medium"]')
    assert [box.height for box, _ in stands.boxes] == [inch("9 5/8"), inch("9 1/2"), inch("6 5/8")]
    assert [frame.depth for _, frame in stands.boxes] == [inch("9 1/8"), inch("9 1/8"), inch("6 1/4")]
    batch = shop.batch(design(PLAIN + 'boxes = ["deep", "medium"]'))
    assert batch.lines[0].setting.box.height == inch("6 5/8")
    rows = listed(shop, PLAIN + 'boxes = ["deep", "medium"]')
    assert {"height, deep", "height, medium"} <= rows.keys()


def test_a_measured_frame_hangs_in_the_boxes_of_that_height(shop: Any) -> None:
    stands = ware(shop, PLAIN + 'boxes = ["medium", "deep", "deep"]\nframe_depth = "9 3/16"')
    assert [frame.depth for _, frame in stands.boxes] == [inch("6 1/4"), inch("9 3/16"), inch("9 3/16")]


def test_frames_are_given_for_each_box_from_the_ground_up(shop: Any) -> None:
    three = PLAIN + 'boxes = ["medium", "deep", "deep"]\n'
    stands = ware(shop, three + 'frame_depth = ["6 3/16", "9 3/16", "9 1/8"]')
    assert [frame.depth for _, frame in stands.boxes] == [inch("6 3/16"), inch("9 3/16"), inch("9 1/8")]
    assert not stands.default_frames
    with pytest.raises(InputError, match="frame_depth: given 2 for 3 boxes"):
        ware(shop, three + 'frame_depth = ["6 3/16", "9 3/16"]')


def test_frames_that_were_not_given_beside_those_that_were_are_listed_and_flagged(shop: Any) -> None:
    mixed = PLAIN + 'boxes = ["medium", "deep"]\nframe_depth = "9 1/8"'
    assert listed(shop, mixed)["frame_depth in a box 6 5/8 in high"].value == "6 1/4 in"
    found = shop.findings(design(mixed))["frames-not-measured"]
    assert found.severity is Severity.WARNING
    assert "box 1: 6 1/4 in" in found.value
    assert found.change.endswith('frame_depth = ["6 1/4", "9 1/8"].')
    pasted = PLAIN + 'boxes = ["medium", "deep"]\nframe_depth = ["6 1/4", "9 1/8"]'
    assert "frames-not-measured" not in shop.findings(design(pasted))
    assert "frames-not-measured" not in shop.findings(design(PLAIN))


def test_a_frame_far_too_shallow_for_its_box_is_found_and_its_gap_is_not_as_meant(shop: Any) -> None:
    """6 1/4 in a box 9 in high with a gap of 1/4 leaves 2 1/2 in, and 3/4 of bottom board: 3 1/4 in to the floor."""
    taken = PLAIN + 'boxes = ["9", "9 5/8"]\nframe_depth = "9 1/8"'
    found = shop.findings(design(taken))["frames-too-shallow"]
    assert found.severity is Severity.WARNING
    assert "box 1: bottom bar to floor 3 1/4 in" in found.value
    given = PLAIN + 'boxes = ["9 5/8", "9 5/8"]\nframe_depth = ["6 1/4", "6 1/4"]'
    own = shop.findings(design(given))["frames-too-shallow"]
    assert own.severity is Severity.NOTE
    assert "box 1 to box 2" in own.value
    batch = shop.batch(design(taken))
    _, _, groups = measured_batch(batch)
    floors = [
        grade_gap(gap, bee_space(batch.conditions.band)).grade
        for group in groups
        for _, measured in group.alternatives
        for _, hive in measured
        for gap in hive.gaps
        if gap.name == "bottom bar to floor"
    ]
    assert floors
    assert Grade.WIDE_BY_DESIGN not in floors


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (
            'height = "medium"\nboxes = ["deep", "deep"]',
            "deep as the last, though the box under the board is 6 5/8 in high",
        ),
        ('frame_depth = "10"', "frames that fit in a box"),
        ('bee_space = "bottom"', "bars level with the box edge"),
        ('cover = "flat"\ncover_skirt = "2"', "Remove one of them"),
        ('cover_clearance = "2"', "0 in to 1 in"),
        ("boxes = []", "at least 1"),
        ('boxes = ["tall"]', "boxes"),
        ('cover = "flatt"', "Did you mean 'flat'"),
        ('height = "5"', "give frame_depth"),
    ],
)
def test_what_contradicts_itself_is_refused(shop: Any, given: str, said: str) -> None:
    with pytest.raises(InputError) as bad:
        shop.batch(design(PLAIN + given))
    assert said in str(bad.value)


def test_a_low_box_is_taken_once_its_frames_are_measured(shop: Any) -> None:
    assert ware(shop, PLAIN + 'height = "5"\nframe_depth = "4 3/8"').boxes[0][1].depth == inch("4 3/8")


def test_bottom_bee_space_has_the_bars_level_with_the_box(shop: Any) -> None:
    batch = shop.batch(design('bee_space = "bottom"', '[[make]]\nitem = "quilt box"\n'))
    assert batch.hives[0].woodenware.boxes[0][0].gap == ZERO
    assert not batch.hives[0].is_gap_measured


def test_the_covers_skirt_is_what_the_items_under_it_go_by(shop: Any) -> None:
    make = '[[make]]\nitem = ["quilt box", "vent spacers"]\n'
    batch = shop.batch(design(PLAIN + 'cover_skirt = "2"\ncover_clearance = "3/16"', make))
    given = {line.item.name: dict(line.given) for line in batch.lines}
    assert given["quilt box"]["skirt"] == given["vent spacers"]["skirt"] == inch(2)
    assert given["vent spacers"]["clearance"] == inch("3/16")
    assert batch.hives[0].woodenware.cover.width == inch("16 5/8")
    assert not {"skirt", "clearance", "cover_skirt"} & {d.name for d in batch.defaults}
    flat = shop.batch(design(PLAIN + 'cover = "flat"', '[[make]]\nitem = "quilt box"\n'))
    assert dict(flat.lines[0].given)["skirt"] == ZERO
    assert flat.hives[0].woodenware.cover.is_flat


def test_what_is_given_for_an_item_under_it_tells_of_the_cover(shop: Any) -> None:
    make = '[[make]]\nitem = "quilt box"\nskirt = "3"\n'
    assert ware(shop, PLAIN, make).cover.skirt == inch(3)
    both = make + '[[make]]\nitem = "vent spacers"\nskirt = "2"\n'
    with pytest.raises(InputError, match="one cover on these hives"):
        shop.batch(design(PLAIN, both))
    with pytest.raises(InputError, match="2 1/2 in for the hives, 3 in for the quilt box"):
        shop.batch(design(PLAIN + 'cover_skirt = "2 1/2"', make))
    assert ware(shop, PLAIN + 'cover_skirt = "3"', make).cover.skirt == inch(3)


def test_a_guard_tells_of_the_entrance_and_an_insert_under_a_screened_bottom(shop: Any) -> None:
    guard = '[[make]]\nitem = "mouse guard"\nentrance_height = "3/8"\nentrance_width = "6"\n'
    make = guard + '[[make]]\nitem = "bottom insert"\n'
    bottom = ware(shop, PLAIN, make).bottom
    assert (bottom.entrance_height, bottom.entrance_width, bottom.screened) == (inch("3/8"), inch(6), True)
    assert not ware(shop, PLAIN).bottom.screened
