"""Orders accepted in the book, as rows of an order spreadsheet, and how the design's own orders differ from them."""

from collections import Counter
from collections.abc import Iterator, Sequence

from woodshop.design.inventory import BookNote, Inventory, OrderInBook, named
from woodshop.design.orders.orders import Order
from woodshop.design.schema import Default
from woodshop.design.sheets import Cell, SheetRow
from woodshop.hardware.catalogue import folded, items_named


def accepted_rows(inventory: Inventory) -> Iterator[SheetRow]:
    """A row for each open line of an order, with the number of units that the customer is still waiting for."""
    for n, line in enumerate(inventory.orders, 1):
        if not line.open:
            continue
        where = _where(line, n)
        values: dict[str, object] = {
            "customer": line.customer,
            "order": line.order,
            "item": line.item,
            "box": line.box,
            "count": line.open,
            "form": line.form or None,
            "due": line.due,
            "priority": line.priority,
            "note": line.note or None,
        }
        cells = {key: Cell(f"{where}, {key}", value) for key, value in values.items() if value is not None}
        yield SheetRow(where, cells)


def accepted_default(lines: Sequence[Order], inventory: Inventory) -> Default:
    """A default that says what is planned: only the open lines in the book."""
    orders = len({line.number for line in lines})
    words = f"{len(lines)} open lines of {orders} orders; only orders accepted in the book are planned"
    return Default("orders", "planned", words, inventory.source)


def order_notes(written: Sequence[Order], accepted: Sequence[Order], inventory: Inventory) -> tuple[BookNote, ...]:
    """Notes on order lines in the design that the book has not accepted, has canceled, or lists with a different count.

    `accepted` are the open lines of the book, with items and boxes as the design names them.
    """
    by_place = {_where(line, n): line for n, line in enumerate(inventory.orders, 1)}
    in_book: Counter[tuple[str, str, str]] = Counter()
    for line in accepted:
        for item in line.items:
            in_book[_key(line, item)] += by_place[line.where].count
    missing: list[str] = []
    differ: list[str] = []
    for line in written:
        words = f"{line.where}: {line.count} x {' + '.join(line.items)} for {line.box.name}, {line.customer}"
        states = {_state(line, item, inventory) for item in line.items if _key(line, item) not in in_book}
        others = {in_book[_key(line, item)] for item in line.items} - {0, line.count}
        if states - {_DELIVERED}:
            missing.append(f"{words} ({', '.join(sorted(states))})")
        elif others:
            differ.append(f"{words}; the book has {', '.join(map(str, sorted(others)))}")
    found = []
    if missing:
        do = 'They are not planned. If you accepted one, enter it as "order accepted".'
        wanted = "orders accepted in the book"
        found.append(BookNote(place="orders", value=named(missing), wanted=wanted, do=do, is_in_book=False))
    if differ:
        do = 'The count of the book is planned. If it is wrong, enter "order changed".'
        wanted = "the count accepted in the book"
        found.append(BookNote(place="orders", value=named(differ), wanted=wanted, do=do, is_in_book=False))
    return tuple(found)


def _where(line: OrderInBook, n: int) -> str:
    numbers = ", ".join(map(str, line.events))
    events = f"event{'s' if len(line.events) > 1 else ''} {numbers}" if numbers else f"line {n}"
    return f"shop book, order {line.order} ({events})"


_DELIVERED, _CANCELLED, _MISSING = "delivered", "canceled in the book", "not in the book"


def _state(line: Order, item: str, inventory: Inventory) -> str:
    """A description, from the book, of an ordered item that is not open there."""
    own = [
        each
        for each in inventory.orders
        if each.order == line.number
        and folded(each.box) == folded(line.box.name)
        and any(item in items_named(part.strip()) for part in each.item.split("+"))
    ]
    if not own:
        return _MISSING
    return _CANCELLED if all(each.is_cancelled for each in own) else _DELIVERED


def _key(line: Order, item: str) -> tuple[str, str, str]:
    return line.number or line.customer, item, line.box.name
