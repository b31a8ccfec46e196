"""Rims made to another size than the box under them: a 16 in rim on a 16 1/4 in box, and the other way round."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from woodshop.hardware.board import Mounting, Setting
from woodshop.hardware.catalogue import find_item, items
from woodshop.hive.woodenware.box import stand
from woodshop.reference.facts import fact
from woodshop.shape.part import Assembly, Placed, Role, contact_area, overlaps
from woodshop.units.lengths import ZERO, Length, inch, millimetre
from woodshop.units.wording import LengthUnit, Wording

LONG = inch("19 7/8")
MOUNTINGS: tuple[Mounting, ...] = ("stapled under", "flush rabbet", "saw groove")
PAIRS = (("16", "16 1/4"), ("16 1/4", "16"))  # rim, box
ON_RIM = ("fondant rim", "wire bottom", "quilt box", "feeding shim")
Settings = Callable[..., Setting]


def mixed(setting: Settings, rim: str, box: str, **board: Any) -> Setting:
    return replace(setting(width=box, **board), rim=(LONG, inch(rim)))


def walls(made: Assembly) -> list[Placed]:
    return [p for p in made.placed if p.part.name in ("side", "end", "front end", "back end")]


def spread(placed: list[Placed], axis: int) -> tuple[Length, Length]:
    return min(p.box.low[axis] for p in placed), max(p.box.high[axis] for p in placed)


def at_home(made: Assembly, setting: Setting) -> list[tuple[object, ...]]:
    """Every part, and where it stands from the corner of the rim."""
    back = (ZERO - setting.outside.x0, ZERO - setting.outside.y0, ZERO)
    return [(p.part, p.moved(back).pose, p.role) for p in made.placed]


@pytest.mark.invariant
@pytest.mark.parametrize("mounting", MOUNTINGS)
@pytest.mark.parametrize(("rim", "box"), PAIRS)
@pytest.mark.parametrize("name", ON_RIM)
def test_what_has_walls_comes_out_as_for_a_box_of_the_rim_s_size(
    setting: Settings, make: Callable[..., Assembly], name: str, rim: str, box: str, mounting: Mounting
) -> None:
    """The very parts of a 16 in box's rim, floor, quilt box and feeding shim, shifted by half the difference."""
    mine = mixed(setting, rim, box, mounting=mounting)
    own = setting(width=rim, mounting=mounting)
    made, usual = make(find_item(name), mine), make(find_item(name), own)
    assert at_home(made, mine) == at_home(usual, own)
    if name != "wire bottom":
        half = (inch(rim) - inch(box)) / 2
        assert spread(walls(made), 1) == (ZERO - half, inch(box) + half)
        assert spread(walls(made), 0) == (ZERO, LONG)
        assert not overlaps(made.with_role(Role.MADE, Role.BOUGHT))


@pytest.mark.invariant
@pytest.mark.parametrize("mounting", MOUNTINGS)
@pytest.mark.parametrize(("rim", "box"), PAIRS)
def test_strips_and_what_follows_the_box_stay_at_the_box_s_size(
    setting: Settings, make: Callable[..., Assembly], rim: str, box: str, mounting: Mounting
) -> None:
    mine, own = mixed(setting, rim, box, mounting=mounting), setting(width=box, mounting=mounting)
    for name in ("spacer strips", "mouse guard", "bottom insert", "feeder quilt"):
        made, usual = make(find_item(name), mine), make(find_item(name), own)
        assert [(p.part, p.box.low[1]) for p in made.placed] == [(p.part, p.box.low[1]) for p in usual.placed], name
    strips = make(find_item("spacer strips"), mine).placed
    play = fact("strip.play").length
    assert all(s.part.length == inch(box) - inch("1 1/2") - play * 2 for s in strips)
    bars = stand(mine.box).named("top bar")
    lying = [s.moved((ZERO, ZERO, bars[0].box.high[2])) for s in strips]
    assert all(any(contact_area(bar, s).mm2 for bar in bars) for s in lying)


@pytest.mark.invariant
@pytest.mark.parametrize(("rim", "box", "seat"), [("16", "16 1/4", "5/8"), ("16 1/4", "16", "5/8")])
def test_the_rim_bears_on_the_box_all_along_with_what_the_difference_leaves(
    setting: Settings, make: Callable[..., Assembly], rim: str, box: str, seat: str
) -> None:
    """3/4 in walls an eighth off each other: 5/8 in of side on side. By hand: 3/4 - (16 1/4 - 16) / 2."""
    mine = mixed(setting, rim, box, mounting="flush rabbet", rabbet_width=inch("1/8"), rabbet_height=inch("1/8"))
    made = make(find_item("feeding shim"), mine)
    under = [p.moved((ZERO, ZERO, ZERO - mine.box.height)) for p in stand(mine.box).named("box side")]
    areas = [contact_area(b, s) for b in under for s in made.named("side")]
    assert sum((a.square_inches for a in areas if a.mm2), start=0) == (LONG * inch(seat)).square_inches * 2


@pytest.mark.invariant
@pytest.mark.parametrize(("rim", "box"), PAIRS)
@pytest.mark.parametrize("mounting", MOUNTINGS)
def test_channel_and_vents_lie_in_the_rim_and_no_strip_lies_under_them(
    setting: Settings, make: Callable[..., Assembly], rim: str, box: str, mounting: Mounting
) -> None:
    mine = mixed(setting, rim, box, mounting=mounting)
    rims = make(find_item("fondant rim"), mine)
    front = rims.named("front end")[0]
    (notch,) = [h for cut, h in zip(front.part.cuts, front.hollows, strict=True) if cut.name == "upper entrance"]
    channel, left, right = mine.voids
    assert (notch.low[1] + notch.high[1]) / 2 == mine.box.width / 2 == (channel.y0 + channel.y1) / 2
    side = rims.named("side")
    assert left.y0 == min(p.box.high[1] for p in side)
    assert right.y1 == max(p.box.low[1] for p in side)
    strips = make(find_item("spacer strips"), mine).placed
    for void in mine.voids:
        assert not any(s.box.meet(void.over(s.box.low[2], s.box.high[2])) for s in strips)


@pytest.mark.invariant
def test_titles_say_the_size_made_and_what_it_fits(setting: Settings, make: Callable[..., Assembly]) -> None:
    mine = mixed(setting, "16", "16 1/4")
    for item in items():
        if item.per != "hive" or item.name not in (*ON_RIM, "spacer strips", "mouse guard"):
            continue
        title = make(item, mine).title
        assert title.endswith("10-frame 16 1/4, made 19 7/8 x 16" if item.on_rim else "10-frame 16 1/4")
    steps = " ".join(make(find_item("fondant rim"), mine).steps)
    assert "centered, flush at each end and 1/8 in inside the box's edge at each side" in steps
    over = " ".join(make(find_item("feeding shim"), mixed(setting, "16 1/4", "16")).steps)
    assert "flush at each end and 1/8 in over the box's edge at each side" in over
    assert "flush with the box all around" in " ".join(make(find_item("feeding shim"), setting()).steps)


@pytest.mark.invariant
def test_the_diagonal_is_that_of_the_rim(setting: Settings, make: Callable[..., Assembly]) -> None:
    """A 3-4-5 rim on a 16 x 19 7/8 box: 15 by 20 has a diagonal of 25."""
    mine = replace(setting(width="16"), rim=(inch(20), inch(15)))
    facts = {each.name: each.value for each in make(find_item("fondant rim"), mine).facts}
    assert facts["both diagonals"] == "25 in"


@pytest.mark.invariant
@pytest.mark.parametrize(
    ("mark", "unit", "words"),
    [
        # sqrt(19.875^2 + 16.25^2) = 25.6723 in = 652.08 mm
        (inch("1/16"), "in", "25 11/16 in"),
        (inch("1/8"), "in", "25 5/8 in"),
        (inch("1/32"), "in", "25 11/16 in"),
        (inch("1/64"), "in", "25 43/64 in"),
        (millimetre(1), "mm", "652 mm"),
        (millimetre("0.5"), "mm", "652 mm"),
    ],
)
@pytest.mark.parametrize("name", ["fondant rim", "quilt box", "feeding shim"])
def test_diagonals_are_given_in_the_smallest_marks_of_the_tape(
    setting: Settings, make: Callable[..., Assembly], name: str, mark: Length, unit: LengthUnit, words: str
) -> None:
    made = make(find_item(name), replace(setting(), wording=Wording(unit, mark)))
    assert {fact.value for fact in made.facts if fact.name == "both diagonals"} == {words}
    assert words in [each.value for each in made.facts if each.name == "both diagonals"]


@pytest.mark.invariant
@pytest.mark.parametrize(("rim", "box"), PAIRS)
def test_the_cover_s_spacers_bear_on_the_rim_and_the_slit_runs_round_it(
    setting: Settings, make: Callable[..., Assembly], rim: str, box: str
) -> None:
    """The cover is the user's, a quarter inch wider than the box each side; under it stands what is made to the rim."""
    mine = mixed(setting, rim, box)
    made = make(find_item("vent spacers"), mine)
    assert spread(list(made.named("box side")), 1) == (mine.outside.y0, mine.outside.y1)
    inside = [p.box for p in made.named("skirt side")]
    assert min(b.high[1] for b in inside) == inch("-1/4")
    assert not overlaps(made.placed)
    square = made.named("vent spacer")[0].part
    out = inch("1/4")  # spacers lie in the corners of the cover
    beside = out + (inch(box) - inch(rim)) / 2
    round_it = (LONG + inch(rim)) * 2 - (square.length - out) * 4 - (square.length - beside) * 4
    area = next(f.value for f in made.facts if f.name == "slit all around, open")
    assert area == f"{float((round_it * square.thickness).square_inches):.2f} sq in"


@pytest.mark.invariant
def test_a_cover_that_does_not_go_over_the_rim_is_found(setting: Settings, make: Callable[..., Assembly]) -> None:
    """A cover an eighth wider than a 16 in box each side, over a rim 16 1/2 wide: skirt and rim claim one place."""
    mine = replace(setting(width="16"), rim=(LONG, inch("16 1/2")))
    made = make(find_item("vent spacers"), mine, clearance=inch("1/8"))
    assert {(a.part.name, b.part.name) for a, b, _ in overlaps(made.placed)} == {("skirt side", "box side")}
