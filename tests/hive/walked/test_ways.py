"""Who walks where: lanes over the bars, places bees should reach or must not, doors for each creature."""

from typing import Any

import pytest

from woodshop.hive.creatures import Clear, creatures, worker
from woodshop.hive.passages.doors import Ways, ways_of
from woodshop.units.lengths import inch, read_length

VENTS = ("left corner vent", "right corner vent")


def lanes(ways: Ways) -> list[tuple[bool, bool, tuple[str, ...]]]:
    return [(lane.open, lane.down, lane.up) for lane in ways.lanes]


def reached(ways: Ways) -> dict[str, bool]:
    return {spot.name: spot.reached for spot in ways.spots}


def doors(ways: Ways) -> dict[str, tuple[str, ...]]:
    return {f"{each.door.name}, {each.door.tier}": each.passed_by for each in ways.doors}


@pytest.fixture(scope="module")
def usual(hive: Any, box: Any, make: Any) -> Ways:
    """Two deep boxes, board with channel and vents, strips, quilt box with bare holes, spacers."""
    b = box()
    board = make["packed"](make["board"]())
    return ways_of(hive(b, board, make["strips"](b), make["quilt"](), make["spacers"](b)))


def test_every_lane_opens_down_and_the_outer_ones_up_into_channel_and_vents(usual: Ways) -> None:
    """Channel to 4 1/4 from the front, first strip at 5; vents from 15 5/8, last strip ends at 14 3/4."""
    assert lanes(usual) == [
        (True, True, ("entrance channel",)),
        (True, True, ()),
        (True, True, ()),
        (True, True, VENTS),
    ]


def test_bees_reach_what_they_should_and_nothing_else(usual: Ways) -> None:
    assert [spot.name for spot in usual.spots if spot.amiss] == []
    assert reached(usual)["over the sugar"]
    assert not reached(usual)["over the quilt floor"]


@pytest.mark.outside("openings as each source has them: excluder gaps, mouse slot of 8 mm, bores of 9 mm")
def test_who_passes_the_doors_of_a_usual_hive(usual: Ways) -> None:
    """3/4 in entrance: all. Notch of 5/16 in = 7.94 mm: no mouse. Slit of 5/32 in = 3.97 mm under 4.05: nobody."""
    seen = doors(usual)
    assert seen["entrance, bottom board"] == ("worker", "queen", "drone", "mouse", "small mouse")
    assert seen["upper entrance, board, front"] == ("worker", "queen", "drone")
    assert seen["slit under the cover, cover"] == ()
    assert {each.door.name for each in usual.doors if each.lets_out} == {"entrance", "upper entrance"}
    assert {each.door.name for each in usual.passed_by("mouse")} == {"entrance", "vent hole"}
    # the holes of this quilt box are bare: a mouse gets into the shavings, a bee does not get to them
    (hole, *_) = usual.door("vent hole")
    assert "mouse" in hole.passed_by
    assert not hole.from_frames


def test_a_channel_packed_full_shuts_the_upper_entrance_from_within(hive: Any, box: Any, make: Any) -> None:
    """The notch is cut above a raised mesh, over solid wood: where it lies on the mesh bees get down by the rests."""
    b = box(5, "9")
    board = make["packed"](make["board"](width="9", mesh_low="3/8", notch=("1/2", "5/16")), *VENTS)
    ways = ways_of(hive(b, board, make["strips"](b, "5/8"), boxes=(b,)))
    (notch,) = ways.door("upper entrance")
    assert notch.passed_by == ("worker", "queen", "drone")
    assert not notch.from_frames
    assert not notch.lets_out
    assert lanes(ways)[0] == (True, True, ())


@pytest.mark.parametrize(
    ("gap", "mesh_low", "is_open"),
    [
        ("1/4", "-0.082", True),
        ("3/16", "-0.082", True),
        ("5/32", "-0.082", False),
        ("0", "-0.082", False),
        ("0", "3/8", True),
    ],
)
def test_a_lane_is_open_from_the_least_width_of_a_worker(
    hive: Any, box: Any, make: Any, gap: str, mesh_low: str, is_open: bool
) -> None:
    """5/32 in is 3.97 mm, under 4.05 mm; 3/16 in is 4.76 mm. Bottom bee space: shut unless the mesh is raised."""
    b = box(5, "9", gap=gap)
    board = make["packed"](make["board"](width="9", mesh_low=mesh_low, notch=("1/2", "5/16")))
    (lane,) = ways_of(hive(b, board, boxes=(b,))).lanes
    assert lane.open is is_open
    assert lane.down is is_open
    assert bool(lane.up) is is_open


def test_a_strip_close_to_the_front_leaves_a_lane_that_does_not_open_down(hive: Any, box: Any, make: Any) -> None:
    """1/8 in behind the wall: bees stand over the lugs in the rests, get up by the upper entrance, and not down."""
    b = box(5, "9")
    board = make["packed"](make["board"](width="9"))
    ways = ways_of(hive(b, board, make["strips"](b, "1/4", ("7/8", "9 1/2")), boxes=(b,)))
    assert lanes(ways)[0] == (True, False, ("entrance channel",))
    assert lanes(ways)[1] == (True, True, ("entrance channel",))


@pytest.mark.parametrize(("passages", "up"), [(False, False), (True, True)])
def test_eighth_inch_mesh_is_passed_only_where_it_is_cut_open(
    hive: Any, box: Any, make: Any, passages: bool, up: bool
) -> None:
    b = box(5, "9")
    board = make["packed"](make["board"](width="9"), passages=passages, mesh="1/8 in")
    ways = ways_of(hive(b, board, make["strips"](b), boxes=(b,)))
    assert [bool(lane.up) for lane in ways.lanes] == [up, False, False, up]
    assert reached(ways)["over the sugar"] is up
    assert {spot.name for spot in ways.spots if spot.amiss} == (
        set() if up else {"entrance channel", *VENTS, "over the sugar"}
    )


@pytest.mark.parametrize(("spacer", "into"), [("5/32", False), ("3/8", True)])
def test_bees_climb_into_the_wells_under_a_cover_that_stands_off(
    hive: Any, box: Any, make: Any, spacer: str, into: bool
) -> None:
    b = box(5, "9")
    board = make["packed"](make["board"](width="9"))
    ways = ways_of(hive(b, board, make["feeder"](b), make["spacers"](b, spacer), boxes=(b,)))
    assert (reached(ways)["well 1"], reached(ways)["under the cover"]) == (into, into)
    assert [spot.name for spot in ways.spots if spot.amiss] == (["well 1", "well 2", "under the cover"] if into else [])
    (slit,) = ways.door("slit under the cover")
    assert slit.lets_out is into


@pytest.mark.outside("forum: guards of 9 mm bore; Cushman, Bee-L: slots of 8 mm; a state agency to the contrary")
@pytest.mark.parametrize(
    ("bore", "mesh", "passed_by"),
    [
        ("9 mm", "", ("worker", "queen", "drone", "small mouse")),
        ("7 mm", "", ("worker", "queen", "drone")),
        ("12 mm", "", ("worker", "queen", "drone", "mouse", "small mouse")),
        ("", "1/2 in", ("worker", "queen", "drone", "small mouse")),
        ("", "1/4 in", ("worker", "queen", "drone")),
        ("", "1/8 in", ()),
    ],
)
def test_a_guard_is_passed_by_its_bore_or_its_mesh_as_sources_have_it(
    hive: Any, box: Any, make: Any, bore: str, mesh: str, passed_by: tuple[str, ...]
) -> None:
    """A small mouse is one of the sources that say mice pass 8 mm, and 1/2 in mesh."""
    b = box(5, "9")
    ways = ways_of(hive(b, make["guard"](b, bore, 5, mesh), boxes=(b,)))
    (entrance,) = ways.door("entrance")
    assert entrance.passed_by == passed_by
    assert entrance.lets_out is ("worker" in passed_by)


def test_a_skirt_before_the_upper_entrance_shuts_it(hive: Any, box: Any, make: Any) -> None:
    """A cover that fits tightly, its skirt reaching below the rim; with 1/4 in of room bees get out under it."""
    b = box(5, "9")
    board = make["packed"](make["board"](width="9", mesh_low="3/8", notch=("3/8", "5/16")))
    for clearance, out in (("1/16", False), ("1/4", True)):
        ways = ways_of(hive(b, board, boxes=(b,), skirt="2 3/4", clearance=clearance))
        (notch,) = ways.door("upper entrance")
        assert notch.lets_out is out, clearance


def test_what_a_creature_passes_where_no_source_speaks() -> None:
    """An opening of 4.05 mm lets a worker pass and one a hair less does not; a queen is held by 4.3 mm itself."""
    wide = inch(2)
    by_name = {each.name: each for each in creatures()}
    assert worker().passes(Clear(wide, read_length("4.05 mm")))
    assert not worker().passes(Clear(wide, read_length("4.04 mm")))
    assert not by_name["queen"].passes(Clear(wide, read_length("4.3 mm")))
    assert by_name["queen"].passes(Clear(wide, read_length("5.8 mm")))
    assert not by_name["drone"].passes(Clear(wide, read_length("5.4 mm")))
