"""The bee-space gauge: its steps are the very limits that the checks use."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tests.shape.probe import probe
from woodshop.errors import InputError
from woodshop.hardware.board import Setting
from woodshop.hardware.catalogue import find_item
from woodshop.hardware.gauge_steps import gauge_steps
from woodshop.hive.creatures import worker
from woodshop.hive.gaps.faces import Gap, GapKind
from woodshop.hive.gaps.grading import bee_space, grade_gap
from woodshop.reference.facts import fact
from woodshop.units.lengths import ZERO, Length, inch

Settings = Callable[..., Setting]
Make = Callable[..., Any]
ITEM = find_item("bee-space gauge")


def thicknesses(made: Any, places: list[str]) -> list[Any]:
    """The wood met by a line down through the gauge at each place along it."""
    return [span.end - span.start for place in places for span in probe(made.placed, 2, inch(place), inch("3/4"))]


def test_a_gauge_by_hand(setting: Settings, make: Make) -> None:
    made = make(ITEM, setting())
    (gauge,) = made.placed
    # four steps of 1 in and a handle of 2 in; a 1x2 is 3/4 x 1 1/2
    assert gauge.part.size == (inch(6), inch("1 1/2"), inch("3/4"))
    assert gauge.part.material.name == "board 3/4 in"
    measured = thicknesses(made, ["1/2", "1 1/2", "2 1/2", "3 1/2", "5"])
    assert measured == [inch("3/16"), inch("1/4"), inch("3/8"), inch("1/2"), inch("3/4")]
    # cut off the show face: 3/4 less each step
    assert [cut.depth for cut in gauge.part.cuts] == [inch("9/16"), inch("1/2"), inch("3/8"), inch("1/4")]


@pytest.mark.invariant
def test_steps_are_the_limits_that_the_checks_use() -> None:
    limits = bee_space()
    assert [thick for thick, _ in gauge_steps()] == [limits.tightest, limits.least, limits.most, limits.widest]


@pytest.mark.outside("Roy Hendrickson, The Bee Space, Bee Culture, Summer 2016: 1/4 to 3/8 in")
def test_go_and_no_go_are_the_published_band(setting: Settings, make: Make) -> None:
    assert thicknesses(make(ITEM, setting()), ["1 1/2", "2 1/2"]) == [inch("1/4"), inch("3/8")]


def test_it_is_counted_by_gauges(setting: Settings, make: Make) -> None:
    assert ITEM.per == "gauges"
    assert len(make(ITEM, setting(), gauges=7).placed) == 1


def test_wood_no_thicker_than_the_last_step_is_refused(setting: Settings, make: Make) -> None:
    with pytest.raises(InputError, match="wood thicker than the last step, 1/2 in"):
        make(ITEM, replace(setting(), wood=inch("1/2")))
    assert make(ITEM, replace(setting(), wood=inch("5/8"))).placed[0].part.cuts[3].depth == inch("1/8")


def test_every_step_says_what_it_means(setting: Settings, make: Make) -> None:
    made = make(ITEM, setting())
    for thick, means in gauge_steps():
        assert f"{thick} {means}" in made.steps[-1]
        assert thick > ZERO


@pytest.mark.outside("Beesource forum, queen excluder gap: workers pass plastic excluders of 4.05 mm")
@pytest.mark.parametrize("unit", ["in", "mm"])
def test_what_is_closed_to_bees_is_tried_with_less_than_a_worker_passes(unit: str) -> None:
    assert fact("gauge.closed").length_in(unit) < worker().size < gauge_steps()[0][0]


@pytest.mark.parametrize("name", ["quilt box", "feeding shim", "mouse guard"])
def test_no_item_takes_the_thinnest_step_for_a_gap_that_no_bee_passes(name: str, setting: Settings, make: Make) -> None:
    steps = " ".join(make(find_item(name), setting()).steps)
    assert "1/8 in drill bit must not fit anywhere" in steps or "wherever a 1/8 in drill bit fits" in steps
    assert "3/16 in step must not" not in steps


def a_gap(kind: GapKind, size: Length) -> Gap:
    ends = ("strip", "wall")
    return Gap(name="to the wall", place="box 1", least=size, most=size, between=ends, kind=kind, own=True)


def test_limits_are_worded_in_the_units_of_the_design() -> None:
    shut = a_gap("sealed", inch("1/8"))
    assert grade_gap(shut, bee_space()).limits.words == "under 0.159 in, too narrow for a worker"
    assert grade_gap(shut, bee_space(unit="mm")).limits.words == "under 4 mm, too narrow for a worker"
    assert inch("159/1000") < worker().size < inch("160/1000")
