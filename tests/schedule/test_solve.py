"""Schedules of small projects against brute force, another model and what has to hold of every schedule."""

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.nightly import tries
from tests.schedule.plain_models import by_integer_program, by_trying_all
from tests.schedule.replay import DAY, days, faults, random_project
from woodshop.schedule.prepare import InfeasibleProjectError
from woodshop.schedule.solve import solve
from woodshop.schedule.values import Activity, Person, Precedence, Project, Resource, ResourceUse, Schedule, Window

ROOT = Path(__file__).resolve().parents[2]


def solved(project: Project) -> Schedule | None:
    """The schedule, without a fault; None if there is none."""
    try:
        found = solve(project)
    except InfeasibleProjectError:
        return None
    assert faults(found) == []
    return found


def proved(project: Project) -> tuple[int, ...] | None:
    """The values of the goals, each proved."""
    found = solved(project)
    if found is None:
        return None
    assert [goal.name for goal in found.goals if not goal.is_proved] == []
    return tuple(goal.value for goal in found.goals)


@pytest.mark.invariant
@pytest.mark.slow("all starts are tried")
def test_small_projects_against_brute_force() -> None:
    seeds = range(tries(1000))
    found = {seed: proved(random_project(seed)) for seed in seeds}
    assert {seed: by_trying_all(random_project(seed)) for seed in seeds} == found
    assert len({each for each in found.values() if each}) > len(seeds) // 4  # enough that are possible


@pytest.mark.invariant
@pytest.mark.slow("as many integer programs as goals and projects")
def test_small_projects_against_an_integer_program() -> None:
    seeds = range(5000, 5000 + tries(600))
    projects = {seed: random_project(seed, most=7, settings="x", long=3) for seed in seeds}
    found = {seed: proved(project) for seed, project in projects.items()}
    assert {seed: by_integer_program(project) for seed, project in projects.items()} == found
    assert len({each for each in found.values() if each}) > len(seeds) // 4


@pytest.mark.invariant
@given(seed=st.integers(0, 10**6), extra=st.sampled_from(["helper", "places", "saw", "hours"]))
def test_more_means_make_nobody_later(seed: int, extra: str) -> None:
    project = random_project(seed, most=6)
    before = solved(project)
    if before is None or not before.goals[0].is_proved:
        return
    if extra == "helper":
        skills = frozenset({"saw", "glue"})
        more = replace(project, people=(*project.people, replace(project.people[0], name="Cleo", skills=skills)))
    elif extra == "hours":
        first = replace(project.people[0], windows=tuple(each.window for each in project.days))
        more = replace(project, people=(first, *project.people[1:]))
    else:
        more = replace(
            project,
            resources=tuple(
                replace(each, capacity=each.capacity + 1) if each.key == extra else each for each in project.resources
            ),
        )
    after = solved(more)
    assert after is not None
    assert after.goals[0].bound <= before.goals[0].value
    if after.goals[0].is_proved:
        assert after.goals[0].value <= before.goals[0].value


def chain_of_three(*, minutes: int = 60, backward: bool = False, people: int = 1) -> Project:
    """Two settings at the saw and a glue-up, with a helper who can do all of it too."""
    windows = (Window(600, 900), Window(DAY + 600, DAY + 900))
    skills = frozenset({"saw", "glue"})
    return Project(
        name="three",
        zone="",
        days=days(3),
        people=tuple(Person(name=name, skills=skills, windows=windows) for name in ("Ann", "Ben")[:people]),
        resources=(Resource(key="saw", what="saw", capacity=1, is_saw=True),),
        activities=(
            Activity(
                key="a", what="", kind="saw", minutes=minutes, skill="saw", setting="s", uses=(ResourceUse("saw", 1),)
            ),
            Activity(key="b", what="", kind="saw", minutes=60, skill="saw", setting="s", uses=(ResourceUse("saw", 1),)),
            Activity(key="c", what="", kind="glue", minutes=60, skill="glue", due=2 * DAY),
        ),
        precedences=(Precedence(before="a", after="c"), Precedence(before="b", after="c", least=60)),
        is_backward=backward,
    )


def test_a_schedule_has_no_idle_gaps() -> None:
    at = {each.activity: each.start for each in solve(chain_of_three()).bookings}
    assert at == {"b": 600, "a": 660, "c": 720}


def test_backward_work_is_as_late_as_the_due_time_allows() -> None:
    at = {each.activity: each.start for each in solve(chain_of_three(backward=True)).bookings}
    assert at == {"b": DAY + 720, "a": DAY + 780, "c": DAY + 840}


def test_one_person_does_a_setting_where_two_could() -> None:
    found = solve(chain_of_three(people=2))
    (one,), (other,) = (each.people for each in found.bookings if each.activity in "ab")
    assert one == other


@pytest.mark.parametrize(
    ("changed", "reason", "activities", "wanted", "available"),
    [
        (chain_of_three(minutes=360), "window", ("a",), 360, 300),
        (replace(chain_of_three(), people=()), "people", ("a",), 1, 0),
        (replace(chain_of_three(), days=days(1)), "lags", None, 0, 0),
        (replace(chain_of_three(minutes=300), days=days(1)), "lags", None, 0, 0),
    ],
)
def test_what_cannot_be_is_said(
    changed: Project, reason: str, activities: tuple[str, ...] | None, wanted: int, available: int
) -> None:
    if reason == "lags":
        changed = replace(changed, precedences=(*changed.precedences, Precedence(before="c", after="a", least=0)))
    with pytest.raises(InfeasibleProjectError) as raised:
        solve(changed)
    assert raised.value.reason == reason
    if activities is not None:
        assert raised.value.activities == activities
    assert (raised.value.wanted, raised.value.available) == (wanted, available)


def test_work_that_does_not_fit_in_the_days() -> None:
    project = chain_of_three()
    more = tuple(replace(project.activities[0], key=f"more {n}", minutes=120) for n in range(5))
    with pytest.raises(InfeasibleProjectError) as raised:
        solve(replace(project, activities=(*project.activities, *more)))
    assert raised.value.reason == "horizon"


def test_too_much_of_a_resource() -> None:
    project = chain_of_three()
    first = replace(project.activities[0], uses=(ResourceUse("saw", 1), ResourceUse("saw", 1)))
    with pytest.raises(InfeasibleProjectError) as raised:
        solve(replace(project, activities=(first, *project.activities[1:])))
    assert (raised.value.reason, raised.value.resource) == ("capacity", "saw")


PRINT = """
from tests.schedule.replay import random_project
from woodshop.schedule.solve import solve
found = solve(random_project(17, most=7, long=3))
print(found.bookings, found.goals, dict(found.made_with))
"""


def run(code: str, **environment: str) -> str:
    """What a new process prints."""
    return subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT), **environment},
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
    ).stdout


@pytest.mark.invariant
def test_another_process_finds_the_same_schedule() -> None:
    here = solve(random_project(17, most=7, long=3))
    assert here == solve(random_project(17, most=7, long=3))
    said = {run(PRINT, PYTHONHASHSEED=seed) for seed in ("1", "2")}
    assert said == {f"{here.bookings} {here.goals} {dict(here.made_with)}\n"}


@pytest.mark.parametrize("first", ["schedule", "cutting"])
def test_the_solvers_load_in_either_order(first: str) -> None:
    others = "import highspy, pyscipopt; highspy.Highs(); pyscipopt.Model()"
    own = PRINT.strip().replace("\n", "; ")
    assert "Booking" in run(f"{own}; {others}" if first == "schedule" else f"{others}; {own}")
