"""Fewer layouts for many at once: whole layouts are fixed one after another, each cut as often as it can be.

Every layout that the pieces allow is listed. A linear programme then spreads the pieces over them, where a layout costs
one share of the most times that it could be cut at all, so that its cost is 1 when it is used to the full; of its
answer the layout used most fully is fixed, and the rest is asked again, until nothing is left. A dead end is stepped
back from a few times. Costs and choices are shaken a little, by a fixed seed, and the whole is tried again and again on
all layouts or some of them, as long as there are steps left.
"""

import random
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from woodshop.cutting.recombine import Counts, Group, Holds, pooled
from woodshop.cutting.solver import Model, SolverFailedError, solve_relaxed

MOST_LISTED = 30_000
MOST_ASKED = 3_000
_MOST_BACK = 40
_SHAKE = 0.3
_PARTS = (0.3, 0.5, 0.7, 1.0)


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
    """Repeated peeling of a plan's layouts; `steps` counts linear programmes, each by its number of layouts."""

    holds: Holds
    groups: list[Group]
    steps: int
    least_times: int = 1
    stop_at: int = 1
    rng: random.Random = field(default_factory=lambda: random.Random(1))
    _whole: dict[tuple[int, int], list[Counts]] = field(default_factory=dict)

    def run(self) -> list[Group]:
        """The layouts, as few as were found. Raises SolverFailedError without a solver."""
        while self.steps > 0 and len(self.groups) > self.stop_at:
            self.steps -= 1_000
            count = len(self.groups)
            size = max(min(3, count), round(self.rng.choice(_PARTS) * count))
            members = self._kin(size)
            made = self._peeled([self.groups[n] for n in members])
            if made is not None and len(made) < size:
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

    def _peeled(self, groups: Sequence[Group]) -> list[Group] | None:
        """The same pieces and times per kind in fewer layouts than there are groups, or None."""
        import numpy

        total = pooled(groups)
        items, kinds = sorted(total), sorted({group.kind for group in groups})
        runs = [sum(group.times for group in groups if group.kind == kind) for kind in kinds]
        spare = sum(r * self.holds.room(k) for r, k in zip(runs, kinds, strict=True))
        spare -= sum(self.holds.weight(item) * count for item, count in total.items())
        columns: list[tuple[int, Counts]] = []
        for kind in kinds:
            least = self.holds.room(kind) - spare
            some = self._whole.get((kind, least)) if len(groups) == len(self.groups) else None
            if some is None:
                some = listed(self.holds, kind, total, least)
            if some is None or len(columns) + len(some) > MOST_LISTED:
                self.steps -= MOST_LISTED
                return None
            if len(groups) == len(self.groups):
                self._whole[kind, least] = some
            columns += [(kind, counts) for counts in some]
        if not columns:
            return None
        if len(columns) > MOST_ASKED:
            # A draw of them will do, and differs each time; those of now keep a way open.
            drawn = set(self.rng.sample(range(len(columns)), MOST_ASKED))
            now = {(group.kind, group.counts) for group in groups}
            columns = [column for n, column in enumerate(columns) if n in drawn or column in now]
        row = {item: n for n, item in enumerate(items)}
        row_of_kind = {kind: len(items) + n for n, kind in enumerate(kinds)}
        table = numpy.zeros((len(columns), len(items) + len(kinds)), dtype=numpy.int64)
        for n, (kind, counts) in enumerate(columns):
            table[n, row_of_kind[kind]] = 1
            for item, count in counts:
                table[n, row[item]] = count
        return self._dive(columns, table, numpy.array([*(total[item] for item in items), *runs]), len(groups))

    def _dive(self, columns: list[tuple[int, Counts]], table: Any, left: Any, below: int) -> list[Group] | None:
        import numpy

        shaken = numpy.array([1 + _SHAKE * self.rng.random() for _ in columns])
        sizes = [tuple((n, int(v)) for n, v in enumerate(line) if v) for line in table]
        chosen: dict[int, int] = {}
        trail: list[tuple[Any, set[int], int, int, int]] = []
        banned: set[int] = set()
        back = 0

        def fix(column: int, times: int, sure: int) -> None:
            nonlocal left, banned
            trail.append((left, banned, column, times, sure))
            banned = set()
            left = left - times * table[column]
            chosen[column] = chosen.get(column, 0) + times

        while left.any():
            if len(chosen) >= below or self.steps <= 0:
                return None
            most = numpy.where(table > 0, left[None, :] // numpy.maximum(table, 1), 10**9).min(axis=1)
            most[list(banned)] = 0
            usable = numpy.nonzero(most)[0]
            used = numpy.array([n in chosen for n in usable])
            allowed = below - len(chosen)
            picked = self._pick(usable, most, shaken, sizes, left, allowed, used) if len(usable) else "stuck"
            if picked == "hopeless":
                return None
            if isinstance(picked, str):
                back += 1
                if back > _MOST_BACK or not trail:
                    return None
                left, banned, column, times, sure = trail.pop()
                chosen[column] -= times
                if not chosen[column]:
                    del chosen[column]
                if 0 < sure < times:
                    # So often the linear answer itself cut it, so the rest can be cut at least in parts.
                    fix(column, sure, 0)
                else:
                    banned = banned | {column}
                continue
            fix(*picked)
        if len(chosen) >= below or min(chosen.values()) < self.least_times:
            return None
        return [Group(columns[n][0], times, columns[n][1]) for n, times in chosen.items()]

    def _pick(
        self,
        usable: Any,
        most: Any,
        shaken: Any,
        sizes: list[tuple[tuple[int, int], ...]],
        left: Any,
        allowed: int,
        used: Any,
    ) -> tuple[int, int, int] | str:
        """The next layout, its times and the times that are sure to leave a way.

        "stuck" when the rest cannot be cut so, "hopeless" when it takes more layouts than `allowed` less one.
        """
        # Costs are whole numbers in the model, so shares are taken in millionths; more of a chosen layout is free.
        costs = tuple(0 if old else round(1_000_000 * shaken[n] / most[n]) for n, old in zip(usable, used, strict=True))
        rows = tuple((int(v), int(v)) for v in left)
        self.steps -= 200 + len(usable)
        try:
            answer = solve_relaxed(Model(costs, tuple(sizes[n] for n in usable), rows))
        except SolverFailedError as why:
            if "not installed" in str(why):
                raise
            return "stuck"
        if answer.value / 1_000_000 / (1 + _SHAKE) > allowed - 1 + 1e-6:
            return "hopeless"
        best, found = -1.0, (-1, 0, 0)
        for place, value in enumerate(answer.columns):
            if value <= 0.3:
                continue
            n = int(usable[place])
            full = int(most[n])
            done = sum(1 for r, count in sizes[n] if left[r] == count * full)
            merit = value / full * (1 + done / 2) * (0.7 + 0.6 * self.rng.random())
            if merit > best:
                times = full if value > full / 2 else max(1, round(value))
                best, found = merit, (n, times, int(value + 1e-6))
        return found if best >= 0 else "stuck"
