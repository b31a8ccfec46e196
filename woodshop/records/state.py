"""The state of a book after an event: what is on hand, ordered, paid, measured and done. Frozen values."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from woodshop.units.lengths import Length, Money


@dataclass(frozen=True, slots=True, kw_only=True)
class StockTally:
    """One kind of stock: how many were bought, used, found unusable, marked as boards of their own, and the sum of
    what inventory counts found more (or, below 0, fewer)."""

    stock: str
    material: str
    bought: int = 0
    used: int = 0
    unusable: int = 0
    marked: int = 0
    difference: int = 0

    @property
    def on_hand(self) -> int:
        """How many there are."""
        return self.bought + self.difference - self.used - self.unusable - self.marked


@dataclass(frozen=True, slots=True, kw_only=True)
class StockPurchase:
    """Stock bought: `price` of one. `number` is that of the event."""

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
    """An offcut on hand, by the number on the wood. `bad` are stretches from the marked end."""

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
    """A board with a mark of its own, because it is shorter than sold or has bad stretches.

    `length` is its true length, None if it is as sold. `stock` is what it was sold as, "" if not given.
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
    """What makes units alike: item, boxes, form, state ("good" or "needs repair"), and where they are.

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
    """All units of one item for the same boxes: how many were finished, sold and scrapped, and what inventory counts
    found more or fewer. The rest is on hand or on hives."""

    item: str
    box: str
    finished: int = 0
    sold: int = 0
    scrapped: int = 0
    difference: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class AcceptedLine:
    """A line of an accepted order; `sold` is how many the customer has. `charged` is their price before tax, each at
    the price of its sale, else of the line at that time; None if one had no price. `events` are the numbers of the
    events that say what it is."""

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
    """An accepted order with its lines, and what was paid."""

    order: str
    customer: str
    lines: tuple[AcceptedLine, ...]
    deposits: Money
    balances: Money
    refunds: Money
    is_cancelled: bool

    @property
    def paid(self) -> Money:
        """Deposits and balances, less refunds."""
        return self.deposits + self.balances - self.refunds

    @property
    def price(self) -> Money | None:
        """What was charged for units sold, and the price of those still to be delivered; None if one has no price."""
        price = Money(0, self.deposits.currency)
        for line in self.lines:
            open_count = 0 if line.is_cancelled else line.count - line.sold
            if line.charged is None or (line.price is None and open_count):
                return None
            price += line.charged if line.price is None else line.charged + line.price * open_count
        return price

    @property
    def owed(self) -> Money | None:
        """The price before tax less what was paid; negative if the customer has paid more, None without a price."""
        return None if self.price is None else self.price - self.paid

    @property
    def total(self) -> Money | None:
        """The price of its lines that stand; None if one has no price."""
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
    """Measurements of one thing: `count` of them (for minutes: of pieces), their exact `total`, and how many times they
    were entered."""

    count: int
    total: Fraction
    entries: int

    @property
    def mean(self) -> Fraction:
        """The total over the count."""
        return self.total / self.count


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceTally:
    """Pieces of one part in a batch: made outside the layouts, spoiled, lost, found."""

    material: str
    part: str
    made: int = 0
    spoiled: int = 0
    lost: int = 0
    found: int = 0
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LayoutTally:
    """How many boards were cut to a layout. `plan` is the digest of the plan, "" if not given; `events` are the numbers
    of the events that say so."""

    plan: str
    material: str
    layout: int
    times: int
    events: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class UnusableBoards:
    """Boards that cannot be used: of which stock, and for which layout, if given."""

    material: str
    stock: str
    layout: int | None
    count: int
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchProgress:
    """What was done of a batch: boards cut by layout, pieces counted outside the layouts, boards that cannot be used.
    Boards that are shorter or have bad stretches are in `BookState.boards`."""

    batch: str
    layouts: tuple[LayoutTally, ...]
    pieces: tuple[PieceTally, ...]
    unusable: tuple[UnusableBoards, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BookBox:
    """One hive's box as measured for a customer."""

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
    """The state after event `number`; `digest` is that of the chain up to it. The same events give the same state.

    `units` has the units on hand and on hives. `prices` are the last ones by lumberyard and stock, `seen` all.
    `density` is in kg/L; `kerfs` are in millimeters, by kind of cut and tool; `minutes` are those of one piece, by
    operation. Lists are in the order of the book, mappings sorted by key.
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
        """How many good units, and how many that need repair, are kept (not on hives) for these boxes."""
        kept = {key: n for key, n in self.units.items() if (key.item, key.box, key.hive) == (item, box, "")}
        repair = sum(count for key, count in kept.items() if key.state == "needs repair")
        return sum(kept.values()) - repair, repair
