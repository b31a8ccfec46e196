"""Chains of every way to make a hive: joints, mountings, items, covers and patterns."""

import random
from fractions import Fraction
from pathlib import Path

import pytest

from tests.checks.few_hives import batch_of, one_of
from woodshop.checks.variation import chains_for, populations, reach_of
from woodshop.design.make_units import make_units
from woodshop.hive.gaps.gaps import measure_gaps
from woodshop.hive.variation.sizes import dimensions_of, remade

JOINTS = ("butt, ends inside", "butt, sides inside", "rabbet in the ends", "rabbet in the sides", "box joint")
BOARDS = {
    **{joint: f'joint = "{joint}"' for joint in JOINTS},
    "rabbet": 'mounting = "flush rabbet"\nbar = true',
    "rabbet in rabbets": 'mounting = "flush rabbet"\nrabbet_height = "3/8"\njoint = "rabbet in the ends"',
    "groove": 'mounting = "saw groove"\njoint = "box joint"',
    "a box on hand": 'made_of = "box on hand"',
    "plywood": 'made_of = "plywood"\nmounting = "flush rabbet"',
    "ripped": "ripped = true",
}
MIXED = """pattern = "Dadant-Blatt"
width = "240 mm"
gap = "8 mm"
[[hives.body]]
height = "brood"
frames = 4
followers = 2
follower = "12 mm"
[[hives.body]]
height = "super"
frames = 3
spacing = "42 mm"
gap = "7 mm"
"""
OTHERS = {
    "quilt and spacers": ("", 'gap = "1/4"', '[[make]]\nitem = ["quilt box", "vent spacers", "mouse guard"]'),
    "mesh under the quilt": ("", 'gap = "1/4"', '[[make]]\nitem = "quilt box"\nfloor = "mesh"'),
    "feeder and closure": ("", 'gap = "5/16"', '[[make]]\nitem = ["feeder quilt", "bottom insert", "vent spacers"]'),
    "feeding shim": ("", 'gap = "1/4"', '[[make]]\nitem = "feeding shim"'),
    "flat cover over an inner one": ("", 'gap = "1/4"\ncover = "flat"\ninner_cover = "3/4"', ""),
    "mixed boxes of another pattern": ("", MIXED, ""),
    "another size than the box": ("", 'gap = "1/4"\nrim_width = "9 1/8"\nrim_length = "19 3/4"', ""),
}
WAYS = [(board, 'gap = "1/4"', "") for board in BOARDS.values()] + list(OTHERS.values())


@pytest.mark.invariant
@pytest.mark.parametrize(("board", "hives", "makes"), WAYS, ids=[*BOARDS, *OTHERS])
def test_chains_of_every_way_to_make_a_hive(designs: Path, board: str, hives: str, makes: str) -> None:
    """Each gap at random points of the sizes' reach: by its chain and measured, exactly the same."""
    batch = batch_of(designs, board=board, hives=hives, makes=makes)
    units = {unit.line.item.name: unit for unit in make_units(batch)}
    tolerances, some = batch.conditions.tolerances, random.Random(5)
    assert tolerances is not None
    for _, of in populations(units):
        sizes = dimensions_of(of.build)
        reach = reach_of(sizes, of, tolerances)
        chains = {key: chain for chain in chains_for(of, tolerances) for key in chain.keys}
        for _ in range(4):
            by = {size.name: reach[size.name] * Fraction(some.randint(-100, 100), 100) for size in sizes}
            found = {(g.name, g.place, g.between): g.least for g in measure_gaps(remade(of.build, by).stack)}
            assert found.keys() == chains.keys()
            assert {key: chains[key].at(by) for key in found} == found


MISSED = "bars that stand proud carry the rim: a third contact, hidden at the point where strips meet the mesh"


@pytest.mark.invariant
@pytest.mark.parametrize("unit", [pytest.param("in", marks=pytest.mark.xfail(reason=MISSED, strict=True)), "mm"])
def test_chains_of_a_british_national(designs: Path, unit: str) -> None:
    """Inner end walls, bars level with the box, the bee space below: in either unit."""
    hives = 'pattern = "British National"\ngap = "0"\nname = "nationals"'
    board = 'mounting = "saw groove"\ngroove_height = "3/8 in"'
    batch = batch_of(designs, hives=hives, board=board, unit=unit, frames=11)
    of, tolerances = one_of(batch)
    some = random.Random(6)
    reach = reach_of(dimensions_of(of.build), of, tolerances)
    chains = {key: chain for chain in chains_for(of, tolerances) for key in chain.keys}
    for _ in range(3):
        by = {name: most * Fraction(some.randint(-100, 100), 100) for name, most in reach.items()}
        found = {(g.name, g.place, g.between): g.least for g in measure_gaps(remade(of.build, by).stack)}
        assert {key: chains[key].at(by) for key in found} == found
