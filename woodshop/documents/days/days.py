"""The days of a batch: the files of its schedule, and what the command prints."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from functools import partial
from pathlib import Path

from woodshop.documents.days.calendar_file import NO_ZONE, calendar_file
from woodshop.documents.days.gantt import gantt_section, gantt_svg
from woodshop.documents.days.goals import goal_sentences, late_lots, lots_table
from woodshop.documents.days.sheets import person_sections
from woodshop.documents.days.weeks import calendar_section
from woodshop.documents.lists import plain
from woodshop.documents.packet.cautions import caution_pages, caution_sources, material_topics
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.values.model import (
    Align,
    Block,
    Bullets,
    Column,
    Data,
    Document,
    Heading,
    KeyFigures,
    KeyValues,
    PageBreak,
    Paragraph,
    Section,
    Table,
)
from woodshop.files.one_file import json_bytes
from woodshop.schedule.blocks import blocks_of, replacing
from woodshop.schedule.calendar import clock_time, day_of
from woodshop.schedule.schedule_json import WrittenSchedule, schedule_to_json
from woodshop.schedule.scheduled import Duration, ScheduledBatch
from woodshop.schedule.values import Activity, Schedule
from woodshop.units.wording import in_short, minutes_text, span_text, weekday_in_short

DAYS_NAMES = ("days.pdf", "gantt.svg", "schedule.ics", "schedule.json")
"""The names of the files of a schedule."""

_ILL = (
    "If somebody is ill, enter that person's days off and plan again, or send the days to whoever made this schedule. "
    "At the command line, woodshop schedule with --today says who is late."
)
_NO_CALENDAR = "There is no calendar file for a phone, because the time zone of the crew is not chosen."


def days_files(scheduled: ScheduledBatch, earlier: WrittenSchedule | None = None, plan: str = "") -> dict[str, bytes]:
    """The files of a schedule by name. Without a schedule there are none; without a time zone, no calendar file.

    `earlier` is the schedule that this one replaces, and `plan` is the digest of the plan file that it is for.
    """
    if scheduled.schedule is None:
        return {}
    written = replacing(scheduled.schedule, earlier, plan=plan, made_on=scheduled.made_on)
    events = calendar_file(written)
    return {
        "days.pdf": write_pdf(days_document(scheduled), scheduled.planned.batch.pages.paper),
        "gantt.svg": gantt_svg(scheduled.schedule, scheduled.kinds),
        "schedule.json": json_bytes(schedule_to_json(written)),
    } | ({} if events is None else {"schedule.ics": events})


def days_document(scheduled: ScheduledBatch) -> Document:
    """The schedule on paper: goals, calendar, Gantt chart, a sheet for each person and day, cautions, defaults.

    Raises ValueError if there is no schedule.
    """
    schedule = scheduled.schedule
    if schedule is None:
        raise ValueError("no schedule")
    planned = scheduled.planned
    pages = (
        calendar_section(schedule, scheduled.kinds),
        gantt_section(schedule, scheduled.kinds),
        *person_sections(schedule, partial(_topics, scheduled)),
        Section("", (PageBreak(),)),
        *_cautions(scheduled, schedule),
    )
    sections = (_front(scheduled, schedule), *(pages if schedule.bookings else ()), *_defaults(scheduled))
    return Document(
        planned.batch.pages.title,
        "Winter hive hardware: who does what, and when",
        sections,
        footer=planned.batch.name,
        banner="DO NOT CUT" if planned.report.has_errors else None,
    )


def days_on_screen(
    schedule: Schedule, kinds: Mapping[str, str], remedies: Sequence[str] = (), warnings: Sequence[str] = ()
) -> tuple[Section, ...]:
    """The schedule on a screen: goals, due dates and each person's days; the calendar; the chart as one picture.

    `kinds` has the words for operations. `remedies` and `warnings` are those of the scheduled batch, if known.
    """
    blocks = [*_goals(schedule, kinds), *_advice(remedies, warnings, 2)]
    if schedule.bookings:
        blocks += [Heading("Days and work", 2), _work_table(schedule, kinds)]
    if not schedule.project.zone:
        blocks.append(Paragraph(f'{_NO_CALENDAR} Choose it under "Time zone" above, and plan again.'))
    pictures = (calendar_section(schedule, kinds), gantt_section(schedule, kinds, is_whole=True))
    return Section("", tuple(blocks)), *(pictures if schedule.bookings else ())


def _goals(schedule: Schedule, kinds: Mapping[str, str]) -> list[Block]:
    table = lots_table(schedule, kinds)
    return [KeyFigures(_figures(schedule)), Bullets(goal_sentences(schedule)), *([] if table is None else [table])]


def _advice(remedies: Sequence[str], warnings: Sequence[str], level: int) -> Iterator[Block]:
    for title, texts in (("What would cure the lateness", remedies), ("Read first", warnings)):
        if texts:
            yield from (Heading(title, level), Bullets(tuple(texts)))


def _front(scheduled: ScheduledBatch, schedule: Schedule) -> Section:
    blocks = [*_goals(schedule, scheduled.kinds), *_advice(scheduled.remedies, scheduled.warnings, 2)]
    if schedule.bookings:
        blocks.append(Paragraph(_ILL))
    if not schedule.project.zone:
        blocks.append(Paragraph(_NO_CALENDAR, small=True))
    return Section(f"Days: {scheduled.planned.batch.pages.title}", tuple(blocks))


def _figures(schedule: Schedule) -> tuple[tuple[str, str], ...]:
    worked = [each for each in schedule.bookings if each.people]
    total = sum((each.end - each.start) * len(each.people) for each in worked)
    days = schedule.project.days
    people = {name for each in worked for name in each.people}
    found = [("people", str(len(people))), ("work", minutes_text(total))]
    if worked:
        first = day_of(days, min(each.start for each in worked)).day
        last = day_of(days, max(each.end for each in worked) - 1).day
        found = [("first day of work", in_short(first)), ("last day of work", in_short(last)), *found]
    return tuple(found)


def _topics(scheduled: ScheduledBatch, activity: Activity) -> tuple[str, ...]:
    """The caution topics of an activity. If it names materials that are not sawn, those about others are left out."""
    of_kind = scheduled.topics.get(activity.kind, ())
    materials = [plan.job.material for plan in scheduled.planned.plans if not plan.job.material.is_sawn]
    named = [each for each in materials if each.spoken in activity.what]
    every = {topic for each in materials for topic in material_topics(each)}
    wanted = {topic for each in named for topic in material_topics(each)}
    return tuple(topic for topic in of_kind if not named or topic in wanted or topic not in every)


def _cautions(scheduled: ScheduledBatch, schedule: Schedule) -> Iterator[Section]:
    kinds = dict.fromkeys(each.kind for each in schedule.project.activities)
    topics = list(dict.fromkeys(topic for kind in kinds for topic in scheduled.topics.get(kind, ())))
    if topics:
        yield Section("Safety: read this before you work", (caution_pages(topics, {}), caution_sources(topics)))


def _defaults(scheduled: ScheduledBatch) -> Iterator[Section]:
    if scheduled.defaults:
        columns = (Column("value", weight=3), Column("default", weight=8), Column("source", weight=5))
        rows = tuple(
            dict.fromkeys((each.name.replace("_", " "), each.value, each.source) for each in scheduled.defaults)
        )
        yield Section("Defaults of the schedule: values you did not set", (Table(columns, rows, small=True),))


def schedule_section(scheduled: ScheduledBatch, folder: Path | None) -> Section:
    """What the command prints: goals, lateness with its cure, warnings, and each person's days; or how long the work
    takes. `folder` is where the files were written, or None if there are none."""
    schedule, batch = scheduled.schedule, scheduled.planned.batch
    pairs: list[tuple[str, str]] = [("batch", batch.name)]
    pairs += [("folder", str(folder))] if folder is not None else []
    blocks: list[Block] = []
    if schedule is None:
        blocks += [Paragraph(scheduled.why_none), durations_table(scheduled.durations)]
    else:
        pairs += list(_figures(schedule))
        blocks += [Bullets(goal_sentences(schedule))]
        if scheduled.remedies:
            blocks += [Heading("What would cure the lateness", 3), Bullets(scheduled.remedies)]
        blocks += [_work_table(schedule, scheduled.kinds)] if schedule.bookings else []
        if not schedule.project.zone:
            blocks.append(Paragraph(NO_ZONE))
    if scheduled.warnings:
        blocks += [Heading("Read first", 3), Bullets(scheduled.warnings)]
    return Section("", (KeyValues(tuple(pairs)), *blocks), _data(scheduled, folder))


def durations_table(durations: tuple[Duration, ...]) -> Table:
    """The time of each operation, with the total."""
    columns = (Column("work"), Column("skill"), Column("time for one person", Align.RIGHT))
    rows = [(plain(each.what), each.skill, minutes_text(each.minutes)) for each in durations]
    rows.append(("total", "", minutes_text(sum(each.minutes for each in durations))))
    return Table(columns, tuple(rows), strong=(len(rows) - 1,))


def _work_table(schedule: Schedule, kinds: Mapping[str, str]) -> Table:
    """A row for each day and person, in order of the days."""
    project = schedule.project
    days: dict[tuple[date, int], list[str]] = {}
    times: dict[tuple[date, int], tuple[int, int]] = {}
    numbers = {person.name: n for n, person in enumerate(project.people)}
    for block in blocks_of(schedule):
        key = (day_of(project.days, block.start).day, numbers[block.person])
        lot = f" ({plain(block.lot)})" if block.lot else ""
        days.setdefault(key, []).append(f"{plain(kinds.get(block.kind, block.kind))}{lot}")
        times[key] = (times.get(key, (block.start, 0))[0], block.end)
    rows = []
    for day, n in sorted(days):
        start, end = (clock_time(project.days, project.zone, at) for at in times[day, n])
        name = plain(project.people[n].name)
        what = "; ".join(dict.fromkeys(days[day, n]))
        rows.append((weekday_in_short(day), name, span_text(start, end), what))
    return Table((Column("day"), Column("who"), Column("time"), Column("work")), tuple(rows))


def _data(scheduled: ScheduledBatch, folder: Path | None) -> Data:
    schedule = scheduled.schedule
    data: dict[str, object] = {
        "batch": scheduled.planned.batch.name,
        "folder": None if folder is None else str(folder),
        "has_schedule": schedule is not None,
        "why_none": scheduled.why_none,
        "durations": [{"what": d.what, "skill": d.skill, "minutes": d.minutes} for d in scheduled.durations],
        "warnings": scheduled.warnings,
        "defaults": [{"name": d.name, "value": d.value, "source": d.source} for d in scheduled.defaults],
    }
    if schedule is not None:
        project = schedule.project
        data |= {
            "zone": project.zone,
            "is_backward": project.is_backward,
            "goals": [{"name": g.name, "value": g.value, "bound": g.bound} for g in schedule.goals],
            "late": [{"what": what, "days": days} for what, days in late_lots(schedule)],
            "remedies": scheduled.remedies,
            "work": [
                {
                    "person": block.person,
                    "start": clock_time(project.days, project.zone, block.start).isoformat(timespec="minutes"),
                    "end": clock_time(project.days, project.zone, block.end).isoformat(timespec="minutes"),
                    "kind": block.kind,
                    "for": block.lot,
                    "with": block.others,
                    "activities": [each.key for each in block.activities],
                    "steps": [{"what": s.what, "minutes": s.minutes, "page": s.page} for s in block.steps],
                }
                for block in blocks_of(schedule)
            ],
        }
    return data  # type: ignore[return-value]
