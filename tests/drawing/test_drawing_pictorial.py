"""Isometric pictures: nothing hidden is drawn over what hides it."""

import random
from fractions import Fraction
from itertools import combinations

import pytest
import shapely

from woodshop.drawing.arrange import lay_view
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


Hit = tuple[set[int], int, Fraction, bool]  # whose surface, across which axis, where; whether a round hole's wall


def _first_hit(placed: tuple[Placed, ...], a: Fraction, b: Fraction) -> Hit | None:
    """Straight along the line of sight through (a, b): whose surfaces come first, across which axis, and where.

    Works on the blocks themselves, by the stretches of the line that lie in them and not in their hollows, round
    hollows as true cylinders. Shares no code with what draws.
    """
    # A point of the line at t is (p + t, q + t, -t) with p - q = a and p + q = b: x - y = a, x + y + 2z = b.
    start = ((a + b) / 2, (b - a) / 2, Fraction(0))
    step = (1, 1, -1)

    def stretch(
        low: tuple[Length, Length, Length], high: tuple[Length, Length, Length], axes: tuple[int, ...] = (0, 1, 2)
    ) -> tuple[Fraction, int, Fraction, int] | None:
        """Where the line enters a block and leaves it, and across which axes."""
        ends = [sorted(((low[k].mm - start[k]) / step[k], (high[k].mm - start[k]) / step[k])) for k in axes]
        enter, first = max((end[0], k) for end, k in zip(ends, axes, strict=True))
        leave, last = min((end[1], k) for end, k in zip(ends, axes, strict=True))
        return (enter, first, leave, last) if enter < leave else None

    def bore(axis: int, low: tuple[Length, ...], high: tuple[Length, ...]) -> tuple[Fraction, Fraction] | None:
        """Where the line enters an endless cylinder and leaves it (rounded, as its roots are irrational)."""
        u, v = (k for k in range(3) if k != axis)
        off = [start[k] - (low[k].mm + high[k].mm) / 2 for k in (u, v)]
        half = off[0] * step[u] + off[1] * step[v]
        r = (high[u].mm - low[u].mm) / 2
        rest = half * half - 2 * (off[0] ** 2 + off[1] ** 2 - r * r)
        if rest <= 0:
            return None
        root = Fraction(float(rest) ** 0.5)
        return (-half - root) / 2, (-half + root) / 2

    best: tuple[Fraction, Hit] | None = None
    for i, each in enumerate(placed):
        block = stretch(each.box.low, each.box.high)
        if block is None:
            continue
        holes: list[tuple[Fraction, Fraction, int, bool]] = []  # from, to, axis of the surface met there, round wall
        words = (each.pose.along, each.pose.across, each.pose.through)
        for cut, hollow in zip(each.part.cuts, each.hollows, strict=True):
            if not isinstance(cut.outline, Circle):
                found = stretch(hollow.low, hollow.high)
                holes += [(found[0], found[2], found[3], False)] if found else []
                continue
            axis = "xyz".index(words[{Face.LEFT: 0, Face.RIGHT: 0, Face.LOWER: 1, Face.UPPER: 1}.get(cut.face, 2)][1])
            slab, tube = stretch(hollow.low, hollow.high, (axis,)), bore(axis, hollow.low, hollow.high)
            if slab and tube and max(slab[0], tube[0]) < min(slab[2], tube[1]):
                at_wall = tube[1] < slab[2]
                holes.append((max(slab[0], tube[0]), min(slab[2], tube[1]), axis, at_wall))
        at, axis, end, is_wall = block[0], block[1], block[2], False
        moving = True
        while moving:
            moving = False
            for low, high, across, wall in holes:
                if low <= at < high:
                    at, axis, is_wall, moving = high, across, wall, True
        if at >= end:
            continue
        hit: Hit = ({i}, axis, start[axis] + at * step[axis], is_wall)
        if best is None or at < best[0]:
            best = (at, hit)
        elif at == best[0]:
            best[1][0].add(i)
    return best[1] if best else None


def _assert_nearest_is_shown(placed: tuple[Placed, ...], seed: int, spots: int) -> int:
    """At random spots of the picture the nearest surface is shown and no other; how many spots met something."""
    grid = grid_of(placed)
    seen = visible(faces(placed, grid))
    shapes = [face.shape for face in seen]
    round_edges = [face.shape.boundary for face in seen if face.is_bore]
    tree = shapely.STRtree(shapes)
    chance = random.Random(1000 + seed)
    low_a, low_b, high_a, high_b = (int(v) for v in shapely.total_bounds(shapely.GeometryCollection(shapes)))
    hits = 0
    for _ in range(spots):
        a = Fraction(chance.randint(low_a * 997, high_a * 997), 997) + Fraction(1, 7919)
        b = Fraction(chance.randint(low_b * 997, high_b * 997), 997) + Fraction(1, 6151)
        spot = shapely.Point(float(a), float(b))
        if any(edge.distance(spot) < grid / 10 for edge in round_edges):
            continue  # an ellipse is drawn with many corners, and its edge is that much off
        shown = [seen[int(n)] for n in tree.query(spot) if shapes[int(n)].contains(spot)]
        first = _first_hit(placed, a / 2 / grid, b / 2 / grid)
        if first is None:
            assert not shown
            continue
        hits += 1
        assert shown
        assert {face.owner for face in shown} == first[0]
        assert {(face.axis, face.is_bore) for face in shown} == {(first[1], first[3])}
        if not first[3]:
            assert {abs(Fraction(face.at, grid) - first[2]) <= Fraction(1, grid) for face in shown} == {True}
    return hits


@pytest.mark.invariant
@pytest.mark.parametrize("seed", range(100))
def test_what_is_drawn_at_a_spot_is_what_the_line_of_sight_meets_first(seed: int) -> None:
    """Against rays, on 100 random assemblies: each spot of the picture shows the nearest surface and no other."""
    assert _assert_nearest_is_shown(_random_assembly(seed).placed, seed, 100) > 10


def _bored_blocks(seed: int) -> tuple[Placed, ...]:
    """Blocks in a row and over each other, none running into another, with holes through and blind."""
    chance = random.Random(seed)
    placed = []
    for i in range(chance.randint(2, 6)):
        size = [chance.randint(6, 14) for _ in range(3)]
        axis = chance.randrange(3)
        u, v = (k for k in range(3) if k != axis)
        face = (Face.LEFT, Face.LOWER, Face.BACK, Face.RIGHT, Face.UPPER, Face.SHOW)[axis + 3 * chance.randrange(2)]
        middle = [millimetre(Fraction(size[k], 2)) for k in (u, v)]
        wide = chance.randint(2, min(size[u], size[v]) - 1)
        deep = size[axis] if chance.random() < 0.6 else chance.randint(1, size[axis] - 1)
        cut = Cut("hole", face, Circle(middle[0], middle[1], millimetre(wide)), millimetre(deep))
        length, width, thickness = (millimetre(value) for value in size)
        part = Part(f"part {i}", "pine", length, width, thickness, (cut,))
        place = [millimetre(20 * (i % 2 if k == 0 else i // 2 % 2 if k == 1 else i // 4)) for k in range(3)]
        loose = Placed(part, Pose((ZERO, ZERO, ZERO), *chance.choice(_POSES)))
        placed.append(
            loose.moved((place[0] - loose.box.low[0], place[1] - loose.box.low[1], place[2] - loose.box.low[2]))
        )
    return tuple(placed)


@pytest.mark.invariant
@pytest.mark.parametrize("seed", range(40))
def test_a_round_hole_shows_its_wall_and_what_lies_behind_it(seed: int) -> None:
    """Against rays through true cylinders: opening, the wall's nearer edge hidden, the far edge seen, a blind floor."""
    placed = _bored_blocks(seed)
    assert _assert_nearest_is_shown(placed, seed, 100) > 10


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
    """The two vents of the front end show their walls within; those of the far end are behind it."""
    placed = _rim().placed
    bores = [face for face in visible(faces(placed, grid_of(placed))) if face.is_bore]
    assert {face.owner for face in bores} == {2}
    assert len(shapely.get_parts(shapely.union_all([face.shape for face in bores]))) == 2


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
