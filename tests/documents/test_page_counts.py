"""How many pages the packets of the demo batches have at most, and what keeps them few and readable."""

from collections.abc import Sequence
from io import BytesIO
from typing import Any

import pypdfium2
import pytest

from tests.documents.test_what_to_enter import with_book
from tests.nightly import IS_NIGHT
from tests.once import bought, planned, scheduled
from woodshop.documents.packet.due import batch_dates
from woodshop.documents.packet.first_article import articles_of, first_article_section
from woodshop.documents.packet.packet import packet
from woodshop.documents.packet.parts import parts_section
from woodshop.drawing.pages.boards import Passing, passing_picture
from woodshop.drawing.pages.flow import BesideFlow, ColumnsFlow, TextFlow, height_of
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.values.model import (
    Beside,
    Block,
    Bullets,
    Caution,
    Column,
    Document,
    Heading,
    Section,
    Steps,
    Table,
    cell_text,
)
from woodshop.drawing.values.paper import Word
from woodshop.drawing.values.style import STRONG, STYLE, runs
from woodshop.drawing.views.layout import Rect
from woodshop.schedule.schedule_batch import schedule_batch
from woodshop.units.lengths import ZERO, inch

TEXT = "Measure each board before you cut it, and write its layout on it with chalk. " * 4


@pytest.mark.slow("draws whole packets")
@pytest.mark.parametrize(
    ("paper", "has_book", "most"), [("letter", True, 18), ("a4", True, 18), ("letter", False, 17), ("a4", False, 17)]
)
def test_the_hobby_packet_is_no_longer_than(paper: str, has_book: bool, most: int) -> None:
    plan = planned("hobby-batch", "default")
    dates = batch_dates(plan, schedule_batch(plan, effort="quick").schedule)
    document = packet(with_book(plan) if has_book else plan, dates=dates)
    pages = [
        page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(BytesIO(write_pdf(document, paper)))
    ]
    assert len(pages) <= most
    assert "Working back from due dates." in pages[0]
    if not has_book:
        assert "Full-size sheets." in pages[0], "the first page holds all of its chapter"
    if has_book:  # a page of its own, to hang up by the bench
        assert pages[-1].lstrip().startswith("What to enter in the book")


@pytest.mark.skipif(not IS_NIGHT, reason="plans and draws a whole production run: at night")
@pytest.mark.slow("draws the packet of a whole production run")
def test_the_production_packet_is_no_longer_than() -> None:
    plan = bought("production-run")
    dates = batch_dates(plan, scheduled("production-run").schedule)
    assert len(pypdfium2.PdfDocument(BytesIO(write_pdf(packet(plan, dates=dates), "letter")))) <= 40


def texts(count: int) -> list[TextFlow]:
    return [TextFlow(TEXT) for _ in range(count)]


def test_columns_are_balanced_and_break_over_pages() -> None:
    columns = ColumnsFlow(texts(8))
    _, high = columns.wrap(500.0, 1000.0)
    assert high < height_of(texts(8), (241.0, 1000.0)) * 0.6
    first, rest = ColumnsFlow(texts(8)).split(500.0, high * 0.6)
    assert first.wrap(500.0, 1000.0)[1] <= high * 0.6
    assert rest.wrap(500.0, 1000.0)[1] < high * 0.6


def test_text_beside_a_figure_goes_on_below_it_and_begins_before_it_only_if_no_page_holds_both() -> None:
    figure: Sequence[Any] = texts(1)
    beside = BesideFlow(figure, texts(6), texts(6), 0, 1000.0)
    _, high = beside.wrap(500.0, 1000.0)
    assert high < height_of(texts(6), (241.0, 1000.0))
    assert len(beside.parts) > 1  # some of the text is below, as wide as the page
    low = texts(1)[0].wrap(500.0, 1000.0)[1] + 1.0
    assert BesideFlow(texts(3), texts(6), texts(6), 0, 1000.0).split(500.0, low) == []
    begun = BesideFlow(texts(3), texts(6), texts(6), 0, low).split(500.0, low)
    assert isinstance(begun[0], TextFlow)
    assert isinstance(begun[-1], BesideFlow)


def test_text_beside_a_figure_is_fitted_to_the_rest_of_the_page() -> None:
    """Two figures need less height than the text that the shortest block puts beside them; the rest goes below."""
    figures, tall = texts(2), BesideFlow(texts(2), texts(3), texts(3), 0, 1000.0)
    tall.wrap(500.0, 1000.0)
    low = height_of(figures, (241.0, 1000.0)) + 1.0
    first, *rest = tall.split(500.0, low)
    assert first.wrap(500.0, 1000.0)[1] <= low
    assert rest


def test_a_list_that_goes_on_on_the_next_page_says_its_name_there() -> None:
    rows = tuple((str(n), "cut") for n in range(150))
    table = Table((Column("", weight=1), Column("", weight=4)), rows, continued="Layout 5")
    file = write_pdf(Document("t", "s", (Section("", (table,)),)))
    pages = [page.get_textpage().get_text_bounded().lstrip() for page in pypdfium2.PdfDocument(BytesIO(file))]
    assert len(pages) > 2
    assert [page.startswith("Layout 5, continued") for page in pages] == [False, *[True] * (len(pages) - 1)]


def test_a_fraction_alone_is_set_as_large_as_a_whole_number() -> None:
    alone, mixed = (max(run.size for run in runs(text, STYLE.cut_size, STRONG)[-3:]) for text in ("7/32", "2 7/32"))
    assert alone > mixed
    assert alone >= STYLE.cut_size * 0.85


def test_each_small_picture_of_a_board_has_its_number() -> None:
    whole = (Rect(ZERO, ZERO, inch(72), inch(3)),)
    boards = [Passing(name, 1, inch(72), inch(3), pieces=whole, removed=(), gives="") for name in ("3", "12")]
    for alone in (True, False):
        marks = passing_picture(boards, inch(72), is_alone=alone).sheet.marks
        assert {"3", "12"} <= {mark.text for mark in marks if isinstance(mark, Word)}


def flat(blocks: Sequence[Block]) -> list[Block]:
    return [e for b in blocks for e in (flat((*b.left, *b.right)) if isinstance(b, Beside) else [b])]


@pytest.mark.slow("works out the limits of a whole batch twice")
def test_what_is_cut_lies_within_its_limits_with_room_both_ways() -> None:
    hobby = bought("hobby-batch")
    found = articles_of(hobby)
    sizes = [size for of in found for size in of.sizes if size.least < size.most]
    assert sizes
    assert [size.size.name for size in sizes if not size.least < size.size.nominal < size.most] == []
    (edge,) = {size.size.nominal.text("in") for size in sizes if size.size.name.startswith("upper edge")}
    rim = next(unit for unit in hobby.units if unit.line.item.name == "fondant rim")
    assert edge == rim.line.setting.board.notch_height.text("in")
    steps = [text for b in flat(parts_section(hobby, found).blocks) if isinstance(b, Steps) for text in b.items]
    assert [f"blade {edge} high" in text for text in steps if "blade " in text and " high," in text] == [True]
    assert not any("at one end of its limits" in text for text in steps)


def test_holes_can_be_bored_by_a_template_that_is_named() -> None:
    steps = [t for b in flat(parts_section(bought("hobby-batch")).blocks) if isinstance(b, Steps) for t in b.items]
    assert any("If you have no drill press, print T" in text and "measure its check bars" in text for text in steps)


def test_a_hive_has_one_name_in_the_first_article_and_in_the_packet() -> None:
    hobby = bought("hobby-batch")
    tables = [b for b in flat(first_article_section(hobby).blocks) if isinstance(b, Table)]
    first = {cell_text(row[0]) for table in tables for row in table.rows}
    assert {"house tens", "orchard tens", "orchard eights"} <= first


@pytest.mark.parametrize("lines", range(40, 52))
def test_no_heading_stands_at_the_foot_of_a_page_above_a_caution_on_the_next(lines: int) -> None:
    above = Bullets(tuple(f"line {n}" for n in range(lines)))
    blocks = (above, Heading("Headed", 2), Caution("Keep clear of the blade. " * 20, "Careful"))
    file = write_pdf(Document("t", "s", (Section("", blocks),)))
    pages = [page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(BytesIO(file))]
    assert [n for n, text in enumerate(pages) if "Headed" in text] == [
        n for n, text in enumerate(pages) if "Careful" in text
    ]
