"""The mesh under fresh sugar: words and figures in the report, the table of gaps and the map, and what must hold."""

from itertools import product
from typing import Any, get_args

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.nightly import spread, tries
from tests.shop_folder import still
from woodshop.checks.check_batch import measured_batch
from woodshop.checks.mesh_state import mesh_state
from woodshop.documents.answers.check_tables import gap_section
from woodshop.documents.bee_map.bee_map import bee_maps, map_svg
from woodshop.documents.report.mesh import mesh_section
from woodshop.drawing.pens.section_json import section_json
from woodshop.drawing.pens.text import section_text
from woodshop.hardware.board import Mounting
from woodshop.hive.gaps.grading import bee_space
from woodshop.units.lengths import inch

MOUNTINGS = get_args(Mounting)
BARE = (', "spacer strips"', "")
# strips of 1/4 in, which just touch; what is said of them, and how what is left over the bars is graded
SHOWN = {
    0: ("the mesh hangs 0.65 in; the mesh touches the bars 1/4 in below it; once set, the block keeps", "too tight"),
    2: ("the mesh sags 0.083 in, its wires at 48 % of yield; 0.167 in of 1/4 in over the bars remains", "slightly tight"),  # noqa: E501
    3: ("the mesh sags 0.026 in, its wires at 29 % of yield; 0.224 in of 1/4 in over the bars remains", "bee space"),
    5: ("the mesh sags 0.015 in, its wires at 17 % of yield; 0.235 in of 1/4 in over the bars remains", "bee space"),
}  # fmt: skip


def text(design: str, strips: int, thickness: str = '"1/4"') -> str:
    return design.replace(*BARE) if not strips else f"{design}number = {strips}\nthickness = {thickness}\n".replace(
        "number", '\n[[make]]\nitem = "spacer strips"\nnumber'
    ).replace(*BARE, 1)  # fmt: skip


@pytest.mark.parametrize("strips", SHOWN)
def test_words_and_figures_stand_in_report_table_and_map(shop: Any, strips: int) -> None:
    """Strips as they lie, clear of channel and vents: the outer two of five leave 3 7/8 in, where even ones leave 3."""
    units, report, groups = measured_batch(still(shop.batch(text(shop.design_text, strips))))
    words, grade = SHOWN[strips]
    lines = section_text(mesh_section(groups, "in")).split("\n")
    assert words in lines[2]
    (row,) = [
        line for line in section_text(gap_section(groups, bee_space(), "in")).split("\n") if "bars, loaded" in line
    ]
    assert grade in row
    drawn = bee_maps(units, "in")
    picture = " ".join(line.partition(">")[2] for line in map_svg(drawn).decode().split("</text>"))
    assert words in drawn[0].hive.mesh
    assert ("and touches the bars" in picture) is (not strips)
    found = {finding.code for finding in report.findings}
    assert ("mesh-unsupported" in found, "mesh-sags" in found) == (not strips, strips == 2)
    (told,) = section_json(mesh_section(groups, "in"))["mesh"]
    assert told["lies_on_bars"] is (not strips)
    assert (told["strips"], bool(told["invalid"])) == (strips, not strips)


def state_of(shop: Any, more: str, strips: int = 0) -> Any:
    units = shop.units(text(shop.design_text, strips) + more)
    return mesh_state({unit.line.item.name: unit for unit in units})


@pytest.mark.invariant
@given(st.integers(4, 60), st.integers(1, 20), st.sampled_from((0, 2, 3, 4)))
@settings(max_examples=tries(25), deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_more_sugar_never_sags_the_mesh_less(shop: Any, halves: int, more: int, strips: int) -> None:
    board = '[board]\nheight = "12"\nsugar = "{} lb"\n'
    least, most = (state_of(shop, board.format(each / 2), strips) for each in (halves, min(halves + more, 80)))
    assert least.sag <= most.sag
    assert least.fresh.stress <= most.fresh.stress


@pytest.mark.invariant
@pytest.mark.parametrize(("mounting", "sugar"), spread(list(product(MOUNTINGS, ["5 lb", "16 lb", "24 lb"])), 3))
def test_one_strip_more_never_sags_the_mesh_more(shop: Any, mounting: str, sugar: str) -> None:
    """From none to four, each where it lies. From there on the outer two stay where channel and vents end: nearer
    neighbours lift the outer spans a little less, by a tenth at most."""
    more = f'[board]\nheight = "7 1/4"\nmounting = "{mounting}"\nsugar = "{sugar}"\n'
    sags = [state_of(shop, more, strips).fresh.sag for strips in (0, 2, 3, 4, 5, 6)]
    assert sags[:4] == sorted(sags[:4], reverse=True)
    assert max(sags[4:]) < sags[3] * 1.1


def test_set_hard_keeps_the_sag_and_strips_carry_the_bars_load(shop: Any) -> None:
    state = state_of(shop, "", 3)
    assert state.counted == state.sag == inch("0.026")
    assert state.worst.left == inch("0.224")
    assert state.strip.of_bending < 0.01
    assert state_of(shop, "", 2).counted == inch("1/32")


def test_a_metric_design_is_told_in_millimetres(shop: Any) -> None:
    """Strips of 6 mm, lie 0.5 mm below the mesh, which sags 0.5 mm more between."""
    design = shop.design_text.replace('unit = "in"', 'unit = "mm"').replace('gap = "1/4"', 'gap = "6.5"')
    groups = measured_batch(still(shop.batch(design)))[2]
    lines = section_text(mesh_section(groups, "mm")).split("\n")
    assert "0.5 mm below the mesh, which sags onto them: the mesh sags 1 mm" in lines[2]
    assert "5.5 mm over the bars between strips, 6 mm at the strips" in lines[3]


# ---- strips that stand off the mesh ---------------------------------------------------------------------------------

THIN = {
    # a strip of 1/8 in 3/8: the mesh sags 1/4 to it and 0.023 between, so that 0.102 is left: no worker passes that
    ('"3/8"', '"1/8"'): ({"mesh-near-bars": "error"}, "0.273", "0.102"),
    # a quarter of an inch below as well; 1/4 - 0.023 is left, enough
    ('"1/2"', '"1/4"'): ({"mesh-far-from-bars": "warning"}, "0.273", "0.227"),
    # the least gap is what strips are cut for: at 7/16 they lie 1/4 below, at 3/16 they touch and leave least
    ('["3/16", "3/8", "7/16"]', '"3/16"'): (
        {"mesh-far-from-bars": "warning", "mesh-near-bars": "warning"}, "0.026", "0.162"
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", THIN, ids=str)
def test_strips_below_the_mesh_carry_it_only_where_it_sags_to_them(shop: Any, case: tuple[str, str]) -> None:
    """One figure, in the finding, the lines of the report, the table of gaps, the values and the map."""
    gap, thick = case
    wanted, sag, left = THIN[case]
    design = text(shop.design_text.replace('"1/4"', gap), 3, thick)
    units, report, groups = measured_batch(still(shop.batch(design)))
    found = {f.code: f for f in report.findings if f.severity.value != "note"}
    assert {code: f.severity.value for code, f in found.items()} == wanted
    if "mesh-near-bars" in found:
        assert f"{left} in once the mesh sags {sag} in" in found["mesh-near-bars"].value
    lines = section_text(mesh_section(groups, "in")).split("\n")
    assert f"the mesh sags {sag} in" in lines[2]
    assert f"{left} in of" in lines[2]
    (row,) = [
        line for line in section_text(gap_section(groups, bee_space(), "in")).split("\n") if "bars, loaded" in line
    ]
    assert f" {left} " in row
    (told,) = section_json(mesh_section(groups, "in"))["mesh"]
    assert (told["sag"], told["left"]) == (sag, left)
    assert min(float(each["left_between_strips"]) for each in told["at"]) == float(left)
    (drawn,) = bee_maps(units, "in")
    assert f"the mesh sags {sag} in" in drawn.hive.mesh
    assert f"{left} in of" in drawn.hive.mesh


def test_every_gap_measured_is_solved_by_itself(shop: Any) -> None:
    gaps = '["3/16", "3/8", "7/16"]'
    groups = measured_batch(still(shop.batch(text(shop.design_text.replace('"1/4"', gaps), 3, '"3/16"'))))[2]
    (told,) = section_json(mesh_section(groups, "in"))["mesh"]
    at = {each["gap"]: each for each in told["at"]}
    assert list(at) == ["3/16", "3/8", "7/16"]
    assert [each["strips_below"] for each in at.values()] == ["0", "3/16", "1/4"]
    assert [each["left_at_strips"] for each in at.values()] == ["3/16"] * 3
    sags = [float(each["sag"]) for each in at.values()]
    assert sags[0] < 3 / 16 < sags[1] < 1 / 4 < sags[2]


def test_strips_too_low_to_be_reached_carry_nothing(shop: Any) -> None:
    """A mesh an inch up in its groove hangs 0.65 in as slack wires, and strips of 1/4 lie an inch below it."""
    more = '[board]\nheight = "9 1/4"\nmounting = "saw groove"\ngroove_height = "1"\n'
    design = text(shop.design_text, 3) + more
    state = mesh_state({unit.line.item.name: unit for unit in shop.units(design)})
    assert state is not None
    assert state.fresh.carries == (False, False, False)
    assert state.is_over
    found = {f.code: f for f in measured_batch(still(shop.batch(design)))[1].findings}
    assert "which does not reach them, so they carry nothing" in found["mesh-sags"].value
    assert found["mesh-sags"].remedy == (("make.spacer strips.number", ""), ("make.spacer strips.thickness", ""))
