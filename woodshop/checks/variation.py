"""Finds how every gap of every group of hives varies because of wood movement and tolerances."""

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import KW_ONLY, dataclass, replace
from fractions import Fraction
from math import sqrt

from woodshop.checks.mesh_state import mesh_state, thousandths
from woodshop.design.batch import Unit
from woodshop.design.make_units import build_key, builds_of, place_of, units_by_hives
from woodshop.design.measured_files import average
from woodshop.design.settings.tolerances import KEYS, Damp, Moisture, Tolerances
from woodshop.engineering.tolerance import Chain, Draws, Size, ToleranceStack, draw, draw_together, stack
from woodshop.engineering.wood import Grain, movement, species
from woodshop.findings import Finding, Severity
from woodshop.hive.gaps.faces import GapName
from woodshop.hive.gaps.grading import BeeSpace, GapLimits, MeshSag, varied_limits
from woodshop.hive.variation.chains import GapChain, GapLine, chains_of
from woodshop.hive.variation.sizes import HiveBuild, HiveSize, Work, dimensions_of
from woodshop.units.lengths import ZERO, Length, inch, millimetre
from woodshop.units.wording import LengthUnit, Wording
from woodshop.workers import over_cores

QUICK, FULL = 100_000, 1_000_000
_FAR = millimetre(10_000)
SHOWN = inch("1/32")  # half of a tape's mark
_ROUND = 1000  # parts of a millimeter; wood movement is an estimate, so finer values are pointless


@dataclass(frozen=True, slots=True)
class Population:
    """Hives of one kind: a hive built at the mean top-bar gap, the measured gaps, and the sag of the mesh."""

    build: HiveBuild
    gaps: tuple[Length, ...]
    is_gap_measured: bool
    mesh: MeshSag


@dataclass(frozen=True, slots=True)
class MovedGap:
    """A gap when made, in winter, and in summer; and its variation in winter.

    `by_arithmetic` and `draws` are None for a gap without limits, or one that does not depend on any varying size.
    """

    chain: GapChain
    limits: GapLimits
    made: Length
    _: KW_ONLY
    winter: Length
    summer: Length
    by_arithmetic: ToleranceStack | None
    draws: Draws | None

    @property
    def is_own(self) -> bool:
        """Whether one side of the gap is one of our parts."""
        return self.chain.own

    @property
    def outside(self) -> float:
        """The fraction of hives in which the gap is outside its limits."""
        return 0.0 if self.draws is None else self.draws.outside


@dataclass(frozen=True, slots=True)
class Moves:
    """The variation of all gaps of hives of one kind.

    `outside` is the fraction of hives with at least one of our gaps outside its limits. Gaps that are outside as
    designed have their own findings and do not count. `sizes` are the varying sizes in winter; `swells` is the growth
    of each until winter and until summer, and `beyond` lists reasons why this may be wrong. `count` is the number of
    simulated hives.
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
        """Our gaps that are within limits as made, starting with the gap that is most often outside."""
        own = (gap for gap in self.gaps if gap.is_own and gap.draws is not None and gap.limits.holds(gap.made))
        return tuple(sorted(own, key=lambda gap: (-gap.outside, gap.made)))

    @property
    def changed(self) -> tuple[MovedGap, ...]:
        """Gaps that are within limits as made, but in winter or summer are outside by an amount visible on a tape."""
        return tuple(
            gap
            for gap in self.gaps
            if gap.limits.holds(gap.made) and max(gap.limits.off(gap.winter), gap.limits.off(gap.summer)) >= SHOWN
        )


def chains_for(of: Population, tolerances: Tolerances) -> tuple[GapChain, ...]:
    """The chains of these hives, which cover every change of contact within the reach of moisture and tolerances."""
    sizes = dimensions_of(of.build)
    reach = reach_of(sizes, of, tolerances)
    winter, summer, _ = _seasons(sizes, tolerances.moisture)
    far = {s.name: reach[s.name] + max(abs(winter.get(s.name, ZERO)), abs(summer.get(s.name, ZERO))) for s in sizes}
    return chains_of(of.build, far)


def moves_of(
    of: Population, tolerances: Tolerances, limits: BeeSpace, *, count: int = QUICK, theirs: bool = False
) -> Moves:
    """The variation of all gaps of these hives, from `count` simulated hives. The same input gives the same result.

    If `theirs` is true, the gaps of the user's own boxes are simulated too.
    """
    chains = chains_for(of, tolerances)
    winter, summer, beyond = _seasons(dimensions_of(of.build), tolerances.moisture)
    varying, gap_limits, held, counted = _varying(of, tolerances, limits, chains, winter)
    own = draw_together([held[n] for n in counted], varying, count)
    rest = draw([held[n] for n in sorted(held.keys() - set(counted))], varying, count) if theirs else ()
    draws = {each.name: each for each in (*own.gaps, *rest)}
    gaps = tuple(
        MovedGap(
            chain,
            gap_limits[n],
            chain.at({}),
            winter=chain.at(winter),
            summer=chain.at(summer),
            by_arithmetic=stack(held[n], varying) if n in held else None,
            draws=draws.get(str(n)),
        )
        for n, chain in enumerate(chains)
    )
    swells = tuple((name, by, summer[name]) for name, by in winter.items())
    return Moves(gaps, varying, swells, beyond=beyond, outside=own.outside, count=count)


def outside_of(
    of: Population, tolerances: Tolerances, limits: BeeSpace, count: int, chains: tuple[GapChain, ...]
) -> float:
    """Calculates only the fraction `outside` of `moves_of`. `chains` must cover at least this much variation."""
    winter, _, _ = _seasons(dimensions_of(of.build), tolerances.moisture)
    varying, _, held, counted = _varying(of, tolerances, limits, chains, winter)
    return draw_together([held[n] for n in counted], varying, count).outside


def _varying(
    of: Population, tolerances: Tolerances, limits: BeeSpace, chains: tuple[GapChain, ...], winter: Mapping[str, Length]
) -> tuple[tuple[Size, ...], list[GapLimits], dict[int, Chain], list[int]]:
    """The data for a simulation: the varying sizes, the limits of gaps, the chains, and the numbers of our own gaps.

    The chains are keyed by number. Only gaps that can leave their limits have a chain. "Our gaps" are only those that
    are within limits as made.
    """
    sizes = dimensions_of(of.build)
    reach = reach_of(sizes, of, tolerances)
    varying = tuple(_size(size, reach[size.name], winter.get(size.name, ZERO)) for size in sizes)
    nominal = {size.name: size.nominal for size in sizes}
    gap_limits = [varied_limits(chain.name, chain.kind, chain.at({}), limits, of.mesh) for chain in chains]
    held = {
        n: _chain(str(n), chain.lines, one, nominal)
        for n, (chain, one) in enumerate(zip(chains, gap_limits, strict=True))
        if one.is_set and any(reach[name] for line in chain.lines for name, _ in line.coefficients)
    }
    return varying, gap_limits, held, [n for n in held if chains[n].own and gap_limits[n].holds(chains[n].at({}))]


def reach_of(sizes: tuple[HiveSize, ...], of: Population, tolerances: Tolerances) -> dict[str, Length]:
    """The tolerance of each size, plus or minus.

    For a size that the user measured on several hives, it comes from the spread of the measurements. The gap over the
    bars is such a size; the lugs are measured with it and do not vary separately. Its standard deviation is the root
    sum square of the standard deviation of the measured gaps (JCGM 100:2008, 4.2.2) and of the reading error, which is
    uniform within its limits (4.3.7). The tolerance is three times that.
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
    """The standard deviation of a sample, or 0 for a single value. Source: JCGM 100:2008, 4.2.2.

    >>> round(deviation([Fraction(1), Fraction(2), Fraction(3)]), 6)
    1.0
    """
    if len(values) < 2:
        return 0.0
    mean = sum(values) / len(values)
    return sqrt(sum((value - mean) ** 2 for value in values) / (len(values) - 1))


def _seasons(
    sizes: tuple[HiveSize, ...], moisture: Moisture
) -> tuple[dict[str, Length], dict[str, Length], tuple[str, ...]]:
    """How much each size grows until winter and until summer, and why this may be wrong; see `swelling`."""
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


def swelling(size: HiveSize, moisture: Moisture, season: Damp) -> tuple[Length, tuple[str, ...]]:
    """How much a size has grown in `season` since it was cut or measured, to 1/1000 mm, and why this may be wrong.

    Uses the larger coefficient of the wood, because the ring direction is not known.
    """
    wood = species(moisture.species if size.made else moisture.boxes_species)
    start = moisture.shop if size.made else moisture.measured
    moved = movement(float(size.swells.mm), wood, Grain.UNKNOWN, start.percent, season.percent)
    return _rounded(moved.change), (*moved.beyond, *start.beyond, *season.beyond)


def _rounded(mm: float) -> Length:
    return Length(Fraction(round(mm * _ROUND), _ROUND))


def _size(size: HiveSize, reach: Length, by: Length) -> Size:
    return Size(size.name, size.nominal + by, reach, reach)


def _chain(name: str, lines: tuple[GapLine, ...], limits: GapLimits, nominal: Mapping[str, Length]) -> Chain:
    """The gap as a sum of sizes and a constant."""
    sums = []
    for line in lines:
        held = sum((nominal[name] * share for name, share in line.coefficients), ZERO)
        sums.append((line.nominal - held, line.coefficients))
    (constant, terms), *others = sorted(sums, key=lambda each: not each[1])
    least = ZERO - _FAR if limits.least is None else limits.least
    most = _FAR if limits.most is None else limits.most
    return Chain(name, terms, least, most=most, constant=constant, others=tuple(others))


_MANY = 2  # ways to assemble hives; if there are more, the cores share them
_MOST_DRAWN, _LEAST_DRAWN = 6_000_000, 10_000  # the maximum for all kinds together, and the minimum for each


@dataclass(frozen=True, slots=True)
class MovedHives:
    """Hives of one kind: the names of their groups, their total count, and the variation of their gaps."""

    names: tuple[str, ...]
    count: int
    of: Population
    moves: Moves


def moved_hives(
    units: Iterable[Unit],
    tolerances: Tolerances,
    limits: BeeSpace,
    *,
    count: int = QUICK,
    theirs: bool = False,
    progress: Callable[[str], None] | None = None,
) -> tuple[MovedHives, ...]:
    """The variation of the gaps of each kind of hive of these units, in order; see `moves_of`.

    For each kind, `count` hives are simulated, or fewer if that would take minutes. `theirs` is as in `moves_of`.
    """
    groups = units_by_hives(units)
    named: dict[Population, list[tuple[str, int]]] = {}
    known: dict[Hashable, list[tuple[str, Population]]] = {}
    for group in groups.values():
        hives = next(iter(group.values())).line.hives
        alike = (build_key(group), hives.gaps, hives.is_gap_measured, hives.sugar)
        ways = known.get(alike)
        if ways is None:
            place = place_of(hives)
            ways = known[alike] = [(name.removeprefix(place), of) for name, of in populations(group)]
        for words, of in ways:
            named.setdefault(of, []).append((place_of(hives) + words, hives.count))
    drawn = min(count, max(_LEAST_DRAWN, _MOST_DRAWN // max(1, len(named))))
    if progress is not None and (count > QUICK or len(named) > _MANY):
        progress(f"trying how sizes may vary: {len(named)} kinds of hives, {drawn:,} of each")
    found = over_cores(_work_out, [(of, tolerances, limits, drawn, theirs) for of in named], _MANY + 1)
    return tuple(
        MovedHives(tuple(dict.fromkeys(name for name, _ in who)), sum(many for _, many in who), of, moves)
        for (of, who), moves in zip(named.items(), found, strict=True)
    )


def populations(group: dict[str, Unit]) -> list[tuple[str, Population]]:
    """Every way to assemble the hives of a group: its name, and the hives built at the mean of their measured gaps."""
    line = next(iter(group.values())).line
    gaps = line.hives.gaps or (line.setting.box.gap,)
    state = mesh_state(group)
    mesh = MeshSag()
    if state is not None:
        between = thousandths(max(each.fresh.between for each in state.at)) if state.rests else None
        mesh = MeshSag(state.counted, between)
    return [
        (each.name, Population(replace(each, name=""), tuple(sorted(gaps)), line.hives.is_gap_measured, mesh))
        for each in builds_of(group, average(list(gaps)))
    ]


def _work_out(of: Population, tolerances: Tolerances, limits: BeeSpace, count: int, theirs: bool) -> Moves:
    return moves_of(of, tolerances, limits, count=count, theirs=theirs)


DAMPER = 3.0  # percent of moisture content: about the difference between dry and wet parts of a country
_LEAST_DAMP = 4.0


@dataclass(frozen=True, slots=True)
class WhatIf:
    """An assumption, its value, and the fraction of hives out of limits with another value, `instead`."""

    key: str
    value: str
    instead: str
    outside: float


def what_if(hives: MovedHives, tolerances: Tolerances, limits: BeeSpace, unit: LengthUnit) -> tuple[WhatIf, ...]:
    """The effect of changing each assumption by itself, for these hives, largest effects first."""
    doubled = replace(tolerances, reach=tuple((work, reach * 2) for work, reach in tolerances.reach))
    chains = chains_for(hives.of, replace(doubled, moisture=_winter(tolerances, DAMPER).moisture))

    def outside(changed: Tolerances) -> float:
        return outside_of(hives.of, changed, limits, QUICK, chains)

    names = {work: key for key, work in KEYS.items()}
    found = [
        WhatIf(
            f"tolerance, {names[work]}",
            reach.text(unit),
            f"plus or minus {(reach * 2).text(unit)}",
            outside(replace(tolerances, reach=tuple((w, r * 2 if w is work else r) for w, r in tolerances.reach))),
        )
        for work, reach in tolerances.reach
    ]
    for by in (DAMPER, -DAMPER):
        changed = _winter(tolerances, by)
        damp = changed.moisture.winter
        found.append(WhatIf("moisture, winter", tolerances.moisture.winter.words, damp.words, outside(changed)))
    return tuple(sorted(found, key=lambda each: -abs(each.outside - hives.moves.outside)))


def _winter(tolerances: Tolerances, by: float) -> Tolerances:
    percent = max(tolerances.moisture.winter.percent + by, _LEAST_DAMP)
    return replace(tolerances, moisture=replace(tolerances.moisture, winter=Damp(f"{percent:.1f} %", percent)))


WORTH_TELLING = 0.005  # fraction of all hives; if fewer are affected, the report says nothing
_COUNTS = 0.01  # a size with a smaller share of a gap's spread is not named
_PARTS = ("front", "back", "left", "right", "all", "lane", "strip", "spacer")
_MOSTLY = 0.5
_MORE = "The report has more, under Tolerance and wood movement."


def check_moves(moved: Sequence[MovedHives], wording: Wording) -> list[Finding]:
    """Reports how many hives will have one of our gaps outside its limits, and the effect of moisture."""
    return [*_tolerance_findings(moved, wording), *_swells(moved, wording)]


def in_a_hundred(share: float) -> str:
    """A fraction of hives, as text.

    >>> in_a_hundred(0.024), in_a_hundred(0.0051), in_a_hundred(0.0001)
    ('2 hives in 100', '1 hive in 100', 'under 1 hive in 100')
    """
    whole = int(share * 100 + 0.5)
    if not whole:
        return "under 1 hive in 100"
    return f"{whole} hive{'s' if whole != 1 else ''} in 100"


def hangs_on(gap: MovedGap) -> tuple[tuple[str, float], ...]:
    """The three sizes with the largest effect on a gap, each with its share of the variance."""
    if gap.by_arithmetic is None:
        return ()
    return tuple((each.size, each.of_variance) for each in gap.by_arithmetic.matter_most if each.of_variance >= _COUNTS)


def gap_place(gap: MovedGap) -> str:
    """The first place of a gap, without side, lane or number."""
    place = gap.chain.where[0]
    while place.rpartition(", ")[2].split(" ")[0] in _PARTS and ", " in place:
        place = place.rpartition(", ")[0]
    return place


def broken(gap: MovedGap) -> str:
    """A description of the way in which a gap is most often outside its limits."""
    thing, _, under = gap_place(gap).partition(" on ")
    if gap.chain.name == GapName.OVERHANG:
        return f"{thing} past the edge of {under}"
    if gap.chain.kind == "contact":
        lifted = f"mesh of the {thing}" if gap.chain.name == GapName.MESH_ON_WALL else thing
        return f"{lifted} lifted off {under}"
    tight = gap.draws is not None and gap.draws.below > gap.draws.above
    return f"{gap.chain.name} too {'tight' if tight else 'wide'}"


def _tolerance_findings(moved: Sequence[MovedHives], wording: Wording) -> Iterator[Finding]:
    often = [each for each in moved if each.moves.outside >= WORTH_TELLING and each.moves.own]
    if not often:
        return
    worst = max(often, key=lambda each: each.moves.outside)
    gap = worst.moves.own[0]
    least = min(often, key=lambda each: each.moves.outside).moves.outside
    low, high = in_a_hundred(least), in_a_hundred(worst.moves.outside)
    range_ = high if low == high else f"{low.split(' ')[0]} to {high}"
    most = f". Worst: {worst.names[0]}" if len(often) > 1 and low != high else ""
    sizes = ", ".join(f"{name} ({share:.0%})" for name, share in hangs_on(gap))
    count = in_a_hundred(gap.outside).partition(" hive")[0]
    yield Finding(
        "gaps-vary",
        Severity.NOTE,
        "; ".join(dict.fromkeys(name for each in often for name in each.names)),
        f"sizes vary: about {range_} will have a gap outside its limits{most} ({broken(gap)} in {count} of 100)",
        wording.quoted(gap.limits.words),
        f"{worst.moves.count:,} hives simulated, with the tolerances listed under the defaults",
        f"Biggest cause: {sizes}. {_cure(gap)}{_MORE}",
    )


def _cure(gap: MovedGap) -> str:
    """The remedy if most of a gap's variation comes from the measured gap over the top bars."""
    first = next(iter(hangs_on(gap)), ("", 0.0))
    if not first[0].startswith("gap over the top bars") or first[1] < _MOSTLY:
        return ""
    return "Measure that gap on more hives, or sort the hives by that gap. "


def _swells(moved: Sequence[MovedHives], wording: Wording) -> Iterator[Finding]:
    """Finds gaps that are within limits as made, but go out of limits as the moisture changes."""
    for own in (True, False):
        past = [(each, gap) for each in moved for gap in each.moves.changed if gap.is_own is own]
        if not past:
            continue
        _, gap = max(past, key=lambda pair: max(pair[1].limits.off(end) for end in (pair[1].winter, pair[1].summer)))
        others = len({gap.chain.name for _, gap in past}) - 1
        more = f"; {others} more gap{'s' if others > 1 else ''} also go{'' if others > 1 else 'es'} out of limits"
        yield Finding(
            "wood-breaks-limit" if own else "wood-moves",
            Severity.WARNING if own else Severity.NOTE,
            "; ".join(dict.fromkeys(name for each, _ in past for name in each.names)),
            f"{gap.chain.name}: {wording.about(gap.made)} when {'made' if own else 'measured'}, "
            f"{wording.about(gap.winter)} in winter, {wording.about(gap.summer)} in summer, because wood swells and "
            f"shrinks{more if others else ''}",
            wording.quoted(gap.limits.words),
            "Wood Handbook, Equations 4-5 and 13-2",
            f"Let the lumber acclimate outdoors, under cover, before you cut it, or allow for the movement. {_MORE}"
            if own
            else f"These gaps are in your own boxes. Measure them in the season that matters. {_MORE}",
        )
