"""Both demo designs: with nothing done nothing changes, and one bad board changes what it must."""

import json
from typing import Any

import pytest

from tests.nightly import IS_NIGHT
from tests.once import bought
from woodshop.plan.plan_batch import batch_to_json
from woodshop.plan.rest.earlier_plan import EarlierPlan, read_earlier
from woodshop.plan.rest.plan_rest import PlanOfRest, plan_rest, rest_to_json
from woodshop.plan.rest.progress import BoardFault, Progress
from woodshop.plan.verify import verify_file

DEMOS = ("hobby-batch", "production-run") if IS_NIGHT else ("hobby-batch",)


@pytest.fixture(scope="module", params=DEMOS)
def demo(request: pytest.FixtureRequest) -> tuple[Any, str, EarlierPlan]:
    planned = bought(request.param)
    text = json.dumps(batch_to_json(planned))
    return planned, text, read_earlier(text, "plan.json")


def rest(demo: tuple[Any, str, EarlierPlan], progress: Progress) -> PlanOfRest:
    planned, text, earlier = demo
    found = plan_rest(earlier, planned.batch, planned.units, planned.report, progress, effort="quick")
    verdicts = verify_file(json.dumps(rest_to_json(found)), None, text)
    assert [finding for each in verdicts for finding in each["findings"]] == []
    return found


@pytest.mark.slow("plans a demo design")
@pytest.mark.invariant
def test_with_nothing_done_nothing_is_bought_and_nothing_changes(demo: tuple[Any, str, EarlierPlan]) -> None:
    found = rest(demo, Progress())
    assert found.rest.purchases == ()
    assert [(row.number, row.fate) for row in found.layouts] == [(n, "stays") for n in sorted(demo[2].layouts)]
    assert all(each.kept == each.boards for each in found.changes)


@pytest.mark.slow("plans a demo design, and its rest")
@pytest.mark.invariant
def test_one_bad_board_costs_a_board_at_most_and_changes_one_at_most(demo: tuple[Any, str, EarlierPlan]) -> None:
    """The commonest board is twisted: another of its kind does, or what is cheaper, with all others as planned."""
    lines = [line for line in demo[2].bought if line.group == "board 3/4 in"]
    line = max(lines, key=lambda each: each.count)
    found = rest(demo, Progress(boards=(BoardFault(stock=line.what, reason="twisted"),)))
    assert 0 < found.rest.total.minor <= line.price
    changed = {each.material.name: each.boards - each.kept for each in found.changes}
    others = changed.pop("board 3/4 in")
    assert others <= 1
    assert set(changed.values()) == {0}
    moved = [row for row in found.layouts if row.fate != "stays"]
    assert {row.material.name for row in moved} <= {"board 3/4 in"}
    assert len(moved) <= 2 * (1 + others)
