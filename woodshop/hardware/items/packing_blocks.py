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
    """Blocks standing on the mesh, taller than the rim, from the end of a 2x4 or of two boards glued together.

      ____
     |    |  grip
    =|====|=  top of the rim
     |    |
     |____|  on the mesh, covering the upper entrance
    """
    say, layers = setting.say, setting.board.block_boards
    tall = (setting.height - setting.mesh_top + grip).up_to(setting.mark)
    block = Part(
        "packing block",
        board_material(setting.board.block_width / layers, setting.unit),
        tall,
        setting.board.block_length,
        setting.board.block_width / layers,
    )
    placed = tuple(_stand(block, void, setting, n) for void in setting.voids for n in range(layers))
    blocks = len(setting.voids)
    count = blocks * people
    pieces = f"{count} block{'s' if count > 1 else ''}"
    glued: tuple[str, ...] = ()
    if layers > 1:
        pieces = f"{count * layers} pieces"
        glued = (f"Glue {layers} pieces face to face for each block, grain the same way, and let the glue dry.",)
    return Assembly(
        "packing blocks",
        "Packing blocks",
        placed,
        steps=(
            f"Crosscut {pieces} from {any_board_for(block, setting)}. Mark each one, clamp the long piece, and cut "
            "with a hand saw in a miter box. If too little is left to clamp for the last one, cut it from a longer "
            "scrap, or clamp the block itself. Do not use a power saw, because its stop traps a piece this short.",
            *glued,
            "Round the edges and sand the sides, or wrap them in wax paper, so that they pull out cleanly.",
            *packing_steps(setting),
        ),
        facts=(
            Spec("blocks", f"{count}, {blocks} for each of {people} who pack" if people > 1 else str(count)),
            Spec("block", f"{say(setting.board.block_width)} x {say(setting.board.block_length)} x {say(tall)} tall"),
            Spec("stands above the rim", say(tall + setting.mesh_top - setting.height)),
        ),
    )


def any_board_for(block: Part, setting: Setting) -> str:
    """What blocks are cut from, as long as no board is planned: "a 2x4"."""
    return "a 2x4" if setting.unit == "in" else f"a board {setting.say(block.thickness)} thick"


def packing_steps(setting: Setting) -> tuple[str, str]:
    """The steps for placing the blocks before the sugar is packed, and for pulling them out afterward."""
    way = "front to back" if setting.board.channel == "into the hive" else "along the front"
    return (
        f"Stand three blocks upright on the mesh, end grain down, long side {way}: one at the upper entrance, "
        "one in each rear corner. Leave them in until all the sugar is packed.",
        "Pull all three blocks straight up, without rocking them. The mesh must be bare in all three holes, for "
        "bees and air.",
    )


def _stand(block: Part, void: Void, setting: Setting, layer: int) -> Placed:
    """An upright board of a block: its grain is vertical, and its wide face is along the long side of the void."""
    z, by = setting.mesh_top, block.thickness * layer
    if void.x1 - void.x0 == block.width:
        return Placed(block, Pose((void.x0, void.y0 + by, z), "+z", "+x", "+y"))
    return Placed(block, Pose((void.x1 - by, void.y0, z), "+z", "+y", "-x"))
