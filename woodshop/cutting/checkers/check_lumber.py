"""Checks a plan in several thicknesses, using only its numbers and code that is independent of the planner.

Each bought board is divided, and each part resawn, anew; the home boards that result are the stock of one job for each
thickness. The layouts of each thickness are then checked as a plan for that job.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from math import gcd

from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.model.job import Job, Stock, job_digest
from woodshop.cutting.model.lumber_job import Lumber, LumberJob, lumber_digest
from woodshop.cutting.model.lumber_plan import BoughtBoard, BoughtPart, LumberPlan
from woodshop.cutting.model.plan import Plan
from woodshop.findings import Finding, Severity

Error = Callable[[str, str, str, str, str], None]
_AGAIN = "Plan again."


def check_lumber_plan(plan: LumberPlan, job: LumberJob | None = None) -> tuple[Finding, ...]:
    """Every fault in a plan, as an error finding; none for a sound plan. If `job` is given, the plan must be for it."""
    found: list[Finding] = []

    def error(code: str, place: str, value: str, limits: str, change: str) -> None:
        found.append(Finding(code, Severity.ERROR, place, value, limits, "the job's own numbers", change))

    digest = lumber_digest(plan.job)
    if plan.job_digest != digest:
        error("plan-digest", "job_digest", plan.job_digest[:12], f"{digest[:12]}, of the job inside", _AGAIN)
    if job is not None and lumber_digest(job) != digest:
        error("plan-digest", "job", digest[:12], f"{lumber_digest(job)[:12]}, of the job given", "Plan this job.")
    lumber = {own.stock.id: own for own in plan.job.lumber}
    at_home: dict[int, tuple[str, Stock]] = {}
    refers, used = Counter[int](), Counter[str]()
    cost = 0
    for n, board in enumerate(plan.bought):
        place = f"bought[{n}]"
        if board.stock not in lumber:
            error("plan-stock", place, f"stock {board.stock!r}", "stock that the job has", _AGAIN)
            continue
        if board.times < 1:
            error("plan-times", place, f"{board.times} times", "at least once", _AGAIN)
        used[board.stock] += board.times
        own = lumber[board.stock]
        cost += board.times * _cost(own, board)
        _check_division(own, board, place, error)
        for m, part in enumerate(board.parts):
            at = f"{place}.parts[{m}]"
            home = _home(own, board, m, at, error)
            for number in part.layouts if home is not None else ():
                refers[number] += board.times
                if number >= len(plan.layouts):
                    error("plan-part", at, f"layout {number}", f"a layout below {len(plan.layouts)}", _AGAIN)
                elif home is not None and at_home.setdefault(number, home) != home:
                    value = f"layout {number} on {home[1].id!r}"
                    error("plan-part", at, value, f"{at_home[number][1].id!r}, as elsewhere", _AGAIN)
    for own in plan.job.lumber:
        count = own.stock.count
        if count is not None and used[own.stock.id] > count:
            limits = f"at most {count}, which is all you have"
            error("plan-stock-count", f"stock {own.stock.id!r}", f"{used[own.stock.id]} used", limits, _AGAIN)
    for n, layout in enumerate(plan.layouts):
        if layout.times != refers[n]:
            error("plan-part", f"layouts[{n}]", f"{layout.times} times", f"{refers[n]}, as boards are for it", _AGAIN)
        if n in at_home and layout.stock != at_home[n][1].id:
            error("plan-part", f"layouts[{n}]", f"stock {layout.stock!r}", repr(at_home[n][1].id), _AGAIN)
    _check_money(plan, cost, error)
    _check_home(plan, at_home, found)
    return tuple(found)


def _cost(lumber: Lumber, board: BoughtBoard) -> int:
    total = lumber.stock.cost
    if lumber.cuts is not None:
        total += max(0, len(board.parts) - 1 - lumber.cuts.free_cuts) * lumber.cuts.cost
    for part in board.parts:
        total += sum(way.cost for way in lumber.resaw if way.thickness == part.resaw)
    return total


def _check_division(lumber: Lumber, board: BoughtBoard, place: str, error: Error) -> None:
    """The cuts where the board is bought: that they may be made, and use up its length."""
    own, stock, parts = lumber.cuts, lumber.stock, board.parts
    if not any(part.layouts for part in parts):
        error("plan-empty", place, "no part with a layout", "at least one", "Remove the board.")
    cuts = len(parts) - 1
    if cuts > 0 and own is None:
        error("plan-division", place, f"{cuts} cuts", "none: the lumberyard makes no cuts in this stock", _AGAIN)
        return
    kerf = 0 if own is None else own.kerf
    total = sum(part.length for part in parts) + max(0, cuts) * kerf
    if total != stock.length:
        limits = f"{stock.length}, the length of the board"
        error("plan-division", place, f"parts and kerfs of {total}", limits, _AGAIN)
    if own is None:
        return
    for m, part in enumerate(parts):
        at = f"{place}.parts[{m}]"
        if cuts and part.length < own.shortest_cut:
            error("plan-division", at, str(part.length), f"at least {own.shortest_cut}, the shortest cut", _AGAIN)
        if part.layouts and own.longest is not None and part.length > own.longest:
            error("plan-division", at, str(part.length), f"at most {own.longest}, to be taken home", _AGAIN)


def _home(lumber: Lumber, board: BoughtBoard, m: int, at: str, error: Error) -> tuple[str, Stock] | None:
    """The thickness of what a part becomes at home, and its stock; None if there is nothing."""
    part: BoughtPart = board.parts[m]
    stock, thickness, boards = lumber.stock, lumber.thickness, 1
    words = [stock.id]
    if len(board.parts) > 1:
        rough = 0 if lumber.cuts is None else lumber.cuts.rough
        ends = [stock.end_trim if m == 0 else rough, stock.end_trim if m == len(board.parts) - 1 else rough]
        length = part.length - sum(ends)
        if part.layouts and length < 1:
            error("plan-division", at, str(part.length), f"longer than its ends of {sum(ends)}", _AGAIN)
            return None
        words.append(str(length))
        stock = replace(stock, length=max(1, length), end_trim=0)
    if part.resaw is not None:
        way = next((way for way in lumber.resaw if way.thickness == part.resaw), None)
        if way is None:
            error("plan-resaw", at, f"resawn to {part.resaw!r}", "a way that this stock has", _AGAIN)
            return None
        if part.length < way.shortest:
            error("plan-resaw", at, str(part.length), f"at least {way.shortest}, to be resawn", _AGAIN)
        thickness, boards = way.thickness, way.boards
        words.append(thickness)
    if len(part.layouts) > boards:
        error("plan-resaw", at, f"{len(part.layouts)} layouts", f"at most {boards}, one for each board", _AGAIN)
    if part.resaw is not None and not part.layouts:
        error("plan-resaw", at, "resawn without a layout", "a layout, or no resawing", _AGAIN)
    return thickness, replace(stock, id=" / ".join(words), cost=0, count=None)


def _check_money(plan: LumberPlan, cost: int, error: Error) -> None:
    if plan.cost != cost:
        error("plan-cost", "cost", str(plan.cost), f"{cost}, the total for the boards", _AGAIN)
    if not 0 <= plan.bound <= plan.cost:
        error("plan-bound", "bound", str(plan.bound), f"from 0 to the cost {plan.cost}", _AGAIN)
    if plan.gap != plan.cost - plan.bound:
        error("plan-gap", "gap", str(plan.gap), f"{plan.cost - plan.bound}, cost less bound", _AGAIN)
    wanted = "within" if plan.gap else "proved" if plan.bound_kind == "root" else "solved"
    if plan.bound_kind not in ("root", "solver") or plan.assurance != wanted:
        value = f"{plan.assurance!r} by {plan.bound_kind!r}"
        error("plan-assurance", "assurance", value, f"{wanted!r} by root or solver", _AGAIN)
    prices = [own.stock.cost for own in plan.job.lumber] + [way.cost for own in plan.job.lumber for way in own.resaw]
    step = gcd(*prices, *(own.cuts.cost for own in plan.job.lumber if own.cuts is not None))
    if step and plan.bound % step and plan.bound < plan.cost:
        error("plan-bound", "bound", str(plan.bound), f"a multiple of {step}, as all prices are", "Round it up.")


def _check_home(plan: LumberPlan, at_home: dict[int, tuple[str, Stock]], found: list[Finding]) -> None:
    """The layouts of each thickness, as a plan for the home boards that there are."""
    for thickness in dict.fromkeys(plan.job.thicknesses):
        numbers = [n for n in range(len(plan.layouts)) if n in at_home and at_home[n][0] == thickness]
        pairs = zip(plan.job.base.blanks, plan.job.thicknesses, strict=True)
        blanks = tuple(blank for blank, own in pairs if own == thickness)
        stock = tuple({at_home[n][1].id: at_home[n][1] for n in numbers}.values())
        job = Job(
            plan.job.base.unit, plan.job.base.money, plan.job.base.kerf,
            stock=stock or (replace(plan.job.base.stock[0], cost=0),), blanks=blanks,
            cutting=plan.job.base.cutting, rules=plan.job.base.rules,
        )  # fmt: skip
        layouts = tuple(plan.layouts[n] for n in numbers)
        part = Plan(
            job=job, job_digest=job_digest(job), cost=0, bound=0, bound_kind="area", assurance="proved", gap=0,
            layouts=layouts,
        )  # fmt: skip
        for fault in check_plan(part):
            place = fault.place
            if place.startswith("layouts["):
                n, rest = place.removeprefix("layouts[").split("]", 1)
                place = f"layouts[{numbers[int(n)]}]{rest}"
            found.append(replace(fault, place=place))
