"""Letting a thing down until it touches: exact, along z, only where one part is over another.

Whole numbers on the grid that holds every size: fractions would give the same, ten times slower.
"""

from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from math import lcm

from woodshop.errors import InputError, Problem
from woodshop.shape.measure import solid_boxes
from woodshop.shape.part import Box, Part, Placed, Pose
from woodshop.units import ZERO, Length


@dataclass(frozen=True, slots=True)
class Contact:
    """Two parts that touch: one of this tier, by its name, and the one that it rests on, with the name of its tier."""

    part: str
    on: str
    on_tier: str


@dataclass(frozen=True, slots=True)
class Cell:
    """A solid block of a part, and whose it is."""

    box: Box
    part: str
    tier: str

    @property
    def marks(self) -> tuple[Fraction, ...]:
        """x0, y0, z0, x1, y1, z1 in mm."""
        return tuple(m.mm for m in (*self.box.low, *self.box.high))


def cells_of(tier: str, placed: tuple[Placed, ...]) -> list[Cell]:
    """The parts of a tier as solid blocks: each less its cuts, a round cut by the block that holds it."""
    return [Cell(each.pose.place(cell), each.part.name, tier) for each in placed for cell in _local_cells(each.part)]


@cache
def _local_cells(part: Part) -> tuple[Box, ...]:
    """The solid of a part in its own axes: a hive has many frames, and they are alike."""
    return solid_boxes(Placed(part, Pose((ZERO, ZERO, ZERO))))


def come_down(name: str, moving: list[Cell], fixed: list[Cell]) -> tuple[Length, tuple[Contact, ...]]:
    """How far to move a thing along z so that it just touches what is under it, and what touches first.

    Raises InputError when nothing of it is over anything; `name` says what it is.
    """
    marks = lcm(*{m.denominator for cell in (*fixed, *moving) for m in cell.marks})

    def whole(cell: Cell) -> list[int]:
        return [m.numerator * (marks // m.denominator) for m in cell.marks]

    stand = [(whole(cell), cell) for cell in fixed]
    best: int | None = None
    touching: list[Contact] = []
    for cell in moving:
        x0, y0, low, x1, y1, _ = whole(cell)
        for (fx0, fy0, _, fx1, fy1, top), on in stand:
            if fx0 < x1 and x0 < fx1 and fy0 < y1 and y0 < fy1:
                rise = top - low
                if best is None or rise > best:
                    best, touching = rise, []
                if rise == best:
                    touching.append(Contact(cell.part, on.part, on.tier))
    if best is None:
        raise InputError(
            Problem(name, "nothing under it", "something to stand on", "Check the sizes that were given for it.")
        )
    return Length(Fraction(best, marks)), tuple(dict.fromkeys(touching))
