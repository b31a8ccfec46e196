"""The shop's own tools: [saw] and [tools] of a design file, or of a shop file that the design names."""

from pathlib import Path
from typing import Any, Literal, TypeVar

from pydantic import create_model

from woodshop.design.schema import AnyLength, Size, Table, design_key, load, validate
from woodshop.errors import Problem

Strips = Literal["fall free", "thin-rip stop"]
Order = Literal["by setting", "by board"]
CrosscutSaw = Literal["miter saw", "circular saw", "sled", "hand saw"]
PRICING_KEYS = (
    "name", "currency", "labour", "margin", "markup", "scrap", "round_up_to", "tax", "tax_exempt", "packs", "rack",
    "overhead", "times", "setup", "paint", "consumable", "quote",
)  # fmt: skip
"""Keys of a shop file that only pricing reads; `plan.work.shop_file` checks their values."""


class SawTable(Table):
    """[saw]"""

    rip_kerf: AnyLength | None = design_key(
        "Width of wood that a rip turns into dust.", otherwise="the table saw's kerf", example='"1/8"'
    )
    crosscut_kerf: AnyLength | None = design_key(
        "Width of wood that a crosscut turns into dust.",
        otherwise="the widest kerf of the saws that you crosscut with",
        example='"1/8"',
    )
    mark: Size | None = design_key(
        "The smallest mark on your tape: parts are cut to it.",
        otherwise="1/16 in, or 1 mm in a millimetre design",
        example='"1/16 in"',
        row="saw.smallest_mark",
        national="saw.smallest_mark_metric",
    )
    end_trim: AnyLength | None = design_key("Squared off each end of a new board.", row="saw.end_trim")
    edge_allowance: AnyLength | None = design_key("Ripped off each edge of a board.", row="saw.edge_trim")
    shortest_offcut: AnyLength | None = design_key("Shortest offcut that you keep.", row="saw.offcut_least")
    narrowest_offcut: AnyLength | None = design_key("Narrowest offcut that you keep.", row="saw.offcut_narrowest")
    thinnest_rip: AnyLength | None = design_key("Thinnest strip that you rip.", row="saw.thinnest_rip")
    narrow_rip: AnyLength | None = design_key(
        "Strips narrower than this are ripped as narrow ones: see wood_in_hand.", row="saw.jig_below"
    )
    wood_in_hand: AnyLength | None = design_key(
        "Width of board left between blade and fence after a narrow rip.", row="saw.parent_least"
    )
    shortest_rip: AnyLength | None = design_key(
        "Shortest piece that you rip; shorter parts are crosscut after ripping.", row="saw.shortest_to_rip"
    )
    longest_rip: Size | None = design_key(
        "Longest board that you rip; longer ones are first crosscut to sections.", row="saw.longest_to_rip"
    )
    strips: Strips | None = design_key(
        "How narrow strips are ripped: thin-rip stop, against a stop ahead of the blade; or fall free, with the "
        "fence set to what is left of each board.",
        usual='"thin-rip stop"',
    )
    order: Order | None = design_key(
        "How the packet lists the cuts: by setting, where fence or stop is set once for all boards; or by board, one "
        "layout after the other.",
        otherwise="by setting from six boards of a material on, by board below that",
        example='"by board"',
        row="saw.by_setting_from",
    )
    least_remainder: Size | None = design_key(
        "Wood that stays beside the last rip: no part is a remainder.", row="saw.least_remainder"
    )
    remainder_allowance: Size | None = design_key(
        "How far off a part may be that is the remainder of a board: such parts are then planned, and you "
        "measure the board.",
        otherwise="every part gets its own cuts",
        example='"1/16"',
    )
    straight_edge_cut: Size | None = design_key(
        "Cut off each edge of a board whose edges are not known to be straight.", row="saw.straight_edge_cut"
    )


class ToolsTable(Table):
    """[tools]"""

    crosscut_with: tuple[CrosscutSaw, ...] | None = design_key(
        "Saws that you crosscut with, the one you like best first: miter saw, circular saw (with a guide), sled "
        "(on the table saw), hand saw.",
        otherwise="miter saw and circular saw",
        example='["miter saw", "circular saw"]',
        row="tool.crosscut_with",
    )
    table_saw_kerf: AnyLength | None = design_key(
        "Kerf of the table saw's blade: cut a groove in scrap and measure it.", row="tool.table_saw_kerf"
    )
    miter_saw_kerf: AnyLength | None = design_key("Kerf of the miter saw's blade.", row="tool.miter_saw_kerf")
    circular_saw_kerf: AnyLength | None = design_key("Kerf of the circular saw's blade.", row="tool.circular_saw_kerf")
    hand_saw_kerf: AnyLength | None = design_key("Kerf of the hand saw.", row="tool.hand_saw_kerf")
    miter_saw_width: Size | None = design_key(
        "Widest board that your miter saw crosses; wider ones get another saw.", row="tool.miter_saw_width"
    )
    long_board: Size | None = design_key(
        "Boards longer than this need support on both sides of a crosscut, and are never crosscut on a table saw.",
        row="tool.long_board",
    )
    thin_strip: AnyLength | None = design_key(
        "Strips thinner or narrower than this are crosscut by hand in a miter box.", row="tool.thin_strip"
    )


T = TypeVar("T", SawTable, ToolsTable)


class ShopFileTable(Table):
    """The keys of a shop file that cutting reads; lengths without a unit are in `unit`."""

    format: str
    unit: Literal["in", "mm"] = "in"
    saw: SawTable = SawTable()
    tools: ToolsTable = ToolsTable()


_pricing: dict[str, Any] = dict.fromkeys(PRICING_KEYS, (Any, None))
_WholeShopFile = create_model("ShopFile", __base__=ShopFileTable, **_pricing)


def read_tools(path: Path) -> ShopFileTable:
    """The saw settings and tools of a shop file. Raises InputError with every problem in them."""
    raw = load(path, "shop")
    unit = raw.get("unit")
    return validate(_WholeShopFile, raw, path.name, unit if unit in ("in", "mm") else "in")


def with_own(shop: T, own: T) -> T:
    """The shop's settings; a key that the design sets itself takes the place of the shop's."""
    return shop.model_copy(update={name: getattr(own, name) for name in own.model_fields_set})


def saw_in_lumber_file(raw: dict[str, Any], where: str) -> list[Problem]:
    """The problem of a lumberyard's file that holds tools."""
    do = (
        "Move it to the design file. For several designs, move it to a shop file and write in each design: "
        'shop = "my-shop.toml".'
    )
    wanted = "prices and stock only: saw and tools are the shop's own, not the seller's"
    tables = [key for key in ("saw", "tools") if key in raw]
    return [Problem(f"{where}, {key}", f"a [{key}] table", wanted, do) for key in tables]
