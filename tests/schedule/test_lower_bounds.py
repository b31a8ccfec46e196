"""Lower bounds against brute force, another model and what can be reckoned by hand."""

from itertools import pairwise
from random import Random

import pytest

from tests.nightly import tries
from tests.schedule.plain_models import by_integer_program, by_trying_all
from tests.schedule.replay import DAY, days, faults, random_project
from woodshop.schedule.lower_bounds import SawDays, saw_days_bound, span_bound, tightened
from woodshop.schedule.prepare import InfeasibleProjectError, prepare
from woodshop.schedule.solve import solve
from woodshop.schedule.values import Activity, Person, Precedence, Project, Resource, ResourceUse, Window

HOUR = 60


def project(
    windows: tuple[Window, ...],
    activities: list[Activity],
    precedences: list[Precedence],
    *,
    long: int,
    places: int = 2,
    backward: bool = False,
) -> Project:
    """A project of one person, one saw and some places for boards to dry."""
    return Project(
        name="bounds",
        zone="",
        days=days(long),
        people=(Person(name="Ann", skills=frozenset(), windows=windows),),
        resources=(
            Resource(key="saw", what="saw", capacity=1, is_saw=True),
            Resource(key="places", what="places", capacity=places),
        ),
        activities=tuple(activities),
        precedences=tuple(precedences),
        is_backward=backward,
    )


def lots(count: int, amount: int, pack: int, dry: int) -> tuple[list[Activity], list[Precedence]]:
    """Lots of boards that are packed on some places, and dry there from then on."""
    uses = (ResourceUse("places", amount),)
    activities, lags = [], []
    for n in range(count):
        activities += [
            Activity(key=f"pack {n}", what="", kind="pack", minutes=pack, uses=uses),
            Activity(key=f"dry {n}", what="", kind="dry", minutes=dry, people=0, uses=uses),
        ]
        lags.append(Precedence(before=f"pack {n}", after=f"dry {n}", least=0, most=0))
    return activities, lags


def sawn(minutes: list[int]) -> tuple[list[Activity], list[Precedence]]:
    """Activities at the saw, one after the other."""
    uses = (ResourceUse("saw", 1),)
    keys = [f"saw {n}" for n in range(len(minutes))]
    activities = [
        Activity(key=key, what="", kind="saw", minutes=each, uses=uses, setting="s")
        for key, each in zip(keys, minutes, strict=True)
    ]
    return activities, [Precedence(before=a, after=b) for a, b in pairwise(keys)]


def mixed(seed: int) -> Project:
    """Lots of boards and work at the saw, of one person."""
    draw = Random(seed)
    windows = tuple(
        Window(day * DAY + HOUR * start, day * DAY + HOUR * (start + draw.randrange(1, 4)))
        for day in range(3)
        for start in (9, 13)
        if draw.random() < 0.8
    )
    activities, lags = lots(draw.randrange(1, 4), draw.choice((1, 2)), HOUR, draw.choice((12, 20, 26)) * HOUR)
    more, lags_of_saw = sawn([HOUR * draw.randrange(1, 3) for _ in range(draw.randrange(1, 4))])
    if draw.random() < 0.5:
        lags.append(Precedence(before=more[0].key, after="pack 0", least=draw.choice((0, 3 * HOUR))))
    places, backward = draw.choice((2, 3)), draw.random() < 0.4
    return project(windows, activities + more, lags + lags_of_saw, long=3, places=places, backward=backward)


def excess(project: Project, values: tuple[int, ...]) -> list[tuple[str, int]]:
    """The bounds that are above the least values."""
    own = prepare(project)
    with_saw, with_span = tightened(own, values[:3]), tightened(own, values)
    found = [("saw days", saw_days_bound(with_saw) - values[2]), ("span", span_bound(with_span) - values[4])]
    found.append(("span alone", span_bound(tightened(own, values[:4])) - values[4]))
    return [each for each in found if each[1] > 0]


@pytest.mark.invariant
def test_no_bound_is_above_the_least_value_by_brute_force() -> None:
    least = {seed: by_trying_all(random_project(seed)) for seed in range(20_000, 20_000 + tries(150))}
    possible = {seed: values for seed, values in least.items() if values}
    assert len(possible) > len(least) // 4
    assert {seed: excess(random_project(seed), values) for seed, values in possible.items()} == {
        seed: [] for seed in possible
    }


@pytest.mark.invariant
def test_no_bound_is_above_the_least_value_of_an_integer_program() -> None:
    possible = 0
    for seed in range(tries(40)):
        values = by_integer_program(wanted) if _can_start(wanted := mixed(seed)) else None
        if values is not None:
            possible += 1
            assert (seed, excess(wanted, values)) == (seed, [])
            found = solve(wanted)
            assert faults(found) == []
            assert (seed, tuple(goal.value for goal in found.goals)) == (seed, values)
            assert all(goal.is_proved for goal in found.goals)
    assert possible > tries(40) // 3


def _can_start(wanted: Project) -> bool:
    try:
        prepare(wanted)
    except InfeasibleProjectError:
        return False
    return True


@pytest.mark.outside
def test_days_at_the_saw_by_hand() -> None:
    # Five pieces of work of 100 minutes in evenings of 3 hours: one fits in an evening. Saturday (day 3) has 7 hours.
    windows = (*(Window(day * DAY + 18 * HOUR, day * DAY + 21 * HOUR) for day in (0, 1, 2, 4, 5)),)
    saturday = (Window(3 * DAY + 9 * HOUR, 3 * DAY + 12 * HOUR), Window(3 * DAY + 13 * HOUR, 3 * DAY + 17 * HOUR))
    evenings = project(windows, *sawn([100] * 5), long=6)
    assert saw_days_bound(prepare(evenings)) == 5
    # On Saturday one fits before noon and two after it; the other two need an evening each.
    own = prepare(project(tuple(sorted((*windows, *saturday))), *sawn([100] * 5), long=6))
    plans = SawDays(own, 0).plans
    assert plans is not None
    # With three evenings before it, Saturday has two pieces: the second is over at 14:40 if the first is done before
    # the break. With two evenings it has three. Five days end later than four, so they are no plan of their own.
    assert {count: plan.end * own.unit for count, plan in plans.items()} == {
        3: 3 * DAY + 13 * HOUR + 200,
        4: 3 * DAY + 13 * HOUR + 100,
    }


@pytest.mark.outside
def test_rounds_of_drying_by_hand() -> None:
    # Seven lots of 9 boards, three at once on 30 places, packed from 9 to 12 in an hour each, and dry for 48 hours.
    # A place is used again after 49 hours: 9:00 on day 0, 10:00 on day 2, 11:00 on day 4. The third round is dry at
    # 12:00 on day 6. By the sum of places alone, 63 of 30 for 49 hours each, it would be 102.9 hours, on day 4.
    windows = tuple(Window(day * DAY + 9 * HOUR, day * DAY + 12 * HOUR) for day in range(12))
    own = prepare(project(windows, *lots(7, 9, HOUR, 2 * DAY), long=12, places=30))
    assert span_bound(own) == 6 * DAY + 12 * HOUR


@pytest.mark.outside
def test_work_that_fits_in_no_fewer_windows_is_proved() -> None:
    # Six pieces of 100 minutes, one to each window of 180: backward from the end of day 7 the first begins on day 2.
    windows = tuple(Window(day * DAY + 9 * HOUR, day * DAY + 12 * HOUR) for day in range(8))
    pieces = [Activity(key=f"a{n}", what="", kind="x", minutes=100) for n in range(6)]
    found = solve(project(windows, pieces, [], long=8, backward=True), effort="quick")
    assert faults(found) == []
    assert found.goals[4].value == found.goals[4].bound == 6 * DAY - 12 * HOUR + 100
