"""Sheets of every item: nothing on top of anything, nothing clipped, nothing hidden shown."""

import io
import re
from functools import cache

import pdfplumber
import pytest

from tests.drawing.drawn_batches import LOOKED_AT, every_item, faults_in_model, faults_in_pdf, planned
from tests.drawing.rays import assert_nearest_is_shown
from woodshop.design.make_units import stacks_of
from woodshop.documents.packet.exploded_view import lifted, things_of
from woodshop.documents.packet.layouts import needs_of
from woodshop.documents.packet.parts import families_of, parts_section
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.values.model import Document, Kind, Section
from woodshop.drawing.views.part import part_drawing
from woodshop.drawing.views.pictorial import pictorial, picture
from woodshop.plan.values import PlannedBatch
from woodshop.shape.part import Rectangle, Role, RoundOutline
from woodshop.units.lengths import inch
from woodshop.units.wording import Wording


@cache
def _batch(unit: str = "in", joint: str = "rabbet in the ends", both: bool = False, items: str = "") -> PlannedBatch:
    return every_item(10, joint, unit, "letter", both=both, items=items)


@pytest.mark.slow("sets the part pages twice and looks at each text")
@pytest.mark.invariant
@pytest.mark.parametrize("unit", ["in", "mm"])
def test_both_units_stand_beside_each_other_without_touching(unit: str) -> None:
    """With both_units every dimension has the other unit in brackets, and still nothing collides."""
    batch = _batch(unit, both=True, items='"fondant rim", "quilt box", "mouse guard", "bee-space gauge"')
    blocks = parts_section(batch).blocks
    found = faults_in_model(blocks, "letter")
    found.update(faults_in_pdf(write_pdf(Document("both", "both", (Section("", blocks),)))))
    assert {name: n for name, n in found.items() if n and name not in LOOKED_AT} == {}
    other = "mm" if unit == "in" else "in"
    for need in needs_of(batch):
        drawing = part_drawing(need.part, address="", count=1, wording=Wording(unit, both=True))
        for view in drawing.views:
            for each in view.dimensions:
                said, beside = re.fullmatch(r"(.+) \[(.+)\]", each.text(unit)).groups()  # type: ignore[union-attr]
                assert said == each.length.number(unit)
                assert abs(_number(beside) - float(each.length.mm if other == "mm" else each.length.inches)) <= 0.0501


def _number(text: str) -> float:
    return sum(int(a) / int(b or 1) if b else float(a) for a, b in re.findall(r"(\d+(?:\.\d+)?)(?:/(\d+))?", text))


@pytest.mark.slow("sets the part pages of every item")
def test_cut_sizes_in_the_part_table_are_large() -> None:
    """Each part's length, or a mesh's cells, stands in the PDF's part table in type of at least 14 points."""
    batch = _batch()
    large: list[str] = []
    with pdfplumber.open(
        io.BytesIO(write_pdf(Document("parts", "parts", (Section("", parts_section(batch).blocks),))))
    ) as pdf:
        for page in pdf.pages:
            large += [w["text"] for w in page.extract_words(extra_attrs=["size"]) if w["size"] >= 13.99]
    counted = 0
    for need in needs_of(batch):
        said = need.part.length.number().split()[0].split("/")[0]
        cells = re.match(r"(\d+) x (\d+) cells", "; ".join(need.part.notes))
        if cells and "off the wire" not in " ".join(need.part.notes):
            counted += 1
            said = f"{cells[1]} x {cells[2]} cells"
        assert said in " ".join(large)
    assert counted > 0


@pytest.mark.invariant
def test_no_item_shows_what_is_hidden() -> None:
    """Against rays: the picture of every item, lifted apart as on its sheet, and put together."""
    for n, unit in enumerate(_batch().units):
        for spread in (None, inch(3)):
            view = pictorial(unit.assembly, exploded=spread)
            assert view.lines
        assert assert_nearest_is_shown(unit.assembly.placed, n, 40) > 5, unit.line.item.name


@pytest.mark.slow("casts rays at every line of a whole hive")
@pytest.mark.invariant
@pytest.mark.parametrize("joint", ["rabbet in the ends", "box joint"])
def test_no_dressed_hive_shows_what_is_hidden(joint: str) -> None:
    """Against rays: a whole hive, lifted apart as on its sheet; strips, mesh and sugar are seen in it."""
    group = {unit.line.item.name: unit for unit in _batch(joint=joint).units if unit.line.item.per == "hive"}
    stack = stacks_of(group)[0]
    parts = lifted(stack)
    assert assert_nearest_is_shown(tuple(each for each, _ in parts), 7, 120) > 30
    names = {thing.number: thing.name for thing in things_of(stack)}
    seen = {names[balloon.number] for balloon in picture(parts).balloons}
    assert {"strip", "mesh", "packed sugar", "shavings", "cover", "boxes with their frames"} <= seen


def test_a_guard_has_its_fold_drawn_and_all_its_holes_listed() -> None:
    """The fold is a line over the whole length at its height, and the table has the middle of every hole."""
    batch = _batch()
    (need,) = [need for need in needs_of(batch) if need.part.folds]
    part = need.part
    (view,) = part_drawing(part, address="", count=1, grain=False).views
    (line,) = [line for line in view.lines if line.kind == "fold"]
    assert line.points == ((inch(0), part.folds[0].at), (part.length, part.folds[0].at))
    assert any(d.length == part.folds[0].at for d in view.dimensions)
    assert any(label.text == part.folds[0].how for label in view.labels)
    text = "\n".join(_texts(parts_section(batch).blocks))
    for cut in part.cuts:
        assert isinstance(cut.outline, RoundOutline)
        assert cut.outline.u.number() in text
        assert cut.outline.v.number() in text


def _texts(value: object) -> list[str]:
    """Every text anywhere in blocks."""
    if isinstance(value, str):
        return [value]
    if isinstance(value, tuple):
        return [text for each in value for text in _texts(each)]
    names = getattr(value, "__dataclass_fields__", ())
    return [text for name in names for text in _texts(getattr(value, name))]


def test_parts_that_differ_in_sizes_alone_share_a_drawing() -> None:
    """Each part with a cut is in one family; a letter of its drawing has that part's own size in the table."""
    text = DESIGN.format(width="16 1/4", other="13 3/4")
    batch = planned(text)
    families = families_of(needs_of(batch), batch.batch.wording)
    assert sorted(n.mark for f in families for n in f.needs) == sorted(
        n.mark for n in needs_of(batch) if not n.part.is_plain
    )
    (rim,) = [f for f in families if f.item.name == "fondant rim"]
    assert len(rim.needs) == 2
    for letter, sizes in rim.letters:
        (dimension,) = [d for d in rim.drawing.views[0].dimensions if d.letter == letter]
        assert dimension.text("in") == letter
        assert dimension.length == sizes[0] != sizes[1]
        for need, size in zip(rim.needs, sizes, strict=True):
            lengths = {d.length for v in part_drawing(need.part, address="", count=1).views for d in v.dimensions}
            assert size in lengths
    assert any(sizes == tuple(need.part.length for need in rim.needs) for _, sizes in rim.letters)
    notch = [cut.outline.u0 for need in rim.needs for cut in need.part.cuts if isinstance(cut.outline, Rectangle)]
    assert tuple(notch) in [sizes for _, sizes in rim.letters]


def test_the_reference_is_the_left_end_and_the_lower_edge() -> None:
    """Each family's front view has one heavy line that meets at the corner from which its cuts are dimensioned."""
    batch = _batch()
    drawn = 0
    for family in families_of(needs_of(batch), batch.batch.wording):
        lines = [line for line in family.drawing.views[0].lines if line.kind is Kind.REFERENCE]
        part = family.needs[0].part
        corner = (part.length if family.drawing.views[0].name.startswith("Back") else inch(0), inch(0))
        assert all(corner in line.points for line in lines)
        drawn += len(lines)
    assert drawn > 5


DESIGN = """format = "woodshop-design/2"
batch = "families"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
[[hives]]
name = "tens"
frames = 10
width = "{width}"
count = 2
gap = ["1/4"]
[[hives]]
name = "eights"
frames = 8
width = "{other}"
count = 2
gap = ["1/4"]
[[make]]
item = ["fondant rim", "wire bottom", "spacer strips", "quilt box"]
"""


def test_walls_are_moved_apart_and_loose_things_are_not() -> None:
    """A rim's four walls go outward; strips stay where they lie."""
    by_name = {unit.line.item.name: unit.assembly for unit in _batch().units}
    rim, strips = by_name["fondant rim"], by_name["spacer strips"]

    def wide(assembly: object, spread: object) -> float:
        (x0, _), (x1, _) = pictorial(assembly, exploded=spread, roles=(Role.MADE,)).bounds  # type: ignore[arg-type]
        return float((x1 - x0).inches)

    assert wide(rim, inch(3)) > wide(rim, None) + 4
    assert wide(strips, inch(3)) == wide(strips, None)
