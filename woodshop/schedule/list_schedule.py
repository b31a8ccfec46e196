"""Serial list scheduling: one activity after another, each as soon as its people and resources are free.

The result is the solver's first schedule. List scheduling considers neither goals nor bounds.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence
from graphlib import CycleError, TopologicalSorter
from heapq import heapify, heappop, heappush

from woodshop.schedule.prepare import Lag, Prepared, Ranges

MOST_SHIFTS = 400
"""How many later times are tried for activities that are tied together by lags."""

Placed = tuple[int, tuple[int, ...]]
"""The start of an activity, and the numbers of its people."""


class _Free:
    """The times at which a person is free: the person's windows minus the bookings."""

    def __init__(self, windows: Sequence[tuple[int, int]]) -> None:
        self.starts = [start for start, _ in windows]
        self.ends = [end for _, end in windows]

    def first(self, since: int, length: int) -> int | None:
        """The first time, `since` or later, at which the person is free for this `length`."""
        for n in range(bisect_right(self.ends, since), len(self.ends)):
            start = max(self.starts[n], since)
            if self.ends[n] - start >= length:
                return start
        return None

    def book(self, start: int, end: int) -> None:
        n = bisect_right(self.starts, start) - 1
        lo, hi = self.starts[n], self.ends[n]
        pieces = [(a, b) for a, b in ((lo, start), (end, hi)) if a < b]
        self.starts[n : n + 1] = [a for a, _ in pieces]
        self.ends[n : n + 1] = [b for _, b in pieces]

    def copy(self) -> "_Free":
        other = _Free(())
        other.starts, other.ends = self.starts[:], self.ends[:]
        return other


class _Level:
    """How much of a resource is in use, from each time until the next."""

    def __init__(self, capacity: int) -> None:
        self.capacity = capacity
        self.times, self.used = [0], [0]

    def first(self, since: int, length: int, amount: int) -> int:
        """The first time, `since` or later, at which this `amount` is free for this `length`."""
        most, start = self.capacity - amount, since
        n = max(bisect_right(self.times, since) - 1, 0)
        while n < len(self.times) and self.times[n] < start + length:
            if self.used[n] > most:
                start = self.times[n + 1]  # the last level is 0
            n += 1
        return start

    def book(self, start: int, end: int, amount: int) -> None:
        first, last = self._cut(start), self._cut(end)
        for n in range(first, last):
            self.used[n] += amount

    def _cut(self, at: int) -> int:
        n = bisect_left(self.times, at)
        if n == len(self.times) or self.times[n] != at:
            self.times.insert(n, at)
            self.used.insert(n, self.used[n - 1])
        return n

    def copy(self) -> "_Level":
        other = _Level(self.capacity)
        other.times, other.used = self.times[:], self.used[:]
        return other


class Blocks:
    """Groups activities that are placed together, because lags with a maximum join them. Others form a block each."""

    def __init__(self, prepared: Prepared) -> None:
        count = len(prepared.length)
        root = list(range(count))

        def top(a: int) -> int:
            while root[a] != a:
                a = root[a]
            return a

        def join(a: int, b: int) -> None:
            a, b = sorted((top(a), top(b)))
            root[b] = a

        for lag in prepared.lags:
            if lag.most is not None:
                join(lag.before, lag.after)
        while True:  # blocks that wait for each other become one
            waits: dict[int, set[int]] = {top(a): set() for a in range(count)}
            for lag in prepared.lags:
                if top(lag.before) != top(lag.after):
                    waits[top(lag.after)].add(top(lag.before))
            try:
                TopologicalSorter({b: sorted(waits[b]) for b in sorted(waits)}).prepare()
                break
            except CycleError as error:
                for other in error.args[1]:
                    join(error.args[1][0], other)
        inside: dict[int, dict[int, set[int]]] = {b: {} for b in waits}
        for a in range(count):
            inside[top(a)][a] = set()
        for lag in prepared.lags:
            if top(lag.before) == top(lag.after):
                inside[top(lag.after)][lag.after].add(lag.before)
        self.members: dict[int, tuple[int, ...]] = {}
        for b, own in inside.items():
            try:
                self.members[b] = tuple(TopologicalSorter({a: sorted(own[a]) for a in own}).static_order())
            except CycleError:
                self.members[b] = tuple(own)
        self.block_of = [top(a) for a in range(count)]
        self.waits = {b: frozenset(each) for b, each in waits.items()}
        self.followers: dict[int, list[int]] = {b: [] for b in waits}
        for b in sorted(waits):
            for other in sorted(waits[b]):
                self.followers[other].append(b)


class ListScheduler:
    """Makes schedules of one project from lists of priorities. Keeps the wanted lags that make nothing late."""

    def __init__(self, prepared: Prepared, releases: Sequence[int] | None = None) -> None:
        """`releases` are the earliest starts that are wanted, in addition to the required ones."""
        self.prepared = prepared
        self.blocks = Blocks(prepared)
        self.before: list[list[Lag]] = [[] for _ in prepared.length]
        for lag in prepared.lags:
            self.before[lag.after].append(lag)
        self.releases = releases or [0] * len(prepared.length)
        self.rarity = _rarity(prepared)
        self.in_time = latest_starts(prepared, prepared.due)

    def run(self, priority: Sequence[float], pick: Callable[[int], Sequence[int]] | None = None) -> list[Placed] | None:
        """A schedule. Of all activities that can be placed next, it places the one with the lowest `priority` number.

        `pick` gives the preferred people for an activity. After them come the people with the least work that only few
        can do. Returns None if there is no time for some activity.
        """
        own = self.prepared
        free = [_Free(each) for each in own.windows]
        level = [_Level(each) for each in own.capacity]
        placed: dict[int, Placed] = {}
        waiting = {b: len(each) for b, each in self.blocks.waits.items()}
        rank = {b: min(priority[a] for a in members) for b, members in self.blocks.members.items()}
        heap = [(rank[b], b) for b, count in waiting.items() if not count]
        heapify(heap)
        while heap:
            _, b = heappop(heap)
            if not self._place(self.blocks.members[b], free, level, placed, pick):
                return None
            for other in self.blocks.followers[b]:
                waiting[other] -= 1
                if not waiting[other]:
                    heappush(heap, (rank[other], other))
        return [placed[a] for a in range(len(own.length))]

    def _place(
        self,
        members: tuple[int, ...],
        free: list[_Free],
        level: list[_Level],
        placed: dict[int, Placed],
        pick: Callable[[int], Sequence[int]] | None,
    ) -> bool:
        own = self.prepared
        later = dict.fromkeys(members, 0)
        for _ in range(MOST_SHIFTS if len(members) > 1 else 1):
            changed_free: dict[int, _Free] = {}
            changed_level: dict[int, _Level] = {}
            for a in members:
                since, until = max(self.releases[a], later[a]), own.horizon
                for lag in self.before[a]:
                    if lag.before in placed:
                        end = placed[lag.before][0] + own.length[lag.before]
                        since = max(since, end + lag.least)
                        if lag.wanted > lag.least:  # wait, but not so long that something is late
                            since = max(since, min(end + lag.wanted, self.in_time[a]))
                        if lag.most is not None:
                            until = min(until, end + lag.most)
                found = self._first(a, since, free, level, pick)
                if found is None:
                    return self._undo(members, placed, free, level, changed_free, changed_level)
                if found[0] > until:  # the activities before it start that much later
                    self._undo(members, placed, free, level, changed_free, changed_level)
                    for lag in self.before[a]:
                        if lag.most is not None and lag.before in later:
                            least = found[0] - lag.most - own.length[lag.before]
                            later[lag.before] = max(later[lag.before], least)
                    break
                placed[a] = found
                start, end = found[0], found[0] + own.length[a]
                for p in found[1]:
                    changed_free.setdefault(p, free[p])
                    free[p] = free[p].copy() if len(members) > 1 else free[p]
                    free[p].book(start, end)
                for r, amount in own.uses[a]:
                    changed_level.setdefault(r, level[r])
                    level[r] = level[r].copy() if len(members) > 1 else level[r]
                    level[r].book(start, end, amount)
            else:
                return all(
                    lag.before not in placed
                    or lag.most is None
                    or placed[a][0] - placed[lag.before][0] - own.length[lag.before] <= lag.most
                    for a in members
                    for lag in self.before[a]
                )
        return False

    def _undo(
        self,
        members: tuple[int, ...],
        placed: dict[int, Placed],
        free: list[_Free],
        level: list[_Level],
        changed_free: dict[int, _Free],
        changed_level: dict[int, _Level],
    ) -> bool:
        for a in members:
            placed.pop(a, None)
        for p, was_free in changed_free.items():
            free[p] = was_free
        for r, was_level in changed_level.items():
            level[r] = was_level
        return False

    def _first(
        self,
        a: int,
        since: int,
        free: list[_Free],
        level: list[_Level],
        pick: Callable[[int], Sequence[int]] | None,
    ) -> Placed | None:
        own = self.prepared
        length, wanted = own.length[a], own.people[a]
        able = own.starts_of[a]
        while True:
            start = next_in(own.starts[a], since)
            if start is None:
                return None
            for r, amount in own.uses[a]:
                start = max(start, level[r].first(start, length, amount))
            if start > since and next_in(own.starts[a], start) != start:
                since = start
                continue
            if not wanted:
                if all(level[r].first(start, length, amount) == start for r, amount in own.uses[a]):
                    return start, ()
                since = start
                continue
            times = sorted((at, p) for p in able if (at := free[p].first(start, length)) is not None)
            if len(times) < wanted:
                return None
            if times[wanted - 1][0] > start:
                since = times[wanted - 1][0]
                continue
            if any(level[r].first(start, length, amount) != start for r, amount in own.uses[a]):
                since = start
                continue
            there = [p for at, p in times if at == start]
            wished = pick(a) if pick is not None else ()
            there.sort(key=lambda p: (p not in wished, self.rarity[p], p))
            return start, tuple(sorted(there[:wanted]))


def _rarity(prepared: Prepared) -> list[float]:
    """The amount of work for each person. The time of an activity is divided among all people who are able to do it."""
    found = [0.0] * len(prepared.windows)
    for a, able in enumerate(prepared.starts_of):
        for p in able:
            found[p] += prepared.length[a] * prepared.people[a] / len(able)
    return found


def next_in(ranges: Ranges, since: int) -> int | None:
    """The first number of the ranges that is `since` or more."""
    n = bisect_left(ranges, since, key=lambda each: each[1])
    return None if n == len(ranges) else max(ranges[n][0], since)


def latest_starts(prepared: Prepared, due: Sequence[int | None]) -> list[int]:
    """For each activity, the latest start that lets everything that depends on it end by its due time."""
    found = [prepared.starts[a][-1][1] for a in range(len(prepared.length))]
    for a, end in enumerate(due):
        if end is not None:
            found[a] = min(found[a], end - prepared.length[a])
    for _ in range(len(found)):
        is_open = False
        for lag in prepared.lags:
            latest = found[lag.after] - max(lag.least, lag.wanted) - prepared.length[lag.before]
            if latest < found[lag.before]:
                found[lag.before], is_open = latest, True
        if not is_open:
            break
    return found
