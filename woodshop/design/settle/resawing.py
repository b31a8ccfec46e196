"""Settles the saw and the planer for boards that may be resawn; refuses them where the shop has none."""

from woodshop.design.lumberyard.lumberyard_file import Offer
from woodshop.design.schema import Default
from woodshop.design.settings.resawing import BAND_SAW, GUARDED_TABLE_SAW, Resawing
from woodshop.design.settings.saw import ToolsTable
from woodshop.errors import InputError, Problem
from woodshop.reference.facts import fact
from woodshop.units.lengths import Length
from woodshop.units.wording import LengthUnit


def settled_resawing(
    table: ToolsTable, table_saw_kerf: Length, offers: tuple[Offer, ...], unit: LengthUnit, defaults: list[Default]
) -> Resawing | None:
    """The saw and the planer for the boards that may be resawn, or None if there are none.

    Values that are not given are added to `defaults`. Raises InputError if the shop has no such saw or no planer, or if
    these take none of the boards.
    """
    wanted = [offer for offer in offers if offer.resaw]
    if not wanted:
        return None
    do = "Give it under [tools]. Or remove resaw = true in the lumberyard file."
    lacking = []
    if table.resaw_height is None:
        name = (table.resaw_with or BAND_SAW).partition(" with")[0]
        text = f"the widest board that your {name} cuts through in one pass, standing on edge"
        lacking.append(Problem("tools, resaw_height", "nothing, for boards with resaw = true", text, do))
    if table.planer_shortest is None:
        text = "the shortest board that your planer takes, because resawn boards are rough"
        lacking.append(Problem("tools, planer_shortest", "nothing, for boards with resaw = true", text, do))
    if table.resaw_height is None or table.planer_shortest is None:
        raise InputError(*lacking)
    saw: str = table.resaw_with or BAND_SAW
    if table.resaw_with is None:
        defaults.append(Default("tools", "resaw_with", saw, "common practice, no source"))
    sizes: dict[str, Length] = {}
    for name in ("resaw_kerf", "planing_allowance", "planer_width"):
        given: Length | None = getattr(table, name)
        if given is None and name == "resaw_kerf" and saw == GUARDED_TABLE_SAW:
            given = table_saw_kerf
            defaults.append(Default("tools", name, given.text(unit), "the kerf of the table saw"))
        elif given is None:
            row = fact(f"tool.{name}")
            given = row.length_in(unit)
            defaults.append(Default("tools", name, row.value_in(unit), row.cite))
        sizes[name] = given
    found = Resawing(
        saw=saw, height=table.resaw_height, kerf=sizes["resaw_kerf"], planing=sizes["planing_allowance"],
        shortest=table.planer_shortest, widest=sizes["planer_width"],
    )  # fmt: skip
    _refuse_unless_able(found, wanted, unit)
    return found


def _refuse_unless_able(own: Resawing, wanted: list[Offer], unit: LengthUnit) -> None:
    """Raises InputError if the saw or the planer takes none of the boards that may be resawn."""
    narrowest, longest = min(offer.width for offer in wanted), max(offer.to_carry for offer in wanted)
    for key, size in (("resaw_height", own.height), ("planer_width", own.widest)):
        if narrowest > size:
            given, least = size.text(unit), f"{narrowest.text(unit)}, the narrowest board with resaw = true"
            do = "Boards are not ripped before they are resawn: remove resaw = true in the lumberyard file."
            raise InputError(Problem(f"tools, {key}", given, f"at least {least}", do))
    if longest < own.shortest:
        given, most = own.shortest.text(unit), f"{longest.text(unit)}, the longest piece that comes home"
        raise InputError(
            Problem("tools, planer_shortest", given, f"at most {most}", "Correct it, or buy longer boards.")
        )
