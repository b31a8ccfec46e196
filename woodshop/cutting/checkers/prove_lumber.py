"""Proves, with exact integers, that no plan in several thicknesses costs less than its certificate states.

The certificate is that of a job of one thickness: a price for each blank, a rent for each limited stock, in 1/scale of
a unit of currency. What differs is what a bought board can be worth, less the cost of its cuts and its resawing:

1. A home board is worth at most what `prove.py` finds for a layout on it.
2. A part that is not resawn is one home board. A part that is resawn is worth as much as its boards, less the cost.
3. Parts lie one behind the other, with a kerf between. The lengths at which the worth of a part changes are sums of
   lengths of blanks; between two such lengths a part is counted with the worth of the longest and the length of the
   shortest. If the worth also changes elsewhere (by rules about rips), it is only too high, and the proof stays valid.
4. With `longest`, a board that is not used up leaves waste at the lumberyard, which takes a cut of its own unless the
   parts together can be as long as the board.

So no board is worth more than scale x cost + rent, and the bound follows as there. It shares no code with the planner.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import gcd
from typing import Any

from woodshop.cutting.checkers.worth import worth_of_stock
from woodshop.cutting.model.job import Stock
from woodshop.cutting.model.lumber_job import Lumber, LumberJob
from woodshop.cutting.model.lumber_plan import LumberPlan
from woodshop.cutting.model.plan import Certificate
from woodshop.findings import Finding, Severity

_MOST_LENGTHS = 600
_MOST_LAYERS = 40
_LARGEST_TABLE = 40_000
_NOTHING = -(2**60)

Load = tuple[int, int]
"""A part of a divided board: its length with a kerf, and its worth."""


def prove_lumber_plan(plan: LumberPlan) -> tuple[Finding, ...]:
    """An error finding if a plan's certificate does not prove the plan's lower bound; otherwise empty.

    For a bound of kind "solver", the certificate must prove only its own (lower) bound.
    """

    def error(place: str, value: str, limits: str) -> tuple[Finding, ...]:
        do = "Plan again, or trust the cost only."
        return (Finding("plan-proof", Severity.ERROR, place, value, limits, "weak duality, in exact integers", do),)

    claimed = plan.bound if plan.bound_kind != "solver" else 0
    if plan.certificate is None:
        return error("certificate", "none", f"one that proves {claimed}") if claimed > 0 else ()
    proved, why = bound_of_lumber(plan.job, plan.certificate)
    if proved is None:
        return error("certificate", why, "prices and rents that no board beats")
    if plan.certificate.bound > proved:
        return error("certificate.bound", str(plan.certificate.bound), f"at most {proved}, which it proves")
    if claimed > plan.certificate.bound:
        return error("bound", str(claimed), f"at most {plan.certificate.bound}, as its certificate says")
    return ()


def bound_of_lumber(job: LumberJob, certificate: Certificate) -> tuple[int | None, str]:
    """The bound that the certificate proves for the job, and ""; or None and the reason if it proves none."""
    prices, rents = dict(certificate.prices), dict(certificate.rents)
    if certificate.scale < 1 or len(prices) != len(certificate.prices) or len(rents) != len(certificate.rents):
        return None, "a scale below 1, or an id twice"
    limited = {own.stock.id: own.stock.count for own in job.lumber if own.stock.count is not None}
    unknown = sorted((prices.keys() - {blank.id for blank in job.base.blanks}) | (rents.keys() - limited.keys()))
    if unknown:
        return None, f"{unknown[0]!r}, which is no blank, or no limited stock, of the job"
    if min([*prices.values(), *rents.values()], default=0) < 0:
        return None, "a price or rent below zero"
    if sum(blank.count * prices.get(blank.id, 0) for blank in job.base.blanks) > 2**59:
        return None, "prices too large to add"
    for own, worth in zip(job.lumber, worth_of_lumber(job, prices, certificate.scale), strict=True):
        if worth > certificate.scale * own.stock.cost + rents.get(own.stock.id, 0):
            return None, f"a board of {own.stock.id!r} worth {worth}, more than its cost and rent"
    total = sum(blank.count * prices.get(blank.id, 0) for blank in job.base.blanks)
    total -= sum((limited[name] or 0) * rent for name, rent in rents.items())
    costs = [own.stock.cost for own in job.lumber] + [way.cost for own in job.lumber for way in own.resaw]
    step = gcd(*costs, *(own.cuts.cost for own in job.lumber if own.cuts is not None)) or 1
    return max(0, -(-total // (certificate.scale * step)) * step), ""


def worth_of_lumber(job: LumberJob, prices: Mapping[str, int], scale: int) -> list[int]:
    """An upper bound on what a board of each stock is worth, less its cuts and resawing, in 1/`scale`."""
    appraiser = _Boards(job, prices)
    return [appraiser.worth(own, scale) for own in job.lumber]


class _Boards:
    def __init__(self, job: LumberJob, prices: Mapping[str, int]) -> None:
        self.job = job
        self.prices = prices
        self.known: dict[tuple[str, Stock], list[tuple[int, int]]] = {}

    def worth(self, lumber: Lumber, scale: int) -> int:
        """The worth of one board, whole or divided."""
        ways: list[tuple[str, int, int, int]] = [(lumber.thickness, 1, 0, 0)]
        ways += [(way.thickness, way.boards, way.cost * scale, way.shortest) for way in lumber.resaw]
        stock, own = lumber.stock, lumber.cuts
        best = 0
        for thickness, boards, cost, shortest in ways:
            is_short = own is None or own.longest is None or stock.length <= own.longest
            if is_short and stock.length >= shortest:
                best = max(best, boards * self._at_home(thickness, [stock])[0] - cost)
        if own is None:
            return best
        most = stock.length if own.longest is None else min(stock.length, own.longest)
        ends = min(stock.end_trim, own.rough)
        loads: dict[str, list[Load]] = {"inner": [], "outer": []}
        for thickness, boards, cost, shortest in ways:
            least = max(own.shortest_cut, shortest)
            for length, worth in self._parts(thickness, stock, most - ends - own.rough):
                gain = boards * worth - cost
                for where, lost in (("inner", 2 * own.rough), ("outer", ends + own.rough)):
                    size = max(length + lost, least)
                    if gain > 0 and size <= most:
                        loads[where].append((size + own.kerf, gain))
        return max(best, _divided(lumber, most, loads["inner"], loads["outer"], own.cost * scale))

    def _at_home(self, thickness: str, boards: Sequence[Stock]) -> list[int]:
        if thickness not in self.job.thicknesses:
            return [0] * len(boards)
        return worth_of_stock(self.job.of_thickness(thickness, tuple(boards)), self.prices)

    def _parts(self, thickness: str, stock: Stock, longest: int) -> list[tuple[int, int]]:
        """The least length of a part at home for each worth that it can have."""
        plain = replace(stock, id="", cost=0, count=None, length=max(1, longest), end_trim=0)
        key = (thickness, plain)
        if key not in self.known:
            lengths = self._lengths(thickness, longest) if thickness in self.job.thicknesses else []
            if len(lengths) > _MOST_LENGTHS:
                lengths = lengths[:: -(-len(lengths) // _MOST_LENGTHS)]
            # Each length stands for those up to the next one.
            tops = [following - 1 for following in lengths[1:]] + [longest] if lengths else []
            worths = self._at_home(thickness, [replace(plain, length=top) for top in tops]) if tops else []
            found: list[tuple[int, int]] = []
            for length, worth in zip(lengths, worths, strict=True):
                if worth > max((before for _, before in found), default=0):
                    found.append((length, worth))
            self.known[key] = found
        return self.known[key]

    def _lengths(self, thickness: str, longest: int) -> list[int]:
        """Lengths at which the worth of a part may change; the first is the least of a part that is worth anything."""
        base = self.job.base
        kerf = base.kerf.crosscut
        groups: dict[int, list[tuple[int, int]]] = {}
        alone = base.is_flat and (base.cutting.final_trim or base.cutting.first != "along" or base.cutting.stages > 2)
        for blank, own in zip(base.blanks, self.job.thicknesses, strict=True):
            if own == thickness:
                sides = (blank.length, blank.width or 1)
                for length, width in {sides, sides[::-1]} if blank.rotate else {sides}:
                    groups.setdefault(0 if alone else width, []).append((length + kerf, blank.count))
        reached = 0
        for sizes in groups.values():
            bits = 1
            for size, count in sizes:
                some = 1
                while count > 0 and size <= longest + kerf:
                    bits |= bits << size * min(some, count)
                    bits &= (1 << longest + kerf + 1) - 1
                    count, some = count - min(some, count), 2 * some
            reached |= bits & ~1
        found = {n - kerf for n, bit in enumerate(bin(reached)[:1:-1]) if bit == "1"}
        least = base.rules.shortest_rip
        if least is not None and found and min(found) < least <= longest:
            found.add(least)
        return sorted(found)


def _divided(lumber: Lumber, most: int, inner: Sequence[Load], outer: Sequence[Load], paid: int) -> int:
    """The worth of the best parts of a divided board, less `paid` for each cut that is not free."""
    own, length = lumber.cuts, lumber.stock.length
    if own is None or not outer:
        return 0
    import numpy

    unit = max(gcd(*(size for size, _ in (*inner, *outer))) or 1, -(-(length + own.kerf) // _LARGEST_TABLE))
    top = (length + own.kerf) // unit

    def grown(table: Any, loads: Sequence[Load]) -> Any:
        more = numpy.full(top + 1, _NOTHING, dtype=numpy.int64)
        for size, worth in loads:
            steps = size // unit
            if steps <= top:
                numpy.maximum(more[steps:], table[: top + 1 - steps] + worth, out=more[steps:])
        return more

    best, layer = 0, numpy.zeros(top + 1, dtype=numpy.int64)
    for count in range(1, _MOST_LAYERS + 1):
        layer_out = grown(layer, outer)  # the last part, at an end of the board
        after = grown(layer, inner if count > 1 else outer)
        if after[top] < 0 and layer_out[top] < 0:
            break
        # Without waste the parts are as long as the board; otherwise waste takes one more cut.
        is_long_enough = count > 1 and count * most + (count - 1) * own.kerf >= length
        fewest, room = (count - 1, top) if is_long_enough else (count, (length - own.shortest_cut) // unit)
        if room >= 0 and layer_out[room] >= 0:
            best = max(best, int(layer_out[room]) - paid * max(0, fewest - own.free_cuts))
        layer = after
    else:
        gain = max(worth for _, worth in (*inner, *outer))
        return best + gain * (length // max(1, min(size for size, _ in (*inner, *outer))))
    return best
