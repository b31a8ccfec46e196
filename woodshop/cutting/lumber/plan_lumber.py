"""Plans a job in several thicknesses: what to buy, where to divide it, what to resaw, and the layouts at home."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import ceil
from typing import Any

from woodshop.cutting.checkers.check_lumber import check_lumber_plan
from woodshop.cutting.checkers.prove_lumber import bound_of_lumber, prove_lumber_plan, worth_of_lumber
from woodshop.cutting.lumber.bought import LumberAnswer, bought_boards, cost_of_bought
from woodshop.cutting.lumber.dividing import NeededPart, best_division
from woodshop.cutting.lumber.programme import (
    BoardPurchase,
    HomeBoards,
    Kind,
    LumberProgramme,
    all_purchases,
    cost_step,
    home_boards,
    lumber_programme,
    near_purchases,
    priced,
    yields_of,
)
from woodshop.cutting.model.job import Job
from woodshop.cutting.model.lumber_job import LumberJob, lumber_digest
from woodshop.cutting.model.lumber_plan import BoughtBoard, LumberPlan, home_plans
from woodshop.cutting.model.plan import Assurance, BoundKind, Certificate, Effort, Layout
from woodshop.cutting.order.sequence import as_sawn
from woodshop.cutting.planner.integer import EFFORTS, ROUNDS, part_of
from woodshop.cutting.planner.plan_job import refuse_unfit, short_of_stock
from woodshop.cutting.planner.pricing import (
    SCALE,
    Column,
    Entry,
    Fair,
    Pricer,
    Valued,
    columns_within,
    enumerate_columns,
    round_up,
    single_columns,
)
from woodshop.cutting.planner.solver import Model, Relaxed, SolverFailedError, solve_relaxed, solve_whole
from woodshop.errors import NothingToCutError, Problem

MOST_LENGTHS = {"quick": 60, "default": 150, "long": 300}
"""The lengths of parts that are tried, for each stock and thickness."""
_MOST_PURCHASES, _MOST_TRIED, _MOST_PATTERNS, _FEW_KNAPSACKS = 3_000, 100_000, 12_000, 150
_LAST_NODES, _FEW_NODES = 20_000, 100  # where a run has found no plan at all, and where there is hardly one

Progress = Callable[[str], None]


def plan_lumber(job: LumberJob, *, effort: Effort = "default", progress: Progress | None = None) -> LumberPlan:
    """The cheapest plan found for a job in several thicknesses, checked before it is returned.

    `effort` is "quick", "default" or "long" (limits of the search); `progress` receives lines of text during the work.
    Raises NothingToCutError if a blank fits no board, limited stock is short, or the plan fails its own check.
    """
    say = progress or (lambda _: None)
    boards = _fitting_boards(job, effort)
    search = _Search(job, boards, effort, say)
    try:
        answer = search.run()
    except SolverFailedError as error:
        do = "Install highspy and pyscipopt; a job in several thicknesses is not planned without them."
        raise NothingToCutError(Problem("solver", str(error), "a solver that works", do)) from None
    certificate = certify_lumber(job, answer.prices)
    bought, layouts = bought_boards(job, boards, answer)
    made = _judged(job, bought, layouts, answer, certificate)
    faults = check_lumber_plan(made) + prove_lumber_plan(made)
    if not faults:
        made = _as_sawn(made)
        faults = check_lumber_plan(made)
    if faults:
        do = "This is a fault of the planner: keep the job file and report it."
        raise NothingToCutError(*(Problem(f.place, f"{f.code}: {f.value}", f.limits, do) for f in faults))
    return made


def refuse_uncuttable_lumber(job: LumberJob) -> None:
    """Raises NothingToCutError if the job cannot be planned. Searches only if all stock is limited."""
    _fitting_boards(job, "quick")
    if all(lumber.stock.count is not None for lumber in job.lumber):
        plan_lumber(job, effort="quick")


def _fitting_boards(job: LumberJob, effort: Effort) -> HomeBoards:
    """The home boards of a job. Raises NothingToCutError if a blank fits on none."""
    boards = home_boards(job, MOST_LENGTHS[effort])
    for own, network in zip(boards.jobs, boards.networks, strict=True):
        _refuse_without_boards(job, own)
        refuse_unfit(own, network)
    return boards


def _refuse_without_boards(job: LumberJob, own: Job) -> None:
    if own.stock:
        return
    word = next(word for word, blank in zip(job.thicknesses, job.base.blanks, strict=True) if blank == own.blanks[0])
    names = ", ".join(repr(blank.id) for blank in own.blanks)
    do = "Add boards of that thickness, or a way to resaw thicker ones."
    raise NothingToCutError(
        Problem(f"part {names}", f"thickness {word!r}", "boards of that thickness to take home", do)
    )


def certify_lumber(job: LumberJob, prices: dict[str, int]) -> Certificate | None:
    """A certificate from blank prices (in 1/SCALE), lowered until no unlimited stock is worth more than its cost."""
    own = dict(prices)
    for _ in range(4):
        worths = worth_of_lumber(job, own, SCALE)
        pairs = list(zip(job.lumber, worths, strict=True))
        over = [
            Fraction(lumber.stock.cost * SCALE, worth)
            for lumber, worth in pairs
            if lumber.stock.count is None and worth > lumber.stock.cost * SCALE
        ]
        if not over:
            rents = tuple(
                (lumber.stock.id, worth - lumber.stock.cost * SCALE)
                for lumber, worth in pairs
                if lumber.stock.count is not None and worth > lumber.stock.cost * SCALE
            )
            kept = tuple((name, price) for name, price in own.items() if price > 0)
            bound, _ = bound_of_lumber(job, Certificate(SCALE, kept, rents, 0))
            return Certificate(SCALE, kept, rents, bound) if bound else None
        least = min(over)
        own = {name: price * least.numerator // least.denominator for name, price in own.items()}
    return None


def _judged(
    job: LumberJob,
    bought: tuple[BoughtBoard, ...],
    layouts: tuple[Layout, ...],
    answer: LumberAnswer,
    certificate: Certificate | None,
) -> LumberPlan:
    cost = cost_of_bought(job, bought)
    bound = 0 if certificate is None else certificate.bound
    kind: BoundKind = "root"
    floating = cost if answer.is_solved and answer.cost == cost else min(answer.floating, cost)
    if floating > bound:
        bound, kind = floating, "solver"
    assurance: Assurance = "within"
    if bound == cost:
        assurance = "solved" if kind == "solver" else "proved"
    return LumberPlan(
        job, lumber_digest(job), cost, bound, kind, assurance, cost - bound,
        bought=bought, layouts=layouts, certificate=certificate,
    )  # fmt: skip


def _as_sawn(plan: LumberPlan) -> LumberPlan:
    jobs = {stock.id: own.job for own in home_plans(plan).values() for stock in own.job.stock}
    return replace(plan, layouts=tuple(as_sawn(jobs[layout.stock], layout) for layout in plan.layouts))


@dataclass(frozen=True, slots=True)
class _FairBoards:
    """The values of regions for each thickness, the worth of each kind of home board, rents, and the lower bound."""

    valued: tuple[Valued, ...]
    worth: dict[Kind, int]
    rents: tuple[int, ...]
    total: int


class _Search:
    def __init__(self, job: LumberJob, boards: HomeBoards, effort: Effort, say: Progress) -> None:
        self.job, self.boards, self.effort, self.say = job, boards, effort, say
        self.step = cost_step(job)
        self.was_infeasible = False
        # Pricing is exact only if waste at an end of a board, not between two parts, wins nothing.
        cut = [own for own in job.lumber if own.cuts is not None]
        self.is_exact = boards.is_all and all(own.stock.end_trim <= own.cuts.rough for own in cut if own.cuts)
        self.known: list[dict[Column, Entry]] = [{} for _ in boards.jobs]
        self.dear = (
            1
            + 4 * max(lumber.stock.cost for lumber in job.lumber)
            + 4 * sum((own.cuts.cost if own.cuts else 0) + sum(way.cost for way in own.resaw) for own in job.lumber)
        )

    def run(self) -> LumberAnswer:
        listed = self._listed()
        if listed is not None:
            programme = lumber_programme(self.job, self.boards, *listed, self.known)
            relaxed = self._relaxed(programme)
            found = self._whole(programme, relaxed, is_all=self.boards.is_all)
        else:
            programme, relaxed = self._priced()
            found = self._near(self._whole(programme, relaxed, is_all=False), programme, relaxed)
        if found is None:
            self._refuse_short(programme)
            raise NothingToCutError(self._no_plan())
        return replace(found, prices=self._prices(programme, relaxed))

    def _prices(self, programme: LumberProgramme, relaxed: Relaxed) -> dict[str, int]:
        """The price of each blank, in 1/SCALE."""
        prices: dict[str, int] = {}
        for network, rows in zip(self.boards.networks, programme.size_rows, strict=True):
            for size, row in zip(network.sizes, rows, strict=True):
                prices |= dict.fromkeys((name for name, _ in size.ids), max(0, int(relaxed.duals[row] * SCALE)))
        return prices

    def _near(self, best: LumberAnswer | None, programme: LumberProgramme, relaxed: Relaxed) -> LumberAnswer | None:
        """The best plan among those of all patterns and purchases that cost little more than what they make is worth.

        A plan that costs at most `room` more than the lower bound uses only such that cost as little more.
        """
        fair = self._fair(programme, relaxed)
        if fair is None:
            return best
        least = -(-fair.total // SCALE)
        room = max(self.step, least // 300)
        for _ in range(8):
            room = room if best is None else min(room, best.cost - self.step - least)
            # What a plan of this cost may lose, counted from the exact bound.
            listed = self._listed_near(fair, (least + room) * SCALE - fair.total) if room >= 0 else None
            if listed is None:
                break
            near = lumber_programme(self.job, self.boards, *listed, self.known)
            beyond = round_up(least + room + 1, self.step)
            try:
                found = self._whole(near, solve_relaxed(near.model), is_all=self.is_exact)
                floating = beyond if found is None else min(beyond, max(found.floating, least))
                floating = 0 if found is None and not self.was_infeasible else floating
            except SolverFailedError:  # there may be no plan of only these; the other solver says whether that is so
                answer = self._run(near, list(range(len(near.model.costs))), None, _FEW_NODES, 1)
                found, floating = None, beyond if answer.is_infeasible else 0
            known = 0 if best is None else best.floating
            if found is not None and (best is None or found.cost < best.cost):
                best = found
            if best is not None:
                floating = min(max(known, floating if self.is_exact else 0), best.cost)
                best = replace(best, floating=floating, is_solved=floating >= best.cost)
                self.say(f"{len(near.model.costs)} columns near enough; {best.cost}, bound {best.floating}")
                if best.is_solved or (found is not None and not found.is_solved):
                    break
            room = 3 * room + self.step
        return best

    def _fair(self, programme: LumberProgramme, relaxed: Relaxed) -> _FairBoards | None:
        """Prices at which no purchase of unlimited stock is worth more than its cost, and what they are worth."""
        prices = [[max(0, int(relaxed.duals[row] * SCALE)) for row in rows] for rows in programme.size_rows]
        pricers = [Pricer(network) for network in self.boards.networks]
        for _ in range(4):
            valued = [pricer.values(own) for pricer, own in zip(pricers, prices, strict=True)]
            worth: dict[Kind, int] = {}
            for t, found in enumerate(valued):
                if found is None:
                    return None
                worth |= {(t, v): found.worth.get(("stock", v), 0) for v in range(len(self.boards.jobs[t].stock))}
            for chain in self.boards.chains:
                for shorter, longer in pairwise(chain):
                    worth[longer] = max(worth[longer], worth[shorter])
            best = [self._dearest(j, worth)[0] for j in range(len(self.job.lumber))]
            over = [
                Fraction(own.stock.cost * SCALE, value)
                for own, value in zip(self.job.lumber, best, strict=True)
                if own.stock.count is None and value > own.stock.cost * SCALE
            ]
            if not over:
                rents = [
                    0 if own.stock.count is None else max(0, value - own.stock.cost * SCALE)
                    for own, value in zip(self.job.lumber, best, strict=True)
                ]
                total = sum(
                    size.count * price
                    for network, own in zip(self.boards.networks, prices, strict=True)
                    for size, price in zip(network.sizes, own, strict=True)
                )
                total -= sum((own.stock.count or 0) * rent for own, rent in zip(self.job.lumber, rents, strict=True))
                return _FairBoards(tuple(each for each in valued if each is not None), worth, tuple(rents), total)
            least = min(over)
            prices = [[price * least.numerator // least.denominator for price in own] for own in prices]
        return None

    def _dearest(self, j: int, worth: Mapping[Kind, int]) -> tuple[int, tuple[NeededPart, ...]]:
        """What a board of a stock is worth at most, less its cuts and resawing, and the needs that are."""
        lumber, worths = self.job.lumber[j], []
        for need, kind in self.boards.kinds[j].items():
            some, cost = (lumber.resaw[need.way].boards, lumber.resaw[need.way].cost) if need.way >= 0 else (1, 0)
            worths.append((need, some * worth[kind] - cost * SCALE))
        paid = 0 if lumber.cuts is None else lumber.cuts.cost * SCALE
        return best_division(lumber, worths, paid, self.job.base.rules.longest_rip)

    def _listed_near(self, fair: _FairBoards, room: int) -> tuple[list[list[Column]], list[BoardPurchase]] | None:
        found = near_purchases(self.job, self.boards, fair.worth, fair.rents, room, SCALE, _MOST_TRIED)
        if found is None:
            return None
        # What each kind of home board loses at least: that of its purchase, and of standing for a shorter one.
        lost: dict[Kind, int] = {}
        for purchase, loss in found:
            for kind in yields_of(self.job, self.boards, purchase):
                lost[kind] = min(loss, lost.get(kind, loss))
        for chain in self.boards.chains:
            for shorter, longer in reversed(list(pairwise(chain))):
                if longer in lost:
                    loss = lost[longer] + fair.worth[longer] - fair.worth[shorter]
                    lost[shorter] = min(loss, lost.get(shorter, loss))
        columns, left = [], _MOST_PATTERNS
        for t, (job, network) in enumerate(zip(self.boards.jobs, self.boards.networks, strict=True)):
            rents = [fair.worth[t, v] + lost.get((t, v), room + 1) for v in range(len(job.stock))]
            near = Fair((), fair.valued[t].worth, tuple(rents), 0)
            own = columns_within(job, network, near, room, left)
            if own is None:
                return None
            columns.append(own)
            left -= len(own)
        return columns, [purchase for purchase, _ in found]

    def _listed(self) -> tuple[list[list[Column]], list[BoardPurchase]] | None:
        """Every pattern and every purchase, if they are few."""
        purchases = all_purchases(self.job, self.boards, _MOST_PURCHASES)
        columns, left = [], _MOST_PATTERNS
        for network in self.boards.networks if purchases is not None else ():
            found = enumerate_columns(network, left)
            if found is None:
                return None
            columns.append(found)
            left -= len(found)
        return None if purchases is None else (columns, purchases)

    def _relaxed(self, programme: LumberProgramme) -> Relaxed:
        try:
            return solve_relaxed(programme.model)
        except SolverFailedError:
            if not programme.stock_rows:
                raise
        self._refuse_short(programme)
        raise NothingToCutError(self._no_plan())

    def _refuse_short(self, programme: LumberProgramme) -> None:
        """Raises NothingToCutError with the blanks that limited stock cannot make, as few as possible."""
        found = solve_whole(self._with_shortage(programme.model, programme), nodes=2_000, absolute_gap=0.5)
        if found.counts is None:
            return
        missing = found.counts[len(programme.model.costs) :]
        sizes = [size for network in self.boards.networks for size in network.sizes]
        short = short_of_stock(self.job.base, zip(sizes, missing, strict=True))
        if short.short:
            raise short

    def _no_plan(self) -> Problem:
        do = "Use --thorough, or ask for fewer parts."
        return Problem("stock", "no plan found within the limits of the search", "enough stock for every part", do)

    def _with_shortage(self, model: Model, programme: LumberProgramme) -> Model:
        rows = [row for own in programme.size_rows for row in own]
        more = tuple(((row, 1),) for row in rows)
        return Model(model.costs + (self.dear,) * len(rows), model.columns + more, model.rows)

    def _priced(self) -> tuple[LumberProgramme, Relaxed]:
        """Useful patterns and purchases, found at the prices of the linear solution, and that solution."""
        networks = self.boards.networks
        pricers = [Pricer(network) for network in networks]
        columns: list[dict[Column, None]] = [
            dict.fromkeys(single_columns(network) if len(network.knapsacks) <= _FEW_KNAPSACKS else ())
            for network in networks
        ]
        purchases: dict[BoardPurchase, None] = {}
        for j, kinds in enumerate(self.boards.kinds):
            for need in kinds:
                whole = priced(self.job, j, (need,)) if need.length is None else None
                if whole is not None:
                    purchases.setdefault(whole)
        for turn in range(ROUNDS[self.effort]):
            programme = lumber_programme(
                self.job, self.boards, [list(own) for own in columns], list(purchases), self.known
            )
            relaxed = solve_relaxed(self._with_shortage(programme.model, programme))
            before = sum(map(len, columns)) + len(purchases)
            self._add_priced(programme, relaxed, pricers, columns, purchases)
            count = sum(map(len, columns)) + len(purchases)
            self.say(f"pricing round {turn + 1}: {relaxed.value:.2f}, {count} columns")
            if count == before:
                break
        programme = lumber_programme(self.job, self.boards, [list(own) for own in columns], list(purchases), self.known)
        return programme, self._relaxed(programme)

    def _add_priced(
        self,
        programme: LumberProgramme,
        relaxed: Relaxed,
        pricers: Sequence[Pricer],
        columns: Sequence[dict[Column, None]],
        purchases: dict[BoardPurchase, None],
    ) -> None:
        """Adds the purchase of each stock that is worth most at these prices, with the patterns of its home boards."""
        valued: list[Valued] = []
        for rows, pricer in zip(programme.size_rows, pricers, strict=True):
            found = pricer.values([max(0, int(relaxed.duals[row] * SCALE)) for row in rows])
            if found is None:
                raise SolverFailedError("the job's numbers are too fine for exact pricing")
            valued.append(found)
        seen: list[set[Any]] = [set() for _ in valued]
        worth = {
            (t, v): found.worth.get(("stock", v), 0)
            for t, found in enumerate(valued)
            for v in range(len(self.boards.jobs[t].stock))
        }
        for j, lumber in enumerate(self.job.lumber):
            value, needs = self._dearest(j, worth)
            rent = -relaxed.duals[programme.stock_rows[j]] if j in programme.stock_rows else 0.0
            if value <= (lumber.stock.cost + rent) * SCALE + 10:
                continue
            purchase = priced(self.job, j, needs)
            if purchase is None:
                continue
            purchases.setdefault(purchase)
            for t, v in yields_of(self.job, self.boards, purchase):
                pricers[t].add_tree(("stock", v), valued[t], columns[t], seen[t])
        for (t, v), row in programme.board_rows.items():
            # The patterns of boards that are bought already may have become better.
            if worth[t, v] > -relaxed.duals[row] * SCALE + 10 and relaxed.duals[row] < -1e-9:
                pricers[t].add_tree(("stock", v), valued[t], columns[t], seen[t])

    def _whole(self, programme: LumberProgramme, relaxed: Relaxed, *, is_all: bool) -> LumberAnswer | None:
        """The best counts of these columns, or None; `was_infeasible` then says whether there are none for sure.

        `is_all`: the columns are all that a better plan needs, so the solver's bound is that of any plan.
        """
        model, step = programme.model, self.step
        everything = range(len(model.costs))
        best: dict[int, int] | None = None
        cost, floating, solved = 0, 0, False
        for seed, nodes in EFFORTS[self.effort]:
            keep = list(everything)
            if best is not None:
                keep = [n for n in keep if relaxed.reduced[n] <= cost - relaxed.value + 1e-6 or n in best]
            found = self._run(programme, keep, best, nodes, seed)
            if found.counts is None and best is None:
                found = self._run(programme, keep, best, _LAST_NODES, seed)
            if found.counts is not None:
                counts = {n: count for n, count in zip(keep, found.counts, strict=False) if count}
                total = sum(model.costs[n] * count for n, count in counts.items())
                if best is None or total < cost:
                    best, cost = counts, total
            if abs(found.bound) < 1e15:
                floating = max(floating, round_up(ceil(found.bound - 1e-6 * max(1.0, abs(found.bound))), step))
            solved, self.was_infeasible = found.is_solved, found.is_infeasible
            self.say(f"{cost if best else 'nothing yet'}, bound {floating}; {len(keep)} columns kept")
            if found.is_solved or found.is_infeasible:
                break
        if best is None:
            return None
        counts_of = tuple(best.get(n, 0) for n in everything)
        if is_all:
            return LumberAnswer(programme, counts_of, cost, min(floating, cost), solved, {})
        return LumberAnswer(programme, counts_of, cost, 0, False, {})

    def _run(
        self, programme: LumberProgramme, keep: list[int], best: dict[int, int] | None, nodes: int, seed: int
    ) -> Any:
        """One solver run, with a column for the boards of each stock and one for all boards to branch on first."""
        model = part_of(programme.model, keep)
        hint = None if best is None else [best.get(n, 0) for n in keep]
        first = len(programme.layouts) + len(programme.shortenings)
        groups: dict[int, list[int]] = {-1: []}
        for column, n in enumerate(keep):
            if n >= first:
                groups.setdefault(programme.purchases[n - first].stock, []).append(column)
                groups[-1].append(column)
        costs, rows, columns = list(model.costs), list(model.rows), [list(column) for column in model.columns]
        for members in groups.values():
            for column in members:
                columns[column].append((len(rows), -1))
            columns.append([(len(rows), 1)])
            costs.append(0)
            rows.append((0, 0))
            if hint is not None:
                hint.append(sum(hint[column] for column in members))
        priorities = (0,) * len(keep) + (2,) + (1,) * (len(groups) - 1)
        full = Model(tuple(costs), tuple(tuple(column) for column in columns), tuple(rows), priorities)
        gap = self.step - self.step / 1000
        return solve_whole(full, nodes=nodes, absolute_gap=gap, hint=hint, seed=seed)
