"""What is done already, from the shop's book or from a sheet: it is not planned again."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from tests.once import planned
from woodshop.errors import InputError
from woodshop.plan.book.event_sheets import read_event_rows
from woodshop.plan.book.happened import Happened, happened_in_book, happened_on_sheet
from woodshop.plan.first_boards import first_boards
from woodshop.records.rows import events_from_rows
from woodshop.records.store import new_book
from woodshop.schedule.calendar import calendar_days
from woodshop.schedule.done import with_done
from woodshop.schedule.operations import Builder
from woodshop.schedule.schedule_batch import schedule_batch
from woodshop.schedule.stages import stages_of
from woodshop.schedule.values import Activity

HOBBY = "hobby-batch"
TODAY = date(2026, 11, 14)


@pytest.fixture(scope="module", autouse=True)
def _planned() -> None:
    """The batch is planned before the first test is timed."""
    planned(HOBBY)


def event(kind: str, day: date | None = None, **fields: object) -> Happened:
    return Happened(kind, day, fields, "the test")


def left(*happened: Happened, today: date = TODAY) -> dict[str, Activity]:
    """The activities that are left, by key."""
    batch = planned(HOBBY)
    stages, lots = stages_of(batch)
    builder = Builder(batch, with_done(batch, stages, lots, happened, today), lots)
    return {each.key: each for each in builder.activities(calendar_days(today, date(2026, 12, 31)))}


def finished(*items: str, box: str = "house tens", count: int = 20) -> list[Happened]:
    return [event("units finished", date(2026, 11, 1), item=item, box=box, count=count) for item in items]


def all_bought(*, without: int = 0) -> list[Happened]:
    lines = planned(HOBBY).purchases
    return [event("stock bought", stock=each.what, count=each.count) for each in lines[without:]]


def kinds(found: dict[str, Activity], lot: str | None = None) -> set[str]:
    return {each.kind for each in found.values() if lot is None or each.lot == lot}


def test_all_bought_ends_buying_and_one_line_less_does_not() -> None:
    assert "buy" in kinds(left())
    assert "buy" not in kinds(left(*all_bought()))
    assert "buy" in kinds(left(*all_bought(without=1)))


def sawn(found: dict[str, Activity]) -> int:
    return sum(each.minutes for each in found.values() if each.key.startswith("saw/board 3/4 in"))


def boards_cut(share: Fraction) -> list[Happened]:
    """The first boards, and a share of the others of each layout."""
    (plan, *_) = planned(HOBBY).plans
    first = first_boards(planned(HOBBY))[0]
    assert plan.job.material.name == "board 3/4 in"
    rest = sum(each.times for each in plan.plan.layouts) - first.boards
    more = int(rest * share)
    events = []
    for number, (layout, early) in enumerate(zip(plan.plan.layouts, first.times, strict=True), 1):
        late = min(more, layout.times - early)
        more -= late
        if early + late:
            events.append(event("layout cut", material=plan.job.material.name, layout=number, times=early + late))
    return events


def test_boards_cut_are_sawn_in_proportion() -> None:
    first = left(*boards_cut(Fraction(0)))
    assert not [key for key in first if key.startswith("first saw/board 3/4 in")]
    assert "run/1" not in first
    assert "build first/1" in first
    assert sawn(first) == sawn(left()) > 0
    some = left(*boards_cut(Fraction(1, 2)))
    assert 0 < sawn(some) < sawn(first)
    assert "build first/1" not in some
    assert sawn(left(*boards_cut(Fraction(1)))) == 0


def test_units_finished_are_machined_and_assembled() -> None:
    every = finished("fondant rim", "wire bottom", "spacer strips", "quilt box")
    found = left(*every)
    assert kinds(found, "house yard") == {"fill", "pack", "dry", "wrap", "fit"}
    assert "assemble" in kinds(found, "orchard")
    board = left(*finished("board"), *finished("quilt box"))
    assert set(board) == set(found)
    scrapped = left(*every, event("units scrapped", item="quilt box", box="house tens", count=1, reason="split"))
    assert "assemble" in kinds(scrapped, "house yard")


def test_boards_go_on_drying_from_the_day_they_were_packed() -> None:
    """Packed on the 12th, they dry until the end of the 14th: another 1,440 minutes on the morning of the 14th."""
    before = left()
    parts = [key for key in before if key.startswith("pack/house yard/")]
    boards = sum(use.amount for key in parts for use in before[key].uses)
    found = left(event("units packed", date(2026, 11, 12), item="fondant rim", box="house tens", count=boards))
    assert not [key for key in found if key.startswith("pack/house yard")]
    assert {each.minutes for each in found.values() if each.key.startswith("dry/house yard")} == {1440}
    assert {each.minutes for each in found.values() if each.key.startswith("dry/orchard")} == {2880}
    later = left(
        event("units packed", date(2026, 11, 12), item="board", box="house tens", count=boards),
        today=date(2026, 11, 15),
    )
    assert not [key for key in later if key.startswith("dry/house yard")]
    assert "wrap" in kinds(later, "house yard")


def test_some_packed_leave_the_rest_to_pack() -> None:
    before = left()
    parts = sorted(key for key in before if key.startswith("pack/house yard/"))
    first = before[parts[0]].uses[0].amount
    found = left(event("units packed", date(2026, 11, 8), item="fondant rim", box="house tens", count=first + 1))
    own = [found[key] for key in found if key.startswith("pack/house yard/")]
    assert [each.key for each in own] == parts[1:]
    assert own[0].minutes < before[parts[1]].minutes
    assert own[1:] == [before[key] for key in parts[2:]]


def test_what_is_on_the_hives_is_done() -> None:
    on = [
        event("units fitted", date(2026, 11, 13), item=item, box="house tens", count=13, hive="one")
        for item in ("board", "quilt box", "packing blocks")
    ]
    found = left(*on)
    assert kinds(found, "house yard") == set()
    assert "fit" in kinds(found, "orchard")


def test_nothing_is_left_when_all_is_done() -> None:
    on = [
        event("units fitted", date(2026, 11, 13), item=item, box=box, count=14, hive="one")
        for item in ("board", "quilt box")
        for box in ("house tens", "orchard tens", "orchard eights")
    ]
    made = [event("units finished", item=each.line.item.name, box=each.line.hives.name or each.line.hives.format,
                  count=max(1, each.line.count)) for each in planned(HOBBY).units]  # fmt: skip
    found = schedule_batch(planned(HOBBY), today=TODAY, happened=[*all_bought(), *made, *on])
    assert found.schedule is None
    assert found.why_none == "Everything is done."
    assert found.durations == ()


def test_the_rest_is_planned_from_today() -> None:
    found = schedule_batch(
        planned(HOBBY),
        today=date(2026, 11, 7),
        happened=[*all_bought(), *boards_cut(Fraction(1)), *finished("board", "quilt box")],
        effort="quick",
    )
    assert found.schedule is not None
    assert found.schedule.project.days[0].day == date(2026, 11, 7)
    assert not found.schedule.project.is_backward
    done = {each.activity for each in found.schedule.bookings}
    assert not {key for key in done if key.startswith(("buy", "saw/board 3/4", "assemble/house"))}


@pytest.mark.parametrize(
    ("happened", "said"),
    [
        ([event("units packed", date(2026, 11, 15), item="board", box="house tens", count=1)], "which is today"),
        ([event("layout cut", material="board 3/4 in", layout=999, times=1)], "a layout of this plan"),
        ([event("layout cut", material="mesh 1/2 in", layout=1, times=1)], "a layout of this plan"),
    ],
)
def test_events_that_cannot_be(happened: Sequence[Happened], said: str) -> None:
    with pytest.raises(InputError, match=said):
        left(*happened)


def test_finished_work_needs_a_day() -> None:
    with pytest.raises(InputError, match="Add --today"):
        schedule_batch(planned(HOBBY), happened=finished("board"))


def test_events_of_another_batch_do_not_count() -> None:
    other = [replace(each, fields=dict(each.fields) | {"batch": "spring"}) for each in all_bought()]
    assert "buy" in kinds(left(*other))


SHEET = """kind,day,id,item,box,count,of
units finished,2026-11-08,a,quilt box,house tens,4,
units finished,2026-11-08,b,quilt box,house tens,40,
units packed,2026-11-12,c,quilt box,house tens,3,
correction,,d,quilt box,house tens,2,b
undo,,e,,,,c
"""


def test_a_sheet_and_a_book_say_the_same(tmp_path: Path) -> None:
    sheet = tmp_path / "done.csv"
    sheet.write_text(SHEET, encoding="utf-8")
    found = happened_on_sheet(sheet, "in", "USD")
    assert [(each.kind, each.day, each.fields["count"]) for each in found] == [
        ("units finished", date(2026, 11, 8), 4),
        ("units finished", date(2026, 11, 8), 2),
    ]
    book = tmp_path / "shop.book"
    new_book(book, sent=events_from_rows(read_event_rows(sheet), "in", "USD"))
    assert happened_in_book(book) == found
    assert happened_in_book(book, after=1) == found[1:]
    assert happened_in_book(book, after=5) == ()


def test_the_sheet_of_the_guide(designs: Path) -> None:
    """On 7 November nothing of the house yard is left to assemble, and four of its boards dry for another day."""
    found = left(*happened_on_sheet(designs / "hobby-done.csv", "in", "USD"), today=date(2026, 11, 7))
    assert "assemble" not in kinds(found, "house yard")
    minutes = [each.minutes for each in found.values() if each.kind == "dry" and each.lot == "house yard"]
    assert sorted(minutes)[0] == 1440
    assert set(minutes) == {1440, 2880}
