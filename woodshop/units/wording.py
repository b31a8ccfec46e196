"""How quantities and dates are printed: in inches or millimeters, to the marks of a tape, and optionally in both units.

The settled batch creates one `Wording`, which is passed to everything that prints a quantity.
"""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from math import floor
from typing import Literal

from woodshop.units.lengths import (
    GRAMS_PER_POUND,
    LITRES_PER_US_CUP,
    NUMBER,
    Area,
    Length,
    Mass,
    Volume,
    decimals,
    fraction,
    inch,
    millimetre,
    read_length,
    size_name,
)

LengthUnit = Literal["in", "mm"]
_SIXTEENTH = inch("1/16")
_WOOD_STEP, _FIT_STEP = millimetre(1), millimetre("1/2")
_MEASURES = r"in|ft|feet|square foot|lb|pounds|oz|cups?|tablespoons?|quarts?|gallons?|F|°F"
_MEASURE = rf"(?<![\w/.#-])({NUMBER}|One)(?:(?: in)? (to|by|x) ({NUMBER}))? (US )?({_MEASURES})\b"
_MEASURED = re.compile(rf"{_MEASURE}(?! \([\d.]| 1,000| 100\b)")
_WITH_METRIC = re.compile(rf"({_MEASURE}) \(([\d.]+(?: (?:to|by|x) [\d.]+)? (?:mm|cm|m|g|kg|mL|L|°C))\)")
_STRESS = re.compile(r"(?<![\w.,])(?<!\d )(\d[\d,]*)(?: (of|to) (\d[\d,]*))? psi\b(?! \()")
_IN_BOTH = re.compile(r"(?:mm|cm|m|g|kg|mL|L|°C|cm²|MPa|GPa) \($")
_LITRES = {
    "cup": Fraction(1),
    "tablespoon": Fraction(1, 16),
    "quart": Fraction(4),
    "gallon": Fraction(16),
}  # in US cups
_LUMBER = re.compile(r"\b([12])x(2|3|4|6|8|10|12)\b(?! \()")
_DRESSED = {  # whole millimeters, from NIST PS 20
    "thick": {"1": 19, "2": 38},
    "wide": {"2": 38, "3": 64, "4": 89, "6": 140, "8": 184, "10": 235, "12": 286},
}
_GRAMS = {"lb": GRAMS_PER_POUND, "pounds": GRAMS_PER_POUND, "oz": GRAMS_PER_POUND / 16}


@dataclass(frozen=True, slots=True)
class Wording:
    """The way a design prints quantities.

    `unit` is the unit of lengths, `mark` is the smallest mark of the tape, and `both` shows both units. Masses, areas,
    volumes and temperatures follow the unit: pounds and °F with inches, kilograms and °C with millimeters. Money is
    printed in its own currency. If `shown` is given, texts use that unit instead; sizes, their rounding and what is
    written into a design file remain in `unit`, the unit of the design.

    >>> Wording("in", shown="mm").length(inch("3/8")), Wording("in", shown="mm").unit
    ('9.5 mm', 'in')
    """

    unit: LengthUnit = "in"
    mark: Length = _SIXTEENTH
    both: bool = False
    shown: LengthUnit | None = None

    @property
    def of_texts(self) -> LengthUnit:
        """The unit of lengths in texts."""
        return self.shown or self.unit

    @property
    def is_metric(self) -> bool:
        """Whether texts have lengths in millimeters."""
        return self.of_texts == "mm"

    @property
    def other(self) -> LengthUnit:
        """The other unit, which is in brackets if both units are printed."""
        return "in" if self.is_metric else "mm"

    def number(self, length: Length) -> str:
        """A length without its unit."""
        return length.number(self.of_texts)

    def length(self, length: Length) -> str:
        """A length as text.

        >>> Wording().length(inch("3/8")), Wording("mm").length(inch("3/8"))
        ('3/8 in', '9.5 mm')
        """
        return length.text(self.of_texts)

    def exact(self, length: Length) -> str:
        """A length as given, not rounded to a tenth of a millimeter.

        >>> Wording("mm").exact(millimetre("0.25")), Wording("mm").length(millimetre("0.25"))
        ('0.25 mm', '0.2 mm')
        """
        return size_name(length, "mm") if self.is_metric else self.length(length)

    def range(self, lengths: Iterable[Length]) -> str:
        """The range of the lengths as text.

        >>> Wording().range([inch("1/2"), inch("1/4")]), Wording().range([inch("1/4")])
        ('1/4 to 1/2 in', '1/4 in')
        """
        each = tuple(lengths)
        least, most = min(each), max(each)
        return self.length(most) if least == most else f"{self.number(least)} to {self.length(most)}"

    def about(self, length: Length) -> str:
        """A length that no cut needs exactly, rounded to 1/100 in or a tenth of a millimeter.

        >>> Wording().about(inch("1/8")), Wording("mm").about(inch("1/8"))
        ('0.13 in', '3.2 mm')
        """
        value, places = (length.mm, 1) if self.is_metric else (length.inches, 2)
        return f"{Decimal(floor(value * 10**places + Fraction(1, 2))).scaleb(-places):.{places}f} {self.of_texts}"

    def roughly(self, length: Length) -> str:
        """A length for reference next to a drawing, rounded to 1/100 in or a whole millimeter."""
        return f"{round(length.mm)} mm" if self.is_metric else f"{float(length.inches):.2f} in"

    def roughly_on_tape(self, length: Length) -> str:
        """A length for reference next to a drawing; in inches, with the nearest mark of the tape."""
        text = self.roughly(length)
        return text if self.is_metric else f"{text} ({self.number(nearest(length, self.mark))})"

    def on_tape(self, length: Length) -> str:
        """A length rounded to the smallest mark of the tape."""
        return self.length(nearest(length, self.mark))

    def made(self, length: Length) -> Length:
        """A size that we choose, rounded down to what a metric shop makes: a whole millimeter; in inches as it is.

        >>> Wording("mm").made(inch("18 1/8")).text("mm"), Wording().made(inch("18 1/8")).text()
        ('460 mm', '18 1/8 in')
        """
        return length.down_to(_WOOD_STEP) if self.unit == "mm" else length

    def inward(self, least: Length, most: Length) -> tuple[Length, Length]:
        """The ends of a band as a metric shop makes them: half millimeters inside it; in inches as they are.

        >>> [each.text("mm") for each in Wording("mm").inward(inch("1/4"), inch("3/8"))]
        ['6.5 mm', '9.5 mm']
        """
        return (least, most) if self.unit == "in" else (least.up_to(_FIT_STEP), most.down_to(_FIT_STEP))

    def on_drill(self, size: Length) -> str:
        """The size of a drill: to the nearest 1/64 in or 0.5 mm, as drills are sold.

        In an inch design, a hole drawn in millimeters keeps that name: "9 mm (23/64 in)".
        """
        text = self.length(nearest(size, millimetre("1/2") if self.is_metric else inch("1/64")))
        return f"{drawn} ({text})" if (drawn := self.bore(size)).endswith(" mm") else text

    def pair(self, length: Length) -> str:
        """A length in the unit of the drawing, with the other unit in brackets if both are printed."""
        return f"{self.length(length)} {self.bracketed(length)}" if self.both else self.length(length)

    def pair_number(self, length: Length) -> str:
        """A length in a drawing, without its unit; if both units are printed, the other one is in brackets."""
        return f"{self.number(length)} {self.bracketed(length)}" if self.both else self.number(length)

    def bracketed(self, length: Length) -> str:
        """A length in the other unit, in brackets: millimeters to a tenth, inches unrounded."""
        return f"[{length.number()}]" if self.is_metric else f"[{decimals(length.mm, 1)}]"

    def bore(self, diameter: Length) -> str:
        """The diameter of a hole, with its unit if the design uses another one. Drills come in mm or 1/64 in steps."""
        if not self.is_metric and (diameter.inches * 64).denominator != 1 and diameter.mm.denominator == 1:
            return diameter.text("mm")
        return self.pair_number(diameter)

    def drill(self, diameter: Length) -> str:
        """The diameter of a hole as `bore` gives it, always with its unit; the nearest drill if `bore` is metric."""
        return self.on_drill(diameter) if self.bore(diameter).endswith(" mm") else self.pair(diameter)

    def quoted(self, text: str) -> str:
        """A quotation from a source; in a metric design, its inches, pounds, cups, °F and psi are in brackets.

        A source with both units has them in the same order.

        >>> Wording().quoted("1/4 to 3/8 in"), Wording("mm").quoted("1/4 to 3/8 in, or about 3/16 in")
        ('1/4 to 3/8 in', '6.4 to 9.5 mm (1/4 to 3/8 in), or about 4.8 mm (3/16 in)')
        >>> Wording("mm").quoted("2 to 4 lb a month, in air of 70 F, at 40000 psi")
        '0.9 to 1.8 kg (2 to 4 lb) a month, in air of 21 °C (70 F), at 276 MPa (40000 psi)'
        """
        return self._converted(text, lambda found, metric: f"{metric} ({found})")

    def said(self, text: str) -> str:
        """What we say ourselves, without a source: in a metric design, in metric units alone.

        The name of a board by its inches keeps its name, with the dressed size beside it.

        >>> Wording().said("8 ft"), Wording("mm").said("8 ft"), Wording("mm").said("1/2 to 3/4 in, 3 cups")
        ('8 ft', '2.4 m', '12.7 to 19 mm, 0.71 L')
        >>> Wording("mm").said("the end of a 2x4")
        'the end of a 2x4 (38 x 89 mm)'
        """
        return self._converted(text, lambda found, metric: metric)

    def _converted(self, text: str, written: Callable[[str, str], str]) -> str:
        """In a metric design, the text with each measure as `written` from its own words and the metric ones."""
        if not self.is_metric:
            return text

        def put(found: re.Match[str]) -> str:
            if _IN_BOTH.search(found.string, 0, found.start()):
                return found[0]
            converted = _in_megapascals if found.re is _STRESS else _in_metric
            return written(found[0], converted(found))

        text = _WITH_METRIC.sub(lambda found: written(found[1], found[7]), text)
        return _LUMBER.sub(_with_dressed, _STRESS.sub(put, _MEASURED.sub(put, text)))

    def area(self, area: Area) -> str:
        """An area to two decimals: square inches, or square centimeters."""
        return area.text(self.of_texts)

    def mass(self, mass: Mass) -> str:
        """A mass to two decimals: pounds or kilograms."""
        return mass.text("kg" if self.is_metric else "lb")

    def loose(self, volume: Volume, places: int) -> str:
        """A volume of loose goods: liters, or cubic feet with one more decimal."""
        return volume.loose(self.of_texts, places)

    def temperature(self, celsius: float) -> str:
        """A temperature, rounded to a whole degree.

        >>> Wording().temperature(-6.0), Wording("mm").temperature(-6.0)
        ('21 °F', '-6 °C')
        """
        return f"{round(celsius)} °C" if self.is_metric else f"{round(celsius * 1.8 + 32)} °F"


INCHES = Wording()


def wording_of(unit: str) -> Wording:
    """The wording for a design in this unit. Raises ValueError unless the unit is "in" or "mm"."""
    if unit == "in":
        return INCHES
    if unit == "mm":
        return Wording("mm")
    raise ValueError(f"unit {unit!r}: wanted 'in' or 'mm'")


def with_article(text: str) -> str:
    """The text after "a" or, if it is spoken with a vowel first, "an".

    >>> [with_article(text) for text in ("8 mm", "6 mm", "11 mm", "110 mm", "18 mm", "81 mm", "item")]
    ['an 8 mm', 'a 6 mm', 'an 11 mm', 'a 110 mm', 'an 18 mm', 'an 81 mm', 'an item']
    """
    return f"{'an' if re.match(r'[aeio]|8|1[18](?![0-9])', text) else 'a'} {text}"


def nearest(length: Length, mark: Length) -> Length:
    """A length rounded to the nearest whole number of marks."""
    return (length + mark / 2).down_to(mark)


def _with_dressed(found: re.Match[str]) -> str:
    return f"{found[0]} ({_DRESSED['thick'][found[1]]} x {_DRESSED['wide'][found[2]]} mm)"


def _in_metric(found: re.Match[str]) -> str:
    """The measure that was found, in metric units."""
    numbers = [each for each in (found[1], found[3]) if each]
    kind, between = found[5], f" {found[2]} "
    values = [Fraction(1) if each == "One" else fraction(each, each) for each in numbers]
    if kind == "square foot":
        return f"{between.join(str(round(value * (inch(12).mm / 10) ** 2)) for value in values)} cm\u00b2"
    if kind == "in":
        return f"{between.join(read_length(each, 'in').number('mm') for each in numbers)} mm"
    if kind in ("ft", "feet"):
        return f"{between.join(decimals(value * 12 * inch(1).mm / 1000, 1) for value in values)} m"
    if kind in ("F", "°F"):
        return f"{between.join(str(round((value - 32) * 5 / 9)) for value in values)} °C"
    if kind in _GRAMS:
        grams = [value * _GRAMS[kind] for value in values]
        if max(grams) < 500:
            return f"{between.join(decimals(each, 0) for each in grams)} g"
        return f"{between.join(decimals(each / 1000, 1) for each in grams)} kg"
    litres = [value * _LITRES[kind.removesuffix("s")] * LITRES_PER_US_CUP for value in values]
    if max(litres) < Fraction(1, 5):
        return f"{between.join(decimals(each * 1000, 0) for each in litres)} mL"
    return f"{between.join(decimals(each, 2) for each in litres)} L"


def _in_megapascals(found: re.Match[str]) -> str:
    """The stress that was found, in megapascals, or in gigapascals if it is large."""
    values = [int(each.replace(",", "")) * 0.00689476 for each in (found[1], found[3]) if each]
    unit, of = ("GPa", 1000) if min(values) >= 1000 else ("MPa", 1)
    return f"{f' {found[2]} '.join(f'{value / of:,.3g}' if of > 1 else f'{value:,.0f}' for value in values)} {unit}"


_MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def date_text(day: date) -> str:
    """A date, written out.

    >>> date_text(date(2026, 3, 5))
    'March 5, 2026'
    """
    return f"{_MONTHS[day.month - 1]} {day.day}, {day.year}"


def in_short(day: date) -> str:
    """A date in short form.

    >>> in_short(date(2026, 3, 5))
    'Mar 5, 2026'
    """
    return f"{_MONTHS[day.month - 1][:3]} {day.day}, {day.year}"


def clock_text(moment: datetime) -> str:
    """A time of day.

    >>> clock_text(datetime(2026, 3, 5, 9)), clock_text(datetime(2026, 3, 5, 12, 30)), clock_text(datetime(2026, 3, 5))
    ('9 am', '12:30 pm', 'midnight')
    """
    named = {(0, 0): "midnight", (12, 0): "noon"}.get((moment.hour, moment.minute))
    minutes = f":{moment.minute:02}" if moment.minute else ""
    text = named or f"{(moment.hour - 1) % 12 + 1}{minutes} {'am' if moment.hour < 12 else 'pm'}"
    return f"{text} (the second time)" if moment.fold else text  # when clocks go back, an hour occurs twice


def span_text(start: datetime, end: datetime) -> str:
    """A span between two times of a day.

    >>> span_text(datetime(2026, 3, 5, 9), datetime(2026, 3, 5, 11, 30))
    '9 to 11:30 am'
    >>> span_text(datetime(2026, 3, 5, 9), datetime(2026, 3, 5, 16, 30))
    '9 am to 4:30 pm'
    """
    first, last = clock_text(start), clock_text(end)
    half = first[-3:]
    return f"{first.removesuffix(half) if half in (' am', ' pm') and last.endswith(half) else first} to {last}"


def minutes_text(minutes: int) -> str:
    """A length of time in hours and minutes.

    >>> minutes_text(140), minutes_text(45), minutes_text(120)
    ('2 h 20 min', '45 min', '2 h')
    """
    hours, rest = divmod(minutes, 60)
    return " ".join([f"{hours:,} h"] * bool(hours) + [f"{rest} min"] * bool(rest or not hours))


WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def weekday_text(day: date) -> str:
    """The day of the week with the date.

    >>> weekday_text(date(2026, 3, 5))
    'Thursday, March 5'
    """
    return f"{WEEKDAYS[day.weekday()]}, {_MONTHS[day.month - 1]} {day.day}"


def weekday_in_short(day: date) -> str:
    """The day of the week with the date in short form.

    >>> weekday_in_short(date(2026, 3, 5))
    'Thu, Mar 5'
    """
    return f"{WEEKDAYS[day.weekday()][:3]}, {_MONTHS[day.month - 1][:3]} {day.day}"
