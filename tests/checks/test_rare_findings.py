"""Findings that no sample design has: what was measured of a hive is changed by hand, and each is found then only."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import pytest

from woodshop.checks.boxes import check_boxes
from woodshop.checks.hives import HiveGroup, MeasuredHive, measure_hives
from woodshop.checks.passages import check_ways
from woodshop.checks.remedies import CheckContext
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
    assert of(check_ways("a hive", hive, Wording()), "lane-shut") == []
    first, *rest = hive.ways.lanes
    for lane in (replace(first, open=False), replace(first, down=False)):
        changed = replace(hive, ways=replace(hive.ways, lanes=(lane, *rest)))
        ((severity, value),) = of(check_ways("a hive", changed, Wording()), "lane-shut")
        assert severity is Severity.WARNING
        assert value.startswith("lane 1 between the strips")


def with_door(hive: MeasuredHive, name: str, **changes: Any) -> MeasuredHive:
    assert hive.ways is not None
    doors = tuple(replace(each, **changes) if each.door.name == name else each for each in hive.ways.doors)
    assert doors != hive.ways.doors
    return replace(hive, ways=replace(hive.ways, doors=doors))


def test_bees_that_get_out_by_a_vent_hole_are_found(hive: MeasuredHive) -> None:
    assert of(check_ways("a hive", hive, Wording()), "bees-get-in") == []
    changed = with_door(hive, "vent hole", passed_by=("worker",), from_frames=True)
    ((severity, value),) = of(check_ways("a hive", changed, Wording()), "bees-get-in")
    assert severity is Severity.ERROR
    assert "vent hole, quilt box" in value
    held = with_door(hive, "vent hole", passed_by=("worker",), from_frames=False)
    assert of(check_ways("a hive", held, Wording()), "bees-get-in") == [], "no bee gets to it from the frames"


def test_mice_that_get_in_by_a_vent_hole_are_found(hive: MeasuredHive) -> None:
    assert of(check_ways("a hive", hive, Wording()), "mice-get-in") == []
    changed = with_door(hive, "vent hole", passed_by=("worker", "mouse"))
    ((severity, value),) = of(check_ways("a hive", changed, Wording()), "mice-get-in")
    assert severity is Severity.WARNING
    assert "vent hole, quilt box" in value


def boxes_of(group: HiveGroup, hive: MeasuredHive) -> list[Finding]:
    ((name, ((gap, _),)),) = group.alternatives
    changed = replace(group, alternatives=((name, ((gap, hive),)),))
    return list(check_boxes(CheckContext((changed,), bee_space(), Wording(), fits_box)))


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
