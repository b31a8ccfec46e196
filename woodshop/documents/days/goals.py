"""How good a schedule is, in plain words: each goal with what is proved about it."""

from collections.abc import Callable, Iterator

from woodshop.documents.days.weeks import due_day
from woodshop.documents.lists import plain
from woodshop.schedule.calendar import clock_time, day_of
from woodshop.schedule.values import Goal, Schedule
from woodshop.units.wording import clock_text, minutes_text, weekday_text

_DAY = 24 * 60
_MOST_LATE = 10  # late orders named; more are counted


def goal_sentences(schedule: Schedule) -> tuple[str, ...]:
    """A sentence or two for each goal that the project has, in the order of the goals."""
    if not schedule.bookings:
        return ("Nothing is left to do.",)
    by_name = {goal.name: goal for goal in schedule.goals}
    found: list[str] = []
    for name, words in (
        ("tardiness", _tardiness), ("spare days", _spare_days), ("saw days", _saw_days), ("set-ups", _set_ups),
        ("span", _span),
    ):  # fmt: skip
        if name in by_name:
            found += words(schedule, by_name[name])
    return tuple(found)


def late_lots(schedule: Schedule) -> tuple[tuple[str, int], ...]:
    """The lots or activities that are late and by how many days, rounded up, the latest first."""
    ends = {each.activity: each.end for each in schedule.bookings}
    late: dict[str, int] = {}
    for each in schedule.project.activities:
        if each.due is not None and ends[each.key] > each.due:
            name = each.lot or each.what
            late[name] = max(late.get(name, 0), -((each.due - ends[each.key]) // _DAY))
    return tuple(sorted(late.items(), key=lambda each: (-each[1], each[0])))


def _tardiness(schedule: Schedule, goal: Goal) -> Iterator[str]:
    if all(each.due is None for each in schedule.project.activities):
        return
    if not goal.value:
        yield "Nobody is late."
        return
    late = late_lots(schedule)
    for name, days in late[:_MOST_LATE]:
        due = min(
            each.due for each in schedule.project.activities if (each.lot or each.what) == name and each.due is not None
        )
        by = f"{days} day{'s' if days > 1 else ''}"
        yield f"{plain(name)} is late by {by}: due {weekday_text(due_day(schedule.project, due))}."
    if len(late) > _MOST_LATE:
        yield f"{len(late) - _MOST_LATE} more orders are late."
    if goal.is_proved:
        yield "With this crew no schedule is less late, each late day counted by its order's priority."
    else:
        counted = "each late day counted by its order's priority"
        known = f"Fewer than {goal.bound} are impossible." if goal.bound else "Fewer may be possible."
        yield f"Late days in all: {goal.value}, {counted}. {known}"


def _spare_days(schedule: Schedule, goal: Goal) -> Iterator[str]:
    lags = [each for each in schedule.project.precedences if each.wanted > each.least]
    if not lags:
        return
    if not goal.value:
        yield "Everything that dries has the spare days that you want before it is loaded."
        return
    booked = {each.activity: each for each in schedule.bookings}
    short = sum(booked[each.after].start - booked[each.before].end < each.wanted for each in lags)
    words = f"{short} of {len(lags)} lots that dry are loaded with fewer spare days than you want"
    yield f"{words}: {_time(goal.value)} fewer in all. {_less(goal, _time)}"


def _time(minutes: int) -> str:
    days, rest = divmod(minutes, _DAY)
    return minutes_text(minutes) if rest or not days else f"{days} day{'s' if days > 1 else ''}"


def _saw_days(schedule: Schedule, goal: Goal) -> Iterator[str]:
    if goal.value:
        yield f"Saw on {goal.value} day{'s' if goal.value > 1 else ''}. {_less(goal, str)}"


def _set_ups(schedule: Schedule, goal: Goal) -> Iterator[str]:
    settings = {each.setting for each in schedule.project.activities if each.setting}
    if not settings:
        return
    if not goal.value:
        yield "Each saw setting is set up once."
    else:
        times = f"{goal.value} time{'s' if goal.value > 1 else ''}"
        yield f"A saw setting that was used before is set up again {times}. {_less(goal, str)}"


def _less(goal: Goal, words: Callable[[int], str]) -> str:
    if goal.is_proved:
        return "Fewer is impossible."
    return f"Fewer than {words(goal.bound)} is impossible." if goal.bound else "Fewer may be possible."


def _span(schedule: Schedule, goal: Goal) -> Iterator[str]:
    days, zone = schedule.project.days, schedule.project.zone
    horizon = days[-1].window.end

    def at(minute: int) -> str:
        day = day_of(days, minute).day
        return f"{weekday_text(day)}, at {clock_text(clock_time(days, zone, minute))}"

    if schedule.project.is_backward:
        bound = at(horizon - goal.bound)
        yield f"Begin by {at(horizon - goal.value)}. " + (
            "Later is impossible." if goal.is_proved else f"Later than {bound} is impossible."
        )
    else:
        yield f"All work ends on {at(goal.value)}. " + (
            "Earlier is impossible." if goal.is_proved else f"Earlier than {at(goal.bound)} is impossible."
        )
