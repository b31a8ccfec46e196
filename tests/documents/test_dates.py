"""The dates of the packet: those of the bookings, on the front page, at the parts and in the terminal."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from click.testing import CliRunner

from tests.once import DESIGNS, bought, lists_only, scheduled
from woodshop.cli import main
from woodshop.design.settings.buying import Days
from woodshop.documents.days.days import DAYS_NAMES
from woodshop.documents.packet.due import BatchDates, LotDates, batch_dates, date_blocks, date_texts
from woodshop.documents.packet.front import front_chapter
from woodshop.documents.packet.parts import parts_section
from woodshop.documents.result import result_section
from woodshop.drawing.values.model import Paragraph, Section, Table
from woodshop.schedule.calendar import clock_time
from woodshop.schedule.schedule_batch import schedule_batch
from woodshop.schedule.values import Schedule
from woodshop.units.wording import weekday_in_short, weekday_text

pytestmark = pytest.mark.slow("plans demo designs that no other test has planned")
RUN = "order-run"
SMALL = """format = "woodshop-design/2"
batch = "two-hives"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
on_by = 2026-11-20
[[hives]]
name = "tens"
customer = "Ada Fern"
frames = 10
width = "16 1/4"
count = 2
gap = "1/4"
[[make]]
item = ["fondant rim", "wire bottom"]
[crew]
zone = "America/New_York"
[[crew.person]]
name = "Ingrid"
hours = ["Sat-Sun 9:00-12:00", "Sat-Sun 13:00-17:00"]
"""


def blocks_in(blocks: Any, kind: type) -> list[Any]:
    found: list[Any] = []
    for block in blocks:
        inside = [getattr(block, name, ()) for name in ("blocks", "left", "right")]
        found += [block] if isinstance(block, kind) else [each for some in inside for each in blocks_in(some, kind)]
    return found


def schedule_of(name: str) -> Schedule:
    schedule = scheduled(name).schedule
    assert schedule is not None
    return schedule


def dates_of(name: str) -> BatchDates:
    dates = batch_dates(bought(name), schedule_of(name))
    assert dates is not None
    return dates


def worked(schedule: Schedule, lot: str, *kinds: str) -> list[date]:
    """The days of some work on a lot, from the bookings and the clock."""
    activities = {each.key: each for each in schedule.project.activities}
    days, zone = schedule.project.days, schedule.project.zone
    return [
        clock_time(days, zone, minute).date()
        for each in schedule.bookings
        if each.people and activities[each.activity].lot == lot and activities[each.activity].kind in kinds
        for minute in (each.start, each.end - 1)
    ]


@pytest.mark.invariant
@pytest.mark.parametrize("name", ["hobby-batch", RUN])
def test_the_dates_are_those_of_the_bookings(name: str) -> None:
    schedule, dates = schedule_of(name), dates_of(name)
    assert {each.lot for each in schedule.project.activities} == {"", *(lot.name for lot in dates.lots)}
    for lot in dates.lots:
        assert lot.pack == max(worked(schedule, lot.name, "pack"), default=None)
        assert lot.send == max(worked(schedule, lot.name, "fit", "hand over"), default=None)
        assert lot.send is not None
        assert lot.due is None or lot.send <= lot.due
        assert lot.build is not None
        assert lot.build <= (lot.pack or lot.send)
    assert dates.saw == (min(sawn := worked(schedule, "", "saw")), max(sawn))
    assert dates.begin == min(clock_time(schedule.project.days, "", each.start).date() for each in schedule.bookings)
    assert sum(lot.boards for lot in dates.lots) == sum(
        each.to_pack for each in bought(name).batch.hives if each.board_form == "packed"
    )


def test_the_front_page_and_the_terminal_say_the_dates(tmp_path: Path) -> None:
    planned, dates = bought("hobby-batch"), dates_of("hobby-batch")
    front = front_chapter(planned, (Section("Cutting", ()),), dates)
    (said,) = (each.text for each in blocks_in(front.blocks, Paragraph) if each.lead == "Working back from due dates.")
    shown = result_section(planned, tmp_path, scheduled("hobby-batch")).data
    assert f"Buy by {weekday_text(dates.begin)}, {dates.begin.year}" in said
    assert said.startswith(str(shown["begin"]))
    for lot in dates.lots:
        assert lot.pack is not None
        assert lot.send is not None
        words = f"{lot.name}: pack by {weekday_in_short(lot.pack)}, put on the hives {weekday_in_short(lot.send)}."
        assert words in said
        assert words in str(shown["days"])
    assert "Packed boards dry" not in str(front)


def test_many_orders_have_a_row_each_and_parts_are_needed_when_they_are_built() -> None:
    planned, dates = bought(RUN), dates_of(RUN)
    (table,) = blocks_in(date_blocks(dates), Table)
    assert [row[1] for row in table.rows] == [lot.name for lot in dates.lots]
    ida = table.rows[0]
    assert ida[:4] == ("Sat, Nov 14", "order M-1, Ida Sorrel", "6", "6")
    assert ida[4:] == tuple(weekday_in_short(day) for day in (dates.lots[0].pack, dates.lots[0].send) if day)
    needed = {
        row[-1]
        for each in blocks_in(parts_section(planned, (), dates).blocks, Table)
        for row in each.rows
        if each.columns[-1].heading == "needed by"
    }
    assert needed
    assert needed <= {f"{lot.build}, order {order}" for lot in dates.lots for order in {h.order for h in lot.groups}}


def test_what_is_late_is_said_with_its_days() -> None:
    dates = dates_of(RUN)
    late = replace(dates, lots=(replace(dates.lots[0], late=2), replace(dates.lots[1], late=1), *dates.lots[2:]))
    (table,) = blocks_in(date_blocks(late), Table)
    assert [row[-1].partition("(")[2] for row in table.rows[:3]] == ["2 days late)", "1 day late)", ""]
    assert "Some orders are late" in str(date_blocks(late))
    assert date_texts(late)["days"].count("2 late: ") == 1
    few = replace(late, lots=late.lots[:1])
    assert "2 days late." in str(date_blocks(few))


def test_a_default_crew_is_said() -> None:
    lots: tuple[LotDates, ...] = ()
    dates = BatchDates(
        begin=date(2026, 10, 3), buy=date(2026, 10, 4), saw=None, lots=lots, is_latest=False, is_default=True
    )
    text = str(date_blocks(dates))
    assert "Begin on Saturday, October 3, 2026. Buy by Sun, Oct 4." in text
    assert "one person on weekends (a default, as no crew is given)" in text


def test_the_day_to_resaw_by_is_said() -> None:
    lots: tuple[LotDates, ...] = ()
    dates = BatchDates(
        begin=date(2026, 10, 3), buy=date(2026, 10, 3), saw=(date(2026, 10, 17), date(2026, 10, 18)), lots=lots,
        is_latest=False, is_default=True, resaw=date(2026, 10, 4), rest=10,
    )  # fmt: skip
    text = str(date_blocks(dates))
    assert "Resaw boards by Sun, Oct 4: they rest for 10 days before they are planed. Saw from Sat, Oct 17" in text
    assert "Resaw" not in str(date_blocks(replace(dates, resaw=None, rest=0)))


@pytest.fixture
def packet_and_lists() -> Iterator[None]:
    with lists_only("packet"):
        yield


@pytest.mark.usefixtures("packet_and_lists")
def test_the_command_writes_the_days_and_dates_that_nobody_can_keep_do_not_stop_it(tmp_path: Path) -> None:
    """The second time from a day that is too late: the days of before are gone, and the front page says why."""
    (tmp_path / "creekside-lumberyard.toml").write_bytes((DESIGNS / "creekside-lumberyard.toml").read_bytes())
    (tmp_path / "design.toml").write_text(SMALL, encoding="utf-8")
    words = ["plan", str(tmp_path / "design.toml"), "--quick", "--out", str(tmp_path / "out")]
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 0, done.output
    assert {name for name in DAYS_NAMES if (tmp_path / "out" / name).exists()} == set(DAYS_NAMES)
    assert "begin     Buy by S" in done.stdout
    before = (tmp_path / "out" / "manifest.json").read_bytes()
    assert CliRunner().invoke(main, words).exit_code == 0
    assert (tmp_path / "out" / "manifest.json").read_bytes() == before, "the same again"
    only = ["plan", str(tmp_path / "design.toml"), "--only", "Ada Fern", "--out", str(tmp_path / "ada")]
    done = CliRunner().invoke(main, [*only, "--earlier", str(tmp_path / "out" / "plan.json")])
    assert done.exit_code == 0, done.output
    assert "Each day and person: days.pdf." in first_page(tmp_path / "ada")
    done = CliRunner().invoke(main, [*words, "--today", "2026-11-17"])
    assert done.exit_code == 0, done.output
    assert "No schedule. Due day of Ada Fern: " in done.stdout
    assert not any((tmp_path / "out" / name).exists() for name in DAYS_NAMES)
    page = first_page(tmp_path / "out")
    late, why = page.index("These dates cannot be kept."), page.index("Why the dates cannot be kept.")
    assert late < page.index("Read the warnings below, then cut."), "nobody reads that all is well first"
    assert why < page.index("Work back from the date.")
    assert "cannot be kept" in page[: page.index("Decide or measure first")].lower(), "the date itself says it"


def first_page(folder: Path) -> str:
    page = pypdfium2.PdfDocument(folder / "packet.pdf")[0].get_textpage().get_text_bounded()
    return " ".join(str(page).split())


def test_without_any_date_the_packet_is_as_before() -> None:
    planned = bought("hobby-batch")
    hives = tuple(replace(each, due=None) for each in planned.batch.hives)
    names = {each.name: each for each in hives}
    units = tuple(replace(unit, line=replace(unit.line, hives=names[unit.line.hives.name])) for unit in planned.units)
    crew = replace(planned.batch.crew, start=None)
    batch = replace(planned.batch, hives=hives, days=Days(), crew=crew, lines=tuple(unit.line for unit in units))
    undated = replace(planned, batch=batch, units=units)
    assert batch_dates(undated, schedule_batch(undated, effort="quick").schedule) is None
    front = front_chapter(undated, (), None)
    assert not any(each.lead.startswith("Working back") for each in blocks_in(front.blocks, Paragraph))
