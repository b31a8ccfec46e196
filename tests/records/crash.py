"""Another process that enters events in a book, and is ended by force in the middle of it."""

import os
import signal
from collections.abc import Sequence
from pathlib import Path

from woodshop.records.events import NewEvent
from woodshop.records.store import open_book


def cut_off(path: Path, events: Sequence[NewEvent], statement: int) -> bool:
    """Whether the process was ended: at that statement of its writing, counted from 1; it may have fewer."""
    pid = os.fork()
    if not pid:
        _enter(path, events, statement)
    _, status = os.waitpid(pid, 0)
    return os.WIFSIGNALED(status)


def _enter(path: Path, events: Sequence[NewEvent], statement: int) -> None:
    seen = 0

    def count(text: str) -> None:
        nonlocal seen
        seen += 1
        if seen == statement:
            os.kill(os.getpid(), signal.SIGKILL)

    try:
        book = open_book(path)
        book.connection.set_trace_callback(count)
        book.add(events)
    finally:
        os._exit(0)
