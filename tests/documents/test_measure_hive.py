"""The pictures of where to measure a hive, and the widths that makers sell."""

import pytest

from woodshop.design.tables import HivesTable
from woodshop.documents.answers.measure_hive import maker_widths, measuring_section
from woodshop.drawing.values.model import Figure
from woodshop.hardware.board import LIMITS


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
    assert maker_widths("Langstroth", 7) == ()
