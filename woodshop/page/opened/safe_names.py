"""Which file names the page may use: only those of plain files inside the folder that it was started in."""

import os
import stat
from pathlib import Path

from woodshop.errors import InputError, Problem

LONGEST_NAME, MOST_BYTES = 100, 240  # characters and bytes of a name; file systems take 255 bytes with the ending
_DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))}
_REFUSED = set('/\\:*?"<>|%')


def named_file(folder: Path, name: str, ending: str) -> Path:
    """The path of the file directly in `folder`, there or not, whose name is `name` and then `ending`.

    Raises InputError for any other name, and if there is something other than a plain file inside the folder.
    """
    if not _is_plain(name):
        wanted = f"the name of a file in this folder, without {ending}"
        do = "Use letters, digits, spaces, dots, dashes and underscores."
        raise InputError(Problem("file name", _shown(name), wanted, do))
    return inside(folder, f"{name}{ending}", "file name")


def inside(folder: Path, name: str, where: str) -> Path:
    """The path of a file that is named relative to `folder`, there or not. `where` names the place in messages.

    Raises InputError if it is outside the folder, also by way of a link, or is not a plain file.
    """
    wanted, do = "a plain file in the folder of this page", "Move the file into that folder, and give its name."
    try:
        root, path = os.path.realpath(folder), folder / name
        real = os.path.realpath(path)
        is_inside = real.startswith(os.path.join(root, "")) and len(os.path.basename(real)) <= 255
        mode = os.stat(real).st_mode if is_inside and os.path.lexists(real) else stat.S_IFREG
    except (OSError, ValueError):
        is_inside, mode = False, 0
    if not is_inside or not stat.S_ISREG(mode):
        raise InputError(Problem(where, _shown(name), wanted, do))
    return path


def _is_plain(name: str) -> bool:
    stem = name.partition(".")[0].rstrip().lower()
    return (
        0 < len(name) <= LONGEST_NAME
        and len(name.encode("utf-8", "replace")) <= MOST_BYTES
        and name.isprintable()
        and not _REFUSED & set(name)
        and name[0] not in ". "
        and name[-1] not in ". "
        and stem not in _DEVICES
    )


def _shown(name: str) -> str:
    text = ascii(name) if not name.isprintable() else repr(name)
    return text if len(text) <= 80 else f"{text[:77]}..."
