"""How things sit: contact all around, overhangs, what lifts them, and what the cover's skirt hides, by hand."""

from fractions import Fraction
from math import pi
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from woodshop.hive.gaps.gaps import measure_gaps
from woodshop.hive.gaps.seating import cover_fit, notch_way, seats, vent_holes
from woodshop.units.lengths import ZERO, inch


def seat(stack: Any, tier: str = "board") -> Any:
    (found,) = [each for each in seats(stack) if each.tier == tier]
    return found


def test_a_rim_of_the_boxs_own_size_bears_all_round(hive: Any, put: Any) -> None:
    sits = seat(hive(None, put["board"](mesh_low="0.293")))
    assert (sits.leaks, sits.lifted, sits.lifted_by, sits.remark) == ((), ZERO, (), "")
    assert {by for _, by in sits.overhangs} == {ZERO}
    assert sits.own


def test_mesh_stapled_under_closes_the_edge_and_its_staples_are_remarked_on(hive: Any, put: Any) -> None:
    sits = seat(hive(None, put["board"]()))
    assert (sits.leaks, sits.lifted) == ((), ZERO)
    assert "about 0.1 in" in sits.remark


def test_every_box_of_a_usual_hive_bears_all_round(hive: Any, put: Any) -> None:
    stood = hive(None, put["board"](), put["quilt"](), inner="3/4")
    assert [(s.tier, s.on) for s in seats(stood)] == [
        ("box 1", "bottom board"),
        ("box 2", "box 1"),
        ("board", "box 2"),
        ("quilt box", "board"),
        ("inner cover", "quilt box"),
    ]
    assert all(s.leaks == () and not s.lifted for s in seats(stood))


@pytest.mark.invariant
@given(st.integers(-24, 24), st.sampled_from(["16 1/4", "16"]))
@settings(max_examples=tries(20), deadline=None)
def test_a_rim_off_by_less_than_a_wall_leaks_nowhere(hive: Any, box: Any, put: Any, wider: int, width: str) -> None:
    """In 32nds of an inch over both sides: 3/4 of wall on 3/4 of wall leaves at least 3/8 of bearing."""
    by = Fraction(wider, 32)
    rim = put["board"](width=str(inch(width).inches + by), mesh_low="1/4")
    sits = seat(hive(box(width=width), rim, boxes=(box(width=width),), covered=False))
    assert sits.leaks == ()
    assert dict(sits.overhangs)["left"] == dict(sits.overhangs)["right"] == inch(by / 2)


def test_strips_that_stand_proud_lift_the_rim_and_leave_a_slit_all_round(hive: Any, box: Any, put: Any) -> None:
    # strips 3/8 in a gap of 1/4 under a mesh stapled on: 1/8 under the mesh, and a little more beside it
    sits = seat(hive(None, put["board"](), put["strips"](box(), "3/8")))
    assert (sits.lifted, sits.lifted_by) == (inch("1/8"), ("strip",))
    heights = {leak.height for leak in sits.leaks}
    assert min(heights) == inch("1/8")
    # the inside, 14 3/4 x 18 3/8; in front less the upper entrance of 2
    for side, whole in (("front", "12 3/4"), ("back", "14 3/4"), ("left", "18 3/8"), ("right", "18 3/8")):
        runs = [leak for leak in sits.leaks if leak.side == side]
        assert sum((leak.end - leak.start for leak in runs), ZERO) == inch(whole)


def test_a_rim_too_short_for_the_lip_beside_the_frame_rest_leaks_over_the_rests(hive: Any, put: Any) -> None:
    # the lip is 3/8 thick (3/4 less a 3/8 rest): a rim shorter by 7/8 stands 7/16 inside each end, off the lip
    sits = seat(hive(None, put["board"](length="19", mesh_low="1/4")))
    ends = [leak for leak in sits.leaks if leak.side in ("front", "back")]
    assert {leak.height for leak in ends} == {inch("1/4"), inch("5/8")}  # over the lugs, and between them
    assert sum((leak.end - leak.start for leak in ends if leak.side == "front"), ZERO) == inch("12 3/4")  # 14 3/4 - 2
    assert not [leak for leak in sits.leaks if leak.side in ("left", "right") and leak.start > inch("1 1/4")
                and leak.end < inch("18 5/8")]  # fmt: skip


def test_the_cover_by_hand(hive: Any, box: Any, put: Any) -> None:
    stack = hive(None, put["board"](width="16"), put["spacers"](box()), clearance="1/4")
    fit = cover_fit(stack)
    # the cover is made for the box: 16 3/4 inside, over a rim 16 wide
    assert dict(fit.clearance) == {"front": inch("1/4"), "back": inch("1/4"), "left": inch("3/8"), "right": inch("3/8")}
    assert {gap.least for gap in measure_gaps(stack) if gap.name == "skirt overlap"} == {inch("2 3/32")}  # 2 1/4 - 5/32
    assert cover_fit(hive(None, put["board"](), skirt="0", clearance="0")) is None


@pytest.mark.parametrize(
    ("spaced", "inner", "clear", "left"),
    [(False, "", "-1/16", "1/4"), (True, "", "3/32", "5/16"), (True, "3/4", "27/32", "5/16")],
)
def test_what_the_skirt_leaves_of_the_upper_entrance(
    hive: Any, box: Any, put: Any, spaced: bool, inner: str, clear: str, left: str
) -> None:
    """A skirt of 2 1/4 on a rim of 2 1/2, a notch of 5/16 at its lower edge."""
    loads = [put["board"](mesh_low="0"), *([put["spacers"](box())] if spaced else [])]
    stood = hive(None, *loads, inner=inner)
    way = notch_way(measure_gaps(stood), stood)
    assert (way.height, way.clear, way.left) == (inch("5/16"), inch(clear), inch(left))


def test_a_skirt_right_down_leaves_nothing_and_under_a_quilt_box_it_does_not_arise(hive: Any, put: Any) -> None:
    stood = hive(None, put["board"](mesh_low="0"), skirt="2 1/2")
    assert notch_way(measure_gaps(stood), stood).left == ZERO
    stood = hive(None, put["board"](), put["quilt"]())
    assert notch_way(measure_gaps(stood), stood) is None


@pytest.mark.parametrize(
    ("centre", "hidden", "breathing"),
    [
        ("2 3/4", "0", pi / 4),  # skirt edge 5 1/2 - 2 1/4 = 3 1/4 up, hole 2 1/4 to 3 1/4: clear
        ("3 1/4", "1/2", pi / 8),  # cut in half
        # a quarter of the diameter hidden: r = 1/2, segment r2 (pi/3 - sqrt(3)/4) = 0.15355; 0.78540 - 0.15355
        ("3", "1/4", 0.63185),
        ("4", "1", 0.0),
    ],
)
def test_what_of_the_vent_holes_still_breathes(hive: Any, put: Any, centre: str, hidden: str, breathing: float) -> None:
    holes = vent_holes(hive(None, put["quilt"](hole=centre)))
    assert len(holes) == 4
    assert {hole.hidden for hole in holes} == {inch(hidden)}
    assert holes[0].breathing == pytest.approx(breathing, abs=1e-5)
    assert holes[0].area == pytest.approx(pi / 4)
