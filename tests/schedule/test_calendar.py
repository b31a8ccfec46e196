"""Days and hours as minutes and back, over the changes of the clock."""

import itertools
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodshop.design.settings.crew import ExtraShift, Shift, Worker
from woodshop.schedule.calendar import calendar_days, clock_time, day_of, minute_at, work_windows
from woodshop.schedule.values import Window

NEW_YORK, BERLIN, LORD_HOWE = "America/New_York", "Europe/Berlin", "Australia/Lord_Howe"
SATURDAY = Shift(5, 9 * 60, 17 * 60)


def worker(*shifts: Shift, off: tuple[date, ...] = (), extra: tuple[ExtraShift, ...] = ()) -> Worker:
    return Worker(name="Ingrid", shifts=shifts, skills=("saw",), off=off, extra=extra)


def sundays(year: int, month: int) -> list[date]:
    first = date(year, month, 1)
    days = [first + timedelta(days=number) for number in range(31)]
    return [day for day in days if day.month == month and day.weekday() == 6]


def lengths(year: int, zone: str) -> dict[date, int]:
    """The days of a year that are not 1,440 minutes long."""
    days = calendar_days(date(year, 1, 1), date(year, 12, 31), zone)
    spans = {each.day: each.window.end - each.window.start for each in days}
    return {day: minutes for day, minutes in spans.items() if minutes != 1440}


@pytest.mark.outside("15 U.S.C. 260a(a), as amended by Pub. L. 109-58, section 110")
@pytest.mark.parametrize("year", range(2026, 2031))
def test_days_of_23_and_25_hours_in_new_york(year: int) -> None:
    """From 2 a.m. on the second Sunday of March to 2 a.m. on the first Sunday of November, one hour ahead."""
    assert lengths(year, NEW_YORK) == {sundays(year, 3)[1]: 1380, sundays(year, 11)[0]: 1500}


@pytest.mark.outside("Directive 2000/84/EC, articles 2 and 3")
@pytest.mark.parametrize("year", range(2026, 2031))
def test_days_of_23_and_25_hours_in_berlin(year: int) -> None:
    """Summer time begins and ends at 1 a.m. UTC on the last Sundays of March and of October."""
    assert lengths(year, BERLIN) == {sundays(year, 3)[-1]: 1380, sundays(year, 10)[-1]: 1500}
    days = calendar_days(date(year, 1, 1), date(year, 12, 31), BERLIN)
    change = datetime.combine(sundays(year, 10)[-1], datetime.min.time(), UTC).replace(hour=1)
    minute = int((change - datetime(year, 1, 1, tzinfo=UTC)).total_seconds()) // 60 + 60
    assert clock_time(days, BERLIN, minute - 1).utcoffset() == timedelta(hours=2)
    assert clock_time(days, BERLIN, minute).utcoffset() == timedelta(hours=1)


@pytest.mark.parametrize(("zone", "day"), [(NEW_YORK, date(2026, 11, 1)), (BERLIN, date(2026, 10, 25))])
def test_work_starts_at_9_on_the_clock_after_the_change(zone: str, day: date) -> None:
    days = calendar_days(day - timedelta(days=1), day, zone)
    found = work_windows(worker(SATURDAY, Shift(6, 9 * 60, 17 * 60)), days, zone)
    assert found == (Window(540, 1020), Window(1440 + 600, 1440 + 1080))
    assert [clock_time(days, zone, each.start).hour for each in found] == [9, 9]
    between = clock_time(days, zone, found[1].start) - clock_time(days, zone, found[0].end)
    assert between == timedelta(hours=16)  # on the clock
    assert found[1].start - found[0].end == 17 * 60  # for the glue


def test_without_a_zone_no_day_changes() -> None:
    days = calendar_days(date(2026, 1, 1), date(2026, 12, 31))
    assert {each.window.end - each.window.start for each in days} == {1440}
    assert clock_time(days, "", days[304].window.start + 90) == datetime(2026, 11, 1, 1, 30)
    assert clock_time(days, "", 0).tzinfo is None


def test_a_time_skipped_and_a_time_shown_twice() -> None:
    spring = calendar_days(date(2026, 3, 8), date(2026, 3, 8), NEW_YORK)
    assert [minute_at(spring, NEW_YORK, spring[0], each) for each in (119, 120, 150, 180, 1440)] == [
        119,
        120,
        120,
        120,
        1380,
    ]
    autumn = calendar_days(date(2026, 11, 1), date(2026, 11, 1), NEW_YORK)
    assert [minute_at(autumn, NEW_YORK, autumn[0], each) for each in (60, 119, 120, 1440)] == [60, 119, 180, 1500]


def test_midnight_itself_may_be_skipped() -> None:
    """In Chile the clock goes from 24:00 on a Saturday of September to 1:00 on Sunday."""
    days = calendar_days(date(2026, 9, 5), date(2026, 9, 7), "America/Santiago")
    assert [each.window for each in days] == [Window(0, 1440), Window(1440, 2820), Window(2820, 4260)]
    assert clock_time(days, "America/Santiago", 1440).hour == 1


def test_half_an_hour_of_change() -> None:
    assert sorted(lengths(2026, LORD_HOWE).values()) == [1410, 1470]


def test_days_off_and_extra_hours() -> None:
    days = calendar_days(date(2026, 10, 31), date(2026, 11, 14))
    extra = (ExtraShift(date(2026, 11, 3), 18 * 60, 21 * 60), ExtraShift(date(2026, 11, 14), 17 * 60, 18 * 60))
    found = work_windows(worker(SATURDAY, off=(date(2026, 11, 7),), extra=extra), days)
    assert found == (
        Window(540, 1020),
        Window(3 * 1440 + 1080, 3 * 1440 + 1260),
        Window(14 * 1440 + 540, 14 * 1440 + 1080),
    )


def test_hours_that_meet_at_midnight_are_one_window() -> None:
    days = calendar_days(date(2026, 10, 31), date(2026, 11, 1))
    assert work_windows(worker(Shift(5, 1200, 1440), Shift(6, 0, 60)), days) == (Window(1200, 1500),)


@pytest.mark.invariant
@given(
    st.sampled_from(["", NEW_YORK, BERLIN, LORD_HOWE, "America/Havana", "Asia/Kolkata"]),
    st.dates(date(2020, 1, 1), date(2036, 1, 1)),
    st.integers(0, 400),
    st.integers(0, 400 * 1440),
)
def test_there_and_back(zone: str, first: date, more: int, minute: int) -> None:
    days = calendar_days(first, first + timedelta(days=more), zone)
    assert all(a.window.end == b.window.start for a, b in itertools.pairwise(days))
    minute %= days[-1].window.end
    local = clock_time(days, zone, minute)
    day = day_of(days, minute)
    assert (day.day, local.second) == (local.date(), 0)
    found = minute_at(days, zone, day, local.hour * 60 + local.minute)
    assert found <= minute
    assert clock_time(days, zone, found).time() == local.time()
    assert found == minute or local.fold == 1


@pytest.mark.invariant
@given(st.lists(st.integers(0, 1440), min_size=2, max_size=8), st.sampled_from(["", NEW_YORK, BERLIN, LORD_HOWE]))
def test_later_on_the_clock_is_never_earlier(clocks: list[int], zone: str) -> None:
    days = calendar_days(date(2026, 3, 7), date(2026, 4, 6), zone)
    for day in days:
        minutes = [minute_at(days, zone, day, each) for each in sorted(clocks)]
        assert minutes == sorted(minutes)
        assert all(day.window.start <= each <= day.window.end for each in minutes)


def test_a_minute_outside_the_calendar() -> None:
    days = calendar_days(date(2026, 10, 31), date(2026, 11, 1))
    assert day_of(days, 2880).day == date(2026, 11, 1)
    with pytest.raises(ValueError, match="outside the calendar"):
        day_of(days, 2881)
