"""The screws that a yard sells, held to the thickness of the walls: those that fit are bought, the others left out."""

from dataclasses import replace

from woodshop.design.lumberyard.lumberyard_file import Pack, Yard
from woodshop.hardware.screws import Screw, fits, least_grip
from woodshop.units.lengths import ZERO, Length


def for_sale(yard: Yard) -> tuple[Screw, ...]:
    """Every size of screws for sale, each once."""
    return tuple(dict.fromkeys(pack.screw for pack in yard.packs if pack.screw is not None))


def with_fitting_screws(yard: Yard, wood: Length) -> Yard:
    """The yard with the screws that are used for walls of this thickness; what is left out is listed with its reason.

    Of several sizes that fit only the shortest is kept, so that one size serves a batch. Screws whose size the file
    does not say are kept.
    """
    fitting = [screw for screw in for_sale(yard) if fits(screw, wood)]
    chosen = min(fitting, key=lambda screw: (screw.length, screw.gauge), default=None)
    kept: list[Pack] = []
    out: list[str] = []
    for pack in yard.packs:
        if pack.screw is None or pack.screw == chosen:
            kept.append(pack)
        else:
            out.append(f"{pack.what}: {_why(pack.screw, wood)}")
    return replace(yard, packs=tuple(kept), left_out=(*yard.left_out, *out))


def _why(screw: Screw, wood: Length) -> str:
    unit = "mm" if screw.is_metric else "in"
    if fits(screw, wood):
        return "longer than needed"
    grip, least = screw.grip(wood), least_grip(screw)
    if grip >= least:
        return f"too long for end grain behind {wood.text(unit)} of wood"
    held = f"behind {wood.text(unit)} of wood only {max(grip, ZERO).text(unit)} of thread is left"
    return f"{held}; end grain needs {least.text(unit)}"
