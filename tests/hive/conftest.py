"""Hives put together from rows and from sizes written here. The makers are not used: hive knows nothing of them."""

from collections.abc import Callable
from typing import Any

import pytest

from woodshop.hardware.catalogue import find_item
from woodshop.hive.stacking.stack import Load, Stack, Woodenware, stack_up
from woodshop.hive.variation.sizes import HiveBuild
from woodshop.hive.woodenware.bottom import BottomBoard
from woodshop.hive.woodenware.box import HiveBox, TopBar, frame_for, frame_row
from woodshop.hive.woodenware.cover import Cover, InnerCover
from woodshop.reference.materials import CLOTH, SHAVINGS, SUGAR, board_material, mesh_material, sheet_material
from woodshop.reference.patterns import find_pattern
from woodshop.shape.part import Assembly, Cuboid, Cut, Face, Part, Placed, Pose, Rectangle, Role, RoundOutline, Space
from woodshop.units.lengths import ZERO, Length, inch

BAR = TopBar(inch(19), inch("1 1/16"), inch("3/4"), inch("3/8"), inch("1 3/8"))
NATIONAL_BAR = TopBar(inch(17), inch("7/8"), inch("3/8"), inch("3/8"), inch("1 3/8"))
WOOD = inch("3/4")
HEIGHTS = {"deep": "9 5/8", "medium": "6 5/8", "shallow": "5 7/8"}


def a_box(frames: int = 10, width: str = "16 1/4", gap: str = "1/4", height: str = "deep") -> HiveBox:
    high = HEIGHTS.get(height, height)
    return HiveBox(
        f"{frames}-frame {width}",
        frames,
        inch("19 7/8"),
        width=inch(width),
        height=inch(high),
        wall=WOOD,
        gap=inch(gap),
        rest=inch("3/8"),
        bar=BAR,
    )


def a_national() -> HiveBox:
    """18 1/8 square, 8 7/8 high, 14 5/8 along the frames inside, so end walls of 1 3/4; bars level with the box."""
    inner = inch("1 3/4") - WOOD
    side, rest = inch("18 1/8"), inch("1 3/16") + inch("1/16")
    return HiveBox(
        "National",
        11,
        side,
        width=side,
        height=inch("8 7/8"),
        wall=WOOD,
        gap=ZERO,
        rest=rest,
        bar=NATIONAL_BAR,
        inner=inner,
    )


def walls(length: Length, width: Length, high: Length, names: tuple[str, str, str]) -> list[Placed]:
    """Butt joint, ends inside: as a person would nail it together."""
    side = Part(names[0], board_material(inch("3/4")), length, high, WOOD)
    front, back = (Part(name, board_material(inch("3/4")), width - WOOD * 2, high, WOOD) for name in names[1:])
    return [
        Placed(side, Pose((ZERO, WOOD, ZERO), "+x", "+z", "-y")),
        Placed(side, Pose((length, width - WOOD, ZERO), "-x", "+z", "+y")),
        Placed(front, Pose((WOOD, width - WOOD, ZERO), "-y", "+z", "-x")),
        Placed(back, Pose((length - WOOD, WOOD, ZERO), "+y", "+z", "+x")),
    ]


def a_board(
    length: str = "19 7/8",
    width: str = "16 1/4",
    high: str = "2 1/2",
    mesh_low: str = "-0.082",
    notch: tuple[str, str] = ("0", "5/16"),
    sugar: str = "1 1/2",
) -> Load:
    """A rim with an upper entrance 2 in wide, 1/2 in mesh (two wires of .041) that lands 1/2 in, and sugar on it.

    `mesh_low` is its underside above the rim's lower edge; `notch` is where the entrance begins, and its height.
    """
    long, wide, tall = inch(length), inch(width), inch(high)
    placed = walls(long, wide, tall, ("side", "front end", "back end"))
    end, low, thick = placed[2].part, inch(notch[0]), inch("0.082")
    middle = end.length / 2
    opening = Rectangle(middle - inch(1), low, middle + inch(1), low + inch(notch[1]))
    cut = Cut("upper entrance", Face.SHOW, opening, WOOD)
    placed[2] = Placed(Part(end.name, end.material, end.length, tall, WOOD, cuts=(cut,)), placed[2].pose)
    lands = WOOD - inch("1/2")
    mesh = Part("mesh", mesh_material("1/2 in"), long - lands * 2, wide - lands * 2, thick)
    under = inch(mesh_low)
    heap = Part("packed sugar", SUGAR, long - WOOD * 2, wide - WOOD * 2, inch(sugar))
    top = under + thick
    placed += [
        Placed(mesh, Pose((lands, lands, under))),
        Placed(heap, Pose((WOOD, WOOD, top)), Role.FILLING),
    ]
    over = Cuboid((WOOD, WOOD, top + inch(sugar)), (long - WOOD, wide - WOOD, tall))
    return Load(
        find_item("fondant rim").place,
        Assembly(
            "fondant rim", "board", tuple(placed), spaces=(Space("head room", over, "bees cross over the sugar"),)
        ),
        (long, wide),
    )


def strips(box: HiveBox, thick: str = "1/4", places: tuple[str, ...] = ("5", "9 1/2", "14")) -> Load:
    """Strips 3/4 in wide, 1/8 in short of the walls, their front faces that far from the front of the box."""
    part = Part("strip", board_material(inch("3/4")), box.inside_width - inch("1/4"), inch("3/4"), inch(thick))
    y = box.wall + inch("1/8")
    placed = tuple(Placed(part, Pose((inch(x) + inch("3/4"), y, ZERO), "+y", "-x", "+z")) for x in places)
    return Load(find_item("spacer strips").place, Assembly("spacer strips", "strips", placed))


def a_quilt(width: str = "16 1/4", high: str = "5 1/2", hole: str = "3 1/2") -> Load:
    """A box with a cloth floor of 1/32 in under it, 2 in of shavings, and holes of 1 in, their middles `hole` up."""
    long, wide, tall = inch("19 7/8"), inch(width), inch(high)
    placed = [_bored(wall, inch(hole)) for wall in walls(long, wide, tall, ("side", "end", "end"))]
    shy, thin = inch("1/4"), inch("1/32")
    cloth = Part("floor cloth", CLOTH, long - shy * 2, wide - shy * 2, thin)
    fill = Part("shavings", SHAVINGS, long - WOOD * 2, wide - WOOD * 2, inch(2))
    placed += [
        Placed(cloth, Pose((shy, shy, ZERO - thin))),
        Placed(fill, Pose((WOOD, WOOD, ZERO)), Role.FILLING),
    ]
    return Load(find_item("quilt box").place, Assembly("quilt box", "quilt box", tuple(placed)), (long, wide))


def _bored(wall: Placed, centre: Length) -> Placed:
    part = wall.part
    cut = Cut("vent hole", Face.SHOW, RoundOutline(part.length / 2, centre, inch(1)), WOOD)
    return Placed(Part(part.name, part.material, part.length, part.width, WOOD, cuts=(cut,)), wall.pose)


def spacers(box: HiveBox, thick: str = "5/32", clearance: str = "1/4") -> Load:
    """Squares of 2 in in the corners of a cover that is wider than the box by the clearance at each side."""
    part, c = Part("vent spacer", sheet_material("fluted", inch(thick)), inch(2), inch(2), inch(thick)), inch(clearance)
    xs, ys = (ZERO - c, box.length + c - inch(2)), (ZERO - c, box.width + c - inch(2))
    placed = tuple(Placed(part, Pose((x, y, ZERO))) for x in xs for y in ys)
    return Load(
        find_item("vent spacers").place, Assembly("vent spacers", "vent spacers", placed), (box.length, box.width)
    )


def a_hive(box: HiveBox | None = None, *loads: Load, push: Any = (ZERO, ZERO), **ware: Any) -> Stack:
    """The hive of `a_build`, its cover pushed."""
    return stack_up("a hive", a_build(box, **ware).ware, loads, push)


def a_build(
    box: HiveBox | None = None,
    *loads: Load,
    boxes: tuple[HiveBox, ...] = (),
    inner: str = "",
    skirt: str = "2 1/4",
    clearance: str = "1/4",
    screened: bool = False,
    covered: bool = True,
) -> HiveBuild:
    """Two like boxes, or those given, on a bottom board with a 3/4 in entrance, under a telescoping cover."""
    top = box if box is not None else a_box()
    rows = boxes or (top, top)
    pattern = find_pattern("British National" if top.name == "National" else "Langstroth")
    ware = Woodenware(
        tuple((each, frame_for(each, frame_row(each, pattern).length, pattern)) for each in rows),
        BottomBoard(
            rows[0].length,
            rows[0].width,
            WOOD,
            entrance_height=inch("3/4"),
            entrance_width=rows[0].inside_width,
            screened=screened,
        ),
        InnerCover(top.length, top.width, inch(inner)) if inner else None,
        Cover(top.length + inch(clearance) * 2, top.width + inch(clearance) * 2, inch(skirt), WOOD)
        if covered
        else None,
    )
    return HiveBuild("a hive", ware, loads)


@pytest.fixture(scope="session")
def build() -> Callable[..., HiveBuild]:
    """A hive from boxes, loads and covers, as what it is put together of."""
    return a_build


@pytest.fixture(scope="session")
def hive() -> Callable[..., Stack]:
    """A hive from boxes, loads and covers."""
    return a_hive


@pytest.fixture(scope="session")
def box() -> Callable[..., HiveBox]:
    """A Langstroth box of that many frames, width, gap and height."""
    return a_box


@pytest.fixture(scope="session")
def put() -> dict[str, Callable[..., Any]]:
    """What can be put on a hive, by name; "national" is another box."""
    return {
        "board": a_board,
        "strips": strips,
        "quilt": a_quilt,
        "spacers": spacers,
        "national": a_national,
    }
