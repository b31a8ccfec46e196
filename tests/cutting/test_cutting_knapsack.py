"""The best value of a knapsack, alone and with its pattern, beside every pattern counted out."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodshop.cutting.planner.knapsack import Knapsack, KnapsackItem, best_patterns, best_values

PARTS = st.lists(
    st.tuples(st.integers(1, 9), st.integers(0, 3), st.booleans(), st.one_of(st.integers(0, 30), st.just(2**63))),
    min_size=1,
    max_size=4,
)
ROOMS = st.lists(st.integers(0, 30), min_size=1, max_size=3)


@pytest.mark.invariant
@given(PARTS, ROOMS, st.one_of(st.none(), st.integers(0, 30)), st.sampled_from([1, 40, 40_000]))
def test_best_values_are_those_of_all_patterns(
    parts: list[tuple[int, int, bool, int]], rooms: list[int], thin: int | None, grain: int
) -> None:
    """`grain` makes the same knapsack small, large enough for an array, and too large for a table."""
    loose = grain // 2  # sizes with no common measure but one, so that no table is small
    items = tuple(
        KnapsackItem(
            0, size * grain - (loose if n % 2 else 0), cap, yields=(("size", n),), narrow=narrow and thin is not None
        )
        for n, (size, cap, narrow, _) in enumerate(parts)
    )
    room_of = None if thin is None else thin * grain
    knapsacks = [Knapsack(("strip", 1), "crosscut", room * grain, items, room_of) for room in rooms]
    values = [value for *_, value in parts]
    best = []
    for knapsack in knapsacks:
        worth = []
        for counts in product(*(range(item.cap + 1) for item in items)):
            taken = [(item, count) for item, count in zip(items, counts, strict=True) if count]
            thin_taken = sum(item.size * count for item, count in taken if item.narrow)
            if sum(item.size * count for item, count in taken) <= knapsack.capacity and (
                room_of is None or thin_taken <= room_of
            ):
                worth.append(sum(value * count for value, count in zip(values, counts, strict=True)))
        best.append(max(worth))
    patterns = best_patterns(knapsacks, values)
    assert patterns is not None
    assert [value for value, _ in patterns] == best
    for _, counts in patterns:
        assert all(0 <= count <= item.cap for count, item in zip(counts, items, strict=True))
    assert best_values(knapsacks, values) == best
