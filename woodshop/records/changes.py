"""Makes a correction or an undo of an event from the event's number in a book."""

from collections.abc import Mapping, Sequence

from woodshop.errors import InputError, Problem
from woodshop.records.events import Event, NewEvent, effective, made_id, new_event
from woodshop.records.kinds import CORRECTION, FIELDS, KINDS, UNDO, Value, read_day, read_fields, shown_value


def correction_of(
    events: Sequence[Event], number: int, texts: Mapping[str, str], unit: str, currency: str, event_id: str = ""
) -> NewEvent:
    """The correction of event `number` of a book's `events`: its fields, changed to the values in `texts`.

    An empty text removes a field; the key "day" changes the day. `unit` and `currency` are those of the book. With an
    `event_id` from the sender, the same correction is recognized when it is sent again. Raises InputError if there is
    no such event, if it was undone, or if the correction would change nothing.
    """
    where = f"correction of event {number}"
    event = _numbered(events, number)
    if event.kind in (CORRECTION, UNDO):
        of = next(each for each in events if each.id == event.fields["of"])
        do = f"Correct event {of.number}." if event.kind == CORRECTION else "Undo it instead."
        raise InputError(Problem(where, f"a {event.kind}", "an event of another kind", do))
    standing = {each.id: (day, fields) for each, day, fields in effective(events)}
    if event.id not in standing:
        raise InputError(Problem(where, "an event that was undone", "an event that counts", "Undo that undo first."))
    old_day, old = standing[event.id]
    shown = {name: shown_value(FIELDS[name], value) for name, value in old.items()}
    changed = {name: text for name, text in texts.items() if name != "day"}
    fields = read_fields(KINDS[event.kind], shown | changed, unit, currency, where)
    day = read_day(texts["day"], where) if "day" in texts else old_day
    if (fields, day) == (old, old_day) and event_id not in {each.id for each in events}:
        given = "what the event says already"
        raise InputError(Problem(where, given, "a field with another value", "See: woodshop book list."))
    fields["of"] = event.id
    return _next(
        events, new_event(CORRECTION, fields, day if day != event.day else "", event_id, where=where), event_id
    )


def undo_of(events: Sequence[Event], number: int, reason: str = "", event_id: str = "") -> NewEvent:
    """The undo of event `number` of a book's `events`; `reason` may be "", and `event_id` is as in `correction_of`.

    Raises InputError if there is no such event. Whether it can be undone is checked when the undo is added.
    """
    fields: dict[str, Value] = {"of": _numbered(events, number).id}
    if reason:
        fields |= read_fields(KINDS[UNDO], {"of": str(fields["of"]), "reason": reason}, "in", "USD", "undo")
    return _next(events, new_event(UNDO, fields, "", event_id, where=f"undo of event {number}"), event_id)


def _numbered(events: Sequence[Event], number: int) -> Event:
    if not 1 <= number <= len(events):
        wanted = f"a number from 1 to {len(events)}" if events else "an event; the book is empty"
        raise InputError(Problem("the book", f"event {number}", wanted, "See: woodshop book list."))
    return events[number - 1]


def _next(events: Sequence[Event], sent: NewEvent, event_id: str) -> NewEvent:
    """The event with the sender's id, or with the first generated id that is not yet in the book, so that the same
    change can be made again after it was undone."""
    if event_id:
        return sent
    ids = {event.id for event in events}
    nth = 1
    while made_id(sent.kind, sent.day, sent.payload, nth) in ids:
        nth += 1
    return new_event(sent.kind, _fields(sent), sent.day, nth=nth, where=sent.where)


def _fields(sent: NewEvent) -> dict[str, Value]:
    return Event(0, sent.id, sent.kind, sent.day, sent.payload, 1, "").fields
