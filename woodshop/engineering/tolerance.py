"""Linear tolerance chains: how much a gap varies if its sizes vary.

A gap is a sum of sizes, each multiplied by a coefficient (+1 opens the gap, -1 closes it). The worst case is exact
arithmetic on lengths. The root sum square and the simulated fractions are floats and estimates; they assume that sizes
vary independently, with the given distributions. A size that occurs in more than one gap has the same error in all of
them. Two parts cut at one setting are one size with a coefficient of 2. The standard deviation is tolerance / 3 for a
normal distribution (a common interpretation of a shop tolerance, without a source), tolerance / sqrt(3) for a uniform
one and tolerance / sqrt(6) for a triangular one (JCGM 100:2008, 4.3.7 and 4.3.9).
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import KW_ONLY, dataclass
from enum import Enum
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from woodshop.errors import InputError, Problem
from woodshop.units.lengths import ZERO, Length

if TYPE_CHECKING:
    from numpy import bool_, float64
    from numpy.random import Generator
    from numpy.typing import NDArray


class Spread(Enum):
    """The distribution of a size within its tolerance. A normal one is outside its tolerance 1 time in 370."""

    NORMAL = "normal"
    UNIFORM = "uniform"
    TRIANGULAR = "triangular"


_SIGMAS = {Spread.NORMAL: 3.0, Spread.UNIFORM: math.sqrt(3), Spread.TRIANGULAR: math.sqrt(6)}


@dataclass(frozen=True, slots=True)
class Size:
    """One size: nominal value, tolerances `over` and `under` (both 0 or more), and distribution."""

    name: str
    nominal: Length
    over: Length
    under: Length
    spread: Spread = Spread.NORMAL

    @property
    def middle(self) -> Length:
        """The middle of its limits, which is the center of its distribution, whatever the nominal value is."""
        return self.nominal + (self.over - self.under) / 2

    @property
    def tolerance(self) -> Length:
        """Half the difference between its limits."""
        return (self.over + self.under) / 2

    @property
    def deviation(self) -> float:
        """The standard deviation in mm."""
        return float(self.tolerance.mm) / _SIGMAS[self.spread]


Terms = tuple[tuple[str, Fraction], ...]


@dataclass(frozen=True, slots=True)
class Chain:
    """A gap as the sum of coefficient x size (sizes by name), with its inclusive limits.

    `constant` is the part that does not vary. `others` are further sums, each with a constant and its coefficients. If
    there are other sums, the gap is the greatest of all sums, as for a part that rests on the highest of several parts.
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
        """Every sum, starting with the gap's own."""
        return ((self.constant, self.coefficients), *self.others)


@dataclass(frozen=True, slots=True)
class Share:
    """One size's share (0 to 1) of the variance of a gap, and the standard deviation it contributes, in mm."""

    size: str
    of_variance: float
    deviation: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ToleranceStack:
    """The arithmetic result for a gap. `nominal`, `middle`, `least` and `most` are exact; `deviation` is in mm.

    For a gap with other sums, `least` is a lower bound, and `deviation`, `root_sum_square` and `shares` belong to the
    sum that most often exceeds a limit. `root_sum_square` is the square root of the sum of (coefficient x tolerance)
    squared, on either side of `middle`, in mm; for normal sizes it is three standard deviations. `shares` starts with
    the largest.
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
        """The three sizes with the largest effect, largest first."""
        return self.shares[:3]


def stack(chain: Chain, sizes: Sequence[Size]) -> ToleranceStack:
    """The worst case, root sum square and ranking of sizes for one gap. Raises InputError as `checked` does.

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
    """The terms of the sum that most often takes the gap past a limit.

    Compares the distances from the middle of each sum to the limit, in standard deviations. Any one of the sums can
    take the gap above the upper limit; only all of them together can take it below the lower limit.
    """
    above, below = [], []
    for n, ((_, middle, _), (_, terms)) in enumerate(zip(ranges, chain.sums, strict=True)):
        deviation = math.sqrt(math.fsum((float(share) * known[name].deviation) ** 2 for name, share in terms))
        far = deviation or 1e-9
        above.append((float((chain.most - middle).mm) / far, n))
        below.append((float((middle - chain.least).mm) / far, n))
    return chain.sums[min(min(above), max(below))[1]][1]


def range_of(constant: Length, terms: Terms, known: Mapping[str, Size]) -> tuple[Length, Length, Length]:
    """The nominal value, midpoint and half range of a sum."""
    nominal = middle = constant
    spread = ZERO
    for name, coefficient in terms:
        size = known[name]
        nominal += size.nominal * coefficient
        middle += size.middle * coefficient
        spread += size.tolerance * abs(coefficient)
    return nominal, middle, spread


def checked(chains: Sequence[Chain], sizes: Sequence[Size]) -> dict[str, Size]:
    """The sizes, keyed by name, after the sizes and chains are checked. Raises InputError with all problems."""
    known = {size.name: size for size in sizes}
    problems = []
    if len(known) < len(sizes):
        twice = sorted({size.name for size in sizes if known[size.name] is not size})
        problems.append(Problem("sizes", f"{', '.join(twice)} twice", "each name once", "Give each its own name."))
    for size in sizes:
        if size.over < ZERO or size.under < ZERO:
            given = f"{size.over} over, {size.under} under"
            problems.append(Problem(f"tolerance of {size.name}", given, "0 or more", "Remove the signs."))
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
            problems.append(Problem(f"limits of {chain.name}", given, "the smaller first", "Swap them."))
    if problems:
        raise InputError(*problems)
    return known


DRAWS, SEED = 1_000_000, 1851
_CHUNK = 16_384  # values drawn at a time: a dozen sizes of this many stay in the cache
_KEPT = 8 * _CHUNK  # the most hives whose draws are kept for the next call: 1 MB for each size


@dataclass(frozen=True, slots=True, kw_only=True)
class Draws:
    """A gap simulated `count` times: mean and standard deviation in mm, and fractions below and above its limits.

    `least` and `most` are the extremes that occurred, in mm.
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
        """The fraction outside the limits."""
        return self.below + self.above


def load_arrays() -> None:
    """Imports the array library before work is distributed among processes, so that they share it."""
    import numpy  # noqa: F401


def doubt_of(share: float, count: int) -> float:
    """The standard error of a fraction of `count` simulated hives, at least 3/`count`.

    Even if no simulated hive fails, a few real hives can.
    """
    return max(math.sqrt(share * (1 - share) / count), 3 / count)


@dataclass(frozen=True, slots=True)
class Together:
    """Gaps simulated in the same hives, and the fraction of hives with any gap out of limits."""

    gaps: tuple[Draws, ...]
    count: int
    outside: float


def draw(chains: Sequence[Chain], sizes: Sequence[Size], count: int = DRAWS, seed: int = SEED) -> tuple[Draws, ...]:
    """Simulates every gap `count` times from common sizes; the same `seed` gives the same result.

    Raises InputError for a count below 1, a duplicate or unknown size, or reversed limits.
    """
    return draw_together(chains, sizes, count, seed).gaps


def draw_together(chains: Sequence[Chain], sizes: Sequence[Size], count: int = DRAWS, seed: int = SEED) -> Together:
    """Like `draw`, with the fraction of hives that have any gap out of limits. Raises the same errors."""
    from numpy import bool_, count_nonzero, empty, multiply
    from numpy.random import default_rng

    known = checked(chains, sizes)
    if count < 1:
        raise InputError(Problem("stacks to draw", str(count), "1 or more", "Give 1000000."))
    used = {name for chain in chains for _, terms in chain.sums for name, _ in terms}
    order = {name: row for row, name in enumerate(name for name in known if name in used)}
    tallies = [_Tally(chain, known, order) for chain in chains]
    generator = default_rng(seed)
    is_kept = count <= _KEPT and all(known[name].spread is Spread.NORMAL for name in order)
    normals = _normals(len(order), -(-count // _CHUNK), seed) if is_kept else None
    values = empty((len(order), _CHUNK))
    work = empty((3, _CHUNK))
    out = empty(_CHUNK, dtype=bool_)
    hives = 0
    for done in range(0, count, _CHUNK):
        some = min(_CHUNK, count - done)
        for name, row in order.items():
            if normals is None:
                _draw(known[name], generator, values[row])
            else:
                multiply(normals[done // _CHUNK, row], known[name].deviation, out=values[row])
        out[:] = False
        for tally in tallies:
            tally.add(values, work, out, some)
        hives += int(count_nonzero(out[:some]))
    return Together(tuple(tally.result(count) for tally in tallies), count, hives / count)


@lru_cache(maxsize=1)
def _normals(rows: int, chunks: int, seed: int) -> "NDArray[float64]":
    """What `_draw` takes from a new generator if every size is normal, before it is scaled: chunk by chunk, in rows.

    Hives that differ only in their tolerances are simulated one after another, each time from these same draws.
    """
    from numpy.random import default_rng

    made = default_rng(seed).standard_normal((chunks, rows, _CHUNK))
    made.flags.writeable = False
    return made


class _Tally:
    """Running sums over the draws of one gap, relative to its middle, so that long lengths lose no precision."""

    def __init__(self, chain: Chain, known: Mapping[str, Size], order: Mapping[str, int]) -> None:
        ranges = [range_of(constant, terms, known)[1] for constant, terms in chain.sums]
        self.name, self.middle = chain.name, float(max(ranges).mm)
        self.sums = [
            (float(middle.mm) - self.middle, [(order[name], float(coefficient)) for name, coefficient in terms])
            for middle, (_, terms) in zip(ranges, chain.sums, strict=True)
        ]
        self.low, self.high = float(chain.least.mm) - self.middle, float(chain.most.mm) - self.middle
        self.total = self.squares = 0.0
        self.below = self.above = 0
        self.least, self.most = math.inf, -math.inf

    def add(self, values: "NDArray[float64]", work: "NDArray[float64]", out: "NDArray[bool_]", count: int) -> None:
        """Adds one chunk of draws, with plain sums in a fixed order, independent of any matrix library."""
        from numpy import count_nonzero, maximum, multiply

        gap, product, other = work
        _sum(self.sums[0], values, gap, product)
        for each in self.sums[1:]:
            _sum(each, values, other, product)
            maximum(gap, other, out=gap)
        gap = gap[:count]
        self.total += float(gap.sum())
        self.squares += float(multiply(gap, gap, out=product[:count]).sum())
        least, most = float(gap.min()), float(gap.max())
        if least < self.low:
            below = gap < self.low
            self.below += int(count_nonzero(below))
            out[:count] |= below
        if most > self.high:
            above = gap > self.high
            self.above += int(count_nonzero(above))
            out[:count] |= above
        self.least, self.most = min(self.least, least), max(self.most, most)

    def result(self, count: int) -> Draws:
        """The mean, deviation and fractions of the draws so far."""
        mean = self.total / count
        variance = max(0.0, self.squares / count - mean**2)
        return Draws(
            name=self.name,
            count=count,
            mean=self.middle + mean,
            deviation=math.sqrt(variance),
            below=self.below / count,
            above=self.above / count,
            least=self.middle + self.least,
            most=self.middle + self.most,
        )


def _sum(
    of: tuple[float, list[tuple[int, float]]],
    values: "NDArray[float64]",
    out: "NDArray[float64]",
    work: "NDArray[float64]",
) -> None:
    from numpy import multiply

    start, terms = of
    out[:] = start
    for row, coefficient in terms:
        out += multiply(values[row], coefficient, out=work)


def _draw(size: Size, generator: "Generator", out: "NDArray[float64]") -> None:
    """Draws the deviations of a size from its middle, in mm, into `out`."""
    if size.spread is Spread.NORMAL:
        generator.standard_normal(out=out)
        out *= size.deviation
        return
    tolerance = float(size.tolerance.mm)
    generator.random(out=out)
    if size.spread is Spread.TRIANGULAR:
        out += generator.random(out.size)  # the sum of two uniform draws is triangular
        out -= 1.0
        out *= tolerance
        return
    out *= 2 * tolerance
    out -= tolerance
