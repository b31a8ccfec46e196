"""The settled batch: frozen values that all later steps read."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any

from woodshop.cutting.model.job import Surplus
from woodshop.cutting.order.job_sequence import FREE_SIDE, STOP, ThinRip
from woodshop.design.inventory import BookNote, Inventory
from woodshop.design.lumberyard.lumberyard_file import Lumberyard
from woodshop.design.schema import Default
from woodshop.design.settings.buying import Buying, Days, Worth
from woodshop.design.settings.conditions import Conditions
from woodshop.design.settings.crew import Crew
from woodshop.design.settings.crew_table import CrewTable, settled_crew
from woodshop.design.settings.labels import Pages
from woodshop.design.settings.saw import Strips, Tools
from woodshop.design.settings.times import ShopWork, settled_work
from woodshop.design.tables import Form
from woodshop.hardware.board import Setting
from woodshop.hardware.registry import BoardPart, Item
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.stacking.stack import Woodenware
from woodshop.reference.facts import fact
from woodshop.shape.part import Assembly
from woodshop.units.lengths import ZERO, Length, Mass
from woodshop.units.wording import LengthUnit, Wording


@dataclass(frozen=True, slots=True, kw_only=True)
class Hives:
    """A group of identical hives: its name, box format, count, measured gaps, and sugar per board.

    `spread` is the range of the measured outside sizes, or zero if only one size was given. `woodenware` is the user's
    own parts: all boxes with their frames, the bottom board, the inner cover and the cover. `form` is how complete the
    boards are: one of `design.tables.FORMS`. `due` is the promised day. `priority` is the order of work if not
    everything can be made at once: 1 first, 9 last. `order` is the order number. `is_sugar_given` tells whether the
    sugar was given for these hives, not only for the board. `apiary` is the place of the hives, "" if not given.
    `measured` are sizes measured on one of these hives, named as in `hive.variation.sizes`; see
    `checks.first_article.measured_unit`. `boards` is the number of fondant boards for them, with rims made here or on
    hand; `packed` of these boards are on hand, already filled with sugar. `gap_source` is the source of a gap that was
    not measured.
    """

    name: str
    format: str
    count: int
    gaps: tuple[Length, ...]
    is_gap_measured: bool
    sugar: Mass
    woodenware: Woodenware
    spread: Length = ZERO
    customer: str = ""
    form: Form = "packed"
    due: date | None = None
    priority: int = 5
    measured: tuple[tuple[str, Length], ...] = ()
    boards: int = 0
    order: str = ""
    is_sugar_given: bool = False
    packed: int = 0
    apiary: str = ""
    gap_source: str = ""

    @property
    def is_packed(self) -> bool:
        """Whether the shop fills the items: boards with sugar, quilts with shavings."""
        return self.form == "packed"

    @property
    def board_form(self) -> Form:
        """How complete the boards are: `form`, or "with mesh" if it is "packed" but there is no board to pack."""
        return "with mesh" if self.is_packed and not self.boards else self.form

    @property
    def to_pack(self) -> int:
        """The number of boards to fill with sugar, if these hives get packed boards."""
        return self.boards - self.packed

    @property
    def is_assembled(self) -> bool:
        """Whether the shop assembles the items. Unassembled kits are not assembled."""
        return self.form != "unassembled kit"


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchLine:
    """The count of an item for a group of hives, and how it was calculated, as text.

    `bought` is the number bought ready-made, which `count` does not include. Of the units on hand, `kept` are used
    unchanged, and `repaired` each get a new item. `has_own_wood`: the thickness of its wood was given for this item.
    """

    item: Item
    hives: Hives
    setting: Setting
    given: tuple[tuple[str, Any], ...]
    count: int
    arithmetic: str
    bought: int = 0
    kept: int = 0
    repaired: int = 0
    has_own_wood: bool = False

    @property
    def address(self) -> str:
        """The item and the hives that it fits; the addresses of its parts start with this."""
        return f"{self.item.name} / {self.fits}"

    @property
    def fits(self) -> str:
        """The hive format, with the size of the item if it is made to a different size than the box."""
        return self.setting.fits if self.item.on_rim else self.hives.format


@dataclass(frozen=True, slots=True)
class Unit:
    """A line and one assembly of its item. `designed` is None unless `assembly` has measured sizes."""

    line: BatchLine
    assembly: Assembly
    designed: Assembly | None = None

    @property
    def as_designed(self) -> Assembly:
        """The assembly before any of its sizes were measured."""
        return self.designed or self.assembly


@dataclass(frozen=True, slots=True, kw_only=True)
class SawSettings:
    """The settled saw settings; every length is exact. `tools` determine the saw for each cut.

    `strips` is one of two ways to rip narrow strips. In both ways, the blade is between the strip and the fence. With a
    "thin-rip stop", a stop ahead of the blade is set once to the strip's width. For each strip the fence is moved until
    the board touches the stop, so the strip's width does not depend on the board's width. With "fall free", the fence
    is set, for each strip, to the width of board that will remain. A board wider than planned would give a thicker
    strip, so every board is measured first. `order` is how the packet lists the cuts, "by setting" or "by board"; if it
    is None, that depends on the number of boards.
    """

    rip_kerf: Length
    crosscut_kerf: Length
    mark: Length
    end_trim: Length
    edge_allowance: Length
    shortest_offcut: Length
    narrowest_offcut: Length
    thinnest_rip: Length
    narrow_rip: Length
    wood_in_hand: Length
    shortest_rip: Length
    longest_rip: Length | None
    least_remainder: Length
    straight_edge_cut: Length
    rounded_edge_cut: Length
    tools: Tools
    strips: Strips = "thin-rip stop"
    order: str | None = None
    remainder_allowance: Length | None = None

    @property
    def least_end_trim(self) -> Length:
        """The minimum cut off an end so that a separate cut frees the last piece, or zero if it needs no such cut."""
        return ZERO if self.remainder_allowance is not None else self.crosscut_kerf + self.least_remainder

    def widest_rip(self, usable: Length) -> Length:
        """The widest strip that can be ripped from a board of this usable width and leaves the required remainder."""
        return usable if self.remainder_allowance is not None else usable - self.rip_kerf - self.least_remainder

    def edge_off(self, *, is_straight: bool, is_rounded: bool) -> Length:
        """The width cut off each edge of a board before use."""
        edge = self.edge_allowance if is_straight else max(self.edge_allowance, self.straight_edge_cut)
        return max(edge, self.rounded_edge_cut) if is_rounded else edge

    @property
    def thin_rip(self) -> ThinRip:
        """The way to rip narrow strips, as named in `cutting.order.job_sequence`."""
        return STOP if self.strips == "thin-rip stop" else FREE_SIDE


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """The batch with every value settled. `wording` prints quantities.

    In `days`, `quoted_on` is None if quotes use the date of the lumberyard's prices. `inventory` is the state of the
    shop's book; `notes` lists mismatches between design and book. `crew` holds the people who do the work, and `work`
    is how long each operation takes.
    """

    name: str
    wording: Wording
    pages: Pages
    days: Days
    surplus: Surplus
    hives: tuple[Hives, ...]
    lines: tuple[BatchLine, ...]
    lumberyard: Lumberyard
    saw: SawSettings
    defaults: tuple[Default, ...]
    worth: Worth | None = None
    buying: Buying = field(default_factory=Buying)
    conditions: Conditions = field(default_factory=Conditions)
    inventory: Inventory | None = None
    notes: tuple[BookNote, ...] = ()
    crew: Crew = field(default_factory=lambda: settled_crew(CrewTable()))
    work: ShopWork = field(default_factory=lambda: settled_work(None))

    @property
    def unit(self) -> LengthUnit:
        """The unit of the design."""
        return self.wording.unit


def packed_boards(batch: Batch, units: tuple[Unit, ...]) -> tuple[tuple[str, int, Mass], ...]:
    """The boards to pack with sugar: name, count, sugar for each.

    The result covers the groups whose rims or wire bottoms are made or repaired. It is empty if there are none.
    """
    groups = {u.line.hives.name for u in units if u.line.item.board_part in (BoardPart.RIM, BoardPart.FLOOR)}
    packed = [h for h in batch.hives if h.board_form == "packed" and h.name in groups]
    return tuple((h.name or h.format, h.to_pack, h.sugar) for h in packed if h.to_pack)


_MOST_NAMED = 3


def hives_fitted(fits: str, batch: Batch) -> str:
    """A name for the hives that an item fits: the names of up to three groups, or their box if there are more."""
    if fits == "every box":
        return "every hive"
    found: dict[str, None] = {}
    for each in fits.split(" + "):
        box, _, own = each.partition(", ")
        lines = [line for line in batch.lines if line.fits == box and line.item.is_per_hive]
        names = dict.fromkeys(line.hives.name for line in lines if not own or line.hives.name == own)
        found |= names if all(names) and 0 < len(names) <= _MOST_NAMED else {each: None}
    return ", ".join(found)


def of_board(units: Mapping[str, Unit], part: BoardPart) -> Unit | None:
    """The unit for this part of a board, among the units of one group of hives."""
    return next((unit for unit in units.values() if unit.line.item.board_part is part), None)


def in_tier(units: Mapping[str, Unit], kind: TierKind) -> Unit | None:
    """The unit for this tier, among the units of one group of hives."""
    return next((u for u in units.values() if u.line.item.place is not None and u.line.item.place.kind is kind), None)


@dataclass(frozen=True, slots=True)
class DueDate:
    """A day and the groups of hives due on it, in the order of the design."""

    day: date
    hives: tuple[Hives, ...]

    @property
    def count(self) -> int:
        """The number of hives due on this day."""
        return sum(each.count for each in self.hives)

    @property
    def orders(self) -> tuple[str, ...]:
        """The names of the orders, without duplicates."""
        return tuple(dict.fromkeys(order_name(each) for each in self.hives))


def due_dates(hives: Iterable[Hives]) -> tuple[DueDate, ...]:
    """Each day on which any of these hives is due, earliest first. Hives without a due date are skipped."""
    days: dict[date, list[Hives]] = {}
    for each in dict.fromkeys(hives):
        if each.due is not None:
            days.setdefault(each.due, []).append(each)
    return tuple(DueDate(day, tuple(days[day])) for day in sorted(days))


def first_due(hives: Iterable[Hives]) -> DueDate | None:
    """The earliest due date of these hives, or None if there are none."""
    return next(iter(due_dates(hives)), None)


def first_needed(hives: Iterable[Hives], batch: Batch, units: tuple[Unit, ...]) -> DueDate | None:
    """The earliest day by which the parts for these hives must be cut and built, and the hives concerned.

    That is the day to pack their boards, which leaves time for drying, or the due date if no boards are packed.
    """
    packed = {name for name, _, _ in packed_boards(batch, units)}
    drying = timedelta(days=int(fact("mix.drying_days").number))
    needed = [
        replace(each, due=each.due - drying)
        if each.due is not None and each.to_pack and (each.name or each.format) in packed
        else each
        for each in hives
    ]
    return first_due(needed)


def order_name(hives: Hives) -> str:
    """The name of the order: its number and customer; if it has neither, the name or format of the hives."""
    number = f"order {hives.order}" if hives.order else ""
    return ", ".join(filter(None, (number, hives.customer))) or hives.name or hives.format
