"""Calculates the values of the goals from the starts of the activities."""

from collections.abc import Sequence

from woodshop.schedule.prepare import MINUTES_A_DAY, Prepared


def goal_values(prepared: Prepared, starts: Sequence[int]) -> tuple[int, ...]:
    """The value of each goal in the order of `GOALS`. `starts` is in time units; spare days and span are in minutes."""
    project, unit = prepared.project, prepared.unit
    ends = [start + length for start, length in zip(starts, prepared.length, strict=True)]
    tardiness = 0
    for a, due in enumerate(prepared.due):
        if due is not None and ends[a] > due:
            tardiness += project.activities[a].weight * -(-(ends[a] - due) * unit // MINUTES_A_DAY)
    shortfall = sum(
        max(0, lag.wanted - (starts[lag.after] - ends[lag.before])) for lag in prepared.lags if lag.wanted > lag.least
    )
    return (
        tardiness,
        shortfall * unit,
        len(saw_days(prepared, starts)),
        set_ups(prepared, starts),
        span(prepared, starts),
    )


def saw_days(prepared: Prepared, starts: Sequence[int]) -> set[int]:
    """The numbers of the days on which an activity that uses a saw starts."""
    days = set()
    for a, uses in enumerate(prepared.uses):
        if any(r in prepared.saws and amount for r, amount in uses):
            days.add(day_number(prepared, starts[a]))
    return days


def day_number(prepared: Prepared, time: int) -> int:
    """The number of the day that contains a time."""
    return max(n for n, start in enumerate(prepared.day_starts) if start <= time)


def on_saw(prepared: Prepared, saw: int) -> list[int]:
    """The activities that use a saw and have a setting."""
    return [
        a
        for a, uses in enumerate(prepared.uses)
        if prepared.project.activities[a].setting and any(r == saw and amount for r, amount in uses)
    ]


def set_ups(prepared: Prepared, starts: Sequence[int]) -> int:
    """How often a setting is set up again after another setting was used."""
    again = 0
    for saw in sorted(prepared.saws):
        activities = prepared.project.activities
        row = sorted(on_saw(prepared, saw), key=lambda a: (starts[a], activities[a].key))
        settings = [activities[a].setting for a in row]
        runs = sum(n == 0 or settings[n - 1] != setting for n, setting in enumerate(settings))
        again += runs - len(set(settings))
    return again


def span(prepared: Prepared, starts: Sequence[int]) -> int:
    """The minutes from a person's first work to the horizon, or, if not backward, from minute 0 to the last end."""
    if prepared.project.is_backward:
        first = min((starts[a] for a, people in enumerate(prepared.people) if people), default=prepared.horizon)
        return (prepared.horizon - first) * prepared.unit
    last = max((start + length for start, length in zip(starts, prepared.length, strict=True)), default=0)
    return last * prepared.unit
