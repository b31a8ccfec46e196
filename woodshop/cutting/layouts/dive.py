"""Finds a small number of layouts for given pieces, by fixing layouts one by one and by recutting layouts of a plan."""

import random
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from woodshop.cutting.layouts.recombine import Budget, Counts, Holds, LayoutGroup, pooled
from woodshop.cutting.planner.solver import Resident, SolverFailedError

_SHAKE = 0.3
_DEAR = 1000.0
_FIRST, _MORE = 150, 60
_SCALE = 10**8
_MOST_BACK = 40


class LayoutTable:
    """Layouts as integer rows: a count for each of `items`, a one in the column of the stock kind, and the waste."""

    def __init__(self, lines: Any, items: int) -> None:
        import numpy

        self.lines, self.items = lines, items
        self.floats = lines[:, :-1].astype(float)
        self._having = [numpy.nonzero(lines[:, place])[0] for place in range(lines.shape[1])]

    def most_times(self, left: Any, known: Any = None, places: Sequence[int] | None = None) -> Any:
        """How many times each layout can be cut before it makes more than `left` of some column.

        If `known` gives the numbers before `left` changed, only the columns `places` are counted again.
        """
        import numpy

        most = numpy.full(len(self.lines), 10**9) if known is None else known.copy()
        for place in range(self.lines.shape[1]) if places is None else places:
            lines = self._having[place]
            most[lines] = numpy.minimum(most[lines], left[place] // self.lines[lines, place])
        return most

    def part(self, which: Any) -> "LayoutTable":
        """The table with only some of its rows."""
        return self if len(which) == len(self.lines) else LayoutTable(self.lines[which], self.items)


@dataclass(frozen=True, slots=True)
class Taste:
    """Preferences in choosing the layout to fix; see `_Dive._merit`."""

    plain: float
    power: float


@dataclass(slots=True)
class _Fixed:
    """One step of a dive, with the data needed to undo it."""

    left: Any
    most: Any
    banned: Any
    candidates: tuple[Any, Any]
    line: int
    times: int
    sure: int


def dive(
    table: LayoutTable, left: Any, below: int, *, start: Sequence[int], budget: Budget, rng: random.Random
) -> dict[int, int] | None:
    """Finds fewer than `below` layouts in the table that together make all of `left`.

    Returns how many times to cut each layout, keyed by row, or None if it finds no such layouts. `left` holds the
    required amount of each column. `start` lists rows that are known to be enough. Raises SolverFailedError if there is
    no solver.
    """
    import numpy

    most = table.most_times(left)
    active = numpy.nonzero(most)[0]
    if not len(active):
        return None
    where = {int(line): n for n, line in enumerate(active)}
    known = [where[line] for line in start if line in where]
    made = _Dive(table.part(active), left, most[active], below, known, budget, rng).run()
    return None if made is None else {int(active[line]): times for line, times in made.items()}


class _Dive:
    def __init__(
        self,
        table: LayoutTable,
        left: Any,
        most: Any,
        below: int,
        start: Sequence[int],
        budget: Budget,
        rng: random.Random,
    ) -> None:
        import numpy

        self.table, self.left, self.most, self.below, self.budget, self.rng = table, left, most, below, budget, rng
        self.taste = Taste(rng.choice((0.2, 0.5, 1.0)), rng.choice((0.3, 0.5, 0.7)))
        count = len(most)
        self.shaken = 1 + _SHAKE * numpy.array([rng.random() for _ in range(count)])
        self.banned = numpy.zeros(count, dtype=bool)
        # The layouts that can still be cut (and some others), with their counts. Prices are compared with these.
        self.candidates: tuple[Any, Any] = (numpy.arange(count), table.floats)
        self.chosen: dict[int, int] = {}
        self.trail: list[_Fixed] = []
        self.resident = Resident(len(left) - 1, _DEAR)
        self.asked = numpy.zeros(0, dtype=numpy.int64)
        if count <= 2 * _FIRST:
            self._ask(numpy.arange(count))
        else:
            cheap = numpy.argsort(self._costs(), kind="stable")[:_FIRST]
            self._ask(numpy.unique(numpy.concatenate([cheap, numpy.array(start, dtype=numpy.int64)])))

    def run(self) -> dict[int, int] | None:
        back = 0
        while self.left[:-1].any():
            answer = self._spread() if len(self.chosen) < self.below else None
            if self.budget.steps <= 0:
                return None
            picked = None
            if answer is not None:
                value, amounts = answer
                # Subtract half of the random change: this estimates the minimum number well, but is not a bound.
                if len(self.chosen) + value / (1 + _SHAKE / 2) > self.below - 1 + 1e-6:
                    return None
                picked = self._picked(amounts)
            if picked is not None:
                self._fix(*picked)
                continue
            back += 1
            if back > _MOST_BACK or not self._step_back():
                return None
        return self.chosen if len(self.chosen) < self.below else None

    def _ask(self, lines: Any) -> None:
        import numpy

        self.resident.add(self.table.lines[lines, :-1])
        self.asked = numpy.concatenate([self.asked, lines])

    def _costs(self) -> Any:
        """The cost of cutting each layout once: 1 / (the most times it can be cut), varied at random.

        Chosen layouts are free.
        """
        import numpy

        costs = self.shaken / numpy.maximum(self.most, 1)
        costs[list(self.chosen)] = 0
        return costs

    def _spread(self) -> tuple[float, Any] | None:
        """The linear solution, or None if the remaining pieces cannot be cut."""
        import numpy

        costs = self._costs()
        is_open = (self.most > 0) & ~self.banned
        candidates, counts = self.candidates
        is_new = is_open.copy()
        is_new[self.asked] = False
        while self.budget.take(300 + len(candidates) // 40):
            try:
                answer = self.resident.solve(self.left[:-1], costs[self.asked], is_open[self.asked])
            except SolverFailedError:
                return None
            value, fillers, amounts, duals = answer
            reduced = numpy.where(is_new[candidates], costs[candidates] - counts @ duals, 0.0)
            new = numpy.nonzero(reduced < -1e-4)[0]
            if len(new) > _MORE:
                new = new[numpy.argsort(reduced[new], kind="stable")[:_MORE]]
            new = candidates[new]
            if not len(new):
                return None if fillers > 1e-6 else (value, amounts)
            self._ask(new)
            is_new[new] = False
        return None

    def _picked(self, amounts: Any) -> tuple[int, int, int] | None:
        """The layout to fix, how many times to cut it, and how many of these cuts certainly allow a solution."""
        import numpy

        best, found = -1.0, None
        for place in numpy.nonzero(amounts > 0.3)[0]:
            line, amount = int(self.asked[place]), float(amounts[place])
            full = int(self.most[line])
            merit = self._merit(line, amount, full)
            if merit > best:
                times = full if amount > full / 2 else max(1, round(amount))
                best, found = merit, (line, times, int(amount + 1e-6))
        return found

    def _merit(self, line: int, amount: float, full: int) -> float:
        """The merit of a layout: higher if it is fully used, is cut many times, and completes many items."""
        items = self.table.items
        counts = self.table.lines[line, :items]
        ended = int(((counts > 0) & (counts * full == self.left[:items])).sum())
        share = amount / full * (self.taste.plain + ended) * full**self.taste.power
        return float(share * (0.7 + 0.6 * self.rng.random()))

    def _fix(self, line: int, times: int, sure: int) -> None:
        import numpy

        self.trail.append(_Fixed(self.left, self.most, self.banned, self.candidates, line, times, sure))
        row = self.table.lines[line]
        self.left = self.left - times * row
        self.most = self.table.most_times(self.left, self.most, [int(n) for n in numpy.nonzero(row)[0]])
        self.banned = numpy.zeros(len(self.most), dtype=bool)
        self.chosen[line] = self.chosen.get(line, 0) + times
        candidates, counts = self.candidates
        is_open = self.most[candidates] > 0
        if 2 * int(is_open.sum()) < len(candidates):
            self.candidates = (candidates[is_open], counts[is_open])

    def _step_back(self) -> bool:
        """Undoes the last step, then tries its layout fewer times or not at all."""
        if not self.trail:
            return False
        last = self.trail.pop()
        self.left, self.most, self.candidates = last.left, last.most, last.candidates
        self.chosen[last.line] -= last.times
        if not self.chosen[last.line]:
            del self.chosen[last.line]
        self.banned = last.banned.copy()
        if 0 < last.sure < last.times:
            # The linear solution itself cut the layout this many times, so the rest can be cut at least in fractions.
            self._fix(last.line, last.sure, 0)
        else:
            self.banned[last.line] = True
        return True


MOST_LISTED = 60_000
_ROUND = 500
_PARTS = (0.4, 0.6, 0.8, 1.0)
_WHOLE_FIRST = 3


def listed(
    holds: Holds, kind: int, pieces: dict[int, int], least: int, limit: int = MOST_LISTED
) -> list[Counts] | None:
    """All layouts of these pieces on one stock kind whose weight is at least `least`, or None if over `limit` exist."""
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
            # Taking `count` of the last item brings the weight to between `least` and `room`.
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
class NeighborhoodSearch:
    """Repeatedly recuts layouts of a plan. `steps` counts linear programs, each weighted by its number of layouts.

    `stop_at` is a lower bound on the number of layouts. `run` raises it if it can list all layouts.
    """

    holds: Holds
    groups: list[LayoutGroup]
    steps: int
    least_times: int = 1
    stop_at: int = 1
    rng: random.Random = field(default_factory=lambda: random.Random(1))

    def run(self) -> list[LayoutGroup]:
        """The smallest set of layouts found. Raises SolverFailedError if there is no solver."""
        budget = Budget(self.steps)
        whole = _Listing.of(self.holds, self.groups)
        first = _WHOLE_FIRST if whole is not None else 0
        if whole is not None and len(self.groups) > self.stop_at:
            self.stop_at = max(self.stop_at, whole.least(self.groups))
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
        """A random layout, and other layouts, preferably those that share many items with it and are cut few times."""
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
    """All layouts that can be made from the pieces of some groups, as a table."""

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
        """The table of layouts, or None if there are too many."""
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

    def least(self, groups: Sequence[LayoutGroup]) -> int:
        """An exact lower bound on the layouts of any plan with the same pieces and the same stock as these groups.

        A layout that can be cut at most u times counts for at least 1/u of a layout each time. So prices of the items
        and of the kinds of stock prove a bound if no layout is worth more than 1/u. Prices that are too high are
        lowered in proportion.
        """
        import numpy

        lines = [self.number[group.kind, group.counts] for group in groups]
        left: Any = sum(group.times * self.table.lines[line] for group, line in zip(groups, lines, strict=True))
        most = self.table.most_times(left)
        active = numpy.nonzero(most)[0]
        rows, most = self.table.lines[active][:, :-1], most[active]
        resident = Resident(len(left) - 1, _DEAR)
        resident.add(rows)
        try:
            _, _, _, duals = resident.solve(left[:-1], 1 / most, numpy.ones(len(active), dtype=bool))
        except SolverFailedError:
            return 1
        if int(rows.max()) * len(rows[0]) * int(most.max()) * _SCALE >= 2**62:
            return 1  # the products below would not fit
        prices = numpy.clip(numpy.rint(duals * _SCALE), -_SCALE, _SCALE).astype(numpy.int64)
        worth = max(_SCALE, int((rows @ prices * most).max()))
        return -(-int(left[:-1] @ prices) // worth)

    def cut_anew(self, groups: Sequence[LayoutGroup], budget: Budget, rng: random.Random) -> list[LayoutGroup] | None:
        """At most as many layouts as before, with the same pieces and times per kind, or None if none are found."""
        lines = [self.number[group.kind, group.counts] for group in groups]
        left: Any = sum(group.times * self.table.lines[line] for group, line in zip(groups, lines, strict=True))
        made = dive(self.table, left, len(groups) + 1, start=lines, budget=budget, rng=rng)
        if made is None:
            return None
        return [
            LayoutGroup(self.columns[line][0], times, self.columns[line][1]) for line, times in sorted(made.items())
        ]
