"""Kills, power cuts and torn writes: the book opens with every acknowledged event, or says that it is damaged.

What may be lost in a power cut is what SQLite's documents say: pages of the file and of the journal that were not yet
flushed, and the end of either file ("Atomic Commit In SQLite", sections 3 and 6; "File Locking And Concurrency",
section 6).
"""

import os
import signal
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from random import Random

import pytest

from tests.nightly import IS_NIGHT, spread
from tests.records.shop_days import PINE, autumn, days_of_work, sent
from woodshop.errors import InputError
from woodshop.records.events import NewEvent
from woodshop.records.store import checked_book, new_book, open_book, read_book

KILLS = 500 if IS_NIGHT else 20
pytestmark = [
    pytest.mark.forks,
    pytest.mark.skipif(not hasattr(os, "fork"), reason="no processes can be forked here"),
]


def killed_under_load(path: Path, seed: int, seconds: float) -> list[str]:
    """The ids that a process had acknowledged when it was killed after that number of seconds of entering events."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(read)
            work, draw = days_of_work(seed), Random(seed)
            with open_book(path) as book:
                os.write(write, b"open\n")
                while True:
                    events = [next(work) for _ in range(draw.choice((1, 1, 1, 3, 40)))]
                    book.add(events)
                    os.write(write, "".join(f"{event.id}\n" for event in events).encode())
        finally:
            os._exit(1)
    os.close(write)
    with os.fdopen(read, "rb") as pipe:
        assert pipe.readline() == b"open\n"
        time.sleep(seconds)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        return pipe.read().decode().split()


@pytest.mark.slow("processes are started, and killed under load")
def test_a_book_survives_being_killed_at_any_point(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    draw = Random(7)
    acknowledged: set[str] = set()
    path, hot, total = tmp_path / "0.book", 0, 0
    new_book(path)
    for n in range(KILLS):
        if n % 25 == 24:  # books stay small, so that the time goes into kills
            path, acknowledged = tmp_path / f"{n}.book", set()
            new_book(path)
        said = killed_under_load(path, n, draw.uniform(0, 0.12))
        acknowledged, total = acknowledged | set(said), total + len(said)
        hot += path.with_name(f"{path.name}-journal").exists()
        with open_book(path) as book:
            ids = [event.id for event in book.events()]
        assert acknowledged <= set(ids)
        assert len(set(ids)) == len(ids)
        for seed in range(n + 1):  # of each load a beginning, without gaps
            own = [each for each in ids if each.startswith(f"{seed}-")]
            assert own == [f"{seed}-{k}" for k in range(1, len(own) + 1)]
        assert checked_book(path).faults == ()
        acknowledged = set(ids)
    with capsys.disabled():
        print(f"\n{KILLS} kills under load: {hot} left a hot journal; {total} acknowledged events, all there")


@dataclass(frozen=True)
class Crash:
    """What is on the disk in the middle of a commit: the file before and after it, and the journal."""

    before: bytes
    after: bytes
    journal: bytes
    digests: frozenset[str]


def crash(folder: Path, first: list[NewEvent], then: list[NewEvent]) -> Crash:
    """The files of a commit that enters `then` into a book of `first`."""
    path, journal = folder / "made.book", folder / "journal"
    new_book(path, "in", "USD", first)
    before, digests = path.read_bytes(), {read_book(path).digest}
    with open_book(path) as book:

        def keep(statement: str) -> None:
            if statement == "COMMIT":  # a second name keeps the journal when SQLite removes its own
                os.link(f"{path}-journal", journal)

        book.connection.set_trace_callback(keep)
        book.add(then)
    digests.add(read_book(path).digest)
    made = Crash(before, path.read_bytes(), journal.read_bytes(), frozenset(digests))
    assert len(made.digests) == 2
    assert len(made.journal) > 512
    path.unlink()
    journal.unlink()
    return made


def outcome(folder: Path, data: bytes, journal: bytes | None) -> str:
    """The digest of the state of a book with these files, or "refused"; whatever is read must be whole."""
    path = folder / "torn.book"
    path.write_bytes(data)
    left = path.with_name("torn.book-journal")
    left.unlink(missing_ok=True)
    if journal is not None:
        left.write_bytes(journal)
    try:
        with open_book(path) as book:
            state = book.state()
            assert book.head() == (state.number, state.digest)
            if state.number:
                assert book.events(state.number)[0].digest == state.digest
    except InputError:
        return "refused"
    return state.digest


@pytest.fixture
def in_memory(tmp_path: Path) -> Iterator[Path]:
    """A folder in which nothing is forced onto a disk, if the system has one: that only takes time here."""
    memory = Path("/dev/shm")
    if not os.access(memory, os.W_OK):
        yield tmp_path
        return
    with tempfile.TemporaryDirectory(dir=memory) as folder:
        yield Path(folder)


BIG = [sent("stock bought", stock=f"{PINE} {n}", count=1, note="x" * 180) for n in range(60)]


@pytest.fixture(scope="module", params=["one event", "many events"])
def torn(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Crash:
    then = [sent("stock used", stock=PINE, count=1)] if request.param == "one event" else BIG
    return crash(tmp_path_factory.mktemp("crash"), autumn(), then)


def offsets(size: int, count: int) -> list[int]:
    """Every offset at night; else some, and those about the ends of pages and sectors."""
    edges = {n + d for n in range(0, size + 1, 4096) for d in (-1, 0, 1)} | {1, 28, 100, 511, 512, 513, 516}
    return sorted({*spread(range(size), count), *(n for n in edges if 0 <= n < size)})


@pytest.mark.slow("a book is opened for every offset")
@pytest.mark.invariant
def test_a_torn_journal_is_undone_or_refused(torn: Crash, in_memory: Path) -> None:
    """The file has all, none or some of the new pages, and the journal ends anywhere."""
    (old,) = {outcome(in_memory, torn.before, None)}
    assert outcome(in_memory, torn.after, torn.journal) == old
    found = {outcome(in_memory, torn.after, torn.journal[:at]) for at in offsets(len(torn.journal), 60)}
    assert found <= {*torn.digests, "refused"}
    draw = Random(3)
    for at in offsets(len(torn.journal), 60):
        assert outcome(in_memory, mixed(torn, draw), torn.journal[:at]) in {*torn.digests, "refused"}


@pytest.mark.slow("a book is opened for every mixture")
@pytest.mark.invariant
def test_a_whole_journal_undoes_whatever_was_half_written(torn: Crash, in_memory: Path) -> None:
    old = outcome(in_memory, torn.before, None)
    draw = Random(5)
    for _ in range(400 if IS_NIGHT else 40):
        assert outcome(in_memory, mixed(torn, draw, sector=512), torn.journal) == old
    for _ in range(400 if IS_NIGHT else 40):  # without any journal it is noticed
        assert outcome(in_memory, mixed(torn, draw, sector=512), None) in {*torn.digests, "refused"}


def mixed(torn: Crash, draw: Random, sector: int = 4096) -> bytes:
    """A file of which each sector is from before or after the commit; it may end early where the file grew."""
    before = torn.before.ljust(len(torn.after), b"\0")
    parts = [draw.choice((before, torn.after))[at : at + sector] for at in range(0, len(torn.after), sector)]
    return b"".join(parts)[: draw.choice((len(torn.before), len(torn.after)))]


@pytest.mark.slow("a book is opened for every offset")
@pytest.mark.invariant
def test_a_file_that_ends_early_is_refused(torn: Crash, in_memory: Path) -> None:
    for at in offsets(len(torn.after), 80):
        found = outcome(in_memory, torn.after[:at], None)
        assert found == "refused" or found in torn.digests, at
        if at <= len(torn.after) - 4096:
            assert found == "refused", at


@pytest.mark.slow("a book is opened for every byte")
@pytest.mark.invariant
def test_a_changed_byte_is_refused_or_changes_nothing(in_memory: Path) -> None:
    new_book(in_memory / "made.book", "in", "USD", autumn())
    data, digest = (in_memory / "made.book").read_bytes(), read_book(in_memory / "made.book").digest
    state = read_book(in_memory / "made.book")
    refused = 0
    for at in offsets(len(data), 250):
        changed = bytearray(data)
        changed[at] ^= 1 << (at % 8)
        found = outcome(in_memory, bytes(changed), None)
        refused += found == "refused"
        assert found in (digest, "refused"), at
        if found == digest:
            assert read_book(in_memory / "torn.book") == state
    assert refused > 20


@pytest.mark.slow("a process for each point")
@pytest.mark.parametrize("way", ["before the commit", "while pages are written"])
def test_killed_inside_a_commit(tmp_path: Path, way: str) -> None:
    """The process ends where SQLite has a journal on the disk, and with a small cache also new pages in the file."""
    path = tmp_path / "shop.book"
    new_book(path, "in", "USD", autumn())
    before = read_book(path)

    def work() -> None:
        with open_book(path) as book:
            if way == "while pages are written":
                book.connection.execute("PRAGMA cache_size = 1")

            def end(statement: str) -> None:
                if statement == "COMMIT":
                    os.kill(os.getpid(), signal.SIGKILL)

            book.connection.set_trace_callback(end)
            book.add(BIG)

    child = os.fork()
    if child == 0:
        try:
            work()
        finally:
            os._exit(1)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL
    assert path.with_name("shop.book-journal").exists()
    grown = path.stat().st_size > 24_576
    assert grown is (way == "while pages are written")
    assert read_book(path) == before
    assert checked_book(path).faults == ()
    with open_book(path) as book:
        assert len(book.add(BIG).new) == len(BIG)
    assert not path.with_name("shop.book-journal").exists()


def test_an_end_at_any_call_of_the_writing_of_a_new_book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A new book is in its place whole, or not there."""
    for name in ("fsync", "link", "replace"):
        path = tmp_path / f"{name}.book"

        def broken(*args: object, **kwargs: object) -> None:
            raise KeyboardInterrupt

        with monkeypatch.context() as patch:
            patch.setattr(os, name, broken)
            try:
                new_book(path, "in", "USD", autumn())
            except KeyboardInterrupt:
                assert not path.exists() or read_book(path).number == 29
    assert not [each for each in tmp_path.iterdir() if each.suffix != ".book"]
