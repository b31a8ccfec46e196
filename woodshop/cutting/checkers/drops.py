"""What a pattern of stock must be worth at some prices, or else no plan that is cheap enough has it."""

from collections.abc import Sequence
from dataclasses import dataclass

from woodshop.cutting.checkers.prove_rows import InvalidProofError
from woodshop.cutting.checkers.tables import KnapsackTable
from woodshop.cutting.model.job import Job, Stock


@dataclass(frozen=True, slots=True)
class FirstDrop:
    """The evidence of the first drop: a multiplier for the cost, and a price for each size.

    `limit`: the most that a cheaper plan costs. `is_whole`: whether the drop counts whole boards.
    """

    cost: int
    prices: tuple[int, ...]
    limit: int
    is_whole: bool


def least_worths(job: Job, best: Sequence[int], needed: int, own: FirstDrop) -> list[int]:
    """For each stock, what the strips of a pattern must be worth, or else no plan that costs at most the limit has it.

    `best`: the most that they are worth, for each stock; `needed`: what all parts are worth. Raises InvalidProofError.
    """
    uses = [most_uses(stock, own.limit) for stock in job.stock]
    if own.is_whole:
        others = _worth_of_others(job, best, uses, own.limit)
        return [
            needed - other if most != 0 else most_of_it + 1
            for other, most, most_of_it in zip(others, uses, best, strict=True)
        ]
    excess = [max(0, more - own.cost * stock.cost) for more, stock in zip(best, job.stock, strict=True)]
    room = own.cost * own.limit - needed + sum((most or 0) * more for most, more in zip(uses, excess, strict=True))
    _refuse_endless(uses, excess)
    return [more + own.cost * stock.cost - max(0, room) for more, stock in zip(excess, job.stock, strict=True)]


def _worth_of_others(job: Job, best: Sequence[int], uses: Sequence[int | None], limit: int) -> list[int]:
    """For each stock, the most that all other boards of a plan are worth, if it has one of this and costs at most
    `limit`. Raises InvalidProofError."""
    _refuse_endless(uses, best)
    free = sum((most or 0) * worth for stock, most, worth in zip(job.stock, uses, best, strict=True) if not stock.cost)

    def table(without: int | None) -> KnapsackTable:
        loads = [
            (stock.cost, (most or 0) - (n == without), worth)
            for n, (stock, most, worth) in enumerate(zip(job.stock, uses, best, strict=True))
            if stock.cost and most
        ]
        found = KnapsackTable(loads, limit)
        if not found.is_exact:
            raise InvalidProofError("drops: costs that are too fine to count whole boards")
        return found

    every = table(None)
    others = []
    for n, stock in enumerate(job.stock):
        if not stock.cost:
            others.append(free - best[n] + every.at(limit))
        elif stock.cost > limit:
            others.append(0)
        else:
            others.append(free + (every if stock.count is None else table(n)).at(limit - stock.cost))
    return others


def _refuse_endless(uses: Sequence[int | None], worths: Sequence[int]) -> None:
    if any(most is None and worth for most, worth in zip(uses, worths, strict=True)):
        raise InvalidProofError("drops: no limit to what stock without a cost could be worth")


def most_uses(stock: Stock, limit: int) -> int | None:
    """How often a plan that costs at most `limit` can use this stock; None: no limit."""
    own = None if stock.cost == 0 else limit // stock.cost
    return own if stock.count is None else stock.count if own is None else min(own, stock.count)
