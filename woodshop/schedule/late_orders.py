"""Says why orders are late and what would help, in words. Each change that it names was tried."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

from woodshop.design.settings.crew import Crew, Shift
from woodshop.errors import Problem, WoodshopError
from woodshop.schedule.calendar import calendar_days, day_of, minute_at
from woodshop.schedule.operations import Builder, people_of
from woodshop.schedule.prepare import InfeasibleProjectError
from woodshop.schedule.remedies import LateChain, cures, is_in_time, reached, tightest_chain
from woodshop.schedule.values import Activity, Project, Schedule
from woodshop.units.wording import WEEKDAYS, date_text, minutes_text, weekday_in_short

_EARLIER = (1, 2, 3, 5, 7, 10, 14, 21, 28)  # days by which an earlier start is tried


class ImpossibleDatesError(WoodshopError):
    """An order would be late even with unlimited people and resources. Nothing was written."""

    exit_code = 4


def refuse_impossible(builder: Builder, project: Project, today: date | None) -> None:
    """Raises ImpossibleDatesError if orders due from now on cannot be on time, however many people help."""
    chain = _late_chain(project)
    if chain is None:
        return
    by_key = {each.key: each for each in project.activities}
    own = [by_key[key] for key in chain.activities]
    lags = {(each.before, each.after): each.least for each in project.precedences}
    waits = {each.what: each.minutes for each in own if not each.people}
    for before, after in pairwise(own):
        lag = lags.get((before.key, after.key), 0)
        waits |= {f"after {before.what}": lag} if lag > 0 else {}
    work = sum(each.minutes for each in own if each.people)
    steps = "; ".join(_dated(project, own, chain.starts))
    wanted = [f"time for steps that wait for each other: {minutes_text(work)} of work"]
    if waits:
        longest = sorted(waits.items(), key=lambda wait: -wait[1])
        each_wait = "; ".join(f"{minutes_text(minutes)}: {what}" for what, minutes in longest)
        wanted.append(f", and {minutes_text(sum(waits.values()))} of waits ({each_wait})")
    days = f"{chain.days} day{'s' if chain.days > 1 else ''}"
    raise ImpossibleDatesError(
        Problem(
            f"due day of {own[-1].lot}",
            f"{days} too few, even with more people at the same hours",
            f"{''.join(wanted)}. Each as early as anybody works: {steps}. {_hours_of(builder)}",
            " ".join(_more_days(builder, project, chain.days, today)),
        )
    )


def _dated(project: Project, chain: Sequence[Activity], starts: Sequence[int]) -> Iterator[str]:
    """The days of a chain of activities, each with the work that can be done on it."""
    days: dict[date, list[str]] = {}
    for activity, start in zip(chain, starts, strict=True):
        if activity.people:
            days.setdefault(day_of(project.days, start).day, []).append(activity.what)
    first = chain[-1].due or 0
    for day, works in days.items():
        yield f"{weekday_in_short(day)}: {', '.join(works)}"
    yield f"it is due by {weekday_in_short(day_of(project.days, max(0, first - 1)).day)}"


def _known_day(builder: Builder) -> date | None:
    """The last day that is known to be past or today: when prices were seen or quoted."""
    batch = builder.batch
    return max((each for each in (batch.days.quoted_on, batch.lumberyard.seen) if each is not None), default=None)


def _most_days_earlier(builder: Builder, first: date, today: date | None) -> int:
    """By how many days work can begin earlier than on the day `first`, at most."""
    known = _known_day(builder)
    if today is not None:
        return 0
    return _EARLIER[-1] if known is None else max(0, min(_EARLIER[-1], (first - known).days))


def _late_chain(project: Project) -> LateChain | None:
    """The chain that makes an order late that is due from now on, even with unlimited people, or None."""
    return tightest_chain(_from_now_on(project))


def _from_now_on(project: Project) -> Project:
    """The project without the due times that are past when it begins."""
    return replace(project, activities=tuple(replace(a, due=a.due or None) for a in project.activities))


def _hours_of(builder: Builder) -> str:
    """A sentence about the days of the week on which people work."""
    crew = builder.batch.crew
    days = sorted({shift.weekday for each in crew.workers for shift in each.shifts})
    names = [WEEKDAYS[day] for day in days]
    extra = " and on extra days" if any(each.extra for each in crew.workers) else ""
    words = f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else "".join(names)
    for each in crew.defaults:
        if each.name == "person":
            return f"No hours are given under [crew], so the default is used: {each.value}"
    if len(days) == len(WEEKDAYS):
        return "The crew works on every day"
    return f"The crew works on {words} only{extra}"


def _more_days(builder: Builder, project: Project, late: int, today: date | None) -> Iterator[str]:
    """Sentences with each change that alone makes the dates possible for enough people, each of them tried."""
    crew = builder.batch.crew
    daily = _working_daily(crew)
    yield "More people at the same hours do not help: each of these steps waits for the one before."
    if daily != crew:
        more = replace(project, people=people_of(daily, project.days))
        try:
            is_enough = _late_chain(more) is None
        except InfeasibleProjectError:
            is_enough = False
        tried = (
            ": nobody is late then."
            if is_enough and is_in_time(_from_now_on(more))
            else ", but not for all of the work."
        )
        yield (
            f"Work on more days: the same hours on every day leave enough time for these steps{tried}"
            if is_enough
            else "The same hours on every day are not enough either."
        )
    first, last = project.days[0].day, project.days[-1].day
    for days in _EARLIER:
        if days > _most_days_earlier(builder, first, today):
            break
        began = calendar_days(first - timedelta(days=days), last, crew.zone)
        if _late_chain(builder.project(began, is_backward=project.is_backward)) is None:
            yield f"Start by {date_text(first - timedelta(days=days))}, with start under [crew]."
            break
    agreed = _agreed(builder, project)
    if agreed:
        sooner = _agreed(builder, replace(project, people=people_of(daily, project.days))) if daily != crew else ""
        with_more = f" With the same hours on every day: {sooner}." if sooner else ""
        yield f"Agree on a later day. A schedule was found with this crew and its hours for {agreed}.{with_more}"
    else:
        yield f"Agree on a day at least {late} day{'s' if late > 1 else ''} later."
    yield "Fewer hives shorten the work, not the waits."


def _agreed(builder: Builder, project: Project) -> str:
    """The days on which late lots are done in a schedule that was found, in words."""
    return " and ".join(f"{date_text(day)} ({lot})" for lot, day in _days_reached(builder, project))


def _days_reached(builder: Builder, project: Project) -> Iterator[tuple[str, date]]:
    """Each lot that is late in a schedule that was found, and the first due day by which it would not be late."""
    try:
        ends = reached(_from_now_on(project))
    except InfeasibleProjectError:
        return
    for lot, end in ends.items():
        for day in project.days:
            if minute_at(project.days, project.zone, day, builder.batch.crew.due_clock) >= end:
                yield lot, day.day
                break


def _working_daily(crew: Crew) -> Crew:
    """The crew, with everybody's hours on every day of the week."""
    return replace(crew, workers=tuple(replace(each, shifts=_every_day(each.shifts)) for each in crew.workers))


def _every_day(shifts: Sequence[Shift]) -> tuple[Shift, ...]:
    """The hours of the day of the week with the most hours, on every day of the week."""
    hours: dict[int, list[Shift]] = {}
    for each in shifts:
        hours.setdefault(each.weekday, []).append(each)
    longest = max(hours.values(), key=lambda own: sum(each.end - each.start for each in own), default=[])
    return tuple(replace(each, weekday=day) for day in range(len(WEEKDAYS)) for each in longest)


def remedies(
    builder: Builder, schedule: Schedule, today: date | None, say: Callable[[str], None] | None
) -> Iterator[str]:
    """Each change that alone would put every order on time, in words. `say` takes lines of progress."""
    if not schedule.goals[0].value:
        return
    crew, project = builder.batch.crew, schedule.project
    first, last = project.days[0].day, project.days[-1].day

    def earlier(days: int) -> Project:
        return builder.project(calendar_days(first - timedelta(days=days), last, crew.zone), is_backward=False)

    more = {each.key: each.capacity for each in project.resources}
    if "places" in more:
        more["places"] = -(-more["places"] // crew.tables)
    most = _most_days_earlier(builder, first, today)
    found = cures(project, earlier=(lambda days: earlier(min(days, most))) if most else None, more=more, say=say)
    if "clamps" in found.more:  # frames are glued up in other numbers with other clamps, so the work is planned again
        twice = replace(crew, clamps=2 * crew.clamps)
        if not is_in_time(builder.with_crew(twice).project(project.days, is_backward=False)):
            found = replace(found, more=tuple(key for key in found.more if key != "clamps"))
    daily = _working_daily(crew)
    is_daily = daily != crew and is_in_time(replace(project, people=people_of(daily, project.days)))
    if is_daily:
        yield "Work the same hours on every day of the week."
    if found.days_earlier is not None:
        yield f"Start by {date_text(first - timedelta(days=found.days_earlier))}."
    yield from (f"Have one helper more on {date_text(day)}." for day in found.helper_days)
    yield from (_MORE[key] for key in found.more)
    if found.days_earlier is None and not found.helper_days and not found.more and not is_daily:
        start = f"a start up to {most} days earlier, " if most else ""
        machines = "a second saw, planer, drill press, car or table, more clamps"
        tried = f"the same hours on every day, {start}a helper on one day, {machines}"
        yield f"No single change was found that makes nobody late. Tried: {tried}."


_MORE = {
    "saw": "Use a second saw.",
    "drill": "Use a second drill press.",
    "band saw": "Use a second band saw.",
    "planer": "Use a second planer.",
    "clamps": "Have twice as many clamps.",
    "places": "Have one table more to dry boards on, with its backing boards.",
    "car": "Use a second car.",
}
