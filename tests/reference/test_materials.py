"""Sheets by name: one name for one thing, whoever writes it, and how each is cut."""

import pytest

from woodshop.reference.facts import fact
from woodshop.reference.materials import read_material, sheet_kinds, sheet_material
from woodshop.units.lengths import ZERO, inch, millimetre


@pytest.mark.parametrize(
    ("kind", "size", "name"),
    [
        ("fluted", "3 mm", "fluted 3 mm"),
        ("fluted", "0.3 cm", "fluted 3 mm"),
        ("fluted", "1/8 in", "fluted 3.18 mm"),
        ("fluted", millimetre("2.5"), "fluted 2.5 mm"),
        ("plywood", "0.25", "plywood 1/4 in"),
        ("plywood", "6.35 mm", "plywood 1/4 in"),
        ("plywood", "18 mm", "plywood 18 mm"),
        ("foam", "2 in", "foam 2 in"),
        ("steel", "26 ga", "steel 26 ga"),
    ],
)
def test_one_size_has_one_name(kind: str, size: str, name: str) -> None:
    made = sheet_material(kind, size)
    again = read_material(name)
    assert (made.name, again) == (name, made)


@pytest.mark.parametrize(
    ("kind", "size"), [("steel", "27 ga"), ("steel", "0.0217"), ("foam", "thick"), ("fluted", "0")]
)
def test_no_such_size_is_refused(kind: str, size: str) -> None:
    with pytest.raises(ValueError, match=r"gauge|length|thickness above 0"):
        sheet_material(kind, size)


def test_no_such_kind_is_refused() -> None:
    with pytest.raises(KeyError, match="fluted, steel, plywood, foam"):
        sheet_material("cardboard", "3 mm")


@pytest.mark.parametrize(
    ("name", "how"),
    [("board 3/4 in", "chalked"), ("mesh 1/2 in", "tagged"), ("cloth", "tagged"), ("steel 26 ga", "marked")],
)
def test_only_wood_is_chalked(name: str, how: str) -> None:
    assert read_material(name).how_marked == how


def test_knife_and_shear_take_no_kerf_and_flutes_are_not_turned() -> None:
    usual = {"fluted": "3 mm", "steel": "26 ga", "plywood": "1/4 in", "foam": "1 in"}
    made = {name: sheet_material(name, usual[name]) for name in sheet_kinds()}
    assert {name: (each.kind.cut_with, each.is_sawn, each.kind.turns) for name, each in made.items()} == {
        "fluted": ("knife", False, False),
        "steel": ("tin snips", False, True),
        "plywood": ("saw", True, False),
        "foam": ("knife", False, True),
    }


@pytest.mark.parametrize("name", ["board 3/4 in", "board 19 mm", "lattice 1/4 in x 1/2 in", "mesh 1/2 in", "cloth"])
def test_a_name_of_a_file_reads_back(name: str) -> None:
    assert read_material(name).name == name
    assert name.partition(" ")[0] not in sheet_kinds()


@pytest.mark.parametrize("name", ["", "board", "cloth 3 mm", "mesh 1/5 in", "card 3 mm", "steel 3 mm", "board wide"])
def test_a_name_of_nothing_is_refused(name: str) -> None:
    with pytest.raises(ValueError, match=r"material|mesh|gauge|length"):
        read_material(name)


@pytest.mark.outside("a web summary of sheet gauges: 20 gauge galvanised 0.0396 in")
def test_a_gauge_is_the_thickness_of_galvanised_sheet() -> None:
    assert read_material("steel 20 ga").thickness == inch("0.0396")


@pytest.mark.outside("Manufacturers' Standard basis: 41.82 lb a square foot for each inch of thickness")
def test_twenty_gauge_plain_sheet_weighs_what_its_gauge_is_defined_by() -> None:
    """20 gauge is 1.5 lb a square foot (from memory): 1.5 / 41.82 = 0.03587 in, printed 0.0359."""
    thickness = fact("metal.sheet_20_plain").length
    assert round(float(thickness.inches) * 41.82, 2) == 1.5
    assert ZERO < thickness < fact("metal.sheet_20_galvanised").length, "zinc adds to it"


@pytest.mark.outside("Wikipedia, Corrugated plastic: usual thicknesses 3, 4 and 5 mm")
def test_fluted_sheet_reads_back_in_millimetres() -> None:
    usual = [fact(f"plastic.fluted_thickness{end}").length for end in (".thin", "", ".thick")]
    assert usual == [millimetre(n) for n in (3, 4, 5)]
    assert [read_material(sheet_material("fluted", each).name).thickness for each in usual] == usual
