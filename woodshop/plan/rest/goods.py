"""Bags, boxes and bottles in a recount: what is there, what is needed now, what is to buy, what stays closed."""

from collections.abc import Mapping
from dataclasses import KW_ONLY, dataclass
from fractions import Fraction

from woodshop.design.batch import Batch, Unit
from woodshop.plan.buying.buy_list import amounts, packs_bought
from woodshop.plan.buying.packs import size
from woodshop.plan.rest.reading import Bought, Written
from woodshop.plan.values import Purchase, Unpriced
from woodshop.units.lengths import Money


@dataclass(frozen=True, slots=True)
class GoodsRow:
    """A pack: how many of it on the old buy list, how many of those stay closed, how many to buy now."""

    goods: str
    what: str
    price: Money
    _: KW_ONLY
    planned: int
    left: int
    buy: int


@dataclass(frozen=True, slots=True)
class GoodsToBuy:
    """Packs of the old list, what is to buy now, what no yard sells, old packs that no yard file has, what is there."""

    rows: tuple[GoodsRow, ...]
    purchases: tuple[Purchase, ...]
    unpriced: tuple[Unpriced, ...]
    unknown: tuple[str, ...]
    there: Mapping[str, Fraction]


def goods_of(old: Written, batch: Batch, units: tuple[Unit, ...], is_bought: bool) -> GoodsToBuy:
    """The goods, with what was bought counted off. Of packs left over the dearest are taken to stay closed."""
    packs = {pack.what: pack for pack in batch.yard.packs}
    cut = {material.name for material in old.plans}
    listed = [line for line in old.bought if line.group not in cut]
    there = [line for line in listed if line.what in packs and is_bought]
    held: dict[str, Fraction] = {}
    for line in there:
        held[line.group] = held.get(line.group, Fraction(0)) + size(packs[line.what]) * line.count
    needed = {goods: (amount, why) for goods, amount, why in amounts(batch, units)}
    closed: dict[str, int] = {}
    more: list[Purchase] = []
    unpriced: list[Unpriced] = []
    for goods in dict.fromkeys((*needed, *held)):
        amount, why = needed.get(goods, (Fraction(0), ""))
        spare = held.get(goods, Fraction(0)) - amount
        sold = [pack for pack in batch.yard.packs if pack.goods == goods]
        words = f"{why}, less what is there" if goods in held else why
        if spare < 0 and sold:
            more += packs_bought(sold, -spare, words)
        elif spare < 0:
            unpriced.append(Unpriced(goods, words))
        for line in sorted((line for line in there if line.group == goods), key=_dearest):
            hold = size(packs[line.what])
            closed[line.what] = min(line.count, int(spare // hold)) if hold and spare > 0 else 0
            spare -= hold * closed[line.what]
    now = {purchase.what: purchase for purchase in more}
    rows = [
        GoodsRow(
            line.group,
            line.what,
            Money(line.price, old.currency),
            planned=line.count,
            left=closed.get(line.what, 0),
            buy=now.pop(line.what).count if line.what in now else 0,
        )
        for line in listed
    ]
    rows += [GoodsRow(p.group, what, p.price, planned=0, left=0, buy=p.count) for what, p in now.items()]
    unknown = tuple(line.what for line in listed if line.what not in packs and is_bought)
    return GoodsToBuy(tuple(rows), tuple(more), tuple(unpriced), unknown, held)


def _dearest(line: Bought) -> int:
    return -line.price
