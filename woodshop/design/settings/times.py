"""How long work takes: the operations of a shop, their minutes, and the tables of a shop file that give them."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Any, Protocol

from pydantic import Field, create_model

from woodshop.design.schema import Amount, Cents, Default, SettingTable, Words, design_key
from woodshop.reference.facts import fact
from woodshop.units.lengths import unit_of_lengths
from woodshop.units.wording import wording_of

SQUARE_FOOT = Fraction(304_8, 10) ** 2  # mm2


@dataclass(frozen=True, slots=True)
class Operation:
    """One kind of work: its key in a shop file, its name in the shop, and its unit."""

    key: str
    name: str
    one: str
    table: str = "time"

    @property
    def minutes(self) -> Fraction:
        """The time standard in the reference table, in minutes for one operation."""
        return fact(f"{self.table}.{self.key}").measure("min")

    @property
    def source(self) -> str:
        """The source of the time standard."""
        return fact(f"{self.table}.{self.key}").cite


OPERATIONS = (
    Operation("crosscut", "crosscut", "pass"),
    Operation("rip", "rip", "pass"),
    Operation("resaw", "resaw", "pass"),
    Operation("plane", "plane a resawn board on both faces", "board"),
    Operation("snip", "cut mesh, cloth, plastic or sheet steel", "cut"),
    Operation("rabbet", "rabbet", "rabbet"),
    Operation("groove", "groove", "groove"),
    Operation("finger", "cut box joints", "finger gap"),
    Operation("notch", "notch or step", "notch"),
    Operation("drill", "bore holes", "hole"),
    Operation("punch", "punch sheet steel", "hole"),
    Operation("passage", "snip openings in mesh", "opening"),
    Operation("fold", "fold mesh or sheet steel", "fold"),
    Operation("corner", "assemble corners", "corner"),
    Operation("glue_up", "glue up", "frame"),
    Operation("staple", "staple", "staple"),
    Operation("paint", "paint outside", "sq ft and coat"),
    Operation("mix", "mix sugar", "bowl"),
    Operation("pack", "pack boards", "board"),
    Operation("fill", "fill with shavings", "box"),
    Operation("bag", "bag an unassembled kit", "kit"),
    Operation("label", "label", "label"),
    Operation("wrap", "wrap", "hive"),
)
SETUPS = (
    Operation("saw", "set fence or stop", "setting", "setup"),
    Operation("fence", "bring the fence up to the thin-rip stop", "strip", "setup"),
    Operation("cutter", "set up rabbet, groove or joint", "size", "setup"),
    Operation("drill", "set up holes", "size", "setup"),
    Operation("notch", "set up notches", "size", "setup"),
    Operation("run", "open and sweep the shop", "run", "setup"),
)
BY_KEY = {(each.table, each.key): each for each in (*OPERATIONS, *SETUPS)}
TRIPS = (
    Operation("buy", "fetch from a lumberyard", "trip"),
    Operation("try_first", "measure and try first articles", "width of hive"),
    Operation("drive", "drive to an apiary and back", "trip"),
    Operation("load", "load the car", "hive"),
    Operation("fit", "put on", "hive"),
    Operation("hand_over", "hand over an order", "order"),
)
"""Operations that count in a schedule but not in a price."""
ALL_BY_KEY = BY_KEY | {(each.table, each.key): each for each in TRIPS}


def _minutes(name: str, operations: tuple[Operation, ...]) -> type[SettingTable]:
    """A table of minutes, one key for each operation."""
    fields: dict[str, Any] = {
        each.key: (
            Amount | None,
            design_key(
                f"Minutes to {each.name}, for each {each.one}."
                + (" In a file in millimeters: for each square meter and coat." if each.key == "paint" else ""),
                row=f"{each.table}.{each.key}",
                example='"1.5"',
            ),
        )
        for each in operations
    }
    return create_model(name, __base__=SettingTable, **fields)


TimesTable: Any = _minutes("TimesTable", (*OPERATIONS, *TRIPS))
SetupTable: Any = _minutes("SetupTable", SETUPS)


class PaintTable(SettingTable):
    """The [paint] table: paint for the outside, never for the inside."""

    what: Annotated[Words, Field(max_length=200)] = design_key("Your own words for it, printed.", "exterior paint")
    price: Cents = design_key("Price of a can.", ..., example='"38.00"')
    litres: Annotated[Amount, Field(gt=0)] = design_key("Liters in a can.", ..., example='"3.785"')
    coverage: Words | None = design_key(
        "What a liter or a gallon covers with one coat, from the can.", example='"8 m2/L"', row="paint.coverage"
    )
    coats: Annotated[int, Field(ge=1, le=6)] | None = design_key("Number of coats.", example="2", row="paint.coats")


@dataclass(frozen=True, slots=True)
class Standard:
    """A time standard of this shop: the minutes for one operation, and their source."""

    minutes: Fraction
    source: str


class WorkTables(Protocol):
    """The tables of a shop file that say how long work takes."""

    @property
    def times(self) -> Any:
        """Minutes for each operation."""

    @property
    def setup(self) -> Any:
        """Minutes for each setup."""

    @property
    def paint(self) -> PaintTable | None:
        """The paint, or None if nothing is painted."""


@dataclass(frozen=True, slots=True)
class ShopWork:
    """How long work takes: the minutes for each operation, by table and key, and the coats of paint."""

    standards: Mapping[tuple[str, str], Standard]
    coats: int


def settled_work(shop: WorkTables | None) -> ShopWork:
    """How long work takes in a shop. Without a shop file, times are the defaults, and nothing is painted."""
    coats = 0
    if shop is not None:
        paint = shop.paint
        coats = 0 if paint is None else int(fact("paint.coats").number) if paint.coats is None else paint.coats
    return ShopWork(standards_of(shop, ALL_BY_KEY, []), coats)


def standards_of(
    shop: WorkTables | None, operations: Mapping[tuple[str, str], Operation], defaults: list[Default]
) -> dict[tuple[str, str], Standard]:
    """The minutes for these operations, by table and key; times that the shop does not give are added to `defaults`."""
    found = {}
    for (table, key), operation in operations.items():
        given = None if shop is None else getattr(shop.times if table == "time" else shop.setup, key)
        if given is not None:
            if key == "paint" and getattr(shop, "unit", "in") == "mm":  # for a square meter
                given = given * SQUARE_FOOT / 10**6
            found[table, key] = Standard(given, "the shop file")
            continue
        found[table, key] = Standard(operation.minutes, operation.source)
        where = "times" if table == "time" else "setup"
        row, said = fact(f"{table}.{key}"), wording_of(unit_of_lengths()).said
        defaults.append(Default(where, key, said(f"{row.value}: {row.what.rstrip('.')}"), row.cite))
    return found
