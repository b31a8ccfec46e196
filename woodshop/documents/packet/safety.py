"""The chapter about safety and about how to read the cutting pages."""

from woodshop.documents.packet.cautions import batch_topics, caution_pages
from woodshop.drawing.values.model import Block, Bullets, Heading, Section
from woodshop.plan.values import PlannedBatch


def safety_chapter(planned: PlannedBatch) -> Section:
    """How to read the cutting pages, then every caution for the work in this batch. The result is empty if nothing is
    made."""
    topics = batch_topics(planned)
    if not topics:
        return Section("", ())
    shortest = planned.batch.saw.shortest_rip.text(planned.batch.unit)
    more = {"narrow rip": f"In this batch nothing that is ripped is shorter than {shortest}."}
    return Section(
        "Safety, and how to read the cutting pages",
        (*_reading(planned), Heading("Cautions", 2), caution_pages(topics, more)),
    )


def _reading(planned: PlannedBatch) -> list[Block]:
    """How to read the settings on the cutting pages, and which tool to use for each cut."""
    jobs = [each.job for each in planned.plans if each.job.material.is_sawn]
    if not jobs:
        return []
    batch, unit = planned.batch, planned.batch.unit
    saw, tools = batch.saw, batch.saw.tools
    rip, cross = saw.rip_kerf.text(unit), saw.crosscut_kerf.text(unit)
    kerf = f"{rip} for every cut" if rip == cross else f"{rip} for a rip, {cross} for a crosscut"
    lines = [
        f"Kerf: {kerf}. A thinner blade is fine; for a thicker one run the plan again (rip_kerf, crosscut_kerf under "
        "[saw]).",
        f"Settings are in marks of {saw.mark.text(unit)}. Finer: calipers, or a drill bit of that size as a spacer.",
        f"{'1/2' if unit == 'in' else '12'} off: wood removed, with the kerf. Blade on the waste side of a mark.",
        "Fence: set it from the fence to the side of the blade that faces it. The piece lies between fence and blade.",
        "Stop: set it from the stop block to the side of the blade that faces it. The piece lies between stop and "
        "blade.",
        "Letters are the marks of the parts: write the letter on each piece as it comes off.",
        "Hatched is waste; crossed out is bad wood; a number such as #1 is an offcut to keep: write the number on it.",
        "Remainder: the last piece of a board, which no stop or fence measures. Measure it and trim it to size.",
        "Show face: the better face, outside when built. Rail: a wide strip. First article: the first unit of each "
        "thing, measured before the rest is cut. Width drawn 2 : 1: the picture is stretched across, to be readable.",
        "Table saw: rips, along the fence. Miter saw: crosscuts, against a stop block; hold up a long board on both "
        "sides. Circular saw along a clamped guide, or hand saw along a squared line: where the miter saw does not "
        f"reach. Hand saw in a miter box: strips under {tools.thin_strip.text(unit)} thick, short pieces.",
    ]
    return [Heading("How to read the cutting pages", 2), Bullets(tuple(lines))]
