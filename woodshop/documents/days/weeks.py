"""The calendar: weeks as rows, days as columns, with the work of each person, due dates and drying times."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from itertools import pairwise

from woodshop.documents.days.looks import (
    ROOM,
    SWATCH,
    Look,
    key_picture,
    lines_at,
    looks_of,
    outlined,
    patterned,
    shortened,
)
from woodshop.documents.lists import plain
from woodshop.drawing.arranging.patterns import Pattern, filled
from woodshop.drawing.values.model import Block, Paragraph, Section, SetOut
from woodshop.drawing.values.paper import Box, Mark, Sheet, Word
from woodshop.drawing.values.style import STYLE
from woodshop.schedule.blocks import WorkBlock, blocks_of
from woodshop.schedule.calendar import clock_time, day_of
from woodshop.schedule.values import Activity, Booking, Project, Schedule
from woodshop.units.wording import clock_text, span_text, weekday_in_short, weekday_text

_SIZE = STYLE.small
_PITCH = _SIZE * STYLE.leading
_NARROW = 0.45  # a day of the week on which nobody works, as a share of the width of other columns
_STRIP = 10.0  # points: the pattern at the left of a bar
_PAD = 3.0
_BAND = 13.0  # points: the height of a band for drying
_MOST_DUE = 4  # due dates named in a day; more are counted
_DRIES = 24 * 60  # minutes: a wait of a day or longer counts as drying


def calendar_section(schedule: Schedule, kinds: Mapping[str, str]) -> Section:
    """The key and a picture of each week from the first work to the last due date. `kinds` has words for operations."""
    looks = looks_of(schedule.project.people)
    more: list[tuple[str, list[Mark]]] = [("due", _due_frame(SWATCH)), ("drying", _dry_frame(SWATCH))]
    return Section(
        "Calendar",
        (
            Paragraph("Each bar has a person's pattern, the hours from first work to last, and the work in order."),
            key_picture(looks, more),
            *_weeks(schedule, kinds, looks),
        ),
    )


def _weeks(schedule: Schedule, kinds: Mapping[str, str], looks: dict[str, Look]) -> Iterator[Block]:
    weeks: dict[date, list[date]] = {}
    for day in shown_days(schedule):
        weeks.setdefault(day - timedelta(days=day.weekday()), []).append(day)
    work: dict[date, dict[str, list[WorkBlock]]] = {}
    for block in blocks_of(schedule):
        day = day_of(schedule.project.days, block.start).day
        work.setdefault(day, {}).setdefault(block.person, []).append(block)
    worked = {day.weekday() for day in work}
    shares = [1.0 if n in worked or not worked else _NARROW for n in range(7)]
    edges = [0.0]
    for share in shares:
        edges.append(edges[-1] + ROOM * share / sum(shares))
    due, dry = due_lots(schedule), _drying(schedule)
    empty: list[date] = []  # days in consecutive weeks in which nothing happens
    for monday in sorted(weeks):
        days = [monday + timedelta(days=n) for n in range(7)]
        if not any(day in work or day in due or day in dry for day in days):
            empty += days
            continue
        yield from _nothing(empty)
        empty = []
        if not any(day in work or day in dry for day in days):
            for day in (each for each in days if each in due):
                more = f"; {len(due[day]) - _MOST_DUE} more" if len(due[day]) > _MOST_DUE else ""
                yield Paragraph(f"{'; '.join(due[day][:_MOST_DUE])}{more}.", lead=f"Due on {weekday_text(day)}:")
            continue
        laid = [_Day(day, due.get(day, ()), list(_bars(schedule, work.get(day, {}), kinds, looks))) for day in days]
        yield _week(days, edges, laid, dry)


def _nothing(days: Sequence[date]) -> Iterator[Block]:
    if days:
        yield Paragraph(f"{weekday_text(days[0])} to {weekday_text(days[-1])}: nothing to do.")


def shown_days(schedule: Schedule) -> list[date]:
    """Every day from the first booking or due date to the last; empty if nothing is booked."""
    days = schedule.project.days
    if not schedule.bookings:
        return []
    first = min([day_of(days, min(each.start for each in schedule.bookings)).day, *due_lots(schedule)])
    last = max([day_of(days, max(0, each.end - 1)).day for each in schedule.bookings] + list(due_lots(schedule)))
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def due_lots(schedule: Schedule) -> dict[date, tuple[str, ...]]:
    """The lots or activities due on each day, in words, and whether they are late."""
    days = schedule.project.days
    ends = {each.activity: each.end for each in schedule.bookings}
    latest: dict[tuple[date, str], int] = {}
    for each in schedule.project.activities:
        if each.due is not None:
            key = (due_day(schedule.project, each), plain(each.lot or each.what))
            latest[key] = max(latest.get(key, 0), ends[each.key] if ends[each.key] > each.due else 0)
    found: dict[date, list[str]] = {}
    for (day, name), end in sorted(latest.items()):
        late = f", LATE: done {weekday_in_short(day_of(days, end - 1).day)}" if end else ""
        found.setdefault(day, []).append(f"{name}{late}")
    return {day: tuple(names) for day, names in found.items()}


def due_day(project: Project, activity: Activity) -> date:
    """The last day on which this activity, which has a due minute, may end to be on time."""
    assert activity.due is not None
    outside = dict(project.outside_dues).get(activity.lot)
    return outside or day_of(project.days, max(0, activity.due - 1)).day


def due_text(project: Project, activity: Activity, words: Callable[[date], str]) -> str:
    """The due day in words; if it is before the first day of the schedule and not known, "before" that day."""
    is_known = activity.due or activity.lot in dict(project.outside_dues)
    return words(due_day(project, activity)) if is_known else f"before {words(project.days[0].day)}"


def moment_text(schedule: Schedule, minute: int) -> str:
    """The day in short form, and the time of day."""
    at = clock_time(schedule.project.days, schedule.project.zone, minute)
    return f"{weekday_in_short(at.date())}, {clock_text(at)}"


def is_drying(activity: Activity) -> bool:
    """Whether it is the drying of boards, or another wait of a day or longer."""
    return activity.people == 0 and activity.minutes >= _DRIES


def _drying(schedule: Schedule) -> dict[date, int]:
    """The most boards that dry at once on each day. A wait that uses no resource counts as one."""
    waits = [
        (booking, max((use.amount for use in activity.uses), default=1))
        for booking, activity in booked(schedule)
        if is_drying(activity)
    ]
    found: dict[date, int] = {}
    for day in schedule.project.days:
        now = [each for each in waits if each[0].start < day.window.end and day.window.start < each[0].end]
        starts = [max(each.start, day.window.start) for each, _ in now]
        most = max((sum(n for each, n in now if each.start <= at < each.end) for at in starts), default=0)
        if most:
            found[day.day] = most
    return found


def booked(schedule: Schedule) -> list[tuple[Booking, Activity]]:
    """The bookings with their activities, in order."""
    activities = {each.key: each for each in schedule.project.activities}
    return [(each, activities[each.activity]) for each in schedule.bookings]


_Part = tuple[float, list[Mark]]
"""A part of a day: its height, and its marks from (0, 0) down in a column of a given width."""


class _Day:
    """The content of a day, laid out when the width of its column is known."""

    def __init__(self, day: date, due: Sequence[str], bars: Sequence[tuple[Look, str, str]]) -> None:
        self.day, self.due, self.bars = day, due, bars

    def laid(self, wide: float) -> list[_Part]:
        """Its parts from top to bottom."""
        head = lines_at(weekday_in_short(self.day), _SIZE, wide - 2 * _PAD, (_PAD, 0.0), strong=True)
        parts: list[_Part] = [(len(head) * _PITCH + 2.0, list[Mark](head))]
        shown = [f"DUE {name}" for name in self.due[:_MOST_DUE]]
        more = len(self.due) - _MOST_DUE
        for text in (*shown, *([f"DUE: {more} more"] if more > 0 else [])):
            parts.append(_boxed(text, wide))
        for look, hours, what in self.bars:
            parts.append(_bar(look, hours, what, wide))
        return parts


def _bars(
    schedule: Schedule, work: dict[str, list[WorkBlock]], kinds: Mapping[str, str], looks: dict[str, Look]
) -> Iterator[tuple[Look, str, str]]:
    """For each person who works on a day: their look, the hours from first work to last, and the work in order."""
    project = schedule.project
    for name, blocks in work.items():
        start, end = (clock_time(project.days, project.zone, at) for at in (blocks[0].start, blocks[-1].end))
        words = dict.fromkeys(plain(kinds.get(each.kind, each.kind)).lower() for each in blocks)
        yield looks[name], span_text(start, end), ", ".join(words)


def _boxed(text: str, wide: float) -> _Part:
    words = lines_at(text, _SIZE, wide - 4 * _PAD, (2 * _PAD, -_PAD), strong=True)
    high = len(words) * _PITCH + 2 * _PAD
    return high + 2.0, [*_due_frame(Box(_PAD, -high, wide - _PAD, 0.0)), *words]


def _due_frame(box: Box) -> list[Mark]:
    return [outlined(box, STYLE.heavy, "paper")]


def _dry_frame(box: Box) -> list[Mark]:
    return [outlined(box, STYLE.thin, "light"), *filled([box], Pattern.RINGS)]


def _bar(look: Look, hours: str, what: str, wide: float) -> _Part:
    room = wide - 4 * _PAD - _STRIP
    name = shortened(look.name, _SIZE, room, strong=True)
    words = lines_at(name, _SIZE, room + 1, (2 * _PAD + _STRIP, -_PAD / 2), strong=True)
    after = words[0].box.right + 4.0
    beside = lines_at(hours, _SIZE, ROOM, (after, -_PAD / 2))
    is_beside = beside[0].box.right <= 2 * _PAD + _STRIP + room
    words += beside if is_beside else []
    lines = 1
    for text in (what,) if is_beside else (hours, what):
        more = lines_at(text, _SIZE, room, (2 * _PAD + _STRIP, -_PAD / 2 - lines * _PITCH))
        words += more
        lines += len(more)
    high = lines * _PITCH + _PAD
    left, right = _PAD, wide - _PAD
    marks: list[Mark] = [
        outlined(Box(left, -high, right, 0.0), 0.7, look.tint),
        *patterned(Box(left, -high, left + _STRIP, 0.0), look),
        *words,
    ]
    return high + 2.0, marks


def _week(days: Sequence[date], edges: Sequence[float], laid: Sequence[_Day], drying: dict[date, int]) -> SetOut:
    """A week as one picture, drawn from (0, 0) down."""
    widths = [right - left for left, right in pairwise(edges)]
    columns = [day.laid(wide) for day, wide in zip(laid, widths, strict=True)]
    high = max(sum(part[0] for part in column) for column in columns) + 2.0
    has_drying = any(day in drying for day in days)
    marks: list[Mark] = []
    for left, column in zip(edges, columns, strict=False):
        top = -2.0
        for tall, part in column:
            marks += [mark.moved(left, top) for mark in part]
            top -= tall
    low = -high - (_BAND + 2.0 if has_drying else 0.0)
    marks += _bands(days, edges, drying, low)
    for left, right in pairwise(edges):
        marks.append(outlined(Box(left, low, right, 0.0), STYLE.thin))
    marks.append(outlined(Box(0.0, low, ROOM, 0.0), STYLE.outline))
    return SetOut(Sheet(tuple(marks), Box(-0.7, low - 0.7, ROOM + 0.7, 0.7)))


def _bands(days: Sequence[date], edges: Sequence[float], drying: dict[date, int], low: float) -> list[Mark]:
    """A band over the days on which something dries, with the amount."""
    marks: list[Mark] = []
    for n, day in enumerate(days):
        if day not in drying:
            continue
        left = edges[n] + (0.0 if n and days[n - 1] in drying else _PAD)
        right = edges[n + 1] - (0.0 if n < 6 and days[n + 1] in drying else _PAD)
        box = Box(left, low + 1.5, right, low + _BAND)
        text = Word(f"{drying[day]} drying", 0.0, 0.0, size=_SIZE, strong=True)
        if text.width + 4.0 > right - left:
            text = Word(str(drying[day]), 0.0, 0.0, size=_SIZE, strong=True)
        middle = (left + right) / 2
        behind = Box(middle - text.width / 2 - 2, box.bottom + 0.5, middle + text.width / 2 + 2, box.top - 0.5)
        marks += [outlined(box, 0.0, "light"), *filled([box], Pattern.RINGS), outlined(behind, 0.0, "light")]
        marks.append(text.moved(middle - text.width / 2, low + 4.0))
    return marks
