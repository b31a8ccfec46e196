"""The places of a design file that a finding names, in its remedy or in the text of its change."""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from woodshop.design.keys import design_keys, keys_of, table_names
from woodshop.design.remedy import BOARD, HIVES, MAKE, design_changes
from woodshop.findings import Finding
from woodshop.hardware.board import BoardSettings
from woodshop.hardware.catalogue import items, items_named
from woodshop.hardware.registry import fields_as_parameters

LUMBERYARD = "lumberyard"
_NAMED = re.compile(
    r"\[\[?(?P<table>[a-z.]+)\]|(?P<key>\b[a-z]+(?:_[a-z]+)+\b|\b[a-z]+(?= = )|(?<=\b[Ss]et )[a-z]+(?= to ))"
    r'|"(?P<item>[a-z -]+)"|(?P<goods>lumberyard file)'
)


def named_places(finding: Finding, tables: Mapping[str, Any]) -> tuple[tuple[str | int, ...], ...]:
    """The places in the tables of a design that a finding says to change, in the order of its text.

    A place is a path of keys and positions, such as ("hives", 0, "gap"), or a whole table, such as ("trial",). An item
    that is not made yet is ("make", its name). Keys of a lumberyard file are ("lumberyard",). What the design does not
    have itself, such as hives from orders, is left out.

    >>> from woodshop.findings import Severity
    >>> text = 'Drive every staple home, or set mounting = "flush rabbet".'
    >>> named_places(Finding("wood-off-wood", Severity.NOTE, "every hive", "", "", "", text), {})
    (('board', 'mounting'),)
    """
    found: dict[tuple[str | int, ...], None] = {}
    for each in design_changes(finding.remedy, tables):
        if isinstance(each.value, dict) and len(each.place) == 2:
            found |= {_made(name, tables): None for name in items_named(each.value.get("item"))}
        elif each.place[-1] != "item":
            found[each.place] = None
    done = {path.rpartition(".")[2] for path, _ in finding.remedy}
    named = [match for match in _NAMED.finditer(finding.change) if match["key"] not in done]
    inside = [each["table"] for each in named if each["table"]]
    items_known = {each.name for each in items()}
    has_items = any(each["item"] in items_known for each in named)
    for match in named:
        if match["goods"]:
            found[(LUMBERYARD,)] = None
        elif match["item"] in items_known:
            found[_made(match["item"], tables)] = None
        elif match["table"] and not (match["table"] == MAKE and has_items):
            known = match["table"] in table_names()
            found[(match["table"].partition(".")[0] if known else LUMBERYARD,)] = None
        elif match["key"]:
            found |= dict.fromkeys(_places(match["key"], inside, finding, tables))
    return tuple(found)


def _places(
    key: str, inside: list[str], finding: Finding, tables: Mapping[str, Any]
) -> Iterator[tuple[str | int, ...]]:
    """The place of a key: in a table that the text names, else of the hives, the board, an item, or elsewhere."""
    for table in inside:
        if any(each.name == key for each in keys_of(table)):
            yield (table, key)
            return
    if any(each.name == key for each in keys_of(HIVES)):
        groups = tables.get(HIVES, ())
        mine = [n for n, each in enumerate(groups) if each.get("name") and each["name"] in finding.place]
        if groups:
            yield (HIVES, mine[0] if mine else 0, key)
    elif any(each.name == key for each in fields_as_parameters(BoardSettings)):
        yield (BOARD, key)
    elif having := [each.name for each in items() if any(one.name == key for one in each.parameters)]:
        spoken = [name for name in having if name in finding.change or name in finding.place]
        for name in spoken if len(having) > 1 else having:
            if isinstance((made := _made(name, tables))[-1], int):
                yield (*made, key)
    else:
        at = [each.table for each in design_keys() if each.name == key and each.table not in ("box", "order")]
        if at:
            yield (at[0], key) if at[0] else (key,)


def _made(item: str, tables: Mapping[str, Any]) -> tuple[str | int, ...]:
    """The place of the [[make]] table with this item, or of the item if there is none."""
    makes = tables.get(MAKE, ())
    made = [n for n, each in enumerate(makes) if item in _items(each.get("item"))]
    return (MAKE, made[0] if made else item)


def _items(wished: Any) -> tuple[str, ...]:
    return tuple(name for each in (wished if isinstance(wished, list) else [wished]) for name in items_named(each))
