"""Grids and planes: by hand, against counted cells, and against the blocks that measure.py finds its own way."""

from fractions import Fraction
from itertools import permutations, product
from math import pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from tests.shape.free_space import free_space
from woodshop.errors import InputError
from woodshop.reference.materials import EXISTING
from woodshop.shape.part import FACE_AXIS, Cuboid, Cut, Face, Part, Placed, Pose, Rectangle, RoundOutline, solid_boxes
from woodshop.shape.plane import Patch, open_area, section
from woodshop.shape.scene import Grid, Scene, grid_of, scene
from woodshop.units.lengths import ZERO, Area, Length, inch, millimetre

SIDE = 6
ORIGIN = (ZERO, ZERO, ZERO)


def mm_box(low: tuple[int, ...], high: tuple[int, ...]) -> Cuboid:
    a, b, c = (millimetre(n) for n in low)
    d, e, f = (millimetre(n) for n in high)
    return Cuboid((a, b, c), (d, e, f))


@st.composite
def blocks(draw: st.DrawFn) -> list[Cuboid]:
    """Up to five blocks of whole millimetres in a space of six, free to run into each other."""
    found = []
    for _ in range(draw(st.integers(0, 5))):
        low = [draw(st.integers(0, SIDE - 1)) for _ in range(3)]
        high = [draw(st.integers(n + 1, SIDE)) for n in low]
        found.append(mm_box(tuple(low), tuple(high)))
    return found


def filled(boxes: list[Cuboid]) -> set[tuple[int, int, int]]:
    cells = set()
    for box in boxes:
        spans = [range(int(a.mm), int(b.mm)) for a, b in zip(box.low, box.high, strict=True)]
        cells |= set(product(*spans))
    return cells


def inside(patch: Patch, u: Fraction, v: Fraction) -> bool:
    """Whether a point lies in a patch: an odd number of upright edges to its left, over all its rings."""
    crossings = 0
    for ring in (patch.outer, *patch.holes):
        for (a, b), (c, d) in zip(ring, (*ring[1:], ring[0]), strict=True):
            crossings += a == c and a.mm < u and min(b.mm, d.mm) < v < max(b.mm, d.mm)
    return crossings % 2 == 1


WINDOW = Rectangle(ZERO, ZERO, millimetre(SIDE), millimetre(SIDE))
HALF = Fraction(1, 2)


# ---- grid -----------------------------------------------------------------------------------------


def test_the_grid_is_the_coarsest_that_holds_every_length() -> None:
    # 1/4 in is 127/20 mm, 1/64 in is 127/320 mm, 0.041 in is 5207/5000 mm
    assert grid_of([inch("1/4"), millimetre(3)]) == Grid(20)
    assert grid_of([inch("1/64"), millimetre("0.1")]) == Grid(320)
    assert grid_of([inch("1/64"), inch("0.041")]) == Grid(40000)
    assert grid_of([inch("1/64")], halves=True) == Grid(640)
    assert grid_of([]) == Grid(1)


@pytest.mark.invariant
@given(st.lists(st.fractions(min_value=-3000, max_value=3000, max_denominator=50), min_size=1, max_size=4))
def test_lengths_come_back_from_the_grid_as_they_went(values: list[Fraction]) -> None:
    grid = grid_of([Length(value) for value in values])
    assert [grid.length(grid.whole(Length(value))).mm for value in values] == values


def test_a_length_off_the_grid_is_refused() -> None:
    with pytest.raises(ValueError, match="no whole number of 1/20 mm"):
        Grid(20).whole(inch("1/64"))


def test_sizes_that_no_exact_grid_holds_are_refused_in_words() -> None:
    primes = [Length(Fraction(500 * p + 1, p)) for p in (999983, 999979, 999961)]
    with pytest.raises(InputError, match=r"sizes of the parts.*2\*\*50"):
        grid_of(primes)
    with pytest.raises(InputError):
        scene([Cuboid(ORIGIN, (primes[0], primes[1], primes[2]))])


# ---- planes ---------------------------------------------------------------------------------------


@pytest.mark.invariant
@given(blocks(), st.integers(0, 2), st.integers(0, 2 * SIDE - 1))
@settings(max_examples=tries(150), deadline=None)
def test_a_plane_shows_just_the_cells_on_its_high_side(boxes: list[Cuboid], axis: int, twice: int) -> None:
    at = Length(Fraction(twice, 2))
    solid = {tuple(c[i] for i in range(3) if i != axis) for c in filled(boxes) if c[axis] == twice // 2}
    seen = scene(boxes)
    free = free_space(seen, axis, at, WINDOW)
    for u, v in product(range(SIDE), repeat=2):
        assert sum(inside(patch, u + HALF, v + HALF) for patch in free) == ((u, v) not in solid)
    area = SIDE * SIDE - len(solid)
    assert open_area(seen, axis, at, WINDOW).mm2 == sum(patch.area.mm2 for patch in free) == area
    shown = section(seen, axis, at, WINDOW)
    drawn = {
        cell
        for cross in shown.solids
        for r in cross.rectangles
        for cell in product(range(int(r.u0.mm), int(r.u1.mm)), range(int(r.v0.mm), int(r.v1.mm)))
    }
    assert drawn == solid


@pytest.mark.invariant
@given(blocks(), st.integers(0, 2), st.integers(0, SIDE - 1), st.permutations(range(5)))
@settings(deadline=None)
def test_the_order_of_things_changes_no_outline(boxes: list[Cuboid], axis: int, at: int, order: list[int]) -> None:
    mixed = [boxes[n] for n in order if n < len(boxes)]
    place = millimetre(at)
    assert free_space(scene(boxes), axis, place, WINDOW) == free_space(scene(mixed), axis, place, WINDOW)


@pytest.mark.invariant
@given(blocks(), st.integers(0, SIDE - 1), st.sampled_from(list(permutations(range(3)))))
@settings(deadline=None)
def test_turning_the_axes_turns_the_plane(boxes: list[Cuboid], at: int, order: tuple[int, int, int]) -> None:
    """Axis i of the first scene is axis order.index(i) of the second."""
    turned = [Cuboid(tuple(b.low[i] for i in order), tuple(b.high[i] for i in order)) for b in boxes]  # type: ignore[arg-type]
    here = free_space(scene(boxes), 0, millimetre(at), WINDOW)
    there = free_space(scene(turned), order.index(0), millimetre(at), WINDOW)
    if order.index(1) > order.index(2):
        for u, v in product(range(SIDE), repeat=2):
            one = any(inside(patch, u + HALF, v + HALF) for patch in here)
            assert one == any(inside(patch, v + HALF, u + HALF) for patch in there)
    else:
        assert here == there


def test_outlines_run_anticlockwise_from_their_least_corner_and_holes_the_other_way() -> None:
    post = mm_box((0, 2, 2), (6, 4, 3))
    (patch,) = free_space(scene([post]), 0, millimetre(1), WINDOW)
    two, three, four, six = (millimetre(n) for n in (2, 3, 4, 6))
    assert patch.outer == ((ZERO, ZERO), (six, ZERO), (six, six), (ZERO, six))
    assert patch.holes == (((two, two), (two, three), (four, three), (four, two)),)
    assert patch.area == Area(Fraction(34))


def test_pieces_that_meet_in_a_corner_are_two() -> None:
    found = free_space(scene([mm_box((0, 0, 0), (6, 3, 3)), mm_box((0, 3, 3), (6, 6, 6))]), 0, ZERO, WINDOW)
    assert [patch.area.mm2 for patch in found] == [9, 9]


@st.composite
def stood(draw: st.DrawFn) -> Placed:
    """A part of whole millimetres with up to three cuts, turned about z and moved."""
    size = [draw(st.integers(1, 5)) for _ in range(3)]
    cuts = []
    for _ in range(draw(st.integers(0, 3))):
        face = draw(st.sampled_from(list(Face)))
        axis = FACE_AXIS[face][0]
        u, v = (i for i in range(3) if i != axis)
        u0, v0 = draw(st.integers(0, size[u] - 1)), draw(st.integers(0, size[v] - 1))
        u1, v1 = draw(st.integers(u0 + 1, size[u])), draw(st.integers(v0 + 1, size[v]))
        outline = Rectangle(millimetre(u0), millimetre(v0), millimetre(u1), millimetre(v1))
        cuts.append(Cut("cut", face, outline, millimetre(draw(st.integers(1, size[axis])))))
    part = Part("part", EXISTING, millimetre(size[0]), millimetre(size[1]), millimetre(size[2]), cuts=tuple(cuts))
    x, y, z = (millimetre(draw(st.integers(-3, 5))) for _ in range(3))
    turn = draw(st.sampled_from([("+x", "+y", "+z"), ("-y", "+z", "-x"), ("+z", "+x", "+y"), ("-x", "+z", "+y")]))
    return Placed(part, Pose((x, y, z), *turn))


@pytest.mark.invariant
@given(st.lists(stood(), max_size=3), st.integers(0, 2), st.integers(-4, 10))
@settings(deadline=None)
def test_parts_with_cuts_are_their_blocks_less_their_cuts(parts: list[Placed], axis: int, at: int) -> None:
    window = Rectangle(millimetre(-9), millimetre(-9), millimetre(12), millimetre(12))
    place = millimetre(at)
    blocks = [box for placed in parts for box in solid_boxes(placed)]
    assert free_space(scene(parts), axis, place, window) == free_space(scene(blocks), axis, place, window)
    shown = section(scene(parts), axis, place, window)
    for cross in shown.solids:
        assert isinstance(cross.thing, Placed)
        shares = [b for b in solid_boxes(cross.thing) if b.low[axis] <= place < b.high[axis]]
        u, v = (i for i in range(3) if i != axis)
        drawn = sum((((r.u1 - r.u0) * (r.v1 - r.v0)).mm2 for r in cross.rectangles), start=Fraction(0))
        assert drawn == sum(((b.size(u) * b.size(v)).mm2 for b in shares), start=Fraction(0))


def test_a_plane_in_a_face_shows_what_stands_beyond_it() -> None:
    bar = scene([Cuboid(ORIGIN, (inch(19), inch(1), inch("3/4")))])
    window = Rectangle(ZERO, ZERO, inch(2), inch(2))
    assert open_area(bar, 2, ZERO, window).square_inches == 2
    assert open_area(bar, 2, inch("3/4"), window).square_inches == 4
    assert free_space(bar, 2, inch("3/4"), window)[0].holes == ()
    assert section(bar, 2, inch("3/4"), window).solids == ()


# ---- round holes ----------------------------------------------------------------------------------


def bored(diameter: Length) -> Scene:
    """A board 4 x 3 x 3/4 in that lies flat, bored through 2 in from the left and 1 1/2 in from the edge."""
    hole = Cut("hole", Face.SHOW, RoundOutline(inch(2), inch("1 1/2"), diameter), inch("3/4"))
    return scene([Placed(Part("board", EXISTING, inch(4), inch(3), inch("3/4"), cuts=(hole,)), Pose(ORIGIN))])


@pytest.mark.parametrize("diameter", ["3/8", "1", "1 1/4", "2"])
def test_a_round_hole_cut_across_shows_never_more_than_its_circle(diameter: str) -> None:
    whole = Rectangle(ZERO, ZERO, inch(4), inch(3))
    shown = float(open_area(bored(inch(diameter)), 2, inch("1/4"), whole).square_inches)
    circle = pi / 4 * float(inch(diameter).inches) ** 2
    assert 0.975 * circle < shown < circle
    (drawn,) = free_space(bored(inch(diameter)), 2, inch("1/4"), whole)
    assert 0.9 * circle < float(drawn.area.square_inches) < shown
    middle, radius = (inch(2), inch("1 1/2")), inch(diameter) / 2
    for u, v in drawn.outer:
        assert (u - middle[0]).mm ** 2 + (v - middle[1]).mm ** 2 <= radius.mm**2


def test_a_round_hole_cut_along_shows_its_true_chord() -> None:
    # radius 5/8 in, 3/8 in off the middle: half the chord is 4/8 in by the triangle 3, 4, 5
    whole = Rectangle(ZERO, ZERO, inch(4), inch("3/4"))
    hole = bored(inch("1 1/4"))
    for y, chord in (("1 1/2", "1 1/4"), ("1 1/8", "1"), ("1 7/8", "1"), ("7/8", "0"), ("2 1/8", "0")):
        assert open_area(hole, 1, inch(y), whole) == inch(chord) * inch("3/4"), y
    # 1/8 in off the middle: half the chord is sqrt(24) / 8 in, rounded inwards by less than 1/320 mm
    odd = float((open_area(hole, 1, inch("1 5/8"), whole) / inch("3/4")).mm)
    assert 0 <= 2 * 24**0.5 / 8 * 25.4 - odd < 2 / 320


def test_a_blind_hole_stays_blind() -> None:
    hole = Cut("hole", Face.SHOW, RoundOutline(inch(2), inch("1 1/2"), inch(1)), inch("1/4"))
    board = scene([Placed(Part("board", EXISTING, inch(4), inch(3), inch("3/4"), cuts=(hole,)), Pose(ORIGIN))])
    whole = Rectangle(ZERO, ZERO, inch(4), inch(3))
    assert open_area(board, 2, inch("1/4"), whole) == Area(Fraction(0))
    assert open_area(board, 2, inch("1/2"), whole).square_inches > 0
