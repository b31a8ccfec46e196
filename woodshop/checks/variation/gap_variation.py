"""What moves the gaps of a hive: damp wood, and sizes that stray, carried through every gap by its chain.

Wood is reckoned from the state it was measured in: what is made from the day it is cut, the boxes from the day they
were measured. The hives are drawn as they stand in winter, with boards on them.
"""

from collections.abc import Mapping
from dataclasses import KW_ONLY, dataclass
from fractions import Fraction
from math import sqrt

from woodshop.design.settings.tolerances import Damp, Moisture, Tolerances
from woodshop.engineering.draws import Draws, draw, draw_together
from woodshop.engineering.tolerance import Chain, Size, ToleranceStack, stack
from woodshop.engineering.wood import Grain, movement, species
from woodshop.hive.gaps.grading import BeeSpace, GapLimits, MeshSag, varied_limits
from woodshop.hive.variation.chains import GapChain, Line, chains_of
from woodshop.hive.variation.sizes import Dimension, Standing, Work, dimensions_of
from woodshop.units.lengths import ZERO, Length, inch, millimetre

QUICK, FULL = 100_000, 1_000_000
_FAR = millimetre(10_000)
SHOWN = inch("1/32")  # half of what a tape is marked in
_ROUND = 1000  # parts of a millimetre: what wood does is an estimate


@dataclass(frozen=True, slots=True)
class Population:
    """Like hives: one as it stands at the middle of the gaps measured, the gaps, and what sugar does to its mesh."""

    standing: Standing
    gaps: tuple[Length, ...]
    is_gap_measured: bool
    mesh: MeshSag


@dataclass(frozen=True, slots=True)
class MovedGap:
    """A gap as made and measured, in winter, in summer, and how it strays in winter.

    `by_arithmetic` and `draws` are None for a gap of which nothing is wanted, or that hangs on nothing that strays.
    """

    chain: GapChain
    wanted: GapLimits
    made: Length
    _: KW_ONLY
    winter: Length
    summer: Length
    by_arithmetic: ToleranceStack | None
    draws: Draws | None

    @property
    def is_own(self) -> bool:
        """Whether one of our things is a side of it."""
        return self.chain.own

    @property
    def outside(self) -> float:
        """The share of hives in which it is outside what is wanted."""
        return 0.0 if self.draws is None else self.draws.outside


@dataclass(frozen=True, slots=True)
class Moves:
    """All that moves the gaps of hives that stand alike. `outside` is the share with any of our own gaps outside, of
    those that are as wanted when made: what is not has a finding of its own.

    `sizes` are those that stray, as they are in winter; `swells` what damp does to each by winter and by summer, and
    `beyond` why that may be off. `count` hives were drawn.
    """

    gaps: tuple[MovedGap, ...]
    sizes: tuple[Size, ...]
    swells: tuple[tuple[str, Length, Length], ...]
    _: KW_ONLY
    beyond: tuple[str, ...]
    outside: float
    count: int

    @property
    def own(self) -> tuple[MovedGap, ...]:
        """The gaps of which one of our things is a side, and that are as wanted when made, most often outside first."""
        own = (gap for gap in self.gaps if gap.is_own and gap.draws is not None and gap.wanted.holds(gap.made))
        return tuple(sorted(own, key=lambda gap: (-gap.outside, gap.made)))

    @property
    def changed(self) -> tuple[MovedGap, ...]:
        """Gaps that are as wanted as made and measured, and at one end of the year off by more than a tape shows."""
        return tuple(
            gap
            for gap in self.gaps
            if gap.wanted.holds(gap.made) and max(gap.wanted.off(gap.winter), gap.wanted.off(gap.summer)) >= SHOWN
        )


def chains_for(of: Population, tolerances: Tolerances) -> tuple[GapChain, ...]:
    """The chains of these hives, with every change of contact within what damp and strays do to their sizes."""
    sizes = dimensions_of(of.standing)
    reach = reach_of(sizes, of, tolerances)
    winter, summer, _ = _seasons(sizes, tolerances.moisture)
    far = {s.name: reach[s.name] + max(abs(winter.get(s.name, ZERO)), abs(summer.get(s.name, ZERO))) for s in sizes}
    return chains_of(of.standing, far)


def moves_of(
    of: Population,
    tolerances: Tolerances,
    limits: BeeSpace,
    *,
    count: int = QUICK,
    theirs: bool = False,
) -> Moves:
    """What moves the gaps of these hives: `count` are drawn. Same in, same out.

    With `theirs` the gaps of the user's own boxes are drawn too, not only those that our things are a side of.
    """
    chains = chains_for(of, tolerances)
    winter, summer, beyond = _seasons(dimensions_of(of.standing), tolerances.moisture)
    stray, wanted, held, counted = _varying(of, tolerances, limits, chains, winter)
    own = draw_together([held[n] for n in counted], stray, count)
    rest = draw([held[n] for n in sorted(held.keys() - set(counted))], stray, count) if theirs else ()
    draws = {each.name: each for each in (*own.gaps, *rest)}
    gaps = tuple(
        MovedGap(
            chain,
            wanted[n],
            chain.at({}),
            winter=chain.at(winter),
            summer=chain.at(summer),
            by_arithmetic=stack(held[n], stray) if n in held else None,
            draws=draws.get(str(n)),
        )
        for n, chain in enumerate(chains)
    )
    swells = tuple((name, by, summer[name]) for name, by in winter.items())
    return Moves(gaps, stray, swells, beyond=beyond, outside=own.outside, count=count)


def outside_of(
    of: Population, tolerances: Tolerances, limits: BeeSpace, count: int, chains: tuple[GapChain, ...]
) -> float:
    """The share `outside` of `moves_of`, by itself; `chains` are those of sizes that stray no less."""
    winter, _, _ = _seasons(dimensions_of(of.standing), tolerances.moisture)
    stray, _, held, counted = _varying(of, tolerances, limits, chains, winter)
    return draw_together([held[n] for n in counted], stray, count).outside


def _varying(
    of: Population, tolerances: Tolerances, limits: BeeSpace, chains: tuple[GapChain, ...], winter: Mapping[str, Length]
) -> tuple[tuple[Size, ...], list[GapLimits], dict[int, Chain], list[int]]:
    """The sizes that stray; by the chain's number what is wanted of each gap, and its chain where that can be missed;
    and the numbers of our own gaps that are as wanted when made."""
    sizes = dimensions_of(of.standing)
    reach = reach_of(sizes, of, tolerances)
    stray = tuple(_size(size, reach[size.name], winter.get(size.name, ZERO)) for size in sizes)
    nominal = {size.name: size.nominal for size in sizes}
    wanted = [varied_limits(chain.name, chain.kind, chain.at({}), limits, of.mesh) for chain in chains]
    held = {
        n: _chain(str(n), chain.lines, wish, nominal)
        for n, (chain, wish) in enumerate(zip(chains, wanted, strict=True))
        if wish.is_set and any(reach[name] for line in chain.lines for name, _ in line.coefficients)
    }
    return stray, wanted, held, [n for n in held if chains[n].own and wanted[n].holds(chains[n].at({}))]


def reach_of(sizes: tuple[Dimension, ...], of: Population, tolerances: Tolerances) -> dict[str, Length]:
    """How far each size strays either way. A size of the user's that was measured on several hives, as they differ.

    The gap over the bars is one such: lugs are measured with it, and stray no more. Its spread is the standard
    deviation of the gaps measured (JCGM 100:2008, 4.2.2), and what a reading may be off, evenly within its limits
    (4.3.7), as the root of the sum of squares; three of those either way.
    """
    by_work = dict(tolerances.reach)
    spread = by_work[Work.GAP] if of.is_gap_measured else tolerances.gap_not_measured
    if of.is_gap_measured:
        read = float(by_work[Work.GAP].mm) / sqrt(3)
        spread = _rounded(3 * sqrt(read**2 + deviation([gap.mm for gap in of.gaps]) ** 2))
    found = {size.name: by_work[size.work] for size in sizes}
    for size in sizes:
        if size.work is Work.GAP:
            found[size.name] = spread
        elif size.name.startswith("thickness of the lugs"):
            found[size.name] = ZERO
    return found


def deviation(values: list[Fraction]) -> float:
    """The standard deviation of a few values of many; nothing for a single one. JCGM 100:2008, 4.2.2.

    >>> round(deviation([Fraction(1), Fraction(2), Fraction(3)]), 6)
    1.0
    """
    if len(values) < 2:
        return 0.0
    mean = sum(values) / len(values)
    return sqrt(sum((value - mean) ** 2 for value in values) / (len(values) - 1))


def _seasons(
    sizes: tuple[Dimension, ...], moisture: Moisture
) -> tuple[dict[str, Length], dict[str, Length], tuple[str, ...]]:
    """What wood does to each size by winter and by summer, from the day that it was cut or measured."""
    beyond: dict[str, None] = {}
    found = []
    for season in (moisture.winter, moisture.summer):
        by: dict[str, Length] = {}
        for size in sizes:
            if size.swells:
                by[size.name], why = swelling(size, moisture, season)
                beyond |= dict.fromkeys(why)
        found.append(by)
    return found[0], found[1], tuple(beyond)


def swelling(size: Dimension, moisture: Moisture, season: Damp) -> tuple[Length, tuple[str, ...]]:
    """How much greater a size is in a season than on the day it was cut or measured, to 1/1000 mm; why it may be off.

    The greater coefficient of its wood is taken: nobody knows how the rings lie.
    """
    wood = species(moisture.species if size.made else moisture.boxes_species)
    start = moisture.shop if size.made else moisture.measured
    moved = movement(float(size.swells.mm), wood, Grain.UNKNOWN, start.percent, season.percent)
    return _rounded(moved.change), (*moved.beyond, *start.beyond, *season.beyond)


def _rounded(mm: float) -> Length:
    return Length(Fraction(round(mm * _ROUND), _ROUND))


def _size(size: Dimension, reach: Length, by: Length) -> Size:
    return Size(size.name, size.nominal + by, reach, reach)


def _chain(name: str, lines: tuple[Line, ...], wanted: GapLimits, nominal: Mapping[str, Length]) -> Chain:
    """The gap as sums of whole sizes: what is left of its nominal does not stray."""
    sums = []
    for line in lines:
        held = sum((nominal[name] * share for name, share in line.coefficients), ZERO)
        sums.append((line.nominal - held, line.coefficients))
    (constant, terms), *others = sorted(sums, key=lambda each: not each[1])
    least = ZERO - _FAR if wanted.least is None else wanted.least
    most = _FAR if wanted.most is None else wanted.most
    return Chain(name, terms, least, most=most, constant=constant, others=tuple(others))
