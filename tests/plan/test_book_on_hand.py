"""What the book has on hand takes the place of [[shed]], of the rack and of goods to buy; nothing is dropped unsaid."""

import json
from collections import Counter
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from tests.plan.booked import HEAD, NO_RACK, QUILTS, BookedShop
from tests.records.shop_days import sent
from tests.shop_folder import LUMBERYARD
from woodshop.design.batch import packed_boards
from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.stocked import read_stocked
from woodshop.design.make_units import make_units
from woodshop.design.settle.settle import settle
from woodshop.design.tables import FORMS
from woodshop.documents.packet.shopping import shopping_chapter
from woodshop.drawing.values.model import Bullets
from woodshop.errors import InputError
from woodshop.findings import gather
from woodshop.plan.book.reading import read_booked
from woodshop.plan.buy_list import amounts, amounts_to_buy, goods_on_hand
from woodshop.plan.plan_batch import batch_to_json, plan_batch
from woodshop.plan.verify import verify_file
from woodshop.records.events import NewEvent
from woodshop.units.lengths import Money, inch

PINE, BOARD = "1x6 pine, 8 ft", "board 3/4 in"
BOARDS = QUILTS.replace('"quilt box"', '["fondant rim", "wire bottom", "spacer strips"]')


@pytest.fixture
def shop(tmp_path: Path) -> BookedShop:
    return BookedShop(tmp_path)


def finished(count: int, box: str = "tens", item: str = "quilt box", **more: str) -> NewEvent:
    return sent("units finished", item=item, box=box, count=count, **more)


def test_units_on_hand_are_not_made_again(shop: BookedShop) -> None:
    shop.enter(finished(4), sent("units need repair", item="quilt box", box="tens", count=1))
    assert shop.counts() == {("quilt box", "tens"): (6 - 4 + 1, 3, 1), ("quilt box", "eights"): (3, 0, 0)}
    assert [line.arithmetic for line in shop.batch().lines] == [
        "6 hives - 4 on hand + 1 to repair = 3",
        "3 hives = 3",
    ]
    assert not shop.notes()


def test_units_on_hives_sold_and_scrapped_are_not_on_hand(shop: BookedShop) -> None:
    quilt = {"item": "quilt box", "box": "tens"}
    shop.enter(
        finished(5),
        sent("units fitted", **quilt, count=1, hive="blue"),
        sent("units sold", **quilt, count=1),
        sent("units scrapped", **quilt, count=1, reason="split"),
    )
    assert shop.counts()["quilt box", "tens"] == (4, 2, 0)
    assert shop.counts(as_of=1)["quilt box", "tens"] == (1, 5, 0), "as it was after the first event"


def test_what_is_more_than_the_hives_or_for_no_hives_is_said(shop: BookedShop) -> None:
    shop.enter(finished(9), finished(2, "mill tens"), finished(1, "tens", "quilting box"))
    assert shop.counts()["quilt box", "tens"] == (0, 6, 0)
    said = " ".join(note.value for note in shop.notes())
    assert "3 quilt box for tens" in said
    assert "2 quilt box for mill tens (no such hives here)" in said
    assert "1 quilting box for tens (no such item or form)" in said
    assert {note.code for note in shop.notes()} == {"book-entry-not-used"}


def test_an_item_that_these_hives_are_not_made_is_said(shop: BookedShop) -> None:
    shop.enter(finished(1, item="mouse guard"))
    assert "1 mouse guard for tens (none is made for these hives)" in shop.notes()[0].value


@pytest.mark.parametrize("box", ["TENS", "10-frame 16 1/4", "Tens"])
def test_hives_are_known_by_their_name_or_their_box(shop: BookedShop, box: str) -> None:
    shop.enter(finished(2, box))
    assert shop.counts()["quilt box", "tens"] == (4, 2, 0)


def test_hives_due_first_get_what_is_there(shop: BookedShop) -> None:
    late = QUILTS.replace('name = "tens"', 'name = "late"\ndue = 2026-12-01')
    soon = late.replace("late", "soon").replace("2026-12-01", "2026-10-01").split("[[hives]]")[1]
    shop.enter(finished(7, "10-frame 16 1/4"))
    counts = shop.counts(HEAD + "[[hives]]" + soon + late)
    assert counts["quilt box", "soon"] == (0, 6, 0)
    assert counts["quilt box", "late"] == (5, 1, 0)


# Which forms serve which is common practice, no source: a board without its mesh serves as a rim, sugar stays in, and a
# kit is not assembled.
@pytest.mark.parametrize(
    ("wanted", "there", "rims", "floors"),
    [
        ("packed", "packed", 2, 2),
        ("packed", "with mesh", 2, 2),
        ("packed", "empty", 2, 0),
        ("packed", "unassembled kit", 0, 0),
        ("with mesh", "packed", 0, 0),
        ("with mesh", "with mesh", 2, 2),
        ("with mesh", "empty", 2, 0),
        ("unassembled kit", "unassembled kit", 2, 2),
        ("unassembled kit", "with mesh", 0, 0),
        ("packed", "", 2, 2),
    ],
)
def test_a_form_serves_those_that_can_become_it(
    shop: BookedShop, wanted: str, there: str, rims: int, floors: int
) -> None:
    shop.enter(finished(2, item="board", form=there))
    design = HEAD + BOARDS.replace("count = 6", f'count = 6\nform = "{wanted}"')
    counts = shop.counts(design)
    assert counts["fondant rim", "tens"] == (6 - rims, rims, 0)
    assert counts["wire bottom", "tens"] == (6 - floors, floors, 0)
    assert bool(shop.notes(design)) == (not rims)


def test_boards_that_are_packed_already_need_no_sugar(shop: BookedShop) -> None:
    shop.enter(finished(2, item="board", form="packed"), finished(1, item="board", form="with mesh"))
    batch = shop.batch(HEAD + BOARDS)
    assert [(name, count) for name, count, _ in packed_boards(batch, make_units(batch))] == [("tens", 4), ("eights", 3)]


@settings(max_examples=tries(200), deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
@pytest.mark.slow("a book and a batch for each example")
def test_every_unit_is_used_once_or_said_to_be_left(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    shop = BookedShop(tmp_path_factory.mktemp("book"))
    events = []
    total = 0
    for _ in range(data.draw(st.integers(1, 6))):
        count = data.draw(st.integers(1, 5))
        box, form = data.draw(st.sampled_from(("tens", "eights", "elms"))), data.draw(st.sampled_from(("", *FORMS)))
        events.append(finished(count, box, form=form))
        total += count
        if data.draw(st.booleans()):
            events.append(sent("units need repair", item="quilt box", box=box, form=form, count=1))
    shop.enter(*events)
    lines = shop.batch().lines
    used = sum(line.kept + line.repaired for line in lines)
    left = sum(
        int(words.split(" ")[0]) for note in shop.notes() for words in note.value.split("; ") if "more" not in words
    )
    assert used + left == total
    for line in lines:
        assert line.count == line.hives.count - line.kept >= 0


def test_with_a_book_the_shed_of_the_design_does_not_count_and_that_is_said(shop: BookedShop) -> None:
    shed = '[[shed]]\nitem = "quilt box"\nhives = "tens"\nhave = 5\n'
    shop.enter(finished(2))
    assert shop.counts(HEAD + shed + QUILTS)["quilt box", "tens"] == (4, 2, 0)
    (note,) = shop.notes(HEAD + shed + QUILTS)
    assert note.code == "not-in-the-book"
    assert note.value == "quilt box for tens: 5 on hand, in the book 2 on hand"
    assert not shop.notes(HEAD + shed.replace("5", "2") + QUILTS), "both agree"


# ---- the rack and left-over stock ------------------------------------------------------------


def test_offcuts_of_the_book_are_the_rack_and_those_of_the_file_are_not_used(shop: BookedShop) -> None:
    shop.enter(
        sent("offcut put away", offcut="R7", material=BOARD, length="31 1/2", width="5 1/2", bad="4 to 6"),
        sent("offcut put away", offcut="R8", material="oak 3 in", length="31", width="5"),
        sent("offcut put away", offcut="R9", material=BOARD, length="20", width="3"),
        sent("offcut used", offcut="R9"),
    )
    rack = {each.label: each for each in shop.batch().lumberyard.offers if each.label}
    assert set(rack) == {"R7"}
    assert (rack["R7"].length, rack["R7"].width, rack["R7"].count) == (inch("31 1/2"), inch("5 1/2"), 1)
    assert rack["R7"].bad == ((inch(4), inch(6)),)
    said = {note.code: note.value for note in shop.notes(lumberyard=LUMBERYARD)}
    assert "offcut R8 (material 'oak 3 in')" in said["book-entry-not-used"]
    assert "offcut R1" in said["not-in-the-book"]


def test_a_marked_board_is_stock_of_its_true_length(shop: BookedShop) -> None:
    shop.enter(
        sent("stock bought", stock=PINE, count=2),
        sent("board shorter", batch="b", material=BOARD, stock=PINE, board="B1", length="90 in"),
        sent("board with bad stretch", batch="b", material=BOARD, board="B1", from_="10", to="12"),
    )
    lumberyard = shop.batch().lumberyard
    marked = next(each for each in lumberyard.offers if each.label == "board B1")
    assert (marked.length, marked.width, marked.bad) == (inch(90), inch("5 1/2"), ((inch(10), inch(12)),))
    assert marked.straight_edges
    left = next(each for each in lumberyard.offers if each.label == "bought")
    assert (left.count, left.length) == (1, inch(96)), "the marked one is no longer among the others"


def test_left_over_boards_come_first_and_are_charged_what_they_cost(shop: BookedShop) -> None:
    shop.enter(sent("stock bought", stock=PINE, count=3, price="10.00"))
    left = next(each for each in shop.batch().lumberyard.offers if each.label == "bought")
    assert (left.price, left.worth, left.count) == (Money(10), Money(1000), 3)
    batch = shop.batch()
    with_book = plan_batch(batch, make_units(batch), gather([]), effort="quick")
    bookless = read_design(_bookless(shop))
    bare = settle(bookless, read_stocked(bookless))
    without = plan_batch(bare, make_units(bare), gather([]), effort="quick")
    assert with_book.total.minor < without.total.minor
    raw = batch_to_json(with_book)
    assert "left over 1x6_96" in raw["at_hand"][BOARD]
    assert not [finding for row in verify_file(json.dumps(raw)) for finding in row["findings"]]


def _bookless(shop: BookedShop) -> Path:
    path = shop.folder / "bookless.toml"
    path.write_text((HEAD + QUILTS).replace('book = "shop.book"\n', ""), encoding="utf-8")
    return path


def test_stock_that_no_lumberyard_sells_needs_its_size(shop: BookedShop) -> None:
    shop.enter(
        sent("stock bought", stock="barn boards", count=3),
        sent("stock bought", stock="1x6 cedar, 7 ft", count=2, material=BOARD, length="84", width="5 1/2"),
    )
    assert {each.what: each.count for each in shop.batch().lumberyard.offers if each.label} == {
        "1x6 cedar, 7 ft, bought": 2
    }
    assert "3 x barn boards" in {note.code: note.value for note in shop.notes()}["book-entry-not-used"]


@pytest.mark.parametrize(
    "name", ["white sugar, 25 lb bag", "White Sugar, 25 lb bag", "white sugar, 25 lb bag (Creekside Lumber and Feed)"]
)
def test_left_over_packs_are_bought_less(shop: BookedShop, name: str) -> None:
    shop.enter(sent("stock bought", stock=name, count=2), sent("stock bought", stock=name, count=1))
    shop.enter(sent("stock used", stock=name, count=1))
    batch = shop.batch(HEAD + BOARDS)
    units = make_units(batch)
    needed = {goods: amount for goods, amount, _ in amounts(batch, units)}
    bought = {goods: (amount, why) for goods, amount, why in amounts_to_buy(batch, units)}
    assert goods_on_hand(batch) == {"sugar": 2 * Fraction("11339.80925")}  # 25 lb of 453.59237 g: NIST Handbook 44
    assert bought["sugar"][0] == needed["sugar"] - goods_on_hand(batch)["sugar"]
    assert "less 2 x white sugar, 25 lb bag on hand (shop book, event 3)" in bought["sugar"][1]


def test_goods_of_which_enough_is_there_are_not_bought(shop: BookedShop) -> None:
    shop.enter(sent("stock bought", stock="white sugar, 25 lb bag", count=50))
    batch = shop.batch(HEAD + BOARDS)
    planned = plan_batch(batch, make_units(batch), gather([]), effort="quick")
    assert "sugar" not in {purchase.group for purchase in planned.purchases}
    said = [line for block in shopping_chapter(planned).blocks if isinstance(block, Bullets) for line in block.items]
    wanted = "Packs on hand (shop book, event 1), used before any is bought: 50 x white sugar, 25 lb bag."
    assert wanted in said
    raw = batch_to_json(planned)
    assert not [f for row in verify_file(json.dumps(raw)) for f in row["findings"]]
    raw["goods"][0]["there"] = "0"
    assert [f for row in verify_file(json.dumps(raw)) for f in row["findings"]], "the check sees what was there"


# ---- prices, density, kerfs ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "used"), [("2026-09-11", 1112), ("2026-09-12", 1234), ("2026-11-01", 1234)]
)  # the file's prices are of 2026-09-12
def test_the_newer_price_is_used_and_both_are_listed(shop: BookedShop, day: str, used: int) -> None:
    shop.enter(sent("price seen", day, lumberyard="Creekside", stock=PINE, price="12.34"))
    batch = shop.batch()
    (pine,) = [each for each in batch.lumberyard.offers if each.what == PINE]
    assert pine.price == Money(used)
    (listed,) = [each for each in batch.defaults if each.name == PINE]
    assert "$12.34" in listed.value
    assert "$11.12" in listed.value
    assert day in listed.value
    assert listed.source == "shop book, event 1"


def test_a_price_paid_counts_as_a_price_seen_and_the_last_one_wins(shop: BookedShop) -> None:
    yard = {"lumberyard": "Creekside Lumber and Feed", "stock": PINE}
    shop.enter(
        sent("price seen", "2026-10-01", **yard, price="12.00"),
        sent("stock bought", "2026-10-03", **yard, count=1, price="13.00"),
        sent("price seen", "2026-10-02", **yard, price="14.00"),
    )
    (pine,) = [each for each in shop.batch().lumberyard.offers if each.what == PINE]
    assert pine.price == Money(1300)


def test_a_price_of_an_unknown_thing_is_said(shop: BookedShop) -> None:
    shop.enter(sent("price seen", "2026-10-01", lumberyard="Creekside", stock="teak", price="12.00"))
    assert "teak at Creekside" in {note.place: note.value for note in shop.notes()}["shop book, event 1, prices"]


def test_a_book_in_another_currency_is_refused(shop: BookedShop) -> None:
    shop.write()
    with pytest.raises(InputError, match="CAD, as in the lumberyard file"):
        shop.batch(lumberyard=NO_RACK.replace('"USD"', '"CAD"'))


def test_measured_density_and_kerf_are_used_where_the_design_gives_none(shop: BookedShop) -> None:
    shop.enter(
        sent("density measured", density="0.83"),
        sent("density measured", density="0.87"),
        sent("kerf measured", cut="rip", kerf="0.101"),
        sent("kerf measured", cut="rip", kerf="0.103"),
        sent("kerf measured", cut="crosscut", tool="miter saw, 60 teeth", kerf="0.09"),
    )
    batch = shop.batch(HEAD + BOARDS)
    assert batch.lines[0].setting.board.density.kg_per_litre == Fraction("0.85")
    assert batch.saw.rip_kerf == inch("0.102")
    assert batch.saw.tools.miter_saw_kerf == inch("0.09")
    sources = {(each.where, each.name): each.source for each in batch.defaults}
    assert sources["board", "density"] == "shop book, event 5"
    assert sources["tools", "table_saw_kerf"] == "shop book, event 5"
    given = BOARDS + '[board]\ndensity = "0.80 kg/L"\n[saw]\nrip_kerf = "1/8"\n'
    batch = shop.batch(HEAD + given)
    assert batch.lines[0].setting.board.density.kg_per_litre == Fraction("0.80")
    assert batch.saw.rip_kerf == inch("1/8")
    beside = {(each.where, each.name): each.value for each in batch.defaults if "book" in each.source}
    assert beside["board", "density measured"] == "0.85 kg/L, the mean of 2 measured; 0.8 kg/L is used"
    assert beside["tools", "table_saw_kerf measured"].endswith("1/8 in is used")


def test_a_density_that_cannot_be_is_refused(shop: BookedShop) -> None:
    shop.enter(sent("density measured", density="9"))
    with pytest.raises(InputError, match="density"):
        shop.batch(HEAD + BOARDS)


def test_a_design_with_a_book_is_never_settled_without_it(shop: BookedShop) -> None:
    path = shop.write()
    with pytest.raises(ValueError, match="read_booked"):
        settle(read_design(path), read_stocked(read_design(path)))


def test_the_same_events_give_the_same_batch(shop: BookedShop) -> None:
    shop.enter(finished(2), sent("price seen", "2026-10-01", lumberyard="Creekside", stock=PINE, price="12.00"))
    before = shop.batch()
    shop.enter(finished(3), sent("density measured", density="0.9"))
    assert shop.batch(as_of=2) == before
    assert shop.batch() != before
    assert Counter(each.name for each in shop.batch().hives) == Counter({"tens": 1, "eights": 1})


def test_as_of_needs_a_book_and_an_event_of_it(shop: BookedShop) -> None:
    path = shop.write()
    with pytest.raises(InputError, match="event 3"):
        read_booked(path, as_of=3)
    with pytest.raises(InputError, match="event 3 without a book"):
        read_booked(_bookless(shop), as_of=3)
