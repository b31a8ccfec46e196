"""Every PDF of a result, on both papers: its page, the smallest type, the margins, fonts that are all in the file."""

import io
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

import pdfplumber
import pypdf
import pytest

from tests.nightly import IS_NIGHT
from tests.once import once
from woodshop.design.settings.labels import LabelSettings
from woodshop.documents.result import result_files
from woodshop.plan.plan_batch import plan_batch
from woodshop.plan.values import PlannedBatch

SIX_MM = 6 / 25.4 * 72
POINTS = {"letter": (Fraction(612), Fraction(792)), "a4": (Fraction(210 * 360, 127), Fraction(297 * 360, 127))}
DESIGN = """format = "woodshop-design/2"
batch = "printed"
title = "Printed on {paper}"
unit = "{unit}"
paper = "{paper}"
lumberyard = "creekside-lumberyard.toml"
[board]
joint = "{joint}"
mounting = "{mounting}"
[[hives]]
name = "orchard"
frames = {frames}
count = 2
gap = "1/4 in"
[[make]]
item = ["fondant rim", "wire bottom", "spacer strips", "packing blocks", "mouse guard", "bee-space gauge"]
"""
DESIGNS = {
    "letter": DESIGN.format(paper="letter", unit="in", joint="rabbet in the ends", mounting="stapled under", frames=10),
    "a4": DESIGN.format(paper="a4", unit="mm", joint="box joint", mounting="saw groove", frames=5),
}


@dataclass(frozen=True)
class Read:
    """A page read back: characters as (text, height of type, left, top, right, bottom), level strokes in mm."""

    file: str
    number: int
    size: tuple[float, float]
    chars: tuple[tuple[str, float, float, float, float, float], ...]
    strokes: tuple[float, ...]


@pytest.fixture(scope="module", params=sorted(POINTS) if IS_NIGHT else ["a4"])
def paper(request: pytest.FixtureRequest) -> str:
    """One paper after the other."""
    return str(request.param)


@pytest.fixture(scope="module")
def printed(paper: str, uncut_text: Callable[[str], PlannedBatch]) -> dict[str, bytes]:
    """All PDF files of a small batch on it, planned for a first look, a label for every piece too."""

    def make() -> dict[str, bytes]:
        planned = uncut_text(DESIGNS[paper])
        batch = replace(planned.batch, pages=replace(planned.batch.pages, labels=LabelSettings(pieces=True)))
        files = result_files(plan_batch(batch, planned.units, planned.report, effort="quick"), lambda said: None)
        return {name: data for name, data in files.items() if name.endswith(".pdf")}

    return once(f"printed on {paper}", make)


@pytest.fixture(scope="module")
def pages(paper: str, printed: dict[str, bytes]) -> list[Read]:
    """Every page of them, read back."""
    return once(f"read from {paper}", lambda: [page for name in printed for page in _read(name, printed[name])])


def _read(name: str, data: bytes) -> Iterator[Read]:
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        for page in pdf.pages:
            chars = tuple(
                (
                    char["text"],
                    char["size"] if char["upright"] else char["x1"] - char["x0"],
                    *(char[edge] for edge in ("x0", "top", "x1", "bottom")),
                )
                for char in page.chars
            )
            strokes = tuple(line["width"] / 72 * 25.4 for line in page.lines if line["height"] < 1e-6)
            yield Read(name, page.page_number, (page.width, page.height), chars, strokes)
            page.close()


def _fonts(resources: Any) -> Iterator[Any]:
    """Every font that a page, or a picture within it, names."""
    resources = resources.get_object()
    for font in resources.get("/Font", {}).values():
        yield font.get_object()
    for thing in resources.get("/XObject", {}).values():
        if "/Resources" in thing.get_object():
            yield from _fonts(thing.get_object()["/Resources"])


def test_all_documents_are_looked_at(printed: dict[str, bytes]) -> None:
    """Packet, report, templates, story stick and labels."""
    names = {name.split("/")[-1] for name in printed}
    assert names == {"packet.pdf", "report.pdf", "templates.pdf", "story-stick.pdf", "labels.pdf"}


@pytest.mark.outside("ISO 216: A4 is 210 x 297 mm; ANSI/ASME Y14.1, size A is 8 1/2 x 11 in; from memory")
def test_nothing_is_under_8_points_or_beyond_the_margins(
    paper: str, printed: dict[str, bytes], pages: list[Read]
) -> None:
    """Each character of each page, on the paper of the design: 8 points or more, 6 mm or more from every edge."""
    looked_at: Counter[str] = Counter()
    for page in pages:
        width, height = page.size
        sides = sorted(page.size)  # full-size pages may lie on their side
        assert sides == pytest.approx([float(side) for side in POINTS[paper]], abs=0.01)
        for text, high, left, top, right, bottom in page.chars:
            assert high >= 7.999, (page.file, page.number, text)
            assert left >= SIX_MM - 0.01, (page.file, page.number, text)
            assert right <= width - SIX_MM + 0.01, (page.file, page.number, text)
            assert top >= SIX_MM - 0.01, (page.file, page.number, text)
            assert bottom <= height - SIX_MM + 0.01, (page.file, page.number, text)
        looked_at[page.file] += len(page.chars)
    assert looked_at.keys() == printed.keys()
    assert all(count > 100 for count in looked_at.values()), looked_at


def test_all_fonts_are_in_the_files(printed: dict[str, bytes]) -> None:
    """Every font of every page has its outlines with it, in TrueType or OpenType form."""
    for name, data in printed.items():
        fonts = [font for page in pypdf.PdfReader(io.BytesIO(data)).pages for font in _fonts(page["/Resources"])]
        assert fonts, name
        for font in fonts:
            kin = font["/DescendantFonts"][0].get_object() if "/DescendantFonts" in font else font
            about = kin["/FontDescriptor"].get_object()
            assert {"/FontFile2", "/FontFile3"} & set(about), (name, font["/BaseFont"])


@pytest.mark.outside("international yard and pound agreement of 1959: 1 in = 25.4 mm; PDF user unit 1/72 in, ISO 32000")
@pytest.mark.parametrize("name", ["templates.pdf", "story-stick.pdf"])
def test_the_bars_to_check_the_printer_by_are_true(pages: list[Read], name: str, paper: str) -> None:
    """On every page a level stroke of 100 mm, to a tenth of a millimetre, and of 4 in if the design is in inches."""
    mine = [page for page in pages if page.file == name]
    assert mine
    for page in mine:
        for bar, is_there in ((100.0, True), (101.6, paper == "letter")):
            assert any(abs(width - bar) < 0.1 for width in page.strokes) is is_there, (page.number, bar)
