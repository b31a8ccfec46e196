"""The shop's book: enter, list, correct, undo, count, import, export, back up, check."""

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from woodshop.cli.frame import FILE, command, main, say, show
from woodshop.errors import InputError, Problem

if TYPE_CHECKING:
    from woodshop.drawing.values.model import Block
    from woodshop.records.events import Event

AS_OF = click.option(
    "--as-of", type=click.IntRange(min=0), help="Use the book as it stood after this event. Default: the last."
)
DAY = click.option("--day", help="The day on which it happened, such as 2026-11-26. Default: none.")
BOOK = click.argument("book", type=FILE)
ID = click.option(
    "--id", "event_id", default="", help="Your own id for this event. An event with the same id is not entered twice."
)
NEW = click.option("--new", is_flag=True, help="Start a new book in this file, which must not exist yet.")
UNIT = click.option(
    "--unit", type=click.Choice(["in", "mm"]), help="With --new: unit for lengths that do not name one."
)
CURRENCY = click.option("--currency", help="With --new: currency of prices, three letters. Default: USD.")


@main.group("book")
def book_group() -> None:
    """Keep the shop's books: what was ordered, bought, cut, made, sold and measured.

    The book is one file. Events are never erased. Fix a mistake with another event.

    Example: woodshop book list out/shop.book
    """


@book_group.command()
@BOOK
@click.argument("kind")
@click.argument("fields", nargs=-1, metavar="[FIELD=VALUE]...")
@DAY
@ID
@click.option(
    "--nth", type=click.IntRange(min=1), default=1, help="Use 2 if the same thing really did happen a second time."
)
@NEW
@UNIT
@CURRENCY
@command
def add(
    book: Path,
    kind: str,
    fields: tuple[str, ...],
    day: str | None,
    event_id: str,
    nth: int,
    new: bool,
    unit: str | None,
    currency: str | None,
    as_json: bool,
) -> None:
    """Enter one event. Returns when it is safely on the disk.

    KIND is a kind of event, and its fields follow; "woodshop guide book" lists them. Entering the same event again has
    no effect.

    Example: woodshop book add shop.book "stock bought" "stock=1x6 pine, 8 ft" count=10 price=11.12 --day 2026-09-23
    """
    from woodshop.documents.answers.book import added_section, overpaid_notes
    from woodshop.drawing.values.model import Section
    from woodshop.records.events import new_event
    from woodshop.records.kinds import kind_named, read_day, read_fields
    from woodshop.records.store import new_book, open_book

    _only_with_new(new, unit, currency)
    known = kind_named(kind, "book add")
    units = (unit or "in", currency or "USD")
    texts = _texts(fields)
    before: list[Event] = []
    if not new:
        with open_book(book) as opened:
            units = opened.unit, opened.currency
            before = opened.events()
    found: list[Problem] = []
    read, on = {}, ""
    try:
        read = read_fields(known, texts, *units, known.name)
    except InputError as bad:
        found += bad.problems
    try:
        on = read_day(day, known.name) if day else ""
    except InputError as bad:
        found += bad.problems
    if found:
        raise InputError(*found)
    sent = new_event(known.name, read, on, event_id, nth=nth, where=known.name)
    if nth > 1 and not event_id:
        _refuse_gap(book, sent.id, nth, new)
    notes: list[Block] = []
    if new:
        added = new_book(book, *units, [sent])
    else:
        with open_book(book) as opened:
            _warn(opened.notices)
            added = opened.add([sent])
            if "paid" in known.name:
                notes = overpaid_notes(added, opened.state())
    section = added_section(added, book.name, units[1], before)
    show(Section("", (*section.blocks, *notes), section.data), as_json)


@book_group.command("list")
@BOOK
@click.argument("what", default="events")
@AS_OF
@click.option("--kind", help="Only events of this kind.")
@click.option("--all", "is_all", is_flag=True, help="All events. Default: the last 40.")
@command
def list_(book: Path, what: str, as_of: int | None, kind: str | None, is_all: bool, as_json: bool) -> None:
    """List events, or the totals they add up to.

    WHAT is events, stock, offcuts, units, orders, prices, measured, boxes or batches. Default: events.

    Example: woodshop book list shop.book stock --as-of 120
    """
    from woodshop.documents.answers.book import events_section, state_section
    from woodshop.records.kinds import kind_named
    from woodshop.records.store import open_book

    with open_book(book) as opened:
        _warn(opened.notices)
        if what != "events":
            if kind is not None or is_all:
                raise click.UsageError("--kind and --all are for events.")
            show(state_section(opened.state(as_of), what), as_json)
            return
        known = opened.events(1, as_of)
        chosen = known
        if kind is not None:
            name = kind_named(kind, "book list, --kind").name
            chosen = [event for event in known if event.kind == name]
        of_kind = None if kind is None else len(chosen)
        show(events_section(chosen if is_all else chosen[-40:], known, opened.currency, of_kind), as_json)


@book_group.command()
@BOOK
@click.argument("number", type=click.IntRange(min=1))
@click.argument("fields", nargs=-1, metavar="FIELD=VALUE...")
@click.option("--day", help="The right day, such as 2026-11-26. day= without a value clears it.")
@ID
@command
def correct(book: Path, number: int, fields: tuple[str, ...], day: str | None, event_id: str, as_json: bool) -> None:
    """Correct event NUMBER: give the right values of the fields that were wrong. An empty value clears a field.

    Example: woodshop book correct shop.book 3 count=9 --day 2026-09-24
    """
    from woodshop.documents.answers.book import added_section
    from woodshop.records.changes import correction_of
    from woodshop.records.store import open_book

    if not fields and day is None:
        raise click.UsageError("Give at least one FIELD=VALUE, or --day.")
    texts = _texts((*fields, *((f"day={day}",) if day is not None else ())))
    with open_book(book) as opened:
        _warn(opened.notices)
        known = opened.events()
        sent = correction_of(known, number, texts, opened.unit, opened.currency, event_id)
        show(added_section(opened.add([sent], len(known)), book.name, opened.currency, known), as_json)


@book_group.command()
@BOOK
@click.argument("number", type=click.IntRange(min=1))
@click.option("--reason", default="", help="Why it is undone.")
@ID
@command
def undo(book: Path, number: int, reason: str, event_id: str, as_json: bool) -> None:
    """Undo event NUMBER, as if it had not happened. Undo the undo to bring it back.

    Example: woodshop book undo shop.book 3 --reason "entered twice"
    """
    from woodshop.documents.answers.book import added_section
    from woodshop.records.changes import undo_of
    from woodshop.records.store import open_book

    with open_book(book) as opened:
        _warn(opened.notices)
        known = opened.events()
        added = opened.add([undo_of(known, number, reason, event_id)], len(known))
        show(added_section(added, book.name, opened.currency, known), as_json)


@book_group.command()
@BOOK
@click.argument("sheet", type=FILE, required=False)
@click.option(
    "--counted", multiple=True, metavar="THING=COUNT", help="Stock, or an offcut, and its count. Repeat for each."
)
@click.option("--blank", type=FILE, help="Write a blank count sheet to this new .csv file.")
@click.option("--yes", is_flag=True, help="Enter the differences. Without it they are only shown.")
@DAY
@command
def count(
    book: Path,
    sheet: Path | None,
    counted: tuple[str, ...],
    blank: Path | None,
    yes: bool,
    day: str | None,
    as_json: bool,
) -> None:
    """Take inventory: compare what you counted with the book, and enter the differences.

    SHEET has a row for each thing, with its count under "counted"; --blank writes one to fill in. Rows without a count
    are left as they are.

    Example: woodshop book count shop.book counted.csv --yes
    """
    from woodshop.documents.answers.book import differences_section
    from woodshop.documents.lists import csv_bytes
    from woodshop.drawing.values.model import Paragraph, Section
    from woodshop.files.one_file import write_new
    from woodshop.plan.book.event_sheets import read_take_rows
    from woodshop.records.inventory_count import counted_things, difference_events, sheet_rows
    from woodshop.records.kinds import read_day
    from woodshop.records.store import open_book

    if blank is not None and (sheet is not None or counted or yes):
        raise click.UsageError("--blank writes a sheet; give it alone.")
    if blank is None and sheet is None and not counted:
        raise click.UsageError("Give a SHEET, or --counted, or --blank to write a sheet.")
    with open_book(book) as opened:
        _warn(opened.notices)
        state = opened.state()
        if blank is not None:
            rows = sheet_rows(state)
            write_new(blank, csv_bytes(rows), "the sheet")
            words = f"Written: {blank}, {len(rows) - 1} rows. Fill in the column counted."
            show(Section("", (Paragraph(words),), {"sheet": str(blank), "rows": len(rows) - 1}), as_json)
            return
        read = read_take_rows(sheet) if sheet is not None else []
        offcuts = {each.offcut for each in state.offcuts}
        for word in counted:
            name, _, text = word.rpartition("=")
            column = "offcut" if name in offcuts else "stock"
            read.append((f"--counted {word}", {column: name or word, "counted": text}))
        things = counted_things(state, read)
        sent = difference_events(state, things, read_day(day, "book count") if day else "")
        show(differences_section(things, opened.add(sent) if sent and yes else None), as_json)


@book_group.command("import")
@BOOK
@click.argument("sheet", type=FILE)
@NEW
@UNIT
@CURRENCY
@command
def import_(book: Path, sheet: Path, new: bool, unit: str | None, currency: str | None, as_json: bool) -> None:
    """Enter every event of a sheet, .csv or .xlsx: all of them, or none.

    Columns are kind, day, id, and the fields; "woodshop guide book" lists them. Importing the same sheet again adds
    nothing.

    Example: woodshop book import shop.book events.csv --new
    """
    from woodshop.documents.answers.book import added_section
    from woodshop.plan.book.event_sheets import read_event_rows
    from woodshop.records.rows import events_from_rows
    from woodshop.records.store import new_book, open_book

    _only_with_new(new, unit, currency)
    if new and book.exists():
        given, wanted = "a name already in use", "a new name for the book"
        raise InputError(Problem(str(book), given, wanted, "To import into the book of this name, leave --new out."))
    if not new and not book.exists():
        do = f"Check the name, or start a book: woodshop book import {book} {sheet} --new."
        raise InputError(Problem(str(book), "no such file", "a book of woodshop", do))
    rows = read_event_rows(sheet)
    if new:
        before: list[Event] = []
        unit = unit or _first(rows, "unit", "in")
        currency = currency or _first(rows, "currency", "USD")
        added = new_book(book, unit, currency, events_from_rows(rows, unit, currency))
    else:
        with open_book(book) as opened:
            _warn(opened.notices)
            currency, before = opened.currency, opened.events()
            added = opened.add(events_from_rows(rows, opened.unit, opened.currency))
    show(added_section(added, book.name, currency, before), as_json)


@book_group.command()
@BOOK
@click.argument("file", type=FILE)
@AS_OF
@command
def export(book: Path, file: Path, as_of: int | None, as_json: bool) -> None:
    """Write every event to a new .csv file. Import it into a new book to re-create this one.

    Example: woodshop book export shop.book events.csv
    """
    from woodshop.documents.lists import csv_bytes
    from woodshop.drawing.values.model import Paragraph, Section
    from woodshop.files.one_file import refuse_existing, write_new
    from woodshop.records.rows import rows_from_events
    from woodshop.records.store import open_book

    refuse_existing(file, "the export")
    with open_book(book) as opened:
        _warn(opened.notices)
        events = opened.events(1, as_of)
        rows = rows_from_events(events, opened.unit, opened.currency)
    write_new(file, csv_bytes(rows), "the export")
    words = f"Written: {file}, {len(events)} events."
    show(Section("", (Paragraph(words),), {"file": str(file), "events": len(events)}), as_json)


@book_group.command()
@BOOK
@click.argument("file", type=FILE)
@command
def backup(book: Path, file: Path, as_json: bool) -> None:
    """Copy the book to another file, even while it is in use. Replaces only an older copy of the same book.

    Example: woodshop book backup shop.book /media/stick/shop.book
    """
    from woodshop.drawing.values.model import Paragraph, Section
    from woodshop.records.store import back_up, open_book

    with open_book(book) as opened:
        _warn(opened.notices)
        events, digest = back_up(opened, file)
    words = f"Copied to {file}: {events} events."
    show(Section("", (Paragraph(words),), {"file": str(file), "events": events, "digest": digest}), as_json)


@book_group.command()
@BOOK
@command
def check(book: Path, as_json: bool) -> int:
    """Check the book: the file, every event, and that everything adds up. Exits with 1 if something is wrong.

    Example: woodshop book check shop.book
    """
    from woodshop.documents.answers.book import check_section
    from woodshop.records.store import checked_book

    found = checked_book(book)
    show(check_section(found.faults, found.notes, found.events, found.digest), as_json)
    return 1 if found.faults else 0


def _texts(words: Iterable[str]) -> dict[str, str]:
    """The names and values in FIELD=VALUE words. Raises InputError for any other word, or a name given twice."""
    found: dict[str, str] = {}
    for word in words:
        name, mark, text = word.partition("=")
        if not mark or not name.strip():
            do = 'Put quotes around a value with spaces: "stock=1x6 pine, 8 ft".'
            raise InputError(Problem("book", repr(word)[:60], "FIELD=VALUE", do))
        if name.strip() in found:
            raise InputError(Problem("book", f"{name.strip()!r} twice", "each field once", "Leave one out."))
        found[name.strip()] = text
    return found


def _only_with_new(new: bool, unit: str | None, currency: str | None) -> None:
    if not new and (unit is not None or currency is not None):
        raise click.UsageError("--unit and --currency are for a new book; add --new.")


def _refuse_gap(book: Path, event_id: str, nth: int, new: bool) -> None:
    """Refuses event `nth` of identical events if the one before it is not in the book, which suggests a typo."""
    from woodshop.records.store import open_book

    before = f"{event_id.rpartition('-')[0]}-{nth - 1}"
    ids = set()
    if not new:
        with open_book(book) as opened:
            ids = {event.id for event in opened.events()}
    if before not in ids:
        wanted = "at most one more than the book has of this event"
        raise InputError(Problem("book add, --nth", str(nth), wanted, "Count again: woodshop book list."))


def _first(rows: list[tuple[str, dict[str, str]]], name: str, otherwise: str) -> str:
    return next((texts[name] for _, texts in rows if texts.get(name)), otherwise)


def _warn(notices: Iterable[str]) -> None:
    for notice in notices:
        say(f"warning: {notice}")
