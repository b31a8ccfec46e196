"""The screen *take it with you*: every file of the plan with what it is for, each to download, or all in one file."""

from collections.abc import Sequence
from pathlib import PurePosixPath

from nicegui import ui

from woodshop.documents.result_words import RESULT_WORDS, result_words
from woodshop.files.folder import MANIFEST
from woodshop.page.batch_work import BatchWork, work_on
from woodshop.page.controls import link, press, words
from woodshop.page.frame import address, screen
from woodshop.page.opened.opened import OpenDesign
from woodshop.page.results import ResultFile, file_address, files_of, result_folder
from woodshop.page.saw import saw_address
from woodshop.page.work_panel import note_if_passed, show_work
from woodshop.units.wording import LengthUnit

_TO_READ = ("packet.pdf", "report.pdf", "templates.pdf", "story-stick.pdf", "labels.pdf", "days.pdf", "schedule.ics")
"""The files that people print, or put on their phone; the others are folded away."""


@screen("take", "Take it with you", 70)
def take(opened: OpenDesign, unit: LengthUnit) -> None:
    """Shows the files of the last plan, which are the same in every `unit`."""
    work = work_on(opened)
    work.read_earlier()
    show_work(work, lambda: _take(work, opened))


def _take(work: BatchWork, opened: OpenDesign) -> None:
    name = opened.path.stem
    folder = result_folder(opened)
    files = files_of(folder)
    if not files:
        if not work.is_running:
            words("p", "There is nothing to take yet. The files are made when you plan the batch.")
            link("Go to Cut and buy", address(name, "cut"))
        return
    shown = work.shown
    is_old = not work.is_running if shown is None else not (work.is_current and shown.is_planned)
    note_if_passed(work)
    if is_old:
        words("p", "These files are of the old plan. The design has changed since. Plan again.").classes("old-plan")
        if not work.is_running:
            press("Plan this batch again", work.plan, is_main=True)
    of_old = " of the old plan" if is_old else ""
    words("p", f"The files{of_old} are in the folder {folder.parent.name}/{folder.name}. Download what you need:")
    everything = link(f"Download all{f' files{of_old}' if is_old else ''} in one file", file_address(name, ""))
    everything.classes("press" if is_old else "press main-press").props["download"] = True
    if any(each.name == "saw.html" for each in files):
        words("p", "Stand at the saw with one cut at a time, and tick what is done:")
        link("Go to the saw page", saw_address(name)).classes("press")
    order = list(RESULT_WORDS)
    listed = sorted((each for each in files if each.name in order), key=lambda each: order.index(each.name))
    _list(name, [each for each in listed if each.name in _TO_READ])
    if rest := [each for each in listed if each.name not in _TO_READ]:
        with ui.element("details"):
            words("summary", f"For the saw page, spreadsheets and other programs: {len(rest)}")
            _list(name, rest)
    others = [each for each in files if each.name not in order and each.name != MANIFEST]
    if others:
        with ui.element("details"):
            words("summary", f"Drawings, files for machines and bee-space maps: {len(others)}")
            _list(name, others)


def _list(name: str, files: Sequence[ResultFile]) -> None:
    with ui.element("ul").classes("files"):
        for each in files:
            with ui.element("li"):
                link(PurePosixPath(each.name).name, file_address(name, each.name)).props["download"] = True
                words("p", f"{result_words(each.name)} {_size(each.size)}")


def _size(count: int) -> str:
    return f"{count / 1e6:.1f} MB" if count >= 1e6 else f"{max(1, round(count / 1e3))} kB"
