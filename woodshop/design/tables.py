"""The tables of a design file as they are read: their keys, and what each may hold."""

from dataclasses import field
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
    Size,
    SomeMass,
    Table,
    Words,
    within,
)
from woodshop.design.settings.buying import BuyingTable
from woodshop.design.settings.climate import ClimateTable
from woodshop.design.settings.labels import LabelsTable
from woodshop.design.settings.saw import SawTable, ToolsTable
from woodshop.design.settings.tolerances import MoistureTable, ToleranceTable
from woodshop.design.settings.trial import TrialTable
from woodshop.design.settings.worth import WorthTable

NamedFile = Annotated[Words, Field(min_length=1)]
Number = Annotated[int, Field(ge=0, le=100_000)]
NAME_MOST, COUNT_MOST, PRIORITY_LAST = 60, 100_000, 9
FrameDepth = Annotated[Size, within("frame_depth")]
HEIGHTS = Literal["deep", "medium", "shallow"]
Form = Literal["packed", "with mesh", "empty", "flat kit"]
FORMS: tuple[str, ...] = get_args(Form)


class BoxKeys(Table):
    """What a group of hives and a box that orders name say alike: the boxes, their frames, and what lies above."""

    pattern: Literal["Langstroth", "British National"] = "Langstroth"
    frames: Annotated[int, Field(ge=1, le=20)]
    measured: Words | None = None
    box: Words | None = None
    width: BoxWidth | None = None
    length: BoxLength | None = None
    height: BoxHeight | HEIGHTS | None = None
    wall: BoxWall | None = None
    rim_width: Annotated[Size, within("rim_width")] | None = None
    rim_length: Annotated[Size, within("rim_length")] | None = None
    boxes: Annotated[tuple[BoxHeight | HEIGHTS, ...], Field(min_length=1, max_length=8)] | None = None
    frame_depth: FrameDepth | Annotated[tuple[FrameDepth, ...], Field(min_length=1, max_length=8)] | None = None
    bee_space: Literal["top", "bottom"] | None = None
    inner_cover: Annotated[Size, within("inner_cover")] | None = None
    cover: Literal["telescoping", "flat"] | None = None
    cover_skirt: Annotated[Size, within("cover_skirt")] | None = None
    cover_clearance: Annotated[AnyLength, within("cover_clearance")] | None = None
    gap: Gap | Annotated[tuple[Gap, ...], Field(min_length=1)] | None = None
    sugar: Annotated[SomeMass, within("sugar")] | None = None


class HivesTable(BoxKeys):
    """[[hives]]"""

    name: Words = Field(default="", max_length=NAME_MOST)
    customer: Words = Field(default="", max_length=NAME_MOST)
    order: Words = Field(default="", max_length=NAME_MOST)
    count: Annotated[int, Field(ge=1, le=COUNT_MOST)]
    form: Form | None = None
    due: date | None = None
    priority: Annotated[int, Field(ge=1, le=PRIORITY_LAST)] | None = None


class OrderBoxTable(BoxKeys):
    """[[box]]: a box that orders name."""

    name: Words = Field(min_length=1, max_length=NAME_MOST)


class SetTable(Table):
    """[[set]]: items that orders name by one word."""

    name: Words = Field(min_length=1, max_length=NAME_MOST)
    item: Annotated[tuple[Words, ...], Field(min_length=1)]


class ShedTable(Table):
    """[[shed]]"""

    item: str
    hives: str
    have: Number
    repair: Number = 0


class CheckTable(Table):
    """[check]"""

    bee_space: Words | None = None


class DesignTable(Table):
    """A design file; `board` and `make` are checked apart, against what each item takes, `order` where orders are."""

    format: str
    batch: str = Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,60}$")
    title: Words = Field(default="", max_length=100)
    unit: Literal["in", "mm"]
    yard: NamedFile | Annotated[tuple[NamedFile, ...], Field(min_length=1)]
    shop: NamedFile | None = None
    on_by: date | None = None
    quoted_on: date | None = None
    paper: Literal["letter", "a4"] = "letter"
    wood: Size | None = None
    surplus: Literal["drop", "spare"] = "drop"
    both_units: bool = False
    orders: NamedFile | Annotated[tuple[NamedFile, ...], Field(min_length=1)] | None = None
    other_columns: tuple[Words, ...] = ()
    hives: tuple[HivesTable, ...] = ()
    box: tuple[OrderBoxTable, ...] = ()
    set: tuple[SetTable, ...] = ()
    order: tuple[dict[str, Any], ...] = ()
    shed: tuple[ShedTable, ...] = ()
    saw: SawTable = SawTable()
    tools: ToolsTable = ToolsTable()
    labels: LabelsTable = LabelsTable()
    worth: WorthTable = field(default_factory=WorthTable)
    check: CheckTable = CheckTable()
    trial: TrialTable = TrialTable()
    climate: ClimateTable = ClimateTable()
    tolerance: ToleranceTable = ToleranceTable()
    moisture: MoistureTable = MoistureTable()
    buying: BuyingTable = BuyingTable()
    board: dict[str, Any] = Field(default_factory=dict)
    make: tuple[dict[str, Any], ...] = ()

    @property
    def has_orders(self) -> bool:
        """Whether orders stand in it, or in a file that it names."""
        return bool(self.order) or self.orders is not None
