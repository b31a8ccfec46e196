"""Beams on two or more supports, under a uniform load, by the theorem of three moments.

The supports can be at different heights. From a structures handbook: M1 L1 + 2 M2 (L1 + L2) + M3 L2 = -w (L1^3 + L2^3)
/ 4 + 6 E I (the angle between the two chords due to the heights of the supports) over each inner support. Reactions and
deflections follow from the end moments. The theory assumes a straight elastic beam, small slopes and rigid supports.
Any consistent units can be used; w is load per unit length and E I is stiffness. All values are floats.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate, pairwise

from woodshop.errors import InputError, Problem
from woodshop.reference.facts import fact
from woodshop.units.lengths import Area, Length, Mass

_STEPS, _HALVINGS = 24, 50  # places examined in a span for a level tangent, and halvings to find it
_KEPT = 4096  # spans whose depth is cached
_HAIR = 1e-12  # share of the clearances and the load: a rounding error of this size does not break contact


@dataclass(frozen=True, slots=True, kw_only=True)
class Beam:
    """A solved beam. `moments` are the moments at the supports, including the ends; negative if the top is in tension.

    `reactions` act upward. `sags` is the greatest deflection of each span below the level of the ends, or 0 if the
    neighboring spans lift it completely. `settled` is the depth of each support below that level.
    """

    spans: tuple[float, ...]
    moments: tuple[float, ...]
    reactions: tuple[float, ...]
    span_moments: tuple[float, ...]
    sags: tuple[float, ...]
    settled: tuple[float, ...]
    load: float
    stiffness: float

    @property
    def greatest_moment(self) -> float:
        """The greatest absolute bending moment."""
        return max(max(abs(moment) for moment in self.moments), max(self.span_moments))

    @property
    def sag(self) -> float:
        """The greatest deflection of any span."""
        return max(self.sags)

    @property
    def below_chords(self) -> tuple[float, ...]:
        """The greatest deflection in each span below the straight line between its two supports."""
        flat = (0.0, 0.0)
        parts = zip(self.spans, pairwise(self.moments), strict=True)
        return tuple(_Span(length, ends, flat, self.load, self.stiffness).sag for length, ends in parts)

    def down_at(self, place: float) -> float:
        """The depth of the beam below the level of its ends, at this distance from its first support."""
        last = len(self.spans) - 1
        for number, (start, length) in enumerate(zip(_places(self.spans), self.spans, strict=False)):
            if place <= start + length or number == last:
                span = self._span(number)
                return span.down(place - start)
        raise AssertionError("a beam has at least one span")

    def _span(self, number: int) -> "_Span":
        ends = self.moments[number : number + 2]
        heights = self.settled[number : number + 2]
        return _Span(self.spans[number], (ends[0], ends[1]), (heights[0], heights[1]), self.load, self.stiffness)


@dataclass(frozen=True, slots=True)
class Rest:
    """A beam at rest: `beam` is supported at its ends and by the inner supports that carry it.

    `carries` says for each inner support whether it carries the beam; `reactions` is the load on each support,
    including the ends.
    """

    beam: Beam
    carries: tuple[bool, ...]
    reactions: tuple[float, ...]


def continuous_beam(spans: Sequence[float], load: float, stiffness: float, settled: Sequence[float] = ()) -> Beam:
    """Solves a beam over `spans` with a uniform `load` per unit length and the bending stiffness `stiffness`.

    With loads in lb/in, lengths in inches and stiffness in lb·in², moments are in lb·in, reactions in lb and sags in
    inches. `settled` is the depth of each support, including the ends, below a level line; by default 0. Raises
    ValueError if there is no span, if a span or the stiffness is not positive, if the load is negative, or if `settled`
    does not have one depth for each support.

    >>> beam = continuous_beam([1, 1, 1], 1, 1)
    >>> [round(x, 4) for x in (beam.moments[1], beam.reactions[0], beam.span_moments[0], beam.sag)]
    [-0.1, 0.4, 0.08, 0.0069]
    """
    if not spans or min(spans) <= 0:
        raise ValueError("a beam has at least one span, and all are longer than 0")
    if stiffness <= 0 or load < 0:
        raise ValueError("a beam has some stiffness, and its load pushes down")
    heights = tuple(settled) or (0.0,) * (len(spans) + 1)
    if len(heights) != len(spans) + 1:
        raise ValueError("a beam has one support more than spans, each with its own height")
    moments = _support_moments(spans, load, stiffness, heights)
    parts = [
        _Span(length, ends, between, load, stiffness)
        for length, ends, between in zip(spans, pairwise(moments), pairwise(heights), strict=True)
    ]
    shears = [part.shear for part in parts]
    opposite = [load * length - shear for length, shear in zip(spans, shears, strict=True)]
    reactions = (shears[0], *(a + b for a, b in zip(opposite[:-1], shears[1:], strict=True)), opposite[-1])
    middles, sags = tuple(part.moment for part in parts), tuple(part.sag for part in parts)
    return Beam(
        spans=tuple(spans),
        moments=moments,
        reactions=reactions,
        span_moments=middles,
        sags=sags,
        settled=heights,
        load=load,
        stiffness=stiffness,
    )


def beam_at_rest(spans: Sequence[float], load: float, stiffness: float, below: Sequence[float]) -> Rest:
    """A beam lowered onto inner supports that are `below` its ends; a support carries it only if the beam reaches it.

    A rigid support either pushes up or does nothing, so at each support the reaction or the clearance is zero. This is
    a linear complementarity problem whose matrix, the flexibility of the simple beam, is positive definite. It
    therefore has exactly one solution, found by Murty's least-index pivoting (K. G. Murty, Note on a Bard-type scheme
    for solving the complementarity problem, Opsearch 11, 1974). A support above the ends has a negative `below`. Raises
    ValueError as `continuous_beam` does, and if `below` does not have one clearance for each inner support.

    >>> rest = beam_at_rest([1, 1], 1, 1, [0.1])
    >>> [rest.carries, round(rest.reactions[1], 4), round(rest.beam.sag, 4)]
    [(True,), 0.65, 0.1]
    """
    if len(below) != len(spans) - 1:
        raise ValueError("a beam has one clearance for each inner support")
    places = _places(spans)
    carries = [True] * len(below)
    for _ in range(2 ** len(below)):
        beam, reactions = _over(places, carries, load, stiffness, below)
        hair = _HAIR * (sum(reactions) + 1.0), _HAIR * (max(map(abs, below), default=0.0) + beam.sag)
        wrong = (
            n
            for n, clear in enumerate(below)
            if (reactions[n + 1] < -hair[0] if carries[n] else beam.down_at(places[n + 1]) > clear + hair[1])
        )
        first = next(wrong, None)
        if first is None:
            return Rest(beam, tuple(carries), reactions)
        carries[first] = not carries[first]
    raise AssertionError("least-index pivoting ends")


def _over(
    places: Sequence[float], carries: Sequence[bool], load: float, stiffness: float, below: Sequence[float]
) -> tuple[Beam, tuple[float, ...]]:
    """The beam on its ends and on the supports that carry it, and the reaction at every support (0 at the others)."""
    chosen = [0, *(n for n, carried in enumerate(carries, 1) if carried), len(places) - 1]
    heights = [0.0, *(clear for clear, carried in zip(below, carries, strict=True) if carried), 0.0]
    spans = [places[b] - places[a] for a, b in pairwise(chosen)]
    beam = continuous_beam(spans, load, stiffness, heights)
    reactions = [0.0] * len(places)
    for n, push in zip(chosen, beam.reactions, strict=True):
        reactions[n] = push
    return beam, tuple(reactions)


def _places(spans: Sequence[float]) -> list[float]:
    return list(accumulate(spans, initial=0.0))


def _support_moments(
    spans: Sequence[float], load: float, stiffness: float, settled: Sequence[float]
) -> tuple[float, ...]:
    """The moments at the supports: a tridiagonal system, solved by elimination. The beam sags toward lower supports."""
    over: list[float] = []
    against: list[float] = []
    for n, (left, right) in enumerate(pairwise(spans)):
        angle = (settled[n + 1] - settled[n]) / left + (settled[n + 1] - settled[n + 2]) / right
        middle, right_side = 2 * (left + right), -load * (left**3 + right**3) / 4 + 6 * stiffness * angle
        if over:
            middle -= left * over[-1]
            right_side -= left * against[-1]
        over.append(right / middle)
        against.append(right_side / middle)
    moments = [0.0]
    for share, value in zip(reversed(over), reversed(against), strict=True):
        moments.append(value - share * moments[-1])
    return (0.0, *reversed(moments[1:]), 0.0) if over else (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class _Span:
    """One span between two supports: the moments at the supports, and their depths below the level line."""

    length: float
    ends: tuple[float, float]
    settled: tuple[float, float]
    load: float
    stiffness: float

    @property
    def shear(self) -> float:
        """The part of the span's load that its left support carries, as a force."""
        left, right = self.ends
        return self.load * self.length / 2 + (right - left) / self.length

    @property
    def moment(self) -> float:
        """The greatest sagging moment anywhere in the span, including its ends."""
        (left, right), shear = self.ends, self.shear
        at = min(max(shear / self.load, 0.0), self.length) if self.load else 0.0
        return max(left, right, left + shear * at - self.load * at**2 / 2)

    def down(self, x: float) -> float:
        """The depth below the level line at this distance from its left support."""
        length, (left, right), y = self.length, self.ends, self.length - x
        own = self.load * x * (length**3 - 2 * length * x**2 + x**3) / 24
        bent = own + left * x * y * (length + y) / (6 * length) + right * x * y * (length + x) / (6 * length)
        return bent / self.stiffness + (self.settled[0] * y + self.settled[1] * x) / length

    def slope(self, x: float) -> float:
        """The downward slope at this distance from the left support."""
        length, (left, right) = self.length, self.ends
        own = self.load * (length**3 - 6 * length * x**2 + 4 * x**3) / 24
        by_left = left * (2 * length**2 - 6 * length * x + 3 * x**2) / (6 * length)
        bent = own + by_left + right * (length**2 - 3 * x**2) / (6 * length)
        return bent / self.stiffness + (self.settled[1] - self.settled[0]) / length

    @property
    def sag(self) -> float:
        """The greatest depth, which is at a support or where the tangent is level (found by bisection)."""
        return _deepest(self)


@lru_cache(_KEPT)  # strips of several heights are tried, and where they carry the mesh its spans are the same
def _deepest(span: _Span) -> float:
    worst = max(0.0, *span.settled)
    places = [span.length * n / _STEPS for n in range(_STEPS + 1)]
    slopes = [span.slope(place) for place in places]
    for (low, high), (falling, rising) in zip(pairwise(places), pairwise(slopes), strict=True):
        if falling < 0 or rising > 0:
            continue
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            if middle in (low, high):
                break
            low, high = (middle, high) if span.slope(middle) > 0 else (low, middle)
        worst = max(worst, span.down(low))
    return worst


# A simple beam that sags 1/20 of its span has a slope of 16/5 x 1/20 = 0.16 at its ends: the curvature that straight
# beam theory leaves out is (1 + 0.16^2)^1.5 - 1 = 4 %. Beyond that, the theory does not describe the wire.
SAG_OF_SPAN_MOST = 1 / 20


@dataclass(frozen=True, slots=True)
class Wire:
    """One wire of a square mesh: diameter and pitch in inches, modulus and yield stress in psi."""

    diameter: float
    pitch: float
    modulus: float
    yield_stress: float

    @property
    def stiffness(self) -> float:
        """The bending stiffness E I of the round wire, in lb·in²."""
        return self.modulus * math.pi * self.diameter**4 / 64

    @property
    def section_modulus(self) -> float:
        """The section modulus in in³. The bending stress is the moment divided by it."""
        return math.pi * self.diameter**3 / 32

    @property
    def area(self) -> float:
        """The cross-sectional area of the wire, in sq in."""
        return math.pi * self.diameter**2 / 4


@dataclass(frozen=True, slots=True)
class SlackWire:
    """A wire that hangs between fixed ends. `slack`, an assumption, is its length over its span, minus one."""

    sag: float
    tension: float
    stress: float
    slack: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FreshMesh:
    """The mesh with all of the sugar on it. `beam`, `stress` and `line_loads` come from beam theory, valid or not.

    `below` is the depth of each strip below the unloaded mesh, and `carries` says whether the mesh rests on it; the
    beam rests on the walls and these strips. `invalid` is the reason not to use the beam's figures, or empty if they
    are valid. If they are invalid, use `slack_wire`; `hang` is its depth below the level of the walls. `high` says that
    wires fixed at their ends would sag less. `line_loads` act on the two walls and the strips between them, in lb per
    inch of their length.
    """

    wire: Wire
    pressure: float
    beam: Beam
    stress: float
    invalid: tuple[str, ...]
    slack_wire: SlackWire
    hang: float
    high: bool
    line_loads: tuple[float, ...]
    below: tuple[float, ...]
    carries: tuple[bool, ...]

    @property
    def sag(self) -> float:
        """The greatest sag below the level of the walls, in inches. If the beam is invalid, this is the sag of the
        slack wire, which a valid beam cannot exceed."""
        return self.hang if self.invalid else min(self.beam.sag, self.hang)

    @property
    def between(self) -> float:
        """The sag below the lowest strip that carries the mesh, in inches; the total sag if no strip carries it."""
        carrying = (clear for clear, carried in zip(self.below, self.carries, strict=True) if carried)
        return max(self.sag - max(carrying, default=0.0), 0.0)

    @property
    def of_yield(self) -> float:
        """The bending stress divided by the assumed yield stress, by beam theory."""
        return self.stress / self.wire.yield_stress


@dataclass(frozen=True, slots=True)
class StripStress:
    """A strip of soft pine on the top bars: stress in psi, sag in inches, and stress divided by the wood's strength."""

    bearing: float
    bending: float
    sag: float
    of_bearing: float
    of_bending: float


def steel_wire(diameter: Length, pitch: Length) -> Wire:
    """A galvanized low-carbon wire. Modulus and yield stress are the facts mesh.wire_modulus and mesh.wire_yield."""
    modulus, least = (float(fact(key).measure("psi")) for key in ("mesh.wire_modulus", "mesh.wire_yield"))
    return Wire(float(diameter.inches), float(pitch.inches), modulus, least)


def pressure_of(dry: Mass, water: Mass, area: Area) -> float:
    """The pressure in psi of damp sugar on its floor: the dry mass and its water, divided by the area."""
    return float((dry + water).pounds / area.square_inches)


def fresh_mesh(
    wire: Wire,
    pressure: float,
    spans: Sequence[float],
    *,
    slack: float | None = None,
    below: Sequence[float] = (),
    free: float | None = None,
) -> FreshMesh:
    """The mesh under a pressure of `pressure` psi; its wires cross `spans` (in inches, equal or not) from wall to wall.

    `below` is the depth of each strip below the unloaded mesh, in inches; by default 0 for all. A strip carries load
    only if the mesh rests on it (`beam_at_rest`). The stress is greatest at rest, or when the mesh first touches a
    strip; until then the mesh is a simple beam, whose moment is 9.6 E I s / L^2 at a sag s (5 w L^4 / 384 E I and w L^2
    / 8). `slack` applies only to the slack wire, in its longest span between supports that it touches; by default it is
    the fact mesh.slack. `free` is the span of mesh that does not rest on any strip; by default the sum of `spans`.
    Raises InputError if there is no span, if a span is not positive, if the number of strips is not one less than the
    number of spans, or if the pressure, the slack or a clearance is negative.

    >>> from woodshop.units.lengths import inch
    >>> half = steel_wire(inch("0.041"), inch("1/2"))
    >>> [round(fresh_mesh(half, 17.6 / 271, [18.375 / n] * n).sag, 3) for n in (6, 4, 3)]
    [0.005, 0.023, 0.078]
    >>> low = fresh_mesh(half, 17.6 / 271, [18.375 / 4] * 4, below=[1 / 4] * 3)
    >>> low.carries, round(low.sag, 3), round(low.between, 3)
    ((True, True, True), 0.271, 0.021)
    >>> bare = fresh_mesh(half, 17.6 / 271, [14.75])
    >>> round(bare.beam.sag, 1), round(bare.of_yield, 1), round(bare.sag, 2)
    (5.0, 3.3, 0.64)
    """
    slack = float(fact("mesh.slack").number) if slack is None else slack
    problems = []
    if not spans or min(spans) <= 0:
        given = ", ".join(f"{span:g}" for span in spans) or "none"
        problems.append(Problem("spans of the mesh", given, "one or more, each over 0", "Measure between strips."))
    clear = tuple(below) or (0.0,) * (len(spans) - 1)
    if len(clear) != max(len(spans) - 1, 0) or min(clear, default=0.0) < 0:
        given = ", ".join(f"{each:g}" for each in clear) or "none"
        wanted = "one for each strip, none below 0"
        problems.append(Problem("strips below the mesh", given, wanted, "Measure from each strip up to the mesh."))
    if pressure < 0 or slack < 0:
        given = f"{pressure:g} psi, slack {slack:g}"
        problems.append(Problem("load and slack of the mesh", given, "0 or more", "Check the mass and area."))
    if problems:
        raise InputError(*problems)
    line = pressure * wire.pitch
    rest = beam_at_rest(spans, line, wire.stiffness, clear)
    stress = max(rest.beam.greatest_moment, _on_the_way(spans, line, wire, clear)) / wire.section_modulus
    invalid = _invalid(rest.beam, stress, wire)
    hanging, hang, reached = _hanging(
        wire, line, spans, slack=slack, below=clear, free=sum(spans) if free is None else free
    )
    loads = tuple(reaction / wire.pitch for reaction in rest.reactions)
    # if the ends of the wire cannot draw in, stretch carries 4 (sag / diameter)^2 times as much as bending
    high = max(rest.beam.below_chords) > wire.diameter / 2
    carries = reached if invalid else rest.carries
    return FreshMesh(
        wire=wire,
        pressure=pressure,
        beam=rest.beam,
        stress=stress,
        invalid=invalid,
        slack_wire=hanging,
        hang=hang,
        high=high,
        line_loads=loads,
        below=clear,
        carries=carries,
    )


def _on_the_way(spans: Sequence[float], line: float, wire: Wire, below: Sequence[float]) -> float:
    """The moment in the beam from wall to wall when it first touches a strip, or 0 if it already touches all strips."""
    if not below:
        return 0.0
    free, place, share = continuous_beam([sum(spans)], line, wire.stiffness), 0.0, 1.0
    for span, clear in zip(spans, below, strict=False):
        place += span
        down = free.down_at(place)
        share = min(share, clear / down) if down > 0 else share
    return share * free.greatest_moment


def _hanging(
    wire: Wire, line: float, spans: Sequence[float], *, slack: float, below: Sequence[float], free: float
) -> tuple[SlackWire, float, tuple[bool, ...]]:
    """The slack wire that hangs lowest, its depth below the walls, and the strips it touches.

    Between two supports it hangs from the lower one, but never lower than it would without strips.
    """
    loose = slack_wire(wire, line, free, slack)
    reached = tuple(not clear or clear < loose.sag for clear in below)
    if not any(reached):
        return loose, loose.sag, reached
    start, supports = 0.0, [(0.0, 0.0)]
    for span, clear, touched in zip(spans, below, reached, strict=False):
        start += span
        supports += [(start, clear)] if touched else []
    supports.append((sum(spans), 0.0))
    worst, deepest = loose, -1.0
    for (left, one), (right, other) in pairwise(supports):
        hung = slack_wire(wire, line, right - left, slack)
        if max(one, other) + hung.sag > deepest:
            worst, deepest = hung, max(one, other) + hung.sag
    return worst, min(deepest, loose.sag), reached


def _invalid(beam: Beam, stress: float, wire: Wire) -> tuple[str, ...]:
    found = []
    if stress > wire.yield_stress:
        found.append(f"beam invalid: the wire would bend past yield, {stress:,.0f} of {wire.yield_stress:,.0f} psi")
    # the slope of a sloping chord is added to the slope at the ends, 16/5 of sag over span
    chords = (abs(b - a) * 5 / 16 for a, b in pairwise(beam.settled))
    longest = max((sag + tilt) / span for sag, tilt, span in zip(beam.below_chords, chords, beam.spans, strict=True))
    if longest > SAG_OF_SPAN_MOST:
        found.append(
            f"beam invalid: it would sag {longest * 100:.0f} % of its span, over {SAG_OF_SPAN_MOST * 100:.0f} %"
        )
    return tuple(found)


def slack_wire(wire: Wire, line: float, span: float, slack: float) -> SlackWire:
    """A wire with fixed ends under `line` lb/in across `span` inches, longer than the span by the fraction `slack`.

    A shallow parabola is 8/3 (sag / span)^2 longer than its span, and its tension is line x span^2 / (8 sag) (textbook
    statics of a cable); the wire's length follows from its slack and its stretch. Bending is ignored. The result is
    valid up to a sag of an eighth of the span (1 % from the true curve), if the staples hold the tension.
    """
    pull = line * span**2 / 8
    low, high = 0.0, span
    for _ in range(100):
        middle = (low + high) / 2
        longer = 8 / 3 * (middle / span) ** 2 - slack
        low, high = (middle, high) if longer * middle < pull / (wire.area * wire.modulus) else (low, middle)
    tension = math.hypot(pull / high, line * span / 2) if line else 0.0
    return SlackWire(high if line or slack else 0.0, tension, tension / wire.area, slack)


def strip_stress(line: float, width: float, thickness: float, bar_pitch: float, bar_width: float) -> StripStress:
    """A strip laid flat across top bars under `line` lb per inch; sizes in inches.

    It bears on each bar over an area of width x `bar_width`. It is calculated as a simple beam with a span of
    `bar_pitch`, which is the worst case. The wood is clear, dry eastern white pine (facts wood.bearing_strength and
    wood.bending_strength); stay below a quarter of either strength. Raises InputError if a size is not positive or the
    load is negative.
    """
    sizes = (width, thickness, bar_pitch, bar_width)
    if min(sizes) <= 0 or line < 0:
        raise InputError(
            Problem(
                "spacer strip",
                f"{line:g} lb/in on {', '.join(f'{size:g}' for size in sizes)} in",
                "sizes over 0 and a load of 0 or more",
                "Give what was measured.",
            )
        )
    crush, strength, modulus = (
        float(fact(f"wood.{name}").measure("psi"))
        for name in ("bearing_strength", "bending_strength", "bending_modulus")
    )
    bearing = line * bar_pitch / (width * bar_width)
    bending = line * bar_pitch**2 / 8 / (width * thickness**2 / 6)
    sag = 5 / 384 * line * bar_pitch**4 / (modulus * width * thickness**3 / 12)
    return StripStress(bearing, bending, sag, bearing / crush, bending / strength)
