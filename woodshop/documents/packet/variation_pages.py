"""The chapter What moves the gaps, worked out for a planned batch."""

from woodshop.checks.variation import FULL, moved_hives, what_if
from woodshop.documents.report.variation import moves_section, worst
from woodshop.drawing.values.model import Block, Heading
from woodshop.hive.gaps.grading import bee_space
from woodshop.plan.values import PlannedBatch


def moves_blocks(planned: PlannedBatch) -> list[Block]:
    """The chapter; nothing where nothing is put on hives, or no tolerances are settled."""
    tolerances, unit = planned.batch.tolerances, planned.batch.unit
    if tolerances is None:
        return []
    limits = bee_space(planned.batch.band, unit)
    moved = moved_hives(planned.units, tolerances, limits, count=FULL)
    if not moved:
        return []
    section = moves_section(moved, what_if(worst(moved), tolerances, limits, unit), tolerances, unit)
    return [Heading(section.title, 1), *section.blocks]
