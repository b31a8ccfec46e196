"""The pages of a schedule: legible in black and white, nothing clipped or overlapping, and true to the schedule."""

import hashlib
import io
import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from itertools import combinations, pairwise
from pathlib import Path
from xml.etree import ElementTree

import pypdfium2
import pytest

from tests.documents.scheduled_batches import KINDS, answer, late
from tests.nightly import IS_NIGHT
from tests.schedule.small_projects import DAY, goals_of, large, small
from woodshop.documents.days.days import DAYS_NAMES, days_document, days_files, schedule_section
from woodshop.documents.days.gantt import gantt_section, gantt_svg
from woodshop.documents.days.goals import goal_sentences, late_lots, lots_table
from woodshop.documents.days.looks import looks_of
from woodshop.documents.days.sheets import person_sections
from woodshop.documents.days.weeks import booked, calendar_section, shown_days
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.pens.section_json import section_json
from woodshop.drawing.pens.text import section_text
from woodshop.drawing.values.model import KeepTogether, Paragraph, SetOut, Table
from woodshop.drawing.values.paper import Word
from woodshop.drawing.values.style import TINTS
from woodshop.schedule.blocks import blocks_of
from woodshop.schedule.calendar import calendar_days, day_of
from woodshop.schedule.chain import deciding_chain
from woodshop.schedule.schedule_json import WrittenSchedule, read_schedule, schedule_to_json
from woodshop.schedule.scheduled import ScheduledBatch
from woodshop.schedule.values import GOALS, Activity, Goal, Person, Schedule
from woodshop.schedule.verify_schedule import schedule_findings
from woodshop.units.wording import weekday_in_short, weekday_text

NASTY = (
    "=1+1",
    "<b>Ann & Co.</b> \x07\x1b[31m",
    "\u202eevil",
    "Wolfeschlegelsteinhausenbergerdorff" * 4,
    "Zoë 🐝",
    "Zoë B",
)


def renamed(schedule: Schedule) -> Schedule:
    """The schedule with hostile names of people, orders, operations and steps."""
    project = schedule.project
    people = dict(zip((each.name for each in project.people), NASTY[2:], strict=False))
    lots = dict(zip(dict.fromkeys(each.lot for each in project.activities if each.lot), NASTY, strict=False))

    def other(each: Activity) -> Activity:
        what = f"{each.what}\r\nX-EVIL:1; , \\ {NASTY[3]}"
        return replace(each, lot=lots.get(each.lot, ""), what=what, kind=f"{each.kind} {NASTY[1]}", steps=())

    named = tuple(replace(each, name=people[each.name]) for each in project.people)
    return replace(
        schedule,
        project=replace(project, people=named, activities=tuple(map(other, project.activities))),
        bookings=tuple(
            replace(each, people=tuple(sorted(people[name] for name in each.people))) for each in schedule.bookings
        ),
    )


def nasty() -> ScheduledBatch:
    return replace(answer("small"), schedule=renamed(small()))


@pytest.mark.invariant
@pytest.mark.slow("measures every character of the finished pages")
@pytest.mark.parametrize(("name", "paper"), [("small", "letter"), ("late", "a4"), ("large", "letter"), ("nasty", "a4")])
def test_nothing_overlaps_or_leaves_the_page(
    name: str, paper: str, assert_printed_apart: Callable[[bytes], int]
) -> None:
    if name == "large" and not IS_NIGHT:
        pytest.skip("18 pages: at night")
    scheduled = nasty() if name == "nasty" else answer(name)
    assert assert_printed_apart(write_pdf(days_document(scheduled), paper)) < 25


@pytest.mark.invariant
@pytest.mark.parametrize("make", [small, late, large, lambda: renamed(small())])
def test_pictures_hold_their_words_apart(make: Callable[[], Schedule]) -> None:
    sections = (calendar_section(make(), KINDS), gantt_section(make(), {}))
    sheets = [block.sheet for section in sections for block in section.blocks if isinstance(block, SetOut)]
    assert len(sheets) >= 5
    for sheet in sheets:
        words = [mark for mark in sheet.marks if isinstance(mark, Word)]
        assert words
        for word in words:
            assert word.size >= 9
            assert sheet.box.left <= word.box.left
            assert word.box.right <= sheet.box.right
            assert sheet.box.bottom <= word.box.bottom
        for one, other in combinations(words, 2):
            assert not one.box.grown(-0.6).meets(other.box.grown(-0.6)), (one, other)


@pytest.mark.invariant
def test_people_differ_without_color() -> None:
    people = [Person(name=f"P{n} x", skills=frozenset(), windows=()) for n in range(72)]
    looks = list(looks_of(people).values())
    assert len({look.pattern for look in looks[:9]}) == 9
    assert len({(look.pattern, look.tint) for look in looks}) == 72
    assert looks[0].name == "P0"
    same = [Person(name=f"Ann {last}", skills=frozenset(), windows=()) for last in ("Ash", "Birch")]
    assert [look.name for look in looks_of(same).values()] == ["Ann Ash", "Ann Birch"]


@pytest.mark.outside("WCAG 2.2, success criterion 1.4.6 and relative luminance: contrast of 7 : 1 for text")
def test_black_type_is_clear_on_every_tint() -> None:
    def linear(part: float) -> float:
        return part / 12.92 if part <= 0.04045 else float(((part + 0.055) / 1.055) ** 2.4)

    for parts in TINTS.values():
        luminance = sum(share * linear(part) for share, part in zip((0.2126, 0.7152, 0.0722), parts, strict=True))
        assert (luminance + 0.05) / 0.05 > 10


@pytest.mark.invariant
def test_every_block_is_on_its_sheet_and_in_the_json() -> None:
    """Each person's times and work: nothing is lost between schedule and paper."""
    scheduled = answer("small")
    pdf = pypdfium2.PdfDocument(io.BytesIO(write_pdf(days_document(scheduled))))
    pages = [page.get_textpage().get_text_bounded() for page in pdf]
    sheets = "\n".join(page for page in pages if "what to do" in page)
    blocks = blocks_of(small())
    assert sum((each.end - each.start) for each in blocks) == sum(
        (each.end - each.start) * len(each.people) for each in small().bookings
    )
    assert len(re.findall(r"\d (?:am|pm)|noon", sheets)) >= len(blocks)
    data = section_json(schedule_section(scheduled, Path("out")))
    assert [row["activities"] for row in data["work"]] == [[a.key for a in each.activities] for each in blocks]
    json.dumps(data)
    for name in ("Ada Miller", "Ben Ortiz"):
        assert f"Work of {name}" in sheets
    assert "Setting 4: fence at 4 3/8 in" in sheets.replace("\u2044", "/")


@pytest.mark.invariant
def test_goals_are_said_in_plain_words() -> None:
    assert goal_sentences(small())[:4] == (
        "Nobody is late.",
        "Everything that dries has the spare days that you want before it is loaded.",
        "The saw is used on 1 day. Fewer would not do.",
        "Each saw setting is set up once.",
    )
    end = "All work ends on Saturday, October 31, 11:30 am. (An end before "
    assert goal_sentences(small())[4].startswith(end)
    assert goal_sentences(small())[5].startswith("Buy the wood before Saturday, October ")
    assert late_lots(late()) == (("Alder Lane", 7), ("Hill Farm", 7))
    said = " ".join(goal_sentences(late()))
    assert "Alder Lane is late by 7 days: due Sunday, October 18. " in said
    assert "would do is not known." in said
    goals = (Goal("tardiness", 28, 28), Goal("saw days", 3, 2), Goal("set-ups", 1, 1), Goal("spare days", 2880, 1440))
    said = " ".join(goal_sentences(replace(late(), goals=goals)))
    assert "With this crew no schedule is less late" in said
    assert "The saw is used on 3 days. At least 2 are needed; whether fewer than 3 would do is not known." in said
    assert "again 1 time. Fewer would not do." in said
    assert "Whether they could have more is not known." in said
    end = small().project.days[-1].window.end
    goals = (Goal("span", end - 540, end - 600),)
    backward = replace(small(), project=replace(small().project, is_backward=True), goals=goals)
    begin = (
        "Begin by Saturday, October 10, 9 am. "
        "(A start after Saturday, October 10, 10 am, is impossible; whether one between would do is not known.)"
    )
    assert goal_sentences(backward)[-1] == begin


@pytest.mark.invariant
def test_each_order_has_its_dates_on_the_first_page() -> None:
    """Counted again from the bookings: boards that dry, the last of them, and the days before the due day."""
    schedule = small()
    table = lots_table(schedule, KINDS)
    assert table is not None
    activities = {each.key: each for each in schedule.project.activities}
    assert {row[0] for row in table.rows} == {each.lot for each in activities.values() if each.lot}
    for row in table.rows:
        own = [each for each in schedule.bookings if activities[each.activity].lot == row[0]]
        dry = [each for each in own if activities[each.activity].kind == "dry"]
        assert row[1] == str(sum(activities[each.activity].uses[0].amount for each in dry))
        due = next(activities[each.activity].due for each in own if activities[each.activity].due is not None)
        assert due is not None
        assert int(str(row[-1])) == (due - max(each.end for each in own)) // DAY
    assert {row[-1] for row in (lots_table(late(), KINDS) or table).rows} == {"LATE"}


@pytest.mark.invariant
@pytest.mark.parametrize(
    ("what", "has_mesh"), [("cut 1/8 in mesh", True), ("cut cloth", False), ("cut anything", True)]
)
def test_a_sheet_has_the_cautions_of_its_own_work(what: str, has_mesh: bool) -> None:
    """Mesh is cut only where the sheet names it, or does not say what is cut."""
    project = small().project
    activities = tuple(replace(each, what=what) if each.kind == "metal" else each for each in project.activities)
    scheduled = replace(answer("small"), schedule=replace(small(), project=replace(project, activities=activities)))
    sheets = [each for each in days_document(scheduled).sections if each.title.startswith("Work of ")]
    kept = [each for sheet in sheets for block in sheet.blocks for each in getattr(block, "blocks", ())]
    leads = {each.lead for each in kept if isinstance(each, Paragraph)}
    assert "Caution, table saw:" in leads
    assert ("Caution, mesh:" in leads) == has_mesh


@pytest.mark.invariant
def test_the_chain_that_decides_the_end_is_without_a_break() -> None:
    chain = deciding_chain(small())
    booked = {each.activity: each for each in small().bookings}
    assert chain[-1] == small().bookings[-1].activity
    assert chain[0] == "buy"
    for one, other in pairwise(chain):
        assert booked[one].end <= booked[other].start
    assert deciding_chain(late())[-1].endswith(" fit")
    backward = replace(small(), project=replace(small().project, is_backward=True))
    first = min((each for each in small().bookings if each.people), key=lambda each: (each.start, each.activity))
    assert deciding_chain(backward)[0] == first.activity


def test_lateness_and_due_dates_are_marked() -> None:
    svg = gantt_svg(late(), KINDS).decode()
    ElementTree.fromstring(svg)
    assert "LATE by 7 days" in re.sub(r"<[^>]+>", "", svg)
    calendar = calendar_section(late(), KINDS)
    words = " ".join(
        mark.text for block in calendar.blocks if isinstance(block, SetOut) for mark in block.sheet.marks
        if isinstance(mark, Word)
    ).replace("\u00a0", " ")  # fmt: skip
    assert "DUE Alder Lane, LATE: done Sat, Oct 24" in words
    assert "20 drying" in words


def test_work_due_before_the_first_day_is_said_to_be() -> None:
    made = late()
    first = made.project.days[0].day
    project = replace(
        made.project,
        activities=tuple(replace(each, due=None if each.due is None else 0) for each in made.project.activities),
    )
    overdue = replace(made, project=project)
    said = " ".join(goal_sentences(overdue))
    assert f" or more: due before {weekday_text(first)}." in said
    assert f"due before {weekday_in_short(first)}" in re.sub(r"<[^>]+>", "", gantt_svg(overdue, KINDS).decode())


def test_days_due_before_and_after_the_days_of_the_schedule_are_shown_where_they_belong() -> None:
    made = late()
    days = made.project.days
    before, after = days[0].day - timedelta(days=12), days[-1].day + timedelta(days=20)
    dues = {"Alder Lane": 0, "Hill Farm": days[-1].window.end}
    activities = tuple(
        replace(each, due=None if each.due is None else dues[each.lot]) for each in made.project.activities
    )
    project = replace(made.project, activities=activities, outside_dues=(("Alder Lane", before), ("Hill Farm", after)))
    schedule = replace(made, project=project, goals=goals_of(project, made.bookings))
    assert read_schedule(json.dumps(schedule_to_json(WrittenSchedule(schedule))), "x").schedule == schedule
    assert not [each for each in schedule_findings(schedule) if "outside" in str(each)]
    moved = replace(schedule, project=replace(project, outside_dues=(("Alder Lane", days[0].day),)))
    assert any("outside_dues" in str(each) for each in schedule_findings(moved))
    ((name, many),) = late_lots(schedule)
    last = max(each.end for each, activity in booked(schedule) if activity.lot == "Alder Lane" and activity.due == 0)
    assert (name, many) == ("Alder Lane", (day_of(days, last - 1).day - before).days)
    assert f"{many} days: due {weekday_text(before)}." in " ".join(goal_sentences(schedule))
    shown = shown_days(schedule)
    assert (shown[0], shown[-1]) == (before, after)
    svg = re.sub(r"<[^>]+>", "", gantt_svg(schedule, KINDS).decode())
    assert all(f"due {weekday_in_short(day)}" in svg for day in (before, after))
    leads = [block.lead for block in calendar_section(schedule, KINDS).blocks if isinstance(block, Paragraph)]
    assert [f"Due on {weekday_text(day)}:" for day in (before, after)] == [each for each in leads if each]


def test_months_without_work_take_a_line_and_little_of_the_chart() -> None:
    """The last load and its trip to the hives 200 days later, with a due date in between."""
    project = small().project
    days = calendar_days(project.days[0].day, project.days[-1].day + timedelta(days=200), project.zone)
    last = {each.activity for each in small().bookings[-2:]}
    moved = tuple(
        replace(each, start=each.start + 200 * DAY, end=each.end + 200 * DAY) if each.activity in last else each
        for each in small().bookings
    )
    schedule = replace(small(), project=replace(project, days=days), bookings=moved)
    said = [block.text for block in calendar_section(schedule, KINDS).blocks if isinstance(block, Paragraph)]
    assert "Monday, November 16 to Sunday, May 16: nothing to do." in said
    pictures = [block for block in gantt_section(schedule, KINDS).blocks if isinstance(block, SetOut)]
    assert len(pictures) == 3


def test_when_all_is_done_nothing_is_left_to_do() -> None:
    project = replace(small().project, activities=(), precedences=())
    done = Schedule(project=project, bookings=(), goals=tuple(Goal(name, 0, 0) for name in GOALS))
    assert schedule_findings(done) == ()
    scheduled = replace(answer("small"), schedule=done)
    assert "Nothing is left to do." in section_text(schedule_section(scheduled, None))
    assert set(days_files(scheduled)) == set(DAYS_NAMES)


def test_without_a_schedule_there_are_durations() -> None:
    none = replace(answer("small"), schedule=None, why_none="The design has no date.")
    assert days_files(none) == {}
    text = section_text(schedule_section(none, None))
    assert "The design has no date." in text
    assert "3 h 30 min" in text
    assert section_json(schedule_section(none, None))["durations"][0]["minutes"] == 150


def test_without_a_zone_there_is_no_calendar_file() -> None:
    plain = replace(small(), project=replace(small().project, zone=""))
    files = days_files(replace(answer("small"), schedule=plain))
    assert set(files) == set(DAYS_NAMES) - {"schedule.ics"}
    assert "America/New_York" in section_text(schedule_section(replace(answer("small"), schedule=plain), None))


def digests() -> dict[str, str]:
    return {name: hashlib.sha256(data).hexdigest() for name, data in days_files(nasty()).items()}


@pytest.mark.slow("draws everything in a second process")
def test_the_same_schedule_gives_the_same_bytes() -> None:
    code = "import json; from tests.documents.test_days import digests; print(json.dumps(digests()))"
    env = os.environ | {"PYTHONHASHSEED": "7", "TZ": "Asia/Tokyo", "LC_ALL": "C"}
    done = subprocess.run(
        [sys.executable, "-c", code], env=env, capture_output=True, text=True, check=True, timeout=120
    )
    assert json.loads(done.stdout) == digests()


def test_work_at_hives_is_for_daylight() -> None:
    """Common practice, no source: each putting on of hardware says so, and no other work does."""
    schedule = small()
    at_hives = sum(len(booking.people) for booking, each in booked(schedule) if each.kind == "fit")
    rows = [
        str(row[2])
        for section in person_sections(schedule, lambda _: ())
        for kept in section.blocks
        if isinstance(kept, KeepTogether)
        for table in kept.blocks
        if isinstance(table, Table)
        for row in table.rows
    ]
    assert sum("daylight" in row for row in rows) == at_hives > 0
    assert at_hives < len(rows)
