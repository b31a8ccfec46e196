"""The front page's warning where the density of the sugar decides how high the rims must be."""

from woodshop.documents.report.report import grouped
from woodshop.drawing.values.model import Block, Paragraph
from woodshop.plan.values import PlannedBatch

_BELOW = "below "


def weigh_first(planned: PlannedBatch) -> list[Block]:
    """For each rim, the density under which it must be taller; nothing where the density decides no rim."""
    least, change = [], ""
    for places, finding in grouped(planned.report.findings):
        if finding.code == "density-decides-lumber" and finding.limits.startswith(_BELOW):
            boxes = ", ".join(place.partition(" / ")[2] for place in places)
            least.append(f"{finding.limits.removeprefix(_BELOW).partition(' you')[0]} ({boxes})")
            change = finding.change
    if not least:
        return []
    text = f"You need a taller rim if your sugar packs below {', '.join(least)}. {change}"
    return [Paragraph(text, lead="Weigh your sugar before you buy wood.")]
