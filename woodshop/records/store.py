"""The book's file: events in SQLite, appended in one transaction, and read back with a check of their chain.

An event is acknowledged (`add` returns) only when SQLite has committed it with a rollback journal and
`synchronous=EXTRA`: the file, and the deletion of the journal in its folder, are then on the disk. Sources: SQLite,
"PRAGMA synchronous" and "Atomic Commit In SQLite". Events are ordered by their numbers; no clock is read.
"""

import os
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from types import TracebackType
from typing import Self

from woodshop.errors import InputError, Problem
from woodshop.files.one_file import (
    read_file,
    refusal,
    refuse_existing,
    refuse_other,
    replace_file,
    sync_folder,
    write_new,
)
from woodshop.records.balance import imbalances
from woodshop.records.events import Event, NewEvent, first_digest, next_digest
from woodshop.records.fold import apply_event, check_change, folded
from woodshop.records.kinds import CHANGES, KINDS, check_fields
from woodshop.records.ledger import Ledger, frozen_state
from woodshop.records.state import BookState

APPLICATION_ID = 0x57534842  # "WSHB"; SQLite keeps it at byte 68 of the file
SCHEMA_VERSION = 1
LEAST_SQLITE = (3, 37, 0)
BUSY_SECONDS = 10.0
LARGEST_BOOK = 2_000_000_000  # bytes
_MAGIC = b"SQLite format 3\0"
_WANTED = "a book of woodshop"

SCHEMA = (
    """CREATE TABLE book (
        one INTEGER PRIMARY KEY CHECK (one = 1),
        unit TEXT NOT NULL CHECK (unit IN ('in', 'mm')),
        currency TEXT NOT NULL,
        events INTEGER NOT NULL,
        digest TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE event (
        number INTEGER PRIMARY KEY,
        id TEXT NOT NULL UNIQUE,
        kind TEXT NOT NULL,
        day TEXT NOT NULL,
        payload TEXT NOT NULL,
        version INTEGER NOT NULL,
        digest TEXT NOT NULL
    ) STRICT""",
    """CREATE TRIGGER event_follows BEFORE INSERT ON event
        WHEN NEW.number <> (SELECT coalesce(max(number), 0) + 1 FROM event)
        BEGIN SELECT RAISE(ABORT, 'events are numbered without gaps'); END""",
    """CREATE TRIGGER event_stays BEFORE UPDATE ON event
        BEGIN SELECT RAISE(ABORT, 'events are never changed'); END""",
    """CREATE TRIGGER event_remains BEFORE DELETE ON event
        BEGIN SELECT RAISE(ABORT, 'events are never deleted'); END""",
    """CREATE TRIGGER book_remains BEFORE DELETE ON book
        BEGIN SELECT RAISE(ABORT, 'the book is never deleted'); END""",
    """CREATE TRIGGER book_grows BEFORE UPDATE ON book
        WHEN NEW.unit <> OLD.unit OR NEW.currency <> OLD.currency OR NEW.events <= OLD.events
        BEGIN SELECT RAISE(ABORT, 'a book only grows'); END""",
)
Migration = Callable[[sqlite3.Connection], None]
MIGRATIONS: dict[int, Migration] = {}
"""The step from each older schema version to the next. It is empty, because version 1 is the first."""


@dataclass(frozen=True, slots=True)
class Added:
    """The result of adding events: the new events, and the events that were already in the book."""

    new: tuple[Event, ...]
    repeated: tuple[Event, ...]


@dataclass(slots=True)
class Book:
    """An open book. Use it in a `with` block. `notices` are warnings for the user, such as about a network folder."""

    path: Path
    connection: sqlite3.Connection
    unit: str
    currency: str
    notices: tuple[str, ...] = ()
    _known: list[Event] = field(default_factory=list)
    _ids: dict[str, Event] = field(default_factory=dict)
    _ledger: Ledger | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, why: BaseException | None, at: TracebackType | None) -> None:
        self.connection.close()

    def head(self) -> tuple[int, str]:
        """The number of events, and the digest of their chain."""
        with _as_input_errors(self.path):
            row = self.connection.execute("SELECT events, digest FROM book").fetchone()
        if row is None or not isinstance(row[0], int) or not isinstance(row[1], str):
            raise _damaged(self.path, "no count of its events")
        return row[0], row[1]

    def events(self, first: int = 1, last: int | None = None) -> list[Event]:
        """The events from number `first` to `last`. The chain is checked from `first` to the end of the book. Raises
        InputError for a damaged book, or if there is no event `last`."""
        with _as_input_errors(self.path), _transaction(self.connection, "DEFERRED"):
            found = self._read(first)
        if last is not None:
            refuse_number(self.path, last, first + len(found) - 1)
            found = found[: last - first + 1]
        return found

    def state(self, as_of: int | None = None) -> BookState:
        """The state after event `as_of`, or after the last. Raises InputError as `events` does."""
        return frozen_state(folded(self.unit, self.currency, self.events(1, as_of)))

    def add(self, sent: Sequence[NewEvent], read_to: int | None = None) -> Added:
        """Appends all events or none, and returns once they are on the disk.

        An event whose id is already in the book is skipped if its content is the same. Raises InputError if its content
        differs, if an event is impossible, or if the book cannot be written. `read_to` is the number of the last event
        that the sender had read: if another program has since added a correction or an undo, raises InputError.
        """
        with _as_input_errors(self.path):
            try:
                with _transaction(self.connection, "IMMEDIATE"):
                    added = self._append(sent, read_to)
            except BaseException:
                self._ledger, self._known, self._ids = None, [], {}
                raise
        return added

    def _append(self, sent: Sequence[NewEvent], read_to: int | None) -> Added:
        self._catch_up()
        fresh = [] if read_to is None else [event for event in self._known[read_to:] if event.kind in CHANGES]
        if fresh and any(each.id not in self._ids for each in sent):
            given = f"a book in which another program has entered a {fresh[0].kind} since (event {fresh[0].number})"
            do = "Look at it: woodshop book list. Then enter yours again."
            raise InputError(Problem(sent[0].where, given, "a book as it was read", do))
        new: list[Event] = []
        repeated = []
        for each in sent:
            if each.id in self._ids:
                repeated.append(_same(self._ids[each.id], each))
                continue
            number = len(self._known) + 1
            version = KINDS[each.kind].version
            before = self._known[-1].digest if self._known else first_digest(self.unit, self.currency)
            digest = next_digest(before, number, each.id, each.kind, each.day, each.payload, version)
            event = Event(number, each.id, each.kind, each.day, each.payload, version, digest)
            self._take(event, each.where)
            new.append(event)
        if new:
            rows = [(e.number, e.id, e.kind, e.day, e.payload, e.version, e.digest) for e in new]
            self.connection.executemany("INSERT INTO event VALUES (?, ?, ?, ?, ?, ?, ?)", rows)
            self.connection.execute("UPDATE book SET events = ?, digest = ?", (new[-1].number, new[-1].digest))
        return Added(tuple(new), tuple(repeated))

    def _take(self, event: Event, where: str) -> None:
        """Applies a new event to the state. Raises InputError if it is impossible."""
        is_change = event.kind in CHANGES
        if is_change:
            check_change(self._ids, event, where)
        self._known.append(event)
        self._ids[event.id] = event
        if not is_change:
            if self._ledger is None:
                self._ledger = folded(self.unit, self.currency, self._known[:-1])
            apply_event(self._ledger, event, where)
            return
        try:
            self._ledger = folded(self.unit, self.currency, self._known)
        except InputError as why:
            problem, of = why.problems[0], self._ids[event.fields["of"]]
            given = f"{event.kind} of an event that {problem.where} needs: then {problem.given}"
            do = "Undo the later event first, or enter what is missing."
            if problem.where == f"event {of.number}, {of.kind}":
                given = f"event {of.number}, {of.kind}, corrected to {problem.given}"
                do = (
                    f"{problem.do} A correction takes the place of event {of.number}, and what was entered after that "
                    f"event does not count yet. If it has to count, undo event {of.number} and enter it again."
                )
            raise InputError(Problem(where, given, problem.wanted, do)) from None

    def _catch_up(self) -> None:
        """Reads the events that other programs have added since the last read."""
        fresh = self._read(len(self._known) + 1)
        if fresh:
            self._ledger = None
            self._known += fresh
            self._ids |= {event.id: event for event in fresh}
            if len(self._ids) != len(self._known):
                raise _damaged(self.path, "two events with one id")

    def _read(self, first: int) -> list[Event]:
        """The events from number `first` on, checked against the chain and the head of the book."""
        count, head = self.head()
        if first < 1 or first > count + 1:
            refuse_number(self.path, first, count)
        before = first_digest(self.unit, self.currency)
        if first > 1:
            row = self.connection.execute("SELECT digest FROM event WHERE number = ?", (first - 1,)).fetchone()
            if row is None:
                raise _damaged(self.path, f"no event {first - 1}, though it should have {count}")
            before = row[0]
        found: list[Event] = []
        text = "SELECT number, id, kind, day, payload, version, digest FROM event NOT INDEXED WHERE number >= ?"
        versions = {kind.name: kind.version for kind in KINDS.values()}
        for expected, row in enumerate(self.connection.execute(text, (first,)), first):
            number, event_id, kind, day, payload, version, digest = row
            before = next_digest(before, number, event_id, kind, day, payload, version)
            if before != digest or number != expected:
                raise _damaged(self.path, f"event {number} is not as it was written")
            if version > versions.get(kind, 0):
                raise InputError(_newer(self.path, f"an event of a newer kind, {kind!r} (event {number})"))
            found.append(Event._make(row))
        if first + len(found) - 1 != count or before != head:
            raise _damaged(self.path, f"{first + len(found) - 1} events, though it should have {count}")
        return found


def new_book(path: Path, unit: str = "in", currency: str = "USD", sent: Sequence[NewEvent] = ()) -> Added:
    """Writes a book with these events to a new file, completely or not at all. `unit` applies to lengths written
    without a unit; `currency` is a three-letter code.

    Raises InputError if the name is in use, an event is impossible, or the file cannot be written.
    """
    _refuse_old_sqlite(path)
    if unit not in ("in", "mm"):
        raise InputError(Problem(f"{path.name}, unit", repr(unit), "in or mm", "Choose one of them."))
    if not (len(currency) == 3 and currency.isascii() and currency.isalpha() and currency.isupper()):
        given, do = repr(currency)[:60], "Use the three letters of ISO 4217."
        raise InputError(Problem(f"{path.name}, currency", given, "a currency such as USD", do))
    refuse_existing(path, "the book")
    _refuse_leftover(path)
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        for statement in SCHEMA:
            connection.execute(statement)
        row = (1, unit, currency, 0, first_digest(unit, currency))
        connection.execute("INSERT INTO book VALUES (?, ?, ?, ?, ?)", row)
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {SCHEMA_VERSION}")
        added = Book(path, connection, unit, currency).add(sent)
        write_new(path, connection.serialize(), "the book")
    sync_folder(path.parent)
    return added


def open_book(path: Path, *, seconds: float = BUSY_SECONDS) -> Book:
    """Opens a book that other processes may have open. If one is writing, waits up to `seconds` for it to finish.

    Raises InputError if there is no such file, or it is not a book, was written by a newer woodshop, or is damaged.
    """
    _refuse_old_sqlite(path)
    has_journal = _has_journal(path)
    _refuse_foreign(path)
    with _as_input_errors(path):
        connection = sqlite3.connect(
            f"{path.absolute().as_uri()}?mode=rw", uri=True, timeout=seconds, isolation_level=None
        )
    try:
        with _as_input_errors(path):
            _make_durable(path, connection)
            _migrate(path, connection)
            _check_schema(path, connection)
            row = connection.execute("SELECT unit, currency FROM book").fetchone()
            if row is None or not all(isinstance(each, str) for each in row):
                raise _damaged(path, "no row of the book itself")
        book = Book(path, connection, row[0], row[1], _notices(path))
        if has_journal:  # a write was cut off, or is going on: what SQLite restored is checked as a whole
            faults = integrity_faults(book)
            if faults:
                raise _damaged(path, faults[0])
            book.events()
        return book
    except BaseException:
        connection.close()
        raise


def read_book(path: Path, as_of: int | None = None) -> BookState:
    """The state of the book in a file after event `as_of`, or after the last. Raises InputError as `open_book` does."""
    with open_book(path) as book:
        return book.state(as_of)


@dataclass(frozen=True, slots=True)
class BookCheck:
    """The result of checking a book: faults, notes for the user, the number of events, and their digest."""

    faults: tuple[str, ...]
    notes: tuple[str, ...]
    events: int
    digest: str


def checked_book(path: Path) -> BookCheck:
    """Checks a book: the file with SQLite's own check, each event against the chain and the table of kinds, and the
    state against plain sums. Raises InputError if the book cannot be opened or read."""
    with open_book(path) as book:
        faults = integrity_faults(book)
        events = book.events()
        faults += [str(each) for event in events for each in _field_faults(event)]
        state = book.state()
        faults += imbalances(events, state)
        kind = network_kind(path)
        unknown = "Whether the book is in a network folder cannot be known on this system. Keep it on this computer."
        notes = (unknown,) if kind is None else book.notices
        return BookCheck(tuple(faults), notes, state.number, state.digest)


def back_up(book: Book, target: Path) -> tuple[int, str]:
    """Copies an open book with SQLite's backup, even while others use it; returns its event count and digest.

    The copy is checked, then put in place in one step. Raises InputError if `target` is neither a new name nor an older
    copy of this book, or if it cannot be written.
    """
    what = "a copy of this book"
    refuse_other(target, what, is_book, book.path, largest=LARGEST_BOOK)
    if target.exists():
        with open_book(target) as old:
            events, digest = old.head()
        if events > book.head()[0] or digest != _digest_at(book, events):
            given, do = f"another book, or one with events that {book.path.name} has not", "Choose another name."
            raise InputError(Problem(str(target), given, f"an older copy of {book.path.name}, or a new name", do))
    else:
        _refuse_leftover(target)
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as memory:
        with _as_input_errors(book.path):
            book.connection.backup(memory)
        copy = Book(target, memory, book.unit, book.currency)
        copy.events()
        head = copy.head()
        replace_file(target, memory.serialize(), what, is_book, book.path, largest=LARGEST_BOOK)
    sync_folder(target.parent)
    return head


def _digest_at(book: Book, number: int) -> str:
    if not number:
        return first_digest(book.unit, book.currency)
    with _as_input_errors(book.path):
        row = book.connection.execute("SELECT digest FROM event WHERE number = ?", (number,)).fetchone()
    return "" if row is None else str(row[0])


def _field_faults(event: Event) -> list[Problem]:
    where = f"event {event.number}, {event.kind}"
    return [] if event.kind in CHANGES else check_fields(KINDS[event.kind], event.fields, where)


def _refuse_leftover(path: Path) -> None:
    """Refuses a name if an earlier file's journal is next to it: SQLite would apply that journal to the new file."""
    for ending in ("-journal", "-wal"):
        if os.path.lexists(f"{os.path.realpath(path)}{ending}"):
            given = f"{path.name}{ending} of an earlier file beside it"
            raise InputError(Problem(str(path), given, "a name without leftovers", "Choose another name."))


def integrity_faults(book: Book) -> list[str]:
    """The faults that SQLite's own check finds in the file; empty if there are none."""
    with _as_input_errors(book.path):
        rows = [str(row[0]) for row in book.connection.execute("PRAGMA integrity_check")]
    return [] if rows == ["ok"] else rows


def refuse_number(path: Path, number: int, last: int) -> None:
    """Raises InputError if a book of `last` events has no event `number`; 0 (before the first) is accepted."""
    if not 0 <= number <= last:
        wanted = f"a number from 0 to {last}" if last else "0: the book is empty"
        raise InputError(Problem(path.name, f"event {number}", wanted, "See: woodshop book list."))


def _same(known: Event, sent: NewEvent) -> Event:
    if (known.kind, known.day, known.payload) != (sent.kind, sent.day, sent.payload):
        given = f"the id {sent.id!r} again, with other content than event {known.number}"
        do = "To change that event use woodshop book correct; for another event choose another id."
        raise InputError(Problem(sent.where, given, "an id that no other event has", do))
    return known


def _refuse_old_sqlite(path: Path) -> None:
    """Refuses a version of SQLite without strict tables, which make every column keep its type."""
    if sqlite3.sqlite_version_info < LEAST_SQLITE:
        wanted = f"version {'.'.join(map(str, LEAST_SQLITE))} or newer, for the book"
        do = "Use a newer Python; it brings SQLite along."
        raise InputError(Problem(path.name, f"SQLite {sqlite3.sqlite_version}", wanted, do))


def _has_journal(path: Path) -> bool:
    try:
        return os.stat(f"{os.path.realpath(path)}-journal").st_size > 0  # SQLite follows links too
    except (OSError, ValueError):
        return False


def _refuse_foreign(path: Path) -> None:
    """Raises InputError unless the file is marked as a book. (SQLite would take an empty file as a new database.)"""
    head = b""
    with suppress(OSError, ValueError):
        if path.is_file():  # a pipe would block the opening
            with path.open("rb") as file:
                head = file.read(100)
    if not head:
        if not os.path.lexists(path):
            do = "Check the name, or start a book: woodshop book add --new."
            raise InputError(Problem(path.name or str(path), "no such file", _WANTED, do))
        read_file(path, _WANTED, LARGEST_BOOK)  # says why it cannot be read
        raise InputError(Problem(path.name, "an empty file", _WANTED, "Name your book, or start one with --new."))
    if not is_book(head):
        raise InputError(Problem(path.name, "another kind of file", _WANTED, "Name your book."))


def is_book(data: bytes) -> bool:
    """Whether the bytes of a file (or its first hundred) mark it as a book."""
    return data.startswith(_MAGIC) and data[68:72] == APPLICATION_ID.to_bytes(4, "big")


def _make_durable(path: Path, connection: sqlite3.Connection) -> None:
    """Sets the options that make commits durable, and refuses a book that does not accept them."""
    connection.execute("PRAGMA synchronous = EXTRA")
    connection.execute("PRAGMA fullfsync = ON")  # on macOS fsync alone leaves data in the drive's cache
    connection.execute("PRAGMA cell_size_check = ON")
    connection.execute("PRAGMA trusted_schema = OFF")
    (mode,) = connection.execute("PRAGMA journal_mode").fetchone()
    if mode != "delete":
        (mode,) = connection.execute("PRAGMA journal_mode = DELETE").fetchone()
    (level,) = connection.execute("PRAGMA synchronous").fetchone()
    if mode != "delete" or level != 3:
        given = f"a book with journal mode {mode}, level {level}"
        do = "Close other programs that use it, then try again."
        raise InputError(Problem(path.name, given, "a rollback journal, level 3 (EXTRA)", do))


def _migrate(path: Path, connection: sqlite3.Connection) -> None:
    """Brings a book with an older schema up to the current one, in one transaction."""
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    if version > SCHEMA_VERSION:
        raise InputError(_newer(path, f"a book of schema version {version}"))
    if version < 1 or any(older not in MIGRATIONS for older in range(version, SCHEMA_VERSION)):
        given, wanted = f"a book of schema version {version}", f"version 1 to {SCHEMA_VERSION}"
        raise InputError(Problem(path.name, given, wanted, "Restore a backup of the book."))
    if version < SCHEMA_VERSION:
        with _transaction(connection, "IMMEDIATE"):
            (version,) = connection.execute("PRAGMA user_version").fetchone()  # another process may have been first
            for older in range(version, SCHEMA_VERSION):
                MIGRATIONS[older](connection)
            connection.execute(f"PRAGMA user_version = {SCHEMA_VERSION}")


@cache
def _schema_rows() -> tuple[tuple[str, str], ...]:
    """The name and definition of every table and trigger in a book, as SQLite keeps them."""
    with closing(sqlite3.connect(":memory:")) as connection:
        for statement in SCHEMA:
            connection.execute(statement)
        return tuple(connection.execute("SELECT name, coalesce(sql, '') FROM sqlite_schema ORDER BY name"))


def _check_schema(path: Path, connection: sqlite3.Connection) -> None:
    query = "SELECT name, coalesce(sql, '') FROM sqlite_schema WHERE name NOT LIKE 'sqlite_stat%' ORDER BY name"
    rows = tuple(connection.execute(query))  # statistics of other programs change no answer
    if rows != _schema_rows():
        raise _damaged(path, "tables or triggers that were changed")


def _newer(path: Path, given: str) -> Problem:
    return Problem(path.name, given, f"schema version {SCHEMA_VERSION} or older", "Use a newer woodshop.")


def _damaged(path: Path, why: str) -> InputError:
    do = "Copy the file away, then restore the last backup. Nothing was changed."
    return InputError(Problem(path.name, f"a damaged book ({why})"[:200], "a whole book", do))


@contextmanager
def _transaction(connection: sqlite3.Connection, kind: str) -> Iterator[None]:
    connection.execute(f"BEGIN {kind}")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        with suppress(sqlite3.Error):
            if connection.in_transaction:
                connection.execute("ROLLBACK")
        raise


_FAULTS = {
    "SQLITE_BUSY": ("a book that another program is writing", "a book that is free", "Try again in a moment."),
    "SQLITE_LOCKED": ("a book that another program is writing", "a book that is free", "Try again in a moment."),
    "SQLITE_READONLY": (
        "a book that may not be written",
        "a book and a folder that you may write",
        "Change their permissions, or copy the book.",
    ),
    "SQLITE_FULL": ("a full disk", "free space", "Make room and enter it again. Nothing was entered."),
    "SQLITE_CANTOPEN": (
        "a book that cannot be opened",
        "a book and a folder that you may write",
        "Check their permissions.",
    ),
    "SQLITE_IOERR": (
        "a disk that cannot be read or written",
        "a working disk with free space",
        "Check the disk, then enter it again: what is in the book already is recognized.",
    ),
    "SQLITE_AUTH": ("a book that may not be read", "a book that you may read", "Check its permissions."),
    "SQLITE_PERM": ("a book that may not be read", "a book that you may read", "Check its permissions."),
    "SQLITE_NOTADB": ("another kind of file, or a damaged book", _WANTED, "Name your book, or restore a backup."),
}


@contextmanager
def _as_input_errors(path: Path) -> Iterator[None]:
    """Turns an SQLite error inside the block into an InputError."""
    try:
        yield
    except sqlite3.Error as why:
        name = getattr(why, "sqlite_errorname", "")
        for code, (given, wanted, do) in _FAULTS.items():
            if name.startswith(code):
                raise refusal(path, given, wanted, do) from why
        raise _damaged(path, str(why)) from why
    except UnicodeDecodeError as why:
        raise _damaged(path, "text that is not UTF-8") from why


def _notices(path: Path) -> tuple[str, ...]:
    """A warning if the book is in a network folder, where locks and flushes may not work."""
    kind = network_kind(path)
    if not kind:
        return ()
    return (
        f"{path.name} is in a network folder ({kind}). Two computers that write to it at once can damage it. Keep the "
        "book on this computer, and copy it with: woodshop book backup.",
    )


NETWORK_KINDS = (
    "nfs", "nfs4", "cifs", "smb3", "smbfs", "smb2", "afs", "ncpfs", "9p", "ceph", "glusterfs", "lustre", "davfs",
    "fuse.sshfs", "fuse.rclone", "fuse.davfs2", "fuse.glusterfs", "fuse.s3fs", "fuse.gvfsd-fuse", "vboxsf", "drvfs",
)  # fmt: skip


def network_kind(path: Path, mounts: Path = Path("/proc/mounts")) -> str | None:
    """The kind of network file system that a path is on: "" if it is on none, None if this system cannot tell.

    Reads the list of mounts on Linux (device, folder, kind), and uses the longest folder that contains the path. On
    Windows, a path that begins with two backslashes is on another computer.
    """
    real = os.path.realpath(path)
    if real.startswith("\\\\"):
        return "a shared folder"
    try:
        lines = mounts.read_text(encoding="utf-8", errors="replace").splitlines()
    except OSError:
        return None
    best, kind = "", None
    for line in lines:
        words = line.split(" ")
        if len(words) < 3:
            continue
        folder = words[1].replace("\\040", " ").replace("\\011", "\t").replace("\\134", "\\")
        inside = real == folder or real.startswith(folder.rstrip("/") + "/")
        if inside and len(folder) >= len(best):
            best, kind = folder, words[2]
    return None if kind is None else kind if kind in NETWORK_KINDS else ""
