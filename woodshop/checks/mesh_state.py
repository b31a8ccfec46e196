"""Estimates how the mesh of a board sags under fresh and set sugar, with the strips under it. Never used for cutting.

The space over the bars, and the distance of each strip below the unloaded mesh, are measured on the assembled hives at
every gap. All figures about the mesh come from this module.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import KW_ONLY, dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from woodshop.design.batch import Unit, of_board
from woodshop.design.make_units import stacks_of
from woodshop.engineering.mesh_beam import FreshMesh, StripStress, strip_stress
from woodshop.hardware.board import Setting
from woodshop.hardware.items.spacer_strips import mesh_over, spans_between
from woodshop.hardware.registry import BoardPart
from woodshop.hive.creatures import PartName
from woodshop.hive.gaps.faces import Gap
from woodshop.hive.gaps.grading import LOADED, MeshSag
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.stacking.stack import Stack
from woodshop.hive.woodenware.box import Frame, HiveBox, hang
from woodshop.shape.part import Assembly
from woodshop.units.lengths import ZERO, Length, inch, millimetre
from woodshop.units.wording import LengthUnit, wording_of

# The last significant digit of a sag, by the unit of the design and by whether it is calculated from slack wires.
_MARKS = {
    ("in", False): inch("0.001"),
    ("in", True): inch("0.01"),
    ("mm", False): millimetre("0.1"),
    ("mm", True): millimetre(1),
}


@dataclass(frozen=True, slots=True)
class LoadedMesh:
    """The mesh under fresh sugar in a hive with one gap over its top bars.

    `room` is the distance from the top bars to the mesh before it sags. `clear` is the greatest distance up to the
    unloaded mesh from the strips that carry it under load, or from all strips if none does. It is zero if the strips
    touch or lift the mesh, or if there are none. `sag` is the sag under fresh sugar, rounded up.
    """

    gap: Length
    room: Length
    clear: Length
    fresh: FreshMesh
    sag: Length

    @property
    def rests(self) -> bool:
        """Whether there are strips and the mesh rests on all of them."""
        return bool(self.fresh.carries) and all(self.fresh.carries)

    @property
    def left(self) -> Length:
        """The space left over the bars where the mesh sags most, or zero if it touches them."""
        return max(self.room - self.sag, ZERO)

    @property
    def at_strips(self) -> Length | None:
        """The space left over the bars next to a strip that carries the mesh, or None if no strip does."""
        return self.room - self.clear if any(self.fresh.carries) else None

    @property
    def between(self) -> Length:
        """The sag below the strips that carry the mesh; the total sag if none does."""
        return max(self.sag - self.clear, ZERO) if any(self.fresh.carries) else self.sag

    def over_bars(self, limit: Length | None) -> Length:
        """The space over the bars used to grade bee space. It is negative if the mesh would be below their tops.

        If there are no strips, `limit` is None and this is the space under the empty mesh. If the mesh sags more than
        `limit` between strips, it is the space at a sag of `limit`. The checks report these cases separately.
        """
        if limit is None or self.room <= ZERO:
            return self.room
        held = self.clear if any(self.fresh.carries) else ZERO
        return self.room - held - min(self.between, limit)


@dataclass(frozen=True, slots=True)
class MeshState:
    """The mesh of one group's boards. `spans` run from wall to strip to wall or, without strips, across the hive.

    `at` lists the mesh at each gap over the top bars, in ascending order. `worst` leaves the least space; it is used
    wherever only one figure is shown. After the sugar has set, the block keeps the sag. `thickness` is the strips'
    thickness, `limit` the sag allowed between them; both are None without strips. `strip` is the most loaded strip.
    """

    strips: int
    thickness: Length | None
    spans: tuple[Length, ...]
    _: KW_ONLY
    at: tuple[LoadedMesh, ...]
    limit: Length | None
    strip: StripStress | None

    @property
    def worst(self) -> LoadedMesh:
        """The mesh at the gap with the least space over the bars. In a tie, it is the mesh that sags most."""
        return min(self.at, key=lambda each: (each.left, ZERO - each.sag))

    @property
    def fresh(self) -> FreshMesh:
        """The solution for the fresh mesh at the worst gap."""
        return self.worst.fresh

    @property
    def sag(self) -> Length:
        """The sag at the worst gap."""
        return self.worst.sag

    @property
    def span(self) -> Length:
        """The widest span."""
        return max(self.spans)

    @property
    def rests(self) -> bool:
        """Whether the mesh rests on every strip at every measured gap."""
        return all(each.rests for each in self.at)

    @property
    def between(self) -> Length:
        """The greatest sag below the strips over all measured gaps."""
        return max(each.between for each in self.at)

    @property
    def is_over(self) -> bool:
        """Whether, at any gap, the mesh sags too far between strips, or the beam formula no longer applies to it."""
        return self.limit is not None and any(each.between > self.limit or each.fresh.invalid for each in self.at)

    @property
    def counted(self) -> Length:
        """The sag used to grade bee space over the bars; see `LoadedMesh.over_bars`."""
        return max(each.room - each.over_bars(self.limit) for each in self.at)

    def sag_in(self, gaps: Iterable[Gap]) -> MeshSag:
        """The effect of fresh sugar on the mesh of a hive with these gaps.

        If a gap is unknown, the greatest effect is used.
        """
        rooms = {gap.least for gap in gaps if gap.kind == "mesh over bars"}
        here = [each for each in self.at if each.room in rooms] or self.at
        rests = all(each.rests for each in here)
        sag = max(each.room - each.over_bars(self.limit) for each in here)
        return MeshSag(sag, max(each.between for each in here) if rests else None)

    @property
    def nearest(self) -> LoadedMesh:
        """The mesh at the gap where bees have the least space over the bars; see `LoadedMesh.over_bars`."""
        return min(self.at, key=lambda each: (each.over_bars(self.limit), each.gap))


def mesh_state(units: Mapping[str, Unit]) -> MeshState | None:
    """The mesh of one group's boards, or None if it has neither wire bottom nor strips. `units` is keyed by item."""
    strips, floor = of_board(units, BoardPart.STRIPS), of_board(units, BoardPart.FLOOR)
    if strips is None and floor is None:
        return None
    setting = (strips or floor).line.setting  # type: ignore[union-attr]
    places = [] if strips is None else [p.box for p in strips.assembly.named("strip")]
    middles = tuple(sorted((box.low[0] + box.high[0]) / 2 for box in places))
    # without strips the shorter wires, which run across the hive, carry the load
    spans = spans_between(setting, middles) if middles else (min(setting.inside.long, setting.inside.wide),)
    hives = next(iter(units.values())).line.hives
    thick = max((box.size(2) for box in places), default=ZERO)
    found = []
    for gap in sorted(set(hives.gaps or (setting.box.gap,))):
        rooms = {each for stack in stacks_of(dict(units), gap) if (each := _measured(stack)) is not None}
        found += [
            loaded(setting, spans, gap, room, below)
            for room, below in rooms or {_as_made(setting, gap, thick, len(places))}
        ]
    if strips is None:
        return MeshState(0, None, spans, at=tuple(found), limit=None, strip=None)
    limit: Length = dict(strips.line.given)["sag"]
    state = MeshState(len(places), thick, spans, at=tuple(found), limit=limit, strip=None)
    return MeshState(len(places), thick, spans, at=tuple(found), limit=limit, strip=_most_loaded(strips, state.fresh))


def loaded_gaps(gaps: Iterable[Gap], mesh: MeshState | None) -> tuple[Gap, ...]:
    """The space between mesh and bars under fresh sugar where the mesh sags most, over all measured gaps.

    There is one gap for each place, and none in a hive without a board.
    """
    found: dict[str, Gap] = {}
    for gap in gaps:
        if mesh is not None and gap.kind == "mesh over bars":
            place, left = gap.place.rpartition(", lane")[0] or gap.place, [each.left for each in mesh.at]
            found.setdefault(place, replace(gap, name=LOADED, place=place, least=min(left), most=max(left)))
    return tuple(found.values())


def thousandths(inches: float) -> Length:
    """A sag rounded up to 0.001 in, whatever the unit of the design; used in the simulation."""
    return _up(inches, _MARKS["in", False])


def _up(inches: float, mark: Length) -> Length:
    # the small amount allows for machines that round differently
    return inch(Fraction(round(inches * 10**9), 10**9)).up_to(mark)


def made_state(strips: Unit, setting: Setting, assembly: Assembly, thickness: Length | None = None) -> MeshState:
    """The mesh over these strips at each gap of their hives, calculated for a board with this `setting`.

    `thickness` replaces the thickness of the strips.
    """
    places = [p.box for p in assembly.named("strip")]
    middles = tuple(sorted((box.low[0] + box.high[0]) / 2 for box in places))
    spans = spans_between(setting, middles)
    gaps = sorted(set(strips.line.hives.gaps or (setting.box.gap,)))
    thick = max(box.size(2) for box in places) if thickness is None else thickness
    at = tuple(loaded(setting, spans, gap, *_as_made(setting, gap, thick, len(places))) for gap in gaps)
    return MeshState(len(places), thick, spans, at=at, limit=dict(strips.line.given)["sag"], strip=None)


def loaded(setting: Setting, spans: Sequence[Length], gap: Length, room: Length, below: Sequence[Length]) -> LoadedMesh:
    """The mesh over these spans, with `room` over the bars and with the tops of its strips `below` it."""
    clear = [max(each, ZERO) for each in below]
    fresh = mesh_over(setting, spans, [float(each.inches) for each in clear])
    mark = _MARKS[setting.unit, bool(fresh.invalid)]
    sag = _up(fresh.sag, mark)
    carried = [each for each, carries in zip(clear, fresh.carries, strict=True) if carries]
    return LoadedMesh(gap, room, max(carried or clear, default=ZERO), fresh, sag)


def _measured(stack: Stack) -> tuple[Length, tuple[Length, ...]] | None:
    """The distances up to the mesh from the top bars and from each strip, front to back, or None without a board."""
    meshes = [placed.box.low[2] for tier in stack.of(TierKind.BOARD) for placed in tier.named("mesh")]
    if not meshes:
        return None
    low = min(meshes)
    bars = max(placed.box.high[2] for placed in stack.top_box.named(PartName.TOP_BAR))
    strips = sorted(
        (p.box for tier in stack.of(TierKind.ON_BARS) for p in tier.named("strip")), key=lambda box: box.low[0]
    )
    return low - bars, tuple(low - box.high[2] for box in strips)


def _as_made(setting: Setting, gap: Length, thick: Length, count: int) -> tuple[Length, tuple[Length, ...]]:
    """The calculated space under this board: over the bars, and over each of `count` strips of thickness `thick`."""
    room = gap + max(setting.mesh_low, ZERO)
    return room, (room - thick,) * count


def _most_loaded(strips: Unit, fresh: FreshMesh) -> StripStress:
    """The most loaded strip, resting on the top bars of the user's frames."""
    part = strips.assembly.named("strip")[0].box
    sizes = (part.size(0), part.size(2), *_bars(*strips.line.hives.woodenware.boxes[-1]))
    return strip_stress(max(fresh.line_loads[1:-1]), *(float(size.inches) for size in sizes))


@lru_cache(maxsize=256)
def _bars(box: HiveBox, frame: Frame) -> tuple[Length, Length]:
    """The greatest spacing of the top bars of a box, center to center, and their width."""
    bars = sorted((p.box for p in hang(box, frame) if p.part.name == PartName.TOP_BAR), key=lambda b: b.low[1])
    steps = [one.low[1] - other.low[1] for other, one in pairwise(bars)] or [bars[0].size(1)]
    return max(steps), bars[0].size(1)


def fresh_mesh(state: MeshState, unit: LengthUnit) -> str:
    """A description of the mesh under fresh sugar at its worst gap, for the report and the map."""
    fresh, sag = state.fresh, state.sag.text(unit)
    which = f"{state.strips} strips, at most {state.span.text(unit)} apart" if state.strips else "no strips"
    which += _support(state.worst, unit)
    if not fresh.invalid:
        return f"{which}: the mesh sags {sag}, its wires at {percent(fresh.of_yield)} of yield"
    why = wording_of(unit).said(", and ".join(words.removeprefix("beam invalid: ") for words in fresh.invalid))
    slack = f"assumed {fresh.slack_wire.slack * 100:g} % longer than their span"
    return f"{which}: too much load for the beam formula ({why}); with its wires slack, {slack}, the mesh hangs {sag}"


def _support(mesh: LoadedMesh, unit: LengthUnit) -> str:
    """A description of the distance of the strips below the mesh, or "" if they touch it or do not exist."""
    carries = mesh.fresh.carries
    if not carries or not mesh.clear:
        return ""
    below = f", {mesh.clear.text(unit)} below the mesh"
    if all(carries):
        return f"{below}, which sags onto them"
    if not any(carries):
        return f"{below}, which does not reach them, so they carry nothing"
    return f"{below}, which sags onto {sum(carries)} of them"


def room_left(state: MeshState, unit: LengthUnit) -> str:
    """A description of the space left over the bars at the worst gap."""
    mesh = state.worst
    if not mesh.left:
        return f"the mesh touches the bars {mesh.room.text(unit)} below it"
    return f"{mesh.left.text(unit)} of {mesh.room.text(unit)} over the bars remains"


def mesh_at_gap(mesh: LoadedMesh, unit: LengthUnit) -> str:
    """A description of the mesh at one gap over the top bars: the space left at the strips and at the lowest place."""
    which = f"gap {mesh.gap.text(unit)}: "
    if mesh.fresh.carries and mesh.clear:
        which += f"strips {mesh.clear.text(unit)} below the mesh, "
    which += f"sags {mesh.sag.text(unit)}"
    if not mesh.left:
        return f"{which} and touches the bars"
    middle = f"{mesh.left.text(unit)} over the bars"
    if mesh.at_strips is None:
        return f"{which}; {middle}" + (", and no strip carries it" if mesh.fresh.carries else "")
    return f"{which}; {middle} between strips, {mesh.at_strips.text(unit)} at the strips"


def after_setting(state: MeshState) -> str:
    """A description of the mesh after the sugar has set."""
    return "once set, the block keeps this shape" + (" and supports itself" if state.worst.left else "")


def strip_load(state: MeshState) -> str:
    """A description of the stress in the strips, or "" without strips."""
    if state.strip is None:
        return ""
    bearing, bending = percent(state.strip.of_bearing), percent(state.strip.of_bending)
    return f"strips: {bearing} of the crushing strength of pine, {bending} of its bending strength"


def percent(share: float) -> str:
    """A fraction as a whole percentage."""
    return f"{share * 100:.0f} %" if share >= 0.01 else "under 1 %"
