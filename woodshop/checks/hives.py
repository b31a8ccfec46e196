"""Assembles and measures the hives of a batch. Each distinct hive is measured once, in parallel if there are many."""

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass, replace

from woodshop.checks.kept import Kept
from woodshop.checks.mesh_state import MeshState, mesh_state
from woodshop.design.batch import Hives, Unit
from woodshop.design.make_units import build_key, place_of, stacks_of, units_by_hives
from woodshop.hive.creatures import PartName
from woodshop.hive.gaps.faces import Gap
from woodshop.hive.gaps.gaps import gathered, looked_through, measure_gaps
from woodshop.hive.gaps.seating import CoverFit, NotchWay, Seat, VentHole, cover_fit, notch_way, seats, vent_holes
from woodshop.hive.passages.air import AirPath, air_path
from woodshop.hive.passages.doors import Ways, ways_of
from woodshop.hive.passages.inside import Inside, voids_of
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.stacking.stack import Stack
from woodshop.shape.part import contact_area
from woodshop.units.lengths import Length
from woodshop.workers import over_cores

_MANY = 3  # stacks to measure; if there are more, the cores share them


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip in place: its number from the front, its thickness, whether top bars carry it, and the voids above it.

    Each void comes with the distance that the strip must move to clear it: positive to the back, negative to the front.
    """

    number: int
    thickness: Length
    carried: bool
    under: tuple[tuple[str, Length], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredHive:
    """The measurements of one hive at one top-bar gap. Bee passages and air are measured only at the smallest gap.

    `skirt_on` are the tiers whose walls wrongly carry the skirt of the cover. `cover_on` are the parts other than walls
    that carry the cover or its spacers. `looked_through` lists the tiers with parts that close the hive although no gap
    is measured up to them.
    """

    kinds: tuple[TierKind, ...]
    gaps: tuple[Gap, ...]
    seats: tuple[Seat, ...]
    fit: CoverFit | None
    skirt_on: tuple[str, ...]
    cover_on: tuple[str, ...]
    notch: NotchWay | None
    holes: tuple[VentHole, ...]
    strips: tuple[Strip, ...]
    ways: Ways | None
    air: AirPath | None
    looked_through: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class HiveGroup:
    """A group of identical hives, the units made for them (keyed by item), and the measured alternatives.

    `alternatives` pairs the name of each way to assemble these hives with its measurements, one for each gap over the
    top bars, in ascending order of the gap. `mesh` is the mesh under the sugar of the boards, or None if there are no
    boards.
    """

    hives: Hives
    units: dict[str, Unit]
    alternatives: tuple[tuple[str, tuple[tuple[Length, MeasuredHive], ...]], ...]
    mesh: MeshState | None

    @property
    def place(self) -> str:
        """The name of the group in findings."""
        return place_of(self.hives)

    @property
    def measured(self) -> tuple[tuple[Length, MeasuredHive], ...]:
        """All measured hives, of every alternative, each with the gap over its top bars."""
        return tuple(each for _, measured in self.alternatives for each in measured)


def measure_hives(
    units: Iterable[Unit], progress: Callable[[str], None] | None = None, kept: Kept | None = None
) -> tuple[HiveGroup, ...]:
    """Every hive group of these units, assembled and measured at each gap over its top bars.

    Hives whose measurements are in `kept` are not measured again. Raises InputError for parts that cannot be assembled.
    """
    kept = Kept() if kept is None else kept
    groups = units_by_hives(units)
    jobs: dict[tuple[Stack, bool], int] = {}
    known: dict[Hashable, tuple[tuple[str, int], ...]] = {}
    standing = [_stood(group, known, jobs) for group in groups.values()]
    if progress is not None and len(jobs) > _MANY:
        progress(f"measuring the bee space in {len(jobs)} kinds of hives")
    measured = kept.each(measure, list(jobs), lambda new: over_cores(measure, new, _MANY + 1))
    meshes: dict[Hashable, MeshState | None] = {}
    found = []
    for group, stood in zip(groups.values(), standing, strict=True):
        hives = next(iter(group.values())).line.hives
        alternatives = tuple(
            (place_of(hives) + stood[0][1][which][0], tuple((gap, measured[ways[which][1]]) for gap, ways in stood))
            for which in range(len(stood[0][1]))
        )
        alike = (build_key(group), hives.gaps)
        if alike not in meshes:
            meshes[alike] = mesh_state(group)
        found.append(HiveGroup(hives, group, alternatives, meshes[alike]))
    return tuple(found)


def _stood(
    group: dict[str, Unit], known: dict[Hashable, tuple[tuple[str, int], ...]], jobs: dict[tuple[Stack, bool], int]
) -> list[tuple[Length, tuple[tuple[str, int], ...]]]:
    """For each gap, the ways to assemble these hives, each as (suffix of its name, number of its job).

    A job measures one hive. Identical groups share jobs.
    """
    place, alike = place_of(next(iter(group.values())).line.hives), build_key(group)
    stood = []
    for n, gap in enumerate(_gaps(group)):
        key = (alike, gap, n == 0)
        ways = known.get(key)
        if ways is None:
            ways = known[key] = tuple(
                (stack.name.removeprefix(place), jobs.setdefault((replace(stack, name=""), n == 0), len(jobs)))
                for stack in stacks_of(group, gap)
            )
        stood.append((gap, ways))
    return stood


def _gaps(group: dict[str, Unit]) -> list[Length]:
    """The measured top-bar gaps in ascending order, without duplicates, or the default if none was measured."""
    line = next(iter(group.values())).line
    return sorted(set(line.hives.gaps or (line.setting.box.gap,)))


def measure(stack: Stack, deep: bool = True) -> MeasuredHive:
    """Measures a hive. If `deep` is true, the passages of bees and air are included."""
    raw = measure_gaps(stack)
    inside = Inside(stack) if deep else None
    return MeasuredHive(
        kinds=tuple(tier.kind for tier in stack.tiers),
        gaps=gathered(raw),
        seats=seats(stack),
        fit=cover_fit(stack),
        skirt_on=tuple(
            dict.fromkeys(c.on_tier for t in stack.of(TierKind.COVER) for c in t.rests if c.part.startswith("skirt "))
        ),
        cover_on=_under_cover(stack),
        notch=notch_way(raw, stack),
        holes=vent_holes(stack),
        strips=_strips(stack),
        ways=ways_of(stack, inside) if deep else None,
        air=air_path(stack, inside) if deep else None,
        looked_through=looked_through(stack),
    )


def _under_cover(stack: Stack) -> tuple[str, ...]:
    rests = [c for tier in stack.of(TierKind.UNDER_COVER, TierKind.COVER) for c in tier.rests]
    bearing = {(tier.name, part) for tier in stack.tiers for part in tier.place.outside}
    words = [
        f"{c.on} of the {c.on_tier}"
        for c in rests
        if (c.on_tier, c.on) not in bearing and not c.part.startswith("skirt ")
    ]
    return tuple(dict.fromkeys(words))


def _strips(stack: Stack) -> tuple[Strip, ...]:
    """Every strip, from front to back."""
    ends = stack.top_box.named("box end")
    walls = (min(end.box.high[0] for end in ends), max(end.box.low[0] for end in ends))
    bars, voids, found = stack.top_box.named(PartName.TOP_BAR), voids_of(stack), []
    strips = sorted(
        (placed for tier in stack.of(TierKind.ON_BARS) for placed in tier.named("strip")), key=lambda p: p.box.low[0]
    )
    for number, strip in enumerate(strips, 1):
        (x0, y0, _), (x1, y1, _) = strip.box.low, strip.box.high
        under = []
        for name, void in voids:
            if x0 < void.high[0] and void.low[0] < x1 and y0 < void.high[1] and void.low[1] < y1:
                under.append((name, _aside((x0, x1), (void.low[0], void.high[0]), walls)))
        carried = any(contact_area(bar, strip).mm2 for bar in bars)
        found.append(Strip(number, strip.box.size(2), carried, tuple(under)))
    return tuple(found)


def _aside(strip: tuple[Length, Length], void: tuple[Length, Length], walls: tuple[Length, Length]) -> Length:
    """The shortest move that takes a strip out from under a void without hitting a wall. Forward is negative."""
    back, forward = void[1] - strip[0], void[0] - strip[1]
    if strip[0] + forward < walls[0]:
        return back
    if strip[1] + back > walls[1]:
        return forward
    return back if back <= abs(forward) else forward
