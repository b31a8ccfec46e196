"""The old plan's layouts that are not cut yet, as a plan of the rest: always a candidate, so that unchanged counts
change nothing.
"""

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.layouts.fewer_layouts import with_layouts
from woodshop.cutting.layouts.weigh import weigh
from woodshop.cutting.model.job import Blank, Job
from woodshop.cutting.model.plan import Layout, Piece, Plan, order_layouts, order_pieces
from woodshop.cutting.order.sequence import plan_as_sawn
from woodshop.cutting.planner.plan_job import plan_of_layouts
from woodshop.design.settings.worth import Worth, wishes_for
from woodshop.errors import NothingToCutError
from woodshop.plan.plan_batch import plan_one
from woodshop.plan.values import MaterialJob, MaterialPlan

Size = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Kept:
    """Old layouts that serve the new job; `missing` counts the pieces that they do not give, by blank.

    `is_whole` says that they are all that was left of the old plan, with every piece wanted and none missing.
    """

    layouts: tuple[Layout, ...]
    missing: Mapping[str, int]
    is_whole: bool


def size_of(blank: Blank) -> Size:
    """The sides of a blank; of one that may be turned, the longer first."""
    width = blank.width or 0
    return (max(blank.length, width), min(blank.length, width)) if blank.rotate else (blank.length, width)


def kept_layouts(old: Plan, done: Mapping[int, int], job: Job, stock_name: Callable[[str], str]) -> Kept:
    """What is left of the old layouts, each piece given to a blank of its size that still wants one.

    `done` counts the boards cut of each layout; `stock_name` is what the new job calls an old stock. Pieces that
    nobody wants are left out, or marked spare where the job keeps spares.
    """
    spares = job.rules.surplus == "spare"
    needed = Counter({blank.id: blank.count for blank in job.blanks})
    by_size: dict[Size, list[str]] = {}
    for blank in job.blanks:
        by_size.setdefault(size_of(blank), []).append(blank.id)
    sizes = {blank.id: size_of(blank) for blank in old.job.blanks}
    boards: Counter[tuple[str, str | None, tuple[Piece, ...]]] = Counter()
    is_whole = True
    for n, layout in enumerate(old.layouts):
        for _ in range(layout.times - done.get(n, 0)):
            pieces: list[Piece] = []
            for piece in layout.pieces:
                alike = by_size.get(sizes[piece.id], [])
                order = [piece.id, *alike] if piece.id in alike else alike
                wanting = None if piece.spare else next((name for name in order if needed[name]), None)
                if wanting is not None:
                    needed[wanting] -= 1
                    pieces.append(replace(piece, id=wanting))
                else:
                    is_whole = is_whole and piece.spare
                    if spares and alike:
                        pieces.append(replace(piece, id=order[0], spare=True))
            if any(not piece.spare for piece in pieces):
                boards[stock_name(layout.stock), layout.first, order_pieces(pieces)] += 1
            else:
                is_whole = False
    layouts = order_layouts([Layout(stock, times, own, first) for (stock, first, own), times in boards.items()])
    missing = {name: count for name, count in needed.items() if count}
    return Kept(layouts, missing, is_whole and not missing)


def whole_plan(kept: Kept, job: MaterialJob) -> MaterialPlan | None:
    """The old layouts as the plan of the rest, where they are just what is wanted and pass the check."""
    if not kept.is_whole:
        return None
    made = plan_of_layouts(job.job, kept.layouts)
    return None if check_plan(made, job.job) else MaterialPlan(job, made)


def cheaper(found: MaterialPlan, kept: Kept, worth: Worth | None, effort: str) -> MaterialPlan:
    """The plan found, or the old layouts with a plan of what they miss, where those cost no more."""
    job = found.job.job
    layouts = kept.layouts
    if kept.missing:
        used = Counter[str]()
        for layout in layouts:
            used[layout.stock] += layout.times
        blanks = tuple(replace(b, count=kept.missing[b.id]) for b in job.blanks if b.id in kept.missing)
        stock = tuple(
            each if each.count is None else replace(each, count=each.count - used[each.id])
            for each in job.stock
            if each.count is None or each.count > used[each.id]
        )
        needs = tuple(
            replace(need, count=kept.missing[blank.id])
            for blank, need in zip(job.blanks, found.job.needs, strict=True)
            if blank.id in kept.missing
        )
        part = replace(found.job, job=replace(job, blanks=blanks, stock=stock), needs=needs)
        try:
            layouts = order_layouts([*layouts, *plan_one(part, worth, effort).plan.layouts])
        except NothingToCutError:
            return found
    other = with_layouts(found.plan, layouts) if layouts else found.plan
    if other is found.plan or check_plan(other, job):
        return found
    other = plan_as_sawn(other)
    wishes = wishes_for(worth, found.job.material, found.job.grid, job)
    costs = [plan.cost if wishes is None else weigh(job, plan.layouts, wishes).total for plan in (other, found.plan)]
    return MaterialPlan(found.job, other) if costs[0] < costs[1] else found
