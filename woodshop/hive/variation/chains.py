"""Derives exactly how every gap of a hive depends on its sizes, by measuring the hive with changed sizes.

As long as the contacts stay the same, a gap is its nominal value plus the sum of coefficient x change over all sizes.
All coefficients come from one measurement. In this measurement, every size is changed by a tiny amount, each 256 times
the amount before, so that the effects on a gap can be separated like the digits of a number. Coefficients are multiples
of 1/4 and less than 32.

If an item comes to rest on another part, another linear function (line) applies. A lowered item rests on the highest
part below it, so a gap is the greatest of its lines.
"""

from collections.abc import Mapping
from dataclasses import KW_ONLY, dataclass
from fractions import Fraction
from math import lcm

from woodshop.hive.gaps.faces import Gap, GapKind, Z
from woodshop.hive.gaps.gaps import measure_gaps
from woodshop.hive.stacking.stack import marks_per_mm
from woodshop.hive.variation.sizes import HiveBuild, dimensions_of, remade
from woodshop.units.lengths import ZERO, Length

Key = tuple[str, str, tuple[str, str]]
"""A gap by its name, its place, and its two parts."""

_DIGIT = 256  # a coefficient in quarters is at most half of this, positive or negative
_FINEST = 4
MOST_LINES = 6
SKIRT = "cover skirt to wall"  # where this gap is less than zero, the skirt rests on the wall


@dataclass(frozen=True, slots=True)
class GapLine:
    """A gap as a linear function: `nominal` without variation, and the exact coefficient of each size."""

    nominal: Length
    coefficients: tuple[tuple[str, Fraction], ...]

    def at(self, by: Mapping[str, Length]) -> Length:
        """The gap after these changes of size."""
        return sum((by[name] * share for name, share in self.coefficients if name in by), self.nominal)

    def least(self, reach: Mapping[str, Length]) -> Length:
        """The smallest value if every size varies within its reach, plus or minus."""
        return self.nominal - sum((reach.get(name, ZERO) * abs(share) for name, share in self.coefficients), ZERO)


@dataclass(frozen=True, slots=True)
class GapChain:
    """A gap and its lines. The line with the greatest value applies. The first line applies without variation.

    `keys` are the gaps that depend on the sizes in this way. `until` names the clearances that can close while the
    sizes vary within their reach. If one closes, another line applies.
    """

    name: str
    keys: tuple[Key, ...]
    kind: GapKind
    _: KW_ONLY
    own: bool
    lines: tuple[GapLine, ...]
    until: tuple[str, ...] = ()

    @property
    def where(self) -> tuple[str, ...]:
        """The places of the gaps, without duplicates."""
        return tuple(dict.fromkeys(place for _, place, _ in self.keys))

    def at(self, by: Mapping[str, Length]) -> Length:
        """The gap after these changes of size."""
        return max(line.at(by) for line in self.lines)


def lines_at(build: HiveBuild, by: Mapping[str, Length], marks: int | None = None) -> dict[Key, tuple[Gap, GapLine]]:
    """Every gap with the line that applies if sizes change `by` these amounts.

    `GapLine.nominal` is the value of the line without changes. If two contacts occur together at `by`, the line is for
    the contact that remains as all sizes grow, the last size the most, so that items rest on the walls. `marks` is the
    grid of the designed hive, if known. Raises ValueError if a gap is not a linear function, and InputError if the hive
    cannot be assembled.
    """
    names = [size.name for size in dimensions_of(build)]
    if marks is None:
        marks = marks_per_mm(build.stack.placed)
    # Faces move by quarters of the changes in size, and a gap is the difference of two faces.
    grid = lcm(marks, *(length.mm.denominator for length in by.values())) * 8
    parts = _DIGIT ** (len(names) + 2)  # of a grid step
    tiny = {name: Length(Fraction(_DIGIT**n, grid * parts)) for n, name in enumerate(names)}
    moved = remade(build, {name: by.get(name, ZERO) + tiny[name] for name in names})
    found = {}
    for gap in measure_gaps(moved.stack):
        top, bottom = gap.least.mm.as_integer_ratio()
        digits, broken = divmod(top * grid * parts * _FINEST, bottom)
        if broken:
            raise ValueError(f"{gap.name}, {gap.place}: no line of quarters")
        steps = (2 * top * grid + bottom) // (2 * bottom)  # rounded: the tiny changes of size add far less than half
        shares, rest = [], digits - steps * parts * _FINEST
        for name in names:
            if not rest:
                break
            digit = (rest + _DIGIT // 2) % _DIGIT - _DIGIT // 2
            rest = (rest - digit) // _DIGIT
            if digit:
                shares.append((name, Fraction(digit, _FINEST)))
        if rest:
            raise ValueError(f"{gap.name}, {gap.place}: coefficients of 32 or more")
        strayed = sum((by[name] * share for name, share in shares if name in by), ZERO)
        nominal = Length(Fraction(steps, grid)) - strayed
        found[gap.name, gap.place, gap.between] = (gap, GapLine(nominal, tuple(shares)))
    return found


def chains_of(build: HiveBuild, reach: Mapping[str, Length]) -> tuple[GapChain, ...]:
    """Every gap of a hive whose sizes vary within `reach`, plus or minus, keyed by name. Identical gaps are combined.

    If a contact can change within `reach`, the line after the change is derived too. Raises the same errors as
    `lines_at`.
    """
    marks = marks_per_mm(build.stack.placed)
    first = lines_at(build, {}, marks)
    lines = {key: [line] for key, (_, line) in first.items()}
    until: dict[Key, list[str]] = {}
    tables = [first]
    for table in tables:
        for key, (gap, line) in table.items():
            point = _closes(gap, line, reach)
            if point is None or max(each.at(point) for each in lines[key]) >= ZERO or len(tables) == MOST_LINES:
                continue
            beyond_it = _lines_towards(build, point, marks)
            if beyond_it is None:
                continue
            tables.append(beyond_it)
            for other, (_, beyond) in beyond_it.items():
                if other in lines and beyond not in lines[other]:
                    lines[other].append(beyond)
                    until.setdefault(other, []).append(gap.name)
    return _gathered(first, lines, until)


def _lines_towards(build: HiveBuild, point: Mapping[str, Length], marks: int) -> dict[Key, tuple[Gap, GapLine]] | None:
    """The lines at a point or, if no hive can be assembled there, at 1/2, 1/4 or 1/8 of the way to it; else None."""
    for share in (1, 2, 4, 8):
        try:
            return lines_at(build, {name: by / share for name, by in point.items()}, marks)
        except ValueError:  # a part without size, a cut outside its part, or nothing to rest on
            continue
    return None


def _closes(gap: Gap, line: GapLine, reach: Mapping[str, Length]) -> dict[str, Length] | None:
    """The changes of size that close a clearance the most, or None if it cannot close.

    Sizes without effect are left out.
    """
    if (gap.axis != Z and gap.name != SKIRT) or not line.least(reach) < ZERO <= line.nominal:
        return None
    return {name: reach[name] * (1 if share < 0 else -1) for name, share in line.coefficients if reach.get(name)}


def _gathered(
    first: Mapping[Key, tuple[Gap, GapLine]], lines: Mapping[Key, list[GapLine]], until: Mapping[Key, list[str]]
) -> tuple[GapChain, ...]:
    alike: dict[tuple[str, GapKind, bool, tuple[GapLine, ...]], list[Key]] = {}
    for key, (gap, _) in first.items():
        alike.setdefault((gap.name, gap.kind, gap.own, tuple(lines[key])), []).append(key)
    found = []
    for (name, kind, own, straight), keys in alike.items():
        closing = tuple(dict.fromkeys(words for key in keys for words in until.get(key, ())))
        found.append(GapChain(name, tuple(keys), kind, own=own, lines=straight, until=closing))
    return tuple(found)
