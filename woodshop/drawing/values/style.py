"""How everything looks on paper: one frozen value, read by every pen.

Sizes are in points (1/72 in), the unit of print. Everything has to read in black and white
on a smudged sheet at arm's length, so there is no grey text, no thin type and nothing small.
"""

from dataclasses import dataclass
from fractions import Fraction

POINTS_PER_MM = Fraction(360, 127)

PAPERS: dict[str, tuple[float, float]] = {
    "letter": (612.0, 792.0),  # 8 1/2 x 11 in
    "a4": (float(210 * POINTS_PER_MM), float(297 * POINTS_PER_MM)),  # ISO 216
}


@dataclass(frozen=True, slots=True)
class Style:
    """Type scale, margins, line weights and patterns, in points."""

    margin: float = 30.0  # 10.6 mm; desk printers reach to 6 mm, and a hole punch wants more
    footer_gap: float = 12.0
    banner_height: float = 46.0

    small: float = 9.0
    body: float = 10.0
    cut_size: float = 12.0
    headings: tuple[float, float, float] = (17.0, 13.5, 11.5)
    banner: float = 32.0
    figure_value: float = 20.0
    leading: float = 1.16  # line pitch over type size

    fraction: float = 0.7  # size of a built fraction's digits over the type size, but not under `least`
    least_built: float = 9.0  # below this size fractions are set in line: 16 1/4
    least: float = 8.0  # nothing is ever set smaller

    outline: float = 1.4  # ISO 128 asks for wide lines twice as heavy as narrow ones
    hidden: float = 0.7
    thin: float = 0.5
    heavy: float = 2.4
    reference: float = 3.6  # must not be taken for an outline
    hidden_dash: tuple[float, ...] = (4.0, 2.5)
    centre_dash: tuple[float, ...] = (10.0, 2.5, 1.5, 2.5)
    cut_dash: tuple[float, ...] = (7.0, 3.0)
    hatch_pitch: float = 6.0

    dimension_text: float = 12.0
    label_text: float = 10.5
    view_title: float = 10.5
    balloon_text: float = 11.5
    balloon_radius: float = 9.5
    tick: float = 4.0  # half length of the oblique stroke that ends a dimension line
    lane_gap: float = 6.0  # between an outline and the first dimension, and between lanes
    clearance: float = 2.0  # least white between any two things
    view_gap: float = 28.0


STYLE = Style()

TONES = {"paper": 1.0, "light": 0.9, "middle": 0.8, "dark": 0.68, "ink": 0.0}  # 1 is white

# ISO 5455 preferred scales for millimetre drawings; for inch drawings the shop's halves of halves
# (half size, quarter size ...), which a folding rule measures, and between them those of the architect's
# scale: 1 in, 1/2, 1/4, 1/8 and 1/16 in to the foot. Values are paper over real.
SCALES: dict[str, tuple[Fraction, ...]] = {
    "mm": tuple(
        Fraction(text)
        for text in ("5", "2", "1", "1/2", "1/5", "1/10", "1/20", "1/50", "1/100", "1/200", "1/500", "1/1000")
    ),
    "in": tuple(
        Fraction(text)
        for text in (
            *("4", "2", "1", "1/2", "1/4", "1/8", "1/12", "1/16", "1/24", "1/32", "1/48", "1/64", "1/96"),
            *("1/128", "1/192", "1/256"),
        )
    ),
}

# Of pictures without a scale, so that they fill their room.
FREE_SCALES = tuple(Fraction(1, n) for n in (*range(1, 21), *range(22, 41, 2), *range(44, 101, 4)))


def scale_text(scale: Fraction) -> str:
    """A scale as drawings print it.

    >>> scale_text(Fraction(1, 4)), scale_text(Fraction(2))
    ('1:4', '2:1')
    """
    return f"{scale.numerator}:{scale.denominator}"
