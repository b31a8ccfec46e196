"""The values in which an item declares its place in a hive, and those of its parts that matter there."""

from dataclasses import KW_ONLY, dataclass
from enum import StrEnum


class TierKind(StrEnum):
    """The kinds of tier in a hive, from bottom to top."""

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
"""The tiers that stand on each other and close the hive to the outside."""


class Work(StrEnum):
    """The kind of work that produces a size and therefore determines its tolerance."""

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
    """A varying size of an item: the size of the parts called `part` along an axis (0, 1 or 2).

    If a height (axis 2) changes, the upper faces of these parts and of the parts in `along` move. If a length changes,
    both ends move. `swells` is true if the size is across the grain, and `made` is true if we make the part.
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
    """The place of an item in a hive: its tier, its name, and its parts, grouped by purpose.

    `walls` are its outer walls, or `block` is the one part that forms all four. `rim` is the name of an item with four
    walls, whose sizes vary like those of a rim; `varying` are its other varying sizes. `floors` are between the walls
    and the parts below. `ceiling` closes the space below, and its name is `ceiling_name`. Gaps are measured up to the
    ceiling; the checks find other parts that close a hive. `passages` are the cuts in the walls that bees use. A hive
    can have only one item with the same `one_of`, and an item replaces the kinds of tier in `without`. `made_of` names
    the items that must be combined to make the unit. The item is lowered onto the parts below it or, if `rests_on`
    names some of them, only onto those.
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
        """The names of the parts that are the outer walls, or of the block that forms all four walls."""
        return (*self.walls, *((self.block,) if self.block else ()))
