"""The packet: what goes to the lumberyard, the saw and the bench, in the order in which it is needed."""

from woodshop.documents.packet.assembly import assembly_blocks
from woodshop.documents.packet.cutting import cutting_chapter, first_boards_chapter
from woodshop.documents.packet.first_article import first_article_blocks
from woodshop.documents.packet.front import front_chapter
from woodshop.documents.packet.mix import mix_chapter
from woodshop.documents.packet.parts import part_blocks
from woodshop.documents.packet.safety import safety_chapter
from woodshop.documents.packet.shopping import shopping_chapter
from woodshop.documents.packet.thin_rip_stop import thin_rip_chapter
from woodshop.drawing.values.model import Block, Document, Heading, Section
from woodshop.plan.values import PlannedBatch


def packet(planned: PlannedBatch) -> Document:
    """The packet; DO NOT CUT is on every page of one with errors."""
    chapters = tuple(
        chapter
        for chapter in (
            shopping_chapter(planned),
            safety_chapter(planned),
            thin_rip_chapter(planned),
            first_boards_chapter(planned),
            _chapter(first_article_blocks(planned)),
            cutting_chapter(planned),
            _chapter(part_blocks(planned)),
            _chapter(assembly_blocks(planned)),
            mix_chapter(planned),
        )
        if chapter.blocks
    )
    return Document(
        planned.batch.pages.title,
        "Winter hive hardware: buy, cut and build",
        (front_chapter(planned, chapters), *chapters),
        footer=planned.batch.name,
        banner="DO NOT CUT" if planned.report.has_errors else None,
    )


def _chapter(blocks: list[Block]) -> Section:
    """The blocks below their first heading, as a chapter of that title."""
    if not blocks or not isinstance(blocks[0], Heading):
        return Section("", tuple(blocks))
    return Section(blocks[0].text, tuple(blocks[1:]))
