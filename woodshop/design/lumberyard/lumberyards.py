"""One yard file or several: what all of them sell, taken together, so that each is bought where it is cheapest."""

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from woodshop.design.lumberyard.lumberyard_file import Yard, read_yard
from woodshop.errors import InputError, Problem


def read_yards(paths: tuple[Path, ...]) -> Yard:
    """The yards as one. The first file holds the rack; every offer names its yard where there are several.

    Raises InputError with every problem in the files, and where they contradict each other.
    """
    yards: list[Yard] = []
    found: list[Problem] = []
    for path in paths:
        try:
            yards.append(read_yard(path))
        except InputError as bad:
            found += bad.problems
    if found:
        raise InputError(*found)
    return joined(yards, [path.name for path in paths])


def joined(yards: list[Yard], files: list[str]) -> Yard:
    """Several yards as one. Raises InputError where they contradict each other; `files` name them."""
    first = yards[0]
    if len(yards) == 1:
        return first
    found: list[Problem] = []
    for file, yard in zip(files[1:], yards[1:], strict=True):
        if yard.currency != first.currency:
            found.append(
                Problem(f"{file}, currency", yard.currency, f"{first.currency}, as in the first", "Convert it.")
            )
        if any(offer.label for offer in yard.offers):
            found.append(Problem(file, "a rack", "one rack, in the first yard file", "Move it there."))
        if yard.name in {other.name for other in yards if other is not yard}:
            found.append(Problem(f"{file}, name", repr(yard.name), "yards that differ in name", "Name it."))
    if found:
        raise InputError(*found)
    return replace(
        first,
        name=" and ".join(yard.name for yard in yards),
        seen=min(yard.seen for yard in yards),
        offers=tuple(
            offer if offer.label else replace(offer, id=f"{yard.name}: {offer.id}", what=f"{offer.what} ({yard.name})")
            for yard in yards
            for offer in yard.offers
        ),
        packs=tuple(replace(pack, what=f"{pack.what} ({yard.name})") for yard in yards for pack in yard.packs),
        too_long=tuple(offer for yard in yards for offer in yard.too_long),
        left_out=tuple(f"{words} ({yard.name})" for yard in yards for words in yard.left_out),
        terms=tuple(terms for yard in yards for terms in yard.terms),
        ready=tuple(replace(ready, what=f"{ready.what} ({yard.name})") for yard in yards for ready in yard.ready),
    )


def only(yard: Yard, names: Iterable[str]) -> Yard:
    """What is sold at these of the yards alone, with the rack at home."""
    chosen = set(names)
    return replace(
        yard,
        offers=tuple(offer for offer in yard.offers if offer.label or offer.yard in chosen),
        packs=tuple(pack for pack in yard.packs if pack.yard in chosen),
        ready=tuple(ready for ready in yard.ready if ready.yard in chosen),
        terms=tuple(terms for terms in yard.terms if terms.yard in chosen),
    )
