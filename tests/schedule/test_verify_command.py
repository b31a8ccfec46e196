"""`woodshop verify` of a schedule file."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.fuzz.corrupt_plans import sealed
from tests.fuzz.corrupt_schedules import schedule_file
from woodshop.cli import main


def verify(path: Path, *more: str) -> tuple[int, str]:
    result = CliRunner().invoke(main, ["verify", str(path), *more])
    return result.exit_code, result.output


@pytest.mark.invariant
def test_a_sound_schedule_passes_and_a_changed_one_does_not(tmp_path: Path) -> None:
    path = tmp_path / "schedule.json"
    raw = schedule_file()
    path.write_text(json.dumps(raw), encoding="utf-8")
    code, said = verify(path)
    assert code == 0
    assert "sound" in said
    assert "44 activities, 2 people" in said
    assert json.loads(verify(path, "--json")[1])["sound"] is True
    raw["bookings"][3]["start"] += 5
    raw["bookings"][3]["end"] += 5
    path.write_text(json.dumps(raw), encoding="utf-8")
    assert "schedule-changed" in verify(path)[1]
    path.write_text(json.dumps(sealed(raw)), encoding="utf-8")
    code, said = verify(path)
    assert code == 1
    assert "NOT SOUND" in said
    assert "schedule-disagrees" in said


def test_options_for_plans_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "schedule.json"
    path.write_text(json.dumps(schedule_file()), encoding="utf-8")
    code, said = verify(path, "--job", str(path))
    assert code == 2
    assert "--job was given for a schedule" in said


def test_a_file_that_is_no_whole_schedule_is_one_error(tmp_path: Path) -> None:
    path = tmp_path / "schedule.json"
    for text in ('{"format": "woodshop-schedule/1"}', '{"format": "woodshop-schedule/9"}', '"woodshop-schedule/'):
        path.write_text(text, encoding="utf-8")
        code, said = verify(path)
        assert code == 3
        assert said.startswith("error: ")
