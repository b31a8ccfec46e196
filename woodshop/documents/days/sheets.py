"""A sheet for each person and day: when to do what, for which order, and where the packet describes it."""

from collections.abc import Iterator, Mapping
from datetime import date

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
from woodshop.units.wording import minutes_text, span_text, weekday_text

_TICK = "[ ]"
_COLUMNS = (
    Column("time", weight=13, cut_size=True),
    Column("done", Align.CENTRE, weight=3),
    Column("what to do", weight=25),
    Column("for", weight=9),
    Column("packet", weight=8),
)


def person_sections(
    schedule: Schedule, kinds: Mapping[str, str], topics: Mapping[str, tuple[str, ...]]
) -> tuple[Section, ...]:
    """A section for each person with work, each on a new page. `kinds` are the words for operations, `topics` the
    topics of their cautions."""
    blocks = blocks_of(schedule)
    found = []
    for person in schedule.project.people:
        own = [each for each in blocks if each.person == person.name]
        if own:
            days = tuple(_days(schedule, own, kinds, topics))
            total = minutes_text(sum(each.end - each.start for each in own))
            words = f"{total} of work on {len(days)} day{'s' if len(days) > 1 else ''}."
            title = f"Work of {plain(person.name)}"
            found += [Section("", (PageBreak(),)), Section(title, (Paragraph(words), *days))]
    return tuple(found)


def _days(
    schedule: Schedule, own: list[WorkBlock], kinds: Mapping[str, str], topics: Mapping[str, tuple[str, ...]]
) -> Iterator[Block]:
    days: dict[date, list[WorkBlock]] = {}
    for block in own:
        days.setdefault(day_of(schedule.project.days, block.start).day, []).append(block)
    seen: set[str] = set()
    for day, blocks in days.items():
        new = list(dict.fromkeys(topic for each in blocks for topic in topics.get(each.kind, ()) if topic not in seen))
        rows = tuple(_row(schedule, each, kinds) for each in blocks)
        year = f", {day.year}" if day.year != schedule.project.days[0].day.year else ""
        yield KeepTogether((Heading(f"{weekday_text(day)}{year}", 2), *caution_lines(new, seen), Table(_COLUMNS, rows)))


def _row(schedule: Schedule, block: WorkBlock, kinds: Mapping[str, str]) -> tuple[str, ...]:
    project = schedule.project
    start, end = (clock_time(project.days, project.zone, at) for at in (block.start, block.end))
    pages = list(dict.fromkeys(plain(step.page) for step in block.steps if step.page))
    return (
        span_text(start, end),
        _TICK,
        "\n".join(_what(block, kinds, is_one_page=len(pages) == 1)),
        plain(block.lot),
        pages[0].removeprefix("page ") if len(pages) == 1 else "",
    )


def _what(block: WorkBlock, kinds: Mapping[str, str], *, is_one_page: bool) -> Iterator[str]:
    """The operation and its steps, one on each line; a step that is alone follows the operation."""
    kind = plain(kinds.get(block.kind, block.kind))
    company = f", with {' and '.join(map(plain, block.others))}" if block.others else ""
    pages = {plain(step.what): plain(step.page) for step in block.steps}
    steps = [f"{what} ({page})" if page and not is_one_page else what for what, page in pages.items() if what]
    if len(steps) == 1:
        yield f"{steps[0] if steps[0].lower().startswith(kind.lower()) else f'{kind}: {steps[0]}'}{company}"
        return
    yield f"{kind}{company}"
    yield from (f"- {step}" for step in steps)
