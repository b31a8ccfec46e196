"""The cutting chapters: the boards to cut first, all boards drawn to scale, and one list of saw settings."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from woodshop.cutting.order.job_sequence import STOP, JobSequence, fence_moves_of, job_sequence
from woodshop.cutting.order.sequence import SawCut, saw_cuts
from woodshop.design.batch import Batch
from woodshop.documents.packet.cut_cautions import NAILS, cautions_of
from woodshop.documents.packet.layouts import (
    Kept,
    NumberedLayout,
    groups_of,
    is_resawn,
    kept_offcuts,
    layout_drawing,
    numbered_layouts,
    of_times,
    offcuts_to_keep,
    ranges,
    spares_of,
)
from woodshop.documents.packet.measure_first import (
    at_mark,
    is_trued_for_roundings,
    kerf_text,
    limits_of,
    nearest,
    said_of,
    thickness_of,
    trued_width,
)
from woodshop.drawing.pages.boards import BoardPicture, Passing, board_rows, passing_picture
from woodshop.drawing.values.model import (
    Align,
    Block,
    Cell,
    Column,
    Heading,
    KeepTogether,
    Paragraph,
    Section,
    Table,
    page_of,
)
from woodshop.drawing.views import layout as drawn
from woodshop.plan.first_boards import FirstBoards, first_boards
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.cut_tools import cuts_by_tool, deed, how_to_true, tool_for_edges, tools_for
from woodshop.reference.facts import fact
from woodshop.reference.materials import Material
from woodshop.units.lengths import ZERO

_KEPT_ROWS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class SawSetting:
    """One setting of a tool: the operation, the tool, the setting, the boards to cut, and the total yield.

    `pieces` counts finished pieces for each mark. `all_of` names the boards if no picture is needed. If `set_to` is "",
    nothing is cut, because the remainder is the piece. `cuts` has each cut with the index of its layout; `each` has the
    finished pieces for each mark that one board of a layout gives, by the index of the layout.
    """

    deed: str
    set_to: str
    boards: tuple[Passing, ...]
    all_of: str
    gives: str
    pieces: Counter[str] = field(default_factory=Counter)
    tool: str = ""
    cuts: tuple[tuple[int, SawCut], ...] = ()
    each: Mapping[int, Counter[str]] = field(default_factory=dict)


def first_boards_chapter(planned: PlannedBatch) -> Section:
    """The chapter with the boards to cut first, board by board. The result is empty if there are none."""
    first = first_boards(planned)
    groups = [(group, of) for group, of in zip(groups_of(planned), first, strict=True) if of.wanted]
    cut = [(group, of) for group, of in groups if of.is_cut_first]
    if not groups or not any(group for group, _ in groups):
        return Section("", ())
    if not cut:
        names = ", ".join(_not_first(group, of) for group, of in groups)
        text = f"Cut all of each material by its list in Cutting, then build one of each kind. The lists: {names}."
        return Section("First boards", (Paragraph(text),))
    boards, of_all = sum(of.boards for _, of in cut), sum(of.of for group, of in groups if group[0].is_sawn)
    text = (
        f"Cut these {boards} of the {of_all} boards first, one board after the other. They make one complete unit of "
        "each kind for each width of box. Build each unit and try it on a hive of its width. Then cut the rest "
        f"({page_of('cutting', otherwise='Cutting')})."
    )
    whole = [_not_first(group, of) for group, of in groups if not of.is_cut_first and group[0].is_sawn]
    if whole:
        text += (
            f" Before you build, also cut all of the {' and all of the '.join(whole)}, as listed in Cutting, because "
            "the first units use more than a third of it."
        )
    some = [_first_pieces(group, of) for group, of in groups if not of.is_cut_first and not group[0].is_sawn]
    if some:
        text += (
            " From the other materials, cut only these pieces now, as their layouts in Cutting show. Cut the rest "
            f"when these fit: {'; '.join(some)}."
        )
    blocks: list[Block] = [Paragraph(text), _how_to_read(planned)]
    for group, of in cut:
        layouts = of_times(group, of.times)
        blocks += [
            Heading(material_heading(group[0].material, layouts), 2),
            *notes_before(layouts, planned),
            *_spares(layouts),
        ]
        again = {lay.name for lay, count in zip(group, of.times, strict=True) if count < lay.times}
        blocks += _by_board(layouts, planned, kept_offcuts(planned), 0, again)
    return Section("First boards", tuple(blocks))


def _first_pieces(group: Sequence[NumberedLayout], of: FirstBoards) -> str:
    """A text for a material without boards to cut first: the pieces that the first units need, with their marks."""
    marks = {need.address: need.mark for need in group[0].plan.job.needs}
    first = {name: next(lay.number for lay in group if any(p.address == name for p in lay.pieces)) for name in marks}
    some = (f"{count} x {marks[name]} (layout {first[name]})" for name, count in of.wanted)
    return f"{group[0].material.spoken}, {', '.join(some)}"


def _not_first(group: Sequence[NumberedLayout], of: FirstBoards) -> str:
    """The name of a material with no boards to cut first, and the number of its boards if it has any."""
    material = group[0].material
    return f"{material.spoken} ({_boards(material, of.of)})" if group[0].is_sawn and of.boards else material.spoken


def cutting_chapter(planned: PlannedBatch, *, is_all: bool = False) -> Section:
    """All boards except the boards cut first, by material: drawn to scale, with the settings in order.

    If `is_all` is true, no boards are cut first, for example because much of a batch is already cut.
    """
    groups = groups_of(planned)
    first = [replace(of, is_cut_first=of.is_cut_first and not is_all) for of in first_boards(planned)]
    is_said = any(of.is_cut_first for of in first)
    blocks: list[Block] = [] if is_said else [_how_to_read(planned)]
    kept = kept_offcuts(planned)
    for group, of in zip(groups, first, strict=True):
        done = of.times if of.is_cut_first else (0,) * len(group)
        layouts = of_times(group, [lay.times - count for lay, count in zip(group, done, strict=True)])
        so_far = sum(len(lay.pieces) * count for lay, count in zip(group, done, strict=True))
        if layouts:
            own = _material(layouts, planned, kept, so_far, sum(done))
            blocks += [block for block in own if block not in blocks]  # cautions are given once
    return Section("Cutting", tuple(blocks + offcuts_to_keep(numbered_layouts(planned), kept, planned)))


def _how_to_read(planned: PlannedBatch) -> Paragraph:
    text = (
        "Each kind of piece has its own shade of gray. Strips, and the wider rails, come off the lower edge of a "
        "board. Pieces come off its left end. The small pictures are not to scale; the dark area shows what the cut "
        "makes. Chalk the layout's number on each board, rail and strip. The last column counts the pieces done."
    )
    away = planned.batch.saw.least_end_trim
    if away > ZERO and any(layout.is_sawn for layout in numbered_layouts(planned)):
        text += f" The last piece is cut at both ends, so a board must extend {away.text(planned.batch.unit)} past it."
    return Paragraph(text, lead="The pictures.")


def _cuts(layout: NumberedLayout) -> tuple[SawCut, ...]:
    return saw_cuts(layout.plan.job.job, layout.layout)


def _boards(material: Material, count: int) -> str:
    return f"{count} {material.form.value}{'' if count == 1 else 's'}"


def material_heading(material: Material, layouts: Sequence[NumberedLayout]) -> str:
    """The heading above the layouts of one material: its name and the number of its boards or sheets."""
    name = "plain" if material.name == "board" else material.spoken
    count = sum(lay.times for lay in layouts)
    if name.endswith(" board"):
        return f"{name}s: {count}"
    return f"{name[:1].upper()}{name[1:]}: {_boards(material, count)}"


def is_by_setting(boards: int, batch: Batch) -> bool:
    """Whether the cuts for this many boards of a material are listed by setting, not board by board."""
    if batch.saw.order is not None:
        return batch.saw.order == "by setting"
    return boards >= int(fact("saw.by_setting_from").value.partition(" ")[0])


def _material(layouts: list[NumberedLayout], planned: PlannedBatch, kept: Kept, so_far: int, done: int) -> list[Block]:
    """The boards and settings of one material. The `done` boards, which are cut first, give `so_far` pieces."""
    batch, material = planned.batch, layouts[0].material
    blocks: list[Block] = [Heading(material_heading(material, layouts), 2)]
    if done:
        text = (
            f"{_boards(material, done)} cut first gave {so_far} pieces. For kerf, boards and cautions, see First "
            "boards."
        )
        blocks.append(Paragraph(text))
    else:
        blocks += notes_before(layouts, planned)
    blocks += _spares(layouts)
    if not is_by_setting(sum(lay.times for lay in layouts), batch):
        return [*blocks, *_by_board(layouts, planned, kept, so_far)]
    rows = board_rows([board_of(lay, planned, kept) for lay in layouts], batch.unit)
    table = _settings_table(layouts, planned, so_far)
    return [*blocks, *rows, *([Paragraph(_settings_words(layouts, batch))] if layouts[0].is_sawn else []), table]


def _settings_words(layouts: Sequence[NumberedLayout], batch: Batch) -> str:
    """How often the fence and stops are set if the cuts follow this order, the best order, or each board in turn."""
    sequence = sequence_of(layouts, batch)
    alone = sum(sequence_of([lay], batch).moves for lay in layouts)
    moves = "settings and fence moves" if sequence.fence_moves else "settings"
    square = "if you square all boards, rip, then crosscut"
    fewest = f"the fewest {square}" if sequence.moves == sequence.least else f"at least {sequence.least} {square}"
    text = (
        f"Set each size once for all boards. This takes {sequence.moves} {moves} ({fewest}). Going board by board "
        f"takes {alone}."
    )
    narrow = any(stroke.saw_cut.is_narrow for station in sequence.stations for stroke in station.strokes)
    free = (
        " Strips fall free: for each strip, move the fence by its width and a kerf. With a thin-rip stop, a setting "
        "of the saw, you move the fence until the board touches the stop, without measuring."
    )
    return text + (free if narrow and batch.saw.thin_rip != STOP else "")


def notes_before(layouts: Sequence[NumberedLayout], planned: PlannedBatch) -> list[Block]:
    """Notes for all boards of a material: kerf and thickness, offcuts on hand, cautions."""
    batch, first = planned.batch, layouts[0]
    blocks: list[Block] = []
    if first.is_sawn:
        thick = thickness_of(first)
        text = f"kerf {kerf_text(first, batch.unit)}."
        text += "" if thick is None else f" Thickness {limits_of(thick, batch)}."
        text += (
            " Measure every board and write its layout number on it. If a board is outside the limits, use another one."
        )
        if any(lay.is_offcut for lay in layouts):
            text += f" {NAILS}"
        text += _about_edges(layouts, batch)
        if any(is_resawn(lay) for lay in layouts):
            where = page_of("resaw-and-plane", "Resaw and plane, page {}", "Resaw and plane")
            text += f" Boards that are resawn are planed first: {where}."
        blocks.append(Paragraph(text, lead="All boards:"))
    every = [(lay, *each) for lay in layouts for each in tools_for(lay, _cuts(lay), batch).items()]
    blocks += [*_by_wires(first.material, planned), *cautions_of(every, batch)]
    return blocks


def _about_edges(layouts: Sequence[NumberedLayout], batch: Batch) -> str:
    """How both edges are trued, and what to do with a board that dried narrower, if edges are trued."""
    tools: dict[str, list[int]] = {}
    for lay in layouts:
        if trued_width(lay) < lay.width:
            tools.setdefault(tool_for_edges(lay, batch.saw.tools), []).append(int(lay.number))
    if not tools:
        return ""
    text = "".join(
        f" True both edges{f' of layouts {ranges(own)}' if len(tools) > 1 else ''}: {how_to_true(tool)}."
        for tool, own in tools.items()
    )
    if any(is_trued_for_roundings(lay, batch) for lay in layouts):
        text += (
            " A board that dried narrower: take less off each edge, as long as the rips still give their widths. "
            "Corners may stay slightly rounded."
        )
    return text


def _spares(layouts: Sequence[NumberedLayout]) -> list[Block]:
    spares = spares_of(layouts)
    return [Paragraph(f"{spares} more than needed. They are counted below.", lead="Spares:")] if spares else []


def _by_board(
    layouts: list[NumberedLayout], planned: PlannedBatch, kept: Kept, so_far: int, again: Collection[str] = ()
) -> list[Block]:
    """The picture of each layout, then its settings. Layouts in `again` are drawn again later, and links lead there."""
    drawings = [board_of(layout, planned, kept) for layout in layouts]
    boards = [
        replace(b, anchor="" if lay.name in again else b.anchor) for lay, b in zip(layouts, drawings, strict=True)
    ]
    if len(layouts) > 1 and not layouts[0].is_sawn:
        return [*board_rows(boards, planned.batch.unit), _settings_by_board(layouts, planned, so_far)]
    blocks: list[Block] = []
    for layout, board in zip(layouts, boards, strict=True):
        table = _settings_table([layout], planned, so_far)
        if layout is not layouts[0]:  # the columns are the same as in the table above
            table = replace(table, columns=tuple(replace(column, heading="") for column in table.columns))
        if len(table.rows) <= _KEPT_ROWS:
            blocks.append(KeepTogether((*board_rows([board], planned.batch.unit), table)))
        else:  # a long list can continue on the next page
            bare = replace(board, name="", anchor="")
            own = replace(table, continued=board.name)
            blocks += [Heading(board.name, 3, board.anchor), *board_rows([bare], planned.batch.unit), own]
        so_far += layout.times * len(layout.pieces)
    return blocks


def board_of(layout: NumberedLayout, planned: PlannedBatch, kept: Kept) -> BoardPicture:
    """The picture of one layout, for use below the heading of its material."""
    view = layout_drawing(layout, planned, kept[layout.name]).views[0]
    what = layout.what.removesuffix(f", {layout.material.spoken}")  # the heading above names the material
    name = f"{layout.name} · {what} · cut {layout.times}"
    return BoardPicture(
        name=name,
        view=replace(view, dimensions=view.dimensions[2:]),
        strips=tuple(piece.width for piece in layout.pieces),
        said=said_of(layout, _cuts(layout), planned.batch),
        anchor=layout.anchor,
    )


def _by_wires(material: Material, planned: PlannedBatch) -> list[Block]:
    """How to count cells and wires; printed before the mesh layouts."""
    if material.mesh is None:
        return []
    text = f"Count cells instead of measuring: 39 cells have 40 wires. {which_wire(planned)}"
    return [Paragraph(text, lead="By cells and wires.")]


def which_wire(planned: PlannedBatch) -> str:
    """On which side of a wire mesh is snipped."""
    if planned.batch.lumberyard.shared_wires:
        return (
            "Keep the wires at both edges. The next piece begins at the wire where the last one ends. One of the two "
            "pieces keeps that wire; the other ends in stubs."
        )
    return (
        "Keep the wires at both edges. Leave one waste cell between pieces. Snip it out close to the wires on both "
        "sides."
    )


def _settings_table(layouts: list[NumberedLayout], planned: PlannedBatch, so_far: int) -> Table:
    """The settings in order, one row each. `so_far` counts the pieces already cut from this material."""
    job = layouts[0].plan
    of = sum(lay.times * len(lay.pieces) for lay in job.plan.layouts)
    longest = max(lay.length for lay in layouts)
    rows: list[tuple[Cell, ...]] = []
    links = []
    number = 0
    for each in settings_of(layouts, planned):
        number += bool(each.set_to)
        pieces = sum(each.pieces.values())
        so_far += pieces
        passing: Cell = each.all_of if len(layouts) > 1 else ""
        if each.boards and not each.all_of:
            passing = passing_picture(each.boards, longest, is_alone=len(layouts) == 1)
        links += [(len(rows), 5, f"part-{mark}") for mark in list(each.pieces)[:1]]
        first = ("[ ]", str(number) if each.set_to else "", each.deed, each.set_to)
        rows.append((*first, passing, each.gives, str(so_far) if pieces else ""))
    cut, set_to, gives = (32, 14, 12) if layouts[0].material.mesh is None else (26, 25, 25)
    columns = (
        Column("", weight=4),
        Column("", Align.RIGHT, weight=4),
        Column("cut", weight=cut),
        Column("set to", weight=set_to, cut_size=True),
        Column("layout x boards" if len(layouts) > 1 else "layout", weight=1),
        Column("gives", weight=gives),
        Column(f"done/{of}", Align.RIGHT, weight=6),
    )
    return Table(columns, tuple(rows), links=tuple(links))


def _settings_by_board(layouts: Sequence[NumberedLayout], planned: PlannedBatch, so_far: int) -> Table:
    """The settings layout by layout, numbered consecutively."""
    tables = []
    for layout in layouts:
        tables.append(_settings_table([layout], planned, so_far))
        so_far += layout.times * len(layout.pieces)
    rows = [row for table in tables for row in table.rows]
    numbered = [(row[0], str(n), *row[2:]) for n, row in enumerate(rows, 1)]
    firsts = [sum(len(table.rows) for table in tables[:n]) for n in range(len(tables))]
    links = [(first + r, c, to) for first, table in zip(firsts, tables, strict=True) for r, c, to in table.links]
    return replace(tables[0], rows=tuple(numbered), links=tuple(links))


def sequence_of(layouts: Sequence[NumberedLayout], batch: Batch) -> JobSequence:
    """These layouts of one material in sawing order, with `times` boards of each."""
    plan = replace(layouts[0].plan.plan, layouts=tuple(lay.layout for lay in layouts))
    return job_sequence(plan.job, plan, thin_rip=batch.saw.thin_rip)


def settings_of(layouts: Sequence[NumberedLayout], planned: PlannedBatch) -> list[SawSetting]:
    """Every cut of these layouts of one material, `times` boards of each, in the order in which the tools are set."""
    sequence = sequence_of(layouts, planned.batch)
    cuts = [_cuts(lay) for lay in layouts]
    tools = [tools_for(lay, own, planned.batch) for lay, own in zip(layouts, cuts, strict=True)]
    return _Settings(layouts, planned, sequence, cuts, tools).rows()


@dataclass(frozen=True, slots=True)
class _Settings:
    layouts: Sequence[NumberedLayout]
    planned: PlannedBatch
    sequence: JobSequence
    cuts: Sequence[tuple[SawCut, ...]]
    tools: Sequence[Mapping[SawCut, str]]

    def rows(self) -> list[SawSetting]:
        """A row for each setting and tool, then the pieces that need no further cut, phase by phase."""
        rows: list[SawSetting] = []
        stations = self.sequence.stations
        for n, station in enumerate(stations):
            for tool, own in cuts_by_tool(station, self.tools).items():
                rows.append(self._row([(each.layout, each.saw_cut) for each in own], tool))
            if n + 1 == len(stations) or stations[n + 1].phase != station.phase:
                rows += self._uncut(station.phase)
        seen = {station.phase for station in stations}
        for phase in dict.fromkeys(each.phase for each in self.sequence.named if each.phase not in seen):
            rows += self._uncut(phase)
        return rows

    def _row(self, cuts: Sequence[tuple[int, SawCut]], tool: str) -> SawSetting:
        first = cuts[0][1]
        layout = self.layouts[cuts[0][0]]
        is_trim = first.kind == "trim" and first.yields != ("waste",)
        words = [deed(layout, first, self.planned.batch.saw.thin_rip, tool)]
        moves = sum(self.layouts[n].times * fence_moves_of(cut, self.planned.batch.saw.thin_rip) for n, cut in cuts)
        if is_trim and first.along:
            words.append(self._trued(cuts))
        if moves:
            words.append(f"move the fence {_times(moves)}")
        if any(0 < cut.count < len(cut.yields) for _, cut in cuts):
            words.append(f"the last is the remainder: {self._remainder()}")
        given, pieces = self._counts(cuts)
        return SawSetting(
            deed="\n".join(words),
            set_to=_setting_text(layout, first, self.planned),
            boards=self._boards(cuts),
            all_of=self._named({n for n, _ in cuts}) if is_trim else "",
            gives=given,
            pieces=pieces,
            tool=tool,
            cuts=tuple(cuts),
            each=self._each(cuts),
        )

    def _uncut(self, phase: str) -> list[SawSetting]:
        """The remainder of a part after a phase, if it is a finished piece."""
        rows: dict[str, list[tuple[int, SawCut]]] = {}
        for each in self.sequence.named:
            if each.phase != phase:
                continue
            cut = next(c for c in self.cuts[each.layout] if not c.count and c.of == each.of and each.name in c.yields)
            if self._mark(each.layout, each.name) and not _is_length(each.of):
                is_made = self.planned.batch.saw.remainder_allowance is None
                words = "no cut: the rest is the piece" if is_made else f"no cut, remainder: {self._remainder()}"
                rows.setdefault(words, []).append((each.layout, cut))
        return [
            SawSetting(
                deed=words,
                set_to="",
                boards=self._boards(cuts),
                all_of="",
                gives=given,
                pieces=pieces,
                cuts=tuple(cuts),
                each=self._each(cuts),
            )
            for words, cuts in rows.items()
            for given, pieces in [self._counts(cuts)]
        ]

    def _named(self, numbers: set[int]) -> str:
        own = [self.layouts[n] for n in sorted(numbers)]
        boards = sum(lay.times for lay in own)
        if len(own) == len(self.layouts):
            return f"every board: {boards}"
        return f"layouts {ranges([int(lay.number) for lay in own])}: {_boards(own[0].material, boards)}"

    def _trued(self, cuts: Sequence[tuple[int, SawCut]]) -> str:
        """How much comes off each edge, and how wide each board then is."""
        unit, of = self.planned.batch.unit, dict[str, list[int]]()
        for layout in (self.layouts[n] for n in sorted({n for n, _ in cuts})):
            of.setdefault(nearest(trued_width(layout), unit).text(unit), []).append(int(layout.number))
        wide = ", ".join(
            f"{width} wide" + (f" (layout{'s' if len(own) > 1 else ''} {ranges(own)})" if len(of) > 1 else "")
            for width, own in of.items()
        )
        off = nearest(self.layouts[cuts[0][0]].plan.job.grid * cuts[0][1].setting, unit).text(unit)
        return f"{off} off each edge, to {wide}: measure it"

    def _remainder(self) -> str:
        off = self.planned.batch.saw.remainder_allowance
        return "measure, trim to size" + ("" if off is None else f" (limit: {off.text(self.planned.batch.unit)} off)")

    def _mark(self, layout: int, name: str) -> str:
        """The mark of a finished piece, or "" for a piece that is cut further."""
        return next((need.mark for need in self.layouts[layout].plan.job.needs if need.address == name), "")

    def _things(self, layout: int, cuts: Iterable[SawCut]) -> Counter[str]:
        """The yield of one board: the pieces for each mark, or strips, lengths and rough pieces."""
        found: Counter[str] = Counter()
        whole = {cut.of: cut.yields[0] for cut in self.cuts[layout] if not cut.count and _is_length(cut.of)}
        for cut in cuts:
            is_rail = self.layouts[layout].material.is_lumber and not cut.is_narrow
            for name in (whole.get(each, each) for each in cut.yields if cut.kind != "trim"):
                rough = self._mark(layout, rough_blank(name))
                found[self._mark(layout, name) or (f"oversize {rough}" if rough else _noun(name, is_rail=is_rail))] += 1
        return found

    def _counts(self, cuts: Sequence[tuple[int, SawCut]]) -> tuple[str, Counter[str]]:
        every: Counter[str] = Counter()
        for n, cut in cuts:
            for what, count in self._things(n, [cut]).items():
                every[what] += count * self.layouts[n].times
        marks = {need.mark for need in self.layouts[0].plan.job.needs}
        return _listed(every, marks), Counter({what: count for what, count in every.items() if what in marks})

    def _each(self, cuts: Sequence[tuple[int, SawCut]]) -> dict[int, Counter[str]]:
        marks = {need.mark for need in self.layouts[0].plan.job.needs}
        found: dict[int, Counter[str]] = {}
        for n, cut in cuts:
            things = self._things(n, [cut])
            found.setdefault(n, Counter()).update({what: things[what] for what in things if what in marks})
        return found

    def _boards(self, cuts: Sequence[tuple[int, SawCut]]) -> tuple[Passing, ...]:
        own: dict[int, list[SawCut]] = {}
        for n, cut in cuts:
            own.setdefault(n, []).append(cut)
        found = []
        for n, passing in sorted(own.items()):
            layout = self.layouts[n]
            marks = {need.mark for need in layout.plan.job.needs}
            gives = _listed(self._things(n, passing), marks)
            found.append(
                Passing(
                    layout.number,
                    layout.times,
                    layout.length,
                    layout.width,
                    pieces=tuple(drawn.Rect(p.x, p.y, p.length, p.width) for p in layout.pieces),
                    removed=tuple(_rect(layout, place) for cut in passing for place in cut.places),
                    gives=f"{gives} each" if gives and layout.times > 1 else gives,
                )
            )
        return tuple(found)


def _rect(layout: NumberedLayout, place: tuple[int, int, int, int]) -> drawn.Rect:
    """A rectangle of the job, in lengths on the board. If the job has no widths, it is as wide as the board."""
    grid = layout.plan.job.grid
    x0, x1, y0, y1 = place
    wide = layout.width if layout.layout.pieces[0].width is None else grid * (y1 - y0)
    return drawn.Rect(grid * x0, grid * y0, grid * (x1 - x0), wide)


def _listed(counts: Counter[str], marks: set[str]) -> str:
    """The pieces and parts as text: pieces as "4 A", strips and lengths as "2 strips"."""
    return ", ".join(
        f"{count} {what}" + ("s" if count > 1 and what not in marks and not what.startswith("oversize ") else "")
        for what, count in counts.items()
    )


def _noun(name: str, *, is_rail: bool) -> str:
    """The everyday name of what a cut yields: a strip, a rail (a strip not cut as a thin rip), or a length."""
    if "strip" not in name.rpartition(" ")[0].rsplit(" ", 1)[-1]:
        return "length"
    return "rail" if is_rail else "strip"


def _is_length(of: str) -> bool:
    """Whether the workpiece is already crosscut to length, so that what is left of it is a piece, not a remainder."""
    return of.rpartition(" ")[0].endswith("section")


def rough_blank(name: str) -> str:
    """The blank to which a rough piece is trimmed. A rough piece has a name such as "... rough 2"."""
    stem, rough, _ = name.rpartition(" rough ")
    return stem if rough else ""


def _times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def _setting_text(layout: NumberedLayout, cut: SawCut, planned: PlannedBatch) -> str:
    """The position of the fence or stop: tape marks, or cells and wires for mesh."""
    if layout.material.mesh is not None:
        return f"{cut.setting} cells, {cut.setting + 1} wires"
    if cut.is_narrow and planned.batch.saw.thin_rip == STOP:
        strip = nearest(layout.plan.job.grid * cut.strip, planned.batch.unit)
        return strip.number(planned.batch.unit)  # set with a spacer, not with the tape
    text = at_mark(layout.plan.job.grid * cut.setting, planned.batch.saw.mark, planned.batch.unit)
    if cut.kind == "trim":
        return f"{text} off"
    return f"{text} left" if cut.is_narrow else text
