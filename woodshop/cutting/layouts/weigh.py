"""Plans by a weighted sum of cost, setups and offcuts, for users who would pay slightly more in order to saw less.

The sum is the cost of the stock, plus a charge for every layout and every saw setting, minus the value of the offcuts.
Plans on other boards are considered too: plans that use one kind of stock, plans that recombine two or three layouts on
any boards, and the best integer choice among all layouts found during the search (or among all possible layouts if
there are few).
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations, combinations_with_replacement
from math import gcd

from woodshop.cutting.checkers.check import area_of
from woodshop.cutting.layouts.boards import Boards, settings_of
from woodshop.cutting.layouts.dive import listed
from woodshop.cutting.layouts.recombine import Budget, LayoutGroup, deals, pooled
from woodshop.cutting.model.job import Job
from woodshop.cutting.model.plan import Layout, Plan, cost_of, order_layouts
from woodshop.cutting.order.sequence import leftovers
from woodshop.cutting.planner.solver import Model, SolverFailedError, solve_whole

_MOST_TARGETS = 400
_MOST_DEALS = 12
_STEPS_TO_LAY = 20


@dataclass(frozen=True, slots=True)
class Wishes:
    """The value of a saved setup and of an offcut, in the job's money (whole units, 0 or more).

    `layout` is the value of saving one layout, `setting` of saving one fence or stop setting. `offcut` is the value of
    an offcut that is `least_length` long and `least_width` wide. Smaller offcuts have no value; the value of larger
    ones grows with their area, rounded down. Lengths are in the job's unit; a one-dimensional job has no width.
    """

    layout: int = 0
    setting: int = 0
    offcut: int = 0
    least_length: int = 1
    least_width: int = 1

    def fault(self, job: Job) -> str:
        """The conflict between the wishes and a job, with the limit, or "" if there is none."""
        if min(self.layout, self.setting, self.offcut) < 0:
            return "a wish below nought: what a layout, a setting or an offcut is worth is 0 or more"
        if min(self.least_length, self.least_width) < 1:
            return "an offcut of no size: its least length and width are 1 or more"
        for stock in job.stock:
            x0, x1, y0, y1 = area_of(stock)
            worth = self.per_area(job) * (x1 - x0) * (y1 - y0)
            if stock.count is None and self.offcut and worth > stock.cost:
                return (
                    f"offcuts worth more than the board they come of: {stock.id!r} costs {stock.cost}, and would be "
                    f"worth {float(worth):.2f} as one; give a lower worth"
                )
        return ""

    def per_area(self, job: Job) -> Fraction:
        """The maximum value of an offcut per unit of its area (of its length, for a one-dimensional job)."""
        return Fraction(self.offcut, self.least_length * (self.least_width if job.is_flat else 1))

    def worth_of(self, job: Job, layout: Layout) -> int:
        """The value of the offcuts from one board."""
        if not self.offcut:
            return 0
        width = self.least_width if job.is_flat else 1
        rate = self.per_area(job)
        return sum(int(rate * rest.length * rest.width) for rest in leftovers(job, layout, self.least_length, width))


@dataclass(frozen=True, slots=True)
class Weighed:
    """The terms of a plan's weighted sum, in the job's money: `total` is money + layouts + settings - offcuts."""

    money: int
    layouts: int
    settings: int
    offcuts: int

    @property
    def total(self) -> int:
        """The weighted sum; lower is better."""
        return self.money + self.layouts + self.settings - self.offcuts


def weigh(job: Job, layouts: Sequence[Layout], wishes: Wishes) -> Weighed:
    """The weighted sum of some layouts with these wishes."""
    return Weighed(
        cost_of(job, layouts),
        wishes.layout * len(layouts),
        wishes.setting * sum(settings_of(job, layout) for layout in layouts),
        sum(layout.times * wishes.worth_of(job, layout) for layout in layouts),
    )


@dataclass(slots=True)
class Weighing:
    """Searches for a plan with a lower weighted sum on any of the job's boards, from one or more plans for the job.

    `steps` limits the search. If there are at most `most_listed` layouts, the integer choice considers all of them.
    """

    job: Job
    wishes: Wishes
    steps: int
    most_listed: int

    def run(self, plans: Sequence[Plan]) -> tuple[Layout, ...]:
        """The layouts with the lowest sum found, or the layouts of the first plan if none has a lower sum."""
        found = [plan.layouts for plan in plans]
        for plan in sorted(plans, key=lambda plan: weigh(self.job, plan.layouts, self.wishes).total)[:2]:
            found.append(self._moved(plan))
        if not any(piece.spare for layout in found[0] for piece in layout.pieces):
            best = min(found, key=lambda layouts: weigh(self.job, layouts, self.wishes).total)
            chosen = self._chosen(plans[0], found, best)
            if chosen is not None:
                found.append(chosen)
        return min(found, key=lambda layouts: (weigh(self.job, layouts, self.wishes).total, cost_of(self.job, layouts)))

    def _moved(self, plan: Plan) -> tuple[Layout, ...]:
        """Replaces two or three layouts at a time by others with a lower sum, on any boards."""
        boards = Boards(plan)
        groups = list(boards.groups)
        budget = Budget(self.steps)
        again = True
        while again and budget.steps > 0:
            again = False
            for size in (1, 2, 3):
                for members in combinations(range(len(groups)), min(size, len(groups))):
                    if not budget.take():
                        break
                    better = self._better(boards, groups, members, budget)
                    if better is not None:
                        gone = set(members)
                        groups = [group for n, group in enumerate(groups) if n not in gone] + better
                        again = True
                        break
                if again:
                    break
        return order_layouts([self._layout(boards, group) for group in groups])

    def _better(
        self, boards: Boards, groups: Sequence[LayoutGroup], members: Sequence[int], budget: Budget
    ) -> list[LayoutGroup] | None:
        chosen = [groups[n] for n in members]
        now = sum(self._sum(boards, group) for group in chosen)
        others = Counter[int]()
        for n, group in enumerate(groups):
            others[group.kind] += group.times if n not in members else 0
        best: list[LayoutGroup] | None = None
        total = pooled(chosen)
        for tried, targets in enumerate(self._targets(boards, total, others, len(chosen), now)):
            if tried >= _MOST_TARGETS or not budget.take():
                break
            laid = boards.laid
            for count, made in enumerate(deals(boards, total, targets, budget, 200)):
                value = sum(self._sum(boards, group) for group in made)
                if value < now and len({(group.kind, group.counts) for group in made}) == len(made):
                    now, best = value, made
                if count >= _MOST_DEALS:
                    break
            budget.take(_STEPS_TO_LAY * (boards.laid - laid))
        return best

    def _targets(
        self, boards: Boards, total: dict[int, int], others: Counter[int], most: int, now: int
    ) -> Iterator[list[tuple[int, int]]]:
        """Kinds and times of one or two layouts that could hold the pieces for less than `now`."""
        weight = sum(boards.weight(item) * count for item, count in total.items())
        taken = sum(
            count * blank.length * (blank.width or 1)
            for item, count in total.items()
            for blank in self.job.blanks
            if blank.id == boards.items[item][0]
        )
        rate = self.wishes.per_area(self.job)
        kinds = range(len(self.job.stock))
        areas = [(a[1] - a[0]) * (a[3] - a[2]) for a in map(area_of, self.job.stock)]
        free = []
        for kind, stock in enumerate(self.job.stock):
            times = sum(total.values()) if stock.count is None else stock.count - others[kind]
            if stock.cost > rate * areas[kind]:
                # More boards of this kind would cost at least as much as the plan does now, with or without offcuts.
                money = now - self.wishes.layout
                times = min(
                    times, max(money // stock.cost, int((money - rate * taken) / (stock.cost - rate * areas[kind])))
                )
            free.append(times)

        def may_do(targets: list[tuple[int, int]]) -> bool:
            money = sum(self.job.stock[kind].cost * times for kind, times in targets)
            offcuts = rate * max(0, sum(areas[kind] * times for kind, times in targets) - taken)
            room = sum(boards.room(kind) * times for kind, times in targets)
            return room >= weight and money + self.wishes.layout * len(targets) - offcuts < now

        common = gcd(*total.values())
        for kind in kinds:
            for times in range(1, min(common, free[kind]) + 1):
                if common % times == 0 and may_do([(kind, times)]):
                    yield [(kind, times)]
        if most < 2:
            return
        for one, two in combinations_with_replacement(kinds, 2):
            for first in range(1, free[one] + 1):
                for second in range(1, free[two] + 1):
                    targets = [(one, first), (two, second)]
                    if one == two and (second < first or first + second > free[one]):
                        continue
                    if may_do(targets):
                        yield targets

    def _sum(self, boards: Boards, group: LayoutGroup) -> int:
        layout = self._layout(boards, group)
        return self._of_layout(layout) + layout.times * self._of_board(layout)

    def _layout(self, boards: Boards, group: LayoutGroup) -> Layout:
        choices = [replace(layout, times=group.times) for layout in boards.choices(group.kind, group.counts)]
        return min(choices, key=lambda lay: self._of_layout(lay) + lay.times * self._of_board(lay))

    def _of_layout(self, layout: Layout) -> int:
        return self.wishes.layout + self.wishes.setting * settings_of(self.job, layout)

    def _of_board(self, layout: Layout) -> int:
        stock = next(stock for stock in self.job.stock if stock.id == layout.stock)
        return stock.cost - self.wishes.worth_of(self.job, layout)

    def _chosen(
        self, plan: Plan, found: Sequence[tuple[Layout, ...]], best: tuple[Layout, ...]
    ) -> tuple[Layout, ...] | None:
        """The best integer plan made of the layouts found, or of all layouts, or None if there is none."""
        pool: dict[tuple[object, ...], Layout] = {}
        for layout in (layout for layouts in found for layout in layouts):
            if not any(piece.spare for piece in layout.pieces):
                pool.setdefault((layout.stock, layout.first, layout.pieces), replace(layout, times=1))
        boards = Boards(plan)
        total = {
            n: blank.count for n, (name, _) in enumerate(boards.items) for blank in self.job.blanks if blank.id == name
        }
        for kind in range(len(self.job.stock)):
            for some in listed(boards, kind, total, 1, self.most_listed) or ():
                for layout in boards.choices(kind, some):
                    pool.setdefault((layout.stock, layout.first, layout.pieces), layout)
        layouts = list(pool.values())
        counts_of = [Counter(piece.id for piece in layout.pieces) for layout in layouts]
        wanted = {blank.id: (n, blank.count) for n, blank in enumerate(self.job.blanks)}
        limited = [stock for stock in self.job.stock if stock.count is not None]
        rows: list[tuple[int | None, int | None]] = [(blank.count, blank.count) for blank in self.job.blanks]
        rows += [(None, stock.count) for stock in limited]
        row_of = {stock.id: len(self.job.blanks) + n for n, stock in enumerate(limited)}
        times: list[tuple[tuple[int, int], ...]] = []
        once: list[tuple[tuple[int, int], ...]] = []
        for layout, counts in zip(layouts, counts_of, strict=True):
            most = min(wanted[name][1] // count for name, count in counts.items())
            own = [(wanted[name][0], count) for name, count in sorted(counts.items())]
            own += [(row_of[layout.stock], 1)] if layout.stock in row_of else []
            times.append((*own, (len(rows), 1)))
            once.append(((len(rows), -most),))
            rows.append((None, 0))
        costs = [self._of_board(layout) for layout in layouts] + [self._of_layout(layout) for layout in layouts]
        number = {(layout.stock, layout.first, layout.pieces): n for n, layout in enumerate(layouts)}
        hint = [0] * len(costs)
        for layout in best:
            n = number.get((layout.stock, layout.first, layout.pieces))
            if n is not None:
                hint[n], hint[len(layouts) + n] = layout.times, 1
        try:
            answer = solve_whole(
                Model(tuple(costs), (*times, *once), tuple(rows)), nodes=self.steps // 100, absolute_gap=0.9, hint=hint
            )
        except SolverFailedError:
            return None
        if answer.counts is None:
            return None
        made = zip(layouts, answer.counts[: len(layouts)], strict=True)
        return order_layouts([replace(layout, times=times) for layout, times in made if times])
