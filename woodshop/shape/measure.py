"""Measuring placed parts: solid blocks, gaps between faces, overlaps.

All of it reads the parts as they stand and nothing else, in exact arithmetic.
A round cut counts as the square that just holds it.
"""

from collections.abc import Iterable
from fractions import Fraction
from itertools import combinations, pairwise, product

from woodshop.shape.part import Box, Placed
from woodshop.units.lengths import Area, Length, Volume


def solid_boxes(placed: Placed) -> tuple[Box, ...]:
    """The part as disjoint upright blocks: its block less its cuts."""
    whole, hollows = placed.box, placed.hollows
    if not hollows:
        return (whole,)
    steps = []
    for axis in range(3):
        marks = {whole.low[axis], whole.high[axis]}
        marks.update(m for h in hollows for m in (h.low[axis], h.high[axis]))
        steps.append(list(pairwise(sorted(marks))))
    cells = (Box((x[0], y[0], z[0]), (x[1], y[1], z[1])) for x, y, z in product(*steps))
    return tuple(cell for cell in cells if not any(cell.meet(hollow) for hollow in hollows))


def gap(below: Iterable[Placed], above: Iterable[Placed], axis: int = 2) -> Length | None:
    """The least clearance along `axis` from the far faces of `below` to the near faces of `above`.

    Only where one stands over the other; None where nothing does. Negative when they run into each other.
    """
    a, b = (i for i in range(3) if i != axis)
    lower = [box for placed in below for box in solid_boxes(placed)]
    upper = [box for placed in above for box in solid_boxes(placed)]
    gaps = [
        up.low[axis] - down.high[axis]
        for down in lower
        for up in upper
        if all(max(up.low[i], down.low[i]) < min(up.high[i], down.high[i]) for i in (a, b))
    ]
    return min(gaps, default=None)


def contact_area(below: Placed, above: Placed) -> Area:
    """The area on which one part rests flat on another (their faces at one height), seen from above."""
    total = Area(Fraction(0))
    for down, up in product(solid_boxes(below), solid_boxes(above)):
        if down.high[2] == up.low[2]:
            sides = [min(up.high[i], down.high[i]) - max(up.low[i], down.low[i]) for i in (0, 1)]
            if all(side.mm > 0 for side in sides):
                total = total + sides[0] * sides[1]
    return total


def overlaps(parts: Iterable[Placed]) -> tuple[tuple[Placed, Placed, Volume], ...]:
    """Every two parts that claim the same space, with how much of it; empty when a thing can be built."""
    found = []
    for one, other in combinations(tuple(parts), 2):
        if not one.box.meet(other.box):
            continue
        shared = [m for a, b in product(solid_boxes(one), solid_boxes(other)) if (m := a.meet(b))]
        if shared:
            volume = shared[0].volume
            for box in shared[1:]:
                volume = volume + box.volume
            found.append((one, other, volume))
    return tuple(found)


def part_volume(placed: Placed) -> Volume:
    """What is left of the block after its cuts (a round cut counts as its square)."""
    boxes = solid_boxes(placed)
    volume = boxes[0].volume
    for box in boxes[1:]:
        volume = volume + box.volume
    return volume
