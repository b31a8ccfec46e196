"""On what terms a yard sells: delivery, least order, tax, and for how many days its prices are taken to hold."""

from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from woodshop.design.lumberyard.lumberyard_tables import YardTable
from woodshop.errors import Problem
from woodshop.units.lengths import Money

STALE_AFTER = 90
"""Days, common practice, no source: prices of lumber and feed change with the season."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """What one order at a yard costs beyond the goods. Money is in cents; `tax` is a part of the whole.

    The fee is paid once for an order whose goods come to less than `free_from`; goods for less than `minimum` are not
    sold. What was not given in the yard file is None in `tax_on_delivery` and `stale_after`.
    """

    yard: str
    seen: date
    fee: int = 0
    free_from: int | None = None
    minimum: int = 0
    tax: Fraction = Fraction(0)
    tax_on_delivery: bool | None = None
    stale_after: int | None = None

    @property
    def is_plain(self) -> bool:
        """Whether an order costs what its goods cost."""
        return not (self.fee or self.minimum or self.tax)

    @property
    def days(self) -> int:
        """For how many days its prices are taken to hold."""
        return self.stale_after or STALE_AFTER

    def fee_for(self, goods: int) -> int:
        """Delivery of goods for so many cents; nothing where nothing is bought."""
        return 0 if not goods or (self.free_from is not None and goods >= self.free_from) else self.fee

    def tax_for(self, goods: int, fee: int) -> int:
        """Tax on an order, to the nearest cent, half a cent up.

        By order and not by line: Streamlined Sales and Use Tax Agreement, section 324, leaves the choice to the seller.
        """
        taxed = self.tax * (goods + (fee if self.tax_on_delivery else 0))
        return int(taxed + Fraction(1, 2))


@dataclass(frozen=True, slots=True)
class Bill:
    """What one order at a yard comes to: goods, delivery, tax on both or the goods alone."""

    yard: str
    goods: Money
    fee: Money
    tax: Money

    @property
    def total(self) -> Money:
        """What is paid at this yard."""
        return self.goods + self.fee + self.tax


def bill(terms: Terms, goods: int, currency: str) -> Bill:
    """The bill for goods of so many cents."""
    fee = terms.fee_for(goods)
    return Bill(terms.yard, Money(goods, currency), Money(fee, currency), Money(terms.tax_for(goods, fee), currency))


def terms_of(table: YardTable, where: str, found: list[Problem]) -> Terms:
    """The terms in a yard file; what contradicts itself is put to `found`."""
    fee, free = (0, None) if table.delivery is None else (table.delivery.fee, table.delivery.free_from)
    if free is not None and not fee:
        found.append(Problem(f"{where}, delivery", "no fee", "a fee, where free_from is given", "Give the fee."))
    if free is not None and free <= table.minimum:
        given = f"free_from {_money(free)}, minimum {_money(table.minimum)}"
        found.append(
            Problem(f"{where}, delivery", given, "free_from above the minimum", "Leave delivery out: it is never paid.")
        )
    if table.tax_on_delivery is not None and not (fee and table.tax):
        lacking = "tax" if fee else "delivery"
        found.append(
            Problem(f"{where}, tax_on_delivery", f"a file without {lacking}", "both of them", "Remove the line.")
        )
    return Terms(
        yard=table.name,
        seen=table.seen,
        fee=fee,
        free_from=free,
        minimum=table.minimum,
        tax=table.tax or Fraction(0),
        tax_on_delivery=table.tax_on_delivery,
        stale_after=table.stale_after,
    )


def _money(cents: int) -> str:
    return f"{cents // 100}.{cents % 100:02d}"
