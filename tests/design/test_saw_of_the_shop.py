"""Saw settings are the shop's own: in the design, or in a shop file that it names, and never in the seller's file."""

from typing import Any

import pytest

from woodshop.design.settings.saw import PRICING_KEYS, ShopFileTable
from woodshop.errors import InputError
from woodshop.plan.work.shop_file import ShopTable
from woodshop.units.lengths import inch, millimetre

SHOP_FILE = """format = "woodshop-shop/2"
name = "Ridge Road Bee Club"
[saw]
rip_kerf = "3/32"
mark = "1/32"
"""


def with_shop(shop: Any, text: str, own: str = "") -> Any:
    (shop.folder / "club-tools.toml").write_text(text, encoding="utf-8")
    return shop.batch(shop.design_text.replace("[[hives]]", f'shop = "club-tools.toml"\n{own}[[hives]]', 1))


def test_saw_settings_of_the_design_hold(shop: Any) -> None:
    batch = shop.batch(shop.design_text + '[saw]\nrip_kerf = "3/32"\n')
    assert batch.saw.rip_kerf == inch("3/32")
    assert ("saw", "rip_kerf") not in {(d.where, d.name) for d in batch.defaults}


def test_a_design_takes_the_tools_of_the_shop_file_that_it_names(shop: Any) -> None:
    batch = with_shop(shop, SHOP_FILE)
    assert (batch.saw.rip_kerf, batch.saw.mark) == (inch("3/32"), inch("1/32"))
    assert ("saw", "crosscut_kerf") in {(d.where, d.name) for d in batch.defaults}


def test_what_the_design_says_goes_before_the_shop_file(shop: Any) -> None:
    batch = with_shop(shop, SHOP_FILE, '[saw]\nrip_kerf = "1/8"\n')
    assert (batch.saw.rip_kerf, batch.saw.mark) == (inch("1/8"), inch("1/32"))


def test_a_shop_file_has_its_own_unit(shop: Any) -> None:
    batch = with_shop(shop, SHOP_FILE.replace("[saw]", 'unit = "mm"\n[saw]').replace('"3/32"', '"2.4"'))
    assert batch.saw.rip_kerf == millimetre("2.4")


@pytest.mark.parametrize(
    ("change", "place", "given", "do"),
    [
        (("mark =", "marks ="), "club-tools.toml, saw, marks", "unknown key", "'mark'"),
        (('"3/32"', '"-1/8"'), "club-tools.toml, saw, rip_kerf", "'-1/8'", "not a length"),
        (('"1/32"', '"0"'), "club-tools.toml, saw, mark", "0 in", "real size"),
        (("mark =", 'strips = "sled"\nmark ='), "club-tools.toml, saw, strips", "sled", "Choose"),
        (("[saw]", "[sow]"), "club-tools.toml, sow", "unknown key", "'saw'"),
        (("woodshop-shop/2", "woodshop-design/2"), "club-tools.toml, format", "design/2", "first line"),
    ],
)
def test_a_slip_in_a_shop_file_is_one_clear_problem(
    shop: Any, change: tuple[str, str], place: str, given: str, do: str
) -> None:
    with pytest.raises(InputError) as refused:
        with_shop(shop, SHOP_FILE.replace(*change))
    (problem,) = refused.value.problems
    assert problem.where == place
    assert given in problem.given
    assert do in problem.do


def test_a_saw_in_the_sellers_file_is_refused_once_and_told_where_it_goes(shop: Any) -> None:
    with pytest.raises(InputError) as refused:
        shop.lumberyard(shop.lumberyard_text + '[saw]\nrip_kerf = "1/8"\nmark = "1/16"\n')
    (problem,) = refused.value.problems
    assert problem.where == "lumberyard.toml, saw"
    assert "design file" in problem.do
    assert 'shop = "my-shop.toml"' in problem.do


def test_every_key_of_a_shop_file_is_known_where_its_tools_are_read() -> None:
    """Two rooms read the file, each its own part; a key that neither knows is refused by both."""
    assert set(ShopTable.model_fields) == {*PRICING_KEYS, *ShopFileTable.model_fields}
