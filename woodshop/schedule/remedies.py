"""Finds why work is late: a chain of activities that no crew could do in time, or too few days, people or places.

The results are plain values. The callers turn them into sentences.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from woodshop.schedule.first_schedules import best_of, first_schedules
from woodshop.schedule.goal_values import goal_values
from woodshop.schedule.list_schedule import next_in
from woodshop.schedule.lower_bounds import together
from woodshop.schedule.prepare import MINUTES_A_DAY, InfeasibleProjectError, prepare
from woodshop.schedule.solve import Effort, solve
from woodshop.schedule.values import Person, Project, Window

HELPER = "helper"
MOST_DAYS_EARLIER = 28
MOST_HELPER_DAYS = 6
MOST_SOLVED = 60
"""For larger projects, only list schedules are made: `TRIES` for each change."""
TRIES = 40


@dataclass(frozen=True, slots=True)
class LateChain:
    """The keys of activities, each waiting for the one before it, and the fewest days by which the last is late.

    `starts` are the earliest minutes at which they can start.
    """

    activities: tuple[str, ...]
    days: int
    starts: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Cures:
    """Changes, each of which alone would put every order on time.

    `days_earlier` is how many days earlier work must begin (the fewest), or None if no number tried is enough.
    `helper_days` has the first day found on which one more helper is enough. `more` has the keys of the resources of
    which more would be enough.
    """

    days_earlier: int | None = None
    helper_days: tuple[date, ...] = ()
    more: tuple[str, ...] = ()


def tightest_chain(project: Project) -> LateChain | None:
    """The chain that would be latest with unlimited people and resources, or None if nothing would be late then.

    Work is done whenever at least one person works. Lags and earliest starts are kept. Raises InfeasibleProjectError as
    `prepare` does.
    """
    windows = tuple(Window(*each) for each in together((w.start, w.end) for p in project.people for w in p.windows))
    people = tuple(replace(each, windows=windows) for each in project.people)
    free = tuple(replace(each, windows=None) for each in project.resources)
    own = prepare(replace(project, people=people, resources=free))
    arcs = [(lag.before, lag.after, own.length[lag.before] + lag.least) for lag in own.lags]
    arcs += [(lag.after, lag.before, -own.length[lag.before] - lag.most) for lag in own.lags if lag.most is not None]
    first = prepare(replace(project, people=people, resources=free, precedences=())).starts
    start = [each[0][0] for each in first]
    cause: dict[int, int] = {}
    is_open = True
    while is_open:
        is_open = False
        for before, after, lag in arcs:
            if start[after] < start[before] + lag:
                at = next_in(first[after], start[before] + lag)
                if at is None:  # `prepare` found that everything fits
                    raise InfeasibleProjectError("lags", (project.activities[after].key,))
                start[after], cause[after], is_open = at, before, True
    late = {
        a: -(-(start[a] + own.length[a] - due) * own.unit // MINUTES_A_DAY)
        for a, due in enumerate(own.due)
        if due is not None and start[a] + own.length[a] > due
    }
    if not late:
        return None
    chain = [max(sorted(late), key=lambda a: late[a])]
    days = late[chain[0]]
    while chain[-1] in cause and cause[chain[-1]] not in chain:
        chain.append(cause[chain[-1]])
    chain.reverse()
    keys, starts = (project.activities[a].key for a in chain), (start[a] * own.unit for a in chain)
    return LateChain(tuple(keys), days, tuple(starts))


def cures(
    project: Project,
    *,
    earlier: Callable[[int], Project | None] | None = None,
    more: Mapping[str, int] | None = None,
    effort: Effort = "quick",
    say: Callable[[str], None] | None = None,
) -> Cures:
    """The changes that would put every order of a late project on time, each tried alone.

    `earlier` returns the project that starts the given number of days earlier, or None if that is not possible. `more`
    is how much of each resource would be added, such as the places of one table. `say` is called with each line of
    progress. A change that the search does not find within the effort is not listed, though it may exist.
    """
    say = say or (lambda line: None)
    say("work would be late: trying an earlier start")
    days = None if earlier is None else _days_earlier(earlier, effort)
    say("work would be late: trying a helper")
    helper = _helper_day(project, effort)
    found = []
    for key, amount in sorted((more or {}).items()):
        say(f"work would be late: trying more of {key}")
        resources = tuple(
            replace(each, capacity=each.capacity + amount) if each.key == key else each for each in project.resources
        )
        if is_in_time(replace(project, resources=resources), effort):
            found.append(key)
    return Cures(days, () if helper is None else (helper,), tuple(found))


def is_in_time(project: Project | None, effort: Effort = "quick") -> bool:
    """Whether a schedule is found in which nothing is late."""
    if project is None:
        return False
    try:
        if len(project.activities) > MOST_SOLVED:
            own = prepare(project)
            return any(not goal_values(own, [start for start, _ in each])[0] for each in first_schedules(own, TRIES))
        return not solve(project, effort=effort, goals=1).goals[0].value
    except InfeasibleProjectError:
        return False


def reached(project: Project, effort: Effort = "quick") -> dict[str, int]:
    """For each lot that is late in the best schedule found, the minute at which it is done there."""
    own = prepare(project)
    if len(project.activities) > MOST_SOLVED:
        placed = best_of(own, first_schedules(own, TRIES))
        if placed is None:
            return {}
        ends = [(start + length) * own.unit for (start, _), length in zip(placed, own.length, strict=True)]
    else:
        end_of = {each.activity: each.end for each in solve(project, effort=effort, goals=1).bookings}
        ends = [end_of[each.key] for each in project.activities]
    pairs = zip(project.activities, ends, strict=True)
    return {each.lot: end for each, end in pairs if each.due is not None and end > each.due}


def _days_earlier(earlier: Callable[[int], Project | None], effort: Effort) -> int | None:
    """The least number of days, found by doubling and halving, on the assumption that an earlier start is no worse."""
    before, days = 0, 1
    while not is_in_time(earlier(days), effort):
        if days == MOST_DAYS_EARLIER:
            return None
        before, days = days, min(2 * days, MOST_DAYS_EARLIER)
    while days - before > 1:
        middle = (before + days) // 2
        if is_in_time(earlier(middle), effort):
            days = middle
        else:
            before = middle
    return days


def _helper_day(project: Project, effort: Effort) -> date | None:
    """A day on which one more helper with all skills is enough, or None. Days with the most hours are tried first."""
    windows = together((window.start, window.end) for each in project.people for window in each.windows)
    hours: list[tuple[int, int, tuple[Window, ...]]] = []
    for number, day in enumerate(project.days):
        own = tuple(Window(*each) for each in windows if day.window.start <= each[0] < day.window.end)
        if own:
            hours.append((-sum(each.end - each.start for each in own), number, own))
    skills = frozenset(skill for each in project.people for skill in each.skills)
    everywhen = Person(name=HELPER, skills=skills, windows=tuple(Window(*each) for each in windows))
    if not is_in_time(replace(project, people=(*project.people, everywhen)), effort):
        return None
    for _, number, own in sorted(hours)[:MOST_HELPER_DAYS]:
        helper = Person(name=HELPER, skills=skills, windows=own)
        if is_in_time(replace(project, people=(*project.people, helper)), effort):
            return project.days[number].day
    return None
