"""Rooms: by hand, and against cubes pushed about one step at a time."""

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from woodshop.reference.materials import EXISTING
from woodshop.shape.part import Cuboid, Cut, Face, Part, Placed, Pose, RoundOutline
from woodshop.shape.rooms import Rooms, rooms
from woodshop.shape.scene import scene
from woodshop.units.lengths import ZERO, Length, inch, millimetre

SIDE = 5
ORIGIN = (ZERO, ZERO, ZERO)
Cell = tuple[int, ...]


def mm_box(low: Cell, high: Cell) -> Cuboid:
    a, b, c = (millimetre(n) for n in low)
    d, e, f = (millimetre(n) for n in high)
    return Cuboid((a, b, c), (d, e, f))


def reaches(found: Rooms, start: Cuboid, goal: Cuboid) -> bool:
    """Whether some cube that stands in one box, if only in part, can slide into the other."""
    return bool(set(found.rooms_in(start)) & set(found.rooms_in(goal)))


WINDOW = mm_box((0, 0, 0), (SIDE, SIDE, SIDE))


@st.composite
def blocks(draw: st.DrawFn) -> list[Cuboid]:
    """Up to six blocks of whole millimetres in and about a space of five."""
    found = []
    for _ in range(draw(st.integers(0, 6))):
        low = [draw(st.integers(-1, SIDE - 1)) for _ in range(3)]
        high = [draw(st.integers(n + 1, SIDE + 1)) for n in low]
        found.append(mm_box(tuple(low), tuple(high)))
    return found


def pushed(boxes: list[Cuboid], size: int) -> dict[Cell, int]:
    """The room of every whole-millimetre place of a cube's low corner, by pushing it one millimetre at a time."""
    solid: set[Cell] = set()
    for box in boxes:
        spans = [range(int(a.mm), int(b.mm)) for a, b in zip(box.low, box.high, strict=True)]
        solid |= set(product(*spans))
    places = {
        low
        for low in product(range(SIDE - size + 1), repeat=3)
        if solid.isdisjoint(product(*(range(n, n + size) for n in low)))
    }
    rooms_of: dict[Cell, int] = {}
    for start in sorted(places):
        if start in rooms_of:
            continue
        name = len(set(rooms_of.values())) + 1
        edge = [start]
        rooms_of[start] = name
        while edge:
            place = edge.pop()
            for axis, way in product(range(3), (-1, 1)):
                to = tuple(n + way * (i == axis) for i, n in enumerate(place))
                if to in places and to not in rooms_of:
                    rooms_of[to] = name
                    edge.append(to)
    return rooms_of


@pytest.mark.invariant
@given(blocks(), st.integers(1, 4))
@settings(max_examples=tries(150), deadline=None)
def test_rooms_are_those_of_a_cube_pushed_step_by_step(boxes: list[Cuboid], size: int) -> None:
    """Every unit cell of the window is asked for; the names of the rooms may differ, their number and joins not."""
    found = rooms(scene(boxes), WINDOW, millimetre(size))
    pushes = pushed(boxes, size)
    assert found.count == len(set(pushes.values()))
    names: dict[int, int] = {}
    for cell in product(range(SIDE), repeat=3):
        over = {room for low, room in pushes.items() if all(a <= n < a + size for a, n in zip(low, cell, strict=True))}
        point = (millimetre(cell[0]), millimetre(cell[1]), millimetre(cell[2]))
        ours = found.rooms_at(point)
        assert ours == found.rooms_in(mm_box(cell, tuple(n + 1 for n in cell)))
        assert len(ours) == len(over)
        if len(ours) == 1:
            assert names.setdefault(ours[0], *over) in over


@pytest.mark.invariant
@given(blocks(), st.integers(1, 3), st.data())
@settings(max_examples=tries(100), deadline=None)
def test_a_cube_reaches_what_it_can_be_pushed_to(boxes: list[Cuboid], size: int, data: st.DataObject) -> None:
    pushes = pushed(boxes, size)

    def drawn() -> tuple[Cuboid, set[int]]:
        low = [data.draw(st.integers(0, SIDE - 1)) for _ in range(3)]
        high = [data.draw(st.integers(n + 1, SIDE)) for n in low]
        meets = {
            room
            for place, room in pushes.items()
            if all(n < b and n + size > a for n, a, b in zip(place, low, high, strict=True))
        }
        return mm_box(tuple(low), tuple(high)), meets

    (start, one), (goal, other) = drawn(), drawn()
    found = rooms(scene(boxes), WINDOW, millimetre(size))
    assert reaches(found, start, goal) == reaches(found, goal, start) == bool(one & other)


@pytest.mark.parametrize("off", [-1, 0, 1])
def test_a_cube_slips_through_a_gap_of_just_its_size(off: int) -> None:
    """A wall across a passage 1 in high and 8 wide, hung 1/4 in and a 64th either way over its floor."""
    gap = inch("1/4") + inch("1/64") * off
    wall = Cuboid((inch(4), ZERO, gap), (inch(5), inch(8), inch(1)))
    window = Cuboid(ORIGIN, (inch(9), inch(8), inch(1)))
    found = rooms(scene([wall]), window, inch("1/4"))
    here, there = (inch(1), inch(4), ZERO), (inch(7), inch(4), ZERO)
    assert found.joined(here, there) == (off >= 0)
    assert found.count == (1 if off >= 0 else 2)


@pytest.mark.parametrize("off", [-1, 0, 1])
def test_a_slot_of_just_its_size_both_ways_lets_a_cube_through(off: int) -> None:
    """A hole 1/4 in square, and a 64th either way: the cube's only way is a line."""
    side = inch("1/4") + inch("1/64") * off
    left = Cuboid((inch(4), ZERO, ZERO), (inch(5), inch(2), inch(4)))
    right = Cuboid((inch(4), inch(2) + side, ZERO), (inch(5), inch(4), inch(4)))
    under = Cuboid((inch(4), inch(2), ZERO), (inch(5), inch(2) + side, inch(2)))
    over = Cuboid((inch(4), inch(2), inch(2) + side), (inch(5), inch(2) + side, inch(4)))
    window = Cuboid(ORIGIN, (inch(9), inch(4), inch(4)))
    found = rooms(scene([left, right, under, over]), window, inch("1/4"))
    assert reaches(
        found, Cuboid(ORIGIN, (inch(1), inch(1), inch(1))), Cuboid((inch(8), ZERO, ZERO), (inch(9), inch(4), inch(4)))
    ) == (off >= 0)


def test_a_round_hole_lets_through_the_cube_of_the_square_drawn_in_it() -> None:
    hole = Cut("hole", Face.SHOW, RoundOutline(inch(2), inch("1 1/2"), inch(1)), inch("3/4"))
    board = Placed(Part("board", EXISTING, inch(4), inch(3), inch("3/4"), cuts=(hole,)), Pose((ZERO, ZERO, inch(2))))
    window = Cuboid(ORIGIN, (inch(4), inch(3), inch(5)))
    for size, goes in (("45/64", True), ("46/64", False)):
        found = rooms(scene([board]), window, inch(size))
        assert found.joined(ORIGIN, (ZERO, ZERO, inch(4))) == goes


def test_boards_that_touch_leave_no_way_between_them() -> None:
    left, right = mm_box((2, 0, 0), (3, 2, 5)), mm_box((2, 2, 0), (3, 5, 5))
    found = rooms(scene([left, right]), WINDOW, Length(millimetre(1).mm / 1000))
    assert found.count == 2
    assert not found.joined(ORIGIN, (millimetre(4), ZERO, ZERO))


def test_a_cube_too_large_for_the_window_has_no_room() -> None:
    found = rooms(scene([]), WINDOW, millimetre(SIDE + 1))
    assert (found.count, found.rooms_in(WINDOW), found.rooms_at(ORIGIN)) == (0, (), ())
    just = rooms(scene([]), WINDOW, millimetre(SIDE))
    assert (just.count, just.rooms_in(WINDOW), just.rooms_at(ORIGIN)) == (1, (1,), (1,))
    full = rooms(scene([WINDOW]), WINDOW, millimetre(1))
    assert (full.count, full.rooms_in(WINDOW)) == (0, ())


def test_a_place_outside_the_window_is_in_no_room() -> None:
    found = rooms(scene([]), WINDOW, millimetre(1))
    assert found.rooms_at((millimetre(9), ZERO, ZERO)) == ()
    assert found.rooms_in(mm_box((-3, 0, 0), (0, 1, 1))) == ()
    assert found.rooms_in(mm_box((-3, 0, 0), (1, 1, 1))) == (1,)


def test_a_cube_without_size_is_refused() -> None:
    with pytest.raises(ValueError, match="no size"):
        rooms(scene([]), WINDOW, ZERO)
