"""The totals that the branches of a proof tree may limit."""

from collections.abc import Sequence
from math import gcd
from typing import Any

from woodshop.cutting.checkers.patterns import Region, price_step
from woodshop.cutting.checkers.prove_tree import ProofModel
from woodshop.cutting.model.job import Job
from woodshop.cutting.model.proof import TotalTerm


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

    def groups(keys: Sequence[Any]) -> list[list[int]]:
        grouped: dict[Any, list[int]] = {}
        for n, key in enumerate(keys):
            grouped.setdefault(key, []).append(n)
        return [grouped[key] for key in sorted(grouped, key=str)]

    add(0, dict.fromkeys(range(len(job.stock)), 1), is_stock=True)
    endless = [n for n, stock in enumerate(job.stock) if stock.count is None and n in by_stock]
    for group in groups([job.stock[n].width or 0 for n in endless]):
        own = [endless[n] for n in group]
        costs = {n: job.stock[n].cost for n in own}
        add(0, _in_steps(costs), is_stock=True)
        add(0, _rounded_to_steps(costs), is_stock=True)
        add(0, _rounded_to_steps({n: job.stock[n].length for n in own}), is_stock=True)
    if endless and gcd(*(stock.cost - job.stock[endless[0]].cost for stock in job.stock)) > price_step(job):
        add(0, _rounded_to_steps({n: job.stock[n].cost for n in endless}), is_stock=True)
    of_stock: tuple[list[Any], ...] = (
        [stock.id for stock in job.stock],
        [stock.width or 0 for stock in job.stock],
        [stock.length for stock in job.stock],
    )
    for keys in of_stock:
        for group in groups(keys):
            add(1, dict.fromkeys(group, 1), is_stock=True)
    of_strips: tuple[list[Any], ...] = ([s[:1] + s[2:] for s in strips], [s[:2] for s in strips], list(strips))
    for keys in of_strips:
        for group in groups(keys):
            add(1, dict.fromkeys(group, 1), is_stock=False)
    return list(found.values())


def _in_steps(amounts: dict[int, int]) -> dict[int, int]:
    """The amounts that are not 0, in units of their common divisor."""
    step = gcd(*amounts.values()) or 1
    return {n: amount // step for n, amount in amounts.items() if amount}


def _rounded_to_steps(amounts: dict[int, int]) -> dict[int, int]:
    """The amounts in units of the common divisor of their differences, such as 2 ft, all rounded in the same way."""
    least = min(amounts.values())
    step = gcd(*(amount - least for amount in amounts.values())) or least or 1
    return {n: (amount - least) // step + max(1, (2 * least + step) // (2 * step)) for n, amount in amounts.items()}
