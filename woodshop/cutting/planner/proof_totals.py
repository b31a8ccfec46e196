"""The totals that the branches of a proof tree may limit."""

from typing import Any

from woodshop.cutting.checkers.patterns import Region
from woodshop.cutting.checkers.prove_tree import ProofModel
from woodshop.cutting.model.job import Job
from woodshop.cutting.model.proof import TotalTerm
from woodshop.cutting.planner.stock_totals import groups_of, stock_totals


def candidates(job: Job, model: ProofModel) -> list[tuple[int, tuple[TotalTerm, ...], dict[int, int]]]:
    """The totals to branch on: rank, terms, and the weight of each column."""
    strips = model.patterns.strips
    by_stock: dict[int, list[int]] = {}
    by_strip: dict[int, list[int]] = {}
    for column, of in enumerate(model.low.of.tolist()):
        by_strip.setdefault(of, []).append(column)
    for column, of in enumerate(model.high.of.tolist(), len(model.low.of)):
        by_stock.setdefault(of, []).append(column)
    found: dict[tuple[tuple[int, int], ...], tuple[int, tuple[TotalTerm, ...], dict[int, int]]] = {}

    def add(rank: int, weights: dict[int, int], *, is_stock: bool) -> None:
        members = by_stock if is_stock else by_strip
        names: list[Region] = [("stock", stock.id) for stock in job.stock] if is_stock else list(strips)
        own = {column: weight for n, weight in weights.items() for column in members.get(n, [])}
        if len(own) > 1:
            terms = tuple(TotalTerm(weight, names[n]) for n, weight in weights.items() if n in members)
            found.setdefault(tuple(sorted(own.items())), (rank, terms, own))

    for rank, weights in stock_totals(job, [n for n in range(len(job.stock)) if n in by_stock]):
        add(rank, weights, is_stock=True)
    of_strips: tuple[list[Any], ...] = ([s[:1] + s[2:] for s in strips], [s[:2] for s in strips], list(strips))
    for keys in of_strips:
        for group in groups_of(keys):
            add(1, dict.fromkeys(group, 1), is_stock=False)
    return list(found.values())
