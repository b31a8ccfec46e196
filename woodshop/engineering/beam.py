"""Continuous beams on simple supports, their ends simple too, under one uniform load.

Moments over the supports by Clapeyron's three-moment equation, for spans of any lengths; each span is then a simple
beam with its load and its two end moments. Straight elastic beam, small slopes, supports that do not give.
Any consistent units; below: load per length w, stiffness E I. Floats.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

_STEPS, _HALVINGS = 24, 50  # places looked at in a span for a level tangent, and halvings to come down on it


@dataclass(frozen=True, slots=True)
class Beam:
    """A solved beam. `moments` are over the supports, ends among them, negative where the top is stretched.

    `reactions` push up. `sags` is the greatest way down in each span, 0 where its neighbours lift it all along.
    """

    spans: tuple[float, ...]
    moments: tuple[float, ...]
    reactions: tuple[float, ...]
    span_moments: tuple[float, ...]
    sags: tuple[float, ...]

    @property
    def greatest_moment(self) -> float:
        """The greatest bending moment anywhere, whichever way it bends."""
        return max(max(abs(moment) for moment in self.moments), max(self.span_moments))

    @property
    def sag(self) -> float:
        """The greatest way down in any span."""
        return max(self.sags)

    @property
    def worst_span(self) -> int:
        """The first span, counted from 0, with that sag."""
        return self.sags.index(self.sag)


def continuous_beam(spans: Sequence[float], load: float, stiffness: float) -> Beam:
    """Solve a beam over `spans`, under `load` per length, of bending stiffness `stiffness`.

    With w in lb/in, lengths in in and E I in lb in2: moments in lb in, reactions in lb, sags in in.
    Raises ValueError for no span, a span or a stiffness that is not positive, or a load below nothing.

    >>> beam = continuous_beam([1, 1, 1], 1, 1)
    >>> [round(x, 4) for x in (beam.moments[1], beam.reactions[0], beam.span_moments[0], beam.sag)]
    [-0.1, 0.4, 0.08, 0.0069]
    """
    if not spans or min(spans) <= 0:
        raise ValueError("a beam has at least one span, and all are longer than nothing")
    if stiffness <= 0 or load < 0:
        raise ValueError("a beam has some stiffness, and its load pushes down")
    moments = _support_moments(spans, load)
    shears = [load * length / 2 + (right - left) / length for length, (left, right) in _ends(spans, moments)]
    opposite = [load * length - shear for length, shear in zip(spans, shears, strict=True)]
    reactions = (shears[0], *(a + b for a, b in zip(opposite[:-1], shears[1:], strict=True)), opposite[-1])
    middles = tuple(_span_moment(length, ends, load) for length, ends in _ends(spans, moments))
    sags = tuple(_sag(length, ends, load) / stiffness for length, ends in _ends(spans, moments))
    return Beam(tuple(spans), moments, reactions, middles, sags)


def _ends(spans: Sequence[float], moments: Sequence[float]) -> list[tuple[float, tuple[float, float]]]:
    return list(zip(spans, pairwise(moments), strict=True))


def _support_moments(spans: Sequence[float], load: float) -> tuple[float, ...]:
    """L1 M0 + 2 (L1 + L2) M1 + L2 M2 = -w (L1^3 + L2^3) / 4 over each inner support: three diagonals, swept."""
    over: list[float] = []
    against: list[float] = []
    for left, right in pairwise(spans):
        middle, wanted = 2 * (left + right), -load * (left**3 + right**3) / 4
        if over:
            middle -= left * over[-1]
            wanted -= left * against[-1]
        over.append(right / middle)
        against.append(wanted / middle)
    moments = [0.0]
    for share, value in zip(reversed(over), reversed(against), strict=True):
        moments.append(value - share * moments[-1])
    return (0.0, *reversed(moments[1:]), 0.0) if over else (0.0, 0.0)


def _span_moment(length: float, ends: tuple[float, float], load: float) -> float:
    """The greatest moment of sagging within a span, or that at its ends when there is none within."""
    left, right = ends
    shear = load * length / 2 + (right - left) / length
    at = min(max(shear / load, 0.0), length) if load else 0.0
    return max(left, right, left + shear * at - load * at**2 / 2)


def _sag(length: float, ends: tuple[float, float], load: float) -> float:
    """Greatest deflection down of a span, times E I: where its tangent is level, found by halving."""
    left, right = ends

    def down(x: float) -> float:
        y = length - x
        own = load * x * (length**3 - 2 * length * x**2 + x**3) / 24
        return own + left * x * y * (length + y) / (6 * length) + right * x * y * (length + x) / (6 * length)

    def slope(x: float) -> float:
        own = load * (length**3 - 6 * length * x**2 + 4 * x**3) / 24
        by_left = left * (2 * length**2 - 6 * length * x + 3 * x**2) / (6 * length)
        return own + by_left + right * (length**2 - 3 * x**2) / (6 * length)

    worst = 0.0
    places = [length * n / _STEPS for n in range(_STEPS + 1)]
    for low, high in pairwise(places):
        if slope(low) < 0 or slope(high) > 0:
            continue
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            low, high = (middle, high) if slope(middle) > 0 else (low, middle)
        worst = max(worst, down(low))
    return worst
