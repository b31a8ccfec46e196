"""One truth for where a piece lies, over every layout of both demo runs: drawing, cut list, DXF, simulated saw."""

import io
import json
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction

import ezdxf
import pytest

from tests.cutting.placing_reader import places_by_cuts
from tests.nightly import IS_NIGHT
from tests.once import bought, planned
from woodshop.cutting.checkers.replay import check_sequence
from woodshop.cutting.order.job_sequence import job_sequence, sequence_to_json
from woodshop.cutting.order.sequence import saw_cuts
from woodshop.documents.fullsize.drawings import FOLDERS, machine_files
from woodshop.documents.packet.layouts import NumberedLayout, kept_offcuts, layout_drawing, numbered_layouts
from woodshop.drawing.values.model import Fill, View
from woodshop.plan.values import PlannedBatch

Rect = tuple[str, Fraction, Fraction, Fraction, Fraction]
"""Mark, and x, y, length and width in inches."""


@pytest.fixture(scope="module", params=["hobby-batch", "production-run" if IS_NIGHT else "order-run"])
def run(request: pytest.FixtureRequest) -> PlannedBatch:
    """Both demo runs, at a landing a smaller one for the larger, planned quickly, each once."""
    return planned(request.param) if request.param != "order-run" else bought(request.param)


def by_the_cut_list(layout: NumberedLayout) -> Counter[Rect]:
    """Where the cuts of a layout put its pieces."""
    job, grid = layout.plan.job.job, layout.plan.job.grid.inches
    marks = {need.address: need.mark for need in layout.plan.job.needs}
    found: Counter[Rect] = Counter()
    for (name, *place), count in places_by_cuts(job, layout.layout, saw_cuts(job, layout.layout)).items():
        x, y, length, width = (grid * each for each in place)
        found[marks[name], x, y, length, width] += count
    return found


@pytest.fixture(scope="module")
def views(run: PlannedBatch) -> dict[str, View]:
    """The drawing of every layout, with the offcuts that are kept."""
    kept = kept_offcuts(run)
    return {lay.name: layout_drawing(lay, run, kept[lay.name]).views[0] for lay in numbered_layouts(run)}


def in_the_drawing(layout: NumberedLayout, view: View) -> Counter[Rect]:
    """Where the drawing has rectangles with a piece's label in them."""
    marks = {piece.mark for piece in layout.pieces}
    found: Counter[Rect] = Counter()
    for label in view.labels:
        mark = label.text.split(":")[0]
        if label.within is not None and mark in marks:
            (x0, y0), (x1, y1) = label.within
            found[mark, x0.inches, y0.inches, (x1 - x0).inches, (y1 - y0).inches] += 1
    return found


def waste_in_the_drawing(view: View) -> Iterator[tuple[Fraction, ...]]:
    """What is hatched as waste or crossed as an offcut to keep: x from and to, y from and to."""
    for region in view.regions:
        if region.fill in (Fill.HATCH, Fill.CROSS):
            xs, ys = ([p[axis].inches for p in region.outline] for axis in (0, 1))
            yield min(xs), max(xs), min(ys), max(ys)


@pytest.mark.invariant
def test_the_drawing_has_every_piece_where_its_cuts_put_it(run: PlannedBatch, views: dict[str, View]) -> None:
    layouts = numbered_layouts(run)
    assert len(layouts) > 10
    for layout in layouts:
        listed = by_the_cut_list(layout)
        assert in_the_drawing(layout, views[layout.name]) == listed, layout.name
        assert sum(listed.values()) == len(layout.pieces)


@pytest.mark.invariant
def test_no_cut_takes_a_piece_from_what_is_drawn_as_waste(run: PlannedBatch, views: dict[str, View]) -> None:
    checked = 0
    for layout in numbered_layouts(run):
        waste = list(waste_in_the_drawing(views[layout.name]))
        for _, x, y, length, width in by_the_cut_list(layout):
            for x0, x1, y0, y1 in waste:
                assert x >= x1 or x + length <= x0 or y >= y1 or y + width <= y0, layout.name
        checked += len(waste)
    assert checked > 10


@pytest.mark.invariant
def test_the_machine_file_of_a_layout_has_every_piece_there(run: PlannedBatch) -> None:
    """Each outline to be cut has its lower left corner where a piece is, and is no larger."""
    files = machine_files(run)
    layouts = numbered_layouts(run)
    digits = len(str(len(layouts)))
    seen = 0
    for n, layout in enumerate(layouts, 1):
        start = f"{FOLDERS['R2010']}/layout-{n:0{digits}d}-"
        for path in (path for path in files if path.startswith(start)):
            file = ezdxf.read(io.StringIO(files[path].decode("utf-8").replace("\r\n", "\n")))  # type: ignore[attr-defined]
            outlines = [e for e in file.modelspace() if e.dxf.layer == "W-OUTER-E-"]
            corners: Counter[tuple[float, float]] = Counter()
            for outline in outlines:
                points = [*outline.vertices()]  # type: ignore[attr-defined]
                corners[round(min(p[0] for p in points), 4), round(min(p[1] for p in points), 4)] += 1
            wanted = Counter((round(float(p.x.inches), 4), round(float(p.y.inches), 4)) for p in layout.pieces)
            assert corners == wanted, layout.name
            seen += 1
    assert seen > 5


@pytest.mark.invariant
def test_the_simulated_saw_ends_with_every_piece_in_its_place(run: PlannedBatch) -> None:
    thin_rip = run.batch.saw.thin_rip
    for each in run.plans:
        written = json.loads(json.dumps(sequence_to_json(job_sequence(each.plan.job, each.plan, thin_rip=thin_rip))))
        assert check_sequence(each.plan.job, each.plan, written) == ()
