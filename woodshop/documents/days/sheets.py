"""A sheet for each person and day: when to do what, for which order, and where the packet describes it."""

from collections.abc import Callable, Iterator, Mapping
from datetime import date

from woodshop.documents.days.weeks import booked, is_drying, moment_text
from woodshop.documents.lists import plain
from woodshop.documents.packet.cautions import caution_lines
from woodshop.drawing.values.model import (
    Align,
    Block,
    Column,
    Heading,
    KeepTogether,
    PageBreak,
    Paragraph,
    Section,
    Table,
)
from woodshop.schedule.blocks import WorkBlock, blocks_of
from woodshop.schedule.calendar import clock_time, day_of
from woodshop.schedule.values import Activity, Schedule
from woodshop.units.wording import minutes_text, span_text, weekday_text

_TICK = "[ ]"
_AT_HIVES = ("measure", "fit")
_IN_DAYLIGHT = (  # common practice, no source; the hours of daylight at the hives are not known here
    "Open hives in daylight, on a mild day. If it is dark by then, add daylight hours for this work."
)
_COLUMNS = (
    Column("time", weight=13, cut_size=True),
    Column("done", Align.CENTRE, weight=3),
    Column("what to do", weight=24),
    Column("for", weight=12),
    Column("chapter", weight=8),
)


def person_sections(schedule: Schedule, topics: Callable[[Activity], tuple[str, ...]]) -> tuple[Section, ...]:
    """A section for each person with work, each on a new page. `topics` gives the caution topics of an activity."""
    blocks = blocks_of(schedule)
    dry = _dry_until(schedule)
    found = []
    for person in schedule.project.people:
        own = [each for each in blocks if each.person == person.name]
        if own:
            days = tuple(_days(schedule, own, topics, dry))
            total = minutes_text(sum(each.end - each.start for each in own))
            count = len({day_of(schedule.project.days, each.start) for each in own})
            words = f"{total} of work on {count} day{'s' if count > 1 else ''}. The chapters are those of packet.pdf."
            title = f"Work of {plain(person.name)}"
            found += [Section("", (PageBreak(),)), Section(title, (Paragraph(words), *days))]
    return tuple(found)


def _dry_until(schedule: Schedule) -> dict[str, str]:
    """For each activity that something dries after at once: until when, what to do then, and who works next."""
    waits = {booking.activity: (booking.end, activity) for booking, activity in booked(schedule) if is_drying(activity)}
    return {
        each.before: _dry_line(schedule, *waits[each.after])
        for each in schedule.project.precedences
        if each.after in waits and each.most == 0
    }


def _dry_line(schedule: Schedule, end: int, wait: Activity) -> str:
    after = next((each for each in schedule.bookings if each.people and each.start >= end), None)
    line = f"Leave them to {'dry' if wait.kind == 'dry' else 'rest'} until {moment_text(schedule, end)}."
    if after is None:
        return line
    who = f"{' and '.join(map(plain, after.people))}, {moment_text(schedule, after.start)}"
    then = "Then stack them dry and safe from mice; next" if wait.kind == "dry" else "Next"
    return f"{line} {then} at work: {who}."


def _days(
    schedule: Schedule, own: list[WorkBlock], topics: Callable[[Activity], tuple[str, ...]], dry: Mapping[str, str]
) -> Iterator[Block]:
    days: dict[date, list[WorkBlock]] = {}
    for block in own:
        days.setdefault(day_of(schedule.project.days, block.start).day, []).append(block)
    seen: set[str] = set()
    for day, blocks in days.items():
        hurts = dict.fromkeys(topic for block in blocks for each in block.activities for topic in topics(each))
        rows = tuple(row for each in blocks for row in _rows(schedule, each, dry))
        year = f", {day.year}" if day.year != schedule.project.days[0].day.year else ""
        name = f"{weekday_text(day)}{year}"
        lines = caution_lines(hurts, seen, " of this file")
        yield KeepTogether((Heading(name, 2), *lines, Table(_COLUMNS, rows, continued=name)))


def _rows(schedule: Schedule, block: WorkBlock, dry: Mapping[str, str]) -> Iterator[tuple[str, ...]]:
    """A row for each activity of a block, with its own times and tick box."""
    project = schedule.project
    start = block.start
    for each in block.activities:
        times = (clock_time(project.days, project.zone, at) for at in (start, start + each.minutes))
        start += each.minutes
        pages = dict.fromkeys(plain(step.page).removeprefix("page ") for step in each.steps if step.page)
        words = "\n".join(_what(block, each, dry.get(each.key, "")))
        yield span_text(*times), _TICK, words, plain(block.lot), "; ".join(pages)


def _what(block: WorkBlock, activity: Activity, drying: str) -> Iterator[str]:
    """One of the activities of a block without the order that it is for, and its steps, one on each line, if it has
    several."""
    company = f", with {' and '.join(map(plain, block.others))}" if block.others else ""
    lot = f" for {plain(block.lot)}" if block.lot else ""

    def said(what: str) -> str:
        return plain(what).replace(lot, "") if lot else plain(what)

    yield f"{said(activity.what)}{company}"
    if len(activity.steps) > 1:
        yield from (f"- {said(step.what)}, {minutes_text(step.minutes)}" for step in activity.steps)
    if activity.kind in _AT_HIVES:
        yield f"- {_IN_DAYLIGHT}"
    if drying:
        yield f"- {drying}"
