"""What is paid at each yard: goods, delivery and tax; and goods added where a yard's least order asks for more."""

from collections.abc import Sequence
from dataclasses import replace

from woodshop.design.lumberyard.lumberyard_file import Yard
from woodshop.design.lumberyard.terms import Bill, Terms, bill
from woodshop.plan.values import Purchase
from woodshop.units.lengths import Money

_MOST_STEPS = 2_000_000  # cents that are still worked through one by one


def bills(yard: Yard, purchases: Sequence[Purchase]) -> tuple[Bill, ...]:
    """The bill of every yard at which something is bought, in the order of the yards."""
    goods: dict[str, int] = {}
    for purchase in purchases:
        goods[purchase.yard] = goods.get(purchase.yard, 0) + purchase.total.minor
    return tuple(bill(terms, goods[terms.yard], yard.currency) for terms in yard.terms if terms.yard in goods)


def topped_up(yard: Yard, purchases: Sequence[Purchase]) -> tuple[Purchase, ...]:
    """The purchases, and more of the same where a yard's order is below its least, or free delivery saves by it.

    An order below the least is not refused: what is added is the cheapest that reaches it, of things that this run
    uses and the yard sells without limit. It stands on the list as what it is.
    """
    found = list(purchases)
    for terms in yard.terms:
        own = [purchase for purchase in purchases if purchase.yard == terms.yard]
        goods = sum(purchase.total.minor for purchase in own)
        if not goods:
            continue
        target, why = _target(terms, goods, yard.currency)
        if target <= goods:
            continue
        more = _added(own, target - goods)
        if goods < terms.minimum or _pays(terms, goods + _cost(more)) < _pays(terms, goods):
            found += [replace(purchase, count=count, why=why, is_spare=True) for purchase, count in more]
    return tuple(found)


def _target(terms: Terms, goods: int, currency: str) -> tuple[int, str]:
    if goods < terms.minimum:
        least = Money(terms.minimum, currency)
        return terms.minimum, f"spare: this yard takes no order below {least}"
    if terms.free_from is not None and goods < terms.free_from and terms.fee_for(goods):
        saved = Money(terms.fee, currency)
        return terms.free_from, f"spare: with it delivery is free, which saves {saved}"
    return 0, ""


def _pays(terms: Terms, goods: int) -> int:
    fee = terms.fee_for(goods)
    return goods + fee + terms.tax_for(goods, fee)


def _cost(chosen: Sequence[tuple[Purchase, int]]) -> int:
    return sum(purchase.price.minor * count for purchase, count in chosen)


def _added(own: Sequence[Purchase], short: int) -> list[tuple[Purchase, int]]:
    """The least money's worth of these things, in whole pieces, that comes to at least so many cents more."""
    prices: dict[int, Purchase] = {}
    for purchase in own:
        if purchase.most is None and purchase.price.minor:
            prices.setdefault(purchase.price.minor, purchase)
    if not prices:  # only things of which no more are there: one more of the dearest, as an order by itself
        dearest = max(own, key=lambda purchase: purchase.price.minor)
        return [(dearest, -(-short // max(1, dearest.price.minor)))]
    kinds = sorted(prices, reverse=True)
    counts = dict.fromkeys(kinds, 0)
    if short > _MOST_STEPS:
        counts[kinds[0]] = (short - _MOST_STEPS) // kinds[0]
        short -= counts[kinds[0]] * kinds[0]
    reached: list[int] = [0] + [0] * (short + kinds[0])  # the price last added to come to just this sum; 0 for none
    for amount in range(1, len(reached)):
        reached[amount] = next((k for k in kinds if k <= amount and (amount == k or reached[amount - k])), 0)
    amount = next(n for n in range(short, len(reached)) if n == 0 or reached[n])
    while amount:
        counts[reached[amount]] += 1
        amount -= reached[amount]
    return [(prices[kind], count) for kind, count in counts.items() if count]
