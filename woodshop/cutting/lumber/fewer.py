"""Finds plans in several thicknesses with fewer layouts, on the same boards."""

from collections import Counter
from collections.abc import Callable
from dataclasses import replace

from woodshop.cutting.checkers.check_lumber import check_lumber_plan
from woodshop.cutting.layouts.fewer_layouts import fewer_layouts
from woodshop.cutting.model.lumber_plan import BoughtBoard, BoughtPart, LumberPlan, home_plans, parts_at_home
from woodshop.cutting.model.plan import Effort, Layout, order_layouts


def fewer_lumber_layouts(
    plan: LumberPlan, *, effort: Effort = "default", progress: Callable[[str], None] | None = None
) -> LumberPlan:
    """A plan with the same boards, divided and resawn in the same way, and no more layouts.

    Each thickness is improved as a plan of its own. The result is the plan itself if no layout is saved.
    """
    found: list[Layout] = []
    for own in home_plans(plan).values():
        made = fewer_layouts(own, effort=effort, progress=progress) if own.layouts else own
        same = _boards_of(made.layouts) == _boards_of(own.layouts)
        found += made.layouts if same else own.layouts
    layouts = order_layouts(found)
    if len(layouts) >= len(plan.layouts):
        return plan
    better = replace(plan, bought=_dealt(plan, layouts), layouts=layouts)
    return plan if check_lumber_plan(better) else better


def _boards_of(layouts: tuple[Layout, ...]) -> Counter[str]:
    used = Counter[str]()
    for layout in layouts:
        used[layout.stock] += layout.times
    return used


def _dealt(plan: LumberPlan, layouts: tuple[Layout, ...]) -> tuple[BoughtBoard, ...]:
    """The bought boards with these layouts in their parts; equal boards are joined."""
    waiting: dict[str, list[int]] = {}
    for number in reversed(range(len(layouts))):
        waiting.setdefault(layouts[number].stock, []).extend([number] * layouts[number].times)
    times = Counter[tuple[str, tuple[BoughtPart, ...]]]()
    for board in plan.bought:
        homes = [home.stock.id for _, home in parts_at_home(plan.job, board)]
        for _ in range(board.times):
            names = iter(homes)
            parts = []
            for part in board.parts:
                numbers: list[int] = []
                if part.layouts:
                    name = next(names)
                    numbers = sorted(waiting[name].pop() for _ in part.layouts)
                parts.append(replace(part, layouts=tuple(numbers)))
            times[board.stock, tuple(parts)] += 1
    joined = [BoughtBoard(stock, count, parts) for (stock, parts), count in times.items()]
    return tuple(sorted(joined, key=lambda board: (board.stock, -board.times, repr(board.parts))))
