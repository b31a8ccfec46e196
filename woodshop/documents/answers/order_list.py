"""The orders of a design as they were read: every line, and the groups of hives that come of them."""

from collections import Counter
from typing import Any

from woodshop.design.design_file import Design
from woodshop.design.orders.orders import Orders, group_names, groups_of


def orders_told(orders: Orders, design: Design) -> dict[str, Any]:
    """Lines and groups as plain values."""
    groups = groups_of(orders.lines)
    names = group_names(groups, {hives.name for hives in design.hives})
    return {
        "lines": [
            {
                "where": x.where,
                "order": x.number,
                "customer": x.customer,
                "items": list(x.items),
                "box": x.box.name,
                "count": x.count,
                "form": x.form,
                "due": None if x.due is None else x.due.isoformat(),
                "priority": x.priority,
                "note": x.note,
            }
            for x in orders.lines
        ],
        "groups": [
            {
                "hives": name,
                "order": group.lines[0].number,
                "customer": group.lines[0].customer,
                "form": group.lines[0].form,
                "due": None if (day := group.lines[0].due or design.on_by) is None else day.isoformat(),
                "priority": group.lines[0].priority or 5,
                "count": group.count,
                "items": list(group.items),
            }
            for name, group in zip(names, groups, strict=True)
        ],
        "taken": [{"where": d.where, "name": d.name, "value": d.value, "source": d.source} for d in orders.taken],
    }


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def orders_lines(told: dict[str, Any]) -> list[str]:
    """The same for people: each group with its order, due date, priority and what it gets; then totals and notes."""
    customers = {line["customer"] for line in told["lines"]}
    heads = ("hives", "order", "due", "priority", "for", "customer", "form", "what")
    rows = [
        (
            str(g["count"]),
            g["order"] or "-",
            g["due"] or "-",
            str(g["priority"]),
            g["hives"],
            g["customer"],
            g["form"],
            ", ".join(g["items"]),
        )
        for g in told["groups"]
    ]
    wide = [max(len(row[n]) for row in (heads, *rows)) for n in range(len(heads))]
    lines = [
        "  ".join(
            cell.rjust(size) if n == 0 else cell.ljust(size)
            for n, (cell, size) in enumerate(zip(row, wide, strict=True))
        ).rstrip()
        for row in (heads, *rows)
    ]
    totals: Counter[str] = Counter()
    for group in told["groups"]:
        for item in group["items"]:
            totals[item] += group["count"]
    hives = sum(group["count"] for group in told["groups"])
    lines += ["", f"{_counted(len(told['lines']), 'order line')} in {_counted(len(told['groups']), 'group')} of hives, "
              f"{_counted(len(customers), 'customer')}, {_counted(hives, 'hive')}: "
              + ", ".join(f"{count} {item}" for item, count in totals.items())]  # fmt: skip
    lines += [f"note, {line['customer']}: {line['note']}" for line in told["lines"] if line["note"]]
    return [*lines, *(f"{each['where']}: {each['name']}: {each['value']}" for each in told["taken"])]
