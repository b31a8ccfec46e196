"""Findings that no sample design has: what was measured of a hive is changed by hand, and each is found then only."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import pytest

from tests.shop_folder import DESIGN
from woodshop.checks.boxes import check_boxes
from woodshop.checks.hives import HiveGroup, MeasuredHive, measure_hives
from woodshop.checks.passages import check_ways
from woodshop.checks.remedies import CheckContext
from woodshop.checks.stack import check_group
from woodshop.design.settle.settle import fits_box
from woodshop.findings import Finding, Severity
from woodshop.hive.gaps.grading import bee_space
from woodshop.units.lengths import inch
from woodshop.units.wording import Wording


@pytest.fixture(scope="module")
def group(shop: Any) -> HiveGroup:
    (found,) = measure_hives(shop.units(shop.design_text + '[[make]]\nitem = "quilt box"\n'))
    return found


@pytest.fixture(scope="module")
def hive(group: HiveGroup) -> MeasuredHive:
    """The hive at its only gap."""
    ((_, measured),) = group.alternatives
    return measured[0][1]


def of(findings: Iterable[Finding], code: str) -> list[tuple[Severity, str]]:
    return [(each.severity, each.value) for each in findings if each.code == code]


def test_a_lane_that_is_not_open_is_found(hive: MeasuredHive) -> None:
    assert hive.ways is not None
    assert of(check_ways("a hive", hive, Wording()), "lane-sealed") == []
    first, *rest = hive.ways.lanes
    for lane in (replace(first, open=False), replace(first, down=False)):
        changed = replace(hive, ways=replace(hive.ways, lanes=(lane, *rest)))
        ((severity, value),) = of(check_ways("a hive", changed, Wording()), "lane-sealed")
        assert severity is Severity.WARNING
        assert value.startswith("lane 1 between the strips")


def with_door(hive: MeasuredHive, name: str, **changes: Any) -> MeasuredHive:
    assert hive.ways is not None
    doors = tuple(replace(each, **changes) if each.door.name == name else each for each in hive.ways.doors)
    assert doors != hive.ways.doors
    return replace(hive, ways=replace(hive.ways, doors=doors))


def test_bees_that_pass_a_vent_hole_are_found_from_within_and_from_without(hive: MeasuredHive) -> None:
    assert of(check_ways("a hive", hive, Wording()), "bees-get-in") == []
    for from_frames in (True, False):
        changed = with_door(hive, "vent hole", passed_by=("worker",), from_frames=from_frames)
        ((severity, value),) = of(check_ways("a hive", changed, Wording()), "bees-get-in")
        assert severity is Severity.ERROR
        assert "vent hole, quilt box" in value


COARSE = {
    "in": (DESIGN, '"1/4 in"', '"1/2 in"', 'screen = "1/8 in"'),
    "mm": (DESIGN.replace('unit = "in"', 'unit = "mm"').replace('"1/4"', '"6.4"'), '"6.4 mm"', '"12.7 mm"',
           'screen = "3.2 mm"'),
}  # fmt: skip


@pytest.mark.parametrize("unit", COARSE)
def test_mesh_of_a_quilt_box_that_bees_pass_is_an_error_with_its_cure(shop: Any, unit: str) -> None:
    design, quarter, half, cure = COARSE[unit]
    quilt = design + '[[make]]\nitem = "quilt box"\nscreen = {}\nfloor = "{}"\n'
    for screen in (quarter, half):
        found = shop.findings(quilt.format(screen, "cloth"))["bees-get-in"]
        assert found.severity is Severity.ERROR
        assert found.value.count("vent hole, quilt box") == 4
        assert "over the quilt floor" not in found.value, "cloth keeps the bees of the hive out of the shavings"
        assert cure in found.change
    into = shop.findings(quilt.format(quarter, "mesh") + 'holes = "none"\n')["bees-get-in"]
    assert into.value == "bees can get to: over the quilt floor"
    assert cure in into.change
    assert "bees-get-in" not in shop.findings(quilt.format(cure.partition(" = ")[2], "mesh"))


def test_mice_that_get_in_by_a_vent_hole_are_found(hive: MeasuredHive) -> None:
    assert of(check_ways("a hive", hive, Wording()), "mice-get-in") == []
    changed = with_door(hive, "vent hole", passed_by=("worker", "mouse"))
    ((severity, value),) = of(check_ways("a hive", changed, Wording()), "mice-get-in")
    assert severity is Severity.WARNING
    assert "vent hole, quilt box" in value


def with_hive(group: HiveGroup, hive: MeasuredHive) -> tuple[HiveGroup, CheckContext]:
    ((name, ((gap, _),)),) = group.alternatives
    changed = replace(group, alternatives=((name, ((gap, hive),)),))
    return changed, CheckContext((changed,), bee_space(), Wording(), fits_box)


def boxes_of(group: HiveGroup, hive: MeasuredHive) -> list[Finding]:
    return list(check_boxes(with_hive(group, hive)[1]))


def test_a_part_that_gaps_are_measured_past_is_an_error(group: HiveGroup, hive: MeasuredHive) -> None:
    assert of(check_group(*with_hive(group, hive)), "ceiling-not-declared") == []
    changed = replace(hive, looked_through=(("quilt box", ("lid", "slat")),))
    ((severity, value),) = of(check_group(*with_hive(group, changed)), "ceiling-not-declared")
    assert severity is Severity.ERROR
    assert value.startswith("quilt box: its lid, slat over the frames closes the hive")


# 1/2 in is slightly wide, 3/4 in too wide
@pytest.mark.parametrize(("size", "wide"), [("1/2", Severity.WARNING), ("3/4", Severity.ERROR), ("1/8", None)])
def test_a_gap_that_what_is_made_widens_is_its_fault_and_one_too_tight_is_not(
    group: HiveGroup, hive: MeasuredHive, size: str, wide: Severity | None
) -> None:
    """Both faces are the user's. With nothing of ours between, either is a note."""
    between = ("top bar 1, box 2", "cover top, cover")
    theirs = replace(
        hive.gaps[0], name="top bars to cover", place="box 2", least=inch(size), most=inch(size), between=between,
        kind="bees' way", own=False,
    )  # fmt: skip
    lifted = replace(theirs, own=True, lifted_by="riser")
    for gap, graded, noted in ((theirs, None, True), (lifted, wide, wide is None)):
        changed = replace(hive, gaps=(*hive.gaps, gap))
        found = check_group(*with_hive(group, changed))
        assert of(found, "too-tight") == []
        assert [severity for severity, _ in of(found, "too-wide")] == ([graded] if graded else [])
        assert [severity for severity, _ in of(boxes_of(group, changed), "ways-in-the-box")] == [Severity.NOTE] * noted


def test_a_way_between_frames_outside_the_limits_is_a_note(group: HiveGroup, hive: MeasuredHive) -> None:
    assert of(boxes_of(group, hive), "ways-in-the-box") == []
    for size in ("3/16", "1/2"):
        gaps = tuple(
            replace(gap, least=inch(size), most=inch(size)) if gap.name == "between top bars" else gap
            for gap in hive.gaps
        )
        assert gaps != hive.gaps
        ((severity, value),) = of(boxes_of(group, replace(hive, gaps=gaps)), "ways-in-the-box")
        assert severity is Severity.NOTE
        assert value.startswith(f"{size} in between frames")


def test_boxes_past_each_others_edges_are_a_note(group: HiveGroup, hive: MeasuredHive) -> None:
    assert of(boxes_of(group, hive), "boxes-do-not-match") == []
    seats = tuple(
        seat if seat.own else replace(seat, overhangs=tuple((side, inch("1/2")) for side, _ in seat.overhangs))
        for seat in hive.seats
    )
    assert seats != hive.seats
    ((severity, value),) = of(boxes_of(group, replace(hive, seats=seats)), "boxes-do-not-match")
    assert severity is Severity.NOTE
    assert "1/2 in out of line" in value
