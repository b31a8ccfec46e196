"""Checks a schedule by replaying its bookings. Shares only the value types with the code that makes schedules.

Everything is checked again from the bookings: activities, people, resources, lags, days of the zone, and goals.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from woodshop.findings import Finding, Severity
from woodshop.schedule.values import GOALS, Activity, Booking, Project, Schedule, Window

_DAY = 24 * 60
_MINUTE = timedelta(minutes=1)

Found = Iterator[tuple[str, str, str]]
"""A problem: its place, the value found, and the value wanted."""


def schedule_findings(schedule: Schedule) -> tuple[Finding, ...]:
    """Every conflict in a schedule. A schedule that woodshop made and nobody changed has none."""
    found = list(_project(schedule.project))
    if not found:  # with repeated names or missing days, nothing can be replayed
        found = list(_activities(schedule))
    if not found:
        for part in (_earliest, _people, _resources, _lags, _goals):
            found += part(schedule)
    source, do = "the bookings of the same schedule", "Schedule again."
    return tuple(
        Finding("schedule-disagrees", Severity.ERROR, *each, source, do) for each in dict.fromkeys(map(_short, found))
    )


def _short(found: tuple[str, str, str]) -> tuple[str, str, str]:
    place, value, wanted = found
    return place[:100], value[:100], wanted[:100]


def _project(project: Project) -> Found:
    """Checks that names are unique and known, and that days and windows are in order."""
    yield from _days(project)
    for what, names in (
        ("people", [person.name for person in project.people]),
        ("resources", [resource.key for resource in project.resources]),
        ("activities", [activity.key for activity in project.activities]),
    ):
        for name, count in Counter(names).items():
            if count > 1 or not name:
                yield f"{what}, {name!r}", f"{count} of them", "a name, once"
    horizon = project.days[-1].window.end if project.days else 0
    for person in project.people:
        yield from _in_order(f"people, {person.name}, windows", person.windows, horizon)
    for resource in project.resources:
        if resource.capacity < 0:
            yield f"resources, {resource.key}", str(resource.capacity), "a capacity of 0 or more"
        yield from _in_order(f"resources, {resource.key}, windows", resource.windows or (), horizon)
    known = {resource.key for resource in project.resources}
    for each in project.activities:
        place = f"activities, {each.key}"
        if each.minutes < 0 or each.people < 0 or each.earliest < 0 or each.weight < 0 or (each.due or 0) < 0:
            yield place, "a number below 0", "minutes, people, times and weight of 0 or more"
        uses = [use.resource for use in each.uses]
        if len(set(uses)) < len(uses) or not set(uses) <= known or any(use.amount < 1 for use in each.uses):
            yield f"{place}, uses", ", ".join(uses), "known resources, each once, with an amount of 1 or more"
        if sum(step.minutes for step in each.steps) > each.minutes or any(step.minutes < 0 for step in each.steps):
            yield f"{place}, steps", "more minutes than the activity, or fewer than 0", f"at most {each.minutes}"
    yield from _outside(project, horizon)
    yield from _alike(project)
    keys = {each.key for each in project.activities}
    for lag in project.precedences:
        place = f"precedences, {lag.before} to {lag.after}"
        if not {lag.before, lag.after} <= keys or lag.before == lag.after:
            yield place, "an unknown activity, or one twice", "two activities of the project"
        if lag.most is not None and lag.most < lag.least:
            yield place, f"at most {lag.most}", f"at least {lag.least}"


def _alike(project: Project) -> Found:
    """Checks that the parts of one piece of work use the same machines, and that each planing or resawing uses one."""
    first: dict[str, tuple[str, set[str]]] = {}
    for each in project.activities:
        work, found = each.key.rpartition("/")[0], {use.resource for use in each.uses}
        key, wanted = first.setdefault(work, (each.key, found)) if work else (each.key, found)
        if found != wanted:
            yield f"activities, {each.key}, uses", ", ".join(sorted(found)) or "nothing", f"what {key} uses"
        if each.kind == "resaw" and each.people and not found:
            yield f"activities, {each.key}, uses", "no machine", "the planer, or the saw that resaws"


def _outside(project: Project, horizon: int) -> Found:
    """Checks that lots due outside the days are each named once, and are due at that end of the days."""
    for lot, count in Counter(lot for lot, _ in project.outside_dues).items():
        if count > 1:
            yield f"outside_dues, {lot!r}", f"{count} of them", "a lot, once"
    for lot, day in project.outside_dues if project.days else ():
        place = f"outside_dues, {lot!r}"
        if project.days[0].day <= day <= project.days[-1].day:
            yield place, str(day), "a day before the first day or after the last one"
        wanted = 0 if day < project.days[0].day else horizon
        if any(each.due not in (None, wanted) for each in project.activities if each.lot == lot):
            yield place, "activities due at another minute", f"activities due at minute {wanted}"


def _days(project: Project) -> Found:
    """Checks that days are consecutive, begin at minute 0, and have the length of these days in the time zone."""
    if not project.days:
        yield "days", "none", "at least one day"
        return
    try:
        zone = ZoneInfo(project.zone) if project.zone else None
    except (ZoneInfoNotFoundError, ValueError, OSError):
        yield "zone", repr(project.zone), "the name of a time zone"
        return
    starts = 0
    for before, day in pairwise((None, *project.days)):
        place = f"days, {'' if day is None else day.day}"
        if day is None:
            continue
        try:
            tomorrow = day.day + timedelta(days=1)
            long = _DAY
            if zone is not None:
                midnights = (datetime(d.year, d.month, d.day, tzinfo=zone) for d in (day.day, tomorrow))
                first, last = (midnight.astimezone(UTC) for midnight in midnights)
                long = (last - first) // _MINUTE
        except OverflowError:
            yield place, "the last day there is", "an earlier day"
            return
        if before is not None and day.day - before.day != timedelta(days=1):
            yield place, f"after {before.day}", "consecutive days"
        if day.window != Window(starts, starts + long):
            yield place, f"minutes {day.window.start} to {day.window.end}", f"{starts} to {starts + long}"
        starts = day.window.end


def _in_order(place: str, windows: Sequence[Window], horizon: int) -> Found:
    for each in windows:
        if not 0 <= each.start < each.end <= horizon:
            yield place, f"{each.start} to {each.end}", f"a window within 0 to {horizon}"
    for one, other in pairwise(windows):
        if other.start < one.end:
            yield place, f"one from {other.start} after one to {one.end}", "windows in order, without overlap"


def _activities(schedule: Schedule) -> Found:
    """Checks that each activity is booked once, with its minutes and number of people, and bookings are in order."""
    project, activities = schedule.project, _by_key(schedule)
    horizon = project.days[-1].window.end
    counts = Counter(each.activity for each in schedule.bookings)
    for key in dict.fromkeys((*activities, *counts)):
        if key not in activities or counts[key] != 1:
            yield f"bookings, {key}", f"{counts[key]} times", "each activity of the project once"
    order = [(each.start, each.activity) for each in schedule.bookings]
    if order != sorted(order):
        yield "bookings", "another order", "in order of start and key"
    names = {person.name for person in project.people}
    for each in schedule.bookings:
        activity = activities.get(each.activity)
        if activity is None:
            continue
        place = f"bookings, {each.activity}"
        if each.end - each.start != activity.minutes:
            yield place, f"{each.end - each.start} minutes", f"{activity.minutes}"
        if not 0 <= each.start <= each.end <= horizon:
            yield place, f"{each.start} to {each.end}", f"within 0 to {horizon}"
        if len(each.people) != activity.people:
            yield place, f"{len(each.people)} people", f"{activity.people}"
        if list(each.people) != sorted(set(each.people)) or not set(each.people) <= names:
            yield place, ", ".join(each.people), "people of the crew, each once, in order of their names"


def _by_key(schedule: Schedule) -> dict[str, Activity]:
    return {each.key: each for each in schedule.project.activities}


def _earliest(schedule: Schedule) -> Found:
    activities = _by_key(schedule)
    for each in schedule.bookings:
        if each.start < activities[each.activity].earliest:
            yield f"bookings, {each.activity}", str(each.start), f"{activities[each.activity].earliest} or later"


def _people(schedule: Schedule) -> Found:
    """Checks that all people have the skill, work within their hours, and do one thing at a time."""
    activities = _by_key(schedule)
    for person in schedule.project.people:
        own = [each for each in schedule.bookings if person.name in each.people]
        hours = _joined(person.windows)
        place = f"people, {person.name}"
        for each in own:
            skill = activities[each.activity].skill
            if skill and skill not in person.skills:
                yield f"{place}, {each.activity}", f"without {skill}", "someone with that skill"
            if not _is_inside(each, hours):
                yield f"{place}, {each.activity}", f"{each.start} to {each.end}", "within their hours"
        working = [each for each in own if each.end > each.start]
        for one, other in pairwise(sorted(working, key=lambda each: (each.start, each.end))):
            if other.start < one.end:
                yield f"{place}, {other.activity}", f"during {one.activity}", "one activity at a time"


def _joined(windows: Iterable[Window]) -> list[Window]:
    """The windows. Windows that touch are joined."""
    joined: list[Window] = []
    for each in windows:
        if joined and joined[-1].end == each.start:
            joined[-1] = Window(joined[-1].start, each.end)
        else:
            joined.append(each)
    return joined


def _is_inside(booking: Booking, windows: Iterable[Window]) -> bool:
    return any(each.start <= booking.start and booking.end <= each.end for each in windows)


def _resources(schedule: Schedule) -> Found:
    """Checks that no resource is used over its capacity, or outside its hours."""
    activities = _by_key(schedule)
    for resource in schedule.project.resources:
        place = f"resources, {resource.key}"
        changes: list[tuple[int, int]] = []
        for each in schedule.bookings:
            amount = sum(use.amount for use in activities[each.activity].uses if use.resource == resource.key)
            if not amount or each.end == each.start:
                continue
            changes += [(each.start, amount), (each.end, -amount)]
            if resource.windows is not None and not _is_inside(each, _joined(resource.windows)):
                yield f"{place}, {each.activity}", f"{each.start} to {each.end}", "within the hours of the resource"
        used = most = 0
        for _, change in sorted(changes):  # at the same minute, ends are counted before starts
            used += change
            most = max(most, used)
        if most > resource.capacity:
            yield place, f"{most} in use at once", f"at most {resource.capacity}"


def _lags(schedule: Schedule) -> Found:
    booked = {each.activity: each for each in schedule.bookings}
    for each in schedule.project.precedences:
        lag = booked[each.after].start - booked[each.before].end
        if lag < each.least or (each.most is not None and lag > each.most):
            wanted = f"at least {each.least}" if each.most is None else f"{each.least} to {each.most}"
            yield f"precedences, {each.before} to {each.after}", f"{lag} minutes", wanted


def _goals(schedule: Schedule) -> Found:
    """Calculates the goals again."""
    names = [goal.name for goal in schedule.goals]
    if names != list(GOALS):
        yield "goals", ", ".join(names) or "none", ", ".join(GOALS)
        return
    counted = (_tardiness(schedule), _short_lags(schedule), _saw_days(schedule), _set_ups(schedule), _span(schedule))
    for goal, value in zip(schedule.goals, counted, strict=True):
        if goal.value != value:
            yield f"goals, {goal.name}", str(goal.value), f"{value}, as counted from the bookings"
        if not 0 <= goal.bound <= goal.value:
            yield f"goals, {goal.name}, bound", str(goal.bound), f"from 0 to {goal.value}"


def _tardiness(schedule: Schedule) -> int:
    ends = {each.activity: each.end for each in schedule.bookings}
    late = ((each.weight, ends[each.key] - each.due) for each in schedule.project.activities if each.due is not None)
    return sum(weight * -(-minutes // _DAY) for weight, minutes in late if minutes > 0)


def _short_lags(schedule: Schedule) -> int:
    booked = {each.activity: each for each in schedule.bookings}
    lags = ((each.wanted, booked[each.after].start - booked[each.before].end) for each in schedule.project.precedences)
    return sum(max(0, wanted - lag) for wanted, lag in lags)


def _saws(schedule: Schedule) -> set[str]:
    return {resource.key for resource in schedule.project.resources if resource.is_saw}


def _saw_days(schedule: Schedule) -> int:
    activities, saws = _by_key(schedule), _saws(schedule)
    starts = [
        each.start for each in schedule.bookings if saws & {use.resource for use in activities[each.activity].uses}
    ]
    return sum(any(day.window.start <= start < day.window.end for start in starts) for day in schedule.project.days)


def _set_ups(schedule: Schedule) -> int:
    activities, count = _by_key(schedule), 0
    for saw in sorted(_saws(schedule)):
        before, used = "", set()
        for each in schedule.bookings:
            activity = activities[each.activity]
            if activity.setting and saw in {use.resource for use in activity.uses}:
                count += activity.setting != before and activity.setting in used
                before = activity.setting
                used.add(before)
    return count


def _span(schedule: Schedule) -> int:
    if not schedule.project.is_backward:
        return max((each.end for each in schedule.bookings), default=0)
    end = schedule.project.days[-1].window.end
    return end - min((each.start for each in schedule.bookings if each.people), default=end)
