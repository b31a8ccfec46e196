"""Hatching: parallel oblique lines inside a closed outline."""

import math
from collections.abc import Sequence

from woodshop.drawing.values.paper import Segment, Spot


def hatched(outline: Sequence[Spot], pitch: float, *, falling: bool = False) -> list[Segment]:
    """The parts of 45 degree lines, `pitch` apart, that lie inside the outline (even-odd rule).

    Lines of equal pitch fall on the same places in every outline, so neighbours match.
    """
    sign = -1.0 if falling else 1.0
    step = pitch * math.sqrt(2.0)
    keys = [y - sign * x for x, y in outline]
    found: list[Segment] = []
    first, last = math.ceil(min(keys) / step), math.floor(max(keys) / step)
    for i in range(first, last + 1):
        level = i * step + 1e-7
        xs: list[float] = []
        for (x0, _), (x1, _), k0, k1 in zip(
            outline, [*outline[1:], outline[0]], keys, [*keys[1:], keys[0]], strict=True
        ):
            if (k0 < level) != (k1 < level):
                share = (level - k0) / (k1 - k0)
                xs.append(x0 + share * (x1 - x0))
        xs.sort()
        for a, b in zip(xs[::2], xs[1::2], strict=True):
            if b - a > 0.2:
                found.append(((a, level + sign * a), (b, level + sign * b)))
    return found
