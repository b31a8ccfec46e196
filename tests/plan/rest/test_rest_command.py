"""`plan --rest` and `verify --earlier` from the command line."""

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from tests.plan.rest.small_run import SmallRun
from woodshop.cli import main
from woodshop.plan.plan_batch import sealed


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture(scope="module")
def written(small_run: SmallRun, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Result]:
    folder = tmp_path_factory.mktemp("rest")
    (folder / "counts.csv").write_text("hives,count\ntens,5\n")
    material, n = small_run.earlier.layouts[1]
    piece = small_run.earlier.plans[material].layouts[n].pieces[0].id
    (folder / "progress.csv").write_text(f"event,name,count\ncut,1,1\nspoiled,{piece},1\n")
    words = ["plan", small_run.folder / "design.toml", "--rest", "--earlier", small_run.folder / "plan.json", "--quick"]
    words += ["--counts", folder / "counts.csv", "--progress", folder / "progress.csv", "--offcuts"]
    return folder, run(*words, "--out", folder / "rest", "--json")


@pytest.mark.slow("draws a packet")
def test_a_packet_that_verifies_is_written(written: tuple[Path, Result], small_run: SmallRun) -> None:
    folder, done = written
    assert done.exit_code == 0, done.output
    data = json.loads(done.stdout)
    assert data["bought"] is True
    assert data["boards_as_planned"] <= data["boards"]
    assert {"packet.pdf", "plan.json", "buy.csv", "cuts.csv", "report.pdf", "manifest.json"} <= {
        file.name for file in (folder / "rest").iterdir()
    }
    assert run("verify", folder / "rest/plan.json").exit_code == 0
    counted = run("verify", folder / "rest/plan.json", "--earlier", small_run.folder / "plan.json")
    assert counted.exit_code == 0
    assert "nothing is counted twice" in counted.stdout
    other = run("verify", folder / "rest/plan.json", "--earlier", folder / "rest/plan.json")
    assert other.exit_code == 1
    assert "of the earlier plan given" in other.stdout
    plain = run("verify", small_run.folder / "plan.json", "--earlier", small_run.folder / "plan.json")
    assert plain.exit_code == 1


def piece_lost(raw: dict[str, Any]) -> None:
    raw["rest_of"]["kept"][0]["count"] -= 1
    raw["cut_already"][raw["rest_of"]["kept"][0]["address"]] -= 1


def board_counted_twice(raw: dict[str, Any]) -> None:
    row = next(row for row in raw["rest_of"]["boards"] if row["left"])
    row["left"] += 1


def more_boards_there(raw: dict[str, Any]) -> None:
    for row in raw["rest_of"]["boards"]:
        row["held"] += 1
        row["left"] += 1


def cut_more(raw: dict[str, Any]) -> None:
    raw["rest_of"]["layouts"][0]["cut"] = 0


def other_cuts(raw: dict[str, Any]) -> None:
    numbers = next(own for own in raw["layout_numbers"].values() if len(own) > 1)
    numbers[0], numbers[1] = numbers[1], numbers[0]


def spoiled_more(raw: dict[str, Any]) -> None:
    raw["rest_of"]["changes"][0]["count"] += 1


@pytest.mark.slow("draws a packet")
@pytest.mark.invariant
@pytest.mark.parametrize(
    "spoil", [piece_lost, board_counted_twice, more_boards_there, cut_more, other_cuts, spoiled_more]
)
def test_an_account_that_does_not_add_up_is_found(
    written: tuple[Path, Result], small_run: SmallRun, tmp_path: Path, spoil: Any
) -> None:
    raw = json.loads((written[0] / "rest/plan.json").read_text())
    spoil(raw)
    raw.pop("digest")
    (tmp_path / "plan.json").write_text(json.dumps(sealed(raw)))
    done = run("verify", tmp_path / "plan.json", "--earlier", small_run.folder / "plan.json", "--json")
    assert done.exit_code == 1
    found = next(each for each in json.loads(done.stdout)["plans"] if each["name"] == "rest of a plan")
    assert {each["code"] for each in found["findings"]} == {"rest-not-conserved"}


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["--earlier", "plan.json"], 2, "--earlier was given without --rest"),
        (["--not-bought"], 2, "--not-bought was given without --rest"),
        (["--rest", "--earlier", "plan.json", "--out", "."], 3, "the folder of the earlier plan"),
        (["--rest", "--earlier", "none.json"], 3, "none.json"),
        (["--rest", "--earlier", "plan.json", "--progress", "p.csv", "--not-bought"], 3, "--not-bought: given both"),
        (["--rest", "--earlier", "design.toml"], 3, "design.toml"),
    ],
)
def test_options_that_do_not_fit_are_refused(
    small_run: SmallRun, monkeypatch: pytest.MonkeyPatch, words: list[str], code: int, said: str
) -> None:
    monkeypatch.chdir(small_run.folder)
    (small_run.folder / "p.csv").write_text("event,name,count\ncut,1,1\n")
    before = set(small_run.folder.iterdir())
    done = run("plan", "design.toml", *words)
    assert (done.exit_code, said in done.stderr) == (code, True), done.stderr
    assert set(small_run.folder.iterdir()) == before


def test_the_command_of_before_names_the_new_one() -> None:
    done = run("recount", "design.toml", "--plan", "plan.json")
    assert done.exit_code == 2
    assert "Use woodshop plan DESIGN --rest" in done.stderr


def test_the_list_of_orders(designs: Path) -> None:
    listed = run("orders", designs / "order-run.toml")
    assert listed.exit_code == 0
    assert "18 hives: 18 fondant rim, 15 wire bottom" in listed.stdout
    assert "note, Heath End Allotments: they pack their own sugar" in listed.stdout
    as_json = json.loads(run("orders", designs / "order-run.toml", "--json").stdout)
    assert sum(group["count"] for group in as_json["groups"]) == 18
    assert run("orders", designs / "hobby-batch.toml").exit_code == 3
