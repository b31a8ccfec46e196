"""A result folder is written whole, and only what is ours is ever replaced."""

import hashlib
import json
from pathlib import Path

import pytest

from woodshop.errors import InputError
from woodshop.files.folder import write_folder


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
    with pytest.raises(InputError, match="no earlier run of ours"):
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


def test_a_failed_exchange_leaves_the_old_result(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "a"
    write_folder(folder, {"x.txt": b"old"})
    rename = Path.rename

    def fail(self: Path, target: Path) -> Path:
        if ".new-" in self.name:
            raise OSError(28, "No space left on device")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", fail)
    with pytest.raises(InputError, match="No space left"):
        write_folder(folder, {"x.txt": b"new"})
    assert files_in(folder)["x.txt"] == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["a"]
