"""The bee-space gauge: a piece of scrap with steps as thick as the limits that the checks use."""

from typing import Annotated

from woodshop.errors import InputError, Problem
from woodshop.hardware.board import PRACTICE, Setting
from woodshop.hardware.gauge_steps import gauge_steps
from woodshop.hardware.registry import Param, item
from woodshop.reference.limits import band
from woodshop.reference.materials import board_material
from woodshop.shape.part import Assembly, Cut, Face, Part, Placed, Pose, Rectangle, Spec
from woodshop.units.lengths import ZERO, Length


@item("bee-space gauge", title="Bee-space gauge", per="gauges")
def bee_space_gauge(
    setting: Setting,
    *,
    gauges: Annotated[int, Param("number of gauges", None, "1", "200", source=PRACTICE)] = 1,
    step: Annotated[Length, Param("length of a step", "gauge.step", "1/2", "3")],
    handle: Annotated[Length, Param("length of the handle", "gauge.handle", "1", "8")],
    width: Annotated[Length, Param("width of the gauge", "gauge.width", "1/2", "3")],
) -> Assembly:
    """A go / no-go piece: the thinnest step at the tip, the handle as thick as the board.

                           +------+
                      +----+      |  handle
                +-----+           |
          +-----+                 |
    +-----+  1/4  3/8   1/2       |
    |3/16                         |
    +-----------------------------+
    """
    steps, wood, say = gauge_steps(setting.unit), setting.wood, setting.say
    thickest = steps[-1][0]
    if thickest >= wood:
        raise InputError(
            Problem(
                "bee-space gauge",
                f"wood {say(wood)} thick",
                f"wood thicker than the last step, {say(thickest)}",
                "Remove the gauge, or make it in a batch with thicker wood.",
            )
        )
    cuts = tuple(
        Cut(f"step {say(thick)}", Face.SHOW, Rectangle(ZERO, ZERO, step * (n + 1), width), wood - thick)
        for n, (thick, _) in enumerate(steps)
    )
    part = Part("gauge", board_material(wood, setting.unit), step * len(steps) + handle, width, wood, cuts=cuts)
    return Assembly(
        "bee-space gauge",
        "Bee-space gauge",
        (Placed(part, Pose((ZERO, ZERO, ZERO))),),
        steps=(
            f"Cut the steps into the end of a stick {wood.number(setting.unit)} x {width.number(setting.unit)} x "
            f"{say(part.length * 2)} or longer, with a hand saw and chisel. Measure steps from the tip: "
            + ", ".join(f"{say(step * (n + 1))} long and {say(cuts[n].depth)} deep" for n in reversed(range(len(cuts))))
            + ". Last, cut the gauge off the stick. Never hold a short piece at a blade.",
            "Sand each step to its thickness. Check it with calipers or a drill bit of that size.",
            "Write the size on each step, and seal the wood.",
            "Lay a straightedge over the box, and push the tip under it onto the top bars: "
            + "; ".join(f"if {say(thick)} {means}" for thick, means in steps)
            + ".",
        ),
        facts=(
            *(Spec(f"step {say(thick)}", f"if it {means}") for thick, means in steps),
            Spec("limits after", band().cite),
        ),
    )
