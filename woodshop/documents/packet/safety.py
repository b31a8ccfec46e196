"""The chapter about safety and about how to read the cutting pages."""

from woodshop.design.settings.saw import CIRCULAR_SAW, HAND_SAW, MITER_SAW, SLED, Tools
from woodshop.documents.packet.cautions import batch_topics, caution_pages
from woodshop.drawing.values.model import Block, Bullets, Heading, Section
from woodshop.plan.lumber_at_home import resawings
from woodshop.plan.values import PlannedBatch


def safety_chapter(planned: PlannedBatch) -> Section:
    """How to read the cutting pages, then every caution for the work in this batch, if anything is made."""
    topics = batch_topics(planned)
    if not topics:
        return Section("", ())
    shortest = planned.batch.saw.shortest_rip.text(planned.batch.unit)
    more = {"narrow rip": f"In this batch, no piece shorter than {shortest} is ripped."}
    reading = _reading(planned)
    title = "Safety, and how to read the cutting pages" if reading else "Safety"
    return Section(title, (*reading, Heading("Cautions", 2), caution_pages(topics, more)))


def _reading(planned: PlannedBatch) -> list[Block]:
    """How to read the settings on the cutting pages, and which tool to use for each cut."""
    jobs = [each.job for each in planned.plans if each.job.material.is_sawn]
    if not jobs:
        return []
    batch, unit = planned.batch, planned.batch.unit
    saw, tools = batch.saw, batch.saw.tools
    rip, cross = saw.rip_kerf.text(unit), saw.crosscut_kerf.text(unit)
    kerf = f"{rip} for every cut" if rip == cross else f"{rip} for a rip, {cross} for a crosscut"
    own = tools.resawing
    if own is not None and any(resawings(each) for each in planned.lumber):
        kerf += f"; {own.kerf.text(unit)} to resaw boards, on the {own.saw.partition(' with')[0]}"
    lines = [
        f"Kerf: {kerf}. A thinner blade is fine. If your blade is thicker, change the kerf settings of "
        "the saw and plan again.",
        f"Settings are in steps of {saw.mark.text(unit)}. Set finer sizes with calipers, or with a drill bit as a "
        "spacer.",
        f"{'1/2' if unit == 'in' else '12'} off: the wood removed, kerf included. Keep the blade on the waste side of "
        "the line.",
        "Fence or stop: measure from the fence or the stop block to the near side of the blade. The piece lies between "
        "it and the blade.",
        "Letters: each letter names a part. Write the letter on each piece as it comes off the saw.",
        "Hatching: waste. Cross: a bad stretch of the board. A number such as #1: an offcut to keep. Write the number "
        "on it.",
        "Remainder: the last piece of a board, cut without a stop or fence setting. Measure it and trim it to size.",
        "Show face: the better face, outside when built. Rail: a wide strip. First article: the first unit of each "
        "item, measured before the rest are cut. Width drawn 2 : 1: the picture is stretched to twice its width, so "
        "that you can read it.",
        f"Rip on the table saw, along the fence. {_crosscuts(tools)} Use a hand saw in a miter box for short pieces "
        f"and strips under {tools.thin_strip.text(unit)} thick.",
    ]
    return [Heading("How to read the cutting pages", 2), Bullets(tuple(lines))]


_CROSSCUT = {
    MITER_SAW: "on the miter saw, against a stop block",
    CIRCULAR_SAW: "with a circular saw along a clamped guide",
    SLED: "on the sled of the table saw, against a stop block",
    HAND_SAW: "with a hand saw",
}


def _crosscuts(tools: Tools) -> str:
    """The saws for crosscuts that the shop has, in the order in which they are taken, and the hand saw last."""
    first, *others = dict.fromkeys((*tools.crosscut_with, HAND_SAW))
    text = f"Crosscut {_CROSSCUT[first]}."
    ways = ", or ".join(_CROSSCUT[each] for each in others)
    return text if not ways else f"{text} Where that does not reach, crosscut {ways}."
