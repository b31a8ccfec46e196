"""What the book says has happened since a plan was made: nothing of before counts again, nothing of since is lost."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.plan.booked import HEAD, QUILTS, BookedShop
from tests.records.shop_days import sent
from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.stocked import read_stocked
from woodshop.errors import InputError
from woodshop.plan.book.reading import read_booked
from woodshop.plan.book.rest import BookSince, design_since, inventory_since, progress_since, read_since
from woodshop.plan.rest.progress import BoardFault, BoughtCount, LayoutCut, OffcutOnHand, PieceCount, Progress
from woodshop.records.changes import correction_of, undo_of
from woodshop.records.events import NewEvent
from woodshop.records.store import open_book, read_book
from woodshop.units.lengths import inch

PINE, PINE_ID, BOARD = "1x6 pine, 8 ft", "1x6_96", "board 3/4 in"
SIDE, END = "quilt box / 10-frame 16 1/4 / side", "quilt box / 10-frame 16 1/4 / end"
WRITTEN: dict[str, Any] = {
    "batch": "winter",
    "digest": "d1" * 32,
    "terms": [{"lumberyard": "Creekside Lumber and Feed"}],
    "purchases": [{"what": PINE, "stock": "1x6_96"}, {"what": "white sugar, 25 lb bag"}],
    "at_hand": {BOARD: ["offcut_R7"]},
    "plans": {BOARD: {"layouts": [{"stock": "1x6_96"}, {"stock": "1x6_96"}, {"stock": "offcut_R7"}]}},
    "hives": [{"hives": "tens", "format": "10-frame 16 1/4"}],
    "lines": [
        {"address": "quilt box / 10-frame 16 1/4", "hives": "tens", "count": 6, "parts": {SIDE: 2, END: 2}},
    ],
}
CUT = {"batch": "winter", "material": BOARD}
QUILT = {"item": "quilt box", "box": "tens"}


class Since:
    """A book of which the plan knows the first events."""

    def __init__(
        self, shop: BookedShop, before: list[NewEvent], after: list[NewEvent], design: str, written: dict[str, Any]
    ) -> None:
        shop.enter(*before)
        shop.enter(*after)
        self.design = read_booked(shop.write(design))
        states = read_book(shop.book, len(before)), read_book(shop.book)
        self.since = BookSince(written, *states, bool(self.design.order_boxes))

    @property
    def progress(self) -> Progress:
        return progress_since(self.since, self.design, read_stocked(self.design))

    @property
    def units(self) -> int:
        return sum(units.good for units in inventory_since(self.since).units)


@pytest.fixture
def shop(tmp_path: Path) -> BookedShop:
    return BookedShop(tmp_path)


def since(
    shop: BookedShop,
    before: list[NewEvent],
    after: list[NewEvent],
    design: str = HEAD + QUILTS,
    written: dict[str, Any] = WRITTEN,
) -> Since:
    return Since(shop, before, after, design, written)


def bought(count: int, **more: Any) -> NewEvent:
    return sent("stock bought", stock=PINE, count=count, **more)


def cut(layout: int, times: int, **more: Any) -> NewEvent:
    return sent("layout cut", **CUT, layout=layout, times=times, **more)


def test_only_what_was_entered_after_the_plan_counts(shop: BookedShop) -> None:
    found = since(
        shop,
        [bought(3), cut(1, 1), sent("pieces spoiled", **CUT, part="A", count=1)],
        [
            bought(5, batch="winter"),
            cut(1, 2),
            cut(2, 1),
            cut(2, 1),
            sent("pieces spoiled", **CUT, part="A", count=2, reason="cut short"),
            sent("pieces made", **CUT, part="B", count=1),
            sent("layout cut", batch="other", material=BOARD, layout=2, times=4),
            sent("pieces lost", batch="other", material=BOARD, part="A", count=4),
        ],
    ).progress
    assert found.plan == WRITTEN["digest"]
    assert found.cut == (LayoutCut(1, 2, BOARD), LayoutCut(2, 2, BOARD))
    assert found.pieces == (PieceCount("A", "spoiled", 2, "cut short"), PieceCount("B", "made extra", 1))
    assert found.bought == (BoughtCount(PINE, 5),)


def test_layouts_of_another_plan_are_not_of_this_one(shop: BookedShop) -> None:
    found = since(shop, [], [cut(1, 2, plan="d1d1"), cut(1, 3, plan="ee00"), cut(2, 1)]).progress
    assert found.cut == (LayoutCut(1, 2, BOARD), LayoutCut(2, 1, BOARD))
    assert found.bought is None, "a book of cuts alone, begun after the plan, says nothing of stock: all is bought"


def test_a_layout_that_the_plan_has_not_is_refused_with_its_event(shop: BookedShop) -> None:
    found = since(shop, [bought(4)], [cut(1, 1), cut(99, 1), cut(9, 2, plan="d2")])
    with pytest.raises(
        InputError, match=r"shop book, event 3, layout cut: given layout 99; wanted a layout.*1 to 3"
    ) as why:
        _ = found.progress
    assert len(why.value.problems) == 1, "layout 9 is of another plan"


def test_boards_that_are_not_as_bought_are_faults_of_the_buy_lists_board(shop: BookedShop) -> None:
    found = since(
        shop,
        [bought(1), sent("board unusable", **CUT, stock=PINE, count=1, reason="before")],
        [
            bought(6),
            sent("board unusable", **CUT, stock=PINE, count=2, layout=2, reason="twisted"),
            sent("board shorter", **CUT, stock=PINE, board="B1", length="90"),
            sent("board with bad stretch", **CUT, board="B1", from_="10", to="12"),
        ],
    ).progress
    assert found.boards == (
        BoardFault(stock=PINE, count=2, layout=2, reason="twisted"),
        BoardFault(stock=PINE, length=inch(90), bad=((inch(10), inch(12)),), reason="marked board B1", board="B1"),
    )
    assert found.bought == (BoughtCount(PINE, 6),), "bought, whatever they turned out to be"


LEFT_OVER = f"left over {PINE_ID}"


@pytest.mark.parametrize(
    ("bought_since", "layout", "counts"),
    [(0, None, {LEFT_OVER: 2}), (1, None, {PINE: 1, LEFT_OVER: 1}), (4, 4, {LEFT_OVER: 2}), (4, 1, {PINE: 2})],
)
def test_boards_left_over_when_the_plan_was_made_can_turn_out_bad(
    shop: BookedShop, bought_since: int, layout: int | None, counts: dict[str, int]
) -> None:
    """They have the id of the left-over stock, because no line of the buy list is theirs."""
    layouts = [*WRITTEN["plans"][BOARD]["layouts"], {"stock": LEFT_OVER}]
    written = {**WRITTEN, "at_hand": {BOARD: [LEFT_OVER]}, "plans": {BOARD: {"layouts": layouts}}}
    if not bought_since:
        written["purchases"] = []
    more = {} if layout is None else {"layout": layout}
    own = since(
        shop,
        [bought(3)],
        [
            *([bought(bought_since)] if bought_since else []),
            sent("board unusable", **CUT, stock=PINE, count=2, reason="twisted", **more),
        ],
        written=written,
    )
    stock_then = read_stocked(replace(own.design, inventory=inventory_since(own.since)))
    faults = progress_since(own.since, own.design, stock_then).boards
    assert {each.stock: each.count for each in faults} == counts
    assert {each.reason for each in faults} == {"twisted"}, "counted once"


def test_old_boards_that_need_repair_still_need_it(shop: BookedShop) -> None:
    bad = sent("units need repair", **QUILT, count=2, reason="rusted")
    found = since(shop, [sent("units finished", **QUILT, count=5), bad], [cut(1, 1)])
    assert [(each.good, each.repair) for each in inventory_since(found.since).units] == [(3, 2)]
    assert not found.progress.pieces


@pytest.mark.parametrize("with_stock", [True, False])
def test_boards_used_outside_the_layouts_are_no_longer_there(shop: BookedShop, with_stock: bool) -> None:
    more = {"stock": PINE} if with_stock else {}
    found = since(
        shop, [], [bought(9), cut(1, 4, **more), sent("stock used", stock=PINE, count=1 if with_stock else 5)]
    ).progress
    assert found.bought == (BoughtCount(PINE, 8),)


def test_stock_for_another_batch_and_stock_beside_the_list(shop: BookedShop) -> None:
    found = since(
        shop,
        [sent("stock bought", stock="1x4 pine, 8 ft", count=2)],
        [
            bought(4),
            bought(3, batch="other"),
            sent("stock bought", stock="1x4 pine, 8 ft", count=1),
            sent("stock bought", stock="1x3 pine, 8 ft", count=5),
        ],
    )
    assert found.progress.bought == (BoughtCount(PINE, 4),)
    stock = inventory_since(found.since).stock
    assert [(each.stock, each.count, each.is_new) for each in stock] == [
        ("1x4 pine, 8 ft", 2, False),
        ("1x4 pine, 8 ft", 1, True),
        ("1x3 pine, 8 ft", 5, True),
    ]


def test_offcuts_put_away_since_are_there(shop: BookedShop) -> None:
    size = {"material": BOARD, "length": "31 1/2", "width": "5 1/2"}
    found = since(
        shop,
        [sent("offcut put away", offcut="R7", **size)],
        [
            sent("offcut put away", offcut="R8", **size),
            sent("offcut put away", offcut="R9", **size),
            sent("offcut used", offcut="R9"),
        ],
    )
    assert found.progress.offcuts == (
        OffcutOnHand(material=BOARD, length=inch("31 1/2"), width=inch("5 1/2"), label="R8"),
    )
    assert [each.label for each in inventory_since(found.since).rack] == ["R7"], "that of then"
    assert not found.progress.boards


@pytest.mark.parametrize(("layout", "faults"), [(1, 1), (3, 0)])
def test_an_offcut_of_the_plan_that_went_elsewhere_is_gone(shop: BookedShop, layout: int, faults: int) -> None:
    """Layout 3 of the plan is cut from it."""
    found = since(
        shop,
        [sent("offcut put away", offcut="R7", material=BOARD, length="31 1/2", width="5 1/2")],
        [sent("offcut used", offcut="R7"), cut(layout, 1)],
    ).progress
    assert [(each.stock, each.is_unusable) for each in found.boards] == [("offcut_R7", True)] * faults


def test_units_finished_sold_and_fitted_leave_the_count_to_make_as_it_was(shop: BookedShop) -> None:
    found = since(
        shop,
        [sent("units finished", **QUILT, count=2)],
        [
            sent("units finished", **QUILT, count=3),
            sent("units fitted", **QUILT, count=2, hive="blue"),
            sent("units sold", **QUILT, count=1),
        ],
    )
    assert found.units == 2, "as when the plan was made: its pieces are in those finished since"
    assert not found.progress.pieces


@pytest.mark.parametrize(("scrapped", "kept", "spoiled"), [(1, 1, 0), (2, 0, 0), (4, 0, 2)])
def test_units_scrapped_are_made_again_those_of_before_first(
    shop: BookedShop, scrapped: int, kept: int, spoiled: int
) -> None:
    found = since(
        shop,
        [sent("units finished", **QUILT, count=2)],
        [sent("units finished", **QUILT, count=3), sent("units scrapped", **QUILT, count=scrapped, reason="rot")],
    )
    assert found.units == kept
    assert {each.part: each.count for each in found.progress.pieces} == (
        {SIDE: 2 * spoiled, END: 2 * spoiled} if spoiled else {}
    )


def test_units_taken_off_a_hive_or_found_are_on_hand(shop: BookedShop) -> None:
    found = since(
        shop,
        [sent("units finished", **QUILT, count=2), sent("units fitted", **QUILT, count=2, hive="blue")],
        [
            sent("units taken off", **QUILT, count=1, hive="blue"),
            sent("units counted", **QUILT, counted=3, expected=1),
        ],
    )
    assert found.units == 1 + 2


def test_orders_keep_what_was_sold_since_and_take_what_was_accepted(shop: BookedShop) -> None:
    order = {"customer": "Ida Sorrel", "item": "quilt box", "box": "tens"}
    box = '[[box]]\nname = "tens"\nframes = 10\nwidth = "16 1/4"\ngap = "1/4"\n'
    found = since(
        shop,
        [sent("order accepted", order="A-1", **order, count=4, form="packed")],
        [
            sent("order accepted", order="A-2", **order, count=2, form="packed"),
            sent("units finished", **QUILT, form="packed", count=4),
            sent("units sold", **QUILT, form="packed", count=3, order="A-1"),
        ],
        HEAD + box,
    )  # fmt: skip
    orders = {each.order: each.open for each in inventory_since(found.since).orders}
    assert orders == {"A-1": 4, "A-2": 2}
    assert not found.progress.pieces


def test_units_of_before_that_were_brought_back_or_corrected_since_are_on_hand(shop: BookedShop) -> None:
    """Event 1 was undone when the plan was made, and event 2 said less than it does now; 5 more were finished since."""
    event = sent("units finished", **QUILT, count=2)
    shop.enter(event, sent("units finished", **QUILT, count=1))
    with open_book(shop.book) as book:
        book.add([undo_of(book.events(), 1)])
        written = {**WRITTEN, "book": {"event": 3, "digest": book.state().digest}}
        book.add([undo_of(book.events(), 3)])
        book.add([correction_of(book.events(), 2, {"count": "4"}, "in", "USD")])
        book.add([replace(sent("units finished", **QUILT, count=5), id="later")])
    found = read_since(written, read_design(shop.write()), None, "plan.json")
    assert sum(units.good for units in inventory_since(found).units) == 2 + 4
    design = design_since(found, read_design(shop.write()))
    assert [note.value for note in design.notes] == ["5 quilt box for tens"]
