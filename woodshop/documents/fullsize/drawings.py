"""The drawings for people and their programs, one DXF a part, one a layout; and where each full-size sheet is used."""

import re

from woodshop.documents.fullsize.labels import label_pages
from woodshop.documents.fullsize.story_stick import stops, story_stick_plates
from woodshop.documents.fullsize.templates import template_plates
from woodshop.documents.packet.layouts import kept_offcuts, layout_drawing, numbered_layouts
from woodshop.documents.packet.parts import has_grain, needs_of
from woodshop.drawing.pens.dxf import write_dxf
from woodshop.drawing.values.model import Align, Column, Paragraph, Section, Table
from woodshop.drawing.views.part import part_drawing
from woodshop.plan.values import PlannedBatch
from woodshop.units.wording import Wording


def drawing_files(planned: PlannedBatch) -> dict[str, bytes]:
    """DXF files by path: drawings/part-01-A-... and drawings/layout-01-..., numbered as the machine's files are."""
    files: dict[str, bytes] = {}
    unit, wording = planned.batch.unit, Wording(planned.batch.unit)
    needs = needs_of(planned)
    places = len(str(len(needs)))
    for n, need in enumerate(needs, 1):
        drawing = part_drawing(
            need.part,
            address=need.address,
            count=need.count,
            wording=wording,
            grain=has_grain(need.part),
        )
        name = f"drawings/part-{n:0{places}d}-{need.mark}-{slug(need.address)}.dxf"
        files[name] = write_dxf(drawing, unit=unit)
    layouts = numbered_layouts(planned)
    kept = kept_offcuts(planned)
    digits = len(str(len(layouts)))
    for n, layout in enumerate(layouts, 1):
        name = f"drawings/layout-{n:0{digits}d}-{slug(layout.what)}.dxf"
        files[name] = write_dxf(layout_drawing(layout, planned, kept[layout.name]), unit=unit)
    return files


def full_size_section(planned: PlannedBatch) -> Section:
    """Each file of sheets to print at full size: its pages, what is on them, and where it is used."""
    templates, labels = template_plates(planned), [] if planned.report.has_errors else label_pages(planned)
    lengths = stops(planned)
    rows = []
    if lengths:
        pages = len(story_stick_plates(planned))
        what = f"{len(lengths)} crosscut lengths, with the marks cut to each"
        rows.append(("story-stick.pdf", pages, what, "Cutting: hold it to the blade to set the stop"))
    if templates:
        what = "openings, holes and feet of packing blocks, with the marks of their parts"
        rows.append(("templates.pdf", len(templates), what, "Parts and machining: lay it on the wood to mark out"))
    if labels:
        rows.append(
            ("labels.pdf", len(labels), "hives and things made", "Assembly: stick one on each thing when it is done")
        )
    columns = (
        Column("file", weight=4, key="file"),
        Column("pages", Align.RIGHT, weight=2, key="pages"),
        Column("what is on it", weight=7, key="what"),
        Column("where it is used", weight=8, key="where"),
    )
    table = Table(columns, tuple(rows))
    words = Paragraph("Print these at 100 %, and check the ruler on the page. Letters are the marks of the part list.")
    return Section("Full-size sheets", (words, table) if rows else (), {"sheets": table.records})


def slug(text: str) -> str:
    """Lower case letters, digits and dashes: safe as a file name everywhere."""
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:80]
