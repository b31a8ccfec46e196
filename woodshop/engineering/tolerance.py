"""Linear tolerance chains: how far a gap may stray when each size that makes it may stray.

A gap is a sum of sizes, each times a coefficient (+1 opens it, -1 closes it). Worst case is exact arithmetic on
lengths; the root of the sum of squares and the drawn shares are floats, estimates, and rest on sizes that stray
independently and as their distributions say. A size that stands in several gaps is drawn once for all of them;
two parts cut at one setting are one size with a coefficient of 2.
Standard deviations: tolerance / 3 for normal (a usual reading of a shop tolerance, no source), / sqrt(3) for uniform
and / sqrt(6) for triangular (JCGM 100:2008, 4.3.7 and 4.3.9).
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from typing import TYPE_CHECKING

from woodshop.errors import InputError, Problem
from woodshop.units import ZERO, Length

if TYPE_CHECKING:
    from numpy import float64
    from numpy.random import Generator
    from numpy.typing import NDArray

DRAWS, SEED = 1_000_000, 1851
_CHUNK = 16_384  # drawn at a time: a dozen sizes of these stay in the cache


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


@dataclass(frozen=True, slots=True)
class Chain:
    """A gap: the sum of coefficient x size, by the names of the sizes, and the limits it should keep, both good."""

    name: str
    coefficients: tuple[tuple[str, Fraction], ...]
    least: Length
    most: Length


@dataclass(frozen=True, slots=True)
class Share:
    """What one size adds to the variance of a gap, as a share of one, and its standard deviation there in mm."""

    size: str
    of_variance: float
    deviation: float


@dataclass(frozen=True, slots=True)
class Stack:
    """A gap by arithmetic. `nominal`, `middle`, `least`, `most` are exact; `deviation` mm.

    `root_sum_square` is the square root of the sum of (coefficient x tolerance) squared, to either side of `middle`,
    mm: for sizes that are all normal, three standard deviations. `shares` has the greatest first.
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
    def always_within(self) -> bool:
        """Whether the worst case keeps the limits of the chain."""
        return self.chain.least <= self.least and self.most <= self.chain.most

    @property
    def matter_most(self) -> tuple[Share, ...]:
        """The three sizes to hold better, first the one that matters most."""
        return self.shares[:3]


@dataclass(frozen=True, slots=True)
class Draws:
    """A gap drawn `count` times: mean and standard deviation in mm, and shares below and above its limits.

    `least` and `most` are the extremes that came, mm. `doubt` is the standard error of the share outside.
    """

    name: str
    count: int
    mean: float
    deviation: float
    below: float
    above: float
    least: float
    most: float

    @property
    def outside(self) -> float:
        """The share outside the limits."""
        return self.below + self.above

    @property
    def doubt(self) -> float:
        """Standard error of the share outside; three in a million at the least, as none seen is not none."""
        return max(math.sqrt(self.outside * (1 - self.outside) / self.count), 3 / self.count)


def stack(chain: Chain, sizes: Sequence[Size]) -> Stack:
    """Worst case, root sum square and ranking of one gap. Raises InputError as `draw` does.

    >>> from woodshop.units import inch
    >>> sizes = [Size("box", inch(20), inch("1/32"), inch("1/32")), Size("rim", inch(19), inch("1/16"), inch(0))]
    >>> gap = stack(Chain("gap", (("box", Fraction(1)), ("rim", Fraction(-1))), inch("15/16"), inch(1)), sizes)
    >>> str(gap.least), str(gap.most), str(gap.middle), gap.always_within
    ('29/32 in', '1 1/32 in', '31/32 in', False)
    >>> round(gap.root_sum_square / 25.4, 4), gap.shares[0].of_variance
    (0.0442, 0.5)
    """
    known = _checked([chain], sizes)
    nominal = middle = spread = ZERO
    deviations, squares = [], 0.0
    for name, coefficient in chain.coefficients:
        size = known[name]
        nominal += size.nominal * coefficient
        middle += size.middle * coefficient
        spread += size.tolerance * abs(coefficient)
        deviations.append((name, abs(float(coefficient)) * size.deviation))
        squares += float(coefficient * size.tolerance.mm) ** 2
    variance = math.fsum(deviation**2 for _, deviation in deviations)
    shares = [Share(name, each**2 / variance if variance else 0.0, each) for name, each in deviations]
    shares.sort(key=lambda share: (-share.of_variance, share.size))
    return Stack(
        chain,
        nominal,
        middle,
        middle - spread,
        middle + spread,
        math.sqrt(variance),
        math.sqrt(squares),
        tuple(shares),
    )


def draw(chains: Sequence[Chain], sizes: Sequence[Size], count: int = DRAWS, seed: int = SEED) -> tuple[Draws, ...]:
    """Every gap drawn `count` times from one set of sizes a time: the same answers for the same seed.

    Raises InputError for a count below 1, a size named twice or in no list, or limits the wrong way round.
    """
    from numpy import empty
    from numpy.random import default_rng

    known = _checked(chains, sizes)
    if count < 1:
        raise InputError(Problem("stacks to draw", str(count), "1 or more", "Give 1000000."))
    used = {name for chain in chains for name, _ in chain.coefficients}
    order = {name: row for row, name in enumerate(name for name in known if name in used)}
    middles = {chain.name: float(stack(chain, sizes).middle.mm) for chain in chains}
    tallies = [_Tally(chain, middles[chain.name], order) for chain in chains]
    generator = default_rng(seed)
    values = empty((len(order), _CHUNK))
    work = empty((2, _CHUNK))
    for done in range(0, count, _CHUNK):
        some = min(_CHUNK, count - done)
        for name, row in order.items():
            _stray(known[name], generator, values[row])
        for tally in tallies:
            tally.add(values, work, some)
    return tuple(tally.result(count) for tally in tallies)


class _Tally:
    """Sums over the draws of one gap, kept about its middle so that nothing is lost to great lengths."""

    def __init__(self, chain: Chain, middle: float, order: Mapping[str, int]) -> None:
        self.name, self.middle = chain.name, middle
        self.terms = [(order[name], float(coefficient)) for name, coefficient in chain.coefficients]
        self.low, self.high = float(chain.least.mm) - middle, float(chain.most.mm) - middle
        self.total = self.squares = 0.0
        self.below = self.above = 0
        self.least, self.most = math.inf, -math.inf

    def add(self, values: "NDArray[float64]", work: "NDArray[float64]", count: int) -> None:
        """Take in one chunk. Plain sums in a fixed order: no matrix library chooses the order of adding."""
        from numpy import count_nonzero, multiply

        gap, product = work
        gap[:] = 0.0
        for row, coefficient in self.terms:
            gap += multiply(values[row], coefficient, out=product)
        gap = gap[:count]
        self.total += float(gap.sum())
        self.squares += float(multiply(gap, gap, out=product[:count]).sum())
        least, most = float(gap.min()), float(gap.max())
        self.below += int(count_nonzero(gap < self.low)) if least < self.low else 0
        self.above += int(count_nonzero(gap > self.high)) if most > self.high else 0
        self.least, self.most = min(self.least, least), max(self.most, most)

    def result(self, count: int) -> Draws:
        """What the draws say."""
        mean = self.total / count
        variance = max(0.0, self.squares / count - mean**2)
        return Draws(
            self.name,
            count,
            self.middle + mean,
            math.sqrt(variance),
            self.below / count,
            self.above / count,
            self.middle + self.least,
            self.middle + self.most,
        )


def _stray(size: Size, generator: "Generator", out: "NDArray[float64]") -> None:
    """How far a size is from its middle, in mm, drawn anew into `out`."""
    if size.spread is Spread.NORMAL:
        generator.standard_normal(out=out)
        out *= size.deviation
        return
    tolerance = float(size.tolerance.mm)
    generator.random(out=out)
    if size.spread is Spread.TRIANGULAR:
        out += generator.random(out.size)  # the sum of two even ones is triangular
        out -= 1.0
        out *= tolerance
        return
    out *= 2 * tolerance
    out -= tolerance


def _checked(chains: Sequence[Chain], sizes: Sequence[Size]) -> dict[str, Size]:
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
        names = [name for name, _ in chain.coefficients]
        missing = sorted(set(names) - set(known))
        if missing or not names:
            given = f"{', '.join(missing)} without a size" if missing else "no size"
            problems.append(Problem(f"gap {chain.name}", given, "sizes from the list", "Add the size."))
        if len(set(names)) < len(names):
            do = "Add their coefficients."
            problems.append(Problem(f"gap {chain.name}", "a size more than once", "each size once", do))
        if chain.least > chain.most:
            given = f"{chain.least} to {chain.most}"
            problems.append(Problem(f"limits of {chain.name}", given, "the lesser first", "Turn them round."))
    if problems:
        raise InputError(*problems)
    return known
