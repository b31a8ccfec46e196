"""The values of a schedule: a project with its activities and resources, and the schedule found for it. All are frozen.

All times are whole minutes on one axis. Minute 0 is midnight at the start of the first day, where the crew is. They are
elapsed minutes: a day on which the clocks change has 1,380 or 1,500 of them, so glue and sugar get their full time.
`project.days` gives the minutes of each calendar day. An activity cannot be interrupted. `operations` divides longer
work into activities short enough for one shift.

The terms are those of the resource-constrained project scheduling problem: activity, precedence with least and most
time lag, renewable resource, calendar, due date, weighted tardiness.
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
    is true, the days on which it is used are counted, and the settings that are set up on it more than once.
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
    """A step of an activity, in words, with its minutes, and where the packet describes it ("" if nowhere)."""

    what: str
    minutes: int
    page: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Activity:
    """A piece of work of a minute or more, without interruption.

    `key` is unique, and stays the same when the batch is scheduled again. `kind` is the operation, such as "rip" or
    "pack". `people` is how many do it at once: 0 if it needs nobody, as drying does. Each of them needs `skill`,
    unless it is "". Activities with the same `setting` use the saw set up in the same way; "" if that does not matter.
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
    """The work to be done, and the people and resources for it. `days` are consecutive; they are the horizon.

    `zone` is the name of the time zone, "" if none was given. If `is_backward` is true, work starts as late as the
    goals allow; otherwise it ends as early as they allow.
    """

    name: str
    zone: str
    days: tuple[CalendarDay, ...]
    people: tuple[Person, ...]
    resources: tuple[Resource, ...]
    activities: tuple[Activity, ...]
    precedences: tuple[Precedence, ...]
    is_backward: bool = False


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

    `name` is one of these. The verifier calculates all of them again from the bookings.
    "tardiness": for each activity with a due minute, its weight times the days by which it is late. A day is 1,440
    minutes, and part of a day counts as a whole one.
    "spare days": the minutes by which lags are shorter than `wanted`.
    "saw days": the days on which an activity starts that uses a resource with `is_saw`.
    "set-ups": how often a setting is set up again. The activities with a setting on one such resource are taken in
    order of start and key; an activity counts if its setting differs from the one before it but was used earlier.
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
