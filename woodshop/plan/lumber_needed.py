"""Makes jobs in several thicknesses of the jobs for wood whose boards are cut where they are bought."""

from collections.abc import Iterable
from dataclasses import replace

from woodshop.cutting.model.lumber_job import BETWEEN, Lumber, LumberJob, LumberyardCuts
from woodshop.design.lumberyard.lumberyard_file import Offer
from woodshop.errors import InputError, Problem
from woodshop.plan.values import MaterialJob
from woodshop.units.lengths import Length


def with_lumber(jobs: Iterable[MaterialJob]) -> tuple[MaterialJob, ...]:
    """The jobs, in which each whose boards are cut where they are bought has its `lumber`.

    Raises InputError for boards whose name cannot be in such a job.
    """
    return tuple(_with_lumber(job) if any(offer.cuts for offer in job.offers) else job for job in jobs)


def _with_lumber(job: MaterialJob) -> MaterialJob:
    problems = [
        Problem(f"lumberyard file, {offer.what}", repr(offer.id), f"a name without {BETWEEN!r}", "Choose another name.")
        for offer in job.offers
        if BETWEEN in offer.id
    ]
    if problems:
        raise InputError(*problems)
    word = job.material.name
    offers = {offer.id: offer for offer in job.offers}
    boards = tuple(Lumber(stock, word, (), _cuts(offers[stock.id], job.grid)) for stock in job.job.stock)
    return replace(job, lumber=LumberJob(job.job, boards, (word,) * len(job.job.blanks)))


def _cuts(offer: Offer, grid: Length) -> LumberyardCuts | None:
    """What the lumberyard cuts, in the unit of the job. Sizes round to the side of more waste."""
    own = offer.cuts
    if own is None:
        return None
    return LumberyardCuts(
        cost=own.price.minor,
        kerf=_up(own.kerf, grid),
        longest=None if own.longest is None else own.longest // grid,
        shortest_cut=_up(own.shortest, grid),
        free_cuts=own.free,
        rough=_up(own.allowance, grid),
    )


def _up(length: Length, grid: Length) -> int:
    return -(-length.mm // grid.mm)
