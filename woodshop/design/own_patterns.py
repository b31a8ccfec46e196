"""The patterns that a design describes under [[pattern]], or in a file that it names, as measured by their owner."""

from collections.abc import Iterator, Sequence
from itertools import combinations
from pathlib import Path

from woodshop.design.schema import load, validate
from woodshop.design.tables import PatternsTable, PatternTable
from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.reference.patterns import MEASURES, HivePattern, patterns
from woodshop.units.lengths import Length
from woodshop.units.wording import LengthUnit

_MORE = ("end_bar_below", "end_bar_shoulder", "bottom_bar_width")
_SMALLER = (
    ("lug_thickness", "top_bar_thickness", True),
    ("end_bar_below", "end_bar_width", True),
    ("end_bar_width", "spacing", True),
    ("top_bar_width", "spacing", False),
    ("frame_length", "inside_length", False),
    ("inside_length", "top_bar_length", False),
    ("rest", "end_wall", False),
)
"""Pairs of sizes: the first is smaller than the second, or equal if the third is true."""


def own_patterns(
    tables: Sequence[PatternTable], files: Sequence[Path], where: str, unit: LengthUnit, found: list[Problem]
) -> list[HivePattern]:
    """The patterns of these tables of the design `where`, and those of the `files`. Problems are added to `found`."""
    made: list[HivePattern] = []
    sources = [(where, unit, tuple(tables))]
    for path in files:
        try:
            read = read_patterns(path)
        except InputError as bad:
            found += bad.problems
        else:
            sources.append((path.name, read.unit, read.pattern))
    for source, of_source, its in sources:
        for n, table in enumerate(its, 1):
            place = f"{source}, pattern number {n}"
            pattern = _pattern(table)
            found += _name_faults(table, [each.name for each in made], place)
            found += _faults(pattern, place, of_source)
            made.append(pattern)
    return made


def read_patterns(path: Path) -> PatternsTable:
    """Reads a file of patterns, whose lengths without a unit are in its own. Raises InputError with every problem."""
    raw = load(path, "patterns")
    return validate(PatternsTable, raw, path.name, "mm" if raw.get("unit") == "mm" else "in")


def _pattern(table: PatternTable) -> HivePattern:
    base = {each.name: each for each in patterns()}.get(table.like or "")
    sizes = {name: getattr(table, name) for name in (*MEASURES, *_MORE)}
    own: dict[str, Length] = {name: size for name, size in sizes.items() if size is not None}
    for body in table.body:
        own |= {f"height_{body.name}": body.height, f"frame_depth_{body.name}": body.frame_depth}
    facts = {} if base is None else dict(base.facts)
    if "inside_length" in own:  # published outside sizes are those of other walls
        facts = {name: key for name, key in facts.items() if name not in ("length", "end_play")}
    if "inside_width" in own:
        facts.pop("width", None)
    bodies = tuple(dict.fromkeys((*(body.name for body in table.body), *(base.bodies if base else ()))))
    return HivePattern(
        table.name,
        table.bee_space or (base.bee_space if base else "top"),
        () if base is None or "inside_width" in own else base.frames,
        bodies=bodies or ("deep",),
        facts=facts,
        own=own,
    )


def _name_faults(table: PatternTable, before: list[str], place: str) -> Iterator[Problem]:
    known = [each.name for each in patterns()]
    if table.name in (*known, *before):
        yield Problem(f"{place}, name", repr(table.name), "a name of its own", "Choose another name.")
    if table.like is not None and table.like not in known:
        do = did_you_mean(table.like, known, "See: woodshop patterns.")
        yield Problem(f"{place}, like", repr(table.like), f"a published pattern: {', '.join(known)}", do)
    for one, other in combinations(table.body, 2):
        if one.name == other.name:
            yield Problem(f"{place}, body", f"{one.name!r} twice", "each kind of box once", "Remove one.")


def _faults(pattern: HivePattern, place: str, unit: LengthUnit) -> Iterator[Problem]:
    """Sizes that contradict each other. Two published sizes do not."""
    for less, more, may_be_equal in _SMALLER:
        low, high = pattern.size(less), pattern.size(more)
        if low is None or high is None or not {less, more} & pattern.own.keys():
            continue
        if low.length > high.length or (low.length == high.length and not may_be_equal):
            wanted = f"{'at most' if may_be_equal else 'less than'} {high.length.text(unit)}, the {more}"
            yield Problem(f"{place}, {less}", low.length.text(unit), wanted, f"Measure both again: {MEASURES[more]}.")
    if ("end_bar_below" in pattern.own) and pattern.size("end_bar_shoulder") is None:
        wanted = "end_bar_shoulder too: down from the top of a frame to where the end bars become narrow"
        yield Problem(f"{place}, end_bar_below", "no end_bar_shoulder", wanted, "Measure it, or remove end_bar_below.")
    ends, length = pattern.size("end_bar_thickness"), pattern.size("frame_length")
    if ends and length and ends.length * 2 >= length.length and pattern.own.keys() & {"end_bar_thickness"}:
        given, wanted = ends.length.text(unit), f"much less than the frame_length of {length.length.text(unit)}"
        yield Problem(f"{place}, end_bar_thickness", given, wanted, "Measure it again.")
