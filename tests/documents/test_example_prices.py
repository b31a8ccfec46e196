"""Prices that a lumberyard file still has from the example are marked wherever they are bought, and summed."""

from dataclasses import replace
from pathlib import Path

import pytest

from tests.once import planned
from woodshop.design.lumberyard.example_prices import EXAMPLE_PRICES, example_lumberyard, example_prices
from woodshop.design.lumberyard.lumberyard_file import joined, read_lumberyard_text
from woodshop.documents.lists import buy_csv
from woodshop.documents.packet.shopping import shopping_chapter
from woodshop.documents.result import result_section
from woodshop.drawing.pens.text import section_text
from woodshop.plan.values import PlannedBatch
from woodshop.units.lengths import Money


@pytest.fixture(scope="module")
def hobby() -> PlannedBatch:
    return planned("hobby-batch")


def begun(*changes: tuple[str, str]) -> str:
    """A lumberyard file begun from the example, with these changes."""
    text = f"{EXAMPLE_PRICES}\n{example_lumberyard('in')}"
    for old, new in changes:
        assert text.count(old) == 1
        text = text.replace(old, new)
    return text


def examples(text: str) -> set[str]:
    return {what for _, what, _ in read_lumberyard_text(text, Path("mill.toml")).example_prices}


def test_a_price_or_size_of_ones_own_is_no_example() -> None:
    before = examples(begun())
    assert {"1x4 pine, 8 ft", "white vinegar, 1 quart"} <= before
    assert examples(begun(('"6.96"', '"7.50"'))) == before - {"1x4 pine, 8 ft"}
    assert examples(begun(("= 946", "= 1000"))) == before - {"white vinegar, 1 quart"}
    assert len(example_prices(begun(("= 946", "= 1000")))) == len(example_prices(begun())) - 1


def test_without_the_line_of_the_example_nothing_is_an_example(hobby: PlannedBatch) -> None:
    assert not read_lumberyard_text(example_lumberyard("in"), Path("mill.toml")).example_prices
    assert not hobby.batch.lumberyard.example_prices


def with_examples(of: PlannedBatch) -> PlannedBatch:
    """The batch, bought at example prices but for its boards and rolls."""
    sold = {(each.lumberyard, each.what, each.price) for each in of.purchases if not each.stock}
    return replace(of, batch=replace(of.batch, lumberyard=replace(of.batch.lumberyard, example_prices=frozenset(sold))))


def test_each_purchase_is_marked_and_the_total_says_how_much(hobby: PlannedBatch) -> None:
    of = with_examples(hobby)
    goods = [each for each in of.purchases if not each.stock]
    cost = sum((each.total for each in goods), Money(0, "USD"))
    assert goods
    assert of.example_cost == cost < of.total
    text = " ".join(str(shopping_chapter(of)).split())
    assert text.count(" (example price)") == len(goods)
    assert f"{cost} of this total. Nobody has confirmed the prices of: " in text
    assert "(except example prices)" in text
    assert buy_csv(of).decode().count("; example price") == len(goods)
    assert f"{cost} of the cost, not confirmed" in section_text(result_section(of, Path("out")))


def test_a_batch_without_example_prices_says_nothing_of_them(hobby: PlannedBatch) -> None:
    of = hobby
    said = f"{shopping_chapter(of)} {buy_csv(of).decode()} {section_text(result_section(of, Path('out')))}"
    assert "example price" not in said


def test_the_mark_survives_the_names_of_several_lumberyards(hobby: PlannedBatch) -> None:
    of, other = with_examples(hobby), read_lumberyard_text(example_lumberyard("in"), Path("b.toml"))
    mine = replace(
        other, name="mill", example_prices=frozenset({("mill", "white vinegar, 1 quart", Money(199, "USD"))})
    )
    bare = replace(other, offers=tuple(each for each in other.offers if not each.label))
    both = joined([mine, bare], ["a.toml", "b.toml"])
    purchase = replace(
        of.purchases[-1], lumberyard="mill", what="white vinegar, 1 quart (mill)", price=Money(199, "USD")
    )
    of = replace(of, batch=replace(of.batch, lumberyard=both))
    assert of.is_example_price(purchase)
    assert not of.is_example_price(
        replace(purchase, lumberyard=bare.name, what=f"white vinegar, 1 quart ({bare.name})")
    )
