"""The material cost of a unit, to the cent.

The cost of stock is divided in proportion to the area of its pieces, the cost of other goods in proportion to use.
"""

from dataclasses import KW_ONLY, dataclass
from fractions import Fraction

from woodshop.design.batch import Batch, Hives, Unit, packed_boards
from woodshop.plan.buy_list import FASTENERS, is_glued, shavings_in
from woodshop.plan.values import AND, Purchase, UnitCost, Unpriced
from woodshop.reference.materials import read_material
from woodshop.shape.part import Role
from woodshop.units.lengths import Money

_BY_FASTENER = {**FASTENERS, "glue": "glue"}


@dataclass(frozen=True, slots=True)
class CostRow:
    """A row that has a cost: a line, or the filling of a group of hives (`what` is then "sugar" or "shavings").

    `count` is the number made or bought ready-made. `used` is the total use of each group of purchases, in mm2 (area as
    cut), pieces, grams or liters. For shavings, `unit` is the unit that they fill; sugar has no `unit`.
    """

    label: str
    what: str
    count: int
    _: KW_ONLY
    hives: Hives
    unit: Unit | None
    used: dict[str, Fraction]

    def use_of(self, group: str) -> Fraction:
        """The use of a group of purchases. Wood of several thicknesses out of the same boards counts by its volume."""
        names = group.split(AND)
        if len(names) == 1 or group in self.used:
            return self.used.get(group, Fraction(0))
        thick = {name: read_material(name).thickness for name in names if name in self.used}
        return sum((self.used[name] * each.mm for name, each in thick.items() if each is not None), Fraction(0))


def cost_rows(batch: Batch, units: tuple[Unit, ...]) -> tuple[CostRow, ...]:
    """Every line, then the sugar of every packed group of hives, then the shavings of the units that they fill."""
    rows = []
    for unit in units:
        name = unit.line.hives.name
        label = unit.line.address + (f" ({name})" if name and unit.line.item.is_per_hive else "")
        count = unit.line.count + unit.line.bought
        rows.append(CostRow(label, unit.line.item.name, count, hives=unit.line.hives, unit=unit, used=used_by(unit)))
    by_name = {hives.name or hives.format: hives for hives in batch.hives}
    for label, count, sugar in packed_boards(batch, units):
        weight = sugar.grams * count
        used = {"sugar": weight, "vinegar": weight}
        rows.append(CostRow(f"sugar and vinegar, {label}", "sugar", count, hives=by_name[label], unit=None, used=used))
    for unit in units:
        weight = shavings_in(unit).litres * unit.line.hives.count
        if weight:
            hives = unit.line.hives
            label = f"shavings, {hives.name or hives.format}"
            rows.append(CostRow(label, "shavings", hives.count, hives=hives, unit=unit, used={"shavings": weight}))
    return tuple(rows)


def unit_costs(batch: Batch, units: tuple[Unit, ...], purchases: tuple[Purchase, ...]) -> tuple[UnitCost, ...]:
    """The cost of every line, then the cost of the filling of each group of hives.

    The cost of every purchase is divided in proportion to use, and the costs add up to the total. The cost of stock,
    with its waste, is divided in proportion to the area of the pieces as cut; the cost of fasteners, to their count.
    The cost of sugar and vinegar is divided among packed boards by mass; the cost of shavings, among filled units.
    Offcuts are not counted.
    """
    rows = cost_rows(batch, units)
    totals = [0] * len(rows)
    for group in dict.fromkeys(purchase.group for purchase in purchases):
        cents = sum(p.total.minor for p in purchases if p.group == group)
        for n, share in enumerate(split(cents, [row.use_of(group) for row in rows])):
            totals[n] += share
    currency = batch.lumberyard.currency
    return tuple(
        UnitCost(row.label, row.count, Money(total, currency)) for row, total in zip(rows, totals, strict=True)
    )


def used_by(unit: Unit) -> dict[str, Fraction]:
    """The use of each material by a line (area as cut), and of each kind of fastener and of glue."""
    count = unit.line.count
    used: dict[str, Fraction] = {}
    if unit.line.bought:
        used[f"ready-made {unit.line.item.name}"] = Fraction(unit.line.bought)
    for placed in unit.assembly.with_role(Role.MADE):
        part = placed.part
        across = part.thickness if part.on_edge else part.width
        used[part.material.name] = used.get(part.material.name, Fraction(0)) + (part.length * across).mm2 * count
    for group, word in _BY_FASTENER.items():
        if group == "glue" and not is_glued(unit):
            continue
        pieces = sum(max(f.count, 1) for f in unit.assembly.fasteners if word in f.kind)
        if pieces:
            used[group] = Fraction(count * pieces)
    return used


def is_without_price(row: CostRow, purchases: tuple[Purchase, ...], unpriced: tuple[Unpriced, ...]) -> bool:
    """Whether a row uses goods that no lumberyard sells, and nothing that is bought."""
    uses = any(goods.what in row.used for goods in unpriced)
    return uses and not any(row.use_of(purchase.group) for purchase in purchases)


def split(cents: int, weights: list[Fraction]) -> list[int]:
    """Divides cents in proportion to weights, without loss.

    The largest remainders get the odd cents. If there are no weights, the first share gets everything.

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
