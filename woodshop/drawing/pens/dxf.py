"""The DXF pens: a full-size drawing with one layer per meaning, and a machine file with one layer per task and depth.

The drawing is DXF R2010 (AutoCAD DXF reference, group codes). In it, $INSUNITS is 1 for inches and 4 for millimeters.
The same drawing gives the same bytes.

The machine file has closed polylines and circles to cut at full size. Folds are LINE entities on their own layer. There
are no other entities. It comes in two releases of the format (Autodesk DXF Reference; not checked against it): R2010
with LWPOLYLINE entities, and R12 with POLYLINE entities for machines that cannot read later releases. Layer names
follow the structure of ISO 13567-2 as far as it is publicly described: agent responsible (2 characters), element (6),
presentation (2), then our own field. They contain only letters, digits, - and _, at most 31 characters, as R12
requires.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from io import StringIO
from typing import Any, NamedTuple

from woodshop.drawing import unconfigured
from woodshop.drawing.arranging.arrange import LaidView, fitted
from woodshop.drawing.arranging.places import PlacedDimension
from woodshop.drawing.values.model import Circle, Drawing, Fill, Kind, Label, Line, Point, Region
from woodshop.drawing.values.paper import Mark, Ring, Spot, Stroke, Word
from woodshop.drawing.values.style import CAP_HEIGHT, POINTS_PER_MM, clean
from woodshop.drawing.views.machine import Path, Task, in_order
from woodshop.units.lengths import MM_PER_INCH, Length

INSERT_UNITS = {"in": 1, "mm": 4}
_LINE_WEIGHTS = {"OUTLINE": 50, "THROUGH": 50, "HOLES": 50, "CUT": 50, "EDGE": 35, "HIDDEN": 25}  # 1/100 mm
_LINE_TYPES = {"HIDDEN": "DASHED", "CENTRE": "CENTER", "CUT": "DASHED"}
_ROOM = (500.0, 650.0)  # points: the paper for which texts are sized
_STYLE = "SHOP"
_CONDENSED = 0.85  # other programs use wider typefaces than the one for which places were found


def write_dxf(drawing: Drawing, *, unit: str | None = None) -> bytes:
    """The drawing as DXF R2010 text, at full size in "in" or "mm" (by default its own unit).

    The file's origin is that of the first view. Closed outlines are LWPOLYLINE entities, circles are CIRCLE, and
    dimensions are DIMENSION. Layers: OUTLINE; THROUGH (openings) and HOLES (round ones); POCKET_<depth>, such as
    POCKET_3-8IN, with the closed outline of each blind cut made from the first view's face; EDGE, HIDDEN, CENTRE, CUT,
    THIN, HATCH, DIM, TEXT. Raises ValueError for another unit.
    """
    unit = unit or drawing.unit
    if unit not in INSERT_UNITS:
        raise ValueError(f"unit {unit!r}; wanted 'in' or 'mm'")
    with unconfigured():
        import ezdxf
        from ezdxf.filemanagement import new

    inner = [[label for label in view.labels if label.within is not None] for view in drawing.views]
    views = [
        replace(
            view, stretch=Fraction(1), enlarged=1, labels=tuple(label for label in view.labels if label.within is None)
        )
        for view in drawing.views
    ]
    drawing = replace(drawing, unit=unit, views=tuple(views))
    drawn = fitted(drawing, *_ROOM)
    with fixed_metadata(ezdxf):
        file = new("R2010", units=INSERT_UNITS[unit])
        file.header["$INSUNITS"] = INSERT_UNITS[unit]
        file.header["$MEASUREMENT"] = 0 if unit == "in" else 1
        pen = _Pen(file, unit, drawn.scale)
        origin = drawn.views[0][1]
        for (laid, spot), labels in zip(drawn.views, inner, strict=True):
            by = pen.put_view(laid, (spot[0] - origin[0], spot[1] - origin[1]))
            for label in labels:
                pen.put_label(label, by)
        box = drawn.sheet.box
        pen.put_lines(_title_block(drawing), (box.left - origin[0], box.bottom - origin[1] - 18.0))
        for name in sorted(file.entitydb.dxf_types_in_use()):  # the library would add them in the order of a set
            file.classes.add_class(name)
        text = StringIO()
        file.write(text)
    return text.getvalue().encode("utf-8")


def _title_block(drawing: Drawing) -> list[str]:
    """The text of the title block: title, fields, notes and unit."""
    fields = [f"{name}: {value}" for name, value in drawing.fields]
    if drawing.address and not any(value == drawing.address for _, value in drawing.fields):
        fields.insert(0, drawing.address)
    unit = {"in": "inch", "mm": "millimetre"}[drawing.unit]
    return [drawing.title, *fields, *drawing.notes, f"full size, one drawing unit is one {unit}"]


@contextmanager
def fixed_metadata(ezdxf: Any) -> Iterator[None]:
    """Keeps time stamps and random names out of the file, and restores the setting of the library afterward."""
    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before


class _Pen:
    """Draws views in the model space of a DXF document."""

    def __init__(self, file: Any, unit: str, scale: Fraction) -> None:
        self.file, self.unit = file, unit
        self.space = file.modelspace()
        self.mm = MM_PER_INCH if unit == "in" else Fraction(1)
        self.point = float(1 / (scale * POINTS_PER_MM * self.mm))  # one point on paper, in the drawing's unit
        for name, pattern in (("DASHED", [0.6, 0.4, -0.2]), ("CENTER", [1.5, 1.0, -0.2, 0.1, -0.2])):
            if name not in file.linetypes:
                size = 20.0 * self.point
                file.linetypes.add(name, [part * size for part in pattern])
        style = file.dimstyles.duplicate_entry("Standard", _STYLE)
        style.dxf.dimtxt = 14.0 * CAP_HEIGHT * self.point
        style.dxf.dimtsz = 3.0 * self.point
        style.dxf.dimexo, style.dxf.dimexe, style.dxf.dimgap = (n * self.point for n in (2.0, 3.0, 3.0))
        style.dxf.dimlunit, style.dxf.dimdec = (5, 6) if unit == "in" else (2, 2)
        style.dxf.dimtih, style.dxf.dimtoh, style.dxf.dimtad = 1, 1, 0

    def layer(self, name: str) -> dict[str, str]:
        """The attributes that put an entity on a layer; creates the layer if needed."""
        if name not in self.file.layers:
            self.file.layers.add(
                name, color=7, linetype=_LINE_TYPES.get(name, "CONTINUOUS"), lineweight=_LINE_WEIGHTS.get(name, 18)
            )
        return {"layer": name}

    def at(self, point: Point) -> Spot:
        """A point in real space, converted to the file's unit."""
        return float(point[0].mm / self.mm), float(point[1].mm / self.mm)

    def put_view(self, laid: LaidView, offset: Spot) -> Spot:
        """Draws one view at `offset` (points on paper) from the first, and returns its actual position.

        The position is rounded to 1/8 in or 1 mm.
        """
        grid = 0.125 if self.unit == "in" else 1.0
        by = (round(offset[0] * self.point / grid) * grid, round(offset[1] * self.point / grid) * grid)
        view = laid.view
        bounded = False
        for line in view.lines:
            self.put_line(line, by, "THROUGH" if bounded else "OUTLINE")
            bounded = bounded or (line.closed and line.kind is Kind.OUTLINE and not view.regions)
        for circle in view.circles:
            self.put_circle(circle, by)
        for region in view.regions:
            self.put_region(region, by)
        for placed in laid.dimensions:
            self.put_dimension(placed, by)
        for mark in laid.words:
            self.put_mark(self.space, mark, by, "TEXT")
        return by

    def put_label(self, label: Label, by: Spot) -> None:
        """Draws a label inside its rectangle, however small its text becomes, because viewers can zoom in."""
        if label.within is None:
            return
        (x0, y0), (x1, y1) = (_moved(self.at(point), by) for point in label.within)
        text = clean(label.text)
        turn = y1 - y0 > x1 - x0
        long, narrow = max(x1 - x0, y1 - y0), min(x1 - x0, y1 - y0)
        height = min(11.5 * CAP_HEIGHT * self.point, 0.5 * narrow, 0.9 * long / (0.9 * max(len(text), 1)))
        self.put_text(self.space, text, ((x0 + x1) / 2, (y0 + y1) / 2), height, turn, "TEXT")

    def put_lines(self, lines: Sequence[str], start: Spot) -> None:
        """Draws lines of text, one below another; `start` is the position of the first on paper."""
        for i, line in enumerate(lines):
            place = self.moved((start[0], start[1] - 16.0 * i), (0.0, 0.0))
            height = 11.5 * CAP_HEIGHT * self.point
            entity = self.space.add_text(clean(line), height=height, dxfattribs=self.layer("TEXT"))
            entity.set_placement(place)

    def put_text(self, space: Any, text: str, middle: Spot, height: float, turn: bool, name: str) -> None:
        """Draws a line of text centered on a position."""
        from ezdxf.enums import TextEntityAlignment

        entity = space.add_text(text, height=height, rotation=90.0 if turn else 0.0, dxfattribs=self.layer(name))
        entity.dxf.width = _CONDENSED
        entity.set_placement(middle, align=TextEntityAlignment.MIDDLE_CENTER)

    def put_line(self, line: Line, by: Spot, closed_layer: str) -> None:
        """Draws an outline or an edge."""
        name = line.kind.value.upper()
        if line.kind is Kind.POCKET and line.depth is not None:
            name = self.pocket(line.depth)
        elif line.kind is Kind.OUTLINE:
            name = closed_layer if line.closed else "EDGE"
        points = [_moved(self.at(point), by) for point in line.points]
        if len(points) == 2 and not line.closed:
            self.space.add_line(*points, dxfattribs=self.layer(name))
        else:
            self.space.add_lwpolyline(points, close=line.closed, dxfattribs=self.layer(name))

    def pocket(self, depth: Length) -> str:
        """The layer of a blind cut.

        Because not all programs allow a slash or a space in layer names, 1 1/4 becomes 1_1-4.
        """
        return f"POCKET_{depth.number(self.unit).replace(' ', '_').replace('/', '-')}{self.unit.upper()}"

    def put_circle(self, circle: Circle, by: Spot) -> None:
        """Draws a round cut or another circle."""
        name = circle.kind.value.upper()
        if circle.kind is Kind.OUTLINE:
            name = "HOLES" if circle.through else "EDGE"
        elif circle.kind is Kind.POCKET and circle.depth is not None:
            name = self.pocket(circle.depth)
        radius = float(circle.diameter.mm / self.mm / 2)
        self.space.add_circle(_moved(self.at(circle.centre), by), radius, dxfattribs=self.layer(name))

    def put_region(self, region: Region, by: Spot) -> None:
        """Draws a hatched area."""
        if region.fill not in (Fill.HATCH, Fill.CROSS):
            return
        hatch = self.space.add_hatch(dxfattribs=self.layer("HATCH"))
        step = 6.0 * self.point * (1.0 if region.fill is Fill.HATCH else 2.0)
        angles = (45.0,) if region.fill is Fill.HATCH else (45.0, 135.0)
        lines = [
            [angle, (0.0, 0.0), (-step * 0.70710678, step * 0.70710678 * (1 if angle < 90 else -1)), []]
            for angle in angles
        ]
        hatch.set_pattern_fill("SHOP", scale=1.0, definition=lines)
        hatch.paths.add_polyline_path([_moved(self.at(p), by) for p in region.outline], is_closed=True)

    def put_dimension(self, placed: PlacedDimension, by: Spot) -> None:
        """Draws a DIMENSION entity. Its block has the strokes and the text as arranged on paper."""
        dimension = placed.dimension
        box = placed.word.box
        middle = self.moved(((box.left + box.right) / 2, (box.bottom + box.top) / 2), by)
        text = dimension.text(self.unit)
        entity = self.space.add_linear_dim(
            base=self.moved(placed.start, by),
            p1=_moved(self.at(dimension.start), by),
            p2=_moved(self.at(dimension.end), by),
            text=text,
            angle=90.0 * dimension.axis,
            dimstyle=_STYLE,
            dxfattribs=self.layer("DIM"),
        ).dimension
        block = self.file.blocks.new_anonymous_block(type_char="D")
        for mark in placed.marks:
            self.put_mark(block, mark, by, "DIM")
        entity.dxf.geometry = block.name
        entity.dxf.text_midpoint = middle
        entity.dxf.actual_measurement = float(dimension.length.mm / self.mm)
        entity.dxf.dimtype = entity.dxf.dimtype | 128  # keep the text at its position

    def moved(self, spot: Spot, by: Spot) -> Spot:
        """A position on the view's paper, converted to the unit of the file."""
        return spot[0] * self.point + by[0], spot[1] * self.point + by[1]

    def put_mark(self, space: Any, mark: Mark, by: Spot, name: str) -> None:
        """Draws a mark that was arranged on paper, at its size in real space."""
        layer = self.layer(name)
        if isinstance(mark, Word):
            box = mark.box
            middle = self.moved(((box.left + box.right) / 2, (box.bottom + box.top) / 2), by)
            self.put_text(space, clean(mark.text), middle, mark.size * CAP_HEIGHT * self.point, mark.turn, name)
        elif isinstance(mark, Ring) and mark.fill == "ink":
            r, (x, y) = mark.radius * self.point / 2, self.moved((mark.x, mark.y), by)
            dot = [(x - r, y, 2 * r, 2 * r, 1.0), (x + r, y, 2 * r, 2 * r, 1.0)]
            space.add_lwpolyline(dot, format="xyseb", close=True, dxfattribs=layer)
        elif isinstance(mark, Ring):
            space.add_circle(self.moved((mark.x, mark.y), by), mark.radius * self.point, dxfattribs=layer)
        elif isinstance(mark, Stroke) and mark.fill == "ink" and len(mark.points) == 3:
            space.add_solid([self.moved(point, by) for point in mark.points], dxfattribs=layer)
        elif isinstance(mark, Stroke) and mark.fill != "paper":
            points = [self.moved(point, by) for point in mark.points]
            space.add_lwpolyline(points, close=mark.closed, dxfattribs=layer)


def _moved(spot: Spot, by: Spot) -> Spot:
    return spot[0] + by[0], spot[1] + by[1]


RELEASES = ("R2010", "R12")
LAYERS = {
    Task.STOCK: ("W-STOCK-U-", 8),
    Task.FOLD: ("W-FOLD--U-", 6),
    Task.POCKET: ("W-POCKETE-", 3),
    Task.BORE: ("W-BORE--E-", 4),
    Task.INNER: ("W-INNER-E-", 5),
    Task.OUTER: ("W-OUTER-E-", 1),
}
"""The layer name for each task, before any depth, and its DXF color number."""
_STEPS = {"in": 10_000, "mm": 1000}  # a depth in a layer name is an integer, in these fractions of the unit
_DIGITS = {"in": 5, "mm": 6}


def layer_of(path: Path, unit: str) -> str:
    """The layer of a path. For a pocket it ends in the depth, in 1/10000 in or 1/1000 mm.

    >>> from woodshop.units.lengths import inch
    >>> rabbet = Path(Task.POCKET, depth=inch("3/8"))
    >>> layer_of(rabbet, "in"), layer_of(rabbet, "mm"), layer_of(Path(Task.OUTER), "in")
    ('W-POCKETE-_D03750', 'W-POCKETE-_D009525', 'W-OUTER-E-')
    """
    name, _ = LAYERS[path.task]
    if path.depth is None:
        return name
    return f"{name}_D{round(_number(path.depth, unit) * _STEPS[unit]):0{_DIGITS[unit]}d}"


def write_machine_dxf(paths: Sequence[Path], *, unit: str, release: str, comments: Sequence[str] = ()) -> bytes:
    """Closed paths as DXF text of a release, "R2010" or "R12", at full size in "in" or "mm".

    Entities are in cutting order. $EXTMIN, $EXTMAX and the limits enclose the paths. In R2010, $INSUNITS and
    $MEASUREMENT state the unit. R12 has neither, so the first comment (group 999, which readers skip) states it too.
    The same paths and `comments` give the same bytes. Raises ValueError if there are no paths, or for another unit or
    release.
    """
    if unit not in INSERT_UNITS:
        raise ValueError(f"unit {unit!r}; wanted 'in' or 'mm'")
    if release not in RELEASES:
        raise ValueError(f"release {release!r}; wanted one of {', '.join(RELEASES)}")
    if not paths:
        raise ValueError("nothing to cut")
    paths = in_order(paths)
    form = _form(release, unit)
    handle = form.first_handle
    layers: dict[str, str] = {}
    for path in paths:
        name = layer_of(path, unit)
        if name not in layers:
            layers[name] = form.layer.replace(_NAME, name).replace(_COLOUR, f"{LAYERS[path.task][1]:d}")
    records = []
    for record in layers.values():
        records.append(record.replace(_HANDLE, f"{handle:X}"))
        handle += 1
    entities = []
    for path in paths:
        text, handle = _entity(form, path, layer_of(path, unit), unit, handle)
        entities.append(text)
    low, high = _extents(paths)
    text = form.file
    for mark, number in zip(_CORNERS, (*low, *high), strict=True):
        text = text.replace(mark, _text(number, unit))
    wide, tall = (_number(b - a, unit) for a, b in zip(low, high, strict=True))
    middle = [repr(_number((a + b) / 2, unit)) for a, b in zip(low, high, strict=True)]
    for mark, word in zip(_VIEW, (*middle, repr(max(tall, wide * 0.75) * 1.1)), strict=True):
        text = text.replace(mark, word)
    text = text.replace(_SEED, f"{handle:X}").replace(_COUNT, str(form.own_layers + len(layers)))
    text = text.replace(_LAYER_PLACE, "".join(records)).replace(_ENTITY_PLACE, "".join(entities))
    head = "".join(f"999\n{clean(line).replace(chr(10), ' ')}\n" for line in comments)
    return (head + text).encode("utf-8" if release != "R12" else "ascii", "replace").replace(b"\n", b"\r\n")


def _entity(form: "_Form", path: Path, layer: str, unit: str, handle: int) -> tuple[str, int]:
    """The text of one entity, and the next free handle."""
    if path.is_round:
        text = form.circle.replace(_HANDLE, f"{handle:X}").replace(_NAME, layer)
        places = zip((_X, _Y, _R), (*path.centre, path.diameter / 2), strict=True)
        for mark, value in places:
            text = text.replace(mark, _text(value, unit))
        return text, handle + 1
    if path.task is Task.FOLD:
        text = form.line.replace(_HANDLE, f"{handle:X}").replace(_NAME, layer)
        (x0, y0), (x1, y1) = path.corners
        for mark, value in zip((_X, _Y, _X1, _Y1), (x0, y0, x1, y1), strict=True):
            text = text.replace(mark, _text(value, unit))
        return text, handle + 1
    points = []
    head = form.polyline.replace(_HANDLE, f"{handle:X}").replace(_NAME, layer)
    end = form.end.replace(_HANDLE, f"{handle + 1:X}").replace(_NAME, layer)
    handle += 2 if end else 1
    for x, y in path.corners:
        point = form.vertex.replace(_X, _text(x, unit)).replace(_Y, _text(y, unit))
        if _HANDLE in point:
            point = point.replace(_HANDLE, f"{handle:X}").replace(_NAME, layer)
            handle += 1
        points.append(point)
    return head.replace(_POINTS, str(len(points))) + "".join(points) + end, handle


def _extents(paths: Sequence[Path]) -> tuple[Point, Point]:
    points = [corner for path in paths for corner in path.corners]
    for path in paths:
        if path.is_round:
            r, (x, y) = path.diameter / 2, path.centre
            points += [(x - r, y - r), (x + r, y + r)]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (min(xs), min(ys)), (max(xs), max(ys))


def _number(length: Length, unit: str) -> float:
    return float(length.mm / MM_PER_INCH if unit == "in" else length.mm)


def _text(length: Length, unit: str) -> str:
    return repr(_number(length, unit))


# The library writes one small file for each release and unit. The text of that file is a form, filled in for every
# machine file. Building the tables and objects around a dozen outlines again and writing them would take the library
# ten milliseconds for each file.
_NAME, _HANDLE, _SEED, _COUNT, _COLOUR = "<name>", "<handle>", "<seed>", "<count>", "<colour>"
_X, _Y, _X1, _Y1, _R, _POINTS = "<x>", "<y>", "<x1>", "<y1>", "<r>", "<points>"
_LAYER_PLACE, _ENTITY_PLACE = "<layers>", "<entities>"
_CORNERS = ("-7001.0", "-7002.0", "7003.0", "7004.0")
_VIEW = ("7005.0", "7006.0", "7007.0")


class _Form(NamedTuple):
    """The text of an empty file, of a layer and of each kind of entity, with a mark in place of each value."""

    file: str
    layer: str
    polyline: str
    vertex: str
    end: str
    circle: str
    line: str
    first_handle: int
    own_layers: int


@lru_cache(maxsize=4)
def _form(release: str, unit: str) -> _Form:
    import logging

    with unconfigured():
        import ezdxf
        from ezdxf.filemanagement import new

    log = logging.getLogger("ezdxf")
    level = log.level
    log.setLevel(logging.ERROR)  # it would report that R12 has no $INSUNITS
    try:
        with fixed_metadata(ezdxf):
            file = new(release, units=INSERT_UNITS[unit])
            file.header["$INSUNITS"] = INSERT_UNITS[unit]
            file.header["$MEASUREMENT"] = 0 if unit == "in" else 1
            space = file.modelspace()
            low, high = (-7001.0, -7002.0), (7003.0, 7004.0)
            space.reset_extents((*low, 0.0), (*high, 0.0))
            space.reset_limits(low, high)
            file.set_modelspace_vport(7007.0, (7005.0, 7006.0))
            file.layers.add("SAMPLE", color=77)
            add: Any = space.add_polyline2d if release == "R12" else space.add_lwpolyline
            add([(7011.0, 7012.0), (7011.0, 7012.0), (7011.0, 7012.0)], close=True, dxfattribs={"layer": "SAMPLE"})
            space.add_circle((7011.0, 7012.0), 7013.0, dxfattribs={"layer": "SAMPLE"})
            space.add_line((7011.0, 7012.0), (7014.0, 7015.0), dxfattribs={"layer": "SAMPLE"})
            for name in sorted(file.entitydb.dxf_types_in_use()):
                file.classes.add_class(name)
            out = StringIO()
            file.write(out)
            count = len(file.layers)
    finally:
        log.setLevel(level)
    return _filled(_records(out.getvalue()), count)


def _records(text: str) -> list[list[tuple[str, str]]]:
    """The tags of the file as (code, value). A new record begins at each code 0."""
    lines = text.split("\n")
    records: list[list[tuple[str, str]]] = []
    for code, value in zip(lines[::2], lines[1::2], strict=False):
        if code.strip() == "0" or not records:
            records.append([])
        records[-1].append((code, value))
    return records


def _filled(records: list[list[tuple[str, str]]], layer_count: int) -> _Form:
    """The records with a mark in place of each value that differs between files."""
    out: list[str] = []
    found: dict[str, str] = {}
    seed = 0
    for record in records:
        kind, values = record[0][1], {code.strip(): value for code, value in record}
        marked = "".join(f"{code}\n{_place(code.strip(), value)}\n" for code, value in record)
        if values.get("8") == "SAMPLE" or (kind == "LAYER" and values.get("2") == "SAMPLE"):
            if kind == "LAYER":
                out.append(_LAYER_PLACE)
            elif _ENTITY_PLACE not in out:
                out.append(_ENTITY_PLACE)
            found.setdefault(kind, marked)
            continue
        if kind == "SECTION" and record[1][1] == "HEADER":
            at = next(i for i, (_, value) in enumerate(record) if value == "$HANDSEED")
            seed = int(record[at + 1][1], 16)
            marked = "".join(f"{code}\n{_SEED if i == at + 1 else value}\n" for i, (code, value) in enumerate(record))
        elif kind == "TABLE" and record[1][1] == "LAYER":
            marked = "".join(f"{code}\n{_COUNT if code.strip() == '70' else value}\n" for code, value in record)
        else:
            marked = "".join(f"{code}\n{value}\n" for code, value in record)
        out.append(marked)
    point = f" 10\n{_X}\n 20\n{_Y}\n"
    flat = found.get("LWPOLYLINE", "").replace(point, "")
    return _Form(
        "".join(out),
        found["LAYER"],
        flat or found["POLYLINE"],
        point if flat else found["VERTEX"],
        found.get("SEQEND", ""),
        found["CIRCLE"],
        found["LINE"],
        seed,
        layer_count - 1,
    )


def _place(code: str, value: str) -> str:
    """The mark in place of one value of the sample layer or entity."""
    known = {"SAMPLE": _NAME, "77": _COLOUR, "7011.0": _X, "7012.0": _Y, "7013.0": _R, "7014.0": _X1, "7015.0": _Y1}
    if code == "5":
        return _HANDLE
    if code == "90":
        return _POINTS
    return known.get(value, value)
