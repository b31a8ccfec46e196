"""Dives fix whole boards one after the other: they reach published values, keep limits of stock, and miss no blank."""

from collections import Counter
from dataclasses import replace

import pytest

from tests.cutting.middling_jobs import middling
from tests.cutting.test_cutting_bench_smoke import sheets
from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.model.job import Job, read_job
from woodshop.cutting.model.plan import cost_of
from woodshop.cutting.planner.board_dive import BoardDive
from woodshop.cutting.planner.network import build_network
from woodshop.cutting.planner.plan_job import plan, plan_of_layouts
from woodshop.cutting.planner.pricing import price_columns


def dives(job: Job, work: int | None = None) -> BoardDive:
    network = build_network(job)
    columns = price_columns(job, network, lambda _: None, 200).columns
    made = BoardDive(job, network, columns, "default", lambda _: None)
    if work is not None:
        made.limits = replace(made.limits, passes=((work, 3_000, 6),))
    return made


def sheet_job(of: str, name: str, how: str) -> tuple[Job, int]:
    found = next(each for each in sheets.sheet_jobs() if (each.of, each.name, each.how) == (of, name, how))
    return read_job(found.job), found.published


@pytest.mark.outside("sets C30 and furniture A: proved values, sources beside the data")
@pytest.mark.parametrize(
    ("of", "name", "how"),
    [
        ("g2csp_C30", "A4", "along, turned"),
        ("g2csp_C30", "CU1", "along, turned"),
        ("g2csp_C30", "Hchl9", "along"),
        ("g2csp_C30", "STS2", "across"),
        ("g2csp_furniture_A", "A19", "along"),
    ],
)
def test_a_plan_by_dives_needs_as_few_sheets_as_published(of: str, name: str, how: str) -> None:
    job, published = sheet_job(of, name, how)
    found = dives(job).at_most(published)
    assert found is not None
    assert cost_of(job, found) == published
    assert check_plan(plan_of_layouts(job, found), job) == ()


@pytest.mark.outside("set C30: proved values, sources beside the data")
@pytest.mark.parametrize("how", ["along, turned", "across"])
def test_even_the_quick_effort_dives(how: str) -> None:
    job, published = sheet_job("g2csp_C30", "A4" if "turned" in how else "STS2", how)
    made = plan(job, effort="quick")
    assert (made.cost, made.assurance) == (published, "proved")


@pytest.mark.invariant
def test_dives_keep_the_limits_of_stock_and_make_each_blank_as_often_as_wanted() -> None:
    value = middling(6)
    rack = {"id": "rack", "width": 20, "length": 96, "cost": 1, "count": 3}
    job = read_job({**value, "stock": [*value["stock"], rack]})
    first = plan(job, effort="quick")
    found = dives(job).at_most(first.cost + first.cost // 50)
    assert found is not None
    assert sum(layout.times for layout in found if layout.stock == "rack") <= 3
    made = Counter(piece.id for layout in found for _ in range(layout.times) for piece in layout.pieces)
    assert made == {blank.id: blank.count for blank in job.blanks}
    assert check_plan(plan_of_layouts(job, found), job) == ()


@pytest.mark.invariant
def test_costs_between_the_bound_and_the_plan_are_tried_from_the_lowest_on() -> None:
    job, published = sheet_job("g2csp_C30", "CU1", "along, turned")
    found = dives(job).below(published + 3, published - 1)
    assert found is not None
    assert cost_of(job, found) == published
    assert dives(job).below(published, published - 1) is None


@pytest.mark.invariant
def test_no_plan_is_found_below_the_least_cost_or_without_work_left() -> None:
    job, published = sheet_job("g2csp_C30", "A2", "along")
    assert dives(job).at_most(published - 1) is None
    assert dives(job, work=0).at_most(published) is None
    few = replace(job, stock=(replace(job.stock[0], count=published - 1),))
    assert dives(few).at_most(published) is None


@pytest.mark.invariant
def test_the_same_job_gives_the_same_layouts() -> None:
    job, published = sheet_job("g2csp_furniture_A", "A19", "along")
    assert dives(job).at_most(published) == dives(job).at_most(published)
