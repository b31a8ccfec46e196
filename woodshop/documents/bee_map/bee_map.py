"""The bee-space map: sections of each assembled hive in a batch, with every gap named, measured and graded.

Identical hives share one map. A map has a small drawing of the whole hive, and half-size details where parts meet. A
document draws each detail only once.
"""

import re
from collections.abc import Hashable, Sequence
from dataclasses import replace
from pathlib import Path

from woodshop.checks.mesh_state import MeshState, mesh_at_gap, mesh_state
from woodshop.design.batch import Batch, Unit
from woodshop.design.make_units import build_key, place_of, stacks_of, units_by_hives
from woodshop.documents.bee_map.details import HiveMap, measured_hive
from woodshop.documents.bee_map.sheets import (
    DrawnMap,
    GapRow,
    air_line,
    air_rows,
    contact_line,
    door_lines,
    draw_map,
    gap_rows,
    grade_text,
    limits_text,
    other_lines,
    overhang_line,
    row_of,
    span,
    way_lines,
)
from woodshop.documents.report.mesh import HEAD, assumed, gap_table, whole_line
from woodshop.drawing.values.model import (
    Align,
    Beside,
    Block,
    Column,
    Document,
    Heading,
    KeepTogether,
    Paragraph,
    Section,
    SetOut,
    Table,
)
from woodshop.drawing.values.paper import Mark, Sheet, Word, sheet_of
from woodshop.drawing.values.style import STYLE, clean, wrapped
from woodshop.errors import InputError, Problem
from woodshop.hive.gaps.faces import Gap
from woodshop.hive.gaps.gaps import gathered, measure_gaps
from woodshop.hive.gaps.grading import bee_space
from woodshop.hive.stacking.stack import Stack
from woodshop.reference.limits import DEFAULT_BAND
from woodshop.units.lengths import ZERO, lengths_in
from woodshop.units.wording import LengthUnit

ENDINGS = (".svg", ".pdf")
Drawn = dict[tuple[Mark, ...], tuple[str, str]]  # letter and hive of each detail, by its marks
TITLE = "Bee space in the finished hive"
INTRO = (
    "Each drawing is a cross section of an assembled hive. Sizes are measured between "
    "the parts that are drawn. Gaps out of range are boxed."
)


def bee_maps(units: Sequence[Unit], unit: LengthUnit, band_name: str = DEFAULT_BAND) -> tuple[DrawnMap, ...]:
    """A map of each hive that these units make, measured and drawn. Identical hives share one map.

    `band_name` names the published range of bee space.
    """
    groups = units_by_hives(units)
    alike: dict[tuple[object, ...], list[tuple[str, tuple[Gap, ...], MeshState | None]]] = {}
    stand: dict[tuple[object, ...], Stack] = {}
    known: dict[Hashable, tuple[str, MeshState | None, list[tuple[Stack, tuple[Gap, ...]]]]] = {}
    for group in groups.values():
        hives = next(iter(group.values())).line.hives
        key, place = (build_key(group), hives.gaps), place_of(hives)
        if key not in known:
            stacks = stacks_of(group)
            others = _at_other_gaps(group, stacks)
            known[key] = (place, mesh_state(group), list(zip(stacks, others, strict=True)))
        first, mesh, stood = known[key]
        for stack, other in stood:
            stand.setdefault(stack.tiers, stack)
            alike.setdefault(stack.tiers, []).append((place + stack.name.removeprefix(first), other, mesh))
    space = bee_space(band_name, unit)
    found = []
    for tiers, same in alike.items():
        others_too = tuple(dict.fromkeys(gap for _, gaps, _ in same for gap in gaps))
        meshes = [mesh for _, _, mesh in same if mesh is not None]
        worst = min(meshes, key=lambda mesh: (mesh.worst.left, ZERO - mesh.sag)) if meshes else None
        hive = measured_hive(stand[tiers], tuple(name for name, _, _ in same), space, worst, others_too)
        found.append(replace(hive, mesh=_mesh_line(hive, worst, unit)))
    return tuple(draw_map(hive, unit) for hive in found)


def _mesh_line(hive: HiveMap, mesh: MeshState | None, unit: LengthUnit) -> str:
    """A text on the mesh under fresh sugar, at the top-bar gap that leaves the least space; "" if there is no board."""
    has_board = any(gap.kind == "mesh over bars" for gap in hive.gaps)
    return f"{HEAD}: {whole_line(mesh, unit)}." if has_board and mesh is not None else ""


def _at_other_gaps(group: dict[str, Unit], stacks: Sequence[Stack]) -> list[tuple[Gap, ...]]:
    """For each stack, the gaps of the new hardware that are different at the other measured top-bar gaps."""
    line = next(iter(group.values())).line
    here = [set(gathered(measure_gaps(stack))) for stack in stacks]
    found: list[list[Gap]] = [[] for _ in stacks]
    for gap in sorted(set(line.hives.gaps) - {line.setting.box.gap}):
        for n, stack in enumerate(stacks_of(group, gap)):
            found[n] += [each for each in gathered(measure_gaps(stack)) if each not in here[n] and each.own]
    return [tuple(each) for each in found]


def map_chapter(maps: Sequence[DrawnMap]) -> Section:
    """The chapter of the report: every map, one after another."""
    if not maps:
        return Section("", ())
    blocks: list[Block] = [Paragraph(INTRO)]
    if any(each.hive.mesh for each in maps):
        blocks.append(Paragraph(assumed(), small=True))
    drawn: Drawn = {}
    for each in maps:
        blocks += one_map(each, drawn, brief=len(maps) > 1)
    return Section(TITLE, tuple(blocks))


def hive_map_sections(
    batch: Batch, units: Sequence[Unit], group: str, name: str, unit: LengthUnit
) -> tuple[Section, Section]:
    """The map of one hive of a batch: its drawings, and its gaps, passages and air in numbers.

    The hive is the one called `name`, of the group of hives called `group`. Lengths are in `unit`. The sections have no
    blocks if there is no such hive.
    """
    of_group = [each for each in units if each.line.item.is_per_hive and each.line.hives.name == group]
    with lengths_in(unit):
        maps = [each for each in bee_maps(of_group, unit, batch.conditions.band) if name in each.hive.places]
        blocks = [block for each in maps for block in one_map(each)]
    cut = next((n for n, each in enumerate(blocks) if isinstance(each, Heading) and each.level > 2), len(blocks))
    intro = [Paragraph(INTRO)] if blocks else []
    return Section("", (*intro, *blocks[:cut])), Section("", tuple(blocks[cut:]))


def one_map(each: DrawnMap, drawn: Drawn | None = None, *, brief: bool = False) -> list[Block]:
    """The map of one hive. `drawn` holds the details already in the document, with their letters and hives.

    If `brief` is true, the user's own gaps that are in range share one line, and the air path is one line.
    """
    hive, unit = each.hive, each.unit
    name = hive.places[0]
    head: list[Block] = [Heading(name, 2)]
    if len(hive.places) > 1:
        head.append(Paragraph(f"The same for: {'; '.join(hive.places[1:])}."))
    rows = gap_rows(hive.graded)
    head.append(Paragraph(_summary([r for r in rows if not r.graded.grade.is_good], unit)))
    caption = f"The whole hive at 1:{each.times}; the letters are those of the details at half size"
    head.append(SetOut(each.small, caption))
    blocks: list[Block] = [KeepTogether(tuple(head))]
    seen = drawn if drawn is not None else {}
    fresh, elsewhere = [], dict[str, list[str]]()
    for letter, title, sheet in each.details:
        if sheet.marks in seen:
            other, hive_of = seen[sheet.marks]
            elsewhere.setdefault(hive_of, []).append(letter if letter == other else f"{letter} (there {other})")
        else:
            seen[sheet.marks] = (letter, name)
            fresh.append((letter, title, sheet))
    blocks += [SetOut(row_of(fresh[n : n + 2])) for n in range(0, len(fresh), 2)]
    for other, letters in elsewhere.items():
        blocks.append(Paragraph(f"Same as for {other}: details {', '.join(letters)}.", small=True))
    listed = [row for row in rows if not brief or row.gap.own or not row.graded.grade.is_good]
    table = Table(
        (Column("gap", weight=5), Column("where", weight=5), Column("clear", Align.RIGHT, weight=3),
         Column("wanted", weight=4), Column("", weight=6)),
        tuple((r.gap.name, r.place, span(r.gap.least, r.gap.most, unit), limits_text(r.graded.limits, unit),
               grade_text(r.graded, unit))
              for r in listed),
        tuple(n for n, r in enumerate(listed) if not r.graded.grade.is_good),
        small=True,
    )  # fmt: skip
    sources = dict.fromkeys(source for r in rows for source in r.graded.limits.source.split("; "))
    sources.pop("geometry", None)
    blocks += [Heading("Gaps, those out of range first", 3), table]
    if brief:
        rest = (f"{r.gap.name} {span(r.gap.least, r.gap.most, unit)}" for r in rows if r not in listed)
        words = "; ".join(dict.fromkeys(rest))
        blocks += [Paragraph(f"Your own boxes, frames and cover, in range: {words}.", small=True)] if words else []
    blocks.append(Paragraph(f"Sources of the limits: {'; '.join(sources)}.", small=True))
    lines = (
        *other_lines(hive.others_graded, unit),
        contact_line(hive.graded),
        overhang_line(gathered(hive.gaps), unit),
        *filter(None, (hive.mesh,)),
        *way_lines(hive.ways),
        *door_lines(hive.ways),
    )
    if brief:
        lines = (*lines, air_line(hive.air, unit))
        blocks += [
            Heading("Contacts, passages, openings, airflow", 3),
            *(Paragraph(line, small=True) for line in lines),
        ]
        return [*blocks, *_loaded(hive, unit)]
    contacts: tuple[Block, ...] = (
        Heading("Contacts, passages, openings", 3),
        *(Paragraph(line, small=True) for line in lines),
    )
    blocks.append(Beside(contacts, (Heading("The air path, from the entrance up", 3), _air(hive, unit))))
    return [*blocks, *_loaded(hive, unit)]


def _loaded(hive: HiveMap, unit: LengthUnit) -> list[Block]:
    """The mesh under fresh sugar at each gap. The result is empty for a hive without a board."""
    if not hive.mesh:
        return []
    head = Heading("The mesh over the top bars under fresh sugar, at each gap measured", 3)
    return [KeepTogether((head, gap_table(hive.state.at if hive.state else (), unit)))]


def _air(hive: HiveMap, unit: LengthUnit) -> Table:
    rows = air_rows(hive.air, unit)
    strong = tuple(n for n, row in enumerate(rows) if row[2].startswith("SMALLEST") or row[0].startswith("DEAD END"))
    columns = (Column("step", weight=5), Column("clear", Align.RIGHT, weight=3), Column("bounded by", weight=6))
    return Table(columns, rows, strong, small=True)


def _summary(amiss: Sequence[GapRow], unit: LengthUnit) -> str:
    """One or two sentences about gaps out of range: first at the new hardware, then at the user's own parts."""
    if not amiss:
        return "Every gap is in range."
    words = []
    for own, lead in ((True, "New hardware: "), (False, "Your own boxes, frames and cover: ")):
        each = dict.fromkeys(
            f"{row.gap.name} {span(row.gap.least, row.gap.most, unit)}, {grade_text(row.graded, unit)}"
            for row in amiss
            if row.gap.own is own
        )
        if each:
            words.append(f"{lead}{'; '.join(each)}.")
        elif own:
            words.append("Every gap of the new hardware is in range.")
    return " ".join(words)


def map_svg(maps: Sequence[DrawnMap]) -> bytes:
    """The bytes of an SVG file that shows the maps one below another."""
    from woodshop.drawing.pens.svg import svg_of

    marks: list[Mark] = []
    y = 0.0
    for each in maps:
        sheet = _picture(each)
        marks += sheet.moved(0.0, y - sheet.box.top).marks
        y -= sheet.size[1] + 40.0
    title = f"Bee space: {maps[0].hive.places[0]}" if len(maps) == 1 else TITLE
    return svg_of(sheet_of(marks), title).encode("utf-8")


def _picture(each: DrawnMap) -> Sheet:
    """The drawings of one hive and, below them in small type, its gaps, its bee passages and its air path."""
    hive, unit, details = each.hive, each.unit, each.details
    sheets = [each.small, *(row_of(details[n : n + 2]) for n in range(0, len(details), 2))]
    title = f"Bee space: {hive.places[0]}"
    marks: list[Mark] = [Word(clean(title), 0.0, 0.0, size=STYLE.headings[2], strong=True)]
    y = -STYLE.view_gap / 2
    for sheet in sheets:
        marks += sheet.moved(0.0, y - sheet.box.top).marks
        y -= sheet.size[1] + STYLE.view_gap / 2
    rows = gap_rows(hive.graded)
    lines = [f"The whole hive at 1:{each.times}, details at half size."]
    lines += [
        f"{r.gap.name} ({r.place}): {span(r.gap.least, r.gap.most, unit)}; "
        f"limits {limits_text(r.graded.limits, unit)}; {grade_text(r.graded, unit)}"
        for r in rows
    ]
    loaded = [mesh_at_gap(mesh, unit) for mesh in hive.state.at] if hive.mesh and hive.state else []
    lines += [*filter(None, (hive.mesh,)), *loaded, *way_lines(hive.ways), *door_lines(hive.ways)]
    lines += [f"{step}: {area}, {words}" for step, area, words in air_rows(hive.air, unit)]
    for line in lines:
        for n, part in enumerate(wrapped(clean(line), STYLE.small, sheets[0].size[0] - 12)):
            y -= STYLE.small * STYLE.leading
            marks.append(Word(part, 12.0 if n else 0.0, y, size=STYLE.small))
    return sheet_of(marks)


def bee_map_files(maps: Sequence[DrawnMap]) -> dict[str, bytes]:
    """An SVG file for each map, named bee-space-<hives>.svg."""
    files: dict[str, bytes] = {}
    for n, each in enumerate(maps, 1):
        slug = re.sub(r"[^a-z0-9]+", "-", each.hive.places[0].lower()).strip("-")[:60] or str(n)
        name = f"bee-space-{slug}"
        files[f"{name}-{n}.svg" if f"{name}.svg" in files else f"{name}.svg"] = map_svg((each,))
    return files


def bee_map_file(
    units: Sequence[Unit], path: Path, *, unit: LengthUnit = "in", paper: str = "letter", band_name: str = DEFAULT_BAND
) -> bytes:
    """Every map of these units in one file: a PDF on `paper` or an SVG picture, depending on the ending of `path`.

    `band_name` is as in `bee_maps`. Raises InputError for another ending, or if no item for a hive is made.
    """
    from woodshop.drawing.pens.pdf import write_pdf

    kind = path.suffix.lower()
    if kind not in ENDINGS:
        given = f"the ending {path.suffix!r}" if path.suffix else "no ending"
        raise InputError(Problem(str(path), given, "a map ending in .svg or .pdf", "Choose one of the two for --map."))
    with lengths_in(unit):
        maps = bee_maps(units, unit, band_name)
        chapter = map_chapter(maps)
    if not maps:
        wanted = "an item for hives, such as a rim or a quilt box"
        raise InputError(Problem(str(path), "a design without an item for a hive", wanted, "Add it under [[make]]."))
    if kind == ".pdf":
        return write_pdf(Document(TITLE, "Every gap, measured", (chapter,)), paper)
    return map_svg(maps)
