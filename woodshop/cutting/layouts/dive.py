"""Pieces cut by few layouts: whole layouts are fixed one after another, each as often as it can be.

A linear programme spreads the pieces over the layouts, where a layout costs one share of the most times that it could
be cut at all: its cost is 1 when it is used to the full, so that the least cost is a bound on the number of layouts.
Of its answer one layout is fixed, and the rest is asked again, until nothing is left. The programme stays resident; it
holds few layouts, and those that its prices ask for are added. A dead end is stepped back from a few times.

What a layout leaves of the board is counted as a piece too: the boards' total waste is known, and where it is little
a layout that wastes some cannot be cut often.
"""

import random
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from woodshop.cutting.layouts.recombine import Budget
from woodshop.cutting.planner.solver import Resident, SolverFailedError

_SHAKE = 0.3
_DEAR = 1000.0
_FIRST, _MORE = 150, 60
_MOST_BACK = 40


class LayoutTable:
    """Layouts as lines of whole numbers: counts of so many `items`, one in its kind's place, and last the waste."""

    def __init__(self, lines: Any, items: int) -> None:
        import numpy

        self.lines, self.items = lines, items
        self.floats = lines[:, :-1].astype(float)
        self._having = [numpy.nonzero(lines[:, place])[0] for place in range(lines.shape[1])]

    def most_times(self, left: Any, known: Any = None, places: Sequence[int] | None = None) -> Any:
        """How often each layout can be cut out of what is left; only these places are looked at where it is `known`."""
        import numpy

        most = numpy.full(len(self.lines), 10**9) if known is None else known.copy()
        for place in range(self.lines.shape[1]) if places is None else places:
            lines = self._having[place]
            most[lines] = numpy.minimum(most[lines], left[place] // self.lines[lines, place])
        return most

    def part(self, which: Any) -> "LayoutTable":
        """The table of some lines."""
        return self if len(which) == len(self.lines) else LayoutTable(self.lines[which], self.items)


@dataclass(frozen=True, slots=True)
class Taste:
    """What is looked for in the layout to fix: see `_Dive._merit`."""

    plain: float
    power: float


@dataclass(slots=True)
class _Fixed:
    """One step of a dive, with what it takes to step back."""

    left: Any
    most: Any
    banned: Any
    near: tuple[Any, Any]
    line: int
    times: int
    sure: int


def dive(
    table: LayoutTable, left: Any, below: int, *, start: Sequence[int], budget: Budget, rng: random.Random
) -> dict[int, int] | None:
    """Times of some lines of the table that use up what is left, in fewer than `below` lines; None when none are found.

    `start`: lines known to do it. Raises SolverFailedError without a solver.
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
        # The lines that may still be cut, and some more, with their counts: what prices are held against.
        self.near: tuple[Any, Any] = (numpy.arange(count), table.floats)
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
                # Half of the shaking is taken off again: a good guess of the least number, though no bound.
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
        """A share of its most times each; more of a layout that is chosen already is free."""
        import numpy

        costs = self.shaken / numpy.maximum(self.most, 1)
        costs[list(self.chosen)] = 0
        return costs

    def _spread(self) -> tuple[float, Any] | None:
        """The linear answer, or None when the rest cannot be cut."""
        import numpy

        costs = self._costs()
        is_open = (self.most > 0) & ~self.banned
        near, counts = self.near
        is_new = is_open.copy()
        is_new[self.asked] = False
        while self.budget.take(300 + len(near) // 40):
            try:
                answer = self.resident.solve(self.left[:-1], costs[self.asked], is_open[self.asked])
            except SolverFailedError:
                return None
            value, fillers, amounts, duals = answer
            reduced = numpy.where(is_new[near], costs[near] - counts @ duals, 0.0)
            new = numpy.nonzero(reduced < -1e-4)[0]
            if len(new) > _MORE:
                new = new[numpy.argsort(reduced[new], kind="stable")[:_MORE]]
            new = near[new]
            if not len(new):
                return None if fillers > 1e-6 else (value, amounts)
            self._ask(new)
            is_new[new] = False
        return None

    def _picked(self, amounts: Any) -> tuple[int, int, int] | None:
        """The line to fix, its times, and the times that are sure to leave a way."""
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
        """More for a layout used to the full, cut often, and that brings many items to their end."""
        items = self.table.items
        counts = self.table.lines[line, :items]
        ended = int(((counts > 0) & (counts * full == self.left[:items])).sum())
        share = amount / full * (self.taste.plain + ended) * full**self.taste.power
        return float(share * (0.7 + 0.6 * self.rng.random()))

    def _fix(self, line: int, times: int, sure: int) -> None:
        import numpy

        self.trail.append(_Fixed(self.left, self.most, self.banned, self.near, line, times, sure))
        row = self.table.lines[line]
        self.left = self.left - times * row
        self.most = self.table.most_times(self.left, self.most, [int(n) for n in numpy.nonzero(row)[0]])
        self.banned = numpy.zeros(len(self.most), dtype=bool)
        self.chosen[line] = self.chosen.get(line, 0) + times
        near, counts = self.near
        is_open = self.most[near] > 0
        if 2 * int(is_open.sum()) < len(near):
            self.near = (near[is_open], counts[is_open])

    def _step_back(self) -> bool:
        """Undo the last step, and cut its layout fewer times or not at all now."""
        if not self.trail:
            return False
        last = self.trail.pop()
        self.left, self.most, self.near = last.left, last.most, last.near
        self.chosen[last.line] -= last.times
        if not self.chosen[last.line]:
            del self.chosen[last.line]
        self.banned = last.banned.copy()
        if 0 < last.sure < last.times:
            # So often the linear answer itself cut it, so the rest can be cut at least in parts.
            self._fix(last.line, last.sure, 0)
        else:
            self.banned[last.line] = True
        return True
