"""A size of a hive that can stray, as a value: what it is, how it comes about, and what moves with it."""

from dataclasses import KW_ONLY, dataclass
from fractions import Fraction

from woodshop.hive.stacking.place import Place
from woodshop.hive.stacking.place import Work as Work
from woodshop.hive.variation.moved_faces import Move
from woodshop.units.lengths import ZERO, Length

Target = tuple[str, int]
"""What a size belongs to: "box", "bar" or "frame" with the number of the box, or "bottom", "inner", "cover"."""


@dataclass(frozen=True, slots=True)
class Dimension:
    """A size that can stray. `swells` is how much wood across the grain lies in it; nothing along the grain.

    `made` is True where it is of what we make. `fields` are what of the user's parts changes with it, and how many
    times as much; `moves` what faces of made things.
    """

    name: str
    nominal: Length
    _: KW_ONLY
    work: Work
    swells: Length = ZERO
    made: bool = False
    fields: tuple[tuple[Target, str, Fraction], ...] = ()
    moves: tuple[tuple[Place, Move], ...] = ()
