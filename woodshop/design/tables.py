"""The tables of a design file as they are read: their keys, and what each may hold."""

from datetime import date
from typing import Annotated, Any, Literal, get_args

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
from woodshop.design.settings.labels import LabelsTable, Paper
from woodshop.design.settings.saw import SawTable, ToolsTable
from woodshop.design.settings.tolerances import MoistureTable, ToleranceTable

NamedFile = Annotated[Words, Field(min_length=1)]
Number = Annotated[int, Field(ge=0, le=100_000)]
NAME_MOST, COUNT_MOST, PRIORITY_LAST = 60, 100_000, 9
FrameDepth = Annotated[Size, within("frame_depth")]
HEIGHTS = Literal["deep", "medium", "shallow"]
Form = Literal["packed", "with mesh", "empty", "unassembled kit"]
FORMS: tuple[str, ...] = get_args(Form)


class BoxKeys(SettingTable):
    """What a group of hives and a box that orders name say alike: the boxes, their frames, and what lies above."""

    pattern: Literal["Langstroth", "British National"] = design_key(
        "Pattern of the boxes: Langstroth or British National.", "Langstroth"
    )
    frames: Annotated[int, Field(ge=1, le=20)] = design_key("Frames in a box.", ..., example="10")
    measured: Words | None = design_key(
        "A measured file, with three hives of this kind or more, in place of sizes here.", otherwise="none"
    )
    box: Words | None = design_key(
        "Which box of the measured file it is.", otherwise="the one named as these hives are"
    )
    width: BoxWidth | None = design_key(
        "Outside of a box, across the front. Makers differ by 1/4 in: measure.",
        row="box.width_{frames}",
        national="box.national_side",
    )
    length: BoxLength | None = design_key(
        "Outside of a box, front to back.", row="box.length", national="box.national_side"
    )
    height: BoxHeight | HEIGHTS | None = design_key(
        "Height of the box under the board: deep, medium, shallow, or a length.",
        usual='"deep"',
        row="box.height_deep",
        national="box.national_brood_height",
    )
    wall: BoxWall | None = design_key("Thickness of the box's walls.", row="box.wall")
    rim_width: Annotated[Size, within("rim_width")] | None = design_key(
        "Outside of rims, quilt boxes and feeding shims for these hives, across the front; so that one size serves "
        "boxes that differ. See: woodshop sizes.",
        otherwise="the box's",
    )
    rim_length: Annotated[Size, within("rim_length")] | None = design_key(
        "Outside of rims, quilt boxes and feeding shims for these hives, front to back.", otherwise="the box's"
    )
    boxes: Annotated[tuple[BoxHeight | HEIGHTS, ...], Field(min_length=1, max_length=8)] | None = design_key(
        "Heights of all boxes of a hive, from the ground up; the board stands on the last.",
        otherwise="two of the one height, or one of a nucleus",
        example='["deep", "deep"]',
    )
    frame_depth: FrameDepth | Annotated[tuple[FrameDepth, ...], Field(min_length=1, max_length=8)] | None = design_key(
        "A frame from the top of its top bar down to its lower edge, measured; or a list, one for each box from "
        "the ground up. One depth is that of all boxes as high as the top one.",
        otherwise="the deepest of the table that hangs in the box",
        example='"9 1/8"',
    )
    bee_space: Literal["top", "bottom"] | None = design_key(
        "Where the bee space of these boxes is: top, with the top bars below the edge of the box, or bottom, "
        "with the bars level with it.",
        otherwise="as the pattern has it",
    )
    inner_cover: Annotated[Size, within("inner_cover")] | None = design_key(
        "Thickness of the inner cover that lies under the cover in winter.", otherwise="none is used", example='"3/4"'
    )
    cover: Literal["telescoping", "flat"] | None = design_key(
        "Which cover these hives have: telescoping or flat.", usual='"telescoping"'
    )
    cover_skirt: Annotated[Size, within("cover_skirt")] | None = design_key(
        "Depth of the cover's skirt; quilt box and vent spacers go by it.", row="cover.skirt_depth"
    )
    cover_clearance: Annotated[AnyLength, within("cover_clearance")] | None = design_key(
        "How much wider than the box the cover is inside, at each side.", row="cover.clearance"
    )
    gap: Gap | Annotated[tuple[Gap, ...], Field(min_length=1)] | None = design_key(
        "Lay a straightedge across a box and measure down to the top bars, on three hives.",
        otherwise="the table's value is taken, and the check says so",
        example='["...", "...", "..."]',
        row="box.gap_over_top_bars",
        national="box.national_gap",
    )
    sugar: Annotated[SomeMass, within("sugar")] | None = design_key(
        "Dry sugar for one board of these hives.",
        otherwise="a 10-frame board gets what stands under [board], another its share",
    )


class HivesTable(BoxKeys):
    """[[hives]]"""

    name: Words = design_key(
        "What you call these hives. With several groups each needs one.",
        "",
        otherwise="no name",
        example='"home yard"',
        vary=False,
        max_length=NAME_MOST,
    )
    customer: Words = design_key(
        "Whose hives they are, where you build for others.",
        "",
        otherwise="your own",
        example='"my own"',
        vary=False,
        max_length=NAME_MOST,
    )
    order: Words = design_key(
        "The number of the order that these hives are for; quotes, labels and lists print it.",
        "",
        otherwise="none",
        example='"A-17"',
        vary=False,
        max_length=NAME_MOST,
    )
    count: Annotated[int, Field(ge=1, le=COUNT_MOST)] = design_key(
        "How many hives there are of this kind.", ..., example="6"
    )
    form: Form | None = design_key(
        "How far the boards are made: packed with sugar; with mesh, put together, not packed; empty, the rim "
        "alone, without wire bottom and strips; unassembled kit, cut and not put together, its screws and staples in a "
        "bag. Only what is packed is filled here: sugar in boards, shavings in quilts.",
        otherwise='"packed"; "with mesh" for wire bottoms without a rim made or in the shed',
        example='"packed"',
    )
    due: date | None = design_key(
        "The day promised for these hives, year first, without quotes.", otherwise="on_by", example="2026-11-15"
    )
    priority: Annotated[int, Field(ge=1, le=PRIORITY_LAST)] | None = design_key(
        "What comes first where not all can be made at once: 1 first, 9 last.", usual="5"
    )


class OrderBoxTable(BoxKeys):
    """[[box]]: a box that orders name."""

    name: Words = design_key(
        "What the orders call it.", ..., example='"mill lane tens"', min_length=1, max_length=NAME_MOST
    )


class SetTable(SettingTable):
    """[[set]]: items that orders name by one word."""

    name: Words = design_key(
        "What the orders call it. A board is one already: rim, wire bottom and strips.",
        ...,
        example='"winter set"',
        min_length=1,
        max_length=NAME_MOST,
    )
    item: Annotated[tuple[Words, ...], Field(min_length=1)] = design_key(
        "The items, or board, in a list.", ..., example='["board", "quilt box"]'
    )


class ShedTable(SettingTable):
    """[[shed]]"""

    item: str = design_key("Which item is there.", ..., example='"quilt box"')
    hives: str = design_key("For which hives it is, by their name.", ..., example='"home yard"')
    have: Number = design_key("How many are there.", ..., example="1")
    repair: Number = design_key("How many of those need a new one.", 0)


class MakeTable(SettingTable):
    """[[make]]; the settings of the items named are checked apart, against what each takes."""

    item: Annotated[Any, ValueKind("an item, or several in a list")] = design_key(
        'What to make; several with the same settings in a list. "board" is rim, wire bottom and strips. See: woodshop '
        "items.",
        ...,
    )
    hives: str | tuple[str, ...] = design_key("For which hives, by their names in a list.", (), otherwise="for all")
    spare: Number = design_key("How many more than there are hives.", 0)


class CheckTable(SettingTable):
    """[check]"""

    bee_space: Words | None = design_key(
        "A published band of bee space, by name; see: woodshop sources bee_space.band.",
        otherwise='"most quoted", 1/4 to 3/8 in',
        example='"most quoted"',
    )


class DesignTable(SettingTable):
    """A design file; `board` and `make` are checked apart, against what each item takes, `order` where orders are."""

    format: str = design_key(
        "What kind of file this is; always the first line.", ..., example='"woodshop-design/2"', vary=False
    )
    batch: str = design_key(
        "Name of this batch, and of its folder: letters, digits, dot, dash and underscore.",
        ...,
        example='"first-winter"',
        vary=False,
        pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,60}$",
    )
    title: Words = design_key(
        "What stands at the head of every page.",
        "",
        otherwise="the batch's name",
        example='"Winter boards"',
        vary=False,
        max_length=100,
    )
    unit: Literal["in", "mm"] = design_key(
        "What a length without a unit is in: in or mm. Any length may name its own.", ..., example='"in"', vary=False
    )
    lumberyard: NamedFile | Annotated[tuple[NamedFile, ...], Field(min_length=1)] = design_key(
        "The lumberyard file: what can be bought and for how much, the offcuts on hand. Several in a list.",
        ...,
        example='"creekside-lumberyard.toml"',
        vary=False,
    )
    shop: NamedFile | None = design_key(
        "A shop file whose [saw] and [tools] hold for this design too. A key that is set here takes the place of "
        "the shop file's.",
        otherwise="none, the tools stand here",
        example='"..."',
        vary=False,
    )
    on_by: date | None = design_key(
        "The day by which it is all on the hives, year first, without quotes.", otherwise="no day", example="2026-11-26"
    )
    quoted_on: date | None = design_key(
        "The day of the quotes, year first, bare; how long they are good counts from it.",
        otherwise="the day on which the lumberyard's prices were seen",
        example="2026-09-20",
    )
    paper: Paper = design_key("Paper of the packet: letter or a4.", "letter")
    wood: Size | None = design_key(
        "Thickness of the wood for rims and quilt boxes, as it is, not as it is called.", row="box.wall"
    )
    surplus: Literal["drop", "spare"] = design_key(
        "Where a board holds a piece more than is needed: drop leaves the wood uncut, spare cuts the piece and "
        "marks it spare.",
        "drop",
    )
    both_units: bool = design_key(
        "In part drawings and the part table every size in the other unit too, beside it in brackets: inches and "
        "millimetres.",
        False,
    )
    orders: NamedFile | Annotated[tuple[NamedFile, ...], Field(min_length=1)] | None = design_key(
        "A spreadsheet of orders beside this file, .xlsx or .csv; several in a list.",
        otherwise="none",
        example='"..."',
        vary=False,
    )
    other_columns: tuple[Words, ...] = design_key(
        "Headings of that spreadsheet which are not read.",
        (),
        otherwise="none, and a heading that is not known is refused",
        example='["..."]',
        vary=False,
    )
    hives: tuple[HivesTable, ...] = design_key(
        "A group of like hives; as many groups as you have kinds.", (), otherwise="Required without orders."
    )
    box: tuple[OrderBoxTable, ...] = design_key(
        "A box that orders name: its name, and the keys of [[hives]] that tell of boxes and frames.", (), vary=False
    )
    set: tuple[SetTable, ...] = design_key("Items that orders name by one word.", (), vary=False)
    order: tuple[dict[str, Any], ...] = design_key(
        "One line of an order, as in a spreadsheet of orders.", (), vary=False
    )
    shed: tuple[ShedTable, ...] = design_key("What hangs in the shed already, and is not made again.", (), vary=False)
    saw: SawTable = design_key(
        "What your saw takes off and what you cut with it: your own, whoever sells the wood.", SawTable()
    )
    tools: ToolsTable = design_key(
        "Your saws, their kerfs, and what each can cross. Each cut in the cut lists names its saw.", ToolsTable()
    )
    labels: LabelsTable = design_key(
        "Which labels are printed, and the grid of the sheet they are printed on.", LabelsTable(), vary=False
    )
    worth: WorthTable = design_key(
        "What work saved at the saw and offcuts kept are worth to you, in the lumberyard's currency. With it boards "
        "are planned for the least sum of money and work, which may cost more money.",
        WorthTable(),
    )
    check: CheckTable = design_key("Which published bee space the checks hold the gaps against.", CheckTable())
    trial: TrialTable = design_key(
        "Damp sugar that you packed into a box of known size and weighed: your density and mix.", TrialTable()
    )
    climate: ClimateTable = design_key(
        "How cold it is outside, for a page on the top of the hive: where water comes out, and what shavings "
        "keep warm. Leave it out: then there is no such page.",
        ClimateTable(),
    )
    tolerance: ToleranceTable = design_key(
        "How far sizes stray, each either way; 997 in 1,000 stray less. Leave it out: then usual values are "
        "taken, and listed.",
        ToleranceTable(),
    )
    moisture: MoistureTable = design_key(
        "How damp the wood is, in the shop and through the year. Leave it out: then usual values are taken, and "
        "listed.",
        MoistureTable(),
    )
    buying: BuyingTable = design_key("How lumberyards are chosen, and what may be bought ready-made.", BuyingTable())
    board: dict[str, Any] = design_key(
        "Settings of the fondant board, shared by its rim, floor, strips and blocks.", {}
    )
    make: tuple[dict[str, Any], ...] = design_key(
        "What to make; where there are orders, how, and for hives of no order.",
        (),
        otherwise="Required without orders.",
        vary=False,
    )

    @property
    def has_orders(self) -> bool:
        """Whether orders stand in it, or in a file that it names."""
        return bool(self.order) or self.orders is not None
