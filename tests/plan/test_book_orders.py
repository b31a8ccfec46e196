"""Only orders accepted in the book are planned; what the design's own order lines have besides is said."""

from pathlib import Path

import pytest

from tests.plan.booked import HEAD, QUILTS, BookedShop
from tests.records.shop_days import sent
from woodshop.checks.shop_book import check_book
from woodshop.errors import InputError
from woodshop.plan.book.reading import read_booked
from woodshop.records.events import NewEvent

BOX = '[[box]]\nname = "mill tens"\nframes = 10\nwidth = "16 1/4"\ngap = "1/4"\n'
DESIGN = HEAD + BOX
LINE = '[[order]]\norder = "{order}"\ncustomer = "{customer}"\nitem = "{item}"\nbox = "mill tens"\ncount = {count}\n'


@pytest.fixture
def shop(tmp_path: Path) -> BookedShop:
    return BookedShop(tmp_path)


def accepted(order: str, count: int, item: str = "mouse guard", customer: str = "Ida Sorrel", **more: str) -> NewEvent:
    return sent("order accepted", order=order, customer=customer, item=item, box="mill tens", count=count, **more)


def line(order: str, count: int, item: str = "mouse guard", customer: str = "Ida Sorrel") -> str:
    return LINE.format(order=order, count=count, item=item, customer=customer)


def planned(shop: BookedShop, design: str = DESIGN) -> dict[tuple[str, str], int]:
    """How many of each item are made for each order."""
    return {(each.hives.order, each.item.name): each.count for each in shop.batch(design).lines}


def test_open_lines_of_the_book_are_planned(shop: BookedShop) -> None:
    shop.enter(
        accepted("A-1", 4, due="2026-10-30", priority="2"),
        accepted("A-1", 4, item="board", form="packed", due="2026-10-30", priority="2"),
        accepted("A-2", 3, customer="Tomasz Wren"),
        accepted("A-3", 7, customer="Dora Pell"),
        sent("order changed", order="A-2", item="mouse guard", box="mill tens", count=5),
        sent("order canceled", order="A-3", reason="moved away"),
    )
    assert planned(shop) == {
        ("A-1", "mouse guard"): 4,
        ("A-1", "fondant rim"): 4,
        ("A-1", "wire bottom"): 4,
        ("A-1", "spacer strips"): 4,
        ("A-2", "mouse guard"): 5,
    }
    first = shop.batch(DESIGN).hives[0]
    assert (first.customer, str(first.due), first.priority) == ("Ida Sorrel", "2026-10-30", 2)
    assert planned(shop, DESIGN).get(("A-3", "mouse guard")) is None


def test_a_form_is_needed_only_where_it_says_something(shop: BookedShop) -> None:
    """A quilt box of no stated form is planned as packed, as for hives, and that default is listed."""
    shop.enter(accepted("A-1", 4, item="quilt box"), accepted("A-2", 1, item="wire bottom", customer="Wren"))
    batch = shop.batch(DESIGN)
    assert {each.hives.form for each in batch.lines if each.item.name == "quilt box"} == {"packed"}
    (form,) = [each for each in batch.defaults if (each.where, each.name) == ("orders", "form")]
    assert form.value == "quilt box for Ida Sorrel, mill tens: packed"
    shop.enter(accepted("A-3", 4, item="fondant rim", customer="Pell"))
    with pytest.raises(InputError, match="the form of fondant rim"):
        shop.batch(DESIGN)


def test_orders_that_a_design_of_hives_leaves_out_are_said(shop: BookedShop) -> None:
    shop.enter(accepted("A-1", 4), accepted("A-2", 1, customer="Tomasz Wren"))
    found = list(check_book(shop.batch(HEAD + QUILTS)))
    assert [each.value for each in found] == ["2 open orders not planned: A-1, Ida Sorrel; A-2, Tomasz Wren"]
    assert "[[box]]" in found[0].change
    assert not list(check_book(shop.batch(DESIGN)))


def test_what_the_customer_has_is_not_planned_again(shop: BookedShop) -> None:
    guard = {"item": "mouse guard", "box": "mill tens"}
    shop.enter(
        accepted("A-1", 4), sent("units finished", **guard, count=4), sent("units sold", **guard, count=3, order="A-1")
    )
    batch = shop.batch(DESIGN)
    (only,) = batch.lines
    assert (only.hives.count, only.count, only.kept) == (1, 0, 1), "one is owed, and one is on hand"
    shop.enter(sent("units sold", **guard, count=1, order="A-1"))
    with pytest.raises(InputError, match="nothing to make"):
        shop.batch(DESIGN)


def test_units_on_hand_serve_the_orders_for_their_box(shop: BookedShop) -> None:
    shop.enter(
        accepted("A-1", 4, due="2026-11-30"),
        accepted("A-2", 3, customer="Tomasz Wren", due="2026-10-30"),
        sent("units finished", item="mouse guard", box="mill tens", count=5),
    )
    assert planned(shop) == {("A-1", "mouse guard"): 2, ("A-2", "mouse guard"): 0}


def test_lines_that_the_book_has_not_accepted_are_not_planned_and_said(shop: BookedShop) -> None:
    shop.enter(
        accepted("A-1", 4),
        accepted("A-3", 7, customer="Dora Pell"),
        sent("order canceled", order="A-3"),
        accepted("A-4", 2, customer="Bo Reed"),
    )
    design = DESIGN + line("A-1", 6) + line("A-2", 2, customer="Tomasz Wren") + line("A-3", 7, customer="Dora Pell")
    design += line("A-4", 2, customer="Bo Reed")
    assert planned(shop, design) == {("A-1", "mouse guard"): 4, ("A-4", "mouse guard"): 2}
    said = sorted((note.value for note in shop.notes(design) if note.place == "orders"), key=len)
    assert len(said) == 2
    assert "2 x mouse guard for mill tens, Tomasz Wren (not in the book)" in said[1]
    assert "7 x mouse guard for mill tens, Dora Pell (canceled in the book)" in said[1]
    assert "A-4" not in "".join(said)
    assert "6 x mouse guard for mill tens, Ida Sorrel; the book has 4" in said[0]


def test_hives_of_the_design_for_an_order_that_is_not_accepted_are_planned_and_said(shop: BookedShop) -> None:
    shop.enter(accepted("A-1", 4), accepted("A-2", 1), sent("order canceled", order="A-2"))
    hives = '[[hives]]\nname = "{0}"\norder = "{0}"\nframes = 10\ncount = 2\ngap = "1/4"\n'
    design = HEAD + "".join(hives.format(order) for order in ("A-1", "A-2", "A-9")) + '[[make]]\nitem = "mouse guard"\n'
    assert len(planned(shop, design)) == 3
    (note,) = shop.notes(design)
    assert note.value == "order A-2 for A-2 (canceled or delivered in the book); order A-9 for A-9 (not in the book)"


def test_a_delivered_order_is_no_news(shop: BookedShop) -> None:
    guard = {"item": "mouse guard", "box": "mill tens"}
    shop.enter(
        accepted("A-1", 1),
        accepted("A-2", 1, customer="Bo Reed"),
        sent("units finished", **guard, count=1),
        sent("units sold", **guard, count=1, order="A-1"),
    )
    assert not shop.notes(DESIGN + line("A-1", 1) + line("A-2", 1, customer="Bo Reed"))


def test_an_order_that_cannot_be_read_is_refused_with_its_place(shop: BookedShop) -> None:
    shop.enter(accepted("A-1", 4, item="mouse gard"))
    with pytest.raises(InputError, match=r"shop book, order A-1 \(event 1\), item"):
        shop.batch(DESIGN)


def test_a_design_of_hives_alone_takes_no_orders(shop: BookedShop) -> None:
    shop.enter(accepted("A-1", 4))
    hives = '[[hives]]\nname = "own"\nframes = 10\ncount = 2\ngap = "1/4"\n[[make]]\nitem = "mouse guard"\n'
    assert planned(shop, HEAD + hives) == {("", "mouse guard"): 2}
    assert planned(shop, HEAD + BOX + hives) == {("", "mouse guard"): 2, ("A-1", "mouse guard"): 4}


def test_another_book_can_be_given(shop: BookedShop, tmp_path_factory: pytest.TempPathFactory) -> None:
    other = BookedShop(tmp_path_factory.mktemp("other"))
    other.enter(accepted("B-1", 2))
    shop.enter(accepted("A-1", 4))
    wanted = read_booked(shop.write(DESIGN), other.book)
    assert [hives.order for hives in wanted.hives] == ["B-1"]
