"""Room sizes, docstrings and floats: what the house asks of every file."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from woodshop.hardware.catalogue import items

CHECKOUT = Path(__file__).resolve().parents[1]
PACKAGE = CHECKOUT / "woodshop"
FILES = sorted(PACKAGE.rglob("*.py"))
LONGEST = 600  # a file is one thing; it is not cut in two to meet a number
MOST_LINES, MOST_FILES = 98_600, 444  # of the package; these only shrink
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


def test_the_house_does_not_grow() -> None:
    assert len(FILES) <= MOST_FILES
    assert sum(len(path.read_text(encoding="utf-8").splitlines()) for path in FILES) <= MOST_LINES


def test_no_module_is_too_long() -> None:
    lines = {inside(path): len(path.read_text(encoding="utf-8").splitlines()) for path in FILES}
    assert {name: count for name, count in lines.items() if count > LONGEST} == {}


@pytest.fixture(scope="module")
def trees() -> dict[str, ast.Module]:
    """Every module read once, by its path inside the package."""
    return {inside(path): ast.parse(path.read_text(encoding="utf-8")) for path in FILES}


def test_every_module_and_public_name_says_what_it_is(trees: dict[str, ast.Module]) -> None:
    assert [name for name, tree in trees.items() if tree.body and not ast.get_docstring(tree)] == []
    assert {name: found for name, tree in trees.items() if (found := list(undocumented(tree)))} == {}


def test_no_room_is_a_lumber_room() -> None:
    parts = {inside(path): {part.removesuffix(".py") for part in path.relative_to(PACKAGE).parts} for path in FILES}
    assert [name for name, names in parts.items() if BANNED_NAMES & names] == []


def test_nothing_reads_the_clock(trees: dict[str, ast.Module]) -> None:
    """Dates come from the design file; only the command may time itself, and prints it; a field on the page may remark
    that a day has passed.
    """
    clocks = {"today", "now", "utcnow", "perf_counter", "monotonic", "getrandbits"}
    found = {}
    for name, tree in trees.items():
        found[name] = clocks & {n.attr for n in ast.walk(tree) if isinstance(n, ast.Attribute)}
    assert found.pop("page/fields.py") == {"today"}
    assert [name for name, calls in found.items() if calls and not name.startswith("cli/")] == []


def paths_beside(text: str) -> list[str]:
    """Paths in a source text that lead to what lies beside the checkout."""
    return re.findall(r"""\.\."?\s*/\s*"?shared""", text)


def test_nothing_reads_what_a_clone_does_not_have() -> None:
    files = [path for folder in ("woodshop", "tests", ".ci") for path in sorted((CHECKOUT / folder).rglob("*"))]
    files = [path for path in files if path.is_file() and path.suffix != ".pyc"]
    texts = {path: path.read_bytes().decode("utf-8", "replace") for path in files}
    here = Path(__file__).resolve()
    assert {str(path) for path, text in texts.items() if path != here and paths_beside(text)} == set()


@pytest.mark.parametrize("planted", ['ROOT / ".." / "shared" / "bench"', "open('../shared/x')"])
def test_a_planted_path_beside_the_checkout_is_caught(planted: str) -> None:
    assert paths_beside(planted)


def test_a_planted_name_without_docstring_is_caught() -> None:
    tree = ast.parse('"""m"""\ndef f():\n    pass\nclass C:\n    """c"""\n    def g(self):\n        pass\n')
    assert list(undocumented(tree)) == ["f", "C.g"]


NAMED = {
    "documents/answers/new_design.py": "what a new design makes unasked",
    "documents/packet/first_article.py": "the gauge as the tool that a size is measured with",
}
"""Files outside `hardware/` that name items, and why; others know them by what they declare."""


def test_items_are_known_by_what_they_declare(trees: dict[str, ast.Module]) -> None:
    names = {item.name for item in items()}
    found = set()
    for name, tree in trees.items():
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                words = node.value.split(".")
                if names & {node.value, *words[1:2]} and not name.startswith("hardware/"):
                    found.add(name)
    assert found == set(NAMED)


def test_no_two_public_classes_share_a_name(trees: dict[str, ast.Module]) -> None:
    places: dict[str, set[str]] = {}
    for name, tree in trees.items():
        for node in tree.body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                places.setdefault(node.name, set()).add(name)
    assert {name for name, where in places.items() if len(where) > 1} == set()
