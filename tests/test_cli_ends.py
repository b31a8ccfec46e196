"""How a command ends from outside: its exit code, no traceback, nothing half written, left-overs mended."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from woodshop.cli import main

ROOT = Path(__file__).resolve().parents[1]
ANSWERS = ["--frames", "10", "--count", "6", "--gap", "1/4"]
RUN = [sys.executable, "-m", "woodshop"]


def _run(command: list[str], **extra: object) -> "subprocess.CompletedProcess[str]":
    extra = {"cwd": ROOT, "stderr": subprocess.PIPE, "text": True, "timeout": 300} | extra
    return subprocess.run([*RUN, *command], check=False, **extra)  # type: ignore[call-overload,no-any-return]


@pytest.mark.parametrize("command", [["items"], ["--help"], ["sources", "--json"], ["items", "--help"]])
def test_a_reader_that_goes_is_met_in_silence(command: list[str]) -> None:
    read, write = os.pipe()
    os.close(read)
    done = _run(command, stdout=write)
    os.close(write)
    assert (done.returncode, done.stderr) == (141, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
@pytest.mark.parametrize("command", [["items"], ["--help"], ["sources", "--json"], ["new", *ANSWERS]])
def test_a_full_device_is_one_message(command: list[str]) -> None:
    with open("/dev/full", "wb") as full:
        done = _run(command, stdout=full, stdin=subprocess.DEVNULL)
    assert done.returncode == 74
    assert done.stderr.startswith("error: standard output: given a place that cannot be read or written")
    assert len(done.stderr.splitlines()) == 1


def test_no_place_for_temporary_files_is_one_message(tmp_path: Path) -> None:
    environment = os.environ | {name: str(tmp_path / "none") for name in ("TMPDIR", "TEMP", "TMP")}
    code = "import tempfile; tempfile._candidate_tempdir_list = lambda: []; from woodshop.cli import main; main()"
    done = subprocess.run(
        [sys.executable, "-c", code, "page", str(tmp_path), "--no-browser"],
        cwd=ROOT, env=environment, capture_output=True, text=True, timeout=60,
    )  # fmt: skip
    assert (done.returncode, len(done.stderr.splitlines())) == (74, 1)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_messages_that_cannot_be_printed_do_not_end_a_run(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    with open("/dev/full", "wb") as full:  # that there is no such lumberyard file is said there
        done = _run(["new", str(path), *ANSWERS, "--lumberyard", "none.toml"], stdout=subprocess.PIPE, stderr=full)
    assert done.returncode == 0
    assert path.exists()


@pytest.mark.parametrize("closed", ["<&-", ">&-", "2>&-", "<&- >&- 2>&-"])
def test_closed_streams(closed: str, tmp_path: Path) -> None:
    command = f'exec "$0" -m woodshop new "$1" {" ".join(ANSWERS)} {closed}'
    done = subprocess.run(
        ["bash", "-c", command, sys.executable, str(tmp_path / "a.toml")], cwd=ROOT, capture_output=True, text=True
    )
    assert (done.returncode, "Traceback" in done.stderr) == (0, False)
    assert (tmp_path / "a.toml").exists()


@pytest.mark.parametrize(("number", "code"), [(signal.SIGINT, 130), (signal.SIGTERM, 143), (signal.SIGHUP, 129)])
def test_a_signal_ends_a_run_with_its_own_code(number: int, code: int, tmp_path: Path) -> None:
    command = [*RUN, "plan", "designs/hobby-batch.toml", "--out", str(tmp_path / "out")]
    heeds = "import os, sys; from signal import *; [signal(n, SIG_DFL) for n in (1, 2, 15)]; "
    heeds += "os.execv(sys.argv[1], sys.argv[1:])"
    child = subprocess.Popen(  # a run in the background ignores signals, and so would its children
        [sys.executable, "-c", heeds, *command], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    with child:
        assert child.stderr is not None
        child.stderr.readline()  # it is at work
        child.send_signal(number)
        out, err = child.communicate(timeout=120)
    assert child.returncode == code
    assert "Traceback" not in err + out
    assert list(tmp_path.iterdir()) == []


def test_text_that_is_half_a_character_is_one_message(tmp_path: Path) -> None:
    done = _run(["new", str(tmp_path / "a.toml"), *ANSWERS, "--name", os.fsdecode(b"\xff")], stdout=subprocess.PIPE)
    assert done.returncode == 3
    assert "Traceback" not in done.stderr
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "command",
    [
        ["plan", "designs/hobby-batch.toml", "--out", "."],
        ["plan", "designs/hobby-batch.toml", "--out", ""],
        ["plan", "designs/hobby-batch.toml", "--out", "x" * 300],
        ["plan", "designs/hobby-batch.toml", "--out", "README.md"],
        ["quote", "designs/ridge-club.toml", "--out", "/"],
        ["season", "designs/hobby-batch.toml", "--out", "README.md/x"],
        ["plan", "designs/order-run.toml", "--rest", "--earlier", "README.md", "--out", "."],
        ["cut", "designs/shelf-job.json", "--out", "designs/shelf-job.json"],
        ["cut", "designs/shelf-job.json", "--out", "README.md"],
        ["check", "designs/hobby-batch.toml", "--sheet", "README.md"],
        ["check", "designs/hobby-batch.toml", "--map", "none/there.pdf"],
        ["compare", "designs/hobby-batch.toml", "--vary", "wood=pine", "--picture", "README.md"],
        ["items", "quilt box", "--picture", "none/there.pdf"],
        ["new", "README.md"],
    ],
    ids=" ".join,
)
@pytest.mark.usefixtures("in_checkout")
def test_a_place_that_cannot_be_is_refused_before_any_work(command: list[str]) -> None:
    before = {path: path.stat().st_mtime_ns for path in (ROOT / "designs").iterdir()}
    done = CliRunner().invoke(main, command)
    assert done.exit_code == 3
    assert done.stderr.startswith("error: ")
    assert len(done.stderr.splitlines()) == 1  # nothing was worked out before
    assert {path: path.stat().st_mtime_ns for path in (ROOT / "designs").iterdir()} == before


@pytest.mark.parametrize(
    "command",
    [
        ["new", *ANSWERS, "\udcff"],
        ["plan", "designs/hobby-batch.toml", "--out", "\udcff"],
        ["cut", "designs/shelf-job.json", "--out", "a\udcff.json"],
        ["check", "\udcff.toml"],
    ],
    ids=lambda command: command[0],
)
def test_a_name_that_cannot_be_printed_is_refused_before_anything_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: list[str]
) -> None:
    (tmp_path / "designs").symlink_to(ROOT / "designs")
    monkeypatch.chdir(tmp_path)
    done = CliRunner().invoke(main, command)
    assert (done.exit_code, os.listdir(tmp_path)) == (2, ["designs"])
    assert "is not valid UTF-8. Rename it." in done.output
