"""The rest of it: what is cut, kept and planned anew together make exactly what was wanted."""

import random
from collections import Counter
from dataclasses import replace

import pytest

from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.model.job import Job, Stock, read_job
from woodshop.cutting.model.plan import Layout, Plan
from woodshop.cutting.order.remainder import rest_of
from woodshop.cutting.planner.plan_job import plan
from woodshop.errors import InputError


def job(surplus: str = "drop") -> Job:
    return read_job(
        {
            "format": "woodshop-job/1",
            "unit": "1/64 in",
            "money": "cent",
            "kerf": {"rip": 8, "crosscut": 8},
            "cutting": {"stages": 2, "first": "along"},
            "rules": {"surplus": surplus},
            "stock": [
                {"id": "1x3", "length": 6144, "width": 160, "cost": 544},
                {"id": "1x6", "length": 6144, "width": 352, "cost": 1112},
                {"id": "rack", "length": 3200, "width": 352, "cost": 200, "count": 2},
            ],
            "blanks": [
                {"id": "side", "length": 1272, "width": 160, "count": 17},
                {"id": "end", "length": 944, "width": 160, "count": 14},
                {"id": "deep", "length": 1272, "width": 352, "count": 7},
            ],
        }
    )


def made(layouts: list[Layout], *, spare: bool = False) -> Counter[str]:
    total: Counter[str] = Counter()
    for layout in layouts:
        for piece in layout.pieces:
            if piece.spare == spare:
                total[piece.id] += layout.times
    return total


def cut_of(whole: Plan, done: dict[int, int]) -> list[Layout]:
    return [replace(whole.layouts[n], times=times) for n, times in done.items() if times]


@pytest.mark.invariant
def test_cut_kept_and_planned_pieces_are_the_wanted_ones_and_those_to_make_again() -> None:
    whole = plan(job())
    rng = random.Random(3)
    for _ in range(12):
        done = {n: rng.randint(0, layout.times) for n, layout in enumerate(whole.layouts)}
        keep = {n: rng.randint(0, layout.times - done[n]) for n, layout in enumerate(whole.layouts)}
        cut = cut_of(whole, done)
        failed = {name: rng.randint(0, min(2, count)) for name, count in made(cut).items()}
        rest = rest_of(whole, done, failed, keep=keep)
        new = list(rest.plan.layouts) if rest.plan is not None else []
        total = made(cut) + made(list(rest.kept)) + made(new)
        assert total == Counter({b.id: b.count + failed.get(b.id, 0) for b in whole.job.blanks})
        racks = [layout.times for layout in (*cut, *rest.kept, *new) if layout.stock == "rack"]
        assert sum(racks) <= 2
        assert [layout.times for layout in rest.kept] == [times for _, times in sorted(keep.items()) if times]
        if rest.plan is not None:
            assert check_plan(rest.plan, rest.job) == ()


@pytest.mark.invariant
def test_with_nothing_cut_and_nothing_kept_the_rest_is_the_whole() -> None:
    whole = plan(job())
    rest = rest_of(whole, {})
    assert rest.job == whole.job
    assert rest.cost == whole.cost


@pytest.mark.invariant
def test_the_rest_of_a_sound_run_costs_no_more_than_was_left_of_a_proved_plan() -> None:
    whole = plan(job())
    for n in range(len(whole.layouts)):
        done = {n: 1}
        left = whole.cost - next(s.cost for s in whole.job.stock if s.id == whole.layouts[n].stock)
        assert rest_of(whole, done).cost <= left


def test_everything_cut_leaves_nothing() -> None:
    whole = plan(job())
    rest = rest_of(whole, {n: layout.times for n, layout in enumerate(whole.layouts)})
    assert (rest.job, rest.plan, rest.kept, rest.cost) == (None, None, (), 0)


def test_spares_that_were_cut_stand_in_for_failures() -> None:
    whole = plan(job("spare"))
    done = {n: layout.times for n, layout in enumerate(whole.layouts)}
    spare = made(list(whole.layouts), spare=True)
    name, count = max(sorted(spare.items()), key=lambda pair: pair[1])
    assert count
    assert rest_of(whole, done, {name: count}).job is None
    again = rest_of(whole, done, {name: count + 1}).job
    assert again is not None
    assert [(blank.id, blank.count) for blank in again.blanks] == [(name, 1)]


def test_other_stock_is_planned_with_as_it_is_now() -> None:
    whole = plan(job())
    now = [Stock("found", 9216, 300, 352, 40)]
    rest = rest_of(whole, {0: 1}, stock=now)
    assert rest.plan is not None
    assert {layout.stock for layout in rest.plan.layouts} == {"found"}


def test_every_wrong_number_is_named_at_once() -> None:
    whole = plan(job())
    with pytest.raises(InputError) as caught:
        rest_of(whole, {0: 99, 77: 1, 1: 1}, {"nail": 1, "side": 500}, keep={0: 1000})
    assert sorted(problem.where for problem in caught.value.problems) == [
        "done.0",
        "done.77",
        "failed.nail",
        "failed.side",
        "keep.0",
    ]


def test_kept_layouts_need_their_boards_as_they_were() -> None:
    whole = plan(job())
    n = next(n for n, layout in enumerate(whole.layouts) if layout.stock != "rack")
    stock = [replace(row, length=9000) for row in whole.job.stock]
    with pytest.raises(InputError, match="another size"):
        rest_of(whole, {}, stock=stock, keep={n: 1})
    with pytest.raises(InputError, match="what is left"):
        rest_of(whole, {}, stock=[Stock("found", 9216, 300, 352, 40)], keep={n: 1})
    with pytest.raises(InputError, match="nothing left"):
        rest_of(whole, {}, stock=[])
