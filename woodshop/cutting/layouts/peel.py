"""Fewer layouts for many at once: some or all of a plan's layouts are taken together and their pieces cut anew.

Every layout that the pieces allow is listed once. Then, again and again, the pieces of all layouts or of some that are
kin are cut by a new choice of whole layouts (`dive`), shaken a little by a fixed seed; as many layouts are taken for
fewer in the end, because others then lie open.
"""

import random
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from woodshop.cutting.layouts.dive import LayoutTable, dive
from woodshop.cutting.layouts.recombine import Budget, Counts, Holds, LayoutGroup, pooled

MOST_LISTED = 60_000
_ROUND = 500
_PARTS = (0.4, 0.6, 0.8, 1.0)
_WHOLE_FIRST = 3


def listed(
    holds: Holds, kind: int, pieces: dict[int, int], least: int, limit: int = MOST_LISTED
) -> list[Counts] | None:
    """Every layout of these pieces on a kind with a weight of at least `least`; None when there are too many."""
    order = sorted(pieces, key=lambda item: (-holds.weight(item), item))
    weights = [holds.weight(item) for item in order]
    falling = [-weight for weight in weights]
    room = holds.room(kind)
    found: list[Counts] = []
    walked = 0

    def grow(start: int, used: int, items: Counts) -> bool:
        nonlocal walked
        walked += 1
        if walked > 20 * limit or len(found) > limit:
            return False
        count = 0
        while start < len(order) and used + (count + 1) * weights[-1] <= room:
            # The last item, `count` of it, brings the weight between least and room.
            count += 1
            first = max(start, bisect_left(falling, -((room - used) // count)))
            last = bisect_right(falling, -max(1, -(-(least - used) // count)))
            for place in range(first, last):
                if count <= pieces[order[place]]:
                    whole = tuple(sorted((*items, (order[place], count))))
                    if holds.may_hold(kind, whole) and holds.accepts(kind, whole):
                        found.append(whole)
        for place in range(start, len(order) - 1):
            for count in range(1, min(pieces[order[place]], (room - used - weights[-1]) // weights[place]) + 1):
                more = (*items, (order[place], count))
                if not holds.may_hold(kind, tuple(sorted(more))):
                    break
                if not grow(place + 1, used + count * weights[place], more):
                    return False
        return True

    return found if grow(0, 0, ()) and len(found) <= limit else None


@dataclass(slots=True)
class Peeling:
    """Repeated cutting anew of a plan's layouts; `steps` counts linear programmes, each by its number of layouts."""

    holds: Holds
    groups: list[LayoutGroup]
    steps: int
    least_times: int = 1
    stop_at: int = 1
    rng: random.Random = field(default_factory=lambda: random.Random(1))

    def run(self) -> list[LayoutGroup]:
        """The layouts, as few as were found. Raises SolverFailedError without a solver."""
        budget = Budget(self.steps)
        whole = _Listing.of(self.holds, self.groups)
        first = _WHOLE_FIRST if whole is not None else 0
        while budget.steps > 0 and len(self.groups) > self.stop_at:
            budget.take(_ROUND)
            count = len(self.groups)
            part = 1.0 if first > 0 else self.rng.choice(_PARTS)
            first -= 1
            members = self._kin(max(min(3, count), round(part * count)))
            chosen = [self.groups[n] for n in members]
            listing = whole
            if listing is None:
                listing = _Listing.of(self.holds, chosen)
                if listing is None:
                    budget.take(MOST_LISTED)
                    continue
            made = listing.cut_anew(chosen, budget, self.rng)
            if made is not None and min(group.times for group in made) >= self.least_times:
                gone = set(members)
                self.groups = [group for n, group in enumerate(self.groups) if n not in gone] + made
        return self.groups

    def _kin(self, size: int) -> list[int]:
        """A layout by chance, and those that share most items with it, seldom cut ones first."""
        count = len(self.groups)
        base = self.rng.randrange(count)
        own = {item for item, _ in self.groups[base].counts}
        shaken = {
            n: self.groups[n].times / 20
            - sum(1 for item, _ in self.groups[n].counts if item in own)
            - 2.5 * self.rng.random()
            for n in range(count)
        }
        return [base, *sorted((n for n in range(count) if n != base), key=lambda n: (shaken[n], n))[: size - 1]]


class _Listing:
    """All layouts that the pieces of some groups allow, as a table."""

    def __init__(self, holds: Holds, columns: list[tuple[int, Counts]], items: list[int], kinds: list[int]) -> None:
        import numpy

        self.columns = columns
        self.number = {column: n for n, column in enumerate(columns)}
        row = {item: n for n, item in enumerate(items)}
        row_of_kind = {kind: len(items) + n for n, kind in enumerate(kinds)}
        lines = numpy.zeros((len(columns), len(items) + len(kinds) + 1), dtype=numpy.int64)
        for n, (kind, counts) in enumerate(columns):
            lines[n, row_of_kind[kind]] = 1
            for item, count in counts:
                lines[n, row[item]] = count
            lines[n, -1] = holds.room(kind) - sum(holds.weight(item) * count for item, count in counts)
        self.table = LayoutTable(lines, len(items))

    @classmethod
    def of(cls, holds: Holds, groups: Sequence[LayoutGroup]) -> "_Listing | None":
        """None when there are too many."""
        total = pooled(groups)
        kinds = sorted({group.kind for group in groups})
        waste = sum(group.times * holds.room(group.kind) for group in groups)
        waste -= sum(holds.weight(item) * count for item, count in total.items())
        columns = [(group.kind, group.counts) for group in groups]
        for kind in kinds:
            some = listed(holds, kind, total, holds.room(kind) - waste, MOST_LISTED - len(columns))
            if some is None:
                return None
            columns += [(kind, counts) for counts in some]
        return cls(holds, sorted(set(columns)), sorted(total), kinds)

    def cut_anew(self, groups: Sequence[LayoutGroup], budget: Budget, rng: random.Random) -> list[LayoutGroup] | None:
        """The same pieces and times per kind in at most as many layouts, or None."""
        lines = [self.number[group.kind, group.counts] for group in groups]
        left: Any = sum(group.times * self.table.lines[line] for group, line in zip(groups, lines, strict=True))
        made = dive(self.table, left, len(groups) + 1, start=lines, budget=budget, rng=rng)
        if made is None:
            return None
        return [
            LayoutGroup(self.columns[line][0], times, self.columns[line][1]) for line, times in sorted(made.items())
        ]
