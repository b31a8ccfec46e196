"""Sections about the shop's book: events, goods on hand, orders, an inventory count, the check of the file."""

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from functools import cache

from woodshop.drawing.values.model import Align, Block, Column, Data, KeyValues, Paragraph, Section, Table
from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.records.events import Event
from woodshop.records.inventory_count import CountedThing
from woodshop.records.kinds import CHANGES, FIELDS, KINDS, UNDO, FieldType, shown_value
from woodshop.records.state import BookState, MeasuredMean, UnitsKey
from woodshop.records.steps import GOOD, SHED
from woodshop.records.store import Added
from woodshop.units.lengths import Length, Money, decimals
from woodshop.units.wording import wording_of

_MOST_NOTES = 20
_NUMBER = Column("no.", Align.RIGHT, key="number")


def added_section(added: Added, name: str, currency: str, known: Sequence[Event] = ()) -> Section:
    """The events entered in the book `name`, with the defaults used, and the events that the book already had. Fields
    may name events in `known`; prices are in `currency`.
    """
    blocks: list[Block] = []
    if added.new:
        last = added.new[-1].number
        words = f"event {last}" if len(added.new) == 1 else f"events {added.new[0].number} to {last}"
        blocks.append(Paragraph(f"Entered in {name}: {words}."))
        blocks += _shown(added.new, currency, {event.id: event.number for event in (*known, *added.new)})
        defaults = sorted({each for event in added.new for each in _defaults(event)})
        if defaults:
            blocks.append(Paragraph(f"Defaults used: {'; '.join(defaults)}."))
        notes = dict.fromkeys(note for event in added.new for note in _event_notes(event, known))
        blocks += [Paragraph(note, lead="Note:") for note in list(notes)[:_MOST_NOTES]]
    if added.repeated:
        numbers = ", ".join(str(event.number) for event in added.repeated[:20])
        more = f" and {len(added.repeated) - 20} more" if len(added.repeated) > 20 else ""
        do = "If one of them really did happen a second time, give it its own id, or add it with --nth 2."
        if all(event.kind == "order accepted" for event in added.repeated):
            do = 'If the customer wants more of it, enter "order changed" with the new count.'
        words = f"Already in the book, not entered again: {_events(len(added.repeated))} ({numbers}{more}). {do}"
        blocks.append(Paragraph(words))
    if not blocks:
        blocks.append(Paragraph("Nothing to enter."))
    data: Data = {
        "entered": [event.number for event in added.new],
        "already_there": [event.number for event in added.repeated],
    }
    return Section("", tuple(blocks), data)


def _event_notes(event: Event, known: Sequence[Event]) -> Iterator[str]:
    """Notes on a new event that may contain a mistake; `known` are the earlier events of the book."""
    fields = event.fields
    if event.kind == "layout cut" and not {"stock", "offcut", "board"} & fields.keys():
        yield (
            f"Event {event.number} names no stock, offcut or board, so what is on hand is not reduced. If the boards "
            f'are in the book: woodshop book correct BOOK {event.number} "stock=..."'
        )
    if "item" in fields and fields["item"] not in {each.fields.get("item") for each in known}:
        yield from _unknown_item(fields["item"], event.number)
    boxes = dict.fromkeys(each.fields["box"] for each in known if "box" in each.fields)
    if "box" in fields and boxes and fields["box"] not in boxes:
        hint = did_you_mean(fields["box"], boxes, "", 0.8)
        if hint:
            yield f"Event {event.number}: {fields['box']!r} is a box that the book has not had so far. {hint}"


def _unknown_item(item: str, number: int) -> Iterator[str]:
    from woodshop.design.settle.unit_forms import items_of  # here, because reading every item takes half a second
    from woodshop.hardware.catalogue import SETS, item_hint, items

    words = " + ".join(part.strip() for part in item.split("+"))
    if not items_of(words, ""):
        names = [*SETS, *(each.name for each in items())]
        hint = item_hint(words, names, "If it is a set of your own or not made with woodshop, it is right.")
        yield f"Event {number}: woodshop knows no item {words!r}. {hint}"


def overpaid_notes(added: Added, state: BookState) -> list[Block]:
    """A note for each order whose payments, with a new one, exceed its price before tax."""
    paid = {event.fields["order"] for event in added.new if event.kind in ("deposit paid", "balance paid")}
    return [
        Paragraph(
            f"{order.paid} was paid for order {order.order}, {Money(-order.owed.minor, order.owed.currency)} more than "
            "its price before tax. If that is not the tax, correct the amount: woodshop book correct.",
            lead="Note:",
        )
        for order in state.orders
        if order.order in paid and order.owed is not None and order.owed.minor < 0
    ]


def events_section(
    events: Sequence[Event], known: Sequence[Event], currency: str, of_kind: int | None = None
) -> Section:
    """A list of `events`, each with later corrections; `known` are all events of the book. Prices are in `currency`.

    If only events of one kind are listed, `of_kind` is their number.
    """
    numbers = {event.id: event.number for event in known}
    later: dict[str, list[str]] = {}
    changes = [event for event in known if event.kind in CHANGES]
    undone = {event.fields["of"] for event in changes if event.kind == UNDO}
    for event in changes:
        done = "undone" if event.kind == UNDO else "corrected"
        fallen = " (itself undone)" if event.id in undone else ""
        later.setdefault(event.fields["of"], []).append(f"{done} by {event.number}{fallen}")
    columns = (
        _NUMBER,
        Column("day", key="day"),
        Column("event", key="kind"),
        Column("fields", weight=4, key="fields"),
        Column("since then", key="since"),
        Column("id", key="id", shown=False),
    )
    rows = tuple(
        (
            event.number,
            event.day or None,
            event.kind,
            _fields_text(event, numbers, currency),
            "; ".join(later.get(event.id, ())),
            event.id,
        )
        for event in events
    )
    blocks: list[Block] = [Table(columns, rows)] if rows else [Paragraph("The book has no such events.")]
    if rows and of_kind is not None:
        more = f"; the last {len(rows)} are listed. All: --all" if len(rows) < of_kind else ""
        blocks.append(Paragraph(f"{_events(of_kind)} of this kind, of {len(known)} in the book{more}."))
    elif rows and len(rows) < len(known):
        blocks.append(Paragraph(f"{len(rows)} of {_events(len(known))}. All: --all. Of one kind: --kind KIND."))
    table = Table(columns, rows)
    return Section("", tuple(blocks), {"events": table.records, "total": len(known)})


def state_section(state: BookState, what: str) -> Section:
    """One list from the state of a book; `what` is one of `LISTS`. Raises InputError for another word."""
    if what not in LISTS:
        do = did_you_mean(what, LISTS, "Choose one of them.")
        raise InputError(Problem("book list", repr(what)[:60], f"one of {', '.join(LISTS)}", do))
    table = LISTS[what](state)
    blocks: tuple[Block, ...] = (table,) if table.rows else (Paragraph(f"The book has no {what}."),)
    return Section(
        "",
        (*blocks, Paragraph(f"As of event {state.number}.")),
        {what: table.records, "as_of": state.number, "digest": state.digest},
    )


def _stock(state: BookState) -> Table:
    names = ("on hand", "bought", "used", "unusable", "marked", "difference")
    columns = (Column("stock", weight=3, key="stock"), Column("material", key="material"),
               *(Column(name, Align.RIGHT, key=name.replace(" ", "_")) for name in names))  # fmt: skip
    rows = tuple(
        (each.stock, each.material or None, *(getattr(each, name.replace(" ", "_")) for name in names))
        for each in state.stock
    )
    return Table(columns, rows)


def _offcuts(state: BookState) -> Table:
    columns = (Column("offcut", key="offcut"), Column("material", key="material"),
               Column("length", Align.RIGHT, key="length"), Column("width", Align.RIGHT, key="width"),
               Column("bad stretches", key="bad"), Column("place", key="place"))  # fmt: skip
    wording = wording_of(state.unit)

    def stretch(bad: tuple[Length, Length]) -> str:
        return f"{wording.number(bad[0])} to {wording.length(bad[1])}"

    kept = [
        (each.offcut, each.material, wording.length(each.length), wording.length(each.width),
         "; ".join(map(stretch, each.bad)) or None, each.place)
        for each in state.offcuts
    ]  # fmt: skip
    marked = [
        (f"marked board {each.board}", each.material,
         None if each.length is None else wording.length(each.length), None,
         "; ".join(map(stretch, each.bad)) or None, each.stock or None)
        for each in state.boards
    ]  # fmt: skip
    return Table(columns, (*kept, *marked))


def _units(state: BookState) -> Table:
    columns = (Column("item", key="item"), Column("box", key="box"), Column("form", key="form"),
               Column("state", key="state"), Column("place", key="place"), Column("hive", key="hive"),
               Column("count", Align.RIGHT, key="count"))  # fmt: skip
    return Table(columns, tuple((*_blank(key), count) for key, count in state.units.items()))


def _blank(key: UnitsKey) -> tuple[str | None, ...]:
    return tuple(each or None for each in key)


def _orders(state: BookState) -> Table:
    columns = (Column("order", key="order"), Column("customer", key="customer"), Column("item", key="item"),
               Column("box", key="box"), Column("form", key="form"), Column("count", Align.RIGHT, key="count"),
               Column("sold", Align.RIGHT, key="sold"), Column("price", Align.RIGHT, key="price"),
               Column("due", key="due"), Column("status", key="status"),
               Column("whole order, before tax", Align.RIGHT, key="order_price"),
               Column("paid", Align.RIGHT, key="paid"),
               Column("still owed, without tax", Align.RIGHT, key="owed"))  # fmt: skip
    rows = tuple(
        (order.order, order.customer, line.item, line.box, line.form or None, line.count, line.sold, line.price,
         line.due, "canceled" if line.is_cancelled else "open" if line.sold < line.count else "filled",
         *((None, None, None) if n else (order.price, order.paid, _more_than_nothing(order.owed))))
        for order in state.orders
        for n, line in enumerate(order.lines)
    )  # fmt: skip
    return Table(columns, rows)


def _more_than_nothing(sum_of: Money | None) -> Money | None:
    return sum_of if sum_of is not None and sum_of.minor > 0 else None


def _prices(state: BookState) -> Table:
    from woodshop.plan.book.reading import inventory_of  # here, because it brings the whole design along

    columns = (Column("lumberyard", key="lumberyard"), Column("stock", key="stock"),
               Column("price", Align.RIGHT, key="price"), Column("seen or paid", key="day"))  # fmt: skip
    rows = tuple((each.lumberyard, each.stock, each.price, each.day) for each in inventory_of(state).prices)
    return Table(columns, rows)


def _measured(state: BookState) -> Table:
    columns = (Column("measured", key="what"), Column("mean", Align.RIGHT, key="mean"), Column("unit", key="unit"),
               Column("from", Align.RIGHT, key="count"))  # fmt: skip
    wording = wording_of(state.unit)
    rows: list[tuple[str, str, str, int]] = []
    if state.density is not None:
        rows.append(("density of packed sugar", _mean(state.density, 3), "kg/L", state.density.count))
    for (cut, tool), kerf in state.kerfs.items():
        words = f"{cut} kerf" + (f", {tool}" if tool else "")
        rows.append((words, wording.number(Length(kerf.mean)), wording.unit, kerf.count))
    for operation, minutes in state.minutes.items():
        rows.append((operation, _mean(minutes, 2), "minutes each", minutes.count))
    return Table(columns, tuple(rows))


def _mean(mean: MeasuredMean, places: int) -> str:
    return decimals(Fraction(mean.mean), places)


def _boxes(state: BookState) -> Table:
    columns = (Column("customer", key="customer"), Column("box", key="box"), Column("hive", key="hive"),
               Column("frames", Align.RIGHT, key="frames"), Column("length", Align.RIGHT, key="length"),
               Column("width", Align.RIGHT, key="width"), Column("gaps", key="gaps"))  # fmt: skip
    wording = wording_of(state.unit)
    rows = tuple(
        (each.customer, each.box, each.hive or None, each.frames, wording.length(each.length),
         wording.length(each.width), tuple(map(wording.length, each.gaps)))
        for each in state.boxes
    )  # fmt: skip
    return Table(columns, rows)


def _batches(state: BookState) -> Table:
    columns = (Column("batch", key="batch"), Column("material", key="material"), Column("what", key="what"),
               Column("count", Align.RIGHT, key="count"), Column("reason", key="reason"))  # fmt: skip
    rows: list[tuple[str, str, str, int, str | None]] = []
    for batch in state.batches:
        rows += [(batch.batch, each.material, f"layout {each.layout} cut", each.times, None) for each in batch.layouts]
        for each in batch.pieces:
            for name in ("made", "spoiled", "lost", "found"):
                if count := getattr(each, name):
                    reason = "; ".join(each.reasons) if name == "spoiled" else ""
                    rows.append((batch.batch, each.material, f"{each.part} {name}", count, reason or None))
        rows += [(batch.batch, bad.material, "board unusable", bad.count, bad.reason or None) for bad in batch.unusable]
    return Table(columns, tuple(rows))


LISTS: dict[str, Callable[[BookState], Table]] = {
    "stock": _stock,
    "offcuts": _offcuts,
    "units": _units,
    "orders": _orders,
    "prices": _prices,
    "measured": _measured,
    "boxes": _boxes,
    "batches": _batches,
}
"""What `woodshop book list` can list besides events."""


def differences_section(things: Sequence[CountedThing], entered: Added | None) -> Section:
    """An inventory count next to the book's counts; `entered` are the differences that were entered, if any."""
    columns = (Column("counted", weight=3, key="what"), Column("book", Align.RIGHT, key="expected"),
               Column("there are", Align.RIGHT, key="counted"),
               Column("difference", Align.RIGHT, key="difference"))  # fmt: skip
    differ = [thing for thing in things if thing.counted != thing.expected]
    rows = tuple((each.what, each.expected, each.counted, f"{each.counted - each.expected:+d}") for each in differ)
    blocks: list[Block] = [Paragraph(f"Counted: {len(things)}. As in the book: {len(things) - len(differ)}.")]
    if rows:
        blocks.append(Table(columns, rows))
        done = "Nothing was entered. Enter the differences: --yes."
        if entered is not None:
            done = f"Entered: {_events(len(entered.new))}, up to number {entered.new[-1].number}."
        blocks.append(Paragraph(done))
    data: Data = {
        "counted": len(things),
        "differences": Table(columns, rows).records,
        "entered": [] if entered is None else [event.number for event in entered.new],
    }
    return Section("", tuple(blocks), data)


def check_section(faults: Sequence[str], notes: Sequence[str], events: int, digest: str) -> Section:
    """The result of checking a book: its `faults` and `notes`, and the number of its `events` with their `digest`."""
    blocks: list[Block] = [KeyValues((("events", events), ("digest", digest)))]
    blocks += [Paragraph(fault, lead="Fault:") for fault in faults]
    blocks += [Paragraph(note, lead="Note:") for note in notes]
    if not faults:
        blocks.append(Paragraph("The book is whole: every event is as it was written, and everything adds up."))
    data: Data = {"sound": not faults, "events": events, "digest": digest, "faults": list(faults), "notes": list(notes)}
    return Section("", tuple(blocks), data)


def _events(count: int) -> str:
    return f"{count} event" if count == 1 else f"{count} events"


def _shown(events: Sequence[Event], currency: str, numbers: dict[str, int]) -> list[Block]:
    if len(events) > 20:
        return []
    columns = (_NUMBER, Column("day"), Column("event"), Column("fields", weight=4))
    rows = tuple((each.number, each.day or None, each.kind, _fields_text(each, numbers, currency)) for each in events)
    return [Table(columns, rows)]


def _fields_text(event: Event, numbers: dict[str, int], currency: str) -> str:
    words, fields = [], event.fields
    for name in filter(fields.__contains__, _order_of_fields(event.kind)):
        value = fields[name]
        if name == "of" and value in numbers:
            words.append(f"of event {numbers[value]}")
        elif FIELDS[name].type is FieldType.MONEY:
            words.append(f"{name} {Money(value, currency)}")
        else:
            words.append(f"{name} {shown_value(FIELDS[name], value)}")
    return "; ".join(words)


@cache
def _order_of_fields(kind: str) -> tuple[str, ...]:
    """Every field in the order for lists: first the fields of this kind of event, then all others."""
    known = KINDS[kind]
    return tuple(dict.fromkeys((*known.required, *known.optional, *FIELDS)))


def _defaults(event: Event) -> list[str]:
    """The values that apply because the event left out a field."""
    kind, fields = KINDS[event.kind], event.fields
    known = (*kind.required, *kind.optional)
    taken = {"place": SHED, "state": GOOD}
    left_out = [f"{name} {value}" for name, value in taken.items() if name in known and name not in fields]
    if "hive" in fields:
        left_out = [each for each in left_out if not (each.startswith("place") and event.kind == "units scrapped")]
    return [*left_out, *(["no day"] if not event.day and event.kind not in CHANGES else [])]
