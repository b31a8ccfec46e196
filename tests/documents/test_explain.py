"""Explained words: every setting, finding, fact and term is there, and their numbers are the rows the checks read."""

import ast
import json
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner, Result

from tests.nightly import IS_NIGHT
from woodshop.cli import main
from woodshop.design.schema import SettingTable
from woodshop.documents.answers import explain
from woodshop.documents.answers.explain import GROUPS, TERMS, word_section, words_section
from woodshop.documents.answers.file_keys import FILES
from woodshop.documents.answers.listings import parameter_row
from woodshop.documents.report.report import FINDINGS
from woodshop.drawing.pens.section_json import section_json
from woodshop.drawing.pens.text import section_text
from woodshop.errors import InputError
from woodshop.hardware.board import BoardSettings
from woodshop.hardware.catalogue import items
from woodshop.hardware.registry import fields_as_parameters
from woodshop.reference.facts import all_facts, fact, group

PACKAGE = Path(__file__).resolve().parents[2] / "woodshop"
CHECKS = sorted(
    path for room in ("checks", "hardware", "plan", "schedule", "trade") for path in (PACKAGE / room).rglob("*.py")
)
VERIFY = [PACKAGE / "cutting" / "checkers" / name for name in ("check.py", "prove.py", "replay.py")]


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def explained(word: str) -> dict[str, Any]:
    """What the section has for machines."""
    return section_json(word_section(word))


def texts(node: ast.AST) -> Iterator[str]:
    """The texts that an expression may be: itself, or either arm of a choice."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from texts(node.body)
        yield from texts(node.orelse)


def called(node: ast.AST, name: str) -> Iterator[ast.Call]:
    for each in ast.walk(node):
        if isinstance(each, ast.Call) and isinstance(each.func, ast.Name) and each.func.id == name:
            yield each


def findings_of(tree: ast.AST) -> list[list[str]]:
    """The codes of each Finding made in it; an empty list for a code that cannot be read off."""
    return [list(texts(call.args[0])) for call in called(tree, "Finding")]


def codes() -> set[str]:
    return {code for path in CHECKS for made in findings_of(ast.parse(path.read_text("utf-8"))) for code in made}


def verify_codes() -> set[str]:
    trees = [ast.parse(path.read_text("utf-8")) for path in VERIFY]
    said = {node.value for tree in trees for node in ast.walk(tree) if isinstance(node, ast.Constant)}
    return {text for text in said if isinstance(text, str) and text.startswith(("plan-", "sequence-"))}


@pytest.mark.invariant
def test_every_finding_of_the_checks_and_no_other_is_explained() -> None:
    assert all(made for path in CHECKS for made in findings_of(ast.parse(path.read_text("utf-8"))))
    assert len(codes()) > 35
    assert set(FINDINGS) == codes() | verify_codes()


@pytest.mark.invariant
def test_the_numbers_of_an_explanation_are_the_rows_its_check_reads() -> None:
    """Every row read in a function that makes findings stands with one of the findings made there."""
    looked_at = 0
    for path in CHECKS:
        for function in ast.walk(ast.parse(path.read_text("utf-8"))):
            if not isinstance(function, ast.FunctionDef):
                continue
            made = [code for each in findings_of(function) for code in each]
            read = {text for call in called(function, "fact") for text in texts(call.args[0])}
            if made:
                told = {row.key for code in made for key in FINDINGS[code][1] for row in group(key)}
                assert read <= told, (path.name, function.name)
                looked_at += len(read)
    assert looked_at > 25


@pytest.mark.invariant
def test_every_row_that_an_explanation_names_is_there_once() -> None:
    for code, (text, keys) in FINDINGS.items():
        assert text.endswith(".")
        assert len(keys) == len(set(keys))
        for key in keys:
            assert group(key), (code, key)


@pytest.fixture
def listed_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The list of all meanings, which is the same for every word, is made once for many words."""
    every = list(explain._meanings())
    monkeypatch.setattr(explain, "_meanings", lambda unit: iter(every))


@pytest.mark.usefixtures("listed_once")
def test_every_setting_is_explained_with_its_default_and_source() -> None:
    tables = {"board": fields_as_parameters(BoardSettings)} | {item.name: item.parameters for item in items()}
    for table, parameters in tables.items():
        for parameter in parameters:
            (meaning,) = explained(f"{table}.{parameter.name}")["meanings"]
            row = parameter_row(parameter)
            assert meaning["kind"] == "setting"
            assert (meaning["details"]["default"], meaning["details"]["source"]) == (row["default"], row["source"])
            assert meaning in explained(parameter.name.replace("_", " "))["meanings"]


def keys_in(tables: Any) -> Iterator[str]:
    """Every key of a file, also inside its tables. The names of boxes, items and sizes that users choose are none."""
    for each in tables if isinstance(tables, list) else [tables]:
        if isinstance(each, dict):
            for key, value in each.items():
                yield key
                yield from keys_in(value if key not in ("measured", "other_columns") else {})


@pytest.mark.usefixtures("listed_once")
def test_every_key_of_every_kind_of_file_is_explained() -> None:
    """Of the models that read the files, whether or not a file uses the key."""
    for file in FILES:
        models = [FILES[file]]
        for model in models:
            for name, field in model.model_fields.items():
                models += [each for each in tables_of(field.annotation) if each not in models]
                meanings = [each for each in explained(name)["meanings"] if each["kind"] == "key"]
                assert field.description, (file, name)
                assert field.description in {each["text"][: len(field.description)] for each in meanings}, (file, name)


def tables_of(hint: Any) -> list[Any]:
    if isinstance(hint, type) and issubclass(hint, SettingTable):
        return [hint]
    return [table for each in get_args(hint) for table in tables_of(each)]


def test_every_kind_of_file_that_is_read_has_its_keys() -> None:
    texts_of = (path.read_text("utf-8") for path in PACKAGE.rglob("*.py"))
    read = {kind for text in texts_of for kind in re.findall(r'\bload(?:_text)?\([\w., ]+, "(\w+)"\)', text)}
    assert read == {"design", *FILES}


@pytest.mark.usefixtures("listed_once")
def test_every_key_of_the_demo_files_and_of_the_guide_is_explained() -> None:
    written = [path.read_text("utf-8") for path in (PACKAGE.parent / "designs").glob("*.toml")]
    guide = "".join(path.read_text("utf-8") for path in (PACKAGE / "guide").glob("*.md"))
    written += re.findall(r"```toml[^\n]*\n(.*?)```", guide, re.DOTALL)
    keys = {key for text in written for key in keys_in(tomllib.loads(text))}
    assert {"resaw", "longest", "crosscut", "free_cuts", "shortest_cut", "rounded_edges", "cut_allowance"} <= keys
    known = {name for names, meaning in explain._meanings("in") if meaning.kind in ("key", "setting") for name in names}
    assert {key for key in keys if key.replace("_", " ") not in known} == set()


def test_a_default_from_a_row_is_that_of_the_row() -> None:
    (meaning,) = explained("board.head_room")["meanings"]
    assert meaning["details"]["default"] == fact("rim.head_room").value
    assert meaning["details"]["source"] == fact("rim.head_room").cite


@pytest.mark.usefixtures("listed_once")
def test_every_fact_is_explained() -> None:
    for row in all_facts():
        assert any(m["kind"] == "fact" and m["name"] == row.key for m in explained(row.key)["meanings"])


def test_the_rows_below_a_key_are_found() -> None:
    told = explained("bee_space.band")["meanings"]
    assert [meaning["name"] for meaning in told] == [row.key for row in group("bee_space.band")]


WORDS = [
    "fondant board", "candy board", "wire bottom", "bee space", "top bar", "lug", "frame rest", "packing block",
    "corner vent", "quilt box", "kerf", "rip", "crosscut", "landing", "entrance channel", "upper entrance", "notch",
    "rabbet", "skirt", "telescoping cover", "head room", "burr comb", "propolis", "offcut", "blank", "layout", "bound",
    "design file", "lumberyard file", "measured file", "nominal size", "tare",
]  # fmt: skip


@pytest.mark.parametrize("word", [*WORDS, "Fondant-Board", "TOP BARS", " kerf "])
def test_words_of_the_trade(word: str) -> None:
    assert any(meaning["kind"] == "term" for meaning in explained(word)["meanings"])


@pytest.mark.invariant
def test_no_two_terms_share_a_name() -> None:
    names = [name.lower() for term in TERMS for name in (term.name, *term.also)]
    assert len(names) == len(set(names))
    assert all(term.text.endswith(".") for term in TERMS)


@pytest.mark.parametrize(
    ("word", "near"),
    [("strip-lift-rim", "strip-lifts-rim"), ("fondent board", "fondant board"), ("notch_hight", "notch_height")],
)
def test_an_unknown_word_gets_near_ones_and_exit_3(word: str, near: str) -> None:
    result = run("explain", word)
    assert result.exit_code == 3
    assert result.stdout == ""
    assert near in result.stderr
    assert "Did you mean" in result.stderr
    assert json.loads(run("explain", word, "--json").stdout)["errors"][0]["where"] == "explain"


@pytest.mark.parametrize("word", ["", "  ", "xqzwv", "é" * 500, "[[", "%s"])
def test_what_is_no_word_is_refused(word: str) -> None:
    with pytest.raises(InputError):
        explained(word)


def test_what_is_printed_and_what_is_json_agree() -> None:
    told = json.loads(run("explain", "strip-lifts-rim", "--json").stdout)
    assert told == explained("strip-lifts-rim")
    text = run("explain", "strip-lifts-rim").stdout
    assert text == section_text(word_section("strip-lifts-rim")) + "\n"
    assert fact("strip.proud_most").value in text


def test_without_a_word_the_groups_are_listed_and_each_lists_its_words() -> None:
    lines = run("explain").stdout.splitlines()
    assert len(lines) <= 12
    for name, kind in GROUPS.items():
        words = section_json(words_section())[kind]
        assert any(line.split()[:2] == [name, str(len(words))] for line in lines)
        listed = run("explain", name).stdout
        assert all(word in listed for word in words)


def test_all_words_are_listed_by_kind() -> None:
    told = json.loads(run("explain", "--json").stdout)
    assert told == section_json(words_section())
    assert told["finding"] == list(FINDINGS)
    assert len(told["fact"]) == len(all_facts())
    for kind, words in told.items():
        assert kind in {meaning["kind"] for meaning in explained(words[-1])["meanings"]}


ITEMS = [item.name for item in items()]


def drawn(folder: Path, name: str, ending: str) -> Path:
    """The picture of an item, in a new file."""
    path = folder / f"{len(list(folder.iterdir()))}.{ending}"
    result = run("items", name, "--picture", path)
    assert result.exit_code == 0, result.output
    return path


@pytest.mark.parametrize("ending", ["svg", "pdf"])
def test_a_picture_is_the_same_bytes_the_second_time(tmp_path: Path, ending: str) -> None:
    for name in ITEMS if IS_NIGHT else ["quilt box"]:
        assert drawn(tmp_path, name, ending).read_bytes() == drawn(tmp_path, name, ending).read_bytes(), name


@pytest.mark.parametrize("name", ITEMS)
def test_every_item_is_drawn_with_its_settings(tmp_path: Path, name: str) -> None:
    """As SVG and as PDF, at a landing as one of them in turn, each with every setting of the item."""
    import pypdf

    item = next(each for each in items() if each.name == name)
    settings = item.parameters or fields_as_parameters(BoardSettings)
    for ending in ("svg", "pdf") if IS_NIGHT else (("svg", "pdf")[ITEMS.index(name) % 2],):
        one = drawn(tmp_path, name, ending)
        if ending == "svg":
            tree = ElementTree.fromstring(one.read_bytes())
            text = " ".join("".join(node.itertext()) for node in tree)
            assert len(list(tree)) > 5
        else:
            text = " ".join(page.extract_text() for page in pypdf.PdfReader(one).pages)
        for parameter in settings:
            assert parameter.name in text
            assert "worked out" in text or parameter_row(parameter)["default"].split()[0] in text


def test_a_picture_is_never_written_over_a_file_and_only_in_two_ways(tmp_path: Path) -> None:
    path = tmp_path / "there.svg"
    path.write_text("mine")
    taken = run("items", "quilt box", "--picture", path)
    assert (taken.exit_code, path.read_text()) == (3, "mine")
    for words in (
        ("quilt box", tmp_path / "x.png"),
        ("quilt box", tmp_path / "x"),
        ("quilt bocks", tmp_path / "x.svg"),
    ):
        result = run("items", words[0], "--picture", words[1], "--json")
        assert result.exit_code == 3
        assert json.loads(result.stdout)["errors"]
    assert run("items", "--picture", tmp_path / "x.svg").exit_code == 3
    assert sorted(tmp_path.iterdir()) == [path]
