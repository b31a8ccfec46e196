"""The boards to cut first, so that one complete unit of each kind can be built and tried before the rest is cut.

A kind is an item with the box that it fits, such as a rim or a quilt box for one width of box. If hives with identical
boxes have different parts, the parts of the first hives in the design are used. The units for one width of box are then
a complete set to try on a hive.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from woodshop.cutting.model.job import Job
from woodshop.cutting.model.plan import Layout
from woodshop.cutting.planner.solver import Model, SolverFailedError, solve_whole
from woodshop.design.batch import Unit
from woodshop.plan.parts_needed import parts_of_units
from woodshop.plan.values import MaterialPlan, PlannedBatch

MOST_SHARE = Fraction(1, 3)  # of a material's boards; more is not a first step. Common practice, no source
_NODES = 20_000


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstBoards:
    """The boards of one material to cut first.

    `times` says how often each layout of the plan is cut for these boards, in the order of the plan. `wanted` holds the
    pieces for one unit of each kind, keyed by blank. `boards` is the number of these boards, `of` the number of all
    boards. `is_cut_first` says whether they are cut first; it is false if they are more than a third of the material's
    boards, or if no choice is known.
    """

    times: tuple[int, ...]
    wanted: tuple[tuple[str, int], ...]
    of: int
    is_cut_first: bool

    @property
    def boards(self) -> int:
        """The number of boards to cut first."""
        return sum(self.times)


def first_boards(planned: PlannedBatch) -> tuple[FirstBoards, ...]:
    """The boards to cut first, for the plan of each material."""
    wanted = first_units(planned)
    return tuple(_of_plan(plan, wanted) for plan in planned.plans)


def first_units(planned: PlannedBatch) -> dict[str, int]:
    """The pieces of one unit of each kind, counted by blank."""
    parts = parts_of_units(planned.units)
    return dict(sum((Counter(parts[n]) for n in first_kinds(planned.units)), Counter()))


def first_kinds(units: Sequence[Unit]) -> tuple[int, ...]:
    """The positions in `units`, counted from 0, of the first made unit of each kind."""
    kinds: dict[tuple[str, str], int] = {}
    for n, unit in enumerate(units):
        if unit.line.count:
            kinds.setdefault((unit.line.item.name, unit.line.fits), n)
    return tuple(kinds.values())


def _of_plan(plan: MaterialPlan, wanted: Mapping[str, int]) -> FirstBoards:
    job, layouts = plan.plan.job, plan.plan.layouts
    own = {blank.id: min(wanted.get(blank.id, 0), blank.count) for blank in job.blanks}
    of = sum(layout.times for layout in layouts)
    times = fewest_boards(job, layouts, own)
    is_few = times is not None and sum(times) <= MOST_SHARE * of and plan.job.material.is_sawn
    return FirstBoards(
        times=times or (0,) * len(layouts),
        wanted=tuple((name, count) for name, count in own.items() if count),
        of=of,
        is_cut_first=is_few,
    )


def fewest_boards(job: Job, layouts: Sequence[Layout], wanted: Mapping[str, int]) -> tuple[int, ...] | None:
    """How many times to cut each layout, up to its `times`, to get at least the wanted pieces from the fewest boards.

    Among equal choices, the result is the cheapest, then the one with the earliest layouts in the plan (the smallest
    sum of positions). Spare pieces count as pieces. Returns None if the layouts do not yield the pieces, or if the
    search cannot be completed.
    """
    costs = {stock.id: stock.cost for stock in job.stock}
    rows = [(count, None) for count in wanted.values()]
    numbers = {name: n for n, name in enumerate(wanted)}
    aims = [(1,) * len(layouts), tuple(costs[layout.stock] for layout in layouts), tuple(range(1, len(layouts) + 1))]
    columns: list[tuple[tuple[int, int], ...]] = []
    for n, layout in enumerate(layouts):
        held = Counter(piece.id for piece in layout.pieces if piece.id in numbers)
        own = [(numbers[name], count) for name, count in held.items()]
        columns.append(
            (*own, (len(rows) + n, 1), *((len(rows) + len(layouts) + k, aim[n]) for k, aim in enumerate(aims)))
        )
    limits: list[tuple[int | None, int | None]] = [*rows, *((0, layout.times) for layout in layouts)]
    best: list[tuple[int | None, int | None]] = [(None, None)] * len(aims)
    counts: tuple[int, ...] | None = None
    for k, aim in enumerate(aims):
        model = Model(aim, tuple(columns), (*limits, *best))
        try:
            answer = solve_whole(model, nodes=_NODES, absolute_gap=0.5, hint=counts)
        except SolverFailedError:
            return None
        if answer.counts is None or not answer.is_solved:
            return None
        counts = answer.counts
        best[k] = (None, sum(each * count for each, count in zip(aim, counts, strict=True)))
    return counts
