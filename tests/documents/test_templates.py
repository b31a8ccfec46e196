"""Templates: to size as measured in the PDF, joined right, each once, and readable."""

import io
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pdfplumber
import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from woodshop.documents.fullsize.templates import stretches, template_plates, templates, templates_pdf
from woodshop.drawing.pages.plates import Plate
from woodshop.drawing.values.model import Circle, Dimension, Kind, Line, Side, View
from woodshop.drawing.views.tiles import REGISTER, tiles_of, windowed
from woodshop.findings import Finding, Report, Severity
from woodshop.plan.values import PlannedBatch
from woodshop.reference.materials import board_material
from woodshop.shape.part import Cut, Face, Part, Rectangle
from woodshop.shape.part import RoundOutline as Hole
from woodshop.units.lengths import ZERO, Length, inch, millimetre

MM = 72 / 25.4
TENTH = MM / 10  # a tenth of a millimetre, in points


def _strokes(page: Any) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Every straight stroke on a page, from its vector paths, in points."""
    found = []
    for thing in (*page.lines, *page.curves, *page.rects):
        points = thing.get("pts") or []
        found += list(pairwise(points))
    return found


def _levels(page: Any) -> list[tuple[float, float]]:
    """Level strokes as (length, left)."""
    return [(abs(b[0] - a[0]), min(a[0], b[0])) for a, b in _strokes(page) if abs(a[1] - b[1]) < 1e-6]


def _rings(page: Any, diameter: float) -> list[tuple[float, float]]:
    """Centres of the circles of that diameter."""
    return sorted(
        ((c["x0"] + c["x1"]) / 2, (c["top"] + c["bottom"]) / 2)
        for c in page.curves
        if abs(c["width"] - diameter) < TENTH and abs(c["height"] - diameter) < TENTH
    )


def _pages(data: bytes, word: str) -> list[Any]:
    return [page for page in pdfplumber.open(io.BytesIO(data)).pages if word in page.extract_text(y_tolerance=1)]


@pytest.mark.outside("international yard and pound agreement of 1959: 1 in = 25.4 mm; PDF user unit 1/72 in, ISO 32000")
def test_the_scale_bars_are_true_on_every_page(planned: PlannedBatch) -> None:
    """4 in and 100 mm, to a hundredth of a millimetre as the paths stand in the PDF, and the words to measure them."""
    with pdfplumber.open(io.BytesIO(templates_pdf(planned))) as pdf:
        for page in pdf.pages:
            lengths = [length for length, _ in _levels(page)]
            has_inches = planned.batch.unit == "in"  # a metric design has the bar of 100 mm alone
            assert any(abs(length - 288) < MM / 100 for length in lengths) is has_inches
            assert any(abs(length - 7200 / 25.4) < MM / 100 for length in lengths)
            text = page.extract_text()
            assert "100 %" in text
            assert ("4 in" in text) is has_inches
            assert "100 mm" in text
            assert f"Measure {'both bars' if has_inches else 'the bar'}" in text


def test_an_upper_entrance_has_its_size_in_the_pdf(batches: dict[str, PlannedBatch]) -> None:
    """The notch of the hobby batch: 1 in wide and 9/32 in high, its sides at equal distance from the centre line."""
    page = _pages(templates_pdf(batches["hobby-batch"]), "Upper entrance")[0]
    tops = [left for length, left in _levels(page) if abs(length - 72) < TENTH]
    sides = [a for a, b in _strokes(page) if abs(a[0] - b[0]) < 1e-6 and abs(abs(a[1] - b[1]) - 20.25) < TENTH]
    left, right = min(x for x, _ in sides), max(x for x, _ in sides)
    assert tops
    assert right - left == pytest.approx(72, abs=TENTH)


def test_a_packing_block_s_foot_has_its_size_in_the_pdf(batches: dict[str, PlannedBatch]) -> None:
    page = _pages(templates_pdf(batches["hobby-batch"]), "Foot of the packing block, channel")[0]
    sizes = [(r["width"], r["height"]) for r in (*page.rects, *page.curves)]
    assert any(w == pytest.approx(108, abs=TENTH) and h == pytest.approx(252, abs=TENTH) for w, h in sizes)


def test_the_gauge_s_steps_have_their_sizes_in_the_pdf(batches: dict[str, PlannedBatch]) -> None:
    """Treads an inch long; the piece 6 in long and 3/4 in thick; steps 3/16, 1/4, 3/8 and 1/2 in above the edge."""
    page = _pages(templates_pdf(batches["production-run"]), "Gauge")[0]
    outline = max((c for c in (*page.curves, *page.rects) if c.get("pts")), key=lambda c: c["width"])
    assert outline["width"] == pytest.approx(432, abs=TENTH)
    assert outline["height"] == pytest.approx(54, abs=TENTH)
    foot = max(y for _, y in outline["pts"])  # measured from the top of the page
    assert sorted({round((foot - y) / 72, 4) for _, y in outline["pts"]}) == [0, 0.1875, 0.25, 0.375, 0.5, 0.75]


def test_a_guard_s_holes_are_to_size_and_pitch_over_two_sheets(batches: dict[str, PlannedBatch]) -> None:
    """Joined at the register marks, the two sheets give the blank's length, and every hole where the part has it."""
    planned = batches["production-run"]
    need = next(n for plan in planned.plans for n in plan.job.needs if n.part.name == "guard blank")
    holes = [c.outline for c in need.part.cuts if isinstance(c.outline, Hole) and c.name == "bee hole"]
    pages = _pages(templates_pdf(planned), f"For {need.mark} (")
    assert len(pages) == 2
    diameter = float(holes[0].diameter.mm) * MM
    registers = [{round(x, 3) for x, _ in _rings(page, float(REGISTER.mm) * MM)} for page in pages]
    assert [len(each) for each in registers] == [1, 1]
    joints = [each.pop() for each in registers]
    uprights = [[a[0] for a, b in _strokes(page) if a[0] == b[0] and abs(abs(a[1] - b[1]) - 144) < TENTH]
                for page in pages]  # fmt: skip
    left, right = min(uprights[0]), max(uprights[1])
    whole = (joints[0] - left) + (right - joints[1])
    assert whole == pytest.approx(float(need.part.length.mm) * MM, abs=TENTH)
    found = {round(x - left, 1) for x, _ in _rings(pages[0], diameter)}
    found |= {round(x - joints[1] + joints[0] - left, 1) for x, _ in _rings(pages[1], diameter)}
    wanted = sorted(float(hole.u.mm) * MM for hole in holes)
    merged: list[float] = []
    for x in sorted(found):
        if not merged or x - merged[-1] > 1:
            merged.append(x)
    assert merged == pytest.approx(wanted, abs=2 * TENTH)


def test_a_guard_s_fold_is_on_its_template_with_what_to_do(batches: dict[str, PlannedBatch]) -> None:
    """The line over the whole sheet at the fold's height, its distance from the lower edge, and the drill's size."""
    guards = [each for each in templates(batches["production-run"]) if "guard blank" in each.title]
    parts = [n.part for plan in batches["production-run"].plans for n in plan.job.needs if n.part.name == "guard blank"]
    assert len(guards) == len(parts) > 3
    for each, part in zip(guards, parts, strict=True):
        (fold,) = part.folds
        (line,) = [line for line in each.view.lines if line.kind is Kind.FOLD]
        assert line.points == ((ZERO, fold.at), (part.length, fold.at))
        assert Dimension((ZERO, ZERO), (ZERO, fold.at), Side.LEFT) in each.view.dimensions
        said = " ".join(label.text for label in each.view.labels)
        assert fold.how in said
        assert "dia. 9 mm" in said


@pytest.mark.invariant
def test_no_two_texts_overlap_in_the_model(
    planned: PlannedBatch, assert_texts_apart: Callable[[Sequence[Plate]], None]
) -> None:
    assert_texts_apart(template_plates(planned))


@pytest.mark.slow("looks at each character of many pages")
@pytest.mark.invariant
def test_no_two_characters_overlap_in_the_pdf(
    planned: PlannedBatch, assert_printed_apart: Callable[[bytes], int]
) -> None:
    assert assert_printed_apart(templates_pdf(planned)) <= 20


@pytest.mark.invariant
def test_each_template_is_made_once_and_every_cut_part_has_one(planned: PlannedBatch) -> None:
    found = templates(planned)
    assert len({repr((each.view.lines, each.view.circles)) for each in found}) == len(found)
    text = " ".join(word for each in found for word in each.words)
    for plan in planned.plans:
        for need in plan.job.needs:
            assert need.part.is_plain or f"{need.mark} ({need.count} x {need.part.name})" in text


@pytest.mark.invariant
def test_twice_gives_the_same_bytes(batches: dict[str, PlannedBatch]) -> None:
    assert templates_pdf(batches["metric"]) == templates_pdf(batches["metric"])


def test_title_and_language_are_set_and_fonts_embedded(batches: dict[str, PlannedBatch]) -> None:
    reader = pypdf.PdfReader(io.BytesIO(templates_pdf(batches["hobby-batch"])))
    assert reader.metadata is not None
    assert reader.metadata.title == "Templates, full size: Winter boards 2026, Halvorsen yards"
    root = reader.trailer["/Root"].get_object()
    assert root["/Lang"] == "en-US"
    assert root["/ViewerPreferences"]["/PrintScaling"] == "/None"
    fonts = reader.pages[0]["/Resources"].get_object()["/Font"].get_object()
    for font in (each.get_object() for each in fonts.values()):
        kin = font["/DescendantFonts"][0].get_object() if "/DescendantFonts" in font else font
        assert "/FontFile2" in kin["/FontDescriptor"].get_object()
    assert len(reader.outline) == len(templates(batches["hobby-batch"]))


def test_a_batch_with_errors_says_do_not_cut_on_every_page(batches: dict[str, PlannedBatch]) -> None:
    planned = batches["production-run"]
    bad = Finding("parts-overlap", Severity.ERROR, "here", "two", "one", "a limit", "mend")
    with pdfplumber.open(io.BytesIO(templates_pdf(replace(planned, report=Report((bad,)))))) as pdf:
        assert all("DO NOT CUT" in page.extract_text() for page in pdf.pages)


def test_both_ends_of_a_part_make_one_template_and_an_odd_one_another() -> None:
    def part(*cuts: Cut) -> Part:
        return Part("wall", board_material(inch("3/4")), inch(20), inch(4), inch("3/4"), cuts=cuts)

    def gap(x0: str, x1: str) -> Cut:
        return Cut("gap", Face.SHOW, Rectangle(inch(x0), ZERO, inch(x1), inch(1)), inch("3/4"))

    same = stretches(part(gap("0", "3/4"), gap("19 1/4", "20")), "in")
    assert len(same) == 1
    assert "turn the sheet over" in " ".join(same[0].remarks)
    assert len(stretches(part(gap("0", "3/4"), gap("19", "20")), "in")) == 2
    off = stretches(part(gap("6", "7")), "in")
    assert off[0].reference == "dash-dot line 6 in from the left end"


LENGTHS = st.integers(1, 4000).map(lambda n: millimetre(n) / 4)


@pytest.mark.invariant
@settings(deadline=None, max_examples=tries(40))
@given(wide=LENGTHS, high=LENGTHS, most=st.integers(60, 400), holes=st.lists(LENGTHS, max_size=6))
def test_tiles_cover_the_whole_fit_the_sheet_and_meet_at_their_joints(
    wide: Length, high: Length, most: int, holes: list[Length]
) -> None:
    corners = ((ZERO, ZERO), (wide, ZERO), (wide, high), (ZERO, high))
    circles = tuple(Circle((min(x, wide), high / 2), millimetre(9)) for x in holes)
    view = View("", lines=(Line(corners, closed=True),), circles=circles)
    low, top = view.bounds
    tiles = tiles_of(view, millimetre(most), millimetre(300))
    assert len(tiles) == tiles[0].columns * tiles[0].rows
    for tile in tiles:
        lines = [line for line in tile.view.lines if line.kind is Kind.OUTLINE]
        xs = [p[0] for line in lines for p in line.points]
        assert not xs or max(xs) - min(xs) <= millimetre(most)
        joints = {line.points[0][0] for line in tile.view.lines
                  if line.kind is Kind.CUT and line.points[0][0] == line.points[1][0]}  # fmt: skip
        assert len(joints) == (tile.column > 1) + (tile.column < tile.columns)
        assert tile.column == 1 or tile.left in joints
    by_place = {(t.column, t.row): t for t in tiles}
    for tile in tiles:
        for side, column, row in tile.neighbours:
            assert (column, row) in by_place
            if side == "right":
                beside = by_place[column, row]
                cuts = [{x.points[0][0] for x in t.view.lines if x.kind is Kind.CUT} for t in (tile, beside)]
                assert cuts[0] & cuts[1]
    assert by_place[1, 1].left == low[0]
    assert top[0] - low[0] <= millimetre(most) * tiles[0].columns


@pytest.mark.invariant
@settings(deadline=None, max_examples=tries(40))
@given(a=LENGTHS, b=LENGTHS, x=LENGTHS, y=LENGTHS)
def test_a_window_keeps_just_what_lies_in_it(a: Length, b: Length, x: Length, y: Length) -> None:
    line = Line(((ZERO, ZERO), (a, b)))
    within = Dimension((ZERO, ZERO), (x, ZERO), Side.BELOW)
    beyond = Dimension((ZERO, ZERO), (x + millimetre(1), ZERO), Side.BELOW)
    seen = windowed(View("", lines=(line,), dimensions=(within, beyond)), (ZERO, ZERO), (x, y))
    assert seen.dimensions == (within,)
    end = seen.lines[0].points[-1]
    assert end == (a, b) if a <= x and b <= y else end[0] == x or end[1] == y
    assert end[0] * b == end[1] * a
