"""Isometric pictures: nothing hidden is drawn over what hides it."""

import random
from fractions import Fraction
from itertools import combinations

import pytest
import shapely

from woodshop.drawing.arrange import lay_view
from woodshop.drawing.model import Kind
from woodshop.drawing.paper import Ring
from woodshop.drawing.pictorial import parts_list, pictorial
from woodshop.drawing.solid import faces, grid_of, visible
from woodshop.shape.part import Assembly, Circle, Cut, Face, Part, Placed, Pose, Rectangle, Role
from woodshop.units import ZERO, Length, inch, millimetre

_POSES = (
    ("+x", "+y", "+z"),
    ("+y", "+z", "+x"),
    ("-x", "+z", "+y"),
    ("+y", "-x", "+z"),
    ("-y", "+z", "-x"),
    ("+x", "-y", "-z"),
)


def _random_assembly(seed: int) -> Assembly:
    """Blocks with cuts, anywhere and turned any way; some touch, some run into each other."""
    chance = random.Random(seed)
    placed = []
    for i in range(chance.randint(2, 7)):
        size = [chance.randint(2, 12) for _ in range(3)]
        cuts = []
        for _ in range(chance.randint(0, 3)):
            axis = chance.randrange(3)
            face = (Face.LEFT, Face.LOWER, Face.BACK, Face.RIGHT, Face.UPPER, Face.SHOW)[axis + 3 * chance.randrange(2)]
            u, v = (k for k in range(3) if k != axis)
            u0, v0 = chance.randrange(size[u]), chance.randrange(size[v])
            corners = (u0, v0, chance.randint(u0 + 1, size[u]), chance.randint(v0 + 1, size[v]))
            rectangle = Rectangle(*(millimetre(value) for value in corners))
            cuts.append(Cut("cut", face, rectangle, millimetre(chance.randint(1, size[axis]))))
        length, width, thickness = (millimetre(value) for value in size)
        part = Part(f"part {i}", "pine", length, width, thickness, tuple(cuts))
        x, y, z = (millimetre(chance.randint(0, 14)) for _ in range(3))
        placed.append(Placed(part, Pose((x, y, z), *chance.choice(_POSES))))
    return Assembly("random", f"random {seed}", tuple(placed))


def _first_hit(placed: tuple[Placed, ...], a: Fraction, b: Fraction) -> tuple[set[int], int, Fraction] | None:
    """Straight along the line of sight through (a, b): whose surfaces come first, across which axis, and where.

    Works on the blocks themselves, by the stretches of the line that lie in them and not in their hollows.
    """
    # A point of the line at t is (p + t, q + t, -t) with p - q = a and p + q = b: x - y = a, x + y + 2z = b.
    start = ((a + b) / 2, (b - a) / 2, Fraction(0))
    step = (1, 1, -1)

    def stretch(box: tuple[tuple[Fraction, ...], tuple[Fraction, ...]]) -> tuple[Fraction, int, Fraction] | None:
        enter: tuple[Fraction, int] | None = None
        leave: Fraction | None = None
        for k in range(3):
            ends = sorted(((box[0][k] - start[k]) / step[k], (box[1][k] - start[k]) / step[k]))
            if enter is None or ends[0] > enter[0]:
                enter = (ends[0], k)
            leave = ends[1] if leave is None else min(leave, ends[1])
        assert enter is not None
        assert leave is not None
        return (enter[0], enter[1], leave) if enter[0] < leave else None

    best: tuple[Fraction, set[int], int] | None = None
    for i, each in enumerate(placed):
        block = stretch((tuple(v.mm for v in each.box.low), tuple(v.mm for v in each.box.high)))
        if block is None:
            continue
        holes = [stretch((tuple(v.mm for v in h.low), tuple(v.mm for v in h.high))) for h in each.hollows]
        at, axis, end = block
        moving = True
        while moving:
            moving = False
            for hole in holes:
                if hole is not None and hole[0] <= at < hole[2]:
                    # leaving a hollow: the surface is the one where its own stretch ends
                    box = each.hollows[holes.index(hole)]
                    at = hole[2]
                    axis = next(
                        k
                        for k in range(3)
                        if at in ((box.low[k].mm - start[k]) / step[k], (box.high[k].mm - start[k]) / step[k])
                    )
                    moving = True
        if at < end and (best is None or at < best[0]):
            best = (at, {i}, axis)
        elif at < end and best is not None and at == best[0]:
            best[1].add(i)
    if best is None:
        return None
    at, owners, axis = best
    return owners, axis, start[axis] + at * step[axis]


@pytest.mark.invariant
@pytest.mark.parametrize("seed", range(36))
def test_what_is_drawn_at_a_spot_is_what_the_line_of_sight_meets_first(seed: int) -> None:
    """Against rays, on random assemblies: each spot of the picture shows the nearest surface and no other."""
    placed = _random_assembly(seed).placed
    grid = grid_of(placed)
    seen = visible(faces(placed, grid))
    chance = random.Random(1000 + seed)
    low_a, low_b, high_a, high_b = shapely.union_all([face.shape for face in seen]).bounds
    hits = 0
    for _ in range(250):
        a = Fraction(chance.randint(int(low_a) * 997, int(high_a) * 997), 997) + Fraction(1, 7919)
        b = Fraction(chance.randint(int(low_b) * 997, int(high_b) * 997), 997) + Fraction(1, 6151)
        spot = shapely.Point(float(a), float(b))
        shown = [face for face in seen if face.shape.contains(spot)]
        first = _first_hit(placed, a / 2 / grid, b / 2 / grid)
        if first is None:
            assert not shown
            continue
        hits += 1
        assert shown
        owners = {(face.owner, face.axis, Fraction(face.at, grid)) for face in shown}
        same = {(axis, at) for _, axis, at in owners}
        assert same == {(first[1], first[2])}
        assert {owner for owner, _, _ in owners} == first[0]
    assert hits > 20


def _rim() -> Assembly:
    """Two sides, two ends with round holes, three blocks within, a sheet on top."""
    side = Part("side", "pine", inch("19 7/8"), inch("3 1/2"), inch("3/4"))
    vents = tuple(Cut("vent", Face.SHOW, Circle(inch(x), inch("1 3/4"), inch(1)), inch("3/4")) for x in (4, 8))
    end = Part("end", "pine", inch("14 3/4"), inch("3 1/2"), inch("3/4"), vents)
    block = Part("block", "pine", inch("3 1/2"), inch(3), inch("1 1/2"))
    sheet = Part("sheet", "mesh", inch("19 7/8"), inch("16 1/4"), inch("1/32"))

    def at(x: str, y: str, z: str) -> tuple[Length, Length, Length]:
        return inch(x), inch(y), inch(z)

    return Assembly(
        "rim",
        "Rim",
        (
            Placed(side, Pose(at("0", "3/4", "0"), "+x", "+z", "-y")),
            Placed(side, Pose(at("19 7/8", "15 1/2", "0"), "-x", "+z", "+y")),
            Placed(end, Pose(at("3/4", "15 1/2", "0"), "-y", "+z", "-x")),
            Placed(end, Pose(at("19 1/8", "3/4", "0"), "+y", "+z", "+x")),
            *(Placed(block, Pose(at(x, "5", "0"))) for x in ("3", "8", "13")),
            Placed(sheet, Pose(at("0", "0", "3 1/2")), Role.BOUGHT),
        ),
    )


def test_a_lid_hides_what_is_below_and_lifting_it_shows_it() -> None:
    """With the sheet on, the blocks have no balloon; with it lifted or left out they have."""
    rim = _rim()
    numbers = {number for number, *_ in parts_list(rim)}
    assert {b.number for b in pictorial(rim).balloons} == numbers - {3}
    assert {b.number for b in pictorial(rim, exploded=inch(9)).balloons} == numbers
    assert {b.number for b in pictorial(rim, roles=(Role.MADE,)).balloons} == {1, 2, 3}


def test_parts_list_counts_each_different_part() -> None:
    """Number, part and how many, in the order they are placed."""
    assert [(n, p.name, c) for n, p, c in parts_list(_rim())] == [
        (1, "side", 2),
        (2, "end", 2),
        (3, "block", 3),
        (4, "sheet", 1),
    ]


def test_round_holes_show_on_the_face_towards_the_eye() -> None:
    """The two vents of the front end are closed rims; those of the far end are behind it."""
    rims = [line for line in pictorial(_rim()).lines if line.kind is Kind.THIN]
    assert len(rims) == 2
    assert all(line.points[0] == line.points[-1] for line in rims)


@pytest.mark.outside(
    "ISO 5456-3:1996, isometric axonometry: the three axes drawn at one scale, 30 degrees to the level; from memory"
)
def test_a_cube_is_drawn_isometrically() -> None:
    """A cube's picture is a regular hexagon: as wide as twice cos 30 of its edge, twice its edge high."""
    edge = inch(6)
    cube = Assembly("cube", "Cube", (Placed(Part("cube", "pine", edge, edge, edge), Pose((ZERO, ZERO, ZERO))),))
    (x0, y0), (x1, y1) = pictorial(cube).bounds
    assert float((x1 - x0) / edge) == pytest.approx(3**0.5, abs=1e-8)
    assert (y1 - y0) / edge == 2


@pytest.mark.parametrize("seed", range(12))
def test_balloons_do_not_overlap(seed: int) -> None:
    """The numbered circles are apart from each other and from the picture."""
    view = pictorial(_random_assembly(seed))
    laid = lay_view(view, Fraction(4), "mm")
    rings = [mark for mark in laid.words if isinstance(mark, Ring) and mark.fill == "paper"]
    assert len(rings) == len(view.balloons) > 0
    for a, b in combinations(rings, 2):
        assert (a.x - b.x) ** 2 + (a.y - b.y) ** 2 > (a.radius + b.radius) ** 2


def test_an_assembly_without_parts_of_a_role_is_refused() -> None:
    """There is nothing to draw, and it says so."""
    with pytest.raises(ValueError, match="no part to draw"):
        pictorial(_rim(), roles=(Role.FILLING,))
