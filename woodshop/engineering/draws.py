"""Hives drawn with their sizes straying: the same seed, the same hives, on any machine with this numpy.

Every size is drawn once for all the gaps of a hive that hang on it; see `tolerance` for chains and sizes.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from woodshop.engineering.tolerance import Chain, Size, Spread, checked, range_of
from woodshop.errors import InputError, Problem

if TYPE_CHECKING:
    from numpy import bool_, float64
    from numpy.random import Generator
    from numpy.typing import NDArray

DRAWS, SEED = 1_000_000, 1851
_CHUNK = 16_384  # drawn at a time: a dozen sizes of these stay in the cache


@dataclass(frozen=True, slots=True, kw_only=True)
class Draws:
    """A gap drawn `count` times: mean and standard deviation in mm, and shares below and above its limits.

    `least` and `most` are the extremes that came, mm.
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


def load_arrays() -> None:
    """Import the library of arrays: before work is shared among processes, so that each need not."""
    import numpy  # noqa: F401


def doubt_of(share: float, count: int) -> float:
    """Standard error of a share of the hives drawn; three of them at the least, as none seen is not none."""
    return max(math.sqrt(share * (1 - share) / count), 3 / count)


@dataclass(frozen=True, slots=True)
class Together:
    """Gaps drawn from the same hives, and the share of hives with any of them outside its limits."""

    gaps: tuple[Draws, ...]
    count: int
    outside: float


def draw(chains: Sequence[Chain], sizes: Sequence[Size], count: int = DRAWS, seed: int = SEED) -> tuple[Draws, ...]:
    """Every gap drawn `count` times from one set of sizes a time: the same answers for the same seed.

    Raises InputError for a count below 1, a size named twice or in no list, or limits the wrong way round.
    """
    return draw_together(chains, sizes, count, seed).gaps


def draw_together(chains: Sequence[Chain], sizes: Sequence[Size], count: int = DRAWS, seed: int = SEED) -> Together:
    """As `draw`, and how many of the hives drawn have any gap outside its limits. Raises as `draw` does."""
    from numpy import bool_, count_nonzero, empty
    from numpy.random import default_rng

    known = checked(chains, sizes)
    if count < 1:
        raise InputError(Problem("stacks to draw", str(count), "1 or more", "Give 1000000."))
    used = {name for chain in chains for _, terms in chain.sums for name, _ in terms}
    order = {name: row for row, name in enumerate(name for name in known if name in used)}
    tallies = [_Tally(chain, known, order) for chain in chains]
    generator = default_rng(seed)
    values = empty((len(order), _CHUNK))
    work = empty((3, _CHUNK))
    out = empty(_CHUNK, dtype=bool_)
    hives = 0
    for done in range(0, count, _CHUNK):
        some = min(_CHUNK, count - done)
        for name, row in order.items():
            _stray(known[name], generator, values[row])
        out[:] = False
        for tally in tallies:
            tally.add(values, work, out, some)
        hives += int(count_nonzero(out[:some]))
    return Together(tuple(tally.result(count) for tally in tallies), count, hives / count)


class _Tally:
    """Sums over the draws of one gap, kept about its middle so that nothing is lost to great lengths."""

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
        """Take in one chunk. Plain sums in a fixed order: no matrix library chooses the order of adding."""
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
        """What the draws say."""
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
