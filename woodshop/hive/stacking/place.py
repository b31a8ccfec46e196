"""The place of an item in a hive, and its relevant parts and faces: declared by the item."""

from dataclasses import KW_ONLY, dataclass
from enum import StrEnum


class TierKind(StrEnum):
    """The kinds of tier in a hive, from the bottom up."""

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
"""Tiers that stand on each other and close the hive to the outside."""


class Work(StrEnum):
    """The kind of work that produces a size, which determines its tolerance."""

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
    """A size of an item that varies: of its parts of that name along an axis, 0 to 2.

    With a height (axis 2) their upper faces move, and those of `along`; with a length both ends. `swells` if it lies
    across the grain; `made` if we make it.
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
    """The place of an item: its tier, its name, and its parts by purpose.

    `walls` are its outer walls, or `block` the one part that is all four; `rim` is the name of an item with four walls,
    whose sizes then vary like a rim's, and `varying` are its other varying sizes. `floors` lie between the walls and
    what is below; `ceiling` closes the room below, called `ceiling_name`: gaps are measured up to it, and
    what closes a hive and is not named here is found by the checks. `passages` are the cuts in the walls that
    bees use. A hive has only one item of the same `one_of`, and an item removes the kinds in `without`. `made_of` names
    the items that only together make the unit. It is lowered onto whatever is below, or, with `rests_on`, onto parts of
    these names.
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
