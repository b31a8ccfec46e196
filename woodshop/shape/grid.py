"""An integer grid that holds a set of lengths exactly: what the section and room measures compute on.

One grid line is 1 / `per_mm` of a millimetre. Whole numbers up to 2**50 in size are exact in a double,
with room left to add, so that a geometry library which computes in doubles still gives exact answers.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

from woodshop.errors import InputError, Problem
from woodshop.units.lengths import Length

LARGEST = 2**50


@dataclass(frozen=True, slots=True)
class Grid:
    """Lines a fixed part of a millimetre apart; lengths on it are whole numbers."""

    per_mm: int

    def whole(self, length: Length) -> int:
        """The whole number a length is on this grid. Raises ValueError when it lies between two lines."""
        top, bottom = length.mm.as_integer_ratio()
        if self.per_mm % bottom:
            raise ValueError(f"{length} ({length.mm} mm) is no whole number of 1/{self.per_mm} mm")
        return top * (self.per_mm // bottom)

    def length(self, whole: int) -> Length:
        """The exact length of so many grid steps."""
        return Length(Fraction(whole, self.per_mm))

    def holding(self, lengths: Iterable[Length]) -> "Grid":
        """The coarsest grid that has every line of this one and holds these lengths too.

        Raises InputError when a length would be more than 2**50 steps of it.
        """
        given = tuple(lengths)
        per_mm = lcm(self.per_mm, *{length.mm.denominator for length in given})
        for length in given:
            top, bottom = length.mm.as_integer_ratio()
            if abs(top) * (per_mm // bottom) > LARGEST:
                raise InputError(
                    Problem(
                        "sizes of the parts",
                        f"{length} together with sizes that need steps of 1/{per_mm} mm",
                        f"at most {LARGEST} steps (2**50) for an exact measure",
                        "Round the sizes to 1/64 in or to a hundredth of a millimetre.",
                    )
                )
        return Grid(per_mm)


def grid_of(lengths: Iterable[Length], halves: bool = False) -> Grid:
    """The coarsest grid that holds these lengths, and their halves where asked.

    Raises InputError when a length would be more than 2**50 steps of it.

    >>> from woodshop.units.lengths import inch, millimetre
    >>> grid_of([inch("1/4"), inch("3/8"), millimetre("0.5")])
    Grid(per_mm=40)
    """
    given = tuple(lengths)
    return Grid(1).holding((*given, *(length / 2 for length in given)) if halves else given)
