"""A result folder is written whole, and only what is ours is ever replaced."""

import fcntl
import hashlib
import json
import os
from pathlib import Path

import pytest

from tests.files.under_fire import NEW, faults, furnished, packet, steps, struck
from woodshop.errors import InputError
from woodshop.files import folder as folder_module
from woodshop.files.folder import WRITING, claimed, write_folder
from woodshop.files.one_file import write_new


def files_in(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_manifest_hashes_every_file(tmp_path: Path) -> None:
    write_folder(tmp_path / "a", {"x.txt": b"one", "d/y.txt": b"two"})
    there = files_in(tmp_path / "a")
    manifest = json.loads(there.pop("manifest.json"))
    assert manifest["sha256"] == {name: hashlib.sha256(data).hexdigest() for name, data in there.items()}
    assert there == {"x.txt": b"one", "d/y.txt": b"two"}


def test_what_an_earlier_run_wrote_is_replaced_or_removed_and_the_rest_stays(tmp_path: Path) -> None:
    folder = tmp_path / "a"
    write_folder(folder, {"x.txt": b"one", "d/old.txt": b"two"})
    (folder / "d/mine.txt").write_bytes(b"mine")
    (folder / "note.txt").write_bytes(b"note")
    write_folder(folder, {"x.txt": b"three"})
    there = files_in(folder)
    del there["manifest.json"]
    assert there == {"x.txt": b"three", "d/mine.txt": b"mine", "note.txt": b"note"}
    assert [p.name for p in tmp_path.iterdir()] == ["a"]


def test_a_foreign_file_in_the_way_is_refused_and_nothing_changes(tmp_path: Path) -> None:
    folder = tmp_path / "a"
    folder.mkdir()
    (folder / "x.txt").write_bytes(b"mine")
    with pytest.raises(InputError, match="not written by woodshop"):
        write_folder(folder, {"x.txt": b"ours", "y.txt": b"ours"})
    assert files_in(folder) == {"x.txt": b"mine"}
    assert [p.name for p in tmp_path.iterdir()] == ["a"]


def test_a_file_with_the_folder_s_name_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"mine")
    with pytest.raises(InputError, match="a file of that name"):
        write_folder(tmp_path / "a", {"x.txt": b"ours"})
    assert (tmp_path / "a").read_bytes() == b"mine"


@pytest.mark.parametrize("broken", ["{", "[]", '{"format": "other"}', '{"format": "woodshop-manifest/1"}'])
def test_a_manifest_that_cannot_be_read_makes_every_file_foreign(tmp_path: Path, broken: str) -> None:
    folder = tmp_path / "a"
    folder.mkdir()
    (folder / "x.txt").write_bytes(b"mine")
    (folder / "manifest.json").write_text(broken)
    with pytest.raises(InputError):
        write_folder(folder, {"x.txt": b"ours"})
    assert (folder / "x.txt").read_bytes() == b"mine"


@pytest.mark.parametrize("out", [".", "", "..", "/", "~", "inner/..", "link to here"])
def test_a_place_that_no_result_may_take_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, out: str) -> None:
    here = tmp_path / "lumberyard/here"
    here.mkdir(parents=True)
    (here / "inner").mkdir()
    (here / "link to here").symlink_to(here)
    monkeypatch.chdir(here)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    (tmp_path / "home").mkdir()
    folder = Path(out).expanduser()
    before = sorted(tmp_path.rglob("*"))
    for ask in (lambda: write_folder(folder, {"x.txt": b"ours"}), lambda: claimed(folder).__enter__()):
        with pytest.raises(InputError, match=r"the folder you are in|above the one you|root of the disk|home folder"):
            ask()
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.parametrize(
    ("out", "given"),
    [
        ("x" * 300, "File name too long"),
        ("a/" + "x" * 300 + "/b", "File name too long"),
        ("file/inner", "a file in the way"),
        ("file", "a file of that name"),
        ("nul\0", "cannot be written"),
    ],
)
def test_a_name_that_cannot_be_is_refused_before_any_work(tmp_path: Path, out: str, given: str) -> None:
    (tmp_path / "file").write_bytes(b"mine")
    with pytest.raises(InputError, match=given), claimed(tmp_path / out):
        pass
    with pytest.raises(InputError, match=given):
        write_folder(tmp_path / out, {"x.txt": b"ours"})
    assert [each.name for each in tmp_path.iterdir()] == ["file"]


def test_a_folder_without_rights_above_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "access", lambda path, mode: Path(path) != tmp_path)
    with pytest.raises(InputError, match="Permission denied"), claimed(tmp_path / "a/b"):
        pass


def test_what_is_in_the_way_is_refused_before_any_work(tmp_path: Path) -> None:
    folder = tmp_path / "a"
    (folder / "packet.pdf").mkdir(parents=True)
    with pytest.raises(InputError, match="a folder where a file must go"), claimed(folder, ["packet.pdf"]):
        pass
    (folder / "packet.pdf").rmdir()
    (folder / "drawings").write_bytes(b"mine")
    with pytest.raises(InputError, match="a folder not made by woodshop"), claimed(folder, ["drawings/x.dxf"]):
        pass
    assert files_in(folder) == {"drawings": b"mine"}


def test_two_runs_at_once_are_told_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(folder_module, "_PAUSE", 0)
    folder = tmp_path / "a"
    write_folder(folder, {"x.txt": b"one"})
    other = os.open(folder, os.O_RDONLY)
    fcntl.flock(other, fcntl.LOCK_EX)
    with pytest.raises(InputError, match="another run is writing"), claimed(folder):
        pass
    with pytest.raises(InputError, match="another run is writing"):
        write_folder(folder, {"x.txt": b"two"})
    assert files_in(folder)["x.txt"] == b"one"
    os.close(other)
    with claimed(folder):
        write_folder(folder, {"x.txt": b"two"})
    assert files_in(folder)["x.txt"] == b"two"
    assert sorted(each.name for each in tmp_path.rglob("*")) == ["a", "manifest.json", "x.txt"]


def test_a_manifest_cannot_lead_out_of_the_folder(tmp_path: Path) -> None:
    folder = tmp_path / "a"
    write_folder(folder, {"x.txt": b"one"})
    (tmp_path / "mine.txt").write_bytes(b"mine")
    (folder / "in").symlink_to(tmp_path)
    names = ["../mine.txt", str(tmp_path / "mine.txt"), "in/mine.txt", "", ".", "x.txt/../../mine.txt"]
    listed = {"format": "woodshop-manifest/1", "sha256": dict.fromkeys(["x.txt", *names], "")}
    (folder / "manifest.json").write_text(json.dumps(listed))
    write_folder(folder, {"y.txt": b"two"})
    assert (tmp_path / "mine.txt").read_bytes() == b"mine"
    assert sorted(each.name for each in folder.iterdir()) == ["in", "manifest.json", "y.txt"]


@pytest.mark.parametrize("kind", ["link", "folder"])
def test_a_link_or_folder_put_in_the_place_of_our_file_is_not_ours(tmp_path: Path, kind: str) -> None:
    folder = tmp_path / "a"
    write_folder(folder, {"x.txt": b"one"})
    (tmp_path / "mine.txt").write_bytes(b"mine")
    (folder / "x.txt").unlink()
    if kind == "link":
        (folder / "x.txt").symlink_to(tmp_path / "mine.txt")
    else:
        (folder / "x.txt").mkdir()
    with pytest.raises(InputError):
        write_folder(folder, {"x.txt": b"two"})
    assert (tmp_path / "mine.txt").read_bytes() == b"mine"
    write_folder(folder, {"y.txt": b"two"})
    assert (folder / "x.txt").is_symlink() or (folder / "x.txt").is_dir()


def test_a_file_put_in_the_way_after_a_kill_is_kept(tmp_path: Path) -> None:
    place = furnished(tmp_path / "lumberyard")
    number = steps(lambda: write_folder(place.folder, NEW))
    for at in range(number):
        place = furnished(tmp_path / f"{at}")
        struck(lambda place=place: write_folder(place.folder, NEW), at, "kill")
        if (place.folder / WRITING / "journal.json").exists() and not (place.folder / "b.pdf").exists():
            break
    else:
        pytest.fail("no kill between the journal and the new file")
    (place.folder / "b.pdf").write_bytes(b"mine")
    with pytest.raises(InputError, match="not written by woodshop"):
        write_folder(place.folder, NEW)
    assert (place.folder / "b.pdf").read_bytes() == b"mine"
    (place.folder / "b.pdf").unlink()
    write_folder(place.folder, NEW)
    assert packet(place) == NEW
    assert faults(place) == []


def test_a_disk_without_second_names(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*names: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    place = furnished(tmp_path / "lumberyard")
    monkeypatch.setattr(os, "link", refuse)
    write_folder(place.folder, NEW)
    assert packet(place) == NEW
    assert faults(place) == []
    write_new(tmp_path / "new.txt", b"new", "the sheet")
    assert (tmp_path / "new.txt").read_bytes() == b"new"


def test_the_mode_of_a_replaced_file_and_of_the_folder_stay(tmp_path: Path) -> None:
    folder = tmp_path / "a"
    write_folder(folder, {"x.txt": b"one"})
    folder.chmod(0o711)
    (folder / "x.txt").chmod(0o600)
    write_folder(folder, {"x.txt": b"two"})
    assert [path.stat().st_mode & 0o777 for path in (folder, folder / "x.txt")] == [0o711, 0o600]
