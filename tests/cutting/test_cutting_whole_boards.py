"""Sets of whole boards: what they say of the least cost is true, and they find plans that are cheaper."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.cutting.brute_force import least_cost
from tests.cutting.small_jobs import small_job
from tests.nightly import tries
from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.model.job import Job, read_job
from woodshop.cutting.model.plan import cost_of
from woodshop.cutting.planner.integer import search
from woodshop.cutting.planner.network import build_network
from woodshop.cutting.planner.plan_job import plan, plan_of_layouts
from woodshop.cutting.planner.pricing import SCALE, fair_prices, price_columns
from woodshop.cutting.planner.whole_boards import BoardPricer, SetAnswer, plan_by_sets

HOBBY = Path(__file__).resolve().parents[1] / "data" / "cutting" / "hobby"
KINDS = ("rip first", "crosscut first", "safety rules", "three stages", "three stages under rules")


def in_three(name: str, first: str) -> Job:
    value = json.loads((HOBBY / f"{name}.json").read_text(encoding="utf-8"))
    return read_job(value | {"cutting": {"stages": 3, "first": first, "final_trim": False}})


def quiet(_: str) -> None:
    pass


def by_sets(job: Job, cost: int) -> SetAnswer | None:
    network = build_network(job)
    priced = price_columns(job, network, quiet, 100)
    fair = fair_prices(job, network, priced.prices)
    if fair is None or not network.complete:
        return None
    return plan_by_sets(job, network, priced.columns, fair, cost=cost, effort="default", say=quiet)


@pytest.mark.parametrize("kind", KINDS)
def test_sets_of_boards_find_the_least_cost_of_small_jobs(kind: str) -> None:
    solved = 0
    for seed in range(tries(200)):
        value = small_job(kind, seed)
        least = least_cost(value)
        if not least:
            continue
        job = read_job(value)
        found = by_sets(job, least + 1)
        if found is None:
            continue
        assert found.floating <= least, seed
        if found.layouts is not None:
            assert cost_of(job, found.layouts) == least, seed
            assert check_plan(plan_of_layouts(job, found.layouts), job) == (), seed
            solved += found.floating == least
        cheaper = by_sets(job, least)
        assert cheaper is None or cheaper.layouts is None, seed
    assert solved >= tries(200) // 2


def test_prices_that_rule_out_a_set_leave_every_plan() -> None:
    """The boards of a plan are never ruled out, whatever the set that the prices were found for."""
    for seed in range(tries(200)):
        value: dict[str, Any] = small_job("three stages", seed)
        least = least_cost(value)
        if not least:
            continue
        job = read_job(value)
        network = build_network(job)
        priced = price_columns(job, network, quiet, 100)
        pricer = BoardPricer(job, network, priced.columns, priced.prices)
        made = plan(job)
        used = [sum(one.times for one in made.layouts if one.stock == stock.id) for stock in job.stock]
        for away in (1, 2):
            for j, count in enumerate(used):
                if count:
                    fewer = [max(0, n - away * (i == j)) for i, n in enumerate(used)]
                    prices, _, _ = pricer.ruling_out(fewer)
                    assert prices is None or (prices.rules_out(fewer) and not prices.rules_out(used)), seed
        assert pricer.ruling_out(used)[0] is None


def test_limited_stock_is_used_at_most_as_often_as_there_is() -> None:
    job = in_three("D42", "along")
    few = replace(job, stock=(*job.stock[:-1], replace(job.stock[-1], count=1, cost=job.stock[-1].cost - 200)))
    network = build_network(few)
    priced = price_columns(few, network, quiet, 100)
    fair = fair_prices(few, network, priced.prices)
    assert fair is not None
    found = plan_by_sets(few, network, priced.columns, fair, cost=5_657, effort="quick", say=quiet)
    assert found is not None
    assert found.floating >= -(-fair.total // SCALE)
    for layout in found.layouts or ():
        assert layout.stock != few.stock[-1].id or layout.times == 1


@pytest.mark.slow("11 s: D42 in three stages, solved")
def test_three_stages_are_solved_where_boards_are_few() -> None:
    job = in_three("D42", "along")
    answer = search(job, build_network(job), "default", progress=None)
    assert answer.layouts is not None
    assert answer.is_solved
    assert cost_of(job, answer.layouts) == answer.floating == 5_656
    assert check_plan(plan_of_layouts(job, answer.layouts), job) == ()
