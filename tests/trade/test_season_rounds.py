"""Winter rounds: cakes that fit the room measured, the sheets' words, and the command that writes them."""

import json
import re
from datetime import date
from itertools import combinations
from pathlib import Path

import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from tests.once import nothing_kept
from woodshop.cli import main
from woodshop.design.batch import Unit
from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.make_units import make_units
from woodshop.design.settle.settle import settle
from woodshop.documents.shop.season_sheets import MITES, round_blocks, rounds_json, season_of, season_section
from woodshop.drawing.pens.section_json import section_json
from woodshop.drawing.pens.text import section_text
from woodshop.drawing.values.model import Table
from woodshop.shape.part import Role
from woodshop.trade.season.rounds import apiaries, cakes_in
from woodshop.units.lengths import ZERO, inch, pound

DESIGNS = Path(__file__).resolve().parents[2] / "designs"
LUMBERYARD = DESIGNS / "creekside-lumberyard.toml"
BOARDS = '[[make]]\nitem = ["fondant rim", "wire bottom", "spacer strips"]\n'
TEN = '[[hives]]\nname = "a"\nframes = 10\nwidth = "16 1/4"\ncount = 2\ngap = "1/4"\nsugar = "16 lb"\n'


def units_of(tmp_path: Path, text: str) -> tuple[Unit, ...]:
    head = f'format = "woodshop-design/2"\nbatch = "t"\nunit = "in"\nlumberyard = "{LUMBERYARD}"\n'
    (tmp_path / "d.toml").write_text(head + text)
    design = read_design(tmp_path / "d.toml")
    return make_units(settle(design, read_lumberyards(design.lumberyards)))


@pytest.mark.outside("Piney Woods Beekeepers: a block of 4 lb, 7 x 11 x 2 in; walls of 2 1/2 in")
def test_two_published_cakes_lie_in_a_bare_rim(tmp_path: Path) -> None:
    """By hand: 2 1/2 in on the mesh less 3/8 head room hold 2 in; 14 3/4 in across hold two of 7 in."""
    (sheet,) = apiaries(units_of(tmp_path, TEN + BOARDS))
    top = sheet.rounds[0].topup
    assert top is not None
    assert (top.lies_on, top.bare, top.thick, top.each, top.cakes) == ("the mesh", inch("2 1/2"), inch(2), pound(4), 2)
    assert top.left is not None
    assert inch("3/8") <= top.left < inch(1)
    assert top.sugar == pound(8)


def test_cakes_keep_off_channel_and_vents_and_off_each_other(tmp_path: Path) -> None:
    """Against the placed sugar, measured here: a cake lies over sugar alone, and within the walls."""
    units = units_of(tmp_path, TEN + BOARDS)
    (sheet,) = apiaries(units)
    top = sheet.rounds[0].topup
    assert top is not None
    (sugar,) = next(u for u in units if u.line.item.name == "fondant rim").assembly.with_role(Role.FILLING)
    for x0, y0, x1, y1 in top.spots:
        assert sugar.box.low[0] <= x0 < x1 <= sugar.box.high[0]
        assert sugar.box.low[1] <= y0 < y1 <= sugar.box.high[1]
        for hollow in sugar.hollows:
            assert x1 <= hollow.low[0] or hollow.high[0] <= x0 or y1 <= hollow.low[1] or hollow.high[1] <= y0
    for one, other in combinations(top.spots, 2):
        assert one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]


def test_a_lower_rim_takes_a_thinner_and_lighter_cake(tmp_path: Path) -> None:
    """By hand: 1 1/2 in less 3/8 is 1 1/8: 9/16 of a cake of 2 in and 4 lb is 2 1/4 lb."""
    low = TEN.replace('"16 lb"', '"4 lb"') + '[board]\nheight = "1 1/2"\nripped = true\n' + BOARDS
    (sheet,) = apiaries(units_of(tmp_path, low))
    top = sheet.rounds[0].topup
    assert top is not None
    assert (top.thick, top.each) == (inch("1 1/8"), pound("2.25"))


def test_floors_too_small_take_none_and_a_gap_between_vents_takes_what_fits() -> None:
    assert cakes_in((ZERO, ZERO, inch(10), inch(10)), ()) == ()
    assert len(cakes_in((ZERO, ZERO, inch(22), inch(14)), ())) == 4
    middle = (inch(11), ZERO, inch(12), inch(14))
    assert len(cakes_in((ZERO, ZERO, inch(22), inch(14)), (middle,))) == 2


def test_quilts_alone_make_no_room_and_a_feeding_shim_does(tmp_path: Path) -> None:
    (sheet,) = apiaries(units_of(tmp_path, TEN + '[[make]]\nitem = "quilt box"\n'))
    assert sheet.rounds[0].topup is None
    (sheet,) = apiaries(units_of(tmp_path, TEN + '[[make]]\nitem = "feeding shim"\n'))
    top = sheet.rounds[0].topup
    assert top is not None
    assert (top.lies_on, top.left, top.thick, top.cakes > 0) == ("the top bars", None, inch(2), True)


def test_a_sheet_for_each_customer_and_a_box_for_each_hive() -> None:
    design = read_design(DESIGNS / "ridge-club.toml")
    batch = settle(design, read_lumberyards(design.lumberyards))
    sheets = apiaries(make_units(batch))
    assert [(s.name, s.hives) for s in sheets] == [("Ines Marsh", 4), ("Chidi Okafor", 5), ("Fen Road School", 3)]
    tables = [block for block in round_blocks(sheets, None, "in") if isinstance(block, Table)]
    assert [len(table.rows) for table in tables] == [4, 5, 3]
    assert all(row[1:8] == ("[ ]",) * 7 for table in tables for row in table.rows)
    assert rounds_json(sheets, date(2026, 10, 10))["guard_day"] == date(2026, 10, 10)


def test_many_hives_do_not_fill_pages_without_end(tmp_path: Path) -> None:
    sheets = apiaries(units_of(tmp_path, TEN.replace("count = 2", "count = 900") + BOARDS))
    blocks = round_blocks(sheets, None, "in")
    assert any("700 more hives" in getattr(block, "text", "") for block in blocks)


def test_mites_appear_only_as_the_label_and_local_rules(tmp_path: Path) -> None:
    assert MITES == "Mite treatment: follow the product label and local rules."
    said = CliRunner().invoke(main, ["season", str(DESIGNS / "ridge-club.toml"), "--out", str(tmp_path / "o")])
    assert said.exit_code == 0, said.output
    pages = PdfReader(tmp_path / "o/rounds.pdf").pages
    assert len(pages) == 3
    for page in pages:
        text = " ".join(page.extract_text().split())
        assert len(re.findall("[Mm]ite", text)) == 1
        assert MITES in text
        for words in (
            "Untouched:",
            "Started:",
            "Nearly gone:",
            "Clear snow",
            "Look inside first",
            "Before mice move in",
        ):
            assert words in text


def test_command_tells_the_sums_and_writes_them(tmp_path: Path) -> None:
    out = tmp_path / "o"
    asked = ["season", str(DESIGNS / "ridge-club.toml"), "--out", str(out), "--table", "8ft", "4ft", "--tables", "1"]
    said = CliRunner().invoke(main, [*asked, "--guard-day", "2026-10-10", "--json"])
    assert said.exit_code == 0
    told = json.loads(said.stdout)
    assert told == json.loads((out / "season.json").read_text())
    assert (told["packing"]["boards"], told["packing"]["bags"], told["packing"]["turns"][0]["tables"]) == (4, 16, 1)
    forms = {(each["form"], each["ordered"]) for each in told["cartons"] if each["what"] == "board" and each["ordered"]}
    assert forms == {("packed", 4), ("with mesh", 3), ("empty", 3), ("unassembled kit", 2)}
    (quilt,) = (each for each in told["cartons"] if each["what"] == "quilt box" and each["ordered"] == 4)
    assert quilt["inside_in"] == ["19.875", "16.25", "5.5313"]  # 5 17/32 is 5.53125: never rounded down
    assert not any(each["name"] in ("table", "guard day") for each in told["defaults"])
    assert (out / "packing.pdf").read_bytes().startswith(b"%PDF")
    first = (out / "rounds.pdf").read_bytes()
    with nothing_kept():
        assert CliRunner().invoke(main, [*asked, "--guard-day", "2026-10-10"]).exit_code == 0
    assert (out / "rounds.pdf").read_bytes() == first


@pytest.mark.parametrize(
    ("options", "code", "said"),
    [
        (["--table", "wide", "4ft"], 3, "--table"),
        (["--table", "12", "12"], 3, "a table large enough for a board to lie flat"),
        (["--tables", "0"], 2, "--tables"),
        (["--guard-day", "soon"], 2, "--guard-day"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_written(
    tmp_path: Path, options: list[str], code: int, said: str
) -> None:
    out = tmp_path / "o"
    result = CliRunner().invoke(main, ["season", str(DESIGNS / "ridge-club.toml"), "--out", str(out), *options])
    assert result.exit_code == code
    assert said in result.output
    assert not out.exists()


def test_no_board_packed_is_said(tmp_path: Path) -> None:
    head = f'format = "woodshop-design/2"\nbatch = "t"\nunit = "mm"\nlumberyard = "{LUMBERYARD}"\n'
    (tmp_path / "d.toml").write_text(head + '[[hives]]\nframes = 10\ncount = 2\nform = "unassembled kit"\n' + BOARDS)
    design = read_design(tmp_path / "d.toml")
    batch = settle(design, read_lumberyards(design.lumberyards))
    section = season_section(season_of(batch, make_units(batch)), tmp_path)
    told, words = section_json(section), section_text(section).split("\n")
    assert told["packing"] is None
    assert "No board is packed." in words
    cartons = [line for line in words if "inside, length and girth" in line]
    assert any("about 1.1 kg, 504 x " in line and line.endswith(" mm") for line in cartons)
    assert not any(re.search(r"\d (lb|in)\b", line) for line in cartons)
    assert {each["form"] for each in told["cartons"] if each["ordered"]} == {"unassembled kit"}
