"""The bee-space map: planes from the placed parts, free space graded, by hand arithmetic and by shifting parts."""

from itertools import pairwise
from typing import Any

import pytest

from tests.hive.shifted import with_part
from woodshop.hive.gaps.grading import bee_space
from woodshop.hive.passages.bee_map import GradedRegion, MapSection, bee_map
from woodshop.hive.passages.inside import Inside
from woodshop.reference.materials import board_material
from woodshop.shape.clear import is_sliver
from woodshop.shape.part import Cuboid, Role
from woodshop.shape.plane import Patch, open_area
from woodshop.units.lengths import ZERO, Length, inch, read_length

ALL = (
    "through a top bar", "between two frames", "through a strip", "entrance channel", "corner vent",
    "over the top bars", "through the rim",
)  # fmt: skip
EIGHTH = inch("1/8")


def mapped(stack: Any, name: str = "most quoted") -> dict[str, MapSection]:
    return {each.name: each for each in bee_map(stack, bee_space(name))}


def holds(patch: Patch, u: Length, v: Length) -> bool:
    """Whether a place that lies on no edge is in a patch: edges across u to the left of it are odd in number."""
    rings = (patch.outer, *patch.holes)
    edges = ((a, b) for ring in rings for a, b in pairwise((*ring, ring[0])))
    return sum(a[0] == b[0] < u and min(a[1], b[1]) < v < max(a[1], b[1]) for a, b in edges) % 2 == 1


def at(section: MapSection, u: Length | str, v: Length | str) -> tuple[str, str] | str:
    """The grade and the clear size at a place; "solid" where no region holds it."""
    spot = [inch(each) if isinstance(each, str) else each for each in (u, v)]
    found = [region for region in section.regions if holds(region.patch, *spot)]
    assert len(found) <= 1
    return (found[0].grade, str(found[0].clear or "")) if found else "solid"


def bounds(region: GradedRegion) -> tuple[Length, Length, Length, Length]:
    us, vs = [spot[0] for spot in region.patch.outer], [spot[1] for spot in region.patch.outer]
    return min(us), min(vs), max(us), max(vs)


@pytest.fixture(scope="module")
def nucleus(hive: Any, box: Any, make: Any) -> Any:
    """Five frames, one deep box 9 in wide, gap 1/4, mesh stapled under, strips 1/4, quilt box, spacers."""
    b = box(5, "9")
    board = make["packed"](make["board"](width="9"))
    return hive(b, board, make["strips"](b), make["quilt"](width="9"), make["spacers"](b), boxes=(b,))


@pytest.fixture(scope="module")
def seen(nucleus: Any) -> dict[str, MapSection]:
    return mapped(nucleus)


def test_planes_of_a_usual_hive_lie_where_the_parts_are(seen: dict[str, MapSection]) -> None:
    """Middle bar at 9 / 2; bars 1 and 2 at 1 3/4 and 3 1/8, so between them 2 7/16; first strip 5 to 5 3/4."""
    assert tuple(seen) == ALL
    # 1/4 in from the bars up to the mesh, half of it: at 9 3/8 + 1/8; the notch from the mesh up to 5/16 over the
    # rim's lower edge, which stands .082 over the box of 9 5/8
    places = {name: (each.axis, str(each.at)) for name, each in seen.items()}
    assert places["through a top bar"] == (1, "4 1/2 in")
    assert places["between two frames"] == (1, "2 7/16 in")
    assert places["through a strip"] == (0, "5 3/8 in")
    assert places["entrance channel"] == (1, "4 1/2 in")
    assert places["corner vent"] == (1, "1 1/2 in")
    assert places["over the top bars"] == (2, "9 1/2 in")
    assert seen["through the rim"].at == inch("9 5/8") + inch("0.082") + inch("5/32")


@pytest.mark.outside("Hendrickson, Bee Culture 2016: 1/4 to 3/8 in; margins of 1/16 and 1/8 are a judgement")
def test_grades_along_a_top_bar_by_hand(seen: dict[str, MapSection]) -> None:
    cut = seen["through a top bar"]
    # end bar to wall (18 3/8 - 17 5/8) / 2 = 3/8; over the bar 1/4; under the bottom bar 1/4 + 3/4, declared only
    # below the box: in the box 9 5/8 - 9 1/8 - 1/4 = 1/4 of it
    assert at(cut, "15/16", "4") == ("bee space", "1/4 in")
    assert at(cut, "8", "9 1/2") == ("bee space", "1/4 in")
    assert at(cut, "8", "1/8") == ("wide by design", "1/2 in")
    assert at(cut, "8", "-1/4") == ("wide by design", "1/2 in")
    # a strip on the bar; a lug end 1/16 from the wall in its rest
    assert at(cut, "5 1/4", "9 1/2") == "solid"
    assert at(cut, "13/32", "9 1/4") == ("too tight", "")
    # over the quilt floor no bee comes
    assert at(cut, "8", "15") == ("sealed", "1/2 in")  # 9.707 + 2 1/2 + 1/32, and 2 of shavings: 14.238


def test_the_slit_under_the_cover_is_shut_and_the_way_between_combs_bee_space(seen: dict[str, MapSection]) -> None:
    cut = seen["between two frames"]
    assert at(cut, "10", "5") == ("bee space", "1/4 in")  # combs 1 3/8 - 1 = 3/8 apart
    roof = max(bounds(region)[3] for region in cut.regions)
    slit = [region for region in cut.regions if bounds(region)[3] == roof]
    assert {region.grade for region in slit} == {"sealed"}


def test_channel_and_vents_are_wide_on_purpose_and_the_notch_is_bee_space(seen: dict[str, MapSection]) -> None:
    """Above a mesh that lies 1/4 over the bars: 9 3/8 + 1/4 + .082 is where the sugar begins."""
    low = inch("9 5/8") + inch("0.082")
    cut = seen["entrance channel"]
    assert at(cut, "2", low + inch(1)) == ("wide by design", "1/2 in")
    assert at(cut, "3/8", low + inch("1/8")) == ("bee space", "1/4 in")  # 5/16 high
    assert at(cut, "6", low + inch(1)) == "solid"
    assert at(seen["corner vent"], "18", low + inch(1)) == ("wide by design", "1/2 in")
    assert at(seen["corner vent"], "6", low + inch(2)) == ("wide by design", "1/2 in")  # head room over the sugar


def test_lanes_over_the_bars_from_above(seen: dict[str, MapSection]) -> None:
    """Over a bar 1/4; strip ends 1/8 off the walls."""
    cut = seen["over the top bars"]
    assert at(cut, "8", "4 1/2") == ("bee space", "1/4 in")
    assert at(cut, "5 3/8", "13/16") == ("too tight", "")
    assert at(cut, "5 3/8", "4 1/2") == "solid"


@pytest.mark.parametrize(
    ("gap", "name", "grade"),
    [
        ("1/4", "most quoted", "bee space"),
        ("15/64", "most quoted", "slightly tight"),
        ("3/16", "most quoted", "slightly tight"),
        ("11/64", "most quoted", "too tight"),
        ("3/8", "most quoted", "bee space"),
        ("25/64", "most quoted", "slightly wide"),
        ("1/2", "most quoted", "slightly wide"),
        ("33/64", "most quoted", "too wide"),
        # 1/4 in is 6.35 mm, 3/8 in 9.525 mm
        ("1/4", "rounded metric", "slightly tight"),
        ("3/8", "six to nine", "slightly wide"),
        ("1/4", "six to nine", "bee space"),
        ("3/16", "glossary", "bee space"),
        ("11/64", "quoted in books", "bee space"),
        ("1/8", "quoted in books", "too tight"),
    ],
)
def test_limits_belong_to_their_grade(hive: Any, box: Any, make: Any, gap: str, name: str, grade: str) -> None:
    """The way from the bars to the mesh, exact at each limit, by the band that is named."""
    b = box(5, "9", gap=gap, height="9 3/4")
    stack = hive(b, make["packed"](make["board"](width="9")), boxes=(b,), covered=False)
    cut = mapped(stack, name)["through a top bar"]
    assert cut.band == name
    over = inch("9 3/4") - inch(gap) / 2
    (found,) = [region for region in cut.regions if holds(region.patch, inch(8), over)]
    assert found.grade == grade


def test_strips_of_three_eighths_in_a_gap_of_a_quarter_lift_the_mesh(hive: Any, box: Any, make: Any) -> None:
    """The rim stands on the strips: lanes of 3/8, still bee space; the rim 3/8 - 1/4 - .082 = .043 off the box."""
    b = box(5, "9")
    board = make["packed"](make["board"](width="9", mesh_low="0"))
    cut = mapped(hive(b, board, make["strips"](b, "3/8"), boxes=(b,)))["through a top bar"]
    assert at(cut, "8", "9 1/2") == ("bee space", "1/4 in")
    (region,) = [each for each in cut.regions if holds(each.patch, inch(8), inch("9 1/2"))]
    assert bounds(region)[3] - bounds(region)[1] >= inch("3/8")


def test_planes_are_only_those_that_a_hive_has(hive: Any, box: Any, make: Any) -> None:
    b = box(5, "9")
    assert tuple(mapped(hive(b, boxes=(b,)))) == ("through a top bar", "between two frames", "over the top bars")
    from_walls = make["feeding shim"](b, _walls)
    assert tuple(mapped(hive(b, from_walls, boxes=(b,)))) == (
        "through a top bar", "between two frames", "over the top bars", "through the rim",
    )  # fmt: skip
    level = box(5, "9", gap="0")
    flush = hive(level, make["packed"](make["board"](width="9", mesh_low="0")), boxes=(level,))
    assert "over the top bars" not in mapped(flush), "bottom bee space, mesh on the bars: nothing over them"
    assert "through a strip" not in mapped(flush)


def _walls(length: Length, width: Length, high: Length, names: tuple[str, str, str]) -> list[Any]:
    from woodshop.shape.part import Part, Placed, Pose

    wood = inch("3/4")
    side, (front, back) = (
        Part(names[0], board_material(inch("3/4")), length, high, wood),
        (Part(name, board_material(inch("3/4")), width - wood * 2, high, wood) for name in names[1:]),
    )
    return [
        Placed(side, Pose((ZERO, wood, ZERO), "+x", "+z", "-y")),
        Placed(side, Pose((length, width - wood, ZERO), "-x", "+z", "+y")),
        Placed(front, Pose((wood, width - wood, ZERO), "-y", "+z", "-x")),
        Placed(back, Pose((length - wood, wood, ZERO), "+y", "+z", "+x")),
    ]


@pytest.mark.parametrize(
    ("mesh_low", "over"),
    [("-0.082", "1/4"), ("0.293", "0.543"), ("3/8", "5/8")],
    ids=["stapled under", "flush rabbet 3/8", "saw groove 3/8"],
)
def test_each_mounting_on_ten_frames_sixteen_wide(hive: Any, box: Any, make: Any, mesh_low: str, over: str) -> None:
    """A 16 in box, gap 1/4: the mesh is over the bars by the gap and by what it stands above the rim's edge."""
    b = box(10, "16")
    board = make["packed"](make["board"](width="16", mesh_low=mesh_low, notch=("1/2", "5/16")))
    sections = mapped(hive(b, board, boxes=(b,), covered=False))
    cut = sections["through a top bar"]
    top = inch("9 3/8")
    (region,) = [each for each in cut.regions if holds(each.patch, inch(8), top + inch("1/16"))]
    assert region.grade == {"1/4": "bee space"}.get(over, "too wide")
    assert at(cut, "8", top + inch(over) - inch("1/64")) != "solid"
    assert at(cut, "8", top + inch(over) + inch("1/64")) == "solid"


@pytest.mark.invariant
def test_regions_fill_the_free_space_and_share_none(nucleus: Any) -> None:
    """To the square micrometre, but for planes through round holes: what is left out there is thinner than 1/160 mm."""
    inside = Inside(nucleus)
    for cut in bee_map(nucleus, bee_space(), inside):
        free = open_area(inside.scene, cut.axis, cut.at, cut.window)
        told = sum((region.patch.area.mm2 for region in cut.regions), start=ZERO.mm)
        assert 0 <= free.mm2 - told < 1
        for region in cut.regions:
            assert not is_sliver(region.patch) or region.clear is not None


@pytest.mark.invariant
def test_a_sliver_is_thin_everywhere() -> None:
    """Thinner than 1/160 mm both ways at each spot; a long sliver with a spot of 1/64 in at its end is none."""
    thin, wide = read_length("0.005 mm"), inch("1/64")
    assert is_sliver(Patch(((ZERO, ZERO), (inch(9), ZERO), (inch(9), thin), (ZERO, thin))))
    with_spot = (
        (ZERO, ZERO),
        (inch(9), ZERO),
        (inch(9), wide),
        (inch(9) - wide, wide),
        (inch(9) - wide, thin),
        (ZERO, thin),
    )
    assert not is_sliver(Patch(with_spot))


def _far(region: GradedRegion, cut: MapSection, boxes: tuple[Cuboid, ...]) -> bool:
    """Whether a region keeps off some blocks by more than the widest size that is told apart, and what was moved."""
    u, v = (i for i in range(3) if i != cut.axis)
    reach = inch("1/2") + EIGHTH + EIGHTH
    low_u, low_v, high_u, high_v = bounds(region)
    return all(
        low_u > box.high[u] + reach or high_u < box.low[u] - reach or low_v > box.high[v] + reach
        or high_v < box.low[v] - reach or cut.at > box.high[cut.axis] + reach or cut.at < box.low[cut.axis] - reach
        for box in boxes
    )  # fmt: skip


@pytest.mark.invariant
@pytest.mark.parametrize("axis", [0, 1, 2])
@pytest.mark.parametrize("name", ["top bar", "comb", "strip", "box end"])
def test_a_part_that_is_shifted_changes_only_what_is_near_it(nucleus: Any, name: str, axis: int) -> None:
    """Planes that move with the part are left out; so is what it opens to bees or shuts from them."""
    tier, part = next(
        (n, k) for n, t in enumerate(nucleus.tiers) for k, p in enumerate(t.placed) if p.part.name == name
    )
    by = tuple(EIGHTH if i == axis else ZERO for i in range(3))
    other = with_part(nucleus, tier, part, by)
    boxes = tuple(each.tiers[tier].placed[part].box for each in (nucleus, other))
    before, after = mapped(nucleus), mapped(other)
    changed = 0
    for key, one in before.items():
        two = after.get(key)
        if two is None or (two.axis, two.at) != (one.axis, one.at):
            changed += 1
            continue
        there = {(region.patch, region.clear) for region in two.regions}
        for region in one.regions:
            is_there = (region.patch, region.clear) in there
            changed += not is_there
            if _far(region, one, boxes):
                assert is_there, (key, bounds(region))
    along = ("comb", 0), ("box end", 1)  # slid along itself past no plane
    assert changed or (name, axis) in along


def test_own_parts_and_roles_are_told(seen: dict[str, MapSection]) -> None:
    solids = {each.name: each for each in seen["entrance channel"].solids}
    assert solids["packed sugar"].role is Role.FILLING
    assert solids["mesh"].own
    assert not solids["top bar"].own
    assert solids["mesh"].material.name == "mesh 1/2 in"
    assert solids["front end"].tier == "board"
