"""From a job to a plan: the cheapest stock that yields every blank, with what no plan can cost less than.

1. Every way of cutting as knapsacks (`network`), all their maximal patterns as columns (`columns`), or, when there
   are too many, the columns that pricing finds.
2. The linear answer, and from its rounded dual prices a bound in exact integers.
3. The integer answer, first over few columns, then over all that could still be in a cheaper plan.
4. Layouts (`assemble`), and the check (`check`), which shares no code with any of this.

Without a solver, or when it fails, the pencil rule (`first_fit`) answers. Node limits and never time limits
end the search, so the same job gives the same plan.
"""

from collections.abc import Callable
from fractions import Fraction
from math import ceil

from woodshop.cutting.assemble import finish
from woodshop.cutting.check import check_plan
from woodshop.cutting.columns import price_step, round_up
from woodshop.cutting.first_fit import first_fit
from woodshop.cutting.integer import EFFORTS, Answer, search
from woodshop.cutting.job import Job, job_digest
from woodshop.cutting.network import Network, build_network
from woodshop.cutting.plan import Layout, Plan, cost_of
from woodshop.cutting.shortage import missing_stock, refuse_unfit
from woodshop.cutting.solver import SolverFailedError
from woodshop.errors import NothingToCutError, Problem

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
    area = area_bound(job, network)
    try:
        answer = search(job, network, effort, progress, area)
    except SolverFailedError as error:
        if progress is not None:
            progress(f"no solver: {error}")
        answer = Answer(None, 0, "area", False)
    candidates = [] if answer.layouts is None else [(cost_of(job, answer.layouts), 0, answer.layouts)]
    if pencil is not None:
        layouts = finish(job, network, pencil)
        candidates.append((cost_of(job, layouts), 1, layouts))
    if not candidates:
        raise NothingToCutError(*missing_stock(job, network, answer.missing))
    cost, by_pencil, layouts = min(candidates, key=lambda candidate: candidate[:2])
    made = _judged(job, cost, layouts, answer, area, is_pencil=bool(by_pencil) and answer.layouts is None)
    faults = check_plan(made, job)
    if faults:
        do = "This is a fault of the planner: keep the job file and report it."
        raise NothingToCutError(
            *(Problem(fault.place, f"{fault.code}: {fault.value}", fault.limits, do) for fault in faults)
        )
    return made


def _judged(job: Job, cost: int, layouts: tuple[Layout, ...], answer: Answer, area: int, *, is_pencil: bool) -> Plan:
    bound, kind = answer.bound, answer.kind
    if area >= bound:
        bound, kind = area, "area"
    if answer.is_closed and bound < cost:
        bound, kind = cost, "solver"
    bound = min(bound, cost)
    if bound == cost:
        assurance = "closed" if kind == "solver" else "proved"
    else:
        assurance = "first_fit" if is_pencil else "within"
    return Plan(job, job_digest(job), cost, bound, kind, assurance, cost - bound, layouts)


def area_bound(job: Job, network: Network) -> int:
    """What the material alone must cost: every piece takes (length + kerf) x (width + kerf) of stock that has
    (length + kerf) x (width + kerf) per stretch, the cheapest stock per area first. Exact."""
    kx, ky = job.kerf.crosscut, job.kerf.rip
    need = 0
    for size in network.sizes:
        plain = (size.length + kx) * (size.width + ky)
        turned = (size.width + kx) * (size.length + ky)
        need += size.count * (min(plain, turned) if size.rotate else plain)
    offers = []
    for stock, board in zip(job.stock, network.boards, strict=True):
        area = sum(extent + kx for _, extent in board.segments) * (board.width + ky)
        if area:
            offers.append((Fraction(stock.cost, area), area, stock.count))
    total, left = Fraction(0), Fraction(need)
    for price, area, count in sorted(offers, key=lambda offer: offer[0]):
        taken = left if count is None else min(left, Fraction(area * count))
        total += taken * price
        left -= taken
    return round_up(ceil(total), price_step(job))
