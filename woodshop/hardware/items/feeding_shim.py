"""The feeding shim: a plain rim on the hive that gives a cake of sugar space in midwinter."""

from collections.abc import Iterator
from typing import Annotated

from woodshop.errors import InputError, Problem
from woodshop.findings import Finding, Severity
from woodshop.hardware.board import NEXT_WIDTH, Setting
from woodshop.hardware.gauge_steps import closed_test
from woodshop.hardware.items.fondant_rim import corner_fasteners, screw_step, squaring_step
from woodshop.hardware.registry import Param, item
from woodshop.hardware.walls import four_walls
from woodshop.hive.stacking.place import Place, TierKind
from woodshop.reference.facts import fact
from woodshop.reference.materials import SUGAR
from woodshop.shape.part import Assembly, Part, Placed, Pose, Role, Space, Spec
from woodshop.units.lengths import ZERO, Length


def check_feeding_shim(setting: Setting, made: Assembly, address: str) -> Iterator[Finding]:
    """Checks the space over the cake, measured with the rim and cake in place."""
    top = min(p.box.high[2] for p in (*made.named("side"), *made.named("end")))
    room = top - max(p.box.high[2] for p in made.named("sugar cake"))
    row = fact("rim.head_room")
    least = row.length_in(setting.unit)
    if room >= least:
        return
    yield Finding(
        "cake-too-high",
        Severity.ERROR if room < ZERO else Severity.WARNING,
        address,
        f"{setting.say(room)} of space over the cake"
        if room >= ZERO
        else f"the cake reaches {setting.say(-room)} above the rim",
        f"at least {setting.say(least)} over the cake, so that bees can walk there",
        row.cite,
        f"Make the rim {setting.say(least - room)} taller, or make the cake thinner.",
    )


PLACE = Place(
    kind=TierKind.SHIM,
    name="feeding shim",
    walls=("side", "end"),
    rim="feeding shim",
    one_of="over the bars",
    without=(TierKind.ON_BARS,),
)


@item("feeding shim", title="Feeding shim", check=check_feeding_shim, on_rim=True, place=PLACE)
def feeding_shim(
    setting: Setting,
    *,
    height: Annotated[
        Length | None,
        Param(
            "height of the rim",
            None,
            "3/4",
            "6",
            source=f"the height that the cake and its head room need, then {NEXT_WIDTH}",
        ),
    ] = None,
    cake: Annotated[Length, Param("thickness of the cake", "sugar.block_thickness", "1/2", "4")],
    cake_length: Annotated[Length, Param("length of the cake", "sugar.block_length", "3", "18")],
    cake_width: Annotated[Length, Param("width of the cake", "sugar.block_width", "3", "16")],
) -> Assembly:
    """Four walls without floor or entrance. The cake lies on the top bars, over the bees.

    +--------------------+
    |   +-----------+    |  head room over it
    |   |   cake    |    |
    |===+===========+====|  top bars
    """
    box, inside, say = setting.box, setting.inside, setting.say
    if cake_length > inside.long or cake_width > inside.wide:
        given = f"a cake {say(cake_length)} x {say(cake_width)} in a rim {say(inside.long)} x {say(inside.wide)} inside"
        raise InputError(
            Problem(f"feeding shim for {box.name}", given, "a cake that fits inside", "Make smaller cakes.")
        )
    needed = cake - box.gap + setting.size("rim.head_room")
    high = height if height is not None else setting.wall_height(needed, f"a cake {say(cake)} thick on {box.name}")
    walls = four_walls(setting, high, ("side", "end", "end"))
    block = Part("sugar cake", SUGAR, cake_length, cake_width, cake)
    x, y = (box.length - cake_length) / 2, (box.width - cake_width) / 2
    lies = Placed(block, Pose((x, y, ZERO - box.gap)), Role.FILLING)
    return Assembly(
        "feeding shim",
        f"Feeding shim for {setting.fits}",
        (*walls, lies),
        spaces=(
            Space(
                "room for the cake",
                inside.over(ZERO - box.gap, high),
                "a cake of sugar lies in it in midwinter; take the rim off before bees build in spring",
            ),
        ),
        fasteners=corner_fasteners(setting, high),
        steps=(
            f"{screw_step(setting, high)}.",
            f"{squaring_step(setting)}.",
            f"Try it on its box: it must sit without rocking, {setting.flush}. Look between shim and box all around: "
            f"{closed_test(setting.unit)}.",
            "On a day without wind, set the shim on, lay the cake on paper on the top bars over the bees, and close "
            "up.",
            "Take the shim off once bees fly daily, or they will build comb in its space.",
        ),
        facts=(
            Spec("height", setting.say(high)),
            Spec("both diagonals", setting.wording.on_tape(setting.diagonal)),
            Spec(
                "a cake",
                f"{setting.say(cake_length)} x {setting.say(cake_width)} x {setting.say(cake)}; its sugar is not on "
                "the buy list",
            ),
            Spec("head room over the cake", setting.say(high + box.gap - cake)),
        ),
    )
