"""Rounded edges that are trued: what comes off each, how wide the board is then, and a board that dried narrower."""

from typing import Any

import pytest

from tests.plan.test_resawn_lumber import EIGHT, TOOLS, planned
from woodshop.cutting.order.sequence import saw_cuts
from woodshop.documents.packet.cutting import notes_before, settings_of
from woodshop.documents.packet.front import tools_paragraph
from woodshop.documents.packet.layouts import groups_of
from woodshop.documents.packet.measure_first import least_size, said_of, trued_width
from woodshop.documents.packet.packet import packet
from woodshop.documents.packet.shopping import shopping_chapter
from woodshop.documents.packet.thin_rip_stop import strips_by_width, thin_rip_chapter
from woodshop.documents.saw.saw_data import saw_data
from woodshop.drawing.pens.text import section_text
from woodshop.drawing.values.model import Bullets, Figure, Paragraph
from woodshop.schedule.stages import stages_of
from woodshop.units.lengths import inch


def test_the_width_after_truing_is_printed(shop: Any) -> None:
    """A 2x4 is 3 1/2 in wide; less 1/8 in on each edge, 3 1/4 in."""
    made = planned(shop, EIGHT)
    (layouts,) = groups_of(made)
    (trued,) = [row.deed for row in settings_of(layouts, made) if row.deed.startswith("True both edges")]
    assert "1/8 in off each edge, to 3 1/4 in wide: measure it" in trued
    (notes,) = [b.text for b in notes_before(layouts, made) if isinstance(b, Paragraph) and b.lead == "All boards:"]
    assert "True both edges: lay the straighter edge against the fence and rip the other edge." in notes
    assert "take less off each edge" in notes


def test_a_board_may_dry_narrower_than_it_was_bought(shop: Any) -> None:
    """Sides of 3 1/4 in need 3 1/4 + 1/16 in when the dry board is trued, and the full 3 1/2 in at the lumberyard."""
    made = planned(shop, EIGHT)
    (layouts,) = groups_of(made)
    for layout in layouts:
        cuts = saw_cuts(layout.plan.job.job, layout.layout)
        assert max(piece.width for piece in layout.pieces) == inch("3 1/4")
        assert said_of(layout, cuts, made.batch).startswith("Width 3 5/16 in or more,")
        assert least_size(layout, cuts)[0] == inch("3 1/2")
    lines = [line for block in shopping_chapter(made).blocks if isinstance(block, Bullets) for line in block.items]
    assert [line for line in lines if line.startswith("2x4 framing spruce: 3 1/2 in wide or more")]


@pytest.mark.parametrize("saws", ["", 'crosscut_with = ["miter saw"]', 'crosscut_with = ["hand saw"]'])
def test_edges_bought_straight_go_along_the_fence_whatever_else_is_in_the_shop(shop: Any, saws: str) -> None:
    """The step, the paragraph, the tool list, the cautions, the saw page and the days name the table saw."""
    made = planned(shop, EIGHT, tools=f"{TOOLS}\n{saws}")
    (layouts,) = groups_of(made)
    (row,) = [row for row in settings_of(layouts, made) if row.deed.startswith("True both edges")]
    assert row.deed.startswith("True both edges, table saw\n")
    text = " ".join(section_text(each) for each in packet(made).sections)
    assert "hand plane" not in text
    assert "True both edges, circular saw" not in text
    assert "guide for the circular saw" not in text
    assert not saws or "circular saw" not in text.lower()
    assert [b for b in notes_before(layouts, made) if isinstance(b, Paragraph) and b.lead == "Caution, rips:"]
    (step, *_) = [s for s in saw_data(made, "0" * 64)["steps"] if s["deed"].startswith("True both edges")]
    assert step["deed"] == "True both edges, table saw"
    ops = [op for stage in stages_of(made)[0] for block in stage.blocks for op in block.ops if "True both" in op.what]
    assert {op.what for op in ops} == {"True both edges, table saw, 1/8 in off"}
    assert sum(op.count for op in ops if op.key == "rip") == 2 * sum(lay.times for lay in layouts)


@pytest.mark.parametrize(
    ("saws", "deed", "how", "listed"),
    [
        (
            "",
            "circular saw, guide; then table saw",
            "cut the first edge with the circular saw along a clamped guide",
            "guide for the circular saw",
        ),
        (
            'crosscut_with = ["miter saw"]',
            "table saw, carrier board",
            "fasten the board on a straight carrier board",
            "straight carrier board for crooked edges",
        ),
    ],
)
def test_a_crooked_edge_is_made_straight_first(shop: Any, saws: str, deed: str, how: str, listed: str) -> None:
    """Step, paragraph and the note at the board agree, and the tool list names what they need."""
    made = planned(shop, EIGHT, tools=f"{TOOLS}\n{saws}", edges="straight_edges = false")
    (layouts,) = groups_of(made)
    (row,) = [row for row in settings_of(layouts, made) if row.deed.startswith("True both edges")]
    assert row.deed.startswith(f"True both edges, {deed}\n")
    (notes,) = [b.text for b in notes_before(layouts, made) if isinstance(b, Paragraph) and b.lead == "All boards:"]
    assert f"True both edges: {how}" in notes
    for layout in layouts:
        assert how in said_of(layout, saw_cuts(layout.plan.job.job, layout.layout), made.batch)
    assert listed in tools_paragraph(made, packet(made).sections).text
    assert [b for b in notes_before(layouts, made) if isinstance(b, Paragraph) and b.lead == "Caution, rips:"]


def test_edges_with_an_allowance_keep_it(shop: Any) -> None:
    """If 1/8 in comes off each edge whether it is rounded or not, no board may be narrower."""
    made = planned(shop, EIGHT, tools=f'{TOOLS}\n[saw]\nedge_allowance = "1/8"\n')
    (layouts,) = groups_of(made)
    for layout in layouts:
        assert said_of(layout, saw_cuts(layout.plan.job.job, layout.layout), made.batch).startswith("Width 3 1/2 in")


def test_the_picture_of_the_thin_rip_has_the_width_after_truing(shop: Any) -> None:
    """By hand: of 3 1/4 in, a strip of 7/32 in and a kerf of 1/8 in leave 2 29/32 in between blade and fence."""
    made = planned(shop, EIGHT, items='"fondant rim", "spacer strips"')
    (saw,) = [
        block.drawing
        for block in thin_rip_chapter(made).blocks
        if isinstance(block, Figure) and block.drawing.title == "Thin-rip stop on the saw"
    ]
    (wide,) = {
        trued_width(lay)
        for lay in groups_of(made)[0]
        if lay.number in next(iter(strips_by_width(made).values())).layouts
    }
    (here,) = [dimension for dimension in saw.views[0].dimensions if "here" in dimension.note]
    assert here.text("in").startswith({inch("3 1/4"): "2 29/32 ", inch("5 1/4"): "4 29/32 "}[wide])
