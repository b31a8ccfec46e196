"""A straight line through placed parts: where it runs through solid."""

from collections.abc import Iterable
from typing import NamedTuple

from woodshop.shape.part import Placed, solid_boxes
from woodshop.units.lengths import Length


class Span(NamedTuple):
    """A stretch of solid along the line, and the part it belongs to."""

    start: Length
    end: Length
    placed: Placed


def probe(parts: Iterable[Placed], axis: int, u: Length, v: Length) -> tuple[Span, ...]:
    """Where a straight line along `axis` runs through solid, in order from its low end.

    u, v place the line on the two other axes, in order. A line that only grazes a face meets nothing.
    """
    a, b = (i for i in range(3) if i != axis)
    spans: list[Span] = []
    for placed in parts:
        pieces = sorted(
            (box.low[axis], box.high[axis])
            for box in solid_boxes(placed)
            if box.low[a] < u < box.high[a] and box.low[b] < v < box.high[b]
        )
        joined: list[tuple[Length, Length]] = []
        for low, high in pieces:
            if joined and joined[-1][1] == low:
                joined[-1] = (joined[-1][0], high)
            else:
                joined.append((low, high))
        spans.extend(Span(low, high, placed) for low, high in joined)
    return tuple(sorted(spans, key=lambda s: (s.start, s.end, s.placed.part.name)))
