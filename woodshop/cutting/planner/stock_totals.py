"""The totals of boards that a proof tree may branch on."""

from collections.abc import Sequence
from math import gcd
from typing import Any

from woodshop.cutting.checkers.patterns import price_step
from woodshop.cutting.model.job import Job


def stock_totals(job: Job, used: Sequence[int]) -> list[tuple[int, dict[int, int]]]:
    """Each total with its rank (0 is branched on first): the weight of each stock that it counts.

    Only these stocks are `used`.
    """
    found = [(0, dict.fromkeys(used, 1))]
    endless = [n for n in used if job.stock[n].count is None]
    for group in groups_of([job.stock[n].width or 0 for n in endless]):
        own = [endless[n] for n in group]
        costs = {n: job.stock[n].cost for n in own}
        found.append((0, _in_steps(costs)))
        found.append((0, _rounded_to_steps(costs)))
        found.append((0, _rounded_to_steps({n: job.stock[n].length for n in own})))
    if endless and gcd(*(stock.cost - job.stock[endless[0]].cost for stock in job.stock)) > price_step(job):
        found.append((0, _rounded_to_steps({n: job.stock[n].cost for n in endless})))
    of_stock: tuple[list[Any], ...] = (
        [stock.id for stock in job.stock],
        [stock.width or 0 for stock in job.stock],
        [stock.length for stock in job.stock],
    )
    known = set(used)
    for keys in of_stock:
        for group in groups_of(keys):
            found.append((1, dict.fromkeys((n for n in group if n in known), 1)))
    return [(rank, weights) for rank, weights in found if weights]


def groups_of(keys: Sequence[Any]) -> list[list[int]]:
    """The places of equal keys, in the order of their texts."""
    grouped: dict[Any, list[int]] = {}
    for n, key in enumerate(keys):
        grouped.setdefault(key, []).append(n)
    return [grouped[key] for key in sorted(grouped, key=str)]


def _in_steps(amounts: dict[int, int]) -> dict[int, int]:
    """The amounts that are not 0, in units of their common divisor."""
    step = gcd(*amounts.values()) or 1
    return {n: amount // step for n, amount in amounts.items() if amount}


def _rounded_to_steps(amounts: dict[int, int]) -> dict[int, int]:
    """The amounts in units of the common divisor of their differences, such as 2 ft, all rounded in the same way."""
    least = min(amounts.values())
    step = gcd(*(amount - least for amount in amounts.values())) or least or 1
    return {n: (amount - least) // step + max(1, (2 * least + step) // (2 * step)) for n, amount in amounts.items()}
