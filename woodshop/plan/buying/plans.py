"""Cutting plans kept by their jobs: what several sets of yards, or several runs, have in common is planned once."""

from collections.abc import Callable, Hashable, Iterable
from dataclasses import replace

from woodshop.design.settings.worth import Worth
from woodshop.errors import NothingToCutError
from woodshop.plan.plan_batch import plan_one
from woodshop.plan.values import MaterialJob, MaterialPlan
from woodshop.workers import over_cores

Wanted = tuple[MaterialJob, Worth | None]


class PlanBook:
    """Plans by their jobs, and the problems of jobs that cannot be cut. `with_tax`: the jobs' costs have tax in them.

    `is_shared` says that it serves several batches.
    """

    def __init__(self, effort: str = "default", *, is_shared: bool = False) -> None:
        self.effort, self.is_shared, self.with_tax = effort, is_shared, False
        self._known: dict[Hashable, MaterialPlan | NothingToCutError] = {}

    def prepare(self, wanted: Iterable[Wanted | None], progress: Callable[[str], None] | None = None) -> None:
        """Plan those of the jobs that are not known yet, over the cores where there are several."""
        new = {_key(*each): each for each in wanted if each is not None and _key(*each) not in self._known}
        if not new:
            return
        largest = sorted(new, key=lambda key: -sum(blank.count for blank in new[key][0].job.blanks))
        if progress is not None:
            for key in largest:
                job = new[key][0]
                count = sum(blank.count for blank in job.job.blanks)
                progress(f"cutting {job.material}: {count} pieces from {len(job.offers)} kinds of stock")
        tasks = [(*new[key], self.effort) for key in largest]
        self._known.update(zip(largest, over_cores(_attempt, tasks), strict=True))

    def plan(self, job: MaterialJob, worth: Worth | None) -> MaterialPlan:
        """The plan of a job, under this job's own names. Raises NothingToCutError where it cannot be cut."""
        key = _key(job, worth)
        if key not in self._known:
            self.prepare([(job, worth)])
        found = self._known[key]
        if isinstance(found, NothingToCutError):
            raise found
        return replace(found, job=job)

    def is_known(self, job: MaterialJob, worth: Worth | None) -> bool:
        """Whether this job was planned."""
        return _key(job, worth) in self._known


def _key(job: MaterialJob, worth: Worth | None) -> Hashable:
    return job.material, job.grid, job.job, worth


def _attempt(job: MaterialJob, worth: Worth | None, effort: str) -> MaterialPlan | NothingToCutError:
    try:
        return plan_one(job, worth, effort)
    except NothingToCutError as why:
        return why
