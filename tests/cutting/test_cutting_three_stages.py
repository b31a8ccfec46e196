"""Three stages against two: never dearer, though neither is closed."""

from typing import Any

import pytest

from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.model.job import Job, read_job
from woodshop.cutting.planner import plan_job as planner
from woodshop.cutting.planner.integer import Answer
from woodshop.cutting.planner.plan_job import plan


def rims(count: int, stages: int, first: str) -> Job:
    """Rims of few sizes from boards so long that there are many section lengths; a rack that runs out."""
    stock = [
        {"id": "s6", "width": 352, "length": 4544, "cost": 834},
        {"id": "s12", "width": 352, "length": 9152, "cost": 1668},
        {"id": "rack", "width": 224, "length": 2656, "cost": 100, "count": 2},
    ]
    blanks = [
        {"id": "side", "width": 160, "length": 1272, "count": 2 * count},
        {"id": "end", "width": 160, "length": 944, "count": count},
        {"id": "high", "width": 288, "length": 1272, "count": count},
        {"id": "strip", "width": 48, "length": 928, "count": count},
    ]
    return read_job(
        {
            "format": "woodshop-job/1",
            "unit": "1/64 in",
            "money": "cent",
            "kerf": {"rip": 8, "crosscut": 8},
            "cutting": {"stages": stages, "first": first, "final_trim": False},
            "stock": stock,
            "blanks": blanks,
        }
    )


@pytest.mark.invariant
@pytest.mark.parametrize("count", [3, 5])
def test_three_stages_are_never_dearer_than_two_nor_below_what_is_certified(count: int) -> None:
    """Whether or not they are closed, and with the least search."""
    two = plan(rims(count, 2, "along"), effort="quick")
    for first in ("along", "across"):
        three = plan(rims(count, 3, first), effort="quick")
        assert check_plan(three, rims(count, 3, first)) == ()
        assert three.cost <= two.cost
        assert three.certificate is not None
        assert three.certificate.bound <= three.bound <= three.cost


@pytest.mark.invariant
def test_three_stages_keep_the_plan_of_two_when_their_own_search_finds_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    own = planner.search

    def nothing(job: Job, *rest: Any, **others: Any) -> Answer:
        return own(job, *rest, **others) if job.cutting.stages == 2 else Answer(None, 0, False)

    monkeypatch.setattr(planner, "search", nothing)
    for first in ("along", "across", "either"):
        two = "along" if first == "across" else first
        assert plan(rims(4, 3, first)).cost <= plan(rims(4, 2, two)).cost
