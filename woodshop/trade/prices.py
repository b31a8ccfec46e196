"""From cost to price: margin or markup, rounding up, and sales tax, in whole minor units."""

from fractions import Fraction

from woodshop.plan.work.shop_file import Shop
from woodshop.trade.costing_goods import half_up


def price_each(cents: Fraction | int, count: int, shop: Shop) -> int:
    """The price of one of `count` that cost `cents` together, with the shop's profit, rounded up to its step.

    A margin is a part of the price, so price = cost / (1 - margin); a markup a part of the cost, so price =
    cost x (1 + markup).
    """
    each = Fraction(cents) / count * profit_factor(shop)
    return -int(-each // shop.round_up_to) * shop.round_up_to


def profit_factor(shop: Shop) -> Fraction:
    """Price over cost, before rounding."""
    return 1 / (1 - shop.share) if shop.profit == "margin" else 1 + shop.share


def margin_and_markup(cost: int, price: int) -> tuple[Fraction, Fraction]:
    """What is earned as a part of the price, and as a part of the cost; nothing where there is no price or no cost.

    >>> margin_and_markup(1000, 1250)
    (Fraction(1, 5), Fraction(1, 4))
    """
    earned = price - cost
    return (Fraction(earned, price) if price else Fraction(0), Fraction(earned, cost) if cost else Fraction(0))


def tax_on(cents: int, shop: Shop, customer: str) -> int:
    """Sales tax on a whole invoice, to the nearest cent, half a cent up; nothing for who is exempt.

    Streamlined Sales and Use Tax Agreement, section 324, as in Rhode Island General Laws 44-18.1-25: to the third
    decimal place, up where that is greater than four; by item or by invoice, as the seller elects.
    """
    return 0 if is_exempt(shop, customer) else half_up(cents * shop.tax)


def is_exempt(shop: Shop, customer: str) -> bool:
    """Whether the shop file names this customer as exempt from sales tax."""
    return customer in shop.tax_exempt
