"""Finds whether a project has enough days for all the work, even if only one activity is done at a time."""

from bisect import bisect_left
from collections.abc import Sequence
from itertools import combinations

from woodshop.schedule.values import Activity, Precedence, Project, Window


def serial_ends(project: Project) -> dict[str, int] | None:
    """When each activity ends if only one attended activity is done at a time, or None if there are too few days.

    Unattended activities start as soon as they can, and occupy their resources. Lags have their wanted length.
    Activities are done in the order of the project unless their precedences require another order. The result is a
    feasible schedule, but seldom a good one.
    """
    before: dict[str, list[Precedence]] = {each.key: [] for each in project.activities}
    for each in project.precedences:
        before[each.after].append(each)
    capacity = {each.key: each.capacity for each in project.resources}
    held: dict[str, list[tuple[int, int]]] = {key: [] for key in capacity}  # end and amount
    windows: dict[tuple[str, int], list[Window]] = {}
    ends: dict[str, int] = {}
    now = 0
    for activity in _in_order(project.activities, before):
        start = max(
            [activity.earliest, *(ends[each.before] + max(each.least, each.wanted) for each in before[activity.key])]
        )
        if activity.people:
            kind = activity.skill, activity.people
            if kind not in windows:
                windows[kind] = _windows(project, *kind)
            start = max(start, now)
            for use in activity.uses:
                start = _free(held[use.resource], capacity[use.resource] - use.amount, start)
            found = _fits(windows[kind], start, activity.minutes)
            if found is None:
                return None
            start = found
            now = start + activity.minutes
        else:
            for use in activity.uses:
                held[use.resource].append((start + activity.minutes, use.amount))
        ends[activity.key] = start + activity.minutes
        if ends[activity.key] > project.days[-1].window.end:
            return None
    return ends


def _in_order(activities: Sequence[Activity], before: dict[str, list[Precedence]]) -> list[Activity]:
    """The activities in order, each after those it waits for. One that must follow another at once comes next."""
    by_key = {each.key: each for each in activities}
    at_once: dict[str, list[str]] = {}
    for own in before.values():
        for each in own:
            if each.most is not None:
                at_once.setdefault(each.before, []).append(each.after)
    found: dict[str, Activity] = {}
    for activity in activities:
        stack = [activity.key]
        while stack:
            key = stack[-1]
            lacking = [each.before for each in before[key] if each.before not in found] if key not in found else []
            if lacking:
                stack += lacking
                continue
            stack.pop()
            if key not in found:
                found[key] = by_key[key]
                stack += at_once.get(key, [])
    return list(found.values())


def _free(held: list[tuple[int, int]], most: int, start: int) -> int:
    """The first minute, `start` or later, at which unattended activities use at most `most` of a resource."""
    for end in sorted({start, *(end for end, _ in held if end > start)}):
        if sum(amount for until, amount in held if until > end) <= most:
            return end
    return start


def _windows(project: Project, skill: str, people: int) -> list[Window]:
    """The windows in which `people` people with a skill work at once, in order of their ends."""
    own = [each.windows for each in project.people if not skill or skill in each.skills]
    found = set()
    for some in combinations(own, people):
        common = list(some[0])
        for other in some[1:]:
            common = [
                Window(max(a.start, b.start), min(a.end, b.end))
                for a in common
                for b in other
                if max(a.start, b.start) < min(a.end, b.end)
            ]
        found |= set(common)
    return sorted(found, key=lambda window: (window.end, window.start))


def _fits(windows: list[Window], start: int, minutes: int) -> int | None:
    """The first minute, `start` or later, at which work that takes `minutes` can begin."""
    first = bisect_left(windows, start + minutes, key=lambda window: window.end)
    starts = [max(each.start, start) for each in windows[first:] if each.end - max(each.start, start) >= minutes]
    return min(starts, default=None)
