"""The gaps of the hives, graded; hives that are alike once."""

from collections import Counter
from dataclasses import replace

from woodshop.checks.hives import HiveGroup
from woodshop.checks.mesh_state import MeshState, loaded_gaps
from woodshop.drawing.values.model import Block, Column, Data, Heading, Paragraph, Section, Table
from woodshop.hive.gaps.faces import Gap
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


def gap_section(groups: tuple[HiveGroup, ...], space: BeeSpace, unit: str, is_brief: bool = False) -> Section:
    """Hive by hive, what is alike in one row; contacts that touch as they should are counted.

    Where it is brief, how many gaps have each grade. In the data sizes are text in the design's unit, `hives` those
    that have the gap.
    """
    hives, band = gap_rows(groups, space), wording_of(unit).quoted(space.words)
    blocks: list[Block] = []
    for names, rows in hives:
        table, touching = _table(rows, unit)
        blocks += [Heading("; ".join(names), 3), table]
        blocks.append(Paragraph(f"and {touching} contacts and edges that are as they should be"))
    gaps: list[Data] = [
        {
            "name": row.gap.name,
            "place": row.gap.place,
            "hives": names,
            "least": row.gap.least.number(unit),
            "most": row.gap.most.number(unit),
            "unit": unit,
            "between": row.gap.between,
            "kind": row.gap.kind,
            "limits": row.limits.words,
            "source": row.limits.source,
            "grade": row.grade,
        }
        for names, rows in hives
        for row in rows
    ]
    if is_brief:
        counts = Counter(row.grade for _, rows in hives for row in rows if row.grade not in FITTING)
        words = ", ".join(f"{counts[grade]} {grade}" for grade in sorted(counts, key=lambda grade: grade.rank))
        lead = f"Gaps in {len(hives)} kind{'s' if len(hives) > 1 else ''} of hives, bee space {band}:"
        return Section("", (Paragraph(f"{words}.", lead=lead),), {"gaps": gaps})
    chosen = "" if space.is_default else ", the band chosen"
    title = f"Gaps, calculated from your sizes; bee space {band} ({space.name}{chosen}; {space.cite})"
    return Section(title, tuple(blocks), {"gaps": gaps})


def _table(rows: tuple[GradedGap, ...], unit: str) -> tuple[Table, int]:
    """The table, and how many contacts were left out of it."""
    wording = wording_of(unit)
    alike: dict[tuple[str, str, str], list[Gap]] = {}
    for row in rows:
        if row.grade not in FITTING:
            alike.setdefault((row.gap.name, row.limits.words, row.grade), []).append(row.gap)
    cells = tuple(
        (
            name,
            ", ".join(dict.fromkeys(_where(gap.place) for gap in gaps)),
            wording.range(size for gap in gaps for size in (gap.least, gap.most)),
            wording.quoted(wanted),
            grade,
        )
        for (name, wanted, grade), gaps in alike.items()
    )
    columns = tuple(Column(head) for head in ("gap", "where", "size", "wanted", "grade"))
    return Table(columns, cells), sum(row.grade in FITTING for row in rows)


def _where(place: str) -> str:
    """A place without its side, lane or number."""
    head, comma, tail = place.rpartition(", ")
    if comma and (tail in _SIDES or tail.split(" ")[0] in ("lane", "strip", "spacer")):
        return _where(head)
    return place
