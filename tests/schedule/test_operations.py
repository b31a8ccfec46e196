"""The operations of a batch: nothing lost, nothing twice, nothing too long, and each after what it waits for."""

import re
from collections import Counter
from dataclasses import replace
from datetime import date, datetime
from fractions import Fraction
from graphlib import TopologicalSorter
from itertools import pairwise
from typing import Any

import pytest

from tests.once import planned
from woodshop.design.batch import Hives
from woodshop.design.schema import Default
from woodshop.design.settings.crew import Crew, Shift
from woodshop.design.settings.times import ALL_BY_KEY, TRIPS
from woodshop.documents.packet.assembly import assembly_section
from woodshop.drawing.values.model import Paragraph
from woodshop.errors import InputError
from woodshop.plan.cost import cost_rows
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.counts import outside_area, work_of
from woodshop.plan.work.shop_file import read_shop
from woodshop.schedule.calendar import calendar_days
from woodshop.schedule.horizon import serial_ends
from woodshop.schedule.late_orders import ImpossibleDatesError
from woodshop.schedule.operations import KINDS, TOPICS, Builder
from woodshop.schedule.prepare import InfeasibleProjectError
from woodshop.schedule.remedies import Cures
from woodshop.schedule.schedule_batch import schedule_batch
from woodshop.schedule.stage_values import Counted
from woodshop.schedule.stages import stages_of
from woodshop.schedule.values import Activity, Project, Schedule
from woodshop.schedule.verify_schedule import schedule_findings
from woodshop.units.lengths import inch, pound

HOBBY, PRODUCTION = "hobby-batch", "production-run"
BOTH = [HOBBY, pytest.param(PRODUCTION, marks=pytest.mark.slow("plans the whole run, once for all tests"))]
DAYS = calendar_days(date(2026, 1, 1), date(2026, 12, 31))


@pytest.fixture(scope="module", autouse=True)
def _planned() -> None:
    """The batch is planned before the first test is timed."""
    planned(HOBBY)


def builder_of(batch: PlannedBatch) -> Builder:
    return Builder(batch, *stages_of(batch))


def with_crew(name: str, **changes: Any) -> PlannedBatch:
    batch = planned(name)
    return replace(batch, batch=replace(batch.batch, crew=replace(batch.batch.crew, **changes)))


def counted(builder: Builder) -> Counter[tuple[str, str]]:
    """How often each operation is done in all parts of all stages."""
    counts: Counter[tuple[str, str]] = Counter()
    for stage in builder.stages.values():
        for part in builder.parts(stage):
            for op in part.ops:
                counts[op.table, op.key] += op.count
    return counts


def project_of(builder: Builder) -> Project:
    return builder.project(DAYS, is_backward=False)


@pytest.mark.invariant
@pytest.mark.parametrize("name", BOTH)
def test_all_work_that_is_priced_is_done_once(name: str) -> None:
    """Every count of the price, and only set-ups for the first article more."""
    batch = planned(name)
    wanted: Counter[tuple[str, str]] = Counter()
    for work in work_of(batch, cost_rows(batch.batch, batch.units)):
        times = batch.batch.work.coats if work.key == "paint" else 1
        wanted[work.table, work.key] += work.count * times
    found = counted(builder_of(batch))
    priced = {key: count for key, count in found.items() if key[1] not in {each.key for each in TRIPS}}
    assert {key: count for key, count in priced.items() if key[0] == "time" and count} == {
        key: count for key, count in wanted.items() if key[0] == "time" and count
    }
    again = {key: count - wanted[key] for key, count in priced.items() if key[0] == "setup"}
    assert all(count >= 0 for count in again.values())
    assert again["setup", "run"] == 0
    first = Counter(
        (op.table, op.key)
        for stage in builder_of(batch).stages.values()
        if stage.key.startswith("first ")
        for block in stage.blocks
        for op in block.ops
        if op.table == "setup"
    )
    assert all(count <= first[key] for key, count in again.items() if key[1] != "fence")
    assert not again["setup", "fence"]


@pytest.mark.invariant
@pytest.mark.slow("plans the whole run, once for all tests")
def test_the_minutes_are_those_of_the_quote(designs: Any) -> None:
    """The quoted labor of the shop file is the work of the schedule, less trips and set-ups for the first article."""
    batch = planned(PRODUCTION)
    shop = read_shop(designs / "creekside-shop.toml")
    assert shop.goods.paint is not None
    quoted = Fraction(0)
    for work in work_of(batch, cost_rows(batch.batch, batch.units)):
        coats = shop.goods.paint.coats if work.key == "paint" else 1
        quoted += work.count * coats * shop.standards[work.table, work.key].minutes
    builder = builder_of(batch)
    done = sum((minutes for _, _, minutes in builder.work_left()), Fraction(0))
    found = counted(builder)
    trips = sum(
        (found["time", each.key] * batch.batch.work.standards["time", each.key].minutes for each in TRIPS), Fraction(0)
    )
    made = {key: count for key, count in found.items() if key[0] == "setup"}
    setups = sum((count * shop.standards[key].minutes for key, count in made.items()), Fraction(0))
    own = sum(
        (work.count * shop.standards["setup", work.key].minutes for work in
         work_of(batch, cost_rows(batch.batch, batch.units)) if work.table == "setup"), Fraction(0),
    )  # fmt: skip
    assert done == quoted + trips + setups - own
    assert setups - own < quoted / 20


@pytest.mark.invariant
@pytest.mark.parametrize("name", BOTH)
def test_activities_are_short_and_whole(name: str) -> None:
    builder = builder_of(planned(name))
    project = project_of(builder)
    keys = [each.key for each in project.activities]
    assert len(set(keys)) == len(keys) <= 400
    assert abs(builder.count() - len(keys)) <= 10
    capacity = {each.key: each.capacity for each in project.resources}
    for each in project.activities:
        assert each.minutes % 5 == 0
        assert 5 <= each.minutes <= (240 if each.kind == "fit" else 2880 if each.kind == "dry" else 120)
        assert sum(step.minutes for step in each.steps) == (each.minutes if each.people else 0)
        assert all(0 < use.amount <= capacity[use.resource] for use in each.uses)
        assert each.kind in KINDS
        assert each.what[0].isupper()
    assert set(TOPICS) <= set(KINDS)
    exact = sum((minutes for _, _, minutes in builder.work_left()), Fraction(0))
    rounded = sum(each.minutes for each in project.activities if each.people)
    assert exact <= rounded <= exact + 5 * len(keys)


@pytest.mark.invariant
@pytest.mark.parametrize("name", BOTH)
def test_first_frames_are_tried_when_their_glue_is_hard(name: str) -> None:
    project = project_of(builder_of(planned(name)))
    links = {(each.before, each.after): each for each in project.precedences}
    glue = planned(name).batch.crew.glue_hours * 60
    assert links["first frames/1", "build first/1"].least == glue > 0
    assert links["first frames/1", "first clamps/1"].most == 0
    assert ("build first/1", "try first/1") in links


@pytest.mark.invariant
@pytest.mark.parametrize("name", BOTH)
def test_steps_say_how_many_pieces(name: str) -> None:
    """Each setting of the saw is one step, or is divided into activities that count its pieces once."""
    builder = builder_of(planned(name))
    for stage in (each for each in builder.stages.values() if each.kind == "saw"):
        spans: dict[str, list[Counted]] = {}
        for part in builder.parts(stage):
            for op in part.ops:
                if op.span is not None:
                    spans.setdefault(op.what, []).append(op.span)
                    assert op.count == op.span.last - op.span.first + 1
        for own in spans.values():
            known = 0
            for span in own:
                assert span.first == known + 1
                known = 0 if span.last == span.of else span.last
            assert known == 0
    for each in project_of(builder).activities:
        if each.kind == "saw" and len(each.steps) == 1:
            assert each.what.endswith(each.steps[0].what.rpartition(": ")[2])


@pytest.mark.invariant
@pytest.mark.slow("plans the whole run, once for all tests")
def test_steel_is_punched_before_it_is_folded() -> None:
    project = project_of(builder_of(planned(PRODUCTION)))
    earlier = before(project)
    punched = {each.key for each in project.activities if each.key.startswith("metal/punch")}
    folds = [each for each in project.activities if each.key.startswith("fold/")]
    assert punched
    assert folds
    assert all(punched & earlier[each.key] for each in folds)
    assert punched <= earlier[folds[-1].key]
    (first,) = (each for each in project.activities if each.key == "first metal/1")
    assert first.steps[-1].what.startswith("Fold ")


def before(project: Project) -> dict[str, set[str]]:
    """All activities that come before each one."""
    direct: dict[str, set[str]] = {each.key: set() for each in project.activities}
    for each in project.precedences:
        direct[each.after].add(each.before)
    found: dict[str, set[str]] = {}
    for key in TopologicalSorter(direct).static_order():
        found[key] = direct[key].union(*(found[other] for other in direct[key]))
    return found


@pytest.mark.invariant
@pytest.mark.parametrize("name", BOTH)
def test_each_waits_for_what_it_needs(name: str) -> None:
    project = project_of(builder_of(planned(name)))
    earlier = before(project)
    by_key = {each.key: each for each in project.activities}
    kinds = {key: Counter(by_key[other].kind for other in own) for key, own in earlier.items()}
    total = Counter(each.kind for each in project.activities)
    lots = {each.lot for each in project.activities if each.lot}
    for each in project.activities:
        own = kinds[each.key]
        if each.kind not in ("buy",):
            assert own["buy"] >= 1, each.key
        if each.kind == "wrap":
            assert own["buy"] == total["buy"], each.key
        if each.kind in ("assemble", "paint", "wrap") and each.lot:
            assert own["measure"] == total["measure"]
            assert own["run"] == total["run"]
            assert "first saw/board 3/4 in/1" in earlier[each.key]
        if each.key.startswith("saw/board 3/4 in"):
            assert own["measure"] == total["measure"]
        if each.kind in ("pack", "measure"):
            assert "first aids/1" in earlier[each.key]
        if each.kind == "pack" and "aids/1" in by_key:
            assert "aids/1" in earlier[each.key]
        if each.kind == "saw" and each.key != "first saw/board 3/4 in/1":
            assert "first saw/board 3/4 in/1" in earlier[each.key]
    for lot in lots:
        own_keys = {each.key for each in project.activities if each.lot == lot}
        (last,) = (each for each in project.activities if each.lot == lot and each.due is not None)
        assert own_keys - earlier[last.key] - {last.key} == {key for key in own_keys if key.startswith("clamp/")}
        assert {by_key[key].lot for key in earlier[last.key]} <= {lot, ""}
    order = [each.key for each in project.activities if each.key.startswith("saw/board 3/4 in")]
    assert all(one in earlier[other] for one, other in pairwise(order))


@pytest.mark.invariant
@pytest.mark.parametrize("name", BOTH)
def test_boards_dry_at_once_and_keep_their_places(name: str) -> None:
    project = project_of(builder_of(planned(name)))
    by_key = {each.key: each for each in project.activities}
    packed = [each for each in project.activities if each.kind == "pack"]
    after = {each.before: each for each in project.precedences if by_key[each.after].kind == "dry"}
    boards = 0
    for each in packed:
        link = after[each.key]
        dry = by_key[link.after]
        assert (link.least, link.most, dry.people, dry.minutes) == (0, 0, 0, 2 * 1440)
        assert places(dry) == places(each) > 0
        boards += places(each)
    batch = planned(name)
    assert boards == sum(hives.to_pack for hives in batch.batch.hives if hives.is_packed)
    spare = {each.wanted for each in project.precedences if each.wanted > each.least}
    assert spare == {2 * 1440}


def places(activity: Activity) -> int:
    return sum(use.amount for use in activity.uses if use.resource == "places")


@pytest.mark.invariant
@pytest.mark.parametrize("name", BOTH)
def test_one_thing_after_another_is_a_schedule(name: str) -> None:
    """It keeps every lag and every capacity; so the horizon chosen by it is long enough."""
    project = project_of(builder_of(planned(name)))
    ends = serial_ends(project)
    assert ends is not None
    length = {each.key: each.minutes for each in project.activities}
    for each in project.precedences:
        lag = ends[each.after] - length[each.after] - ends[each.before]
        assert lag >= max(each.least, each.wanted)
        assert each.most is None or lag <= each.most
    for resource in project.resources:
        changes = []
        for activity in project.activities:
            for use in activity.uses:
                if use.resource == resource.key:
                    end = ends[activity.key]
                    changes += [(end, -use.amount), (end - activity.minutes, use.amount)]
        level = 0
        for _, change in sorted(changes):
            level += change
            assert level <= resource.capacity, resource


def test_places_on_the_tables_by_hand() -> None:
    """A 96 x 48 in table holds boards of 20 x 16 1/4 in in rows of 4 by 2, or turned 5 by 2: ten."""
    assert builder_of(with_crew(HOBBY, tables=1, backing_boards=None)).means.places == 10
    assert builder_of(with_crew(HOBBY, tables=3, backing_boards=None)).means.places == 30
    assert builder_of(with_crew(HOBBY, tables=3, backing_boards=12)).means.places == 12
    assert builder_of(with_crew(HOBBY, table=(inch(40), inch(20)), backing_boards=None)).means.places == 2
    with pytest.raises(InputError, match="a table on which a board lies flat"):
        builder_of(with_crew(HOBBY, table=(inch(19), inch(19))))


def test_what_the_car_carries() -> None:
    few = builder_of(with_crew(HOBBY, car_boards=4))
    assert few.means.trip == {"house yard": 4, "orchard": 4}
    trips = [each for each in project_of(few).activities if each.kind == "fit"]
    assert [each.lot for each in trips] == ["house yard"] * 4 + ["orchard"] * 3
    assert [each.due is not None for each in trips] == [False] * 3 + [True] + [False] * 2 + [True]
    near = builder_of(with_crew(HOBBY, car_boards=4, at_home=("house yard",)))
    at_home, *driven = (each for each in project_of(near).activities if each.kind == "fit")
    assert [each.lot for each in (at_home, *driven)] == ["house yard"] + ["orchard"] * 3
    assert at_home.uses == ()
    assert [step.what for step in at_home.steps] == ["Carry to the hives", "Put on"]
    assert all("Drive to an apiary and back" in [step.what for step in each.steps] for each in driven)
    light = with_crew(HOBBY, car_load=pound(10))
    assert builder_of(light).means.too_heavy == {"house yard", "orchard"}
    assert "weigh more than the car's load" in schedule_batch(light, effort="quick").warnings[0]


def heavy(workers: int) -> PlannedBatch:
    batch = planned(HOBBY)
    lines = [replace(u.line, setting=replace(u.line.setting, sugar=pound(45))) for u in batch.units]
    units = tuple(replace(unit, line=line) for unit, line in zip(batch.units, lines, strict=True))
    crew = batch.batch.crew
    crew = replace(crew, workers=tuple(replace(crew.workers[0], name=f"{n}") for n in range(workers)))
    return replace(batch, units=units, batch=replace(batch.batch, crew=crew))


def test_two_lift_a_heavy_board_and_one_is_told_to_ask() -> None:
    trips = [each.people for each in project_of(builder_of(heavy(2))).activities if each.kind == "fit"]
    assert set(trips) == {2}
    alone = schedule_batch(heavy(1), effort="quick")
    assert {each.people for each in project_of(builder_of(heavy(1))).activities if each.kind == "fit"} == {1}
    assert "Ask a helper to lift the boards for house yard" in alone.warnings[0]


def test_one_pair_of_clamps_makes_people_wait() -> None:
    free, slow = (builder_of(with_crew(HOBBY, clamps=n)) for n in (20, 1))
    waits = [part.wait for stage in slow.stages.values() for part in slow.parts(stage)]
    assert max(waits) > 0
    assert not any(part.wait for stage in free.stages.values() for part in free.parts(stage))
    steps = [step.what for each in project_of(slow).activities for step in each.steps]
    assert "Wait for clamps" in steps


def test_frames_that_share_clamps_are_not_all_in_them_at_the_end() -> None:
    said = [each.what for each in project_of(builder_of(with_crew(HOBBY, clamps=4))).activities if each.kind == "clamp"]
    assert any("in clamps, the last 4 of " in what for what in said)
    held = [each for each in project_of(builder_of(with_crew(HOBBY, clamps=99))).activities if each.kind == "clamp"]
    assert not any("the last" in each.what for each in held)


@pytest.mark.parametrize("minutes", [45, 0])
def test_the_packet_takes_clamps_for_as_long_as_the_days_do(minutes: int) -> None:
    batch = with_crew(HOBBY, clamp_minutes=minutes)
    said = [
        each.text for each in assembly_section(batch).blocks if isinstance(each, Paragraph) and each.lead == "Clamps:"
    ]
    rests = {each.minutes for each in project_of(builder_of(batch)).activities if each.kind == "clamp"}
    assert rests == ({45} if minutes else set())
    assert [text.startswith("Leave each glued frame in clamps for 45 min, ") for text in said] == [True] * bool(minutes)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"skills": ("saw",)}, "nobody with the skill"),
        ({"shifts": tuple(Shift(day, 540, 600) for day in range(7))}, "without a break for"),
    ],
)
def test_a_crew_that_cannot_do_it_is_refused(changes: dict[str, Any], said: str) -> None:
    crew: Crew = planned(HOBBY).batch.crew
    with pytest.raises(InputError, match=said):
        schedule_batch(with_crew(HOBBY, workers=(replace(crew.workers[0], **changes),)))


def without_dates(batch: PlannedBatch) -> PlannedBatch:
    hives = tuple(replace(each, due=None) for each in batch.batch.hives)
    units = tuple(replace(u, line=replace(u.line, hives=replace(u.line.hives, due=None))) for u in batch.units)
    return replace(batch, units=units, batch=replace(batch.batch, hives=hives))


def test_without_any_date_there_are_only_hours() -> None:
    found = schedule_batch(without_dates(planned(HOBBY)))
    assert found.schedule is None
    assert "There is no date" in found.why_none
    hours = {each.what: each.minutes for each in found.durations}
    assert hours["Buy"] == 90
    assert hours == {each.what: each.minutes for each in schedule_batch(planned(HOBBY), effort="quick").durations}


def test_far_too_much_work_ends_at_once() -> None:
    batch = planned(HOBBY)
    units = tuple(replace(u, line=replace(u.line, count=u.line.count * 5000)) for u in batch.units)
    found = schedule_batch(replace(batch, units=units))
    assert found.schedule is None
    assert "more work than the crew can do in a year" in found.why_none
    assert sum(each.minutes for each in found.durations) > 500_000


def test_the_hobby_batch_is_worked_back_from_its_day() -> None:
    """The last day of Ingrid's before 26 November is Sunday 22 November, after the last weekend of packing."""
    found = schedule_batch(planned(HOBBY), effort="quick")
    schedule: Schedule | None = found.schedule
    assert schedule is not None
    assert schedule.project.is_backward
    assert schedule_findings(schedule) == ()
    assert {each.name: each.value for each in schedule.goals if each.name != "span"} == {
        "tardiness": 0,
        "spare days": 0,
        "saw days": 2,
        "set-ups": 0,
    }
    assert all(each.source for each in found.defaults)
    assert {each.name for each in found.defaults} >= {"rip", "drive", "car_load", "glue_hours"}
    assert found.warnings == ()


def test_from_a_day_on_work_ends_early() -> None:
    late = schedule_batch(planned(HOBBY), today=date(2026, 10, 31), effort="quick").schedule
    assert late is not None
    assert not late.project.is_backward
    assert late.project.days[0].day == date(2026, 10, 31)
    assert late.goals[0].value > 0


def test_every_operation_has_a_page_or_none() -> None:
    pages = {op.page for stage in stages_of(planned(HOBBY))[0] for block in stage.blocks for op in block.ops}
    assert pages == {
        "", "Shopping", "First boards", "First article", "Cutting", "Parts and machining", "Assembly",
        "Mix, pack, place",
    }  # fmt: skip
    assert all(ALL_BY_KEY[key].name for key in counted(builder_of(planned(HOBBY))))


def test_dates_that_nobody_could_keep_are_refused() -> None:
    """A week before the day there is no time for glue, paint, drying and weekends, whoever helps."""
    with pytest.raises(ImpossibleDatesError) as refused:
        schedule_batch(planned(HOBBY), today=date(2026, 11, 21), effort="quick")
    assert refused.value.exit_code == 4
    said = str(refused.value)
    assert "16 days too few, even with more people at the same hours" in said
    assert "48 h: Boards for house yard dry" in said
    assert "The crew works on Saturday and Sunday only." in said
    assert "The same hours on every day are not enough either. Agree on a later day." in said
    assert "it is due by " in said
    found = {lot: day for day, lot in re.findall(r"(\w+ \d+, \d{4}) \((\w[\w ]*)\)", said.split(" With the same")[0])}
    assert "house yard" in found
    batch = planned(HOBBY).batch

    def agreed(hives: Hives) -> Hives:
        day = found.get(hives.apiary)
        return hives if day is None else replace(hives, due=datetime.strptime(day, "%B %d, %Y").date())

    later = replace(planned(HOBBY), batch=replace(batch, hives=tuple(map(agreed, batch.hives))))
    kept = schedule_batch(later, today=date(2026, 11, 21), effort="quick")
    assert kept.schedule is not None
    assert kept.schedule.goals[0].value == 0


def test_no_start_is_offered_before_the_day_on_which_prices_were_seen() -> None:
    """The lumberyard's prices of November 14 were seen then, so work cannot begin earlier."""
    whole = with_crew(HOBBY, start=date(2026, 11, 14))
    seen = replace(whole.batch.lumberyard, seen=date(2026, 11, 14))
    with pytest.raises(ImpossibleDatesError) as refused:
        schedule_batch(replace(whole, batch=replace(whole.batch, lumberyard=seen)), effort="quick")
    assert "Start by" not in str(refused.value)
    with pytest.raises(ImpossibleDatesError, match="Start by"):
        schedule_batch(whole, effort="quick")


def test_more_clamps_are_offered_only_if_the_work_as_it_is_then_planned_is_in_time(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    late = with_crew(HOBBY, start=date(2026, 10, 31))
    builder = builder_of(late)
    assert project_of(builder.with_crew(late.batch.crew)) == project_of(builder)
    assert project_of(builder.with_crew(replace(late.batch.crew, clamps=99))) != project_of(builder)
    place = "woodshop.schedule.late_orders"
    monkeypatch.setattr(f"{place}.cures", lambda *_, **__: Cures(more=("clamps",)))
    for is_cure in (True, False):
        monkeypatch.setattr(f"{place}.is_in_time", lambda *_, is_cure=is_cure: is_cure)
        found = schedule_batch(late, effort="quick").remedies
        assert ("Have twice as many clamps." in found) is is_cure


def test_hives_that_are_opened_on_a_winter_evening_are_named() -> None:
    worker = planned(HOBBY).batch.crew.workers[0]
    evenings = replace(worker, off=(), shifts=tuple(Shift(day, 17 * 60, 22 * 60) for day in range(7)))
    found = schedule_batch(with_crew(HOBBY, workers=(evenings,), start=date(2026, 10, 3)), effort="quick")
    assert any(each.startswith("Hives are opened when it may be dark: ") for each in found.warnings)
    by_day = replace(worker, off=(), shifts=tuple(Shift(day, 9 * 60, 17 * 60) for day in (5, 6)))
    found = schedule_batch(with_crew(HOBBY, workers=(by_day,), start=date(2026, 10, 3)), effort="quick")
    assert found.schedule is not None
    assert not any("dark" in each for each in found.warnings)


WEEKEND = "The crew works on Saturday and Sunday only."
EVERY_DAY = "The crew works on every day."


@pytest.mark.parametrize(
    ("start", "days", "said", "daily"),
    [
        (date(2026, 11, 14), (5, 6), WEEKEND, True),
        (date(2026, 11, 23), tuple(range(7)), EVERY_DAY, False),
    ],
)
def test_dates_that_cannot_be_kept_say_when_people_work_and_what_would_be_enough(
    start: date, days: tuple[int, ...], said: str, daily: bool
) -> None:
    """Each change that is named is made: then there is a schedule."""
    whole = planned(HOBBY)

    def refused(begin: date, on: tuple[int, ...]) -> str:
        worker = replace(whole.batch.crew.workers[0], off=(), shifts=tuple(Shift(day, 9 * 60, 17 * 60) for day in on))
        crew = replace(whole.batch.crew, start=begin, workers=(worker,))
        try:
            schedule_batch(replace(whole, batch=replace(whole.batch, crew=crew)), effort="quick")
        except ImpossibleDatesError as why:
            return str(why)
        return ""

    text = refused(start, days)
    assert said in text
    assert ("the same hours on every day leave enough time" in text) is daily
    if daily:
        assert refused(start, tuple(range(7))) == ""
    found = re.search(r"Start by (\w+ \d+, \d+), with start under", text)
    assert found is not None
    assert refused(datetime.strptime(found[1], "%B %d, %Y").date(), days) == ""


def test_dates_that_cannot_be_kept_without_a_crew_name_the_default_hours() -> None:
    whole = planned(HOBBY)
    default = Default("crew", "person", "one person, Saturday and Sunday, 9:00-12:00", "common practice, no source")
    crew = replace(whole.batch.crew, start=date(2026, 11, 21), defaults=(default,))
    with pytest.raises(ImpossibleDatesError, match=r"under .crew., so the default is used: one per"):
        schedule_batch(replace(whole, batch=replace(whole.batch, crew=crew)), effort="quick")


def test_an_order_that_is_overdue_is_late_and_still_planned() -> None:
    found = schedule_batch(planned(HOBBY), today=date(2026, 11, 28), effort="quick")
    assert found.schedule is not None
    assert found.schedule.goals[0].value > 0
    assert found.remedies != ()


@pytest.mark.slow("tries helpers, days and means one after another")
def test_a_late_order_says_what_would_cure_it() -> None:
    """From 31 October on, one person on weekends is too slow. Two are never later than one."""
    crew = planned(HOBBY).batch.crew
    start = with_crew(HOBBY, start=date(2026, 10, 31))
    late = schedule_batch(start, effort="quick")
    assert late.schedule is not None
    assert late.schedule.goals[0].value > 0
    assert late.remedies[0] == "Work the same hours on every day of the week."
    assert any(each.startswith("Start by ") for each in late.remedies)
    two = tuple(replace(crew.workers[0], name=name) for name in ("Ingrid", "Tomas"))
    helped = schedule_batch(with_crew(HOBBY, start=date(2026, 10, 31), workers=two), effort="quick")
    assert helped.schedule is not None
    assert helped.schedule.goals[0].value <= late.schedule.goals[0].value


def test_no_schedule_found_says_for_what(monkeypatch: pytest.MonkeyPatch) -> None:
    def none(*_: object, **__: object) -> Schedule:
        raise InfeasibleProjectError("time", ("pack/orchard/1",))

    monkeypatch.setattr("woodshop.schedule.schedule_batch.solve", none)
    found = schedule_batch(planned(HOBBY))
    assert found.schedule is None
    assert "mix and pack boards for orchard" in found.why_none
    assert found.durations


def test_paint_is_planned_only_if_the_shop_paints_and_then_for_all_units() -> None:
    """Without a shop file nothing is painted; two coats both cover the first units too, and the packet says how."""
    batch = planned(HOBBY)
    assert not [stage for stage in stages_of(batch)[0] if stage.kind == "paint"]
    assert not [
        each for each in assembly_section(batch).blocks if isinstance(each, Paragraph) and each.lead == "Paint:"
    ]
    shop = replace(batch, batch=replace(batch.batch, work=replace(batch.batch.work, coats=2)))
    stages, lots = stages_of(shop)
    walled = [u.line for u in batch.units if u.line.count and outside_area(u)]
    for lot in lots:
        wanted = sum(line.count for line in walled if line.hives in lot.groups)
        assert wanted
        assert [stage.units for stage in stages if stage.kind == "paint" and stage.lot == lot.name] == [wanted] * 2
    paint = [each for each in assembly_section(shop).blocks if isinstance(each, Paragraph) and each.lead == "Paint:"]
    assert len(paint) == len({line.item.name for line in walled})
    assert all(each.text.startswith("2 coats") for each in paint)
