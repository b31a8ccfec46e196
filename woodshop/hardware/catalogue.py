"""Every item, from this package and from others, and the names that people use for the items."""

import importlib
import pkgutil
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from functools import lru_cache, wraps
from importlib.metadata import EntryPoint, entry_points
from typing import Any

import woodshop.hardware.items
from woodshop.errors import InputError, Problem, WoodshopError, did_you_mean
from woodshop.hardware.registry import ITEMS, BoardPart, Item
from woodshop.reference.facts import fact

GROUP = "woodshop.items"
_loaded: set[tuple[str, str]] = set()


def load_outside(known: dict[str, Item]) -> None:
    """Adds to `known` the items of every entry point that is not loaded yet, in the order of names.

    Raises InputError with one problem for each faulty entry point, whose items are not added.
    """
    found: list[Problem] = []
    for point in _points(entry_points(group=GROUP)):
        if (point.name, point.value) in _loaded:
            continue
        before = dict(known)
        try:
            point.load()
            fresh = [each for name, each in known.items() if name not in before]
            _sound(fresh)
        except (Exception, SystemExit) as why:
            known.clear()
            known.update(before)
            found.append(_problem(point, why))
            continue
        known.update({each.name: _guarded(each, point) for each in fresh})
        _loaded.add((point.name, point.value))
    if found:
        raise InputError(*found)


def _points(points: Iterable[EntryPoint]) -> list[EntryPoint]:
    """Every entry point once, ordered by name and value, even if its package is on the path more than once."""
    once = {(point.name, point.value): point for point in points}
    return [once[key] for key in sorted(once)]


def _sound(fresh: list[Item]) -> None:
    if not fresh:
        raise ValueError("its module registers no item")
    for each in fresh:
        for parameter in each.parameters:
            if parameter.param.fact is not None:
                fact(parameter.param.fact)


def _problem(point: EntryPoint, why: BaseException) -> Problem:
    said = str(why.args[0]) if isinstance(why, KeyError) and why.args else str(why)
    return Problem(
        f"{_package(point)}, entry point {point.name!r}",
        f"{point.value!r}, which fails: {type(why).__name__}: {said.partition(chr(10))[0]}",
        f"a module whose items ({GROUP}) have their own names",
        "Update that package or uninstall it.",
    )


def _package(point: EntryPoint) -> str:
    return f"package {point.dist.name!r}" if point.dist is not None else "another package"


def _guarded(each: Item, point: EntryPoint) -> Item:
    """The item, wrapped so that any exception in its code becomes one problem that names its package."""

    def guard(function: Callable[..., Any], deed: str) -> Callable[..., Any]:
        @wraps(function)
        def run(*args: Any, **kwargs: Any) -> Any:
            try:
                return function(*args, **kwargs)
            except WoodshopError:
                raise
            except Exception as why:
                raise InputError(
                    Problem(
                        f"{each.name}, {deed}",
                        f"an error in {_package(point)}: {type(why).__name__}: {why}",
                        "an item that can be made",
                        "Change the values given for it, or report it to the makers of that package.",
                    )
                ) from why

        return run

    check = None if each.check is None else guard(each.check, "check")
    return replace(each, make=guard(each.make, "maker"), check=check)


def items() -> Iterator[Item]:
    """Every item: first the items of this package, then the items of other packages in the order of their entry points.

    Raises InputError if the items of another package cannot be loaded.
    """
    _load(tuple(sys.path))
    yield from tuple(ITEMS.values())


def find_item(name: str) -> Item:
    """The item with this name. Raises KeyError if there is none."""
    _load(tuple(sys.path))
    return ITEMS[name]


def board_names(*parts: BoardPart) -> tuple[str, ...]:
    """The names of the items that make these parts of a fondant board (by default all), in the order of the parts."""
    by_part = {each.board_part: each.name for each in items() if each.board_part is not None}
    return tuple(by_part[part] for part in parts or BoardPart)


@lru_cache(maxsize=1)
def _load(path: tuple[str, ...]) -> None:
    """Registers every item. Runs once for each package search path, because a search takes milliseconds."""
    for module in sorted(each.name for each in pkgutil.iter_modules(woodshop.hardware.items.__path__)):
        importlib.import_module(f"woodshop.hardware.items.{module}")
    load_outside(ITEMS)


BOARD_PARTS = ("fondant rim", "wire bottom", "spacer strips")
SETS: Mapping[str, tuple[str, ...]] = {"board": BOARD_PARTS, "fondant board": BOARD_PARTS, "candy board": BOARD_PARTS}
"""Names that stand for several items at once."""

_WORDS_FOR = {
    "fondant rim": "candy rim, rim",
    "wire bottom": "mesh floor, mesh, hardware cloth",
    "spacer strips": "strips, lattice strips",
    "packing blocks": "blocks, forming blocks",
    "quilt box": "quilt, moisture box, moisture quilt",
    "vent spacers": "cover spacers",
    "mouse guard": "entrance guard",
    "bottom insert": "insert, bottom closure, bottom board insert",
    "feeder quilt": "feeder, top feeder",
    "bee-space gauge": "gauge",
    "feeding shim": "cake rim, shim, spacer rim",
}
SYNONYMS: Mapping[str, str] = {word: name for name, words in _WORDS_FOR.items() for word in words.split(", ")}
"""Trade words for an item. They are refused, with the item's name as a hint."""


def folded(text: str) -> str:
    """The text in lower case with single spaces."""
    return " ".join(text.casefold().split())


def items_named(name: object) -> tuple[str, ...]:
    """The names of the items that a user's word refers to. The result is empty if there are none."""
    plain = folded(name) if isinstance(name, str) else ""
    if plain in SETS:
        return SETS[plain]
    return (plain,) if any(item.name == plain for item in items()) else ()


def item_hint(name: object, known: Iterable[str], otherwise: str = "Choose one of them.") -> str:
    """A sentence about what to do if a name is unknown."""
    plain, names = folded(str(name)), list(known)
    if plain in SETS and plain not in names:
        return f"It is made of these items: {', '.join(SETS[plain])}."
    if SYNONYMS.get(plain) in names:
        return f"Did you mean {SYNONYMS[plain]!r}?"
    return did_you_mean(plain, names, otherwise)
