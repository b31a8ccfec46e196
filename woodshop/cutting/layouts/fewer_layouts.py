"""Finds plans with fewer layouts, and lower bounds on layouts, settings and the weighted sum of any plan for a job.

The bounds are exact counts that do not use a plan. They may be weak, because they count only what is certain. The
bounds on settings apply to plans in which nothing but trims is cut off ahead of a piece, so that waste remains at the
far end of a strip and the far side of a board. The planner makes only such plans, except on boards with
unusable stretches, for which the bound is small.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

from woodshop.cutting.checkers.check import area_of, check_plan
from woodshop.cutting.layouts.boards import Boards, score
from woodshop.cutting.layouts.dive import NeighborhoodSearch
from woodshop.cutting.layouts.recombine import Budget, LayoutGroup, Search, deals, least_layouts, pooled
from woodshop.cutting.layouts.weigh import Weighed, Weighing, Wishes, weigh
from woodshop.cutting.model.job import Blank, Job
from woodshop.cutting.model.plan import Effort, Layout, Plan, cost_of, order_layouts
from woodshop.cutting.order.sequence import plan_as_sawn
from woodshop.cutting.planner.network import width_of
from woodshop.cutting.planner.plan_job import plan as make_plan
from woodshop.cutting.planner.solver import SolverFailedError
from woodshop.errors import NothingToCutError


def least_layouts_of_job(job: Job) -> int:
    """A lower bound on the layouts of any plan.

    Every blank must be in a layout, and a board has space for only a few blanks.
    """
    kx, ky = job.kerf.crosscut, job.kerf.rip if job.is_flat else 0
    weights = sorted(
        min((blank.length + kx) * (width_of(blank) + ky), (width_of(blank) + kx) * (blank.length + ky))
        if blank.rotate
        else (blank.length + kx) * (width_of(blank) + ky)
        for blank in job.blanks
    )
    most = 0
    for stock in job.stock:
        x0, x1, y0, y1 = area_of(stock)
        room = (x1 - x0 + kx) * (y1 - y0 + ky)
        held = 0
        while held < len(weights) and weights[held] <= room:
            room -= weights[held]
            held += 1
        most = max(most, held)
    return -(-len(weights) // max(1, most))


def least_settings(job: Job, layouts: int) -> int:
    """A lower bound on the fence and stop settings, summed over layouts, of a plan with at least `layouts` layouts.

    Every distinct length needs a stop setting in some layout, unless a piece of that length can be the remainder of a
    board from which others are cut. The same is true of widths and the fence. In addition, a layout in which all pieces
    are shorter (narrower) than every board needs at least one crosscut (rip). If all stock is trimmed, each layout also
    needs a setting for its trims.
    """
    least = 0
    for across in (False, True) if job.is_flat else (False,):
        rooms = sorted({_room(area_of(stock), across) for stock in job.stock})
        extents = [own for blank in job.blanks for own in _extents(blank, across)]
        each = int(all(extent not in rooms for extent in extents))
        least += max(_surely_set(job, across, rooms, extents), each * layouts)
        trims = [stock.edge_trim if across else stock.end_trim for stock in job.stock]
        least += layouts if all(trims) else 0
    return least


def least_sum(job: Job, money: int, layout: int, setting: int, offcut: Fraction) -> int:
    """A lower bound on the weighted sum of any plan: its cost, plus layouts and settings, minus offcuts.

    `money` is the lower bound on the cost; `layout` is the value of one layout, `setting` of one setting, and `offcut`
    is the maximum value of offcuts per area. The value of a board's full area, divided by its cost, limits the share of
    the cost that offcuts can return. The area of the pieces does not count as offcuts.
    """
    kinds = [(stock, _area(area_of(stock))) for stock in job.stock]
    share = max((offcut * area / stock.cost for stock, area in kinds if stock.count is None and stock.cost), default=0)
    share = min(Fraction(share), Fraction(1))
    pieces = sum(blank.count * blank.length * width_of(blank) for blank in job.blanks)
    total = money * (1 - share) + offcut * pieces
    for stock, area in kinds:
        if stock.count is not None:
            total += stock.count * min(Fraction(0), share * stock.cost - offcut * area)
    layouts = least_layouts_of_job(job)
    return -(-total.numerator // total.denominator) + layout * layouts + setting * least_settings(job, layouts)


def _room(area: tuple[int, int, int, int], across: bool) -> int:
    return area[3] - area[2] if across else area[1] - area[0]


def _area(area: tuple[int, int, int, int]) -> int:
    return (area[1] - area[0]) * (area[3] - area[2])


def _extents(blank: Blank, across: bool) -> set[int]:
    plain, turned = (width_of(blank), blank.length) if across else (blank.length, width_of(blank))
    return {plain, turned} if blank.rotate else {plain}


def _surely_set(job: Job, across: bool, rooms: list[int], extents: list[int]) -> int:
    """The number of distinct extents that need a setting in every plan."""
    cutting, rules = job.cutting, job.rules
    if job.is_flat and (cutting.stages != 2 or cutting.final_trim):
        return 0
    if not across and (any(stock.unusable for stock in job.stock) or (job.is_flat and rules.longest_rip is not None)):
        return 0
    kerf = job.kerf.rip if across else job.kerf.crosscut
    # Bit n is set if pieces with their kerfs can take up exactly a length of n.
    reached, most = 1, max(rooms)
    for step in sorted({extent + kerf for extent in extents}):
        shift = step
        while shift <= most:
            reached |= reached << shift
            shift *= 2
        reached &= (1 << (most + 1)) - 1
    own = {extent for blank in job.blanks for extent in _extents(blank, across) if not blank.rotate}
    if across and rules.narrow_below is not None and (cutting.first != "along" or rules.longest_rip is not None):
        # In sections, the remainder next to two narrow strips may be the remainder next to one.
        own = {extent for extent in own if extent >= rules.narrow_below}
    return sum(1 for extent in own if not any(room >= extent and reached >> (room - extent) & 1 for room in rooms))


EFFORTS = {"quick": 20_000, "default": 150_000, "long": 1_500_000}
"""The steps of the search among a few layouts, for each effort."""
NEIGHBORHOOD_STEPS = {"quick": 80_000, "default": 800_000, "long": 8_000_000}
"""The steps of the search among all one-dimensional layouts, for each effort."""
_MANY_LAYOUTS, _AFTER = 40, 5
"""A plan of fewer than `_MANY_LAYOUTS` layouts gets a share of the steps. The second search gets 1/`_AFTER`."""
MOST_LISTED = {"quick": 100, "default": 500, "long": 2_500}
"""If there are at most this many layouts per kind of stock, a search that has wishes considers all of them."""

Progress = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class SetupReport:
    """A plan and the results of improving its layouts.

    `least` is exact: no plan that cuts the same number of boards of each kind into the same pieces has fewer layouts.
    If wishes are given, no plan for the job has fewer layouts. `least_settings` is the bound that the function
    `least_settings` describes. If wishes are given, `weighed` holds the terms of the plan's weighted sum,
    `weighed_before` holds the terms for the given plan, and `least_sum` is a lower bound on the sum of any plan.
    """

    plan: Plan
    layouts_before: int
    layouts: int
    least: int
    settings_before: int
    settings: int
    least_settings: int
    weighed_before: Weighed | None = None
    weighed: Weighed | None = None
    least_sum: int | None = None


def fewer_layouts(
    plan: Plan, *, effort: Effort = "default", progress: Progress | None = None, wishes: Wishes | None = None
) -> Plan:
    """A plan with the same stock, cost and bound and no more layouts, or the plan itself if none is found.

    If wishes are given, the result has the same bound and no higher weighted sum, possibly on other stock. Raises
    ValueError for an unknown effort, a plan that is not sound, or wishes that contradict the job.
    """
    return improve_setups(plan, effort=effort, progress=progress, wishes=wishes).plan


def improve_setups(
    plan: Plan, *, effort: Effort = "default", progress: Progress | None = None, wishes: Wishes | None = None
) -> SetupReport:
    """Like `fewer_layouts`, but also returns the figures.

    Counted steps limit the search, so the same input gives the same result.
    """
    if effort not in EFFORTS:
        raise ValueError(f"effort {effort!r}: wanted one of {', '.join(EFFORTS)}")
    faults = check_plan(plan)
    if faults:
        raise ValueError(f"{faults[0].place}: {faults[0].code}; only a sound plan can be improved")
    fault = "" if wishes is None else wishes.fault(plan.job)
    if fault:
        raise ValueError(fault)
    report = _at_equal_stock(plan, effort, progress)
    return report if wishes is None else _weighed(plan, report, wishes, effort, progress)


def _at_equal_stock(plan: Plan, effort: Effort, progress: Progress | None) -> SetupReport:
    boards = Boards(plan)
    least = least_layouts(boards, boards.groups, boards.most_distinct)
    groups, budget = list(boards.groups), Budget(EFFORTS[effort])
    if not plan.job.is_flat:
        # For one-dimensional cutting there are few enough layouts to list them all.
        steps = min(NEIGHBORHOOD_STEPS[effort], NEIGHBORHOOD_STEPS[effort] * len(groups) // _MANY_LAYOUTS)
        try:
            recut = NeighborhoodSearch(boards, groups, steps, stop_at=least)
            groups = recut.run()
            least = recut.stop_at
            budget = Budget(EFFORTS[effort] // _AFTER)
        except SolverFailedError as why:
            if progress is not None:
                progress(f"fewer layouts without a solver: {why}")
    groups = Search(boards, groups, budget, stop_at=least, nodes=300).run()
    groups = _tidied(boards, groups, Budget(EFFORTS[effort] // 10))
    made = plan_as_sawn(replace(plan, layouts=order_layouts([boards.layout(group) for group in groups])))
    before, after = score(plan.job, plan.layouts), score(plan.job, made.layouts)
    if after > before or check_plan(made, plan.job):
        made, after = plan_as_sawn(plan), before
    fewest = least_settings(plan.job, least)
    if progress is not None:
        progress(
            f"{before[0]} layouts, now {after[0]}; at least {least} on this stock; "
            f"{after[1]} settings, at least {fewest}"
        )
    return SetupReport(
        plan=made,
        layouts_before=before[0],
        layouts=after[0],
        least=least,
        settings_before=before[1],
        settings=after[1],
        least_settings=fewest,
    )


def _weighed(plan: Plan, report: SetupReport, wishes: Wishes, effort: Effort, progress: Progress | None) -> SetupReport:
    job = plan.job
    plans = [report.plan, plan, *_of_one_kind(plan, progress)]
    layouts = Weighing(job, wishes, EFFORTS[effort], MOST_LISTED[effort]).run(plans)
    made = plan_as_sawn(with_layouts(plan, layouts))
    if check_plan(made, job):
        made = report.plan
    before, after = weigh(job, plan.layouts, wishes), weigh(job, made.layouts, wishes)
    if progress is not None:
        progress(f"weighted sum {before.total}, now {after.total} {job.money}, of which {after.money} for the stock")
    least = least_layouts_of_job(job)
    return replace(
        report,
        plan=made,
        layouts=len(made.layouts),
        least=least,
        settings=score(job, made.layouts)[1],
        least_settings=least_settings(job, least),
        weighed_before=before,
        weighed=after,
        least_sum=least_sum(job, plan.bound, wishes.layout, wishes.setting, wishes.per_area(job)),
    )


def with_layouts(plan: Plan, layouts: tuple[Layout, ...]) -> Plan:
    """The plan with other layouts for the same job, and the same lower bound."""
    cost = cost_of(plan.job, layouts)
    if cost == plan.cost:
        return replace(plan, layouts=layouts)
    gap = cost - plan.bound
    assurance = "within" if plan.assurance in ("proved", "solved") else plan.assurance
    if not gap:
        assurance = "solved" if plan.bound_kind == "solver" else "proved"
    return replace(plan, layouts=layouts, cost=cost, gap=gap, assurance=assurance)


def _of_one_kind(plan: Plan, progress: Progress | None) -> list[Plan]:
    """Plans of the job that use only one kind of stock: one plan for each kind of which there is enough."""
    job = plan.job
    found = []
    for stock in job.stock if len(job.stock) > 1 else ():
        try:
            alone = make_plan(replace(job, stock=(stock,)), effort="quick", progress=progress)
        except NothingToCutError:
            continue
        own = with_layouts(plan, alone.layouts)
        boards = Boards(own)
        groups = Search(boards, list(boards.groups), Budget(EFFORTS["quick"]), nodes=300).run()
        found.append(replace(own, layouts=order_layouts([boards.layout(group) for group in groups])))
    return found


def _tidied(boards: Boards, groups: list[LayoutGroup], budget: Budget) -> list[LayoutGroup]:
    """The same number of layouts, with pieces exchanged between pairs for fewer settings and better offcuts."""
    again = True
    while again:
        again = False
        for a in range(len(groups)):
            for b in range(a + 1, len(groups)):
                pair = [groups[a], groups[b]]
                targets = [(group.kind, group.times) for group in pair]
                ranks = [boards.rank(group) for group in pair]
                best, chosen = (sum(r[0] for r in ranks), sum(r[1] for r in ranks)), pair
                for tried, made in enumerate(deals(boards, pooled(pair), targets, budget, 200)):
                    ranks = [boards.rank(group) for group in made]
                    total = (sum(r[0] for r in ranks), sum(r[1] for r in ranks))
                    if total < best:
                        best, chosen = total, made
                    if tried >= 20:
                        break
                if chosen is not pair:
                    groups[a], groups[b] = chosen
                    again = True
        if budget.steps <= 0:
            break
    return groups
