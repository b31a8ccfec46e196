"""Whatever ends the writing of a result folder, and whenever: old or new, whole; nothing of others' touched.

The full count of interrupts and kills runs at night (`WOODSHOP_STRIKES=all`); here every n-th.
"""

import os
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.files.under_fire import (
    NEW,
    OLD,
    WAYS,
    Place,
    faults,
    furnished,
    left_over,
    lines,
    packet,
    steps,
    struck,
    struck_at_line,
)
from woodshop.cli import main
from woodshop.files.folder import is_half_written, recover, write_folder

ALL = os.environ.get("WOODSHOP_STRIKES") == "all"
SHAPES = ({}, {"is_new": True}, {"is_link": True}, {"is_new": True, "is_link": True})
pytestmark = [
    pytest.mark.forks,
    pytest.mark.skipif(not hasattr(os, "fork"), reason="no processes can be forked here"),
]


@pytest.fixture(autouse=True)
def _no_forcing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is forced onto the disk: that only takes time here."""
    monkeypatch.setattr(os, "fsync", lambda descriptor: None)


def _write(place: Place) -> None:
    write_folder(place.folder, NEW)


def _assert_next_run_mends(place: Place, is_new: bool) -> None:
    """The next run finds what was left and finishes or undoes it, then writes its own."""
    if place.folder.exists():
        assert is_half_written(place.folder) or packet(place) in (OLD, NEW, {})
        recover(place.folder.resolve())
        assert faults(place, is_new=is_new) == []
        assert left_over(place) == []
    write_folder(place.folder, NEW)
    assert packet(place) == NEW
    assert faults(place, is_new=is_new) == []
    assert left_over(place) == []
    assert not is_half_written(place.folder)


@pytest.mark.slow("a process for each pair of files")
def test_a_kill_between_two_files_is_noticed_by_verify(tmp_path: Path) -> None:
    counted = furnished(tmp_path / "counted")
    mixed = 0
    for n in range(steps(lambda: _write(counted))):
        place = furnished(tmp_path / str(n))
        struck(lambda place=place: _write(place), n, "kill")
        if packet(place) not in (OLD, NEW):
            mixed += 1
            done = CliRunner().invoke(main, ["verify", str(place.folder / "plan.json")])
            assert done.exit_code == 3
            assert "Plan again into this folder" in done.output
    assert mixed > 5


@pytest.mark.slow("a process for each call that is struck")
@pytest.mark.invariant
@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("shape", SHAPES, ids=str)
def test_ended_before_any_call_that_changes_files(tmp_path: Path, shape: dict[str, bool], way: str) -> None:
    is_new = shape.get("is_new", False)
    counted = furnished(tmp_path / "counted", **shape)
    number = steps(lambda: _write(counted))
    assert number > 30
    for at in range(0, number, 1 if ALL or not shape else 7):
        place = furnished(tmp_path / f"{at}", **shape)
        struck(lambda place=place: _write(place), at, way)
        mixed = way in ("kill", "lasting error")  # then the next run has to finish
        assert faults(place, is_new=is_new, may_be_mixed=mixed) == [], f"call {at}"
        _assert_next_run_mends(place, is_new)


@pytest.mark.slow("a run for each line that is struck")
@pytest.mark.invariant
@pytest.mark.filterwarnings("ignore::ResourceWarning", "ignore::pytest.PytestUnraisableExceptionWarning")
@pytest.mark.parametrize("shape", SHAPES, ids=str)
def test_interrupted_at_any_line(tmp_path: Path, shape: dict[str, bool]) -> None:
    is_new = shape.get("is_new", False)
    counted = furnished(tmp_path / "counted", **shape)
    number = lines(lambda: _write(counted))
    assert number > 200
    for at in range(0, number, 1 if ALL else 26):
        place = furnished(tmp_path / f"{at}", **shape)
        struck_at_line(lambda place=place: _write(place), at)
        assert faults(place, is_new=is_new) == [], f"line {at}"
        _assert_next_run_mends(place, is_new)


@pytest.mark.invariant
@pytest.mark.parametrize("first", ["kill", "lasting error"])
@pytest.mark.parametrize("then", ["kill", "interrupt"])
def test_the_run_that_finishes_may_be_ended_too(tmp_path: Path, first: str, then: str) -> None:
    counted = furnished(tmp_path / "counted")
    number = steps(lambda: _write(counted))
    for at in range(0, number, 1 if ALL else 14):
        for again in range(0, 12, 1 if ALL else 4):
            place = furnished(tmp_path / f"{at}-{again}")
            struck(lambda place=place: _write(place), at, first)
            struck(lambda place=place: write_folder(place.folder, NEW), again, then)
            assert faults(place, may_be_mixed=True) == []
            _assert_next_run_mends(place, False)
