"""What a run's material costs: all that is bought, rack wood at its worth, paint, and what is used up with the work."""

from dataclasses import KW_ONLY, dataclass
from fractions import Fraction

from woodshop.plan.buy_list import FASTENERS, recipe, size
from woodshop.plan.cost import CostRow
from woodshop.plan.values import PlannedBatch, Purchase
from woodshop.plan.work.counts import Weights, Work
from woodshop.plan.work.shop_file import SQUARE_FOOT, Shop
from woodshop.reference.facts import fact
from woodshop.units.lengths import LITRES_PER_US_CUP, Mass, decimals

CONSUMED = ("glue", "sugar", "vinegar", "shavings")  # goods by the pack that are no fasteners
BY_AREA = "area of the pieces as cut, waste in proportion"
_RULES = {"glue": "glued units", "sugar": "sugar by mass", "vinegar": "sugar by mass", "shavings": "volume filled"}


@dataclass(frozen=True, slots=True)
class Goods:
    """Money for goods: the part of the cost it is, what, how the sum comes about, for which rows, shared how.

    `cents` is what the run is charged, `kept` what was paid for that stays with the shop in its packs.
    """

    part: str
    what: str
    how: str
    _: KW_ONLY
    cents: int
    kept: int
    weights: Weights
    rule: str


def half_up(value: Fraction) -> int:
    """The nearest whole number; a half goes up.

    >>> half_up(Fraction(5, 2)), half_up(Fraction(7, 3))
    (3, 2)
    """
    return int(value + Fraction(1, 2))


def goods_of(
    planned: PlannedBatch, rows: tuple[CostRow, ...], works: tuple[Work, ...], shop: Shop
) -> tuple[Goods, ...]:
    """All goods of the run: as bought, from the rack, paint, and what each operation uses up."""
    found: list[Goods] = []
    for group in dict.fromkeys(p.group for p in planned.purchases):
        bought = [p for p in planned.purchases if p.group == group]
        found.append(_bought(planned, group, bought, rows, shop))
    found += _delivered(planned, rows)
    if shop.rack == "worth":
        found += _rack(planned, rows)
    found += _painted(works, shop)
    for each in shop.consumables:
        for work in works:
            if (work.table, work.key) == ("time", each.each):
                how = f"{_number(work.count)} at {each.price / 100:.2f}"
                cents = half_up(work.count * each.price)
                found.append(
                    Goods("consumables", each.what, how, cents=cents, kept=0, weights=work.weights, rule=work.rule)
                )
    return tuple(found)


def _bought(planned: PlannedBatch, group: str, bought: list[Purchase], rows: tuple[CostRow, ...], shop: Shop) -> Goods:
    weights = tuple(row.used.get(group, Fraction(0)) for row in rows)
    paid = sum(p.total.minor for p in bought)
    how = " + ".join(f"{p.count} x {p.what} at {p.price.minor / 100:.2f}" for p in bought)
    is_pack = group in FASTENERS or group in CONSUMED
    charged = paid
    if is_pack and shop.packs == "used":
        share = _share_used(planned, group, bought, weights)
        charged = half_up(paid * share)
        if charged < paid:
            how += f"; {decimals(share * 100, 1)} % used"
    part = "fasteners" if group in FASTENERS else "consumables" if is_pack else "material"
    rule = "pieces" if group in FASTENERS else _RULES.get(group, BY_AREA)
    return Goods(part, group, how, cents=charged, kept=paid - charged, weights=weights, rule=rule)


def _share_used(planned: PlannedBatch, group: str, bought: list[Purchase], weights: Weights) -> Fraction:
    """How much of what the packs bought hold is used; all of it where that is not known."""
    packs = {(pack.what, pack.price): size(pack) for pack in planned.batch.yard.packs if pack.goods == group}
    held = sum((packs.get((p.what, p.price), Fraction(0)) * p.count for p in bought), Fraction(0))
    return min(Fraction(1), _needed(group, sum(weights, Fraction(0))) / held) if held else Fraction(1)


def _needed(group: str, used: Fraction) -> Fraction:
    """What the rows use of goods, in the unit that packs are counted in; of fasteners one in twenty goes astray."""
    if group in FASTENERS:
        return used * Fraction(105, 100)
    if group == "glue":
        return used * 4 * fact("rim.glue_per_corner").number
    if group == "vinegar":
        return recipe(Mass(used)).vinegar_tablespoons * LITRES_PER_US_CUP * 1000 / 16
    return used


def _delivered(planned: PlannedBatch, rows: tuple[CostRow, ...]) -> list[Goods]:
    """Delivery and tax of each yard's bill, shared by what each row has of the goods on it."""
    found = []
    for bill in planned.bills:
        weights = [Fraction(0)] * len(rows)
        for p in (p for p in planned.purchases if p.yard == bill.yard):
            used = [row.used.get(p.group, Fraction(0)) for row in rows]
            total = sum(used, Fraction(0))
            weights = [w + p.total.minor * u / total for w, u in zip(weights, used, strict=True)] if total else weights
        for what, money in (("delivery", bill.fee), ("tax paid", bill.tax)):
            if money.minor:
                how = f"on goods for {bill.goods.minor / 100:.2f}"
                rule = "goods of that yard"
                found.append(
                    Goods(
                        "material",
                        f"{what}, {bill.yard}",
                        how,
                        cents=money.minor,
                        kept=0,
                        weights=tuple(weights),
                        rule=rule,
                    )
                )
    return found


def _rack(planned: PlannedBatch, rows: tuple[CostRow, ...]) -> list[Goods]:
    found = []
    for plan in planned.plans:
        used: dict[str, int] = {}
        for layout in plan.plan.layouts:
            used[layout.stock] = used.get(layout.stock, 0) + layout.times
        own = [(offer, used[offer.id]) for offer in plan.job.offers if offer.label and offer.id in used]
        cents = sum(offer.price.minor * count for offer, count in own)
        if cents:
            words = " + ".join(f"{count} x {offer.label} at {offer.price.minor / 100:.2f}" for offer, count in own)
            weights = tuple(row.used.get(plan.job.material.name, Fraction(0)) for row in rows)
            found.append(
                Goods(
                    "material",
                    f"{plan.job.material}, own rack",
                    words,
                    cents=cents,
                    kept=0,
                    weights=weights,
                    rule=BY_AREA,
                )
            )
    return found


def _painted(works: tuple[Work, ...], shop: Shop) -> list[Goods]:
    """Paint by the area outside; whole cans, or what is used of them."""
    paint = shop.paint
    if paint is None:
        return []
    found = []
    for work in works:
        if work.key == "paint" and work.count:
            litres = work.count * SQUARE_FOOT * paint.coats / paint.cover
            cans = litres / paint.litres
            whole = -int(-cans // 1)
            paid = whole * paint.price
            charged = half_up(cans * paint.price) if shop.packs == "used" else paid
            how = (
                f"{decimals(work.count, 1)} sq ft outside x {paint.coats} coats = {decimals(litres, 2)} L; "
                f"{whole} x {paint.what} at {paint.price / 100:.2f}"
            )
            found.append(
                Goods(
                    "consumables",
                    "paint",
                    how,
                    cents=charged,
                    kept=paid - charged,
                    weights=work.weights,
                    rule="area outside",
                )
            )
    return found


def _number(value: Fraction) -> str:
    return str(value) if value.denominator == 1 else decimals(value, 1)
