"""The first article: how many units to measure, the limits of each size, and the check of a measured unit."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import KW_ONLY, dataclass, replace
from fractions import Fraction
from math import comb

from woodshop.checks.check_batch import check_alone
from woodshop.checks.mesh_state import made_state
from woodshop.checks.remedies import CheckContext
from woodshop.checks.variation import Population, populations
from woodshop.design.batch import Batch, Hives, Unit, of_board
from woodshop.design.make_units import builds_of, place_of, units_by_hives
from woodshop.design.measured_files import UnitFile, average, sizes_given
from woodshop.design.settle.settle import fits_box
from woodshop.errors import InputError, Problem
from woodshop.findings import Severity
from woodshop.hardware.catalogue import items
from woodshop.hardware.items.spacer_strips import finest
from woodshop.hardware.registry import BoardPart
from woodshop.hive.gaps.faces import GapName
from woodshop.hive.gaps.grading import BeeSpace, GapLimits, varied_limits
from woodshop.hive.stacking.place import Place
from woodshop.hive.variation.chains import GapChain, GapLine, chains_of
from woodshop.hive.variation.sizes import GAP_OVER, HiveSize, Work, dimensions_of, warped
from woodshop.reference.facts import fact
from woodshop.units.lengths import ZERO, Length, inch
from woodshop.units.wording import Wording

HIVE = "hive"
"""The key for the user's boxes, frames and covers in a unit file."""


@dataclass(frozen=True, slots=True)
class MeasuredUnit:
    """The units for one group of hives, remade with the sizes of one measured unit, and each measured size."""

    batch: Batch
    units: tuple[Unit, ...]
    place: str
    sizes: tuple[tuple[str, HiveSize, Length], ...]


def sizes_of(group: dict[str, Unit]) -> dict[str, dict[str, HiveSize]]:
    """Every size of these hives, keyed by item and then by name, made parts first.

    The user's own parts are under "hive". The gap over the top bars is the mean of the measured gaps.
    """
    line = next(iter(group.values())).line
    found: dict[str, dict[str, HiveSize]] = {}
    for build in builds_of(group, average(list(line.hives.gaps or (line.setting.box.gap,)))):
        for size in dimensions_of(build):
            found.setdefault(item_of(size), {}).setdefault(size.name, size)
    return dict(sorted(found.items(), key=lambda pair: pair[0] == HIVE))


def item_of(size: HiveSize) -> str:
    """The item to which a size belongs, or "hive" for the user's own parts."""
    return next((place.made_of[0] if place.made_of else _item_at(place) for place, _ in size.moves), HIVE)


def _item_at(place: Place) -> str:
    return next(item.name for item in items() if item.place == place)


def measured_unit(batch: Batch, units: Sequence[Unit], file: UnitFile) -> MeasuredUnit:
    """The hives with the measured sizes. Sizes that were not measured are as designed.

    Raises InputError for unknown names, impossible lengths, and sizes that leave nothing of a part.
    """
    groups = units_by_hives(units)
    name = _group_named(file, groups)
    group = groups[name]
    given = sizes_given(file, sizes_of(group), batch.wording)
    old = next(iter(group.values())).line.hives
    hives = _as_measured(old, given)
    try:
        made = tuple(_unit(unit, hives, given) for unit in units if unit.line.hives.name == name)
        stands = {unit.line.item.name: unit for unit in made if unit.line.item.is_per_hive}
        for gap in hives.gaps or (None,):
            for each in builds_of(stands, gap):
                _ = each.stack
    except InputError:
        raise
    except ValueError as why:  # a part without size, or a cut outside its part
        sizes = f"sizes that leave a part with none ({why})"
        raise InputError(
            Problem(f"{file.where}, measured", sizes, "sizes above 0 that fit together", "Measure those sizes again.")
        ) from None
    lines = tuple(unit.line for unit in made)
    one = replace(batch, hives=(hives,), lines=lines)
    return MeasuredUnit(one, made, place_of(hives), tuple((item_of(size), size, length) for size, length in given))


def _group_named(file: UnitFile, groups: dict[str, dict[str, Unit]]) -> str:
    """The group named in the file or, if the file names none, the only group."""
    names = ", ".join(repr(name) for name in groups)
    if not groups:
        given, wanted, do = "a design that puts nothing on hives", "boards, strips or quilts", "Name another design."
    elif file.hives is None and len(groups) > 1:
        given, wanted, do = "no name", f"one of {names}", 'Add a line such as hives = "' + next(iter(groups)) + '".'
    elif file.hives is not None and file.hives not in groups:
        given, wanted, do = repr(file.hives), f"one of {names}", "Write the name as it is in the design."
    else:
        return next(iter(groups)) if file.hives is None else file.hives
    raise InputError(Problem(f"{file.where}, hives", given, wanted, do))


def _as_measured(hives: Hives, given: tuple[tuple[HiveSize, Length], ...]) -> Hives:
    """The group with the sizes of the measured hive. A measured gap over its top bars replaces all others."""
    measured = tuple((size.name, length) for size, length in given)
    top = dict(measured).get(f"{GAP_OVER}, box {len(hives.woodenware.boxes)}")
    if top is not None:
        hives = replace(hives, gaps=(top,), is_gap_measured=True)
    return replace(hives, measured=measured)


def _unit(unit: Unit, hives: Hives, given: tuple[tuple[HiveSize, Length], ...]) -> Unit:
    """The unit with its faces moved to the measured sizes. In a hive it replaces the designed unit."""
    place = unit.line.item.place
    moves = [(move, length - size.nominal) for size, length in given for of, move in size.moves if of == place]
    return Unit(replace(unit.line, hives=hives), warped(unit.assembly, moves), unit.assembly)


LOTS = (8, 15, 25, 50, 90, 150, 280, 500, 1200, 3200, 10000)
"""The upper limits of the lot sizes in the table. Larger lots use the sample of the last one."""

DOUBT = Fraction(1, 20)


@dataclass(frozen=True, slots=True)
class Sample:
    """The sample of a run: the first unit, then every `step`-th unit."""

    run: int
    count: int
    step: int

    @property
    def which(self) -> tuple[int, ...]:
        """The numbers of the units to measure, as counted in the run."""
        return tuple(1 + n * self.step for n in range(self.count))

    @property
    def rule_of_three(self) -> Fraction:
        """The largest likely fraction of units out of limits if the whole sample (n) is within them: 3/n, at most 1.

        The confidence is 95 %.
        """
        return min(fact("sample.rule_of_three").number / self.count, Fraction(1))

    @property
    def most_out(self) -> int:
        """The largest likely number of units out of limits in the run if the whole sample is within them.

        The confidence is 95 %.

        >>> Sample(13, 3, 6).most_out
        7
        """
        return next((out - 1 for out in range(1, self.run + 1) if self.unseen(out) < DOUBT), self.run - self.count)

    def unseen(self, out: int) -> Fraction:
        """The probability that the sample has none of the `out` units that are out of limits.

        The sample is drawn without replacement.
        """
        return Fraction(comb(self.run - out, self.count), comb(self.run, self.count))


def sample_of(run: int) -> Sample:
    """The units of a run to measure, from the table of lot sizes. A single unit is always measured.

    >>> sample_of(13).which, sample_of(1).which
    ((1, 7, 13), (1,))
    """
    lot = next((most for most in LOTS if run <= most), LOTS[-1])
    count = min(run, int(fact(f"sample.lot_{lot}").number))
    return Sample(run, count, (run - 1) // (count - 1) if count > 1 else 1)


FAR = inch("1/8")
"""The farthest that a limit may be from the designed size.

It is small, because other checks and hives depend on sizes.
"""

ITSELF = "its own checks"
THICKNESS = "thickness of the strips"  # measured with a gauge or a caliper, not with a tape
ENTRANCE = "upper edge of the entrance"  # two limits less than two marks apart: for bees and for mice
HEIGHT = "height of the rim"  # the width of the lumber, accepted within half a mark
_FINEST = 8  # parts of a mark, used if there is no mark within the limits


@dataclass(frozen=True, slots=True)
class SizeLimits:
    """The limits of a size, both on marks of the tape, and the gap that sets each limit ("" if `FAR` sets it)."""

    item: str
    size: HiveSize
    least: Length
    _: KW_ONLY
    most: Length
    least_by: str
    most_by: str


@dataclass(frozen=True, slots=True)
class FirstArticle:
    """The sizes to measure on the first unit of each item, for hives of one kind.

    `runs` has the number of units of each item.

    `over_bars` is the range of the gap between mesh and bars over all measured hives, and its limits.
    """

    names: tuple[str, ...]
    sizes: tuple[SizeLimits, ...]
    runs: tuple[tuple[str, int], ...]
    over_bars: tuple[Length, Length, GapLimits] | None
    mark: Length


@dataclass(frozen=True, slots=True)
class _Reach:
    """How much a size can grow or shrink, the gap that limits this, and whether the gap must stay below its limit."""

    by: Length
    name: str = ""
    under: bool = False


def first_articles(units: Iterable[Unit], limits: BeeSpace) -> tuple[FirstArticle, ...]:
    """The check sheets: one for each kind of hive in the batch, in the order of the design."""
    alike: dict[tuple[Population, ...], list[dict[str, Unit]]] = {}
    for group in units_by_hives(units).values():
        if any(unit.line.count for unit in group.values()):
            alike.setdefault(tuple(of for _, of in populations(group)), []).append(group)
    return tuple(_article(of, groups, limits) for of, groups in alike.items())


def _article(ways: tuple[Population, ...], groups: Sequence[dict[str, Unit]], limits: BeeSpace) -> FirstArticle:
    mark = next(iter(groups[0].values())).line.setting.mark
    found: dict[str, SizeLimits] = {}
    over: list[tuple[Length, GapLimits]] = []
    made = {item for group in groups for item, unit in group.items() if unit.line.count}
    for of in ways:
        sizes = [each for each in dimensions_of(of.build) if each.made and item_of(each) in made]
        cases = list(_cases(of, sizes, limits))
        over += [(chain.at(shift), gap_limits) for chain, shift, gap_limits in cases if chain.kind == "mesh over bars"]
        for size in sizes:
            step = mark / 2 if size.name == HEIGHT or size.name.startswith(ENTRANCE) else mark
            if size.name == THICKNESS:
                step = finest(next(iter(groups[0].values())).line.setting)
            new = _alone(_limits(size, cases, step), groups[0], limits, step)
            if size.name == THICKNESS:
                strips = [unit for group in groups if (unit := of_board(group, BoardPart.STRIPS)) is not None]
                new = _holding_the_mesh(new, strips, limits, step)
            found[size.name] = new if size.name not in found else _tighter(found[size.name], new)
    runs: dict[str, int] = {}
    for group in groups:
        for item, unit in group.items():
            if any(each.item == item for each in found.values()):
                runs[item] = runs.get(item, 0) + unit.line.count
    gaps = [gap for gap, _ in over]
    if over and THICKNESS in found:  # a gap smaller than the thickness of the strips lifts the mesh
        own = over[0][1]
        over[0] = (over[0][0], replace(own, least=own.least and max(own.least, found[THICKNESS].size.nominal)))
    return FirstArticle(
        tuple(dict.fromkeys(unit.line.hives.name or unit.line.fits for g in groups for unit in list(g.values())[:1])),
        tuple(found.values()),
        tuple((item, count) for item, count in runs.items() if count),
        (min(gaps), max(gaps), over[0][1]) if over else None,
        mark,
    )


Case = tuple[GapChain, Mapping[str, Length], GapLimits]
"""The chain of a gap, the difference between the gap over the bars and its mean, and the gap's limits in that case."""


def _cases(of: Population, sizes: Sequence[HiveSize], limits: BeeSpace) -> Iterable[Case]:
    """Every gap that is within its limits, at each measured top-bar gap."""
    over = [each for each in dimensions_of(of.build) if each.work is Work.GAP and each.name.startswith(GAP_OVER)]
    shifts = [{each.name: gap - each.nominal for each in over} for gap in sorted(set(of.gaps))]
    reach = {size.name: FAR for size in sizes}
    reach |= {name: max(abs(shift[name]) for shift in shifts) for name in shifts[0]}
    for chain in chains_of(of.build, reach):
        for shift in shifts:
            gap_limits = varied_limits(chain.name, chain.kind, chain.at(shift), limits, of.mesh)
            if chain.kind == "contact" and chain.name.endswith(" on wall") and not _hangs(chain, shift):
                gap_limits = replace(gap_limits, most=chain.at(shift))  # there is a warning about bowed mesh anyway
            if gap_limits.is_set and gap_limits.holds(chain.at(shift)):
                yield chain, shift, gap_limits


def _hangs(chain: GapChain, shift: Mapping[str, Length]) -> bool:
    """Whether the gap is below mesh that by design hangs in a rabbet or groove and does not touch the wall below."""
    return chain.name == GapName.MESH_ON_WALL and chain.at(shift) > ZERO


def _limits(size: HiveSize, cases: Sequence[Case], mark: Length) -> SizeLimits:
    down, up = (_reach(size.name, cases, way) for way in (-1, 1))
    step = mark
    for _ in range(_FINEST.bit_length()):
        least, most = (size.nominal - down.by).up_to(step), (size.nominal + up.by).down_to(step)
        least += step if down.under and least == size.nominal - down.by else ZERO
        most -= step if up.under and most == size.nominal + up.by else ZERO
        if least <= size.nominal <= most:
            break
        step = step / 2
    else:
        least, most = min(least, size.nominal), max(most, size.nominal)
    return SizeLimits(item_of(size), size, least, most=most, least_by=down.name, most_by=up.name)


def _tighter(one: SizeLimits, other: SizeLimits) -> SizeLimits:
    low, high = max(one, other, key=lambda each: each.least), min(one, other, key=lambda each: each.most)
    return SizeLimits(one.item, one.size, low.least, most=high.most, least_by=low.least_by, most_by=high.most_by)


def _alone(found: SizeLimits, group: Mapping[str, Unit], limits: BeeSpace, mark: Length) -> SizeLimits:
    """The limits, tightened mark by mark until no item, checked alone, has more findings than as designed."""
    whole = CheckContext((), limits, Wording(), fits_box)
    ours = [unit for unit in group.values() if any(unit.line.item.place == place for place, _ in found.size.moves)]

    def amiss(at: Length) -> set[str]:
        moves = [(move, at - found.size.nominal) for _, move in found.size.moves]
        try:
            made = [replace(unit, assembly=warped(unit.assembly, moves), designed=unit.assembly) for unit in ours]
        except ValueError:
            return {ITSELF}
        findings = [finding for unit in made for finding in check_alone(unit, whole)]
        return {finding.code for finding in findings if finding.severity is not Severity.NOTE}

    known, nominal = amiss(found.size.nominal), found.size.nominal
    least, most = found.least, found.most
    while least < nominal and amiss(least) - known:
        least = min(least + mark, nominal)
    while most > nominal and amiss(most) - known:
        most = max(most - mark, nominal)
    return replace(
        found,
        least=least,
        most=most,
        least_by=found.least_by if least == found.least else ITSELF,
        most_by=found.most_by if most == found.most else ITSELF,
    )


def _holding_the_mesh(found: SizeLimits, strips: Iterable[Unit], limits: BeeSpace, step: Length) -> SizeLimits:
    """The limits, with the minimum raised until strips of that thickness hold the loaded mesh high enough.

    This is a separate step because the chain only includes the sag over the strips as designed. Over thinner strips,
    which are lower, the mesh sags differently.
    """
    least, made = found.least, tuple(strips)
    while least < found.size.nominal and not all(_holds(each, least, limits) for each in made):
        least = min(least + step, found.size.nominal)
    return replace(found, least=least)


def _holds(strips: Unit, thickness: Length, limits: BeeSpace) -> bool:
    state = made_state(strips, strips.line.setting, strips.as_designed, thickness)
    return state.nearest.over_bars(state.limit) >= limits.mesh_least


def _reach(name: str, cases: Sequence[Case], way: int) -> _Reach:
    """How far the named size can increase (`way` 1) or decrease (-1) before a gap reaches its limit."""
    found = _Reach(FAR)
    for chain, shift, gap_limits in cases:
        lines = [(line.at(shift), _share(line, name) * way) for line in chain.lines]
        for far, under in (*_to_most(lines, gap_limits), *_to_least(lines, gap_limits)):
            if far < found.by or (far == found.by and under and not found.under):
                found = _Reach(far, chain.name, under)
    return found


def _share(line: GapLine, name: str) -> Fraction:
    return dict(line.coefficients).get(name, Fraction(0))


def _to_most(lines: Sequence[tuple[Length, Fraction]], gap_limits: GapLimits) -> Iterable[tuple[Length, bool]]:
    """The changes in size at which rising lines reach the upper limit of the gap. The smallest change counts."""
    if gap_limits.most is not None:
        yield from (((gap_limits.most - at) / share, gap_limits.under) for at, share in lines if share > 0)


def _to_least(lines: Sequence[tuple[Length, Fraction]], gap_limits: GapLimits) -> Iterable[tuple[Length, bool]]:
    """The change in size at which the gap reaches its lower limit, which is where its last line reaches the limit.

    Lines that become the highest before that point are included.
    """
    if gap_limits.least is None:
        return
    far = ZERO
    while True:
        held = [(at, share) for at, share in lines if at + share * far >= gap_limits.least]
        if any(share >= 0 for _, share in held):
            return
        ends = max((at - gap_limits.least) / -share for at, share in held)
        if ends <= far:
            yield far, False
            return
        far = ends
