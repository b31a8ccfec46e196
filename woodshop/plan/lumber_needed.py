"""Makes jobs in several thicknesses of the jobs for wood whose boards are resawn, or cut where they are bought."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from woodshop.cutting.model.job import Stock
from woodshop.cutting.model.lumber_job import BETWEEN, Lumber, LumberJob, LumberyardCuts, Resaw
from woodshop.design.batch import SawSettings
from woodshop.design.lumber import resawn
from woodshop.design.lumberyard.lumberyard_file import Offer
from woodshop.errors import InputError, Problem
from woodshop.plan.values import MaterialJob
from woodshop.units.lengths import Length

StockOf = Callable[[Offer, Length], Stock]
"""The stock of an offer in the unit of a job."""


def with_lumber(jobs: Sequence[MaterialJob], saw: SawSettings, stock_of: StockOf) -> tuple[MaterialJob, ...]:
    """The jobs, in which those for wood that comes of the same boards are one job with its `lumber`.

    A job whose boards are only cut where they are bought has its `lumber` too. `stock_of` makes the stock of boards
    that no job has as they are. Raises InputError for boards whose name cannot be in such a job.
    """
    groups: list[list[int]] = []
    for n, job in enumerate(jobs):
        own = _resawn_for(job)
        linked = [group for group in groups if any(_is_linked(job, own, jobs[m]) for m in group)]
        groups = [group for group in groups if group not in linked]
        groups.append(sorted([n, *(m for group in linked for m in group)]))
    found = []
    for group in sorted(groups):
        together = [jobs[n] for n in group]
        is_lumber = any(offer.cuts for job in together for offer in job.offers) or any(map(_resawn_for, together))
        found.append(_together(together, saw, stock_of) if is_lumber else together[0])
    return tuple(found)


def _resawn_for(job: MaterialJob) -> set[str]:
    """The ids of the boards of a job that are not in its stock, because they must be resawn."""
    return {offer.id for offer in job.offers} - {stock.id for stock in job.job.stock}


def _is_linked(job: MaterialJob, own: set[str], other: MaterialJob) -> bool:
    """Whether two jobs can take wood of one board."""
    theirs = _resawn_for(other)
    return bool(own & {offer.id for offer in other.offers} or theirs & {offer.id for offer in job.offers})


def _together(jobs: Sequence[MaterialJob], saw: SawSettings, stock_of: StockOf) -> MaterialJob:
    first = jobs[0]
    offers = {offer.id: offer for job in jobs for offer in job.offers}
    problems = [
        Problem(f"lumberyard file, {offer.what}", repr(offer.id), f"a name without {BETWEEN!r}", "Choose another name.")
        for offer in offers.values()
        if BETWEEN in offer.id
    ]
    if problems:
        raise InputError(*problems)
    boards: dict[str, Lumber] = {}
    for job in jobs:
        for stock in job.job.stock:
            boards.setdefault(stock.id, Lumber(stock, job.material.name))
    for offer in offers.values():
        if offer.id not in boards:
            boards[offer.id] = Lumber(stock_of(offer, first.grid), offer.material.name)
    ways = {name: _ways(offers[name], boards[name].thickness, jobs, saw) for name in boards}
    lumber = tuple(
        replace(board, resaw=ways[name], cuts=_cuts(offers[name], first.grid, board.stock))
        for name, board in boards.items()
    )
    rules = replace(first.job.rules, defects=next((j.job.rules.defects for j in jobs if j.job.rules.defects), None))
    blanks = tuple(blank for job in jobs for blank in job.job.blanks)
    words = tuple(job.material.name for job in jobs for _ in job.job.blanks)
    base = replace(first.job, stock=tuple(each.stock for each in lumber), blanks=blanks, rules=rules)
    needs = tuple(need for job in jobs for need in job.needs)
    return MaterialJob(first.material, first.grid, base, needs, tuple(offers.values()), LumberJob(base, lumber, words))


def _ways(offer: Offer, own: str, jobs: Sequence[MaterialJob], saw: SawSettings) -> tuple[Resaw, ...]:
    """The ways to resaw a board, for the thicknesses of the jobs."""
    shortest = 0 if saw.tools.resawing is None else _up(saw.tools.resawing.shortest, jobs[0].grid)
    found = []
    for job in jobs:
        wood = job.material.thickness
        count = 0 if wood is None or job.material.name == own else resawn(offer, wood, saw)
        found += [Resaw(job.material.name, count, 0, shortest)] if count else []
    return tuple(found)


def _cuts(offer: Offer, grid: Length, stock: Stock) -> LumberyardCuts | None:
    """What the lumberyard cuts, in the unit of the job. Sizes round to the side of more waste.

    A cut end loses as much as an end of the board, so that both ends of each part are alike.
    """
    own = offer.cuts
    if own is None:
        return None
    return LumberyardCuts(
        cost=own.price.minor,
        kerf=_up(own.kerf, grid),
        longest=None if own.longest is None else own.longest // grid,
        shortest_cut=_up(own.shortest, grid),
        free_cuts=own.free,
        rough=stock.end_trim,
    )


def _up(length: Length, grid: Length) -> int:
    return -(-length.mm // grid.mm)
