"""Turns the counts of purchases and patterns into bought boards, their parts, and the layouts of each."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from woodshop.cutting.lumber.dividing import NeededPart, divide
from woodshop.cutting.lumber.programme import BoardPurchase, HomeBoards, LumberProgramme
from woodshop.cutting.model.lumber_job import Lumber, LumberJob, home_board
from woodshop.cutting.model.lumber_plan import BoughtBoard, BoughtPart
from woodshop.cutting.model.plan import Layout, order_layouts
from woodshop.cutting.planner.assemble import lay_out


@dataclass(frozen=True, slots=True)
class LumberAnswer:
    """The counts of a programme's columns, their cost, and what the solver says of them; `prices` of the blanks."""

    programme: LumberProgramme
    counts: tuple[int, ...]
    cost: int
    floating: int
    is_solved: bool
    prices: dict[str, int]


def cost_of_bought(job: LumberJob, bought: Sequence[BoughtBoard]) -> int:
    """The cost of these boards, with their cuts and resawing."""
    by_id = {lumber.stock.id: lumber for lumber in job.lumber}
    total = 0
    for board in bought:
        lumber = by_id[board.stock]
        one = lumber.stock.cost
        if lumber.cuts is not None:
            one += lumber.cuts.cost * max(0, len(board.parts) - 1 - lumber.cuts.free_cuts)
        costs = {way.thickness: way.cost for way in lumber.resaw}
        one += sum(costs[part.resaw] for part in board.parts if part.resaw is not None)
        total += board.times * one
    return total


def bought_boards(
    job: LumberJob, boards: HomeBoards, answer: LumberAnswer
) -> tuple[tuple[BoughtBoard, ...], tuple[Layout, ...]]:
    """The bought boards and the layouts of a plan with these counts."""
    return _Home(job, boards, answer).made()


@dataclass(slots=True)
class _Slot:
    """A home board to be cut, and the bought board and part that it comes from."""

    kind: tuple[int, int]
    length: int
    board: int
    part: int


class _Home:
    """Gives each layout a home board, and each bought board a division with no more cuts than its layouts need."""

    def __init__(self, job: LumberJob, boards: HomeBoards, answer: LumberAnswer) -> None:
        self.job, self.boards, self.answer = job, boards, answer

    def made(self) -> tuple[tuple[BoughtBoard, ...], tuple[Layout, ...]]:
        """The bought boards and the layouts of the plan."""
        units = self._units()
        cut: list[dict[int, list[Layout]]] = [{} for _ in units]
        slots = self._slots(units)
        for t, own in enumerate(self._layouts()):
            place = {stock.id: v for v, stock in enumerate(self.boards.jobs[t].stock)}
            wanted = [(self._length(t, place[layout.stock]), (t, place[layout.stock]), layout) for layout in own]
            for _, kind, layout in sorted(wanted, key=lambda each: -each[0]):
                for _ in range(layout.times):
                    slot = self._taken(slots, kind)
                    cut[slot.board].setdefault(slot.part, []).append(replace(layout, times=1))
        return self._numbered(units, cut)

    def _units(self) -> list[BoardPurchase]:
        first = len(self.answer.programme.layouts) + len(self.answer.programme.shortenings)
        return [
            purchase
            for purchase, count in zip(self.answer.programme.purchases, self.answer.counts[first:], strict=True)
            for _ in range(count)
        ]

    def _length(self, t: int, v: int) -> int:
        return self.boards.jobs[t].stock[v].length

    def _slots(self, units: Sequence[BoardPurchase]) -> dict[tuple[int, int], list[_Slot]]:
        """The home boards of each kind, the first to be taken last."""
        slots: dict[tuple[int, int], list[_Slot]] = {}
        for n, purchase in enumerate(units):
            for p, need in enumerate(purchase.needs):
                t, v = self.boards.kinds[purchase.stock][need]
                some = self.job.lumber[purchase.stock].resaw[need.way].boards if need.way >= 0 else 1
                for _ in range(some):
                    slots.setdefault((t, v), []).append(_Slot((t, v), self._length(t, v), n, p))
        for own in slots.values():
            own.reverse()
        return slots

    def _taken(self, slots: dict[tuple[int, int], list[_Slot]], kind: tuple[int, int]) -> _Slot:
        """A home board of this kind, or the shortest longer one of its chain."""
        chain = next((chain for chain in self.boards.chains if kind in chain), (kind,))
        for own in chain[chain.index(kind) :]:
            if slots.get(own):
                return slots[own].pop()
        raise AssertionError("a layout without a home board")

    def _layouts(self) -> list[tuple[Layout, ...]]:
        found = []
        for t, (own, network) in enumerate(zip(self.boards.jobs, self.boards.networks, strict=True)):
            pairs = [
                (column, count)
                for (of, column), count in zip(self.answer.programme.layouts, self.answer.counts, strict=False)
                if of == t
            ]
            found.append(lay_out(own, network, [column for column, _ in pairs], [count for _, count in pairs]))
        return found

    def _numbered(
        self, units: Sequence[BoardPurchase], cut: Sequence[dict[int, list[Layout]]]
    ) -> tuple[tuple[BoughtBoard, ...], tuple[Layout, ...]]:
        """The boards with equal ones joined, and the layouts in the plan's order, numbered in the parts."""
        cuts: Counter[tuple[str, tuple[tuple[int, str | None, tuple[Layout, ...]], ...]]] = Counter()
        for purchase, parts in zip(units, cut, strict=True):
            if not parts:
                continue  # surplus was dropped, and with it all that this board was for
            lumber = self.job.lumber[purchase.stock]
            used = sorted(parts)
            needs = [
                NeededPart(max((self._inside(layout) for layout in parts[p]), default=0), purchase.needs[p].way)
                if purchase.needs[p].length is not None
                else purchase.needs[p]
                for p in used
            ]
            division = divide(lumber, needs, self.job.base.rules.longest_rip)
            if (
                division is None
            ):  # fewer parts can leave waste that is too short; then the board is cut as it was bought
                used, needs = list(range(len(purchase.needs))), list(purchase.needs)
                division = divide(lumber, needs, self.job.base.rules.longest_rip)
            assert division is not None
            row: list[tuple[int, str | None, tuple[Layout, ...]]] = []
            whole = len(division.parts) == 1
            for place, (n, length) in enumerate(division.parts):
                if n < 0 or used[n] not in parts:
                    row.append((length, None, ()))
                    continue
                way = lumber.resaw[needs[n].way] if needs[n].way >= 0 else None
                at_home = None if whole else length - _squared(lumber, place, len(division.parts))
                board = home_board(lumber, way, at_home)
                shift = lumber.stock.end_trim if whole and purchase.needs[used[n]].length is not None else 0
                own = sorted((_moved(layout, board.stock.id, shift) for layout in parts[used[n]]), key=repr)
                row.append((length, None if way is None else way.thickness, tuple(own)))
            cuts[lumber.stock.id, tuple(row)] += 1
        times = Counter[Layout]()
        for (_, parts_of_board), count in cuts.items():
            for _, _, laid in parts_of_board:
                for layout in laid:
                    times[layout] += count
        layouts = order_layouts([replace(layout, times=count) for layout, count in times.items()])
        number = {replace(layout, times=1): n for n, layout in enumerate(layouts)}
        bought = [
            BoughtBoard(
                stock,
                count,
                tuple(
                    BoughtPart(length, tuple(sorted(number[layout] for layout in laid)), word)
                    for length, word, laid in parts_of_board
                ),
            )
            for (stock, parts_of_board), count in cuts.items()
        ]
        bought.sort(key=lambda board: (board.stock, -board.times, repr(board.parts)))
        return tuple(bought), layouts

    def _inside(self, layout: Layout) -> int:
        """The length of the home board that a layout was made for."""
        return next(stock.length for own in self.boards.jobs for stock in own.stock if stock.id == layout.stock)


def _squared(lumber: Lumber, place: int, count: int) -> int:
    """What a part of a divided board loses at its two ends."""
    assert lumber.cuts is not None
    trim, rough = lumber.stock.end_trim, lumber.cuts.rough
    return (rough if place else trim) + (rough if place < count - 1 else trim)


def _moved(layout: Layout, stock: str, shift: int) -> Layout:
    pieces = tuple(replace(piece, x=piece.x + shift) for piece in layout.pieces)
    return replace(layout, stock=stock, pieces=pieces)
