"""Finds the linear program of a job, its prices, the value of every region at these prices, and useful patterns."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import gcd
from typing import Any

from woodshop.cutting.model.job import Job
from woodshop.cutting.planner.good_patterns import good_patterns
from woodshop.cutting.planner.knapsack import (
    Key,
    Knapsack,
    Pattern,
    ValueTable,
    best_patterns,
    best_values,
    maximal_patterns,
)
from woodshop.cutting.planner.network import Network
from woodshop.cutting.planner.solver import Model, Relaxed, SolverFailedError, solve_relaxed

SCALE = 10**6
MOST_COLUMNS = 20_000

Column = tuple[int, Pattern]
"""The number of a knapsack in the network, and the count of each of its items."""


@dataclass(frozen=True, slots=True)
class Programme:
    """The model, with the meaning of its columns and rows. `is_whole` says whether its columns are complete."""

    columns: tuple[Column, ...]
    model: Model
    row_of: dict[Key, int]
    is_whole: bool


def enumerate_columns(network: Network, limit: int = MOST_COLUMNS) -> list[Column] | None:
    """Every maximal pattern of every knapsack, or None if there are more than `limit`."""
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
    job: Job, network: Network, columns: Sequence[Column], *, is_whole: bool, known: dict[Column, Entry] | None = None
) -> Programme:
    """The linear program of these columns. `known` keeps column entries for the next program of the same network.

    The rows mean: each region is made at least as often as it is used, each size is made often enough, and limited
    stock is not exceeded.
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
    """The matrix entries of a pattern, keyed by row: 1 for its stock, or -1 for the region it cuts, and its yields."""
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
    """The common divisor of all prices; the cost of every plan is a multiple of it."""
    return gcd(*(stock.cost for stock in job.stock)) or 1


def round_up(value: int, step: int) -> int:
    """The smallest multiple of `step` that is not below `value`."""
    return -(-value // step) * step


def whole_prices(programme: Programme, relaxed: Relaxed, count: int) -> list[int]:
    """The dual price of each size, rounded down to 1/SCALE."""
    return [max(0, int(relaxed.duals[programme.row_of["size", i]] * SCALE)) for i in range(count)]


def with_shortage(model: Model, penalties: Sequence[int]) -> Model:
    """The model with a column per size that buys a missing blank at a high price, so that a solution always exists."""
    missing = tuple(((i, 1),) for i in range(len(penalties)))
    return Model(model.costs + tuple(penalties), model.columns + missing, model.rows)


def with_totals(
    job: Job, network: Network, knapsacks: Sequence[int], model: Model, hint: list[int] | None
) -> tuple[Model, list[int] | None]:
    """The model with one more column for the boards of each stock kind, and one for all boards."""
    groups: dict[int, list[int]] = {-1: []}
    for column, number in enumerate(knapsacks):
        of = network.knapsacks[number].of
        if of[0] == "stock":
            groups.setdefault(int(of[1]), []).append(column)
            groups[-1].append(column)
    costs, rows = list(model.costs), list(model.rows)
    columns = [list(column) for column in model.columns]
    full = None if hint is None else list(hint)
    for kind, members in sorted(groups.items()):
        for column in members:
            columns[column].append((len(rows), -1))
            if kind >= 0:
                costs[column] = 0
        columns.append([(len(rows), 1)])
        costs.append(0 if kind < 0 else job.stock[kind].cost)
        rows.append((0, 0))
        if full is not None and hint is not None:
            full.append(sum(hint[column] for column in members))
    kinds = len(costs) - len(model.costs) - 1
    priorities = (0,) * len(model.costs) + (2,) + (1,) * kinds
    return Model(tuple(costs), tuple(tuple(column) for column in columns), tuple(rows), priorities), full


USED = 1e-6
_FEW_KNAPSACKS = 150
_FEW_ALIKE = 12
_FEW_PATTERNS = 200
_LARGEST = 2**62
_PATIENT, _MANY_SIZES = 100, 40  # rounds of a patient search
_MORE = 4  # factor on the number of rounds, used while the patterns found do not yet make every piece
_STILL, _LITTLE = 8, 3e-4  # stop if this many rounds improve the value by less than this fraction


@dataclass(frozen=True, slots=True)
class PricedColumns:
    """The columns found by pricing, with the final prices of the sizes."""

    columns: tuple[Column, ...]
    prices: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Valued:
    """The exact value of each region at some prices, the number of the knapsack that achieves it, and its tables."""

    worth: dict[Key, int]
    best: dict[Key, int]
    tables: dict[int, ValueTable]


@dataclass(frozen=True, slots=True)
class _Group:
    """Knapsacks that are valued at once: one table for all, or one array with a column for each.

    `patterns` are all maximal choices from any of the knapsacks of an array, if these are few. `shape` is a number that
    groups share if they give the same values for the same values of the items. `pieces` is the sum of all items' caps.
    """

    level: int
    is_array: bool
    numbers: tuple[int, ...]
    shape: int = 0
    pieces: int = 0
    patterns: Any = None


class Pricer:
    """Values a network's regions; knapsacks that share a table or an array are solved in groups."""

    def __init__(self, network: Network) -> None:
        self.network = network
        level: dict[Key, int] = {}
        levels: list[int] = [0] * len(network.knapsacks)
        for number in reversed(range(len(network.knapsacks))):
            knapsack = network.knapsacks[number]
            if knapsack.axis == "shorten":
                continue
            levels[number] = 1 + max(level.get(key, 0) for item in knapsack.items for key in item.yields)
            level[knapsack.of] = max(level.get(knapsack.of, 0), levels[number])
        same: dict[tuple[object, ...], list[int]] = {}
        for number, knapsack in enumerate(network.knapsacks):
            if knapsack.axis == "shorten":
                continue  # the patterns of the longer strip are worth at least as much
            same.setdefault((levels[number], knapsack.items, knapsack.narrow_capacity), []).append(number)
        shaped: dict[tuple[object, ...], list[int]] = {}
        groups: list[_Group] = []
        for key, numbers in same.items():
            if len(numbers) > 1:
                groups.append(_Group(levels[numbers[0]], False, tuple(numbers)))
                continue
            knapsack = network.knapsacks[numbers[0]]
            shape = tuple((item.size, item.narrow) for item in knapsack.items)
            shaped.setdefault((key[0], shape, knapsack.capacity, knapsack.narrow_capacity), []).append(numbers[0])
        for numbers in shaped.values():
            if len(numbers) >= _FEW_ALIKE:
                every = _patterns_of([network.knapsacks[number] for number in numbers])
                groups.append(_Group(levels[numbers[0]], True, tuple(numbers), patterns=every))
            else:
                groups += [_Group(levels[number], False, (number,)) for number in numbers]
        groups.sort(key=lambda group: (group.level, group.numbers))
        # Number the regions, so that a round does not look up keys.
        self._place: dict[Key, int] = {("size", i): i for i in range(len(network.sizes))}
        self._yields: list[tuple[tuple[int, ...], ...]] = []
        for knapsack in network.knapsacks:
            self._place.setdefault(knapsack.of, len(self._place))
            self._yields.append(
                tuple(
                    tuple(self._place.setdefault(key, len(self._place)) for key in item.yields)
                    for item in knapsack.items
                )
            )
        self._of = [self._place[knapsack.of] for knapsack in network.knapsacks]
        shapes: dict[tuple[object, ...], int] = {}
        self.groups: list[_Group] = []
        for group in groups:
            first = network.knapsacks[group.numbers[0]]
            room = tuple(network.knapsacks[number].capacity for number in group.numbers)
            parts = tuple((item.size, item.cap, item.narrow) for item in first.items)
            same_shape = shapes.setdefault((parts, room, first.narrow_capacity), len(shapes))
            pieces = max(sum(item.cap for item in network.knapsacks[number].items) for number in group.numbers)
            self.groups.append(replace(group, shape=same_shape, pieces=pieces))

    def values(self, prices: Sequence[int]) -> Valued | None:
        """The value of each region in exact integers, or None if a knapsack is too large."""
        worth = [*prices, *[0] * (len(self._place) - len(prices))]
        best: dict[int, int] = {}
        known: dict[tuple[object, ...], tuple[list[int], ValueTable | None] | None] = {}
        tables: dict[int, ValueTable] = {}
        for group in self.groups:
            if group.is_array:
                found = self._in_array(group, worth)
                if found is None:
                    return None
            else:
                own = self._own(group.numbers[0], worth)
                key = (group.shape, *own)
                if key not in known:
                    knapsacks = [self.network.knapsacks[number] for number in group.numbers]
                    known[key] = best_values(knapsacks, own)
                filled = known[key]
                if filled is None:
                    return None
                found, table = filled
                if table is not None:
                    tables |= dict.fromkeys(group.numbers, table)
            for number, value in zip(group.numbers, found, strict=True):
                of = self._of[number]
                if value > worth[of]:
                    worth[of], best[of] = value, number
        sizes = len(prices)
        return Valued(
            {key: worth[place] for key, place in self._place.items() if place < sizes or place in best},
            {key: best[place] for key, place in self._place.items() if place in best},
            tables,
        )

    def _own(self, number: int, worth: list[int]) -> list[int]:
        """The total value of each item's regions."""
        return [
            worth[places[0]] if len(places) == 1 else sum(worth[place] for place in places)
            for places in self._yields[number]
        ]

    def _in_array(self, group: _Group, worth: list[int]) -> list[int] | None:
        knapsacks = [self.network.knapsacks[number] for number in group.numbers]
        own = [self._own(number, worth) for number in group.numbers]
        most = max(map(max, own)) * group.pieces
        if most >= _LARGEST:
            return self._one_by_one(knapsacks, own)
        import numpy

        if group.patterns is not None:
            # Worths are not negative, so the best choice is a maximal one.
            gained = numpy.array(own, dtype=numpy.int64) @ group.patterns
            highest: list[int] = gained.max(axis=1).tolist()
            return highest
        first = knapsacks[0]
        unit = gcd(*(item.size for item in first.items)) or 1
        top = first.capacity // unit
        table: Any = numpy.zeros((top + 1, len(knapsacks)), dtype=numpy.int64)
        order = sorted(range(len(first.items)), key=lambda i: not first.items[i].narrow)
        thin = first.capacity if first.narrow_capacity is None else first.narrow_capacity
        flat = False
        for i in order:
            item, size = first.items[i], first.items[i].size // unit
            if not item.narrow and not flat:
                flat = True
                table[max(0, thin // unit) + 1 :] = table[min(top, max(0, thin // unit))]
            caps = numpy.array([knapsack.items[i].cap for knapsack in knapsacks])
            gains = numpy.array([row[i] for row in own], dtype=numpy.int64)
            for n in range(min(int(caps.max()), top // size if size else 0)):
                moved = table[: top + 1 - size] + numpy.where(caps > n, gains, 0)
                table[size:] = numpy.maximum(table[size:], moved)
        last = table[top] if flat else table[min(top, max(0, thin // unit))]
        return [int(value) for value in last]

    def _one_by_one(self, knapsacks: list[Knapsack], own: list[list[int]]) -> list[int] | None:
        values = []
        for knapsack, row in zip(knapsacks, own, strict=True):
            found = best_values([knapsack], row)
            if found is None:
                return None
            values += found[0]
        return values

    def add_tree(self, key: Key, valued: Valued, columns: dict[Column, None], seen: set[Key]) -> None:
        """Adds the best pattern of a region and of all regions cut from it; `seen` are regions added before."""
        if key not in valued.best or key in seen:
            return
        seen.add(key)
        number = valued.best[key]
        knapsack = self.network.knapsacks[number]
        found = best_patterns([knapsack], worth_of_items(knapsack, valued.worth), valued.tables.get(number))
        if found is None:
            return
        columns.setdefault((number, found[0][1]))
        for item, count in zip(knapsack.items, found[0][1], strict=True):
            for made in item.yields if count else ():
                self.add_tree(made, valued, columns, seen)


def _patterns_of(knapsacks: Sequence[Knapsack]) -> Any:
    """Every maximal choice from knapsacks that differ only in the yields of their items, as an array with one column
    for each, or None if these are many or the knapsacks differ in more."""
    first = knapsacks[0]
    caps = [item.cap for item in first.items]
    if any([item.cap for item in knapsack.items] != caps for knapsack in knapsacks):
        return None
    patterns = maximal_patterns(first, _FEW_PATTERNS)
    if not patterns:
        return None
    import numpy

    return numpy.array(patterns, dtype=numpy.int64).T


def worth_of_items(knapsack: Knapsack, worth: dict[Key, int]) -> list[int]:
    """The total value of each item's regions."""
    return [sum(worth.get(key, 0) for key in item.yields) for item in knapsack.items]


def _fair_penalties(job: Job, network: Network) -> tuple[int, ...]:
    """A penalty for each size: twice the cost of one piece from an unlimited board that yields nothing else.

    This is more than a piece is worth, so the first prices are close to the last, and few rounds are needed.
    """
    penalties = []
    for size in network.sizes:
        best: float = 1 + max(stock.cost for stock in job.stock)
        for stock, board in zip(job.stock, network.boards, strict=True):
            if stock.count is not None:
                continue  # one cheap piece from the offcuts does not make the next one cheap
            for length, width in {(size.length, size.width), *([(size.width, size.length)] if size.rotate else [])}:
                long = sum((extent + job.kerf.crosscut) // (length + job.kerf.crosscut) for _, extent in board.segments)
                count = long * ((board.width + job.kerf.rip) // (width + job.kerf.rip))
                if count:
                    best = min(best, stock.cost / count)
        penalties.append(int(2 * best) + 1)
    return tuple(penalties)


def single_columns(network: Network) -> list[Column]:
    """The patterns of each knapsack with as many as possible of one item, and nothing else."""
    columns: list[Column] = []
    for number, knapsack in enumerate(network.knapsacks):
        for i, item in enumerate(knapsack.items):
            thin = knapsack.capacity if not item.narrow else min(knapsack.capacity, knapsack.narrow_capacity or 0)
            count = min(item.cap, thin // item.size)
            if count:
                columns.append((number, tuple(count if k == i else 0 for k in range(len(knapsack.items)))))
    return columns


def price_columns(job: Job, network: Network, say: Callable[[str], None], rounds: int) -> PricedColumns:
    """Useful columns, found in a limited number of rounds.

    Raises SolverFailedError if the solver fails or the numbers have too many digits for it.
    """
    few = len(network.knapsacks) <= _FEW_KNAPSACKS
    columns: dict[Column, None] = dict.fromkeys(single_columns(network) if few else ())
    pricer = Pricer(network)
    sizes = len(network.sizes)
    dear = (1 + max(stock.cost for stock in job.stock),) * sizes
    penalties = dear if few else _fair_penalties(job, network)
    prices: list[int] = []
    values: list[float] = []
    entries: dict[Column, Entry] = {}
    for turn in range(rounds * _MORE):
        programme = programme_of(job, network, list(columns), is_whole=False, known=entries)
        relaxed = solve_relaxed(with_shortage(programme.model, penalties))
        if penalties != dear and turn > rounds // 2 and max(relaxed.columns[-sizes:]) > 1e-6:
            penalties = dear  # the first penalties were too low
            relaxed = solve_relaxed(with_shortage(programme.model, penalties))
        prices = whole_prices(programme, relaxed, len(network.sizes))
        found = pricer.values(prices)
        if found is None:
            raise SolverFailedError("the job's numbers are too fine for exact pricing")
        before = len(columns)
        seen: set[Key] = set()
        for j, stock in enumerate(job.stock):
            key: Key = ("stock", j)
            rent = -relaxed.duals[programme.row_of[key]] if key in programme.row_of else 0.0
            if found.worth.get(key, 0) > (stock.cost + rent) * SCALE + 10:
                pricer.add_tree(key, found, columns, seen)
        say(f"pricing round {turn + 1}: {relaxed.value:.2f}, {len(columns)} columns")
        values.append(relaxed.value)
        is_short = max(relaxed.columns[-sizes:]) > 1e-6
        if len(columns) == before and (penalties == dear or not is_short):
            return PricedColumns(tuple(columns), tuple(prices))
        if len(columns) == before:
            penalties = dear
        if turn >= rounds - 1 and not is_short:
            break
        # In a quick search with many sizes, the last columns are not worth the time.
        is_still = len(values) > _STILL and values[-1 - _STILL] - values[-1] < values[-1] * _LITTLE
        if is_still and not is_short and sizes > _MANY_SIZES and rounds < _PATIENT:
            break
    return PricedColumns(tuple(columns), tuple(prices))


@dataclass(frozen=True, slots=True)
class Fair:
    """Prices of the sizes at which no unlimited stock is worth more than its cost.

    It also holds the value of each region at these prices, the rent of each stock, and the lower cost bound, all in
    1/SCALE.
    """

    prices: tuple[int, ...]
    worth: dict[Key, int]
    rents: tuple[int, ...]
    total: int


def fair_prices(job: Job, network: Network, prices: Sequence[int]) -> Fair | None:
    """The given prices, lowered if necessary, or None if a knapsack is too large for an exact price."""
    own = list(prices)
    pricer = Pricer(network)
    for _ in range(4):
        found = pricer.values(own)
        if found is None:
            return None
        worth = found.worth
        over = [
            (stock.cost * SCALE, worth.get(("stock", j), 0))
            for j, stock in enumerate(job.stock)
            if stock.count is None and worth.get(("stock", j), 0) > stock.cost * SCALE
        ]
        if not over:
            break
        # The smallest ratio decides; ratios are compared as fractions.
        cost, value = over[0]
        for other_cost, other_value in over[1:]:
            if other_cost * value < cost * other_value:
                cost, value = other_cost, other_value
        own = [price * cost // value for price in own]
    else:
        return None
    rents = tuple(
        0 if stock.count is None else max(0, worth.get(("stock", j), 0) - stock.cost * SCALE)
        for j, stock in enumerate(job.stock)
    )
    total = sum(size.count * price for size, price in zip(network.sizes, own, strict=True))
    total -= sum((stock.count or 0) * rent for stock, rent in zip(job.stock, rents, strict=True))
    return Fair(tuple(own), worth, rents, total)


def columns_within(job: Job, network: Network, fair: Fair, room: int, limit: int) -> list[Column] | None:
    """Every maximal pattern that costs at most `room` (in 1/SCALE) more than it is worth. None if more than `limit`.

    If strips have many lengths, a pattern is listed for the shortest strip it fits, and longer ones are shortened.
    """
    need: dict[Key, int] = {}
    for j, stock in enumerate(job.stock):
        lost = stock.cost * SCALE + fair.rents[j] - fair.worth.get(("stock", j), 0)
        if lost <= room:
            need["stock", j] = lost
    columns: list[Column] = []
    knapsacks = network.knapsacks
    shorter = {knapsack.of: knapsack.items[0] for knapsack in knapsacks if knapsack.axis == "shorten"}
    order = sorted(range(len(knapsacks)), key=lambda n: _longest_first(knapsacks[n].of))
    for number in order:
        knapsack = knapsacks[number]
        if knapsack.of not in need:
            continue
        lost, whole = need[knapsack.of], fair.worth.get(knapsack.of, 0)
        worth = worth_of_items(knapsack, fair.worth)
        if knapsack.axis == "shorten":
            found: list[tuple[Pattern, int]] | None = [((1,), worth[0])] if worth[0] >= whole + lost - room else []
        else:
            above = shorter[knapsack.of].size if knapsack.of in shorter else 0
            left = limit - len(columns)
            found = good_patterns(
                knapsack, worth, whole + lost - room, limit=left, longest=job.rules.longest_rip, above=above
            )
        if found is None:
            return None
        for pattern, value in found:
            columns.append((number, pattern))
            for item, count in zip(knapsack.items, pattern, strict=True):
                for key in item.yields if count else ():
                    if key[0] != "size":
                        need[key] = min(need.get(key, room), lost + whole - value)
    return columns


def _longest_first(of: Key) -> tuple[int, int]:
    """A sort key. Strips yield only sizes and shorter strips, so strips come last, longer ones before shorter ones."""
    return (1, -int(of[1])) if of[0] == "strip" else (0, 0)


def section_lengths(network: Network, programme: Programme, relaxed: Relaxed) -> list[int]:
    """The section lengths and panel widths of the patterns: first those that the linear solution uses, then by cost."""
    ranked: dict[int, None] = {}
    for n in sorted(range(len(programme.columns)), key=lambda n: (relaxed.columns[n] < USED, relaxed.reduced[n], n)):
        number, pattern = programme.columns[n]
        knapsack = network.knapsacks[number]
        for item, count in zip(knapsack.items, pattern, strict=True):
            if count and (knapsack.of[0] == "sections" or item.yields[0][0] in ("part", "panel")):
                ranked.setdefault(item.extent)
    return list(ranked)
