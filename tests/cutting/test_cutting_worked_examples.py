"""The worked examples in the test data: that all are there, and the sheet in the ways not checked elsewhere."""

import json
from pathlib import Path

import pytest

from tests.cutting.test_cutting_planner import CASES
from woodshop.cutting.model.job import read_job
from woodshop.cutting.planner.plan_job import plan

HAND = Path(__file__).resolve().parents[1] / "data" / "cutting" / "hand_checks"


def test_all_thirteen_examples_and_the_kerfs_of_seven_are_checked() -> None:
    rows = json.loads((HAND / "hand_1d.json").read_text(encoding="utf-8"))
    kerfs = {row["id"]: sorted(row["optimum_by_kerf_computed_here"]) for row in rows}
    assert len(rows) == 13
    assert sum(len(own) > 1 for own in kerfs.values()) == 7
    assert {case.id for case in CASES} == {f"{name}-kerf{kerf}" for name, own in kerfs.items() for kerf in own}
    assert all(row["source"] for row in rows)


def sheets_needed(first: str, stages: int) -> int:
    """Of the sheet 48 x 96, pieces turned as need be."""
    row = json.loads((HAND / "hand_2d.json").read_text(encoding="utf-8"))[0]
    length, width = row["sheet"]
    blanks = [
        {"id": f"b{n}", "length": item[0], "width": item[1], "count": item[2], "rotate": True}
        for n, item in enumerate(row["items"])
    ]
    job = {
        "format": "woodshop-job/1",
        "unit": "1 dm",
        "money": "sheet",
        "kerf": {"rip": 0, "crosscut": 0},
        "cutting": {"stages": stages, "first": first, "final_trim": True},
        "stock": [{"id": "s", "length": length, "width": width, "cost": 1}],
        "blanks": blanks,
    }
    return plan(read_job(job)).cost


@pytest.mark.outside("C. Gueret, C. Prins, M. Sevaux (2002), sheet metal; optimum by direction from the data file")
@pytest.mark.parametrize("first", ["across", "either"])
def test_sheet_metal_turned_in_two_stages(first: str) -> None:
    assert sheets_needed(first, 2) == 12


@pytest.mark.outside("C. Gueret, C. Prins, M. Sevaux (2002), sheet metal; 11 sheets by the 16 patterns printed there")
def test_sheet_metal_in_three_stages_needs_no_more_than_the_printed_patterns() -> None:
    assert sheets_needed("either", 3) <= 11
