"""What a beginner's file settles to lies within what is published, or within common practice."""

from fractions import Fraction
from typing import Any

import pytest

from woodshop.design.make_units import make_units
from woodshop.hive.gaps.grading import bee_space
from woodshop.plan.buy_list import recipe
from woodshop.units.lengths import Density, inch, millimetre, pound

QUILT = '[[make]]\nitem = "quilt box"\n'


@pytest.fixture
def beginner(shop: Any) -> Any:
    batch = shop.batch(shop.design_text + QUILT)
    return {unit.line.item.name: unit for unit in make_units(batch)}


@pytest.mark.outside(
    "Piney Woods Beekeepers, Candy Board Feeder and Recipe: rim 2 to 4 in, of 1x3; 16 lb; mesh 1/4 to 1/2 in"
)
def test_rim_mesh_and_sugar_are_those_of_the_published_board(beginner: Any) -> None:
    setting = beginner["fondant rim"].line.setting
    assert inch(2) <= setting.height <= inch(4)
    assert setting.height == inch("2 1/2"), "a dressed 1x3"
    assert setting.sugar == pound(16)
    assert inch("1/4") <= setting.mesh.pitch <= inch("1/2")


@pytest.mark.outside("Piney Woods Beekeepers, Candy Board Feeder and Recipe: 16 lb lie 1 1/2 in deep on a full board")
def test_at_the_density_that_the_layer_implies_it_lies_that_deep(shop: Any) -> None:
    # 1 1/2 in over 271 sq in; channel and vents leave 255.28: 1.5 x 271.03 / 255.28 = 1.593
    batch = shop.batch(shop.design_text + '[board]\ndensity = "1.089 kg/L"\n')
    assert float(batch.lines[0].setting.depth.inches) == pytest.approx(1.593, abs=0.005)


@pytest.mark.outside("Sagadahoc County Beekeepers (Maine), Easy Candy Board: 10 lb in a rim of 1 3/4 in on ten frames")
def test_ten_pounds_fit_the_published_rim_of_one_and_three_quarters(shop: Any) -> None:
    batch = shop.batch(shop.design_text + '[board]\nsugar = "10 lb"\nripped = true\n')
    # 10 lb at 0.85 kg/L: 325.6 cu in / 255.28 = 1.276; + 3/8 = 1.651: 1 11/16
    assert batch.lines[0].setting.height == inch("1 11/16") <= inch("1 3/4")


@pytest.mark.outside(
    "Sagadahoc: 1 oz of water to the pound (6.3 %); Piney Woods: 4 lb with 1 cup (13 %); R. Salz, 30 pounds of sugar: "
    "10 lb with 2 cups (10.4 %); a honey farm page: 8 lb with 1 1/2 cups (9.8 %)"
)
def test_water_lies_between_the_driest_and_the_wettest_recipe() -> None:
    for pounds in (4, 10, 16, 384):
        assert Fraction("0.063") <= recipe(pound(pounds)).water_share <= Fraction("0.13")
    assert round(float(recipe(pound(8)).water_share), 3) == 0.098
    assert recipe(pound(8)).water.us_cups == Fraction(3, 2)


@pytest.mark.outside(
    "Beesource forum, The making of a frame: rest 5/8 deep; lug 3/8 (from memory): 1/4 over the top bars; "
    "Hendrickson, The Bee Space, Bee Culture 2016: 1/4 to 3/8 in"
)
def test_strips_come_up_to_the_bee_space_over_the_top_bars_and_not_out_of_it(beginner: Any) -> None:
    (thick,) = {p.part.thickness for p in beginner["spacer strips"].assembly.placed}
    over_the_bars = inch("5/8") - inch("3/8")
    assert over_the_bars - inch("1/16") <= thick <= over_the_bars
    limits = bee_space()
    assert (limits.least, limits.most) == (inch("1/4"), inch("3/8"))


def test_strips_are_common_practice_in_number_and_width(beginner: Any) -> None:
    """Common practice, no source: two to six strips, 1/2 to 1 in wide."""
    strips = beginner["spacer strips"].assembly.placed
    assert 2 <= len(strips) <= 6
    assert all(inch("1/2") <= p.part.width <= inch(1) for p in strips)


@pytest.mark.outside(
    "Cushman, Bee-L archive, 10 June 2001: a slot of 8 mm keeps mice out; Bush: workers pass 1/4 in mesh"
)
def test_the_entrance_lets_bees_in_and_keeps_mice_out(beginner: Any) -> None:
    board = beginner["fondant rim"].line.setting.board
    assert inch("1/4") <= board.notch_height <= millimetre(8)
    assert board.notch_width >= inch("1/4")


@pytest.mark.outside(
    "hobby builders' quilt box pages: 3 1/2 in high; Beesource: 3 skimpy, 5 1/2 preferred; Honey Bee Suite, Moisture "
    "quilt: holes of 3/4 to 1 in"
)
def test_the_quilt_box_is_as_high_as_builders_make_it(beginner: Any, shop: Any) -> None:
    high = beginner["quilt box"].assembly.named("side")[0].part.width
    assert inch("3 1/2") <= high <= inch("5 1/2")
    flat = make_units(shop.batch(shop.design_text + QUILT + 'skirt = "0"\n'))[-1]
    assert flat.assembly.named("side")[0].part.width == inch("3 1/2"), "without a skirt to clear"
    holes = [c.outline.square for p in flat.assembly.placed for c in p.part.cuts if c.name == "vent hole"]
    assert {h.u1 - h.u0 for h in holes} == {inch(1)}


@pytest.mark.outside("implied by published pairs: 0.58 (Sagadahoc) to 1.09 kg/L (Piney Woods, full board)")
def test_the_density_taken_lies_between_what_recipes_imply(beginner: Any) -> None:
    density = beginner["fondant rim"].line.setting.board.density
    assert Density(Fraction("0.58")) <= density <= Density(Fraction("1.09"))


@pytest.mark.outside(
    "Howland Blackiston, Building Beehives: covers 22 x 18 (ten) and 22 x 15 3/4 (eight frames) overall"
)
def test_rims_stand_under_the_published_covers(shop: Any) -> None:
    for frames, cover in ((10, "18"), (8, "15 3/4")):
        units = make_units(shop.batch(shop.design_text.replace("frames = 10", f"frames = {frames}")))
        box = units[0].assembly.box
        made = [p for p in units[0].assembly.placed if p.part.material.name.startswith("board")]
        assert box.size(0) <= inch(22) - inch("3/4") * 2
        assert max(p.box.high[1] for p in made) <= inch(cover) - inch("3/4") * 2
