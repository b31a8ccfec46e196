"""Isometric pictures: nothing hidden is drawn over what hides it."""

import random
from fractions import Fraction
from itertools import combinations

import pytest
import shapely

from tests.drawing.rays import assert_nearest_is_shown
from tests.nightly import spread
from woodshop.drawing.arranging.arrange import lay_view
from woodshop.drawing.values.paper import Ring
from woodshop.drawing.views.pictorial import faces, grid_of, parts_list, pictorial, visible
from woodshop.reference.materials import EXISTING, mesh_material
from woodshop.shape.part import Assembly, Cut, Face, Part, Placed, Pose, Rectangle, Role, RoundOutline
from woodshop.units.lengths import ZERO, Length, inch, millimetre

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
        part = Part(f"part {i}", EXISTING, length, width, thickness, cuts=tuple(cuts))
        x, y, z = (millimetre(chance.randint(0, 14)) for _ in range(3))
        placed.append(Placed(part, Pose((x, y, z), *chance.choice(_POSES))))
    return Assembly("random", f"random {seed}", tuple(placed))


@pytest.mark.invariant
@pytest.mark.parametrize("seed", spread(range(100), 34))
def test_what_is_drawn_at_a_spot_is_what_the_line_of_sight_meets_first(seed: int) -> None:
    """Against rays, on 100 random assemblies: each spot of the picture shows the nearest surface and no other."""
    assert assert_nearest_is_shown(_random_assembly(seed).placed, seed, 100) > 10


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
        cut = Cut("hole", face, RoundOutline(middle[0], middle[1], millimetre(wide)), millimetre(deep))
        length, width, thickness = (millimetre(value) for value in size)
        part = Part(f"part {i}", EXISTING, length, width, thickness, cuts=(cut,))
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
    assert assert_nearest_is_shown(placed, seed, 100) > 10


def _rim() -> Assembly:
    """Two sides, two ends with round holes, three blocks within, a sheet on top."""
    side = Part("side", EXISTING, inch("19 7/8"), inch("3 1/2"), inch("3/4"))
    vents = tuple(Cut("vent", Face.SHOW, RoundOutline(inch(x), inch("1 3/4"), inch(1)), inch("3/4")) for x in (4, 8))
    end = Part("end", EXISTING, inch("14 3/4"), inch("3 1/2"), inch("3/4"), cuts=vents)
    block = Part("block", EXISTING, inch("3 1/2"), inch(3), inch("1 1/2"))
    sheet = Part("sheet", mesh_material("1/2 in"), inch("19 7/8"), inch("16 1/4"), inch("1/32"))

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
    cube = Assembly("cube", "Cube", (Placed(Part("cube", EXISTING, edge, edge, edge), Pose((ZERO, ZERO, ZERO))),))
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
