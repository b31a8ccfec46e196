"""The quilt box: a rim with a cloth or fine-wire bottom, filled with shavings that absorb the hive's moisture."""

from dataclasses import replace
from typing import Annotated, Literal

from woodshop.hardware.board import NEXT_WIDTH, PRACTICE, MeshName, Setting, between
from woodshop.hardware.gauge_steps import closed_bit
from woodshop.hardware.items.fondant_rim import corner_fasteners, screw_step, squaring_step
from woodshop.hardware.items.wire_bottom import sheet_side
from woodshop.hardware.registry import Param, item
from woodshop.hardware.walls import four_walls
from woodshop.hive.creatures import OpeningName
from woodshop.hive.stacking.place import Place, TierKind
from woodshop.reference.facts import fact
from woodshop.reference.materials import CLOTH, SHAVINGS, mesh, mesh_material
from woodshop.shape.part import Assembly, Cut, Face, Fastener, Part, Placed, Pose, Role, RoundOutline, Spec
from woodshop.units.lengths import ZERO, Length, inch

PLACE = Place(
    kind=TierKind.TOP_BOX,
    name="quilt box",
    walls=("side", "end"),
    rim="quilt box",
    floors=("floor cloth", "floor mesh"),
    ceiling=("floor cloth", "floor mesh"),
    ceiling_name="quilt floor",
    one_of="on the board",
)


@item("quilt box", title="Quilt box", on_rim=True, place=PLACE)
def quilt_box(
    setting: Setting,
    *,
    height: Annotated[
        Length | None,
        Param(
            "height of the box",
            None,
            "2",
            "12",
            source=f"the height that shavings, vent holes and the cover's skirt need, then {NEXT_WIDTH}",
        ),
    ] = None,
    floor: Annotated[Literal["cloth", "mesh"], Param("material that carries the shavings", source=PRACTICE)] = "cloth",
    shavings: Annotated[Length, Param("depth of the shavings", "quilt.shavings_depth", "1", "8")],
    holes: Annotated[
        Literal["none", "two", "four"], Param("vent holes: in the ends, or in all walls", source=PRACTICE)
    ] = "four",
    hole: Annotated[Length, Param("diameter of a vent hole", "quilt.hole_diameter", "1/2", "2")],
    screen: Annotated[MeshName, Param("mesh over the vent holes", "quilt.screen_mesh")],
    skirt: Annotated[
        Length, Param("depth of the cover's skirt, 0 for a flat cover", "cover.skirt_depth", *between("cover_skirt"))
    ],
) -> Assembly:
    """A box on the footprint of the rim, with screened vent holes between the shavings and the cover's skirt.

    +--------------------+  - - cover's skirt reaches down to here
    |   O            O   |  vent holes
    |~~~~~~~~~~~~~~~~~~~~|  shavings
    +====================+  cloth, stapled under
    """
    open_hole = ZERO if holes == "none" else hole
    needed, reason = shavings + skirt + open_hole, _high_for(setting, shavings, open_hole, skirt)
    high = height if height is not None else setting.wall_height(needed, *reason)
    walls = four_walls(setting, high, ("side", "end", "end"))
    low, top = shavings, high - skirt
    centre = max(((low + top) / 2).down_to(setting.mark), hole / 2)
    bored = {"none": (), "two": (2, 3), "four": (0, 1, 2, 3)}[holes]
    for n in bored:
        walls[n] = replace(walls[n], part=_bored(walls[n].part, centre, hole))
    inside = setting.inside
    filling = Part("shavings", SHAVINGS, inside.long, inside.wide, shavings)
    base = _floor(setting, floor, screen)
    placed = [
        *walls,
        base,
        *(_screen(setting, walls[n], screen, centre, hole=hole, high=high) for n in bored),
        Placed(filling, Pose((inside.x0, inside.y0, ZERO)), Role.FILLING),
    ]
    staples = _staples(setting, len(bored))
    return Assembly(
        "quilt box",
        f"Quilt box for {setting.fits}",
        tuple(placed),
        fasteners=(
            *corner_fasteners(setting, high),
            Fastener(fact("wire_bottom.staple").value_in(setting.unit), staples, f"{floor} and screens"),
        ),
        steps=_steps(setting, high, floor, shavings=shavings, hole=hole if bored else ZERO),
        facts=(
            Spec("height", setting.say(high)),
            Spec("both diagonals", setting.wording.on_tape(setting.diagonal)),
            Spec("shavings", f"{setting.say(shavings)} deep, {(inside.area * shavings).loose(setting.unit, 1)} loose"),
            *(
                (
                    Spec(
                        "vent holes",
                        f"{len(bored)} of {setting.say(hole)} dia., center {setting.say(centre)} above the lower edge",
                    ),
                )
                if bored
                else ()
            ),
        ),
    )


def _high_for(setting: Setting, shavings: Length, hole: Length, skirt: Length) -> tuple[str, str]:
    """What a quilt box needs its height for, and what would make it low enough for the widest board."""
    say = setting.say
    parts = [f"{say(shavings)} of shavings", *([f"a {say(hole)} vent hole"] if hole else [])]
    what = f"a quilt box on {setting.box.name}: {', '.join(parts)} and {say(skirt)} under the cover's skirt"
    room = max(setting.widths, default=ZERO) - hole - skirt
    if room < inch(1):  # the least that shavings may be
        return what, "use a cover with a lower skirt"
    return what, f"set shavings to {say(room.down_to(setting.mark))} or less"


def _bored(wall: Part, centre: Length, hole: Length) -> Part:
    cut = Cut(OpeningName.VENT_HOLE, Face.SHOW, RoundOutline(wall.length / 2, centre, hole), wall.thickness)
    return replace(wall, cuts=(*wall.cuts, cut))


def _floor(setting: Setting, floor: str, screen: str) -> Placed:
    outside = setting.outside
    if floor == "cloth":
        shy = setting.size("quilt.cloth_shy")
        thick = fact("quilt.cloth_thickness").length
        part = Part("floor cloth", CLOTH, outside.long - shy * 2, outside.wide - shy * 2, thick)
        return Placed(part, Pose((outside.x0 + shy, outside.y0 + shy, ZERO - thick)))
    kind, inside, landing = mesh(screen), setting.inside, setting.board.landing
    along = sheet_side(inside.long, outside.long, landing, pitch=kind.pitch, wire=kind.wire, mark=setting.mark)
    across = sheet_side(inside.wide, outside.wide, landing, pitch=kind.pitch, wire=kind.wire, mark=setting.mark)
    notes = (f"{along.cells} x {across.cells} cells, {along.cells + 1} x {across.cells + 1} wires",)
    part = Part(
        "floor mesh", mesh_material(screen, setting.unit), along.length, across.length, kind.wire * 2, notes=notes
    )
    x, y = inside.x0 - along.landing, inside.y0 - across.landing
    return Placed(part, Pose((x, y, ZERO - part.thickness)))


def _screen(setting: Setting, wall: Placed, screen: str, centre: Length, *, hole: Length, high: Length) -> Placed:
    """A square of fine mesh on the back face, in whole cells, below the upper edge; it overlaps the hole all around."""
    kind, overlap = mesh(screen), setting.size("quilt.screen_overlap")
    side = sheet_side(hole, hole * 4, overlap, pitch=kind.pitch, wire=kind.wire, mark=setting.mark)
    note = f"{side.cells} x {side.cells} cells"
    part = Part(
        "vent screen", mesh_material(screen, setting.unit), side.length, side.length, kind.wire * 2, notes=(note,)
    )
    pose, x = wall.pose, (wall.part.length - side.length) / 2
    low = min(centre - side.length / 2, high - side.length)
    along, across, through = _steps_of(pose, x, low, ZERO - part.thickness)
    origin = tuple(o + a + b + c for o, a, b, c in zip(pose.origin, along, across, through, strict=True))
    return Placed(part, Pose((origin[0], origin[1], origin[2]), pose.along, pose.across, pose.through))


def _steps_of(pose: Pose, *by: Length) -> list[list[Length]]:
    moves = []
    for word, distance in zip((pose.along, pose.across, pose.through), by, strict=True):
        move = [ZERO] * 3
        move["xyz".index(word[1])] = distance if word[0] == "+" else ZERO - distance
        moves.append(move)
    return moves


_ON_SCREEN = 4  # staples, one on each side of a vent screen


def _staples(setting: Setting, screens: int) -> int:
    spacing = setting.size("wire_bottom.staple_spacing")
    round_floor = (setting.outside.long + setting.outside.wide) * 2
    return -int(-round_floor.mm // spacing.mm) + _ON_SCREEN * screens


def _steps(setting: Setting, high: Length, floor: str, *, shavings: Length, hole: Length) -> tuple[str, ...]:
    say = setting.say
    steps = [
        f"{screw_step(setting, high)}.",
        f"{squaring_step(setting)}.",
        f"Pull the {floor} flat and staple it under the lower edge every "
        f"{say(setting.size('wire_bottom.staple_spacing'))}"
        + (
            f". Staple the screens inside over the holes, {_ON_SCREEN} staples each; nothing may stick up above the box"
            if hole
            else ""
        )
        + ". Wear eye protection.",
        f"Look between {floor} and wood from below. Add a staple wherever a {closed_bit(setting.unit)} drill bit fits, "
        "or bees will get into the shavings.",
        f"Fill loosely with dry shavings, {say(shavings)} deep. Keep them below the vent holes.",
    ]
    return tuple(steps)
