"""How far boards are made: what is bought, cut and costed for each form."""

from datetime import date
from fractions import Fraction
from typing import Any

import pytest

from woodshop.checks.check_batch import check_batch
from woodshop.design.batch import packed_boards
from woodshop.design.make_units import make_units
from woodshop.design.tables import FORMS
from woodshop.errors import InputError
from woodshop.plan.buy_list import batch_mix, buy
from woodshop.plan.cost import unit_costs
from woodshop.units.lengths import pound

HEAD = 'format = "woodshop-design/2"\nbatch = "b"\nunit = "in"\nlumberyard = "lumberyard.toml"\n'
MAKE = '[[make]]\nitem = ["fondant rim", "wire bottom", "spacer strips", "quilt box"]\n'


def group(name: str, count: int, more: str = "") -> str:
    return f'[[hives]]\nname = "{name}"\nframes = 10\ncount = {count}\ngap = "1/4"\n{more}'


def text(*forms: str) -> str:
    """One group of ten hives for each form, named after it."""
    return HEAD + "".join(group(form, 10, f'form = "{form}"\n') for form in forms) + MAKE


def goods(shop: Any, design: str) -> dict[str, str]:
    batch = shop.batch(design)
    return {p.group: p.why for p in buy(batch, make_units(batch), ())[0]}


def test_only_what_is_packed_is_filled(shop: Any) -> None:
    batch = shop.batch(text(*FORMS))
    units = make_units(batch)
    assert packed_boards(batch, units) == (("packed", 10, pound(16)),)
    # one fill of a quilt box is 14 3/4 x 18 3/8 x 2 in = 0.3137 cu ft: ten of forty quilt boxes are filled
    assert goods(shop, text(*FORMS))["shavings"].startswith("3.1 cu ft loose")
    for form in ("with mesh", "empty", "unassembled kit"):
        batch = shop.batch(text(form))
        assert batch_mix(batch, make_units(batch)) is None
        assert not {"sugar", "vinegar", "shavings"} & set(goods(shop, text(form)))


FLOOR = '[[make]]\nitem = ["wire bottom", "spacer strips"]\n'


def test_nothing_is_packed_where_no_board_is_made_or_there(shop: Any) -> None:
    """Floors alone, without a word on form: no sugar is bought; rims in the shed are packed, as many as there are."""
    bare = HEAD + group("a", 60) + FLOOR
    batch = shop.batch(bare)
    assert packed_boards(batch, make_units(batch)) == ()
    assert not {"sugar", "vinegar"} & set(goods(shop, bare))
    assert ("a", "form", "with mesh") in {(each.where, each.name, each.value) for each in batch.defaults}
    shed = '[[shed]]\nitem = "fondant rim"\nhives = "a"\nhave = 7\n'
    batch = shop.batch(HEAD + group("a", 60) + shed + FLOOR)
    assert packed_boards(batch, make_units(batch)) == (("a", 7, pound(16)),)
    quilts = shop.batch(bare.replace('"spacer strips"', '"quilt box"'))
    assert packed_boards(quilts, make_units(quilts)) == ()
    assert set(goods(shop, bare.replace('"spacer strips"', '"quilt box"'))) >= {"shavings"}


def test_a_floor_to_be_packed_without_a_rim_is_refused(shop: Any) -> None:
    with pytest.raises(InputError, match=r"a, form: given 'packed', with a wire bottom and no rim"):
        shop.batch(HEAD + group("a", 2, 'form = "packed"\n') + FLOOR)


def test_an_empty_rim_has_no_mesh_and_no_strips(shop: Any) -> None:
    batch = shop.batch(text("packed", "empty"))
    made = {(line.hives.name, line.item.name) for line in batch.lines}
    assert {item for name, item in made if name == "empty"} == {"fondant rim", "quilt box"}
    assert len([item for name, item in made if name == "packed"]) == 4
    assert "spacer strips" not in {line.item.name for line in shop.batch(text("empty")).lines}
    # 36 staples for each floor, ten floors, and 5 % spare
    boards = text("packed", "empty").replace(', "quilt box"', "")
    assert goods(shop, boards)["staples"].startswith("360 plus")


def test_an_empty_rim_checks_without_errors(shop: Any) -> None:
    assert not check_batch(shop.batch(text("empty")))[1].has_errors


def test_only_mesh_for_empty_rims_is_refused(shop: Any) -> None:
    with pytest.raises(InputError, match="an item"):
        shop.batch(HEAD + group("a", 2, 'form = "empty"\n') + '[[make]]\nitem = "wire bottom"\n')


def test_an_unassembled_kit_has_its_screws_and_staples_and_no_glue(shop: Any) -> None:
    kit, built = goods(shop, text("unassembled kit")), goods(shop, text("with mesh"))
    assert "glue" not in kit
    assert "glue" in built
    assert {group: kit[group] for group in ("screws", "staples")} == {
        group: built[group] for group in ("screws", "staples")
    }
    # rims and quilt boxes of the ten built ones have four glued corners each, those of the kits none
    both = goods(shop, text("unassembled kit", "with mesh"))
    assert both["glue"] == built["glue"]


@pytest.mark.invariant
def test_costs_of_all_forms_add_up_and_glue_falls_where_it_is_used(shop: Any) -> None:
    batch = shop.batch(text(*FORMS))
    units = make_units(batch)
    purchases, _ = buy(batch, units, ())
    costs = unit_costs(batch, units, purchases)
    assert sum(cost.total.minor for cost in costs) == sum(p.total.minor for p in purchases)
    rims = {cost.address.split("(")[1]: cost.total.minor for cost in costs if cost.address.startswith("fondant rim")}
    assert rims["unassembled kit)"] < rims["with mesh)"]
    glue = tuple(p for p in purchases if p.group == "glue")
    only = {cost.address: Fraction(cost.total.minor) for cost in unit_costs(batch, units, glue)}
    assert all(not cents for address, cents in only.items() if "(unassembled kit)" in address)


def test_due_and_priority_come_from_the_group_else_the_design(shop: Any) -> None:
    head = HEAD + "on_by = 2026-12-01\n"
    groups = group("a", 1, "due = 2026-11-02\npriority = 1\n") + group("b", 1)
    batch = shop.batch(head + groups + MAKE)
    assert [(h.due, h.priority) for h in batch.hives] == [(date(2026, 11, 2), 1), (date(2026, 12, 1), 5)]
    assert ("b", "priority", "5") in {(d.where, d.name, d.value) for d in batch.defaults}
    assert ("hives", "form", "packed") in {(d.where, d.name, d.value) for d in batch.defaults}


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ('form = "pakced"', "packed"),
        ("priority = 0", "1 or more"),
        ("priority = 10", "9 or less"),
        ('due = "2026-11-02"', "a date such as 2026-11-15"),
    ],
)
def test_slips_are_refused(shop: Any, line: str, wanted: str) -> None:
    with pytest.raises(InputError, match=wanted):
        shop.batch(HEAD + group("a", 1, line + "\n") + MAKE)
