"""Why the price of one thing falls or rises with the quantity: each change with the costs that moved it."""

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

from woodshop.trade.quotes import Break, BreakPrice
from woodshop.units.lengths import Money

_LESS = {
    "material": "whole boards, rolls and deliveries are shared by more hives",
    "fasteners": "whole boxes of fasteners are used up better",
    "consumables": "whole packs of goods are used up better",
    "labour": "less work on each",
    "set-ups": "setting up the saw is shared by more hives",
    "scrap": "less scrap for each",
    "overhead": "less overhead for each",
    "shared tools": "a smaller share of the tools",
}
_MORE = {
    "material": "boards and rolls are bought whole, and more is left over at this quantity",
    "fasteners": "fasteners are bought by the box, and more is left over at this quantity",
    "consumables": "goods are bought by the pack, and more is left over at this quantity",
    "labour": "more cuts for each at this quantity",
    "set-ups": "the saw is set up more often at this quantity",
    "scrap": "more scrap for each",
    "overhead": "more overhead for each",
    "shared tools": "a larger share of the tools",
}
_ROUNDED = "prices are rounded up"


def price_changes(breaks: Sequence[Break], currency: str) -> tuple[str, ...]:
    """A sentence for each thing whose price falls from the smallest quantity to the largest, and one for each rise.

    `breaks` are those of one group of hives, by quantity; quantities without a plan are left out.
    """
    planned = [each for each in breaks if not each.refused]
    said: list[str] = []
    for rows in zip(*(each.prices for each in planned), strict=False):
        priced = list(zip((each.quantity for each in planned), rows, strict=True))
        if len(priced) < 2:
            continue
        (few, first), (many, last) = priced[0], priced[-1]
        if last.each < first.each:
            said.append(
                f"{first.name}: one costs {Money(first.each, currency)} at {_hives(few)} and "
                f"{Money(last.each, currency)} at {many}; {_causes(first, last)}."
            )
        for (few, one), (many, other) in pairwise(priced):
            if other.each > one.each:
                more = Money(other.each - one.each, currency)
                said.append(
                    f"{one.name}: one costs {more} more at {_hives(many)} than at {few}; {_causes(one, other)}."
                )
    return tuple(said)


def _hives(count: int) -> str:
    return f"{count} hive" if count == 1 else f"{count} hives"


def _causes(one: BreakPrice, other: BreakPrice) -> str:
    """The costs of one that moved as the price did, the largest first; those under a third of it are left out."""
    rises = other.each > one.each
    words = _MORE if rises else _LESS
    moved = {
        part: (Fraction(other.costs.get(part, 0), other.count) - Fraction(one.costs.get(part, 0), one.count))
        * (1 if rises else -1)
        for part in words
        if one.count and other.count
    }
    largest = max(moved.values(), default=Fraction(0))
    if largest <= 0:
        return _ROUNDED
    order = sorted((part for part in moved if moved[part] * 3 >= largest), key=lambda part: -moved[part])
    return ", and ".join(words[part] for part in order)
