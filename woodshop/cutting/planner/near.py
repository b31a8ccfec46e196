"""Every pattern that a cheap enough plan could use: those whose loss, at fair prices, is within a given room.

At prices that no stock is worth more than, a plan costs the certified sum plus the losses of all its patterns: a board
worth less than its cost, a region cut to less than it is worth. So a plan that costs at most `room` more than
the certified sum has no pattern that loses more. A pattern's loss counts what must have been lost before there was a
region for it. All in exact integers.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import gcd

from woodshop.cutting.model.job import Job
from woodshop.cutting.planner.columns import SCALE, Column
from woodshop.cutting.planner.knapsack import Key, Knapsack, Pattern, empty_table, with_item
from woodshop.cutting.planner.network import Network
from woodshop.cutting.planner.pricing import Pricer, worth_of_items

_MOST_CELLS = 4_000_000


@dataclass(frozen=True, slots=True)
class Fair:
    """Prices of the sizes that no unlimited stock is worth more than, what each region is worth at them, the rent of
    each stock, and the sum that no plan costs less than; all in 1/SCALE."""

    prices: tuple[int, ...]
    worth: dict[Key, int]
    rents: tuple[int, ...]
    total: int


def fair_prices(job: Job, network: Network, prices: Sequence[int]) -> Fair | None:
    """The given prices, lowered as need be; None when a knapsack is too large for an exact price."""
    own = list(prices)
    pricer = Pricer(network)
    for _ in range(4):
        found = pricer.values(own)
        if found is None:
            return None
        worth = found[0]
        over = [
            (stock.cost * SCALE, worth.get(("stock", j), 0))
            for j, stock in enumerate(job.stock)
            if stock.count is None and worth.get(("stock", j), 0) > stock.cost * SCALE
        ]
        if not over:
            break
        # The tightest ratio decides; compared as fractions.
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


def near_columns(job: Job, network: Network, fair: Fair, room: int, limit: int) -> list[Column] | None:
    """Every maximal pattern that loses at most `room` (in 1/SCALE), or None when there are more than `limit`.

    Where strips come in many lengths a pattern is listed for the shortest that holds it, and longer ones are shortened.
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
    """Strips yield nothing but sizes and shorter strips: they come last, and the longer before the shorter."""
    return (1, -int(of[1])) if of[0] == "strip" else (0, 0)


def good_patterns(
    knapsack: Knapsack, worth: Sequence[int], least: int, *, limit: int, longest: int | None = None, above: int = 0
) -> list[tuple[Pattern, int]] | None:
    """Every choice worth at least `least` that takes more than `above`, to which nothing can be added, and of which no
    section (up to `longest`) can be longer or one with another; with its worth. None when there are too many."""
    items = knapsack.items
    order = sorted((i for i, item in enumerate(items) if item.cap > 0), key=lambda i: (-items[i].size, i))
    budget = knapsack.capacity if knapsack.narrow_capacity is None else knapsack.narrow_capacity
    # Per item the most that it and those after it can be worth in some room; None where tables would grow too large.
    tables = _suffix_tables(knapsack, worth, order)
    if tables is None:
        return None
    unit, rows = tables
    found: list[tuple[Pattern, int]] = []
    counts = [0] * len(items)
    used: list[int] = []
    walked = 0
    group = _groups(knapsack)
    longer = _longer(knapsack, group, longest)
    kerf = min((item.size - item.extent for item in items), default=0)

    def is_apart(i: int) -> bool:
        """Whether one more of an item could not as well be cut in one with another of its group."""
        for k in used if i in group else ():
            total = items[i].extent + items[k].extent + kerf
            if group.get(k) == group[i] and (longest is None or total <= longest or group[i][0] == "strip"):
                return False
        return True

    def is_full(room: int, thin: int) -> bool:
        for i in used:
            if i in longer and items[longer[i]].size - items[i].size <= room:
                return False
        for i in reversed(order):
            item = items[i]
            if item.size > room:
                break
            if counts[i] < item.cap and (not item.narrow or item.size <= thin) and is_apart(i):
                return False
        return True

    def walk(place: int, room: int, thin: int, value: int) -> bool:
        """Choose among the items from `place` on; False when there are too many."""
        nonlocal walked
        walked += 1
        if value >= least and knapsack.capacity - room > above and is_full(room, thin):
            found.append((tuple(counts), value))
        if walked > 60 * limit + 1000 or len(found) > limit:
            return False
        for at in range(place, len(order)):
            if value + rows[at][room // unit] < least:
                break
            i = order[at]
            item, gain, after = items[i], worth[i], rows[at + 1]
            most = min(item.cap, (min(room, thin) if item.narrow else room) // item.size)
            if most < 1 or value + gain + rows[at][(room - item.size) // unit] < least or not is_apart(i):
                continue
            used.append(i)
            for count in range(1, most + 1):
                if count > 1 and not is_apart(i):
                    break
                left = room - count * item.size
                if value + count * gain + after[left // unit] < least:
                    continue
                counts[i] = count
                if not walk(at + 1, left, thin - count * item.size if item.narrow else thin, value + count * gain):
                    return False
            counts[i] = 0
            used.pop()
        return True

    return found if walk(0, knapsack.capacity, budget, 0) else None


def _groups(knapsack: Knapsack) -> dict[int, Key]:
    """Per item of a stretch what it is cut to but for its length: sections ripped alike, and lengths that are not
    ripped. Two of a group are as well one, where that can be ripped."""
    group: dict[int, Key] = {}
    for i, item in enumerate(knapsack.items):
        key = item.yields[0]
        if (key[0] == "part" and len(key) > 3) or (key[0] == "strip" and knapsack.of[0] == "sections"):
            group[i] = (key[0], *key[2:])
    return group


def _longer(knapsack: Knapsack, group: dict[int, Key], longest: int | None) -> dict[int, int]:
    """Per item the next longer one that can be cut to all that it can: sections that may be ripped, and panels."""
    chains: dict[Key, list[int]] = {}
    for i, item in enumerate(knapsack.items):
        key = item.yields[0]
        if i in group:
            chains.setdefault(group[i], []).append(i)
        elif key[0] in ("part", "panel") and (longest is None or item.extent <= longest):
            chains.setdefault((key[0],), []).append(i)
    for chain in chains.values():
        chain.sort(key=lambda i: knapsack.items[i].size)
    return {i: k for chain in chains.values() for i, k in pairwise(chain)}


def _suffix_tables(knapsack: Knapsack, worth: Sequence[int], order: list[int]) -> tuple[int, list[list[int]]] | None:
    unit = gcd(*(knapsack.items[i].size for i in order)) or 1
    top = knapsack.capacity // unit
    if (top + 1) * (len(order) + 1) > _MOST_CELLS:
        return None
    tables = [empty_table(top, sum(knapsack.items[i].cap * worth[i] for i in order))]
    for i in reversed(order):
        item = knapsack.items[i]
        tables.append(with_item(tables[-1], item.size // unit, item.cap, worth[i]))
    return unit, [table if isinstance(table, list) else table.tolist() for table in reversed(tables)]
