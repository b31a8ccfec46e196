"""Linear tolerance chains: how far a gap may stray when each size that makes it may stray.

A gap is a sum of sizes, each times a coefficient (+1 opens it, -1 closes it). Worst case is exact arithmetic on
lengths; the root of the sum of squares and the drawn shares are floats, estimates, and rest on sizes that stray
independently and as their distributions say. A size that stands in several gaps strays for all of them alike; two parts
cut at one setting are one size with a coefficient of 2.
Standard deviations: tolerance / 3 for normal (a usual reading of a shop tolerance, no source), / sqrt(3) for uniform
and / sqrt(6) for triangular (JCGM 100:2008, 4.3.7 and 4.3.9).
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import KW_ONLY, dataclass
from enum import Enum
from fractions import Fraction

from woodshop.errors import InputError, Problem
from woodshop.units.lengths import ZERO, Length


class Spread(Enum):
    """How a size strays within its tolerance; a normal one passes it once in 370 times."""

    NORMAL = "normal"
    UNIFORM = "uniform"
    TRIANGULAR = "triangular"


_SIGMAS = {Spread.NORMAL: 3.0, Spread.UNIFORM: math.sqrt(3), Spread.TRIANGULAR: math.sqrt(6)}


@dataclass(frozen=True, slots=True)
class Size:
    """One size: its nominal, how much `over` and `under` it may be (both nothing or more), and how it strays."""

    name: str
    nominal: Length
    over: Length
    under: Length
    spread: Spread = Spread.NORMAL

    @property
    def middle(self) -> Length:
        """The middle of its limits: that is where its distribution stands, whatever the nominal."""
        return self.nominal + (self.over - self.under) / 2

    @property
    def tolerance(self) -> Length:
        """Half the width of its limits."""
        return (self.over + self.under) / 2

    @property
    def deviation(self) -> float:
        """Standard deviation in mm."""
        return float(self.tolerance.mm) / _SIGMAS[self.spread]


Terms = tuple[tuple[str, Fraction], ...]


@dataclass(frozen=True, slots=True)
class Chain:
    """A gap: the sum of coefficient x size, by the names of the sizes, and the limits it should keep, both good.

    `constant` is what does not stray. `others` are further sums, each a constant and its coefficients: the gap is then
    the greatest of all, as that over a thing which stands on the highest of what is under it.
    """

    name: str
    coefficients: Terms
    least: Length
    _: KW_ONLY
    most: Length
    constant: Length = ZERO
    others: tuple[tuple[Length, Terms], ...] = ()

    @property
    def sums(self) -> tuple[tuple[Length, Terms], ...]:
        """Every sum, the gap's own first."""
        return ((self.constant, self.coefficients), *self.others)


@dataclass(frozen=True, slots=True)
class Share:
    """What one size adds to the variance of a gap, as a share of one, and its standard deviation there in mm."""

    size: str
    of_variance: float
    deviation: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ToleranceStack:
    """A gap by arithmetic. `nominal`, `middle`, `least`, `most` are exact; `deviation` mm.

    Of a gap with other sums `least` is a bound below it, and `deviation`, `root_sum_square` and `shares` are of the
    sum that most often takes it past a limit. `root_sum_square` is the square root of the sum of (coefficient x
    tolerance) squared, to either side of `middle`, mm: for sizes that are all normal, three standard deviations.
    `shares` has the greatest first.
    """

    chain: Chain
    nominal: Length
    middle: Length
    least: Length
    most: Length
    deviation: float
    root_sum_square: float
    shares: tuple[Share, ...]

    @property
    def matter_most(self) -> tuple[Share, ...]:
        """The three sizes to hold better, first the one that matters most."""
        return self.shares[:3]


def stack(chain: Chain, sizes: Sequence[Size]) -> ToleranceStack:
    """Worst case, root sum square and ranking of one gap. Raises InputError as `checked` does.

    >>> from woodshop.units.lengths import inch
    >>> sizes = [Size("box", inch(20), inch("1/32"), inch("1/32")), Size("rim", inch(19), inch("1/16"), inch(0))]
    >>> gap = stack(Chain("gap", (("box", Fraction(1)), ("rim", Fraction(-1))), inch("15/16"), most=inch(1)), sizes)
    >>> str(gap.least), str(gap.most), str(gap.middle)
    ('29/32 in', '1 1/32 in', '31/32 in')
    >>> round(gap.root_sum_square / 25.4, 4), gap.shares[0].of_variance
    (0.0442, 0.5)
    """
    known = checked([chain], sizes)
    ranges = [range_of(constant, terms, known) for constant, terms in chain.sums]
    nominal, middle = (max(each[n] for each in ranges) for n in (0, 1))
    least, most = max(each[1] - each[2] for each in ranges), max(each[1] + each[2] for each in ranges)
    terms = _nearest_limits(chain, ranges, known)
    deviations = [(name, abs(float(share)) * known[name].deviation) for name, share in terms]
    squares = math.fsum(float(share * known[name].tolerance.mm) ** 2 for name, share in terms)
    variance = math.fsum(deviation**2 for _, deviation in deviations)
    shares = [Share(name, each**2 / variance if variance else 0.0, each) for name, each in deviations]
    shares.sort(key=lambda share: (-share.of_variance, share.size))
    return ToleranceStack(
        chain=chain,
        nominal=nominal,
        middle=middle,
        least=least,
        most=most,
        deviation=math.sqrt(variance),
        root_sum_square=math.sqrt(squares),
        shares=tuple(shares),
    )


def _nearest_limits(chain: Chain, ranges: Sequence[tuple[Length, Length, Length]], known: Mapping[str, Size]) -> Terms:
    """The sum that most often takes the gap past a limit: by how many of its deviations its middle is from there.

    Any one of the sums takes it past the most; only all of them together past the least.
    """
    above, below = [], []
    for n, ((_, middle, _), (_, terms)) in enumerate(zip(ranges, chain.sums, strict=True)):
        deviation = math.sqrt(math.fsum((float(share) * known[name].deviation) ** 2 for name, share in terms))
        far = deviation or 1e-9
        above.append((float((chain.most - middle).mm) / far, n))
        below.append((float((middle - chain.least).mm) / far, n))
    return chain.sums[min(min(above), max(below))[1]][1]


def range_of(constant: Length, terms: Terms, known: Mapping[str, Size]) -> tuple[Length, Length, Length]:
    """Nominal, middle and half width of a sum."""
    nominal = middle = constant
    spread = ZERO
    for name, coefficient in terms:
        size = known[name]
        nominal += size.nominal * coefficient
        middle += size.middle * coefficient
        spread += size.tolerance * abs(coefficient)
    return nominal, middle, spread


def checked(chains: Sequence[Chain], sizes: Sequence[Size]) -> dict[str, Size]:
    """The sizes by name, once they and the chains make sense together. Raises InputError with all that is wrong."""
    known = {size.name: size for size in sizes}
    problems = []
    if len(known) < len(sizes):
        twice = sorted({size.name for size in sizes if known[size.name] is not size})
        problems.append(Problem("sizes", f"{', '.join(twice)} twice", "each name once", "Name them apart."))
    for size in sizes:
        if size.over < ZERO or size.under < ZERO:
            given = f"{size.over} over, {size.under} under"
            problems.append(Problem(f"tolerance of {size.name}", given, "nothing or more", "Leave the signs out."))
    for chain in chains:
        if not chain.coefficients:
            problems.append(Problem(f"gap {chain.name}", "no size", "sizes from the list", "Add the size."))
        missing = sorted({name for _, terms in chain.sums for name, _ in terms} - set(known))
        if missing:
            given = f"{', '.join(missing)} without a size"
            problems.append(Problem(f"gap {chain.name}", given, "sizes from the list", "Add the size."))
        if any(len({name for name, _ in terms}) < len(terms) for _, terms in chain.sums):
            do = "Add their coefficients."
            problems.append(Problem(f"gap {chain.name}", "a size more than once", "each size once", do))
        if chain.least > chain.most:
            given = f"{chain.least} to {chain.most}"
            problems.append(Problem(f"limits of {chain.name}", given, "the lesser first", "Turn them round."))
    if problems:
        raise InputError(*problems)
    return known
