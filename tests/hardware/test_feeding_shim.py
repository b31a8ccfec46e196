"""The feeding shim: heights by hand, and the room over the cake."""

from collections.abc import Callable
from typing import Any, get_args

import pytest

from woodshop.errors import InputError
from woodshop.findings import Severity
from woodshop.hardware.board import Joint, Setting
from woodshop.hardware.catalogue import find_item
from woodshop.shape.part import Role, overlaps, part_volume
from woodshop.units.lengths import ZERO, inch

Settings = Callable[..., Setting]
Make = Callable[..., Any]
ITEM = find_item("feeding shim")


def codes(setting: Setting, made: Any) -> dict[str, Severity]:
    assert ITEM.check is not None
    return {f.code: f.severity for f in ITEM.check(setting, made, "here")}


@pytest.mark.parametrize(
    ("cake", "gap", "high"),
    [
        # lying on the bars, 1/4 below the box's edge: 2 - 1/4 + 3/8 head room = 2 1/8, a 1x3 (2 1/2)
        ("2", "1/4", "2 1/2"),
        ("2 3/8", "1/4", "2 1/2"),  # 2 1/2 to the hair
        ("2 7/16", "1/4", "3 1/2"),
        ("1 3/8", "1/4", "1 1/2"),
        ("1 1/2", "1/4", "2 1/2"),  # 1 5/8
        ("2 7/16", "5/16", "2 1/2"),
    ],
)
def test_the_rim_is_the_least_board_over_cake_and_head_room(
    setting: Settings, make: Make, cake: str, gap: str, high: str
) -> None:
    s = setting(gap=gap)
    made = make(ITEM, s, cake=inch(cake))
    assert {p.part.width for p in made.with_role(Role.MADE)} == {inch(high)}
    assert codes(s, made) == {}


@pytest.mark.outside("Piney Woods Beekeepers: a 4 lb block 7 x 11 x 2 in")
def test_the_published_block_goes_in(setting: Settings, make: Make) -> None:
    made = make(ITEM, setting())
    (cake,) = made.named("sugar cake")
    assert sorted(cake.part.size) == [inch(2), inch(7), inch(11)]
    assert cake.role is Role.FILLING


def test_a_plain_shim_has_no_hole_in_it(setting: Settings, make: Make) -> None:
    made = make(ITEM, setting())
    assert all(p.part.is_plain for p in made.with_role(Role.MADE))
    assert [p.part.name for p in made.with_role(Role.MADE)] == ["side", "side", "end", "end"]
    # two screws to a corner in a 2 1/2 in wall
    assert made.fasteners[0].count == 8


def test_room_over_the_cake_is_measured(setting: Settings, make: Make) -> None:
    s = setting()
    # 1 3/4 + 1/4 - 2 = 0: the cake fills the rim; 2 1/8 leaves 3/8
    assert codes(s, make(ITEM, s, height=inch("1 3/4"))) == {"cake-too-high": Severity.WARNING}
    assert codes(s, make(ITEM, s, height=inch("1 1/2"))) == {"cake-too-high": Severity.ERROR}
    assert codes(s, make(ITEM, s, height=inch("2 1/8"))) == {}


def test_a_cake_that_does_not_go_in_is_refused(setting: Settings, make: Make) -> None:
    with pytest.raises(InputError, match="a cake that fits inside"):
        make(ITEM, setting(8, "13 3/4"), cake_width=inch("12 5/16"))


@pytest.mark.invariant
@pytest.mark.parametrize("joint", get_args(Joint))
@pytest.mark.parametrize(("frames", "width"), [(10, "16 1/4"), (10, "16"), (8, "13 3/4"), (8, "14")])
def test_walls_fill_the_ring_once(setting: Settings, make: Make, joint: Joint, frames: int, width: str) -> None:
    s = setting(frames, width, joint=joint)
    walls = make(ITEM, s).with_role(Role.MADE)
    assert overlaps(walls) == ()
    ring = (s.box.length * s.box.width - s.inside.area) * inch("2 1/2")
    total = ring * 0
    for wall in walls:
        total = total + part_volume(wall)
    assert total == ring
    assert min(p.box.low[2] for p in walls) == ZERO
