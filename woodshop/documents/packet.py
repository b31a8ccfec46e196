"""The packet: what goes to the bench, in the order in which it is needed."""

from collections.abc import Sequence

from woodshop.batch.values import PlannedBatch
from woodshop.documents.assembly import assembly_blocks, caution_blocks
from woodshop.documents.bee_map import bee_map_blocks
from woodshop.documents.bee_sheets import DrawnMap
from woodshop.documents.bounds import bound_blocks
from woodshop.documents.cutting import cutting_blocks
from woodshop.documents.front import buy_blocks, customer_blocks, front_blocks
from woodshop.documents.mix import mix_blocks
from woodshop.documents.parts import part_blocks
from woodshop.documents.report import default_blocks, report_blocks
from woodshop.documents.saw_order import saw_order_blocks
from woodshop.drawing.model import Block, Document, KeepTogether, PageBreak


def packet(planned: PlannedBatch, maps: Sequence[DrawnMap] = ()) -> Document:
    """The whole packet as a document, with these bee-space maps; one with errors says DO NOT CUT on every page."""
    heading, first, *cautions = caution_blocks(planned)
    on_their_own = (
        [*front_blocks(planned), *customer_blocks(planned)],
        [*buy_blocks(planned), KeepTogether((heading, first)), *cautions],
        cutting_blocks(planned),
        [*saw_order_blocks(planned), *part_blocks(planned)],
        assembly_blocks(planned),
        mix_blocks(planned),
        bee_map_blocks(maps),
        [*report_blocks(planned), *default_blocks(planned)],
        bound_blocks(planned),
    )
    blocks: list[Block] = []
    for chapter in on_their_own:
        if chapter and blocks:
            blocks.append(PageBreak())
        blocks += chapter
    return Document(
        planned.batch.title,
        "Winter hive hardware: buy, cut, build and check",
        tuple(blocks),
        footer=planned.batch.name,
        banner="DO NOT CUT" if planned.report.has_errors else None,
    )
