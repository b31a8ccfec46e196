"""Reads one file within limits, or writes one file completely. The old file stays until the new one is finished."""

import hashlib
import json
import os
import stat
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from pathlib import Path
from typing import Any

from woodshop.errors import InputError, Problem

LARGEST = 16_000_000  # bytes of any file


def read_file(path: Path, wanted: str, largest: int = LARGEST) -> bytes:
    """The bytes of a plain file of at most `largest` bytes; `wanted` is its name in messages.

    Raises InputError if the file does not exist, cannot be read, is too large, or is a folder, a pipe or a device; it
    never waits for a pipe.
    """
    where = path.name if path.name.isprintable() and path.name else repr(str(path))
    try:
        # opening a pipe that has no writer would block
        descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with os.fdopen(descriptor, "rb") as file:
            mode = os.fstat(descriptor).st_mode
            if stat.S_ISDIR(mode):
                raise InputError(Problem(where, "a folder", wanted, "Name the file in it."))
            if not stat.S_ISREG(mode):
                do = "Save its output to a file, and name that file."
                raise InputError(Problem(where, "a pipe or a device, not a plain file", wanted, do))
            data = file.read(largest + 1)
    except InputError:
        raise
    except FileNotFoundError:
        raise InputError(Problem(where, "no such file", wanted, f"Check the name: {path}")) from None
    except IsADirectoryError:
        raise InputError(Problem(where, "a folder", wanted, "Name the file in it.")) from None
    except PermissionError:
        raise InputError(Problem(where, "a file that you may not read", wanted, "Check its permissions.")) from None
    except OSError as why:
        given = f"a file that cannot be read ({why.strerror})"
        raise InputError(Problem(where, given, wanted, "Check its name and permissions.")) from None
    except ValueError:
        raise InputError(Problem(repr(where), "a name with a NUL character", wanted, "Check the name.")) from None
    if len(data) > largest:
        given, wanted = f"a file of over {largest // 1_000_000} MB", f"{wanted} of at most {largest // 1_000_000} MB"
        raise InputError(Problem(where, given, wanted, "Check that this is the right file."))
    return data


def read_text_file(path: Path, wanted: str, largest: int = LARGEST) -> str:
    """The text of a UTF-8 file, without its byte-order mark.

    `wanted`, `largest` and the errors are as in `read_file`.
    """
    try:
        return read_file(path, wanted, largest).decode("utf-8-sig")
    except UnicodeDecodeError as why:
        given = f"bytes that are not UTF-8 text, at byte {why.start}"
        raise InputError(Problem(path.name, given, wanted, "Save it as UTF-8.")) from None


try:
    import fcntl
except ImportError:  # this system has no locks of this kind, so two runs at once are not kept apart
    fcntl = None  # type: ignore[assignment]


def json_bytes(value: Any) -> bytes:
    """The value as readable JSON in a fixed form, so that identical values give identical bytes."""
    return (json.dumps(value, indent=1, ensure_ascii=False) + "\n").encode("utf-8")


def refuse_existing(path: Path, what: str) -> None:
    """Raises InputError if no new file can be written to `path`, named `what` in messages. Call before long work."""
    with _writing(path):
        if os.path.lexists(path):
            raise InputError(_not_writable(path, what))
        _refuse_parent(path)


def write_new(path: Path, data: bytes, what: str) -> None:
    """Writes `data` to a new file, and never replaces one; `what` is its name in messages.

    Raises InputError if the name is in use or the file cannot be written; then nothing is left behind.
    """
    refuse_existing(path, what)
    with _writing(path), _beside(path, data) as fresh:
        try:
            try:
                os.link(fresh, path)
            except FileExistsError:
                raise
            except OSError:  # this file system has no hard links
                if os.path.lexists(path):
                    raise FileExistsError(path) from None
                os.rename(fresh, path)
        except FileExistsError:
            raise InputError(_not_writable(path, what)) from None


def refuse_other(
    path: Path, what: str, is_same_kind: Callable[[bytes], bool], *inputs: Path, largest: int = LARGEST
) -> None:
    """Raises InputError if the file must not be replaced or cannot be written. Call before long work.

    A file must not be replaced if it is one of the `inputs`, is not a plain file, or is of another kind. `what` is the
    file's name in messages; `is_same_kind` examines the bytes of an existing file, at most `largest`.
    """
    with _writing(path):
        real = Path(os.path.realpath(path))
        if not real.exists():
            _refuse_parent(real)
            return
        if any(each.exists() and real.samefile(each) for each in inputs):
            given = "the file that is read"
            raise InputError(Problem(str(path), given, f"another name for {what}", "Choose another name."))
        if not is_same_kind(read_file(real, f"{what}, or a new name", largest)):
            given = "another kind of file"
            do = "Choose another name, or move that file."
            raise InputError(Problem(str(path), given, f"{what} to replace, or a new name", do))
        _refuse_parent(real)


def replace_file(
    path: Path, data: bytes, what: str, is_same_kind: Callable[[bytes], bool], *inputs: Path, largest: int = LARGEST
) -> None:
    """Writes `data` to a file, new or replacing one of the same kind. A link to the file still works.

    `what`, `is_same_kind` and `largest` are as in `refuse_other`. Raises InputError if `refuse_other` does or if the
    file cannot be written; then the old file is unchanged.
    """
    refuse_other(path, what, is_same_kind, *inputs, largest=largest)
    real = Path(os.path.realpath(path))
    with _writing(path), _beside(real, data) as fresh:
        if real.exists():
            os.chmod(fresh, stat.S_IMODE(real.stat().st_mode))
        os.replace(fresh, real)


def write_durably(path: Path, data: bytes) -> None:
    """Writes a new file and returns once its bytes are on the disk. Raises OSError."""
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
    with os.fdopen(descriptor, "wb") as file:
        _fill(file.fileno(), data)


def sync_folder(folder: Path) -> None:
    """Flushes the names in a folder to the disk, if the system supports it."""
    with suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


@contextmanager
def written_or_refused(path: Path, given: str, wanted: str, do: str) -> Iterator[None]:
    """Turns an OSError inside the block into an InputError with these texts.

    `given` is what was given (the reason is added), `wanted` is what is wanted, and `do` is what to do.
    """
    try:
        yield
    except (OSError, ValueError) as why:
        if isinstance(why, InputError):
            raise
        reason = (why.strerror if isinstance(why, OSError) else None) or str(why)
        raise refusal(path, f"{given} ({reason})", wanted, do) from why


def refusal(path: Path, given: str, wanted: str, do: str) -> InputError:
    """The error for a file or folder: what was `given`, what is `wanted`, and what to `do`."""
    name = str(path)
    return InputError(Problem(name if len(name) <= 80 else f"{name[:77]}...", given, wanted, do))


def _writing(path: Path) -> AbstractContextManager[None]:
    return written_or_refused(path, "a file that cannot be written", "a place to write", "Choose another.")


def _not_writable(path: Path, what: str) -> Problem:
    return Problem(
        str(path), "a name already in use", f"a new name for {what}", "Give another name, or move that file."
    )


def _refuse_parent(path: Path) -> None:
    try:
        os.stat(path.parent)
    except FileNotFoundError:
        given, do = f"a folder that does not exist: {path.parent}", "Make the folder, or choose another."
        raise InputError(Problem(str(path), given, "a folder that is there", do)) from None
    if not path.name:
        raise IsADirectoryError(21, "it is a folder")
    with suppress(FileNotFoundError):
        os.lstat(path)  # raises an error if the name is too long
    if not os.access(path.parent, os.W_OK | os.X_OK):
        raise PermissionError(13, os.strerror(13))


@contextmanager
def _beside(path: Path, data: bytes) -> Iterator[Path]:
    """A temporary file with these bytes next to `path`, removed at the end. Also removes files left by killed runs."""
    fresh = path.parent / f".woodshop-{hashlib.sha256(os.fsencode(path.name)).hexdigest()[:12]}.new"
    descriptor = _own(fresh, path)
    try:
        _fill(descriptor, data)
        yield fresh
    finally:
        with suppress(FileNotFoundError):
            if os.path.samestat(os.lstat(fresh), os.fstat(descriptor)):
                os.unlink(fresh)
        os.close(descriptor)
    sync_folder(path.parent)


def _own(fresh: Path, path: Path) -> int:
    """A locked descriptor of the new file. Raises InputError if another run has the lock."""
    while True:
        try:
            descriptor = os.open(fresh, os.O_RDWR | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
        except FileExistsError:
            _remove_left(fresh, path)
            continue
        if is_locked(descriptor) and fresh.exists() and os.path.samestat(os.stat(fresh), os.fstat(descriptor)):
            return descriptor
        os.close(descriptor)


def _remove_left(fresh: Path, path: Path) -> None:
    """Removes the file left by a killed run. Never writes to it, because it may be linked to a finished file."""
    try:
        descriptor = os.open(fresh, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0))
    except FileNotFoundError:
        return
    try:
        if not is_locked(descriptor):
            given = "a file that another run is writing"
            raise InputError(Problem(str(path), given, "one run at a time", "Wait until it is done, and run again."))
        if fresh.exists() and os.path.samestat(os.lstat(fresh), os.fstat(descriptor)):
            os.unlink(fresh)
    finally:
        os.close(descriptor)


def is_locked(descriptor: int) -> bool:
    """Whether this process now holds the lock. Also true if the file system has no locks."""
    if fcntl is None:
        return True
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError:
        return True
    return True


def _fill(descriptor: int, data: bytes) -> None:
    rest = memoryview(data)
    while rest:
        rest = rest[os.write(descriptor, rest) :]
    os.fsync(descriptor)
