"""The thickness of the wood of single items: its boards, its gaps, its screws, and what is refused."""

from typing import Any

import pytest

from tests.design.test_screws_for_sale import bought, lumberyard_with
from woodshop.checks.check_batch import check_batch
from woodshop.design.make_units import make_units
from woodshop.errors import InputError, NothingToCutError
from woodshop.plan.parts_needed import parts_needed
from woodshop.units.lengths import inch

QUILT = '\n[[make]]\nitem = "quilt box"\nwood = "5/8"\n'
THIN = '\n[[board]]\nthickness = "5/8"\nwidth = "{}"\nsizes = [{{ length = "8 ft", price = "9.00" }}]\n'


def test_an_item_of_thinner_wood_has_boards_of_its_own(shop: Any) -> None:
    """The quilt box of 5/8 in is wider inside by 1/4 in; its heights are widths of 5/8 in boards; the rim stays."""
    lumberyard = lumberyard_with(shop, "screws #8 x 2 in") + THIN.format("5 1/2") + THIN.format("7 1/4")
    batch = shop.batch(shop.design_text + QUILT, lumberyard)
    units, report = check_batch(batch)
    assert not report.has_errors
    jobs = {job.material.name: job for job in parts_needed(batch, units)}
    thin = [job for job in jobs.values() if job.needs[0].part.thickness == inch("5/8")]
    assert len(thin) == 1
    assert {need.address.split(" / ")[0] for need in thin[0].needs} == {"quilt box"}
    assert {offer.width for offer in thin[0].offers} == {inch("5 1/2"), inch("7 1/4")}
    quilt = next(unit for unit in units if unit.line.item.name == "quilt box")
    plain = next(unit for unit in units if unit.line.item.name == "fondant rim")
    assert quilt.line.setting.inside.wide - plain.line.setting.inside.wide == inch("1/4")
    walls = quilt.assembly.named("side")
    assert {part.part.thickness for part in walls} == {inch("5/8")}
    assert {part.part.width for part in walls} <= {inch("5 1/2"), inch("7 1/4")}


def test_one_size_of_screw_fits_walls_of_both_thicknesses(shop: Any) -> None:
    boards = THIN.format("5 1/2") + THIN.format("7 1/4")
    design = shop.design_text + QUILT
    sold = ("screws #8 x 1 7/8 in", "screws #8 x 2 in")  # the shorter one fits only the thin walls
    batch = shop.batch(design, lumberyard_with(shop, *sold) + boards)
    assert bought(batch) == ["screws #8 x 2 in"]
    assert {line.setting.corner_screw.size for line in batch.lines} == {"#8 x 2 in"}


def test_what_does_not_go_together_is_refused(shop: Any) -> None:
    boards = THIN.format("7 1/4") + THIN.replace("5/8", "1 1/2").format("7 1/4")
    cases = (
        # two parts of one board
        (
            shop.design_text.replace('"spacer strips", ', "") + '[[make]]\nitem = "spacer strips"\nwood = "5/8"\n',
            "parts of one board",
        ),
        # an item without walls
        (shop.design_text + QUILT.replace("quilt box", "mouse guard"), "without such wood"),
        # no screw for both walls
        (shop.design_text + QUILT.replace("5/8", "1 1/2"), "one size of screw"),
        # no boards of that thickness
        (shop.design_text + QUILT.replace("5/8", "7/16"), "a board at least"),
        # walls that meet
        (shop.design_text + QUILT.replace('"5/8"', '"9"'), "make, quilt box, wood"),
    )
    for design, words in cases:
        lumberyard = lumberyard_with(shop, "screws #8 x 2 in", "screws #10 x 3 1/2 in") + boards
        with pytest.raises(InputError, match=words):
            check_batch(shop.batch(design, lumberyard))


def test_walls_of_plywood_are_named_as_the_cause(shop: Any) -> None:
    """For wood of one item, and for a sheet that no lumberyard sells; with boards again, both are made."""
    plywood = '[board]\nmade_of = "plywood"\n'
    lumberyard = lumberyard_with(shop, "screws #8 x 2 in") + THIN.format("7 1/4")
    with pytest.raises(InputError, match=r"5/8 in for an item whose walls are made of plywood.*Or set made_of"):
        make_units(shop.batch(shop.design_text + plywood + QUILT, lumberyard))
    boards = QUILT + 'made_of = "boards"\n'
    made = make_units(shop.batch(shop.design_text + plywood + boards, lumberyard))
    assert {unit.line.item.name for unit in made} >= {"fondant rim", "quilt box"}
    batch = shop.batch(shop.design_text + plywood, lumberyard.replace('plywood = "3/4 in"', 'plywood = "1/4 in"'))
    with pytest.raises(NothingToCutError) as why:
        parts_needed(batch, make_units(batch))
    (cause,) = why.value.problems
    assert cause.given == 'no plywood 3/4 in, of which walls are made: made_of = "plywood"'
    assert 'Or set made_of = "boards" under [board]' in cause.do
