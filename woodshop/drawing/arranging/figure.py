"""Fits a figure of the text into the width of its column, at a scale at which it can be read."""

from fractions import Fraction
from functools import lru_cache

from woodshop.drawing.arranging.arrange import Fitted, fitted
from woodshop.drawing.values.model import Figure
from woodshop.drawing.values.style import FREE_SCALES, POINTS_PER_MM

UNIT_WORDS = {"in": "inches", "mm": "millimeters"}


@lru_cache(64)
def fitted_figure(block: Figure, room: tuple[float, float]) -> Fitted:
    """The figure at its intended height or, if it would be crowded or tiny or would not fit, at most a page high.

    `room` is the width and height of the page between its margins, in points. Raises ValueError if it does not fit.
    """
    limit = room[1] - 70  # points: a heading above and a caption below
    most = limit if block.most_height is None else min(limit, float(block.most_height.mm * POINTS_PER_MM))
    first = min(most, 0.5 * room[1]) if block.most_height is None else most
    crowded: Fitted | None = None
    steps = (min(limit, most * more / 2) for more in (3, 5))
    for height in dict.fromkeys((first, most, *steps, limit)):
        try:
            drawn = fitted(block.drawing, room[0], height, FREE_SCALES if block.free_scale else ())
        except ValueError:
            if height == limit and crowded is None:
                raise
            continue
        if not drawn.sheet.crowded and not _tiny(drawn, first):
            return drawn
        if crowded is None or height <= most or drawn.scale > 2 * crowded.scale:
            crowded = drawn
    if crowded is None:
        raise AssertionError("fitted or refused")
    return crowded


def _tiny(drawn: Fitted, height: float) -> bool:
    """Whether every view is less than half the available height, because labels and dimensions need the space."""
    sides = ((b - a).mm * view.enlarged for view in drawn.drawing.views for a, b in zip(*view.bounds, strict=True))
    return 2 * float(max(sides, default=Fraction(0)) * drawn.scale * POINTS_PER_MM) < height
