"""Searches for prices that prove a high bound because a plan has whole boards.

At some prices, take the cheapest whole boards that are together worth all blanks: no plan costs less than these boards
(`cutting/checkers/prove.py`). If they are cheaper than the best plan, other prices are needed at which they are worth
too little, just like all earlier sets of boards. A linear program finds such prices, or shows that no prices rule out
all the sets: it makes as many of the blanks as possible from a mixture of the sets.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from woodshop.cutting.model.job import Job
from woodshop.cutting.planner.network import Network
from woodshop.cutting.planner.pricing import (
    SCALE,
    Column,
    Entry,
    Pricer,
    price_step,
    programme_of,
    single_columns,
    whole_prices,
)
from woodshop.cutting.planner.solver import Model, SolverFailedError, solve_relaxed

_MOST_COSTS = 20_000
_MOST_SETS, _MOST_ROUNDS = 20, 60
_WIDE = 400  # knapsacks; with more, each round takes seconds


def board_prices(job: Job, network: Network, prices: Sequence[int], cost: int) -> Iterator[list[int]]:
    """Prices of the sizes, in 1/SCALE: first the given ones, then others that rule out more sets of boards.

    `cost` is the cost of the best plan. Ends if no cheaper set is left, if no prices rule out all sets found, or after
    a limited number of rounds. Yields only the given prices if there are many knapsacks or possible costs.
    """
    own = list(prices)
    yield own
    if cost // price_step(job) > _MOST_COSTS or len(network.knapsacks) > _WIDE:
        return
    pricer = Pricer(network)
    columns = dict.fromkeys(single_columns(network))
    sets: list[tuple[int, ...]] = []
    for _ in range(_MOST_SETS):
        found = pricer.values(own)
        if found is None:
            return
        worths = [found.worth.get(("stock", j), 0) for j in range(len(job.stock))]
        needed = sum(size.count * price for size, price in zip(network.sizes, own, strict=True))
        boards = _cheapest(job, worths, needed, cost)
        if boards is None or boards in sets:
            return
        sets.append(boards)
        made = _ruling_out(job, network, sets, cost, pricer, columns)
        if made is None:
            return
        own = made
        yield own


def _cheapest(job: Job, worths: Sequence[int], needed: int, cost: int) -> tuple[int, ...] | None:
    """How many boards of each stock cost least and are together worth `needed`. None if they cost at least `cost`."""
    import numpy

    step = price_step(job)
    room = (cost - 1) // step
    counts = [0] * len(worths)
    left = needed
    lots: list[tuple[int, int]] = []
    for j, (stock, worth) in enumerate(zip(job.stock, worths, strict=True)):
        most = stock.count if stock.count is not None else needed // worth + 1 if worth else 0
        if not stock.cost:
            counts[j] = most
            left -= most * worth
            continue
        most, some = min(most, room * step // stock.cost), 1
        while most > 0 and worth:
            lots.append((j, min(some, most)))
            most, some = most - some, some * 2
    values = numpy.zeros(room + 1, dtype=numpy.int64)
    taken: list[Any] = []
    for j, some in lots:
        shift = some * job.stock[j].cost // step
        moved = values.copy()
        moved[shift:] = numpy.maximum(values[shift:], values[: room + 1 - shift] + some * worths[j])
        taken.append(moved > values)
        values = moved
    place = int(numpy.searchsorted(values, left))
    if place > room:
        return None
    for (j, some), own in zip(reversed(lots), reversed(taken), strict=True):
        if own[place]:
            counts[j] += some
            place -= some * job.stock[j].cost // step
    return tuple(counts)


def _ruling_out(
    job: Job,
    network: Network,
    sets: Sequence[tuple[int, ...]],
    cost: int,
    pricer: Pricer,
    columns: dict[Column, None],
) -> list[int] | None:
    """Prices at which no mixture of these sets of boards is worth all blanks, or None. Adds the columns it prices."""
    counted = replace(job, stock=tuple(replace(stock, count=1) for stock in job.stock))
    entries: dict[Column, Entry] = {}
    for _ in range(_MOST_ROUNDS):
        programme = programme_of(counted, network, list(columns), is_whole=False, known=entries)
        rows = list(programme.model.rows)
        of_stock = [programme.row_of["stock", j] for j in range(len(job.stock))]
        for row in of_stock:
            rows[row] = (None, 0)
        # One column for each set of boards, together at most 1, and one for the part of all blanks that is not made.
        more: list[Entry] = [
            (*((row, -count) for row, count in zip(of_stock, own, strict=True) if count), (len(rows), 1))
            for own in sets
        ]
        more.append(tuple((programme.row_of["size", i], size.count) for i, size in enumerate(network.sizes)))
        costs = [0] * (len(columns) + len(sets)) + [cost]
        rows.append((None, 1))
        try:
            relaxed = solve_relaxed(Model(tuple(costs), (*programme.model.columns, *more), tuple(rows)))
        except SolverFailedError:
            return None
        if relaxed.value <= 1e-6 * cost:
            return None
        prices = whole_prices(programme, relaxed, len(network.sizes))
        found = pricer.values(prices)
        if found is None:
            return None
        before = len(columns)
        for j, row in enumerate(of_stock):
            if found.worth.get(("stock", j), 0) > -relaxed.duals[row] * SCALE + max(10, cost):
                pricer.add_tree(("stock", j), found, columns, set())
        if len(columns) == before:
            return prices
    return prices
