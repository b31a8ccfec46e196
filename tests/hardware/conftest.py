"""Settings of a board as a maker is given them, from the rows of the reference tables."""

from collections.abc import Callable
from typing import Any, get_origin

import pytest

from woodshop.hardware.board import BoardSettings, Setting
from woodshop.hardware.registry import Item, fields_as_parameters
from woodshop.hive.woodenware.box import HiveBox, TopBar
from woodshop.reference.facts import fact
from woodshop.units.lengths import Density, Length, Mass, inch, pound
from woodshop.units.wording import Wording

BAR = TopBar(inch(19), inch("1 1/16"), inch("3/4"), inch("3/8"), inch("1 3/8"))
WIDTHS = tuple(inch(w) for w in ("1 1/2", "2 1/2", "3 1/2", "5 1/2", "7 1/4", "9 1/4", "11 1/4"))


def from_row(kind: Any, key: str) -> Any:
    row = fact(key)
    if kind is Mass:
        return row.mass
    if kind is Density:
        return row.density
    if kind is Length or Length in getattr(kind, "__args__", ()):
        return row.length
    if get_origin(kind) is not None or kind is str:
        return row.value
    return int(row.number)


def a_board(**changes: Any) -> BoardSettings:
    rows = {p.name: from_row(p.type, p.param.fact) for p in fields_as_parameters(BoardSettings) if p.param.fact}
    return BoardSettings(**(rows | changes))


def a_setting(frames: int = 10, width: str = "16 1/4", gap: str = "1/4", sugar: str = "16", **board: Any) -> Setting:
    box = HiveBox(
        f"{frames}-frame {width}", frames, inch("19 7/8"), width=inch(width), height=inch("9 5/8"),
        wall=inch("3/4"), gap=inch(gap), rest=inch("3/8"), bar=BAR,
    )  # fmt: skip
    return Setting(
        box=box, board=a_board(**board), sugar=pound(sugar), wood=inch("3/4"), widths=WIDTHS, wording=Wording()
    )


def a_make(item: Item, setting: Setting, **given: Any) -> Any:
    rows = {p.name: from_row(p.type, p.param.fact) for p in item.parameters if p.param.fact}
    return item.make(setting, **(rows | given))


@pytest.fixture(scope="session")
def setting() -> Callable[..., Setting]:
    """Setting of a 10-frame 16 1/4 board, or of what is asked for."""
    return a_setting


@pytest.fixture(scope="session")
def make() -> Callable[..., Any]:
    """An item made with the defaults of its rows, and what is given."""
    return a_make
