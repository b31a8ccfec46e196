"""The sum of the winter's stores as plain values and as lines to read."""

from fractions import Fraction
from typing import Any

from woodshop.design.settings.climate import MONTHS
from woodshop.engineering.syrup import Syrup, syrup_from_sugar
from woodshop.reference.cautions import cautions, defer
from woodshop.trade.season.stores import Fed, Spread, Stores, place_of
from woodshop.units.lengths import Mass, decimals

STORES_FORMAT = "woodshop-stores-sum/1"


def stores_told(stores: Stores) -> dict[str, Any]:
    """The whole sum as plain values that JSON can hold; a spread is a pair, least and most, masses in pounds."""
    sugar = stores.sugar
    return {
        "format": STORES_FORMAT,
        "place": stores.place or None,
        "published": [
            {
                "place": place_of(row),
                "stores": row.value,
                "what": row.what,
                "cite": row.cite,
                "taken": row in stores.taken,
            }
            for row in stores.rows
        ],
        "hives": [_hive(each) for each in stores.hives],
        "strength": str(stores.strength),
        "sugar_lb": _pair(sugar),
        "water_gal": [_syrup(each, stores)[0] for each in (sugar.least, sugar.most)],
        "syrup_gal": [_syrup(each, stores)[1] for each in (sugar.least, sugar.most)],
        "bag": str(stores.bag),
        "bags": list(stores.bags),
        "last_days": [
            {"day": None if each.day is None else in_month(each.day), "why": each.why} for each in stores.last_days
        ],
        "defaults": [{"name": each.name, "value": each.value, "source": each.source} for each in stores.defaults],
        "cautions": [f"{each.text} [{each.cite}]" for each in cautions("syrup")],
        "defer": [defer("syrup"), defer("wintering")],
    }


def stores_lines(stores: Stores) -> tuple[str, ...]:
    """The same for people."""
    told = stores_told(stores)
    lines = ["What a colony should hold, as published (* taken here):"]
    for row in told["published"]:
        lines.append(f"  {'*' if row['taken'] else ' '} {row['stores']:>6}  {row['place']:13} {row['cite']}")
    if not stores.taken:
        lines.append("  None of them is taken: you said what is wanted.")
    lines.append("")
    for each in stores.hives:
        count = "" if each.count == 1 else f", {each.count} alike, each"
        lines.append(
            f"{each.name}{count}: {_span(each.wanted)} wanted, {_span(each.there)} there ({each.how}), "
            f"{_span(each.short)} short: {_span(each.sugar)} of sugar."
        )
    sugar = stores.sugar
    lines.append("")
    if not sugar.most.grams:
        lines.append("Nothing to feed.")
    else:
        water, syrup = (_numbers(told[key], "US gal") for key in ("water_gal", "syrup_gal"))
        lines.append(
            f"In all: {_span(sugar)} of sugar, {water} of water: {syrup} of syrup {stores.strength} by weight."
        )
        least, most = stores.bags
        lines.append(f"Buy {least if least == most else f'{least} to {most}'} bags of {stores.bag}.")
        lines += _days(stores)
        lines.append('Bees are taken to eat none of it on the way; "woodshop syrup" says what one keeper found.')
        lines += [f"Caution: {each}" for each in told["cautions"]]
    lines.append("Taken for granted: " + "; ".join(f"{d.name} {d.value} [{d.source}]" for d in stores.defaults) + ".")
    return (*lines, *told["defer"])


def _days(stores: Stores) -> list[str]:
    if not stores.last_days:
        return [
            'Last day for syrup: not worked out. Give outside = ["21 F", ...], the mean of each month from January, or '
            "last_day, the one that your club keeps to."
        ]
    lines = []
    for each in stores.last_days:
        day = "none: the whole year is one or the other" if each.day is None else in_month(each.day)
        lines.append(f"Last day for syrup: {day}. {each.why}.")
    if len(stores.last_days) > 1:
        lines.append(
            "By the mean of day and night, on a straight line from mid-month to mid-month. Bees must also dry what "
            "they take: be done sooner. Afterwards feed dry sugar, as on a board."
        )
    return lines


def _hive(each: Fed) -> dict[str, Any]:
    return {
        "name": each.name,
        "count": each.count,
        "wanted_lb": _pair(each.wanted),
        "there_lb": _pair(each.there),
        "how": each.how,
        "short_lb": _pair(each.short),
        "sugar_lb": _pair(each.sugar),
    }


def _syrup(sugar: Mass, stores: Stores) -> tuple[str, str]:
    """US gallons of water and of syrup for that sugar."""
    if not sugar.grams:
        return "0", "0"
    made: Syrup = syrup_from_sugar(sugar, stores.strength)
    return decimals(made.water_volume.us_cups / 16, 2), decimals(made.us_gallons, 2)


def _pair(spread: Spread) -> list[str]:
    return [decimals(mass.pounds, 2) for mass in (spread.least, spread.most)]


def _numbers(pair: list[str], unit: str) -> str:
    return f"{pair[0]} {unit}" if pair[0] == pair[1] else f"{pair[0]} to {pair[1]} {unit}"


def _span(spread: Spread) -> str:
    kilograms = [decimals(mass.grams / Fraction(1000), 1) for mass in (spread.least, spread.most)]
    return f"{_numbers(_pair(spread), 'lb')} ({_numbers(kilograms, 'kg')})"


def in_month(day: tuple[int, int]) -> str:
    """A day of any year, given as month and day.

    >>> in_month((10, 12))
    '12 October'
    """
    return f"{day[1]} {MONTHS[day[0] - 1]}"
