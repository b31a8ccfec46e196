"""The box that our hardware is measured against: its walls, its frames, the gap over the top bars."""

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.shape.probe import probe
from woodshop.hive.woodenware.box import HiveBox, TopBar, stand
from woodshop.shape.part import Role, gap, overlaps, part_volume
from woodshop.units.lengths import ZERO, Length, inch

BAR = TopBar(inch(19), inch("1 1/16"), inch("3/4"), inch("3/8"), inch("1 3/8"))
QUARTER = inch("1/4")


def box(frames: int = 10, width: str = "16 1/4", over: Length = QUARTER) -> HiveBox:
    return HiveBox(
        "box",
        frames,
        inch("19 7/8"),
        width=inch(width),
        height=inch("9 5/8"),
        wall=inch("3/4"),
        gap=over,
        rest=inch("3/8"),
        bar=BAR,
    )


@pytest.mark.outside("Howland Blackiston, Building Beehives, cut list: 19 7/8 outside, 3/4 walls; inside by arithmetic")
def test_inside_is_outside_less_two_walls() -> None:
    assert box().inside_length == inch("18 3/8")  # 19 7/8 - 1 1/2
    assert box().inside_width == inch("14 3/4")  # 16 1/4 - 1 1/2
    assert box(8, "13 3/4").inside_width == inch("12 1/4")


@pytest.mark.invariant
@given(st.sampled_from([(10, "16 1/4"), (10, "16"), (8, "13 3/4"), (8, "13 7/8"), (8, "14")]), st.integers(0, 64))
def test_the_gap_over_the_top_bars_is_measured_on_the_placed_parts(kind: tuple[int, str], sixty_fourths: int) -> None:
    over = inch(Fraction(sixty_fourths, 64))
    stood = stand(box(*kind, over))
    bars = stood.named("top bar")
    assert len(bars) == kind[0]
    top = max(p.box.high[2] for p in stood.placed if p.part.name != "top bar")
    assert {top - bar.box.high[2] for bar in bars} == {over}
    assert {p.role for p in stood.placed} == {Role.EXISTING}
    assert overlaps(stood.placed) == ()


@pytest.mark.invariant
@given(st.sampled_from([(10, "16 1/4"), (10, "16"), (8, "13 3/4"), (8, "14")]))
def test_walls_fill_the_frame_less_the_rests_and_bars_hang_on_the_rests(kind: tuple[int, str]) -> None:
    b = box(*kind)
    walls = [p for p in stand(b).placed if p.part.name != "top bar"]
    outside = b.length * b.width - b.inside_length * b.inside_width
    rests = (b.inside_width * b.rest) * (b.gap + b.bar.lug) * 2
    assert sum((part_volume(p) for p in walls), outside * ZERO) == outside * b.height - rests
    # the lug's underside stands on the bottom of the rest: no gap between bar and end wall
    bars = stand(b).named("top bar")
    ends = [p for p in walls if p.part.name == "box end"]
    assert gap(ends, bars) == ZERO


def test_ten_self_spacing_frames_leave_an_inch_in_a_sixteen_and_a_quarter_box() -> None:
    # 10 x 1 3/8 = 13 3/4 of end bars in 14 3/4; top bars are 1 1/16: the outer one starts
    # 3/4 + 1/2 + (1 3/8 - 1 1/16) / 2 = 1 13/32 from the outside
    stood = stand(box())
    assert min(p.box.low[1] for p in stood.named("top bar")) == inch("1 13/32")
    # between two top bars 1 3/8 - 1 1/16 = 5/16
    spans = probe(stood.named("top bar"), 1, inch(10), inch("9 1/8"))
    assert {b.start - a.end for a, b in pairwise(spans)} == {inch("5/16")}


def test_another_gap_is_the_same_box_otherwise() -> None:
    assert box().with_gap(inch("3/8")) == box(over=inch("3/8"))
