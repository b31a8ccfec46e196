"""Cutting pages: every layout drawn to scale with its marks, and below it the cuts in sawing order."""

from collections import Counter
from collections.abc import Mapping, Sequence

from woodshop.cutting.order.job_sequence import STOP, ThinRip, setting_of
from woodshop.cutting.order.sequence import SawCut, saw_cuts, sizes_on_the_saw
from woodshop.design.batch import Batch
from woodshop.design.settings.saw import CIRCULAR_SAW, HAND_SAW, TABLE_SAW
from woodshop.documents.packet.layouts import (
    NumberedLayout,
    Offcut,
    bad_stretches,
    kept_offcuts,
    numbered_layouts,
    rests,
    trims,
)
from woodshop.documents.packet.measure_first import measure_first
from woodshop.documents.packet.rack_boards import rack_board
from woodshop.drawing.values.model import (
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
from woodshop.drawing.views import layout as drawn
from woodshop.plan.values import PlannedBatch
from woodshop.reference.facts import fact
from woodshop.reference.materials import Material
from woodshop.units.lengths import ZERO, Length, inch

_SAWS = (
    "Each cut names its saw. Table saw: rips, along the fence; never crosscut against the fence. Miter saw: crosscuts; "
    "the piece lies between stop block and blade. Hold or clamp one side of the cut only. Let the blade stop before "
    "you lift it. Supported: hold the board up on both sides of the blade. Circular saw, guide: it has no stop. Mark "
    "the cut, clamp a straight guide square across. Hand saw, miter box: thin strips."
)
_MOST_ROWS = 22  # a longer list of cuts may run over to the next page


def cutting_blocks(planned: PlannedBatch) -> list[Block]:
    """One entry for each distinct layout, by material: the drawing, then the cuts."""
    unit = "inches" if planned.batch.unit == "in" else "millimetres"
    bad = ", crossed out is bad wood" if any(map(bad_stretches, numbered_layouts(planned))) else ""
    away = planned.batch.saw.least_end_trim
    last = (
        f" The last piece has its end cut too: a layout needs {away.text(planned.batch.unit)} past it, kerf included."
        if away > ZERO
        else ""
    )
    blocks: list[Block] = [
        Heading("Cutting", 1),
        Paragraph(
            "Each layout is one board or sheet, with how often to cut it. Letters are the marks of the part table: "
            "write them on the pieces. Settings run from fence or stop to the near side of the blade, in "
            f'{unit}. "Off" is all that is cut away, kerf included. Hatched is waste{bad}. Tick each cut when it is '
            "done for all of them, and count: the last column says how many pieces of the material there are by then, "
            "from all layouts so far."
        ),
        Paragraph(
            "Strips come off the lower edge of a drawing and pieces off its left end, in the order of the cuts: strip "
            "1 is the lowest. The remainder is at the upper edge and the right end. Narrow rips: lay the upper edge "
            f"against the fence. Wide rips: lay the edge just sawn against it.{last}",
            lead="Where pieces lie.",
        ),
    ]
    sawn = [layout.material for layout in numbered_layouts(planned) if layout.is_sawn]
    if sawn:
        blocks.append(Paragraph(_SAWS, lead="Saws."))
    if len(set(sawn)) < len(sawn):
        text = (
            "Few boards: go by these pages, one layout after the other. Many boards: go by the order of work at the "
            "saw behind them, where each setting is made once for all boards. Keep to one of the two; both end with "
            "the same pieces."
        )
        blocks.append(Paragraph(text, lead="Which page to follow."))
    layouts, kept = numbered_layouts(planned), kept_offcuts(planned)
    material: Material | None = None
    so_far = 0
    for layout in layouts:
        head: list[Block] = []
        if layout.material != material:
            material, so_far = layout.material, 0
            head = [Heading(material.name.capitalize(), 2), *_by_wires(material, planned)]
        of = sum(lay.times * len(lay.pieces) for lay in layouts if lay.material == material)
        blocks += _entry(head, layout, planned, kept[layout.name], (so_far, of))
        so_far += layout.times * len(layout.pieces)
    return blocks + _rack(layouts, kept, planned)


def _by_wires(material: Material, planned: PlannedBatch) -> list[Block]:
    """How cells and wires are counted, ahead of a mesh's layouts."""
    if material.mesh is None:
        return []
    text = "Count, do not measure: 39 cells are 40 wires. Keep the wires of both edges. "
    if planned.batch.yard.shared_wires:
        text += "The next sheet begins at the wire just left: one of the two keeps it, the other ends in stubs."
    else:
        text += (
            "The next sheet begins a cell further on; that cell is lost: snip it off close to the wires on both sides."
        )
    return [Paragraph(text, lead="By cells and wires.")]


def _entry(
    head: Sequence[Block],
    layout: NumberedLayout,
    planned: PlannedBatch,
    kept: Sequence[Offcut],
    count: tuple[int, int],
) -> list[Block]:
    """One layout, with what stands above the first of a material."""
    times = "once" if layout.times == 1 else f"{layout.times} times"
    cuts = saw_cuts(layout.plan.job.job, layout.layout)
    caption = "pieces in cells, the roll as it is sold" if layout.material.mesh is not None else ""
    figure = Figure(layout_drawing(layout, planned, kept), caption, most_height=inch("2 3/4"))
    name = Heading(f"{layout.name}: {layout.what}, cut {times}", 3, layout.anchor)
    blocks: list[Block] = [*head, name, figure]
    blocks += [*rack_board(layout, planned.batch), *measure_first(layout, cuts, planned.batch)]
    blocks += [*page_cautions(layout.material, cuts, planned.batch), *_short_pieces(layout, cuts, planned.batch)]
    spares = spares_of([layout])
    if spares:
        blocks.append(Paragraph(f"{spares}, more than needed; they are counted below.", lead="Spares:"))
    if kept:
        each = f" from each of the {layout.times}" if layout.times > 1 else ""
        counts = Counter(offcut.number for offcut in kept)
        numbers = ", ".join(f"{count} x {number}" if count > 1 else number for number, count in counts.items())
        blocks.append(Paragraph(f"{numbers}{each}; write the number on it, it goes to the rack.", lead="Keep:"))
    table = _cut_table(layout, cuts, planned, count)
    if len(table.rows) > _MOST_ROWS:
        return [KeepTogether(tuple(blocks)), table]
    return [KeepTogether((*blocks, table))]


def page_cautions(material: Material, cuts: Sequence[SawCut], batch: Batch) -> list[Block]:
    """What to be careful of in these cuts of a material, in a sentence or two where they are made."""
    saw, unit = batch.saw, batch.unit
    if any(cut.is_narrow for cut in cuts):
        hand = saw.wood_in_hand.text(unit)
        if saw.thin_rip == STOP:
            how = (
                "rip these first, against the thin-rip stop (its page says how to set it). For each strip switch the "
                f"saw off, move the fence until the board touches the stop, and lock it. Keep {hand} or more of the "
                "board between blade and fence"
            )
        else:
            how = (
                "measure every board first: if it is wider or narrower than planned, its first strip is that much "
                "thicker or thinner. Then correct all narrow settings by the difference. The strip falls free, on the "
                f"side of the blade away from the fence. Keep {hand} or more of the board between blade and fence"
            )
        feather = "" if saw.thin_rip == STOP else ", featherboard ahead of the blade"
        text = (
            f"{how}. Use push block{feather}, guard and riving knife; rip nothing shorter than "
            f"{saw.shortest_rip.text(unit)}. Crosscut strips under {saw.tools.thin_strip.text(unit)} thick by hand in "
            "a miter box, or taped in a bundle: never loose on a power saw. The saw maker's manual comes first."
        )
        return [Paragraph(text, lead="Caution, narrow rips:")]
    if material.kind.cut_with == "tin snips":
        edges = "deburr every edge" if material.mesh is None else "file or fold sharp wires, gather the ends"
        text = f"gloves, eye protection; {edges}. Gloves off at a saw or drill."
        return [Paragraph(text, lead="Caution, sharp edges:")]
    if material.kind.cut_with == "knife":
        text = "straightedge clamped, light passes, free hand behind the blade, cut away from the body."
        return [Paragraph(text, lead="Caution, knife:")]
    return []


def _short_pieces(layout: NumberedLayout, cuts: Sequence[SawCut], batch: Batch) -> list[Block]:
    """How a piece is held that is shorter than hands must be away from the blade; nothing where there is none."""
    away = fact("saw.hands_away").length
    grid = layout.plan.job.grid
    if not layout.is_sawn or not any(
        not cut.along and cut.kind != "trim" and cut.count and grid * cut.setting < away for cut in cuts
    ):
        return []
    text = (
        f"pieces shorter than {away.text(batch.unit)}. Clamp the board; hold no short piece by hand. Crosscut from the "
        "long end, and leave the last piece on a part that is long enough to clamp, or cut it with the hand saw."
    )
    return [Paragraph(text, lead="Caution, short pieces:")]


def _rack(layouts: Sequence[NumberedLayout], kept: dict[str, tuple[Offcut, ...]], planned: PlannedBatch) -> list[Block]:
    """The table of offcuts kept, for the rack; nothing where none is left."""
    unit = planned.batch.unit
    found = [
        (layout, offcut, len([o for o in kept[layout.name] if o.number == offcut.number]))
        for layout in layouts
        for offcut in {o.number: o for o in reversed(kept[layout.name])}.values()
    ]
    found.sort(key=lambda each: int(each[1].number.removeprefix("#")))
    if not found:
        return []
    rows = tuple(
        (
            "[ ]",
            offcut.number,
            str(layout.times * count),
            f"{offcut.length.number(unit)} x {offcut.width.number(unit)}",
            layout.material.name,
            layout.name,
        )
        for layout, offcut, count in found
    )
    columns = (
        Column("", weight=1),
        Column("number", weight=2),
        Column("how many", Align.RIGHT, weight=2),
        Column("length x width", weight=4),
        Column("material", weight=4),
        Column("from", weight=3),
    )
    saw = planned.batch.saw
    text = (
        f"All that is left {saw.shortest_offcut.text(unit)} long and {saw.narrowest_offcut.text(unit)} wide or more. "
        "Write the number on each as it comes off and measure it. Add it as a [[rack]] entry to the "
        "lumberyard file that your design names: the next batch is cut from it."
    )
    links = tuple((n, 5, layout.anchor) for n, (layout, _, _) in enumerate(found))
    return [Heading("Offcuts kept", 2), Paragraph(text), Table(columns, rows, links=links)]


def spares_of(layouts: list[NumberedLayout]) -> str:
    """The spare pieces of these layouts, from all boards, as "4 x K, 1 x L"; nothing where there are none."""
    counts: Counter[str] = Counter()
    for layout in layouts:
        for piece in layout.pieces:
            if piece.spare:
                counts[piece.mark] += layout.times
    return ", ".join(f"{count} x {mark}" for mark, count in counts.items())


def _cut_table(
    layout: NumberedLayout, cuts: tuple[SawCut, ...], planned: PlannedBatch, count: tuple[int, int]
) -> Table:
    """The cuts; `count` is how many pieces of the material the layouts before gave, and how many there will be."""
    blanks = {need.address: need.mark for need in layout.plan.job.needs}
    names = {name for cut in cuts for name in (cut.of, *cut.yields)}
    marks = blanks | {name: f"rough {blanks[rough_blank(name)]}" for name in names if rough_blank(name) in blanks}
    holds: dict[str, list[str]] = {cut.of: [] for cut in cuts}
    for cut in cuts:
        holds[cut.of] += [marks[name] for name in cut.yields if name in marks]
    rows, links = [], []
    so_far, of = count
    tools = tools_for(layout, cuts, planned.batch)
    for n, run in enumerate(_rows_of(runs_of(cuts, planned.batch.saw.thin_rip), tools), 1):
        pieces = [name for cut in run for name in cut.yields if name in blanks]
        so_far += layout.times * len(pieces)
        rows.append(
            (
                "[ ]",
                str(n),
                _what_and_tool(layout, run, tools, planned),
                numbered([marks.get(cut.of, layout.raw if cut.of == "board" else cut.of) for cut in run]),
                setting_text(layout, run[0], planned),
                _gives(run, marks, holds, layout.times),
                str(so_far) if pieces else "",
            )
        )
        links += [(n - 1, 5, f"part-{marks[name]}") for name in pieces[:1]]
    columns = (
        Column("", weight=2),
        Column("", Align.RIGHT, weight=2),
        Column("cut", weight=14),
        Column("from", weight=10),
        Column("set to", weight=7, cut_size=True),
        Column("gives" if layout.times == 1 else f"gives, from all {layout.times}", weight=12),
        Column(f"so far, of {of}", Align.RIGHT, weight=8),
    )
    return Table(columns, tuple(rows), links=tuple(links))


def runs_of(cuts: tuple[SawCut, ...], thin_rip: ThinRip) -> list[list[SawCut]]:
    """Cuts that follow each other at one setting, together: fence and stop are set once for them.

    What needs no cut is by itself, so that nobody cuts a piece that is one already.
    A narrow rip that falls free has a setting of its own; against a thin-rip stop (`thin_rip`, as of
    `job_sequence`) strips of one width have one.
    """
    runs: list[list[SawCut]] = []
    for cut in cuts:
        last = runs[-1][-1] if runs else None
        if last is not None and _set_alike(last, cut, thin_rip):
            runs[-1].append(cut)
        else:
            runs.append([cut])
    return runs


def _set_alike(last: SawCut, cut: SawCut, thin_rip: ThinRip) -> bool:
    is_cut = (last.count > 0) == (cut.count > 0)
    return is_cut and (last.kind, setting_of(last, thin_rip)) == (cut.kind, setting_of(cut, thin_rip))


def _rows_of(runs: Sequence[list[SawCut]], tools: Mapping[SawCut, str]) -> list[list[SawCut]]:
    """Each run, apart by its saws: a row of the table names one saw for all that it lists."""
    rows: list[list[SawCut]] = []
    for run in runs:
        by_tool: dict[str, list[SawCut]] = {}
        for cut in run:
            by_tool.setdefault(tools[cut], []).append(cut)
        rows += by_tool.values()
    return rows


def rough_blank(name: str) -> str:
    """The blank that a piece is still to be trimmed to: "... rough 2" is one of those."""
    stem, rough, _ = name.rpartition(" rough ")
    return stem if rough else ""


def numbered(names: Sequence[str]) -> str:
    """Names that differ by their last number, together; what has no number as it is.

    >>> numbered(["strip 1", "strip 2", "strip 3", "strip 5", "section 1 strip 2", "board"])
    'strip 1-3, 5; section 1 strip 2; board'
    """
    stems: dict[str, list[int]] = {}
    for name in dict.fromkeys(names):
        stem, _, number = name.rpartition(" ")
        stems.setdefault(stem if number.isdigit() else name, []).extend([int(number)] if number.isdigit() else [])
    return "; ".join(f"{stem} {_ranges(numbers)}".strip() for stem, numbers in stems.items())


def _ranges(numbers: Sequence[int]) -> str:
    runs: list[list[int]] = []
    for number in numbers:
        if runs and runs[-1][-1] == number - 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs)


def tools_for(layout: NumberedLayout, cuts: Sequence[SawCut], batch: Batch) -> dict[SawCut, str]:
    """The tool of every cut of a layout; `cuts` are all of them, in their order."""
    if not layout.is_sawn:
        return dict.fromkeys(cuts, layout.material.kind.cut_with)
    job = layout.plan.job
    stock = next(each for each in job.job.stock if each.id == layout.layout.stock)
    thickness = next(offer.thickness for offer in job.offers if offer.id == stock.id)
    tools, found = batch.saw.tools, {}
    for cut, size in zip(cuts, sizes_on_the_saw(stock, cuts), strict=True):
        length, width = (job.grid * each for each in size)
        if not layout.material.is_lumber:
            found[cut] = tools.for_sheet(length, width, is_along=cut.along)
        elif cut.along:
            found[cut] = tools.for_edge if cut.kind == "trim" else TABLE_SAW
        else:
            found[cut] = tools.for_crosscut(length, width, width if thickness is None else thickness)
    return found


def _what_and_tool(
    layout: NumberedLayout, run: Sequence[SawCut], tools: dict[SawCut, str], planned: PlannedBatch
) -> str:
    if not any(cut.count for cut in run):
        return no_cut(run[0], planned)
    return f"{deed(layout, run[0], planned, tools[run[0]])}\n{tools[run[0]]}"


def no_cut(cut: SawCut, planned: PlannedBatch) -> str:
    """What stands where nothing is cut: a section that is the piece, or a remainder and how far off it may be."""
    noun = cut.of.rpartition(" ")[0]
    if noun.endswith("section") or planned.batch.saw.remainder_allowance is None:
        return f"no cut: the {noun.rpartition(' ')[2] or cut.of} is the piece"
    off = planned.batch.saw.remainder_allowance.text(planned.batch.unit)
    return f"no cut, remainder: measure it, at most {off} off"


def deed(layout: NumberedLayout, cut: SawCut, planned: PlannedBatch, tool: str = "") -> str:
    """What is done, in the words of the trade: ripped, crosscut, squared, snipped; what has no stop is marked."""
    if not layout.is_sawn:
        tool = "snip" if layout.material.mesh is not None else "cut"
        return f"{tool} {'lengthwise' if cut.along else 'across'}"
    if cut.kind == "trim":
        if cut.yields == ("end",):
            return "square one end"
        if cut.yields == ("waste",) and not cut.along:
            return "cut off the bad stretch"
        if cut.count == 1:
            return "trim the edge" if cut.along else "trim the end"
        return "true both edges" if cut.along else "square both ends"
    mark = "mark and " if has_no_stop(tool) else ""
    if cut.kind == "section":
        return f"{mark}crosscut to sections"
    if cut.is_narrow:
        return "rip against the thin-rip stop" if planned.batch.saw.thin_rip == STOP else "rip, strip falls free"
    if cut.kind == "rip":
        return "rip, fence"
    return f"{mark}crosscut" if mark else "crosscut, stop"


def has_no_stop(tool: str) -> bool:
    """Whether each cut with this tool is marked on the board, as no stop block can be set."""
    return tool.startswith(CIRCULAR_SAW) or tool == HAND_SAW


def setting_text(layout: NumberedLayout, cut: SawCut, planned: PlannedBatch) -> str:
    """What fence or stop is set to, on the marks of the tape, or in cells and wires of the mesh."""
    if layout.material.mesh is not None:
        return f"{cut.setting} cells\n{cut.setting + 1} wires"
    if cut.is_narrow and planned.batch.saw.thin_rip == STOP:
        return (layout.plan.job.grid * cut.strip).number(planned.batch.unit)  # set with a spacer, not on the tape
    text = at_mark(layout.plan.job.grid * cut.setting, planned.batch.saw.mark, planned.batch.unit)
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
    groups: dict[str, list[str]] = {}
    for name in dict.fromkeys(name for name in names if name not in marks):
        inside = dict.fromkeys(mark for of, held in holds.items() if _is_of(of, name) for mark in held)
        groups.setdefault(", ".join(inside), []).append(name)
    words += [f"{numbered(alike)} ({inside})" if inside else numbered(alike) for inside, alike in groups.items()]
    return ", ".join(words)


def _is_of(of: str, name: str) -> bool:
    """Whether what is on the saw is the strip or section of that name, or a part of it: "strip 1" is none of 12."""
    return of == name or of.startswith(f"{name} ")


def layout_drawing(layout: NumberedLayout, planned: PlannedBatch, offcuts: Sequence[Offcut]) -> Drawing:
    """The drawing of one layout: its pieces by their marks, offcuts kept by their numbers, waste hatched."""
    batch = planned.batch
    pieces = [drawn.Rect(p.x, p.y, p.length, p.width, p.mark, turned=p.turned) for p in layout.pieces]
    kept = [drawn.Rect(each.x, each.y, each.length, each.width, each.number) for each in offcuts]
    places = {(each.x, each.y) for each in offcuts}
    waste = [drawn.Rect(*each) for each in (*rests(layout), *trims(layout)) if each[:2] not in places]
    return drawn.layout_drawing(
        f"{layout.name}: {layout.what}",
        layout.length,
        layout.width,
        pieces=pieces,
        waste=waste,
        kept=kept,
        bad=[drawn.Rect(*each) for each in bad_stretches(layout)],
        address=layout.what,
        unit=batch.unit,
        cell=layout.plan.job.grid if layout.material.mesh is not None else None,
    )
