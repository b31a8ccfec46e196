"""Lower bounds of the goals, without a search: the work to be done in a period, compared with the hours available.

An activity must be done between its earliest start and the latest end that leaves time for all that depends on it. In
any period, the work of each group of people and each resource cannot exceed the time that they have.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import replace
from graphlib import CycleError, TopologicalSorter
from itertools import accumulate

from woodshop.schedule.prepare import MINUTES_A_DAY, Prepared, Ranges, meet, narrowed

MOST_IN_TURN = 6
"""Due activities of which every order of their ends is looked at."""
MOST_SINCE = 12
"""Times since which work is counted."""


def tightened(prepared: Prepared, values: Sequence[int]) -> Prepared:
    """The project without those starts and lags that would make a goal worse than its value in `values`.

    `values` are those of the first goals in the order of `GOALS`.
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
    return replace(prepared, lags=lags, starts=narrowed(prepared.project, starts, prepared.length, lags))


class Hours:
    """How much time the people of a group, or a resource, have between two times."""

    def __init__(self, windows: Iterable[tuple[int, int]], capacity: int = 1) -> None:
        """`windows` may overlap. Each of them counts in full."""
        steps: dict[int, int] = {}
        for start, end in windows:
            steps[start] = steps.get(start, 0) + capacity
            steps[end] = steps.get(end, 0) - capacity
        self.times = sorted(steps)
        self.level = list(accumulate(steps[at] for at in self.times))
        parts = (level * (after - at) for level, at, after in zip(self.level, self.times, self.times[1:], strict=False))
        self.sums = [0, *accumulate(parts)]

    def until(self, at: int) -> int:
        """The time that the people or the resource have up to `at`."""
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


class LeastEnds:
    """Lower bounds of the time by which some activities, with all activities that they depend on, can have ended."""

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

    def _works(self) -> list[tuple[Hours, list[tuple[int, int]]]]:
        """The hours of each group of people and each resource, and the activities that need it, each with its work."""
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
        while hi - lo > 1:  # lo is too early, hi is not known to be
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
    """The project in which some activities start early enough to leave time for the work that waits for them."""
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

    The due activities that weigh most can end in various orders, each no earlier than it and those before it can have
    ended. The bound is the cost of the cheapest order, plus the least cost of each other due activity on its own.
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


def saw_days_bound(prepared: Prepared) -> int:
    """A lower bound of the days at the saw: the work at the busiest saw in the longest days."""
    bound = 0
    edges = [*prepared.day_starts, prepared.horizon]
    for saw in sorted(prepared.saws):
        rows = [(a, amount) for a, uses in enumerate(prepared.uses) for r, amount in uses if r == saw and amount]
        if not rows:
            continue
        bound = max(bound, 1)
        if not all(prepared.people[a] for a, _ in rows):
            continue
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
                bound = max(bound, days)
                break
    return bound


def span_bound(prepared: Prepared) -> int:
    """A lower bound of the span, in minutes."""
    if not prepared.project.is_backward:
        if not prepared.length:
            return 0
        return LeastEnds(prepared).least_end(range(len(prepared.length))) * prepared.unit
    worked = [a for a, people in enumerate(prepared.people) if people]
    return LeastEnds(prepared.mirrored()).least_end(worked) * prepared.unit if worked else 0
