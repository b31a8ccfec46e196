"""The orders of a design as they were read: every line, and the groups of hives that come of them."""

from collections import Counter

from woodshop.design.design_file import Design
from woodshop.design.orders.orders import Orders, group_names, groups_of
from woodshop.drawing.values.model import Align, Bullets, Column, Paragraph, Section, Table


def orders_section(orders: Orders, design: Design) -> Section:
    """Each group of hives with its order, due date, priority and what it gets; then totals, notes and defaults."""
    groups = groups_of(orders.lines)
    names = group_names(groups, {hives.name for hives in design.hives})
    columns = (
        Column("hives", Align.RIGHT, key="count"),
        Column("order", key="order"),
        Column("due", key="due"),
        Column("priority", key="priority"),
        Column("for", key="hives"),
        Column("customer", key="customer"),
        Column("form", key="form"),
        Column("what", key="items"),
    )
    rows = tuple(
        (
            group.count,
            (first := group.lines[0]).number or None,
            first.due or design.days.on_by,
            first.priority or 5,
            name,
            first.customer,
            first.form,
            tuple(group.items),
        )
        for name, group in zip(names, groups, strict=True)
    )
    table = Table(columns, rows)
    made: Counter[str] = Counter()
    for group in groups:
        for item in group.items:
            made[item] += group.count
    total = (
        f"{_counted(len(orders.lines), 'order line')} in {_counted(len(groups), 'group')} of hives, "
        f"{_counted(len({line.customer for line in orders.lines}), 'customer')}, "
        f"{_counted(sum(group.count for group in groups), 'hive')}: "
    )
    notes = [f"note, {line.customer}: {line.note}" for line in orders.lines if line.note]
    notes += [f"{each.where}: {each.name}: {each.value}" for each in orders.taken]
    blocks = (table, Paragraph(total + ", ".join(f"{count} {item}" for item, count in made.items())))
    return Section(
        "",
        (*blocks, Bullets(tuple(notes))),
        {
            "lines": [
                {
                    "where": x.where,
                    "order": x.number,
                    "customer": x.customer,
                    "items": list(x.items),
                    "box": x.box.name,
                    "count": x.count,
                    "form": x.form,
                    "due": x.due,
                    "priority": x.priority,
                    "note": x.note,
                }
                for x in orders.lines
            ],
            "groups": table.records,
            "taken": [{"where": d.where, "name": d.name, "value": d.value, "source": d.source} for d in orders.taken],
        },
    )


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
