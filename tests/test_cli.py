"""The commands: what they print, what they write, and how they exit."""

import json
import re
import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from tests.cutting.lumber_cases import lumber_job
from tests.nightly import IS_NIGHT
from tests.once import lists_only
from woodshop.cli import main

LUMBERYARD = "creekside-lumberyard.toml"
LIFTS = """
[[make]]
item = ["fondant rim", "wire bottom"]
[[make]]
item = "spacer strips"
thickness = "3/8"
"""
SMALL = """
[[make]]
item = ["fondant rim", "wire bottom", "spacer strips", "packing blocks"]
"""
HEAD = """format = "woodshop-design/2"
batch = "small"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
on_by = 2026-11-26
[[hives]]
frames = 10
count = 2
gap = "1/4"
"""


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture
def folder(tmp_path: Path, designs: Path) -> Path:
    """A working folder that holds the lumberyard file."""
    (tmp_path / LUMBERYARD).write_bytes((designs / LUMBERYARD).read_bytes())
    return tmp_path


def write(folder: Path, text: str) -> Path:
    path = folder / "small.toml"
    path.write_text(HEAD + text, encoding="utf-8")
    return path


def test_strips_that_lift_the_rim_are_an_error_with_its_cure(folder: Path) -> None:
    result = run("check", write(folder, LIFTS))
    assert result.exit_code == 1
    assert "strip-lifts-rim" in result.stdout
    assert "push the mesh up 1/8 in" in result.stdout.replace("\n    ", " ")
    assert 'thinner: thickness = "7/32"' in result.stdout.replace("\n    ", " ")


def test_a_design_with_errors_writes_nothing(folder: Path) -> None:
    design = write(folder, LIFTS)
    before = sorted(folder.iterdir())
    result = run("plan", design, "--out", folder / "out")
    assert result.exit_code == 1
    assert sorted(folder.iterdir()) == before


@pytest.mark.slow("plans a batch and reads every page")
def test_anyway_says_do_not_cut_on_every_page(folder: Path) -> None:
    import pypdf

    with lists_only("packet"):
        result = run("plan", write(folder, LIFTS), "--anyway", "--quick", "--out", folder / "out")
    assert result.exit_code == 1
    pages = pypdf.PdfReader(folder / "out/packet.pdf").pages
    assert len(pages) > 5
    for page in pages:
        assert "DO NOT CUT" in page.extract_text()


@pytest.fixture(scope="module")
def small_out(tmp_path_factory: pytest.TempPathFactory, designs: Path) -> Path:
    """The result of the small design planned quickly; read only."""
    place = tmp_path_factory.mktemp("small")
    (place / LUMBERYARD).write_bytes((designs / LUMBERYARD).read_bytes())
    result = run("plan", write(place, SMALL), "--quick", "--out", place / "out")
    assert result.exit_code == 0, result.output
    return place / "out"


def test_a_clean_design_never_says_do_not_cut(small_out: Path) -> None:
    import pypdf

    text = "".join(page.extract_text() for page in pypdf.PdfReader(small_out / "packet.pdf").pages)
    assert "DO NOT CUT" not in text
    assert re.search(r"fondant board rim\W+[A-Z] *side", text.replace("\n", " "))


@pytest.mark.slow("runs many commands")
def test_json_is_pure_on_standard_output_at_every_exit_code(folder: Path, small_out: Path) -> None:
    """`plan --json` is asked where a batch is planned a second time, below."""
    for words, code in (
        (("check", write(folder, SMALL)), 0),
        (("verify", small_out / "plan.json"), 0),
        (("items",), 0),
        (("items", "quilt box"), 0),
        (("sources",), 0),
        (("new", "--frames", "10", "--count", "6"), 0),
        (("new", folder / "new.toml", "--frames", "10", "--count", "6"), 0),
        (("new", folder / "new.toml", "--frames", "10", "--count", "6"), 3),
        (("new",), 3),
        (("items", "quilt box", "--picture", folder / "quilt-box.svg"), 0),
        (("items", "quilt box", "--picture", folder / "quilt-box.svg"), 3),
        (("explain",), 0),
        (("explain", "kerf"), 0),
        (("explain", "kerrf"), 3),
        (("syrup", "--sugar", "10 lb"), 0),
        (("syrup",), 3),
        (("check", folder / "none.toml"), 3),
        (("items", "quilt bocks"), 3),
    ):
        result = run(*words, "--json")
        assert result.exit_code == code, result.output
        json.loads(result.stdout)
    assert run("check", write(folder, LIFTS), "--json").exit_code == 1


def test_a_lumberyard_without_mesh_can_cut_nothing(folder: Path) -> None:
    lumberyard = folder / LUMBERYARD
    kept = [block for block in lumberyard.read_text().split("\n\n") if "mesh =" not in block]
    lumberyard.write_text("\n\n".join(kept))
    result = run("plan", write(folder, SMALL), "--out", folder / "out")
    assert result.exit_code == 4
    assert "no mesh 1/2 in" in result.stderr
    assert not (folder / "out").exists()


def test_findings_have_the_keys_that_machines_read(folder: Path) -> None:
    result = json.loads(run("check", write(folder, LIFTS), "--json").stdout)
    assert result["findings"]
    for finding in result["findings"]:
        assert list(finding) == ["code", "severity", "place", "value", "limits", "source", "change", "remedy"]
        assert all(value for key, value in finding.items() if key != "remedy")
    (lifts,) = (finding for finding in result["findings"] if finding["code"] == "strip-lifts-rim")
    assert list(lifts["remedy"]) == ["make.spacer strips.thickness"]
    keys = "name place hives least most unit between kind limits source grade"
    assert result["gaps"]
    for gap in result["gaps"]:
        assert list(gap) == keys.split()
        assert all(gap.values())


@pytest.mark.parametrize(
    "words",
    [("plan",), ("check", "a", "b"), ("unknown",), ("verify", "x", "--jobb", "y")],
)
def test_wrong_usage_exits_2(words: tuple[str, ...]) -> None:
    assert run(*words).exit_code == 2


@pytest.mark.parametrize("text", ["", "{", "[]", "\xff\xfe", '{"format": "woodshop-batch/2"}', '{"format": "x"}', "1"])
def test_a_plan_that_is_no_plan_exits_3(tmp_path: Path, text: str) -> None:
    path = tmp_path / "plan.json"
    path.write_bytes(text.encode("latin-1"))
    result = run("verify", path)
    assert result.exit_code == 3
    assert "error:" in result.stderr


@pytest.mark.parametrize("command", sorted(main.commands))
def test_every_command_shows_an_example(command: str) -> None:
    result = run(command, "--help")
    assert result.exit_code == 0
    assert f"Example: woodshop {command}" in result.stdout


def test_help_imports_nothing_heavy() -> None:
    script = (
        "import sys; from click.testing import CliRunner; from woodshop.cli import main; "
        "CliRunner().invoke(main, ['--help']); "
        "print([m for m in ('numpy', 'shapely', 'highspy', 'ezdxf', 'reportlab', 'pydantic') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_syrup_takes_each_question_of_the_season() -> None:
    """Option by option what the season's sums tell: syrup, light hives, a board's leftover, all problems at once."""
    from woodshop.documents.answers.season import syrup_section
    from woodshop.drawing.pens.section_json import section_json
    from woodshop.drawing.pens.text import section_text

    asked: dict[str, dict[str, str]] = {
        "syrup": {"strength": "1:1", "volume": "2 gal"},
        "light_hives": {"stores_wanted": "60 lb", "stores_there": "40 lb", "hives": "6"},
        "season_end": {"board_weight": "9 lb", "board_tare": "4 lb", "board_water": "5 %", "boards": "3"},
    }
    for section, values in asked.items():
        words = [word for name, value in values.items() for word in (f"--{name.replace('_', '-')}", value)]
        answer = syrup_section(**{k: int(v) if k in ("hives", "boards") else v for k, v in values.items()})  # type: ignore[arg-type]
        assert section in answer.data
        assert json.loads(run("syrup", *words, "--json").stdout) == section_json(answer)
        assert run("syrup", *words).stdout == section_text(answer) + "\n"
    bad = run("syrup", "--sugar", "10", "--board-tare", "4 lb", "--hives", "0")
    assert bad.exit_code == 3
    assert bad.stderr.count("error:") == 3
    assert bad.stdout == ""


def test_a_corrupted_batch_plan_is_found_unsound(small_out: Path, tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    plan = json.loads((small_out / "plan.json").read_text())
    plan["plans"]["board 3/4 in"]["layouts"][0]["pieces"].pop()
    path.write_text(json.dumps(plan))
    result = run("verify", path)
    assert result.exit_code == 1
    assert "NOT SOUND" in result.stdout


GOOD = HEAD + SMALL
MALFORMED = {
    "nothing": "",
    "no TOML": "hives = [",
    "another format": GOOD.replace("design/2", "design/9"),
    "no hives": GOOD.replace("[[hives]]", "[hive]"),
    "a misspelt key": GOOD.replace("count = 2", "cuont = 2"),
    "nine frames": GOOD.replace("frames = 10", "frames = 9"),
    "no count": GOOD.replace("count = 2\n", ""),
    "a count of nothing": GOOD.replace("count = 2", "count = 0"),
    "half a hive": GOOD.replace("count = 2", "count = 2.5"),
    "a length in cubits": GOOD.replace('gap = "1/4"', 'gap = "1 cubit"'),
    "a fraction of nothing": GOOD.replace('gap = "1/4"', 'gap = "1/0"'),
    "a negative width": GOOD.replace("count = 2", 'count = 2\nwidth = "-16"'),
    "a box for no bees": GOOD.replace("count = 2", 'count = 2\nwidth = "6"'),
    "an unknown item": GOOD.replace("fondant rim", "fondant rimm"),
    "an unknown mounting": GOOD + 'mounting = "glued"\n',
    "no lumberyard file": GOOD.replace(LUMBERYARD, "nowhere.toml"),
    "a name that leaves the folder": GOOD.replace('batch = "small"', 'batch = "../small"'),
    "a date of never": GOOD.replace("2026-11-26", "2026-13-45"),
    "strips that do not fit": HEAD + LIFTS.replace('"3/8"', '"3"'),
    "a misspelt setting": GOOD + 'notch_hight = "3/8"\n',
    "sugar without a unit": HEAD + '[board]\nsugar = "16"\n' + SMALL,
    "sugar for an elephant": HEAD + '[board]\nsugar = "40 lb"\nhead_room = "3"\ndensity = "0.4 kg/L"\n' + SMALL,
}


@pytest.mark.parametrize("text", MALFORMED.values(), ids=MALFORMED.keys())
@pytest.mark.parametrize("command", ["check", "plan"])
def test_a_malformed_design_exits_3_with_a_clear_message_and_writes_nothing(
    folder: Path, text: str, command: str
) -> None:
    design = folder / "small.toml"
    design.write_text(text, encoding="utf-8")
    before = sorted(folder.rglob("*"))
    result = run(command, design, *(("--out", folder / "out") if command == "plan" else ()))
    assert result.exit_code == 3, result.output
    assert result.stdout == ""
    lines = result.stderr.strip().splitlines()
    assert lines
    for line in lines:
        assert line.startswith("error: ")
        assert "; wanted " in line
    assert "Traceback" not in result.stderr
    assert sorted(folder.rglob("*")) == before


def test_quick_and_thorough_are_one_choice(folder: Path) -> None:
    """Both together are wrong usage, and say so; nothing is read or written."""
    for words in (("plan", write(folder, SMALL)), ("cut", folder / "none.json")):
        result = run(*words, "--quick", "--thorough")
        assert result.exit_code == 2
        assert "give one of them" in result.stderr
    assert not (folder / "out").exists()


@pytest.mark.invariant
@pytest.mark.parametrize("flag", ["--quick", "--thorough"] if IS_NIGHT else ["--quick"])
def test_the_same_job_and_flag_give_the_same_bytes(flag: str, tmp_path: Path, designs: Path) -> None:
    files = [tmp_path / "first" / "plan.json", tmp_path / "second" / "plan.json"]
    for file in files:
        file.parent.mkdir()
        assert run("cut", designs / "shelf-job.json", flag, "--out", file).exit_code == 0
        assert run("verify", file).exit_code == 0
    assert files[0].read_bytes() == files[1].read_bytes()
    assert len({file.with_name("plan-proof.json.gz").read_bytes() for file in files}) == 1


def test_a_job_in_several_thicknesses_is_cut_and_verified(tmp_path: Path) -> None:
    job, file = tmp_path / "job.json", tmp_path / "plan.json"
    job.write_text(json.dumps(lumber_job(2)), encoding="utf-8")
    assert run("cut", job, "--prove", "--out", file).exit_code == 2
    assert run("cut", job, "--out", job).exit_code == 3
    made = run("cut", job, "--out", file, "--json")
    assert json.loads(made.stdout)["gap"] == 0
    listed = run("cut", job, "--out", file).stdout
    written = json.loads(file.read_text(encoding="utf-8"))
    assert all(board["stock"] in listed for board in written["bought"])
    assert all(f"layouts[{n}]" in listed for n in range(len(written["layouts"])))
    assert run("verify", file, "--job", job).exit_code == 0
    assert json.loads(run("cut", job).stdout) == json.loads(file.read_text(encoding="utf-8"))
    file.write_text(file.read_text(encoding="utf-8").replace('"times": 1', '"times": 9'), encoding="utf-8")
    assert run("verify", file).exit_code == 1


@pytest.mark.slow("plans with each effort, and writes the packet")
def test_a_flag_reaches_the_planner_and_the_setups(
    folder: Path, designs: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Quick, nothing, thorough: the planner's three efforts, for a batch and for a neutral job."""
    from woodshop.cutting.layouts import fewer_layouts as setups
    from woodshop.cutting.planner import plan_job as planner
    from woodshop.plan import plan_batch as batch_plan

    asked: list[tuple[str, str]] = []
    # what comes of them is another test's: one plan serves all three flags
    plain, fewer, improve = (cache(each) for each in (planner.plan, setups.fewer_layouts, setups.improve_setups))

    def planned(job: Any, *, effort: str = "default", progress: Any = None) -> Any:
        asked.append(("plan", effort))
        return plain(job, effort="quick")

    def tidied(plan: Any, *, effort: str = "default", progress: Any = None) -> Any:
        asked.append(("setups", effort))
        return fewer(plan, effort="quick")

    def improved(plan: Any, *, effort: str = "default", wishes: Any = None) -> Any:
        asked.append(("setups", effort))
        return improve(plan, effort="quick", wishes=wishes)

    for module, name, stand_in in (
        (planner, "plan", planned),
        (setups, "fewer_layouts", tidied),
        (batch_plan, "plan_job", planned),
        (batch_plan, "improve_setups", improved),
    ):
        monkeypatch.setattr(module, name, stand_in)
    monkeypatch.setattr("woodshop.documents.result.result_files", lambda *_, **__: {"plan.json": b"{}"})
    for flags, effort in (((), "default"), (("--quick",), "quick"), (("--thorough",), "long")):
        for words in (("cut", designs / "shelf-job.json"), ("plan", write(folder, SMALL), "--out", folder / "out")):
            asked.clear()
            assert run(*words, *flags).exit_code == 0
            assert set(asked) == {("plan", effort), ("setups", effort)}


@pytest.mark.slow("plans a batch twice")
@pytest.mark.invariant
@pytest.mark.usefixtures("anew")
def test_the_same_design_and_flag_give_the_same_folder(small_out: Path, folder: Path) -> None:
    """Every file of two runs, byte by byte, packet and plan with its cuts in order among them."""
    result = run("plan", write(folder, SMALL), "--quick", "--out", folder / "second", "--json")
    assert result.exit_code == 0, result.output
    assert json.loads(result.stdout)
    files = sorted(path.relative_to(small_out) for path in small_out.rglob("*") if path.is_file())
    assert files == sorted(
        path.relative_to(folder / "second") for path in (folder / "second").rglob("*") if path.is_file()
    )
    assert {"packet.pdf", "plan.json"} <= {str(path) for path in files}
    for path in files:
        assert (small_out / path).read_bytes() == (folder / "second" / path).read_bytes(), path


def test_the_packet_cuts_the_first_boards_first_and_the_report_proves_the_plans(small_out: Path) -> None:
    import pypdf

    texts = [
        "".join(page.extract_text() + "\n" for page in pypdf.PdfReader(small_out / name).pages)
        for name in ("packet.pdf", "report.pdf")
    ]
    first, rest = texts[0].rfind("\nFirst boards\n"), texts[0].rfind("\nCutting\n")
    assert 0 < first < rest
    assert "Proof of the cutting plans" in texts[1]


def test_a_corrupted_sequence_of_cuts_is_found_unsound(small_out: Path, tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    plan = json.loads((small_out / "plan.json").read_text())
    plan["sequences"]["board 3/4 in"]["stations"].pop()
    path.write_text(json.dumps(plan))
    result = run("verify", path)
    assert result.exit_code == 1
    assert "NOT SOUND" in result.stdout
    assert "sequence-pieces" in result.stdout
    del plan["sequences"]
    path.write_text(json.dumps(plan))
    result = run("verify", path)
    assert result.exit_code == 3
    assert "plan, sequences" in result.stderr
