"""Kerfs measured by test cuts and kept in the book, for saws whose kerf the design does not give."""

from woodshop.design.design_file import SawTables
from woodshop.design.inventory import Inventory
from woodshop.design.schema import Default
from woodshop.design.settings.saw import CIRCULAR_SAW, HAND_SAW, MITER_SAW, TABLE_SAW, ToolsTable
from woodshop.units.lengths import Length, millimetre
from woodshop.units.wording import LengthUnit

_SAWS = {TABLE_SAW: "rip", MITER_SAW: "crosscut", CIRCULAR_SAW: "crosscut", HAND_SAW: "crosscut"}
"""For each saw of the design, the kind of cut whose measured kerf applies to it if the measurement names no saw."""


def with_kerfs(sawing: SawTables, inventory: Inventory | None, unit: LengthUnit, defaults: list[Default]) -> ToolsTable:
    """The tools of a design. If [tools] and [saw] give no kerf for a saw, the book gives it; otherwise `defaults` lists
    both kerfs. A kerf measured with a named saw applies only to that saw. If a saw has several measured kerfs, the
    widest is used.
    """
    tools = sawing.tools
    if inventory is None:
        return tools
    measured: dict[str, tuple[Length, str]] = {}
    for each in inventory.kerfs:
        own = [saw for saw in _SAWS if saw in each.tool.casefold()]
        for saw in own or [saw for saw, cut in _SAWS.items() if cut == each.cut and saw != HAND_SAW]:
            kerf, tool = millimetre(each.value.mean), f", {each.tool}" if each.tool else ""
            words = f"{kerf.text(unit)}, the mean of {each.value.count} test cuts ({each.cut}{tool})"
            if saw not in measured or kerf > measured[saw][0]:
                measured[saw] = kerf, words
    new: dict[str, Length] = {}
    for saw, (kerf, words) in measured.items():
        key = f"{saw.replace(' ', '_')}_kerf"
        shared = sawing.saw.rip_kerf if saw == TABLE_SAW else sawing.saw.crosscut_kerf
        given = getattr(tools, key) or shared
        if given is None:
            new[key] = kerf
            defaults.append(Default("tools", key, words, inventory.source))
        else:
            defaults.append(
                Default("tools", f"{key} measured", f"{words}; {given.text(unit)} is used", inventory.source)
            )
    return tools.model_copy(update=new)
