"""Assigns finished units on hand to accepted orders, and reports shortages and the amount that each customer owes.

The rule has two rounds. An order with lines due on more than one day counts as one order for each day. Orders are
ranked by the promised day (orders without one are last), then by priority (1 first; 5 if none is given), then by their
position in the book. In the first round, each order in turn is filled if the remaining units can fill it completely. In
the second round, the remaining units go to the other orders in turn, as partial deliveries. An order that would be
filled completely by rank alone is therefore always filled, because the orders before it take no more than they want.
Other orders may be filled as well. Units with the same names as in the order are taken first, then others that fill the
order by the rule in `design.settle.unit_forms`, then the parts of a set. Units are taken from places in alphabetical
order.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from woodshop.design.settle.unit_forms import fills, fills_part, items_of
from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.hardware.catalogue import folded
from woodshop.plan.work.shop_file import Shop
from woodshop.records.state import AcceptedLine, AcceptedOrder, BookState
from woodshop.trade.quotes import tax_on
from woodshop.units.lengths import Money

_ALIKE = 0.8  # two order numbers that differ in one digit of three are two orders, not a slip
USUAL_PRIORITY = 5  # common practice, no source; as for the hives of a design


class FinishedKind(NamedTuple):
    """Traits that make finished units interchangeable to a customer: the item, the boxes that it fits, and the form."""

    item: str
    box: str
    form: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WantedUnits:
    """Units of one kind that an order is still waiting for."""

    order: str
    kind: FinishedKind
    count: int
    due: date | None = None
    priority: int | None = None


@dataclass(frozen=True, slots=True)
class Pick:
    """Units of one kind taken from one place. `is_part`: they are parts of a set that is already counted."""

    place: str
    count: int
    kind: FinishedKind
    is_part: bool = False


Picked = tuple[Pick, ...]
_Left = dict[tuple[FinishedKind, str], int]


def allocate(
    wanted: Sequence[WantedUnits],
    on_hand: Mapping[tuple[FinishedKind, str], int],
    *,
    is_whole_only: bool = False,
) -> tuple[Picked, ...]:
    """The units that each of `wanted` gets, in the order of the book. The rule is in the module's docstring.

    `on_hand` maps each kind and place to its number of good units. There is no second round if `is_whole_only` is true.
    """
    groups: dict[tuple[str, date | None], list[int]] = {}
    for n, each in enumerate(wanted):
        groups.setdefault((each.order, each.due), []).append(n)
    ranked = sorted(groups.values(), key=lambda lines: _rank(wanted, lines))
    left = dict(sorted(on_hand.items()))
    picked: list[Picked] = [()] * len(wanted)
    for has_to_be_whole in (True,) if is_whole_only else (True, False):
        for lines in ranked:
            if any(picked[n] for n in lines):
                continue
            own = [wanted[n] for n in lines]
            rest = dict(left)
            found = _pick(rest, own)
            if has_to_be_whole and any(units(each) < line.count for each, line in zip(found, own, strict=True)):
                continue
            left = rest
            for n, mine in zip(lines, found, strict=True):
                picked[n] = mine
    return tuple(picked)


def units(picked: Picked) -> int:
    """The number of units of an order's line that were picked."""
    return sum(each.count for each in picked if not each.is_part)


def _rank(wanted: Sequence[WantedUnits], lines: Sequence[int]) -> tuple[date, int, int]:
    priority = min(wanted[n].priority or USUAL_PRIORITY for n in lines)
    return wanted[lines[0]].due or date.max, priority, lines[0]


def _pick(left: _Left, lines: Sequence[WantedUnits]) -> list[Picked]:
    """Takes up to the wanted count for each line from the units that are left.

    All lines first get units with exactly the names in the line, and then units with other names.
    """
    found: list[list[Pick]] = [[] for _ in lines]
    for is_exact in (True, False):
        for mine, line in zip(found, lines, strict=True):
            for key in [key for key, have in left.items() if have and (key[0] == line.kind or not is_exact)]:
                count = min(left[key], line.count - units(tuple(mine)))
                if count and _fills(key[0], line.kind):
                    left[key] -= count
                    mine.append(Pick(key[1], count, key[0]))
    for mine, line in zip(found, lines, strict=True):
        mine += _pick_parts(left, line.kind, line.count - units(tuple(mine)))
    return [tuple(each) for each in found]


def _fills(kind: FinishedKind, wanted: FinishedKind) -> bool:
    return folded(kind.box) == folded(wanted.box) and fills(kind.item, kind.form, wanted.item, wanted.form)


def _pick_parts(left: _Left, kind: FinishedKind, count: int) -> list[Pick]:
    """Takes up to `count` units of a set from the set's parts. Only the first part is counted as a unit of the set."""
    names = items_of(kind.item, kind.form)
    sources = [
        [
            key
            for key in left
            if folded(key[0].box) == folded(kind.box) and fills_part(key[0].item, key[0].form, name, kind.form)
        ]
        for name in names
    ]
    count = min([count, *(sum(left[key] for key in keys) for keys in sources)]) if len(names) > 1 else 0
    found = []
    for n, keys in enumerate(sources):
        short = count
        for key in keys:
            taken = min(left[key], short)
            if taken:
                left[key] -= taken
                short -= taken
                found.append(Pick(key[1], taken, key[0], is_part=n > 0))
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class LineDelivery:
    """The part of a delivery for one line of an order.

    `picked` lists the units taken from each place; `hives` names the hives that they are for, if these are in the book.
    The ordered count of a canceled line is the number that the customer already has.
    """

    line: AcceptedLine
    picked: Picked
    hives: tuple[str, ...] = ()

    @property
    def ordered(self) -> int:
        """The number ordered or, for a canceled line, the number that the customer already has."""
        return self.line.sold if self.line.is_cancelled else self.line.count

    @property
    def count(self) -> int:
        """The number delivered now."""
        return units(self.picked)

    @property
    def to_come(self) -> int:
        """The number still to be delivered."""
        return self.ordered - self.line.sold - self.count

    @property
    def price(self) -> Money | None:
        """The price of the units delivered now, before tax, or None if the line has no price."""
        return None if self.line.price is None else self.line.price * self.count


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderDelivery:
    """The part of a delivery that is for one order."""

    order: AcceptedOrder
    lines: tuple[LineDelivery, ...]

    @property
    def count(self) -> int:
        """The number of units delivered now."""
        return sum(line.count for line in self.lines)

    @property
    def to_come(self) -> int:
        """The number of units still to be delivered."""
        return sum(line.to_come for line in self.lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShortUnits:
    """Units of one kind that orders still lack after a delivery, and units on hand that could help.

    The units that could help are those that need repair, those in another form, and those that are parts of this kind.
    """

    kind: FinishedKind
    count: int
    needs_repair: int
    other_forms: tuple[tuple[str, int], ...]
    parts: tuple[tuple[FinishedKind, int], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """Every open order of a book with the units that it gets, in the order of the book, and the shortages.

    `number` is the number of the last event read from the book.
    """

    number: int
    currency: str
    day: date
    orders: tuple[OrderDelivery, ...]
    short: tuple[ShortUnits, ...]
    left: tuple[tuple[FinishedKind, int], ...]

    @property
    def going_out(self) -> tuple[OrderDelivery, ...]:
        """The orders that get at least one unit."""
        return tuple(each for each in self.orders if each.count)


def delivery_of(state: BookState, day: date, *, is_whole_only: bool = False) -> Delivery:
    """Assigns the good units on hand (not on hives) to every open order of the book; see `allocate`.

    `is_whole_only` is as in `allocate`.
    """
    on_hand = {
        (FinishedKind(key.item, key.box, key.form), key.place): count
        for key, count in state.units.items()
        if key.state == "good" and not key.hive
    }
    open_lines = [
        (order, line)
        for order in state.orders
        for line in order.lines
        if not line.is_cancelled and line.count > line.sold
    ]
    wanted = [
        WantedUnits(
            order=order.order, kind=_kind(line), count=line.count - line.sold, due=line.due, priority=line.priority
        )
        for order, line in open_lines
    ]
    picked = dict(
        zip(
            ((order.order, _kind(line)) for order, line in open_lines),
            allocate(wanted, on_hand, is_whole_only=is_whole_only),
            strict=True,
        )
    )
    before: dict[tuple[str, str, str], int] = {}  # customer, item, box -> units of the previous lines
    orders = []
    for order in state.orders:
        lines = []
        for line in order.lines:
            key = (order.customer, line.item, line.box)
            mine = picked.get((order.order, _kind(line)), ())
            first = before.get(key, 0) + line.sold
            hives = _hives(state, order.customer, line.box)[first : first + units(mine)]
            lines.append(LineDelivery(line=line, picked=mine, hives=hives))
            before[key] = before.get(key, 0) + lines[-1].ordered
        orders.append(OrderDelivery(order=order, lines=tuple(lines)))
    left: dict[FinishedKind, int] = {}
    for (kind, _), count in on_hand.items():
        left[kind] = left.get(kind, 0) + count
    for each in (each for mine in picked.values() for each in mine):
        left[each.kind] -= each.count
    return Delivery(
        number=state.number,
        currency=state.currency,
        day=day,
        orders=tuple(orders),
        short=_short(state, orders, left),
        left=tuple((kind, count) for kind, count in left.items() if count),
    )


def _kind(line: AcceptedLine) -> FinishedKind:
    return FinishedKind(line.item, line.box, line.form)


def _hives(state: BookState, customer: str, box: str) -> tuple[str, ...]:
    """The customer's hives with this kind of box, in the order in which they were measured."""
    measured = (each.hive for each in state.boxes if (each.customer, each.box) == (customer, box) and each.hive)
    return tuple(dict.fromkeys(measured))


def _short(
    state: BookState, orders: Sequence[OrderDelivery], left: Mapping[FinishedKind, int]
) -> tuple[ShortUnits, ...]:
    missing: dict[FinishedKind, int] = {}
    for line in (line for each in orders for line in each.lines if line.to_come):
        missing[_kind(line.line)] = missing.get(_kind(line.line), 0) + line.to_come
    found = []
    for kind, count in missing.items():
        repair = sum(
            have
            for key, have in state.units.items()
            if key.state != "good" and not key.hive and _fills(FinishedKind(key.item, key.box, key.form), kind)
        )
        near = [(other, have) for other, have in left.items() if have and folded(other.box) == folded(kind.box)]
        own = set(items_of(kind.item, kind.form))
        found.append(
            ShortUnits(
                kind=kind,
                count=count,
                needs_repair=repair,
                other_forms=tuple((other.form, have) for other, have in near if other.item == kind.item),
                parts=tuple(
                    (other, have)
                    for other, have in near
                    if other.item != kind.item and own & set(items_of(other.item, other.form))
                ),
            )
        )
    return tuple(found)


def orders_named(delivery: Delivery, names: Sequence[str]) -> tuple[OrderDelivery, ...]:
    """The orders of a delivery that get at least one unit, or only the orders in `names` if any are given.

    Raises InputError for an order that gets no units.
    """
    going = {each.order.order: each for each in delivery.going_out}
    for name in names:
        if name not in going:
            known = [each.order.order for each in delivery.orders]
            given = f"order {name!r}, which gets nothing" if name in known else f"the order {name[:60]!r}"
            do = "See what is short: woodshop deliver without --order."
            do = do if name in known else did_you_mean(name, known, "See: woodshop book list BOOK orders.", _ALIKE)
            wanted = f"an order that gets something: {', '.join(going) or 'there is none'}"
            raise InputError(Problem("--order", given, wanted[:300], do))
    return tuple(each for name, each in going.items() if not names or name in names)


@dataclass(frozen=True, slots=True, kw_only=True)
class Invoice:
    """The amount that a customer owes for one delivery of an order, and for the order so far. Money is in minor units.

    `subtotal` and `tax` apply to this delivery. `earlier` is the price of earlier deliveries, with tax. The tax is the
    tax on everything delivered minus the tax on earlier deliveries, so that over several deliveries it adds up to the
    tax on the order.
    """

    number: str
    delivery: OrderDelivery
    currency: str
    day: date
    subtotal: int
    tax: int
    earlier: int

    @property
    def total(self) -> int:
        """The price of this delivery, with tax."""
        return self.subtotal + self.tax

    @property
    def balance(self) -> int:
        """The price of everything delivered, minus payments. It is negative if the customer has paid more."""
        return self.earlier + self.total - self.delivery.order.paid.minor

    @property
    def amount_due(self) -> int:
        """The amount that the customer has to pay now."""
        return max(0, self.balance)

    @property
    def credit(self) -> int:
        """The amount that the customer has paid beyond the price of everything delivered."""
        return max(0, -self.balance)


def invoice_of(delivery: Delivery, order: OrderDelivery, shop: Shop) -> Invoice:
    """The invoice for the units that an order gets now. The shop file gives the tax rate and the exempt customers.

    Raises InputError if a line or an earlier sale has no price, or if the currency is not the shop's.
    """
    name = order.order.order
    if shop.currency != delivery.currency:
        do = "Use the shop file in that currency."
        raise InputError(Problem("--shop", f"prices in {shop.currency}", f"{delivery.currency}, as in the book", do))
    for line in order.lines:
        lacks_price = line.price is None and line.count
        if lacks_price or line.line.charged is None:
            what = f"{line.line.item} for {line.line.box}"
            given = f"{what} without a price" if lacks_price else f"{what}, sold before without a price"
            do = 'Enter "order changed" with a price.' if lacks_price else 'Correct "units sold": give it a price.'
            raise InputError(Problem(f"order {name}", given, "a price of one, before tax", do))
    subtotal = sum(line.price.minor for line in order.lines if line.price is not None)
    before = sum(line.line.charged.minor for line in order.lines if line.line.charged is not None)
    customer = order.order.customer
    tax_before = tax_on(before, shop, customer)
    return Invoice(
        number=f"{name}/{delivery.number}",
        delivery=order,
        currency=delivery.currency,
        day=delivery.day,
        subtotal=subtotal,
        tax=tax_on(before + subtotal, shop, customer) - tax_before,
        earlier=before + tax_before,
    )
