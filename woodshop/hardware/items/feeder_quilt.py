"""A feeder used as a quilt: the beekeeper's empty top feeder, with shavings in its wells. No part is made."""

from collections.abc import Iterator
from typing import Annotated

from woodshop.errors import InputError, Problem
from woodshop.findings import Finding, Severity
from woodshop.hardware.board import Setting
from woodshop.hardware.registry import Param, item
from woodshop.hive.stacking.place import Place, TierKind, Varying, Work
from woodshop.reference.facts import fact
from woodshop.reference.materials import EXISTING, SHAVINGS, mesh
from woodshop.shape.part import Assembly, Cut, Face, Part, Placed, Pose, Rectangle, Role, Spec
from woodshop.units.lengths import ZERO, Length

_TAKEN = "default, not measured"


def check_feeder_quilt(setting: Setting, made: Assembly, address: str) -> Iterator[Finding]:
    """Checks that the wells were measured, and explains what a solid floor means."""
    yield from [
        Finding(
            "feeder-floor-is-solid",
            Severity.NOTE,
            address,
            "the wells have solid floors, so damp air reaches the shavings only over their rims",
            "a floor that breathes, in damp places",
            "common practice, no source",
            "Wet shavings do not insulate. Check the shavings at midwinter. A quilt box with a cloth floor absorbs "
            "more.",
        )
    ]
    if any(_TAKEN in each.value for each in made.facts):
        row = fact("feeder.well_depth")
        yield Finding(
            "wells-not-measured",
            Severity.WARNING,
            address,
            "the feeder's wells were not measured, so the amount of shavings is based on a typical feeder",
            "length, width and depth of a well",
            row.cite,
            "You may buy too little. Measure one feeder and set well_length, well_width and well_depth.",
        )


PLACE = Place(
    kind=TierKind.FEEDER,
    name="feeder",
    block="top feeder",
    ceiling=("top feeder",),
    ceiling_name="feeder",
    one_of="on the board",
    varying=(Varying("height of the feeder", "top feeder", 2, work=Work.BOX, made=False, along=("shavings",)),),
)


@item("feeder quilt", title="Top feeder as a quilt", check=check_feeder_quilt, place=PLACE)
def feeder_quilt(
    setting: Setting,
    *,
    wells: Annotated[int, Param("wells, one behind the other", "feeder.wells", "1", "4")],
    well_length: Annotated[
        Length | None, Param("length of a well, front to back", None, "2", "24", source="shared evenly over the inside")
    ] = None,
    well_width: Annotated[
        Length | None, Param("width of a well", None, "2", "24", source="the inside of the box")
    ] = None,
    well_depth: Annotated[
        Length | None, Param("depth of a well", None, "1/2", "8", source="a typical feeder, not measured")
    ] = None,
    passage: Annotated[Length, Param("bees' passage between two wells", "feeder.passage", "1/4", "4")],
) -> Assembly:
    """The wells of a top feeder, filled to the top with dry shavings.

    +-----------------------+
    |~~~~~~~~~| || |~~~~~~~~|   ~~ shavings in the wells
    |~~~~~~~~~| || |~~~~~~~~|   || the bees' passage, kept clear
    +-----------------------+
    """
    box, wall = setting.box, setting.wood
    measured = None not in (well_length, well_width, well_depth)
    run = box.length - wall * 2
    long = well_length if well_length is not None else (run - passage * (wells - 1)) / wells
    wide = well_width if well_width is not None else box.width - wall * 2
    deep = well_depth if well_depth is not None else setting.size("feeder.well_depth")
    whole = long * wells + passage * (wells - 1)
    if whole >= box.length or wide >= box.width or long <= ZERO:
        raise InputError(
            Problem(
                f"feeder quilt for {box.name}",
                f"{wells} wells of {setting.say(long)} x {setting.say(wide)}, {setting.say(passage)} apart",
                f"wells that fit within {setting.say(box.length)} x {setting.say(box.width)}",
                "Measure the wells of one feeder again.",
            )
        )
    floor = setting.size("feeder.floor")
    y = (box.width - wide) / 2
    starts = [(box.length - whole) / 2 + (long + passage) * n for n in range(wells)]
    wells_cut = [Cut("well", Face.SHOW, Rectangle(x, y, x + long, y + wide), deep) for x in starts]
    gaps = [
        Cut("bees' passage", Face.SHOW, Rectangle(x + long, y, x + long + passage, y + wide), deep + floor)
        for x in starts[:-1]
    ]
    feeder = Part("top feeder", EXISTING, box.length, box.width, deep + floor, cuts=(*wells_cut, *gaps))
    filling = Part("shavings", SHAVINGS, long, wide, deep)
    well = long * wide * deep
    return Assembly(
        "feeder quilt",
        f"Top feeder as a quilt for {box.name}",
        (
            Placed(feeder, Pose((ZERO, ZERO, ZERO)), Role.EXISTING),
            *(Placed(filling, Pose((x, y, floor)), Role.FILLING) for x in starts),
        ),
        steps=(
            "Wash out the feeder and let it dry. Leave nothing sweet in it.",
            "Close the opening from the bees' passage into the wells with a strip of "
            f"{mesh('1/8 in').sold(setting.unit)} mesh. Wear gloves for the mesh.",
            f"Fill the {wells} well{'s' if wells > 1 else ''} with dry shavings, loose, {setting.say(deep)} deep.",
            "Keep the bees' passage clear, and prop the cover so that damp air can leave.",
        ),
        facts=(
            Spec(
                "wells",
                f"{wells} of {setting.say(long)} x {setting.say(wide)} x {setting.say(deep)} deep"
                + ("" if measured else f", {_TAKEN}"),
            ),
            Spec("shavings", f"{(well * wells).loose(setting.unit, 1)} loose, {well.loose(setting.unit, 1)} in a well"),
        ),
    )
