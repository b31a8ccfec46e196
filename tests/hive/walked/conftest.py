"""Boards with channel and corner vents, feeders, guards and cakes, to be walked through. The makers are not used."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from woodshop.hardware.catalogue import find_item
from woodshop.hive.stacking.stack import Load
from woodshop.reference.materials import EXISTING, SUGAR, mesh_material, sheet_material
from woodshop.shape.part import Assembly, Cut, Face, Part, Placed, Pose, Rectangle, Role, RoundOutline, Space
from woodshop.units.lengths import ZERO, Length, inch

LONG, WIDE = inch("3 1/2"), inch("1 1/2")
Plan = tuple[str, Length, Length, Length, Length]


def plan(long: Length, wide: Length) -> tuple[Plan, ...]:
    """Channel from the middle of the front, and two vents in the rear corners, each 1 1/2 x 3 1/2."""
    middle = wide / 2
    return (
        ("entrance channel", ZERO, middle - WIDE / 2, LONG, middle + WIDE / 2),
        ("left corner vent", long - LONG, ZERO, long, WIDE),
        ("right corner vent", long - LONG, wide - WIDE, long, wide),
    )


def packed(load: Load, *kept: str, passages: bool = False, mesh: str = "1/2 in") -> Load:
    """A board with the voids in its sugar (those kept, or all), its mesh of that pitch, cut open in them or not."""
    placed, spaces = [], list(load.assembly.spaces)
    for each in load.assembly.placed:
        part = each.part
        if part.name == "packed sugar":
            voids = [v for v in plan(part.length, part.width) if not kept or v[0] in kept]
            cuts = tuple(Cut(n, Face.SHOW, Rectangle(a, b, c, d), part.thickness) for n, a, b, c, d in voids)
            each = replace(each, part=replace(part, cuts=cuts))
            spaces += [Space(name, hollow, "kept free") for (name, *_), hollow in zip(voids, each.hollows, strict=True)]
        if part.name == "mesh":
            lands = inch("1/4")  # of the mesh on each wall
            voids = list(plan(part.length - lands * 2, part.width - lands * 2))
            cuts = tuple(
                Cut("bee passage", Face.SHOW, Rectangle(a + lands * 2, b + lands * 2, c, d), part.thickness)
                for _, a, b, c, d in voids
            )
            each = replace(each, part=replace(part, material=mesh_material(mesh), cuts=cuts if passages else ()))
        placed.append(each)
    return replace(load, assembly=replace(load.assembly, placed=tuple(placed), spaces=tuple(spaces)))


def feeder(box: Any, passage: str = "1", deep: str = "2") -> Load:
    """Two wells of 8 in, a passage between their walls of 1/4 in, cut right through; a floor of 1/4 in."""
    long, wide, deep_, floor = box.length, box.width, inch(deep), inch("1/4")
    gap, y = inch(passage), inch(1)
    a, b = long / 2 - gap / 2, long / 2 + gap / 2
    cuts = [
        Cut("well", Face.SHOW, Rectangle(x, y, x + inch(8), wide - y), deep_)
        for x in (a - inch("8 1/4"), b + inch("1/4"))
    ]
    if gap:
        cuts.append(Cut("bees' passage", Face.SHOW, Rectangle(a, y, b, wide - y), deep_ + floor))
    part = Part("top feeder", EXISTING, long, wide, deep_ + floor, cuts=tuple(cuts))
    return Load(
        find_item("feeder quilt").place,
        Assembly("feeder quilt", "feeder", (Placed(part, Pose((ZERO,) * 3), Role.EXISTING),)),
    )


def guard(box: Any, bore: str = "9 mm", holes: int = 8, mesh: str = "") -> Load:
    """A strip 2 1/4 in high before the entrance, of steel with one row of holes 3/8 in up, or of mesh; no foot."""
    long, thick = box.inside_width + inch(1), inch("1/32")
    cuts = []
    for n in range(holes):
        u = inch(2) + inch(n) if not mesh else ZERO
        if not mesh:
            cuts.append(Cut("bee hole", Face.SHOW, RoundOutline(u, inch("3/8"), _length(bore)), thick))
    part = Part(
        "guard blank",
        mesh_material(mesh) if mesh else sheet_material("steel", "26 ga"),
        long,
        inch("2 1/4"),
        thick,
        cuts=tuple(cuts),
    )
    y = box.width / 2 + long / 2
    return Load(
        find_item("mouse guard").place,
        Assembly("mouse guard", "guard", (Placed(part, Pose((ZERO, y, ZERO), "-y", "+z", "-x")),)),
    )


def _length(text: str) -> Length:
    from woodshop.units.lengths import read_length

    return read_length(text)


def feeding_shim(box: Any, walls: Callable[..., list[Placed]]) -> Load:
    """A rim 2 in high, and a cake 11 x 7 x 1 in that lies on the bars, 1/4 in below the rim."""
    placed = walls(box.length, box.width, inch(2), ("side", "end", "end"))
    cake = Part("sugar cake", SUGAR, inch(11), inch(7), inch(1))
    x, y = (box.length - inch(11)) / 2, (box.width - inch(7)) / 2
    placed.append(Placed(cake, Pose((x, y, ZERO - box.gap)), Role.FILLING))
    return Load(find_item("feeding shim").place, Assembly("feeding shim", "feeding shim", tuple(placed)))


@pytest.fixture(scope="session")
def make(put: dict[str, Callable[..., Any]]) -> dict[str, Callable[..., Any]]:
    """What can be put on a hive, more than its neighbours have."""
    return {**put, "packed": packed, "feeder": feeder, "guard": guard, "feeding shim": feeding_shim}
