"""What a unit costs in material: stock shared by the area of its pieces, goods shared by use, to the cent."""

from fractions import Fraction

from woodshop.batch.buy import FASTENERS, is_glued, packed_boards, shavings_in
from woodshop.batch.values import Batch, Purchase, Unit, UnitCost
from woodshop.shape.part import Role, counted
from woodshop.units import Money

_BY_FASTENER = {**FASTENERS, "glue": "glue"}


def unit_costs(batch: Batch, units: tuple[Unit, ...], purchases: tuple[Purchase, ...]) -> tuple[UnitCost, ...]:
    """The cost of every line, then of every hive's filling: all purchases, split by use; they add up to the total.

    Stock goes by the area of the pieces as cut, waste in proportion; fasteners by count. Sugar and vinegar go to
    the boards that are packed, by mass, shavings to the quilts that are filled. Rack wood is not counted.
    """
    rows: list[tuple[str, int, dict[str, Fraction]]] = []
    groups = tuple(dict.fromkeys(purchase.group for purchase in purchases))
    for unit in units:
        name = unit.line.hives.name
        label = unit.line.address + (f" ({name})" if name and unit.line.item.per == "hive" else "")
        rows.append((label, unit.line.count, {group: _weight(group, unit) for group in groups}))
    for label, count, sugar in packed_boards(batch, units):
        weight = sugar.grams * count
        rows.append((f"sugar and vinegar, {label}", count, {"sugar": weight, "vinegar": weight}))
    for unit in units:
        weight = shavings_in(unit).litres * unit.line.hives.count
        if weight:
            hives = unit.line.hives
            rows.append((f"shavings, {hives.name or hives.format}", hives.count, {"shavings": weight}))
    totals = [0] * len(rows)
    for group in groups:
        cents = sum(p.total.minor for p in purchases if p.group == group)
        weights = [weighed.get(group, Fraction(0)) for _, _, weighed in rows]
        for n, share in enumerate(split(cents, weights)):
            totals[n] += share
    currency = batch.yard.currency
    return tuple(
        UnitCost(label, count, Money(total, currency)) for (label, count, _), total in zip(rows, totals, strict=True)
    )


def _weight(group: str, unit: Unit) -> Fraction:
    count = unit.line.count
    if group == "glue" and not is_glued(unit):
        return Fraction(0)
    if group in _BY_FASTENER:
        word = _BY_FASTENER[group]
        return Fraction(count * sum(max(f.count, 1) for f in unit.assembly.fasteners if word in f.kind))
    area = Fraction(0)
    for part, pieces in counted(unit.assembly.with_role(Role.MADE)):
        if part.material == group:
            across = part.thickness if part.on_edge else part.width
            area += (part.length * across).mm2 * pieces
    return area * count


def split(cents: int, weights: list[Fraction]) -> list[int]:
    """Cents shared by weight, none lost: the largest remainders get the odd cents; nothing weighed, all to the first.

    >>> split(100, [Fraction(1), Fraction(1), Fraction(1)])
    [34, 33, 33]
    """
    total = sum(weights, Fraction(0))
    if not total:
        return [cents] + [0] * (len(weights) - 1)
    exact = [cents * weight / total for weight in weights]
    shares = [int(value) for value in exact]
    order = sorted(range(len(weights)), key=lambda n: (shares[n] - exact[n], n))
    for n in order[: cents - sum(shares)]:
        shares[n] += 1
    return shares
