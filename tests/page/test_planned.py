"""What the page shows of a batch: the words of the command, both units, and settings that can be compared."""

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests import once
from tests.page.served import copied
from tests.schedule.small_projects import large, small
from woodshop.cli import main
from woodshop.design.design_file import read_design
from woodshop.documents.answers.comparison import name_of
from woodshop.documents.plan_design import settled_design
from woodshop.drawing.pens.html import escaped
from woodshop.errors import InputError
from woodshop.page.fitting import Fitting
from woodshop.page.opened.folder import Folder
from woodshop.page.planned import plan_and_show, schedule_part
from woodshop.plan.book.reading import read_booked
from woodshop.trade.compare import read_varies, refuse_values
from woodshop.trade.what_ifs import settings_to_change, settings_to_try

LIFTING = "strip-lifts-rim"
LIFTS = """format = "woodshop-design/2"
batch = "lifts"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
[[hives]]
frames = 10
count = 1
gap = "1/4"
[[make]]
item = ["fondant rim", "wire bottom"]
[[make]]
item = "spacer strips"
thickness = "3/8"
"""


def test_errors_are_said_in_the_words_of_the_command_and_nothing_is_written(tmp_path: Path) -> None:
    folder = copied(tmp_path / "designs", ("creekside-lumberyard.toml",))
    (folder / "lifts.toml").write_text(LIFTS)
    before = sorted(folder.iterdir())
    shown = plan_and_show(folder / "lifts.toml", "quick", say=lambda line: None)
    assert (shown.is_planned, shown.cut, shown.days) == (False, (), None)
    assert sorted(folder.iterdir()) == before
    ran = CliRunner().invoke(main, ["plan", str(folder / "lifts.toml"), "--out", str(tmp_path / "x")])
    assert ran.exit_code == 1
    said = [line.strip() for line in ran.stdout.splitlines() if line.strip()]
    assert any("strip-lifts-rim" in line for line in said)
    page = " ".join(shown.summary.html["in"].split())
    for line in said:
        words = line.removeprefix("ERROR").removeprefix("WARNING").removeprefix("NOTE").strip()
        assert escaped(words) in page, words


def test_the_settings_to_try_can_be_compared_and_are_other_than_those_of_the_design(tmp_path: Path) -> None:
    folder = copied(tmp_path / "designs")
    path = folder / "two-lumberyards.toml"
    batch = settled_design(read_booked(path))
    tried = settings_to_try(batch)
    assert read_varies(tuple(each.vary for each in tried))
    assert all(len(each.values) == len(each.vary.split(",")) for each in tried)
    keys = {each.vary.partition("=")[0]: each for each in tried}
    assert "buying.one_lumberyard" in keys
    assert read_design(path).buying.one_lumberyard is False
    assert keys["buying.one_lumberyard"].values == ("yes",)
    assert name_of((("buying.one_lumberyard", "true"),), {"buying.one_lumberyard": "one place"}) == "one place: yes"
    assert name_of((("wood", "1"),)) == "wood = 1"


@pytest.mark.slow("reads the hobby batch with every change")
def test_every_setting_to_change_is_one_that_compare_takes_and_is_named_in_words() -> None:
    planned = once.planned("hobby-batch")
    design = once.DESIGNS / "hobby-batch.toml"
    lumberyards = {"creekside-lumberyard.toml": planned.batch.lumberyard.terms[0].lumberyard}
    found = settings_to_change(planned, {**lumberyards, "tidewater-lumberyard.toml": "Tidewater"})
    assert len({each.key for each in found}) == len(found)
    assert {"lumberyards", "wood", "board.joint", "board.height", "saw.rip_kerf", "moisture.species"} <= {
        each.key for each in found
    }
    chosen = [each for each in found if each.choices]
    last = tuple(each.with_values([each.choices[-1][0]]).vary for each in chosen)
    refuse_values(design, read_varies(last, is_each_alone=True))
    assert read_varies(tuple(each.with_values(["1"]).vary for each in found))
    with pytest.raises(InputError, match="cases"):
        read_varies(tuple(each.with_values(dict(each.choices)).vary for each in chosen))
    assert not [each for each in found if each.words == each.key or "_" in each.words or "=" in each.words]
    assert all(each.present not in dict(each.choices).values() for each in found)
    words = {each.key: dict(each.choices) for each in found}
    assert words["tools.crosscut_with"]["sled"] == "only a sled on the table saw"
    assert words["wood"]["1 1/2 in"] == "boards 1 1/2 in thick"
    assert dict(found[0].choices)["tidewater-lumberyard.toml"] == "Tidewater"
    assert "creekside-lumberyard.toml" not in dict(found[0].choices)  # the design buys there


@pytest.mark.parametrize("make", ["mouse guard", "quilt box"])
def test_settings_of_parts_that_are_not_made_are_not_offered(tmp_path: Path, make: str) -> None:
    folder = copied(tmp_path / "designs", ("creekside-lumberyard.toml",))
    head = LIFTS.partition("[[make]]")[0]
    (folder / "other.toml").write_text(f'{head}[[make]]\nitem = "{make}"\n')
    assert settings_to_try(settled_design(read_booked(folder / "other.toml"))) == ()


def test_findings_in_the_other_unit_say_the_same_and_leave_the_values_for_the_file_as_they_are(tmp_path: Path) -> None:
    """One inch is 25.4 mm exactly (international yard and pound agreement, 1959)."""
    folder = copied(tmp_path / "designs", ("creekside-lumberyard.toml",))
    (folder / "lifts.toml").write_text(LIFTS)
    fitting = Fitting(Folder(folder).open("lifts"))
    inches, millimeters = (fitting.fit(unit)[1].report.findings for unit in ("in", "mm"))
    assert [(each.code, each.severity, each.place, each.remedy) for each in inches] == [
        (each.code, each.severity, each.place, each.remedy) for each in millimeters
    ]
    said, (found,) = {each.code: each for each in inches}, [each for each in millimeters if each.code == LIFTING]
    assert "3/8 in" in said[LIFTING].value
    assert "9.5 mm" in found.value  # 3/8 in is 9.525 mm
    assert found.remedy
    assert all("mm" not in value for _, value in found.remedy)


def test_a_long_schedule_is_sent_in_parts_and_a_short_one_at_once() -> None:
    assert not schedule_part(small()).folded
    part = schedule_part(large())
    assert [each.title for each in part.folded] == ["Calendar", "Gantt chart"]
    shown = [part.html["in"], *(each.html["in"] for each in part.folded)]
    assert all(f">{each.title}</h2>" in each.html["in"] for each in part.folded)
    names = [name for html in shown for name in re.findall(r' id="([^"]+)"', html)]
    assert len(set(names)) == len(names)
