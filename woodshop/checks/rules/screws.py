"""Screws for sale held to the walls that they join: whether any of them leaves thread enough in the second piece."""

from collections.abc import Iterable

from woodshop.design.batch import Unit
from woodshop.findings import Finding, Severity
from woodshop.hardware.screws import fits, least_grip
from woodshop.reference.facts import fact


def check_screws(units: Iterable[Unit]) -> list[Finding]:
    """A warning where screws are used and the yard sells some, but none that fits."""
    for unit in units:
        setting = unit.line.setting
        used = unit.line.count and any("screw" in fastener.kind for fastener in unit.assembly.fasteners)
        if not used or not setting.screws or any(fits(screw, setting.wood) for screw in setting.screws):
            continue
        row, wanted = fact("screw.end_grip"), setting.corner_screw
        sizes = ", ".join(screw.size for screw in setting.screws)
        return [
            Finding(
                "screws-do-not-fit",
                Severity.WARNING,
                "corners",
                f"no screw for sale ({setting.wording.quoted(sizes)}) fits walls {setting.say(setting.wood)} thick",
                f"{setting.say(least_grip(wanted))} of thread or more in end grain, behind the wall",
                row.cite,
                f"Buy {wanted.size} elsewhere, or add them to the yard file under [[pack]].",
            )
        ]
    return []
