"""What would stop a batch from being planned and bought, found without planning it."""

from woodshop.cutting.planner.plan_job import refuse_uncuttable
from woodshop.design.batch import Batch, Unit
from woodshop.errors import NothingToCutError, Problem
from woodshop.plan.buying.groups import BuyingGroup, Yards, groups_of
from woodshop.plan.buying.plans import PlanBook
from woodshop.plan.buying.ready_made import variants_of
from woodshop.plan.buying.where_to_buy import refuse_many_yards


def refuse_what_plan_refuses(batch: Batch, units: tuple[Unit, ...]) -> None:
    """Raise what `plan_to_buy` would raise for this batch: InputError, NothingToCutError. Nothing is planned."""
    variants = variants_of(batch, units)
    refuse_many_yards(batch)
    book = PlanBook("quick")
    every = [groups_of(variant, book) for variant in variants]
    names = [terms.yard for terms in batch.yard.terms]
    sets = [frozenset({name}) for name in names] if batch.buying.one_yard_only else [frozenset(names)]
    first: NothingToCutError | None = None
    for groups in every:
        for yards in sets:
            try:
                for group in groups.values():
                    _refuse_group(group, yards)
            except NothingToCutError as why:
                first = first or why
            else:
                return
    if first is not None:
        raise first


def _refuse_group(group: BuyingGroup, yards: Yards) -> None:
    if not (yards & group.sellers) and not group.from_rack:
        name = " and ".join(sorted(yards))
        given, wanted = f"no {group.name}", "everything that this run needs"
        raise NothingToCutError(Problem(f"yard file {name!r}", given, wanted, "Add it, or allow another yard."))
    wanted_job = group.job_for(yards)
    if wanted_job is not None:
        refuse_uncuttable(wanted_job[0].job)
