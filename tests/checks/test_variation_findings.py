"""What the report says of strays and damp, what if a default is wrong, and the two tables of a design."""

from dataclasses import replace
from pathlib import Path

import pytest

from tests.checks.few_hives import batch_of, findings_of, one_of
from woodshop.checks.variation import MovedHives, Moves, check_moves, in_a_hundred, moves_of, what_if
from woodshop.design.batch import Batch
from woodshop.design.make_units import make_units
from woodshop.design.schema import Default
from woodshop.design.settings.tolerances import KEYS, Damp, ToleranceTables, damp, settled_tolerances
from woodshop.engineering.wood import species
from woodshop.errors import InputError
from woodshop.findings import Severity
from woodshop.hive.gaps.grading import bee_space
from woodshop.hive.variation.sizes import Work
from woodshop.reference.facts import fact
from woodshop.units.lengths import inch, millimetre
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


# ---- findings -----------------------------------------------------------------------------------------------------


def test_a_report_tells_strays_in_one_line(designs: Path) -> None:
    """A careless shop: one note, with how many hives and the sizes that matter; a careful one: none."""
    for careless, cause in (
        ('saw = "1/8"', "thickness of the strips ("),
        ('saw = "1/64"\ngap = "1/8"', "gap over the top bars, box 1 ("),
    ):
        note = findings_of(batch_of(designs, more=f"[tolerance]\n{careless}"))["gaps-vary"]
        assert note.severity is Severity.NOTE
        assert "hives in 100 will have a gap outside its limits" in note.value
        assert cause in note.change
    tables = "[tolerance]\n" + "\n".join(f'{key} = "1/64"' for key in ("saw", "tape", "board", "gap", "box", "frame"))
    assert "gaps-vary" not in findings_of(batch_of(designs, more=tables))


def test_wood_that_takes_a_gap_of_ours_past_its_limit_is_a_warning(designs: Path) -> None:
    """A rim of wet wood, just over its sugar: by a dry winter it has shrunk, and the sugar holds the cover off it.

    Of dry wood nothing is said.
    """
    setting = make_units(batch_of(designs))[0].line.setting
    height = (setting.mesh_top + setting.depth).up_to(inch("1/64"))
    board = f'height = "{height.number()}"'
    dry = 'measured = "6 %"\nwinter = "6 %"\nsummer = "6 %"'
    wet, cured = (
        findings_of(batch_of(designs, board=board, more=f'[moisture]\nshop = "{shop}"\n{dry}'))
        for shop in ("29 %", "6 %")
    )
    found = wet["wood-breaks-limit"]
    assert found.severity is Severity.WARNING
    assert found.value.startswith("cover on wall: 0.00 in when made, 0.10 in in winter")
    assert found.limits == "at most 1/16 in off the wall"
    assert "wood-breaks-limit" not in cured


def test_wood_that_takes_a_gap_of_theirs_past_its_limit_is_a_note(designs: Path) -> None:
    """Frames measured in a wet spring and dried out by summer: what was bee space beside them is wide."""
    wet = '[moisture]\nshop = "20 %"\nmeasured = "20 %"\nwinter = "20 %"\nsummer = "4 %"\n'
    found = findings_of(batch_of(designs, more=wet))["wood-moves"]
    assert found.severity is Severity.NOTE
    assert "in summer" in found.value
    assert found.limits == "1/4 to 3/8 in"


def test_own_and_their_changes_have_their_own_severity(few: Batch, moves: Moves) -> None:
    """Made up: every gap is taken past its limit by the wood. Ours are a warning, theirs a note, one line of each."""
    of, _ = one_of(few)
    far = millimetre(500)
    gaps = tuple(replace(gap, winter=gap.made + far) for gap in moves.gaps if gap.limits.holds(gap.made))
    found = check_moves([MovedHives(("few",), 4, of, replace(moves, gaps=gaps, outside=0.0))], Wording("mm"))
    assert [(each.code, each.severity) for each in found] == [
        ("wood-breaks-limit", Severity.WARNING),
        ("wood-moves", Severity.NOTE),
    ]
    assert all("mm in winter" in each.value and "more gaps" in each.value for each in found)


@pytest.mark.parametrize(
    ("share", "words"),
    [(0.0, "under 1 hive in 100"), (0.005, "1 hive in 100"), (0.0149, "1 hive in 100"), (0.2, "20 hives in 100")],
)
def test_shares_in_words(share: float, words: str) -> None:
    assert in_a_hundred(share) == words


def test_estimates_are_rounded_in_the_unit_of_the_design() -> None:
    assert [Wording().about(inch(x)) for x in ("1/8", "-1/8", "3")] == ["0.13 in", "-0.12 in", "3.00 in"]
    assert Wording("mm").about(inch("1/8")) == "3.2 mm"


def test_what_if_changes_each_default_by_itself(few: Batch, moves: Moves) -> None:
    """Every tolerance, and winter both ways; here the saw that cuts the strips and the gap measured matter most."""
    of, tolerances = one_of(few)
    found = what_if(MovedHives(("few",), 4, of, moves), tolerances, LIMITS, "in")
    assert sorted(each.key for each in found) == sorted(
        [*(f"tolerance, {key}" for key in KEYS), "moisture, winter", "moisture, winter"]
    )
    by_key = {each.key: each for each in found}
    assert by_key["tolerance, saw"].outside > moves.outside + 0.01
    assert by_key["tolerance, gap"].outside > moves.outside + 0.005
    assert by_key["tolerance, gap"].instead == "plus or minus 1/16 in"
    assert by_key["tolerance, frame"].outside == pytest.approx(moves.outside, abs=0.005)


# ---- the two tables -----------------------------------------------------------------------------------------------


def test_a_beginner_gives_nothing_and_every_default_is_listed() -> None:
    listed: list[Default] = []
    settled_tolerances(ToleranceTables(), "in", listed)
    tolerances = [each for each in listed if each.where == "tolerance"]
    assert len(tolerances) == 9
    assert all(fact(f"tolerance.{each.name}").value in each.value for each in tolerances)
    moisture = {each.name: each.value for each in listed if each.where == "moisture"}
    assert set(moisture) == {"species", "boxes_species", "shop", "measured", "winter", "summer"}
    assert moisture["shop"] == "7.7 % (air of 70 F, 40 %)"
    assert all(each.source for each in listed)


def test_what_is_given_is_taken(designs: Path) -> None:
    tables = '[tolerance]\nsaw = "1/64"\n[moisture]\nspecies = "Western redcedar"\nwinter = "2 C, 85 %"'
    batch = batch_of(designs, more=tables)
    assert batch.conditions.tolerances is not None
    assert dict(batch.conditions.tolerances.reach)[Work.SAW] == inch("1/64")
    assert (
        batch.conditions.tolerances.moisture.species
        == batch.conditions.tolerances.moisture.boxes_species
        == "western_redcedar"
    )
    assert batch.conditions.tolerances.moisture.winter.percent == pytest.approx(18.5, abs=0.05)
    listed = {(each.where, each.name) for each in batch.defaults}
    assert ("tolerance", "saw") not in listed
    assert ("moisture", "winter") not in listed
    assert ("moisture", "boxes_species") in listed


def test_air_and_meter_are_read() -> None:
    assert damp("12 %", "x") == Damp("12 %", 12.0)
    assert damp("70 F, 50 %", "x").percent == pytest.approx(damp("21.1 C 50%", "x").percent, abs=0.06)
    assert damp("-20 C, 80 %", "x").beyond
    assert not damp("70 F, 50 %", "x").beyond


@pytest.mark.parametrize(
    ("tables", "said"),
    [
        ('[moisture]\nshop = "warm"', "moisture, shop: given 'warm'"),
        ('[moisture]\nshop = "60 %"', "a moisture content of 1 to 30 %"),
        ('[moisture]\nwinter = "300 F, 50 %"', "-40 to 140 F, and 1 to 100 %"),
        ('[moisture]\nspecies = "teak"', "one of eastern_white_pine"),
        ('[moisture]\nboxes_species = "westren redcedar"', "Did you mean 'western_redcedar'"),
        ('[tolerance]\nsaw = "3"', "tolerance, saw: given 3 in; wanted 0 to 1/2 in"),
        ('[tolerance]\nsow = "1/32"', "Did you mean 'saw'?"),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(designs: Path, tables: str, said: str) -> None:
    with pytest.raises(InputError) as told:
        batch_of(designs, more=tables)
    assert said in str(told.value)


def test_all_faults_of_both_tables_are_told_at_once(designs: Path) -> None:
    with pytest.raises(InputError) as told:
        batch_of(designs, more='[tolerance]\nsaw = "3"\ntape = "4"\n[moisture]\nshop = "x"\nspecies = "teak"')
    assert len(told.value.problems) == 4


def test_species_of_the_tables_are_those_of_the_rows() -> None:
    assert species(fact("moisture.species").value).name == "Eastern white pine"


@pytest.mark.parametrize("key", KEYS)
def test_any_tolerance_that_is_read_can_be_worked_out(designs: Path, key: str) -> None:
    """Half an inch either way, where strips are a quarter thick: no size may end the check."""
    batch = batch_of(designs, more=f'[tolerance]\n{key} = "1/2"', makes='[[make]]\nitem = "vent spacers"')
    of, tolerances = one_of(batch)
    found = moves_of(of, tolerances, LIMITS, count=2000, theirs=True)
    assert 0 <= found.outside <= 1
    assert what_if(MovedHives(("few",), 4, of, found), tolerances, LIMITS, "in")
