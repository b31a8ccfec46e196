"""The fewest sizes that seat on all boxes: proved against trying everything, and against cutting along one line."""

from itertools import combinations, product
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from woodshop.errors import InputError
from woodshop.hive.variation.fewest_sizes import MOST_KINDS, BoxesOfSize, RimSize, fewest_sizes
from woodshop.units.lengths import Length, inch, millimetre

LONG = inch("19 7/8")
MARK = inch("1/16")
# 10-frame 16 and 16 1/4, 8-frame 13 3/4 and 14 as makers sell them; 13 7/8 between.
MAKERS = ("16", "16 1/4", "13 3/4", "13 7/8", "14")


def boxes(widths: tuple[str, ...], count: int = 1) -> list[BoxesOfSize]:
    return [BoxesOfSize(w, LONG, inch(w), count) for w in widths]


def widths(sizes: tuple[RimSize, ...]) -> list[str]:
    return [size.width.number() for size in sizes]


@pytest.mark.outside("the task as set: makers' widths 16, 16 1/4, 13 3/4, 13 7/8 and 14")
@pytest.mark.parametrize(
    ("overhang", "most"), [("0", 5), ("1/64", 5), ("1/32", 4), ("1/16", 2), ("1/8", 2), ("9/16", 2), ("5/8", 1)]
)
def test_makers_widths_need_so_many_sizes(overhang: str, most: int) -> None:
    """1/16 at each side: two sizes. 1/32: four. From 5/8 on, a quarter of what 13 3/4 and 16 1/4 differ by, one."""
    assert len(fewest_sizes(boxes(MAKERS), inch(overhang), inch("1/32"))) == most


@pytest.mark.invariant
def test_sizes_serve_the_boxes_within_the_overhang() -> None:
    sizes = fewest_sizes(boxes(MAKERS), inch("1/16"), MARK)
    assert widths(sizes) == ["13 7/8", "16 1/8"]
    assert [[seat.box.name for seat in size.seats] for size in sizes] == [["13 3/4", "13 7/8", "14"], ["16", "16 1/4"]]
    assert [seat.at_sides for seat in sizes[0].seats] == [inch("1/16"), inch("0"), -inch("1/16")]
    assert all(not seat.at_ends for size in sizes for seat in size.seats)
    assert [size.is_a_box for size in sizes] == [True, False]


@pytest.mark.invariant
def test_a_size_that_is_a_box_is_preferred_and_then_the_least_overhang_over_all_boxes() -> None:
    """At 1/8 a side 16 1/8 would serve too, but 16 and 16 1/4 are boxes; the one with more hives is flush."""
    few, many = BoxesOfSize("16", LONG, inch(16), 3), BoxesOfSize("16 1/4", LONG, inch("16 1/4"), 20)
    assert widths(fewest_sizes([few, many], inch("1/8"), MARK)) == ["16 1/4"]
    assert widths(fewest_sizes([few, BoxesOfSize("16 1/4", LONG, inch("16 1/4"), 2)], inch("1/8"), MARK)) == ["16"]
    three = boxes(("16", "16 1/4")) + boxes(("16 3/16",), 50)
    assert widths(fewest_sizes(three, inch("3/32"), MARK)) == ["16 3/16"]


@pytest.mark.invariant
def test_no_mark_within_the_overhang_is_said() -> None:
    with pytest.raises(InputError) as said:
        fewest_sizes([*boxes(("16",)), BoxesOfSize("old", LONG, inch("16 1/32"))], inch("0"), MARK)
    (problem,) = said.value.problems
    assert problem.where.startswith("old")
    assert "1/16" in problem.wanted
    assert widths(fewest_sizes([BoxesOfSize("old", LONG, inch("16 1/32"))], inch("1/64"), MARK)) == ["16"]


@pytest.mark.invariant
def test_more_kinds_than_can_be_proved_are_refused() -> None:
    chain = [BoxesOfSize(str(n), LONG, inch(10) + MARK * n) for n in range(MOST_KINDS + 1)]
    with pytest.raises(InputError, match="that overlap"):
        fewest_sizes(chain, inch("1/16"), MARK)
    apart = [BoxesOfSize(str(n), LONG, inch(10) + inch(1) * n) for n in range(MOST_KINDS + 5)]
    assert len(fewest_sizes(apart, inch("1/16"), MARK)) == MOST_KINDS + 5


@pytest.mark.invariant
def test_length_and_width_are_met_together() -> None:
    """Near in width but not in length: no size serves both; a third between them is shared with one only."""
    a = BoxesOfSize("a", inch("19 7/8"), inch("16"))
    b = BoxesOfSize("b", inch("20 3/16"), inch("16 1/8"))
    c = BoxesOfSize("c", inch("20"), inch("16 1/4"))
    assert len(fewest_sizes([a, b], inch("1/16"), MARK)) == 2
    sizes = fewest_sizes([a, b, c], inch("1/16"), MARK)
    assert len(sizes) == 2
    for size in sizes:
        for seat in size.seats:
            assert max(abs(seat.at_ends), abs(seat.at_sides)) <= inch("1/16")


@pytest.mark.invariant
def test_millimetres_change_nothing() -> None:
    inches = [BoxesOfSize("", LONG, inch(w)) for w in MAKERS]
    metric = [BoxesOfSize("", Length(box.length.mm), millimetre(box.width.mm)) for box in inches]
    assert fewest_sizes(inches, inch("1/16"), MARK) == fewest_sizes(metric, millimetre("1.5875"), MARK)


def stabbed(spans: list[tuple[int, int]]) -> int:
    """Points needed to meet every span on a line: always the first end not met yet (exact in one dimension)."""
    count, point = 0, -(10**9)
    for low, high in sorted(spans, key=lambda span: span[1]):
        if low > point:
            count, point = count + 1, high
    return count


@pytest.mark.invariant
@settings(max_examples=tries(150), deadline=None)
@given(st.lists(st.integers(200, 232), min_size=1, max_size=9), st.integers(0, 4))
def test_in_one_dimension_it_needs_as_many_as_cutting_along_the_line(
    sixteenths: list[int], thirty_seconds: int
) -> None:
    """Widths in sixteenths, overhang in 1/32 a side, so that the span of sizes is whole sixteenths."""
    found = fewest_sizes([BoxesOfSize(str(w), LONG, MARK * w) for w in sixteenths], MARK * thirty_seconds / 2, MARK)
    assert len(found) == stabbed([(w - thirty_seconds, w + thirty_seconds) for w in sixteenths])


@pytest.mark.invariant
@settings(max_examples=tries(60), deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6), st.integers(1, 9)), min_size=1, max_size=5),
    st.integers(0, 2),
    st.randoms(use_true_random=False),
)
def test_in_two_dimensions_trying_every_set_of_sizes_finds_no_better(
    sides: list[tuple[int, int, int]], thirty_seconds: int, shuffle: Random
) -> None:
    """The number of sizes, then how many are a box's own, then the overhang over all boxes: no set does better."""
    kinds = [BoxesOfSize(str(n), LONG + MARK * a, inch(16) + MARK * b, c) for n, (a, b, c) in enumerate(sides)]
    allowed = MARK * thirty_seconds / 2
    found = fewest_sizes(kinds, allowed, MARK)
    shuffle.shuffle(kinds)
    again = fewest_sizes(kinds, allowed, MARK)
    assert [(s.length, s.width) for s in again] == [(s.length, s.width) for s in found]
    points = sorted({(a + i, b + j) for a, b, _ in sides for i in range(-2, 3) for j in range(-2, 3)
                     if max(abs(i), abs(j)) <= thirty_seconds})  # fmt: skip
    real = {(a, b) for a, b, _ in sides}

    def reach(point: tuple[int, int], box: tuple[int, int, int]) -> bool:
        return max(abs(point[0] - box[0]), abs(point[1] - box[1])) <= thirty_seconds

    best = None
    for most in range(1, len(found) + 1):
        for chosen in combinations(points, most):
            if not all(any(reach(point, box) for point in chosen) for box in sides):
                continue
            over = sum(
                min(abs(p[0] - a) + abs(p[1] - b) for p in chosen if reach(p, (a, b, c))) * c for a, b, c in sides
            )
            price = (most, -sum(point in real for point in chosen), over)
            best = price if best is None else min(best, price)
        if best is not None:
            break
    mine = sum((abs(s.at_ends) + abs(s.at_sides)) / MARK * 2 * s.box.count for size in found for s in size.seats)
    assert (len(found), -sum(size.is_a_box for size in found), mine) == best


@pytest.mark.invariant
def test_the_order_of_the_boxes_changes_nothing() -> None:
    kinds = [
        BoxesOfSize(f"{a} {b}", LONG + MARK * a, inch(16) + MARK * b) for a, b in product(range(0, 5, 2), range(3))
    ]
    one, other = fewest_sizes(kinds, inch("1/16"), MARK), fewest_sizes(kinds[::-1], inch("1/16"), MARK)
    assert [(s.length, s.width) for s in one] == [(s.length, s.width) for s in other]
