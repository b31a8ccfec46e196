"""Shop drawings of parts: true outlines, true sizes, nothing on top of anything else."""

from fractions import Fraction
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from woodshop.drawing.arranging.arrange import LaidView, fitted, placed_views
from woodshop.drawing.values.model import Drawing, Kind, Line
from woodshop.drawing.values.paper import Box, Word, mark_box
from woodshop.drawing.values.style import PAPERS, STYLE
from woodshop.drawing.views.part import part_drawing
from woodshop.drawing.views.projection import doubled_area, flat, projected, sight
from woodshop.reference.materials import EXISTING
from woodshop.shape.part import FACE_AXIS, Cut, Face, Part, Rectangle, RoundOutline, cut_box
from woodshop.units.lengths import ZERO, Length, millimetre
from woodshop.units.wording import wording_of

FACES = (Face.SHOW, Face.BACK, Face.UPPER, Face.LOWER, Face.LEFT, Face.RIGHT)


def _drawing(part: Part, unit: str) -> Drawing:
    return part_drawing(part, address="batch/F10/1/" + part.name, count=4, wording=wording_of(unit))


def test_every_dimension_states_a_true_length(part: Part, unit: str) -> None:
    """Each dimension's text is the exact distance of two planes of the part."""
    planes = [{ZERO, size} for size in part.size]
    for cut in part.cuts:
        box = cut_box(part, cut)
        for axis in range(3):
            planes[axis] |= {box.low[axis], box.high[axis], (box.low[axis] + box.high[axis]) / 2}
    lengths = {abs(a - b) for axis in planes for a, b in combinations(axis, 2)}
    for view in _drawing(part, unit).views:
        for dimension in view.dimensions:
            assert dimension.length in lengths
            assert dimension.text(unit) == dimension.length.number(unit)


def test_every_size_of_part_and_cut_is_stated(part: Part, unit: str) -> None:
    """All three sizes of the part, and of each cut what does not run from end to end, are to be read."""
    drawing = _drawing(part, unit)
    said = {d.text(unit) for view in drawing.views for d in view.dimensions}
    words = " ".join(label.text for view in drawing.views for label in view.labels)
    notes = " ".join(drawing.notes)
    assert part.length.number(unit) in said
    assert part.width.number(unit) in said
    assert part.thickness.number(unit) in said or f"{part.thickness.text(unit)} thick" in drawing.views[0].name
    for cut in part.cuts:
        box, (axis, _) = cut_box(part, cut), FACE_AXIS[cut.face]
        if isinstance(cut.outline, RoundOutline):
            assert f"dia. {cut.outline.diameter.number(unit)}" in words
            continue
        for i in range(3):
            if box.size(i) == part.size[i]:
                continue
            text = box.size(i).number(unit)
            assert text in said or (i == axis and f"{text} deep" in words)
            assert text in notes


def test_only_views_that_are_needed_are_drawn(parts: tuple[Part, ...]) -> None:
    """A plain strip has one view that states its thickness; rabbets along the edge add an end, at the ends an edge."""
    by_name = {part.name: [view.name for view in _drawing(part, "in").views] for part in parts}
    assert by_name["spacer strip"] == ["Show face, 1/4 in thick"]
    assert by_name["rim side"] == ["Back face", "Left end"]
    assert by_name["rim end"] == ["Back face", "Upper edge"]
    assert by_name["side with notch"] == ["Show face, 3/4 in thick"]
    assert by_name["mortised"] == ["Show face", "Upper edge"]


def _face_area(part: Part, axis: int) -> Fraction:
    """Area of the silhouette along an axis by counting cells of all cut planes: shares no code with the views."""
    u, v = (i for i in range(3) if i != axis)
    boxes = [cut_box(part, cut) for cut in part.cuts if isinstance(cut.outline, Rectangle)]
    planes = [sorted({ZERO, part.size[i], *(b.low[i] for b in boxes), *(b.high[i] for b in boxes)}) for i in range(3)]
    total = Fraction(0)
    for a, b in zip(planes[u], planes[u][1:], strict=False):
        for c, d in zip(planes[v], planes[v][1:], strict=False):
            for e, f in zip(planes[axis], planes[axis][1:], strict=False):
                middle = {u: (a + b) / 2, v: (c + d) / 2, axis: (e + f) / 2}
                if not any(all(x.low[i] < middle[i] < x.high[i] for i in range(3)) for x in boxes):
                    total += (b - a).mm * (d - c).mm
                    break
    return total


def _loops(lines: tuple[Line, ...]) -> list[Fraction]:
    return [abs(doubled_area(line.points)) / 2 for line in lines if line.closed and line.kind is Kind.OUTLINE]


def test_outlines_enclose_the_area_of_the_part(part: Part) -> None:
    """From every side the outline less its openings is as large as what a count of the part's cells gives."""
    for face in FACES:
        lines, _ = projected(part, sight(face, Face.SHOW))
        outer, *openings = _loops(lines)
        assert outer - sum(openings) == _face_area(part, FACE_AXIS[face][0])


_SIZES = st.integers(1, 6)


@st.composite
def _random_parts(draw: st.DrawFn) -> Part:
    size = (draw(st.integers(6, 9)), draw(st.integers(5, 8)), draw(st.integers(3, 5)))
    cuts = []
    for _ in range(draw(st.integers(0, 4))):
        face = draw(st.sampled_from(list(Face)))
        axis, _far = FACE_AXIS[face]
        u, v = (i for i in range(3) if i != axis)
        u0, v0 = draw(st.integers(0, size[u] - 1)), draw(st.integers(0, size[v] - 1))
        u1, v1 = draw(st.integers(u0 + 1, size[u])), draw(st.integers(v0 + 1, size[v]))
        depth = draw(st.integers(1, size[axis] - 1))
        mm = [millimetre(value) for value in (u0, v0, u1, v1, depth)]
        cuts.append(Cut("cut", face, Rectangle(*mm[:4]), mm[4]))
    length, width, thickness = (millimetre(value) for value in size)
    return Part("random", EXISTING, length, width, thickness, cuts=tuple(cuts))


@pytest.mark.invariant
@settings(max_examples=tries(60), deadline=None, derandomize=True)
@given(_random_parts(), st.sampled_from(FACES), st.sampled_from([Face.SHOW, Face.BACK]))
def test_edges_stand_where_the_surface_steps_and_nowhere_else(part: Part, face: Face, front: Face) -> None:
    """Against a map of depths, unit by unit: an edge seen is a step in it, and every step has its edge."""
    seen = sight(face, front)
    lines, _ = projected(part, seen)
    half = Fraction(1, 2)

    def profile(u: int, v: int) -> tuple[bool, ...]:
        place = [Fraction(0)] * 3
        for (axis, mirrored), value in ((seen.right, u), (seen.up, v)):
            full = part.size[axis].mm
            place[axis] = full - value - half if mirrored else value + half
            if not 0 < place[axis] < full:
                return ()
        depth, far = FACE_AXIS[face]
        steps = range(int(part.size[depth].mm))
        found = []
        for step in reversed(steps) if far else steps:
            place[depth] = step + half
            boxes = (cut_box(part, cut) for cut in part.cuts)
            found.append(not any(all(b.low[i].mm < place[i] < b.high[i].mm for i in range(3)) for b in boxes))
        return tuple(found)

    drawn: dict[tuple[Fraction, Fraction], Kind] = {}
    for line in lines:
        points = [*line.points, line.points[0]] if line.closed else line.points
        for a, b in pairwise(points):
            low, high = sorted((a, b))
            steps = int((high[0] - low[0]).mm + (high[1] - low[1]).mm)
            across = (Fraction(1), Fraction(0)) if low[1] == high[1] else (Fraction(0), Fraction(1))
            for i in range(steps):
                drawn[low[0].mm + across[0] * (i + half), low[1].mm + across[1] * (i + half)] = line.kind
    wide, high_ = int(part.size[seen.right[0]].mm), int(part.size[seen.up[0]].mm)
    for u in range(wide + 1):
        for v in range(high_ + 1):
            for middle, one, other in (
                ((Fraction(u), v + half), profile(u - 1, v), profile(u, v)),
                ((u + half, Fraction(v)), profile(u, v - 1), profile(u, v)),
            ):
                first = [p.index(True) if any(p) else None for p in (one, other)]
                wanted = None
                if first[0] != first[1]:
                    wanted = Kind.OUTLINE
                elif any(one) and one != other:
                    wanted = Kind.HIDDEN
                if any(one) or any(other):
                    assert drawn.get(middle) == wanted, (middle, one, other)


def _laid(part: Part, unit: str, paper: str) -> list[tuple[LaidView, tuple[float, float]]]:
    wide, high = PAPERS[paper]
    drawing = _drawing(part, unit)
    scale = fitted(drawing, wide - 2 * STYLE.margin, (high - 2 * STYLE.margin) / 2).scale
    return placed_views(drawing, scale)


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_no_text_lies_on_another_text_or_on_a_line(part: Part, unit: str, paper: str) -> None:
    """On each paper and in each unit: text boxes are apart, and no stroke runs through a text."""
    texts: list[Box] = []
    for laid, (x, y) in _laid(part, unit, paper):
        for mark in laid.marks:
            if isinstance(mark, Word):
                texts.append(mark.moved(x, y).box)
    for a, b in combinations(texts, 2):
        assert not a.meets(b)
    for laid, (x, y) in _laid(part, unit, paper):
        for mark in laid.marks:
            if isinstance(mark, Word):
                continue
            moved = mark.moved(x, y)
            points = getattr(moved, "points", None)
            for text in texts:
                if points is None:
                    inside = text.left < moved.x < text.right and text.bottom < moved.y < text.top
                    assert not inside
                    continue
                ends = [*points[1:], points[0]] if moved.closed else points[1:]
                assert not any(text.crossed_by(p, q) for p, q in zip(points, ends, strict=False))


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_the_drawing_fits_the_room_it_was_given(part: Part, unit: str, paper: str) -> None:
    """Every mark of a fitted drawing lies in the sheet's box, and that is no larger than the room."""
    wide, high = PAPERS[paper]
    room = (wide - 2 * STYLE.margin, (high - 2 * STYLE.margin) / 2)
    sheet = fitted(_drawing(part, unit), *room).sheet
    assert sheet.size[0] <= room[0]
    assert sheet.size[1] <= room[1]
    for mark in sheet.marks:
        box = mark_box(mark)
        assert sheet.box.left <= box.left
        assert box.right <= sheet.box.right
        assert sheet.box.bottom <= box.bottom
        assert box.top <= sheet.box.top


def test_dimension_lines_are_as_long_as_what_they_measure(part: Part) -> None:
    """On paper the ends of a dimension line are as far apart as its length at the drawing's scale."""
    drawing = _drawing(part, "in")
    scale = fitted(drawing, 500.0, 600.0).scale
    for laid, _ in placed_views(drawing, scale):
        for placed in laid.dimensions:
            axis = placed.dimension.axis
            shown = Fraction(abs(placed.end[axis] - placed.start[axis])) / laid.view.enlarged
            paper = Length(shown * Fraction(127, 360) / scale)
            assert abs(paper - placed.dimension.length).mm < Fraction(1, 1000)


def test_a_small_profile_is_enlarged_and_says_so(parts: tuple[Part, ...]) -> None:
    """The end of a long narrow part is drawn at twice its scale, with that in its name."""
    front, end = _drawing(parts[0], "in").views
    assert (front.enlarged, end.enlarged) == (1, 2)
    drawn = fitted(_drawing(parts[0], "in"), 532, 300)
    words = [mark.text for mark in drawn.sheet.marks if isinstance(mark, Word)]
    assert "Left end, drawn 2x" in words
    narrow = fitted(_drawing(parts[0], "in"), drawn.sheet.size[0] - 1.0, 300)
    assert narrow.scale == drawn.scale
    assert narrow.drawing.views[1].enlarged == 1


def test_the_place_of_every_cut_is_stated(part: Part, unit: str) -> None:
    """A cut that touches neither end of an axis has its distance from left end or lower edge; a hole its center."""
    drawing = _drawing(part, unit)
    said = {d.text(unit) for view in drawing.views for d in view.dimensions}
    for cut in part.cuts:
        box, (axis, _) = cut_box(part, cut), FACE_AXIS[cut.face]
        for i in range(3):
            low, high, full = box.low[i], box.high[i], part.size[i]
            if isinstance(cut.outline, RoundOutline):
                if i != axis:
                    assert ((low + high) / 2).number(unit) in said
            elif low > ZERO and high < full:
                assert low.number(unit) in said


@pytest.mark.outside("ISO 5456-2:1996, third-angle projection: each view lies on the side it is seen from; from memory")
def test_views_lie_on_the_side_they_are_seen_from(parts: tuple[Part, ...]) -> None:
    """The edge of a neighbouring view that adjoins the front view is the edge of the front face itself."""
    part = parts[1]
    length, width, thick = part.size
    for front, at_front, at_left in ((Face.SHOW, thick, ZERO), (Face.BACK, ZERO, length)):
        right_end, left_end = (Face.RIGHT, Face.LEFT) if front is Face.SHOW else (Face.LEFT, Face.RIGHT)

        def seen(face: Face, x: Length, y: Length, z: Length, front: Face = front) -> tuple[Length, Length]:
            return flat(part, sight(face, front), (x, y, z))

        assert seen(front, at_left, ZERO, ZERO) == (ZERO, ZERO)
        assert seen(front, length - at_left, width, ZERO) == (length, width)
        assert seen(right_end, ZERO, width, at_front) == (ZERO, width)
        assert seen(left_end, ZERO, width, at_front) == (thick, width)
        assert seen(Face.UPPER, at_left, ZERO, at_front) == (ZERO, ZERO)
        assert seen(Face.LOWER, at_left, ZERO, at_front) == (ZERO, thick)
    cells = {view.name: view.cell for part in parts for view in _drawing(part, "in").views}
    assert cells["Upper edge"] == (0, 1)
    assert cells["Left end"] == (1, 0)
    assert cells["Right end"] == (1, 0)
