"""What a section says arrives whole in HTML, as elements that mean what they say, and no text becomes markup."""

from html.parser import HTMLParser
from itertools import pairwise
from typing import get_args
from unicodedata import category

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from woodshop.drawing.pens.html import section_html
from woodshop.drawing.values import model
from woodshop.drawing.values.model import Block, Section, page_of
from woodshop.drawing.values.paper import Sheet, Stroke, sheet_of
from woodshop.findings import Severity
from woodshop.units.lengths import ZERO, Money, inch

VOID = {"br"}
HOSTILE = (
    "<script>alert(1)</script>",
    "</table></td><img src=x onerror=alert(1)>",
    '" onmouseover="alert(1)',
    "' autofocus onfocus='alert(1)",
    "]]><!-- --><svg onload=alert(1)>",
    "&lt;b&gt; &#60;i&#62;",
    "javascript:alert(1)",
    "null\x00 bell\x07 half \ud800",
    "</style><style>*{}",
)


class Read(HTMLParser):
    """A page as a reader of HTML finds it. Fails where an element is closed that is not open."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.texts: list[str] = []
        self.inside: dict[str, list[str]] = {}
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        assert len(dict(attrs)) == len(attrs), f"an attribute twice in {tag}"
        if tag not in VOID:
            self.open.append(tag)
            self.inside.setdefault(tag, []).append("")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert "svg" in self.open, f"{tag} is closed like XML outside a picture"
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.texts.append(data)
        for tag in set(self.open):
            self.inside[tag][-1] += data

    def handle_comment(self, data: str) -> None:
        raise AssertionError(f"a comment: {data}")

    def unknown_decl(self, data: str) -> None:
        raise AssertionError(f"a declaration: {data}")

    @property
    def text(self) -> str:
        return "".join(self.texts)


def sheet() -> Sheet:
    return sheet_of([Stroke(((0.0, 0.0), (90.0, 40.0)), 1.0)])


def drawing(title: str) -> model.Drawing:
    corners = ((ZERO, ZERO), (inch(16), ZERO), (inch(16), inch(4)), (ZERO, inch(4)))
    view = model.View("front", (model.Line(corners, closed=True),))
    return model.Drawing(title, "rim / side", (view,), (f"note of {title}",))


def one_of_each(text: str) -> tuple[Block, ...]:
    """A block of every kind, each with `text` in every place that has a text."""
    columns = (model.Column(""), model.Column(text, key=text), model.Column("count", model.Align.RIGHT, cut_size=True))
    rows: tuple[tuple[model.Cell, ...], ...] = (
        ("[ ]", text, 3),
        ("[ ]", text, Money(1250)),
        ("[ ]", text, model.Picture(sheet(), text)),
        ("[ ]", text, (text, text)),
        ("[ ]", text, None),
    )
    table = model.Table(columns, rows, (1,), True, ((0, 1, text),), ((2, text),), text)
    return (
        model.Heading(text, 2, text),
        model.Paragraph(text, text, True, text),
        model.Bullets((text, text)),
        model.Steps((text, text), 4),
        model.Caution(text, text),
        table,
        model.Figure(drawing(text), text),
        model.SetOut(sheet(), text, (text,)),
        model.KeyFigures(((text, text),)),
        model.KeyValues(((text, text), (text, Money(5)))),
        model.Note(Severity.ERROR, text, (text,)),
        model.Verbatim(text),
        model.PageBreak(),
        model.KeepTogether((model.Paragraph(text),)),
        model.Beside((model.Paragraph(text),), (table,)),
        model.Columns((model.Bullets((text,)),)),
    )


def test_every_kind_of_block_is_tried() -> None:
    assert {type(block) for block in one_of_each("x")} == set(get_args(Block))


@pytest.mark.invariant
@pytest.mark.parametrize("text", HOSTILE)
def test_no_text_becomes_markup(text: str) -> None:
    plain = Read(section_html(Section("T plain", one_of_each("plain")), prefix="a-"))
    hostile = Read(section_html(Section(f"T {text}", one_of_each(text)), prefix="a-"))
    shape = [(tag, sorted(attrs)) for tag, attrs in plain.tags if tag not in ("tspan", "desc")]
    assert [(tag, sorted(attrs)) for tag, attrs in hostile.tags if tag not in ("tspan", "desc")] == shape
    assert all(not name.startswith("on") for _, attrs in hostile.tags for name in attrs)
    assert not {"script", "style", "img", "iframe", "object"} & {tag for tag, _ in hostile.tags}


@pytest.mark.invariant
def test_links_lead_only_within_the_section() -> None:
    for text in HOSTILE:
        read = Read(section_html(Section(text, one_of_each(text)), prefix="a-"))
        found = [attrs["href"] for tag, attrs in read.tags if tag == "a"]
        assert found
        assert all(each is not None and each.startswith("#a-") for each in found)
        assert not [name for _, attrs in read.tags for name in attrs if name in ("src", "style", "action")]


@pytest.mark.invariant
@settings(max_examples=40)
@given(st.text(max_size=40), st.text(max_size=40))
def test_every_text_is_read_as_it_was_written(title: str, text: str) -> None:
    blocks = (model.Paragraph(text), model.Table((model.Column("name"),), ((text,),)), model.Verbatim(text))
    read = Read(section_html(Section(f"t{title}", blocks)))
    for tag in ("p", "th", "pre"):
        for each in read.inside.get(tag, [])[-1:]:
            assert _visible(each) in (_visible(text), "name")


def _visible(text: str) -> str:
    """The text without what no page can show: white space, control characters and what is no character."""
    return "".join(c for c in text if category(c) != "Cc" and not c.isspace() and c not in "\ufffe\uffff")


@pytest.mark.invariant
def test_headings_never_skip_a_level_and_no_id_is_given_twice() -> None:
    blocks = (
        model.Heading("Deep first", 3, "one"),
        model.Heading("Top", 1, "one"),
        model.Heading("Deep", 3, "two"),
        model.Paragraph("text", anchor="two"),
    )
    for level in (1, 2, 4, 6):
        read = Read(section_html(Section("Title", blocks), level))
        levels = [int(tag[1]) for tag, _ in read.tags if tag[0] == "h" and tag[1:].isdigit()]
        assert levels[0] == level
        assert all(b - a <= 1 for a, b in pairwise(levels))
        ids = [attrs["id"] for _, attrs in read.tags if "id" in attrs]
        assert len(ids) == len(set(ids))
    with pytest.raises(ValueError, match="1 to 6"):
        section_html(Section("", ()), 7)


@pytest.mark.outside
def test_a_table_says_what_its_cells_belong_to() -> None:
    """WCAG 2.2, technique H63: scope associates header cells and data cells; H39: caption names a data table."""
    read = Read(section_html(Section("Shopping list", one_of_each("rim"))))
    heads = [attrs.get("scope") for tag, attrs in read.tags if tag == "th"]
    assert heads.count("col") == 2 * 2  # the heading of the tick boxes is empty, so it is no header
    assert heads.count("row") == 2 * 5
    captions = read.inside["caption"]
    assert len(captions) == 2
    assert len(set(captions)) == 2


@pytest.mark.outside
def test_a_picture_has_a_name_and_a_description() -> None:
    """SVG 2, section 5.8: title and desc are the text alternative of an element with the role img."""
    read = Read(section_html(Section("Boards", (model.Figure(drawing("Layout 7"), "as cut"),))))
    (svg,) = [attrs for tag, attrs in read.tags if tag == "svg"]
    assert svg["role"] == "img"
    assert read.inside["title"] == ["Layout 7"]
    assert read.inside["desc"] == ["note of Layout 7"]
    (region,) = [attrs for tag, attrs in read.tags if attrs.get("class") == "ws-scroll"]
    assert (region["tabindex"], region["aria-label"]) == ("0", "Layout 7")
    assert read.inside["figcaption"] == ["as cut; Sizes in inches"]


def test_a_page_reference_says_where_the_text_is_printed() -> None:
    read = Read(section_html(Section("", (model.Paragraph(f"See {page_of('mix')}."),))))
    assert read.text.strip() == "See in the packet."
    assert section_html(Section("", (model.Paragraph("a\nb"),))).count("<br>") == 1
