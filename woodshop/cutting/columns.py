"""From knapsacks to the whole programme: columns (one per pattern), rows (one per region, size and limited stock),
and exact bounds from its dual prices."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import gcd

from woodshop.cutting.job import Job
from woodshop.cutting.knapsack import Key, Pattern, best_patterns, maximal_patterns
from woodshop.cutting.network import Network
from woodshop.cutting.solver import Model, Relaxed, solve_relaxed

SCALE = 10**6
MOST_COLUMNS = 20_000
MOST_ROUNDS = 400
_FEW_KNAPSACKS = 150

Column = tuple[int, Pattern]
"""The number of a knapsack in the network, and how often each of its items is cut."""


@dataclass(frozen=True, slots=True)
class Programme:
    """The model with what its columns and rows mean; `is_whole` when its columns are all that matter."""

    columns: tuple[Column, ...]
    model: Model
    row_of: dict[Key, int]
    is_whole: bool


def enumerate_columns(network: Network, limit: int = MOST_COLUMNS) -> list[Column] | None:
    """Every maximal pattern of every knapsack, or None when there are more than `limit`."""
    columns: list[Column] = []
    for number, knapsack in enumerate(network.knapsacks):
        patterns = maximal_patterns(knapsack, limit - len(columns))
        if patterns is None:
            return None
        columns += [(number, pattern) for pattern in patterns]
    return columns


def programme_of(job: Job, network: Network, columns: Sequence[Column], *, is_whole: bool) -> Programme:
    """Rows: each region made at least as often as used, each size made often enough, limited stock not exceeded."""
    row_of: dict[Key, int] = {}
    rows: list[tuple[int | None, int | None]] = []
    for i, size in enumerate(network.sizes):
        row_of["size", i] = len(rows)
        rows.append((size.count, None))
    for j, stock in enumerate(job.stock):
        if stock.count is not None:
            row_of["stock", j] = len(rows)
            rows.append((None, stock.count))
    for knapsack in network.knapsacks:
        if knapsack.of[0] != "stock" and knapsack.of not in row_of:
            row_of[knapsack.of] = len(rows)
            rows.append((0, None))
    costs, entries = [], []
    for number, pattern in columns:
        knapsack = network.knapsacks[number]
        entry: dict[int, int] = {}
        is_stock = knapsack.of[0] == "stock"
        if knapsack.of in row_of:
            entry[row_of[knapsack.of]] = 1 if is_stock else -1
        for item, count in zip(knapsack.items, pattern, strict=True):
            for key in item.yields if count else ():
                entry[row_of[key]] = entry.get(row_of[key], 0) + count
        costs.append(job.stock[int(knapsack.of[1])].cost if is_stock else 0)
        entries.append(tuple(sorted(entry.items())))
    return Programme(tuple(columns), Model(tuple(costs), tuple(entries), tuple(rows)), row_of, is_whole)


def price_step(job: Job) -> int:
    """The common divisor of all prices: costs of plans are its multiples."""
    return gcd(*(stock.cost for stock in job.stock)) or 1


def round_up(value: int, step: int) -> int:
    """The least multiple of `step` that is not below `value`."""
    return -(-value // step) * step


def whole_prices(programme: Programme, relaxed: Relaxed, count: int) -> list[int]:
    """The dual price of each size, rounded down to 1/SCALE."""
    return [max(0, int(relaxed.duals[programme.row_of["size", i]] * SCALE)) for i in range(count)]


def region_values(
    network: Network, prices: Sequence[int], columns: Sequence[Column] | None
) -> tuple[dict[Key, int], dict[Key, tuple[int, Pattern]]] | None:
    """What each region is worth at these prices of the sizes, exactly, and the best pattern for it.

    Over the given columns (when they are all there are), else by the knapsacks themselves.
    """
    values: dict[Key, int] = {("size", i): price for i, price in enumerate(prices)}
    best: dict[Key, tuple[int, Pattern]] = {}
    if columns is not None:
        by_knapsack: list[list[Pattern]] = [[] for _ in network.knapsacks]
        for number, pattern in columns:
            by_knapsack[number].append(pattern)
    done: set[int] = set()
    known: dict[tuple[object, ...], list[tuple[int, Pattern]] | None] = {}
    found: list[tuple[int, Pattern]] | None
    alike: dict[tuple[object, ...], list[int]] = {}
    for number, knapsack in enumerate(network.knapsacks):
        alike.setdefault((knapsack.items, knapsack.narrow_capacity), []).append(number)
    for number in reversed(range(len(network.knapsacks))):
        if number in done:
            continue
        knapsack = network.knapsacks[number]
        worth = [sum(values.get(key, 0) for key in item.yields) for item in knapsack.items]
        group = [number]
        if columns is None:
            # Knapsacks that differ only in capacity yield the same regions: one table serves all of them.
            group = alike[knapsack.items, knapsack.narrow_capacity]
            shape = tuple((item.size, item.cap, item.narrow) for item in knapsack.items)
            room = tuple(network.knapsacks[n].capacity for n in group)
            same = (shape, room, knapsack.narrow_capacity, tuple(worth))
            if same not in known:
                known[same] = best_patterns([network.knapsacks[n] for n in group], worth)
            found = known[same]
            if found is None:
                return None
        else:
            found = [max(((_worth(p, worth), p) for p in by_knapsack[number]), default=(0, ()))]
        for n, (value, pattern) in zip(group, found, strict=True):
            done.add(n)
            of = network.knapsacks[n].of
            if value > values.get(of, 0):
                values[of] = value
                best[of] = (n, pattern)
    return values, best


def _worth(pattern: Pattern, worth: list[int]) -> int:
    return sum(count * value for count, value in zip(pattern, worth, strict=True))


def certified_bound(job: Job, network: Network, prices: Sequence[int], columns: Sequence[Column] | None) -> int | None:
    """What no plan can cost less than, in exact integers from the given prices of the sizes (in 1/SCALE).

    Every board's worth V must be at most its cost, plus a price mu for limited stock; unlimited stock worth more
    scales all prices down. Then sum(count * price) - sum(n * mu), rounded up to the price step.
    """
    prices = list(prices)
    for _ in range(4):
        found = region_values(network, prices, columns)
        if found is None:
            return None
        values = found[0]
        over = [
            (stock.cost * SCALE, values.get(("stock", j), 0))
            for j, stock in enumerate(job.stock)
            if stock.count is None and values.get(("stock", j), 0) > stock.cost * SCALE
        ]
        if not over:
            break
        # The tightest ratio decides; compared as fractions.
        cost, value = over[0]
        for other_cost, other_value in over[1:]:
            if other_cost * value < cost * other_value:
                cost, value = other_cost, other_value
        prices = [price * cost // value for price in prices]
    else:
        return None
    total = sum(size.count * price for size, price in zip(network.sizes, prices, strict=True))
    for j, stock in enumerate(job.stock):
        if stock.count is not None:
            total -= stock.count * max(0, values.get(("stock", j), 0) - stock.cost * SCALE)
    return max(0, round_up(-(-total // SCALE), price_step(job)))


def generate_columns(
    job: Job, network: Network, progress: Callable[[str], None] | None = None, rounds: int = MOST_ROUNDS
) -> tuple[list[Column], int, bool] | None:
    """Columns worth having, by pricing: (columns, best exact bound on the way, whether pricing ended).

    None when a knapsack is too large for an exact price.
    """
    columns: dict[Column, None] = {}
    few = len(network.knapsacks) <= _FEW_KNAPSACKS
    for number, knapsack in enumerate(network.knapsacks if few else ()):
        for i, item in enumerate(knapsack.items):
            thin = knapsack.capacity if not item.narrow else min(knapsack.capacity, knapsack.narrow_capacity or 0)
            count = min(item.cap, thin // item.size)
            if count:
                columns[number, tuple(count if k == i else 0 for k in range(len(knapsack.items)))] = None
    bound = 0
    penalty = 1 + max(stock.cost for stock in job.stock)
    for turn in range(rounds):
        programme = programme_of(job, network, list(columns), is_whole=False)
        relaxed = solve_relaxed(with_shortage(programme.model, (penalty,) * len(network.sizes)))
        prices = whole_prices(programme, relaxed, len(network.sizes))
        found = region_values(network, prices, None)
        if found is None:
            return None
        values, best = found
        before = len(columns)
        for j, stock in enumerate(job.stock):
            key: Key = ("stock", j)
            rent = -relaxed.duals[programme.row_of[key]] if key in programme.row_of else 0.0
            if values.get(key, 0) > (stock.cost + rent) * SCALE + 10:
                _add_tree(network, key, best, columns)
        if turn % 10 == 9 or turn == rounds - 1 or len(columns) == before:
            bound = max(bound, certified_bound(job, network, prices, None) or 0)
        if progress is not None:
            progress(f"pricing round {turn + 1}: {relaxed.value:.2f}, {len(columns)} columns")
        if len(columns) == before:
            return list(columns), bound, True
    return list(columns), bound, False


def with_shortage(model: Model, penalties: Sequence[int]) -> Model:
    """With a column per size that buys a missing blank dearly, so that there is always an answer."""
    missing = tuple(((i, 1),) for i in range(len(penalties)))
    return Model(model.costs + tuple(penalties), model.columns + missing, model.rows)


def _add_tree(network: Network, key: Key, best: dict[Key, tuple[int, Pattern]], columns: dict[Column, None]) -> None:
    if key not in best:
        return
    number, pattern = best[key]
    columns.setdefault((number, pattern))
    for item, count in zip(network.knapsacks[number].items, pattern, strict=True):
        for made in item.yields if count else ():
            _add_tree(network, made, best, columns)
