"""A lumberyard that cuts boards to length: which boards, how many cuts and how much, by hand arithmetic."""

import json
import re
from dataclasses import replace
from typing import Any

import pytest

from tests.cutting.lumber_cases import judge_lumber
from woodshop.checks.check_batch import check_batch
from woodshop.documents.packet.shopping import shopping_chapter
from woodshop.drawing.values.model import Paragraph, Table
from woodshop.errors import InputError, NothingToCutError
from woodshop.plan.buying.where_to_buy import plan_to_buy
from woodshop.plan.parts_needed import parts_needed
from woodshop.plan.plan_batch import batch_to_json, refuse_worth, sealed
from woodshop.plan.rest.earlier_plan import read_earlier
from woodshop.plan.values import PlannedBatch
from woodshop.plan.verify import verify_file
from woodshop.plan.written_plan import read_planned
from woodshop.trade.compare import with_prices
from woodshop.units.lengths import inch

DESIGN = """format = "woodshop-design/2"
batch = "two-rims"
unit = "in"
lumberyard = "lumberyard.toml"
[[hives]]
frames = 10
count = 2
gap = "1/4"
[[make]]
item = "fondant rim"
"""
LUMBERYARD = """format = "woodshop-lumberyard/1"
name = "Hill Street Lumber"
seen = 2026-09-12
longest = "4 ft"
crosscut = "{price}"
{more}
[[board]]
nominal = "1x3"
wood = "pine"
sizes = [{sizes}]
"""
EIGHT, TWELVE = '{ length = "8 ft", price = "5.44" }', '{ length = "12 ft", price = "8.28" }'


def planned(shop: Any, price: str, *sizes: str, more: str = "", design: str = DESIGN) -> PlannedBatch:
    text = LUMBERYARD.format(price=price, more=more, sizes=", ".join(sizes))
    batch = shop.batch(design, text)
    return plan_to_buy(batch, *check_batch(batch), effort="quick")


def wood(made: PlannedBatch) -> dict[str, int]:
    return {line.what: line.count for line in made.purchases}


# Two rims have four sides of 19 7/8 in and four ends of 14 3/4 in, kerf 1/8 in. A piece that leaves the lumberyard has
# 1/2 in more at each end: 40 7/8 in for two sides, 45 1/2 in for three ends, 15 3/4 in for one end. Within 4 ft no
# piece holds two sides and an end (55 3/4 in) or four ends (60 3/8 in), so four pieces are the fewest.


def test_two_rims_from_boards_twice_as_long_as_the_car(shop: Any) -> None:
    """Two pieces within 4 ft of each 8 ft board, so two boards and a cut in each: 2 x 5.44 + 2 x 1.00 = 12.88."""
    made = planned(shop, "1.00", EIGHT)
    assert wood(made) == {"1x3 pine, 8 ft": 2, "cuts across boards": 2}
    assert made.total.minor == 1288
    (bought,) = made.lumber
    assert bought.plan.cost == bought.plan.bound == 1288
    assert all(len(board.parts) == 2 for board in bought.plan.bought)


@pytest.mark.parametrize(
    ("price", "count", "total"), [("1.00", (0, 1, 3), 1128), ("2.00", (0, 1, 6 // 2), 1428), ("3.00", (2, 0, 2), 1688)]
)
def test_the_price_of_a_cut_decides_between_boards(
    shop: Any, price: str, count: tuple[int, int, int], total: int
) -> None:
    """Of one 12 ft board, 2 x 40 7/8 + 45 1/2 + 15 3/4 + 3 x 1/8 = 143 3/8 in: one board and three cuts, or two boards
    of 8 ft and two cuts. 8.28 + 3 = 11.28 and 10.88 + 2 = 12.88; 14.28 and 14.88; 17.28 and 16.88.
    """
    made = planned(shop, price, EIGHT, TWELVE)
    assert [wood(made).get(name, 0) for name in ("1x3 pine, 8 ft", "1x3 pine, 12 ft", "cuts across boards")] == [*count]
    assert made.total.minor == total


@pytest.mark.parametrize(("allowance", "trim", "more"), [("3/4", "1/2", "3/4"), ("1/2", "1", "1"), ("1/2", "2", "2")])
def test_every_end_loses_the_larger_of_both_allowances(shop: Any, allowance: str, trim: str, more: str) -> None:
    """With 2 in at each end, parts of two sides are 43 7/8 in long and parts of two ends 33 5/8 in: two parts of a kind
    and a kerf are within 8 ft, so it is two boards and two cuts whichever of the three.
    """
    design = DESIGN + f'\n[saw]\nend_trim = "{trim}"\n'
    made = planned(shop, "1.00", EIGHT, more=f'cut_allowance = "{allowance}"', design=design)
    assert made.total.minor == 1288
    assert {stock.end_trim for each in made.plans for stock in each.job.job.stock} == {inch(more) // inch("1/64")}
    assert verified(made)


def test_free_cuts_are_not_paid_for(shop: Any) -> None:
    made = planned(shop, "1.00", EIGHT, more="free_cuts = 1")
    assert wood(made) == {"1x3 pine, 8 ft": 2}
    assert made.total.minor == 1088


def test_a_spare_board_too_long_for_the_car_says_that_it_is_cut_too(shop: Any) -> None:
    grade = f'buy_over = {{ share = "20 %", because = "loose knots" }}\nsizes = [{EIGHT}]'
    text = LUMBERYARD.format(price="1.00", more="", sizes="").replace("sizes = []", grade)
    batch = shop.batch(DESIGN, text)
    made = plan_to_buy(batch, *check_batch(batch), effort="quick")
    (spare,) = [line for line in made.purchases if line.is_spare]
    assert spare.count == 1
    assert "cut like the others" in spare.why
    assert verified(made)


def test_nothing_longer_than_the_car_comes_home(shop: Any) -> None:
    made = planned(shop, "1.00", TWELVE)
    lengths = [offer.length for each in made.plans for offer in each.job.offers]
    assert lengths
    assert max(lengths) <= inch(48)
    assert not made.batch.lumberyard.too_long


def test_a_board_that_fits_the_car_comes_home_whole(shop: Any) -> None:
    """Of 4 ft, 47 in remain: two sides, or three ends. Four of them cost less than two of 8 ft with their cuts."""
    made = planned(shop, "1.00", EIGHT, '{ length = "4 ft", price = "2.60" }')
    assert wood(made) == {"1x3 pine, 4 ft": 4}
    assert made.total.minor == 1040
    alone = planned(shop, "1.00", '{ length = "4 ft", price = "2.60" }')
    assert alone.total.minor == 1040
    assert not alone.lumber


def test_no_piece_is_shorter_than_the_lumberyard_cuts(shop: Any) -> None:
    """With a shortest cut of 44 in, no 12 ft board gives four pieces (176 in), so two boards of 8 ft are as cheap."""
    made = planned(shop, "1.00", EIGHT, TWELVE, more='shortest_cut = "44"')
    (bought,) = made.lumber
    grid = bought.job.grid
    assert all(grid * part.length >= inch(44) for board in bought.plan.bought for part in board.parts)
    assert made.total.minor == 1288


def test_the_list_for_the_counter(shop: Any) -> None:
    made = planned(shop, "1.00", EIGHT)
    tables = [block for block in shopping_chapter(made).blocks if isinstance(block, Table)]
    (counter,) = [table for table in tables if table.columns[2].heading == "board"]
    assert sum(int(row[1] or 0) * int(row[4] or 0) for row in counter.rows) == 2
    numbers = {number for row in counter.rows for number in re.findall(r"layouts? (\d+)", str(row[3]))}
    assert numbers
    assert numbers <= {str(n + 1) for n in range(sum(len(each.plan.layouts) for each in made.plans))}


def test_the_last_piece_is_no_longer_than_what_comes_home(shop: Any) -> None:
    """Boards are sold slightly longer than their name: of 96 1/4 in, the piece beside one of 47 7/8 is over 48 in."""
    words = " ".join(b.text for b in shopping_chapter(planned(shop, "1.00", EIGHT)).blocks if isinstance(b, Paragraph))
    assert "up to 4 ft: from a longer one, have the rest cut off" in words.replace("48 in", "4 ft")
    assert "square one end" in words
    assert "both ends" not in words


def verified(made: PlannedBatch) -> bool:
    return not any(row["findings"] for row in verify_file(written(made)))


def written(made: PlannedBatch) -> str:
    return json.dumps(batch_to_json(made))


def test_the_plan_file_is_verified_and_read_back(shop: Any) -> None:
    made = planned(shop, "1.00", EIGHT, TWELVE, more="free_cuts = 1")
    text = written(made)
    assert [row["name"] for row in verify_file(text) if row["findings"]] == []
    assert all(judge_lumber(bought.plan) for bought in made.lumber)
    again = read_planned(text, "plan.json", made.batch, made.units, made.report)
    assert again.lumber == made.lumber
    assert again.plans == made.plans
    assert again.purchases == made.purchases


def changes(raw: dict[str, Any]) -> dict[str, Any]:
    """What may go wrong in a plan file, by what is changed."""
    (name,) = raw["lumber"][0]["materials"]
    cut = next(line for line in raw["purchases"] if "cut" in line)
    home = raw["plans"][name]
    return {
        "a cut more": lambda: cut.update(count=cut["count"] + 1, total=cut["price"] * (cut["count"] + 1)),
        "a longer board at home": lambda: home["job"]["stock"][0].update(length=home["job"]["stock"][0]["length"] + 64),
        "a piece elsewhere": lambda: home["layouts"][0]["pieces"][0].update(x=33),
        "another board": lambda: raw["lumber"][0]["plan"]["bought"][0].update(times=3),
        "a cheaper cut": lambda: raw["lumber"][0]["plan"]["job"]["stock"][0]["lumberyard_cuts"].update(cost=0),
        "no lumber": lambda: raw.pop("lumber"),
    }


@pytest.mark.parametrize("what", changes({"lumber": [{"materials": ["-"]}], "purchases": [{"cut": True}],
                                          "plans": {"-": {}}}))  # fmt: skip
def test_a_changed_plan_file_is_not_sound(shop: Any, what: str) -> None:
    raw = json.loads(written(planned(shop, "1.00", EIGHT)))
    changes(raw)[what]()
    rows = verify_file(json.dumps(sealed({key: value for key, value in raw.items() if key != "digest"})))
    assert [row["name"] for row in rows if row["findings"]]


def test_a_part_longer_than_the_car_is_refused_by_name(shop: Any) -> None:
    """Of 20 in, less 1/2 in at each end, 19 in remain for a side of 19 7/8 in."""
    text = LUMBERYARD.format(price="1.00", more="", sizes=EIGHT).replace("4 ft", "20 in")
    batch = shop.batch(DESIGN, text)
    with pytest.raises(NothingToCutError, match="the longest is 19 in") as refused:
        plan_to_buy(batch, *check_batch(batch), effort="quick")
    assert "Pieces up to 20 in come home" in str(refused.value)


@pytest.mark.parametrize(
    ("more", "wanted"),
    [
        ('shortest_cut = "1"', "more than 1 in, the allowance at both ends"),
        ('shortest_cut = "5 ft"', "at least shortest_cut"),
    ],
)
def test_terms_that_contradict_each_other_are_refused(shop: Any, more: str, wanted: str) -> None:
    with pytest.raises(InputError, match=wanted):
        shop.lumberyard(LUMBERYARD.format(price="1.00", more=more, sizes=EIGHT))


def test_terms_of_cuts_without_their_price_are_refused(shop: Any) -> None:
    text = LUMBERYARD.format(price="1.00", more="free_cuts = 2", sizes=EIGHT).replace('crosscut = "1.00"\n', "")
    with pytest.raises(InputError, match="free_cuts without crosscut"):
        shop.lumberyard(text)


def test_values_that_are_not_given_are_listed(shop: Any) -> None:
    batch = shop.batch(DESIGN, LUMBERYARD.format(price="1.00", more="", sizes=EIGHT))
    listed = {row.name: row.value for row in batch.defaults if row.where == "lumberyard Hill Street Lumber"}
    del listed["stale_after"]
    assert listed == {"cut_allowance": "1/2 in", "cut_kerf": "1/8 in", "shortest_cut": "12 in", "free_cuts": "0"}


def test_another_price_of_a_cut_is_compared(shop: Any) -> None:
    """At 2.00 a cut two boards of 8 ft cost 2 x 5.44 + 2 x 2.00 = 14.88, and one of 12 ft with three cuts 14.28."""
    batch = shop.batch(DESIGN, LUMBERYARD.format(price="1.00", more="", sizes=f"{EIGHT}, {TWELVE}"))
    dearer = with_prices((("price.cuts across boards", "+100 %"),), batch.lumberyard)
    assert {str(offer.cuts.price) for offer in dearer.offers if offer.cuts is not None} == {"$2.00"}
    batch = replace(batch, lumberyard=dearer)
    assert plan_to_buy(batch, *check_batch(batch), effort="quick").total.minor == 1428


def test_work_has_no_value_beside_cuts_at_the_lumberyard(shop: Any) -> None:
    design = DESIGN + '\n[worth]\nlayout = "0.50"\nsetting = "0.25"\n'
    batch = shop.batch(design, LUMBERYARD.format(price="1.00", more="", sizes=EIGHT))
    with pytest.raises(InputError, match="least money alone"):
        refuse_worth(parts_needed(batch, check_batch(batch)[0]), batch)


def test_the_rest_of_such_a_plan_is_refused_in_one_sentence(shop: Any) -> None:
    with pytest.raises(InputError, match="cuts to length") as refused:
        read_earlier(written(planned(shop, "1.00", EIGHT)), "plan.json")
    assert len(refused.value.problems) == 1
