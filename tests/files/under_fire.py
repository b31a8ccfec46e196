"""A result folder with other people's files in it, and ways to end its writing at any step.

`steps` counts the system calls that writing makes to change files; `struck` ends the writing at one of them, or at
one line of its code: by an interrupt, by an error of the disk (once, or from then on), or by a kill.
"""

import os
import signal
import stat
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from types import FrameType
from typing import Any

from woodshop.errors import InputError
from woodshop.files import folder as folder_module
from woodshop.files import one_file as writing_module
from woodshop.files.folder import write_folder

CALLS = ("open", "write", "fsync", "mkdir", "rmdir", "rename", "replace", "link", "unlink", "chmod")
CODE = {folder_module.__file__, writing_module.__file__}
WAYS = ("interrupt", "error", "lasting error", "kill")

OLD = {"a.pdf": b"old a", "plan.json": b"old plan", "drawings/one.dxf": b"old one", "drawings/deep/two.dxf": b"two"}
NEW = {"a.pdf": b"new a", "b.pdf": b"new b", "plan.json": b"new plan", "drawings/one.dxf": b"new", "fresh/x.csv": b"x"}


@dataclass(frozen=True)
class Place:
    """A result folder in a place of its own, and the files of others in and beside it as they were."""

    lumberyard: Path
    folder: Path
    others: dict[str, Any]


def furnished(lumberyard: Path, *, is_new: bool = False, is_link: bool = False) -> Place:
    """A folder with an old packet, and a foreign file, folder, link, second name and named pipe in and beside it."""
    lumberyard.mkdir()
    folder = lumberyard / "packet"
    if is_link:
        (lumberyard / "elsewhere").mkdir()
        folder.symlink_to("elsewhere")
    if not is_new:
        write_folder(folder, OLD)
        folder.chmod(0o750)
        (folder / "note.txt").write_bytes(b"note")
        (folder / "note.txt").chmod(0o604)
        (folder / "drawings/mine.txt").write_bytes(b"mine")
        (folder / "drawings/empty").mkdir()
        (folder / "pointer").symlink_to("note.txt")
        os.mkfifo(folder / "pipe")
        os.link(folder / "note.txt", lumberyard / "second name of the note")
        os.link(folder / "a.pdf", lumberyard / "second name of the old packet")
    (lumberyard / "beside.txt").write_bytes(b"beside")
    return Place(lumberyard, folder, _others(lumberyard))


def _others(lumberyard: Path) -> dict[str, Any]:
    """All that is not of the packet, with what must not change of it: kind, mode, owner, number, bytes or target."""
    ours = {f"{top}/{name}" for top in ("packet", "elsewhere") for name in (*OLD, *NEW, "manifest.json")}
    folders = {str(parent) for name in ours for parent in Path(name).parents} - {"packet", "elsewhere"}
    found = {}
    for path in (lumberyard, *sorted(lumberyard.rglob("*"))):
        name = path.relative_to(lumberyard).as_posix()
        if name in ours | (folders - {"."}) or ".woodshop" in name:
            continue
        info = path.lstat()
        content: Any = None
        if stat.S_ISREG(info.st_mode):
            content = (path.read_bytes(), info.st_mtime_ns)
        elif stat.S_ISLNK(info.st_mode):
            content = os.readlink(path)
        found[name] = (info.st_mode, info.st_uid, info.st_gid, info.st_ino, content)
    return found


def packet(place: Place) -> dict[str, bytes]:
    """The files of ours in the folder, without the manifest."""
    names = {*OLD, *NEW}
    return {name: (place.folder / name).read_bytes() for name in sorted(names) if (place.folder / name).exists()}


def faults(place: Place, *, is_new: bool = False, may_be_mixed: bool = False) -> list[str]:
    """What is wrong with the folder: a packet that is neither the old nor the new one, others' files changed."""
    found = []
    now, before = packet(place), {} if is_new else OLD
    if not may_be_mixed and now not in (before, NEW):
        found.append(f"neither old nor new: {now}")
    there = _others(place.lumberyard)
    if "packet" not in place.others:  # the folder itself may come and go
        there.pop("packet", None)
    if there != place.others:
        found.append(f"others' files changed: {sorted(set(there.items()) ^ set(place.others.items()))}")
    return found


def left_over(place: Place) -> list[str]:
    """What only a writing that was ended can have left."""
    return sorted(str(path) for path in place.lumberyard.rglob("*") if ".woodshop" in path.name)


class Lines:
    """Counts the lines of the writing's code as they are run, and raises an interrupt at one of them."""

    def __init__(self, at: int = -1) -> None:
        self.at, self.count = at, 0

    def __call__(self, frame: FrameType, event: str, _: Any) -> "Lines | None":
        if frame.f_code.co_filename not in CODE:
            return None
        if event == "line":
            self.count += 1
            if self.count - 1 == self.at:
                raise KeyboardInterrupt
        return self


@contextmanager
def _wrapped(strike: Callable[[int, str], None]) -> Iterator[None]:
    """Every call that changes files goes by `strike(number, name)` first; nothing is forced onto the disk."""
    kept = {name: getattr(os, name) for name in CALLS}
    count = 0

    def make(name: str) -> Callable[..., Any]:
        def call(*args: Any, **kwargs: Any) -> Any:
            nonlocal count
            number, count = count, count + 1
            strike(number, name)
            return None if name == "fsync" else kept[name](*args, **kwargs)

        return call

    for name in CALLS:
        setattr(os, name, make(name))
    try:
        yield
    finally:
        for name in CALLS:
            setattr(os, name, kept[name])


def steps(write: Callable[[], None]) -> int:
    """How many calls that change files the writing makes."""
    count = 0

    def strike(number: int, name: str) -> None:
        nonlocal count
        count = number + 1

    with _wrapped(strike):
        write()
    return count


def lines(write: Callable[[], None]) -> int:
    """How many lines of the writing's code are run."""
    counted = Lines()
    before = sys.gettrace()
    sys.settrace(counted)
    try:
        write()
    finally:
        sys.settrace(before)
    return counted.count


def struck_at_line(write: Callable[[], None], at: int) -> None:
    """Write, and be interrupted as that line is begun."""
    before, opened = sys.gettrace(), _descriptors()
    sys.settrace(Lines(at))
    try:
        write()
    except KeyboardInterrupt:
        pass
    finally:
        sys.settrace(before)
    for each in _descriptors() - opened:  # as the end of a process does
        os.close(each)


def _descriptors() -> set[int]:
    found = set()
    for name in os.listdir("/dev/fd"):
        with suppress(OSError):
            os.fstat(int(name))
            found.add(int(name))
    return found


def struck(write: Callable[[], None], at: int, way: str) -> None:
    """Write, and be ended before that call: what ends it is one of WAYS."""
    if way == "kill":
        child = os.fork()
        if child == 0:
            with _wrapped(lambda number, name: os.kill(os.getpid(), signal.SIGKILL) if number == at else None):
                write()
            os._exit(0)
        _, status = os.waitpid(child, 0)
        assert os.WIFSIGNALED(status), "the writing ended before the call"
        return
    failing = ""

    def strike(number: int, name: str) -> None:
        nonlocal failing
        if number == at:
            if way == "interrupt":
                raise KeyboardInterrupt
            if way == "lasting error":
                failing = name
            raise OSError(5, "Input/output error")
        if name == failing:
            raise OSError(5, "Input/output error")

    with _wrapped(strike), suppress(KeyboardInterrupt, InputError):
        write()
