"""The sum of the winter's stores: what each hive is short of, what to buy, and until when to feed it."""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from woodshop.design.settings.conditions import MONTHS
from woodshop.drawing.values.model import Align, Block, Caution, Column, Data, Heading, Paragraph, Section, Table
from woodshop.engineering.syrup import Syrup, syrup_from_sugar
from woodshop.reference.cautions import cautions, defer
from woodshop.trade.season.stores import Fed, MassRange, Stores, place_of
from woodshop.units.lengths import Mass, decimals

STORES_FORMAT = "woodshop-stores-sum/1"


def stores_section(stores: Stores) -> Section:
    """The whole sum. In the data a spread is a pair, least and most, masses in pounds."""
    sugar = stores.sugar
    published = Table(
        (
            Column("taken", key="taken", shown=False),
            Column(""),
            Column("stores", Align.RIGHT, key="stores"),
            Column("place", key="place"),
            Column("", key="what", shown=False),
            Column("source", key="cite"),
        ),
        tuple(
            (row in stores.taken, "*" if row in stores.taken else "", row.value, place_of(row), row.what, row.cite)
            for row in stores.rows
        ),
    )
    water, syrup = zip(*(_syrup(each, stores) for each in (sugar.least, sugar.most)), strict=True)
    cautioned, leave_to = (
        [f"{each.text} [{each.cite}]" for each in cautions("syrup")],
        [defer("syrup"), defer("wintering")],
    )
    data: Data = {
        "format": STORES_FORMAT,
        "place": stores.place or None,
        "published": published.records,
        "hives": [
            {
                "name": each.name,
                "count": each.count,
                "wanted_lb": _pair(each.wanted),
                "there_lb": _pair(each.there),
                "how": each.how,
                "short_lb": _pair(each.short),
                "sugar_lb": _pair(each.sugar),
            }
            for each in stores.hives
        ],
        "strength": str(stores.strength),
        "sugar_lb": _pair(sugar),
        "water_gal": water,
        "syrup_gal": syrup,
        "bag": str(stores.bag),
        "bags": stores.bags,
        "last_days": [
            {"day": None if each.day is None else in_month(each.day), "why": each.why} for each in stores.last_days
        ],
        "defaults": [{"name": each.name, "value": each.value, "source": each.source} for each in stores.defaults],
        "cautions": cautioned,
        "defer": leave_to,
    }
    blocks: list[Block] = [Heading("What a colony should hold, as published (* taken here)", 2), published]
    if not stores.taken:
        blocks.append(Paragraph("None of them is taken: you said what is wanted."))
    blocks += [Heading("Your hives", 2), *(Paragraph(_hive_words(each)) for each in stores.hives)]
    if not sugar.most.grams:
        blocks.append(Paragraph("Nothing to feed."))
    else:
        least, most = stores.bags
        total = f"{_span(sugar)} of sugar, {_numbers(water, 'US gal')} of water"
        blocks += [
            Paragraph(f"In all: {total}: {_numbers(syrup, 'US gal')} of syrup {stores.strength} by weight."),
            Paragraph(f"Buy {least if least == most else f'{least} to {most}'} bags of {stores.bag}."),
            *map(Paragraph, _days(stores)),
            Paragraph('Bees are taken to eat none of it on the way; "woodshop syrup" says what one keeper found.'),
            *map(Caution, cautioned),
        ]
    taken = "; ".join(f"{each.name} {each.value} [{each.source}]" for each in stores.defaults)
    return Section("", (*blocks, Paragraph(f"Taken for granted: {taken}."), *map(Paragraph, leave_to)), data)


def _hive_words(each: Fed) -> str:
    count = "" if each.count == 1 else f", {each.count} alike, each"
    return (
        f"{each.name}{count}: {_span(each.wanted)} wanted, {_span(each.there)} there ({each.how}), "
        f"{_span(each.short)} short: {_span(each.sugar)} of sugar."
    )


def _days(stores: Stores) -> Iterator[str]:
    if not stores.last_days:
        yield (
            'Last day for syrup: not worked out. Give outside = ["21 F", ...], the mean of each month from January, or '
            "last_day, the one that your club keeps to."
        )
    for each in stores.last_days:
        day = "none: the whole year is one or the other" if each.day is None else in_month(each.day)
        yield f"Last day for syrup: {day}. {each.why}."
    if len(stores.last_days) > 1:
        yield (
            "By the mean of day and night, on a straight line from mid-month to mid-month. Bees must also dry what "
            "they take: be done sooner. Afterwards feed dry sugar, as on a board."
        )


def _syrup(sugar: Mass, stores: Stores) -> tuple[str, str]:
    """US gallons of water and of syrup for that sugar."""
    if not sugar.grams:
        return "0", "0"
    made: Syrup = syrup_from_sugar(sugar, stores.strength)
    return decimals(made.water_volume.us_cups / 16, 2), decimals(made.us_gallons, 2)


def _pair(spread: MassRange) -> tuple[str, str]:
    return decimals(spread.least.pounds, 2), decimals(spread.most.pounds, 2)


def _numbers(pair: Sequence[str], unit: str) -> str:
    return f"{pair[0]} {unit}" if pair[0] == pair[1] else f"{pair[0]} to {pair[1]} {unit}"


def _span(spread: MassRange) -> str:
    kilograms = [decimals(mass.grams / Fraction(1000), 1) for mass in (spread.least, spread.most)]
    return f"{_numbers(_pair(spread), 'lb')} ({_numbers(kilograms, 'kg')})"


def in_month(day: tuple[int, int]) -> str:
    """A day of any year, given as month and day.

    >>> in_month((10, 12))
    '12 October'
    """
    return f"{day[1]} {MONTHS[day[0] - 1]}"
