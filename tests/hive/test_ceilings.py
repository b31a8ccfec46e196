"""What closes the room over the frames: parts that no gap is measured to, and what holds the user's cover up."""

from typing import Any

import pytest

from tests.hive.conftest import WOOD, walls
from woodshop.hive.gaps.gaps import gathered, looked_through, measure_gaps
from woodshop.hive.stacking.place import Place, TierKind
from woodshop.hive.stacking.stack import Load
from woodshop.reference.materials import SUGAR, mesh_material, sheet_material
from woodshop.shape.part import Assembly, Cuboid, Cut, Face, Part, Placed, Pose, Rectangle, Role, RoundOutline, Space
from woodshop.units.lengths import ZERO, Length, inch

LONG, WIDE = inch("19 7/8"), inch("16 1/4")
INSIDE = (LONG - WOOD * 2, WIDE - WOOD * 2)
LOW = inch("0.21")  # over the lower edge of the riser: 1/4 + 0.21 = 0.46 in over the bars
HIGH = inch("0.71")
NAMES = ("riser side", "riser front", "riser back")


def panel(*cuts: Cut, name: str = "panel", high: Length = LOW) -> tuple[Placed, ...]:
    """A sheet 1/4 in thick over the whole inside, so high over the riser's lower edge."""
    thick = inch("1/4")
    part = Part(name, sheet_material("plywood", thick), *INSIDE, thick, cuts=cuts)
    return (Placed(part, Pose((WOOD, WOOD, high))),)


def hole(x0: str, y0: str, x1: str, y1: str) -> Cut:
    return Cut("hole", Face.SHOW, Rectangle(inch(x0), inch(y0), inch(x1), inch(y1)), inch("1/4"))


def slats(wide: str, apart: str, thick: str = "1/4") -> tuple[Placed, ...]:
    """Slats across the inside from front to back, so wide and so far apart, the first against the front."""
    step = inch(wide) + inch(apart)
    part = Part("slat", sheet_material("plywood", inch(thick)), INSIDE[1], inch(wide), inch(thick))
    count = (INSIDE[0] + inch(apart)) // step
    return tuple(Placed(part, Pose((WOOD + inch(wide) + step * n, WOOD, LOW), "+y", "-x", "+z")) for n in range(count))


def sheet(material: Any, role: Role = Role.MADE) -> tuple[Placed, ...]:
    return (Placed(Part("sheet", material, *INSIDE, inch("1/16")), Pose((WOOD, WOOD, LOW)), role),)


def riser(*parts: Placed, kind: TierKind = TierKind.ADDED, high: str = "1 3/4", **place: Any) -> Load:
    spaces = place.pop("spaces", ())
    made = Assembly("riser", "Riser", (*walls(LONG, WIDE, inch(high), NAMES), *parts), spaces=spaces)
    return Load(Place(kind=kind, name="riser", walls=NAMES, rim="riser", **place), made, (LONG, WIDE))


def table(stack: Any) -> dict[str, Any]:
    """The gaps over the top bars by name."""
    return {gap.name: gap for gap in gathered(measure_gaps(stack)) if gap.name.startswith("top bars to ")}


CLOSES: dict[str, tuple[Placed, ...]] = {
    "a panel": panel(),
    "a panel with a hole for bees": panel(hole("8", "6", "11", "9")),
    "a panel with a round hole for a jar": panel(
        Cut("jar hole", Face.SHOW, RoundOutline(inch(9), inch(7), inch(3)), inch("1/4"))
    ),
    "slats with lanes for bees between": slats("1", "3/8"),
    # rods that cover a third, 1/8 in apart: a worker passes none
    "rods that no worker passes": slats("1/16", "1/8"),
    "two halves at two heights": (
        *(p for p in panel(hole("0", "0", "9 1/8", "14 3/4"))),
        *(p for p in panel(hole("9 1/8", "0", "18 3/8", "14 3/4"), high=HIGH)),
    ),
    "mesh that no worker passes": sheet(mesh_material("1/8 in")),
}
LEAVES_OPEN: dict[str, tuple[Placed, ...]] = {
    "nothing": (),
    "a ledge all around": panel(hole("1", "1", "17 3/8", "13 3/4")),
    # the same rods, 3/16 in apart: a worker passes, and they cover a quarter
    "rods that a worker passes": slats("1/16", "3/16"),
    "mesh that a worker passes": sheet(mesh_material("1/2 in")),
    "a cake": sheet(SUGAR, Role.FILLING),
}


@pytest.mark.invariant
@pytest.mark.parametrize("name", CLOSES)
def test_what_closes_the_hive_and_is_not_named_a_ceiling_is_found(name: str, hive: Any, box: Any) -> None:
    """By itself the gap over the bars is measured past it, up to the cover; named a ceiling, up to it."""
    parts = CLOSES[name]
    names = tuple(dict.fromkeys(each.part.name for each in parts))
    stack = hive(box(), riser(*parts))
    assert looked_through(stack) == (("riser", names),)
    assert table(stack)["top bars to cover"].least == inch(2)
    assert looked_through(hive(box(), riser(*parts, floors=names))) != (), "gaps are measured past a floor as well"
    declared = hive(box(), riser(*parts, ceiling=names, ceiling_name="lid"))
    assert looked_through(declared) == ()
    assert table(declared)["top bars to lid"].least == inch("0.46")


@pytest.mark.invariant
@pytest.mark.parametrize("name", LEAVES_OPEN)
def test_what_leaves_the_hive_open_is_no_ceiling(name: str, hive: Any, box: Any) -> None:
    assert looked_through(hive(box(), riser(*LEAVES_OPEN[name]))) == ()


@pytest.mark.invariant
def test_a_pad_on_the_bars_and_a_lid_over_a_board_are_found(hive: Any, box: Any, put: Any) -> None:
    pad = Assembly("pad", "Pad", panel(name="pad", high=ZERO))
    on_bars = Load(Place(kind=TierKind.ON_BARS, name="pad"), pad, (LONG, WIDE))
    assert looked_through(hive(box(), on_bars)) == (("pad", ("pad",)),)
    over = hive(box(), put["board"](), put["strips"](box()), riser(*panel()))
    assert looked_through(over) == (("riser", ("panel",)),)
    lid = Load(Place(kind=TierKind.ADDED, name="lid", block="panel"), Assembly("lid", "Lid", panel()), (LONG, WIDE))
    assert looked_through(hive(box(), riser(), lid)) == (("lid", ("panel",)),), "though it is called its walls"


@pytest.mark.invariant
def test_a_shim_that_declares_its_ceiling_is_measured(hive: Any, box: Any) -> None:
    """Only a mesh, or a space meant to be wide, takes the place of the way over the bars."""
    stack = hive(box(), riser(*panel(), kind=TierKind.SHIM, ceiling=("panel",), ceiling_name="lid"))
    assert table(stack)["top bars to lid"].least == inch("0.46")


@pytest.mark.invariant
def test_our_own_things_close_nothing_that_is_not_measured(hive: Any, box: Any, put: Any) -> None:
    b = box()
    for loads in ((put["board"](), put["strips"](b), put["quilt"](), put["spacers"](b)), (put["quilt"](),), ()):
        for inner in ("", "3/4"):
            assert looked_through(hive(b, *loads, inner=inner)) == ()


def loads_of(name: str, b: Any, put: Any) -> tuple[Load, ...]:
    return {
        "nothing": (),
        "strips": (put["strips"](b),),
        "strips proud of the box": (put["strips"](b, "3/8"),),
        "spacers": (put["spacers"](b),),
        "riser": (riser(),),
        "riser and spacers": (riser(), put["spacers"](b)),
    }[name]


@pytest.mark.invariant
@pytest.mark.parametrize("inner", ["", "3/4"])
@pytest.mark.parametrize(
    ("name", "by"),
    [
        ("nothing", ""), ("strips", ""), ("strips proud of the box", "strips"), ("spacers", "vent spacers"),
        ("riser", "riser"), ("riser and spacers", "riser and vent spacers"),
    ],
)  # fmt: skip
def test_a_cover_is_held_up_where_the_hive_without_what_is_made_says_so(
    name: str, by: str, inner: str, hive: Any, box: Any, put: Any
) -> None:
    b = box()
    (alone,), (gap,) = (
        table(each).values() for each in (hive(b, inner=inner), hive(b, *loads_of(name, b, put), inner=inner))
    )
    assert alone.between == gap.between
    assert bool(gap.lifted_by) is (gap.least > alone.least) is gap.own
    # spacers lie on an inner cover, and its deep side goes over strips
    under = {"riser and vent spacers": "riser", "riser": "riser"}.get(by, "") if inner else by
    assert gap.lifted_by == under


@pytest.mark.invariant
def test_a_space_that_a_riser_declares_stays_wide_by_design(hive: Any, box: Any) -> None:
    over = Cuboid((WOOD, WOOD, ZERO), (LONG - WOOD, WIDE - WOOD, inch("1 3/4")))
    meant = hive(box(), riser(spaces=(Space("room for a jar", over, "a jar stands in it"),)))
    assert table(meant)["top bars to cover"].kind == "declared"
    far = Cuboid((WOOD, WOOD, inch("1 3/4")), (LONG - WOOD, WIDE - WOOD, inch(3)))
    above = hive(box(), riser(spaces=(Space("over the cover", far, "not in the way"),)))
    assert table(above)["top bars to cover"].kind == "bees' way"
