"""New design files: read without a word of complaint, every key explained, nothing written over."""

import itertools
import json
import re
import tomllib
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from tests.nightly import every_two
from woodshop.cli import main
from woodshop.design.keys import table_names
from woodshop.design.orders.lines import COLUMNS
from woodshop.design.tables import DesignTable, HivesTable, ShedTable
from woodshop.documents.answers.explain import words_section
from woodshop.documents.answers.listings import tried
from woodshop.documents.answers.new_design import (
    BLANK,
    BOARD_SET,
    Answers,
    Group,
    as_answers,
    batch_name,
    measures,
    new_design,
)
from woodshop.drawing.pens.section_json import section_json
from woodshop.errors import InputError
from woodshop.hardware.board import BoardSettings
from woodshop.hardware.catalogue import find_item, items
from woodshop.hardware.registry import fields_as_parameters
from woodshop.reference.patterns import MEASURES

LUMBERYARD = "creekside-lumberyard.toml"
ITEMS = [item.name for item in items()]
KEY = re.compile(r"^(# )?([a-z_]+) = ")


def run(*words: object, stdin: str | None = None) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words], input=stdin)


@pytest.fixture
def folder(tmp_path: Path, designs: Path) -> Path:
    """A working folder that holds the lumberyard file."""
    (tmp_path / LUMBERYARD).write_bytes((designs / LUMBERYARD).read_bytes())
    return tmp_path


def flags(kind: str, groups: tuple[tuple[str, ...], ...], makes: tuple[str, ...], others: tuple[str, ...]) -> list[str]:
    words = ["--for", kind, "--lumberyard", LUMBERYARD, *others]
    for group in groups:
        words += list(group)
    return [*words, *(word for make in makes for word in ("--make", make))]


TENS = ("--frames", "10", "--count", "6")
GROUPS = (
    ((*TENS, "--gap", "1/4"),),
    ((*TENS,),),
    ((*TENS, "--width", "16", "--gap", "1/4, 5/16,1/4"),),
    (("--frames", "5", "--count", "4", "--gap", "1/4"),),
    ((*TENS, "--gap", "1/4 in"), ("--frames", "8", "--count", "3", "--gap", "6.5 mm")),
    ((*TENS, "--customer", 'O"Hara \\ Sons'), ("--frames", "10", "--count", "1", "--customer", "Łukasz")),
)
MAKES = (
    (),
    ("quilt box",),
    ("quilt box", "mouse guard", "vent spacers"),
    (*BOARD_SET, "feeding shim", "bottom insert"),
)
OTHERS = ((), ("--unit", "mm", "--on-by", "2026-11-26"), ("--batch", "b.1", "--title", 'Boards, "all" of them # 1'))


BARE = {"1/4", "1/4, 5/16,1/4", "16"}  # millimetres in a metric design
WRITTEN = every_two(
    [
        (kind, groups, makes, others)
        for kind, groups, makes, others in itertools.product(("beginner", "shop"), GROUPS, MAKES, OTHERS)
        if not ("mm" in others and BARE.intersection(itertools.chain(*groups)))
    ]
)


@pytest.mark.slow("checks a whole design with every key written")
@pytest.mark.invariant
@pytest.mark.parametrize("kind", ["beginner", "shop"])
@pytest.mark.parametrize("groups", GROUPS, ids=range(len(GROUPS)))
def test_what_it_writes_checks_without_errors(folder: Path, kind: str, groups: tuple[tuple[str, ...], ...]) -> None:
    """Kind by groups by makes by the rest, at a landing every two of them: each file written checks with exit 0."""
    written_so = [each[2:] for each in WRITTEN if each[:2] == (kind, groups)]
    assert written_so
    for n, (makes, others) in enumerate(written_so):
        path = folder / f"design-{n}.toml"
        written = run("new", path, *flags(kind, groups, makes, others))
        assert written.exit_code == 0, written.output
        checked = run("check", path)
        assert checked.exit_code == 0, checked.output


@pytest.mark.parametrize("item", ITEMS)
def test_every_item_can_be_asked_for(folder: Path, item: str) -> None:
    assert (
        run("new", folder / "one.toml", *TENS, "--gap", "1/4", "--make", item, "--lumberyard", LUMBERYARD).exit_code
        == 0
    )
    result = run("check", folder / "one.toml", "--json")
    assert "error" not in {finding["severity"] for finding in json.loads(result.stdout)["findings"]}


@pytest.mark.invariant
@pytest.mark.parametrize("kind", ["beginner", "shop"])
def test_every_default_written_out_says_what_it_says_unwritten(kind: str) -> None:
    """All # taken away, blanks left out: the same items, settings and findings, except for the shed."""
    groups = (Group(10, 6, ("1/4 in",), name="home yard"),)
    text = new_design(Answers(groups=groups, kind=kind, makes=tuple(ITEMS), pattern="Langstroth"), "a.toml")
    start = text.index("# A customer's order") if kind == "shop" else len(text)
    end = text.index("# Good hardware you already have") if kind == "shop" else len(text)
    text = text[:start] + text[end:]  # an order in the file is hives more
    lines = [line for line in text.splitlines() if BLANK not in line]
    shown = [re.sub(r"^# ([a-z_]+ = |\[\[)", r"\1", line) for line in lines]
    assert len(lines) > 100
    plain, _, report = tried(text, "a.toml")
    full, _, full_report = tried("\n".join(shown), "a.toml")
    assert [line.setting for line in full.lines] == [line.setting for line in plain.lines]
    assert [dict(line.given) for line in full.lines] == [dict(line.given) for line in plain.lines]
    told = {(f.code, f.value, f.limits) for f in report.findings}
    assert {(f.code, f.value, f.limits) for f in full_report.findings} == told
    assert full.hives[0].format == plain.hives[0].format
    assert {line.item.name: line.count for line in full.lines}["bee-space gauge"] == 1
    assert len(full.defaults) < len(plain.defaults)


def test_an_order_uncommented_is_one_more_group() -> None:
    text = new_design(Answers(groups=(Group(10, 6, ("1/4",)),), kind="shop", makes=("quilt box",)), "a.toml")
    before, _, after = text.partition("# [[hives]]")
    order, _, rest = after.partition("\n\n")
    shown = before + "[[hives]]" + order.replace("\n# ", "\n") + "\n\n" + rest
    batch, _, _ = tried(shown, "a.toml")
    assert [hives.count for hives in batch.hives] == [6, 20]
    assert batch.hives[1].customer == "name of the customer"


@pytest.mark.invariant
@pytest.mark.parametrize("kind", ["beginner", "shop"])
def test_every_key_stands_there_with_a_comment_above(kind: str) -> None:
    """Every key of the file's tables and every setting of the board and of what is made, each after its words."""
    lines = new_design(Answers(groups=(Group(10, 6),), kind=kind, makes=tuple(ITEMS)), "a.toml").splitlines()
    names = [match[2] for line in lines if (match := KEY.match(line))]
    for table in (DesignTable, HivesTable, ShedTable):
        for key in table.model_fields.keys() - set(table_names()) - {"body"}:
            assert key in names
    for parameter in (*fields_as_parameters(BoardSettings), *(p for name in ITEMS for p in find_item(name).parameters)):
        assert parameter.name in names
        row = parameter.param.help[1:].split()
        assert " ".join(row[:3]) in "\n".join(lines)
    said: set[str] = set()
    for before, line in itertools.pairwise(lines):
        match = KEY.match(line)
        if match and match[2] not in said and match[2] not in ("name", "customer", "frames", "count"):
            assert before.startswith("# ")
            assert not KEY.match(before)
            said.add(match[2])


def accepted(text: str, table: str) -> set[str]:
    """The keys that the reader says it knows in that table, asked by one that it does not know."""
    head, sign, rest = text.partition(table) if table else (text, "", "")
    unknown = "qqqqqqqqqqqqqqqq"
    try:
        tried(f"{head}{sign}\n{unknown} = 1\n{rest}", "a.toml")
    except InputError as refused:
        (known,) = {problem.do for problem in refused.problems if unknown in problem.given}
        return set(known.removeprefix("Known here: ").rstrip(".").split(", "))
    raise AssertionError(f"a key {unknown} in {table}")


@pytest.mark.invariant
def test_every_key_that_the_reader_accepts_and_no_other_is_in_the_new_file_and_explained() -> None:
    """The reader is asked, table by table; the new file of a shop and `explain` are read as a person reads them."""
    text = new_design(
        Answers(groups=(Group(10, 6, ("1/4",), name="home yard"),), kind="shop", makes=tuple(ITEMS)), "a.toml"
    )
    shown: dict[str, set[str]] = {"": set()}
    table = ""
    for line in text.splitlines():
        if match := re.match(r"^(?:# )?\[+([a-z_.]+)\]+$", line):
            table = match[1]
        elif match := KEY.match(line):
            shown.setdefault(table, set()).add(match[2])
    plain = 'format = "woodshop-design/2"\nbatch = "b"\nunit = "in"\nlumberyard = "y.toml"\n'
    with_all = plain + "".join(f"{written}\n" for written in table_names().values() if written.startswith("["))
    with_all = with_all.replace(", or the headings of a spreadsheet", "")
    explained_keys: dict[str, set[str]] = {name: set() for name in table_names()}
    for address in section_json(words_section())["key"]:
        head, _, name = address.rpartition(".")
        if " file." not in address:
            explained_keys[head].add(name)
    own = {parameter.name for name in ITEMS for parameter in find_item(name).parameters}
    own |= {parameter.name for parameter in fields_as_parameters(BoardSettings)}
    for name, written in table_names().items():
        if name == "":
            keys, tables = accepted(plain, ""), set(table_names()) - {""}
            assert shown[""] == keys - tables
            assert explained_keys[""] == keys
        elif name == "order":
            assert shown[name] == explained_keys[name] == {column.name for column in COLUMNS}
        elif name == "make":
            assert (
                explained_keys[name]
                == shown[name] - own
                == accepted(f'{plain}[[make]]\nitem = "quilt box"\n', "[[make]]") - own
            )
        elif name == "board":
            assert shown[name] == accepted(with_all, written)
        else:
            inside = {each.partition(".")[2] for each in table_names() if each.startswith(f"{name}.")}
            assert explained_keys[name] == accepted(with_all, written), name
            assert shown[name] == explained_keys[name] - inside, name


def test_a_beginner_sets_nine_lines_and_a_shop_names_its_groups() -> None:
    text = new_design(Answers(groups=(Group(10, 6, ("1/4",)),)), "a.toml")
    told = tomllib.loads(text)
    assert told["hives"] == [{"frames": 10, "count": 6, "gap": "1/4"}]
    assert [make["item"] for make in told["make"]] == list(BOARD_SET)
    assert told["board"] == {}
    shop = tomllib.loads(new_design(Answers(groups=(Group(10, 6), Group(10, 2), Group(8, 1)), kind="shop"), "a.toml"))
    assert [hives["name"] for hives in shop["hives"]] == ["10-frame hives", "10-frame hives 2", "8-frame hives"]


def test_settings_asked_for_are_set_and_the_rest_is_not(folder: Path) -> None:
    """A British box with its bee space at the bottom: the mesh raised, and it checks without errors."""
    path = folder / "british.toml"
    words = [
        "--frames",
        "11",
        "--count",
        "3",
        "--pattern",
        "British National",
        "--unit",
        "mm",
        "--lumberyard",
        LUMBERYARD,
    ]
    sets = ("mounting=flush rabbet", "rabbet_height=3/8 in", "spacer strips.number=4", "packing blocks.people=2")
    result = run("new", path, *words, *(word for each in sets for word in ("--set", each)))
    assert result.exit_code == 0, result.output
    told = tomllib.loads(path.read_text(encoding="utf-8"))
    assert told["board"] == {"mounting": "flush rabbet", "rabbet_height": "3/8 in"}
    assert told["make"][2:] == [{"item": "spacer strips", "number": 4}, {"item": "packing blocks", "people": 2}]
    assert run("check", path).exit_code == 0


def test_it_prints_when_there_is_no_file(folder: Path) -> None:
    plain = run("new", *TENS)
    dash = run("new", "-", *TENS)
    assert plain.exit_code == dash.exit_code == 0
    assert plain.stdout == dash.stdout
    assert tomllib.loads(plain.stdout)["hives"][0]["frames"] == 10
    told = json.loads(run("new", *TENS, "--json").stdout)
    assert told == {"file": None, "design": plain.stdout}


def test_it_never_writes_over_a_file(folder: Path) -> None:
    path = folder / "mine.toml"
    path.write_text("mine")
    result = run("new", path, *TENS)
    assert result.exit_code == 3
    assert result.stderr.count("error:") == 1
    assert "a name already in use" in result.stderr
    assert path.read_text() == "mine"
    assert json.loads(run("new", path, *TENS, "--json").stdout)["errors"]


def test_three_questions_at_a_terminal(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("woodshop.cli.designing._is_terminal", lambda: True)
    result = run("new", folder / "asked.toml", stdin="8\n4\n5/16\n")
    assert result.exit_code == 0, result.output
    assert result.stderr.count("?") + result.stderr.count("How") >= 3
    told = tomllib.loads((folder / "asked.toml").read_text())
    assert told["hives"] == [{"frames": 8, "count": 4, "gap": "5/16"}]
    shop = run("new", "--for", "shop", stdin="10; 8\n20;6\n\n")
    assert [hives["count"] for hives in tomllib.loads(shop.stdout)["hives"]] == [20, 6]


@pytest.mark.parametrize(
    ("given", "table", "value"),
    [
        ("wood=20 mm", (), "20 mm"),
        ("surplus=spare", (), "spare"),
        ("saw.mark=1 mm", ("saw",), "1 mm"),
        ("tools.crosscut_with=hand saw, miter saw", ("tools",), ["hand saw", "miter saw"]),
        ("buying.one_lumberyard=yes", ("buying",), True),
        ("crew.saws=2", ("crew",), 2),
        ("crew.start=2026-10-03", ("crew",), date(2026, 10, 3)),
        ("hives.cover=flat", ("hives",), "flat"),
        ("hives.height=243 mm", ("hives",), "243 mm"),
        ("mounting=saw groove", ("board",), "saw groove"),
    ],
)
def test_any_key_without_an_option_of_its_own_may_be_set(given: str, table: tuple[str, ...], value: object) -> None:
    result = run("new", "-", *TENS, "--gap", "1/4 in", "--unit", "mm", "--make", "mouse guard", "--set", given)
    assert result.exit_code == 0, result.output
    found: Any = tomllib.loads(result.stdout)
    for name in table:
        found = found[name][0] if isinstance(found[name], list) else found[name]
    assert found[given.partition("=")[0].rpartition(".")[2]] == value


@pytest.mark.parametrize(
    ("given", "do"), [("unit=mm", "Give --unit."), ("hives.gap=7", "Give --gap."), ("saw.marq=1", "'saw.mark'")]
)
def test_what_cannot_be_set_says_how_it_is_given(given: str, do: str) -> None:
    result = run("new", "-", *TENS, "--set", given)
    assert result.exit_code == 3
    assert do in result.stderr


TAPE = ("450", "385", "25", "27", "15", "470", "25", "20", "10", "435", "25", "10", "9", "37", "240", "225")


def test_the_sizes_of_a_box_and_a_frame_are_asked_for_in_the_order_of_the_tape(folder: Path) -> None:
    """A box of 500 x 435 mm that is no American one, measured and typed in; what is not measured is asked for."""
    path, flags = folder / "taped.toml", ("--measure", "--frames", "10", "--count", "3", "--unit", "mm")
    makes = ("--lumberyard", LUMBERYARD, "--make", "quilt box")
    result = run("new", path, *flags, *makes, stdin="\n".join((*TAPE, "8, 7")) + "\n")
    assert result.exit_code == 0, result.output
    places = [result.stderr.index(f"{what[:1].upper()}{what[1:]}: ") for what in MEASURES.values()]
    assert places == sorted(places)
    design = tomllib.loads(path.read_text(encoding="utf-8"))
    (pattern,) = design["pattern"]
    assert tuple(pattern[name] for name in MEASURES) == TAPE[:-2]
    assert pattern["body"] == [{"name": "deep", "height": "240", "frame_depth": "225"}]
    assert design["hives"] == [{"pattern": pattern["name"], "frames": 10, "count": 3, "gap": ["8", "7"]}]
    assert run("check", path).exit_code == 0


def test_without_one_measured_size_nothing_is_written(folder: Path) -> None:
    """The input ends before the first answer, or after empty ones."""
    for number, typed in enumerate(("", "\n\n")):
        path = folder / f"none-{number}.toml"
        result = run("new", path, "--measure", "--frames", "10", "--count", "3", "--unit", "mm", stdin=typed)
        assert result.exit_code == 3
        assert "no answer before the end of the input" in result.stderr
        assert not path.exists()


def test_what_is_not_measured_is_marked_and_nothing_entered_is_lost(folder: Path) -> None:
    """Blanks anywhere, the end of the input, and a size that cannot be: the file has all that was entered."""
    flags = ("--measure", "--frames", "10", "--count", "3", "--unit", "mm", "--make", "mouse guard")
    names = (*MEASURES, "height", "frame_depth", "gap")
    for n, blank in enumerate(({4}, {0, 9}, {14}, {15}, {14, 15}, {16}, set(range(1, 17)))):
        path = folder / f"blanks-{n}.toml"
        typed = ["" if k in blank else value for k, value in enumerate((*TAPE, "8, 7"))]
        result = run("new", path, *flags, stdin="\n".join(typed) + "\n")
        assert result.exit_code == 0, result.output
        assert f"Still to measure: {', '.join(names[k] for k in sorted(blank))}." in result.stderr
        text = path.read_text(encoding="utf-8")
        assert text.count("STILL TO MEASURE") == len(blank - {14, 15}) + bool(blank & {14, 15})
        for k in range(16):
            if k not in blank:
                assert re.search(rf'^(# )?{names[k]} = "{TAPE[k]}"$', text, re.MULTILINE), (blank, names[k])
        refused = run("check", path)
        assert refused.exit_code == 3
        assert all(names[k] in refused.stderr for k in blank)
        filled = text.replace("# [[pattern.body]]\n# name", "[[pattern.body]]\nname")
        for k, value in enumerate((*TAPE, "8")):
            filled = re.sub(
                rf'^# {names[k]} = "(\.\.\.|{value})"$', f'{names[k]} = "{value}"', filled, count=1, flags=re.M
            )
        if 16 not in blank:
            path.write_text(filled, encoding="utf-8")
            assert run("check", path).exit_code == 0, filled
    ended = folder / "ended.toml"
    assert run("new", ended, *flags, stdin="450\n385\n").exit_code == 0
    assert 'inside_width = "385"' in ended.read_text(encoding="utf-8")
    wrong = folder / "wrong.toml"
    result = run("new", wrong, *flags, stdin="\n".join(("450", "abc", *TAPE[2:], "8")) + "\n")
    assert result.exit_code == 3
    assert "inside_width: given 'abc'" in result.stderr
    assert 'inside_width = "abc"' in wrong.read_text(encoding="utf-8")
    assert 'frame_depth = "225"' in wrong.read_text(encoding="utf-8")


def test_on_a_terminal_a_text_that_is_no_length_is_asked_for_again(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("woodshop.cli.designing._is_terminal", lambda: True)
    flags = ("--measure", "--frames", "10", "--count", "3", "--unit", "mm", "--lumberyard", LUMBERYARD)
    result = run("new", folder / "again.toml", *flags, stdin="\n".join(("45o", *TAPE, "8, 7")) + "\n")
    assert result.exit_code == 0, result.output
    assert "'45o' is not a length" in result.stderr
    assert 'inside_length = "450"' in (folder / "again.toml").read_text(encoding="utf-8")


def test_a_pattern_that_is_half_published_asks_only_for_the_rest(folder: Path) -> None:
    asked = [name for name, _ in measures("Zander")]
    assert not {"frame_length", "spacing"} & set(asked)
    stdin = "".join(f"{dict(zip((*MEASURES, 'height', 'frame_depth'), TAPE, strict=True))[name]}\n" for name in asked)
    result = run("new", "-", "--measure", "--pattern", "Zander", "--frames", "10", "--count", "3", "--unit", "mm",
                 "--gap", "8", stdin=stdin)  # fmt: skip
    assert result.exit_code == 0, result.output
    assert tomllib.loads(result.stdout)["pattern"][0]["like"] == "Zander"


def test_no_question_without_a_terminal_or_with_flags(monkeypatch: pytest.MonkeyPatch) -> None:
    bare = run("new")
    assert bare.exit_code == 3
    assert bare.stderr.count("error:") == 2
    monkeypatch.setattr("woodshop.cli.designing._is_terminal", lambda: True)
    assert run("new", "--count", "6", stdin="").exit_code == 3


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--frames", "10", "--count", "0"), "a whole number of 1 or more"),
        (("--frames", "10", "--frames", "8", "--count", "6"), "a count for each"),
        (("--frames", "10", "--frames", "8", *("--count", "6") * 3), "one of each for every group"),
        (("--frames", "9", "--count", "6"), "measure the box"),
        (("--frames", "30", "--count", "6"), "20 or less"),
        ((*TENS, "--gap", "1 cubit"), "gap"),
        ((*TENS, "--gap", "1/4", "--gap", "1/4"), "one for each group"),
        ((*TENS, "--width", "6"), "width"),
        ((*TENS, "--make", "quilt bocks"), "Did you mean 'quilt box'?"),
        ((*TENS, "--make", "quilt box", "--make", "quilt box"), "each item once"),
        ((*TENS, "--batch", "../x"), "letters, digits"),
        ((*TENS, "--set", "mountng=saw groove"), "Did you mean 'board.mounting'?"),
        ((*TENS, "--set", "mounting"), "equals sign"),
        ((*TENS, "--set", "mounting=glued"), "saw groove"),
        ((*TENS, "--set", "quilt box.skirt=0"), "a setting of the board or of an item"),
        ((*TENS, "--set", "spacer strips.number=1"), "2 to 12"),
        ((*TENS, "--set", "ripped=perhaps"), "true or false"),
        (("--frames", "11", "--count", "3", "--pattern", "British National"), 'mounting = "flush rabbet"'),
        ((*TENS, "--on-by", "26.11.2026"), "2026-11-26"),
        ((*TENS, "--on-by", "2026-13-45"), "TOML"),
        ((*TENS, "--title", "a\x7fb"), "TOML"),
        ((*TENS, "--title", "a\nb"), "control characters"),
        ((*TENS, "--title", "a\udcffb"), "UTF-8"),
        ((*TENS, "--unit", "mm", "--gap", "1/4"), "gap of 0.25 mm"),
    ],
)
def test_answers_that_will_not_do_are_refused_and_nothing_is_written(
    folder: Path, words: tuple[str, ...], said: str
) -> None:
    before = sorted(folder.iterdir())
    result = run("new", folder / "no.toml", *words)
    assert result.exit_code == 3, result.output
    assert said.lower() in result.stderr.lower()
    assert all(line.startswith("error: ") for line in result.stderr.strip().splitlines())
    assert sorted(folder.iterdir()) == before


@pytest.mark.parametrize("where", ["no-folder/x.toml", "."])
def test_a_place_that_cannot_be_written_is_an_error(folder: Path, where: str) -> None:
    result = run("new", folder / where, *TENS, "--batch", "x")
    assert result.exit_code == 3
    assert "Traceback" not in result.output


def test_a_lumberyard_that_is_not_there_is_pointed_out(folder: Path) -> None:
    result = run("new", folder / "x.toml", *TENS, "--lumberyard", "nowhere.toml")
    assert result.exit_code == 0
    assert "nowhere.toml" in result.stderr


def test_the_batch_is_named_after_the_file(folder: Path) -> None:
    run("new", folder / "first-winter.toml", *TENS)
    assert tomllib.loads((folder / "first-winter.toml").read_text())["batch"] == "first-winter"
    assert batch_name("über", "shop") == "shop-winter"


def test_all_problems_of_the_answers_at_once() -> None:
    given: dict[str, object] = dict.fromkeys(
        ("frames", "count", "gap", "width", "name", "customer", "make", "lumberyard", "set"), ()
    )
    given |= {"frames": ("x",), "count": ("-1", "2"), "gap": ("1/4", "1/4", "1/4")}
    with pytest.raises(InputError) as caught:
        as_answers("beginner", "", given | dict.fromkeys(("batch", "title", "unit", "on_by", "pattern")))
    assert len(caught.value.problems) == 3


@pytest.mark.parametrize(("flag", "value"), [("--gap", "1/4"), ("--gap", "1/4, 5/16"), ("--width", "16 1/4")])
def test_what_was_measured_of_one_group_is_not_written_for_another(folder: Path, flag: str, value: str) -> None:
    """Two kinds of hives and one measurement: asked for the other, never copied."""
    path, two = folder / "two.toml", (*TENS, "--frames", "10", "--count", "3")
    refused = run("new", path, *two, flag, value, "--lumberyard", LUMBERYARD)
    assert refused.exit_code == 3
    assert "one for each group" in refused.stderr
    assert f'{flag} "" for hives not measured yet' in refused.stderr
    assert not path.exists()
    assert run("new", path, *two, flag, value, flag, "", "--lumberyard", LUMBERYARD).exit_code == 0
    first, second = tomllib.loads(path.read_text())["hives"]
    assert flag[2:] in first
    assert flag[2:] not in second


def test_hives_not_measured_of_several_groups_are_flagged_each(folder: Path) -> None:
    path = folder / "two.toml"
    assert (
        run("new", path, *TENS, "--frames", "8", "--count", "3", "--gap", "", "--lumberyard", LUMBERYARD).exit_code == 0
    )
    told = json.loads(run("check", path, "--json").stdout)["findings"]
    assert len({each["place"] for each in told if each["code"] == "gap-not-measured"}) == 2


def test_each_group_has_its_own_pattern(folder: Path) -> None:
    words = ["--frames", "11", "--frames", "10", "--count", "2", "--count", "3", "--unit", "mm",
             "--pattern", "British National", "--pattern", "Dadant-Blatt"]  # fmt: skip
    done = CliRunner().invoke(main, ["new", "-", *words])
    assert done.exit_code == 0, done.output
    design = tomllib.loads(done.output)
    assert [each["pattern"] for each in design["hives"]] == ["British National", "Dadant-Blatt"]
    few = CliRunner().invoke(main, ["new", "-", *words, "--pattern", "Langstroth"])
    assert few.exit_code != 0
    assert "3 for 2 groups of hives" in few.output
