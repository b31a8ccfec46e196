"""What has happened since a plan was made: boards cut, pieces spoiled or found, boards that are not as bought, offcuts.

A `Progress` is a plain value about one earlier plan. It may come from a spreadsheet or from the shop's own book; the
engine in `plan_rest` reads nothing else.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, get_args

from woodshop.units.lengths import Length

PieceChange = Literal["spoiled", "lost", "found", "made extra"]
PIECE_CHANGES: tuple[PieceChange, ...] = get_args(PieceChange)


@dataclass(frozen=True, slots=True)
class LayoutCut:
    """A layout of the earlier plan, by the number printed in its packet, and how many boards were cut by it.

    `material` is optional; if given, it must be the layout's.
    """

    layout: int
    times: int
    material: str = ""


@dataclass(frozen=True, slots=True)
class PieceCount:
    """Pieces spoiled at the bench, lost, found again, or made extra outside the plan.

    `part` is the mark or the address of the part, as on its label and in the part table; both are the earlier plan's.
    """

    part: str
    change: PieceChange
    count: int
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardFault:
    """Boards, sheets or rolls on hand that cannot be cut as planned.

    `stock` is the name on the buy list, or the id in the plan. It may be left out if `layout` is the number of the
    layout that was to be cut from the board; the board counts as not cut either way. `length` is the true length of a
    board that is shorter than bought. `bad` are stretches along the board, measured from either end, that no piece may
    lie on. With neither, the board cannot be used.
    """

    stock: str = ""
    count: int = 1
    layout: int | None = None
    length: Length | None = None
    bad: tuple[tuple[Length, Length], ...] = ()
    reason: str = ""

    @property
    def is_unusable(self) -> bool:
        """Whether nothing of the board can be used."""
        return self.length is None and not self.bad


@dataclass(frozen=True, slots=True, kw_only=True)
class OffcutOnHand:
    """An offcut that is there: its material as in the plan, its exact size, and the number or name written on it."""

    material: str
    length: Length
    width: Length
    count: int = 1
    label: str = ""
    bad: tuple[tuple[Length, Length], ...] = ()


@dataclass(frozen=True, slots=True)
class BoughtCount:
    """How many of a line of the earlier buy list were bought; `what` is its name there."""

    what: str
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """Everything known about the work on one earlier plan.

    `plan` is the digest in the earlier plan.json; empty if unknown. `bought` None means that everything on the buy list
    was bought, and an empty tuple that nothing was. `keeps_offcuts` is whether the offcuts that the packet says to keep
    of the boards already cut are on hand; `offcuts` are others, or those as measured. `counts` are the hives wanted
    now, by their names in the design; hives not named keep their count.
    """

    plan: str = ""
    cut: tuple[LayoutCut, ...] = ()
    pieces: tuple[PieceCount, ...] = ()
    boards: tuple[BoardFault, ...] = ()
    offcuts: tuple[OffcutOnHand, ...] = ()
    bought: tuple[BoughtCount, ...] | None = None
    keeps_offcuts: bool = False
    counts: Mapping[str, int] = field(default_factory=dict)
