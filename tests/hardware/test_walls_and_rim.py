"""Corner joints and the rim: lengths by hand, and wood that fills the frame exactly, once."""

from collections.abc import Callable
from itertools import product
from typing import Any, get_args

import pytest

from woodshop.engineering.sugar import sugar_depth
from woodshop.errors import InputError
from woodshop.hardware.board import Joint, MeshName, Mounting, NoWider, Setting, next_width
from woodshop.hardware.catalogue import find_item
from woodshop.hardware.walls import finger_width, four_walls, wall_lengths
from woodshop.reference.materials import mesh_names
from woodshop.shape.part import Placed, Role, overlaps, part_volume
from woodshop.units.lengths import ZERO, Length, Volume, inch

Settings = Callable[..., Setting]
JOINTS, MOUNTINGS = get_args(Joint), get_args(Mounting)
BOXES = [(10, "16"), (10, "16 1/4"), (8, "13 3/4"), (8, "13 7/8"), (8, "14")]
CUBIC_INCH = inch(1) * inch(1) * inch(1)


def wood_of(placed: list[Placed]) -> Volume:
    total = CUBIC_INCH * 0
    for each in placed:
        total = total + part_volume(each)
    return total


@pytest.mark.parametrize(
    ("joint", "side", "end"),
    [
        ("butt, ends inside", "19 7/8", "14 3/4"),  # 16 1/4 - 2 x 3/4
        ("butt, sides inside", "18 3/8", "16 1/4"),  # 19 7/8 - 2 x 3/4
        ("rabbet in the ends", "19 1/8", "16 1/4"),  # 19 7/8 - 2 x (3/4 - 3/8)
        ("rabbet in the sides", "19 7/8", "15 1/2"),  # 16 1/4 - 2 x (3/4 - 3/8)
        ("box joint", "19 7/8", "16 1/4"),  # the fingers interlock
    ],
)
def test_lengths_of_sides_and_ends(joint: Joint, side: str, end: str) -> None:
    found = wall_lengths(joint, inch("19 7/8"), inch("16 1/4"), inch("3/4"), inch("3/8"))
    assert found == (inch(side), inch(end))


@pytest.mark.outside(
    "Howland Blackiston, Building Beehives, cut list: finger-joint sides 19-7/8, rabbeted sides 19-1/8"
)
def test_rabbeted_sides_are_nineteen_and_an_eighth() -> None:
    side, _ = wall_lengths("rabbet in the ends", inch("19 7/8"), inch("16 1/4"), inch("3/4"), inch("3/8"))
    assert side == inch("19 1/8")


@pytest.mark.invariant
@pytest.mark.parametrize("joint", JOINTS)
@pytest.mark.parametrize(("frames", "width"), BOXES)
def test_four_walls_fill_the_frame_exactly(setting: Settings, joint: Joint, frames: int, width: str) -> None:
    s = setting(frames, width, joint=joint)
    high = inch("2 1/2")
    walls = four_walls(s, high, ("side", "front end", "back end"))
    frame = (s.box.length * s.box.width - s.inside.area) * high
    assert wood_of(walls) == frame
    assert overlaps(walls) == ()
    low = tuple(min(w.box.low[i] for w in walls) for i in range(3))
    high_corner = tuple(max(w.box.high[i] for w in walls) for i in range(3))
    assert (low, high_corner) == ((ZERO, ZERO, ZERO), (s.box.length, s.box.width, high))


@pytest.mark.invariant
@pytest.mark.parametrize("joint", JOINTS)
@pytest.mark.parametrize("mounting", MOUNTINGS)
@pytest.mark.parametrize(("frames", "width"), BOXES)
def test_a_rim_is_the_frame_less_rabbet_or_groove_and_entrance(
    setting: Settings, make: Callable[..., Any], joint: Joint, mounting: Mounting, frames: int, width: str
) -> None:
    s = setting(frames, width, joint=joint, mounting=mounting)
    b = s.board
    rim = make(find_item("fondant rim"), s)
    walls = [p for p in rim.placed if p.role is Role.MADE]
    frame = (s.box.length * s.box.width - s.inside.area) * s.height
    reach, high = {
        "stapled under": (ZERO, ZERO),
        "flush rabbet": (b.rabbet_width, b.rabbet_height),
        "saw groove": (b.groove_depth, b.groove_width),
    }[mounting]
    long, wide = s.inside.x1 - s.inside.x0, s.inside.y1 - s.inside.y0
    ring = (long + reach * 2) * (wide + reach * 2) - s.inside.area
    notch = b.notch_width * b.notch_height * s.wood
    assert wood_of(walls) == frame - ring * high - notch
    assert overlaps(walls) == ()
    assert (rim.box.size(0), rim.box.size(1)) == (s.box.length, inch(width))


@pytest.mark.invariant
@pytest.mark.parametrize(("joint", "mounting"), list(product(JOINTS, MOUNTINGS)))
def test_the_mesh_lies_in_its_rim_without_touching_wood_it_should_not(
    setting: Settings, make: Callable[..., Any], joint: Joint, mounting: Mounting
) -> None:
    for frames, width in BOXES:
        s = setting(frames, width, joint=joint, mounting=mounting, bar=True)
        rim, floor = make(find_item("fondant rim"), s), make(find_item("wire bottom"), s)
        parts = [*rim.placed, *floor.placed]
        assert overlaps(parts) == (), "sugar, bars, walls and mesh all have room"


def test_left_and_right_side_are_one_part_made_twice(setting: Settings, make: Callable[..., Any]) -> None:
    for joint, mounting in product(JOINTS, MOUNTINGS):
        rim = make(find_item("fondant rim"), setting(joint=joint, mounting=mounting))
        left, right = rim.named("side")
        assert left.part == right.part
        assert len(rim.named("front end")) == len(rim.named("back end")) == 1


def test_a_corner_rabbet_through_the_wood_is_refused(setting: Settings) -> None:
    s = setting(joint="rabbet in the ends", joint_depth=inch("3/4"))
    with pytest.raises(ValueError, match="leaves nothing"):
        four_walls(s, inch(2), ("a", "b", "c"))


@pytest.mark.parametrize(
    ("frames", "width", "sugar", "needed", "high"),
    [
        # 2.041 + 3/8 = 2.416: a 1x3 does
        (10, "16 1/4", "16", 2.42, "2 1/2"),
        # 2.078 + 3/8 = 2.453: a 1x3 just does
        (10, "16", "16", 2.45, "2 1/2"),
        # 2.489 + 3/8 = 2.864: a 1x4
        (8, "13 3/4", "16", 2.86, "3 1/2"),
        # 1.867 + 3/8 = 2.242
        (8, "13 3/4", "12", 2.24, "2 1/2"),
    ],
)
def test_the_rim_is_the_least_board_that_holds_the_sugar_and_head_room(
    setting: Settings, frames: int, width: str, sugar: str, needed: float, high: str
) -> None:
    s = setting(frames, width, sugar=sugar)
    assert round(float(s.needed_height.inches), 2) == needed
    assert s.height == inch(high)


def test_looser_sugar_than_the_least_density_reaches_into_the_head_room(setting: Settings) -> None:
    s = setting(height=inch("2 1/2"))
    least = s.least_density
    assert least is not None
    assert s.mesh_top + sugar_depth(s.sugar, least, s.sugar_area) + s.board.head_room == inch("2 1/2")
    assert setting(height=inch("3/8")).least_density is None  # as high as the head room


def test_a_ripped_rim_is_brought_up_to_the_next_mark(setting: Settings) -> None:
    assert setting(ripped=True).height == inch("2 7/16")  # 2.416 up to a sixteenth


@pytest.mark.parametrize(
    ("mounting", "mesh_top"),
    [
        ("stapled under", "0"),  # two wires hang below the lower edge
        ("flush rabbet", "1/8"),  # crowns and wires lie flush below: the top is the rabbet's
        ("saw groove", "0.332"),  # 1/4 of wood, then 2 x 0.041
    ],
)
def test_height_follows_the_plane_of_the_mesh(setting: Settings, mounting: Mounting, mesh_top: str) -> None:
    s = setting(mounting=mounting)
    assert s.mesh_top == inch(mesh_top)
    assert s.needed_height == s.mesh_top + s.depth + s.board.head_room
    assert s.depth == setting().depth
    rise = {"stapled under": "0", "flush rabbet": "1/8", "saw groove": "1/2"}[mounting]  # 1/4 + 1/8 + 1/8
    assert s.notch_rise == inch(rise)


def test_the_area_of_a_bar_is_taken_off(setting: Settings) -> None:
    # midway the bar is clear of a channel 3 1/2 deep: one piece 14 3/4 x 3/4 = 11.0625 sq in
    plain, barred = setting(), setting(bar=True)
    assert plain.sugar_area.square_inches == inch("255.28125").inches
    assert (plain.sugar_area - barred.sugar_area).square_inches == inch("11.0625").inches
    # 521.03 / 244.22 = 2.133
    assert round(float(barred.depth.inches), 2) == 2.13


def test_a_bar_stops_at_a_channel_that_reaches_it(setting: Settings, make: Callable[..., Any]) -> None:
    # a channel 10 long reaches x = 10 3/4, past the middle at 9 15/16: two halves of (14 3/4 - 1 1/2) / 2 = 6 5/8
    s = setting(bar=True, block_length=inch(10))
    assert [b.y1 - b.y0 for b in s.bars] == [inch("6 5/8")] * 2
    rim = make(find_item("fondant rim"), s)
    assert [p.part.length for p in rim.named("half bar")] == [inch("6 5/8")] * 2


def test_the_density_flips_the_lumber(setting: Settings, make: Callable[..., Any]) -> None:
    rim = make(find_item("fondant rim"), setting())
    facts = {f.name: f.value for f in rim.facts}
    assert facts["sugar depth"] == "2.04 in (2 1/16)"
    assert facts["use a taller rim below"] == "0.816 kg/L"  # 7.25748 kg in 2 1/8 on 255.28 sq in
    eight = make(find_item("fondant rim"), setting(8, "13 3/4"))
    facts = {f.name: f.value for f in eight.facts}
    # 16 lb on 209.34 sq in in 2 1/8: 444.85 cu in = 7.2897 L: 0.996 kg/L
    assert facts["a 2 1/2 in rim is enough above"] == "0.996 kg/L"


def test_the_sugar_stands_clear_of_channel_and_vents(setting: Settings, make: Callable[..., Any]) -> None:
    s = setting()
    rim = make(find_item("fondant rim"), s)
    (sugar,) = rim.named("packed sugar")
    assert sugar.role is Role.FILLING
    assert part_volume(sugar) == s.sugar_area * s.depth == s.board.density.volume_of(s.sugar)
    assert [v.name for v in s.voids] == ["entrance channel", "left corner vent", "right corner vent"]
    assert {v.area.square_inches for v in s.voids} == {inch("5 1/4").inches}


def test_no_board_wide_enough_is_said_with_the_width_wanted() -> None:
    widths: tuple[Length, ...] = (inch("1 1/2"), inch("2 1/2"))
    with pytest.raises(InputError) as refused:
        next_width(
            inch("2.9"),
            widths,
            "a rim for 16 lb",
            NoWider("2 1/2 in as the widest board", "Do this.", True),
            less="pack less sugar",
        )
    (problem,) = refused.value.problems
    assert problem.given == "2 1/2 in as the widest board"
    assert problem.wanted == "a board at least 2 15/16 in wide for a rim for 16 lb"
    assert problem.do == "Do this. Or pack less sugar."
    with pytest.raises(InputError, match="no boards"):
        next_width(inch(1), (), "a rim")


def test_every_mesh_that_may_be_named_has_rows() -> None:
    assert get_args(MeshName) == mesh_names()


@pytest.mark.parametrize(
    ("height", "finger"),
    [
        ("2 1/2", "1/2"),  # 2 1/2 / 3 is no mark, / 5 = 1/2
        ("3 1/2", "1/2"),  # / 3 and / 5 are no marks, / 7 = 1/2
        ("5 1/4", "3/4"),  # / 7 = 3/4, as thick as the wood
        ("5 1/2", "1/2"),  # / 11
    ],
)
def test_fingers_go_into_the_height_evenly(height: str, finger: str) -> None:
    assert finger_width(inch(height), inch("3/4"), None) == inch(finger)


def test_a_finger_that_does_not_go_in_is_refused() -> None:
    assert finger_width(inch("2 1/2"), inch("3/4"), inch("1/2")) == inch("1/2")
    with pytest.raises(InputError, match="a whole number of fingers"):
        finger_width(inch("2 1/2"), inch("3/4"), inch("3/4"))
    with pytest.raises(InputError, match="an odd number of fingers"):
        finger_width(inch("2 1/8"), inch("3/4"), None)


def test_a_plywood_rim_is_just_as_high_as_needed_and_of_plywood(setting: Settings) -> None:
    """2.041 + 3/8 = 2.416: 2 7/16 on the mark."""
    made = find_item("fondant rim").make(setting(10, "16 1/4", made_of="plywood"))
    side = made.named("side")[0].part
    assert (side.material.name, side.width) == ("plywood 3/4 in", inch("2 7/16"))


def test_a_box_on_hand_needs_no_wood(setting: Settings) -> None:
    made = find_item("fondant rim").make(setting(10, "16 1/4", made_of="box on hand"))
    assert made.with_role(Role.MADE) == ()
    assert made.named("side")[0].part.width == inch("5 7/8")
    assert any("shallow box" in step for step in made.steps)


def test_passages_in_a_fine_mesh_lie_in_channel_and_vents(setting: Settings) -> None:
    """Each a quarter inch inside its void: 3 1/2 - 1/2 by 1 1/2 - 1/2."""
    s = setting(10, "16 1/4", mesh="1/8 in", passages="at the openings")
    sheet = find_item("wire bottom").make(s).named("mesh")[0]
    assert len(sheet.hollows) == 3
    for hollow, void in zip(sheet.hollows, s.voids, strict=True):
        assert (hollow.low[0], hollow.low[1]) == (void.x0 + inch("1/4"), void.y0 + inch("1/4"))
        assert sorted((hollow.size(0), hollow.size(1))) == [inch(1), inch(3)]
