"""The area that is painted: wood that shows on the outside of the hive, measured on the placed parts.

Bees and their food never touch paint: only faces that lie in the upright outside of the thing count, less the
openings in them; upper and lower edges, where one box stands on the other, are left bare.
"""

from fractions import Fraction
from itertools import pairwise

from woodshop.design.batch import Unit
from woodshop.shape.part import FACE_AXIS, Box, Circle, Placed, Role, cut_box

_PI = Fraction(355, 113)  # holes only: true to a ten-millionth
Strip = tuple[Fraction, Fraction, Fraction, Fraction]


def outside_area(unit: Unit) -> Fraction:
    """Square millimetres of wood on the four upright outsides of one of a line; nothing for what stands inside."""
    if unit.line.item.per != "hive":
        return Fraction(0)
    outside = unit.line.setting.outside
    ends = ((outside.x0.mm, outside.x1.mm), (outside.y0.mm, outside.y1.mm))
    total = Fraction(0)
    for placed in unit.assembly.with_role(Role.MADE):
        if placed.part.material.is_made_to_size:
            for axis in (0, 1):
                for far in (False, True):
                    place = (placed.box.high if far else placed.box.low)[axis].mm
                    if place == ends[axis][far]:
                        total += _face(placed, axis, place)
    return total


def _face(placed: Placed, axis: int, place: Fraction) -> Fraction:
    """One outer face, less what cuts open of it."""
    area = _area(_seen(placed.box, axis))
    open_strips: list[Strip] = []
    for cut in placed.part.cuts:
        box = placed.pose.place(cut_box(placed.part, cut))
        if place not in (box.low[axis].mm, box.high[axis].mm):
            continue
        hole = cut.outline
        across = cut_box(placed.part, cut).size(FACE_AXIS[cut.face][0])
        if isinstance(hole, Circle) and box.size(axis) == across:
            area -= _PI * hole.diameter.mm**2 / 4
        else:
            open_strips.append(_seen(box, axis))
    return area - _union(open_strips)


def _seen(box: Box, axis: int) -> Strip:
    """A block as seen along an axis: the two other extents."""
    u, v = (i for i in range(3) if i != axis)
    return box.low[u].mm, box.high[u].mm, box.low[v].mm, box.high[v].mm


def _area(strip: Strip) -> Fraction:
    return (strip[1] - strip[0]) * (strip[3] - strip[2])


def _union(strips: list[Strip]) -> Fraction:
    """The area that rectangles cover together, each spot once."""
    xs = sorted({edge for strip in strips for edge in strip[:2]})
    total = Fraction(0)
    for left, right in pairwise(xs):
        spans = sorted((s[2], s[3]) for s in strips if s[0] <= left and s[1] >= right)
        end: Fraction | None = None
        for low, high in spans:
            start = low if end is None else max(low, end)
            total += max(Fraction(0), high - start) * (right - left)
            end = high if end is None else max(end, high)
    return total
