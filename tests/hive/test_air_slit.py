"""The slit under the cover is measured once, on placed parts, for the item's sheet and for the air path."""

from pathlib import Path

import pytest

from woodshop.checks.hives import measure_hives
from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.make_units import make_units
from woodshop.design.settle.settle import settle
from woodshop.units.lengths import inch, millimetre

DESIGN = """format = "woodshop-design/2"
batch = "b"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
[[hives]]
frames = 10
count = 2
gap = "1/4"
[[make]]
item = ["fondant rim", "wire bottom", "spacer strips"]
[[make]]
item = "vent spacers"
thickness = "{thickness}"
square = "{square}"
"""


@pytest.mark.parametrize(("thickness", "square"), [("4 mm", "2"), ("3 mm", "1"), ("5 mm", "3")])
def test_the_items_sheet_and_the_air_path_have_one_figure(
    tmp_path: Path, designs: Path, thickness: str, square: str
) -> None:
    """Round the box, 2 (19 7/8 + 16 1/4), less eight sides of squares that lie 1/4 out in the cover's corners."""
    (tmp_path / "creekside-lumberyard.toml").write_bytes((designs / "creekside-lumberyard.toml").read_bytes())
    path = tmp_path / "d.toml"
    path.write_text(DESIGN.format(thickness=thickness, square=square), encoding="utf-8")
    design = read_design(path)
    units = make_units(settle(design, read_lumberyards(design.lumberyards)))
    spacers = next(unit for unit in units if unit.line.item.name == "vent spacers")
    (told,) = (fact.value for fact in spacers.assembly.facts if fact.name == "slit all around, open")
    (group,) = measure_hives(units)
    air = group.alternatives[0][1][0][1].air
    assert air is not None
    (step,) = (each for each in air.steps if each.name == "slit under the cover")
    assert told == step.clear.text("in")
    clearance = dict(spacers.line.given)["clearance"]
    edge = (inch("19 7/8") + inch("16 1/4")) * 2 - (inch(square) - clearance) * 8
    assert step.clear == edge * millimetre(thickness.removesuffix(" mm"))


@pytest.mark.parametrize("guard", ["", 'kind = "mesh"', "rows = 2"])
def test_a_guard_has_one_figure_too(tmp_path: Path, designs: Path, guard: str) -> None:
    """Flat on its sheet or folded before the entrance: the same holes, the same wires."""
    (tmp_path / "creekside-lumberyard.toml").write_bytes((designs / "creekside-lumberyard.toml").read_bytes())
    path = tmp_path / "d.toml"
    more = f'[[make]]\nitem = "mouse guard"\n{guard}\n'
    path.write_text(DESIGN.format(thickness="4 mm", square="2") + more, encoding="utf-8")
    design = read_design(path)
    units = make_units(settle(design, read_lumberyards(design.lumberyards)))
    made = next(unit for unit in units if unit.line.item.name == "mouse guard")
    (told,) = (fact.value for fact in made.assembly.facts if fact.name == "clear of the open entrance")
    air = measure_hives(units)[0].alternatives[0][1][0][1].air
    assert air is not None
    steps = {step.name: step.clear.text("in") for step in air.steps}
    assert told.startswith(f"{steps['guard at the entrance']} of {steps['entrance']}, ")
