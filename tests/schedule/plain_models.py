"""The least values of the goals of a tiny project: by trying all starts, and by a time-indexed integer program."""

from collections.abc import Iterator
from itertools import combinations
from math import gcd
from typing import Any

from tests.schedule.replay import DAY, values
from woodshop.schedule.values import Activity, Project


def step(project: Project) -> int:
    """The largest time of which all times of a tiny project are multiples: an hour."""
    return gcd(60, *(each.minutes for each in project.activities))


def crews(project: Project, activity: Activity, start: int) -> Iterator[tuple[str, ...]]:
    """The people who could do an activity from a start on, if it is possible at all."""
    end = start + activity.minutes
    if start < activity.earliest or end > project.days[-1].window.end:
        return
    for use in activity.uses:
        (resource,) = (each for each in project.resources if each.key == use.resource)
        if use.amount > resource.capacity:
            return
        if resource.windows is not None and not any(w.start <= start and end <= w.end for w in resource.windows):
            return
    there = [
        each.name
        for each in project.people
        if (not activity.skill or activity.skill in each.skills)
        and any(w.start <= start and end <= w.end for w in each.windows)
    ]
    yield from combinations(there, activity.people)


def by_trying_all(project: Project) -> tuple[int, ...] | None:
    """The least values, one goal after the other, over all starts on the grid; None if there is no schedule."""
    grid = range(0, project.days[-1].window.end, step(project))
    choices = [[(t, list(crews(project, each, t))) for t in grid] for each in project.activities]
    choices = [[(t, rows) for t, rows in each if rows] for each in choices]
    capacity = {each.key: each.capacity for each in project.resources}
    length = {each.key: each.minutes for each in project.activities}
    best: tuple[int, ...] | None = None
    start: dict[str, int] = {}

    def lags_hold() -> bool:
        for lag in project.precedences:
            if lag.before in start and lag.after in start:
                between = start[lag.after] - start[lag.before] - length[lag.before]
                if between < lag.least or (lag.most is not None and between > lag.most):
                    return False
        return True

    def means_suffice() -> bool:
        for at in start.values():
            used: dict[str, int] = {}
            for each in project.activities:
                if each.key in start and start[each.key] <= at < start[each.key] + each.minutes:
                    for use in each.uses:
                        used[use.resource] = used.get(use.resource, 0) + use.amount
            if any(amount > capacity[name] for name, amount in used.items()):
                return False
        return True

    def staffed(n: int, taken: list[tuple[int, int, str]]) -> bool:
        if n == len(project.activities):
            return True
        each = project.activities[n]
        at, end = start[each.key], start[each.key] + each.minutes
        for names in crews(project, each, at):
            is_free = not any(name in names and at < until and since < end for since, until, name in taken)
            if is_free and staffed(n + 1, [*taken, *((at, end, name) for name in names)]):
                return True
        return False

    def place(n: int) -> None:
        nonlocal best
        if n == len(project.activities):
            found = values(project, start)
            if (best is None or found < best) and staffed(0, []):
                best = found
            return
        key = project.activities[n].key
        for at, _ in choices[n]:
            start[key] = at
            if lags_hold() and means_suffice():
                place(n + 1)
            del start[key]

    place(0)
    return best


def by_integer_program(project: Project) -> tuple[int, ...] | None:
    """The least values, one goal after the other, of a project whose set-ups are 0; None if there is no schedule.

    There is a column for each activity, start and crew, and one for each day at the saw.
    """
    import highspy

    grid = step(project)
    end_of_all = project.days[-1].window.end
    columns: list[tuple[Activity, int, tuple[str, ...]]] = [
        (each, t, names)
        for each in project.activities
        for t in range(0, end_of_all, grid)
        for names in crews(project, each, t)
    ]
    count = len(columns) + len(project.days)
    lags = [lag for lag in project.precedences if lag.wanted > lag.least]
    missing = {n: count + n for n in range(len(lags))}
    span = count + len(lags)
    rows: list[tuple[float, float, dict[int, float]]] = []

    def sum_of(key: str, factor: float, into: dict[int, float]) -> None:
        for c, (each, t, _) in enumerate(columns):
            if each.key == key:
                into[c] = into.get(c, 0) + factor * t

    for each in project.activities:
        rows.append((1, 1, {c: 1.0 for c, (other, _, _) in enumerate(columns) if other is each}))
    for n, lag in enumerate(project.precedences):
        (length,) = (each.minutes for each in project.activities if each.key == lag.before)
        between: dict[int, float] = {}
        sum_of(lag.after, 1, between)
        sum_of(lag.before, -1, between)
        rows.append((length + lag.least, highspy.kHighsInf if lag.most is None else length + lag.most, between))
        if lag in lags:
            n = lags.index(lag)
            rows.append((length + lag.wanted, highspy.kHighsInf, {**between, missing[n]: 1}))
    for t in range(0, end_of_all, grid):
        at_work = [c for c, (each, start, _) in enumerate(columns) if start <= t < start + each.minutes]
        for person in project.people:
            rows.append((0, 1, {c: 1.0 for c in at_work if person.name in columns[c][2]}))
        for resource in project.resources:
            used = {c: sum(u.amount for u in columns[c][0].uses if u.resource == resource.key) for c in at_work}
            rows.append((0, resource.capacity, {c: float(amount) for c, amount in used.items() if amount}))
    saws = {each.key for each in project.resources if each.is_saw}
    for d, day in enumerate(project.days):
        for c, (each, t, _) in enumerate(columns):
            if day.window.start <= t < day.window.end and saws & {use.resource for use in each.uses}:
                rows.append((0, 1, {len(columns) + d: 1, c: -1}))
    for each in project.activities:
        if project.is_backward and each.people:
            first: dict[int, float] = {span: 1}
            sum_of(each.key, 1, first)
            rows.append((end_of_all, highspy.kHighsInf, first))
        elif not project.is_backward:
            last: dict[int, float] = {span: 1}
            sum_of(each.key, -1, last)
            rows.append((each.minutes, highspy.kHighsInf, last))
    late = {
        c: float(each.weight * -(-(t + each.minutes - each.due) // DAY))
        for c, (each, t, _) in enumerate(columns)
        if each.due is not None and t + each.minutes > each.due
    }
    goals = [
        late,
        dict.fromkeys(missing.values(), 1.0),
        {len(columns) + d: 1.0 for d in range(len(project.days))},
        {span: 1.0},
    ]
    found: list[int] = []
    for goal in goals:
        model: Any = highspy.Highs()
        model.setOptionValue("output_flag", False)
        model.setOptionValue("threads", 1)
        for c in range(span + 1):
            model.addVar(0, 1 if c < count else end_of_all)
            model.changeColCost(c, goal.get(c, 0.0))
            if c < count:
                model.changeColIntegrality(c, highspy.HighsVarType.kInteger)
        for least, most, entries in rows:
            if entries or least > 0:
                model.addRow(least, most, len(entries), list(entries), list(entries.values()))
        model.run()
        if model.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        found.append(round(model.getInfo().objective_function_value))
        rows.append((-highspy.kHighsInf, found[-1] + 0.001, goal))
    return (*found[:3], 0, found[3])
