"""The mesh under fresh sugar: without strips, and with strips that leave it more sag than they may."""

from woodshop.checks.measured.hives import HiveGroup, MeasuredHive
from woodshop.checks.measured.mesh_state import fresh_words, left_words
from woodshop.checks.rules.remedies import CheckContext, new_strips, worked_out_strips
from woodshop.findings import Finding, Severity
from woodshop.reference.facts import fact
from woodshop.units.lengths import Length


def check_mesh(
    group: HiveGroup, place: str, measured: tuple[tuple[Length, MeasuredHive], ...], whole: CheckContext
) -> list[Finding]:
    """What fresh sugar does to the mesh of these hives, against what it may, at the gap where it leaves least."""
    state = group.mesh
    if state is None or not any(gap.kind == "mesh over bars" for _, each in measured for gap in each.gaps):
        return []
    said = fresh_words(state, whole.unit)
    room = state.worst.room
    if room.mm > 0:
        said += f"; {left_words(state, whole.unit)}"
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
    lies = room.mm > 0 and not state.worst.left
    remedy = worked_out_strips(whole, "number") or worked_out_strips(whole, "number", "thickness")
    out = [path.rpartition(".")[2] for path, _ in remedy]
    count = f"strips as they are worked out: leave {' and '.join(out)} out" if remedy else "more strips"
    return [
        Finding(
            "mesh-sags",
            Severity.ERROR if lies else Severity.WARNING,
            place,
            said,
            f"at most {state.limit.text(whole.unit)} below the strips",
            "common practice, no source",
            f"Use {count}" + ("." if remedy else ", a stiffer mesh or less sugar, or allow more sag."),
            remedy,
        )
    ]
