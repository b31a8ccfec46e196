"""Schedules a planned batch. This is the only entry point from a plan to its days."""

from collections.abc import Callable, Iterator, Sequence
from datetime import date, timedelta
from fractions import Fraction
from math import ceil

from woodshop.design.schema import Default
from woodshop.errors import InputError, Problem
from woodshop.plan.book.happened import Happened
from woodshop.plan.values import PlannedBatch
from woodshop.reference.facts import fact
from woodshop.schedule.calendar import calendar_days, clock_time, day_of
from woodshop.schedule.done import with_done
from woodshop.schedule.first_schedules import first_schedules
from woodshop.schedule.horizon import serial_ends
from woodshop.schedule.late_orders import refuse_impossible, remedies
from woodshop.schedule.operations import KINDS, TOPICS, Builder, people_of, too_short
from woodshop.schedule.prepare import InfeasibleProjectError, prepare
from woodshop.schedule.scheduled import Duration, ScheduledBatch
from woodshop.schedule.solve import Effort, solve
from woodshop.schedule.stages import stages_of
from woodshop.schedule.values import Project, Schedule
from woodshop.units.wording import span_text, weekday_in_short

MOST_ACTIVITIES = 1500  # with more, solving takes too long
_SPANS = (14, 21, 28, 35, 42, 56, 70, 84, 112, 140, 168, 210, 252, 310, 366, 450, 550, 730)  # days
_MORE_DAYS, _TRIES = 10, 3
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
            refuse_impossible(builder, project, today)
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
        remedies=() if schedule is None else tuple(remedies(builder, schedule, today, say)),
        made_on=today or days.quoted_on or planned.batch.lumberyard.seen,
        why_none=why,
        kinds=KINDS,
        topics=TOPICS if resawing is None else {"resaw": resawing.caution_topics, **TOPICS},
    )


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


def _in_the_dark(schedule: Schedule | None) -> Iterator[str]:
    """A sentence if hives are opened early or late on a winter day."""
    if schedule is None:
        return
    days, zone = schedule.project.days, schedule.project.zone
    kinds = {each.key: each.kind for each in schedule.project.activities}
    dawn, dusk = (60 * int(fact(f"crew.{name}").number) for name in ("light_from", "light_until"))
    first, last = (int(fact(f"crew.{name}").number) for name in ("short_days_from", "short_days_until"))
    found = []
    for each in schedule.bookings:
        start, end = (clock_time(days, zone, at) for at in (each.start, each.end))
        is_light = dawn <= start.hour * 60 + start.minute and end.hour * 60 + end.minute <= dusk
        is_short_day = start.month >= first or start.month <= last
        if kinds[each.activity] in _AT_HIVES and is_short_day and not is_light:
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
