"""Reads the shop's book for a design: the book's state after an event, as a plain `Inventory`."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from woodshop.design.design_file import Design, read_design
from woodshop.design.inventory import (
    DatedPrice,
    Inventory,
    MeasuredKerf,
    MeasuredValue,
    OrderInBook,
    RackPiece,
    StockOnHand,
    StockPaid,
    UnitsOnHand,
)
from woodshop.design.orders.lines import with_read_orders
from woodshop.errors import InputError, Problem
from woodshop.records.state import BookState, KeptOffcut, MarkedBoard, MeasuredMean
from woodshop.records.store import open_book, read_book


def read_booked(path: Path, book: Path | None = None, as_of: int | None = None) -> Design:
    """Reads a design with its book, and its orders as groups of hives.

    `book` replaces the design's own book. `as_of` is the number of the last event that counts, by default the last
    event in the book. Raises InputError if the book lacks that event, or if `as_of` is given and there is no book.
    """
    return with_read_orders(read_with_book(path, book, as_of))


def read_with_book(path: Path, book: Path | None = None, as_of: int | None = None) -> Design:
    """Reads a design with its book; its orders are not read yet. Raises InputError as `read_booked` does."""
    return with_inventory(read_design(path, book), as_of)


def with_inventory(design: Design, as_of: int | None = None) -> Design:
    """The design with the state of its book after event `as_of` (None: the last).

    Raises InputError as `read_booked` does.
    """
    if design.book is None:
        if as_of is not None:
            given, wanted = f"event {as_of} without a book", "a book"
            raise InputError(Problem("--as-of", given, wanted, "Add --book, or name the book in the design."))
        return design
    return replace(design, inventory=inventory_of(read_book(design.book, as_of)))


def inventory_of(state: BookState) -> Inventory:
    """The state of a book after an event, as a plain value."""
    return Inventory(
        number=state.number,
        digest=state.digest,
        currency=state.currency,
        units=tuple(_units(state)),
        counted=tuple((each.item, each.box) for each in state.units_totals),
        rack=(*map(_offcut, state.offcuts), *(_board(each, state) for each in state.boards)),
        stock=tuple(_stock(state)),
        prices=tuple(_prices(state)),
        density=None if state.density is None else _measured(state.density),
        kerfs=tuple(MeasuredKerf(cut=cut, tool=tool, value=_measured(m)) for (cut, tool), m in state.kerfs.items()),
        minutes=tuple((operation, _measured(mean)) for operation, mean in state.minutes.items()),
        orders=tuple(
            OrderInBook(
                order=order.order,
                customer=order.customer,
                item=line.item,
                box=line.box,
                form=line.form,
                count=line.count,
                sold=line.sold,
                due=line.due,
                priority=line.priority,
                note=line.note,
                is_cancelled=line.is_cancelled or order.is_cancelled,
                events=line.events,
            )
            for order in state.orders
            for line in order.lines
        ),
        purchases=tuple(
            StockPaid(
                batch=each.batch,
                stock=each.stock,
                count=each.count,
                price=each.price,
                lumberyard=each.lumberyard,
                day=each.day,
            )
            for each in state.purchases
        ),
    )


def _measured(mean: MeasuredMean) -> MeasuredValue:
    return MeasuredValue(mean=mean.mean, count=mean.count)


def _units(state: BookState) -> Iterable[UnitsOnHand]:
    """Units that are not on hives, wherever they are kept."""
    found: dict[tuple[str, str, str], list[int]] = {}
    for key, count in state.units.items():
        if not key.hive:
            found.setdefault((key.item, key.box, key.form), [0, 0])[key.state != "good"] += count
    for (item, box, form), (good, repair) in found.items():
        yield UnitsOnHand(item=item, box=box, form=form, good=good, repair=repair)


def _offcut(offcut: KeptOffcut) -> RackPiece:
    return RackPiece(
        label=offcut.offcut,
        material=offcut.material,
        length=offcut.length,
        width=offcut.width,
        bad=offcut.bad,
        square_ends=offcut.square_ends,
        straight_edges=offcut.straight_edges,
    )


def _board(board: MarkedBoard, state: BookState) -> RackPiece:
    bought = next((each for each in reversed(state.purchases) if each.stock == board.stock), None)
    return RackPiece(
        label=board.board,
        material=board.material,
        length=board.length or (bought.length if bought is not None else None),
        width=bought.width if bought is not None else None,
        bad=board.bad,
        stock=board.stock,
        is_board=True,
    )


def _stock(state: BookState) -> Iterable[StockOnHand]:
    for tally in state.stock:
        own = [each for each in state.purchases if each.stock == tally.stock]
        if tally.on_hand:
            yield StockOnHand(
                stock=tally.stock,
                count=tally.on_hand,
                price=next((each.price for each in reversed(own) if each.price is not None), None),
                material=tally.material,
                length=next((each.length for each in reversed(own) if each.length is not None), None),
                width=next((each.width for each in reversed(own) if each.width is not None), None),
            )


def _prices(state: BookState) -> Iterable[DatedPrice]:
    """The latest price, seen or paid, of each thing at each lumberyard. If a day has several, the last in the book."""
    seen = [(each.day, each.number, each.lumberyard, each.stock, each.price) for each in state.seen]
    seen += [
        (each.day, each.number, each.lumberyard, each.stock, each.price)
        for each in state.purchases
        if each.day is not None and each.price is not None and each.lumberyard
    ]
    last = {(yard, stock): (price, day) for day, _, yard, stock, price in sorted(seen, key=lambda each: each[:2])}
    for (yard, stock), (price, day) in sorted(last.items(), key=lambda each: each[0]):
        yield DatedPrice(lumberyard=yard, stock=stock, price=price, day=day)


def refuse_other_book(written: Mapping[str, Any], book: Path, where: str) -> int:
    """Raises InputError unless the events that a plan was made with are unchanged in the book. Returns their number.

    `written` is the plan as read from its file; `where` is the name of the file.
    """
    given = written.get("book")
    if not isinstance(given, dict) or not isinstance(given.get("event"), int):
        do = "Plan it again with --book, or leave --book away."
        raise InputError(Problem(where, "a plan that was made without a book", "a plan made with this book", do))
    number: int = given["event"]
    digest = given.get("digest")
    with open_book(book) as opened:
        last, _ = opened.head()
        do = "Give the book that the plan was made with, or restore its backup."
        if number > last:
            wanted = f"at least {number} events, which the plan was made with"
            raise InputError(Problem(book.name, f"{last} events", wanted, do))
        own = opened.state(number).digest
    if own != digest:
        wanted = f"the events of the plan, digest {str(digest)[:12]}"
        raise InputError(Problem(book.name, f"other events up to {number}, digest {own[:12]}", wanted, do))
    return number
