"""Sheets from the lumberyard file to the plan: kerf by knife, shear or saw, no turning across flutes, push pins, fillings."""
# ruff: noqa: E501  one slip a row

from typing import Any

import pytest

from woodshop.checks.check_batch import check_batch
from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.model.job import Kerf
from woodshop.cutting.planner.plan_job import plan
from woodshop.design.batch import BatchLine, Unit
from woodshop.design.make_units import make_units
from woodshop.errors import InputError, NothingToCutError
from woodshop.plan.buy_list import buy, shavings_in
from woodshop.plan.cost import unit_costs
from woodshop.plan.parts_needed import parts_needed
from woodshop.plan.plan_batch import plan_batch
from woodshop.reference.materials import read_material
from woodshop.shape.part import Assembly, Part, Placed, Pose
from woodshop.units.lengths import ZERO, inch, litres

HEAD = """format = "woodshop-design/2"
batch = "b"
unit = "in"
lumberyard = "lumberyard.toml"
[[hives]]
frames = 10
width = "16 1/4"
count = 6
gap = "1/4"
[saw]
rip_kerf = "1/8"
crosscut_kerf = "3/32"
"""
LUMBERYARD = """format = "woodshop-lumberyard/1"
name = "Small"
seen = 2026-09-12
[[sheet]]
fluted = "4 mm"
width = "24"
length = "36"
price = "7.20"
[[sheet]]
fluted = "3 mm"
what = "white"
width = "4"
length = "24"
price = "1.20"
[[sheet]]
steel = "26 ga"
width = "17"
length = "24"
price = "9.00"
[[sheet]]
plywood = "1/4 in"
width = "48"
length = "96"
price = "27.90"
[[sheet]]
foam = "25.4 mm"
width = "48"
length = "96"
price = "24.60"
[[roll]]
mesh = "1/2 in"
width = "24"
length = "5 ft"
price = "9.90"
"""


def wish(*names: str, **more: str) -> str:
    listed = ", ".join(f'"{name}"' for name in names)
    return HEAD + f"[[make]]\nitem = [{listed}]\n" + "".join(f"{key} = {value}\n" for key, value in more.items())


def jobs_of(shop: Any, text: str, lumberyard: str = LUMBERYARD) -> Any:
    batch = shop.batch(text, lumberyard)
    return {job.material.name: job for job in parts_needed(batch, make_units(batch))}


def panel(shop: Any, material: str, length: str, width: str, lumberyard: str = LUMBERYARD) -> Any:
    """The job for six pieces of a sheet material, as an item of some shape would ask for it."""
    batch = shop.batch(wish("bottom insert"), lumberyard)
    (line,) = batch.lines
    part = Part("panel", read_material(material), inch(length), inch(width), inch("1/8"))
    line = BatchLine(item=line.item, hives=line.hives, setting=line.setting, given=line.given, count=6, arithmetic="6")
    made = Assembly("panel", "panel", (Placed(part, Pose((ZERO, ZERO, ZERO))),))
    (job,) = parts_needed(batch, (Unit(line, made),))
    return job


def test_inserts_are_cut_with_a_knife_along_the_flutes(shop: Any) -> None:
    job = jobs_of(shop, wish("bottom insert"))["fluted 4 mm"].job
    (blank,), (stock,) = job.blanks, job.stock
    # 18 1/8 x 64 = 1160 along, 14 1/2 x 64 = 928 across; sheet 36 x 64 = 2304 by 24 x 64 = 1536
    assert (blank.length, blank.width, blank.count, blank.rotate) == (1160, 928, 6, False)
    assert (stock.length, stock.width, stock.end_trim, stock.edge_trim) == (2304, 1536, 0, 0)
    assert job.kerf == Kerf(0, 0)
    assert (job.cutting.stages, job.cutting.first, job.cutting.final_trim) == (2, "either", True)


def test_flutes_are_not_turned_to_save_a_sheet(shop: Any) -> None:
    """20 x 10 pieces from 36 x 24: along the flutes 1 x 2 = 2 a sheet; where turning is allowed 3 x 1 = 3."""
    foam = LUMBERYARD.replace(
        'foam = "25.4 mm"\nwidth = "48"\nlength = "96"', 'foam = "1"\nwidth = "24"\nlength = "36"'
    )
    for material, most in (("fluted 4 mm", 2), ("foam 1 in", 3)):
        job = panel(shop, material, "20", "10", foam)
        found = plan(job.job)
        assert check_plan(found, job.job) == ()
        assert max(len(layout.pieces) for layout in found.layouts) == most
        turned = any(piece.rotated for layout in found.layouts for piece in layout.pieces)
        assert turned is (material == "foam 1 in")


@pytest.mark.parametrize(
    ("material", "kerf", "turns"),
    [
        ("fluted 4 mm", (0, 0), False),
        ("steel 26 ga", (0, 0), True),
        ("plywood 1/4 in", (8, 8), False),  # 1/8 = 8/64: one guide cuts both ways
        ("foam 1 in", (0, 0), True),
        ("cloth", (0, 0), True),
    ],
)
def test_kerf_and_turning_by_material(shop: Any, material: str, kerf: tuple[int, int], turns: bool) -> None:
    lumberyard = LUMBERYARD + '[[roll]]\ncloth = "canvas"\nwidth = "60"\nlength = "3 ft"\nprice = "9.60"\n'
    job = panel(shop, material, "12", "10", lumberyard).job
    assert (job.kerf.rip, job.kerf.crosscut) == kerf
    assert [blank.rotate for blank in job.blanks] == [turns]


def test_plywood_pays_the_kerf_and_foam_does_not(shop: Any) -> None:
    """Four 24 in pieces go on 96 in of foam; of plywood three, since three kerfs make it 96 9/32."""
    for material, across in (("foam 1 in", 4), ("plywood 1/4 in", 3)):
        job = panel(shop, material, "24", "48")
        found = plan(job.job)
        assert check_plan(found, job.job) == ()
        assert max(len(layout.pieces) for layout in found.layouts) == across


def test_a_millimetre_design_counts_tenths_of_a_millimetre(shop: Any) -> None:
    text = (
        wish("vent spacers").replace('unit = "in"', 'unit = "mm"').replace('"16 1/4"', '"412"').replace('"1/4"', '"6"')
    )
    (job,) = jobs_of(shop, text).values()
    # 2 in is 50 mm in a metric design
    assert job.job.unit == "1/10 mm"
    assert [(b.length, b.width, b.count) for b in job.job.blanks] == [(500, 500, 24)]


def test_spacers_and_guards_plan_soundly(shop: Any) -> None:
    batch = shop.batch(wish("vent spacers", "mouse guard"), LUMBERYARD)
    units, report = check_batch(batch)
    planned = plan_batch(batch, units, report)
    assert {each.job.material.name for each in planned.plans} == {"fluted 3 mm", "steel 26 ga"}
    for each in planned.plans:
        assert check_plan(each.plan, each.job.job) == ()
    # 24 squares of 2 on sheets 4 x 24: two rows of twelve; six blanks 16 1/4 x 2: a 24 in side holds one along
    # (16 1/4), but 17 across x 24 / 2 = 12 turned: one sheet
    bought = {p.what: p.count for p in planned.purchases}
    assert bought["fluted 3 mm white, sheet 4 in x 24 in"] == 1
    assert bought["steel 26 ga, sheet 17 in x 24 in"] == 1
    assert sum(cost.total.minor for cost in planned.costs) == planned.total.minor


def test_mesh_guards_share_the_floors_rolls(shop: Any) -> None:
    jobs = jobs_of(shop, wish("wire bottom") + '[[make]]\nitem = "mouse guard"\nkind = "mesh"\n')
    (job,) = jobs.values()
    # floors 39 x 31 cells, guards 33 x 4 cells (see the guard's own test)
    assert job.material.name == "mesh 1/2 in"
    assert [(b.length, b.width, b.rotate) for b in job.job.blanks] == [(39, 31, True), (33, 4, True)]


def test_push_pins_are_bought_and_costed(shop: Any) -> None:
    text = wish("mouse guard")
    batch = shop.batch(text, LUMBERYARD)
    # 4 pins in each of 6 guards and 5 % spare: 24 x 1.05 = 25.2
    _, unpriced = buy(batch, make_units(batch), ())
    assert [(u.what, u.amount) for u in unpriced] == [("pins", "24 plus 5% spare: steel push pin")]
    pack = '[[pack]]\ngoods = "pins"\nwhat = "pins, 25"\npieces = 25\nprice = "0.90"\n'
    batch = shop.batch(text, LUMBERYARD + pack)
    purchases, unpriced = buy(batch, make_units(batch), ())
    assert [(p.what, p.count) for p in purchases] == [("pins, 25", 2)]
    assert unpriced == ()
    assert [cost.total.minor for cost in unit_costs(batch, make_units(batch), purchases)] == [180]


def test_shavings_of_a_feeder_are_bought_like_those_of_a_quilt_box(shop: Any) -> None:
    text = wish("feeder quilt", well_length='"8"', well_width='"14"', well_depth='"3"')
    pack = '[[pack]]\ngoods = "shavings"\nwhat = "bale"\nloose_litres = 30\nprice = "8.99"\n'
    batch = shop.batch(text, LUMBERYARD + pack)
    units = make_units(batch)
    # 2 x 8 x 14 x 3 = 672 cu in = 11.012 L, six hives: 66.07 L or 2.333 cu ft, three bales of 30
    assert shavings_in(units[0]) == inch(8) * inch(14) * inch(3) * 2
    assert shavings_in(units[0]).litres < litres("11.02").litres
    purchases, unpriced = buy(batch, units, ())
    assert [(p.group, p.count, p.why) for p in purchases] == [
        ("shavings", 3, "2.3 cu ft loose, one fill for each hive with a feeder quilt")
    ]
    assert unpriced == ()
    assert [(c.address, c.total.minor) for c in unit_costs(batch, units, purchases)] == [
        ("feeder quilt / 10-frame 16 1/4", 0),
        ("shavings, 10-frame 16 1/4", 2697),
    ]
    assert parts_needed(batch, units) == ()


def test_what_the_lumberyard_has_not_is_named(shop: Any) -> None:
    batch = shop.batch(wish("vent spacers", thickness='"5 mm"'), LUMBERYARD)
    with pytest.raises(NothingToCutError, match="given no fluted 5 mm") as refused:
        parts_needed(batch, make_units(batch))
    (problem,) = refused.value.problems
    assert "the file of another shop" in problem.do
    assert "For sale: fluted 4 mm, fluted 3 mm." in problem.do
    assert problem.do.endswith("Or remove from [[make]]: vent spacers.")


def test_a_piece_of_sheet_among_offcuts_serves_first(shop: Any) -> None:
    offcuts = '[[offcut]]\nlabel = "S1"\nsteel = "26 ga"\nwidth = "17"\nlength = "12"\n'
    job = jobs_of(shop, wish("mouse guard"), LUMBERYARD + offcuts)["steel 26 ga"]
    assert [(s.id, s.cost, s.count) for s in job.job.stock] == [
        ("steel_26_ga_17_x_24", 900, None),
        ("offcut_S1", 0, 1),
    ]


# old text, new text, and words of where, given, wanted and do
MALFORMED: dict[str, tuple[str, str, str, str, str, str]] = {
    "no kind": ('steel = "26 ga"\n', "", "sheet number 3", "no sheet material", "one of fluted, steel", "Name"),
    "two kinds": ('steel = "26 ga"', 'steel = "26 ga"\nfoam = "1"', "sheet number 3", "steel and foam", "one of", "Name"),
    "no such gauge": ("26 ga", "28 ga", "sheet number 3, steel", "28 ga", "20 ga", "it is sold by"),
    "a gauge in inches": ("26 ga", "0.0217 in", "sheet number 3, steel", "0.0217 in", "26 ga", "it is sold by"),
    "fluted of no size": ('"4 mm"', '"four"', "sheet number 1, fluted", "four", "3 mm", "it is sold by"),
    "foam of nothing": ("25.4 mm", "0 mm", "sheet number 5, foam", "0 mm", "1 in", "it is sold by"),
    "a thickness as a number": ('"4 mm"', "4", "sheet number 1, fluted", "4", "text between quotes", "Correct"),
    "no length": ('length = "24"\nprice = "9.00"', 'price = "9.00"', "sheet number 3, length", "nothing", "a value", "Add"),
    "a width of nothing": ('width = "17"', 'width = "0"', "sheet number 3, width", "0", "more than 0", "real size"),
    "no price": ('price = "9.00"\n', "", "sheet number 3, price", "nothing", "a value for 'price'", "Add"),
    "an unknown key": ('steel = "26 ga"', 'stele = "26 ga"', "sheet number 3, stele", "unknown key", "a known key", "'steel'"),
    "the same twice": ('fluted = "3 mm"\nwhat = "white"\nwidth = "4"\nlength = "24"', 'fluted = "0.4 cm"\nwidth = "24"\nlength = "36"', "", "twice", "once", "Remove"),
}  # fmt: skip


@pytest.mark.parametrize("name", MALFORMED)
def test_one_slip_gives_one_problem_that_names_the_place(shop: Any, name: str) -> None:
    old, new, where, given, wanted, do = MALFORMED[name]
    assert old in LUMBERYARD
    with pytest.raises(InputError) as refused:
        shop.lumberyard(LUMBERYARD.replace(old, new, 1))
    said = [p for p in refused.value.problems if where in p.where and given in p.given]
    assert said, refused.value.problems
    assert wanted in said[0].wanted
    assert do in said[0].do


def test_an_offcut_is_one_kind_of_thing(shop: Any) -> None:
    piece = '[[offcut]]\nlabel = "S1"\nsteel = "26 ga"\nmesh = "1/2 in"\nwidth = "17"\nlength = "12"\n'
    with pytest.raises(InputError, match="offcut number 1: given steel and mesh"):
        shop.lumberyard(LUMBERYARD + piece)
