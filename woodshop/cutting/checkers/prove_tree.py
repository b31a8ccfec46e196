"""Checks, with exact integers, that a proof tree proves that no plan for a job costs less than it states.

No solver and no code of the planner is used. The guide's topic `proofs` has the format, the reason, and all that a
stranger needs to write such a check.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from woodshop.cutting.checkers.drops import FirstDrop, least_worths, most_uses
from woodshop.cutting.checkers.listing import NotCoveredError
from woodshop.cutting.checkers.patterns import Patterns, Region, most_of_cheaper, patterns_of
from woodshop.cutting.checkers.prove_boards import BoardModel, is_by_boards
from woodshop.cutting.checkers.prove_rows import BaseRows, InvalidProofError, ProofRow
from woodshop.cutting.model.job import Job, job_digest
from woodshop.cutting.model.proof import Evidence, Proof, RoundedRow, TotalTerm, read_proof
from woodshop.errors import InputError

_LARGEST = 2**62  # an array's integers hold the sum of two smaller numbers
_AT_ONCE = 256  # pieces of evidence
_MOST_WORK = 20_000_000_000  # entries of arrays, times pieces of evidence
_MOST_DROPS, _MOST_TOTALS, _MOST_WEIGHTS = 100, 20_000, 20_000_000
_MOST_ROW_VALUES = 40_000_000

Limits = tuple[int, int | None]
"""The least and the greatest value of a total; None: no limit."""


def tree_bound(job: Job, text: str) -> tuple[int | None, str]:
    """The cost that the proof shows to be the least possible, and ""; or None and the reason if it shows none."""
    try:
        return check_proof(job, read_proof(text)), ""
    except InputError as error:
        first = error.problems[0]
        return None, f"{first.where}: {first.given}; wanted {first.wanted}"
    except (NotCoveredError, InvalidProofError) as error:
        return None, str(error)


def check_proof(job: Job, proof: Proof) -> int:
    """The cost below which the proof shows that no plan lies. Raises InvalidProofError or NotCoveredError."""
    if proof.job_digest != job_digest(job):
        raise InvalidProofError("the tree is for another job: its job_digest differs")
    model = _model_of_boards(job, proof) if is_by_boards(job) else _model_of_patterns(job, proof)
    needs = _walk(proof, model)
    leaves = sorted(needs)
    for number, surplus in zip(leaves, model.surpluses([proof.evidence[n] for n in leaves]), strict=True):
        need = needs[number]
        if surplus is None:
            raise InvalidProofError(f"evidence {number}: no limit to what stock without a cost could be worth")
        if surplus + need <= 0:
            raise InvalidProofError(
                f"evidence {number}: it does not reach the cost, by {-surplus - need} of its own units"
            )
    return proof.cost


def _model_of_boards(job: Job, proof: Proof) -> BoardModel:
    model = BoardModel(job, proof.cost)
    _check_parts(proof, model.parts)
    model.refuse_more(proof)
    if len(proof.totals) * model.stocks > _MOST_WEIGHTS:
        raise InvalidProofError(f"{len(proof.totals):,} totals: too many to check")
    _check_form(proof, len(model.counts))
    for total in proof.totals:
        model.add_total(total)
    return model


def _model_of_patterns(job: Job, proof: Proof) -> "ProofModel":
    first = proof.evidence[proof.drops[0]] if proof.drops else None
    patterns = patterns_left(job, proof.cost, first, is_whole=proof.is_whole)
    model = ProofModel(job, patterns, proof.cost, is_whole=proof.is_whole)
    _check_parts(proof, model.parts)
    weights = len(proof.totals) * (len(model.strips) + model.stocks)
    if len(proof.totals) > _MOST_TOTALS or weights > _MOST_WEIGHTS:
        raise InvalidProofError(f"{len(proof.totals):,} totals: too many to check")
    if len(proof.drops) > _MOST_DROPS or len(proof.evidence) * (model.entries + weights) > _MOST_WORK:
        raise InvalidProofError(
            f"{len(proof.evidence):,} pieces of evidence, {len(proof.drops)} drops: too many to check"
        )
    _check_form(proof, len(model.counts))
    for total in proof.totals:
        model.add_total(total)
    for number in proof.drops[1:]:
        model.drop(proof.evidence[number])
    there = {model.patterns.strips[n] for n in model.patterns.low_of.tolist()}
    if len(set(proof.strips)) != len(proof.strips) or not set(proof.strips) <= there:
        raise InvalidProofError("strips: one that the job has not, or one twice")
    if proof.rows:
        model.start_rows(proof.strips)
        if len(proof.rows) * model.columns > _MOST_ROW_VALUES:
            raise InvalidProofError(f"{len(proof.rows):,} rounded rows: too many to check")
    return model


def _check_parts(proof: Proof, parts: tuple[str, ...]) -> None:
    if proof.parts != parts:
        raise InvalidProofError("parts: not the first blank of each size, in the order of the job")


def _check_form(proof: Proof, sizes: int) -> None:
    """Raises InvalidProofError unless evidence and rounded rows have the right sizes, and numbers in order."""
    totals, rows = len(proof.totals), len(proof.rows)
    both: tuple[Evidence | RoundedRow, ...] = (*proof.evidence, *proof.rows)
    for own in both:
        if len(own.prices) != sizes:
            raise InvalidProofError("evidence or a rounded row without one price for each size")
        _must_ascend(own.totals, totals)
        _must_ascend(own.rows, rows)
    for row in proof.rows:
        _must_ascend(row.strips, len(proof.strips))
    if any(multiplier < 0 for own in proof.evidence for _, multiplier in own.rows):
        raise InvalidProofError("evidence with a negative multiplier for a rounded row")


def _must_ascend(pairs: Sequence[tuple[int, int]], count: int) -> None:
    """Raises InvalidProofError unless the numbers ascend, are below the count, and have multipliers that are not 0."""
    last = -1
    for which, multiplier in pairs:
        if not last < which < count or not multiplier:
            raise InvalidProofError("evidence or a rounded row with totals, strips or rows that are not in order")
        last = which


def _walk(proof: Proof, model: "ProofModel | BoardModel") -> dict[int, int]:
    """Follows every branch to its leaves, and finds each rounded row where it starts.

    Returns, for the evidence of the leaves, the least that limits and rows add to it. Raises InvalidProofError.
    """
    tree, place, needs = proof.tree, 0, dict[int, int]()
    limits: list[Limits] = [(0, None)] * len(proof.totals)
    held: list[int] = []  # the rounded rows that count here
    # For each open branch: the total to limit, its limits, and how many rows count.
    todo: list[tuple[int, Limits, int]] = [(-1, (0, None), 0)]
    while todo:
        total, pair, count = todo.pop()
        if total == -2:  # back at a branch, both sides done
            total, pair, count = todo.pop()
            limits[total] = pair
            continue
        del held[count:]
        if total >= 0:
            limits[total] = pair
        while place < len(tree) and len(limits) <= tree[place] < len(limits) + len(proof.rows):
            number, place = tree[place] - len(limits), place + 1
            if model.rows.get(number) is not None:
                raise InvalidProofError(f"tree: number {place - 1} starts rounded row {number} again")
            own = proof.rows[number]
            if not {n for n, _ in own.rows} <= set(held):
                raise InvalidProofError(f"rows {number}: it needs a row that does not count there")
            model.rows[number] = model.rounded(own, limits)
            held.append(number)
        if place >= len(tree):
            raise InvalidProofError("tree: it ends before every branch has a leaf")
        head = tree[place]
        if head < 0:
            place += 1
            number = -1 - head
            need = _leaf_value(proof, model, number, limits, held)
            needs[number] = min(needs.get(number, need), need)
            continue
        if place + 1 >= len(tree) or head >= len(proof.totals):
            raise InvalidProofError(f"tree: number {place} is no total, or has no limit")
        limit, place = tree[place + 1], place + 2
        low, high = limits[head]
        if limit < low or (high is not None and limit >= high):
            raise InvalidProofError(f"tree: number {place - 1}, {limit}, leaves one side of the branch empty")
        count = len(held)
        todo += [(head, (low, high), 0), (-2, (0, None), 0)]
        todo += [(head, (limit + 1, high), count), (head, (low, limit), count)]
    if place != len(tree):
        raise InvalidProofError("tree: numbers are left after its last leaf")
    return needs


def _leaf_value(
    proof: Proof, model: "ProofModel | BoardModel", number: int, limits: Sequence[Limits], held: Sequence[int]
) -> int:
    """What the limits of totals and the rounded rows add to evidence at a leaf. Raises InvalidProofError."""
    if number >= len(proof.evidence):
        raise InvalidProofError(f"tree: a leaf with evidence {number}, which there is not")
    value = 0
    for which, multiplier in proof.evidence[number].totals:
        limit = limits[which][0 if multiplier > 0 else 1]
        if limit is None:
            raise InvalidProofError(
                f"evidence {number}: a negative multiplier where total {which} has no greatest value"
            )
        value += multiplier * limit
    for which, multiplier in proof.evidence[number].rows:
        if which not in held:
            raise InvalidProofError(f"evidence {number}: row {which} does not count at its leaf")
        value += multiplier * model.rows[which].right
    return value


@dataclass(slots=True)
class _Level:
    """The patterns of all regions of one kind: a row for each, and the region that each cuts."""

    rows: Any
    of: Any
    numbers: Any  # of each row, before any was dropped
    of_total: list[tuple[int, int, int]]  # row before any was dropped, total, weight

    def highest(self, values: Any, regions: int) -> Any:
        """The highest value for each region; 0 where it has no pattern."""
        import numpy

        top = numpy.zeros((regions, values.shape[1]), dtype=numpy.int64)
        if len(self.of):
            starts = numpy.flatnonzero(numpy.diff(self.of, prepend=-1))
            top[self.of[starts]] = numpy.maximum.reduceat(values, starts, axis=0)
        return top

    def keep(self, chosen: Any) -> None:
        """Leaves out every other row."""
        self.rows, self.of, self.numbers = self.rows[chosen], self.of[chosen], self.numbers[chosen]

    def add_totals(self, values: Any, multipliers: Any) -> None:
        """Adds the multipliers of single patterns to their values."""
        import numpy

        for row, total, weight in self.of_total:
            at = int(numpy.searchsorted(self.numbers, row))
            if at < len(self.numbers) and self.numbers[at] == row:
                values[at] += weight * multipliers[total]


class ProofModel:
    """The rows that every plan cheaper than `cost` keeps, and what evidence says of them.

    `is_whole`: whether drops without a multiplier for the cost count whole boards.
    """

    def __init__(self, job: Job, patterns: Patterns, cost: int, *, is_whole: bool = False) -> None:
        import numpy

        self.job, self.patterns, self.is_whole = job, patterns, is_whole
        self.limit = most_of_cheaper(job, cost)
        self.parts = tuple(ids[0] for ids, _ in patterns.sizes)
        self.counts = [count for _, count in patterns.sizes]
        self.stocks = len(job.stock)
        self.costs = numpy.array([stock.cost for stock in job.stock], dtype=numpy.int64)
        self.strips = {region: n for n, region in enumerate(patterns.strips)}
        self.boards: dict[Region, int] = {("stock", stock.id): j for j, stock in enumerate(job.stock)}
        self.most = [most_uses(stock, self.limit) for stock in job.stock]
        self.low = _level(patterns.low, patterns.low_of)
        self.high = _level(patterns.high, patterns.high_of)
        self.entries = patterns.low.size + patterns.high.size
        self.strip_weights: list[list[int]] = []
        self.stock_weights: list[list[int]] = []
        self.rows: dict[int, ProofRow] = {}
        """The rounded rows that are known."""
        self._rows: dict[tuple[bool, int, tuple[int, ...]], int] | None = None
        self._total_rows: dict[int, ProofRow] = {}

    def add_total(self, terms: Sequence[TotalTerm]) -> None:
        """Adds a total that branches may limit. Raises InvalidProofError."""
        number = len(self.strip_weights)
        self.strip_weights.append([0] * len(self.strips))
        self.stock_weights.append([0] * self.stocks)
        for term in terms:
            is_board = term.of in self.boards
            if not is_board and term.of not in self.strips:
                raise InvalidProofError(f"total {number}: {list(term.of)} is no region of the job")
            region = self.boards[term.of] if is_board else self.strips[term.of]
            if term.into is None:
                (self.stock_weights if is_board else self.strip_weights)[number][region] += term.weight
            else:
                row = self._row(is_board, region, term.into, number)
                (self.high if is_board else self.low).of_total.append((row, number, term.weight))

    def _row(self, is_board: bool, region: int, into: "Sequence[tuple[Region, int]]", number: int) -> int:
        if self._rows is None:
            self._rows = {}
            for is_high, rows, of in (
                (False, self.patterns.low, self.patterns.low_of),
                (True, self.patterns.high, self.patterns.high_of),
            ):
                for n, (row, own) in enumerate(zip(rows.tolist(), of.tolist(), strict=True)):
                    self._rows[is_high, own, tuple(row)] = n
        width = len(self.strips) if is_board else len(self.counts)
        counts = [0] * width
        names: dict[Region, int] = self.strips
        if not is_board:
            names = {("part", name): n for n, name in enumerate(self.parts)}
        for name, count in into:
            if name not in names:
                raise InvalidProofError(f"total {number}: {list(name)} is not cut from such a region")
            counts[names[name]] += count
        row = self._rows.get((is_board, region, tuple(counts)))
        if row is None:
            raise InvalidProofError(f"total {number}: no maximal pattern")
        return row

    # -- rounded rows ---------------------------------------------------------------------------------------

    @property
    def columns(self) -> int:
        """How many patterns are left."""
        return len(self.low.of) + len(self.high.of)

    def start_rows(self, strips: Sequence[Region]) -> None:
        """Prepares rounded rows over the patterns that are left; they number `strips`."""
        self.row_strips = [self.strips[region] for region in strips]
        self.base = BaseRows(self.counts, (self.low.rows, self.low.of), (self.high.rows, self.high.of))

    def total_row(self, number: int) -> ProofRow:
        """The row of a total, without a limit."""
        import numpy

        if number not in self._total_rows:
            single = []
            for level in (self.low, self.high):
                for row, total, weight in level.of_total:
                    at = int(numpy.searchsorted(level.numbers, row)) if total == number else len(level.numbers)
                    if at < len(level.numbers) and level.numbers[at] == row:
                        single.append((level is self.high, at, weight))
            self._total_rows[number] = self.base.total(self.strip_weights[number], self.stock_weights[number], single)
        return self._total_rows[number]

    def rounded(self, own: RoundedRow, limits: Sequence[Limits]) -> ProofRow:
        """The rounded row where totals have these limits. Raises InvalidProofError."""
        totals = []
        for which, multiplier in own.totals:
            limit = limits[which][0 if multiplier > 0 else 1]
            if limit is None:
                raise InvalidProofError(f"rows: a negative multiplier where total {which} has no greatest value")
            row = self.total_row(which)
            row = ProofRow(row.values, limit, row.largest)
            totals.append(row if multiplier > 0 else row.negated)
        rows = [self.rows[n] for n, _ in own.rows]
        return self.base.rounded(own, [self.row_strips[n] for n, _ in own.strips], totals, rows)

    # -- evidence -------------------------------------------------------------------------------------------

    def surpluses(self, evidence: Sequence[Evidence]) -> list[int | None]:
        """For each piece of evidence, what it proves apart from limits of totals and rounded rows, in its own units.

        With these, more than 0 shows that no plan is cheaper. None: unlimited stock without a cost is worth something.
        """
        found: list[int | None] = []
        for start in range(0, len(evidence), _AT_ONCE):
            some = evidence[start : start + _AT_ONCE]
            _, _, over, _ = self._values(some)
            found += [self._sum(own, values) for own, values in zip(some, over.T.tolist(), strict=True)]
        return found

    def _sum(self, own: Evidence, over: Sequence[int]) -> int | None:
        total = sum(count * price for count, price in zip(self.counts, own.prices, strict=True)) - own.cost * self.limit
        for most, more in zip(self.most, over, strict=True):
            if more > 0:
                if most is None:
                    return None
                total -= most * more
        return total

    def drop(self, own: Evidence) -> None:
        """Drops the patterns of which a cheaper plan cannot contain even one. Raises InvalidProofError."""
        import numpy

        first = _drop_of(self.job, self.limit, own, is_whole=self.is_whole)
        low, top, over, high = self._values([own])
        # Where stock has no pattern left, `over` is 0.
        best = [
            n + own.cost * cost if n else 0 for n, cost in zip(over[:, 0].tolist(), self.costs.tolist(), strict=True)
        ]
        needed = sum(count * price for count, price in zip(self.counts, own.prices, strict=True))
        least = [max(-_LARGEST + 1, min(_LARGEST - 1, n)) for n in least_worths(self.job, best, needed, first)]
        spare = high[:, 0] + (self.costs * own.cost - numpy.array(least, dtype=numpy.int64))[self.high.of]
        chosen = spare >= 0
        most = numpy.full(len(self.strips), -1, dtype=numpy.int64)
        for strip in range(len(self.strips)):
            users = spare[chosen & (self.high.rows[:, strip] > 0)]
            if len(users):
                most[strip] = users.max()
        lost = top[:, 0][self.low.of] - low[:, 0]
        self.high.keep(chosen)
        self.low.keep(lost <= most[self.low.of])

    def _values(self, some: Sequence[Evidence]) -> tuple[Any, Any, Any, Any]:
        """The value of each strip pattern, each strip, each stock (less its cost) and each stock pattern (likewise).

        Raises InvalidProofError if it has numbers that are too large.
        """
        import numpy

        totals = len(self.strip_weights)
        multipliers = [[0] * len(some) for _ in range(totals)]
        for column, own in enumerate(some):
            for which, multiplier in own.totals:
                multipliers[which][column] = multiplier
        self._refuse_large(some)
        prices = numpy.array([own.prices for own in some], dtype=numpy.int64).T
        by = numpy.array(multipliers, dtype=numpy.int64).reshape(totals, len(some))
        low = self.low.rows @ prices
        self.low.add_totals(low, by)
        places = {row: n for n, row in enumerate(sorted({which for own in some for which, _ in own.rows}))}
        if places:
            table = numpy.array([self.rows[row].values for row in places]).T
            each = numpy.zeros((len(places), len(some)), dtype=numpy.int64)
            for column, own in enumerate(some):
                for which, multiplier in own.rows:
                    each[places[which], column] = multiplier
            table = table @ each
            low += table[: len(low)]
        top = self.low.highest(low, len(self.strips))
        weights = numpy.array(self.strip_weights, dtype=numpy.int64).reshape(totals, len(self.strips))
        high = self.high.rows @ (top + weights.T @ by)
        self.high.add_totals(high, by)
        if places:
            high += table[len(low) :]
        weights = numpy.array(self.stock_weights, dtype=numpy.int64).reshape(totals, self.stocks)
        paid = numpy.array([own.cost for own in some], dtype=numpy.int64)
        high += (weights.T @ by - self.costs[:, None] * paid)[self.high.of]
        over = self.high.highest(high, self.stocks)
        return low, top, over, high

    def _refuse_large(self, some: Sequence[Evidence]) -> None:
        """Raises InvalidProofError if a value could be too large for an array's integers."""
        price = max((price for own in some for price in own.prices), default=0)
        cost = max(own.cost for own in some)
        weight = max(
            (abs(n) for rows in (self.strip_weights, self.stock_weights) for row in rows for n in row),
            default=0,
        )
        weight = max([weight, *(n for level in (self.low, self.high) for _, _, n in level.of_total)])
        # A total may have several terms for one region, so their weights are added.
        terms = 1 + max(len(self.low.of_total), len(self.high.of_total))
        more = max(sum(abs(multiplier) for _, multiplier in own.totals) for own in some) * weight * terms
        more += max(sum(multiplier * self.rows[which].largest for which, multiplier in own.rows) for own in some)
        strip = _fullest(self.low.rows) * price + 2 * more
        if max(price, _fullest(self.high.rows) * strip + 2 * more + cost * max(1, int(self.costs.max()))) >= _LARGEST:
            raise InvalidProofError("evidence with numbers too large for this check")


def patterns_left(job: Job, cost: int, first: Evidence | None, *, is_whole: bool = False) -> Patterns:
    """The patterns that the first drop of a proof for `cost` leaves, or all if there is none.

    With `is_whole`, a drop without a multiplier for the cost counts whole boards. Raises NotCoveredError, and
    InvalidProofError if the evidence can drop nothing.
    """
    if first is None:
        return patterns_of(job)
    if max(first.cost * cost, sum(blank.count for blank in job.blanks) * max(first.prices, default=0)) >= _LARGEST:
        raise InvalidProofError("evidence with numbers too large for this check")
    return patterns_of(job, _drop_of(job, most_of_cheaper(job, cost), first, is_whole=is_whole))


def _drop_of(job: Job, limit: int, own: Evidence, *, is_whole: bool) -> FirstDrop:
    if own.totals or own.rows:
        raise InvalidProofError("drops: evidence with totals, which have no limits here, or with rounded rows")
    return FirstDrop(own.cost, own.prices, limit, is_whole and not own.cost)


def _level(rows: Any, of: Any) -> _Level:
    import numpy

    return _Level(rows, of, numpy.arange(len(of)), [])


def _fullest(rows: Any) -> int:
    return int(rows.sum(axis=1).max()) if len(rows) else 0
