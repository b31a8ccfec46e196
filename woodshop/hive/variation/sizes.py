"""A size of a hive that can stray, as a value: what it is, how it comes about, and what moves with it."""

from dataclasses import KW_ONLY, dataclass
from enum import StrEnum
from fractions import Fraction

from woodshop.hive.stacking.stack import TierKind
from woodshop.hive.variation.moved_faces import Move
from woodshop.units.lengths import ZERO, Length

Target = tuple[str, int]
"""What a size belongs to: "box", "bar" or "frame" with the number of the box, or "bottom", "inner", "cover"."""


class Work(StrEnum):
    """How a size comes about, and so how far it strays."""

    SAW = "ripped"
    TAPE = "crosscut to a tape or stop"
    RABBET = "rabbeted or grooved"
    BOARD = "bought wood as it comes"
    SHEET = "sheet as it comes"
    GAP = "the gap measured over the top bars"
    BOX = "the user's own box or cover"
    HEIGHT = "height of the user's own box"
    FRAME = "the user's own frames"


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
    moves: tuple[tuple[TierKind, Move], ...] = ()
