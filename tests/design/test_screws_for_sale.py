"""Screws of a lumberyard file: those that fit the walls are bought, the others left out with a reason or warned of."""

import re
from typing import Any

import pytest

from woodshop.checks.check_batch import check_batch
from woodshop.errors import InputError
from woodshop.plan.buy_list import amounts

PACK = '[[pack]]\ngoods = "screws"\nwhat = "{what}"\npieces = 100\nprice = "8.00"\n'


def lumberyard_with(shop: Any, *whats: str, more: str = "") -> str:
    """The demo lumberyard, with just these screws."""
    plain = re.sub(r'\[\[pack\]\]\ngoods = "screws"\n(?:.+\n)+', "", shop.lumberyard_text)
    assert '"screws"' not in plain
    return plain + "\n" + "".join(PACK.format(what=what) + more for what in whats)


def bought(batch: Any) -> list[str]:
    return [pack.what for pack in batch.lumberyard.packs if pack.goods == "screws"]


def test_only_screws_that_fit_are_bought_and_the_others_are_listed(shop: Any) -> None:
    lumberyard = lumberyard_with(
        shop, "screws #8 x 1 5/8 in", "screws #8 x 2 in", "screws #8 x 2 1/2 in", "screws #8 x 4 in"
    )
    batch = shop.batch(shop.design_text, lumberyard)
    assert bought(batch) == ["screws #8 x 2 in"]
    told = {words.partition(":")[0]: words for words in batch.lumberyard.left_out}
    assert "only 7/8 in of thread remains; end grain needs 1 1/4 in" in told["screws #8 x 1 5/8 in"]
    assert "longer than needed" in told["screws #8 x 2 1/2 in"]
    assert "too long" in told["screws #8 x 4 in"]
    kinds = {f.kind for unit in shop.units(shop.design_text, lumberyard) for f in unit.assembly.fasteners}
    assert "exterior screw #8 x 2 in" in kinds


def test_thick_walls_get_long_screws_and_a_warning_where_none_is_sold(shop: Any) -> None:
    design = shop.design_text.replace(
        'lumberyard = "lumberyard.toml"', 'lumberyard = "lumberyard.toml"\nwood = "1 1/2"'
    )
    lumberyard = lumberyard_with(shop, "screws #8 x 1 5/8 in").replace(
        'nominal = "1x', 'thickness = "1 1/2"\nnominal = "1x'
    )
    batch = shop.batch(design, lumberyard)
    units, report = check_batch(batch)
    (finding,) = [f for f in report.findings if f.code == "screws-do-not-fit"]
    assert "#8 x 1 5/8 in" in finding.value
    assert "#10 x 3 in" in finding.change
    assert bought(batch) == []
    kinds = {f.kind for unit in units for f in unit.assembly.fasteners}
    assert "exterior screw #10 x 3 in" in kinds
    assert "screws" in {goods for goods, _, _ in amounts(batch, units)}, "needed, and listed as without a price"


def test_a_metric_lumberyard_gets_metric_screws(shop: Any) -> None:
    design = shop.design_text.replace('unit = "in"', 'unit = "mm"').replace('"1/4"', '"6.5"')
    batch = shop.batch(design, lumberyard_with(shop, "Schrauben 4 x 40 mm", "Schrauben 4 x 50 mm"))
    assert bought(batch) == ["Schrauben 4 x 50 mm"]
    rim = next(unit for unit in shop.units(design, lumberyard_with(shop)) if unit.line.item.name == "fondant rim")
    assert any("4 x 50 mm" in step and "2.5 mm pilot holes" in step for step in rim.assembly.steps)


def test_no_warning_where_screws_fit_or_none_are_sold(shop: Any) -> None:
    for whats in ((), ("screws #8 x 2 in",), ("screws, box of 100",)):
        batch = shop.batch(shop.design_text, lumberyard_with(shop, *whats))
        assert "screws-do-not-fit" not in {f.code for f in check_batch(batch)[1].findings}
        assert len(bought(batch)) == len(whats)


def test_a_size_of_its_own_goes_before_the_words(shop: Any) -> None:
    lumberyard = lumberyard_with(shop, "box of screws", more='size = "#8 x 2 in"\n')
    (pack,) = [pack for pack in shop.lumberyard(lumberyard).packs if pack.goods == "screws"]
    assert pack.screw.size == "#8 x 2 in"


@pytest.mark.parametrize(("line", "given"), [('size = "number eight"\n', "number eight"), ('size = "2 in"\n', "2 in")])
def test_a_size_that_is_none_is_refused(shop: Any, line: str, given: str) -> None:
    with pytest.raises(InputError) as refused:
        shop.lumberyard(lumberyard_with(shop, "screws", more=line))
    (problem,) = refused.value.problems
    assert given in problem.given
    assert "#8 x 2 in" in problem.wanted
