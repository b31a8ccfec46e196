"""The boards of a large plan that lose most are planned again; and the lengths of sections that are tried first."""

from collections import Counter

import pytest

from tests.cutting.middling_jobs import middling
from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.model.job import Job, read_job
from woodshop.cutting.model.plan import Layout, cost_of
from woodshop.cutting.planner.assemble import finish
from woodshop.cutting.planner.first_fit import first_fit
from woodshop.cutting.planner.network import build_network
from woodshop.cutting.planner.plan_job import plan, plan_of_layouts
from woodshop.cutting.planner.pricing import enumerate_columns, programme_of, section_lengths
from woodshop.cutting.planner.solver import solve_relaxed
from woodshop.cutting.planner.worst_boards import replan_worst

SCALE = 10**6


def large() -> Job:
    """A job of about 80 boards, three of them limited and cheap."""
    value = middling(6)
    for blank in value["blanks"]:
        blank["count"] *= 12
    rack = {"id": "rack", "width": 20, "length": 96, "cost": 1, "count": 3}
    return read_job({**value, "stock": [*value["stock"], rack]})


def by_hand(job: Job) -> tuple[Layout, ...]:
    network = build_network(job)
    pencil = first_fit(job, network)
    assert pencil is not None
    return finish(job, network, pencil)


@pytest.mark.invariant
def test_a_plan_by_hand_gets_cheaper_and_stays_sound() -> None:
    job = large()
    layouts, best = by_hand(job), plan(job, effort="quick")
    assert best.certificate is not None
    prices, said = dict(best.certificate.prices), list[str]()
    found = replan_worst(
        job, layouts, prices, best.certificate.scale, bound=best.bound, effort="default", say=said.append
    )
    assert sum(layout.times for layout in layouts) >= 60
    assert best.bound <= cost_of(job, found) < cost_of(job, layouts)
    assert any("planned again" in line for line in said)
    assert not check_plan(plan_of_layouts(job, found), job)
    pieces = Counter(piece.id for layout in found for piece in layout.pieces * layout.times if not piece.spare)
    assert pieces == {blank.id: blank.count for blank in job.blanks}
    assert sum(layout.times for layout in found if layout.stock == "rack") <= 3


@pytest.mark.invariant
def test_a_plan_near_its_bound_and_a_small_one_stay_as_they_are() -> None:
    job = large()
    layouts = by_hand(job)
    cost = cost_of(job, layouts)

    def never(line: str) -> None:
        raise AssertionError(line)

    assert replan_worst(job, layouts, {}, SCALE, bound=cost - cost // 1_000, effort="long", say=never) is layouts
    few = read_job(middling(4))
    layouts = by_hand(few)
    assert replan_worst(few, layouts, {}, SCALE, bound=0, effort="long", say=never) is layouts


@pytest.mark.invariant
@pytest.mark.parametrize("remainder", [None, 2])
def test_section_lengths_that_are_asked_for_are_all_tried(remainder: int | None) -> None:
    """Lengths are those of sections and of lengths that are not ripped: with all of them, nothing is left out."""
    job = in_sections(remainder)
    whole = build_network(job)
    lengths = {
        item.extent
        for knapsack in whole.knapsacks
        for item in knapsack.items
        if knapsack.of[0] == "sections" or item.yields[0][0] in ("part", "panel")
    }
    assert build_network(job, only=frozenset(lengths)).knapsacks == whole.knapsacks
    assert len(build_network(job, only=frozenset()).knapsacks) < len(whole.knapsacks)


@pytest.mark.invariant
@pytest.mark.parametrize("remainder", [None, 2])
def test_the_lengths_that_the_linear_solution_uses_come_first(remainder: int | None) -> None:
    """With these lengths alone, the linear solution costs the same."""
    job = in_sections(remainder)
    whole = build_network(job)
    columns = enumerate_columns(whole)
    assert columns is not None
    programme = programme_of(job, whole, columns, is_whole=True)
    relaxed = solve_relaxed(programme.model)
    used = {
        item.extent
        for (number, pattern), value in zip(columns, relaxed.columns, strict=True)
        for item, count in zip(whole.knapsacks[number].items, pattern, strict=True)
        if value > 1e-6 and count and whole.knapsacks[number].of[0] == "sections"
    }
    assert set(section_lengths(whole, programme, relaxed)[: len(used)]) == used
    some = build_network(job, only=frozenset(used))
    few = enumerate_columns(some)
    assert few is not None
    assert len(few) <= len(columns)
    value = solve_relaxed(programme_of(job, some, few, is_whole=False).model).value
    assert value == pytest.approx(relaxed.value)


def in_sections(remainder: int | None) -> Job:
    """A job whose boards must be crosscut before they are ripped, with or without a remainder along each section."""
    rules = {"longest_rip": 70} if remainder is None else {"longest_rip": 70, "least_remainder": remainder}
    return read_job({**middling(8), "rules": rules})
