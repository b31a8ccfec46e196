"""The second wish: of all plans for the same stock, one with fewer layouts, fewer settings, better offcuts.

In this order: money is not touched (the same boards of every kind are cut); then the number of distinct layouts; then
the number of different fence and stop settings, layout by layout; then the offcuts, of which a few long ones beat many
short (the sum of squares of their lengths, times width).
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache

from woodshop.cutting.check import area_of, check_plan
from woodshop.cutting.job import Job
from woodshop.cutting.network import width_of
from woodshop.cutting.packing import lay
from woodshop.cutting.peel import Peeling
from woodshop.cutting.plan import Layout, Plan, order_layouts
from woodshop.cutting.recombine import Budget, Counts, Group, Search, deals, least_layouts, pooled
from woodshop.cutting.sequence import leftovers, saw_cuts
from woodshop.cutting.solver import SolverFailedError

EFFORTS = {"quick": 20_000, "default": 150_000, "long": 1_500_000}
"""Steps of the search among a few layouts, per effort."""
PEELING = {"quick": 80_000, "default": 800_000, "long": 8_000_000}
"""Steps of the search among all layouts of lines, per effort."""

Progress = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class SetupReport:
    """A plan with what became of its layouts.

    `least` is exact: no plan that cuts as many boards of each kind into the same pieces has fewer layouts.
    """

    plan: Plan
    layouts_before: int
    layouts: int
    least: int
    settings_before: int
    settings: int


def fewer_layouts(plan: Plan, *, effort: str = "default", progress: Progress | None = None) -> Plan:
    """A plan of the same stock, cost and bound with at most as many layouts; the plan itself when none was found.

    Raises ValueError for an unknown effort, and for a plan that is not sound.
    """
    return improve_setups(plan, effort=effort, progress=progress).plan


def improve_setups(plan: Plan, *, effort: str = "default", progress: Progress | None = None) -> SetupReport:
    """As `fewer_layouts`, with the figures. Same plan and effort, same answer: the search ends by steps."""
    if effort not in EFFORTS:
        raise ValueError(f"effort {effort!r}: wanted one of {', '.join(EFFORTS)}")
    faults = check_plan(plan)
    if faults:
        raise ValueError(f"{faults[0].place}: {faults[0].code}; only a sound plan can be improved")
    boards = _Boards(plan)
    least = least_layouts(boards, boards.groups, boards.most_distinct)
    groups = list(boards.groups)
    if not plan.job.is_flat:
        # Lines to length have few enough layouts to list them all.
        try:
            groups = Peeling(boards, groups, PEELING[effort], stop_at=least).run()
        except SolverFailedError as why:
            if progress is not None:
                progress(f"fewer layouts without a solver: {why}")
    groups = Search(boards, groups, Budget(EFFORTS[effort]), stop_at=least, nodes=300).run()
    groups = _tidied(boards, groups, Budget(EFFORTS[effort] // 10))
    made = replace(plan, layouts=order_layouts([boards.layout(group) for group in groups]))
    before, after = _score(plan.job, plan.layouts), _score(plan.job, made.layouts)
    if after > before or check_plan(made, plan.job):
        made, after = plan, before
    if progress is not None:
        progress(f"{before[0]} layouts, now {after[0]}; at least {least} on this stock; {after[1]} settings")
    return SetupReport(made, before[0], after[0], least, before[1], after[1])


def settings_of(job: Job, layout: Layout) -> int:
    """How many different fence and stop settings a layout takes."""
    cuts = saw_cuts(job, layout)
    return len({(cut.kind == "trim", cut.along, cut.is_narrow, cut.setting) for cut in cuts if cut.count})


def _offcuts(job: Job, layout: Layout) -> int:
    return sum(rest.length**2 * rest.width for rest in leftovers(job, layout, 1))


def _score(job: Job, layouts: tuple[Layout, ...]) -> tuple[int, int, int]:
    """Less is better."""
    settings = sum(settings_of(job, layout) for layout in layouts)
    return len(layouts), settings, -sum(layout.times * _offcuts(job, layout) for layout in layouts)


class _Boards:
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
        self.groups: list[Group] = []
        merged = Counter[tuple[int, Counts]]()
        for layout in plan.layouts:
            counted = Counter(self.number[piece.id, piece.spare] for piece in layout.pieces)
            key = (self.kinds[layout.stock], tuple(sorted(counted.items())))
            merged[key] += layout.times
            old = self.known.get(key)
            if old is None or self._rank(layout) < self._rank(old):
                self.known[key] = replace(layout, times=1)
        self.groups = [Group(kind, times, counts) for (kind, counts), times in merged.items()]
        self._laid = lru_cache(maxsize=None)(self._lay)

    def _rank(self, layout: Layout) -> tuple[int, int]:
        return settings_of(self.job, layout), -_offcuts(self.job, layout)

    def room(self, kind: int) -> int:
        return self.rooms[kind]

    def weight(self, item: int) -> int:
        return self.weights[item]

    def may_hold(self, kind: int, counts: Counts) -> bool:
        if not self.job.is_flat and not self.job.stock[kind].unusable:
            return sum(self.weights[item] * count for item, count in counts) <= self.rooms[kind]
        return (kind, counts) in self.known or self._laid(kind, counts) is not None

    def accepts(self, kind: int, counts: Counts) -> bool:
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
        wants = [(*self.items[item], count) for item, count in counts]
        return lay(self.job, self.job.stock[kind], wants)

    def layout(self, group: Group) -> Layout:
        """The group's layout: as it was, or as packed anew where that takes fewer settings or leaves more."""
        old, new = self.known.get((group.kind, group.counts)), self._laid(group.kind, group.counts)
        choices = [layout for layout in (old, new) if layout is not None]
        return replace(min(choices, key=self._rank), times=group.times)

    def rank(self, group: Group) -> tuple[int, int]:
        """Settings, then offcuts (less is better) of all boards of a group."""
        settings, offcuts = self._rank(self.layout(group))
        return settings, offcuts * group.times


def _tidied(boards: _Boards, groups: list[Group], budget: Budget) -> list[Group]:
    """As many layouts, their pieces exchanged between two at a time for fewer settings and better offcuts."""
    again = True
    while again:
        again = False
        for a in range(len(groups)):
            for b in range(a + 1, len(groups)):
                pair = [groups[a], groups[b]]
                targets = [(group.kind, group.times) for group in pair]
                ranks = [boards.rank(group) for group in pair]
                best, chosen = (sum(r[0] for r in ranks), sum(r[1] for r in ranks)), pair
                for tried, made in enumerate(deals(boards, pooled(pair), targets, budget, 200)):
                    ranks = [boards.rank(group) for group in made]
                    total = (sum(r[0] for r in ranks), sum(r[1] for r in ranks))
                    if total < best:
                        best, chosen = total, made
                    if tried >= 20:
                        break
                if chosen is not pair:
                    groups[a], groups[b] = chosen
                    again = True
        if budget.steps <= 0:
            break
    return groups
