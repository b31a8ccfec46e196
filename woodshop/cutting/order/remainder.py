"""The rest of a job: what is still to be cut, after some was cut and some of that failed, from what stock is left.

Layouts that the user keeps are cut as they were: their pieces and boards are taken out of the new problem.
Everything else is planned anew, with the purchases still to make weighed afresh.
"""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from woodshop.cutting.model.job import Job, Stock
from woodshop.cutting.model.plan import Layout, Plan, cost_of
from woodshop.cutting.planner.plan_job import plan as plan_job
from woodshop.errors import InputError, Problem


@dataclass(frozen=True, slots=True)
class Remainder:
    """What is still to be done: `kept` layouts as they were, and a plan for all else.

    `job` and `plan` are those of what the kept layouts leave over (None when that is nothing); the plan's bound speaks
    of that job alone. `cost`: kept boards and the plan's together.
    """

    job: Job | None
    plan: Plan | None
    kept: tuple[Layout, ...]
    cost: int


def rest_of(
    plan: Plan,
    done: Mapping[int, int],
    failed: Mapping[str, int] | None = None,
    stock: Sequence[Stock] | None = None,
    keep: Mapping[int, int] | None = None,
    *,
    planner: Callable[[Job], Plan] = plan_job,
) -> Remainder:
    """The job and plan of what a plan has not yet made.

    `done`: place of a layout in `plan.layouts` to boards cut so; `keep`: the same to boards still to be cut so.
    `failed`: blank id to pieces to be made again; spares that were cut stand in for them. `stock`: all that is there or
    can be bought now; absent, the job's stock less what was cut. Raises InputError with every wrong number at once, and
    NothingToCutError as the planner does.
    """
    failed, keep = failed or {}, keep or {}
    cut = [replace(plan.layouts[n], times=times) for n, times in done.items() if 0 <= n < len(plan.layouts)]
    kept = tuple(
        replace(plan.layouts[n], times=times)
        for n, times in sorted(keep.items())
        if 0 <= n < len(plan.layouts) and times
    )
    rows = tuple(stock) if stock is not None else _less(plan.job.stock, cut)
    _refuse(plan, done, failed, rows, keep)
    good, spare, planned = _pieces(cut, spare=False), _pieces(cut, spare=True), _pieces(kept, spare=False)
    blanks = []
    for blank in plan.job.blanks:
        again = max(0, failed.get(blank.id, 0) - spare[blank.id])
        due = blank.count - good[blank.id] + again - planned[blank.id]
        if due:
            blanks.append(replace(blank, count=due))
    held = cost_of(replace(plan.job, stock=rows), kept)
    if not blanks:
        return Remainder(None, None, kept, held)
    job = replace(plan.job, stock=_less(rows, kept), blanks=tuple(blanks))
    if not job.stock:
        do = "Say what stock there is now, or what can be bought."
        raise InputError(Problem("stock", "nothing left", f"stock for {len(blanks)} blanks", do))
    made = planner(job)
    return Remainder(job, made, kept, held + made.cost)


def _pieces(layouts: Sequence[Layout], *, spare: bool) -> Counter[str]:
    total: Counter[str] = Counter()
    for layout in layouts:
        for piece in layout.pieces:
            if piece.spare == spare:
                total[piece.id] += layout.times
    return total


def _less(stock: Sequence[Stock], layouts: Sequence[Layout]) -> tuple[Stock, ...]:
    """The stock without the boards of these layouts; what is used up is left out."""
    used: Counter[str] = Counter()
    for layout in layouts:
        used[layout.stock] += layout.times
    return tuple(
        row if row.count is None else replace(row, count=row.count - used[row.id])
        for row in stock
        if row.count is None or row.count > used[row.id]
    )


def _refuse(
    plan: Plan, done: Mapping[int, int], failed: Mapping[str, int], stock: Sequence[Stock], keep: Mapping[int, int]
) -> None:
    problems = []
    last = len(plan.layouts) - 1
    for name, counts in (("done", done), ("keep", keep)):
        for n, times in sorted(counts.items()):
            where = f"{name}.{n}"
            if not 0 <= n <= last:
                problems.append(
                    Problem(where, f"layout {n}", f"0 to {last}", "Give the place of a layout of the plan.")
                )
                continue
            most = plan.layouts[n].times - (done.get(n, 0) if name == "keep" else 0)
            if not 0 <= times <= most:
                wanted = f"0 to {most}, the boards {'planned' if name == 'done' else 'not yet cut'}"
                problems.append(Problem(where, f"{times} boards", wanted, "Correct the number."))
    cut = [replace(plan.layouts[n], times=times) for n, times in done.items() if 0 <= n <= last]
    all_cut = _pieces(cut, spare=False) + _pieces(cut, spare=True)
    known = {blank.id for blank in plan.job.blanks}
    for name, count in sorted(failed.items()):
        if name not in known:
            problems.append(Problem(f"failed.{name}", name, "the id of a blank", "Correct the name."))
        elif not 0 <= count <= all_cut[name]:
            wanted = f"0 to {all_cut[name]}, the pieces cut"
            problems.append(Problem(f"failed.{name}", f"{count} pieces", wanted, "Correct the number."))
    there = {row.id: row for row in stock}
    before = {row.id: row for row in plan.job.stock}
    need: Counter[str] = Counter()
    for n, times in keep.items():
        if 0 <= n <= last and times > 0:
            need[plan.layouts[n].stock] += times
    for name, times in sorted(need.items()):
        row = there.get(name)
        here = 0 if row is None else row.count
        if here is not None and here < times:
            problems.append(Problem("keep", f"{times} of {name!r}", f"{here}, what is left", "Keep fewer layouts."))
        elif row is not None and replace(row, cost=0, count=None) != replace(before[name], cost=0, count=None):
            problems.append(Problem("keep", f"{name!r} of another size", "the stock as planned", "Plan these anew."))
    if problems:
        raise InputError(*problems)
