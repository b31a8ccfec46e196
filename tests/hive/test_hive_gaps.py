"""Gaps are read off the placed parts: by hand arithmetic, and by shifting one part and measuring again."""

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.hive.shifted import with_part
from tests.nightly import IS_NIGHT, tries
from woodshop.hive.gaps.faces import labels
from woodshop.hive.gaps.gaps import gathered, measure_gaps
from woodshop.shape.part import Role
from woodshop.units.lengths import ZERO, inch, read_length

EIGHTH = inch("1/8")


def table(stack: Any) -> dict[tuple[str, str], Any]:
    return {(gap.name, gap.place): gap for gap in gathered(measure_gaps(stack))}


@pytest.fixture(scope="module")
def full(hive: Any, box: Any, put: Any) -> Any:
    b = box()
    return hive(b, put["board"](), put["strips"](b), put["quilt"](), put["spacers"](b), inner="3/4", screened=True)


@pytest.fixture(scope="module")
def nucleus(hive: Any, box: Any, put: Any) -> Any:
    b = box(5, "9")
    loads = (put["board"](width="9"), put["strips"](b), put["quilt"](width="9"), put["spacers"](b))
    return hive(b, *loads, inner="3/4", screened=True)


@pytest.fixture(scope="module")
def plain(hive: Any, box: Any, put: Any) -> Any:
    b = box(8, "13 3/4", height="medium")
    board = put["board"](width="14", mesh_low="0.293", notch=("3/8", "5/16"))
    return hive(b, board, put["strips"](b, "1/2"), put["spacers"](b), boxes=(b,))


@pytest.mark.invariant
@pytest.mark.parametrize("which", ["nucleus", "plain"])
def test_a_part_that_is_shifted_moves_its_own_gaps_by_just_so_much_and_no_others(
    which: str, request: pytest.FixtureRequest
) -> None:
    """Every part of the stack, along every axis; whatever the sizes say that the parts were made from."""
    stack = request.getfixturevalue(which)
    before = {(g.name, g.place, g.between): g for g in measure_gaps(stack)}
    touched: set[str] = set()
    for n, tier in enumerate(stack.tiers):
        for k in range(len(tier.placed)):
            mine = labels(tier)[k]
            for axis in range(3) if IS_NIGHT else ((n + k) % 3, 2):
                by = tuple(EIGHTH if i == axis else ZERO for i in range(3))
                after = {(g.name, g.place, g.between): g for g in measure_gaps(with_part(stack, n, k, by))}
                assert after.keys() == before.keys(), (mine, axis)
                for key, old in before.items():
                    first, second = old.between
                    change = ZERO
                    if old.axis == axis:
                        change = EIGHTH * ((second == mine) - (first == mine))
                    moved = (after[key].least - old.least, after[key].most - old.most)
                    assert moved == (change, change), (mine, axis, key)
                    if change:
                        touched.add(mine)
    untouched = {p.part.name for tier in stack.tiers for p in tier.placed if p.role is not Role.EXISTING} - {
        each.partition(",")[0].rstrip(" 1234567890") for each in touched
    }
    assert untouched <= {"shavings"}, "every made part is a side of some gap"


def test_gaps_of_a_usual_hive_by_hand(full: Any) -> None:
    seen = table(full)

    def value(name: str, place: str) -> Any:
        gap = seen[name, place]
        assert gap.least == gap.most
        return gap.least

    assert value("between top bars", "box 1") == inch("5/16")  # 1 3/8 - 1 1/16
    assert value("between combs", "box 1") == inch("3/8")  # 1 3/8 - 1
    assert value("between end bars", "box 2, front") == inch("1/4")  # 1 3/8 - 1 1/8
    assert value("end bars, shoulder to shoulder", "box 2, front") == ZERO
    assert value("outer end bar to side wall", "box 2, left") == inch("1/2")  # (14 3/4 - 10 x 1 3/8) / 2
    assert value("end bar to end wall", "box 2, back") == inch("3/8")  # (18 3/8 - 17 5/8) / 2
    assert value("lug end to wall in the frame rest", "box 2, back") == inch("1/16")  # (18 3/8 + 3/4 - 19) / 2
    assert value("bottom bar to top bar beneath", "box 1 to box 2") == inch("1/2")  # 9 5/8 - 9 1/8
    assert value("bottom bar to floor", "box 1") == inch(1)  # 3/4 + 9 5/8 - 9 1/8 - 1/4
    assert value("mesh over top bars", "box 2, lane 1") == inch("1/4")
    assert value("strip to mesh", "box 2, strip 1") == ZERO
    assert value("strip end to side wall", "box 2, strip 1, left") == inch("1/8")
    # rim 2 1/2 less 1 1/2 of sugar, less nothing: mesh lies under the rim; the cloth lies on its edge
    assert value("head room over the sugar", "board") == inch(1)
    assert value("cover skirt to wall", "cover over quilt box, left") == inch("1/4")
    assert value("vent slit", "cover on inner cover, left") == inch("5/32")
    assert value("skirt overlap", "cover on inner cover, left") == inch("2 1/4") - inch("5/32")
    assert {gap.name for gap in seen.values() if gap.own and gap.kind == "bees' way"} == set()
    assert seen["head room over the sugar", "board"].kind == "declared"


@pytest.mark.invariant
@given(st.integers(0, 40), st.integers(-40, 40))
@settings(max_examples=tries(30), deadline=None)
def test_mesh_over_the_bars_is_gap_and_mounting_together(hive: Any, box: Any, put: Any, over: int, mesh: int) -> None:
    """In sixty-fourths: the gap over the bars, and the mesh's underside above or below the rim's lower edge."""
    low = Fraction(mesh, 64)
    b = box(5, "9", gap=str(Fraction(over, 64)))
    stack = hive(b, put["board"](width="9", mesh_low=str(low)), boxes=(b,), covered=False)
    (gap,) = [g for g in gathered(measure_gaps(stack)) if g.name == "mesh over top bars"]
    assert gap.least == gap.most == inch(Fraction(over, 64) + max(low, 0))


@pytest.mark.parametrize(("width", "sides"), [("16", "-1/8"), ("16 1/4", "0"), ("16 1/2", "1/8"), ("16 5/16", "1/32")])
def test_a_rim_of_another_width_stands_out_or_falls_short_alike_at_both_sides(
    hive: Any, put: Any, width: str, sides: str
) -> None:
    seen = table(hive(None, put["board"](width=width)))
    assert seen["overhang", "board on box 2, left"].least == inch(sides)
    assert seen["overhang", "board on box 2, right"].least == inch(sides)
    assert seen["overhang", "board on box 2, front"].least == ZERO
    assert seen["overhang", "board on box 2, left"].own


@pytest.mark.parametrize(
    ("loads", "name", "least"),
    [
        # 1/4 over the bars; a cloth floor of 1/32 hangs under the quilt box and lies on the box's edge
        (("quilt",), "top bars to quilt floor", "1/4"),
        ((), "top bars to cover", "1/4"),
    ],
)
def test_without_a_board_the_bars_look_up_to_what_closes_the_hive(
    hive: Any, put: Any, loads: tuple[str, ...], name: str, least: str
) -> None:
    seen = table(hive(None, *(put[each]() for each in loads)))
    assert seen[name, "box 2"].least == inch(least)
    assert seen[name, "box 2"].kind == "bees' way"


def test_an_inner_covers_deep_side_is_added_to_the_gap(hive: Any) -> None:
    # 1/4 over the bars and a rim of 3/8 under the panel
    assert table(hive(inner="3/4"))["top bars to inner cover", "box 2"].least == inch("5/8")


def test_a_national_has_its_bee_space_below(hive: Any, put: Any) -> None:
    seen = table(hive(put["national"]()))
    assert seen["bottom bar to top bar beneath", "box 1 to box 2"].least == inch("3/8")  # 8 7/8 - 8 1/2
    assert seen["top bars to cover", "box 2"].least == ZERO


def test_boxes_of_two_makers_are_centred_and_their_overhang_is_seen(hive: Any, box: Any) -> None:
    seen = table(hive(box(), boxes=(box(width="16"), box())))
    assert seen["overhang", "box 2 on box 1, left"].least == inch("1/8")
    assert not seen["overhang", "box 2 on box 1, left"].own
    assert seen["bottom bar to top bar beneath", "box 1 to box 2"].least == inch("1/2")


@pytest.mark.parametrize(
    ("changes", "way"),
    [
        # skirt 2 1/4 on a rim 2 1/2 high: its edge is 1/4 up, 5/16 of notch; covered by 1/16
        ({}, "-1/16"),
        # 5/32 higher: 13/32 less 5/16
        ({"spaced": True}, "3/32"),
        # and 3/4 more
        ({"spaced": True, "inner": "3/4"}, "27/32"),
    ],
)
def test_a_skirt_over_the_upper_entrance(hive: Any, box: Any, put: Any, changes: dict[str, Any], way: str) -> None:
    wanted = dict(changes)
    loads = [put["board"](mesh_low="0")]
    if wanted.pop("spaced", False):
        loads.append(put["spacers"](box()))
    seen = table(hive(None, *loads, **wanted))
    assert seen["upper entrance to skirt", "board"].least == inch(way)


def test_under_a_quilt_box_the_upper_entrance_has_no_skirt_over_it(full: Any) -> None:
    assert "upper entrance to skirt" not in {name for name, _ in table(full)}


@pytest.mark.outside(
    "box heights: a US supply house; The Hive and the Honey Bee; Kelley ch. 3; Beesource; frame: FB 447"
)
@pytest.mark.parametrize(
    ("height", "between"), [("9 5/8", "1/2"), ("9 19/32", "15/32"), ("9 9/16", "7/16"), ("9 1/2", "3/8")]
)
def test_the_gap_between_deep_boxes_is_what_their_makers_height_leaves(
    hive: Any, box: Any, height: str, between: str
) -> None:
    """Published heights of a deep box, on 9 1/8 in frames: only the last is within 3/8 in."""
    seen = table(hive(box(height=height)))["bottom bar to top bar beneath", "box 1 to box 2"]
    assert (seen.least, seen.most) == (inch(between), inch(between))


@pytest.mark.outside(
    "gap over the top bars on Beesource: 3/16 as supplied, 5/8 rabbet less 3/8 lug, 3/8 with the bar flush"
)
@pytest.mark.parametrize(("over", "under"), [("3/16", "5/16"), ("1/4", "1/4"), ("3/8", "1/8")])
def test_each_published_gap_over_the_bars_is_what_a_flush_mesh_leaves(
    hive: Any, box: Any, put: Any, over: str, under: str
) -> None:
    """Mesh stapled under, 1/4 in strips left out: the gap is the box's; what is under the frames is the rest of 1/2."""
    stack = hive(box(gap=over), put["board"]())
    seen = {gap.name: gap for gap in gathered(measure_gaps(stack))}
    assert seen["mesh over top bars"].least == inch(over)
    bottom = min(p.box.low[2] for p in stack.tiers[1].named("bottom bar"))
    assert bottom == inch(under)


@pytest.mark.outside(
    "Beesource, Why is a Langstroth body the width that it is: about 1 in loose, 1 1/4 to 1 1/2 of eight"
)
@pytest.mark.parametrize(
    ("frames", "width", "loose"),
    [(10, "16 1/4", "1"), (8, "13 3/4", "1 1/4"), (8, "13 7/8", "1 3/8"), (8, "14", "1 1/2")],
)
def test_the_loose_inch_beside_self_spacing_frames(hive: Any, box: Any, frames: int, width: str, loose: str) -> None:
    seen = table(hive(box(frames, width)))
    sides = [seen["outer end bar to side wall", f"box 2, {side}"].least for side in ("left", "right")]
    assert sides[0] + sides[1] == inch(loose)


@pytest.mark.invariant
@given(st.integers(4, 32), st.integers(0, 16))
@settings(max_examples=tries(15), deadline=None)
def test_thinner_strips_never_raise_a_gap(hive: Any, box: Any, put: Any, thick: int, thinner: int) -> None:
    """In sixty-fourths: with the strips thinner, no gap over the bars is wider than it was."""
    b = box(5, "9")

    def over(sixty_fourths: int) -> list[Any]:
        strips = put["strips"](b, str(Fraction(sixty_fourths, 64)))
        stack = hive(b, put["board"](width="9"), strips, boxes=(b,), covered=False)
        return [gap.most for gap in measure_gaps(stack) if gap.name == "mesh over top bars"]

    less = max(1, thick - thinner)
    assert all(new <= old for new, old in zip(over(less), over(thick), strict=True))


def test_millimetres_change_nothing(hive: Any, box: Any, put: Any) -> None:
    metric = box(width=str(read_length("412.75 mm").inches), gap=str(read_length("6.35 mm").inches))
    assert measure_gaps(hive(metric, put["board"]())) == measure_gaps(hive(box(), put["board"]()))
