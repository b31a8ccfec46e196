"""Orders: who wants how many of what for which box, and the groups of hives that come of them.

Orders stand in a design as [[order]] lines, or in spreadsheets that it names. Each is read and checked line by line in
`orders_reading`; here they become groups of hives and things to make for them, as if the design had said so itself.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from woodshop.design.batch import Default
from woodshop.design.design_file import Design, Make
from woodshop.design.measured_boxes import MeasuredBox
from woodshop.design.names import name_faults
from woodshop.design.sheets.sheets import refuse
from woodshop.design.tables import BoxKeys, HivesTable
from woodshop.errors import Problem
from woodshop.hardware.catalogue import find_item


@dataclass(frozen=True, slots=True)
class OrderBox:
    """A box as an order names it: its words, what is known of it, and its owner's sizes if they were measured.

    `is_own` says that the design has a [[box]] of that name, which may then serve as the name of the hives.
    """

    name: str
    keys: BoxKeys
    measured: MeasuredBox | None = None
    is_own: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """One line of an order, as checked. `where` is its place in the file, `number` the customer's order."""

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
    """All orders of a design, and what was taken for granted in reading them."""

    lines: tuple[Order, ...]
    taken: tuple[Default, ...] = ()


@dataclass(frozen=True, slots=True)
class OrderGroup:
    """Hives that come of orders: the lines they come of, how many, and what is made for each of them.

    `layer` counts the groups of one customer, order, box, form, day and priority from 1: see `groups_of`.
    """

    lines: tuple[Order, ...]
    count: int
    items: tuple[str, ...]
    layer: int = 1


def with_orders(design: Design, orders: Orders) -> Design:
    """The design with a group of hives for every order, and what was ordered made for just those. Changes no file.

    How a thing is made stands in the design: in a [[make]] that names the hives, else in the one that names none, and
    which without orders would hold for all. Raises InputError where names of the design and the orders disagree.
    """
    where = design.ordering.where if design.ordering is not None else "the design"
    groups = groups_of(orders.lines)
    names = group_names(groups, {hives.name for hives in design.hives})
    tables = [_table(group, name) for group, name in zip(groups, names, strict=True)]
    wanted = {name: group.items for name, group in zip(names, groups, strict=True)}
    found = _not_ordered(design.makes, wanted)
    makes, idle = _makes(design, wanted)
    hives = (*design.hives, *tables)
    found += name_faults(where, hives, makes, design.shed)
    if not makes:
        found.append(Problem(where, "nothing to make", "orders, or a [[make]] for hives of its own", "Add one."))
    refuse(found)
    taken = [*orders.taken]
    if any(len(group.lines) > 1 for group in groups):
        words = "one customer's, of one number, box, form, day and priority"
        taken.append(Default("orders", "on the same hives", words, "what is ordered for one hive is meant to fit it"))
    taken += [Default("orders", name, "not made", "a [[make]] for what nobody ordered") for name in idle]
    return replace(
        design,
        hives=hives,
        measured=(*design.measured, *(group.lines[0].box.measured for group in groups)),
        makes=makes,
        ordering=None,
        taken=(*design.taken, *taken),
    )


def groups_of(lines: Iterable[Order]) -> tuple[OrderGroup, ...]:
    """Lines of one customer, order, box, form, day and priority go on the same hives.

    Where they differ in count, the hives that get all of it are one group, and those that get less another.
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
    """Lines of which this is equal are for the same hives, if their form is."""
    return (line.customer, line.number, line.box, line.due, line.priority)


def group_names(groups: tuple[OrderGroup, ...], used: Iterable[str] = ()) -> tuple[str, ...]:
    """A name for each group, no two alike: the box's where the design has named it, else customer and box.

    Where that does not tell them apart, customer, number, form and day follow; a count where nothing does.
    """
    names = [_parts(group)[:1] for group in groups]
    for n in range(1, 5):
        times = Counter(name for name, group in zip(names, groups, strict=True) if group.layer == 1)
        names = [
            (*name, more) if times[name] > 1 and (more := _parts(group)[n]) and more not in name[0] else name
            for name, group in zip(names, groups, strict=True)
        ]
    taken, told = set(used), []
    for parts in names:
        name, n = ", ".join(parts), 1
        while name in taken:
            n += 1
            name = f"{', '.join(parts)}, {n}"
        taken.add(name)
        told.append(name)
    return tuple(told)


def _parts(group: OrderGroup) -> tuple[str, ...]:
    line = group.lines[0]
    first = line.box.name if line.box.is_own else f"{line.customer}, {line.box.name}"
    return first, line.customer, line.number, line.form, "" if line.due is None else f"due {line.due.isoformat()}"


def _table(group: OrderGroup, name: str) -> HivesTable:
    line = group.lines[0]
    given = {key: getattr(line.box.keys, key) for key in BoxKeys.model_fields}
    return HivesTable.model_construct(
        None,
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
    """A [[make]] that names hives of an order which does not have that item."""
    return [
        Problem(
            f"{make.where}, hives",
            f"{make.item.name} for {name!r}",
            f"what was ordered for them: {', '.join(wanted[name])}",
            "Add it to the order, or leave these hives out here.",
        )
        for make in makes
        for name in make.hives
        if name in wanted and make.item.name not in wanted[name]
    ]


def _makes(design: Design, wanted: dict[str, tuple[str, ...]]) -> tuple[tuple[Make, ...], list[str]]:
    """What to make with the orders in it, and the items of the design that come to be made for nobody."""
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
