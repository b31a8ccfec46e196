"""Design files: one clear problem for each slip, all of them at once, and never a traceback."""
# ruff: noqa: E501  one slip a row

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from woodshop.checks.check_batch import check_batch
from woodshop.design.design_file import read_design
from woodshop.design.settle.settle import settle
from woodshop.errors import InputError

BOARD = "\n[board]\n"
HIVES = "count = 6"


def swap(old: str, new: str) -> tuple[str, str]:
    return (old, new)


# what is changed (text replaced, or text added at the end), and words of where, given, wanted and do
MALFORMED: dict[str, tuple[str | tuple[str, str], str, str, str, str]] = {
    "no format": (swap('format = "woodshop-design/2"\n', ""), "format", "no format line", "woodshop-design/2", "first line"),
    "another format": (swap("design/2", "design/3"), "format", "woodshop-design/3", "woodshop-design/2", "first line"),
    "the format before": (swap("design/2", "design/1"), "format", "'woodshop-design/1', the format before", "woodshop-design/2", "Write lumberyard for yard"),
    "a lumberyard as design": (swap("woodshop-design", "woodshop-lumberyard"), "format", "lumberyard/2", "design/2", "first line"),
    "a kit of the format before": (swap(HIVES, 'count = 6\nform = "flat kit"'), "hives number 1, form", "flat kit", "unassembled kit", "Did you mean 'unassembled kit'?"),
    "no TOML": (swap("[[make]]", "[[make]"), "", "not TOML", "TOML", "line named"),
    "no closing quote": (swap('"in"', '"in'), "", "not TOML", "TOML", "line named"),
    "a key twice": (swap('unit = "in"', 'unit = "in"\nunit = "mm"'), "", "not TOML", "TOML", "line named"),
    "no batch": (swap('batch = "first-winter"\n', ""), "batch", "nothing", "a value for 'batch'", "Add"),
    "a batch name with a slash": (swap("first-winter", "a/b"), "batch", "a/b", "letters, digits", "Correct"),
    "a batch name that climbs": (swap("first-winter", "../x"), "batch", "../x", "letters, digits", "Correct"),
    "unit cm": (swap('"in"', '"cm"'), "unit", "cm", "'in' or 'mm'", "Choose"),
    "no unit": (swap('unit = "in"\n', ""), "unit", "nothing", "a value for 'unit'", "Add"),
    "empty lumberyard": (swap('"lumberyard.toml"', '""'), "lumberyard", "''", "a name", "Correct"),
    "lumberyard with a NUL": (swap("lumberyard.toml", "a\\u0000b"), "lumberyard", "\\x00", "control characters", "again"),
    "an unknown key": (swap('unit = "in"', 'unit = "in"\npapper = "a4"'), "papper", "unknown key", "a known key", "'paper'"),
    "paper size": (swap('unit = "in"', 'unit = "in"\npaper = "A4"'), "paper", "A4", "'letter' or 'a4'", "'a4'"),
    "date as text": (swap('unit = "in"', 'unit = "in"\non_by = "2026-11-11"'), "on_by", "2026-11-11", "without quotes", "Correct"),
    "a date that is none": (swap('unit = "in"', 'unit = "in"\non_by = 2026-02-30'), "", "not TOML", "TOML", "line named"),
    "title in two lines": (swap('unit = "in"', 'unit = "in"\ntitle = "a\\nb"'), "title", "a\\nb", "one line", "again"),
    "frames 21": (swap("frames = 10", "frames = 21"), "hives number 1, frames", "21", "20 or less", "Correct"),
    "frames as text": (swap("frames = 10", 'frames = "10"'), "hives number 1, frames", "'10'", "a whole number", "Correct"),
    "no count": (swap("count = 6\n", ""), "hives number 1, count", "nothing", "a value for 'count'", "Add"),
    "count nothing": (swap(HIVES, "count = 0"), "hives number 1, count", "0", "1 or more", "Correct"),
    "count below nothing": (swap(HIVES, "count = -3"), "hives number 1, count", "-3", "1 or more", "Correct"),
    "count a half": (swap(HIVES, "count = 6.5"), "hives number 1, count", "6.5", "a whole number", "Correct"),
    "count true": (swap(HIVES, "count = true"), "hives number 1, count", "True", "a whole number", "Correct"),
    "count as text": (swap(HIVES, 'count = "6"'), "hives number 1, count", "'6'", "a whole number", "Correct"),
    "count a million": (swap(HIVES, "count = 1000000"), "hives number 1, count", "1000000", "100000 or less", "Correct"),
    "count of many digits": (swap(HIVES, f"count = {'9' * 5000}"), "line 7, count", "many digits", "numbers below", "Correct"),
    "count in hexadecimal of many digits": (swap(HIVES, f"count = 0x{'f' * 5000}"), "hives number 1, count", "many digits", "below", "Correct"),
    "width of no sense": (swap(HIVES, 'count = 6\nwidth = "wide"'), "hives number 1, width", "'wide'", "a length such as", "not a length"),
    "width below nothing": (swap(HIVES, 'count = 6\nwidth = "-16"'), "hives number 1, width", "'-16'", "a length such as", "not a length"),
    "width nothing": (swap(HIVES, 'count = 6\nwidth = "0"'), "hives number 1, width", "0 in", "more than 0", "real size"),
    "width nan": (swap(HIVES, "count = 6\nwidth = nan"), "hives number 1, width", "'nan'", "a length such as", "not a length"),
    "width inf": (swap(HIVES, "count = 6\nwidth = inf"), "hives number 1, width", "'inf'", "a length such as", "not a length"),
    "width true": (swap(HIVES, "count = 6\nwidth = true"), "hives number 1, width", "True", "a length such as", "between quotes"),
    "width a list": (swap(HIVES, "count = 6\nwidth = [16]"), "hives number 1, width", "(16,)", "a length such as", "between quotes"),
    "width of a slipped point": (swap(HIVES, 'count = 6\nwidth = "101 m"'), "hives number 1, width", "101 m", "a length such as", "decimal point"),
    "width of three thousand letters": (swap(HIVES, f'count = 6\nwidth = "{"x" * 3000}"'), "hives number 1, width", "...", "a length such as", "one value"),
    "a height that is no name": (swap(HIVES, 'count = 6\nheight = "deeep"'), "hives number 1, height", "'deeep'", "'deep', 'medium', 'shallow', 'brood' or 'super'", "Did you mean 'deep'?"),
    "no gap in the list": (swap('gap = "1/4"', "gap = []"), "hives number 1, gap", "()", "at least 1", "quotes"),
    "one bad gap of three": (swap('gap = "1/4"', 'gap = ["1/4", "x", "1/4"]'), "hives number 1, gap number 2", "'x'", "a length such as", "not a length"),
    "a gap as high as the box": (swap('gap = "1/4"', 'gap = "9"'), "hives number 1, gap", "'9'", "0 in to 1 in", "in that range"),
    "a slip in a list of gaps": (swap('gap = "1/4"', 'gap = ["1/4", "16 1/4"]'), "hives number 1, gap number 2", "16 1/4", "0 in to 1 in", "in that range"),
    "gap of no sense": (swap('gap = "1/4"', 'gap = "small"'), "hives number 1, gap", "'small'", "or a list", "not a length"),
    "a name with a control character": (swap(HIVES, 'count = 6\nname = "a\\u001b[31m"'), "hives number 1, name", "\\x1b", "control characters", "again"),
    "a name that is too long": (swap(HIVES, f'count = 6\nname = "{"n" * 61}"'), "hives number 1, name", "nnn", "at most 60", "Correct"),
    "sugar without a unit": (swap(HIVES, "count = 6\nsugar = 16"), "hives number 1, sugar", "16", "a mass with its unit", "in quotes"),
    "no sugar": (swap(HIVES, 'count = 6\nsugar = "0 lb"'), "hives number 1, sugar", "0 lb", "more than 0", "real mass"),
    "hives misspelt": (swap("[[hives]]", "[[hives]]\nframe = 8"), "hives number 1, frame", "unknown key 'frame'", "a known key", "'frames'"),
    "hives as one table of numbers": (swap('lumberyard = "lumberyard.toml"\n[[hives]]\nframes = 10\ncount = 6\ngap = "1/4"\n', 'lumberyard = "lumberyard.toml"\nhives = 3\n'), "hives", "3", "a list", "Correct"),
    "make a number": (swap('[[make]]\nitem = ["fondant rim", "wire bottom", "spacer strips", "packing blocks"]', ""), "make", "nothing", "a value for 'make'", "Add"),
    "no item": (swap('item = ["fondant rim", "wire bottom", "spacer strips", "packing blocks"]', "spare = 1"), "make number 1", "no item", "what to make", "Add"),
    "item misspelt": (swap('"fondant rim", ', '"fondant rimm", '), "make number 1, item", "'fondant rimm'", "one of", "Did you mean 'fondant rim'?"),
    "item a number": (swap('"fondant rim", ', "3, "), "make number 1, item", "3", "one of", "Choose"),
    "an item twice": (swap('"wire bottom"', '"fondant rim"'), "make", "fondant rim for the hives twice", "each item once", "Remove"),
    "hives not named": ('hives = "lumberyard ten"\n', "make number 1, hives", "'lumberyard ten'", "the name of one of the", "Name the hives"),
    "hives a number": ("hives = 3\n", "make number 1, hives", "3", "text between quotes", "Correct"),
    "spare below nothing": ("spare = -1\n", "make number 1, spare", "-1", "0 or more", "Correct"),
    "a parameter misspelt": ('thicknes = "1/4"\n', "make number 1, thicknes", "unknown key", "a known key", "'thickness'"),
    "a count of an item": ("count = 4\n", "make number 1, count", "unknown key 'count'", "a known key", "split the hives in two [[hives]] with a count each"),
    "one strip": ("number = 1\n", "make number 1, number", "1", "number of strips, 2 to 12", "in that range"),
    "a strip two inches thick": ('thickness = "2"\n', "make number 1, thickness", "'2'", "1/16 in to 1 in", "in that range"),
    "ripped as a number": (BOARD + "ripped = 1", "board, ripped", "1", "true or false", "Correct"),
    "sugar for some items": ('sugar = "10 lb"\n', "make number 1, sugar", "some items only", "under [board]", "Move"),
    "a board key misspelt": (BOARD + 'suger = "16 lb"', "board, suger", "unknown key", "a known key", "'sugar'"),
    "a board that is a number": (swap("[[hives]]", "board = 3\n[[hives]]"), "board", "3", "a table", "Correct"),
    "a joint misspelt": (BOARD + 'joint = "butt, ends insde"', "board, joint", "insde", "butt, sides inside", "Did you mean 'butt, ends inside'?"),
    "a mesh that has no rows": (BOARD + 'mesh = "3/4 in"', "board, mesh", "'3/4 in'", "'1/2 in'", "Did you mean"),
    "bar as text": (BOARD + 'bar = "yes"', "board, bar", "'yes'", "true or false", "Correct"),
    "too much sugar": (BOARD + 'sugar = "41 lb"', "board, sugar", "'41 lb'", "1 lb to 40 lb", "in that range"),
    "density nan": (BOARD + 'density = "nan"', "board, density", "'nan'", "such as 0.85 kg/L", "kilograms per liter"),
    "density of a huge exponent": (BOARD + "density = 1e999999999", "board, density", "1e999999999", "0.85 kg/L", "kilograms"),
    "density of another unit": (BOARD + 'density = "53 lb/cu ft"', "board, density", "53 lb", "0.85 kg/L", "kilograms"),
    "density too low": (BOARD + 'density = "0.1 kg/L"', "board, density", "0.1 kg/L", "0.4 kg/L to 1.3 kg/L", "in that range"),
    "notch too high": (BOARD + 'notch_height = "2"', "board, notch_height", "'2'", "3/16 in to 1 in", "in that range"),
    "shed of hives not named": ('\n[[shed]]\nitem = "fondant rim"\nhives = "x"\nhave = 1', "shed number 1, hives", "'x'", "the name of one of the", "Name the hives"),
    "shed of no such item": ('\n[[shed]]\nitem = "quilt bx"\nhives = ""\nhave = 1', "shed number 1, item", "'quilt bx'", "one of", "Did you mean 'quilt box'?"),
    "more repairs than there are": ('\n[[shed]]\nitem = "wire bottom"\nhives = ""\nhave = 1\nrepair = 2', "shed number 1", "2 to repair of 1", "at most as many repairs", "Count again"),
    "more boards than hives": ('\n[[shed]]\nitem = "wire bottom"\nhives = ""\nhave = 7', "shed number 1, have", "7 for 6 hives", "at most one", "Count only"),
    "blocks in the shed": ('\n[[shed]]\nitem = "packing blocks"\nhives = ""\nhave = 1', "shed number 1, item", "packing blocks", "every hive gets", "Lower people"),
    "deep brackets": ("x = " + "[" * 5000, "", "nested too deep", "at most", "right file"),
    "deep dotted keys": (BOARD + ".".join("a" * 5000) + " = 1", "", "nested too deep", "at most", "right file"),
}  # fmt: skip


@pytest.mark.parametrize("name", MALFORMED)
def test_one_slip_gives_one_problem_that_names_the_place(shop: Any, name: str) -> None:
    change, where, given_words, wanted, do = MALFORMED[name]
    text = shop.design_text
    if isinstance(change, tuple):
        assert text.count(change[0]) == 1
        text = text.replace(*change)
    else:
        text += change
    with pytest.raises(InputError) as refused:
        shop.design(text)
    (problem,) = refused.value.problems
    assert problem.where.startswith("design.toml")
    assert problem.where.removeprefix("design.toml").removeprefix(", ") == where
    assert given_words in problem.given
    assert wanted in problem.wanted
    assert do in problem.do
    assert str(problem).isprintable()
    assert len(str(problem)) < 900


def test_every_problem_is_said_at_once(shop: Any) -> None:
    text = (
        shop.design_text.replace('"in"', '"cm"').replace("count = 6", "count = 0").replace("frames = 10", "frames = 0")
    )
    text += "spare = -1\n[board]\nsuger = 3\nbar = 1\n"
    with pytest.raises(InputError) as refused:
        shop.design(text)
    places = [problem.where.removeprefix("design.toml, ") for problem in refused.value.problems]
    assert places == ["unit", "hives number 1, frames", "hives number 1, count", "board, bar", "board, suger", "make number 1, spare"]  # fmt: skip


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "no format line"),
        (b"\x00\x01\x02\xff\xfe", "not UTF-8"),
        (b"\x89PNG\r\n\x1a\n" + bytes(range(256)), "not UTF-8"),
        (b"\x00" * 200, "not TOML"),
        (b"#" + b"x" * 2_000_001, "over 2 MB"),
        ('format = "woodshop-design/2"'.encode("utf-16"), "not UTF-8"),
    ],
)
def test_what_is_no_design_at_all(shop: Any, content: bytes, said: str) -> None:
    with pytest.raises(InputError) as refused:
        shop.design(content)
    (problem,) = refused.value.problems
    assert said in problem.given


def test_a_folder_a_missing_file_and_names_that_do_not_open(tmp_path: Path) -> None:
    for path, said in (
        (tmp_path, "a folder"),
        (tmp_path / "none.toml", "no such file"),
        (tmp_path / ("n" * 300), "cannot be read"),
        (Path("/dev/zero"), "not a plain file"),
    ):
        with pytest.raises(InputError) as refused:
            read_design(path)
        (problem,) = refused.value.problems
        assert said in problem.given


def test_a_byte_order_mark_and_carriage_returns_are_no_slip(shop: Any) -> None:
    text = "\ufeff" + shop.design_text.replace("\n", "\r\n")
    assert shop.design(text) == shop.design()


def test_typographic_fractions_and_millimetres_read(shop: Any) -> None:
    text = shop.design_text.replace("count = 6", 'count = 6\nwidth = "16¼"')
    assert str(shop.design(text).hives[0].width) == "16 1/4 in"
    text = shop.design_text.replace('"in"', '"mm"').replace("count = 6", 'count = 6\nwidth = "412.75"')
    assert str(shop.design(text).hives[0].width) == "16 1/4 in"


def test_decimals_are_read_as_they_are_written(shop: Any) -> None:
    # 0.1 has no exact double; 16.25 without quotes is text to the reader
    text = shop.design_text.replace("count = 6", "count = 6\nwidth = 16.25").replace('gap = "1/4"', "gap = 0.1")
    hives = shop.design(text).hives[0]
    assert (hives.width.mm.numerator, hives.gap.inches.denominator) == (1651, 10)


# ---- what contradicts itself ---------------------------------------------------------------------

CONTRADICTIONS: dict[str, tuple[str | tuple[str, str], str, str, str]] = {
    "frames that do not fit": (swap(HIVES, 'count = 6\nwidth = "13 3/4"'), "10-frame hives, width", "12 1/4 in inside", "13 3/4 in for 10"),
    "a box for two frames more": (swap(HIVES, 'count = 6\nwidth = "20"'), "10-frame hives, width", "18 1/2 in inside", "10 frames"),
    "a box too long": (swap(HIVES, 'count = 6\npattern = "Langstroth"\nlength = "21"'), "10-frame hives, length", "falls through", "Langstroth frames fit in"),
    "a box too short": (swap(HIVES, 'count = 6\npattern = "Langstroth"\nlength = "19"'), "10-frame hives, length", "too short for", "frames fit in"),
    "walls thinner than the rest": (swap(HIVES, 'count = 6\npattern = "Langstroth"\nlength = "19 1/2"\nwall = "5/16"'), "10-frame hives, wall", "cut through by", "more than 3/8"),
    "a rabbet through the wood": (swap('lumberyard = "lumberyard.toml"\n', 'lumberyard = "lumberyard.toml"\nwood = "1/2"\n[board]\nmounting = "flush rabbet"\nrabbet_width = "1/2"\n'), "board, rabbet_width", "1/2 in", "at most 3/8 in in wood 1/2 in thick"),
    "a groove through the wood": (swap('lumberyard = "lumberyard.toml"\n', 'lumberyard = "lumberyard.toml"\nwood = "1/2"\n[board]\nmounting = "saw groove"\ngroove_depth = "1/2"\n'), "board, groove_depth", "1/2 in", "at most 3/8 in in wood 1/2 in thick"),
    "no wide board": (BOARD + 'density = "0.4 kg/L"\nsugar = "40 lb"\nhead_room = "3"', "lumberyard file, boards and offcuts", "11 1/4 in as the widest", "at least 13"),
    "wood the lumberyard has not": (swap('unit = "in"', 'unit = "in"\nwood = "1/2"'), "lumberyard file, boards and offcuts", "no board 1/2 in thick; there are boards", "at least"),
    "wood that leaves no room": (swap('unit = "in"', 'unit = "in"\nwood = "9"'), "design, wood", "9 in thick", "thinner walls"),
    "vents that meet": (BOARD + 'channel = "along the front"\nblock_length = "8"', "board, block_length", "8 in x 1 1/2 in", "clears the other"),
    "floor and rim apart": (swap('[[make]]\nitem = ["fondant rim", "wire bottom", ', '[[make]]\nitem = "wire bottom"\nmounting = "saw groove"\n[[make]]\nitem = ["fondant rim", '), "make, fondant rim, mounting", "wire bottom for the same hives", "one board"),
    "an entrance above the rim": (BOARD + 'height = "3/4"\nnotch_height = "1"', "fondant rim / 10-frame 16 1/4", "upper entrance does not lie", "can be cut"),
    "a quilt box lower than its hole": ('[[make]]\nitem = "quilt box"\nheight = "2"\nshavings = "8"\n', "quilt box / 10-frame 16 1/4", "vent hole does not lie", "can be cut"),
    "no gap and a mesh under the rim": (swap('gap = "1/4"', 'gap = "0"'), "spacer strips for 10-frame 16 1/4", "a gap of 0 in", "1/16 in for a strip"),
    "a corner rabbet through the wood": (BOARD + 'joint = "rabbet in the ends"\nmounting = "flush rabbet"\nheight = "3/4"\nrabbet_height = "1"', "fondant rim / 10-frame 16 1/4", "does not lie in the block", "can be cut"),
}  # fmt: skip


@pytest.mark.parametrize("name", CONTRADICTIONS)
def test_a_contradiction_is_refused_with_one_problem(shop: Any, name: str) -> None:
    change, where, given_words, wanted = CONTRADICTIONS[name]
    text = shop.design_text.replace(*change) if isinstance(change, tuple) else shop.design_text + change
    assert text != shop.design_text
    with pytest.raises(InputError) as refused:
        check_batch(shop.batch(text))
    (problem,) = refused.value.problems
    assert problem.where == where
    assert given_words in problem.given
    assert wanted in problem.wanted


# ---- junk -----------------------------------------------------------------------------------------

WORDS = st.sampled_from(
    ["", "16 1/4", "1/4", "-1", "0", "nan", "inf", "1e9", "16 lb", "0.85 kg/L", "fondant rim", "wire bottom", "quilt box",
     "spacer strips", "packing blocks", "butt, ends inside", "saw groove", "flush rabbet", "along the front", "1/8 in",
     "deep", "by area", "four", "mesh", "in", "mm", "\u00bd", "x\u0000y", "9" * 400, "1/0"]
)  # fmt: skip
SCALARS = WORDS | st.booleans() | st.integers(-(10**18), 10**18) | st.floats() | st.text(max_size=8)
VALUES = st.recursive(SCALARS, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3), max_leaves=6)  # fmt: skip
TOP = ["batch", "unit", "lumberyard", "title", "on_by", "paper", "wood", "hives", "shed", "board", "make"]
HIVE_KEYS = ["name", "frames", "count", "width", "length", "height", "wall", "gap", "sugar"]
BOARD_KEYS = ["joint", "joint_depth", "mounting", "mesh", "landing", "rabbet_height", "rabbet_width", "groove_height",
              "groove_width", "groove_depth", "channel", "block_width", "block_length", "notch_width", "notch_height",
              "notch_rise", "bar", "sugar", "other_sugar", "bag", "bowl", "density", "head_room", "height", "ripped"]  # fmt: skip
MAKE_KEYS = ["item", "hives", "spare", "wood", "number", "width", "thickness", "sag", "play", "people", "grip",
             "height", "floor", "shavings", "holes", "hole", "screen", "skirt"]  # fmt: skip


def toml(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return repr(value).replace("+", "") if value == value else "nan"
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(c):08x}" if not 0xD800 <= ord(c) <= 0xDFFF else "?" for c in value) + '"'
    if isinstance(value, list):
        return "[" + ", ".join(toml(each) for each in value) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{toml(key)} = {toml(each)}" for key, each in value.items()) + "}"
    return str(value)


def table(head: str, values: dict[str, Any]) -> str:
    return head + "\n" + "".join(f"{toml(key)} = {toml(value)}\n" for key, value in values.items())


def keys(names: list[str], base: dict[str, Any]) -> st.SearchStrategy[dict[str, Any]]:
    return st.dictionaries(st.sampled_from(names), VALUES, max_size=2).map(lambda junk: base | junk)


def only_input_errors(shop: Any, text: str) -> None:
    try:
        check_batch(settle(shop.design(text), shop.lumberyard()))
        said = []
    except InputError as refused:
        said = [str(problem) for problem in refused.problems]
    assert all(text.isprintable() and len(text) < 2000 for text in said)


@pytest.mark.invariant
@settings(deadline=None)
@given(st.text(max_size=200))
def test_any_text_is_a_design_or_an_input_error(shop: Any, text: str) -> None:
    only_input_errors(shop, text.encode("utf-8", "replace").decode("utf-8"))
    only_input_errors(shop, shop.design_text + text.encode("utf-8", "replace").decode("utf-8"))


@pytest.mark.invariant
@settings(max_examples=tries(250), deadline=None)
@given(
    keys(TOP[:7], {"batch": "b", "unit": "in", "lumberyard": "lumberyard.toml"}),
    keys(HIVE_KEYS, {"frames": 10, "count": 3}),
    keys(BOARD_KEYS, {}),
    keys(MAKE_KEYS, {"item": ["fondant rim", "wire bottom", "spacer strips"]}),
)
def test_junk_values_under_known_keys_are_refused_or_settled(
    shop: Any, top: dict[str, Any], hive: dict[str, Any], board: dict[str, Any], make: dict[str, Any]
) -> None:
    text = table('format = "woodshop-design/2"', top) + table("[[hives]]", hive) + table("[board]", board)
    only_input_errors(shop, text + table("[[make]]", make))


@pytest.mark.invariant
@settings(max_examples=tries(100), deadline=None)
@given(st.dictionaries(st.sampled_from(TOP) | st.text(max_size=6), VALUES, max_size=6))
def test_junk_tables_are_refused(shop: Any, junk: dict[str, Any]) -> None:
    only_input_errors(shop, table('format = "woodshop-design/2"', {k: v for k, v in junk.items() if k != "format"}))
