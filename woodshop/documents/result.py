"""All files of a result, as bytes by their path in its folder; nothing is written here."""

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from woodshop.documents.bee_map.bee_map import bee_map_files, bee_maps
from woodshop.documents.fullsize.drawings import drawing_files
from woodshop.documents.fullsize.labels import labels_pdf
from woodshop.documents.fullsize.machine import machine_files
from woodshop.documents.fullsize.story_stick import story_stick_pdf
from woodshop.documents.fullsize.templates import templates_pdf
from woodshop.documents.lists import buy_csv, cuts_csv, parts_csv
from woodshop.documents.packet.layouts import numbered_layouts
from woodshop.documents.packet.packet import packet
from woodshop.documents.packet.shopping import choice_words, standing
from woodshop.documents.report.proof import proof
from woodshop.documents.workbook import workbook
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.values.fonts import register
from woodshop.drawing.values.model import KeyValues, Section
from woodshop.files.one_file import json_bytes
from woodshop.plan.plan_batch import batch_to_json
from woodshop.plan.values import PlannedBatch
from woodshop.units.lengths import told_in
from woodshop.workers import workers

_Made = TypeVar("_Made")
_TASKS = 5  # that can be done at once
_NAMES = (
    "packet.pdf report.pdf plan.json workbook.xlsx templates.pdf story-stick.pdf labels.pdf buy.csv cuts.csv parts.csv"
)
RESULT_NAMES = (*_NAMES.split(), "drawings/-")  # the last for the folder of drawings


def result_files(planned: PlannedBatch, progress: Callable[[str], None]) -> dict[str, bytes]:
    """The packet, the report, the drawings, the lists and the plan. The manifest is added when they are written.

    The cores share the work; the files are the same on one. Raises InputError for what cannot be drawn or printed.
    """
    progress("drawing bee space, assemblies, parts and layouts")
    register()  # before the work is shared, so that fonts are read once
    with workers(_TASKS, _hold, (planned,)) as cores:
        made = [cores.submit(_of_held, each) for each in (_bound, _proved, _drawn, _listed, _at_full_size)]
        files: dict[str, bytes] = {}
        for each in made:
            files |= each.result()
    return files


_HELD: list[PlannedBatch] = []  # what a forked process was started with: an item's own function cannot be sent to it


def _hold(planned: PlannedBatch) -> None:
    _HELD[:] = [planned]


def _of_held(make: Callable[[PlannedBatch], _Made]) -> _Made:
    with told_in(_HELD[0].batch.unit):
        return make(_HELD[0])


def _bound(planned: PlannedBatch) -> dict[str, bytes]:
    return {"packet.pdf": write_pdf(packet(planned), planned.batch.pages.paper)}


def _proved(planned: PlannedBatch) -> dict[str, bytes]:
    maps = bee_maps(planned.units, planned.batch.unit, planned.batch.conditions.band)
    return {"report.pdf": write_pdf(proof(planned, maps), planned.batch.pages.paper)} | bee_map_files(maps)


def _drawn(planned: PlannedBatch) -> dict[str, bytes]:
    return drawing_files(planned) | machine_files(planned)


def _listed(planned: PlannedBatch) -> dict[str, bytes]:
    return {
        "buy.csv": buy_csv(planned),
        "cuts.csv": cuts_csv(planned),
        "parts.csv": parts_csv(planned),
        "workbook.xlsx": workbook(planned),
        "plan.json": json_bytes(batch_to_json(planned)),
    }


def _at_full_size(planned: PlannedBatch) -> dict[str, bytes]:
    files = {"templates.pdf": templates_pdf(planned), "story-stick.pdf": story_stick_pdf(planned)}
    labels = None if planned.report.has_errors else labels_pdf(planned)
    return files if labels is None else files | {"labels.pdf": labels}


def result_section(planned: PlannedBatch, folder: Path) -> Section:
    """What to say when the packet is written."""
    counts = {word: sum(f.severity == word for f in planned.report.findings) for word in ("error", "warning", "note")}
    summed: dict[str, str | int] = {
        "batch": planned.batch.name,
        "folder": str(folder),
        "units": sum(line.count for line in planned.batch.lines),
        "pieces": sum(need.count for each in planned.plans for need in each.job.needs),
        "layouts": len(numbered_layouts(planned)),
        "cost": str(planned.total),
    }
    if planned.to_pay != planned.total:
        summed |= {f"pay {bill.yard}": str(bill.total) for bill in planned.bills} | {"to pay": str(planned.to_pay)}
    if planned.choices is not None:
        summed["yards"] = choice_words(planned)
    summed["bound"] = standing(planned)
    summed["findings"] = ", ".join(f"{n} {word}{'s' if n != 1 else ''}" for word, n in counts.items())
    return Section("", (KeyValues(tuple(summed.items())),), summed)
