"""Invented schedules as answers to the scheduling of a batch, to be printed."""

from dataclasses import replace
from datetime import date
from functools import cache

from tests.once import DESIGNS, uncut
from tests.schedule.small_projects import DAY, goals_of, large, small
from woodshop.design.schema import Default
from woodshop.schedule.scheduled import Duration, ScheduledBatch
from woodshop.schedule.values import Schedule

KINDS = {
    "buy": "Buy", "crosscut": "Crosscut boards", "rip": "Rip boards", "drill": "Drill", "metal": "Cut mesh",
    "assemble": "Assemble", "pack": "Pack sugar", "load": "Load the car", "fit": "Put on hives", "cure": "Glue cures",
    "dry": "Boards dry",
}  # fmt: skip
TOPICS = {
    "crosscut": ("table saw", "crosscut"), "rip": ("table saw", "narrow rip"), "drill": ("drilling",),
    "metal": ("mesh",), "pack": ("food",), "load": ("lifting",), "fit": ("lifting",),
}  # fmt: skip


@cache
def answer(name: str, paper: str = "letter") -> ScheduledBatch:
    """The answer with the small, the large or the late schedule."""
    planned = uncut(DESIGNS / "hobby-batch.toml")
    pages = replace(planned.batch.pages, paper=paper)
    schedule = {"small": small, "large": large, "late": late}[name]()
    return ScheduledBatch(
        planned=replace(planned, batch=replace(planned.batch, pages=pages)),
        schedule=schedule,
        durations=(
            Duration(what="Rip boards", skill="saw", minutes=150),
            Duration(what="Drill", skill="drill", minutes=60),
        ),
        defaults=(Default("crew", "drying_days", "7 days", "common practice, no source"),),
        warnings=("Ask a helper on October 24: a loaded crate takes two people.",),
        remedies=("One helper more on Saturday, October 24: nobody is late.",) if name == "late" else (),
        made_on=date(2026, 9, 1),
        kinds=KINDS,
        topics=TOPICS,
    )


@cache
def late() -> Schedule:
    """The small schedule with its due dates three weeks earlier."""
    found = small()
    activities = tuple(
        each if each.due is None else replace(each, due=each.due - 21 * DAY, weight=2)
        for each in found.project.activities
    )
    project = replace(found.project, activities=activities)
    return replace(found, project=project, goals=goals_of(project, found.bookings))
