"""Tolerance and wood movement, as it is printed, as plain values, and as a chapter of the packet."""

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from woodshop.cli import main
from woodshop.design.batch import Batch
from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.make_units import make_units
from woodshop.design.settle.settle import settle
from woodshop.documents.report.variation import variation_chapter
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.values.model import Block, Document, Heading, KeepTogether, Paragraph, Section, Table
from woodshop.findings import Report
from woodshop.plan.values import PlannedBatch

DESIGN = """
format = "woodshop-design/2"
batch = "few"
unit = "{unit}"
lumberyard = "{lumberyard}"
[saw]
mark = "1/16 in"
[tolerance]
gap = "1/16 in"
[moisture]
winter = "30 F, 85 %"
[[hives]]
name = "nucs"
frames = 5
count = 4
boxes = ["deep", "deep"]
gap = ["1/4 in", "5/16 in", "1/4 in"]
[[make]]
item = ["fondant rim", "wire bottom", "spacer strips", "vent spacers"]
"""


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory, designs: Path) -> dict[str, Path]:
    """A design in inches and the same in millimetres."""
    folder = tmp_path_factory.mktemp("moves")
    made = {}
    for unit in ("in", "mm"):
        made[unit] = folder / f"few-{unit}.toml"
        made[unit].write_text(DESIGN.format(unit=unit, lumberyard=designs / "creekside-lumberyard.toml"))
    return made


def run(*words: object) -> Any:
    result = CliRunner().invoke(main, [str(word) for word in words])
    assert result.exit_code == 0, result.output
    return result


def batch_of(path: Path) -> Batch:
    design = read_design(path)
    return settle(design, read_lumberyards(design.lumberyards))


@pytest.fixture(scope="module")
def told(files: dict[str, Path]) -> dict[str, Any]:
    values: dict[str, Any] = json.loads(run("check", files["in"], "--moves", "--json").stdout)["moves"]
    return values


def test_plain_values_hold_every_gap_with_its_chain(told: dict[str, Any]) -> None:
    (hives,) = told["hives"]
    assert hives["hives"] == ["nucs, 5-frame 9"]
    assert (hives["count"], hives["drawn"]) == (4, 1_000_000)
    mesh = next(gap for gap in hives["gaps"] if gap["name"] == "mesh over top bars")
    assert mesh["chains"][0]["coefficients"]["gap over the top bars, box 2"] == "1"
    assert mesh["until"] == ["strip to mesh"]
    assert 0 < mesh["below"] + mesh["above"] <= hives["outside"] < 1
    beneath = next(gap for gap in hives["gaps"] if gap["name"] == "bottom bar to top bar beneath")
    assert float(beneath["winter"]) > 0.5
    assert not beneath["own"]
    assert {each["key"] for each in told["what_if"]} >= {"tolerance, gap", "tolerance, saw", "moisture, winter"}


def test_what_is_printed_says_the_same(files: dict[str, Path], told: dict[str, Any]) -> None:
    lines = run("check", files["in"], "--moves").stdout.splitlines()
    assert "Tolerance and wood movement" in lines
    outside = told["hives"][0]["outside"]
    assert any(
        f"{outside:.1%}".replace("%", " in 100") in line and "Hives with a gap of ours" in line for line in lines
    )
    assert any(line.startswith("Beyond what the sources cover: ") for line in lines)
    assert any("tolerance, gap" in line and "plus or minus 1/8 in" in line for line in lines)
    assert not any(line.startswith("Gaps, calculated") for line in lines)


def test_without_the_option_only_a_finding_speaks_of_it(files: dict[str, Path]) -> None:
    text = run("check", files["in"], "--gaps").stdout
    assert "Tolerance and wood movement\n" not in text
    assert "Gaps, calculated" in text
    assert "gaps-vary" in text
    assert "moves" not in json.loads(run("check", files["in"], "--json").stdout)


def test_strays_can_be_explained_with_their_rows(files: dict[str, Path]) -> None:
    text = run("check", files["in"], "--explain", "gaps-vary").stdout
    assert "tolerance.gap = 1/32 in" in text
    assert "moisture.winter = 14.2 %" in text


def planned(path: Path) -> PlannedBatch:
    batch = batch_of(path)
    return PlannedBatch(
        batch=batch, units=make_units(batch), plans=(), purchases=(), unpriced=(), costs=(), report=Report()
    )


def flat(blocks: Any) -> list[Block]:
    found: list[Block] = []
    for block in blocks:
        found += flat(block.blocks) if isinstance(block, KeepTogether) else [block]
    return found


def test_the_chapter_holds_both_tables_and_what_if(files: dict[str, Path]) -> None:
    blocks = flat(variation_chapter(planned(files["in"])).blocks)
    heads = [block.text for block in blocks if isinstance(block, Heading)]
    assert heads == ["nucs, 5-frame 9: 4 hives", "If the defaults are wrong"]
    own, theirs, ifs = (block for block in blocks if isinstance(block, Table))
    assert any(row[0] == "mesh over top bars, box 2" for row in own.rows)
    assert any(row[0] == "bottom bar to top bar beneath" for row in theirs.rows)
    assert any(row[0] == "tolerance, gap" for row in ifs.rows)
    assert write_pdf(
        Document("t", "s", (Section("", tuple(variation_chapter(planned(files["in"])).blocks)),))
    ).startswith(b"%PDF")


def test_a_design_in_millimetres_is_told_in_them(files: dict[str, Path]) -> None:
    """Every length of the tables; of the boxes, which no default of ours makes, the very same hives outside."""
    inches, metric = (flat(variation_chapter(planned(files[unit])).blocks) for unit in ("in", "mm"))
    (_, theirs_in, *_), (own_mm, theirs_mm, *_) = (
        [block for block in each if isinstance(block, Table)] for each in (inches, metric)
    )
    limits = [
        (row[0], row[-1].partition(" (")[2].removesuffix(")")) for row in theirs_mm.rows
    ]  # as their source has it
    assert limits == [(row[0], row[-1]) for row in theirs_in.rows]
    assert all(" mm (" in row[-1] for row in theirs_mm.rows)
    assert all(row[n].endswith(" mm") for row in own_mm.rows for n in (1, 2, 3, 4))
    said = [block.text for block in metric if isinstance(block, Paragraph)]
    assert not any(" in;" in text for text in said)


def test_no_chapter_where_nothing_stands_on_hives(files: dict[str, Path]) -> None:
    """A gauge alone is put on no hive."""
    path = files["in"].with_name("gauge.toml")
    path.write_text(
        files["in"]
        .read_text()
        .replace('["fondant rim", "wire bottom", "spacer strips", "vent spacers"]', '"bee-space gauge"')
    )
    assert variation_chapter(planned(path)).blocks == ()
    values = json.loads(run("check", path, "--moves", "--json").stdout)["moves"]
    assert values["hives"] == []
    assert "Tolerance and wood movement" not in run("check", path, "--moves").stdout
