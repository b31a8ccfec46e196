"""Planes, clear widths and rooms, worked by hand on a bar, a mesh and a wall."""

import pytest

from woodshop.shape.clear import clear_classes, clear_width_at
from woodshop.shape.part import Box, Rectangle
from woodshop.shape.plane import open_area
from woodshop.shape.rooms import rooms
from woodshop.shape.scene import Scene, scene
from woodshop.units import ZERO, Length, inch

STEP = inch("1/64")


def over_bars(gap: Length) -> Scene:
    """A block an inch high, and another over it by a gap; both 19 x 8 in."""
    under = Box((ZERO, ZERO, ZERO), (inch(19), inch(8), inch(1)))
    over = Box((ZERO, ZERO, inch(1) + gap), (inch(19), inch(8), inch(2) + gap))
    return scene([under, over])


@pytest.mark.parametrize("off", [-1, 0, 1])
def test_a_gap_of_just_a_size_lets_it_through_and_a_step_less_does_not(off: int) -> None:
    gap = inch("1/4") + STEP * off
    seen = over_bars(gap)
    window = Rectangle(inch(2), inch(1), inch(6), inch(1) + gap)
    found = clear_classes(seen, 0, inch(9), window, [inch("1/4")])
    assert [each.clear for each in found] == [inch("1/4") if off >= 0 else None]
    assert found[0].patch.area == open_area(seen, 0, inch(9), window) == inch(4) * gap
    assert clear_width_at(seen, (inch(9), inch(4), inch(1))) == gap
    way = rooms(seen, Box((ZERO, ZERO, inch(1)), (inch(19), inch(8), inch(1) + gap)), inch("1/4"))
    assert way.count == (off >= 0)
