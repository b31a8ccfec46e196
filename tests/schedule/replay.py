"""Projects at random, and what is wrong with a schedule, counted minute by minute."""

from datetime import date, timedelta
from random import Random

from woodshop.schedule.values import (
    Activity,
    CalendarDay,
    Person,
    Precedence,
    Project,
    Resource,
    ResourceUse,
    Schedule,
    Window,
)

DAY = 1440


def days(count: int, minutes: int = DAY) -> tuple[CalendarDay, ...]:
    """A number of days, each of the given minutes."""
    first = date(2026, 9, 7)
    return tuple(CalendarDay(first + timedelta(n), Window(n * minutes, (n + 1) * minutes)) for n in range(count))


def faults(schedule: Schedule) -> list[str]:
    """What is wrong with the times, people and means of a schedule, and with the values of its goals."""
    project, found = schedule.project, []
    at = {each.activity: each for each in schedule.bookings}
    if sorted(at) != sorted(each.key for each in project.activities) or len(at) != len(schedule.bookings):
        return ["other activities"]
    if [(b.start, b.activity) for b in schedule.bookings] != sorted((b.start, b.activity) for b in schedule.bookings):
        found.append("order of bookings")
    people = {each.name: each for each in project.people}
    taken: dict[tuple[str, int], int] = {}
    for activity in project.activities:
        b = at[activity.key]
        if b.end - b.start != activity.minutes or b.start < activity.earliest:
            found.append(f"{activity.key}: length or earliest start")
        if b.end > project.days[-1].window.end:
            found.append(f"{activity.key}: after the last day")
        if len(set(b.people)) != activity.people or list(b.people) != sorted(b.people):
            found.append(f"{activity.key}: people")
        rows = [(f"person {name}", 1, people[name].windows) for name in b.people]
        resources = {each.key: each for each in project.resources}
        rows += [(use.resource, use.amount, resources[use.resource].windows) for use in activity.uses if use.amount]
        for name in b.people:
            if activity.skill and activity.skill not in people[name].skills:
                found.append(f"{activity.key}: skill of {name}")
        for name, amount, windows in rows:
            if windows is not None and not any(w.start <= b.start and b.end <= w.end for w in windows):
                found.append(f"{activity.key}: outside the windows of {name}")
            for minute in range(b.start, b.end):
                taken[name, minute] = taken.get((name, minute), 0) + amount
    capacity = {each.key: each.capacity for each in project.resources}
    found += sorted({f"{name}: too much" for (name, _), used in taken.items() if used > capacity.get(name, 1)})
    for lag in project.precedences:
        between = at[lag.after].start - at[lag.before].end
        if between < lag.least or (lag.most is not None and between > lag.most):
            found.append(f"{lag.before} to {lag.after}: lag")
    counted = values(project, {key: b.start for key, b in at.items()})
    if tuple(goal.value for goal in schedule.goals) != counted:
        found.append(f"values: {counted}")
    found += [f"{goal.name}: bound" for goal in schedule.goals if not 0 <= goal.bound <= goal.value]
    return found


def values(project: Project, start: dict[str, int]) -> tuple[int, ...]:
    """The goals as their docstring says, counted anew."""
    end = {each.key: start[each.key] + each.minutes for each in project.activities}
    tardy = saw = again = 0
    for each in project.activities:
        minute = each.due
        while minute is not None and minute < end[each.key]:
            tardy, minute = tardy + each.weight, minute + DAY
    short = sum(max(0, p.wanted - start[p.after] + end[p.before]) for p in project.precedences if p.wanted > p.least)
    saws = {each.key for each in project.resources if each.is_saw}
    for day in project.days:
        saw += any(
            day.window.start <= start[each.key] < day.window.end and saws & {use.resource for use in each.uses}
            for each in project.activities
        )
    for key in saws:
        row = [each for each in project.activities if each.setting and key in {use.resource for use in each.uses}]
        row.sort(key=lambda each: (start[each.key], each.key))
        seen: list[str] = []
        for each in row:
            again += each.setting in seen[:-1] and each.setting != seen[-1]
            seen.append(each.setting)
    if project.is_backward:
        first = [start[each.key] for each in project.activities if each.people]
        return tardy, short, saw, again, project.days[-1].window.end - min(first) if first else 0
    return tardy, short, saw, again, max(end.values(), default=0)


def random_project(seed: int, *, most: int = 4, settings: str = "xy", long: int = 2) -> Project:
    """A tiny project of some days, in which people work a few hours, and all times are whole hours."""
    draw = Random(seed)
    count, hour = draw.randrange(1, most + 1), 60
    people = []
    for name in ("Ann", "Ben")[: draw.choice((1, 2, 2))]:
        windows = []
        for day in range(long):
            for start in (10, 13):
                if draw.random() < 0.85:
                    windows.append(Window(day * DAY + hour * start, day * DAY + hour * (start + draw.randrange(1, 4))))
        skills = frozenset(s for s in ("saw", "glue") if draw.random() < 0.85)
        people.append(Person(name=name, skills=skills, windows=tuple(windows)))
    resources = (
        Resource(key="saw", what="saw", capacity=draw.choice((1, 1, 1, 2)), is_saw=True),
        Resource(
            key="places",
            what="places",
            capacity=2,
            windows=draw.choice((None, None, (Window(9 * hour, 15 * hour), Window(DAY, 2 * DAY)))),
        ),
    )
    activities = []
    for n in range(count):
        sawn = draw.random() < 0.6
        activities.append(
            Activity(
                key=f"a{n}",
                what="",
                kind="saw" if sawn else "glue",
                minutes=hour * draw.randrange(1, 3),
                people=draw.choice((1, 1, 1, 1, 2, 0)) if n < 3 else 1,
                skill=draw.choice(("saw", "")) if sawn else draw.choice(("glue", "")),
                uses=(ResourceUse("saw", 1),) if sawn else (ResourceUse("places", draw.randrange(1, 3)),),
                setting=draw.choice(settings) if sawn else "",
                lot=draw.choice("pq"),
                earliest=draw.choice((0, 0, 0, 13 * hour)),
                due=draw.choice((None, 11 * hour, 14 * hour, DAY)),
                weight=draw.randrange(1, 4),
            )
        )
    lags = []
    for b in range(1, count):
        for a in range(b):
            if draw.random() < 0.25:
                least = draw.choice((0, 0, 0, hour, DAY // 2))
                most_lag = draw.choice((None, None, least, least + 2 * hour))
                wanted = draw.choice((0, 0, least + 3 * hour))
                lags.append(Precedence(before=f"a{a}", after=f"a{b}", least=least, most=most_lag, wanted=wanted))
    return Project(
        name="tiny",
        zone="",
        days=days(long),
        people=tuple(people),
        resources=resources,
        activities=tuple(activities),
        precedences=tuple(lags),
        is_backward=draw.random() < 0.4,
    )
