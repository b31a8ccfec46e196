"""Room sizes, docstrings and floats: what the house asks of every file."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[1] / "woodshop"
FILES = sorted(PACKAGE.rglob("*.py"))
LONGEST = 400
BANNED_NAMES = {"utils", "util", "helpers", "helper", "manager", "managers", "misc", "common"}


def inside(path: Path) -> str:
    return path.relative_to(PACKAGE).as_posix()


def undocumented(tree: ast.Module) -> Iterator[str]:
    """Public functions and classes, and public methods of public classes, that say nothing of themselves."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            if not ast.get_docstring(node):
                yield node.name
            if isinstance(node, ast.ClassDef):
                for each in node.body:
                    public = isinstance(each, ast.FunctionDef) and not each.name.startswith("_")
                    if isinstance(each, ast.FunctionDef) and public and not ast.get_docstring(each):
                        overload = any(isinstance(d, ast.Name) and d.id == "overload" for d in each.decorator_list)
                        if not overload:
                            yield f"{node.name}.{each.name}"


def test_the_rooms_are_there() -> None:
    assert len(FILES) > 40


@pytest.mark.parametrize("path", FILES, ids=inside)
def test_no_module_is_longer_than_four_hundred_lines(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= LONGEST


@pytest.mark.parametrize("path", FILES, ids=inside)
def test_every_module_and_public_name_says_what_it_is(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert not tree.body or ast.get_docstring(tree), "the module has no docstring"
    assert list(undocumented(tree)) == []


@pytest.mark.parametrize("path", FILES, ids=inside)
def test_no_room_is_a_lumber_room(path: Path) -> None:
    assert not BANNED_NAMES & {part.removesuffix(".py") for part in path.relative_to(PACKAGE).parts}


@pytest.mark.parametrize("path", FILES, ids=inside)
def test_nothing_reads_the_clock(path: Path) -> None:
    """Dates come from the design file; only the command may time itself, and prints it."""
    if inside(path).startswith("cli/"):
        return
    tree = ast.parse(path.read_text(encoding="utf-8"))
    calls = {n.attr for n in ast.walk(tree) if isinstance(n, ast.Attribute)}
    assert not calls & {"today", "now", "utcnow", "perf_counter", "monotonic", "getrandbits"}


def test_a_planted_name_without_docstring_is_caught() -> None:
    tree = ast.parse('"""m"""\ndef f():\n    pass\nclass C:\n    """c"""\n    def g(self):\n        pass\n')
    assert list(undocumented(tree)) == ["f", "C.g"]
