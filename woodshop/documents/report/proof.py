"""The report, why the packet may be believed: findings, bee space hive by hive, cold, variation, bounds, defaults."""

from collections.abc import Sequence

from woodshop.documents.bee_map.bee_map import map_chapter
from woodshop.documents.bee_map.sheets import DrawnMap
from woodshop.documents.packet.assembly import item_figures_section
from woodshop.documents.packet.first_article import limits_section
from woodshop.documents.report.bounds import bound_chapter
from woodshop.documents.report.cold_top import cold_chapter
from woodshop.documents.report.lines import line_chapter
from woodshop.documents.report.report import default_chapter, findings_chapter
from woodshop.documents.report.variation import variation_chapter
from woodshop.drawing.values.model import Document
from woodshop.plan.values import PlannedBatch


def proof(planned: PlannedBatch, maps: Sequence[DrawnMap]) -> Document:
    """The report of a batch with the maps of its hives; DO NOT CUT is on every page of one with errors."""
    chapters = (
        findings_chapter(planned),
        map_chapter(maps),
        cold_chapter(planned),
        variation_chapter(planned),
        limits_section(planned),
        item_figures_section(planned),
        line_chapter(planned),
        bound_chapter(planned),
        default_chapter(planned),
    )
    return Document(
        f"{planned.batch.pages.title}: report",
        "Winter hive hardware: why the packet may be believed",
        tuple(chapter for chapter in chapters if chapter.blocks),
        footer=planned.batch.name,
        banner="DO NOT CUT" if planned.report.has_errors else None,
    )
