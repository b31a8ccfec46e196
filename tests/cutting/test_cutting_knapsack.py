"""The best value of a knapsack, alone and with its pattern, beside every pattern counted out."""

from itertools import product
from random import Random

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
    found = best_values(knapsacks, values)
    assert found is not None
    assert found[0] == best
    for knapsack in knapsacks:
        alone = best_patterns([knapsack], values)
        assert best_patterns([knapsack], values, found[1]) == alone  # the table saves time and changes no choice


@pytest.mark.invariant
@pytest.mark.parametrize("least", [3, 40, 190])
def test_many_items_without_scarcity_are_worth_what_one_piece_at_a_time_gives(least: int) -> None:
    """Many items share an array in blocks; beside it, the plain recurrence: the best last piece for each room."""
    rng = Random(least)
    top = 900
    values = [rng.randrange(1, 20 * n) for n in range(least, least + 300)]
    items = tuple(
        KnapsackItem(0, size, top // size + 1, yields=(("size", n),))
        for n, size in enumerate(range(least, least + 300))
    )
    rooms = (1, least - 1, least, 2 * least - 1, 2 * least, top - 1, top)
    knapsacks = [Knapsack(("strip", 1), "crosscut", room, items) for room in rooms]
    best = [0] * (top + 1)
    for room in range(1, top + 1):
        last = (best[room - item.size] + value for item, value in zip(items, values, strict=True) if item.size <= room)
        best[room] = max(last, default=0)
    found = best_values(knapsacks, values)
    assert found is not None
    assert found[0] == [best[room] for room in rooms]
    for knapsack in knapsacks:
        assert best_patterns([knapsack], values, found[1]) == best_patterns([knapsack], values)
