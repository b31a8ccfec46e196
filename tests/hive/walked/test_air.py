"""The air path: each step's clear area by hand arithmetic, the smallest, and where it ends."""

from fractions import Fraction
from typing import Any

import pytest

from woodshop.hive.passages.air import AirPath, AirStep, air_path, open_share
from woodshop.reference.materials import board_material, mesh, mesh_material
from woodshop.units.lengths import inch


def step(path: AirPath, name: str) -> AirStep:
    (found,) = [each for each in path.steps if each.name == name]
    return found


def square_inches(each: AirStep) -> float:
    return float(each.clear.square_inches)


@pytest.fixture(scope="module")
def nucleus(hive: Any, box: Any, make: Any) -> AirPath:
    """Five frames in a box 9 in wide, board, strips, quilt box 5 1/2 high, inner cover 3/4, spacers 5/32."""
    b = box(5, "9")
    board = make["packed"](make["board"](width="9"))
    quilt = make["quilt"](width="9")
    return air_path(hive(b, board, make["strips"](b), quilt, make["spacers"](b), boxes=(b,), inner="3/4"))


@pytest.mark.outside("ASTM A740, s. 3.1: mesh is counted from wire to wire, so (1 - .041 / .5)^2 = .918^2 is open")
def test_the_open_share_of_a_mesh() -> None:
    assert open_share(mesh_material("1/2 in")) == Fraction(918, 1000) ** 2
    kind = mesh("1/8 in")
    assert open_share(mesh_material("1/8 in")) == Fraction(kind.clear_opening.mm, 1) ** 2 / kind.pitch.mm**2
    assert open_share(board_material(inch("3/4"))) == 0


def test_steps_of_a_nucleus_by_hand(nucleus: AirPath) -> None:
    inside = 7.5 * 18.375  # 9 - 1 1/2 by 19 7/8 - 1 1/2
    assert square_inches(step(nucleus, "entrance")) == 0.75 * 7.5
    # below their lugs: five bars 1 1/16 wide and 17 5/8 long, and the end bars that are slotted round them, 1 3/8
    # wide and 3/8 thick at both ends
    bars = 5 * (1.0625 * 17.625 + (1.375 - 1.0625) * 0.375 * 2)
    assert square_inches(step(nucleus, "between the frames")) == pytest.approx(inside - bars)
    # channel and two vents of 1 1/2 x 3 1/2, through 1/2 in mesh
    assert step(nucleus, "channel and corner vents").clear.square_inches == Fraction(63, 4) * Fraction(918, 1000) ** 2
    # 2 1/2 high, 1 1/2 of sugar, 7 1/2 wide
    assert square_inches(step(nucleus, "over the sugar")) == 7.5
    assert square_inches(step(nucleus, "through the quilt box")) == inside
    # four holes of 1 in, drawn inside their circles
    assert 0.97 * 3.14159 < square_inches(step(nucleus, "vent holes")) <= 3.1416
    # a slit of 5/32 round 19 7/8 x 9; spacers of 2 in stand in the cover's corners, 1/4 in outside the walls
    around = 2 * (19.875 + 9) - 8 * 1.75
    assert square_inches(step(nucleus, "slit under the cover")) == pytest.approx(around * 5 / 32)
    # skirt 1/4 in off the walls all around
    assert square_inches(step(nucleus, "between skirt and walls")) == pytest.approx(20.375 * 9.5 - 19.875 * 9)
    assert [(each.name, square_inches(each)) for each in nucleus.beside if each.name == "upper entrance"] == [
        ("upper entrance", 2 * 0.3125)
    ]
    assert nucleus.dead_ends == ()


def test_the_smallest_is_on_the_roomiest_way_out(nucleus: AirPath) -> None:
    """Vent holes 3.1; under the cover by the hole of the inner cover, then the slit of 6.8: the roomier of the two."""
    hole = square_inches(step(nucleus, "through the inner cover"))
    by_cover = min(hole, square_inches(step(nucleus, "slit under the cover")))
    assert square_inches(nucleus.smallest) == max(by_cover, square_inches(step(nucleus, "vent holes")))
    assert step(nucleus, "through the inner cover").route == "under the cover"


def test_a_guard_leaves_its_holes(hive: Any, box: Any, make: Any) -> None:
    """Five holes of 9 mm: 5 x 63.6 mm2 = 0.493 sq in; mesh of 1/4 in with .025 wire leaves 0.9^2 of the entrance."""
    b = box(5, "9")
    steel = step(air_path(hive(b, make["guard"](b, "9 mm", 5), boxes=(b,))), "guard at the entrance")
    assert 0.97 * 0.4930 < square_inches(steel) <= 0.4931
    wire = step(air_path(hive(b, make["guard"](b, mesh="1/4 in"), boxes=(b,))), "guard at the entrance")
    assert wire.clear.square_inches == Fraction(45, 8) * Fraction(9, 10) ** 2


@pytest.mark.parametrize(
    ("sugar", "passage", "ends"),
    [
        ("2.418", "1", [("through the feeder", ("packed sugar", "top feeder"))]),
        ("2.4", "1", []),
        ("1 1/2", "0", [("through the feeder", ("packed sugar", "top feeder"))]),
    ],
)
def test_sugar_flush_under_a_closed_floor_is_a_dead_end(
    hive: Any, box: Any, make: Any, sugar: str, passage: str, ends: list[Any]
) -> None:
    """A rim of 2 1/2 in, .082 in of it mesh: channel and vents end under the wells, the passage stands on the sugar."""
    b = box(5, "9")
    board = make["packed"](make["board"](width="9", sugar=sugar, mesh_low="0", notch=("1", "5/16")))
    path = air_path(hive(b, board, make["feeder"](b, passage), make["spacers"](b), boxes=(b,)))
    assert [(end.step, end.between) for end in path.dead_ends] == ends
    assert (square_inches(path.smallest) == 0) is bool(ends)


def test_sugar_flush_under_cloth_breathes_where_none_lies(hive: Any, box: Any, make: Any) -> None:
    """Straight up from channel and vents: 3 x 1 1/2 x 3 1/2; the cloth lies on the sugar."""
    b = box(5, "9")
    board = make["packed"](make["board"](width="9", sugar="2.5"))
    path = air_path(hive(b, board, make["quilt"](width="9"), make["spacers"](b), boxes=(b,)))
    assert path.dead_ends == ()
    assert step(path, "through the quilt box").clear.square_inches == Fraction(63, 4)
    assert step(path, "over the sugar").clear.square_inches == Fraction(63, 4)


@pytest.mark.parametrize(("passages", "clear"), [(False, 15.75 * 0.746496), (True, 15.75)])
def test_fine_mesh_counts_by_its_open_share_and_passages_in_full(
    hive: Any, box: Any, make: Any, passages: bool, clear: float
) -> None:
    """1/8 in mesh of .017 wire: (1 - .136)^2 = .746496 open; the passages are 1/4 to 1/2 in less than the voids."""
    b = box(5, "9")
    board = make["packed"](make["board"](width="9"), passages=passages, mesh="1/8 in")
    found = step(air_path(hive(b, board, boxes=(b,))), "channel and corner vents")
    if passages:
        assert 15.75 * 0.746496 < square_inches(found) < clear
    else:
        assert square_inches(found) == pytest.approx(clear)


def test_a_strip_against_the_mesh_under_the_vents_shuts_what_it_covers(hive: Any, box: Any, make: Any) -> None:
    """Two vents 1 1/2 wide and 3 1/2 long; a strip 3/4 wide under both takes 2 x 1 1/2 x 3/4."""
    b = box(5, "9")
    board = make["packed"](make["board"](width="9"))
    clear = [
        square_inches(
            step(air_path(hive(b, board, make["strips"](b, "1/4", at), boxes=(b,))), "channel and corner vents")
        )
        for at in (("9 1/2",), ("9 1/2", "17"))
    ]
    end = inch("1/8")  # a strip is so much short of the walls
    taken = 2 * (1.5 - float(end.inches)) * 0.75
    assert clear[0] - clear[1] == pytest.approx(taken * 0.918**2)


@pytest.mark.invariant
def test_without_a_cover_or_with_vents_packed_the_path_says_where_it_ends(hive: Any, box: Any, make: Any) -> None:
    b = box(5, "9")
    full = make["board"](width="9")  # sugar wall to wall
    path = air_path(hive(b, full, make["strips"](b), boxes=(b,)))
    assert [(end.step, end.between) for end in path.dead_ends] == [
        ("channel and corner vents", ("mesh", "packed sugar"))
    ]
    assert square_inches(step(path, "channel and corner vents")) == 0
