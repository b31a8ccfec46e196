"""README's examples run as written, and every command and finding is in it."""

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from woodshop.cli import main

README = Path(__file__).resolve().parents[1] / "README.md"
TEXT = README.read_text(encoding="utf-8")
EXAMPLES = re.findall(r"^\$ woodshop (.*)$", TEXT, re.M)


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the designs, in which the examples run in README's order."""
    folder = tmp_path_factory.mktemp("readme")
    (folder / "designs").mkdir()
    (folder / "out").mkdir()
    for file in (README.parent / "designs").iterdir():
        (folder / "designs" / file.name).write_bytes(file.read_bytes())
    return folder


@pytest.mark.parametrize("example", EXAMPLES)
def test_example_runs_clean(example: str, place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(place)
    result = CliRunner().invoke(main, shlex.split(example))
    assert result.exit_code == 0, result.output
    assert result.output


def test_every_command_has_an_example() -> None:
    assert {example.split()[0] for example in EXAMPLES} == set(main.commands)


def test_the_ten_line_design_works(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    block = next(b for b in re.findall(r"```toml\n(.*?)```", TEXT, re.S) if "first-winter" in b)
    lines = [line.strip() for line in block.splitlines() if line.strip()]
    assert len(lines) <= 10
    (place / "designs/first-winter.toml").write_text("\n".join(lines))
    monkeypatch.chdir(place)
    result = CliRunner().invoke(main, ["check", "designs/first-winter.toml"])
    assert result.exit_code == 0
    assert "gap-not-measured" in result.output


def test_every_finding_of_the_checks_is_explained() -> None:
    checks = sorted((README.parent / "woodshop/checks").rglob("*.py"))
    source = "\n".join(path.read_text(encoding="utf-8") for path in checks)
    codes = set(re.findall(r'^ +"([a-z]+(?:-[a-z]+)+)"', source, re.M))
    assert len(codes) > 10
    missing = {code for code in codes if code not in TEXT and not code.startswith("entrance-")}
    assert missing == set()
    assert "entrance-" in TEXT


def test_two_set_up_commands() -> None:
    commands = re.findall(r"^python3 -m venv .*$", TEXT, re.M)
    assert len(commands) == 2
    assert "woodshop plan designs/hobby-batch.toml" in commands[0]
    assert "pytest" in commands[1]
