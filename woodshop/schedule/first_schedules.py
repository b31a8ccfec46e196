"""Makes the first schedules for the search: list schedules with priorities varied at random, from a fixed seed."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from random import Random

from woodshop.schedule.goal_values import goal_values
from woodshop.schedule.list_schedule import ListScheduler, Placed, latest_starts
from woodshop.schedule.prepare import MINUTES_A_DAY, Prepared


def best_of(prepared: Prepared, schedules: Iterable[list[Placed]]) -> list[Placed] | None:
    """The schedule with the best goal values (the first one if several are equally good), or None for an empty list."""
    return min(schedules, key=lambda each: _values(prepared, each), default=None)


def _values(prepared: Prepared, placed: Sequence[Placed]) -> tuple[int, ...]:
    return goal_values(prepared, [start for start, _ in placed])


def first_schedules(prepared: Prepared, tries: int = 40) -> list[list[Placed]]:
    """The best of about `tries` list schedules, including backward ones if the project is backward. May be empty."""
    found = [_Climb(prepared).run(tries)]
    if prepared.project.is_backward and prepared.length:
        found.append(_Climb(prepared, is_mirrored=True).run(tries // 2))
        found.append(_latest(prepared, tries, found[0]))
    return [each for each in found if each is not None]


def completed(
    prepared: Prepared, tries: int, fixed: Mapping[int, Placed], like: Sequence[Placed]
) -> list[list[Placed]]:
    """The best of about `tries` list schedules with some activities fixed. The first one keeps the order in `like`.

    If the project is backward, the result also includes a backward schedule. May be empty.
    """
    found = [_Climb(prepared, fixed, like=like).run(tries)]
    if prepared.project.is_backward:
        found.append(_Climb(prepared, fixed, is_mirrored=True, like=like).run(tries))
    return [each for each in found if each is not None]


def _latest(prepared: Prepared, tries: int, best: list[Placed] | None) -> list[Placed] | None:
    """The forward schedule found that begins on the latest day without more lateness or shorter lags than in `best`."""
    wanted = None if best is None else _values(prepared, best)[:2]
    lo, hi = 0, len(prepared.day_starts)
    while wanted is not None and hi - lo > 1:
        middle = (lo + hi) // 2
        found = _Climb(prepared, since=prepared.day_starts[middle]).run(max(5, tries // 10))
        if found is not None and _values(prepared, found)[:2] <= wanted:
            best, lo = found, middle
        else:
            hi = middle
    return best


class _Climb:
    """Hill climbing on priorities: shifts the due times of lots, and the starts of activities in the best schedule."""

    def __init__(
        self,
        prepared: Prepared,
        fixed: Mapping[int, Placed] | None = None,
        *,
        is_mirrored: bool = False,
        since: int = 0,
        like: Sequence[Placed] = (),
    ) -> None:
        """`since` is the first time at which people work. `like` is a schedule whose order is tried first."""
        fixed = fixed or {}
        starts = [((fixed[a][0], fixed[a][0]),) if a in fixed else ranges for a, ranges in enumerate(prepared.starts)]
        prepared = replace(prepared, starts=tuple(starts))
        self.prepared = prepared
        self.fixed = fixed
        self.like = like
        self.is_mirrored = is_mirrored
        self.way = prepared.mirrored() if is_mirrored else prepared
        releases = [since if people else 0 for people in prepared.people]
        if is_mirrored:
            releases = [due or 0 for due in self.way.due]
        self.scheduler = ListScheduler(self.way, releases)
        self.draw = Random(1)
        self.day = MINUTES_A_DAY // prepared.unit or 1
        self.lots = sorted({each.lot for each in prepared.project.activities})
        self.shifts = dict.fromkeys(self.lots, 0.0)
        self.best: list[Placed] | None = None
        self.value: tuple[int, ...] | None = None

    def run(self, tries: int) -> list[Placed] | None:
        """Makes `tries` list schedules, and returns the best."""
        if self.like:
            self._take(self._order(self.like))
        none = [None] * len(self.way.length)
        self._take(latest_starts(self.way, none))
        self._take(list(range(len(self.way.length))))
        self._take(self._by_due(self.shifts))
        for n in range(tries - 3):
            if n % 2 or self.best is None:
                shifts = dict(self.shifts)
                for lot in self.draw.sample(self.lots, min(len(self.lots), self.draw.randrange(1, 3))):
                    shifts[lot] += self.draw.gauss(0, 5) * self.day
                if self._take(self._by_due(shifts)):
                    self.shifts = shifts
            else:
                self._take(self._beside_best())
        return self.best

    def _by_due(self, shifts: dict[str, float]) -> list[int]:
        """The latest starts after the due times of each lot are shifted."""
        activities = self.prepared.project.activities
        if self.is_mirrored:
            due: list[int | None] = [None] * len(self.way.length)
            found = latest_starts(self.way, due)
            return [each + round(shifts[activities[a].lot]) for a, each in enumerate(found)]
        own = [None if each is None else each + round(shifts[activities[a].lot]) for a, each in enumerate(self.way.due)]
        return latest_starts(self.way, own)

    def _beside_best(self) -> list[float]:
        """The starts of the best schedule, some of them shifted."""
        assert self.best is not None
        order = self._order(self.best)
        width = self.day * self.draw.choice((0.3, 1, 3))
        part = self.draw.choice((0.05, 0.2, 1))
        return [each + (self.draw.gauss(0, width) if self.draw.random() < part else 0) for each in order]

    def _order(self, placed: Sequence[Placed]) -> list[int]:
        """The starts in a schedule, counted back from the horizon if the search runs backward."""
        if not self.is_mirrored:
            return [start for start, _ in placed]
        return [-start - length for (start, _), length in zip(placed, self.prepared.length, strict=True)]

    def _take(self, priority: Sequence[float]) -> bool:
        """Makes a list schedule, and keeps it if it is at least as good as the best so far. Returns whether it is."""
        first = min(priority, default=0) - 1 - len(priority)
        priority = [first if a in self.fixed else each for a, each in enumerate(priority)]
        placed = self.scheduler.run(priority, lambda a: self.fixed[a][1] if a in self.fixed else ())
        if placed is None:
            return False
        if self.is_mirrored:
            end = self.prepared.horizon
            placed = [
                (end - start - length, people) for (start, people), length in zip(placed, self.way.length, strict=True)
            ]
        value = _values(self.prepared, placed)
        if self.value is not None and value > self.value:
            return False
        self.best, self.value = placed, value
        return True
