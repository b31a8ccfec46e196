"""Wood screws: the length that a joint needs, and the sizes for sale that fit the joint."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from woodshop.reference.facts import fact
from woodshop.units.lengths import ZERO, Length, millimetre, read_length
from woodshop.units.wording import LengthUnit

WANTED = "gauge and length, such as #8 x 2 in, or diameter and length, such as 4 x 50 mm"
_INCH = re.compile(r"#(\d{1,2}) ?x ?(\d+(?: \d+/\d+)?|\d+/\d+) ?in\b")
_METRIC = re.compile(r"(?<![#\d.])(\d(?:\.\d)?) ?x ?(\d{2,3}) ?mm\b")


@dataclass(frozen=True, slots=True)
class Screw:
    """A size of wood screw. `gauge` is "#8", for example, or "4" for a 4 mm screw."""

    gauge: str
    length: Length

    @property
    def is_metric(self) -> bool:
        """Whether the screw is sold in millimeters."""
        return not self.gauge.startswith("#")

    @property
    def size(self) -> str:
        """The size as sold.

        >>> Screw("#8", read_length("2 in")).size, Screw("4", read_length("50 mm")).size
        ('#8 x 2 in', '4 x 50 mm')
        """
        return f"{self.gauge} x {self.length.text('mm' if self.is_metric else 'in')}"

    @property
    def kind(self) -> str:
        """The name of the screw on sheets and lists."""
        return f"exterior screw {self.size}"

    @property
    def pilot(self) -> Length | None:
        """The pilot hole in softwood, or None if the table has none for this gauge."""
        return self._hole("pilot")

    @property
    def clearance(self) -> Length | None:
        """The clearance hole in the outer piece, or None if the table has none."""
        return self._hole("clearance")

    def _hole(self, kind: str) -> Length | None:
        key = f"screw.{kind}_{self.gauge.removeprefix('#')}{'mm' if self.is_metric else ''}"
        try:
            return fact(key).length
        except KeyError:
            return None

    def grip(self, through: Length) -> Length:
        """The length of the screw in the second piece, after it has passed through `through` of the first."""
        return self.length - through


def read_screw(text: str) -> Screw | None:
    """The screw size that `text` names, or None if it names none or more than one.

    >>> [each.size for each in map(read_screw, ("deck screws #8 x 1 5/8 in, box of 75", "4 x 50 mm")) if each]
    ['#8 x 1 5/8 in', '4 x 50 mm']
    >>> read_screw("screws, box of 75") is None
    True
    """
    inch = [Screw(f"#{gauge}", read_length(f"{length} in")) for gauge, length in _INCH.findall(text)]
    metric = [Screw(gauge, millimetre(length)) for gauge, length in _METRIC.findall(text)]
    found = set(inch + metric)
    return found.pop() if len(found) == 1 else None


def least_grip_key(screw: Screw) -> str:
    """The key of the fact for the minimum thread of this screw in end grain."""
    return "screw.end_grip_metric" if screw.is_metric else "screw.end_grip"


def least_grip(screw: Screw) -> Length:
    """The minimum thread of this screw in end grain."""
    return fact(least_grip_key(screw)).length


def fits(screw: Screw, through: Length) -> bool:
    """Whether the screw, after `through` of wood, holds in the end grain and is not long enough to split it."""
    over = screw.grip(through) - least_grip(screw)
    return ZERO <= over <= fact("screw.longest_over").length


def stocked(unit: LengthUnit) -> tuple[Screw, ...]:
    """The sizes that stores stock, in inches or millimeters, shortest first."""
    sizes = fact("screw.stock_metric" if unit == "mm" else "screw.stock_inch").value.split(", ")
    return tuple(screw for size in sizes if (screw := read_screw(size)) is not None)


def corner_screw(through: Length, for_sale: Iterable[Screw], unit: LengthUnit) -> Screw:
    """The screw that joins walls of this thickness at a corner, into end grain.

    It is the shortest screw in `for_sale` that fits. If none fits, it is the shortest stocked size that fits, or the
    longest stocked size if the wood is too thick for all of them.
    """
    for screws in (tuple(for_sale), stocked(unit)):
        fitting = sorted((s for s in screws if fits(s, through)), key=lambda s: (s.length, s.gauge))
        if fitting:
            return fitting[0]
    return stocked(unit)[-1]
