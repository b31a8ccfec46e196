"""DXF files: full size, sound, each meaning on its layer."""

import io
import math
from fractions import Fraction

import ezdxf
import pytest
from ezdxf import recover
from ezdxf.document import Drawing as Dxf

from woodshop.drawing.pens.dxf import write_dxf
from woodshop.drawing.values.model import Dimension
from woodshop.drawing.views.layout import Rect, layout_drawing
from woodshop.drawing.views.part import part_drawing
from woodshop.reference.materials import EXISTING
from woodshop.shape.part import Part, Rectangle, RoundOutline, cut_box
from woodshop.units.lengths import ZERO, inch, millimetre
from woodshop.units.wording import wording_of


def _read(data: bytes) -> Dxf:
    """The file as another reader sees it; sound at once, without repairs."""
    document, audit = recover.read(io.BytesIO(data))
    assert not audit.errors
    assert not audit.fixes
    return document


def _dxf(part: Part, unit: str) -> Dxf:
    return _read(write_dxf(part_drawing(part, address="a", count=1, wording=wording_of(unit))))


def _area(entity: ezdxf.entities.LWPolyline) -> float:
    points = [(x, y) for x, y, *_ in entity.get_points()]
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, points[1:] + points[:1], strict=True))) / 2


def test_files_are_sound_and_say_their_unit(part: Part, unit: str) -> None:
    """Clean under audit; $INSUNITS is the unit's code."""
    document = _dxf(part, unit)
    assert document.dxfversion == "AC1024"
    assert document.header["$INSUNITS"] == {"in": 1, "mm": 4}[unit]


@pytest.mark.outside("Autodesk DXF Reference, HEADER section, $INSUNITS: 1 inches, 4 millimetres; from memory")
def test_unit_codes_are_those_of_the_format() -> None:
    """The codes, and what the library takes them to mean."""
    assert ezdxf.units.decode(1) == "in"
    assert ezdxf.units.decode(4) == "mm"


def test_outline_is_the_part_at_full_size(part: Part, unit: str) -> None:
    """The closed outlines of the first view enclose length times width less what is cut right through."""
    document = _dxf(part, unit)
    outer = [e for e in document.modelspace().query("LWPOLYLINE[layer=='OUTLINE']") if e.closed]
    openings = [e for e in document.modelspace().query("LWPOLYLINE[layer=='THROUGH']") if e.closed]
    first = max(outer, key=_area)
    xs = [p[0] for p in first.get_points()]
    ys = [p[1] for p in first.get_points()]
    per = Fraction(127, 5) if unit == "in" else Fraction(1)
    assert (min(xs), min(ys)) == (0.0, 0.0)
    assert max(xs) == pytest.approx(float(part.length.mm / per), abs=1e-9)
    assert max(ys) == pytest.approx(float(part.width.mm / per), abs=1e-9)
    through = [c for c in part.cuts if isinstance(c.outline, Rectangle) and cut_box(part, c).size(2) == part.thickness]
    gone = sum((cut_box(part, c).size(0) * cut_box(part, c).size(1)).mm2 for c in through)
    wanted = ((part.length * part.width).mm2 - gone) / per**2
    inside = [e for e in openings if max(p[0] for p in e.get_points()) <= max(xs)]
    assert _area(first) - sum(_area(e) for e in inside) == pytest.approx(float(wanted), rel=1e-12)


def test_round_holes_are_circles_on_their_layer(part: Part) -> None:
    """Through holes are circles of the true diameter; blind ones are pockets named by their depth."""
    document = _dxf(part, "in")
    bored = [c for c in part.cuts if isinstance(c.outline, RoundOutline)]
    for layer, through in (("HOLES", True), ("POCKET_1-2IN", False)):
        found = document.modelspace().query(f"CIRCLE[layer=='{layer}']")
        wanted = [c for c in bored if (c.depth == part.thickness) == through]
        assert sorted(2 * e.dxf.radius for e in found) == pytest.approx(
            sorted(float(c.outline.diameter.inches) for c in wanted if isinstance(c.outline, RoundOutline))
        )


def test_a_blind_cut_has_its_closed_outline_on_a_layer_of_its_depth(parts: tuple[Part, ...]) -> None:
    """The rabbet 3/8 deep along the side is a pocket of 19 7/8 x 3/8."""
    document = _dxf(parts[0], "in")
    (pocket,) = document.modelspace().query("LWPOLYLINE[layer=='POCKET_3-8IN']")
    assert pocket.closed
    assert _area(pocket) == pytest.approx(19.875 * 0.375)


def test_dimensions_are_entities_that_measure_what_they_say(part: Part, unit: str) -> None:
    """As many as in the model; each one's points are as far apart as its text says, and it has its block."""
    drawing = part_drawing(part, address="a", count=1, wording=wording_of(unit))
    entities = list(_read(write_dxf(drawing)).modelspace().query("DIMENSION"))
    wanted = [d for view in drawing.views for d in view.dimensions]
    assert len(entities) == len(wanted) > 0
    assert sorted(e.dxf.text for e in entities) == sorted(d.text(unit) for d in wanted)
    by_text: dict[str, list[Dimension]] = {}
    for dimension in wanted:
        by_text.setdefault(dimension.text(unit), []).append(dimension)
    for entity in entities:
        assert entity.get_measurement() == pytest.approx(entity.dxf.actual_measurement, abs=1e-9)
        length = by_text[entity.dxf.text][0].length
        per = Fraction(127, 5) if unit == "in" else Fraction(1)
        assert entity.get_measurement() == pytest.approx(float(length.mm / per), abs=1e-9)
        block = entity.get_geometry_block()
        assert block is not None
        assert [e.dxf.text for e in block.query("TEXT")] == [entity.dxf.text]


def test_inches_and_millimetres_are_the_same_part(parts: tuple[Part, ...]) -> None:
    """The outline in millimetres is 25.4 times that in inches."""
    drawing = part_drawing(parts[1], address="a", count=1)
    extents = []
    for unit in ("in", "mm"):
        (outer, *_) = _read(write_dxf(drawing, unit=unit)).modelspace().query("LWPOLYLINE[layer=='OUTLINE']")
        extents.append(max(p[0] for p in outer.get_points()))
    assert extents[1] == pytest.approx(25.4 * extents[0])


def test_a_layout_has_every_piece_as_a_closed_outline(parts: tuple[Part, ...]) -> None:
    """Pieces of a sheet at full size, though the paper drawing is stretched; labels are texts."""
    pieces = [Rect(inch(20) * i, ZERO, inch("19 7/8"), inch("1 1/2"), "rim/side") for i in range(4)]
    drawing = layout_drawing(
        "board", inch(96), inch("1 1/2"), pieces=pieces, waste=[Rect(inch(80), ZERO, inch(16), inch("1 1/2"))]
    )
    assert drawing.views[0].stretch > 1
    document = _read(write_dxf(drawing))
    outlines = document.modelspace().query("LWPOLYLINE[layer=='THIN']")
    assert [_area(e) for e in outlines] == pytest.approx([19.875 * 1.5] * 4)
    assert len(document.modelspace().query("HATCH")) == 1
    texts = [e.dxf.text for e in document.modelspace().query("TEXT[layer=='TEXT']")]
    assert texts.count("1: rim/side, 19 7/8 x 1 1/2") == 4


def test_a_file_says_what_it_is_of(part: Part, unit: str) -> None:
    """Title, address, count, material and every cut in words stand below the views."""
    drawing = part_drawing(part, address="batch/F10/1", count=6, wording=wording_of(unit))
    texts = [e.dxf.text for e in _read(write_dxf(drawing)).modelspace().query("TEXT")]
    for line in (part.name, "Address: batch/F10/1", "Make: 6", f"Material: {part.material}", *drawing.notes):
        assert line in texts


def test_the_librarys_setting_is_put_back(parts: tuple[Part, ...]) -> None:
    """Writing leaves no trace in the library, even when it was set otherwise or fails."""
    drawing = part_drawing(parts[0], address="a", count=1)
    for setting in (False, True):
        ezdxf.options.write_fixed_meta_data_for_testing = setting
        first = write_dxf(drawing)
        assert ezdxf.options.write_fixed_meta_data_for_testing is setting
        assert write_dxf(drawing) == first
    ezdxf.options.write_fixed_meta_data_for_testing = False


def test_an_unknown_unit_is_refused(parts: tuple[Part, ...]) -> None:
    """Inches or millimetres, and the message says so."""
    with pytest.raises(ValueError, match="wanted 'in' or 'mm'"):
        write_dxf(part_drawing(parts[0], address="a", count=1), unit="cubit")


def test_odd_lengths_stay_exact_to_the_last_digit_of_the_file() -> None:
    """A third of a millimetre comes back to within the format's digits."""
    part = Part("odd", EXISTING, millimetre(Fraction(1000, 3)), millimetre(77), millimetre(19))
    (outer,) = _dxf(part, "mm").modelspace().query("LWPOLYLINE[layer=='OUTLINE']")
    assert math.isclose(max(p[0] for p in outer.get_points()), 1000 / 3, rel_tol=1e-12)
