"""The saw page in a real browser: from a file, and from a server that is killed while ticking."""

import os
import re
import shutil
import signal
import subprocess
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.nightly import IS_NIGHT
from tests.page.conftest import SIZES, needed
from tests.page.small_saw import ROOT, small_data, small_folder
from tests.page.test_saw_ticks import MARK, servers, started
from woodshop.documents.answers.written_plan import verdict_section
from woodshop.documents.packet.cut_cautions import ALWAYS_ON, NAILS
from woodshop.documents.plan_design import plan_design
from woodshop.documents.saw.saw_page import data_of, one_file
from woodshop.plan.book.event_sheets import read_event_rows
from woodshop.plan.book.saw_ticks import boards_done, own_book
from woodshop.plan.verify import verify_file
from woodshop.records.rows import events_from_rows
from woodshop.records.store import checked_book, new_book, open_book

HOSTILE = "</script><img src=x onerror=document.title='broken'>&lt;b&gt;"
LIMITS = (
    "Width 7 3/16 in or more, length 62 3/8 in or more. Bad stretch: 22 to 25 1/2 in from the end you square first. "
    "Measure before you square that end. Cut the bad stretch off before any rip."
)
SIGHT = [
    "Keep 2 in of board between blade and fence.",
    "Use a push block, guard and riving knife.",
    "Do not rip pieces shorter than 12 in.",
]
"""The limits and the cautions of a board, as many as a real batch has at one step."""
IN_SIGHT = """id => { const own = document.getElementById(id).getBoundingClientRect();
  return [[own.left + 5, own.top + 5], [own.right - 5, own.bottom - 5]].every(
    place => document.elementFromPoint(...place)?.closest(`#${id}`)); }"""
pytestmark = pytest.mark.slow("a browser")


@pytest.fixture
def shown(browser: Browser) -> Iterator[Callable[..., Page]]:
    """Opens a page of an address; at the end nothing was asked for elsewhere and no script had an error."""
    contexts = []
    wrong: list[str] = []

    def show(address: str, size: str = "phone", scheme: str = "light", *, may_fail: bool = False) -> Page:
        wide, high = SIZES[size]
        viewport: Any = {"width": wide, "height": high}
        context = browser.new_context(viewport=viewport, color_scheme=scheme)  # type: ignore[arg-type]
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(20_000)
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("console", lambda m: wrong.append(m.text) if m.type == "error" and not may_fail else None)
        base = address.partition("/saw/")[0]
        page.on("request", lambda r: None if r.url.startswith((base, "blob:", "data:")) else wrong.append(r.url))
        page.goto(address)
        expect(page.locator("#deed")).not_to_be_empty()
        return page

    yield show
    for each in contexts:
        each.close()
    assert wrong == []


@pytest.fixture
def file(tmp_path: Path) -> Path:
    data = small_data()
    data["steps"][1]["deed"] = f"Rip {HOSTILE}"
    data["layouts"][0]["what"] = HOSTILE
    (tmp_path / "saw.html").write_bytes(one_file(data))
    return tmp_path / "saw.html"


def go(page: Page, step: int) -> None:
    page.click("#menu")
    page.click(f"#steps li:nth-child({step}) button")


def tick_all(page: Page) -> None:
    """Ticks all boards at this setting, and says so again when asked."""
    page.click("#all")
    page.click("#ask-choices button:first-child")


def test_a_file_without_a_server(
    shown: Callable[..., Page], file: Path, tmp_path: Path, violations: Callable[[Page], list[str]]
) -> None:
    page = shown(file.as_uri())
    assert violations(page) == []
    rules = page.locator("#rules")
    expect(rules).to_contain_text("Blade stopped? Then press Done.")
    expect(rules).to_contain_text(ALWAYS_ON)
    expect(rules).to_contain_text("No gloves at the saw.")
    expect(page.locator("#left")).to_have_text("3 boards left.")
    expect(page.locator("#limits")).to_contain_text("Chalk 1 near its other end, not the one you square.")
    for button in page.locator("button:visible, .units span").all():
        box = button.bounding_box()
        assert box is not None
        assert box["height"] >= 63.9, button.text_content()
        assert box["width"] >= 63.9, button.text_content()
    # the first step, one board and then the rest
    expect(page.locator("#still")).to_have_text("3")
    page.click("#done")
    expect(page.locator("#still")).to_have_text("2")
    page.reload()
    expect(page.locator("#still")).to_have_text("2")
    tick_all(page)
    expect(page.locator("#stamp")).to_be_visible()
    expect(page.locator("#done")).to_be_enabled()
    # now "Next step"; taps too many do nothing
    page.evaluate("for (let n = 0; n < 3; n++) document.getElementById('done').click()")
    expect(page.locator("#deed")).to_contain_text(HOSTILE)
    expect(page.locator("#sight")).to_contain_text("guard and riving knife")
    expect(page.locator("#still")).to_have_text("2")
    assert page.locator("img").count() == 0
    page.check("input[value=mm]")
    expect(page.locator("#set-to")).to_have_text("5 1/4 mm")
    page.check("input[name=unit][value=in]")
    # by keyboard alone
    page.focus("#done")
    expect(page.locator("#done")).to_be_enabled()
    page.keyboard.press("Enter")
    expect(page.locator("#latest")).to_have_text("Done: layout 1, board 1 of 2.")
    expect(page.locator("#done")).to_be_enabled()
    page.keyboard.press("Enter")
    expect(page.locator("#stamp")).to_be_visible()
    page.keyboard.press("ArrowRight")
    expect(page.locator("#set-to")).to_have_text("10")
    page.click("#cut-made")
    expect(page.locator("#cuts-text")).to_have_text("1 of 2 cuts")
    page.keyboard.press("ArrowRight")
    expect(page.locator("#looking")).to_contain_text("Only looking ahead.")
    page.click("#done")  # out of order: it asks first, and Cancel ticks nothing
    expect(page.locator("#ask-text")).to_contain_text("Step 3 on this board is not done")
    page.click("#ask-choices button:last-child")
    expect(page.locator("#still")).to_have_text("2")
    page.keyboard.press("ArrowLeft")
    expect(page.locator("#cuts-text")).to_have_text("1 of 2 cuts")
    expect(page.locator("#gives-line")).to_have_text("This board gives 2 A side Write the letter on each piece.")
    expect(page.locator("#legend")).to_have_text("Quilt box: A side, B end. Filled: what this step cuts.")
    expect(page.locator("#without")).to_have_text("No miter saw? Ask who planned it.")
    page.click("#done")
    expect(page.locator("#ask-title")).to_have_text("Only 1 of 2 cuts are counted")
    page.click("#ask-choices button:first-child")
    expect(page.locator("#saved")).to_have_text("Not yet saved to a file: 6 entries")  # only then is it kept
    page.keyboard.press("ArrowRight")
    page.reload()  # back to where one works, not to what one looks at
    expect(page.locator("#count")).to_have_text("Step 3 of 4.")
    page.keyboard.press("ArrowRight")
    page.click("#done")
    expect(page.locator("#looking")).to_have_count(0)
    said = "This board is finished. What is left of it is scrap. Still to do of layout 1: 1 board."
    expect(page.locator("#latest")).to_contain_text(said)
    expect(page.locator("#saved")).to_have_text("Not yet saved to a file: 7 entries")
    page.click("#undo")
    expect(page.locator("#latest")).to_have_text("Undone: step 4, 1 board.")
    page.reload()
    expect(page.locator("#count")).to_have_text("Step 4 of 4.")  # where one was
    page.click("#done")
    # a spoiled piece, then a board that is already cut into, then one that is not
    page.click("#spoiled")
    assert violations(page) == []
    expect(page.locator("#letters input")).to_be_checked()  # the only letter at this step
    page.fill("#how-many", "9")
    page.click("#spoiled-yes")
    expect(page.locator("#spoiled-wrong")).to_contain_text("At most 2 B")
    page.fill("#how-many", "1")
    page.click("#one-more")
    page.click("#spoiled-yes")
    page.click("#ask-choices button")
    expect(page.locator("#pieces")).to_have_text("2 of 8")
    go(page, 3)
    page.click("#bad")
    assert violations(page) == []
    expect(page.locator("#bad-into")).to_contain_text("already cut into")
    page.click("#bad-yes")
    expect(page.locator("#ask-text")).to_contain_text("Chalk “")
    whole = (page.locator("#ask-text").text_content() or "").split("Chalk “")[1][:4]
    assert re.fullmatch("[ACDEFHJKLMNPRTUWXY][2-9][2-9ACDEFHJKLMNPRTUWXY]{2}", whole), (
        "no two signs look alike in chalk"
    )
    page.click("#ask-choices button")
    page.click("#undo")
    expect(page.locator("#ask-text")).to_have_text(f"Step 3: layout 1, 1 board set aside, unusable, chalked {whole}")
    page.click("#ask-choices button:first-child")
    expect(page.locator("#latest")).to_contain_text("Undone")
    page.click("#bad")
    page.locator("#bad-layouts label").nth(1).click()
    expect(page.locator("#bad-into")).to_be_empty()
    page.check("input[value=part]")
    box = page.locator("#bad-board").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + box["width"] * 0.5, box["y"] + 20)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * 0.75, box["y"] + 30)
    page.mouse.up()
    assert abs(float(page.input_value("#bad-from")) - 24) <= 1, "half of 48 in"
    page.fill("#bad-from", "nonsense")
    page.click("#bad-yes")
    expect(page.locator("#bad-wrong")).to_contain_text("From: “nonsense” is not a length")
    page.fill("#bad-from", "40")
    page.fill("#bad-to", "50")
    page.click("#bad-yes")
    expect(page.locator("#bad-wrong")).to_contain_text("past the end")
    page.check("input[value=whole]")
    expect(page.locator("#bad-wrong")).to_be_empty()
    page.check("input[value=part]")
    page.fill("#bad-from", "24 1/2")
    page.fill("#bad-to", "700 mm")
    page.click("#bad-yes")
    expect(page.locator("#ask-text")).to_contain_text("24 1/2 to 700 mm")
    assert (page.locator("#ask-text").text_content() or "").split("Chalk “")[1][:4] != whole
    page.click("#ask-choices button")
    expect(page.locator("#stamp")).to_contain_text("Set aside: 1 board (chalked ")
    page.click("#undo")  # it asks first
    page.click("#ask-choices button:last-child")
    expect(page.locator("#stamp")).to_contain_text("Set aside: 1 board (chalked ")
    with page.expect_download() as saved:
        page.click("#menu")
        page.click("#export")
    expect(page.locator("#ask-text")).to_contain_text(saved.value.suggested_filename)
    for command in ("woodshop book import shop.book saw-5a5a5a5a-ticks.csv", "woodshop plan hobby-batch.toml --rest"):
        expect(page.locator("code").filter(has_text=command).first).to_be_attached()
    sheet = tmp_path / "ticks.csv"
    saved.value.save_as(sheet)
    sent = events_from_rows(read_event_rows(sheet), "in", "USD")
    new_book(tmp_path / "own.book", sent=sent)
    with open_book(tmp_path / "own.book") as book:
        assert not book.add(sent).new, "imported again, it adds nothing"
        kinds = Counter(event.kind for event in book.events())
        (batch,) = book.state().batches
        done = boards_done(book.events(), small_data() | {"steps": data_steps(file)})
    assert checked_book(tmp_path / "own.book").faults == ()
    assert kinds["cuts made"] == 8
    assert kinds["undo"] == 3, "the tick, the board that it completed, and the board that is bad as a whole"
    assert [(each.layout, each.times) for each in batch.layouts] == [(1, 1)]
    assert [(each.part, each.spoiled) for each in batch.pieces] == [("B", 2)]
    assert done.begun == {1: 2}
    assert done.completed == {1: 1}


def data_steps(file: Path) -> list[dict[str, Any]]:
    steps: list[dict[str, Any]] = data_of(file.read_bytes(), file.name)["steps"]
    return steps


@pytest.mark.parametrize(("size", "scheme"), [("tablet", "dark"), ("desktop", "light"), ("phone", "dark")])
def test_it_fits_and_is_read_at_every_size(
    shown: Callable[..., Page], file: Path, violations: Callable[[Page], list[str]], size: str, scheme: str
) -> None:
    page = shown(file.as_uri(), size, scheme)
    go(page, 3)
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    data = small_data()
    data["layouts"][0] |= {"notes": {"in": LIMITS, "mm": LIMITS}, "first": NAILS, "bad": [[1400, 0, 200, 352]]}
    data["steps"][0]["sight"]["in"] = data["steps"][1]["sight"]["in"] = SIGHT
    file.write_bytes(one_file(data))
    page.reload()
    go(page, 1)
    expect(page.locator("#sight p")).to_have_count(4)
    for width, height in ((360, 640), (390, 844), (844, 390), (640, 360), (1180, 820)):
        page.set_viewport_size({"width": width, "height": height})
        page.evaluate("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
        for name in ("rule-stop", "rule-gloves", "set-to", "sight", "pieces", "done"):  # without scrolling
            assert page.evaluate(IN_SIGHT, name), (name, width, height)
        drawn = page.evaluate("step.getBoundingClientRect().bottom - board.getBoundingClientRect().top")
        assert drawn > 30 or width < height, (drawn, width, height)
    assert violations(page) == []
    page.set_viewport_size({"width": 360, "height": 640})
    page.click("#next")
    expect(page.locator("#looking")).to_contain_text("Only looking ahead.")
    expect(page.locator("#set-name")).to_have_text("Fence")
    assert [name for name in ("rule-gloves", "set-to", "sight", "done") if not page.evaluate(IN_SIGHT, name)] == []


def test_it_stops_after_the_first_boards(
    shown: Callable[..., Page], tmp_path: Path, violations: Callable[[Page], list[str]]
) -> None:
    """One board of layout 1 is cut first, the other after the first article is measured."""
    data = small_data() | {"first_article": {"page": 7}, "has_no_rest": True}
    data["lists"] = [data["lists"][0] | {"title": title} for title in ("First boards", "Cutting")]
    both = []
    for number in (0, 1):
        for step in data["steps"]:
            boards = [each | {"times": 1} for each in step["boards"] if number or each["layout"] == 1]
            both.append(step | {"list": number, "boards": boards, "key": f"{len(both) + 1}-{step['key'][-6:]}"})
    data["steps"] = both
    (tmp_path / "saw.html").write_bytes(one_file(data))
    page = shown((tmp_path / "saw.html").as_uri())
    done = page.locator("#done")

    def press() -> None:
        expect(done).not_to_have_attribute("aria-disabled", "true")
        done.press("Enter")

    for n in range(4):
        press()
        if n == 2:
            expect(done).to_have_text("Next step")
            page.click("#spoiled")
            expect(page.locator("#letters input")).to_be_checked()
            page.click("#spoiled-yes")
            expect(page.locator("#ask-text")).to_contain_text("take the piece from the next board of layout 1")
            expect(page.locator("#ask-text")).to_contain_text("this plan has no planned rest")
            page.click("#ask-choices button")
        expect(done).to_have_text("Next step")
        press()
    expect(page.locator("#deed")).to_have_text("Stop sawing.")
    expect(page.locator("#stop-text")).to_contain_text("packet, chapter First article, page 7")
    expect(page.locator("#set")).to_be_hidden()
    assert violations(page) == []
    page.reload()
    expect(page.locator("#deed")).to_have_text("Stop sawing.")
    page.keyboard.press("ArrowRight")
    expect(page.locator("#count")).to_have_text("Step 5 of 8.")
    press()
    expect(page.locator("#ask-title")).to_have_text("The first article is not measured")
    page.click("#ask-choices button:first-child")
    expect(page.locator("#deed")).to_have_text("Stop sawing.")
    page.click("#menu")
    expect(page.locator("#steps li:nth-child(3)")).to_contain_text("done, 1 A spoiled")
    page.keyboard.press("Escape")
    page.click("#back")
    expect(page.locator("#count")).to_have_text("Step 4 of 8.")
    page.click("#next")
    expect(done).to_have_text("Measured and in limits: go on")
    press()
    expect(page.locator("#count")).to_have_text("Step 5 of 8.")
    press()
    expect(page.locator("#latest")).to_contain_text("Done: layout 1")


@pytest.mark.parametrize("refused", [["localStorage"], ["indexedDB"], ["localStorage", "indexedDB"]], ids="+".join)
def test_a_browser_that_keeps_nothing_says_so(browser: Browser, file: Path, refused: list[str]) -> None:
    """One of the two places in which a browser keeps things is enough."""
    context = browser.new_context()
    for name in refused:
        context.add_init_script(f"Object.defineProperty(window, '{name}', {{get() {{ throw new Error('no'); }}}})")
    page = context.new_page()
    file.write_bytes(one_file(small_data() | {"is_rest": True}))
    page.goto(file.as_uri())
    expect(page.locator("#limits")).to_contain_text("If an end is squared already, do not square it again: press Done.")
    page.click("#done")
    expect(page.locator("#still")).to_have_text("2")
    if len(refused) == 1:
        expect(page.locator("#not-kept")).to_have_count(0)
        page.reload()
        expect(page.locator("#still")).to_have_text("2")
    else:
        expect(page.locator("#not-kept")).to_contain_text("gone when you close it")
    context.close()


@contextmanager
def killed_browser(browser: Browser, file: Path, profile: Path) -> Iterator[Page]:
    """The file in a browser of its own, which keeps its things in `profile` and is killed at the end."""
    words = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--remote-debugging-port=0")
    path = needed("WOODSHOP_CHROMIUM", shutil.which("chromium"), "Chromium")
    command = [path, *words, f"--user-data-dir={profile}", "about:blank"]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True, start_new_session=True) as process:
        try:
            assert process.stderr is not None
            line = next(each for each in process.stderr if "DevTools listening on " in each)
            address = line.partition("listening on ")[2].strip()
            page = browser.browser_type.connect_over_cdp(address).contexts[0].pages[0]
            page.goto(file.as_uri())
            yield page
        finally:
            os.killpg(process.pid, signal.SIGKILL)


def test_what_was_shown_as_done_is_there_after_the_browser_was_killed(
    browser: Browser, file: Path, tmp_path: Path
) -> None:
    data = small_data()
    data["steps"][0]["boards"][0]["times"] = 99
    data["layouts"][0]["times"] = 99
    file.write_bytes(one_file(data))
    (tmp_path / "profile").mkdir()
    left = None
    for _ in range(25 if IS_NIGHT else 2):
        with killed_browser(browser, file, tmp_path / "profile") as page:
            expect(page.locator("#still")).not_to_be_empty()
            now = int(page.locator("#still").inner_text())
            assert left in (None, now)
            page.click("#done")
            left = now - 1
            expect(page.locator("#still")).to_have_text(str(left))


def test_ticks_survive_kills_lost_connections_and_reloads(shown: Callable[..., Page], tmp_path: Path) -> None:
    folder = small_folder(tmp_path)
    with servers(folder) as (port, process):
        child = started(process)
        page = shown(f"http://127.0.0.1:{port}/saw/hobby-batch/", may_fail=True)
        assert f"/{MARK}/" in page.url
        page.click("#done")
        expect(page.locator("#saved")).to_have_text("All saved")
        os.kill(child, signal.SIGKILL)
        page.click("#done")
        expect(page.locator("#offline")).to_be_visible()
        expect(page.locator("#saved")).to_have_text("Not yet saved: 1 entry")
        page.click("#done")
        expect(page.locator("#still")).to_have_text("0")
        child = started(process)
        expect(page.locator("#saved")).to_have_text("All saved")
        page.context.set_offline(True)
        page.click("#done")  # the next step
        tick_all(page)
        expect(page.locator("#saved")).to_have_text("Not yet saved: 1 entry")
        os.kill(child, signal.SIGKILL)
        page.context.set_offline(False)
        child = started(process)
        page.reload()  # with a tick that is not yet saved
        expect(page.locator("#saved")).to_have_text("All saved")
        go(page, 2)
        expect(page.locator("#still")).to_have_text("0")
        go(page, 3)
        tick_all(page)
        go(page, 4)
        tick_all(page)
        expect(page.locator("#saved")).to_have_text("All saved")
        other = shown(page.url, may_fail=True)
        go(other, 4)
        expect(other.locator("#still")).to_have_text("0")
        expect(other.locator("#pieces")).to_have_text("8 of 8")
        other.click("#undo")
        expect(other.locator("#saved")).to_have_text("All saved")
    with open_book(own_book(folder / "hobby-batch.toml")) as book:
        events = book.events()
        (batch,) = book.state().batches
    assert len({event.id for event in events}) == len(events)
    assert sum(each.times for each in batch.ticks) == 10 - 2
    assert sorted((each.layout, each.times) for each in batch.layouts) == [(2, 1)], "undone with the ticks"


@pytest.mark.skipif(not IS_NIGHT, reason="at night: a batch is planned twice, in a browser")
@pytest.mark.slow("a batch is planned twice, in a browser")
def test_a_bad_board_leads_to_new_layouts(shown: Callable[..., Page], tmp_path: Path) -> None:
    """From the page to the plan of the rest: nothing changes before it is taken over; begun boards are finished."""
    design = tmp_path / "few.toml"
    design.write_text(
        'format = "woodshop-design/2"\nbatch = "few"\nunit = "in"\nlumberyard = "creekside-lumberyard.toml"\n'
        '[[hives]]\nname = "Ida Sorrel"\nframes = 10\ncount = 3\n[[make]]\nitem = "feeding shim"\n'
    )
    (tmp_path / "creekside-lumberyard.toml").write_bytes((ROOT / "designs" / "creekside-lumberyard.toml").read_bytes())
    plan_design(design, results=tmp_path / "out", effort="quick", say=lambda line: None)
    before = (tmp_path / "out" / "few" / "plan.json").read_bytes()
    with servers(tmp_path) as (port, process):
        started(process)
        page = shown(f"http://127.0.0.1:{port}/saw/few/")
        page.click("#done")
        go(page, 2)
        page.click("#done")  # the first board is cut into
        go(page, 6)  # the fifth entry of the list is the stop
        page.click("#bad")
        page.fill("#bad-from", "10")
        page.fill("#bad-to", "14 1/2")
        page.click("#bad-yes")
        page.click("#ask-choices button:first-child")
        page.click("#rest-dialog button[value=no]")
        expect(page.locator("#rest-news")).to_contain_text("is being planned")
        page.reload()
        expect(page.locator("#rest-news")).to_contain_text("The plan of the rest is ready", timeout=120_000)
        page.click("#rest-news button")
        expect(page.locator("#take")).to_be_in_viewport(timeout=5_000)  # shown again, not planned again
        text = page.locator("#rest-text").inner_text()
        assert "bad from 10 in to 14 1/2 in" in text
        assert "$" not in text
        assert "Ida" not in text
        assert not (tmp_path / "out" / "few-rest").exists(), "nothing changes yet"
        page.click("#take")
        expect(page.locator("#rest-state")).to_contain_text("The newer plan is in force.")
        expect(page.locator("#rest-state")).to_be_in_viewport()
        expect(page.locator("#newer")).to_be_visible()
        page.click("#rest-dialog button[value=no]")
        go(page, 3)
        expect(page.locator("#still")).to_have_text("1")
        go(page, 6)
        expect(page.locator("#still")).to_have_text("0")
        page.click("#newer button")
        expect(page.locator("#older")).to_be_visible()
        page.wait_for_load_state("networkidle")
    assert (tmp_path / "out" / "few" / "plan.json").read_bytes() == before
    verdict = verify_file((tmp_path / "out" / "few-rest" / "plan.json").read_text(), None, before.decode())
    assert verdict_section(verdict).data["sound"]
