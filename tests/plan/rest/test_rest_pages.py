"""What the pages of a rest say: of pieces already cut, of goods not bought, of boards by the names of the buy list."""

import json
import re
from dataclasses import replace

from tests.plan.rest.small_run import SmallRun
from woodshop.design.inventory import Inventory
from woodshop.documents.fullsize.drawings import drawing_files, machine_files
from woodshop.documents.packet.cutting import board_of
from woodshop.documents.packet.layouts import kept_offcuts, numbered_layouts
from woodshop.documents.packet.packet import packet
from woodshop.documents.packet.parts import parts_section
from woodshop.documents.packet.what_changed import what_changed_section
from woodshop.documents.saw.saw_data import saw_data
from woodshop.drawing.pens.text import section_text
from woodshop.drawing.values.model import Paragraph, Section
from woodshop.plan.rest.earlier_plan import read_earlier
from woodshop.plan.rest.plan_rest import rest_to_json
from woodshop.plan.rest.progress import BoardFault, BoughtCount, LayoutCut, Progress
from woodshop.plan.values import PlannedBatch


def part_files(planned: PlannedBatch) -> set[str]:
    """The part drawings and machine files by mark and face, whatever their number."""
    names = (*drawing_files(planned), *machine_files(planned))
    return {re.sub(r"part-\d+-", "", name) for name in names if "/part-" in name}


def test_pieces_already_cut_are_machined_too(small_run: SmallRun) -> None:
    """The whole plan and its rest machine the same pieces, whatever was cut; the part list has only those to cut."""

    def made(found: object) -> list[str]:
        return [line for line in section_text(parts_section(found)).splitlines() if "(make " in line]

    whole = made(small_run.rest(Progress()).rest)
    number, (material, n) = next(iter(small_run.earlier.layouts.items()))
    some = LayoutCut(number, small_run.earlier.plans[material].layouts[n].times)
    for cut in ((some,), small_run.cut(1, 1)):
        found = small_run.rest(Progress(cut=cut)).rest
        assert whole
        assert made(found) == whole
        assert "Cut already" in section_text(parts_section(found))
        assert part_files(found) == part_files(small_run.rest(Progress()).rest)


def test_what_was_not_bought_is_not_called_bought(small_run: SmallRun) -> None:
    """One line of the buy list was bought: only it is there, and only its price was paid."""
    line = max((each for each in small_run.earlier.bought if each.stock), key=lambda each: each.count)
    found = small_run.rest(Progress(bought=(BoughtCount(line.what, line.count),)))
    assert {row.what: row.planned for row in found.stock if row.planned and not row.is_offcut} == {
        line.what: line.count
    }
    assert not any(row.planned for row in found.goods)
    text = section_text(what_changed_section(found, "in"))
    paid = f"{line.count * line.price / 100:,.2f}"
    assert f"Bought for ${paid} of {found.was} on the earlier buy list." in text
    assert " 1 boards" not in text
    assert "rolls of the earlier buy list not bought" in text or "1 roll of the earlier buy list" in text


def test_a_board_set_aside_has_its_code_and_its_bad_stretch_in_every_later_plan(small_run: SmallRun) -> None:
    """Packet and saw page alike, in the rest of the plan and in the rest of that, with a second bad board."""
    for own, (material, n) in small_run.earlier.layouts.items():
        plan, grid = small_run.earlier.plans[material], small_run.earlier.grids[material]
        layout = plan.layouts[n]
        end = max(piece.x + piece.length for piece in layout.pieces)
        long = next(row.length for row in plan.job.stock if row.id == layout.stock)
        fault = BoardFault(layout=own, bad=((grid * (end + 40), grid * (end + 60)),), board="52C8")
        if material.is_lumber and layout.times > 1 and long - end > 100:
            break
    bad = fault.bad
    words = f"Bad stretch: {bad[0][0].number('in')} to {bad[0][1].text('in')} from the end you square first."
    first = small_run.rest(Progress(boards=(fault,)))
    earlier = read_earlier(json.dumps(rest_to_json(first)), "plan.json")
    stock = next(each for each in earlier.at_hand[material] if each == f"bought {layout.stock}")
    again = small_run.rest(Progress(boards=(BoardFault(stock=stock, bad=bad, board="91AB"),)), earlier)
    for found, codes in ((first, {"52C8"}), (again, {"52C8", "91AB"})):
        kept = kept_offcuts(found.rest)
        paper = {lay.what: board_of(lay, found.rest, kept).said for lay in numbered_layouts(found.rest)}
        shown = [each for each in saw_data(found.rest, "0" * 64)["layouts"] if "chalked" in each["what"]]
        assert {each["what"].rpartition("chalked ")[2] for each in shown} == codes
        for each in shown:
            code = each["what"].rpartition("chalked ")[2]
            note = each["notes"]["in"]
            assert f"Take the board chalked {code}. If one end is squared already, square that end again." in note
            assert f"again. {words} Measure before you square that end." in note
            assert note.endswith(paper[each["what"]].removeprefix("W"))


def test_a_roll_set_aside_has_a_tag_not_chalk(small_run: SmallRun) -> None:
    own, (material, n) = next(each for each in small_run.earlier.layouts.items() if each[1][0].mesh is not None)
    plan, grid = small_run.earlier.plans[material], small_run.earlier.grids[material]
    long = grid * next(row.length for row in plan.job.stock if row.id == plan.layouts[n].stock)
    fault = BoardFault(layout=own, bad=((long - grid, long),), board="K7RE")
    found = small_run.rest(Progress(boards=(fault,))).rest
    (layout,) = (each for each in numbered_layouts(found) if "K7RE" in each.what)
    assert layout.what.endswith(", tagged K7RE")
    assert board_of(layout, found, kept_offcuts(found)).said.startswith("Take the roll tagged K7RE.")
    data = saw_data(found, "0" * 64, is_rest=True)
    assert data["is_rest"]
    (shown,) = (each for each in data["layouts"] if each["code"])
    assert (shown["code"], shown["how_marked"]) == ("K7RE", "tagged")
    assert shown["notes"]["in"].startswith("Take the roll tagged K7RE.")


def test_a_bad_board_has_its_name_in_the_packet(small_run: SmallRun) -> None:
    stock = next(stock for own in small_run.earlier.at_hand.values() for stock in own)
    found = small_run.rest(Progress(boards=(BoardFault(stock=stock, reason="twisted"),)))
    text = section_text(what_changed_section(found, "in"))
    assert stock not in text
    name = next(row.what for row in found.stock if row.stock == stock)
    assert f"1 x {name}: unusable (twisted)" in text


def test_what_was_cut_is_told_whole_layouts_too(small_run: SmallRun) -> None:
    (first, times), (second, more), *_ = (
        (number, small_run.earlier.plans[m].layouts[n].times)
        for number, (m, n) in small_run.earlier.layouts.items()
        if small_run.earlier.plans[m].layouts[n].times > 1
    )
    found = small_run.rest(Progress(cut=(LayoutCut(first, times), LayoutCut(second, 1))))
    text = section_text(what_changed_section(found, "in"))
    assert f"Cut before, by layout: {first} ({times} of {times}), {second} (1 of {more})." in text


def test_a_rest_says_nothing_of_boards_cut_first_and_of_offcuts_what_the_book_wants(small_run: SmallRun) -> None:
    found = small_run.rest(Progress()).rest
    text = "".join(section_text(each) for each in packet(found, Section("What changed", (Paragraph("x"),))).sections)
    assert "Cut the first boards" not in text
    assert "list it in the lumberyard file" in text
    booked = replace(found, batch=replace(found.batch, inventory=Inventory(number=0, digest="", currency="USD")))
    text = "".join(section_text(each) for each in packet(booked).sections)
    assert "Cut the first boards" in text
    assert "list it in the lumberyard file" not in text
    assert 'enter it in the book as "offcut put away"' in text
