"""The patterns of hives: their list, the sizes of one with their sources, and where to measure a box and a frame."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from woodshop.drawing.values.model import (
    Block,
    Bullets,
    Column,
    Dimension,
    Document,
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
    Table,
    View,
)
from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.reference.patterns import MEASURES, HivePattern, find_pattern, left_out, patterns
from woodshop.units.lengths import Length, millimetre
from woodshop.units.wording import LengthUnit, wording_of

_ALSO = {
    "width": "outside width",
    "length": "outside length",
    "gap": "gap over the top bars",
    "end_bar_below": "width of an end bar below its shoulder",
    "end_bar_shoulder": "from the top of a frame down to the shoulder of its end bars",
    "bottom_bar_width": "width of a bottom bar",
}


def patterns_section() -> Section:
    """Every published pattern with the sizes to measure, and the patterns that are left out with what is missing."""
    columns = (
        Column("pattern", key="name"),
        Column("bee space", key="bee_space"),
        Column("frames", key="frames"),
        Column("measure yourself", key="missing"),
        Column("what it is", key="what"),
    )
    rows = tuple(
        (each.name, each.bee_space, ", ".join(map(str, each.frames)) or "any", _missing(each), each.what)
        for each in patterns()
    )
    table = Table(columns, rows)
    out = Table((Column("left out", key="name"), Column("missing", key="missing")), left_out())
    more = Paragraph(
        "For any other hive, measure one box and one frame, and write a [[pattern]]: woodshop new --measure asks for "
        "the sizes. No box is graded with frames of another pattern. See: woodshop patterns NAME."
    )
    why = Paragraph("Left out, because two readable sources that agree were not found:")
    return Section("", (table, why, out, more), {"patterns": table.records, "left_out": out.records})


def _missing(pattern: HivePattern) -> str:
    return f"{len(pattern.missing)} sizes" if pattern.missing else "the gap"


def pattern_section(name: str, unit: LengthUnit = "in") -> Section:
    """The sizes of one pattern with their sources, and those to measure; in millimeters with published inches beside.

    Raises InputError for an unknown name.
    """
    known = {each.name.lower(): each.name for each in patterns()}
    if name.lower() not in known:
        do = did_you_mean(name, list(known.values()), "See: woodshop patterns.")
        raise InputError(Problem("patterns", repr(name), f"one of {', '.join(known.values())}", do))
    pattern = find_pattern(known[name.lower()])
    columns = (
        Column("size", key="size"),
        Column("what it is", key="what"),
        Column("value", key="value"),
        Column("trust", key="trust"),
        Column("source", key="source"),
    )
    rows, wording = [], wording_of(unit)
    for size, what in _sizes(pattern):
        for frames in pattern.frames if size == "width" and len(pattern.frames) > 1 else (0,):
            row = pattern.row(size, frames or (pattern.frames or (0,))[0])
            words = f"{what}, {frames} frames" if frames else what
            if row is not None:
                also = row.column("also")
                cite = wording.quoted(f"{row.cite}; also {also}" if also else row.cite)
                rows.append((size, words, row.worded(wording), row.trust, cite))
            elif size in MEASURES and size in pattern.missing:
                rows.append((size, words, "measure yours", "", ""))
    table = Table(columns, tuple(rows))
    head = Paragraph(f"{pattern.name}: {pattern.what} Bee space at the {pattern.bee_space}.")
    data: dict[str, Any] = {"name": pattern.name, "bee_space": pattern.bee_space, "sizes": table.records}
    return Section("", (head, table), data | {"missing": list(pattern.missing)})


def _sizes(pattern: HivePattern) -> list[tuple[str, str]]:
    """The names of the sizes of a pattern with their meanings: boxes, frames, then each kind of box."""
    bodies = [(f"height_{body}", f"height of a {body} box") for body in pattern.bodies]
    depths = [(f"frame_depth_{body}", f"depth of a {body} frame") for body in pattern.bodies]
    return [*MEASURES.items(), *_ALSO.items(), *bodies, *depths]


_IN_FILE = "write the sizes into a [[pattern]]. woodshop new --measure asks for them in this order"


def tape_section(where: str = _IN_FILE, named: Callable[[str], str] = str) -> Section:
    """Pictures of a box and a frame with the places to measure, and the list of them.

    `where` says where to write the sizes, and `named` has the name of a key of [[pattern]]; without it that is the key.
    """
    figures = (
        (_end_drawing(), "A slice along a box, through its front and back wall. The frame hangs on the frame rests."),
        (_frame_drawing(), "A frame from the side."),
        (_ends_drawing(), "Two frames from the end."),
    )
    blocks: list[Block] = [
        Heading("A pattern of your own", 3),
        Paragraph(f"Measure one box and one frame in this order, and {where}."),
    ]
    for drawing, caption in figures:
        shown = _named(drawing, named)
        blocks.append(Figure(shown, caption, most_height=millimetre(110), say_scale=False, free_scale=True))
    blocks.append(Bullets(tuple(f"{named(name)}: {what}." for name, what in MEASURES.items())))
    return Section("", tuple(blocks))


def _named(drawing: Drawing, named: Callable[[str], str]) -> Drawing:
    """The drawing with the names of the keys beside its dimensions."""

    def view(each: View) -> View:
        return replace(each, dimensions=tuple(replace(one, letter=named(one.letter)) for one in each.dimensions))

    return replace(drawing, views=tuple(map(view, drawing.views)))


def tape_picture() -> bytes:
    """The pictures of `tape_section` as the bytes of a PDF file."""
    from woodshop.drawing.pens.pdf import write_pdf

    what = "Where to measure a box and a frame"
    return write_pdf(Document(what, "A pattern of your own.", (tape_section(),), footer=what))


def _mm(number: int) -> Length:
    return millimetre(number)


def _box(x0: int, y0: int, x1: int, y1: int) -> tuple[Point, ...]:
    low, high = (_mm(x0), _mm(y0)), (_mm(x1), _mm(y1))
    return low, (high[0], low[1]), high, (low[0], high[1])


def _at(x: int, y: int) -> Point:
    return _mm(x), _mm(y)


def _end_drawing() -> Drawing:
    """A box 300 mm long with walls of 30 mm, rests of 16 mm, and the frame between them; not to the size of any box."""
    front = (_at(0, 0), _at(30, 0), _at(30, 102), _at(14, 102), _at(14, 120), _at(0, 120))
    back = tuple((_mm(300) - x, y) for x, y in front)
    frame = (_at(17, 102), _at(283, 102), _at(283, 112), _at(17, 112))
    view = View(
        "",
        lines=(
            Line(front, closed=True),
            Line(back, closed=True),
            Line(frame, closed=True),
            Line(_box(38, 10, 262, 102), Kind.THIN, closed=True),
        ),
        regions=(Region(front, Fill.HATCH), Region(back, Fill.HATCH), Region(frame, Fill.LIGHT)),
        dimensions=(
            Dimension(_at(30, 0), _at(270, 0), Side.BELOW, letter="inside_length"),
            Dimension(_at(270, 0), _at(300, 0), Side.BELOW, letter="end_wall"),
            Dimension(_at(270, 120), _at(286, 120), Side.ABOVE, letter="rest"),
            Dimension(_at(300, 0), _at(300, 120), Side.RIGHT, letter="height"),
        ),
        labels=(Label("front", _at(15, 50)), Label("frame", _at(150, 56))),
    )
    return Drawing("Inside of the box", "", (view,))


def _frame_drawing() -> Drawing:
    bar = (_at(0, 150), _at(36, 150), _at(36, 138), _at(264, 138), _at(264, 150), _at(300, 150), _at(300, 162),
           _at(0, 162))  # fmt: skip
    parts = (_box(24, 0, 36, 150), _box(264, 0, 276, 150), _box(36, 0, 264, 10))
    view = View(
        "",
        lines=(Line(bar, closed=True), *(Line(each, closed=True) for each in parts)),
        regions=(Region(bar, Fill.LIGHT),),
        dimensions=(
            Dimension(_at(0, 162), _at(300, 162), Side.ABOVE, letter="top_bar_length"),
            Dimension(_at(24, 0), _at(276, 0), Side.BELOW, letter="frame_length"),
            Dimension(_at(0, 150), _at(0, 162), Side.LEFT, letter="lug_thickness"),
            Dimension(_at(300, 0), _at(300, 162), Side.RIGHT, letter="frame_depth"),
            Dimension(_at(264, 10), _at(276, 10), Side.ABOVE, letter="end_bar_thickness"),
            Dimension(_at(120, 138), _at(120, 162), Side.LEFT, letter="top_bar_thickness"),
            Dimension(_at(120, 0), _at(120, 10), Side.LEFT, letter="bottom_bar_thickness"),
        ),
    )
    return Drawing("The frame", "", (view,))


def _ends_drawing() -> Drawing:
    lines: list[Line] = []
    for x in (0, 76):
        lines.append(Line(_box(x + 6, 150, x + 54, 162), closed=True))
        lines.append(Line(_box(x, 0, x + 60, 150), closed=True))
    view = View(
        "",
        lines=(*lines, Line((_at(30, 0), _at(30, 162)), Kind.CENTRE), Line((_at(106, 0), _at(106, 162)), Kind.CENTRE)),
        dimensions=(
            Dimension(_at(30, 0), _at(106, 0), Side.BELOW, letter="spacing"),
            Dimension(_at(6, 162), _at(54, 162), Side.ABOVE, letter="top_bar_width"),
            Dimension(_at(76, 150), _at(136, 150), Side.ABOVE, letter="end_bar_width"),
        ),
    )
    return Drawing("Two frames", "", (view,))
