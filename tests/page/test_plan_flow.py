"""Plan, reload, cancel, plan again, take: in a real browser, against what the command line makes of the same design.

Source of the rules of the accessibility engine: WCAG 2.2, levels A and AA; 4.1.3 for messages of state.
"""

from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from zipfile import ZipFile

import pytest
from click.testing import CliRunner
from playwright.sync_api import Page, expect

from tests.page.conftest import SIZES, Opened
from tests.page.served import copied, serving
from woodshop.cli import main
from woodshop.files.folder import is_half_written

Violations = Callable[[Page], list[str]]
pytestmark = pytest.mark.slow("starts a browser and a server, and plans a batch twice")
LONG = 120_000  # milliseconds: a busy machine takes this long to plan
NAME = '<b>tens</b> & "co" <img src=x>'
DESIGN = f"""format = "woodshop-design/2"
batch = "two-tens"
title = "Two boards"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
on_by = 2026-11-26

[[hives]]
name = '{NAME}'
frames = 10
width = "16 1/4"
count = 2
gap = ["1/4", "1/4", "1/4"]

[[make]]
item = ["fondant rim", "wire bottom", "spacer strips"]
"""


def test_a_batch_is_planned_in_the_background_and_is_that_of_the_command_line(
    opened: Opened, violations: Violations, tmp_path: Path
) -> None:
    folder = copied(tmp_path / "designs", ("creekside-lumberyard.toml",))
    (folder / "two tens.toml").write_text(DESIGN, encoding="utf-8")
    (tmp_path / "home").mkdir()
    made = folder / "out" / "two-tens"
    with serving(folder, tmp_path / "home") as served:
        page = opened(served, "/design/two%20tens/take", SIZES["tablet"])
        expect(page.get_by_text("There is nothing to take yet.")).to_be_visible()
        page.get_by_role("link", name="Go to Cut and buy").click()

        plan = page.get_by_role("button", name="Plan this batch", exact=True)
        plan.click()
        status = page.locator(".work-status")
        expect(status).to_contain_text("Planning")
        assert violations(page) == []
        page.reload()  # in the middle of planning
        expect(status).to_contain_text("Planning")
        page.get_by_role("button", name="Cancel").click()
        expect(status).to_have_text("Canceled. Files made earlier are as they were.", timeout=LONG)
        assert not made.exists() or not (is_half_written(made) or list(made.iterdir()))

        page.get_by_label("How long to search").select_option("quick")
        plan.click()
        other = opened(served, "/design/two%20tens/days", beside=page)  # another tab sees the same work
        expect(other.locator(".work-status")).to_contain_text("Planning")
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
        expect(side).to_contain_text("504.82 x 63.5 x 19.05")  # 19 7/8 in is 504.825 mm
        page.get_by_role("button", name="in", exact=False).first.click()
        assert violations(page) == []

        before = (folder / "two tens.toml").read_bytes()
        other.get_by_label("First day of work").fill("2026-10-03")
        other.get_by_label("First day of work").blur()
        expect(other.locator(".old-plan")).to_contain_text("The design has changed since this plan.")
        expect(page.locator(".old-plan")).to_be_visible()
        assert b"start = 2026-10-03" in (folder / "two tens.toml").read_bytes()
        other.get_by_role("button", name="Undo").click()
        expect(other.locator(".old-plan")).to_have_count(0)
        assert (folder / "two tens.toml").read_bytes() == before

        ran = CliRunner().invoke(main, ["plan", str(folder / "two tens.toml"), "--quick", "--out", str(tmp_path / "x")])
        assert ran.exit_code == 0, ran.output
        wanted = {
            each.relative_to(tmp_path / "x").as_posix(): each.read_bytes()
            for each in (tmp_path / "x").rglob("*")
            if each.is_file()
        }
        page.goto(f"{served.base}/design/two%20tens/take")
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
        for wrong in ("../two tens.toml", "..%2f..%2fhome", "manifest.json", "%2e%2e/x", "drawings", "nothing.pdf"):
            status_code, _, body = served.ask(f"/design/two%20tens/result/{wrong.replace(' ', '%20')}")
            assert status_code in (400, 404), wrong
            assert b"format" not in body
        page.goto(f"{served.base}/design/two%20tens/cut")
        page.get_by_role("button", name="Plan this batch again").click()
        expect(page.locator(".work-status")).to_contain_text("Planning")
        page.context.close()
        code, said = served.end()  # in the middle of planning
        assert code == 0, said
        assert {name: (made / name).read_bytes() for name in zipped} == zipped
