"""The book's file: what it refuses, whom it lets write, and that nothing in it is ever changed."""

import os
import sqlite3
import stat
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from shutil import copyfile, rmtree

import pytest

from tests.records.shop_days import PINE, autumn, days_of_work, sent
from woodshop.errors import InputError
from woodshop.records import store
from woodshop.records.events import first_digest, new_event, next_digest
from woodshop.records.store import (
    APPLICATION_ID,
    SCHEMA,
    SCHEMA_VERSION,
    back_up,
    checked_book,
    network_kind,
    new_book,
    open_book,
    read_book,
)

FIRST = Path(__file__).parents[1] / "data" / "records" / "version-1.book"
BOUGHT = sent("stock bought", stock=PINE, count=4)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A book with the events of an autumn."""
    new_book(tmp_path / "shop.book", "in", "USD", autumn())
    return tmp_path / "shop.book"


def refused(path: Path, what: str = "") -> str:
    """What is said on opening, reading and adding; the file must stay as it is."""
    before = path.read_bytes() if path.is_file() else b""

    def use() -> None:
        with open_book(path, seconds=0.1) as book:
            book.events()
            book.add([BOUGHT])

    with pytest.raises(InputError) as caught:
        use()
    (problem,) = caught.value.problems
    assert problem.given
    assert problem.wanted
    assert problem.do
    assert (path.read_bytes() if path.is_file() else b"") == before
    assert what in str(caught.value)
    return str(caught.value)


def test_a_new_book_is_whole_or_not_there(tmp_path: Path) -> None:
    path = tmp_path / "shop.book"
    with pytest.raises(InputError, match="at most 0"):
        new_book(path, "in", "USD", [sent("stock used", stock=PINE, count=1)])
    assert list(tmp_path.iterdir()) == []
    new_book(path, "mm", "EUR")
    assert (read_book(path).unit, read_book(path).currency, read_book(path).number) == ("mm", "EUR", 0)
    with pytest.raises(InputError, match="a name already in use"):
        new_book(path)
    for unit, currency in (("ft", "USD"), ("in", "usd"), ("in", "Dollar")):
        with pytest.raises(InputError):
            new_book(tmp_path / "other.book", unit, currency)
    (tmp_path / "third.book-journal").write_bytes(b"left over")
    with pytest.raises(InputError, match=r"third\.book-journal of an earlier file"):
        new_book(tmp_path / "third.book")


def test_every_commit_is_made_durable(path: Path) -> None:
    said: list[str] = []
    with open_book(path) as book:
        for name, wanted in (
            ("synchronous", 3),
            ("fullfsync", 1),
            ("journal_mode", "delete"),
            ("busy_timeout", 10_000),
        ):
            assert book.connection.execute(f"PRAGMA {name}").fetchone() == (wanted,)
        book.connection.set_trace_callback(said.append)
        book.add([BOUGHT])
    assert said[0] == "BEGIN IMMEDIATE"
    assert said[-1] == "COMMIT"
    data = path.read_bytes()
    assert int.from_bytes(data[68:72], "big") == APPLICATION_ID
    assert int.from_bytes(data[60:64], "big") == SCHEMA_VERSION


def test_a_book_left_in_another_journal_mode_is_brought_back(path: Path) -> None:
    with closing(sqlite3.connect(path)) as other:
        assert other.execute("PRAGMA journal_mode = WAL").fetchone() == ("wal",)
    with open_book(path) as book:
        assert book.connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)
        book.add([BOUGHT])
    assert not checked_book(path).faults
    assert sorted(each.name for each in path.parent.iterdir()) == ["shop.book"]


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("UPDATE event SET payload = '{}' WHERE number = 3", "never changed"),
        ("UPDATE event SET number = 99 WHERE number = 3", "never changed"),
        ("DELETE FROM event WHERE number = 29", "never deleted"),
        ("DELETE FROM book", "never deleted"),
        ("UPDATE book SET currency = 'EUR'", "only grows"),
        ("UPDATE book SET events = 3", "only grows"),
        ("INSERT INTO event SELECT 31, 'x', kind, day, payload, version, digest FROM event WHERE number = 1", "gaps"),
        ("INSERT INTO event SELECT 30, id, kind, day, payload, version, digest FROM event WHERE number = 1", "UNIQUE"),
        ("INSERT INTO book VALUES (2, 'in', 'USD', 0, '')", "CHECK"),
    ],
)
def test_another_program_cannot_change_an_event_by_mistake(path: Path, statement: str, said: str) -> None:
    with closing(sqlite3.connect(path)) as other, pytest.raises(sqlite3.IntegrityError, match=said):
        other.execute(statement)


def tampered(path: Path, *statements: str) -> None:
    """Carries out statements with the triggers taken away, and puts the triggers back."""
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        triggers = [text for text in SCHEMA if text.startswith("CREATE TRIGGER")]
        for text in triggers:
            other.execute(f"DROP TRIGGER {text.split()[2]}")
        for statement in (*statements, *triggers):
            other.execute(statement)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE event SET payload = replace(payload, '10', '11') WHERE number = 5",
        "UPDATE event SET day = '2026-09-30' WHERE number = 5",
        "UPDATE event SET id = 'another' WHERE number = 5",
        "DELETE FROM event WHERE number = 29",
        "DELETE FROM event WHERE number = 7",
        "UPDATE book SET unit = 'mm'",
        "UPDATE book SET currency = 'EUR'",
        "UPDATE book SET events = 28",
        "DELETE FROM book",
    ],
)
def test_whatever_is_changed_in_the_file_is_noticed(path: Path, statement: str) -> None:
    tampered(path, statement)
    refused(path, "a damaged book")


def test_a_table_or_trigger_that_was_changed_is_noticed(path: Path) -> None:
    with closing(sqlite3.connect(path)) as other:
        other.execute("ANALYZE")
    assert not checked_book(path).faults
    with closing(sqlite3.connect(path)) as other:
        other.execute("DROP TRIGGER event_stays")
    refused(path, "tables or triggers that were changed")


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("empty", b"", "an empty file"),
        ("text", b"kind,day\n" * 50, "another kind of file"),
        ("half", b"SQLite format 3\0", "another kind of file"),
        ("zeros", bytes(8192), "another kind of file"),
    ],
)
def test_another_file_is_refused(tmp_path: Path, name: str, data: bytes, said: str) -> None:
    path = tmp_path / name
    path.write_bytes(data)
    refused(path, said)


def test_another_database_a_folder_and_a_missing_file_are_refused(tmp_path: Path) -> None:
    with closing(sqlite3.connect(tmp_path / "other.db", isolation_level=None)) as other:
        other.execute("CREATE TABLE event (number)")
    refused(tmp_path / "other.db", "another kind of file")
    refused(tmp_path, "a folder")
    refused(tmp_path / "missing.book", "no such file")
    assert not (tmp_path / "missing.book").exists()
    os.mkfifo(tmp_path / "pipe")
    refused(tmp_path / "pipe", "a pipe or a device")


def test_a_newer_and_a_nameless_schema_are_refused(path: Path) -> None:
    for version, said in ((SCHEMA_VERSION + 1, "Use a newer woodshop"), (0, "Restore a backup")):
        with closing(sqlite3.connect(path, isolation_level=None)) as other:
            other.execute(f"PRAGMA user_version = {version}")
        refused(path, said)


def test_an_event_of_a_newer_woodshop_is_refused_not_skipped(path: Path) -> None:
    with open_book(path) as book:
        number, before = book.head()
    row = (number + 1, "new", "glue bought", "", "{}", 1)
    digest = next_digest(before, *row)
    values = ", ".join(map(repr, (*row, digest)))
    tampered(path, f"INSERT INTO event VALUES ({values})", f"UPDATE book SET events = 30, digest = '{digest}'")
    refused(path, "an event of a newer kind, 'glue bought' (event 30)")


def test_the_first_version_is_read_for_ever() -> None:
    """A book as version 1 wrote it, kept as a file: each later version must read it as the same events."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "shop.book"
        copyfile(FIRST, copy)
        with open_book(copy) as book:
            assert [event.id for event in book.events()] == [event.id for event in autumn()]
            assert book.head() == (29, "ef7701055120facb29e191a08e6057f478beb3f898a62972983895ca5379ef42")
        assert not checked_book(copy).faults
        with open_book(copy) as book:
            book.add([BOUGHT])


@pytest.fixture
def second_version(monkeypatch: pytest.MonkeyPatch) -> Iterator[dict[int, Callable[[sqlite3.Connection], None]]]:
    """An invented version 2: each event gets a table of remarks beside it."""
    remark = "CREATE TABLE remark (number INTEGER NOT NULL REFERENCES event, text TEXT NOT NULL) STRICT"

    def step(connection: sqlite3.Connection) -> None:
        connection.execute(remark)

    monkeypatch.setattr(store, "SCHEMA_VERSION", 2)
    monkeypatch.setattr(store, "SCHEMA", (*SCHEMA, remark))
    steps = {1: step}
    monkeypatch.setattr(store, "MIGRATIONS", steps)
    store._schema_rows.cache_clear()
    yield steps
    store._schema_rows.cache_clear()


def test_an_older_book_is_brought_to_the_new_schema(
    path: Path, second_version: dict[int, Callable[[sqlite3.Connection], None]]
) -> None:
    before = read_book_of_version_1(path)
    with open_book(path) as book:
        assert book.connection.execute("PRAGMA user_version").fetchone() == (2,)
        assert book.connection.execute("SELECT count(*) FROM remark").fetchone() == (0,)
        assert book.head() == before
        book.add([BOUGHT])
    with open_book(path) as book:
        assert book.head()[0] == 30


def read_book_of_version_1(path: Path) -> tuple[int, str]:
    with closing(sqlite3.connect(path)) as other:
        row: tuple[int, str] = other.execute("SELECT events, digest FROM book").fetchone()
        return row


def test_a_step_that_fails_leaves_the_old_book(
    path: Path, second_version: dict[int, Callable[[sqlite3.Connection], None]]
) -> None:
    step, before = second_version[1], path.read_bytes()

    def failing(connection: sqlite3.Connection) -> None:
        step(connection)
        raise sqlite3.OperationalError("no more")

    second_version[1] = failing
    with pytest.raises(InputError):
        open_book(path)
    assert read_book_of_version_1(path)[0] == 29
    with closing(sqlite3.connect(path)) as other:
        assert other.execute("PRAGMA user_version").fetchone() == (1,)
        assert other.execute("SELECT count(*) FROM sqlite_schema WHERE name = 'remark'").fetchone() == (0,)
    assert len(path.read_bytes()) == len(before)
    second_version[1] = step
    with open_book(path) as book:
        assert book.head()[0] == 29


def test_the_same_id_with_other_content_is_refused(path: Path) -> None:
    with open_book(path) as book:
        book.add([new_event("stock bought", {"stock": PINE, "count": 4}, event_id="slip 12")])
        again = book.add([new_event("stock bought", {"stock": PINE, "count": 4}, event_id="slip 12")])
        assert ([e.number for e in again.repeated], again.new) == ([30], ())
        for other in (
            new_event("stock bought", {"stock": PINE, "count": 5}, event_id="slip 12"),
            new_event("stock bought", {"stock": PINE, "count": 4}, "2026-10-01", event_id="slip 12"),
            new_event("stock used", {"stock": PINE, "count": 4}, event_id="slip 12"),
        ):
            with pytest.raises(InputError, match="the id 'slip 12' again, with other content than event 30"):
                book.add([BOUGHT, other])
        assert book.head()[0] == 30


def test_a_writer_waits_and_then_says_who_writes(path: Path) -> None:
    with open_book(path) as first, open_book(path, seconds=0.1) as second:
        first.connection.execute("BEGIN IMMEDIATE")
        with pytest.raises(InputError, match="another program is writing"):
            second.add([BOUGHT])
        assert len(second.events()) == 29  # readers go on
        first.connection.execute("ROLLBACK")
        assert second.add([BOUGHT]).new[0].number == 30
        assert first.add([BOUGHT]).repeated[0].number == 30


@pytest.mark.forks
def test_two_processes_write_at_once(path: Path) -> None:
    children = []
    for seed in (1, 2):
        child = os.fork()
        if child == 0:
            code = 1
            try:
                work = days_of_work(seed)
                with open_book(path) as book:
                    for n in range(40):
                        both = sent("minutes taken", operation="sand", minutes="1", count=1, nth=n + 1)
                        book.add([next(work), both])
                code = 0
            finally:
                os._exit(code)
        children.append(child)
    assert [os.waitpid(child, 0)[1] for child in children] == [0, 0]
    with open_book(path) as book:
        events = book.events()
    ids = [event.id for event in events]
    assert len(ids) == len(set(ids)) == 29 + 2 * 40 + 40
    for seed in (1, 2):
        own = [each for each in ids if each.startswith(f"{seed}-")]
        assert own == [f"{seed}-{n}" for n in range(1, 41)]
    assert not checked_book(path).faults


def test_a_full_disk_loses_nothing(path: Path) -> None:
    with open_book(path) as book:
        pages = book.connection.execute("PRAGMA page_count").fetchone()[0]
        book.connection.execute(f"PRAGMA max_page_count = {pages}")
        many = [sent("stock bought", stock=PINE, count=1, note="x" * 150, nth=n) for n in range(1, 400)]
        with pytest.raises(InputError, match="a full disk"):
            book.add(many)
        assert book.head()[0] == 29
        assert len(book.events()) == 29
        book.connection.execute("PRAGMA max_page_count = 1000000")
        assert len(book.add(many).new) == 399
    assert not checked_book(path).faults


def in_a_child(work: Callable[[], str]) -> str:
    """What `work` returns in a process of its own."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read)
        try:
            said = work()
        except BaseException as why:
            said = f"{type(why).__name__}: {why}"
        os.write(write, said.encode())
        os._exit(0)
    os.close(write)
    with os.fdopen(read, "rb") as pipe:
        said = pipe.read().decode()
    os.waitpid(child, 0)
    return said


@pytest.mark.forks
def test_a_file_that_may_not_grow_loses_nothing(path: Path) -> None:
    import resource

    before = read_book(path)

    def work() -> str:
        resource.setrlimit(resource.RLIMIT_FSIZE, (path.stat().st_size, path.stat().st_size))
        with open_book(path) as book:
            book.add([sent("stock bought", stock=PINE, count=1, note="x" * 150, nth=n) for n in range(1, 400)])
        return "added"

    said = in_a_child(work)
    assert said.startswith("InputError: ")
    assert "a full disk" in said or "a disk that cannot be read or written" in said
    assert read_book(path) == before
    assert not checked_book(path).faults

    def start() -> str:
        resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))
        new_book(path.with_name("other.book"))
        return "made"

    assert in_a_child(start).startswith("InputError: ")
    assert sorted(each.name for each in path.parent.iterdir()) == ["shop.book"]


@pytest.mark.forks
@pytest.mark.parametrize("which", ["file", "folder"])
def test_what_may_not_be_written_is_read_and_says_so(path: Path, which: str) -> None:
    folder = Path(tempfile.mkdtemp(prefix="book-"))
    try:
        copyfile(path, folder / "shop.book")
        os.chmod(folder, 0o777 if which == "file" else 0o555)
        os.chmod(folder / "shop.book", 0o444 if which == "file" else 0o666)

        def work() -> str:
            if os.geteuid() == 0:
                os.setuid(65534)
            with open_book(folder / "shop.book") as book:
                assert book.state().number == 29
                try:
                    book.add([BOUGHT])
                except InputError as why:
                    return str(why)
            return "added"

        said = in_a_child(work)
        assert "a book that may not be written" in said or "a book that cannot be opened" in said
        assert stat.S_IMODE((folder / "shop.book").stat().st_mode) == (0o444 if which == "file" else 0o666)
        assert read_book(folder / "shop.book").number == 29
    finally:
        os.chmod(folder, 0o777)
        rmtree(folder)


def test_the_order_is_that_of_the_book_whatever_the_clock_says(path: Path) -> None:
    os.utime(path, (0, 0))
    with open_book(path) as book:
        book.add(
            [
                sent("stock used", "1999-01-01", stock=PINE, count=1),
                sent("stock used", "2050-01-01", stock=PINE, count=1),
            ]
        )
        assert [event.day for event in book.events()[-2:]] == ["1999-01-01", "2050-01-01"]


def test_a_backup_replaces_only_an_older_copy_of_the_same_book(path: Path) -> None:
    copy = path.with_name("copy.book")
    with open_book(path) as book:
        assert back_up(book, copy) == book.head()
        assert read_book(copy) == book.state()
        book.add([BOUGHT])
        assert back_up(book, copy)[0] == 30
        with pytest.raises(InputError, match="the file that is read"):
            back_up(book, path)
        other = path.with_name("other.book")
        new_book(other, "in", "USD", [BOUGHT])
        note = path.with_name("note.txt")
        note.write_text("mine")
        for target in (other, note):
            kept = target.read_bytes()
            with pytest.raises(InputError, match=r"another (book|kind of file)"):
                back_up(book, target)
            assert target.read_bytes() == kept
    with open_book(copy) as newer:
        newer.add([sent("stock used", stock=PINE, count=1)])
    with open_book(path) as book, pytest.raises(InputError, match=r"events that shop\.book has not"):
        back_up(book, copy)
    assert read_book(copy).number == 31
    assert sorted(p.name for p in path.parent.iterdir()) == ["copy.book", "note.txt", "other.book", "shop.book"]


def test_a_backup_can_be_made_while_another_writes(path: Path) -> None:
    with open_book(path) as writer, open_book(path) as book:
        writer.connection.execute("BEGIN IMMEDIATE")
        assert back_up(book, path.with_name("copy.book"))[0] == 29
        writer.connection.execute("ROLLBACK")


def test_a_network_folder_is_known_by_its_mount(tmp_path: Path) -> None:
    mounts = tmp_path / "mounts"
    mounts.write_text(
        "/dev/sda1 / ext4 rw 0 0\nserver:/shop /mnt/shop nfs4 rw 0 0\n//nas/a /mnt/two\\040words cifs rw 0 0\n"
        "tmpfs /mnt/shop/local tmpfs rw 0 0\n"
    )
    kinds = {
        "/home/a.book": "",
        "/mnt/shop/a.book": "nfs4",
        "/mnt/shopping/a.book": "",
        "/mnt/two words/a.book": "cifs",
        "/mnt/shop/local/a.book": "",
    }
    assert {path: network_kind(Path(path), mounts) for path in kinds} == kinds
    assert network_kind(tmp_path, tmp_path / "no such file") is None


def test_a_book_in_a_network_folder_is_warned_of(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with open_book(path) as book:
        assert book.notices == ()
    monkeypatch.setattr(store, "network_kind", lambda path: "nfs4")
    with open_book(path) as book:
        assert "is in a network folder (nfs4)" in book.notices[0]
    assert checked_book(path).notes == book.notices
    monkeypatch.setattr(store, "network_kind", lambda path: None)
    assert "cannot be known on this system" in checked_book(path).notes[0]


def test_odd_names_and_links_lead_to_the_book(path: Path) -> None:
    for name in ("a b.book", "50%.book", "what?.book", "no#1.book", "größe.book", "it's.book", "a;b&c=d.book"):
        odd = path.with_name(name)
        new_book(odd, "in", "USD", [BOUGHT])
        with open_book(odd) as book:
            book.add([sent("stock used", stock=PINE, count=1)])
            assert back_up(book, path.with_name(f"copy of {name}"))[0] == 2
        assert not checked_book(odd).faults
    link = path.with_name("link.book")
    link.symlink_to(path.name)
    with open_book(link) as one, open_book(path) as other:
        one.add([BOUGHT])
        assert other.add([BOUGHT]).repeated
        with pytest.raises(InputError, match="the file that is read"):
            back_up(one, path)
        path.with_name("shop.book-journal").write_bytes(b"0" * 600)
        with open_book(link) as third:  # not a journal of SQLite: the book is checked as a whole, and is whole
            assert third.head()[0] == 30
    assert link.is_symlink()


def test_an_old_library_of_sqlite_is_refused(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sqlite3, "sqlite_version_info", (3, 31, 1))
    refused(path, "Use a newer Python")
    with pytest.raises(InputError, match=r"version 3\.37\.0 or newer"):
        new_book(path.with_name("new.book"))


def test_an_empty_list_of_events_changes_nothing(path: Path) -> None:
    before = path.read_bytes()
    with open_book(path) as book:
        assert book.add([]) == store.Added((), ())
    assert path.read_bytes() == before
    assert first_digest("in", "USD") != first_digest("mm", "USD")
