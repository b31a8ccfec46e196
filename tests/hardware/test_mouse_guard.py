"""Mouse guards: blanks, holes and clear areas by hand, and what the sources say of them."""

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from woodshop.errors import InputError
from woodshop.findings import Severity
from woodshop.hardware.board import Setting
from woodshop.hardware.catalogue import find_item
from woodshop.hive.woodenware.bottom import bee_holes, guard_clear
from woodshop.reference.materials import passages, sheet_material
from woodshop.shape.part import Fold, Placed, Role, RoundOutline, overlaps
from woodshop.units.lengths import ZERO, inch, millimetre
from woodshop.units.wording import wording_of

Settings = Callable[..., Setting]
Make = Callable[..., Any]
BOXES = [(10, "16"), (10, "16 1/4"), (8, "13 3/4"), (8, "13 7/8"), (8, "14")]
ITEM = find_item("mouse guard")


def codes(setting: Setting, made: Any) -> dict[str, Severity]:
    assert ITEM.check is not None
    return {f.code: f.severity for f in ITEM.check(setting, made, "here")}


def guard_of(made: Any) -> Placed:
    (guard,) = made.with_role(Role.MADE)
    assert isinstance(guard, Placed)
    return guard


def clear(made: Any) -> float:
    return float(guard_clear(guard_of(made), made.spaces[0].box).square_inches)


def test_a_steel_blank_by_hand(setting: Settings, make: Make) -> None:
    s = setting()
    made = make(ITEM, s)
    part = guard_of(made).part
    # entrance 16 1/4 - 2 x 3/4 = 14 3/4 wide and 3/4 high: blank 14 3/4 + 2 x 3/4 = 16 1/4 long,
    # foot 1/2 + entrance 3/4 + lap 3/4 = 2 in wide
    assert (part.material.name, part.length, part.width) == ("steel 26 ga", inch("16 1/4"), inch(2))
    assert part.thickness == inch("0.0217")
    holes = [c for c in part.cuts if c.name == "bee hole"]
    # 9 mm = 0.3543 in: (14.75 - 0.3543) / 0.5 = 28.79: 28 spaces, 29 holes; one row, since a second would end
    # 0.3125 + 0.5 + 0.177 = 0.99 over the fold, above the 0.75 of the entrance
    assert len(holes) == 29
    # 1/2 foot + 1/8 steel + 4.5 mm = 0.802 in, up to a sixteenth: 13/16; the row's middle hole in the middle
    assert {c.outline.v for c in holes if isinstance(c.outline, RoundOutline)} == {inch("13/16")}
    assert [c.outline.u for c in holes if isinstance(c.outline, RoundOutline)][14] == inch("8 1/8")
    assert {c.outline.diameter for c in holes if isinstance(c.outline, RoundOutline)} == {millimetre(9)}
    fixings = [c for c in part.cuts if c.name == "fixing hole"]
    # 16 1/4 - 2 x 3/8 = 15 1/2; / 6 = 2.6: 3 spaces, 5 1/6 down to 5 1/8, 15 3/8 in all; 4 holes, 7/16 from
    # the ends, 3/8 from the upper edge
    assert [c.outline.u for c in fixings if isinstance(c.outline, RoundOutline)] == [
        inch("7/16") + inch("5 1/8") * n for n in range(4)
    ]
    assert {c.outline.v for c in fixings if isinstance(c.outline, RoundOutline)} == {inch("1 5/8")}
    # 29 x pi / 4 x 0.3543^2 = 2.86 sq in, of 14.75 x 0.75 = 11.06: 26 %
    assert clear(made) == pytest.approx(29 * math.pi / 4 * (9 / 25.4) ** 2)
    assert {f.name: f.value for f in made.facts}["clear of the open entrance"] == "2.86 sq in of 11.06 sq in, 26%"
    assert part.notes == ("deburr both faces and all edges",)
    assert part.folds == (Fold(inch("1/2"), "fold up 90°, toward you"),)
    assert codes(s, made) == {"mouse-sources-disagree": Severity.NOTE}
    assert [(f.kind, f.count) for f in made.fasteners] == [("steel push pin", 4)]


def test_two_rows_in_a_high_entrance(setting: Settings, make: Make) -> None:
    # 5/16 + 1/2 + 4.5 mm = 0.990 in over the fold: 1 in takes two rows, 1 1/2 in takes three (1.49)
    for height, rows in (("15/16", 1), ("1", 2), ("1 1/2", 3)):
        holes = bee_holes(guard_of(make(ITEM, setting(), entrance_height=inch(height))))
        assert len({hole.low[2] for hole in holes}) == rows


def test_rows_over_the_entrance_are_no_way_for_bees(setting: Settings, make: Make) -> None:
    """A second row asked for at 3/4 in: its middles lie 13/16 over the fold, its lower 0.115 in is open."""
    s = setting()
    made = make(ITEM, s, rows=2)
    assert codes(s, made)["guard-holes-blocked"] is Severity.WARNING
    # the segment of a circle of r = 0.1772 below a line 1/16 under its middle: r^2 acos(d/r) - d sqrt(r^2 - d^2)
    r, d = 4.5 / 25.4, 1 / 16
    segment = r * r * math.acos(d / r) - d * math.sqrt(r * r - d * d)
    assert clear(made) == pytest.approx(29 * (math.pi * r * r + segment))


@pytest.mark.parametrize(
    ("bore", "said"),
    [
        ("5", {"guard-stops-bees": Severity.ERROR}),
        ("6.35", {}),  # 1/4 in, the finest mesh that all castes pass
        ("7.9", {}),
        ("8", {"mouse-sources-disagree": Severity.NOTE}),
        ("9", {"mouse-sources-disagree": Severity.NOTE}),
        ("9.525", {"mouse-sources-disagree": Severity.NOTE}),  # 3/8 in
        ("9.6", {"guard-lets-mice-in": Severity.WARNING}),
        ("10", {"guard-lets-mice-in": Severity.ERROR}),
    ],
)
def test_bores_that_pass_bees_and_stop_mice(
    setting: Settings, make: Make, bore: str, said: dict[str, Severity]
) -> None:
    s = setting()
    found = codes(s, make(ITEM, s, bore=millimetre(bore), pitch=inch("9/16")))
    found.pop("guard-chokes-entrance", None)
    assert found == said


@pytest.mark.outside("a British beekeeping forum: a guard sold as 3/8 in measured 9 mm, skull said about 10 mm")
def test_the_sold_guard_is_clear_and_a_skull_wide_hole_is_not(setting: Settings, make: Make) -> None:
    s = setting()
    for bore in (millimetre(9), inch("3/8")):
        assert "guard-lets-mice-in" not in codes(s, make(ITEM, s, bore=bore))
    assert codes(s, make(ITEM, s, bore=millimetre(10)))["guard-lets-mice-in"] is Severity.ERROR


@pytest.mark.outside("How-To, Body of hive: a whole entrance 3/8 x 4 in")
def test_less_than_a_whole_old_entrance_is_a_warning(setting: Settings, make: Make) -> None:
    """3/8 x 4 = 1 1/2 sq in = 15.2 holes of 9 mm (0.0986 sq in each): 15 choke it, 16 do not."""
    s = setting()
    for wide, holes, chokes in (("7 1/2", 15, True), ("8", 16, False)):
        made = make(ITEM, s, entrance_width=inch(wide))
        assert len(bee_holes(guard_of(made))) == holes
        assert ("guard-chokes-entrance" in codes(s, made)) is chokes


def test_thin_webs_are_a_warning_and_none_an_error(setting: Settings, make: Make) -> None:
    s = setting()
    # 0.3543 + 1/8 = 0.4793
    assert "guard-web-thin" not in codes(s, make(ITEM, s, pitch=inch("0.48")))
    assert codes(s, make(ITEM, s, pitch=inch("0.47")))["guard-web-thin"] is Severity.WARNING
    assert codes(s, make(ITEM, s, pitch=inch("0.35")))["guard-web-thin"] is Severity.ERROR


def test_a_mesh_guard_by_hand(setting: Settings, make: Make) -> None:
    s = setting()
    made = make(ITEM, s, kind="mesh")
    part = guard_of(made).part
    assert part.material.name == "mesh 1/2 in"
    # along: 14.75 + 1.5 = 16.25 wanted, (16.25 - 0.041) / 0.5 = 32.4: 33 cells = 16.541;
    # foot one cell; above the fold (0.75 + 0.75 - 0.0205) / 0.5 = 2.96: 3 cells; 4 cells = 2.041
    assert (part.length, part.width) == (inch("16.541"), inch("2.041"))
    assert part.notes == ("33 x 4 cells, 34 x 5 wires", "fold along wire 2 from the lower edge")
    # the fold's wire has its middle at 0; openings above run from 0.0205 to 0.4795 and from 0.5205 to 0.75:
    # 0.459 + 0.2295 = 0.6885 high. Across, 33 openings of 0.459; the entrance is 14.75 wide about the middle of
    # the 17th: 29 whole openings reach 14 pitches and half an opening from the middle, 7.2295; the next begins at
    # 7.2705 and is cut off at 7.375: 2 x 0.1045; in all 29 x 0.459 + 0.209 = 13.52
    assert clear(made) == pytest.approx(0.6885 * (29 * 0.459 + 0.209))
    assert codes(s, made) == {"mouse-sources-disagree": Severity.NOTE}


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("1/3 in", {}),
        ("1/4 in", {"guard-holds-dead-bees": Severity.NOTE}),
        ("1/8 in", {"guard-stops-bees": Severity.ERROR}),
    ],
)
def test_what_each_mesh_holds(setting: Settings, make: Make, name: str, said: dict[str, Severity]) -> None:
    s = setting()
    assert codes(s, make(ITEM, s, kind="mesh", guard_mesh=name)) == said


@pytest.mark.outside("Sustainable Beekeepers Guild of Michigan FAQ, against Kathy's Bees 2016")
def test_the_disagreement_over_half_inch_mesh_is_printed_with_both_sources(setting: Settings, make: Make) -> None:
    s = setting()
    assert ITEM.check is not None
    (found,) = ITEM.check(s, make(ITEM, s, kind="mesh"), "here")
    for said in passages("1/2 in"):
        if said.who == "mouse":
            assert said.row.what in found.limits
            assert said.row.cite in found.source


@pytest.mark.outside("a web summary of sheet gauges: 20 gauge galvanised 0.0396 in, plain 0.0359 in")
def test_gauges_are_those_of_galvanised_sheet(setting: Settings, make: Make) -> None:
    """The other gauges are from memory; they must at least grow thinner as their numbers grow."""
    sizes = [guard_of(make(ITEM, setting(), gauge=f"{n} ga")).part.thickness for n in (20, 22, 24, 26)]
    assert sizes[0] == inch("0.0396")
    assert (
        sizes == sorted(sizes, reverse=True) == [sheet_material("steel", f"{n} ga").thickness for n in (20, 22, 24, 26)]
    )


def test_an_entrance_wider_than_the_box_is_refused(setting: Settings, make: Make) -> None:
    with pytest.raises(InputError, match="entrance_width: given 17 in; wanted at most the box, 16 1/4 in"):
        make(ITEM, setting(), entrance_width=inch(17))


@pytest.mark.invariant
@pytest.mark.parametrize(("frames", "width"), BOXES)
@pytest.mark.parametrize("kind", ["steel", "mesh"])
@pytest.mark.parametrize("height", ["3/8", "3/4", "7/8", "1 1/4"])
def test_it_covers_the_entrance_lies_on_the_wall_and_is_symmetrical(
    setting: Settings, make: Make, frames: int, width: str, kind: str, height: str
) -> None:
    made = make(ITEM, setting(frames, width), kind=kind, entrance_height=inch(height))
    guard, entrance = guard_of(made), made.spaces[0].box
    assert overlaps(made.with_role(Role.MADE, Role.EXISTING)) == ()
    assert guard.box.low[1] < entrance.low[1] < entrance.high[1] < guard.box.high[1]
    assert guard.box.low[2] < ZERO < entrance.high[2] < guard.box.high[2]
    centre = guard.box.low[1] + guard.box.high[1]
    assert centre == entrance.low[1] + entrance.high[1]
    holes = {(hole.low[1], hole.low[2]) for hole in bee_holes(guard)}
    for hole in bee_holes(guard):
        assert (centre - hole.high[1], hole.low[2]) in holes
    assert 0 < clear(made) < float((entrance.size(1) * entrance.size(2)).square_inches)


def test_a_guard_that_leaves_a_way_round_it_is_an_error(setting: Settings, make: Make) -> None:
    """Moved aside by as much as it reaches past the entrance, or cut off at the entrance's height."""
    s = setting()
    made = make(ITEM, s)
    guard, entrance = guard_of(made), made.spaces[0].box
    for by in (
        (ZERO, guard.box.high[1] - entrance.high[1], ZERO),
        (ZERO, ZERO, entrance.high[2] - guard.box.high[2]),
    ):
        for far, there in ((by, True), (tuple(each / 2 for each in by), False)):
            placed = tuple(each.moved(far) if each is guard else each for each in made.placed)
            found = codes(s, replace(made, placed=placed))
            assert ("guard-leaves-a-way-round" in found) is there
            assert found.get("guard-leaves-a-way-round", Severity.ERROR) is Severity.ERROR


@pytest.mark.outside("arithmetic: 9 / 25.4 x 64 = 22.68, so the nearest drill sold in 64ths is 23/64 in")
def test_a_hole_of_millimeters_has_one_name_with_its_drill_in_an_inch_design() -> None:
    said = wording_of("in")
    assert said.drill(millimetre(9)) == said.on_drill(millimetre(9)) == "9 mm (23/64 in)"
    assert said.on_drill(inch("3/32")) == said.drill(inch("3/32")) == "3/32 in"
    assert wording_of("mm").drill(millimetre(9)) == wording_of("mm").on_drill(millimetre(9)) == "9 mm"


def test_a_steel_guard_is_no_longer_than_the_front_that_it_is_on(setting: Settings, make: Make) -> None:
    """An entrance 14 3/4 in wide with 1 1/2 in at each end is 17 3/4 in; the front of the box is 16 1/4 in."""
    s = setting()
    made = make(ITEM, s, overlap=inch("1 1/2"))
    assert guard_of(made).part.length == s.box.width == inch("16 1/4")
    assert "guard-leaves-a-way-round" not in codes(s, made)
