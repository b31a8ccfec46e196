"""Cutting pages: every layout drawn to scale with its marks, and below it the cuts in sawing order."""

from collections import Counter

from woodshop.batch.values import PlannedBatch
from woodshop.cutting.sequence import SawCut, leftovers, saw_cuts
from woodshop.documents.layouts import NumberedLayout, numbered_layouts
from woodshop.drawing import layout as drawn
from woodshop.drawing.model import (
    Align,
    Block,
    Column,
    Drawing,
    Figure,
    Heading,
    KeepTogether,
    Paragraph,
    Table,
)
from woodshop.units import Length, inch

_MOST_ROWS = 16  # a longer list of cuts may run over to the next page


def cutting_blocks(planned: PlannedBatch) -> list[Block]:
    """One entry for each distinct layout, by material: the drawing, then the cuts."""
    unit = "inches" if planned.batch.unit == "in" else "millimetres"
    blocks: list[Block] = [
        Heading("Cutting", 1),
        Paragraph(
            "Each layout is one board or sheet, with how often to cut it. Letters are the marks of the part table: "
            "write them on the pieces. Settings run from fence or stop to the near side of the blade, in "
            f"{unit}; hatched is waste. Tick each cut when it is done for all of them."
        ),
    ]
    sawn = [layout.material for layout in numbered_layouts(planned) if layout.is_sawn]
    if len(set(sawn)) < len(sawn):
        text = (
            "Few boards: go by these pages, one layout after the other. Many boards: go by the order of work at the "
            "saw behind them, where each setting is made once for all boards. Keep to one of the two; both end with "
            "the same pieces."
        )
        blocks.append(Paragraph(text, lead="Which page to follow."))
    material = ""
    for layout in numbered_layouts(planned):
        if layout.material != material:
            material = layout.material
            blocks.append(Heading(material.capitalize(), 2))
        blocks += _entry(layout, planned)
    return blocks


def _entry(layout: NumberedLayout, planned: PlannedBatch) -> list[Block]:
    times = "once" if layout.times == 1 else f"{layout.times} times"
    cuts = saw_cuts(layout.plan.job.job, layout.layout)
    figure = Figure(layout_drawing(layout, planned), most_height=inch("2 3/4"))
    blocks: list[Block] = [Heading(f"{layout.name}: {layout.what}, cut {times}", 3), figure]
    if any(cut.is_narrow for cut in cuts):
        hand = planned.batch.saw.wood_in_hand
        text = f"the strip falls free of the fence, {hand} stays in the hand; push stick, guard; saw's manual first."
        blocks.append(Paragraph(text, lead="Caution, narrow rips:"))
    spares = spares_of([layout])
    if spares:
        blocks.append(Paragraph(f"{spares}, more than needed; they are counted below.", lead="Spares:"))
    table = _cut_table(layout, cuts, planned)
    if len(table.rows) > _MOST_ROWS:
        return [KeepTogether(tuple(blocks)), table]
    return [KeepTogether((*blocks, table))]


def spares_of(layouts: list[NumberedLayout]) -> str:
    """The spare pieces of these layouts, from all boards, as "4 x K, 1 x L"; nothing where there are none."""
    counts: Counter[str] = Counter()
    for layout in layouts:
        for piece in layout.pieces:
            if piece.spare:
                counts[piece.mark] += layout.times
    return ", ".join(f"{count} x {mark}" for mark, count in counts.items())


def _cut_table(layout: NumberedLayout, cuts: tuple[SawCut, ...], planned: PlannedBatch) -> Table:
    marks = {need.address: need.mark for need in layout.plan.job.needs}
    marks |= {
        name: f"rough {marks[rough_blank(name)]}"
        for cut in cuts
        for name in (cut.of, *cut.yields)
        if rough_blank(name) in marks
    }
    holds: dict[str, list[str]] = {cut.of: [] for cut in cuts}
    for cut in cuts:
        holds[cut.of] += [marks[name] for name in cut.yields if name in marks]
    rows = tuple(
        (
            "[ ]",
            str(n),
            deed(layout, run[0]) if any(cut.count for cut in run) else "no cut: it is what is left",
            _from([marks.get(cut.of, cut.of) for cut in run]),
            setting_text(layout, run[0], planned),
            _gives(run, marks, holds, layout.times),
        )
        for n, run in enumerate(runs_of(cuts), 1)
    )
    columns = (
        Column("", weight=1),
        Column("", Align.RIGHT, weight=1),
        Column("cut", weight=6),
        Column("from", weight=4),
        Column("set to", weight=4, cut_size=True),
        Column("gives" if layout.times == 1 else f"gives, from all {layout.times}", weight=7),
    )
    return Table(columns, rows)


def runs_of(cuts: tuple[SawCut, ...]) -> list[list[SawCut]]:
    """Cuts that follow each other at one setting, together: fence and stop are set once for them."""
    runs: list[list[SawCut]] = []
    for cut in cuts:
        last = runs[-1][-1] if runs else None
        same = last is not None and (last.kind, last.along, last.setting) == (cut.kind, cut.along, cut.setting)
        if same and not cut.is_narrow:
            runs[-1].append(cut)
        else:
            runs.append([cut])
    return runs


def rough_blank(name: str) -> str:
    """The blank that a piece is still to be trimmed to: "... rough 2" is one of those."""
    stem, rough, _ = name.rpartition(" rough ")
    return stem if rough else ""


def _from(names: list[str]) -> str:
    """Strip 1, strip 2, strip 4 as "strip 1, 2, 4"; what has no number as it is."""
    stems: dict[str, list[str]] = {}
    for name in dict.fromkeys(names):
        stem, _, number = name.rpartition(" ")
        stems.setdefault(stem if number.isdigit() else name, []).append(number if number.isdigit() else "")
    return "; ".join(f"{stem} {', '.join(numbers)}".strip() for stem, numbers in stems.items())


def deed(layout: NumberedLayout, cut: SawCut) -> str:
    """What is done, in the words of the trade: ripped, crosscut, squared, snipped."""
    if not layout.is_sawn:
        tool = "snip" if layout.material.startswith("mesh") else "cut"
        return f"{tool} {'lengthwise' if cut.along else 'across'}"
    if cut.kind == "trim":
        if cut.count == 1:
            return "trim the edge" if cut.along else "trim the end"
        return "true both edges" if cut.along else "square both ends"
    if cut.kind == "section":
        return "crosscut to sections, stop"
    if cut.is_narrow:
        return "rip, strip falls free"
    if cut.kind == "rip":
        return "rip, fence"
    return "crosscut, stop"


def setting_text(layout: NumberedLayout, cut: SawCut, planned: PlannedBatch) -> str:
    """What fence or stop is set to, on the marks of the tape, or in cells of the mesh."""
    if layout.material.startswith("mesh"):
        return f"{cut.setting} cells"
    length = layout.plan.job.grid * cut.setting
    text = at_mark(length, planned.batch.saw.mark, planned.batch.unit)
    if cut.kind == "trim":
        return f"{text} off"
    return f"{text} left" if cut.is_narrow else text


def at_mark(length: Length, mark: Length, unit: str) -> str:
    """A setting on the tape: inches at the nearest mark and a hair less or more, millimetres as they are.

    >>> at_mark(inch("3 5/32"), inch("1/16"), "in"), at_mark(inch("3 1/8"), inch("1/16"), "in")
    ('3 3/16, a hair less', '3 1/8')
    >>> at_mark(inch("3 9/64"), inch("1/16"), "in"), at_mark(inch("3 9/64"), inch("1/16"), "mm")
    ('3 1/8, a hair more', '79.77')
    """
    above, below = length.up_to(mark), length.down_to(mark)
    if unit == "mm" or above == length:
        return length.number(unit)
    if above - length <= length - below:
        return f"{above.number(unit)}, a hair less"
    return f"{below.number(unit)}, a hair more"


def _gives(run: list[SawCut], marks: dict[str, str], holds: dict[str, list[str]], times: int) -> str:
    """What comes off: parts by their marks, counted; a strip or section by its name and the marks it is for."""
    names = [name for cut in run if cut.kind != "trim" for name in cut.yields]
    counts = Counter(marks[name] for name in names if name in marks)
    words = [f"{count * times} x {mark}" for mark, count in counts.items()]
    for name in dict.fromkeys(name for name in names if name not in marks):
        inside = dict.fromkeys(mark for of, held in holds.items() if of.startswith(name) for mark in held)
        words.append(f"{name} ({', '.join(inside)})" if inside else name)
    return ", ".join(words)


def layout_drawing(layout: NumberedLayout, planned: PlannedBatch) -> Drawing:
    """The drawing of one layout: its pieces by their marks, offcuts that are worth keeping, waste hatched."""
    batch, grid = planned.batch, layout.plan.job.grid
    pieces = [drawn.Rect(p.x, p.y, p.length, p.width, p.mark) for p in layout.pieces]
    job = layout.plan.job.job
    kept: list[drawn.Rect] = []
    waste: list[drawn.Rect] = []
    for rest in leftovers(job, layout.layout, 1, 1):
        rect = drawn.Rect(grid * rest.x, grid * rest.y, grid * rest.length, grid * rest.width)
        long_enough = rect.length >= batch.saw.shortest_offcut and rect.width >= batch.saw.narrowest_offcut
        (kept if long_enough else waste).append(rect)
    return drawn.layout_drawing(
        f"{layout.name}: {layout.what}",
        layout.length,
        layout.width,
        pieces,
        waste=waste,
        kept=kept,
        address=layout.what,
        unit=batch.unit,
    )
