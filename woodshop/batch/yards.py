"""One yard file or several: what all of them sell, taken together, so that each is bought where it is cheapest."""

from dataclasses import replace
from pathlib import Path

from woodshop.batch.yard import SawTable, Yard, read_yard
from woodshop.errors import InputError, Problem


def read_yards(paths: tuple[Path, ...]) -> Yard:
    """The yards as one. The first file holds the saw and the rack; every offer names its yard where there are several.

    Raises InputError with every problem in the files, and where they contradict each other.
    """
    if len(paths) == 1:
        return read_yard(paths[0])
    yards: list[Yard] = []
    found: list[Problem] = []
    for path in paths:
        try:
            yards.append(read_yard(path))
        except InputError as bad:
            found += bad.problems
    if found:
        raise InputError(*found)
    first = yards[0]
    for path, yard in zip(paths[1:], yards[1:], strict=True):
        if yard.currency != first.currency:
            found.append(
                Problem(f"{path.name}, currency", yard.currency, f"{first.currency}, as in the first", "Convert it.")
            )
        if yard.saw != SawTable() or any(offer.label for offer in yard.offers):
            found.append(
                Problem(path.name, "a saw or a rack", "one of each, in the first yard file", "Move them there.")
            )
        if yard.name in {other.name for other in yards if other is not yard}:
            found.append(Problem(f"{path.name}, name", repr(yard.name), "yards that differ in name", "Name it."))
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
        left_out=tuple(f"{words} ({yard.name})" for yard in yards for words in yard.left_out),
    )
