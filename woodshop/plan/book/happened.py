"""Reads what happened in the shop, as plain values with days, from the shop's book or from a sheet of events."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from woodshop.plan.book.event_sheets import read_event_rows
from woodshop.records.events import Event, effective
from woodshop.records.rows import events_from_rows
from woodshop.records.store import open_book


@dataclass(frozen=True, slots=True)
class Happened:
    """An event of the shop after all corrections: its kind, its day if it has one, and its fields.

    `where` names its place in messages.
    """

    kind: str
    day: date | None
    fields: Mapping[str, Any]
    where: str = field(default="", compare=False)


def happened_in_book(book: Path, after: int = 0) -> tuple[Happened, ...]:
    """The events of a book after the event number `after`. Raises InputError if the book cannot be read."""
    with open_book(book) as opened:
        return _counting(opened.events(), after, f"shop book {book.name}")


def happened_on_sheet(sheet: Path, unit: str, currency: str) -> tuple[Happened, ...]:
    """The events of a sheet as `woodshop book export` writes it. Raises InputError with every problem.

    `unit` is for lengths without a unit, and `currency` is for prices.
    """
    sent = events_from_rows(read_event_rows(sheet), unit, currency)
    events = [Event(n, each.id, each.kind, each.day, each.payload, 1, "") for n, each in enumerate(sent, 1)]
    return _counting(events, 0, sheet.name)


def _counting(events: list[Event], after: int, where: str) -> tuple[Happened, ...]:
    return tuple(
        Happened(event.kind, date.fromisoformat(day) if day else None, fields, f"{where}, event {event.number}")
        for event, day, fields in effective(events)
        if event.number > after
    )
