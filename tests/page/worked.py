"""Functions for the tests of work in the background; the new process imports them from here."""

import os
import time
from collections.abc import Callable
from pathlib import Path

from woodshop.errors import InputError, Problem
from woodshop.files.folder import write_folder

Say = Callable[[str], None]


def add_up(numbers: list[int], say: Say) -> int:
    """Says each number, and returns their sum."""
    for number in numbers:
        say(f"adding {number}")
    return sum(numbers)


def refuse(say: Say) -> None:
    """Raises an InputError with two problems."""
    raise InputError(Problem("a", "b", "c", "d"), Problem("e", "f", "g", "h"))


def break_down(say: Say) -> None:
    """Ends its process without a word."""
    os._exit(3)


def fail(say: Say) -> None:
    """Raises an error that nobody expects."""
    raise ZeroDivisionError("planned by the test")


def write_again(folder: Path, marks: Path, say: Say) -> None:
    """Replaces all files of a folder, again and again, until it is asked to stop."""
    n = 0
    while True:
        n += 1
        write_folder(folder, {f"{name}.txt": b"%d" % n for name in range(20)})
        say(f"written {n}")
        marks.write_text(str(n))


def wait(mark: Path, say: Say) -> None:
    """Writes the id of its process to a file, and waits."""
    mark.with_suffix(".new").write_text(str(os.getpid()))
    mark.with_suffix(".new").rename(mark)
    time.sleep(60)


def start_and_die(mark: Path, say: Say) -> None:
    """Starts another task that waits, and then dies at once."""
    from woodshop.page.background import BackgroundTask

    BackgroundTask.start(wait, mark)
    while not mark.exists():
        time.sleep(0.05)
    os._exit(0)
