"""The inputs of a recount: the plan as written, the new counts, and the pieces cut so far."""

import re
from collections.abc import Mapping
from dataclasses import KW_ONLY, dataclass, field, replace
from pathlib import Path

from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.model.plan import Plan, read_plan
from woodshop.cutting.model.reading import parse_json
from woodshop.design.design_file import Design, name_faults
from woodshop.design.schema import Default
from woodshop.design.sheets import Cell, SheetColumn, SheetRow, read_sheet, refuse
from woodshop.design.tables import COUNT_MOST
from woodshop.errors import InputError, Problem, check_format, did_you_mean
from woodshop.plan.plan_batch import BATCH_FORMAT
from woodshop.reference.materials import Material, read_material

COUNTS = (
    SheetColumn("hives", ("group", "name"), required=True),
    SheetColumn("count", ("now",), required=True),
    SheetColumn("was"),
)
TALLY = (
    SheetColumn("layout"),
    SheetColumn("cut", ("boards cut",)),
    SheetColumn("mark"),
    SheetColumn("failed", ("spoiled",)),
)


@dataclass(frozen=True, slots=True)
class Bought:
    """A line of the old buy list: group, description, count, price in cents, lumberyard."""

    group: str
    what: str
    count: int
    price: int
    lumberyard: str = ""


@dataclass(frozen=True, slots=True)
class Written:
    """A batch's plan as written: its lines' counts by address and hives, its buy list, and every plan."""

    batch: str
    currency: str
    total: int
    _: KW_ONLY
    lines: Mapping[tuple[str, str], int]
    bought: tuple[Bought, ...]
    marks: Mapping[str, str]
    plans: Mapping[Material, Plan]

    @property
    def layouts(self) -> tuple[tuple[Material, int], ...]:
        """Material and index of every layout, as the packet numbers them from 1."""
        return tuple((material, n) for material, plan in self.plans.items() for n in range(len(plan.layouts)))


@dataclass(frozen=True, slots=True)
class Tally:
    """The work done so far: boards cut by material and layout index, and failed pieces by material and blank."""

    done: Mapping[tuple[Material, int], int] = field(default_factory=dict)
    failed: Mapping[tuple[Material, str], int] = field(default_factory=dict)


def read_written(text: str, where: str) -> Written:
    """The plan of a batch from the text of its plan.json. Raises InputError for another file, or an unsound plan."""
    raw = parse_json(text, where)
    if not isinstance(raw, dict):
        raise InputError(Problem(where, "no plan of a batch", f"a plan.json of {BATCH_FORMAT}", "Plan it again."))
    check_format(where, raw.get("format"), BATCH_FORMAT, "Plan it again.")
    try:
        plans = {read_material(str(name)): read_plan(plan) for name, plan in raw["plans"].items()}
        written = Written(
            str(raw["batch"]),
            str(raw["currency"]),
            int(raw["total"]),
            lines={(str(row["address"]), str(row["hives"])): int(row["count"]) for row in raw["lines"]},
            bought=tuple(
                Bought(str(p["group"]), str(p["what"]), int(p["count"]), int(p["price"]), str(p.get("lumberyard", "")))
                for p in raw["purchases"]
            ),
            marks={str(row["mark"]): str(row["address"]) for row in raw["marks"]},
            plans=plans,
        )
    except (KeyError, TypeError, AttributeError, ValueError) as why:
        if isinstance(why, InputError):
            raise
        given = f"an incomplete plan ({why})"
        raise InputError(Problem(where, given, "an unchanged plan.json", "Plan it again.")) from None
    bad = [material.name for material, plan in plans.items() if check_plan(plan)]
    if bad:
        given, do = f"a plan that does not pass its check, {', '.join(bad)}", "See: woodshop verify."
        raise InputError(Problem(where, given, "an unchanged plan.json", do))
    ready = [p.what for p in written.bought if p.group.startswith("ready-made ")]
    if ready:
        wanted = "a plan without ready-made items"
        raise InputError(Problem(where, f"{', '.join(ready)}, bought ready-made", wanted, "Recount those by hand."))
    return written


def counted(design: Design, path: Path) -> Design:
    """The design with the counts of a sheet: hives and count, and `was` to be compared with the design.

    Hives not in the sheet keep their count; with 0 hives nothing is made for them. Hardware in the shed is used as far
    as there are hives for it. Raises InputError with every problem of the sheet.
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
    return with_counts(design, counts)


def with_counts(design: Design, counts: Mapping[str, int]) -> Design:
    """The design with other counts of hives, by their names. Raises InputError if nothing is left to make."""
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
            taken.append(Default("recount", f"{row.item} for {row.hives}", "not used", "no such hives are left"))
            continue
        have = min(row.have, left[row.hives])
        if have != row.have:
            words = f"{have} of {row.have} on hand used"
            taken.append(Default("recount", f"{row.item} for {row.hives}", words, "no more hives than units on hand"))
        shed.append(row.model_copy(update={"have": have, "repair": min(row.repair, have)}))
    found = name_faults("recount", tables, makes, shed)
    if not tables or not any(make.item.is_per_hive for make in makes):
        found.append(Problem("recount", "no hives to make anything for", "one at least", "Give a count of 1 or more."))
    refuse(found)
    measured = tuple(design.measured[n] for n in kept)
    return replace(design, hives=tables, measured=measured, makes=makes, shed=tuple(shed), order_defaults=tuple(taken))


def read_tally(path: Path, old: Written) -> Tally:
    """The work done, from a sheet with rows of layout and cut, and rows of mark and failed. Raises InputError with
    every problem, including conflicts with the plan."""
    found: list[Problem] = []
    done: dict[tuple[Material, int], int] = {}
    failed: dict[tuple[Material, str], int] = {}
    spoiled: list[tuple[Cell, str, int]] = []
    for row in read_sheet(path, TALLY):
        has_layout, has_mark = (_is_filled(row, *pair) for pair in (("layout", "cut"), ("mark", "failed")))
        if has_layout == has_mark:
            given = "both" if has_layout else "neither"
            wanted = "layout and cut, or mark and failed"
            found.append(Problem(row.where, given, wanted, "Give each its own row."))
        elif has_layout:
            _layout_row(row, old, done, found)
        else:
            cell = row.cells.get("mark", Cell(row.where))
            count = whole(row.cells.get("failed", Cell(row.where)), 0, COUNT_MOST, found)
            mark = str(cell.value).strip().upper()
            if mark not in old.marks:
                given = "nothing" if cell.value is None else repr(cell.value)[:60]
                found.append(Problem(cell.where, given, "a mark of the part table", "Copy it from the part table."))
            elif count is not None:
                spoiled.append((cell, mark, count))
    for cell, mark, count in spoiled:
        material, blank = _blank(old, mark)
        cut = sum(
            times * sum(piece.id == blank for piece in old.plans[material].layouts[n].pieces)
            for (of, n), times in done.items()
            if of == material
        )
        failed[material, blank] = failed.get((material, blank), 0) + count
        if failed[material, blank] > cut:
            given = f"{failed[material, blank]} of {mark} failed"
            found.append(Problem(cell.where, given, f"at most {cut}, which were cut", "Count again."))
    refuse(found)
    return Tally(done, failed)


def whole(cell: Cell, least: int, most: int, found: list[Problem]) -> int | None:
    """The whole number in a cell; None, and a problem, if it is not one."""
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


def _is_filled(row: SheetRow, *keys: str) -> bool:
    return any(row.cells[key].value is not None for key in keys if key in row.cells)


def _layout_row(row: SheetRow, old: Written, done: dict[tuple[Material, int], int], found: list[Problem]) -> None:
    cell = row.cells.get("layout", Cell(row.where))
    number = re.fullmatch(r"(?:layout )?([0-9]{1,6})", str(cell.value).strip().casefold())
    layouts = old.layouts
    if number is None or not 1 <= int(number[1]) <= len(layouts):
        given = "nothing" if cell.value is None else repr(cell.value)
        found.append(Problem(cell.where, given, f"the number of a layout, 1 to {len(layouts)}", "See the packet."))
        return
    place = layouts[int(number[1]) - 1]
    times = whole(row.cells.get("cut", Cell(row.where)), 0, old.plans[place[0]].layouts[place[1]].times, found)
    if place in done:
        found.append(Problem(cell.where, f"layout {number[1]} again", "each layout once", "Add them together."))
    elif times is not None:
        done[place] = times


def _blank(old: Written, mark: str) -> tuple[Material, str]:
    address = old.marks[mark]
    material = next(name for name, plan in old.plans.items() if any(b.id == address for b in plan.job.blanks))
    return material, address
