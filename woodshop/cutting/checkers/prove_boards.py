"""What evidence of a proof tree says of whole boards, for jobs of three stages.

Their patterns are not listed. The highest worth of a layout (`worth.py`) stands for the best pattern of a stock, so
totals count only boards.
"""

from collections.abc import Sequence

from woodshop.cutting.checkers.drops import most_uses
from woodshop.cutting.checkers.patterns import most_of_cheaper, sizes_of
from woodshop.cutting.checkers.prove_rows import InvalidProofError, ProofRow
from woodshop.cutting.checkers.worth import worth_of_stock
from woodshop.cutting.model.job import Job
from woodshop.cutting.model.proof import Evidence, Proof, TotalTerm

LARGEST = 2**62
MOST_EVIDENCE = 400


def is_by_boards(job: Job) -> bool:
    """Whether trees for the job count only boards."""
    return job.is_flat and job.cutting.stages == 3


class BoardModel:
    """The limits that every plan cheaper than `cost` keeps, and what evidence says of them."""

    def __init__(self, job: Job, cost: int) -> None:
        self.job = job
        self.sizes = sizes_of(job)
        self.parts = tuple(size.ids[0] for size in self.sizes)
        self.counts = [size.count for size in self.sizes]
        self.limit = most_of_cheaper(job, cost)
        self.stocks = len(job.stock)
        self.most = [most_uses(stock, self.limit) for stock in job.stock]
        self.weights: list[list[int]] = []
        self.rows: dict[int, ProofRow] = {}
        self._boards = {("stock", stock.id): j for j, stock in enumerate(job.stock)}
        self._worths: dict[tuple[int, ...], list[int]] = {}

    def refuse_more(self, proof: Proof) -> None:
        """Raises InvalidProofError for drops and rounded rows, and for too much evidence."""
        if proof.drops:
            raise InvalidProofError("drops: there are none in three stages, because patterns are not listed")
        if proof.rows or proof.strips:
            raise InvalidProofError("rows: there are none in three stages, because patterns are not listed")
        if len(proof.evidence) > MOST_EVIDENCE:
            raise InvalidProofError(f"{len(proof.evidence):,} pieces of evidence: too many to check")

    def add_total(self, terms: Sequence[TotalTerm]) -> None:
        """Adds a total that branches may limit. Raises InvalidProofError."""
        number, own = len(self.weights), [0] * len(self.job.stock)
        for term in terms:
            if term.of not in self._boards or term.into is not None:
                raise InvalidProofError(f"total {number}: {list(term.of)}, where only stock as a whole is counted")
            own[self._boards[term.of]] += term.weight
        self.weights.append(own)

    def surpluses(self, evidence: Sequence[Evidence]) -> list[int | None]:
        """For each piece of evidence, what it proves apart from limits of totals, in its own units.

        With these, more than 0 shows that no plan is cheaper. None: unlimited stock without a cost is worth something.
        Raises InvalidProofError.
        """
        return [self._surplus(own) for own in evidence]

    def _surplus(self, own: Evidence) -> int | None:
        needed = sum(count * price for count, price in zip(self.counts, own.prices, strict=True))
        if needed >= LARGEST:
            raise InvalidProofError("evidence with numbers too large for this check")
        total = needed - own.cost * self.limit
        worths = self.worths(own.prices)
        for j, (stock, most) in enumerate(zip(self.job.stock, self.most, strict=True)):
            more = worths[j] - own.cost * stock.cost
            more += sum(multiplier * self.weights[which][j] for which, multiplier in own.totals)
            if more > 0:
                if most is None:
                    return None
                total -= most * more
        return total

    def worths(self, prices: tuple[int, ...]) -> list[int]:
        """The highest worth of a layout on each stock at these prices of the sizes."""
        if prices not in self._worths:
            by_blank = {name: price for size, price in zip(self.sizes, prices, strict=True) for name in size.ids}
            self._worths[prices] = worth_of_stock(self.job, by_blank)
        return self._worths[prices]

    def rounded(self, *_: object) -> ProofRow:
        """Raises InvalidProofError: there are no rounded rows."""
        raise InvalidProofError("rows: there are none in three stages")
