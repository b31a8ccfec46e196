"""Schedules a planned batch. This is the only entry point from a plan to its days."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise
from math import ceil

from woodshop.design.schema import Default
from woodshop.design.settings.crew import Crew, Shift
from woodshop.errors import InputError, Problem, WoodshopError
from woodshop.plan.book.happened import Happened
from woodshop.plan.values import PlannedBatch
from woodshop.reference.facts import fact
from woodshop.schedule.calendar import calendar_days, clock_time, day_of, minute_at
from woodshop.schedule.done import with_done
from woodshop.schedule.first_schedules import first_schedules
from woodshop.schedule.horizon import serial_ends
from woodshop.schedule.operations import KINDS, TOPICS, Builder, people_of, too_short
from woodshop.schedule.prepare import InfeasibleProjectError, prepare
from woodshop.schedule.remedies import LateChain, cures, is_in_time, reached, tightest_chain
from woodshop.schedule.scheduled import Duration, ScheduledBatch
from woodshop.schedule.solve import Effort, solve
from woodshop.schedule.stages import stages_of
from woodshop.schedule.values import Activity, Project, Schedule
from woodshop.units.wording import WEEKDAYS, date_text, minutes_text, span_text, weekday_in_short

MOST_ACTIVITIES = 1500  # with more, solving takes too long
_SPANS = (14, 21, 28, 35, 42, 56, 70, 84, 112, 140, 168, 210, 252, 310, 366, 450, 550, 730)  # days
_MORE_DAYS, _TRIES = 10, 3
_EARLIER = (1, 2, 3, 5, 7, 10, 14, 21, 28)  # days by which an earlier start is tried
_NO_DATE = "There is no date. Give a due day (on_by or due), or a first day of work (start under [crew])."
_ALL_DONE = "Everything is done."
_TOO_MUCH = "It is more work than the crew can do in a year."
_TOO_LONG = "Done one thing after another, it takes the crew more than two years."


def schedule_batch(
    planned: PlannedBatch,
    *,
    today: date | None = None,
    happened: Sequence[Happened] = (),
    say: Callable[[str], None] | None = None,
    effort: Effort = "default",
) -> ScheduledBatch:
    """The days of work for a planned batch; `say` takes lines of progress.

    Work begins on `today`, or on the `start` of the crew if that is later. If neither is given, it is planned back from
    the due dates. Without any date, or with more work than the crew can do in a year, there is no schedule. Work that
    has `happened` up to today is not scheduled again. Raises InputError if nobody can do some work, if some work fits
    nobody's hours, or if something happened and there is no `today`. Raises ImpossibleDatesError if an order would be
    late even with unlimited people and resources. An order whose day is past is late, but does not raise the error.
    """
    stages, lots = stages_of(planned)
    if happened:
        if today is None:
            do = "Add --today with the day from which the rest is to be planned."
            raise InputError(Problem("--done", "finished work, and no day", "the day of today", do))
        stages = with_done(planned, stages, lots, happened, today)
    builder = Builder(planned, stages, lots)
    days, schedule = planned.batch.days, None
    try:
        project, why = _project(builder, today)
        if project is not None:
            _refuse_impossible(builder, project, today)
            schedule = solve(project, say=say, effort=effort)
    except InfeasibleProjectError as found:
        named = builder.named(found.activities)
        why = f"No schedule was found{f' for: {named}' if named else ''}. Give longer hours, or search longer."
    resawing = planned.batch.saw.tools.resawing
    return ScheduledBatch(
        planned=planned,
        schedule=schedule,
        durations=tuple(_durations(builder)),
        defaults=(*_crew_defaults(builder), *_times(builder)),
        warnings=(*_warnings(builder), *_in_the_dark(schedule)),
        remedies=() if schedule is None else tuple(_remedies(builder, schedule, today, say)),
        made_on=today or days.quoted_on or planned.batch.lumberyard.seen,
        why_none=why,
        kinds=KINDS,
        topics=TOPICS if resawing is None else {"resaw": resawing.caution_topics, **TOPICS},
    )


class ImpossibleDatesError(WoodshopError):
    """An order would be late even with unlimited people and resources. Nothing was written."""

    exit_code = 4


def _refuse_impossible(builder: Builder, project: Project, today: date | None) -> None:
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


def _remedies(
    builder: Builder, schedule: Schedule, today: date | None, say: Callable[[str], None] | None
) -> Iterator[str]:
    """Each change that alone would put every order on time, in words."""
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


def _project(builder: Builder, today: date | None) -> tuple[Project | None, str]:
    """The project, or None with the reason in one sentence. It has enough days for doing one thing at a time."""
    crew = builder.batch.crew
    starts = [each for each in (today, crew.start) if each is not None]
    dues = [lot.due for lot in builder.lots.values() if lot.due is not None]
    if not starts and not dues:
        return None, _NO_DATE
    if not any(builder.left(stage) for stage in builder.stages.values()):
        return None, _ALL_DONE
    first = max(starts) if starts else min(dues) - timedelta(days=366)
    if builder.count() > MOST_ACTIVITIES or _work(builder) > _available(builder, first):
        return None, _TOO_MUCH
    for span in _SPANS:
        if starts:
            days = calendar_days(first, first + timedelta(days=span - 1), crew.zone)
        else:
            days = calendar_days(min(dues) - timedelta(days=span - 1), max(dues), crew.zone)
        project = builder.project(days, is_backward=not starts)
        short = too_short(project.activities, builder.longest)
        if short:
            raise InputError(*short)
        ends = serial_ends(project)
        late = (each.due is not None and ends[each.key] > each.due for each in project.activities) if ends else ()
        if ends is not None and (starts or not any(late)):
            return _trimmed(builder, project), ""
    return None, _TOO_LONG


def _trimmed(builder: Builder, project: Project) -> Project:
    """The project with only the days that a better schedule needs, if there is one, and some days to spare."""
    crew, zone = builder.batch.crew, project.zone
    more = timedelta(days=_MORE_DAYS + crew.drying_days + crew.spare_days)
    prepared = prepare(project)
    found = first_schedules(prepared, _TRIES)
    if not found:
        return project
    unit = prepared.unit
    first, last = project.days[0].day, project.days[-1].day
    if project.is_backward:
        starts = [min(start for start, people in each if people) for each in found]
        day = day_of(project.days, max(starts) * unit).day - more
        days = calendar_days(max(first, day), last, zone)
    else:
        rows = [list(zip(project.activities, each, strict=True)) for each in found]
        ends = [max(start * unit + activity.minutes for activity, (start, _) in row) for row in rows]
        day = day_of(project.days, min(ends)).day + more
        days = calendar_days(first, min(last, day), zone)
    return builder.project(days, is_backward=project.is_backward)


def _work(builder: Builder) -> Fraction:
    """The minutes of work that are left."""
    return sum((minutes for _, _, minutes in builder.work_left()), Fraction(0))


def _available(builder: Builder, first: date) -> int:
    """The total minutes that all people work in the year from the day `first`."""
    days = calendar_days(first, first + timedelta(days=365))
    return sum(window.end - window.start for each in people_of(builder.batch.crew, days) for window in each.windows)


def _durations(builder: Builder) -> Iterator[Duration]:
    """The work by kind and skill, in working order."""
    found: dict[tuple[str, str], Fraction] = {}
    for kind, skill, minutes in builder.work_left():
        found[kind, skill] = found.get((kind, skill), Fraction(0)) + minutes
    for (kind, skill), minutes in found.items():
        if minutes:
            yield Duration(what=KINDS[kind], skill=skill, minutes=ceil(minutes))


def _crew_defaults(builder: Builder) -> Iterator[Default]:
    """The values of the crew that are not given, without machines that this batch does not use."""
    held = {key for stage in builder.stages.values() if not stage.is_empty for key in stage.held}
    for each in builder.batch.crew.defaults:
        if _ONLY_IF_USED.get(each.name, "") in {"", *held}:
            yield each


_ONLY_IF_USED = {"band_saws": "band saw", "planers": "planer"}


def _times(builder: Builder) -> Iterator[Default]:
    """The time standards used that are not given in the shop file."""
    standards = builder.batch.work.standards
    for table, key in builder.operations():
        standard = standards[table, key]
        if standard.source != "the shop file":
            row = fact(f"{table}.{key}")
            where = "times" if table == "time" else "setup"
            value = f"{row.value}: {row.what.rstrip('.')}"
            yield Default(where, key, value, standard.source).worded(builder.batch.wording)


_AT_HIVES = ("measure", "fit")
_LIGHT = (8 * 60, 17 * 60)
"""Minutes after midnight: about dawn and dusk in December at 40 degrees north. Common practice, no source."""
_DARK_MONTHS = (10, 11, 12, 1, 2, 3)


def _in_the_dark(schedule: Schedule | None) -> Iterator[str]:
    """A sentence if hives are opened early or late on a winter day."""
    if schedule is None:
        return
    days, zone = schedule.project.days, schedule.project.zone
    kinds = {each.key: each.kind for each in schedule.project.activities}
    found = []
    for each in schedule.bookings:
        start, end = (clock_time(days, zone, at) for at in (each.start, each.end))
        is_light = _LIGHT[0] <= start.hour * 60 + start.minute and end.hour * 60 + end.minute <= _LIGHT[1]
        if kinds[each.activity] in _AT_HIVES and start.month in _DARK_MONTHS and not is_light:
            found.append(f"{weekday_in_short(start.date())}, {span_text(start, end)}")
    if found:
        yield (
            f"Hives are opened when it may be dark: {'; '.join(found)}. Open hives in daylight, on a mild day. Give "
            "daylight hours to somebody who can do it, with extra."
        )


def _warnings(builder: Builder) -> Iterator[str]:
    crew, means = builder.batch.crew, builder.means
    for lot in builder.lots.values():
        if lot.name in means.heavy and not builder.has_two(builder.last_of(lot)):
            alone = fact("crew.lift_alone").value_in(builder.batch.unit)
            yield f"Ask a helper to lift the boards for {lot.name}. Each weighs more than {alone}."
        if lot.name in means.too_heavy:
            load = builder.batch.wording.mass(crew.car_load)
            yield f"The things for one hive of {lot.name} weigh more than the car's load of {load}."
    dues = [lot.due for lot in builder.lots.values() if lot.due is not None]
    for lot in builder.lots.values():
        if dues and lot.due is None:
            yield f"{lot.name} has no due day. It may be done after everything else."
