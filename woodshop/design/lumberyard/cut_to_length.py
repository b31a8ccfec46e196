"""Cuts across boards where they are bought: what a lumberyard asks for them, and what it promises."""

from dataclasses import dataclass

from woodshop.design.lumberyard.lumberyard_tables import LumberyardTable
from woodshop.design.schema import Default
from woodshop.errors import Problem
from woodshop.reference.facts import fact
from woodshop.units.lengths import Length, Money


@dataclass(frozen=True, slots=True, kw_only=True)
class CutToLength:
    """What a lumberyard that cuts its boards across asks and promises.

    The first `free` cuts of each board cost nothing, each further cut costs `price`. No cut leaves a part shorter than
    `shortest`. A part longer than `longest` is not taken home. `kerf` is lost at each cut, and `allowance` at each end
    of a board or a part, where it is squared at home.
    """

    price: Money
    free: int
    shortest: Length
    allowance: Length
    kerf: Length
    longest: Length | None


def cut_to_length(
    where: str, table: LumberyardTable, found: list[Problem], listed: list[Default]
) -> CutToLength | None:
    """What the lumberyard of the file named `where` cuts, or None.

    Values that are not given are added to `listed`, conflicts to `found`.
    """
    own = ("free_cuts", "shortest_cut", "cut_allowance", "cut_kerf")
    if table.crosscut is None:
        alone = [key for key in own if getattr(table, key) is not None]
        if alone:
            do = 'Add crosscut = "0.00" if cuts are free, or their price; or remove these keys.'
            found.append(
                Problem(f"{where}, crosscut", f"{', '.join(alone)} without crosscut", "the price of a cut", do)
            )
        return None
    place, sizes = f"lumberyard {table.name}", {}
    for key in own[1:]:
        row = fact(f"lumberyard.{key}")
        sizes[key] = getattr(table, key) or row.length_in(table.unit)
        if getattr(table, key) is None:
            listed.append(Default(place, key, row.value_in(table.unit), row.cite))
    if table.free_cuts is None:
        listed.append(Default(place, "free_cuts", "0", "no free cuts are assumed"))
    shortest, least = sizes["shortest_cut"], sizes["cut_allowance"] * 2
    if shortest <= least:
        given, wanted = shortest.text(table.unit), f"more than {least.text(table.unit)}, the allowance at both ends"
        found.append(Problem(f"{where}, shortest_cut", given, wanted, "Ask for the shortest piece they cut."))
    if table.longest is not None and table.longest < shortest:
        given, wanted = table.longest.text(table.unit), f"at least shortest_cut, {shortest.text(table.unit)}"
        found.append(Problem(f"{where}, longest", given, wanted, "Correct one of the two."))
    return CutToLength(
        price=Money(table.crosscut, table.currency),
        free=table.free_cuts or 0,
        shortest=shortest,
        allowance=sizes["cut_allowance"],
        kerf=sizes["cut_kerf"],
        longest=table.longest,
    )
