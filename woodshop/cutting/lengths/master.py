"""The linear program over cuts, its prices, and the most valuable cuts at given prices (column generation).

Prices are floating point here. They steer the search, and their bounds decide what the search leaves out. The checker
proves the claims of a plan from whole prices.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from woodshop.cutting.lengths.problem import Counts, Cut, Lengths
from woodshop.cutting.planner.pricing import SCALE
from woodshop.cutting.planner.solver import Resident

EPS = 1e-6
_CENTRAL = 30
"""The most rounds of pricing with central prices."""
_MOST_NEW = 40
"""The most cuts added in one round of pricing."""


@dataclass(frozen=True, slots=True)
class Relaxation:
    """The linear solution for the counts that are still wanted.

    `value` is its cost, and `bound` is a lower bound on the cost of any plan for these counts. `shares` is an array
    with the value of each column. `prices` and `rents` give the best bound. If `is_short` is true, stock runs out.
    """

    value: float
    bound: float
    shares: Any
    prices: Any
    rents: Any
    is_short: bool


class CutPricer:
    """Finds the most valuable cuts by dynamic programming over the room used."""

    def __init__(self, lengths: Lengths) -> None:
        import numpy

        self.lengths = lengths
        self.top = max(lengths.rooms)
        most = sum(
            max(1, min(n, self.top // s)).bit_length() for n, s in zip(lengths.wanted, lengths.sizes, strict=True)
        )
        self._better: Any = numpy.zeros((most, self.top + 1), dtype=bool)
        self._table: Any = numpy.zeros(self.top + 1)
        self._room: Any = numpy.zeros(self.top + 1)

    def cuts(
        self, prices: Sequence[float], most: Sequence[int], least: Sequence[float]
    ) -> tuple[list[float], list[Cut]]:
        """The highest value of a cut of each stock at these prices, and cuts worth more than `least` of their stock.

        `most` is the maximum count of each length. For each length, the cuts include the best one in which it is the
        shortest.
        """
        import numpy

        sizes, rooms = self.lengths.sizes, self.lengths.rooms
        table, room, better = self._table, self._room, self._better
        table[:] = 0.0
        steps: list[tuple[int, int]] = []
        ends: list[tuple[float, int, int, int, int]] = []
        for i, size in enumerate(sizes):
            price = prices[i]
            count = min(most[i], self.top // size)
            if count < 1 or price <= EPS:
                continue
            before = len(steps)
            for j, whole in enumerate(rooms):
                for n in range(1, min(count, whole // size) + 1):
                    value = float(table[whole - n * size]) + n * price
                    if value > least[j] + EPS:
                        ends.append((least[j] - value, j, i, n, before))
            chunk = 1
            while count > 0:
                take = min(chunk, count)
                shift = take * size
                number = len(steps)
                moved, own = room[shift:], table[shift:]
                numpy.add(table[:-shift], take * price, out=moved)
                numpy.greater(moved, own, out=better[number, shift:])
                better[number, :shift] = False
                numpy.maximum(moved, own, out=own)
                steps.append((i, take))
                count -= take
                chunk *= 2
        values = [float(table[whole]) for whole in rooms]
        ends.sort()
        found: dict[Cut, None] = {}
        for _, j, i, n, before in ends[: 4 * _MOST_NEW]:
            counts = [0] * len(sizes)
            counts[i] = n
            at = rooms[j] - n * sizes[i]
            for number in range(before - 1, -1, -1):
                if better[number, at]:
                    k, take = steps[number]
                    counts[k] += take
                    at -= take * sizes[k]
            found[j, self.full(counts, at, most)] = None
            if len(found) >= _MOST_NEW:
                break
        return values, list(found)

    def full(self, counts: list[int], left: int, most: Sequence[int]) -> Counts:
        """The counts, plus the longest lengths that fit in the room left, up to `most` of each."""
        for i, size in enumerate(self.lengths.sizes):
            if size <= left and most[i] > counts[i]:
                more = min(most[i] - counts[i], left // size)
                counts[i] += more
                left -= more * size
        return tuple(counts)


class Master:
    """The linear program of the cuts known so far, solved again for other counts by column generation."""

    def __init__(self, lengths: Lengths) -> None:
        """Raises SolverFailedError if there is no solver."""
        import numpy

        self.lengths = lengths
        self.pricer = CutPricer(lengths)
        self.limited = [j for j, limit in enumerate(lengths.limits) if limit is not None]
        self.dear = float(1 + 2 * max(lengths.costs))
        rows = len(lengths.sizes) + len(self.limited)
        self.resident = Resident(rows, self.dear, at_least=True)
        self.cuts: list[Cut] = []
        self.number: dict[Cut, int] = {}
        self.table: Any = numpy.zeros((0, len(lengths.sizes)), dtype=numpy.int64)
        self.costs: Any = numpy.zeros(0)
        self.rounds = 0

    def add(self, cuts: Sequence[Cut]) -> int:
        """Adds the cuts that are new, and returns their number."""
        import numpy

        new = [cut for cut in dict.fromkeys(cuts) if cut not in self.number]
        if not new:
            return 0
        for cut in new:
            self.number[cut] = len(self.cuts)
            self.cuts.append(cut)
        rows = numpy.array([counts for _, counts in new], dtype=numpy.int64)
        self.table = numpy.concatenate([self.table, rows])
        self.costs = numpy.concatenate([self.costs, [float(self.lengths.costs[j]) for j, _ in new]])
        used = numpy.array([[-int(j == k) for k in self.limited] for j, _ in new], dtype=numpy.int64)
        self.resident.add(numpy.concatenate([rows, used.reshape(len(new), len(self.limited))], axis=1))
        return len(new)

    def solve(
        self,
        wanted: Sequence[int],
        limits: Sequence[int | None],
        enough: float,
        rounds: int,
        *,
        is_exact: bool = False,
        loss: float = 0.0,
    ) -> Relaxation:
        """The linear solution for the counts `wanted` and these limits of stock.

        Pricing stops if the bound is above `enough`, or after `rounds` rounds. Unless `is_exact`, it also stops if the
        value and the bound minus `loss` round up to the same cost. Raises SolverFailedError.
        """
        lengths, step = self.lengths, self.lengths.step
        is_open, sums = self._open(wanted), self._sums(wanted, limits)
        bound, best_prices, best_rents = 0.0, None, None
        while True:
            self.rounds += 1
            rounds -= 1
            value, short, shares, duals = self.resident.solve(sums, self.costs, is_open)
            prices, rents = self._prices(duals)
            # Prices between the last ones and the best ones so far change less from round to round.
            ways = (prices,) if best_prices is None else (0.6 * prices + 0.4 * best_prices, prices)
            added = 0
            for at in ways:
                least = [cost + rent for cost, rent in zip(lengths.costs, rents, strict=True)]
                values, cuts = self.pricer.cuts(at.tolist(), wanted, least)
                low, scaled, own_rents = self._bound(at, values, wanted, limits)
                if low > bound or best_prices is None:
                    bound, best_prices, best_rents = low, scaled, own_rents
                added = self.add(cuts)
                if added:
                    is_open = self._open(wanted)
                    break
            is_short = short > EPS
            is_close = not is_exact and not is_short and rounded_up(bound - loss, step) >= rounded_up(value, step)
            if not added or rounds <= 0 or bound > enough or is_close:
                return Relaxation(value, bound, shares, best_prices, best_rents, is_short)

    def central(self, wanted: Sequence[int], limits: Sequence[int | None], rounds: int) -> Relaxation:
        """The linear solution for the counts `wanted`, at prices in the middle of all best prices, in up to `rounds`.

        Raises SolverFailedError.
        """
        best = self.solve(wanted, limits, float("inf"), rounds, is_exact=True)
        for _ in range(_CENTRAL):
            prices, rents = self._prices(self.resident.central_duals())
            least = [cost + rent for cost, rent in zip(self.lengths.costs, rents, strict=True)]
            values, cuts = self.pricer.cuts(prices.tolist(), wanted, least)
            low, scaled, own_rents = self._bound(prices, values, wanted, limits)
            if low > best.bound - 2e-6 * max(1.0, best.bound):
                best = Relaxation(best.value, low, best.shares, scaled, own_rents, best.is_short)
            if not self.add(cuts):
                break
            self.resident.solve(self._sums(wanted, limits), self.costs, self._open(wanted))
        return best

    def within(self, relaxed: Relaxation, target: int) -> list[Cut]:
        """The cuts found so far that a plan of at most the target cost can use, least loss first."""
        import numpy

        lost = self.costs - self.table @ relaxed.prices
        lost += numpy.array([relaxed.rents[j] for j, _ in self.cuts])
        room = target - relaxed.bound + 1e-6 * max(1.0, relaxed.bound)
        return [self.cuts[n] for n in numpy.argsort(lost, kind="stable") if lost[n] <= room]

    def worths(self, relaxed: Relaxation) -> tuple[int, ...]:
        """The maximum worth of one piece of each stock at the prices, in 1/SCALE, rounded up."""
        never = [float("inf")] * len(self.lengths.rooms)
        values, _ = self.pricer.cuts(relaxed.prices.tolist(), self.lengths.wanted, never)
        return tuple(int(value * SCALE) + 2 for value in values)

    def _open(self, wanted: Sequence[int]) -> Any:
        """Whether each cut is usable: it contains no more of any length than is wanted."""
        import numpy

        return (self.table <= numpy.array(wanted)).all(axis=1)

    def _sums(self, wanted: Sequence[int], limits: Sequence[int | None]) -> list[int]:
        return [*wanted, *(-(limits[j] or 0) for j in self.limited)]

    def _prices(self, duals: Any) -> tuple[Any, list[float]]:
        import numpy

        count = len(self.lengths.sizes)
        rents = [0.0] * len(self.lengths.rooms)
        for j, dual in zip(self.limited, duals[count:], strict=True):
            rents[j] = max(0.0, float(dual))
        return numpy.maximum(duals[:count], 0.0), rents

    def _bound(
        self, prices: Any, values: Sequence[float], wanted: Sequence[int], limits: Sequence[int | None]
    ) -> tuple[float, Any, list[float]]:
        """The lower bound from these prices, the prices scaled to be valid, and the rents."""
        import numpy

        costs = self.lengths.costs
        scale = 1.0
        for value, cost, limit in zip(values, costs, self.lengths.limits, strict=True):
            if limit is None and value * scale > cost:
                scale = cost / value
        rents = [
            0.0 if limit is None else max(0.0, value * scale - cost)
            for value, cost, limit in zip(values, costs, self.lengths.limits, strict=True)
        ]
        total = scale * float(prices @ numpy.array(wanted))
        total -= sum((limit or 0) * rent for limit, rent in zip(limits, rents, strict=True))
        return total, prices * scale, rents


def rounded_up(value: float, step: int) -> int:
    """The value rounded up to a multiple of `step`, with a small tolerance for floating point."""
    return int(-(-(value - 1e-5 - 1e-8 * abs(value)) // step)) * step
