"""Finds the best schedule by constraint programming: improves one goal after another, and gives each a lower bound.

The search starts from a list schedule. Then it solves one model for each goal, in which the earlier goals may be no
worse than in the best schedule so far. One worker, one seed and limits of deterministic time give the same schedule
each time with the same version of the solver.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from importlib.metadata import version
from typing import Literal

from woodshop.schedule.first_schedules import best_of, completed, first_schedules
from woodshop.schedule.goal_model import GoalModel, follows
from woodshop.schedule.goal_values import day_number, goal_values
from woodshop.schedule.list_schedule import ListScheduler, Placed
from woodshop.schedule.lower_bounds import (
    SawDays,
    saw_days_bound,
    span_bound,
    tardiness_bound,
    tightened,
    with_latest_starts,
)
from woodshop.schedule.prepare import InfeasibleProjectError, Prepared, meet, narrowed, prepare
from woodshop.schedule.tidy import tidied
from woodshop.schedule.values import GOALS, Booking, Goal, Project, Schedule

Effort = Literal["quick", "default", "long"]


@dataclass(frozen=True, slots=True)
class _Limits:
    """How long to search: the number of list schedules and, for each goal, the solver's deterministic time in units.

    One unit takes about 5 s of processor time. A project of more than `most` activities is modeled only in parts.
    """

    tries: int
    time: float
    most: int


EFFORTS = {
    "quick": _Limits(40, 0.1, 60),
    "default": _Limits(120, 0.4, 150),
    "long": _Limits(2000, 5.0, 1000),
}


_AIMS = {
    "tardiness": "nothing late",
    "spare days": "days to spare between steps",
    "saw days": "few days at the saw",
    "set-ups": "each setting of the saw set up once",
    "span": "no waiting in between",
}
"""What is aimed at with each goal, for lines of progress."""

SHARES = (1, 0.3)
"""The shares, tried in turn, of the time by which work after sawing can start later. The saw gets that time."""
FREE = 80
"""The number of activities freed while the others keep their times, if a project is too large to solve at once."""


def solve(
    project: Project,
    *,
    effort: Effort = "default",
    goals: int = len(GOALS),
    hint: Schedule | None = None,
    say: Callable[[str], None] | None = None,
) -> Schedule:
    """The schedule of a project.

    Only the first `goals` goals are improved; the other goals get a bound of 0. `hint` is a schedule of the same or a
    similar project; the search first tries its order of activities. `say` is called with each line of progress.

    Raises InfeasibleProjectError if there is no schedule, or none is found within the effort.
    """
    if effort not in EFFORTS:
        raise ValueError(f"effort {effort!r}: wanted one of {', '.join(EFFORTS)}")
    say, limits, prepared = say or (lambda line: None), EFFORTS[effort], prepare(project)
    best = best_of(prepared, [*_hinted(prepared, hint), *first_schedules(prepared, limits.tries)])
    if best is None:
        answer = GoalModel(prepared, None, (), []).run(10 * limits.time)
        if answer.placed is None:
            raise InfeasibleProjectError("horizon" if answer.is_proved else "effort")
        best = answer.placed
    best = tidied(prepared, best)
    search = _Search(prepared, limits, best)
    for number in range(goals):
        say(f"scheduling the work, step {number + 1} of {goals}: {_AIMS[GOALS[number]]}")
        search.improve(number)
    return Schedule(
        project=project,
        bookings=_bookings(prepared, tidied(prepared, search.best)),
        goals=tuple(Goal(*each) for each in zip(GOALS, search.values, search.bounds, strict=True)),
        made_with={"ortools": version("ortools")},
    )


class _Search:
    """The best schedule so far, its values, and the lower bounds found."""

    def __init__(self, prepared: Prepared, limits: _Limits, best: list[Placed]) -> None:
        self.prepared = prepared
        self.limits = limits
        self.bounds = [0] * len(GOALS)
        self.best = best
        self.values = _values(prepared, best)

    def improve(self, number: int) -> None:
        """Improves one goal without making the goals before it worse. Goals after it may improve too."""
        own = tightened(self.prepared, self.values[: number + 1])
        if self.values[number]:
            bound_of = {"tardiness": tardiness_bound, "saw days": saw_days_bound, "span": span_bound}
            if GOALS[number] in bound_of:
                self.bounds[number] = bound_of[GOALS[number]](own)
        if self.values[number] > self.bounds[number]:
            if GOALS[number] == "saw days":
                self._plan_saw(own)
            if len(own.length) <= self.limits.most:
                self._ask(own, number)
            else:
                self._improve_parts(own, number)
        self.bounds[number] = min(self.bounds[number], self.values[number])

    def _ask(self, own: Prepared, number: int) -> None:
        """Solves the model of a goal."""
        for from_below in (True, False):
            model = GoalModel(own, number, self.values, self.best, self.bounds[number])
            answer = model.run(self.limits.time, from_below=from_below)
            self.bounds[number] = max(self.bounds[number], answer.bound)
            if answer.placed is not None:
                self.take(answer.placed)
            if self.values[number] <= self.bounds[number]:
                return

    def _improve_parts(self, own: Prepared, number: int) -> None:
        """Solves models in which some activities are free and the others keep their times."""
        for free in self._parts(own, number):
            if self.values[number] <= self.bounds[number]:
                return
            starts = tuple(
                ranges if a in free else ((self.best[a][0], self.best[a][0]),) for a, ranges in enumerate(own.starts)
            )
            part = replace(own, starts=starts)
            answer = GoalModel(part, number, self.values, self.best, self.bounds[number]).run(self.limits.time / 5)
            if answer.placed is not None:
                self.take(answer.placed)

    def _parts(self, own: Prepared, number: int) -> Iterator[set[int]]:
        """Sets of activities that may be worth freeing for a goal, mostly activities that start about the same time."""
        order = sorted(range(len(own.length)), key=lambda a: (self.best[a][0], a))
        sawn = set(_before_saw(own))
        if GOALS[number] == "span":
            if not own.project.is_backward:
                order = sorted(order, key=lambda a: -self.best[a][0] - own.length[a])
            yield from (set(order[: FREE * times]) for times in (1, 2, 3))
            return
        if GOALS[number] in ("saw days", "set-ups"):
            yield sawn
        for since in range(0, max(1, len(order) - FREE // 2), FREE // 2):
            part = set(order[since : since + FREE])
            if GOALS[number] in ("tardiness", "spare days") or part & sawn:
                yield part

    def take(self, placed: list[Placed]) -> bool:
        """Adopts a schedule if it is better, and returns whether it is."""
        placed = tidied(self.prepared, placed)
        values = _values(self.prepared, placed)
        if values >= self.values:
            return False
        self.best, self.values = placed, values
        return True

    def _plan_saw(self, own: Prepared) -> None:
        """Plans the work at the saws and the work that must precede it; then plans the other work around them."""
        keep = _before_saw(own)
        if len(keep) == len(own.length):
            return
        kept = set(keep)
        own = with_latest_starts(
            own, sorted({lag.before for lag in own.lags if lag.before in kept and lag.after not in kept})
        )
        if self._pack_saw(own, keep) and self.values[2] <= self.bounds[2]:
            return
        for share in SHARES:
            part = self._before_rest(own, kept, share).restricted(keep)
            found = best_of(part, [[self.best[a] for a in keep], *first_schedules(part, self.limits.tries)])
            if found is None:
                continue
            inner = _Search(part, self.limits, found)
            for number, goal in enumerate(GOALS):
                if goal not in ("tardiness", "spare days"):
                    inner.improve(number)
            if share == 1:
                self.bounds[2] = max(self.bounds[2], inner.bounds[2])
            fixed = {a: inner.best[n] for n, a in enumerate(keep)}
            rest = best_of(self.prepared, completed(self.prepared, self.limits.tries // 3, fixed, self.best))
            if rest is not None and self.take(rest):
                return

    def _pack_saw(self, own: Prepared, keep: Sequence[int]) -> bool:
        """Puts the work at the saw in the fewest days, and other work around it. Returns whether that is better.

        If that gives no better schedule, it allows one more day for the work at the saw, and so on.
        """
        edges = [*own.day_starts, own.horizon + 1]
        saws = [SawDays(own, saw).plans for saw in sorted(own.saws)]
        if len(saws) != 1 or not saws[0]:
            return False
        self.bounds[2] = max(self.bounds[2], min(saws[0]))
        for days, plan in sorted(saws[0].items()):
            if days >= self.values[2]:
                break
            starts = list(own.starts)
            for a, start in plan.starts:
                starts[a] = meet(starts[a], ((start, edges[day_number(own, start) + 1] - 1),))
            try:
                part = replace(own, starts=narrowed(own.project, starts, own.length, own.lags)).restricted(keep)
            except InfeasibleProjectError:
                continue
            found = best_of(part, first_schedules(part, self.limits.tries))
            if found is None:
                continue
            fixed = {a: found[n] for n, a in enumerate(keep)}
            rest = best_of(self.prepared, completed(self.prepared, self.limits.tries // 3, fixed, self.best))
            if rest is not None and self.take(rest):
                return True
        return False

    def _before_rest(self, own: Prepared, keep: set[int], share: float) -> Prepared:
        """The project in which the activities in `keep` leave time for the others that wait for them.

        The others may start later than in the best schedule, by up to `share` of the time that remains until their
        latest start.
        """
        starts = list(own.starts)
        for lag in own.lags:
            if lag.before in keep and lag.after not in keep:
                early, late = self.best[lag.after][0], own.starts[lag.after][-1][1]
                last = early + round(share * (late - early)) - lag.least - own.length[lag.before]
                starts[lag.before] = meet(starts[lag.before], ((0, last),))
        return replace(own, starts=narrowed(own.project, starts, own.length, own.lags))


def _before_saw(own: Prepared) -> list[int]:
    """The activities at saws, and all activities that must precede them."""
    after = follows(own)
    sawn = {a for a, uses in enumerate(own.uses) if any(r in own.saws and amount for r, amount in uses)}
    return [a for a in range(len(own.length)) if a in sawn or not sawn.isdisjoint(after[a])]


def _values(prepared: Prepared, placed: Sequence[Placed]) -> tuple[int, ...]:
    return goal_values(prepared, [start for start, _ in placed])


def _hinted(prepared: Prepared, hint: Schedule | None) -> list[list[Placed]]:
    """A list schedule with the activities in the order that a hint gives."""
    if hint is None:
        return []
    at = {each.activity: each.start for each in hint.bookings}
    order = [at.get(each.key, prepared.horizon * prepared.unit) for each in prepared.project.activities]
    placed = ListScheduler(prepared).run(order)
    return [] if placed is None else [placed]


def _bookings(prepared: Prepared, placed: Sequence[Placed]) -> tuple[Booking, ...]:
    names = [each.name for each in prepared.project.people]
    rows = [
        Booking(
            activity.key,
            start * prepared.unit,
            start * prepared.unit + activity.minutes,
            tuple(sorted(names[p] for p in people)),
        )
        for activity, (start, people) in zip(prepared.project.activities, placed, strict=True)
    ]
    return tuple(sorted(rows, key=lambda row: (row.start, row.activity)))
