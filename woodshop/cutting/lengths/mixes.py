"""Costs that a plan can have: the costs of mixes of stock with enough room for all lengths.

Few mixes have exactly the room that is needed, so the next possible cost is often well above a lower bound. The room of
a stock is measured by length, and also by the maximum worth of a layout of this stock at given prices of the lengths.
"""

from collections.abc import Sequence
from typing import Any

from woodshop.cutting.lengths.problem import Lengths

_MOST_CELLS = 300_000
_LARGEST = 2**60


def fullest(lengths: Lengths) -> tuple[int, ...]:
    """For each stock, the most room in it that the lengths can fill.

    The result is exact, in whole numbers. The counts wanted limit each length.
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
    """The costs of mixes worth at least `total`, from `least` to less than `below`, or None if there are too many.

    `worths` holds the most that one piece of each stock is worth. The result is exact.
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
    """An array: for each cost (a multiple of the step), the most that a mix is worth, negative if there is no mix."""
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
