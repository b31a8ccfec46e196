"""Writes all files of a result folder, or none. Files not written by woodshop are never moved, copied or removed.

New files are written into a folder `.woodshop-writing` inside the result folder, with a journal that lists them. Each
is then renamed into place, and the old files are kept until the last new one is in place. After an interruption, the
next run finds the journal, and finishes the work or continues to undo it.
"""

import errno
import getpass
import hashlib
import json
import os
import shutil
import stat
import time
from collections.abc import Iterable, Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager, suppress
from dataclasses import asdict, dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from woodshop.errors import InputError
from woodshop.files.one_file import (
    is_locked,
    json_bytes,
    read_file,
    refusal,
    sync_folder,
    write_durably,
    written_or_refused,
)
from woodshop.workers import signals_wait

MANIFEST = "manifest.json"
MANIFEST_FORMAT = "woodshop-manifest/1"
WRITING = ".woodshop-writing"
_JOURNAL, _UNDO = "journal.json", "undo.json"
_TRIES, _PAUSE = 20, 0.5  # for the lock of a folder that another run is writing to: writing takes a second or two
_LONGEST_NAME = 255  # bytes in one part of a path, on all common file systems
_claimed: set[Path] = set()


@dataclass(frozen=True, slots=True)
class _Journal:
    """The work to do: files to put in place (and whether an old one existed), files to remove, folders to create."""

    put: tuple[tuple[str, bool], ...]
    remove: tuple[str, ...]
    made: tuple[str, ...]


@contextmanager
def claimed(folder: Path, names: Iterable[str] = ()) -> Iterator[None]:
    """Reserves a result folder for this run, without changing anything in it.

    Raises InputError, before any long work, if nothing can be written there, if one of the `names` is a file not
    written by woodshop, or if another run is using the folder.
    """
    real = _place(folder)
    if not real.is_dir() or real in _claimed or not hasattr(os, "O_DIRECTORY"):
        yield
        return
    with _writing(folder):
        if not os.path.lexists(real / WRITING):
            listed = _listed(real)
            _refuse_foreign(real, {*names, *listed, MANIFEST}, listed)
        descriptor = _lock(real, folder, 1)
    _claimed.add(real)
    try:
        yield
    finally:
        _claimed.discard(real)
        os.close(descriptor)


def write_folder(folder: Path, files: dict[str, bytes], made_from: Mapping[str, Any] | None = None) -> None:
    """Writes `files` (relative path to bytes) into the folder, with a manifest of their hashes and of the inputs other
    than the design (`made_from`).

    Files in the folder's last manifest are replaced or removed; every other file stays as it is. If a file not written
    by woodshop is in the way, or the folder cannot be written, raises InputError and changes nothing.
    """
    real = _place(folder)
    files = dict(sorted(files.items()))
    files[MANIFEST] = _manifest(files, made_from or {})
    made: list[Path] = []
    with _writing(folder):
        try:
            _make_folders(real, made)
            with _locked(real, folder):
                recover(real)
                _write(real, files)
        except BaseException:
            for each in reversed(made):
                with suppress(OSError):
                    each.rmdir()
            raise


def is_half_written(folder: Path) -> bool:
    """Whether a run ended while it replaced files in this folder, so that old and new ones may be mixed."""
    return any((folder / WRITING / name).is_file() for name in (_JOURNAL, _UNDO))


def _manifest(files: dict[str, bytes], made_from: Mapping[str, Any]) -> bytes:
    hashes = {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}
    return json_bytes({"format": MANIFEST_FORMAT, **made_from, "sha256": hashes})


def _writing(folder: Path) -> AbstractContextManager[None]:
    do = "Choose another with --out, or check its permissions and the free space."
    return written_or_refused(folder, "a folder that cannot be written", "a folder to write to", do)


def _place(folder: Path) -> Path:
    """The real path of the folder, with links resolved. Raises InputError if a result must not be written there."""
    with _writing(folder):
        real = Path(os.path.realpath(folder))
        wanted, do = "a folder for this result alone", "Name a new folder, such as --out out/winter."
        with suppress(FileNotFoundError):  # the folder in which the command was started may be gone
            here = Path(os.path.realpath(os.getcwd()))
            if real == here or real in here.parents:
                given = "the folder you are in" if real == here else "a folder above the one you are in"
                raise refusal(folder, given, wanted, do)
        if real == Path(real.anchor):
            raise refusal(folder, "the root of the disk", wanted, do)
        if real in _homes() or str(real.parent) in ("/home", "/Users"):
            raise refusal(folder, "a home folder", wanted, do)
        above = real
        while not _is_there(above):
            above = above.parent
        if any(len(os.fsencode(part)) > _LONGEST_NAME for part in real.parts):
            raise OSError(errno.ENAMETOOLONG, os.strerror(errno.ENAMETOOLONG))
        if not above.is_dir():
            given = "a file of that name" if above == real else f"a file in the way, {above.name}"
            raise refusal(folder, given, "a folder", "Choose another with --out.")
        if not os.access(above, os.W_OK | os.X_OK):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        return real


def _is_there(path: Path) -> bool:
    """Whether a file with this name exists. Raises OSError if the name is impossible or permission is missing."""
    try:
        os.lstat(path)
    except (FileNotFoundError, NotADirectoryError):
        return False
    return True


def _homes() -> set[Path]:
    found = [Path("/root")]
    with suppress(RuntimeError):
        found.append(Path.home())
    with suppress(RuntimeError, KeyError, OSError):
        found.append(Path(f"~{getpass.getuser()}").expanduser())
    return {Path(os.path.realpath(each)) for each in found}


def _make_folders(real: Path, made: list[Path]) -> None:
    """Creates the folder and its missing parents, and adds each to `made`, the outermost first."""
    missing = []
    while not os.path.lexists(real):
        missing.append(real)
        real = real.parent
    for each in reversed(missing):
        with suppress(FileExistsError):  # another run just created it
            each.mkdir()
            made.append(each)


@contextmanager
def _locked(real: Path, folder: Path) -> Iterator[None]:
    """Keeps the folder locked within the block. The lock is always released when the process ends."""
    if real in _claimed or not hasattr(os, "O_DIRECTORY"):
        yield
        return
    descriptor = _lock(real, folder, _TRIES)
    try:
        yield
    finally:
        os.close(descriptor)


def _lock(real: Path, folder: Path, tries: int) -> int:
    for n in range(tries):
        descriptor = os.open(real, os.O_RDONLY | os.O_DIRECTORY)
        if is_locked(descriptor) and os.path.samestat(os.stat(real), os.fstat(descriptor)):
            return descriptor
        os.close(descriptor)
        if n + 1 < tries:
            time.sleep(_PAUSE)
    given, do = "a folder that another run is writing", "Wait until it is done, and run again."
    raise refusal(folder, given, "one run at a time for a folder", do)


def _listed(real: Path) -> set[str]:
    """The files listed in the folder's manifest, and the manifest itself, if it can be read.

    Skips names that lead out of the folder.
    """
    try:
        manifest = json.loads(read_file(real / MANIFEST, "a manifest"))
        if manifest["format"] != MANIFEST_FORMAT:
            return set()
        return {*filter(_is_inside, manifest["sha256"]), MANIFEST}
    except (InputError, ValueError, KeyError, TypeError, RecursionError):
        return set()


def _is_inside(name: Any) -> bool:
    """Whether a name is a file inside the folder, and not one of the temporary files."""
    if not isinstance(name, str) or "\0" in name or "\\" in name:
        return False
    path = PurePosixPath(name)
    parts = path.parts
    return bool(parts) and not path.is_absolute() and ".." not in parts and parts[0] != WRITING and str(path) == name


def _is_ours(real: Path, name: str) -> bool:
    """Whether a listed name is still a plain file, reached without a link."""
    return not any(each.is_symlink() for each in _between(real, name)) and _is_plain(real / name)


def _is_plain(path: Path) -> bool:
    try:
        return stat.S_ISREG(os.lstat(path).st_mode)
    except (FileNotFoundError, NotADirectoryError):
        return False


def _between(real: Path, name: str) -> list[Path]:
    """The folders from the result folder down to the file, the outermost first."""
    return [real / parent for parent in reversed(PurePosixPath(name).parents[:-1])]


def _refuse_foreign(real: Path, names: Iterable[str], listed: set[str]) -> None:
    """Raises InputError if anything not written by woodshop is in the way of these files."""
    for name in sorted(names):
        for each in _between(real, name):
            if os.path.lexists(each) and (each.is_symlink() or not each.is_dir()):
                given, do = "a folder not made by woodshop", "Move it away, or choose another folder with --out."
                raise refusal(each, given, "a folder for the results", do)
        target = real / name
        if not os.path.lexists(target) or (name in listed and _is_plain(target)):
            continue
        is_folder = target.is_dir() and not target.is_symlink()
        given = "a folder where a file must go" if is_folder else "a file not written by woodshop"
        do = "Move it away, or choose another folder with --out."
        raise refusal(target, given, "a folder without it", do)


def _write(real: Path, files: dict[str, bytes]) -> None:
    """Replaces the files of the last manifest with `files`: all of them, or none."""
    listed = _listed(real)
    _refuse_foreign(real, files, listed)
    staging = real / WRITING
    try:
        staging.mkdir()
        for n, (name, data) in enumerate(files.items()):
            write_durably(staging / f"new-{n}", data)
            if _is_plain(real / name):
                os.chmod(staging / f"new-{n}", stat.S_IMODE(os.lstat(real / name).st_mode))
        put = tuple((name, os.path.lexists(real / name)) for name in files)
        folders = dict.fromkeys(each for name in files for each in _between(real, name))
        made = tuple(each.relative_to(real).as_posix() for each in folders if not each.exists())
        remove = tuple(name for name in sorted(listed - files.keys()) if _is_ours(real, name))
        journal = _Journal(put, remove, made)
        write_durably(staging / "journal.new", json_bytes(asdict(journal)))
        os.rename(staging / "journal.new", staging / _JOURNAL)
        sync_folder(staging)
    except BaseException:
        _discard(staging)
        raise
    with signals_wait():
        try:
            _finish(real, journal)
        except BaseException as why:
            _turn_back(real, journal, why)
            raise
        _discard(staging)


def _turn_back(real: Path, journal: _Journal, why: BaseException) -> None:
    """Undoes the work. If that fails too, reports that the next run will finish it."""
    staging = real / WRITING
    try:
        os.rename(staging / _JOURNAL, staging / _UNDO)
        _undo(real, journal)
    except OSError:
        if not isinstance(why, OSError):
            return
        given = f"a partly written folder ({why.strerror})"
        do = f"Repair the disk and run again: that finishes it. Old and new files are in {WRITING}; do not delete it."
        raise refusal(real, given, "a folder that can be written", do) from why
    _discard(staging)


def _finish(real: Path, journal: _Journal) -> None:
    """Completes the work listed in the journal. Safe to call again after any interruption."""
    staging = real / WRITING
    for n, (name, was) in enumerate(journal.put):
        fresh, old, target = staging / f"new-{n}", staging / f"old-{n}", real / name
        if not os.path.lexists(fresh):
            continue
        target.parent.mkdir(parents=True, exist_ok=True)
        if os.path.lexists(target):
            _refuse_stranger(target, old, was)
            if not os.path.lexists(old):
                _keep(target, old)
        os.replace(fresh, target)
    for n, name in enumerate(journal.remove):
        old, target = staging / f"gone-{n}", real / name
        if not os.path.lexists(old) and os.path.lexists(target):
            os.rename(target, old)
    for name in journal.remove:
        for each in reversed(_between(real, name)):
            with suppress(OSError):  # the folder is not empty
                each.rmdir()
    for each in dict.fromkeys((real / name).parent for name, _ in journal.put):
        sync_folder(each)


def _undo(real: Path, journal: _Journal) -> None:
    """Puts the old files back. Safe to call again after any interruption."""
    staging = real / WRITING
    for n, name in enumerate(journal.remove):
        old, target = staging / f"gone-{n}", real / name
        if os.path.lexists(old):
            if os.path.lexists(target):
                raise _in_the_way(target)
            target.parent.mkdir(parents=True, exist_ok=True)
            os.rename(old, target)
    for n, (name, was) in reversed(list(enumerate(journal.put))):
        fresh, old, target = staging / f"new-{n}", staging / f"old-{n}", real / name
        if os.path.lexists(old):
            if os.path.lexists(fresh) and os.path.lexists(target):
                _refuse_stranger(target, old, was)
            os.replace(old, target)
        elif not was and not os.path.lexists(fresh) and os.path.lexists(target):
            os.replace(target, fresh)
    for name in reversed(journal.made):
        with suppress(OSError):
            (real / name).rmdir()


def _refuse_stranger(target: Path, old: Path, was: bool) -> None:
    """Raises InputError if somebody else's file took one of our names after writing began."""
    if not was or (os.path.lexists(old) and not os.path.samestat(os.lstat(old), os.lstat(target))):
        raise _in_the_way(target)


def _in_the_way(target: Path) -> InputError:
    given, do = "a file not written by woodshop", "Move it away, and run again."
    return refusal(target, given, "a free place for the result", do)


def _keep(target: Path, old: Path) -> None:
    """Gives the old file a second name (a hard link if possible), so that its place is never empty."""
    try:
        os.link(target, old)
    except OSError:
        os.rename(target, old)


def _discard(staging: Path) -> None:
    """Removes the temporary files, the journal first, because the others are useless without it.

    Files that cannot be removed are left to the next run.
    """
    with suppress(OSError):
        for name in (_JOURNAL, _UNDO):
            (staging / name).unlink(missing_ok=True)
        sync_folder(staging)
        shutil.rmtree(staging)


def recover(real: Path) -> None:
    """Finishes or undoes the work that a killed run left in a result folder, if any.

    The caller must have the folder locked. Raises InputError if the journal is unclear or somebody else's file is in
    the way, and OSError if the disk or permissions prevent the work.
    """
    staging = real / WRITING
    if not os.path.lexists(staging):
        return
    if staging.is_symlink() or not staging.is_dir():
        raise refusal(staging, "a folder not made by woodshop", "a free name", "Move it away, and run again.")
    for name, act in ((_UNDO, _undo), (_JOURNAL, _finish)):
        if os.path.lexists(staging / name):
            act(real, _read_journal(staging / name))
            break
    _discard(staging)
    if os.path.lexists(staging):
        raise OSError(errno.EIO, f"what an earlier run left in {WRITING} cannot be removed")


def _read_journal(path: Path) -> _Journal:
    try:
        raw = json.loads(read_file(path, "the journal of an earlier run"))
        journal = _Journal(
            tuple((str(name), bool(was)) for name, was in raw["put"]), tuple(raw["remove"]), tuple(raw["made"])
        )
        if all(_is_inside(name) for name in (*(name for name, _ in journal.put), *journal.remove, *journal.made)):
            return journal
    except (ValueError, KeyError, TypeError, RecursionError):
        pass
    do = "Move your own files out of that folder, delete it, and run again."
    raise refusal(path, "a journal that cannot be read", "the journal that an earlier run wrote", do)
