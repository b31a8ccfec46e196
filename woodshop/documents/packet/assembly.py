"""An assembly sheet for each item: what it looks like lifted apart, its parts for every box, the steps."""

from woodshop.design.batch import Unit
from woodshop.documents.packet.by_box import merged_steps
from woodshop.documents.packet.cautions import caution_line, unit_topics
from woodshop.documents.packet.exploded_view import dressed_blocks
from woodshop.documents.packet.parts import cells_of
from woodshop.drawing.values.model import (
    Block,
    Column,
    Drawing,
    Figure,
    Heading,
    KeepTogether,
    PageBreak,
    Paragraph,
    Steps,
    Table,
)
from woodshop.drawing.views.pictorial import pictorial
from woodshop.hardware.gauge_steps import gauge_steps
from woodshop.plan.values import PlannedBatch
from woodshop.shape.part import Assembly, Part, Role, Spec, counted
from woodshop.units.lengths import inch


def assembly_blocks(planned: PlannedBatch) -> list[Block]:
    """One sheet an item, with a column for every box format it is made for; then the hives with everything on."""
    blocks: list[Block] = [Heading("Putting it together", 1), *_gauge(planned)]
    by_item: dict[str, list[Unit]] = {}
    for unit in planned.units:
        if unit.line.count:
            by_item.setdefault(unit.line.item.name, []).append(unit)
    for units in by_item.values():
        blocks += _sheet(units, planned.batch.unit)
    dressed = dressed_blocks(planned)
    return [*blocks, PageBreak(), *dressed] if dressed else blocks


def _gauge(planned: PlannedBatch) -> list[Block]:
    """What the bee-space gauge is, and what does instead of it; nothing where no step asks for it."""
    made = [unit for unit in planned.units if unit.line.count]
    if not any("bee-space gauge" in step for unit in made for step in unit.assembly.steps):
        return []
    steps = ", ".join(thick.text(planned.batch.unit) for thick, _ in gauge_steps())
    make = any(unit.line.item.name == "bee-space gauge" for unit in made)
    text = "Its sheet is in this chapter." if make else 'To make one, add "bee-space gauge" under [[make]].'
    text += f" Without one, use drill bits: its steps are {steps} thick. Where a test fails, stop: measure that part, "
    text += "mend it or make it new, and test again."
    return [Paragraph(text, lead="The bee-space gauge.", small=True)]


def _sheet(units: list[Unit], unit: str) -> list[Block]:
    first = units[0]
    count = sum(u.line.count for u in units)
    head: list[Block] = [Heading(f"{first.line.item.title}, make {count}", 2)]
    shown = first.assembly.with_role(Role.MADE, Role.BOUGHT)
    if shown:
        caption = f"Drawn for {first.line.fits}; the numbers are those of the table."
        high = inch("1 1/2") if len({placed.part for placed in shown}) == 1 else inch("2 1/4")
        head.append(Figure(item_drawing(first, unit), caption, high, say_scale=False))
    different = _different(units)
    alike = _alike(different)
    tables = [_table(some, unit, alike) for some in _shared_out(different)]
    sheet: list[Block] = [
        KeepTogether((*head, *tables[:1])),
        *tables[1:],
        *_said_once(alike),
        *_fasteners(different),
        *(caution_line(topic) for topic in unit_topics(first)),
        *_steps(different),
    ]
    return [KeepTogether(tuple(sheet))]


def _alike(different: list[tuple[Unit, str]]) -> tuple[Spec, ...]:
    """The facts that hold for every box alike, where there are several."""
    first, *others = (unit.assembly.facts for unit, _ in different)
    return tuple(fact for fact in first if others and all(fact in facts for facts in others))


def _said_once(alike: tuple[Spec, ...]) -> list[Block]:
    if not alike:
        return []
    return [Paragraph("; ".join(f"{fact.name} {fact.value}" for fact in alike) + ".", lead="For every size:")]


def _shared_out(different: list[tuple[Unit, str]]) -> list[list[tuple[Unit, str]]]:
    """Columns for as many tables as they need, about equally many in each."""
    tables = -(-len(different) // _COLUMNS)
    each = -(-len(different) // tables)
    return [different[n : n + each] for n in range(0, len(different), each)]


def _steps(different: list[tuple[Unit, str]]) -> list[Block]:
    """The steps once, with the figures of every box; box by box where the work itself differs."""
    named = tuple(zip(_names(different), (unit.assembly.steps for unit, _ in different), strict=True))
    merged = merged_steps(named)
    if merged is not None:
        return [Steps(merged)]
    return [block for box, steps in named for block in (Heading(f"For {box}", 3), Steps(steps))]


def _names(different: list[tuple[Unit, str]]) -> list[str]:
    """What each is told by: its box, with the hives where several have the same box."""
    fits = [unit.line.fits for unit, _ in different]
    return [
        box if fits.count(box) == 1 else f"{box}, {unit.line.hives.name}"
        for box, (unit, _) in zip(fits, different, strict=True)
    ]


_COLUMNS = 4  # box formats beside each other in a table


def _different(units: list[Unit]) -> list[tuple[Unit, str]]:
    """One unit of each thing that differs, headed by the boxes it is for and how many are made."""
    groups: dict[Assembly, list[Unit]] = {}
    for unit in units:
        groups.setdefault(unit.assembly, []).append(unit)
    found = []
    for alike in groups.values():
        count = sum(u.line.count for u in alike)
        line = alike[0].line
        names = [u.line.hives.name for u in alike if u.line.hives.name]
        boxes = ", ".join(dict.fromkeys(u.line.fits for u in alike))
        who = f", {names[0]}" if len(alike) == 1 and names else ""
        found.append((alike[0], "size" if not line.item.is_per_hive else f"{boxes}{who} (make {count})"))
    return found


def item_drawing(unit: Unit, length_unit: str) -> Drawing:
    """A pictorial view of the thing with its parts lifted apart, what is filled in left out.

    Of like pieces that lie far apart one is drawn: all of them would be specks.
    """
    solid = Assembly(unit.assembly.item, unit.assembly.title, unit.assembly.with_role(Role.MADE, Role.BOUGHT))
    if _are_specks(solid):
        solid = Assembly(solid.item, solid.title, solid.placed[:1])
    view = pictorial(solid, exploded=inch(3) if len(solid.placed) > 1 else None)
    return Drawing(unit.line.item.title, unit.line.address, (view,), unit=length_unit)


_FAR = 4  # times their size


def _are_specks(assembly: Assembly) -> bool:
    if len({placed.part for placed in assembly.placed}) != 1:
        return False
    one, box = assembly.placed[0].box, assembly.box
    return max(one.size(i) for i in range(3)) * _FAR < max(box.size(i) for i in range(3))


def _table(units: list[tuple[Unit, str]], unit: str, alike: tuple[Spec, ...]) -> Table:
    """Balloon number, part, how many of it for one, and its sizes for every format; then the figures that differ."""
    shown: list[list[tuple[Part, int]]] = [
        list(counted(u.assembly.with_role(Role.MADE, Role.BOUGHT))) for u, _ in units
    ]
    rows = []
    for n, (part, count) in enumerate(shown[0]):
        sizes = [_size(parts[n][0], unit) if n < len(parts) else "" for parts in shown]
        rows.append((str(n + 1), part.name, str(count), *sizes))
    names = dict.fromkeys(fact.name for u, _ in units for fact in u.assembly.facts if fact not in alike)
    for name in names:
        values = [next((f.value for f in u.assembly.facts if f.name == name), "") for u, _ in units]
        rows.append(("", name, "", *values))
    columns = (
        Column("no.", weight=1),
        Column("", weight=6),
        Column("for one", weight=1),
        *(Column(title, weight=5) for _, title in units),
    )
    return Table(columns, tuple(rows))


def _size(part: Part, unit: str) -> str:
    """Length, width and thickness; of mesh, what is counted."""
    cells = cells_of(part)
    return f"{' x '.join(map(str, cells))} cells" if cells else " x ".join(v.number(unit) for v in part.size)


def _fasteners(different: list[tuple[Unit, str]]) -> list[Block]:
    lines = tuple(
        tuple(
            f"{f.count} x {f.kind} ({f.holds})" if f.count else f"{f.kind} ({f.holds})" for f in unit.assembly.fasteners
        )
        for unit, _ in different
    )
    if not any(lines):
        return []
    named = tuple(zip(_names(different), lines, strict=True))
    merged = merged_steps(named)
    if merged is not None:
        return [Paragraph(f"{'; '.join(merged)}.", lead="For one:")]
    return [Paragraph(f"{'; '.join(each)}.", lead=f"For one, {box}:") for box, each in named if each]
