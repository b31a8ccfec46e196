"""The places that findings name are places of the design file: those that its reader knows."""

import pytest

from woodshop.design.named_keys import named_places
from woodshop.findings import Finding, Severity

TABLES = {
    "hives": [{"name": "hill", "frames": 10}, {"name": "creek", "frames": 8}],
    "make": [{"item": "board"}, {"item": "quilt box"}],
}


@pytest.mark.parametrize(
    ("place", "change", "remedy", "places"),
    [
        ("fondant rim / creek", 'Measure it, then set gap = ["1/4"].', (), [("hives", 1, "gap")]),
        ("every hive", "Enter the damp weight under [trial].", (), [("trial",)]),
        ("every hive", 'Fit a mouse guard ("mouse guard" under [[make]]).', (), [("make", "mouse guard")]),
        ("every hive", 'Set holes = "none" for the quilt box, or see [climate].', (),
         [("make", 1, "holes"), ("climate",)]),
        ("hill", "Make the rim taller: height = 3 in.", (("board.height", '"3"'),), [("board", "height")]),
        ("corners", "Add them to the lumberyard file under [[pack]].", (), [("lumberyard",)]),
        ("hill", "Correct cover_clearance, or cover_length.", (), [("hives", 0, "cover_clearance")]),
        ("hill", "Center the frames.", (), []),
    ],
)  # fmt: skip
def test_a_finding_names_places(
    place: str, change: str, remedy: tuple[tuple[str, str], ...], places: list[tuple[str | int, ...]]
) -> None:
    finding = Finding("a-rule", Severity.NOTE, place, "", "", "", change, remedy)
    assert list(named_places(finding, TABLES)) == places
    assert named_places(finding, {}) == tuple(each for each in places if each[0] != "hives" and each[1:2] != (1,))
