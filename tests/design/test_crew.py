"""[crew] and crew files: what they say, what is listed, and what is refused."""

from datetime import date
from pathlib import Path

import pytest

from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.settings.crew import SKILLS, Crew, ExtraShift, Shift
from woodshop.design.settings.crew_table import CrewTable, settled_crew
from woodshop.design.settle.settle import settle
from woodshop.errors import InputError
from woodshop.units.lengths import inch

DESIGN = """format = "woodshop-design/2"
batch = "b"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
{head}
[[hives]]
frames = 10
count = 2
apiary = "orchard"
[[make]]
item = "board"
{tables}
"""
PERSON = '[[crew.person]]\nname = "Ingrid"\n'


def crew_of(folder: Path, designs: Path, tables: str = "", head: str = "") -> Crew:
    path = folder / "design.toml"
    path.write_text(DESIGN.format(head=head, tables=tables), encoding="utf-8")
    (folder / "creekside-lumberyard.toml").write_bytes((designs / "creekside-lumberyard.toml").read_bytes())
    design = read_design(path)
    batch = settle(design, read_lumberyards(design.lumberyards))
    assert batch.hives[0].apiary == "orchard"
    return batch.crew


def test_no_crew_is_one_person_on_weekends_and_all_is_listed(tmp_path: Path, designs: Path) -> None:
    crew = crew_of(tmp_path, designs)
    assert crew.is_default
    assert [(each.weekday, each.start, each.end) for each in crew.workers[0].shifts] == [
        (5, 540, 720),
        (5, 780, 1020),
        (6, 540, 720),
        (6, 780, 1020),
    ]
    assert crew.workers[0].skills == SKILLS
    said = {each.name for each in crew.defaults}
    optional = {"start", "backing_boards", "car_boards"}
    assert said == set(CrewTable.model_fields) - optional
    assert all(each.source for each in crew.defaults)
    assert (crew.tables, crew.table, crew.drying_days) == (1, (inch(96), inch(48)), 2)


def test_a_crew_as_written(tmp_path: Path, designs: Path) -> None:
    tables = f"""[crew]
start = 2026-10-03
zone = "America/New_York"
drying_days = 3
due_time = "17:00"
{PERSON}hours = ["Sat, Sun 9:00-12:00", "Fri-Sat 13-17:30", "Monday 22:00-24:00", "Fri-Mon 0:00 - 1:00"]
off = [2026-10-31, "2026-12-20 to 2027-01-03"]
extra = ["2026-11-04 18:00-21:00"]
skills = ["pack", "saw"]
"""
    crew = crew_of(tmp_path, designs, tables)
    (worker,) = crew.workers
    assert not crew.is_default
    assert {each.name for each in crew.defaults}.isdisjoint({"zone", "person", "drying_days", "due_time"})
    assert (crew.start, crew.due_clock) == (date(2026, 10, 3), 1020)
    assert worker.shifts == tuple(
        Shift(*each)
        for each in [
            (0, 0, 60),
            (0, 1320, 1440),
            (4, 0, 60),
            (4, 780, 1050),
            (5, 0, 60),
            (5, 540, 720),
            (5, 780, 1050),
            (6, 0, 60),
            (6, 540, 720),
        ]
    )
    assert (len(worker.off), worker.off[0], worker.off[-1]) == (16, date(2026, 10, 31), date(2027, 1, 3))
    assert worker.extra == (ExtraShift(date(2026, 11, 4), 1080, 1260),)
    assert worker.skills == ("saw", "pack")


def test_a_crew_file_is_the_same_crew(tmp_path: Path, designs: Path) -> None:
    body = 'tables = 3\n{}name = "Ingrid"\nhours = ["Sat 9-12"]\n'
    (tmp_path / "crew.toml").write_text('format = "woodshop-crew/1"\n' + body.format("[[person]]\n"), encoding="utf-8")
    named = crew_of(tmp_path, designs, head='crew = "crew.toml"')
    assert named == crew_of(tmp_path, designs, "[crew]\n" + body.format("[[crew.person]]\n"))


def test_hours_are_written_on_either_clock(tmp_path: Path, designs: Path) -> None:
    of_24 = crew_of(tmp_path, designs, f'[crew]\ndue_time = "17:30"\n{PERSON}hours = ["Mon-Sat 18-21", "Sun 0-12:30"]')
    of_12 = crew_of(
        tmp_path,
        designs,
        f'[crew]\ndue_time = "5:30 PM"\n{PERSON}hours = ["Mon to Sat 6 pm-9pm", "Sun 12 am to 12:30 p.m."]',
    )
    assert of_12 == of_24


def test_a_helper_of_one_day_and_a_crew_without_people(tmp_path: Path, designs: Path) -> None:
    assert crew_of(tmp_path, designs, f'{PERSON}extra = ["2026-11-07 9:00-12:00"]').workers[0].shifts == ()
    assert crew_of(tmp_path, designs, "[crew]\ntables = 2").workers == settled_crew(CrewTable()).workers


@pytest.mark.parametrize(
    ("tables", "said"),
    [
        ('[crew]\nzone = "America/NewYork"', "Did you mean 'America/New_York'?"),
        ('[crew]\nzone = "../zone"', "a time zone of the time zone database"),
        ('[crew]\nzone = "America"', "a time zone of the time zone database"),
        ("[crew]\ntables = 0", "1 or more"),
        ("[crew]\ntables = 1.5", "a whole number"),
        ("[crew]\ncar_load = 600", "a mass"),
        ('[crew]\ndue_time = "25:00"', "at most 24:00"),
        ("[crew]\ndue_time = 17", "a time of day such as 17:00"),
        ("[crew]\nstart = '2026-10-03'", "a date such as"),
        ("[crew]\nhelpers = 2", "the unknown key 'helpers'"),
        (PERSON, "no hours"),
        (f"{PERSON}hours = []", "no hours"),
        (f'{PERSON}hours = "Sat 9-17"', "a list in square brackets"),
        (f"{PERSON}hours = [9]", "text between quotes"),
        (f'{PERSON}hours = [["Sat 9-17"]]', "text between quotes"),
        (f'{PERSON}hours = ["Sat"]', "Write the days first"),
        (f'{PERSON}hours = ["9-17"]', "Write the days first"),
        (f'{PERSON}hours = ["Satn 9-17"]', "Did you mean 'Sat'?"),
        (f'{PERSON}hours = ["T 9-17"]', "The days are Mon, Tue"),
        (f'{PERSON}hours = ["Mon-Wed-Fri 9-17"]', "a range of days as Mon-Fri"),
        (f'{PERSON}hours = ["Sat 17:00-9:00"]', "with the end after the start"),
        (f'{PERSON}hours = ["Sat 9:00-9:00"]', "with the end after the start"),
        (f'{PERSON}hours = ["Sat 9:60-17:00"]', "24 hours of 60 minutes"),
        (f'{PERSON}hours = ["Sat 9:00-24:30"]', "24 hours of 60 minutes"),
        (f'{PERSON}hours = ["Sat 9-5 pm"]', "am or pm after both times"),
        (f'{PERSON}hours = ["Sat 13 pm-2 pm"]', "24 hours of 60 minutes"),
        (f'{PERSON}hours = ["Sat 9 to noon"]', "9 am-5 pm"),
        (f'{PERSON}hours = ["Sat 9-17", "Fri-Sun 16-18"]', "16:00-18:00 and 9:00-17:00 on Saturday"),
        (f'{PERSON}hours = ["Sat 9-17"]\noff = [2026-11-01]', "2026-11-01 (Sunday)"),
        (f'{PERSON}hours = ["Sat 9-17"]\noff = ["2026-11-07 to 2026-11-01"]', "the first day first"),
        (f'{PERSON}hours = ["Sat 9-17"]\noff = ["2026-11-31"]', "Write the year first"),
        (f'{PERSON}hours = ["Sat 9-17"]\noff = ["2026-11-01 to 2028-11-01"]', "no longer than a year"),
        (f'{PERSON}hours = ["Sat 9-17"]\noff = [2026-11-07T09:00:00]', "text between quotes"),
        (f'{PERSON}hours = ["Sat 9-17"]\nextra = ["2026-11-07 16-18"]', "that do not overlap"),
        (f'{PERSON}hours = ["Sat 9-17"]\noff = [2026-11-07]\nextra = ["2026-11-07 18-20"]', "also a day off"),
        (f'{PERSON}hours = ["Sat 9-17"]\nextra = ["Sat 18-20"]', "a day and hours"),
        (f'{PERSON}hours = ["Sat 9-17"]\nskills = ["sawing"]', "Did you mean 'saw'?"),
        (f'{PERSON}hours = ["Sat 9-17"]\nskills = []', "at least 1"),
        (f'{PERSON}hours = ["Sat 9-17"]\n{PERSON}hours = ["Sun 9-17"]', "each name once"),
        ('[[crew.person]]\nhours = ["Sat 9-17"]', "a value for 'name'"),
    ],
)
def test_what_a_crew_cannot_be(tmp_path: Path, designs: Path, tables: str, said: str) -> None:
    with pytest.raises(InputError) as refused:
        crew_of(tmp_path, designs, tables)
    assert said in str(refused.value)
    assert len(refused.value.problems) == 1


@pytest.mark.parametrize(
    ("head", "text", "said"),
    [
        ('crew = "nowhere.toml"', "", "no such file"),
        ('crew = "crew.toml"', "tables = 1", "woodshop-crew/1"),
        ('crew = "crew.toml"', 'format = "woodshop-crew/1"\nzone = "Mars"', "crew.toml, zone"),
        ('crew = "crew.toml"', 'format = "woodshop-crew/1"\n[[person]]\nname = "A"', "crew.toml, person number 1, A"),
        ("crew = 3", "", "a table"),
    ],
)
def test_what_a_crew_file_cannot_be(tmp_path: Path, designs: Path, head: str, text: str, said: str) -> None:
    (tmp_path / "crew.toml").write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as refused:
        crew_of(tmp_path, designs, head=head)
    assert said in str(refused.value)
    assert len(refused.value.problems) == 1
