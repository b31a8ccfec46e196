"""The screens of a design in a real browser: hives, what to make, what there is and where to buy.

Source of the rules of the engine: WCAG 2.2, levels A and AA; 3.3.1 errors named in text, 3.3.2 labels, 1.4.10 reflow.
"""

import re
import tomllib
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.nightly import IS_NIGHT
from tests.page.conftest import SIZES, Opened
from tests.page.served import ROOT, Served, copied, serving
from woodshop.design.settings.crew import SKILLS

Violations = Callable[[Page], list[str]]
pytestmark = pytest.mark.slow("starts a browser and a server")
HOBBY = (ROOT / "designs" / "hobby-batch.toml").read_text("utf-8")
WIDTHS = (360, 1920)
expect.set_options(timeout=20_000)


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """A page on a folder of its own with copies of demo designs."""
    (tmp_path / "home").mkdir()
    with serving(copied(tmp_path / "designs"), tmp_path / "home") as running:
        yield running


def text_of(served: Served, name: str = "hobby-batch.toml") -> str:
    return (served.folder / name).read_text("utf-8")


def typed(field: Locator, text: str) -> None:
    """Types into a field as people do, and leaves it."""
    field.fill(text)
    field.press("Tab")


def held(served: Served, page: Page, wanted: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
    """The values of the design file, as soon as they are what is `wanted`; after 20 seconds as they are."""
    for _ in range(200):
        values = tomllib.loads(text_of(served))
        if wanted(values):
            break
        page.wait_for_timeout(100)
    return values


def fits(page: Page) -> None:
    """Nothing is wider than the window, from a small phone to a wide screen."""
    size = page.viewport_size
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert size is not None
    page.set_viewport_size(size)


def test_hives_are_edited_undone_and_shown_in_every_tab(served: Served, opened: Opened, violations: Violations) -> None:
    page = opened(served, "/design/hobby-batch/hives", SIZES["phone"])
    first = page.get_by_role("group", name="Group 1: house tens")
    count, state = first.get_by_label("How many hives"), page.locator(".state")
    second = opened(served, "/design/hobby-batch/hives", beside=page)
    typed(count, "12")
    expect(second.get_by_label("How many hives").first).to_have_value("12")
    expect(state).to_have_text("All changes are saved")
    assert text_of(served) == HOBBY.replace("count = 13", "count = 12")
    # an error is beside its field, and the file keeps what was readable
    typed(count, "a dozen")
    expect(count).to_have_attribute("aria-invalid", "true")
    told = count.get_attribute("aria-describedby") or ""
    beside = " ".join(page.locator(f"[id='{each}']").inner_text() for each in told.split())
    assert "Given 'a dozen'; wanted a whole number" in beside
    expect(state).to_have_text("Not saved")
    assert "count = 12" in text_of(served)
    assert violations(page) == []
    typed(count, "11")  # a number again, though a text was there
    expect(state).to_have_text("All changes are saved")
    assert "count = 11" in text_of(served)
    for value in ("a dozen", "12", "13"):
        page.get_by_role("button", name="Undo").click()
        expect(count).to_have_value(value)
    assert text_of(served) == HOBBY
    page.get_by_role("button", name="Redo").click()
    expect(count).to_have_value("12")
    # what contradicts is beside its field too, though the file can be read
    typed(first.get_by_label("Width of a box, outside"), "10")
    expect(first.get_by_text("wanted at least 13 3/4 in for 10 frames")).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(first.get_by_label("Width of a box, outside")).to_have_value("16 1/4")
    # a maker's box, another group, and a name that other tables use
    first.get_by_label("Maker's box").select_option(label="16 in (narrower pattern)")
    expect(first.get_by_label("Width of a box, outside")).to_have_value("16 in")
    typed(first.get_by_label("Name of these hives"), "<i>home</i> tens")
    expect(page.get_by_role("group", name="Group 1: <i>home</i> tens")).to_be_visible()
    assert text_of(served).count('"<i>home</i> tens"') == 5  # the hives, and four lines of the shed
    page.get_by_role("button", name="Copy <i>home</i> tens").click()
    expect(page.get_by_role("group", name="Group 2: <i>home</i> tens 2")).to_be_visible()
    page.get_by_role("button", name="Remove <i>home</i> tens 2").click()
    expect(page.get_by_role("group", name="Group 2: orchard tens")).to_be_visible()
    page.get_by_role("button", name="Add a group of hives").click()
    expect(page.get_by_role("group", name="Group 4: 10-frame hives")).to_be_visible()
    page.reload()
    expect(page.get_by_role("group", name="Group 4: 10-frame hives")).to_be_visible()
    page.get_by_text("Where to put the tape").click()
    expect(page.get_by_text("Lay the straightedge across the box")).to_be_visible()
    page.get_by_text("More about orchard tens").click()
    expect(page.get_by_label("Thickness of the walls")).to_be_visible()
    typed(page.get_by_label("Thickness of the walls"), "7/8")
    expect(page.get_by_label("Thickness of the walls")).to_have_value("7/8")  # what was unfolded stays so
    assert violations(page) == []
    fits(page)
    # a file that another program changed is not replaced without asking
    (served.folder / "hobby-batch.toml").write_text(HOBBY, encoding="utf-8")
    expect(page.get_by_text("Another program changed")).to_be_visible()
    assert violations(page) == []
    page.get_by_role("button", name="Take what is in the file").click()
    expect(page.get_by_role("group", name="Group 1: house tens")).to_be_visible()
    assert text_of(served) == HOBBY
    type_quickly(served, page)
    # the press of a button sends a value, and ends after the screen was built again for it
    count = page.get_by_label("How many hives").first
    count.fill("11")
    page.get_by_role("button", name="Copy tens", exact=True).hover()
    page.mouse.down()
    expect(page.get_by_role("button", name="Undo")).to_have_attribute("title", "Undo: How many hives, tens")
    expect(count).to_have_attribute("value", "11")
    page.mouse.up()
    expect(page.get_by_role("group", name="Group 2: tens 2")).to_be_visible()


def type_quickly(served: Served, page: Page) -> None:
    """Types six values with the keyboard alone, without waiting. Each makes the screen be built again meanwhile."""
    page.get_by_label("Name of these hives").first.click()
    page.evaluate("for (const each of document.querySelectorAll('main input, main select')) each.isKept = true")
    values = {"name": "tens", "apiary": "mill", "frames": 9, "count": 12, "width": "16", "gap": "5/16"}
    for key, value in values.items():
        for _ in range(9):
            if page.evaluate("document.activeElement.dataset.at") == f"hives.0.{key}":
                break
            page.keyboard.press("Tab")
        page.keyboard.press("Control+A")
        page.keyboard.type(str(value))
    page.keyboard.press("Tab")
    first = held(served, page, lambda design: values.items() <= design["hives"][0].items())["hives"][0]
    assert {key: first[key] for key in values} == values
    expect(page.locator("[data-at='hives.0.gap']")).to_have_value("5/16")
    lost = "[...document.querySelectorAll('main input, main select')].filter(each => !each.isKept).length"
    assert page.evaluate(lost) == 0, "no field was replaced"


@pytest.mark.skipif(not IS_NIGHT, reason="waits for many builds of a screen")
def test_nothing_that_is_entered_quickly_is_lost(served: Served, opened: Opened) -> None:
    """Each value makes the screen be built again while the next ones are typed, ticked and pressed."""
    page = opened(served, "/design/hobby-batch/hives")
    type_quickly(served, page)
    for name in ("Copy tens", "Add a group of hives"):  # a press right after a value
        page.get_by_label("How many hives").first.fill("11" if name == "Copy tens" else "10")
        page.get_by_role("button", name=name, exact=True).click()
    hives = held(served, page, lambda design: len(design["hives"]) == 5)["hives"]
    assert [each["count"] for each in hives[:2]] == [10, 11]
    expect(page.get_by_role("group", name="Group 5")).to_be_visible()
    # text that is not sent yet stays when the server changes another part of the screen
    page.get_by_label("Where they stand").last.press_sequentially("ab")
    page.evaluate("document.querySelector('details.fold').open = true")
    expect(page.get_by_text("Lay the straightedge across the box")).to_be_visible()
    expect(page.get_by_label("Where they stand").last).to_have_value("ab")
    page.goto(f"{served.base}/design/hobby-batch/supplies")
    day = page.get_by_label("Day the boards must go on")
    day.focus()
    page.keyboard.type("12242027")  # month, day, year: each digit changes the day
    for _ in range(2):  # past the calendar in the field
        page.keyboard.press("Tab")
    assert held(served, page, lambda design: design["on_by"].year != 2026)["on_by"] == date(2027, 12, 24)
    page.get_by_role("button", name="Undo").click()
    expect(day).to_have_value("2026-11-26")
    page.goto(f"{served.base}/design/hobby-batch/make")
    names = ("mouse guard", "feeding shim", "bottom insert")
    for name in names:
        page.get_by_label(f"Make: {name}", exact=True).click()
    made = held(served, page, lambda design: len(design["make"]) == len(tomllib.loads(HOBBY)["make"]) + 3)["make"]
    assert [each["item"] for each in made[-3:]] == list(names)


def test_items_and_supplies_are_chosen_and_set(served: Served, opened: Opened, violations: Violations) -> None:
    page = opened(served, "/design/hobby-batch/make", SIZES["tablet"], "dark")
    state = page.locator(".state")
    page.get_by_label("Make: quilt box").uncheck()
    expect(page.get_by_text("Set for quilt box")).to_have_count(0)
    page.get_by_label("Make: mouse guard").check()
    expect(page.get_by_text("Set for mouse guard")).to_be_visible()
    assert 'item = "mouse guard"' in text_of(served)
    assert text_of(served).count('item = "quilt box"') == 2  # those in the shed
    page.get_by_text("Set for mouse guard").click()
    typed(page.get_by_label("Overlap"), "9 ft")
    expect(page.get_by_label("Overlap")).to_have_attribute("aria-invalid", "true")
    typed(page.get_by_label("Overlap"), "")
    expect(state).to_have_text("All changes are saved")
    page.get_by_text("Set for fondant rim").click()
    page.get_by_role("button", name="Set fondant rim apart").click()
    card = page.get_by_role("region", name="Fondant board rim")
    expect(card.get_by_text("These settings also apply to")).to_have_count(0)
    expect(card.get_by_text("Set for fondant rim")).to_be_visible()
    page.get_by_label("Mounting", exact=True).select_option("saw groove")
    expect(page.get_by_role("button", name="Undo")).to_have_attribute("title", "Undo: Mounting, fondant board")
    assert 'mounting = "saw groove"' in text_of(served)
    pictures = page.locator("img")
    expect(pictures).to_have_count(11)
    pictures.last.scroll_into_view_if_needed()
    page.wait_for_function("[...document.images].every(each => each.complete && each.naturalWidth > 0)")
    assert violations(page) == []
    fits(page)
    page.goto(f"{served.base}/design/hobby-batch/supplies")
    page.get_by_role("button", name="Add to the shed").click()
    expect(page.get_by_role("group", name="In the shed: bottom insert")).to_be_visible()
    assert text_of(served).count("[[shed]]") == 6
    typed(page.get_by_label("Day the boards must go on"), "2026-12-01")
    expect(page.get_by_role("button", name="Undo")).to_have_attribute("title", "Undo: Day the boards must go on")
    assert "on_by = 2026-12-01               # the day the boards go on" in text_of(served)
    page.get_by_text("Goods, prices and offcuts of creekside-lumberyard.toml").click()
    page.get_by_text("Boards (9 sections)").click()
    price = page.get_by_label("price, 1x3, 10 ft")
    before = text_of(served, "creekside-lumberyard.toml")
    typed(price, "7.05")
    expect(page.get_by_role("button", name="Undo")).to_have_attribute("title", re.compile("in creekside-lumberyard$"))
    assert text_of(served, "creekside-lumberyard.toml") == before.replace('"6.95"', '"7.05"')
    typed(price, "seven")
    expect(price).to_have_attribute("aria-invalid", "true")
    assert '"7.05"' in text_of(served, "creekside-lumberyard.toml")
    expect(page.locator(".yard-state")).to_contain_text("creekside-lumberyard.toml has an error and is not saved")
    for each in ("Offcuts on your rack (4)", "By the bag, box or bottle (9)", "More about saw and tools"):
        page.get_by_text(each).click()
    expect(page.get_by_label("worth to you, offcut 4")).to_have_value("0.50")
    assert violations(page) == []
    fits(page)
    for value in ("7.05", "6.95"):
        page.get_by_role("button", name="Undo").click()
        expect(price).to_have_value(value)
    assert text_of(served, "creekside-lumberyard.toml") == before
    page.get_by_text("A new lumberyard, from an example").click()
    typed(page.get_by_label("Name of the new file"), "../mill")
    page.get_by_role("button", name="Start the lumberyard file").click()
    expect(page.get_by_text("the name of a file in this folder")).to_be_visible()
    typed(page.get_by_label("Name of the new file"), "mill-street")
    page.get_by_role("button", name="Start the lumberyard file").click()
    expect(page.get_by_label("mill-street.toml", exact=True)).to_be_checked()
    assert 'name = "mill-street"' in text_of(served, "mill-street.toml")
    assert '"mill-street.toml"]' in text_of(served)
    assert {each.name for each in served.folder.parent.iterdir()} == {"designs", "home"}
    page.get_by_text("Where do these defaults come from?").first.press("Enter")  # a source by the keyboard
    expect(page.get_by_text("Common practice, no source").first).to_be_visible()
    # people where the days are planned: rows with their fields, errors beside them, comments kept
    page.goto(f"{served.base}/design/hobby-batch/days")
    page.get_by_text("People and hours: 1").click()
    before = text_of(served)
    hours = page.get_by_label("Hours of work in a week")
    typed(hours, "Sat, Sun 9:00-12:00, Mon 18:00-21:00; Tue 18-21")
    people = held(served, page, lambda design: "Tue 18-21" in design["crew"]["person"][0]["hours"])["crew"]["person"]
    assert people[0]["hours"] == ["Sat, Sun 9:00-12:00", "Mon 18:00-21:00", "Tue 18-21"]
    typed(hours, "Saturday morning")
    expect(page.get_by_text("wanted days of the week and hours, such as Sat 9:00-12:00")).to_have_count(2)
    expect(page.get_by_text("Ingrid: hours of work in a week: given")).to_be_visible()  # in the notice, in words
    for _ in range(2):
        page.get_by_role("button", name="Undo").click()
    page.get_by_role("button", name="Add a person").click()
    page.get_by_role("group", name="What this person does: Person 1").get_by_label("paint").uncheck()
    people = held(served, page, lambda design: "skills" in design["crew"]["person"][-1])["crew"]["person"]
    assert set(SKILLS) - set(people[1]["skills"]) == {"paint"}
    assert violations(page) == []
    fits(page)
    page.get_by_role("button", name="Remove person 2, Person 1").click()
    expect(page.get_by_role("group", name="Person 2")).to_have_count(0)
    assert text_of(served) == before
    page.goto(f"{served.base}/design/hobby-batch/hives")
    for title, one in (("Orders of others", "an order"), ("Boxes that orders name", "a box"), ("Sets that", "a set")):
        page.get_by_text(title).click()
        page.get_by_role("button", name=f"Add {one}", exact=True).click()
    typed(page.get_by_label("Item", exact=True), "bord")
    expect(page.get_by_label("Item", exact=True)).to_have_attribute("aria-invalid", "true")
    typed(page.get_by_label("Item", exact=True), "Set 1")
    expect(page.get_by_text("Customer 1, 10-frame 16 1/4")).to_be_visible()
    assert violations(page) == []
    fits(page)
