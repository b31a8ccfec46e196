"""Lumberyard files: one clear problem for each slip, and never a traceback."""
# ruff: noqa: E501  one slip a row

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from woodshop.errors import InputError
from woodshop.units.lengths import Money, inch

LUMBERYARD = """format = "woodshop-lumberyard/1"
name = "Creekside"
seen = 2026-09-12
[[board]]
nominal = "1x4"
wood = "pine"
sizes = [{ length = "8 ft", price = "6.96" }, { length = "10 ft", price = "8.85" }]
[[roll]]
mesh = "1/2 in"
width = "36"
length = "10 ft"
price = "16.90"
[[offcut]]
label = "R1"
nominal = "1x6"
length = "50"
[[pack]]
goods = "sugar"
mass = "4 lb"
price = "3.29"
"""

# old text, new text, and words of where, given, wanted and do
MALFORMED: dict[str, tuple[str, str, str, str, str, str]] = {
    "a design as lumberyard": ("woodshop-lumberyard", "woodshop-design", "format", "design/1", "lumberyard/1", "Write"),
    "the format before": ("woodshop-lumberyard", "woodshop-yard", "format", "the format before", "lumberyard/1", "[[offcut]] for [[rack]]"),
    "the key before": ("[[offcut]]", "[[rack]]", "rack", "unknown key", "a known key", "Did you mean 'offcut'?"),
    "no name": ('name = "Creekside"\n', "", "name", "nothing", "a value for 'name'", "Add"),
    "an empty name": ('"Creekside"', '""', "name", "''", "a name", "Correct"),
    "a name with a control character": ("Creekside", "Creek\\u0007side", "name", "\\x07", "control characters", "again"),
    "no day": ("seen = 2026-09-12\n", "", "seen", "nothing", "a value for 'seen'", "Add"),
    "the day as text": ("2026-09-12", '"12 Sept"', "seen", "12 Sept", "without quotes", "Correct"),
    "currency in words": ('name = "C', 'currency = "dollars"\nname = "C', "currency", "dollars", "letters", "Correct"),
    "an unknown table": ("[[pack]]", "[[packs]]\na = 1\n[[pack]]", "packs", "unknown key", "a known key", "'pack'"),
    "a saw in the seller's file": ("[[board]]", '[saw]\nmark = "1/16"\n[[board]]', "saw", "a [saw] table", "belong to the shop", "to the design file"),
    "no sizes": ('[{ length = "8 ft", price = "6.96" }, { length = "10 ft", price = "8.85" }]', "[]", "board number 1, sizes", "()", "at least 1", "Correct"),
    "sizes no list": ('[{ length = "8 ft", price = "6.96" }, { length = "10 ft", price = "8.85" }]', '"8 ft"', "board number 1, sizes", "8 ft", "a list", "Correct"),
    "no price": ('"8 ft", price = "6.96"', '"8 ft"', "board number 1, sizes number 1, price", "nothing", "a value for 'price'", "Add"),
    "a price of half cents": ("8.85", "8.855", "board number 1, sizes number 2, price", "8.855", "whole cents", "two decimals"),
    "a price below nothing": ("8.85", "-8.85", "board number 1, sizes number 2, price", "-8.85", "whole cents", "without a minus sign"),
    "a price that is nan": ('"8.85"', "nan", "board number 1, sizes number 2, price", "nan", "whole cents", "two decimals"),
    "a price that is true": ('"8.85"', "true", "board number 1, sizes number 2, price", "True", "a price", "quotes"),
    "a length in pounds": ('"10 ft"', '"10 lb"', "board number 1, sizes number 2, length", "10 lb", "a length such as", "not a length"),
    "a size twice": ('length = "10 ft", price', 'length = "8 ft", price', "", "twice", "once", "Remove"),
    "no such nominal": ('nominal = "1x4"', 'nominal = "1x5½"', "board number 1, nominal", "1x5½", "1x4", "thickness and width"),
    "neither nominal nor sizes": ('nominal = "1x4"\n', "", "board number 1", "no nominal size", "thickness and width", "missing size"),
    "no such mesh": ('"1/2 in"', '"2/3 in"', "roll number 1, mesh", "2/3 in", "1/2 in", "Measure ten meshes"),
    "mesh and cloth": ('mesh = "1/2 in"', 'mesh = "1/2 in"\ncloth = "canvas"', "roll number 1", "mesh and cloth", "either mesh or cloth", "exactly one"),
    "a roll of no width": ('width = "36"\n', "", "roll number 1, width", "nothing", "a value for 'width'", "Add"),
    "no label": ('label = "R1"\n', "", "offcut number 1, label", "nothing", "a value for 'label'", "Add"),
    "offcut count nothing": ('length = "50"', 'length = "50"\ncount = 0', "offcut number 1, count", "0", "1 or more", "Correct"),
    "a knot past the end": ('length = "50"', 'length = "50"\nbad = [["48", "51"]]', "offcut number 1, bad", "48 in to 51 in", "within 0 to 50 in", "Measure"),
    "a knot backwards": ('length = "50"', 'length = "50"\nbad = [["20", "10"]]', "offcut number 1, bad", "20 in to 10 in", "within 0 to 50 in", "Measure"),
    "offcut mesh of no width": ('nominal = "1x6"', 'mesh = "1/2 in"', "offcut number 1, width", "nothing", "the width", "Measure"),
    "no such goods": ('"sugar"', '"sugr"', "pack number 1, goods", "sugr", "'sugar'", "'sugar'"),
    "sugar without mass": ('mass = "4 lb"\n', "pieces = 3\n", "pack number 1", "sugar without mass", "how much", "Add"),
    "sugar of no mass": ('"4 lb"', '"0 lb"', "pack number 1, mass", "0 lb", "more than 0", "real mass"),
    "mass without a unit": ('"4 lb"', "4", "pack number 1, mass", "4", "with its unit", "in quotes"),
    "pieces nothing": ('mass = "4 lb"', "pieces = 0", "pack number 1, pieces", "0", "1 or more", "Correct"),
    "shared wires as text": ('name = "C', 'shared_wires = "no"\nname = "C', "shared_wires", "'no'", "true or false", "Correct"),
}  # fmt: skip


@pytest.mark.parametrize("name", MALFORMED)
def test_one_slip_gives_one_problem_that_names_the_place(shop: Any, name: str) -> None:
    old, new, where, given_words, wanted, do = MALFORMED[name]
    assert LUMBERYARD.count(old) >= 1
    with pytest.raises(InputError) as refused:
        shop.lumberyard(LUMBERYARD.replace(old, new, 1))
    (problem,) = refused.value.problems
    assert problem.where.removeprefix("lumberyard.toml").removeprefix(", ") == where
    assert given_words in problem.given
    assert wanted in problem.wanted
    assert do in problem.do
    assert str(problem).isprintable()


def test_every_problem_is_said_at_once(shop: Any) -> None:
    text = LUMBERYARD.replace("6.96", "x").replace('"36"', '"-1"').replace('"4 lb"', '"4"')
    with pytest.raises(InputError) as refused:
        shop.lumberyard(text)
    assert [p.where for p in refused.value.problems] == [
        "lumberyard.toml, board number 1, sizes number 1, price",
        "lumberyard.toml, roll number 1, width",
        "lumberyard.toml, pack number 1, mass",
    ]
    text = LUMBERYARD.replace('"1x4"', '"1x7"').replace('"1/2 in"', '"2/3 in"').replace('mass = "4 lb"', "pieces = 4")
    with pytest.raises(InputError) as refused:
        shop.lumberyard(text)
    assert len(refused.value.problems) == 3


@pytest.mark.parametrize(
    ("content", "said"),
    [(b"", "no format line"), (b"\xff\xfe\x00", "not UTF-8"), (b"\x00", "not TOML"), (b"format = 3", "3")],
)
def test_what_is_no_lumberyard_at_all(shop: Any, content: bytes, said: str) -> None:
    with pytest.raises(InputError) as refused:
        shop.lumberyard(content)
    (problem,) = refused.value.problems
    assert said in problem.given


@pytest.mark.outside("NIST Voluntary Product Standard PS 20, dry dressed: 1x4 is 3/4 x 3 1/2, 1x6 is 3/4 x 5 1/2")
def test_nominal_boards_have_their_dressed_sizes(shop: Any) -> None:
    lumberyard = shop.lumberyard(LUMBERYARD)
    board, offcuts = lumberyard.offers[0], lumberyard.offers[-1]
    assert (board.thickness, board.width, board.length) == (inch("3/4"), inch("3 1/2"), inch(96))
    assert (board.material.name, board.price) == ("board 3/4 in", Money(696))
    assert (offcuts.thickness, offcuts.width, offcuts.label, offcuts.count) == (inch("3/4"), inch("5 1/2"), "R1", 1)
    assert {o.width for o in lumberyard.boards(inch("3/4"))} == {inch("3 1/2"), inch("5 1/2")}


def test_mesh_and_cloth_have_the_names_of_a_shop(shop: Any) -> None:
    roll = '\n[[roll]]\n{}\nwidth = "36"\nlength = "10 ft"\nprice = "9.60"\n'
    text = shop.lumberyard_text + roll.format('mesh = "1/4 in"') + roll.format('cloth = "burlap"')
    whats = {offer.what: offer.material.name for offer in shop.lumberyard(text).offers}
    assert whats["1/4 in hardware cloth, roll 36 in x 10 ft"] == "mesh 1/4 in"
    assert whats["burlap, roll 36 in x 10 ft"] == "cloth"


def test_measured_sizes_beat_the_nominal_name(shop: Any) -> None:
    lumberyard = shop.lumberyard(LUMBERYARD.replace('nominal = "1x4"', 'nominal = "1x4"\nwidth = "3 7/16"'))
    assert lumberyard.offers[0].width == inch("3 7/16")


def test_what_is_too_long_to_carry_is_left_out_and_said(shop: Any) -> None:
    lumberyard = shop.lumberyard(LUMBERYARD.replace("[[board]]", 'longest = "8 ft"\n[[board]]', 1))
    assert [o.length for o in lumberyard.offers if o.material.name == "board 3/4 in" and not o.label] == [inch(96)]
    assert lumberyard.left_out == ("1x4 pine, 10 ft (longer than 8 ft, the longest you can carry home)",)


def test_millimetres_are_meant_where_the_file_says_so(shop: Any) -> None:
    lumberyard = shop.lumberyard(LUMBERYARD.replace("[[board]]", 'unit = "mm"\n[[board]]', 1).replace('"50"', '"1270"'))
    assert lumberyard.offers[-1].length == inch(50)


KEYS = {
    "[board]": ["nominal", "thickness", "width", "wood", "sizes"],
    "[roll]": ["mesh", "cloth", "width", "length", "price", "count"],
    "[offcut]": ["label", "nominal", "mesh", "length", "count", "worth", "bad"],
    "[pack]": ["goods", "what", "mass", "pieces", "loose_litres", "millilitres", "price"],
}
RAW = st.sampled_from(
    ["true", "-1", "0", "1", "3.5", "nan", "-inf", '""', '"1/4"', '"8 ft"', '"1x4"', '"1/2 in"', '"4 lb"', '"sugar"', "[]",
     "[[]]", "{}", "2026-01-01", "12:00:00", '[["1","2"]]', '[{length = "8 ft", price = "1"}]', '"\\u0000"', "0x" + "f" * 4000]
)  # fmt: skip


@pytest.mark.invariant
@settings(max_examples=tries(200))
@given(st.lists(st.tuples(st.sampled_from(list(KEYS)), st.integers(0, 6), RAW), max_size=4))
def test_junk_values_under_known_keys_are_refused_or_read(shop: Any, junk: list[tuple[str, int, str]]) -> None:
    text = LUMBERYARD
    for head, n, raw in junk:
        key = KEYS[head][n % len(KEYS[head])]
        text += f"\n[{head}]\n{key} = {raw}\n"
    try:
        shop.lumberyard(text)
        said = []
    except InputError as refused:
        said = [str(problem) for problem in refused.problems]
    assert all(words.isprintable() and len(words) < 2000 for words in said)


@pytest.mark.invariant
@given(st.text(max_size=200))
def test_any_text_is_a_lumberyard_or_an_input_error(shop: Any, text: str) -> None:
    try:
        shop.lumberyard(LUMBERYARD + text.encode("utf-8", "replace").decode("utf-8"))
    except InputError as refused:
        shown = str(refused)
        assert shown
