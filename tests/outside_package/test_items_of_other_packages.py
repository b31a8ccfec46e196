"""Items of a package that is not ours, by its entry point: listed, planned, bought, drawn; or refused in one sentence.

The package is written to a folder with the metadata that an installer leaves, and the folder put on the path.
"""

import csv
import io
import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.nightly import IS_NIGHT, spread
from tests.own_process import Processes, own_processes

ROOT = Path(__file__).resolve().parents[2]
LUMBERYARD = ROOT / "designs" / "creekside-lumberyard.toml"

BATTEN = '''
"""Battens that hold a wrap to the hive, and a pad under the cover."""

from typing import Annotated

from woodshop.reference.materials import board_material, sheet_material
from woodshop.findings import Finding, Severity
from woodshop.hardware.board import Setting
from woodshop.hardware.registry import Param, item
from woodshop.shape.part import Assembly, Cut, Face, Fastener, Part, Placed, Pose, RoundOutline, Spec
from woodshop.units.lengths import ZERO, Length, inch


def check(setting: Setting, made: Assembly, address: str) -> list[Finding]:
    return [
        Finding("batten-seen", Severity.NOTE, address, f"{len(made.placed)} parts", "some", "this test", "Nothing.")
    ]


@item("wrap batten", title="Batten for a wrap", check=check)
def wrap_batten(
    setting: Setting,
    *,
    width: Annotated[Length, Param("width of the batten", "strip.width", "3/8", "2")],
    pads: Annotated[int, Param("pads of foam", None, "1", "9", source="common practice, no source")] = 1,
) -> Assembly:
    """Two battens down the sides of a wrapped hive.

    |wrap|
    """
    long = setting.box.height
    hole = Cut("screw hole", Face.SHOW, RoundOutline(long / 2, inch("3/4"), inch("5/32")), setting.wood)
    batten = Part("batten", board_material(setting.wood), long, inch("1 1/2"), setting.wood, cuts=(hole,))
    pad = Part("pad", sheet_material("foam", "1 in"), setting.box.inside_length, setting.box.inside_width, inch(1))
    wide = setting.box.width
    return Assembly(
        "wrap batten",
        "Wrap battens",
        (
            Placed(batten, Pose((ZERO, ZERO, ZERO), "+z", "+x", "+y")),
            Placed(batten, Pose((ZERO, wide, ZERO), "+z", "+x", "+y")),
            *(Placed(pad, Pose((inch(3), ZERO, inch(12 + 2 * n)))) for n in range(pads)),
        ),
        fasteners=(Fastener("2 in exterior screw", 4, "battens"),),
        steps=("Screw them on.",),
        facts=(Spec("width", str(width)),),
    )
'''
DESIGN = """format = "woodshop-design/2"
batch = "wrapped"
unit = "in"
lumberyard = "lumberyard.toml"
[[hives]]
frames = 10
width = "16 1/4"
count = 6
gap = "1/4"
[[make]]
item = "wrap batten"
pads = 2
"""

Run = Callable[..., subprocess.CompletedProcess[str]]


def package(folder: Path, modules: dict[str, str], points: dict[str, str], name: str = "hive-wraps") -> Path:
    """A folder as an installer leaves it: modules, and a .dist-info with the entry points."""
    folder.mkdir(exist_ok=True)
    for module, text in modules.items():
        (folder / f"{module}.py").write_text(text, encoding="utf-8")
    info = folder / f"{name.replace('-', '_')}-1.0.dist-info"
    info.mkdir()
    (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {name}\nVersion: 1.0\n", encoding="utf-8")
    lines = "\n".join(f"{key} = {value}" for key, value in points.items())
    (info / "entry_points.txt").write_text(f"[woodshop.items]\n{lines}\n", encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def processes() -> Iterator[Processes]:
    with own_processes() as made:
        yield made


@pytest.fixture
def run(request: pytest.FixtureRequest, tmp_path: Path) -> Run:
    """The command, run in a process of its own with some folders on the path; at night in a new interpreter."""

    def command(*words: str, path: tuple[Path, ...] = ()) -> subprocess.CompletedProcess[str]:
        if not IS_NIGHT and hasattr(os, "fork"):
            processes: Processes = request.getfixturevalue("processes")
            return processes.run(*words, folder=tmp_path, path=path)
        env = dict(os.environ) | {"PYTHONPATH": os.pathsep.join(map(str, (ROOT, *path)))}
        return subprocess.run(
            [sys.executable, "-m", "woodshop", *words],
            cwd=tmp_path, capture_output=True, text=True, check=False, timeout=600, env=env,
        )  # fmt: skip

    return command


@pytest.fixture
def wraps(tmp_path: Path) -> Path:
    return package(tmp_path / "site", {"wraps": BATTEN}, {"wraps": "wraps"})


@pytest.fixture
def design(tmp_path: Path) -> str:
    before, offcuts, after = LUMBERYARD.read_text(encoding="utf-8").partition("# Offcuts on hand")
    assert offcuts
    lumberyard = before + after[after.index("[[pack]]") :]
    (tmp_path / "lumberyard.toml").write_text(lumberyard, encoding="utf-8")
    (tmp_path / "design.toml").write_text(DESIGN, encoding="utf-8")
    return "design.toml"


@pytest.mark.slow("three commands in processes of their own")
def test_its_items_are_listed_with_their_settings(run: Run, wraps: Path) -> None:
    listed = run("items", path=(wraps,))
    assert listed.returncode == 0
    assert "wrap batten      Two battens down the sides of a wrapped hive." in listed.stdout
    one = run("items", "wrap batten", "--json", path=(wraps,))
    told = json.loads(one.stdout)
    assert told["picture"] == "|wrap|"
    assert [(p["name"], p["default"]) for p in told["parameters"]] == [("width", "3/4 in"), ("pads", "1")]
    assert "wrap batten" not in run("items").stdout, "without the package there is no such item"


@pytest.mark.slow("installs a package and plans with it in processes of their own")
def test_its_parts_are_needed_bought_and_drawn(run: Run, wraps: Path, design: str, tmp_path: Path) -> None:
    done = run("plan", design, "--quick", "--out", "out", path=(wraps,))
    assert done.returncode == 0, done.stderr
    out = tmp_path / "out"
    rows = list(csv.DictReader(io.StringIO((out / "parts.csv").read_text(encoding="utf-8"))))
    # two battens and two pads for each of six hives
    assert [(r["address"], r["count"], r["material"]) for r in rows] == [
        ("wrap batten / 10-frame 16 1/4 / batten", "12", "board 3/4 in"),
        ("wrap batten / 10-frame 16 1/4 / pad", "12", "foam 1 in"),
    ]
    bought = list(csv.DictReader(io.StringIO((out / "buy.csv").read_text(encoding="utf-8"))))
    groups = {row["group"] for row in bought}
    assert {"board 3/4 in", "foam 1 in", "screws"} <= groups
    # 4 screws for each of six, and 5 % spare
    assert next(row["why"] for row in bought if row["group"] == "screws") == "24 plus 5% spare"
    drawn = {path.name: path.read_text(encoding="utf-8") for path in (out / "drawings").glob("part-*.dxf")}
    assert sorted(drawn) == [
        "part-1-A-wrap-batten-10-frame-16-1-4-batten.dxf",
        "part-2-B-wrap-batten-10-frame-16-1-4-pad.dxf",
    ]
    assert "CIRCLE" in drawn["part-1-A-wrap-batten-10-frame-16-1-4-batten.dxf"]
    assert (out / "packet.pdf").read_bytes()[:5] == b"%PDF-"
    plan = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    assert "batten-seen" in {finding["code"] for finding in plan["findings"]}, "its own check was asked"
    verified = run("verify", "out/plan.json", path=())
    assert verified.returncode == 0, "a plan is verified without the package"


def test_its_settings_are_checked_like_ours(run: Run, wraps: Path, design: str, tmp_path: Path) -> None:
    (tmp_path / design).write_text(DESIGN.replace("pads = 2", 'pads = 12\nwidht = "1"'), encoding="utf-8")
    done = run("check", design, path=(wraps,))
    assert done.returncode == 3
    assert "widht" in done.stderr
    assert "Did you mean 'width'?" in done.stderr


OUR_NAME = BATTEN.replace('@item("wrap batten"', '@item("quilt box"')
NO_MEANING = BATTEN.replace(
    'pads: Annotated[int, Param("pads of foam", None, "1", "9", source="common practice, no source")] = 1',
    "pads: int = 1",
)
NO_FACT = BATTEN.replace('"strip.width"', '"strip.widht"')
NO_COUNT = BATTEN.replace("check=check)", 'per="people")')
BAD_HINT = BATTEN.replace("width: Annotated[Length, Param", "width: Annotated[Lenth, Param")

# modules, entry point, and words of the one error
FAULTS: dict[str, tuple[dict[str, str], str, tuple[str, ...]]] = {
    "no such module": ({}, "nowhere", ("'nowhere'", "ModuleNotFoundError", "No module named 'nowhere'")),
    "a slip in its code": ({"wraps": "def f(:\n"}, "wraps", ("SyntaxError",)),
    "an error as it is imported": ({"wraps": "1 / 0\n"}, "wraps", ("ZeroDivisionError",)),
    "it leaves as it is imported": ({"wraps": "raise SystemExit(7)\n"}, "wraps", ("SystemExit: 7",)),
    "no such name in it": ({"wraps": BATTEN}, "wraps:batten", ("AttributeError", "batten")),
    "it takes a name of ours": ({"wraps": OUR_NAME}, "wraps", ("two makers for 'quilt box'",)),
    "it registers nothing": ({"wraps": "x = 1\n"}, "wraps", ("registers no item",)),
    "a row that is not there": ({"wraps": NO_FACT}, "wraps", ("no fact 'strip.widht'", "strip.width")),
    "counted by what it has not": ({"wraps": NO_COUNT}, "wraps", ("counted by 'people'",)),
    "a hint of no type": ({"wraps": BAD_HINT}, "wraps", ("NameError", "Lenth")),
    "a setting without a meaning": ({"wraps": NO_MEANING}, "wraps", ("'pads' has no annotation",)),
}  # fmt: skip


@pytest.mark.parametrize("name", spread(list(FAULTS), 5))
def test_a_package_at_fault_is_one_clear_error(run: Run, tmp_path: Path, design: str, name: str) -> None:
    modules, value, words = FAULTS[name]
    site = package(tmp_path / "site", modules, {"wraps": value})
    done = run("plan", design, "--quick", "--out", "out", path=(site,))
    assert done.returncode == 3
    assert "Traceback" not in done.stderr
    (line,) = done.stderr.splitlines()
    assert line.startswith("error: package 'hive-wraps', entry point 'wraps': given ")
    for word in (*words, "wanted a module whose items (woodshop.items)", "Update that package"):
        assert word in line
    assert not (tmp_path / "out").exists()


def test_two_packages_with_one_name_are_told_apart(run: Run, wraps: Path, tmp_path: Path) -> None:
    """The first in the order of the entry points' names keeps it; every fault is told at once."""
    other = package(tmp_path / "other", {"more_wraps": BATTEN}, {"a-wraps": "more_wraps"}, name="more-wraps")
    broken = package(tmp_path / "broken", {}, {"z": "nowhere"}, name="broken")
    done = run("items", path=(wraps, other, broken))
    assert done.returncode == 3
    lines = done.stderr.splitlines()
    assert ["package 'hive-wraps', entry point 'wraps'" in lines[0], "two makers for 'wrap batten'" in lines[0]] == [
        True
    ] * 2
    assert "package 'broken', entry point 'z'" in lines[1]
    assert len(lines) == 2


def test_the_same_package_twice_on_the_path_is_loaded_once(run: Run, wraps: Path, tmp_path: Path) -> None:
    again = package(tmp_path / "again", {"wraps": BATTEN}, {"wraps": "wraps"})
    done = run("items", path=(wraps, again))
    assert done.returncode == 0
    assert done.stdout.count("wrap batten") == 1


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (
            "long = setting.box.height",
            "long = {}['long']",
            "wrap batten, maker: given an error in package 'hive-wraps'",
        ),
        (
            "    return [\n        Finding",
            "    raise TypeError('no')\n    return [\n        Finding",
            "wrap batten, check",
        ),
    ],
)
def test_its_own_errors_name_its_package(run: Run, tmp_path: Path, design: str, old: str, new: str, words: str) -> None:
    assert old in BATTEN
    site = package(tmp_path / "site", {"wraps": BATTEN.replace(old, new)}, {"wraps": "wraps"})
    done = run("check", design, path=(site,))
    assert done.returncode == 3
    assert "Traceback" not in done.stderr
    assert words in done.stderr


RISER = '''
"""A rim that raises the cover over the board, with a way out for bees in its front end."""

from typing import Annotated

from woodshop.hardware.board import Setting
from woodshop.hardware.registry import Param, item
from woodshop.hive.stacking.place import Place, TierKind
from woodshop.reference.materials import board_material
from woodshop.shape.part import Assembly, Cut, Face, Part, Placed, Pose, Rectangle
from woodshop.units.lengths import ZERO, Length, inch

PLACE = Place(
    kind=TierKind.ADDED, name="riser", walls=("riser side", "riser end"), rim="riser", passages=("riser entrance",)
)


@item("riser", title="Riser", place=PLACE)
def riser(
    setting: Setting,
    *,
    height: Annotated[Length, Param("height of the riser", "strip.width", "3/8", "8")],
    wider: Annotated[Length, Param("wider than the box at each side", None, "0", "2", source="common practice")] = ZERO,
) -> Assembly:
    """Four walls as wide and long as the box."""
    box, wood = setting.box, setting.wood
    long, wide = box.length, box.width + wider * 2
    side = Part("riser side", board_material(wood), long, height, wood)
    middle = (wide - wood * 2) / 2
    way = Cut("riser entrance", Face.SHOW, Rectangle(middle - inch(1), ZERO, middle + inch(1), inch("5/16")), wood)
    front = Part("riser end", board_material(wood), wide - wood * 2, height, wood, cuts=(way,))
    back = Part("riser end", board_material(wood), wide - wood * 2, height, wood)
    low = ZERO - wider
    return Assembly(
        "riser",
        "Riser",
        (
            Placed(side, Pose((ZERO, low + wood, ZERO), "+x", "+z", "-y")),
            Placed(side, Pose((ZERO, low + wide, ZERO), "+x", "+z", "-y")),
            Placed(front, Pose((ZERO, low + wood, ZERO), "+y", "+z", "+x")),
            Placed(back, Pose((long - wood, low + wood, ZERO), "+y", "+z", "+x")),
        ),
        steps=("Screw the corners.",),
    )
'''
RAISED = DESIGN.replace("count = 6", "count = 2").replace(
    'item = "wrap batten"\npads = 2', 'item = ["fondant rim", "wire bottom", "spacer strips"]'
)
RAISED += '[[make]]\nitem = "riser"\nheight = "3"\n'


LID = """
    sheet = Part("lid", sheet_material("plywood", inch("1/4")), long - wood * 2, wide - wood * 2, inch("1/4"))
    lid = (Placed(sheet, Pose((wood, low + wood, inch("0.21")))),)
"""
LIDDED = (
    RISER.replace("import board_material", "import board_material, sheet_material")
    .replace("    low = ZERO - wider\n", "    low = ZERO - wider\n" + LID)
    .replace("        (\n            Placed(side", "        (\n            *lid,\n            Placed(side", 1)
)
ON_THE_BOX = RAISED.replace('item = ["fondant rim", "wire bottom", "spacer strips"]', 'item = "vent spacers"')


@pytest.mark.slow("installs a package and checks with it in processes of their own")
def test_an_item_that_does_not_declare_what_closes_it_is_refused(run: Run, design: str, tmp_path: Path) -> None:
    """Its lid is 1/4 + 0.21 = 0.46 in over the bars; the cover, 3 1/4 in over them, is not what bees have above."""
    (tmp_path / design).write_text(ON_THE_BOX.replace('height = "3"', 'height = "1"'), encoding="utf-8")
    site = package(tmp_path / "site", {"risers": LIDDED}, {"risers": "risers"})
    done = run("check", design, "--json", path=(site,))
    assert done.returncode == 1, done.stderr
    (found,) = [f for f in json.loads(done.stdout)["findings"] if f["code"] == "ceiling-not-declared"]
    assert found["severity"] == "error"
    assert found["value"].startswith("riser: its lid over the frames closes the hive")
    assert "ceiling = ('lid',)" in found["change"]

    declared = LIDDED.replace('rim="riser",', 'rim="riser", ceiling=("lid",), ceiling_name="riser lid",')
    site = package(tmp_path / "declared", {"risers": declared}, {"risers": "risers"})
    told = json.loads(run("check", design, "--json", path=(site,)).stdout)
    assert "ceiling-not-declared" not in {f["code"] for f in told["findings"]}
    (gap,) = [row for row in told["gaps"] if row["name"].startswith("top bars to ")]
    assert (gap["name"], gap["least"], gap["grade"]) == ("top bars to riser lid", "0.46", "slightly wide")


@pytest.mark.slow("installs a package and checks with it in processes of their own")
def test_an_item_that_lifts_the_cover_answers_for_the_gap_under_it(run: Run, design: str, tmp_path: Path) -> None:
    """Bars and cover are the user's, 1/4 in apart without the 3 in of riser and the 0.118 in of vent spacers."""
    (tmp_path / design).write_text(ON_THE_BOX, encoding="utf-8")
    site = package(tmp_path / "site", {"risers": RISER}, {"risers": "risers"})
    done = run("check", design, "--json", path=(site,))
    assert done.returncode == 1, done.stderr
    (found,) = [f for f in json.loads(done.stdout)["findings"] if f["code"] == "too-wide"]
    assert found["severity"] == "error"
    assert found["value"].startswith("top bars to cover: 3.368 in")
    assert "riser and vent spacers" in found["change"]


@pytest.mark.slow("installs a package and plans with it in processes of their own")
def test_an_item_that_declares_its_place_sits_in_the_hive(run: Run, design: str, tmp_path: Path) -> None:
    """It is measured, checked, drawn on the map, varied and cut as our own things are, and nothing of ours names it."""
    site = package(tmp_path / "site", {"risers": RISER}, {"risers": "risers"})
    (tmp_path / design).write_text(RAISED, encoding="utf-8")
    done = run("check", design, "--json", "--moves", "--map", "map.svg", path=(site,))
    assert done.returncode == 0, done.stderr + done.stdout
    told = json.loads(done.stdout)
    gaps = {(row["name"], row["place"]): (row["least"], row["grade"]) for row in told["gaps"]}
    for side in ("front", "back", "left", "right"):
        assert gaps["wall on wall", f"riser on board, {side}"] == ("0", "touches")
        assert gaps["overhang", f"riser on board, {side}"] == ("0", "flush")
        # a cover 1/4 in wider than the box at each side
        assert gaps["cover skirt to wall", f"cover over riser, {side}"] == ("1/4", "wide by design")
    assert ("cover on wall", "cover on riser, front") in gaps
    assert "bees-get-in" not in {finding["code"] for finding in told["findings"]}, "its entrance is for bees"
    text = (tmp_path / "map.svg").read_text(encoding="utf-8")
    assert ">riser<" in text
    assert "riser entrance" in text

    closed = package(
        tmp_path / "closed",
        {"risers": RISER.replace('passages=("riser entrance",)', "passages=()")},
        {"risers": "risers"},
    )
    codes = {f["code"] for f in json.loads(run("check", design, "--json", path=(closed,)).stdout)["findings"]}
    assert "bees-get-in" in codes, "the same hole, not declared as a passage"

    (tmp_path / "wide.toml").write_text(RAISED + 'wider = "1/2"\n', encoding="utf-8")
    wide = run("check", "wide.toml", "--json", path=(site,))
    found = [f for f in json.loads(wide.stdout)["findings"] if "riser" in f["value"]]
    assert found, "its walls are past the board's"

    planned = run("plan", design, "--quick", "--out", "out", path=(site,))
    assert planned.returncode == 0, planned.stderr
    parts = {
        row["address"]: row["count"] for row in csv.DictReader(io.StringIO((tmp_path / "out/parts.csv").read_text()))
    }
    assert parts["riser / 10-frame 16 1/4 / riser side"] == "4"
    cuts = (tmp_path / "out/cuts.csv").read_text(encoding="utf-8")
    # the front end has a cut, the back end has none: two parts of one name
    for end in ("riser end", "riser end 2"):
        assert parts[f"riser / 10-frame 16 1/4 / {end}"] == "2"
        assert f"riser / 10-frame 16 1/4 / {end}," in cuts.replace('"', "")
    moved = {size for each in told["moves"]["hives"] for gap in each["gaps"] for size in gap.get("hangs_on", ())}
    assert "height of the riser" in moved
