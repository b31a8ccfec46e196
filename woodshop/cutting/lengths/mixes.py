"""Costs that a plan can have: those of some mix of stock with room for all lengths.

Few mixes have just the room that is wanted, so the next cost after a lower bound is often well above it. Room is
measured by length, and by worth at prices of the lengths (every layout of a stock is worth at most so much).
"""

from collections.abc import Sequence
from typing import Any

from woodshop.cutting.lengths.problem import Lengths

_MOST_CELLS = 300_000
_LARGEST = 2**60


def fullest(lengths: Lengths) -> tuple[int, ...]:
    """For each stock, the most of its room that lengths can take up.

    The counts wanted limit each length, so this is exact, in whole numbers.
    """
    most = max(lengths.rooms)
    mask, reach = (1 << (most + 1)) - 1, 1
    for size, count in zip(lengths.sizes, lengths.wanted, strict=True):
        left, chunk = min(count, most // size), 1
        while left > 0:
            take = min(chunk, left)
            reach |= (reach << (take * size)) & mask
            left -= take
            chunk *= 2
    return tuple((reach & ((1 << (room + 1)) - 1)).bit_length() - 1 for room in lengths.rooms)


def possible_costs(lengths: Lengths, least: int, below: int, worths: Sequence[int], total: int) -> list[int] | None:
    """The costs from `least` to less than `below` of mixes worth at least `total`, or None if there are too many.

    `worths` holds the most that one piece of each stock is worth. Exact.
    """
    import numpy

    step = lengths.step
    table = _best_worths(lengths, below - 1, worths)
    if table is None:
        return None
    first = -(-least // step)
    return [int(place + first) * step for place in numpy.nonzero(table[first:] >= total)[0]]


def most_worth(lengths: Lengths, target: int, worths: Sequence[int]) -> int | None:
    """The most that a mix of stock that costs at most `target` is worth, or None if there are too many mixes.

    `worths` holds the most that one piece of each stock is worth.
    """
    table = _best_worths(lengths, target, worths)
    return None if table is None else int(table.max())


def _best_worths(lengths: Lengths, most: int, worths: Sequence[int]) -> Any:
    """An array of the most that a mix of each cost (a multiple of the step) is worth, negative if there is none."""
    import numpy

    top = most // lengths.step
    if top + 1 > _MOST_CELLS or (top + 1) * max(worths) >= _LARGEST:
        return None
    table = numpy.full(top + 1, -_LARGEST, dtype=numpy.int64)
    table[0] = 0
    for cost, limit, worth in zip(lengths.costs, lengths.limits, worths, strict=True):
        by = cost // lengths.step
        if by == 0:
            if limit is None:
                return None
            table += limit * worth
            continue
        left, chunk = top // by if limit is None else min(limit, top // by), 1
        while left > 0:
            take = min(chunk, left)
            moved = table[: top + 1 - take * by] + take * worth
            numpy.maximum(table[take * by :], moved, out=table[take * by :])
            left -= take
            chunk *= 2
    return table
