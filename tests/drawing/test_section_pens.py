"""What a section says arrives whole, in a terminal of any width and as JSON."""

import json
from datetime import date
from io import BytesIO
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.pens.section_json import section_json
from woodshop.drawing.pens.text import LEAST_WIDTH, section_text, text_width, wrapped_text
from woodshop.drawing.values.model import (
    Align,
    Beside,
    Block,
    Bullets,
    Caution,
    Column,
    Document,
    Heading,
    KeepTogether,
    KeyFigures,
    KeyValues,
    Note,
    PageBreak,
    Paragraph,
    Section,
    Steps,
    Table,
    Verbatim,
    joined,
)
from woodshop.findings import Severity
from woodshop.units.lengths import Money

TEXTS = st.text(st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp")), max_size=60)
WIDTHS = st.integers(LEAST_WIDTH, 130)


def tables(cells: st.SearchStrategy[str]) -> st.SearchStrategy[Table]:
    def of(size: tuple[int, int]) -> st.SearchStrategy[Table]:
        columns = st.tuples(*[st.builds(Column, cells, st.sampled_from(Align))] * size[0])
        rows = st.tuples(*[st.tuples(*[cells] * size[0])] * size[1])
        return st.builds(Table, columns, rows)

    return st.tuples(st.integers(1, 6), st.integers(0, 4)).flatmap(of)


BLOCKS = st.one_of(
    st.builds(Heading, TEXTS),
    st.builds(Paragraph, TEXTS, TEXTS),
    st.builds(Caution, TEXTS),
    st.builds(Note, st.sampled_from(Severity), TEXTS, st.tuples(TEXTS)),
    st.builds(Bullets, st.tuples(TEXTS, TEXTS)),
    st.builds(Steps, st.tuples(TEXTS, TEXTS)),
    st.builds(KeyValues, st.tuples(st.tuples(TEXTS, TEXTS), st.tuples(TEXTS, TEXTS))),
    st.builds(KeyFigures, st.tuples(st.tuples(TEXTS, TEXTS))),
    tables(TEXTS),
)


def squeezed(text: str) -> str:
    return "".join(text.split())


@pytest.mark.invariant
@settings(max_examples=40)
@given(st.lists(BLOCKS, max_size=4), WIDTHS)
def test_no_line_is_wider_than_the_terminal(blocks: list[Block], width: int) -> None:
    text = section_text(Section("A title", tuple(blocks)), width)
    assert max(map(text_width, text.split("\n"))) <= width


@pytest.mark.invariant
@given(TEXTS, WIDTHS)
def test_wrapped_text_loses_nothing(text: str, width: int) -> None:
    assert squeezed("".join(wrapped_text(text, width))) == squeezed(text)


@pytest.mark.invariant
@given(st.integers(1, 9), st.integers(0, 5), st.one_of(st.none(), WIDTHS), st.integers(0, 12))
def test_every_cell_is_there_once(columns: int, rows: int, width: int | None, words: int) -> None:
    heads = tuple(Column(f"h{n}", list(Align)[n % 3]) for n in range(columns))
    cells = tuple(tuple(f"c{m}x{n}" + " word" * (words * n) for n in range(columns)) for m in range(rows))
    said = section_text(Section("", (Table(heads, cells),)), width).split()
    assert [said.count(f"c{m}x{n}") for m, n in product(range(rows), range(columns))] == [1] * rows * columns
    assert said.count("word") == words * rows * sum(range(columns))


@pytest.mark.invariant
@settings(max_examples=20)
@given(st.lists(BLOCKS, max_size=4))
def test_bold_type_changes_no_character(blocks: list[Block]) -> None:
    section = Section("A title", tuple(blocks))
    styled = section_text(section, 60, styled=True)
    plain = "".join(styled.split("\x1b[1m")).replace("\x1b[0m", "")
    assert [line.rstrip() for line in plain.split("\n")] == section_text(section, 60).split("\n")


def test_wide_and_combining_characters_keep_columns_in_line() -> None:
    names = ("bee", "蜂", "e\u0301te\u0301", "養蜂場")
    table = Table((Column("name"), Column("count", Align.RIGHT)), tuple((name, 7) for name in names))
    lines = section_text(Section("", (table,))).split("\n")
    assert {text_width(line) for line in lines} == {len("養蜂場") * 2 + 2 + len("count")}


def test_a_table_too_narrow_for_columns_is_written_as_names_with_values() -> None:
    table = Table(tuple(Column(f"heading {n}") for n in range(5)), (tuple(f"value number {n}" for n in range(5)),))
    lines = section_text(Section("", (table,)), 40).split("\n")
    assert lines == [f"heading {n}: value number {n}" for n in range(5)]


def test_what_comes_below_each_other_is_apart_by_what_it_is() -> None:
    table = Table((Column("a"),), (("1",),))
    blocks = (Paragraph("one"), Paragraph("two"), table, Bullets(("three",)), Heading("head", 2), table)
    assert section_text(Section("Title", blocks)).split("\n") == [
        "Title", "one", "two", "", "a", "1", "", "- three", "", "head", "a", "1",
    ]  # fmt: skip


def test_blocks_within_blocks_are_written_and_breaks_are_not() -> None:
    inner = (Paragraph("one"),)
    blocks = (KeepTogether(inner), PageBreak(), Beside(inner, (Verbatim("  two\n    three"),)))
    assert section_text(Section("", blocks)).split("\n") == ["one", "one", "", "  two", "    three"]


@pytest.mark.invariant
@settings(max_examples=40)
@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | TEXTS,
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXTS, inner, max_size=3),
        max_leaves=6,
    )
)
def test_data_goes_through_json_unchanged(value: Any) -> None:
    assert json.loads(json.dumps(section_json(Section("", (), {"value": value})))) == {"value": value}


def test_money_is_whole_cents_and_days_are_iso() -> None:
    data = {"cost": Money(1234, "USD"), "days": (date(2026, 11, 26), None), "of": {"each": Money(5, "USD")}}
    assert section_json(Section("", (), data)) == {"cost": 1234, "days": ["2026-11-26", None], "of": {"each": 5}}


def test_a_table_gives_its_records_with_the_columns_that_are_not_shown() -> None:
    columns = (Column("what", key="what"), Column("", key="price", shown=False), Column("more"))
    table = Table(columns, (("board", Money(250, "USD"), ("a", "b")), ("sheet", None, None)))
    assert table.records == ({"what": "board", "price": Money(250, "USD")}, {"what": "sheet", "price": None})
    assert table.text_rows == (("board", "a, b"), ("sheet", "-"))
    assert "2.50" not in section_text(Section("", (table,)))


def test_joined_sections_keep_titles_blocks_and_data() -> None:
    whole = joined((Section("One", (Paragraph("first"),), {"a": 1}), Section("Two", (), {"b": 2})))
    assert section_text(whole).split("\n") == ["One", "first"]
    assert section_json(whole) == {"a": 1, "b": 2}


def test_the_pdf_pen_writes_them_too() -> None:
    import pypdf

    columns = (Column("what"), Column("hidden", shown=False))
    blocks = (
        KeyValues((("gap", "nine"),)),
        Note(Severity.WARNING, "strips", ("too thick", "plane them")),
        Verbatim("[board]\n  gap"),
        Table(columns, ((3, "secret"),)),
    )
    (page,) = pypdf.PdfReader(
        BytesIO(write_pdf(Document("t", "s", (Section("", Section("Title", blocks).with_title),))))
    ).pages
    text = page.extract_text()
    assert [
        word for word in ("Title", "gap", "nine", "WARNING strips", "too thick", "plane them") if word not in text
    ] == []
    assert "[board]" in text
    assert "3" in text
    assert "hidden" not in text
    assert "secret" not in text
