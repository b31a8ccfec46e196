"""Rounded rows of a proof tree: conditions that hold because all counts are whole, found anew from their multipliers.

Every row says that a sum over the patterns is at least a whole number. A rounded row is a sum of such rows, each with
a multiplier, then rounded; the guide's topic `proofs` has the rule and the reason.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from woodshop.cutting.model.proof import RoundedRow

_LARGEST = 2**62


class InvalidProofError(Exception):
    """The proof does not prove its claim; the text says why."""


@dataclass(frozen=True, slots=True)
class ProofRow:
    """A sum over the patterns that are left (strips' patterns first, then those of stock) is at least `right`."""

    values: Any
    right: int
    largest: int
    """The largest value without its sign."""

    @property
    def negated(self) -> "ProofRow":
        """The row that says that the sum is at most `right`."""
        return ProofRow(-self.values, -self.right, self.largest)


def proof_row(values: Any, right: int) -> ProofRow:
    """The row with its largest value."""
    return ProofRow(values, right, int(abs(values).max()) if len(values) else 0)


class BaseRows:
    """The rows of a job that need no branch: each part often enough, and each strip cut as often as it is made."""

    def __init__(self, counts: Sequence[int], low: tuple[Any, Any], high: tuple[Any, Any]) -> None:
        """`low` and `high`: the patterns of strips and of stock that are left, and the region that each cuts."""
        import numpy

        (low_rows, low_of), (high_rows, high_of) = low, high
        self._of = (low_of, high_of)
        below, above = numpy.zeros(len(low_of), dtype=numpy.int64), numpy.zeros(len(high_of), dtype=numpy.int64)
        self.width = len(below) + len(above)
        self.parts = [proof_row(numpy.concatenate([low_rows[:, n], above]), count) for n, count in enumerate(counts)]
        self.strips = [
            proof_row(numpy.concatenate([below - (low_of == n), high_rows[:, n]]), 0) for n in range(high_rows.shape[1])
        ]

    def total(
        self, by_strip: Sequence[int], by_stock: Sequence[int], single: Sequence[tuple[bool, int, int]]
    ) -> ProofRow:
        """The row of a total, with 0 at its right.

        `by_strip` and `by_stock` have a weight for each region, `single` (is of stock, place, weight) of patterns.
        """
        import numpy

        low_of, high_of = self._of
        values = numpy.concatenate(
            [numpy.array(by_strip, dtype=numpy.int64)[low_of], numpy.array(by_stock, dtype=numpy.int64)[high_of]]
        )
        for is_high, place, weight in single:
            values[place + (len(low_of) if is_high else 0)] += weight
        return proof_row(values, 0)

    def rounded(
        self, own: RoundedRow, strips: Sequence[int], totals: Sequence[ProofRow], rows: Sequence[ProofRow]
    ) -> ProofRow:
        """The rounded row. `strips`, `totals` and `rows` are what its pairs name, totals with their limit at the right.

        Raises InvalidProofError if a number could be too large for an array's integers.
        """
        import numpy

        exact = [(number, self.strips[n]) for (_, number), n in zip(own.strips, strips, strict=True)]
        more = [(number, self.parts[n]) for n, number in enumerate(own.prices) if number]
        more += [(abs(number), row) for (_, number), row in zip(own.totals, totals, strict=True)]
        more += [(number, row) for (_, number), row in zip(own.rows, rows, strict=True)]
        right = sum(number * row.right for number, row in more)
        rounding = _Rounding(own.divisor, right % own.divisor)
        _refuse(sum(abs(number) * row.largest for number, row in exact + more) + own.divisor)
        values = numpy.zeros(self.width, dtype=numpy.int64)
        for number, row in exact + more:
            values += number * row.values
        slacks = [(rounding.of(-number), row) for number, row in more]
        slacks = [(number, row) for number, row in slacks if number]
        most = int(abs(values).max()) if self.width else 0
        _refuse((rounding.steps + 1) * (max(most // own.divisor, own.divisor) + 2))
        _refuse((rounding.steps + 1) * (most // own.divisor + 2) + sum(abs(n) * row.largest for n, row in slacks))
        values = rounding.of_all(values)
        for number, row in slacks:
            values += number * row.values
        return proof_row(values, rounding.of(right) + sum(number * row.right for number, row in slacks))


@dataclass(frozen=True, slots=True)
class _Rounding:
    """Rounds sums up to whole numbers, in steps between them, so that rounding a sum never gives more than rounding
    its parts. Letchford and Lodi, "Strengthening Chvatal-Gomory cuts and Gomory fractional cuts", Operations Research
    Letters 30 (2002), from memory; the guide's topic `proofs` has the reason."""

    divisor: int
    rest: int

    def __post_init__(self) -> None:
        if not self.rest:
            raise InvalidProofError("a rounded row whose right side is whole already")

    @property
    def steps(self) -> int:
        """The least number of steps with which the rule holds."""
        return -(-self.rest // (self.divisor - self.rest))

    def of(self, number: int) -> int:
        """The number, in units of 1 / (steps + 1)."""
        whole, part = divmod(number, self.divisor)
        more = min(self.steps + 1, 1 + self.steps * part // self.rest) if part else 0
        return (self.steps + 1) * whole + more

    def of_all(self, numbers: Any) -> Any:
        """An array of numbers likewise."""
        import numpy

        whole, part = numbers // self.divisor, numbers % self.divisor
        more = numpy.minimum(self.steps + 1, 1 + self.steps * part // self.rest)
        return (self.steps + 1) * whole + numpy.where(part > 0, more, 0)


def _refuse(largest: int) -> None:
    if largest >= _LARGEST:
        raise InvalidProofError("a rounded row with numbers too large for this check")
