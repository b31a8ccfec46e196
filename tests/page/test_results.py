"""The files that the page gives out: those that the manifest lists, inside the folder of the page, and nothing else."""

import json
import os
from pathlib import Path
from zipfile import ZipFile

import pytest

from tests.page.served import copied
from woodshop.errors import InputError
from woodshop.files.folder import write_folder
from woodshop.page.opened.opened import OpenDesign
from woodshop.page.results import file_address, files_of, result_folder, zipped
from woodshop.page.shown import inputs_digest


@pytest.fixture
def opened(tmp_path: Path) -> OpenDesign:
    folder = copied(tmp_path / "designs")
    (tmp_path / "secret.txt").write_text("secret")
    return OpenDesign(folder / "hobby-batch.toml")


def test_listed_files_are_given_out_and_no_others(opened: OpenDesign, tmp_path: Path) -> None:
    folder = result_folder(opened)
    assert folder == opened.path.parent / "out" / "hobby-batch"
    assert files_of(folder) == ()
    write_folder(folder, {"packet.pdf": b"12345", "drawings/a.dxf": b"1"})
    (folder / "own.txt").write_text("a file of the user's")
    assert [(each.name, each.size) for each in files_of(folder)] == [("drawings/a.dxf", 1), ("packet.pdf", 5)]
    archive = tmp_path / "all.zip"
    archive.write_bytes(zipped(folder))
    with ZipFile(archive) as opened_zip:
        assert opened_zip.namelist() == ["hobby-batch/drawings/a.dxf", "hobby-batch/packet.pdf"]
        assert opened_zip.read("hobby-batch/packet.pdf") == b"12345"
        assert opened_zip.testzip() is None
    assert zipped(folder) == archive.read_bytes()
    assert file_address("a b", "drawings/ä.dxf") == "/design/a%20b/result/drawings/%C3%A4.dxf"


@pytest.mark.parametrize("name", ["../../../secret.txt", "/etc/passwd", "link.txt", "drawings"])
def test_a_manifest_leads_nowhere_else(opened: OpenDesign, tmp_path: Path, name: str) -> None:
    folder = result_folder(opened)
    write_folder(folder, {"drawings/a.dxf": b"1"})
    os.symlink(tmp_path / "secret.txt", folder / "link.txt")
    manifest = json.loads((folder / "manifest.json").read_text())
    manifest["sha256"][name] = "0"
    (folder / "manifest.json").write_text(json.dumps(manifest))
    with pytest.raises(InputError, match="folder of this page"):
        files_of(folder)


@pytest.mark.parametrize("text", ["", "[]", '{"sha256": 3}', "[" * 100_000])
def test_a_broken_manifest_is_refused(opened: OpenDesign, text: str) -> None:
    folder = result_folder(opened)
    folder.mkdir(parents=True)
    (folder / "manifest.json").write_text(text)
    with pytest.raises(InputError, match="no manifest"):
        files_of(folder)


def test_results_never_lie_outside_the_folder_of_the_page(opened: OpenDesign, tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    os.symlink(tmp_path / "elsewhere", opened.path.parent / "out")
    with pytest.raises(InputError, match="folder of this page"):
        result_folder(opened)


def test_a_half_written_folder_is_not_given_out(opened: OpenDesign) -> None:
    folder = result_folder(opened)
    write_folder(folder, {"packet.pdf": b"1"})
    (folder / ".woodshop-writing").mkdir()
    (folder / ".woodshop-writing" / "journal.json").write_text("{}")
    with pytest.raises(InputError, match="interrupted"):
        files_of(folder)


def test_the_digest_of_the_inputs_follows_every_file_that_the_design_names(opened: OpenDesign) -> None:
    first = inputs_digest(opened.path)
    assert inputs_digest(opened.path) == first
    for name in ("creekside-lumberyard.toml", "hobby-batch.toml"):
        path = opened.path.parent / name
        path.write_bytes(path.read_bytes() + b"\n")
        assert inputs_digest(opened.path) != first
        first = inputs_digest(opened.path)
