"""From a job to a plan: the cheapest stock that yields every blank, with what no plan can cost less than.

1. Every way of cutting as knapsacks (`network`), all their maximal patterns as columns (`columns`), or, when there
   are too many, the columns that pricing finds.
2. The linear answer, and from its rounded dual prices a certificate of what no plan can cost less than (`prove`).
3. The integer answer, first over few columns, then over all that could still be in a cheaper plan.
4. Layouts (`assemble`), each piece where its cuts put it (`sequence`), then the check (`check`) and the proof
   (`prove`), which share no code with any of this.

Without a solver, or when it fails, the pencil rule (`first_fit`) answers. Node limits and never time limits
end the search, so the same job gives the same plan.
"""

from collections.abc import Callable
from dataclasses import replace

from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.checkers.prove import prove_plan
from woodshop.cutting.model.job import Job, job_digest
from woodshop.cutting.model.plan import Certificate, Layout, Plan, cost_of
from woodshop.cutting.order.sequence import plan_as_sawn
from woodshop.cutting.planner.assemble import finish
from woodshop.cutting.planner.certificate import area_prices, certify
from woodshop.cutting.planner.columns import enumerate_columns
from woodshop.cutting.planner.first_fit import first_fit
from woodshop.cutting.planner.integer import EFFORTS, Answer, search
from woodshop.cutting.planner.network import build_network
from woodshop.cutting.planner.shortage import missing_stock, refuse_unfit
from woodshop.cutting.planner.solver import SolverFailedError
from woodshop.errors import NothingToCutError, Problem

_MOST_IN_TWO_STAGES = 3_000

Progress = Callable[[str], None]


def plan(job: Job, *, effort: str = "default", progress: Progress | None = None) -> Plan:
    """The cheapest plan found for a job, checked before it is returned.

    `effort` is "quick", "default" or "long" (node limits); `progress` gets a line of text now and then.
    Raises NothingToCutError when a blank fits no stock, when limited stock is short, or when the plan fails its
    own check.
    """
    if effort not in EFFORTS:
        raise ValueError(f"effort {effort!r}: wanted one of {', '.join(EFFORTS)}")
    network = build_network(job)
    refuse_unfit(job, network)
    pencil = first_fit(job, network)
    area = certify(job, network, area_prices(job, network))
    fewer = _in_two_stages(job, effort, progress)
    try:
        answer = search(job, network, effort, progress=progress, floor=area.bound if area else 0, known=fewer)
    except SolverFailedError as error:
        if progress is not None:
            progress(f"no solver: {error}")
        answer = Answer(None, 0, False)
    kind, certificate = "area", area
    if answer.prices is not None:
        root = certify(job, network, answer.prices)
        if root is not None and (area is None or root.bound > area.bound):
            kind, certificate = "root", root
    candidates = [] if answer.layouts is None else [(cost_of(job, answer.layouts), 0, answer.layouts)]
    if fewer is not None:
        candidates.append((cost_of(job, fewer), 0, fewer))
    if pencil is not None:
        layouts = finish(job, network, pencil)
        candidates.append((cost_of(job, layouts), 1, layouts))
    if not candidates:
        raise NothingToCutError(*missing_stock(job, network, answer.missing))
    cost, by_pencil, layouts = min(candidates, key=lambda candidate: candidate[:2])
    is_pencil = bool(by_pencil) and answer.layouts is None
    made = _judged(job, cost, layouts, answer=answer, kind=kind, certificate=certificate, is_pencil=is_pencil)
    faults = check_plan(made, job) + prove_plan(made)
    if not faults:
        made = plan_as_sawn(made)
        faults = check_plan(made, job)
    if faults:
        do = "This is a fault of the planner: keep the job file and report it."
        raise NothingToCutError(
            *(Problem(fault.place, f"{fault.code}: {fault.value}", fault.limits, do) for fault in faults)
        )
    return made


def plan_of_layouts(job: Job, layouts: tuple[Layout, ...]) -> Plan:
    """A plan of layouts that are given, with the bound that the material needed alone proves. It is not checked."""
    area = certify(job, (network := build_network(job)), area_prices(job, network))
    cost = cost_of(job, layouts)
    return _judged(job, cost, layouts, answer=Answer(None, 0, False), kind="area", certificate=area, is_pencil=False)


def refuse_uncuttable(job: Job) -> None:
    """Raise NothingToCutError where no plan of the job can be found: a blank fits no stock, or limited stock is short.

    It searches only where all stock is limited.
    """
    refuse_unfit(job, build_network(job))
    if all(stock.count is not None for stock in job.stock):
        plan(job, effort="quick")


def _in_two_stages(job: Job, effort: str, progress: Progress | None) -> tuple[Layout, ...] | None:
    """The best plan of two stages for a job of three, which may leave one out: ripped first as well where sections come
    first, since a board ripped whole is one of a single section. A plan of which so many patterns must be tried that
    it would take longer than the job itself gets the quick effort, unless it is the only one."""
    if job.cutting.stages != 3:
        return None
    best: tuple[Layout, ...] | None = None
    for first in ("along", "across") if job.cutting.first == "across" else (job.cutting.first,):
        fewer = replace(job, cutting=replace(job.cutting, stages=2, first=first))
        is_long = best is not None and enumerate_columns(build_network(fewer), _MOST_IN_TWO_STAGES) is None
        try:
            found = plan(fewer, effort="quick" if is_long else effort, progress=progress).layouts
        except NothingToCutError:
            continue  # nothing fits in two stages
        if first != job.cutting.first:
            found = tuple(replace(layout, first=job.cutting.first) for layout in found)
        if best is None or cost_of(job, found) < cost_of(job, best):
            best = found
    return best


def _judged(
    job: Job,
    cost: int,
    layouts: tuple[Layout, ...],
    *,
    answer: Answer,
    kind: str,
    certificate: Certificate | None,
    is_pencil: bool,
) -> Plan:
    bound = certificate.bound if certificate else 0
    floating = cost if answer.is_closed else min(answer.floating, cost)
    if floating > bound:
        bound, kind = floating, "solver"
    if bound == cost:
        assurance = "closed" if kind == "solver" else "proved"
    else:
        assurance = "first_fit" if is_pencil else "within"
    return Plan(
        job=job,
        job_digest=job_digest(job),
        cost=cost,
        bound=bound,
        bound_kind=kind,
        assurance=assurance,
        gap=cost - bound,
        layouts=layouts,
        certificate=certificate,
    )
