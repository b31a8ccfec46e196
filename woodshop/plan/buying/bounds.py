"""What an order at some yards comes to, and what none can come to less than."""

import math
from collections.abc import Sequence
from fractions import Fraction
from itertools import product

from woodshop.design.lumberyard.terms import Terms


def to_pay(terms: Terms, goods: int) -> int:
    """What goods for so many cents come to at this yard, brought up to its least order or to free delivery if that
    saves: an estimate, as what is added comes in whole things."""
    if not goods:
        return 0
    goods = max(goods, terms.minimum)
    ways = [goods]
    if terms.free_from is not None and goods < terms.free_from:
        ways.append(terms.free_from)
    return min(way + terms.fee_for(way) + terms.tax_for(way, terms.fee_for(way)) for way in ways)


def least_to_pay(terms: Sequence[Terms], goods: int, rack: int, *, with_tax: bool) -> int:
    """What no order from just these yards, something at each, comes to less than, wood from the rack at its worth.

    `goods` is what everything costs at least, with wood from the rack, of which there is no more than for `rack`;
    `with_tax` says that it has each yard's tax in it. Where delivery is free from some sum on, both ways are tried:
    the fee paid, or goods for that sum bought. Tax is rounded at each yard, so half a cent a yard is taken off.
    """
    ways = [((t.fee, t.minimum),) if t.free_from is None else ((t.fee, t.minimum), (0, t.free_from)) for t in terms]
    return min(_least(terms, way, goods, rack, with_tax) for way in product(*ways))


def _least(terms: Sequence[Terms], way: tuple[tuple[int, int], ...], goods: int, rack: int, with_tax: bool) -> int:
    floor = sum(least for _, least in way)
    fees = sum((fee * (1 + t.tax if t.tax_on_delivery else 1) for (fee, _), t in zip(way, terms, strict=True)), 0)
    rounding = Fraction(sum(1 for t in terms if t.tax), 2)
    if with_tax:
        taxed = sum((least * (1 + t.tax) for (_, least), t in zip(way, terms, strict=True)), Fraction(0))
        return math.ceil(max(Fraction(goods), taxed) + fees - rounding)
    rate = min((t.tax for t in terms), default=Fraction(0))
    bought = max(goods - rack, floor)
    return math.ceil(max(goods, floor) + bought * rate + fees - rounding)
