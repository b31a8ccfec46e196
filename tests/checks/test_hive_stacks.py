"""The hives of a design stand as real things can: nothing claims the place of another, and every thing bears."""

from pathlib import Path
from typing import Any

import pytest

from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.make_units import make_units, place_of, stacks_of
from woodshop.design.orders.lines import read_run
from woodshop.design.settle.settle import settle
from woodshop.hive.gaps.gaps import gathered, measure_gaps
from woodshop.hive.gaps.seating import seats
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.stacking.stack import Stack
from woodshop.shape.part import Role, overlaps
from woodshop.units.lengths import ZERO, inch

HEAD = 'format = "woodshop-design/2"\nbatch = "b"\nunit = "in"\nlumberyard = "lumberyard.toml"\n'
ALL = '[[make]]\nitem = ["fondant rim", "wire bottom", "spacer strips", "quilt box", "vent spacers", "mouse guard", "bottom insert"]\n'  # noqa: E501


def grouped(units: Any) -> list[dict[str, Any]]:
    groups: dict[str, dict[str, Any]] = {}
    for unit in units:
        if unit.line.item.per == "hive":
            groups.setdefault(unit.line.hives.name, {})[unit.line.item.name] = unit
    return list(groups.values())


def stacks(shop: Any, hives: str, board: str = "", make: str = ALL) -> tuple[Stack, ...]:
    (group,) = grouped(shop.units(HEAD + f"[[hives]]\ncount = 2\n{hives}\n{board}\n{make}"))
    return stacks_of(group)


def solid(stack: Stack) -> list[Any]:
    """What takes up room: loose shavings give way, and the guard's holes are no blocks."""
    return [
        placed
        for tier in stack.tiers
        if tier.kind is not TierKind.ENTRANCE
        for placed in tier.placed
        if placed.role is not Role.FILLING or placed.part.material.name != "shavings"
    ]


@pytest.mark.parametrize("mounting", ["stapled under", "flush rabbet", "saw groove"])
@pytest.mark.parametrize(
    "hives",
    [
        'frames = 10\ngap = "1/4"',
        'frames = 10\nwidth = "16"\ngap = "5/16"\nboxes = ["deep", "medium"]',
        'frames = 8\nwidth = "13 3/4"\ngap = "1/4"\nheight = "shallow"\ninner_cover = "3/4"',
        'frames = 8\nwidth = "350 mm"\ngap = "7 mm"\nrim_width = "352 mm"',
        'frames = 5\ngap = "3/16"',
    ],
)
def test_every_box_and_mounting_can_be_put_together(shop: Any, hives: str, mounting: str) -> None:
    (stack,) = stacks(shop, hives, f'[board]\nmounting = "{mounting}"')
    assert overlaps(solid(stack)) == ()
    assert all(seat.leaks == () and seat.lifted == ZERO for seat in seats(stack))
    over = [gap for gap in gathered(measure_gaps(stack)) if gap.name == "mesh over top bars"]
    assert over
    assert all(gap.least == gap.most > ZERO for gap in over)


def test_a_british_national_can_be_put_together_with_its_mesh_raised(shop: Any) -> None:
    board = '[board]\nmounting = "flush rabbet"\nrabbet_height = "3/8"'
    (stack,) = stacks(shop, 'pattern = "British National"\nframes = 11', board)
    assert overlaps(solid(stack)) == ()
    (over,) = {gap.least for gap in gathered(measure_gaps(stack)) if gap.name == "mesh over top bars"}
    assert over == inch("3/8") - inch("0.082")  # the rabbet less two wires of half-inch mesh


def test_a_feeding_shim_takes_the_place_of_the_board(shop: Any) -> None:
    make = '[[make]]\nitem = ["fondant rim", "wire bottom", "spacer strips", "feeding shim", "quilt box"]\n'
    one, two = stacks(shop, 'name = "home"\nframes = 10\ngap = "1/4"', make=make)
    assert one.name == "home, 10-frame 16 1/4, with board and quilt box"
    assert two.name == "home, 10-frame 16 1/4, with feeding shim and quilt box"
    assert not two.of(TierKind.ON_BARS, TierKind.BOARD)
    cake = [gap for gap in measure_gaps(two) if gap.name == "sugar on what carries it"]
    assert cake
    assert {gap.least for gap in cake} == {ZERO}


def test_the_gap_given_hangs_the_frames_of_every_box(shop: Any) -> None:
    (group,) = grouped(shop.units(HEAD + f'[[hives]]\ncount = 2\nframes = 10\ngap = "1/4"\n{ALL}'))
    (stack,) = stacks_of(group, inch("3/8"))
    assert place_of(group["fondant rim"].line.hives) == stack.name == "10-frame 16 1/4"
    seen = {gap.name: gap for gap in gathered(measure_gaps(stack))}
    assert seen["mesh over top bars"].least == inch("3/8")
    assert seen["bottom bar to top bar beneath"].least == inch("1/2")  # 9 5/8 - 9 1/8 whatever the gap


@pytest.mark.parametrize("name", ["hobby-batch", "production-run"])
def test_the_designs_that_come_along_can_be_put_together(name: str, designs: Path) -> None:
    design = read_run(designs / f"{name}.toml")
    for group in grouped(make_units(settle(design, read_lumberyards(design.lumberyards)))):
        for stack in stacks_of(group):
            assert overlaps(solid(stack)) == ()
            assert all(seat.leaks == () for seat in seats(stack))
