"""Fixtures that many rooms share, the kinds of expected value counted, and processor time watched."""

import gc
import os
import shutil
import tempfile
from collections import Counter
from collections.abc import Generator, Iterator
from pathlib import Path

import pytest
from _pytest.doctest import DoctestModule
from hypothesis import settings

from tests.nightly import IS_NIGHT, tries
from tests.once import SHARED, keep_in, lists_only, nothing_kept, small_samples
from tests.shop_folder import Shop

# The same examples each time, and no test timed: HYPOTHESIS_PROFILE=other looks at new ones.
settings.register_profile("same", derandomize=True, deadline=None, max_examples=tries(100))
settings.register_profile("other", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "same"))

CHECKOUT = Path(__file__).resolve().parents[1]
KINDS = ("outside", "invariant", "golden")
MOST_SECONDS = 5.0  # of processor that a test may take without the mark slow
_kinds: Counter[str] = Counter()
_too_slow: dict[str, float] = {}
_summaries: list[str] = []  # what tests say of their random draws


def pytest_configure(config: pytest.Config) -> None:
    """The folder that all processes of a run share: made by the first, before it starts the others."""
    if not hasattr(config, "workerinput"):
        os.environ[SHARED] = tempfile.mkdtemp(prefix="woodshop-tests-")
        config.add_cleanup(lambda: shutil.rmtree(os.environ[SHARED], ignore_errors=True))


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers() -> int:
    """One process more than there are cores: now and then one waits for a browser, or for what another makes."""
    return (os.cpu_count() or 1) + 1


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What forks a process for each case comes first, while this one is small: the fork of a large one is slow."""
    items.sort(key=lambda item: item.get_closest_marker("forks") is None)


def pytest_collection_finish() -> None:
    """Modules and tests stay to the end: they are not searched for garbage again and again, and the rest seldom."""
    gc.freeze()
    gc.set_threshold(20_000, 10, 10)


@pytest.hookimpl(wrapper=True)
def pytest_collect_file(file_path: Path) -> Generator[None, list[pytest.Collector], list[pytest.Collector]]:
    """Doctests are looked for in the package, and not a second time in its tests."""
    return [each for each in (yield) if not isinstance(each, DoctestModule)]


@pytest.fixture(scope="session", autouse=True)
def _kept() -> Iterator[None]:
    """Each process of a run does its own work, for one split off for a task knows nothing of what others have done.

    At night everything is done as users have it.
    """
    with pytest.MonkeyPatch.context() as patch:
        if not IS_NIGHT:
            patch.setattr(os, "cpu_count", lambda: 1)
            keep_in(patch)
            small_samples(patch)
        yield


@pytest.fixture
def anew() -> Iterator[None]:
    """Nothing that was measured or planned before is taken."""
    with nothing_kept():
        yield


@pytest.fixture
def only_lists() -> Iterator[None]:
    """Results have no documents by day: for tests that read the plan and the lists alone."""
    with lists_only():
        yield


@pytest.fixture(scope="session")
def designs() -> Path:
    """The folder of design and lumberyard files."""
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


def _processor() -> float:
    """Seconds of processor of this process and of those it started that have ended."""
    spent = os.times()
    return spent.user + spent.system + spent.children_user + spent.children_system


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Generator[None, object, object]:
    before = _processor()
    try:
        return (yield)
    finally:
        item.user_properties.append(("processor", _processor() - before))


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Counted from the reports, which reach the one who prints them also when several processes run the tests."""
    if report.when == "call":
        for kind in KINDS:
            if kind in report.keywords:
                _kinds[kind] += 1
        summary = dict(report.user_properties).get("summary")
        if isinstance(summary, str):
            _summaries.append(summary)
        seconds = dict(report.user_properties).get("processor", 0)
        if isinstance(seconds, float) and seconds > MOST_SECONDS and "slow" not in report.keywords:
            _too_slow[report.nodeid] = seconds


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    line = ", ".join(f"{_kinds[kind]} {kind}" for kind in KINDS)
    terminalreporter.write_line(f"kinds of expected value: {line}")
    for summary in sorted(_summaries):
        terminalreporter.write_line(summary)
    for name, seconds in sorted(_too_slow.items(), key=lambda each: -each[1]):
        terminalreporter.write_line(f"over {MOST_SECONDS:.0f} s of processor, not marked slow: {seconds:.1f} s, {name}")


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    """Only the night's run that asks for it fails by time: any other may share its machine."""
    if os.environ.get("WOODSHOP_SLOW_FAILS") == "1" and not IS_NIGHT and _too_slow:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
