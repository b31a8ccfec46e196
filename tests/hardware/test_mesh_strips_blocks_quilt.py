"""Wire bottoms in whole cells, strips, packing blocks and quilt boxes, by hand and against drawn grids."""

import re
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodshop.errors import InputError
from woodshop.hardware.board import Mounting, Setting, Void
from woodshop.hardware.catalogue import find_item, items
from woodshop.hardware.items.packing_blocks import packing_steps
from woodshop.hardware.items.spacer_strips import (
    aimed_thickness,
    mesh_on,
    spans_between,
    strip_places,
    strip_room,
    thickness_limits,
)
from woodshop.hardware.items.wire_bottom import SheetSide, open_cells, sheet, sheet_side, staple_line
from woodshop.hive.woodenware.box import stand
from woodshop.reference.materials import mesh
from woodshop.shape.part import Role, contact_area, gap, overlaps, part_volume
from woodshop.units.lengths import ZERO, Length, inch, millimetre, pound
from woodshop.units.wording import Wording

Settings = Callable[..., Setting]
Make = Callable[..., Any]
WIRE, PITCH = inch("0.041"), inch("1/2")
MOUNTINGS = get_args(Mounting)


# ---- mesh -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("frames", "width", "mounting", "along", "across"),
    [
        # inside 18 3/8 x 14 3/4, landing 3/8: 19.125 and 15.5 wanted; (19.125 - 0.041) / 0.5 = 38.17: 39 cells
        # = 19.541, landing (19.541 - 18.375) / 2 = 0.583; (15.5 - 0.041) / 0.5 = 30.9: 31 = 15.541, landing 0.3955
        (10, "16 1/4", "stapled under", (39, "19.541", True, "0.583"), (31, "15.541", True, "0.3955")),
        # 14 1/2 inside: 15.25 wanted, 30.4: 31 = 15.541, landing 0.5205
        (10, "16", "stapled under", (39, "19.541", True, "0.583"), (31, "15.541", True, "0.5205")),
        # 12 1/4: 13 wanted, 25.9: 26 = 13.041, landing 0.3955
        (8, "13 3/4", "stapled under", (39, "19.541", True, "0.583"), (26, "13.041", True, "0.3955")),
        # 12 1/2: 13.25 wanted, 26.4: 27 = 13.541, landing 0.5205
        (8, "14", "stapled under", (39, "19.541", True, "0.583"), (27, "13.541", True, "0.5205")),
        # rabbet 1/2, play 1/16 in all: 18.375 + 1 - 1/16 = 19.3125 at most: 19.541 does not go in,
        # so it is cut off the wire at 19 1/8; 38 whole cells (19.041)
        (10, "16 1/4", "flush rabbet", (38, "19.125", False, "0.375"), (31, "15.541", True, "0.3955")),
        (8, "13 3/4", "flush rabbet", (38, "19.125", False, "0.375"), (26, "13.041", True, "0.3955")),
        # groove 3/8, play 1/16 each side: 18.375 + 5/8 = 19 at most, 37 whole cells (18.541); 15.375, 30 (15.041)
        (10, "16 1/4", "saw groove", (37, "19", False, "5/16"), (30, "15.375", False, "5/16")),
        # 12.25 + 5/8 = 12.875; 25 cells = 12.541
        (8, "13 3/4", "saw groove", (37, "19", False, "5/16"), (25, "12.875", False, "5/16")),
    ],
)
def test_sheets_in_whole_cells(
    setting: Settings, frames: int, width: str, mounting: Mounting, along: tuple[Any, ...], across: tuple[Any, ...]
) -> None:
    for side, (cells, length, on_wire, landing) in zip(
        sheet(setting(frames, width, mounting=mounting)), (along, across), strict=True
    ):
        assert (side.cells, side.length, side.on_wire) == (cells, inch(length), on_wire)
        assert side.landing == inch(landing)


@pytest.mark.invariant
@given(st.integers(100, 2000), st.integers(0, 60), st.integers(0, 60), st.sampled_from(["1/2", "1/3", "1/4", "1/8"]))
def test_a_sheet_lands_as_wanted_or_goes_no_further_than_it_may(
    inside: int, landing: int, room: int, pitch: str
) -> None:
    clear, least = inch(Fraction(inside, 64)), inch(Fraction(landing, 64))
    most = clear + least * 2 + inch(Fraction(room, 64))
    side = sheet_side(clear, most, least, pitch=inch(pitch), wire=WIRE, mark=inch("1/16"))
    assert side.length <= most
    assert side.landing * 2 + clear == side.length
    if side.on_wire:
        assert side.length == inch(pitch) * side.cells + WIRE
        assert side.landing >= least
        assert inch(pitch) * (side.cells - 1) + WIRE < clear + least * 2, "one cell fewer would land short"
    else:
        fit = (most - WIRE) // inch(pitch)
        assert inch(pitch) * fit + WIRE < clear + least * 2, "whole cells would have done"
        assert clear + least * 2 - side.length < inch("1/16")


def drawn_openings(length: Length, start: Length) -> list[tuple[Fraction, Fraction]]:
    """The clear openings of a sheet drawn wire by wire from its edge."""
    wires, at = [], start.inches
    while at + WIRE.inches <= (start + length).inches:
        wires.append(at)
        at += PITCH.inches
    return [(a + WIRE.inches, b) for a, b in pairwise(wires)]


@pytest.mark.invariant
@pytest.mark.parametrize("mounting", MOUNTINGS)
@pytest.mark.parametrize("channel", ["into the hive", "along the front"])
@pytest.mark.parametrize(("frames", "width"), [(10, "16 1/4"), (10, "16"), (8, "13 3/4"), (8, "14")])
def test_open_cells_are_those_of_a_drawn_grid(
    setting: Settings, mounting: Mounting, channel: str, frames: int, width: str
) -> None:
    s = setting(frames, width, mounting=mounting, channel=channel)
    along, across = sheet(s)
    xs = drawn_openings(along.length, (s.box.length - along.length) / 2)
    ys = drawn_openings(across.length, (s.box.width - across.length) / 2)

    def count(void: Void) -> int:
        return sum(
            void.x0.inches <= x0 and x1 <= void.x1.inches and void.y0.inches <= y0 and y1 <= void.y1.inches
            for x0, x1 in xs
            for y0, y1 in ys
        )

    assert dict(open_cells(s)) == {void.name: count(void) for void in s.voids}
    assert all(count(void) > 0 for void in s.voids), "bees get up through channel and vents"


def test_staples_every_two_inches_round_the_sheet(setting: Settings, make: Make) -> None:
    floor = make(find_item("wire bottom"), setting())
    # 2 x (19.541 + 15.541) = 70.164 in round; / 2 = 35.08: 36
    assert [f.count for f in floor.fasteners] == [36]
    assert make(find_item("wire bottom"), setting(mounting="saw groove")).fasteners == ()


def test_what_is_cut_off_the_wire_says_so(setting: Settings, make: Make) -> None:
    (mesh,) = make(find_item("wire bottom"), setting(mounting="saw groove")).named("mesh")
    assert [note for note in mesh.part.notes if "off the wire" in note] == [
        "cut off the wire, 19 in on the long side",
        "cut off the wire, 15 3/8 in on the short side",
    ]
    (mesh,) = make(find_item("wire bottom"), setting()).named("mesh")
    assert mesh.part.notes == ("39 x 31 cells, 40 x 32 wires",)


# ---- strips ---------------------------------------------------------------------------------------


MIDDLES = tuple(inch(x) for x in ("5 3/8", "10", "14 1/2"))


@pytest.mark.parametrize(
    ("gap_over", "mounting", "thick", "limits"),
    [
        # the loaded mesh sags 0.012 to 0.015 between strips: 3/16 and that is 0.200, on 64ths 13/64. Of the tape's
        # marks only 1/4 lies between 13/64 and 1/4, with no room above: 7/32 has a 64th below and two above
        ("1/4", "stapled under", "7/32", "13/64 to 1/4 in"),
        # 3/16 is all there is: no strip leaves 3/16 once the mesh sags, the thickest leaves most
        ("3/16", "stapled under", "3/16", "at most 3/16 in"),
        # 1/4 has 3/64 below and 1/32 above, which a saw may be off
        ("9/32", "stapled under", "1/4", "13/64 to 9/32 in"),
        # mesh underside 1/8 - 0.082 = 0.043: up to 0.293, on 64ths 9/32; 1/4 has 0.043 above
        ("1/4", "flush rabbet", "1/4", "13/64 to 9/32 in"),
        # 1/4 of wood below the groove: up to 1/4 + 1/4; the middle of 0.22 and 1/2 is 0.36
        ("1/4", "saw groove", "3/8", "7/32 to 1/2 in"),
        ("0", "saw groove", "7/32", "13/64 to 1/4 in"),
    ],
)
def test_strips_aim_inside_their_limits(
    setting: Settings, make: Make, gap_over: str, mounting: Mounting, thick: str, limits: str
) -> None:
    made = make(find_item("spacer strips"), setting(gap=gap_over, mounting=mounting), number=3)
    assert made.placed[0].part.thickness == inch(thick)
    assert {fact.name: fact.value for fact in made.facts}["thickness limits"] == limits


def test_a_strip_in_millimetres_is_a_half_millimetre_where_one_is_within_the_limits(setting: Settings) -> None:
    """6.35 mm of gap, 5.1 at least: 6 and 5.5 leave 0.35 and 0.4 on one side."""
    s = replace(setting(), wording=Wording("mm", millimetre(1)))
    limits = thickness_limits(s, MIDDLES)
    assert limits.words(s) == "5.2 to 6.2 mm"
    assert aimed_thickness(s, limits) == millimetre("5.5")
    narrow = replace(limits, least=millimetre("5.6"), most=millimetre("5.95"))
    assert aimed_thickness(s, narrow) == millimetre("5.8")


def test_lattice_as_it_is_sold_is_taken_where_it_lies_within(setting: Settings) -> None:
    """Strips of another width than the wood are not ripped on edge: 1/4 is what lattice comes in."""
    limits = thickness_limits(setting(), MIDDLES)
    assert limits.hold(inch("1/4"))
    assert aimed_thickness(setting(), limits, on_edge=False) == inch("1/4")
    thin = thickness_limits(setting(gap="7/32"), MIDDLES)
    assert not thin.hold(inch("1/4"))
    assert aimed_thickness(setting(gap="7/32"), thin, on_edge=False) == inch("7/32")


def test_no_gap_is_refused_unless_the_mesh_is_raised(setting: Settings, make: Make) -> None:
    with pytest.raises(InputError) as refused:
        make(find_item("spacer strips"), setting(gap="0"))
    (problem,) = refused.value.problems
    assert problem.where == "spacer strips for 10-frame 16 1/4"
    assert "a gap of 0 in" in problem.given
    assert 'mounting = "flush rabbet"' in problem.do
    # 3/8 - 0.082 = 0.293
    assert strip_room(setting(gap="0", mounting="flush rabbet", rabbet_height=inch("3/8"))) == inch("0.293")


@pytest.mark.invariant
@given(st.integers(12, 40), st.sampled_from(MOUNTINGS), st.sampled_from(("8", "16", "24")))
def test_at_its_limits_a_strip_just_leaves_the_bees_their_room(
    setting: Settings, gap64: int, mounting: Mounting, sugar: str
) -> None:
    """At the least 3/16 is left where the mesh sags most, a 64th thinner it is not; at the most it just touches."""
    s = setting(gap=str(Fraction(gap64, 64)), mounting=mounting, sugar=sugar)
    limits, spans = thickness_limits(s, MIDDLES), spans_between(s, MIDDLES)
    assert limits.most == s.box.gap + max(s.mesh_low, ZERO)

    def does(thick: Length) -> bool:
        mesh = mesh_on(s, spans, limits.most - thick)
        return all(mesh.carries) and float(limits.most.inches) - mesh.sag >= 3 / 16

    if limits.least is None:
        assert not does(limits.most.down_to(inch("1/64")))
        return
    assert does(limits.least)
    assert not does(limits.least - inch("1/64"))
    assert limits.hold(aimed_thickness(s, limits))


@pytest.mark.invariant
@pytest.mark.parametrize("channel", ["into the hive", "along the front"])
@pytest.mark.parametrize("count", [2, 3, 4, 5, 6])
@pytest.mark.parametrize(("frames", "width"), [(10, "16 1/4"), (10, "16"), (8, "13 3/4"), (8, "14")])
def test_strips_lie_clear_of_channel_and_vents_on_the_bars(
    setting: Settings, make: Make, channel: str, count: int, frames: int, width: str
) -> None:
    s = setting(frames, width, channel=channel)
    strips = make(find_item("spacer strips"), s, number=count)
    assert len(strips.placed) == count
    assert overlaps(strips.placed) == ()
    bars = stand(s.box).named("top bar")
    lying = strips.moved((ZERO, ZERO, bars[0].box.high[2]))
    for strip in lying.placed:
        assert all(strip.box.meet(v.over(strip.box.low[2], strip.box.high[2])) is None for v in s.voids)
        assert all(contact_area(bar, strip).mm2 for bar in bars), "carried by every bar"
        assert strip.box.low[1] == s.box.wall + inch("1/8")
        assert s.box.width - strip.box.high[1] == s.box.wall + inch("1/8")
        assert (strip.box.low[0] / inch("1/16")).denominator == 1, "set out on the marks of a tape"


def test_five_strips_are_moved_clear(setting: Settings) -> None:
    # even places would be 3/4 + 18 3/8 n / 6 - 3/8: 3.4375, 6.5, 9.5625, 12.625, 15.6875.
    # the channel ends at 3/4 + 3 1/2 = 4 1/4, the vents begin at 19 1/8 - 3 1/2 = 15 5/8, less the strip 14 7/8
    places = strip_places(setting(), 5, inch("3/4"))
    assert places == tuple(inch(x) for x in ("4 1/4", "6 1/2", "9 9/16", "12 5/8", "14 7/8"))


def test_too_many_strips_are_refused(setting: Settings) -> None:
    with pytest.raises(InputError, match="12 strips"):
        strip_places(setting(), 12, inch("3/4"))
    with pytest.raises(InputError, match="turn the packing blocks"):
        strip_places(setting(block_length=inch("8 1/2")), 2, inch(2))


def test_the_estimate_is_of_the_widest_span_left(setting: Settings) -> None:
    s = setting()
    places = strip_places(s, 5, inch("3/4"))
    spans = spans_between(s, [x + inch("3/8") for x in places])
    # edges 3/4, then middles at + 3/8: widest is 4 1/4 + 3/8 - 3/4 = 3 7/8 at the front
    # (at the back 19 1/8 - (14 7/8 + 3/8) = 3 7/8)
    assert max(spans) == inch("3 7/8")
    # by the beam of six spans 3 7/8, 2 3/4 x 4, 3 7/8 at most 5/384 w L^4 / (E I) of the widest taken alone, 0.023 in
    alone = 5 / 384 * (17.6 / float(s.sugar_area.square_inches) / 2) * 3.875**4 / (29e6 * 3.14159265 * 0.041**4 / 64)
    assert 0.3 * alone < mesh_on(s, spans).sag < alone


def test_the_mesh_carries_the_sugar_and_its_water(setting: Settings) -> None:
    """3 US cups to 16 lb are 0.708 kg to 7.257 kg: 17.56 lb; of a mix of another share, by that."""
    assert float(setting().damp.pounds) == pytest.approx(17.56, abs=0.005)
    assert replace(setting(), water=Fraction(1, 8)).damp == pound(18)


def test_a_load_that_bends_the_wires_for_good_is_refused(setting: Settings, make: Make) -> None:
    with pytest.raises(InputError, match="the most that fit"):
        make(find_item("spacer strips"), setting(mesh="1/8 in", sugar="4000"))


def test_a_strip_as_wide_as_the_wood_is_ripped_on_edge_and_others_are_lattice(setting: Settings, make: Make) -> None:
    strip = make(find_item("spacer strips"), setting()).placed[0].part
    assert (strip.material.name, strip.on_edge) == ("board 3/4 in", True)
    strip = make(find_item("spacer strips"), setting(), width=inch("1/2")).placed[0].part
    assert (strip.material.name, strip.on_edge) == ("lattice 1/4 in x 1/2 in", False)


@pytest.mark.invariant
@given(st.integers(1, 16), st.integers(0, 32), st.sampled_from(MOUNTINGS))
def test_a_thinner_strip_never_comes_closer_to_the_mesh(
    setting: Settings, make: Make, sixteenths: int, gap32: int, mounting: Mounting
) -> None:
    s = setting(gap=str(Fraction(gap32, 32)), mounting=mounting)
    bars = stand(s.box).named("top bar")
    floor = make(find_item("wire bottom"), s)
    seated = floor.moved((ZERO, ZERO, s.box.height + max(ZERO, ZERO - s.mesh_low)))

    def clear(thick: Length) -> Length:
        strips = make(find_item("spacer strips"), s, number=3, thickness=thick)
        found = gap(strips.moved((ZERO, ZERO, bars[0].box.high[2])).placed, seated.placed)
        assert found is not None
        return found

    thick = inch(Fraction(sixteenths, 16))
    # by arithmetic: gap + height of the mesh's underside in the rim - thickness
    assert clear(thick) == s.box.gap + max(ZERO, s.mesh_low) - thick
    if sixteenths > 1:
        assert clear(thick - inch("1/16")) > clear(thick)


def test_a_strip_that_no_gauge_measures_is_refused(setting: Settings, make: Make) -> None:
    """A quarter of the tape's mark can be set by a gauge; finer is nothing that a saw keeps."""
    made = make(find_item("spacer strips"), setting(), thickness=inch("15/64"))
    assert made.placed[0].part.thickness == inch("15/64")
    with pytest.raises(InputError, match=r"0\.227 in; wanted a whole number of 1/64 in"):
        make(find_item("spacer strips"), setting(), thickness=inch(Fraction(29, 128)))


# ---- blocks ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("channel", ["into the hive", "along the front"])
def test_blocks_stand_on_the_mesh_cover_the_voids_and_show_above_the_rim(
    setting: Settings, make: Make, channel: str
) -> None:
    s = setting(channel=channel)
    blocks = make(find_item("packing blocks"), s)
    assert len(blocks.placed) == 3
    for block, void in zip(blocks.placed, s.voids, strict=True):
        box = block.box
        assert (box.low[0], box.low[1], box.high[0], box.high[1]) == (void.x0, void.y0, void.x1, void.y1)
        assert box.low[2] == s.mesh_top
        assert inch(1) <= box.high[2] - s.height < inch("1 1/16")
    rim = make(find_item("fondant rim"), s)
    assert overlaps([*blocks.placed, *rim.placed]) == (), "packed around the blocks, inside the walls"


def test_three_blocks_for_each_person(setting: Settings, make: Make) -> None:
    assert len(make(find_item("packing blocks"), setting(), people=3).placed) == 3
    facts = make(find_item("packing blocks"), setting(), people=3).facts
    assert facts[0].value == "9, 3 for each of 3 who pack"


# ---- quilt boxes ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "high"),
    [
        ({}, "5 1/2"),  # 2 of shavings + 2 1/4 of skirt + a 1 in hole = 5 1/4
        ({"skirt": ZERO}, "3 1/2"),  # 2 + 1 = 3
        ({"holes": "none", "skirt": ZERO}, "2 1/2"),  # 2
        ({"shavings": inch(4)}, "7 1/4"),  # 4 + 2 1/4 + 1 = 7 1/4
    ],
)
def test_a_quilt_box_is_the_least_board_for_shavings_holes_and_skirt(
    setting: Settings, make: Make, given: dict[str, Any], high: str
) -> None:
    quilt = make(find_item("quilt box"), setting(), **given)
    assert {f.name: f.value for f in quilt.facts}["height"] == f"{high} in"


@pytest.mark.invariant
@pytest.mark.parametrize("floor", ["cloth", "mesh"])
@pytest.mark.parametrize(("holes", "count"), [("none", 0), ("two", 2), ("four", 4)])
@pytest.mark.parametrize(("frames", "width"), [(10, "16 1/4"), (8, "13 3/4")])
def test_holes_lie_between_shavings_and_skirt_with_a_screen_over_each(
    setting: Settings, make: Make, floor: str, holes: str, count: int, frames: int, width: str
) -> None:
    s = setting(frames, width)
    quilt = make(find_item("quilt box"), s, floor=floor, holes=holes)
    bored = [
        hollow
        for placed in quilt.placed
        for cut, hollow in zip(placed.part.cuts, placed.hollows, strict=True)
        if cut.name == "vent hole"
    ]
    screens = quilt.named("vent screen")
    assert len(bored) == len(screens) == count
    top = quilt.named("side")[0].box.high[2]
    for hole in bored:
        assert hole.size(2) == inch(1)
        assert inch(2) <= hole.low[2]
        assert hole.high[2] <= top - inch("2 1/4")
    for screen in screens:
        # past the hole by 1/2 all around: (2 - 0.017) / 0.125 = 15.86: 16 cells = 2.017
        assert screen.part.length == screen.part.width == inch("1/8") * 16 + inch("0.017")
    made = [p for p in quilt.placed if p.role is Role.MADE]
    assert overlaps(made) == (), "screens lie on the inside of the walls, clear of wood and floor"


def test_the_shavings_fill_the_inside(setting: Settings, make: Make) -> None:
    s = setting()
    (filling,) = make(find_item("quilt box"), s).named("shavings")
    # 14 3/4 x 18 3/8 x 2 = 542.06 cu in
    assert part_volume(filling) == s.inside.area * inch(2)
    assert filling.role is Role.FILLING


def test_every_item_says_what_it_is_and_draws_a_picture() -> None:
    names = [item.name for item in items()]
    assert names == sorted(names, key=names.index)
    assert set(names) >= {"fondant rim", "wire bottom", "spacer strips", "packing blocks", "quilt box"}
    for item in items():
        assert item.summary.endswith(".")
        assert re.search(r"[|+=_]", item.picture)
        assert all(p.param.help for p in item.parameters)
    with pytest.raises(KeyError):
        find_item("no such thing")


def test_a_stapled_mesh_has_one_story_of_how_the_rim_sits(setting: Settings, make: Make) -> None:
    """Two wires of 0.041 in: 0.08 in; the row's 0.1 in is the most, with crowns that stand out."""
    steps = make(find_item("wire bottom"), setting()).steps
    assert "The rim then sits on the mesh, 0.08 in off the box" in steps[2]
    assert "Crowns that stand out raise it to 0.1" in steps[2]


def test_one_story_of_the_packing_blocks(setting: Settings, make: Make) -> None:
    """Set before any sugar is packed, drawn after all of it is: two steps that the item and the mix share."""
    stand, draw = packing_steps(setting())
    assert make(find_item("packing blocks"), setting()).steps[-2:] == (stand, draw)
    assert "three blocks upright on the mesh, end grain down, long side front to back" in stand
    assert "all three" in draw
    across = setting(channel="along the front")
    assert "long side along the front" in packing_steps(across)[0]
    channel = across.voids[0]
    assert channel.y1 - channel.y0 > channel.x1 - channel.x0


def test_mesh_is_cut_outside_its_edge_wires_and_stapled_on_the_landing(setting: Settings, make: Make) -> None:
    steps = make(find_item("wire bottom"), setting()).steps
    assert "Cut just outside the edge wires: 39 cells have 40 wires" in steps[0]
    # landings of 0.583 and 0.3955 in (above), half of each, down to a mark
    assert "1/4 in from the inner faces of the ends and 3/16 in from those of the sides" in steps[1]
    assert "each staple over a wire that runs across the wood" in steps[1]


def test_staples_go_where_the_mesh_lies_on_wood_and_a_whole_wire_is_outside_them() -> None:
    """Rims of 460 mm with wood 20 mm: the sheet of 440 mm ends at the middle of the wood.

    34 cells of 12.7 mm and a wire of 1.04 mm leave stubs of 3.58 mm: of the 10 mm on wood, 5.38 mm are inside the
    outermost whole wire.
    """
    kind, mark = mesh("1/2 in"), millimetre(1)
    off = SheetSide(millimetre(440), 34, False, millimetre(10))
    assert staple_line(off, kind, mark) == millimetre(5)
    # 7 mm on wood: half is 3.5 mm, but the wire is 7 - 3.58 - 1.04 = 2.4 mm from the inner face
    assert staple_line(replace(off, landing=millimetre(7)), kind, mark) == millimetre(2)
    on = SheetSide(kind.pitch * 37 + kind.wire, 37, True, millimetre("13.4"))
    assert staple_line(on, kind, mark) == millimetre(6)


def test_screws_go_through_the_wall_outside_into_the_end_of_the_other(setting: Settings, make: Make) -> None:
    """Two in 2 1/2 in: a quarter of the height, 5/8 in, from each edge; the middle of wood 3/4 in thick is 3/8 in."""
    for joint, words in (
        ("butt, ends inside", "through the side into the end, each 5/8 in from an edge"),
        ("butt, sides inside", "through the end into the side, each 5/8 in from an edge"),
    ):
        steps = " ".join(make(find_item("fondant rim"), setting(joint=joint)).steps)
        assert words in steps
        assert "each 5/8 in from an edge and 3/8 in from the corner" in steps
        assert "The two outside diagonals must be equal within 1/16 in" in steps
