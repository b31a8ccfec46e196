"""Clear widths: by hand, against cubes tried one by one, against another library's offsets, and against themselves."""

from fractions import Fraction
from itertools import permutations, product

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from tests.shape.free_space import free_space
from woodshop.reference.materials import EXISTING
from woodshop.shape.clear import ClearPatch, clear_classes
from woodshop.shape.part import Cuboid, Cut, Face, Part, Placed, Pose, Rectangle, RoundOutline
from woodshop.shape.plane import open_area
from woodshop.shape.scene import Scene, scene
from woodshop.units.lengths import ZERO, Length, inch, millimetre

SIDE = 6
ORIGIN = (ZERO, ZERO, ZERO)
STEP = inch("1/64")
HALF = Fraction(1, 2)
WINDOW = Rectangle(ZERO, ZERO, millimetre(SIDE), millimetre(SIDE))
SIZES = [millimetre(n) for n in (1, 2, 3, 4)]
Cell = tuple[int, ...]


def mm_box(low: Cell, high: Cell) -> Cuboid:
    a, b, c = (millimetre(n) for n in low)
    d, e, f = (millimetre(n) for n in high)
    return Cuboid((a, b, c), (d, e, f))


@st.composite
def blocks(draw: st.DrawFn) -> list[Cuboid]:
    """Up to six blocks of whole millimetres in a space of six, free to run into each other."""
    found = []
    for _ in range(draw(st.integers(0, 6))):
        low = [draw(st.integers(0, SIDE - 1)) for _ in range(3)]
        high = [draw(st.integers(n + 1, SIDE)) for n in low]
        found.append(mm_box(tuple(low), tuple(high)))
    return found


def filled(boxes: list[Cuboid]) -> set[Cell]:
    cells: set[Cell] = set()
    for box in boxes:
        spans = [range(int(a.mm), int(b.mm)) for a, b in zip(box.low, box.high, strict=True)]
        cells |= set(product(*spans))
    return cells


def cube(low: Cell, size: int) -> set[Cell]:
    return set(product(*(range(n, n + size) for n in low)))


def largest(solid: set[Cell], cell: Cell) -> int:
    """The side of the largest cube of free unit cells over a cell, up to 4, found by trying every one."""
    best = 0
    for size in (1, 2, 3, 4):
        corners = product(*(range(n - size + 1, n + 1) for n in cell))
        if not any(solid.isdisjoint(cube(low, size)) for low in corners):
            break
        best = size
    return best


def inside(found: ClearPatch, u: Fraction, v: Fraction) -> bool:
    """Whether a point lies in a patch: an odd number of upright edges to its left, over all its rings."""
    crossings = 0
    for ring in (found.patch.outer, *found.patch.holes):
        for (a, b), (c, d) in zip(ring, (*ring[1:], ring[0]), strict=True):
            crossings += a == c and a.mm < u and min(b.mm, d.mm) < v < max(b.mm, d.mm)
    return crossings % 2 == 1


def graded(found: tuple[ClearPatch, ...]) -> dict[Cell, Length | None]:
    """The clear size of every unit cell of the window that lies in a patch; no cell may lie in two."""
    sizes: dict[Cell, Length | None] = {}
    for u, v in product(range(SIDE), repeat=2):
        over = [each.clear for each in found if inside(each, u + HALF, v + HALF)]
        assert len(over) < 2, "two patches share a cell"
        if over:
            sizes[u, v] = over[0]
    return sizes


# ---- by hand --------------------------------------------------------------------------------------


def over_bars(gap: Length) -> Scene:
    """A block an inch high, and another over it by a gap; both 19 x 8 in."""
    under = Cuboid(ORIGIN, (inch(19), inch(8), inch(1)))
    over = Cuboid((ZERO, ZERO, inch(1) + gap), (inch(19), inch(8), inch(2) + gap))
    return scene([under, over])


@pytest.mark.parametrize("axis", [0, 1, 2])
@pytest.mark.parametrize("off", [-1, 0, 1])
def test_a_gap_of_just_a_size_lets_it_through_and_a_step_less_does_not(axis: int, off: int) -> None:
    gap = inch("1/4") + STEP * off
    seen = over_bars(gap)
    if axis == 2:
        at, window, area = inch(1) + STEP, Rectangle(inch(2), inch(1), inch(6), inch(3)), inch(4) * inch(2)
    else:
        at, window, area = inch(4), Rectangle(inch(2), inch(1), inch(6), inch(1) + gap), inch(4) * gap
    found = clear_classes(seen, axis, at, window=window, sizes=[inch("1/4")])
    assert [each.clear for each in found] == [inch("1/4") if off >= 0 else None]
    assert found[0].patch.area == open_area(seen, axis, at, window) == area


@pytest.mark.parametrize(("size", "goes"), [("6.349", True), ("6.351", False)])
def test_a_size_between_the_steps_of_the_grid_is_kept_as_it_is(size: str, goes: bool) -> None:
    # a gap of 1/4 in is 6.35 mm
    window = Rectangle(inch(2), inch(1), inch(6), inch("1 1/4"))
    (found,) = clear_classes(over_bars(inch("1/4")), 0, inch(9), window=window, sizes=[millimetre(size)])
    assert (found.clear is not None) == goes


def test_a_lane_seen_broadside_is_no_wider_than_its_walls_are_apart() -> None:
    combs = [Cuboid((ZERO, inch(y), ZERO), (inch(17), inch(y) + inch("7/8"), inch(8))) for y in ("0", "1 1/4")]
    window = Rectangle(inch(2), inch(1), inch(12), inch(7))
    sizes = [inch(n) for n in ("1/4", "3/8", "1/2", "1")]
    (lane,) = clear_classes(scene(combs), 1, inch(1), window=window, sizes=sizes)
    assert (lane.clear, lane.patch.area.square_inches) == (inch("3/8"), 60)
    (broad,) = clear_classes(scene(combs), 1, inch(1), window=window, sizes=sizes, flat=True)
    assert broad.clear == inch(1)


def test_a_lane_that_opens_into_a_space_is_wide_only_as_far_as_a_square_reaches() -> None:
    # in the plane: a lane 3/8 wide runs down from a space 1 in high, between two blocks 4 in high
    left = Cuboid(ORIGIN, (inch(9), inch(2), inch(4)))
    right = Cuboid((ZERO, inch("2 3/8"), ZERO), (inch(9), inch("4 3/8"), inch(4)))
    lid = Cuboid((ZERO, ZERO, inch(5)), (inch(9), inch("4 3/8"), inch(6)))
    window = Rectangle(ZERO, ZERO, inch("4 3/8"), inch(6))
    found = clear_classes(scene([left, right, lid]), 0, inch(4), window=window, sizes=[inch("3/8"), inch(1)])
    assert {str(each.clear): each.patch.area.square_inches for each in found} == {
        "3/8 in": Fraction(3, 8) * 4,
        "1 in": Fraction(35, 8),
    }


def test_the_edge_of_the_window_is_a_wall_only_where_asked() -> None:
    floor = scene([mm_box((-9, -9, -9), (9, 9, 0))])
    window = Rectangle(ZERO, ZERO, millimetre(9), millimetre(2))
    sizes = [millimetre(2), millimetre(3)]
    assert [each.clear for each in clear_classes(floor, 0, ZERO, window=window, sizes=sizes)] == [millimetre(3)]
    assert [each.clear for each in clear_classes(floor, 0, ZERO, window=window, sizes=sizes, closed=True)] == [
        millimetre(2)
    ]
    # a lid just beyond the edge of the window counts
    lid = scene([mm_box((-9, -9, -9), (9, 9, 0)), mm_box((-9, -9, 2), (9, 9, 3))])
    assert [each.clear for each in clear_classes(lid, 0, ZERO, window=window, sizes=sizes)] == [millimetre(2)]


@pytest.mark.parametrize("sizes", [[], ["0"], ["-1"], ["1", "1"], ["2", "1"]])
def test_sizes_that_do_not_rise_are_refused(sizes: list[str]) -> None:
    with pytest.raises(ValueError, match="rise"):
        clear_classes(scene([]), 0, ZERO, window=WINDOW, sizes=[inch(size) for size in sizes])


def test_a_round_hole_clears_the_square_drawn_in_it() -> None:
    # a hole of 1 in holds a square of 0.7071 in: 45/64 in goes through, 46/64 in does not
    hole = Cut("hole", Face.SHOW, RoundOutline(inch(2), inch("1 1/2"), inch(1)), inch(1))
    board = scene([Placed(Part("board", EXISTING, inch(4), inch(3), inch(1), cuts=(hole,)), Pose(ORIGIN))])
    window = Rectangle(ZERO, ZERO, inch(4), inch(3))
    sizes = [inch("45/64"), inch("46/64")]
    found = clear_classes(board, 2, inch("1/2"), window=window, sizes=sizes)
    assert {each.clear for each in found} == {None, sizes[0]}
    clear = [each for each in found if each.clear]
    assert len(clear) == 1


# ---- against other ways ---------------------------------------------------------------------------


@pytest.mark.invariant
@given(blocks(), st.integers(0, 2), st.integers(0, 2 * SIDE - 1))
@settings(max_examples=tries(150), deadline=None)
def test_classes_are_the_cubes_that_fit_tried_one_by_one(boxes: list[Cuboid], axis: int, twice: int) -> None:
    solid = filled(boxes)
    found = clear_classes(scene(boxes), axis, Length(Fraction(twice, 2)), window=WINDOW, sizes=SIZES)
    grades = graded(found)
    for u, v in product(range(SIDE), repeat=2):
        cell = [u, v]
        cell.insert(axis, twice // 2)
        if tuple(cell) in solid:
            assert (u, v) not in grades
        else:
            assert grades[u, v] == millimetre(largest(solid, tuple(cell)))


@pytest.mark.invariant
@given(blocks(), st.integers(0, 2), st.integers(0, SIDE - 1), st.integers(1, 4))
@settings(max_examples=tries(100), deadline=None)
def test_the_flat_opening_is_that_of_mitred_offsets(boxes: list[Cuboid], axis: int, at: int, size: int) -> None:
    """The library's offsets inwards and outwards by half a size, less a quarter so that what just fits stays."""
    lots = 20
    window = Rectangle(millimetre(-lots), millimetre(-lots), millimetre(SIDE + lots), millimetre(SIDE + lots))
    u, v = (i for i in range(3) if i != axis)
    solid = [
        shapely.box(int(b.low[u].mm), int(b.low[v].mm), int(b.high[u].mm), int(b.high[v].mm))
        for b in boxes
        if b.low[axis].mm <= at < b.high[axis].mm
    ]
    whole = shapely.box(-lots, -lots, SIDE + lots, SIDE + lots).difference(shapely.union_all(solid))
    by = size / 2 - 0.25
    opened = whole.buffer(-by, join_style="mitre", mitre_limit=10).buffer(by, join_style="mitre", mitre_limit=10)
    found = clear_classes(scene(boxes), axis, millimetre(at), window=window, sizes=[millimetre(size)], flat=True)
    for i, j in product(range(SIDE), repeat=2):
        ours = any(each.clear and inside(each, i + HALF, j + HALF) for each in found)
        assert ours == opened.covers(shapely.Point(i + 0.5, j + 0.5))
    area = sum((each.patch.area.mm2 for each in found if each.clear), start=Fraction(0))
    assert float(area) == pytest.approx(opened.area, abs=1e-6)


# ---- against themselves ---------------------------------------------------------------------------


@pytest.mark.invariant
@given(blocks(), st.integers(0, 2), st.integers(0, SIDE - 1), st.booleans(), st.booleans())
@settings(deadline=None)
def test_classes_part_the_free_space_and_nothing_else(
    boxes: list[Cuboid], axis: int, at: int, closed: bool, flat: bool
) -> None:
    seen = scene(boxes)
    found = clear_classes(seen, axis, millimetre(at), window=WINDOW, sizes=SIZES, closed=closed, flat=flat)
    graded(found)
    total = sum((each.patch.area.mm2 for each in found), start=Fraction(0))
    assert total == open_area(seen, axis, millimetre(at), WINDOW).mm2
    free = free_space(seen, axis, millimetre(at), WINDOW)
    assert total == sum((patch.area.mm2 for patch in free), start=Fraction(0))


@pytest.mark.invariant
@given(blocks(), st.integers(0, SIDE - 1), st.tuples(*[st.fractions(-90, 90, max_denominator=64)] * 3))
@settings(deadline=None)
def test_moving_everything_moves_every_patch(
    boxes: list[Cuboid], at: int, by: tuple[Fraction, Fraction, Fraction]
) -> None:
    x, y, z = (Length(n) for n in by)
    there = [Pose((x, y, z)).place(box) for box in boxes]
    window = Rectangle(y, z, y + millimetre(SIDE), z + millimetre(SIDE))
    here = clear_classes(scene(boxes), 0, millimetre(at), window=WINDOW, sizes=SIZES)
    moved = clear_classes(scene(there), 0, millimetre(at) + x, window=window, sizes=SIZES)
    assert [each.clear for each in moved] == [each.clear for each in here]
    for one, other in zip(here, moved, strict=True):
        assert other.patch.outer == tuple((u + y, v + z) for u, v in one.patch.outer)
        assert other.patch.holes == tuple(tuple((u + y, v + z) for u, v in hole) for hole in one.patch.holes)


@pytest.mark.invariant
@given(blocks(), st.integers(0, SIDE - 1), st.sampled_from(list(permutations(range(3)))))
@settings(deadline=None)
def test_turning_the_axes_turns_the_classes(boxes: list[Cuboid], at: int, order: tuple[int, int, int]) -> None:
    """Axis i of the first scene is axis order.index(i) of the second."""
    turned = [Cuboid(tuple(b.low[i] for i in order), tuple(b.high[i] for i in order)) for b in boxes]  # type: ignore[arg-type]
    here = graded(clear_classes(scene(boxes), 0, millimetre(at), window=WINDOW, sizes=SIZES))
    there = graded(clear_classes(scene(turned), order.index(0), millimetre(at), window=WINDOW, sizes=SIZES))
    swapped = order.index(1) > order.index(2)
    assert {((v, u) if swapped else (u, v)): clear for (u, v), clear in here.items()} == there


@pytest.mark.invariant
@given(blocks(), st.integers(0, 2), st.integers(0, SIDE - 1), st.integers(1, 9))
@settings(deadline=None)
def test_a_finer_grid_changes_nothing(boxes: list[Cuboid], axis: int, at: int, odd: int) -> None:
    """A block far off whose sizes need a finer grid leaves every patch as it was."""
    far = Cuboid(
        (inch(900), ZERO, ZERO),
        (inch(900) + inch(Fraction(odd, 64)), inch(Fraction(odd, 7)), millimetre(Fraction(1, 997))),
    )
    here = clear_classes(scene(boxes), axis, millimetre(at), window=WINDOW, sizes=SIZES)
    assert clear_classes(scene([*boxes, far]), axis, millimetre(at), window=WINDOW, sizes=SIZES) == here
