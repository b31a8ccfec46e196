"""Plans of small jobs against brute force, and against a model of its own in another solver."""

import pytest

from tests.cutting.assignment import least_cost_by_assignment
from tests.cutting.brute_force import least_cost
from tests.cutting.small_jobs import KINDS, LEFT_OUT, planned, small_job
from tests.nightly import IS_NIGHT, spread

JOBS = 103
CAN_BE_CUT = {
    "lengths": 82,
    "rip first": 86,
    "crosscut first": 87,
    "safety rules": 81,
    "three stages": 88,
    "three stages under rules": 90,
}
"""Of JOBS jobs of a kind, those that can be cut at all; all of them must close."""

SEEDS = spread(range(JOBS), 26)


def least_twice(kind: str, seed: int) -> int | None:
    """The least cost by trying everything, and the same by assignment; None when it cannot be done."""
    value = small_job(kind, seed)
    tried, assigned = least_cost(value), least_cost_by_assignment(value)
    assert tried == assigned, (kind, seed, tried, assigned)
    return tried


@pytest.mark.invariant
@pytest.mark.parametrize("kind", KINDS)
def test_small_jobs_cost_what_brute_force_and_another_model_say(kind: str) -> None:
    """Every plan closes, at the cost that both find; what both say cannot be cut is refused."""
    closed = refused = 0
    for seed in SEEDS:
        least, made = least_twice(kind, seed), planned(kind, seed)
        assert (made is None) == (least is None), seed
        if made is None:
            refused += 1
            continue
        assert made.assurance in ("proved", "solved"), seed
        assert made.cost == made.bound == least, seed
        closed += 1
    assert closed > len(SEEDS) / 2
    assert refused > 0
    assert not IS_NIGHT or (closed, refused) == (CAN_BE_CUT[kind], JOBS - CAN_BE_CUT[kind])


def test_more_than_500_jobs_are_compared_at_night() -> None:
    assert set(CAN_BE_CUT) == set(KINDS)
    assert sum(CAN_BE_CUT.values()) >= 500


@pytest.mark.invariant
def test_what_is_left_open_lies_between_bound_and_cost() -> None:
    """Where the planner says that it did not try all, the least cost is in its gap; mostly it is the plan's."""
    closed = open_ = best = refused = 0
    seeds = spread(range(60), 20)
    for seed in seeds:
        least, made = least_twice(LEFT_OUT, seed), planned(LEFT_OUT, seed)
        assert (made is None) == (least is None), seed
        if made is None or least is None:
            refused += 1
            continue
        assert made.bound <= least <= made.cost, seed
        closed += made.gap == 0
        open_ += made.gap > 0
        best += made.cost == least
    assert closed + open_ + refused == len(seeds)
    assert refused < len(seeds) / 3
    assert open_ <= len(seeds) / 3
    assert best >= closed + open_ - 2
