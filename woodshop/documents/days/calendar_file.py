"""The schedule as a calendar file, iCalendar (RFC 5545)."""

from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from woodshop.documents.lists import plain
from woodshop.schedule.blocks import WorkBlock, events_of
from woodshop.schedule.schedule_json import WrittenSchedule

if TYPE_CHECKING:
    from icalendar import Component

NO_ZONE = (
    "schedule.ics is not written: choose the time zone of the crew "
    '(in the design file: zone = "America/New_York" under [crew]).'
)


def calendar_file(written: WrittenSchedule) -> bytes | None:
    """An event for each person and block, in UTF-8; None if the crew has no time zone.

    Events of replaced schedules that no longer happen are cancelled. The same schedule gives the same bytes.
    """
    project = written.schedule.project
    if not project.zone:
        return None
    from icalendar import Calendar, Timezone

    zone = ZoneInfo(project.zone)
    made_on = written.made_on or project.days[0].day
    stamp = datetime.combine(made_on, time(), UTC)
    events = events_of(written.schedule)
    days = [project.days[0].day, project.days[-1].day]
    days += [each.start.astimezone(zone).date() for each in written.cancelled]
    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", "-//woodshop//schedule//EN")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    calendar.add("name", plain(project.name))
    calendar.add_component(
        Timezone.from_tzinfo(zone, project.zone, min(days) - timedelta(days=1), max(days) + timedelta(days=2))
    )
    for each in events:
        text = _description(each.block)
        calendar.add_component(_event(each.uid, plain(each.what), (each.start, each.end), written, stamp, text))
    for gone in written.cancelled:
        times = (gone.start.astimezone(zone), gone.end.astimezone(zone))
        calendar.add_component(_event(gone.uid, plain(gone.what), times, written, stamp, ""))
    return bytes(calendar.to_ical())


def _event(
    uid: str, what: str, times: tuple[datetime, datetime], written: WrittenSchedule, stamp: datetime, text: str
) -> "Component":
    from icalendar import Event

    event = Event()
    event.add("uid", uid)
    event.add("dtstamp", stamp)
    event.add("dtstart", _on_the_clock(times[0]))
    event.add("dtend", _on_the_clock(times[1]))
    event.add("sequence", written.number)
    event.add("status", "CONFIRMED" if text else "CANCELLED")
    event.add("summary", what)
    if text:
        event.add("description", text)
    return event


def _on_the_clock(moment: datetime) -> datetime:
    """The time with its zone. In an hour that the clock shows twice, a zoned time means the first one, so the second is
    given in UTC."""
    return moment.astimezone(UTC) if moment.fold else moment


def _description(block: WorkBlock) -> str:
    lines = [f"For {plain(block.lot)}." if block.lot else "For the whole batch."]
    lines += [f"With {', '.join(map(plain, block.others))}."] if block.others else []
    lines += [f"{plain(step.what)}{f' (packet: {plain(step.page)})' if step.page else ''}" for step in block.steps]
    return "\n".join(dict.fromkeys(lines))
