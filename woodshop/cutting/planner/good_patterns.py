"""Every choice of a knapsack that is worth nearly as much as its best one."""

from collections.abc import Sequence
from itertools import pairwise
from math import gcd

from woodshop.cutting.planner.knapsack import Key, Knapsack, Pattern, empty_table, with_item

_MOST_CELLS = 4_000_000


def good_patterns(
    knapsack: Knapsack, worth: Sequence[int], least: int, *, limit: int, longest: int | None = None, above: int = 0
) -> list[tuple[Pattern, int]] | None:
    """Every maximal choice worth at least `least` that uses more than `above` of the capacity, with its value.

    Returns None if there are more than `limit` such choices. A choice is maximal if nothing can be added, and no
    section (up to `longest`) can be lengthened or joined with another.
    """
    items = knapsack.items
    order = sorted((i for i, item in enumerate(items) if item.cap > 0), key=lambda i: (-items[i].size, i))
    budget = knapsack.capacity if knapsack.narrow_capacity is None else knapsack.narrow_capacity
    # For each item: the maximum value of it and later items by capacity; None if the tables would grow too large.
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
        """Whether adding one of an item makes a new choice: it cannot be joined with a used item of its group."""
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
        """Chooses among the items from `place` on. Returns false if there are too many choices."""
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
    """For each item of a stretch, the key of its group, which says how the item is cut further, whatever its length.

    Items of a group are sections ripped in the same way, or lengths that are not ripped. Two items of a group can be
    joined if the result can be ripped.
    """
    group: dict[int, Key] = {}
    for i, item in enumerate(knapsack.items):
        key = item.yields[0]
        if (key[0] == "part" and len(key) > 3) or (key[0] == "strip" and knapsack.of[0] == "sections"):
            group[i] = (key[0], *key[2:])
    return group


def _longer(knapsack: Knapsack, group: dict[int, Key], longest: int | None) -> dict[int, int]:
    """For each item (section that can be ripped, or panel), the next longer one that can be cut into the same parts."""
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
