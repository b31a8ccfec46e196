"""The Gantt chart: who does what and when, by order and operation, and how machines and places are used."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from itertools import pairwise
from math import ceil

from woodshop.documents.days.goals import late_lots
from woodshop.documents.days.looks import ROOM, SWATCH, Look, key_picture, looks_of, outlined, patterned, shortened
from woodshop.documents.days.weeks import booked, due_day, due_lots, due_text, shown_days
from woodshop.documents.lists import plain
from woodshop.drawing.arranging.patterns import Pattern, filled
from woodshop.drawing.pens.svg import svg_of
from woodshop.drawing.values.model import Block, Paragraph, Section, SetOut
from woodshop.drawing.values.paper import Box, Mark, Sheet, Stroke, Word, sheet_of
from woodshop.drawing.values.style import STYLE, register
from woodshop.schedule.calendar import clock_time, day_of
from woodshop.schedule.chain import deciding_chain
from woodshop.schedule.values import Activity, Booking, Resource, Schedule
from woodshop.units.wording import weekday_in_short

_SIZE = STYLE.small
_LABEL = 152.0  # points: the names of rows
_WORKED, _MOST_WORKED, _IDLE = 30.0, 64.0, 5.0  # points: the width of a day with work, and of one without
_FAR, _FEW = 1.0, 6  # points: the width of a day without work after this many of them
_ROW, _LANE = 13.0, 8.0  # points: the least height of a row, and of one person's part of it
_FRAME = 1.3  # points: the frame of a bar in the deciding chain
_LEAST = 4.5  # points, 1/16 in: the least width of a bar
_HEAD = 26.0
_MOST_HIGH = 610.0  # points: a picture that fits on both papers below a heading
_GROUP = 15.0
_ON_SCREEN = 44.0  # points: the width of a day with work in the SVG


@dataclass(frozen=True, slots=True)
class _Bar:
    """A bar: its minutes, its person ("" for nobody), and whether it is in the deciding chain, late, or a wait."""

    start: int
    end: int
    person: str = ""
    is_deciding: bool = False
    is_late: bool = False
    is_wait: bool = False


@dataclass(frozen=True, slots=True)
class _Row:
    """A row: its name, its bars, its words for single days, and the day marked as due. A group's row has no bars."""

    name: str
    bars: tuple[_Bar, ...] = ()
    words: Mapping[date, str] = field(default_factory=dict)
    due: date | None = None
    is_group: bool = False

    @property
    def lanes(self) -> tuple[str, ...]:
        """The people who work in the row, in the order of their names."""
        return tuple(sorted({bar.person for bar in self.bars}))

    @property
    def height(self) -> float:
        """The height in points."""
        return _GROUP if self.is_group else max(_ROW, _LANE * len(self.lanes) + 2.0)


def gantt_section(schedule: Schedule, kinds: Mapping[str, str], *, is_whole: bool = False) -> Section:
    """The chart, on as many pages as it needs, and its key. `kinds` has the words for operations.

    If `is_whole` is true, the chart is one picture as wide as it needs, for a screen.
    """
    looks = looks_of(schedule.project.people)
    chart = _Chart(schedule, kinds, looks)
    blocks: list[Block] = [
        Paragraph(
            "Days without work are gray and narrow unless something is due. A heavy frame marks the chain of work "
            f"that sets {_decided(schedule)}: if one of these takes longer, the others move. A black corner marks work "
            "that ends after its due date. A double line marks the end of the due day."
        ),
        key_picture(looks, _key(schedule)),
    ]
    sheets = (chart.whole(),) if is_whole else chart.pages()
    return Section("Gantt chart", (*blocks, *(SetOut(sheet) for sheet in sheets)))


def gantt_svg(schedule: Schedule, kinds: Mapping[str, str]) -> bytes:
    """The whole chart as one SVG file, with its key."""
    looks = looks_of(schedule.project.people)
    sheet = _Chart(schedule, kinds, looks).whole()
    key = key_picture(looks, _key(schedule)).sheet
    moved = key.moved(0.0, sheet.box.top + 8.0 - key.box.bottom)
    title = f"{schedule.project.name}: Gantt chart"
    return svg_of(sheet_of([*sheet.marks, *moved.marks]), title).encode("utf-8")


def _key(schedule: Schedule) -> list[tuple[str, list[Mark]]]:
    return [
        ("drying or in clamps", _waiting(SWATCH)),
        (f"sets {_decided(schedule)}", [outlined(SWATCH, _FRAME)]),
        ("late", [outlined(SWATCH, _FRAME), _corner(SWATCH)]),
        ("due", _due_lines(8.0, 0.0, 10.0)),
    ]


def _decided(schedule: Schedule) -> str:
    return "the day to begin" if schedule.project.is_backward else "the last day"


def _waiting(box: Box) -> list[Mark]:
    return [outlined(box, STYLE.thin, "light"), *filled([box], Pattern.RINGS)]


def _corner(box: Box) -> Stroke:
    side = min(5.0, box.right - box.left, box.top - box.bottom)
    return Stroke(
        ((box.right - side, box.top), (box.right, box.top), (box.right, box.top - side)), 0.0, closed=True, fill="ink"
    )


def _due_lines(x: float, low: float, high: float) -> list[Mark]:
    """Two lines, `x` right of them, so that no edge of a day or of the chart looks like them."""
    return [Stroke(((x - left, low), (x - left, high)), 0.9) for left in (1.5, 3.7)]


class _Chart:
    """The rows of a schedule, and pictures of them."""

    def __init__(self, schedule: Schedule, kinds: Mapping[str, str], looks: dict[str, Look]) -> None:
        register()
        self.schedule, self.kinds, self.looks = schedule, kinds, looks
        self.days = shown_days(schedule)
        project = schedule.project
        self.work = {day_of(project.days, each.start).day for each in schedule.bookings if each.people}
        self.named = self.work | set(due_lots(schedule))  # days wide enough for their name
        clocks = [self._clock(at) for each in schedule.bookings if each.people for at in (each.start, each.end)]
        self.opens = min(clocks, default=0) // 60 * 60
        self.closes = max(-(-max(clocks, default=1440) // 60) * 60, self.opens + 60)
        self.rows = tuple(self._rows())

    def _wide(self, day: date, worked: float) -> float:
        """The width of a day, which is `worked` if somebody works or something is due on it."""
        if day in self.named:
            return worked
        return _IDLE if any(day - timedelta(days=n) in self.named for n in range(1, _FEW)) else _FAR

    def _clock(self, minute: int) -> int:
        """Minutes after midnight on the clock. Midnight at the end of a day is 1,440."""
        moment = clock_time(self.schedule.project.days, self.schedule.project.zone, minute)
        return moment.hour * 60 + moment.minute

    def _rows(self) -> Iterator[_Row]:
        """The rows of the whole batch, of each lot by its due date, and of the resources."""
        chain = set(deciding_chain(self.schedule))
        lots: dict[str, list[tuple[Booking, Activity]]] = {}
        for booking, activity in booked(self.schedule):
            lots.setdefault(activity.lot, []).append((booking, activity))
        dues = {lot: self._due(own) for lot, own in lots.items()}
        never, late = date.max, dict(late_lots(self.schedule))
        for lot in sorted(lots, key=lambda lot: (lot != "", dues[lot] or never, lot)):
            due = dues[lot]
            name = plain(lot) or "whole batch"
            words = "" if due is None else f", due {self._due_words(lots[lot])}"
            words += f", LATE by {late[lot]} day{'s' if late[lot] > 1 else ''}" if lot in late else ""
            yield _Row(f"{name}{words}", is_group=True, due=due)
            kinds: dict[str, list[_Bar]] = {}
            for booking, activity in lots[lot]:
                is_late = activity.due is not None and booking.end > activity.due
                for person in booking.people or ("",):
                    bar = _Bar(booking.start, booking.end, person, activity.key in chain, is_late, not person)
                    kinds.setdefault(activity.kind, []).append(bar)
            for kind, bars in kinds.items():
                yield _Row(plain(self.kinds.get(kind, kind)), tuple(_merged(bars)), due=due)
        means = [each for each in self.schedule.project.resources if self._uses(each)]
        rows = [self._resource(each) for each in means if not self._is_always_full(each)]
        if rows:
            yield _Row("machines and tables", is_group=True)
        yield from rows

    def _due(self, own: Sequence[tuple[Booking, Activity]]) -> date | None:
        dues = [due_day(self.schedule.project, each) for _, each in own if each.due is not None]
        return min(dues, default=None)

    def _due_words(self, own: Sequence[tuple[Booking, Activity]]) -> str:
        first = min((each for _, each in own if each.due is not None), key=lambda each: each.due or 0)
        return due_text(self.schedule.project, first, weekday_in_short)

    def _uses(self, resource: Resource) -> list[tuple[Booking, int]]:
        return [
            (booking, use.amount)
            for booking, activity in booked(self.schedule)
            for use in activity.uses
            if use.resource == resource.key and booking.end > booking.start
        ]

    def _is_always_full(self, resource: Resource) -> bool:
        """Whether every day shows all of several, which tells nothing."""
        return resource.capacity > 1 and set(self._resource(resource).words.values()) == {str(resource.capacity)}

    def _resource(self, resource: Resource) -> _Row:
        uses = self._uses(resource)
        name = plain(resource.what or resource.key)
        if resource.capacity == 1:
            return _Row(name, tuple(_merged([_Bar(each.start, each.end) for each, _ in uses])))
        words: dict[date, str] = {}
        for day in self.schedule.project.days:
            now = [each for each in uses if each[0].start < day.window.end and day.window.start < each[0].end]
            starts = [max(each.start, day.window.start) for each, _ in now]
            most = max((sum(n for each, n in now if each.start <= at < each.end) for at in starts), default=0)
            if most and day.day in self.work:
                words[day.day] = str(most)
        return _Row(f"{name} (of {resource.capacity})", words=words)

    def whole(self) -> Sheet:
        """All rows and days as one picture."""
        return self._picture(self.days, self.rows, _ON_SCREEN)

    def pages(self) -> Iterator[Sheet]:
        """Pictures that each fit on a page: some of the days, with the rows that have something on them."""
        room = ROOM - _LABEL
        narrow = {day: self._wide(day, _WORKED) for day in self.days}
        total = sum(narrow.values())
        limit = min(room, total / ceil(total / room) + _WORKED) if total > room else room
        spans: list[list[date]] = [[]]
        used = 0.0
        for day, own in narrow.items():
            if used + own > limit:
                spans.append([])
                used = 0.0
            spans[-1].append(day)
            used += own
        free = [(room - sum(narrow[day] for day in days), sum(day in self.named for day in days)) for days in spans]
        wide = min([_MOST_WORKED, *(_WORKED + spare / work for spare, work in free if work)])
        for days in spans:
            for rows in _divided(self._within(days)):
                yield self._picture(days, rows, wide)

    def _within(self, days: Sequence[date]) -> list[_Row]:
        """The rows with something on these days, and each group that has such a row."""
        kept: list[_Row] = []
        for row in self.rows:
            shown = [bar for bar in row.bars if self._first(bar) <= days[-1] and days[0] <= self._last(bar)]
            if row.is_group or shown or any(day in row.words for day in days):
                if row.is_group and kept and self._is_empty(kept[-1], days):
                    kept.pop()
                kept.append(row)
        return kept[:-1] if kept and self._is_empty(kept[-1], days) else kept

    def _is_empty(self, row: _Row, days: Sequence[date]) -> bool:
        """Whether the row is a group without a due day among `days`."""
        return row.is_group and row.due not in days

    def _first(self, bar: _Bar) -> date:
        return day_of(self.schedule.project.days, bar.start).day

    def _last(self, bar: _Bar) -> date:
        return day_of(self.schedule.project.days, max(bar.start, bar.end - 1)).day

    def _picture(self, days: Sequence[date], rows: Sequence[_Row], wide: float) -> Sheet:
        """Some rows for some days, drawn from (0, 0) down."""
        edges = [_LABEL]
        for day in days:
            edges.append(edges[-1] + self._wide(day, wide))
        at = {day: (left, right) for day, (left, right) in zip(days, pairwise(edges), strict=True)}
        low = -_HEAD - sum(row.height for row in rows)
        marks: list[Mark] = list(self._heads(at, low))
        top = -_HEAD
        for row in rows:
            marks += self._row(row, top, at, edges[-1])
            top -= row.height
        marks.append(outlined(Box(0.0, low, edges[-1], -_HEAD), STYLE.outline))
        return Sheet(tuple(marks), Box(-0.7, low - 0.7, max(ROOM, edges[-1]) + 0.7, 0.0))

    def _heads(self, at: Mapping[date, tuple[float, float]], low: float) -> Iterator[Mark]:
        for day, (left, right) in at.items():
            if day not in self.work:
                yield outlined(Box(left, low, right, -_HEAD), 0.0, "light")
            if day not in self.named:
                continue
            for n, text in enumerate(weekday_in_short(day).split(", ")):
                word = Word(text, 0.0, 0.0, size=_SIZE, strong=True)
                yield word.moved((left + right - word.width) / 2, -10.0 - n * 11.0)
            yield Stroke(((left, low), (left, -_HEAD)), 0.3)
            yield Stroke(((right, low), (right, -_HEAD)), 0.3)

    def _row(self, row: _Row, top: float, at: Mapping[date, tuple[float, float]], right: float) -> Iterator[Mark]:
        low = top - row.height
        middle = (top + low) / 2
        if row.is_group:
            yield outlined(Box(0.0, low, right, top), STYLE.thin, "middle")
            name = Word(shortened(row.name, _SIZE, right - 8, strong=True), 4.0, middle - 3.0, size=_SIZE, strong=True)
            yield name
            if row.due is not None and row.due in at and at[row.due][1] - 6.0 > name.box.right:
                yield from _due_lines(at[row.due][1], low, top)
            return
        yield Word(shortened(row.name, _SIZE, _LABEL - 12), 8.0, middle - 3.0, size=_SIZE)
        yield Stroke(((0.0, low), (right, low)), 0.3)
        lanes = row.lanes
        for bar in sorted(row.bars, key=lambda bar: bar.is_deciding):
            tall = (row.height - 2.0) / len(lanes)
            above = top - 1.0 - lanes.index(bar.person) * tall
            box = self._box(bar, at, above - tall + 0.6, above - 0.6)
            if box is not None:
                yield from self._drawn(bar, box)
        for day, (left, right_edge) in at.items():
            if day in row.words:
                word = Word(row.words[day], 0.0, 0.0, size=_SIZE)
                yield word.moved((left + right_edge - word.width) / 2, middle - 3.0)
            if day == row.due:
                yield from _due_lines(right_edge, low, top)

    def _drawn(self, bar: _Bar, box: Box) -> Iterator[Mark]:
        if bar.person:
            yield from patterned(box, self.looks[bar.person])
        elif bar.is_wait:
            yield from _waiting(box)
        else:
            yield outlined(box, STYLE.thin, "dark")
        if bar.is_deciding or bar.is_late:
            yield outlined(box, _FRAME)
        if bar.is_late:
            yield _corner(box)

    def _box(self, bar: _Bar, at: Mapping[date, tuple[float, float]], low: float, high: float) -> Box | None:
        """The box of a bar on the days shown, or None if the bar is not on these days."""
        shown = [day for day in at if self._first(bar) <= day <= self._last(bar)]
        if not shown:
            return None
        left = self._x(bar.start, at[shown[0]]) if shown[0] == self._first(bar) else at[shown[0]][0]
        right = self._x(bar.end, at[shown[-1]]) if shown[-1] == self._last(bar) else at[shown[-1]][1]
        left = min(left, at[shown[-1]][1] - _LEAST)
        return Box(left, low, max(right, left + _LEAST), high)

    def _x(self, minute: int, edges: tuple[float, float]) -> float:
        clock = self._clock(minute)
        share = (min(max(clock, self.opens), self.closes) - self.opens) / (self.closes - self.opens)
        return edges[0] + 1.0 + share * (edges[1] - edges[0] - 2.0)


def _merged(bars: Sequence[_Bar]) -> Iterator[_Bar]:
    """The bars of each person in order. Bars that touch or overlap and look alike are joined."""
    last: _Bar | None = None
    for bar in sorted(bars, key=lambda bar: (bar.person, bar.is_deciding, bar.is_late, bar.start, bar.end)):
        if last is not None and _look(last) == _look(bar) and bar.start <= last.end:
            last = replace(last, end=max(last.end, bar.end))
            continue
        if last is not None:
            yield last
        last = bar
    if last is not None:
        yield last


def _look(bar: _Bar) -> tuple[str, bool, bool]:
    return bar.person, bar.is_deciding, bar.is_late


def _divided(rows: Sequence[_Row]) -> Iterator[list[_Row]]:
    """The rows in parts that fit on a page, each part below the name of its group."""
    part: list[_Row] = []
    group: _Row | None = None
    for row in rows:
        group = row if row.is_group else group
        if part and _HEAD + sum(each.height for each in part) + row.height > _MOST_HIGH:
            yield part
            part = [] if row.is_group or group is None else [group]
        part.append(row)
    if part:
        yield part
