"""How many of a run to measure, which ones, and what it says when none of them is out."""

from dataclasses import dataclass
from fractions import Fraction
from math import comb

from woodshop.reference.facts import fact

LOTS = (8, 15, 25, 50, 90, 150, 280, 500, 1200, 3200, 10000)
"""The lot sizes, each up to and with this, that have a row; beyond the last its sample does, and says as much."""

DOUBT = Fraction(1, 20)


@dataclass(frozen=True, slots=True)
class Sample:
    """Of a run of so many, how many to measure: the first, then every `step`-th."""

    run: int
    count: int
    step: int

    @property
    def which(self) -> tuple[int, ...]:
        """The numbers in the run of those to measure."""
        return tuple(1 + n * self.step for n in range(self.count))

    @property
    def rule_of_three(self) -> Fraction:
        """The share that may be out where none measured is, 95 times in 100: 3/n, and never more than all."""
        return min(fact("sample.rule_of_three").number / self.count, Fraction(1))

    @property
    def most_out(self) -> int:
        """How many of the run may be out where none measured is, counted: more would have shown 95 times in 100.

        >>> Sample(13, 3, 6).most_out
        7
        """
        return next((out - 1 for out in range(1, self.run + 1) if self.unseen(out) < DOUBT), self.run - self.count)

    def unseen(self, out: int) -> Fraction:
        """The chance that none of so many that are out is among those measured: draws without putting back."""
        return Fraction(comb(self.run - out, self.count), comb(self.run, self.count))


def sample_of(run: int) -> Sample:
    """How many of a run of so many to measure, by the table for lots; a run of one is measured whole.

    >>> sample_of(13).which, sample_of(1).which
    ((1, 7, 13), (1,))
    """
    lot = next((most for most in LOTS if run <= most), LOTS[-1])
    count = min(run, int(fact(f"sample.lot_{lot}").number))
    return Sample(run, count, (run - 1) // (count - 1) if count > 1 else 1)
