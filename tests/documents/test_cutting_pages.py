"""The cutting pages: running count, offcuts to keep, thin rips both ways, cells and wires, cautions, links."""

import io
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pdfplumber
import pytest

from woodshop.checks.check_batch import check_batch
from woodshop.cutting.order.sequence import saw_cuts
from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.settle.settle import settle
from woodshop.documents.packet import layouts as layouts_module
from woodshop.documents.packet.cutting import cutting_chapter, first_boards_chapter, settings_of
from woodshop.documents.packet.layouts import (
    bad_stretches,
    groups_of,
    kept_offcuts,
    layout_drawing,
    numbered_layouts,
    ranges,
    rests,
    trims,
)
from woodshop.documents.packet.measure_first import full_width, least_size, said_of
from woodshop.documents.packet.parts import parts_section
from woodshop.documents.packet.shopping import shopping_chapter
from woodshop.documents.packet.thin_rip_stop import strips_by_width
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.values.model import (
    Align,
    Block,
    Bullets,
    Column,
    Columns,
    Document,
    Fill,
    Heading,
    KeepTogether,
    Paragraph,
    Section,
    SetOut,
    Table,
)
from woodshop.drawing.values.paper import Word
from woodshop.files.one_file import json_bytes
from woodshop.plan.plan_batch import batch_to_json, plan_batch
from woodshop.plan.values import PlannedBatch
from woodshop.plan.verify import verify_file
from woodshop.plan.work.cut_tools import tools_for
from woodshop.reference.materials import Material
from woodshop.schedule.stages import stages_of
from woodshop.units.lengths import ZERO, Length, inch


@pytest.fixture(scope="module")
def small(designs: Path, tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], PlannedBatch]:
    """A function from a line under [saw] to six boards and quilt boxes planned quickly; each only once."""
    known: dict[str, PlannedBatch] = {}

    def plan(saw: str = "") -> PlannedBatch:
        if saw not in known:
            folder = tmp_path_factory.mktemp("small")
            lumberyard = (designs / "creekside-lumberyard.toml").read_text(encoding="utf-8")
            if saw == NEW_WOOD:
                lumberyard = re.sub(r"\[\[offcut\]\]\n(?:.+\n)+", "", lumberyard)
            (folder / "lumberyard.toml").write_text(lumberyard, encoding="utf-8")
            (folder / "design.toml").write_text(
                'format = "woodshop-design/2"\nbatch = "small"\nunit = "in"\nlumberyard = "lumberyard.toml"\n'
                f'[saw]\nshortest_offcut = "16"\n{saw}\n'
                '[[hives]]\nframes = 10\ncount = 6\ngap = "1/4"\n'
                '[[make]]\nitem = ["fondant rim", "wire bottom", "spacer strips", "packing blocks"]\n'
                '[[make]]\nitem = "mouse guard"\n',
                encoding="utf-8",
            )
            design = read_design(folder / "design.toml")
            batch = settle(design, read_lumberyards(design.lumberyards))
            units, report = check_batch(batch)
            known[saw] = plan_batch(batch, units, report, effort="quick")
        return known[saw]

    return plan


NEW_WOOD = "# no offcuts on hand"
AGAINST_STOP = 'strips = "thin-rip stop"'
FREE = 'strips = "fall free"'
BY_BOARD, BY_SETTING = 'order = "by board"', 'order = "by setting"'


def flat(planned: PlannedBatch) -> list[Block]:
    """The blocks of both chapters, those kept together one by one."""
    blocks = (*first_boards_chapter(planned).blocks, *cutting_chapter(planned).blocks)
    grouped = (KeepTogether, Columns)
    return [each for block in blocks for each in (block.blocks if isinstance(block, grouped) else (block,))]


def drawn_words(planned: PlannedBatch) -> str:
    """All that is written in the pictures of the boards."""
    sheets = [block.sheet for block in flat(planned) if isinstance(block, SetOut)]
    return "; ".join(mark.text for sheet in sheets for mark in sheet.marks if isinstance(mark, Word))


def head_of(material: Material) -> str:
    """A material in the heading of its settings: "3/4 in boards", "1/2 in mesh", "Cloth"."""
    kind, _, size = material.name.partition(" ")
    if kind == "board" and size:
        return f"{size} boards"
    return f"{size} {kind}" if kind == "mesh" else material.name.capitalize()


def cut_tables(planned: PlannedBatch) -> dict[str, list[Table]]:
    """The tables of settings by material, in the order of the pages."""
    found: dict[str, list[Table]] = {}
    material = ""
    for block in flat(planned):
        if isinstance(block, Heading) and block.level == 2:
            material = block.text.rpartition(":")[0]
        elif isinstance(block, Table) and len(block.columns) == 7:
            found.setdefault(material, []).append(block)
    return found


@pytest.mark.invariant
def test_the_running_count_rises_to_all_pieces_of_a_material(small: Callable[[str], PlannedBatch]) -> None:
    """Over the first boards and the rest; each row says by how many. So however the cuts are listed."""
    for planned in map(small, ("", BY_BOARD, BY_SETTING)):
        tables = cut_tables(planned)
        for each in planned.plans:
            own = tables[head_of(each.job.material)]
            before = 0
            for row in (row for table in own for row in table.rows):
                made = [
                    int(n) for n, rough, _ in re.findall(r"(\d+) (oversize )?([A-Z]+)(?=,|$)", str(row[5])) if not rough
                ]
                assert row[6] == (str(before + sum(made)) if made else "")
                before += sum(made)
            assert before == sum(need.count for need in each.job.needs)
            assert {table.columns[-1].heading for table in own} <= {f"done/{before}", ""}
            assert own[0].columns[-1].heading


def test_one_way_of_working_is_printed(small: Callable[[str], PlannedBatch]) -> None:
    """By setting from six boards of a material on, by board below that, or as the design says."""
    for saw, planned in ((saw, small(saw)) for saw in ("", BY_BOARD, BY_SETTING)):
        blocks = [b for b in cutting_chapter(planned).blocks if isinstance(b, KeepTogether | Table | Heading)]
        material, tables = "", Counter[str]()
        for block in (each for b in blocks for each in (b.blocks if isinstance(b, KeepTogether) else (b,))):
            if isinstance(block, Heading) and block.level == 2:
                material = block.text
            elif isinstance(block, Table) and len(block.columns) == 7:
                tables[material] += 1
        assert tables
        for heading, count in tables.items():
            boards = int(re.findall(r": (\d+)", heading)[-1])
            by_setting = saw == BY_SETTING or (saw == "" and boards >= 6)
            layouts = sum(
                lay.times for lay in numbered_layouts(planned) if heading.startswith(head_of(lay.material) + ":")
            )
            assert count == 1 if by_setting else 1 <= count <= layouts
        told = {(d.where, d.name) for d in planned.batch.defaults}
        assert (("saw", "order") in told) == (saw == "")


@pytest.mark.invariant
def test_the_small_pictures_show_every_cut_once(small: Callable[[str], PlannedBatch]) -> None:
    """What is dark in the pictures of one board: each place that a cut takes, once."""
    seen = 0
    for layout in numbered_layouts(small("")):
        cuts = saw_cuts(layout.plan.job.job, layout.layout)
        grid = layout.plan.job.grid
        shown: Counter[tuple[Length, ...]] = Counter()
        for setting in settings_of([layout], small("")):
            (board,) = setting.boards
            shown += Counter((r.x, r.y, r.length, r.width) for r in board.removed)
        wanted: Counter[tuple[Length, ...]] = Counter()
        for cut in (cut for cut in cuts if cut.count):
            assert len(cut.places) == len(cut.yields)
            wanted += Counter(
                (grid * x0, grid * y0, grid * (x1 - x0), grid * (y1 - y0)) for x0, x1, y0, y1 in cut.places
            )
        assert wanted <= shown
        uncut = {(p.x, p.y, p.length, p.width) for p in layout.pieces}
        assert set(shown - wanted) <= uncut
        assert {(p.x, p.y, p.length, p.width) for p in layout.pieces} <= set(shown), layout.name
        seen += len(cuts)
    assert seen > 20


def test_offcuts_are_numbered_through_and_listed_once_with_their_sizes(small: Callable[[str], PlannedBatch]) -> None:
    planned = small("")
    kept = kept_offcuts(planned)
    every = [offcut for own in kept.values() for offcut in own]
    assert [offcut.number for offcut in every] == [f"#{n}" for n in range(1, len(every) + 1)]
    saw = planned.batch.saw
    assert len(every) > 2
    assert all(o.length >= saw.shortest_offcut and o.width >= saw.narrowest_offcut for o in every)
    for layout in numbered_layouts(planned):  # what is not kept is smaller
        numbered = {(o.x, o.y) for o in kept[layout.name]}
        for x, y, long, wide in rests(layout):
            assert (x, y) in numbered or long < saw.shortest_offcut or wide < saw.narrowest_offcut
    blocks = flat(planned)
    (table,) = [b for b in blocks if isinstance(b, Table) and b.columns[-1].heading == "layout"]
    assert [row[1] for row in table.rows] == [offcut.number for offcut in every]
    assert [row[3] for row in table.rows] == [f"{o.length.number('in')} x {o.width.number('in')}" for o in every]
    marks = {need.mark for each in planned.plans for need in each.job.needs}
    assert not any(mark in offcut.number for mark in marks for offcut in every), "a part's letter is no offcut's"
    drawn = re.findall(r"keep (#\d+)", drawn_words(planned))
    assert set(drawn) == {offcut.number for offcut in every}


def test_offcuts_of_one_size_from_one_layout_share_a_number(
    small: Callable[[str], PlannedBatch], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Three rests of two sizes from every layout: two numbers, and the table counts each as often as it falls."""
    planned = small("")
    wide, slim = (ZERO, ZERO, inch(20), inch("1 1/2")), (ZERO, ZERO, inch(18), inch("1 1/2"))
    monkeypatch.setattr(layouts_module, "rests", lambda _layout: [wide, slim, wide])
    kept = kept_offcuts(planned)
    numbers = [[offcut.number for offcut in own] for own in kept.values()]
    assert numbers == [[f"#{n}", f"#{n + 1}", f"#{n}"] for n in range(1, 2 * len(numbers), 2)]
    (table,) = [b for b in flat(planned) if isinstance(b, Table) and b.columns[-1].heading == "layout"]
    times = [layout.times for layout in numbered_layouts(planned)]
    assert [(row[1], int(row[2])) for row in table.rows] == [
        (f"#{2 * n + 1 + each}", count * (2 - each)) for n, count in enumerate(times) for each in (0, 1)
    ]


@pytest.mark.invariant
def test_pieces_waste_trims_bad_wood_and_kerfs_make_up_the_stock(small: Callable[[str], PlannedBatch]) -> None:
    """What is drawn of a layout never overlaps, and a knot is crossed out; the rest of the area is kerf."""
    seen: set[str] = set()
    batches = [small(""), small(NEW_WOOD)]
    for layout, planned in ((layout, batch) for batch in batches for layout in numbered_layouts(batch)):
        ends, bad = trims(layout), bad_stretches(layout)
        boxes = [*((p.x, p.y, p.length, p.width) for p in layout.pieces), *rests(layout), *ends, *bad]
        for n, (x, y, long, wide) in enumerate(boxes):
            assert x + long <= layout.length
            assert y + wide <= layout.width
            for u, v, other_long, other_wide in boxes[n + 1 :]:
                apart = u >= x + long or x >= u + other_long or v >= y + wide or y >= v + other_wide
                assert apart, layout.name
        view = layout_drawing(layout, planned, ()).views[0]
        assert sum(region.fill is Fill.BARE for region in view.regions) == len(bad)
        assert sum(label.text == "bad" for label in view.labels) == len(bad)
        seen |= {"end" for _ in ends} | {"bad" for _ in bad}
    assert seen == {"end", "bad"}


@pytest.mark.invariant
def test_what_is_left_and_the_pieces_do_not_overlap(small: Callable[[str], PlannedBatch]) -> None:
    for layout in numbered_layouts(small("")):
        boxes = [(p.x, p.y, p.length, p.width) for p in layout.pieces] + rests(layout)
        for n, (x, y, long, wide) in enumerate(boxes):
            for u, v, other_long, other_wide in boxes[n + 1 :]:
                apart = u >= x + long or x >= u + other_long or v >= y + wide or y >= v + other_wide
                assert apart, layout.name


def test_against_a_stop_strips_of_a_width_are_one_setting_and_the_words_follow(
    small: Callable[[str], PlannedBatch],
) -> None:
    """The setting is the strip's width; free, it is what is left; either is replayed and sound."""
    said = {}
    for saw, way in ((FREE, "free side"), ("", "stop")):
        planned = small(saw)
        told = batch_to_json(planned)
        assert {each["thin_rip"] for each in told["sequences"].values()} == {way}
        assert all(each["findings"] == [] for each in verify_file(json_bytes(told).decode()))
        blocks = flat(planned)
        cautions = {b.text for b in blocks if isinstance(b, Paragraph) and b.lead == "Caution, narrow rips:"}
        (caution,) = cautions
        for words in ("2 in of board", "push block", "guard", "riving knife", "manual comes first"):
            assert words in caution
        assert ("featherboard" in caution) == (way == "free side"), "against a stop there is no place for one"
        assert ("set the thin-rip stop" in caution) == (way == "stop")
        assert ("switch the saw off, move the fence until the board touches the stop" in caution) == (way == "stop")
        assert ("measure every board first" in caution) == (way == "free side")
        rows = [row for tables in cut_tables(planned).values() for table in tables for row in table.rows]
        said[way] = [row for row in rows if re.match("Rip, table saw, (thin|strip)", str(row[2]))]
        assert said[way]
    assert all(row[3].endswith(" left") and "strip falls free" in row[2] for row in said["free side"])
    (width,) = strips_by_width(small(""))
    assert all(row[3] == width.number("in") for row in said["stop"])
    assert all("thin-rip stop\nmove the fence " in row[2] for row in said["stop"])
    assert len(said["stop"]) < len(said["free side"])
    free, stop = (
        " ".join(b.text for b in flat(small(saw)) if isinstance(b, Paragraph))
        for saw in (f"{FREE}\n{BY_SETTING}", BY_SETTING)
    )
    assert "With a thin-rip stop, a setting" in free
    assert "measure every board first" in free
    assert "settings and fence moves" in stop
    assert "With a thin-rip stop, a setting" not in stop
    listed_defaults = {(d.where, d.name) for d in small("").batch.defaults}
    assert ("saw", "strips") in listed_defaults
    assert ("saw", "strips") not in {(d.where, d.name) for d in small(AGAINST_STOP).batch.defaults}


def test_mesh_is_counted_in_cells_and_wires_and_says_what_is_lost(small: Callable[[str], PlannedBatch]) -> None:
    planned = small("")
    rows = [row for table in cut_tables(planned)["1/2 in mesh"] for row in table.rows]
    for row in rows:
        cells, wires = re.fullmatch(r"(\d+) cells, (\d+) wires", row[3]).groups()  # type: ignore[union-attr]
        assert int(wires) == int(cells) + 1
        assert "board" not in row[2]
    shared = replace(
        planned, batch=replace(planned.batch, lumberyard=replace(planned.batch.lumberyard, shared_wires=True))
    )
    lost, kept = (
        next(b.text for b in flat(each) if isinstance(b, Paragraph) and "wires" in b.lead) for each in (planned, shared)
    )
    assert "Leave one waste cell" in lost
    assert "ends in stubs" in kept


def test_mesh_and_steel_have_their_cautions(small: Callable[[str], PlannedBatch]) -> None:
    said = [b.text for b in flat(small("")) if isinstance(b, Paragraph) and b.lead == "Caution, sharp edges:"]
    kinds = {lay.material.name.partition(" ")[0] for lay in numbered_layouts(small(""))}
    assert {"mesh", "steel"} <= kinds
    assert len(said) == 2, "each once in the chapter"
    assert all("gloves" in text for text in said)
    assert sum("Deburr" in text for text in said) == 1


@pytest.mark.slow("sets half a packet and follows its links")
def test_the_buy_list_leads_to_layouts_and_layouts_to_parts(small: Callable[[str], PlannedBatch]) -> None:
    """Links of the finished PDF, followed to the page on which the heading or the part's row stands."""
    planned = small("")
    sawing = (*first_boards_chapter(planned).blocks, *cutting_chapter(planned).blocks)
    blocks = [*shopping_chapter(planned).blocks, *sawing, *parts_section(planned).blocks]
    with pdfplumber.open(io.BytesIO(write_pdf(Document("t", "s", (Section("", tuple(blocks)),))))) as pdf:
        pages = {page.page_obj.pageid: page for page in pdf.pages}
        texts = {number: page.extract_text() for number, page in pages.items()}
        to = [pages[link["data"]["Dest"][0].objid] for page in pdf.pages for link in page.annots]
        shown = ["Layout" in page.extract_text() for page in to]
        bought = {p.what for p in planned.purchases}
        assert len(to) > 10
        assert any(shown)
        assert any("Write the letter on every piece" in page.extract_text() for page in to)
        first = pdf.pages[0].annots[0]
        target = texts[first["data"]["Dest"][0].objid]
        assert any(f"· {what} · cut" in target for what in bought)


def test_a_link_to_an_anchor_that_is_not_there_is_left_out() -> None:
    table = Table((Column("a"), Column("b", Align.RIGHT)), (("x", "y"),), links=((0, 1, "nowhere"),))
    with pdfplumber.open(io.BytesIO(write_pdf(Document("t", "s", (Section("", (table,)),))))) as pdf:
        assert pdf.pages[0].annots == []


def test_a_line_break_in_a_cell_is_kept() -> None:
    table = Table((Column("a"),), (("31 cells\n32 wires",),))
    with pdfplumber.open(io.BytesIO(write_pdf(Document("t", "s", (Section("", (table,)),))))) as pdf:
        lines = pdf.pages[0].extract_text().splitlines()
    assert "31 cells" in lines
    assert "32 wires" in lines


def test_numbers_in_a_row_are_drawn_together() -> None:
    assert ranges([1, 2, 3, 5, 7, 8, 11, 12, 13]) == "1-3, 5, 7, 8, 11-13"
    assert ranges([4]) == "4"


SAWS = ("table saw", "miter saw", "circular saw, guide", "hand saw, miter box", "tin snips", "scissors", "knife")


def test_every_cut_names_its_tool_and_no_long_board_goes_over_the_table_saw_crosswise(
    small: Callable[[str], PlannedBatch],
) -> None:
    """In every row; a 1x12 is wider than a 10 in miter saw crosses."""
    planned = small("")
    seen = set()
    for row in (row for own in cut_tables(planned).values() for table in own for row in table.rows):
        what = str(row[2]).partition("\n")[0]
        if not row[3]:
            assert what.startswith("no cut")
            continue
        (tool,) = [saw for saw in SAWS if f", {saw}" in what][:1]
        seen.add(tool)
        if "rosscut" in what or what.startswith(("Square", "Cut off")):
            assert tool != "table saw", row
    assert {"table saw", "hand saw, miter box"} <= seen
    for layout in numbered_layouts(planned):
        if layout.is_sawn and layout.width > planned.batch.saw.tools.miter_saw_width:
            cuts = saw_cuts(layout.plan.job.job, layout.layout)
            whole = {tool for cut, tool in tools_for(layout, cuts, planned.batch).items() if cut.of == "board"}
            assert whole <= {"table saw", "circular saw, guide"}


def test_every_sawn_layout_says_how_large_its_board_must_be(small: Callable[[str], PlannedBatch]) -> None:
    """Kerf and thickness once for a material, width and length beside each board, and what to do outside the limits."""
    thin = small('rip_kerf = "3/32"\ncrosscut_kerf = "1/8"\nstrips = "fall free"')
    for planned, words in ((small(""), "1/8 in for every cut"), (thin, "3/32 in for a rip, 1/8 in for a crosscut")):
        sawn = [layout for layout in numbered_layouts(planned) if layout.is_sawn]
        held = [b.text for b in flat(planned) if isinstance(b, Paragraph) and b.lead == "All boards:"]
        assert len(sawn) > 3
        assert len(held) == len({layout.material for layout in sawn})
        assert all(text.startswith(f"kerf {words}.") and "use another one" in text for text in held)
        assert sum("Thickness" in text for text in held) == len(
            {lay.material for lay in sawn if lay.material.thickness}
        )
        drawn = drawn_words(planned).replace("; ", " ").replace("\u00a0", " ")
        seen = set()
        for layout in sawn:
            cuts = saw_cuts(layout.plan.job.job, layout.layout)
            text = said_of(layout, cuts, planned.batch)
            assert " ".join(text.split()[:6]) in drawn
            wide, long = least_size(layout, cuts)
            assert f"length {long.text('in')} or more" in text
            whole = {piece.mark for piece in layout.pieces if piece.width == layout.width}
            if whole:
                low, high = (layout.width + inch(f"{sign}1/32") for sign in ("-", ""))
                assert f"Width {low.number('in')} to {high.text('in')}" in text
                seen.add("whole")
            else:
                assert f"Width {wide.text('in')} or more" in text
            if any(cut.is_narrow for cut in cuts):
                assert ("add or subtract the difference" in text) == (planned is thin), (
                    "against a stop no board decides"
                )
                seen.add("narrow")
            assert max(p.y + p.width for p in layout.pieces) <= wide <= layout.width
            assert max(p.x + p.length for p in layout.pieces) <= long <= layout.length
        assert "narrow" in seen


def test_a_row_names_one_saw_and_no_two_neighbours_are_alike(small: Callable[[str], PlannedBatch]) -> None:
    for planned in (small(""), small(NEW_WOOD), small(BY_SETTING)):
        for table in (table for own in cut_tables(planned).values() for table in own):
            assert all(" or " not in str(row[2]) for row in table.rows)
            keys = [(row[2], row[3]) for row in table.rows]
            assert all(a != b for a, b in pairwise(keys))
            assert [row[1] for row in table.rows if row[3]] == [
                str(n + 1) for n in range(sum(bool(r[3]) for r in table.rows))
            ]


@pytest.mark.invariant
def test_what_a_layout_needs_of_a_board_is_what_its_cuts_take(small: Callable[[str], PlannedBatch]) -> None:
    """Walked along and across: ends squared, stops, kerfs, and what must fall away past the last cut."""
    seen = set()
    for planned in (small(""), small(NEW_WOOD)):
        for layout in numbered_layouts(planned):
            if not layout.material.name.startswith("board "):
                continue
            cuts, saw = saw_cuts(layout.plan.job.job, layout.layout), planned.batch.saw
            grid = layout.plan.job.grid
            wide, long = least_size(layout, cuts)
            ends: dict[str, Length] = {"board": ZERO}
            away = saw.least_remainder
            reached = [ZERO]
            for cut in (cut for cut in cuts if not cut.along):
                at = ends.setdefault(cut.of, ends["board"] if cut.of.startswith("strip") else ZERO)
                if cut.kind == "trim":
                    at += grid * cut.setting
                else:
                    at += (grid * cut.setting + saw.crosscut_kerf) * cut.count
                ends[cut.of] = at
                if cut.kind == "section":  # a ripped section's own far end holds what must fall away
                    is_ripped = any(other.along and other.of in cut.yields for other in cuts)
                    reached.append(at - saw.crosscut_kerf if is_ripped else at + away)
                elif "section" not in cut.of and cut.kind != "trim":
                    reached.append(at + away)
            assert long == min(max(reached), layout.length), layout.name
            for of in {cut.of for cut in cuts if cut.along and cut.kind == "rip"}:
                rips = [cut for cut in cuts if cut.along and cut.of == of]
                taken = ZERO
                for cut in rips:
                    taken += (grid * (cut.strip or cut.setting) + saw.rip_kerf) * len(cut.yields)
                    if cut.is_narrow:
                        assert taken + saw.wood_in_hand <= wide
                        seen.add("narrow")
                assert taken + away <= wide <= layout.width
                seen.add("ripped")
    assert seen == {"narrow", "ripped"}


def test_offcuts_are_looked_over_before_any_cut(small: Callable[[str], PlannedBatch]) -> None:
    """Nails once for a material that has offcuts; a bad stretch beside its board, with its places drawn."""
    planned = small("")
    offcuts = {layout.material for layout in numbered_layouts(planned) if layout.is_offcut and layout.is_sawn}
    held = [b.text for b in flat(planned) if isinstance(b, Paragraph) and b.lead == "All boards:"]
    assert sum("nails" in text for text in held) == len(offcuts) > 0
    bad = [layout for layout in numbered_layouts(planned) if bad_stretches(layout)]
    assert bad
    words = drawn_words(planned)
    for layout in bad:
        for x, _, long, _ in bad_stretches(layout):
            text = said_of(layout, saw_cuts(layout.plan.job.job, layout.layout), planned.batch)
            assert f"Bad stretch: {x.number('in')} to {(x + long).text('in')}" in text
            assert all(f"; {at.number('in')};" in f"; {words};" for at in (x, x + long) if at > ZERO)


def test_boards_to_buy_are_measured_where_parts_are_as_wide_as_they_are(small: Callable[[str], PlannedBatch]) -> None:
    planned = small(NEW_WOOD)
    told = [each for b in shopping_chapter(planned).blocks if isinstance(b, Bullets) for each in b.items]
    full = [lay for lay in numbered_layouts(planned) if lay.is_sawn and not lay.is_offcut and full_width(lay)]
    assert full
    for layout in full:
        low, high = (layout.width + inch(f"{sign}1/32") for sign in ("-", ""))
        kind, _, size = layout.what.partition(", ")
        (line,) = [each for each in told if each.startswith(f"{kind}: ")]
        assert f"{low.number('in')} to {high.text('in')} wide" in line
        long = least_size(layout, saw_cuts(layout.plan.job.job, layout.layout))[1]
        (least,) = re.findall(rf"([\d /]+) in for {size}", line)
        assert inch(least) >= long, "no shorter board is bought for any layout"


def test_mesh_whose_every_cell_is_taken_is_counted_first(small: Callable[[str], PlannedBatch]) -> None:
    planned = small("")
    layout = next(lay for lay in numbered_layouts(planned) if lay.material.name.startswith("mesh "))
    cuts = saw_cuts(layout.plan.job.job, layout.layout)
    pieces = layout.layout.pieces
    across = max((piece.y or 0) + (piece.width or 0) for piece in pieces)

    def asked(width: int) -> str:
        job = layout.plan.job.job
        stock = tuple(replace(each, width=width, length=10**6) for each in job.stock)
        own = replace(layout.plan, job=replace(layout.plan.job, job=replace(job, stock=stock)))
        return said_of(replace(layout, plan=own), cuts, planned.batch)

    assert asked(across + 3) == ""
    assert asked(across + 2) == asked(across)
    assert asked(across).startswith(f"Count first: {across} whole cells across, {across + 1} wires or more.")


def test_a_circular_saw_has_no_stop_to_set(small: Callable[[str], PlannedBatch]) -> None:
    planned = small('[tools]\ncrosscut_with = ["circular saw"]')
    rows = [row for own in cut_tables(planned).values() for table in own for row in table.rows]
    guided = [row[2] for row in rows if "circular saw, guide" in row[2] and "rosscut" in row[2]]
    assert guided
    assert all(text.startswith("Mark, crosscut") for text in guided)


def test_short_pieces_are_clamped(small: Callable[[str], PlannedBatch]) -> None:
    """Where the stop is nearer than hands may be to the blade the page says so; elsewhere it does not."""
    said, material = set(), ""
    for block in flat(small("")):
        if isinstance(block, Heading) and block.level == 2:
            material = block.text.rpartition(":")[0]
        if isinstance(block, Paragraph) and block.lead == "Caution, short pieces:":
            said.add(material)
            assert "shorter than 6 in" in block.text
    short = {
        head_of(layout.material)
        for layout in numbered_layouts(small(""))
        if layout.is_sawn and any(min(piece.length, layout.length) < inch(6) for piece in layout.pieces)
    }
    assert said == short
    assert short, "packing blocks are short"


def test_the_days_cut_with_the_tools_of_the_cutting_pages(small: Callable[[str], PlannedBatch]) -> None:
    """At each setting the days name the tool, and stop or mark, that the list of settings names, and as many pieces."""
    batch = small("")
    paper: Counter[tuple[str, str]] = Counter()
    for layouts in groups_of(batch):
        if layouts[0].is_sawn:
            for row in settings_of(layouts, batch):
                if row.tool:
                    passes = sum(layouts[n].times * cut.count for n, cut in row.cuts)
                    paper[layouts[0].material.name, row.deed.split("\n")[0]] += passes
    days: Counter[tuple[str, str]] = Counter()
    for stage in (each for each in stages_of(batch)[0] if each.kind == "saw"):
        for op in (op for block in stage.blocks for op in block.ops if op.table == "time" and op.span is not None):
            said = re.sub(r", (fence at |at |)[\d /]+ in( off)?$", "", op.what)
            days[stage.key.partition("/")[2], said] += int(op.count)
    assert days == paper
    assert any("miter box" in said for _, said in paper)
