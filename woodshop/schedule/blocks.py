"""Groups bookings for people to read: blocks of consecutive activities of one kind, and a calendar event per block."""

import json
from collections.abc import Iterable
from dataclasses import KW_ONLY, dataclass
from datetime import date, datetime
from uuid import UUID, uuid5

from woodshop.schedule.calendar import clock_time, day_of
from woodshop.schedule.schedule_json import CancelledEvent, WrittenSchedule
from woodshop.schedule.values import Activity, Booking, CalendarDay, Schedule, Step

_EVENTS = UUID("5ad0a9f3-7a52-5c3e-9d0c-6b4f0f7c2c11")
"""The namespace of the ids of events."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkBlock:
    """Activities of one kind and lot that the same people do one directly after the other, in order.

    `person` is the person whose block it is; `people` are all who do the work.
    """

    person: str
    people: tuple[str, ...]
    start: int
    end: int
    activities: tuple[Activity, ...]

    @property
    def kind(self) -> str:
        """The operation."""
        return self.activities[0].kind

    @property
    def lot(self) -> str:
        """The order or apiary that the work is for, or "" if it is for the whole batch."""
        return self.activities[0].lot

    @property
    def others(self) -> tuple[str, ...]:
        """The other people who do the work."""
        return tuple(name for name in self.people if name != self.person)

    @property
    def what(self) -> str:
        """A description of the work: each activity once, or the number of activities if there are many."""
        words = tuple(dict.fromkeys(each.what for each in self.activities))
        return "; ".join(words) if len(words) <= 2 else f"{words[0]} and {len(words) - 1} more"

    @property
    def steps(self) -> tuple[Step, ...]:
        """The steps of all activities. An activity without steps counts as one step."""
        return tuple(step for each in self.activities for step in each.steps or (Step(each.what, each.minutes),))


def blocks_of(schedule: Schedule) -> tuple[WorkBlock, ...]:
    """The blocks of each person's work, sorted by person, then by time. A block never continues after midnight."""
    activities = {each.key: each for each in schedule.project.activities}
    found: list[WorkBlock] = []
    for person in schedule.project.people:
        own: list[WorkBlock] = []
        for booking in schedule.bookings:
            if person.name not in booking.people:
                continue
            block = _block(person.name, booking, activities[booking.activity])
            if own and _goes_on(own[-1], block, schedule.project.days):
                before = own.pop()
                block = WorkBlock(
                    person=block.person,
                    people=block.people,
                    start=before.start,
                    end=block.end,
                    activities=(*before.activities, *block.activities),
                )
            own.append(block)
        found += own
    return tuple(found)


def _block(person: str, booking: Booking, activity: Activity) -> WorkBlock:
    return WorkBlock(person=person, people=booking.people, start=booking.start, end=booking.end, activities=(activity,))


def _goes_on(block: WorkBlock, after: WorkBlock, days: tuple[CalendarDay, ...]) -> bool:
    one, other = ((each.kind, each.lot, each.people) for each in (block, after))
    return one == other and block.end == after.start and day_of(days, block.start) == day_of(days, after.start)


@dataclass(frozen=True, slots=True)
class CalendarEvent:
    """A block as an event in a calendar file. `uid` depends only on the batch, the first activity and the person."""

    uid: str
    block: WorkBlock
    _: KW_ONLY
    what: str
    start: datetime
    end: datetime


def events_of(schedule: Schedule) -> tuple[CalendarEvent, ...]:
    """An event for each block, in the order of the blocks. Raises ValueError if the project has no time zone."""
    project = schedule.project
    if not project.zone:
        raise ValueError("events need a time zone")
    return tuple(
        CalendarEvent(
            str(uuid5(_EVENTS, json.dumps([project.name, block.activities[0].key, block.person]))),
            block,
            what=f"{block.person}: {block.what}",
            start=clock_time(project.days, project.zone, block.start),
            end=clock_time(project.days, project.zone, block.end),
        )
        for block in blocks_of(schedule)
    )


def replacing(
    schedule: Schedule, earlier: WrittenSchedule | None, *, plan: str = "", made_on: date | None = None
) -> WrittenSchedule:
    """The schedule to write, with the digest of its `plan` file. It replaces `earlier`, if given, of the same batch.

    Events of `earlier` on or after the first day of the new schedule are canceled if the new schedule lacks them.
    Events that were canceled before stay canceled until a schedule has them again. If nothing has changed, `earlier` is
    returned.
    """
    if earlier is not None and (schedule, plan, made_on) == (earlier.schedule, earlier.plan, earlier.made_on):
        return earlier
    number = 0 if earlier is None else earlier.number + 1
    gone: Iterable[CancelledEvent] = ()
    if earlier is not None and schedule.project.zone:
        now = {event.uid for event in events_of(schedule)}
        first = clock_time(schedule.project.days, schedule.project.zone, 0)
        before = {each.uid: each for each in earlier.cancelled}
        if earlier.schedule.project.zone:
            before |= {
                each.uid: CancelledEvent(each.uid, each.what, each.start, each.end)
                for each in events_of(earlier.schedule)
                if each.end > first
            }
        gone = (each for uid, each in before.items() if uid not in now)
    return WrittenSchedule(
        schedule,
        number=number,
        cancelled=tuple(sorted(gone, key=lambda each: (each.start, each.uid))),
        plan=plan,
        made_on=made_on,
    )
