"""Divides a bought board into parts: the lengths of given parts, and the parts that are worth most."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations
from math import gcd
from typing import Any

from woodshop.cutting.model.lumber_job import Lumber

MOST_PARTS = 24
"""Of a board, in a search. A board in more parts is not tried."""


@dataclass(frozen=True, slots=True, order=True)
class NeededPart:
    """A part that is wanted: at least `length` long at home, or the whole board (None), and how it is resawn.

    `way` is the number of one of the ways to resaw the stock, or -1.
    """

    length: int | None
    way: int = -1


@dataclass(frozen=True, slots=True)
class Division:
    """The parts of a board in their order: which of the needs each is for (-1: none) and its length as taken home.

    `cost` is that of the cuts, without the board.
    """

    parts: tuple[tuple[int, int], ...]
    cost: int


def shortest_of(lumber: Lumber, way: int) -> int:
    """The least length of a part that is resawn this way."""
    return max(1 if lumber.cuts is None else lumber.cuts.shortest_cut, lumber.resaw[way].shortest if way >= 0 else 0)


def takes_home_whole(lumber: Lumber, way: int = -1) -> bool:
    """Whether an undivided board can be taken home, and be resawn this way."""
    length, longest = lumber.stock.length, None if lumber.cuts is None else lumber.cuts.longest
    return (longest is None or length <= longest) and (way < 0 or length >= lumber.resaw[way].shortest)


def divide(lumber: Lumber, needs: Sequence[NeededPart], longest_rip: int | None = None) -> Division | None:
    """A division of one board that gives each need its part, with as few cuts as possible. None if there is none.

    A part that can be ripped as it is, with this `longest_rip`, stays so.
    """
    if len(needs) == 1:
        need, room = needs[0], lumber.stock.length - 2 * lumber.stock.end_trim
        is_long = longest_rip is not None and need.length is not None and need.length <= longest_rip < room
        if takes_home_whole(lumber, need.way) and (need.length or 0) <= room and not is_long:
            return Division(((0, lumber.stock.length),), 0)
    if lumber.cuts is None or any(need.length is None for need in needs):
        return None
    own, least = lumber.cuts, min(lumber.stock.end_trim, lumber.cuts.rough)
    used = sum(max((need.length or 0) + 2 * least, shortest_of(lumber, need.way)) + own.kerf for need in needs)
    if used > lumber.stock.length + own.kerf:
        return None
    # Waste between two parts leaves both ends of the board to parts, waste at an end takes its end trim.
    for waste in ("none", "inside", "end", "both ends"):
        cuts = len(needs) - 1 + _WASTE[waste]
        if cuts and (waste != "inside" or len(needs) > 1):
            found = _with_waste(lumber, needs, waste, longest_rip)
            if found is not None:
                return Division(found, own.cost * max(0, cuts - own.free_cuts))
    return None


_WASTE = {"none": 0, "inside": 1, "end": 1, "both ends": 2}


def _with_waste(
    lumber: Lumber, needs: Sequence[NeededPart], waste: str, longest_rip: int | None
) -> tuple[tuple[int, int], ...] | None:
    own, stock = lumber.cuts, lumber.stock
    assert own is not None
    most = stock.length if own.longest is None else own.longest
    count = len(needs)
    room = stock.length - (count - 1 + _WASTE[waste]) * own.kerf
    order = sorted(range(count), key=lambda n: (-(needs[n].length or 0), needs[n].way))
    tried: set[tuple[NeededPart, ...]] = set()
    for ends in permutations(order, min(count, 2)):
        key = tuple(needs[n] for n in ends)
        if key in tried:
            continue
        tried.add(key)
        row = [ends[0], *(n for n in order if n not in ends), *ends[1:]]
        lengths, limits = [], []
        for place, n in enumerate(row):
            left = stock.end_trim if place == 0 and waste != "both ends" else own.rough
            right = stock.end_trim if place == count - 1 and waste in ("none", "inside") else own.rough
            length = needs[n].length or 0
            lengths.append(max(length + left + right, shortest_of(lumber, needs[n].way)))
            keeps_rip = longest_rip is not None and length <= longest_rip
            limits.append(min(most, (longest_rip or 0) + left + right) if keeps_rip else most)
        spare = room - sum(lengths)
        if spare < _WASTE[waste] * own.shortest_cut:
            continue
        if any(length > limit for length, limit in zip(lengths, limits, strict=True)):
            continue
        parts = list(zip(row, lengths, strict=True))
        if waste == "none":
            for place in reversed(range(count)):
                more = min(spare, limits[place] - lengths[place])
                parts[place] = (row[place], lengths[place] + more)
                spare -= more
            if spare:
                continue
        elif waste == "inside":
            parts.insert(count - 1, (-1, spare))
        elif waste == "end":
            parts.append((-1, spare))
        else:
            parts = [(-1, own.shortest_cut), *parts, (-1, spare - own.shortest_cut)]
        return tuple(parts)
    return None


def best_division(
    lumber: Lumber, worths: Sequence[tuple[NeededPart, int]], paid: int, longest_rip: int | None = None
) -> tuple[int, tuple[NeededPart, ...]]:
    """The needs that are worth most from one board, less `paid` for each cut that is not free, and their value.

    `worths` holds the value of each need, less its resawing; only those above 0 are used. The value is exact if the end
    trims of a board are no longer than its rough ends, and it has at most MOST_PARTS parts.
    """
    stock, own = lumber.stock, lumber.cuts
    best: tuple[int, tuple[NeededPart, ...]] = (0, ())
    for need, worth in worths:
        if need.length is None and worth > best[0]:
            best = worth, (need,)
    parts = [(need, worth) for need, worth in worths if need.length is not None and worth > 0]
    if own is None or not parts:
        return best
    most = stock.length if own.longest is None else own.longest

    def loads(left: int, right: int) -> list[tuple[int, int, int]]:
        found = []
        for number, (need, worth) in enumerate(parts):
            length = max((need.length or 0) + left + right, shortest_of(lumber, need.way))
            if length <= most:
                found.append((length + own.kerf, worth, number))
        return found

    trim, rough = stock.end_trim, own.rough
    first, middle, last = loads(trim, rough), loads(rough, rough), loads(rough, trim)
    unit = gcd(*(size for size, _, _ in first + middle + last), own.kerf + stock.length) or 1
    top = (stock.length + own.kerf) // unit
    import numpy

    layer: Any = numpy.zeros(top + 1, dtype=numpy.int64)
    layers: list[tuple[Any, Any]] = []
    for count in range(1, MOST_PARTS + 1):
        # One more part, always used, in at most each length.
        grown = numpy.full(top + 1, -(2**60), dtype=numpy.int64)
        taken = numpy.full(top + 1, -1, dtype=numpy.int64)
        for size, worth, number in first if count == 1 else middle:
            size //= unit
            moved = layer[: top + 1 - size] + worth
            better = moved > grown[size:]
            grown[size:][better] = moved[better]
            taken[size:][better] = number
        enough = count * most + (count - 1) * own.kerf >= stock.length
        ways: list[tuple[int, int, tuple[int, int] | None]] = [(count, (stock.length - own.shortest_cut) // unit, None)]
        for size, worth, number in last if count > 1 else ():
            ways.append((count, (stock.length - own.shortest_cut) // unit - size // unit, (worth, number)))
            if enough:
                ways.append((count - 1, top - size // unit, (worth, number)))
        for cuts, room, end in ways:
            table = layer if end else grown
            if room < 0 or table[room] < 0:
                continue
            total = int(table[room]) + (end[0] if end else 0) - paid * max(0, cuts - own.free_cuts)
            if total > best[0]:
                numbers = [end[1]] if end else []
                trail = layers if end else [*layers, (grown, taken)]
                for (_, chosen), sizes in zip(reversed(trail), [middle] * (len(trail) - 1) + [first], strict=True):
                    number = int(chosen[room])
                    numbers.append(number)
                    room -= next(size for size, _, n in sizes if n == number) // unit
                needs = tuple(sorted(parts[number][0] for number in numbers))
                if divide(lumber, needs, longest_rip) is not None:
                    best = total, needs
        if grown[top] < 0:
            break
        layers.append((grown, taken))
        layer = grown
    return best
