"""Four walls on a footprint, joined at the corners, for rims and quilt boxes."""

from woodshop.errors import InputError, Problem
from woodshop.hardware.board import Joint, Setting, Void
from woodshop.reference.materials import board_material, sheet_material
from woodshop.shape.part import Cuboid, Cut, Face, Part, Placed, Pose, Rectangle, carve
from woodshop.units.lengths import ZERO, Length
from woodshop.units.wording import INCHES, Wording


def wall_lengths(joint: Joint, length: Length, width: Length, wood: Length, depth: Length) -> tuple[Length, Length]:
    """The lengths of a side and of an end for the outside sizes `length` x `width`.

    In a butt joint with the ends inside, the sides have full length, and the ends fit between them (or the other way
    around). With rabbets in the ends, the ends have full length, and the sides reach into them by the `depth` of the
    rabbet (or the other way around). In a box joint, all four have full length, and their fingers interlock.
    """
    left = wood - depth
    if joint == "box joint":
        return length, width
    if joint == "butt, ends inside":
        return length, width - wood * 2
    if joint == "butt, sides inside":
        return length - wood * 2, width
    if joint == "rabbet in the ends":
        return length - left * 2, width
    return length, width - left * 2


def four_walls(setting: Setting, height: Length, names: tuple[str, str, str]) -> list[Placed]:
    """The left and right sides and the front and back ends, resting on z = 0, with their corner rabbets.

    They rest on the rim's footprint, in the box's axes. `names` are for the sides, the front end and the back end.
    Raises ValueError if a corner rabbet is as deep as the wood is thick, and InputError if the fingers of a box joint
    do not fill the height evenly.
    """
    board, wood, outside = setting.board, setting.wood, setting.outside
    length, width = outside.long, outside.wide
    joint, depth = board.joint, board.joint_depth
    if joint.startswith("rabbet") and depth >= wood:
        raise ValueError(f"a corner rabbet {depth} deep in wood {wood} thick leaves nothing")
    side_long, end_long = wall_lengths(joint, length, width, wood, depth)
    is_sheet = board.made_of == "plywood"
    material = sheet_material("plywood", wood, setting.unit) if is_sheet else board_material(wood, setting.unit)
    finger = finger_width(height, wood, board.finger, setting.wording) if joint == "box joint" else ZERO

    def wall(name: str, long: Length, rabbeted: bool, gaps_from: int = 0) -> Part:
        cuts: tuple[Cut, ...] = ()
        if finger:
            rows = range(gaps_from, int(height / finger), 2)
            ends = ((ZERO, wood), (long - wood, long))
            cuts = tuple(
                Cut("finger gap", Face.SHOW, Rectangle(low, finger * n, high, finger * (n + 1)), wood)
                for n in rows
                for low, high in ends
            )
        if rabbeted:
            cuts = (
                Cut("corner rabbet", Face.BACK, Rectangle(ZERO, ZERO, wood, height), depth),
                Cut("corner rabbet", Face.BACK, Rectangle(long - wood, ZERO, long, height), depth),
            )
        return Part(name, material, long, height, wood, cuts=cuts)

    side = wall(names[0], side_long, joint == "rabbet in the sides", gaps_from=1)
    front = wall(names[1], end_long, joint == "rabbet in the ends")
    back = wall(names[2], end_long, joint == "rabbet in the ends")
    x, y = (length - side_long) / 2, (width - end_long) / 2
    walls = [
        Placed(side, Pose((x, wood, ZERO), "+x", "+z", "-y")),
        Placed(side, Pose((length - x, width - wood, ZERO), "-x", "+z", "+y")),
        Placed(front, Pose((wood, width - y, ZERO), "-y", "+z", "-x")),
        Placed(back, Pose((length - wood, y, ZERO), "+y", "+z", "+x")),
    ]
    return [wall.moved((outside.x0, outside.y0, ZERO)) for wall in walls]


def finger_width(height: Length, wood: Length, given: Length | None, wording: Wording = INCHES) -> Length:
    """The width of the fingers of a box joint; an odd number of fingers of the same width fills the height.

    Of the widths that a tape shows (1/16 in or whole millimeters; half millimeters and tenths only if no whole one
    will do), it is the one closest to the thickness of the wood, with at least three fingers at a corner. Raises
    InputError if there is none, or if a `given` width does not fill the height evenly.
    """
    if given is not None:
        count = height / given
        if count.denominator == 1 and count >= 2:
            return given
        raise InputError(
            Problem(
                "board, finger",
                f"{wording.length(given)} in a height of {wording.length(height)}",
                "a whole number of fingers",
                "Remove finger so that it is calculated, or give a height that it divides.",
            )
        )
    widths = [height / n for n in range(3, 2 * int(height / wood) + 26, 2)]
    marked = [w for w in widths if (w.inches * 16).denominator == 1 or w.mm.denominator == 1]
    fit = [w for w in marked if w >= wood / 3]
    for parts in (2, 10) if wording.unit == "mm" else ():  # boards that are sold in inches
        fit = fit or [w for w in widths if (w.mm * parts).denominator == 1 and w >= wood / 3]
    if not fit:
        raise InputError(
            Problem(
                "board, joint",
                f"a box joint in a height of {wording.length(height)}",
                "a height made up of an odd number of fingers, each at least a third of the wood's thickness",
                "Give another height, or a finger that divides it.",
            )
        )
    return min(fit, key=lambda w: (abs(w - wood), w))


def hollow_inside(
    walls: list[Placed], inside: Void, reach: Length, *, low: Length, high: Length, name: str
) -> list[Placed]:
    """The walls with a band cut away all around the inside, `reach` deep, between the heights `low` and `high`.

    In a wall whose ends are visible, the band stops short of the ends. `name` is the name of the cut.
    """
    band = Cuboid((inside.x0 - reach, inside.y0 - reach, low), (inside.x1 + reach, inside.y1 + reach, high))
    return [carve(wall, band, name, Face.BACK) for wall in walls]
