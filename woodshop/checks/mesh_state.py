"""The mesh of a board under its sugar, fresh and set hard, over the strips as they lie: estimates, and never a cut.

Room over the bars, and how far each strip lies below the mesh before it sags, are read off the hives put together, at
every gap measured. All that is said of a mesh anywhere comes from here.
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
from woodshop.units.wording import LengthUnit

# the last digit worth giving of a sag, by the design's unit and whether it is but a slack wire's
_MARKS = {
    ("in", False): inch("0.001"),
    ("in", True): inch("0.01"),
    ("mm", False): millimetre("0.1"),
    ("mm", True): millimetre(1),
}


@dataclass(frozen=True, slots=True)
class LoadedMesh:
    """The mesh under fresh sugar in a hive with one gap over its top bars.

    `room` is from the top bars to the mesh before it sags, `clear` from the strips up to it (the greatest of them;
    nothing where they touch or hold it up, or where there are none). `sag` is that of the fresh mesh, rounded up.
    """

    gap: Length
    room: Length
    clear: Length
    fresh: FreshMesh
    sag: Length

    @property
    def rests(self) -> bool:
        """Whether there are strips, and the mesh comes to rest on every one of them."""
        return bool(self.fresh.carries) and all(self.fresh.carries)

    @property
    def left(self) -> Length:
        """What is left over the bars where it sags most; nothing where the mesh lies on them."""
        return max(self.room - self.sag, ZERO)

    @property
    def at_strips(self) -> Length | None:
        """What is left over the bars beside a strip that the mesh rests on; None where it rests on none."""
        return self.room - self.clear if any(self.fresh.carries) else None

    @property
    def between(self) -> Length:
        """How far it sags below the strips that carry it; all of its sag where none does."""
        return max(self.sag - self.clear, ZERO) if any(self.fresh.carries) else self.sag

    def over_bars(self, limit: Length | None) -> Length:
        """The room that bee space over the bars is graded by, less than nothing where there is none.

        Of a mesh without strips (`limit` None) that is its room empty, and of one that sags more between strips than
        `limit` what would be left did it not: each is a finding of its own.
        """
        if limit is None or self.room <= ZERO:
            return self.room
        held = self.clear if any(self.fresh.carries) else ZERO
        return self.room - held - min(self.between, limit)


@dataclass(frozen=True, slots=True)
class MeshState:
    """The mesh of one group's boards: `spans` from wall to wall over the strips; across the hive where there are none.

    `at` is the mesh at each gap over the top bars, from the least up; `worst` the one that leaves least over the bars,
    and what it does is what is given wherever one figure stands. Once the sugar has set the mesh keeps its sag.
    `thickness` is that of the strips, `limit` the sag that they may leave between them; None without strips. `strip`
    is the strip that bears most.
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
        """The mesh at the gap where it leaves least over the bars; of equals, where it sags most."""
        return min(self.at, key=lambda each: (each.left, ZERO - each.sag))

    @property
    def fresh(self) -> FreshMesh:
        """The mesh as it is solved at its worst."""
        return self.worst.fresh

    @property
    def sag(self) -> Length:
        """How far it sags at its worst."""
        return self.worst.sag

    @property
    def span(self) -> Length:
        """The widest span."""
        return max(self.spans)

    @property
    def rests(self) -> bool:
        """Whether it comes to rest on every strip at every gap measured."""
        return all(each.rests for each in self.at)

    @property
    def between(self) -> Length:
        """How far it sags below the strips, at most, over all gaps measured."""
        return max(each.between for each in self.at)

    @property
    def is_over(self) -> bool:
        """Whether it sags more between its strips than they may leave, or is no beam at all, at some gap."""
        return self.limit is not None and any(each.between > self.limit or each.fresh.invalid for each in self.at)

    @property
    def counted(self) -> Length:
        """The sag that bee space over the bars is graded by: see `LoadedMesh.over_bars`."""
        return max(each.room - each.over_bars(self.limit) for each in self.at)

    def sag_in(self, gaps: Iterable[Gap]) -> MeshSag:
        """What fresh sugar does to the mesh of a hive with these gaps; at a gap that was not measured, the most it does
        at any."""
        rooms = {gap.least for gap in gaps if gap.kind == "mesh over bars"}
        here = [each for each in self.at if each.room in rooms] or self.at
        rests = all(each.rests for each in here)
        sag = max(each.room - each.over_bars(self.limit) for each in here)
        return MeshSag(sag, max(each.between for each in here) if rests else None)

    @property
    def nearest(self) -> LoadedMesh:
        """The mesh at the gap where bees have least room over the bars: see `LoadedMesh.over_bars`."""
        return min(self.at, key=lambda each: (each.over_bars(self.limit), each.gap))


def mesh_state(units: Mapping[str, Unit]) -> MeshState | None:
    """The mesh of the boards made for one group of hives, by item; None where no wire bottom and no strips are made."""
    strips, floor = of_board(units, BoardPart.STRIPS), of_board(units, BoardPart.FLOOR)
    if strips is None and floor is None:
        return None
    setting = (strips or floor).line.setting  # type: ignore[union-attr]
    places = [] if strips is None else [p.box for p in strips.assembly.named("strip")]
    middles = tuple(sorted((box.low[0] + box.high[0]) / 2 for box in places))
    # without strips the shorter wires, those across the hive, carry
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
    """What fresh sugar leaves of the room between mesh and bars where it sags most, over all gaps measured.

    One gap for each place; none in a hive without a board.
    """
    found: dict[str, Gap] = {}
    for gap in gaps:
        if mesh is not None and gap.kind == "mesh over bars":
            place, left = gap.place.rpartition(", lane")[0] or gap.place, [each.left for each in mesh.at]
            found.setdefault(place, replace(gap, name=LOADED, place=place, least=min(left), most=max(left)))
    return tuple(found.values())


def thousandths(inches: float) -> Length:
    """A sag brought up to a thousandth of an inch, whatever the design's unit: what gaps are drawn against."""
    return _up(inches, _MARKS["in", False])


def _up(inches: float, mark: Length) -> Length:
    # the hair is for machines that round otherwise
    return inch(Fraction(round(inches * 10**9), 10**9)).up_to(mark)


def made_state(strips: Unit, setting: Setting, assembly: Assembly, thickness: Length | None = None) -> MeshState:
    """The mesh that such strips would carry, at each gap of their hives, were the board so: by arithmetic alone.

    `thickness` is that of the strips, where it is not as they are made.
    """
    places = [p.box for p in assembly.named("strip")]
    middles = tuple(sorted((box.low[0] + box.high[0]) / 2 for box in places))
    spans = spans_between(setting, middles)
    gaps = sorted(set(strips.line.hives.gaps or (setting.box.gap,)))
    thick = max(box.size(2) for box in places) if thickness is None else thickness
    at = tuple(loaded(setting, spans, gap, *_as_made(setting, gap, thick, len(places))) for gap in gaps)
    return MeshState(len(places), thick, spans, at=at, limit=dict(strips.line.given)["sag"], strip=None)


def loaded(setting: Setting, spans: Sequence[Length], gap: Length, room: Length, below: Sequence[Length]) -> LoadedMesh:
    """The mesh over these spans, so far over the bars before it sags, its strips so far below it."""
    clear = [max(each, ZERO) for each in below]
    fresh = mesh_over(setting, spans, [float(each.inches) for each in clear])
    mark = _MARKS[setting.unit, bool(fresh.invalid)]
    sag = _up(fresh.sag, mark)
    carried = [each for each, carries in zip(clear, fresh.carries, strict=True) if carries]
    return LoadedMesh(gap, room, max(carried or clear, default=ZERO), fresh, sag)


def _measured(stack: Stack) -> tuple[Length, tuple[Length, ...]] | None:
    """From the top bars up to the mesh, and from each strip, front to back; None in a hive without a board."""
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
    """The same of so many strips so thick, under a board like theirs, by arithmetic."""
    room = gap + max(setting.mesh_low, ZERO)
    return room, (room - thick,) * count


def _most_loaded(strips: Unit, fresh: FreshMesh) -> StripStress:
    """The strip that bears most, on the top bars of the user's own frames as they hang."""
    part = strips.assembly.named("strip")[0].box
    sizes = (part.size(0), part.size(2), *_bars(*strips.line.hives.woodenware.boxes[-1]))
    return strip_stress(max(fresh.line_loads[1:-1]), *(float(size.inches) for size in sizes))


@lru_cache(maxsize=256)
def _bars(box: HiveBox, frame: Frame) -> tuple[Length, Length]:
    """How far apart the top bars of a box lie at most, from middle to middle, and how wide they are."""
    bars = sorted((p.box for p in hang(box, frame) if p.part.name == PartName.TOP_BAR), key=lambda b: b.low[1])
    steps = [one.low[1] - other.low[1] for other, one in pairwise(bars)] or [bars[0].size(1)]
    return max(steps), bars[0].size(1)


def fresh_mesh(state: MeshState, unit: LengthUnit) -> str:
    """What the fresh sugar does to the mesh at its worst, in the words of the report and of the map."""
    fresh, sag = state.fresh, state.sag.text(unit)
    which = f"{state.strips} strips, {state.span.text(unit)} apart at most" if state.strips else "no strips"
    which += _support(state.worst, unit)
    if not fresh.invalid:
        return f"{which}: the mesh sags {sag}, its wires at {percent(fresh.of_yield)} of yield"
    why = ", and ".join(words.removeprefix("beam invalid: ") for words in fresh.invalid)
    slack = f"{fresh.slack_wire.slack * 100:g} % longer than their span, assumed"
    return f"{which}: beam invalid ({why}); as slack wires, {slack}, the mesh hangs {sag}"


def _support(mesh: LoadedMesh, unit: LengthUnit) -> str:
    """Where the strips lie that the mesh sags to; nothing where they touch it, or there are none."""
    carries = mesh.fresh.carries
    if not carries or not mesh.clear:
        return ""
    below = f", {mesh.clear.text(unit)} below the mesh"
    if all(carries):
        return f"{below}, which comes to rest on them"
    if not any(carries):
        return f"{below}, which never comes down to them: they carry nothing"
    return f"{below}, which rests on {sum(carries)} of them"


def room_left(state: MeshState, unit: LengthUnit) -> str:
    """What the fresh sugar leaves over the bars at its worst."""
    mesh = state.worst
    if not mesh.left:
        return f"mesh lies on the bars, {mesh.room.text(unit)} beneath"
    return f"{mesh.left.text(unit)} of {mesh.room.text(unit)} over the bars is left"


def mesh_at_gap(mesh: LoadedMesh, unit: LengthUnit) -> str:
    """The mesh at one gap over the top bars: what is left at the strips and where it sags most."""
    which = f"gap {mesh.gap.text(unit)}: "
    if mesh.fresh.carries and mesh.clear:
        which += f"strips {mesh.clear.text(unit)} below the mesh, "
    which += f"sags {mesh.sag.text(unit)}"
    if not mesh.left:
        return f"{which} and lies on the bars"
    middle = f"{mesh.left.text(unit)} over the bars"
    if mesh.at_strips is None:
        return f"{which}; {middle}" + (", and no strip carries it" if mesh.fresh.carries else "")
    return f"{which}; {middle} between strips, {mesh.at_strips.text(unit)} at the strips"


def after_setting(state: MeshState) -> str:
    """What becomes of it once the sugar has set hard."""
    return "set hard, the block stays so" + (" and bears itself" if state.worst.left else "")


def strip_load(state: MeshState) -> str:
    """How hard the strips are pressed and bent; nothing without strips."""
    if state.strip is None:
        return ""
    bearing, bending = percent(state.strip.of_bearing), percent(state.strip.of_bending)
    return f"strips bear {bearing} of what crushes pine, and bend by {bending} of what breaks it"


def percent(share: float) -> str:
    """A share in whole per cent."""
    return f"{share * 100:.0f} %" if share >= 0.01 else "under 1 %"
