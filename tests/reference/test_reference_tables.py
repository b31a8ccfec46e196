"""What must hold across the tables, whatever the numbers are."""

from itertools import pairwise

import pytest

from woodshop.reference.boxes import (
    FRAMES,
    box_height,
    box_size,
    box_sizes,
    box_widths,
    frame_depth,
    frame_size,
    rabbet_width,
    wall,
)
from woodshop.reference.facts import Fact, fact, group
from woodshop.reference.limits import band, bands, outer_limits
from woodshop.reference.materials import dressed, dressed_rows, mesh, mesh_names, nominal_names, passages
from woodshop.units.lengths import ZERO, inch, millimetre, read_length

pytestmark = pytest.mark.invariant

HEIGHTS = ("deep", "medium", "shallow")


def heights(name: str) -> tuple[Fact, ...]:
    """Every published height of that box, the default first."""
    return group(f"box.height_{name}")


def test_inside_is_outside_less_two_walls() -> None:
    """Holds for every box, both ways."""
    for size in box_sizes():
        assert size.inside_length + size.wall * 2 == size.length == fact("box.length").length
        assert size.inside_width + size.wall * 2 == size.width


def test_boxes_are_found_by_width() -> None:
    """The default is the first; every published width finds its box; others are refused with what there is."""
    for frames in FRAMES:
        assert box_widths(frames)[0] == box_size(frames).width
        for width in box_widths(frames):
            assert box_size(frames, width.number()).width == width
            assert box_size(frames, width.text("in")).width == width
    assert box_size(10).id == f"10-frame {box_widths(10)[0].number()}"
    assert "cut to match the hive" in box_size(10).cite
    with pytest.raises(KeyError, match="16 1/4 in, 16 in"):
        box_size(10, "17")
    with pytest.raises(KeyError, match="5 and 8 and 10"):
        box_widths(9)
    with pytest.raises(KeyError, match="5 and 8 and 10"):
        box_size(6)


def test_box_ids_are_unique_and_sizes_come_from_their_rows() -> None:
    """One id a plan of box; the rows beside it hold the same numbers."""
    assert len({size.id for size in box_sizes()}) == len(box_sizes()) == 6
    for size in box_sizes():
        assert [row.length for row in size.rows] == [size.length, size.width, size.wall]


def test_ten_frames_make_a_wider_box_than_eight() -> None:
    """Of every make."""
    assert min(box_widths(10)) > max(box_widths(8))


def test_frames_fit_their_boxes() -> None:
    """Across, along and in depth: self-spacing frames fill the inside, lugs lie in the rabbets."""
    for size in box_sizes():
        assert fact("frame.end_bar_width").length * size.frames < size.inside_width
        frame = frame_size("deep")
        assert frame.length < size.inside_length < frame.top_bar_length
        assert frame.top_bar_length < size.inside_length + rabbet_width() * 2
    assert rabbet_width() < wall()


def test_heights_fall_from_deep_to_shallow() -> None:
    """Boxes and frames alike; every published height of a name lies between its neighbours."""
    for high, low in pairwise(HEIGHTS):
        assert min(row.length for row in heights(high)) > max(row.length for row in heights(low))
        assert frame_depth(high) > frame_depth(low)
    for name in HEIGHTS:
        assert heights(name)[0].length == box_height(name)
    with pytest.raises(KeyError, match=r"no fact .box\.height_jumbo"):
        box_height("jumbo")


def test_every_box_is_higher_than_its_frames() -> None:
    """What is left is the gap between tiers: at least the gap over the top bars."""
    for name in HEIGHTS:
        for row in heights(name):
            assert row.length - frame_depth(name) > ZERO
        assert box_height(name) - frame_depth(name) >= fact("box.gap_over_top_bars").length


def test_gap_is_rabbet_less_lug() -> None:
    """The gap over the top bars follows from the frame rest."""
    frame = frame_size("medium")
    assert fact("box.gap_over_top_bars").length == fact("box.rabbet_depth").length - frame.lug_thickness
    assert frame.lug_thickness < frame.top_bar_thickness < frame.depth
    assert fact("frame.bottom_bar_thickness").length < frame.depth
    assert frame.top_bar_width < frame.end_bar_width


# ---- lumber ----------------------------------------------------------------------------------


def test_dressed_sizes_rise_with_their_names_and_stay_below_them() -> None:
    """A wider name is a wider board; dressing only takes wood off."""
    for thickness in ("1", "5/4", "2"):
        names = [name for name in nominal_names() if name.startswith(f"{thickness}x")]
        widths = [dressed(name)[1] for name in names]
        assert all(a < b for a, b in pairwise(widths))
        assert all(width < inch(name.partition("x")[2]) for name, width in zip(names, widths, strict=True))
        assert len({dressed(name)[0] for name in names}) == 1
    assert dressed("1x4")[0] < dressed("5/4x4")[0] < dressed("2x4")[0]
    assert dressed("2x2")[0] == dressed("2x2")[1]


def test_dressed_rows_and_refusal() -> None:
    """The rows hold the sizes; an unknown name is refused with the known ones."""
    for name in nominal_names():
        assert tuple(row.length for row in dressed_rows(name)) == dressed(name)
    with pytest.raises(KeyError, match="1x2, 1x3"):
        dressed("3x5")


def test_green_boards_are_larger_than_dry() -> None:
    """Wood shrinks as it dries."""
    assert fact("lumber.green_thickness_1").length > fact("lumber.thickness_1").length
    for width in (4, 6):
        assert fact(f"lumber.green_width_{width}").length > fact(f"lumber.width_{width}").length


def test_one_inch_boards_make_box_walls() -> None:
    """The wall of a box is a dressed 1 in board."""
    assert dressed("1x4")[0] == wall()


# ---- mesh ------------------------------------------------------------------------------------


def test_openings_are_positive_and_fall_with_the_pitch() -> None:
    """Coarse to fine, and wires thin with the pitch."""
    meshes = [mesh(name) for name in mesh_names()]
    for each in meshes:
        assert ZERO < each.wire < each.clear_opening < each.pitch == inch(each.name.removesuffix(" in"))
        assert [row.length for row in each.rows] == [each.pitch, each.wire]
    for coarse, fine in pairwise(meshes):
        assert coarse.clear_opening > fine.clear_opening
        assert coarse.wire > fine.wire


def test_what_passes_follows_the_openings() -> None:
    """A worker passes openings wider than a queen excluder's gap and not the apiary mesh; disputes are kept."""
    gap = fact("opening.queen_excluder").length
    for name in mesh_names():
        says = {said.passes for said in passages(name) if said.who == "worker"}
        assert says == {mesh(name).clear_opening > gap}
    assert {said.passes for said in passages("1/4 in") if said.who == "mouse"} == {False}
    assert {said.passes for said in passages("1/2 in") if said.who == "mouse"} == {True, False}
    assert len(passages()) > sum(len(passages(name)) for name in mesh_names())
    with pytest.raises(KeyError, match="1/2 in"):
        passages("1/16 in")


def test_rolls_rise_and_cover_a_board() -> None:
    """Some roll is as wide as a board is; widths and lengths are listed in order."""
    widths = [row.length for row in group("mesh.roll_width")]
    lengths = [read_length(row.value) for row in group("mesh.roll_length")]
    assert all(a < b for sizes in (widths, lengths) for a, b in pairwise(sizes))
    assert widths[0] > box_widths(10)[0]
    assert lengths[0] > fact("box.length").length


# ---- limits and practice ---------------------------------------------------------------------


def test_bands_are_intervals_and_the_default_is_first() -> None:
    """Every band has room in it; its ends are in it; names are unique and answer a slip."""
    assert bands()[0] == band()
    assert len({each.name for each in bands()}) == len(bands()) == 17
    for each in bands():
        assert ZERO < each.least < each.most
        assert each.holds(each.least)
        assert each.holds(each.most)
        assert not each.holds(each.least - millimetre("0.001"))
        assert not each.holds(each.most + millimetre("0.001"))
        assert each.cite == each.row.cite
    with pytest.raises(KeyError, match="most quoted"):
        band("most quotd")


def test_the_outer_limits_lie_outside_the_default_band() -> None:
    """Warnings begin where the band ends."""
    low, high = outer_limits()
    assert low < band().least < band().most < high


def test_quarter_inch_is_in_the_default_band_and_not_in_the_rounded_one() -> None:
    """The trap that rounding sets: 6.35 mm lies below 6.4 mm."""
    assert band().holds(inch("1/4"))
    assert not band("rounded metric").holds(inch("1/4"))


def test_no_gap_satisfies_every_band() -> None:
    """The bands share no gap, so that one must be chosen."""
    assert max(each.least for each in bands()) > min(each.most for each in bands())


def test_board_practice_hangs_together() -> None:
    """Rim over sugar, landing on the wall, notch within the channel, strips within the gap."""
    assert fact("wire_bottom.landing").length >= fact("wire_bottom.landing_least").length
    assert fact("wire_bottom.landing").length < wall()
    wires = mesh(fact("wire_bottom.mesh").value).wire * 2
    assert wires < fact("wire_bottom.lift").length < fact("strip.thickness").length
    assert wires < fact("wire_bottom.rabbet_height").length
    assert wires < fact("wire_bottom.groove_width").length
    assert fact("wire_bottom.landing").length < fact("wire_bottom.rabbet_width").length < wall()
    assert fact("wire_bottom.groove_depth").length < wall()
    assert fact("rim.notch_width").length <= fact("block.width").length < fact("block.length").length
    assert fact("rim.notch_height").length <= fact("opening.upper_notch_most").length
    assert band().holds(fact("rim.notch_height").length)
    assert fact("rim.joint_rabbet_depth").length < wall()
    assert fact("strip.thickness").length <= fact("box.gap_over_top_bars").length + fact("strip.proud_most").length


def test_default_rim_holds_the_default_sugar() -> None:
    """A 1x3 rim has room for the recipe's layer and head room; the default density asks for no thinner layer."""
    layer = fact("sugar.layer").length
    assert layer + fact("rim.head_room").length <= fact("rim.height").length
    plan = box_size(10).inside_length * box_size(10).inside_width
    assert fact("sugar.density").density.volume_of(fact("sugar.per_ten_frame_board").mass) / plan > layer


def test_densities_lie_below_a_crystal() -> None:
    """No packing passes the solid; the default lies within the range taken."""
    low, high = fact("sugar.density").density, fact("sugar.density_most").density
    assert low < high < fact("sugar.density.crystal").density


def test_saw_thresholds_are_in_order() -> None:
    """Thin kerf below full; thinnest rip below far side below jig below caution."""
    assert fact("saw.kerf_thin").length < fact("saw.kerf").length
    names = ("thinnest_rip", "far_side_below", "jig_below", "warn_below", "shortest_to_rip", "longest_to_rip")
    steps = [fact(f"saw.{name}").length for name in names]
    assert all(a < b for a, b in pairwise(steps))


def test_recipe_scales() -> None:
    """Two bowls make the board, in sugar and in water; bags make it up without a remainder."""
    bowls = int(fact("mix.bowls").number)
    assert fact("mix.bowl_sugar").mass * bowls == fact("mix.sugar").mass
    assert fact("mix.bowl_water").volume * bowls == fact("mix.water").volume
    assert (fact("mix.sugar").mass / fact("sugar.bag").mass).denominator == 1


def test_cover_drops_over_the_box() -> None:
    """The home plan's cover goes over the box with clearance; its skirt is no deeper than the wind allows."""
    assert fact("cover.inside_width").length > box_widths(10)[0]
    assert fact("cover.frame_side").length > fact("box.length").length
    assert fact("cover.skirt_depth").length < fact("cover.skirt_most").length
    assert fact("cover.length").length > fact("box.length").length
    assert fact("cover.width_10").length > box_widths(10)[0]
    assert fact("cover.width_8").length > box_widths(8)[0]
