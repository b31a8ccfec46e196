"""Settings that say one thing in two places: where both are given, they must agree.

The pairs, all that there are: `tests/design/test_contradicting_settings.py` goes through every setting for more.
"""

from collections.abc import Iterable

from woodshop.design.design_file import Make
from woodshop.design.measured_boxes import MeasuredBox
from woodshop.design.tables import BoxKeys
from woodshop.errors import Problem
from woodshop.hive.woodenware.box import HiveBox
from woodshop.reference.facts import fact
from woodshop.units.lengths import ZERO, Length

_ONE_COVER = "one cover on these hives"
_DO = "Give one of them, or the same for both."


def cover_contradictions(where: str, table: BoxKeys, makes: Iterable[Make], box: HiveBox) -> list[Problem]:
    """Where the hives and what goes under their cover differ on the cover; `makes` are those for these hives."""
    found = []
    flat = table.cover == "flat"
    if flat and (table.cover_skirt is not None or table.cover_clearance is not None):
        wanted = "a telescoping cover: a flat one has no skirt"
        found.append(Problem(f"{where}, cover", "'flat', with a skirt", wanted, "Leave one of them out."))
    on_hives = {"skirt": ZERO if flat else table.cover_skirt, "clearance": table.cover_clearance}
    for make in makes:
        own = {name: value for name, value in make.given if isinstance(value, Length)}
        for name, value in on_hives.items():
            if value is not None and name in own and own[name] != value:
                given = f"{value} for the hives, {own[name]} for the {make.item.name}"
                found.append(Problem(f"{where}, cover_{name}", given, _ONE_COVER, _DO))
        if table.cover == "telescoping" and own.get("skirt") == ZERO:
            given = f"'telescoping' for the hives, a skirt of 0 for the {make.item.name}"
            found.append(Problem(f"{where}, cover", given, _ONE_COVER, _DO))
        clearance = own.get("clearance", table.cover_clearance)
        for name, side in (("cover_length", box.length), ("cover_width", box.width)):
            if clearance is not None and name in own and own[name] != side + clearance * 2:
                given = f"{own[name]}, with {clearance} of clearance at each side of {side}"
                wanted = f"{side + clearance * 2}, or no clearance: {_ONE_COVER}"
                found.append(Problem(f"{where}, {name} of the {make.item.name}", given, wanted, _DO))
    return found


def measured_contradictions(
    where: str, table: BoxKeys, measured: MeasuredBox | None, mark: Length, nominal: Length | None
) -> list[Problem]:
    """Sizes given in the design that were not among those measured; `nominal` is that of a height given as a word."""
    if measured is None:
        return []
    found = []
    off = max(measured.spread, mark)
    height = table.height if isinstance(table.height, Length) else None
    for key, given in (("width", table.width), ("length", table.length), ("wall", table.wall), ("height", height)):
        size: Length | None = getattr(measured, key)
        if given is not None and size is not None and abs(given - size) > off:
            found.append(_not_measured(where, key, str(given), f"{(size + mark / 2).down_to(mark)}", measured))
    if (
        nominal is not None
        and measured.height is not None
        and abs(nominal - measured.height) > max(off, fact("box.maker_tolerance").length)
    ):
        given_words = f"{table.height}, {nominal} high"
        found.append(_not_measured(where, "height", given_words, str(measured.height.up_to(mark)), measured))
    gaps = table.gap if isinstance(table.gap, tuple) else () if table.gap is None else (table.gap,)
    if gaps and set(gaps) != set(measured.gaps):
        words = [", ".join(map(str, each)) for each in (gaps, measured.gaps)]
        found.append(_not_measured(where, "gap", words[0], words[1], measured))
    return found


def _not_measured(where: str, key: str, given: str, wanted: str, measured: MeasuredBox) -> Problem:
    wanted = f"{wanted}, as it was measured of {measured.name!r}"
    return Problem(f"{where}, {key}", given, wanted, "Leave the line out, or correct the measured file.")
