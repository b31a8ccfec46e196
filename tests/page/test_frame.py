"""The home screen and the frame in a real browser: keyboard alone, undo, unit, tabs, widths, colors, accessibility.

Source of the rules of the engine: WCAG 2.2, levels A and AA; 2.1.1 keyboard, 2.4.1 skip link, 2.4.7 focus visible.
"""

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.page.conftest import SIZES, Opened
from tests.page.served import Served, copied, serving

Violations = Callable[[Page], list[str]]
pytestmark = pytest.mark.slow("starts a browser and a server")


def tab_to(page: Page, name: str, most: int = 60) -> None:
    """Presses Tab until the control with this name has the focus, and it shows that it has."""
    for _ in range(most):
        page.keyboard.press("Tab")
        at = page.evaluate(
            "(() => { const e = document.activeElement, s = getComputedStyle(e);"
            " return [e.getAttribute('aria-label') || (e.labels && e.labels[0] ? e.labels[0].textContent"
            " : e.textContent), parseFloat(s.outlineWidth) > 0 && s.outlineStyle !== 'none'] })()"
        )
        assert at[1], f"the focus on {at[0]!r} cannot be seen"
        if at[0].strip() == name:
            return
    raise AssertionError(f"Tab does not reach {name!r}")


def test_a_batch_of_six_is_three_answers_and_one_press_of_the_keyboard(
    opened: Opened, violations: Violations, tmp_path: Path
) -> None:
    """From an empty folder. What is typed reaches the file; no markup of a name reaches the page."""
    folder, home = tmp_path / "empty", tmp_path / "home"
    folder.mkdir()
    home.mkdir()
    with serving(folder, home) as served:
        page = opened(served, "/", SIZES["desktop"])
        assert "token" not in page.url
        (cookie,) = page.context.cookies()
        assert cookie["name"] == f"woodshop_{served.port}"
        assert cookie["httpOnly"]
        assert cookie["sameSite"] == "Strict"
        assert violations(page) == []
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")  # the skip link
        assert page.evaluate("document.activeElement.tagName") == "MAIN"
        tab_to(page, "Kind of hive")
        page.keyboard.press("ArrowDown")  # 8 frames
        tab_to(page, "How many")
        page.keyboard.type("0")
        tab_to(page, "Start the batch")
        page.keyboard.press("Enter")
        expect(page.locator(".problem").first).to_contain_text("whole number of 1 or more")
        assert list(folder.iterdir()) == []
        assert page.evaluate("document.activeElement.textContent") == "Start the batch"  # built again, focus kept
        assert violations(page) == []
        # each kind of hive has a row with its own errors, and can be removed
        for _ in range(2):
            page.get_by_role("button", name="Add another kind of hive").click()
        expect(page.get_by_label("How many, kind 3")).to_be_visible()
        page.get_by_label("How many, kind 2").fill("-1")
        page.get_by_role("button", name="Start the batch").click()
        expect(page.get_by_label("How many, kind 2")).to_have_attribute("aria-invalid", "true")
        expect(page.locator("[aria-invalid=true]")).to_have_count(2)  # the first is 0
        assert violations(page) == []
        for n in (3, 2):
            page.get_by_role("button", name=f"Remove kind {n}").click()
        expect(page.get_by_label("How many")).to_have_count(1)
        page.get_by_label("How many").focus()
        page.keyboard.press("Control+A")
        page.keyboard.type("6")
        tab_to(page, "Name of the batch")
        page.keyboard.press("Control+A")
        page.keyboard.type("<b>Six</b> boards, ../../x")
        tab_to(page, "Start the batch")
        page.keyboard.press("Enter")
        page.wait_for_url("**/design/**")
        assert {each.name for each in folder.iterdir()} == {"b-six-b-boards-x.toml", "my-lumberyard.toml"}
        text = (folder / "b-six-b-boards-x.toml").read_text()
        assert "\nframes = 8" in text
        assert "\ncount = 6" in text
        sold = (folder / "my-lumberyard.toml").read_text()
        assert 'name = "a lumberyard with invented prices"' in sold
        assert "[[offcut]]" not in sold  # nobody's wood is taken for the user's
        assert violations(page) == []
        page.goto(served.base)
        expect(page.get_by_role("link", name="<b>Six</b> boards, ../../x")).to_be_visible()
        # a batch in millimeters, beside a lumberyard that sells in inches
        tab_to(page, "millimeters")
        page.keyboard.press("Enter")
        expect(page.get_by_role("group", name="Measure in").get_by_text("millimeters")).to_be_focused()
        expect(page.get_by_role("button", name="millimeters")).to_have_attribute("aria-pressed", "true")
        page.get_by_label("Kind of hive").select_option(label="Dadant-Blatt, 10 frames")
        assert violations(page) == []
        page.get_by_role("button", name="Start the batch").click()
        page.wait_for_url("**/design/first-winter/**")
        text = (folder / "first-winter.toml").read_text()
        for line in ('unit = "mm"', 'pattern = "Dadant-Blatt"', "frames = 10", 'lumberyard = "my-lumberyard-2.toml"'):
            assert f"\n{line}\n" in text
        assert '\nunit = "mm"\n' in (folder / "my-lumberyard-2.toml").read_text()
        page.context.close()
    assert list(home.iterdir()) == []


def test_the_frame_of_a_design(opened: Opened, violations: Violations, tmp_path: Path) -> None:
    """Unit, undo and redo by key, two tabs, and a file that another program changed."""
    folder, home = copied(tmp_path / "designs"), tmp_path / "home"
    home.mkdir()
    file = folder / "hobby-batch.toml"
    before = file.read_text()
    with serving(folder, home) as served:
        page = opened(served, "/design/hobby-batch/file")
        expect(page.locator(".state")).to_have_text("All changes are saved")
        expect(page.get_by_role("button", name="inches")).to_have_attribute("aria-pressed", "true")
        page.get_by_role("button", name="millimeters").click()
        expect(page.get_by_role("button", name="millimeters")).to_have_attribute("aria-pressed", "true")
        other = opened(served, "/design/hobby-batch/file", beside=page)
        expect(other.get_by_role("button", name="millimeters")).to_have_attribute("aria-pressed", "true")
        changed = before.replace("Winter boards 2026", "Winter boards <i>2027</i>")
        file.write_text(changed)
        for each in (page, other):
            expect(each.get_by_text("Another program changed or removed")).to_be_visible()
            expect(each.locator(".state")).to_have_text("Not saved: the file changed")
        assert violations(page) == []
        page.get_by_text("Show both").click()
        page.get_by_role("button", name="Take what is in the file").click()
        for each in (page, other):
            expect(each.get_by_text("Another program changed or removed")).to_have_count(0)
            expect(each.locator(".file-text")).to_contain_text("Winter boards <i>2027</i>")
        other.locator("h1").click()
        other.keyboard.press("Control+z")
        for each in (page, other):
            expect(each.locator(".file-text")).not_to_contain_text("2027")
        assert file.read_text() == before
        other.keyboard.press("Control+Shift+z")
        expect(page.locator(".file-text")).to_contain_text("2027")
        assert file.read_text() == changed
        page.context.close()


def test_every_width_and_both_schemes(opened: Opened, violations: Violations, served: Served) -> None:
    for path in ("/", "/design/hobby-batch/file"):
        for width, scheme in ((360, "dark"), (820, "light"), (1920, "dark")):
            page = opened(served, path, (width, 800), scheme)
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            assert violations(page) == []
            small = page.evaluate(
                "[...document.querySelectorAll('button, input, select')].filter(e => e.offsetParent)"
                ".map(e => e.getBoundingClientRect()).filter(r => r.width < 24 || r.height < 24).length"
            )
            assert small == 0  # WCAG 2.2, 2.5.8: targets of 24 pixels
            page.context.close()
