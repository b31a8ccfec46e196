"""The machine's DXF: closed polylines and circles at full size, each task and depth on its own layer.

Folds are LINE entities on a layer of theirs; there is nothing else.

Two releases of the format (Autodesk DXF Reference, from memory): R2010 with LWPOLYLINE entities, and R12 with
POLYLINE entities for machines that read no later one. Layer names follow the structure of ISO 13567-2 as far as it
is publicly described: agent responsible (2 characters), element (6), presentation (2), then a field of our own.
They hold letters, digits, - and _ only, at most 31, as R12 asks.
"""

from collections.abc import Sequence
from functools import lru_cache
from io import StringIO
from typing import Any, NamedTuple

from woodshop.drawing.pens.dxf import INSERT_UNITS, fixed_metadata
from woodshop.drawing.values.fonts import clean
from woodshop.drawing.values.model import Point
from woodshop.drawing.values.unconfigured import unconfigured
from woodshop.drawing.views.machine import Path, Task, in_order
from woodshop.units.lengths import MM_PER_INCH, Length

RELEASES = ("R2010", "R12")
LAYERS = {
    Task.STOCK: ("W-STOCK-U-", 8),
    Task.FOLD: ("W-FOLD--U-", 6),
    Task.POCKET: ("W-POCKETE-", 3),
    Task.BORE: ("W-BORE--E-", 4),
    Task.INNER: ("W-INNER-E-", 5),
    Task.OUTER: ("W-OUTER-E-", 1),
}
"""The name of each task's layer, before any depth, and its color by the number of the DXF format."""
_STEPS = {"in": 10_000, "mm": 1000}  # a depth in a layer's name is a whole number of these parts of the unit
_DIGITS = {"in": 5, "mm": 6}


def layer_of(path: Path, unit: str) -> str:
    """The layer of a path; a pocket's ends in its depth, in 1/10000 in or 1/1000 mm.

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

    Entities stand in the order in which they are to be cut. $EXTMIN, $EXTMAX and the limits are those of the paths;
    $INSUNITS and $MEASUREMENT state the unit in R2010; R12 knows neither, so the comments (group 999, which
    readers pass over) state it as well, before anything else. The same paths give the same bytes.
    Raises ValueError for no paths, another unit or another release.
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
    """One entity's text and the next free handle."""
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


# The library writes one small file of each release and unit. Its text is the form that every machine's file fills in:
# building and writing the tables and objects around a dozen outlines anew takes it ten milliseconds a file.
_NAME, _HANDLE, _SEED, _COUNT, _COLOUR = "<name>", "<handle>", "<seed>", "<count>", "<colour>"
_X, _Y, _X1, _Y1, _R, _POINTS = "<x>", "<y>", "<x1>", "<y1>", "<r>", "<points>"
_LAYER_PLACE, _ENTITY_PLACE = "<layers>", "<entities>"
_CORNERS = ("-7001.0", "-7002.0", "7003.0", "7004.0")
_VIEW = ("7005.0", "7006.0", "7007.0")


class _Form(NamedTuple):
    """The text of an empty file with places to fill, and the texts of a layer and of each entity."""

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
    log.setLevel(logging.ERROR)  # it remarks that R12 has no $INSUNITS
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
    """The file's tags as (code, value), a new record at each code 0."""
    lines = text.split("\n")
    records: list[list[tuple[str, str]]] = []
    for code, value in zip(lines[::2], lines[1::2], strict=False):
        if code.strip() == "0" or not records:
            records.append([])
        records[-1].append((code, value))
    return records


def _filled(records: list[list[tuple[str, str]]], layer_count: int) -> _Form:
    """The records with places in stead of what differs from file to file."""
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
    """The place that stands for a value of the sample layer or entity."""
    known = {"SAMPLE": _NAME, "77": _COLOUR, "7011.0": _X, "7012.0": _Y, "7013.0": _R, "7014.0": _X1, "7015.0": _Y1}
    if code == "5":
        return _HANDLE
    if code == "90":
        return _POINTS
    return known.get(value, value)
