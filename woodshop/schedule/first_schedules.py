"""Schedules to start the search with, from lists of priorities."""

from collections.abc import Iterable, Sequence

from woodshop.schedule.goal_values import goal_values
from woodshop.schedule.list_schedule import ListScheduler, Placed, latest_starts
from woodshop.schedule.prepare import Prepared


def best_of(prepared: Prepared, schedules: Iterable[list[Placed]]) -> list[Placed] | None:
    """The schedule with the best goals, the first of equal ones; None if there is none."""
    return min(schedules, key=lambda each: goal_values(prepared, [start for start, _ in each]), default=None)


def first_schedules(prepared: Prepared) -> list[list[Placed]]:
    """Some schedules. The list is empty if none was found."""
    found = []
    for way in (prepared, prepared.mirrored()) if prepared.project.is_backward else (prepared,):
        releases = None
        if way is not prepared:
            releases = [due or 0 for due in _inherited(way)]
        scheduler = ListScheduler(way, releases)
        for priority in _priorities(way):
            placed = scheduler.run(priority)
            if placed is not None:
                if way is not prepared:
                    placed = [
                        (prepared.horizon - start - length, people)
                        for (start, people), length in zip(placed, way.length, strict=True)
                    ]
                found.append(placed)
    return found


def _inherited(way: Prepared) -> tuple[int | None, ...]:
    return way.due


def _priorities(prepared: Prepared) -> list[Sequence[float]]:
    none = [None] * len(prepared.length)
    by_due = latest_starts(prepared, prepared.due)
    by_end = latest_starts(prepared, none)
    return [by_due, by_end, list(range(len(by_due)))]
