"""Patterns of hives: the boxes and frames that belong together. A size that a pattern does not have is None, never the
size of another pattern."""

from collections.abc import Mapping
from dataclasses import KW_ONLY, dataclass, field
from functools import cache
from typing import Literal

from woodshop.reference.facts import Fact, fact, has_fact, read_table
from woodshop.units.lengths import Length

AMERICAN, NATIONAL = "Langstroth", "British National"
BeeSpaceSide = Literal["top", "bottom"]
BODIES = ("deep", "medium", "shallow", "brood", "super")
MEASURES: Mapping[str, str] = {
    "inside_length": "inside a box from the front wall to the back wall, below the frame rests",
    "inside_width": "inside a box from side wall to side wall",
    "wall": "thickness of a side wall",
    "end_wall": "thickness of the front and back wall, below the frame rests",
    "rest": "how far the frame rest reaches into the front and back wall",
    "top_bar_length": "overall length of a top bar",
    "top_bar_width": "width of a top bar",
    "top_bar_thickness": "thickness of a top bar between its lugs",
    "lug_thickness": "thickness of a lug",
    "frame_length": "length of a frame outside its end bars, below the lugs",
    "end_bar_width": "width of an end bar at the top",
    "end_bar_thickness": "thickness of an end bar",
    "bottom_bar_thickness": "thickness of a bottom bar",
    "spacing": "from the middle of one frame to the middle of the next",
}
"""The sizes that describe a pattern besides the height and frame depth of its boxes, in the order of the tape."""


@dataclass(frozen=True, slots=True)
class PatternSize:
    """A size of a pattern. `value` is its text and `cite` its source; both are "" if the user measured it."""

    length: Length
    value: str = ""
    cite: str = ""


@dataclass(frozen=True, slots=True)
class HivePattern:
    """A pattern of hives; `frames` are its usual numbers of frames, `bodies` its kinds of box, the usual one first.

    `facts` are the keys of its published sizes by name, and `own` are sizes that the user measured. `height_deep` and
    `frame_depth_deep` are the sizes of a "deep" box.
    """

    name: str
    bee_space: BeeSpaceSide
    frames: tuple[int, ...]
    _: KW_ONLY
    bodies: tuple[str, ...]
    what: str = ""
    facts: Mapping[str, str] = field(default_factory=dict)
    own: Mapping[str, Length] = field(default_factory=dict)

    def size(self, name: str, frames: int = 0) -> PatternSize | None:
        """The size with this name, in a box of `frames` frames; None if the pattern does not have it.

        >>> find_pattern("Zander").size("frame_length").length.text("mm"), find_pattern("Zander").size("rest")
        ('420 mm', None)
        """
        if name in self.own:
            return PatternSize(self.own[name])
        row = self.row(name, frames)
        return None if row is None else PatternSize(row.length, row.value, row.cite)

    def row(self, name: str, frames: int = 0) -> Fact | None:
        """The published fact for the size with this name, in a box of `frames` frames; None if there is none."""
        key = self.facts.get(name, "").format(frames=frames)
        return fact(key) if has_fact(key) else None

    @property
    def missing(self) -> tuple[str, ...]:
        """The sizes in MEASURES that the pattern does not have, unless an outside size stands for them."""
        instead = {"inside_length": "length", "inside_width": "width", "end_wall": "length", "rest": "end_play"}
        has = self.own.keys() | self.facts.keys()
        return tuple(name for name in MEASURES if name not in has and instead.get(name) not in has)


def patterns() -> tuple[HivePattern, ...]:
    """The published patterns, the American first."""
    return tuple(_patterns().values())


def find_pattern(name: str) -> HivePattern:
    """The published pattern with this name. Raises KeyError."""
    return _patterns()[name]


def left_out() -> tuple[tuple[str, str], ...]:
    """Patterns without two readable sources that agree, each with what is missing."""
    return tuple((row["name"], row["missing"]) for row in read_table("patterns")["left_out"])


@cache
def _patterns() -> dict[str, HivePattern]:
    table = read_table("patterns")
    found = {}
    for row in table["pattern"]:
        prefix = f"{row['id']}."
        facts = {each["key"].removeprefix(prefix): each["key"] for each in table["fact"]}
        facts = {name: key for name, key in facts.items() if key.startswith(prefix)}
        facts |= {each["name"]: each["fact"] for each in table["size"] if each["pattern"] == row["id"]}
        found[row["name"]] = HivePattern(
            row["name"],
            "bottom" if row["bee_space"] == "bottom" else "top",
            tuple(int(each) for each in row["frames"].split(", ") if each),
            bodies=tuple(row["bodies"].split(", ")),
            what=row["what"],
            facts=facts,
        )
    return found
