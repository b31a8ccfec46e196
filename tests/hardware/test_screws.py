"""Screws: long enough to hold in end grain behind the wall, of those for sale, and metric where those are sold."""

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import pytest

from woodshop.hardware.board import Setting
from woodshop.hardware.catalogue import find_item
from woodshop.hardware.items.fondant_rim import corner_screws
from woodshop.hardware.screws import Screw, corner_screw, fits, least_grip, read_screw, stocked
from woodshop.shape.part import Assembly
from woodshop.units.lengths import Length, inch, millimetre

SHORT, MIDDLE, LONG = Screw("#8", inch("1 5/8")), Screw("#8", inch(2)), Screw("#8", inch("2 1/2"))
Settings = Callable[..., Setting]


@pytest.mark.parametrize(
    ("wood", "for_sale", "unit", "size"),
    [
        # through + 1 1/4 in: 2 in, 2 3/4 in, 1 3/4 in; through + 30 mm: 48 mm
        (inch("3/4"), (), "in", "#8 x 2 in"),
        (inch("1 1/2"), (), "in", "#10 x 3 in"),
        (inch("1/2"), (), "in", "#8 x 2 in"),
        (inch("3/8"), (), "in", "#8 x 1 5/8 in"),
        (millimetre(18), (), "mm", "4 x 50 mm"),
        (millimetre(18), (MIDDLE,), "mm", "#8 x 2 in"),
        (inch("3/4"), (SHORT, LONG, MIDDLE), "in", "#8 x 2 in"),
        (inch("3/4"), (SHORT, LONG), "in", "#8 x 2 1/2 in"),
        (inch("3/4"), (SHORT,), "in", "#8 x 2 in"),
        (inch("3/4"), (Screw("4", millimetre(50)),), "in", "4 x 50 mm"),
    ],
)
def test_the_screw_for_a_corner(wood: Length, for_sale: tuple[Screw, ...], unit: str, size: str) -> None:
    assert corner_screw(wood, for_sale, unit).size == size


@pytest.mark.outside("The Spruce Crafts, How to Choose the Correct Size Wood Screws: 1 to 1 1/2 in of thread")
@pytest.mark.parametrize("wood", ["3/8", "1/2", "5/8", "3/4", "1", "1 1/4", "1 1/2"])
def test_thread_in_the_second_piece_is_what_print_asks_for(wood: str) -> None:
    """At least the 1 in that is published for side grain; end grain holds less, so never below 1 1/4 in of it."""
    for unit in ("in", "mm"):
        grip = corner_screw(inch(wood), (), unit).grip(inch(wood))
        assert grip >= inch(1)
        assert grip >= (inch("1 1/4") if unit == "in" else millimetre(30))


@pytest.mark.invariant
def test_a_screw_is_never_so_long_that_it_splits_what_it_holds_in() -> None:
    for unit in ("in", "mm"):
        for screw in stocked(unit):
            through = screw.length - least_grip(screw)
            assert fits(screw, through)
            assert not fits(screw, through + inch("1/64"))
            assert not fits(screw, through - inch("1 1/64"))


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("exterior screws #8 x 1 5/8 in, box of 350", "#8 x 1 5/8 in"),
        ("#10x3 in", "#10 x 3 in"),
        ("Terrassenschrauben 4 x 40 mm, 200 Stk", "4 x 40 mm"),
        ("4.5 x 50 mm", "4.5 x 50 mm"),
        ("box of 75", None),
        ("#8 x 2 in or #8 x 3 in", None),
        ("", None),
    ],
)
def test_sizes_are_read_as_boxes_say_them(text: str, size: str | None) -> None:
    screw = read_screw(text)
    assert (None if screw is None else screw.size) == size


@pytest.mark.parametrize("name", ["fondant rim", "quilt box", "feeding shim"])
def test_sheets_name_the_screw_and_its_pilot_hole(setting: Settings, make: Callable[..., Assembly], name: str) -> None:
    thick = replace(setting(), wood=inch("1 1/2"))
    made = make(find_item(name), thick)
    assert {f.kind for f in made.fasteners if "screw" in f.kind} == {"exterior screw #10 x 3 in"}
    (step,) = [text for text in made.steps if "screws" in text and "corner" in text]
    assert "#10 x 3 in" in step
    assert "7/64 in pilot holes" in step
    assert "countersunk 3/16 in clearance holes" in step


@pytest.mark.invariant
@pytest.mark.parametrize("height", ["1 1/2", "2 1/2", "3 1/2", "5 1/2", "3 17/32"])
def test_the_screws_of_a_corner_lie_on_marks_of_the_tape_and_alike_from_both_edges(
    setting: Settings, height: str
) -> None:
    whole = setting()
    found = corner_screws(whole, inch(height)).heights
    assert [each.down_to(whole.mark) for each in found[: len(found) // 2]] == list(found[: len(found) // 2])
    above = [inch(height) - each for each in reversed(found)]
    assert all(a == b for a, b in list(zip(found, above, strict=True))[: len(found) // 2])
    steps = [b - a for a, b in pairwise(found)]
    assert max(steps) - min(steps) < whole.mark * 2


def test_a_bar_has_its_own_screws(setting: Settings, make: Callable[..., Assembly]) -> None:
    plain, barred = (make(find_item("fondant rim"), setting(bar=bar, height=inch(4))) for bar in (False, True))
    screws = [{f.holds: f.count for f in made.fasteners if "screw" in f.kind} for made in (plain, barred)]
    assert screws[1] == screws[0] | {"bar": 2}
