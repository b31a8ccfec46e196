"""The tables of a lumberyard file, and the terms of a lumberyard: delivery, minimum order, tax."""

import re
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import BeforeValidator, Field, create_model
from pydantic_core import PydanticCustomError

from woodshop.design.schema import AnyLength, Cents, SettingTable, Size, SomeMass, Words, design_key
from woodshop.errors import Problem
from woodshop.reference.materials import sheet_kinds, size_example
from woodshop.units.lengths import ZERO, Money
from woodshop.units.wording import LengthUnit

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


def _price(of: str) -> Any:
    return design_key(f"Price of {of}.", ..., example='"11.12"')


def _count(of: str) -> Any:
    return design_key(f"How many {of} the lumberyard has.", otherwise="enough", example="4")


def _seen() -> Any:
    return design_key("Day of this price.", otherwise="the day at the head of the file", example="2026-09-12")


def _cloth() -> Any:
    return design_key("Kind of cloth, for a piece of cloth.", example='"cotton canvas"')


def _mesh() -> Any:
    return design_key("Mesh (hardware cloth), for a piece of it: the pitch of its wires.", example='"1/2 in"')


class LengthOffer(SettingTable):
    """One length of a board and its price."""

    length: Size = design_key("Length of these boards.", ..., example='"8 ft"')
    price: Cents = _price("a board of this length")
    count: Count | None = _count("boards of this length")


class BuyOverTable(SettingTable):
    """The `buy_over` table of a board."""

    share: Percent = design_key("Share of boards to buy over those planned.", ..., example='"10 %"')
    because: Words = design_key("Why more are bought; it is printed.", ..., example='"loose knots"', min_length=1)


class BoardTable(SettingTable):
    """The [[board]] table."""

    nominal: str | None = design_key("Nominal size of the boards, such as 1x6. Give this, or thickness and width.")
    thickness: Size | None = design_key("Actual thickness of the boards.", otherwise="that of nominal", example='"3/4"')
    width: Size | None = design_key("Actual width of the boards.", otherwise="that of nominal", example='"5 1/2"')
    wood: Words = design_key("Name of the wood, or of what is made of it.", "", example='"pine"')
    straight_edges: bool = design_key(
        "Whether the factory edges are straight and square, and may stay on a part.", True
    )
    rounded_edges: bool = design_key("Whether the edges are rounded, as of framing lumber: they are cut off.", False)
    resaw: bool = design_key(
        "Whether each of these boards may be resawn at home into two or more. It is never only planed down.",
        False,
    )
    buy_over: BuyOverTable | None = design_key(
        "More boards to buy than planned, for a grade of which some cannot be used.",
        otherwise="none",
        example='{ share = "10 %", because = "loose knots" }',
    )
    seen: date | None = _seen()
    sizes: tuple[LengthOffer, ...] = design_key(
        "Lengths for sale, with their prices.", ..., example='[{ length = "8 ft", price = "11.12" }]', min_length=1
    )


class RollTable(SettingTable):
    """The [[roll]] table."""

    mesh: str | None = _mesh()
    cloth: str | None = _cloth()
    width: Size = design_key("Width of the roll.", ..., example='"36"')
    length: Size = design_key("Length of the roll.", ..., example='"25 ft"')
    price: Cents = _price("a roll")
    count: Count | None = _count("rolls")
    seen: date | None = _seen()


def _of_kind(kind: str) -> Any:
    return design_key(f"Size of the sheet, if its kind is {kind}: {size_example(kind)}.")


if TYPE_CHECKING:
    OfSheetKind = SettingTable
else:
    _kinds = {kind: (str | None, _of_kind(kind)) for kind in sheet_kinds()}
    OfSheetKind = create_model("OfSheetKind", __base__=SettingTable, **_kinds)


class SheetTable(OfSheetKind):
    """The [[sheet]] table: one kind of sheet by its nominal size."""

    what: Words = design_key("Your own words for it, printed with it.", "", example='"white"')
    length: Size = design_key("Length of the sheet, along the flutes or the face grain.", ..., example='"36"')
    width: Size = design_key("Width of the sheet.", ..., example='"24"')
    price: Cents = _price("a sheet")
    count: Count | None = _count("sheets")
    seen: date | None = _seen()


class PieceTable(OfSheetKind):
    """The [[piece]] table: mesh, cloth or sheet sold cut to size, with measured length and width."""

    mesh: str | None = _mesh()
    cloth: str | None = _cloth()
    what: Words = design_key("Your own words for it, printed with it.", "", example='"cut for a wire bottom"')
    length: Size = design_key("Measured length of the piece.", ..., example='"20 1/2"')
    width: Size = design_key("Measured width of the piece.", ..., example='"16 1/2"')
    price: Cents = _price("a piece")
    count: Count | None = _count("pieces")
    seen: date | None = _seen()


class ReadyTable(SettingTable):
    """The [[ready]] table: an item sold ready-made."""

    item: str = design_key("The item, by its name in: woodshop items.", ..., example='"mouse guard"')
    what: Words = design_key("Your own words for it, printed with it.", "", example='"steel mouse guard"')
    frames: Annotated[tuple[Frames, ...], Field(min_length=1)] | Frames | None = design_key(
        "Frames of the boxes that it fits.", otherwise="it fits every box", example="[8, 10]"
    )
    price: Cents = _price("one")
    seen: date | None = _seen()


class DeliveryTable(SettingTable):
    """The `delivery` table: the cost per order delivered."""

    fee: Cents = design_key("What the delivery of an order costs.", ..., example='"18.00"')
    free_from: Cents | None = design_key(
        "Delivery is free if the goods cost this much or more.", otherwise="never free", example='"250.00"'
    )


class OffcutTable(OfSheetKind):
    """The [[offcut]] table: one or more identical pieces of wood, sheet or mesh on hand."""

    label: Words = design_key("What is written on the piece.", ..., example='"R3"', min_length=1)
    nominal: str | None = design_key("Nominal size of the piece, such as 1x8. Give this, or thickness and width.")
    thickness: Size | None = design_key("Thickness of the piece.", otherwise="that of nominal", example='"3/4"')
    width: Size | None = design_key("Width of the piece.", otherwise="that of nominal", example='"4 7/8"')
    mesh: str | None = _mesh()
    cloth: str | None = _cloth()
    length: Size = design_key("Length of the piece.", ..., example='"64"')
    count: Count = design_key("How many of these pieces you have.", 1)
    worth: Cents = design_key("What the piece is worth to you.", 0, usual='"0.00"', example='"3.00"')
    bad: tuple[tuple[AnyLength, AnyLength], ...] = design_key(
        "Stretches with defects, measured from the marked end. They must not be in any part, and are cut out first.",
        (),
        otherwise="none",
        example='[["22", "25 1/2"]]',
    )
    tight_knots: tuple[tuple[AnyLength, AnyLength], ...] = design_key(
        "Stretches with small tight knots. They are cut out too, unless tight_knots_to allows them.",
        (),
        otherwise="none",
        example='[["40", "40 1/2"]]',
    )
    square_ends: bool = design_key("Whether its ends are square. If not, they are squared first.", False)
    straight_edges: bool = design_key("Whether its edges are straight. If not, they are straightened.", False)
    rounded_edges: bool = design_key("Whether the edges are rounded, as of framing lumber: they are cut off.", False)
    twisted: bool = design_key("Whether it is twisted. It is then only crosscut, never ripped.", False)
    resaw: bool = design_key(
        "Whether this board may be resawn at home into two or more. It is never only planed down.", False
    )

    def problems(self, place: str, unit: LengthUnit) -> list[Problem]:
        """Stretches that are not on the piece, and resawing of what is no flat board."""
        found = []
        for key, stretches in (("bad", self.bad), ("tight_knots", self.tight_knots)):
            for low, high in stretches:
                if not ZERO <= low < high <= self.length:
                    given, end = f"{low.text(unit)} to {high.text(unit)}", self.length.text(unit)
                    found.append(Problem(f"{place}, {key}", given, f"a stretch within 0 to {end}", "Measure again."))
        is_board = self.nominal is not None or self.thickness is not None
        if self.resaw and (self.twisted or not is_board):
            given = "true for a twisted board" if is_board else "true for what is no board"
            wanted = "true only for a flat board, because its face must lie against the fence"
            found.append(Problem(f"{place}, resaw", given, wanted, "Remove the line."))
        return found


class PackTable(SettingTable):
    """The [[pack]] table."""

    goods: Goods = design_key("What is in the bag, box or bottle.", ..., example='"sugar"')
    what: Words = design_key("Your own words for it, printed with it.", "", example='"white sugar, 25 lb bag"')
    mass: SomeMass | None = design_key("Mass of what is in it.", example='"25 lb"')
    pieces: Count | None = design_key("Number of pieces in it.", example="350")
    loose_litres: Annotated[int, Field(ge=1, le=100_000)] | None = design_key(
        "Liters of shavings in it when loosened.", example="226"
    )
    pressed_litres: Annotated[int, Field(ge=1, le=100_000)] | None = design_key(
        "Liters of shavings in it as it is sold, pressed.", example="85"
    )
    millilitres: Annotated[int, Field(ge=1, le=1_000_000)] | None = design_key("Milliliters in it.", example="473")
    size: Words | None = design_key("Size of the screws, as it is printed on the pack.", otherwise="the size in what")
    price: Cents = _price("a pack")
    at_least: Count = design_key("Fewest packs that are sold.", 1)
    seen: date | None = _seen()


class LumberyardTable(SettingTable):
    """A lumberyard file. If the lumberyard cuts boards, `crosscut` is given; the next four keys belong to it."""

    format: str = design_key("Format of this file. Always the first line.", ..., example='"woodshop-lumberyard/1"')
    name: Words = design_key("Name of the lumberyard.", ..., example='"Creekside Lumber and Feed"', min_length=1)
    unit: Literal["in", "mm"] = design_key("Unit of lengths without a unit of their own.", "in")
    currency: str = design_key("Currency of the prices, in three letters.", "USD", pattern=r"^[A-Z]{3}$")
    seen: date = design_key("The day on which you read these prices.", ..., example="2026-09-12")
    longest: Size | None = design_key(
        "Longest board or sheet that fits your vehicle. Longer ones are not bought, or are cut at the lumberyard.",
        otherwise="no limit",
        example='"12 ft"',
    )
    crosscut: Cents | None = design_key(
        "Price of a cut across a board, if the lumberyard cuts boards to length.",
        otherwise="it does not",
        example='"1.00"',
    )
    free_cuts: Annotated[int, Field(ge=0, le=1000)] | None = design_key(
        "Cuts in each board that cost nothing.", otherwise="0", example="2"
    )
    shortest_cut: Size | None = design_key("Shortest piece that the lumberyard cuts.", row="lumberyard.shortest_cut")
    cut_allowance: Size | None = design_key(
        "Length lost at each end of a piece that the lumberyard cuts, because its cuts are rough: you square it.",
        row="lumberyard.cut_allowance",
    )
    cut_kerf: Size | None = design_key("Kerf of the lumberyard's saw.", row="lumberyard.cut_kerf")
    tight_knots_to: Size | None = design_key(
        "Tight knots up to this long may stay in a part.", otherwise="none may", example='"5/8"'
    )
    shared_wires: bool = design_key(
        "Whether one cut along a wire serves both sheets of mesh. If not, each keeps an edge wire of its own.", False
    )
    delivery: DeliveryTable | None = design_key(
        "What delivery costs.", otherwise="you fetch it", example='{ fee = "18.00", free_from = "250.00" }'
    )
    minimum: Cents = design_key("Least that an order must come to.", 0, usual='"0.00"', example='"60.00"')
    tax: Percent | None = design_key("Sales tax on purchases.", otherwise="none", example='"5 %"')
    tax_on_delivery: bool | None = design_key("Whether delivery is taxed too; states differ.", otherwise="it is not")
    stale_after: Annotated[int, Field(ge=1, le=3650)] | None = design_key(
        "Days after which a price counts as old and is flagged.", otherwise="90", example="45"
    )
    board: tuple[BoardTable, ...] = design_key("Boards of one width and thickness.", ())
    roll: tuple[RollTable, ...] = design_key("Mesh or cloth by the roll.", ())
    sheet: tuple[SheetTable, ...] = design_key("Sheets of one kind and size.", ())
    piece: tuple[PieceTable, ...] = design_key("Mesh, cloth or sheet that is sold cut to size.", ())
    ready: tuple[ReadyTable, ...] = design_key("An item that is sold ready-made.", ())
    offcut: tuple[OffcutTable, ...] = design_key("Wood, sheet or mesh that you own.", ())
    pack: tuple[PackTable, ...] = design_key("Goods by the bag, box or bottle.", ())


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
