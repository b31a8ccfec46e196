"""Buying in packs against every way there is, and costs that add up to the cent."""

import csv
import io
import json
from collections import Counter
from fractions import Fraction
from itertools import product
from typing import Any

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from tests.shop_folder import still
from woodshop.checks.check_batch import check_batch
from woodshop.design.lumberyard.lumberyard_file import Pack
from woodshop.design.make_units import make_units
from woodshop.documents.lists import buy_csv, workbook
from woodshop.documents.packet.front import front_chapter
from woodshop.documents.packet.shopping import certainty_text, shopping_chapter
from woodshop.documents.result import line_chapter
from woodshop.drawing.values.model import KeyFigures, Table
from woodshop.errors import InputError
from woodshop.plan.buy_list import batch_mix, buy, cheapest, recipe, size, sugar_needed
from woodshop.plan.cost import split, unit_costs
from woodshop.plan.plan_batch import batch_to_json, plan_batch
from woodshop.plan.values import Purchase
from woodshop.plan.verify import verify_file
from woodshop.units.lengths import Money, pound

HEAD = 'format = "woodshop-design/2"\nbatch = "b"\nunit = "in"\nlumberyard = "lumberyard.toml"\n'
TWENTY_FOUR = (
    HEAD + '[[hives]]\nframes = 10\ncount = 24\ngap = "1/4"\n[[make]]\nitem = ["fondant rim", "wire bottom"]\n'
)


def pack(pieces: int, cents: int) -> Pack:
    return Pack(goods="staples", what=f"box of {pieces}", price=Money(cents), pieces=pieces)


@pytest.mark.invariant
@settings(max_examples=tries(200))
@given(
    st.lists(st.tuples(st.integers(1, 12), st.integers(0, 40)), min_size=1, max_size=3),
    st.integers(1, 30),
    st.integers(1, 4),
)
def test_packs_are_the_cheapest_of_all_ways_and_of_those_the_fewest(
    kinds: list[tuple[int, int]], amount: int, parts: int
) -> None:
    packs = [pack(pieces, cents) for pieces, cents in kinds]
    wanted = Fraction(amount, parts)
    found = cheapest(packs, wanted)
    assert sum(p.pieces * n for p, n in found if p.pieces) >= wanted
    most = [-int(-wanted // pieces) for pieces, _ in kinds]
    ways = [
        (sum(n * cents for n, (_, cents) in zip(counts, kinds, strict=True)), sum(counts))
        for counts in product(*(range(n + 1) for n in most))
        if sum(n * pieces for n, (pieces, _) in zip(counts, kinds, strict=True)) >= wanted
    ]
    assert (sum(p.price.minor * n for p, n in found), sum(n for _, n in found)) == min(ways)


def test_ninety_six_four_pound_bags() -> None:
    four = Pack(goods="sugar", what="4 lb", price=Money(329), mass=pound(4))
    assert cheapest([four], pound(384).grams) == [(four, 96)]
    # a 25 lb bag at 18.49 is 0.7396 a pound, a 4 lb bag at 3.29 is 0.8225; 384 = 15 x 25 + 9: 9 lb more in
    # three small bags (9.87) or one big one (18.49)
    large = Pack(goods="sugar", what="25 lb", price=Money(1849), mass=pound(25))
    assert cheapest([four, large], pound(384).grams) == [(four, 3), (large, 15)]


@pytest.mark.invariant
@settings(max_examples=tries(30), deadline=None)
@given(st.integers(1, 60), st.integers(100_000, 10_000_000))
def test_packs_far_smaller_than_the_amount_still_hold_it(pieces: int, amount: int) -> None:
    found = cheapest([pack(pieces, 10), pack(1, 9)], Fraction(amount))
    assert sum(size(p) * n for p, n in found) >= amount


# ---- the buy list ---------------------------------------------------------------------------------


def test_twenty_four_boards_take_384_pounds_of_sugar(shop: Any) -> None:
    batch = shop.batch(TWENTY_FOUR)
    units = make_units(batch)
    assert sugar_needed(batch, units) == pound(384)
    mix = batch_mix(batch, units)
    assert mix is not None
    assert (mix.water.us_cups, mix.vinegar_tablespoons, mix.bowls) == (72, 24, 48)
    purchases, unpriced = buy(batch, units, ())
    bought = {p.what: p.count for p in purchases}
    assert (bought["white sugar, 4 lb bag"], bought["white sugar, 25 lb bag"]) == (3, 15)
    # 24 x 36 staples + one in twenty = 907.2: one box; 24 x 8 screws + 1/20 = 201.6:
    # three boxes of 75 are 29.70, one of 350 is 27.90
    assert [p.count for p in purchases if p.group == "staples"] == [1]
    assert [(p.what[-10:], p.count) for p in purchases if p.group == "screws"] == [("box of 350", 1)]
    assert unpriced == ()
    assert {p.group for p in purchases} == {"sugar", "vinegar", "staples", "screws", "glue"}


def test_the_recipe_is_the_row_at_any_mass() -> None:
    assert recipe(pound(16)).water.us_cups == 3
    assert recipe(pound(8)).water.us_cups == Fraction(3, 2)


def test_what_has_no_price_is_said(shop: Any) -> None:
    lumberyard = "\n\n".join(block for block in shop.lumberyard_text.split("\n\n") if 'goods = "sugar"' not in block)
    batch = shop.batch(TWENTY_FOUR, lumberyard)
    _, unpriced = buy(batch, make_units(batch), ())
    assert [(u.what, u.amount) for u in unpriced] == [("sugar", "24 x 16 lb = 384 lb")]


def test_nothing_is_packed_where_no_board_is_made(shop: Any) -> None:
    batch = shop.batch(HEAD + '[[hives]]\nframes = 10\ncount = 3\n[[make]]\nitem = "quilt box"\n')
    assert batch_mix(batch, make_units(batch)) is None
    purchases, _ = buy(batch, make_units(batch), ())
    assert "sugar" not in {p.group for p in purchases}
    # 3 x 14 3/4 x 18 3/8 x 2 = 1626.2 cu in = 0.941 cu ft
    assert next(p.why for p in purchases if p.group == "shavings").startswith("0.9 cu ft loose")


# ---- costs ----------------------------------------------------------------------------------------


@pytest.mark.invariant
@given(st.integers(0, 10**6), st.lists(st.fractions(0, 1000), min_size=1, max_size=8))
def test_cents_are_shared_by_weight_and_none_is_lost(cents: int, weights: list[Fraction]) -> None:
    shares = split(cents, weights)
    assert sum(shares) == cents
    assert min(shares) >= 0
    total = sum(weights)
    if total:
        assert all(abs(share - cents * w / total) < 1 for share, w in zip(shares, weights, strict=True))
        assert all(share == 0 for share, w in zip(shares, weights, strict=True) if not w)


BATCHES = st.tuples(
    st.lists(
        st.tuples(st.sampled_from([(10, "16 1/4"), (10, "16"), (8, "14")]), st.integers(1, 9), st.integers(0, 9)),
        min_size=1,
        max_size=3,
    ),
    st.lists(
        st.sampled_from(["fondant rim", "wire bottom", "spacer strips", "packing blocks", "quilt box"]),
        min_size=1,
        unique=True,
    ),
    st.lists(st.tuples(st.integers(1, 5), st.integers(0, 5000)), min_size=4, max_size=4),
)


@pytest.mark.invariant
@settings(max_examples=tries(50), deadline=None)
@given(BATCHES)
def test_costs_of_all_units_add_up_to_what_is_bought(shop: Any, drawn: Any) -> None:
    groups, chosen, prices = drawn
    text = HEAD
    for n, ((frames, width), count, have) in enumerate(groups):
        text += f'[[hives]]\nname = "g{n}"\nframes = {frames}\nwidth = "{width}"\ncount = {count}\ngap = "1/4"\n'
        text += f'[[shed]]\nitem = "fondant rim"\nhives = "g{n}"\nhave = {min(have, count)}\n'
    text += "[[make]]\nitem = [" + ", ".join(f'"{name}"' for name in chosen) + "]\n"
    batch = shop.batch(text)
    units = make_units(batch)
    purchases, _ = buy(batch, units, ())
    used = {p.material.name for u in units for p in (q.part for q in u.assembly.placed) if u.line.count}
    stock = ["board 3/4 in", "mesh 1/2 in", "board 1 1/2 in", "cloth"]
    bought = [
        Purchase(group=group, what=group, count=count, price=Money(cents), why="cut as planned")
        for group, (count, cents) in zip(stock, prices, strict=True)
        if group in used
    ]
    purchases = (*bought, *purchases)
    costs = unit_costs(batch, units, purchases)
    assert sum(cost.total.minor for cost in costs) == sum(p.total.minor for p in purchases)
    assert all(cost.total.minor >= 0 for cost in costs)
    assert all(not cost.total.minor for cost in costs if not cost.count)
    assert len({cost.address for cost in costs}) == len(costs)


def test_boards_of_a_grade_are_bought_over_and_the_list_says_why(shop: Any) -> None:
    """A fifth over, rounded up for each length; the bill and the costs have them, and `verify` counts them as spare."""
    grade = 'buy_over = { share = "20 %", because = "loose knots" }\nsizes = ['
    lumberyard = shop.lumberyard_text.replace("sizes = [", grade)
    batch = shop.batch(shop.design_text, lumberyard)
    units, report = check_batch(still(batch))
    planned = plan_batch(batch, units, report, effort="quick")
    cut: Counter[str] = Counter()
    for each in planned.plans:
        for layout in each.plan.layouts:
            cut[layout.stock] += layout.times
    boards = [p for p in planned.purchases if p.group.startswith("board")]
    over = {p.stock: p for p in boards if p.is_spare}
    assert over
    assert {p.stock: p.count for p in boards if not p.is_spare} == {stock: cut[stock] for stock in over}
    assert {stock: p.count for stock, p in over.items()} == {stock: -(-cut[stock] // 5) for stock in over}
    assert {p.why for p in over.values()} == {"spare: 20 % over, for loose knots"}
    assert sum(cost.total.minor for cost in planned.costs) == planned.total.minor
    spare = sum(p.total.minor for p in over.values())
    assert certainty_text(planned).endswith(f"Spare boards for {Money(spare)} are not counted here.")
    raw = batch_to_json(planned)
    assert [each["name"] for each in verify_file(json.dumps(raw)) if each["findings"]] == []


def test_enough_of_a_limited_board_is_left_to_be_bought_over(shop: Any) -> None:
    """Of 12 boards with a fifth over, 10 can be cut: 10 and 2. Of one board, none is left to be bought over."""
    grade = 'buy_over = { share = "20 %", because = "loose knots" }\nsizes = [{ count = 12,'
    offers = shop.lumberyard(shop.lumberyard_text.replace("sizes = [{", grade)).offers
    assert {offer.most_to_cut for offer in offers if offer.buy_over and offer.count == 12} == {10}
    for bad, words in (
        (grade.replace("12", "1"), "one to cut, and one over"),
        (grade.replace(', because = "loose knots"', ""), "because"),
        (grade.replace("20 %", "120 %"), "below 100 %"),
    ):
        with pytest.raises(InputError, match=words):
            shop.lumberyard(shop.lumberyard_text.replace("sizes = [{", bad))


UNPRICED = """format = "woodshop-lumberyard/1"
name = "Boards only"
unit = "{unit}"
seen = 2026-09-12
[[board]]
thickness = "20 mm"
width = "95 mm"
wood = "spruce"
sizes = [{{ length = "2.4 m", price = "5.20" }}]
[[roll]]
mesh = "12.7 mm"
width = "1 m"
length = "5 m"
price = "29.00"
"""
FEW = HEAD + '[[hives]]\nframes = 10\ncount = 2\ngap = "1/4 in"\n[[make]]\nitem = ["fondant rim", "wire bottom"]\n'


@pytest.mark.parametrize(
    ("unit", "screws", "staples"),
    [
        ("mm", "exterior screw 4 x 50 mm", "10 mm crown, 12 mm leg, galvanized staple"),
        ("in", "exterior screw #8 x 2 1/2 in", "3/8 in crown, 1/2 in leg, galvanized staple"),
    ],
)
def test_fasteners_that_no_shop_sells_have_their_size_on_the_list(
    shop: Any, unit: str, screws: str, staples: str
) -> None:
    text = FEW.replace('unit = "in"', f'unit = "{unit}"\nwood = "20 mm"')
    batch = shop.batch(text, UNPRICED.format(unit=unit))
    _, unpriced = buy(batch, make_units(batch), ())
    amounts = {each.what: each.amount for each in unpriced}
    assert amounts["screws"].endswith(f" plus 5% spare: {screws}")
    assert amounts["staples"].endswith(f" plus 5% spare: {staples}")


def test_goods_without_a_price_are_not_charged_as_zero(shop: Any) -> None:
    """Sugar that nobody sells has no cost; the totals on paper and in the lists say that they exclude it."""
    text = FEW.replace('unit = "in"', 'unit = "mm"\nwood = "20 mm"')
    batch = shop.batch(text, UNPRICED.format(unit="mm"))
    planned = plan_batch(batch, *check_batch(batch), effort="quick")
    assert {each.what for each in planned.unpriced} == {"sugar", "vinegar", "screws", "staples", "glue"}
    table = next(
        block
        for block in line_chapter(planned).blocks
        if isinstance(block, Table) and len(block.columns) == 4 and block.rows[-1][0] == "Total"
    )
    costs = {row[0]: row[2:] for row in table.rows}
    (sugar,) = (cells for name, cells in costs.items() if name.startswith("sugar and vinegar"))
    assert sugar == ("no price", "no price")
    assert costs["Total"][1] == str(planned.total)
    assert all("no price" not in cells for name, cells in costs.items() if not name.startswith("sugar"))
    cost = openpyxl.load_workbook(io.BytesIO(workbook(planned)))["Cost"]
    cells = {row[0].value: [cell.value for cell in row[2:4]] for row in cost.iter_rows()}
    assert [cells[name] for name in cells if str(name).startswith("sugar and vinegar")] == [["no price", "no price"]]
    rows = list(csv.reader(io.StringIO(buy_csv(planned).decode())))
    assert next(row for row in rows if row[0] == "total")[5].startswith("without sugar, vinegar, ")
    assert any(
        isinstance(block, Table) and "without sugar, vinegar," in block.rows[-1][-1]
        for block in shopping_chapter(planned).blocks
    )
    (figures,) = (block for block in front_chapter(planned, ()).blocks if isinstance(block, KeyFigures))
    assert ("to buy; no price for 5 goods", str(planned.total)) in figures.figures


@pytest.mark.parametrize(
    ("width", "tools", "has_note"),
    [("145 mm", "", True), ("95 mm", "", False), ("145 mm", 'miter_saw_width = "135 mm"\n', False)],
)
def test_page_1_names_the_key_if_only_a_default_sends_crosscuts_to_the_hand_saw(
    shop: Any, width: str, tools: str, has_note: bool
) -> None:
    text = FEW.replace('unit = "in"', 'unit = "mm"\nwood = "20 mm"')
    text += f'[tools]\ncrosscut_with = ["miter saw"]\n{tools}'
    batch = shop.batch(text, UNPRICED.format(unit="mm").replace('width = "95 mm"', f'width = "{width}"'))
    planned = plan_batch(batch, *check_batch(batch), effort="quick")
    words = str(front_chapter(planned, ()).blocks)
    assert ("for the hand saw: no width is set for your miter saw, so it gets boards up to 135 mm" in words) == has_note
