"""SVG files, and layouts of boards and sheets."""

from fractions import Fraction
from itertools import combinations
from xml.etree import ElementTree

import pytest

from woodshop.drawing.arranging.arrange import fitted, lay_view
from woodshop.drawing.arranging.places import crosses
from woodshop.drawing.pens.svg import svg_of
from woodshop.drawing.values.model import Drawing, Fill, Kind
from woodshop.drawing.values.paper import Ring, Stroke, Word, mark_box
from woodshop.drawing.values.style import SCALES, STYLE, scale_text
from woodshop.drawing.views.layout import Rect, layout_drawing, layout_view
from woodshop.drawing.views.part import part_drawing
from woodshop.reference.materials import EXISTING
from woodshop.shape.part import Part
from woodshop.units.lengths import ZERO, Length, inch
from woodshop.units.wording import wording_of


def svg(drawing: Drawing) -> str:
    """The drawing at the largest standard scale that fits a page."""
    return svg_of(fitted(drawing, 532, 680).sheet, drawing.title)


_SVG = "{http://www.w3.org/2000/svg}"


def test_svg_is_well_formed_and_holds_every_text(part: Part, unit: str) -> None:
    """It parses, has a title, and its texts are those of the drawing, fractions spelt out."""
    drawing = part_drawing(part, address="a", count=1, wording=wording_of(unit))
    root = ElementTree.fromstring(svg(drawing))
    assert root.tag == f"{_SVG}svg"
    assert root.findtext(f"{_SVG}title") == part.name
    texts = ["".join(text.itertext()) for text in root.iter(f"{_SVG}text")]
    for view in drawing.views:
        for dimension in view.dimensions:
            assert dimension.text(unit) in texts


def test_svg_stays_inside_its_page(part: Part) -> None:
    """Every coordinate lies in the view box."""
    root = ElementTree.fromstring(svg(part_drawing(part, address="a", count=1)))
    _, _, wide, high = (float(n) for n in root.attrib["viewBox"].split())
    for shape in (*root.iter(f"{_SVG}polyline"), *root.iter(f"{_SVG}polygon")):
        for pair in shape.attrib["points"].split():
            x, y = (float(n) for n in pair.split(","))
            assert 0 <= x <= wide
            assert 0 <= y <= high


def test_names_do_no_harm_in_svg() -> None:
    """Markup and controls in a name stay text."""
    name = 'x</title><script>alert("1")</script>&\x00'
    root = ElementTree.fromstring(
        svg(part_drawing(Part(name, EXISTING, inch(9), inch(3), inch(1)), address="a", count=1))
    )
    assert not list(root.iter(f"{_SVG}script"))
    assert root.findtext(f"{_SVG}title") == 'x</title><script>alert("1")</script>&'


def _board(length: str, width: str, *pieces: str) -> tuple[Length, Length, list[Rect], Rect]:
    """Pieces one after the other with a kerf between, and what is left over."""
    x, found = ZERO, []
    for piece in pieces:
        found.append(Rect(x, ZERO, inch(piece), inch(width), f"rim/F10/1/{piece}"))
        x += inch(piece) + inch("1/8")
    return inch(length), inch(width), found, Rect(x, ZERO, inch(length) - x, inch(width), "rack-12")


@pytest.mark.parametrize(
    ("length", "width", "pieces"),
    [
        ("192", "1 1/2", ("19 7/8",) * 5 + ("16 1/4",) * 5),
        ("96", "3 1/2", ("19 7/8",) * 3 + ("16 1/4",)),
        ("60", "5 1/2", ("40",)),
    ],
)
@pytest.mark.parametrize("keep", [False, True])
def test_layouts_are_legible(length: str, width: str, pieces: tuple[str, ...], keep: bool) -> None:
    """Each piece has its number or is counted by a remark; no text touches another, and the board fits the page."""
    long, wide, rects, rest = _board(length, width, *pieces)
    drawing = layout_drawing("board", long, wide, pieces=rects, **{"kept" if keep else "waste": [rest]})
    drawn = fitted(drawing, 612 - 2 * STYLE.margin, 300)
    assert not drawn.sheet.crowded
    laid = lay_view(drawn.drawing.views[0], drawn.scale, "in")
    words = [mark for mark in laid.marks if isinstance(mark, Word)]
    assert all(not a.box.meets(b.box) for a, b in combinations(words, 2))
    kinds = {rect.label: i for i, rect in reversed(list(enumerate({r.label: r for r in rects}.values(), 1)))}
    said = [word.text.split(":")[0] for word in words]
    for label, number in kinds.items():
        counts = [text.removesuffix(f" x {number}") for text in said if text.endswith(f" x {number}")]
        named = said.count(str(number)) + sum(int(count) for count in counts if count.isdigit())
        assert named >= sum(rect.label == label for rect in rects)
    assert any(word.text.startswith("keep") for word in words) is keep
    assert len(drawing.notes) == len(kinds) + keep


def test_a_narrow_board_is_drawn_wider_and_says_so() -> None:
    """The stretch is a whole number, the dimension still states the true width, and a sheet is not stretched."""
    long, wide, rects, rest = _board("192", "1 1/2", "19 7/8")
    view = layout_view(long, wide, rects, waste=[rest])
    assert view.stretch == 2, "never more"
    assert [d.text("in") for d in view.dimensions] == ["192", "1 1/2"]
    assert layout_view(inch(96), inch(48), [Rect(ZERO, ZERO, inch(19), inch(15), "mesh")]).stretch == 1


def test_waste_is_hatched_and_what_is_kept_is_not_mistaken_for_it() -> None:
    """Waste is hatched; a kept offcut is outlined, and bare but for its words."""
    long, wide, rects, rest = _board("96", "3 1/2", "19 7/8")
    assert [r.fill for r in layout_view(long, wide, rects, waste=[rest]).regions] == [Fill.HATCH]
    assert [r.fill for r in layout_view(long, wide, rects, kept=[rest]).regions] == [Fill.BARE]


def test_lines_between_pieces_are_thin() -> None:
    """Two edges with a kerf between them do not run together to a fat line."""
    long, wide, rects, _ = _board("96", "3 1/2", "19 7/8", "19 7/8")
    view = layout_view(long, wide, rects)
    assert {line.kind for line in view.lines[1:]} == {Kind.THIN}


def test_a_piece_off_the_board_is_refused() -> None:
    """Nothing is drawn that cannot be cut."""
    with pytest.raises(ValueError, match="rim does not lie on the board"):
        layout_view(inch(10), inch(4), [Rect(inch(5), ZERO, inch(6), inch(4), "rim")])


@pytest.mark.outside("ISO 5455:1979, recommended scales 5:1 2:1 1:1 1:2 1:5 1:10 1:20 1:50 1:100 ...; from memory")
def test_millimetre_scales_are_those_of_the_standard() -> None:
    """Fives, twos and ones."""
    assert [scale_text(s) for s in SCALES["mm"]] == [
        "5:1", "2:1", "1:1", "1:2", "1:5", "1:10", "1:20", "1:50", "1:100", "1:200", "1:500", "1:1000",
    ]  # fmt: skip


@pytest.mark.outside("ISO 128-2:2020, wide and narrow lines in the ratio 2:1; from memory")
def test_outlines_are_twice_as_wide_as_hidden_lines() -> None:
    """The ratio of line widths."""
    assert Fraction(STYLE.outline).limit_denominator(100) == 2 * Fraction(STYLE.hidden).limit_denominator(100)


def test_a_single_letter_is_never_rotated() -> None:
    """An N on its side is a Z. Low pieces, which a rotated letter would fit better, have it upright."""
    for high in range(6, 40):
        pieces = [Rect(inch("19 5/8") * n, ZERO, inch("19 5/8"), inch(high) / 2, "N") for n in range(3)]
        drawing = layout_drawing("cloth", inch(108), inch(60), pieces=pieces)
        words = [mark for mark in fitted(drawing, 200, 250).views[0][0].words if isinstance(mark, Word)]
        assert words
        assert not [word for word in words if word.turn and len(word.text) == 1]


def test_small_equal_pieces_side_by_side_share_one_remark() -> None:
    """Sixty squares too small for a word: one remark counts them, and each has its dot."""
    step = inch("2 1/8")
    squares = [Rect(step * i, step * j, inch(2), inch(2), "S") for i in range(20) for j in range(3)]
    drawing = layout_drawing(
        "mesh", inch(60), inch(24), pieces=squares, waste=[Rect(ZERO, inch(7), inch(60), inch(17))]
    )
    drawn = fitted(drawing, 532, 250)
    assert not drawn.sheet.crowded
    laid = drawn.views[0][0]
    words = [mark.text for mark in laid.words if isinstance(mark, Word)]
    assert words == ["60 x S"]
    assert sum(isinstance(mark, Ring) for mark in laid.words) == 60


def test_leaders_do_not_run_over_each_other_where_they_need_not() -> None:
    """Small pieces of six kinds in a corner, each with its remark."""
    pieces = [
        Rect(inch(80) + inch(2 * n), inch(row), inch(2), inch(1), f"P{n}{row}") for n in range(3) for row in (0, 1)
    ]
    drawn = fitted(layout_drawing("board", inch(96), inch(12), pieces=pieces), 540, 300)
    marks = lay_view(drawn.drawing.views[0], drawn.scale, "in").words
    leaders = [(m.points[0], m.points[1]) for m in marks if isinstance(m, Stroke) and len(m.points) == 2]
    assert len(leaders) == len(pieces)
    assert not any(crosses(a, b) for a, b in combinations(leaders, 2))


def test_lines_cross_only_within_both() -> None:
    assert crosses(((0.0, 0.0), (2.0, 2.0)), ((0.0, 2.0), (2.0, 0.0)))
    assert not crosses(((0.0, 0.0), (2.0, 2.0)), ((0.0, 0.0), (2.0, 0.0)))
    assert not crosses(((0.0, 0.0), (1.0, 1.0)), ((0.0, 4.0), (4.0, 0.0)))


def test_bad_wood_is_crossed_out_and_mesh_is_in_cells() -> None:
    """Two diagonals and the word; a piece of mesh by its cells, in the view and in the key."""
    bad = Rect(inch(20), ZERO, inch(4), inch(6))
    half = inch("1/2")
    drawing = layout_drawing(
        "sheet", inch(40), inch(6), pieces=[Rect(ZERO, ZERO, inch(8), inch(5), "H")], bad=[bad], cell=half
    )
    (view,) = drawing.views
    assert {label.text for label in view.labels} == {"bad", "H: 16 x 10 cells"}
    corners = {bad.corners[::2], bad.corners[1::2]}
    assert corners <= {line.points for line in view.lines}
    assert drawing.notes == ("H: 16 x 10 cells, 1 of them", "bad from 20 to 24 in")
    with pytest.raises(ValueError, match="does not lie"):
        layout_view(inch(22), inch(6), [], bad=[bad])


def test_a_text_on_hatching_has_paper_behind_it() -> None:
    """Just below the word in the drawing order lies white paper that holds it."""
    long, wide, rects, rest = _board("96", "3 1/2", "19 7/8")
    words = fitted(layout_drawing("b", long, wide, pieces=rects, kept=[rest]), 532, 300).views[0][0].words
    at = next(i for i, mark in enumerate(words) if isinstance(mark, Word) and mark.text.startswith("keep"))
    paper = words[at - 1]
    assert isinstance(paper, Stroke)
    assert paper.fill == "paper"
    box = mark_box(paper)
    assert box.joined(words[at].box) == box


def test_a_figure_that_is_too_high_is_stretched_less() -> None:
    """A wide board in little room: the stretch gives way before the scale."""
    long, wide = inch(64), inch("7 1/4")
    strips = [Rect(ZERO, inch(6), inch(14), inch("1/4"), "K")]
    drawing = layout_drawing("b", long, wide, pieces=strips)
    tall, low = fitted(drawing, 532, 400), fitted(drawing, 532, 100)
    assert low.drawing.views[0].stretch < tall.drawing.views[0].stretch
    assert low.scale == tall.scale
    assert low.sheet.size[1] <= 100


def test_marks_are_the_labels_only_while_they_tell_parts_apart() -> None:
    """Short labels stand for themselves, laid either way; the same label on two sizes gets numbers."""
    turned = [Rect(ZERO, ZERO, inch(16), inch(19), "R"), Rect(inch(20), ZERO, inch(19), inch(16), "R")]
    notes = layout_drawing("cloth", inch(60), inch(36), pieces=turned).notes
    assert notes == ("R: 16 x 19 in, 1 of them", "R: 19 x 16 in, 1 of them")
    other = [*turned, Rect(inch(42), ZERO, inch(5), inch(5), "R")]
    assert layout_drawing("cloth", inch(60), inch(36), pieces=other).notes[2] == "3: R, 5 x 5 in, 1 of them"


def test_a_piece_that_lies_across_is_named_by_its_own_length_first() -> None:
    """19 5/8 x 16 laid across a roll: in its label, short or long, and in the key, in the order of the part table."""
    across = Rect(ZERO, ZERO, inch(16), inch("19 5/8"), "R", turned=True)
    along = Rect(inch(17), ZERO, inch("19 5/8"), inch(16), "R")
    drawing = layout_drawing("cloth", inch(60), inch(36), pieces=[across, along])
    for label in drawing.views[0].labels:
        assert (label.text, *label.shorter) == ("R: 19 5/8 x 16", "R: 19 5/8", "R")
    assert drawing.notes == ("R: 19 5/8 x 16 in, 2 of them",)
