"""The tables of a lumberyard file, and the terms of a lumberyard: delivery, minimum order, tax."""

import re
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import BeforeValidator, Field, create_model
from pydantic_core import PydanticCustomError

from woodshop.design.schema import AnyLength, Cents, SettingTable, Size, SomeMass, Words
from woodshop.errors import Problem
from woodshop.reference.materials import sheet_kinds
from woodshop.units.lengths import Money

Goods = Literal["sugar", "shavings", "staples", "screws", "pins", "glue", "vinegar", "cloth"]
Count = Annotated[int, Field(ge=1, le=1_000_000)]
Frames = Annotated[int, Field(ge=1, le=20)]


def _percent(value: object) -> Fraction:
    """A fraction from text such as 8.25 %."""
    match = re.fullmatch(r"(\d{1,2}(?:\.\d{1,4})?)\s*%", value.strip()) if isinstance(value, str) else None
    if match is None:
        wanted, do = "a rate such as 8.25 %, below 100 %", "Write number and sign between quotes."
        raise PydanticCustomError("woodshop", "{wanted}", {"wanted": wanted, "do": do})
    return Fraction(match[1]) / 100


Percent = Annotated[Fraction, BeforeValidator(_percent)]


class LengthOffer(SettingTable):
    """One length of a board and its price."""

    length: Size
    price: Cents
    count: Count | None = None


class BuyOverTable(SettingTable):
    """The `buy_over` table of a board: the share of boards to buy in addition to those planned, and the reason."""

    share: Percent
    because: Words = Field(min_length=1)


class BoardTable(SettingTable):
    """The [[board]] table. `seen` is the date of these prices if it differs from the lumberyard's date.

    If `straight_edges` is true, the factory edges are straight and square, and can stay on a part. If `rounded_edges`
    is true, as of framing lumber, they are cut off. If `resaw` is true, boards may be resawn into thinner ones.
    """

    nominal: str | None = None
    thickness: Size | None = None
    width: Size | None = None
    wood: Words = ""
    straight_edges: bool = True
    rounded_edges: bool = False
    resaw: bool = False
    buy_over: BuyOverTable | None = None
    seen: date | None = None
    sizes: tuple[LengthOffer, ...] = Field(min_length=1)


class RollTable(SettingTable):
    """The [[roll]] table."""

    mesh: str | None = None
    cloth: str | None = None
    width: Size
    length: Size
    price: Cents
    count: Count | None = None
    seen: date | None = None


if TYPE_CHECKING:
    OfSheetKind = SettingTable
else:
    OfSheetKind = create_model("OfSheetKind", __base__=SettingTable, **dict.fromkeys(sheet_kinds(), (str | None, None)))


class SheetTable(OfSheetKind):
    """The [[sheet]] table: one kind of sheet by its nominal size.

    The length runs along the flutes or the face grain.
    """

    what: Words = ""
    length: Size
    width: Size
    price: Cents
    count: Count | None = None
    seen: date | None = None


class PieceTable(OfSheetKind):
    """The [[piece]] table: mesh, cloth or sheet sold cut to size, with measured length and width."""

    mesh: str | None = None
    cloth: str | None = None
    what: Words = ""
    length: Size
    width: Size
    price: Cents
    count: Count | None = None
    seen: date | None = None


class ReadyTable(SettingTable):
    """The [[ready]] table: an item sold ready-made, by its name in `woodshop items`.

    `frames` are the boxes it fits (all if absent).
    """

    item: str
    what: Words = ""
    frames: Annotated[tuple[Frames, ...], Field(min_length=1)] | Frames | None = None
    price: Cents
    seen: date | None = None


class DeliveryTable(SettingTable):
    """The `delivery` table: the cost per order delivered. Delivery is free if the goods cost `free_from` or more."""

    fee: Cents
    free_from: Cents | None = None


class OffcutTable(OfSheetKind):
    """The [[offcut]] table: one or more identical pieces of wood, sheet or mesh on hand.

    `bad` and `tight_knots` are stretches measured from the marked end: defects, which must not be in any part, and
    small tight knots. `square_ends`, `straight_edges` and `twisted` describe a board. Unless `square_ends` is true, its
    ends are squared first; unless `straight_edges` is true, its edges are straightened.
    """

    label: Words = Field(min_length=1)
    nominal: str | None = None
    thickness: Size | None = None
    width: Size | None = None
    mesh: str | None = None
    cloth: str | None = None
    length: Size
    count: Count = 1
    worth: Cents = 0
    bad: tuple[tuple[AnyLength, AnyLength], ...] = ()
    tight_knots: tuple[tuple[AnyLength, AnyLength], ...] = ()
    square_ends: bool = False
    straight_edges: bool = False
    twisted: bool = False


class PackTable(SettingTable):
    """The [[pack]] table."""

    goods: Goods
    what: Words = ""
    mass: SomeMass | None = None
    pieces: Count | None = None
    loose_litres: Annotated[int, Field(ge=1, le=100_000)] | None = None
    pressed_litres: Annotated[int, Field(ge=1, le=100_000)] | None = None
    millilitres: Annotated[int, Field(ge=1, le=1_000_000)] | None = None
    size: Words | None = None
    price: Cents
    at_least: Count = 1
    seen: date | None = None


class LumberyardTable(SettingTable):
    """A lumberyard file. Tight knots up to `tight_knots_to` long can stay in a part.

    `crosscut` is the price of a cut across a board, if the lumberyard cuts boards; the next four keys belong to it.
    """

    format: str
    name: Words = Field(min_length=1)
    unit: Literal["in", "mm"] = "in"
    currency: str = Field(default="USD", pattern=r"^[A-Z]{3}$")
    seen: date
    longest: Size | None = None
    crosscut: Cents | None = None
    free_cuts: Annotated[int, Field(ge=0, le=1000)] | None = None
    shortest_cut: Size | None = None
    cut_allowance: Size | None = None
    cut_kerf: Size | None = None
    tight_knots_to: Size | None = None
    shared_wires: bool = False
    delivery: DeliveryTable | None = None
    minimum: Cents = 0
    tax: Percent | None = None
    tax_on_delivery: bool | None = None
    stale_after: Annotated[int, Field(ge=1, le=3650)] | None = None
    board: tuple[BoardTable, ...] = ()
    roll: tuple[RollTable, ...] = ()
    sheet: tuple[SheetTable, ...] = ()
    piece: tuple[PieceTable, ...] = ()
    ready: tuple[ReadyTable, ...] = ()
    offcut: tuple[OffcutTable, ...] = ()
    pack: tuple[PackTable, ...] = ()


STALE_AFTER = 90
"""The number of days for which prices count as current. They change with the season (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """The costs of one order, not counting the goods. Money is in cents; `tax` is a fraction.

    If the goods total less than `free_from`, the fee is charged; if less than `minimum`, the order is not accepted.
    `tax_on_delivery` and `stale_after` are None if the lumberyard file does not set them.
    """

    lumberyard: str
    seen: date
    fee: int = 0
    free_from: int | None = None
    minimum: int = 0
    tax: Fraction = Fraction(0)
    tax_on_delivery: bool | None = None
    stale_after: int | None = None

    @property
    def is_plain(self) -> bool:
        """Whether an order costs no more than its goods."""
        return not (self.fee or self.minimum or self.tax)

    @property
    def days(self) -> int:
        """The number of days for which its prices are valid."""
        return self.stale_after or STALE_AFTER

    def fee_for(self, goods: int) -> int:
        """The delivery fee for goods that cost this many cents, or zero if nothing is bought."""
        return 0 if not goods or (self.free_from is not None and goods >= self.free_from) else self.fee

    def tax_for(self, goods: int, fee: int) -> int:
        """The tax on an order, calculated on its total, not per line, and rounded to the nearest cent (halves up).

        The Streamlined Sales and Use Tax Agreement, section 324, lets sellers do this.
        """
        taxed = self.tax * (goods + (fee if self.tax_on_delivery else 0))
        return int(taxed + Fraction(1, 2))


@dataclass(frozen=True, slots=True)
class Bill:
    """The bill for one order at a lumberyard: goods, delivery, and tax on both or only on the goods."""

    lumberyard: str
    goods: Money
    fee: Money
    tax: Money

    @property
    def total(self) -> Money:
        """The total to pay at this lumberyard."""
        return self.goods + self.fee + self.tax


def bill(terms: Terms, goods: int, currency: str) -> Bill:
    """The bill for goods that cost `goods` cents, in the `currency` of the lumberyard."""
    fee = terms.fee_for(goods)
    return Bill(
        terms.lumberyard, Money(goods, currency), Money(fee, currency), Money(terms.tax_for(goods, fee), currency)
    )


def terms_of(table: LumberyardTable, where: str, found: list[Problem]) -> Terms:
    """The terms in the lumberyard file named `where`. Conflicts are added to `found`."""
    fee, free = (0, None) if table.delivery is None else (table.delivery.fee, table.delivery.free_from)
    if free is not None and not fee:
        found.append(Problem(f"{where}, delivery", "no fee", "a fee, because free_from is given", "Give the fee."))
    if free is not None and free <= table.minimum:
        given = f"free_from {_money(free)}, minimum {_money(table.minimum)}"
        found.append(
            Problem(
                f"{where}, delivery",
                given,
                "free_from above the minimum order",
                "Remove delivery: it is never charged.",
            )
        )
    if table.tax_on_delivery is not None and not (fee and table.tax):
        lacking = "tax" if fee else "delivery"
        found.append(
            Problem(f"{where}, tax_on_delivery", f"a file without {lacking}", "both of them", "Remove the line.")
        )
    return Terms(
        lumberyard=table.name,
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
