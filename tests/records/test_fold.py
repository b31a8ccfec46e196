"""The state of a book: what its events say together, what cannot be, and what corrections and undos change."""

from collections.abc import Iterator
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from tests.records.shop_days import BOARD, PINE, autumn, sent
from woodshop.errors import InputError
from woodshop.records.changes import correction_of
from woodshop.records.events import NewEvent, new_event
from woodshop.records.store import Book, new_book, open_book, read_book
from woodshop.units.lengths import Money, inch, read_length

BOX = {"item": "quilt box", "box": "tens"}


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    new_book(tmp_path / "shop.book")
    with open_book(tmp_path / "shop.book") as book:
        yield book


def test_an_order_from_acceptance_to_the_last_payment(book: Book) -> None:
    book.add(autumn())
    state = book.state()
    pine, screws = state.stock
    assert (pine.stock, pine.material) == (PINE, BOARD)
    assert (pine.bought, pine.used, pine.unusable, pine.marked, pine.on_hand) == (10, 6, 1, 1, 2)
    assert screws.on_hand == 2
    assert state.boards == ()
    (offcut,) = state.offcuts
    assert (offcut.offcut, offcut.length, offcut.place) == ("R7", inch("31 1/2"), "shed")
    (order,) = state.orders
    assert order.total == order.paid == Money(16600)
    assert [(line.item, line.count, line.sold) for line in order.lines] == [("quilt box", 4, 4), ("mouse guard", 4, 4)]
    assert state.units_on_hand("quilt box", "tens") == (0, 1)
    assert state.prices["Creekside", PINE].day == date(2026, 9, 22)
    assert state.density is not None
    assert state.density.mean == Fraction("0.83")
    assert state.kerfs["rip", ""].mean == read_length("0.123").mm
    assert (state.minutes["assemble"].mean, state.minutes["assemble"].entries) == (12, 2)
    (batch,) = state.batches
    assert [(each.layout, each.times) for each in batch.layouts] == [(1, 6), (2, 1)]
    (side,) = batch.pieces
    assert (side.made, side.spoiled, side.lost, side.found, side.reasons) == (0, 1, 2, 1, ("cut short",))
    assert [(each.count, each.reason) for each in batch.unusable] == [(1, "twisted")]
    assert state.boxes[0].gaps == (inch("1/4"), inch("5/16"))
    assert [(each.count, each.price) for each in state.purchases] == [(10, Money(1112)), (2, Money(640))]


def test_a_marked_board_keeps_its_faults_until_it_is_cut(book: Book) -> None:
    book.add(autumn()[:9])
    (board,) = book.state().boards
    assert (board.board, board.stock, board.length) == ("B1", PINE, inch(94))
    assert board.bad == ((inch(22), inch("25 1/2")),)


@pytest.mark.parametrize(
    ("event", "given"),
    [
        (sent("stock used", stock=PINE, count=3), "3 of '1x6 pine, 8 ft'; wanted at most 2"),
        (sent("stock used", stock="nails", count=1), "at most 0"),
        (sent("stock used", stock=f"{PINE}, bought", count=1), "Did you mean '1x6 pine, 8 ft'?"),
        (sent("layout cut", batch="autumn", material=BOARD, layout=1, times=9, stock=PINE), "9 of"),
        (sent("layout cut", batch="autumn", material=BOARD, layout=1, times=1, board="B1"), "a board marked 'B1'"),
        (sent("layout cut", batch="autumn", material=BOARD, layout=1, times=2, offcut="R7"), "2 times from one board"),
        (sent("layout cut", batch="a", material=BOARD, layout=1, times=1, offcut="R7", stock=PINE), "one of them"),
        (sent("offcut used", offcut="R8"), "offcut 'R8'"),
        (sent("offcut put away", offcut="R7", material=BOARD, length="20", width="3"), "a second time"),
        (sent("units sold", **BOX, count=1), "there are 1 needs repair in shed"),
        (sent("units fitted", **BOX, count=1, hive="red"), "at most 0"),
        (sent("units taken off", **BOX, count=1, hive="blue hive"), "on hive blue hive"),
        (sent("units repaired", **BOX, count=2), "2 quilt box for tens needs repair in shed; wanted at most 1"),
        (sent("units scrapped", **BOX, count=1, place="barn", reason="rot"), "in barn"),
        (sent("deposit paid", order="M-2", amount="1"), "order 'M-2'"),
        (sent("refund paid", order="M-1", amount="166.01"), "at most $166.00"),
        (sent("order changed", order="M-1", **BOX, count=3), "at least 4, which the customer has"),
        (sent("order changed", order="M-1", **BOX, form="packed", count=5), "a line of order M-1"),
        (sent("order accepted", order="M-1", customer="Ida Sorrel", **BOX, count=1), "a second time"),
        (sent("order accepted", order="M-1", customer="Ida Sorell", item="x", box="y", count=1), "'Ida Sorrel'"),
        (sent("order canceled", order="M-1", item="quilt box"), "item and box"),
        (sent("stock bought", stock=PINE, count=1, material="board 1 in"), "board 3/4 in, as bought before"),
        (sent("board with bad stretch", batch="a", material=BOARD, board="B2", from_="5", to="4"), "ends after"),
        (sent("offcut counted", offcut="R7", counted=1, expected=1), "counted 0"),
        (sent("stock counted", stock=PINE, counted=1, expected=5), "2, which the book has"),
    ],
    ids=lambda value: value.kind if isinstance(value, NewEvent) else "",
)
def test_what_cannot_be_is_refused_and_nothing_is_entered(book: Book, event: NewEvent, given: str) -> None:
    book.add(autumn())
    before = book.head()
    with pytest.raises(InputError) as caught:
        book.add([sent("units finished", **BOX, count=1, place="other"), event])
    assert given in str(caught.value)
    assert book.head() == before
    book.add([sent("stock used", stock=PINE, count=1)])


def test_selling_more_than_was_ordered_is_refused(book: Book) -> None:
    book.add([*autumn(), sent("units finished", **BOX, count=3)])
    with pytest.raises(InputError, match="at most 0, which order M-1 has left"):
        book.add([sent("units sold", **BOX, count=1, order="M-1")])
    book.add([sent("order changed", order="M-1", **BOX, count=5), sent("units sold", **BOX, count=1, order="M-1")])
    assert book.state().orders[0].lines[0].sold == 5


def test_a_cancelled_order_takes_no_more_and_gives_money_back(book: Book) -> None:
    book.add(autumn()[:3])
    book.add([sent("order canceled", order="M-1", item="mouse guard", box="tens")])
    assert book.state().orders[0].total == Money(12800)
    book.add([sent("order canceled", order="M-1", reason="moved away"), sent("refund paid", order="M-1", amount="50")])
    (order,) = book.state().orders
    assert order.is_cancelled
    assert (order.total, order.paid) == (Money(0), Money(0))
    with pytest.raises(InputError, match="which was canceled"):
        book.add([sent("deposit paid", order="M-1", amount="1")])


def test_undo_takes_an_event_away_and_undo_of_the_undo_brings_it_back(book: Book) -> None:
    bought = sent("stock bought", stock=PINE, count=10)
    book.add([bought, sent("stock used", stock=PINE, count=4)])
    with pytest.raises(InputError, match="undo of an event that event 2, stock used needs"):
        book.add([sent("undo", of=bought.id)])
    used = book.events()[1]
    undo = sent("undo", of=used.id)
    book.add([undo])
    assert book.state().stock[0].on_hand == 10
    with pytest.raises(InputError, match="event 2, which was undone"):
        book.add([sent("undo", of=used.id, nth=2)])
    book.add([sent("undo", of=undo.id)])
    assert book.state().stock[0].on_hand == 6
    assert book.state(as_of=3).stock[0].on_hand == 10
    with pytest.raises(InputError, match="event 3, which was undone"):
        book.add([sent("undo", of=undo.id, reason="again")])


def test_a_correction_holds_from_its_number_on(book: Book) -> None:
    bought = sent("stock bought", "2026-10-01", stock=PINE, count=10, price="6.20")
    book.add([bought, sent("stock used", stock=PINE, count=4)])
    right = {"stock": PINE, "count": 5, "price": 650}
    fixed = new_event("correction", {"of": bought.id, **right})
    book.add([fixed])
    state = book.state()
    assert (state.stock[0].on_hand, state.purchases[0].price) == (1, Money(650))
    assert state.purchases[0].day == date(2026, 10, 1)
    assert book.state(as_of=2).stock[0].on_hand == 6
    with pytest.raises(InputError, match="correction of an event that event 2"):
        book.add([new_event("correction", {"of": bought.id, **right, "count": 3})])
    with pytest.raises(InputError, match="Correct event 1 again"):
        book.add([new_event("correction", {"of": fixed.id, **right})])
    with pytest.raises(InputError, match="stock bought without count"):
        book.add([new_event("correction", {"of": bought.id, "stock": PINE})])
    with pytest.raises(InputError, match="a field that stock bought has not"):
        book.add([new_event("correction", {"of": bought.id, **right, "hive": "blue"})])
    book.add([new_event("correction", {"of": bought.id, **right, "count": 7}), sent("undo", of=fixed.id)])
    assert book.state().stock[0].on_hand == 3  # the later correction holds
    with pytest.raises(InputError, match="an event of this book"):
        book.add([sent("undo", of="nothing")])


def test_a_correction_of_what_another_corrected_meanwhile_is_refused(book: Book) -> None:
    book.add([sent("stock bought", stock=PINE, count=10, price="6.20")])
    known = book.events()
    mine = correction_of(known, 1, {"price": "6.50"}, "in", "USD")
    with open_book(book.path) as other:
        other.add([correction_of(known, 1, {"count": "9"}, "in", "USD")], len(known))
    with pytest.raises(InputError, match=r"another program has entered a correction since \(event 2\)"):
        book.add([mine], len(known))
    known = book.events()
    again = correction_of(known, 1, {"price": "6.50"}, "in", "USD")
    book.add([again], len(known))
    book.add([again], 1)  # sent again, it is recognized
    (purchase,) = book.state().purchases
    assert (purchase.count, purchase.price) == (9, Money(650))


def test_an_inventory_count_says_how_many_there_are_whatever_is_corrected_before_it(book: Book) -> None:
    bought = sent("stock bought", stock=PINE, count=10)
    book.add([bought, sent("stock counted", stock=PINE, counted=8, expected=10)])
    assert (book.state().stock[0].on_hand, book.state().stock[0].difference) == (8, -2)
    book.add([new_event("correction", {"of": bought.id, "stock": PINE, "count": 9})])
    assert (book.state().stock[0].on_hand, book.state().stock[0].difference) == (8, -1)
    book.add([sent("units counted", **BOX, counted=2, expected=0), sent("units counted", **BOX, counted=1, expected=2)])
    assert book.state().units_totals[0].difference == 1


def test_the_state_is_the_same_whoever_folds_it(book: Book) -> None:
    events = autumn()
    for event in events:
        book.add([event])
    assert read_book(book.path) == book.state()
    for n in range(len(events) + 1):
        assert read_book(book.path, n).number == n
    with pytest.raises(InputError, match="a number from 0 to 29"):
        book.state(as_of=30)
