"""`woodshop schedule`: from a written plan to the files of its days."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tests.once import DESIGNS, lists_only
from woodshop.cli import main
from woodshop.documents.days.days import DAYS_NAMES

pytestmark = pytest.mark.slow("plans a small batch, and schedules it several times")
LUMBERYARD = "creekside-lumberyard.toml"
SMALL = f"""format = "woodshop-design/2"
batch = "two-hives"
unit = "in"
lumberyard = "{LUMBERYARD}"
on_by = 2026-11-20
[[hives]]
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
[[crew.person]]
name = "Tomas"
hours = ["Sat 9:00-13:00"]
"""


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture(scope="module")
def design(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small design with its plan beside it, in a folder `out`; read only."""
    place = tmp_path_factory.mktemp("small")
    (place / LUMBERYARD).write_bytes((DESIGNS / LUMBERYARD).read_bytes())
    path = place / "two-hives.toml"
    path.write_text(SMALL, encoding="utf-8")
    with lists_only():
        result = run("plan", path, "--quick", "--out", place / "out")
    assert result.exit_code == 0, result.output
    return path


@pytest.fixture
def schedule(design: Path, tmp_path: Path) -> Callable[..., Result]:
    """Runs the command for the small design; its files are written to `days`."""
    plan = design.parent / "out" / "plan.json"
    return lambda *more: run("schedule", design, "--earlier", plan, "--out", tmp_path / "days", "--quick", *more)


def numbers(folder: Path) -> dict[str, int]:
    raw = json.loads((folder / "schedule.json").read_text(encoding="utf-8"))
    return {"number": raw["number"], "cancelled": len(raw["cancelled"])}


def test_it_writes_the_files_and_verify_finds_them_sound(schedule: Callable[..., Result], tmp_path: Path) -> None:
    result = schedule()
    assert result.exit_code == 0, result.output
    assert "Nobody is late." in result.stdout
    assert "Begin by " in result.stdout
    folder = tmp_path / "days"
    assert {path.name for path in folder.iterdir()} == {*DAYS_NAMES, "manifest.json"}
    assert run("verify", folder / "schedule.json").exit_code == 0
    first = {path.name: path.read_bytes() for path in folder.iterdir()}
    again = schedule("--json")
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == first
    assert json.loads(again.stdout)["late"] == []
    assert {row["person"] for row in json.loads(again.stdout)["work"]} <= {"Ingrid", "Tomas"}


def test_a_new_schedule_replaces_the_one_before(schedule: Callable[..., Result], tmp_path: Path) -> None:
    assert schedule().exit_code == 0
    folder = tmp_path / "days"
    assert numbers(folder) == {"number": 0, "cancelled": 0}
    later = schedule("--today", "2026-10-31")
    assert later.exit_code == 0, later.output
    assert "All work ends on " in later.stdout
    assert numbers(folder)["number"] == 1
    assert b"SEQUENCE:1" in (folder / "schedule.ics").read_bytes()
    assert b"DTSTAMP:20261031T000000Z" in (folder / "schedule.ics").read_bytes()
    impossible = schedule("--today", "2026-11-19")
    assert impossible.exit_code == 4
    assert "days too few" in impossible.stderr
    assert numbers(folder)["number"] == 1


def test_lateness_is_written_with_what_would_cure_it(design: Path, tmp_path: Path) -> None:
    """Ingrid does all but drill, and works on Saturdays; with more hands like Tomas's it could be done in time."""
    crew = """[crew]
[[crew.person]]
name = "Ingrid"
hours = ["Sat 9:00-12:00"]
[[crew.person]]
name = "Tomas"
hours = ["Mon-Fri 9:00-12:00", "Mon-Fri 13:00-17:00"]
skills = ["drill"]
"""
    path = design.parent / "late.toml"
    path.write_text(SMALL.partition("[crew]")[0] + crew, encoding="utf-8")
    words = ("--earlier", design.parent / "out" / "plan.json", "--out", tmp_path / "days", "--quick")
    late = run("schedule", path, *words, "--today", "2026-11-11")
    assert late.exit_code == 1, late.output
    assert "own hives are late by " in late.stdout
    assert "What would cure the lateness" in late.stdout
    assert run("verify", tmp_path / "days" / "schedule.json").exit_code == 0


def test_what_cannot_be_scheduled_is_one_error(schedule: Callable[..., Result], design: Path, tmp_path: Path) -> None:
    none = run("schedule", design, "--earlier", tmp_path / "plan.json")
    assert none.exit_code == 3
    assert none.stderr.count("error: ") == 1
    other = tmp_path / "schedule.json"
    for text in ("{}", '{"format": "woodshop-schedule/1"}'):
        other.write_text(text, encoding="utf-8")
        wrong = schedule("--replaces", other)
        assert wrong.exit_code == 3
        assert "schedule.json" in wrong.stderr
    assert schedule("--today", "November").exit_code == 2
    assert not (tmp_path / "days").exists()


def test_the_schedule_of_another_batch_is_not_replaced(schedule: Callable[..., Result], tmp_path: Path) -> None:
    from tests.fuzz.corrupt_schedules import schedule_file

    other = tmp_path / "schedule.json"
    other.write_text(json.dumps(schedule_file()), encoding="utf-8")
    wrong = schedule("--replaces", other)
    assert wrong.exit_code == 3
    assert "a schedule of 'orchard autumn'; wanted one of 'two-hives'" in wrong.stderr


def test_without_a_date_there_are_durations(design: Path, tmp_path: Path) -> None:
    path = design.parent / "undated.toml"
    path.write_text(SMALL.replace("on_by = 2026-11-20\n", ""), encoding="utf-8")
    result = run("schedule", path, "--earlier", design.parent / "out" / "plan.json", "--out", tmp_path / "days")
    assert result.exit_code == 0, result.output
    assert "There is no date." in result.stdout
    assert "time for one person" in result.stdout
    assert not (tmp_path / "days").exists()
