"""Batches that are checked and counted, with no cutting plan: what full-size sheets and labels are made from."""

import io
from collections.abc import Callable, Sequence
from itertools import combinations
from pathlib import Path
from typing import Any

import pdfplumber
import pytest

from tests.once import uncut, written
from woodshop.drawing.pages.plates import Plate
from woodshop.drawing.values.paper import Word
from woodshop.plan.values import PlannedBatch

SIX_MM = 6 / 25.4 * 72
METRIC = """format = "woodshop-design/2"
batch = "metric-nationals"
title = "Nationals, winter 2026"
unit = "mm"
paper = "a4"
lumberyard = "creekside-lumberyard.toml"
on_by = 2026-11-20
[board]
joint = "box joint"
mounting = "saw groove"
[[hives]]
name = "orchard nationals"
customer = "Åsa Lindqvist & Søhne"
pattern = "British National"
frames = 11
count = 7
gap = ["0 mm", "0 mm"]
[[make]]
item = ["fondant rim", "wire bottom", "spacer strips", "packing blocks", "mouse guard", "bee-space gauge", "quilt box"]
"""
DESIGNS = ("hobby-batch", "production-run", "metric")


@pytest.fixture(scope="session")
def uncut_text(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], PlannedBatch]:
    """A function from a design file's text to its batch, the demo lumberyards beside it."""

    folder = tmp_path_factory.mktemp("design")
    return lambda text: uncut(written(text, folder))


@pytest.fixture(scope="session")
def batches(designs: Path, uncut_text: Callable[[str], PlannedBatch]) -> dict[str, PlannedBatch]:
    """The hobby batch, the production run, and a metric one on A4."""
    found = {name: uncut(designs / f"{name}.toml") for name in DESIGNS[:2]}
    return found | {"metric": uncut_text(METRIC)}


@pytest.fixture(params=DESIGNS)
def planned(request: pytest.FixtureRequest, batches: dict[str, PlannedBatch]) -> PlannedBatch:
    """One of them after the other."""
    return batches[request.param]


@pytest.fixture(scope="session")
def assert_texts_apart() -> Callable[[Sequence[Plate]], None]:
    """On the model: no two texts share paper, none is small, none within 6 mm of the edge."""

    def check(plates: Sequence[Plate]) -> None:
        assert plates
        for plate in plates:
            words = [mark for mark in plate.marks if isinstance(mark, Word)]
            for word in words:
                box = word.box
                assert word.size >= 8, word
                assert box.left >= SIX_MM, word
                assert box.bottom >= SIX_MM, word
                assert box.right <= plate.size[0] - SIX_MM, word
                assert box.top <= plate.size[1] - SIX_MM, word
            for one, other in combinations(words, 2):
                assert not one.box.grown(-0.3).meets(other.box.grown(-0.3)), (one, other)

    return check


@pytest.fixture(scope="session")
def assert_printed_apart() -> Callable[[bytes], int]:
    """On the finished PDF: no two characters overlap, none is below 8 points or within 6 mm; gives the page count."""

    def check(data: bytes) -> int:
        with pdfplumber.open(io.BytesIO(data)) as pdf:
            for number, page in enumerate(pdf.pages, 1):
                assert f"page {number} of {len(pdf.pages)}" in page.extract_text(y_tolerance=1)
                cores = sorted(_core(char) for char in page.chars if not char["text"].isspace())
                for i, one in enumerate(cores):
                    for other in cores[i + 1 :]:
                        if other[0] >= one[2]:
                            break
                        assert other[1] >= one[3] or other[3] <= one[1], (number, one, other)
                for char in page.chars:
                    assert char["size"] >= 7.99
                    assert SIX_MM <= char["x0"] <= char["x1"] <= page.width - SIX_MM
                    assert SIX_MM <= char["top"] <= char["bottom"] <= page.height - SIX_MM
                fonts = {char["fontname"] for char in page.chars}
                assert all("SourceSansPro" in font for font in fonts), fonts
            return len(pdf.pages)

    return check


def _core(char: dict[str, Any]) -> tuple[float, float, float, float, str]:
    """The inner part of a printed character's box, where its ink is."""
    wide, high = char["x1"] - char["x0"], char["bottom"] - char["top"]
    inset = (0.12 * wide, 0.15 * high, 0.12 * wide, 0.28 * high)
    return (
        char["x0"] + inset[0],
        char["top"] + inset[1],
        char["x1"] - inset[2],
        char["bottom"] - inset[3],
        str(char["text"]),
    )
