"""One unit measured: its gaps against arithmetic by hand, its findings, and files that are wrong."""

import json
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tests.checks.few_hives import batch_of
from tests.shop_folder import still
from woodshop.checks.check_batch import check_made, measured_batch
from woodshop.checks.first_article import MeasuredUnit, measured_unit, sizes_of
from woodshop.cli import main
from woodshop.design.batch import Batch
from woodshop.design.make_units import make_units, units_by_hives
from woodshop.design.measured_files import UnitFile, read_unit_file
from woodshop.documents.answers.hives import blank_file
from woodshop.errors import InputError
from woodshop.units.lengths import Length, inch

RABBET, LUG, GAP = "height of the mesh rabbet", "thickness of the lugs, box 1", "gap over the top bars, box 1"
THIN = {"spacer_strips": {"thickness of the strips": inch("1/16")}}


@pytest.fixture(scope="module")
def few(designs: Path) -> Batch:
    return batch_of(
        designs, board='mounting = "flush rabbet"\nrabbet_height = "1/4"', makes='[[make]]\nitem = "quilt box"'
    )


def one_of(few: Batch, **items: dict[str, Length]) -> MeasuredUnit:
    measured = {item.replace("_", " "): sizes for item, sizes in items.items()}
    return measured_unit(few, make_units(few), UnitFile("unit.toml", None, measured))


def gaps(one: MeasuredUnit, name: str) -> set[Length]:
    _, groups = check_made(one.batch, one.units)
    ((_, measured),) = groups[0].alternatives
    return {gap.least for _, hive in measured for gap in hive.gaps if gap.name == name}


def nominal(few: Batch) -> dict[str, dict[str, Length]]:
    (group,) = units_by_hives(make_units(few)).values()
    return {item: {name: size.nominal for name, size in sizes.items()} for item, sizes in sizes_of(group).items()}


# ---- what is measured of the unit ---------------------------------------------------------------------------------


@pytest.mark.invariant
@pytest.mark.parametrize("off", ["-1/16", "1/32"])
def test_a_rabbet_off_by_so_much_moves_the_mesh_by_just_as_much(few: Batch, off: str) -> None:
    """The mesh lies against the upper face of its rabbet: by hand, the gap under it moves with that face.

    The strips are thin ones here, that hold nothing up.
    """
    by = inch(off)
    size = nominal(few)["fondant rim"][RABBET]
    (before,) = gaps(one_of(few, fondant_rim={RABBET: size}, **THIN), "mesh over top bars")
    (after,) = gaps(one_of(few, fondant_rim={RABBET: size + by}, **THIN), "mesh over top bars")
    assert after - before == by


@pytest.mark.invariant
def test_all_sizes_as_designed_give_what_a_plain_check_gives(few: Batch) -> None:
    _, plain, _ = measured_batch(few)
    one = measured_unit(few, make_units(few), UnitFile("unit.toml", None, nominal(few)))
    report, groups = check_made(one.batch, one.units)
    assert report == plain
    _, _, as_designed = measured_batch(few)
    assert [each.alternatives for each in groups] == [each.alternatives for each in as_designed]


@pytest.mark.invariant
def test_a_gap_measured_over_thicker_lugs_is_the_gap(few: Batch) -> None:
    """The gap was measured on those lugs; without it, a thicker lug takes from it just what it is thicker."""
    lug, gap = nominal(few)["hive"][LUG], nominal(few)["hive"][GAP]
    thick, sixteenth = lug + inch("1/16"), inch("1/16")
    (before,) = gaps(one_of(few, hive={GAP: gap}, **THIN), "mesh over top bars")
    for sizes, after in (
        ({LUG: thick}, before - sixteenth),
        ({LUG: thick, GAP: gap}, before),
        ({LUG: thick, GAP: gap - sixteenth}, before - sixteenth),
    ):
        assert gaps(one_of(few, hive=sizes, **THIN), "mesh over top bars") == {after}


def test_what_is_measured_reaches_checks_of_a_thing_alone(few: Batch) -> None:
    """A low rim: sugar over its edge is an error of the rim itself, not of a gap."""
    one = one_of(few, fondant_rim={"height of the rim": inch("1 1/2")})
    report, _ = check_made(still(one.batch), one.units)
    assert "sugar-too-high" in {finding.code for finding in report.findings}


def test_a_mesh_that_lies_too_low_is_an_error(few: Batch) -> None:
    size = nominal(few)["fondant rim"][RABBET]
    one = one_of(few, fondant_rim={RABBET: size / 4})
    report, _ = check_made(still(one.batch), one.units)
    assert report.findings != measured_batch(still(few))[1].findings


def test_only_a_rim_made_its_mesh_moves_with_the_rabbet(designs: Path) -> None:
    rim = batch_of(designs, board='mounting = "flush rabbet"')
    lines = tuple(line for line in rim.lines if line.item.name != "wire bottom")
    rim = replace(rim, lines=lines)
    size = nominal(rim)["fondant rim"][RABBET]
    (before,) = gaps(one_of(rim, fondant_rim={RABBET: size}), "mesh over top bars")
    (after,) = gaps(one_of(rim, fondant_rim={RABBET: size - inch("1/32")}), "mesh over top bars")
    assert before - after == inch("1/32")


# ---- files --------------------------------------------------------------------------------------------------------


def read(text: str, folder: Path, few: Batch) -> MeasuredUnit:
    path = folder / "unit.toml"
    path.write_text(text, encoding="utf-8")
    return measured_unit(few, make_units(few), read_unit_file(path, few.unit))


HEAD = 'format = "woodshop-unit/1"\n'


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "no format line"),
        ('format = "woodshop-design/2"', 'format = "woodshop-unit/1"'),
        (HEAD, "measured"),
        (HEAD + "[measured]", "one size measured, or more"),
        (HEAD + 'measured = "all"', "a table"),
        (HEAD + '[measured."fondant rim"]\n"height of the rim" = "2 1/2 furlongs"', "a length such as"),
        (HEAD + '[measured."fondant rim"]\n"height of the rim" = "-2"', "height of the rim"),
        (HEAD + '[measured."fondant rim"]\n"height of the rim" = "0"', "more than 0"),
        (HEAD + '[measured."fondant rim"]\n"height of the rim" = "9"', "at most twice the design size of 3 1/2 in"),
        (HEAD + '[measured."fondant rim"]\n"hight of the rim" = "2"', "Did you mean 'height of the rim'?"),
        (HEAD + '[measured."fondant rim"]\n"height of the quilt box" = "5"', "It is a size of 'quilt box'"),
        (HEAD + '[measured."fondant rims"]\n"height of the rim" = "2"', "Did you mean 'fondant rim'?"),
        (HEAD + '[measured.hive]\n"gap over the top bars, box 1" = "1 1/2"', "gap over the top bars, 0 in to 1 in"),
        (HEAD + 'hives = "tens"\n[measured.hive]\n"height of box 1" = "9 5/8"', "'tens'"),
        (HEAD + 'unit = "cm"\n[measured.hive]\n"height of box 1" = "9 5/8"', "'in'"),
        (HEAD + 'who = "I"\n[measured.hive]\n"height of box 1" = "9 5/8"', "unknown key"),
    ],
)
def test_what_is_wrong_with_a_file_is_one_error(text: str, says: str, tmp_path: Path, few: Batch) -> None:
    with pytest.raises(InputError) as why:
        read(text, tmp_path, few)
    assert len(why.value.problems) == 1
    problem = why.value.problems[0]
    assert says in str(problem)
    assert problem.where.startswith("unit.toml")


def test_every_problem_is_told_at_once(tmp_path: Path, few: Batch) -> None:
    text = HEAD + '[measured."fondant rim"]\n"height" = "2"\n"height of the rim" = "22"\n[measured.cover]\n"a" = "1"'
    with pytest.raises(InputError) as why:
        read(text, tmp_path, few)
    assert len(why.value.problems) == 3


def test_sizes_that_no_part_can_have_are_refused(tmp_path: Path, few: Batch) -> None:
    """A wall lower than the rabbet in it is none."""
    text = HEAD + '[measured."fondant rim"]\n"height of the rim" = "1/64"'
    with pytest.raises(InputError, match="leave a part with none"):
        read(text, tmp_path, few)


@pytest.mark.invariant
def test_the_sheet_filled_in_as_designed_is_the_design(tmp_path: Path, few: Batch) -> None:
    """Every line of the sheet taken up as it stands is read back as the size designed."""
    text = blank_file(make_units(few), few.unit)
    assert tomllib.loads(text)["format"] == "woodshop-unit/1"
    filled = "\n".join(line.removeprefix("# ") if line.startswith('# "') else line for line in text.splitlines())
    one = read(filled, tmp_path, few)
    assert len(one.sizes) > 20
    assert all(size.nominal == length for _, size, length in one.sizes)


# ---- the command --------------------------------------------------------------------------------------------------


def run(*args: object) -> Result:
    return CliRunner().invoke(main, [str(each) for each in args])


def test_the_command_tells_the_unit(designs: Path) -> None:
    found = run("check", designs / "hobby-batch.toml", "--measured", designs / "first-board.toml")
    assert found.exit_code == 0, found.output
    assert "One unit measured: house tens" in found.output
    assert "strip-bows-mesh" in found.output
    assert "orchard" not in found.output


def test_a_unit_with_errors_exits_with_one(designs: Path, tmp_path: Path) -> None:
    """Strips twice as thick hold the board 3/16 in off the walls: bees and mice walk under it."""
    unit = tmp_path / "unit.toml"
    unit.write_text(HEAD + 'hives = "orchard tens"\n[measured."spacer strips"]\n"thickness of the strips" = "7/16"')
    found = run("check", designs / "hobby-batch.toml", "--measured", unit, "--json")
    assert found.exit_code == 1
    told = json.loads(found.stdout)
    (size,) = told["measured"]["sizes"]
    assert (size["designed"], size["measured"], size["off"]) == ("7/32", "7/16", "7/32")
    assert {gap["hives"][0] for gap in told["gaps"]} == {"orchard tens, 10-frame 16"}
    unit.write_text(HEAD + '[measured."spacer strips"]\n"thickness of the strips" = "1/4"')
    found = run("check", designs / "hobby-batch.toml", "--measured", unit)
    assert found.exit_code == 3
    assert "'house tens', 'orchard tens', 'orchard eights'" in found.stderr


def test_the_sheet_is_written_once(designs: Path, tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.toml"
    assert run("check", designs / "hobby-batch.toml", "--sheet", sheet).exit_code == 0
    text = sheet.read_text(encoding="utf-8")
    assert '# hives = "orchard eights"' in text
    assert run("check", designs / "hobby-batch.toml", "--sheet", sheet).exit_code == 3
    assert sheet.read_text(encoding="utf-8") == text
