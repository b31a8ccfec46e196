"""The openings of what is made, found in its placed parts, and told."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from woodshop.cli import main
from woodshop.hardware.board import Setting
from woodshop.hardware.catalogue import find_item
from woodshop.hive.creatures import Clear, Opening, openings_of
from woodshop.shape.part import Assembly
from woodshop.units.lengths import inch, millimetre

DESIGN = Path(__file__).resolve().parents[2] / "designs" / "hobby-batch.toml"


def named(made: Assembly) -> dict[str, Opening]:
    return {each.name: each for each in openings_of(made.placed, made.spaces)}


@pytest.mark.invariant
def test_openings_are_found_in_placed_parts(setting: Callable[..., Setting], make: Callable[..., Assembly]) -> None:
    """Entrance, cells, screened vent holes, bee holes, passages in a fine mesh, the slit under a cover."""
    rim = named(make(find_item("fondant rim"), setting()))
    assert set(rim) == {"upper entrance"}
    assert (rim["upper entrance"].clear, rim["upper entrance"].place) == (Clear(inch(1), inch("9/32")), "front end")
    quilt = named(make(find_item("quilt box"), setting(), hole=inch(1)))
    assert set(quilt) == {"vent hole behind 1/8 in mesh", "1/8 in mesh"}
    assert all(each.passes("worker") is False for each in quilt.values())
    floor = named(make(find_item("wire bottom"), setting(mesh="1/8 in", passages="at the openings")))
    assert floor["bee passage"].passes("worker") is True
    assert floor["bee passage"].count == 3  # channel and two corner vents, a quarter inch inside the blocks all around
    assert floor["bee passage"].clear == Clear(inch(3), inch(1))
    assert floor["1/8 in mesh"].passes("worker") is False
    guard = named(make(find_item("mouse guard"), setting(), bore=millimetre(9)))
    assert set(guard) == {"bee hole", "entrance without its guard"}
    assert guard["bee hole"].count > 10
    assert guard["bee hole"].disagree_on() == ("mouse",)
    slit = named(make(find_item("vent spacers"), setting(), thickness=millimetre(4)))["slit under the cover"]
    assert slit.clear == Clear(inch("19 7/8"), millimetre(4))
    assert slit.passes("queen") is False
    assert named(make(find_item("fondant rim"), setting(joint="box joint", height=inch("5 1/4")))).keys() == {
        "upper entrance"
    }


@pytest.mark.invariant
def test_a_screen_that_does_not_cover_its_hole_leaves_the_hole_open(
    setting: Callable[..., Setting], make: Callable[..., Assembly]
) -> None:
    """The screens moved up by their own width: the holes count as holes."""
    made = make(find_item("quilt box"), setting())
    screens = made.named("vent screen")
    up = screens[0].part.width
    moved = [p.moved((inch(0), inch(0), up)) if p in screens else p for p in made.placed]
    assert "vent hole" in {each.name for each in openings_of(moved)}
    assert "vent hole" not in named(made)


@pytest.mark.invariant
def test_the_command_tells_who_passes_and_where_sources_disagree() -> None:
    told = CliRunner().invoke(main, ["openings", str(DESIGN)])
    assert told.exit_code == 0
    assert "1/2 in mesh, 0.459 x 0.459 in clear: mesh of wire bottom" in told.output
    assert told.output.count("SOURCES DISAGREE") == 1
    assert "Michael Bush" not in told.output
    assert "Michael Bush" in CliRunner().invoke(main, ["openings", str(DESIGN), "--explain"]).output
    machine = json.loads(CliRunner().invoke(main, ["openings", str(DESIGN), "--json"]).stdout)["openings"]
    (floor,) = [each for each in machine if each["name"] == "1/2 in mesh" and each["part"] == "mesh"]
    assert floor["disagree"] == ["mouse"]
    assert {said["passes"] for said in floor["said"] if said["who"] == "mouse"} == {True, False}
