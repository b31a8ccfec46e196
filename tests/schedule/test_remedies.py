"""What lateness comes from, and what would cure it."""

from dataclasses import replace
from datetime import timedelta

import pytest

from tests.schedule.replay import DAY, days
from woodshop.schedule.remedies import Cures, LateChain, cures, tightest_chain
from woodshop.schedule.solve import solve
from woodshop.schedule.values import Activity, Person, Precedence, Project, Resource, ResourceUse, Window

HOUR = 60


def packing(*, lots: int, due: int, long: int = 8, places: int = 2, shift: int = 4, first: int = 0) -> Project:
    """Each lot takes two hours to pack and two days to dry on one place, and is loaded then. One person, 4 hours a day.

    The due day `due` is counted from a fixed day; work begins on day `first` of it.
    """
    activities, lags = [], []
    for n in range(lots):
        place = (ResourceUse("places", 1),)
        activities += [
            Activity(key=f"pack {n}", what="", kind="pack", minutes=2 * HOUR, uses=place),
            Activity(key=f"dry {n}", what="", kind="dry", minutes=2 * DAY, people=0, uses=place),
            Activity(key=f"load {n}", what="", kind="load", minutes=30, due=(due - first) * DAY),
        ]
        lags += [
            Precedence(before=f"pack {n}", after=f"dry {n}", most=0),
            Precedence(before=f"dry {n}", after=f"load {n}"),
        ]
    windows = tuple(Window(n * DAY + 9 * HOUR, n * DAY + (9 + shift) * HOUR) for n in range(long - first))
    return Project(
        name="packing",
        zone="",
        days=tuple(replace(each, day=each.day + timedelta(first)) for each in days(long - first)),
        people=(Person(name="Ann", skills=frozenset(), windows=windows),),
        resources=(Resource(key="places", what="places", capacity=places),),
        activities=tuple(activities),
        precedences=tuple(lags),
    )


def test_a_chain_that_no_crew_could_do_in_time() -> None:
    """Packed on day 0 by 11:00, dry on day 2 at 11:00 at the earliest, loaded by 11:30."""
    keys, starts = ("pack 0", "dry 0", "load 0"), (9 * HOUR, 11 * HOUR, 2 * DAY + 11 * HOUR)
    assert tightest_chain(packing(lots=2, due=2)) == LateChain(keys, 1, starts)
    assert tightest_chain(packing(lots=2, due=1)) == LateChain(keys, 2, starts)
    assert tightest_chain(packing(lots=9, due=3, long=20)) is None


def test_the_chain_says_no_more_than_any_schedule() -> None:
    project = packing(lots=1, due=1)
    chain = tightest_chain(project)
    assert chain is not None
    assert solve(project).goals[0].value == chain.days


def test_one_table_more_cures_what_waits_for_places() -> None:
    project = packing(lots=4, due=5, places=2)
    assert solve(project).goals[0].value > 0
    assert cures(project, more={"places": 2}) == Cures(more=("places",))


def test_a_helper_on_one_day_cures_what_waits_for_people() -> None:
    project = packing(lots=3, due=3, places=9, shift=5)
    assert solve(project).goals[0].value > 0
    found = cures(project, more={"places": 9})
    assert found == Cures(helper_days=(project.days[0].day,))


@pytest.mark.slow("solves several projects")
@pytest.mark.invariant
def test_the_latest_earlier_start() -> None:
    """Six lots on two places: three rounds of two days and more."""

    def from_day(first: int) -> Project:
        return packing(lots=6, due=12, long=24, places=2, first=first)

    tardiness = {first: solve(from_day(first)).goals[0].value for first in range(8)}
    latest = max(first for first, late in tardiness.items() if not late)
    assert tardiness[latest + 1] > 0
    late = latest + 2
    found = cures(from_day(late), earlier=lambda n: from_day(late - n) if n <= late else None)
    assert found.days_earlier == 2
