"""Finds the fewest sizes of rim for the hives of a design, the savings, and the design lines for these sizes."""

from dataclasses import dataclass, replace

from woodshop.checks.check_batch import check_batch
from woodshop.design.batch import Batch, Unit
from woodshop.design.design_file import Design
from woodshop.design.lumberyard.lumberyard_file import Lumberyard
from woodshop.design.settle.box_sizes import settled_box
from woodshop.design.settle.settle import settle
from woodshop.findings import Report, Severity
from woodshop.hardware.catalogue import items
from woodshop.hive.variation.fewest_sizes import BoxesOfSize, RimSize, fewest_sizes
from woodshop.reference.facts import fact
from woodshop.shape.part import Role
from woodshop.units.lengths import Length


@dataclass(frozen=True, slots=True)
class RimVariety:
    """Counts of the variety in a shop: sizes of rim, distinct parts made to these sizes, and stop settings.

    `errors` is the number of errors found by the checks.
    """

    sizes: int
    parts: int
    stops: int
    errors: int


Checked = tuple[Batch, tuple[Unit, ...], Report]


@dataclass(frozen=True, slots=True)
class Lines:
    """The design lines for a group of hives, as key and length. They are empty if the box's own size is used."""

    hives: str
    keys: tuple[tuple[str, Length], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FewestSizes:
    """The sizes, the hives that each size fits, the work as designed and with these sizes, and the lines to write.

    `spread` names the hives whose measured boxes differ, and by how much; their overhang is calculated from the
    average. `on_rim` are the items made to these sizes; `on_box` are the items that still follow each box. `both_ways`
    are the batch as designed and the batch with these sizes, both checked and ready for planning.
    """

    overhang: Length
    sizes: tuple[RimSize, ...]
    before: RimVariety
    after: RimVariety
    lines: tuple[Lines, ...]
    spread: tuple[tuple[str, Length], ...]
    on_rim: tuple[str, ...]
    on_box: tuple[str, ...]
    both_ways: tuple[Checked, Checked]


def allowed_overhang() -> Length:
    """The default limit on the overhang at each side."""
    return fact("box.overhang_most").length


def fewest_for(design: Design, lumberyard: Lumberyard, overhang: Length) -> FewestSizes:
    """The fewest sizes of rim that fit the design's boxes within the overhang at each end and side.

    Raises InputError if the design cannot be settled or made as designed or with these sizes, or if `fewest_sizes`
    raises it.
    """
    stands = settle(design, lumberyard)
    mark = stands.saw.mark
    boxes = []
    for table, measured in zip(design.hives, design.measured, strict=True):
        box, _ = settled_box(table, measured, [], stands.wording, design.patterns)
        boxes.append(BoxesOfSize(table.name or box.name, box.length, box.width, table.count))
    sizes = fewest_sizes(boxes, overhang, mark, stands.wording)
    seats = {seat.box: size for size in sizes for seat in size.seats}
    lines, tables = [], []
    for table, standing in zip(design.hives, boxes, strict=True):
        size = seats[standing]
        given = (("rim_length", size.length, standing.length), ("rim_width", size.width, standing.width))
        keys = tuple((key, made) for key, made, own in given if made != own)
        lines.append(Lines(standing.name, keys))
        tables.append(table.model_copy(update={"rim_length": None, "rim_width": None} | dict(keys)))
    changed = settle(replace(design, hives=tuple(tables)), lumberyard)
    both = ((stands, *check_batch(stands)), (changed, *check_batch(changed)))
    spread = tuple((hives.name, hives.spread) for hives in stands.hives if hives.spread)
    on_rim = {item.name for item in items() if item.on_rim}
    made = tuple(dict.fromkeys(line.item.name for line in stands.lines if line.item.is_per_hive))
    return FewestSizes(
        overhang=overhang,
        sizes=sizes,
        before=_work(*both[0]),
        after=_work(*both[1]),
        lines=tuple(lines),
        spread=spread,
        on_rim=tuple(name for name in made if name in on_rim),
        on_box=tuple(name for name in made if name not in on_rim),
        both_ways=both,
    )


def _work(batch: Batch, units: tuple[Unit, ...], report: Report) -> RimVariety:
    made = [unit for unit in units if unit.line.item.on_rim and unit.line.count]
    parts = {(u.line.item.name, placed.part) for u in made for placed in u.assembly.with_role(Role.MADE)}
    stops = {part.length.up_to(batch.saw.mark) for _, part in parts if part.material.is_made_to_size}
    errors = sum(finding.severity is Severity.ERROR for finding in report.findings)
    return RimVariety(len(_footprints(units)), len(parts), len(stops), errors)


def _footprints(units: tuple[Unit, ...]) -> set[tuple[Length, Length]]:
    """The distinct outside sizes of the rims on all the hives."""
    outsides = [unit.line.setting.outside for unit in units if unit.line.item.is_per_hive]
    return {(outside.long, outside.wide) for outside in outsides}
