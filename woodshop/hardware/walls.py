"""Four walls on a box's footprint, joined at the corners: what rims and quilt boxes are made of."""

from woodshop.hardware.board import Board, Joint, Void
from woodshop.shape.part import Box, Cut, Face, Part, Placed, Pose, Rectangle, carve
from woodshop.units import ZERO, Length


def wall_lengths(joint: Joint, length: Length, width: Length, wood: Length, depth: Length) -> tuple[Length, Length]:
    """Lengths of a side and of an end, for outside sizes `length` x `width`.

    Butt, ends inside: sides run full, ends stop at them; and the other way round.
    Rabbet in the ends: ends run full, sides reach into them by the depth of the rabbet; and the other way round.
    """
    left = wood - depth
    if joint == "butt, ends inside":
        return length, width - wood * 2
    if joint == "butt, sides inside":
        return length - wood * 2, width
    if joint == "rabbet in the ends":
        return length - left * 2, width
    return length, width - left * 2


def four_walls(
    board: Board, length: Length, width: Length, height: Length, wood: Length, names: tuple[str, str, str]
) -> list[Placed]:
    """Left and right side, front and back end, standing on z = 0, with their corner rabbets.

    `names` are for the sides, the front and the back end.
    Raises ValueError when a corner rabbet is as deep as the wood is thick.
    """
    joint, depth = board.joint, board.joint_depth
    if joint.startswith("rabbet") and depth >= wood:
        raise ValueError(f"a corner rabbet {depth} deep in wood {wood} thick leaves nothing")
    side_long, end_long = wall_lengths(joint, length, width, wood, depth)
    material = f"board {wood}"

    def wall(name: str, long: Length, rabbeted: bool) -> Part:
        cuts: tuple[Cut, ...] = ()
        if rabbeted:
            cuts = (
                Cut("corner rabbet", Face.BACK, Rectangle(ZERO, ZERO, wood, height), depth),
                Cut("corner rabbet", Face.BACK, Rectangle(long - wood, ZERO, long, height), depth),
            )
        return Part(name, material, long, height, wood, cuts)

    side = wall(names[0], side_long, joint == "rabbet in the sides")
    front = wall(names[1], end_long, joint == "rabbet in the ends")
    back = wall(names[2], end_long, joint == "rabbet in the ends")
    x, y = (length - side_long) / 2, (width - end_long) / 2
    return [
        Placed(side, Pose((x, wood, ZERO), "+x", "+z", "-y")),
        Placed(side, Pose((length - x, width - wood, ZERO), "-x", "+z", "+y")),
        Placed(front, Pose((wood, width - y, ZERO), "-y", "+z", "-x")),
        Placed(back, Pose((length - wood, y, ZERO), "+y", "+z", "+x")),
    ]


def hollow_inside(
    walls: list[Placed], inside: Void, reach: Length, low: Length, high: Length, name: str
) -> list[Placed]:
    """The walls less a band that runs round the inside, `reach` deep into the wood, between two heights.

    In a wall whose ends show, the band is stopped short of the ends.
    """
    band = Box((inside.x0 - reach, inside.y0 - reach, low), (inside.x1 + reach, inside.y1 + reach, high))
    return [carve(wall, band, name, Face.BACK) for wall in walls]
