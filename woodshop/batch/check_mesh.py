"""The mesh under fresh sugar: without strips, and with strips that leave it more sag than they may."""

from dataclasses import replace

from woodshop.batch.check_hives import HiveGroup, Measured
from woodshop.batch.check_remedies import Remedy, Whole, new_strips
from woodshop.batch.mesh_state import MeshState, fresh_words, left_words, mesh_state
from woodshop.errors import InputError
from woodshop.findings import Finding, Severity
from woodshop.reference.facts import fact
from woodshop.units import Length


def check_mesh(
    group: HiveGroup, place: str, measured: tuple[tuple[Length, Measured], ...], whole: Whole
) -> list[Finding]:
    """What fresh sugar does to the mesh of these hives, against what it may; at the least room over the bars."""
    state = group.mesh
    rooms = [gap.least for _, each in measured for gap in each.gaps if gap.kind == "mesh over bars"]
    if state is None or not rooms:
        return []
    room = min(rooms)
    said = fresh_words(state, whole.unit)
    if room.mm > 0:
        said += f"; {left_words(state, room, whole.unit)}"
    if state.limit is None:
        return [
            Finding(
                "mesh-unsupported",
                Severity.WARNING,
                place,
                said,
                "strips under the mesh, or the sugar presses it down on the frames",
                f"common practice, no source; yield {fact('mesh.wire_yield').cite}",
                'Add "spacer strips" to what is made, unless strips that fit are at hand.',
                new_strips(group, whole),
            )
        ]
    if not state.is_over:
        return []
    lies = room.mm > 0 and not state.left(room)
    remedy = _fewest(whole)
    count = "more strips" if not remedy else "as many strips as are worked out: leave number out"
    return [
        Finding(
            "mesh-sags",
            Severity.ERROR if lies else Severity.WARNING,
            place,
            said,
            f"at most {state.limit.text(whole.unit)}",
            "common practice, no source",
            f"Use {count}" + ("." if remedy else ", a stiffer mesh or less sugar, or allow more sag."),
            remedy,
        )
    ]


def _fewest(whole: Whole) -> Remedy:
    """Leave the number out, where the strips worked out then hold the mesh of all hives; else nothing."""
    for group in whole.groups:
        strips = group.units.get("spacer strips")
        if strips is None:
            continue
        given = dict(strips.line.given)
        if given["number"] is None:
            return ()
        given["number"] = None
        try:
            made = strips.line.item.make(strips.line.setting, **given)
        except InputError:
            return ()
        state: MeshState | None = mesh_state({**group.units, "spacer strips": replace(strips, assembly=made)})
        if state is None or state.is_over:
            return ()
    return (("make.spacer strips.number", ""),)
