"""Room sizes, docstrings and floats: what the house asks of every file."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).resolve().parents[1]
PACKAGE = CHECKOUT / "woodshop"
FILES = sorted(PACKAGE.rglob("*.py"))
LONGEST = 600  # a file is one thing; it is not cut in two to meet a number
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
def test_no_module_is_too_long(path: Path) -> None:
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


def paths_beside(text: str) -> list[str]:
    """Paths in a source text that lead to what lies beside the checkout."""
    return re.findall(r"""\.\."?\s*/\s*"?shared""", text)


def test_nothing_reads_what_a_clone_does_not_have() -> None:
    files = [path for folder in ("woodshop", "tests", ".ci") for path in sorted((CHECKOUT / folder).rglob("*"))]
    texts = {path: path.read_bytes().decode("utf-8", "replace") for path in files if path.is_file()}
    here = Path(__file__).resolve()
    assert {str(path) for path, text in texts.items() if path != here and paths_beside(text)} == set()


@pytest.mark.parametrize("planted", ['ROOT / ".." / "shared" / "bench"', "open('../shared/x')"])
def test_a_planted_path_beside_the_checkout_is_caught(planted: str) -> None:
    assert paths_beside(planted)


def test_a_planted_name_without_docstring_is_caught() -> None:
    tree = ast.parse('"""m"""\ndef f():\n    pass\nclass C:\n    """c"""\n    def g(self):\n        pass\n')
    assert list(undocumented(tree)) == ["f", "C.g"]
