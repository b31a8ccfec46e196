"""Grows a proof tree that counts only boards, for jobs of three stages.

Its linear program has a column for each stock, and a row for each list of prices: boards that could be enough are worth
all blanks at these prices. Where a solution has whole boards, but too few for all blanks, the prices that show this are
a new row. A leaf's prices are those of the rows, each times its multiplier.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil, floor
from typing import Any

from woodshop.cutting.checkers.patterns import price_step
from woodshop.cutting.checkers.prove_boards import LARGEST, MOST_EVIDENCE, BoardModel
from woodshop.cutting.checkers.prove_rows import InvalidProofError
from woodshop.cutting.model.job import Job, job_digest
from woodshop.cutting.model.proof import Evidence, Proof, TotalTerm
from woodshop.cutting.planner.network import build_network
from woodshop.cutting.planner.pricing import SCALE, fair_prices, price_columns
from woodshop.cutting.planner.solver import BranchingProgram, Model
from woodshop.cutting.planner.stock_totals import stock_totals
from woodshop.cutting.planner.whole_boards import BoardPricer, PriceList, cheapest_sets

_ROUNDS = 400
_DEAR = 10_000  # times the limit: what a program without a solution costs for one board
_HUNDRED = 100.0  # the worth of all blanks in each row
_WHOLE = 1e-6
_DIGITS = (1, 1_000, 1_000_000)


@dataclass(slots=True)
class _Node:
    lows: Any
    highs: Any


class BoardGrower:
    """A tree for `cost` that grows until `nodes` linear programs are solved."""

    def __init__(self, job: Job, cost: int, nodes: int) -> None:
        self.job, self.cost, self.nodes = job, cost, nodes
        self.model = BoardModel(job, cost)
        self.scale = 10 ** (len(str(sum(self.model.counts))) + 3)
        self.step = price_step(job)  # costs are in this unit in the linear program
        self.solved = 0
        self.rows: list[PriceList] = []
        self.evidence: list[Evidence] = []
        self.surpluses: list[int] = []
        self.tree: list[int] = []
        self.totals: dict[int, int] = {}
        """For each column of a total that branches limit, its number in the proof."""

    def grow(self, say: Callable[[str], None]) -> Proof | None:
        """The proof, or None if the limit is reached first, or a plan may be cheaper. Raises SolverFailedError."""
        if self.cost * self.scale >= LARGEST:
            say("no proof tree: numbers too large for the check")
            return None
        network = build_network(self.job)
        priced = price_columns(self.job, network, lambda _: None, _ROUNDS)
        fair = fair_prices(self.job, network, priced.prices)
        prices = priced.prices if fair is None else fair.prices
        self.pricer = BoardPricer(self.job, network, priced.columns, prices)
        # Sizes have another order here than in the planner's network.
        place = {name: n for n, size in enumerate(network.sizes) for name, _ in size.ids}
        self.order = [place[part] for part in self.model.parts]
        self._load()
        self._add(prices)
        if not self._rule_out_sets(0 if fair is None else fair.total // SCALE):
            say("proof tree: whole boards may be enough that cost less")
            return None
        todo = [_Node(self.program.lows.copy(), self.program.highs.copy())]
        while todo:
            node = todo.pop()
            leaf = self._known(node)
            if leaf is None:
                if self.solved >= self.nodes or len(self.evidence) >= MOST_EVIDENCE:
                    say(f"proof tree: {self.solved} linear programs, {len(self.rows)} lists of prices, not finished")
                    return None
                value, columns, leaf = self._solve(node)
            if leaf is not None:
                self.tree.append(-1 - leaf)
                continue
            sides = self._branch(node, value, columns)
            if sides is None:
                say("proof tree: whole boards may be enough that cost less")
                return None
            todo += sides
        say(f"proof tree: {self.solved} linear programs, {len(self.evidence)} pieces of evidence")
        terms = {column: self._terms(column) for column in self.totals}
        totals, parts = tuple(terms[column] for column in self.totals), self.model.parts
        return Proof(job_digest(self.job), self.cost, parts, totals, tuple(self.evidence), (), tuple(self.tree))

    # -- the linear program ---------------------------------------------------------------------------------

    def _load(self) -> None:
        """Columns: stock, totals, what makes up for totals that cannot be, and for price lists. Rows: the totals."""
        stock = self.job.stock
        self.candidates: list[dict[int, int]] = []
        self.ranks: list[int] = []
        for rank, weights in stock_totals(self.job, [j for j, most in enumerate(self.model.most) if most != 0]):
            if weights not in self.candidates:
                self.candidates.append(weights)
                self.ranks.append(rank)
        count = len(self.candidates)
        columns: list[list[tuple[int, int]]] = [[] for _ in stock]
        for row, weights in enumerate(self.candidates):
            for j, weight in weights.items():
                columns[j].append((row, weight))
        columns += [[(row, -1)] for row in range(count)]
        columns += [[(row, sign)] for row in range(count) for sign in (1, -1)]
        columns.append([])
        dear = _DEAR * (self.model.limit // self.step + 1)
        costs = [one.cost // self.step for one in stock] + [0] * count + [dear] * (2 * count + 1)
        self.program = BranchingProgram(Model(tuple(costs), tuple(map(tuple, columns)), ((0, 0),) * count))
        for j, most in enumerate(self.model.most):
            if most is not None:
                self.program.highs[j] = most

    def _add(self, prices: Any) -> bool:
        """Adds a row for these prices, worth what the check says. Returns false if they are worth nothing."""
        own = tuple(prices[n] for n in self.order)
        needed = sum(count * price for count, price in zip(self.model.counts, own, strict=True))
        if needed <= 0:
            return False
        self.rows.append(PriceList(own, tuple(self.model.worths(own)), needed))
        return True

    def _rule_out_sets(self, least: int) -> bool:
        """Adds rows that rule out the cheapest sets of boards. Returns false if one may be enough."""
        _, sets = cheapest_sets(self.job, self.rows[0], least, self.cost)
        for _, boards in sets:
            if not any(own.rules_out(boards) for own in self.rows):
                found, _, _ = self.pricer.ruling_out(boards)
                if found is None or not self._add(found.prices) or not self.rows[-1].rules_out(boards):
                    return False
        return True

    def _set_rows(self) -> None:
        import numpy

        rows = {}
        for number, own in enumerate(self.rows):
            rows[number] = numpy.array([_HUNDRED * worth / own.needed for worth in own.worths]), int(_HUNDRED)
        self.program.set_rows(rows)

    def _solve(self, node: _Node) -> tuple[float, Any, int | None]:
        """Solves a node with more and more price lists: its bound, its columns, and the evidence that closes it."""
        while True:
            self._set_rows()
            self.solved += 1
            value, columns, duals, _ = self.program.solve(node.lows, node.highs)
            if value > self.model.limit // self.step + _WHOLE:
                leaf = self._leaf(duals, node)
                if leaf is not None:
                    return value, columns, leaf
            is_whole = all(abs(n - round(n)) <= _WHOLE for n in columns[: self.model.stocks].tolist())
            if self.solved >= self.nodes or not is_whole:
                return value, columns, None
            boards = [round(n) for n in columns[: self.model.stocks].tolist()]
            found, _, _ = self.pricer.ruling_out(boards)
            if found is None or not self._add(found.prices) or not self.rows[-1].rules_out(boards):
                return value, columns, None

    # -- leaves ---------------------------------------------------------------------------------------------

    def _leaf(self, duals: Any, node: _Node) -> int | None:
        """The number of new evidence that closes a node, or None if rounding spoils it."""
        added = duals[len(self.candidates) :].tolist()
        for digits in _DIGITS:
            scale = self.scale * digits
            prices = [0.0] * len(self.order)
            for number, dual in zip(self.program.added, added, strict=True):
                if dual > 0:
                    own = self.rows[number]
                    rate = dual * self.step * _HUNDRED / own.needed * scale
                    prices = [sum_ + rate * price for sum_, price in zip(prices, own.prices, strict=True)]
            multipliers = []
            for column, total in self.totals.items():
                low, high = node.lows[column], node.highs[column]
                number = round(float(duals[column - self.model.stocks]) * self.step * scale)
                if (number > 0 and low > 0) or (number < 0 and high < float("inf")):
                    multipliers.append((total, number))
            own_evidence = Evidence(scale, tuple(map(floor, prices)), tuple(sorted(multipliers)))
            try:
                (surplus,) = self.model.surpluses([own_evidence])
            except InvalidProofError:
                return None  # numbers too large for the check
            if surplus is not None and surplus + (self._of_limits(own_evidence, node) or 0) > 0:
                self.evidence.append(own_evidence)
                self.surpluses.append(surplus)
                return len(self.evidence) - 1
        return None

    def _known(self, node: _Node) -> int | None:
        """The number of evidence that closes a node too."""
        for number in range(len(self.evidence) - 1, -1, -1):
            gained = self._of_limits(self.evidence[number], node)
            if gained is not None and self.surpluses[number] + gained > 0:
                return number
        return None

    def _of_limits(self, own: Evidence, node: _Node) -> int | None:
        """What the limits of totals add to evidence; None if one is missing."""
        column_of = {total: column for column, total in self.totals.items()}
        gained = 0
        for which, multiplier in own.totals:
            limit = (node.lows if multiplier > 0 else node.highs)[column_of[which]]
            if limit == float("inf"):
                return None
            gained += multiplier * int(limit)
        return gained

    # -- branches -------------------------------------------------------------------------------------------

    def _branch(self, node: _Node, value: float, columns: Any) -> list[_Node] | None:
        """The two sides of the best branch, the upper one first, or None if all totals are whole."""
        best: tuple[float, int] | None = None
        ranks: dict[int, list[int]] = {}
        for column, rank in enumerate(self.ranks, self.model.stocks):
            if abs(columns[column] - round(columns[column])) > _WHOLE:
                ranks.setdefault(rank, []).append(column)
        for column in ranks[min(ranks)] if ranks else ():
            at, gains = float(columns[column]), []
            for side in self._sides(node, column, at):
                self.solved += 1
                reached = self.program.solve(side.lows, side.highs)[0]
                gains.append(max(1e-4, min(reached, self.cost / self.step) - value))
            if best is None or gains[0] * gains[1] > best[0] * (1 + _WHOLE):
                best = (gains[0] * gains[1], column)
        if best is None:
            return None
        column, at = best[1], float(columns[best[1]])
        if column not in self.totals:
            self.totals[column] = len(self.totals)
            self.model.add_total(self._terms(column))
        self.tree += [self.totals[column], floor(at)]
        return self._sides(node, column, at)[::-1]

    def _sides(self, node: _Node, column: int, at: float) -> list[_Node]:
        down, up = _Node(node.lows, node.highs.copy()), _Node(node.lows.copy(), node.highs)
        down.highs[column], up.lows[column] = floor(at), ceil(at)
        return [down, up]

    def _terms(self, column: int) -> tuple[TotalTerm, ...]:
        weights = self.candidates[column - self.model.stocks]
        return tuple(TotalTerm(weight, ("stock", self.job.stock[j].id)) for j, weight in weights.items())
