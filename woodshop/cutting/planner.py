"""From a job to a plan: the cheapest stock that yields every blank, with what no plan can cost less than.

1. Every way of cutting as knapsacks (`network`), all their maximal patterns as columns (`columns`), or, when there
   are too many, the columns that pricing finds.
2. The linear answer, and from its rounded dual prices a bound in exact integers.
3. The integer answer, first over few columns, then over all that could still be in a cheaper plan.
4. Layouts (`assemble`), and the check (`check`), which shares no code with any of this.

Without a solver, or when it fails, the pencil rule (`first_fit`) answers. Node limits and never time limits
end the search, so the same job gives the same plan.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from woodshop.cutting.assemble import finish, lay_out
from woodshop.cutting.check import check_plan
from woodshop.cutting.columns import (
    SCALE,
    Column,
    Programme,
    certified_bound,
    enumerate_columns,
    generate_columns,
    price_step,
    programme_of,
    round_up,
    whole_prices,
)
from woodshop.cutting.first_fit import first_fit
from woodshop.cutting.job import Job, job_digest
from woodshop.cutting.network import Network, build_network
from woodshop.cutting.plan import Layout, Plan
from woodshop.cutting.shortage import missing_stock, refuse_unfit
from woodshop.cutting.solver import SolverFailedError, solve_relaxed, solve_whole
from woodshop.errors import NothingToCutError, Problem

Progress = Callable[[str], None]
NODES = {"quick": (50, 200), "default": (200, 2500), "long": (1000, 60_000)}
"""Nodes at most per effort: in the first search over few columns, and in the full one."""


@dataclass(frozen=True, slots=True)
class _Answer:
    """Layouts found, and the best bound with its kind; `is_closed` when the solver's gap is nil."""

    layouts: tuple[Layout, ...] | None
    bound: int
    kind: str
    is_closed: bool


def plan(job: Job, *, effort: str = "default", progress: Progress | None = None) -> Plan:
    """The cheapest plan found for a job, checked before it is returned.

    `effort` is "quick", "default" or "long" (node limits); `progress` gets a line of text now and then.
    Raises NothingToCutError when a blank fits no stock, when limited stock is short, or when the plan fails its
    own check.
    """
    if effort not in NODES:
        raise ValueError(f"effort {effort!r}: wanted one of {', '.join(NODES)}")
    network = build_network(job)
    refuse_unfit(job, network)
    pencil = first_fit(job, network)
    area = area_bound(job, network)
    try:
        answer = _search(job, network, NODES[effort], progress)
    except SolverFailedError as error:
        if progress is not None:
            progress(f"no solver: {error}")
        answer = _Answer(None, 0, "area", False)
    candidates = [] if answer.layouts is None else [(cost_of(job, answer.layouts), 0, answer.layouts)]
    if pencil is not None:
        layouts = finish(job, network, pencil)
        candidates.append((cost_of(job, layouts), 1, layouts))
    if not candidates:
        raise NothingToCutError(*missing_stock(job, network))
    cost, by_pencil, layouts = min(candidates, key=lambda candidate: candidate[:2])
    made = _judged(job, cost, layouts, answer, area, is_pencil=bool(by_pencil) and answer.layouts is None)
    faults = check_plan(made, job)
    if faults:
        do = "This is a fault of the planner: keep the job file and report it."
        raise NothingToCutError(*(Problem(fault.place, f"{fault.code}: {fault.value}", fault.limits, do) for fault in faults))
    return made


def cost_of(job: Job, layouts: Sequence[Layout]) -> int:
    """What the stock of these layouts costs."""
    costs = {stock.id: stock.cost for stock in job.stock}
    return sum(costs[layout.stock] * layout.times for layout in layouts)


def _judged(
    job: Job, cost: int, layouts: tuple[Layout, ...], answer: _Answer, area: int, *, is_pencil: bool
) -> Plan:
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


def _search(job: Job, network: Network, nodes: tuple[int, int], progress: Progress | None) -> _Answer:
    columns = enumerate_columns(network)
    if columns is None:
        return _search_priced(job, network, nodes, progress)
    programme = programme_of(job, network, columns, is_whole=network.complete)
    relaxed = solve_relaxed_or_none(programme)
    if relaxed is None:
        return _Answer(None, 0, "root", False)
    bound = 0
    if network.complete:
        prices = whole_prices(programme, relaxed, len(network.sizes))
        bound = certified_bound(job, network, prices, columns) or 0
    if progress is not None:
        progress(f"{len(columns)} patterns; nothing can cost less than {bound}")
    return _integer(job, network, programme, bound, relaxed.value, relaxed.reduced, nodes, progress)


def solve_relaxed_or_none(programme: Programme):  # type: ignore[no-untyped-def]
    """The linear answer, or None when limited stock cannot make every blank."""
    try:
        return solve_relaxed(programme.model)
    except SolverFailedError:
        if any(most is not None for _, most in programme.model.rows):
            return None
        raise


def _search_priced(job: Job, network: Network, nodes: tuple[int, int], progress: Progress | None) -> _Answer:
    priced = generate_columns(job, network, progress)
    if priced is None:
        raise SolverFailedError("the job's numbers are too fine for exact pricing")
    columns, bound, _ = priced
    programme = programme_of(job, network, columns, is_whole=False)
    relaxed = solve_relaxed_or_none(programme)
    if relaxed is None:
        return _Answer(None, 0, "root", False)
    return _integer(
        job, network, programme, bound if network.complete else 0, relaxed.value, relaxed.reduced, nodes, progress
    )


def _integer(
    job: Job,
    network: Network,
    programme: Programme,
    bound: int,
    value: float,
    reduced: Sequence[float],
    nodes: tuple[int, int],
    progress: Progress | None,
) -> _Answer:
    step = price_step(job)
    gap = step - step / 1000
    few = [n for n in range(len(programme.columns)) if reduced[n] <= 0.004 * value + 1e-6]
    best = _whole(programme, few, nodes[0], gap, None)
    keep = list(range(len(programme.columns)))
    if best is not None:
        # A column whose reduced cost exceeds what is left of the gap is in no cheaper plan.
        keep = [n for n in keep if reduced[n] <= best[0] - value + 1e-6 or best[1].get(n)]
    if progress is not None:
        progress(f"first search: {best[0] if best else 'nothing yet'}; {len(keep)} of {len(programme.columns)} patterns kept")
    hint = None if best is None else [best[1].get(n, 0) for n in keep]
    answer = solve_whole(_part(programme, keep), nodes=nodes[1], absolute_gap=gap, hint=hint)
    if answer.counts is not None:
        counts = {keep[n]: count for n, count in enumerate(answer.counts) if count}
        cost = sum(programme.model.costs[n] * count for n, count in counts.items())
        if best is None or cost <= best[0]:
            best = (cost, counts)
    if best is None:
        return _Answer(None, bound, "root", False)
    layouts = lay_out(job, network, programme.columns, [best[1].get(n, 0) for n in range(len(programme.columns))])
    kind, closed = "root", False
    if programme.is_whole:
        closed = answer.is_closed
        # The solver's bound holds for the columns kept, and so for every plan cheaper than the first search's.
        floating = round_up(ceil(answer.bound - 1e-6 * max(1.0, abs(answer.bound))), step)
        if floating > bound:
            bound, kind = min(floating, best[0]), "solver"
    return _Answer(layouts, bound, kind, closed)


def _part(programme: Programme, keep: Sequence[int]):  # type: ignore[no-untyped-def]
    model = programme.model
    return type(model)(tuple(model.costs[n] for n in keep), tuple(model.columns[n] for n in keep), model.rows)


def _whole(
    programme: Programme, keep: Sequence[int], nodes: int, gap: float, hint: Sequence[int] | None
) -> tuple[int, dict[int, int]] | None:
    answer = solve_whole(_part(programme, keep), nodes=nodes, absolute_gap=gap, hint=hint)
    if answer.counts is None:
        return None
    counts = {keep[n]: count for n, count in enumerate(answer.counts) if count}
    return sum(programme.model.costs[n] * count for n, count in counts.items()), counts
