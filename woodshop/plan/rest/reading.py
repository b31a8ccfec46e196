"""Reads what a person wrote about the work on a plan: a sheet of progress, and a sheet of new counts."""

import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from woodshop.design.design_file import Design, name_faults
from woodshop.design.schema import Default
from woodshop.design.sheets import Cell, SheetColumn, SheetRow, read_sheet, refuse
from woodshop.design.tables import COUNT_MOST
from woodshop.errors import Problem, did_you_mean
from woodshop.plan.rest.progress import (
    PIECE_CHANGES,
    BoardFault,
    BoughtCount,
    LayoutCut,
    OffcutOnHand,
    PieceCount,
    Progress,
)
from woodshop.units.lengths import Length, length_wanted, read_length
from woodshop.units.wording import LengthUnit

COUNTS = (
    SheetColumn("hives", ("group", "name"), required=True),
    SheetColumn("count", ("now",), required=True),
    SheetColumn("was"),
)
PROGRESS = (
    SheetColumn("event", ("what happened",), required=True),
    SheetColumn("name", ("what",)),
    SheetColumn("count", ("how many",)),
    SheetColumn("layout"),
    SheetColumn("length"),
    SheetColumn("width"),
    SheetColumn("from"),
    SheetColumn("to"),
    SheetColumn("reason", ("label", "note")),
)
EVENTS = ("cut", *PIECE_CHANGES, "unusable", "shorter", "bad stretch", "offcut", "bought")
"""The events that a row of the progress sheet can have."""


def read_progress(path: Path, unit: LengthUnit) -> Progress:
    """The progress in a sheet with one row for each event. Lengths without a unit are in `unit`.

    The content of the column "name" depends on the event. For "cut", it has the number of a layout. For "spoiled",
    "lost", "found" and "made extra", it has the mark or address of a part. For "unusable", "shorter" and "bad stretch",
    it has the board's name on the buy list; the layout can be given instead. For "offcut", it has a material. For
    "bought", it has a line of the buy list. If any row is "bought", only the lines in such rows count as bought. Raises
    InputError with every problem in the sheet.
    """
    found: list[Problem] = []
    cut: list[LayoutCut] = []
    pieces: list[PieceCount] = []
    boards: list[BoardFault] = []
    offcuts: list[OffcutOnHand] = []
    bought: list[BoughtCount] = []
    for row in read_sheet(path, PROGRESS):
        event = _text(row, "event").casefold()
        if event not in EVENTS:
            do = did_you_mean(event, EVENTS, f"There are: {', '.join(EVENTS)}.")
            given = repr(event)[:60] if event else "nothing"
            found.append(Problem(_at(row, "event").where, given, "what happened", do))
            continue
        is_count_needed = event not in ("unusable", "shorter", "bad stretch", "offcut")
        least = 0 if is_count_needed else 1
        count = (
            1 if not is_count_needed and not _text(row, "count") else whole(_at(row, "count"), least, COUNT_MOST, found)
        )
        name, reason, before = _text(row, "name"), _text(row, "reason"), len(found)
        if event == "cut":
            layout = _layout(_at(row, "name" if name else "layout"), found)
            if layout is not None and count is not None:
                cut.append(LayoutCut(layout, count))
            continue
        if event == "offcut":
            size = [_length(row, key, unit, found) for key in ("length", "width")]
            if None in size and len(found) == before:
                wanted = "the offcut's length and width"
                found.append(Problem(row.where, "an offcut without its size", wanted, "Measure it."))
            elif size[0] is not None and size[1] is not None and count is not None:
                offcuts.append(OffcutOnHand(material=name, length=size[0], width=size[1], count=count, label=reason))
            continue
        if event in ("unusable", "shorter", "bad stretch"):
            fault = _fault(row, event, unit, found)
            if fault is not None and count is not None:
                boards.append(replace(fault, stock=name, count=count, reason=reason))
            continue
        if not name:
            wanted = (
                "a line of the buy list" if event == "bought" else "a part's mark or full name, as in the part table"
            )
            found.append(Problem(_at(row, "name").where, "nothing", wanted, "Copy it from the packet."))
        elif count is not None and event == "bought":
            bought.append(BoughtCount(name, count))
        elif count is not None:
            change = next(each for each in PIECE_CHANGES if each == event)
            pieces.append(PieceCount(name, change, count, reason))
    refuse(found)
    return Progress(
        cut=tuple(cut),
        pieces=tuple(pieces),
        boards=tuple(boards),
        offcuts=tuple(offcuts),
        bought=tuple(bought) if bought else None,
    )


def _at(row: SheetRow, key: str) -> Cell:
    return row.cells.get(key, Cell(row.where))


def _text(row: SheetRow, key: str) -> str:
    value = _at(row, key).value
    return "" if value is None else str(value).strip()


def _layout(cell: Cell, found: list[Problem]) -> int | None:
    number = re.fullmatch(r"(?:layout )?([0-9]{1,6})", str(cell.value).strip().casefold())
    if number is None:
        given = "nothing" if cell.value is None else repr(cell.value)[:60]
        found.append(Problem(cell.where, given, "the number of a layout", "Copy it from the packet."))
        return None
    return int(number[1])


def _length(row: SheetRow, key: str, unit: LengthUnit, found: list[Problem]) -> Length | None:
    """The length in a cell. None if the cell is empty.

    If it is not a length, adds a problem to `found` and returns None.
    """
    text = _text(row, key)
    if not text:
        return None
    try:
        return read_length(text, unit)
    except ValueError:
        found.append(Problem(_at(row, key).where, repr(text)[:60], length_wanted(unit), "Write it in digits."))
        return None


def _fault(row: SheetRow, event: str, unit: LengthUnit, found: list[Problem]) -> BoardFault | None:
    """The board of a row, without its name, count and reason.

    If a size is missing, adds a problem to `found` and returns None.
    """
    before = len(found)
    layout = _layout(_at(row, "layout"), found) if _text(row, "layout") else None
    sizes = {key: _length(row, key, unit, found) for key in ("length", "from", "to")}
    wanted = {"unusable": (), "shorter": ("length",), "bad stretch": ("from", "to")}[event]
    missing = [key for key in wanted if sizes[key] is None]
    extra = [key for key in ("from", "to") if key not in wanted and sizes[key] is not None]
    extra += ["length"] if event == "unusable" and sizes["length"] is not None else []
    if missing and len(found) == before:
        words = " and ".join(f"{key!r}" for key in missing)
        found.append(Problem(row.where, f"{event} without {words}", "the sizes measured on the board", "Measure it."))
    if extra:
        words = " and ".join(f"{key!r}" for key in extra)
        do = "Remove the size, or write shorter or bad stretch."
        found.append(Problem(row.where, f"{event} with {words}", "only what belongs to the event", do))
    if len(found) > before:
        return None
    low, high = sizes["from"], sizes["to"]
    bad = ((low, high),) if low is not None and high is not None else ()
    return BoardFault(layout=layout, length=sizes["length"], bad=bad)


def read_counts(design: Design, path: Path) -> dict[str, int]:
    """The new counts in a sheet, keyed by the names of the design's hives.

    The columns are hives, count and, optionally, `was`, which must equal the count in the design. Raises InputError
    with every problem in the sheet.
    """
    found: list[Problem] = []
    counts: dict[str, int] = {}
    was = {hives.name: hives.count for hives in design.hives}
    for row in read_sheet(path, COUNTS):
        name = _name(row.cells["hives"], was, found)
        count = whole(row.cells["count"], 0, COUNT_MOST, found)
        before = row.cells.get("was")
        if name is None or count is None:
            continue
        if name in counts:
            found.append(Problem(row.cells["hives"].where, f"{name!r} again", "each group once", "Keep one of them."))
        if before is not None and before.value is not None:
            old = whole(before, 0, COUNT_MOST, found)
            if old is not None and old != was[name]:
                given, wanted = str(old), f"{was[name]}, as in the design"
                found.append(Problem(before.where, given, wanted, "Check which of the two is right."))
        counts[name] = count
    refuse(found)
    return counts


def with_counts(design: Design, counts: Mapping[str, int]) -> Design:
    """The design with other counts of hives, keyed by name.

    Hives not named keep their count. For hives with a count of 0, nothing is made. Units in the shed are used for no
    more hives than the new count. Raises InputError if nothing is left to make.
    """
    kept = [n for n, hives in enumerate(design.hives) if counts.get(hives.name, hives.count)]
    tables = tuple(
        design.hives[n].model_copy(update={"count": counts.get(design.hives[n].name, design.hives[n].count)})
        for n in kept
    )
    left = {hives.name: hives.count for hives in tables}
    makes = tuple(
        replace(make, hives=tuple(name for name in make.hives if name in left))
        for make in design.makes
        if not make.hives or any(name in left for name in make.hives)
    )
    shed, taken = [], list(design.order_defaults)
    for row in design.shed:
        if row.hives not in left:
            taken.append(Default("new counts", f"{row.item} for {row.hives}", "not used", "no such hives are left"))
            continue
        have = min(row.have, left[row.hives])
        if have != row.have:
            words = f"{have} of {row.have} on hand used"
            taken.append(
                Default("new counts", f"{row.item} for {row.hives}", words, "no more hives than units on hand")
            )
        shed.append(row.model_copy(update={"have": have, "repair": min(row.repair, have)}))
    found = name_faults("new counts", tables, makes, shed)
    if not tables or not any(make.item.is_per_hive for make in makes):
        found.append(
            Problem("new counts", "no hives to make anything for", "one at least", "Give a count of 1 or more.")
        )
    refuse(found)
    measured = tuple(design.measured[n] for n in kept)
    return replace(design, hives=tables, measured=measured, makes=makes, shed=tuple(shed), order_defaults=tuple(taken))


def whole(cell: Cell, least: int, most: int, found: list[Problem]) -> int | None:
    """The whole number in a cell. If it is not one, adds a problem to `found` and returns None."""
    value = cell.value
    if isinstance(value, str) and re.fullmatch(r"[0-9]{1,9}", value):
        value = int(value)
    if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
        given = "nothing" if cell.value is None else repr(cell.value)[:60]
        found.append(Problem(cell.where, given, f"a whole number, {least} to {most}", "Write digits only."))
        return None
    return value


def _name(cell: Cell, known: Mapping[str, int], found: list[Problem]) -> str | None:
    name = str(cell.value).strip() if cell.value is not None else ""
    if name in known:
        return name
    do = did_you_mean(name, known, f"There are: {', '.join(known)}.")
    found.append(Problem(cell.where, repr(name)[:70] if name else "nothing", "the name of hives of the design", do))
    return None
