"""Applies the events of a book in order to build its ledger, and checks corrections and undos."""

from collections.abc import Iterable, Mapping, Sequence

from woodshop.errors import InputError, Problem
from woodshop.records.events import Event, effective, first_digest
from woodshop.records.kinds import CHANGES, CORRECTION, UNDO, check_fields, kind_named
from woodshop.records.ledger import Ledger
from woodshop.records.steps import apply_step


def folded(unit: str, currency: str, events: Sequence[Event]) -> Ledger:
    """The ledger after these `events`, the first ones of a book, in order. `unit` and `currency` are those of the book.

    Raises InputError if an event is impossible.
    """
    ledger = Ledger(unit, currency)
    for event, day, fields in effective(events):
        apply_step(ledger, event.kind, event.number, day, fields, f"event {event.number}, {event.kind}")
    ledger.number = events[-1].number if events else 0
    ledger.digest = events[-1].digest if events else first_digest(unit, currency)
    return ledger


def apply_event(ledger: Ledger, event: Event, where: str) -> None:
    """Applies a new event, not a correction or undo.

    Raises InputError at `where` if the event is impossible; the ledger must then be discarded.
    """
    ledger.is_new = True
    apply_step(ledger, event.kind, event.number, event.day, event.fields, where)
    ledger.is_new = False
    ledger.number, ledger.digest = event.number, event.digest


def check_change(known: Mapping[str, Event], event: Event, where: str) -> None:
    """Raises InputError at `where` unless the event to correct or undo is in the book and still counts.

    `known` maps ids to the events that come before the correction or undo in the book.
    """
    fields = event.fields
    of = known.get(fields["of"])
    if of is None:
        given, wanted = f"the event {fields['of']!r}", "an event of this book"
        raise InputError(Problem(f"{where}, of", given, wanted, "See: woodshop book list."))
    state = _standing(known.values())
    if of.id not in state:
        do = "Undo that undo instead." if event.kind == UNDO else "Undo that undo first."
        raise InputError(Problem(where, f"event {of.number}, which was undone", "an event that counts", do))
    if event.kind == CORRECTION:
        if of.kind in CHANGES:
            first = f"event {known[of.fields['of']].number}"
            do = f"Correct {first} again." if of.kind == CORRECTION else "Undo it instead."
            raise InputError(Problem(where, f"event {of.number}, a {of.kind}", "an event of another kind", do))
        found = check_fields(kind_named(of.kind, where), {k: v for k, v in fields.items() if k != "of"}, where)
        if found:
            raise InputError(*found)


def _standing(events: Iterable[Event]) -> set[str]:
    """The ids of the events that were not undone."""
    undone: set[str] = set()
    ids = set()
    for event in reversed(list(events)):
        if event.id not in undone:
            ids.add(event.id)
            if event.kind == UNDO:
                undone.add(event.fields["of"])
    return ids
