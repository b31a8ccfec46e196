"""Winter stores, hive by hive: current stores compared with the target, sugar to buy, and the last day for syrup.

format = "woodshop-stores/1"
place = "pennsylvania"
[[hive]]
name = "orchard 1"
weighed = "96 lb"
without_stores = "56 lb"
"""

from dataclasses import KW_ONLY, dataclass
from datetime import date, timedelta
from fractions import Fraction
from math import ceil
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from woodshop.design.schema import AMass, Amount, Default, SettingTable, SomeMass, Words, design_key, load, validate
from woodshop.design.settings.conditions import MONTHS, ATemperature, Temperature
from woodshop.engineering.syrup import TWO_TO_ONE, LightHive, Strength, feed_light_hive, read_strength
from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.reference.facts import Fact, all_facts, fact
from woodshop.units.lengths import Mass

_NOTHING = Mass(Fraction(0))
_MOST_HIVES, _MOST_COUNT, _MOST_FRAMES = 10_000, 10_000, 60
_COLDEST, _HOTTEST = -60, 50  # °C, the limits of a monthly mean; a value beyond them probably has the wrong unit


class HiveTable(SettingTable):
    """The [[hive]] table: `count` identical hives. Their stores are weighed, counted in frames of honey, or given."""

    name: Annotated[Words, Field(min_length=1, max_length=60)] = design_key(
        "Your name for the hive, or for hives that are alike.", ..., example='"orchard 1"'
    )
    count: Annotated[int, Field(ge=1, le=_MOST_COUNT)] = design_key("How many hives are like this.", 1)
    wanted: SomeMass | None = design_key(
        "Stores that the hive needs for the winter.", otherwise="those of its place", example='"80 lb"'
    )
    weighed: SomeMass | None = design_key("Mass of the whole hive. Give without_stores too.", example='"112 lb"')
    without_stores: SomeMass | None = design_key(
        "Mass of the hive without its honey: boxes, frames, comb, bees and pollen.", example='"61 lb"'
    )
    stores: AMass | None = design_key("Stores in the hive, if you know their mass.", example='"75 lb"')
    deep_frames: Amount | None = design_key("Deep frames full of honey in the hive.", example='"5"')
    medium_frames: Amount | None = design_key("Medium frames full of honey in the hive.", example='"3"')


class StoresTable(SettingTable):
    """A stores file."""

    format: str = design_key("Format of this file. Always the first line.", ..., example='"woodshop-stores/1"')
    unit: Literal["lb", "kg"] = design_key("Unit of masses without a unit of their own.", "lb")
    place: Words | None = design_key(
        "A place of: woodshop sources stores. It says what hives need there.", example='"ohio"'
    )
    wanted: SomeMass | None = design_key(
        "Stores that every hive needs for the winter.", otherwise="those of the place", example='"60 lb"'
    )
    strength: Words | None = design_key("Sugar to water in the syrup, by weight.", usual='"2:1"')
    bag: SomeMass | None = design_key("Mass of the bags in which sugar is bought.", example='"25 lb"')
    last_day: date | None = design_key(
        "Last day on which you feed syrup.", otherwise="worked out from outside", example="2026-10-10"
    )
    outside: tuple[ATemperature, ...] | None = design_key(
        "Mean outside temperature of each month, from January.", example='["21 F", "23 F", ...]'
    )
    hive: Annotated[tuple[HiveTable, ...], Field(min_length=1, max_length=_MOST_HIVES)] = design_key(
        "A hive, or hives that are alike.", ...
    )


@dataclass(frozen=True, slots=True)
class MassRange:
    """The minimum and maximum of a mass. They are equal if there is only one figure."""

    least: Mass
    most: Mass

    def __add__(self, other: "MassRange") -> "MassRange":
        return MassRange(self.least + other.least, self.most + other.most)

    def __mul__(self, by: int) -> "MassRange":
        return MassRange(self.least * by, self.most * by)


@dataclass(frozen=True, slots=True)
class Fed:
    """Identical hives: target and current stores of one hive, their source, and the minimum and maximum feed."""

    name: str
    count: int
    _: KW_ONLY
    wanted: MassRange
    there: MassRange
    how: str
    least: LightHive
    most: LightHive

    @property
    def short(self) -> MassRange:
        """The stores that one hive lacks."""
        return MassRange(self.least.short, self.most.short)

    @property
    def sugar(self) -> MassRange:
        """The dry sugar for one hive."""
        return MassRange(self.least.sugar, self.most.sugar)


@dataclass(frozen=True, slots=True)
class LastDay:
    """The last day on which feeding syrup makes sense, as month and day, and its source.

    `day` is None if it is too cold for syrup all year, or warm enough all year.
    """

    day: tuple[int, int] | None
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stores:
    """The complete calculation.

    `unit` is that of the masses in texts. `rows` are the published stores of all places; `used` are the rows used for
    the target.
    """

    place: str
    unit: Literal["lb", "kg"]
    rows: tuple[Fact, ...]
    used: tuple[Fact, ...]
    hives: tuple[Fed, ...]
    strength: Strength
    bag: Mass
    last_days: tuple[LastDay, ...]
    defaults: tuple[Default, ...]

    @property
    def sugar(self) -> MassRange:
        """The dry sugar for all hives."""
        return sum((each.sugar * each.count for each in self.hives), MassRange(_NOTHING, _NOTHING))

    @property
    def bags(self) -> tuple[int, int]:
        """The number of whole bags to buy, at minimum and at maximum."""
        return ceil(self.sugar.least / self.bag), ceil(self.sugar.most / self.bag)


def place_of(row: Fact) -> str:
    """The place in a row of published stores, as named in a stores file.

    >>> place_of(fact("stores.pennsylvania_least"))
    'pennsylvania'
    """
    return row.key.removeprefix("stores.").removesuffix("_least").removesuffix("_most")


def published_stores() -> tuple[Fact, ...]:
    """Every published figure of winter stores, in ascending order."""
    rows = (row for row in all_facts() if row.key.startswith("stores."))
    return tuple(sorted(rows, key=lambda row: (row.mass, row.key)))


def read_stores(path: Path) -> Stores:
    """Reads a stores file and calculates the feed. Raises InputError with every problem in it."""
    where = path.name
    raw = load(path, "stores")
    is_metric = raw.get("unit") == "kg"
    table = validate(StoresTable, raw, where, "mm" if is_metric else "in")
    found: list[Problem] = []
    defaults: list[Default] = []
    rows = published_stores()
    used = _rows_used(table, rows, where, found)
    wanted = MassRange(table.wanted, table.wanted) if table.wanted is not None else None
    if used:
        wanted = MassRange(min(row.mass for row in used), max(row.mass for row in used))
    if wanted is not None and table.wanted is None and table.place is None:
        words = f"{wanted.least.text(table.unit)} to {wanted.most.text(table.unit)}"
        defaults.append(Default("stores", "wanted", words, "every published figure"))
    strength = _strength(table, where, found, defaults)
    bag = table.bag
    if bag is None:
        row = fact("sugar.bag")
        unit = "mm" if is_metric else "in"
        bag = row.mass_in(unit)
        defaults.append(Default("stores", "bag", row.value_in(unit), row.cite))
    water = fact("syrup.stores_water")
    defaults.append(Default("stores", "water in stores", water.value, water.cite))
    days = _last_days(table, where, found)
    hives: list[Fed] = []
    names: set[str] = set()
    for n, each in enumerate(table.hive, 1):
        place = f"{where}, hive number {n}"
        if each.name in names:
            found.append(Problem(f"{place}, name", repr(each.name), "a name of its own", "Rename one of them."))
        names.add(each.name)
        there = _there(each, place, found, defaults)
        own = wanted if each.wanted is None else MassRange(each.wanted, each.wanted)
        if there is None or own is None or strength is None:
            continue
        try:
            least = feed_light_hive(own.least, there[0].most, strength)
            most = feed_light_hive(own.most, there[0].least, strength)
        except InputError as why:
            found += [each for each in why.problems if each not in found]
            continue
        hives.append(Fed(each.name, each.count, wanted=own, there=there[0], how=there[1], least=least, most=most))
    if found or strength is None:
        raise InputError(*found)
    return Stores(
        place=table.place or "",
        unit=table.unit,
        rows=rows,
        used=used,
        hives=tuple(hives),
        strength=strength,
        bag=bag,
        last_days=days,
        defaults=tuple(dict.fromkeys(defaults)),
    )


def _rows_used(table: StoresTable, rows: tuple[Fact, ...], where: str, found: list[Problem]) -> tuple[Fact, ...]:
    """The rows used for the target: none if the user gives the target, or all if no place is named."""
    if table.wanted is not None:
        if table.place is not None:
            found.append(Problem(where, "wanted and place", "one of the two", "Remove one of the lines."))
        return ()
    if table.place is None:
        return rows
    used = tuple(row for row in rows if place_of(row) == table.place)
    if not used:
        known = sorted({place_of(row) for row in rows})
        do = did_you_mean(
            table.place.lower(), known, f'Or say it yourself: wanted = "{"27 kg" if table.unit == "kg" else "60 lb"}".'
        )
        found.append(Problem(f"{where}, place", repr(table.place), "one of " + ", ".join(known), do))
    return used


def _strength(table: StoresTable, where: str, found: list[Problem], defaults: list[Default]) -> Strength | None:
    if table.strength is None:
        row = fact("syrup.club_water_thick")
        defaults.append(Default("stores", "strength", "2:1", row.cite))
        return TWO_TO_ONE
    try:
        return read_strength(table.strength)
    except ValueError:
        wanted = "sugar to water by weight, as 2:1"
        do = "Write whole numbers with a colon."
        found.append(Problem(f"{where}, strength", repr(table.strength), wanted, do))
        return None


def _there(table: HiveTable, where: str, found: list[Problem], defaults: list[Default]) -> tuple[MassRange, str] | None:
    """The stores of one hive, and how they were found, or None if they are not known. Problems are added to `found`."""
    frames = table.deep_frames, table.medium_frames
    ways = [table.weighed is not None or table.without_stores is not None, table.stores is not None, any(
        each is not None for each in frames)]  # fmt: skip
    wanted = "one of: weighed and without_stores; stores; deep_frames and medium_frames"
    if sum(ways) != 1:
        given = "no stores given" if not any(ways) else "its stores given in more than one way"
        found.append(Problem(where, given, wanted, "Weigh the hive, or count its frames of honey."))
        return None
    if table.stores is not None:
        if table.stores.grams < 0:
            found.append(Problem(f"{where}, stores", str(table.stores), "0 or more", "Weigh the hive again."))
            return None
        return MassRange(table.stores, table.stores), "as you gave it"
    if ways[0]:
        if table.weighed is None or table.without_stores is None:
            lacking = "weighed" if table.weighed is None else "without_stores"
            found.append(Problem(where, f"no {lacking}", "weighed and without_stores", "Give both."))
            return None
        there = table.weighed - table.without_stores
        if there.grams < 0:
            given = f"{table.weighed}, which is less than {table.without_stores} without stores"
            do = "Weigh it again, or swap the two."
            found.append(Problem(f"{where}, weighed", given, "the heavier of the two", do))
            return None
        return MassRange(there, there), "weighed"
    deep, medium = (each or Fraction(0) for each in frames)
    if max(deep, medium) > _MOST_FRAMES:
        given = f"{float(max(deep, medium)):g} frames"
        found.append(Problem(where, given, f"at most {_MOST_FRAMES}", "Count full frames of one hive."))
        return None
    return _of_frames(deep, medium, defaults), "estimated from its frames of honey"


def _of_frames(deep: Fraction, medium: Fraction, defaults: list[Default]) -> MassRange:
    """The stores in a number of full frames, calculated from one author's figures for both sizes."""
    ends = []
    for end in ("least", "most"):
        whole = fact(f"stores.pennsylvania_{end}").mass
        ends.append(
            whole * (deep / fact("season.frames_of_deep").number)
            + whole * (medium / fact("season.frames_of_medium").number)
        )
    least, most = fact("stores.pennsylvania_least"), fact("stores.pennsylvania_most")
    for kind in ("deep", "medium"):
        row = fact(f"season.frames_of_{kind}")
        words = f"{row.value} full {kind} frames hold {least.value} to {most.value}"
        defaults.append(Default("stores", f"honey in {kind} frames", words, row.cite))
    return MassRange(ends[0], ends[1])


# ---- the last day ------------------------------------------------------------------------------------


def _last_days(table: StoresTable, where: str, found: list[Problem]) -> tuple[LastDay, ...]:
    """The last days: the user's own, or one for each published temperature.

    Empty if neither a day nor temperatures are given.
    """
    if table.last_day is not None:
        if table.outside is not None:
            found.append(Problem(where, "last_day and outside", "one of the two", "Remove one of the lines."))
        return (LastDay((table.last_day.month, table.last_day.day), "as you gave it"),)
    if table.outside is None:
        return ()
    if len(table.outside) != len(MONTHS):
        wanted = "the mean of each month, twelve from January"
        found.append(Problem(f"{where}, outside", f"{len(table.outside)} values", wanted, "Give them all."))
        return ()
    off = [each for each in table.outside if not _COLDEST <= each.celsius <= _HOTTEST]
    if off:
        wanted = f"{_COLDEST} to {_HOTTEST} °C"
        found.append(Problem(f"{where}, outside", off[0].given, wanted, "Give the month's mean, with its unit."))
        return ()
    days = []
    for key in ("season.cluster", "season.syrup_coldest"):
        row = fact(key)
        day = last_day_above(table.outside, (float(row.measure("°F")) - 32) / 1.8)
        days.append(LastDay(day, f"{row.what.rstrip('.')}: {row.value} ({row.cite})"))
    return tuple(days)


def last_day_above(outside: tuple[Temperature, ...], celsius: float) -> tuple[int, int] | None:
    """The last day (month, day) after the warmest month on which the mean temperature is at least `celsius`.

    The mean of each month is assigned to its 15th day and interpolated linearly, in a year of 365 days. Returns None if
    no day of the year is that warm, or if every day is.
    """
    middles = [date(2025, month, 15) for month in range(1, 13)]
    warmest = max(range(12), key=lambda n: outside[n].celsius)
    if outside[warmest].celsius < celsius:
        return None
    day = middles[warmest]
    for step in range(366):
        now = day + timedelta(step)
        if _mean(outside, now) < celsius:
            before = now - timedelta(1)
            return before.month, before.day
    return None


def _mean(outside: tuple[Temperature, ...], day: date) -> float:
    month, year = (day.month, day.year) if day.day >= 15 else ((day.month - 2) % 12 + 1, day.year - (day.month == 1))
    start = date(year, month, 15)
    end = date(year + month // 12, month % 12 + 1, 15)
    share = (day - start).days / (end - start).days
    low, high = outside[month - 1].celsius, outside[month % 12].celsius
    return low + (high - low) * share
