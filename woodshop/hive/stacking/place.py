"""Where a thing sits in a hive, and which of its parts and faces matter there: declared by what makes it."""

from dataclasses import KW_ONLY, dataclass
from enum import StrEnum


class TierKind(StrEnum):
    """What a tier of the hive is, from the ground up."""

    BOTTOM = "bottom board"
    INSERT = "insert under the screen"
    ENTRANCE = "in front of the entrance"
    BOX = "box"
    ON_BARS = "on the top bars"
    BOARD = "board"
    SHIM = "shim"
    TOP_BOX = "top box"
    FEEDER = "feeder"
    ADDED = "added"
    INNER_COVER = "inner cover"
    UNDER_COVER = "under the cover"
    COVER = "cover"


STANDING = (
    TierKind.BOX,
    TierKind.BOARD,
    TierKind.SHIM,
    TierKind.TOP_BOX,
    TierKind.FEEDER,
    TierKind.ADDED,
    TierKind.INNER_COVER,
)
"""Tiers that stand one on the other and close the hive to the outside."""


class Work(StrEnum):
    """How a size comes about, and so how far it varies."""

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
class Varying:
    """A size of a thing that varies: of its parts of that name along an axis, 0 to 2.

    Their upper faces move with a height (axis 2), and with them those of `along`; both ends with a length. `swells`
    where it lies across the grain; `made` where we make it.
    """

    name: str
    part: str
    axis: int
    _: KW_ONLY
    work: Work
    swells: bool = False
    made: bool = True
    along: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a thing sits: in which tier, named how, and its parts by what they do there.

    `walls` are its outer walls, or `block` the one part that is all four; `rim` what a thing with four walls is called,
    whose sizes then vary as those of a rim do, and `varying` the other sizes that vary. `floors` lie between the walls
    and what is under them; `ceiling` closes the room below, by the name `ceiling_name`: gaps are measured up to it, and
    what closes a hive and is not named here is found by the checks. `passages` are the cuts in the
    walls that bees use. Of things with the same `one_of` a hive has one, and what has a kind in `without` goes out.
    `made_of` names the items that only together make the thing. It is lowered onto whatever is under it, or, with
    `rests_on`, onto parts of these names.
    """

    kind: TierKind
    name: str
    walls: tuple[str, ...] = ()
    block: str = ""
    rim: str = ""
    floors: tuple[str, ...] = ()
    ceiling: tuple[str, ...] = ()
    ceiling_name: str = ""
    passages: tuple[str, ...] = ()
    varying: tuple[Varying, ...] = ()
    one_of: str = ""
    without: tuple[TierKind, ...] = ()
    made_of: tuple[str, ...] = ()
    rests_on: tuple[str, ...] = ()
    own: bool = True

    @property
    def outside(self) -> tuple[str, ...]:
        """The names of the parts that are its outer walls, or the block that is all four."""
        return (*self.walls, *((self.block,) if self.block else ()))
