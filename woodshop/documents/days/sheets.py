"""A sheet for each person and day: when to do what, for which order, and where the packet describes it."""

from collections.abc import Iterator, Mapping
from datetime import date

from woodshop.documents.days.weeks import booked, is_drying
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
from woodshop.schedule.values import Schedule
from woodshop.units.wording import minutes_text, span_text, weekday_in_short, weekday_text

_TICK = "[ ]"
_MOST_KEPT = 20  # lines of a day that are kept on one page


def _columns(day: date) -> tuple[Column, ...]:
    """The columns of a day. Its date is in the headings, because a long table repeats them on the next page."""
    return (
        Column(weekday_in_short(day), weight=13, cut_size=True),
        Column("done", Align.CENTRE, weight=3),
        Column("what to do", weight=25),
        Column("for", weight=9),
        Column("packet", weight=8),
    )


def person_sections(schedule: Schedule, topics: Mapping[str, tuple[str, ...]]) -> tuple[Section, ...]:
    """A section for each person with work, each on a new page. `topics` has the topics of cautions for each kind."""
    blocks = blocks_of(schedule)
    dry = _dry_until(schedule)
    found = []
    for person in schedule.project.people:
        own = [each for each in blocks if each.person == person.name]
        if own:
            days = tuple(_days(schedule, own, topics, dry))
            total = minutes_text(sum(each.end - each.start for each in own))
            count = len({day_of(schedule.project.days, each.start) for each in own})
            words = f"{total} of work on {count} day{'s' if count > 1 else ''}."
            title = f"Work of {plain(person.name)}"
            found += [Section("", (PageBreak(),)), Section(title, (Paragraph(words), *days))]
    return tuple(found)


def _dry_until(schedule: Schedule) -> dict[str, str]:
    """For each activity directly followed by drying, the end of the drying, in words."""
    waits = {booking.activity: booking.end for booking, activity in booked(schedule) if is_drying(activity)}
    days = schedule.project.days
    return {
        each.before: f"then leave it until {weekday_text(day_of(days, waits[each.after]).day)}"
        for each in schedule.project.precedences
        if each.after in waits and each.most == 0
    }


def _days(
    schedule: Schedule, own: list[WorkBlock], topics: Mapping[str, tuple[str, ...]], dry: Mapping[str, str]
) -> Iterator[Block]:
    days: dict[date, list[WorkBlock]] = {}
    for block in own:
        days.setdefault(day_of(schedule.project.days, block.start).day, []).append(block)
    seen: set[str] = set()
    for day, blocks in days.items():
        hurts = dict.fromkeys(topic for each in blocks for topic in topics.get(each.kind, ()))
        rows = tuple(_row(schedule, each, dry) for each in blocks)
        year = f", {day.year}" if day.year != schedule.project.days[0].day.year else ""
        sheet: tuple[Block, ...] = (
            Heading(f"{weekday_text(day)}{year}", 2),
            *caution_lines(hurts, seen),
            Table(_columns(day), rows),
        )
        is_long = sum(row[2].count("\n") + 1 for row in rows) > _MOST_KEPT
        yield from sheet if is_long else (KeepTogether(sheet),)


def _row(schedule: Schedule, block: WorkBlock, dry: Mapping[str, str]) -> tuple[str, ...]:
    project = schedule.project
    start, end = (clock_time(project.days, project.zone, at) for at in (block.start, block.end))
    pages = dict.fromkeys(plain(step.page).removeprefix("page ") for step in block.steps if step.page)
    words = "\n".join(
        line for n, each in enumerate(block.activities) for line in _what(block, n, dry.get(each.key, ""))
    )
    return span_text(start, end), _TICK, words, plain(block.lot), "; ".join(pages)


def _what(block: WorkBlock, number: int, drying: str) -> Iterator[str]:
    """An activity of a block and, if it has several steps, its steps, one to a line."""
    activity = block.activities[number]
    company = f", with {' and '.join(map(plain, block.others))}" if block.others and not number else ""
    yield f"{plain(activity.what)}{company}"
    if len(activity.steps) > 1:
        yield from (f"- {plain(step.what)}, {minutes_text(step.minutes)}" for step in activity.steps)
    if drying:
        yield f"- {drying}"
