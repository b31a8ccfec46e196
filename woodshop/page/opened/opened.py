"""A design or lumberyard file that is open in the page: its text, undo and redo, and saving.

All tabs share one value for each file, and every change is made to its present text, so no tab loses another's change.
"""

from collections.abc import Callable
from itertools import count
from pathlib import Path
from threading import RLock
from typing import Generic, Literal, TypeVar

from woodshop.design.design_file import Design, files_named, read_design_text
from woodshop.design.lumberyard.lumberyard_file import Lumberyard, read_lumberyard_text
from woodshop.design.schema import LARGEST_FILE, load_text
from woodshop.errors import InputError, Problem
from woodshop.files.one_file import read_file, replace_file
from woodshop.page.opened.safe_names import inside

SaveState = Literal["saved", "not saved", "changed on disk"]
V_co = TypeVar("V_co", covariant=True)
_numbers = count(1)
_Step = tuple[str, str, int]
"""The text to go to, what was changed in words, and the number of the change among those of all files."""
_MARK = b"\xef\xbb\xbf"  # a byte-order mark, which stays if the file has one


def file_stamp(path: Path) -> tuple[int, int]:
    """What changes when a file is written: its time and size; zeros if it is gone."""
    try:
        found = path.stat()
    except OSError:
        return 0, 0
    return found.st_mtime_ns, found.st_size


class OpenFile(Generic[V_co]):
    """A file of the page's folder with its undo history. `read` turns text into a value, or raises InputError.

    `text` is the present text, `readable` the last one without errors, and `problems` are those of the present text.
    A text without errors is saved at once. Any other is a draft: the file keeps the last one without errors. If the
    file was changed by another program, nothing is saved until `keep_mine` or `take_file` is called.
    """

    def __init__(self, path: Path, kind: str, read: Callable[[str, Path], V_co]) -> None:
        """Opens the file. `kind` is its name in messages. Raises InputError if it is not text that can be shown."""
        self.path = path
        self.kind = kind
        self.revision = 0
        self.problems: tuple[Problem, ...] = ()
        self.not_written: tuple[Problem, ...] = ()
        self._read = read
        self._lock = RLock()
        self._callbacks: list[Callable[[], None]] = []
        self._disk: bytes | None = self._bytes()
        self._is_changed_on_disk = False
        self.text = _decoded(self._disk or b"", path)
        self.readable = self.text
        self._saved = self.text
        self._undo: list[_Step] = []
        self._redo: list[_Step] = []
        self._value: V_co | None = None
        self._examine()

    @property
    def save_state(self) -> SaveState:
        """Whether the file has the present text; "changed on disk" if another program changed or removed the file."""
        if self._is_changed_on_disk:
            return "changed on disk"
        return "saved" if self.text == self._saved else "not saved"

    @property
    def can_undo(self) -> bool:
        """Whether there is a step to undo."""
        return bool(self._undo)

    @property
    def can_redo(self) -> bool:
        """Whether there is a step to redo."""
        return bool(self._redo)

    @property
    def undo_what(self) -> str:
        """What the step that would be undone changed, in words, or "" if there is none."""
        return self._undo[-1][1] if self._undo else ""

    @property
    def redo_what(self) -> str:
        """What the step that would be redone changes, in words, or "" if there is none."""
        return self._redo[-1][1] if self._redo else ""

    @property
    def undo_number(self) -> int:
        """The number of the step that would be undone, or 0. Later changes, of any file, have larger numbers."""
        return self._undo[-1][2] if self._undo else 0

    @property
    def redo_number(self) -> int:
        """The number of the step that would be redone, or 0."""
        return self._redo[-1][2] if self._redo else 0

    def edit(self, change: Callable[[str], str], what: str) -> None:
        """Changes the present text, as one step of undo. `what` says in words what is changed.

        If `change` raises InputError, nothing is changed, and the error is passed on.
        """
        with self._lock:
            text = change(self.text)
            if text == self.text:
                return
            self._undo.append((self.text, what, next(_numbers)))
            self._redo.clear()
            self._show(text)

    def undo(self) -> None:
        """Goes back one step, if there is one."""
        with self._lock:
            if self._undo:
                text, what, number = self._undo.pop()
                self._redo.append((self.text, what, number))
                self._show(text)

    def redo(self) -> None:
        """Makes the step that was undone last, if there is one."""
        with self._lock:
            if self._redo:
                text, what, number = self._redo.pop()
                self._undo.append((self.text, what, number))
                self._show(text)

    def value(self) -> V_co:
        """The value of the last readable text. Raises InputError if the file has not been readable since opening."""
        if self._value is None:
            raise InputError(*self.problems)
        return self._value

    def subscribe(self, callback: Callable[[], None]) -> Callable[[], None]:
        """Calls `callback` after each change, until the function that is returned is called."""
        self._callbacks.append(callback)

        def unsubscribe() -> None:
            if callback in self._callbacks:
                self._callbacks.remove(callback)

        return unsubscribe

    def look_at_file(self) -> None:
        """Finds out whether another program has changed this file, or a file that it names; tells subscribers if so."""
        with self._lock:
            was = self.save_state, self.problems
            self._examine()
            self._save()
            if was != (self.save_state, self.problems):
                self.tell()

    def file_text(self) -> str | None:
        """The text that the file has now, to be shown beside the present text; None if the file is gone.

        Raises InputError if it is not text.
        """
        data = self._bytes()
        return None if data is None else _decoded(data, self.path)

    def keep_mine(self) -> None:
        """Replaces what another program wrote by the present text, or by the last readable one if that is a draft."""
        with self._lock:
            self._disk = self._bytes()
            self._is_changed_on_disk = False
            self._save(anyway=True)
            self.tell()

    def take_file(self) -> None:
        """Takes over what another program wrote, as one step of undo. Raises InputError if it is gone or not text."""
        with self._lock:
            data = self._bytes()
            if data is None:
                do = "Keep yours: it is then written again."
                raise InputError(Problem(self.path.name, "no such file", f"a {self.kind} file", do))
            text = _decoded(data, self.path)
            self._disk, self._is_changed_on_disk, self._saved = data, False, text
            if text != self.text:
                self._undo.append((self.text, "take over what another program wrote", next(_numbers)))
                self._redo.clear()
            self._show(text)

    def _show(self, text: str) -> None:
        self.text = text
        self._examine()
        self._save()
        self.tell()

    def tell(self) -> None:
        """Calls the subscribers: this file was changed, or another one that it names."""
        self.revision += 1
        for callback in tuple(self._callbacks):
            callback()

    def _examine(self) -> None:
        """Reads the present text, and keeps its value if it has no errors."""
        try:
            if len(self.text) > LARGEST_FILE:
                given, do = "a text that is too long", "Undo the last change."
                raise InputError(Problem(self.path.name, given, f"at most {LARGEST_FILE} characters", do))
            self._value = self._read(self.text, self.path)
            self.readable, self.problems = self.text, ()
        except InputError as bad:
            self.problems = bad.problems

    def _save(self, anyway: bool = False) -> None:
        """Writes the last readable text, unless the file has it or was changed by another program."""
        self.not_written = ()
        self._compare()
        if self._is_changed_on_disk or (self.problems and not anyway) or (self.readable == self._saved and not anyway):
            return
        known = self._disk
        mark = _MARK if known is not None and known.startswith(_MARK) else b""
        data = mark + self.readable.encode("utf-8")
        try:
            replace_file(self.path, data, f"the {self.kind} file as it was read", lambda held: held == known)
        except InputError as bad:
            self._compare()
            self.not_written = () if self._is_changed_on_disk else bad.problems
            return
        self._disk, self._saved = data, self.readable

    def _compare(self) -> None:
        """Notes whether the file still has the bytes that were read or written last."""
        try:
            self._is_changed_on_disk = self._bytes() != self._disk
        except InputError:
            self._is_changed_on_disk = True

    def _bytes(self) -> bytes | None:
        """The bytes of the file, or None if it is gone. Raises InputError if it cannot be read."""
        try:
            if not self.path.exists():
                return None
        except OSError:
            return None
        return read_file(self.path, f"a {self.kind} file", LARGEST_FILE)


class OpenDesign(OpenFile[Design]):
    """A design file that is open in the page."""

    def __init__(self, path: Path) -> None:
        """Opens a design. The files that it names must be in its folder too; any other is a problem of its text."""
        super().__init__(path, "design", _design_within)

    def design(self) -> Design:
        """The design of the last readable text. Raises InputError if there has been none since opening."""
        return self.value()


class OpenLumberyard(OpenFile[Lumberyard]):
    """A lumberyard file that is open in the page."""

    def __init__(self, path: Path) -> None:
        """Opens a lumberyard file."""
        super().__init__(path, "lumberyard", read_lumberyard_text)

    def lumberyard(self) -> Lumberyard:
        """The lumberyard of the last readable text. Raises InputError if there has been none since opening."""
        return self.value()


def _design_within(text: str, path: Path) -> Design:
    """The design of this text. Raises InputError also if it names a file outside its folder."""
    found: list[Problem] = []
    for place, name in files_named(load_text(text, path.name, "design")):
        try:
            inside(path.parent, name, f"{path.name}, {place}")
        except InputError as bad:
            found += bad.problems
    if found:
        raise InputError(*found)
    return read_design_text(text, path)


def _decoded(data: bytes, path: Path) -> str:
    try:
        return data.removeprefix(_MARK).decode("utf-8")
    except UnicodeDecodeError as why:
        given = f"bytes that are not UTF-8 text, at byte {why.start}"
        raise InputError(Problem(path.name, given, "UTF-8 text", "Save it as UTF-8.")) from None
