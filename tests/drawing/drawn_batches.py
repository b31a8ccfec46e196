"""Batches of every item for one box, and what is wrong with their printed sheets: counted, on the model and in the PDF.

`python -m tests.drawing.drawn_batches` goes through all boxes, joints, units and papers, and prints the counts.
"""

import io
import tempfile
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from itertools import combinations, product
from pathlib import Path
from typing import Any, cast

import pdfplumber
from pypdf import PdfReader

from tests.once import once, written
from woodshop.design.batch import Unit
from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.settle.settle import settle
from woodshop.documents.packet.assembly import assembly_section
from woodshop.documents.packet.first_article import first_article_section
from woodshop.documents.packet.mix import mix_chapter
from woodshop.documents.packet.parts import parts_section
from woodshop.drawing.arranging.figure import fitted_figure
from woodshop.drawing.pens.pdf import _scale, figure_flow, write_pdf
from woodshop.drawing.values import model
from woodshop.drawing.values.paper import Box, Ring, Word
from woodshop.drawing.values.style import PAPERS, STYLE
from woodshop.findings import Report
from woodshop.plan.parts_needed import parts_needed
from woodshop.plan.values import MaterialPlan, PlannedBatch

FRAMES = (10, 8, 5)
JOINTS = ("butt, ends inside", "butt, sides inside", "rabbet in the ends", "rabbet in the sides", "box joint")
MOUNTINGS = ("stapled under", "flush rabbet", "saw groove")
UNITS = ("in", "mm")
LOOKED_AT = ("figures", "texts", "pages", "characters")
ITEMS = ("fondant rim", "wire bottom", "spacer strips", "packing blocks", "quilt box", "vent spacers", "mouse guard",
         "bottom insert", "feeder quilt", "bee-space gauge", "feeding shim")  # fmt: skip


def planned(text: str) -> PlannedBatch:
    """A design's batch with every part needed, and no plan: no sheet drawn here looks at one."""
    return once(f"drawn {text}", lambda: _planned(text))


def _planned(text: str) -> PlannedBatch:
    with tempfile.TemporaryDirectory() as folder:
        design = read_design(written(text, Path(folder)))
        batch = settle(design, read_lumberyards(design.lumberyards))
    units = tuple(Unit(line, line.item.make(line.setting, **dict(line.given))) for line in batch.lines)
    plans = tuple(MaterialPlan(job, cast(Any, None)) for job in parts_needed(batch, units))
    return PlannedBatch(batch=batch, units=units, plans=plans, purchases=(), unpriced=(), costs=(), report=Report(()))


def every_item(
    frames: int, joint: str, unit: str, paper: str, *, mounting: str = "", both: bool = False, items: str = ""
) -> PlannedBatch:
    """Every item for a box of so many frames; the mounting goes round with the joint unless it is given."""
    mounting = mounting or MOUNTINGS[JOINTS.index(joint) % len(MOUNTINGS)]
    names = items or ", ".join(f'"{name}"' for name in ITEMS)
    return planned(f"""format = "woodshop-design/2"
batch = "every-item"
title = "Every item"
unit = "{unit}"
paper = "{paper}"
both_units = {str(both).lower()}
lumberyard = "creekside-lumberyard.toml"
[board]
joint = "{joint}"
mounting = "{mounting}"
[[hives]]
name = "lumberyard"
frames = {frames}
count = 2
gap = ["1/4 in"]
[[make]]
item = [{names}]
""")


def sheets_of(batch: PlannedBatch) -> tuple[model.Block, ...]:
    """First article with its gauge, part table and family drawings, assembly, the mix with its packing."""
    first, parts = first_article_section(batch).blocks, parts_section(batch).blocks
    built, mixed = assembly_section(batch).blocks, mix_chapter(batch).blocks
    return (*first, *parts, model.PageBreak(), *built, model.PageBreak(), *mixed)


def figures_in(blocks: tuple[model.Block, ...], paper: str) -> Iterator[tuple[model.Figure, tuple[float, float]]]:
    """Every figure with the room that it is set in."""
    wide, high = PAPERS[paper]
    room = (wide - 2 * STYLE.margin, high - 2 * STYLE.margin - STYLE.small - STYLE.footer_gap)
    for block in blocks:
        if isinstance(block, model.Figure):
            yield block, room
        elif isinstance(block, model.KeepTogether):
            yield from figures_in(block.blocks, paper)
        elif isinstance(block, model.Beside):
            half, inside = ((room[0] - 18.0) / 2, room[1]), (*block.left, *block.right)
            figures = [figure for figure, _ in figures_in(inside, paper)]
            apart = any(_scale(figure, half) * 2 < _scale(figure, room) for figure in figures)
            yield from ((figure, room if apart else half) for figure in figures)


def faults_in_model(blocks: tuple[model.Block, ...], paper: str) -> Counter[str]:
    """Texts on texts, lines through texts, text outside the room, text or drawing too small; how much was looked at."""
    found: Counter[str] = Counter()
    for figure, room in figures_in(blocks, paper):
        sheet = figure_flow(figure, room).sheet
        words = [mark for mark in sheet.marks if isinstance(mark, Word)]
        boxes = [word.box for word in words]
        found["figures"] += 1
        found["texts"] += len(words)
        found["texts on texts"] += sum(a.meets(b) for a, b in combinations(boxes, 2))
        found["small texts"] += sum(word.size < STYLE.least for word in words)
        found["wider than the page"] += sheet.size[0] > room[0] + 0.01 or sheet.size[1] > room[1] + 0.01
        found["tiny drawings"] += _is_tiny(figure.drawing, fitted_figure(figure, room).scale)
        for n, mark in enumerate(sheet.marks):
            if isinstance(mark, Word):
                continue
            if isinstance(mark, Ring):
                covered = mark.fill == "paper" and any(w in sheet.marks[n:] for w in words)
                found["lines through texts"] += not covered and any(_on_ring(mark, box) for box in boxes)
                continue
            if mark.fill == "paper":
                continue
            ends = zip(mark.points, (*mark.points[1:], mark.points[0])[: len(mark.points) - (not mark.closed)])  # noqa: B905
            found["lines through texts"] += sum(box.crossed_by(p, q) for p, q in ends for box in boxes)
    return found


def _is_tiny(drawing: model.Drawing, scale: Fraction) -> bool:
    """Whether at its scale no side of any view is 3/4 in long on paper, and the part is larger."""
    sides = [(b - a).inches for view in drawing.views for a, b in zip(*view.bounds, strict=True)]
    return max(sides) * scale < min(Fraction(3, 4), max(sides))


def _on_ring(ring: Ring, box: Box) -> bool:
    near = (max(box.left, min(ring.x, box.right)), max(box.bottom, min(ring.y, box.top)))
    far = max((x - ring.x) ** 2 + (y - ring.y) ** 2 for x in (box.left, box.right) for y in (box.bottom, box.top))
    return (near[0] - ring.x) ** 2 + (near[1] - ring.y) ** 2 < ring.radius**2 < far


def faults_in_pdf(data: bytes) -> Counter[str]:
    """The same again from the finished file, by its characters and lines; and fonts that are not in it."""
    found: Counter[str] = Counter()
    pages = []
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        for page in pdf.pages:
            pages.append(page.chars)
            cores = sorted(_core(char) for char in page.chars if not char["text"].isspace())
            found["pages"] += 1
            found["characters"] += len(cores)
            edge = STYLE.margin - 1.0
            found["clipped"] += sum(
                c[0] < edge or c[1] < edge or c[2] > page.width - edge or c[3] > page.height - edge for c in cores
            )
            # the digits of a built fraction are smaller than the type they stand in
            sizes = (char["size" if char["upright"] else "width"] for char in page.chars)
            found["small characters"] += sum(size < 7.99 for size in sizes)
            for n, one in enumerate(cores):
                for other in cores[n + 1 :]:
                    if other[0] >= one[2]:
                        break
                    found["characters on characters"] += other[1] < one[3] and one[1] < other[3]
            for line in page.lines:
                points = ((line["x0"], page.height - line["y0"]), (line["x1"], page.height - line["y1"]))
                if abs(line["x1"] - line["x0"]) > 1e-6 and abs(line["y1"] - line["y0"]) > 1e-6:
                    points = tuple((x, page.height - y) for x, y in ((p[0], page.height - p[1]) for p in line["pts"]))
                low, high = min(p[0] for p in points), max(p[0] for p in points)
                found["lines through characters"] += sum(
                    Box(*core[:4]).crossed_by(*points) for core in cores if core[0] < high + 0.1 and low - 0.1 < core[2]
                )
    used = {char["fontname"] for page in pages for char in page}
    embedded = _embedded(data)
    found["fonts not embedded"] += sum(name not in embedded for name in used)
    return found


def _core(char: dict[str, Any]) -> tuple[float, float, float, float]:
    """The inner part of a printed character's box, where its ink is."""
    wide, high = char["x1"] - char["x0"], char["bottom"] - char["top"]
    return char["x0"] + 0.12 * wide, char["top"] + 0.15 * high, char["x1"] - 0.12 * wide, char["bottom"] - 0.28 * high


def _embedded(data: bytes) -> set[str]:
    """The names of all fonts whose outlines are in the file."""
    found = set()
    for page in PdfReader(io.BytesIO(data)).pages:
        fonts = cast(Any, page["/Resources"])["/Font"]
        for name in fonts:
            font = fonts[name].get_object()
            about = font["/FontDescriptor"].get_object() if "/FontDescriptor" in font else {}
            if "/FontFile2" in about:
                found.add(str(font["/BaseFont"]).removeprefix("/"))
    return found


def faults(frames: int, joint: str, unit: str, papers: tuple[str, ...]) -> Counter[str]:
    """What is wrong with the sheets of every item for a box, on these papers."""
    return faults_of(every_item(frames, joint, unit, papers[0]), papers)


def faults_of(batch: PlannedBatch, papers: tuple[str, ...]) -> Counter[str]:
    """What is wrong with the sheets of a batch, on these papers."""
    blocks = sheets_of(batch)
    found: Counter[str] = Counter()
    for paper in papers:
        document = model.Document(batch.batch.pages.title, "sheets", (model.Section("", blocks),))
        found.update(faults_in_model(blocks, paper))
        found.update(faults_in_pdf(write_pdf(document, paper)))
    return found


def main() -> None:
    """All boxes, joints, units and papers."""
    total: Counter[str] = Counter()
    for case in product(FRAMES, JOINTS, UNITS):
        found = faults(*case, tuple(sorted(PAPERS)))
        total.update(found)
        print(*case, {name: n for name, n in found.items() if n and name not in LOOKED_AT}, flush=True)
    print(dict(total))


if __name__ == "__main__":
    main()
