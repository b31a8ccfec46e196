"""Converts days and working hours to elapsed minutes, and minutes to dates and times in the crew's time zone.

A zone is the name of an IANA time zone, or "" if none was given. Without a zone every day has 1,440 minutes.
"""

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from woodshop.design.settings.crew import Worker
from woodshop.schedule.values import CalendarDay, Window

MINUTES_A_DAY = 24 * 60


def calendar_days(first: date, last: date, zone: str = "") -> tuple[CalendarDay, ...]:
    """All days from `first` through `last` in the `zone`; minute 0 is midnight at the start of `first`.

    >>> [each.window for each in calendar_days(date(2026, 10, 31), date(2026, 11, 1), "America/New_York")]
    [Window(start=0, end=1440), Window(start=1440, end=2940)]
    """
    count = (last - first).days + 1
    dates = [first + timedelta(days=number) for number in range(count)]
    if not zone:
        midnights = [number * MINUTES_A_DAY for number in range(count + 1)]
    else:
        instants = [_midnight(day, zone) for day in (*dates, last + timedelta(days=1))]
        midnights = [(each - instants[0]) // timedelta(minutes=1) for each in instants]
    return tuple(
        CalendarDay(day, Window(start, end))
        for day, start, end in zip(dates, midnights[:-1], midnights[1:], strict=True)
    )


def day_of(days: Sequence[CalendarDay], minute: int) -> CalendarDay:
    """The day that contains a minute. The minute at which the last day ends belongs to the last day."""
    if not days[0].window.start <= minute <= days[-1].window.end:
        raise ValueError(f"minute {minute} is outside the calendar")
    return days[max(bisect_right(days, minute, key=lambda day: day.window.start) - 1, 0)]


def clock_time(days: Sequence[CalendarDay], zone: str, minute: int) -> datetime:
    """The local date and time of a `minute`, with its offset from UTC if there is a `zone`, else without."""
    if not zone:
        return datetime.combine(days[0].day, time()) + timedelta(minutes=minute)
    return (_midnight(days[0].day, zone) + timedelta(minutes=minute)).astimezone(ZoneInfo(zone))


def minute_at(days: Sequence[CalendarDay], zone: str, day: CalendarDay, clock: int) -> int:
    """The first minute of a day at which the clock of the `zone` shows at least `clock` minutes after midnight.

    If the clock skips that time, the result is the minute after the skip. If the clock shows that time twice, the
    result is the first of the two minutes. For 24:00, or a time after the last minute of the day, it is the end of the
    day.
    """
    start, end = day.window.start, day.window.end
    if end - start == MINUTES_A_DAY:
        return start + min(clock, MINUTES_A_DAY)
    for minute in range(start, end):
        shown = clock_time(days, zone, minute)
        if shown.hour * 60 + shown.minute >= clock:
            return minute
    return end


def work_windows(worker: Worker, days: Sequence[CalendarDay], zone: str = "") -> tuple[Window, ...]:
    """When a worker works in the `zone`, in order and disjoint: weekly hours except on days off, plus extra hours.

    Periods that touch are joined into one window, so that an activity may continue from one into the next.
    """
    off = frozenset(worker.off)
    found = []
    for day in days:
        hours = [(each.start, each.end) for each in worker.extra if each.day == day.day]
        if day.day not in off:
            hours += [(each.start, each.end) for each in worker.shifts if each.weekday == day.day.weekday()]
        found += [Window(minute_at(days, zone, day, start), minute_at(days, zone, day, end)) for start, end in hours]
    return _joined(found)


def _midnight(day: date, zone: str) -> datetime:
    """The instant at which a day starts, in UTC. If the clock skips midnight, the day starts at the skip."""
    return datetime.combine(day, time(), ZoneInfo(zone)).astimezone(UTC)


def _joined(windows: Iterable[Window]) -> tuple[Window, ...]:
    """Disjoint windows that contain the same minutes, in order."""
    found: list[Window] = []
    for each in sorted(windows):
        if each.start >= each.end:
            continue
        if found and each.start <= found[-1].end:
            found[-1] = Window(found[-1].start, max(found[-1].end, each.end))
        else:
            found.append(each)
    return tuple(found)
