"""Tables of the maximum value of a knapsack at each capacity, in whole numbers, for the checks of proofs."""

from collections.abc import Sequence
from itertools import pairwise
from math import gcd
from typing import Any

_LARGEST_TABLE = 40_000
_SMALL_TABLE = 32  # capacities; below this, a list is faster than an array
_LARGEST_WORTH = 2**62  # an array's integers can hold the sum of two smaller values

Load = tuple[int, int, int]
"""A kind of part in a knapsack: its size with kerf, its maximum count, and the value of one."""


class KnapsackTable:
    """The maximum value of a knapsack at each capacity.

    Sizes too fine for a table are rounded down, which can only increase the values.
    """

    def __init__(self, loads: Sequence[Load], room: int, start: "tuple[KnapsackTable, int] | None" = None) -> None:
        sizes = [size for size, _, _ in loads] + ([start[0].unit] if start else [])
        self.unit: int = max(gcd(*sizes), -(-room // _LARGEST_TABLE)) if sizes else max(1, room)
        self.is_exact: bool = (not sizes or self.unit == gcd(*sizes)) and (start is None or start[0].is_exact)
        top = room // self.unit
        loads = [(size // self.unit, count, worth) for size, count, worth in loads]
        most = sum((min(count, top // size) if size else count) * worth for size, count, worth in loads)
        if start is not None:
            most += max(int(start[0].values[-1]), int(start[0].values[0]))  # more capacity is never worth less
        self.values: Any
        if top < _SMALL_TABLE or most >= _LARGEST_WORTH:
            self.values = [0] * (top + 1)
            if start is not None:
                self.values = [start[0].at(min((n + 1) * self.unit - 1, start[1])) for n in range(top + 1)]
        else:
            import numpy

            self.values = numpy.zeros(top + 1, dtype=numpy.int64)
            if start is not None:
                first, limit = start
                rooms = numpy.minimum(numpy.arange(1, top + 2) * self.unit - 1, limit)
                places = numpy.minimum(len(first.values) - 1, numpy.maximum(rooms, 0) // first.unit)
                self.values = numpy.array(first.values, dtype=numpy.int64)[places]
        for size, count, worth in loads:
            self._add(size, count, worth)

    def _add(self, size: int, count: int, worth: int) -> None:
        is_list = isinstance(self.values, list)
        if size == 0:
            by = count * worth
            self.values = [value + by for value in self.values] if is_list else self.values + by
            return
        count, some = min(count, (len(self.values) - 1) // size), 1
        while count > 0:
            some = min(some, count)
            shift, gain = some * size, some * worth
            if is_list:
                moved = [value + gain for value in self.values[: max(0, len(self.values) - shift)]]
                self.values[shift:] = map(max, self.values[shift:], moved)
            else:
                import numpy

                numpy.maximum(self.values[shift:], self.values[:-shift] + gain, out=self.values[shift:])
            count, some = count - some, some * 2

    def at(self, room: int) -> int:
        """The maximum value at this capacity."""
        return int(self.values[min(len(self.values) - 1, max(0, room) // self.unit)])

    def steps(self, room: int) -> list[int]:
        """Every capacity up to `room` at which the value increases."""
        values = self.values if isinstance(self.values, list) else self.values.tolist()
        found = [(n + 1) * self.unit for n, (low, high) in enumerate(pairwise(values)) if high > low]
        return [step for step in found if step <= room]
