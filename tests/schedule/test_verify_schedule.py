"""A schedule is replayed by independent code: what is changed in it is refused."""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import jsonschema
import pytest

from tests.fuzz.corrupt_plans import sealed
from tests.fuzz.corrupt_schedules import refused, run, schedule_file
from tests.nightly import IS_NIGHT
from tests.schedule.small_projects import DAY, large, small
from woodshop.errors import InputError
from woodshop.schedule import schedule_json
from woodshop.schedule.calendar import calendar_days
from woodshop.schedule.schedule_json import WrittenSchedule, read_schedule, schedule_to_json
from woodshop.schedule.values import (
    GOALS,
    Activity,
    Booking,
    Goal,
    Person,
    Precedence,
    Project,
    Resource,
    ResourceUse,
    Schedule,
    Window,
)
from woodshop.schedule.verify_schedule import schedule_findings

Change = Callable[[Schedule], Schedule]


def booked(key: str, **changes: Any) -> Change:
    """That booking with other values, its end moved with its start, all in order of start."""

    def change(schedule: Schedule) -> Schedule:
        found = []
        for each in schedule.bookings:
            if each.activity == key:
                long = each.end - each.start
                now = replace(each, **{name: v(each) if callable(v) else v for name, v in changes.items()})
                each = now if "end" in changes else replace(now, end=now.start + long)
            found.append(each)
        return replace(schedule, bookings=tuple(sorted(found, key=lambda each: (each.start, each.activity))))

    return change


def goal(name: str, **changes: int) -> Change:
    return lambda schedule: replace(
        schedule, goals=tuple(replace(g, **changes) if g.name == name else g for g in schedule.goals)
    )


def projected(**changes: Any) -> Change:
    return lambda schedule: replace(
        schedule,
        project=replace(schedule.project, **{k: v(schedule.project) for k, v in changes.items()}),
    )


def together(schedule: Schedule) -> Schedule:
    """Two activities of one person at once: the second setting of the saw starts with the first."""
    start = next(each.start for each in schedule.bookings if each.activity == "saw 1")
    return booked("saw 2", start=start)(schedule)


REFUSED: dict[str, tuple[Change, str]] = {
    "a booking is missing": (lambda s: replace(s, bookings=s.bookings[1:]), "0 times"),
    "a booking is there twice": (lambda s: replace(s, bookings=(s.bookings[0], *s.bookings)), "2 times"),
    "bookings are in another order": (lambda s: replace(s, bookings=s.bookings[::-1]), "another order"),
    "fewer minutes": (booked("drill", end=lambda b: b.end - 5), "55 minutes"),
    "after hours": (booked("Hill Farm fit", start=lambda b: b.start + 8 * 60), "within their hours"),
    "at night": (booked("Hill Farm fit", start=lambda b: b.start + 14 * 60), "within their hours"),
    "before what it needs": (booked("drill", start=9 * 60), "minutes"),
    "two things at once": (together, "one activity at a time"),
    "by nobody": (booked("drill", people=()), "0 people"),
    "by a stranger": (booked("drill", people=("Cy",)), "people of the crew"),
    "by one who cannot": (booked("drill", people=("Ben Ortiz",)), "without drill"),
    "by one person twice": (booked("Hill Farm load", people=("Ada Miller", "Ada Miller")), "each once"),
    "sugar that starts to dry late": (booked("Hill Farm dry 1", start=lambda b: b.start + 5), "5 minutes"),
    "after the last day": (booked("Hill Farm fit", start=10**6), "within 0 to"),
    "before its earliest": (
        projected(activities=lambda p: tuple(replace(a, earliest=10**5) for a in p.activities)), "100000 or later"
    ),
    "too few places": (
        projected(resources=lambda p: tuple(replace(r, capacity=4) if r.key == "places" else r for r in p.resources)),
        "in use at once",
    ),
    "a car on Mondays": (
        projected(
            resources=lambda p: tuple(
                replace(r, windows=(Window(2 * DAY, 3 * DAY),)) if r.key == "car" else r for r in p.resources
            )
        ),
        "hours of the resource",
    ),
    "another goal": (goal("saw days", value=0), "1, as counted"),
    "a bound above its value": (goal("span", bound=10**6), "from 0 to"),
    "a goal is missing": (lambda s: replace(s, goals=s.goals[:-1]), "tardiness, spare days"),
    "a day is missing": (projected(days=lambda p: p.days[:9] + p.days[10:]), "consecutive days"),
    "no days": (projected(days=lambda p: ()), "at least one day"),
    "another zone": (projected(zone=lambda p: "America/Phoenix"), "minutes"),
    "a zone that is none": (projected(zone=lambda p: "America/Nowhere"), "time zone"),
    "hours in another order": (
        projected(people=lambda p: tuple(replace(each, windows=each.windows[::-1]) for each in p.people)), "in order"
    ),
    "two people of one name": (projected(people=lambda p: (*p.people, p.people[0])), "once"),
    "an unknown resource": (projected(resources=lambda p: p.resources[1:]), "known resources"),
}  # fmt: skip


@pytest.mark.invariant
@pytest.mark.parametrize("name", REFUSED)
def test_a_changed_schedule_is_refused(name: str) -> None:
    change, said = REFUSED[name]
    found = schedule_findings(change(small()))
    assert any(said in each.value or said in each.limits for each in found), [str(each) for each in found]


@pytest.mark.invariant
def test_work_without_its_machine_is_refused() -> None:
    """A schedule file from which the planer is taken would let two people plane at once."""

    def with_uses(kind: str, *uses: tuple[str, ...]) -> list[str]:
        def change(project: Project) -> tuple[Activity, ...]:
            first, second, *rest = project.activities
            pair = zip((first, second), uses, strict=True)
            own = [
                replace(each, key=f"plane/{n}", kind=kind, uses=tuple(ResourceUse(key, 1) for key in keys))
                for n, (each, keys) in enumerate(pair, 1)
            ]
            return (*own, *rest)

        found = schedule_findings(projected(activities=change)(small()))
        return [each.limits for each in found if "uses" in each.place]

    assert with_uses("resaw", ("drill press",), ("drill press",)) == []
    assert with_uses("resaw", (), ()) == ["the planer, or the saw that resaws"] * 2
    assert with_uses("saw", ("drill press",), ()) == ["what plane/1 uses"]


@pytest.mark.invariant
def test_sound_schedules_pass() -> None:
    assert schedule_findings(small()) == ()
    assert schedule_findings(large()) == ()


@pytest.mark.invariant
@pytest.mark.slow("replays 500 schedules; at night 5,000")
def test_random_corruptions_are_refused_but_for_harmless_ones() -> None:
    """`python -m tests.fuzz.corrupt_schedules COUNT` prints the harmless ones."""
    wrong, let = run(5000 if IS_NIGHT else 500)
    assert wrong == []
    assert sum(let.values()) < (2500 if IS_NIGHT else 250)


def worked(**changes: Any) -> Schedule:
    """Two days, one person from 8 to 16. Rip on the first day at 8, at 10 and at 14, pack on the second at 8."""
    days = calendar_days(date(2026, 10, 10), date(2026, 10, 12))
    saw = (ResourceUse("saw", 1),)
    activities = (
        Activity(key="a", what="rip", kind="rip", minutes=60, uses=saw, setting="1"),
        Activity(key="b", what="rip", kind="rip", minutes=60, uses=saw, setting="2"),
        Activity(key="c", what="rip", kind="rip", minutes=60, uses=saw, setting="1"),
        Activity(key="d", what="pack", kind="pack", minutes=60, due=1500, weight=3),
    )
    project = Project(
        name="by hand",
        zone="",
        days=days,
        people=(
            Person(
                name="Ada",
                skills=frozenset(),
                windows=tuple(Window(day.window.start + 480, day.window.start + 960) for day in days),
            ),
        ),
        resources=(Resource(key="saw", what="saw", capacity=1, is_saw=True),),
        activities=activities,
        precedences=(Precedence(before="c", after="d", wanted=DAY),),
    )
    starts = {"a": 480, "b": 600, "c": 840, "d": DAY + 480}
    bookings = tuple(Booking(key, start, start + 60, ("Ada",)) for key, start in starts.items())
    values = {"tardiness": 3, "spare days": 420, "saw days": 1, "set-ups": 1, "span": 1980} | changes
    goals = tuple(Goal(name, values[name], 0) for name in GOALS)
    return Schedule(project=project, bookings=bookings, goals=goals)


@pytest.mark.invariant
def test_the_goals_are_those_counted_by_hand() -> None:
    """d ends at 1980, 480 minutes late: a started day, three times. From the end of c at 900 to its start at 1920 are
    1020 minutes, 420 fewer than a day. All sawing is on the first day. Setting 1 is set up a second time."""
    assert schedule_findings(worked()) == ()
    for name in GOALS:
        (only,) = schedule_findings(worked(**{name: 7}))
        assert only.place == f"goals, {name}"
    backward = worked(span=3 * DAY - 480)
    assert schedule_findings(replace(backward, project=replace(backward.project, is_backward=True))) == ()


@pytest.mark.outside(
    "15 U.S.C. 260a(a): clocks go back at 2 a.m. on the first Sunday of November; 260: from the second Sunday of March"
)
@pytest.mark.parametrize(("day", "minutes"), [(date(2026, 11, 1), 1500), (date(2026, 3, 8), 1380)])
def test_days_on_which_clocks_change_have_their_own_length(day: date, minutes: int) -> None:
    days = calendar_days(day - timedelta(days=1), day + timedelta(days=1), "America/New_York")
    assert days[1].window.end - days[1].window.start == minutes
    empty = Project(
        name="x", zone="America/New_York", days=days, people=(), resources=(), activities=(), precedences=()
    )
    goals = tuple(Goal(name, 0, 0) for name in GOALS)
    assert schedule_findings(Schedule(project=empty, bookings=(), goals=goals)) == ()
    plain = calendar_days(days[0].day, days[-1].day)
    found = schedule_findings(Schedule(project=replace(empty, days=plain), bookings=(), goals=goals))
    assert found[0].value == "minutes 1440 to 2880"


@pytest.mark.invariant
@pytest.mark.parametrize("make", [small, large])
def test_a_schedule_is_read_as_it_was_written(make: Callable[[], Schedule]) -> None:
    written = WrittenSchedule(make(), number=3, plan="ab" * 32, made_on=date(2026, 10, 1))
    text = json.dumps(schedule_to_json(written))
    assert read_schedule(text, "schedule.json") == written


def test_the_file_follows_its_schema() -> None:
    path = schedule_json.__file__.replace("schedule_json.py", "schedule.schema.json")
    with open(path, encoding="utf-8") as file:
        schema = json.load(file)
    raw = schedule_file()
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(raw, schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(raw | {"number": -1}, schema)


@pytest.mark.invariant
@pytest.mark.parametrize(
    "text",
    [
        "", "[]", "nul", "{}", '{"format": "woodshop-schedule/1"}', '{"format": "woodshop-schedule/2"}', "[" * 50_000,
        '{"format": "woodshop-schedule/1", "project": [], "bookings": 1, "goals": {}, "made_with": 3}',
        json.dumps(schedule_file() | {"bookings": [[]]}), json.dumps(schedule_file() | {"goals": [{"name": {}}]}),
        json.dumps(schedule_file() | {"number": 10**30}), json.dumps(schedule_file() | {"made_on": "2026-13-01"}),
        json.dumps(schedule_file() | {"cancelled": [{"uid": "x", "what": "", "start": "9999", "end": "0"}]}),
        json.dumps(schedule_file() | {"project": {"people": [{"windows": [[1], [True, 2], "ab"]}]}}),
    ],
)  # fmt: skip
def test_a_hostile_file_is_one_error(text: str) -> None:
    with pytest.raises(InputError) as caught:
        read_schedule(text, "schedule.json")
    assert 1 <= len(caught.value.problems) <= 20
    assert all(problem.where.startswith("schedule.json") for problem in caught.value.problems)


def test_a_changed_file_is_no_earlier_schedule() -> None:
    raw = schedule_file()
    raw["bookings"][0]["end"] += 5
    assert refused(raw)
    with pytest.raises(InputError, match="digest"):
        read_schedule(json.dumps(raw), "schedule.json")
    with pytest.raises(InputError, match="does not pass its check"):
        read_schedule(json.dumps(sealed(raw)), "schedule.json")
