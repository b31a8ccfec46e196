"""The result of scheduling a batch: its schedule or, without dates, how long the work takes."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from woodshop.design.schema import Default
from woodshop.plan.values import PlannedBatch
from woodshop.schedule.values import Schedule


@dataclass(frozen=True, slots=True, kw_only=True)
class Duration:
    """The minutes of work of one operation, for all people who do it, and the skill that it needs."""

    what: str
    skill: str
    minutes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ScheduledBatch:
    """A batch with its schedule. `schedule` is None if there is no date or far more work than the crew can do.

    `why_none` says in one sentence why there is no schedule. `made_on` is the date from the design or from --today; the
    calendar file gives it. `warnings` are sentences to print. `remedies` are sentences, each about one change that
    would put every order on time. `kinds` gives the words for each kind of activity, such as "Rip boards" for "rip".
    `topics` gives the topics of the cautions for each kind.
    """

    planned: PlannedBatch
    schedule: Schedule | None
    durations: tuple[Duration, ...]
    defaults: tuple[Default, ...] = ()
    warnings: tuple[str, ...] = ()
    remedies: tuple[str, ...] = ()
    made_on: date | None = None
    why_none: str = ""
    kinds: Mapping[str, str]
    topics: Mapping[str, tuple[str, ...]]
