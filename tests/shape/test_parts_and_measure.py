"""Parts, poses and measuring, against a picture of unit cells counted one by one."""

from itertools import permutations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from tests.shape.probe import probe
from woodshop.reference.materials import EXISTING
from woodshop.shape.part import (
    FACE_AXIS,
    Assembly,
    Cuboid,
    Cut,
    Face,
    Part,
    Placed,
    Pose,
    Rectangle,
    Role,
    RoundOutline,
    carve,
    contact_area,
    counted,
    cut_box,
    gap,
    overlaps,
    part_volume,
    solid_boxes,
)
from woodshop.units.lengths import ZERO, Length, inch, millimetre

Cell = tuple[int, int, int]
HALF = millimetre("0.5")


def turns() -> list[tuple[str, str, str]]:
    """The 24 turns of a block: signed permutations of determinant + 1."""
    found = []
    for order in permutations(range(3)):
        inversions = sum(order[i] > order[j] for i in range(3) for j in range(i + 1, 3))
        for signs in product((1, -1), repeat=3):
            if (-1) ** inversions * signs[0] * signs[1] * signs[2] == 1:
                a, b, c = (("+" if s > 0 else "-") + "xyz"[i] for i, s in zip(order, signs, strict=True))
                found.append((a, b, c))
    return found


@st.composite
def parts(draw: st.DrawFn) -> Part:
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
    length, width, thickness = (millimetre(n) for n in size)
    return Part("part", EXISTING, length, width, thickness, cuts=tuple(cuts))


@st.composite
def stood(draw: st.DrawFn) -> Placed:
    x, y, z = (millimetre(draw(st.integers(-3, 5))) for _ in range(3))
    return Placed(draw(parts()), Pose((x, y, z), *draw(st.sampled_from(turns()))))


def cells(placed: Placed) -> set[Cell]:
    """The unit cells that a part fills: counted in its own axes, then turned by a rotation written out by hand."""
    part = placed.part
    size = [int(side.mm) for side in part.size]
    filled = set()
    for cell in product(*(range(n) for n in size)):
        if any(_within(cell, cut, size) for cut in part.cuts):
            continue
        world = [int(o.mm) for o in placed.pose.origin]
        words = (placed.pose.along, placed.pose.across, placed.pose.through)
        for n, word in zip(cell, words, strict=True):
            world["xyz".index(word[1])] += n if word[0] == "+" else -n - 1
        filled.add((world[0], world[1], world[2]))
    return filled


def _within(cell: tuple[int, ...], cut: Cut, size: list[int]) -> bool:
    axis = {"left end": 0, "right end": 0, "lower edge": 1, "upper edge": 1, "back face": 2, "show face": 2}[cut.face]
    far = cut.face in ("right end", "upper edge", "show face")
    u, v = (i for i in range(3) if i != axis)
    r = cut.outline
    assert isinstance(r, Rectangle)
    deep = cell[axis] >= size[axis] - int(cut.depth.mm) if far else cell[axis] < int(cut.depth.mm)
    return deep and int(r.u0.mm) <= cell[u] < int(r.u1.mm) and int(r.v0.mm) <= cell[v] < int(r.v1.mm)


# ---- parts and poses ------------------------------------------------------------------------------


def test_a_pose_is_one_of_the_24_turns_and_never_a_mirror_image() -> None:
    signed = [sign + axis for axis in "xyz" for sign in "+-"]
    allowed = set()
    for three in product(signed, repeat=3):
        try:
            Pose((ZERO, ZERO, ZERO), *three)
        except ValueError:
            continue
        allowed.add(three)
    assert allowed == set(turns())
    assert len(allowed) == 24


def test_a_direction_is_a_sign_and_an_axis() -> None:
    with pytest.raises(ValueError, match="direction"):
        Pose((ZERO, ZERO, ZERO), "x")


@pytest.mark.parametrize("face", list(Face))
def test_a_cut_outside_its_block_is_refused(face: Face) -> None:
    two, three = millimetre(2), millimetre(3)
    inside = Rectangle(ZERO, ZERO, two, two)
    Part("p", EXISTING, two, two, two, cuts=(Cut("ok", face, inside, two),))
    for outline, depth in (
        (Rectangle(ZERO, ZERO, three, two), two),
        (Rectangle(ZERO - two, ZERO, two, two), two),
        (inside, three),
        (inside, ZERO),
    ):
        with pytest.raises(ValueError, match="does not lie in the block"):
            Part("p", EXISTING, two, two, two, cuts=(Cut("bad", face, outline, depth),))


@pytest.mark.parametrize("side", range(3))
def test_a_part_of_no_size_is_refused(side: int) -> None:
    size = [inch(1)] * 3
    size[side] = ZERO
    with pytest.raises(ValueError, match="not more than 0"):
        Part("p", EXISTING, *size)


def test_empty_outlines_are_refused() -> None:
    with pytest.raises(ValueError, match="more than 0"):
        Rectangle(ZERO, ZERO, ZERO, inch(1))
    with pytest.raises(ValueError, match="more than 0"):
        RoundOutline(ZERO, ZERO, ZERO)
    assert RoundOutline(inch(2), inch(3), inch(1)).square == Rectangle(
        inch("1 1/2"), inch("2 1/2"), inch("2 1/2"), inch("3 1/2")
    )


def test_a_cut_takes_its_block_from_the_face_that_is_named() -> None:
    # a board 10 x 4 x 3/4; a groove in its lower edge, 1/4 wide, 3/8 deep, full length
    groove = Cut("groove", Face.LOWER, Rectangle(ZERO, inch("1/4"), inch(10), inch("1/2")), inch("3/8"))
    part = Part("board", EXISTING, inch(10), inch(4), inch("3/4"), cuts=(groove,))
    assert cut_box(part, groove) == Cuboid((ZERO, ZERO, inch("1/4")), (inch(10), inch("3/8"), inch("1/2")))
    # 10 x 4 x 3/4 = 30, less 10 x 3/8 x 1/4 = 15/16
    assert part_volume(Placed(part, Pose((ZERO, ZERO, ZERO)))).cubic_inches == 30 - inch("15/16").inches
    assert not part.is_plain


@pytest.mark.invariant
@given(stood())
def test_world_and_own_axes_undo_each_other(placed: Placed) -> None:
    box = placed.box
    assert placed.pose.local(box) == Cuboid((ZERO, ZERO, ZERO), placed.part.size)
    assert placed.pose.place(placed.pose.local(box)) == box
    assert box.volume == Cuboid((ZERO, ZERO, ZERO), placed.part.size).volume


# ---- measuring against counted cells --------------------------------------------------------------


@pytest.mark.invariant
@given(stood())
def test_solid_boxes_fill_just_the_cells_that_no_cut_takes(placed: Placed) -> None:
    boxes = solid_boxes(placed)
    filled = [c for box in boxes for c in _cells_of(box)]
    assert len(filled) == len(set(filled)), "the boxes overlap"
    assert set(filled) == cells(placed)
    if boxes:
        assert part_volume(placed).mm3 == len(filled)


def _cells_of(box: Cuboid) -> list[Cell]:
    spans = [range(int(low.mm), int(high.mm)) for low, high in zip(box.low, box.high, strict=True)]
    return list(product(*spans))


@pytest.mark.invariant
@given(st.lists(stood(), max_size=3), st.integers(0, 2), st.integers(-6, 9), st.integers(-6, 9))
def test_a_probe_runs_through_the_counted_cells(found: list[Placed], axis: int, u: int, v: int) -> None:
    a, b = (i for i in range(3) if i != axis)
    spans = probe(found, axis, millimetre(u) + HALF, millimetre(v) + HALF)
    assert list(spans) == sorted(spans, key=lambda s: (s.start, s.end, s.placed.part.name))
    for placed in found:
        wanted = sorted(c[axis] for c in cells(placed) if c[a] == u and c[b] == v)
        got = sorted(n for s in spans if s.placed is placed for n in range(int(s.start.mm), int(s.end.mm)))
        assert got == sorted(wanted * sum(p is placed for p in found))


def test_a_probe_that_grazes_a_face_meets_nothing() -> None:
    block = Placed(Part("p", EXISTING, inch(1), inch(1), inch(1)), Pose((ZERO, ZERO, ZERO)))
    assert probe([block], 2, ZERO, inch("1/2")) == ()
    assert [(s.start, s.end) for s in probe([block], 2, inch("1/2"), inch("1/2"))] == [(ZERO, inch(1))]


@pytest.mark.invariant
@given(stood(), stood())
def test_overlaps_are_the_cells_in_both(one: Placed, other: Placed) -> None:
    shared = cells(one) & cells(other)
    found = overlaps([one, other])
    assert (sum(int(volume.mm3) for *_, volume in found), len(found)) == (len(shared), bool(shared))


@pytest.mark.invariant
@given(stood(), stood(), st.integers(0, 2))
def test_the_gap_is_the_least_way_between_two_columns(below: Placed, above: Placed, axis: int) -> None:
    # the far face of every column's highest cell of a run, against the near face of every run's lowest:
    # the measure is of blocks, so it is checked on blocks without cuts
    below, above = (Placed(Part("p", EXISTING, *p.part.size), p.pose) for p in (below, above))
    a, b = (i for i in range(3) if i != axis)
    ways = [
        up[axis] - (down[axis] + 1)
        for down in _top(below, axis)
        for up in _bottom(above, axis)
        if (down[a], down[b]) == (up[a], up[b])
    ]
    found = gap([below], [above], axis)
    assert (None if found is None else int(found.mm)) == (min(ways) if ways else None)


def _top(placed: Placed, axis: int) -> list[Cell]:
    filled = cells(placed)
    high = max(c[axis] for c in filled)
    return [c for c in filled if c[axis] == high]


def _bottom(placed: Placed, axis: int) -> list[Cell]:
    filled = cells(placed)
    low = min(c[axis] for c in filled)
    return [c for c in filled if c[axis] == low]


@pytest.mark.invariant
@given(stood(), stood(), st.integers(-5, 5))
def test_moving_a_part_moves_its_gap_by_as_much(below: Placed, above: Placed, by: int) -> None:
    before = gap([below], [above])
    after = gap([below], [above.moved((ZERO, ZERO, millimetre(by)))])
    assert after == (None if before is None else before + millimetre(by))
    sideways = (millimetre(by), millimetre(-by), millimetre(by))
    assert gap([below.moved(sideways)], [above.moved(sideways)]) == before


@pytest.mark.invariant
@given(stood(), stood())
@settings(max_examples=tries(200))
def test_contact_is_the_cells_that_stand_on_each_other(below: Placed, above: Placed) -> None:
    under, over = cells(below), cells(above)
    # a cell of one stands on a cell of the other where a top face and a bottom face coincide; inside faces
    # between two cells of one part are no faces, which the blocks of a part may still show: leave those out
    plain = below.part.is_plain and above.part.is_plain
    if not plain:
        below, above = (Placed(Part("p", EXISTING, *p.part.size), p.pose) for p in (below, above))
        under, over = cells(below), cells(above)
    top, bottom = max(c[2] for c in under) + 1, min(c[2] for c in over)
    wanted = len({c[:2] for c in under} & {c[:2] for c in over}) if top == bottom else 0
    assert contact_area(below, above).mm2 == wanted


def test_contact_on_a_notched_part_leaves_out_the_notch() -> None:
    # a strip across two bars, 1 wide each, resting on the whole of one and on half of the other
    bar = Part(
        "bar",
        EXISTING,
        inch(4),
        inch(1),
        inch(1),
        cuts=(Cut("notch", Face.SHOW, Rectangle(ZERO, ZERO, inch(2), inch(1)), inch("1/4")),),
    )
    strip = Placed(Part("strip", EXISTING, inch(4), inch(1), inch("1/4")), Pose((ZERO, ZERO, inch(1))))
    assert contact_area(Placed(bar, Pose((ZERO, ZERO, ZERO))), strip).square_inches == 2
    assert contact_area(Placed(bar, Pose((ZERO, ZERO, inch("-1/8")))), strip).square_inches == 0


def test_a_gap_is_found_over_the_bottom_of_a_notch() -> None:
    # a rod hangs 1/8 over the floor of a notch 1/4 deep: it is inside the block, and clear of it
    block = Part(
        "b",
        EXISTING,
        inch(4),
        inch(1),
        inch(1),
        cuts=(Cut("notch", Face.SHOW, Rectangle(inch(1), ZERO, inch(3), inch(1)), inch("1/4")),),
    )
    rod = Placed(Part("r", EXISTING, inch("1/2"), inch("1/2"), inch("1/2")), Pose((inch(2), ZERO, inch("7/8"))))
    assert gap([Placed(block, Pose((ZERO, ZERO, ZERO)))], [rod]) == inch("1/8")
    assert overlaps([Placed(block, Pose((ZERO, ZERO, ZERO))), rod]) == ()


def test_nothing_over_nothing_has_no_gap() -> None:
    block = Placed(Part("p", EXISTING, inch(1), inch(1), inch(1)), Pose((ZERO, ZERO, ZERO)))
    assert gap([block], [block.moved((inch(1), ZERO, inch(5)))]) is None
    assert gap([], [block]) is None


# ---- carving, assemblies --------------------------------------------------------------------------


@pytest.mark.invariant
@given(stood(), st.data())
def test_carving_takes_just_what_is_shared(placed: Placed, data: st.DataObject) -> None:
    placed = Placed(Part("p", EXISTING, *placed.part.size), placed.pose)
    face = data.draw(st.sampled_from(list(Face)))
    corner = [data.draw(st.integers(-6, 8)) for _ in range(3)]
    far = [c + data.draw(st.integers(1, 6)) for c in corner]
    taken = Cuboid(_point(corner), _point(far))
    shared = set(_cells_of(taken)) & cells(placed)
    axis, far = FACE_AXIS[face]
    inner = placed.box.meet(taken)
    if inner is not None:
        local = placed.pose.local(inner)
        opens = local.high[axis] == placed.part.size[axis] if far else local.low[axis] == ZERO
        if not opens:
            with pytest.raises(ValueError, match="does not open"):
                carve(placed, taken, "hollow", face)
            return
    left = carve(placed, taken, "hollow", face)
    assert cells(left) == cells(placed) - shared
    assert (left is placed) == (not shared)


def _point(values: list[int]) -> tuple[Length, Length, Length]:
    x, y, z = (millimetre(n) for n in values)
    return (x, y, z)


def test_an_assembly_moves_as_one_and_counts_like_parts_once() -> None:
    part = Part("p", EXISTING, inch(2), inch(1), inch(1))
    other = Part("q", EXISTING, inch(2), inch(1), inch(1))
    origin = (ZERO, ZERO, ZERO)
    two = Assembly(
        "thing",
        "Thing",
        (
            Placed(part, Pose(origin)),
            Placed(other, Pose((inch(5), ZERO, ZERO)), Role.BOUGHT),
            Placed(part, Pose((inch(9), ZERO, ZERO))),
        ),
    )
    moved = two.moved((inch(1), inch(2), inch(3)))
    assert moved.box.low == (inch(1), inch(2), inch(3))
    assert moved.box.size(0) == two.box.size(0) == inch(11)
    assert list(counted(two.placed)) == [(part, 2), (other, 1)]
    assert two.with_role(Role.BOUGHT) == (two.placed[1],)
    assert len(two.named("p")) == 2
