"""Assembly and packing sheets: true for every box, in the design's unit, with what to lift reckoned by hand."""

import io
import re
from dataclasses import replace
from fractions import Fraction

import pdfplumber
import pytest

from tests.drawing.drawn_batches import every_item, planned
from woodshop.documents.packet.assembly import assembly_section, item_drawing, merged_steps
from woodshop.documents.packet.exploded_view import first_ready, ready_hives
from woodshop.documents.packet.packing import packing_blocks_of
from woodshop.documents.packet.parts import needs_of, parts_section
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.values.model import (
    Beside,
    Block,
    Document,
    Figure,
    Heading,
    KeepTogether,
    Paragraph,
    Section,
    Steps,
    Table,
    page_of,
)
from woodshop.plan.values import PlannedBatch
from woodshop.reference.facts import fact
from woodshop.units.lengths import inch

TWO_BOXES = """format = "woodshop-design/2"
batch = "two-boxes"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
[[hives]]
name = "tens"
frames = 10
width = "16 1/4"
count = 3
gap = ["1/4"]
[[hives]]
name = "eights"
frames = 8
width = "13 3/4"
count = 2
gap = ["1/4"]
[[make]]
item = ["fondant rim", "wire bottom", "spacer strips", "packing blocks", "quilt box"]
"""


@pytest.fixture(scope="module")
def metric() -> PlannedBatch:
    """Every item for a 10-frame box, in millimetres."""
    return every_item(10, "box joint", "mm", "a4", mounting="saw groove")


@pytest.fixture(scope="module")
def two_boxes() -> PlannedBatch:
    """Boards and quilt boxes for two boxes that differ."""
    return planned(TWO_BOXES)


def _flat(blocks: tuple[Block, ...]) -> list[Block]:
    found: list[Block] = []
    for block in blocks:
        if isinstance(block, KeepTogether):
            found += _flat(block.blocks)
        elif isinstance(block, Beside):
            found += _flat((*block.left, *block.right))
        else:
            found.append(block)
    return found


def _texts(value: object) -> list[str]:
    if isinstance(value, str):
        return [value]
    if isinstance(value, tuple | list):
        return [text for each in value for text in _texts(each)]
    return [text for name in getattr(value, "__dataclass_fields__", ()) for text in _texts(getattr(value, name))]


@pytest.mark.invariant
def test_every_box_has_its_own_figures_in_the_steps(two_boxes: PlannedBatch) -> None:
    """Each number of each box's own steps is printed, and before that box's name where boxes differ."""
    printed = [
        text for block in _flat(assembly_section(two_boxes).blocks) if isinstance(block, Steps) for text in block.items
    ]
    for unit in two_boxes.units:
        for step in unit.assembly.steps:
            numbers = re.findall(r"\d+(?: \d+/\d+|/\d+)?", step)
            assert any(all(number in text for number in numbers) for text in printed), step
    # sqrt(19.875^2 + 16.25^2) = 25.672 = 25 11/16 (25.6875); sqrt(19.875^2 + 13.75^2) = 24.168 = 24 3/16 (24.1875)
    rows = [row for b in _flat(assembly_section(two_boxes).blocks) if isinstance(b, Table) for row in b.rows]
    assert any(row[0] == "tens" and row[-1] == "25 11/16 in" for row in rows)
    assert any(row[0] == "eights" and row[-1] == "24 3/16 in" for row in rows)


def test_steps_that_differ_in_number_are_not_merged() -> None:
    """One more step for one box: None, and the sheet prints both lists."""
    assert merged_steps((("a", ("x",)), ("b", ("x", "y")))) is None


def test_steps_name_every_box_that_shares_a_figure() -> None:
    """Three boxes, two figures."""
    boxes = (("a", ("Staple: 36 staples.",)), ("b", ("Staple: 33 staples.",)), ("c", ("Staple: 36 staples.",)))
    assert merged_steps(boxes) == ("Staple: 36 (for a, c) or 33 (for b) staples.",)


def test_the_weight_to_lift_by_hand(two_boxes: PlannedBatch) -> None:
    """Sugar, water, wood and mesh of a 10-frame board.

    16 lb of sugar; 3 US cups of water are 0.70976 L, 0.7085 kg, 1.56 lb. Two walls of 19 7/8 and two of 14 3/4, 2 1/2
    by 3/4: 69.25 x 1.875 = 129.84 cu in = 2.1278 L; at the row's specific gravity and 12 % moisture x 1.12.
    Mesh of 1/2 in, wire 0.041 in: 40 wires of 15 1/2 in and 32 of 19 1/2 in are 1244 in, 1.64 cu in, 0.0269 L of steel.
    """
    (table,) = [b for b in _flat(tuple(packing_blocks_of(two_boxes))) if isinstance(b, Table) and len(b.columns) == 7]
    row = table.rows[0]
    gravity = fact("wood.weight_eastern_white_pine").number
    wood = float(Fraction("2.1278") * gravity * Fraction("1.12")) / 0.45359237
    assert row[0] == "tens"
    assert row[2:4] == ("16 lb", "1.6 lb")
    assert float(row[4].removesuffix(" lb")) == pytest.approx(wood, abs=0.06)
    mesh = 0.0269 * 7.85 / 0.45359237
    assert float(row[5].removesuffix(" lb")) == pytest.approx(mesh, abs=0.06)
    assert float(row[6].removesuffix(" lb")) == pytest.approx(16 + 1.562 + wood + mesh, abs=0.06)


def test_the_packing_sheet_shows_the_blocks_in_place_and_drawn(two_boxes: PlannedBatch) -> None:
    """Two figures, each with a balloon for backing, mesh, rim, sugar and block; the second is taller by the lift."""
    figures = [b for b in _flat(tuple(packing_blocks_of(two_boxes))) if isinstance(b, Figure)]
    assert len(figures) == 2
    for figure in figures:
        assert {b.number for b in figure.drawing.views[0].balloons} == {1, 2, 3, 4, 5}
    heights = [float((v.bounds[1][1] - v.bounds[0][1]).inches) for f in figures for v in f.drawing.views]
    assert heights[1] > heights[0] + 2


def test_the_packing_sheet_names_the_blocks_that_are_not_made(two_boxes: PlannedBatch) -> None:
    """A channel and two vents are kept open with blocks from the end of a 2x4."""
    without = tuple(unit for unit in two_boxes.units if unit.line.item.name != "packing blocks")
    (told,) = [
        block.text
        for block in packing_blocks_of(replace(two_boxes, units=without))
        if isinstance(block, Paragraph) and block.lead == "Packing blocks:"
    ]
    assert "needs 3 of your own, 1 1/2 in x 3 1/2 in and taller than the rim" in told
    assert "Packing blocks:" not in {getattr(block, "lead", "") for block in packing_blocks_of(two_boxes)}


def test_boxes_dressed_alike_share_a_picture(two_boxes: PlannedBatch) -> None:
    """One picture for both, on the front page; each balloon is in the list below it."""
    assert len(ready_hives(two_boxes)) == 1
    found = first_ready(two_boxes)
    assert found is not None
    figure, listed = found
    assert isinstance(figure, Figure)
    assert isinstance(listed, Table)
    names = {str(row[n]): str(row[n + 1]) for row in listed.rows for n in (0, 2)}
    numbers = {str(balloon.number) for balloon in figure.drawing.views[0].balloons}
    assert numbers <= set(names)
    assert {"strips", "mesh", "packed sugar"} <= {names[number].rpartition(": ")[2] for number in numbers}
    assert "eights" in figure.caption


def test_the_gauge_is_tried_where_bees_pass(two_boxes: PlannedBatch) -> None:
    """The gap over the top bars is tried with the gauge, the quilt's floor with a drill bit; the entrance is measured.

    The limits of gap and entrance stand in one place, the first article: no set-up has others.
    """
    tried = {u.line.item.name for u in two_boxes.units if any("bee-space gauge" in step for step in u.assembly.steps)}
    assert tried == {"spacer strips"}
    entrance = [text for text in _texts(parts_section(two_boxes).blocks) if text.startswith("Upper entrance: ")]
    assert all("Measure the first against its limits" in text and "step" not in text for text in entrance)
    assert entrance
    (quilt, *_) = (u.assembly for u in two_boxes.units if u.line.item.name == "quilt box")
    assert any("1/8 in drill bit fits" in step for step in quilt.steps)


def test_every_sheet_has_its_cautions_in_short(metric: PlannedBatch) -> None:
    """A line for each topic of the work, which leads to the full text."""
    said: dict[str, set[str]] = {}
    item = ""
    for block in _flat(assembly_section(metric).blocks):
        if isinstance(block, Heading) and block.level == 2:
            item = block.text.split(",")[0]
        elif isinstance(block, Paragraph) and block.lead.startswith("Caution, "):
            topic = block.lead.removeprefix("Caution, ").removesuffix(":")
            assert page_of(f"caution-{topic.replace(' ', '-')}", "").split("\ue001")[0] in block.text
            said.setdefault(item, set()).add(topic)
        elif isinstance(block, Paragraph) and block.lead == "Cautions:":
            said.setdefault(item, set()).update(block.text.partition(";")[0].split(", "))
            assert "caution-" in block.text
    assert said["Wire bottom"] == {"mesh"}
    assert said["Quilt box"] == {"drilling", "mesh", "staples"}
    assert said["Mouse guard"] == {"drilling", "sheet metal"}
    assert said["Insert under the screened bottom board"] == {"knife work"}


def test_a_sheet_is_on_one_page_and_says_what_is_alike_once(two_boxes: PlannedBatch) -> None:
    """All of a board's sheet stands on the page of its heading; what holds for both boxes is in no table."""
    blocks = assembly_section(two_boxes).blocks
    titles = [b.text for b in _flat(blocks) if isinstance(b, Heading) and b.level == 2][:5]
    with pdfplumber.open(io.BytesIO(write_pdf(Document("t", "s", (Section("", blocks),))))) as pdf:
        texts = [page.extract_text() for page in pdf.pages]
    last = {"Fondant board rim": "sit without rocking", "Wire bottom": "Drive every crown home"}
    for title in titles:
        (page,) = [text for text in texts if title in text]
        assert last.get(title.split(",")[0], "") in page
    heads = {column.heading for b in _flat(blocks) if isinstance(b, Table) for column in b.columns}
    assert {"front end", "wide", "both diagonals"} <= heads


def test_parts_in_a_picture_have_the_marks_of_every_box(two_boxes: PlannedBatch) -> None:
    """The rim's front ends: both marks in one label, and each in the row of its own box."""
    marks = {need.mark: need for need in needs_of(two_boxes) if need.address.startswith("fondant rim")}
    fronts = [mark for mark, need in marks.items() if need.part.name == "front end"]
    blocks = _flat(assembly_section(two_boxes).blocks)
    labels = [label.text for b in blocks if isinstance(b, Figure) for v in b.drawing.views for label in v.labels]
    assert f"front end {', '.join(fronts)}" in labels
    assert {"TOP", "FRONT"} <= set(labels)
    assert any(text.endswith("SHOW FACE out") for text in labels)
    (table,) = [b for b in blocks if isinstance(b, Table) and "front end" in [c.heading for c in b.columns]]
    assert [row[3] for row in table.rows] == [f"1 x {mark}" for mark in fronts]


def test_the_corner_has_its_screws_where_the_steps_have_them(two_boxes: PlannedBatch) -> None:
    """Two in 2 1/2 in: 5/8 from the edges, 1 1/4 apart; in the middle of 3/4 in wood, 3/8 from the corner."""
    corner = next(
        b.drawing
        for b in _flat(assembly_section(two_boxes).blocks)
        if isinstance(b, Figure) and len(b.drawing.views) == 2
    )
    above, face = corner.views
    assert [d.text("in") for d in above.dimensions] == ["3/8"]
    assert [d.text("in") for d in face.dimensions] == ["3/8", "5/8", "1 1/4"]
    assert [circle.centre[1].text() for circle in face.circles] == ["5/8 in", "1 7/8 in"]


def test_of_pieces_far_apart_one_is_drawn(metric: PlannedBatch) -> None:
    """Four squares for the corners of a cover: one as large as the sheet allows, and the table says how many."""
    (unit,) = [u for u in metric.units if u.line.item.name == "vent spacers"]
    assert len(unit.assembly.named("vent spacer")) == 4
    low, high = item_drawing(unit, "mm").views[0].bounds
    assert high[0] - low[0] < inch(4)
    (strips,) = [u for u in metric.units if u.line.item.name == "spacer strips"]
    low, high = item_drawing(strips, "mm").views[0].bounds
    assert high[0] - low[0] > inch(12)
