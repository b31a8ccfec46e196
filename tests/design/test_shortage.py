"""Offcuts that do not hold every part: the refusal names the size that is missing, and remedies that are true."""

import pickle
import re
from typing import Any

import pytest

from tests.plan.test_resawn_lumber import CAR, EIGHT, LUMBERYARD, TOOLS
from woodshop.checks.check_batch import check_batch
from woodshop.errors import InputError, NothingToCutError, Problem, Shortage, ShortOfStockError
from woodshop.plan.buying.where_to_buy import plan_to_buy, refuse_what_plan_refuses

HEAD = """format = "woodshop-design/2"
batch = "few-offcuts"
unit = "in"
lumberyard = "lumberyard.toml"
{wood}
[tools]
{tools}
[[hives]]
frames = 10
count = {count}
gap = "1/4"
[[make]]
"""
QUILT = 'item = "quilt box"\nholes = "none"\nshavings = "3"\n'  # 3 + 2 1/4: 5 1/4 in
OFFCUT = '\n[[offcut]]\nlabel = "P1"\nthickness = "3/4"\nwidth = "{}"\nlength = "{}"\n{}\n'
STRAIGHT = "straight_edges = true\nsquare_ends = true"
CLOTH = '\n[[roll]]\ncloth = "cotton canvas"\nwidth = "60"\nlength = "9 ft"\nprice = "25.50"\n'
TWO_BY_FOUR = LUMBERYARD.format(terms=CAR, sizes=EIGHT) + CLOTH
TWO_BY_SIX = TWO_BY_FOUR.replace('"2x4"', '"2x6"')
BARE = TWO_BY_FOUR.partition("[[board]]")[0].replace(CAR, "") + CLOTH


def text_of(make: str, count: int = 1, wood: str = "", tools: str = TOOLS.replace('"4"', '"6"')) -> str:
    return HEAD.format(count=count, wood=wood, tools=tools) + make


def refused(shop: Any, text: str, lumberyard: str) -> tuple[Problem, ...]:
    """The problems of the plan, which are those of the check."""
    batch = shop.batch(text, lumberyard)
    units, report = check_batch(batch)
    with pytest.raises(NothingToCutError) as planned:
        plan_to_buy(batch, units, report, effort="quick")
    with pytest.raises(NothingToCutError) as checked:
        refuse_what_plan_refuses(batch, units)
    assert checked.value.problems == planned.value.problems
    return planned.value.problems


def missing(shop: Any, text: str, lumberyard: str) -> int:
    """How many pieces cannot be cut; none if there is a plan."""
    try:
        batch = shop.batch(text, lumberyard)
        plan_to_buy(batch, *check_batch(batch), effort="quick")
    except NothingToCutError as why:
        return sum(int(each.given.partition(" of ")[0]) for each in why.problems)
    return 0


def test_the_size_that_is_missing_is_named_and_other_wood_is_a_remedy(shop: Any) -> None:
    """One piece 11 1/4 x 20 1/2 in holds both sides. The two ends are 16 1/4 - 2 x 3/4 = 14 3/4 in."""
    lumberyard = TWO_BY_SIX + OFFCUT.format("11 1/4", "20 1/2", STRAIGHT)
    (why,) = refused(shop, text_of(QUILT), lumberyard)
    assert why.where.startswith("quilt box / 10-frame 16 1/4 / end, from ")
    assert why.given == "2 of 2 pieces that cannot be cut, each 14 3/4 in long, 5 1/4 in wide and 3/4 in thick"
    assert "1 of offcut P1: 11 1/4 x 20 1/2 in" in why.wanted
    assert "Of a board 1 1/2 in thick come two of 5/8 in at most" in why.do
    assert "Add boards 3/4 in thick to the lumberyard file, or offcuts, 5 1/4 in wide or more" in why.do
    assert 'Or set wood = "5/8" for the quilt box, under [[make]]' in why.do
    assert not missing(shop, text_of(QUILT + 'wood = "5/8"\n'), lumberyard)


def test_other_wood_is_no_remedy_where_its_boards_are_too_narrow(shop: Any) -> None:
    """A 2x4 becomes 3 1/4 in wide. Without resawing there is no other wood at all."""
    for lumberyard in (TWO_BY_FOUR, BARE):
        (why,) = refused(shop, text_of(QUILT), lumberyard + OFFCUT.format("11 1/4", "20 1/2", STRAIGHT))
        assert "set wood" not in why.do
        assert ("two of 5/8 in at most" in why.do) is (lumberyard is TWO_BY_FOUR)
        assert why.do.endswith("Or make fewer.")


def test_a_height_above_what_is_needed_is_a_remedy(shop: Any) -> None:
    """Two strips of 5 1/4 in with their kerfs take 10 3/4 of 11 1/4 in; two of 5 5/8 would take 11 1/2."""
    lumberyard = BARE + OFFCUT.format("11 1/4", "36 1/2", STRAIGHT)
    text = text_of(QUILT + 'height = "5 5/8"\n')
    do = [each.do for each in refused(shop, text, lumberyard)]
    assert all('Or set height = "5 1/4" under [[make]] for the quilt box: it needs no more.' in each for each in do)
    assert not missing(shop, text_of(QUILT + 'height = "5 1/4"\n'), lumberyard)
    low = refused(shop, text_of(QUILT, count=2), lumberyard)
    assert not any("set height" in each.do or "set ripped" in each.do for each in low)


def test_ripped_is_a_remedy_where_two_walls_come_of_one_board(shop: Any) -> None:
    """A shim for a cake of 1 1/2 in needs 1 5/8 in: twice that and two kerfs are 3 1/2 in, of 3 5/8."""
    shim = 'item = "feeding shim"\ncake = "1 1/2"\n'
    lumberyard = BARE + OFFCUT.format("3 5/8", "36 1/2", STRAIGHT)
    why = refused(shop, text_of(shim), lumberyard)
    assert all(
        "Or set ripped = true under [[make]] for the feeding shim: walls are then 1 5/8 in high" in each.do
        for each in why
    )
    assert not missing(shop, text_of(shim + "ripped = true\n"), lumberyard)


@pytest.mark.parametrize(
    ("width", "length", "key", "words"),
    [
        ("11", "36 1/2", "straight_edges", "edges are straight"),
        ("11 1/4", "30 1/8", "square_ends", "ends are square"),
    ],
)
def test_straight_edges_and_square_ends_are_remedies_where_they_make_room(
    shop: Any, width: str, length: str, key: str, words: str
) -> None:
    """11 in less 1/4 at each edge are 10 1/2: one strip. 30 1/8 less 1/2 at each end: one end of 14 3/4 in, not two."""
    bad = STRAIGHT.replace(f"{key} = true", "")
    lumberyard = BARE + OFFCUT.format(width, length, bad)
    text = text_of(QUILT)
    why = refused(shop, text, lumberyard)
    assert any(
        f"if the {words} on offcut P1, set {key} = true under [[offcut]]: less is cut off." in each.do for each in why
    )
    straight = BARE + OFFCUT.format(width, length, STRAIGHT)
    assert missing(shop, text, straight) < missing(shop, text, lumberyard)
    again = () if not missing(shop, text, straight) else refused(shop, text, straight)
    assert not any("less is cut off" in each.do for each in again)


def test_parts_of_a_board_share_their_wood_and_the_cause_is_given_once(shop: Any) -> None:
    """Of 36 1/2 in come one side and one end; one of each is missing."""
    board = 'item = "fondant rim"\n'
    lumberyard = TWO_BY_FOUR + OFFCUT.format("3 1/2", "36 1/2", STRAIGHT)
    (first, *others) = refused(shop, text_of(board), lumberyard)
    assert 'set wood = "5/8" for all parts of the fondant board' in first.do
    assert [each.do.count("two of 5/8 in at most") for each in (first, *others)] == [1, 0]


@pytest.mark.parametrize("width", ["1", "3"])
def test_a_single_small_offcut_does_not_hide_why_there_is_no_board(shop: Any, width: str) -> None:
    """One 12 in long and 1 or 3 in wide: too narrow, or too short. Two of 3/4 in never come of 1 1/2."""
    lumberyard = TWO_BY_FOUR + OFFCUT.format(width, "12", STRAIGHT)
    text = text_of('item = "fondant rim"\n', wood='wood = "3/4"')
    with pytest.raises((InputError, NothingToCutError), match="come two of 5/8 in at most"):
        plan_to_buy(batch := shop.batch(text, lumberyard), *check_batch(batch), effort="quick")


def test_a_board_at_home_that_is_resawn_is_listed_with_what_there_is(shop: Any) -> None:
    """Of 30 in come two thin boards, each with room for one wall, of 19 7/8 or 15 in: two of the four."""
    thick = OFFCUT.format("3 1/2", "30", STRAIGHT + "\nresaw = true").replace('"3/4"', '"1 1/2"')
    found = refused(shop, text_of('item = "fondant rim"\n', wood='wood = "5/8"'), BARE + thick)
    assert all("there are only 1 of offcut P1: 3 1/2 x 30 in" in each.wanted for each in found)
    assert sum(int(each.given.partition(" of ")[0]) for each in found) == 2


def test_a_lumberyard_with_a_fee_says_the_same(shop: Any) -> None:
    fee = TWO_BY_FOUR.replace("[[board]]", 'delivery = { fee = "5.00" }\n[[board]]', 1)
    offcut = OFFCUT.format("11 1/4", "20 1/2", STRAIGHT)
    assert refused(shop, text_of(QUILT), fee + offcut) == refused(shop, text_of(QUILT), TWO_BY_FOUR + offcut)


def test_a_shortage_survives_the_way_from_another_process() -> None:
    why = ShortOfStockError(Problem("a", "b", "c", "d"), short=(Shortage(("x",), 1, 2),))
    again = pickle.loads(pickle.dumps(why))
    assert (again.problems, again.short) == (why.problems, why.short)
    assert re.match("a: given b", str(again))
