"""The screens of a design without a browser: no inches, pounds, cups or °F are offered or shown in a metric one.

The screens are built in this process, with everything unfolded, and all their texts and values are read.
"""

import sys
import tomllib
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from nicegui import Client, ui

from tests.documents.printed_words import foreign, too_fine, words_of
from tests.once import DESIGNS
from tests.page.served import copied
from woodshop.cli import main
from woodshop.page import frame
from woodshop.page.controls import words
from woodshop.page.opened.folder import Folder
from woodshop.page.screens import home
from woodshop.page.screens.home import KINDS, starter_lumberyard
from woodshop.reference.patterns import patterns
from woodshop.units.lengths import lengths_in
from woodshop.units.wording import LengthUnit

SCREENS = ("hives", "make", "supplies", "file", "days")
METRIC = ("birkholm-run.toml", "birkholm-lumberyard.toml")
INCHES = ("hobby-batch.toml", "creekside-lumberyard.toml")


def _unfolded(key: str, summary: str, build: Callable[[], None], *_: Any, **__: Any) -> ui.element:
    words("summary", summary)
    build()
    return ui.element("div")


@pytest.fixture
def texts(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Callable[..., list[str]]:
    """The texts of the screens of the first of some demo files, with lengths shown in a unit, as they are built."""
    frame.screens()
    for module in [each for name, each in sys.modules.items() if name.startswith("woodshop.page")]:
        if hasattr(module, "fold"):
            monkeypatch.setattr(module, "fold", _unfolded)

    def built(files: tuple[str, ...], unit: LengthUnit, routes: Iterable[str] = SCREENS) -> list[str]:
        folder = Folder(copied(tmp_path / files[0], files))
        monkeypatch.setattr(frame, "_folders", [folder])
        opened = folder.open(files[0].removesuffix(".toml"))
        found = []
        for route in routes:
            body = next(each.body for each in frame.screens() if each.route == route)
            with Client(ui.page("/")) as client, lengths_in(unit):
                body(opened, unit)
                for each in client.elements.values():
                    named = (each.props.get(name) for name in ("aria-label", "title", "alt", "^value"))
                    found += [str(text) for text in (getattr(each, "text", ""), *named) if text]
                    found += words_of("drawn.html", str(each.props.get("innerHTML", "")).encode())
        return found

    return built


@pytest.mark.invariant
def test_no_inch_pound_cup_or_fahrenheit_in_any_field_help_or_choice_of_a_metric_design(
    texts: Callable[..., list[str]],
) -> None:
    found = texts(METRIC, "mm")
    assert len(found) > 1_000
    plain = [each for each in found if "woodshop-design/2" not in each]  # the file itself has its format and its kerfs
    assert not {word for text in plain for word in (*foreign(text), *too_fine(text))}
    said = " ".join(found)
    for wanted in (
        "Depth of the shavings: 25 mm to 204 mm. Default: 50 mm.",  # limits rounded outward, as `check` has them
        "The smallest mark on your tape. Parts are rounded to it. Default: 1 mm.",
        "Load that the car carries on one trip. Default: 270 kg.",
        "12.7 mm (default)",
    ):
        assert wanted in said


def test_the_same_screens_of_an_inch_design_have_inches_and_millimeters_on_demand(
    texts: Callable[..., list[str]],
) -> None:
    inches, shown = " ".join(texts(INCHES, "in", ("make",))), " ".join(texts(INCHES, "mm", ("make",)))
    assert "Depth of the shavings: 1 in to 8 in. Default: 2 in." in inches
    assert "Depth of the shavings: 25.4 mm to 203.2 mm. Default: 50.8 mm." in shown
    assert "1/2 in (default)" in inches
    assert "12.7 mm (default)" in shown
    assert foreign(inches)


def test_a_new_lumberyard_of_a_metric_design_sells_by_the_millimeter() -> None:
    text = starter_lumberyard("mill", "mm")
    assert not foreign(text)
    assert tomllib.loads(text)["unit"] == "mm"
    assert "offcut" not in tomllib.loads(text)
    assert tomllib.loads(starter_lumberyard("mill")).get("unit", "in") == "in"


@pytest.mark.invariant
@pytest.mark.parametrize(("unit", "chosen"), [("in", "10 Dadant-Blatt"), ("mm", "11 British National")])
def test_a_new_batch_offers_every_pattern_without_missing_sizes_and_has_a_lumberyard_in_its_unit(
    unit: LengthUnit, chosen: str, tmp_path: Path
) -> None:
    whole = {f"{n} {each.name}" for each in patterns() if not each.missing for n in each.frames}
    assert {kind if " " in kind else f"{kind} Langstroth" for kind in KINDS[unit]} == whole
    folder, answers = Folder(tmp_path), home._Answers("new")
    answers.unit, answers.rows = unit, [[chosen, "2"]]
    folder.new_lumberyard("my-lumberyard", starter_lumberyard("mill", "mm" if unit == "in" else "in"))
    assert home._lumberyards(folder, answers)[1] == ""  # one in the other unit is offered, and not taken unasked
    design = folder.open(home._begin(folder, answers)).design()
    (hives,) = design.hives
    assert (design.unit, f"{hives.frames} {hives.pattern}") == (unit, chosen)
    text, sold = ((tmp_path / name).read_text("utf-8") for name in ("new.toml", "my-lumberyard-2.toml"))
    assert tomllib.loads(text)["lumberyard"] == "my-lumberyard-2.toml"
    assert tomllib.loads(text)["board"] == (
        {"mounting": "flush rabbet", "rabbet_height": "10 mm"} if unit == "mm" else {}
    )
    assert tomllib.loads(sold).get("unit", "in") == unit
    yards = {name: name for name in ("my-lumberyard", "my-lumberyard-2")}
    assert home._lumberyards(folder, answers) == (yards, "my-lumberyard-2")
    answers.lumberyard = "my-lumberyard"
    assert home._lumberyards(folder, answers)[1] == "my-lumberyard"


def test_a_new_batch_of_two_patterns_raises_the_mesh_only_where_the_bars_are_level_with_the_box(tmp_path: Path) -> None:
    folder, answers = Folder(tmp_path), home._Answers("new")
    answers.unit, answers.rows = "mm", [["11 British National", "2"], ["10 Dadant-Blatt", "3"]]
    home._begin(folder, answers)
    done = CliRunner().invoke(main, ["check", str(tmp_path / "new.toml")])
    assert "0 errors" in done.output, done.output
    made = tomllib.loads((tmp_path / "new.toml").read_text("utf-8"))["make"]
    low = [each for each in made if each.get("hives") == ["British National hives"]]
    assert [each["item"] for each in low] == ["fondant rim", "wire bottom", "spacer strips", "packing blocks"]
    assert {(each["mounting"], each["rabbet_height"]) for each in low} == {("flush rabbet", "10 mm")}


@pytest.mark.parametrize(("unit", "example"), [("in", "hobby-batch"), ("mm", "birkholm-run")])
def test_the_example_has_the_unit_that_was_chosen(
    unit: LengthUnit, example: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its button copies the design and its lumberyard, and it checks; it is gone once the design is there."""
    pressed: list[Callable[[], None]] = []
    monkeypatch.setattr(home, "press", lambda text, do, **_: (pressed.append(do), ui.element("button"))[1])
    monkeypatch.setattr(ui.navigate, "to", lambda address: None)
    folder, answers = Folder(tmp_path), home._Answers("new")
    with Client(ui.page("/")):
        home._example(folder, answers)
        answers.unit = unit
        answers.show_example()
        pressed[-1]()
        pressed.clear()
        answers.show_example()
    assert pressed == []
    assert list(folder.designs()) == [example]
    design = folder.open(example).design()
    assert design.unit == unit
    assert list(folder.lumberyards()) == [home.EXAMPLES[unit][1]]
    assert (tmp_path / f"{example}.toml").read_bytes() == (DESIGNS / f"{example}.toml").read_bytes()
