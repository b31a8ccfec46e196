"""Makes the plan of a large job cheaper: the boards that lose most are planned again, as a job of their own.

A board loses what it costs above the worth of its pieces. In a plan of hundreds of boards, whole numbers of patterns
cost most on a few of them. The solver finds good whole numbers for those few, and new patterns for them are priced.
"""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from woodshop.cutting.model.job import Job
from woodshop.cutting.model.plan import Effort, Layout, cost_of, order_layouts
from woodshop.cutting.planner.integer import search
from woodshop.cutting.planner.network import build_network

_BOARDS = 40  # are planned again
_LEAST_BOARDS = 60  # in the plan; with fewer, the whole job was just as easy
_ROUNDS: dict[Effort, int] = {"quick": 1, "default": 3, "long": 8}
_FINE = 1_000  # ends if the bound is within 1/_FINE of the cost


def replan_worst(
    job: Job,
    layouts: tuple[Layout, ...],
    prices: Mapping[str, int],
    scale: int,
    *,
    bound: int,
    effort: Effort,
    say: Callable[[str], None],
) -> tuple[Layout, ...]:
    """The layouts, or cheaper ones. `prices` of the blanks are in 1/`scale`; no plan costs less than `bound`.

    `say` gets each cost that it found, and the one before. Raises SolverFailedError.
    """
    for _ in range(_ROUNDS[effort]):
        cost = cost_of(job, layouts)
        boards = [layout for layout in layouts for _ in range(layout.times)]
        if len(boards) < _LEAST_BOARDS or (cost - bound) * _FINE <= cost:
            break
        costs = {stock.id: stock.cost * scale for stock in job.stock}

        def loss(layout: Layout, costs: Mapping[str, int] = costs) -> int:
            return costs[layout.stock] - sum(prices.get(piece.id, 0) for piece in layout.pieces if not piece.spare)

        boards = [replace(layout, times=1) for layout in sorted(boards, key=loss, reverse=True)]
        worst, kept = boards[:_BOARDS], boards[_BOARDS:]
        part = _job_of(job, worst, kept)
        found = search(part, build_network(part), effort, progress=say).layouts
        if found is None or cost_of(part, found) >= cost_of(part, worst):
            break
        layouts = _joined([*kept, *found])
        say(f"{len(worst)} boards planned again: {cost_of(job, layouts)} instead of {cost}")
    return layouts


def _job_of(job: Job, worst: Sequence[Layout], kept: Sequence[Layout]) -> Job:
    """The job of the pieces on the worst boards, with the stock that the kept ones leave."""
    needed = Counter(piece.id for layout in worst for piece in layout.pieces if not piece.spare)
    used = Counter(layout.stock for layout in kept)
    left = [
        stock if stock.count is None else replace(stock, count=stock.count - used[stock.id])
        for stock in job.stock
        if stock.count is None or stock.count > used[stock.id]
    ]
    blanks = [replace(blank, count=needed[blank.id]) for blank in job.blanks if needed[blank.id]]
    return replace(job, stock=tuple(left), blanks=tuple(blanks))


def _joined(layouts: Sequence[Layout]) -> tuple[Layout, ...]:
    """The layouts in the plan's order, equal ones as one."""
    times = Counter[Layout]()
    for layout in layouts:
        times[replace(layout, times=1)] += layout.times
    return order_layouts([replace(layout, times=count) for layout, count in times.items()])
