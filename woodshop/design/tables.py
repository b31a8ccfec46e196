"""The tables of a design file: their keys, and the values that each key can have."""

from datetime import date
from typing import Annotated, Any, ClassVar, Literal, get_args

from pydantic import Field

from woodshop.design.schema import (
    AnyLength,
    BoxHeight,
    BoxLength,
    BoxWall,
    BoxWidth,
    Gap,
    SettingTable,
    Size,
    SomeMass,
    ValueKind,
    Words,
    design_key,
    within,
)
from woodshop.design.settings.buying import BuyingTable, WorthTable
from woodshop.design.settings.conditions import ClimateTable, TrialTable
from woodshop.design.settings.crew_table import CrewTable
from woodshop.design.settings.labels import LabelsTable, Paper
from woodshop.design.settings.saw import SawTable, ToolsTable
from woodshop.design.settings.tolerances import MoistureTable, ToleranceTable
from woodshop.reference.patterns import AMERICAN, MEASURES, patterns

NamedFile = Annotated[Words, Field(min_length=1)]
Number = Annotated[int, Field(ge=0, le=100_000)]
NAME_MOST, COUNT_MOST, PRIORITY_LAST = 60, 100_000, 9
FrameDepth = Annotated[Size, within("frame_depth")]
HEIGHTS = Literal["deep", "medium", "shallow", "brood", "super"]
Form = Literal["packed", "with mesh", "empty", "unassembled kit"]
FORMS: tuple[str, ...] = get_args(Form)


class OneBoxTable(SettingTable):
    """The [[hives.body]] table: one box of a hive."""

    height: BoxHeight | HEIGHTS = design_key(
        "Height of this box: a length, or deep, medium, shallow, brood or super.", ..., example='"super"'
    )
    pattern: Words | None = design_key(
        "Pattern of this box and its frames, if it has another one.", otherwise="that of the hives"
    )
    frames: Annotated[int, Field(ge=1, le=20)] | None = design_key(
        "Frames in this box, if it holds another number.", otherwise="as in the other boxes", example="9"
    )
    spacing: Size | None = design_key(
        "Distance from the middle of one frame to the middle of the next, if the frames are spaced apart.",
        otherwise="that of the pattern",
        example='"1 5/8"',
    )
    frame_depth: FrameDepth | None = design_key(
        "Height of its frames, from the top of the top bar to the lower edge.",
        otherwise="the deepest frame of the pattern that fits the box",
        example='"6 1/4"',
    )
    gap: Gap | None = design_key(
        "Distance from its upper edge down to its top bars, measured.",
        otherwise="that of the hives; that of the pattern, if the box has another one",
        example='"1/4"',
    )
    followers: Annotated[int, Field(ge=0, le=2)] = design_key(
        "Follower boards: one hangs at the right of the frames, two at both sides.", 0
    )
    follower: Size | None = design_key(
        "Thickness of a follower board. Needed with followers.", otherwise="no follower boards", example='"3/4"'
    )


class BoxKeys(SettingTable):
    """Keys that a group of hives and a box in orders have in common: boxes, frames, and the parts above."""

    pattern: Words = design_key(
        "Pattern of the boxes: a published one, or the name of a [[pattern]] in this file. See: woodshop patterns.",
        AMERICAN,
        choices=tuple(each.name for each in patterns()),
    )
    frames: Annotated[int, Field(ge=1, le=20)] = design_key("Frames in a box.", ..., example="10")
    measured: Words | None = design_key(
        "A measured-box file with at least three hives of this kind. It replaces the sizes here.", otherwise="none"
    )
    box: Words | None = design_key("Name of the box in the measured-box file.", otherwise="the name of these hives")
    width: BoxWidth | None = design_key(
        "Outside width of a box, across the front. Makers differ by 1/4 in: measure.",
        row="box.width_{frames}",
        national="box.national_side",
    )
    length: BoxLength | None = design_key(
        "Outside length of a box, front to back.", row="box.length", national="box.national_side"
    )
    height: BoxHeight | HEIGHTS | None = design_key(
        "Height of the box under the board: a length, or deep, medium, shallow, brood or super.",
        otherwise="deep, or brood if the pattern has brood boxes",
        example='"deep"',
        row="box.height_deep",
        national="box.national_brood_height",
    )
    wall: BoxWall | None = design_key("Thickness of the box's walls.", row="box.wall")
    rim_width: Annotated[Size, within("rim_width")] | None = design_key(
        "Outside width of rims, quilt boxes and feeding shims for these hives, across the front. One size can serve "
        "boxes that differ slightly. See: woodshop sizes.",
        otherwise="the box's",
    )
    rim_length: Annotated[Size, within("rim_length")] | None = design_key(
        "Outside length of rims, quilt boxes and feeding shims for these hives, front to back.", otherwise="the box's"
    )
    boxes: Annotated[tuple[BoxHeight | HEIGHTS, ...], Field(min_length=1, max_length=8)] | None = design_key(
        "Heights of all boxes of a hive, bottom box first. The board goes on the last.",
        otherwise="two boxes of this height, or one for a nucleus or a Dadant-Blatt",
        example='["deep", "deep"]',
    )
    frame_depth: FrameDepth | Annotated[tuple[FrameDepth, ...], Field(min_length=1, max_length=8)] | None = design_key(
        "Height of a frame, from the top of its top bar to its lower edge; or a list, one for each box, bottom box "
        "first. A single depth applies to all boxes as high as the top one.",
        otherwise="the deepest usual frame that fits the box",
        example='"9 1/8"',
    )
    body: Annotated[tuple[OneBoxTable, ...], Field(max_length=8)] = design_key(
        "One box of a hive with mixed boxes, instead of boxes. Write one for each, bottom box first.", (), vary=False
    )
    bee_space: Literal["top", "bottom"] | None = design_key(
        "Where these boxes have their bee space: top, with the top bars below the edge of the box; or bottom, with "
        "the bars level with the edge.",
        otherwise="as usual for the pattern",
    )
    inner_cover: Annotated[Size, within("inner_cover")] | None = design_key(
        "Thickness of the inner cover used in winter.", otherwise="no inner cover", example='"3/4"'
    )
    cover: Literal["telescoping", "flat"] | None = design_key(
        "Cover of these hives: telescoping or flat.", usual='"telescoping"'
    )
    cover_skirt: Annotated[Size, within("cover_skirt")] | None = design_key(
        "Depth of the cover's skirt. Quilt box and vent spacers depend on it.", row="cover.skirt_depth"
    )
    cover_clearance: Annotated[AnyLength, within("cover_clearance")] | None = design_key(
        "Clearance between the box and the inside of the cover, at each side.", row="cover.clearance"
    )
    gap: Gap | Annotated[tuple[Gap, ...], Field(min_length=1)] | None = design_key(
        "Distance from a straightedge across the box down to the top bars, measured on three hives.",
        example='["...", "...", "..."]',
        row="box.gap_over_top_bars",
        national="box.national_gap",
    )
    sugar: Annotated[SomeMass, within("sugar")] | None = design_key(
        "Dry sugar for one board of these hives.",
        otherwise="the amount under [board] for an American 10-frame box, its share by area for others",
    )


class HivesTable(BoxKeys):
    """The [[hives]] table."""

    name: Words = design_key(
        "Your name for these hives. Required with several groups.",
        "",
        otherwise="no name",
        example='"home yard"',
        vary=False,
        max_length=NAME_MOST,
    )
    customer: Words = design_key(
        "Owner of the hives, if you build for others.",
        "",
        otherwise="your own",
        example='"my own"',
        vary=False,
        max_length=NAME_MOST,
    )
    order: Words = design_key(
        "Order number of these hives, printed on quotes, labels and lists.",
        "",
        otherwise="none",
        example='"A-17"',
        vary=False,
        max_length=NAME_MOST,
    )
    apiary: Words = design_key(
        "Where these hives stand. Boards for one apiary are loaded and put on together.",
        "",
        otherwise="one place for all of a customer's hives",
        example='"home yard"',
        vary=False,
        max_length=NAME_MOST,
    )
    count: Annotated[int, Field(ge=1, le=COUNT_MOST)] = design_key("Number of hives of this kind.", ..., example="6")
    form: Form | None = design_key(
        "How far the boards are finished: packed (with sugar); with mesh (assembled, not packed); empty (the rim "
        "only, without wire bottom and strips); unassembled kit (cut but not assembled, with screws and staples in a "
        "bag). Sugar and shavings are filled in only if packed.",
        otherwise='"packed"; "with mesh" for wire bottoms without a rim made or in the shed',
        example='"packed"',
    )
    due: date | None = design_key(
        "The day promised for these hives, year first, without quotes.", otherwise="on_by", example="2026-11-15"
    )
    priority: Annotated[int, Field(ge=1, le=PRIORITY_LAST)] | None = design_key(
        "Priority if not everything can be made at once: 1 is highest, 9 is lowest.", usual="5"
    )


class BodyTable(SettingTable):
    """The [[pattern.body]] table."""

    name: HEIGHTS = design_key("Which box this is: deep, medium, shallow, brood or super.", ..., example='"brood"')
    height: BoxHeight = design_key("Height of the box, from its lower to its upper edge.", ..., example='"300 mm"')
    frame_depth: FrameDepth = design_key(
        "Height of its frames, from the top of the top bar to the lower edge.", ..., example='"285 mm"'
    )


def _measure(name: str) -> Any:
    return design_key(f"{MEASURES[name][:1].upper()}{MEASURES[name][1:]}.", otherwise="that of the pattern it is like")


class PatternTable(SettingTable):
    """The [[pattern]] table: boxes and frames as measured."""

    name: Words = design_key(
        "Your name for this pattern, used as pattern = in [[hives]].", ..., example='"my own"', min_length=1,
        max_length=NAME_MOST,
    )  # fmt: skip
    like: Words | None = design_key(
        "A published pattern that has the sizes you do not give. See: woodshop patterns.",
        otherwise="none; every size is needed",
        example='"Zander"',
        choices=tuple(each.name for each in patterns()),
    )
    bee_space: Literal["top", "bottom"] | None = design_key(
        "Where these boxes have their bee space: top or bottom.", otherwise="as the pattern it is like, or top"
    )
    inside_length: BoxLength | None = _measure("inside_length")
    inside_width: BoxWidth | None = _measure("inside_width")
    wall: BoxWall | None = _measure("wall")
    end_wall: BoxWall | None = _measure("end_wall")
    rest: Size | None = _measure("rest")
    top_bar_length: BoxLength | None = _measure("top_bar_length")
    top_bar_width: Size | None = _measure("top_bar_width")
    top_bar_thickness: Size | None = _measure("top_bar_thickness")
    lug_thickness: Size | None = _measure("lug_thickness")
    frame_length: BoxLength | None = _measure("frame_length")
    end_bar_width: Size | None = _measure("end_bar_width")
    end_bar_thickness: Size | None = _measure("end_bar_thickness")
    bottom_bar_thickness: Size | None = _measure("bottom_bar_thickness")
    spacing: Size | None = _measure("spacing")
    end_bar_below: Size | None = design_key(
        "Width of an end bar below its shoulder.", otherwise="the end bars are straight"
    )
    end_bar_shoulder: Size | None = design_key(
        "How far down from the top of a frame its end bars are wide. Needed with end_bar_below.", otherwise="none"
    )
    bottom_bar_width: Size | None = design_key("Width of a bottom bar.", otherwise="that of an end bar below")
    body: tuple[BodyTable, ...] = design_key("A kind of box: its height and its frames. Write one for each.", ())


class PatternsTable(SettingTable):
    """A file of patterns."""

    format: str = design_key("Format of this file. Always the first line.", ..., example='"woodshop-patterns/1"')
    unit: Literal["in", "mm"] = design_key("Unit of lengths without a unit of their own.", "in")
    pattern: Annotated[tuple[PatternTable, ...], Field(min_length=1)] = design_key("A pattern as measured.", ...)


class OrderBoxTable(BoxKeys):
    """The [[box]] table: a box named in orders."""

    name: Words = design_key(
        "Name used in orders.", ..., example='"mill lane tens"', min_length=1, max_length=NAME_MOST
    )


class SetTable(SettingTable):
    """The [[set]] table: items that orders call by one name."""

    name: Words = design_key(
        "Name used in orders. A board is a set already: rim, wire bottom and strips.",
        ...,
        example='"winter set"',
        min_length=1,
        max_length=NAME_MOST,
    )
    item: Annotated[tuple[Words, ...], Field(min_length=1)] = design_key(
        "The items, or board, in a list.", ..., example='["board", "quilt box"]'
    )


class ShedTable(SettingTable):
    """The [[shed]] table."""

    item: str = design_key("Item you already have.", ..., example='"quilt box"')
    hives: str = design_key("Name of the hives it is for.", ..., example='"home yard"')
    have: Number = design_key("How many you have.", ..., example="1")
    repair: Number = design_key("How many of these need it replaced.", 0)


class MakeTable(SettingTable):
    """The [[make]] table. The settings of its items are checked separately, for each item."""

    not_here: ClassVar[dict[str, str]] = dict.fromkeys(
        ("count", "number", "quantity", "units"),
        "One is made for each of its hives. For more, add spare, such as spare = 2. For fewer, split the hives in two "
        '[[hives]] with a count each, such as 4 and 15, and name one of them here: hives = "its name".',
    )

    item: Annotated[Any, ValueKind("an item, or several in a list")] = design_key(
        'Item to make, or several with the same settings in a list. "board" is rim, wire bottom and strips. See: '
        "woodshop "
        "items.",
        ...,
    )
    hives: str | tuple[str, ...] = design_key("Names of the hives to make it for, in a list.", (), otherwise="for all")
    spare: Number = design_key("How many more than the number of hives.", 0)
    wood: Size | None = design_key(
        "Actual thickness of the wood for these items, if another than that of the design. The parts of a board share "
        "one thickness.",
        otherwise="wood at the top of the file",
        row="box.wall",
    )


class CheckTable(SettingTable):
    """The [check] table."""

    bee_space: Words | None = design_key(
        "Name of a published band of bee space. See: woodshop sources bee_space.band.",
        otherwise='"most quoted", 1/4 to 3/8 in',
        example='"most quoted"',
    )


class DesignTable(SettingTable):
    """A design file.

    `board` and `make` are checked separately for each item, and `order` is checked with the orders.
    """

    format: str = design_key(
        "Format of this file. Always the first line.", ..., example='"woodshop-design/2"', vary=False
    )
    batch: str = design_key(
        "Name of this batch and its folder: letters, digits, dot, dash and underscore.",
        ...,
        example='"first-winter"',
        vary=False,
        pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,60}$",
    )
    title: Words = design_key(
        "Heading of every page.",
        "",
        otherwise="the batch's name",
        example='"Winter boards"',
        vary=False,
        max_length=100,
    )
    unit: Literal["in", "mm"] = design_key(
        "Unit of a length without one: in or mm. Any length may have its own unit.", ..., example='"in"', vary=False
    )
    lumberyard: NamedFile | Annotated[tuple[NamedFile, ...], Field(min_length=1)] = design_key(
        "The lumberyard file: what can be bought and for how much, the offcuts on hand. Several in a list.",
        ...,
        example='"creekside-lumberyard.toml"',
        vary=False,
    )
    shop: NamedFile | None = design_key(
        "A shop file whose [saw] and [tools] apply to this design too. A key set here overrides the shop file's.",
        otherwise="none, tools are set here",
        example='"..."',
        vary=False,
    )
    book: NamedFile | None = design_key(
        "The shop's book. What it has on hand takes the place of [[shed]] and of the lumberyard file's offcuts. Only "
        "orders accepted in it are planned. See: woodshop guide book.",
        otherwise="none",
        example='"..."',
        vary=False,
    )
    on_by: date | None = design_key(
        "Day by which everything is on the hives, year first, without quotes.", otherwise="no day", example="2026-11-26"
    )
    quoted_on: date | None = design_key(
        "Date of the quotes, year first, without quotes. They are valid from this day.",
        otherwise="the day the lumberyard's prices were seen",
        example="2026-09-20",
    )
    paper: Paper | None = design_key(
        "Paper of the packet: letter or a4.", otherwise="letter, or a4 in a metric design", example='"a4"'
    )
    wood: Size | None = design_key(
        "Thickness of the wood for rims and quilt boxes, as measured, not its name.",
        otherwise="3/4 in, or the thickness for sale that is nearest to it in a metric design",
        row="box.wall",
    )
    surplus: Literal["drop", "spare"] = design_key(
        "What to do if a board holds one piece more than needed: drop leaves the wood uncut; spare cuts the piece and "
        "marks it as a spare.",
        "drop",
    )
    both_units: bool = design_key(
        "Show every size in part drawings and the part table in both units, the other unit in parentheses.", False
    )
    orders: NamedFile | Annotated[tuple[NamedFile, ...], Field(min_length=1)] | None = design_key(
        "A spreadsheet of orders next to this file, .xlsx or .csv. Several in a list.",
        otherwise="none",
        example='"..."',
        vary=False,
    )
    other_columns: tuple[Words, ...] = design_key(
        "Columns of that spreadsheet to ignore.",
        (),
        otherwise="none; an unknown column is an error",
        example='["..."]',
        vary=False,
    )
    hives: tuple[HivesTable, ...] = design_key(
        "A group of hives of one kind. Write one for each kind.", (), otherwise="Required without orders."
    )
    pattern: tuple[PatternTable, ...] = design_key(
        "A pattern of boxes and frames as you measured it: one box and one frame of it, in the order of the tape.",
        (),
        vary=False,
    )
    patterns: NamedFile | Annotated[tuple[NamedFile, ...], Field(min_length=1)] | None = design_key(
        "A file of patterns as you measured them, for several designs. Several in a list.",
        otherwise="none",
        vary=False,
    )
    box: tuple[OrderBoxTable, ...] = design_key(
        "A box named in orders: its name, and the keys of [[hives]] that describe boxes and frames.", (), vary=False
    )
    set: tuple[SetTable, ...] = design_key("A set of items that orders call by one name.", (), vary=False)
    order: tuple[dict[str, Any], ...] = design_key(
        "One line of an order, as in a spreadsheet of orders.", (), vary=False
    )
    shed: tuple[ShedTable, ...] = design_key("Good hardware you already have, which is not made again.", (), vary=False)
    saw: SawTable = design_key(
        "Kerfs and limits of your saw. They belong to your shop, not to the lumberyard.", SawTable()
    )
    tools: ToolsTable = design_key(
        "Your saws, their kerfs, and the widest board each can crosscut. The cut lists name a saw for each cut.",
        ToolsTable(),
    )
    labels: LabelsTable = design_key(
        "Which labels to print, and the layout of the label sheet.", LabelsTable(), vary=False
    )
    worth: WorthTable = design_key(
        "Value to you of saved work at the saw and of offcuts, in the lumberyard's currency. Boards are then "
        "planned for the least total of money and work, which may cost more money.",
        WorthTable(),
    )
    check: CheckTable = design_key("The published bee space that the checks use.", CheckTable())
    trial: TrialTable = design_key(
        "A trial: damp sugar packed into a box of known size and weighed. It gives your density and mix.", TrialTable()
    )
    climate: ClimateTable = design_key(
        "Outside temperatures, for a page on the top of the hive: where water condenses, and how much shavings "
        "prevent it. Optional.",
        ClimateTable(),
    )
    tolerance: ToleranceTable = design_key(
        "Tolerances of sizes, plus or minus; 997 in 1,000 are within. Optional: usual values are the default, "
        "and listed.",
        ToleranceTable(),
    )
    moisture: MoistureTable = design_key(
        "Moisture of the wood, in the shop and through the year. Optional: usual values are the default, and listed.",
        MoistureTable(),
    )
    buying: BuyingTable = design_key(
        "How lumberyards are chosen, and which items may be bought ready-made.", BuyingTable()
    )
    crew: CrewTable = design_key(
        "Who works when, and with what, for the schedule; or the name of a crew file, in quotes, at the head of the "
        "file. See: woodshop guide schedule.",
        CrewTable(),
        vary=False,
    )
    board: dict[str, Any] = design_key(
        "Settings of the fondant board, shared by its rim, wire bottom, strips and blocks.", {}
    )
    make: tuple[dict[str, Any], ...] = design_key(
        "Items to make. With orders: how to make them, and items for other hives.",
        (),
        otherwise="Required without orders.",
        vary=False,
    )

    @property
    def has_orders(self) -> bool:
        """Whether the design has orders, names a file of orders, or takes them from its book. It takes them from the
        book if it has no hives of its own, or if it has boxes named in orders."""
        if self.book is not None and (not self.hives or self.box):
            return True
        return bool(self.order) or self.orders is not None
