"""From an empty folder to a packet in a real browser: answers, plan, reload, cancel, plan again, take; against what the
command line makes of the saved design.

Source of the rules of the accessibility engine: WCAG 2.2, levels A and AA; 4.1.3 for messages of state.
"""

import subprocess
import sys
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from zipfile import ZipFile

import pytest
from playwright.sync_api import Page, expect

from tests.page.conftest import SIZES, Opened
from tests.page.served import ROOT, serving
from woodshop.files.folder import is_half_written

Violations = Callable[[Page], list[str]]
pytestmark = pytest.mark.slow("starts a browser and a server, and plans a batch twice")
LONG = 300_000  # milliseconds: a busy machine takes this long to plan
NAME = '<b>tens</b> & "co" <img src=x>'
LATE = """if (location.pathname === "/") {
  let isReady = false;
  Object.defineProperty(window, "did_handshake", {
    get() { return isReady && Boolean(window.isConnected); }, set(value) { isReady = value; } });
}"""
"""The first screen is connected to the server when `window.isConnected` is set."""


def becomes(page: Page, file: Path, wanted: bytes) -> None:
    """Waits until the file has these bytes: what the screen says may be from before the last press."""
    for _ in range(200):
        if file.read_bytes() == wanted:
            break
        page.wait_for_timeout(100)
    assert file.read_bytes() == wanted


def typed(page: Page, label: str, text: str) -> None:
    """Types into a field as people do, leaves it, and waits until it is saved."""
    field = page.get_by_label(label, exact=True)
    field.fill(text)
    field.press("Tab")
    expect(page.get_by_role("button", name="Undo")).to_have_attribute("aria-disabled", "false")
    expect(page.locator(".state")).to_have_text("All changes are saved")


def test_the_whole_job_from_an_empty_folder_to_a_packet_that_is_that_of_the_command_line(
    opened: Opened, violations: Violations, tmp_path: Path
) -> None:
    folder, design = tmp_path / "designs", tmp_path / "designs" / "two-tens.toml"
    folder.mkdir()
    (tmp_path / "home").mkdir()
    made = folder / "out" / "two-tens"
    with serving(folder, tmp_path / "home") as served:
        page = opened(served, "/", SIZES["tablet"])
        page.add_init_script(LATE)
        page.reload()
        page.get_by_label("Name of the batch").fill("two tens")
        page.get_by_label("How many").fill("2")
        page.get_by_role("button", name="Start the batch").click()
        page.evaluate("window.isConnected = true")  # what was entered before is taken over before the press
        typed(page, "Name of these hives", NAME)
        for step in ("What to make", "What you have and where you buy"):
            page.get_by_role("link", name=f"Next: {step}").click()
        typed(page, "Day the boards must go on", "2024-11-28")
        expect(page.get_by_text("The prices in my-lumberyard.toml are an example.")).to_be_visible()
        assert violations(page) == []
        page.get_by_role("button", name="These are my own prices now").click()
        expect(page.get_by_text("The prices in my-lumberyard.toml are an example.")).to_have_count(0)
        assert (folder / "my-lumberyard.toml").read_text("utf-8").startswith('format = "woodshop-lumberyard/')
        page.goto(f"{served.base}/design/two-tens/take")
        expect(page.get_by_text("There is nothing to take yet.")).to_be_visible()
        page.get_by_role("link", name="Go to Cut and buy").click()

        plan = page.get_by_role("button", name="Plan this batch", exact=True)
        plan.click()
        status = page.locator(".work-status")
        expect(status).to_contain_text("Planning")
        page.reload()  # in the middle of planning
        expect(status).to_contain_text("Planning")
        page.get_by_role("button", name="Cancel").click()
        expect(status).to_have_text("Canceled. Files made earlier are as they were.", timeout=LONG)
        assert not made.exists() or not (is_half_written(made) or list(made.iterdir()))

        page.get_by_label("How long to search").select_option("quick")
        plan.click()
        expect(status).to_contain_text("Planning")
        assert violations(page) == []
        other = opened(served, "/design/two-tens/days", beside=page)  # another tab sees the same work
        expect(status).to_have_text("The plan is ready.", timeout=LONG)
        expect(other.get_by_role("heading", name="Gantt chart")).to_be_visible(timeout=LONG)
        assert violations(other) == []

        shopping = page.get_by_role("table", name="Shopping")
        expect(shopping).to_contain_text("white sugar")
        expect(page.get_by_role("img").first).to_be_visible()
        expect(page.get_by_text(NAME).first).to_be_visible()
        assert page.locator("main b, main img").count() == 0
        side = page.get_by_role("table", name="Sizes of the letters").get_by_role("row", name="side")
        expect(side).to_contain_text("19 7/8 x 2 1/2 x 3/4")
        page.get_by_role("button", name="mm").click()
        expect(side).to_contain_text("504.8 x 63.5 x 19")  # 19 7/8 in is 504.825 mm, 3/4 in is 19.05 mm
        page.get_by_role("button", name="inches, in").click()
        expect(side).to_contain_text("19 7/8 x 2 1/2 x 3/4")
        page.get_by_label("Another setting").select_option(label="Kerf of a rip")
        for value in ("banana", "3/32"):
            page.get_by_label("Its other value").fill(value)
            page.get_by_role("button", name="Add to the choices").click()
            if value == "banana":
                expect(page.locator(".another .problem")).to_contain_text("wanted a length")
                assert violations(page) == []
        expect(page.get_by_label("Kerf of a rip: 3/32")).to_be_checked()
        assert violations(page) == []

        before = design.read_bytes()
        for each in (page, other):
            expect(each.get_by_text("which has passed. Set the first day of work to today or later")).to_be_visible()
        other.get_by_role("button", name="Start today").click()
        expect(other.locator(".old-plan")).to_be_visible()
        expect(page.get_by_role("button", name="Start today")).to_have_count(0)
        assert b"start = 20" in design.read_bytes()
        other.get_by_role("button", name="Undo").click()
        becomes(other, design, before)
        other.get_by_label("First day of work").fill("2026-10-03")
        other.get_by_label("First day of work").blur()
        expect(other.locator(".old-plan")).to_contain_text("The design has changed since this plan.")
        expect(page.locator(".old-plan")).to_be_visible()
        assert b"start = 2026-10-03" in design.read_bytes()
        other.get_by_role("button", name="Undo").click()
        becomes(other, design, before)
        expect(other.locator(".old-plan")).to_have_count(0)

        words = [sys.executable, "-m", "woodshop", "plan", str(design), "--quick", "--out", str(tmp_path / "x")]
        subprocess.run(words, cwd=ROOT, check=True, capture_output=True)
        wanted = {
            each.relative_to(tmp_path / "x").as_posix(): each.read_bytes()
            for each in (tmp_path / "x").rglob("*")
            if each.is_file()
        }
        page.goto(f"{served.base}/design/two-tens/take")
        with page.expect_download() as one:
            page.get_by_role("link", name="packet.pdf").click()
        assert one.value.suggested_filename == "packet.pdf"
        assert Path(one.value.path()).read_bytes() == wanted["packet.pdf"]
        with page.expect_download() as everything:
            page.get_by_role("link", name="Download all in one file").click()
        with ZipFile(BytesIO(Path(everything.value.path()).read_bytes())) as archive:
            zipped = {name.removeprefix("two-tens/"): archive.read(name) for name in archive.namelist()}
        assert zipped == {name: data for name, data in wanted.items() if name != "manifest.json"}
        assert violations(page) == []
        for wrong in ("../../two-tens.toml", "..%2f..%2fhome", "manifest.json", "%2e%2e/x", "drawings", "nothing.pdf"):
            status_code, _, body = served.ask(f"/design/two-tens/result/{wrong}")
            assert status_code in (400, 404), wrong
            assert b"format" not in body
        page.goto(f"{served.base}/design/two-tens/cut")
        page.get_by_role("button", name="Plan this batch again").click()
        expect(page.locator(".work-status")).to_contain_text("Planning")
        page.context.close()
        code, said = served.end()  # in the middle of planning
        assert code == 0, said
        assert {name: (made / name).read_bytes() for name in zipped} == zipped
