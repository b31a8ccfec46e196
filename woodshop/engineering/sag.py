"""Sag of a mesh floor under packed sugar, its wires taken as continuous beams over the strips.

Floats: these are estimates of a physical thing, never a cut. Valid while the wire is elastic and
the sag is small beside the span; with no strips at all a wire hangs like a rope and no figure is given.
"""

import math

from woodshop.units import Area, Length, Mass

STEEL_MODULUS_PSI = 29.0e6
# Greatest deflection over w L^4 / (E I) of equal spans, simple ends: 1 span 5/384; 2 spans 1/185;
# 3 and more 0.0069 (end span). AISC Steel Construction Manual, continuous-beam diagrams, from memory.
_COEFFICIENT = {1: 5 / 384, 2: 1 / 185}
_MANY_SPANS = 0.0069


def mesh_sag(load: Mass, area: Area, wire: Length, pitch: Length, span: Length, spans: int) -> float:
    """Greatest sag in inches of wires at `pitch` carrying `load` spread over `area`, on `spans` spans of `span`.

    The wires of one direction carry all of it. Raises ValueError for no span.

    >>> from woodshop.units import Area, inch, pound
    >>> area = inch("14 3/4") * inch("18 3/8")
    >>> round(mesh_sag(pound("17.6"), area, inch("0.041"), inch("1/2"), inch("18 3/8") / 6, 6), 3)
    0.005
    """
    if spans < 1:
        raise ValueError("a mesh needs at least one span")
    pressure = float(load.pounds) / float(area.square_inches)
    line = pressure * float(pitch.inches)
    inertia = math.pi * float(wire.inches) ** 4 / 64
    coefficient = _COEFFICIENT.get(spans, _MANY_SPANS)
    return coefficient * line * float(span.inches) ** 4 / (STEEL_MODULUS_PSI * inertia)


def strips_needed(
    load: Mass, area: Area, wire: Length, pitch: Length, run: Length, limit: Length, most: int = 12
) -> int | None:
    """The fewest strips, at least two, equally spaced over `run`, that hold the sag to `limit`.

    None when not even `most` strips hold it.

    >>> from woodshop.units import inch, pound
    >>> area = inch("14 3/4") * inch("18 3/8")
    >>> strips_needed(pound("17.6"), area, inch("0.041"), inch("1/2"), inch("18 3/8"), inch("1/32"))
    3
    """
    for strips in range(2, most + 1):
        spans = strips + 1
        if mesh_sag(load, area, wire, pitch, run / spans, spans) <= float(limit.inches):
            return strips
    return None
