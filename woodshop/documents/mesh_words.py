"""What is said of the mesh under its sugar, fresh and set hard: for the check, the packet, the map, and as values."""

from collections.abc import Iterable, Iterator
from typing import Any

from woodshop.batch.check_hives import HiveGroup
from woodshop.batch.mesh_state import MeshState, fresh_words, left_words, set_words, strip_words
from woodshop.reference.facts import fact
from woodshop.units import Length

HEAD = "The mesh under fresh sugar, an estimate"
_SET = "once it has set hard, the block keeps that shape and bears itself"
_ROWS = (
    ("wire's modulus", "mesh.wire_modulus"),
    ("yield", "mesh.wire_yield"),
    ("slack of a mesh without strips", "mesh.slack"),
)


def mesh_line(state: MeshState, room: Length, unit: str) -> str:
    """One board's mesh: what fresh sugar does to it, and what is left over the bars; if nothing, that it stays so."""
    words = [fresh_words(state, unit), left_words(state, room, unit)]
    return "; ".join(words if state.left(room) else [*words, set_words(state, room)])


def whole_line(state: MeshState, room: Length, unit: str) -> str:
    """The same with what becomes of it set hard, and how hard the strips are pressed."""
    words = [fresh_words(state, unit), left_words(state, room, unit), set_words(state, room), strip_words(state)]
    return "; ".join(word for word in words if word)


def mesh_rooms(group: HiveGroup) -> Iterator[tuple[str, Length]]:
    """Each way the hives of a group can stand, with the least room between their mesh and top bars."""
    for name, measured in group.alternatives:
        rooms = [gap.least for _, each in measured for gap in each.gaps if gap.kind == "mesh over bars"]
        if rooms:
            yield name, min(rooms)


def mesh_lines(groups: Iterable[HiveGroup], unit: str) -> Iterator[str]:
    """The lines after the table of gaps; hives that are alike in one. Nothing where no board is made."""
    alike: dict[str, list[str]] = {}
    for group in groups:
        if group.mesh is not None:
            for name, room in mesh_rooms(group):
                alike.setdefault(mesh_line(group.mesh, room, unit), []).append(name)
    if alike:
        yield f"{HEAD}; {_SET}"
    for line, names in alike.items():
        yield f"  {'; '.join(names)}"
        yield f"    {line}"


def assumed() -> str:
    """The rows that these figures stand on, with their sources."""
    rows = (f"{name} {fact(key).value} ({fact(key).cite})" for name, key in _ROWS)
    return (
        "The mesh's wires are taken as beams over the strips, their ends free to turn; a mesh held at its edges sags "
        f"less. Taken: {'; '.join(rows)}. Were it otherwise: wire a tenth thinner sags half as much again; twice the "
        "slack hangs two fifths further."
    )


def mesh_told(groups: Iterable[HiveGroup], unit: str) -> list[dict[str, Any]]:
    """The same as plain values: lengths as text in the design's unit, shares of one."""
    return [
        {
            "hives": name,
            "strips": state.strips,
            "span": state.span.number(unit),
            "sag": state.sag.number(unit),
            "left": state.left(room).number(unit),
            "unit": unit,
            "of_yield": round(state.fresh.of_yield, 3),
            "invalid": list(state.fresh.invalid),
            "slack": state.fresh.slack_wire.slack if state.fresh.invalid else None,
            "lies_on_bars": not state.left(room),
            "strip_of_bearing": None if state.strip is None else round(state.strip.of_bearing, 5),
            "strip_of_bending": None if state.strip is None else round(state.strip.of_bending, 5),
        }
        for group in groups
        if (state := group.mesh) is not None
        for name, room in mesh_rooms(group)
    ]
