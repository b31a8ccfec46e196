"""A remedy as exact changes of the tables of a design file. `Finding.remedy` says how a remedy is written."""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from woodshop.hardware.catalogue import board_names, items_named

BOARD, HIVES, MAKE = "board", "hives", "make"
_TAKEN_ALONG = ("hives", "spare", "wood")  # keys of a [[make]] table that an item keeps in a table of its own


@dataclass(frozen=True, slots=True)
class DesignChange:
    """One change of the tables of a design: `value` is put at `place`, or what is there is removed if it is None.

    A place is a path of keys and positions, such as ("hives", 0, "gap"). The position after the last table of an array
    adds a table with the keys and values of `value`.
    """

    place: tuple[str | int, ...]
    value: Any = None


def design_changes(remedy: tuple[tuple[str, str], ...], tables: Mapping[str, Any]) -> tuple[DesignChange, ...]:
    """The changes that a remedy makes to the tables of a design, to be made one after another.

    The result is empty if the tables lack what it changes, such as hives that come from an order: then only a person
    can make the change.

    >>> design_changes((("hives.creek.rim_width", '"16"'),), {"hives": [{"name": "hill"}, {"name": "creek"}]})
    (DesignChange(place=('hives', 1, 'rim_width'), value='16'),)
    """
    makes = [dict(each) for each in tables.get(MAKE, ())]
    found: list[DesignChange] = []
    for path, text in remedy:
        value = tomllib.loads(f"value = {text}")["value"] if text else None
        table, _, rest = path.partition(".")
        if table == BOARD:
            changes = list(_on_board(rest, value, makes))
        elif table == HIVES:
            name, _, key = rest.rpartition(".")
            changes = [
                DesignChange((HIVES, n, key), value)
                for n, each in enumerate(tables.get(HIVES, ()))
                if each.get("name", "") == name
            ]
        elif "." not in rest:
            makes.append({"item": rest, **(value or {})})
            changes = [DesignChange((MAKE, len(makes) - 1), makes[-1])]
        else:
            item, _, key = rest.partition(".")
            changes = list(_on_item(item, key, value, makes))
        if not changes:
            return ()
        found += changes
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Concerned:
    """What changes of a design concern: the names of the groups of hives, and the rows of the shed for them.

    The hardware in the shed was made before, so a change does not reach it.
    """

    hives: tuple[str, ...]
    shed: tuple[Mapping[str, Any], ...]


def concerned(changes: tuple[DesignChange, ...], tables: Mapping[str, Any]) -> Concerned:
    """The hives whose hardware these changes of the tables of a design alter, and the same hardware in the shed.

    >>> hives = [{"name": "hill"}, {"name": "creek"}]
    >>> tables = {"hives": hives, "make": [{"item": ["fondant rim", "wire bottom"]}]}
    >>> concerned((DesignChange(("board", "mounting"), "flush rabbet"),), tables).hives
    ('hill', 'creek')
    """
    names = [each.get("name") or f"group {n}" for n, each in enumerate(tables.get(HIVES, ()), 1)]
    boards, makes = set(board_names()), list(tables.get(MAKE, ()))
    met: dict[tuple[str, str], None] = {}
    for each in changes:
        table, at = each.place[0], each.place[1]
        if table == HIVES and isinstance(at, int):
            met |= {(item, names[at]): None for make in makes for item in _items(make)}
            continue
        if table == BOARD:
            made = makes
        else:
            made = [each.value] if isinstance(each.value, dict) else [makes[at]] if isinstance(at, int) else []
        for make in made if each.place[-1] != "item" else ():
            wished = make.get("hives") or names
            for item in _items(make):
                if table != BOARD or item in boards:
                    met |= {(item, name): None for name in ([wished] if isinstance(wished, str) else wished)}
    hives = tuple(name for name in names if any(name == one for _, one in met))
    rows = (row for row in tables.get("shed", ()) if isinstance(row, dict))
    return Concerned(hives, tuple(row for row in rows if any((i, row.get("hives")) in met for i in _items(row))))


def _on_board(key: str, value: Any, makes: list[dict[str, Any]]) -> Iterator[DesignChange]:
    """Puts a setting of the board under [board], and nowhere else."""
    yield DesignChange((BOARD, key), value)
    boards = set(board_names())
    for n, make in enumerate(makes):
        if key in make and set(_items(make)) <= boards:
            del make[key]
            yield DesignChange((MAKE, n, key))


def _on_item(item: str, key: str, value: Any, makes: list[dict[str, Any]]) -> Iterator[DesignChange]:
    """Changes a setting of an item; if its table names other items too, it gets a table of its own."""
    for n, make in enumerate(tuple(makes)):
        names = _items(make)
        if item not in names:
            continue
        if len(names) == 1:
            yield DesignChange((MAKE, n, key), value)
            continue
        others = [each for each in names if each != item]
        yield DesignChange((MAKE, n, "item"), others)
        own = {"item": item} | {each: make[each] for each in _TAKEN_ALONG if each in make}
        own |= {} if value is None else {key: value}
        make["item"] = others
        makes.append(own)
        yield DesignChange((MAKE, len(makes) - 1), own)


def _items(make: Mapping[str, Any]) -> tuple[str, ...]:
    """The names of the items of a [[make]] table. A word such as "board" stands for several."""
    words = make.get("item", ())
    return tuple(name for word in ([words] if isinstance(words, str) else words) for name in items_named(word))
