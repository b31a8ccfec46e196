"""The gaps of the hives as a table for people, and as plain values: hives that are alike stand once."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from woodshop.checks.limits import Graded, Limits, graded
from woodshop.checks.measured.hives import HiveGroup
from woodshop.checks.measured.mesh_state import MeshState
from woodshop.checks.rules.remedies import spread_of
from woodshop.hive.gaps.gaps import Gap
from woodshop.hive.passages.creatures import worker
from woodshop.reference.facts import fact
from woodshop.units.lengths import ZERO

Row = tuple[Gap, Graded]
LOADED = "mesh over top bars, loaded"
_SIDES = ("front", "back", "left", "right", "all round")


def gap_rows(groups: tuple[HiveGroup, ...], limits: Limits) -> list[tuple[tuple[str, ...], tuple[Row, ...]]]:
    """For each hive that differs: the groups that stand so, and its gaps graded, at all gaps over the top bars."""
    alike: dict[tuple[Row, ...], list[str]] = {}
    known: dict[tuple[tuple[tuple[Gap, ...], ...], MeshState | None], tuple[Row, ...]] = {}
    for group in groups:
        for name, measured in group.alternatives:
            of = tuple(hive.gaps for _, hive in measured), group.mesh
            if of not in known:
                known[of] = _graded(of[0], limits, group.mesh)
            alike.setdefault(known[of], []).append(name)
    return [(tuple(dict.fromkeys(names)), rows) for rows, names in alike.items()]


def _graded(measured: tuple[tuple[Gap, ...], ...], limits: Limits, mesh: MeshState | None) -> tuple[Row, ...]:
    """The gaps of one hive over all measurements, from the least to the most; wood on mesh on wood is a contact.

    Mesh in a rabbet or groove stands off the wall beneath, where the rim itself sits on it.
    """
    found: dict[tuple[str, str], Gap] = {}
    for gap in (gap for gaps in measured for gap in gaps):
        key = (gap.name, gap.place)
        old = found.setdefault(key, gap)
        least = gap if gap.least < old.least else old
        found[key] = replace(least, most=max(old.most, gap.most))
    carried = {gap.place for gap in found.values() if gap.name.endswith(" on wall") and not gap.most}
    between = mesh.between if mesh is not None and mesh.rests else None
    rows = []
    for gap in found.values():
        told = graded(gap, limits, between)
        if gap.name.endswith(" on wall") and gap.least >= ZERO and gap.most > ZERO and gap.place in carried:
            walls = gap.name == "wall on wall"
            told = replace(told, grade="carried by what lies between" if walls else "held in the wall")
        rows.append((gap, told))
        if gap.kind == "mesh over bars" and mesh is not None:
            under = loaded_gap(gap, mesh)
            if under.place not in {row[0].place for row in rows if row[0].name == under.name}:
                rows.append((under, _of_loaded(under, limits)))
    return tuple(rows)


def loaded_gap(gap: Gap, mesh: MeshState) -> Gap:
    """What fresh sugar leaves of a gap between mesh and bars where it sags most, over all gaps measured."""
    left = [each.left for each in mesh.at]
    place = gap.place.rpartition(", lane")[0] or gap.place
    return replace(gap, name=LOADED, place=place, least=min(left), most=max(left))


def _of_loaded(gap: Gap, limits: Limits) -> Graded:
    """A loaded mesh has no upper limit: empty it hangs at its widest, and that is graded there."""
    row = fact("bee_space.amber_least")
    grade = "lies on the bars" if not gap.least else "enough under mesh"
    if ZERO < gap.least < limits.mesh_least:
        grade = "nearly tight" if gap.least >= worker().size else "tight"
    return Graded(grade, f"{row.value} or more", row.cite)


def gaps_told(groups: tuple[HiveGroup, ...], limits: Limits, unit: str) -> list[dict[str, Any]]:
    """Every gap as plain values: sizes as text in the design's unit, `hives` those that stand so."""
    return [
        {
            "name": gap.name,
            "place": gap.place,
            "hives": list(names),
            "least": gap.least.number(unit),
            "most": gap.most.number(unit),
            "unit": unit,
            "between": list(gap.between),
            "kind": gap.kind,
            "limits": told.wanted,
            "source": told.source,
            "grade": told.grade,
        }
        for names, rows in gap_rows(groups, limits)
        for gap, told in rows
    ]


def gap_lines(groups: tuple[HiveGroup, ...], limits: Limits, unit: str) -> Iterator[str]:
    """What is printed: hive by hive, what is alike in one line; contacts that touch as they should are counted."""
    chosen = "" if limits.is_default else ", the band chosen"
    yield f"Gaps, calculated from your sizes; bee space {limits.words} ({limits.name}{chosen}; {limits.cite})"
    for names, rows in gap_rows(groups, limits):
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


def _told(rows: tuple[Row, ...], unit: str) -> tuple[list[tuple[str, ...]], int]:
    """Lines of the table, and how many contacts were left out of it."""
    groups: dict[tuple[str, str, str], list[Gap]] = {}
    touching = 0
    for gap, told in rows:
        if told.grade in ("touches", "flush", "carried by what lies between", "held in the wall"):
            touching += 1
            continue
        groups.setdefault((gap.name, told.wanted, told.grade), []).append(gap)
    lines: list[tuple[str, ...]] = [("gap", "where", "size", "wanted", "grade")]
    for (name, wanted, grade), gaps in groups.items():
        where = ", ".join(dict.fromkeys(_where(gap.place) for gap in gaps))
        sizes = spread_of((size for gap in gaps for size in (gap.least, gap.most)), unit)
        lines.append((name, where, sizes, wanted, grade))
    return lines, touching


def _where(place: str) -> str:
    """A place without its side, lane or number."""
    head, comma, tail = place.rpartition(", ")
    if comma and (tail in _SIDES or tail.split(" ")[0] in ("lane", "strip", "spacer")):
        return _where(head)
    return place
