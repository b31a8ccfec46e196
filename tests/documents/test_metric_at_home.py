"""The metric demo from end to end: what is printed, and the sizes that a metric shop would make."""

import csv
import io
from fractions import Fraction

import pytest
from click.testing import CliRunner, Result

from tests.documents.printed_words import foreign, too_fine, words_of
from tests.once import DESIGNS, bought, once, scheduled, uncut
from woodshop.cli import main
from woodshop.design.lumberyard.lumberyard_file import read_lumberyard_text
from woodshop.documents.packet.layouts import kept_offcuts, numbered_layouts, rests
from woodshop.documents.result import result_files
from woodshop.errors import InputError
from woodshop.hardware.gauge_steps import gauge_steps
from woodshop.shape.part import Part, Role
from woodshop.units.lengths import ZERO, millimetre

DESIGN = "birkholm-run"
TENTH = Fraction(1, 10)


@pytest.fixture(scope="module")
def files() -> dict[str, bytes]:
    """Every file of the metric demo, planned and scheduled quickly."""
    return once(
        f"files of {DESIGN}", lambda: result_files(bought(DESIGN), lambda line: None, scheduled=scheduled(DESIGN))
    )


@pytest.mark.invariant
def test_no_inch_pound_cup_or_fahrenheit_and_no_hundredths_of_a_millimetre_in_any_file(files: dict[str, bytes]) -> None:
    assert {name.rpartition(".")[2] for name in files} >= {"pdf", "svg", "dxf", "xlsx", "csv", "json", "html", "ics"}
    found = {
        (name, word)
        for name, data in files.items()
        for text in words_of(name, data)
        for word in (*foreign(text), *too_fine(text))
    }
    assert not found


@pytest.mark.parametrize("command", [["check"], ["check", "--gaps"], ["openings"], ["sizes"]])
def test_no_inch_on_the_console(command: list[str]) -> None:
    found: Result = CliRunner().invoke(main, [command[0], str(DESIGNS / f"{DESIGN}.toml"), *command[1:]])
    assert found.exit_code in (0, 2), found.output
    assert not foreign(found.output)
    assert not too_fine(found.output)


def test_the_scan_finds_what_it_looks_for() -> None:
    for text in (
        "0.787 in x 2.756 in spruce", "rip 3/4 in off", "16 lb of sugar", "3 US cups", "21 °F", "air of 70 F, 40 %",
        "from a 2x4", "screws #8 x 2 in", "26 ga steel", "8 ft", "1/2 in (cells)", "sq in", "2 tablespoons",
        "of 40,000 psi", "a measuring cup",
    ):  # fmt: skip
        assert foreign(text), text
    for text in (
        "6.4 to 9.5 mm (1/4 to 3/8 in)",
        "8 lb (3.6 kg)",
        "3.6 kg (8 lb)",
        "276 MPa (40000 psi)",
        "997 in 1,000",
        "5 in 100",
        "F: 370 x 70",
    ):
        assert not foreign(text), text
    assert too_fine("379.41 mm")
    assert not too_fine("12.7 mm mesh, 46.00 EUR")


def _made() -> list[Part]:
    units = uncut(DESIGNS / f"{DESIGN}.toml").units
    return [placed.part for unit in units for placed in unit.assembly.with_role(Role.MADE)]


@pytest.mark.invariant
def test_sizes_of_wood_are_whole_millimetres_and_fits_are_halves() -> None:
    """Mesh is cut by its wires, and a sheet is as thick as it is sold."""
    for part in _made():
        if part.material.mesh is None:
            sizes = part.size if part.material.is_lumber else part.size[:2]
            assert all((each.mm * 2).denominator == 1 for each in sizes), (part.name, part.size)
            if not part.on_edge:
                assert all(each.mm.denominator == 1 for each in sizes), (part.name, part.size)
        for cut in part.cuts:
            low, high = cut.outline.box if hasattr(cut.outline, "box") else ((), ())
            assert all((each.mm * 4).denominator == 1 for each in (*low, *high)), (part.name, cut)


def test_part_table_saw_page_and_plan_say_the_same_size(files: dict[str, bytes]) -> None:
    rows = list(csv.DictReader(io.StringIO(files["parts.csv"].decode())))
    side = next(row for row in rows if row["address"].endswith("British National 11-frame / side"))
    assert (side["length"], side["width"]) == ("460", "70")
    assert "460 x 70 mm" in files["saw.html"].decode()
    drawing = next(data for name, data in files.items() if "fondant-rim-british-national-11-frame-side.dxf" in name)
    assert "460" in drawing.decode().split()


@pytest.mark.outside("hand arithmetic on limits.toml: 3/16 in is 4.7625 mm; 1/4 in, 6.35; 3/8 in, 9.525; 1/2 in, 12.7")
def test_the_gauge_is_rounded_into_the_band() -> None:
    """Half millimetres: up to 5 and 6.5, down to 9.5 and 12.5; never out of the band."""
    assert [thick.mm for thick, _ in gauge_steps("mm")] == [5, Fraction(13, 2), Fraction(19, 2), Fraction(25, 2)]


@pytest.mark.outside("hand arithmetic: BS 1300 as tabulated, 18 1/8 in = 460.375 mm; less two walls of 20 mm: 420 mm")
def test_walls_of_a_box_in_odd_units_are_whole_millimetres_and_say_so() -> None:
    planned = uncut(DESIGNS / f"{DESIGN}.toml")
    listed = {(each.where, each.name): each for each in planned.batch.defaults}
    row = listed["orchard nationals", "rim_length"]
    assert (row.value, row.source) == ("460 mm", "the box, 460.4 mm, in whole millimeters")
    by_name = {part.name: part for part in _made() if part.length.mm in (460, 420)}
    assert by_name["side"].length == millimetre(460)
    assert by_name["front end"].length == millimetre(420)


def test_strips_steel_and_blocks_are_made_of_what_is_for_sale() -> None:
    parts = {part.name: part for part in _made()}
    assert parts["strip"].width == millimetre(20)
    assert parts["packing block"].thickness == millimetre(20)
    assert str(parts["guard blank"].material) == "steel 0.5 mm"
    assert str(parts["mesh"].material) == "mesh 12.7 mm"


def test_pieces_that_are_kept_are_whole_millimeters_and_none_is_larger_than_its_rest() -> None:
    planned = bought(DESIGN)
    kept, seen = kept_offcuts(planned), 0
    for layout in numbered_layouts(planned):
        left = {(x, y): (long, wide) for x, y, long, wide in rests(layout)}
        for each in kept[layout.name]:
            assert each.length.mm.denominator == each.width.mm.denominator == 1
            by = [rest - own for rest, own in zip(left[each.x, each.y], (each.length, each.width), strict=True)]
            assert all(ZERO <= off < millimetre(1) for off in by)
            seen += any(off > ZERO for off in by)
    assert seen


def test_a_mesh_that_is_not_known_by_its_pitch_is_refused() -> None:
    path = DESIGNS / "birkholm-lumberyard.toml"
    text = path.read_text(encoding="utf-8").replace('mesh = "12.7 mm"', 'mesh = "13 mm"')
    with pytest.raises(InputError) as refused:
        read_lumberyard_text(text, path)
    assert "12.7 mm, 8.5 mm, 6.4 mm, 3.2 mm" in str(refused.value)
    assert "The nearest is 12.7 mm." in str(refused.value)
    assert "every piece is counted in whole meshes" in str(refused.value)
