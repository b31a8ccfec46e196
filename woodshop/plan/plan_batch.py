"""Plans a batch, and writes plan.json: the plans, the lines with their parts, goods, versions, and a digest."""

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from fractions import Fraction
from importlib.metadata import PackageNotFoundError, version
from typing import Any

from woodshop.cutting.layouts.fewer_layouts import improve_setups
from woodshop.cutting.layouts.weigh import Weighed
from woodshop.cutting.lumber.fewer import fewer_lumber_layouts
from woodshop.cutting.lumber.plan_lumber import plan_lumber
from woodshop.cutting.model.lumber_plan import lumber_plan_to_json
from woodshop.cutting.model.plan import Effort, plan_to_json
from woodshop.cutting.order.job_sequence import job_sequence, sequence_to_json
from woodshop.cutting.planner.plan_job import plan as plan_job
from woodshop.design.batch import Batch, Unit
from woodshop.design.lumber import too_little
from woodshop.design.settings.buying import Worth, wishes_for, worth_problem
from woodshop.design.shortage import shortages
from woodshop.errors import InputError, NothingToCutError, Problem, ShortOfStockError
from woodshop.findings import Report
from woodshop.plan.bills import bills, bills_to_json, topped_up
from woodshop.plan.buy_list import buy, goods_on_hand, uses
from woodshop.plan.cost import unit_costs
from woodshop.plan.lumber_at_home import at_home
from woodshop.plan.parts_needed import parts_needed, parts_of_units, refuse_unfit
from woodshop.plan.values import (
    BoughtLumber,
    MaterialJob,
    MaterialPlan,
    PlannedBatch,
    PlanSums,
    Purchase,
    Unpriced,
)
from woodshop.workers import over_cores, steps_left

SOLVERS = ("highspy", "pyscipopt")


def made_with() -> dict[str, Any]:
    """The versions of this program and of the solvers. The same versions and input give the same bytes."""
    return {"woodshop": _version("woodshop"), "solvers": {name: _version(name) for name in SOLVERS}}


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "not installed"


def hives_to_json(batch: Batch) -> list[dict[str, Any]]:
    """Every group of hives: its name, format and count, its order, its form and its due date."""
    return [
        {
            "hives": each.name,
            "format": each.format,
            "count": each.count,
            "boards": each.to_pack,
            "order": each.order,
            "form": each.form,
            "due": None if each.due is None else each.due.isoformat(),
        }
        for each in batch.hives
    ]


def book_to_json(batch: Batch) -> dict[str, Any]:
    """If there is a book: the last event in it that counts, and the digest of all events up to that one."""
    if batch.inventory is None:
        return {}
    return {"book": {"event": batch.inventory.number, "digest": batch.inventory.digest}}


def lines_to_json(planned: PlannedBatch) -> list[dict[str, Any]]:
    """Every line with its count, and the parts in one unit of it, keyed by their addresses."""
    parts = parts_of_units(planned.units)
    return [
        {
            "address": unit.line.address,
            "hives": unit.line.hives.name,
            "count": unit.line.count,
            "bought": unit.line.bought,
            "arithmetic": unit.line.arithmetic,
            "parts": own if unit.line.count else {},
        }
        for unit, own in zip(planned.units, parts, strict=True)
    ]


def goods_to_json(planned: PlannedBatch, there: Mapping[str, Fraction]) -> list[dict[str, Any]]:
    """The goods needed: exact amounts as text, the lines or hives that use them, and the amount on hand (`there`)."""
    return [
        {
            "goods": each.goods,
            "needed": str(each.amount),
            "allowance": str(each.allowance),
            "there": str(there.get(each.goods, Fraction(0))),
            "for": [{"of": row.of, "place": row.place, "each": str(row.each)} for row in each.rows],
        }
        for each in uses(planned.batch, planned.units)
    ]


def purchase_to_json(purchase: Purchase) -> dict[str, Any]:
    """A line of the buy list.

    `stock` is the id of the stock in the cutting job; `holds` is the amount in a pack of goods; `cut` is for cuts.
    """
    return {
        "group": purchase.group,
        "what": purchase.what,
        "lumberyard": purchase.lumberyard,
        "count": purchase.count,
        "price": purchase.price.minor,
        "total": purchase.total.minor,
        **({"stock": purchase.stock} if purchase.stock else {}),
        **({} if purchase.holds is None else {"holds": str(purchase.holds)}),
        **({"cut": True} if purchase.is_cut else {}),
        "spare": purchase.is_spare,
        "why": purchase.why,
    }


def sealed(raw: dict[str, Any]) -> dict[str, Any]:
    """The plan file with a digest of its content: the SHA-256 of its JSON with sorted keys and no spaces, in UTF-8."""
    text = json.dumps(raw, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return {**raw, "digest": hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()}


BATCH_FORMAT = "woodshop-batch/2"


_LARGE = 220  # pieces; with more, the first steps of the search come close, and further steps would take minutes


def plan_batch(
    batch: Batch,
    units: tuple[Unit, ...],
    report: Report,
    progress: Callable[[str], None] | None = None,
    effort: Effort = "default",
) -> PlannedBatch:
    """Plans a batch: jobs, plans, purchases and costs.

    `effort` is the effort of the planner. With the default effort, large jobs are planned with the quick effort. Raises
    NothingToCutError if a blank does not fit any stock, and InputError for values that contradict the lumberyard's
    prices.
    """
    jobs = parts_needed(batch, units)
    refuse_unfit(batch, jobs)
    refuse_worth(jobs, batch)
    try:
        plans, lumber = at_home(planned_jobs(jobs, batch.worth, effort, progress), batch.unit)
    except ShortOfStockError as short:
        raise in_words(batch, units, jobs, short) from short
    except NothingToCutError as none:
        whys = [too_little(batch, job.material, job.offers) for job in jobs if job.material.is_lumber]
        raise NothingToCutError(*none.problems, *filter(None, whys)) from none
    purchases, unpriced = buy(batch, units, plans, lumber)
    return bought_batch(
        batch, units, plans, lumber=lumber, purchases=topped_up(batch.lumberyard, purchases), unpriced=unpriced,
        report=report,
    )  # fmt: skip


def in_words(
    batch: Batch, units: Sequence[Unit], jobs: Iterable[MaterialJob], why: ShortOfStockError
) -> NothingToCutError:
    """The shortage that stopped one of these jobs, with the sizes of the parts, and what would cure it."""
    names = {name for short in why.short for name in short.names}
    for job in jobs:
        if names and names <= {need.address for need in job.needs}:
            return NothingToCutError(*shortages(batch, units, job.needs, job.offers, why))
    return why


def refuse_worth(jobs: Sequence[MaterialJob], batch: Batch) -> None:
    """Raises InputError if the value placed on labor contradicts the lumberyard's prices, or cannot be used."""
    if batch.worth is not None and any(job.lumber for job in jobs):
        given = "a value of work and offcuts, and boards that are cut to length at the lumberyard, or resawn"
        wanted = "one of the two: such boards are planned for the least money alone"
        do = "Remove [worth]. Or remove crosscut and resaw in the lumberyard file."
        raise InputError(Problem("design, worth", given, wanted, do))
    problems = [worth_problem(batch.worth, job.material, job.grid, job.job, batch.wording) for job in jobs]
    if any(problems):
        raise InputError(*filter(None, problems))


def bought_batch(
    batch: Batch,
    units: tuple[Unit, ...],
    plans: tuple[MaterialPlan, ...],
    *,
    lumber: tuple[BoughtLumber, ...] = (),
    purchases: tuple[Purchase, ...],
    unpriced: tuple[Unpriced, ...],
    report: Report,
) -> PlannedBatch:
    """The complete result, with the cost of each item and the bill of each lumberyard."""
    costs, paid = unit_costs(batch, units, purchases), bills(batch.lumberyard, purchases)
    return PlannedBatch(
        batch=batch,
        units=units,
        plans=plans,
        lumber=lumber,
        purchases=purchases,
        unpriced=unpriced,
        costs=costs,
        report=report,
        bills=paid,
    )


def _pieces(job: MaterialJob) -> int:
    return sum(blank.count for blank in job.job.blanks)


def job_words(job: MaterialJob) -> str:
    """What is cut from what, for a line of progress: "3/4 in board (214 pieces)"."""
    count = _pieces(job)
    return f"{job.spoken} ({count:,} piece{'s' if count != 1 else ''})"


def is_large(job: MaterialJob) -> bool:
    """Whether a job has enough pieces to be planned with the quick effort by default."""
    return _pieces(job) > _LARGE


def planned_jobs(
    jobs: Sequence[MaterialJob], worth: Worth | None, effort: Effort, progress: Callable[[str], None] | None = None
) -> tuple[MaterialPlan | BoughtLumber, ...]:
    """Every job's plan, in the order of the jobs. Large batches use more than one core; the plans stay the same."""
    largest_first = sorted(range(len(jobs)), key=lambda n: -_pieces(jobs[n]))
    ended = steps_left("cutting plans", [job_words(jobs[n]) for n in largest_first], progress)
    tasks = [(jobs[n], worth, effort) for n in largest_first]
    found = over_cores(plan_any, tasks, 2 if any(map(is_large, jobs)) else len(tasks) + 1, ended)
    made = dict(zip(largest_first, found, strict=True))
    return tuple(made[n] for n in range(len(jobs)))


def plan_any(job: MaterialJob, worth: Worth | None, effort: Effort) -> MaterialPlan | BoughtLumber:
    """The plan of a job, or what is bought for it and cut there. Raises NothingToCutError as `plan_one` does."""
    if job.lumber is None:
        return plan_one(job, worth, effort)
    how = effort if effort != "default" or not is_large(job) else "quick"
    return BoughtLumber(job, fewer_lumber_layouts(plan_lumber(job.lumber, effort=how), effort=how))


def plan_one(job: MaterialJob, worth: Worth | None, effort: Effort) -> MaterialPlan:
    """One material's plan. Raises NothingToCutError if a blank fits no stock or the stock is short."""
    how = effort if effort != "default" or not is_large(job) else "quick"
    wishes = wishes_for(worth, job.material, job.grid, job.job)
    setups = improve_setups(plan_job(job.job, effort=how), effort=how, wishes=wishes)
    if setups.weighed is None or setups.weighed_before is None or setups.least_sum is None:
        return MaterialPlan(job, setups.plan)
    return MaterialPlan(job, setups.plan, PlanSums(setups.weighed, setups.weighed_before, setups.least_sum))


def batch_to_json(
    planned: PlannedBatch,
    cut: Mapping[str, int] | None = None,
    there: Mapping[str, Fraction] | None = None,
    rest_of: Mapping[str, Any] | None = None,
) -> dict[str, Any]:
    """The JSON `woodshop-batch/2`: items, defaults, findings, and every plan with its cuts in sawing order.

    `cut` maps each address to its number of pieces already cut; `there` is the amount on hand of each kind of goods;
    `rest_of` is the account of the work done since an earlier plan. `plan.verify_batch` counts everything again with
    independent code. The digest protects the contents that cannot be counted again.
    """
    batch = planned.batch
    return sealed(
        {
            "format": BATCH_FORMAT,
            "made_with": made_with(),
            "batch": batch.name,
            **book_to_json(batch),
            "on_by": None if batch.days.on_by is None else batch.days.on_by.isoformat(),
            "hives": hives_to_json(batch),
            "lines": lines_to_json(planned),
            "cut_already": dict(cut or {}),
            "defaults": [
                {"where": d.where, "name": d.name, "value": d.value, "source": d.source} for d in batch.defaults
            ],
            "findings": [finding.to_json() for finding in planned.report.findings],
            "exit_code": 1 if planned.report.has_errors else 0,
            "total": planned.total.minor,
            "currency": batch.lumberyard.currency,
            "goods": goods_to_json(planned, goods_on_hand(batch) if there is None else there),
            "purchases": [purchase_to_json(purchase) for purchase in planned.purchases],
            **bills_to_json(planned),
            "unpriced": [{"what": u.what, "amount": u.amount} for u in planned.unpriced],
            "marks": [
                {"mark": need.mark, "address": need.address, "count": need.count}
                for each in planned.plans
                for need in each.job.needs
            ],
            "sums": {each.job.material.name: _sums_json(each.sums) for each in planned.plans if each.sums is not None},
            "at_hand": {
                each.job.material.name: [offer.id for offer in each.job.offers if offer.label] for each in planned.plans
            },
            "plans": {each.job.material.name: plan_to_json(each.plan) for each in planned.plans},
            "sequences": {
                each.job.material.name: sequence_to_json(
                    job_sequence(each.plan.job, each.plan, thin_rip=batch.saw.thin_rip)
                )
                for each in planned.plans
            },
        }
        | ({"lumber": [_lumber_json(each) for each in planned.lumber]} if planned.lumber else {})
        | (
            {}
            if rest_of is None
            else {
                "rest_of": dict(rest_of),
                "layout_numbers": {each.job.material.name: list(each.numbers) for each in planned.plans},
            }
        )
    )


def _lumber_json(bought: BoughtLumber) -> dict[str, Any]:
    """Boards that are resawn, or cut where they are bought: their group, materials and plan."""
    job = bought.job
    at_hand = [offer.id for offer in job.offers if offer.label]
    return {
        "group": job.group, "materials": list(job.materials), "at_hand": at_hand,
        "plan": lumber_plan_to_json(bought.plan),
    }  # fmt: skip


def _sums_json(sums: PlanSums) -> dict[str, Any]:
    """The weighted sums with [worth] of a plan and of the cheapest plan found, and the planner's lower bound."""
    both = {"sum": sums.plan.total, "planner_says_no_sum_below": sums.least}
    return _weighed_json(sums.plan) | both | {"cheapest": _weighed_json(sums.cheapest)}


def _weighed_json(weighed: Weighed) -> dict[str, Any]:
    return {
        "money": weighed.money,
        "layouts": weighed.layouts,
        "settings": weighed.settings,
        "offcuts": weighed.offcuts,
    }
