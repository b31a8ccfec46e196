"""All files of a result, as bytes by their path in its folder; nothing is written here."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from woodshop.batch.plan import batch_to_json
from woodshop.batch.values import PlannedBatch
from woodshop.documents.bee_map import bee_map_files, bee_maps
from woodshop.documents.drawings import drawing_files
from woodshop.documents.front import standing
from woodshop.documents.labels import labels_pdf
from woodshop.documents.layouts import numbered_layouts
from woodshop.documents.lists import buy_csv, cuts_csv, parts_csv
from woodshop.documents.machine import machine_files
from woodshop.documents.packet import packet
from woodshop.documents.story_stick import story_stick_pdf
from woodshop.documents.templates import templates_pdf
from woodshop.documents.workbook import workbook
from woodshop.documents.write import json_bytes
from woodshop.drawing.pdf import write_pdf


def result_files(planned: PlannedBatch, progress: Callable[[str], None]) -> dict[str, bytes]:
    """The packet, the drawings, the lists and the plan. The manifest is added when they are written."""
    progress("drawing the parts and layouts")
    files = drawing_files(planned) | machine_files(planned)
    progress("drawing bee space in the finished hives")
    maps = bee_maps(planned.units, planned.batch.unit, planned.batch.band)
    files |= bee_map_files(maps, planned.batch.paper, "DO NOT CUT" if planned.report.has_errors else None)
    progress("setting the packet")
    files["packet.pdf"] = write_pdf(packet(planned, maps), planned.batch.paper)
    files["buy.csv"] = buy_csv(planned)
    files["cuts.csv"] = cuts_csv(planned)
    files["parts.csv"] = parts_csv(planned)
    files["workbook.xlsx"] = workbook(planned)
    progress("drawing templates, story stick and labels")
    files["templates.pdf"] = templates_pdf(planned)
    files["story-stick.pdf"] = story_stick_pdf(planned)
    labels = None if planned.report.has_errors else labels_pdf(planned)
    if labels is not None:
        files["labels.pdf"] = labels
    files["plan.json"] = json_bytes(batch_to_json(planned))
    return files


def summary(planned: PlannedBatch, folder: Path) -> dict[str, Any]:
    """What to say when the packet is written."""
    layouts = numbered_layouts(planned)
    counts = {word: sum(f.severity == word for f in planned.report.findings) for word in ("error", "warning", "note")}
    return {
        "batch": planned.batch.name,
        "folder": str(folder),
        "units": sum(line.count for line in planned.batch.lines),
        "pieces": sum(need.count for each in planned.plans for need in each.job.needs),
        "layouts": len(layouts),
        "cost": str(planned.total),
        "bound": standing(planned),
        "findings": ", ".join(f"{n} {word}{'s' if n != 1 else ''}" for word, n in counts.items()),
    }
