"""Fixtures that many rooms share, and the count of the kinds of expected value."""

import os
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import settings

from tests.shop_folder import Shop

# The same examples each time, and no test timed: HYPOTHESIS_PROFILE=other looks at new ones.
settings.register_profile("same", derandomize=True, deadline=None)
settings.register_profile("other", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "same"))

CHECKOUT = Path(__file__).resolve().parents[1]
KINDS = ("outside", "invariant", "golden")
_kinds: Counter[str] = Counter()


@pytest.fixture(scope="session")
def designs() -> Path:
    """The folder of design and yard files."""
    return CHECKOUT / "designs"


@pytest.fixture(scope="session")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    """A folder with a design and a lumberyard in it."""
    return Shop(tmp_path_factory.mktemp("shop"))


@pytest.fixture
def in_checkout(monkeypatch: pytest.MonkeyPatch) -> Path:
    """The checkout as the working folder."""
    monkeypatch.chdir(CHECKOUT)
    return CHECKOUT


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Counted from the reports, which reach the one who prints them also when several processes run the tests."""
    if report.when == "call":
        for kind in KINDS:
            if kind in report.keywords:
                _kinds[kind] += 1


def pytest_terminal_summary(terminalreporter: object) -> None:
    line = ", ".join(f"{_kinds[kind]} {kind}" for kind in KINDS)
    terminalreporter.write_line(f"kinds of expected value: {line}")  # type: ignore[attr-defined]
