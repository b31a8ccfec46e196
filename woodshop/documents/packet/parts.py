"""The part table and the drawing of every part that has a cut in it."""

from dataclasses import replace

from woodshop.design.batch import Hives, due_dates, first_needed
from woodshop.design.lumber import Need
from woodshop.drawing.values.model import Align, Block, Column, Figure, Heading, KeepTogether, Paragraph, Table
from woodshop.drawing.views.part import part_drawing
from woodshop.plan.values import PlannedBatch
from woodshop.shape.part import Part, RoundOutline
from woodshop.units.lengths import Length, inch
from woodshop.units.wording import Wording


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
    return part.material.is_lumber


def part_blocks(planned: PlannedBatch) -> list[Block]:
    """The table of all parts with their sizes, then a drawing for each that is not a plain rectangle."""
    said = planned.batch.wording
    rows = []
    for need in needs_of(planned):
        part = need.part
        sizes = tuple(said.pair_number(value) for value in part.size)
        if cells := cells_of(part):
            sizes = (*(f"{count} cells" for count in cells), "")
        cuts = ", ".join(dict.fromkeys(cut.name for cut in part.cuts))
        remarks = "; ".join(filter(None, (cuts, "fold" if part.folds else "", *part.notes)))
        rows.append((need.mark, str(need.count), *sizes, need.address, remarks))
    columns = (
        Column("mark", weight=2),
        Column("count", Align.RIGHT, weight=2),
        *(Column(word, Align.RIGHT, weight=3, cut_size=True) for word in ("length", "width", "thick")),
        Column("part", weight=9),
        Column("cuts and remarks", weight=6),
    )
    drawn = [group for group in alike(needs_of(planned)) if not group[0].part.is_plain]
    blocks: list[Block] = [
        Heading("Parts", 1),
        Paragraph(
            f"Sizes in {_UNITS[said.unit]}{f', {_UNITS[said.other]} beside them in brackets' if said.both else ''}. "
            "Write the mark on every piece as it comes off the saw. Length runs along the grain. "
            "What has no cut in it is a plain rectangle and has no drawing."
        ),
        Table(columns, tuple(rows), anchors=tuple((n, f"part-{row[0]}") for n, row in enumerate(rows))),
    ]
    if drawn:
        blocks.append(Heading("Part drawings", 1))
    for n, group in enumerate(drawn, 1):
        blocks.append(KeepTogether(_sheet(group, planned, said, f"{n} of {len(drawn)}")))
    return blocks


def cells_of(part: Part) -> tuple[int, ...]:
    """The cells of mesh that is cut on its wires, along its length and width: they are counted. Else nothing.

    Wires lie on each other, so one is half as thick as the part; a sheet is one wire longer than its cells.
    """
    if part.material.mesh is None:
        return ()
    cell = part.material.mesh.pitch.mm
    counts = [(size - part.thickness / 2).mm / cell for size in part.size[:2]]
    return tuple(int(count) for count in counts) if all(count.denominator == 1 for count in counts) else ()


_UNITS = {"in": "inches", "mm": "millimetres"}
_HOLES = 3  # round cuts of a part from which on they have a table


def _sheet(group: list[Need], planned: PlannedBatch, said: Wording, number: str) -> tuple[Block, ...]:
    """One part's heading, drawing with its title block, and the table of its holes."""
    marks = ", ".join(need.mark for need in group)
    count = sum(need.count for need in group)
    first = group[0]
    part = first.part
    drawing = part_drawing(part, address=first.address, count=count, wording=said, grain=has_grain(part))
    batch = planned.batch
    fields = (
        ("Title", f"{marks}: {_names(group)}"),
        ("Make", str(count)),
        ("Material", part.material.name),
        (
            f"Length x width x thickness, {said.unit}{f' [{said.other}]' if said.both else ''}",
            " x ".join(said.pair_number(size) for size in part.size),
        ),
        ("Identification", "; ".join(need.address for need in group)),
        ("Batch", batch.name),
        *_needed_by(group, planned),
        ("Kind of document", f"part drawing {number}"),
    )
    figure = Figure(replace(drawing, fields=fields), most_height=inch("2 3/4"), title_block=True)
    return (Heading(f"{marks}: {_names(group)}, make {count}", 3), figure, *_holes(part, said))


def _needed_by(group: list[Need], planned: PlannedBatch) -> tuple[tuple[str, str], ...]:
    """The earliest day on which these parts must be ready, as on the front page, and the first order of that day."""
    hives: list[Hives] = []
    parts = [need.part for need in group]
    for unit in planned.units:
        if unit.line.count and any(placed.part in parts for placed in unit.assembly.placed):
            hives += [unit.line.hives] if unit.line.item.is_per_hive else planned.batch.hives
    first = first_needed(hives, planned.batch, planned.units)
    if first is None:
        return ()
    named = next((f", order {each.order}" for each in first.hives if each.order), "")
    return (("Needed by", first.day.isoformat() + (named if len(due_dates(planned.batch.hives)) > 1 else "")),)


def _holes(part: Part, said: Wording) -> tuple[Block, ...]:
    """Where every hole's middle lies, each from the same end and edge, so that no error adds up."""
    bored = [cut for cut in part.cuts if isinstance(cut.outline, RoundOutline)]
    if len(bored) < _HOLES:
        return ()
    rows: dict[tuple[str, Length, Length], list[Length]] = {}
    for cut in bored:
        if isinstance(cut.outline, RoundOutline):
            rows.setdefault((cut.name, cut.outline.v, cut.outline.diameter), []).append(cut.outline.u)
    columns = (
        Column("holes", weight=3),
        Column("dia.", Align.RIGHT, weight=2),
        Column("up from lower edge", Align.RIGHT, weight=3),
        Column("middle from the left end, seen from the show face", weight=12),
    )
    return (
        Table(
            columns,
            tuple(
                (
                    f"{len(across)} x {name}",
                    said.bore(size),
                    said.pair_number(up),
                    "; ".join(said.pair_number(each) for each in sorted(across)),
                )
                for (name, up, size), across in rows.items()
            ),
        ),
    )


def _names(group: list[Need]) -> str:
    return " and ".join(dict.fromkeys(need.part.name for need in group))
