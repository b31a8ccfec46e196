"""The bee-space limits that the checks use, as rows of the table state them."""

from dataclasses import dataclass

from woodshop.reference.facts import fact
from woodshop.reference.limits import band
from woodshop.units import Length


@dataclass(frozen=True, slots=True)
class Limits:
    """A closed band, the amber margins outside it, and where it was published."""

    least: Length
    most: Length
    amber_least: Length
    amber_most: Length
    cite: str


def band_limits() -> Limits:
    """The most quoted band, 1/4 to 3/8 in, and the margins in which a gap is a warning."""
    chosen = band()
    return Limits(
        chosen.least,
        chosen.most,
        fact("bee_space.amber_least").length,
        fact("bee_space.amber_most").length,
        chosen.cite,
    )
