"""Plans a job of few boards by trying whole boards: the cheapest boards first that could be enough.

Some numbers of boards of each stock are a set. Prices rule out a set if its boards are together worth less than all
blanks, and the same prices rule out many other sets. A linear program finds such prices, or a mixture of patterns that
makes all blanks from the set. For such a set, whole numbers of patterns are searched for. The first plan that is found
is the cheapest one if all cheaper sets are ruled out.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from woodshop.cutting.model.job import Job
from woodshop.cutting.model.plan import Effort, Layout
from woodshop.cutting.planner.assemble import lay_out
from woodshop.cutting.planner.network import Network, build_network
from woodshop.cutting.planner.pricing import (
    SCALE,
    Column,
    Entry,
    Fair,
    Pricer,
    Programme,
    columns_within,
    fair_prices,
    price_step,
    programme_of,
    section_lengths,
    whole_prices,
    with_shortage,
)
from woodshop.cutting.planner.solver import Model, NoSolutionError, Relaxed, solve_relaxed, solve_whole

_MOST_SETS, _MOST_STEPS = 3_000, 100_000
_FEWEST = 2  # prices that a plan could have below the highest one
_MOST_ROUNDS = 60
_DEAREST = 20_000  # what the blank with the highest price costs if it is missing; the others in proportion
_NOTHING = 1e-6
_NEAR, _NEAR_FEW = 6_000, 2_500
_FEW_LENGTHS = (60, 30, 15)
_TRIES: dict[Effort, tuple[int, int]] = {"quick": (1, 300), "default": (3, 1_000), "long": (12, 10_000)}
"""How many sets are tried in whole numbers with each effort, and the nodes of each search."""


@dataclass(frozen=True, slots=True)
class PriceList:
    """Prices of the sizes, the worth of each stock at these prices, and the worth of all blanks."""

    prices: tuple[int, ...]
    worths: tuple[int, ...]
    needed: int

    def rules_out(self, boards: Sequence[int]) -> bool:
        """Whether these boards are worth less than all blanks."""
        return sum(count * worth for count, worth in zip(boards, self.worths, strict=True)) < self.needed


@dataclass(frozen=True, slots=True)
class SetAnswer:
    """The layouts found, if any, and a cost below which there is no plan, as far as the solver can say."""

    layouts: tuple[Layout, ...] | None
    floating: int


class BoardPricer:
    """Finds prices that rule out sets of boards, and keeps the patterns that it finds for the next set."""

    def __init__(self, job: Job, network: Network, columns: Iterable[Column], prices: Sequence[int]) -> None:
        self.network = network
        self.columns = dict.fromkeys(columns)
        self._limited = replace(job, stock=tuple(replace(stock, count=1) for stock in job.stock))
        dearest = max(1, *prices)
        self._missing = tuple(max(1, price * _DEAREST // dearest) for price in prices)
        self._pricer = Pricer(network)
        self._entries: dict[Column, Entry] = {}

    def price_list(self, prices: Sequence[int]) -> PriceList | None:
        """These prices with what they make of each stock. None if a knapsack is too large for exact values."""
        found = self._pricer.values(prices)
        if found is None:
            return None
        worths = tuple(found.worth.get(("stock", j), 0) for j in range(len(self._limited.stock)))
        needed = sum(size.count * price for size, price in zip(self.network.sizes, prices, strict=True))
        return PriceList(tuple(prices), worths, needed)

    def ruling_out(self, boards: Sequence[int]) -> tuple[PriceList | None, Programme, Relaxed]:
        """Prices that rule out these boards; the last linear program and its solution.

        The price list is None if patterns can make all blanks from these boards, or if no such prices were found.
        Raises SolverFailedError.
        """
        for _ in range(_MOST_ROUNDS):
            programme = programme_of(
                self._limited, self.network, list(self.columns), is_whole=False, known=self._entries
            )
            rows = list(programme.model.rows)
            for i, size in enumerate(self.network.sizes):
                rows[programme.row_of["size", i]] = (size.count, None)
            for j, count in enumerate(boards):
                rows[programme.row_of["stock", j]] = (None, count)
            free = (0,) * len(self.columns)
            programme = replace(programme, model=Model(free, programme.model.columns, tuple(rows)))
            relaxed = solve_relaxed(with_shortage(programme.model, self._missing))
            if relaxed.value < _NOTHING:
                break
            prices = whole_prices(programme, relaxed, len(self.network.sizes))
            found = self._pricer.values(prices)
            own = self.price_list(prices)
            if found is None or own is None:
                break
            if own.rules_out(boards):
                return own, programme, relaxed
            before, seen = len(self.columns), set[tuple[str | int, ...]]()
            for j, worth in enumerate(own.worths):
                if worth > -relaxed.duals[programme.row_of["stock", j]] * SCALE + 10:
                    self._pricer.add_tree(("stock", j), found, self.columns, seen)
            if len(self.columns) == before:
                break
        return None, programme, relaxed


def plan_by_sets(
    job: Job,
    network: Network,
    columns: Sequence[Column],
    fair: Fair,
    *,
    cost: int,
    effort: Effort,
    say: Callable[[str], None],
) -> SetAnswer | None:
    """The plan of the cheapest set of boards for which one is found, if it costs less than `cost`.

    `columns` are patterns to begin with; `say` gets how many sets there are. If there are too many, only the cheapest
    are tried. Returns None if those are too many as well. Raises SolverFailedError.
    """
    pricer = BoardPricer(job, network, columns, fair.prices)
    first = pricer.price_list(fair.prices)
    if first is None:
        return None
    cost, sets = cheapest_sets(job, first, fair.total // SCALE, cost)
    if not sets:
        return None
    say(f"{len(sets)} sets of boards cost less than {cost} and could be enough")
    known, open_sets = [first], list[int]()
    tries, nodes = _TRIES[effort]
    for own, boards in sets:
        if any(prices.rules_out(boards) for prices in known):
            continue
        prices, programme, relaxed = pricer.ruling_out(boards)
        if prices is not None:
            known.append(prices)
            continue
        open_sets.append(own)
        layouts, is_empty = _in_whole_numbers(job, network, fair, boards, programme, relaxed, nodes)
        shown = ", ".join(f"{n} of {stock.id}" for n, stock in zip(boards, job.stock, strict=True) if n)
        say(f"{shown}: {own}, {'a plan' if layouts else 'no plan' if is_empty else 'no plan found'}")
        if layouts is not None:
            return SetAnswer(layouts, min(open_sets))
        if is_empty:
            open_sets.pop()
        tries -= not is_empty
        if not tries:
            break
    return SetAnswer(None, min([*open_sets, cost]))


def cheapest_sets(job: Job, prices: PriceList, least: int, cost: int) -> tuple[int, list[tuple[int, tuple[int, ...]]]]:
    """Every set that costs less than `cost` and is worth all blanks, the cheapest first, each with its own cost.

    If they are too many, those below a lower cost, which comes first in the answer. No plan costs less than `least`.
    """
    found = _sets(job, prices, cost)
    while found is None and cost - least > _FEWEST * price_step(job):
        cost = least + (cost - least) // 2
        found = _sets(job, prices, cost)
    return cost, found or []


def _sets(job: Job, prices: PriceList, cost: int) -> list[tuple[int, tuple[int, ...]]] | None:
    """Every set that costs less than `cost` and is worth all blanks, the cheapest first; None if they are many.

    Stock without a cost is in every set.
    """
    stocks = job.stock
    if any(stock.count is None and not stock.cost for stock in stocks):
        return None
    order = sorted(range(len(stocks)), key=lambda j: (stocks[j].count is None, -stocks[j].cost, j))
    # What limited stock from each place of the order on could be worth. Other stock is worth at most its cost.
    later = [0] * (len(stocks) + 1)
    for place in range(len(stocks) - 1, -1, -1):
        later[place] = later[place + 1] + (stocks[order[place]].count or 0) * prices.worths[order[place]]
    counts, steps = [0] * len(stocks), 0
    found: list[tuple[int, tuple[int, ...]]] = []

    def choose(place: int, paid: int, worth: int) -> bool:
        nonlocal steps
        steps += 1
        if steps > _MOST_STEPS or len(found) > _MOST_SETS:
            return False
        if worth + later[place] + (cost - 1 - paid) * SCALE < prices.needed:
            return True
        if place == len(order):
            if worth >= prices.needed:
                found.append((paid, tuple(counts)))
            return True
        j = order[place]
        own, limit = stocks[j].cost, stocks[j].count
        most = limit if not own else (cost - 1 - paid) // own if limit is None else min(limit, (cost - 1 - paid) // own)
        for count in range(most or 0, -1 if own else (most or 0) - 1, -1):
            counts[j] = count
            if not choose(place + 1, paid + count * own, worth + count * prices.worths[j]):
                return False
        counts[j] = 0
        return True

    return sorted(found) if choose(0, 0, 0) else None


def _in_whole_numbers(
    job: Job,
    network: Network,
    fair: Fair,
    boards: Sequence[int],
    programme: Programme,
    relaxed: Relaxed,
    nodes: int,
) -> tuple[tuple[Layout, ...] | None, bool]:
    """Layouts for this set, if found; and whether the solver shows that there are none.

    If there are too many patterns, only those with the section lengths are used that the linear program prefers.
    """
    full = [fair.worth.get(("stock", j), 0) for j in range(len(boards))]
    room = sum(count * worth for count, worth in zip(boards, full, strict=True)) - sum(
        size.count * price for size, price in zip(network.sizes, fair.prices, strict=True)
    )
    chosen = replace(job, stock=tuple(replace(stock, count=n) for stock, n in zip(job.stock, boards, strict=True)))
    never = 2 * max(full) + room + 1
    rents = tuple(
        worth - stock.cost * SCALE if n else never for stock, n, worth in zip(job.stock, boards, full, strict=True)
    )

    def near(own: Network, worth: Fair, lost: int, limit: int) -> list[Column] | None:
        return columns_within(chosen, own, replace(worth, rents=rents), lost, limit)

    own, columns = network, near(network, fair, room, _NEAR)
    if columns is not None:
        return _of_columns(chosen, network, columns, nodes, is_whole=network.complete)
    ranked = section_lengths(network, programme, relaxed)
    for most in _FEW_LENGTHS:
        own = build_network(job, only=frozenset(ranked[:most]))
        fewer, lost = fair_prices(job, own, fair.prices), room
        while fewer is not None and lost > 0:
            columns = near(own, fewer, lost, _NEAR_FEW)
            if columns is not None:
                break
            lost = lost * 4 // 5
        layouts, _ = _of_columns(chosen, own, columns or [], nodes, is_whole=False)
        if layouts is not None:
            return layouts, False
    return None, False


def _of_columns(
    chosen: Job, network: Network, columns: Sequence[Column], nodes: int, *, is_whole: bool
) -> tuple[tuple[Layout, ...] | None, bool]:
    programme = programme_of(chosen, network, columns, is_whole=is_whole)
    model = Model((0,) * len(columns), programme.model.columns, programme.model.rows)
    try:
        solve_relaxed(model)
    except NoSolutionError:
        return None, is_whole
    found = solve_whole(model, nodes=nodes, absolute_gap=1)
    if found.counts is None:
        return None, is_whole and found.is_infeasible
    return lay_out(chosen, network, columns, found.counts), False
