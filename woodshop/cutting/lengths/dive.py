"""Makes plans from the linear program: fixes one cut at a time, then prices the remaining lengths again (diving).

When the bound for the remaining lengths shows that the target can no longer be reached, the search goes back to an
earlier choice and forbids the cut chosen there. It does this a limited number of times (limited discrepancy search).
"""

from dataclasses import dataclass, field, replace

from woodshop.cutting.lengths.fill import filled
from woodshop.cutting.lengths.master import EPS, Master
from woodshop.cutting.lengths.near import choose, near_cuts
from woodshop.cutting.lengths.problem import Cut, Lengths

Cuts = list[tuple[Cut, int]]
_NODES = 300


@dataclass(slots=True)
class RoundsLeft:
    """The rounds of pricing that a search may still use."""

    rounds: int


@dataclass(slots=True)
class _Node:
    wanted: list[int]
    limits: list[int | None]
    fixed: Cuts
    cost: int
    spare: int
    """How many further times the search may depart from the best choice below this node."""
    depth: int = 0
    next_exact: int = 10**18
    """The rest is searched exactly only if it has at most this many pieces."""
    forbidden: set[Cut] = field(default_factory=set)


def dive(
    master: Master, target: int, budget: RoundsLeft, *, spare: int = 2, deepest: int = 5, finish: int = 0
) -> Cuts | None:
    """Cuts that cost at most `target`, or None. Raises SolverFailedError.

    The search may depart from the best choice up to `spare` times, only among the first `deepest` choices. If `finish`
    is not 0, the remaining problem is searched exactly as soon as it has at most `finish` cuts.
    """
    lengths = master.lengths
    stack = [_Node(list(lengths.wanted), list(lengths.limits), [], 0, spare)]
    while stack:
        node = stack.pop()
        while budget.rounds > 0:
            before = master.rounds
            ends = _step(master, node, target, finish)
            budget.rounds -= master.rounds - before
            if ends is None:
                break
            found, chosen = ends
            if found is not None:
                return found
            if node.spare > 0 and node.depth < deepest and chosen is not None:
                other = _Node(
                    list(node.wanted),
                    list(node.limits),
                    list(node.fixed),
                    node.cost,
                    node.spare - 1,
                    node.depth,
                    node.next_exact,
                    node.forbidden | {chosen},
                )
                stack.append(other)
            if chosen is not None:
                _fix(lengths, node, chosen, 1)
            node.forbidden = set()
            node.depth += 1
    return None


def _step(master: Master, node: _Node, target: int, finish: int) -> tuple[Cuts | None, Cut | None] | None:
    """Fixes the integer part of the linear solution. Returns a finished plan, or the cut to fix next, or None."""
    lengths = master.lengths
    rest = target - node.cost
    if rest < 0:
        return None
    made = filled(lengths, node.wanted, node.limits)
    if made is not None and lengths.cost(made) <= rest:
        return node.fixed + made, None
    relaxed = master.solve(node.wanted, node.limits, rest + EPS * max(1, rest), 1000)
    if relaxed.bound > rest + 1e-5 or relaxed.is_short:
        return None
    if finish and sum(node.wanted) <= node.next_exact:
        node.next_exact = sum(node.wanted) * 9 // 10
        own = replace(lengths, wanted=tuple(node.wanted), limits=tuple(node.limits))
        near = near_cuts(own, master.central(node.wanted, node.limits, 1000), rest, finish)
        if near is not None:
            chosen = choose(own, near, rest, is_least=True, nodes=_NODES, seed=1)
            return None if chosen.cuts is None else (node.fixed + chosen.cuts, None)
    shares = relaxed.shares
    order = [int(n) for n in (-shares).argsort(kind="stable")[: 4 * len(lengths.sizes)] if shares[n] > EPS]
    parts: list[tuple[float, int, int]] = []
    for n in order:
        cut = master.cuts[n]
        whole = int(shares[n] + EPS)
        if whole:
            _fix(lengths, node, cut, whole)
        if shares[n] - whole > EPS and cut not in node.forbidden:
            parts.append((-round(float(shares[n]) - whole, 6), lengths.room_left(cut), n))
    if not any(node.wanted):
        return node.fixed, None
    parts.sort()
    for _, _, n in parts:
        stock, counts = master.cuts[n]
        if node.limits[stock] != 0 and any(a and b for a, b in zip(counts, node.wanted, strict=True)):
            return None, master.cuts[n]
    return None


def _fix(lengths: Lengths, node: _Node, cut: Cut, times: int) -> None:
    """Fixes a cut the given number of times, without lengths that are no longer wanted."""
    stock, counts = cut
    while times > 0 and any(node.wanted):
        own = tuple(min(a, b) for a, b in zip(counts, node.wanted, strict=True))
        limit = node.limits[stock]
        often = min((b // a for a, b in zip(own, node.wanted, strict=True) if a), default=0)
        often = min(often, times) if limit is None else min(often, times, limit)
        if often < 1:
            break
        node.fixed.append(((stock, own), often))
        node.cost += lengths.costs[stock] * often
        node.wanted = [b - a * often for a, b in zip(own, node.wanted, strict=True)]
        node.limits[stock] = None if limit is None else limit - often
        times -= often
