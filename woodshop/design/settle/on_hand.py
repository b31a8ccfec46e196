"""Uses the units in the book as hardware on hand for the hives of a design, in place of [[shed]]."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from woodshop.design.design_file import Design
from woodshop.design.inventory import BookNote, Inventory, named
from woodshop.design.schema import Default
from woodshop.design.settle.unit_forms import PACKED, can_become, items_of
from woodshop.design.tables import PRIORITY_LAST, HivesTable, ShedTable
from woodshop.hardware.catalogue import board_names, folded
from woodshop.hardware.registry import BoardPart

_USUAL_PRIORITY = 5


def with_units(
    design: Design, inventory: Inventory, formats: Mapping[str, str], defaults: list[Default]
) -> tuple[Design, tuple[BookNote, ...]]:
    """The design with the units of the book as its shed, and the units that could not be used.

    `formats` maps the names of the hives to their box formats. Units go to the hives whose name, ordered box or format
    the book names: earliest due date first, then by priority, at most one for each hive, good units first.
    """
    over: list[str] = []
    strange: list[str] = []
    have: Counter[tuple[str, str]] = Counter()
    repair: Counter[tuple[str, str]] = Counter()
    packed: Counter[str] = Counter()
    (rim,) = board_names(BoardPart.RIM)
    for units in sorted(inventory.units, key=lambda each: each.form != PACKED):
        words = f"{units.item} for {units.box}" + (f", {units.form}" if units.form else "")
        names, groups = items_of(units.item, units.form), hives_named(design, units.box, formats)
        why = "no such hives here" if names else "no such item or form"
        good, bad = units.good, units.repair
        is_used = False
        for each in groups if names else ():
            why = "another form is wanted"
            if not can_become(names, units.form, each.form or PACKED):
                continue
            why = "none is made for these hives"
            own = [name for name in names if name == rim or _is_made(design, name, each.name)]
            if not own:
                continue
            is_used = True
            room = max(0, min(each.count - have[name, each.name] for name in own))
            take_good = min(good, room)
            take_bad = min(bad, room - take_good)
            good, bad = good - take_good, bad - take_bad
            for name in own:
                have[name, each.name] += take_good + take_bad
                repair[name, each.name] += take_bad
            if units.form == PACKED and rim in own:
                packed[each.name] += take_good
        if not is_used:
            strange.append(f"{good + bad} {words} ({why})")
        elif good + bad:
            over.append(f"{good + bad} {words}")
    rows = tuple(
        ShedTable.model_construct(None, item=item, hives=hives, have=count, repair=repair[item, hives])
        for (item, hives), count in have.items()
        if count
    )
    for row in rows:
        words = f"{row.have} on hand" + (f", {row.repair} of them need repair" if row.repair else "")
        defaults.append(Default(row.hives or "hives", row.item, words, inventory.source))
    return replace(design, shed=rows, packed=tuple(packed.items())), tuple(
        _notes(design, inventory, rows, strange, over)
    )


def _notes(
    design: Design, inventory: Inventory, rows: tuple[ShedTable, ...], strange: list[str], over: list[str]
) -> list[BookNote]:
    found = []
    if strange:
        wanted, do = "units of items made here, for hives of this design", "Name item and box as the design does."
        found.append(BookNote(place=f"{inventory.source}, units", value=named(strange), wanted=wanted, do=do))
    if over:
        wanted, do = "at most one for each hive", "They stay on hand. Nothing to do."
        found.append(BookNote(place=f"{inventory.source}, units", value=named(over), wanted=wanted, do=do))
    known = {(row.item, row.hives): (row.have, row.repair) for row in rows}
    differ = []
    for row in design.shed:
        own = known.get((row.item, row.hives), (0, 0))
        if own != (row.have, row.repair):
            differ.append(f"{row.item} for {row.hives}: {_words(row.have, row.repair)}, in the book {_words(*own)}")
    if differ:
        do = 'The book counts. Enter what is missing as "units finished", and remove [[shed]].'
        wanted = "what is on hand in the book alone"
        found.append(BookNote(place="design, shed", value=named(differ), wanted=wanted, do=do, is_in_book=False))
    return found


def _is_made(design: Design, item: str, hives: str) -> bool:
    return any(make.item.name == item and (not make.hives or hives in make.hives) for make in design.makes)


def _words(have: int, repair: int) -> str:
    return f"{have} on hand, {repair} to repair" if repair else f"{have} on hand"


def hives_named(design: Design, box: str, formats: Mapping[str, str]) -> list[HivesTable]:
    """The groups of hives that the book calls `box`, in the order in which they get units on hand.

    `formats` maps the names of the hives to their box formats.
    """
    plain, boxes = folded(box), dict(design.order_boxes)
    ways = (
        [each for each in design.hives if each.name and folded(each.name) == plain],
        [each for each in design.hives if folded(boxes.get(each.name, "")) == plain],
        [each for each in design.hives if folded(formats[each.name]) == plain],
        [each for each in design.hives if not each.name and plain == f"{each.frames}-frame hives"],
    )
    found = next((way for way in ways if way), [])
    last = date.max
    return sorted(
        found,
        key=lambda each: (each.due or design.days.on_by or last, min(each.priority or _USUAL_PRIORITY, PRIORITY_LAST)),
    )
