"""The order of work at the saw: every cut of a material by fence and stop setting, for a run of many boards.

A part on the saw is written as layout and strip: 7 is a board of layout 7, 7:2 its strip 2, 7s1 its section 1.
"""

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from woodshop.cutting.order.job_sequence import (
    STOP,
    JobSequence,
    Naming,
    Station,
    ThinRip,
    fence_moves_of,
    job_sequence,
)
from woodshop.cutting.order.sequence import SawCut, saw_cuts
from woodshop.design.batch import Batch
from woodshop.documents.packet.cutting import (
    has_no_stop,
    page_cautions,
    rough_blank,
    runs_of,
    setting_text,
    spares_of,
    tools_for,
)
from woodshop.documents.packet.layouts import NumberedLayout, numbered_layouts
from woodshop.documents.packet.measure_first import full_width, kerf_words, least_size, limits_of, thickness_of
from woodshop.documents.packet.rack_boards import rack_board
from woodshop.drawing.values.model import Align, Block, Column, Heading, KeepTogether, Paragraph, Table
from woodshop.plan.values import PlannedBatch
from woodshop.reference.materials import Material


@dataclass(frozen=True, slots=True)
class OrderRow:
    """The saw set once: what is done, the setting, what passes over it, and how many of each mark come off in all.

    `passes` has a line for each different number that comes off.
    """

    deed: str
    setting: str
    passes: str
    gives: str
    pieces: Counter[str] = field(default_factory=Counter)


def saw_order_blocks(planned: PlannedBatch) -> list[Block]:
    """A page for each material that a saw cuts by more than one layout; nothing where there is none."""
    groups = [layouts for layouts in _sawn(planned) if len(layouts) > 1]
    if not groups:
        return []
    ordered = [layout for layouts in groups for layout in layouts]
    names = {layout.name for layout in ordered}
    others = listed(_number(layout) for layout in numbered_layouts(planned) if layout.name not in names)
    text = f"{_HOW} {_codes(ordered)}{_HOW_THEN}"
    if others:
        is_one = others.isdigit()
        text += f" Layout{'' if is_one else 's'} {others}: follow {'its own page' if is_one else 'their own pages'}."
    blocks: list[Block] = [Heading("Order of work at the saw", 1), Paragraph(text, lead="By setting.")]
    for layouts in groups:
        blocks += _material(layouts, planned)
    return blocks


_HOW = (
    "This is the same work as on the layout pages, put in order for many boards: set fence or stop once, pass "
    "everything that is listed, tick, set the next. Do not mix the two ways. Chalk the layout's number on its boards, "
    "and layout and strip on every strip as it comes off."
)
_HOW_THEN = (
    "Rip every board in the order listed. Crosscut every strip from the end that was squared first and lay what is "
    "left back on its stack. Where it says 2 each, cut just two off each: the rest of the strip is for a later "
    "setting. Where several marks come off at one setting, the strip's width tells which; of equal sizes share out as "
    "many as are listed."
)


def _codes(layouts: Sequence[NumberedLayout]) -> str:
    """How parts are written, by strips and sections that these layouts have; nothing where no board has any."""
    words: dict[str, str] = {}
    for layout in layouts:
        number = _number(layout)
        for name in (name for cut in saw_cuts(layout.plan.job.job, layout.layout) for name in cut.yields):
            steps = re.findall(r"(strip|section) (\d+)", name)
            nouns = [noun for noun, _ in steps]
            code = _ref(layout, name, {})
            if nouns == ["strip"]:
                last = steps[0][1]
                text = f"{code} is strip {last} of a board of layout {number}"
                if last == "1":
                    words.setdefault("strip", text)
                elif ":1-" not in words.get("strip", ""):
                    words["strip"] = f"{text}, {number}:1-{last} its strips 1 to {last}"
            elif nouns == ["section"]:
                words.setdefault("section", f"{code} is section {steps[0][1]} of a board of layout {number}")
            elif nouns == ["section", "strip"]:
                words.setdefault("both", f"{code} is strip {steps[1][1]} of section {steps[0][1]} of layout {number}")
    return f"{', '.join(words.values())}. " if words else ""


def _sawn(planned: PlannedBatch) -> list[list[NumberedLayout]]:
    groups: dict[Material, list[NumberedLayout]] = {}
    for layout in numbered_layouts(planned):
        if layout.is_sawn:
            groups.setdefault(layout.material, []).append(layout)
    return list(groups.values())


def _material(layouts: list[NumberedLayout], planned: PlannedBatch) -> list[Block]:
    job, plan = layouts[0].plan.job.job, layouts[0].plan.plan
    sequence = job_sequence(job, plan, thin_rip=planned.batch.saw.thin_rip)
    rows = order_rows(layouts, sequence, planned)
    count = so_far = 0
    cells = []
    for row in rows:
        count += bool(row.setting)
        pieces = sum(number for mark, number in row.pieces.items() if not mark.startswith("rough "))
        so_far += pieces
        tick = ("[ ]", str(count)) if row.setting else ("", "")
        cells.append((*tick, row.deed, row.setting, row.passes, row.gives, str(so_far) if pieces else ""))
    columns = (
        Column("", weight=1),
        Column("", Align.RIGHT, weight=1),
        Column("cut", weight=7),
        Column("set to", weight=5, cut_size=True),
        Column("pass over the saw", weight=10),
        Column("gives in all", weight=6),
        Column(f"so far, of {sum(lay.times * len(lay.pieces) for lay in layouts)}", Align.RIGHT, weight=4),
    )
    kerf = Paragraph(f"{kerf_words(layouts[0], planned.batch.unit)}.", lead="Kerf:")
    head: list[Block] = [
        Heading(f"{layouts[0].material.name.capitalize()}, {sum(lay.times for lay in layouts)} boards by setting", 2),
        Paragraph(_totals(layouts, sequence, planned.batch.saw.thin_rip)),
        kerf,
    ]
    strokes = [stroke.saw_cut for station in sequence.stations for stroke in station.strokes]
    head += page_cautions(layouts[0].material, strokes, planned.batch)
    spares = spares_of(layouts)
    if spares:
        head.append(Paragraph(f"{spares}, more than needed; they are counted below.", lead="Spares:"))
    words, *before = _before(layouts, planned.batch)
    return [KeepTogether((*head, words)), *before, Table(columns, tuple(cells))]


def _totals(layouts: list[NumberedLayout], sequence: JobSequence, thin_rip: ThinRip) -> str:
    """How often fence and stops are set and moved, the least that is possible, and what the layout pages take."""
    job, plan = layouts[0].plan.job.job, layouts[0].plan.plan
    settings = Counter(
        "thin" if station.setting[1] == "strip" else "fence" if station.setting[0] else "stop"
        for station in sequence.stations
    )
    text = (
        f"Set the fence {_times(settings['fence'])} and the stop {_times(settings['stop'])} (squaring ends counts as "
    )
    text += "one)"
    if settings["thin"]:
        text += (
            f"; set the thin-rip stop {_times(settings['thin'])}, and bring the fence up to it once for each strip, "
        )
        text += f"{_times(sequence.fence_moves)}"
    text += f": {sequence.moves} settings and fence moves" if sequence.fence_moves else f": {sequence.moves} settings"
    text += f"; board by board it is {sum(_apart(lay, thin_rip) for lay in layouts)}. "
    if sequence.moves == sequence.least:
        text += "No order of these cuts takes fewer, with all boards squared, then ripped, then crosscut."
    else:
        text += f"No order takes fewer than {sequence.least}, with all boards squared, then ripped, then crosscut."
    if thin_rip == STOP or not any(s.saw_cut.is_narrow for station in sequence.stations for s in station.strokes):
        return text
    stopped = len(job_sequence(job, plan, thin_rip=STOP).stations)
    return (
        f"{text} Strips fall free: for each the fence is set anew, by its width and a kerf, and counted. Measure every "
        f'board first. With strips = "thin-rip stop" under [saw], {stopped} settings are measured, and the fence is '
        "brought up to the stop without measuring."
    )


def _apart(layout: NumberedLayout, thin_rip: ThinRip) -> int:
    """Settings and fence moves of all boards of a layout that are cut by themselves."""
    cuts = saw_cuts(layout.plan.job.job, layout.layout)
    settings = sum(any(cut.count for cut in run) for run in runs_of(cuts, thin_rip))
    return settings + layout.times * sum(fence_moves_of(cut, thin_rip) for cut in cuts)


def _times(count: int) -> str:
    return {0: "never", 1: "once", 2: "twice"}.get(count, f"{count} times")


def _before(layouts: list[NumberedLayout], batch: Batch) -> list[Block]:
    """What is done before the first cut: boards measured and stacked, and what is to be seen to on some of them."""
    thick = thickness_of(layouts[0])
    limits = "" if thick is None else f" Thickness: {limits_of(thick, batch)}."
    text = f"Measure every board and write its layout on it.{limits} Out of the limits: use another board."
    blocks: list[Block] = [Paragraph(text, lead="Before the first cut."), _stacks(layouts, batch)]
    first: dict[str, list[str]] = {}
    for layout in layouts:
        for block in rack_board(layout, batch):
            if isinstance(block, Paragraph):
                first.setdefault(block.text, []).append(_number(layout))
    blocks += [Paragraph(words, lead=f"Boards of layout {listed(numbers)}:") for words, numbers in first.items()]
    return blocks


def _stacks(layouts: list[NumberedLayout], batch: Batch) -> Table:
    """Which boards lie in which stack and how large each must be: a row for each kind of board."""
    kinds: dict[str, list[NumberedLayout]] = {}
    for layout in layouts:
        kinds.setdefault(layout.what, []).append(layout)
    unit = batch.unit
    rows = []
    for what, own in kinds.items():
        by_size: dict[tuple[str, str], list[NumberedLayout]] = {}
        for lay in own:
            wide, long = least_size(lay, saw_cuts(lay.plan.job.job, lay.layout))
            width = limits_of(lay.width, batch) if full_width(lay) else f"{wide.text(unit)} or more"
            by_size.setdefault((width, f"{long.text(unit)} or more"), []).append(lay)
        for n, (size, alike) in enumerate(by_size.items()):
            names = ", ".join(f"{_number(lay)} ({lay.times})" for lay in alike)
            first = ("", "") if n else (what, str(sum(lay.times for lay in own)))
            rows.append(("[ ]", *first, names, *size))
    columns = (
        Column("", weight=1),
        Column("stack up", weight=7),
        Column("boards", Align.RIGHT, weight=2),
        Column("by layout (boards of each)", weight=5),
        Column("width", weight=5),
        Column("length", weight=5),
    )
    return Table(columns, tuple(rows))


def order_rows(layouts: list[NumberedLayout], sequence: JobSequence, planned: PlannedBatch) -> list[OrderRow]:
    """The rows of one material; `layouts` are those of its plan in their order. Every piece comes off in one of them.

    A row without a setting is no cut: what a phase leaves of a part is the piece.
    """
    marks = {need.address: need.mark for need in layouts[0].plan.job.needs}
    rows: list[OrderRow] = []
    due = list(sequence.named)
    stations = list(sequence.stations)
    tools = [tools_for(lay, saw_cuts(lay.plan.job.job, lay.layout), planned.batch) for lay in layouts]
    for n, station in enumerate(stations):
        rows.append(_row(station, layouts, marks, planned, tools))
        if n + 1 == len(stations) or stations[n + 1].phase != station.phase:
            here = [naming for naming in due if naming.phase == station.phase]
            due = [naming for naming in due if naming.phase != station.phase]
            rows += _left_over(here, layouts, marks)
    return rows + _left_over(due, layouts, marks)


def _row(
    station: Station,
    layouts: list[NumberedLayout],
    marks: dict[str, str],
    planned: PlannedBatch,
    tools: list[dict[SawCut, str]],
) -> OrderRow:
    first = station.strokes[0].saw_cut
    passes: dict[tuple[str, str], list[str]] = {}  # most to least comes off, then by number; what and with which tool
    pieces: Counter[str] = Counter()
    nouns: Counter[str] = Counter()
    for stroke in sorted(station.strokes, key=lambda each: -len(each.saw_cut.yields)):
        own, cut = layouts[stroke.layout], stroke.saw_cut
        names = () if cut.kind == "trim" else cut.yields
        for name in names:
            if name in marks:
                pieces[marks[name]] += stroke.boards
            elif rough_blank(name) in marks:
                pieces[f"rough {marks[rough_blank(name)]}"] += stroke.boards
            else:
                nouns[_last_step(name)[0]] += stroke.boards
        passes.setdefault((_comes_off(names), tools[stroke.layout][cut]), []).append(_ref(own, cut.of, marks))
    words = [f"{count} {noun}{'s' if count != 1 else ''}" for noun, count in nouns.items()]
    words += [f"{count} x {mark}" for mark, count in pieces.items()]
    used = list(dict.fromkeys(tool for _, tool in passes))
    over = []
    for (what, tool), refs in passes.items():
        text = f"{what} off {listed(refs)}" if what else listed(refs)
        over.append(text if len(used) == 1 else f"{text}: {tool}")
    moves = sum(s.boards * fence_moves_of(s.saw_cut, planned.batch.saw.thin_rip) for s in station.strokes)
    if moves:
        over.append(f"fence up to the stop for each strip: {_times(moves)}")
    setting = setting_text(layouts[station.strokes[0].layout], first, planned)
    saws = used if len(used) == 1 else dict.fromkeys(tool.partition(",")[0] for tool in used)
    deed = f"{_deed(first, planned.batch.saw.thin_rip, used)}\n{' or '.join(saws)}"
    return OrderRow(deed, setting, "\n".join(over), ", ".join(words), pieces)


def _comes_off(names: tuple[str, ...]) -> str:
    """What one part gives at one setting: "strip 1-2", or how many pieces."""
    if not names:
        return ""
    steps = [_last_step(name) for name in names]
    if all(number for _, number in steps):
        return f"{steps[0][0]} {listed(number for _, number in steps)}"
    return f"{len(names)} each"


def _last_step(name: str) -> tuple[str, str]:
    """Strip, section or block, and its number; two empty words for a piece."""
    found = re.fullmatch(r"(?:.* )?(strip|section|block) (\d+)", name)
    return (found[1], found[2]) if found else ("", "")


def _deed(cut: SawCut, thin_rip: ThinRip, tools: Iterable[str]) -> str:
    if cut.kind == "trim":
        if cut.yields == ("end",):
            return "square one end"
        if cut.yields == ("waste",) and not cut.along:
            return "cut off the bad stretch"
        if cut.count == 1:
            return "true the edge" if cut.along else "cut the end off"
        return "true edges" if cut.along else "square ends"
    if cut.along:
        return "rip, fence" if not cut.is_narrow else "rip, thin-rip stop" if thin_rip == STOP else "rip, falls free"
    return "mark and crosscut" if all(map(has_no_stop, tools)) else "crosscut, stop"


def _left_over(named: Iterable[Naming], layouts: list[NumberedLayout], marks: dict[str, str]) -> list[OrderRow]:
    rows: dict[str, tuple[list[str], Counter[str]]] = {}
    for naming in named:
        own = layouts[naming.layout]
        if naming.name in marks:
            refs, pieces = rows.setdefault(marks[naming.name], ([], Counter()))
            refs.append(_ref(own, naming.of, marks))
            pieces[marks[naming.name]] += own.times
    return [
        OrderRow("no cut", "", f"{listed(refs)}: the piece as it is", f"{pieces[mark]} x {mark}", pieces)
        for mark, (refs, pieces) in rows.items()
    ]


def _number(layout: NumberedLayout) -> str:
    return layout.name.removeprefix("Layout ")


def _ref(layout: NumberedLayout, of: str, marks: dict[str, str]) -> str:
    """A part by its layout and strip: "7", "7:2", "7s1:2"; a piece still to be trimmed by its mark."""
    number = _number(layout)
    if rough_blank(of) in marks:
        return f"{number} rough {marks[rough_blank(of)]}"
    steps = re.findall(r"(strip|section|block) (\d+)", of)
    return number + "".join((":" if noun == "strip" else noun[0]) + count for noun, count in steps)


def listed(refs: Iterable[str]) -> str:
    """Parts in a short list, neighbours drawn together; from three layouts on also the same part of each.

    >>> listed(["3", "4", "5", "7:1", "7:2", "7:3", "8:1", "9", "12s1:1", "12s1:2"])
    '3-5, 7:1-3, 8:1, 9, 12s1:1-2'
    >>> listed(["5s1", "36s1:1", "36s1:2", "37s1:1", "37s1:2", "38s1:1", "38s1:2", "38s2:2", "39s1:1"])
    '5s1, 36s1:1-2 to 38s1:1-2, 38s2:2, 39s1:1'
    """
    out: list[tuple[str, int, int]] = []
    for ref in dict.fromkeys(refs):
        stem, last = re.fullmatch(r"(.*?)(\d*)", ref).groups()  # type: ignore[union-attr]
        if not last or stem[-1:].isalpha():
            out.append((ref, -1, -1))
        elif out and out[-1][0] == stem and out[-1][2] == int(last) - 1:
            out[-1] = (stem, out[-1][1], int(last))
        else:
            out.append((stem, int(last), int(last)))
    return ", ".join(
        _abreast([stem if low < 0 else f"{stem}{low}{'' if low == high else f'-{high}'}" for stem, low, high in out])
    )


_ABREAST = 3  # from so many layouts on, the same part of each is named by the first and the last


def _abreast(refs: list[str]) -> list[str]:
    runs: list[list[tuple[int, str]]] = []
    for ref in refs:
        number, rest = re.fullmatch(r"(\d+)(.*)", ref).groups()  # type: ignore[union-attr]
        last = runs[-1][-1] if runs else None
        if last is not None and last == (int(number) - 1, rest) and rest[:1] in (":", "s"):
            runs[-1].append((int(number), rest))
        else:
            runs.append([(int(number), rest)])
    words = [[f"{number}{rest}" for number, rest in run] for run in runs]
    return [f"{run[0]} to {run[-1]}" if len(run) >= _ABREAST else ", ".join(run) for run in words]
