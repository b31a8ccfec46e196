"""A gap has one grade: in the table of the check, in its JSON, on the map and in the findings."""

from typing import Any

import pytest

from tests.nightly import spread
from tests.shop_folder import still
from woodshop.checks.check_batch import measured_batch
from woodshop.documents.answers.check_tables import gap_section
from woodshop.documents.bee_map.bee_map import bee_maps, one_map
from woodshop.documents.bee_map.details import detail_callouts
from woodshop.drawing.pens.section_json import section_json
from woodshop.drawing.values.model import Table
from woodshop.findings import Severity
from woodshop.hive.gaps.grading import FITTING, LOADED, Grade, bee_space

GRADES = {grade.value for grade in Grade}
MESH = ("mesh over top bars", "strip top over top bars", LOADED)
SWEEP = [(gap, strips) for gap in ("5/32", "1/4", "7/16") for strips in ("", "1/8", "3/16")] + [
    ("1/8", "1/8"), ("3/16", "3/16"), ("7/32", "7/32"), ("3/8", "3/8"), ("1/2", ""), ("9/16", "1/4"),
]  # fmt: skip


@pytest.mark.invariant
@pytest.mark.parametrize(("gap", "strips"), spread(SWEEP, 8))
def test_every_output_gives_a_gap_the_same_grade(shop: Any, gap: str, strips: str) -> None:
    text = shop.design_text.replace('gap = "1/4"', f'gap = "{gap}"')
    text = text.replace(', "spacer strips"', "")
    if strips:
        text += f'\n[[make]]\nitem = "spacer strips"\nnumber = 3\nthickness = "{strips}"\n'
    units, report, groups = measured_batch(still(shop.batch(text)))
    space = bee_space()

    section = gap_section(groups, space, "in")
    told = {(row["name"], row["place"]): row["grade"] for row in section_json(section)["gaps"]}
    assert set(told.values()) <= GRADES
    assert len(told) > 20
    by_name: dict[str, set[str]] = {}
    for (name, _), grade in told.items():
        by_name.setdefault(name, set()).add(grade)

    printed: dict[str, set[str]] = {}
    for name, _, _, _, grade in (
        row for block in section.blocks if isinstance(block, Table) for row in block.text_rows
    ):
        printed.setdefault(name, set()).add(grade)
    assert printed == {name: grades - FITTING for name, grades in by_name.items() if grades - FITTING}

    (drawn,) = bee_maps(units, "in")
    assert {(row.gap.name, row.gap.place): row.grade for row in drawn.hive.graded} == told
    (table,) = [each for each in one_map(drawn) if isinstance(each, Table) and each.columns[0].heading == "gap"]
    mapped: dict[str, set[str]] = {}
    for row in table.text_rows:
        mapped.setdefault(row[0], set()).add(row[4].partition(", by ")[0])
    assert mapped == {name: grades for name, grades in printed.items() if name != "overhang"}

    callouts = [each for made in detail_callouts(drawn.hive, "in").values() for each in made]
    assert callouts
    for each in callouts:
        good, grade = drawn.hive.grade(each.found.gap)
        own = grade.removesuffix(" once it sags")
        assert own in by_name[LOADED if own != grade else each.found.gap.name]
        assert each.is_good is good is Grade(own).is_good

    found = {finding.code: finding.severity for finding in report.findings}
    if "mesh-near-bars" in found:
        assert found["mesh-near-bars"] == worst(by_name)
    elif "mesh-sags" not in found and "mesh-unsupported" not in found:
        assert worst(by_name) is Severity.NOTE
    wide = {Grade.SLIGHTLY_WIDE: Severity.WARNING, Grade.TOO_WIDE: Severity.ERROR}
    (grade,) = by_name["mesh over top bars"]
    assert found.get("mesh-far-from-bars") == wide.get(Grade(grade))


def worst(by_name: dict[str, set[str]]) -> Severity:
    """The severity of the worst tight grade of the mesh over the bars."""
    grades = [Grade(grade) for name in MESH for grade in by_name.get(name, ())]
    tight = [grade for grade in grades if grade in (Grade.TOO_TIGHT, Grade.SLIGHTLY_TIGHT)]
    return min(tight, key=lambda grade: grade.rank).severity if tight else Severity.NOTE
