"""The packet: what goes to the bench, in the order in which it is needed."""

from woodshop.documents.packet.assembly import assembly_blocks, caution_blocks
from woodshop.documents.packet.bounds import bound_blocks
from woodshop.documents.packet.cold_top import cold_blocks
from woodshop.documents.packet.cutting import cutting_chapter, first_boards_chapter
from woodshop.documents.packet.first_article import first_article_blocks
from woodshop.documents.packet.front import buy_blocks, customer_blocks, front_blocks
from woodshop.documents.packet.mix import mix_blocks
from woodshop.documents.packet.parts import part_blocks
from woodshop.documents.packet.thin_rip_stop import thin_rip_blocks
from woodshop.documents.packet.variation_pages import moves_blocks
from woodshop.documents.report.report import default_blocks, report_blocks
from woodshop.drawing.values.model import Block, Document, Heading, KeepTogether, PageBreak, Section
from woodshop.plan.values import PlannedBatch

Chapters = tuple[tuple[list[Block], ...], tuple[list[Block], ...]]
"""What comes before the bee-space maps, and what after them."""


def chapters(planned: PlannedBatch) -> Chapters:
    """All of the packet but the maps, each chapter's blocks."""
    heading, first, *cautions = caution_blocks(planned)
    return (
        (
            [*front_blocks(planned), *customer_blocks(planned)],
            [*buy_blocks(planned), KeepTogether((heading, first)), *cautions],
            thin_rip_blocks(planned),
            _headed(first_boards_chapter(planned)),
            _headed(cutting_chapter(planned)),
            part_blocks(planned),
            assembly_blocks(planned),
            first_article_blocks(planned),
            mix_blocks(planned),
        ),
        (
            cold_blocks(planned),
            [*report_blocks(planned), *default_blocks(planned)],
            moves_blocks(planned),
            bound_blocks(planned),
        ),
    )


def _headed(chapter: Section) -> list[Block]:
    """A chapter's blocks below its title; none where it has none."""
    return [Heading(chapter.title, 1), *chapter.blocks] if chapter.blocks else []


def bound_together(planned: PlannedBatch, made: Chapters, maps: list[Block]) -> Document:
    """The packet of these chapters and that of the maps, each from a new page on.

    DO NOT CUT stands on every page of one with errors.
    """
    before, after = made
    blocks: list[Block] = []
    for chapter in (*before, maps, *after):
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
