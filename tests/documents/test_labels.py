"""Labels: one for each, where the grid says, whatever a name holds; and refused where the text cannot fit."""

import io
import shutil
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pdfplumber
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from woodshop.design.design_file import read_design
from woodshop.design.settings.labels import LabelSettings
from woodshop.documents.fullsize.labels import hive_labels, label_pages, labels_pdf, piece_labels, unit_labels
from woodshop.documents.plan_design import checked_file
from woodshop.drawing.pages.plates import LabelLine, Plate, label_grid, set_text
from woodshop.drawing.values.paper import Word
from woodshop.errors import InputError
from woodshop.plan.values import PlannedBatch
from woodshop.units.lengths import inch, millimetre

DESIGN = """format = "woodshop-design/2"
batch = "labelled"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
{top}
[[hives]]
name = {name}
customer = {customer}
frames = 10
count = 3
gap = "1/4"
[labels]
{labels}
[[make]]
item = ["spacer strips", "wire bottom"]
spare = 1
"""
LONG = "Wilhelmina Featherstonehaugh-Cholmondeley and Daughters, Ltd"
TENTH = 72 / 254


def _design(labels: str = "", name: str = '"tens"', customer: str = '"Obi"', top: str = "") -> str:
    return DESIGN.format(labels=labels, name=name, customer=customer, top=top)


def _texts(planned: PlannedBatch) -> list[str]:
    with pdfplumber.open(io.BytesIO(labels_pdf(planned) or b"")) as pdf:
        return [page.extract_text() for page in pdf.pages]


def _with(planned: PlannedBatch, **changed: Any) -> PlannedBatch:
    return replace(
        planned, batch=replace(planned.batch, pages=replace(planned.batch.pages, labels=LabelSettings(**changed)))
    )


@pytest.mark.invariant
def test_there_is_a_label_for_each_hive_each_thing_made_and_each_piece(planned: PlannedBatch) -> None:
    batch = planned.batch
    hives, units, pieces = list(hive_labels(batch)), list(unit_labels(batch)), list(piece_labels(planned))
    assert len(hives) == sum(group.count for group in batch.hives)
    assert len(units) == sum(line.count for line in batch.lines)
    assert len(pieces) == sum(need.count for plan in planned.plans for need in plan.job.needs)
    assert len({(label.what, label.lines) for label in hives}) == len(hives)
    per_page = 24
    assert len(label_pages(planned)) == -(-len(hives) // per_page) + -(-len(units) // per_page)


@pytest.mark.slow("sets every label of a batch and looks at each text")
@pytest.mark.invariant
def test_no_two_texts_overlap_and_each_stays_in_its_label(
    batches: dict[str, PlannedBatch],
    assert_texts_apart: Callable[[Sequence[Plate]], None],
    assert_printed_apart: Callable[[bytes], int],
) -> None:
    for name in ("hobby-batch", "metric"):
        planned = _with(batches[name], pieces=True)
        plates = label_pages(planned)
        assert_texts_apart(plates)
        assert assert_printed_apart(labels_pdf(planned) or b"") == len(plates)
        boxes = list(label_grid(planned.batch.pages.paper).boxes(planned.batch.pages.paper))
        for plate in plates:
            for word in (mark for mark in plate.marks if isinstance(mark, Word)):
                if "page " in word.text or "print at" in word.text:
                    continue
                assert any(b.left < word.box.left and word.box.right < b.right
                           and b.bottom < word.box.bottom and word.box.top < b.top for b in boxes), word  # fmt: skip


def test_labels_stand_where_the_design_s_grid_puts_them(uncut_text: Callable[[str], PlannedBatch]) -> None:
    """Read from the PDF: 2 x 5 labels of 3 1/2 x 1 3/4 in, 1/2 in from the left, 3/4 in from the top, and apart."""
    keys = 'width = "3 1/2"\nheight = "1 3/4"\ncolumns = 2\nrows = 5\nleft = "1/2"\ntop = "3/4"\n'
    planned = uncut_text(_design(keys + 'column_gap = "1/4"\nrow_gap = "1/8"\nhives = false'))
    with pdfplumber.open(io.BytesIO(labels_pdf(planned) or b"")) as pdf:
        rects = [(r["x0"], r["top"], r["width"], r["height"]) for r in (*pdf.pages[0].rects, *pdf.pages[0].curves)]
    assert len(rects) == 8
    for n, rect in enumerate(sorted(rects, key=lambda r: (round(r[1]), r[0]))):
        row, column = divmod(n, 2)
        wanted = (36 + column * 270, 54 + row * 135, 252, 126)
        assert rect == pytest.approx(wanted, abs=TENTH)


def test_left_out_the_grid_is_three_by_eight_in_the_middle_of_the_page() -> None:
    assert label_grid("letter").size == (inch("7 1/2"), inch(10))
    assert (label_grid("letter").left, label_grid("letter").top) == (inch("1/2"), inch("1/2"))
    assert (label_grid("a4").left, label_grid("a4").top) == (millimetre(12), millimetre("16.5"))


def test_a_label_says_what_it_is_for_whom_which_and_by_when(uncut_text: Callable[[str], PlannedBatch]) -> None:
    text = "\n".join(_texts(uncut_text(_design(customer='"Marguerite Obi"', top="on_by = 2026-11-26"))))
    for wanted in (
        "Wire bottom",
        "4 of 4",
        "hive 3 of 3",
        "tens, 10-frame 16 1/4",
        "Marguerite Obi",
        "on by Nov 26, 2026",
    ):
        assert wanted in text


def test_pieces_are_labelled_when_asked_for(uncut_text: Callable[[str], PlannedBatch]) -> None:
    planned = uncut_text(_design("pieces = true\nhives = false\nunits = false"))
    need = planned.plans[0].job.needs[0]
    text = "\n".join(_texts(planned))
    assert f"{need.mark} 1 of {need.count}" in text
    assert need.part.length.number() in text
    (mesh,) = [n for plan in planned.plans for n in plan.job.needs if n.part.name == "mesh"]
    assert mesh.part.notes[0].split(" cells")[0] + " cells" in text  # counted, not measured
    assert labels_pdf(uncut_text(_design("hives = false\nunits = false"))) is None


def test_the_height_to_check_at_the_foot_can_be_read_off_a_ruler(uncut_text: Callable[[str], PlannedBatch]) -> None:
    """Eight labels of 1 1/4 in are 10 in on letter; of 33 mm they are 264 mm on A4, also in a design in inches."""
    assert "are 10 in high" in _texts(uncut_text(_design()))[0]
    assert "are 264 mm high" in _texts(uncut_text(_design(top='paper = "a4"')))[0]


@pytest.mark.invariant
@pytest.mark.parametrize(
    "customer",
    [
        LONG,
        "<b>Bold & Sons</b> &amp; %PDF {x} \\n $(rm)",
        "x" * 60,
        "\u200fשלום\u200f and \u202eevil\u202c",
        "tab\there \x07 bell \x1b[31m",
        "王小明",
    ],
)
def test_a_name_of_any_kind_is_harmless(
    batches: dict[str, PlannedBatch],
    customer: str,
    assert_texts_apart: Callable[[Sequence[Plate]], None],
) -> None:
    """Long, marked up, right to left, with controls: printed as text, or ? where the typeface has no such letter."""
    batch = batches["hobby-batch"].batch
    batch = replace(batch, hives=tuple(replace(group, customer=customer) for group in batch.hives[:1]))
    planned = replace(batches["hobby-batch"], batch=batch)
    plates = label_pages(planned)
    assert_texts_apart(plates)
    words = [mark.text for mark in plates[0].marks if isinstance(mark, Word)]
    assert not any(ord(c) < 32 or c in "\u200f\u202e\u202c\x1b" for word in words for c in word)
    if customer == LONG:
        assert "Featherstonehaugh" in " ".join(words)
    if "<b>" in customer:
        assert "<b>Bold & Sons</b>" in " ".join(words)
    if "?" in " ".join(words):
        assert any("? replaces a letter" in word for word in words)
    assert labels_pdf(planned) == labels_pdf(planned)


def test_control_characters_and_marks_are_refused_in_a_design_file(uncut_text: Callable[[str], PlannedBatch]) -> None:
    with pytest.raises(InputError, match="without control characters"):
        uncut_text(_design(customer='"\\u202eevil"'))


def test_text_that_does_not_fit_is_refused_naming_label_and_text(uncut_text: Callable[[str], PlannedBatch]) -> None:
    planned = uncut_text(_design(customer=f'"{LONG}"'))
    tight = LabelSettings(grid=label_grid("letter", width=inch(1), height=inch("1/2")))
    planned = replace(planned, batch=replace(planned.batch, pages=replace(planned.batch.pages, labels=tight)))
    with pytest.raises(InputError) as caught:
        labels_pdf(planned)
    told = str(caught.value)
    assert "hive label, tens" in told
    assert LONG in told
    assert "1 in x 1/2 in" in told
    assert told.count("hive label, tens") == 1


@pytest.mark.parametrize(
    ("keys", "wanted"),
    [
        ("columns = 4", "4 columns that need 10 in"),
        ('rows = 9\ntop = "0"', "at most 11 in, the height of letter paper"),
        ('left = "2"', "a smaller left"),
        ("rows = 0", "1 or more"),
        ('width = "0"', "more than 0"),
        ("colums = 3", "Did you mean 'columns'?"),
        ('pieces = "yes"', "true or false"),
    ],
)
def test_a_grid_that_does_not_fit_the_paper_is_refused(tmp_path: Path, keys: str, wanted: str) -> None:
    path = tmp_path / "design.toml"
    path.write_text(_design(keys), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_design(path)
    assert wanted in str(caught.value)


@pytest.mark.invariant
@settings(deadline=None, max_examples=tries(80))
@given(st.lists(st.text(max_size=70), min_size=1, max_size=5), st.integers(20, 300), st.integers(8, 200))
def test_set_text_fits_or_says_no(texts: list[str], wide: int, high: int) -> None:
    """Whatever is set stays in its room, in 8 points or more, with every printable letter of it."""
    words = set_text([LabelLine(text) for text in texts], wide, high)
    if words is None:
        least = set_text([LabelLine(text, 8.0) for text in texts], wide, high)
        assert least is None
        return
    for word in words:
        assert word.size >= 8
        assert word.box.left >= 0
        assert word.box.right <= wide + 0.02
        assert word.box.top <= 0.5
        assert word.box.bottom >= -high - 0.5


def test_a_label_that_does_not_fit_is_refused_before_anything_is_measured(tmp_path: Path, designs: Path) -> None:
    """By the check of a design, with the label named; the grid taken stands in the list of defaults otherwise."""
    for lumberyard in designs.glob("*-lumberyard.toml"):
        shutil.copy(lumberyard, tmp_path)
    path = tmp_path / "design.toml"
    path.write_text(_design('width = "1"\nheight = "1/2"'), encoding="utf-8")
    with pytest.raises(InputError, match="text that fits in 8 pt type"):
        checked_file(path)
    path.write_text(_design("columns = 2"), encoding="utf-8")
    listed = {each.name: (each.value, each.source) for each in checked_file(path)[0].defaults if each.where == "labels"}
    assert listed["width"][0] == "2 1/2 in"
    assert "no source" in listed["width"][1]
    assert "columns" not in listed


@pytest.mark.invariant
def test_of_very_many_alike_one_label_is_printed_to_copy(
    planned: PlannedBatch, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Over the limit one label stands for all that are alike, and says how many to print: as many as were printed."""
    batch = planned.batch
    monkeypatch.setattr("woodshop.documents.fullsize.labels.MOST_LABELS", 2)
    hives, units, pieces = list(hive_labels(batch)), list(unit_labels(batch)), list(piece_labels(planned))
    assert (len(hives), len(units)) == (len(batch.hives), len(batch.lines))
    assert [label.lines[1].text for label in hives] == [f"hive __ of {h.count}, print {h.count}" for h in batch.hives]
    assert [label.lines[1].text for label in units] == [f"__ of {x.count}, print {x.count}" for x in batch.lines]
    counts = [need.count for plan in planned.plans for need in plan.job.needs]
    assert [int(label.lines[0].text.rpartition("print ")[2]) for label in pieces] == counts
