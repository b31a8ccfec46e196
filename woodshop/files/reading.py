"""The one way to read a file that a person named: a plain file, of bounded size, or one clear error."""

import os
import stat
from pathlib import Path

from woodshop.errors import InputError, Problem

LARGEST = 16_000_000  # bytes of any file


def read_file(path: Path, wanted: str, largest: int = LARGEST) -> bytes:
    """The bytes of a plain file of at most `largest` bytes; `wanted` names what it should be in messages.

    Raises InputError for a file that is not there, may not be read or is too large, and for a folder, a pipe or a
    device: those are never waited for.
    """
    where = path.name if path.name.isprintable() and path.name else repr(str(path))
    try:
        # a pipe without a writer would block the opening
        descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with os.fdopen(descriptor, "rb") as file:
            mode = os.fstat(descriptor).st_mode
            if stat.S_ISDIR(mode):
                raise InputError(Problem(where, "a folder", wanted, "Name the file in it."))
            if not stat.S_ISREG(mode):
                do = "Save what comes out of it to a file, and name that."
                raise InputError(Problem(where, "a pipe or a device, not a plain file", wanted, do))
            data = file.read(largest + 1)
    except InputError:
        raise
    except FileNotFoundError:
        raise InputError(Problem(where, "no such file", wanted, f"Looked at {path}; check the name.")) from None
    except IsADirectoryError:
        raise InputError(Problem(where, "a folder", wanted, "Name the file in it.")) from None
    except PermissionError:
        raise InputError(Problem(where, "a file that may not be read", wanted, "Check its rights.")) from None
    except OSError as why:
        given = f"a file that cannot be read ({why.strerror})"
        raise InputError(Problem(where, given, wanted, "Check its name and rights.")) from None
    except ValueError:
        raise InputError(Problem(repr(where), "a name with a NUL character", wanted, "Check the name.")) from None
    if len(data) > largest:
        given, wanted = f"a file of over {largest // 1_000_000} MB", f"{wanted} of at most {largest // 1_000_000} MB"
        raise InputError(Problem(where, given, wanted, "Is it the right file?"))
    return data


def read_text_file(path: Path, wanted: str, largest: int = LARGEST) -> str:
    """The text of a UTF-8 file, without its byte-order mark. Raises InputError as `read_file` does."""
    try:
        return read_file(path, wanted, largest).decode("utf-8-sig")
    except UnicodeDecodeError as why:
        given = f"bytes that are not UTF-8 text, at byte {why.start}"
        raise InputError(Problem(path.name, given, wanted, "Save it as UTF-8.")) from None
