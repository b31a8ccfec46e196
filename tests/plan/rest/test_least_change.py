"""Least cost, then least change, against brute force over small jobs of boards cut to length."""

import random
from collections import Counter
from functools import lru_cache
from itertools import combinations
from typing import Any

import pytest

from tests.nightly import IS_NIGHT
from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.checkers.prove import prove_plan
from woodshop.cutting.model.job import Blank, Job, Kerf, Stock
from woodshop.cutting.planner.plan_job import plan
from woodshop.design.lumber import Need
from woodshop.errors import NothingToCutError
from woodshop.plan.rest.least_change import FaultyStock, RestOfPlan, least_change
from woodshop.plan.values import MaterialJob
from woodshop.reference.materials import read_material
from woodshop.units.lengths import inch

NO_PART: Any = None
MATERIAL = read_material("board 3/4 in")


def material_job(job: Job) -> MaterialJob:
    needs = tuple(Need(blank.id, blank.id, NO_PART, blank.count) for blank in job.blanks)
    return MaterialJob(MATERIAL, inch(1), job, needs, ())


def drawn(seed: int) -> tuple[RestOfPlan, dict[str, int]]:
    """A small plan with one board that is unusable or short, and perhaps an offcut on hand; and the boards there."""
    draw = random.Random(seed)
    kinds = draw.sample((8, 10, 12, 15, 16), 2)
    sale = tuple(Stock(id=f"s{long}", length=long, cost=100 * long + draw.choice((0, 50, 200))) for long in kinds)
    blanks = tuple(Blank(f"b{long}", long, draw.randint(1, 3)) for long in draw.sample((3, 4, 5, 6, 7), 3))
    job = Job("in", "cent", Kerf(0, draw.choice((0, 1))), stock=sale, blanks=blanks)
    earlier = plan(job, effort="quick")
    there = Counter[str]()
    for layout in earlier.layouts:
        there[layout.stock] += layout.times
    bad = draw.choice(sorted(there))
    there[bad] -= 1
    stock = [
        Stock(id=f"bought {s.id}", length=s.length, cost=-(-s.cost // 100), count=there[s.id])
        for s in sale
        if there[s.id]
    ]
    worth = {f"bought {s.id}": s.cost for s in sale if there[s.id]}
    faulty: tuple[FaultyStock, ...] = ()
    length = next(s.length for s in sale if s.id == bad)
    if draw.random() < 0.4:
        short = Stock(id="short", length=length - draw.randint(1, 4), cost=-(-100 * length // 100), count=1)
        stock.append(short)
        worth["short"] = 100 * length
        faulty = (FaultyStock("short", bad, None),)
    if draw.random() < 0.5:
        stock.append(Stock(id="offcut", length=draw.randint(3, 9), cost=0, count=1))
        worth["offcut"] = 0
    names = {s.id: (*((f"bought {s.id}",) if there[s.id] else ()), s.id) for s in sale}
    whole = Job("in", "cent", job.kerf, stock=(*stock, *sale), blanks=blanks)
    rest = RestOfPlan(
        job=material_job(whole),
        earlier=earlier,
        left=tuple(layout.times for layout in earlier.layouts),
        names=names,
        faulty=faulty,
        worth=worth,
    )
    return rest, {row.id: row.count or 0 for row in stock}


class Brute:
    """Every way to cut pieces from boards, tried."""

    def __init__(self, job: Job) -> None:
        self.kerf = job.kerf.crosscut
        self.lengths = {stock.id: stock.length for stock in job.stock}
        self.sale = {stock.id: stock.cost for stock in job.stock if stock.count is None}
        self.least = lru_cache(maxsize=None)(self._least)

    def _least(self, pieces: tuple[int, ...], there: tuple[tuple[str, int], ...]) -> int:
        """The least cost to buy for these pieces, longest first, with these boards there."""
        if not pieces:
            return 0
        first, others = pieces[0], pieces[1:]
        best = 10**9
        own = dict(there)
        options = [(name, 0) for name, count in there if count] + list(self.sale.items())
        for name, cost in options:
            room = self.lengths[name] + self.kerf - first - self.kerf
            if room < 0 or cost >= best:
                continue
            left = there if name in self.sale else tuple(sorted((own | {name: own[name] - 1}).items()))
            for size in range(len(others) + 1):
                tried = set()
                for chosen in combinations(range(len(others)), size):
                    taken = tuple(others[n] for n in chosen)
                    if taken in tried or sum(taken) + self.kerf * size > room:
                        continue
                    tried.add(taken)
                    rest = tuple(piece for n, piece in enumerate(others) if n not in chosen)
                    best = min(best, cost + self.least(rest, left))
        return best


def by_hand(rest: RestOfPlan, there: dict[str, int]) -> tuple[int, int]:
    """The least cost to buy, and the fewest boards that must be cut otherwise at that cost."""
    brute = Brute(rest.job.job)
    sizes = {blank.id: blank.length for blank in rest.job.job.blanks}
    boards = [
        (layout.stock, tuple(sizes[piece.id] for piece in layout.pieces))
        for n, layout in enumerate(rest.earlier.layouts)
        for _ in range(rest.left[n])
    ]
    found = []
    for size in range(len(boards) + 1):
        for released in combinations(range(len(boards)), size):
            kept = [board for n, board in enumerate(boards) if n not in released]
            pieces = tuple(sorted((p for n in released for p in boards[n][1]), reverse=True))
            ways = [(dict(there), 0)]
            for stock, cuts in kept:
                ways = [way for left, cost in ways for way in placed(brute, rest, stock, cuts, left, cost)]
            for left, cost in ways:
                found.append((cost + brute.least(pieces, tuple(sorted(left.items()))), size))
    return min(found)


def placed(
    brute: Brute, rest: RestOfPlan, stock: str, cuts: tuple[int, ...], left: dict[str, int], cost: int
) -> list[tuple[dict[str, int], int]]:
    """What one kept board can be cut from: its own stock on hand, a faulty one that it fits, or a new one."""
    ways = []
    if left.get(f"bought {stock}"):
        ways.append((left | {f"bought {stock}": left[f"bought {stock}"] - 1}, cost))
    for each in rest.faulty:
        fits = sum(cuts) + brute.kerf * (len(cuts) - 1) <= brute.lengths[each.id]
        if each.of == stock and left.get(each.id) and fits:
            ways.append((left | {each.id: left[each.id] - 1}, cost))
    return [*ways, (left, cost + brute.sale[stock])]


@pytest.mark.slow("plans small jobs many times")
@pytest.mark.invariant
@pytest.mark.parametrize("seed", range(200 if IS_NIGHT else 16))
def test_the_cheapest_and_of_those_the_least_changed(seed: int) -> None:
    try:
        rest, there = drawn(seed)
    except NothingToCutError:
        pytest.skip("nothing can be cut of this draw")
    if sum(rest.left) > 5 or sum(blank.count for blank in rest.job.job.blanks) > 8:
        pytest.skip("too many boards to try every way")
    found = least_change(rest, None, "default")
    assert check_plan(found.plan.plan) == ()
    assert prove_plan(found.plan.plan) == ()
    assert (found.to_buy, found.boards - found.kept) == by_hand(rest, there)
    assert found.to_buy - found.could_save <= by_hand(rest, there)[0]
