"""Letting a thing down until it touches: exact, along z, only where one part is over another.

Whole numbers on the grid that holds every size: fractions would give the same, ten times slower.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from math import lcm

from woodshop.errors import InputError, Problem
from woodshop.shape.measure import solid_boxes
from woodshop.shape.part import Part, Placed, Pose
from woodshop.units import ZERO, Length


@dataclass(frozen=True, slots=True)
class Contact:
    """Two parts that touch: one of this tier, by its name, and the one that it rests on, with the name of its tier."""

    part: str
    on: str
    on_tier: str


Block = tuple[int, int, int, int, int, int]
"""A solid block on a grid of whole numbers: x0, y0, z0, x1, y1, z1."""


def marks_per_mm(placed: Iterable[Placed]) -> int:
    """The coarsest grid, in lines to a millimetre, that holds every edge of these parts."""
    return lcm(*{d for each in placed for d in (*_solid(each.part)[1], *(m.mm.denominator for m in each.pose.origin))})


def blocks(placed: Placed, marks: int) -> tuple[Block, ...]:
    """The part as solid blocks on a grid: less its cuts, a round cut by the block that holds it."""
    origin = [_whole(m.mm, marks) for m in placed.pose.origin]
    turns = [("xyz".index(word[1]), 1 if word[0] == "+" else -1) for word in _directions(placed.pose)]
    found = []
    for cell in _solid(placed.part)[0]:
        low, high = list(origin), list(origin)
        for i, (axis, sign) in enumerate(turns):
            a, b = (_whole(mark, marks) for mark in (cell[i], cell[i + 3]))
            low[axis] += a if sign > 0 else -b
            high[axis] += b if sign > 0 else -a
        found.append((low[0], low[1], low[2], high[0], high[1], high[2]))
    return tuple(found)


def _directions(pose: Pose) -> tuple[str, str, str]:
    return pose.along, pose.across, pose.through


def _whole(mark: Fraction, marks: int) -> int:
    return mark.numerator * (marks // mark.denominator)


@cache
def _solid(part: Part) -> tuple[tuple[tuple[Fraction, ...], ...], frozenset[int]]:
    """The solid of a part in its own axes, in mm, and the denominators in it: a hive has many frames, all alike."""
    cells = solid_boxes(Placed(part, Pose((ZERO, ZERO, ZERO))))
    edges = tuple(tuple(m.mm for m in (*cell.low, *cell.high)) for cell in cells)
    return edges, frozenset(edge.denominator for cell in edges for edge in cell)


def come_down(
    name: str, moving: tuple[Placed, ...], fixed: Iterable[tuple[str, Placed]]
) -> tuple[Length, tuple[Contact, ...]]:
    """How far to move a thing along z so that it just touches what is under it, and what touches first.

    `fixed` are the parts that stand, each with the name of its tier. Raises InputError when nothing of it is over
    anything; `name` says what it is.
    """
    standing = tuple(fixed)
    marks = marks_per_mm((*moving, *(placed for _, placed in standing)))
    stand = [(block, placed.part.name, tier) for tier, placed in standing for block in blocks(placed, marks)]
    best: int | None = None
    touching: list[Contact] = []
    for placed in moving:
        for x0, y0, low, x1, y1, _ in blocks(placed, marks):
            for (fx0, fy0, _, fx1, fy1, top), on, tier in stand:
                if fx0 < x1 and x0 < fx1 and fy0 < y1 and y0 < fy1:
                    rise = top - low
                    if best is None or rise > best:
                        best, touching = rise, []
                    if rise == best:
                        touching.append(Contact(placed.part.name, on, tier))
    if best is None:
        raise InputError(
            Problem(name, "nothing under it", "something to stand on", "Check the sizes that were given for it.")
        )
    return Length(Fraction(best, marks)), tuple(dict.fromkeys(touching))
