"""Closures of a screened bottom: sizes and play by hand."""

from collections.abc import Callable
from typing import Any

import pytest

from woodshop.findings import Severity
from woodshop.hardware.board import Setting
from woodshop.hardware.catalogue import find_item
from woodshop.shape.part import Role, overlaps
from woodshop.units.lengths import ZERO, inch, millimetre

Settings = Callable[..., Setting]
Make = Callable[..., Any]
ITEM = find_item("bottom insert")


def codes(setting: Setting, made: Any) -> dict[str, Severity]:
    assert ITEM.check is not None
    return {f.code: f.severity for f in ITEM.check(setting, made, "here")}


@pytest.mark.parametrize(
    ("frames", "width", "across"),
    [
        (10, "16 1/4", "14 1/2"),  # 16 1/4 - 2 x 3/4 = 14 3/4, less 2 x 1/8
        (10, "16", "14 1/4"),
        (8, "13 7/8", "12 1/8"),  # 12 3/8 - 1/4
    ],
)
def test_the_insert_is_the_inside_less_the_play(
    setting: Settings, make: Make, frames: int, width: str, across: str
) -> None:
    s = setting(frames, width)
    made = make(ITEM, s)
    (insert,) = made.named("insert")
    # 19 7/8 - 2 x 3/4 = 18 3/8, less 2 x 1/8 = 18 1/8, along the flutes
    assert insert.part.size == (inch("18 1/8"), inch(across), millimetre(4))
    assert insert.part.material.name == "fluted 4 mm"
    assert insert.part.notes == ("flutes run along the length",)
    assert (insert.pose.along, insert.pose.across) == ("+x", "+y"), "flutes run front to back"
    assert codes(s, made) == {"closing-is-disputed": Severity.NOTE}


@pytest.mark.outside("Sustainable Beekeepers Guild of Michigan, FAQ: open bottom in winter")
def test_that_others_leave_it_open_is_said_with_its_source(setting: Settings, make: Make) -> None:
    s = setting()
    assert ITEM.check is not None
    (found,) = ITEM.check(s, make(ITEM, s), "here")
    assert "left open in winter" in found.limits
    assert found.source == "Sustainable Beekeepers Guild of Michigan, FAQ"


@pytest.mark.outside("Wikipedia, Corrugated plastic: 3, 4 and 5 mm are usual")
def test_it_comes_in_the_usual_thicknesses(setting: Settings, make: Make) -> None:
    assert make(ITEM, setting()).named("insert")[0].part.thickness in [millimetre(n) for n in (3, 4, 5)]


def test_play_is_measured_against_the_frame_of_the_bottom(setting: Settings, make: Make) -> None:
    s = setting()
    assert "insert-binds" not in codes(s, make(ITEM, s, play=inch("1/16")))
    # 14 3/4 - 2 x 1/32 = 14 11/16 is on the marks: 1/32 each side
    assert codes(s, make(ITEM, s, play=inch("1/32")))["insert-binds"] is Severity.WARNING
    # an odd opening: 14 13/16 less 1/4 = 14 9/16, exactly 1/8 at each side
    made = make(ITEM, s, opening_width=inch("14 13/16"))
    assert made.named("insert")[0].part.width == inch("14 9/16")
    # off the marks it is cut smaller, never larger: 14.8 - 0.25 = 14.55, down to 14 1/2
    assert make(ITEM, s, opening_width=inch("14.8")).named("insert")[0].part.width == inch("14 1/2")


@pytest.mark.invariant
@pytest.mark.parametrize("play", ["0", "1/16", "1/8", "1/2"])
@pytest.mark.parametrize("long", ["16", "18 3/8", "20.3"])
def test_the_insert_lies_within_the_frame_in_its_middle(setting: Settings, make: Make, play: str, long: str) -> None:
    made = make(ITEM, setting(), play=inch(play), opening_length=inch(long))
    assert overlaps(made.with_role(Role.MADE, Role.EXISTING)) == ()
    (insert,) = made.named("insert")
    ends = sorted(made.named("bottom end"), key=lambda p: p.box.low[0])
    front, back = insert.box.low[0] - ends[0].box.high[0], ends[1].box.low[0] - insert.box.high[0]
    assert front == back >= inch(play) >= ZERO
