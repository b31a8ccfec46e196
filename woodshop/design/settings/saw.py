"""The shop's own tools: [saw] and [tools] of a design file, or of a shop file that the design names."""

from pathlib import Path
from typing import Any, Literal, TypeVar

from pydantic import create_model

from woodshop.design.schema import AnyLength, Size, Table, load, validate
from woodshop.errors import Problem

Strips = Literal["fall free", "thin-rip stop"]
CrosscutSaw = Literal["miter saw", "circular saw", "sled", "hand saw"]
PRICING_KEYS = (
    "name", "currency", "labour", "margin", "markup", "scrap", "round_up_to", "tax", "tax_exempt", "packs", "rack",
    "overhead", "times", "setup", "paint", "consumable", "quote",
)  # fmt: skip
"""Keys of a shop file that only pricing reads; `plan.work.shop_file` checks their values."""


class SawTable(Table):
    """[saw]"""

    rip_kerf: AnyLength | None = None
    crosscut_kerf: AnyLength | None = None
    mark: Size | None = None
    end_trim: AnyLength | None = None
    edge_allowance: AnyLength | None = None
    shortest_offcut: AnyLength | None = None
    narrowest_offcut: AnyLength | None = None
    thinnest_rip: AnyLength | None = None
    narrow_rip: AnyLength | None = None
    wood_in_hand: AnyLength | None = None
    shortest_rip: AnyLength | None = None
    longest_rip: Size | None = None
    strips: Strips | None = None
    least_remainder: Size | None = None
    remainder_allowance: Size | None = None
    straight_edge_cut: Size | None = None


class ToolsTable(Table):
    """[tools]"""

    crosscut_with: tuple[CrosscutSaw, ...] | None = None
    table_saw_kerf: AnyLength | None = None
    miter_saw_kerf: AnyLength | None = None
    circular_saw_kerf: AnyLength | None = None
    hand_saw_kerf: AnyLength | None = None
    miter_saw_width: Size | None = None
    long_board: Size | None = None
    thin_strip: AnyLength | None = None


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
