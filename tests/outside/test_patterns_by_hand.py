"""Every gap of the boxes and frames of each published pattern, against arithmetic by hand with the sizes as printed.

All in mm. Drawn comb is 1 in, 25.4 mm (common practice), and the entrance under a box 20 mm
(common practice, no source).
"""

from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from woodshop.design.design_file import read_design_text
from woodshop.design.make_units import make_units, stacks_of
from woodshop.design.settle.settle import settle
from woodshop.documents.answers.listings import every_board
from woodshop.hive.gaps.gaps import gathered, measure_gaps
from woodshop.hive.stacking.stack import Stack
from woodshop.reference.patterns import find_pattern, patterns

GIORDANO = (
    "Apicoltura Giordano, Come costruire un'arnia: inside 450 x 385 x 338, walls 25, rest 18 x 15, 30 to the floor, "
    "front wall 318, super 168; Museo dell'apicoltura: 450 x 385 x 338"
)
BERTRAND = "Bertrand, La conduite du rucher, pp. 237-251: 450 x 450, frames 435, 37 apart; super 167, frames 160"
STICKS = "a Russian beekeeping journal: sticks of 10 x 25, lugs 17.5 beyond the frame; tip 181: frames 25 x 435 x 300"
NATIONAL = "British Standard 1300 by Wikibooks: 18 1/8 square, 14 5/8 x 16 5/8 inside, 8 7/8 and 5 7/8 high, frame 14"
METRIC = (
    "AGA: inside length 465; Corona Apicultura: boards of 415 x 20, 242 high, groove 16 x 10; Polish Wikibooks: "
    "448 x 232; Honigimker: top bar 482; Schwaebisch Hall: 35 apart; ears of 10, Alpentrogbeute"
)
INCH = Fraction(254, 10)


def of_both(gaps: dict[str, Any]) -> dict[str, Any]:
    """The gaps of both boxes, at both ends or sides, where they are the same."""
    ends = {"end bar to end wall", "lug end to wall in the frame rest", "lug on rest", "between end bars",
            "end bars, shoulder to shoulder"}  # fmt: skip
    found = {}
    for name, size in gaps.items():
        sides = ("left", "right") if name.startswith("outer") else ("front", "back") if name in ends else ("",)
        for box in ("box 1", "box 2"):
            found |= {f"{name}; {box}{side and f', {side}'}": Fraction(size) for side in sides}
    return found


SIZES: dict[str, tuple[str, int, dict[str, Any], dict[str, Any]]] = {
    "Dadant-Blatt": (
        f"{GIORDANO}; {BERTRAND}; {STICKS}",
        10,
        {
            "between top bars": 37 - 25,
            "between combs": 37 - INCH,
            "between end bars": 37 - 25,
            # ten frames: nine spacings and one bar, (385 - 9 x 37 - 25) / 2 = 27 / 2
            "outer end bar to side wall": "13.5",
            "outer top bar to side wall": "13.5",
            "outer comb to side wall": (385 - 9 * 37 - INCH) / 2,
            "end bar to end wall": "7.5",  # (450 - 435) / 2
            "lug end to wall in the frame rest": 5,  # (450 + 2 x 15 - 470) / 2
            "lug on rest": 0,
        },
        {
            # 338 - 300 - 30 over the frames; then 318 - 8 - 300 = 10 of the walls, and the entrance
            "bottom bar to floor; box 1": 10 + 20,
            # the super's frames: 168 - 8 - 160 = 0, level with its edge; and 8 over the frames beneath
            "bottom bar to top bar beneath; box 1 to box 2": 8,
            "top bars to quilt floor; box 2": 8,
        },
    ),
    "Dadant-Blatt square": (
        f"{BERTRAND}; {STICKS}; Bortnik: outside 524, rest 11 x 20; A few words on bees: 320 high",
        12,
        {
            "between top bars": 12,  # Bertrand, p. 251: 12 mm between frames
            "between combs": 37 - INCH,
            "between end bars": 12,
            # (450 - 11 x 37 - 25) / 2; and 9 + 25 + 12 / 2 = 40, where Bertrand, p. 251, sets the first mark
            "outer end bar to side wall": 9,
            "outer top bar to side wall": 9,
            "outer comb to side wall": (450 - 11 * 37 - INCH) / 2,
            "end bar to end wall": "7.5",
            "lug end to wall in the frame rest": 1,  # (450 + 2 x 11 - 470) / 2
            "lug on rest": 0,
        },
        {
            # the super's frames are level with its edge: 167 - 160 = 7; 320 - 7 - 300 = 13, and the entrance
            "bottom bar to floor; box 1": 13 + 20,
            "bottom bar to top bar beneath; box 1 to box 2": 7,
            "top bars to quilt floor; box 2": 7,
        },
    ),
    "Langstroth metric": (
        METRIC,
        10,
        {
            "between top bars": 35 - 25,
            "between combs": 35 - INCH,
            "end bars, shoulder to shoulder": 0,
            "between end bars": 35 - 25,
            "outer end bar to side wall": "12.5",  # (375 - 10 x 35) / 2
            "outer top bar to side wall": "17.5",  # (375 - 9 x 35 - 25) / 2
            "outer comb to side wall": (375 - 9 * 35 - INCH) / 2,
            "end bar to end wall": "8.5",  # (465 - 448) / 2; AGA has 8 to be left
            "lug end to wall in the frame rest": "1.5",  # (465 + 2 x 10 - 482) / 2
            "lug on rest": 0,
        },
        {
            # 16 - 10 over the frames; 242 - 6 - 232 = 4, and the entrance
            "bottom bar to floor; box 1": 4 + 20,
            "bottom bar to top bar beneath; box 1 to box 2": 242 - 232,
            "top bars to quilt floor; box 2": 6,
        },
    ),
    "British National": (
        f"{NATIONAL}; top bar 7/8 and play 1/16 from memory; Blackiston: side bars 1 3/8",
        11,
        {
            "between top bars": INCH / 2,  # 1 3/8 - 7/8
            "between combs": INCH * 3 / 8,  # 1 3/8 - 1
            "end bars, shoulder to shoulder": 0,
            "between end bars": INCH / 4,  # 1 3/8 - 1 1/8
            "outer end bar to side wall": INCH * 3 / 4,  # (16 5/8 - 11 x 1 3/8) / 2 = (133/8 - 121/8) / 2
            "outer top bar to side wall": INCH,  # (133/8 - 110/8 - 7/8) / 2
            "outer comb to side wall": INCH * 15 / 16,  # (133/8 - 110/8 - 8/8) / 2
            "end bar to end wall": INCH * 5 / 16,  # (14 5/8 - 14) / 2
            "lug end to wall in the frame rest": INCH / 16,
            "lug on rest": 0,
        },
        {
            # 8 7/8 - 8 1/2 = 3/8, and the entrance 3/4
            "bottom bar to floor; box 1": INCH * 3 / 8 + 20,
            # its bee space is below: 5 7/8 - 5 1/2
            "bottom bar to top bar beneath; box 1 to box 2": INCH * 3 / 8,
            "top bars to quilt floor; box 2": 0,
        },
    ),
}


def hive(hives: str, make: str = '[[make]]\nitem = "quilt box"\n') -> Stack:
    """The hive with these lines under [[hives]], under a quilt box or under what is made."""
    text = (
        'format = "woodshop-design/2"\nbatch = "b"\nunit = "mm"\nlumberyard = "none"\n[[hives]]\ncount = 1\n'
        f"{hives}{make}"
    )
    units = make_units(settle(read_design_text(text, Path("b.toml")), every_board()))
    (stack,) = stacks_of({unit.line.item.name: unit for unit in units})
    return stack


def made(name: str) -> Stack:
    """Two boxes of the pattern, with a super above the brood box if it has one; no size is given."""
    boxes = '["brood", "super"]' if "super" in find_pattern(name).bodies else '["deep", "deep"]'
    return hive(f'pattern = "{name}"\nframes = {SIZES[name][1]}\nboxes = {boxes}\n')


def measured(stack: Stack) -> dict[str, Fraction]:
    found = {}
    for gap in gathered(measure_gaps(stack)):
        if gap.place.startswith("box") and " on " not in gap.place:
            assert gap.least == gap.most, gap
            found[f"{gap.name}; {gap.place}"] = gap.least.mm
    return found


@pytest.mark.parametrize("name", [pytest.param(n, marks=pytest.mark.outside(each[0])) for n, each in SIZES.items()])
def test_every_gap_of_a_pattern_is_what_arithmetic_has(name: str) -> None:
    _, _, alike, once = SIZES[name]
    assert measured(made(name)) == of_both(alike) | {place: Fraction(size) for place, size in once.items()}


def test_every_pattern_with_all_its_sizes_is_worked_by_hand() -> None:
    """The American one is in test_gaps_by_hand.py."""
    assert {each.name for each in patterns() if not each.missing} == {*SIZES, "Langstroth"}


WIRES = 2 * Fraction("0.041") * INCH  # two that cross; 19 ga, from memory
BOARD = {  # over the bars; box inside, front to back; strip to side wall; skirt to wall; rim over the box
    # the mesh is stapled under the rim, which then sits on it: so high over the bars as the gap, 8
    "Dadant-Blatt": (8, 450, 3, INCH / 4, WIRES),
    "Dadant-Blatt square": (7, 450, 3, INCH / 4, WIRES),
    "Langstroth metric": (6, 465, 3, INCH / 4, WIRES),
    # raised 10 in a rabbet, less its wires; 18 1/8 in is 460.375, the rim 460; inside 14 5/8 x 16 5/8 in, strips 416
    "British National": (
        10 - WIRES, Fraction(117, 8) * INCH, (Fraction(133, 8) * INCH - 416) / 2, INCH / 4 + Fraction("0.375") / 2, 0
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", [pytest.param(n, marks=pytest.mark.outside(SIZES[n][0])) for n in BOARD])
def test_every_gap_of_our_hardware_on_a_pattern_is_what_arithmetic_has(name: str) -> None:
    """In millimetres: wood of 3/4 in counts as 19, strips are as wide, 3 from each wall (common practice).

    The cover's skirt is 2 1/4 in deep, 1/4 in from each wall; the slit under it 3 mm; the quilt's cloth 1/32 in.
    """
    over, inside, beside, skirt, lifted = BOARD[name]
    raised = '[board]\nmounting = "flush rabbet"\nrabbet_height = "10"\n' if name == "British National" else ""
    boxes = '["brood", "super"]' if "super" in find_pattern(name).bodies else '["deep", "deep"]'
    stack = hive(
        f'pattern = "{name}"\nframes = {SIZES[name][1]}\nboxes = {boxes}\n{raised}',
        '[[make]]\nitem = ["board", "quilt box", "vent spacers"]\n',
    )
    found: dict[str, set[Fraction]] = {}
    for gap in measure_gaps(stack):
        of = gap.name if gap.name != "wall on wall" else gap.place.partition(",")[0]
        found.setdefault(of, set()).update((gap.least.mm, gap.most.mm))
    assert found["mesh over top bars"] == {over}
    assert found["strip end to side wall"] == {beside}
    assert found["cover skirt to wall"] == {skirt}
    assert found["skirt overlap"] == {Fraction(9, 4) * INCH - 3}
    assert found["vent slit"] == {3}
    assert found["board on box 2"] == {lifted}
    assert found["quilt box on board"] == {INCH / 32}
    strips = {gap.least.mm for gap in measure_gaps(stack) if gap.name == "strip top over top bars"}
    assert {to + each for each in strips for to in found["strip to mesh"]} == {over}
    lanes = [gap.least.mm for gap in measure_gaps(stack) if gap.name == "lane between strips"]
    assert sum(lanes) + 19 * (len(lanes) - 1) == inside


MIXED = {
    "eight frames between follower boards under nine frames spaced apart": (
        'pattern = "Dadant-Blatt"\nframes = 10\ngap = "8 mm"\n'
        '[[hives.body]]\nheight = "brood"\nframes = 8\nfollowers = 2\nfollower = "12 mm"\n'
        '[[hives.body]]\nheight = "super"\nframes = 9\nspacing = "42 mm"\n',
        {
            # a follower board hangs half a spacing from the middle of the outer frame: 37 / 2 - 25 / 2
            "outer end bar to follower board; box 1, left": 6,
            "outer comb to follower board; box 1, right": (37 - INCH) / 2,
            "follower board to side wall; box 1, left": "32.5",  # (385 - 8 x 37 - 2 x 12) / 2
            "follower board to end wall; box 1, back": "7.5",  # (450 - 435) / 2
            "between end bars; box 1, front": 12,
            "between end bars; box 2, front": 42 - 25,
            "between combs; box 2": 42 - INCH,
            "outer end bar to side wall; box 2, right": 12,  # (385 - 8 x 42 - 25) / 2
            "bottom bar to top bar beneath; box 1 to box 2": 8,
        },
    ),
    "an American deep over a British brood box": (
        'frames = 10\ngap = "1/4 in"\n'
        '[[hives.body]]\npattern = "British National"\nheight = "brood"\nframes = 11\n'
        '[[hives.body]]\nheight = "deep"\nframes = 9\nfollowers = 1\nfollower = "3/4 in"\n',
        {
            # bars level with the lower box; 9 5/8 - 1/4 - 9 1/8 below the frames of the upper
            "bottom bar to top bar beneath; box 1 to box 2": INCH / 4,
            # (14 3/4 - 9 x 1 3/8 - 3/4) / 2 = (118/8 - 99/8 - 6/8) / 2 = 13/16
            "follower board to side wall; box 2, right": INCH * 13 / 16,
            "outer end bar to side wall; box 2, left": INCH * 13 / 16,
            "outer end bar to follower board; box 2, right": 0,
            "outer comb to follower board; box 2, right": INCH * 3 / 16,  # (1 3/8 - 1) / 2
            "outer end bar to side wall; box 1, left": INCH * 3 / 4,
            "end bar to end wall; box 1, back": INCH * 5 / 16,
            "end bar to end wall; box 2, back": INCH * 3 / 8,  # (18 3/8 - 17 5/8) / 2
        },
    ),
}


@pytest.mark.outside(f"{GIORDANO}; {BERTRAND}; {STICKS}; {NATIONAL}; Blackiston: 19 7/8, walls 3/4; Beesource: 1 3/8")
@pytest.mark.parametrize(("hives", "gaps"), MIXED.values(), ids=MIXED.keys())
def test_each_box_of_a_mixed_hive_has_its_own_gaps(hives: str, gaps: dict[str, Any]) -> None:
    found = measured(hive(hives))
    assert {place: found[place] for place in gaps} == {place: Fraction(size) for place, size in gaps.items()}
