"""The frozen values of scheduling: a project with its activities and resources, and the schedule found for it.

All times are whole elapsed minutes. Minute 0 is midnight at the start of the first day, where the crew is. A day on
which the clocks change has 1,380 or 1,500 minutes, so that glue and sugar get their full time. `project.days` gives the
minutes of each calendar day. An activity cannot be interrupted. `operations` divides longer work into activities short
enough for one shift.

The terms are those of the resource-constrained project scheduling problem: activity, precedence with minimum and
maximum time lags, renewable resource, calendar, due date, weighted tardiness.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date


@dataclass(frozen=True, slots=True, order=True)
class Window:
    """The minutes from `start` up to, but not including, `end`."""

    start: int
    end: int


@dataclass(frozen=True, slots=True)
class CalendarDay:
    """A calendar day and its minutes."""

    day: date
    window: Window


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """A member of the crew: their skills, and the windows in which they work, in order and disjoint.

    Each activity that a person does is within one window.
    """

    name: str
    skills: frozenset[str]
    windows: tuple[Window, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Resource:
    """A renewable resource: a machine, clamps, places on the tables, the car. `what` is its printed name.

    `windows` is None if it is always available; otherwise each activity that uses it is within one window. If `is_saw`
    is true, the goals count the days on which it is used and the settings that are set up again on it.
    """

    key: str
    what: str
    capacity: int
    windows: tuple[Window, ...] | None = None
    is_saw: bool = False


@dataclass(frozen=True, slots=True)
class ResourceUse:
    """How much of a resource an activity needs from its start to its end."""

    resource: str
    amount: int


@dataclass(frozen=True, slots=True)
class Step:
    """A step of an activity as text, with its minutes, and its place in the packet ("" if it has none)."""

    what: str
    minutes: int
    page: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Activity:
    """A piece of work of a minute or more, without interruption.

    `key` is unique, and stays the same when the batch is scheduled again. `kind` is the operation, such as "rip" or
    "pack". `people` is the number of people who do it together, 0 for drying, for example. Each of them needs `skill`,
    if it is not "". Activities with the same `setting` use the same saw setting; "" if they need none.
    `lot` is the order or apiary that it is for, or "" for the whole batch. `due` is the minute by which it should end,
    and `weight` is the cost of each day that it is late. It must not start before `earliest`.
    """

    key: str
    what: str
    kind: str
    minutes: int
    people: int = 1
    skill: str = ""
    uses: tuple[ResourceUse, ...] = ()
    setting: str = ""
    lot: str = ""
    earliest: int = 0
    due: int | None = None
    weight: int = 1
    steps: tuple[Step, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Precedence:
    """`after` starts at least `least` and, unless None, at most `most` minutes after the end of `before`.

    If `wanted` is greater than `least`, a shorter lag than `wanted` is allowed, but the shortfall is counted.
    """

    before: str
    after: str
    least: int = 0
    most: int | None = None
    wanted: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Project:
    """The work to be done, and the people and resources for it. `days` are the consecutive days in which it must fit.

    `zone` is the name of the time zone, or "" if none was given. If `is_backward` is true, work starts as late as the
    goals allow; otherwise it ends as early as they allow. `outside_dues` has the lots that are due before the first day
    or after the last one, with their due day; their activities are due at minute 0 or at the end of the last day.
    """

    name: str
    zone: str
    days: tuple[CalendarDay, ...]
    people: tuple[Person, ...]
    resources: tuple[Resource, ...]
    activities: tuple[Activity, ...]
    precedences: tuple[Precedence, ...]
    is_backward: bool = False
    outside_dues: tuple[tuple[str, date], ...] = ()


@dataclass(frozen=True, slots=True)
class Booking:
    """When an activity is done, and by which people (in order of name)."""

    activity: str
    start: int
    end: int
    people: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Goal:
    """A goal: its value in this schedule, and its lower bound given the more important goals before it.

    `name` is one of the following. The verifier calculates all of their values again from the bookings.
    "tardiness": for each activity with a due minute, its weight times the days by which it is late. A day is 1,440
    minutes, and part of a day counts as a whole one.
    "spare days": the minutes by which lags are shorter than `wanted`.
    "saw days": the days on which an activity starts that uses a resource with `is_saw`.
    "set-ups": how often a setting is set up again. Of the activities with a setting on one such resource, in order of
    start and key, an activity counts if its setting was used earlier, but not by the activity just before it.
    "span": minutes from the start of the first work of a person to the end of the last day if the project is backward;
    from minute 0 to the end of the last activity if it is not.
    """

    name: str
    value: int
    bound: int

    @property
    def is_proved(self) -> bool:
        """Whether no schedule has a smaller value."""
        return self.value == self.bound


GOALS = ("tardiness", "spare days", "saw days", "set-ups", "span")


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """A booking for each activity, in order of start and key, and the goals. `made_with` has the solver's versions."""

    project: Project
    bookings: tuple[Booking, ...]
    goals: tuple[Goal, ...]
    made_with: Mapping[str, str] = field(default_factory=dict)
