"""Events: their ids, their canonical form, and the digest that chains them."""

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from woodshop.errors import InputError, Problem
from woodshop.records.kinds import CHANGES, UNDO, Value, check_fields, is_exact, kind_named
from woodshop.records.kinds import FIELDS as _FIELDS

_ID = _FIELDS["of"]


@dataclass(frozen=True, slots=True)
class NewEvent:
    """An event as sent, not yet in a book: its id, kind, day ("2026-11-26" or ""), and fields as canonical JSON.

    `where` names its place in error messages.
    """

    id: str
    kind: str
    day: str
    payload: str
    where: str = field(default="the event", compare=False)


class Event(NamedTuple):
    """An event of a book. `number` is its position in the book, from 1 without gaps.

    `version` is the version that the fields of its kind had when it was written. `digest` covers the chain up to this
    event.
    """

    number: int
    id: str
    kind: str
    day: str
    payload: str
    version: int
    digest: str

    @property
    def fields(self) -> dict[str, Any]:
        """The fields by name."""
        fields: dict[str, Any] = json.loads(self.payload)
        return fields


def new_event(
    kind: str, fields: Mapping[str, Value], day: str = "", event_id: str = "", *, nth: int = 1, where: str = "the event"
) -> NewEvent:
    """An event to send, checked. `fields` has values as events hold them; see `FieldType`. `day` is "" if there is
    none. `where` names its place in error messages.

    Without an `event_id`, the id is made from the kind, day and fields, so that the same event is recognized when it is
    sent again. If the same thing happened twice on one day, the second event has `nth` 2.

    Raises InputError with every problem.

    >>> new_event("stock bought", {"stock": "1x6 pine, 8 ft", "count": 4}).id
    '08ffa9727ce9-1'
    """
    known = kind_named(kind, where)
    found = check_fields(known, fields, where)
    if day and not is_exact(_FIELDS["due"], day):
        found.append(Problem(f"{where}, day", repr(day)[:60], "a day such as 2026-11-26", "Correct it."))
    if known.has_day and not day:
        found.append(Problem(where, f"{known.name} without a day", "the day, such as 2026-11-26", "Add the day."))
    if event_id and not is_exact(_ID, event_id):
        found.append(Problem(f"{where}, id", repr(event_id)[:60], "an id on one line", "Choose another id."))
    if found:
        raise InputError(*found)
    payload = canonical(fields)
    return NewEvent(event_id or made_id(known.name, day, payload, nth), known.name, day, payload, where)


def canonical(fields: Mapping[str, Any]) -> str:
    """The fields as JSON in canonical form: keys sorted, no spaces."""
    return json.dumps(fields, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def made_id(kind: str, day: str, payload: str, nth: int) -> str:
    """The id of an event sent without an id: twelve digits of the digest of its `kind`, `day` and `payload`, and `nth`,
    which is 2 the second time the same thing happens."""
    return f"{content_digest(kind, day, payload)}-{nth}"


def content_digest(kind: str, day: str, payload: str) -> str:
    """Twelve digits of the digest of an event's content: its `kind`, `day` and `payload`, without its id."""
    return hashlib.sha256("\n".join((kind, day, payload)).encode()).hexdigest()[:12]


def first_digest(unit: str, currency: str) -> str:
    """The digest of a book without events."""
    return hashlib.sha256(f"woodshop book\n{unit}\n{currency}".encode()).hexdigest()


def next_digest(before: str, number: int, event_id: str, kind: str, day: str, payload: str, version: int) -> str:
    """The digest of the chain with one more event: SHA-256 of the digest `before` it and of the event's `number`,
    `event_id`, `kind`, `day`, `payload` and `version`."""
    text = f"{before}\n{number}\n{event_id}\n{kind}\n{day}\n{payload}\n{version}"
    return hashlib.sha256(text.encode()).hexdigest()


def effective(events: Sequence[Event]) -> Iterator[tuple[Event, str, dict[str, Any]]]:
    """Each event that counts, with its current day and fields: corrections are applied, and undone events are left out.

    They come in the order of the book; a corrected event keeps its place. Skips the corrections and undos themselves.
    """
    undone: set[str] = set()
    latest: dict[str, tuple[str, dict[str, Any]]] = {}
    for event in reversed(events):  # from the last: whether a change was undone is known before it is read
        if event.kind in CHANGES and event.id not in undone:
            fields = event.fields
            of = fields.pop("of")
            if event.kind == UNDO:
                undone.add(of)
            else:
                latest.setdefault(of, (event.day, fields))
    for event in events:
        if event.kind not in CHANGES and event.id not in undone:
            day, fields = latest.get(event.id) or (event.day, event.fields)
            yield event, day or event.day, fields
