"""Gives out the files of a planned batch: each by itself, or all in one zip file."""

import json
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from urllib.parse import quote
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from fastapi import Response
from fastapi.responses import PlainTextResponse
from nicegui import app

from woodshop.errors import InputError, Problem
from woodshop.files.folder import MANIFEST, is_half_written
from woodshop.files.one_file import read_file
from woodshop.page.opened.folder import Folder
from woodshop.page.opened.opened import OpenDesign
from woodshop.page.opened.safe_names import inside

_ALL = "all.zip"
_LARGEST = 1 << 28  # bytes
_DAY = (1980, 1, 1, 0, 0, 0)  # the first day that a zip file can give; no clock is read


@dataclass(frozen=True, slots=True)
class ResultFile:
    """A file of a planned batch: its path in the folder of results, and its size in bytes."""

    name: str
    size: int


def result_folder(opened: OpenDesign) -> Path:
    """The folder for the results of this design, there or not.

    Raises InputError if the design cannot be read, or if a link leads from there out of the folder of the page.
    """
    batch = opened.design().batch
    return inside(opened.path.parent, f"out/{batch}/{MANIFEST}", "folder for results").parent


def files_of(folder: Path) -> tuple[ResultFile, ...]:
    """The files that the manifest of a folder of results lists, and that are there. There are none without manifest.

    Raises InputError if a run ended while it replaced them, or if the manifest cannot be read.
    """
    if is_half_written(folder):
        given, do = "a folder whose replacement was interrupted", "Plan again. That finishes or undoes the replacement."
        raise InputError(Problem(str(folder), given, "a whole packet, not old and new files mixed", do))
    if not (folder / MANIFEST).is_file():
        return ()
    try:
        listed = json.loads(read_file(folder / MANIFEST, "the manifest of the results"))["sha256"]
        names = sorted(str(name) for name in listed)
    except (ValueError, KeyError, TypeError, RecursionError):
        do = "Move the folder away, and plan again."
        raise InputError(Problem(str(folder / MANIFEST), "text that is no manifest", "its files", do)) from None
    paths = ((name, inside(folder, name, MANIFEST)) for name in names)
    return tuple(ResultFile(name, path.stat().st_size) for name, path in paths if path.is_file())


def file_address(name: str, file: str) -> str:
    """The address from which a file of the design `name` is downloaded. `file` is its path, or "" for all in one."""
    return f"/design/{quote(name, safe='')}/result/{quote(file or _ALL)}"


def serve_results(folder: Folder) -> None:
    """Serves the files of the results of each design of the folder, to be saved, never shown as part of the page."""

    @app.get("/design/{name}/result/{file:path}")
    def result(name: str, file: str) -> Response:
        try:
            opened = folder.open(name)
            found = result_folder(opened)
            known = {each.name for each in files_of(found)}
            if file == _ALL and known:
                return _saved(f"{found.name}.zip", zipped(found))
            if file in known:
                return _saved(
                    Path(file).name, read_file(inside(found, file, "file name"), "a file of the results", _LARGEST)
                )
        except InputError as error:
            return PlainTextResponse(f"{error.problems[0]}\n", 404)
        return PlainTextResponse("There is no such file. Plan the batch first.\n", 404)


def zipped(folder: Path) -> bytes:
    """All files of a folder of results in one zip file, the same bytes for the same files."""
    made = BytesIO()
    with ZipFile(made, "w", ZIP_DEFLATED) as archive:
        for each in files_of(folder):
            info = ZipInfo(f"{folder.name}/{each.name}", _DAY)
            info.compress_type = ZIP_DEFLATED
            info.external_attr = 0o644 << 16
            archive.writestr(info, read_file(inside(folder, each.name, MANIFEST), "a file of the results", _LARGEST))
    return made.getvalue()


def _saved(name: str, data: bytes) -> Response:
    headers = {
        "Content-Disposition": f"attachment; filename*=UTF-8''{quote(name, safe='')}",
        "X-Content-Type-Options": "nosniff",
    }
    return Response(data, media_type="application/octet-stream", headers=headers)
