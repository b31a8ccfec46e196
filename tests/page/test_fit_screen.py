"""The screen of fit in a browser: findings as the command line's, a remedy and its undo, the hive and its parts."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.page.conftest import SIZES, Opened
from tests.page.served import Served
from tests.shop_folder import DESIGN
from woodshop.checks.check_batch import check_batch
from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.settle.settle import settle
from woodshop.documents.report.report import found_at, verdict_line
from woodshop.findings import Report

Violations = Callable[[Page], list[str]]
pytestmark = pytest.mark.slow("starts a browser and a server, which draw a hive without a graphics card")

TEXT = DESIGN.replace("lumberyard.toml", "creekside-lumberyard.toml").replace(
    "[[hives]]", '[board]\nmesh = "1/8 in" # what was in the shed\n[[hives]]'
)


def report_of(path: Path) -> tuple[Any, Report]:
    """What `woodshop check` reports of this design."""
    design = read_design(path)
    batch = settle(design, read_lumberyards(design.lumberyards))
    return batch, check_batch(batch)[1]


def headings(page: Page) -> list[str]:
    return [each.strip().casefold() for each in page.locator(".finding h3").all_text_contents()]


def test_findings_a_remedy_its_undo_and_the_parts_of_the_hive(
    served: Served, opened: Opened, violations: Violations
) -> None:
    path = served.folder / "winter.toml"
    path.write_text(TEXT, encoding="utf-8")
    page = opened(served, "/design/winter/fit", SIZES["desktop"])
    page.set_default_timeout(60_000)
    verdict = page.locator("#verdict")
    batch, report = report_of(path)
    assert report.has_errors
    expect(verdict).to_have_text(verdict_line(report), timeout=60_000)  # with how sizes vary
    assert sorted(headings(page)) == sorted(each.finding.value.casefold() for each in found_at(report, batch))

    expect(page.locator(".verdict-line")).to_have_text(verdict_line(report))  # the header counts the same

    wrong = page.locator('[data-code="mesh-stops-bees"]')
    expect(wrong).to_contain_text("Bees would starve under their sugar.")
    wrong.locator("summary").click()
    expect(wrong.locator("details")).to_contain_text("Source:")  # the rule, its numbers, its sources
    expect(wrong).to_contain_text('set "Passages" to "at the openings"')  # the words of the page, not the file's
    said = "All fondant boards, Mesh: 1/2 in (now 1/8 in)"
    expect(wrong.locator(".remedy li").first).to_have_text(said)
    wrong.get_by_role("button", name=f"Make this change: {said}").click()
    expect(verdict).not_to_contain_text(re.compile("Do not cut|Checking"), timeout=60_000)
    assert path.read_text(encoding="utf-8") == TEXT.replace('mesh = "1/8 in"', 'mesh = "1/2 in"')
    batch, report = report_of(path)
    expect(verdict).to_have_text(verdict_line(report), timeout=60_000)
    assert page.evaluate("document.activeElement.id") == "verdict"
    expect(page.locator(".done")).to_contain_text("Done. All fondant boards, Mesh: 1/2 in (was 1/8 in).")

    parts_of_the_hive(page)
    assert violations(page) == []

    page.get_by_role("button", name="Undo this change").click()
    expect(verdict).to_contain_text("Do not cut", timeout=60_000)
    expect(page.locator(".done-line")).to_have_text("Undone: All fondant boards, Mesh: 1/2 in")
    assert path.read_text(encoding="utf-8") == TEXT
    # from a finding to the field where it is changed, in a folded part too
    page.get_by_role("link", name="What to make, Mounting").first.click()
    expect(page.get_by_label("Mounting", exact=True)).to_be_focused()
    page.goto(f"{served.base}/design/winter/file#trial")
    expect(page.get_by_label("Weight of the damp sugar", exact=True)).to_be_focused()
    assert violations(page) == []


def parts_of_the_hive(page: Page) -> None:
    """A part by the list and by a tap on the picture; the picture changes when the hive is pulled apart."""
    shown = page.locator(".part-shown")
    page.get_by_role("button", name=re.compile(": front end$")).click()
    expect(shown).to_contain_text("14 3/4 x 2 1/2 x 3/4 in")  # the end of a 10-frame rim, from the packet's list
    expect(shown.locator("svg")).to_have_count(1)
    page.locator("#work .unit, header .unit").get_by_role("button", name="millimeters").click()
    expect(shown).to_contain_text("374.6 x 63.5 x 19 mm", timeout=60_000)
    canvas = page.locator(".hive-scene canvas")
    canvas.scroll_into_view_if_needed()
    page.wait_for_timeout(1500)
    before = canvas.screenshot(timeout=60_000)
    slider = page.get_by_label("Pull the hive apart")
    slider.focus()
    page.keyboard.press("End")
    page.wait_for_timeout(1500)
    assert canvas.screenshot(timeout=60_000) != before
    page.keyboard.press("Home")
    page.wait_for_timeout(1500)
    canvas.click(timeout=60_000)  # its middle: the upper box
    expect(shown).to_contain_text("you have it")
    expect(page.locator(".hive-parts [aria-pressed=true]")).to_have_count(1)
