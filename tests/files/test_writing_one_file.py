"""One file, whole or not at all; never over what is of another kind, an input, or anything when it must be new."""

import os
from pathlib import Path

import pytest

from tests.files.under_fire import struck
from woodshop.errors import InputError
from woodshop.files.one_file import refuse_existing, refuse_other, replace_file, write_new


def _is_plan(data: bytes) -> bool:
    return data.startswith(b"plan")


@pytest.fixture(autouse=True)
def _no_forcing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "fsync", lambda descriptor: None)


def test_a_new_file_is_never_written_over_anything(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"mine")
    (tmp_path / "folder").mkdir()
    (tmp_path / "dangling").symlink_to("nowhere")
    for name in ("file", "folder", "dangling"):
        with pytest.raises(InputError, match="already in use"):
            write_new(tmp_path / name, b"new", "the sheet")
    assert (tmp_path / "file").read_bytes() == b"mine"
    assert sorted(each.name for each in tmp_path.iterdir()) == ["dangling", "file", "folder"]


@pytest.mark.parametrize("name", ["x" * 300, "none/x", "file/x", "nul\0", "."])
def test_a_place_that_cannot_be_is_refused_before_any_work(tmp_path: Path, name: str) -> None:
    (tmp_path / "file").write_bytes(b"mine")
    for ask in (
        lambda path: refuse_existing(path, "the sheet"),
        lambda path: write_new(path, b"new", "the sheet"),
        lambda path: refuse_other(path, "a plan", _is_plan),
    ):
        with pytest.raises(InputError):
            ask(tmp_path / name)
    assert [each.name for each in tmp_path.iterdir()] == ["file"]


def test_only_a_file_of_the_same_kind_is_replaced(tmp_path: Path) -> None:
    plan, job, fifo = tmp_path / "plan", tmp_path / "job", tmp_path / "pipe"
    plan.write_bytes(b"plan 1")
    plan.chmod(0o640)
    job.write_bytes(b"plan, but it is read")
    (tmp_path / "other").write_bytes(b"design")
    (tmp_path / "link").symlink_to("plan")
    os.mkfifo(fifo)
    for name in ("job", "other", "pipe"):
        with pytest.raises(InputError):
            replace_file(tmp_path / name, b"plan 2", "a plan", _is_plan, job)
    replace_file(tmp_path / "link", b"plan 2", "a plan", _is_plan, job)
    assert plan.read_bytes() == b"plan 2"
    assert plan.stat().st_mode & 0o777 == 0o640
    assert (tmp_path / "link").is_symlink()
    assert (job.read_bytes(), (tmp_path / "other").read_bytes()) == (b"plan, but it is read", b"design")


@pytest.mark.invariant
@pytest.mark.parametrize("way", ["interrupt", "error", "kill"])
@pytest.mark.parametrize("over", [False, True])
def test_ended_at_any_call_it_is_old_or_new(tmp_path: Path, way: str, over: bool) -> None:
    for at in range(4):
        lumberyard = tmp_path / f"{at}"
        lumberyard.mkdir()
        path = lumberyard / "plan"
        if over:
            path.write_bytes(b"plan 1")
        write = (
            (lambda path=path: replace_file(path, b"plan 2", "a plan", _is_plan))
            if over
            else (lambda path=path: write_new(path, b"plan 2", "a plan"))
        )
        struck(write, at, way)
        assert (path.read_bytes() if path.exists() else b"") in (b"plan 1" if over else b"", b"plan 2")
        if way != "kill":
            assert [each.name for each in lumberyard.iterdir()] in ([], ["plan"])
        if not path.exists() or over:
            write()
            assert path.read_bytes() == b"plan 2"
            assert [each.name for each in lumberyard.iterdir()] == ["plan"]


def test_what_a_kill_left_is_never_written_into(tmp_path: Path) -> None:
    """Killed between the second name and the removal of the first: both are one file, which a person then fills in."""
    path = tmp_path / "sheet"
    for at in range(8):
        if not path.exists():
            struck(lambda: write_new(path, b"sheet", "the sheet"), at, "kill")
    assert path.exists()
    assert len(list(tmp_path.iterdir())) == 2
    path.rename(tmp_path / "filled in")
    (tmp_path / "filled in").write_bytes(b"filled in")
    write_new(path, b"another", "the sheet")
    assert (tmp_path / "filled in").read_bytes() == b"filled in"
    assert sorted(each.name for each in tmp_path.iterdir()) == ["filled in", "sheet"]
