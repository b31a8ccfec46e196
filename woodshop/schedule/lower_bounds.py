"""Finds lower bounds of the goals without a search: compares the work to be done in a period with the time available.

An activity must be done between its earliest start and the latest end that leaves time for its dependents. In
any period, the work of each group of people and each resource cannot exceed the time that they have.
"""

from bisect import bisect_left, bisect_right
from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from graphlib import CycleError, TopologicalSorter
from itertools import accumulate, pairwise

from woodshop.schedule.prepare import MINUTES_A_DAY, Prepared, Ranges, meet, narrowed

MOST_IN_TURN = 6
"""The number of due activities for which every order of their ends is tried."""
MOST_LOOKED = 100_000
"""The number of steps after which the search for the fewest days at a saw is given up."""
MOST_SINCE = 12
"""The number of times from which work is counted."""


def tightened(prepared: Prepared, values: Sequence[int]) -> Prepared:
    """The project without those starts and lags that would make a goal worse than its value in `values`.

    `values` are the values of the first goals, in the order of `GOALS`.
    """
    starts, lags, unit = list(prepared.starts), prepared.lags, prepared.unit
    if values:
        for a, due in enumerate(prepared.due):
            if due is not None:
                weight = prepared.project.activities[a].weight
                last = due + values[0] // weight * (MINUTES_A_DAY // unit) if weight > 0 else prepared.horizon
                starts[a] = meet(starts[a], ((0, last - prepared.length[a]),))
    if len(values) > 1:
        lags = tuple(replace(lag, least=max(lag.least, lag.wanted - values[1] // unit)) for lag in lags)
    if len(values) > 4:
        for a, people in enumerate(prepared.people):
            last = prepared.horizon - prepared.length[a]
            if not prepared.project.is_backward:
                starts[a] = meet(starts[a], ((0, values[4] // unit - prepared.length[a]),))
            elif people:
                starts[a] = meet(starts[a], ((prepared.horizon - values[4] // unit, last),))
    return replace(prepared, lags=lags, starts=narrowed(prepared.project, starts, prepared.length, lags))


class Hours:
    """The working time of a group of people, or of a resource, between two times."""

    def __init__(self, windows: Iterable[tuple[int, int]], capacity: int = 1) -> None:
        """`windows` may overlap; each one adds its full time."""
        steps: dict[int, int] = {}
        for start, end in windows:
            steps[start] = steps.get(start, 0) + capacity
            steps[end] = steps.get(end, 0) - capacity
        self.times = sorted(steps)
        self.level = list(accumulate(steps[at] for at in self.times))
        parts = (level * (after - at) for level, at, after in zip(self.level, self.times, self.times[1:], strict=False))
        self.sums = [0, *accumulate(parts)]

    def until(self, at: int) -> int:
        """The working time of the people or the resource up to `at`."""
        n = bisect_right(self.times, at) - 1
        if n < 0:
            return 0
        return self.sums[n] + self.level[n] * (at - self.times[n])


def together(windows: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """The times that are in at least one window."""
    found: list[tuple[int, int]] = []
    for start, end in sorted(windows):
        if found and start <= found[-1][1]:
            found[-1] = (found[-1][0], max(end, found[-1][1]))
        else:
            found.append((start, end))
    return found


class Turns:
    """Jobs at a resource that takes at most `at_once` of them at once, such as lots of boards to pack and dry.

    A job is two activities; the second starts when the first ends. The number of jobs in a period is limited to
    `at_once` times the number of jobs of the shortest length that could follow one another in it.
    """

    def __init__(self, prepared: Prepared, at_once: int, jobs: Sequence[tuple[int, int]]) -> None:
        """`jobs` are the first and the second activity of each job."""
        self.length, self.at_once, self.jobs = prepared.length, at_once, jobs
        length = self.length
        self.least = min(length[a] + length[b] for a, b in jobs)
        able: list[tuple[int, int]] = []
        for a, b in jobs:
            able += meet(prepared.starts[a], tuple((lo - length[a], hi - length[a]) for lo, hi in prepared.starts[b]))
        self.starts = tuple(together((lo, hi + 1) for lo, hi in able))
        self.ends: dict[int, list[int]] = {}

    def until(self, since: int) -> list[int]:
        """The ends of jobs of the shortest length that follow one another from the time `since`."""
        if since not in self.ends:
            ends: list[int] = []
            at = since
            for lo, hi in self.starts:
                at = max(at, lo)
                while at < hi:
                    at += self.least
                    ends.append(at)
            self.ends[since] = ends
        return self.ends[since]

    def fit(self, lowest: Sequence[int], latest: Mapping[int, int]) -> bool:
        """Whether the jobs fit between their earliest and `latest` starts."""
        inside = sorted((latest[b] + self.length[b], lowest[a]) for a, b in self.jobs if a in latest and b in latest)
        times = sorted({since for _, since in inside})
        for since in times[:: max(1, len(times) // MOST_SINCE)]:
            ends = self.until(since)
            count = 0
            for until, own in inside:
                count += own >= since
                if count > self.at_once * bisect_right(ends, until):
                    return False
        return True


def _turns(prepared: Prepared) -> list[Turns]:
    """The jobs at each resource that takes few of them at once, grouped by how many it takes."""
    at_once = {lag.before: lag.after for lag in prepared.lags if lag.least == 0 and lag.most == 0}
    found = []
    for r, capacity in enumerate(prepared.capacity):
        amounts = {a: amount for a, uses in enumerate(prepared.uses) for s, amount in uses if s == r and amount}
        jobs = {a: b for a in amounts if (b := at_once.get(a, a)) in amounts}
        seconds = [b for a, b in jobs.items() if a != b]
        # where more than two activities are tied together, none of them counts
        pairs = [(a, b) for a, b in sorted(jobs.items()) if a != b and a not in seconds and seconds.count(b) == 1]
        pairs = [(a, b) for a, b in pairs if jobs.get(b, b) == b]
        counts = sorted({capacity // min(amounts[a], amounts[b]) for a, b in pairs})
        for count in counts:
            some = [(a, b) for a, b in pairs if min(amounts[a], amounts[b]) * (count + 1) > capacity]
            if len(some) > count:
                found.append(Turns(prepared, count, some))
    return found


class LeastEnds:
    """Lower bounds of the time by which some activities, and all activities that they depend on, can be finished."""

    def __init__(self, prepared: Prepared) -> None:
        self.prepared = prepared
        count = len(prepared.length)
        self.before: list[list[int]] = [[] for _ in range(count)]
        self.lags: list[list[tuple[int, int]]] = [[] for _ in range(count)]
        for lag in prepared.lags:
            self.before[lag.after].append(lag.before)
            self.lags[lag.before].append((lag.after, lag.least))
        try:
            self.order = list(TopologicalSorter({a: self.before[a] for a in range(count)}).static_order())[::-1]
        except CycleError:
            self.order = []
        self.lowest = [each[0][0] for each in prepared.starts]
        self.works = self._works()
        self.turns = _turns(prepared)

    def _works(self) -> list[tuple[Hours, list[tuple[int, int]]]]:
        """The hours of each group of people and of each resource, with the activities that need them and their work."""
        own = self.prepared
        found = []
        able = [frozenset(each) for each in own.starts_of]
        groups = {each for each, people in zip(able, own.people, strict=True) if people}
        groups |= {one | other for one in groups for other in groups}
        for group in sorted(groups, key=sorted):
            rows = [
                (a, own.length[a] * own.people[a]) for a, each in enumerate(able) if own.people[a] and each <= group
            ]
            found.append((Hours(each for p in sorted(group) for each in own.windows[p]), rows))
        for r, capacity in enumerate(own.capacity):
            rows = [(a, own.length[a] * amount) for a, uses in enumerate(own.uses) for s, amount in uses if s == r]
            if sum(work for _, work in rows) <= capacity * max((own.length[a] for a, _ in rows), default=0):
                continue
            if all(own.people[a] for a, _ in rows):
                people = {p for a, _ in rows for p in own.starts_of[a]}
                windows = together(each for p in people for each in own.windows[p])
            else:
                windows = [(0, own.horizon)]
            found.append((Hours(windows, capacity), rows))
        return found

    def least_end(self, targets: Iterable[int], at_least: int = 0) -> int:
        """The earliest time, `at_least` or later, by which the targets could all have ended."""
        own = self.prepared
        targets = list(targets)
        members: set[int] = set()
        waiting = list(targets)
        while waiting:
            a = waiting.pop()
            if a not in members:
                members.add(a)
                waiting.extend(self.before[a])
        lo = max([at_least, *(self.lowest[a] + own.length[a] for a in targets)])
        hi = own.horizon
        if not self.order or self._is_possible(lo, targets, members):
            return lo
        while hi - lo > 1:  # lo is too early; hi may not be
            middle = (lo + hi) // 2
            lo, hi = (lo, middle) if self._is_possible(middle, targets, members) else (middle, hi)
        return hi

    def _is_possible(self, end: int, targets: Sequence[int], members: set[int]) -> bool:
        own = self.prepared
        latest: dict[int, int] = {}
        bound = dict.fromkeys(targets, end)
        for a in self.order:
            if a not in members:
                continue
            last = bound.get(a, own.horizon) - own.length[a]
            for b, least in self.lags[a]:
                if b in members:
                    last = min(last, latest[b] - least - own.length[a])
            start = last_in(own.starts[a], last)
            if start is None:
                return False
            latest[a] = start
        if not all(each.fit(self.lowest, latest) for each in self.turns):
            return False
        return all(self._fits(hours, rows, latest) for hours, rows in self.works)

    def _fits(self, hours: Hours, rows: Sequence[tuple[int, int]], latest: dict[int, int]) -> bool:
        own = self.prepared
        inside = sorted((latest[a] + own.length[a], self.lowest[a], work) for a, work in rows if a in latest)
        times = sorted({lowest for _, lowest, _ in inside})
        step = max(1, len(times) // MOST_SINCE)
        for since in times[::step]:
            load, before = 0, hours.until(since)
            for n, (until, lowest, work) in enumerate(inside):
                if lowest >= since:
                    load += work
                    is_last = n + 1 == len(inside) or inside[n + 1][0] > until
                    if is_last and load > hours.until(until) - before:
                        return False
        return True


def with_latest_starts(prepared: Prepared, some: Iterable[int]) -> Prepared:
    """The project, with some activities restricted to starts that leave time for the work that depends on them."""
    mirrored = prepared.mirrored()
    ends = LeastEnds(replace(mirrored, due=(None,) * len(prepared.due)))
    starts = list(prepared.starts)
    for a in some:
        starts[a] = meet(starts[a], ((0, prepared.horizon - ends.least_end([a])),))
    return replace(prepared, starts=narrowed(prepared.project, starts, prepared.length, prepared.lags))


def last_in(ranges: Ranges, until: int) -> int | None:
    """The last number of the ranges that is `until` or less."""
    n = bisect_left(ranges, until + 1, key=lambda each: each[0]) - 1
    return None if n < 0 else min(ranges[n][1], until)


def tardiness_bound(prepared: Prepared) -> int:
    """A lower bound of the weighted days late.

    Tries all orders in which the due activities with the most weight can end. Each activity ends at the earliest time
    by which it and those before it can be finished. The bound is the cost of the best order, plus the least cost of
    each other due activity.
    """
    activities, unit = prepared.project.activities, prepared.unit
    ends = LeastEnds(prepared)

    def late(a: int, end: int) -> int:
        return activities[a].weight * max(0, -(-(end - (prepared.due[a] or 0)) * unit // MINUTES_A_DAY))

    due = [a for a, each in enumerate(prepared.due) if each is not None and activities[a].weight > 0]
    due = [a for a in due if late(a, prepared.starts[a][-1][1] + prepared.length[a])]
    alone = {a: ends.least_end([a]) for a in due}
    last_of_lot: dict[str, int] = {}
    for a in sorted(due, key=lambda a: (alone[a], a)):
        last_of_lot[activities[a].lot or activities[a].key] = a
    chosen = sorted(last_of_lot.values(), key=lambda a: (-activities[a].weight, prepared.due[a], a))[:MOST_IN_TURN]
    rest = sum(late(a, alone[a]) for a in due if a not in chosen)
    end_of = {1 << n: alone[a] for n, a in enumerate(chosen)}
    least = {0: 0}
    for picked in range(1, 1 << len(chosen)):
        members = [n for n in range(len(chosen)) if picked >> n & 1]
        if picked not in end_of:
            before = max(end_of[picked ^ 1 << n] for n in members)
            end_of[picked] = ends.least_end([chosen[n] for n in members], before)
        least[picked] = min(least[picked ^ 1 << n] + late(chosen[n], end_of[picked]) for n in members)
    return least[(1 << len(chosen)) - 1] + rest


@dataclass(frozen=True, slots=True)
class SawPlan:
    """A plan for some activities at a saw: the number of days, the end of the last activity, and the starts."""

    days: int
    end: int
    starts: tuple[tuple[int, int], ...]


class SawDays:
    """The fewest days at a saw that does one activity at a time, by dynamic programming from day to day.

    The plans respect precedences between the activities at the saw, the hours in which each of them alone could be
    done, and the least time for other work between two of them on one day. For each number of days, `plans` has the
    plan for all activities that ends first. `plans` is None if the search would take too long.
    """

    def __init__(self, prepared: Prepared, saw: int) -> None:
        self.own = prepared
        amounts = {a: amount for a, uses in enumerate(prepared.uses) for r, amount in uses if r == saw and amount}
        self.rows = sorted(amounts)
        self.plans: dict[int, SawPlan] | None = None
        if self.rows and all(2 * amount > prepared.capacity[saw] for amount in amounts.values()):
            self.gaps = {a: self._gaps(a) for a in self.rows}
            self.bit = {a: 1 << n for n, a in enumerate(self.rows)}
            self.before = {a: sum(self.bit[b] for b in self.rows if a in self.gaps[b]) for a in self.rows}
            self.looked = 0
            self.plans = self._all()

    def _gaps(self, a: int) -> dict[int, int]:
        """The activities at the saw that wait for activity `a`, and the least time from its end to their starts."""
        own = self.own
        after: dict[int, list[tuple[int, int]]] = {}
        for lag in own.lags:
            if lag.least >= 0:
                after.setdefault(lag.before, []).append((lag.after, lag.least))
        found: dict[int, int] = {}
        waiting = deque([(a, 0)])
        while waiting:
            b, end = waiting.popleft()
            for c, least in after.get(b, ()):
                if c != a and end + least > found.get(c, -1) and end + least <= own.horizon:
                    found[c] = end + least
                    waiting.append((c, end + least + own.length[c]))
        return {b: found[b] for b in self.rows if b in found}

    def _all(self) -> dict[int, SawPlan] | None:
        own, everything = self.own, (1 << len(self.rows)) - 1
        edges = [*own.day_starts, own.horizon + 1]
        plans: dict[int, SawPlan] = {}
        states: dict[int, SawPlan] = {0: SawPlan(0, 0, ())}
        for start, end in pairwise(edges):
            today = {a: ranges for a in self.rows if (ranges := meet(own.starts[a], ((start, end - 1),)))}
            if not today:
                continue
            found = dict(states)
            for done, plan in states.items():
                for more, (until, order) in self._day(done, today).items():
                    new = SawPlan(plan.days + 1, until, (*plan.starts, *order))
                    if more == everything:
                        if new.days not in plans or until < plans[new.days].end:
                            plans[new.days] = new
                    elif more not in found or new.days < found[more].days:
                        found[more] = new
                if self.looked > MOST_LOOKED:
                    return None
            missed = sum(self.bit[a] for a in self.rows if own.starts[a][-1][1] < end)
            states = {}
            for done in sorted(found, key=lambda each: (found[each].days, -each.bit_count(), each)):
                if not missed & ~done and not any(done & ~other == 0 for other in states):
                    states[done] = found[done]
        return plans

    def _day(self, done: int, today: dict[int, Ranges]) -> dict[int, tuple[int, tuple[tuple[int, int], ...]]]:
        """The sets of activities that can be done by the end of a day, with the end of the work and the starts."""
        own = self.own
        layer: dict[int, tuple[int, dict[int, int], tuple[tuple[int, int], ...]]] = {done: (0, {}, ())}
        found: dict[int, tuple[int, tuple[tuple[int, int], ...]]] = {}
        while layer:
            following: dict[int, tuple[int, dict[int, int], tuple[tuple[int, int], ...]]] = {}
            for own_done, (end, ends, order) in layer.items():
                is_last = True
                for a in today:
                    if own_done & self.bit[a] or self.before[a] & ~own_done:
                        continue
                    since = max([end, *(ends[b] + self.gaps[b][a] for b in ends if a in self.gaps[b])])
                    start = first_in(today[a], since)
                    if start is None:
                        continue
                    self.looked += 1
                    is_last = False
                    until, more = start + own.length[a], own_done | self.bit[a]
                    new_ends, new_order = {**ends, a: until}, (*order, (a, start))
                    if more in following:  # the earlier end of each, whichever way it comes about
                        other, other_ends, other_order = following[more]
                        new_ends = {b: min(each, other_ends[b]) for b, each in new_ends.items()}
                        if other <= until:
                            until, new_order = other, other_order
                    following[more] = (until, new_ends, new_order)
                if is_last and own_done != done:
                    found[own_done] = (end, order)
            layer = following if self.looked <= MOST_LOOKED else {}
        return found


def first_in(ranges: Ranges, since: int) -> int | None:
    """The first number of the ranges that is `since` or more."""
    return next((max(lo, since) for lo, hi in ranges if hi >= since), None)


def saw_days_bound(prepared: Prepared) -> int:
    """A lower bound of the days at saws: the fewest days in which the work at the busiest saw fits."""
    bound = 0
    for saw in sorted(prepared.saws):
        plans = SawDays(prepared, saw).plans
        bound = max(bound, _saw_days_by_hours(prepared, saw) if not plans else min(plans))
    return bound


def _saw_days_by_hours(prepared: Prepared, saw: int) -> int:
    """The number of days for the work at a saw, if it is done on the days with the most hours."""
    edges = [*prepared.day_starts, prepared.horizon]
    rows = [(a, amount) for a, uses in enumerate(prepared.uses) for r, amount in uses if r == saw and amount]
    if not rows:
        return 0
    if not all(prepared.people[a] for a, _ in rows):
        return 1
    people = {p for a, _ in rows for p in prepared.starts_of[a]}
    first = min(prepared.starts[a][0][0] for a, _ in rows)
    last = max(prepared.starts[a][-1][1] + prepared.length[a] for a, _ in rows)
    minutes: dict[int, int] = {}
    for start, end in together(each for p in people for each in prepared.windows[p]):
        start, end = max(start, first), min(end, last)
        if start < end:  # what starts on any of its days may use all of it
            for day in range(bisect_right(edges, start) - 1, bisect_left(edges, end)):
                minutes[day] = minutes.get(day, 0) + end - start
    work = sum(prepared.length[a] * amount for a, amount in rows)
    for days, room in enumerate(accumulate(sorted(minutes.values(), reverse=True)), 1):
        if room * prepared.capacity[saw] >= work:
            return days
    return 1


def span_bound(prepared: Prepared) -> int:
    """A lower bound of the span, in minutes."""
    if not prepared.project.is_backward:
        if not prepared.length:
            return 0
        return LeastEnds(prepared).least_end(range(len(prepared.length))) * prepared.unit
    worked = [a for a, people in enumerate(prepared.people) if people]
    return LeastEnds(prepared.mirrored()).least_end(worked) * prepared.unit if worked else 0
