"""The screws of a lumberyard that fit the walls of a batch: one size for all of them."""

from dataclasses import replace

from woodshop.design.design_file import Design
from woodshop.design.lumberyard.lumberyard_file import Lumberyard, Pack
from woodshop.errors import InputError, Problem
from woodshop.hardware.screws import Screw, fits, least_grip, stocked
from woodshop.units.lengths import ZERO, Length


def for_sale(lumberyard: Lumberyard) -> tuple[Screw, ...]:
    """Every size of screw for sale, without duplicates."""
    return tuple(dict.fromkeys(pack.screw for pack in lumberyard.packs if pack.screw is not None))


def with_fitting_screws(lumberyard: Lumberyard, woods: tuple[Length, ...]) -> Lumberyard:
    """The lumberyard with only the screws for walls of these thicknesses.

    The others are omitted and listed with the reason.

    If several sizes fit, only the shortest is kept, so one size serves the batch. Screws of unknown size are kept.
    """
    fitting = [screw for screw in for_sale(lumberyard) if all(fits(screw, wood) for wood in woods)]
    chosen = min(fitting, key=lambda screw: (screw.length, screw.gauge), default=None)
    kept: list[Pack] = []
    out: list[str] = []
    for pack in lumberyard.packs:
        if pack.screw is None or pack.screw == chosen:
            kept.append(pack)
        else:
            wood = next((wood for wood in woods if not fits(pack.screw, wood)), woods[0])
            out.append(f"{pack.what}: {_why(pack.screw, wood)}")
    there = tuple(each for each in lumberyard.on_hand if each.pack.screw in (None, chosen))
    return replace(lumberyard, packs=tuple(kept), left_out=(*lumberyard.left_out, *out), on_hand=there)


def _why(screw: Screw, wood: Length) -> str:
    unit = "mm" if screw.is_metric else "in"
    if fits(screw, wood):
        return "longer than needed"
    grip, least = screw.grip(wood), least_grip(screw)
    if grip >= least:
        return f"too long for end grain behind {wood.text(unit)} of wood"
    held = f"behind {wood.text(unit)} of wood only {max(grip, ZERO).text(unit)} of thread remains"
    return f"{held}; end grain needs {least.text(unit)}"


def wall_woods(design: Design, usual: Length) -> tuple[Length, ...]:
    """Every thickness of wood of the items, the usual one first if any item has it."""
    woods = dict.fromkeys(make.wood or usual for make in design.makes)
    return tuple(sorted(woods, key=lambda wood: (wood != usual, wood))) or (usual,)


def screws_for(lumberyard: Lumberyard, woods: tuple[Length, ...], design: Design) -> tuple[Screw, ...]:
    """The screws for sale; for walls of several thicknesses only those that fit all, as one size serves a batch.

    Raises InputError if each thickness has its own screw and no screw fits all.
    """
    sold = for_sale(lumberyard)
    offered = sold or stocked(design.unit)
    common = tuple(screw for screw in offered if all(fits(screw, wood) for wood in woods))
    if len(woods) == 1 or not all(any(fits(screw, wood) for screw in offered) for wood in woods):
        return sold
    if common:
        return common
    given = f"walls {' and '.join(wood.text(design.unit) for wood in sorted(woods))} thick"
    wanted = f"one size of screw that fits all walls; for sale: {', '.join(screw.size for screw in offered)}"
    do = "Add a screw that fits both to the lumberyard file, or make these items in batches of their own."
    raise InputError(Problem("make, wood", given, wanted, do))
