"""Sums of money in whole minor units (cents): read, add, print."""

import re
from dataclasses import dataclass
from typing import Self


@dataclass(frozen=True, slots=True, order=True)
class Money:
    """A sum of money in whole minor units (cents) of a currency.

    >>> print(Money(620) + Money(5) * 2)
    $6.30
    """

    minor: int
    currency: str = "USD"

    def _same(self, other: "Money") -> None:
        if self.currency != other.currency:
            raise ValueError(f"cannot mix {self.currency} and {other.currency}")

    def __add__(self, other: "Money") -> Self:
        self._same(other)
        return type(self)(self.minor + other.minor, self.currency)

    def __sub__(self, other: "Money") -> Self:
        self._same(other)
        return type(self)(self.minor - other.minor, self.currency)

    def __mul__(self, count: int) -> Self:
        if not isinstance(count, int):
            raise TypeError("money is multiplied by whole numbers only")
        return type(self)(self.minor * count, self.currency)

    def __str__(self) -> str:
        sign = "-" if self.minor < 0 else ""
        amount = f"{abs(self.minor) // 100:,}.{abs(self.minor) % 100:02d}"
        return f"{sign}${amount}" if self.currency == "USD" else f"{sign}{amount} {self.currency}"


def read_money(text: str, currency: str = "USD") -> Money:
    """A price in whole cents from text such as 6.20, $6.20 or 1,250. Raises ValueError.

    >>> read_money("$6.20").minor
    620
    """
    match = re.fullmatch(r"\$?\s*(\d{1,3}(?:,\d{3})+|\d+)(?:\.(\d{1,2}))?", text.strip())
    if not match:
        raise ValueError(f"{text!r} is not a price in whole cents")
    return Money(int(match[1].replace(",", "")) * 100 + int((match[2] or "").ljust(2, "0")), currency)
