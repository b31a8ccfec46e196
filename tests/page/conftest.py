"""A real browser for the page: Chromium as installed, and an accessibility engine put into each screen.

WOODSHOP_CHROMIUM is the browser (default: `chromium` on the path), WOODSHOP_AXE the file of the engine. A test that
needs one that is missing is skipped; if the variable is set, it fails instead.
"""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Error, Page, Request, expect, sync_playwright

from tests.page.served import Served, copied, serving

SIZES = {"phone": (390, 844), "tablet": (820, 1180), "desktop": (1440, 900)}
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
"""The rules of the engine: all of WCAG 2.2 up to AA, and those of good practice."""
LONGEST = 60_000  # milliseconds that a busy machine may take for one step
expect.set_options(timeout=LONGEST)
Opened = Callable[..., Page]


def needed(variable: str, otherwise: str | None, what: str) -> str:
    """The file that a variable names, or another one; without it the test is skipped, or fails if it was promised."""
    given = os.environ.get(variable)
    found = given or otherwise
    if found is None or not Path(found).exists():
        if given:
            pytest.fail(f"{variable} is {given}, where there is no {what}")
        pytest.skip(f"no {what}: set {variable}")
    return found


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One browser for the tests of a module. Its driver keeps an event loop running, which other tests cannot have."""
    path = needed("WOODSHOP_CHROMIUM", shutil.which("chromium"), "Chromium")
    with sync_playwright() as driver:
        words = ["--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader", "--disable-dev-shm-usage"]
        started = driver.chromium.launch(executable_path=path, args=words)
        yield started
        started.close()


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A page on a folder with copies of demo designs, for the tests of a module."""
    folder = copied(tmp_path_factory.mktemp("page") / "designs")
    with serving(folder, tmp_path_factory.mktemp("home")) as running:
        yield running


@pytest.fixture
def opened(browser: Browser) -> Iterator[Opened]:
    """Opens a page in a window of its own: `opened(served, path, size, scheme)`.

    At the end no window may have had an error on its console, or have asked for anything outside the page.
    """
    contexts: list[BrowserContext] = []
    wrong: list[str] = []

    def heard(message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            wrong.append(f"{message.type}: {message.text}")

    def failed(error: Error) -> None:
        wrong.append(f"script: {error}")

    def open_(served: Served, path: str = "/", size: tuple[int, int] = (1440, 900), scheme: str = "light",
              beside: Page | None = None) -> Page:  # fmt: skip
        def asked(request: Request) -> None:
            if not request.url.startswith((f"{served.base}/", "data:", "blob:")):
                wrong.append(f"outside: {request.url}")
            if served.token in request.headers.get("referer", ""):
                wrong.append(f"told the token: {request.url}")

        if beside is None:
            width, height = size
            settings: dict[str, Any] = {"viewport": {"width": width, "height": height}, "color_scheme": scheme}
            contexts.append(browser.new_context(**settings))
            page = contexts[-1].new_page()
            page.goto(served.address)
        else:
            page = beside.context.new_page()
        page.set_default_timeout(LONGEST)
        page.on("console", heard)
        page.on("pageerror", failed)
        page.on("request", asked)
        page.goto(served.base + path)
        page.wait_for_selector("h1")
        return page

    yield open_
    for each in contexts:
        each.close()
    assert wrong == []


@pytest.fixture(scope="session")
def axe_text() -> str:
    """The text of the accessibility engine."""
    return Path(needed("WOODSHOP_AXE", None, "accessibility engine (axe.min.js)")).read_text("utf-8")


@pytest.fixture
def violations(axe_text: str) -> Callable[[Page], list[str]]:
    """What the accessibility engine finds wrong on a page: rule, what it asks, and where."""

    def found(page: Page) -> list[str]:
        if not page.evaluate("typeof axe !== 'undefined'"):
            page.evaluate(axe_text)
        result = page.evaluate("rules => axe.run({runOnly: rules})", RULES)
        return [f"{v['id']}: {v['help']}: {n['html'][:200]}" for v in result["violations"] for n in v["nodes"]]

    return found
