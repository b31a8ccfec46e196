"""The drawings for people and their programs: one DXF a part, one a layout, with dimensions and words."""

import re

from woodshop.documents.packet.layouts import kept_offcuts, layout_drawing, numbered_layouts
from woodshop.documents.packet.parts import has_grain, needs_of
from woodshop.drawing.pens.dxf import write_dxf
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


def slug(text: str) -> str:
    """Lower case letters, digits and dashes: safe as a file name everywhere."""
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:80]
