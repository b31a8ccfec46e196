"""The bottom board, solid or screened, with its entrance: what the lowest box stands on.

Cut along the hive, a solid one and a screened one:

                +==...==+ back rail                  +==...==+
    ============+=======+ floor              ========+- - - -| screen
    landing                                           |=======| runner, with the insert on it
"""

from dataclasses import KW_ONLY, dataclass

from woodshop.errors import InputError, Problem
from woodshop.reference.facts import fact
from woodshop.reference.materials import EXISTING
from woodshop.reference.mesh import mesh
from woodshop.shape.part import Assembly, Box, Part, Placed, Pose, Role, Space
from woodshop.units.lengths import ZERO, Length


@dataclass(frozen=True, slots=True)
class BottomBoard:
    """A bottom board under a box of that outside length and width; `wall` is the thickness of its rails.

    The entrance is `entrance_height` high from the floor to the box, and `entrance_width` wide in the middle.
    """

    length: Length
    width: Length
    wall: Length
    _: KW_ONLY
    entrance_height: Length
    entrance_width: Length
    screened: bool = False


def lay_bottom(board: BottomBoard) -> Assembly:
    """The board, its rails' upper edges at z = 0, the front left corner of the box on it at x = y = 0.

    Raises InputError for an entrance wider than what lies between the rails.
    """
    clear = board.width - board.wall * 2
    if not ZERO < board.entrance_width <= clear or board.entrance_height <= ZERO:
        raise InputError(
            Problem(
                "bottom board, entrance",
                f"{board.entrance_width} wide and {board.entrance_height} high",
                f"an opening between the rails, at most {clear} wide",
                "Measure the entrance.",
            )
        )
    placed = _screened(board) if board.screened else _solid(board)
    placed += _blocks(board, clear)
    low, high = ZERO - board.entrance_height, ZERO
    under = Box((ZERO, board.wall, low), (board.length - board.wall, board.width - board.wall, high))
    why = "deep in winter, so that dead bees do not shut the entrance; bees build there once it is warm"
    return Assembly(
        "bottom board",
        "Screened bottom board" if board.screened else "Bottom board",
        tuple(Placed(part, pose, Role.EXISTING) for part, pose in placed),
        spaces=(Space("under the frames", under, why),),
    )


def _rails(board: BottomBoard, low: Length) -> list[tuple[Part, Pose]]:
    """Left, right and back rail, from `low` up to the box."""
    t, length, width, high = board.wall, board.length, board.width, ZERO - low
    side = Part("bottom side", EXISTING, length, high, t)
    back = Part("bottom back", EXISTING, width - t * 2, high, t)
    return [
        (side, Pose((ZERO, t, low), "+x", "+z", "-y")),
        (side, Pose((length, width - t, low), "-x", "+z", "+y")),
        (back, Pose((length - t, t, low), "+y", "+z", "+x")),
    ]


def _blocks(board: BottomBoard, clear: Length) -> list[tuple[Part, Pose]]:
    """What shuts the front beside an entrance that is less than the whole width."""
    wide = (clear - board.entrance_width) / 2
    if wide <= ZERO:
        return []
    t, low = board.wall, ZERO - board.entrance_height
    block = Part("entrance block", EXISTING, wide, board.entrance_height, t)
    return [
        (block, Pose((t, t + wide, low), "-y", "+z", "-x")),
        (block, Pose((t, board.width - t, low), "-y", "+z", "-x")),
    ]


def _solid(board: BottomBoard) -> list[tuple[Part, Pose]]:
    thick, landing = fact("bottom.floor").length, fact("bottom.landing").length
    low = ZERO - board.entrance_height
    floor = Part("floor", EXISTING, board.length + landing, board.width, thick)
    return [*_rails(board, low), (floor, Pose((ZERO - landing, ZERO, low - thick)))]


def _screened(board: BottomBoard) -> list[tuple[Part, Pose]]:
    """Rails that reach down past the insert; a screen between them, a landing board in front, runners below."""
    t, length, width = board.wall, board.length, board.width
    drop, runner, landing = (fact(f"bottom.{n}").length for n in ("insert_drop", "runner", "landing"))
    thick, floor = mesh("1/8 in").wire * 2, fact("bottom.floor").length
    top = ZERO - board.entrance_height
    low = top - thick - drop - runner
    screen = Part("screen", EXISTING, length - t, width - t * 2, thick)
    sill = Part("landing board", EXISTING, width, landing, floor)
    strip = Part("runner", EXISTING, length - t, runner, runner)
    return [
        *_rails(board, low),
        (screen, Pose((ZERO, t, top - thick))),
        (sill, Pose((ZERO, ZERO, top - floor), "+y", "-x", "+z")),
        (strip, Pose((ZERO, t, low))),
        (strip, Pose((ZERO, width - t - runner, low))),
    ]
