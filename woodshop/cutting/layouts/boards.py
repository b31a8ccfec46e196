"""A plan's stock and pieces as the searches for fewer layouts see them, and what one layout takes and leaves."""

from collections import Counter
from dataclasses import replace
from functools import lru_cache

from woodshop.cutting.checkers.check import area_of
from woodshop.cutting.layouts.packing import lay
from woodshop.cutting.layouts.recombine import Counts, LayoutGroup
from woodshop.cutting.model.job import Job
from woodshop.cutting.model.plan import Layout, Piece, Plan
from woodshop.cutting.order.sequence import SawCut, cuts_and_leftovers, saw_cuts
from woodshop.cutting.planner.network import width_of


def settings_of(job: Job, layout: Layout) -> int:
    """How many different fence and stop settings a layout takes."""
    return _settings(saw_cuts(job, layout))


def _settings(cuts: tuple[SawCut, ...]) -> int:
    return len({(cut.kind == "trim", cut.along, cut.is_narrow, cut.setting) for cut in cuts if cut.count})


def rank_of(job: Job, layout: Layout) -> tuple[int, int]:
    """Settings of a layout, and less the sum over the offcuts of one board of length squared times width."""
    cuts, rests = cuts_and_leftovers(job, layout, 1)
    return _settings(cuts), -sum(rest.length**2 * rest.width for rest in rests)


def score(job: Job, layouts: tuple[Layout, ...]) -> tuple[int, int, int]:
    """Layouts, settings, and offcuts of all boards; less is better."""
    ranks = [rank_of(job, layout) for layout in layouts]
    offcuts = sum(layout.times * own for layout, (_, own) in zip(layouts, ranks, strict=True))
    return len(layouts), sum(settings for settings, _ in ranks), offcuts


class Boards:
    """A plan's stock as kinds, its pieces as items (blank and whether spare): what a board can hold."""

    def __init__(self, plan: Plan) -> None:
        self.job = job = plan.job
        self.kinds = {stock.id: n for n, stock in enumerate(job.stock)}
        self.items: list[tuple[str, bool]] = sorted({(p.id, p.spare) for lay in plan.layouts for p in lay.pieces})
        self.number = {item: n for n, item in enumerate(self.items)}
        kx, ky = job.kerf.crosscut, job.kerf.rip
        if not job.is_flat:
            ky = 0
        blanks = {blank.id: blank for blank in job.blanks}
        self.weights = []
        for name, _ in self.items:
            blank = blanks[name]
            plain = (blank.length + kx) * (width_of(blank) + ky)
            turned = (width_of(blank) + kx) * (blank.length + ky)
            self.weights.append(min(plain, turned) if blank.rotate else plain)
        self.rooms = []
        for stock in job.stock:
            x0, x1, y0, y1 = area_of(stock)
            # An unusable stretch is not taken off: room is only what a board can hold at most.
            self.rooms.append((x1 - x0 + kx) * (y1 - y0 + ky))
        self.known: dict[tuple[int, Counts], Layout] = {}
        self.groups: list[LayoutGroup] = []
        merged = Counter[tuple[int, Counts]]()
        for layout in plan.layouts:
            counted = Counter(self.number[piece.id, piece.spare] for piece in layout.pieces)
            key = (self.kinds[layout.stock], tuple(sorted(counted.items())))
            merged[key] += layout.times
            old = self.known.get(key)
            if old is None or rank_of(job, layout) < rank_of(job, old):
                self.known[key] = replace(layout, times=1)
        self.groups = [LayoutGroup(kind, times, counts) for (kind, counts), times in merged.items()]
        self.laid = 0
        """How many layouts were packed so far: most of the work."""
        self._laid = lru_cache(maxsize=None)(self._lay)
        self._best = lru_cache(maxsize=None)(self._best_of)

    def room(self, kind: int) -> int:
        """What a board of a kind can hold, in the measure of `weight`."""
        return self.rooms[kind]

    def weight(self, item: int) -> int:
        """What an item takes of a board's room, its kerfs with it."""
        return self.weights[item]

    def may_hold(self, kind: int, counts: Counts) -> bool:
        """Whether these items can be laid on a board of a kind."""
        if not self.job.is_flat and not self.job.stock[kind].unusable:
            return sum(self.weights[item] * count for item, count in counts) <= self.rooms[kind]
        return (kind, counts) in self.known or self._laid(kind, counts) is not None

    def accepts(self, kind: int, counts: Counts) -> bool:
        """Whether a layout that can be cut is wanted: here each is."""
        return True

    def most_distinct(self, kind: int) -> int:
        """So many different items at most, by weight alone."""
        room = self.rooms[kind]
        for n, weight in enumerate(sorted(self.weights)):
            room -= weight
            if room < 0:
                return n
        return len(self.weights)

    def _lay(self, kind: int, counts: Counts) -> Layout | None:
        self.laid += 1
        stock = self.job.stock[kind]
        if self.job.is_flat or stock.unusable:
            return lay(self.job, stock, [(*self.items[item], count) for item, count in counts])
        if sum(self.weights[item] * count for item, count in counts) > self.rooms[kind]:
            return None
        # The longest first, but one that there is only one of last: where the board is used up it needs no setting.
        ordered = sorted(counts, key=lambda pair: (pair[1] == 1, -self.weights[pair[0]], pair[0]))
        pieces: list[Piece] = []
        at, kerf = stock.end_trim, self.job.kerf.crosscut
        for item, count in ordered:
            name, spare = self.items[item]
            for _ in range(count):
                pieces.append(Piece(name, at, self.weights[item] - kerf, spare=spare))
                at += self.weights[item]
        return Layout(stock.id, 1, tuple(pieces), None)

    def layout(self, group: LayoutGroup) -> Layout:
        """The group's layout: as it was, or as packed anew where that takes fewer settings or leaves more."""
        return replace(self._best(group.kind, group.counts)[0], times=group.times)

    def rank(self, group: LayoutGroup) -> tuple[int, int]:
        """Settings, then offcuts (less is better) of all boards of a group."""
        _, settings, offcuts = self._best(group.kind, group.counts)
        return settings, offcuts * group.times

    def choices(self, kind: int, counts: Counts) -> list[Layout]:
        """The ways known to cut some items from one board, times 1: as it was, and as packed anew."""
        old, new = self.known.get((kind, counts)), self._laid(kind, counts)
        return [layout for layout in (old, new) if layout is not None]

    def _best_of(self, kind: int, counts: Counts) -> tuple[Layout, int, int]:
        ranked = [(layout, *rank_of(self.job, layout)) for layout in self.choices(kind, counts)]
        return min(ranked, key=lambda each: each[1:])
