"""Reads the facts. Each fact is one row of a table, with its source and its place in the source.

The tables are TOML files next to this one. A row has these columns: key, value (text with its unit), one sentence,
source, locator, trust. `source` names a row of sources.toml or is one of four terms: "common practice" (a rule of thumb
without a published source), "from memory" (remembered, not yet found in print), "computed" (arithmetic on other rows,
given in the column `from`) and "defined" (true by definition).
"""

import tomllib
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from functools import cache
from importlib import resources
from typing import Any

from woodshop.units.lengths import (
    LITRES_PER_US_CUP,
    Density,
    Length,
    Mass,
    Volume,
    exact,
    litres,
    read_length,
    read_mass,
    unit_of_lengths,
)
from woodshop.units.wording import Wording, wording_of

TABLES = (
    "boxes",
    "lumber",
    "mesh",
    "limits",
    "practice",
    "syrup",
    "wood",
    "heat",
    "shop",
    "strays",
    "season",
    "tools",
    "screws",
    "patterns",
)
TRUSTS = {
    "R": "read in the source itself",
    "S": "read in a page that reports it, or in one with no source of its own",
    "M": "from memory, not yet found in print",
    "C": "common practice, no source",
    "calc": "computed here",
}
WORDS = ("common practice", "from memory", "computed", "defined")
ORIGINS = ("published", "common practice, no source", "from memory", "computed")

_COLUMNS = ("key", "value", "what", "source", "locator", "trust")
_CUPS = {"cup": Fraction(1), "cups": Fraction(1), "tablespoon": Fraction(1, 16), "tablespoons": Fraction(1, 16)}


@dataclass(frozen=True, slots=True)
class Source:
    """A source that people can look up, with its author, title and date."""

    id: str
    author: str
    title: str
    year: str = ""

    @property
    def cite(self) -> str:
        """Author, title and year as one phrase."""
        return ", ".join(text for text in (self.author, self.title, self.year) if text)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One row of a table. `more` holds the columns that only some rows have, in the order of the file."""

    key: str
    value: str
    what: str
    source: str
    locator: str
    trust: str
    table: str
    more: tuple[tuple[str, str], ...] = ()

    @property
    def length(self) -> Length:
        """The value as an exact length. Raises ValueError if it is not a length."""
        return read_length(self._with_unit())

    def length_in(self, unit: str) -> Length:
        """The exact length for a design in this unit.

        In millimeters, this is the row's `metric` size, if the row has one.
        """
        return self.length if self.value_in(unit) == self.value else read_length(self.value_in(unit))

    def value_in(self, unit: str) -> str:
        """The value as text for a design in this unit: in millimeters the row's `metric` value, if the row has one."""
        return (self.column("metric") if unit == "mm" else "") or self.value

    @property
    def is_own(self) -> bool:
        """Whether the value is ours, without a published source."""
        return self.source in WORDS

    def worded(self, wording: Wording) -> str:
        """The value as text: a published one as it is quoted, one of our own in the unit of the texts alone."""
        return wording.said(self.value) if self.is_own else wording.quoted(self.value)

    @property
    def mass(self) -> Mass:
        """The value as an exact mass. Raises ValueError if it is not a mass."""
        return read_mass(self.value)

    def mass_in(self, unit: str) -> Mass:
        """The exact mass for a design in this unit; see `value_in`."""
        return read_mass(self.value_in(unit))

    @property
    def number(self) -> Fraction:
        """The value as a bare number; a percentage becomes a fraction of 1. Raises ValueError.

        >>> fact("quilt.hole_count").number, fact("sugar.spill").number
        (Fraction(4, 1), Fraction(1, 50))
        """
        text, percent = (self.value[:-1].strip(), True) if self.value.endswith("%") else (self.value, False)
        try:
            return exact(text) / 100 if percent else exact(text)
        except ValueError:
            raise ValueError(f"{self.key}: {self.value!r} is not a number") from None

    @property
    def density(self) -> Density:
        """The value in kilograms per liter. Raises ValueError."""
        number, _, unit = self.value.partition(" ")
        if unit != "kg/L":
            raise ValueError(f"{self.key}: {self.value!r} is not a density in kg/L")
        return Density(exact(number))

    @property
    def volume(self) -> Volume:
        """The value as a volume: US cups, or tablespoons of 1/16 cup. Raises ValueError."""
        number, _, unit = self.value.rpartition(" ")
        if unit not in _CUPS:
            raise ValueError(f"{self.key}: {self.value!r} is not a volume in cups or tablespoons")
        count = sum((exact(part) for part in number.split()), Fraction(0))
        return litres(count * _CUPS[unit] * LITRES_PER_US_CUP)

    @property
    def range(self) -> tuple[Length, Length]:
        """The minimum and maximum of a value such as "1/4 to 3/8 in". Raises ValueError.

        >>> [str(end) for end in fact("bee_space.band.most_quoted").range]
        ['1/4 in', '3/8 in']
        """
        least, to, rest = self.value.partition(" to ")
        most, _, unit = rest.rpartition(" ")
        if not to or not most:
            raise ValueError(f"{self.key}: {self.value!r} is not a range such as '1/4 to 3/8 in'")
        return read_length(f"{least} {unit}"), read_length(rest)

    def measure(self, unit: str) -> Fraction:
        """The value as a number of `unit`. Raises ValueError if the value has another unit.

        >>> fact("heat.film_up").measure("h ft2 F/Btu")
        Fraction(61, 100)
        """
        number, _, given = self.value.partition(" ")
        if given != unit:
            raise ValueError(f"{self.key}: {self.value!r} is not a number of {unit}")
        return exact(number)

    @property
    def origin(self) -> str:
        """Where the value comes from: one of ORIGINS."""
        return origin(self.source)

    @property
    def cite(self) -> str:
        """The source of the value, as text.

        >>> fact("sugar.per_ten_frame_board").cite
        'Piney Woods Beekeepers, Candy Board Feeder and Recipe, full 10-frame board'
        >>> fact("saw.kerf").cite
        'common practice, no source'
        """
        return cite(self.source, self.locator, self.trust)

    def column(self, name: str) -> str:
        """A column that only some rows have, or "" if this row has none."""
        return dict(self.more).get(name, "")

    def _with_unit(self) -> str:
        # A bare number could be read as inches; a count must never become a length.
        if self.value.replace("/", "").replace(".", "").replace(" ", "").isdigit():
            raise ValueError(f"{self.key}: {self.value!r} has no unit of length")
        return self.value


def fact(key: str) -> Fact:
    """The row with this key. Raises KeyError (a programming error), with suggestions of similar keys.

    >>> print(fact("box.length").length)
    19 7/8 in
    """
    rows = _facts()
    if key not in rows:
        close = get_close_matches(key, rows, 3, 0.5)
        raise KeyError(f"no fact {key!r}" + (f"; did you mean {' or '.join(close)}?" if close else ""))
    return rows[key]


def has_fact(key: str) -> bool:
    """Whether a row has this key."""
    return key in _facts()


def all_facts() -> tuple[Fact, ...]:
    """Every fact, in the order of TABLES and of the rows in each file."""
    return tuple(_facts().values())


def facts_in(table: str) -> tuple[Fact, ...]:
    """The rows of one table, in the order of its file. Raises KeyError."""
    if table not in TABLES:
        raise KeyError(f"no table {table!r}; there are {', '.join(TABLES)}")
    return tuple(row for row in all_facts() if row.table == table)


def group(prefix: str) -> tuple[Fact, ...]:
    """The row with the key `prefix` and the rows below it, such as "box.height_deep" and "box.height_deep.manual"."""
    return tuple(row for row in all_facts() if row.key == prefix or row.key.startswith(f"{prefix}."))


def source(id: str) -> Source:
    """The source with this id. Raises KeyError if there is none."""
    return _sources()[id]


def sources() -> tuple[Source, ...]:
    """All sources, in the order of sources.toml."""
    return tuple(_sources().values())


def count_by_origin() -> dict[str, int]:
    """The number of facts of each origin: published, common practice, from memory and computed."""
    counts = dict.fromkeys(ORIGINS, 0)
    for row in all_facts():
        counts[row.origin] += 1
    return counts


def read_table(name: str) -> dict[str, Any]:
    """The contents of the TOML file with this name, with decimals as text."""
    text = (resources.files("woodshop.reference") / f"{name}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text, parse_float=str)


def origin(source: str) -> str:
    """The origin (one of ORIGINS) of a row with this source."""
    words = {"common practice": 1, "from memory": 2, "computed": 3, "defined": 3}
    return ORIGINS[words.get(source, 0)]


def cite(source: str, locator: str, trust: str) -> str:
    """Source and locator as text, with metric sizes where a text is in millimeters.

    Raises KeyError for an unknown source.
    """
    wording = wording_of(unit_of_lengths())
    if source == "common practice":
        return "common practice, no source" + (f" ({wording.said(locator)})" if locator else "")
    if source in WORDS:
        return f"{source}: {wording.quoted(locator)}" if locator else source
    named = _sources()[source].cite
    if locator not in named:
        named = f"{named}, {locator}"
    return wording.quoted(named) + (" (secondary source)" if trust == "S" else "")


@cache
def _facts() -> dict[str, Fact]:
    rows: dict[str, Fact] = {}
    for table in TABLES:
        for record in read_table(table)["fact"]:
            more = tuple((name, text) for name, text in record.items() if name not in _COLUMNS)
            row = Fact(**{name: record[name] for name in _COLUMNS}, table=table, more=more)
            if row.key in rows:
                raise ValueError(f"two rows have the key {row.key!r}: {rows[row.key].table} and {table}")
            rows[row.key] = row
    return rows


@cache
def _sources() -> dict[str, Source]:
    return {record["id"]: Source(**record) for record in read_table("sources")["source"]}
