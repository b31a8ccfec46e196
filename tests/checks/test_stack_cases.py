"""Cases a keeper would ask about first, from the design file to what `woodshop check` says, and what holds for any.

Gaps are those that the command reports; the arithmetic stands beside them.
"""

import json
import re
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.hive.shifted import with_part
from tests.nightly import tries
from woodshop.checks.check_batch import check_hives
from woodshop.cli import main
from woodshop.design.make_units import stacks_of
from woodshop.errors import InputError
from woodshop.hive.gaps.faces import Gap, labels
from woodshop.hive.gaps.gaps import measure_gaps
from woodshop.hive.gaps.grading import Grade, bee_space
from woodshop.hive.passages.bee_map import bee_map
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.stacking.stack import Stack
from woodshop.shape.part import Placed
from woodshop.units.lengths import ZERO, Length, inch, millimetre, read_length

EIGHTH = inch("1/8")
HEAD = 'format = "woodshop-design/2"\nbatch = "b"\nunit = "in"\nlumberyard = "lumberyard.toml"\n'
BOARD = '[[make]]\nitem = ["fondant rim", "wire bottom", "spacer strips"]\n'
SPACED = '[[make]]\nitem = "vent spacers"\nthickness = "5/32"\n'
MESH = 2 * Fraction("0.041")  # two wires of half-inch mesh, which cross


def design(hives: str, make: str = BOARD, board: str = "", frames: int = 10) -> str:
    return f"{HEAD}[board]\n{board}\n[[hives]]\nframes = {frames}\ncount = 1\n{hives}\n{make}"


class Told:
    """What `woodshop check --json` says of a design: its exit code, findings by code, gaps by name and place."""

    def __init__(self, shop: Any, text: str) -> None:
        shop._write("lumberyard.toml", shop.lumberyard_text)
        done = CliRunner().invoke(main, ["check", str(shop._write("design.toml", text)), "--json"])
        self.exit, answer = done.exit_code, json.loads(done.stdout)
        self.errors: list[dict[str, str]] = answer.get("errors", [])
        self.findings = {each["code"]: each for each in answer.get("findings", [])}
        self.gaps = {(each["name"], each["place"]): each for each in answer.get("gaps", [])}

    @property
    def amiss(self) -> dict[str, str]:
        """The severity of what is more than a note, by code."""
        return {code: each["severity"] for code, each in self.findings.items() if each["severity"] != "note"}

    def sizes(self, name: str) -> set[Length]:
        """Every size that gaps of that name have."""
        return {
            read_signed(f"{each[end]} {each['unit']}")
            for (found, _), each in self.gaps.items()
            if found == name
            for end in ("least", "most")
        }


def read_signed(text: str) -> Length:
    """A length that may be less than nothing: where a skirt covers a notch."""
    return ZERO - read_length(text[1:]) if text.startswith("-") else read_length(text)


def lines_of(change: str) -> str:
    """The lines for a design file that stand in the words of a change."""
    return "".join(f"{line}\n" for line in re.findall(r'\w+ = "[^"]*"', change))


def near(sizes: set[Length], wanted: Fraction | str) -> bool:
    """Whether there is one size and it is this one, to the thousandth in which it is told."""
    (size,) = sizes
    return abs(size - inch(wanted)) <= inch("0.0005")


# ---- the gap over the bars -------------------------------------------------------------------------


def test_a_quarter_inch_with_mesh_stapled_under_is_clean(shop: Any) -> None:
    told = Told(shop, design('gap = "1/4"'))
    assert (told.exit, told.amiss) == (0, {})
    assert told.sizes("mesh over top bars") == {inch("1/4")}  # 5/8 of rest less 3/8 of lug
    assert {told.gaps["mesh over top bars", f"box 2, lane {n}"]["grade"] for n in (1, 2)} == {"bee space"}
    assert told.sizes("strip to mesh") == {inch("1/32")}  # strips of 7/32


def test_three_sixteenths_is_a_warning_and_its_cure_mends_it(shop: Any) -> None:
    told = Told(shop, design('gap = "3/16"'))
    assert (told.exit, told.amiss) == (0, {"mesh-near-bars": "warning"})
    assert told.sizes("mesh over top bars") == {inch("3/16")}
    cure = lines_of(told.findings["mesh-near-bars"]["change"])
    assert 'mounting = "flush rabbet"' in cure
    (rabbet,) = re.findall(r'rabbet_height = "([^"]*)"', cure)
    mended = Told(shop, design('gap = "3/16"', board=cure))
    assert (mended.exit, mended.amiss) == (0, {})
    assert near(mended.sizes("mesh over top bars"), Fraction(3, 16) + inch(rabbet).inches - MESH)


def test_three_eighths_is_still_bee_space(shop: Any) -> None:
    told = Told(shop, design('gap = "3/8"'))
    assert (told.exit, told.amiss) == (0, {})
    assert told.sizes("mesh over top bars") == {inch("3/8")}
    assert told.sizes("strip to mesh") == {inch("1/16")}  # the strips come out 5/16 thick


@pytest.mark.parametrize(
    ("board", "mesh"),
    [
        ("", None),  # stapled under, the mesh lies on the bars
        ('mounting = "flush rabbet"', None),  # 1/8 - 0.082 = 0.043: no room for a strip of 1/16
        ('mounting = "flush rabbet"\nrabbet_height = "3/8"', Fraction(3, 8) - MESH),  # 0.293
        ('mounting = "saw groove"', Fraction(1, 4)),  # on 1/4 of wood
    ],
    ids=["stapled under", "rabbet 1/8", "rabbet 3/8", "groove"],
)
def test_bars_level_with_the_box_are_refused_unless_the_mesh_is_raised(
    shop: Any, board: str, mesh: Fraction | None
) -> None:
    """Bottom bee space on a box of any pattern: nothing over the bars, and 1/2 under the frames of a 9 5/8 box."""
    told = Told(shop, design('gap = "0"\nbee_space = "bottom"', board=board))
    if mesh is None:
        assert told.exit == 3
        assert not told.findings
        return
    assert (told.exit, told.amiss) == (0, {})
    assert near(told.sizes("mesh over top bars"), mesh)
    assert told.sizes("bottom bar to top bar beneath") == {inch("1/2")}


def test_mesh_in_its_rabbet_stands_off_the_box_and_is_no_fault(shop: Any) -> None:
    """The rim sits wood on wood; the mesh is 1/8 - 0.082 above, strips of 1/4 as much under it until it sags."""
    told = Told(shop, design('gap = "1/4"', board='mounting = "flush rabbet"'))
    assert told.sizes("wall on wall") == {ZERO}
    assert near(told.sizes("mesh on wall"), Fraction(1, 8) - MESH)
    assert near(told.sizes("strip to mesh"), Fraction(1, 8) - MESH)
    grades = {each["grade"] for (name, _), each in told.gaps.items() if name in ("mesh on wall", "strip to mesh")}
    assert grades == {"held in the wall", "touches once the mesh sags"}


# ---- strips ----------------------------------------------------------------------------------------


def test_a_strip_of_three_eighths_in_a_quarter_lifts_the_rim(shop: Any) -> None:
    strips = '[[make]]\nitem = ["fondant rim", "wire bottom"]\n[[make]]\nitem = "spacer strips"\n'
    told = Told(shop, design('gap = "1/4"', f'{strips}thickness = "3/8"\n'))
    assert told.exit == 1
    assert told.findings["strip-lifts-rim"]["severity"] == "error"
    assert told.sizes("mesh over top bars") == {inch("3/8")}
    lifted = {each["least"] for (name, place), each in told.gaps.items() if name == "mesh on wall" and "box 2" in place}
    assert lifted == {"1/8"}  # 3/8 - 1/4
    cure = lines_of(told.findings["strip-lifts-rim"]["change"])
    assert cure.startswith('thickness = "7/32"')
    mended = Told(shop, design('gap = "1/4"', strips + cure.splitlines()[0] + "\n"))
    assert (mended.exit, mended.amiss) == (0, {})


def stack_of(shop: Any, text: str) -> Stack:
    units = [unit for unit in shop.units(text) if unit.line.item.per == "hive"]
    return stacks_of({unit.line.item.name: unit for unit in units})[0]


@pytest.mark.parametrize("turned", [False, True])
def test_a_first_strip_that_would_lie_under_the_channel_is_moved_or_refused(shop: Any, turned: bool) -> None:
    """The channel is 3 1/2 deep from 3/4 on, to 4 1/4; turned along the front 1 1/2, to 2 1/4.

    Of n strips 3/4 wide the first would begin at 3/4 + 18 3/8 / (n + 1) - 3/8, on the next sixteenth.
    """
    board, end = ('channel = "along the front"', "2 1/4") if turned else ("", "4 1/4")
    refused, moved = [], []
    for number in range(2, 13):
        make = f'[[make]]\nitem = ["fondant rim", "wire bottom"]\n[[make]]\nitem = "spacer strips"\nnumber = {number}\n'
        try:
            stack = stack_of(shop, design('gap = "1/4"', make, board))
        except InputError:
            refused.append(number)
            continue
        (tier,) = stack.of(TierKind.ON_BARS)
        first = min(strip.box.low[0] for strip in tier.named("strip"))
        even = inch(Fraction(3, 8) + Fraction(147, 8) / (number + 1)).up_to(inch("1/16"))
        assert first >= inch(end)
        if even < inch(end):
            moved.append(number)
            assert first == inch(end)
    # four begin at 4 1/20. Between channel and vents there is room for as many as lie 1 1/2 apart: from 4 1/4 to
    # 15 5/8 - 3/4 = 14 7/8 for 1 + 10 5/8 / 1 1/2 = 8; turned, from 2 1/4 to 17 5/8 - 3/4 = 16 7/8 for 1 + 9 3/4
    assert moved == ([10] if turned else [4, 5, 6, 7, 8])
    assert refused == ([11, 12] if turned else [9, 10, 11, 12])


@pytest.mark.parametrize(
    ("front", "void", "change"),
    [
        # from 1 to 4 1/4: back by 3 1/4; forward it would have to go into the wall
        ("1", "entrance channel", "Move the strip 3 1/4 in back"),
        ("4", "entrance channel", "Move the strip 1/4 in back"),
        # the vents begin at 15 5/8: 16 1/8 + 3/4 - 15 5/8 = 1 1/4
        ("16 1/8", "left corner vent", "Move the strip 1 1/4 in forward"),
        ("18 1/4", "left corner vent", "Move the strip 3 3/8 in forward"),
    ],
)
def test_a_strip_laid_under_channel_or_vent_is_flagged_with_where_to_lay_it(
    shop: Any, front: str, void: str, change: str
) -> None:
    rim, floor, strips = shop.units(design('gap = "1/4"'))
    first, *others = strips.assembly.placed
    laid = Placed(first.part, first.pose.moved((inch(front) - first.box.low[0], ZERO, ZERO)))
    by_hand = replace(strips, assembly=replace(strips.assembly, placed=(laid, *others)))
    found = [each for each in check_hives((rim, floor, by_hand))[0] if each.code == "strip-under-void"]
    assert [each.severity for each in found if void in each.value] == ["error"]
    assert all(change in each.change for each in found)


# ---- sugar and skirt -------------------------------------------------------------------------------


def test_sugar_flush_under_a_closed_floor_is_a_dead_end_until_the_rim_is_higher(shop: Any) -> None:
    """A rim of 2 1/16 is 52.3875 mm: 255.28125 sq in so deep, at 0.85 kg/L, are 16.1682 lb."""
    area = Fraction("255.28125") * Fraction("25.4") ** 2  # sq mm
    pounds = area * Fraction("52.3875") / 1000 * Fraction("0.85") / Fraction("453.59237")
    flush = Fraction(int(pounds * 10_000), 10_000)
    board = f'head_room = "0"\nsugar = "{float(flush)} lb"\n'
    make = BOARD + '[[make]]\nitem = "feeder quilt"\n'
    told = Told(shop, design('gap = "1/4"', make, board + 'height = "2 1/16"'))
    assert told.sizes("head room over the sugar") == {ZERO}
    dead = told.findings["air-dead-end"]
    assert dead["severity"] == "warning"
    assert "between packed sugar and top feeder" in dead["value"]
    mended = Told(shop, design('gap = "1/4"', make, board + lines_of(dead["change"])))
    assert "air-dead-end" not in mended.findings
    assert mended.sizes("head room over the sugar") != {ZERO}


@pytest.mark.parametrize(
    ("make", "hives", "clear", "severity"),
    [
        # 2 1/2 of rim less 2 1/4 of skirt: its edge is 1/4 up, over 9/32 of notch
        (BOARD, "", "-1/32", "note"),
        # lifted by 5/32: 13/32 - 9/32
        (BOARD + SPACED, "", "1/8", None),
        # by 3/4 of inner cover more: 4/32 + 24/32
        (BOARD + SPACED, 'inner_cover = "3/4"', "7/8", None),
        # without spacers, on the inner cover: 3/4 - 1/32
        (BOARD, 'inner_cover = "3/4"', "23/32", None),
    ],
    ids=["right on the rim", "spacers", "spacers and inner cover", "inner cover"],
)
def test_a_skirt_of_two_and_a_quarter_over_a_notch_at_the_bottom_edge(
    shop: Any, make: str, hives: str, clear: str, severity: str | None
) -> None:
    told = Told(shop, design(f'gap = "1/4"\ncover_skirt = "2 1/4"\n{hives}', make, 'height = "2 1/2"'))
    assert told.sizes("upper entrance to skirt") == {inch(clear)}
    found = told.findings.get("skirt-over-entrance")
    assert (found and found["severity"]) == severity
    if found:
        assert "hides 1/32 in of an upper entrance 9/32 in high, so 1/4 in is open under it" in found["value"]


# ---- whatever the sizes ----------------------------------------------------------------------------

STANDING = {
    "feeder": design('gap = "1/4"\nboxes = ["medium"]\nheight = "medium"', BOARD + '[[make]]\nitem = "feeder quilt"\n',
                     'mounting = "saw groove"\nbar = true', 8),
    "quilt": design('gap = "5/16"', BOARD + '[[make]]\nitem = ["quilt box", "vent spacers", "mouse guard"]\n',
                    'mounting = "flush rabbet"', 5),
    "cake": design('gap = "3/8"\ninner_cover = "3/4"\nrim_width = "16"\nboxes = ["shallow"]\nheight = "shallow"',
                   '[[make]]\nitem = ["feeding shim", "bottom insert"]\n'),
    "national": design('pattern = "British National"\nboxes = ["deep"]', BOARD,
                       'mounting = "flush rabbet"\nrabbet_height = "3/8"', 11),
}  # fmt: skip


@pytest.fixture(scope="module")
def standing(shop: Any) -> dict[str, Stack]:
    return {name: stack_of(shop, text) for name, text in STANDING.items()}


def keyed(stack: Stack) -> dict[tuple[str, str, tuple[str, str]], Gap]:
    return {(gap.name, gap.place, gap.between): gap for gap in measure_gaps(stack)}


@pytest.mark.invariant
@pytest.mark.filterwarnings("ignore:Generating overly large repr")  # of the hives that stand
@settings(max_examples=tries(30), deadline=None, suppress_health_check=list(HealthCheck))
@given(name=st.sampled_from(sorted(STANDING)), pick=st.integers(0, 10_000), axis=st.integers(0, 2))
def test_a_part_of_any_hive_that_is_shifted_moves_its_own_gaps_by_an_eighth(
    standing: dict[str, Stack], name: str, pick: int, axis: int
) -> None:
    """What was made of the design's settings, shifted by hand: only what touches it changes, and by just so much."""
    stack = standing[name]
    parts = [(n, k) for n, tier in enumerate(stack.tiers) for k in range(len(tier.placed))]
    n, k = parts[pick % len(parts)]
    mine, by = labels(stack.tiers[n])[k], tuple(EIGHTH if i == axis else ZERO for i in range(3))
    before, after = keyed(stack), keyed(with_part(stack, n, k, by))
    assert after.keys() == before.keys()
    for key, old in before.items():
        first, second = old.between
        change = EIGHTH * ((second == mine) - (first == mine)) if old.axis == axis else ZERO
        assert (after[key].least - old.least, after[key].most - old.most) == (change, change), (mine, key)


sixteenths = st.integers


@st.composite
def boxes(draw: st.DrawFn) -> dict[str, Any]:
    """A box, its frames, and what stands on it: in sixteenths of an inch, or as text."""
    frames, width = draw(
        st.sampled_from([(10, 260), (10, 256), (8, 224), (8, 222), (8, 220), (5, 144), (9, 243)])
    )  # the last is nobody's
    deep = draw(sixteenths(86, 150))
    return {
        "frames": frames,
        "width": width,
        "depth": deep,
        "height": deep + draw(sixteenths(6, 10)),
        "gap": draw(sixteenths(3, 6)),
        "mounting": draw(st.sampled_from(["stapled under", "flush rabbet", "saw groove"])),
        "rise": draw(sixteenths(2, 6)),  # of rabbet or groove
        "mesh": draw(st.sampled_from(["1/2 in", "1/3 in", "1/4 in"])),
        "strip": draw(sixteenths(2, 9)),
        "rim": draw(sixteenths(40, 56)),
        "skirt": draw(sixteenths(24, 40)),
        "spacer": draw(sixteenths(1, 4)),
        "inner": draw(st.sampled_from([0, 10, 12])),
    }


WIRE = {"1/2 in": "0.041", "1/3 in": "0.032", "1/4 in": "0.025"}


def given_as(size: dict[str, Any], unit: str = "in") -> str:
    """The design of those sizes in inches, or in millimetres, which are exact: a sixteenth is 1.5875 mm."""

    def say(count: int) -> str:
        return f'"{count / 16}"' if unit == "in" else f'"{float(Fraction(count) * Fraction("1.5875"))}"'

    rise = {"stapled under": "", "flush rabbet": "rabbet_height", "saw groove": "groove_height"}[size["mounting"]]
    text = HEAD.replace('"in"', f'"{unit}"') + '[saw]\nmark = "1/16 in"\n'
    text += f'[board]\nmounting = "{size["mounting"]}"\nmesh = "{size["mesh"]}"\nheight = {say(size["rim"])}\n'
    text += f'notch_rise = {say(8)}\nnotch_height = {say(5)}\nsugar = "4 lb"\nother_sugar = "by area"\n'
    text += 'block_width = "1 1/2 in"\nblock_length = "3 1/2 in"\n'
    text += f"{rise} = {say(size['rise'])}\n" if rise else ""
    text += f"[[hives]]\npattern = 'Langstroth'\nframes = {size['frames']}\ncount = 1\nwidth = {say(size['width'])}\n"
    text += f"height = {say(size['height'])}\nboxes = [{say(size['height'])}, {say(size['height'])}]\n"
    text += f"frame_depth = {say(size['depth'])}\ngap = {say(size['gap'])}\ncover_skirt = {say(size['skirt'])}\n"
    text += f"inner_cover = {say(size['inner'])}\n" if size["inner"] else ""
    text += '[[make]]\nitem = ["fondant rim", "wire bottom"]\n'
    text += f'[[make]]\nitem = "spacer strips"\nthickness = {say(size["strip"])}\nnumber = 2\nplay = {say(2)}\n'
    return text + f'[[make]]\nitem = "vent spacers"\nthickness = {say(size["spacer"])}\n'


def by_arithmetic(size: dict[str, Any]) -> dict[str, set[Fraction]]:
    """What each gap must be, in inches, from the sizes given and those of the tables: walls 3/4, entrance 3/4."""
    part = {key: Fraction(value, 16) for key, value in size.items() if isinstance(value, int) and key != "frames"}
    mesh = 2 * Fraction(WIRE[size["mesh"]])
    low = {"stapled under": -mesh, "flush rabbet": part["rise"] - mesh, "saw groove": part["rise"]}[size["mounting"]]
    room = part["gap"] + max(low, 0)
    lift: Fraction = max(part["strip"] - room, Fraction(0))
    beside = (part["width"] - Fraction(3, 2) - size["frames"] * Fraction(11, 8)) / 2
    under = part["height"] - part["depth"]
    return {
        "bottom bar to top bar beneath": {under},
        "bottom bar to floor": {Fraction(3, 4) + under - part["gap"]},
        "outer end bar to side wall": {beside},
        "end bar to end wall": {Fraction(3, 8)},
        "between top bars": {Fraction(5, 16)},
        "mesh over top bars": {room + lift},
        "strip to mesh": {room + lift - part["strip"]},
        "wall on wall, board": {lift - min(low, 0)},
        "vent slit": {part["spacer"]},
        "cover skirt to wall": {Fraction(1, 4)},
        "skirt overlap": {part["skirt"] - part["spacer"]},
        "upper entrance to skirt": {
            part["rim"] + part["inner"] + part["spacer"] - part["skirt"] - Fraction(1, 2) - Fraction(5, 16)
        },
    }


@pytest.mark.invariant
@settings(max_examples=tries(25), deadline=None, suppress_health_check=list(HealthCheck))
@given(size=boxes())
def test_what_is_measured_is_what_arithmetic_has_on_any_box_strip_and_mesh(shop: Any, size: dict[str, Any]) -> None:
    found: dict[str, set[Fraction]] = {}
    for gap in measure_gaps(stack_of(shop, given_as(size))):
        name = gap.name + (", board" if gap.place.startswith("board on box") else "")
        found.setdefault(name, set()).update((gap.least.inches, gap.most.inches))
    wanted = by_arithmetic(size)
    assert {name: found[name] for name in wanted} == wanted


@pytest.mark.invariant
@settings(max_examples=tries(12), deadline=None, suppress_health_check=list(HealthCheck))
@given(size=boxes(), thinner=sixteenths(1, 8))
def test_thinner_strips_raise_no_gap_but_their_own_to_the_mesh(shop: Any, size: dict[str, Any], thinner: int) -> None:
    thick = keyed(stack_of(shop, given_as(size)))
    thin = keyed(stack_of(shop, given_as(size | {"strip": max(1, size["strip"] - thinner)})))
    assert thin.keys() == thick.keys()
    raised = {key[0] for key, gap in thin.items() if gap.most > thick[key].most or gap.least > thick[key].least}
    assert raised <= {"strip to mesh"}


@pytest.mark.invariant
@settings(max_examples=tries(12), deadline=None, suppress_health_check=list(HealthCheck))
@given(size=boxes())
def test_a_design_in_millimetres_has_the_gaps_of_the_same_one_in_inches(shop: Any, size: dict[str, Any]) -> None:
    inches, metric = (stack_of(shop, given_as(size, unit)) for unit in ("in", "mm"))
    of_both = zip(measure_gaps(metric), measure_gaps(inches), strict=True)
    near = inch("1/16") + millimetre("1/2")  # the mark on which a strip lies, and half of a rounded size
    for one, other in of_both:
        assert replace(one, least=other.least, most=other.most) == other
        assert max(abs(one.least - other.least), abs(one.most - other.most)) <= near, other
    assert {gap.least for gap in measure_gaps(metric) if gap.name == "end bar to end wall"} == {millimetre("9.525")}


# ---- what stands up past the walls -----------------------------------------------------------------


@pytest.mark.parametrize("cover", ['cover = "flat"', 'cover_skirt = "1/2"', ""], ids=["flat", "low skirt", "usual"])
def test_vent_screens_of_a_quilt_box_hold_no_cover_up(shop: Any, cover: str) -> None:
    """Screens of 2 in and more over holes of 1 in: in a box 3 1/2 high for a flat cover they end at its edge."""
    told = Told(shop, design(f'gap = "1/4"\n{cover}', BOARD + '[[make]]\nitem = "quilt box"\n'))
    assert (told.exit, told.amiss) == (0, {})
    assert told.sizes("cover on wall") == {ZERO}


def test_a_cover_on_screens_is_an_error_once_bees_pass_under_it(shop: Any) -> None:
    """A screen shifted up by hand until it stands 3/16, 4.76 mm, past the edge: a worker passes 4.05 mm."""
    *board, quilt = shop.units(design('gap = "1/4"\ncover = "flat"', BOARD + '[[make]]\nitem = "quilt box"\n'))
    (high,) = {wall.box.high[2] for wall in quilt.assembly.named("side")}
    for past, severity in (("1/8", "warning"), ("3/16", "error")):
        placed = tuple(
            each.moved((ZERO, ZERO, high + inch(past) - each.box.high[2])) if each.part.name == "vent screen" else each
            for each in quilt.assembly.placed
        )
        by_hand = replace(quilt, assembly=replace(quilt.assembly, placed=placed))
        (found,) = [each for each in check_hives((*board, by_hand))[0] if each.code == "cover-off-the-walls"]
        assert found.severity == severity
        assert found.value == f"vent screen of the quilt box holds the cover {past} in off the walls"


@pytest.mark.parametrize("top", ['inner_cover = "3/4"', SPACED], ids=["inner cover", "spacers"])
def test_room_over_the_sugar_is_meant_up_to_what_closes_it(shop: Any, top: str) -> None:
    """The deep side of an inner cover, and the slit's height over the rim, belong to it: nothing there is too wide."""
    hives, make = (top, BOARD) if "inner" in top else ("", BOARD + top)
    stack = stack_of(shop, design(f'gap = "1/4"\n{hives}', make))
    edge = max(wall.box.high[2] for wall in stack.of(TierKind.BOARD)[0].named("side"))
    for section in bee_map(stack, bee_space()):
        for region in section.with_grade(Grade.TOO_WIDE, Grade.SLIGHTLY_WIDE):
            assert section.axis == 2 or max(v for _, v in region.patch.outer) <= edge, section.name


# ---- in the unit of the design ---------------------------------------------------------------------

METRIC_FAULTS = {
    "mesh too far": ('gap = "7"', 'mounting = "saw groove"', BOARD),
    "mesh too near": ('gap = "3"', "", BOARD),
    "strips too thick": (
        'gap = "6"', "",
        '[[make]]\nitem = ["fondant rim", "wire bottom"]\n[[make]]\nitem = "spacer strips"\nthickness = "9.6"\n',
    ),
    "rim off the edge": ('gap = "7"\nrim_width = "404"', "", BOARD),
    "sugar too high": ('gap = "7"', 'height = "50"', BOARD),
    "entrance too high": ('gap = "7"', 'notch_height = "12"\nnotch_width = "50"', BOARD),
    "cover too small": ('gap = "7"\ncover_clearance = "1"\nrim_width = "418"', "", BOARD),
    "skirt before it": ('gap = "7"\ncover_skirt = "64"\ncover_clearance = "2"', "", BOARD),
    "way too wide": ('gap = "15"', "", '[[make]]\nitem = "quilt box"\nskirt = "80"\nheight = "90"\n'),
    "not measured": ("", "", BOARD),
}  # fmt: skip


@pytest.mark.parametrize("fault", METRIC_FAULTS)
def test_findings_of_a_metric_design_are_told_in_millimetres(shop: Any, fault: str) -> None:
    """What was found and what to do about it; limits and sources stay in the words of their rows."""
    hives, board, make = METRIC_FAULTS[fault]
    told = Told(shop, design(f'width = "408"\n{hives}', make, board).replace('unit = "in"', 'unit = "mm"'))
    assert told.amiss
    assert {"10-frame 408 mm measured" in each["place"] for each in told.findings.values()} == {True}
    lengths = 0
    for code, each in told.findings.items():
        words = f"{each['value']} {each['change']}"
        assert not re.search(r"\d in\b(?! \d)", words.replace("hives in 100", "")), (code, words)
        lengths += len(re.findall(r"\d mm\b", words))
    assert lengths
