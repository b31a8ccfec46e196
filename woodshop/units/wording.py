"""How quantities and dates are printed: in inches or millimeters, to the marks of a tape, and optionally in both units.

The settled batch creates one `Wording`, which is passed to everything that prints a quantity.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from math import floor
from typing import Literal

from woodshop.units.lengths import NUMBER, Area, Length, Mass, Volume, decimals, inch, millimetre, read_length

LengthUnit = Literal["in", "mm"]
_SIXTEENTH = inch("1/16")
_IN_INCHES = re.compile(rf"(?<![\w/.-])(?:({NUMBER})(?: in)? to )?({NUMBER}) in\b(?! \([\d.])")


@dataclass(frozen=True, slots=True)
class Wording:
    """The way a design prints quantities.

    `unit` is the unit of lengths, `mark` is the smallest mark of the tape, and `both` shows both units. Masses, areas,
    volumes and temperatures follow the unit: pounds and °F with inches, kilograms and °C with millimeters. Money is
    printed in its own currency. If `shown` is given, texts use that unit instead; sizes, their rounding and what is
    written into a design file remain in `unit`, the unit of the design.

    >>> Wording("in", shown="mm").length(inch("3/8")), Wording("in", shown="mm").unit
    ('9.52 mm', 'in')
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
        ('3/8 in', '9.52 mm')
        """
        return length.text(self.of_texts)

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

    def on_drill(self, size: Length) -> str:
        """The size of a drill: to the nearest 1/64 in or 0.5 mm, as drills are sold."""
        return self.length(nearest(size, millimetre("1/2") if self.is_metric else inch("1/64")))

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
        """The diameter of a hole as `bore` gives it, always with its unit."""
        text = self.bore(diameter)
        return text if text.endswith(" mm") else self.pair(diameter)

    def quoted(self, text: str) -> str:
        """A quotation from a source; in a metric design, millimeters follow its inches.

        >>> Wording().quoted("1/4 to 3/8 in"), Wording("mm").quoted("1/4 to 3/8 in, or about 3/16 in")
        ('1/4 to 3/8 in', '1/4 to 3/8 in (6.35 to 9.52 mm), or about 3/16 in (4.76 mm)')
        """
        return _IN_INCHES.sub(_with_millimetres, text) if self.is_metric else text

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


def nearest(length: Length, mark: Length) -> Length:
    """A length rounded to the nearest whole number of marks."""
    return (length + mark / 2).down_to(mark)


def _with_millimetres(found: re.Match[str]) -> str:
    text = " to ".join(read_length(each, "in").number("mm") for each in found.groups() if each)
    return f"{found[0]} ({text} mm)"


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


_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def weekday_text(day: date) -> str:
    """The day of the week with the date.

    >>> weekday_text(date(2026, 3, 5))
    'Thursday, March 5'
    """
    return f"{_WEEKDAYS[day.weekday()]}, {_MONTHS[day.month - 1]} {day.day}"


def weekday_in_short(day: date) -> str:
    """The day of the week with the date in short form.

    >>> weekday_in_short(date(2026, 3, 5))
    'Thu, Mar 5'
    """
    return f"{_WEEKDAYS[day.weekday()][:3]}, {_MONTHS[day.month - 1][:3]} {day.day}"
