"""What moves the gaps: damp and strays against the hive made again, the findings they give, and the two tables."""

import random
from dataclasses import replace
from fractions import Fraction
from math import sqrt
from pathlib import Path

import pytest

from tests.checks.few_hives import batch_of, findings_of, one_of
from tests.nightly import tries
from woodshop.checks import variation as hive_variation
from woodshop.checks.variation import (
    MovedHives,
    Moves,
    check_moves,
    deviation,
    moved_hives,
    moves_of,
    reach_of,
    swelling,
)
from woodshop.design.batch import Batch
from woodshop.design.make_units import make_units
from woodshop.design.settings.tolerances import Damp
from woodshop.documents.report.variation import headline
from woodshop.engineering.wood import species
from woodshop.hive.gaps.gaps import measure_gaps
from woodshop.hive.gaps.grading import MeshSag, bee_space, grade_gap, varied_limits
from woodshop.hive.variation.sizes import Work, dimensions_of, remade
from woodshop.units.lengths import ZERO, Length, inch, millimetre
from woodshop.units.wording import Wording

LIMITS = bee_space()
QUICK = 20_000


@pytest.fixture(scope="module")
def few(designs: Path) -> Batch:
    return batch_of(designs)


@pytest.fixture(scope="module")
def moves(few: Batch) -> Moves:
    of, tolerances = one_of(few)
    return moves_of(of, tolerances, LIMITS, count=QUICK, theirs=True)


# ---- seasons ------------------------------------------------------------------------------------------------------


@pytest.mark.invariant
@pytest.mark.parametrize("season", ["winter", "summer"])
def test_each_season_is_the_hive_made_again_with_swollen_parts(few: Batch, moves: Moves, season: str) -> None:
    """Every gap at that end of the year, measured on swollen parts: exactly what its chain says."""
    of, _ = one_of(few)
    by = {name: winter if season == "winter" else summer for name, winter, summer in moves.swells}
    found = {(g.name, g.place, g.between): g.least for g in measure_gaps(remade(of.build, by).stack)}
    for gap in moves.gaps:
        assert {found[key] for key in gap.chain.keys} == {getattr(gap, season)}, gap.chain.name


@pytest.mark.invariant
@pytest.mark.parametrize("seed", range(12))
def test_damp_there_and_back_returns_every_gap(few: Batch, seed: int) -> None:
    """To any damp by winter, and by summer back to what it was: every gap as it was, to the last digit."""
    of, tolerances = one_of(few)
    some = random.Random(seed)
    start, far = (Damp("", some.uniform(5, 28)) for _ in range(2))
    there = replace(tolerances.moisture, shop=start, measured=start, winter=far, summer=start)
    found = moves_of(of, replace(tolerances, moisture=there), LIMITS, count=100)
    assert all(gap.summer == gap.made for gap in found.gaps)
    assert any(gap.winter != gap.made for gap in found.gaps)


@pytest.mark.invariant
@pytest.mark.parametrize("seed", range(6))
def test_a_swollen_hive_measured_anew_dries_to_what_it_was(few: Batch, seed: int) -> None:
    """Sizes read off the swollen hive, and reckoned back from there: off by no more than the square of the change."""
    of, tolerances = one_of(few)
    some = random.Random(seed)
    start, far = (Damp("", some.uniform(6, 20)) for _ in range(2))
    there = replace(tolerances.moisture, shop=start, measured=start)
    swollen = remade(of.build, {s.name: swelling(s, there, far)[0] for s in dimensions_of(of.build) if s.swells})
    back = replace(tolerances.moisture, shop=far, measured=far)
    dried = remade(swollen, {s.name: swelling(s, back, start)[0] for s in dimensions_of(swollen) if s.swells})
    before, after = (
        {(g.name, g.place, g.between): g.least.mm for g in measure_gaps(each.stack)} for each in (of.build, dried)
    )
    wood = species(tolerances.moisture.species)
    square = (wood.tangential * (far.percent - start.percent)) ** 2
    assert before.keys() == after.keys()
    for key, was in before.items():  # no chain here has more than 300 mm of wood across the grain in it
        assert abs(after[key] - was) <= 300 * square + 0.02, key


def test_a_rim_cut_in_a_dry_shop_swells_outdoors_and_one_cut_wet_shrinks(designs: Path) -> None:
    """The sign is not assumed: 2 1/2 in of white pine from 8 to 14 % grows by 2.5 x 0.00212 x 6 = 0.0318 in."""
    by_shop = {}
    for shop in ("8 %", "20 %"):
        low = 'height = "2 1/2"\nsugar = "2 lb"'
        batch = batch_of(designs, more=f'[moisture]\nshop = "{shop}"\nwinter = "14 %"', board=low)
        of, tolerances = one_of(batch)
        (rim,) = (size for size in dimensions_of(of.build) if size.name == "height of the rim")
        by_shop[shop] = float(swelling(rim, tolerances.moisture, tolerances.moisture.winter)[0].inches)
    assert round(by_shop["8 %"], 4) == 0.0318
    assert round(by_shop["20 %"], 4) == -0.0318


def test_along_the_grain_nothing_moves(few: Batch) -> None:
    """Lengths of sides, ends, strips, end bars and top bars; a metal or plastic thickness has no grain."""
    of, _ = one_of(few)
    still = [size.name for size in dimensions_of(of.build) if not size.swells]
    assert all(any(word in name for word in ("length", "inside", "height of the end bars")) for name in still)
    assert {"length of the rim's sides", "length of the strips", "height of the end bars, box 1"} <= set(still)


def test_two_cedars_stop_swelling_at_22_percent(designs: Path) -> None:
    """Above it the rim no longer grows; of pine it does, up to 30 %."""
    grown = {}
    for wood in ("western_redcedar", "northern_white_cedar", "eastern_white_pine"):
        batch = batch_of(designs, more=f'[moisture]\nspecies = "{wood}"')
        of, tolerances = one_of(batch)
        (rim,) = (size for size in dimensions_of(of.build) if size.name == "height of the rim")
        grown[wood] = [swelling(rim, tolerances.moisture, Damp("", at))[0] for at in (22.0, 26.0)]
    assert grown["western_redcedar"][0] == grown["western_redcedar"][1] > ZERO
    assert grown["northern_white_cedar"][0] == grown["northern_white_cedar"][1] > ZERO
    assert grown["eastern_white_pine"][0] < grown["eastern_white_pine"][1]


def test_boxes_are_reckoned_from_the_day_they_were_measured(designs: Path) -> None:
    """A deep of white pine, 9 5/8 in, from 10 to 15 %: 9.625 x 0.00212 x 5 = 0.102 in higher; its frames are not."""
    batch = batch_of(designs, more='[moisture]\nmeasured = "10 %"\nwinter = "15 %"\nsummer = "10 %"')
    of, tolerances = one_of(batch)
    found = moves_of(of, tolerances, LIMITS, count=1000)
    by = {name: (winter, summer) for name, winter, summer in found.swells}
    assert round(float(by["height of box 1"][0].inches), 3) == 0.102
    assert by["height of box 1"][1] == ZERO
    (floor,) = (gap for gap in found.gaps if gap.chain.name == "bottom bar to floor")
    entrance, height, rest = (
        by[name][0] for name in ("height of the entrance", "height of box 1", "gap over the top bars, box 1")
    )
    assert floor.winter - floor.made == entrance + height - rest


# ---- strays -------------------------------------------------------------------------------------------------------


def test_the_gap_strays_as_it_was_measured(designs: Path) -> None:
    """Three gaps a 32nd apart at most: their standard deviation, and an even reading of 1/32 in either way."""
    batch = batch_of(designs, hives='gap = ["1/4", "1/4", "9/32"]')
    of, tolerances = one_of(batch)
    sizes = dimensions_of(of.build)
    (gap,) = (size for size in sizes if size.work is Work.GAP)
    assert gap.nominal == inch("25/96")
    scatter, reading = 1 / 32 / sqrt(3), 1 / 32 / sqrt(3)
    assert float(reach_of(sizes, of, tolerances)[gap.name].inches) == pytest.approx(
        3 * sqrt(scatter**2 + reading**2), abs=1e-4
    )
    alike, tolerances = one_of(batch_of(designs, hives='gap = "1/4"'))
    assert float(reach_of(sizes, alike, tolerances)[gap.name].inches) == pytest.approx(3 * reading, abs=1e-4)


@pytest.mark.outside("JCGM 100:2008 (GUM), 4.2.2; statistics.stdev of the standard library")
def test_deviation_of_a_few_gaps() -> None:
    import statistics

    some = random.Random(7)
    for many in (2, 3, 8):
        values = [Fraction(some.randint(0, 64), 64) for _ in range(many)]
        assert deviation(values) == pytest.approx(statistics.stdev(map(float, values)))
    assert deviation([Fraction(1, 4)]) == 0


def test_a_gap_not_measured_strays_as_boxes_do(designs: Path) -> None:
    """From the table's 1/4 in up to the 3/8 in that is published too."""
    of, tolerances = one_of(batch_of(designs, hives='name = "any"'))
    sizes = dimensions_of(of.build)
    assert reach_of(sizes, of, tolerances)["gap over the top bars, box 1"] == inch("1/8")
    assert not of.is_gap_measured


def test_nothing_strays_where_nothing_may(designs: Path) -> None:
    """All tolerances 0, wood as damp as it was: no gap moves, none is drawn outside, nothing is found."""
    keys = ("saw", "tape", "rabbet", "board", "sheet", "gap", "box", "box_height", "frame")
    tables = "[tolerance]\n" + "\n".join(f'{key} = "0"' for key in keys)
    tables += '\n[moisture]\nshop = "12 %"\nmeasured = "12 %"\nwinter = "12 %"\nsummer = "12 %"'
    batch = batch_of(designs, more=tables)
    of, tolerances = one_of(batch)
    found = moves_of(of, tolerances, LIMITS, count=100, theirs=True)
    assert all(gap.made == gap.winter == gap.summer and gap.draws is None for gap in found.gaps)
    assert found.outside == 0
    assert check_moves([MovedHives(("few",), 4, of, found)], Wording("in")) == []


@pytest.mark.invariant
def test_drawn_gaps_keep_to_their_worst_case_and_the_share_of_hives_to_their_gaps(moves: Moves) -> None:
    """At least as many hives have some gap outside as have any one; at most their sum. Worst case holds three sigma."""
    own = [gap for gap in moves.gaps if gap.is_own and gap.draws and gap.limits.holds(gap.made)]
    assert max(gap.outside for gap in own) - 1e-12 <= moves.outside <= sum(gap.outside for gap in own) + 1e-12
    for gap in moves.gaps:
        if gap.draws is None or gap.by_arithmetic is None:
            continue
        least, most = float(gap.by_arithmetic.least.mm), float(gap.by_arithmetic.most.mm)
        assert least - (most - least) <= gap.draws.least <= gap.draws.most <= most + (most - least)
        if len(gap.chain.lines) == 1:
            assert gap.draws.mean == pytest.approx(
                float(gap.winter.mm), abs=5 * gap.draws.deviation / sqrt(QUICK) + 1e-9
            )
            assert gap.draws.deviation * 3 == pytest.approx(gap.by_arithmetic.root_sum_square, rel=0.05)


@pytest.mark.invariant
def test_drawn_hives_agree_with_hives_made_again(few: Batch) -> None:
    """400 hives at night with their sizes drawn here, made again and measured: as many outside as the chains say."""
    of, tolerances = one_of(few)
    found = moves_of(of, tolerances, LIMITS, count=200_000)
    some = random.Random(11)
    swollen = {name: winter for name, winter, _ in found.swells}
    wanted = {key: gap.limits for gap in found.own for key in gap.chain.keys}
    out, count = 0, tries(400)
    for _ in range(count):
        by = dict(swollen)
        for size in found.sizes:
            stray = Fraction(round(some.gauss(0, size.deviation) * 1000), 1000)
            by[size.name] = by.get(size.name, ZERO) + Length(stray)
        measured = {(g.name, g.place, g.between): g.least for g in measure_gaps(remade(of.build, by).stack)}
        out += any(not wish.holds(measured[key]) for key, wish in wanted.items())
    error = sqrt(found.outside * (1 - found.outside) / count)
    assert out / count == pytest.approx(found.outside, abs=4 * error + 0.002)


def test_what_is_outside_as_made_is_not_counted_as_strays(designs: Path) -> None:
    """Bars 1/8 in below the edge: the mesh is too near them as made, which has a finding of its own."""
    batch = batch_of(designs, hives='gap = ["1/8", "1/8", "1/8"]')
    of, tolerances = one_of(batch)
    found = moves_of(of, tolerances, LIMITS, count=QUICK, theirs=True)
    (mesh,) = (gap for gap in found.gaps if gap.chain.name == "mesh over top bars")
    assert mesh.outside > 0.9
    assert mesh not in found.own
    assert found.outside < 0.1
    assert "mesh-near-bars" in findings_of(batch)


def test_same_batch_same_moves(few: Batch, moves: Moves) -> None:
    of, tolerances = one_of(few)
    assert moves_of(of, tolerances, LIMITS, count=QUICK, theirs=True) == moves


def test_hives_that_stand_alike_are_worked_out_once(designs: Path) -> None:
    """Two groups with the same boxes and gaps are one kind; another gap makes another."""
    more = '[[hives]]\nname = "b"\nframes = 5\ncount = 3\nboxes = ["deep"]\ngap = "1/4"\n'
    more += '[[hives]]\nname = "c"\nframes = 5\ncount = 2\nboxes = ["deep"]\ngap = "5/16"\n'
    batch = batch_of(designs, hives='name = "a"\ngap = "1/4"\n' + more)
    assert batch.conditions.tolerances is not None
    found = moved_hives(make_units(batch), batch.conditions.tolerances, LIMITS, count=1000)
    assert [(each.names, each.count) for each in found] == [
        (("a, 5-frame 9", "b, 5-frame 9"), 7),
        (("c, 5-frame 9",), 2),
    ]


def test_many_kinds_share_the_hives_that_are_drawn(designs: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two kinds share 3,000; the error of fewer is printed, and never fewer than the least are drawn."""
    more = '[[hives]]\nname = "b"\nframes = 5\ncount = 3\nboxes = ["deep"]\ngap = "5/16"\n'
    batch = batch_of(designs, hives='name = "a"\ngap = "1/4"\n' + more)
    assert batch.conditions.tolerances is not None
    monkeypatch.setattr(hive_variation, "_MOST_DRAWN", 3_000)
    for least, drawn in ((1_000, 1_500), (1_700, 1_700)):
        monkeypatch.setattr(hive_variation, "_LEAST_DRAWN", least)
        found = moved_hives(make_units(batch), batch.conditions.tolerances, LIMITS, count=2_000)
        assert [each.moves.count for each in found] == [drawn, drawn]
    assert f"{drawn:,} simulated, with a standard error of " in headline(found[0])


# ---- what is wanted -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("band", ["most quoted", "six to nine"])
def test_limits_of_chains_are_those_of_the_grades(few: Batch, band: str) -> None:
    """A gap on its limit is grade_gap well, and a hair past it is not: for each kind of gap that has limits."""
    of, _ = one_of(few)
    limits, hair, sag = bee_space(band), millimetre("0.001"), inch("1/32")
    mesh = MeshSag(sag, sag)  # it comes to rest on its strips
    seen = set()
    for gap in measure_gaps(of.build.stack):
        wish = varied_limits(gap.name, gap.kind, gap.least, limits, mesh)
        if not wish.is_set or (gap.kind == "contact" and gap.name != "overhang"):
            continue
        seen.add("overhang" if gap.name == "overhang" else gap.kind)
        for end, past in ((wish.least, ZERO - hair), (wish.most, hair)):
            if end is None:
                continue
            on, off = (replace(gap, least=at, most=at) for at in (end, end + past))
            assert grade_gap(on, limits, mesh).grade.is_good is (not wish.under), gap
            assert not grade_gap(off, limits, mesh).grade.is_good, gap
            assert wish.holds(end) is (not wish.under)
            assert not wish.holds(end + past)
            assert wish.off(end + past) == hair
    assert seen == {"bees' way", "mesh over bars", "mesh on strip", "sealed", "declared", "overhang"}
