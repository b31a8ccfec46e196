"""DXF drawings: for viewing, one of each part and each layout; for CNC machines, one of each face and each layout.

Only wood, plywood, steel and plastic have drawings: mesh is cut by hand along its wires, and cloth with scissors. If
the report has errors, no drawings are made. A layout planned without a kerf has no file, because its
pieces share their edges, and a machine needs space between them.
"""

import re

from woodshop.design.lumber import Need
from woodshop.documents.fullsize.labels import label_pages
from woodshop.documents.fullsize.story_stick import stops, story_stick_plates
from woodshop.documents.fullsize.templates import template_plates
from woodshop.documents.packet.layouts import NumberedLayout, kept_offcuts, layout_drawing, numbered_layouts, to_machine
from woodshop.documents.packet.parts import has_grain
from woodshop.drawing.pens.dxf import layer_of, write_dxf, write_machine_dxf
from woodshop.drawing.values.model import Paragraph
from woodshop.drawing.views.machine import Path, Task, WorkedFace, frame, laid, worked_faces
from woodshop.drawing.views.part import part_drawing
from woodshop.plan.values import PlannedBatch
from woodshop.reference.materials import Form
from woodshop.units.wording import Wording


def drawing_files(planned: PlannedBatch) -> dict[str, bytes]:
    """DXF files by path: drawings/part-01-A-... and drawings/layout-01-..., numbered like the machine files."""
    files: dict[str, bytes] = {}
    unit, wording = planned.batch.unit, Wording(planned.batch.unit)
    needs = to_machine(planned)
    places = len(str(len(needs)))
    for n, need in enumerate(needs, 1):
        drawing = part_drawing(
            need.part, address=need.address, count=need.count, wording=wording, grain=has_grain(need.part)
        )
        name = f"drawings/part-{n:0{places}d}-{need.mark}-{slug(need.address)}.dxf"
        files[name] = write_dxf(drawing, unit=unit)
    layouts = numbered_layouts(planned)
    kept = kept_offcuts(planned)
    digits = max((len(layout.number) for layout in layouts), default=0)
    for layout in layouts:
        name = f"drawings/layout-{layout.number:0>{digits}}-{slug(layout.what)}.dxf"
        files[name] = write_dxf(layout_drawing(layout, planned, kept[layout.name]), unit=unit)
    return files


def full_size_words(planned: PlannedBatch) -> list[Paragraph]:
    """A paragraph for each file of full-size sheets: its pages, what is on them, and where to use it."""
    templates, labels = template_plates(planned), [] if planned.report.has_errors else label_pages(planned)
    lengths = stops(planned)
    files = []
    if lengths:
        what = f"{len(lengths)} crosscut lengths, to set the stop"
        files.append(("story-stick.pdf", len(story_stick_plates(planned)), what))
    if templates:
        what = "outlines of openings, holes and packing blocks, to mark on the wood"
        files.append(("templates.pdf", len(templates), what))
    if labels:
        files.append(("labels.pdf", len(labels), "a label for each assembled item and each hive"))
    words = [f"{name}, {count} page{'' if count == 1 else 's'}: {what}" for name, count, what in files]
    text = f"Print at 100% and measure the printed check bars. {'. '.join(words)}."
    return [Paragraph(text, lead="Full-size sheets.")] if words else []


def slug(text: str) -> str:
    """The text in lower-case letters, digits and dashes, safe as a file name everywhere."""
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:80]


FOLDERS = {"R2010": "drawings/machine", "R12": "drawings/machine-r12"}
MEANINGS = {
    Task.STOCK: "outline of the stock or the piece; do not cut",
    Task.FOLD: "fold line; do not cut",
    Task.BORE: "round hole through the part",
    Task.INNER: "opening through the part, cutter inside the line",
    Task.OUTER: "outline of the part, cutter outside the line",
}
_REMARKS = (
    "the lines are the finished edges: kerf and cutter radius are left to the machine",
    "depths are measured from the machined face; pockets open at an edge end there, with no over-travel",
    "inner corners are square: a round cutter leaves its radius in them",
    "no tabs, hold-downs or feeds: set and test them by the machine maker's manual; guard and eye protection first",
)


def machine_files(planned: PlannedBatch) -> dict[str, bytes]:
    """DXF files by path, R2010 in drawings/machine and R12 in drawings/machine-r12.

    Parts are part-01-A-<address>-1-<face>-<unit>.dxf, in the order of the marks and faces. Layouts are
    layout-01-<stock>-<unit>.dxf, numbered as on the cutting pages.
    """
    if planned.report.has_errors:
        return {}
    files: dict[str, bytes] = {}
    unit = planned.batch.unit
    needs = to_machine(planned)
    worked = {n.mark: worked_faces(n.part) for n in needs if n.part.material.form is not Form.ROLL}
    places = len(str(len(needs)))
    for n, need in enumerate(needs, 1):
        for step, face in enumerate(worked.get(need.mark, ()), 1):
            name = f"part-{n:0{places}d}-{need.mark}-{slug(need.address)}-{step}-{slug(face.face)}-{unit}.dxf"
            _put(files, name, face.paths, unit, _part_comments(need, face, step, unit))
    layouts = numbered_layouts(planned)
    places = max((len(layout.number) for layout in layouts), default=0)
    for layout in layouts:
        kerf = layout.plan.job.job.kerf
        if layout.material.form is Form.ROLL or not min(kerf.rip, kerf.crosscut):
            continue
        name = f"layout-{layout.number:0>{places}}-{slug(layout.what)}-{unit}.dxf"
        _put(files, name, layout_paths(layout, worked), unit, _layout_comments(layout, worked, unit))
    return files


def layout_paths(layout: NumberedLayout, worked: dict[str, tuple[WorkedFace, ...]]) -> tuple[Path, ...]:
    """The outline of the board and all cuts, with every piece in its place and its first face up."""
    paths = [frame((layout.length, layout.width))]
    for piece in layout.pieces:
        paths += laid(worked[piece.mark][0], (piece.x, piece.y), piece.turned)
    return tuple(paths)


def _put(files: dict[str, bytes], name: str, paths: tuple[Path, ...], unit: str, comments: tuple[str, ...]) -> None:
    said = (*comments, *_layer_text(paths, unit), *_REMARKS)
    for release, folder in FOLDERS.items():
        files[f"{folder}/{name}"] = write_machine_dxf(paths, unit=unit, release=release, comments=said)


def _unit_text(unit: str) -> str:
    return f"one drawing unit is one {'inch' if unit == 'in' else 'millimeter'}"


def _part_comments(need: Need, face: WorkedFace, step: int, unit: str) -> tuple[str, ...]:
    folds = need.part.folds if step == 1 else ()
    across = ", from a piece already cut out" if step > 1 else ""
    return (
        f"part {need.mark}: {need.address}",
        f"make {need.count}, {need.part.material}, {face.thickness.text(unit)} through this face",
        f"set-up {step}: {face.face} up{across}",
        *(f"fold {fold.at.text(unit)} above the lower edge, seen from the show face: {fold.how}" for fold in folds),
        _unit_text(unit),
    )


def _layout_comments(layout: NumberedLayout, worked: dict[str, tuple[WorkedFace, ...]], unit: str) -> tuple[str, ...]:
    times = "once" if layout.times == 1 else f"{layout.times} times"
    kerf = layout.plan.job.grid * min(layout.plan.job.job.kerf.rip, layout.plan.job.job.kerf.crosscut)
    marks = [piece.mark for piece in layout.pieces]
    pieces = (f"{marks.count(mark)} x {mark}, {worked[mark][0].face} up" for mark in dict.fromkeys(marks))
    return (
        f"{layout.name}: {layout.what}, cut {times}",
        *pieces,
        _unit_text(unit),
        f"pieces are {kerf.text(unit)} apart, the saw's kerf: a wider cutter needs a plan made with its width",
    )


def _layer_text(paths: tuple[Path, ...], unit: str) -> list[str]:
    """The meaning of each layer in the file, and the exact depths of the pockets."""
    names = {layer_of(path, unit): path for path in paths}
    found = []
    for name, path in sorted(names.items(), key=lambda row: (list(Task).index(row[1].task), row[0])):
        meaning = MEANINGS.get(path.task) or f"blind cut, {path.depth.text(unit) if path.depth else ''} deep"
        found.append(f"layer {name}: {meaning}")
    return found
