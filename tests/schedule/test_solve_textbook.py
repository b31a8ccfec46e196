"""Published instances of project scheduling, with the optima that are printed for them."""

import re
from pathlib import Path

import pytest

from tests.schedule.replay import DAY, days, faults
from woodshop.schedule.solve import solve
from woodshop.schedule.values import Activity, Precedence, Project, Resource, ResourceUse, Schedule

DATA = Path(__file__).resolve().parents[1] / "data" / "schedule"


def project(activities: list[Activity], lags: list[Precedence], capacity: list[int], horizon: int) -> Project:
    """A project without people."""
    return Project(
        name="textbook",
        zone="",
        days=days(-(-horizon // DAY)),
        people=(),
        resources=tuple(Resource(key=str(n), what="", capacity=each) for n, each in enumerate(capacity)),
        activities=tuple(activities),
        precedences=tuple(lags),
    )


def activity(key: str, minutes: int, uses: dict[int, int], due: int | None = None, weight: int = 1) -> Activity:
    own = tuple(ResourceUse(str(r), amount) for r, amount in uses.items() if amount)
    return Activity(key=key, what="", kind="", minutes=minutes, people=0, uses=own, due=due, weight=weight)


def goal(schedule: Schedule, name: str) -> tuple[int, int]:
    (found,) = (each for each in schedule.goals if each.name == name)
    return found.value, found.bound


@pytest.mark.outside("PSPLIB, J30, j30opt.sm: 43 for j301_1; Kolisch and Sprecher 1997")
def test_a_project_of_thirty_activities() -> None:
    text = (DATA / "j301_1.sm").read_text(encoding="ascii")
    parts = [[line.split() for line in part.splitlines()[2:]] for part in re.split(r"\*{9,}\n", text)]
    after = {row[0]: row[3:] for row in parts[4][1:] if row}
    numbers = [[int(word) for word in row] for row in parts[5][1:] if len(row) > 3]
    capacity = [int(word) for word in text.split("RESOURCEAVAILABILITIES:")[1].splitlines()[2].split()]
    activities = [activity(str(row[0]), row[2], dict(enumerate(row[3:]))) for row in numbers if row[2]]
    assert len(activities) == 30
    keys = {each.key for each in activities}
    lags = [Precedence(before=a, after=b) for a, row in after.items() for b in row if a in keys and b in keys]
    found = solve(project(activities, lags, capacity, 158))
    assert faults(found) == []
    assert goal(found, "span") == (43, 43)


@pytest.mark.outside("Fisher and Thompson 1963, 6 jobs on 6 machines: 55")
def test_a_job_shop() -> None:
    activities, lags = [], []
    for job, line in enumerate((DATA / "ft06.txt").read_text(encoding="ascii").splitlines()):
        words = [int(word) for word in line.split()]
        for step, (machine, minutes) in enumerate(zip(words[::2], words[1::2], strict=True)):
            activities.append(activity(f"{job}-{step}", minutes, {machine: 1}))
            if step:
                lags.append(Precedence(before=f"{job}-{step - 1}", after=f"{job}-{step}"))
    found = solve(project(activities, lags, [1] * 6, 200))
    assert faults(found) == []
    assert goal(found, "span") == (55, 55)


@pytest.mark.outside("OR-Library, wt40, rows 26, 27 and 28 of wtopt40.txt: 108, 64 and 15")
@pytest.mark.parametrize(("row", "optimum"), [(0, 108), (1, 64), (2, 15)])
def test_weighted_tardiness_on_one_machine(row: int, optimum: int) -> None:
    """A unit of time of the instance is a day, so that days late are what is counted there."""
    words = [int(word) for word in (DATA / "wt40.txt").read_text(encoding="ascii").split()]
    times, weights, due = (words[120 * row + 40 * n :][:40] for n in range(3))
    activities = [
        activity(f"{n:02}", minutes * DAY, {0: 1}, end * DAY, weight)
        for n, (minutes, weight, end) in enumerate(zip(times, weights, due, strict=True))
    ]
    found = solve(project(activities, [], [1], sum(times) * DAY), goals=1)
    assert goal(found, "tardiness") == (optimum, optimum)
