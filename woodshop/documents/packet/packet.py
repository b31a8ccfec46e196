"""The packet: pages for the lumberyard, the saw and the bench, in the order of use."""

from woodshop.documents.packet.assembly import assembly_section
from woodshop.documents.packet.cutting import cutting_chapter, first_boards_chapter
from woodshop.documents.packet.due import BatchDates
from woodshop.documents.packet.first_article import articles_of, first_article_section
from woodshop.documents.packet.front import front_chapter
from woodshop.documents.packet.mix import mix_chapter
from woodshop.documents.packet.parts import parts_section
from woodshop.documents.packet.resawing import resaw_chapter
from woodshop.documents.packet.safety import safety_chapter
from woodshop.documents.packet.shopping import shopping_chapter
from woodshop.documents.packet.thin_rip_stop import thin_rip_chapter
from woodshop.documents.packet.what_to_enter import what_to_enter_chapter
from woodshop.drawing.values.model import Document, PageBreak, Section
from woodshop.plan.values import PlannedBatch


def packet(
    planned: PlannedBatch, changed: Section | None = None, dates: BatchDates | None = None, impossible: str = ""
) -> Document:
    """The packet of a batch. If there are errors, DO NOT CUT is on every page. `changed` reports the changes since an
    earlier plan; with it, the packet is for the rest of that plan, and no boards are cut first. `dates` come from
    the schedule; if there is none, days are worked back from the due dates alone. If the due dates cannot be kept,
    `impossible` says why."""
    found = articles_of(planned)
    chapters = tuple(
        chapter
        for chapter in (
            changed or Section("", ()),
            shopping_chapter(planned),
            safety_chapter(planned),
            resaw_chapter(planned),  # strips are ripped from boards that are planed
            thin_rip_chapter(planned),
            first_boards_chapter(planned) if changed is None else Section("", ()),
            first_article_section(planned, found, is_rest=changed is not None),
            cutting_chapter(planned, is_all=changed is not None),
            parts_section(planned, found, dates),
            assembly_section(planned),
            mix_chapter(planned),
        )
        if chapter.blocks
    )
    to_enter = what_to_enter_chapter(planned)
    alone = (Section("", (PageBreak(),)), to_enter) if to_enter.blocks else ()  # a page to hang up by the bench
    titled = (*chapters, *alone[1:])
    return Document(
        planned.batch.pages.title,
        "Winter hive hardware: buy, cut and build",
        (front_chapter(planned, titled, dates, impossible), *chapters, *alone),
        footer=planned.batch.name,
        banner="DO NOT CUT" if planned.report.has_errors else None,
    )
