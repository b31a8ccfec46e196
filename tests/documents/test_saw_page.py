"""The saw page: the packet's settings as steps, one file without an outside address, hostile names as text."""

import base64
import hashlib
import json
import re
from collections import Counter
from dataclasses import replace
from typing import Any

import pytest

from tests.once import planned
from woodshop.cutting.order.sequence import saw_cuts
from woodshop.documents.answers.boards import boards_sections
from woodshop.documents.packet.cut_cautions import ALWAYS_ON
from woodshop.documents.packet.cutting import cutting_chapter, first_boards_chapter
from woodshop.documents.packet.first_article import first_article_section
from woodshop.documents.packet.layouts import groups_of, needs_of, numbered_layouts
from woodshop.documents.packet.parts import by_mark, parts_list
from woodshop.documents.saw.saw_data import saw_data
from woodshop.documents.saw.saw_page import ASSETS, asset, data_of, one_file, with_pages_of_packet
from woodshop.drawing.values.model import KeepTogether, Paragraph, SetOut, Table, with_pages
from woodshop.errors import InputError
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.cut_tools import other_tools, tools_for
from woodshop.units.lengths import inch, millimetre

DIGEST = "ab" * 32


@pytest.fixture(scope="module")
def hobby() -> PlannedBatch:
    return planned("hobby-batch")


@pytest.fixture(scope="module")
def data(hobby: PlannedBatch) -> dict[str, Any]:
    return saw_data(hobby, DIGEST)


def test_the_steps_are_the_settings_of_the_packet_in_its_order(hobby: PlannedBatch, data: dict[str, Any]) -> None:
    """Row by row: what is done, what is set, and what it gives."""
    printed = []
    for chapter in (first_boards_chapter(hobby), cutting_chapter(hobby)):
        for block in chapter.blocks:
            for each in block.blocks if isinstance(block, KeepTogether) else (block,):
                if isinstance(each, Table) and len(each.columns) == 7 and each.rows and each.rows[0][0] == "[ ]":
                    printed += [(row[2], row[3], row[5]) for row in each.rows]
    steps = []
    for step in data["steps"]:
        more = [f"{line[:1].lower()}{line[1:]}" for line in re.findall(r"[^.]+(?=\.)", step["more"]["in"])]
        steps.append(("\n".join((step["deed"], *(each.strip() for each in more))), step["to"]["in"], step["gives"]))
    assert [(deed.casefold(), *rest) for deed, *rest in steps] == [(d.casefold(), *rest) for d, *rest in printed]


@pytest.mark.invariant
def test_every_piece_is_given_once_and_every_board_is_in_a_step(hobby: PlannedBatch, data: dict[str, Any]) -> None:
    given: Counter[int] = Counter()
    boards: dict[tuple[int, int], set[int]] = {}
    for step in data["steps"]:
        for board in step["boards"]:
            given[board["layout"]] += board["pieces"] * board["times"]
            boards.setdefault((step["list"], board["layout"]), set()).add(board["times"])
    assert all(len(times) == 1 for times in boards.values()), "a board stays in its list"
    for layout in numbered_layouts(hobby):
        number = int(layout.number)
        assert given[number] == layout.times * len(layout.pieces)
        assert sum(sum(times) for (_, own), times in boards.items() if own == number) == layout.times


def test_drawings_and_settings_are_exact_in_both_units(hobby: PlannedBatch, data: dict[str, Any]) -> None:
    """A crosscut's stop is as far as its piece is long; 25.4 mm to an inch (1959)."""
    lengths = {int(lay.number): lay.plan.job.grid for lay in numbered_layouts(hobby)}
    seen = 0
    for step in data["steps"]:
        if step["set"] != "Stop":
            continue
        board = step["boards"][0]
        along, places = board["cuts"][0]
        assert not along
        long = lengths[board["layout"]] * (places[0][1] - places[0][0])
        whole, _, part = step["to"]["in"].partition(", ")
        if not part:
            assert inch(whole) == long
            seen += 1
        assert step["to"]["mm"].partition(".")[2] in set("123456789") | {""}, "nobody can set a finer one than 0.1 mm"
        assert abs(millimetre(step["to"]["mm"]) - long) <= millimetre("0.05")
    assert seen > 5


def test_what_stays_in_sight_is_said_at_each_rip_and_at_each_offcut(hobby: PlannedBatch, data: dict[str, Any]) -> None:
    """The words are those of the packet's cautions; squaring takes what is said, the kerf with it."""
    rips = [step for step in data["steps"] if step["deed"].startswith("Rip, table saw")]
    printed = {
        (block.lead, with_pages(block.text, {}))
        for chapter in (first_boards_chapter(hobby), cutting_chapter(hobby))
        for block in chapter.blocks
        if isinstance(block, Paragraph)
    }
    assert ALWAYS_ON in asset("saw.html").decode()
    for step in data["steps"]:
        saws = [saw for saw in ("table saw", "miter saw", "circular saw") if saw in step["deed"]]
        assert [lead for lead, _ in step["saw"]] == [f"Caution, {saw}:" for saw in saws]
        assert all("Unplug the saw" in text for _, text in step["saw"])
        if "miter saw" in saws:
            assert step["sight"]["in"][:2] == [
                "Hands 6 in or more from the blade.",
                "Hold up a long board on both sides.",
            ]
        if step["deed"].startswith("Snip"):
            assert any("sharp wires" in each for each in step["sight"]["in"])
            assert "waste cell" in step["how"]
    for step in (each for each in rips if each["deed"].endswith("thin-rip stop")):
        assert step["set"] == "Strip beside the thin-rip stop"
        assert step["how"].startswith("This is the strip, not the fence.")
        assert "away from the fence" in step["how"]
    leads = set()
    for step in rips:
        assert any("push block" in each and "guard and riving knife" in each for each in step["sight"]["in"])
        ((lead, text),) = step["cautions"]["in"]
        leads.add(lead)
        assert (lead, text) in printed
        assert all(each.casefold() in text.casefold() for each in step["sight"]["in"])
    assert leads == {"Caution, rips:", "Caution, narrow rips:"}
    layouts = {layout["number"]: layout for layout in data["layouts"]}
    assert {layout["what"].startswith("offcut") for layout in layouts.values() if layout["first"]} == {True}
    assert all("nails" in lay["first"] for lay in layouts.values() if lay["what"].startswith("offcut"))
    squared = [step for step in data["steps"] if step["deed"].startswith("Square one end")]
    assert squared
    for step in squared:
        assert step["how"] == "The kerf is included."
        for board in step["boards"]:
            layout = layouts[board["layout"]]
            off = inch(step["to"]["in"].removesuffix(" off")).mm
            num, den = layout["unit"]
            assert min(piece[0] for piece in layout["pieces"]) * num / den == float(off)
    for step in data["steps"]:
        for board in step["boards"]:
            assert sum(step["marks"][str(board["layout"])].values()) == board["pieces"]


def test_it_has_letters_and_sizes_but_no_customer_or_price(hobby: PlannedBatch, data: dict[str, Any]) -> None:
    text = json.dumps(data)
    for group in hobby.batch.hives:
        assert not group.customer or group.customer not in text
        assert not group.name or group.name not in text
    assert "$" not in text
    assert all(need.address not in text for each in hobby.plans for need in each.job.needs)


def test_a_step_says_what_to_do_without_its_saw(hobby: PlannedBatch, data: dict[str, Any]) -> None:
    said = {step["deed"].partition(", ")[2]: " ".join(step["without"]) for step in data["steps"] if step["is_cut"]}
    with_miter_box = said["hand saw, miter box"]
    assert with_miter_box.startswith("No hand saw? Ask who planned it.")
    assert "power saw" in with_miter_box
    assert said["tin snips"] == ""
    assert said["table saw"].startswith("No table saw? Ask who planned it: boards or strips bought")
    assert "with a circular saw and guide, or with a hand saw." in said["miter saw with stop"]
    # each tool that is named could make the cut: the design then plans it with that tool
    alone = replace(hobby.batch.saw.tools, crosscut_with=("circular saw",))
    (layout, *_) = (lay for lay in numbered_layouts(hobby) if lay.is_sawn and not lay.is_offcut)
    cuts = saw_cuts(layout.plan.job.job, layout.layout)
    batch = replace(hobby.batch, saw=replace(hobby.batch.saw, tools=alone))
    planned_with = tools_for(layout, cuts, batch)
    others = other_tools(layout, cuts, hobby.batch)
    assert {cut for cut in cuts if "circular saw, guide" in others[cut]} == {
        cut for cut, tool in planned_with.items() if tool == "circular saw, guide"
    }


def test_each_letter_has_the_name_that_the_packet_lists(hobby: PlannedBatch, data: dict[str, Any]) -> None:
    listed: dict[str, tuple[str, str]] = {}
    item = ""
    for mark, name, *_ in parts_list(sorted(needs_of(hobby), key=by_mark), hobby.batch.wording).rows:
        item = item if mark else str(name)
        listed |= {str(mark): (str(name), item)} if mark else {}
    assert {mark: (part["name"], part["item"]) for mark, part in data["parts"].items()} == listed


def test_keys_of_steps_change_only_with_the_step(hobby: PlannedBatch, data: dict[str, Any]) -> None:
    assert len({step["key"] for step in data["steps"]}) == len(data["steps"])
    again = saw_data(hobby, "cd" * 32)
    assert [step["key"] for step in again["steps"]] == [step["key"] for step in data["steps"]]
    rest = saw_data(hobby, DIGEST, is_rest=True)
    assert rest["lists"][0]["title"] == "Cutting"


def test_the_page_stops_for_the_first_article_that_the_packet_measures(
    hobby: PlannedBatch, data: dict[str, Any]
) -> None:
    assert data["first_article"] == {"page": 0}
    assert not data["has_no_rest"]
    page = with_pages_of_packet(one_file(data), {first_article_section(hobby).anchor: 9, "cutting": 10})
    assert data_of(page, "saw.html") == {**data, "first_article": {"page": 9}}
    rest = one_file(saw_data(hobby, DIGEST, is_rest=True))
    assert data_of(rest, "saw.html")["first_article"] == {}
    assert with_pages_of_packet(rest, {"first-article": 9}) == rest


def test_one_file_has_no_address_and_allows_only_its_own_script_and_style(data: dict[str, Any]) -> None:
    page = one_file(data)
    assert page == one_file(json.loads(json.dumps(data)))
    assert data_of(page, "saw.html") == data
    text = page.decode()
    addresses = set(re.findall(r"https?://[^\s\"'<]+", text))
    assert addresses == {"http://www.w3.org/2000/svg"}, "the name of a vocabulary, which is never fetched"
    (policy,) = re.findall(r'http-equiv="Content-Security-Policy" content="([^"]*)"', text)
    assert policy.startswith("default-src 'none';")
    assert "unsafe" not in policy
    for kind, tag in (("script", "<script>"), ("style", "<style>")):
        content = text.split(tag, 1)[1].split(f"</{kind}>", 1)[0]
        digest = base64.b64encode(hashlib.sha256(content.encode()).digest()).decode()
        assert f"{kind}-src 'sha256-{digest}'" in policy


@pytest.mark.parametrize("name", ["</script><script>alert(1)</script>", "<!--<script>", "a&b\u2028\u202e", "\ud800"])
def test_hostile_names_stay_data(hobby: PlannedBatch, data: dict[str, Any], name: str) -> None:
    named = saw_data(replace(hobby, batch=replace(hobby.batch, name=name)), DIGEST)
    page = one_file(named)
    inside = page.decode().split('id="saw-data">', 1)[1].split("</script>", 1)[0]
    assert not set("<>&") & set(inside)
    assert inside.isascii()
    assert data_of(page, "saw.html")["batch"] == name
    assert page.count(b"<script") == one_file(data).count(b"<script")


def test_the_script_never_writes_markup() -> None:
    script = asset("saw.js").decode()
    for word in (
        "innerHTML",
        "outerHTML",
        "insertAdjacentHTML",
        "document.write",
        "eval(",
        "new Function",
        "DOMParser",
    ):
        assert word not in script
    html = asset("saw.html").decode()
    assert " style=" not in html
    assert not re.search(r"\son\w+=", html)
    assert set(ASSETS) == {"saw.html", "saw.css", "saw.js"}
    with pytest.raises(KeyError):
        asset("../result.py")


@pytest.mark.parametrize("page", [b"", b"<html>", b'<script type="application/json" id="saw-data">[1]</script>'])
def test_a_file_without_data_is_refused(page: bytes) -> None:
    with pytest.raises(InputError, match="no data of the saw page"):
        data_of(page, "saw.html")


def test_the_boards_of_a_large_batch_come_in_parts(hobby: PlannedBatch) -> None:
    numbers = [layout.anchor for group in groups_of(hobby) for layout in group]
    for most in (3, len(numbers)):
        first, *others, letters = boards_sections(hobby, most)
        parts = [[n for block in each.blocks if isinstance(block, SetOut) for n in block.anchors]
                 for each in (first, *others)]  # fmt: skip
        assert [n for part in parts for n in part] == numbers
        assert [len(part) for part in parts[:-1]] == [most] * (len(parts) - 1)
        assert [each.title for each in (first, *others, letters)][:2] == [
            "Boards", "Layouts 4 to 6" if most == 3 else "Sizes of the letters"
        ]  # fmt: skip
