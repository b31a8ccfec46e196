"""How damp wood is and how sizes stray agree with print; chains of a hive with sums that keepers print of it."""

from dataclasses import replace
from fractions import Fraction

import pytest

from tests.outside.shrinkage import coefficient_from_shrinkage
from woodshop.engineering.wood import species_names
from woodshop.hive.gaps.gaps import measure_gaps
from woodshop.hive.stacking.stack import Woodenware
from woodshop.hive.variation.chains import GapLine, lines_at
from woodshop.hive.variation.sizes import HiveBuild, remade
from woodshop.hive.woodenware.bottom import BottomBoard
from woodshop.hive.woodenware.box import HiveBox, TopBar, frame_for
from woodshop.reference import facts
from woodshop.reference.facts import fact
from woodshop.reference.patterns import find_pattern
from woodshop.units.lengths import Length, inch

BURLINGTON = "W. T. Simpson, FPL-RN-0268 (1998): Burlington, Vermont, 11.7 to 14.2 %, as quoted on WoodWeb"
PRINTED = {"moisture.winter": "14.2", "moisture.summer": "11.7"}
STANDARD = "MIL-STD-105E (1989), Table I, general level II, and Table II-A, as secondary sources print them"
SAMPLES = {8: 2, 15: 3, 25: 5, 50: 8, 90: 13, 150: 20, 280: 32, 500: 50, 1200: 80, 3200: 125, 10000: 200}
EYPASCH = "Eypasch et al., Probability of adverse events that have not yet occurred, BMJ 311 (1995): 3/n"


def _agrees(key: str) -> bool:
    return fact(key).number * 100 == Fraction(PRINTED[key])


def _sample_agrees(lot: int) -> bool:
    return fact(f"sample.lot_{lot}").number == SAMPLES[lot]


@pytest.mark.outside(STANDARD)
@pytest.mark.parametrize("lot", SAMPLES)
def test_samples_of_a_lot_agree_with_print_and_a_hundredth_off_is_caught(
    lot: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert _sample_agrees(lot)
    _nudged(monkeypatch, f"sample.lot_{lot}")
    assert not _sample_agrees(lot)


@pytest.mark.outside(EYPASCH)
def test_the_rule_of_three_is_of_three(monkeypatch: pytest.MonkeyPatch) -> None:
    assert fact("sample.rule_of_three").number == 3
    _nudged(monkeypatch, "sample.rule_of_three")
    assert fact("sample.rule_of_three").number != 3


def _nudged(monkeypatch: pytest.MonkeyPatch, key: str) -> None:
    rows = {row.key: row for row in facts.all_facts()}
    off = replace(rows[key], value=repr(float(rows[key].number) * 1.01))
    monkeypatch.setattr(facts, "_facts", lambda: {**rows, key: off})


@pytest.mark.outside(BURLINGTON)
@pytest.mark.parametrize("key", PRINTED)
def test_damp_of_a_season_agrees_with_print(key: str) -> None:
    """The dampest and the driest month of one place."""
    assert _agrees(key)


@pytest.mark.parametrize("by", [Fraction(101, 100), Fraction(99, 100)], ids=["more", "less"])
@pytest.mark.parametrize("key", PRINTED)
def test_a_season_nudged_is_caught(key: str, by: Fraction, monkeypatch: pytest.MonkeyPatch) -> None:
    """A row that is one part in a hundred off, either way."""
    rows = {row.key: row for row in facts.all_facts()}
    off = replace(rows[key], value=f"{float(fact(key).number * 100 * by)!r} %")
    monkeypatch.setattr(facts, "_facts", lambda: {**rows, key: off})
    assert not _agrees(key)


def test_every_published_row_of_the_table_is_guarded() -> None:
    samples = {f"sample.lot_{lot}" for lot in SAMPLES} | {"sample.rule_of_three"}
    assert set(PRINTED) | samples == {row.key for row in facts.facts_in("strays") if row.origin == "published"}


@pytest.mark.outside("Wood Handbook, FPL-GTR-190 (2010), Tables 4-3 and 13-5, joined by the start of shrinking")
@pytest.mark.parametrize("by", [1.01, 0.99], ids=["more", "less"])
@pytest.mark.parametrize("id", species_names())
def test_a_start_of_shrinking_nudged_parts_the_two_tables(id: str, by: float) -> None:
    """The start is remembered, not read: but a hundredth off it the printed shrinkage gives other coefficients."""
    start = float(fact(f"wood.starts_{id}").number * 100)
    off = []
    for way in ("radial", "tangential"):
        shrinkage = float(fact(f"wood.shrinkage_{way}_{id}").number * 100)
        printed = float(fact(f"wood.{way}_{id}").number)
        assert abs(coefficient_from_shrinkage(shrinkage, start) - printed) < 0.000006
        off.append(abs(coefficient_from_shrinkage(shrinkage, start * by) - printed))
    assert max(off) >= 0.000006


# ---- chains -------------------------------------------------------------------------------------------------------


def two_deeps(height: str) -> HiveBuild:
    """Two ten-frame deeps of that height, 16 1/4 in wide, frames 9 1/8 in deep, bars 1/4 in below the edge."""
    bar = TopBar(inch(19), inch("1 1/16"), inch("3/4"), inch("3/8"), inch("1 3/8"))
    box = HiveBox(
        "ten",
        10,
        inch("19 7/8"),
        width=inch("16 1/4"),
        height=inch(height),
        wall=inch("3/4"),
        gap=inch("1/4"),
        rest=inch("3/8"),
        bar=bar,
    )
    frame = frame_for(box, inch("9 1/8"), find_pattern("Langstroth"))
    bottom = BottomBoard(box.length, box.width, box.wall, entrance_height=inch("3/4"), entrance_width=box.inside_width)
    return HiveBuild("deeps", Woodenware(((box, frame), (box, frame)), bottom))


def line_of(build: HiveBuild, name: str, place: str) -> GapLine:
    return next(line for (n, p, _), (_, line) in lines_at(build, {}).items() if (n, p) == (name, place))


BETWEEN = ("bottom bar to top bar beneath", "box 1 to box 2")


@pytest.mark.outside(
    "Beesource forum, Building Hives: deeps of 9 5/8 in leave 1/2 in between frames; 9 1/2 in would leave 3/8; "
    "heights of 9 19/32 (The Hive and the Honey Bee) and 9 9/16 (Kelley) lie between"
)
@pytest.mark.parametrize(
    ("height", "left"), [("9 5/8", "1/2"), ("9 19/32", "15/32"), ("9 9/16", "7/16"), ("9 1/2", "3/8")]
)
def test_gap_between_stacked_deeps(height: str, left: str) -> None:
    """By the chain of the highest box, its height strayed to the other: as by a box made so, measured."""
    build = two_deeps("9 5/8")
    line = line_of(build, *BETWEEN)
    by = {f"height of box {n}": inch(height) - inch("9 5/8") for n in (1, 2)}
    assert line.at(by) == inch(left)
    assert gap_of(two_deeps(height)) == gap_of(remade(build, by)) == inch(left)


def gap_of(build: HiveBuild) -> Length:
    return next(g.least for g in measure_gaps(build.stack) if (g.name, g.place) == BETWEEN)


@pytest.mark.outside(
    "Beesource forum, Why is a Langstroth body the width that it is: ten frames of 1 3/8 in make 13 3/4, and leave "
    "about 1 in of 14 3/4"
)
def test_room_beside_ten_frames() -> None:
    """Half an inch at each side; end bars a 32nd too wide, ten times over, take 5/16 of the inch."""
    line = line_of(two_deeps("9 5/8"), "outer end bar to side wall", "box 2, left")
    assert line.nominal * 2 == inch(1)
    wider = {"width of the end bars, box 2": inch("1/32")}
    assert (line.nominal - line.at(wider)) * 2 == inch("5/16")


@pytest.mark.outside("Roy Hendrickson, The Bee Space, Bee Culture 2016: makers' box depths differ by 1/4 in or more")
def test_heights_of_two_makers_span_what_was_seen() -> None:
    """Either way from the middle by half of it."""
    assert fact("tolerance.box_height").length * 2 == fact("box.maker_tolerance").length == inch("1/4")
