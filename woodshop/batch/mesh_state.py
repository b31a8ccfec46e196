"""The mesh of a board under its sugar, fresh and set hard, over the strips as they lie: estimates, and never a cut."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from woodshop.batch.values import Unit
from woodshop.engineering.mesh_beam import FreshMesh, StripStress, strip_stress
from woodshop.hardware.board import Setting
from woodshop.hardware.spacer_strips import mesh_on, spans_between
from woodshop.hive.box import HiveBox
from woodshop.hive.frame import Frame, hang
from woodshop.units import ZERO, Length, inch, millimetre

# to what a sag is worth telling, by the design's unit and whether it is but a slack wire's
_MARKS = {
    ("in", False): inch("0.001"),
    ("in", True): inch("0.01"),
    ("mm", False): millimetre("0.1"),
    ("mm", True): millimetre(1),
}


@dataclass(frozen=True, slots=True)
class MeshState:
    """One board's mesh: `spans` from wall to wall over the strips; across the hive where there are none.

    `sag` is that of the fresh mesh, brought up to what is worth telling; once the sugar has set it keeps it. `limit`
    is the sag that the strips may leave, None without strips. `strip` is the strip that bears most.
    """

    strips: int
    spans: tuple[Length, ...]
    fresh: FreshMesh
    sag: Length
    limit: Length | None
    strip: StripStress | None

    @property
    def span(self) -> Length:
        """The widest span."""
        return max(self.spans)

    @property
    def is_over(self) -> bool:
        """Whether it sags more than its strips may leave, or is no beam at all."""
        return self.limit is not None and (self.sag > self.limit or bool(self.fresh.invalid))

    @property
    def counted(self) -> Length:
        """The sag that bee space is held against: of strips that are too few, what they may leave is told apart."""
        return ZERO if self.limit is None else min(self.sag, self.limit)

    def left(self, room: Length) -> Length:
        """What is left of so much room over the bars; nothing where the mesh lies on them."""
        return max(room - self.sag, ZERO)


def mesh_state(units: Mapping[str, Unit]) -> MeshState | None:
    """The mesh of the boards made for one group of hives, by item; None where no mesh floor and no strips are made."""
    strips, floor = units.get("spacer strips"), units.get("mesh floor")
    if strips is None:
        return None if floor is None else _state(floor.line.setting, (), None)
    middles = tuple((p.box.low[0] + p.box.high[0]) / 2 for p in strips.assembly.named("strip"))
    limit: Length = dict(strips.line.given)["sag"]
    state = _state(strips.line.setting, middles, limit)
    return MeshState(state.strips, state.spans, state.fresh, state.sag, limit, _most_loaded(strips, state.fresh))


def _state(setting: Setting, middles: tuple[Length, ...], limit: Length | None) -> MeshState:
    # without strips the shorter wires, those across the hive, carry
    spans = spans_between(setting, middles) if middles else (min(setting.inside.long, setting.inside.wide),)
    fresh = mesh_on(setting, spans)
    mark = _MARKS[setting.unit, bool(fresh.invalid)]
    # the hair is for machines that round otherwise
    sag = inch(Fraction(round(fresh.sag * 10**9), 10**9)).up_to(mark)
    return MeshState(len(middles), spans, fresh, sag, limit, None)


def _most_loaded(strips: Unit, fresh: FreshMesh) -> StripStress:
    """The strip that bears most, on the top bars of the user's own frames as they hang."""
    part = strips.assembly.named("strip")[0].box
    sizes = (part.size(0), part.size(2), *_bars(*strips.line.hives.woodenware.boxes[-1]))
    return strip_stress(max(fresh.line_loads[1:-1]), *(float(size.inches) for size in sizes))


@lru_cache(maxsize=256)
def _bars(box: HiveBox, frame: Frame) -> tuple[Length, Length]:
    """How far apart the top bars of a box lie at most, from middle to middle, and how wide they are."""
    bars = sorted((p.box for p in hang(box, frame) if p.part.name == "top bar"), key=lambda b: b.low[1])
    steps = [one.low[1] - other.low[1] for other, one in pairwise(bars)] or [bars[0].size(1)]
    return max(steps), bars[0].size(1)


def fresh_words(state: MeshState, unit: str) -> str:
    """What the fresh sugar does to the mesh, in the words of the report and of the map."""
    fresh, sag = state.fresh, state.sag.text(unit)
    which = f"{state.strips} strips, {state.span.text(unit)} apart at most" if state.strips else "no strips"
    if not fresh.invalid:
        return f"{which}: the mesh sags {sag}, its wires at {_share(fresh.of_yield)} of yield"
    why = ", and ".join(words.removeprefix("beam invalid: ") for words in fresh.invalid)
    slack = f"{fresh.slack_wire.slack * 100:g} % longer than their span, assumed"
    return f"{which}: beam invalid ({why}); as slack wires, {slack}, the mesh hangs {sag}"


def left_words(state: MeshState, room: Length, unit: str) -> str:
    """What the fresh sugar leaves of so much room over the bars."""
    left = state.left(room)
    if not left:
        return f"mesh lies on the bars, {room.text(unit)} beneath"
    return f"{left.text(unit)} of {room.text(unit)} over the bars is left"


def set_words(state: MeshState, room: Length) -> str:
    """What becomes of it once the sugar has set hard."""
    lies = not state.left(room)
    return "set hard, the block stays so" + ("" if lies else " and bears itself")


def strip_words(state: MeshState) -> str:
    """How hard the strips are pressed and bent; nothing without strips."""
    if state.strip is None:
        return ""
    bearing, bending = _share(state.strip.of_bearing), _share(state.strip.of_bending)
    return f"strips bear {bearing} of what crushes pine, and bend by {bending} of what breaks it"


def _share(share: float) -> str:
    return f"{share * 100:.0f} %" if share >= 0.01 else "under 1 %"
