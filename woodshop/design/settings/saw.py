"""The tools of the shop: [saw] and [tools] of a design file or a shop file, and the saw for each cut."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, TypeVar

from pydantic import create_model

from woodshop.design.schema import AnyLength, Default, SettingTable, Size, design_key, load, validate
from woodshop.design.settings.resawing import Resawing
from woodshop.design.settings.times import PaintTable, SetupTable, TimesTable
from woodshop.errors import InputError, Problem
from woodshop.reference.facts import fact
from woodshop.units.lengths import Length
from woodshop.units.wording import LengthUnit

Strips = Literal["fall free", "thin-rip stop"]
Order = Literal["by setting", "by board"]
ResawSaw = Literal["band saw", "table saw with guard and riving knife"]
CrosscutSaw = Literal["miter saw", "circular saw", "sled", "hand saw"]
PRICING_KEYS = (
    "name", "currency", "labour", "margin", "markup", "scrap", "round_up_to", "tax", "tax_exempt", "packs", "offcuts",
    "overhead", "consumable", "quote",
)  # fmt: skip
"""Keys of a shop file that are used only for prices; `plan.work.shop_file` checks their values."""


class SawTable(SettingTable):
    """The [saw] table."""

    rip_kerf: AnyLength | None = design_key(
        "Width of the cut of a rip.", otherwise="the table saw's kerf", example='"1/8"'
    )
    crosscut_kerf: AnyLength | None = design_key(
        "Width of the cut of a crosscut.", otherwise="the widest kerf of your crosscut saws", example='"1/8"'
    )
    mark: Size | None = design_key(
        "The smallest mark on your tape. Parts are rounded to it.",
        otherwise="1/16 in, or 1 mm in a metric design",
        example='"1/16 in"',
        row="saw.smallest_mark",
        national="saw.smallest_mark_metric",
    )
    end_trim: AnyLength | None = design_key("Length cut off each end of a new board to square it.", row="saw.end_trim")
    edge_allowance: AnyLength | None = design_key("Width ripped off each edge of a board.", row="saw.edge_trim")
    shortest_offcut: AnyLength | None = design_key("Shortest offcut that you keep.", row="saw.offcut_least")
    narrowest_offcut: AnyLength | None = design_key("Narrowest offcut that you keep.", row="saw.offcut_narrowest")
    thinnest_rip: AnyLength | None = design_key("Thinnest strip that you rip.", row="saw.thinnest_rip")
    narrow_rip: AnyLength | None = design_key(
        "Strips narrower than this count as narrow rips: see wood_in_hand.", row="saw.jig_below"
    )
    wood_in_hand: AnyLength | None = design_key(
        "Width of board left between blade and fence after a narrow rip.", row="saw.parent_least"
    )
    shortest_rip: AnyLength | None = design_key(
        "Shortest piece that you rip. Shorter parts are crosscut after ripping.", row="saw.shortest_to_rip"
    )
    longest_rip: Size | None = design_key(
        "Longest board that you rip. Longer boards are first crosscut to sections.", row="saw.longest_to_rip"
    )
    strips: Strips | None = design_key(
        "How narrow strips are ripped: thin-rip stop (against a stop ahead of the blade) or fall free (with the fence "
        "set to the rest of the board).",
        usual='"thin-rip stop"',
    )
    order: Order | None = design_key(
        "How the packet lists the cuts: by setting (each fence or stop is set once for all boards) or by board (one "
        "layout after the other).",
        otherwise="by setting for six or more boards of a material, else by board",
        example='"by board"',
        row="saw.by_setting_from",
    )
    least_remainder: Size | None = design_key(
        "Wood that must remain beside the last rip. No part is a remainder.", row="saw.least_remainder"
    )
    remainder_allowance: Size | None = design_key(
        "How far off a part may be if it is the remainder of a board. Such parts are then planned, and you measure "
        "the board.",
        otherwise="every part gets its own cut",
        example='"1/16"',
    )
    straight_edge_cut: Size | None = design_key(
        "Width cut off each edge of a board whose edges may not be straight.", row="saw.straight_edge_cut"
    )


class ToolsTable(SettingTable):
    """The [tools] table."""

    crosscut_with: tuple[CrosscutSaw, ...] | None = design_key(
        "Saws that you crosscut with, the one you like best first: miter saw, circular saw (with a guide), sled "
        "(on the table saw), hand saw.",
        otherwise="miter saw and circular saw",
        example='["miter saw", "circular saw"]',
        row="tool.crosscut_with",
    )
    table_saw_kerf: AnyLength | None = design_key(
        "Kerf of the table saw blade. Cut a groove in scrap and measure it.", row="tool.table_saw_kerf"
    )
    miter_saw_kerf: AnyLength | None = design_key("Kerf of the miter saw's blade.", row="tool.miter_saw_kerf")
    circular_saw_kerf: AnyLength | None = design_key("Kerf of the circular saw's blade.", row="tool.circular_saw_kerf")
    hand_saw_kerf: AnyLength | None = design_key("Kerf of the hand saw.", row="tool.hand_saw_kerf")
    miter_saw_width: Size | None = design_key(
        "Widest board that your miter saw can cut. Wider boards get another saw.", row="tool.miter_saw_width"
    )
    long_board: Size | None = design_key(
        "Boards longer than this need support on both sides of a crosscut, and are never crosscut on a table saw.",
        row="tool.long_board",
    )
    thin_strip: AnyLength | None = design_key(
        "Strips thinner or narrower than this are crosscut by hand in a miter box.", row="tool.thin_strip"
    )

    resaw_with: ResawSaw | None = design_key(
        "Saw that turns a thick board into thinner ones: band saw, or table saw with guard and riving knife (one pass "
        "right through the board, and only if you say so).",
        usual='"band saw"',
    )
    resaw_height: Size | None = design_key(
        "Widest board that this saw cuts through in one pass, standing on edge.",
        otherwise="no boards are resawn",
        example='"6"',
    )
    resaw_kerf: Size | None = design_key("Kerf of the blade that resaws.", row="tool.resaw_kerf")
    planing_allowance: Size | None = design_key(
        "Planed off each face of a resawn board, at least.", row="tool.planing_allowance"
    )
    planer_shortest: Size | None = design_key(
        "Shortest board that your planer takes, from its manual.",
        otherwise="there is no planer, and no boards are resawn",
        example='"14"',
    )
    planer_width: Size | None = design_key("Widest board that your planer takes.", row="tool.planer_width")


T = TypeVar("T", SawTable, ToolsTable)


class ShopFileTable(SettingTable):
    """The keys of a shop file that are used for cutting and for the days of work.

    Lengths without a unit are in `unit`.
    """

    format: str = design_key("Format of this file. Always the first line.", ..., example='"woodshop-shop/2"')
    unit: Literal["in", "mm"] = design_key("Unit of lengths without a unit of their own.", "in")
    saw: SawTable = design_key("Saw settings, for every design of the shop.", SawTable())
    tools: ToolsTable = design_key("The tools of the shop.", ToolsTable())
    times: TimesTable = design_key("Minutes for each operation, timed in your shop.", TimesTable())
    setup: SetupTable = design_key("Minutes for setting up, once for many pieces.", SetupTable())
    paint: PaintTable | None = design_key("Paint for the outside.", otherwise="nothing is painted")


_pricing: dict[str, Any] = dict.fromkeys(PRICING_KEYS, (Any, None))
_WholeShopFile = create_model("ShopFile", __base__=ShopFileTable, **_pricing)


def read_tools(path: Path) -> ShopFileTable:
    """Reads the saw settings, tools and minutes of a shop file. Raises InputError with every problem in them."""
    raw = load(path, "shop")
    unit = raw.get("unit")
    return validate(_WholeShopFile, raw, path.name, unit if unit in ("in", "mm") else "in")


def with_own(shop: T, own: T) -> T:
    """The settings of the shop, overridden by the keys of the design."""
    return shop.model_copy(update={name: getattr(own, name) for name in own.model_fields_set})


def saw_in_lumber_file(raw: dict[str, Any], where: str) -> list[Problem]:
    """A problem for each tool setting found in a lumberyard file."""
    do = (
        "Move it to the design file. For several designs, move it to a shop file and write in each design: "
        'shop = "my-shop.toml".'
    )
    wanted = "prices and stock only; saw and tools belong to the shop"
    tables = [key for key in ("saw", "tools") if key in raw]
    return [Problem(f"{where}, {key}", f"a [{key}] table", wanted, do) for key in tables]


TABLE_SAW, MITER_SAW, CIRCULAR_SAW, SLED, HAND_SAW = "table saw", "miter saw", "circular saw", "sled", "hand saw"
GUIDED, CARRIED, HAND_PLANE = f"{CIRCULAR_SAW}, guide", f"{TABLE_SAW}, carrier board", "hand plane"
"""A saw run along a clamped guide; a board with a crooked edge on a straight carrier board, which runs along the fence;
and what straightens the edges of a board that no saw may rip."""
THEN = "; then "
"""Joins two tools of which the first makes the first edge, and the second makes the second edge."""
_LENGTHS = ("table_saw_kerf", "miter_saw_kerf", "circular_saw_kerf", "hand_saw_kerf", "miter_saw_width", "long_board",
            "thin_strip")  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Tools:
    """The settled saws of the shop.

    `crosscut_with` are the saws for crosscuts. A table saw rips, and a hand saw makes the cuts that no other saw can
    make. `miter_saw_width` is the widest board for the miter saw. Boards longer than `long_board` need support on both
    sides of a crosscut; strips thinner or narrower than `thin_strip` are crosscut by hand. `resawing` is set if there
    are boards to resaw.
    """

    crosscut_with: tuple[str, ...]
    table_saw_kerf: Length
    miter_saw_kerf: Length
    circular_saw_kerf: Length
    hand_saw_kerf: Length
    miter_saw_width: Length
    long_board: Length
    thin_strip: Length
    resawing: Resawing | None = None

    @property
    def rip_kerf(self) -> Length:
        """The kerf used to plan rips."""
        return self.table_saw_kerf

    @property
    def crosscut_kerf(self) -> Length:
        """The kerf used to plan crosscuts, which is the widest kerf of the saws that can make them.

        A layout is planned before its saws are known. If a saw's kerf is narrower than planned, there is more waste; if
        it were wider, a part would be too short.
        """
        kerfs = {
            MITER_SAW: self.miter_saw_kerf,
            CIRCULAR_SAW: self.circular_saw_kerf,
            SLED: self.table_saw_kerf,
            HAND_SAW: self.hand_saw_kerf,
        }
        return max(kerfs[saw] for saw in (*self.crosscut_with, HAND_SAW))

    def for_crosscut(self, length: Length, width: Length, thickness: Length) -> str:
        """The saw that crosscuts a part of this size."""
        if min(width, thickness) < self.thin_strip:
            return f"{HAND_SAW}, miter box"
        is_long = length > self.long_board
        for saw in self.crosscut_with:
            if saw == MITER_SAW and width <= self.miter_saw_width:
                return f"{MITER_SAW}, supported" if is_long else MITER_SAW
            if saw == SLED and not is_long:
                return f"{TABLE_SAW}, sled"
            if saw == CIRCULAR_SAW:
                return GUIDED
            if saw == HAND_SAW:
                break
        return HAND_SAW

    def for_edges(self, *, is_straight: bool, is_long: bool = False, may_rip: bool = True) -> str:
        """The tools that true both edges of a board: one tool, or two joined by `THEN`, one for each edge.

        An edge that was bought straight runs along the fence of the table saw. A crooked one never does: the first edge
        is cut along a guide, or the board lies on a carrier board with a straight edge. The second edge is then ripped
        parallel with the first. A board longer than one person rips is cut along a guide where there is a saw for it.
        A twisted or short board is never ripped.

        `is_straight`: whether both edges were bought straight. `is_long`: whether the board is longer than one person
        rips. `may_rip`: false for a board that is twisted or too short.
        """
        has_guide = CIRCULAR_SAW in self.crosscut_with
        if not may_rip or (is_long and has_guide):
            return GUIDED if has_guide else HAND_PLANE
        if is_straight:
            return TABLE_SAW
        return f"{GUIDED}{THEN}{TABLE_SAW}" if has_guide else CARRIED

    def for_sheet(self, length: Length, width: Length, *, is_along: bool) -> str:
        """The saw that cuts a sheet of this size; `is_along` says whether the cut runs along the sheet.

        Large sheets are cut with a guide.
        """
        if max(length, width) > self.long_board or not is_along:
            has_sled = SLED in self.crosscut_with and max(length, width) <= self.long_board
            if has_sled:
                return f"{TABLE_SAW}, sled"
            return GUIDED if CIRCULAR_SAW in self.crosscut_with else HAND_SAW
        return TABLE_SAW


def settled_tools(
    table: ToolsTable, rip_kerf: Length | None, crosscut_kerf: Length | None, unit: LengthUnit, defaults: list[Default]
) -> Tools:
    """The settled tools; values that are not given are listed in `defaults`.

    A saw without its own kerf uses the kerf given for its kind of cut. Raises InputError for conflicting kerfs.
    """
    values: dict[str, Length] = {}
    for name in _LENGTHS:
        given: Length | None = getattr(table, name)
        if given is None and name.endswith("_kerf"):
            given = rip_kerf if name == "table_saw_kerf" else crosscut_kerf
        if given is None:
            row = fact(f"tool.{name}")
            defaults.append(Default("tools", name, row.value_in(unit), row.cite))
            given = row.length_in(unit)
        values[name] = given
    saws: tuple[str, ...] | None = table.crosscut_with
    if saws is None:
        row = fact("tool.crosscut_with")
        defaults.append(Default("tools", "crosscut_with", row.value, row.cite))
        saws = tuple(row.value.split(", "))
    tools = Tools(crosscut_with=saws, resawing=None, **values)
    found = []
    for name, kerf, least in (
        ("rip_kerf", rip_kerf, tools.rip_kerf),
        ("crosscut_kerf", crosscut_kerf, tools.crosscut_kerf),
    ):
        if kerf is not None and kerf < least:
            wanted = f"{least.text(unit)} or more, the kerf of the widest blade under [tools] that makes such cuts"
            found.append(
                Problem(f"saw, {name}", kerf.text(unit), wanted, "Remove it; the kerfs of the tools are used.")
            )
    if found:
        raise InputError(*found)
    return tools
