"""An exact search: an integer program chooses among all cuts that a plan up to a given cost can use.

At valid prices every cut loses something: its stock costs more than its lengths are worth. The losses of a plan add up
to its cost minus the lower bound, so a plan that costs x more than the bound uses no cut that loses more than x. Prices
in the middle of all best prices (from an interior-point solution) leave the fewest cuts.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from woodshop.cutting.lengths.master import Relaxation
from woodshop.cutting.lengths.problem import Cut, Lengths
from woodshop.cutting.planner.good_patterns import good_patterns
from woodshop.cutting.planner.knapsack import Knapsack, KnapsackItem
from woodshop.cutting.planner.solver import IntegerAnswer, Model, solve_whole

_SCALE = 10**9
_TOLERANCE = 2e-6


@dataclass(frozen=True, slots=True)
class Chosen:
    """The result of a search: cuts (or None), and a lower bound on the cost of any plan of the given cuts."""

    cuts: list[tuple[Cut, int]] | None
    bound: float
    is_decided: bool


def near_cuts(lengths: Lengths, relaxed: Relaxation, target: int, limit: int) -> list[Cut] | None:
    """Every maximal cut that a plan of at most `target` can use, or None if there are more than `limit`."""
    room = target - relaxed.bound + _TOLERANCE * max(1.0, abs(relaxed.bound))
    worth = [int(price * _SCALE) for price in relaxed.prices]
    cuts: list[Cut] = []
    for j, (whole, cost, most) in enumerate(zip(lengths.rooms, lengths.costs, lengths.limits, strict=True)):
        items = tuple(
            KnapsackItem(size, size, min(count, whole // size), yields=(("size", i),))
            for i, (size, count) in enumerate(zip(lengths.sizes, lengths.wanted, strict=True))
        )
        least = int((cost + relaxed.rents[j] - room) * _SCALE)
        knapsack = Knapsack(("stock", j), "crosscut", whole, items)
        found = good_patterns(knapsack, worth, max(1, least), limit=limit - len(cuts)) if most != 0 else []
        if found is None:
            return None
        cuts += [(j, pattern) for pattern, _ in found]
    return cuts


def choose(lengths: Lengths, cuts: Sequence[Cut], target: int, *, is_least: bool, nodes: int, seed: int) -> Chosen:
    """A plan of these cuts that costs at most `target`, from a run with this seed and at most `nodes` nodes.

    If `is_least` is true, no plan can cost less than the target, so the first plan that reaches it is enough. Raises
    SolverFailedError.
    """
    model = _model(lengths, cuts, target if is_least else None)
    step = lengths.step
    found: IntegerAnswer = solve_whole(model, nodes=nodes, absolute_gap=step * 0.999, seed=seed)
    made = None
    if found.counts is not None:
        made = [(cut, count) for cut, count in zip(cuts, found.counts, strict=False) if count]
    if is_least:
        return Chosen(made, target + step if found.is_infeasible else target, made is not None or found.is_infeasible)
    if found.is_infeasible:
        return Chosen(None, target + step, True)
    if made is not None and found.is_solved:
        return Chosen(made, min(target + step, lengths.cost(made)), True)
    bound = min(target + step, -(-(found.bound - 1e-6 * max(1.0, abs(found.bound))) // step) * step)
    return Chosen(made, bound, False)


def _model(lengths: Lengths, cuts: Sequence[Cut], most: int | None) -> Model:
    """The integer program of these cuts: finds the cheapest plan or, if `most` is given, any plan of at most this cost.

    The numbers of pieces of each kind of stock, and of all stock, are separate columns, on which the solver branches
    first.
    """
    sizes, kinds = len(lengths.sizes), len(lengths.rooms)
    rows: list[tuple[int | None, int | None]] = [(count, None) for count in lengths.wanted]
    rows += [(None, limit) for limit in lengths.limits]
    columns = [(*((i, count) for i, count in enumerate(counts) if count), (sizes + j, 1)) for j, counts in cuts]
    if most is not None:
        rows.append((0, most))
        columns = [
            (*column, *(((sizes + kinds, lengths.costs[j]),) if lengths.costs[j] else ()))
            for column, (j, _) in zip(columns, cuts, strict=True)
        ]
        return Model((0,) * len(cuts), tuple(columns), tuple(rows))
    costs = [0] * len(cuts)
    first = len(rows)
    rows += [(0, 0)] * (kinds + 1)
    columns = [(*column, (first + j, -1), (first + kinds, -1)) for column, (j, _) in zip(columns, cuts, strict=True)]
    for j in range(kinds):
        columns.append(((first + j, 1),))
        costs.append(lengths.costs[j])
    columns.append(((first + kinds, 1),))
    costs.append(0)
    priorities = (0,) * len(cuts) + (1,) * kinds + (2,)
    return Model(tuple(costs), tuple(columns), tuple(rows), priorities)
