"""The story stick: every crosscut length stands at its own distance from the one zero, and can be read."""

import io
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any

import pdfplumber
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from woodshop.documents.fullsize.story_stick import Stop, _joints, stops, story_stick_pdf, story_stick_plates, strips
from woodshop.drawing.pages.plates import Plate, points
from woodshop.drawing.values.paper import Stroke, Word
from woodshop.plan.values import PlannedBatch
from woodshop.units.lengths import Length, inch

TENTH = 72 / 254  # a tenth of a millimetre, in points


def _uprights(page: Any) -> list[tuple[float, float, float]]:
    """Upright strokes of a page as (x, foot, height)."""
    found = []
    for thing in (*page.lines, *page.curves, *page.rects):
        for a, b in pairwise(thing.get("pts") or []):
            if abs(a[0] - b[0]) < 1e-6:
                found.append((a[0], max(a[1], b[1]), abs(a[1] - b[1])))
    return found


def _inches(text: str) -> Length:
    return inch(text.removesuffix(" in"))


@pytest.mark.invariant
def test_every_crosscut_length_has_one_mark_with_all_its_pieces(planned: PlannedBatch) -> None:
    """Counted again from the parts: boards and lattice, rounded up to the tape's mark as they are planned."""
    wood = [n for p in planned.plans for n in p.job.needs if n.part.material.name.split()[0] in ("board", "lattice")]
    found = stops(planned)
    assert [stop.length for stop in found] == sorted({n.part.length.up_to(planned.batch.saw.mark) for n in wood})
    assert sum(count for stop in found for _, count in stop.pieces) == sum(n.count for n in wood)
    for stop in found:
        for mark, count in stop.pieces:
            need = next(n for n in wood if n.mark == mark)
            assert (need.part.length.up_to(planned.batch.saw.mark), need.count) == (stop.length, count)


def test_every_mark_stands_at_its_length_from_zero_in_the_pdf(batches: dict[str, PlannedBatch]) -> None:
    """Read from the page: each strip's left edge is at the distance printed on it, and each mark at its own."""
    planned = batches["hobby-batch"]
    with pdfplumber.open(io.BytesIO(story_stick_pdf(planned))) as pdf:
        page = pdf.pages[0]
        frames = sorted((r for r in (*page.rects, *page.curves) if 60 < r["height"] < 400 and r["width"] > 200),
                        key=lambda r: r["top"])  # fmt: skip
        starts = _joints([stop.length for stop in stops(planned)], "in")
        assert len(frames) == len(starts) - 1
        seen = []
        for frame, (low, high) in zip(frames, pairwise(starts), strict=True):
            text = page.crop((frame["x0"] - 1, frame["top"], frame["x1"] + 1, frame["bottom"])).extract_text()
            assert f"{high.text()} from zero" in text
            assert ("zero: saw off here" if not low else f"{low.text()} from zero") in text
            for x, foot, tall in _uprights(page):
                on_edge = abs(foot - frame["bottom"]) < TENTH and tall < frame["height"] - 1
                if on_edge and frame["x0"] + 1 < x < frame["x1"] - 1:
                    seen.append(low.mm + (x - frame["x0"]) / 72 * 25.4)
    wanted = [float(stop.length.mm) for stop in stops(planned)]
    assert sorted(float(each) for each in seen) == pytest.approx(wanted, abs=0.1)


@pytest.mark.outside("international yard and pound agreement of 1959: 1 in = 25.4 mm; PDF user unit 1/72 in, ISO 32000")
def test_the_scale_bars_are_true_on_every_page(planned: PlannedBatch) -> None:
    with pdfplumber.open(io.BytesIO(story_stick_pdf(planned))) as pdf:
        for page in pdf.pages:
            lengths = [line["width"] for line in page.lines]
            assert any(abs(length - 288) < TENTH / 10 for length in lengths) is (planned.batch.unit == "in")
            assert any(abs(length - 7200 / 25.4) < TENTH / 10 for length in lengths)


@pytest.mark.invariant
def test_no_two_texts_overlap(
    planned: PlannedBatch,
    assert_texts_apart: Callable[[Sequence[Plate]], None],
    assert_printed_apart: Callable[[bytes], int],
) -> None:
    assert_texts_apart(story_stick_plates(planned))
    assert assert_printed_apart(story_stick_pdf(planned)) == 1


SIXTEENTHS = st.lists(st.integers(2, 700), min_size=1, max_size=40, unique=True)


@pytest.mark.invariant
@settings(deadline=None, max_examples=tries(60))
@given(SIXTEENTHS, st.integers(1, 9))
def test_marks_however_near_are_staggered(lengths: list[int], kinds: int) -> None:
    """Each label on its own paper, off every tick; none left out; None where they need more sticks."""
    pieces = tuple((f"A{'BCDEFGHJK'[k]}", 10 * k + 1) for k in range(kinds))
    marks = tuple(Stop(inch(n) / 16, pieces) for n in sorted(lengths))
    drawn = strips(marks, "in")
    if drawn is None:
        assert len(marks) > 1
        assert all(strips((mark,), "in") for mark in marks)
        return
    joints = _joints([mark.length for mark in marks], "in")
    assert all(b - a <= inch(8) for a, b in pairwise(joints))
    texts = [word.text for _, sheet in drawn for word in sheet.marks if isinstance(word, Word)]
    for mark in marks:
        assert texts.count(mark.length.text()) == 1
    assert sum(text.count(" x ") for text in texts) == len(marks) * kinds
    for (_, sheet), (low, high) in zip(drawn, pairwise(joints), strict=True):
        words = [mark for mark in sheet.marks if isinstance(mark, Word)]
        ticks = [m.points for m in sheet.marks if isinstance(m, Stroke) and len(m.points) == 2 and not m.dash]
        for n, word in enumerate(words):
            assert word.size >= 8
            assert not any(word.box.grown(-0.3).meets(other.box.grown(-0.3)) for other in words[n + 1 :])
            assert not any(word.box.grown(-0.3).crossed_by(a, b) for a, b in ticks)
            assert word.box.left >= 0
            assert word.box.right <= points(high - low)


def test_a_batch_without_wood_gets_a_page_that_says_so(uncut_text: Callable[[str], PlannedBatch]) -> None:
    planned = uncut_text(
        'format = "woodshop-design/2"\nbatch = "mesh"\nunit = "in"\nlumberyard = "creekside-lumberyard.toml"\n'
        '[[hives]]\nframes = 10\ncount = 2\ngap = "1/4"\n[[make]]\nitem = "wire bottom"\n'
    )
    with pdfplumber.open(io.BytesIO(story_stick_pdf(planned))) as pdf:
        assert "No wood is crosscut" in pdf.pages[0].extract_text()


@pytest.mark.invariant
def test_twice_gives_the_same_bytes(batches: dict[str, PlannedBatch]) -> None:
    assert story_stick_pdf(batches["metric"]) == story_stick_pdf(batches["metric"])
