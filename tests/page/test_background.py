"""Work in the background: lines of progress, a result or problems, and a cancel that leaves no half-written folder."""

import os
import time
from pathlib import Path

import pytest

from tests.page import worked
from woodshop.errors import Problem
from woodshop.files.folder import is_half_written
from woodshop.page.background import BackgroundTask

LONG = 60.0  # seconds: much more than any of this takes


def ended(task: BackgroundTask) -> BackgroundTask:
    assert task.wait(LONG)
    assert not task.is_running
    return task


def test_a_result_and_its_progress_arrive() -> None:
    started = BackgroundTask.start(worked.add_up, [1, 2, 3])
    named = BackgroundTask.start("tests.page.worked:refuse")
    broken = BackgroundTask.start(worked.break_down)
    failed = BackgroundTask.start(worked.fail)
    task = ended(started)
    assert (task.result, task.progress) == (6, ["adding 1", "adding 2", "adding 3"])
    assert not task.problems
    assert ended(named).problems == (Problem("a", "b", "c", "d"), Problem("e", "f", "g", "h"))
    for each in (ended(broken), ended(failed)):
        (problem,) = each.problems
        assert "fault of the program" in problem.given
        assert each.result is None


def test_a_cancel_leaves_a_whole_folder(tmp_path: Path) -> None:
    for n, pause in enumerate((0.0, 0.013, 0.029)):
        folder, marks = tmp_path / f"result-{n}", tmp_path / f"marks-{n}"
        task = BackgroundTask.start(worked.write_again, folder, marks)
        while not marks.exists():
            assert task.is_running, task.problems
            time.sleep(0.01)
        time.sleep(pause)
        task.cancel()
        task.cancel()
        assert ended(task).is_canceled
        assert (task.result, task.problems) == (None, ())
        assert not is_half_written(folder)
        assert len({path.read_bytes() for path in folder.glob("*.txt")}) == 1
        assert len(list(folder.glob("*.txt"))) == 20


def test_a_cancel_after_the_end_changes_nothing() -> None:
    task = ended(BackgroundTask.start(worked.add_up, [4]))
    task.cancel()
    assert (task.result, task.is_canceled) == (4, False)


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="looks for the process under /proc")
def test_the_work_ends_with_the_one_who_started_it(tmp_path: Path) -> None:
    mark = tmp_path / "waiting"
    ended(BackgroundTask.start(worked.start_and_die, mark))
    number = int(mark.read_text())
    until = time.monotonic() + LONG
    while _is_alive(number):
        assert time.monotonic() < until
        time.sleep(0.05)


def _is_alive(number: int) -> bool:
    try:
        os.kill(number, 0)
        return "State:\tZ" not in Path(f"/proc/{number}/status").read_text()
    except (ProcessLookupError, FileNotFoundError):
        return False
