"""What has happened since a plan was made: boards cut, boards found bad, pieces spoiled or found, offcuts.

A `Progress` is a plain value about one earlier plan. It can come from a spreadsheet or from the shop's own book. The
engine in `plan_rest` reads nothing else.
"""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal, get_args

from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.plan.rest.earlier_plan import EarlierPlan
from woodshop.reference.materials import Material
from woodshop.units.lengths import ZERO, Length

PieceChange = Literal["spoiled", "lost", "found", "made extra"]
PIECE_CHANGES: tuple[PieceChange, ...] = get_args(PieceChange)


@dataclass(frozen=True, slots=True)
class LayoutCut:
    """A layout of the earlier plan, identified by its printed number, and how many boards were cut with it.

    `material` is optional. If given, it must be the material of the layout.
    """

    layout: int
    times: int
    material: str = ""


@dataclass(frozen=True, slots=True)
class PieceCount:
    """Pieces spoiled at the bench, lost, found again, or made extra outside the plan.

    `part` is the mark or the address of the part in the earlier plan, as on its label and in the part table.
    """

    part: str
    change: PieceChange
    count: int
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardFault:
    """Boards, sheets or rolls on hand that cannot be cut as planned.

    `stock` is the name on the buy list, or the id in the plan. It may be left out if `layout` is the number of the
    layout that was to be cut from the board. In both cases the board counts as not cut. `length` is the true length of
    a board that is shorter than bought. `bad` are stretches along the board, measured from either end, that no piece
    may overlap. If neither is given, the board cannot be used. `board` is the code chalked on it, if it has one.
    """

    stock: str = ""
    count: int = 1
    layout: int | None = None
    length: Length | None = None
    bad: tuple[tuple[Length, Length], ...] = ()
    reason: str = ""
    board: str = ""

    @property
    def is_unusable(self) -> bool:
        """Whether no part of the board can be used."""
        return self.length is None and not self.bad


@dataclass(frozen=True, slots=True, kw_only=True)
class OffcutOnHand:
    """An offcut on hand: its material as in the plan, its exact size, and the number or name written on it."""

    material: str
    length: Length
    width: Length
    count: int = 1
    label: str = ""
    bad: tuple[tuple[Length, Length], ...] = ()


@dataclass(frozen=True, slots=True)
class BoughtCount:
    """How many were bought of a line of the earlier buy list. `what` is the name of the line."""

    what: str
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """Everything known about the work on one earlier plan.

    `plan` is the digest in the earlier plan.json, or "" if unknown. If `bought` is None, everything on the buy list was
    bought; if it is an empty tuple, nothing was. `keeps_offcuts` says whether the offcuts that the packet says to keep,
    from boards already cut, are on hand. `offcuts` are other offcuts, or the same offcuts with their measured sizes.
    `counts` are the numbers of hives wanted now, keyed by their names in the design; hives not named keep their count.
    """

    plan: str = ""
    cut: tuple[LayoutCut, ...] = ()
    pieces: tuple[PieceCount, ...] = ()
    boards: tuple[BoardFault, ...] = ()
    offcuts: tuple[OffcutOnHand, ...] = ()
    bought: tuple[BoughtCount, ...] | None = None
    keeps_offcuts: bool = False
    counts: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkDone:
    """Progress that was checked against its earlier plan, by material.

    `cut` counts the boards cut of each layout, by its index in the plan. `changes` counts pieces by blank and change.
    `held` counts the stock that was bought or on hand before any board was cut, by its id. `faults` are the boards of
    this stock found unusable or unlike what was bought. `offcuts` are additional offcuts on hand.
    """

    cut: Mapping[tuple[Material, int], int]
    changes: Mapping[tuple[Material, str, PieceChange], int]
    held: Mapping[tuple[Material, str], int]
    faults: tuple[tuple[Material, str, BoardFault], ...]
    offcuts: tuple[tuple[Material, OffcutOnHand], ...]
    keeps_offcuts: bool = False


def work_of(progress: Progress, earlier: EarlierPlan, where: str = "progress") -> WorkDone:
    """The progress, checked against the earlier plan.

    Raises InputError with every problem; `where` names their place.
    """
    found: list[Problem] = []
    if progress.plan and progress.plan != earlier.digest:
        given = f"progress of another plan ({progress.plan[:12]})"
        wanted = f"progress of the earlier plan ({earlier.digest[:12]})"
        found.append(Problem(where, given, wanted, "Give the plan.json of the packet that was worked from."))
    cut = _cut(progress, earlier, where, found)
    changes = _changes(progress, earlier, cut, where, found)
    held = _held(progress, earlier, where, found)
    faults = _faults(progress, earlier, cut, where, found)
    used: Counter[tuple[Material, str]] = Counter()
    for (material, n), times in cut.items():
        used[material, earlier.plans[material].layouts[n].stock] += times
    bad: Counter[tuple[Material, str]] = Counter()
    for material, stock, fault in faults:
        bad[material, stock] += fault.count
    for material, stock in dict.fromkeys((*used, *bad)):
        most, own = held.get((material, stock), 0), used[material, stock] + bad[material, stock]
        if own > most:
            given = f"{used[material, stock]} of {stock} cut and {bad[material, stock]} not as bought"
            found.append(Problem(where, given, f"at most {most} in all, which were there", "Count again."))
    offcuts = _offcuts(progress, earlier, where, found)
    if found:
        raise InputError(*found)
    return WorkDone(
        cut=cut, changes=changes, held=held, faults=faults, offcuts=offcuts, keeps_offcuts=progress.keeps_offcuts
    )


def _is_count(count: object, least: int) -> bool:
    return isinstance(count, int) and not isinstance(count, bool) and count >= least


def _cut(progress: Progress, earlier: EarlierPlan, where: str, found: list[Problem]) -> dict[tuple[Material, int], int]:
    cut: dict[tuple[Material, int], int] = {}
    for row in progress.cut:
        place = f"{where}, layout {row.layout}"
        known = earlier.layouts.get(row.layout)
        if known is None:
            numbers = sorted(earlier.layouts)
            wanted = f"the number of a layout, {numbers[0]} to {numbers[-1]}" if numbers else "a plan with layouts"
            found.append(Problem(place, repr(row.layout), wanted, "Copy it from the packet."))
            continue
        material, n = known
        times = earlier.plans[material].layouts[n].times
        if row.material and row.material != material.name:
            found.append(Problem(place, row.material, material.name, "Copy layout and material from the packet."))
        if known in cut:
            found.append(Problem(place, "the layout again", "each layout once", "Add them together."))
        elif not _is_count(row.times, 0) or row.times > times:
            found.append(Problem(place, f"cut {row.times} times", f"0 to {times}, as planned", "Count again."))
        else:
            cut[known] = row.times
    return {place: times for place, times in cut.items() if times}


def part_of(earlier: EarlierPlan, part: str) -> tuple[Material, str] | None:
    """The material and address of a part, found by its mark or its address. None if the plan has no such part."""
    wanted = part.strip()
    address = earlier.marks.get(wanted.upper(), wanted)
    for material, plan in earlier.plans.items():
        if any(blank.id == address for blank in plan.job.blanks):
            return material, address
    return next(((row.material, address) for row in earlier.kept if row.address == address), None)


def _changes(
    progress: Progress, earlier: EarlierPlan, cut: Mapping[tuple[Material, int], int], where: str, found: list[Problem]
) -> dict[tuple[Material, str, PieceChange], int]:
    changes: Counter[tuple[Material, str, PieceChange]] = Counter()
    for row in progress.pieces:
        known = part_of(earlier, row.part)
        place = f"{where}, part {row.part!r}"[:100]
        if known is None:
            do = did_you_mean(row.part, (*earlier.marks.values(), *earlier.marks), "Copy it from the part table.")
            found.append(Problem(place, "an unknown part", "a part's mark or full name, as in the part table", do))
        elif row.change not in PIECE_CHANGES:
            found.append(Problem(place, repr(row.change)[:60], f"one of {', '.join(PIECE_CHANGES)}", "Choose one."))
        elif not _is_count(row.count, 0):
            found.append(Problem(place, f"{row.count} {row.change}", "a whole number, 0 or more", "Count again."))
        else:
            changes[*known, row.change] += row.count
    made = Counter({(row.material, row.address): row.count for row in earlier.kept})
    for (material, n), times in cut.items():
        for piece in earlier.plans[material].layouts[n].pieces:
            made[material, piece.id] += times
    for material, blank in dict.fromkeys((material, blank) for material, blank, _ in changes):
        gone = changes[material, blank, "spoiled"] + changes[material, blank, "lost"]
        there = made[material, blank] + changes[material, blank, "found"] + changes[material, blank, "made extra"]
        if gone > there:
            given = f"{gone} of {blank} spoiled or lost"
            found.append(Problem(where, given, f"at most {there}, which were cut, found or made", "Count again."))
    return {key: count for key, count in changes.items() if count}


def held_at_first(earlier: EarlierPlan) -> dict[tuple[Material, str], int]:
    """The number of boards that the earlier plan relies on, to buy or on hand, keyed by material and stock id."""
    held: Counter[tuple[Material, str]] = Counter()
    materials = {material.name: material for material in earlier.plans}
    for line in earlier.bought:
        if line.stock:
            held[materials[line.group], line.stock] += line.count
    for material, plan in earlier.plans.items():
        for stock in plan.job.stock:
            if stock.id in earlier.at_hand[material]:
                held[material, stock.id] = stock.count or 0
    return dict(held)


def _held(
    progress: Progress, earlier: EarlierPlan, where: str, found: list[Problem]
) -> dict[tuple[Material, str], int]:
    held = held_at_first(earlier)
    if progress.bought is None:
        return held
    materials = {material.name: material for material in earlier.plans}
    lines = {line.what: line for line in earlier.bought}
    for line in lines.values():
        if line.stock:
            held.pop((materials[line.group], line.stock), None)
    for row in progress.bought:
        known = lines.get(row.what)
        place = f"{where}, bought {row.what!r}"[:100]
        if known is None:
            do = did_you_mean(row.what, lines, "Copy it from the buy list.")
            found.append(Problem(place, "an unknown line", "a line of the earlier buy list", do))
        elif not _is_count(row.count, 0):
            found.append(Problem(place, repr(row.count)[:40], "a whole number, 0 or more", "Count again."))
        elif known.stock and row.count:
            key = (materials[known.group], known.stock)
            held[key] = held.get(key, 0) + row.count
    return held


def _faults(
    progress: Progress, earlier: EarlierPlan, cut: Mapping[tuple[Material, int], int], where: str, found: list[Problem]
) -> tuple[tuple[Material, str, BoardFault], ...]:
    resolved: list[tuple[Material, str, BoardFault]] = []
    noticed: Counter[int] = Counter()
    for fault in progress.boards:
        named = f"board {fault.stock!r}" if fault.stock else f"board of layout {fault.layout}"
        place = f"{where}, {named}"[:100]
        known = _stock_of(fault, earlier, place, found)
        if not _is_count(fault.count, 1):
            found.append(Problem(place, f"{fault.count} boards", "a whole number, 1 or more", "Count again."))
            continue
        if known is None:
            continue
        if fault.layout is not None and fault.layout in earlier.layouts:
            noticed[fault.layout] += fault.count
            own = earlier.layouts[fault.layout]
            left = earlier.plans[own[0]].layouts[own[1]].times - cut.get(own, 0)
            if noticed[fault.layout] > left:
                given = f"{noticed[fault.layout]} boards set out for layout {fault.layout}"
                found.append(Problem(place, given, f"at most {left}, which are not cut", "Count again."))
        found += _bad_sizes(fault, known, earlier, place)
        resolved.append((*known, fault))
    return tuple(resolved)


def _stock_of(fault: BoardFault, earlier: EarlierPlan, place: str, found: list[Problem]) -> tuple[Material, str] | None:
    """The material and stock id of a board, found by its name on the buy list, its id, or its layout."""
    planned = None
    if fault.layout is not None:
        known = earlier.layouts.get(fault.layout)
        if known is None:
            wanted = "the number of a layout of the earlier plan"
            found.append(Problem(place, repr(fault.layout), wanted, "Copy it from the packet."))
            return None
        planned = (known[0], earlier.plans[known[0]].layouts[known[1]].stock)
    if not fault.stock:
        if planned is None:
            wanted = "the board's name on the buy list, or its layout"
            found.append(Problem(place, "neither a name nor a layout", wanted, "Add one of them."))
        return planned
    names = {line.what: (line.group, line.stock) for line in earlier.bought if line.stock}
    held = {(material.name, stock): (material, stock) for material, stock in held_at_first(earlier)}
    by_id = {stock: key for (_, stock), key in held.items()}
    own = held.get(names[fault.stock]) if fault.stock in names else by_id.get(fault.stock)
    if own is None:
        do = did_you_mean(fault.stock, (*names, *by_id), "Copy it from the buy list.")
        found.append(Problem(place, "an unknown board", "a board of the buy list, or an offcut of the plan", do))
    elif planned is not None and own != planned:
        wanted = f"{planned[1]}, as layout {fault.layout} has it"
        found.append(Problem(place, own[1], wanted, "Correct the board or the layout."))
        return None
    return own


def _bad_sizes(fault: BoardFault, known: tuple[Material, str], earlier: EarlierPlan, place: str) -> Iterator[Problem]:
    """Problems with the length and the bad stretches of a board."""
    grid = earlier.grids[known[0]]
    raw = next(stock for stock in earlier.plans[known[0]].job.stock if stock.id == known[1])
    long = grid * raw.length
    if fault.length is not None and not ZERO < fault.length <= long + grid:
        wanted = f"more than 0 and at most {long}"
        yield Problem(place, f"a true length of {fault.length}", wanted, "Measure the board, or leave its length out.")
    for low, high in fault.bad:
        if not ZERO <= low < high <= (fault.length or long) + grid:
            given, wanted = f"a bad stretch from {low} to {high}", f"from less than to, within {fault.length or long}"
            yield Problem(place, given, wanted, "Measure both from the same end of the board.")


def _offcuts(
    progress: Progress, earlier: EarlierPlan, where: str, found: list[Problem]
) -> tuple[tuple[Material, OffcutOnHand], ...]:
    materials = {material.name: material for material in earlier.plans}
    resolved = []
    for offcut in progress.offcuts:
        place = f"{where}, offcut {offcut.label}".rstrip()
        known = materials.get(offcut.material)
        if known is None:
            do = did_you_mean(offcut.material, materials, f"There are: {', '.join(materials)}.")
            found.append(Problem(place, repr(offcut.material)[:60], "a material of the earlier plan", do))
        elif not _is_count(offcut.count, 1):
            found.append(Problem(place, f"{offcut.count} pieces", "a whole number, 1 or more", "Count again."))
        elif offcut.length <= ZERO or offcut.width <= ZERO:
            given = f"{offcut.width} x {offcut.length}"
            found.append(Problem(place, given, "a width and a length above 0", "Measure it."))
        else:
            resolved.append((known, offcut))
    return tuple(resolved)
