"""The [buying] and [worth] tables of a design file: the choice of lumberyards, and the value of work and offcuts.

With [worth], the plan for sawn material has the lowest total found: the cost of the stock plus the value of the work
minus the value of the offcuts. Without it, only cost counts. Material cut by hand is always planned by cost.
"""

from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING

from woodshop.cutting.checkers.check import area_of
from woodshop.cutting.model.job import Job
from woodshop.design.schema import Cents, SettingTable, Size, Words, design_key
from woodshop.errors import Problem
from woodshop.hardware.catalogue import item_hint, items
from woodshop.reference.materials import Material
from woodshop.units.lengths import Length, Money
from woodshop.units.wording import Wording

if TYPE_CHECKING:
    from woodshop.cutting.layouts.weigh import Wishes


class BuyingTable(SettingTable):
    """The [buying] table."""

    on: date | None = design_key(
        "The day you plan to buy. Prices too old on that day are flagged.",
        otherwise="the earliest due date",
        example="2026-10-03",
    )
    one_lumberyard: bool = design_key(
        "Whether everything is bought at one lumberyard, the cheapest one.",
        False,
        otherwise="false, wherever the total is lowest",
        example="true",
    )
    ready_made: tuple[Words, ...] | Words = design_key(
        "Items that may be bought ready-made if that is cheaper: one, or several in a list. The lumberyard file has "
        "them under [[ready]].",
        (),
        otherwise="none, everything is made",
        example='"mouse guard"',
    )


@dataclass(frozen=True, slots=True)
class Buying:
    """The settled table: the day of buying, whether to use one lumberyard, and items that can be bought ready-made."""

    on: date | None = None
    one_lumberyard: bool = False
    ready_made: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Days:
    """The day on which everything must be on the hives, and the date of the quotes. Each is None if it is not given."""

    on_by: date | None = None
    quoted_on: date | None = None


def buying_settings(table: BuyingTable, where: str, found: list[Problem]) -> Buying:
    """The table of the file `where` as values. Unknown items are added to `found`."""
    names = (table.ready_made,) if isinstance(table.ready_made, str) else table.ready_made
    known = [item.name for item in items() if item.is_per_hive]
    for name in names:
        if name not in known:
            do = item_hint(name, known)
            wanted = "an item that every hive gets: " + ", ".join(known)
            found.append(Problem(f"{where}, buying, ready_made", repr(name), wanted, do))
    return Buying(table.on, table.one_lumberyard, tuple(dict.fromkeys(names)))


_MOST = 100_000  # minor units: a thousand dollars for one setting is a typing error


class WorthTable(SettingTable):
    """The [worth] table. Money is in the currency of the lumberyard."""

    layout: Cents = design_key(
        "Value of having one layout less to mark out and saw.", 0, otherwise="nothing", example='"1.00"'
    )
    setting: Cents = design_key(
        "Value of having one fence or stop setting less, counted layout by layout.",
        0,
        otherwise="nothing",
        example='"0.25"',
    )
    offcut: Cents = design_key(
        "Value of an offcut of the minimum size. A larger one is worth more, by its area; a smaller one is worth "
        "nothing. At "
        "most the cost of the same wood in a new board.",
        0,
        otherwise="nothing",
        example='"0.20"',
    )
    least_length: Size | None = design_key(
        "Minimum length of an offcut worth keeping.", otherwise="shortest_offcut of [saw]", example='"16"'
    )
    least_width: Size | None = design_key(
        "Minimum width of an offcut worth keeping.", otherwise="narrowest_offcut of [saw]", example='"1 1/2"'
    )


@dataclass(frozen=True, slots=True)
class Worth:
    """The settled table: the value of saving one layout, of saving one setting, and of an offcut of minimum size."""

    layout: Money
    setting: Money
    offcut: Money
    least_length: Length
    least_width: Length


def worth_faults(table: WorthTable, where: str) -> list[Problem]:
    """Problems in the table itself; `worth_problem` finds conflicts with the lumberyard."""
    found = [
        Problem(
            f"{where}, worth, {name}", str(Money(value, "USD")).lstrip("$"), "at most 1,000.00", "Correct the price."
        )
        for name, value in (("layout", table.layout), ("setting", table.setting), ("offcut", table.offcut))
        if value > _MOST
    ]
    sizes = [name for name in ("least_length", "least_width") if getattr(table, name) is not None]
    if sizes and not table.offcut:
        given = f"{' and '.join(sizes)} of an offcut that is worth nothing"
        found.append(Problem(f"{where}, worth", given, "offcut, with a price", "Add the line, or remove the sizes."))
    return found


def wishes_for(worth: Worth | None, material: Material, grid: Length, job: Job) -> "Wishes | None":
    """The values as numbers, with sizes in steps of `grid`; None if nothing has a value or the material is not sawn."""
    if worth is None or not material.is_sawn:
        return None
    from woodshop.cutting.layouts.weigh import Wishes  # brings the planner, which reading a design does not need

    length, width = (max(1, -int(-size.mm // grid.mm)) for size in (worth.least_length, worth.least_width))
    return Wishes(worth.layout.minor, worth.setting.minor, worth.offcut.minor, length, width)


def worth_problem(worth: Worth | None, material: Material, grid: Length, job: Job, wording: Wording) -> Problem | None:
    """The conflict with the lumberyard, if offcuts are worth more than the boards they come from."""
    wishes = wishes_for(worth, material, grid, job)
    if worth is None or wishes is None or not wishes.fault(job):
        return None
    rates = []
    for stock in job.stock:
        x0, x1, y0, y1 = area_of(stock)
        if stock.count is None:
            rates.append(Fraction(stock.cost, (x1 - x0) * (y1 - y0)))
    most = Money(int(min(rates) * wishes.least_length * wishes.least_width), worth.offcut.currency)
    given = f"{worth.offcut} for an offcut {wording.length(worth.least_length)} x {wording.length(worth.least_width)}"
    stuff = material.size if material.is_lumber else material
    wanted = f"at most {most}; above that, whole boards of {stuff} would be bought just to keep"
    return Problem("design, worth, offcut", given, wanted, "Lower it, or give a larger least_length or least_width.")
