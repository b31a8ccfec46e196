"""A hive is put together from placed parts: each thing centred on what is under it, lowered until it touches."""

from dataclasses import replace
from typing import Any

import pytest

from woodshop.errors import InputError
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.woodenware.box import frame_for, frame_row, hang
from woodshop.reference.patterns import find_pattern
from woodshop.shape.part import overlaps
from woodshop.units.lengths import ZERO, inch

AMERICAN = find_pattern("Langstroth")


def low(tier: Any, *names: str) -> Any:
    return min(p.box.low[2] for p in (tier.named(*names) if names else tier.placed))


@pytest.mark.parametrize(
    ("height", "depth"), [("deep", "9 1/8"), ("medium", "6 1/4"), ("shallow", "5 3/8"), ("7", "6 1/4")]
)
def test_the_frame_is_the_deepest_that_hangs_in_the_box(box: Any, height: str, depth: str) -> None:
    assert frame_row(box(height=height), AMERICAN).length == inch(depth)


def test_a_box_too_low_for_any_frame_asks_for_the_frames_depth(box: Any) -> None:
    with pytest.raises(InputError, match="give frame_depth"):
        frame_row(box(height="5"), AMERICAN)
    with pytest.raises(InputError, match="frame_depth"):
        frame_for(box(), inch(1), AMERICAN)


@pytest.mark.parametrize("kind", [(10, "16 1/4"), (10, "16"), (8, "14"), (8, "13 7/8"), (8, "13 3/4"), (5, "9")])
@pytest.mark.parametrize("height", ["deep", "medium", "shallow"])
def test_no_part_of_a_box_with_its_frames_claims_the_place_of_another(
    hive: Any, box: Any, kind: tuple[int, str], height: str
) -> None:
    b = box(*kind, height=height)
    assert overlaps(hive(b).placed) == ()


def test_a_british_national_hangs_its_frames_level_with_its_upper_edge(hive: Any, put: Any) -> None:
    b = put["national"]()
    stood = hive(b)
    assert overlaps(stood.placed) == ()
    tier = stood.of(TierKind.BOX)[0]
    assert max(p.box.high[2] for p in tier.named("top bar")) == b.height
    assert low(tier, "bottom bar") == inch("8 7/8") - inch("8 1/2")


def test_a_frame_hangs_from_its_lugs(box: Any) -> None:
    b = box()
    placed = hang(b, frame_for(b, inch("9 1/8"), AMERICAN))
    assert len(placed) == 10 * 5
    assert min(p.box.low[2] for p in placed) == inch("1/4")  # 9 5/8 - 1/4 - 9 1/8
    ends = [p for p in placed if p.part.name == "end bar"]
    assert min(p.box.low[0] for p in ends) == inch("1 1/8")  # (19 7/8 - 17 5/8) / 2
    assert {p.box.high[2] for p in ends} == {inch(9)}  # under the lug: 9 3/8 - 3/8


def test_boxes_stand_on_each_other_from_nought_up(hive: Any, box: Any) -> None:
    stood = hive(box(), boxes=(box(), box(height="medium"), box()))
    assert [low(tier, "box side") for tier in stood.of(TierKind.BOX)] == [ZERO, inch("9 5/8"), inch("16 1/4")]
    assert [tier.name for tier in stood.tiers] == ["bottom board", "box 1", "box 2", "box 3", "cover"]
    assert {c.part for c in stood.tiers[2].rests} == {"box side", "box end"}


def test_mesh_stapled_under_keeps_wood_two_wires_off_wood(hive: Any, put: Any) -> None:
    stood = hive(None, put["board"]())
    (board,) = stood.of(TierKind.BOARD)
    assert low(board, "mesh") == inch("19 1/4")
    assert low(board, "side") == inch("19 1/4") + inch("0.082")
    assert {c.part for c in board.rests} == {"mesh"}


def test_a_strip_that_stands_proud_lifts_the_board_and_is_what_it_rests_on(hive: Any, box: Any, put: Any) -> None:
    # 3/8 strips in a gap of 1/4: 1/8 proud
    stood = hive(None, put["board"](), put["strips"](box(), "3/8"))
    (board,) = stood.of(TierKind.BOARD)
    assert low(board, "mesh") == inch("19 1/4") + inch("1/8")
    assert {(c.part, c.on) for c in board.rests} == {("mesh", "strip")}


def test_a_narrow_rim_stands_in_the_middle_of_a_wide_box(hive: Any, put: Any) -> None:
    (board,) = hive(None, put["board"](width="16")).of(TierKind.BOARD)
    assert min(p.box.low[1] for p in board.placed) == inch("1/8")
    assert max(p.box.high[1] for p in board.placed) == inch("16 1/8")


def test_what_stands_on_a_shifted_thing_is_centred_on_it(hive: Any, put: Any) -> None:
    stood = hive(None, replace(put["board"](), shift=(ZERO, inch("1/8"))), put["quilt"]())
    assert min(p.box.low[1] for p in stood.of(TierKind.TOP_BOX)[0].named("side")) == inch("1/8")
    pushed = hive(None, push=(ZERO - inch("1/4"), ZERO))
    # pushed forward by its clearance of 1/4: all of it, 1/2, is in front of the hive
    assert min(p.box.high[0] for p in pushed.tiers[-1].named("skirt end")) == ZERO - inch("1/2")


def test_a_cover_that_is_narrower_than_the_rim_comes_down_on_its_skirt(hive: Any, put: Any) -> None:
    stood = hive(None, put["board"](width="17"))
    assert {c.part for c in stood.tiers[-1].rests} == {"skirt side"}
    assert stood.tiers[-1].rests[0].on_tier == "board"


def test_a_thing_that_comes_down_on_nothing_is_refused(hive: Any, put: Any) -> None:
    with pytest.raises(InputError, match="nothing below it"):
        hive(None, replace(put["board"](), shift=(ZERO, inch(40))))
