"""The ledger: the state of a book while events are applied to it; and the frozen state made from it."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from datetime import date
from fractions import Fraction
from types import MappingProxyType
from typing import Any, NoReturn

from woodshop.errors import InputError, Problem
from woodshop.records.state import (
    AcceptedLine,
    AcceptedOrder,
    BatchProgress,
    BookBox,
    BookState,
    KeptOffcut,
    LayoutTally,
    MarkedBoard,
    MeasuredMean,
    PieceTally,
    SeenPrice,
    StepTally,
    StockPurchase,
    StockTally,
    UnitsKey,
    UnitsTally,
    UnusableBoards,
)
from woodshop.units.lengths import Money


@dataclass(slots=True)
class OpenStock:
    """One kind of stock while events are applied; see `StockTally`."""

    material: str = ""
    bought: int = 0
    used: int = 0
    unusable: int = 0
    marked: int = 0
    difference: int = 0

    @property
    def on_hand(self) -> int:
        """The number on hand."""
        return self.bought + self.difference - self.used - self.unusable - self.marked


@dataclass(slots=True)
class OpenOrder:
    """The state of an order while the book's events are applied."""

    customer: str
    lines: dict[tuple[str, str, str], AcceptedLine] = field(default_factory=dict)
    deposits: int = 0
    balances: int = 0
    refunds: int = 0
    is_cancelled: bool = False


@dataclass(slots=True)
class OpenBatch:
    """The progress of a batch while events are applied."""

    layouts: dict[tuple[str, str, int], int] = field(default_factory=dict)
    cuts: dict[tuple[str, str, int], list[int]] = field(default_factory=dict)
    pieces: dict[tuple[str, str], Counter[str]] = field(default_factory=dict)
    reasons: dict[tuple[str, str], list[str]] = field(default_factory=dict)
    unusable: list[UnusableBoards] = field(default_factory=list)
    ticks: dict[tuple[str, str, int], int] = field(default_factory=dict)
    started: dict[str, int] = field(default_factory=dict)


@dataclass(slots=True)
class Ledger:
    """A book's state while events are applied to it. Only the steps of events change it; `frozen_state` freezes it.

    `number` and `day` are those of the event that is being applied. `is_new` is true if it is not yet in the book.
    """

    unit: str
    currency: str
    number: int = 0
    digest: str = ""
    day: date | None = None
    where: str = ""
    is_new: bool = False
    stock: dict[str, OpenStock] = field(default_factory=dict)
    purchases: list[StockPurchase] = field(default_factory=list)
    offcuts: dict[str, KeptOffcut] = field(default_factory=dict)
    boards: dict[str, MarkedBoard] = field(default_factory=dict)
    units: Counter[UnitsKey] = field(default_factory=Counter)
    totals: dict[tuple[str, str], Counter[str]] = field(default_factory=dict)
    orders: dict[str, OpenOrder] = field(default_factory=dict)
    seen: list[SeenPrice] = field(default_factory=list)
    densities: list[Fraction] = field(default_factory=list)
    kerfs: dict[tuple[str, str], MeasuredMean] = field(default_factory=dict)
    minutes: dict[str, MeasuredMean] = field(default_factory=dict)
    batches: dict[str, OpenBatch] = field(default_factory=dict)
    boxes: list[BookBox] = field(default_factory=list)

    def refuse(self, given: str, wanted: str, do: str) -> NoReturn:
        """Raises InputError for the event being applied: what was `given`, what is `wanted`, and what to `do`."""
        raise InputError(Problem(self.where, given, wanted, do))

    def money(self, minor: int) -> Money:
        """An amount of money in the currency of the book."""
        return Money(minor, self.currency)


def frozen_state(ledger: Ledger) -> BookState:
    """The state of the ledger, as values that cannot change."""
    prices = {(price.lumberyard, price.stock): price for price in _by_day(ledger.seen)}
    density = ledger.densities
    return BookState(
        number=ledger.number,
        digest=ledger.digest,
        unit=ledger.unit,
        currency=ledger.currency,
        stock=tuple(StockTally(stock=name, **asdict(tally)) for name, tally in ledger.stock.items()),
        purchases=tuple(ledger.purchases),
        offcuts=tuple(ledger.offcuts.values()),
        boards=tuple(ledger.boards.values()),
        units=_sorted({key: count for key, count in ledger.units.items() if count}),
        units_totals=tuple(UnitsTally(item=item, box=box, **n) for (item, box), n in ledger.totals.items()),
        orders=tuple(_order(ledger, name, order) for name, order in ledger.orders.items()),
        prices=_sorted(prices),
        seen=tuple(ledger.seen),
        density=MeasuredMean(count=len(density), total=sum(density, Fraction(0)), entries=len(density))
        if density
        else None,
        kerfs=_sorted(ledger.kerfs),
        minutes=_sorted(ledger.minutes),
        batches=tuple(
            BatchProgress(
                batch=name,
                layouts=tuple(
                    LayoutTally(plan=key[0], material=key[1], layout=key[2], times=times, events=tuple(batch.cuts[key]))
                    for key, times in batch.layouts.items()
                ),
                pieces=tuple(
                    PieceTally(material=key[0], part=key[1], reasons=tuple(batch.reasons.get(key, ())), **counts)
                    for key, counts in batch.pieces.items()
                ),
                unusable=tuple(batch.unusable),
                ticks=tuple(
                    StepTally(plan=key[0], step=key[1], layout=key[2], times=times)
                    for key, times in batch.ticks.items()
                ),
                started=_sorted(batch.started),
            )
            for name, batch in ledger.batches.items()
        ),
        boxes=tuple(ledger.boxes),
    )


def _sorted(values: dict[Any, Any]) -> Mapping[Any, Any]:
    return MappingProxyType(dict(sorted(values.items())))


def _by_day(seen: list[SeenPrice]) -> list[SeenPrice]:
    return sorted(seen, key=lambda price: (price.day, price.number))


def _order(ledger: Ledger, name: str, order: OpenOrder) -> AcceptedOrder:
    return AcceptedOrder(
        order=name,
        customer=order.customer,
        lines=tuple(order.lines.values()),
        deposits=ledger.money(order.deposits),
        balances=ledger.money(order.balances),
        refunds=ledger.money(order.refunds),
        is_cancelled=order.is_cancelled,
    )
