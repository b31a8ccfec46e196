"""Files for machines, read back by two general readers of the format: they cut just the parts that are wanted.

What is wanted is reckoned here from the cuts of each part, point by point: how deep is it gone, looked at from a
face? Nothing of what made the files is used for it.
"""

import io
import re
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise, product
from typing import Any, get_args

import ezdxf
import pytest
import shapely
import shapely.affinity
from ezdxf.document import Drawing as Dxf
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.drawing.drawn_batches import planned as drawn_unchecked
from tests.drawing.pairwise import CASES, SOME_CASES, batch_of
from tests.nightly import IS_NIGHT, spread, tries
from woodshop.cutting.planner.plan_job import plan
from woodshop.documents.fullsize.drawings import FOLDERS, machine_files
from woodshop.documents.packet.layouts import NumberedLayout, numbered_layouts
from woodshop.documents.packet.parts import needs_of
from woodshop.drawing.pens.dxf import layer_of, write_machine_dxf
from woodshop.drawing.views.machine import Path, Task, WorkedFace, laid, worked_faces
from woodshop.findings import Report, Severity
from woodshop.hardware.board import Joint, Mounting
from woodshop.hardware.catalogue import items
from woodshop.plan.values import PlannedBatch
from woodshop.reference.materials import EXISTING, board_material
from woodshop.shape.part import Cut, Face, Part, Rectangle, RoundOutline, cut_box
from woodshop.units.lengths import inch

PER = {"in": Fraction(127, 5), "mm": Fraction(1)}
STEP = {"in": 10_000, "mm": 1000}
BOXES = {
    "ten": 'frames = 10\nwidth = "16 1/4 in"\ngap = "1/4 in"',
    "eight": 'frames = 8\nwidth = "13 3/4 in"\ngap = "1/4 in"',
    "nucleus": 'frames = 5\ngap = "1/4 in"',
    "British": 'pattern = "British National"\nframes = 11\ngap = "0 in"',
}
DESIGN = """format = "woodshop-design/2"
batch = "machine"
unit = "{unit}"
lumberyard = ["creekside-lumberyard.toml", "harbor-lumberyard.toml"]
[board]
joint = "{joint}"
mounting = "{mounting}"
{raised}
[[hives]]
{box}
count = 2
[[make]]
item = ["fondant rim", "wire bottom", "spacer strips", "packing blocks", "quilt box"]
"""


def _designs() -> Iterator[str]:
    """Every box with every joint; mountings and units take turns, so that each of both meets every box."""
    mountings, joints = get_args(Mounting), get_args(Joint)
    for b, box in enumerate(BOXES):
        for j, joint in enumerate(joints):
            mounting = mountings[(b + j) % len(mountings)]
            british = box == "British"
            if british and mounting == "stapled under":  # bottom bee space: refused, and tested as such elsewhere
                mounting = "flush rabbet"
            raised = 'rabbet_height = "3/8 in"' if british and mounting == "flush rabbet" else ""
            unit = ("in", "mm")[(b + j) % 2]
            yield DESIGN.format(unit=unit, joint=joint, mounting=mounting, raised=raised, box=BOXES[box])


@pytest.fixture(scope="module")
def made(batches: dict[str, PlannedBatch]) -> tuple[Part, ...]:
    """Every different part that a machine may cut: the demo batches, the sampled designs, every item by two choices."""
    planned = [
        *batches.values(),
        *(drawn_unchecked(text) for text in spread(list(_designs()), 7)),
        *(batch_of(case) for case in (CASES if IS_NIGHT else SOME_CASES)),
    ]
    names = {line.item.name for batch in planned for line in batch.batch.lines}
    assert names == {item.name for item in items()}
    parts = {replace(need.part, name="", notes=()): need.part for each in planned for need in needs_of(each)}
    return tuple(part for part in parts.values() if not part.material.name.startswith(("mesh", "cloth")))


def _read(data: bytes) -> Dxf:
    """The file as a general reader takes it, with nothing to mend in it."""
    file = ezdxf.read(io.StringIO(data.decode("utf-8").replace("\r\n", "\n")))  # type: ignore[attr-defined]
    audit = file.audit()
    assert not audit.errors
    assert not audit.fixes
    return file


Ring = tuple[str, shapely.Polygon]


def _rings(file: Dxf) -> list[Ring]:
    """Layer and area of every entity, in the file's order; nothing but closed polylines without bulge, and circles.

    Lines of folds are passed over; no other line is there.
    """
    found = []
    for entity in file.modelspace():
        if entity.dxftype() == "LINE":
            assert entity.dxf.layer == "W-FOLD--U-"
            continue
        if entity.dxftype() == "CIRCLE":
            found.append((entity.dxf.layer, _disc(entity.dxf.center.x, entity.dxf.center.y, entity.dxf.radius)))
            continue
        assert entity.dxftype() == ("POLYLINE" if file.dxfversion == "AC1009" else "LWPOLYLINE")
        assert entity.is_closed
        assert not entity.has_arc
        points = [(p[0], p[1]) for p in entity.points()] if file.dxfversion == "AC1009" else [*entity.vertices()]
        assert len(set(points)) == len(points) >= 4
        ring = shapely.Polygon(points)
        assert ring.is_valid
        found.append((entity.dxf.layer, ring))
    return found


def _disc(x: float, y: float, radius: float) -> shapely.Polygon:
    return shapely.Point(x, y).buffer(radius, 32)


def _depth(layer: str, unit: str) -> Fraction | None:
    """The depth that a layer states, in millimetres."""
    match = re.fullmatch(r"W-POCKETE-_D(\d+)", layer)
    return Fraction(int(match[1]), STEP[unit]) * PER[unit] if match else None


def _depth_at(point: tuple[float, float], rings: list[Ring], thickness: Fraction, unit: str) -> Fraction:
    """How deep a face is cut at a point, by its file: islands of a layer are left standing."""
    spot, deepest, inside_of_outer = shapely.Point(point), Fraction(0), False
    layers: Counter[str] = Counter(layer for layer, ring in rings if ring.contains(spot))
    for layer, times in layers.items():
        depth = _depth(layer, unit)
        if layer == "W-OUTER-E-":
            inside_of_outer = True
        elif depth is not None and times % 2:
            deepest = max(deepest, depth)
        elif layer in ("W-INNER-E-", "W-BORE--E-"):
            deepest = thickness
    return deepest if inside_of_outer or not any(layer == "W-OUTER-E-" for layer, _ in rings) else thickness


# How a face is looked at: the block axis that runs to the right and whether backwards, then the one that runs up.
# Written down from a block held in the hand, show face to the eye, lower edge down; the back view is had by turning
# it about the upright axis, the edges by tipping it toward or away from the eye.
LOOKED_AT = {
    Face.SHOW: ((0, False), (1, False)),
    Face.BACK: ((0, True), (1, False)),
    Face.UPPER: ((0, False), (2, True)),
    Face.LOWER: ((0, False), (2, False)),
    Face.RIGHT: ((2, True), (1, False)),
    Face.LEFT: ((2, False), (1, False)),
}
# The same for the edges of a part that lies with its back to the eye.
BEHIND = LOOKED_AT | {Face.UPPER: ((0, True), (2, False)), Face.LOWER: ((0, True), (2, True))}
AXES = {Face.LEFT: 0, Face.RIGHT: 0, Face.LOWER: 1, Face.UPPER: 1, Face.BACK: 2, Face.SHOW: 2}
FAR = {Face.RIGHT, Face.UPPER, Face.SHOW}


def _is_gone(part: Part, at: list[Fraction]) -> bool:
    """Whether a point of the block, by its three places in millimetres, is cut out."""
    for cut in part.cuts:
        axis = AXES[cut.face]
        u, v = (a for a in range(3) if a != axis)
        from_face = part.size[axis].mm - at[axis] if cut.face in FAR else at[axis]
        if from_face > cut.depth.mm:
            continue
        outline = cut.outline
        if isinstance(outline, Rectangle):
            if outline.u0.mm < at[u] < outline.u1.mm and outline.v0.mm < at[v] < outline.v1.mm:
                return True
        elif (at[u] - outline.u.mm) ** 2 + (at[v] - outline.v.mm) ** 2 < (outline.diameter.mm / 2) ** 2:
            return True
    return False


def _planes(part: Part) -> list[list[Fraction]]:
    found = [{Fraction(0), size.mm} for size in part.size]
    for cut in part.cuts:
        box = cut_box(part, cut)
        for axis in range(3):
            found[axis] |= {box.low[axis].mm, box.high[axis].mm}
    return [sorted(axis) for axis in found]


def _places(axis: list[Fraction]) -> list[Fraction]:
    """A place off the middle of every stretch between two planes, so that a circle's own centre line is missed."""
    return [a + (b - a) * Fraction(7, 16) for a, b in pairwise(axis)]


def _wanted_depth(part: Part, face: Face, at: list[Fraction], planes: list[list[Fraction]]) -> Fraction:
    """How far it is gone from a face inward at a point of that face."""
    axis = AXES[face]
    stretches = [*pairwise(planes[axis])]
    gone = Fraction(0)
    for low, high in reversed(stretches) if face in FAR else stretches:
        at[axis] = (low + high) / 2
        if not _is_gone(part, at):
            break
        gone += high - low
    return gone


def _check(part: Part, faces: tuple[WorkedFace, ...], files: list[list[Ring]], unit: str) -> int:
    """The files together take out just what is gone: at a point in every cell of every face. Gives the points tried."""
    planes = _planes(part)
    ways = BEHIND if faces[0].face is Face.BACK else LOOKED_AT
    tried = 0
    per = PER[unit]
    taken: dict[Face, Any] = {}
    for worked, rings in zip(faces, files, strict=True):
        (right, back_x), (up, back_y) = ways[worked.face]
        thickness = part.size[AXES[worked.face]].mm
        for x, y in product(_places(planes[right]), _places(planes[up])):
            at = [Fraction(0)] * 3
            at[right], at[up] = x, y
            px = (part.size[right].mm - x if back_x else x) / per
            py = (part.size[up].mm - y if back_y else y) / per
            found = _depth_at((float(px), float(py)), rings, thickness, unit)
            wanted = _wanted_depth(part, worked.face, at, planes)
            taken.setdefault(worked.face, {})[x, y] = found
            tried += 1
            if worked is faces[0]:
                assert abs(found - wanted) * STEP[unit] <= per, (part, worked.face, x, y, found, wanted)
            else:
                assert found <= wanted + per / STEP[unit], (part, worked.face, x, y, found, wanted)
    needed = set()
    for place in product(*(_places(axis) for axis in planes)):
        by = []
        for worked in faces:
            axis, ((right, _), (up, _)) = AXES[worked.face], ways[worked.face]
            deep = part.size[axis].mm - place[axis] if worked.face in FAR else place[axis]
            if deep < taken[worked.face][place[right], place[up]]:
                by.append((worked.face, place[right], place[up]))
        assert bool(by) == _is_gone(part, list(place)), (part, place)
        needed.update(by[:1])
    cut = {(face, x, y) for face, depths in taken.items() for (x, y), depth in depths.items() if depth}
    assert cut == needed, part  # and nothing is cut from a face that earlier ones have cut already
    return tried


def _areas(part: Part, face: Face) -> dict[Fraction, Fraction]:
    """By depth, how much of a face is cut so deep by rectangular cuts, in square millimetres."""
    square = replace(part, cuts=tuple(cut for cut in part.cuts if isinstance(cut.outline, Rectangle)))
    planes = _planes(square)
    u, v = (a for a in range(3) if a != AXES[face])
    found: dict[Fraction, Fraction] = {}
    for (x0, x1), (y0, y1) in product(pairwise(planes[u]), pairwise(planes[v])):
        at = [Fraction(0)] * 3
        at[u], at[v] = (x0 + x1) / 2, (y0 + y1) / 2
        depth = _wanted_depth(square, face, at, planes)
        found[depth] = found.get(depth, Fraction(0)) + (x1 - x0) * (y1 - y0)
    return found


def _area(rings: list[Ring], layer: str) -> float:
    """The area within an odd number of a layer's polygons."""
    whole = shapely.Polygon()
    for name, ring in rings:
        if name == layer:
            whole = whole.symmetric_difference(ring)
    return float(whole.area)


def _bored(files: list[Dxf], unit: str) -> Counter[float]:
    """How often each diameter is bored, in millimetres."""
    circles = [entity for file in files for entity in file.modelspace().query("CIRCLE")]
    return Counter(round(2 * entity.dxf.radius * float(PER[unit]), 6) for entity in circles)


TASKS = ("STOCK", "POCKET", "BORE", "INNER", "OUTER")


def _assert_sound(file: Dxf, rings: list[Ring], unit: str, release: str) -> None:
    """Nothing twice, inner before outer, shallow before deep; layers that R12 takes; units and extents as they are."""
    assert len({(layer, ring.wkt) for layer, ring in rings}) == len(rings)
    order = [(TASKS.index(layer[2:8].rstrip("-U")), layer) for layer, _ in rings]
    assert order == sorted(order)
    names = {layer.dxf.name for layer in file.layers} - {"W-FOLD--U-"}
    assert {layer for layer, _ in rings} == names - {"0", "Defpoints"}
    assert all(re.fullmatch(r"[A-Z0-9_-]{1,31}", layer) for layer, _ in rings)
    assert file.acad_release == release
    header = file.header
    if release == "R2010":
        assert header["$INSUNITS"] == {"in": 1, "mm": 4}[unit]
        assert header["$MEASUREMENT"] == {"in": 0, "mm": 1}[unit]
    bounds = shapely.unary_union([ring for _, ring in rings]).bounds
    for low, high in (("$EXTMIN", "$EXTMAX"), ("$LIMMIN", "$LIMMAX")):
        assert (*header[low][:2], *header[high][:2]) == pytest.approx(bounds, abs=1e-9)


def _assert_is(part: Part, unit: str, release: str) -> tuple[int, int]:
    """The files of a part, read back, cut it. Gives how many points and how many holes were looked at."""
    faces = worked_faces(part)
    files = [_read(write_machine_dxf(face.paths, unit=unit, release=release)) for face in faces]
    rings = [_rings(file) for file in files]
    for file, each in zip(files, rings, strict=True):
        _assert_sound(file, each, unit, release)
    wanted = _areas(part, faces[0].face)
    thickness = part.size[AXES[faces[0].face]].mm
    square = float(PER[unit]) ** 2
    whole = sum(wanted.values()) - wanted.pop(thickness, Fraction(0))
    assert _area(rings[0], "W-OUTER-E-") - _area(rings[0], "W-INNER-E-") == pytest.approx(float(whole) / square)
    for depth in wanted.keys() - {Fraction(0)}:
        layer = "W-POCKETE-_D" + f"{round(depth / PER[unit] * STEP[unit])}".zfill({"in": 5, "mm": 6}[unit])
        area = sum(ring.area for name, ring in rings[0] if name == layer and len(ring.exterior.coords) > 100)
        assert _area(rings[0], layer) - area == pytest.approx(float(wanted[depth]) / square)
    folds = [line.dxf for line in files[0].modelspace().query("LINE")]
    assert [line.start.y for line in folds] == pytest.approx([float(fold.at.mm / PER[unit]) for fold in part.folds])
    assert all(line.end.y == line.start.y and line.start.x == 0 for line in folds)
    assert all(line.end.x == pytest.approx(float(part.length.mm / PER[unit])) for line in folds)
    assert not any(file.modelspace().query("LINE") for file in files[1:])
    bored = [cut.outline.diameter.mm for cut in part.cuts if isinstance(cut.outline, RoundOutline)]
    assert _bored(files, unit) == Counter(round(float(diameter), 6) for diameter in bored)
    return _check(part, faces, rings, unit), len(bored)


@pytest.mark.slow("the first of them works out the faces of every part")
@pytest.mark.invariant
@pytest.mark.parametrize("unit", ["in", "mm"])
@pytest.mark.parametrize("release", ["R2010", "R12"])
def test_what_is_read_back_is_the_part(made: tuple[Part, ...], unit: str, release: str) -> None:
    """All items, boxes and joints sampled: outline, openings, pockets with depth, holes with diameter, in each cell."""
    looked_at = [_assert_is(part, unit, release) for part in made]
    assert len(made) > 60
    assert sum(points for points, _ in looked_at) > 1000
    assert sum(holes for _, holes in looked_at) > 100
    assert sum(len(part.folds) for part in made) > 2


def _rectangle(*corners: str) -> Rectangle:
    return Rectangle(*(inch(value) for value in corners))


def _part(*cuts: Cut, on_edge: bool = False) -> Part:
    return Part("odd", board_material(inch("3/4")), inch(9), inch(4), inch("3/4"), cuts=cuts, on_edge=on_edge)


ODD = {
    "every face": _part(
        Cut("mortise", Face.UPPER, _rectangle("1", "1/4", "2 1/2", "1/2"), inch(1)),
        Cut("mortise", Face.LOWER, _rectangle("5", "1/8", "6", "1/2"), inch("3/4")),
        Cut("slot", Face.RIGHT, _rectangle("1", "1/4", "2", "1/2"), inch("1/2")),
        Cut("slot", Face.LEFT, _rectangle("2 1/2", "1/8", "3", "1/4"), inch("3/8")),
        Cut("hand hold", Face.SHOW, _rectangle("3", "1", "5", "2"), inch("1/8")),
        Cut("rabbet", Face.BACK, _rectangle("0", "0", "9", "3/8"), inch("1/8")),
        Cut("hole", Face.BACK, RoundOutline(inch(8), inch(3), inch("1/2")), inch("1/2")),
        Cut("hole", Face.UPPER, RoundOutline(inch("7 1/2"), inch("3/8"), inch("1/4")), inch(4)),
        Cut("hole", Face.SHOW, RoundOutline(inch("6 1/2"), inch(3), inch("5/8")), inch("3/4")),
    ),
    "steps and an island": _part(
        Cut("step", Face.BACK, _rectangle("1", "1", "7", "3"), inch("1/4")),
        Cut("step", Face.BACK, _rectangle("2", "1", "5", "2"), inch("1/2")),
        Cut("ring", Face.BACK, _rectangle("7 1/2", "1", "8 3/4", "1 1/4"), inch("1/8")),
        Cut("ring", Face.BACK, _rectangle("7 1/2", "2", "8 3/4", "2 1/4"), inch("1/8")),
        Cut("ring", Face.BACK, _rectangle("7 1/2", "1", "7 3/4", "2 1/4"), inch("1/8")),
        Cut("ring", Face.BACK, _rectangle("8 1/2", "1", "8 3/4", "2 1/4"), inch("1/8")),
    ),
    "touching at corners": _part(
        Cut("notch", Face.SHOW, _rectangle("1", "1", "2", "2"), inch("3/4")),
        Cut("notch", Face.SHOW, _rectangle("2", "2", "3", "3"), inch("3/4")),
        Cut("notch", Face.SHOW, _rectangle("0", "3", "1", "4"), inch("3/4")),
        Cut("step", Face.SHOW, _rectangle("5", "1", "6", "2"), inch("1/4")),
        Cut("step", Face.SHOW, _rectangle("6", "2", "7", "3"), inch("1/4")),
    ),
    "on edge": _part(Cut("notch", Face.UPPER, _rectangle("2", "0", "3", "3/8"), inch(1)), on_edge=True),
    "slot through the edges": _part(Cut("slot", Face.LOWER, _rectangle("2", "1/4", "6", "1/2"), inch(4))),
}


@pytest.mark.invariant
@pytest.mark.parametrize("name", ODD)
@pytest.mark.parametrize("release", ["R2010", "R12"])
def test_parts_that_no_item_has_are_cut_as_they_are(name: str, release: str) -> None:
    """Cuts from all six faces, steps, islands, corners that touch, strips on edge: each seen the right way round."""
    _assert_is(ODD[name], "in", release)


def test_the_faces_of_a_part_worked_from_all_sides() -> None:
    """Outline and holes that go through are in the first file only; every other has the block for its frame."""
    first, *others = worked_faces(ODD["every face"])
    assert {face.face for face in (first, *others)} == set(Face)
    assert [path.task for path in first.paths].count("outer") == 1
    for face in others:
        tasks = [path.task for path in face.paths]
        assert tasks[0] == "stock"
        assert "outer" not in tasks
    assert [path.task for face in others for path in face.paths].count("bore") == 1


_PLACES = st.integers(0, 6)


@st.composite
def _any_part(draw: st.DrawFn) -> Part:
    """A block of six by six by six with up to four rectangular cuts from any face."""
    cuts = []
    for _ in range(draw(st.integers(0, 4))):
        u0, u1 = sorted(draw(st.lists(_PLACES, min_size=2, max_size=2, unique=True)))
        v0, v1 = sorted(draw(st.lists(_PLACES, min_size=2, max_size=2, unique=True)))
        outline = Rectangle(*(inch(value) for value in (u0, v0, u1, v1)))
        cuts.append(Cut("cut", draw(st.sampled_from(list(Face))), outline, inch(draw(st.integers(1, 6)))))
    return Part("any", EXISTING, inch(6), inch(6), inch(6), cuts=tuple(cuts), on_edge=draw(st.booleans()))


@pytest.mark.invariant
@settings(max_examples=tries(60), deadline=None, derandomize=True)
@given(_any_part())
def test_any_block_with_cuts_is_cut_as_it_is(part: Part) -> None:
    """Unless nothing of it is left."""
    planes = _planes(part)
    if all(_is_gone(part, list(at)) for at in product(*(_places(axis) for axis in planes))):
        return
    _assert_is(part, "mm", "R12")


@pytest.mark.invariant
@pytest.mark.parametrize("release", ["R2010", "R12"])
def test_a_second_reader_finds_the_same(made: tuple[Part, ...], release: str) -> None:
    """GDAL's driver: as many shapes on each layer, all closed, of the same area (circles within its own chords)."""
    import pyogrio

    for part in (*made, *ODD.values()):
        faces = worked_faces(part)
        for face in faces:
            data = write_machine_dxf(face.paths, unit="in", release=release, comments=["one", "two"])
            _, _, shapes, fields = pyogrio.raw.read(data)
            rings = _rings(_read(data))
            is_fold = [str(layer) == "W-FOLD--U-" for layer in fields[0]]
            assert sum(is_fold) == (len(part.folds) if face is faces[0] else 0)
            lines = [line for line, fold in zip(shapely.from_wkb(shapes), is_fold, strict=True) if not fold]
            assert all(line.is_closed for line in lines)
            assert [str(layer) for layer in fields[0] if str(layer) != "W-FOLD--U-"] == [layer for layer, _ in rings]
            for line, (_, ring) in zip(lines, rings, strict=True):
                assert shapely.Polygon(line.coords).area == pytest.approx(ring.area, rel=0.01)
                assert line.bounds == pytest.approx(ring.bounds, abs=1e-3)


@pytest.fixture(scope="module")
def few(uncut_text: Callable[[str], PlannedBatch]) -> PlannedBatch:
    """Two eights of boards with rabbets, planned for a first look."""
    text = DESIGN.format(unit="in", joint="rabbet in the ends", mounting="flush rabbet", raised="", box=BOXES["eight"])
    planned = uncut_text(text.replace('"packing blocks"', '"packing blocks", "vent spacers"'))
    plans = tuple(replace(each, plan=plan(each.job.job, effort="quick")) for each in planned.plans)
    return replace(planned, plans=plans)


def _layouts(planned: PlannedBatch) -> Iterator[tuple[NumberedLayout, str]]:
    for n, layout in enumerate(numbered_layouts(planned), 1):
        yield layout, f"layout-{n:0{len(str(len(numbered_layouts(planned))))}d}-"


@pytest.mark.invariant
def test_a_layout_holds_every_piece_whole_and_a_kerf_apart(few: PlannedBatch) -> None:
    files = machine_files(few)
    needs = {need.mark: need.part for need in needs_of(few)}
    count = 0
    for layout, name in _layouts(few):
        found = [path for path in files if path.split("/")[-1].startswith(name)]
        kerf = layout.plan.job.job.kerf
        by_hand = layout.material.name.startswith(("mesh", "cloth"))
        assert len(found) == (0 if by_hand or not min(kerf.rip, kerf.crosscut) else 2)
        for path in found:
            count += 1
            file = _read(files[path])
            rings = _rings(file)
            _assert_sound(file, rings, "in", "R12" if "r12" in path else "R2010")
            board = next(ring for layer, ring in rings if layer == "W-STOCK-U-")
            assert board.bounds == pytest.approx((0, 0, float(layout.length.inches), float(layout.width.inches)))
            outer = [ring for layer, ring in rings if layer == "W-OUTER-E-"]
            assert len(outer) == len(layout.pieces)
            least = float((layout.plan.job.grid * min(kerf.rip, kerf.crosscut)).inches)
            for n, ring in enumerate(outer):
                assert board.covers(ring)
                assert all(ring.distance(other) >= least - 1e-9 for other in outer[:n])
            for layer in {layer for layer, _ in rings} - {"W-STOCK-U-"}:
                alone = 0.0
                for piece in layout.pieces:
                    face = worked_faces(needs[piece.mark])[0]
                    own = _rings(_read(write_machine_dxf(face.paths, unit="in", release="R12")))
                    alone += _area(own, layer)
                assert _area(rings, layer) == pytest.approx(alone)
    assert count >= 4


def test_a_turned_piece_is_turned_and_not_mirrored() -> None:
    """A quarter turn to the left: what was at the lower left is at the lower right, and outlines keep their sense."""
    face = worked_faces(_part(Cut("notch", Face.SHOW, _rectangle("0", "0", "1", "2"), inch("3/4"))))[0]
    (before,) = face.paths
    (after,) = laid(face, (inch(10), inch(20)), turned=True)
    was, now = (shapely.Polygon([(float(x.inches), float(y.inches)) for x, y in p.corners]) for p in (before, after))
    assert now.exterior.is_ccw == was.exterior.is_ccw
    assert now.bounds == (10, 20, 14, 29)
    assert now.equals(shapely.affinity.translate(shapely.affinity.rotate(was, 90, origin=(0, 0)), 14, 20))
    assert not now.contains(shapely.Point(13, 20.5))


def test_files_are_named_in_order_and_say_what_they_are(few: PlannedBatch) -> None:
    """Sorted names follow the marks and the faces; comments give part, face, unit, layers, kerf."""
    files = machine_files(few)
    names = [path for path in files if path.startswith(FOLDERS["R2010"] + "/part")]
    assert names == sorted(names)
    assert {path.replace(FOLDERS["R12"], FOLDERS["R2010"]) for path in files} == {
        path for path in files if path.startswith(FOLDERS["R2010"] + "/")
    }
    marks = [need.mark for need in needs_of(few) if not need.part.material.name.startswith(("mesh", "cloth"))]
    assert [name.split("/")[-1].split("-")[2] for name in names if "-1-" in name] == marks
    assert any(name.endswith("-1-back-face-in.dxf") for name in names)
    for path, data in files.items():
        text = data.decode("ascii")
        said = re.findall(r"^999\r\n(.*)\r$", text, re.M)
        assert text.startswith("999\r\n")
        assert "one drawing unit is one inch" in said
        assert any("kerf" in line for line in said)
        layers = {layer for layer, _ in _rings(_read(data))}
        assert {line.split(":")[0].removeprefix("layer ") for line in said if line.startswith("layer ")} == layers
        assert all(len(line) <= 255 for line in said), path


def test_nothing_is_given_to_a_machine_when_the_checks_find_errors(few: PlannedBatch) -> None:
    fault = replace(few.report.findings[0], severity=Severity.ERROR)
    assert machine_files(replace(few, report=Report((fault,)))) == {}


def test_the_same_paths_give_the_same_bytes_and_odd_words_do_no_harm() -> None:
    """A line break in a comment cannot smuggle in a record; what a release cannot write becomes a question mark."""
    (face,) = worked_faces(ODD["on edge"])
    comment = "Ås 0\r\n  0\r\nEOF \x00 מ"
    for release in ("R2010", "R12"):
        data = write_machine_dxf(face.paths, unit="mm", release=release, comments=[comment])
        assert data == write_machine_dxf(face.paths, unit="mm", release=release, comments=[comment])
        assert data.decode("utf-8").splitlines()[2].strip() == "0"
        assert len(_rings(_read(data))) == len(face.paths)


@pytest.mark.parametrize(
    ("unit", "release", "wanted"),
    [("cubit", "R12", "'in' or 'mm'"), ("in", "R9", "R2010, R12"), ("in", "R12", "nothing")],
)
def test_what_cannot_be_written_is_refused(unit: str, release: str, wanted: str) -> None:
    paths = () if wanted == "nothing" else worked_faces(ODD["on edge"])[0].paths
    with pytest.raises(ValueError, match=wanted):
        write_machine_dxf(paths, unit=unit, release=release)


@pytest.mark.outside("ISO 13567-2, structure of a layer's name as publicly described: 2, 6 and 2 characters")
def test_layer_names_have_the_fields_of_the_standard() -> None:
    """Agent W (contractor), an element of six characters, presentation E (element graphics) or U (construction)."""
    paths = [path for part in ODD.values() for face in worked_faces(part) for path in face.paths]
    layers = {layer_of(path, "in") for path in paths} | {layer_of(Path(Task.FOLD), "mm")}
    assert len({layer[:10] for layer in layers}) == 6
    for layer in layers:
        assert re.fullmatch(r"W-[A-Z]{4,6}-{0,2}(?:E-|U-)(?:_D\d{5})?", layer)
        assert len(layer.partition("_")[0]) == 2 + 6 + 2
