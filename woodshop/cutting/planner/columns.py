"""From knapsacks to the whole programme: columns (one per pattern), rows (one per region, size and limited stock)."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import gcd

from woodshop.cutting.model.job import Job
from woodshop.cutting.planner.knapsack import Key, Pattern, maximal_patterns
from woodshop.cutting.planner.network import Network
from woodshop.cutting.planner.solver import Model, Relaxed

SCALE = 10**6
MOST_COLUMNS = 20_000

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
        if knapsack.axis == "shorten":
            continue
        patterns = maximal_patterns(knapsack, limit - len(columns))
        if patterns is None:
            return None
        columns += [(number, pattern) for pattern in patterns]
    return columns


Entry = tuple[tuple[int, int], ...]


def programme_of(
    job: Job,
    network: Network,
    columns: Sequence[Column],
    *,
    is_whole: bool,
    known: dict[Column, Entry] | None = None,
) -> Programme:
    """Rows: each region made at least as often as used, each size made often enough, limited stock not exceeded.

    `known` keeps the columns' entries from one programme of the same network to the next.
    """
    known = {} if known is None else known
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
    for column in columns:
        knapsack = network.knapsacks[column[0]]
        if column not in known:
            known[column] = _entry(network, row_of, column)
        costs.append(job.stock[int(knapsack.of[1])].cost if knapsack.of[0] == "stock" else 0)
        entries.append(known[column])
    return Programme(tuple(columns), Model(tuple(costs), tuple(entries), tuple(rows)), row_of, is_whole)


def _entry(network: Network, row_of: dict[Key, int], column: Column) -> Entry:
    """What a pattern makes (less than nothing) and uses, by row."""
    number, pattern = column
    knapsack = network.knapsacks[number]
    entry: dict[int, int] = {}
    if knapsack.of in row_of:
        entry[row_of[knapsack.of]] = 1 if knapsack.of[0] == "stock" else -1
    for item, count in zip(knapsack.items, pattern, strict=True):
        for key in item.yields if count else ():
            entry[row_of[key]] = entry.get(row_of[key], 0) + count
    return tuple(sorted(entry.items()))


def price_step(job: Job) -> int:
    """The common divisor of all prices: costs of plans are its multiples."""
    return gcd(*(stock.cost for stock in job.stock)) or 1


def round_up(value: int, step: int) -> int:
    """The least multiple of `step` that is not below `value`."""
    return -(-value // step) * step


def whole_prices(programme: Programme, relaxed: Relaxed, count: int) -> list[int]:
    """The dual price of each size, rounded down to 1/SCALE."""
    return [max(0, int(relaxed.duals[programme.row_of["size", i]] * SCALE)) for i in range(count)]


def with_shortage(model: Model, penalties: Sequence[int]) -> Model:
    """With a column per size that buys a missing blank dearly, so that there is always an answer."""
    missing = tuple(((i, 1),) for i in range(len(penalties)))
    return Model(model.costs + tuple(penalties), model.columns + missing, model.rows)
