"""What every region is worth at given prices of the sizes, exactly; and the patterns worth having, found by pricing."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import gcd
from typing import Any

from woodshop.cutting.model.job import Job
from woodshop.cutting.planner.columns import SCALE, Column, Entry, programme_of, whole_prices, with_shortage
from woodshop.cutting.planner.knapsack import Key, Knapsack, best_patterns, best_values
from woodshop.cutting.planner.network import Network
from woodshop.cutting.planner.solver import SolverFailedError, solve_relaxed

_FEW_KNAPSACKS = 150
_FEW_ALIKE = 12
_LARGEST = 2**62
_PATIENT, _MANY_SIZES = 100, 40  # rounds of a patient search
_MORE = 4  # times as many rounds where the patterns found do not yet make every piece
_STILL, _LITTLE = 8, 3e-4  # so many rounds bring no more than such a part


@dataclass(frozen=True, slots=True)
class PricedColumns:
    """Columns found by pricing, with the prices of the sizes at the end."""

    columns: tuple[Column, ...]
    prices: tuple[int, ...]


class Pricer:
    """Values of a network's regions; knapsacks are looked at in groups that one table or one array serves."""

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
                continue  # the patterns of the longer strip are worth no less
            same.setdefault((levels[number], knapsack.items, knapsack.narrow_capacity), []).append(number)
        shaped: dict[tuple[object, ...], list[int]] = {}
        self.groups: list[tuple[int, bool, list[int]]] = []
        for key, numbers in same.items():
            if len(numbers) > 1:
                self.groups.append((levels[numbers[0]], False, numbers))
                continue
            knapsack = network.knapsacks[numbers[0]]
            shape = tuple((item.size, item.narrow) for item in knapsack.items)
            shaped.setdefault((key[0], shape, knapsack.capacity, knapsack.narrow_capacity), []).append(numbers[0])
        for numbers in shaped.values():
            if len(numbers) >= _FEW_ALIKE:
                self.groups.append((levels[numbers[0]], True, numbers))
            else:
                self.groups += [(levels[number], False, [number]) for number in numbers]
        self.groups.sort(key=lambda group: (group[0], group[2]))
        # Regions by number, so that a round looks up no keys.
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
        self._shapes: list[int] = []
        for _, _, numbers in self.groups:
            first = network.knapsacks[numbers[0]]
            room = tuple(network.knapsacks[number].capacity for number in numbers)
            parts = tuple((item.size, item.cap, item.narrow) for item in first.items)
            self._shapes.append(shapes.setdefault((parts, room, first.narrow_capacity), len(shapes)))

    def values(self, prices: Sequence[int]) -> tuple[dict[Key, int], dict[Key, int]] | None:
        """What each region is worth in exact integers, and the number of the knapsack that makes it so.

        None when a knapsack is too large.
        """
        worth = [*prices, *[0] * (len(self._place) - len(prices))]
        best: dict[int, int] = {}
        known: dict[tuple[object, ...], list[int] | None] = {}
        for shape, (_, is_shaped, numbers) in zip(self._shapes, self.groups, strict=True):
            found = self._shaped(numbers, worth) if is_shaped else self._same(numbers, worth, shape, known)
            if found is None:
                return None
            for number, value in zip(numbers, found, strict=True):
                of = self._of[number]
                if value > worth[of]:
                    worth[of], best[of] = value, number
        sizes = len(prices)
        return (
            {key: worth[place] for key, place in self._place.items() if place < sizes or place in best},
            {key: best[place] for key, place in self._place.items() if place in best},
        )

    def _own(self, number: int, worth: list[int]) -> list[int]:
        """What each item's regions are worth together."""
        return [
            worth[places[0]] if len(places) == 1 else sum(worth[place] for place in places)
            for places in self._yields[number]
        ]

    def _same(
        self, numbers: list[int], worth: list[int], shape: int, known: dict[tuple[object, ...], list[int] | None]
    ) -> list[int] | None:
        own = self._own(numbers[0], worth)
        key = (shape, *own)
        if key not in known:
            known[key] = best_values([self.network.knapsacks[number] for number in numbers], own)
        return known[key]

    def _shaped(self, numbers: list[int], worth: list[int]) -> list[int] | None:
        knapsacks = [self.network.knapsacks[number] for number in numbers]
        own = [self._own(number, worth) for number in numbers]
        most = max(
            sum(v * item.cap for v, item in zip(row, k.items, strict=True))
            for row, k in zip(own, knapsacks, strict=True)
        )
        if most >= _LARGEST:
            return self._one_by_one(knapsacks, own)
        import numpy

        first = knapsacks[0]
        unit = gcd(*(item.size for item in first.items)) or 1
        top = first.capacity // unit
        table: Any = numpy.zeros((top + 1, len(numbers)), dtype=numpy.int64)
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
            values += found
        return values

    def add_tree(
        self, key: Key, worth: dict[Key, int], best: dict[Key, int], columns: dict[Column, None], seen: set[Key]
    ) -> None:
        """The best pattern of a region, and of all that it is cut into; `seen` are regions added before."""
        if key not in best or key in seen:
            return
        seen.add(key)
        number = best[key]
        knapsack = self.network.knapsacks[number]
        found = best_patterns([knapsack], worth_of_items(knapsack, worth))
        if found is None:
            return
        columns.setdefault((number, found[0][1]))
        for item, count in zip(knapsack.items, found[0][1], strict=True):
            for made in item.yields if count else ():
                self.add_tree(made, worth, best, columns, seen)


def worth_of_items(knapsack: Knapsack, worth: dict[Key, int]) -> list[int]:
    """What each item's regions are worth together."""
    return [sum(worth.get(key, 0) for key in item.yields) for item in knapsack.items]


def _fair_penalties(job: Job, network: Network) -> tuple[int, ...]:
    """For each size twice what one costs where a board, to be had at will, yields nothing else: more than it is worth.

    The first prices are then near the last, and few rounds go to finding out what a board holds at all.
    """
    penalties = []
    for size in network.sizes:
        best: float = 1 + max(stock.cost for stock in job.stock)
        for stock, board in zip(job.stock, network.boards, strict=True):
            if stock.count is not None:
                continue  # a cheap piece from the rack says nothing of the next
            for length, width in {(size.length, size.width), *([(size.width, size.length)] if size.rotate else [])}:
                long = sum((extent + job.kerf.crosscut) // (length + job.kerf.crosscut) for _, extent in board.segments)
                count = long * ((board.width + job.kerf.rip) // (width + job.kerf.rip))
                if count:
                    best = min(best, stock.cost / count)
        penalties.append(int(2 * best) + 1)
    return tuple(penalties)


def price_columns(job: Job, network: Network, say: Callable[[str], None], rounds: int) -> PricedColumns:
    """Columns worth having, in at most so many rounds. Raises SolverFailedError, also when numbers are too fine."""
    columns: dict[Column, None] = {}
    few = len(network.knapsacks) <= _FEW_KNAPSACKS
    for number, knapsack in enumerate(network.knapsacks if few else ()):
        for i, item in enumerate(knapsack.items):
            thin = knapsack.capacity if not item.narrow else min(knapsack.capacity, knapsack.narrow_capacity or 0)
            count = min(item.cap, thin // item.size)
            if count:
                columns[number, tuple(count if k == i else 0 for k in range(len(knapsack.items)))] = None
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
            penalties = dear  # too low after all
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
            if found[0].get(key, 0) > (stock.cost + rent) * SCALE + 10:
                pricer.add_tree(key, found[0], found[1], columns, seen)
        say(f"pricing round {turn + 1}: {relaxed.value:.2f}, {len(columns)} columns")
        values.append(relaxed.value)
        is_short = max(relaxed.columns[-sizes:]) > 1e-6
        if len(columns) == before and (penalties == dear or not is_short):
            return PricedColumns(tuple(columns), tuple(prices))
        if len(columns) == before:
            penalties = dear
        if turn >= rounds - 1 and not is_short:
            break
        # In a quick search of many sizes the last columns are not worth their wait.
        is_still = len(values) > _STILL and values[-1 - _STILL] - values[-1] < values[-1] * _LITTLE
        if is_still and not is_short and sizes > _MANY_SIZES and rounds < _PATIENT:
            break
    return PricedColumns(tuple(columns), tuple(prices))
