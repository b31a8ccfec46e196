"""One truth for where a piece lies: the layout, its cut list and the simulated saw agree on every place."""

import json
import random
from dataclasses import replace

import pytest

from tests.bench.hobby_batches import hobby_batch
from tests.cutting.middling_jobs import in_three_stages, planned_sheets
from tests.cutting.placing_reader import places_by_cuts, places_in_layout
from tests.nightly import IS_NIGHT, spread
from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.checkers.replay import check_sequence
from woodshop.cutting.layouts.fewer_layouts import improve_setups
from woodshop.cutting.model.job import read_job
from woodshop.cutting.model.plan import Layout, Piece, Plan, order_pieces
from woodshop.cutting.order.job_sequence import FREE_SIDE, STOP, job_sequence, sequence_to_json
from woodshop.cutting.order.sequence import as_sawn, leftovers, saw_cuts
from woodshop.cutting.planner.plan_job import plan

RULES = {"narrow_below": 56, "parent_wood": 128, "least_strip": 8, "surplus": "drop"}


def assert_one_truth(made: Plan) -> int:
    """Every layout's places by its cut list and by the simulated saw are those of the layout; how many there are."""
    assert check_plan(made) == ()
    for thin_rip in (FREE_SIDE, STOP):
        written = json.loads(json.dumps(sequence_to_json(job_sequence(made.job, made, thin_rip=thin_rip))))
        assert check_sequence(made.job, made, written) == ()
    for layout in made.layouts:
        assert places_by_cuts(made.job, layout, saw_cuts(made.job, layout)) == places_in_layout(layout), layout
    return len(made.layouts)


@pytest.mark.slow("plans many random sheets")
@pytest.mark.invariant
def test_random_sheets_lie_where_their_cuts_put_them() -> None:
    """100 at night: in two and three stages, from either side, with and without narrow strips, bad stretches, trims."""
    seeds = spread(range(130), 20)
    plans = [made for seed in seeds if (made := planned_sheets(seed)) is not None][:100]
    assert len(plans) >= 3 * len(seeds) / 4
    assert sum(map(assert_one_truth, plans)) > len(seeds)


@pytest.mark.slow("plans the hobby batch's jobs")
@pytest.mark.invariant
def test_hobby_jobs_lie_where_their_cuts_put_them_also_with_fewer_layouts() -> None:
    for seed in (21, 7, 0) if IS_NIGHT else (7,):
        made = plan(read_job({**hobby_batch(seed), "rules": {**RULES, "longest_rip": 6144}}), effort="quick")
        assert_one_truth(made)
        assert_one_truth(improve_setups(made, effort="quick").plan)
    assert_one_truth(plan(read_job(in_three_stages()), effort="quick"))


def shuffled(made: Plan, layout: Layout, rng: random.Random) -> Layout:
    """The same strips of a board that is ripped first, in another order across it."""
    kerf = made.job.kerf.rip
    ys = sorted({p.y or 0 for p in layout.pieces})
    strips = [[p for p in layout.pieces if p.y == y] for y in ys]
    rng.shuffle(strips)
    pieces, y = [], ys[0]
    for strip in strips:
        pieces += [replace(p, y=y) for p in strip]
        y += max(p.width or 1 for p in strip) + kerf
    return replace(layout, pieces=order_pieces(pieces))


@pytest.mark.invariant
def test_strips_in_any_order_are_laid_in_sawing_order() -> None:
    rng = random.Random(3)
    moved = 0
    for seed in (1, 4, 7):
        made = plan(read_job({**hobby_batch(seed), "rules": RULES}), effort="quick")
        for layout in made.layouts:
            mixed = shuffled(made, layout, rng)
            moved += mixed != layout
            laid = as_sawn(made.job, mixed)
            assert as_sawn(made.job, laid) == laid
            assert check_plan(replace(made, layouts=tuple(laid if e is layout else e for e in made.layouts))) == ()
            assert places_by_cuts(made.job, laid, saw_cuts(made.job, laid)) == places_in_layout(laid)
    assert moved > 10


def test_narrow_strips_lie_at_the_edge_that_is_ripped_first_and_waste_at_the_far_one() -> None:
    """464 wide: the two strips of 24 at 0 and 32, the sides behind them, waste from 64 + 2 x 168 = 400 on."""
    job = read_job(
        {
            "format": "woodshop-job/1",
            "unit": "1/64 in",
            "money": "cent",
            "kerf": {"rip": 8, "crosscut": 8},
            "cutting": {"stages": 2, "first": "along"},
            "rules": {"narrow_below": 48, "parent_wood": 96},
            "stock": [{"id": "s", "length": 3000, "width": 464, "cost": 900}],
            "blanks": [
                {"id": "side", "length": 1272, "width": 160, "count": 2},
                {"id": "strip", "length": 900, "width": 24, "count": 2},
            ],
        }
    )
    pieces = (
        Piece("side", 0, 1272, y=0, width=160),
        Piece("side", 0, 1272, y=168, width=160),
        Piece("strip", 0, 900, y=400, width=24),
        Piece("strip", 0, 900, y=440, width=24),
    )
    layout = Layout("s", 1, pieces, "along")
    laid = as_sawn(job, layout)
    assert [(p.id, p.y) for p in laid.pieces] == [("strip", 0), ("strip", 32), ("side", 64), ("side", 232)]
    across = leftovers(job, laid, 3000)
    assert [(rest.y, rest.width) for rest in across] == [(400, 64)]


@pytest.mark.invariant
def test_a_piece_laid_elsewhere_than_it_is_sawn_is_found_by_the_simulated_saw() -> None:
    made = plan(read_job({**hobby_batch(4), "rules": RULES}), effort="quick")
    written = sequence_to_json(job_sequence(made.job, made))
    rng = random.Random(1)
    wrong = 0
    for n, layout in enumerate(made.layouts):
        mixed = shuffled(made, layout, rng)
        if places_in_layout(mixed) != places_in_layout(layout):
            moved = replace(made, layouts=(*made.layouts[:n], mixed, *made.layouts[n + 1 :]))
            assert {finding.code for finding in check_sequence(made.job, moved, written)} == {"sequence-pieces"}
            wrong += 1
    assert wrong
