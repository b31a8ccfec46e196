"""Strips bought ready-made: their price by hand, what the boards then cost, and the settings that it saves."""

from collections.abc import Callable
from pathlib import Path

import pytest

from woodshop.checks.check_batch import check_batch
from woodshop.cutting.order.job_sequence import FREE_SIDE, STOP, job_sequence
from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.settle.settle import settle
from woodshop.documents.packet.bought_strips import bought_strip_blocks, bought_strips
from woodshop.documents.packet.shopping import shopping_chapter
from woodshop.documents.packet.thin_rip_stop import strip_limits
from woodshop.drawing.values.model import Heading, Paragraph
from woodshop.plan.plan_batch import plan_batch
from woodshop.plan.values import PlannedBatch
from woodshop.units.lengths import inch


@pytest.fixture(scope="module")
def few(designs: Path, tmp_path_factory: pytest.TempPathFactory) -> Callable[..., PlannedBatch]:
    """A function from lines under [saw] and a lattice price to rims and strips for six hives; each only once."""
    known: dict[tuple[str, str], PlannedBatch] = {}

    def plan(saw: str = "", price: str = "2.85") -> PlannedBatch:
        if (saw, price) not in known:
            folder = tmp_path_factory.mktemp("few")
            lumberyard = (designs / "creekside-lumberyard.toml").read_text(encoding="utf-8")
            assert 'price = "2.85"' in lumberyard
            (folder / "lumberyard.toml").write_text(
                lumberyard.replace('price = "2.85"', f'price = "{price}"'), encoding="utf-8"
            )
            (folder / "design.toml").write_text(
                'format = "woodshop-design/2"\nbatch = "few"\nunit = "in"\nlumberyard = "lumberyard.toml"\n'
                f'[saw]\n{saw}\n[[hives]]\nframes = 10\ncount = 6\ngap = "1/4"\n'
                '[[make]]\nitem = "fondant rim"\n[[make]]\nitem = "spacer strips"\nnumber = 3\nthickness = "1/4"\n',
                encoding="utf-8",
            )
            design = read_design(folder / "design.toml")
            batch = settle(design, read_lumberyards(design.lumberyards))
            units, report = check_batch(batch)
            known[saw, price] = plan_batch(batch, units, report, effort="quick")
        return known[saw, price]

    return plan


def test_the_price_is_that_of_the_lattice_by_hand(few: Callable[..., PlannedBatch]) -> None:
    """18 strips of 14 1/2 in or so from 8 ft less two ends of 1/2 in: six to a piece with their kerfs, three pieces."""
    planned = few()
    (each,) = planned.plans
    own = bought_strips(each, planned.batch)
    assert own is not None
    length = next(blank.length for blank in each.plan.job.blanks if "strip" in blank.id)
    (lattice,) = [offer for offer in planned.batch.lumberyard.offers if "lattice" in offer.what]
    (stock,) = [stock for stock in each.plan.job.stock if stock.id == lattice.id]
    each_holds = (stock.length - 2 * stock.end_trim + each.plan.job.kerf.crosscut) // (
        length + each.plan.job.kerf.crosscut
    )
    count = -(-18 // each_holds)
    assert own.strips == 18
    assert own.pieces == ((lattice.what, count),)
    assert own.cost.minor == 285 * count
    assert own.saved is not None
    assert 0 <= own.saved.minor <= each.plan.cost


def test_it_saves_what_the_sequence_counts_for_strips(few: Callable[..., PlannedBatch]) -> None:
    for saw, way in (("", STOP), ('strips = "fall free"', FREE_SIDE)):
        planned = few(saw)
        (each,) = planned.plans
        own = bought_strips(each, planned.batch)
        assert own is not None
        sequence = job_sequence(each.plan.job, each.plan, thin_rip=way)
        narrow = [s for s in sequence.stations if any(stroke.saw_cut.is_narrow for stroke in s.strokes)]
        assert own.settings == len(narrow) > 0
        assert own.fence_moves == sequence.fence_moves
        (said,) = [block for block in bought_strip_blocks(planned) if isinstance(block, Paragraph)]
        assert ("thin-rip stop" in said.text) == (way == STOP)
        assert str(own.cost) in said.text
        thin = (own.widest + inch("1/16")).text("in")
        assert f"set the thinnest rip of your saw to {thin} and plan again" in said.text


def test_the_buy_list_has_it_and_nothing_where_strips_are_bought_already(few: Callable[..., PlannedBatch]) -> None:
    heads = [block.text for block in shopping_chapter(few()).blocks if isinstance(block, Heading)]
    assert "Ready-made strips instead" in heads
    said = " ".join(block.text for block in shopping_chapter(few()).blocks if isinstance(block, Paragraph))
    (low, high), *_ = strip_limits(few()).values()
    assert low <= inch("1/4") <= high
    assert f"1/4 in is within the limits of the strips, {low.number('in')} to {high.text('in')}" in said
    given_away = few(price="0.00")
    (each,) = given_away.plans
    ripped = [
        piece
        for layout in each.plan.layouts
        for piece in layout.pieces
        if piece.width == 16 and "lattice" not in layout.stock and not layout.stock.startswith("1/4")
    ]
    assert (bought_strip_blocks(given_away) == []) == (not ripped)
