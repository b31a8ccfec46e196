"""The boards that are cut first: the fewest that give one unit of each kind, found again by trying every choice."""

import random
from collections import Counter
from itertools import product

import pytest

from tests.once import planned
from woodshop.cutting.model.job import Blank, Job, Kerf, Stock
from woodshop.cutting.model.plan import Layout, Piece
from woodshop.plan.first_boards import MOST_SHARE, fewest_boards, first_boards, first_units
from woodshop.plan.parts_needed import parts_of_units


def some_layouts(seed: int) -> tuple[Job, tuple[Layout, ...], dict[str, int]]:
    """A few layouts of random pieces, and pieces wanted that all of them hold, or nearly."""
    rng = random.Random(seed)
    names = "ABCD"[: rng.randint(1, 4)]
    stock = tuple(Stock(id=f"s{n}", length=1000, cost=rng.choice((100, 100, 250))) for n in range(3))
    layouts = tuple(
        Layout(
            rng.choice(stock).id,
            rng.randint(1, 3),
            tuple(Piece(rng.choice(names), n * 100, 90) for n in range(rng.randint(1, 5))),
        )
        for _ in range(rng.randint(1, 5))
    )
    held = Counter(piece.id for layout in layouts for piece in layout.pieces for _ in range(layout.times))
    wanted = {name: rng.randint(0, held[name] + (rng.random() < 0.1)) for name in names}
    blanks = tuple(Blank(name, 90, max(1, held[name])) for name in names)
    return Job("1/64 in", "cent", Kerf(0, 0), stock=stock, blanks=blanks), layouts, wanted


def gives(layouts: tuple[Layout, ...], times: tuple[int, ...]) -> Counter[str]:
    return Counter(
        piece.id for layout, count in zip(layouts, times, strict=True) for piece in layout.pieces for _ in range(count)
    )


@pytest.mark.invariant
def test_no_choice_of_fewer_or_cheaper_or_earlier_boards_gives_the_pieces() -> None:
    """Against every choice there is, forty times over; and none is found where there is none."""
    none = 0
    for seed in range(40):
        job, layouts, wanted = some_layouts(seed)
        costs = {stock.id: stock.cost for stock in job.stock}
        ranked = [
            (
                sum(times),
                sum(costs[layout.stock] * count for layout, count in zip(layouts, times, strict=True)),
                sum(n * count for n, count in enumerate(times, 1)),
            )
            for times in product(*(range(layout.times + 1) for layout in layouts))
            if all(gives(layouts, times)[name] >= count for name, count in wanted.items())
        ]
        found = fewest_boards(job, layouts, wanted)
        if not ranked:
            assert found is None
            none += 1
            continue
        assert found is not None
        assert all(count <= layout.times for count, layout in zip(found, layouts, strict=True))
        assert all(gives(layouts, found)[name] >= count for name, count in wanted.items())
        cost = sum(costs[layout.stock] * count for layout, count in zip(layouts, found, strict=True))
        assert (sum(found), cost, sum(n * count for n, count in enumerate(found, 1))) == min(ranked), seed
    assert 0 < none < 20


@pytest.mark.invariant
@pytest.mark.slow("plans the hobby batch")
def test_one_whole_unit_of_each_item_for_each_box_can_be_built_of_the_first_boards() -> None:
    """Counted from the things that are made, not from what was asked of the solver."""
    batch = planned("hobby-batch")
    chosen = first_boards(batch)
    made: Counter[str] = Counter()
    for plan, first in zip(batch.plans, chosen, strict=True):
        made += gives(plan.plan.layouts, first.times)
    left = Counter(made)
    kinds: set[tuple[str, str]] = set()
    for unit, parts in zip(batch.units, parts_of_units(batch.units), strict=True):
        kind = (unit.line.item.name, unit.line.fits)
        if unit.line.count and kind not in kinds:
            kinds.add(kind)
            left.subtract(parts)
    assert len(kinds) > 9
    assert min(left.values()) >= 0
    assert set(first_units(batch)) <= set(made)


@pytest.mark.invariant
def test_more_than_a_third_of_a_materials_boards_is_no_first_step() -> None:
    """And what no saw cuts is cut whole: a roll cannot be cut first in part."""
    seen = set()
    for plan, first in zip(planned("hobby-batch").plans, (chosen := first_boards(planned("hobby-batch"))), strict=True):
        assert first.of == sum(layout.times for layout in plan.plan.layouts)
        is_few = first.boards <= MOST_SHARE * first.of
        assert first.is_cut_first == (is_few and plan.job.material.is_sawn)
        seen.add((first.is_cut_first, plan.job.material.is_sawn))
    assert len(chosen) > 3
    assert {(True, True), (False, True), (False, False)} <= seen
