"""Names that must agree across a design: hives named once, and every name used is one of them."""

from collections.abc import Sequence
from difflib import get_close_matches
from typing import Protocol

from woodshop.design.tables import HivesTable, ShedTable
from woodshop.errors import Problem
from woodshop.hardware.catalogue import items, near_item
from woodshop.hardware.registry import Item


class Wish(Protocol):
    """A [[make]] for one item, as far as names go."""

    @property
    def item(self) -> Item:
        """What is made."""

    @property
    def hives(self) -> tuple[str, ...]:
        """For which hives; none means all."""

    @property
    def where(self) -> str:
        """Its place in the file."""


def name_faults(
    where: str, hives: Sequence[HivesTable], makes: Sequence[Wish], shed: Sequence[ShedTable]
) -> list[Problem]:
    """Every name that is wrong: of hives, of what is made for them, of what hangs in the shed; `where` is the file."""
    named = [each.name for each in hives]
    return [
        *_hives(where, named),
        *_used(where, named, makes, shed),
        *_shed(where, hives, shed),
        *_twice(where, named, makes),
    ]


def _hives(where: str, named: list[str]) -> list[Problem]:
    found = []
    if len(named) > 1:
        for n, name in enumerate(named, 1):
            if not name:
                found.append(
                    Problem(f"{where}, hives number {n}", "no name", "a name for each of several", "Add a name line.")
                )
            elif name in named[: n - 1]:
                found.append(
                    Problem(f"{where}, hives number {n}, name", repr(name), "each name once", "Choose another name.")
                )
    return found


def _used(where: str, named: list[str], makes: Sequence[Wish], shed: Sequence[ShedTable]) -> list[Problem]:
    found: list[Problem] = []
    used = [(make.where, name) for make in makes for name in make.hives]
    used += [(f"{where}, shed number {n}", row.hives) for n, row in enumerate(shed, 1)]
    for place, name in used:
        if name not in named:
            near = get_close_matches(name, named, n=1)
            listed = f"Named in this file: {', '.join(filter(None, named))}." if any(named) else "Name the hives first."
            do = f"Did you mean {near[0]!r}?" if near else listed
            problem = Problem(f"{place}, hives", repr(name), "the name of some [[hives]]", do)
            if problem not in found:
                found.append(problem)
    return found


def _shed(where: str, hives: Sequence[HivesTable], shed: Sequence[ShedTable]) -> list[Problem]:
    found = []
    per = {item.name: item.per for item in items()}
    counts = {each.name: each.count for each in hives}
    seen: set[tuple[str, str]] = set()
    for n, row in enumerate(shed, 1):
        place = f"{where}, shed number {n}"
        if row.item not in per:
            found.append(
                Problem(f"{place}, item", repr(row.item), "one of " + ", ".join(per), near_item(row.item, per))
            )
        elif per[row.item] != "hive":
            wanted = f"items that every hive gets; {row.item} are counted by {per[row.item]}"
            found.append(Problem(f"{place}, item", repr(row.item), wanted, f"Lower {per[row.item]} instead."))
        if row.repair > row.have:
            given = f"{row.repair} to repair of {row.have}"
            found.append(Problem(place, given, "no more repairs than there are", "Count again."))
        if row.hives in counts and row.have > counts[row.hives]:
            given, do = f"{row.have} for {counts[row.hives]} hives", "Count only what is wanted on these hives."
            found.append(Problem(f"{place}, have", given, "at most one for each hive", do))
        if (row.item, row.hives) in seen:
            found.append(Problem(place, f"{row.item} for {row.hives} again", "each pair once", "Add the two up."))
        seen.add((row.item, row.hives))
    return found


def _twice(where: str, named: list[str], makes: Sequence[Wish]) -> list[Problem]:
    found = []
    made: set[tuple[str, str]] = set()
    for make in makes:
        for name in make.hives or named:
            if (make.item.name, name) in made:
                found.append(
                    Problem(
                        f"{where}, make",
                        f"{make.item.name} for {name or 'the hives'} twice",
                        "each item once for the same hives",
                        "Remove one, or name other hives.",
                    )
                )
            made.add((make.item.name, name))
    return found
