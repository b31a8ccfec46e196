"""Changes of a design that touch several places: groups of hives with their names, and the items to make.

Each takes the text of a design file and returns the changed text. Raises InputError if the text is not TOML.
"""

from collections.abc import Iterable
from typing import Any

from woodshop.design.schema import toml_tables
from woodshop.hardware.catalogue import items_named
from woodshop.page.opened.editing import (
    Place,
    add_table,
    copy_table,
    remove_table,
    remove_value,
    set_value,
    value_at,
)

_FRAMES = 10  # of a new group, until it is said


def tables_at(text: str, array: str) -> list[dict[str, Any]]:
    """The tables of an array such as [[hives]], or none."""
    found = toml_tables(text, "the design").get(array)
    return [each for each in found if isinstance(each, dict)] if isinstance(found, list) else []


def item_names(make: dict[str, Any]) -> list[str]:
    """The items of a [[make]] table. A board is its parts; other names are as written."""
    wished = make.get("item")
    names = wished if isinstance(wished, list) else [wished]
    return [each for name in names if isinstance(name, str) for each in items_named(name) or (name,)]


def hives_of(make: dict[str, Any]) -> list[str]:
    """The names of the hives in a [[make]] table; none means all."""
    named = make.get("hives")
    return [named] if isinstance(named, str) else list(named) if isinstance(named, list) else []


def add_group(text: str) -> str:
    """The text with another group of hives. With several, each has a name, so all get one."""
    text = _all_named(text)
    taken = _names(text)
    values = {"name": _free(f"{_FRAMES}-frame hives", taken), "frames": _FRAMES, "count": 1}
    return add_table(text, ("hives",), values if taken else {"frames": _FRAMES, "count": 1})


def copy_group(text: str, n: int) -> str:
    """The text with group `n`, counted from 0, copied to the place after it, under another name."""
    text = _all_named(text)
    taken = _names(text)
    return set_value(copy_table(text, ("hives", n)), ("hives", n + 1, "name"), _free(taken[n], taken))


def remove_group(text: str, n: int) -> str:
    """The text without group `n`, and without what is in the shed or to be made for it alone."""
    name = _names(text)[n]
    for at, row in reversed(list(enumerate(tables_at(text, "shed")))):
        if name and row.get("hives") == name:
            text = remove_table(text, ("shed", at))
    for at, make in reversed(list(enumerate(tables_at(text, "make")))):
        named = hives_of(make)
        if name and name in named:
            rest = [each for each in named if each != name]
            place: Place = ("make", at)
            text = set_value(text, (*place, "hives"), rest) if rest else remove_table(text, place)
    return remove_table(text, ("hives", n))


def rename_group(text: str, n: int, name: str) -> str:
    """The text with another name for group `n`, also where the shed and the items to make use the name."""
    old = _names(text)[n]
    if not name:
        return remove_value(text, ("hives", n, "name"))
    if old:
        for at, row in enumerate(tables_at(text, "shed")):
            if row.get("hives") == old:
                text = set_value(text, ("shed", at, "hives"), name)
        for at, make in enumerate(tables_at(text, "make")):
            if old in hives_of(make):
                named = [name if each == old else each for each in hives_of(make)]
                text = set_value(text, ("make", at, "hives"), named)
    return set_value(text, ("hives", n, "name"), name)


def add_to_shed(text: str, item: str) -> str:
    """The text with a row in the shed for the item, none on hand yet, for the first hives without such a row."""
    text = _all_named(text)
    names = _names(text)
    listed = {row.get("hives") for row in tables_at(text, "shed") if row.get("item") == item}
    hives = next((name for name in names if name not in listed), names[0] if names else "")
    return add_table(text, ("shed",), {"item": item, "hives": hives, "have": 0})


def make_item(text: str, name: str) -> str:
    """The text with the item to be made for all hives, with its default settings."""
    return add_table(text, ("make",), {"item": name})


def leave_out_item(text: str, name: str, only: int | None = None) -> str:
    """The text without the item of this `name` in any [[make]] table, or only in table number `only`, from 0."""
    for at, make in reversed(list(enumerate(tables_at(text, "make")))):
        names = item_names(make)
        if name in names and only in (None, at):
            rest = [each for each in names if each != name]
            place: Place = ("make", at)
            text = _with_items(text, place, rest) if rest else remove_table(text, place)
    return text


def make_apart(text: str, name: str, at: int) -> str:
    """The text with the item of this `name` in a [[make]] table of its own, a copy of table number `at`."""
    rest = [each for each in item_names(tables_at(text, "make")[at]) if each != name]
    copied = copy_table(text, ("make", at))
    return set_value(_with_items(copied, ("make", at), rest), ("make", at + 1, "item"), name)


def make_for(text: str, at: int, names: Iterable[str]) -> str:
    """The text with [[make]] table number `at` for the hives with these names; all names or none are for all hives."""
    wanted, place = list(names), ("make", at, "hives")
    if not wanted or set(wanted) == set(_names(text)):
        return remove_value(text, place)
    return set_value(text, place, wanted)


def buy_at(text: str, files: Iterable[str]) -> str:
    """The text with these lumberyard files: one name, or several in a list."""
    names = list(files)
    return set_value(text, ("lumberyard",), names[0] if len(names) == 1 else names)


def _with_items(text: str, place: Place, names: list[str]) -> str:
    return set_value(text, (*place, "item"), names[0] if len(names) == 1 else names)


def _names(text: str) -> list[str]:
    return [str(each.get("name", "")) for each in tables_at(text, "hives")]


def _all_named(text: str) -> str:
    for n, each in enumerate(tables_at(text, "hives")):
        if not value_at(each, ("name",)):
            text = set_value(text, ("hives", n, "name"), _free(f"{each.get('frames', '')}-frame hives", _names(text)))
    return text


def _free(stem: str, taken: list[str]) -> str:
    return next(name for name in (stem, *(f"{stem} {n}" for n in range(2, len(taken) + 3))) if name not in taken)
