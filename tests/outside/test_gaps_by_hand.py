"""Gaps of whole hives, put together from a design file and measured on the parts, against arithmetic by hand.

Sizes in the comments are typed as their source has them; "from memory" and "common practice" are said where they
are used. Everything is in inches unless it says mm. What is not given in a design comes from the tables, so each
check fails when a row that it rests on is nudged; that is tried below.
"""

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil
from pathlib import Path

import pytest

from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.make_units import make_units, stacks_of
from woodshop.design.settle.settle import settle
from woodshop.errors import InputError
from woodshop.hive.gaps.gaps import gathered, measure_gaps
from woodshop.hive.passages.air import air_path
from woodshop.hive.passages.doors import ways_of
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.stacking.stack import Stack, tiers_up
from woodshop.reference import facts
from woodshop.units.lengths import ZERO, Length, inch, millimetre

BLACKISTON = "Howland Blackiston, Building Beehives, cut list: sides 19 7/8, walls 3/4"
VITAL = "Howland Blackiston, Building Beehives, vital stats: covers 22 x 18 and 22 x 15 3/4 overall"
PINEY = "Piney Woods Beekeepers, Candy Board Feeder and Recipe: 16 lb on a full 10-frame board"
SUPPLY_A = "a US bee-supply house, size page: 9 5/8, 6 5/8, 5 7/8 high; 16 and 14 wide"
FB_447 = "E. F. Phillips, Bees, USDA Farmers' Bulletin 447 (1911), Hives: frame 17 5/8 x 9 1/8"
FRAME_PAGES = "bee-supply houses' frame size pages: 6 1/4 and 5 3/8"
REST = "Beesource, The making of a frame: rest 5/8 deep and 3/8 wide, top bar 19; lug 3/8 from memory"
BODY = "Beesource, Why is a Langstroth body the width that it is: self-spacing end bar 1 3/8"
LITTLE_HOUSE = "Little House on the Big Hill, telescoping cover: pieces 20 1/8 and 18 1/8, 2 1/4 deep"
CRUCIAL = "Beesource, Dimensions crucial for telescoping cover?: 1/4 in at each side"
PS_20 = "NIST PS 20, as tabulated by Engineering ToolBox: 1x3 dresses to 2 1/2, 2x4 to 1 1/2 x 3 1/2"
CUSHMAN = "Dave Cushman, Bee-L list, 10 June 2001: slot 8 mm, 5/16 in"
FLUTED = "Wikipedia, Corrugated plastic: 3, 4 and 5 mm"
A740 = "ASTM A740, s. 3.1: mesh centre to centre of wires; 19 ga 0.041 from memory"
NATIONAL = "Wikibooks, British National: brood box 8 7/8 high, inside 14 5/8; frame 14 x 8 1/2"
OLD_PLAN = "How-To, Body of hive: entrance slit 3/8 x 4"
MAKERS = "13 3/4, 13 7/8 and 9 wide from memory; 16 1/4 hobby builders' quilt-box ends"

BOARD = '[[make]]\nitem = ["fondant rim", "wire bottom", "spacer strips"]\n'
QUILT = '[[make]]\nitem = "quilt box"\n'
HIGHER = '[board]\nnotch_height = "5/16"\n'
RABBET, GROOVE = '[board]\nmounting = "flush rabbet"\n', '[board]\nmounting = "saw groove"\n'
MESH = 2 * Fraction("0.041")  # two wires that cross
Hive = Callable[..., Stack]


def gap(stack: Stack, name: str, place: str) -> tuple[Length, Length]:
    """The least and the greatest of the gaps of that name at that place."""
    (found,) = [each for each in gathered(measure_gaps(stack)) if (each.name, each.place) == (name, place)]
    return found.least, found.most


@pytest.fixture
def hive(tmp_path: Path, designs: Path) -> Hive:
    """A function from lines under [[hives]] and what is made to the hive of that design, as it will stand."""

    def stand(hives: str, make: str = BOARD, board: str = "", frames: int = 10) -> Stack:
        shutil.copy(designs / "creekside-lumberyard.toml", tmp_path / "lumberyard.toml")
        head = 'format = "woodshop-design/2"\nbatch = "b"\nunit = "in"\nlumberyard = "lumberyard.toml"\n'
        text = f"{head}{board}[[hives]]\nframes = {frames}\ncount = 1\n{hives}\n{make}"
        (tmp_path / "design.toml").write_text(text, encoding="utf-8")
        design = read_design(tmp_path / "design.toml")
        units = make_units(settle(design, read_lumberyards(design.lumberyards)))
        (stack,) = stacks_of({unit.line.item.name: unit for unit in units if unit.line.item.per == "hive"})
        return stack

    return stand


@dataclass(frozen=True)
class Case:
    """A gap by name and place, the design whose hive has it, the answer by hand, and the rows that it rests on."""

    name: str
    place: str
    answer: Fraction | str
    hives: str = ""
    make: str = BOARD
    board: str = ""
    frames: int = 10
    rows: tuple[str, ...] = ()


def spacers(lines: str = "") -> str:
    """A board, and vent spacers with those lines, which may tell of the cover."""
    return f'{BOARD}[[make]]\nitem = "vent spacers"\n{lines}\n'


# Sources, then cases. "16 1/4" is the width taken where none is given, 9 5/8 the height.
CASES: dict[str, tuple[Case, ...]] = {
    # ---- box to box: box height less frame depth, whichever stands under it ------------------------
    f"{SUPPLY_A}; {FB_447}; {FRAME_PAGES}": (
        # 9 5/8 - 9 1/8 = 77/8 - 73/8 = 4/8
        Case("bottom bar to top bar beneath", "box 1 to box 2", "1/2", 'boxes = ["deep", "deep"]',
             rows=("box.height_deep", "frame.depth_deep")),
        # a medium on a deep: 6 5/8 - 6 1/4 = 53/8 - 50/8 = 3/8
        Case("bottom bar to top bar beneath", "box 1 to box 2", "3/8", 'height = "medium"\nboxes = ["deep", "medium"]',
             rows=("box.height_medium", "frame.depth_medium")),
        # a deep on a medium: the deep's 1/2 again
        Case("bottom bar to top bar beneath", "box 1 to box 2", "1/2", 'boxes = ["medium", "deep"]',
             rows=("box.height_deep", "frame.depth_deep")),
        # 5 7/8 - 5 3/8 = 4/8
        Case("bottom bar to top bar beneath", "box 1 to box 2", "1/2", 'height = "shallow"',
             rows=("box.height_shallow", "frame.depth_shallow")),
    ),
    f"A third US bee-supply house, size page: shallow 5 3/4; Kelley, ch. 3: deep 9 9/16; {FB_447}; {FRAME_PAGES}": (
        # 5 3/4 - 5 3/8 = 46/8 - 43/8
        Case("bottom bar to top bar beneath", "box 1 to box 2", "3/8", 'height = "5 3/4"',
             rows=("frame.depth_shallow",)),
        # 9 9/16 - 9 1/8 = 153/16 - 146/16
        Case("bottom bar to top bar beneath", "box 1 to box 2", "7/16", 'height = "9 9/16"',
             rows=("frame.depth_deep",)),
    ),
    # ---- under the frames --------------------------------------------------------------------------
    f"{SUPPLY_A}; {FB_447}; {REST}; entrance 3/4 from memory": (
        # 3/4 + 9 5/8 - (5/8 - 3/8) - 9 1/8 = 6/8 + 77/8 - 2/8 - 73/8 = 8/8
        Case("bottom bar to floor", "box 1", "1",
             rows=("box.height_deep", "frame.depth_deep", "guard.entrance_height")),
        # the same on a medium: 6/8 + 53/8 - 2/8 - 50/8 = 7/8
        Case("bottom bar to floor", "box 1", "7/8", 'height = "medium"',
             rows=("box.height_medium", "frame.depth_medium")),
    ),
    f"{OLD_PLAN}; {SUPPLY_A}; {FB_447}; {REST}": (
        # an entrance of 3/8: 3/8 + 9 5/8 - 1/4 - 9 1/8 = 5/8
        Case("bottom bar to floor", "box 1", "5/8",
             make=f'{BOARD}[[make]]\nitem = "mouse guard"\nentrance_height = "3/8"\nentrance_width = "4"\n',
             rows=("box.height_deep", "frame.depth_deep")),
    ),
    # ---- over the frames ---------------------------------------------------------------------------
    f"{REST}; {A740}": (
        # stapled under, the mesh lies on the box: 5/8 - 3/8
        Case("mesh over top bars", "box 2, lane 2", "1/4", rows=("box.gap_over_top_bars",)),
        # in a rabbet 1/8 high (common practice): 1/4 + 1/8 - 2 x 0.041 = 0.293
        Case("mesh over top bars", "box 2, lane 1", Fraction(3, 8) - MESH, board=RABBET,
             rows=("box.gap_over_top_bars", "wire_bottom.rabbet_height", "mesh.half.wire")),
        # over 1/4 of wood below its groove (common practice): 1/4 + 1/4
        Case("mesh over top bars", "box 2, lane 3", "1/2", board=GROOVE,
             rows=("box.gap_over_top_bars", "wire_bottom.groove_height")),
        # strips inside their limits: 1/4 - 7/32 under a stapled mesh, 0.293 - 1/4 in a rabbet, 1/2 - 3/8 over a groove
        Case("strip to mesh", "box 2, strip 1", "1/32"),
        Case("strip to mesh", "box 2, strip 2", Fraction(1, 8) - MESH, board=RABBET,
             rows=("wire_bottom.rabbet_height", "mesh.half.wire")),
        Case("strip to mesh", "box 2, strip 3", "1/8", board=GROOVE),
    ),
    f"{REST}; Beesource, inner covers: rim 3/8; Bees-and-Beekeeping Q&A: the deep side down in winter": (
        # 1/4 + 3/8
        Case("top bars to inner cover", "box 2", "5/8", 'inner_cover = "3/4"', make='[[make]]\nitem = "mouse guard"\n',
             rows=("box.gap_over_top_bars", "cover.inner_rim")),
        # a quilt box's cloth lies on the box's edge: 5/8 - 3/8
        Case("top bars to quilt floor", "box 2", "1/4", make=QUILT, rows=("box.gap_over_top_bars",)),
    ),
    # ---- beside the frames -------------------------------------------------------------------------
    f"{BODY}; {MAKERS}; {BLACKISTON}; {SUPPLY_A}": tuple(
        # inside less the frames, half at each side: (width - 2 x 3/4 - frames x 1 3/8) / 2
        Case("outer end bar to side wall", "box 1, left", answer, f'width = "{width}"', frames=frames,
             rows=("frame.end_bar_width", "box.wall"))
        for frames, width, answer in (
            (10, "16 1/4", "1/2"),  # (14 3/4 - 13 3/4) / 2: the loose inch, half of it
            (10, "16", "3/8"),  # (14 1/2 - 13 3/4) / 2
            (8, "14", "3/4"),  # (12 1/2 - 11) / 2
            (8, "13 7/8", "11/16"),  # (12 3/8 - 11) / 2
            (8, "13 3/4", "5/8"),  # (12 1/4 - 11) / 2
            (5, "9", "5/16"),  # (7 1/2 - 6 7/8) / 2
        )
    ),
    f"{FB_447}; {BLACKISTON}": (
        # (19 7/8 - 2 x 3/4 - 17 5/8) / 2 = (147/8 - 141/8) / 2 = 3/8
        Case("end bar to end wall", "box 2, front", "3/8", rows=("box.length", "box.wall", "frame.length")),
    ),
    f"{REST}; {BLACKISTON}": (
        # (18 3/8 + 2 x 3/8 - 19) / 2 = (153/8 - 152/8) / 2
        Case("lug end to wall in the frame rest", "box 2, back", "1/16",
             rows=("box.rabbet_width", "frame.top_bar_length")),
    ),
    f"{BODY}; top bar 1 1/16 and end bar 1 1/8 below its shoulder from memory; comb 1 in common practice": (
        # 1 3/8 - 1 1/16 = 22/16 - 17/16
        Case("between top bars", "box 1", "5/16", rows=("frame.end_bar_width", "frame.top_bar_width")),
        # 1 3/8 - 1 1/8; about 1/4 is what A. J. Cook has between frames as well
        Case("between end bars", "box 1, front", "1/4", rows=("frame.end_bar_width", "frame.end_bar_below")),
        # 1 3/8 - 1
        Case("between combs", "box 1", "3/8", rows=("frame.end_bar_width", "frame.comb_thickness")),
    ),
    # ---- the British pattern -----------------------------------------------------------------------
    NATIONAL: (
        # 8 7/8 - 8 1/2 = 71/8 - 68/8: its bee space is below
        Case("bottom bar to top bar beneath", "box 1 to box 2", "3/8", 'pattern = "British National"', make=QUILT,
             frames=11, rows=("box.national_brood_height", "frame.national_depth")),
        # (14 5/8 - 14) / 2
        Case("end bar to end wall", "box 1, back", "5/16", 'pattern = "British National"', make=QUILT, frames=11,
             rows=("box.national_inside_length", "frame.national_length")),
        # bars level with the box's edge, and the cloth on it
        Case("top bars to quilt floor", "box 2", "0", 'pattern = "British National"', make=QUILT, frames=11),
    ),
    # ---- the cover ---------------------------------------------------------------------------------
    f"{CRUCIAL}; {BLACKISTON}": tuple(
        # made for the box, 1/4 wider at each side; over a rim 16 wide, 1/8 narrower at each side, 3/8
        Case("cover skirt to wall", f"cover over board, {side}", answer, hives, rows=("cover.clearance",))
        for hives, side, answer in (
            ("", "front", "1/4"), ("", "right", "1/4"), ('rim_width = "16"', "left", "3/8"),
            ('rim_width = "16"', "back", "1/4"),
        )
    ),
    f"{LITTLE_HOUSE}; {BLACKISTON}; {MAKERS}": tuple(
        # inside 20 1/8 x (18 1/8 - 2 x 3/4 = 16 5/8), over 19 7/8 x 16 1/4: (1/4) / 2 at the ends, (3/8) / 2 beside
        Case("cover skirt to wall", f"cover over board, {side}", answer,
             make=spacers('cover_length = "20 1/8"\ncover_width = "16 5/8"'), rows=(row,))
        for side, answer, row in (("front", "1/8", "box.length"), ("left", "3/16", "box.width_10"))
    ),
    f"{VITAL}; {BLACKISTON}; {SUPPLY_A}": tuple(
        # 22 - 2 x 3/4 = 20 1/2; 18 - 1 1/2 = 16 1/2 over 16; 15 3/4 - 1 1/2 = 14 1/4 over 14
        Case("cover skirt to wall", f"cover over board, {side}", answer, f'width = "{width}"', frames=frames,
             make=spacers(f'cover_length = "20 1/2"\ncover_width = "{inside}"'), rows=())
        for frames, width, inside, side, answer in (
            (10, "16", "16 1/2", "left", "1/4"),
            (8, "14", "14 1/4", "right", "1/8"),
            (8, "14", "14 1/4", "back", "5/16"),  # (20 1/2 - 19 7/8) / 2
        )
    ),
    f"{LITTLE_HOUSE}; {PS_20}; {CUSHMAN}": (
        # right on the rim: 2 1/2 - 2 1/4 - 5/16 = 4/16 - 5/16
        Case("upper entrance to skirt", "board", Fraction(-1, 16), board=HIGHER,
             rows=("cover.skirt_depth",)),
        # a skirt of 2 1/4 right on the rim laps all of it
        Case("skirt overlap", "cover on board, left", "2 1/4", rows=("cover.skirt_depth",)),
    ),
    f"{FLUTED}; {LITTLE_HOUSE}; {PS_20}; {CUSHMAN}": (
        # lifted by 4 mm: 4 / 25.4 - 1/16; by 3 mm the slit is 3 mm, and 2 1/4 less that laps
        Case("upper entrance to skirt", "board", Fraction(40, 254) - Fraction(1, 16),
             board=HIGHER, make=spacers('thickness = "4 mm"'), rows=("cover.skirt_depth",)),
        Case("vent slit", "cover on board, back", Fraction(30, 254), make=spacers(),
             rows=("vent.thickness",)),
        Case("skirt overlap", "cover on board, right", Fraction(9, 4) - Fraction(30, 254),
             make=spacers(), rows=("cover.skirt_depth", "vent.thickness")),
        # and on an inner cover of 3/4 (common practice), higher by so much
        Case("upper entrance to skirt", "board", Fraction(3, 4) + Fraction(40, 254) - Fraction(1, 16),
             'inner_cover = "3/4"', board=HIGHER,
             make=spacers('thickness = "4 mm"'), rows=("cover.skirt_depth",)),
    ),
    # ---- seats -------------------------------------------------------------------------------------
    f"{SUPPLY_A}; {MAKERS}": tuple(
        # half of what the widths differ by
        Case("overhang", "board on box 2, left", Fraction(answer), f'width = "{box}"\nrim_width = "{rim}"',
             frames=frames)
        for frames, box, rim, answer in (
            (10, "16 1/4", "16", "-1/8"), (10, "16", "16 1/4", "1/8"), (8, "13 3/4", "13 7/8", "1/16"),
            (8, "13 3/4", "14", "1/8"), (8, "14", "13 7/8", "-1/16"),
        )
    ),
    "common practice, no source: play of 1/8 at each end of a strip": (
        # a strip 14 3/4 - 2 x 1/8 long
        Case("strip end to side wall", "box 2, strip 2, right", "1/8", rows=("strip.play",)),
    ),
}  # fmt: skip
ALL = [
    pytest.param(
        case,
        marks=() if source.startswith("common practice") else pytest.mark.outside(source),
        id=f"{case.name}, {n}: {case.answer}",
    )
    for source, cases in CASES.items()
    for n, case in enumerate(cases)
]


def measured(hive: Hive, case: Case) -> tuple[Length, Length]:
    return gap(hive(case.hives, case.make, case.board, case.frames), case.name, case.place)


@pytest.mark.parametrize("case", ALL)
def test_a_gap_is_just_what_arithmetic_has(hive: Hive, case: Case) -> None:
    assert measured(hive, case) == (inch(case.answer), inch(case.answer))


@pytest.fixture
def anew() -> Iterator[None]:
    """Hives are put together anew: what is kept of them was made with other rows."""
    tiers_up.cache_clear()
    yield
    tiers_up.cache_clear()


def nudge(monkeypatch: pytest.MonkeyPatch, key: str) -> None:
    """One row a hundredth larger, for every reader of the tables, and what is worked out from it."""
    rows = {row.key: row for row in facts.all_facts()}
    more = Fraction(101, 100)
    for row in [rows[key], *_worked_from(rows, key)]:
        rows[row.key] = replace(row, value=f"{row.length.mm * more} mm")
    monkeypatch.setattr(facts, "_facts", lambda: rows)


def _worked_from(rows: dict[str, facts.Fact], key: str) -> Iterator[facts.Fact]:
    """Rows that are a computed copy of that one and nothing else."""
    return (row for row in rows.values() if dict(row.more).get("from") == key)


NUDGES = [(case, row) for cases in CASES.values() for case in cases for row in case.rows]


@pytest.mark.usefixtures("anew")
@pytest.mark.parametrize(("case", "row"), NUDGES, ids=[f"{row}: {case.name}" for case, row in NUDGES])
def test_a_row_that_is_off_by_a_hundredth_is_seen_in_the_gap(
    hive: Hive, case: Case, row: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    nudge(monkeypatch, row)
    try:
        assert measured(hive, case) != (inch(case.answer), inch(case.answer))
    except InputError:
        return  # no such hive can be made any more


# ---- what is no gap of one name: lanes, the entrance, sugar by weight -------------------------------


@pytest.mark.outside(f"{BLACKISTON}; {PS_20}; strips 3/4 wide, evenly spread: common practice")
@pytest.mark.parametrize(
    ("number", "lanes"),
    [
        # 18 3/8 / 3 = 6 1/8: front faces 3/4 + 6 1/8 - 3/8 = 6 1/2 and 12 5/8. 6 1/2 - 3/4; 12 5/8 - 7 1/4;
        # 19 1/8 - 13 3/8
        (2, ("5 3/4", "5 3/8", "5 3/4")),
        # 18 3/8 / 4 = 4 19/32: 4 31/32, 9 9/16, 14 5/32, on the next sixteenth 5, 9 9/16, 14 3/16. 5 - 3/4;
        # 9 9/16 - 5 3/4; 14 3/16 - 10 5/16; 19 1/8 - 14 15/16
        (3, ("4 1/4", "3 13/16", "3 7/8", "4 3/16")),
        # 18 3/8 / 5 = 3 27/40: the first at 4 1/20 would lie under the channel, which ends at 3/4 + 3 1/2, and goes
        # back to 4 1/4; 7 29/40 and 11 2/5 on the next sixteenth 7 3/4, 11 7/16; the last at 15 3/40 comes forward
        # to 19 1/8 - 3 1/2 - 3/4 = 14 7/8, clear of the vents
        (4, ("3 1/2", "2 3/4", "2 15/16", "2 11/16", "3 1/2")),
    ],
)
def test_the_lanes_between_strips(hive: Hive, number: int, lanes: tuple[str, ...]) -> None:
    """Inside from 3/4 to 19 1/8, 18 3/8 long; strips 3/4 wide, evenly, their front faces on the next sixteenth."""
    make = f'[[make]]\nitem = ["fondant rim", "wire bottom"]\n[[make]]\nitem = "spacer strips"\nnumber = {number}\n'
    stack = hive("", make)
    found = [each.least for each in measure_gaps(stack) if each.name == "lane between strips"]
    assert found == [inch(lane) for lane in lanes]
    assert sum(found, ZERO) == inch("18 3/8") - inch("3/4") * number
    assert len(ways_of(stack).lanes) == number + 1


@pytest.mark.outside(f"{OLD_PLAN}; {BLACKISTON}; whole width and 3/4 high from memory")
@pytest.mark.parametrize(
    ("make", "high", "wide"),
    [
        ("", "3/4", "14 3/4"),  # between the rails: 16 1/4 - 2 x 3/4
        ('[[make]]\nitem = "mouse guard"\nentrance_height = "3/8"\nentrance_width = "4"\n', "3/8", "4"),
    ],
)
def test_the_entrance_as_it_stands(hive: Hive, make: str, high: str, wide: str) -> None:
    """From the floor up to the box, and between rails or blocks; its clear area is the one times the other."""
    stack = hive("", BOARD + make)
    (bottom,), box = stack.of(TierKind.BOTTOM), stack.of(TierKind.BOX)[0]
    (floor,) = bottom.named("floor")
    assert min(wall.box.low[2] for wall in box.named("box end")) - floor.box.high[2] == inch(high)
    left, right = sorted(bottom.named("entrance block") or bottom.named("bottom side"), key=lambda p: p.box.low[1])
    assert right.box.low[1] - left.box.high[1] == inch(wide)
    entrance = next(step for step in air_path(stack).steps if step.name == "entrance")
    assert entrance.clear == inch(high) * inch(wide)


@pytest.mark.outside(
    f"{PINEY}; {PS_20}; {BLACKISTON}; {MAKERS}; 0.85 kg/L common practice; a pound is 453.59237 g, NIST"
)
def test_head_room_over_sixteen_pounds(hive: Hive) -> None:
    """Floor 14 3/4 x 18 3/8 less three voids of 1 1/2 x 3 1/2 = 255.28125 sq in; 16 lb at 0.85 kg/L in a rim of 2 1/2.

    16 x 453.59237 / 0.85 = 8538.2093 mL; / 16.387064 = 521.04 cu in; / 255.28125 = 2.0410 deep. A filling is held on
    marks of 1/320 mm, never lower. The quilt's cloth lies on the rim's edge, the sugar on mesh level with its lower
    edge.
    """
    floor = Fraction(59, 4) * Fraction(147, 8) - 3 * Fraction(3, 2) * Fraction(7, 2)
    assert floor == Fraction("255.28125")
    deep = 16 * Fraction("453.59237") / Fraction("0.85") * 1000 / (floor * Fraction("25.4") ** 2)  # mm
    deep = Fraction(ceil(deep * 320), 320)
    least, most = gap(hive("", BOARD + QUILT), "head room over the sugar", "board")
    assert least == most == inch("2 1/2") - Length(deep)
    assert abs(least - inch("0.459")) < millimetre("0.02")
