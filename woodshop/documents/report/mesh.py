"""Descriptions of the mesh under fresh and set sugar, for the check, the report and the map."""

from collections.abc import Iterable, Sequence

from woodshop.checks.hives import HiveGroup
from woodshop.checks.mesh_state import (
    LoadedMesh,
    MeshState,
    after_setting,
    fresh_mesh,
    mesh_at_gap,
    percent,
    room_left,
    strip_load,
)
from woodshop.drawing.values.model import Align, Block, Bullets, Column, Data, Heading, Section, Table
from woodshop.reference.facts import fact
from woodshop.units.lengths import unit_of_lengths
from woodshop.units.wording import LengthUnit, wording_of

HEAD = "The mesh under fresh sugar, an estimate"
_SET = "once set, the block keeps this shape and supports itself"
_ROWS = (
    ("wire's modulus", "mesh.wire_modulus"),
    ("yield", "mesh.wire_yield"),
    ("slack of a mesh without strips", "mesh.slack"),
)


def mesh_line(state: MeshState, unit: LengthUnit) -> str:
    """A sentence about the mesh of one board: its sag under fresh sugar, and the space that remains above the bars."""
    words = [fresh_mesh(state, unit), room_left(state, unit)]
    return "; ".join(words if state.worst.left else [*words, after_setting(state)])


def whole_line(state: MeshState, unit: LengthUnit) -> str:
    """The sentence from `mesh_line`, always with the mesh after the sugar sets, and with the stress in any strips."""
    words = [fresh_mesh(state, unit), room_left(state, unit)]
    return "; ".join(word for word in (*words, after_setting(state), strip_load(state)) if word)


def mesh_section(groups: Iterable[HiveGroup], unit: LengthUnit) -> Section:
    """The mesh of each board made, at each measured gap, with identical hives together.

    In the data, lengths are text in the design's unit, and shares are fractions of 1. `at` lists each measured gap.
    """
    boards = [(group, group.mesh, with_board(group)) for group in groups if group.mesh is not None]
    alike: dict[tuple[str, ...], list[str]] = {}
    for _, state, names in boards:
        at_gaps = (mesh_at_gap(mesh, unit) for mesh in state.at) if state.strips else ()
        alike.setdefault((mesh_line(state, unit), *at_gaps), []).extend(names)
    blocks: list[Block] = []
    for words, hives in alike.items():
        blocks += [Heading("; ".join(hives), 3), Bullets(words)]
    rows = [
        {
            "hives": name,
            "strips": state.strips,
            "thickness": None if state.thickness is None else state.thickness.number(unit),
            "span": state.span.number(unit),
            "sag": state.sag.number(unit),
            "left": state.worst.left.number(unit),
            "unit": unit,
            "of_yield": round(state.fresh.of_yield, 3),
            "invalid": tuple(map(wording_of(unit).said, state.fresh.invalid)),
            "slack": state.fresh.slack_wire.slack if state.fresh.invalid else None,
            "lies_on_bars": not state.worst.left,
            "at": [_gap_json(mesh, unit) for mesh in state.at],
            "strip_of_bearing": None if state.strip is None else round(state.strip.of_bearing, 5),
            "strip_of_bending": None if state.strip is None else round(state.strip.of_bending, 5),
        }
        for _, state, names in boards
        for name in names
    ]
    return Section(f"{HEAD}; {_SET}", tuple(blocks), {"mesh": rows})


def _gap_json(mesh: LoadedMesh, unit: LengthUnit) -> Data:
    at_strips = mesh.at_strips
    return {
        "gap": mesh.gap.number(unit),
        "room": mesh.room.number(unit),
        "strips_below": mesh.clear.number(unit) if mesh.fresh.carries else None,
        "carries": mesh.fresh.carries,
        "sag": mesh.sag.number(unit),
        "left_between_strips": mesh.left.number(unit),
        "left_at_strips": None if at_strips is None else at_strips.number(unit),
        "of_yield": round(mesh.fresh.of_yield, 3),
        "invalid": tuple(map(wording_of(unit).said, mesh.fresh.invalid)),
    }


def gap_table(meshes: Sequence[LoadedMesh], unit: LengthUnit) -> Table:
    """The loaded mesh at each gap over the top bars, as a table. The row with the least space is bold."""
    columns = (
        Column("gap over the bars", weight=3),
        Column("strips below the mesh", Align.RIGHT, weight=3),
        Column("mesh sags", Align.RIGHT, weight=2),
        Column("left between strips", Align.RIGHT, weight=3),
        Column("left at the strips", Align.RIGHT, weight=3),
        Column("wire stress, of yield", Align.RIGHT, weight=2),
    )
    rows = []
    for mesh in meshes:
        at_strips = mesh.at_strips
        rows.append(
            (
                mesh.gap.text(unit),
                mesh.clear.text(unit) if mesh.fresh.carries else "no strips",
                mesh.sag.text(unit),
                mesh.left.text(unit) if mesh.left else "touches the bars",
                "carry nothing" if at_strips is None else at_strips.text(unit),
                "no beam" if mesh.fresh.invalid else percent(mesh.fresh.of_yield),
            )
        )
    least = min(range(len(meshes)), key=lambda n: meshes[n].left)
    return Table(columns, tuple(rows), (least,) if len(rows) > 1 else (), small=True)


def with_board(group: HiveGroup) -> list[str]:
    """The names of a group's assemblies with mesh over the top bars."""
    return [
        name
        for name, measured in group.alternatives
        if any(gap.kind == "mesh over bars" for _, each in measured for gap in each.gaps)
    ]


def assumed() -> str:
    """A text with the assumptions and facts behind these figures, with their sources."""
    wording = wording_of(unit_of_lengths())
    rows = (f"{name} {fact(key).worded(wording)} ({fact(key).cite})" for name, key in _ROWS)
    return (
        "The wires are calculated as beams with free ends; mesh held at its edges sags less. A strip below the mesh "
        "carries it only once the mesh has sagged onto it; this is solved for every gap measured. "
        f"Assumed: {'; '.join(rows)}. Wire a tenth thinner would sag 50 % more; twice the slack would hang "
        "40 % lower."
    )
