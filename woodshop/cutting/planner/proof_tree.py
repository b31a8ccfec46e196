"""Grows a tree that proves a plan's cost to be the least possible, by branch and bound on linear programs.

Branches limit totals first (what is spent on stock of one width, all boards), then boards and strips of each kind, and
single patterns last. Before a node branches, rounded rows (`proof_rows`) raise its bound. Each leaf has prices from the
linear program, rounded to whole numbers and tried exactly by the check in `prove_tree`; what rounding spoils is tried
with more digits. The search knows the cost, so the order of its nodes does not matter; which total a node branches on
does, so candidates are tried before one is chosen. How large a tree grows is partly luck, so two ways take turns.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from math import ceil, floor
from typing import Any

from woodshop.cutting.checkers.listing import NotCoveredError, TooManyPatternsError
from woodshop.cutting.checkers.patterns import Patterns, patterns_of, sizes_of
from woodshop.cutting.checkers.prove_boards import is_by_boards
from woodshop.cutting.checkers.prove_rows import InvalidProofError
from woodshop.cutting.checkers.prove_tree import ProofModel, patterns_left, tree_bound
from woodshop.cutting.model.job import Job, job_digest
from woodshop.cutting.model.plan import Certificate, Effort, Plan, TreeProof
from woodshop.cutting.model.proof import Evidence, Proof, RoundedRow, TotalTerm, proof_digest, proof_text
from woodshop.cutting.planner.board_tree import BoardGrower
from woodshop.cutting.planner.proof_rows import RowProgram, find_rows
from woodshop.cutting.planner.proof_totals import candidates
from woodshop.cutting.planner.solver import BranchingProgram, Model, SolverFailedError

_FEW = 20  # boards, of which a tree is small
_TRIED = 8  # candidates at a node
_RELIABLE = 4  # tries of a total, from which its average gain is used
_RECENT = 64  # pieces of evidence that are tried at a node before it is solved
_WHOLE = 1e-6
_MORE_DIGITS = 1_000
_DEARER = 1_000  # by share, a breach of a limit of stock, cost or a total, which could make a larger share
_GAIN = 0.005  # of the gap, from which another round is worth it
_STALLED = {0: 6}  # rounds without such a gain, after which there are no more; 2 below the top
_PATIENCE = 4  # rounds for which a row stays that does not help
_ROW = 10**9  # the number of a rounded row plus this, in a tree that grows


@dataclass(slots=True)
class _Gains:
    """What the bound gained on each side of branches on one total, for one unit of distance."""

    down: float = 0.0
    up: float = 0.0
    tries: int = 0

    def score(self, part: float) -> float:
        """The product of both expected gains, if `part` is the fraction above the limit."""
        count = max(1, self.tries)
        return max(self.down / count * part, 1e-4) * max(self.up / count * (1 - part), 1e-4)


@dataclass(slots=True)
class _Node:
    lows: Any
    highs: Any
    rows: tuple[int, ...] = ()  # the rounded rows in its program
    held: tuple[int, ...] = ()  # all that count there
    leaf: int | None = None  # the number of its evidence, if it is already known
    depth: int = 0


@dataclass(slots=True)
class _Column:
    """A column that branches may limit: its terms, its rank (lowest first), and its total in the proof, if any."""

    terms: tuple[TotalTerm, ...]
    rank: int
    total: int | None = None
    gains: _Gains = field(default_factory=_Gains)


@dataclass(frozen=True, slots=True)
class _Way:
    """How many rounded rows a tree takes, and how many linear programs it has when it is tried first."""

    top: tuple[int, int]
    """How often they are looked for at the top, and how many are taken each time."""
    below: tuple[int, int]
    largest: int
    """The largest value of a row; with larger ones the solver may lose its way."""
    nodes: int
    work: int = 500
    """Columns; of larger programs there are fewer in proportion."""
    divisor: int = 10**5
    """The largest divisor of a row; with a small one most fractional columns give no row."""
    by_share: bool = False
    """Whether the program makes the largest share of the order that the cost allows, instead of the whole order at the
    least cost. A few large boards cost the same for many shares, so that their cost says nothing of a branch."""


_WAYS = (_Way((30, 40), (4, 15), 1_000, 100, divisor=10**8), _Way((60, 10), (6, 4), 300, 400))
_WAYS_OF_FEW = (_Way((0, 0), (0, 0), 300, 2_000, work=10_000, by_share=True), *_WAYS)
"""For jobs whose first drop counts whole boards."""
_WAYS_OF_MANY = _WAYS[1:]
"""For jobs whose first drop comes before the list; their programs are large, so that another way costs much."""
_LONGER = 4  # times the linear programs, each time that a way is tried again
TREE_NODES: dict[Effort, int] = {"quick": 200, "default": 2_000, "long": 10_000}
"""The number of linear programs for a proof tree with each effort; fewer if they are large."""
PROVE_NODES = 500_000


def proved_by_tree(plan: Plan, nodes: int, say: Callable[[str], None], *, is_open: bool = False) -> Plan:
    """The plan with a proof tree for its cost if one is found within `nodes` linear programs, or else the plan itself.

    Only a solved plan is tried, or one of few boards; if `is_open`, any whose bound is lower than its cost. `say` gets
    the reason where there is none.
    """
    is_few = sum(layout.times for layout in plan.layouts) <= _FEW and not is_by_boards(plan.job)
    is_open = is_open or is_few
    if plan.assurance not in ("solved", "within" if is_open else "solved") or nodes < 1 or plan.cost < 1:
        return plan
    try:
        proof = grow_proof(plan.job, plan.cost, nodes, say, plan.certificate)
    except SolverFailedError as why:
        say(f"no proof tree: {why}")
        return plan
    text = "" if proof is None else proof_text(proof)
    if not text or tree_bound(plan.job, text)[0] != plan.cost:
        return plan
    own = TreeProof(proof_digest(text), text=text)
    return replace(plan, bound=plan.cost, bound_kind="tree", assurance="proved", gap=0, proof=own)


def grow_proof(
    job: Job, cost: int, nodes: int, say: Callable[[str], None], certificate: Certificate | None = None
) -> Proof | None:
    """A proof that no plan costs less than `cost`, or None if there is none within `nodes` linear programs.

    If the job has too many patterns, the prices of the `certificate` drop the first. `say` gets the reason where such a
    job has no proof. The result depends on nothing but the arguments. Raises SolverFailedError.
    """
    solved, turn = 0, 0
    if is_by_boards(job):
        return BoardGrower(job, cost, nodes).grow(say)
    try:
        patterns, first = _patterns(job, cost, certificate)
        ways = _WAYS if first is None else _WAYS_OF_MANY if first.cost else _WAYS_OF_FEW
        while True:
            way = ways[turn % len(ways)]
            most = way.nodes * _LONGER ** (turn // len(ways))
            grower = _Grower(job, cost, min(nodes - solved, most), way, patterns, first)
            found = grower.run()
            solved, turn = solved + grower.solved, turn + 1
            if found or solved >= nodes or grower.solved < grower.nodes:
                break
    except (NotCoveredError, InvalidProofError) as why:
        say(f"no proof tree: {why}")
        return None
    end = "" if found else ", not finished"
    say(f"proof tree: {solved} linear programs, {len(grower.evidence)} pieces of evidence{end}")
    return grower.proof() if found else None


def _patterns(job: Job, cost: int, certificate: Certificate | None) -> tuple[Patterns, Evidence | None]:
    """All patterns; or, if they are too many, those that the prices of the certificate leave, and these prices.

    Raises NotCoveredError and InvalidProofError.
    """
    try:
        return patterns_of(job), None
    except TooManyPatternsError:
        if certificate is None:
            raise
    prices = dict(certificate.prices)
    by_size = tuple(min(prices.get(name, 0) for name in size.ids) for size in sizes_of(job))
    try:
        first = Evidence(certificate.scale, by_size, ())
        return patterns_left(job, cost, first), first
    except TooManyPatternsError:
        first = Evidence(0, by_size, ())  # counts whole boards
        return patterns_left(job, cost, first, is_whole=True), first


class _Grower:
    def __init__(self, job: Job, cost: int, nodes: int, way: _Way, patterns: Patterns, first: Evidence | None) -> None:
        self.job, self.cost, self.nodes, self.way = job, cost, nodes, way
        self.patterns, self.first = patterns, first
        self.is_whole = first is not None and not first.cost
        self.model = ProofModel(job, self.patterns, cost, is_whole=self.is_whole)
        self.scale = 10 ** (len(str(sum(self.model.counts))) + 3)
        self.solved = 0
        self.evidence: list[Evidence] = []
        self.surpluses: list[int] = []
        self.tree: list[int] = []
        self.totals: list[tuple[TotalTerm, ...]] = []
        self.rounded: list[RoundedRow] = []
        self.drops: tuple[int, ...] = ()

    def proof(self) -> Proof:
        """The finished proof, without what its tree does not need."""
        leaves = {-1 - number for number in self.tree if number < 0} | set(self.drops)
        rows = {row for leaf in leaves for row, _ in self.evidence[leaf].rows}
        for number in range(len(self.rounded) - 1, -1, -1):
            if number in rows:
                rows |= {row for row, _ in self.rounded[number].rows}
        totals = {total for leaf in leaves for total, _ in self.evidence[leaf].totals}
        totals |= {total for row in rows for total, _ in self.rounded[row].totals}
        place = 0
        while place < len(self.tree):
            is_branch = 0 <= self.tree[place] < _ROW
            totals |= {self.tree[place]} if is_branch else set()
            place += 1 + is_branch
        strips = {strip for row in rows for strip, _ in self.rounded[row].strips}
        new_leaf, new_row, new_total, new_strip = (_numbered(some) for some in (leaves, rows, totals, strips))
        tree: list[int] = []
        place = 0
        while place < len(self.tree):
            head = self.tree[place]
            place += 1
            if head < 0:
                tree.append(-1 - new_leaf[-1 - head])
            elif head >= _ROW:
                tree += [len(totals) + new_row[head - _ROW]] if head - _ROW in rows else []
            else:
                tree += [new_total[head], self.tree[place]]
                place += 1
        return Proof(
            job_digest(self.job),
            self.cost,
            self.model.parts,
            tuple(self.totals[n] for n in new_total),
            tuple(
                replace(own, totals=_renumbered(own.totals, new_total), rows=_renumbered(own.rows, new_row))
                for own in (self.evidence[n] for n in new_leaf)
            ),
            tuple(new_leaf[n] for n in self.drops),
            tuple(tree),
            tuple(self.patterns.strips[n] for n in new_strip),
            tuple(
                replace(
                    own,
                    strips=_renumbered(own.strips, new_strip),
                    totals=_renumbered(own.totals, new_total),
                    rows=_renumbered(own.rows, new_row),
                )
                for own in (self.rounded[n] for n in new_row)
            ),
            self.is_whole,
        )

    def run(self) -> bool:
        """Grows the tree. Returns false if the limit is reached first, or a plan may be cheaper."""
        self._load()
        lows, highs = self.program.lows.copy(), self.program.highs.copy()
        _, _, duals, _ = self._solve(lows, highs)
        best = self._rounded(duals, None, lows, highs, scale=self.scale)
        self.evidence += [best] if self.first is None else [self.first, best]
        self.surpluses += [surplus or 0 for surplus in self.model.surpluses(self.evidence)]
        self.model.drop(best)
        self.drops = tuple(range(len(self.evidence)))
        self._load()
        self.model.start_rows(self.patterns.strips)
        self.nodes = min(self.nodes, self.nodes * self.way.work // max(1, self.structural))
        todo = [_Node(self.program.lows.copy(), self.program.highs.copy())]
        while todo:
            node = todo.pop()
            if node.leaf is None:
                node.leaf = self._known(node)
            if node.leaf is None:
                if self.solved >= self.nodes:
                    return False
                value, columns = self._raise(node)
            if node.leaf is not None:
                self.tree.append(-1 - node.leaf)
                continue
            branches = self._branch(node, value, columns)
            if branches is None:
                return False
            todo += branches
        return True

    def _raise(self, node: _Node) -> tuple[float, Any]:
        """Solves a node with more and more rounded rows: its bound, and its columns. Closes it if it can."""
        rounds, most = self.way.below if node.depth else self.way.top
        idle: dict[int, int] = {}
        stalled, best = 0, -1.0
        for turn in range(rounds + 1):
            self._set_rows(node.rows)
            value, columns, duals, reduced = self._solve(node.lows, node.highs)
            duals_of = dict(zip(self.program.added, duals[len(self.table) :].tolist(), strict=True))
            if value > self.model.limit:
                node.leaf = self._leaf(duals, reduced, node)
                break
            if value - best < _GAIN * (self.cost - best):
                stalled += 1
            else:
                stalled, best = 0, value
            if turn == rounds or stalled >= _STALLED.get(node.depth, 2) or self.solved >= self.nodes:
                break
            own = RowProgram(
                self.program, self.table, self.counts, len(self.patterns.strips), self.first_total, len(self.columns)
            )
            held = [(number, self.model.rows[number]) for number in self.program.added]
            found = find_rows(own, held, columns, (most, self.way.divisor), self._total)
            new = self._new_rows(node, found)
            if not new:
                break
            for number, dual in duals_of.items():
                idle[number] = 0 if dual > _WHOLE else idle.get(number, 0) + 1
            node.rows = tuple(n for n in self.program.added if idle[n] <= _PATIENCE) + new
        node.rows = tuple(number for number, dual in duals_of.items() if dual > _WHOLE)
        return value, columns

    def _new_rows(self, node: _Node, found: Sequence[RoundedRow]) -> tuple[int, ...]:
        """The numbers of rows that count from this node on."""
        limits: list[tuple[int, int | None]] = [(0, None)] * len(self.totals)
        for total, pair in self._limits(node.lows, node.highs).items():
            limits[total] = pair
        new: list[int] = []
        for row in found:
            try:
                exact = self.model.rounded(row, limits)
            except InvalidProofError:
                continue  # numbers too large for the check
            if exact.largest > self.way.largest:
                continue
            number = len(self.rounded)
            self.rounded.append(row)
            self.model.rows[number] = exact
            self.tree.append(_ROW + number)
            new.append(number)
        node.held += tuple(new)
        return tuple(new)

    def _set_rows(self, numbers: Sequence[int]) -> None:
        rows = self.model.rows
        self.program.set_rows({number: (rows[number].values, rows[number].right) for number in numbers})

    # -- the linear program ---------------------------------------------------------------------------------

    def _load(self) -> None:
        """The program of all patterns that are left, with a column for each total.

        Rows: parts, strips, limited stock, the cost (by share), totals. A shortage of anything costs more than the
        limit, so that there is always a solution. By share, the last column is the share.
        """
        import numpy

        low, high, job = self.model.low, self.model.high, self.job
        sizes, strips = len(self.model.counts), len(self.patterns.strips)
        limited = [j for j, stock in enumerate(job.stock) if stock.count is not None]
        row_of = {j: sizes + strips + n for n, j in enumerate(limited)}
        rows: list[tuple[int | None, int | None]] = [(count, None) for count in self.model.counts]
        rows += [(0, 0)] * strips + [(None, job.stock[j].count) for j in limited]
        if self.way.by_share:
            rows = [(0, None)] * sizes + rows[sizes:] + [(None, self.model.limit)]
        columns: list[list[tuple[int, int]]] = []
        for row, of in zip(low.rows.tolist(), low.of.tolist(), strict=True):
            columns.append([(i, n) for i, n in enumerate(row) if n] + [(sizes + of, -1)])
        for row, of in zip(high.rows.tolist(), high.of.tolist(), strict=True):
            entry = [(sizes + i, n) for i, n in enumerate(row) if n]
            paid = [(len(rows) - 1, int(self.model.costs[of]))] if self.way.by_share else []
            columns.append(entry + ([(row_of[of], 1)] if of in row_of else []) + paid)
        costs = [0] * len(low.of) + [0 if self.way.by_share else int(self.model.costs[of]) for of in high.of.tolist()]
        self.structural = len(columns)
        self.columns: list[_Column | None] = [None] * self.structural
        self.first_total = len(rows)
        for rank, terms, weights in candidates(self.job, self.model):
            for column, weight in weights.items():
                columns[column].append((len(rows), weight))
            columns.append([(len(rows), -1)])
            costs.append(0)
            self.columns.append(_Column(terms, rank))
            rows.append((0, 0))
        dear = self.model.limit + 1
        for row in range(sizes):
            columns.append([(row, 1)])
            costs.append(dear)
        for row in range(self.first_total, len(rows)):
            columns += [[(row, 1)], [(row, -1)]]
            costs += [dear * _DEARER, dear * _DEARER] if self.way.by_share else [dear, dear]
        columns.append([])  # for rounded rows
        costs.append(dear)
        if self.way.by_share:
            columns += [[(row, -1)] for row in range(sizes + strips, self.first_total)]
            costs += [dear * _DEARER] * (self.first_total - sizes - strips)
            columns.append([(row, -count) for row, count in enumerate(self.model.counts)])
            costs.append(-self.model.limit)
        self.sizes = sizes
        self.counts = numpy.array(self.model.counts, dtype=numpy.int64)
        self.table = numpy.zeros((len(rows), self.structural), dtype=numpy.int64)
        for column, entry in enumerate(columns[: self.structural]):
            for row, weight in entry:
                self.table[row, column] += weight
        self.program = BranchingProgram(Model(tuple(costs), tuple(map(tuple, columns)), tuple(rows)))

    def _solve(self, lows: Any, highs: Any) -> tuple[float, Any, Any, Any]:
        """The bound, the columns, the duals and the reduced costs. A node is closed by a bound above the limit."""
        self.solved += 1
        try:
            value, *rest = self.program.solve(lows, highs)
        except SolverFailedError:
            self.program.set_rows({})  # their numbers may be too much for the solver; a node can do without them
            value, *rest = self.program.solve(lows, highs)
        return (value + 2 * self.model.limit if self.way.by_share else value), *rest

    # -- leaves ---------------------------------------------------------------------------------------------

    def _rounded(self, duals: Any, reduced: Any, lows: Any, highs: Any, *, scale: int) -> Evidence:
        """The duals as whole numbers in 1/scale. Totals count only where the branches limit them."""
        prices = tuple(max(0, floor(dual * scale)) for dual in duals[: self.sizes].tolist())
        paid = max(0, ceil(-float(duals[self.first_total - 1]) * scale)) if self.way.by_share else scale
        multipliers = []
        for column in range(len(self.columns)):
            if lows[column] <= 0 and highs[column] == float("inf"):
                continue
            is_total = column >= self.structural
            dual = duals[self.first_total + column - self.structural] if is_total else reduced[column]
            number = round(float(dual) * scale)
            if (number > 0 and lows[column] > 0) or (number < 0 and highs[column] < float("inf")):
                multipliers.append((self._total(column), number))
        added = zip(self.program.added, duals[len(self.table) :].tolist(), strict=True)
        rows = ((number, round(dual * scale)) for number, dual in added)
        return Evidence(
            paid, prices, tuple(sorted(multipliers)), tuple(sorted((number, m) for number, m in rows if m > 0))
        )

    def _leaf(self, duals: Any, reduced: Any, node: _Node) -> int | None:
        """The number of new evidence that closes a node, or None if rounding spoils it."""
        limits = self._limits(node.lows, node.highs)
        is_large = False
        for power in (0, 1, 2, -1, -2):  # with fewer digits, if the numbers are too large
            if power and is_large is not (power < 0):
                continue
            scale = self.scale * _MORE_DIGITS**power if power >= 0 else max(1, self.scale // _MORE_DIGITS**-power)
            own = self._rounded(duals, reduced, node.lows, node.highs, scale=scale)
            try:
                (surplus,) = self.model.surpluses([own])
            except InvalidProofError:
                if power > 0:
                    return None
                is_large = True
                continue
            if surplus is None:
                continue
            surplus += sum(multiplier * self.model.rows[row].right for row, multiplier in own.rows)
            if surplus + _of_limits(own, limits) > 0:
                self.evidence.append(own)
                self.surpluses.append(surplus)
                return len(self.evidence) - 1
        return None

    def _limits(self, lows: Any, highs: Any) -> dict[int, tuple[int, int | None]]:
        """The least and greatest value of each total that the branches limit."""
        found: dict[int, tuple[int, int | None]] = {}
        for column, own in enumerate(self.columns):
            if own is not None and own.total is not None:
                high = highs[column]
                found[own.total] = (int(lows[column]), None if high == float("inf") else int(high))
        return found

    def _known(self, node: _Node) -> int | None:
        """The number of recent evidence that closes a node too."""
        limits = self._limits(node.lows, node.highs)
        held = set(node.held)
        for number in range(len(self.evidence) - 1, max(-1, len(self.evidence) - 1 - _RECENT), -1):
            own = self.evidence[number]
            if not all(row in held for row, _ in own.rows):
                continue
            gained = 0
            for which, multiplier in own.totals:
                limit = limits[which][0 if multiplier > 0 else 1]
                if limit is None:
                    break
                gained += multiplier * limit
            else:
                if self.surpluses[number] + gained > 0:
                    return number
        return None

    # -- branches -------------------------------------------------------------------------------------------

    def _branch(self, node: _Node, value: float, columns: Any) -> list[_Node] | None:
        """The two sides of the best branch, the upper one first, or None if all is whole: a plan may be cheaper."""
        ranks: dict[int, list[int]] = {}
        for column, own in enumerate(self.columns):
            if abs(columns[column] - round(columns[column])) > _WHOLE:
                ranks.setdefault(2 if own is None or column < self.structural else own.rank, []).append(column)
        if not ranks:
            return None
        candidates = ranks[min(ranks)]
        parts = {column: float(columns[column] - floor(columns[column])) for column in candidates}
        known: list[int] = []
        tried: list[int] = []
        for column in candidates:
            own = self.columns[column]
            (known if own is not None and own.gains.tries >= _RELIABLE else tried).append(column)
        best: tuple[float, int, list[_Node]] | None = None
        for column in known:
            own = self.columns[column]
            score = own.gains.score(parts[column]) if own else 0.0
            if best is None or score > best[0]:
                best = (score, column, [])
        tried.sort(key=lambda column: (-self._guess(column, parts[column]), column))
        for column in tried[:_TRIED]:
            found = self._try(node, column, columns[column], value)
            if best is None or found[0] > best[0]:
                best = (found[0], column, found[1])
        if best is None:
            return None
        _, column, sides = best
        sides = sides or self._sides(node, column, columns[column])
        self.tree += [self._total(column), floor(columns[column])]
        return sides[::-1]

    def _guess(self, column: int, part: float) -> float:
        own = self.columns[column]
        return min(part, 1 - part) if own is None or not own.gains.tries else 1 + own.gains.score(part)

    def _sides(self, node: _Node, column: int, at: float) -> list[_Node]:
        down = _Node(node.lows, node.highs.copy(), node.rows, node.held, depth=node.depth + 1)
        up = _Node(node.lows.copy(), node.highs, node.rows, node.held, depth=node.depth + 1)
        down.highs[column], up.lows[column] = floor(at), ceil(at)
        return [down, up]

    def _try(self, node: _Node, column: int, at: float, value: float) -> tuple[float, list[_Node]]:
        """Solves both sides of a branch: the product of the gains, and the sides, closed where they can be."""
        sides = self._sides(node, column, at)
        self._total(column)
        gains = []
        for side in sides:
            reached, _, duals, reduced = self._solve(side.lows, side.highs)
            if reached > self.model.limit:
                side.leaf = self._leaf(duals, reduced, side)
            gains.append(max(0.0, min(reached, self.cost) - value))
        part = at - floor(at)
        own = self.columns[column]
        if own is not None:
            own.gains.down += gains[0] / part
            own.gains.up += gains[1] / (1 - part)
            own.gains.tries += 1
        return max(gains[0], 1e-4) * max(gains[1], 1e-4), sides

    def _total(self, column: int) -> int:
        """The number of a column's total in the proof, which is added when it is first used."""
        own = self.columns[column]
        if own is None:
            own = self.columns[column] = _Column(self._pattern(column), 2)
        if own.total is None:
            own.total = len(self.totals)
            self.totals.append(own.terms)
            self.model.add_total(own.terms)
        return own.total

    def _pattern(self, column: int) -> tuple[TotalTerm, ...]:
        """The total that counts a single pattern."""
        low = self.model.low
        is_strip = column < len(low.of)
        level, place = (low, column) if is_strip else (self.model.high, column - len(low.of))
        row, of = level.rows[place].tolist(), int(level.of[place])
        names = [("part", name) for name in self.model.parts] if is_strip else list(self.patterns.strips)
        into = tuple((name, n) for name, n in zip(names, row, strict=True) if n)
        return (TotalTerm(1, self.patterns.strips[of] if is_strip else ("stock", self.job.stock[of].id), into),)


def _numbered(some: set[int]) -> dict[int, int]:
    """New numbers for old ones, in the same order."""
    return {old: new for new, old in enumerate(sorted(some))}


def _renumbered(pairs: Sequence[tuple[int, int]], new: dict[int, int]) -> tuple[tuple[int, int], ...]:
    return tuple((new[number], multiplier) for number, multiplier in pairs)


def _of_limits(own: Evidence, limits: dict[int, tuple[int, int | None]]) -> int:
    total = 0
    for which, multiplier in own.totals:
        limit = limits[which][0 if multiplier > 0 else 1]
        total += multiplier * (limit or 0)
    return total
