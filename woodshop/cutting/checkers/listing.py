"""Lists the fullest choices of parts for one region, all of them or only those that are worth enough.

What a choice can still be worth is read from tables of knapsacks, so that whole branches are passed over.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from woodshop.cutting.checkers.tables import KnapsackTable

MOST_PATTERNS = 20_000
_MOST_STEPS = 500_000

Load = tuple[int, int, bool]
"""A kind of part in a region: its size with kerf, its maximum count, and whether it is a narrow rip."""


class NotCoveredError(Exception):
    """The job has cuts that proof trees do not cover, or too many patterns; the text says which."""


class TooManyPatternsError(NotCoveredError):
    """The job has too many patterns to list."""


@dataclass(slots=True)
class Aim:
    """What a choice must be worth: at least `least`, and with `is_best` more than any before. None: any will do."""

    least: int | None = None
    is_best: bool = False
    best: int = 0

    def found(self, value: int) -> None:
        """Takes note of a choice that reaches the aim."""
        self.best = max(self.best, value)
        if self.is_best:
            self.least = self.best + 1


class Lister:
    """Lists maximal patterns, and counts the patterns and the steps of all lists of a job."""

    def __init__(self) -> None:
        self.patterns = 0
        self.steps = 0

    def step(self) -> None:
        """Counts one more step. Raises TooManyPatternsError."""
        self.steps += 1
        if self.steps > _MOST_STEPS:
            raise TooManyPatternsError("too many patterns to list")

    def patterns_found(self, count: int) -> None:
        """Counts more patterns. Raises TooManyPatternsError."""
        self.patterns += count
        if self.patterns > MOST_PATTERNS:
            raise TooManyPatternsError(f"more than {MOST_PATTERNS:,} patterns")

    def some(
        self,
        loads: Sequence[Load],
        room: int,
        hand: int | None = None,
        values: Sequence[int] | None = None,
        aim: Aim | None = None,
    ) -> list[tuple[int, ...]]:
        """The choices of `maximal` that have at least one part; `room`, `hand` and `values` as there."""
        return [choice for choice in self.maximal(loads, room, hand, values, aim) if any(choice)]

    def best(self, loads: Sequence[Load], room: int, hand: int | None, values: Sequence[int]) -> int:
        """The most that a choice of `maximal` is worth, with the same `room`, `hand` and `values`."""
        order = _order(loads, room)
        table = _tables(loads, order, room, room if hand is None else hand, values)[0]
        if table.is_exact:
            return table.at(room)
        aim = Aim(0, is_best=True)
        self.maximal(loads, room, hand, values, aim)
        return aim.best

    def maximal(
        self,
        loads: Sequence[Load],
        room: int,
        hand: int | None = None,
        values: Sequence[int] | None = None,
        aim: Aim | None = None,
    ) -> list[tuple[int, ...]]:
        """Every choice of the loads that fits `room` and to which nothing can be added.

        The narrow ones together take at most `hand`. The empty choice is the only one if nothing fits. With `values`
        of the loads and an `aim`, only choices that reach it.
        """
        thin_room = room if hand is None else hand
        order = _order(loads, room)
        rest = [0] * (len(order) + 1)
        for place in reversed(range(len(order))):
            size, most, _ = loads[order[place]]
            rest[place] = rest[place + 1] + size * most
        tables: list[KnapsackTable] = []
        aim = aim or Aim()
        if aim.least is not None and values is not None:
            tables = _tables(loads, order, room, thin_room, values)
        counts = [0] * len(loads)
        found: list[tuple[int, ...]] = []

        def is_maximal(left: int, thin: int) -> bool:
            return not any(
                counts[i] < loads[i][1] and loads[i][0] <= (min(left, thin) if loads[i][2] else left) for i in order
            )

        def fill(place: int, left: int, thin: int, gap: int, value: int) -> None:
            """`gap`: nothing that is already passed over would fit if less than this were left."""
            if tables and aim.least is not None:
                is_thin = place < len(order) and loads[order[place]][2]
                if value + tables[place].at(min(left, thin) if is_thin else left) < aim.least:
                    return
            self.step()
            if place == len(order):
                if is_maximal(left, thin):
                    aim.found(value)
                    found.append(tuple(counts))
                return
            i = order[place]
            size, most, narrow = loads[i]
            worth = values[i] if values else 0
            most = min(most, max(0, min(left, thin) if narrow else left) // size)
            for count in range(most, -1, -1):
                after = left - count * size
                passed = min(gap, size) if count < loads[i][1] and not narrow else gap
                if after - rest[place + 1] >= passed:
                    break  # one more of something wider always fits
                counts[i] = count
                fill(place + 1, after, thin - count * size if narrow else thin, passed, value + count * worth)
            counts[i] = 0

        fill(0, room, thin_room, room + 1, 0)
        return found


def _order(loads: Sequence[Load], room: int) -> list[int]:
    """The numbers of the loads that can be chosen, the largest first, and the narrow ones last."""
    some = (i for i, (size, most, _) in enumerate(loads) if most > 0 and size <= room)
    return sorted(some, key=lambda i: (loads[i][2], -loads[i][0]))


def _tables(
    loads: Sequence[Load], order: Sequence[int], room: int, hand: int, values: Sequence[int]
) -> list[KnapsackTable]:
    """For each place in the order, the most that the loads from there on are worth at each capacity.

    Among the narrow ones the capacity is what is left for these.
    """
    room, hand = max(0, room), max(0, min(room, hand))
    tables = [KnapsackTable((), room)]
    was_narrow = bool(order) and loads[order[-1]][2]
    for i in reversed(order):
        size, most, narrow = loads[i]
        limit = hand if was_narrow else room
        was_narrow = narrow
        start = (tables[-1], limit) if len(tables) > 1 else None
        tables.append(KnapsackTable([(size, most, values[i])], hand if narrow else room, start))
    return tables[::-1]
