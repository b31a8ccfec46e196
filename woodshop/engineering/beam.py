"""Beams over several supports, under an even load, by the theorem of three moments; supports may lie lower than others.

What a structures handbook has: M1 L1 + 2 M2 (L1 + L2) + M3 L2 = -w (L1^3 + L2^3) / 4 + 6 E I (the angle that the
supports' own heights put between the two chords) over each inner support, then reactions and deflections from the
end moments. Straight elastic beam, small slopes, supports that do not give. Any consistent units; below: load per
length w, stiffness E I. Floats.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

_STEPS, _HALVINGS = 24, 50  # places looked at in a span for a level tangent, and halvings to come down on it
_HAIR = 1e-12  # of the clearances and the load: what rounding leaves is no contact broken


@dataclass(frozen=True, slots=True, kw_only=True)
class Beam:
    """A solved beam. `moments` are over the supports, ends among them, negative where the top is stretched.

    `reactions` push up. `sags` is the greatest way down in each span below the level of the ends, 0 where its
    neighbours lift it all along. `settled` is how far each support lies below that level.
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
        """The greatest bending moment anywhere, whichever way it bends."""
        return max(max(abs(moment) for moment in self.moments), max(self.span_moments))

    @property
    def sag(self) -> float:
        """The greatest way down in any span."""
        return max(self.sags)

    @property
    def below_chords(self) -> tuple[float, ...]:
        """The greatest way down in each span below the straight line between its two supports."""
        flat = (0.0, 0.0)
        parts = zip(self.spans, pairwise(self.moments), strict=True)
        return tuple(_Span(length, ends, flat, self.load, self.stiffness).sag for length, ends in parts)

    def down_at(self, place: float) -> float:
        """How far the beam lies below the level of its ends, so far from its first support."""
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
    """A beam come to rest: `beam` lies over its ends and those inner supports that carry it.

    `carries` says of each inner support whether it does, `reactions` what each support carries, ends among them.
    """

    beam: Beam
    carries: tuple[bool, ...]
    reactions: tuple[float, ...]


def continuous_beam(spans: Sequence[float], load: float, stiffness: float, settled: Sequence[float] = ()) -> Beam:
    """Solve a beam over `spans`, under `load` per length, of bending stiffness `stiffness`.

    With w in lb/in, lengths in in and E I in lb in2: moments in lb in, reactions in lb, sags in in. `settled` is how
    far each support, ends among them, lies below a level line; left out, none does.
    Raises ValueError for no span, a span or a stiffness that is not positive, a load below nothing, or another number
    of heights than supports.

    >>> beam = continuous_beam([1, 1, 1], 1, 1)
    >>> [round(x, 4) for x in (beam.moments[1], beam.reactions[0], beam.span_moments[0], beam.sag)]
    [-0.1, 0.4, 0.08, 0.0069]
    """
    if not spans or min(spans) <= 0:
        raise ValueError("a beam has at least one span, and all are longer than nothing")
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
    """Let a beam down on inner supports that lie `below` its ends: each carries only where the beam comes to it.

    A support pushes up or does nothing, and nothing sinks into it: one of the two, reaction or clearance, is nothing at
    each. That is a linear complementarity problem whose matrix, the simple beam's flexibility, is positive definite:
    it has one solution, and Murty's least-index pivoting comes to it (K. G. Murty, Note on a Bard-type scheme for
    solving the complementarity problem, Opsearch 11, 1974). A support above the ends has `below` less than nothing.
    Raises ValueError as `continuous_beam`, and for another number of clearances than inner supports.

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
    """The beam over its ends and the inner supports that carry, and the reaction at every one, 0 where it does not."""
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
    """The moments over the supports: three diagonals, swept. A support that lies low is one that the beam sags to."""
    over: list[float] = []
    against: list[float] = []
    for n, (left, right) in enumerate(pairwise(spans)):
        angle = (settled[n + 1] - settled[n]) / left + (settled[n + 1] - settled[n + 2]) / right
        middle, wanted = 2 * (left + right), -load * (left**3 + right**3) / 4 + 6 * stiffness * angle
        if over:
            middle -= left * over[-1]
            wanted -= left * against[-1]
        over.append(right / middle)
        against.append(wanted / middle)
    moments = [0.0]
    for share, value in zip(reversed(over), reversed(against), strict=True):
        moments.append(value - share * moments[-1])
    return (0.0, *reversed(moments[1:]), 0.0) if over else (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class _Span:
    """One span between two supports: the moments over them, and how far each lies below the level line."""

    length: float
    ends: tuple[float, float]
    settled: tuple[float, float]
    load: float
    stiffness: float

    @property
    def shear(self) -> float:
        """What its left support carries of it."""
        left, right = self.ends
        return self.load * self.length / 2 + (right - left) / self.length

    @property
    def moment(self) -> float:
        """The greatest moment of sagging within it, or that at its ends when there is none within."""
        (left, right), shear = self.ends, self.shear
        at = min(max(shear / self.load, 0.0), self.length) if self.load else 0.0
        return max(left, right, left + shear * at - self.load * at**2 / 2)

    def down(self, x: float) -> float:
        """How far below the level line, so far from its left support."""
        length, (left, right), y = self.length, self.ends, self.length - x
        own = self.load * x * (length**3 - 2 * length * x**2 + x**3) / 24
        bent = own + left * x * y * (length + y) / (6 * length) + right * x * y * (length + x) / (6 * length)
        return bent / self.stiffness + (self.settled[0] * y + self.settled[1] * x) / length

    def slope(self, x: float) -> float:
        """How steeply it goes down there."""
        length, (left, right) = self.length, self.ends
        own = self.load * (length**3 - 6 * length * x**2 + 4 * x**3) / 24
        by_left = left * (2 * length**2 - 6 * length * x + 3 * x**2) / (6 * length)
        bent = own + by_left + right * (length**2 - 3 * x**2) / (6 * length)
        return bent / self.stiffness + (self.settled[1] - self.settled[0]) / length

    @property
    def sag(self) -> float:
        """The greatest way down: at a support, or where its tangent is level, found by halving."""
        worst = max(0.0, *self.settled)
        places = [self.length * n / _STEPS for n in range(_STEPS + 1)]
        for low, high in pairwise(places):
            if self.slope(low) < 0 or self.slope(high) > 0:
                continue
            for _ in range(_HALVINGS):
                middle = (low + high) / 2
                low, high = (middle, high) if self.slope(middle) > 0 else (low, middle)
            worst = max(worst, self.down(low))
        return worst
