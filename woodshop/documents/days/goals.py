"""How good a schedule is, in plain words: each goal with what is proved about it, and the dates of each order."""

from collections.abc import Iterator, Mapping
from datetime import date

from woodshop.documents.days.weeks import booked, due_day, due_text, is_drying, moment_text
from woodshop.documents.lists import plain
from woodshop.drawing.values.model import Align, Column, Table
from woodshop.schedule.calendar import clock_time, day_of
from woodshop.schedule.values import Activity, Booking, Goal, Schedule
from woodshop.units.wording import clock_text, minutes_text, weekday_in_short, weekday_text

_DAY = 24 * 60
_MOST_SAID = 3  # late orders named in one line
_MOST_LATE = 10  # late orders named; more are counted
_MOST_NAMED = 4  # orders or settings named in a sentence; more are counted


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
    return (*found, *_buy_by(schedule))


def late_lots(schedule: Schedule) -> tuple[tuple[str, int], ...]:
    """The lots or activities that are late and by how many days, rounded up, the latest first."""
    ends = {each.activity: each.end for each in schedule.bookings}
    overdue = dict(schedule.project.outside_dues)
    late: dict[str, int] = {}
    for each in schedule.project.activities:
        if each.due is not None and ends[each.key] > each.due:
            name = each.lot or each.what
            since = overdue.get(each.lot)
            days = -((each.due - ends[each.key]) // _DAY)
            if since is not None:
                days = (day_of(schedule.project.days, ends[each.key] - 1).day - since).days
            late[name] = max(late.get(name, 0), days)
    return tuple(sorted(late.items(), key=lambda each: (-each[1], each[0])))


def late_words(schedule: Schedule) -> str:
    """One line that says who is late and by how many days, the latest first, or "" if nobody is."""
    late = late_lots(schedule)
    if not late:
        return ""
    said = [f"{plain(name)} by {days} day{'' if days == 1 else 's'}" for name, days in late[:_MOST_SAID]]
    more = [f"{len(late) - _MOST_SAID} more"] if len(late) > _MOST_SAID else []
    return f"Late: {'; '.join(said + more)}."


def _tardiness(schedule: Schedule, goal: Goal) -> Iterator[str]:
    if all(each.due is None for each in schedule.project.activities):
        return
    if not goal.value:
        yield "Nobody is late."
        return
    late = late_lots(schedule)
    for name, days in late[:_MOST_LATE]:
        project = schedule.project
        own = (each for each in project.activities if (each.lot or each.what) == name and each.due is not None)
        first = min(own, key=lambda each: each.due or 0)
        due = due_text(project, first, weekday_text)
        more = " or more" if due.startswith("before") else ""
        are = "are" if name.endswith("hives") else "is"
        yield f"{plain(name)} {are} late by {days} day{'s' if days > 1 else ''}{more}: due {due}."
    if len(late) > _MOST_LATE:
        yield f"{len(late) - _MOST_LATE} more orders are late."
    if goal.is_proved:
        yield "With this crew no schedule is less late, each late day counted by its order's priority."
    else:
        counted = "each late day counted by its order's priority"
        yield f"Late days in all: {goal.value}, {counted}. {_fewer(goal)}"


def _spare_days(schedule: Schedule, goal: Goal) -> Iterator[str]:
    lags = [each for each in schedule.project.precedences if each.wanted > each.least]
    if not lags:
        return
    if not goal.value:
        yield "Everything that dries has the spare days that you want before it is loaded."
        return
    booked_at = {each.activity: each for each in schedule.bookings}
    lots = {each.key: each.lot or each.what for each in schedule.project.activities}
    short: dict[str, int] = {}
    for each in lags:
        missing = each.wanted - (booked_at[each.after].start - booked_at[each.before].end)
        if missing > 0:
            short[lots[each.before]] = max(short.get(lots[each.before], 0), missing)
    wanted = _time(max(each.wanted for each in lags))
    named = [f"{plain(lot)} ({_time(missing)} less)" for lot, missing in short.items()]
    more = "More is impossible." if goal.is_proved else "Whether they could have more is not known."
    yield f"Loaded with less than the {wanted} that you want after drying: {_named(named)}. {more}"


def _named(words: list[str]) -> str:
    more = [f"{len(words) - _MOST_NAMED} more"] * (len(words) > _MOST_NAMED)
    return "; ".join((*words[:_MOST_NAMED], *more))


def _time(minutes: int) -> str:
    days, rest = divmod(minutes, _DAY)
    return minutes_text(minutes) if rest or not days else f"{days} day{'s' if days > 1 else ''}"


def _saw_days(schedule: Schedule, goal: Goal) -> Iterator[str]:
    if goal.value:
        yield f"The saw is used on {goal.value} day{'s' if goal.value > 1 else ''}. {_fewer(goal)}"


def _set_ups(schedule: Schedule, goal: Goal) -> Iterator[str]:
    again = _again(schedule)
    if not goal.value:
        if any(each.setting for each in schedule.project.activities):
            yield "Each saw setting is set up once."
    else:
        times = f"{goal.value} time{'s' if goal.value > 1 else ''}"
        which = f" ({_named(again)})" if again else ""
        yield f"A saw setting that was used before is set up again {times}{which}. {_fewer(goal)}"


def _again(schedule: Schedule) -> list[str]:
    """The settings of a saw that come back after another one, each with the day."""
    found: list[str] = []
    for saw in (each.key for each in schedule.project.resources if each.is_saw):
        last, seen = "", set[str]()
        for booking, activity in booked(schedule):
            if activity.setting and any(use.resource == saw for use in activity.uses):
                if activity.setting != last and activity.setting in seen:
                    day = weekday_in_short(day_of(schedule.project.days, booking.start).day)
                    found.append(f"{plain(activity.setting.removeprefix(f'{activity.kind}/'))}, on {day}")
                last = activity.setting
                seen.add(last)
    return found


def _fewer(goal: Goal) -> str:
    """What is proved about the goal, whose value is said in the sentence before."""
    if goal.is_proved:
        return "Fewer would not do."
    if goal.value == 1:
        return "Whether this can be avoided is not known."
    are = "is" if goal.bound == 1 else "are"
    least = f"At least {goal.bound} {are} needed; whether" if goal.bound else "Whether"
    return f"{least} fewer than {goal.value} would do is not known."


def _span(schedule: Schedule, goal: Goal) -> Iterator[str]:
    days = schedule.project.days
    horizon = days[-1].window.end

    def at(minute: int) -> str:
        return (
            f"{weekday_text(day_of(days, minute).day)}, {clock_text(clock_time(days, schedule.project.zone, minute))}"
        )

    back = schedule.project.is_backward
    value, bound = (horizon - goal.value, horizon - goal.bound) if back else (goal.value, goal.bound)
    first, limit = ("Begin by", "A start after") if back else ("All work ends on", "An end before")
    if goal.is_proved:
        known = "A later start is impossible." if back else "An earlier end is impossible."
        yield f"{first} {at(value)}. {known}"
    else:
        yield f"{first} {at(value)}. ({limit} {at(bound)}, is impossible; whether one between would do is not known.)"


def _buy_by(schedule: Schedule) -> Iterator[str]:
    """The time at which wood is first sawn, if wood is bought and the schedule does not say when to begin."""
    saws = {each.key for each in schedule.project.resources if each.is_saw}
    starts = [
        booking.start
        for booking, activity in booked(schedule)
        if activity.kind == "resaw" or any(use.resource in saws for use in activity.uses)
    ]
    has_trip = any(each.kind == "buy" for each in schedule.project.activities)
    if starts and has_trip and not schedule.project.is_backward:
        days = schedule.project.days
        clock = clock_text(clock_time(days, schedule.project.zone, min(starts)))
        yield f"Buy the wood before {weekday_text(day_of(days, min(starts)).day)}, {clock}: then it is first sawn."


def lots_table(schedule: Schedule, kinds: Mapping[str, str]) -> Table | None:
    """The dates of each order or apiary, first due first, or None without any. `kinds` has words for operations."""
    lots: dict[str, list[tuple[Booking, Activity]]] = {}
    for booking, activity in booked(schedule):
        if activity.lot:
            lots.setdefault(activity.lot, []).append((booking, activity))
    rows = []
    for lot, own in lots.items():
        dues = [each for _, each in own if each.due is not None]
        rows.append((min(dues, key=lambda each: each.due or 0, default=None), lot, own))
    never = date.max
    rows.sort(key=lambda row: (never if row[0] is None else due_day(schedule.project, row[0]), row[1]))
    if not rows:
        return None
    columns = (
        Column("order or apiary", weight=8), Column("boards", Align.RIGHT, weight=3), Column("packed", weight=7),
        Column("dry by", weight=8), Column("last step", weight=11), Column("due", weight=6),
        Column("days to spare", Align.RIGHT, weight=7),
    )  # fmt: skip
    return Table(columns, tuple(_lot_row(schedule, due, lot, own, kinds) for due, lot, own in rows))


def _lot_row(
    schedule: Schedule, due: Activity | None, lot: str, own: list[tuple[Booking, Activity]], kinds: Mapping[str, str]
) -> tuple[str, ...]:
    days = schedule.project.days
    drying = [each for each in own if is_drying(each[1])]
    boards = sum(max((use.amount for use in activity.uses), default=0) for _, activity in drying)
    dry = max((booking.end for booking, _ in drying), default=None)
    last = own[-1][1].kind
    ends = [booking for booking, activity in own if activity.kind == last]
    spare = ""
    if due is not None:
        end = max(booking.end for booking, activity in own if activity.due is not None)
        left = (due_day(schedule.project, due) - day_of(days, end - 1).day).days
        spare = str(left) if end <= (due.due or 0) else "LATE"
    return (
        plain(lot).removeprefix("order "),
        str(boards) if boards else "",
        _from_to(schedule, [booking for booking, activity in own if activity.kind == "pack"]),
        "" if dry is None else moment_text(schedule, dry),
        f"{plain(kinds.get(last, last))}: {_from_to(schedule, ends)}",
        "" if due is None else due_text(schedule.project, due, weekday_in_short),
        spare,
    )


def _from_to(schedule: Schedule, own: list[Booking]) -> str:
    if not own:
        return ""
    first = day_of(schedule.project.days, min(each.start for each in own)).day
    last = day_of(schedule.project.days, max(each.end for each in own) - 1).day
    return " to ".join(weekday_in_short(day).partition(", ")[2] for day in dict.fromkeys((first, last)))
