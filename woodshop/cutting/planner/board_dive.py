"""Makes plans from the linear program: fixes whole boards one after the other, and prices the rest again (diving).

The rest is the blanks that are still wanted and the stock that is left. If its linear program shows that the target can
no longer be reached, the search goes back to an earlier choice and forbids the board chosen there. It does this a
limited number of times. As soon as the rest has few enough patterns, an integer program searches all of them.
"""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from woodshop.cutting.model.job import Job
from woodshop.cutting.model.plan import Effort, Layout, cost_of
from woodshop.cutting.planner.assemble import lay_out
from woodshop.cutting.planner.knapsack import Key, KnapsackItem, best_patterns
from woodshop.cutting.planner.network import Network
from woodshop.cutting.planner.pricing import (
    SCALE,
    Column,
    Entry,
    Pricer,
    Programme,
    Valued,
    columns_within,
    fair_prices,
    price_step,
    programme_of,
    whole_prices,
    with_shortage,
    with_totals,
    worth_of_items,
)
from woodshop.cutting.planner.solver import Model, Relaxed, solve_relaxed, solve_whole

_EPS = 1e-6
_CLOSE = 1e-5
_KEPT = 0.1
"""A pattern is kept for the next board if it adds at most this share of the dearest stock's cost."""
_AIMS = 3
"""Costs between the bound and the best plan that are tried."""
_NODE_WORK, _FIRST_NODE = 15_000, 20
"""An integer program of n patterns counts as one round of pricing for every `_NODE_WORK` / n nodes.

Its first node counts as `_FIRST_NODE`.
"""


@dataclass(frozen=True, slots=True)
class DiveLimits:
    """Limits of an effort.

    `dives` is the number of costs below a plan's that are tried. `root` and `board` count rounds of pricing for the
    first and any other board. A dive may go back `spare` times. `nodes` are for an integer program. `passes` are for
    one cost, the next one if the last one found nothing: rounds of pricing in all, the most patterns of an integer
    program, and how many of the first boards a dive may go back to.
    """

    dives: int
    root: int
    board: int
    nodes: int
    spare: int
    passes: tuple[tuple[int, int, int], ...]


DIVE_LIMITS: dict[Effort, DiveLimits] = {
    "quick": DiveLimits(dives=3, root=60, board=6, nodes=100, spare=1, passes=((80, 1_500, 4),)),
    "default": DiveLimits(dives=6, root=200, board=8, nodes=300, spare=3, passes=((400, 3_000, 6), (450, 8_000, 20))),
    "long": DiveLimits(
        dives=20, root=400, board=20, nodes=2_000, spare=4, passes=((2_000, 3_000, 6), (4_000, 8_000, 40))
    ),
}

Board = tuple[Column, ...]
"""Every pattern that a board is cut by, first its own, then those of its strips or sections, again for each of them."""


@dataclass(frozen=True, slots=True)
class _Node:
    """What is still wanted, the stock left, the patterns fixed, and those to begin with.

    `spare` says how often the search may still go back from here. The rest is searched exactly if it has at most
    `exact_from` blanks.
    """

    wanted: tuple[int, ...]
    limits: tuple[int | None, ...]
    made: tuple[Column, ...]
    cost: int
    columns: tuple[Column, ...]
    spare: int
    depth: int = 0
    exact_from: int = 10**18
    forbidden: frozenset[Board] = frozenset()


@dataclass(frozen=True, slots=True)
class _Solved:
    """The linear program of a rest, after pricing."""

    job: Job
    network: Network
    programme: Programme
    relaxed: Relaxed
    prices: tuple[int, ...]
    valued: Valued


class BoardDive:
    """Dives for plans of one job."""

    def __init__(
        self, job: Job, network: Network, columns: Sequence[Column], effort: Effort, say: Callable[[str], None]
    ) -> None:
        """`columns` are patterns to begin with."""
        self.job, self.network, self.columns, self.say = job, network, tuple(columns), say
        self.limits = DIVE_LIMITS[effort]
        self.left, self._patterns, self._deepest = self.limits.passes[0]
        self._entries: dict[Column, Entry] = {}
        self._dear = (1 + max(stock.cost for stock in job.stock),) * len(network.sizes)

    def below(self, cost: int, bound: int) -> tuple[Layout, ...] | None:
        """The cheapest layouts found that cost less than `cost` and more than `bound`, or None.

        Dives for costs between them, the lowest first, and begins again when it has found a plan. Raises
        SolverFailedError.
        """
        best, step, tried = None, price_step(self.job), {bound}
        while cost > bound and len(tried) <= self.limits.dives:
            gap = cost - step - bound
            aims = {bound + gap * part // _AIMS // step * step for part in range(1, _AIMS + 1)}
            for aim in sorted(aims - tried):
                tried.add(aim)
                found = self.at_most(aim, is_brief=True)
                if found is not None:
                    best, cost = found, cost_of(self.job, found)
                    break
            else:
                break
        return best

    def at_most(self, target: int, *, is_brief: bool = False) -> tuple[Layout, ...] | None:
        """Layouts that cost at most `target`, or None. If `is_brief`, only the first pass. Raises SolverFailedError."""
        made: Counter[Column] | None = None
        for limits in self.limits.passes[:1] if is_brief else self.limits.passes:
            self.left, self._patterns, self._deepest = limits
            made = made or self._dive(target)
        if made is None:
            return None
        columns = sorted(made)
        found = lay_out(self.job, self.network, columns, [made[column] for column in columns])
        self.say(f"dived to {cost_of(self.job, found)}")
        return found

    def _dive(self, target: int) -> Counter[Column] | None:
        """How often each pattern is cut in a plan that costs at most `target`, or None."""
        wanted = tuple(size.count for size in self.network.sizes)
        limits = tuple(stock.count for stock in self.job.stock)
        stack = [_Node(wanted, limits, (), 0, self.columns, self.limits.spare)]
        while stack:
            node: _Node | None = stack.pop()
            while node is not None and self.left > 0:
                if not any(node.wanted):
                    return Counter(node.made)
                solved = self._solve(node, target - node.cost)
                if solved is None:
                    break
                if sum(node.wanted) <= node.exact_from:
                    node = replace(node, exact_from=sum(node.wanted) * 9 // 10)
                    rest = self._exactly(solved, target - node.cost)
                    if rest is not None:
                        if rest:
                            return Counter(node.made) + rest
                        break
                node = self._branch(node, solved, stack)
        return None

    def _branch(self, node: _Node, solved: _Solved, stack: list[_Node]) -> _Node | None:
        """The node with one board more. Puts the node without this board on the stack, if the search may go back."""
        shares = dict(zip(solved.programme.columns, solved.relaxed.columns, strict=False))
        most = _KEPT * max(stock.cost for stock in self.job.stock)
        kept = tuple(
            column
            for column, reduced in zip(solved.programme.columns, solved.relaxed.reduced, strict=False)
            if reduced <= most
        )
        node = replace(node, columns=kept)
        board = self._board(node, solved, shares)
        if board is None:
            return None
        if node.spare > 0 and node.depth < self._deepest:
            stack.append(replace(node, spare=node.spare - 1, forbidden=node.forbidden | {board}))
        return self._with(node, board)

    def _solve(self, node: _Node, room: int) -> _Solved | None:
        """The linear program of the rest, priced anew; None if no plan for it costs at most `room`."""
        job, network = self._rest(node)
        columns = _shortened(network, node.columns)
        pricer = Pricer(network)
        rounds = self.limits.board if node.depth else self.limits.root
        while True:
            self.left -= 1
            rounds -= 1
            programme = programme_of(job, network, list(columns), is_whole=False, known=self._entries)
            relaxed = solve_relaxed(with_shortage(programme.model, self._dear))
            prices = tuple(whole_prices(programme, relaxed, len(network.sizes)))
            valued = pricer.values(prices)
            if valued is None:
                return None
            before, seen = len(columns), set[Key]()
            for j, stock in enumerate(job.stock):
                key: Key = ("stock", j)
                rent = -relaxed.duals[programme.row_of[key]] if key in programme.row_of else 0.0
                if valued.worth.get(key, 0) > (stock.cost + rent) * SCALE + 10:
                    pricer.add_tree(key, valued, columns, seen)
            is_last = len(columns) == before
            if (relaxed.value if is_last else _least(job, network, prices, valued)) > room + _CLOSE:
                return None
            if is_last or rounds <= 0 or self.left <= 0:
                return _Solved(job, network, programme, relaxed, prices, valued)

    def _rest(self, node: _Node) -> tuple[Job, Network]:
        """The job of the blanks and the stock that are left, and its network with the numbers of the whole one."""
        stock = tuple(replace(one, count=most) for one, most in zip(self.job.stock, node.limits, strict=True))
        sizes = tuple(replace(size, count=count) for size, count in zip(self.network.sizes, node.wanted, strict=True))
        known: dict[int, tuple[KnapsackItem, ...]] = {}
        knapsacks = []
        for knapsack in self.network.knapsacks:
            if id(knapsack.items) not in known:
                known[id(knapsack.items)] = _capped(knapsack.items, node.wanted)
            knapsacks.append(replace(knapsack, items=known[id(knapsack.items)]))
        return replace(self.job, stock=stock), replace(self.network, sizes=sizes, knapsacks=tuple(knapsacks))

    def _exactly(self, solved: _Solved, room: int) -> Counter[Column] | None:
        """The patterns of a plan for the rest that costs at most `room`; empty if none was found.

        None if there are too many patterns to search.
        """
        job, network = solved.job, solved.network
        fair = fair_prices(job, network, solved.prices)
        if fair is None:
            return None
        columns = columns_within(job, network, fair, room * SCALE - fair.total, self._patterns)
        if columns is None:
            return None
        if not columns:
            return Counter()
        programme = programme_of(job, network, columns, is_whole=True)
        model, _ = with_totals(job, network, [number for number, _ in columns], programme.model, None)
        priced = [
            (*column, (len(model.rows), cost)) if cost else column
            for column, cost in zip(model.columns, model.costs, strict=True)
        ]
        model = Model(model.costs, tuple(priced), (*model.rows, (None, room)), model.priorities)
        found = solve_whole(model, nodes=self.limits.nodes, absolute_gap=price_step(job) * 0.999)
        self.left -= (found.nodes + _FIRST_NODE) * len(columns) // _NODE_WORK
        return Counter({column: n for column, n in zip(columns, found.counts or (), strict=False) if n})

    def _board(self, node: _Node, solved: _Solved, shares: dict[Column, float]) -> Board | None:
        """The board that the linear solution uses most and that is not forbidden."""
        knapsacks = solved.network.knapsacks
        by_region: dict[Key, list[Column]] = {}
        for column, share in shares.items():
            if share > _EPS:
                by_region.setdefault(knapsacks[column[0]].of, []).append(column)
        tops = [column for key, columns in by_region.items() if key[0] == "stock" for column in columns]
        for top in sorted(tops, key=lambda column: (-round(shares[column], 6), column)):
            board = _grown(solved, top, node.wanted, shares, by_region)
            if board is not None and board not in node.forbidden:
                return board
        return None

    def _with(self, node: _Node, board: Board) -> _Node:
        """The node with this board fixed."""
        wanted, limits = list(node.wanted), list(node.limits)
        for number, pattern in board:
            knapsack = self.network.knapsacks[number]
            if knapsack.of[0] == "stock":
                most = limits[int(knapsack.of[1])]
                limits[int(knapsack.of[1])] = None if most is None else most - 1
            for i, count in _sizes_of(knapsack.items, pattern):
                wanted[i] = max(0, wanted[i] - count)
        cost = node.cost + sum(map(self._cost, board))
        made = (*node.made, *board)
        return replace(node, wanted=tuple(wanted), limits=tuple(limits), made=made, cost=cost, depth=node.depth + 1)

    def _cost(self, column: Column) -> int:
        of = self.network.knapsacks[column[0]].of
        return self.job.stock[int(of[1])].cost if of[0] == "stock" else 0


def _least(job: Job, network: Network, prices: Sequence[int], valued: Valued) -> float:
    """A lower bound on the cost of any plan, from prices at which stock may be worth more than it costs."""
    over, rents = 1.0, 0
    for j, stock in enumerate(job.stock):
        worth = valued.worth.get(("stock", j), 0)
        if stock.count is not None:
            rents += stock.count * max(0, worth - stock.cost * SCALE)
        elif worth > stock.cost * SCALE:
            over = max(over, worth / (stock.cost * SCALE)) if stock.cost else float("inf")
    total = sum(size.count * price for size, price in zip(network.sizes, prices, strict=True))
    return (total - rents if over == 1.0 else total / over if not rents else 0) / SCALE


def _capped(items: tuple[KnapsackItem, ...], wanted: Sequence[int]) -> tuple[KnapsackItem, ...]:
    """The items, none of them more often than its size is wanted."""
    return tuple(
        replace(item, cap=min(item.cap, wanted[int(item.yields[0][1])])) if item.yields[0][0] == "size" else item
        for item in items
    )


def _sizes_of(items: Sequence[KnapsackItem], pattern: Sequence[int]) -> list[tuple[int, int]]:
    """The sizes that a pattern makes directly, and how many of each."""
    return [
        (int(item.yields[0][1]), count)
        for item, count in zip(items, pattern, strict=True)
        if count and item.yields[0][0] == "size"
    ]


def _shortened(network: Network, columns: Sequence[Column]) -> dict[Column, None]:
    """The patterns without what is no longer wanted."""
    caps = [tuple(item.cap for item in knapsack.items) for knapsack in network.knapsacks]
    found: dict[Column, None] = {}
    for number, pattern in columns:
        own = tuple(map(min, pattern, caps[number]))
        if any(own):
            found[number, own] = None
    return found


def _grown(
    solved: _Solved,
    top: Column,
    wanted: Sequence[int],
    shares: dict[Column, float],
    by_region: dict[Key, list[Column]],
) -> Board | None:
    """A board cut by the pattern `top`, and further by the patterns that the linear solution uses most.

    A region for which none of these fits what is still wanted gets its most valuable pattern. None if `top` itself does
    not fit.
    """
    knapsacks = solved.network.knapsacks
    left, shares = list(wanted), dict(shares)
    used: list[Column] = []

    def is_wanted(column: Column) -> bool:
        return all(count <= left[i] for i, count in _sizes_of(knapsacks[column[0]].items, column[1]))

    def cut(column: Column) -> None:
        used.append(column)
        shares[column] = shares.get(column, 0.0) - 1.0
        items = knapsacks[column[0]].items
        for i, count in _sizes_of(items, column[1]):
            left[i] -= count
        for item, count in zip(items, column[1], strict=True):
            for key in item.yields * count if item.yields[0][0] != "size" else ():
                own = [one for one in by_region.get(key, ()) if shares[one] > _EPS and is_wanted(one)]
                best = max(own, key=lambda one: shares[one], default=None) or most_valuable(key)
                if best is not None:
                    cut(best)

    def most_valuable(key: Key) -> Column | None:
        if key not in solved.valued.best:
            return None
        number = solved.valued.best[key]
        knapsack = replace(knapsacks[number], items=_capped(knapsacks[number].items, left))
        found = best_patterns([knapsack], worth_of_items(knapsack, solved.valued.worth))
        return (number, found[0][1]) if found is not None and any(found[0][1]) else None

    if not is_wanted(top):
        return None
    cut(top)
    return tuple(sorted(used))
