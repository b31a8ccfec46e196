"""The rim of a fondant board: four walls on the footprint of the box, tall enough for the sugar."""

from dataclasses import dataclass, replace

from woodshop.engineering.sugar import density_at_depth
from woodshop.hardware.board import BOARD_PLACE, Setting
from woodshop.hardware.registry import BoardPart, item
from woodshop.hardware.walls import four_walls, hollow_inside
from woodshop.hive.creatures import OpeningName, PartName
from woodshop.reference.facts import fact
from woodshop.reference.materials import SUGAR, board_material
from woodshop.shape.part import Assembly, Cut, Face, Fastener, Part, Placed, Pose, Rectangle, Role, Space, Spec
from woodshop.units.lengths import ZERO, Length, inch
from woodshop.units.wording import with_article


@item("fondant rim", title="Fondant board rim", on_rim=True, place=BOARD_PLACE, board_part=BoardPart.RIM)
def fondant_rim(setting: Setting) -> Assembly:
    """A rim the size of its box, by default, with the upper entrance centered in its front end.

       side
     +-----------------------------+
     | front end          back end |
    [=] upper entrance             |
     |                             |
     +-----------------------------+
       side
    """
    board, height = setting.board, setting.height
    walls = four_walls(setting, height, ("side", "front end", "back end"))
    walls[2] = replace(walls[2], part=_notched(walls[2].part, setting))
    if board.mounting == "flush rabbet":
        walls = hollow_inside(
            walls, setting.inside, board.rabbet_width, low=ZERO, high=board.rabbet_height, name="mesh rabbet"
        )
    elif board.mounting == "saw groove":
        top = board.groove_height + board.groove_width
        walls = hollow_inside(
            walls, setting.inside, board.groove_depth, low=board.groove_height, high=top, name="mesh groove"
        )
    if board.made_of == "box on hand":
        walls = [replace(wall, role=Role.EXISTING) for wall in walls]
    placed = [*walls, *_bars(setting), _sugar(setting)]
    return Assembly(
        "fondant rim",
        f"Fondant board rim for {setting.fits}",
        tuple(placed),
        spaces=(
            Space(
                "head room",
                setting.inside.over(setting.mesh_top + setting.depth, height),
                "bees cross over the sugar, and moist air leaves; expect burr comb once they build",
            ),
            *(
                Space(void.name, void.over(setting.mesh_top, height), "kept free of sugar: the way of bees and of air")
                for void in setting.voids
            ),
        ),
        fasteners=_fasteners(setting),
        steps=_box_steps(setting) if board.made_of == "box on hand" else _steps(setting),
        facts=_facts(setting),
    )


def _notched(end: Part, setting: Setting) -> Part:
    board = setting.board
    middle = end.length / 2
    low = setting.notch_rise
    outline = Rectangle(middle - board.notch_width / 2, low, middle + board.notch_width / 2, low + board.notch_height)
    return replace(end, cuts=(*end.cuts, Cut(OpeningName.UPPER_ENTRANCE, Face.SHOW, outline, end.thickness)))


def _bars(setting: Setting) -> list[Placed]:
    high = setting.depth.up_to(setting.mark)
    placed = []
    for void in setting.bars:
        part = Part(void.name, board_material(setting.wood, setting.unit), void.y1 - void.y0, high, setting.wood)
        placed.append(Placed(part, Pose((void.x0, void.y0, setting.mesh_top), "+y", "+z", "+x")))
    return placed


def _sugar(setting: Setting) -> Placed:
    inside = setting.inside
    long, wide = inside.x1 - inside.x0, inside.y1 - inside.y0
    cuts = tuple(
        Cut(
            void.name,
            Face.SHOW,
            Rectangle(void.x0 - inside.x0, void.y0 - inside.y0, void.x1 - inside.x0, void.y1 - inside.y0),
            setting.depth,
        )
        for void in (*setting.voids, *setting.bars)
    )
    part = Part(PartName.SUGAR, SUGAR, long, wide, setting.depth, cuts=cuts)
    return Placed(part, Pose((inside.x0, inside.y0, setting.mesh_top)), Role.FILLING)


def screws_per_corner(height: Length) -> int:
    """The number of screws in a corner, which is higher for a high wall (common practice, no source)."""
    return max(int(fact("rim.screws_per_corner").number), 1 + int(height / inch("1 1/2")))


_ENDS_OUTSIDE = ("butt, sides inside", "rabbet in the ends")
_BAR_SCREWS = 2  # screws through the wall into each end of a bar


def corner_fasteners(setting: Setting, height: Length) -> tuple[Fastener, ...]:
    """The screws and the glue for the four corners of walls of this height."""
    return (
        Fastener(setting.corner_screw.kind, 4 * screws_per_corner(height), "corners"),
        Fastener("exterior wood glue", 0, "corners"),
    )


@dataclass(frozen=True, slots=True)
class CornerScrews:
    """The screws of one corner: the wall that they go `through`, the wall they go `into`, and their heights."""

    through: str
    into: str
    heights: tuple[Length, ...]
    from_corner: Length


def corner_screws(setting: Setting, height: Length) -> CornerScrews:
    """The positions of the screws at a corner of walls of this height.

    They are evenly spaced, rounded down to marks of the tape, symmetric about the middle of the wall, and centered in
    the other wall.
    """
    through, into = ("end", "side") if setting.board.joint in _ENDS_OUTSIDE else ("side", "end")
    count = screws_per_corner(height)
    lower = [(height * (2 * n + 1) / (2 * count)).down_to(setting.mark) for n in range((count + 1) // 2)]
    heights = (*lower, *(height - each for each in reversed(lower[: count // 2])))
    return CornerScrews(through, into, heights, setting.wood / 2)


def screw_step(setting: Setting, height: Length) -> str:
    """The step for gluing and screwing the corners, with the number, size and pilot holes of the screws."""
    screw, corner = setting.corner_screw, corner_screws(setting, height)
    drill, outer = screw.pilot, corner.through
    pilot = "pilot holes" if drill is None else f"{setting.wording.on_drill(drill)} pilot holes"
    free = (
        f"countersunk {setting.wording.on_drill(screw.clearance)} clearance holes through the {outer} and "
        if screw.clearance is not None
        else ""
    )
    edge = setting.wording.on_tape(corner.heights[0])
    middle = setting.wording.on_tape(corner.from_corner)
    screws = f"{len(corner.heights)} screws {screw.size}"
    drive = (
        f"Use {screws} at each corner"
        if setting.board.joint == "box joint"
        else f"At each corner, drive {screws} through the {outer} into the {corner.into}"
    )
    places = (
        f"each {edge} from an edge and {middle} from the corner"
        if len(corner.heights) == 2
        else f"spaced evenly, the outer ones {edge} from the edges and {middle} from the corner"
    )
    return (
        f"Glue and screw the corners on a flat surface, show faces out, lower edges down. {drive}, {places}. First "
        f"drill {free}{pilot} into the {corner.into}, because end grain splits"
    )


def _fasteners(setting: Setting) -> tuple[Fastener, ...]:
    if setting.board.made_of == "box on hand":
        return ()
    count = _BAR_SCREWS * len(setting.bars)
    bar = (Fastener(setting.corner_screw.kind, count, "bar"),) if count else ()
    return (*corner_fasteners(setting, setting.height), *bar)


def _steps(setting: Setting) -> tuple[str, ...]:
    board = setting.board
    steps = [f"{screw_step(setting, setting.height)}.", f"{squaring_step(setting)}."]
    if board.mounting == "saw groove":
        steps.insert(0, "Slide the mesh into the grooves before the last end goes on.")
    if setting.bars:
        steps.append(
            f"Screw the bar in from the outside of the walls with {_BAR_SCREWS} screws {setting.corner_screw.size}. "
            "The bar stops at the channel."
        )
    steps.append(f"Try the rim on its box. It must sit without rocking, {setting.flush}.")
    return tuple(steps)


def _box_steps(setting: Setting) -> tuple[str, ...]:
    """The steps if an existing shallow box is used as the rim."""
    board, say = setting.board, setting.say
    return (
        f"Use a sound shallow box {say(setting.height)} high that fits on the hive boxes, and scrape it clean.",
        f"Cut the upper entrance in the middle of its front end: {say(board.notch_width)} wide, "
        f"{say(board.notch_height)} high, "
        + (f"{say(setting.notch_rise)} above the lower edge." if setting.notch_rise else "open at the lower edge."),
        "Close the hand holds if they go through.",
    )


def squaring_step(setting: Setting) -> str:
    """The step for checking, by the two diagonals, that four glued walls are square."""
    return (
        "Check for square before the glue grabs. Hook the tape over opposite corners. The two outside diagonals must "
        f"be equal within {setting.say(setting.mark)} and close to those in the table. If not, squeeze the corners of "
        "the longer one together"
    )


def _facts(setting: Setting) -> tuple[Spec, ...]:
    say = setting.say
    facts = [
        Spec("dry sugar", setting.wording.mass(setting.sugar)),
        Spec("sugar depth", setting.wording.roughly_on_tape(setting.depth)),
        Spec("height needed", setting.wording.roughly(setting.needed_height)),
        Spec("height of the rim", say(setting.height)),
        Spec(
            OpeningName.UPPER_ENTRANCE,
            f"{say(setting.notch_rise)} above the lower edge" if setting.notch_rise else "open at the lower edge",
        ),
        Spec("both diagonals", setting.wording.on_tape(setting.diagonal)),
    ]
    return (*facts, *_flip(setting))


def _flip(setting: Setting) -> tuple[Spec, ...]:
    """Figures for the sugar density at which another board width would be needed, or would be enough."""
    base = setting.mesh_top + setting.board.head_room
    if not setting.is_full_width:
        return ()
    facts = []
    room = setting.height - base
    flip = density_at_depth(setting.sugar, room, setting.sugar_area)
    facts.append(Spec("use a taller rim below", str(flip)))
    lower = [w for w in setting.widths if w < setting.height and w > base]
    if lower:
        flip = density_at_depth(setting.sugar, lower[-1] - base, setting.sugar_area)
        if flip <= fact("sugar.density.full_board").density:
            facts.append(Spec(f"{with_article(setting.say(lower[-1]))} rim is enough above", str(flip)))
    return tuple(facts)
