"""Cutting pages: every layout drawn to scale with its marks, and below it the cuts in sawing order."""

from woodshop.batch.values import PlannedBatch
from woodshop.documents.layouts import NumberedLayout, numbered_layouts
from woodshop.drawing import layout as drawn
from woodshop.drawing.model import Block, Drawing, Figure, Heading, KeepTogether, Paragraph
from woodshop.units import inch


def cutting_blocks(planned: PlannedBatch) -> list[Block]:
    """One entry for each distinct layout, by material."""
    blocks: list[Block] = [Heading("Cutting", 1)]
    material = ""
    for layout in numbered_layouts(planned):
        if layout.material != material:
            material = layout.material
            blocks.append(Heading(material.capitalize(), 2))
        blocks.append(_entry(layout, planned))
    return blocks


def _entry(layout: NumberedLayout, planned: PlannedBatch) -> KeepTogether:
    times = "once" if layout.times == 1 else f"{layout.times} times"
    return KeepTogether(
        (
            Heading(f"{layout.name}: {layout.what}, cut {times}", 3),
            Figure(
                layout_drawing(layout, planned.batch.unit),
                most_height=inch("2 1/4") if layout.is_sawn else inch("4 1/2"),
            ),
            Paragraph(""),
        )
    )


def layout_drawing(layout: NumberedLayout, unit: str) -> Drawing:
    """The drawing of one layout, its pieces labelled by their marks."""
    pieces = [drawn.Rect(p.x, p.y, p.length, p.width, p.mark) for p in layout.pieces]
    return drawn.layout_drawing(
        f"{layout.name}: {layout.what}", layout.length, layout.width, pieces, address=layout.what, unit=unit
    )
