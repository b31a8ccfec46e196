"""Printed documents: legible, nothing clipped or overlapping, the same bytes every time."""

import hashlib
import io
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pdfplumber
import pypdf
import pytest

from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.values.model import (
    Align,
    Beside,
    Block,
    Bullets,
    Caution,
    Column,
    Document,
    Figure,
    Heading,
    KeepTogether,
    KeyFigures,
    PageBreak,
    Paragraph,
    Section,
    Steps,
    Table,
)
from woodshop.drawing.values.style import PAPERS, POINTS_PER_MM, STYLE
from woodshop.drawing.views.part import part_drawing
from woodshop.shape.part import Part
from woodshop.units.lengths import Length
from woodshop.units.wording import wording_of

NASTY = "Smith <b>& Sons</b> &amp; <para> ]]> \x00\x07 'a' \"b\" %s {0} \\n"
SIX_MM = float(6 * POINTS_PER_MM)


def _columns() -> tuple[Column, ...]:
    return (
        Column("Part", weight=3),
        Column("Count", Align.RIGHT),
        Column("Length", Align.RIGHT, cut_size=True),
        Column("Width", Align.RIGHT, cut_size=True),
        Column("Done", Align.CENTRE),
    )


def _rows(count: int) -> tuple[tuple[str, ...], ...]:
    return tuple((f"rim / F10 #{i} / side", str(i), "19 7/8", "3 1/2", "[ ]") for i in range(1, count + 1))


def _document(parts: tuple[Part, ...], unit: str = "in", banner: str | None = None) -> Document:
    blocks: list[Block] = [
        Heading("Cutting packet"),
        KeyFigures((("boards to buy", "14"), ("cost", "$74.40"), ("rim side", "19 7/8 in"))),
        Paragraph("Cut the ends to 16 1/4 in and the sides to 19 7/8 in. " * 4, lead="First."),
        Paragraph("A remark in small type, with 3/4 in.", small=True),
        Caution("Keep fingers from the blade; rip narrow strips with a push stick. " * 3),
        Bullets(("one thing", "another, of 11/32 in")),
        Heading("Cut list", 2),
        Table(_columns(), _rows(60), strong=(2,)),
        KeepTogether((Heading("Steps", 2), Steps(("Set the fence to 3 1/2 in.", "Rip. " * 60)))),
        PageBreak(),
        Heading("Parts", 2),
    ]
    for part in parts:
        drawing = part_drawing(part, address="batch/" + part.name, count=4, wording=wording_of(unit))
        blocks += [Heading(part.name, 3), Figure(drawing, part.name), Bullets(drawing.notes or ("plain",))]
    return Document("Winter kit", "cutting packet", (Section("", tuple(blocks)),), "made for A & B", banner)


def _open(data: bytes) -> pdfplumber.PDF:
    return pdfplumber.open(io.BytesIO(data))


def _cores(page: pdfplumber.page.Page) -> list[tuple[float, float, float, float, str]]:
    """The inner part of each printed character's box, where its ink is."""
    cores = []
    for char in page.chars:
        if char["text"].isspace():
            continue
        wide, high = char["x1"] - char["x0"], char["bottom"] - char["top"]
        if char["upright"]:
            inset = (0.12 * wide, 0.15 * high, 0.12 * wide, 0.28 * high)
        else:
            inset = (0.15 * wide, 0.12 * high, 0.28 * wide, 0.12 * high)
        cores.append(
            (
                char["x0"] + inset[0],
                char["top"] + inset[1],
                char["x1"] - inset[2],
                char["bottom"] - inset[3],
                char["text"],
            )
        )
    return cores


@pytest.mark.parametrize("paper", sorted(PAPERS))
@pytest.mark.parametrize("banner", [None, "DO NOT CUT"])
def test_no_character_overlaps_another_or_leaves_the_margins(
    parts: tuple[Part, ...], unit: str, paper: str, banner: str | None
) -> None:
    """Measured on the finished pages, for both papers and units: apart, inside, and at least 8 points."""
    with _open(write_pdf(_document(parts, unit, banner), paper)) as pdf:
        for page in pdf.pages:
            assert (float(page.width), float(page.height)) == pytest.approx(PAPERS[paper], abs=0.01)
            cores = sorted(_cores(page))
            assert cores
            for i, (_, top, right, bottom, text) in enumerate(cores):
                for other in cores[i + 1 :]:
                    if other[0] >= right:
                        break
                    apart = other[1] >= bottom or other[3] <= top
                    assert apart, (page.page_number, text, other)
            assert round(min(c["size"] for c in page.chars), 6) >= STYLE.least
            for char in page.chars:
                assert char["x0"] >= SIX_MM
                assert char["x1"] <= page.width - SIX_MM
                assert char["top"] >= SIX_MM
                assert char["bottom"] <= page.height - SIX_MM
            for thing in (*page.lines, *page.rects, *page.curves):
                assert thing["x0"] >= SIX_MM
                assert thing["x1"] <= page.width - SIX_MM
                assert thing["top"] >= SIX_MM
                assert thing["bottom"] <= page.height - SIX_MM


def test_everything_is_black_or_white(parts: tuple[Part, ...]) -> None:
    """No colour and no grey: what prints is ink or paper."""
    with _open(write_pdf(_document(parts))) as pdf:
        for page in pdf.pages:
            for thing in (*page.chars, *page.lines, *page.rects, *page.curves):
                for colour in (thing.get("stroking_color"), thing.get("non_stroking_color")):
                    values = colour if isinstance(colour, tuple | list) else (colour,)
                    assert all(value in (None, 0, 1) for value in values)


def test_sizes_to_cut_are_set_large(parts: tuple[Part, ...]) -> None:
    """The whole numbers of cut sizes in tables and of dimensions are 14 points or more."""
    with _open(write_pdf(_document(parts[:1]))) as pdf:
        page = next(p for p in pdf.pages if "Cut list" in (p.extract_text() or ""))
        words = [w for w in page.extract_words(extra_attrs=["size"], y_tolerance=0.1) if w["text"] in ("19", "3")]
        assert max(w["size"] for w in words) >= STYLE.cut_size


def test_extracted_text_reads_as_it_was_written(parts: tuple[Part, ...]) -> None:
    """Two readers find the plain lengths, though their fractions are built."""
    data = write_pdf(_document(parts[:2]))
    with _open(data) as pdf:
        plumbed = "\n".join(page.extract_text() for page in pdf.pages)
    read = "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages)
    for text in (plumbed, read):
        assert "Cut the ends to 16 1/4 in and the sides to 19 7/8 in." in text
        assert "rim / F10 #7 / side" in text
        assert "Set the fence to 3 1/2 in." in text
        assert "19 7/8 in" in text


def test_fonts_are_embedded(parts: tuple[Part, ...]) -> None:
    """Every font of every page carries its own program, also where things stand side by side."""
    document = _document(parts)
    beside = Beside((Paragraph("left"),), (Table((Column("a"),), (("right",),)),))
    reader = pypdf.PdfReader(
        io.BytesIO(write_pdf(replace(document, sections=(*document.sections, Section("", (beside,))))))
    )
    fonts = {}
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():
            fonts[font.get_object()["/BaseFont"]] = font.get_object()
    assert fonts
    for name, font in fonts.items():
        assert "SourceSansPro" in name
        assert "/FontFile2" in font["/FontDescriptor"]


def test_outline_entries_lead_to_the_pages_of_their_headings() -> None:
    """Seven headings on pages of their own: each entry names the page on which its heading stands."""
    blocks = [block for n in range(1, 8) for block in (Heading(f"Heading {n}", 1), PageBreak())]
    reader = pypdf.PdfReader(io.BytesIO(write_pdf(Document("t", "s", (Section("", tuple(blocks)),)))))
    entries = [each for each in reader.outline if not isinstance(each, list)]
    assert [reader.get_destination_page_number(each) for each in entries] == list(range(7))
    for each in entries:
        number = reader.get_destination_page_number(each)
        assert number is not None
        assert str(each.title) in reader.pages[number].extract_text()


def test_document_tells_its_title_language_and_outline(parts: tuple[Part, ...]) -> None:
    """Title, subject, language and the headings, each at its level, are in the file."""
    reader = pypdf.PdfReader(io.BytesIO(write_pdf(_document(parts[:2]))))
    assert reader.metadata is not None
    assert reader.metadata.title == "Winter kit"
    assert reader.metadata.subject == "cutting packet"
    assert reader.trailer["/Root"]["/Lang"] == "en-US"
    top, below = reader.outline
    assert top.title == "Cutting packet"
    titles = [entry.title for entry in below if not isinstance(entry, list)]
    assert titles == ["Cut list", "Steps", "Parts"]
    assert [entry.title for entry in below[-1]] == [part.name for part in parts[:2]]


def test_skipped_heading_levels_do_no_harm() -> None:
    """A document that starts at level 3 still has an outline."""
    data = write_pdf(
        Document("t", "s", (Section("", (Heading("deep", 3), Heading("top", 1), Heading("deep again", 3))),))
    )
    outline = pypdf.PdfReader(io.BytesIO(data)).outline
    assert [e.title if not isinstance(e, list) else [x.title for x in e] for e in outline] == [
        "deep",
        "top",
        ["deep again"],
    ]


def test_every_page_has_its_number_title_and_banner(parts: tuple[Part, ...]) -> None:
    """Footer and banner stand on every page."""
    with _open(write_pdf(_document(parts, banner="DO NOT CUT"))) as pdf:
        count = len(pdf.pages)
        assert count > 3
        for i, page in enumerate(pdf.pages, 1):
            text = page.extract_text()
            assert f"page {i} of {count}" in text
            assert "Winter kit · made for A & B" in text
            large = "".join(c["text"] for c in page.chars if c["size"] >= STYLE.banner - 0.1)
            assert large == "DO NOT CUT"


def test_a_long_table_repeats_its_headings_and_loses_no_row(parts: tuple[Part, ...]) -> None:
    """Each page with rows has the headings once, and all sixty rows are there."""
    with _open(write_pdf(Document("t", "s", (Section("", (Table(_columns(), _rows(60)),)),)))) as pdf:
        assert len(pdf.pages) > 1
        texts = [page.extract_text() for page in pdf.pages]
        assert all(text.count("Part Count Length Width Done") == 1 for text in texts)
        assert sum(text.count("rim / F10 #") for text in texts) == 60


def test_hostile_names_are_harmless() -> None:
    """Markup, controls and percent signs print as they are; a very long word wraps inside its cell."""
    long_word = "spruce" * 40
    blocks: tuple[Block, ...] = (
        Heading(NASTY),
        Paragraph(NASTY, lead=NASTY),
        Caution(NASTY, NASTY),
        Bullets((NASTY, long_word)),
        Steps((NASTY,)),
        KeyFigures(((NASTY, NASTY), ("a", long_word))),
        Table((Column(NASTY), Column("b", cut_size=True)), ((NASTY, long_word), (long_word, "1/2"))),
    )
    with _open(write_pdf(Document(NASTY, NASTY, (Section("", blocks),), NASTY, NASTY))) as pdf:
        for page in pdf.pages:
            assert all(c["x0"] >= SIX_MM and c["x1"] <= page.width - SIX_MM for c in page.chars)
        text = " ".join(page.extract_text() for page in pdf.pages)
        assert "<b>&" in text
        assert "&amp;" in text


@pytest.mark.slow("sets a table of many pages")
def test_a_cell_longer_than_a_page_goes_on_over_pages() -> None:
    """No text is too long: two thousand words in one cell, one caution and one step all print."""
    words = " ".join(f"w{i}" for i in range(2000))
    for block in (
        Table((Column("a"), Column("b")), ((words, "x"),)),
        Caution(words),
        Steps((words,)),
        Paragraph(words),
    ):
        with _open(write_pdf(Document("t", "s", (Section("", (block,)),)))) as pdf:
            text = " ".join(page.extract_text() for page in pdf.pages)
        assert all(f"w{i}" in text.split() for i in (0, 777, 1500, 1999))


@pytest.mark.parametrize("paper", sorted(PAPERS))
@pytest.mark.parametrize("banner", [None, "DO NOT CUT"])
def test_full_pages_keep_clear_of_footer_and_banner(paper: str, banner: str | None) -> None:
    """On pages full of text the body ends above the footer's rule and begins below the banner's frame."""
    words = "Rip and crosscut. " * 900
    with _open(write_pdf(Document("t", "s", (Section("", (Paragraph(words),)),), banner=banner), paper)) as pdf:
        assert len(pdf.pages) > 1
        for page in pdf.pages:
            rule = max(line["top"] for line in page.lines)
            frame = max((rect["bottom"] for rect in page.rects), default=STYLE.margin)
            body = [c for c in page.chars if abs(c["size"] - STYLE.body) < 0.01]
            assert max(c["bottom"] for c in body) < rule
            assert min(c["top"] for c in body) > frame - 1.0


@pytest.mark.parametrize("lines", range(30, 52))
def test_a_heading_stands_over_what_it_heads(lines: int) -> None:
    """However full the page: never a heading at its foot with the table or the kept blocks on the next.

    A short text between heading and table does not part them either.
    """
    rows = Table((Column("a"), Column("b")), tuple((f"row {n}", "x") for n in range(9)))
    for follows in ((Paragraph("Sizes in inches."), rows), (KeepTogether((Heading("Inner", 3), rows)),), (rows,)):
        blocks = (Bullets(tuple(f"line {n}" for n in range(lines))), Heading("Headed", 1), *follows)
        with _open(write_pdf(Document("t", "s", (Section("", blocks),)))) as pdf:
            texts = [page.extract_text() for page in pdf.pages]
        assert [n for n, text in enumerate(texts) if "Headed" in text] == [
            n for n, text in enumerate(texts) if "row 0" in text
        ]


def test_a_heading_over_little_does_not_wait_for_what_has_a_heading_of_its_own() -> None:
    """One line under it, then a group that needs the next page: heading and line stay on this one."""
    rows = Table((Column("a"), Column("b")), tuple((f"row {n}", "x") for n in range(26)))
    own = KeepTogether((Heading("Own", 2), rows))
    blocks = (Bullets(tuple(f"line {n}" for n in range(25))), Heading("Little", 2), Bullets(("one",)), own)
    with _open(write_pdf(Document("t", "s", (Section("", blocks),)))) as pdf:
        assert ["Little" in page.extract_text() for page in pdf.pages] == [True, False]
        assert ["Own" in page.extract_text() for page in pdf.pages] == [False, True]


def test_what_no_page_holds_together_is_kept_together_in_parts() -> None:
    """Three groups kept within one that is longer than a page: each is on one page; short ones share theirs."""

    def group(name: str, rows: int) -> KeepTogether:
        return KeepTogether((Heading(name, 2), Bullets(tuple(f"{name} {n}" for n in range(rows)))))

    for rows, wanted in ((20, [0, 0, 1]), (10, [0, 0, 0])):
        groups = tuple(group(name, rows) for name in ("ash", "beech", "cherry"))
        with _open(write_pdf(Document("t", "s", (Section("", (KeepTogether(groups),)),)))) as pdf:
            texts = [page.extract_text().splitlines() for page in pdf.pages]
        for name, page in zip(("ash", "beech", "cherry"), wanted, strict=True):
            here = [n for n, lines in enumerate(texts) for line in lines if line.split()[-2:-1] == [name]]
            assert here == [page] * rows


def test_a_figure_keeps_to_its_height(parts: tuple[Part, ...], three_inches: Length) -> None:
    """A drawing is no higher on paper than it was allowed to be."""
    drawing = part_drawing(parts[10], address="a", count=1)
    with _open(write_pdf(Document("t", "s", (Section("", (Figure(drawing, most_height=three_inches),)),)))) as pdf:
        strokes = [*pdf.pages[0].lines, *pdf.pages[0].curves, *pdf.pages[0].rects]
        inked = [s for s in strokes if s["bottom"] < pdf.pages[0].height - 60]
        assert max(s["bottom"] for s in inked) - min(s["top"] for s in inked) <= 216.0


def test_an_empty_document_is_one_page() -> None:
    """A document without blocks is still a PDF with a footer."""
    with _open(write_pdf(Document("t", "s", (Section("", ()),)))) as pdf:
        assert len(pdf.pages) == 1
        assert "page 1 of 1" in pdf.pages[0].extract_text()


def test_an_unknown_paper_is_refused() -> None:
    """Paper is letter or A4, and the message says so."""
    with pytest.raises(ValueError, match="wanted one of letter, a4"):
        write_pdf(Document("t", "s", (Section("", ()),)), "folio")


@pytest.mark.outside("ISO 216:2007, A4 is 210 mm x 297 mm; ANSI/ASME Y14.1, size A is 8 1/2 in x 11 in; from memory")
def test_paper_sizes_are_those_of_the_standards() -> None:
    """The sizes in points."""
    assert PAPERS["letter"] == (8.5 * 72, 11 * 72)
    assert PAPERS["a4"] == pytest.approx((210 / 25.4 * 72, 297 / 25.4 * 72), abs=1e-9)


_SCRIPT = """
import hashlib, sys
sys.path.insert(0, sys.argv[1])
import conftest
from woodshop.drawing.pens.dxf import write_dxf
from woodshop.drawing.views.layout import Rect, layout_drawing
from woodshop.drawing.values.model import Document, Drawing, Figure, Heading, Section
from woodshop.drawing.views.part import part_drawing
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.views.pictorial import pictorial
from woodshop.drawing.arranging.arrange import fitted
from woodshop.drawing.pens.svg import svg_of
from woodshop.shape.part import Assembly, Placed, Pose
from woodshop.units.lengths import ZERO, inch
drawings = [part_drawing(p, address=p.name, count=2) for p in conftest.PARTS]
blocks = [b for d in drawings for b in (Heading(d.title), Figure(d))]
placed = tuple(Placed(p, Pose((ZERO, ZERO, inch(4 * i)))) for i, p in enumerate(conftest.PARTS))
view = pictorial(Assembly("x", "x", placed))
digest = hashlib.sha256(write_pdf(Document("t", "s", (Section("", tuple(blocks)),))))
for drawing in drawings:
    digest.update(write_dxf(drawing))
    digest.update(svg_of(fitted(drawing, 532, 680).sheet, drawing.title).encode())
digest.update(svg_of(fitted(Drawing(view.name, "", (view,)), 532, 680).sheet, view.name).encode())
print(digest.hexdigest())
"""


def test_same_bytes_whatever_the_hash_seed_and_zone() -> None:
    """PDF, DXF and SVG come out the same in processes with other hash seeds, time zones and locales."""
    here = Path(__file__).resolve()
    digests = set()
    for seed, zone, locale in (("1", "UTC", "C"), ("4242", "Pacific/Auckland", "C.UTF-8")):
        env = os.environ | {
            "PYTHONHASHSEED": seed,
            "TZ": zone,
            "LC_ALL": locale,
            "PYTHONPATH": str(here.parents[2]),
            "PYTHONDONTWRITEBYTECODE": "1",
        }
        done = subprocess.run(
            [sys.executable, "-c", _SCRIPT, str(here.parent)], env=env, capture_output=True, text=True, check=True
        )
        digests.add(done.stdout.strip())
    assert len(digests) == 1
    assert len(digests.pop()) == len(hashlib.sha256().hexdigest())


def test_the_model_is_cheap_to_import() -> None:
    """Values can be made without waking the heavy libraries."""
    check = (
        "import sys, woodshop.drawing.values.model, woodshop.drawing.views.part,"
        " woodshop.drawing.views.layout, woodshop.drawing.pens.dxf,"
        " woodshop.drawing.views.pictorial, woodshop.drawing.pens.svg;"
        "print(sorted({'reportlab', 'ezdxf', 'shapely', 'numpy'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", check], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
