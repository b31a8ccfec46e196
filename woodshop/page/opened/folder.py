"""The folder that the page was started in: its design files, lumberyard files and books, and those that are open."""

import os
import re
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import TypeVar

from woodshop.design.design_file import files_named
from woodshop.design.schema import load_text
from woodshop.errors import InputError, Problem
from woodshop.files.one_file import read_file, write_new
from woodshop.page.opened.opened import OpenDesign, OpenFile, OpenLumberyard
from woodshop.page.opened.safe_names import inside, named_file

Opened = TypeVar("Opened", OpenDesign, OpenLumberyard)
_FORMAT = re.compile(r'^\s*format\s*=\s*["\']woodshop-(\w+)/', re.MULTILINE)
_BOOK = b"SQLite format 3\0"
_ENDING = ".toml"


class Folder:
    """The files of one folder. Each that is opened is opened once, however many tabs show it.

    Designs and lumberyards have the names of their files, without ".toml".
    """

    def __init__(self, path: Path) -> None:
        """The folder at `path`. Raises InputError if there is no such folder."""
        if not path.is_dir():
            raise InputError(Problem(str(path), "no such folder", "the folder of your designs", "Check the name."))
        self.path = path.resolve()
        self._opened: dict[Path, OpenFile[object]] = {}

    def designs(self) -> tuple[str, ...]:
        """The names of the design files, sorted."""
        return tuple(name for name, kind in self._kinds() if kind == "design")

    def lumberyards(self) -> tuple[str, ...]:
        """The names of the lumberyard files, sorted."""
        return tuple(name for name, kind in self._kinds() if kind == "lumberyard")

    def books(self) -> tuple[str, ...]:
        """The names of the shop books, sorted."""
        return tuple(name for name, kind in self._kinds() if kind == "book")

    def open(self, name: str) -> OpenDesign:
        """The design file of this name, opened now or before. Raises InputError for a name that is not safe."""
        return self._open(name, OpenDesign, "design")

    def open_lumberyard(self, name: str) -> OpenLumberyard:
        """The lumberyard file of this name, opened now or before. Raises InputError for a name that is not safe."""
        return self._open(name, OpenLumberyard, "lumberyard")

    def lumberyards_not_saved(self, opened: OpenDesign) -> tuple[OpenLumberyard, ...]:
        """The lumberyard files that this design names and whose present text is not in their file."""
        held = (each for each in self._with(opened) if isinstance(each, OpenLumberyard))
        return tuple(each for each in held if each.save_state != "saved")

    def new(self, name: str, text: str) -> OpenDesign:
        """Writes a new design file and opens it. Raises InputError if the name is in use or is not safe."""
        write_new(named_file(self.path, name, _ENDING), text.encode("utf-8"), "a design file")
        return self.open(name)

    def new_lumberyard(self, name: str, text: str) -> OpenLumberyard:
        """Writes a new lumberyard file and opens it. Raises InputError if the name is in use or is not safe."""
        write_new(named_file(self.path, name, _ENDING), text.encode("utf-8"), "a lumberyard file")
        return self.open_lumberyard(name)

    def _open(self, name: str, kind: type[Opened], what: str) -> Opened:
        path = named_file(self.path, name, _ENDING)
        if not os.path.lexists(path):
            raise InputError(Problem(name, "no such file", f"a {what} file of this folder", "Check the name."))
        real = path.resolve()
        held = self._opened.get(real)
        if held is None:
            self._opened[real] = held = kind(real)
            if isinstance(held, OpenLumberyard):
                held.subscribe(self._tell_designs)
        if not isinstance(held, kind):
            raise InputError(Problem(name, f"a {held.kind} file", f"a {what} file", "Choose another."))
        return held

    def to_undo(self, opened: OpenDesign) -> OpenFile[object] | None:
        """The file with the latest change that can be undone: this design, or a lumberyard that it names. Or None."""
        return max((each for each in self._with(opened) if each.can_undo), key=_undo_number, default=None)

    def to_redo(self, opened: OpenDesign) -> OpenFile[object] | None:
        """The file, as in `to_undo`, with the change that was undone last. None if there was another change since."""
        files = self._with(opened)
        latest = max(map(_undo_number, files))
        undone = [each for each in files if each.redo_number > latest]
        return min(undone, key=lambda each: each.redo_number, default=None)

    def _with(self, opened: OpenDesign) -> list[OpenFile[object]]:
        """This design and the open lumberyards that its text names."""
        try:
            named = {name for _, name in files_named(load_text(opened.text, opened.path.name, "design"))}
        except InputError:
            named = set()
        held = (each for each in tuple(self._opened.values()) if isinstance(each, OpenLumberyard))
        return [opened, *(each for each in held if each.path.name in named)]

    def _tell_designs(self) -> None:
        for each in tuple(self._opened.values()):
            if isinstance(each, OpenDesign):
                each.tell()

    def _kinds(self) -> Iterator[tuple[str, str]]:
        for path in sorted(self.path.iterdir()):
            with suppress(InputError, OSError):
                inside(self.path, path.name, "file name")
                if path.suffix == _ENDING:
                    named_file(self.path, path.stem, _ENDING)
                    found = _FORMAT.search(read_file(path, "a file").decode("utf-8", "replace"))
                    if found is not None:
                        yield path.stem, found[1]
                elif path.is_file():
                    with path.open("rb") as file:
                        if file.read(len(_BOOK)) == _BOOK:
                            yield path.name, "book"


def _undo_number(opened: OpenFile[object]) -> int:
    return opened.undo_number
