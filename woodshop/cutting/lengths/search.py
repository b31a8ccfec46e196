"""The search for the cheapest cuts of lengths, from the quickest method to the most thorough.

1. Each piece of stock is filled as well as possible. Often the material alone proves that no plan costs less.
2. The linear program over all cuts (column generation) gives a lower bound, and dives from it give plans.
3. If a gap remains, an integer program chooses among all cuts that a plan below the best cost can use.
4. If a gap remains with several kinds of stock, parts of the plan are searched again, each as a problem of its own.
"""

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from woodshop.cutting.lengths.dive import Cuts, RoundsLeft, dive
from woodshop.cutting.lengths.fill import filled
from woodshop.cutting.lengths.master import Master, Relaxation, rounded_up
from woodshop.cutting.lengths.mixes import fullest, most_worth, possible_costs
from woodshop.cutting.lengths.near import choose, near_cuts
from woodshop.cutting.lengths.part import in_whole, joined, part_of
from woodshop.cutting.lengths.problem import Cut, Lengths, layouts_of
from woodshop.cutting.model.job import Job
from woodshop.cutting.model.plan import Effort
from woodshop.cutting.planner.integer import Answer
from woodshop.cutting.planner.network import Network
from woodshop.cutting.planner.pricing import SCALE


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits of an effort: rounds of pricing, cuts in the integer program for a whole job or a dive, parts, and runs.

    Each run has a seed, a limit on nodes, and a limit on nodes times cuts.
    """

    root: int
    dives: int
    cuts: int
    rest: int
    parts: int
    runs: tuple[tuple[int, int, int], ...]


LIMITS: dict[Effort, Limits] = {
    "quick": Limits(root=200, dives=200, cuts=2_000, rest=300, parts=4, runs=((1, 60, 200_000),)),
    "default": Limits(
        root=1_000,
        dives=500,
        cuts=8_000,
        rest=1_500,
        parts=45,
        runs=((1, 2_000, 1_500_000), (2, 4_000, 2_500_000), (3, 4_000, 2_500_000)),
    ),
    "long": Limits(
        root=5_000,
        dives=5_000,
        cuts=20_000,
        rest=3_000,
        parts=200,
        runs=((1, 4_000, 4_000_000), (2, 20_000, 20_000_000), (3, 50_000, 60_000_000)),
    ),
}
_FEW_COSTS = 4
"""If there are at most this many possible costs below the best one, each is tried on its own."""
_PARTS = (12, 30, 20)
"""Pieces of stock in a part of a plan that is searched again, one after the other."""


def search_lengths(
    job: Job, network: Network, lengths: Lengths, effort: Effort, *, say: Callable[[str], None], floor: int
) -> Answer | None:
    """The best layouts found, or None; `floor` is a known bound, and `say` receives lines about the progress.

    Raises SolverFailedError.
    """
    best = filled(lengths, lengths.wanted, lengths.limits)
    if best is not None and lengths.cost(best) <= floor:
        return Answer(layouts_of(job, network, lengths, best), floor, True)
    own = LIMITS[effort]
    search = LengthSearch(lengths, best, floor, own, say)
    relaxed = search.root()
    if relaxed is None:
        return None
    search.dive_down()
    search.choose_exactly()
    search.search_parts()
    if search.best is None:
        return None
    prices = [0] * len(network.sizes)
    for i, price in zip(lengths.size_of, relaxed.prices, strict=True):
        prices[i] = int(price * SCALE)
    layouts = layouts_of(job, network, lengths, search.best)
    return Answer(layouts, min(search.bound, search.cost), search.bound >= search.cost, tuple(prices))


class LengthSearch:
    """A search for cheaper cuts, with the best cuts and the highest bound so far."""

    def __init__(
        self, lengths: Lengths, best: Cuts | None, floor: int, limits: Limits, say: Callable[[str], None]
    ) -> None:
        self.lengths, self.best, self.bound, self.limits, self.say = lengths, best, floor, limits, say
        self.master = Master(lengths)
        if best is not None:
            self.master.add([cut for cut, _ in best])
        total = sum(size * count for size, count in zip(lengths.sizes, lengths.wanted, strict=True))
        self.measures = [(fullest(lengths), total)]
        # With one kind of stock few costs are possible, and a dive is the quickest way to each.
        self.is_one_kind = len(lengths.rooms) == 1

    @property
    def cost(self) -> int:
        """The cost of the best plan. If there is none yet, a cost above that of any plan that the stock allows."""
        lengths = self.lengths
        if self.best is not None:
            return lengths.cost(self.best)
        return max(lengths.costs) * sum(lengths.wanted) + lengths.step

    def possible(self) -> Sequence[int]:
        """The costs that a plan can have, from the bound to less than the best plan. Raises the bound to the first."""
        costs: list[int] | None = None
        for worths, total in self.measures:
            found = possible_costs(self.lengths, self.bound, self.cost, worths, total)
            if found is not None:
                costs = found if costs is None else sorted(set(costs) & set(found))
        if costs is None:
            return range(self.bound, self.cost, self.lengths.step)
        self.bound = costs[0] if costs else max(self.bound, self.cost)
        return costs

    def slack(self, target: int) -> list[int] | None:
        """For each stock, the most room that a cut in a plan of at most this cost may leave; None if not known."""
        worths, total = self.measures[0]
        most = most_worth(self.lengths, target, worths)
        if most is None:
            return None
        return [most - total + room - full for room, full in zip(self.lengths.rooms, worths, strict=True)]

    def root(self) -> Relaxation | None:
        """The linear solution of the whole problem, or None if stock runs short."""
        lengths = self.lengths
        loss = sum(lengths.wanted) / SCALE
        relaxed = self.master.solve(lengths.wanted, lengths.limits, float("inf"), self.limits.root, loss=loss)
        if relaxed.is_short:
            return None
        self.bound = max(self.bound, rounded_up(relaxed.bound, lengths.step))
        self.possible()
        known = self.cost if self.best is not None else "no plan"
        self.say(f"{len(self.master.cuts)} cuts priced; nothing can cost less than {self.bound}; {known} so far")
        return relaxed

    def dive_down(self) -> None:
        """Dives for the bound. Then, as long as dives succeed, dives for any plan cheaper than the best one."""
        budget, target = RoundsLeft(self.limits.dives), self.bound
        while self.cost > self.bound and budget.rounds > 0:
            made = dive(self.master, target, budget, spare=2 if target == self.bound else 0)
            if made is not None:
                self.best = made
                self.say(f"dived to {self.cost}")
            elif target >= self.cost - self.lengths.step:
                break
            target = (self.possible() or [self.bound])[-1]

    def finish_dives(self) -> None:
        """Dives for any plan cheaper than the best one, and searches the rest exactly once it has few enough cuts."""
        budget = RoundsLeft(self.limits.dives)
        while (costs := self.possible()) and budget.rounds > 0:
            made = dive(self.master, costs[-1], budget, spare=3, deepest=8, finish=self.limits.rest)
            if made is None:
                break
            self.best = made
            self.say(f"finished a dive at {self.cost}")

    def choose_exactly(self) -> None:
        """Chooses among all cuts of plans that cost little more than the bound, then of plans that cost more."""
        lengths = self.lengths
        if self.cost <= self.bound:
            return
        relaxed = self.master.central(lengths.wanted, lengths.limits, self.limits.root)
        self.bound = max(self.bound, rounded_up(relaxed.bound, lengths.step))
        worths = self.master.worths(relaxed)
        total = int(sum(price * count for price, count in zip(relaxed.prices, lengths.wanted, strict=True)) * SCALE)
        self.measures.append((worths, total - total // SCALE))
        further = 0
        while costs := self.possible():
            self.say(f"{len(costs)} costs possible, from {costs[0]}")
            if len(costs) <= _FEW_COSTS:
                further = 0
            target = costs[min(further, len(costs) - 1)]
            cuts = near_cuts(lengths, relaxed, target, self.limits.cuts)
            if cuts is None:
                self.say(f"more than {self.limits.cuts} cuts for {target}")
                self.choose_among_priced(relaxed, costs[-1])
                break
            slack = self.slack(target)
            if slack is not None:
                cuts = [cut for cut in cuts if lengths.room_left(cut) <= slack[cut[0]]]
            before = (self.cost, self.bound)
            if not self._choose(cuts, target, is_least=target == costs[0]) or before == (self.cost, self.bound):
                break
            if self.is_one_kind:
                self.dive_down()
            further = 3 * further + 1
        self.finish_dives()

    def choose_among_priced(self, relaxed: Relaxation, target: int) -> None:
        """Chooses among the cuts that pricing has found for plans up to the target."""
        cuts = self.master.within(relaxed, target)[: self.limits.rest]
        seed, nodes, _ = self.limits.runs[0]
        chosen = choose(self.lengths, cuts, target, is_least=self.is_one_kind, nodes=nodes // 4, seed=seed)
        if chosen.cuts is not None and self.lengths.cost(chosen.cuts) < self.cost:
            self.best = chosen.cuts
        self.say(f"{len(cuts)} priced cuts: {self.cost}")

    def search_parts(self) -> None:
        """Searches parts of the plan again: the lengths on some pieces of stock, drawn at random but always alike.

        With one kind of stock a plan can only get cheaper by a whole piece of it, which a part hardly ever saves.
        """
        if self.best is None or self.is_one_kind:
            return
        draw = random.Random(0)
        for turn in range(self.limits.parts):
            if not self.possible():
                break
            cuts = [cut for cut, times in self.best for _ in range(times)]
            some = _PARTS[turn % len(_PARTS)]
            if some >= len(cuts):
                continue
            draw.shuffle(cuts)
            part, places = part_of(self.lengths, cuts[:some], cuts[some:])
            found, before = _searched(part, self.lengths.cost([(cut, 1) for cut in cuts[:some]])), self.cost
            if found is not None:
                # Other cuts of the same cost are taken too, as the next parts then differ more.
                self.best = joined(cuts[some:], in_whole(self.lengths, found, places))
            if self.cost < before:
                self.say(f"a part of {some} pieces of stock searched again: {self.cost}")

    def _choose(self, cuts: list[Cut], target: int, *, is_least: bool) -> bool:
        """Searches these cuts for plans up to the target. Returns whether the search settled their least cost."""
        for seed, nodes, work in self.limits.runs:
            most = max(1, min(nodes, work // max(1, len(cuts))))
            # With several kinds of stock, which of the two programs is decided first is a matter of luck.
            is_any = is_least and (self.is_one_kind or seed % 2 == 0)
            chosen = choose(self.lengths, cuts, target, is_least=is_any, nodes=most, seed=seed)
            if chosen.cuts is not None and self.lengths.cost(chosen.cuts) < self.cost:
                self.best = chosen.cuts
            self.bound = max(self.bound, min(int(chosen.bound), self.cost))
            self.say(f"{len(cuts)} cuts for {target}: {self.cost}, bound {self.bound}")
            if chosen.is_decided or self.cost <= self.bound:
                return True
        return False


def _searched(part: Lengths, cost: int) -> Cuts | None:
    """Cuts of a part that cost at most `cost`, or None if there are none, or if no cuts can cost less."""
    search = LengthSearch(part, filled(part, part.wanted, part.limits), 0, LIMITS["quick"], lambda _: None)
    if search.root() is None or search.bound >= cost:
        return None
    search.dive_down()
    search.choose_exactly()
    return search.best if search.cost <= cost else None
