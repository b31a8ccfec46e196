"""What is cut off a board before it is used, which boards are ripped, and why a part cannot be had."""

from typing import Any

import pytest

from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.model.job import Stock
from woodshop.cutting.model.plan import Plan
from woodshop.cutting.order.job_sequence import STOP, job_sequence, sequence_to_json
from woodshop.design.batch import Batch
from woodshop.design.lumber import too_little
from woodshop.design.make_units import make_units
from woodshop.documents.packet.shopping import unused_offcuts
from woodshop.errors import InputError, NothingToCutError, Problem
from woodshop.findings import gather
from woodshop.plan.parts_needed import parts_needed, refuse_unfit
from woodshop.plan.plan_batch import plan_batch, planned_jobs
from woodshop.plan.values import MaterialJob
from woodshop.reference.materials import read_material

HEAD = 'format = "woodshop-design/2"\nbatch = "b"\nunit = "in"\nlumberyard = "lumberyard.toml"\n'
RIMS = '[[hives]]\nframes = 10\ncount = 6\ngap = "1/4"\n[[make]]\nitem = ["fondant rim", "spacer strips"]\n'
SEEN = 'format = "woodshop-lumberyard/1"\nname = "Y"\nseen = 2026-09-01\n'
ONE_BY = '[[board]]\nnominal = "1x6"\nsizes = [{ length = "8 ft", price = "11.12" }]\n'
TWO_BY = '[[board]]\nnominal = "2x4"\nsizes = [{ length = "8 ft", price = "3.98" }]\n'


def boards(shop: Any, offcuts: str, saw: str = "", lumberyard: str = ONE_BY) -> MaterialJob:
    """The job of the 3/4 in boards, with a 1x6 offcut of 60 in and some lines more about it."""
    offcuts = f'[[offcut]]\nlabel = "R1"\nnominal = "1x6"\nlength = "60"\n{offcuts}\n' if offcuts is not None else ""
    batch = shop.batch(HEAD + f"[saw]\n{saw}\n" + RIMS, SEEN + lumberyard + offcuts)
    return parts_needed(batch, make_units(batch))[0]


def offcut_of(job: MaterialJob) -> Stock:
    return next(stock for stock in job.job.stock if stock.id == "offcut_R1")


@pytest.mark.parametrize(
    ("offcuts", "end", "edge", "rip"),
    [
        ("", 32, 16, True),  # 1/2 in off each end, 1/4 in off each edge
        ("square_ends = true", 12, 16, True),  # a kerf and 1/16 in, so that the last piece has a cut of its own
        ("straight_edges = true", 32, 0, True),
        ("straight_edges = true\ntwisted = true", 32, 0, False),
    ],
)
def test_what_is_cut_off_an_offcut(shop: Any, offcuts: str, end: int, edge: int, rip: bool) -> None:
    stock = offcut_of(boards(shop, offcuts))
    assert (stock.end_trim, stock.edge_trim, stock.rip) == (end, edge, rip)


def test_factory_edges_are_used_unless_the_file_says_that_they_are_not_straight(shop: Any) -> None:
    job = boards(shop, "")
    assert {stock.edge_trim for stock in job.job.stock if stock.id != "offcut_R1"} == {0}
    job = boards(shop, "", lumberyard=ONE_BY.replace("sizes", "straight_edges = false\nsizes"))
    assert {stock.edge_trim for stock in job.job.stock} == {16}


def test_a_twisted_board_without_straight_edges_is_left_out_and_listed(shop: Any) -> None:
    text = SEEN + ONE_BY + '[[offcut]]\nlabel = "R1"\nnominal = "1x6"\nlength = "60"\ntwisted = true\n'
    lumberyard = shop.lumberyard(text)
    assert not any(offer.label for offer in lumberyard.offers)
    assert "twisted" in lumberyard.left_out[0]


@pytest.mark.parametrize(("largest", "bad"), [("", ((640, 680),)), ('tight_knots_to = "5/8"\n', ())])
def test_small_tight_knots_stay_where_the_lumberyard_file_says_so(shop: Any, largest: str, bad: Any) -> None:
    job = boards(shop, 'tight_knots = [["10", "10 5/8"]]', lumberyard=ONE_BY)
    assert offcut_of(job).unusable == ((640, 680),)
    job = boards(shop, 'tight_knots = [["10", "10 5/8"]]\nbad = []', lumberyard=largest + ONE_BY)
    assert offcut_of(job).unusable == bad
    assert job.job.rules.defects == ("cut_out" if bad else None)


def test_a_remainder_is_a_part_only_where_the_saw_settings_allow_it(shop: Any) -> None:
    """Without the allowance a sixteenth stays beside the last rip."""
    assert boards(shop, "").job.rules.least_remainder == 4
    job = boards(shop, "square_ends = true", 'remainder_allowance = "1/16"')
    assert job.job.rules.least_remainder is None
    assert offcut_of(job).end_trim == 0


@pytest.mark.invariant
def test_no_part_of_a_plan_is_what_remains_and_no_rip_runs_through_a_defect(shop: Any) -> None:
    """Every rip and crosscut of the boards takes its own pass; a defect lies in nothing that is ripped."""
    offcuts = 'straight_edges = true\nbad = [["24", "27"]]\nworth = "0.10"'
    batch = shop.batch(
        HEAD + RIMS, SEEN + ONE_BY + f'[[offcut]]\nlabel = "R1"\nnominal = "1x6"\nlength = "60"\n{offcuts}\n'
    )
    made = _planned(batch)
    assert check_plan(made) == ()
    assert any(layout.stock == "offcut_R1" for layout in made.layouts)
    written = sequence_to_json(job_sequence(made.job, made, thin_rip=STOP))
    for station in written["stations"]:
        for stroke in station["strokes"]:
            assert stroke["passes"] == len(stroke["yields"]), stroke
            on_offcut = made.layouts[stroke["layout"]].stock == "offcut_R1"
            assert not (on_offcut and station["along"] and stroke["of"] == "board")
    assert all(each["of"].startswith("section") for each in written["named"])


def _planned(batch: Batch) -> Plan:
    """The plan of the 3/4 in boards."""
    jobs = [job for job in parts_needed(batch, make_units(batch)) if job.material.name == "board 3/4 in"]
    return planned_jobs(jobs, None, "quick")[0].plan


def refused(shop: Any, lumberyard: str, make: str = RIMS) -> Problem:
    def settled_and_cut() -> None:
        batch = shop.batch(HEAD + make, SEEN + lumberyard)
        refuse_unfit(batch, parts_needed(batch, make_units(batch)))

    with pytest.raises((InputError, NothingToCutError)) as why:
        settled_and_cut()
    return why.value.problems[0]


def test_where_no_board_is_so_thick_that_is_the_cause(shop: Any) -> None:
    why = refused(shop, TWO_BY)
    assert why.given == "no board 3/4 in thick; there are boards 1 1/2 in thick"
    assert "Add boards 3/4 in thick" in why.do
    assert "sugar" not in why.do
    blocks = refused(shop, ONE_BY, RIMS.replace('"spacer strips"', '"packing blocks"'))
    assert "no board 1 1/2 in thick" in blocks.given
    assert blocks.do.startswith("Set block_boards to 2 under [board]: each packing block is then glued from two boards")


def test_where_longest_leaves_out_every_board_that_is_the_cause(shop: Any) -> None:
    why = refused(shop, 'longest = "6 ft"\n' + ONE_BY)
    assert why.given == "no board 3/4 in thick: longest excludes 1 suitable board, the shortest 96 in long"
    assert 'longest = "96 in"' in why.do
    assert shop.batch(HEAD + RIMS, SEEN + 'longest = "96 in"\n' + ONE_BY), "the remedy, pasted back, clears it"


def test_offcuts_count(shop: Any) -> None:
    """Only an offcut is wide enough."""
    offcuts = '[[offcut]]\nlabel = "R1"\nnominal = "1x6"\nlength = "60"\nstraight_edges = true\n'
    batch = shop.batch(HEAD + RIMS, SEEN + offcuts)
    assert [str(width) for width in batch.lines[0].setting.widths] == ["5 1/2 in"]
    refuse_unfit(batch, parts_needed(batch, make_units(batch)))
    why = too_little(batch, read_material("board 3/4 in"), batch.lumberyard.offers)
    assert why is not None
    assert "none is for sale without limit" in why.given


def test_a_part_that_no_board_is_wide_or_long_enough_for_is_named_in_inches(shop: Any) -> None:
    wall = '[board]\nheight = "5 3/8"\n'
    why = refused(shop, ONE_BY, wall + RIMS)
    assert "5 3/8 in wide" in why.given
    assert why.wanted.startswith("a board exactly that wide, or 5 9/16 in wide and more")
    assert "remainder_allowance" in why.do
    short = refused(shop, ONE_BY.replace("8 ft", "19 in"))
    assert "19 7/8 in long" in short.given
    assert "the longest is 18 in" in short.wanted


def test_an_offcut_left_whole_is_listed_with_the_field_that_would_let_it_be_used(shop: Any) -> None:
    """A 1x3 is as wide as the rims: no rim fits on it unless its edges stay on."""
    text = '[[board]]\nnominal = "1x3"\nsizes = [{ length = "8 ft", price = "3.00" }]\n'
    offcut = '[[offcut]]\nlabel = "A"\nnominal = "1x3"\nlength = "40"\n'
    rims = HEAD + '[board]\nheight = "2 1/2"\n' + RIMS

    def idle(lumberyard: str) -> dict[str, tuple[str, ...]]:
        batch = shop.batch(rims, SEEN + lumberyard)
        return unused_offcuts(plan_batch(batch, make_units(batch), gather(())))

    (why,) = idle(text + offcut)
    assert "so 1/4 in is cut off each edge, and 2 in of its width can be used" in why
    assert "set straight_edges = true under [[offcut]]" in why
    assert not any("straight" in each for each in idle(text + offcut + "straight_edges = true\n"))
