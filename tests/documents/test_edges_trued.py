"""Rounded edges that are trued: what comes off each, how wide the board is then, and a board that dried narrower."""

from typing import Any

from tests.plan.test_resawn_lumber import EIGHT, TOOLS, planned
from woodshop.cutting.order.sequence import saw_cuts
from woodshop.documents.packet.cutting import notes_before, settings_of
from woodshop.documents.packet.layouts import groups_of
from woodshop.documents.packet.measure_first import least_size, said_of
from woodshop.documents.packet.shopping import shopping_chapter
from woodshop.drawing.values.model import Bullets, Paragraph
from woodshop.units.lengths import inch


def test_the_width_after_truing_is_printed(shop: Any) -> None:
    """A 2x4 is 3 1/2 in wide; less 1/8 in on each edge, 3 1/4 in."""
    made = planned(shop, EIGHT)
    (layouts,) = groups_of(made)
    (trued,) = [row.deed for row in settings_of(layouts, made) if row.deed.startswith("True both edges")]
    assert "1/8 in off each edge, to 3 1/4 in wide: measure it" in trued
    (notes,) = [b.text for b in notes_before(layouts, made) if isinstance(b, Paragraph) and b.lead == "All boards:"]
    assert "rip the second edge parallel" in notes
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


def test_edges_with_an_allowance_keep_it(shop: Any) -> None:
    """If 1/8 in comes off each edge whether it is rounded or not, no board may be narrower."""
    made = planned(shop, EIGHT, tools=f'{TOOLS}\n[saw]\nedge_allowance = "1/8"\n')
    (layouts,) = groups_of(made)
    for layout in layouts:
        assert said_of(layout, saw_cuts(layout.plan.job.job, layout.layout), made.batch).startswith("Width 3 1/2 in")
