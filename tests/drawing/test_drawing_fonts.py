"""The typeface and the setting of lengths."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from woodshop.drawing.values import style as fonts
from woodshop.drawing.values.paper import Word
from woodshop.drawing.values.style import STYLE


@pytest.mark.parametrize("font", [fonts.REGULAR, fonts.STRONG, fonts.ITALIC])
def test_all_figures_have_one_width(font: str) -> None:
    """Columns of sizes line up because every figure is as wide as any other."""
    assert len({fonts.raw_width(figure, font, 100.0) for figure in "0123456789"}) == 1


@pytest.mark.parametrize("size", [STYLE.body, STYLE.cut_size, STYLE.headings[0]])
def test_a_fraction_is_built_from_small_figures_and_reads_as_plain_text(size: float) -> None:
    """The runs of 16 1/4 put the 1 high and both figures small, and spell the same characters."""
    runs = fonts.runs("16 1/4 in", size)
    assert "".join(run.text for run in runs) == "16 1/4 in"
    whole, top, stroke, bottom, _ = runs
    assert top.size < whole.size
    assert bottom.size < whole.size
    assert stroke.text == "/"
    assert top.rise > whole.rise > bottom.rise
    assert min(run.size for run in runs) >= STYLE.least


def test_a_fraction_in_small_type_is_built_of_figures_no_smaller_than_8_points() -> None:
    """At 9 points too; nothing of it stands out of the box of the line."""
    runs = fonts.runs("16 1/4 in", STYLE.small)
    assert min(run.size for run in runs) == STYLE.least
    word = Word("16 1/4 in", 0.0, 0.0, size=STYLE.small)
    assert max(run.rise + run.size * fonts.CAP_HEIGHT for run in runs) <= word.box.top
    assert min(run.rise for run in runs) - STYLE.small * fonts.DESCENT >= word.box.bottom - 0.3


def test_no_break_spaces_print_as_spaces() -> None:
    """What holds a length together in wrapping is not left in the printed characters."""
    (line,) = fonts.wrapped("cut to 16 1/4 in", 11.5, 400.0)
    assert "\u00a0" in line
    assert "".join(run.text for run in fonts.runs(line, 11.5)) == "cut to 16 1/4 in"


@pytest.mark.parametrize("text", ["11/16/2026", "24/7", "5/4 board is not 5/4 in", "1/3", "2/2", "3/128", "1/4.5"])
def test_what_is_no_mark_on_a_tape_is_not_built(text: str) -> None:
    """Dates, improper fractions and other ratios stay plain."""
    assert len(fonts.runs(text, STYLE.body)) == 1


@settings(max_examples=tries(150), deadline=None, derandomize=True)
@given(st.text(max_size=200), st.floats(30, 500), st.sampled_from([9.0, 11.5, 14.0]))
def test_wrapped_lines_fit_and_lose_nothing(text: str, room: float, size: float) -> None:
    """Whatever the text, each line fits the room and all characters are there in order."""
    lines = fonts.wrapped(text, size, room)
    assert all(fonts.width(line, size) <= room + 1e-6 for line in lines)
    squeezed = re.sub("[ \u00a0]", "", "".join(lines))
    assert squeezed == fonts.clean(text).replace(" ", "").replace("\u00a0", "")


def test_a_length_is_not_broken_across_lines() -> None:
    """No line ends within 16 1/4 in, however wide the column."""
    for room in range(60, 300, 7):
        for line in fonts.wrapped(
            "cut the ends to 16 1/4 in and the sides to 19 7/8 in, then rip 3 1/2 in", 11.5, room
        ):
            plain = line.replace("\u00a0", " ")
            assert not re.search(r"\d$", plain), plain
            assert not re.match(r"(1/4|7/8|1/2|in)\b", plain), plain


def test_what_the_font_lacks_is_shown_and_told() -> None:
    """Controls vanish, an unknown character prints as a question mark and can be listed."""
    assert fonts.clean("a\x00\x07b\tc\n日") == "ab c ?"
    assert fonts.missing("Öl 日本 日") == "日本"
