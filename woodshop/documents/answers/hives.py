"""The hives of a design: its orders as read, measured units, and the fewest sizes of rim."""

from collections import Counter
from collections.abc import Iterable, Iterator

from woodshop.checks.first_article import MeasuredUnit, sizes_of
from woodshop.design.batch import Unit
from woodshop.design.design_file import Design
from woodshop.design.make_units import units_by_hives
from woodshop.design.orders.orders import Orders, group_names, groups_of
from woodshop.drawing.values.model import (
    Align,
    Block,
    Bullets,
    Cell,
    Column,
    Datum,
    Heading,
    Paragraph,
    Section,
    Table,
    Verbatim,
)
from woodshop.hive.variation.fewest_sizes import Overhang, RimSize
from woodshop.plan.fewest_rims import FewestSizes, RimVariety
from woodshop.trade.stocking import Priced, Stocked
from woodshop.units.lengths import ZERO, Length, Money


def orders_section(orders: Orders, design: Design) -> Section:
    """Each group of hives with its order, due date, priority and items; then totals, notes and defaults."""
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
    notes += [f"{each.where}: {each.name}: {each.value}" for each in orders.defaults]
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
            "defaults": [{f: getattr(d, f) for f in ("where", "name", "value", "source")} for d in orders.defaults],
        },
    )


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


_COUNTED = (("sizes", "sizes of rim"), ("parts", "different parts made to them"), ("stops", "lengths to set a stop to"))

_AT_THE_SAW = (("boards", "boards to saw"), ("layouts", "layouts to mark out"), ("settings", "settings at the saw"))


def sizes_section(found: FewestSizes, unit: str, money: Priced | None = None) -> Section:
    """The sizes, what they save, the items that stay separate, and lines for the design. `money` holds the costs.

    In the data, every length is text in the unit of the design. A negative overhang is inside the edge of the box.
    """
    written = [each for each in found.lines if each.keys]
    data: dict[str, Datum] = {
        "overhang": found.overhang.text(unit),
        "sizes": [
            {
                "length": size.length.text(unit),
                "width": size.width.text(unit),
                "is_a_box": size.is_a_box,
                "hives": [
                    {
                        "name": seat.box.name,
                        "count": seat.box.count,
                        "length": seat.box.length.text(unit),
                        "width": seat.box.width.text(unit),
                        "at_ends": seat.at_ends.text(unit),
                        "at_sides": seat.at_sides.text(unit),
                    }
                    for seat in size.seats
                ],
            }
            for size in found.sizes
        ],
        "before": _way(found.before, None if money is None else money.before),
        "after": _way(found.after, None if money is None else money.after),
        "write": {each.hives: {key: made.text(unit) for key, made in each.keys} for each in written},
        "measured_spread": {name: spread.text(unit) for name, spread in found.spread},
        "made_to_the_rim": list(found.on_rim),
        "made_to_the_box": list(found.on_box),
    }
    blocks = (
        Paragraph(f"Fewest sizes that fit every box within {found.overhang.text(unit)} at each end and side, proved:"),
        *(block for size in found.sizes for block in _size_blocks(size, unit)),
        Heading("What they save", 2),
        _saving(found, money),
        *_remarks(found, unit, money),
        *_to_write(found, unit),
    )
    return Section("", blocks, data if money is None else data | {"kept_of_each": money.keep})


def _way(work: RimVariety, stocked: Stocked | None) -> dict[str, Datum]:
    way: dict[str, Datum] = {key: getattr(work, key) for key, _ in _COUNTED} | {"errors": work.errors}
    if stocked is None:
        return way
    money = {"shelf": str(stocked.shelf), "cost": str(stocked.pays), "no_plan_below": str(stocked.least)}
    return way | {key: getattr(stocked, key) for key, _ in _AT_THE_SAW} | {"kinds": stocked.kinds} | money


def _size_blocks(size: RimSize, unit: str) -> tuple[Block, ...]:
    hives = sum(seat.box.count for seat in size.seats)
    own = ", a box's own size" if size.is_a_box else ""
    head = f"{size.width.number(unit)} x {size.length.text(unit)}{own}: {hives} hives"
    return Heading(head, 3), Bullets(tuple(_seat_text(seat, unit) for seat in size.seats))


def _seat_text(seat: Overhang, unit: str) -> str:
    box = seat.box
    ends, sides = _edge_text(seat.at_ends, unit), _edge_text(seat.at_sides, unit)
    how = ends if ends == sides else f"{sides} at the sides, {ends} at the ends"
    return f"{box.count} {box.name}, {box.width.number(unit)} x {box.length.text(unit)}: {how}"


def _edge_text(by: Length, unit: str) -> str:
    if not by:
        return "flush"
    return f"{abs(by).text(unit)} {'over' if by > ZERO else 'inside'}"


def _saving(found: FewestSizes, money: Priced | None) -> Table:
    """The work with the fewest sizes and as designed; if `money` is given, also the cost and the inventory value."""
    rows = [_hives_counted(words, getattr(found.before, key), getattr(found.after, key)) for key, words in _COUNTED]
    if money is not None:
        before, after = money.before, money.after
        rows += [_hives_counted(words, getattr(before, key), getattr(after, key)) for key, words in _AT_THE_SAW]
        rows.append(_paid("to pay", before.pays, after.pays))
        rows.append(_hives_counted("items to stock", before.kinds, after.kinds))
        rows.append(_paid(f"{money.keep} of each in stock", before.shelf, after.shelf))
    if found.after.errors or found.before.errors:
        rows.append(("errors that check finds", found.before.errors, found.after.errors, ""))
    heads = ("as it stands", "with these", "difference")
    return Table((Column(""), *(Column(head, Align.RIGHT) for head in heads)), tuple(rows))


def _hives_counted(words: str, before: int, after: int) -> tuple[Cell, ...]:
    return words, before, after, f"{after - before:+}"


def _paid(words: str, before: Money, after: Money) -> tuple[Cell, ...]:
    more = after - before
    return words, before, after, f"{'+' if more.minor > 0 else ''}{more}"


def _remarks(found: FewestSizes, unit: str, money: Priced | None) -> Iterator[Block]:
    for word, way in () if money is None else (("as it stands", money.before), ("with these sizes", money.after)):
        if way.least < way.pays:
            yield Paragraph(f"No plan {word} costs less than {way.least}.")
    yield Paragraph(f"Made in these sizes: {', '.join(found.on_rim) or 'no item in this design'}.")
    if found.on_box:
        yield Paragraph(f"Still made to each box: {', '.join(found.on_box)}.")
    for name, spread in found.spread:
        yield Paragraph(f"The boxes of {name} differ by {spread.text(unit)}; their average is used.")


def _to_write(found: FewestSizes, unit: str) -> tuple[Block, ...]:
    written = [
        "\n".join([f'# name = "{each.hives}"', *(f'{key} = "{made.text(unit)}"' for key, made in each.keys)])
        for each in found.lines
        if each.keys
    ]
    if not written:
        return (Paragraph("Nothing to change: every size is the box's own."),)
    head = "Write under these [[hives]]; for orders under the [[box]] that they name:"
    return Heading(head, 2), Verbatim("\n\n".join(written))


def unit_section(one: MeasuredUnit) -> Section:
    """The hives of the unit, and each measured size next to the designed one. The data is in the unit of the design."""
    unit = one.batch.unit
    columns = tuple(Column(head) for head in ("size", "designed", "measured", "off"))
    rows = tuple(
        (size.name, size.nominal.text(unit), length.text(unit), _off(length - size.nominal, unit))
        for _, size, length in one.sizes
    )
    sizes = [
        {
            "item": item,
            "name": size.name,
            "designed": size.nominal.number(unit),
            "measured": length.number(unit),
            "off": (length - size.nominal).number(unit),
        }
        for item, size, length in one.sizes
    ]
    return Section(
        f"One unit measured: {one.place}. Sizes not measured are as designed.",
        (Table(columns, rows),),
        {"measured": {"hives": one.place, "unit": unit, "sizes": sizes}},
    )


def _off(off: Length, unit: str) -> str:
    return f"{'+' if off > ZERO else ''}{off.text(unit)}" if off else "0"


def blank_file(units: Iterable[Unit], unit: str) -> str:
    """A unit file with every size of every group of hives, each in a comment with the designed size."""
    lines = [
        "# Sizes measured of one hive's hardware. Remove the # from a line that you measured, and write the size.",
        "# Lines with a # count as designed. Keep one group of hives.",
        'format = "woodshop-unit/1"',
        f'unit = "{unit}"',
    ]
    for n, (name, group) in enumerate(units_by_hives(units).items()):
        mark = "# " if n else ""
        if n:
            lines += ["", f"# ---- instead, for {name} ----"]
        if name:
            lines.append(f'{mark}hives = "{_quoted(name)}"')
        for item, sizes in sizes_of(group).items():
            lines += ["", f'{mark}[measured."{item}"]']
            lines += [f'# "{_quoted(size.name)}" = "{size.nominal.number(unit)}"' for size in sizes.values()]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    return text.replace("\\", "\\\\").replace('"', '\\"')
