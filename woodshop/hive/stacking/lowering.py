"""Letting a thing down until it touches: exact, along z, only where one part is over another.

Whole numbers on the grid that holds every size: fractions would give the same, ten times slower.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from math import lcm

from woodshop.errors import InputError, Problem
from woodshop.shape.measure import solid_boxes
from woodshop.shape.part import Part, Placed, Pose
from woodshop.units.lengths import ZERO, Length


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
    every = tuple(placed)
    parts = {id(each.part): each.part for each in every}
    found = {m.mm.denominator for each in every for m in each.pose.origin}
    return lcm(*found.union(*(_solid(part)[1] for part in parts.values())))


def blocks_of(placed: Sequence[Placed], marks: int) -> list[tuple[Block, ...]]:
    """The solid blocks of each part on a grid, as `blocks` gives them; a part placed many times is scaled once."""
    scaled: dict[int, tuple[tuple[int, ...], ...]] = {}
    found = []
    for each in placed:
        cells = scaled.get(id(each.part))
        if cells is None:
            cells = tuple(tuple(_whole(mark, marks) for mark in cell) for cell in _solid(each.part)[0])
            scaled[id(each.part)] = cells
        x, y, z = (_whole(m.mm, marks) for m in each.pose.origin)
        picks = _picks(each.pose.along, each.pose.across, each.pose.through)
        (ax, sx), (ay, sy), (az, sz), (bx, _), (by, _), (bz, _) = picks
        found.append(
            tuple(
                (x + sx * c[ax], y + sy * c[ay], z + sz * c[az], x + sx * c[bx], y + sy * c[by], z + sz * c[bz])
                for c in cells
            )
        )
    return found


@cache
def _picks(along: str, across: str, through: str) -> tuple[tuple[int, int], ...]:
    """Where a turned cell's lows and highs come from, x0 to z1: the place in the cell of its own axes, and the sign."""
    low, high = [(0, 0)] * 3, [(0, 0)] * 3
    for i, word in enumerate((along, across, through)):
        axis, sign = "xyz".index(word[1]), 1 if word[0] == "+" else -1
        low[axis], high[axis] = ((i, 1), (i + 3, 1)) if sign > 0 else ((i + 3, -1), (i, -1))
    return (*low, *high)


def _whole(mark: Fraction, marks: int) -> int:
    top, bottom = mark.as_integer_ratio()
    return top * (marks // bottom)


def _least_whole(mark: Fraction, marks: int) -> int:
    """The grid line at a mark, or the next one above it: a part whose end is cut away may end between two lines."""
    top, bottom = mark.as_integer_ratio()
    return -(-top * marks // bottom)


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
    falling = [
        (block, placed.part.name) for placed, own in zip(moving, blocks_of(moving, marks), strict=True) for block in own
    ]
    lowest = min((block[2] for block, _ in falling), default=0)
    best: int | None = None
    touching: list[tuple[int, int, Contact]] = []
    # From the highest top down: what lies lower than the best that was found touches nothing first.
    tops = [_least_whole(placed.box.high[2].mm, marks) for _, placed in standing]
    for n in sorted(range(len(standing)), key=lambda n: -tops[n]):
        if best is not None and tops[n] - lowest < best:
            break
        tier, placed = standing[n]
        for fx0, fy0, _, fx1, fy1, top in blocks_of([placed], marks)[0]:
            for m, ((x0, y0, low, x1, y1, _), part) in enumerate(falling):
                rise = top - low
                if (best is None or rise >= best) and fx0 < x1 and x0 < fx1 and fy0 < y1 and y0 < fy1:
                    if best is None or rise > best:
                        best, touching = rise, []
                    touching.append((m, n, Contact(part, placed.part.name, tier)))
    if best is None:
        raise InputError(
            Problem(name, "nothing under it", "something to stand on", "Check the sizes that were given for it.")
        )
    first = sorted(touching, key=lambda each: each[:2])
    return Length(Fraction(best, marks)), tuple(dict.fromkeys(contact for _, _, contact in first))
