"""The check against a judge written apart from it: single cuts, tried one after the other."""

import random
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tests.cutting.brute_force import dearest
from tests.cutting.judge import claims_stand, judge, misclaim, spoil
from tests.cutting.small_jobs import KINDS, LEFT_OUT, planned, small_job
from tests.nightly import spread
from tests.once import hobby_plan
from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.checkers.prove import prove_plan
from woodshop.cutting.model.job import job_digest, read_job
from woodshop.cutting.model.plan import Layout, Piece, Plan, plan_to_json, read_plan
from woodshop.errors import InputError

SEEDS = spread(range(100), 15)


def verified(made: Plan) -> bool:
    """What `verify` says of the plan's file: read, checked and proved."""
    try:
        read = read_plan(plan_to_json(made))
    except InputError:
        return False
    return check_plan(read) + prove_plan(read) == ()


def worth_by_trying(job: dict[str, Any]) -> Callable[[str, dict[str, int]], int]:
    """The dearest layout of a stock at some prices, by brute force."""
    known: dict[tuple[str, tuple[tuple[str, int], ...]], int] = {}
    rows = {row["id"]: row for row in job["stock"]}

    def worth(stock: str, prices: dict[str, int]) -> int:
        key = (stock, tuple(sorted(prices.items())))
        if key not in known:
            known[key] = dearest(job, rows[stock], prices)
        return known[key]

    return worth


@pytest.mark.invariant
@pytest.mark.parametrize("kind", [*KINDS, LEFT_OUT])
def test_verify_and_judge_agree_on_spoilt_plans(kind: str) -> None:
    """Of each of seven kinds, at night 720: one thing of the layouts or of the money changed, to the bad or not."""
    rng = random.Random(kind)
    sound = spoilt = 0
    for seed in SEEDS:
        made = planned(kind, seed)
        if made is None:
            continue
        worth = worth_by_trying(small_job(kind, seed))
        assert judge(made), seed
        assert claims_stand(made, worth), seed
        assert verified(made), seed
        for _ in range(12):
            bad = spoil(made, rng)
            if bad == made:
                continue
            is_sound = judge(bad) and claims_stand(bad, worth)
            assert verified(bad) == is_sound, (seed, bad)
            sound += is_sound
            spoilt += not is_sound
    assert sound + spoilt >= 6 * len(SEEDS)
    assert spoilt > 4 * len(SEEDS)
    assert sound > len(SEEDS)


@pytest.mark.invariant
@pytest.mark.parametrize("kind", [*KINDS, LEFT_OUT])
def test_no_changed_claim_is_believed_that_the_judge_does_not_believe(kind: str) -> None:
    """The certificate, and the bound with it or not, changed; the judge tries every layout that the saw can cut.

    The proof is content with less than all: it counts a blank as often as wanted in each strip, and leaves some rules
    out, so it may refuse what is true. How often is counted.
    """
    rng = random.Random(f"claims {kind}")
    believed = refused = needlessly = 0
    for seed in SEEDS:
        made = planned(kind, seed)
        if made is None:
            continue
        worth = worth_by_trying(small_job(kind, seed))
        for _ in range(2):
            new = misclaim(made, rng)
            if new == made:
                continue
            is_true = judge(new) and claims_stand(new, worth)
            if verified(new):
                assert is_true, (seed, new)
                believed += 1
            else:
                refused += not is_true
                needlessly += is_true
    assert believed + refused + needlessly > len(SEEDS)
    assert believed > len(SEEDS) / 4
    assert refused > len(SEEDS) / 2
    assert needlessly < len(SEEDS) / 6


@pytest.mark.invariant
@pytest.mark.parametrize("name", ["D42", "F6"])
def test_spoilt_plans_of_a_hobby_job_are_rejected(name: str) -> None:
    made = hobby_plan(name)
    assert judge(made)
    rng = random.Random(name)
    for _ in range(100):
        bad = spoil(made, rng)
        if bad != made:
            assert (check_plan(bad) == ()) == judge(bad)


@pytest.mark.invariant
def test_every_wrong_digest_is_found() -> None:
    rng = random.Random(3)
    for seed in range(30):
        made = planned("three stages", seed)
        if made is None:
            continue
        place = rng.randrange(64)
        other = rng.choice([c for c in "0123456789abcdef" if c != made.job_digest[place]])
        bad = replace(made, job_digest=made.job_digest[:place] + other + made.job_digest[place + 1 :])
        assert [finding.code for finding in check_plan(bad)] == ["plan-digest"]
        elsewhere = replace(made.job, unit="other")
        assert [finding.code for finding in check_plan(made, elsewhere)] == ["plan-digest"]


# -- rules ----------------------------------------------------------------------------------------------------


def ruled(
    pieces: list[tuple[int, int, int, int]], *, length: int = 100, first: str = "along", **rules: int
) -> list[str]:
    """The codes found in a plan of one board 100 x 40 with these pieces (x, y, length, width), kerf 2."""
    blanks = [{"id": f"b{n}", "length": piece[2], "width": piece[3], "count": 1} for n, piece in enumerate(pieces)]
    job = read_job(
        {
            "format": "woodshop-job/1",
            "unit": "1",
            "money": "c",
            "kerf": {"rip": 2, "crosscut": 2},
            "cutting": {"stages": 2, "first": first},
            "rules": rules,
            "stock": [{"id": "s", "length": length, "width": 40, "cost": 5}],
            "blanks": blanks,
        }
    )
    laid = tuple(Piece(f"b{n}", p[0], p[2], y=p[1], width=p[3]) for n, p in enumerate(pieces))
    made = Plan(
        job=job,
        job_digest=job_digest(job),
        cost=5,
        bound=5,
        bound_kind="root",
        assurance="proved",
        gap=0,
        layouts=(Layout("s", 1, laid),),
    )
    return [finding.code for finding in check_plan(made)]


def test_narrow_strips_must_leave_parent_wood() -> None:
    two = [(0, 0, 90, 4), (0, 6, 90, 4)]
    assert ruled(two, narrow_below=5, parent_wood=28) == []
    assert ruled(two, narrow_below=5, parent_wood=29) == ["plan-rule"]
    assert ruled(two, narrow_below=4, parent_wood=29) == []


def test_strips_and_what_is_ripped_must_be_large_enough() -> None:
    assert ruled([(0, 0, 90, 4)], least_strip=4) == []
    assert ruled([(0, 0, 90, 4)], least_strip=5) == ["plan-rule"]
    assert ruled([(0, 0, 90, 4)], shortest_rip=100) == []
    assert ruled([(0, 0, 90, 4)], shortest_rip=101) == ["plan-rule"]


def test_a_board_as_wide_as_the_strip_needs_no_rip() -> None:
    assert ruled([(0, 0, 50, 40)], shortest_rip=500, least_strip=41, longest_rip=600) == []


def test_a_board_too_long_to_rip_is_first_crosscut_to_sections() -> None:
    whole = [(0, 0, 60, 4), (0, 6, 60, 4), (62, 0, 30, 20)]
    assert ruled(whole, longest_rip=100) == ["plan-kerf"], "two stages are enough for a board that can be ripped"
    assert ruled(whole, longest_rip=99) == []
    assert ruled(whole, longest_rip=59) == ["plan-rule"]
    assert ruled([(0, 0, 60, 18), (55, 20, 44, 20)], longest_rip=99) == []
    assert ruled([(0, 0, 60, 18), (55, 20, 45, 20)], longest_rip=99) == ["plan-rule"]


def test_sections_may_be_longer_than_their_pieces_where_there_is_room() -> None:
    apart = [(0, 0, 30, 10), (70, 0, 30, 20)]
    assert ruled(apart, longest_rip=50, shortest_rip=48) == []
    assert ruled(apart, longest_rip=50, shortest_rip=50) == ["plan-rule"]


def test_without_final_trim_a_piece_is_as_wide_as_its_strip() -> None:
    assert ruled([(0, 0, 30, 10), (32, 0, 30, 9)]) == ["plan-kerf"]


def test_kerf_is_paid_between_neighbours_and_not_at_the_edge() -> None:
    assert ruled([(0, 0, 49, 40), (51, 0, 49, 40)]) == []
    assert ruled([(0, 0, 49, 40), (50, 0, 49, 40)]) == ["plan-kerf"]
    assert ruled([(0, 0, 49, 40), (48, 0, 49, 40)]) == ["plan-overlap"]


def faults(made: Plan) -> dict[str, Plan]:
    """A sound plan with one thing of it wrong, by the code of the finding."""
    first, *rest = made.layouts
    stranger = replace(first.pieces[0], id="no such part")
    stock = tuple(replace(each, count=first.times - 1) if each.id == first.stock else each for each in made.job.stock)
    return {
        "plan-stock": replace(made, layouts=(replace(first, stock="no such board"), *rest)),
        "plan-times": replace(made, layouts=(replace(first, times=0), *rest)),
        "plan-empty": replace(made, layouts=(replace(first, pieces=()), *rest)),
        "plan-unknown": replace(made, layouts=(replace(first, pieces=(stranger, *first.pieces[1:])), *rest)),
        "plan-stock-count": replace(made, job=replace(made.job, stock=stock)),
        "plan-bound": replace(made, bound=made.cost + 1),
        "plan-gap": replace(made, gap=made.gap + 1),
        "plan-assurance": replace(made, bound=0, gap=made.cost, assurance="proved"),
    }


CODES = (
    "plan-stock",
    "plan-times",
    "plan-empty",
    "plan-unknown",
    "plan-stock-count",
    "plan-bound",
    "plan-gap",
    "plan-assurance",
)


@pytest.mark.parametrize("code", CODES)
def test_a_fault_has_its_own_finding(code: str) -> None:
    made = next(each for seed in range(30) if (each := planned("lengths", seed)) is not None and each.layouts)
    assert check_plan(made) == ()
    assert code in {finding.code for finding in check_plan(faults(made)[code])}
