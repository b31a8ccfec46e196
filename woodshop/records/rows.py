"""Events as rows of a sheet, and rows as events: a column for each field, so that people can write and read them."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace

from woodshop.errors import InputError, Problem
from woodshop.records.events import Event, NewEvent, made_id, new_event
from woodshop.records.kinds import FIELDS, kind_named, read_day, read_fields, shown_value

BEFORE = ("kind", "day", "id")
AFTER = ("unit", "currency")
COLUMN_NAMES = (*BEFORE, *FIELDS, *AFTER)
"""Every column of a sheet of events. `unit` applies to lengths in the row that do not name a unit."""
MEANINGS = {
    "kind": "The kind of event.",
    "day": "The day on which it happened. Left out: the event has no day.",
    "id": "An id of your own, such as a running number. The same id with the same content is entered once.",
    "unit": "Unit of lengths in the row that do not name one. Left out: that of the book.",
    "currency": "Currency of prices. It must be that of the book.",
} | {field.name: field.meaning for field in FIELDS.values()}


def events_from_rows(rows: Sequence[tuple[str, Mapping[str, str]]], unit: str, currency: str) -> list[NewEvent]:
    """The events in rows. Each is a place for messages, and texts by column. `unit` and `currency` are the book's.

    Identical rows without an id are distinguished by their order. Raises InputError with every problem of every row.
    """
    found: list[Problem] = []
    events: list[NewEvent] = []
    used = {texts.get("id", "").strip() for _, texts in rows}
    nth: Counter[str] = Counter()
    for where, texts in rows:
        try:
            event = _event(where, texts, unit, currency)
        except InputError as why:
            found += why.problems
            continue
        if not texts.get("id", "").strip():
            first = event.id
            while event.id in used:
                nth[first] += 1
                event = replace(event, id=made_id(event.kind, event.day, event.payload, nth[first] + 1))
        used.add(event.id)
        events.append(event)
    if found:
        raise InputError(*found)
    return events


def rows_from_events(events: Sequence[Event], unit: str, currency: str) -> list[list[str]]:
    """The rows for these events, headings first, without empty columns. `events_from_rows` reads them as the same
    events. `unit` and `currency` are those of the book."""
    texts = []
    for event in events:
        fields = {name: shown_value(FIELDS[name], value) for name, value in event.fields.items()}
        head = {"kind": event.kind, "day": event.day, "id": event.id}
        texts.append(head | fields | {"unit": unit, "currency": currency})
    used = set().union(*texts) if texts else set(BEFORE + AFTER)
    heads = [name for name in COLUMN_NAMES if name in used]
    return [heads, *([each.get(name, "") for name in heads] for each in texts)]


def _event(where: str, texts: Mapping[str, str], unit: str, currency: str) -> NewEvent:
    own_unit = texts.get("unit", "").strip() or unit
    if own_unit not in ("in", "mm"):
        raise InputError(Problem(f"{where}, unit", repr(own_unit)[:60], "in or mm", "Correct it."))
    if texts.get("currency", "").strip() not in ("", currency):
        given = f"prices in {texts['currency'].strip()[:20]}"
        do = "Keep a book for each currency: woodshop book import --new --currency."
        raise InputError(Problem(f"{where}, currency", given, f"{currency}, as in this book", do))
    if not texts.get("kind", "").strip():
        raise InputError(Problem(f"{where}, kind", "nothing", "the kind of event", "See: woodshop guide book."))
    kind = kind_named(texts["kind"], f"{where}, kind")
    day = read_day(texts["day"], where) if texts.get("day", "").strip() else ""
    fields = {name: text for name, text in texts.items() if name not in (*BEFORE, *AFTER) and text.strip()}
    return new_event(
        kind.name, read_fields(kind, fields, own_unit, currency, where), day, texts.get("id", "").strip(), where=where
    )
