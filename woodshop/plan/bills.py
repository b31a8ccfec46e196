"""The bill of each lumberyard (goods, goods added for a minimum order, delivery, tax), and its JSON for plan.json."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from woodshop.cutting.model.lumber_plan import LumberPlan, lumber_plan_to_json
from woodshop.cutting.model.plan import plan_to_json
from woodshop.design.lumberyard.lumberyard_file import Lumberyard
from woodshop.design.lumberyard.lumberyard_tables import Bill, Terms, bill
from woodshop.plan.values import Choices, PlannedBatch, Purchase
from woodshop.units.lengths import Money

_MOST_STEPS = 2_000_000  # cents that are still counted one by one


def bills(lumberyard: Lumberyard, purchases: Sequence[Purchase]) -> tuple[Bill, ...]:
    """The bill of every lumberyard with purchases, in the order of the lumberyards."""
    goods: dict[str, int] = {}
    for purchase in purchases:
        goods[purchase.lumberyard] = goods.get(purchase.lumberyard, 0) + purchase.total.minor
    sold = (terms for terms in lumberyard.terms if terms.lumberyard in goods)
    return tuple(bill(terms, goods[terms.lumberyard], lumberyard.currency) for terms in sold)


def topped_up(lumberyard: Lumberyard, purchases: Sequence[Purchase]) -> tuple[Purchase, ...]:
    """The purchases, with more of the same goods if an order is below its minimum or free delivery saves money.

    The goods added are the cheapest that suffice, chosen from goods that this run uses and the lumberyard sells without
    limit. The list marks them as spare.
    """
    found = list(purchases)
    for terms in lumberyard.terms:
        own = [purchase for purchase in purchases if purchase.lumberyard == terms.lumberyard]
        goods = sum(purchase.total.minor for purchase in own)
        if not goods:
            continue
        target, why = _target(terms, goods, lumberyard.currency)
        if target <= goods:
            continue
        more = _added([purchase for purchase in own if not purchase.is_cut] or own, target - goods)
        if goods < terms.minimum or _pays(terms, goods + _cost(more)) < _pays(terms, goods):
            found += [replace(purchase, count=count, why=why, is_spare=True) for purchase, count in more]
    return tuple(found)


def _target(terms: Terms, goods: int, currency: str) -> tuple[int, str]:
    if goods < terms.minimum:
        least = Money(terms.minimum, currency)
        return terms.minimum, f"spare: this lumberyard's minimum order is {least}"
    if terms.free_from is not None and goods < terms.free_from and terms.fee_for(goods):
        saved = Money(terms.fee, currency)
        return terms.free_from, f"spare: it makes delivery free, which saves {saved}"
    return 0, ""


def _pays(terms: Terms, goods: int) -> int:
    fee = terms.fee_for(goods)
    return goods + fee + terms.tax_for(goods, fee)


def _cost(chosen: Sequence[tuple[Purchase, int]]) -> int:
    return sum(purchase.price.minor * count for purchase, count in chosen)


def _added(own: Sequence[Purchase], short: int) -> list[tuple[Purchase, int]]:
    """The cheapest additional goods, in whole numbers, that cost at least `short` cents in total."""
    prices: dict[int, Purchase] = {}
    for purchase in own:
        if purchase.most is None and purchase.price.minor:
            prices.setdefault(purchase.price.minor, purchase)
    if not prices:  # all goods are limited and used up: buy one more of the most expensive, as a separate order
        dearest = max(own, key=lambda purchase: purchase.price.minor)
        return [(dearest, -(-short // max(1, dearest.price.minor)))]
    kinds = sorted(prices, reverse=True)
    counts = dict.fromkeys(kinds, 0)
    if short > _MOST_STEPS:
        counts[kinds[0]] = (short - _MOST_STEPS) // kinds[0]
        short -= counts[kinds[0]] * kinds[0]
    reached: list[int] = [0] + [0] * (short + kinds[0])  # the price last added to reach exactly this sum; 0 for none
    for amount in range(1, len(reached)):
        reached[amount] = next((k for k in kinds if k <= amount and (amount == k or reached[amount - k])), 0)
    amount = next(n for n in range(short, len(reached)) if n == 0 or reached[n])
    while amount:
        counts[reached[amount]] += 1
        amount -= reached[amount]
    return [(prices[kind], count) for kind, count in counts.items() if count]


def bills_to_json(planned: PlannedBatch) -> dict[str, Any]:
    """The keys `terms`, `bills`, `to_pay` of the plan file, and `choices` if lumberyards were chosen.

    Money is in cents.
    """
    out: dict[str, Any] = {
        "terms": [
            {
                "lumberyard": terms.lumberyard,
                "seen": terms.seen.isoformat(),
                "fee": terms.fee,
                "free_from": terms.free_from,
                "minimum": terms.minimum,
                "tax": str(terms.tax),
                "tax_on_delivery": bool(terms.tax_on_delivery),
            }
            for terms in planned.batch.lumberyard.terms
        ],
        "bills": [
            {
                "lumberyard": bill.lumberyard,
                "goods": bill.goods.minor,
                "fee": bill.fee.minor,
                "tax": bill.tax.minor,
                "total": bill.total.minor,
            }
            for bill in planned.bills
        ],
        "to_pay": planned.to_pay.minor,
    }
    return out if planned.choices is None else out | {"choices": _choices(planned.choices)}


def _choices(choices: Choices) -> dict[str, Any]:
    return {
        "lower_bound": choices.least.minor,
        "by_solver": choices.by_solver,
        "offcuts": choices.offcuts.minor,
        "one_lumberyard": choices.one_lumberyard,
        "looked_at": [
            {
                "lumberyards": list(each.lumberyards),
                "ready_made": list(each.ready),
                "no_order_below": None if each.least is None else each.least.minor,
                "comes_to": None if each.pays is None else each.pays.minor,
                "why_not": each.why,
            }
            for each in choices.looked_at
        ],
        "plans": [
            {
                "lumberyards": list(lumberyards),
                "material": group,
                "plan": lumber_plan_to_json(plan) if isinstance(plan, LumberPlan) else plan_to_json(plan),
            }
            for lumberyards, group, plan in choices.tried
        ],
    }
