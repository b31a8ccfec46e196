"""Prepares a project for the solver: checks it, converts it to whole time units, and finds the possible starts."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import gcd
from typing import Literal

from woodshop.schedule.values import Activity, Project, Window

MINUTES_A_DAY = 1440

Ranges = tuple[tuple[int, int], ...]
"""Whole numbers as ranges, both ends included, in order and disjoint."""

Reason = Literal["people", "capacity", "window", "time", "lags", "horizon", "effort"]


class InfeasibleProjectError(Exception):
    """The project has no schedule, or none was found. `activities` are the keys of the activities that show this.

    `reason` is one of these:

    - "people": the activity needs `wanted` people at once, but only `available` have the skill.
    - "capacity": the activity needs `wanted` of `resource`, but there are only `available`.
    - "window": the activity takes `wanted` minutes; the longest time for which its people and resources are
      available together is `available` minutes.
    - "time": the activity fits in no window between its earliest start and the end of the last day.
    - "lags": the lags between the activities, or between them and the hours of work, contradict each other.
    - "horizon": each activity fits, but not all of them fit in the days of the project.
    - "effort": no schedule was found within the given effort.
    """

    def __init__(
        self,
        reason: Reason,
        activities: tuple[str, ...] = (),
        *,
        resource: str = "",
        wanted: int = 0,
        available: int = 0,
    ) -> None:
        super().__init__(f"{reason}: {', '.join(activities)} {resource} wanted {wanted}, available {available}")
        self.reason: Reason = reason
        self.activities = activities
        self.resource = resource
        self.wanted = wanted
        self.available = available


@dataclass(frozen=True, slots=True)
class Lag:
    """A precedence between two activities, given by their numbers. The lags are in time units."""

    before: int
    after: int
    least: int
    most: int | None
    wanted: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared:
    """A project in time units of `unit` minutes. Activities, people and resources are numbered as in the project.

    `starts` are the times at which each activity can start if nothing else is done; `starts_of` gives these for each
    person who is able to do it. `due` is the time by which an activity should end, or None; `windows` are the windows
    of each person. `day_starts` are the starts of the days, and `horizon` is the end of the last one.
    """

    project: Project
    unit: int
    horizon: int
    day_starts: tuple[int, ...]
    length: tuple[int, ...]
    people: tuple[int, ...]
    starts: tuple[Ranges, ...]
    starts_of: tuple[dict[int, Ranges], ...]
    uses: tuple[tuple[tuple[int, int], ...], ...]
    due: tuple[int | None, ...]
    lags: tuple[Lag, ...]
    windows: tuple[tuple[tuple[int, int], ...], ...]
    capacity: tuple[int, ...]
    saws: frozenset[int]

    def mirrored(self) -> "Prepared":
        """The project with time running backward from the horizon. A due time becomes an earliest start."""
        end = self.horizon

        def turned(ranges: Ranges, length: int) -> Ranges:
            return tuple((end - length - hi, end - length - lo) for lo, hi in reversed(ranges))

        numbers = range(len(self.length))
        return replace(
            self,
            starts=tuple(turned(self.starts[a], self.length[a]) for a in numbers),
            starts_of=tuple({p: turned(r, self.length[a]) for p, r in self.starts_of[a].items()} for a in numbers),
            due=tuple(None if due is None else end - due for due in self.due),
            lags=tuple(replace(lag, before=lag.after, after=lag.before) for lag in self.lags),
            windows=tuple(tuple((end - hi, end - lo) for lo, hi in reversed(own)) for own in self.windows),
        )

    def restricted(self, keep: Sequence[int]) -> "Prepared":
        """The project with only the activities in `keep`, renumbered in that order, and the lags among them."""
        new = {a: n for n, a in enumerate(keep)}
        return replace(
            self,
            project=replace(self.project, activities=tuple(self.project.activities[a] for a in keep), precedences=()),
            length=tuple(self.length[a] for a in keep),
            people=tuple(self.people[a] for a in keep),
            starts=tuple(self.starts[a] for a in keep),
            starts_of=tuple(self.starts_of[a] for a in keep),
            uses=tuple(self.uses[a] for a in keep),
            due=tuple(self.due[a] for a in keep),
            lags=tuple(
                replace(lag, before=new[lag.before], after=new[lag.after])
                for lag in self.lags
                if lag.before in new and lag.after in new
            ),
        )


def meet(one: Ranges, other: Ranges) -> Ranges:
    """The numbers that are in both ranges."""
    found, i, j = [], 0, 0
    while i < len(one) and j < len(other):
        lo, hi = max(one[i][0], other[j][0]), min(one[i][1], other[j][1])
        if lo <= hi:
            found.append((lo, hi))
        if one[i][1] < other[j][1]:
            i += 1
        else:
            j += 1
    return tuple(found)


def in_at_least(count: int, sets: Sequence[Ranges]) -> Ranges:
    """The numbers that are in at least `count` of the sets."""
    if count == 1 and len(set(sets)) == 1:
        return sets[0]
    steps: dict[int, int] = {}
    for each in sets:
        for lo, hi in each:
            steps[lo] = steps.get(lo, 0) + 1
            steps[hi + 1] = steps.get(hi + 1, 0) - 1
    found: list[tuple[int, int]] = []
    level, since = 0, None
    for at in sorted(steps):
        level += steps[at]
        if since is None and level >= count:
            since = at
        elif since is not None and level < count:
            found.append((since, at - 1))
            since = None
    return tuple(found)


def prepare(project: Project) -> Prepared:
    """Checks that each activity alone is possible, and expresses all times in the largest unit that divides them.

    Raises InfeasibleProjectError if an activity is impossible, and ValueError for a duplicate or unknown key or an
    invalid number.
    """
    number = _numbers(project)
    resources = {each.key: n for n, each in enumerate(project.resources)}
    unit = gcd(*_times(project))
    windows = tuple(_in_units(each.windows, unit) for each in project.people)
    horizon = project.days[-1].window.end // unit
    length = tuple(each.minutes // unit for each in project.activities)
    uses, starts, starts_of = [], [], []
    for activity in project.activities:
        amounts: dict[int, int] = {}
        for use in activity.uses:
            at = resources[use.resource]
            amounts[at] = amounts.get(at, 0) + use.amount
        uses.append(tuple(sorted(amounts.items())))
        own, alone = _starts(project, activity, amounts, windows, unit)
        starts.append(own)
        starts_of.append(alone)
    lags = tuple(
        Lag(
            number[each.before],
            number[each.after],
            each.least // unit,
            None if each.most is None else each.most // unit,
            each.wanted // unit,
        )
        for each in project.precedences
    )
    return Prepared(
        project=project,
        unit=unit,
        horizon=horizon,
        day_starts=tuple(each.window.start // unit for each in project.days),
        length=length,
        people=tuple(each.people for each in project.activities),
        starts=narrowed(project, starts, length, lags),
        starts_of=tuple(starts_of),
        uses=tuple(uses),
        due=tuple(None if each.due is None else each.due // unit for each in project.activities),
        lags=lags,
        windows=windows,
        capacity=tuple(each.capacity for each in project.resources),
        saws=frozenset(n for n, each in enumerate(project.resources) if each.is_saw),
    )


def _numbers(project: Project) -> dict[str, int]:
    keys = {each.key: n for n, each in enumerate(project.activities)}
    resources = {each.key for each in project.resources}
    if len(keys) < len(project.activities) or len(resources) < len(project.resources):
        raise ValueError("two activities or two resources with one key")
    if len({each.name for each in project.people}) < len(project.people):
        raise ValueError("two people with one name")
    if not project.days:
        raise ValueError("a project without days")
    for activity in project.activities:
        if activity.minutes < 1 or activity.people < 0 or any(use.amount < 0 for use in activity.uses):
            raise ValueError(f"activity {activity.key}: minutes, people or amounts that cannot be")
        if not {use.resource for use in activity.uses} <= resources:
            raise ValueError(f"activity {activity.key}: a resource that is not there")
    for each in project.precedences:
        if each.before not in keys or each.after not in keys:
            raise ValueError(f"precedence {each.before} to {each.after}: an activity that is not there")
        if each.before == each.after:
            raise InfeasibleProjectError("lags", (each.before,))
    return keys


def _times(project: Project) -> Iterable[int]:
    """All numbers that must be multiples of the time unit."""
    for day in project.days:
        yield day.window.start
        yield day.window.end
    for windows in (*(each.windows for each in project.people), *(each.windows or () for each in project.resources)):
        for window in windows:
            yield window.start
            yield window.end
    for activity in project.activities:
        yield from (activity.minutes, activity.earliest)
        if activity.due is not None:
            yield from (activity.due, MINUTES_A_DAY)
    for lag in project.precedences:
        yield from (lag.least, lag.most or 0, lag.wanted)


def _in_units(windows: Sequence[Window], unit: int) -> tuple[tuple[int, int], ...]:
    return tuple((each.start // unit, each.end // unit) for each in windows)


def _fitting(windows: tuple[tuple[int, int], ...], length: int) -> Ranges:
    """The starts with which an activity of this length fits within one window."""
    starts = sorted((start, end - length) for start, end in windows if end - start >= length)
    merged: list[tuple[int, int]] = []
    for lo, hi in starts:
        if merged and lo <= merged[-1][1] + 1:
            merged[-1] = (merged[-1][0], max(hi, merged[-1][1]))
        else:
            merged.append((lo, hi))
    return tuple(merged)


def _starts(
    project: Project,
    activity: Activity,
    amounts: dict[int, int],
    windows: tuple[tuple[tuple[int, int], ...], ...],
    unit: int,
) -> tuple[Ranges, dict[int, Ranges]]:
    """The times at which an activity can start if nothing else is done: for all, and for each person with the skill."""
    key, length = activity.key, activity.minutes // unit
    able = [p for p, each in enumerate(project.people) if not activity.skill or activity.skill in each.skills]
    if len(able) < activity.people:
        raise InfeasibleProjectError("people", (key,), wanted=activity.people, available=len(able))
    for at, amount in amounts.items():
        resource = project.resources[at]
        if amount > resource.capacity:
            raise InfeasibleProjectError(
                "capacity", (key,), resource=resource.key, wanted=amount, available=resource.capacity
            )

    def possible(length: int) -> tuple[Ranges, dict[int, Ranges]]:
        there: Ranges = ((0, project.days[-1].window.end // unit - length),)
        for at, amount in sorted(amounts.items()):
            open_ = project.resources[at].windows
            if open_ is not None and amount:
                there = meet(there, _fitting(_in_units(open_, unit), length))
        alone = {p: meet(there, _fitting(windows[p], length)) for p in able} if activity.people else {}
        return in_at_least(activity.people, list(alone.values())) if activity.people else there, alone

    together, alone = possible(length)
    if not together or together[0][0] > together[-1][1]:
        lo, hi = 0, length  # the longest that fits, by halving
        while hi - lo > 1:
            middle = (lo + hi) // 2
            lo, hi = (middle, hi) if possible(middle)[0] else (lo, middle)
        raise InfeasibleProjectError("window", (key,), wanted=activity.minutes, available=lo * unit)
    after = ((-(-activity.earliest // unit), project.days[-1].window.end // unit),)
    alone = {p: ranges for p, each in alone.items() if (ranges := meet(each, after))}
    if not (together := meet(together, after)):
        raise InfeasibleProjectError("time", (key,), wanted=activity.minutes)
    return together, alone


def narrowed(
    project: Project, starts: Sequence[Ranges], length: tuple[int, ...], lags: tuple[Lag, ...]
) -> tuple[Ranges, ...]:
    """The starts that the lags allow. `length` is the duration of each activity, in the unit of the starts.

    If an activity is left without a start, raises InfeasibleProjectError with the activities of its chain.
    """
    found = list(starts)
    arcs = [(lag.before, lag.after, length[lag.before] + lag.least) for lag in lags]
    arcs += [(lag.after, lag.before, -length[lag.before] - lag.most) for lag in lags if lag.most is not None]
    cause: dict[int, int] = {}
    is_open = True
    while is_open:
        is_open = False
        for before, after, lag in arcs:
            if found[after][0][0] < found[before][0][0] + lag:
                kept = meet(found[after], ((found[before][0][0] + lag, found[after][-1][1]),))
                cause[after] = before
                if not kept:
                    raise InfeasibleProjectError("lags", _chain(project, cause, after))
                found[after], is_open = kept, True
            if found[before][-1][1] > found[after][-1][1] - lag:
                kept = meet(found[before], ((found[before][0][0], found[after][-1][1] - lag),))
                if not kept:
                    raise InfeasibleProjectError("lags", _chain(project, {**cause, after: before}, after))
                found[before], is_open = kept, True
    return tuple(found)


def _chain(project: Project, cause: dict[int, int], last: int) -> tuple[str, ...]:
    """The chain of activities of which each delays the next, from the first to `last`."""
    chain = [last]
    while chain[-1] in cause and cause[chain[-1]] not in chain:
        chain.append(cause[chain[-1]])
    return tuple(project.activities[a].key for a in reversed(chain))
