"""Packing blocks, which keep the entrance channel and the corner vents open while damp sugar is packed."""

from typing import Annotated

from woodshop.hardware.board import PRACTICE, Setting, Void
from woodshop.hardware.registry import BoardPart, Param, item
from woodshop.reference.materials import board_material
from woodshop.shape.part import Assembly, Part, Placed, Pose, Spec
from woodshop.units.lengths import Length


@item("packing blocks", title="Set of three packing blocks", per="people", board_part=BoardPart.BLOCKS)
def packing_blocks(
    setting: Setting,
    *,
    people: Annotated[int, Param("number of people who pack at once", None, "1", "40", source=PRACTICE)] = 1,
    grip: Annotated[Length, Param("height of the block above the rim, for pulling it out", "block.grip", "1/2", "4")],
) -> Assembly:
    """Blocks from the end of a 2x4, standing on the mesh, taller than the rim.

      ____
     |    |  grip
    =|====|=  top of the rim
     |    |
     |____|  on the mesh, covering the upper entrance
    """
    say = setting.say
    tall = (setting.height - setting.mesh_top + grip).up_to(setting.mark)
    block = Part(
        "packing block",
        board_material(setting.board.block_width),
        tall,
        setting.board.block_length,
        setting.board.block_width,
    )
    placed = tuple(_stand(block, void, setting) for void in setting.voids)
    count = len(placed) * people
    return Assembly(
        "packing blocks",
        "Packing blocks",
        placed,
        steps=(
            f"Crosscut {count} block{'s' if count > 1 else ''} from a 2x4. Mark each one, clamp the long piece, and "
            "cut with a hand saw in a miter box. Do not use a power saw, because its stop traps a piece this short.",
            "Round the edges and sand the sides, or wrap them in wax paper, so that they pull out cleanly.",
            *packing_steps(setting),
        ),
        facts=(
            Spec("blocks", f"{count}, {len(placed)} for each of {people} who pack" if people > 1 else str(count)),
            Spec("block", f"{say(setting.board.block_width)} x {say(setting.board.block_length)} x {say(tall)} tall"),
            Spec("stands above the rim", say(tall + setting.mesh_top - setting.height)),
        ),
    )


def packing_steps(setting: Setting) -> tuple[str, str]:
    """The steps for placing the blocks before the sugar is packed, and for pulling them out afterward."""
    way = "front to back" if setting.board.channel == "into the hive" else "along the front"
    return (
        f"Stand three blocks upright on the mesh, end grain down, long side {way}: one at the upper entrance, "
        "one in each rear corner. Leave them in until all the sugar is packed.",
        "Pull all three blocks straight up, without rocking them. The mesh must be bare in all three holes, for "
        "bees and air.",
    )


def _stand(block: Part, void: Void, setting: Setting) -> Placed:
    """An upright block: the grain of the 2x4 is vertical, and its wide face is along the long side of the void."""
    z = setting.mesh_top
    if void.x1 - void.x0 == block.width:
        return Placed(block, Pose((void.x0, void.y0, z), "+z", "+x", "+y"))
    return Placed(block, Pose((void.x1, void.y0, z), "+z", "+y", "-x"))
