"""Every finding switched off in turn: the codes whose absence no test notices.

Run from a checkout: `python -m tests.switched_off [CODE ...]`. For each code every function that returns findings
leaves out those with it, and the tests that name it are run until one fails; for codes that no test names, all those
of the module that tries every fault of their kind. Exit 1 when some code has no such test.
"""

import importlib
import inspect
import pkgutil
import sys
from collections.abc import Callable, Iterator
from functools import wraps
from pathlib import Path
from types import GeneratorType, ModuleType
from typing import Any

import pytest

import woodshop
from woodshop.documents.report.report import FINDINGS
from woodshop.findings import Finding, Report
from woodshop.hardware.catalogue import items

TESTS = Path(__file__).resolve().parent
UNNAMED = {
    "plan-file": ("plan/test_verify_whole.py",),
    "bill-": ("plan/test_verify_whole.py",),
    "plan-": ("cutting/test_cutting_check.py", "cutting/test_cutting_own_cuts.py"),
    "sequence-": ("cutting/test_cutting_sequence.py", "cutting/test_cutting_job_sequence.py"),
}
"""Where the faults of a file are tried one after the other, and any finding will do; by how the code begins."""
_off = ""


def without(value: Any) -> Any:
    """The value a function returned, with no finding of the code that is off."""
    if isinstance(value, GeneratorType):
        return (each for each in value if not _is_off(each))
    if isinstance(value, Report):
        return Report(tuple(each for each in value.findings if not _is_off(each)))
    if type(value) in (list, tuple):
        return type(value)(without(each) for each in value if not _is_off(each))
    return None if _is_off(value) else value


def _is_off(value: Any) -> bool:
    return isinstance(value, Finding) and value.code == _off


def _guarded(function: Callable[..., Any]) -> Callable[..., Any]:
    @wraps(function)
    def run(*given: Any, **named: Any) -> Any:
        return without(function(*given, **named))

    return run


def guard_all() -> None:
    """Wrap every function of the package whose annotation says that it returns findings, wherever it is named."""
    modules = [woodshop, *_modules()]
    guarded: dict[int, Callable[..., Any]] = {}
    for module in modules:
        for each in vars(module).values():
            if inspect.isfunction(each) and any(
                word in str(each.__annotations__.get("return")) for word in ("Finding", "Report")
            ):
                guarded.setdefault(id(each), _guarded(each))
    for item in items():
        if item.check is not None:
            object.__setattr__(item, "check", _guarded(item.check))
    for module in modules:
        for name, each in list(vars(module).items()):
            if id(each) in guarded and inspect.isfunction(each):
                setattr(module, name, guarded[id(each)])


def _modules() -> Iterator[ModuleType]:
    for found in pkgutil.walk_packages(woodshop.__path__, "woodshop."):
        if not found.name.endswith("__main__"):
            yield importlib.import_module(found.name)


class Named:
    """Keeps the tests that name a code, in their name or their text, and counts those that failed."""

    def __init__(self, code: str) -> None:
        self.code, self.failed, self.kept = code, 0, 0

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        by_name = [item for item in items if self.code in item.nodeid]
        by_text = [item for item in items if item not in by_name and self._names(item)]
        items[:] = [*by_name, *by_text]
        self.kept = len(items)

    def _names(self, item: pytest.Item) -> bool:
        function, spec = getattr(item, "function", None), getattr(item, "callspec", None)
        return (spec is not None and self.code in repr(spec.params)) or (
            function is not None and f'"{self.code}"' in inspect.getsource(function)
        )

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.failed += report.failed


def notices(code: str) -> bool:
    """Whether some test fails while no function returns findings with that code."""
    global _off
    files = [str(path) for path in sorted(TESTS.rglob("test_*.py")) if f'"{code}"' in path.read_text(encoding="utf-8")]
    others = next((paths for start, paths in UNNAMED.items() if code.startswith(start)), ())
    named, _off = Named(code if files else ""), code
    files = files or [str(TESTS / path) for path in others if (TESTS / path).exists()]
    if not files:
        return False
    try:
        # plugins are imported already when a later code is tried, which pytest remarks on
        quiet = ["-W", "ignore::pytest.PytestAssertRewriteWarning", "-p", "no:cacheprovider", "--no-header", "--tb=no"]
        pytest.main(["-x", "-q", "-n", "0", *quiet, *files], plugins=[named])
    finally:
        _off = ""
    return named.failed > 0


def main(codes: list[str]) -> int:
    guard_all()
    missed = [code for code in codes if not notices(code)]
    print("no test notices the absence of:", ", ".join(missed) or "none")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:] or list(FINDINGS)))
