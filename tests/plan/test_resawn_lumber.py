"""Boards that are resawn at home: how many come of one, what is bought, and what is refused, by hand arithmetic."""

import json
import re
from dataclasses import replace
from typing import Any

import pytest

from tests.cutting.lumber_cases import judge_lumber
from tests.plan.test_cut_to_length import wood, written
from woodshop.checks.check_batch import check_batch
from woodshop.cutting.order.sequence import saw_cuts
from woodshop.design.lumberyard.lumberyard_file import ON_HAND
from woodshop.design.settings.resawing import Resawing
from woodshop.documents.packet.assembly import assembly_section
from woodshop.documents.packet.cautions import batch_topics
from woodshop.documents.packet.front import front_chapter
from woodshop.documents.packet.layouts import numbered_layouts
from woodshop.documents.packet.measure_first import said_of
from woodshop.documents.packet.packet import packet
from woodshop.documents.packet.resawing import resaw_chapter
from woodshop.documents.packet.safety import safety_chapter
from woodshop.documents.packet.shopping import shopping_chapter
from woodshop.documents.packet.thin_rip_stop import thin_rip_chapter
from woodshop.documents.saw.saw_data import saw_data
from woodshop.drawing.pens.text import section_text
from woodshop.drawing.values.model import Bullets, Paragraph, Steps, Table
from woodshop.errors import InputError, NothingToCutError
from woodshop.files.one_file import json_bytes
from woodshop.plan.buying.where_to_buy import plan_to_buy
from woodshop.plan.lumber_at_home import resawings
from woodshop.plan.plan_batch import batch_to_json, sealed
from woodshop.plan.rest.earlier_plan import read_earlier
from woodshop.plan.values import PlannedBatch, Purchase
from woodshop.plan.verify import verify_file
from woodshop.plan.written_plan import read_planned
from woodshop.schedule.schedule_batch import schedule_batch
from woodshop.schedule.stages import stages_of
from woodshop.units.lengths import Length, Money, inch

DESIGN = """format = "woodshop-design/2"
batch = "two-rims"
unit = "in"
lumberyard = "lumberyard.toml"
wood = "5/8"
[tools]
{tools}
[[hives]]
frames = 10
count = 2
gap = "1/4"
[[make]]
item = [{items}]
"""
TOOLS = 'resaw_height = "4"\nplaner_shortest = "14"\n'
LUMBERYARD = """format = "woodshop-lumberyard/1"
name = "Hill Street Lumber"
seen = 2026-09-12
{terms}
[[board]]
nominal = "2x4"
wood = "framing spruce"
rounded_edges = true
resaw = true
sizes = [{sizes}]
"""
CAR = 'longest = "4 ft"\ncrosscut = "1.00"'
WIDER = """
[[board]]
nominal = "2x6"
wood = "framing spruce"
rounded_edges = true
resaw = true
sizes = [{ length = "8 ft", price = "6.90" }]
"""
"""Too wide for the saw: for packing blocks as it is, 3 1/2 in wide."""
EIGHT, SIX = '{ length = "8 ft", price = "4.40" }', '{ length = "6 ft", price = "2.90" }'
RIM = '"fondant rim"'


def planned(
    shop: Any,
    *sizes: str,
    terms: str = CAR,
    tools: str = TOOLS,
    items: str = RIM,
    thick: str = "5/8",
    edges: str = "rounded_edges = true",
) -> PlannedBatch:
    text = LUMBERYARD.format(terms=terms, sizes=", ".join(sizes)) + (WIDER if items != RIM else "")
    text = text.replace("rounded_edges = true", edges)
    batch = shop.batch(DESIGN.format(tools=tools, items=items).replace('wood = "5/8"', f'wood = "{thick}"'), text)
    return plan_to_buy(batch, *check_batch(batch), effort="quick")


def sawn(kerf: str, planing: str = "1/32") -> Resawing:
    return Resawing(
        saw="band saw", height=inch(6), kerf=inch(kerf), planing=inch(planing), shortest=inch(14), widest=inch(12)
    )


@pytest.mark.parametrize(
    ("kerf", "thin", "boards"),
    [
        ("1/16", "5/8", 2),  # 1 1/4 + 1/16 + 4/32 = 1 7/16
        ("1/16", "21/32", 2),  # 1 5/16 + 3/16 = 1 1/2, just so
        ("1/16", "11/16", 0),  # 1 3/8 + 3/16 = 1 9/16
        ("1/16", "3/4", 0),  # two of 3/4 are 1 1/2 without a kerf
        ("1/16", "3/8", 3),  # 1 1/8 + 2/16 + 6/32 = 1 7/16
        ("1/8", "5/8", 2),  # of a table saw: 1 1/4 + 1/8 + 4/32 = 1 1/2, just so
        ("9/64", "5/8", 0),
        ("1/16", "1 1/4", 0),  # one board that is planed thinner is not resawn
    ],
)
def test_how_many_boards_come_of_one(kerf: str, thin: str, boards: int) -> None:
    assert sawn(kerf).boards_of(inch("1 1/2"), inch(thin)) == boards


def test_equal_boards_share_what_the_kerfs_leave() -> None:
    assert sawn("1/16").off_the_saw(inch("1 1/2"), 2) == inch("23/32")
    assert sawn("1/16").off_the_saw(inch("1 1/2"), 3) == inch("11/24")


# Two rims of 5/8 in have four sides of 19 7/8 in and four ends of 15 in, as wide as a 2x4 without its rounded edges. Of
# a part, 1/2 in is lost at each end; a side and an end take 35 in, so a part of 36 in. No part within 4 ft holds two
# sides and an end, and three new boards hold four sides and three ends at most: so four boards, out of two parts.


def test_two_rims_out_of_one_board(shop: Any) -> None:
    """An 8 ft board gives two parts of 36 in and more, and each gives two boards: 4.40 + 1.00 for the cut."""
    made = planned(shop, EIGHT)
    assert wood(made) == {"2x4 framing spruce, 8 ft": 1, "cuts across boards": 1}
    assert made.total.minor == 540
    (bought,) = made.lumber
    assert (bought.plan.cost, bought.plan.bound) == (540, 540)
    parts = [part for board in bought.plan.bought for part in board.parts]
    assert [(part.resaw, len(part.layouts)) for part in parts] == [("board 5/8 in", 2)] * 2
    (home,) = made.plans
    assert {offer.thickness for offer in home.job.offers} == {inch("5/8")}


def test_six_feet_are_an_eighth_too_short(shop: Any) -> None:
    """36 + 36 + 1/8 and 40 7/8 + 31 1/8 + 1/8 in are 72 1/8 in: two boards of 6 ft, with a cut in each."""
    made = planned(shop, SIX)
    assert wood(made) == {"2x4 framing spruce, 6 ft": 2, "cuts across boards": 2}
    assert made.total.minor == 2 * 290 + 2 * 100


def test_without_a_limit_on_length_no_cut_is_paid(shop: Any) -> None:
    """Two boards of 8 ft hold two sides and two ends each: 2 x 19 7/8 + 2 x 15 + 3/8 = 70 1/8 in."""
    made = planned(shop, EIGHT, terms="")
    assert wood(made) == {"2x4 framing spruce, 8 ft": 1}
    assert made.total.minor == 440


def test_a_board_on_hand_is_resawn_once_and_bought_never(shop: Any) -> None:
    """One 8 ft board at home holds all of it, and needs no cut at the lumberyard."""
    batch = shop.batch(DESIGN.format(tools=TOOLS, items=RIM), LUMBERYARD.format(terms=CAR, sizes=EIGHT))
    (sold,) = batch.lumberyard.offers
    cents = Money(5, "USD")
    own = replace(
        sold,
        id="left over",
        what=f"{sold.what}, bought",
        label=ON_HAND,
        price=cents,
        count=1,
        cuts=None,
        worth=sold.price,
    )
    batch = replace(batch, lumberyard=replace(batch.lumberyard, offers=(sold, own)))
    made = plan_to_buy(batch, *check_batch(batch), effort="quick")
    assert not wood(made)
    assert sum(each.plan.cost for each in made.priced) == 5
    lines = [line for block in shopping_chapter(made).blocks if isinstance(block, Bullets) for line in block.items]
    assert [line for line in lines if "to be cut now: 1 of 2x4 framing spruce, 8 ft." in line]
    assert not [row for row in verify_file(written(made)) if row["findings"]]


OFFCUT = """
[[offcut]]
label = "K1"
nominal = "2x4"
length = "60"
count = 2
square_ends = true
straight_edges = true
rounded_edges = true
{}
"""


def test_an_offcut_is_resawn_only_if_the_file_says_so(shop: Any) -> None:
    """Each of four thin boards 60 in long holds two sides of 19 7/8 in and an end of 15 in: enough for two rims."""
    text = DESIGN.format(tools=TOOLS, items=RIM)

    def made_with(more: str) -> PlannedBatch:
        batch = shop.batch(text, LUMBERYARD.format(terms=CAR, sizes=EIGHT) + OFFCUT.format(more))
        return plan_to_buy(batch, *check_batch(batch), effort="quick")

    own = made_with("resaw = true")
    assert not wood(own)
    assert {each.offer.label for bought in own.lumber for each in resawings(bought)} == {"K1"}
    assert not [row for row in verify_file(written(own)) if row["findings"]]
    for more in ("", "resaw = false"):
        made = made_with(more)
        assert wood(made) == {"2x4 framing spruce, 8 ft": 1, "cuts across boards": 1}
        assert not any(each.offer.label for bought in made.lumber for each in resawings(bought))


@pytest.mark.parametrize(
    ("more", "given"),
    [
        ("twisted = true", "a twisted board"),
        ('mesh = "1/2 in"\nwidth = "24"', "what is no board"),
    ],
)
def test_only_a_flat_board_is_resawn(shop: Any, more: str, given: str) -> None:
    offcut = OFFCUT.format(f"resaw = true\n{more}")
    offcut = offcut.replace('nominal = "2x4"\n', "") if "mesh" in more else offcut
    with pytest.raises(InputError, match=f"resaw: given true for {given}; wanted true only for a flat board"):
        shop.lumberyard(LUMBERYARD.format(terms=CAR, sizes=EIGHT) + offcut)


def test_no_part_is_shorter_than_the_planer_takes(shop: Any) -> None:
    made = planned(shop, EIGHT, tools=TOOLS.replace('"14"', '"40"'))
    assert made.total.minor == 540
    assert all(each.length >= inch(40) for bought in made.lumber for each in resawings(bought))


def test_wood_of_two_thicknesses_out_of_the_same_boards(shop: Any) -> None:
    """Packing blocks are 1 1/2 in thick: one group of purchases, shared by volume, to the cent."""
    made = planned(shop, EIGHT, items=f'{RIM}, "packing blocks"')
    (bought,) = made.lumber
    assert bought.job.materials == ("board 5/8 in", "board 1 1/2 in")
    lines = [line for line in made.purchases if line.group == "board 5/8 in and board 1 1/2 in"]
    assert sum(line.total.minor for line in lines) == bought.plan.cost == bought.plan.bound
    costs = {row.address.partition(" / ")[0]: row.total.minor for row in made.costs}
    volume = {
        name: sum(need.count * (need.part.length * need.part.width).mm2 * need.part.thickness.mm
                  for need in bought.job.needs if need.address.startswith(name))
        for name in ("fondant rim", "packing blocks")
    }  # fmt: skip
    share = bought.plan.cost * volume["fondant rim"] / sum(volume.values())
    assert abs(costs["fondant rim"] - share) < 1
    assert costs["fondant rim"] + costs["packing blocks"] == bought.plan.cost


def test_the_plan_file_is_verified_and_read_back(shop: Any) -> None:
    made = planned(shop, EIGHT, items=f'{RIM}, "packing blocks"')
    text = written(made)
    assert [row["name"] for row in verify_file(text) if row["findings"]] == []
    assert all(judge_lumber(bought.plan) for bought in made.lumber)
    again = read_planned(text, "plan.json", made.batch, made.units, made.report)
    assert (again.lumber, again.plans, again.purchases) == (made.lumber, made.plans, made.purchases)


@pytest.mark.parametrize("what", ["three boards out of one", "not resawn", "a wider board"])
def test_a_changed_plan_file_is_not_sound(shop: Any, what: str) -> None:
    raw = json.loads(written(planned(shop, EIGHT)))
    plan = raw["lumber"][0]["plan"]
    if what == "three boards out of one":
        plan["job"]["stock"][0]["resaw"][0]["boards"] = 3
    elif what == "not resawn":
        del plan["bought"][0]["parts"][0]["resaw"]
    else:
        raw["plans"]["board 5/8 in"]["job"]["stock"][0]["width"] += 8
    rows = verify_file(json.dumps(sealed({key: value for key, value in raw.items() if key != "digest"})))
    assert [row["name"] for row in rows if row["findings"]]


@pytest.mark.parametrize(
    ("tools", "wanted"),
    [
        ('planer_shortest = "14"', "resaw_height: given nothing.*the widest board"),
        ('resaw_height = "4"', "planer_shortest: given nothing.*the shortest board"),
        (TOOLS + 'resaw_with = "table saw"', "table saw with guard and riving knife"),
        (TOOLS.replace('"4"', '"3"'), "at least 3 1/2 in"),
        (TOOLS + 'planer_width = "3"', "at least 3 1/2 in"),
        (TOOLS.replace('"14"', '"50"'), "at most 48 in"),
    ],
)
def test_a_shop_that_cannot_resaw_is_told_what_it_lacks(shop: Any, tools: str, wanted: str) -> None:
    with pytest.raises(InputError, match=wanted):
        planned(shop, EIGHT, tools=tools)


def test_a_guarded_table_saw_takes_its_own_kerf(shop: Any) -> None:
    made = planned(shop, EIGHT, tools=TOOLS + 'resaw_with = "table saw with guard and riving knife"')
    own = made.batch.saw.tools.resawing
    assert own is not None
    assert own.kerf == inch("1/8")
    assert made.total.minor == 540


@pytest.mark.parametrize(
    ("more", "own", "other"),
    [("", "band saw", "table saw"), ('resaw_with = "table saw with guard and riving knife"', "table saw", "band saw")],
)
def test_the_cautions_are_those_of_the_saw_that_resaws(shop: Any, more: str, own: str, other: str) -> None:
    """In the packet's chapter, on its safety page, on the sheets of the days and at the saw."""
    made = planned(shop, EIGHT, tools=TOOLS + more)
    own_saw = made.batch.saw.tools.resawing
    assert own_saw is not None
    chapter = [block for block in resaw_chapter(made).blocks if isinstance(block, Paragraph)]
    topics = ["resawing:", f"resawing on the {own}:", "planer:"]
    assert [block.lead.removeprefix("Caution, ") for block in chapter[1:]] == topics
    assert not any(other in block.text.lower() for block in chapter)
    assert f"resawing on the {own}" in batch_topics(made)
    assert f"resawing on the {other}" not in batch_topics(made)
    assert schedule_batch(made, effort="quick").topics["resaw"] == own_saw.caution_topics
    at_saw = [step for step in saw_data(made, "0" * 64)["steps"] if step["deed"] == "Resaw, rest and plane"]
    assert [lead.split(", ")[1] for lead, _ in at_saw[0]["cautions"]["in"]] == topics


def test_a_thickness_that_does_not_come_out_is_refused_with_the_one_that_does(shop: Any) -> None:
    with pytest.raises((InputError, NothingToCutError), match="two of 5/8 in at most"):
        planned(shop, EIGHT, thick="3/4")


def test_treated_lumber_is_refused_whether_it_is_resawn_or_not(shop: Any) -> None:
    with pytest.raises(InputError, match="preservatives"):
        shop.lumberyard(LUMBERYARD.format(terms=CAR, sizes=EIGHT).replace("framing", "treated"))


def test_boards_rest_before_they_are_planed_and_sawn(shop: Any) -> None:
    made = planned(shop, EIGHT, tools=TOOLS + "[crew]\nresting_days = 9\n")
    stages = {stage.key: stage for stage in stages_of(made)[0]}
    plane = stages["plane/board 5/8 in"]
    assert [(after.stage, after.least) for after in plane.after] == [("resaw/board 5/8 in", 9 * 24 * 60)]
    sawing = [stage for key, stage in stages.items() if "saw/board 5/8 in" in key and not key.startswith("re")]
    assert sawing
    assert all("plane/board 5/8 in" in [after.stage for after in stage.after] for stage in sawing)
    counts = {op.key: op.count for key in ("resaw", "plane") for op in stages[f"{key}/board 5/8 in"].blocks[0].ops}
    assert counts == {"resaw": 2, "plane": 4}


def test_work_waits_only_for_the_trip_that_brings_what_it_needs(shop: Any) -> None:
    """Glue comes from another shop: no board waits for it, but the frames do."""
    made = planned(shop, EIGHT)
    glue = Purchase(group="glue", what="wood glue", count=1, price=Money(849, "USD"), why="", lumberyard="Feed Store")
    made = replace(made, purchases=(*(each for each in made.purchases if each.group != "glue"), glue))
    trips = {
        stage.key: {after.stage for after in stage.after if after.stage.startswith("buy")}
        for stage in stages_of(made)[0]
    }
    assert trips["resaw/board 5/8 in"] == {"buy/Hill Street Lumber"}
    assert trips["saw/board 5/8 in"] == {"buy/Hill Street Lumber"}
    assert trips["first frames"] == {"buy/Feed Store"}
    (frames,) = (own for key, own in trips.items() if key.startswith("assemble/"))
    assert frames == {"buy/Feed Store"}


@pytest.mark.parametrize(
    ("more", "machine"), [("", "band saw"), ('resaw_with = "table saw with guard and riving knife"', "saw")]
)
def test_no_machine_does_two_things_at_once(shop: Any, more: str, machine: str) -> None:
    """Two people with the same hours: one resaws or planes, whatever the other does, unless there is a second one."""
    crew = """
[crew]
start = 2026-10-03
{}
[[crew.person]]
name = "Ann"
hours = ["Sat 9:00-12:00"]
[[crew.person]]
name = "Bob"
hours = ["Sat 9:00-12:00"]
"""
    made = planned(shop, EIGHT, tools=TOOLS + more + crew.format(""))
    own = schedule_batch(made, effort="quick")
    assert own.schedule is not None
    uses = {each.key: [use.resource for use in each.uses] for each in own.schedule.project.activities}
    assert uses["resaw/board 5/8 in/1"] == [machine]
    assert uses["plane/board 5/8 in/1"] == ["planer"]
    capacity = {each.key: each.capacity for each in own.schedule.project.resources}
    assert (capacity[machine], capacity["planer"]) == (1, 1)
    assert "planers" in {each.name for each in own.defaults}
    two = schedule_batch(planned(shop, EIGHT, tools=TOOLS + more + crew.format("planers = 2")), effort="quick")
    assert two.schedule is not None
    assert {each.key: each.capacity for each in two.schedule.project.resources}["planer"] == 2
    assert "planers" not in {each.name for each in two.defaults}


def test_what_is_resawn_is_in_the_packet_and_at_the_saw(shop: Any) -> None:
    made = planned(shop, EIGHT)
    (table,) = [block for block in resaw_chapter(made).blocks if isinstance(block, Table)]
    assert sum(int(str(row[1])) for row in table.rows) == 2
    assert {(row[4], row[5], row[6]) for row in table.rows} == {("2 boards", "23/32 in", "5/8 in")}
    data = saw_data(made, "0" * 64)
    firsts = [next(step for step in data["steps"] if step["list"] == n) for n in range(len(data["lists"]))]
    assert {step["deed"] for step in firsts} == {"Resaw, rest and plane"}
    assert sum(board["times"] for step in firsts for board in step["boards"]) == 4
    assert not any(step["is_cut"] or step["pieces"] for step in firsts)
    assert all("about 23/32 in each off the saw" in step["more"]["in"] for step in firsts)


def test_no_printed_least_length_is_too_short_to_rip_or_for_the_lumberyard(shop: Any) -> None:
    """Walked by the cuts of each layout: the end squared, each rip still 20 in long; and 24 in for the lumberyard."""
    tools, terms = f'{TOOLS}\n[saw]\nshortest_rip = "20"', f'{CAR}\nshortest_cut = "2 ft"'
    made = planned(shop, EIGHT, terms=terms, tools=tools, items=f'{RIM}, "packing blocks"')
    layouts, bound = [lay for lay in numbered_layouts(made) if lay.is_sawn], 0
    for layout in layouts:
        cuts = saw_cuts(layout.plan.job.job, layout.layout)
        (least,) = re.findall(r"length ([0-9 /]+) in or more", said_of(layout, cuts, made.batch))
        left = inch(least)
        for cut in cuts:
            if cut.of == "board" and cut.along:
                assert left >= inch(20), layout.name
                bound += left == inch(20)
            elif cut.of == "board":
                left -= layout.plan.job.grid * cut.setting * cut.count
    assert bound, "the board of the packing blocks is no longer than its rips need"
    tables = [block for block in shopping_chapter(made).blocks if isinstance(block, Table)]
    (counter,) = [table for table in tables if table.columns[2].heading == "board"]
    printed = [inch(each) for row in counter.rows for each in re.findall(r"at least ([0-9 /]+) in", str(row[3]))]
    assert min(printed) == inch(24)


def test_one_end_is_squared_as_the_least_lengths_count(shop: Any) -> None:
    made = planned(shop, EIGHT)
    assert "One end of each board is squared before any other cut." in section_text(resaw_chapter(made))
    deeds = [step["deed"] for step in saw_data(made, "0" * 64)["steps"]]
    assert any(deed.startswith("Square one end") for deed in deeds)
    assert not any(deed.startswith("Square both") for deed in deeds)


def test_trued_edges_say_how_wide_the_board_is_then(shop: Any) -> None:
    """By hand: 1/8 in off each edge of 3 1/2 in leaves 3 1/4 in."""
    data = saw_data(planned(shop, EIGHT), "0" * 64)
    trued = [step for step in data["steps"] if step["deed"].startswith("True both edges")]
    assert trued
    assert {layout["size"]["in"].partition(" x ")[0] for layout in data["layouts"]} == {"3 1/2"}
    assert {step["how"]["in"] for step in trued} == {"1/8 in off each edge, to 3 1/4 in wide. The kerf is included."}


def test_the_saw_page_promises_no_rest_where_it_would_be_refused(shop: Any) -> None:
    made = planned(shop, EIGHT)
    assert saw_data(made, "0" * 64)["has_no_rest"]
    with pytest.raises(InputError, match="the rest of others is not planned"):
        read_earlier(json_bytes(batch_to_json(made)).decode(), "plan.json")


def test_lengths_of_a_thin_board_are_exact() -> None:
    assert isinstance(sawn("1/16").off_the_saw(inch("1 1/2"), 3), Length)


def test_the_packet_names_the_resaw_kerf_and_where_green_boards_go(shop: Any) -> None:
    made = planned(shop, EIGHT)
    safety = section_text(safety_chapter(made))
    assert "Kerf: 1/8 in for every cut; 1/16 in to resaw boards, on the band saw." in safety
    (steps,) = [block for block in resaw_chapter(made).blocks if isinstance(block, Steps)]
    assert "two weighings a week apart agree" in steps.items[0]
    (rest,) = [step for step in steps.items if "sticks between them" in step]
    assert "for 7 days (default: common practice, no source). That is for lumber dried in a kiln" in rest
    assert "(to resaw boards 3 1/2 in wide, on edge)" in section_text(front_chapter(made, ()))


def test_boards_are_planed_before_strips_are_ripped(shop: Any) -> None:
    titles = [section.title for section in packet(planned(shop, EIGHT, items=f'{RIM}, "spacer strips"')).sections]
    assert titles.index("Resaw and plane") < titles.index("Thin-rip stop")


def test_strips_of_resawn_boards_are_ripped_after_planing(shop: Any) -> None:
    text = section_text(thin_rip_chapter(planned(shop, EIGHT, items=f'{RIM}, "spacer strips"')))
    assert "Rip the strips, after the boards are planed and before anything else is ripped" in text


def test_packing_blocks_name_the_planned_board(shop: Any) -> None:
    text = section_text(assembly_section(planned(shop, EIGHT, items=f'{RIM}, "packing blocks"')))
    assert "3 blocks from the 2x6 framing spruce of layout" in text


def test_each_part_from_the_lumberyard_has_its_least_length(shop: Any) -> None:
    """Two sides: 1/2 + 19 7/8 + 1/8 + 19 7/8 + 1/8 + 1/16 = 40 9/16 in. Two ends: 1/2 + 15 + 1/8 + 15 + 1/8 + 1/16 =
    30 13/16 in. So some is left over for the kerf of the lumberyard's saw and for a board that is not quite 8 ft."""
    made = planned(shop, EIGHT)
    (table,) = [b for b in shopping_chapter(made).blocks if isinstance(b, Table) and b.columns[2].heading == "board"]
    found = [
        (inch(size), inch(least))
        for row in table.rows
        for size, least in re.findall(r"(\d[\d /]*) in, at least (\d[\d /]*) in \(", str(row[3]))
    ]
    assert found
    assert all(inch(14) <= least <= size - inch("1/4") for size, least in found)
    assert {least for _, least in found} == {inch("40 9/16"), inch("30 13/16")}
