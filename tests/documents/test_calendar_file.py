"""The calendar file, read by a parser that shares nothing with the library that writes it."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from ical.calendar import Calendar
from ical.calendar_stream import IcsCalendarStream

from tests.documents.test_days import NASTY, renamed
from tests.schedule.small_projects import scheduled, small
from woodshop.documents.days.calendar_file import calendar_file
from woodshop.schedule.blocks import blocks_of, events_of, replacing
from woodshop.schedule.calendar import calendar_days, minute_at
from woodshop.schedule.schedule_json import WrittenSchedule
from woodshop.schedule.values import Activity, Booking, Person, Project, Schedule, Window

NEW_YORK = ZoneInfo("America/New_York")


def written(schedule: Schedule, earlier: WrittenSchedule | None = None) -> bytes:
    data = calendar_file(replacing(schedule, earlier, made_on=date(2026, 9, 1)))
    assert data is not None
    return data


def parsed(data: bytes) -> Calendar:
    return IcsCalendarStream.calendar_from_ics(data.decode("utf-8"))


def worked(*starts: tuple[date, int], zone: str = "America/New_York", minutes: int = 60) -> Schedule:
    """A schedule of one person who rips for an hour at these minutes after midnight on the clock."""
    days = calendar_days(date(2026, 10, 30), date(2026, 11, 3), zone)
    by_date = {day.day: day for day in days}
    at = [minute_at(days, zone, by_date[day], clock) for day, clock in starts]
    project = Project(
        name="clocks",
        zone=zone,
        days=days,
        people=(Person(name="Ada", skills=frozenset(), windows=(Window(0, days[-1].window.end),)),),
        resources=(),
        activities=tuple(Activity(key=f"{n}", what="Rip", kind="rip", minutes=minutes) for n in range(len(at))),
        precedences=(),
    )
    bookings = tuple(Booking(f"{n}", start, start + minutes, ("Ada",)) for n, start in enumerate(at))
    return Schedule(project=project, bookings=bookings, goals=())


@pytest.mark.outside("15 U.S.C. 260a(a): clocks go back at 2 a.m. on the first Sunday of November")
def test_ten_o_clock_is_ten_o_clock_before_and_after_the_end_of_daylight_saving_time() -> None:
    data = written(worked((date(2026, 10, 31), 600), (date(2026, 11, 1), 600)))
    first, second = parsed(data).events
    assert b"DTSTART;TZID=America/New_York:20261031T100000\r\n" in data
    assert b"DTSTART;TZID=America/New_York:20261101T100000\r\n" in data
    for event, day, offset in ((first, date(2026, 10, 31), -4), (second, date(2026, 11, 1), -5)):
        assert isinstance(event.dtstart, datetime)
        assert event.dtstart.replace(tzinfo=None) == datetime(day.year, day.month, day.day, 10)
        assert event.dtstart.utcoffset() == timedelta(hours=offset)
        assert event.dtend == event.dtstart + timedelta(hours=1)
    (zone,) = parsed(data).timezones
    standard, daylight = zone.standard[0], zone.daylight[0]
    assert standard.dtstart == datetime(2026, 11, 1, 2)
    assert (standard.tz_offset_from.offset, standard.tz_offset_to.offset) == (timedelta(hours=-4), timedelta(hours=-5))
    assert daylight.tz_offset_to.offset == timedelta(hours=-4)


def test_the_second_of_two_equal_hours_is_told_apart() -> None:
    """1:30 comes twice on November 1, 2026; a zoned time means the first, so the second is in universal time."""
    schedule = worked((date(2026, 11, 1), 90))
    twice = replace(schedule.bookings[0], start=schedule.bookings[0].start + 60, end=schedule.bookings[0].end + 60)
    for each, instant in (
        (schedule, datetime(2026, 11, 1, 5, 30)),
        (replace(schedule, bookings=(twice,)), datetime(2026, 11, 1, 6, 30)),
    ):
        (event,) = parsed(written(each)).events
        assert isinstance(event.dtstart, datetime)
        assert event.dtstart.astimezone(UTC) == instant.replace(tzinfo=UTC)


@pytest.mark.invariant
def test_every_block_is_an_event() -> None:
    calendar = parsed(written(small()))
    blocks = blocks_of(small())
    assert [(event.dtstart, event.dtend) for event in calendar.events] == [
        (event.start, event.end) for event in events_of(small())
    ]
    assert len({event.uid for event in calendar.events}) == len(blocks)
    assert all(event.sequence == 0 and event.status == "CONFIRMED" for event in calendar.events)
    assert {event.dtstamp for event in calendar.events} == {datetime(2026, 9, 1, tzinfo=UTC)}
    assert {str(event.summary).split(":")[0] for event in calendar.events} == {"Ada Miller", "Ben Ortiz"}
    assert written(small()) == written(small())


@pytest.mark.invariant
def test_an_event_keeps_its_id_when_it_moves() -> None:
    """The same work a week later: the same ids, one number higher, other times."""
    before = replacing(small(), None)
    later = scheduled(
        replace(
            small().project,
            activities=tuple(replace(each, earliest=7 * 1440) for each in small().project.activities),
        )
    )
    old, new = parsed(written(small())), parsed(written(later, before))
    assert {event.sequence for event in new.events} == {1}
    assert {event.uid for event in old.events} == {event.uid for event in new.events}
    assert all(event.status == "CONFIRMED" for event in new.events)
    assert {event.dtstart for event in old.events} != {event.dtstart for event in new.events}


@pytest.mark.invariant
def test_what_no_longer_happens_is_cancelled_until_it_comes_back() -> None:
    first = replacing(small(), None)
    ben = {event.uid for event in events_of(small()) if event.block.person == "Ben Ortiz"}
    alone = replace(small(), bookings=tuple(each for each in small().bookings if "Ben Ortiz" not in each.people))
    second = replacing(alone, first)
    new = {event.uid for event in events_of(alone)}
    gone = {event.uid: event for event in parsed(written(alone, first)).events if event.status == "CANCELLED"}
    assert ben <= set(gone)
    assert not set(gone) & new
    assert all(event.sequence == 1 and event.dtstart.tzinfo is not None for event in gone.values())  # type: ignore[union-attr]
    assert replacing(alone, second) == second
    third = replacing(alone, second, made_on=date(2026, 9, 2))
    assert third.cancelled == second.cancelled
    assert third.number == 2
    assert replacing(small(), third).cancelled == ()


@pytest.mark.invariant
def test_what_was_before_the_first_new_day_is_not_cancelled() -> None:
    days = small().project.days
    rest = replace(
        small(),
        project=replace(small().project, days=calendar_days(days[7].day, days[-1].day, "America/New_York")),
        bookings=(),
    )
    last = {each.end.astimezone(NEW_YORK).date() for each in replacing(rest, replacing(small(), None)).cancelled}
    assert min(last) >= days[7].day


@pytest.mark.invariant
def test_hostile_names_stay_in_their_places() -> None:
    data = written(renamed(small()))
    calendar = parsed(data)
    assert len(calendar.events) == len(blocks_of(renamed(small())))
    assert not any(line.startswith(b"X-EVIL") for line in data.replace(b"\r\n ", b"").split(b"\r\n"))
    assert all(len(line) <= 75 for line in data.split(b"\r\n"))
    assert b"\x07" not in data
    assert b"\x1b" not in data
    assert any(NASTY[3][:60] in str(event.summary) for event in calendar.events)


@pytest.mark.parametrize("zone", ["Asia/Kolkata", "Australia/Lord_Howe", "Europe/Dublin", "Etc/UTC", "Pacific/Apia"])
def test_other_zones_are_read_back_with_their_offsets(zone: str) -> None:
    schedule = worked((date(2026, 10, 31), 600), (date(2026, 11, 1), 600), zone=zone)
    for event, day in zip(parsed(written(schedule)).events, (31, 1), strict=True):
        assert isinstance(event.dtstart, datetime)
        assert (event.dtstart.hour, event.dtstart.minute, event.dtstart.day) == (10, 0, day)
        assert event.dtstart.utcoffset() == event.dtstart.replace(tzinfo=ZoneInfo(zone)).utcoffset()


def test_without_a_zone_there_is_none() -> None:
    assert calendar_file(replacing(replace(small(), project=replace(small().project, zone="")), None)) is None
