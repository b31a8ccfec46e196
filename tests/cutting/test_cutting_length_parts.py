"""Parts of a plan of lengths are searched again: each part is exact, and the plan stays whole and gets cheaper."""

import random
from collections import Counter

import pytest

from woodshop.cutting.lengths.fill import filled
from woodshop.cutting.lengths.part import in_whole, joined, part_of
from woodshop.cutting.lengths.problem import Cut, Lengths, lengths_of
from woodshop.cutting.lengths.search import LIMITS, LengthSearch
from woodshop.cutting.model.job import read_job
from woodshop.cutting.planner.network import build_network


def problem(seed: int) -> Lengths:
    """Lengths from two kinds of stock to buy and a few pieces on hand."""
    draw = random.Random(seed)
    stock = [
        {"id": "short", "length": 96, "cost": 41},
        {"id": "long", "length": 144, "cost": 62},
        {"id": "rack", "length": 60, "cost": 5, "count": 3},
    ]
    blanks = [{"id": f"b{n}", "length": n, "count": draw.randint(3, 20)} for n in sorted(draw.sample(range(11, 70), 8))]
    top = {"format": "woodshop-job/1", "unit": "1", "money": "c", "kerf": {"rip": 1, "crosscut": 1}}
    job = read_job({**top, "stock": stock, "blanks": blanks})
    lengths = lengths_of(job, build_network(job))
    assert lengths is not None
    return lengths


def made_by(lengths: Lengths, cuts: list[tuple[Cut, int]]) -> list[int]:
    return [sum(counts[i] * times for (_, counts), times in cuts) for i in range(len(lengths.sizes))]


@pytest.mark.invariant
@pytest.mark.parametrize("seed", range(4))
def test_a_part_is_what_the_kept_cuts_do_not_make(seed: int) -> None:
    lengths = problem(seed)
    cuts = filled(lengths, lengths.wanted, lengths.limits)
    assert cuts is not None
    single = [cut for cut, times in cuts for _ in range(times)]
    freed, kept = single[::3], [cut for n, cut in enumerate(single) if n % 3]
    part, places = part_of(lengths, freed, kept)
    left = made_by(lengths, [(cut, 1) for cut in kept])
    assert [lengths.sizes[i] for i in places] == list(part.sizes)
    assert list(part.wanted) == [lengths.wanted[i] - left[i] for i in places]
    assert all(lengths.wanted[i] <= left[i] for i in range(len(left)) if i not in places)
    used = Counter(stock for stock, _ in kept)
    for limit, own, stock in zip(lengths.limits, part.limits, range(3), strict=True):
        assert own == (None if limit is None else limit - used[stock])
    again = filled(part, part.wanted, part.limits)
    assert again is not None
    whole = joined(kept, in_whole(lengths, again, places))
    assert all(have >= count for have, count in zip(made_by(lengths, whole), lengths.wanted, strict=True))
    assert all(lengths.room_left(cut) >= 0 for cut, _ in whole)


@pytest.mark.invariant
def test_a_poor_plan_gets_cheaper_part_by_part() -> None:
    lengths = problem(7)
    poor = [
        ((1, tuple(int(i == k) for i in range(len(lengths.sizes)))), lengths.wanted[k])
        for k in range(len(lengths.sizes))
    ]
    assert sum(times for _, times in poor) > 60
    said: list[str] = []
    search = LengthSearch(lengths, poor, 0, LIMITS["default"], said.append)
    assert search.root() is not None
    cost = search.cost
    search.search_parts()
    assert search.best is not None
    assert search.bound <= search.cost < cost * 2 // 3
    assert any("searched again" in line for line in said)
    assert all(have >= count for have, count in zip(made_by(lengths, search.best), lengths.wanted, strict=True))
    assert sum(times for (stock, _), times in search.best if stock == 2) <= 3
    assert all(lengths.room_left(cut) >= 0 for cut, _ in search.best)
