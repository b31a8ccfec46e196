"""The cheapest whole packs that hold an amount, and what no choice of packs can cost less than."""

import math
from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import combinations

from woodshop.design.lumberyard.lumberyard_file import Pack

_FINEST = 100_000  # steps of the table that is worked through
_ONE = 1 << 40  # a way is one number: its cost times this, and how many packs it takes


def cheapest(packs: Sequence[Pack], amount: Fraction) -> list[tuple[Pack, int]]:
    """The cheapest whole packs that hold the amount; of equally cheap ones, the fewest packs.

    Exact where the packs have a common measure fine enough for the amount; otherwise each pack is taken to hold a
    little less than it does, so that it never falls short. Of a pack with `at_least` none are bought, or so many.
    """
    counts, _ = _chosen(tuple(packs), amount)
    return [(pack, count) for pack, count in zip(packs, counts, strict=True) if count]


def least_cost(packs: Sequence[Pack], amount: Fraction) -> int:
    """What no choice of these packs that holds the amount costs less than, in cents; the cost of the cheapest where
    that is exact."""
    return _chosen(tuple(packs), amount)[1]


def size(pack: Pack) -> Fraction:
    """How much a pack holds, in the unit that its goods are counted in: grams, pieces, litres, millilitres."""
    if pack.mass is not None and pack.goods == "sugar":
        return pack.mass.grams
    if pack.pieces is not None:
        return Fraction(pack.pieces)
    if pack.loose_litres is not None:
        return Fraction(pack.loose_litres)
    return Fraction(pack.millilitres or 0)


@lru_cache(maxsize=4096)
def _chosen(packs: tuple[Pack, ...], amount: Fraction) -> tuple[list[int], int]:
    """How many of each pack, and what no choice costs less than. Packs sold only by several are tried in every way:
    none of it, or its least count and any number more."""
    several = [n for n, pack in enumerate(packs) if pack.at_least > 1]
    best: tuple[int, list[int]] | None = None
    bound: int | None = None
    for chosen in (some for many in range(len(several) + 1) for some in combinations(several, many)):
        forced = [pack.at_least if n in chosen else 0 for n, pack in enumerate(packs)]
        spent = sum(packs[n].price.minor * forced[n] * _ONE + forced[n] for n in chosen)
        left = amount - sum((size(packs[n]) * forced[n] for n in chosen), Fraction(0))
        free = [n for n, pack in enumerate(packs) if pack.at_least == 1 or n in chosen]
        if left > 0 and not free:
            continue
        more, least = _covered([packs[n] for n in free], left) if left > 0 else ([0] * len(free), 0)
        counts = list(forced)
        for n, count in zip(free, more, strict=True):
            counts[n] += count
        way = spent + sum(packs[n].price.minor * count * _ONE + count for n, count in zip(free, more, strict=True))
        if best is None or way < best[0]:
            best = (way, counts)
        floor = spent // _ONE + least
        bound = floor if bound is None else min(bound, floor)
    if best is None or bound is None:
        raise ValueError("no packs to choose from")
    return best[1], bound


def _covered(packs: list[Pack], amount: Fraction) -> tuple[list[int], int]:
    """Any number of each pack: the cheapest counts found, and what none cost less than.

    Where the amount is large, most of it is the pack that gives most for the money: of the others there are fewer
    than that one holds steps, as so many always hold some whole number of its own, at no less cost.
    """
    measure = _common([size(pack) for pack in packs])
    holds = [int(size(pack) / measure) for pack in packs]
    needed = -int(-amount // measure)
    top = min(range(len(packs)), key=lambda n: (Fraction(packs[n].price.minor, holds[n]), -holds[n]))
    others = max((hold for n, hold in enumerate(holds) if n != top), default=0)
    first = max(0, -(-(needed - (holds[top] - 1) * others) // holds[top]))
    rest = needed - first * holds[top]
    prices = [pack.price.minor for pack in packs]
    if rest <= _FINEST:
        counts = _table(holds, prices, rest)
        counts[top] += first
        return counts, sum(price * count for price, count in zip(prices, counts, strict=True))
    step = amount / _FINEST
    low = [int(size(pack) // step) for pack in packs]
    kinds = [n for n, whole in enumerate(low) if whole]
    counts = [0] * len(packs)
    if kinds:
        found = _table([low[n] for n in kinds], [prices[n] for n in kinds], _FINEST)
        for n, count in zip(kinds, found, strict=True):
            counts[n] = count
    else:  # packs far smaller than the amount: the one that gives most for the money
        counts[top] = -int(-amount // size(packs[top]))
    return counts, math.ceil(Fraction(prices[top]) / size(packs[top]) * amount)


def _table(holds: list[int], prices: list[int], needed: int) -> list[int]:
    """The cheapest counts that hold `needed`, and of those the fewest, by a table over all smaller amounts."""
    ways = [price * _ONE + 1 for price in prices]
    pairs = list(zip(holds, ways, strict=True))
    best = [0]
    for left in range(1, max(0, needed) + 1):
        best.append(min([best[left - hold if left > hold else 0] + way for hold, way in pairs]))
    counts = [0] * len(holds)
    left = max(0, needed)
    while left > 0:
        n = next(n for n, (hold, way) in enumerate(pairs) if best[left] == best[max(0, left - hold)] + way)
        counts[n] += 1
        left -= holds[n]
    return counts


def _common(sizes: list[Fraction]) -> Fraction:
    """The greatest common measure of some amounts."""
    below = math.lcm(*(each.denominator for each in sizes))
    return Fraction(math.gcd(*(int(each * below) for each in sizes)), below)
