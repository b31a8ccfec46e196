"""Orders (customer, count, item and box), and the groups of hives made from them.

Orders are [[order]] lines in a design, or spreadsheets that it names. `lines` reads and checks each line. This module
turns them into groups of hives and items to make for them, as if the design had listed them.
"""

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from difflib import get_close_matches

from woodshop.design.design_file import Design, Make, Ordering, name_faults
from woodshop.design.inventory import BookNote
from woodshop.design.measured_files import MeasuredBox, read_measured
from woodshop.design.schema import Default
from woodshop.design.sheets import refuse
from woodshop.design.tables import BoxKeys, HivesTable, OrderBoxTable
from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.hardware.catalogue import find_item, folded
from woodshop.reference import boxes
from woodshop.reference.patterns import patterns
from woodshop.units.lengths import read_length
from woodshop.units.wording import LengthUnit


@dataclass(frozen=True, slots=True)
class OrderBox:
    """A box named in an order: the words used, its known sizes, and its owner's sizes if it was measured.

    `is_own` tells whether the design has a [[box]] with this name. If so, the hives can also have this name.
    """

    name: str
    keys: BoxKeys
    measured: MeasuredBox | None = None
    is_own: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """One checked line of an order. `where` is its place in the file, `number` is the customer's order number."""

    where: str
    customer: str
    number: str
    items: tuple[str, ...]
    box: OrderBox
    count: int
    form: str
    due: date | None
    priority: int | None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Orders:
    """All orders of a design, the defaults used in reading them, and their differences from the book."""

    lines: tuple[Order, ...]
    defaults: tuple[Default, ...] = ()
    notes: tuple[BookNote, ...] = ()


@dataclass(frozen=True, slots=True)
class OrderGroup:
    """Hives from orders: their lines, their count, and the items made for each hive.

    `layer` numbers the groups of one customer, order, box, form, day and priority, starting from 1; see `groups_of`.
    """

    lines: tuple[Order, ...]
    count: int
    items: tuple[str, ...]
    layer: int = 1


def with_orders(design: Design, orders: Orders) -> Design:
    """The design with a group of hives for each order, and the ordered items made for them. No file is changed.

    The [[make]] that names the hives says how an item is made; if there is none, the [[make]] that names no hives does.
    Raises InputError if names in the design and the orders disagree.
    """
    where = design.ordering.where if design.ordering is not None else "the design"
    groups = groups_of(orders.lines)
    names = group_names(groups, {hives.name for hives in design.hives})
    tables = [_table(group, name) for group, name in zip(groups, names, strict=True)]
    wanted = {name: group.items for name, group in zip(names, groups, strict=True)}
    found = _not_ordered(design.makes, wanted)
    makes, idle = _makes(design, wanted)
    hives = (*design.hives, *tables)
    found += name_faults(where, hives, makes, design.shed if design.inventory is None else ())
    if not makes:
        found.append(Problem(where, "nothing to make", "orders, or a [[make]] for its own hives", "Add one."))
    refuse(found)
    taken = [*orders.defaults]
    if any(len(group.lines) > 1 for group in groups):
        words = "one customer, order number, box, form, day and priority"
        taken.append(Default("orders", "on the same hives", words, "an order for a hive must fit that hive"))
    taken += [Default("orders", name, "not made", "a [[make]] for an item that nobody ordered") for name in idle]
    return replace(
        design,
        hives=hives,
        measured=(*design.measured, *(group.lines[0].box.measured for group in groups)),
        makes=makes,
        ordering=None,
        order_defaults=(*design.order_defaults, *taken),
        order_boxes=tuple((name, group.lines[0].box.name) for name, group in zip(names, groups, strict=True)),
        notes=(*design.notes, *orders.notes),
    )


def groups_of(lines: Iterable[Order]) -> tuple[OrderGroup, ...]:
    """Groups lines of one customer, order, box, form, day and priority that are for the same hives.

    If their counts differ, the hives that get every item are one group, and the hives that get fewer items are another.
    """
    alike: dict[object, list[Order]] = {}
    for line in lines:
        alike.setdefault((same_hives(line), line.form), []).append(line)
    found = []
    for each in alike.values():
        counts = {item: line.count for line in each for item in line.items}
        below = 0
        for layer, level in enumerate(sorted(set(counts.values())), 1):
            items = tuple(item for item, count in counts.items() if count >= level)
            sources = tuple(line for line in each if line.count >= level)
            found.append(OrderGroup(sources, level - below, items, layer))
            below = level
    return tuple(found)


def same_hives(line: Order) -> tuple[object, ...]:
    """A key that is the same for all order lines for the same hives in the same form."""
    return (line.customer, line.number, line.box, line.due, line.priority)


def group_names(groups: tuple[OrderGroup, ...], used: Iterable[str] = ()) -> tuple[str, ...]:
    """A unique name for each group: the name of the box if the design has it, otherwise customer and box.

    If this is not unique, customer, number, form and day are added, and finally a count.
    """
    names = [_parts(group)[:1] for group in groups]
    for n in range(1, 5):
        times = Counter(name for name, group in zip(names, groups, strict=True) if group.layer == 1)
        names = [
            (*name, more) if times[name] > 1 and (more := _parts(group)[n]) and more not in name[0] else name
            for name, group in zip(names, groups, strict=True)
        ]
    taken, named = set(used), []
    for parts in names:
        name, n = ", ".join(parts), 1
        while name in taken:
            n += 1
            name = f"{', '.join(parts)}, {n}"
        taken.add(name)
        named.append(name)
    return tuple(named)


def _parts(group: OrderGroup) -> tuple[str, ...]:
    line = group.lines[0]
    first = line.box.name if line.box.is_own else f"{line.customer}, {line.box.name}"
    return first, line.customer, line.number, line.form, "" if line.due is None else f"due {line.due.isoformat()}"


def _table(group: OrderGroup, name: str) -> HivesTable:
    line = group.lines[0]
    given = {key: getattr(line.box.keys, key) for key in BoxKeys.model_fields}
    return HivesTable.model_construct(
        {"name", "count", *line.box.keys.model_fields_set},
        **given,
        name=name,
        customer=line.customer,
        order=line.number,
        count=group.count,
        form=line.form,
        due=line.due,
        priority=line.priority,
    )


def _not_ordered(makes: tuple[Make, ...], wanted: dict[str, tuple[str, ...]]) -> list[Problem]:
    """Finds [[make]] tables that name hives whose order does not include the item."""
    return [
        Problem(
            f"{make.where}, hives",
            f"{make.item.name} for {name!r}",
            f"an item ordered for them: {', '.join(wanted[name])}",
            "Add it to the order, or remove these hives here.",
        )
        for make in makes
        for name in make.hives
        if name in wanted and make.item.name not in wanted[name]
    ]


def _makes(design: Design, wanted: dict[str, tuple[str, ...]]) -> tuple[tuple[Make, ...], list[str]]:
    """The items to make, including items from orders; and the items in the design that no order needs."""
    own = tuple(hives.name for hives in design.hives)
    named = {(make.item.name, name) for make in design.makes for name in make.hives}
    open_to: dict[str, list[str]] = {}
    for name, items in wanted.items():
        for item in items:
            if (item, name) not in named:
                open_to.setdefault(item, []).append(name)
    makes, idle = [], []
    for make in design.makes:
        if make.hives or not make.item.is_per_hive:
            makes.append(make)
            continue
        hives = (*own, *open_to.pop(make.item.name, ()))
        if hives:
            makes.append(replace(make, hives=hives))
        else:
            idle.append(make.item.name)
    makes += [
        Make(find_item(item), tuple(names), 0, given=(), board=(), where="orders") for item, names in open_to.items()
    ]
    return tuple(makes), idle


_MAKERS = re.compile(r"(?:(\d{1,2})[- ]?frames?)(?:[ ,x]+(.+))?", re.IGNORECASE)
_FRAMES = re.compile(r"(?: (\d{1,2})[- ]?frames?)?", re.IGNORECASE)


class BoxNames:
    """Finds boxes by their names in orders. Each measured-box file is read once."""

    def __init__(self, ordering: Ordering) -> None:
        self.folder, self.unit = ordering.folder, ordering.unit
        self.own = {folded(table.name): (table, measured) for table, measured in ordering.boxes}
        self.measured: dict[str, dict[str, MeasuredBox]] = {}
        self.known: dict[str, OrderBox | tuple[Problem, ...]] = {}

    def find(self, text: str) -> OrderBox | tuple[Problem, ...]:
        """The box for these words, or the problem with them. A problem without a place is about the words only."""
        plain = folded(text)
        if plain not in self.known:
            try:
                self.known[plain] = self._resolved(text)
            except InputError as bad:
                self.known[plain] = bad.problems
        return self.known[plain]

    def _resolved(self, text: str) -> OrderBox:
        """The box for these words. Raises InputError; a problem without a place is about the cell."""
        plain = folded(text)
        if plain in self.own:
            table, measured = self.own[plain]
            return OrderBox(table.name, table, measured, is_own=True)
        if ".toml" in plain:
            return self._measured(text)
        for pattern in patterns():
            known = folded(pattern.name)
            if plain.startswith(known) and (match := _FRAMES.fullmatch(plain, len(known))):
                frames = int(match[1] or (pattern.frames or (0,))[-1])
                if frames:
                    name = f"{pattern.name} {frames}-frame"
                    return OrderBox(name, OrderBoxTable(name=name, pattern=pattern.name, frames=frames))
        if match := _MAKERS.fullmatch(plain):
            return _makers(text, int(match[1]), match[2], self.unit)
        do = name_hint(text, [t.name for t, _ in self.own.values()])
        raise InputError(Problem("", shown(text), self._kinds(), do))

    def _kinds(self) -> str:
        own = ", ".join(table.name for table, _ in self.own.values())
        return (f"one of {own}, or " if own else "") + (
            f"a maker's box by frames and width, as {boxes.box_name(10, boxes.box_widths(10)[0], self.unit)}, "
            "or a measured file, as wren-boxes.toml"
        )

    def _measured(self, text: str) -> OrderBox:
        file, _, name = (part.strip() for part in text.partition(":"))
        if "/" in file or "\\" in file or not file.isprintable():
            do = "Put the file there, and give only its name."
            raise InputError(Problem("", shown(text), "the name of a measured file beside the design", do))
        known = self.measured.get(file) or read_measured(self.folder / file)
        self.measured[file] = known
        if not name and len(known) > 1:
            wanted = f"which box of {file}: {', '.join(known)}"
            raise InputError(Problem("", shown(text), wanted, f"Write it as {file}: {next(iter(known))}."))
        name = name or next(iter(known))
        if name not in known:
            do = did_you_mean(name, known, f"Measured there: {', '.join(known)}.")
            raise InputError(Problem("", shown(text), f"a box of {file}", do))
        table = OrderBoxTable(name=name, frames=known[name].frames, measured=file, box=name)
        return OrderBox(name, table, known[name])


def _makers(text: str, frames: int, width: str | None, unit: LengthUnit) -> OrderBox:
    """A manufacturer's box from the table, found by its frames and outside width, in inches or whole millimeters."""
    if frames not in boxes.FRAMES:
        kinds = ", ".join(f"{n}-frame" for n in boxes.FRAMES)
        do = "Measure it, and add a [[box]] with its sizes."
        raise InputError(Problem("", shown(text), f"a box of the table: {kinds}", do))
    widths = {size.number(): size for size in boxes.box_widths(frames)}
    listed = ", ".join(boxes.box_name(frames, each, unit) for each in widths.values())
    try:
        size = None if width is None else read_length(width)
    except ValueError:
        size = None
    whole = re.fullmatch(r"(\d{3})(?: ?mm)?", width or "")
    chosen = [
        each
        for each in widths.values()
        if width is None or each == size or (whole is not None and int(whole[1]) == round(each.mm))
    ]
    if len(chosen) != 1:
        do = "Measure the box across its front. Another width needs its own [[box]]."
        raise InputError(Problem("", shown(text), f"one of {listed}", do))
    name = boxes.box_name(frames, chosen[0], unit)
    return OrderBox(name, OrderBoxTable(name=name, frames=frames, width=chosen[0]))


def name_hint(text: str, known: Iterable[str]) -> str:
    """Advice about an unknown name: the closest known name, if there is one."""
    names = {folded(name): name for name in known}
    near = get_close_matches(folded(text), names, n=1)
    return f"Did you mean {names[near[0]]!r}?" if near else "Choose one of them."


def shown(value: object) -> str:
    """A value as shown in messages, quoted and shortened."""
    text = repr(value) if isinstance(value, str) else str(value).upper() if isinstance(value, bool) else str(value)
    return text if len(text) <= 60 else text[:57] + "..."
