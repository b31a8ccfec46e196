"""From parts to whole numbers: nothing lost, nothing doubled, parts never too small, stock never too large."""

import re
from collections import Counter
from itertools import islice
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.planner.plan_job import plan
from woodshop.design.make_units import make_units
from woodshop.errors import NothingToCutError
from woodshop.plan.parts_needed import cells_up, marks, parts_needed
from woodshop.shape.part import Role
from woodshop.units.lengths import ZERO, inch, millimetre

JOINTS = ["butt, ends inside", "butt, sides inside", "rabbet in the ends", "rabbet in the sides"]
MOUNTINGS = ["stapled under", "flush rabbet", "saw groove"]
BOXES = [(10, "16 1/4"), (10, "16"), (8, "13 3/4"), (8, "14"), (8, "13 5/8")]
ITEMS = ["fondant rim", "wire bottom", "spacer strips", "packing blocks", "quilt box"]
SMALL = """format = "woodshop-lumberyard/1"
name = "Small"
seen = 2026-09-12
[[board]]
nominal = "1x4"
sizes = [{ length = "8 ft", price = "6.96" }]
[[board]]
nominal = "2x4"
sizes = [{ length = "8 ft", price = "3.98" }]
[[roll]]
mesh = "1/2 in"
width = "24"
length = "5 ft"
price = "9.90"
"""
HEAD = 'format = "woodshop-design/2"\nbatch = "b"\nunit = "in"\nlumberyard = "lumberyard.toml"\n'


@st.composite
def designs(draw: st.DrawFn) -> str:
    text = HEAD
    for n in range(draw(st.integers(1, 3))):
        frames, width = draw(st.sampled_from(BOXES))
        gap = draw(st.sampled_from(["1/4", "3/16", "5/16", "3/8"]))
        text += f'[[hives]]\nname = "g{n}"\nframes = {frames}\nwidth = "{width} in"\n'
        text += f'count = {draw(st.integers(1, 9))}\ngap = "{gap} in"\n'
    mounting, joint = draw(st.sampled_from(MOUNTINGS)), draw(st.sampled_from(JOINTS))
    text += f'[board]\nmounting = "{mounting}"\njoint = "{joint}"\nbar = {str(draw(st.booleans())).lower()}\n'
    chosen = draw(st.lists(st.sampled_from(ITEMS), min_size=1, unique=True))
    names = ", ".join(f'"{name}"' for name in chosen)
    return text + f"[[make]]\nitem = [{names}]\nspare = {draw(st.integers(0, 2))}\n"


def made(units: Any) -> Counter[Any]:
    """Every made part and how often it is wanted, counted piece by piece."""
    counts: Counter[Any] = Counter()
    for unit in units:
        for placed in unit.assembly.placed:
            if placed.role is Role.MADE:
                counts[unit.line.item.name, placed.part] += unit.line.count
    return counts


@pytest.mark.invariant
@settings(max_examples=tries(60), deadline=None)
@given(designs())
def test_parts_are_conserved_and_marked_once(shop: Any, text: str) -> None:
    batch = shop.batch(text)
    units = make_units(batch)
    jobs = parts_needed(batch, units)
    needed: Counter[Any] = Counter()
    for job in jobs:
        for need in job.needs:
            needed[need.address.split(" / ")[0], need.part] += need.count
            assert need.part.material == job.material
        assert [(b.id, b.count) for b in job.job.blanks] == [(n.address, n.count) for n in job.needs]
    assert needed == made(units)
    every = [need for job in jobs for need in job.needs]
    assert len({n.mark for n in every}) == len({n.address for n in every}) == len(every)
    assert len({job.material for job in jobs}) == len(jobs)


@pytest.mark.invariant
@settings(max_examples=tries(60), deadline=None)
@given(designs(), st.booleans(), st.sampled_from(["1/16", "1/32", "1/8"]))
def test_parts_round_up_and_stock_rounds_down(shop: Any, text: str, metric: bool, mark: str) -> None:
    text += f'[saw]\nmark = "{mark} in"\n'
    batch = shop.batch(text.replace('unit = "in"', 'unit = "mm"') if metric else text)
    for job in parts_needed(batch, make_units(batch)):
        if job.material.name.startswith("mesh"):
            continue
        assert job.grid == (millimetre("1/10") if metric else inch("1/64"))
        for blank, need in zip(job.job.blanks, job.needs, strict=True):
            across = need.part.thickness if need.part.on_edge else need.part.width
            for whole, true in ((blank.length, need.part.length), (blank.width, across)):
                assert whole is not None
                assert true <= job.grid * whole < true + batch.saw.mark + job.grid
        for stock, offer in zip(job.job.stock, job.offers, strict=True):
            assert stock.width is not None
            assert ZERO <= offer.length - job.grid * stock.length < job.grid
            assert job.grid * stock.width <= max(offer.width, offer.thickness or ZERO)
            assert all(
                job.grid * low <= bad[0] and job.grid * high >= bad[1]
                for (low, high), bad in zip(stock.unusable, offer.bad, strict=True)
            )


@pytest.mark.parametrize(("width", "unit"), [("5 1/2 in", "mm"), ("5 29/64 in", "in"), ("6 3/4 in", "mm")])
def test_a_wall_as_wide_as_its_board_is_never_ripped_to_a_mark_of_the_tape(shop: Any, width: str, unit: str) -> None:
    """A millimetre tape has no mark at 5 1/2 in: a rim that needs about 5 in is as high as the board all the same."""
    board = f'[[board]]\nthickness = "3/4 in"\nwidth = "{width}"\nsizes = [{{ length = "8 ft", price = "9.00" }}]\n'
    lumberyard = re.sub(r"\[\[(?:board|offcut)\]\]\n(?:.+\n)+", "", shop.lumberyard_text) + board
    text = shop.design_text.replace('unit = "in"', f'unit = "{unit}"').replace('"1/4"', '"1/4 in"')
    text = re.sub(r"item = .*", 'item = "fondant rim"', text) + '[board]\nhead_room = "3 in"\n'
    batch = shop.batch(text, lumberyard)
    (job,) = parts_needed(batch, make_units(batch))
    assert {blank.width for blank in job.job.blanks} == {stock.width for stock in job.job.stock}


def test_inches_read_as_millimetres_are_refused(shop: Any) -> None:
    """16 1/4 read as millimetres is no box: the slip is refused, not planned."""
    with pytest.raises(ValueError, match="outside width of a box"):
        shop.batch(HEAD.replace('"in"', '"mm"') + '[[hives]]\nframes = 10\nwidth = "16 1/4"\ncount = 1\n[[make]]\nitem = "quilt box"\n')  # fmt: skip  # noqa: E501


@pytest.mark.parametrize("text", ["one", "two"])
def test_a_plan_cuts_just_what_is_needed(shop: Any, text: str) -> None:
    design = shop.design_text.replace("count = 6", "count = 1")
    if text == "two":
        design = design.replace("[[make]]\n", '[board]\nmounting = "flush rabbet"\njoint = "rabbet in the ends"\n[[make]]\nspare = 1\n')  # fmt: skip  # noqa: E501
    batch = shop.batch(design, SMALL)
    units = make_units(batch)
    for job in parts_needed(batch, units):
        found = plan(job.job)
        assert check_plan(found, job.job) == ()
        cut: Counter[str] = Counter()
        for layout in found.layouts:
            for piece in layout.pieces:
                if not piece.spare:
                    cut[piece.id] += layout.times
        assert cut == {need.address: need.count for need in job.needs}
        assert sum(cut.values()) == sum(n for (_, part), n in made(units).items() if part.material == job.material)


def test_hives_of_one_format_are_one_part(shop: Any) -> None:
    two = (
        HEAD
        + '[[hives]]\nname = "a"\nframes = 10\ncount = 3\ngap = "1/4"\n'
        + '[[hives]]\nname = "b"\nframes = 10\ncount = 4\ngap = "9/32"\n'
        + '[[make]]\nitem = ["fondant rim", "wire bottom"]\n'
    )
    batch = shop.batch(two)
    needs = {n.address: n.count for job in parts_needed(batch, make_units(batch)) for n in job.needs}
    assert needs == {
        "fondant rim / 10-frame 16 1/4 / side": 14,
        "fondant rim / 10-frame 16 1/4 / front end": 7,
        "fondant rim / 10-frame 16 1/4 / back end": 7,
        "wire bottom / 10-frame 16 1/4 / mesh": 7,
    }


def test_hives_of_one_format_that_need_different_parts_are_kept_apart(shop: Any) -> None:
    two = (
        HEAD
        + '[[hives]]\nname = "a"\nframes = 10\ncount = 3\ngap = "1/4"\n'
        + '[[hives]]\nname = "b"\nframes = 10\ncount = 4\ngap = "3/16"\n'
        + '[[make]]\nitem = "spacer strips"\nnumber = 3\n'
    )
    batch = shop.batch(two)
    needs = {
        n.address: (n.count, n.part.thickness) for job in parts_needed(batch, make_units(batch)) for n in job.needs
    }
    assert needs == {
        "spacer strips / 10-frame 16 1/4, a / strip": (9, inch("7/32")),
        "spacer strips / 10-frame 16 1/4, b / strip": (12, inch("3/16")),
    }


# ---- mesh in cells --------------------------------------------------------------------------------


def mesh_job(shop: Any, lumberyard: str, extra: str = "") -> Any:
    batch = shop.batch(shop.design_text.replace("count = 6", "count = 1") + extra, lumberyard)
    return next(job for job in parts_needed(batch, make_units(batch)) if job.material.name == "mesh 1/2 in")


def test_mesh_is_counted_in_cells(shop: Any) -> None:
    job = mesh_job(shop, shop.lumberyard_text)
    (blank,) = job.job.blanks
    assert (blank.length, blank.width, blank.rotate) == (39, 31, True)
    sizes = {(s.width, s.length) for s in job.job.stock}
    assert sizes == {(72, 240), (72, 600), (48, 600)}  # 36 x 10 ft, 36 x 25 ft, 24 x 25 ft
    assert job.grid == inch("1/2")


def test_a_sheet_off_the_wire_is_cut_from_the_cells_that_hold_it(shop: Any) -> None:
    job = mesh_job(shop, shop.lumberyard_text, '[board]\nmounting = "saw groove"\n')
    (blank,) = job.job.blanks
    # 19 in: (19 - 0.041) / 0.5 = 37.9: 38 cells; 15 3/8: 30.7: 31
    assert (blank.length, blank.width) == (38, 31)
    assert cells_up(inch("19.541"), inch("1/2"), inch("0.041")) == 39
    assert cells_up(inch("19.542"), inch("1/2"), inch("0.041")) == 40


@pytest.mark.parametrize(("shared", "lost"), [("false", 1), ("true", 0)])
def test_between_two_sheets_a_row_of_cells_is_lost_unless_they_share_a_wire(shop: Any, shared: str, lost: int) -> None:
    lumberyard = shop.lumberyard_text.replace('currency = "USD"', f'currency = "USD"\nshared_wires = {shared}')
    kerf = mesh_job(shop, lumberyard).job.kerf
    assert (kerf.rip, kerf.crosscut) == (lost, lost)


def test_sharing_wires_can_save_mesh(shop: Any) -> None:
    # a piece 16 in wide has 31 whole cells and the last wire; 40 in long 79: two sheets of 39 need 78 cells
    # when they share a wire, and 39 + 1 + 39 = 79 when they do not; 39 in long has 77 cells: only one fits
    offcuts = '\n[[offcut]]\nlabel = "M1"\nmesh = "1/2 in"\nwidth = "16"\nlength = "{}"\n'
    for length, cells in (("40", 79), ("39 1/2", 78), ("39", 77)):
        job = mesh_job(shop, shop.lumberyard_text + offcuts.format(length))
        stock = next(s for s in job.job.stock if s.id == "offcut_M1")
        assert (stock.width, stock.length) == (31, cells)


def test_rusted_stretches_of_offcut_mesh_are_left_out(shop: Any) -> None:
    offcuts = '\n[[offcut]]\nlabel = "M1"\nmesh = "1/2 in"\nwidth = "36"\nlength = "60"\nbad = [["10 1/4", "12"]]\n'
    job = mesh_job(shop, shop.lumberyard_text + offcuts)
    stock = next(s for s in job.job.stock if s.id == "offcut_M1")
    assert stock.unusable == ((20, 24),)  # 20.5 down, 24


# ---- lattice --------------------------------------------------------------------------------------


def strip_job(shop: Any, lumberyard: str, make: str, gap: str = "1/4") -> Any:
    text = HEAD + f'[[hives]]\nframes = 10\ncount = 2\ngap = "{gap}"\n[[make]]\nitem = "spacer strips"\nnumber = 3\n'
    batch = shop.batch(text + make, lumberyard)
    (job,) = parts_needed(batch, make_units(batch))
    return job


def lattice(job: Any) -> list[str]:
    return [o.what for o in job.offers if o.material.name != "board 3/4 in"]


def test_lattice_serves_strips_of_its_section_or_within_their_limits(shop: Any) -> None:
    """Strips are cut 7/32, and do from 13/64 to 1/4: lattice of 1/4 is crosscut alone, never ripped."""
    job = strip_job(shop, shop.lumberyard_text, "")
    assert lattice(job) == ["1/4 in x 3/4 in lattice, 8 ft"]
    stock = next(s for s, o in zip(job.job.stock, job.offers, strict=True) if o.what in lattice(job))
    assert stock.width == job.job.blanks[0].width == 14  # as wide as a strip of 7/32 in: no rip
    assert lattice(strip_job(shop, shop.lumberyard_text, "", gap="3/16")) == []
    assert lattice(strip_job(shop, shop.lumberyard_text, 'thickness = "1/8"\n')) == []
    assert lattice(strip_job(shop, shop.lumberyard_text, 'thickness = "7/32"\n')) == []  # given, and kept to
    assert lattice(strip_job(shop, shop.lumberyard_text, 'thickness = "1/4"\n')) == ["1/4 in x 3/4 in lattice, 8 ft"]


def test_lattice_never_serves_a_thinner_strip_beside_its_own(shop: Any) -> None:
    text = (
        HEAD
        + '[[hives]]\nname = "a"\nframes = 10\ncount = 2\ngap = "1/4"\n'
        + '[[hives]]\nname = "b"\nframes = 10\ncount = 2\ngap = "3/16"\n'
        + '[[make]]\nitem = "spacer strips"\nnumber = 3\n'
    )
    batch = shop.batch(text)
    (job,) = parts_needed(batch, make_units(batch))
    assert lattice(job) == []


def test_strips_of_another_width_are_cut_from_lattice_of_that_section(shop: Any) -> None:
    with pytest.raises(NothingToCutError) as refused:
        strip_job(shop, shop.lumberyard_text, 'width = "1/2"\n')
    assert refused.value.problems[0].given == "no lattice 1/4 in x 1/2 in"
    half = '\n[[board]]\nthickness = "1/4"\nwidth = "1/2"\nsizes = [{ length = "8 ft", price = "2.10" }]\n'
    job = strip_job(shop, shop.lumberyard_text + half, 'width = "1/2"\n')
    found = plan(job.job)
    assert check_plan(found, job.job) == ()
    # 8 ft less two trims of 1/2 = 95: six strips of 14 1/2 and five kerfs are 87 5/8
    assert [(layout.times, len(layout.pieces)) for layout in found.layouts] == [(1, 6)]


# ---- the rest -------------------------------------------------------------------------------------


def test_what_the_lumberyard_has_not_is_said_for_all_materials_at_once(shop: Any) -> None:
    lumberyard = "\n\n".join(
        block for block in shop.lumberyard_text.split("\n\n") if "mesh =" not in block and '"2x4"' not in block
    )
    batch = shop.batch(shop.design_text, lumberyard)
    units = make_units(batch)
    with pytest.raises(NothingToCutError) as refused:
        parts_needed(batch, units)
    assert [p.given for p in refused.value.problems] == [
        "no mesh 1/2 in",
        "no board 1 1/2 in thick; there are boards 1/4 in and 3/4 in thick",
    ]
    assert "Creekside" in refused.value.problems[0].where


def test_marks_are_letters_without_i_and_o_and_never_repeat() -> None:
    first = list(islice(marks(), 24 + 24**2 + 100))
    assert first[:3] == ["A", "B", "C"]
    assert first[23:26] == ["Z", "AA", "AB"]
    assert len(set(first)) == len(first)
    assert not set("IO") & set("".join(first))


def test_trims_kerfs_and_rules_reach_the_job_in_its_unit(shop: Any) -> None:
    batch = shop.batch()
    job = parts_needed(batch, make_units(batch))[0].job
    assert (job.kerf.rip, job.kerf.crosscut) == (8, 8)  # 1/8 in
    assert job.rules.parent_wood == 128  # 2 in
    assert job.rules.longest_rip == 96 * 64
    assert {s.end_trim for s in job.stock if not s.id.startswith("offcut")} == {32}
    assert {s.end_trim for s in job.stock if s.id.startswith("offcut")} == {32}, "ends of offcuts are squared too"
    knot = next(s for s in job.stock if s.id == "offcut_R3")
    assert knot.unusable == ((22 * 64, 25 * 64 + 32),)
