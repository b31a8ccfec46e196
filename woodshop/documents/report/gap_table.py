"""The gaps of the hives as a table for people, and as plain values: hives that are alike stand once."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from woodshop.checks.measured.hives import HiveGroup
from woodshop.checks.measured.mesh_state import MeshState, loaded_gaps
from woodshop.hive.gaps.gaps import Gap
from woodshop.hive.gaps.grading import FITTING, BeeSpace, GradedGap, MeshSag, grade_gaps
from woodshop.units.lengths import ZERO
from woodshop.units.wording import wording_of

_SIDES = ("front", "back", "left", "right", "all round")


def gap_rows(groups: tuple[HiveGroup, ...], space: BeeSpace) -> list[tuple[tuple[str, ...], tuple[GradedGap, ...]]]:
    """For each hive that differs: the groups that stand so, and its gaps graded, at all gaps over the top bars."""
    alike: dict[tuple[GradedGap, ...], list[str]] = {}
    known: dict[tuple[tuple[tuple[Gap, ...], ...], MeshState | None], tuple[GradedGap, ...]] = {}
    for group in groups:
        for name, measured in group.alternatives:
            of = tuple(hive.gaps for _, hive in measured), group.mesh
            if of not in known:
                known[of] = _graded(of[0], space, group.mesh)
            alike.setdefault(known[of], []).append(name)
    return [(tuple(dict.fromkeys(names)), rows) for rows, names in alike.items()]


def _graded(measured: tuple[tuple[Gap, ...], ...], space: BeeSpace, mesh: MeshState | None) -> tuple[GradedGap, ...]:
    """The gaps of one hive over all measurements, each from the least to the most, with the worst of its grades."""
    found: dict[tuple[str, str], GradedGap] = {}
    for gaps in measured:
        sag = MeshSag() if mesh is None else mesh.sag_in(gaps)
        for new in grade_gaps((*gaps, *loaded_gaps(gaps, mesh)), space, sag):
            key = (new.gap.name, new.gap.place)
            old = found.setdefault(key, new)
            worst = min(old, new, key=lambda row: (row.grade.rank, ZERO - (row.limits.least or ZERO)))
            least = new.gap if new.gap.least < old.gap.least else old.gap
            found[key] = replace(worst, gap=replace(least, most=max(old.gap.most, new.gap.most)))
    return tuple(found.values())


def gaps_told(groups: tuple[HiveGroup, ...], space: BeeSpace, unit: str) -> list[dict[str, Any]]:
    """Every gap as plain values: sizes as text in the design's unit, `hives` those that stand so."""
    return [
        {
            "name": row.gap.name,
            "place": row.gap.place,
            "hives": list(names),
            "least": row.gap.least.number(unit),
            "most": row.gap.most.number(unit),
            "unit": unit,
            "between": list(row.gap.between),
            "kind": row.gap.kind,
            "limits": row.limits.words,
            "source": row.limits.source,
            "grade": row.grade,
        }
        for names, rows in gap_rows(groups, space)
        for row in rows
    ]


def gap_lines(groups: tuple[HiveGroup, ...], space: BeeSpace, unit: str) -> Iterator[str]:
    """What is printed: hive by hive, what is alike in one line; contacts that touch as they should are counted."""
    chosen = "" if space.is_default else ", the band chosen"
    yield f"Gaps, calculated from your sizes; bee space {space.words} ({space.name}{chosen}; {space.cite})"
    for names, rows in gap_rows(groups, space):
        yield ""
        yield from _wrapped("; ".join(names))
        table, touching = _told(rows, unit)
        widths = [max(len(line[n]) for line in table) for n in range(4)]
        for line in table:
            cells = [cell.ljust(width) for cell, width in zip(line[:4], widths, strict=True)]
            yield ("  " + "  ".join([*cells, line[4]])).rstrip()
        yield f"  and {touching} contacts and edges that are as they should be"


def _wrapped(text: str) -> Iterator[str]:
    """Names of hives in lines of a hundred letters."""
    line = ""
    for word in text.split("; "):
        if line and len(line) + len(word) > 98:
            yield line + ";"
            line = word
        else:
            line = f"{line}; {word}" if line else word
    yield line


def _told(rows: tuple[GradedGap, ...], unit: str) -> tuple[list[tuple[str, ...]], int]:
    """Lines of the table, and how many contacts were left out of it."""
    groups: dict[tuple[str, str, str], list[Gap]] = {}
    touching = 0
    for row in rows:
        if row.grade in FITTING:
            touching += 1
            continue
        groups.setdefault((row.gap.name, row.limits.words, row.grade), []).append(row.gap)
    lines: list[tuple[str, ...]] = [("gap", "where", "size", "wanted", "grade")]
    for (name, wanted, grade), gaps in groups.items():
        where = ", ".join(dict.fromkeys(_where(gap.place) for gap in gaps))
        sizes = wording_of(unit).range(size for gap in gaps for size in (gap.least, gap.most))
        lines.append((name, where, sizes, wanted, grade))
    return lines, touching


def _where(place: str) -> str:
    """A place without its side, lane or number."""
    head, comma, tail = place.rpartition(", ")
    if comma and (tail in _SIDES or tail.split(" ")[0] in ("lane", "strip", "spacer")):
        return _where(head)
    return place
