"""The box of an order, found by its words: one of the design, a maker's, or its owner's measured one."""

import re
from collections.abc import Iterable
from difflib import get_close_matches

from woodshop.design.design_file import Ordering, measured_box
from woodshop.design.measured_boxes import MeasuredBox, read_measured
from woodshop.design.orders.orders import OrderBox
from woodshop.design.tables import OrderBoxTable
from woodshop.errors import InputError, Problem
from woodshop.hardware.catalogue import folded
from woodshop.reference import boxes
from woodshop.units.lengths import read_length

_MAKERS = re.compile(r"(?:(\d{1,2})[- ]?frames?)(?:[ ,x]+(.+))?", re.IGNORECASE)
_NATIONAL = re.compile(r"british national(?: (\d{1,2})[- ]?frames?)?", re.IGNORECASE)


class BoxNames:
    """What orders may call a box. What a measured file says is read once."""

    def __init__(self, ordering: Ordering) -> None:
        self.folder = ordering.folder
        self.own = {folded(table.name): (table, measured) for table, measured in ordering.boxes}
        self.measured: dict[str, dict[str, MeasuredBox]] = {}
        self.known: dict[str, OrderBox | tuple[Problem, ...]] = {}

    def find(self, text: str) -> OrderBox | tuple[Problem, ...]:
        """The box, or what is wrong with these words; a problem without a place is that of the words themselves."""
        plain = folded(text)
        if plain not in self.known:
            try:
                self.known[plain] = self._resolved(text)
            except InputError as bad:
                self.known[plain] = bad.problems
        return self.known[plain]

    def _resolved(self, text: str) -> OrderBox:
        """The box of these words. Raises InputError; a problem without a place is the cell's own."""
        plain = folded(text)
        if plain in self.own:
            table, measured = self.own[plain]
            return OrderBox(table.name, table, measured, is_own=True)
        if ".toml" in plain:
            return self._measured(text)
        if match := _NATIONAL.fullmatch(plain):
            frames = int(match[1] or 11)
            name = f"British National {frames}-frame"
            return OrderBox(name, OrderBoxTable(name=name, pattern="British National", frames=frames))
        if match := _MAKERS.fullmatch(plain):
            return _makers(text, int(match[1]), match[2])
        raise InputError(Problem("", shown(text), self._kinds(), near_to(text, [t.name for t, _ in self.own.values()])))

    def _kinds(self) -> str:
        own = ", ".join(table.name for table, _ in self.own.values())
        return (f"one of {own}, or " if own else "") + (
            "a maker's box by frames and width, as 10-frame 16 1/4, or a measured file, as wren-boxes.toml"
        )

    def _measured(self, text: str) -> OrderBox:
        file, _, name = (part.strip() for part in text.partition(":"))
        if "/" in file or "\\" in file or not file.isprintable():
            do = "Put it there, and give its name alone."
            raise InputError(Problem("", shown(text), "the name of a measured file beside the design", do))
        known = self.measured.get(file) or read_measured(self.folder / file)
        self.measured[file] = known
        if not name and len(known) > 1:
            wanted = f"which box of {file}: {', '.join(known)}"
            raise InputError(Problem("", shown(text), wanted, f"Write it as {file}: {next(iter(known))}."))
        name = name or next(iter(known))
        found: list[Problem] = []
        frames = known[name].frames if name in known else 10
        table = OrderBoxTable(name=name, frames=frames, measured=file, box=name)
        measured = measured_box(table, "", self.folder, found)
        if found:
            raise InputError(Problem("", shown(text), found[0].wanted, found[0].do))
        return OrderBox(name, table, measured)


def _makers(text: str, frames: int, width: str | None) -> OrderBox:
    """A maker's box by its frames and outside width, as the table has it."""
    if frames not in boxes.FRAMES:
        kinds = ", ".join(f"{n}-frame" for n in boxes.FRAMES)
        do = "Measure it, and add a [[box]] with its sizes."
        raise InputError(Problem("", shown(text), f"a box of the table: {kinds}", do))
    widths = {size.number(): size for size in boxes.box_widths(frames)}
    listed = ", ".join(f"{frames}-frame {name}" for name in widths)
    try:
        size = None if width is None else read_length(width)
    except ValueError:
        size = None
    chosen = [each for each in widths.values() if each == size] if width is not None else [*widths.values()]
    if len(chosen) != 1:
        do = "Measure the box across its front; another width needs a [[box]] of its own."
        raise InputError(Problem("", shown(text), f"one of {listed}", do))
    name = f"{frames}-frame {chosen[0].number()}"
    return OrderBox(name, OrderBoxTable(name=name, frames=frames, width=chosen[0]))


def near_to(text: str, known: Iterable[str]) -> str:
    """What to do about a name that is none of these: the nearest of them, where one is near."""
    names = {folded(name): name for name in known}
    near = get_close_matches(folded(text), names, n=1)
    return f"Did you mean {names[near[0]]!r}?" if near else "Choose one of them."


def shown(value: object) -> str:
    """A value as a message shows it: text in quotes, and not too much of it."""
    text = repr(value) if isinstance(value, str) else str(value).upper() if isinstance(value, bool) else str(value)
    return text if len(text) <= 60 else text[:57] + "..."
