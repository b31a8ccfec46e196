"""The designs and lumberyards of the folder that the page was started in."""

from pathlib import Path

from woodshop.errors import InputError, Problem
from woodshop.files.one_file import write_new
from woodshop.page.opened.opened import OpenDesign


class Folder:
    """A folder with design files. Names are those of files in it, never paths."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._open: dict[str, OpenDesign] = {}

    def designs(self) -> tuple[str, ...]:
        """The names of the design files, without ".toml", sorted."""
        return tuple(path.stem for path in self._files("woodshop-design/"))

    def lumberyards(self) -> tuple[str, ...]:
        """The names of the lumberyard files, without ".toml", sorted."""
        return tuple(path.stem for path in self._files("woodshop-lumberyard/"))

    def open(self, name: str) -> OpenDesign:
        """The open design of that name; the same one each time. Raises InputError if there is none."""
        if name not in self.designs():
            raise InputError(Problem("design", repr(name[:60]), "a design of this folder", "Choose one of the list."))
        if name not in self._open:
            self._open[name] = OpenDesign(self.path / f"{name}.toml")
        return self._open[name]

    def new(self, name: str, text: str) -> OpenDesign:
        """Writes a new design file and opens it. Raises InputError if it is there, or cannot be written."""
        write_new(self.path / f"{name}.toml", text.encode("utf-8"), "the design file")
        return self.open(name)

    def _files(self, begin: str) -> list[Path]:
        return [path for path in sorted(self.path.glob("*.toml")) if f'format = "{begin}' in path.read_text("utf-8")]
