"""Finds entries in the shop's book that a design does not use, and entries in the files that are not in the book."""

from collections.abc import Iterator

from woodshop.design.batch import Batch
from woodshop.design.inventory import named
from woodshop.findings import Finding, Severity


def check_book(batch: Batch) -> Iterator[Finding]:
    """A note for each kind of entry that has no match on the other side. Without a book there are no notes."""
    if batch.inventory is None:
        return
    for note in batch.notes:
        yield Finding(
            "book-entry-not-used" if note.is_in_book else "not-in-the-book",
            Severity.NOTE,
            note.place,
            note.value,
            note.wanted,
            batch.inventory.source,
            note.do,
        )
    open_orders = {line.order for line in batch.inventory.orders if line.open}
    known = {line.order for line in batch.inventory.orders}
    strange = [
        f"order {hives.order} for {hives.name or hives.format} "
        f"({'canceled or delivered in the book' if hives.order in known else 'not in the book'})"
        for hives in batch.hives
        if hives.order and hives.order not in open_orders
    ]
    if strange:
        yield Finding(
            "not-in-the-book",
            Severity.NOTE,
            "hives",
            named(strange),
            "orders that are open in the book",
            batch.inventory.source,
            "They are planned because the design names these hives. Remove the hives, or enter the order.",
        )
    planned = {hives.order for hives in batch.hives}
    waiting = {line.order: line.customer for line in batch.inventory.orders if line.open and line.order not in planned}
    if waiting:
        count = f"{len(waiting)} open order{'s' if len(waiting) > 1 else ''} not planned"
        yield Finding(
            "book-entry-not-used",
            Severity.NOTE,
            f"{batch.inventory.source}, orders",
            f"{count}: {named([f'{order}, {customer}' for order, customer in waiting.items()])}",
            "orders that this design plans",
            batch.inventory.source,
            "This design has hives but no orders. To plan these orders, add each box that they name under [[box]].",
        )
