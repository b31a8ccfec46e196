"""Names of items: one rule wherever a person writes one, and a hint for what the trade calls it otherwise."""

from pathlib import Path
from typing import Any

import pytest

from woodshop.design.orders.lines import read_run
from woodshop.documents.answers.listings import item_section
from woodshop.documents.answers.new_design import as_answers, new_design
from woodshop.errors import InputError
from woodshop.hardware.catalogue import SETS, SYNONYMS, items, items_named
from woodshop.trade.compare import into_design

HEAD = 'format = "woodshop-design/2"\nbatch = "b"\nunit = "in"\nlumberyard = "lumberyard.toml"\n'
HIVES = '[[hives]]\nframes = 10\ncount = 2\ngap = "1/4"\n'
PARTS = ("fondant rim", "wire bottom", "spacer strips")
BOARDS = ["board", "candy board", "fondant board", "Candy Board"]


def made(design: Any) -> list[str]:
    return [make.item.name for make in design.makes]


@pytest.mark.parametrize("name", BOARDS)
def test_a_board_is_its_rim_wire_bottom_and_strips_in_a_design_and_in_an_order(
    shop: Any, tmp_path: Path, name: str
) -> None:
    assert made(shop.design(f'{HEAD}{HIVES}[[make]]\nitem = "{name}"\n')) == [*PARTS]
    assert made(shop.design(f'{HEAD}{HIVES}[[make]]\nitem = ["{name}", "packing blocks"]\n')) == [
        *PARTS,
        "packing blocks",
    ]
    path = tmp_path / "orders.toml"
    order = f'[[order]]\ncustomer = "c"\nitem = "{name}"\nbox = "10-frame 16 1/4"\ncount = 2\nform = "packed"\n'
    path.write_text(HEAD + order)
    assert made(read_run(path)) == [*PARTS]


@pytest.mark.parametrize("name", BOARDS)
def test_new_takes_the_same_names(name: str) -> None:
    given: dict[str, Any] = dict.fromkeys(("batch", "title", "unit", "on_by", "pattern"))
    given |= dict.fromkeys(("gap", "width", "name", "customer", "set", "lumberyard"), ())
    given |= {"frames": (10,), "count": (6,), "make": (name,)}
    text = new_design(as_answers("beginner", "first", given), "first.toml")
    assert [line for line in text.splitlines() if line.startswith("item = ")] == [f'item = "{each}"' for each in PARTS]


def test_compare_varies_a_part_of_a_board() -> None:
    design = {"make": ({"item": ("board", "quilt box"), "spare": 1},)}
    changed = into_design((("spacer strips.thickness", "1/4"),), design)["make"]
    assert {"item": "spacer strips", "spare": 1, "thickness": "1/4"} in changed
    assert {"item": ("fondant rim", "wire bottom", "quilt box"), "spare": 1} in changed


def test_every_synonym_stands_for_an_item_and_is_none() -> None:
    known = {item.name for item in items()}
    assert set(SYNONYMS.values()) <= known
    assert not (set(SYNONYMS) | set(SETS)) & known
    assert {each for parts in SETS.values() for each in parts} <= known


DOORS = {
    "make": (f"{HEAD}{HIVES}[[make]]\nitem = {{}}\n", "make number 1, item"),
    "shed": (
        f'{HEAD}{HIVES}[[shed]]\nitem = {{}}\nhives = ""\nhave = 1\n[[make]]\nitem = "quilt box"\n',
        "shed number 1, item",
    ),
    "ready-made": (
        f'{HEAD}{HIVES}[buying]\nready_made = {{}}\n[[make]]\nitem = "quilt box"\n',
        "buying, ready_made",
    ),
    "order": (
        f'{HEAD}[[order]]\ncustomer = "c"\nitem = {{}}\nbox = "10-frame 16 1/4"\ncount = 2\nform = "packed"\n',
        "order number 1, item",
    ),
}


@pytest.mark.parametrize(("name", "item"), SYNONYMS.items())
@pytest.mark.parametrize("door", DOORS)
def test_what_the_trade_calls_it_is_answered_by_the_name_here(
    shop: Any, tmp_path: Path, door: str, name: str, item: str
) -> None:
    text, where = DOORS[door]
    if door in ("ready-made", "order", "shed") and item in ("packing blocks", "bee-space gauge"):
        pytest.skip("these serve the whole run: they are refused there under any name")
    path = tmp_path / "design.toml"
    path.write_text(text.format(f'"{name}"'))
    with pytest.raises(InputError) as refused:
        read_run(path)
    problem = next(each for each in refused.value.problems if each.where.endswith(where))
    assert problem.do == f"Did you mean {item!r}?"


@pytest.mark.parametrize("door", ["shed", "ready-made"])
def test_where_one_part_is_meant_a_board_is_answered_by_its_parts(tmp_path: Path, door: str) -> None:
    text, where = DOORS[door]
    path = tmp_path / "design.toml"
    path.write_text(text.format('"candy board"'))
    with pytest.raises(InputError) as refused:
        read_run(path)
    (problem,) = (each for each in refused.value.problems if each.where.endswith(where))
    assert problem.do == "It is made of these items: fondant rim, wire bottom, spacer strips."


def test_one_item_is_listed_by_its_own_name_alone() -> None:
    for name in ("board", "candy board"):
        with pytest.raises(InputError, match="It is made of these items"):
            item_section(name)
    with pytest.raises(InputError, match="Did you mean 'quilt box'"):
        item_section("moisture box")


def test_a_name_that_is_nothing_is_no_item() -> None:
    assert items_named("quilt box") == ("quilt box",)
    assert items_named("Quilt  Box") == ("quilt box",)
    assert items_named("umbrella") == ()
