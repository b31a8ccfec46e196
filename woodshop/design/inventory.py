"""The state of the shop's book after one event, as a plain value: goods on hand, orders, prices, measurements.

A design uses it instead of [[shed]] and the offcuts in the lumberyard file. How a book is stored does not matter here.
"""

from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction

from woodshop.units.lengths import Length, Money


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitsOnHand:
    """Units in the shop, not on hives: an item, the boxes that it fits, and its form, named as in the book. `good`
    counts the units that can be used as they are; `repair`, those that need repair.
    """

    item: str
    box: str
    form: str
    good: int
    repair: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RackPiece:
    """An offcut on the rack, or a marked board: the number or mark on the wood, its material as named in a packet.

    For a marked board, `stock` is the name under which it was sold, and `length` and `width` are None if unchanged.
    """

    label: str
    material: str
    length: Length | None
    width: Length | None
    bad: tuple[tuple[Length, Length], ...] = ()
    square_ends: bool = False
    straight_edges: bool = False
    stock: str = ""
    is_board: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class StockOnHand:
    """Boards, sheets, rolls or packs bought and not used, named as on a buy list. `price` is the last price paid.

    `material`, `length` and `width` are as entered with a purchase, or "" and None if they were not entered. `is_new`
    matters if the rest of a plan is planned: it is true if they were bought after that plan and are not on its buy
    list.
    """

    stock: str
    count: int
    price: Money | None
    material: str = ""
    length: Length | None = None
    width: Length | None = None
    is_new: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class DatedPrice:
    """The latest price seen or paid for something at a lumberyard, with its date."""

    lumberyard: str
    stock: str
    price: Money
    day: date


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredValue:
    """The mean of `count` measurements of one thing: a density in kg/L, a kerf in millimeters, or minutes per unit."""

    mean: Fraction
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredKerf:
    """The kerf of one kind of cut, "rip" or "crosscut", and of one tool ("" if none was named)."""

    cut: str
    tool: str
    value: MeasuredValue


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderInBook:
    """A line of an order in the book: the shop accepted `count` units and has sold `sold` of them to the customer.

    `events` are the numbers of the events that define the line.
    """

    order: str
    customer: str
    item: str
    box: str
    form: str
    count: int
    sold: int
    due: date | None = None
    priority: int | None = None
    note: str = ""
    is_cancelled: bool = False
    events: tuple[int, ...] = ()

    @property
    def open(self) -> int:
        """The number of units that the customer is still waiting for."""
        return 0 if self.is_cancelled else self.count - self.sold


@dataclass(frozen=True, slots=True, kw_only=True)
class StockPaid:
    """A purchase in the book: the goods, their count, the unit price, the batch, the lumberyard and the day."""

    batch: str
    stock: str
    count: int
    price: Money | None
    lumberyard: str
    day: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Inventory:
    """The book after event `number`; `digest` covers all events through that one. Lists are in the book's order.

    `minutes` are per unit for each operation. `counted` lists each item and box for which the book ever had units.
    """

    number: int
    digest: str
    currency: str
    units: tuple[UnitsOnHand, ...] = ()
    counted: tuple[tuple[str, str], ...] = ()
    rack: tuple[RackPiece, ...] = ()
    stock: tuple[StockOnHand, ...] = ()
    prices: tuple[DatedPrice, ...] = ()
    density: MeasuredValue | None = None
    kerfs: tuple[MeasuredKerf, ...] = ()
    minutes: tuple[tuple[str, MeasuredValue], ...] = ()
    orders: tuple[OrderInBook, ...] = ()
    purchases: tuple[StockPaid, ...] = ()

    @property
    def source(self) -> str:
        """The source of its values, as text."""
        return f"shop book, event {self.number}"

    @property
    def without_goods(self) -> "Inventory":
        """The inventory with only its measurements and prices, for a run that shares no goods with the shop."""
        return replace(self, units=(), counted=(), rack=(), stock=())


@dataclass(frozen=True, slots=True, kw_only=True)
class BookNote:
    """An entry that only the book has (`is_in_book`) or only the design has, and what to do about it."""

    place: str
    value: str
    wanted: str
    do: str
    is_in_book: bool = True


def named(names: list[str], most: int = 8) -> str:
    """A list of names for a message; after `most` of them, it gives only the number of the rest.

    >>> named(["a", "b", "c"], 2)
    'a; b; and 1 more'
    """
    return "; ".join([*names[:most], *([f"and {len(names) - most} more"] if len(names) > most else [])])
