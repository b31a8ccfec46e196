"""What the shop's book has that a design does not use, and what is in the files but not in the book."""

from collections.abc import Iterator

from woodshop.design.batch import Batch
from woodshop.findings import Finding, Severity


def check_book(batch: Batch) -> Iterator[Finding]:
    """A note for each kind of entry that matches nothing on the other side; none without a book."""
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
