"""Docstrings held to signatures: what they name is there, and parameters whose types say little are named."""

import ast
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[1] / "woodshop"
SUBJECT = re.compile(
    r"(?:^|[.;:] +)`([a-z_]+)` (?:is|are|says?|names?|gives?|holds?|has|gets?|marks?|begins?|counts?)\b"
)
"""A name in backticks as the subject of a clause: a parameter, or a field of the class."""
PLAIN = re.compile(
    r"(str|int|float|bool|Fraction|tuple\[(str|int|float|bool|Fraction)(, \.\.\.)?\]|(Mapping|dict)\[.*\]|"
    r"Sequence\[(str|int|float)\]|Callable.*)( \| None)?"
)
"""Types that do not say what a value means, nor its unit."""
NOT_YET = {
    "checks": 10,
    "cutting": 23,
    "documents": 4,
    "engineering": 6,
    "hardware": 12,
    "hive": 10,
    "plan": 9,
    "reference": 1,
    "shape": 6,
}
"""By room: public functions of three parameters or more that leave a plain one unnamed. These only shrink."""


def functions(tree: ast.Module) -> Iterator[tuple[str, ast.FunctionDef, set[str]]]:
    """Functions and methods of public classes: name, itself, and the fields and methods of its class."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef):
            yield node.name, node, set()
        elif isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            fields = {n.target.id for n in node.body if isinstance(n, ast.AnnAssign) and isinstance(n.target, ast.Name)}
            methods = [each for each in node.body if isinstance(each, ast.FunctionDef)]
            for each in methods:
                yield f"{node.name}.{each.name}", each, fields | {other.name for other in methods}


def parameters(function: ast.FunctionDef) -> list[ast.arg]:
    given = function.args
    named = [*given.posonlyargs, *given.args, *given.kwonlyargs]
    return [each for each in named if each.arg not in ("self", "cls")]


def said(function: ast.FunctionDef) -> str:
    return " ".join((ast.get_docstring(function) or "").split())


def strangers(tree: ast.Module) -> Iterator[tuple[str, str]]:
    """Each function with a name that its docstring speaks of and that is no parameter, field or key that it writes."""
    for name, function, fields in functions(tree):
        more = (function.args.vararg, function.args.kwarg)
        keys = {each.value for each in ast.walk(function) if isinstance(each, ast.Constant)}
        known = {each.arg for each in (*parameters(function), *more) if each is not None} | fields | keys
        yield from ((name, each) for each in SUBJECT.findall(said(function)) if each not in known)


def unnamed(tree: ast.Module) -> Iterator[tuple[str, list[str]]]:
    """Each public function of three parameters or more, with those of plain types that its docstring leaves out.

    Commands are left out: their help says what their options do.
    """
    for name, function, _ in functions(tree):
        own = parameters(function)
        is_command = any("command" in ast.unparse(each) for each in function.decorator_list)
        if function.name.startswith("_") or len(own) < 3 or is_command:
            continue
        text = said(function)
        plain = [each.arg for each in own if each.annotation and PLAIN.fullmatch(ast.unparse(each.annotation))]
        lacking = [each for each in plain if not re.search(rf"\b{each}s?\b", text)]
        if lacking:
            yield name, lacking


@pytest.fixture(scope="module")
def trees() -> list[tuple[Path, ast.Module]]:
    """Every module read once, with its path inside the package."""
    paths = sorted(PACKAGE.rglob("*.py"))
    return [(path.relative_to(PACKAGE), ast.parse(path.read_text(encoding="utf-8"))) for path in paths]


def test_no_docstring_speaks_of_a_parameter_that_is_not_there(trees: list[tuple[Path, ast.Module]]) -> None:
    assert [(str(path), *found) for path, tree in trees for found in strangers(tree)] == []


def test_docstrings_name_parameters_whose_types_say_little(trees: list[tuple[Path, ast.Module]]) -> None:
    found = [(path.parts[0], str(path), *each) for path, tree in trees for each in unnamed(tree)]
    counts = Counter(room for room, *_ in found)
    over = {room for room, count in counts.items() if count > NOT_YET.get(room, 0)}
    assert [each for each in found if each[0] in over] == []


@pytest.mark.parametrize(
    ("text", "strange"),
    [
        ("`b` is wide.", True),
        ("Does it. `a` is wide.", False),
        ("Takes `b`, wide.", False),
        ("So; `b` names it.", True),
    ],
)
def test_a_planted_name_is_caught(text: str, strange: bool) -> None:
    tree = ast.parse(f'def f(a):\n    """{text}"""\n')
    assert bool(list(strangers(tree))) is strange


def test_a_planted_parameter_without_words_is_caught() -> None:
    text = 'def f(a: int, b: str, c: Path):\n    """`a` of them."""\n'
    text += "class C:\n    def g(self, d: int, e: int):\n        pass\n"
    assert list(unnamed(ast.parse(text))) == [("f", ["b"])]
