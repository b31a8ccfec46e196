"""Plans made without a solver: each piece of stock in turn is filled as well as possible with the lengths left."""

from collections.abc import Sequence

from woodshop.cutting.lengths.problem import Cut, Lengths

TRIES = 6
"""The number of filling orders to try."""


def filled(
    lengths: Lengths, wanted: Sequence[int], limits: Sequence[int | None], tries: int = TRIES
) -> list[tuple[Cut, int]] | None:
    """The cheapest of `tries` plans for the counts `wanted` and these limits of stock, or None if stock runs short."""
    least = lower_bound(lengths, wanted)
    best: tuple[int, list[tuple[Cut, int]]] | None = None
    for way in range(tries):
        made = _fill_all(lengths, list(wanted), list(limits), way)
        if made is None:
            continue
        cost = lengths.cost(made)
        if best is None or cost < best[0]:
            best = (cost, made)
        if cost <= least:
            break
    return None if best is None else best[1]


def lower_bound(lengths: Lengths, wanted: Sequence[int]) -> int:
    """A lower bound on the cost, from total length alone: the stock with the least cost per length is used first."""
    left = sum(size * count for size, count in zip(lengths.sizes, wanted, strict=True))
    order = sorted(range(len(lengths.rooms)), key=lambda j: (lengths.costs[j] / lengths.rooms[j], j))
    total = 0
    for j in order:
        room, cost, limit = lengths.rooms[j], lengths.costs[j], lengths.limits[j]
        if limit is None or limit * room >= left:
            total -= -left * cost // room
            break
        total += limit * cost
        left -= limit * room
    return -(-total // lengths.step) * lengths.step


def _fill_all(lengths: Lengths, need: list[int], left: list[int | None], way: int) -> list[tuple[Cut, int]] | None:
    cuts: dict[Cut, int] = {}
    while any(need):
        best: tuple[float, int, list[int]] | None = None
        for j, room in enumerate(lengths.rooms):
            if left[j] == 0:
                continue
            counts = _fill(lengths.sizes, need, room, way)
            used = sum(size * count for size, count in zip(lengths.sizes, counts, strict=True))
            if used and (best is None or lengths.costs[j] / used < best[0]):
                best = (lengths.costs[j] / used, j, counts)
        if best is None:
            return None
        _, j, counts = best
        times = min(n // count for n, count in zip(need, counts, strict=True) if count)
        limit = left[j]
        if limit is not None:
            times = min(times, limit)
            left[j] = limit - times
        need = [n - times * count for n, count in zip(need, counts, strict=True)]
        cut = (j, tuple(counts))
        cuts[cut] = cuts.get(cut, 0) + times
    return list(cuts.items())


def _fill(sizes: Sequence[int], need: Sequence[int], room: int, way: int) -> list[int]:
    """The counts of a cut: the longest remaining length that fits, and the other lengths that fill the room best.

    `way` decides among equally full choices: an odd number prefers many short lengths, an even number few long ones. A
    higher `way` first puts in more of the longest length.
    """
    counts = [0] * len(sizes)
    first = next((i for i, size in enumerate(sizes) if need[i] and size <= room), None)
    if first is None:
        return counts
    often = min(need[first], room // sizes[first], 1 + way // 2)
    counts[first] = often
    room -= often * sizes[first]
    order = [i for i, size in enumerate(sizes) if need[i] - counts[i] > 0 and size <= room]
    if way % 2:
        order.reverse()
    # Bit n of `reach` is set if the lengths so far can fill exactly n. The longest is last, so it is used first.
    mask, reach = (1 << (room + 1)) - 1, 1
    steps: list[tuple[int, int, int]] = []
    for i in reversed(order):
        more, chunk = min(need[i] - counts[i], room // sizes[i]), 1
        while more > 0:
            take = min(chunk, more)
            steps.append((i, take, reach))
            reach |= (reach << (take * sizes[i])) & mask
            more -= take
            chunk *= 2
        if reach >> room & 1:
            break
    full = reach.bit_length() - 1
    for i, take, before in reversed(steps):
        size = take * sizes[i]
        if size <= full and before >> (full - size) & 1:
            counts[i] += take
            full -= size
    return counts
