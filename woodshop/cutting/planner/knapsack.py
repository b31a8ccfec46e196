"""Useful section lengths and panel widths: sums of the sizes cut from them side by side."""

from collections.abc import Mapping, Sequence
from dataclasses import KW_ONLY, dataclass
from functools import lru_cache
from math import gcd
from typing import Any, Literal

_MOST_SUMS = 20_000


@dataclass(frozen=True, slots=True)
class SameBlanks:
    """Blanks of the same size, which are planned together. Their `ids` and counts are in the order of the job."""

    length: int
    width: int
    count: int
    rotate: bool
    ids: tuple[tuple[str, int], ...]


def lays_of(size: SameBlanks) -> tuple[tuple[int, int, bool], ...]:
    """The ways to place a size: its length, its width, and whether it is turned."""
    if size.rotate:
        return ((size.length, size.width, False), (size.width, size.length, True))
    return ((size.length, size.width, False),)


def widths_in_block(sizes: Sequence[SameBlanks], length: int, *, trim: bool) -> dict[int, int]:
    """The widths that fit in a block of this length, and their counts. If `trim` is true, shorter blanks fit too."""
    counts: dict[int, int] = {}
    for size in sizes:
        widths = [lay[1] for lay in lays_of(size) if lay[0] == length or (trim and lay[0] < length)]
        if widths:
            counts[min(widths)] = counts.get(min(widths), 0) + size.count
    return counts


def sums_of(parts: Mapping[int, int], longest: int, kerf: int) -> tuple[set[int], bool]:
    """Every sum up to `longest` of parts with kerfs between them, and whether the list is complete.

    `parts` maps each extent to its maximum count. If there are too many sums, only some are kept.

    >>> sums, is_all = sums_of({10: 2, 7: 1}, 25, 1)
    >>> sorted(sums), is_all
    ([7, 10, 18, 21], True)
    """
    sums, is_all = _sums_of(tuple(sorted(parts.items(), reverse=True)), longest, kerf)
    return set(sums), is_all


@lru_cache(maxsize=128)  # the same strip width is requested for every stretch that has space for it
def _sums_of(parts: tuple[tuple[int, int], ...], longest: int, kerf: int) -> tuple[frozenset[int], bool]:
    sums, is_all = {0}, True
    for part, most in parts:
        count = min(most, (longest + kerf) // (part + kerf))
        sums = {
            total + n * (part + kerf)
            for total in sums
            for n in range(count + 1)
            if total + n * (part + kerf) <= longest + kerf
        }
        if len(sums) > _MOST_SUMS:
            is_all = False
            sums = set(sorted(sums)[:: len(sums) // (_MOST_SUMS // 4)])
    return frozenset(total - kerf for total in sums if total), is_all


def spread_of(extents: Sequence[int], most: int, longest: int, kerf: int, whole: int) -> list[int]:
    """A limited selection of the extents (ascending), evenly spread.

    It includes the longest extents that fit 1, 2, ... 8 times in `whole` (with kerfs between), and the longest that fit
    beside one or more of these.
    """

    def under(limit: int) -> int | None:
        return next((extent for extent in reversed(extents) if extent <= limit), None)

    wanted: list[int | None] = [extents[-1]]
    for shares in range(1, 9):
        share = (whole + kerf) // shares - kerf
        if share <= longest:
            wanted += [under(share), under(share - 1)]
    least = -(-(whole + kerf) // (longest + kerf))
    for extent in [e for e in wanted if e is not None]:
        for n in range(1, least + 1):
            wanted.append(under(min(longest, whole - n * (extent + kerf))))
    chosen = dict.fromkeys(extent for extent in wanted if extent is not None and extent > 0)
    step = max(1, len(extents) // max(1, most - len(chosen)))
    chosen |= dict.fromkeys(extents[::-1][::step])
    return list(chosen)[:most]


Axis = Literal["rip", "crosscut", "shorten", "open"]
Key = tuple[int | str, ...]
Pattern = tuple[int, ...]

_LARGEST_TABLE = 60_000
_MOST_STATES = 60_000
_SMALL_TABLE = 32
_MANY_ITEMS = 200
_PASSES, _BLOCK_STEPS = 6, 5  # array operations for an item, and for a block


@dataclass(frozen=True, slots=True)
class KnapsackItem:
    """One kind of part: its size with kerf, its maximum count, and what each part yields."""

    extent: int
    size: int
    cap: int
    _: KW_ONLY
    yields: tuple[Key, ...]
    narrow: bool = False
    rotated: bool = False


@dataclass(frozen=True, slots=True)
class Knapsack:
    """A way to cut region `of` along `axis`: any counts of the items that fit.

    `capacity` is the extent of the region plus one kerf. The narrow items together can take at most `narrow_capacity`.
    `kerf` is already part of each item's size.
    """

    of: Key
    axis: Axis
    capacity: int
    items: tuple[KnapsackItem, ...]
    narrow_capacity: int | None = None


def maximal_patterns(knapsack: Knapsack, limit: int) -> list[Pattern] | None:
    """Every choice to which no part can be added, or None if there are more than `limit` or too many to enumerate."""
    items = knapsack.items
    order = sorted(range(len(items)), key=lambda i: (-items[i].size, i))
    budget = knapsack.capacity if knapsack.narrow_capacity is None else knapsack.narrow_capacity
    rest = [0] * (len(order) + 1)
    for place in reversed(range(len(order))):
        rest[place] = rest[place + 1] + items[order[place]].size * items[order[place]].cap
    found: list[Pattern] = []
    counts = [0] * len(items)
    walked = 0

    def addable(room: int, thin: int) -> bool:
        for item, count in zip(items, counts, strict=True):
            if count < item.cap and item.size <= room and (not item.narrow or item.size <= thin):
                return True
        return False

    def walk(place: int, room: int, thin: int, below: int) -> bool:
        """Fills the knapsack from `place` on until less than `below` is left. Returns false if there are too many."""
        nonlocal walked
        walked += 1
        if walked > 20 * limit + 1000:
            return False
        if place == len(order):
            if room < below and not addable(room, thin):
                found.append(tuple(counts))
            return len(found) <= limit
        i = order[place]
        item = items[i]
        most = min(item.cap, (min(room, thin) if item.narrow else room) // item.size)
        for count in range(most, -1, -1):
            left = room - count * item.size
            # Only a part that is not narrow can be added wherever it fits, so only such a part tightens `below`.
            sharper = min(below, item.size) if count < item.cap and not item.narrow else below
            if left - rest[place + 1] >= sharper:
                break
            counts[i] = count
            if not walk(place + 1, left, thin - count * item.size if item.narrow else thin, sharper):
                return False
        counts[i] = 0
        return True

    return found if walk(0, knapsack.capacity, budget, knapsack.capacity + 1) else None


@dataclass(frozen=True, slots=True)
class ValueTable:
    """The exact best value at each capacity, in `unit`, of knapsacks without narrow items."""

    unit: int
    values: Any


def best_patterns(
    knapsacks: list[Knapsack], values: list[int], known: ValueTable | None = None
) -> list[tuple[int, Pattern]] | None:
    """The most valuable choice for each of the knapsacks, which differ only in capacity.

    `values` has one value per item. The result is exact, or None if the table would grow too large. `known` is the
    table of `best_values` for one knapsack and these values; with it, the same choice is found in less time.
    """
    filled = _filled(knapsacks, values, known)
    if not isinstance(filled, _Tables):
        return filled
    items, thin, unit, use, tables = filled.items, filled.thin, filled.unit, filled.use, filled.tables
    flat = {} if filled.flat_from is None else {filled.flat_from: _flattened(tables[filled.flat_from], thin, unit)}
    answers = []
    for knapsack in knapsacks:
        room = filled.room(knapsack)
        counts = [0] * len(items)
        value = tables[-1][room]
        for place in range(len(use), 0, -1):
            i = use[place - 1]
            size, worth = items[i].size // unit, values[i]
            before = flat.get(place - 1, tables[place - 1])
            target = tables[place][room]
            count = next(n for n in range(items[i].cap + 1) if before[room - n * size] + n * worth == target)
            counts[i] = count
            room -= count * size
            if place - 1 == filled.flat_from and thin is not None:
                room = min(room, thin // unit)
        answers.append((int(value), tuple(counts)))
    return answers


def best_values(knapsacks: list[Knapsack], values: list[int]) -> tuple[list[int], ValueTable | None] | None:
    """The values that `best_patterns` finds, without the choices, and the table of values if no item is narrow."""
    items = knapsacks[0].items
    most = max(knapsack.capacity for knapsack in knapsacks)
    use = _worth_using(items, values, most)
    if not use:
        return [0] * len(knapsacks), None
    thin = knapsacks[0].narrow_capacity
    unit = gcd(*(items[i].size for i in use))
    if most // unit > _LARGEST_TABLE:
        found = _best_by_states(knapsacks, values, use)
        return None if found is None else ([value for value, _ in found], None)
    narrow = [i for i in use if items[i].narrow]
    table = empty_table(most // unit, sum(values[i] * items[i].cap for i in use))
    for i in narrow:
        table = with_item(table, items[i].size // unit, items[i].cap, values[i], keep=False)
    if len(narrow) < len(use):
        table = _flattened(table, thin, unit) if narrow else table
        free: list[int] = []
        scarce: list[int] = []
        for i in use:
            if not items[i].narrow:
                (free if (items[i].cap + 1) * items[i].size > most else scarce).append(i)
        free.sort(key=lambda i: items[i].size)
        if narrow or isinstance(table, list):
            for i in free:
                table = with_item(table, items[i].size // unit, items[i].cap, values[i], keep=False)
        elif free:
            table = _unlimited([items[i].size // unit for i in free], [values[i] for i in free], most // unit)
        enough = table if isinstance(table, list) else table.copy()
        for i in scarce:  # items of which there are always enough often replace one without loss
            size = items[i].size // unit
            if narrow or enough[size] < values[i]:
                table = with_item(table, size, items[i].cap, values[i], keep=False)
        rooms = [knapsack.capacity // unit for knapsack in knapsacks]
    else:
        rooms = [min(knapsack.capacity if thin is None else thin, knapsack.capacity) // unit for knapsack in knapsacks]
    best = [table[room] for room in rooms] if isinstance(table, list) else table[rooms].tolist()
    return best, None if narrow else ValueTable(unit, table)


def _unlimited(sizes: list[int], values: list[int], top: int) -> Any:
    """The best value at each capacity up to `top` of items in unlimited number, by ascending size.

    The capacities are filled in blocks as long as the smallest item: the capacity left beside any item lies in an
    earlier block, so that all items are tried at once.
    """
    import numpy

    block = sizes[0]
    if len(sizes) * _PASSES < top // block * _BLOCK_STEPS:
        table = numpy.zeros(top + 1, dtype=numpy.int64)
        for size, value in zip(sizes, values, strict=True):
            table = with_item(table, size, top // size, value, keep=False)
        return table
    offset = sizes[-1]
    padded = numpy.full(offset + (top // block + 1) * block, -(2**62), dtype=numpy.int64)
    padded[offset:] = 0
    windows = numpy.lib.stride_tricks.sliding_window_view(padded, block)
    extents, gains = numpy.array(sizes), numpy.array(values, dtype=numpy.int64)[:, None]
    ends = numpy.searchsorted(extents, numpy.arange(0, top + 1, block) + block).tolist()
    for number, end in enumerate(ends):
        if number:
            start = offset + number * block
            tried = windows[start - extents[:end]]
            tried += gains[:end]
            numpy.maximum(padded[start : start + block], tried.max(axis=0), out=padded[start : start + block])
    return padded[offset : offset + top + 1].copy()


@dataclass(frozen=True, slots=True)
class _Tables:
    """The best value at each capacity (in `unit`) after each of the items in `use`.

    From table `flat_from` on, all narrow parts are included; they can use only the first `thin` of the capacity.
    """

    items: tuple[KnapsackItem, ...]
    thin: int | None
    unit: int
    _: KW_ONLY
    use: list[int]
    tables: list[Any]
    flat_from: int | None

    def room(self, knapsack: Knapsack) -> int:
        """The index of this knapsack's best value in the last table."""
        room = knapsack.capacity // self.unit
        return min(room, self.thin // self.unit) if self.flat_from is None and self.thin is not None else room


def _filled(
    knapsacks: list[Knapsack], values: list[int], known: ValueTable | None
) -> _Tables | list[tuple[int, Pattern]] | None:
    """The tables of several knapsacks, one after each item.

    If nothing is worth using, or the tables would be too large, returns the results instead.
    """
    items = knapsacks[0].items
    thin = knapsacks[0].narrow_capacity
    most = max(knapsack.capacity for knapsack in knapsacks)
    use = _worth_using(items, values, most)
    use.sort(key=lambda i: (not items[i].narrow, i))
    if not use:
        return [(0, (0,) * len(items)) for _ in knapsacks]
    unit = gcd(*(items[i].size for i in use))
    if most // unit > _LARGEST_TABLE:
        return _best_by_states(knapsacks, values, use)
    if known is not None and len(knapsacks) == 1:
        # The rest of the capacity is worth too little beside any other item.
        best = known.values[most // known.unit]
        use = [
            i
            for i in use
            if items[i].size <= most and values[i] + known.values[(most - items[i].size) // known.unit] >= best
        ]
    tables: list[Any] = [empty_table(most // unit, sum(values[i] * items[i].cap for i in use))]
    flat_from: int | None = None
    for i in use:
        table = tables[-1]
        item = items[i]
        if flat_from is None and not item.narrow:
            flat_from = len(tables) - 1
            table = _flattened(table, thin, unit)
        tables.append(with_item(table, item.size // unit, item.cap, values[i]))
    return _Tables(items, thin, unit, use=use, tables=tables, flat_from=flat_from)


def empty_table(capacity: int, most: int) -> Any:
    """A table of zeros: an array if that is faster and its integers are large enough, otherwise a list."""
    if capacity < _SMALL_TABLE or most >= 2**62:
        return [0] * (capacity + 1)
    import numpy

    return numpy.zeros(capacity + 1, dtype=numpy.int64)


def _worth_using(items: tuple[KnapsackItem, ...], values: list[int], capacity: int) -> list[int]:
    """The items, except those worth no more than a smaller one that is always available in sufficient number."""
    use, most = [], 0
    if len(items) < _MANY_ITEMS or max(values) >= 2**62:
        order = sorted(range(len(items)), key=lambda i: (items[i].size, -values[i], i))
    else:
        import numpy

        order = numpy.lexsort((-numpy.array(values), numpy.array([item.size for item in items]))).tolist()
    for i in order:
        item = items[i]
        if values[i] <= most or item.cap < 1:
            continue
        use.append(i)
        if (item.cap + 1) * item.size > capacity and not item.narrow:
            most = values[i]
    return use


def _flattened(table: Any, thin: int | None, unit: int) -> Any:
    """The value at each total capacity if the narrow parts can use only the first `thin` of it."""
    if thin is None or thin // unit >= len(table) - 1:
        return table
    top = max(thin // unit, 0)
    if not isinstance(table, list):
        flat = table.copy()
        flat[top:] = table[top]
        return flat
    return table[: top + 1] + [table[top]] * (len(table) - 1 - top)


def with_item(table: Any, size: int, cap: int, worth: int, *, keep: bool = True) -> Any:
    """The table if up to `cap` parts of this size and worth are also allowed.

    The passes over the table add 1, 2, 4, ... parts. An array is changed in place unless `keep` is true.
    """
    left = min(cap, (len(table) - 1) // size)
    if not isinstance(table, list):
        import numpy

        table = table.copy() if keep else table
        room = numpy.empty_like(table)
    chunk = 1
    while left > 0:
        take = min(chunk, left)
        step, gain = take * size, take * worth
        if not isinstance(table, list):
            more = numpy.add(table[:-step], gain, out=room[step:])
            numpy.maximum(table[step:], more, out=table[step:])
        else:
            shifted = [value + gain for value in table[: len(table) - step]]
            table = table[:step] + list(map(max, table[step:], shifted))
        left -= take
        chunk *= 2
    return table


def _best_by_states(knapsacks: list[Knapsack], values: list[int], use: list[int]) -> list[tuple[int, Pattern]] | None:
    """The same results as from tables, but only useful totals are kept. This suits long stretches in fine units."""
    items = knapsacks[0].items
    thin = knapsacks[0].narrow_capacity
    capacity = max(knapsack.capacity for knapsack in knapsacks)
    states: list[tuple[int, int, Pattern]] = [(0, 0, (0,) * len(items))]
    for i in use:
        item = items[i]
        limit = capacity if not item.narrow or thin is None else min(capacity, thin)
        grown = []
        for size, value, counts in states:
            for n in range(min(item.cap, (limit - size) // item.size if limit >= size else 0) + 1):
                grown.append((size + n * item.size, value + n * values[i], (*counts[:i], n, *counts[i + 1 :])))
                if len(grown) > 8 * _MOST_STATES:
                    return None
        grown.sort(key=lambda state: (state[0], -state[1], state[2]))
        states = []
        best = -1
        for state in grown:
            if state[1] > best:
                states.append(state)
                best = state[1]
        if len(states) > _MOST_STATES:
            return None
    answers = []
    for knapsack in knapsacks:
        fitting = [state for state in states if state[0] <= knapsack.capacity]
        answers.append((fitting[-1][1], fitting[-1][2]))
    return answers
