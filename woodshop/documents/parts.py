"""The part table and the drawing of every part that has a cut in it."""

from dataclasses import replace
from itertools import zip_longest

from woodshop.batch.values import Need, PlannedBatch
from woodshop.drawing.model import Align, Beside, Block, Column, Figure, Heading, Paragraph, Table
from woodshop.drawing.part import part_drawing
from woodshop.shape.part import Part
from woodshop.units import inch


def needs_of(planned: PlannedBatch) -> list[Need]:
    """Every part needed, in the order of its mark."""
    return [need for each in planned.plans for need in each.job.needs]


def alike(needs: list[Need]) -> list[list[Need]]:
    """Needs whose parts are the same thing under another name or address, together."""
    groups: dict[Part, list[Need]] = {}
    for need in needs:
        groups.setdefault(replace(need.part, name=""), []).append(need)
    return list(groups.values())


def has_grain(part: Part) -> bool:
    """Whether it is wood: mesh and cloth have no grain to draw."""
    return part.material.startswith(("board ", "lattice "))


def part_blocks(planned: PlannedBatch) -> list[Block]:
    """The table of all parts with their sizes, then a drawing for each that is not a plain rectangle."""
    unit = planned.batch.unit
    rows = []
    for need in needs_of(planned):
        part = need.part
        sizes = " x ".join(value.number(unit) for value in part.size)
        cuts = ", ".join(dict.fromkeys(cut.name for cut in part.cuts))
        rows.append((need.mark, need.address, str(need.count), sizes, "; ".join(filter(None, (cuts, *part.notes)))))
    columns = (
        Column("mark", weight=2),
        Column("part", weight=13),
        Column("count", Align.RIGHT, weight=2),
        Column(f"length x width x thickness, {unit}", weight=7),
        Column("cuts and remarks", weight=6),
    )
    blocks: list[Block] = [
        Heading("Parts", 1),
        Paragraph(
            "Write the mark on every piece as it comes off the saw. Length runs along the grain. "
            "What has no cut in it is a plain rectangle and has no drawing."
        ),
        Table(columns, tuple(rows)),
    ]
    drawn = [group for group in alike(needs_of(planned)) if not group[0].part.is_plain]
    if drawn:
        blocks.append(Heading("Part drawings", 1))
    sheets = [_sheet(group, unit) for group in drawn]
    blocks += [Beside(left, right) for left, right in zip_longest(sheets[::2], sheets[1::2], fillvalue=())]
    return blocks


def _sheet(group: list[Need], unit: str) -> tuple[Block, ...]:
    """One part's heading, addresses and drawing, half a page wide."""
    marks = ", ".join(need.mark for need in group)
    count = sum(need.count for need in group)
    first = group[0]
    drawing = part_drawing(first.part, address=first.address, count=count, unit=unit, grain=has_grain(first.part))
    return (
        Heading(f"{marks}: {_names(group)}, make {count}", 3),
        Paragraph("; ".join(need.address for need in group), small=True),
        Figure(drawing, most_height=inch("2 3/4")),
    )


def _names(group: list[Need]) -> str:
    return " and ".join(dict.fromkeys(need.part.name for need in group))
