"""A top feeder as a quilt: only its shavings are counted, by its wells."""

from collections.abc import Callable
from typing import Any

import pytest

from woodshop.errors import InputError
from woodshop.hardware.board import Setting
from woodshop.hardware.catalogue import find_item
from woodshop.shape.part import Role, part_volume
from woodshop.units.lengths import inch

Settings = Callable[..., Setting]
Make = Callable[..., Any]
ITEM = find_item("feeder quilt")
WELLS = {"well_length": inch(8), "well_width": inch(14), "well_depth": inch(3)}


def codes(setting: Setting, made: Any) -> set[str]:
    assert ITEM.check is not None
    return {f.code for f in ITEM.check(setting, made, "here")}


def test_measured_wells_by_hand(setting: Settings, make: Make) -> None:
    s = setting()
    made = make(ITEM, s, **WELLS)
    assert made.with_role(Role.MADE, Role.BOUGHT) == ()
    filled = made.named("shavings")
    assert [p.role for p in filled] == [Role.FILLING] * 2
    # two wells of 8 x 14 x 3 = 336 cu in each, 672 in all; a cubic foot is 1728
    assert sum(p.box.volume.cubic_inches for p in filled) == 672
    assert made.facts[1].value == "0.39 cu ft loose, 0.19 cu ft in a well"
    # 8 + 1 + 8 = 17 in of 19 7/8: the first well begins 1 7/16 in from the front
    assert [p.box.low[0] for p in filled] == [inch("1 7/16"), inch("10 7/16")]
    assert codes(s, made) == {"feeder-floor-is-solid"}


def test_a_well_not_measured_is_a_warning(setting: Settings, make: Make) -> None:
    s = setting()
    for lacking in WELLS:
        made = make(ITEM, s, **{key: value for key, value in WELLS.items() if key != lacking})
        assert "wells-not-measured" in codes(s, made)
        assert "not measured" in made.facts[0].value
    made = make(ITEM, s)
    # inside 18 3/8 x 14 3/4: two wells of (18 3/8 - 1) / 2 = 8 11/16, taken 2 1/2 deep
    assert made.named("shavings")[0].part.size == (inch("8 11/16"), inch("14 3/4"), inch("2 1/2"))


@pytest.mark.parametrize("wells", [1, 2, 3, 4])
def test_shavings_fill_the_wells_and_nothing_else(setting: Settings, make: Make, wells: int) -> None:
    """What the wells take out of the feeder is what is filled; the passages stay free."""
    made = make(ITEM, setting(), wells=wells)
    (feeder,) = made.named("top feeder")
    filled = sum(p.box.volume.cubic_inches for p in made.named("shavings"))
    block = feeder.box.volume.cubic_inches
    # passages of 1 in, 14 3/4 wide and 2 3/4 through the floor
    free = (wells - 1) * inch("14 3/4").inches * inch("2 3/4").inches
    assert filled + free + part_volume(feeder).cubic_inches == block


@pytest.mark.parametrize(
    "wrong", [{"well_length": inch(10)}, {"well_width": inch("16 1/4")}, {"wells": 4, "well_length": inch(5)}]
)
def test_wells_that_do_not_lie_in_the_box_are_refused(setting: Settings, make: Make, wrong: dict[str, Any]) -> None:
    with pytest.raises(InputError, match="Measure the wells of one feeder again"):
        make(ITEM, setting(), **(WELLS | wrong))
