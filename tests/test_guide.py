"""The guide: every file printed in it is read, and every key of those files is in it."""

import json
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args
from zipfile import ZipFile

import pytest
from click.testing import CliRunner
from pydantic import BaseModel

from woodshop.cli import main
from woodshop.cutting.model.job import read_job
from woodshop.cutting.model.lumber_job import read_lumber_job
from woodshop.design.keys import design_keys
from woodshop.design.lumberyard.lumberyard_file import read_lumberyard, read_lumberyards
from woodshop.design.lumberyard.lumberyard_tables import LumberyardTable
from woodshop.design.measured_files import MeasuredTable, read_measured, read_unit_file
from woodshop.design.orders.lines import read_run
from woodshop.design.own_patterns import read_patterns
from woodshop.design.settings.crew_table import read_crew
from woodshop.design.settings.times import BY_KEY
from woodshop.design.settle.settle import settle
from woodshop.documents.answers.guide import guide_section, topics
from woodshop.documents.report.report import FINDINGS
from woodshop.drawing.pens.text import markdown_text, section_text, text_width
from woodshop.hardware.board import BoardSettings
from woodshop.hardware.registry import fields_as_parameters
from woodshop.plan.work.shop_file import ShopTable, read_shop
from woodshop.trade.season.stores import StoresTable, read_stores

CHECKOUT = Path(__file__).resolve().parents[1]
DESIGNS = CHECKOUT / "designs"
READERS = {
    "lumberyard": read_lumberyard,
    "shop": read_shop,
    "measured": read_measured,
    "stores": read_stores,
    "patterns": read_patterns,
    "crew": lambda path: read_crew(path, "in"),
}
COMMANDS = {name: (each.help or "").partition("\n")[0] for name, each in main.commands.items()}
SHORT = {
    "design": 'batch = "short"\nunit = "in"\nlumberyard = "creekside-lumberyard.toml"\n',
    "lumberyard": 'name = "Short"\nseen = 2026-09-12\n',
}
"""What a file needs beside the lines that the guide prints of it."""


def topic(name: str) -> str:
    return section_text(guide_section(name, COMMANDS))


TEXTS = {each.name: topic(each.name) for each in topics()}


def printed(language: str) -> list[tuple[str, str, str]]:
    """Topic, what follows the language, and text of every file printed in the guide."""
    pattern = rf"^( *)```{language}([^\n]*)\n(.*?)^ *```$"
    return [
        (name, found[1].strip(), re.sub(rf"^{found[0]}", "", found[2], flags=re.M))
        for name, text in TEXTS.items()
        for found in re.findall(pattern, text, re.S | re.M)
    ]


def kind_of(after: str, text: str) -> str:
    whole = re.match(r'format = "woodshop-(\w+)/', text)
    return whole[1] if whole else after


@pytest.mark.parametrize(("name", "after", "text"), printed("toml"), ids=lambda value: str(value)[:24])
def test_a_printed_file_is_read(name: str, after: str, text: str, tmp_path: Path) -> None:
    for file in DESIGNS.iterdir():
        (tmp_path / file.name).write_bytes(file.read_bytes())
    kind = kind_of(after, text)
    if not text.startswith("format"):
        text = f'format = "woodshop-{kind}/{2 if kind in ("design", "shop") else 1}"\n{SHORT[kind]}{text}'
        if kind == "design":
            text += "" if "orders =" in text else "\n[[hives]]\nframes = 10\ncount = 2\n"
            text += "" if "[[make]]" in text else '\n[[make]]\nitem = ["board", "mouse guard"]\n'
    path = tmp_path / "printed.toml"
    path.write_text(text, encoding="utf-8")
    if kind == "design":
        design = read_run(path)
        assert settle(design, read_lumberyards(design.lumberyards)).lines
    elif kind == "unit":
        assert read_unit_file(path, "in").measured
    else:
        assert READERS[kind](path)


def test_every_printed_file_says_what_it_is() -> None:
    kinds = {kind_of(after, text) for _, after, text in printed("toml")}
    assert kinds == {"design", "unit", *READERS}


def test_printed_jobs_and_sheets() -> None:
    job, lumber_job = printed("json")
    assert read_job(job[2]).blanks
    assert read_lumber_job(lumber_job[2]).lumber
    sheets = printed("csv")
    assert len(sheets) == 7
    for _, file, text in sheets:
        assert (DESIGNS / file).read_text(encoding="utf-8").count(text) == 1


def test_demo_files_say_that_they_are_invented() -> None:
    files = [path for path in DESIGNS.iterdir() if path.suffix in (".toml", ".csv")]
    assert len(files) > 12
    assert [path.name for path in files if "invented" not in path.read_text(encoding="utf-8").splitlines()[0]] == []
    with ZipFile(DESIGNS / "autumn-orders.xlsx") as book:
        assert b"<Application>woodshop<" in book.read("docProps/app.xml")
        assert b"invented" in book.read("xl/sharedStrings.xml")


def keys_of_model(model: type[BaseModel], at: str = "") -> Iterator[str]:
    """Every key of a file, as "table.key"; a table in a list is named as one."""
    for name, field in model.model_fields.items():
        yield f"{at}{name}"
        for inner in every_type(field.annotation):
            if isinstance(inner, type) and issubclass(inner, BaseModel):
                yield from keys_of_model(inner, f"{at}{name}.")


def every_type(kind: Any) -> Iterator[Any]:
    yield kind
    for inner in get_args(kind):
        yield from every_type(inner)


def keys_in(value: Any, at: str = "") -> Iterator[str]:
    if isinstance(value, dict):
        for name, inner in value.items():
            yield f"{at}{name}"
            yield from keys_in(inner, f"{at}{name}.")
    elif isinstance(value, list):
        for each in value:
            yield from keys_in(each, at)


@pytest.mark.parametrize(
    ("name", "kind", "model"),
    [
        ("lumberyard", "lumberyard", LumberyardTable),
        ("shop", "shop", ShopTable),
        ("season", "stores", StoresTable),
        ("items", "measured", MeasuredTable),
    ],
)
def test_every_key_of_a_file_has_an_example(name: str, kind: str, model: type[BaseModel]) -> None:
    texts = [text for of, after, text in printed("toml") if of == name and kind_of(after, text) == kind]
    shown = {key for text in texts for key in keys_in(tomllib.loads(text))}
    known = set(keys_of_model(model))
    left_out = {key for key in known - shown if f"`{key} = " not in TEXTS[name] and not is_said(key, name)}
    assert left_out == set()
    assert shown - known == set()
    assert len(known) > 5


def is_said(key: str, name: str) -> bool:
    """Keys that another topic has, or that the same lines say of a table beside it."""
    table, _, last = key.rpartition(".")
    if name == "shop":
        return table in ("saw", "tools") or last in ("markup", "percent", "of") or (table in ("times", "setup"))
    kinds = {"fluted", "steel", "plywood", "foam", "mesh", "cloth"}
    return name == "lumberyard" and table in ("piece", "offcut", "sheet") and last in kinds


def test_every_key_of_a_design_and_every_minute_is_listed() -> None:
    lines = TEXTS["design"].splitlines()
    for key in design_keys():
        if key.table != "order":
            starts = (f"- `{key.name} =", f"- `{key.name}`", f"- `[{key.address}]`", f"- `[[{key.address}]]`")
            assert [line for line in lines if line.startswith(starts)], key
    assert all(f"`{key.name}`" in TEXTS["orders"] for key in design_keys() if key.table == "order")
    assert all(f"- `{setting.name}`: " in TEXTS["design"] for setting in fields_as_parameters(BoardSettings))
    assert all(f"| `{key}` |" in TEXTS["shop"] for _, key in BY_KEY)


def test_every_key_of_a_job_is_listed() -> None:
    one, several = (text for _, _, text in printed("json"))

    def keys(part: Any) -> Iterator[str]:
        if isinstance(part, dict):
            yield from part.get("properties", {})
            for inner in part.values():
                yield from keys(inner)

    def listed(*texts: str) -> set[str]:
        return {key.rpartition(".")[2] for text in texts for key in keys_in(json.loads(text))}

    model = CHECKOUT / "woodshop/cutting/model"
    schemas = [json.loads((model / f"{name}.schema.json").read_text(encoding="utf-8")) for name in JOB_SCHEMAS]
    assert set(keys(schemas[0])) == listed(one)
    assert set(keys(schemas[1])) == listed(one, several)


JOB_SCHEMAS = ("job", "lumber_job")


def test_every_finding_is_explained() -> None:
    checks = sorted((CHECKOUT / "woodshop/checks").rglob("*.py"))
    source = "\n".join(path.read_text(encoding="utf-8") for path in checks)
    codes = set(re.findall(r'^ +"([a-z]+(?:-[a-z]+)+)"', source, re.M))
    assert len(codes) > 10
    assert {code for code in codes | set(FINDINGS) if f"- **{code}**: " not in TEXTS["checks"]} == {
        code for code in codes if code.startswith("entrance-") and code not in FINDINGS
    }


def test_topics_that_are_named_are_there() -> None:
    readme = (CHECKOUT / "README.md").read_text(encoding="utf-8")
    named = set(re.findall(r"woodshop guide ([a-z][a-z-]+)", "\n".join((readme, *TEXTS.values()))))
    assert named <= set(TEXTS)
    assert len(named) > 5
    assert not [name for name, text in TEXTS.items() if "<!--" in text]


def test_the_list_the_topic_and_the_unknown_one() -> None:
    listed = CliRunner().invoke(main, ["guide"])
    assert all(f"{each.name} " in listed.output and each.summary in listed.output for each in topics())
    assert max(len(each.summary) for each in topics()) <= 90
    piped = CliRunner().invoke(main, ["guide", "rest"])
    assert piped.output.startswith("# The rest of a plan\n")
    data = json.loads(CliRunner().invoke(main, ["guide", "rest", "--json"]).output)
    assert data["markdown"].strip() == piped.output.strip()
    unknown = CliRunner().invoke(main, ["guide", "lumberyrd"])
    assert unknown.exit_code == 3
    assert "Did you mean 'lumberyard'?" in unknown.output


@pytest.mark.parametrize("name", ["rest", "orders"])
def test_a_terminal_gets_it_laid_out(name: str) -> None:
    lines = markdown_text(TEXTS[name], 60, styled=False).splitlines()
    assert max(map(text_width, lines)) <= 60
    assert not [line for line in lines if line.startswith(("#", "|", "```"))]
    assert "\x1b[" in markdown_text(TEXTS[name], 60, styled=True)
