"""The checks of a whole batch: its units made, its hives put together, and all that is found of them."""

from collections.abc import Callable

from woodshop.checks.check_hardware import check_hives
from woodshop.checks.measured.cold_tops import cold_tops
from woodshop.checks.measured.hives import HiveGroup
from woodshop.checks.rules.cold import check_cold
from woodshop.checks.rules.prices import check_prices
from woodshop.checks.rules.screws import check_screws
from woodshop.checks.rules.variation import check_moves
from woodshop.checks.variation.hive_variation import moved_hives
from woodshop.design.batch import Batch, Unit
from woodshop.design.make_units import make_units
from woodshop.engineering.draws import load_arrays
from woodshop.findings import Report, gather
from woodshop.hive.gaps.grading import bee_space
from woodshop.units.lengths import told_in


def check_batch(batch: Batch) -> tuple[tuple[Unit, ...], Report]:
    """The units, and what the checks say of them."""
    units, report, _ = measured_batch(batch)
    return units, report


def measured_batch(
    batch: Batch, progress: Callable[[str], None] | None = None
) -> tuple[tuple[Unit, ...], Report, tuple[HiveGroup, ...]]:
    """The units, what the checks say of them, and what was measured of the hives.

    `progress` gets a line for each long step.
    """
    with told_in(batch.unit):
        units = make_units(batch)
        return units, *check_made(batch, units, progress)


def check_made(
    batch: Batch, units: tuple[Unit, ...], progress: Callable[[str], None] | None = None, *, prices: bool = True
) -> tuple[Report, tuple[HiveGroup, ...]]:
    """What the checks say of these units, with `prices` also of those, and what was measured of the hives."""
    load_arrays()
    with told_in(batch.unit):
        found, groups = check_hives(units, batch.band, batch.wording, progress)
        if batch.tolerances is not None:
            moved = moved_hives(units, batch.tolerances, bee_space(batch.band, batch.unit), progress=progress)
            found = (*found, *check_moves(moved, batch.wording))
        found = (*found, *check_cold(cold_tops(units, batch.climate), batch.wording))
        found = (*found, *check_screws(units), *check_prices(batch)) if prices else found
        return gather(found), groups
