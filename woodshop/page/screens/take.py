"""The screen *take it with you*: every file of the plan with what it is for, each to download, or all in one file."""

from pathlib import PurePosixPath

from nicegui import ui

from woodshop.documents.result import RESULT_WORDS, result_words
from woodshop.errors import InputError
from woodshop.files.folder import MANIFEST
from woodshop.page.batch_work import BatchWork, work_on
from woodshop.page.frame import address, screen
from woodshop.page.opened.opened import OpenDesign
from woodshop.page.results import ResultFile, file_address, files_of, result_folder
from woodshop.page.work_panel import note_if_old, show_work
from woodshop.units.wording import LengthUnit


@screen("take", "Take it with you", 70)
def take(opened: OpenDesign, _unit: LengthUnit) -> None:
    """Shows the files of the last plan."""
    work = work_on(opened)
    work.read_earlier()
    show_work(work, lambda: _take(work, opened))


def _take(work: BatchWork, opened: OpenDesign) -> None:
    name = opened.path.stem
    try:
        folder = result_folder(opened)
        files = files_of(folder)
    except InputError as error:
        for problem in error.problems:
            ui.label(f"Error: {problem}").classes("problem")
        return
    if not files:
        ui.label("There is nothing to take yet: the files are made when you plan the batch.")
        ui.link("Plan this batch", address(name, "cut"))
        return
    if work.shown is not None:
        note_if_old(work)
    elif not work.is_running:
        ui.label("These files are of an earlier plan. The design has changed since. Plan again.").classes("old-plan")
    ui.label(f"The files are in the folder {folder.parent.name}/{folder.name}, and here to download.")
    ui.link("Download all in one file", file_address(name, "")).props("download").classes("primary large")
    order = list(RESULT_WORDS)
    own = sorted((each for each in files if each.name in RESULT_WORDS), key=lambda each: order.index(each.name))
    _list(name, own)
    others = [each for each in files if each.name not in RESULT_WORDS and each.name != MANIFEST]
    if others:
        with ui.element("details"):
            with ui.element("summary"):
                ui.label(f"Drawings and bee-space maps: {len(others)} files")
            _list(name, others)


def _list(name: str, files: list[ResultFile]) -> None:
    with ui.element("ul").classes("files"):
        for each in files:
            with ui.element("li"):
                ui.link(PurePosixPath(each.name).name, file_address(name, each.name)).props("download")
                ui.label(f"{result_words(each.name)} {_size(each.size)}")


def _size(count: int) -> str:
    return f"{count / 1e6:.1f} MB" if count >= 1e6 else f"{max(1, round(count / 1e3))} kB"
