"""Schedules a planned batch: the one entry from plan to days."""

from collections.abc import Sequence
from datetime import date, timedelta
from fractions import Fraction

from woodshop.errors import InputError
from woodshop.plan.values import PlannedBatch
from woodshop.schedule.calendar import calendar_days
from woodshop.schedule.horizon import serial_ends
from woodshop.schedule.operations import Builder, people_of, too_short
from woodshop.schedule.stages import Stage, minutes_of, stages_of
from woodshop.schedule.values import Project

MOST_ACTIVITIES = 1500  # more take too long to solve
_SPANS = (14, 28, 42, 56, 84, 112, 168, 252, 366)
_TOO_MUCH = "It is more work than the crew can do in a year."


def project_of(
    planned: PlannedBatch, *, today: date | None = None, done: None = None
) -> tuple[Project | None, str, Builder]:
    """The project of a batch, or None with the reason in one sentence."""
    stages, lots = stages_of(planned)
    builder = Builder(planned, stages, lots)
    crew = planned.batch.crew
    starts = [each for each in (today, crew.start) if each is not None]
    dues = [lot.due for lot in lots if lot.due is not None]
    if not starts and not dues:
        return None, "There is no date: give on_by, a due day, or start under [crew].", builder
    first = max(starts) if starts else min(dues) - timedelta(days=366)
    if builder.count() > MOST_ACTIVITIES or _attended(stages, builder) > _available(builder, first):
        return None, _TOO_MUCH, builder
    for span in _SPANS:
        if starts:
            days = calendar_days(max(starts), max(starts) + timedelta(days=span - 1), crew.zone)
        else:
            days = calendar_days(min(dues) - timedelta(days=span - 1), max(dues), crew.zone)
        project = builder.project(days, is_backward=not starts)
        short = too_short(planned.batch, project.activities, builder.longest)
        if short:
            raise InputError(*short)
        ends = serial_ends(project)
        if ends is None:
            continue
        if not starts and any(each.due is not None and ends[each.key] > each.due for each in project.activities):
            continue
        return project, "", builder
    return None, _TOO_MUCH, builder


def _attended(stages: Sequence[Stage], builder: Builder) -> Fraction:
    ops = [op for stage in stages for block in stage.blocks for op in block.ops]
    return minutes_of(ops, builder.batch)


def _available(builder: Builder, first: date) -> int:
    """The minutes that all people work in a year."""
    days = calendar_days(first, first + timedelta(days=365))
    return sum(window.end - window.start for each in people_of(builder.batch.crew, days) for window in each.windows)
