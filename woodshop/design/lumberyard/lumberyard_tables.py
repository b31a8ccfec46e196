"""The tables of a yard file as they are read: their keys, and what each may hold."""

import re
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import BeforeValidator, Field, create_model
from pydantic_core import PydanticCustomError

from woodshop.design.schema import AnyLength, Cents, SettingTable, Size, SomeMass, Words
from woodshop.reference.materials import sheet_kinds

Goods = Literal["sugar", "shavings", "staples", "screws", "pins", "glue", "vinegar", "cloth"]
Count = Annotated[int, Field(ge=1, le=1_000_000)]
Frames = Annotated[int, Field(ge=1, le=20)]


def _percent(value: object) -> Fraction:
    """A part of the whole from text such as 8.25 %."""
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


class BoardTable(SettingTable):
    """[[board]]; `seen` is the day of these prices where it is not the yard's.

    `straight_edges`: the factory edges are straight and square, and may stay on a part.
    """

    nominal: str | None = None
    thickness: Size | None = None
    width: Size | None = None
    wood: Words = ""
    straight_edges: bool = True
    seen: date | None = None
    sizes: tuple[LengthOffer, ...] = Field(min_length=1)


class RollTable(SettingTable):
    """[[roll]]"""

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
    """[[sheet]]: one kind of sheet by its nominal size; the length runs along the flutes or the face grain."""

    what: Words = ""
    length: Size
    width: Size
    price: Cents
    count: Count | None = None
    seen: date | None = None


class PieceTable(OfSheetKind):
    """[[piece]]: mesh, cloth or sheet sold cut to a size, its length and width as they are measured."""

    mesh: str | None = None
    cloth: str | None = None
    what: Words = ""
    length: Size
    width: Size
    price: Cents
    count: Count | None = None
    seen: date | None = None


class ReadyTable(SettingTable):
    """[[ready]]: an item sold ready-made, by its name in `woodshop items`; `frames`: the boxes it fits, else all."""

    item: str
    what: Words = ""
    frames: Annotated[tuple[Frames, ...], Field(min_length=1)] | Frames | None = None
    price: Cents
    seen: date | None = None


class DeliveryTable(SettingTable):
    """delivery: what bringing one order costs; nothing where the goods come to `free_from` or more."""

    fee: Cents
    free_from: Cents | None = None


class RackTable(OfSheetKind):
    """[[rack]]: one piece of wood, sheet or mesh at hand, or several alike.

    `bad` and `tight_knots` are stretches from the marked end: what no part may have, and small tight knots.
    `square_ends`, `straight_edges`, `twisted`: what was seen of a board; without the line its ends are squared and both
    edges straightened before it is used.
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
    """[[pack]]"""

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


class YardTable(SettingTable):
    """A yard file. `tight_knots_to`: small tight knots up to this length of a board may stay in a part."""

    format: str
    name: Words = Field(min_length=1)
    unit: Literal["in", "mm"] = "in"
    currency: str = Field(default="USD", pattern=r"^[A-Z]{3}$")
    seen: date
    longest: Size | None = None
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
    rack: tuple[RackTable, ...] = ()
    pack: tuple[PackTable, ...] = ()
