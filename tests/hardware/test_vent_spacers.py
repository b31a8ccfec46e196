"""Vent spacers: slit, overlap and bearing by hand, and what each thickness is called."""

from collections.abc import Callable
from typing import Any

import pytest

from woodshop.errors import InputError
from woodshop.findings import Severity
from woodshop.hardware.board import Setting
from woodshop.hardware.catalogue import find_item
from woodshop.reference.facts import fact
from woodshop.shape.part import Role, contact_area, gap, overlaps
from woodshop.units.lengths import ZERO, Area, inch, millimetre, read_length

Settings = Callable[..., Setting]
Make = Callable[..., Any]
BOXES = [(10, "16"), (10, "16 1/4"), (8, "13 3/4"), (8, "13 7/8"), (8, "14")]
ITEM = find_item("vent spacers")


def codes(setting: Setting, made: Any) -> dict[str, Severity]:
    assert ITEM.check is not None
    return {f.code: f.severity for f in ITEM.check(setting, made, "here")}


def test_a_cover_on_a_ten_frame_box_by_hand(setting: Settings, make: Make) -> None:
    s = setting()
    made = make(ITEM, s)
    squares = made.named("vent spacer")
    assert [p.part.size for p in squares] == [(inch(2), inch(2), millimetre(3))] * 4
    assert {p.part.material.name for p in squares} == {"fluted 3 mm"}
    # inside of the cover 19 7/8 + 2 x 1/4 = 20 3/8 by 16 1/4 + 1/2 = 16 3/4, from -1/4 to 20 1/8 and to 16 1/2;
    # squares of 2 in its corners begin at -1/4 and 18 1/8, at -1/4 and 14 1/2
    assert {(p.box.low[0], p.box.low[1]) for p in squares} == {
        (x, y) for x in (inch("-1/4"), inch("18 1/8")) for y in (inch("-1/4"), inch("14 1/2"))
    }
    # the skirt is 2 1/4 deep and hangs from the top's underside, 3 mm up: 57.15 - 3 = 54.15 mm over the box
    low = max(p.box.low[2] for p in made.named("skirt side"))
    assert ZERO - low == millimetre("54.15")
    # a square reaches 1 3/4 in over the box from its corner, a wall is 3/4 thick: 1 3/4 squared less 1 in squared
    # = 2 1/16 sq in of bearing
    walls = (*made.named("box side"), *made.named("box end"))
    bearing = sum((contact_area(wall, squares[0]).mm2 for wall in walls), Area(ZERO.mm).mm2)
    # the frame rest takes 3/8 in x 1 in off the end wall's upper edge there
    assert Area(bearing) == inch("1 3/4") * inch("1 3/4") - inch(1) * inch(1) - inch("3/8") * inch(1)
    assert codes(s, made) == {}
    assert [(f.count, f.holds) for f in made.fasteners] == [(8, "squares to the cover")]


@pytest.mark.parametrize(
    ("thickness", "said"),
    [
        ("3 mm", {}),
        ("1/8 in", {}),  # 3.175 mm: the limit itself is inside
        ("3.2 mm", {"slit-invites-robbers": Severity.WARNING}),
        ("4 mm", {"slit-invites-robbers": Severity.WARNING}),
        ("4.05 mm", {"slit-lets-bees-in": Severity.ERROR}),
        ("5 mm", {"slit-lets-bees-in": Severity.ERROR}),
    ],
)
def test_three_is_clear_four_is_a_warning_five_an_error(
    setting: Settings, make: Make, thickness: str, said: dict[str, Severity]
) -> None:
    s = setting()
    made = make(ITEM, s, thickness=read_length(thickness))
    assert gap((*made.named("box side"), *made.named("box end")), made.named("cover top")) == read_length(thickness)
    assert codes(s, made) == said


@pytest.mark.outside("The Hive and the Honey Bee, 1949, p. 239, as cited on Beesource: workers pass 0.163 in (4.14 mm)")
def test_the_slit_that_is_called_open_is_no_wider_than_an_excluder(setting: Settings, make: Make) -> None:
    """What a published excluder lets through is an error here; the usual 3 and 4 mm sheets are not."""
    s = setting()
    assert "slit-lets-bees-in" in codes(s, make(ITEM, s, thickness=inch("0.163")))
    assert fact("vent.slit_clear").length < fact("opening.queen_excluder.plastic").range[0] < inch("0.163")


def test_a_flat_cover_gets_none(setting: Settings, make: Make) -> None:
    with pytest.raises(
        InputError, match=r"a flat cover, without a skirt; wanted a telescoping cover.*Make vent spacers only"
    ):
        make(ITEM, setting(), skirt=ZERO)


def test_a_short_skirt_holds_little_and_a_shorter_one_nothing(setting: Settings, make: Make) -> None:
    s = setting()
    # 1 in less 3 mm: 22.4 mm left, under 1 in
    assert codes(s, make(ITEM, s, skirt=inch(1))) == {"cover-reaches-short": Severity.WARNING}
    assert codes(s, make(ITEM, s, skirt=millimetre(3))) == {"cover-reaches-short": Severity.ERROR}
    assert codes(s, make(ITEM, s, skirt=inch(1) + millimetre(3))) == {}


def test_squares_beside_the_box_are_an_error(setting: Settings, make: Make) -> None:
    """A cover 4 1/4 in longer and wider than its box: 2 in squares end 1/8 in before the walls begin."""
    s = setting()
    wide = {"cover_length": inch("24 1/8"), "cover_width": inch("20 1/2")}
    assert codes(s, make(ITEM, s, **wide)) == {"spacer-misses-box": Severity.ERROR}
    assert codes(s, make(ITEM, s, square=inch(3), **wide)) == {}


def test_a_cover_that_does_not_go_on_runs_into_the_box(setting: Settings, make: Make) -> None:
    made = make(ITEM, setting(), cover_width=inch("16 1/8"))
    assert overlaps(made.with_role(Role.MADE, Role.EXISTING)), "the check of the batch says so"


def test_squares_larger_than_half_the_cover_are_refused(setting: Settings, make: Make) -> None:
    with pytest.raises(InputError, match="fit side by side"):
        make(ITEM, setting(), cover_width=inch("7 1/2"), square=inch(4))


@pytest.mark.invariant
@pytest.mark.parametrize(("frames", "width"), BOXES)
@pytest.mark.parametrize("square", ["1", "2", "3 1/2"])
@pytest.mark.parametrize("clearance", ["0", "1/4", "1/2"])
def test_squares_touch_both_skirts_and_nothing_overlaps(
    setting: Settings, make: Make, frames: int, width: str, square: str, clearance: str
) -> None:
    made = make(ITEM, setting(frames, width), square=inch(square), clearance=inch(clearance))
    assert overlaps(made.with_role(Role.MADE, Role.EXISTING)) == ()
    skirts = (*made.named("skirt side"), *made.named("skirt end"))
    for each in made.named("vent spacer"):
        for axis in (0, 1):
            edges = {e for p in skirts for e in (p.box.low[axis], p.box.high[axis])}
            assert {each.box.low[axis], each.box.high[axis]} & edges
