"""Compares the purchases in the book for an earlier batch with the buy list of this batch, line by line."""

from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from woodshop.design.inventory import Inventory, StockPaid
from woodshop.design.lumberyard.stocked import bare
from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.plan.values import PlannedBatch
from woodshop.units.lengths import Money


@dataclass(frozen=True, slots=True, kw_only=True)
class BillLine:
    """One kind of goods, with its count and cost then (earlier batch) and now.

    `unpriced` counts the units bought then that have no price in the book. `then` is the total for the others.
    """

    what: str
    bought: int
    then: Money
    unpriced: int
    count: int
    new: Money

    @property
    def then_each(self) -> Fraction | None:
        """The earlier mean price per unit, in minor units, or None if it is not known."""
        priced = self.bought - self.unpriced
        return Fraction(self.then.minor, priced) if priced else None

    @property
    def new_each(self) -> Fraction | None:
        """The current mean price per unit, in minor units, or None if no units are bought now."""
        return Fraction(self.new.minor, self.count) if self.count else None


@dataclass(frozen=True, slots=True, kw_only=True)
class EarlierBill:
    """The purchases of an earlier batch next to the purchases of this plan: only goods, without delivery and tax.

    `days` are the first and the last day of the earlier purchases, if the book has their days.
    """

    batch: str
    lines: tuple[BillLine, ...]
    days: tuple[date, date] | None
    source: str
    currency: str

    @property
    def then(self) -> Money:
        """The total of the earlier purchases that have a price."""
        return Money(sum(line.then.minor for line in self.lines), self.currency)

    @property
    def new(self) -> Money:
        """The total of the purchases of this plan."""
        return Money(sum(line.new.minor for line in self.lines), self.currency)


def paid_for(inventory: Inventory | None, batch: str) -> list[StockPaid]:
    """The purchases for a batch in the book. Raises InputError if it has none, or if there is no book."""
    if inventory is None:
        given, wanted = "no book", "the shop's book, with what was bought for that batch"
        raise InputError(Problem("--beside", given, wanted, "Add --book, or name the book in the design."))
    own = [paid for paid in inventory.purchases if paid.batch == batch]
    if not own:
        known = list(dict.fromkeys(paid.batch for paid in inventory.purchases if paid.batch))
        do = did_you_mean(batch, known, f"There are: {', '.join(known)}." if known else "The book has none.")
        wanted = "a batch for which the book has stock bought"
        raise InputError(Problem("--beside", repr(batch)[:70], wanted, do))
    return own


def earlier_bill(planned: PlannedBatch, batch: str) -> EarlierBill:
    """The purchases that the book lists for a batch, next to those of the plan.

    Raises InputError as `paid_for` does.
    """
    inventory, own = planned.batch.inventory, paid_for(planned.batch.inventory, batch)
    sellers = {terms.lumberyard for terms in planned.batch.lumberyard.terms}
    sellers |= {paid.lumberyard for paid in own if paid.lumberyard}
    currency = planned.batch.lumberyard.currency
    names: dict[str, str] = {}
    for purchase in planned.purchases:
        names.setdefault(bare(purchase.what, sellers), _plain(purchase.what, sellers))
    for paid in own:
        names.setdefault(bare(paid.stock, sellers), _plain(paid.stock, sellers))
    lines = []
    for key, what in names.items():
        then = [paid for paid in own if bare(paid.stock, sellers) == key]
        now = [purchase for purchase in planned.purchases if bare(purchase.what, sellers) == key]
        lines.append(
            BillLine(
                what=what,
                bought=sum(paid.count for paid in then),
                then=Money(sum(_sum(paid) for paid in then), currency),
                unpriced=sum(paid.count for paid in then if paid.price is None),
                count=sum(purchase.count for purchase in now),
                new=Money(sum(purchase.total.minor for purchase in now), currency),
            )
        )
    days = sorted(paid.day for paid in own if paid.day is not None)
    return EarlierBill(
        batch=batch,
        lines=tuple(lines),
        days=(days[0], days[-1]) if days else None,
        source="" if inventory is None else inventory.source,
        currency=currency,
    )


def _sum(paid: StockPaid) -> int:
    return 0 if paid.price is None else paid.price.minor * paid.count


def _plain(what: str, sellers: set[str]) -> str:
    for seller in sorted(sellers):
        what = what.replace(f" ({seller})", "")
    return what
