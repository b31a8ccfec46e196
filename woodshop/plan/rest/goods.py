"""Packaged goods in the rest of a plan: bought, opened, and still to buy."""

from collections.abc import Mapping
from dataclasses import KW_ONLY, dataclass, replace
from fractions import Fraction

from woodshop.design.batch import Batch, Unit
from woodshop.plan.buy_list import amounts, packs_bought, size, without_price
from woodshop.plan.rest.earlier_plan import Bought, EarlierPlan
from woodshop.plan.rest.progress import Progress
from woodshop.plan.values import Purchase, Unpriced
from woodshop.units.lengths import Money


@dataclass(frozen=True, slots=True)
class GoodsRow:
    """A kind of pack, with the numbers planned, left over and to buy now.

    `planned` is the number bought, or the number on the earlier buy list if no packs were bought. `left` is how many of
    these are unopened.
    """

    goods: str
    what: str
    price: Money
    _: KW_ONLY
    planned: int
    left: int
    buy: int


@dataclass(frozen=True, slots=True)
class GoodsToBuy:
    """Packs, new purchases, goods that no lumberyard sells, earlier packs not in any lumberyard file, goods on hand."""

    rows: tuple[GoodsRow, ...]
    purchases: tuple[Purchase, ...]
    unpriced: tuple[Unpriced, ...]
    unknown: tuple[str, ...]
    there: Mapping[str, Fraction]


def goods_of(old: EarlierPlan, batch: Batch, units: tuple[Unit, ...], progress: Progress) -> GoodsToBuy:
    """The goods still to buy, after the goods on hand are subtracted.

    The most expensive of the packs left over are assumed to be the unopened ones.
    """
    packs = {pack.what: pack for pack in batch.lumberyard.packs}
    listed = [line for line in old.bought if not line.stock]
    counts = None if progress.bought is None else {row.what: row.count for row in progress.bought}
    own = [line if counts is None else replace(line, count=counts.get(line.what, 0)) for line in listed]
    counted = {line.what: line.count for line in own} if counts is None else counts
    there = [line for line in own if line.what in packs and line.count]
    held = {goods: Fraction(amount) for goods, amount in old.there.items() if Fraction(amount)}
    for line in there:
        held[line.group] = held.get(line.group, Fraction(0)) + size(packs[line.what]) * line.count
    for each in batch.lumberyard.on_hand:
        if each.is_new:
            held[each.pack.goods] = held.get(each.pack.goods, Fraction(0)) + size(each.pack) * each.count
    needed = {goods: (amount, why) for goods, amount, why in amounts(batch, units)}
    closed: dict[str, int] = {}
    more: list[Purchase] = []
    unpriced: list[Unpriced] = []
    for goods in dict.fromkeys((*needed, *held)):
        amount, why = needed.get(goods, (Fraction(0), ""))
        spare = held.get(goods, Fraction(0)) - amount
        sold = [pack for pack in batch.lumberyard.packs if pack.goods == goods]
        words = f"{why}, less the units on hand" if goods in held else why
        if spare < 0 and sold:
            more += packs_bought(sold, -spare, words)
        elif spare < 0:
            unpriced.append(without_price(units, goods, words))
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
            planned=counted.get(line.what, 0) if any(counted.values()) else line.count,
            left=closed.get(line.what, 0),
            buy=now.pop(line.what).count if line.what in now else 0,
        )
        for line in listed
    ]
    rows += [GoodsRow(p.group, what, p.price, planned=0, left=0, buy=p.count) for what, p in now.items()]
    unknown = tuple(line.what for line in own if line.what not in packs and line.count)
    return GoodsToBuy(tuple(rows), tuple(more), tuple(unpriced), unknown, held)


def _dearest(line: Bought) -> int:
    return -line.price
