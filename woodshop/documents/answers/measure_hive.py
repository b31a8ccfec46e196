"""How to measure a hive: where to put the tape and the straightedge, and the sizes that makers sell."""

from fractions import Fraction

from woodshop.drawing.values.model import (
    Block,
    Bullets,
    Dimension,
    Drawing,
    Figure,
    Fill,
    Heading,
    Kind,
    Label,
    Line,
    Paragraph,
    Point,
    Region,
    Section,
    Side,
    View,
)
from woodshop.reference.boxes import FRAMES, FrameSize, box_height, box_size, frame_size, wall
from woodshop.reference.facts import Fact, fact, group
from woodshop.reference.patterns import AMERICAN, NATIONAL
from woodshop.units.lengths import ZERO, Length, inch

_SHOWN = 10  # frames of the box in the pictures; other boxes are measured alike


def maker_widths(pattern: str, frames: int) -> tuple[Fact, ...]:
    """The outside widths of boxes that makers sell, the default first; none for a number of frames without one."""
    if pattern == NATIONAL:
        return (fact("box.national_side"),)
    return group(f"box.width_{frames}") if pattern == AMERICAN and frames in FRAMES else ()


def measuring_section() -> Section:
    """Two pictures of a hive with the places to measure named as the keys of [[hives]], and how to measure each."""
    blocks: tuple[Block, ...] = (
        Paragraph("Take the cover off a hive that stands as it will in winter. You need a tape and a straightedge."),
        Figure(
            _box_drawing(),
            "The box under the board, from above and from the front.",
            most_height=inch("5"),
            say_scale=False,
            free_scale=True,
        ),
        Bullets(
            (
                "Width and length: outside, between opposite faces. Hook the tape on one, and keep it square.",
                "Height: one wall, from its lower edge to its upper edge.",
                "Wall: the thickness of the upper edge, away from the frame rests.",
            )
        ),
        Heading("The gap over the top bars", 3),
        Figure(
            _gap_drawing(),
            "A slice through the side of the box, looking to the back.",
            most_height=inch("5"),
            say_scale=False,
            free_scale=True,
        ),
        Paragraph(
            "Lay the straightedge across the box. Measure from its lower edge down to the top bars, near the middle "
            "of the box. Scrape wax off first. Do this on three hives and write all three down: they differ."
        ),
    )
    return Section("", blocks)


def _rectangle(low: Point, high: Point) -> tuple[Point, ...]:
    return low, (high[0], low[1]), high, (low[0], high[1])


def _outline(low: Point, high: Point, kind: Kind = Kind.OUTLINE) -> Line:
    return Line(_rectangle(low, high), kind, closed=True)


def _box_drawing() -> Drawing:
    box, frame, high = box_size(_SHOWN), frame_size("deep"), box_height("deep")
    wide, long, thick = box.width, box.length, box.wall
    pitch, end = box.inside_width / _SHOWN, (long - frame.top_bar_length) / 2
    bars = [
        _outline((x, end), (x + frame.top_bar_width, long - end), Kind.THIN)
        for x in (thick + pitch * n + (pitch - frame.top_bar_width) / 2 for n in range(_SHOWN))
    ]
    above = View(
        "from above",
        lines=(_outline((ZERO, ZERO), (wide, long)), _outline((thick, thick), (wide - thick, long - thick)), *bars),
        dimensions=(
            Dimension((ZERO, ZERO), (ZERO, long), Side.LEFT, letter="length"),
            Dimension((ZERO, long), (thick, long), Side.ABOVE, letter="wall"),
        ),
        cell=(0, 1),
    )
    front = View(
        "from the front",
        lines=(_outline((ZERO, ZERO), (wide, high)),),
        dimensions=(
            Dimension((ZERO, ZERO), (wide, ZERO), Side.BELOW, letter="width"),
            Dimension((wide, ZERO), (wide, high), Side.RIGHT, letter="height"),
        ),
        labels=(Label("front", (wide / 2, high / 2)),),
        cell=(0, 0),
    )
    return Drawing("Sizes of the box", "", (above, front))


def _gap_drawing() -> Drawing:
    frame, gap = frame_size("deep"), fact("box.gap_over_top_bars").length
    thick, low = wall(), inch("-2")
    across, edge = thick + inch("4 1/2"), inch("1/2")
    bars = [_bar(frame, x, gap) for x in (thick + inch("3/8"), thick + inch("1 3/4"), thick + inch("3 1/8"))]
    side = _rectangle((ZERO, low), (thick, ZERO))
    rule = _rectangle((-edge, ZERO), (across, edge))
    last = bars[-1][2]
    view = View(
        "",
        lines=(
            Line(side, closed=True),
            Line(rule, closed=True),
            *(Line(each, closed=True) for each in bars),
        ),
        regions=(Region(side, Fill.HATCH), *(Region(each, Fill.LIGHT) for each in bars)),
        dimensions=(Dimension(last, (last[0], ZERO), Side.RIGHT, letter="gap"),),
        labels=(
            Label("straightedge", (across / 2, edge / 2)),
            Label("side of the box", (-edge, low), (thick / 2, low * Fraction(2, 3))),
            Label("top bars of the frames", (across, low), (bars[1][1][0], -gap - frame.top_bar_thickness / 2)),
        ),
    )
    return Drawing("Gap over the top bars", "", (view,))


def _bar(frame: FrameSize, x: Length, gap: Length) -> tuple[Point, ...]:
    return _rectangle((x, -gap - frame.top_bar_thickness), (x + frame.top_bar_width, -gap))
