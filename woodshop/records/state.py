"""The state of a book after an event, as frozen values: what is on hand, ordered, paid, measured and done."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from woodshop.units.lengths import Length, Money


@dataclass(frozen=True, slots=True, kw_only=True)
class StockTally:
    """One kind of stock: the number bought, used, found unusable, and kept separately as marked boards. `difference` is
    the number that inventory counts added, minus the number that they removed."""

    stock: str
    material: str
    bought: int = 0
    used: int = 0
    unusable: int = 0
    marked: int = 0
    difference: int = 0

    @property
    def on_hand(self) -> int:
        """The number on hand."""
        return self.bought + self.difference - self.used - self.unusable - self.marked


@dataclass(frozen=True, slots=True, kw_only=True)
class StockPurchase:
    """A purchase of stock. `price` is the price of one unit; `number` is the number of the event."""

    number: int
    day: date | None
    stock: str
    count: int
    price: Money | None
    lumberyard: str
    material: str
    length: Length | None
    width: Length | None
    batch: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptOffcut:
    """An offcut on hand. `offcut` is the number on the wood; `bad` are its bad stretches, from the marked end."""

    number: int
    offcut: str
    material: str
    length: Length
    width: Length
    place: str
    straight_edges: bool
    square_ends: bool
    bad: tuple[tuple[Length, Length], ...]
    batch: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkedBoard:
    """A board with its own mark, because it is shorter than the length it was sold as or has bad stretches.

    `length` is its actual length, or None if that is the length as sold. `stock` is what it was sold as, "" if not
    given.
    """

    board: str
    material: str
    stock: str
    length: Length | None
    bad: tuple[tuple[Length, Length], ...]
    batch: str
    layout: int | None
    reason: str


class UnitsKey(NamedTuple):
    """A key for units that are counted together: item, box, form, state ("good" or "needs repair"), and place.

    `hive` is the hive that they are on, or "" if they are kept in `place`.
    """

    item: str
    box: str
    form: str
    state: str
    place: str
    hive: str


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitsTally:
    """All units of one item for the same boxes: how many were finished, sold and scrapped, and how many inventory
    counts added or (negative) removed. The rest are on hand or on hives."""

    item: str
    box: str
    finished: int = 0
    sold: int = 0
    scrapped: int = 0
    difference: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class AcceptedLine:
    """A line of an accepted order. `sold` is how many units the customer has, and `charged` is their total price before
    tax: each at the price of its sale or, if the sale gave none, at the line's price at that time; None if a unit had
    no price. `events` has the numbers of the events that define the line."""

    item: str
    box: str
    form: str
    count: int
    price: Money | None
    due: date | None
    priority: int | None
    note: str
    sold: int
    charged: Money | None
    is_cancelled: bool
    events: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class AcceptedOrder:
    """An accepted order with its lines and payments."""

    order: str
    customer: str
    lines: tuple[AcceptedLine, ...]
    deposits: Money
    balances: Money
    refunds: Money
    is_cancelled: bool

    @property
    def paid(self) -> Money:
        """Deposits and balances minus refunds."""
        return self.deposits + self.balances - self.refunds

    @property
    def price(self) -> Money | None:
        """The amount charged for units sold plus the price of units still to deliver; None if any has no price."""
        price = Money(0, self.deposits.currency)
        for line in self.lines:
            open_count = 0 if line.is_cancelled else line.count - line.sold
            if line.charged is None or (line.price is None and open_count):
                return None
            price += line.charged if line.price is None else line.charged + line.price * open_count
        return price

    @property
    def owed(self) -> Money | None:
        """The price before tax minus the amount paid; negative if the customer has overpaid, None without a price."""
        return None if self.price is None else self.price - self.paid

    @property
    def total(self) -> Money | None:
        """The price of all lines that are not canceled; None if a line has no price."""
        total = Money(0, self.deposits.currency)
        for line in self.lines:
            if not line.is_cancelled:
                if line.price is None:
                    return None
                total += line.price * line.count
        return total


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenPrice:
    """A price seen at a lumberyard on a day."""

    number: int
    lumberyard: str
    stock: str
    price: Money
    day: date


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredMean:
    """Measurements of one thing: their `count` (for minutes, the count of pieces), their exact `total`, and the number
    of `entries` in the book."""

    count: int
    total: Fraction
    entries: int

    @property
    def mean(self) -> Fraction:
        """The total divided by the count."""
        return self.total / self.count


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceTally:
    """Counts of the pieces of one part in a batch: made outside the layouts, spoiled, lost and found."""

    material: str
    part: str
    made: int = 0
    spoiled: int = 0
    lost: int = 0
    found: int = 0
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LayoutTally:
    """The number of boards cut to a layout. `plan` is the digest of the plan, "" if not given. `events` has the numbers
    of the events that recorded the cuts."""

    plan: str
    material: str
    layout: int
    times: int
    events: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class UnusableBoards:
    """Boards that cannot be used, with their stock and the layout that they were meant for, if given."""

    material: str
    stock: str
    layout: int | None
    count: int
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StepTally:
    """Boards of a layout that were cut at one step of the saw page. They count as cut to the layout only when it says
    so: see `LayoutTally`."""

    plan: str
    step: str
    layout: int
    times: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchProgress:
    """The progress of a batch: boards cut to each layout, pieces counted outside the layouts, and boards that cannot be
    used. Boards that are shorter than sold or have bad stretches are in `BookState.boards`. `ticks` are those of the
    saw page. `started` has the event with which work at the saw began, by the digest of the plan."""

    batch: str
    layouts: tuple[LayoutTally, ...]
    pieces: tuple[PieceTally, ...]
    unusable: tuple[UnusableBoards, ...]
    ticks: tuple[StepTally, ...] = ()
    started: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class BookBox:
    """One hive's box, measured for a customer."""

    number: int
    day: date | None
    customer: str
    box: str
    frames: int
    length: Length
    width: Length
    gaps: tuple[Length, ...]
    wall: Length | None
    height: Length | None
    hive: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BookState:
    """The state after event `number`; `digest` covers the chain up to it. The same events give the same state.

    `units` has the units on hand and on hives. `prices` has the latest price for each lumberyard and stock, `seen` all
    prices. `density` is in kg/L. `kerfs` are in millimeters, by kind of cut and tool. `minutes` are per piece, by
    operation. Lists are in the order of the book; mappings are sorted by key.
    """

    number: int
    digest: str
    unit: str
    currency: str
    stock: tuple[StockTally, ...]
    purchases: tuple[StockPurchase, ...]
    offcuts: tuple[KeptOffcut, ...]
    boards: tuple[MarkedBoard, ...]
    units: Mapping[UnitsKey, int]
    units_totals: tuple[UnitsTally, ...]
    orders: tuple[AcceptedOrder, ...]
    prices: Mapping[tuple[str, str], SeenPrice]
    seen: tuple[SeenPrice, ...]
    density: MeasuredMean | None
    kerfs: Mapping[tuple[str, str], MeasuredMean]
    minutes: Mapping[str, MeasuredMean]
    batches: tuple[BatchProgress, ...]
    boxes: tuple[BookBox, ...]

    def units_on_hand(self, item: str, box: str) -> tuple[int, int]:
        """The number of good units, and of units that need repair, on hand (not on hives) for these boxes."""
        kept = {key: n for key, n in self.units.items() if (key.item, key.box, key.hive) == (item, box, "")}
        repair = sum(count for key, count in kept.items() if key.state == "needs repair")
        return sum(kept.values()) - repair, repair
