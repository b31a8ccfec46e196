"""Every item: those of `hardware/items`, in the order of their file names, and those of other packages."""

import importlib
import pkgutil
import sys
from collections.abc import Iterator
from functools import lru_cache

import woodshop.hardware.items
from woodshop.hardware.outside import load_outside
from woodshop.hardware.registry import ITEMS, BoardPart, Item


def items() -> Iterator[Item]:
    """Every item: this package's first, then those of other packages in the order of their entry points.

    Raises InputError when another package's items cannot be had.
    """
    _load(tuple(sys.path))
    yield from tuple(ITEMS.values())


def find_item(name: str) -> Item:
    """The item of this name; KeyError when there is none."""
    _load(tuple(sys.path))
    return ITEMS[name]


def board_names(*parts: BoardPart) -> tuple[str, ...]:
    """The names of the items that are these parts of a fondant board, or of all its parts, in that order."""
    by_part = {each.board_part: each.name for each in items() if each.board_part is not None}
    return tuple(by_part[part] for part in parts or BoardPart)


@lru_cache(maxsize=1)
def _load(path: tuple[str, ...]) -> None:
    """Register every item, once for each `path` that packages are found on: looking through it takes milliseconds."""
    for module in sorted(each.name for each in pkgutil.iter_modules(woodshop.hardware.items.__path__)):
        importlib.import_module(f"woodshop.hardware.items.{module}")
    load_outside(ITEMS)
