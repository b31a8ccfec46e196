"""Items of other packages, found by the entry point group `woodshop.items`.

A package names a module of its own in that group; the module registers its makers with `@item(...)` as it is
imported, as this package's own do:

    [project.entry-points."woodshop.items"]
    bottle-rack = "my_package.bottle_rack"

A package that cannot be imported, takes a name that is taken, registers nothing or rests on a row that is not
there gives one error that names it; so does a maker or check of it that fails.
"""

from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import wraps
from importlib.metadata import EntryPoint, entry_points
from typing import Any

from woodshop.errors import InputError, Problem, WoodshopError
from woodshop.hardware.registry import Item
from woodshop.reference.facts import fact

GROUP = "woodshop.items"
_loaded: set[tuple[str, str]] = set()


def load_outside(known: dict[str, Item]) -> None:
    """Add to `known` the items of every entry point that has not been loaded yet, in the order of their names.

    Raises InputError with one problem for each entry point that is at fault; `known` keeps nothing of those.
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
    """Each entry point once, in the order of name and value, however often its package lies on the path."""
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
        f"a module whose items ({GROUP}) register under names of their own",
        "Mend or update that package, or uninstall it.",
    )


def _package(point: EntryPoint) -> str:
    return f"package {point.dist.name!r}" if point.dist is not None else "another package"


def _guarded(each: Item, point: EntryPoint) -> Item:
    """The item, with what its code raises turned into one problem that names its package."""

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
                        "an item that can be made as asked",
                        "Change the values given for it, or report it to the makers of that package.",
                    )
                ) from why

        return run

    check = None if each.check is None else guard(each.check, "check")
    return replace(each, make=guard(each.make, "maker"), check=check)
