"""The [buying] table of a design file: how yards are chosen, and what may be bought ready-made."""

from dataclasses import dataclass
from datetime import date

from woodshop.design.schema import Table, Words, design_key
from woodshop.errors import Problem
from woodshop.hardware.catalogue import items, near_item


class BuyingTable(Table):
    """[buying]"""

    on: date | None = design_key(
        "The day you mean to buy. Prices older than a yard allows are flagged by it.",
        otherwise="the earliest due date",
        example="2026-10-03",
    )
    one_yard_only: bool = design_key(
        "Whether all is bought at one yard: the one where it costs least.",
        False,
        otherwise="false, wherever it costs least together",
        example="true",
    )
    ready_made: tuple[Words, ...] | Words = design_key(
        "Items that may be bought ready-made where that is cheaper; one, or several in a list. The yard file has "
        "them under [[ready]].",
        (),
        otherwise="none, all is made",
        example='"mouse guard"',
    )


@dataclass(frozen=True, slots=True)
class Buying:
    """The settled table: the day of buying, whether all comes from one yard, items that may be bought ready-made."""

    on: date | None = None
    one_yard_only: bool = False
    ready_made: tuple[str, ...] = ()


def buying_settings(table: BuyingTable, where: str, found: list[Problem]) -> Buying:
    """The table as values; an item that there is not is put to `found`."""
    names = (table.ready_made,) if isinstance(table.ready_made, str) else table.ready_made
    known = [item.name for item in items() if item.is_per_hive]
    for name in names:
        if name not in known:
            do = near_item(name, known)
            wanted = "an item that every hive gets: " + ", ".join(known)
            found.append(Problem(f"{where}, buying, ready_made", repr(name), wanted, do))
    return Buying(table.on, table.one_yard_only, tuple(dict.fromkeys(names)))
