"""The limits of every setting that can be given in more than one place, defined once.

They are common practice, without a source. Each range is wider than anything built or sold, and only catches mistakes.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import isqrt
from typing import Annotated, Literal

from woodshop.engineering.sugar import recipe_water, sugar_depth
from woodshop.errors import InputError, Problem
from woodshop.hardware.registry import Param
from woodshop.hardware.screws import Screw, corner_screw
from woodshop.hive.creatures import OpeningName
from woodshop.hive.stacking.place import Place, TierKind
from woodshop.hive.woodenware.box import HiveBox
from woodshop.reference.boxes import box_height
from woodshop.reference.facts import fact
from woodshop.reference.materials import Mesh, mesh
from woodshop.shape.part import Cuboid
from woodshop.units.lengths import ZERO, Area, Density, Length, Mass, inch, millimetre
from woodshop.units.wording import LengthUnit, Wording


@dataclass(frozen=True, slots=True)
class SettingLimits:
    """The description of a setting, and its minimum and maximum as text with a unit; inches by default."""

    what: str
    least: str
    most: str


LIMITS: Mapping[str, SettingLimits] = {
    "sugar": SettingLimits("dry sugar in one board", "1 lb", "40 lb"),
    "density": SettingLimits("dry sugar in a liter of packed damp sugar", "0.4 kg/L", "1.3 kg/L"),
    "gap": SettingLimits("gap over the top bars", "0", "1"),
    "length": SettingLimits("outside length of a box", "8", "36"),
    "width": SettingLimits("outside width of a box", "2", "36"),
    "height": SettingLimits("height of a box", "2", "16"),
    "wall": SettingLimits("thickness of a box's wall", "1/4", "3"),
    "rim_length": SettingLimits("outside length of a rim", "8", "36"),
    "rim_width": SettingLimits("outside width of a rim", "2", "36"),
    "frame_depth": SettingLimits("depth of a frame", "2", "16"),
    "inner_cover": SettingLimits("thickness of the inner cover", "0", "3"),
    "cover_skirt": SettingLimits("depth of the cover's skirt", "0", "6"),
    "cover_clearance": SettingLimits("cover wider than the box, each side", "0", "1"),
}
"""The limits of settings, by their key in [[hives]]. Items that have the same setting use these limits."""


def between(key: str) -> tuple[str, str]:
    """The minimum and maximum of a setting, as arguments of `Param`."""
    return LIMITS[key].least, LIMITS[key].most


Joint = Literal["butt, ends inside", "butt, sides inside", "rabbet in the ends", "rabbet in the sides", "box joint"]
MadeOf = Literal["boards", "plywood", "box on hand"]
Passages = Literal["none", "at the openings"]
Mounting = Literal["stapled under", "flush rabbet", "saw groove"]
Channel = Literal["into the hive", "along the front"]
Share = Literal["whole bags", "by area"]
MeshName = Literal["1/2 in", "1/3 in", "1/4 in", "1/8 in"]
Gauge = Literal["20 ga", "22 ga", "24 ga", "26 ga"]  # or a thickness in millimeters
PRACTICE = "common practice, no source"
NEXT_WIDTH = "the next full width of a board; ripped to the height needed if no width is close"
"""How the height of a wall follows from the height needed, as text."""
BOARD_PLACE = Place(
    kind=TierKind.BOARD,
    name="board",
    walls=("side", "front end", "back end"),
    rim="rim",
    floors=("mesh",),
    passages=(OpeningName.UPPER_ENTRANCE,),
    one_of="over the bars",
    made_of=("fondant rim", "wire bottom"),
)
"""The place of the rim and the wire bottom, which belong together."""


@dataclass(frozen=True, kw_only=True)
class BoardSettings:
    """The settings of a fondant board. Each has a default, which is listed if it is used."""

    joint: Annotated[Joint, Param("corner joint of the rim", source=PRACTICE)] = "butt, ends inside"
    joint_depth: Annotated[
        Length, Param("depth of a corner rabbet", "rim.joint_rabbet_depth", "1/8", "5/8", only=("joint", "rabbet"))
    ]
    finger: Annotated[
        Length | None,
        Param(
            "width of a finger of a box joint",
            source="calculated: whole fingers in the height, about as wide as the wood is thick",
            least="1/4",
            most="2",
            only=("joint", "box joint"),
        ),
    ] = None
    made_of: Annotated[
        MadeOf, Param("material of the rim; a box on hand is a shallow box used as a rim", source=PRACTICE)
    ] = "boards"
    passages: Annotated[
        Passages, Param("openings cut in mesh too fine for bees, at the channel and the vents", source=PRACTICE)
    ] = "none"
    mounting: Annotated[Mounting, Param("how the mesh is held", source=PRACTICE)] = "stapled under"
    mesh: Annotated[MeshName, Param("mesh of the wire bottom, center to center of wires", "wire_bottom.mesh")]
    landing: Annotated[Length, Param("minimum width of mesh resting on wood", "wire_bottom.landing", "1/8", "3/4")]
    rabbet_height: Annotated[
        Length,
        Param(
            "height of the mesh rabbet above the lower edge",
            "wire_bottom.rabbet_height",
            "3/32",
            "1",
            only=("mounting", "flush rabbet"),
        ),
    ]
    rabbet_width: Annotated[
        Length,
        Param(
            "how far the mesh rabbet reaches into the wood",
            "wire_bottom.rabbet_width",
            "1/4",
            "5/8",
            only=("mounting", "flush rabbet"),
        ),
    ]
    groove_height: Annotated[
        Length,
        Param(
            "wood left below the mesh groove", "wire_bottom.groove_height", "1/8", "1", only=("mounting", "saw groove")
        ),
    ]
    groove_width: Annotated[
        Length,
        Param("width of the mesh groove", "wire_bottom.groove_width", "3/32", "1/4", only=("mounting", "saw groove")),
    ]
    groove_depth: Annotated[
        Length,
        Param("depth of the mesh groove", "wire_bottom.groove_depth", "1/8", "1/2", only=("mounting", "saw groove")),
    ]
    channel: Annotated[
        Channel, Param("direction of the long side of the packing block at the notch", source=PRACTICE)
    ] = "into the hive"
    block_width: Annotated[Length, Param("short side of a packing block", "block.width", "3/4", "4")]
    block_length: Annotated[Length, Param("long side of a packing block", "block.length", "3/4", "12")]
    notch_width: Annotated[Length, Param("width of the upper entrance", "rim.notch_width", "5/16", "6")]
    notch_height: Annotated[Length, Param("height of the upper entrance", "rim.notch_height", "3/16", "1")]
    notch_rise: Annotated[
        Length | None, Param("height of the upper entrance above the lower edge", source="just above the mesh")
    ] = None
    bar: Annotated[bool, Param("a stiffening bar across the hive, stopping at the channel", source=PRACTICE)] = False
    sugar: Annotated[
        Mass,
        Param("dry sugar in the board of an American 10-frame box", "sugar.per_ten_frame_board", *between("sugar")),
    ]
    other_sugar: Annotated[
        Share, Param("sugar for a box of another size: a share by area, or rounded to whole bags", source=PRACTICE)
    ] = "whole bags"
    bag: Annotated[Mass, Param("sugar in one bag", "sugar.bag", "1 lb", "100 lb")]
    bowl: Annotated[Mass, Param("most sugar mixed in one bowl", "mix.bowl_sugar", "1 lb", "100 lb")]
    density: Annotated[
        Density, Param("dry sugar in a liter of packed damp sugar", "sugar.density", *between("density"))
    ]
    head_room: Annotated[Length, Param("head room over the sugar", "rim.head_room", "0", "3")]
    height: Annotated[
        Length | None,
        Param(
            "height of the rim",
            source=f"the height that mesh, sugar and head room need, then {NEXT_WIDTH}",
            least="3/4",
            most="12",
        ),
    ] = None
    ripped: Annotated[
        bool,
        Param(
            "rip walls (of rim, quilt box and feeding shim) to the height needed, instead of using a full board width",
            source=PRACTICE,
        ),
    ] = False
    block_boards: Annotated[
        int,
        Param("boards glued together for a packing block", None, "1", "4", source=PRACTICE, only=("block_boards", "2")),
    ] = 1


@dataclass(frozen=True, slots=True)
class Void:
    """A part of the floor that is kept free of sugar, seen from above."""

    name: str
    x0: Length
    y0: Length
    x1: Length
    y1: Length

    @property
    def long(self) -> Length:
        """The length of the void, front to back."""
        return self.x1 - self.x0

    @property
    def wide(self) -> Length:
        """The width of the void, left to right."""
        return self.y1 - self.y0

    @property
    def area(self) -> Area:
        """The area of the void."""
        return self.long * self.wide

    def over(self, low: Length, high: Length) -> Cuboid:
        """The block above the void between two heights."""
        return Cuboid((self.x0, self.y0, low), (self.x1, self.y1, high))

    def shares(self, other: "Void") -> bool:
        """Whether this footprint and another one overlap."""
        return self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1


@dataclass(frozen=True)
class NoWider:
    """The reason why no board is wide enough: the available boards, what to do, and whether a lower wall would work."""

    given: str = "no boards"
    do: str = "Add a board to the lumberyard file."
    is_too_low: bool = False


@dataclass(frozen=True, kw_only=True)
class Setting:
    """The input of every item function: the box under it, the board's settings, the wood, and its available widths.

    `sugar` is the dry sugar for this box; `widths` are the full board widths from a lumberyard, in ascending order.
    `rim` is the outside length and width of items with walls (rim, quilt box, feeding shim), if different from the box.
    `wording` prints quantities in steps, facts and notes. `water` is the mass of water stirred into the sugar divided
    by the sugar's dry mass; by default the recipe's ratio. `loosest` is the lowest likely density of the sugar, if it
    was weighed. `screws` are the sizes for sale. `no_wider` is the reason why there is no wider board. Positions are in
    the box's axes: its front left corner is x = y = 0, and a rim of another size is centered on it.
    """

    box: HiveBox
    board: BoardSettings
    sugar: Mass
    wood: Length
    widths: tuple[Length, ...]
    wording: Wording
    rim: tuple[Length, Length] | None = None
    water: Fraction | None = None
    loosest: Density | None = None
    no_wider: NoWider = NoWider()
    screws: tuple[Screw, ...] = ()

    @property
    def unit(self) -> LengthUnit:
        """The unit of the design."""
        return self.wording.unit

    @property
    def mark(self) -> Length:
        """The smallest mark of the tape."""
        return self.wording.mark

    def say(self, length: Length) -> str:
        """A length as text for steps, facts and notes: unrounded."""
        return self.wording.length(length)

    def size(self, key: str) -> Length:
        """The size in this fact, for the unit of the design. Raises KeyError."""
        return fact(key).length_in(self.unit)

    @property
    def corner_screw(self) -> Screw:
        """The screw that joins a wall to the end grain of the next wall."""
        return corner_screw(self.wood, self.screws, self.unit)

    @property
    def diagonal(self) -> Length:
        """The outside diagonal of the rim, to 1/1000 mm. If both diagonals are equal, the rim is square."""
        square = self.outside.long.mm**2 + self.outside.wide.mm**2
        return Length(Fraction(isqrt(int(square * 1_000_000)), 1000))

    @cached_property
    def outside(self) -> Void:
        """The footprint of the rim: the box's footprint, or another size centered on the box."""
        long, wide = self.rim or (self.box.length, self.box.width)
        x, y = (self.box.length - long) / 2, (self.box.width - wide) / 2
        return Void("outside", x, y, x + long, y + wide)

    @cached_property
    def inside(self) -> Void:
        """The floor inside the walls of the rim."""
        t, out = self.wood, self.outside
        return Void("inside", out.x0 + t, out.y0 + t, out.x1 - t, out.y1 - t)

    @property
    def overhang(self) -> tuple[Length, Length]:
        """The overhang of the rim over the box at each end and at each side. It is negative if the rim is smaller."""
        return ZERO - self.outside.x0, ZERO - self.outside.y0

    @property
    def _is_flush(self) -> bool:
        """Whether the rim has the size of the box, as far as its sizes are rounded for the shop."""
        return (self.outside.long, self.outside.wide) in (
            (self.box.length, self.box.width),
            (self.wording.made(self.box.length), self.wording.made(self.box.width)),
        )

    @property
    def fits(self) -> str:
        """The box that items with walls fit, as text; if the items have another size, the text gives it too."""
        if self._is_flush:
            return self.box.name
        return f"{self.box.name}, made {self.outside.long.number(self.unit)} x {self.outside.wide.number(self.unit)}"

    @property
    def flush(self) -> str:
        """How to line up the edge of the rim with the box in a test fit, as text."""
        if self._is_flush:
            return "flush with the box all around"
        words = []
        for by, where in zip(self.overhang, ("end", "side"), strict=True):
            how = "flush" if not by else f"{self.say(abs(by))} {'over' if by > ZERO else 'inside'} the box's edge"
            words.append(f"{how} at each {where}")
        return "centered, " + " and ".join(words)

    @cached_property
    def mesh(self) -> Mesh:
        """The mesh of the wire bottom."""
        return mesh(self.board.mesh)

    @cached_property
    def mesh_low(self) -> Length:
        """The height of the mesh's underside above the rim's lower edge, negative for mesh stapled under it."""
        thick = self.mesh.wire * 2
        if self.board.mounting == "stapled under":
            return ZERO - thick
        if self.board.mounting == "flush rabbet":
            return self.board.rabbet_height - thick
        return self.board.groove_height

    @cached_property
    def mesh_top(self) -> Length:
        """The height of the top of the mesh, which carries the sugar, above the lower edge of the rim."""
        return self.mesh_low + self.mesh.wire * 2

    @cached_property
    def voids(self) -> tuple[Void, ...]:
        """The channel and the two rear corner vents, from the real footprints of their blocks."""
        b, inside = self.board, self.inside
        deep, wide = b.block_length, b.block_width
        if b.channel == "along the front":
            deep, wide = wide, deep
        middle = self.box.width / 2
        back = inside.x1 - deep
        return (
            Void("entrance channel", inside.x0, middle - wide / 2, inside.x0 + deep, middle + wide / 2),
            Void("left corner vent", back, inside.y0, inside.x1, inside.y0 + wide),
            Void("right corner vent", back, inside.y1 - wide, inside.x1, inside.y1),
        )

    @cached_property
    def bars(self) -> tuple[Void, ...]:
        """The stiffening bar in the middle, if requested: in one piece, or in two pieces that stop at the channel."""
        if not self.board.bar:
            return ()
        middle, channel = self.box.length / 2, self.voids[0]
        bar = Void("bar", middle - self.wood / 2, self.inside.y0, middle + self.wood / 2, self.inside.y1)
        if not bar.shares(channel):
            return (bar,)
        return (
            Void("half bar", bar.x0, bar.y0, bar.x1, channel.y0),
            Void("half bar", bar.x0, channel.y1, bar.x1, bar.y1),
        )

    @cached_property
    def sugar_area(self) -> Area:
        """The floor area that sugar covers: the inside minus the voids and the bar."""
        area = self.inside.area
        for void in (*self.voids, *self.bars):
            area = area - void.area
        return area

    @property
    def damp(self) -> Mass:
        """The weight of the packed sugar while fresh: the dry sugar and its water."""
        return self.sugar * (1 + (recipe_water() if self.water is None else self.water))

    @cached_property
    def depth(self) -> Length:
        """The depth of the packed sugar."""
        return sugar_depth(self.sugar, self.board.density, self.sugar_area)

    @cached_property
    def needed_height(self) -> Length:
        """The total height of mesh, sugar and head room. Weighed sugar counts at its lowest likely density."""
        deepest = self.depth if self.loosest is None else sugar_depth(self.sugar, self.loosest, self.sugar_area)
        return self.mesh_top + deepest + self.board.head_room

    @cached_property
    def least_density(self) -> Density | None:
        """The density of dry sugar below which it reaches into the head room; None if no density leaves that room."""
        room = self.height - self.mesh_top - self.board.head_room
        return Density(self.board.density.kg_per_litre * (self.depth / room)) if room > ZERO else None

    @cached_property
    def height(self) -> Length:
        """The height of the rim: the given height, or the needed height rounded up to a width of the stock."""
        if self.board.height is not None:
            return self.board.height
        if self.board.made_of == "box on hand":
            return box_height("shallow")
        return self.wall_height(
            self.needed_height, f"a rim for {self.sugar} on a {self.box.name} box", "pack less sugar"
        )

    @property
    def is_height_chosen(self) -> bool:
        """Whether the height of the rim follows from the widths of boards, because no setting decides it."""
        return self.board.height is None and not self.board.ripped and self.board.made_of == "boards"

    @property
    def is_full_width(self) -> bool:
        """Whether the height of the rim was chosen, and is the full width of a board."""
        return self.is_height_chosen and self.height in self.widths

    def wall_height(self, needed: Length, what: str, less: str = "") -> Length:
        """A wall height that the stock allows.

        For boards it is the next full board width, unless that is far more than the needed height. Then, and for a
        sheet or with `ripped`, it is the needed height, rounded up to a mark. `less` says how a lower wall would do.
        """
        step = millimetre(1) if self.unit == "mm" else _SHEET_STEP
        if self.board.ripped:
            return needed.up_to(self.mark)
        if self.board.made_of == "plywood":
            return needed.up_to(step)
        width = next_width(needed, self.widths, what, self.no_wider, step, less)
        return needed.up_to(self.mark) if width - needed > self.size("wall.wider_than_needed") else width

    @cached_property
    def notch_rise(self) -> Length:
        """The height of the upper entrance above the rim's lower edge. By default, it is just above the mesh."""
        if self.board.notch_rise is not None:
            return self.board.notch_rise
        if self.board.mounting == "saw groove":
            return (self.board.groove_height + self.board.groove_width + inch("1/8")).up_to(self.mark)
        return max(self.mesh_top, ZERO).up_to(self.mark)


_SHEET_STEP = inch("1/16")


def next_width(
    needed: Length,
    widths: tuple[Length, ...],
    what: str,
    why: NoWider = NoWider(),
    step: Length = _SHEET_STEP,
    less: str = "",
) -> Length:
    """The smallest of the board `widths` that is enough. Raises InputError with the reason if there is none.

    `what` names the part in it, and `step` is what the needed width is rounded up to. `less` says how a lower part
    would do.
    """
    for width in widths:
        if width >= needed:
            return width
    do = f"{why.do} Or {less}." if why.is_too_low and less else why.do
    wanted = f"a board at least {needed.up_to(step)} wide for {what}"
    raise InputError(Problem("lumberyard file, boards and offcuts", why.given, wanted, do))
