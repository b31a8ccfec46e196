"""The cutting pages: running count, offcuts for the rack, thin rips both ways, cells and wires, cautions, links."""

import io
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pdfplumber
import pytest

from woodshop.checks.check_batch import check_batch
from woodshop.cutting.order.job_sequence import FREE_SIDE, STOP
from woodshop.cutting.order.sequence import SawCut, saw_cuts
from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.lumberyard_file import read_yards
from woodshop.design.settle.settle import settle
from woodshop.documents.packet import layouts as layouts_module
from woodshop.documents.packet.cutting import cutting_blocks, layout_drawing, runs_of, tools_for
from woodshop.documents.packet.front import shopping_chapter
from woodshop.documents.packet.layouts import bad_stretches, kept_offcuts, numbered_layouts, rests, trims
from woodshop.documents.packet.measure_first import full_width, least_size, measure_first
from woodshop.documents.packet.parts import part_blocks
from woodshop.documents.packet.saw_order import listed, saw_order_blocks
from woodshop.documents.packet.thin_rip_stop import strips_by_width
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.values.model import (
    Align,
    Block,
    Column,
    Document,
    Figure,
    Fill,
    Heading,
    KeepTogether,
    Paragraph,
    Section,
    Table,
)
from woodshop.files.one_file import json_bytes
from woodshop.plan.plan_batch import batch_to_json, plan_batch
from woodshop.plan.values import PlannedBatch
from woodshop.plan.verify import verify_file
from woodshop.units.lengths import ZERO, Length, inch


@pytest.fixture(scope="module")
def small(designs: Path, tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], PlannedBatch]:
    """A function from a line under [saw] to six boards and quilt boxes planned quickly; each only once."""
    known: dict[str, PlannedBatch] = {}

    def plan(saw: str = "") -> PlannedBatch:
        if saw not in known:
            folder = tmp_path_factory.mktemp("small")
            yard = (designs / "creekside-yard.toml").read_text(encoding="utf-8")
            if saw == NEW_WOOD:
                yard = re.sub(r"\[\[rack\]\]\n(?:.+\n)+", "", yard)
            (folder / "yard.toml").write_text(yard, encoding="utf-8")
            (folder / "design.toml").write_text(
                'format = "woodshop-design/1"\nbatch = "small"\nunit = "in"\nyard = "yard.toml"\n'
                f'[saw]\nshortest_offcut = "16"\n{saw}\n'
                '[[hives]]\nframes = 10\ncount = 6\ngap = "1/4"\n'
                '[[make]]\nitem = ["fondant rim", "mesh floor", "spacer strips", "packing blocks"]\n'
                '[[make]]\nitem = "mouse guard"\n',
                encoding="utf-8",
            )
            design = read_design(folder / "design.toml")
            batch = settle(design, read_yards(design.yards))
            units, report = check_batch(batch)
            known[saw] = plan_batch(batch, units, report, effort="quick")
        return known[saw]

    return plan


NEW_WOOD = "# nothing in the rack"
AGAINST_STOP = 'strips = "thin-rip stop"'
FREE = 'strips = "fall free"'


def flat(blocks: list[Block]) -> list[Block]:
    return [each for block in blocks for each in (block.blocks if isinstance(block, KeepTogether) else (block,))]


def cut_tables(planned: PlannedBatch) -> dict[str, list[Table]]:
    """The tables of cuts by material, in the order of the pages."""
    found: dict[str, list[Table]] = {}
    material = ""
    for block in flat(cutting_blocks(planned)):
        if isinstance(block, Heading) and block.level == 2:
            material = block.text
        elif isinstance(block, Table) and block.columns[-1].heading.startswith("so far"):
            found.setdefault(material, []).append(block)
    return found


@pytest.mark.invariant
def test_the_running_count_rises_to_all_pieces_of_a_material(small: Callable[[str], PlannedBatch]) -> None:
    """On the layout pages and in the order by setting; each row says by how many, and both end with the same."""
    planned = small("")
    tables = cut_tables(planned)
    for each in planned.plans:
        own = tables[each.job.material.name.capitalize()]
        before = 0
        for row in (row for table in own for row in table.rows):
            made = [int(n) for n, mark in re.findall(r"(\d+) x (rough )?[A-Z]", row[5]) if not mark]
            assert row[6] == (str(before + sum(made)) if made else "")
            before += sum(made)
        assert before == sum(need.count for need in each.job.needs)
        assert all(table.columns[-1].heading == f"so far, of {before}" for table in own)
    ordered = [b for b in flat(saw_order_blocks(planned)) if isinstance(b, Table) and len(b.columns) == 7]
    for table in ordered:
        counts = [int(row[6]) for row in table.rows if row[6]]
        assert counts == sorted(counts)
        assert table.columns[-1].heading == f"so far, of {counts[-1]}"


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
    blocks = flat(cutting_blocks(planned))
    (table,) = [b for b in blocks if isinstance(b, Table) and b.columns[1].heading == "number"]
    assert [row[1] for row in table.rows] == [offcut.number for offcut in every]
    assert [row[3] for row in table.rows] == [f"{o.length.number('in')} x {o.width.number('in')}" for o in every]
    marks = {need.mark for each in planned.plans for need in each.job.needs}
    assert not any(mark in offcut.number for mark in marks for offcut in every), "a part's letter is no offcut's"
    drawn = " ".join(note for b in blocks if isinstance(b, Figure) for note in b.drawing.notes)
    assert all(f"keep {offcut.number}: " in drawn for offcut in every)
    words = [b.text for b in blocks if isinstance(b, Paragraph) and b.lead == "Keep:"]
    assert sum(len(re.findall(r"#\d+", text)) for text in words) == len(every)


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
    (table,) = [b for b in flat(cutting_blocks(planned)) if isinstance(b, Table) and b.columns[1].heading == "number"]
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
        blocks = flat([*cutting_blocks(planned), *saw_order_blocks(planned)])
        cautions = {b.text for b in blocks if isinstance(b, Paragraph) and b.lead == "Caution, narrow rips:"}
        (caution,) = cautions
        for words in ("2 in or more", "push block", "guard", "riving knife", "manual comes first"):
            assert words in caution
        assert ("featherboard" in caution) == (way == "free side"), "against a stop there is no place for one"
        assert ("against the thin-rip stop" in caution) == (way == "stop")
        assert ("switch the saw off, move the fence until the board touches the stop" in caution) == (way == "stop")
        assert ("measure every board first" in caution) == (way == "free side")
        rows = [row for tables in cut_tables(planned).values() for table in tables for row in table.rows]
        said[way] = [row for row in rows if row[2].startswith("rip") and not row[2].startswith("rip, fence")]
        assert said[way]
    assert all(row[4].endswith(" left") and row[2] == "rip, strip falls free\ntable saw" for row in said["free side"])
    (width,) = strips_by_width(small(""))
    assert all(row[4] == width.number("in") for row in said["stop"])
    assert all(row[2] == "rip against the thin-rip stop\ntable saw" for row in said["stop"])
    assert len(said["stop"]) < len(said["free side"])
    free, stop = (
        " ".join(b.text for b in flat(saw_order_blocks(small(saw))) if isinstance(b, Paragraph)) for saw in (FREE, "")
    )
    assert 'strips = "thin-rip stop"' in free
    assert "Measure every board first" in free
    assert "bring the fence up to it once for each strip" in stop
    assert 'strips = "thin-rip stop"' not in stop
    listed_defaults = {(d.where, d.name) for d in small("").batch.defaults}
    assert ("saw", "strips") in listed_defaults
    assert ("saw", "strips") not in {(d.where, d.name) for d in small(AGAINST_STOP).batch.defaults}


@pytest.mark.invariant
def test_runs_hold_every_cut_once_in_order(small: Callable[[str], PlannedBatch]) -> None:
    for layout in numbered_layouts(small("")):
        cuts = saw_cuts(layout.plan.job.job, layout.layout)
        for way in (FREE_SIDE, STOP):
            assert tuple(cut for run in runs_of(cuts, way) for cut in run) == cuts
        assert len(runs_of(cuts, STOP)) <= len(runs_of(cuts, FREE_SIDE))
        assert all(len(run) == 1 for run in runs_of(cuts, FREE_SIDE) if run[0].is_narrow)


def test_mesh_is_counted_in_cells_and_wires_and_says_what_is_lost(small: Callable[[str], PlannedBatch]) -> None:
    planned = small("")
    rows = [row for table in cut_tables(planned)["Mesh 1/2 in"] for row in table.rows]
    for row in rows:
        cells, wires = re.fullmatch(r"(\d+) cells\n(\d+) wires", row[4]).groups()  # type: ignore[union-attr]
        assert int(wires) == int(cells) + 1
        assert "board" not in row[3]
    shared = replace(planned, batch=replace(planned.batch, yard=replace(planned.batch.yard, shared_wires=True)))
    lost, kept = (
        next(b.text for b in flat(cutting_blocks(each)) if isinstance(b, Paragraph) and "wires" in b.lead)
        for each in (planned, shared)
    )
    assert "that cell is lost" in lost
    assert "ends in stubs" in kept


def test_each_page_of_mesh_and_steel_has_its_caution(small: Callable[[str], PlannedBatch]) -> None:
    blocks = flat(cutting_blocks(small("")))
    said = [b.text for b in blocks if isinstance(b, Paragraph) and b.lead == "Caution, sharp edges:"]
    layouts = [lay for lay in numbered_layouts(small("")) if lay.material.name.startswith(("mesh ", "steel "))]
    assert len(said) == len(layouts) > 1
    assert all("gloves" in text for text in said)
    assert sum("deburr" in text for text in said) == sum(lay.material.name.startswith("steel ") for lay in layouts) > 0


def test_the_buy_list_leads_to_layouts_and_layouts_to_parts(small: Callable[[str], PlannedBatch]) -> None:
    """Links of the finished PDF, followed to the page on which the heading or the part's row stands."""
    planned = small("")
    blocks = [*shopping_chapter(planned).blocks, *cutting_blocks(planned), *part_blocks(planned)]
    with pdfplumber.open(io.BytesIO(write_pdf(Document("t", "s", (Section("", tuple(blocks)),))))) as pdf:
        pages = {page.page_obj.pageid: page for page in pdf.pages}
        texts = {number: page.extract_text() for number, page in pages.items()}
        to = [pages[link["data"]["Dest"][0].objid] for page in pdf.pages for link in page.annots]
        shown = ["Layout" in page.extract_text() for page in to]
        bought = {p.what for p in planned.purchases}
        assert len(to) > 10
        assert any(shown)
        assert any("length" in page.extract_text() and "Parts" in page.extract_text() for page in to)
        first = pdf.pages[0].annots[0]
        target = texts[first["data"]["Dest"][0].objid]
        assert any(f": {what}, cut" in target for what in bought)


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


def test_equal_parts_of_three_layouts_are_named_by_the_first_and_the_last() -> None:
    assert listed(["7s1", "8s1"]) == "7s1, 8s1"
    assert listed(["7s1", "8s1", "9s1", "11s1"]) == "7s1 to 9s1, 11s1"
    assert listed(["7s1", "8s2", "9s1"]) == "7s1, 8s2, 9s1"
    assert listed(["7", "8", "9"]) == "7-9"


SAWS = ("table saw", "miter saw", "circular saw, guide", "hand saw, miter box", "tin snips", "scissors", "knife")


def test_every_cut_names_its_tool_and_no_long_board_goes_over_the_table_saw_crosswise(
    small: Callable[[str], PlannedBatch],
) -> None:
    """On the layout pages and in the order of work; a 1x12 is wider than a 10 in miter saw crosses."""
    planned = small("")
    order = [b for b in flat(saw_order_blocks(planned)) if isinstance(b, Table) and len(b.columns) == 7]
    tables = [table for own in cut_tables(planned).values() for table in own]
    seen = set()
    for row in (row for table in (*tables, *order) for row in table.rows):
        what, _, tool = row[2].partition("\n")
        if what.startswith("no cut"):
            assert not tool
            continue
        assert tool.startswith(SAWS), row
        seen.add(tool)
        if "crosscut" in what or what.startswith(("square", "trim the end", "cut the end", "cut off the bad")):
            assert not tool.startswith("table saw"), row
    assert {"table saw", "hand saw, miter box"} <= seen
    for layout in numbered_layouts(planned):
        if layout.is_sawn and layout.width > planned.batch.saw.tools.miter_saw_width:
            cuts = saw_cuts(layout.plan.job.job, layout.layout)
            whole = {tool for cut, tool in tools_for(layout, cuts, planned.batch).items() if cut.of == "board"}
            assert whole <= {"table saw", "circular saw, guide"}


def test_every_sawn_layout_says_its_kerf_and_asks_for_the_boards_true_size(
    small: Callable[[str], PlannedBatch],
) -> None:
    """A blank for each size that a cut depends on, what the layout needs of it, and what to do outside the limits."""
    thin = small('rip_kerf = "3/32"\ncrosscut_kerf = "1/8"\nstrips = "fall free"')
    for planned, words in ((small(""), "1/8 in for every cut"), (thin, "3/32 in for a rip, 1/8 in for a crosscut")):
        blocks = flat(cutting_blocks(planned))
        sawn = [layout for layout in numbered_layouts(planned) if layout.is_sawn]
        kerfs = [b.text for b in blocks if isinstance(b, Paragraph) and b.lead == "Kerf:"]
        asked = [b.text for b in blocks if isinstance(b, Paragraph) and b.lead == "Measure first:"]
        assert len(kerfs) == len(asked) == len(sawn) > 3
        assert all(text.startswith(words) for text in kerfs)
        seen = set()
        for layout, text in zip(sawn, asked, strict=True):
            assert "length ____" in text
            assert ("thickness ____" in text) == layout.material.name.startswith("board ")
            assert "use another board" in text
            assert ("the smallest of all" in text) == (layout.times > 1)
            whole = {piece.mark for piece in layout.pieces if piece.width == layout.width}
            cuts = saw_cuts(layout.plan.job.job, layout.layout)
            assert ("width ____" in text) == bool(whole or any(cut.along for cut in cuts))
            if whole:
                low, high = (layout.width + inch(f"{sign}1/32") for sign in ("-", ""))
                assert f"{low.number('in')} to {high.text('in')}" in text
                seen.add("whole")
            if any(cut.is_narrow for cut in cuts):
                assert ("Add what yours is wider" in text) == (planned is thin), "against a stop no board decides"
                seen.add("narrow")
            wide, long = least_size(layout, cuts)
            assert max(p.y + p.width for p in layout.pieces) <= wide <= layout.width
            assert max(p.x + p.length for p in layout.pieces) <= long <= layout.length
        assert "narrow" in seen


def test_a_row_names_one_saw_and_what_needs_no_cut_is_in_no_row_of_cuts(small: Callable[[str], PlannedBatch]) -> None:
    """A section that is the piece already has a row of its own, and so has each saw at one setting of the stop."""
    seen = set()
    for planned in (small(""), small(NEW_WOOD)):
        for table in (table for own in cut_tables(planned).values() for table in own):
            for row in table.rows:
                assert " or " not in row[2]
        for layout in numbered_layouts(planned):
            cuts = saw_cuts(layout.plan.job.job, layout.layout)
            for run in runs_of(cuts, STOP):
                assert len({cut.count > 0 for cut in run}) == 1
                seen.add(run[0].count > 0)
    made = SawCut(kind="crosscut", along=False, of="strip 1", setting=40, yields=("K",), count=1)
    whole = replace(made, of="section 1", yields=("T",), count=0)
    assert [[cut.count for cut in run] for run in runs_of((whole, made, made), STOP)] == [[0], [1, 1]]
    assert True in seen


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


def test_the_order_of_work_begins_with_the_boards_measured_and_the_rack_looked_over(
    small: Callable[[str], PlannedBatch],
) -> None:
    """Each layout's limits, nails and bad stretches stand before the first cut, and codes are of layouts there are."""
    planned = small("")
    blocks = flat(saw_order_blocks(planned))
    sawn = [layout for layout in numbered_layouts(planned) if layout.material.name.startswith("board ")]
    ordered = [layout for layout in sawn if sum(other.material == layout.material for other in sawn) > 1]
    (stacks,) = [b for b in blocks if isinstance(b, Table) and b.columns[1].heading == "stack up"]
    limits = {name: row[5] for row in stacks.rows for name in re.findall(r"(\d+) \(", row[3])}
    assert set(limits) == {layout.name.removeprefix("Layout ") for layout in ordered}
    for layout in ordered:
        cuts = saw_cuts(layout.plan.job.job, layout.layout)
        assert limits[layout.name.removeprefix("Layout ")] == f"{least_size(layout, cuts)[1].text('in')} or more"
    first = [b for b in blocks if isinstance(b, Paragraph) and b.lead.startswith("Boards of layout")]
    assert any("nails" in b.text for b in first)
    at = {type(b).__name__ + getattr(b, "lead", ""): n for n, b in enumerate(blocks)}
    (cuts_at,) = [n for n, b in enumerate(blocks) if isinstance(b, Table) and len(b.columns) == 7]
    assert at["ParagraphBefore the first cut."] < blocks.index(stacks) < cuts_at
    assert all(blocks.index(b) < cuts_at for b in first)
    (how,) = [b.text for b in blocks if isinstance(b, Paragraph) and b.lead == "By setting."]
    numbers = set(re.findall(r"(\d+)(?:s\d+|:\d)", how))
    assert numbers <= set(limits)
    others = [lay.name.removeprefix("Layout ") for lay in numbered_layouts(planned) if lay not in ordered]
    assert f"Layouts {listed(others)}: follow their own pages" in how


def test_boards_to_buy_are_measured_where_parts_are_as_wide_as_they_are(small: Callable[[str], PlannedBatch]) -> None:
    planned = small(NEW_WOOD)
    told = [
        b.text for b in shopping_chapter(planned).blocks if isinstance(b, Paragraph) and b.lead == "Take a tape along:"
    ]
    full = [lay for lay in numbered_layouts(planned) if lay.is_sawn and not lay.is_rack and full_width(lay)]
    assert full
    assert len(told) == 1
    for layout in full:
        low, high = (layout.width + inch(f"{sign}1/32") for sign in ("-", ""))
        assert f"{layout.what.partition(',')[0]} must be {low.number('in')} to {high.text('in')} wide" in told[0]


def test_mesh_whose_every_cell_is_taken_is_counted_first(small: Callable[[str], PlannedBatch]) -> None:
    planned = small("")
    layout = next(lay for lay in numbered_layouts(planned) if lay.material.name.startswith("mesh "))
    cuts = saw_cuts(layout.plan.job.job, layout.layout)
    pieces = layout.layout.pieces
    across = max((piece.y or 0) + (piece.width or 0) for piece in pieces)

    def asked(width: int) -> list[str]:
        job = layout.plan.job.job
        stock = tuple(replace(each, width=width, length=10**6) for each in job.stock)
        own = replace(layout.plan, job=replace(layout.plan.job, job=replace(job, stock=stock)))
        return [
            b.text for b in measure_first(replace(layout, plan=own), cuts, planned.batch) if isinstance(b, Paragraph)
        ]

    assert asked(across + 3) == []
    assert asked(across + 2) == asked(across)
    (text,) = asked(across)
    assert text.startswith(f"{across} whole cells across, {across + 1} wires or more.")


def test_a_circular_saw_has_no_stop_to_set(small: Callable[[str], PlannedBatch]) -> None:
    planned = small('[tools]\ncrosscut_with = ["circular saw"]')
    rows = [row for own in cut_tables(planned).values() for table in own for row in table.rows]
    guided = [row[2] for row in rows if row[2].endswith("circular saw, guide") and "crosscut" in row[2]]
    assert guided
    assert all(text.startswith("mark and crosscut") for text in guided)
    (order,) = [b for b in flat(saw_order_blocks(planned)) if isinstance(b, Table) and len(b.columns) == 7]
    assert all(not row[2].startswith("crosscut, stop\ncircular saw, guide") for row in order.rows)


def test_short_pieces_are_clamped(small: Callable[[str], PlannedBatch]) -> None:
    """Where the stop is nearer than hands may be to the blade the page says so; elsewhere it does not."""
    blocks = flat(cutting_blocks(small("")))
    said, layouts = [], {layout.name: layout for layout in numbered_layouts(small(""))}
    name = ""
    for block in blocks:
        if isinstance(block, Heading) and block.text.startswith("Layout "):
            name = block.text.partition(":")[0]
        if isinstance(block, Paragraph) and block.lead == "Caution, short pieces:":
            said.append(name)
            assert "shorter than 6 in" in block.text
    short = [
        layout.name
        for layout in layouts.values()
        if layout.is_sawn and any(min(piece.length, layout.length) < inch(6) for piece in layout.pieces)
    ]
    assert said == short
    assert short, "packing blocks are short"
