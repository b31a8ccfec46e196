"""An open design: its text, its history, and the tabs that show it."""

from collections.abc import Callable
from pathlib import Path
from typing import Literal

from woodshop.design.design_file import Design, read_design
from woodshop.errors import Problem
from woodshop.files.one_file import read_text_file

SaveState = Literal["saved", "not saved", "changed on disk"]


class OpenDesign:
    """One design file that is open in the page, shared by all tabs."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.text = read_text_file(path, "a design file")
        self.readable = self.text
        self.problems: tuple[Problem, ...] = ()
        self.revision = 0
        self.can_undo = False
        self.can_redo = False
        self.save_state: SaveState = "saved"
        self._subscribers: list[Callable[[], None]] = []

    def design(self) -> Design:
        """The design of the readable text. Raises InputError if there is none."""
        return read_design(self.path)

    def edit(self, change: Callable[[str], str], what: str) -> None:
        """Changes the text in one step of undo; `what` says in words what was changed."""
        raise NotImplementedError(what)

    def undo(self) -> None:
        """Takes the last step back."""
        raise NotImplementedError

    def redo(self) -> None:
        """Makes the step again that was taken back last."""
        raise NotImplementedError

    def subscribe(self, callback: Callable[[], None]) -> Callable[[], None]:
        """Calls `callback` after each change; returns a function that ends this."""
        self._subscribers.append(callback)
        return lambda: self._subscribers.remove(callback)
