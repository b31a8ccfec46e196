"""The shop file: operations with their time standards, setups, overhead, prices and quotes."""

from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from woodshop.design.schema import Cents, Default, Percent, SettingTable, Words, design_key, load, validate
from woodshop.design.settings.saw import ShopFileTable
from woodshop.design.settings.times import BY_KEY, OPERATIONS, SQUARE_FOOT, PaintTable, Standard, standards_of
from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.reference.facts import fact

Line = Annotated[Words, Field(max_length=200)]
Packs = Literal["whole", "used"]
OffcutCharge = Literal["worth", "free"]
Profit = Literal["margin", "markup"]
Base = Literal["labour", "cost"]
_GALLON = Fraction("3.785411784")  # liters; by definition 231 cu in
_MOST_RATE = 100_000  # minor units per hour
_AREAS = {"ft2/gal": SQUARE_FOOT / _GALLON, "m2/L": Fraction(1_000_000)}  # mm2 per liter


class OverheadTable(SettingTable):
    """The [overhead] table: a percentage of labor or of cost, or an amount per hour of labor."""

    percent: Percent | None = design_key("Overhead, as a share of what `of` names.", otherwise="none", example='"12 %"')
    of: Base | None = design_key("What the percentage is of.", otherwise="cost", example='"labour"')
    per_hour: Cents | None = design_key("Overhead for each hour of work.", otherwise="none", example='"7.50"')


class ConsumableTable(SettingTable):
    """The [[consumable]] table: something used up each time an operation is done."""

    what: Line = design_key("Your own words for it, printed.", ..., example='"carton and tape"')
    each: str = design_key("The operation at which one is used up, a key of [times].", ..., example='"wrap"')
    price: Cents = design_key("Price of one.", ..., example='"1.65"')


class QuoteTable(SettingTable):
    """The [quote] table: text on every quote, in the shop's own words."""

    lines: tuple[Line, ...] = design_key("Lines under the shop's name.", (), example='["14 Saltmarsh Lane"]')
    terms: tuple[Annotated[Words, Field(max_length=1000)], ...] = design_key(
        "Your terms, one paragraph each.", (), example='["Half with the order, half on pickup."]'
    )
    days: Annotated[int, Field(ge=1, le=730)] | None = design_key(
        "Days for which a quote is valid.", example="30", row="quote.days"
    )
    quantities: Annotated[tuple[Annotated[int, Field(ge=1, le=10_000)], ...], Field(max_length=6)] = design_key(
        "Other quantities to quote; each is planned separately.", (), otherwise="none", example="[10, 25, 50]"
    )


class ShopTable(ShopFileTable):
    """The tables of a shop file."""

    name: Line = design_key("Name of the shop.", ..., example='"Saltmarsh Bee Supply"', min_length=1)
    currency: str = design_key("Currency of the prices, in three letters.", "USD", pattern=r"^[A-Z]{3}$")
    labour: Cents = design_key("What an hour of work costs you, with payroll costs.", ..., example='"24.00"')
    margin: Percent | None = design_key("Profit, as a share of the price. Give this or markup.", example='"25 %"')
    markup: Percent | None = design_key("Profit, as a share of the cost. Give this or margin.", example='"33.3 %"')
    scrap: Percent | None = design_key("Pieces spoiled, of a hundred started.", otherwise="none", example='"3 %"')
    round_up_to: Cents | None = design_key("Prices are rounded up to this.", otherwise="0.01", example='"0.05"')
    tax: Percent | None = design_key("Sales tax on what you sell.", otherwise="none", example='"6.25 %"')
    tax_exempt: tuple[Words, ...] = design_key("Customers without sales tax.", (), example='["Fen Road School"]')
    packs: Packs | None = design_key(
        "Who pays for what is left in a pack of goods: used (the shop keeps it) or whole (the run pays for all).",
        otherwise="whole",
        example='"used"',
    )
    offcuts: OffcutCharge | None = design_key(
        "What your own wood costs the run: worth (its worth in the lumberyard file) or free.", usual='"worth"'
    )
    overhead: OverheadTable = design_key("Overhead: rent, power, blades.", OverheadTable())
    consumable: tuple[ConsumableTable, ...] = design_key("Something that is used up at an operation.", ())
    quote: QuoteTable = design_key("The text of every quote.", QuoteTable())


@dataclass(frozen=True, slots=True)
class Paint:
    """Paint by the can: price, content in liters, square millimeters that one liter covers with one coat, and coats."""

    what: str
    price: int
    litres: Fraction
    cover: Fraction
    coats: int


@dataclass(frozen=True, slots=True)
class Consumable:
    """The cost of a consumable, charged each time its operation is done."""

    what: str
    each: str
    price: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Pricing:
    """How prices are calculated from costs: profit, as a `share` of the price or cost; rounding step; sales tax."""

    profit: Profit = "markup"
    share: Fraction = Fraction(0)
    round_up_to: int = 1
    tax: Fraction = Fraction(0)
    tax_exempt: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Overhead:
    """Overhead, as a `share` of the labor or of the total cost, or as `per_hour` for each hour of work."""

    share: Fraction = Fraction(0)
    of: Base = "cost"
    per_hour: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class GoodsCharged:
    """How goods are charged to a run, and the consumables.

    If `packs` is "whole", all purchases are charged to the run; if it is "used", leftovers in packs stay with the shop.
    `offcuts` says whether your own wood is charged at its "worth" or is "free".
    """

    packs: Packs = "whole"
    offcuts: OffcutCharge = "worth"
    paint: Paint | None = None
    consumables: tuple[Consumable, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteTerms:
    """A quote's text about the shop and its terms, its validity in days, and other quantities to price."""

    lines: tuple[str, ...] = ()
    terms: tuple[str, ...] = ()
    days: int = 30
    quantities: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """A settled shop. Money is in minor units; `labour` is per hour; percentages are fractions of 1.

    `standards` are the minutes for each operation; `scrap` is the fraction of pieces spoiled. If `is_bill` is true,
    there is no shop, only a bill to split.
    """

    name: str
    currency: str
    labour: int
    standards: dict[tuple[str, str], Standard]
    scrap: Fraction = Fraction(0)
    pricing: Pricing = field(default_factory=Pricing)
    overhead: Overhead = field(default_factory=Overhead)
    goods: GoodsCharged = field(default_factory=GoodsCharged)
    quote: QuoteTerms = field(default_factory=QuoteTerms)
    defaults: tuple[Default, ...] = ()
    is_bill: bool = False


def no_shop(currency: str) -> Shop:
    """A substitute shop for a club that splits a bill: there are only purchases, and offcuts cost nothing."""
    standards, goods = standards_of(None, BY_KEY, []), GoodsCharged(offcuts="free")
    return Shop(name="", currency=currency, labour=0, standards=standards, goods=goods, is_bill=True)


def read_shop(path: Path) -> Shop:
    """Reads a shop file as values. Raises InputError with every problem in it."""
    raw = load(path, "shop")
    unit = raw.get("unit")
    table = validate(ShopTable, raw, path.name, unit if unit in ("in", "mm") else "in")
    found: list[Problem] = []
    defaults: list[Default] = []
    where = path.name
    if table.labour > _MOST_RATE:
        found.append(
            Problem(f"{where}, labour", f"{table.labour / 100:.2f}", "at most 1000.00 an hour", "Correct this value.")
        )
    profit, share = _profit(table, where, found, defaults)
    overhead = _overhead(table.overhead, where, found, defaults)
    if table.scrap is not None and table.scrap >= Fraction(1, 2):
        found.append(Problem(f"{where}, scrap", f"{table.scrap * 100} %", "less than 50 %", "Correct this value."))
    if table.tax is not None and table.tax > Fraction(1, 2):
        found.append(Problem(f"{where}, tax", f"{table.tax * 100} %", "at most 50 %", "Correct this value."))
    if table.round_up_to == 0:
        found.append(Problem(f"{where}, round_up_to", "0.00", "0.01 or more", "Remove it for prices to the cent."))
    quantities = table.quote.quantities
    if tuple(sorted(set(quantities))) != quantities:
        given, wanted = str(list(quantities)), "each quantity once, in ascending order"
        found.append(Problem(f"{where}, quote, quantities", given, wanted, "Put them in order."))
    paint = _paint(table.paint, where, found, defaults)
    consumables = _consumables(table.consumable, where, found)
    if found:
        raise InputError(*found)
    standards = standards_of(table, BY_KEY, defaults)
    days = table.quote.days
    if days is None:
        row = fact("quote.days")
        days = int(row.number)
        defaults.append(Default("quote", "days", row.value, row.cite))
    for name, value, words in (
        ("scrap", table.scrap, "0 %, no spoiled pieces"),
        ("tax", table.tax, "0 %, no sales tax"),
        ("round_up_to", table.round_up_to, "0.01"),
        ("packs", table.packs, "whole: everything bought is charged to the run"),
        ("offcuts", table.offcuts, "worth: your own wood is charged at its worth in the lumberyard file"),
    ):
        if value is None:
            defaults.append(Default("shop", name, words, "common practice, no source"))
    pricing = Pricing(
        profit=profit,
        share=share,
        round_up_to=table.round_up_to or 1,
        tax=table.tax or Fraction(0),
        tax_exempt=table.tax_exempt,
    )
    packs, offcuts = table.packs or "whole", table.offcuts or "worth"
    goods = GoodsCharged(packs=packs, offcuts=offcuts, paint=paint, consumables=consumables)
    quote = QuoteTerms(lines=table.quote.lines, terms=table.quote.terms, days=days, quantities=quantities)
    return Shop(
        name=table.name,
        currency=table.currency,
        labour=table.labour,
        standards=standards,
        scrap=table.scrap or Fraction(0),
        pricing=pricing,
        overhead=overhead,
        goods=goods,
        quote=quote,
        defaults=tuple(defaults),
    )


def _profit(table: ShopTable, where: str, found: list[Problem], defaults: list[Default]) -> tuple[Profit, Fraction]:
    if table.margin is not None and table.markup is not None:
        given = "a margin and a markup"
        found.append(
            Problem(where, given, "one of the two", "Margin is a share of the price, markup a share of the cost.")
        )
    if table.margin is not None:
        if table.margin >= 1:
            do = "A margin is a share of the price. For a share of the cost, write markup."
            found.append(Problem(f"{where}, margin", f"{table.margin * 100} %", "less than 100 % of the price", do))
        return "margin", table.margin
    if table.markup is not None:
        return "markup", table.markup
    defaults.append(Default("shop", "margin", "0 %: sold at cost", "common practice, no source"))
    return "margin", Fraction(0)


def _overhead(table: OverheadTable, where: str, found: list[Problem], defaults: list[Default]) -> Overhead:
    if table.percent is not None and table.per_hour is not None:
        given = "percent and per_hour"
        found.append(Problem(f"{where}, overhead", given, "one of the two", "Remove one of the lines."))
    if table.of is not None and table.percent is None:
        found.append(Problem(f"{where}, overhead", "of without percent", "a percentage", "Add percent, or remove of."))
    if table.percent is None and table.per_hour is None:
        defaults.append(Default("overhead", "percent", "0 %: no overhead", "common practice, no source"))
    if table.percent is not None and table.of is None:
        defaults.append(Default("overhead", "of", "cost: material, labor and scrap", "common practice, no source"))
    return Overhead(share=table.percent or Fraction(0), of=table.of or "cost", per_hour=table.per_hour or 0)


def _paint(table: PaintTable | None, where: str, found: list[Problem], defaults: list[Default]) -> Paint | None:
    if table is None:
        defaults.append(Default("paint", "paint", "none", "common practice, no source"))
        return None
    coverage = table.coverage
    if coverage is None:
        row = fact("paint.coverage")
        coverage = row.value
        defaults.append(Default("paint", "coverage", row.value, row.cite))
    coats = table.coats
    if coats is None:
        row = fact("paint.coats")
        coats = int(row.number)
        defaults.append(Default("paint", "coats", row.value, row.cite))
    number, _, unit = coverage.strip().partition(" ")
    try:
        cover = Fraction(number) * _AREAS[unit.strip()]
    except (KeyError, ValueError, ZeroDivisionError):
        cover = Fraction(0)
    if cover <= 0:
        wanted = "a number and ft2/gal or m2/L, such as 300 ft2/gal"
        found.append(Problem(f"{where}, paint, coverage", repr(coverage), wanted, "Take it from the can's label."))
    return Paint(table.what, table.price, table.litres, cover, coats)


def _consumables(tables: tuple[ConsumableTable, ...], where: str, found: list[Problem]) -> tuple[Consumable, ...]:

    known = [o.key for o in OPERATIONS]
    for n, table in enumerate(tables, 1):
        if table.each not in known:
            do = did_you_mean(table.each, known, "Choose one of them.")
            place = f"{where}, consumable number {n}, each"
            found.append(Problem(place, repr(table.each), "one of " + ", ".join(known), do))
    return tuple(Consumable(table.what, table.each, table.price) for table in tables)
