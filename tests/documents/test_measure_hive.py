"""The pictures of where to measure a hive, and the widths that makers sell."""

import pytest

from tests.documents.printed_words import foreign
from woodshop.design.tables import BodyTable, HivesTable, PatternTable
from woodshop.documents.answers.measure_hive import maker_widths, measuring_section
from woodshop.documents.answers.patterns import pattern_section, patterns_section, tape_section
from woodshop.drawing.pens.text import section_text
from woodshop.drawing.values.model import Figure, Section
from woodshop.errors import InputError
from woodshop.hardware.board import LIMITS
from woodshop.reference.facts import fact
from woodshop.reference.patterns import MEASURES, find_pattern, left_out, patterns


@pytest.mark.invariant
def test_every_measured_size_is_a_key_of_the_hives() -> None:
    figures = [block for block in measuring_section().blocks if isinstance(block, Figure)]
    named = {each.letter for figure in figures for view in figure.drawing.views for each in view.dimensions}
    assert named == {"width", "length", "height", "wall", "gap"}
    assert named <= HivesTable.model_fields.keys() & LIMITS.keys()


@pytest.mark.outside("a US bee-supply house, hive body size page, 10-frame 16 in and 8-frame 14 in outside width")
def test_makers_widths() -> None:
    assert "16 in" in [row.value for row in maker_widths("Langstroth", 10)]
    assert maker_widths("Langstroth", 8)[0].value == "14 in"


@pytest.mark.outside("British Standard 1300, withdrawn: a square of 460 mm, 18 1/8 in, outside")
def test_the_national_box_is_square() -> None:
    (row,) = maker_widths("British National", 11)
    assert abs(row.length.mm - 460) < 1
    assert maker_widths("Langstroth", 7) == maker_widths("Dadant-Blatt", 10) == maker_widths("my own", 10) == ()


@pytest.mark.invariant
def test_every_size_drawn_for_the_tape_is_a_key_of_a_pattern_and_none_is_missing() -> None:
    """A thickness that is plain to see, and the inside width, are given in words only."""

    def drawn(section: Section) -> set[str]:
        figures = [block for block in section.blocks if isinstance(block, Figure)]
        return {each.letter for figure in figures for view in figure.drawing.views for each in view.dimensions}

    named = drawn(tape_section())
    assert named <= PatternTable.model_fields.keys() | BodyTable.model_fields.keys()
    assert MEASURES.keys() - named == {"inside_width", "wall"}
    assert drawn(tape_section("", str.upper)) == {each.upper() for each in named}  # the page draws its own labels


@pytest.mark.invariant
def test_patterns_are_listed_with_their_sources_and_what_is_missing() -> None:
    listed = patterns_section().data
    assert [each["name"] for each in listed["patterns"]] == [each.name for each in patterns()]
    assert [each["name"] for each in listed["left_out"]] == [name for name, _ in left_out()]
    for pattern in patterns():
        sizes = {each["size"]: each for each in pattern_section(pattern.name.upper()).data["sizes"]}
        for name in MEASURES:
            if name in pattern.missing:
                assert sizes[name]["value"] == "measure yours"
            elif name in sizes:
                assert sizes[name]["source"].startswith(fact(pattern.facts[name]).cite)
    assert find_pattern("Zander").missing
    with pytest.raises(InputError, match="Did you mean 'Zander'"):
        pattern_section("Zandr")


@pytest.mark.outside("hand arithmetic: BS 1300 as tabulated, top bar 17 in = 431.8 mm; Zander frame 420 mm wide")
def test_the_sizes_of_a_pattern_are_in_millimeters_with_published_inches_beside() -> None:
    national = {each["size"]: each["value"] for each in pattern_section("British National", "mm").data["sizes"]}
    assert national["top_bar_length"] == "431.8 mm (17 in)"
    assert national["top_bar_width"] == "22.2 mm"  # from memory: ours to say
    zander = {each["size"]: each["value"] for each in pattern_section("Zander", "mm").data["sizes"]}
    assert zander["frame_length"] == "420 mm"
    for pattern in patterns():
        assert not foreign(section_text(pattern_section(pattern.name, "mm")))
