"""Whatever `plan` refuses, `check` refuses or reports: both run over spoiled designs, and their exit codes agree."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from woodshop.cli import main

LUMBERYARD = Path(__file__).parents[1] / "designs" / "creekside-lumberyard.toml"
HEAD = 'format = "woodshop-design/2"\nbatch = "b"\nunit = "in"\nlumberyard = "lumberyard.toml"\n'
HIVES = '[[hives]]\nframes = 10\ncount = 2\ngap = "1/4"\n'
BOARD = '[[make]]\nitem = "board"\n'
SPOILED: dict[str, str] = {
    "nothing wrong": HIVES + BOARD,
    "a rim higher than any board is wide": f'[board]\nheight = "12"\n{HIVES}{BOARD}',
    "ready-made that no lumberyard sells": f'[buying]\nready_made = "quilt box"\n{HIVES}{BOARD}',
    "wood that the lumberyard has not": f'wood = "1 1/4"\n{HIVES}[[make]]\nitem = "feeding shim"\nheight = "2"\n',
    "a gap as high as the box, with only a rim": HIVES.replace("1/4", "9") + '[[make]]\nitem = "fondant rim"\n',
    "a gap as high as the box, with only spacers": HIVES.replace("1/4", "9") + '[[make]]\nitem = "vent spacers"\n',
    "one plausible gap and a slip": HIVES.replace('"1/4"', '["1/4", "16 1/4"]') + BOARD,
    "mesh that the lumberyard has not": f'[board]\nmesh = "1/3 in"\n{HIVES}{BOARD}',
    "lattice that the lumberyard has not": f'{HIVES}[[make]]\nitem = ["fondant rim", "wire bottom"]\n'
    '[[make]]\nitem = "spacer strips"\nwidth = "1"\n',
    "an offcut worth more than its board": f'[worth]\noffcut = "90.00"\n{HIVES}{BOARD}',
    "steel that the lumberyard has not": f'{HIVES}[[make]]\nitem = "mouse guard"\ngauge = "20 ga"\n',
    "errors of fit": f'[board]\nnotch_height = "1"\n{HIVES}{BOARD}',
    "sizes that leave nothing": f'[board]\nheight = "3/4"\nnotch_height = "1"\n{HIVES}{BOARD}',
    "a quilt box lower than its hole": f'{HIVES}[[make]]\nitem = "quilt box"\nheight = "2"\nshavings = "8"\n',
    "two skirts": f'{HIVES}cover_skirt = "1 1/2"\n[[make]]\nitem = "quilt box"\nskirt = "3"\n',
    "too much sugar for any board": f'[board]\ndensity = "0.4 kg/L"\nsugar = "40 lb"\nhead_room = "3"\n{HIVES}{BOARD}',
}


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def problems(result: Result) -> list[dict[str, str]]:
    found: list[dict[str, str]] = json.loads(result.stdout).get("errors", [])
    return found


@pytest.fixture
def design(tmp_path: Path) -> Path:
    (tmp_path / "lumberyard.toml").write_bytes(LUMBERYARD.read_bytes())
    return tmp_path / "design.toml"


@pytest.mark.slow("checks and plans each design")
@pytest.mark.invariant
@pytest.mark.usefixtures("only_lists")
@pytest.mark.parametrize("name", SPOILED)
def test_check_and_plan_agree(design: Path, tmp_path: Path, name: str) -> None:
    design.write_text(HEAD + SPOILED[name])
    checked = run("check", design, "--json")
    planned = run("plan", design, "--quick", "--out", tmp_path / "out", "--json")
    assert (name == "nothing wrong") is (planned.exit_code == 0)
    assert checked.exit_code == planned.exit_code, (checked.output, planned.output)
    if planned.exit_code >= 3:
        assert problems(checked) == problems(planned)
        assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("name", SPOILED)
def test_what_is_refused_is_said_in_words(design: Path, name: str) -> None:
    design.write_text(HEAD + SPOILED[name])
    told = run("check", design)
    text = told.stdout + told.stderr
    assert "Length(" not in text
    assert "Rectangle" not in text
    assert "Traceback" not in text
    if told.exit_code >= 3:
        assert "error: " in told.stderr


@pytest.mark.parametrize(
    ("text", "keys"),
    [
        (SPOILED["sizes that leave nothing"], ["board, notch_height", "board, height"]),
        (SPOILED["a quilt box lower than its hole"], ["make, quilt box, height", "make, quilt box, shavings"]),
    ],
)
def test_sizes_that_do_not_fit_together_are_named_by_their_keys(design: Path, text: str, keys: list[str]) -> None:
    design.write_text(HEAD + text)
    told = run("check", design, "--json")
    assert told.exit_code == 3
    assert any(key in problem["do"] for problem in problems(told) for key in keys), problems(told)


@pytest.mark.parametrize(
    ("line", "where"),
    [
        (f"count = {'9' * 5000}", "line 7, count"),
        (f"count = 0x{'f' * 5000}", "hives number 1, count"),
        (f'gap = ["1/4", {"9" * 5000}]', "line 7, gap"),
        (f"count = {10**12}", "hives number 1, count"),
        (f"gap = [1, {10**12}]", "hives number 1, gap number 2"),
    ],
)
def test_a_number_of_many_digits_is_named_by_its_key(design: Path, line: str, where: str) -> None:
    design.write_text(f"{HEAD}[[hives]]\nframes = 10\n{line}\n{BOARD}")
    told = run("check", design)
    assert told.exit_code == 3
    assert f"{where}: given a number with too many digits" in told.stderr
