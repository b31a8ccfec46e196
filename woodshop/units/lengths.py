"""Exact lengths, areas, volumes, masses and money: reading, calculating and printing.

A length is an exact rational number of millimeters; one inch is 127/5 mm by definition (international yard and pound
agreement, 1959). Nothing here is a float.
"""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Self, overload

_VULGAR = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
    "⅓": "1/3", "⅔": "2/3", "⅙": "1/6", "⅚": "5/6", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5",
    "⅐": "1/7", "⅑": "1/9", "⅒": "1/10",
}  # fmt: skip
NUMBER = r"\d+\s+\d+/\d+|\d+-\d+/\d+|\d+/\d+|\d+\.\d+|\.\d+|\d+"
_ON_A_TAPE = ("2", "4", "8", "16", "32", "64")
_TERM = re.compile(rf"\s*({NUMBER})\s*(inches|inch|in\b\.?|feet|foot|ft\b\.?|mm\b|cm\b|m\b|\"|')?\s*-?\s*", re.I)


def plain(text: str) -> str:
    """The text with typographic fractions and quotation marks replaced by plain ones."""
    found = text.strip()
    for mark, ascii_mark in (("⁄", "/"), ("″", '"'), ("”", '"'), ("“", '"'), ("′", "'"), ("’", "'"), ("''", '"')):
        found = found.replace(mark, ascii_mark)
    for mark, written in _VULGAR.items():
        found = re.sub(rf"(\d)?\s*-?\s*{mark}", lambda m, f=written: f"{m[1] or ''} {f}", found)  # type: ignore[misc]
    return found.strip()


def terms(text: str) -> list[tuple[Fraction, str]]:
    """The numbers in a length, each with its unit in lower case ("" if it has no unit). Raises ValueError."""
    line = plain(text)
    found: list[tuple[Fraction, str]] = []
    at = 0
    while at < len(line):
        match = _TERM.match(line, at)
        if not match:
            break
        found.append((_typed(match[1], text), (match[2] or "").lower().rstrip(".")))
        at = match.end()
    if at < len(line) or not found or line.endswith("-"):
        raise ValueError(f"{text!r} is not a length")
    return found


def fraction(number: str, text: str) -> Fraction:
    """The value of one number; messages quote the full `text`. Raises ValueError."""
    whole, rest = 0, number
    mixed = re.fullmatch(r"(\d+)(?:\s+|-)(\d+/\d+)", number)
    if mixed:
        whole, rest = int(mixed[1]), mixed[2]
    if "/" in rest:
        top, bottom = rest.split("/")
        if int(bottom) == 0:
            raise ValueError(f"{text!r} divides by nothing")
        if mixed and int(top) >= int(bottom):
            raise ValueError(f"{text!r}: the fraction {rest} is not less than one")
    return whole + Fraction(rest)


def _typed(number: str, text: str) -> Fraction:
    """The value of one number that a person typed. Raises ValueError also if a space may be missing in it: 161/4."""
    run = re.fullmatch(r"(\d+)/(\d+)", number)
    value = fraction(number, text)
    top, bottom = run.groups() if run and value > 1 and run[2] in _ON_A_TAPE else ("", "0")
    ways = [(top[:n], top[n:]) for n in range(1, len(top)) if top[n] != "0" and int(top[n:]) < int(bottom)]
    meant = [f"{whole} {rest}/{bottom}" for whole, rest in ways if int(whole)]
    if meant:
        exactly = f"{value // 1} {value % 1}" if value.denominator > 1 else f"{value}"
        raise ValueError(f"{text!r} is {exactly} as it is written. Did you mean {' or '.join(meant)}?")
    return value


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


MM_PER_INCH = Fraction(127, 5)
GRAMS_PER_POUND = Fraction(45359237, 100000)
LITRES_PER_US_CUP = Fraction(473176473, 2000000000)
LONGEST = Fraction(100_000)  # mm; longer than anything in a shop, to catch a misplaced decimal point

Exact = int | Fraction | str


def exact(value: Exact) -> Fraction:
    """The exact rational value of a whole number, a fraction or decimal text. Raises TypeError for a float.

    >>> exact("16.25"), exact(3)
    (Fraction(65, 4), Fraction(3, 1))
    """
    if isinstance(value, float):
        raise TypeError(f"{value!r} is a float; give a whole number, a Fraction or text")
    return Fraction(value)


@dataclass(frozen=True, slots=True)
class Length:
    """An exact length. `mm` is a rational number of millimeters."""

    mm: Fraction

    def __post_init__(self) -> None:
        if not isinstance(self.mm, Fraction):
            raise TypeError(f"a Length holds a Fraction of millimetres, not {self.mm!r}")

    # Compare and hash by whole numbers: same result as by fractions, in a third of the time.
    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Length):
            return NotImplemented
        return self.mm is other.mm or self.mm.as_integer_ratio() == other.mm.as_integer_ratio()

    def __hash__(self) -> int:
        return hash(self.mm.as_integer_ratio())

    def __lt__(self, other: object) -> bool:
        if not isinstance(other, Length):
            return NotImplemented
        return self.mm.numerator * other.mm.denominator < other.mm.numerator * self.mm.denominator

    def __le__(self, other: object) -> bool:
        if not isinstance(other, Length):
            return NotImplemented
        return self.mm.numerator * other.mm.denominator <= other.mm.numerator * self.mm.denominator

    def __gt__(self, other: object) -> bool:
        if not isinstance(other, Length):
            return NotImplemented
        return self.mm.numerator * other.mm.denominator > other.mm.numerator * self.mm.denominator

    def __ge__(self, other: object) -> bool:
        if not isinstance(other, Length):
            return NotImplemented
        return self.mm.numerator * other.mm.denominator >= other.mm.numerator * self.mm.denominator

    def __add__(self, other: "Length") -> "Length":
        return Length(self.mm + other.mm)

    def __sub__(self, other: "Length") -> "Length":
        return Length(self.mm - other.mm)

    def __neg__(self) -> "Length":
        return Length(-self.mm)

    def __abs__(self) -> "Length":
        return Length(abs(self.mm))

    def __bool__(self) -> bool:
        return self.mm.numerator != 0

    @overload
    def __mul__(self, other: "Length") -> "Area": ...
    @overload
    def __mul__(self, other: int | Fraction) -> "Length": ...
    def __mul__(self, other: "Length | int | Fraction") -> "Length | Area":
        if isinstance(other, Length):
            return Area(self.mm * other.mm)
        return Length(self.mm * (other if isinstance(other, int) else exact(other)))

    def __rmul__(self, other: int | Fraction) -> "Length":
        return Length(self.mm * exact(other))

    @overload
    def __truediv__(self, other: "Length") -> Fraction: ...
    @overload
    def __truediv__(self, other: int | Fraction) -> "Length": ...
    def __truediv__(self, other: "Length | int | Fraction") -> "Length | Fraction":
        if isinstance(other, Length):
            return self.mm / other.mm
        return Length(self.mm / (other if isinstance(other, int) else exact(other)))

    def __floordiv__(self, other: "Length") -> int:
        return self.mm // other.mm

    @property
    def inches(self) -> Fraction:
        """This length in inches, exactly."""
        return self.mm / MM_PER_INCH

    def down_to(self, mark: "Length") -> "Length":
        """The length rounded down to a whole number of marks.

        >>> print(inch("1.3").down_to(inch("1/16")))
        1 1/4 in
        """
        return mark * (self // mark)

    def up_to(self, mark: "Length") -> "Length":
        """The length rounded up to a whole number of marks."""
        return mark * -((-self) // mark)

    def text(self, unit: str = "in", finest: int = 64) -> str:
        """The length as text, with its unit; see `number`."""
        return f"{self.number(unit, finest)} {unit}"

    def number(self, unit: str = "in", finest: int = 64) -> str:
        """The length without its unit: a whole number and fraction of inches, or millimeters to a tenth.

        A size that is not a multiple of 1/`finest` in is printed as a decimal, so that nobody takes it for a mark on a
        tape.

        >>> inch("14 3/4").number(), inch(3).number(), millimetre("3.54").number("mm"), millimetre(4).number()
        ('14 3/4', '3', '3.5', '0.157')
        """
        if unit == "mm":
            return decimals(self.mm, 1)
        if unit != "in":
            raise ValueError(f"unit {unit!r}: wanted 'in' or 'mm'")
        sign, value = ("-", -self.inches) if self.mm < 0 else ("", self.inches)
        if (value * finest).denominator != 1:
            return sign + decimals(value, 3)
        whole, rest = divmod(value, 1)
        if not rest:
            return f"{sign}{whole}"
        return f"{sign}{f'{whole} ' if whole else ''}{rest.numerator}/{rest.denominator}"

    def __str__(self) -> str:
        return self.text(_LENGTHS_IN.get())

    def __repr__(self) -> str:
        return f"Length({self.text()})"


_LENGTHS_IN: ContextVar[str] = ContextVar("unit of lengths in sentences", default="in")


@contextmanager
def lengths_in(unit: str) -> Iterator[None]:
    """Within the block, text shows lengths in `unit` ("in" or "mm"), the unit of the design.

    >>> with lengths_in("mm"):
    ...     print(f"{inch(1)} of head room")
    25.4 mm of head room
    """
    before = _LENGTHS_IN.set(unit)
    try:
        yield
    finally:
        _LENGTHS_IN.reset(before)


def unit_of_lengths() -> str:
    """The unit of lengths in text: the unit of the current design."""
    return _LENGTHS_IN.get()


def size_name(length: Length, unit: str = "in") -> str:
    """A size as written in the names of goods sold in `unit`, from which the same size is read again.

    It is in inches if it is a multiple of 1/64 in, otherwise in millimeters; if `unit` is "mm", it is in millimeters
    wherever thousandths have it exactly.

    >>> size_name(inch("3/4")), size_name(millimetre(19)), size_name(inch("3/4"), "mm")
    ('3/4 in', '19 mm', '19.05 mm')
    """
    if unit == "mm" and (length.mm * 1000).denominator == 1:
        return f"{decimals(length.mm, 3)} mm"
    if (length.inches * 64).denominator == 1 or (length.mm * 100).denominator != 1:
        return length.text("in")
    return f"{decimals(length.mm, 2)} mm"


def inch(value: Exact) -> Length:
    """The length for a number of inches: a whole number, a Fraction, or text such as "16 1/4" or "0.041".

    >>> inch("16 1/4") == inch("16.25") == inch(Fraction(65, 4))
    True
    """
    if isinstance(value, str) and " " in value:
        whole, rest = value.split()
        return Length((Fraction(whole) + Fraction(rest)) * MM_PER_INCH)
    return Length(exact(value) * MM_PER_INCH)


def millimetre(value: Exact) -> Length:
    """The length for a number of millimeters."""
    return Length(exact(value))


ZERO = Length(Fraction(0))


@dataclass(frozen=True, slots=True, order=True)
class Area:
    """An exact area; `mm2` is a rational number of square millimeters."""

    mm2: Fraction

    def __add__(self, other: "Area") -> "Area":
        return Area(self.mm2 + other.mm2)

    def __sub__(self, other: "Area") -> "Area":
        return Area(self.mm2 - other.mm2)

    @overload
    def __mul__(self, other: Length) -> "Volume": ...
    @overload
    def __mul__(self, other: int | Fraction) -> "Area": ...
    def __mul__(self, other: "Length | int | Fraction") -> "Volume | Area":
        if isinstance(other, Length):
            return Volume(self.mm2 * other.mm)
        return Area(self.mm2 * exact(other))

    def __truediv__(self, other: Length) -> Length:
        return Length(self.mm2 / other.mm)

    @property
    def square_inches(self) -> Fraction:
        """This area in square inches, exactly."""
        return self.mm2 / MM_PER_INCH**2

    def text(self, unit: str = "in") -> str:
        """The area as text: square inches to two decimals or, if `unit` is "mm", square centimeters.

        Square centimeters have one decimal below 100 and none from there.

        >>> (inch(2) * inch(3)).text("in"), (inch(2) * inch(3)).text("mm")
        ('6 sq in', '38.7 cm\u00b2')
        """
        if unit == "mm":
            return f"{decimals(self.mm2 / 100, 1 if self.mm2 < 10_000 else 0)} cm\u00b2"
        return f"{decimals(self.square_inches, 2)} sq in"

    def __str__(self) -> str:
        return self.text()


@dataclass(frozen=True, slots=True, order=True)
class Volume:
    """An exact volume; `mm3` is a rational number of cubic millimeters."""

    mm3: Fraction

    def __add__(self, other: "Volume") -> "Volume":
        return Volume(self.mm3 + other.mm3)

    def __sub__(self, other: "Volume") -> "Volume":
        return Volume(self.mm3 - other.mm3)

    def __mul__(self, other: int | Fraction) -> "Volume":
        return Volume(self.mm3 * exact(other))

    def __truediv__(self, other: Area) -> Length:
        return Length(self.mm3 / other.mm2)

    @property
    def litres(self) -> Fraction:
        """This volume in liters, exactly."""
        return self.mm3 / 1_000_000

    @property
    def cubic_inches(self) -> Fraction:
        """This volume in cubic inches, exactly."""
        return self.mm3 / MM_PER_INCH**3

    def loose(self, unit: str, places: int) -> str:
        """Loose goods as text: liters to `places` if `unit` is "mm", else cubic feet to `places` + 1.

        >>> litres(203).loose("in", 0), litres(203).loose("mm", 0)
        ('7.2 cu ft', '203 L')
        """
        if unit == "mm":
            return f"{decimals(self.litres, places)} L"
        return f"{decimals(self.cubic_inches / 12**3, places + 1)} cu ft"

    @property
    def us_cups(self) -> Fraction:
        """This volume in US cups of 236.5882365 mL, exactly."""
        return self.litres / LITRES_PER_US_CUP


def litres(value: Exact) -> Volume:
    """The volume for a number of liters."""
    return Volume(exact(value) * 1_000_000)


@dataclass(frozen=True, slots=True, order=True)
class Mass:
    """An exact mass; `grams` is a rational number. One pound is 453.59237 g by definition."""

    grams: Fraction

    def __add__(self, other: "Mass") -> "Mass":
        return Mass(self.grams + other.grams)

    def __sub__(self, other: "Mass") -> "Mass":
        return Mass(self.grams - other.grams)

    @overload
    def __mul__(self, other: int | Fraction) -> "Mass": ...
    @overload
    def __mul__(self, other: "Mass") -> "Mass": ...
    def __mul__(self, other: "int | Fraction | Mass") -> "Mass":
        if isinstance(other, Mass):
            raise TypeError("a mass times a mass means nothing here")
        return Mass(self.grams * exact(other))

    @overload
    def __truediv__(self, other: "Mass") -> Fraction: ...
    @overload
    def __truediv__(self, other: int | Fraction) -> "Mass": ...
    def __truediv__(self, other: "Mass | int | Fraction") -> "Mass | Fraction":
        if isinstance(other, Mass):
            return self.grams / other.grams
        return Mass(self.grams / exact(other))

    @property
    def pounds(self) -> Fraction:
        """This mass in pounds, exactly."""
        return self.grams / GRAMS_PER_POUND

    def text(self, unit: str = "lb") -> str:
        """The mass as text, to two decimals of `unit`, "lb" or "kg"."""
        if unit not in ("lb", "kg"):
            raise ValueError(f"unit {unit!r}: wanted 'lb' or 'kg'")
        value = self.pounds if unit == "lb" else self.grams / 1000
        return f"{decimals(value, 2)} {unit}"

    def __str__(self) -> str:
        return self.text("kg" if _LENGTHS_IN.get() == "mm" else "lb")


def pound(value: Exact) -> Mass:
    """The mass for a number of pounds."""
    return Mass(exact(value) * GRAMS_PER_POUND)


@dataclass(frozen=True, slots=True, order=True)
class Density:
    """A mass per volume; `kg_per_litre` is exact."""

    kg_per_litre: Fraction

    def volume_of(self, mass: Mass) -> Volume:
        """The volume of this mass."""
        return Volume(mass.grams / 1000 / self.kg_per_litre * 1_000_000)

    def mass_of(self, volume: Volume) -> Mass:
        """The mass of this volume."""
        return Mass(volume.litres * self.kg_per_litre * 1000)

    def __str__(self) -> str:
        return f"{decimals(self.kg_per_litre, 3)} kg/L"


def decimals(value: Fraction, places: int) -> str:
    """The number as text, rounded half to even, without trailing zeros."""
    scaled = round(value * 10**places)
    digits = f"{abs(scaled):0{places + 1}d}"
    if not places:
        return str(scaled)
    text = f"{digits[:-places]}.{digits[-places:]}".rstrip("0").rstrip(".")
    return f"-{text}" if scaled < 0 else text


# ---- reading ---------------------------------------------------------------------------------

_UNITS = {
    "in": MM_PER_INCH, "inch": MM_PER_INCH, "inches": MM_PER_INCH, '"': MM_PER_INCH,
    "ft": MM_PER_INCH * 12, "foot": MM_PER_INCH * 12, "feet": MM_PER_INCH * 12, "'": MM_PER_INCH * 12,
    "mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000),
}  # fmt: skip
_MASS_UNITS = {
    "lb": GRAMS_PER_POUND, "lbs": GRAMS_PER_POUND, "oz": GRAMS_PER_POUND / 16,
    "kg": Fraction(1000), "g": Fraction(1),
}  # fmt: skip
LENGTH_WANTED = """a length such as 16 1/4, 16-1/4", 16.25 in, 413 mm or 1 ft 4 1/4 in"""


def mass_wanted(unit: str = "in") -> str:
    """What is wanted where a mass cannot be read, in a file with this unit of lengths."""
    return f"a mass with its unit, such as {'' if unit == 'mm' else '16 lb, 1 lb 13 oz or '}7.25 kg"


def length_wanted(unit: str = "in") -> str:
    """What is wanted where a length is refused, with examples for a file in this unit.

    >>> length_wanted("mm")
    'a length such as 413, 41.3 cm or 1.2 m'
    """
    return "a length such as 413, 41.3 cm or 1.2 m" if unit == "mm" else LENGTH_WANTED


@lru_cache(maxsize=4096)  # facts are read again for every gap in every hive
def read_length(text: str, unit: str = "in") -> Length:
    """Parses a length as a person writes it, without rounding. `unit` applies if the text gives none.

    Reads whole numbers, decimals, fractions and mixed numbers; in, ft, mm, cm, m and the prime marks; typographic
    fractions. Feet may be followed by inches only. Raises ValueError with a sentence that explains the problem.

    >>> [str(read_length(t)) for t in ('16 1/4', '16-1/4"', '16.25 in', '1 ft 4 1/4 in', '16¼')]
    ['16 1/4 in', '16 1/4 in', '16 1/4 in', '16 1/4 in', '16 1/4 in']
    >>> read_length("41.3 cm") == read_length("413", "mm")
    True
    """
    found = terms(text)
    if len(found) > 2 or (len(found) == 2 and (found[0][1] not in _FEET or found[1][1] not in _INCHES)):
        raise ValueError(f"{text!r} does not read as one length; only feet are followed by inches")
    total = Fraction(0)
    for number, name in found:
        total += number * _UNITS[name or unit]
    if len(found) == 2 and found[1][0] >= 12:
        raise ValueError(f"{text!r} has {found[1][0]} inches after the feet; wanted less than 12")
    if total > LONGEST:
        raise ValueError(f"{text!r} is longer than 100 m; is a decimal point or a unit missing?")
    return Length(total)


_FEET = ("ft", "foot", "feet", "'")
_INCHES = ("in", "inch", "inches", '"', "")


def read_mass(text: str) -> Mass:
    """Parses a mass as a person writes it, without rounding: a number with lb, oz, kg or g, or whole pounds and ounces.

    Raises ValueError.

    >>> print(read_mass("16 lb"), read_mass("7.25 kg").text("kg"), read_mass("1 lb 8 oz"))
    16 lb 7.25 kg 1.5 lb
    """
    match = re.fullmatch(rf"(?:(\d+)\s*lbs?\s*)?({NUMBER})\s*([a-z]+)", plain(text), re.I)
    if not match or match[3].lower() not in _MASS_UNITS or (match[1] and match[3].lower() != "oz"):
        raise ValueError(f"{text!r} is not a mass with its unit (lb, oz, kg or g, or pounds and ounces)")
    number = _typed(match[2], text)
    if match[1] and number >= 16:
        raise ValueError(f"{text!r} has {number} ounces after the pounds; wanted less than 16")
    return Mass(int(match[1] or 0) * GRAMS_PER_POUND + number * _MASS_UNITS[match[3].lower()])
