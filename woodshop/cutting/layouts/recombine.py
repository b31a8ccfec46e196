"""Finds other layouts for the same pieces on the same stock: fewer layouts, each cut more often.

Here a layout is only its yield: a kind of stock, a number of times, and counted items. The caller decides whether a
kind can hold certain items (`Holds`), so that one-dimensional jobs, boards and open benchmark sets share this search.

The search takes some layouts, pools their pieces, and tries new numbers of times to cut them, with the same sum for
each kind of stock. It then distributes the pieces item by item. If d pieces of an item are pooled and distributed to
layouts that are cut x1, x2, ... times, the layouts get a1, a2, ... pieces per cut, with a1 x1 + a2 x2 + ... = d.
Because the sums stay the same, the rest of the plan does not change.
"""

import random
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import combinations
from math import comb, gcd
from typing import Protocol

_FEW_PIECES = 16
_MOST_CHOICES = 4_000
_MOST_PARTED = 60

Counts = tuple[tuple[int, int], ...]
"""Items, each as its number and count, in ascending order. Items with a count of zero are omitted."""


@dataclass(frozen=True, slots=True)
class LayoutGroup:
    """One layout as its yield: kind of stock, times, counted items."""

    kind: int
    times: int
    counts: Counts


class Holds(Protocol):
    """Decides what fits on one board of a kind of stock."""

    def room(self, kind: int) -> int:
        """The maximum total weight of items on one board of this kind of stock."""

    def weight(self, item: int) -> int:
        """The weight of an item, compared with `room`."""

    def may_hold(self, kind: int, counts: Counts) -> bool:
        """Whether the items fit on one board. If they fit, any smaller selection of them fits too."""

    def accepts(self, kind: int, counts: Counts) -> bool:
        """Whether a whole layout meets an additional requirement, such as a minimum use of the board."""


@dataclass(slots=True)
class Budget:
    """The steps that a search can still take. Time never limits a search."""

    steps: int

    def take(self, steps: int = 1) -> bool:
        """Uses up some steps of the search. Returns false if there are none left."""
        self.steps -= steps
        return self.steps > 0


@lru_cache(maxsize=2_000)
def shares(total: int, times: tuple[int, ...], most: tuple[int, ...], limit: int) -> tuple[tuple[int, ...], ...]:
    """The ways to distribute `total` pieces among layouts with these times, as (a1, a2, ...) with sum a x = total.

    `most` is the maximum for each layout. Returns the first `limit` ways, smallest a1 first. The search stops after
    four times as many steps.

    >>> shares(7, (2, 3), (9, 9), 10)
    ((2, 1),)
    >>> shares(12, (2, 3), (9, 3), 10), shares(12, (2, 3), (9, 9), 2)
    (((3, 2), (6, 0)), ((0, 4), (3, 2)))
    """
    last = len(times) - 1
    # For each place: the maximum that layouts from there on can take together, and the common divisor of their sums.
    rooms, steps = [0] * len(times), [0] * len(times)
    room = step = 0
    for place in range(last, -1, -1):
        room, step = room + most[place] * times[place], gcd(step, times[place])
        rooms[place], steps[place] = room, step
    if total > rooms[0] or total % steps[0]:
        return ()
    found: list[tuple[int, ...]] = []
    walked = 0

    def walk(place: int, left: int, own: tuple[int, ...]) -> bool:
        """Distributes the rest to the layouts from `place` on. Returns false after enough ways or steps."""
        nonlocal walked
        walked += 1
        often = times[place]
        if place == last:
            found.append((*own, left // often))
            return len(found) < limit
        # The rest must be a multiple of `lot`. That is so for every `stride`-th share, starting with `first`.
        lot, common = steps[place + 1], steps[place]
        stride = lot // common
        first = left // common * pow(often // common, -1, stride) % stride
        least = max(0, -(-(left - rooms[place + 1]) // often))
        for share in range(least + (first - least) % stride, min(most[place], left // often) + 1, stride):
            if walked > 4 * limit or not walk(place + 1, left - share * often, (*own, share)):
                return False
        return True

    walk(0, total, ())
    return tuple(found)


@lru_cache(maxsize=2_000)
def partitions(total: int, parts: int, least: int = 1) -> tuple[tuple[int, ...], ...]:
    """Every way to write `total` as a sum of `parts` numbers of at least `least`, the largest number last.

    >>> partitions(5, 2)
    ((1, 4), (2, 3))
    """
    if parts == 1:
        return ((total,),) if total >= least else ()
    found = []
    for first in range(least, total // parts + 1):
        found += [(first, *rest) for rest in partitions(total - first, parts - 1, first)]
    return tuple(found)


def deals(
    holds: Holds, pooled: dict[int, int], targets: Sequence[tuple[int, int]], budget: Budget, nodes: int
) -> Iterator[list[LayoutGroup]]:
    """Every way to distribute the pooled items to layouts of these (kind, times), within `nodes` and the budget."""
    times = tuple(often for _, often in targets)
    options: list[tuple[int, tuple[tuple[int, ...], ...]]] = []
    rooms = [holds.room(kind) for kind, _ in targets]
    for item, total in pooled.items():
        weight = holds.weight(item)
        ways = shares(total, times, tuple(room // weight if weight > 0 else total for room in rooms), nodes + 1)
        if not ways:
            return
        options.append((item, ways))
    options.sort(key=lambda option: (len(option[1]), -holds.weight(option[0]), option[0]))
    weights = [holds.weight(item) for item, _ in options]
    # Each layout must take at least as many of the remaining items as the others have no space for.
    load = [0] * len(targets)
    dealt: list[list[tuple[int, int]]] = [[] for _ in targets]
    left = nodes

    def fits(j: int) -> bool:
        """Whether a layout can hold its items. Packing many pieces uses additional steps."""
        budget.take(max(0, sum(n for _, n in dealt[j]) - _FEW_PIECES))
        return holds.may_hold(targets[j][0], tuple(sorted(dealt[j])))

    def deal(place: int) -> Iterator[list[LayoutGroup]]:
        nonlocal left
        if place == len(options):
            made = [
                LayoutGroup(kind, often, tuple(sorted(counts)))
                for (kind, often), counts in zip(targets, dealt, strict=True)
            ]
            if all(group.counts and holds.accepts(group.kind, group.counts) for group in made):
                yield made
            return
        item, ways = options[place]
        weight = weights[place]
        for way in ways:
            left -= 1
            if left < 0 or not budget.take():
                return
            if any(n and load[j] + n * weight > rooms[j] for j, n in enumerate(way)):
                continue
            for j, n in enumerate(way):
                if n:
                    load[j] += n * weight
                    dealt[j].append((item, n))
            if all(not n or fits(j) for j, n in enumerate(way)):
                yield from deal(place + 1)
            for j, n in enumerate(way):
                if n:
                    load[j] -= n * weight
                    dealt[j].pop()

    yield from deal(0)


def pooled(groups: Sequence[LayoutGroup]) -> dict[int, int]:
    """All pieces of some layouts, counted for each item."""
    total: dict[int, int] = {}
    for group in groups:
        for item, count in group.counts:
            total[item] = total.get(item, 0) + group.times * count
    return total


def least_layouts(holds: Holds, groups: Sequence[LayoutGroup], kinds_distinct: Callable[[int], int]) -> int:
    """An exact lower bound on the layouts of any plan with the same number of boards of each kind.

    It is the larger of two counts: one layout per kind, plus one if one per kind cannot give the exact count of some
    item; and the number of layouts that have space for all items, if each layout holds at most `kinds_distinct(kind)`
    distinct items.
    """
    runs = Counter[int]()
    for group in groups:
        runs[group.kind] += group.times
    total = pooled(groups)
    bound = len(runs)
    times = tuple(sorted(runs.values(), reverse=True))
    if any(not _can_sum(count, times) for count in total.values()):
        bound += 1
    most = max(kinds_distinct(kind) for kind in runs)
    return max(bound, -(-len(total) // max(1, most)))


def _can_sum(total: int, times: tuple[int, ...]) -> bool:
    reached = 1
    for often in dict.fromkeys(times):
        shift = often
        while shift <= total:
            reached |= reached << shift
            shift *= 2
        # Doubling covers every multiple: 1, 1 + 2, 1 + 2 + 4, ...
    return bool(reached >> total & 1)


@dataclass(slots=True)
class Search:
    """Finds fewer layouts by recombining a few at a time. Random choices are the same for the same seed."""

    holds: Holds
    groups: list[LayoutGroup]
    budget: Budget
    least_times: int = 1
    stop_at: int = 1
    nodes: int = 400
    rng: random.Random = field(default_factory=lambda: random.Random(1))

    def run(self) -> list[LayoutGroup]:
        """The smallest set of layouts found."""
        self._merge_all(2)
        self._merge_all(3)
        while self.budget.steps > 0 and len(self.groups) > self.stop_at:
            before = self.budget.steps
            self._stir()
            if self.budget.steps == before and not self.budget.take(50):
                break
        return self.groups

    def _merge_all(self, size: int) -> None:
        """Tries each choice of `size` layouts once, unless there are too many choices."""
        again = True
        while again and self.budget.steps > 0:
            again = False
            for members in self._some(size):
                if len(self.groups) <= self.stop_at or not self.budget.take():
                    return
                if self._replace(members, fewer=True):
                    again = True
                    break

    def _some(self, size: int) -> list[tuple[int, ...]]:
        """Choices of `size` layouts in random order, without repeats: all, or a sample if there are too many."""
        count = len(self.groups)
        if comb(count, size) <= _MOST_CHOICES:
            chosen = list(combinations(range(count), size))
            self.rng.shuffle(chosen)
            return chosen
        drawn = (tuple(sorted(self.rng.sample(range(count), size))) for _ in range(_MOST_CHOICES))
        return list(dict.fromkeys(drawn))

    def _stir(self) -> None:
        """Recombines some layouts into fewer if possible; otherwise into as many, some cut more often and some less."""
        count = len(self.groups)
        size = min(self.rng.choice((3, 3, 4, 4, 5)), count)
        base = self.rng.randrange(count)
        own = {item for item, _ in self.groups[base].counts}
        kin = sorted(
            (n for n in range(count) if n != base),
            key=lambda n: (-sum(1 for item, _ in self.groups[n].counts if item in own) - 2 * self.rng.random(), n),
        )
        members = (base, *kin[: size - 1])
        if not self._replace(members, fewer=True) and self.rng.random() < 0.5:
            self._replace(members[: min(3, size)], fewer=False)

    def _replace(self, members: Sequence[int], *, fewer: bool) -> bool:
        """Replaces these layouts with others if a distribution is found."""
        chosen = [self.groups[n] for n in members]
        total = pooled(chosen)
        now = sorted(group.times for group in chosen)
        for targets in self._targets(chosen, fewer=fewer):
            if not fewer and sum(x * x for _, x in targets) < sum(x * x for x in now):
                continue
            if not self.budget.take():
                return False
            made = next(deals(self.holds, total, targets, self.budget, self.nodes), None)
            if made is None or (not fewer and set(made) == set(chosen)):
                continue
            gone = set(members)
            self.groups = [group for n, group in enumerate(self.groups) if n not in gone] + made
            return True
        return False

    def _targets(self, chosen: Sequence[LayoutGroup], *, fewer: bool) -> Iterator[list[tuple[int, int]]]:
        """New (kind, times) for the layouts: one kind's boards are divided anew; the other kinds keep their times."""
        kinds = sorted({group.kind for group in chosen})
        for kind in kinds:
            times = [group.times for group in chosen if group.kind == kind]
            rest = [(group.kind, group.times) for group in chosen if group.kind != kind]
            parts = len(times) - (1 if fewer else 0)
            if parts < 1:
                continue
            total = sum(times)
            if parts > 2 and total > 60:
                continue
            for way in self._parted(total, parts):
                yield [*rest, *((kind, often) for often in way)]

    def _parted(self, total: int, parts: int) -> Sequence[tuple[int, ...]]:
        """A few ways to divide `total` into parts, in random order."""
        if parts == 2:
            firsts = range(self.least_times, total // 2 + 1)
            return [(first, total - first) for first in self.rng.sample(firsts, min(_MOST_PARTED, len(firsts)))]
        ways = list(partitions(total, parts, self.least_times))
        self.rng.shuffle(ways)
        return ways[:_MOST_PARTED]
